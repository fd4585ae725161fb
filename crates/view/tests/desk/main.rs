//! The window by clicks and keys, and as it looks, without a window.

#![expect(clippy::unwrap_used, reason = "a test that cannot go on has failed")]
#![expect(clippy::print_stdout, reason = "a picture that could not be kept is told")]

#[path = "../common/mod.rs"]
mod common;
#[path = "../../../../tests/compare.rs"]
mod compare;
mod cursor;
mod listing;
mod live;
mod panes;
mod people;
mod pictures;
mod scenes;
mod sight;
mod told;
