//! Finds what would go wrong.
//!
//! # Theory
//!
//! Three things are watched. The *bodies*: whether flutes, shank, holder or spindle meet what holds the blank, what
//! stands about, or come nearer than is comfortable ([`contact`]). The *wood*: what rapids take, what the shank runs
//! into, what is cut with the spindle stopped. The *programs*: feeds, travel, winding. Where these hint at a mistake of the
//! whole job, a wrong zero, unit, word or hand, the job is carved as it would run without it. Each rule gives at most one
//! finding for a connected stretch of blocks, with the worst place, a value with its unit, one sentence and a cure. A
//! good job gives neither error nor warning: a report that cries wolf is not read.
//!
//! # Practice
//!
//! [`prove()`] takes a [`dryturn_scene::Job`] and gives a [`Proof`].
//!
//! ```
//! use dryturn_check::{RunOptions, Verdict, prove};
//! use dryturn_scene::{Job, JobOptions, LoadOptions, Scene};
//!
//! let folder = tempfile::tempdir()?;
//! std::fs::write(folder.path().join("ring.nc"), "M3 S18000\nG0 Z40\nX50\nG1 Z30 F600\nA360\nG0 Z40\nM30\n")?;
//! let text = "format = 1
//! blank = { diameter = 64, length = 100 }
//! program = [{ file = \"ring.nc\", cutter = 1 }]
//! cutter = [{ diameter = 6 }]
//! machine = { start = { x = 0, z = 60, a = 0 } }
//! ";
//! let scene = Scene::parse(text, "scene.toml", folder.path(), LoadOptions::default())?;
//! let job = Job::read(scene, JobOptions::default())?;
//! let proof = prove(&job, &RunOptions::default())?;
//! // Nothing is wrong, but the scene does not say what holds the blank.
//! assert_eq!(proof.verdict, Verdict::Caution);
//! assert!(proof.programs[0].removed_mm3 > 2000.0);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

#![forbid(unsafe_code)]

mod accept;
mod air;
mod assumed;
mod bodies;
pub mod contact;
mod cures;
mod diagnosis;
mod digits;
mod evidence;
mod finding;
mod grain;
mod kept;
mod limits;
pub mod load;
mod not_checked;
mod parts;
mod preparation;
mod prove;
mod reading;
mod rings;
mod rule;
mod rules;
mod run;
mod strength;
mod stretches;
pub mod target;
mod time;
mod told;
mod work;
mod zero_window;

pub use bodies::holding;
pub use dryturn_carve::{CarveError, RunOptions};
pub use finding::{
    Assumed, Clearance, Cure, Finding, NotChecked, Place, Remedy, Severity, Shown, Verdict, gravest, verdict,
};
pub use kept::KEPT;
pub use limits::LoadLimits;
pub use preparation::{BudgetEffect, BudgetRow, CutterChange, FirstCut, Preparation, Wood};
pub use prove::{ProgramSummary, Proof, prove, prove_in_slices};
pub use reading::{ReadError, read};
pub use rule::{Cost, Needs, Rule};
pub use run::Run;
pub use stretches::Until;
pub use time::{BatchTime, BlockTime, BlockTimes, CORNER, CutterTimes, JobTimes, ProgramTimes, Times};
pub use told::{Effort, Ends, LoadSummary, Moment, Peak, SERIES_POINTS, Series, Telling, Told, Trace, Traces, WAYS};
pub use work::Work;
pub use zero_window::{CutterWindow, EndedBy, WindowLimit, ZeroWindow};
