//! Whole-program tests: the built binary, run as a person would run it.

#![expect(clippy::unwrap_used, reason = "a test that cannot go on has failed")]

#[cfg(feature = "render")]
mod browser;
mod cli;
#[cfg(feature = "render")]
mod compare;
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
mod libraries;
mod memory;
mod mesh;
mod new;
mod outputs;
#[cfg(feature = "render")]
mod page;
#[cfg(feature = "render")]
mod pictures;
mod quiet;
mod restart;
mod round;
mod scenes;
mod setups;
mod sheet;
mod skin;
#[cfg(feature = "render")]
mod still;
mod target;
#[cfg(feature = "view")]
mod view;
mod workshop;
