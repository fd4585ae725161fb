//! Programs of the open language RS-274, from text to motion.
//!
//! # Theory
//!
//! The language is that of "The NIST RS274NGC Interpreter, Version 3" (Kramer, Proctor, Messina, NISTIR 6556, 2000).
//! A line is a set of words; what a word means hangs on modes that earlier lines have set: units, plane, absolute or
//! incremental, feed mode, coordinate system, offsets. Reading goes in two steps with a clean seam between them:
//!
//! ```text
//! bytes ──► listing: words, formulas ──► motion: blocks with places, arcs, events
//!           (a line alone, no modes)      (no modes, units, planes or offsets left)
//! ```
//!
//! Neither step fails. What is wrong is a [`Diagnostic`] with a line and a span, and [`Program::stopped`] says whether
//! the blocks can be relied on. Rotary words are unbounded degrees: A370 is not A10 (section 2.1.2.2).
//!
//! # Practice
//!
//! [`read`] takes the bytes of a file and a [`Setup`], what machine and scene say before the first line, and gives a
//! [`Program`]: a [`Block`] of 64 bytes for each motion, side tables for arcs, events and what the controller would
//! display. All places are in millimetres and degrees in the frame of G54, so blocks from different coordinate systems
//! can be compared. A word whose place nobody has said is unknown, and blocks say so.
//!
//! ```
//! use dryturn_program::{Setup, read};
//!
//! let setup = Setup { start: [Some(0.0); 6], ..Setup::default() };
//! let program = read(b"G21 G90\nG0 Z5\nG1 X10 A-7200 F300\nM30\n", &setup);
//! assert!(!program.stopped());
//! assert_eq!(program.blocks[1].to, [10.0, 0.0, 5.0, -7200.0, 0.0, 0.0]);
//! assert_eq!(program.blocks[1].line, 3);
//! assert_eq!(program.blocks[1].feed, 300.0);
//! ```

#![forbid(unsafe_code)]

mod codes;
mod command;
pub mod describe;
mod diagnostic;
mod evaluate;
pub mod listing;
mod motion;
mod number;
mod program;
mod stream;
mod survey;
mod text;
mod time;
mod view;

pub use describe::Description;
pub use diagnostic::{Diagnostic, Kind, Severity, Span};
pub use motion::{read, read_file};
pub use program::{
    Arc, Block, BlockFlags, CutterUse, Dropped, Event, EventKind, Facts, NO_ARC, NO_CUTTER, NotUnderstood, Plane,
    Program, Setup, Shown, ToolOffset,
};
pub use survey::{CodeName, Seen, Survey};
pub use text::{line_text, line_texts};
pub use time::{FeedReading, Rates};
pub use view::{Listing, Modal, ModalFrom, PathControl, Spindle, State};
