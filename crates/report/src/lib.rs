//! The report.

mod cost;
mod json;
mod map;
mod run;
#[cfg(test)]
mod sample;

pub use cost::{Cost, by_cost};
pub use json::{FORMAT, JsonError, report, schema, timings};
pub use map::{BORE, Map, MapError, Setting, UNTOUCHED, Values, npy};
pub use run::{Extents, Grid, MapFile, ProgramRun, ProgramTime, Run, Stage, Target, Winding};
