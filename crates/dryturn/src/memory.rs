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

use crate::failure::Failure;
use crate::output;
use crate::running::Running;

/// Bytes of the program itself, its threads and what the allocator holds back.
const BASE: u64 = 24_000_000;

/// Bytes for each block: the block, the trees in which bodies look for each other, its times, and what it did.
const BLOCK_BYTES: u64 = 148 + Traces::STROKE_BYTES;

/// Bytes for each ray where there is a target to compare with: two maps, row by row and whole.
const TARGET_BYTES: u64 = 16;

/// The bound of a run that keeps no maps.
pub(crate) struct Bound {
    bytes: u64,
    pitch: f64,
    /// Whether the pitch was typed, so that the scene's counts for nothing.
    is_typed: bool,
}

impl Bound {
    /// The bound of a run at a pitch, mm.
    pub(crate) fn new(running: &Running<'_>, pitch: f64) -> Bound {
        Bound { bytes: running.memory, pitch, is_typed: running.is_pitch_typed }
    }

    /// How to carve at another pitch, or in more memory.
    fn way_out(&self, pitch: f64) -> String {
        if self.is_typed {
            format!("give --pitch {pitch} or raise --memory")
        } else {
            format!("write pitch = {pitch} under [grid], give --pitch {pitch}, or raise --memory")
        }
    }

    /// What of the bound is left beside so many bytes.
    pub(crate) fn left_by(&self, beside: u64) -> u64 {
        self.bytes.saturating_sub(beside)
    }

    /// Whether a run that at a pitch needs so many bytes can be begun.
    ///
    /// # Errors
    /// A [`Failure`] with the pitch that fits, if one does.
    pub(crate) fn holds(&self, needed: impl Fn(f64) -> u64) -> Result<(), Failure> {
        let now = needed(self.pitch);
        if now <= self.bytes {
            return Ok(());
        }
        let way_out = match self.fitting_pitch(needed) {
            Some(fits) => self.way_out(fits),
            None => "raise --memory".to_owned(),
        };
        let (pitch, now, bound) = (self.pitch, size(now), size(self.bytes));
        Err(Failure::Other(format!(
            "a pitch of {pitch} mm needs about {now}, more than the {bound} allowed; {way_out}"
        )))
    }

    /// A pitch over the one asked for that keeps within the bound, in whole micrometres; `None` where none does.
    fn fitting_pitch(&self, needed: impl Fn(f64) -> u64) -> Option<f64> {
        let mut fits = self.pitch;
        while needed(fits) > self.bytes {
            fits = ((fits * 1.02 + 0.001) * 1000.0).ceil() / 1000.0;
            if fits > COARSEST {
                return None;
            }
        }
        Some(fits)
    }

    /// What to say where the carve passed the bound.
    pub(crate) fn passed(&self) -> String {
        // Half the rays.
        let coarser = (self.pitch * std::f64::consts::SQRT_2 * 1000.0).ceil() / 1000.0;
        format!(
            "at a pitch of {} mm what is left of the blank takes more than the {} allowed, tightly packed as it is; {}",
            self.pitch,
            size(self.bytes),
            self.way_out(coarser)
        )
    }
}

/// Bytes of the program, of the programs as they were read, of a blank that was kept, and of all blocks.
pub(crate) fn of_reading(job: &Job) -> u64 {
    let text: u64 = job.programs.iter().map(|run| run.source.len() as u64).sum();
    BASE + text + job.scene.blank.bytes() + u64::from(job.count()) * BLOCK_BYTES
}

/// What the proof of a job may take, bytes.
pub(crate) struct Memory {
    bound: Bound,
    threads: usize,
    writes: bool,
    compares: bool,
    blocks: u32,
    reading: u64,
    stock: Stock,
}

impl Memory {
    /// The bound, if a run that writes maps, or none, can be begun within it.
    pub(crate) fn within(running: &Running<'_>, writes: bool, job: &Job) -> Result<Memory, Failure> {
        let memory = Memory {
            bound: Bound::new(running, job.scene.grid.pitch),
            threads: running.threads,
            writes,
            compares: job.target.is_some(),
            blocks: job.count(),
            reading: of_reading(job),
            stock: job.scene.stock(),
        };
        memory.bound.holds(|pitch| memory.needed(pitch))?;
        Ok(memory)
    }

    /// What the carve may take.
    pub(crate) fn for_carving(&self) -> u64 {
        self.bound.left_by(self.beside(&Grid::over(&self.stock, self.bound.pitch)))
    }

    /// What to say where the carve passed the bound.
    pub(crate) fn passed(&self) -> String {
        self.bound.passed()
    }

    /// What is taken beside the carve.
    fn beside(&self, grid: &Grid) -> u64 {
        let maps = if self.writes { output::map_bytes(grid, self.threads, self.compares) } else { 0 };
        let target = if self.compares { grid.rays() as u64 * TARGET_BYTES } else { 0 };
        self.reading + target + maps
    }

    fn needed(&self, pitch: f64) -> u64 {
        let grid = Grid::over(&self.stock, pitch);
        let options = RunOptions { threads: self.threads, ..RunOptions::default() };
        self.beside(&grid) + Needs::of(&grid, self.blocks, &options).recorded(&grid, self.blocks).least()
    }
}

/// Coarsest pitch a scene may ask for, mm.
const COARSEST: f64 = 100.0;

fn size(bytes: u64) -> String {
    let bytes = bytes as f64;
    if bytes < 1e9 { format!("{:.1} MB", bytes / 1e6) } else { format!("{:.1} GB", bytes / 1e9) }
}
