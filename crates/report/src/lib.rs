//! The report.

mod batlow;
mod cost;
mod json;
mod map;
mod picture;
mod run;
#[cfg(test)]
mod sample;
mod text;

pub use cost::{Cost, by_cost};
pub use json::{FORMAT, JsonError, report, schema, timings};
pub use map::{BORE, Map, MapError, Setting, UNTOUCHED, Values, npy};
pub use picture::picture;
pub use run::{Extents, Grid, MapFile, ProgramRun, ProgramTime, Run, Stage, Target, Winding};
pub use text::plain;
