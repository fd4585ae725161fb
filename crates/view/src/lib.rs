//! The window: piece, skin and run of a job under one cursor.
//!
//! # Theory
//!
//! Three pictures share one scale of stations: the **piece**, seen square to its axis; its **skin**, unrolled so that what
//! faces the eye is in the middle; and the **run**, in which time goes down and every moment lies at the station where the
//! cutter is. A point of any of them is a station, and so a place on the other two. To the right of each stand the words
//! that go with it: what was found, what is known of a point, the lines of the program.
//!
//! # Practice
//!
//! [`Session`] knows the job and works in threads of its own; it has nothing of a window. [`Desk`] lays the panes out and
//! turns clicks and keys into what the session does. [`open`] puts both into a window. What belongs to the command line,
//! how a scene is named and files are written, comes through [`Host`].

#![forbid(unsafe_code)]

mod app;
mod desk;
mod error;
mod eye;
mod field;
mod host;
mod panes;
mod session;
mod settings;
mod shape;
mod spot;
mod theme;

pub use app::open;
pub use desk::Desk;
pub use error::ViewError;
pub use eye::{Cut, Extent, Eye};
pub use field::{Field, Solid};
pub use host::{Going, Held, Host, MapName, MapOf, Read};
pub use session::{Aim, Cursor, Drawn, Edits, Known, Opened, Question, Session, Shown, Stride};
pub use settings::{Damage, Settings};
pub use spot::{Measure, Spot};
