//! From the results of a run to what a person or a program reads.
//!
//! # Theory
//!
//! Everything here is a pure function from results to text or bytes: the same results give the same bytes on every
//! system, so a report can be compared with the one before it. Nothing is left out in silence: what a run cannot fill
//! is null in `report.json`, what was not looked at is told before what was found, and a ray with nothing left has a
//! pattern of its own on every map. Only [`write_all`] and what it is made of touch the disk: all files or none.
//!
//! The surface of a turned piece is shown unrolled, as the **drawn skin**: seen from outside with the chuck at the left,
//! stations to the right. Seen so, θ grows downward with the chuck on the machine's minus side and upward with the chuck
//! on its plus side, and lettering reads the right way round on both.
//!
//! A picture never speaks by hue alone. Measures take a map of colours whose lightness rises evenly; deviations one that
//! darkens to both sides of zero, hatched beyond what is allowed; categories take colours that stay apart without colour vision, and each has a pattern as well; a verdict is a word and a shape.
//!
//! # Practice
//!
//! [`report()`] and [`schema()`] make `report.json` and its schema from a [`Run`]; [`npy()`] and [`picture()`] the two
//! files of a [`Map`]; [`run_picture()`] the run drawn over time; [`Summary`] the text for the terminal; [`sheet()`] the page to take to the
//! machine; [`sarif()`], [`junit()`], [`markdown()`], [`annotations()`] and
//! [`quality()`] what speaks of several scenes ([`Outcome`]) at once; [`rule_page()`] what a rule means; [`write_all`] puts them into a folder. Maps too large to be
//! held go by bands of rows: [`npy_head`] and then the bytes of each band into a [`Draft`], the bands into a [`Drawing`],
//! and [`Staging`] puts the files in their places once they are whole. Text from files and people passes through
//! [`plain()`] before it is shown anywhere.
//!
//! ```
//! use dryturn_geom::Side;
//! use dryturn_report::{Band, Kind, Map, Setting, Values, npy, picture};
//!
//! // Two stations, 24 angles: a step down from radius 20 to 15.
//! let radii: Vec<f32> = (0..48).map(|ray| if ray < 24 { 20.0 } else { 15.0 }).collect();
//! let map = Map {
//!     name: "remaining-radius",
//!     title: "Remaining radius",
//!     unit: "mm",
//!     rows: 2,
//!     columns: 24,
//!     station_first: 5.0,
//!     station_step: 10.0,
//!     angle_step: 15.0,
//!     kind: Kind::Measures,
//! };
//! let setting = Setting { title: "Peg", chuck: Side::Minus, greatest_radius: 20.0 };
//! let whole = Band { values: Values::Measures(&radii), remaining: &radii };
//! assert_eq!(npy(&map, whole.values)?.len(), 128 + 48 * 4);
//! assert!(picture(&map, &setting, &whole)?.starts_with(b"\x89PNG"));
//! # Ok::<(), dryturn_report::MapError>(())
//! ```

#![forbid(unsafe_code)]

mod annotations;
mod batlow;
mod cost;
mod course;
mod files;
mod json;
mod junit;
mod map;
mod markdown;
mod outcome;
mod picture;
mod quality;
mod rule_page;
mod run;
#[cfg(test)]
mod sample;
mod sarif;
mod sheet;
mod summary;
mod text;
mod vik;

pub use annotations::annotations;
pub use cost::{by_cost, cost_order};
pub use course::lines as machine_lines;
pub use files::{Draft, Staging, Step, Whole, WriteError, write_all, write_each};
pub use json::{FORMAT, JsonError, report, reports, schema, timings};
pub use junit::junit;
pub use map::{BORE, Band, Kind, Map, MapError, Setting, UNTOUCHED, Values, npy, npy_head};
pub use markdown::markdown;
pub use outcome::{FileName, Outcome, Proved, Quote, Refusal};
pub use picture::{Drawing, Key, KeyScale, RunPicture, picture, run_picture};
pub use quality::quality;
pub use rule_page::{rule_list, rule_page};
pub use run::{
    BlockRow, Blocks, Extents, Grid, Load, Loads, MapFile, ProgramRun, ProgramTime, Run, Series, Slice, Stage, Target,
    Winding,
};
pub use sarif::sarif;
pub use sheet::{SheetError, sheet};
pub use summary::{CAUTION, Summary};
pub use text::{cut, number, plain, trimmed, wrapped};
