//! Whole-program tests: the built binary, run as a person would run it.

#![expect(clippy::unwrap_used, reason = "a test that cannot go on has failed")]

mod cli;
mod course;
mod determinism;
#[cfg(feature = "render")]
mod doctor;
mod frames;
mod fuzz;
mod hostile;
mod inspect;
#[cfg(unix)]
mod interrupt;
mod memory;
mod outputs;
mod quiet;
mod restart;
mod round;
mod scenes;
mod skin;
mod target;
mod workshop;
