//! Programs that dryturn writes itself.
//!
//! # Theory
//!
//! A program is first a `path`: where the tip goes over the blank, in the piece's own terms, and how many minutes each
//! move takes. Only the `writer` knows what a controller calls that: words, units, and the F that each reading of F
//! makes the same minutes of. Beside every program stands the text of a scene that says what the program takes for
//! granted, and no program is handed out before it has been proved on that very scene, by the same reader and the same
//! rules as anybody's.
//!
//! Speeds are those **over the wood**: the way of the cutter's tip along the greatest radius that still stands. On a
//! rotary machine no F word says that, and an F that is right at one radius is wrong at the next.
//!
//! # Practice
//!
//! [`round::draft`] writes what brings a raw blank to a true cylinder, to a prism, or to a coupon that shows how far the
//! zeros are off. A [`Draft`] holds program, scene, job and proof; whoever keeps it on a disk looks at its findings first.
//! [`restart::draft`] writes what takes a job up in the middle, [`new::draft`] a scene for programs of which nobody has said
//! anything yet.
//!
//! ```
//! use dryturn_plan::{Blank, Posting, round};
//!
//! let blank = Blank { runout: 0.8, bow: 1.2, ..Blank::square(50.0, 120.0) };
//! let request = round::Request { from: 10.0, length: 100.0, ..round::Request::cylinder(blank, 46.0, "flat:12", 2500.0) };
//! let (draft, account) = round::draft(&request, &dryturn_check::RunOptions::default())?;
//! assert!(draft.program.ends_with("M30\n"));
//! assert!(account.truth.worst_mm < 0.001);
//!
//! let request = round::Request { work: round::Work::cylinder(46.1), ..request };
//! let refused = round::draft(&request, &dryturn_check::RunOptions::default()).unwrap_err();
//! assert_eq!(refused.to_string(), "46.1 mm is more than this blank leaves all round: 46 mm at the most, its size less \
//!     twice the 0.8 mm that its centre is off and the 1.2 mm that it is bent");
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

#![forbid(unsafe_code)]

mod blank;
mod draft;
mod error;
mod measure;
pub mod new;
mod path;
pub mod restart;
pub mod round;
mod scene;
mod writer;

pub use blank::{Blank, Section};
pub use draft::Draft;
pub use error::PlanError;
pub use measure::Measure;
pub use writer::{FeedForm, Posting};
