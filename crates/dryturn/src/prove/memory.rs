//! The bound on memory.
//!
//! A run is begun if the sum of its parts keeps within the bound: [`BASE`] for the program itself, the text of the programs,
//! [`BLOCK_BYTES`] for each block and all that is looked up about it, [`TARGET_BYTES`] for each ray where there is a target,
//! with files to write what the maps take on their way (`output::map_bytes`), and what the carve needs at the least
//! (`dryturn_carve::Needs`). The carve then counts the bytes that it really keeps, and ends the run where they would pass
//! what the other parts leave. Reading comes before: until then the number of blocks is unknown.

use dryturn_carve::{Grid, Needs, RunOptions};
use dryturn_check::Traces;
use dryturn_geom::{Motions, Stock};
use dryturn_scene::Job;

use super::{Failure, threads};
use crate::arguments::ProveArguments;
use crate::output;

/// Bytes of the program itself, its threads and what the allocator holds back.
const BASE: u64 = 24_000_000;

/// Bytes for each block: the block, the trees in which bodies look for each other, its time, how far it springs the wood,
/// and what it did.
const BLOCK_BYTES: u64 = 152 + Traces::STROKE_BYTES;

/// Bytes for each ray where there is a target to compare with: two maps, row by row and whole.
const TARGET_BYTES: u64 = 16;

/// What a run may take, bytes.
pub(super) struct Memory {
    bound: u64,
    threads: usize,
    writes: bool,
    compares: bool,
    blocks: u32,
    /// Bytes of the programs as they were read.
    text: u64,
    stock: Stock,
    pitch: f64,
}

impl Memory {
    /// The bound, if a run can be begun within it.
    pub(super) fn within(arguments: &ProveArguments, job: &Job) -> Result<Memory, Failure> {
        let memory = Memory {
            bound: arguments.memory,
            threads: threads(arguments),
            writes: arguments.out.is_some(),
            compares: job.target.is_some(),
            blocks: job.count(),
            text: job.programs.iter().map(|run| run.source.len() as u64).sum(),
            stock: job.scene.stock(),
            pitch: job.scene.grid.pitch,
        };
        let needed = memory.needed(memory.pitch);
        if needed <= memory.bound {
            return Ok(memory);
        }
        let way_out = match memory.fitting_pitch() {
            Some(fits) => format!("write pitch = {fits} under [grid] or raise --memory"),
            None => "raise --memory".to_owned(),
        };
        let (pitch, needed, bound) = (memory.pitch, size(needed), size(memory.bound));
        Err(Failure::Other(format!(
            "a pitch of {pitch} mm needs about {needed}, more than the {bound} allowed; {way_out}"
        )))
    }

    /// What the carve may take.
    pub(super) fn for_carving(&self) -> u64 {
        self.bound.saturating_sub(self.beside(&Grid::over(&self.stock, self.pitch)))
    }

    /// What to say where the carve passed the bound.
    pub(super) fn passed(&self) -> String {
        // Half the rays.
        let coarser = (self.pitch * std::f64::consts::SQRT_2 * 1000.0).ceil() / 1000.0;
        format!(
            "at a pitch of {} mm what is left of the blank takes more than the {} allowed, tightly packed as it is; \
             write pitch = {coarser} under [grid] or raise --memory",
            self.pitch,
            size(self.bound)
        )
    }

    /// What is taken beside the carve.
    fn beside(&self, grid: &Grid) -> u64 {
        let maps = if self.writes { output::map_bytes(grid, self.threads, self.compares) } else { 0 };
        let target = if self.compares { grid.rays() as u64 * TARGET_BYTES } else { 0 };
        BASE + self.text + u64::from(self.blocks) * BLOCK_BYTES + target + maps
    }

    fn needed(&self, pitch: f64) -> u64 {
        let grid = Grid::over(&self.stock, pitch);
        let options = RunOptions { threads: self.threads, ..RunOptions::default() };
        self.beside(&grid) + Needs::of(&grid, self.blocks, &options).recorded(&grid, self.blocks).least()
    }

    /// A pitch over the one asked for that keeps within the bound, in whole micrometres; `None` where none does.
    fn fitting_pitch(&self) -> Option<f64> {
        let mut fits = self.pitch;
        while self.needed(fits) > self.bound {
            fits = ((fits * 1.02 + 0.001) * 1000.0).ceil() / 1000.0;
            if fits > COARSEST {
                return None;
            }
        }
        Some(fits)
    }
}

/// Coarsest pitch a scene may ask for, mm.
const COARSEST: f64 = 100.0;

fn size(bytes: u64) -> String {
    let bytes = bytes as f64;
    if bytes < 1e9 { format!("{:.1} MB", bytes / 1e6) } else { format!("{:.1} GB", bytes / 1e9) }
}
