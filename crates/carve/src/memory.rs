//! What a carve takes of the memory, told beforehand and counted on the way.
//!
//! A carve holds these things:
//!
//! - **Blocks**: bounds of what they reach and what each removed, [`BLOCK_BYTES`] a block, and the directions of the
//!   columns. The blocks themselves belong to the caller.
//! - **Tiles in flight**: one a thread, [`FLIGHT_BYTES`] a ray, for a tile is in the memory twice while it is packed. A tile
//!   under very many blocks notes more about them; that is counted once such a tile is done, for all threads alike.
//! - **Tiles done**, as they are kept: open they take [`RAY_BYTES`] a ray and as much as half of that for what lies
//!   under overhangs; packed about a twentieth of that, and [`PACKED_BYTES`] a ray is what they are taken for. Wood without
//!   any order would not be packed at all, but then no cutter has made it.
//! - **Course**, where the way is recorded: strokes of the blocks and sections of the rows, counted.
//! - **What was noticed** of rapids and bodies above the flutes: seldom anything, and counted.
//!
//! Where the tiles would not fit within the bound open, each is packed as soon as it is done. What a tile comes to does
//! not depend on how it is kept.

use std::sync::atomic::{AtomicU64, Ordering};

use crate::course::Strokes;
use crate::grid::{Grid, RAY_BYTES};
use crate::job::{CarveError, RunOptions};
use crate::layout::Layout;
use crate::plan::Plan;
use crate::tile::{Held, Packed, Tile};

/// Bytes for each block: a node of the tree for every eight, the volume removed, and room to grow.
const BLOCK_BYTES: u64 = 16;
/// Bytes for each ray of a tile in flight.
const FLIGHT_BYTES: u64 = 64;
/// Bytes for each ray of a packed tile.
const PACKED_BYTES: u64 = 2;
/// Bytes for the sections of a row at all moments at which it has changed.
const ROW_BYTES: u64 = 4096;
/// Bytes for each tile beside its rays.
const TILE_BYTES: u64 = 512;

/// Bytes that a carve takes, by what takes them.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Needs {
    /// What is kept about blocks and columns.
    pub blocks: u64,
    /// The tiles that the threads are at.
    pub in_flight: u64,
    /// All tiles, kept open.
    pub open: u64,
    /// All tiles, kept packed.
    pub packed: u64,
}

impl Needs {
    /// What the carve of a job of so many blocks on a grid takes.
    pub fn of(grid: &Grid, blocks: u32, options: &RunOptions<'_>) -> Needs {
        let layout = Layout::new(grid, options.tile);
        let tile = (layout.rows.min(grid.stations) * layout.columns.min(grid.angles)) as u64;
        let rays = grid.rays() as u64;
        let tiles = layout.count() as u64 * TILE_BYTES;
        Needs {
            blocks: u64::from(blocks) * BLOCK_BYTES + (grid.angles * size_of::<(f64, f64)>()) as u64,
            in_flight: at_once(&layout, options) * tile * FLIGHT_BYTES,
            open: tiles + rays * RAY_BYTES as u64 * 3 / 2,
            packed: tiles + rays * PACKED_BYTES,
        }
    }

    /// The same for [`carve_recorded`](crate::carve_recorded()), with as much beside as a course mostly takes: a stroke a
    /// block, and a few dozen moments at which a row has changed. What it really takes is counted on the way.
    pub fn recorded(self, grid: &Grid, blocks: u32) -> Needs {
        let strokes = u64::from(blocks) * Strokes::BYTES as u64;
        Needs { blocks: self.blocks + strokes + grid.stations as u64 * ROW_BYTES, ..self }
    }

    /// The least with which the carve is begun: its tiles packed.
    pub fn least(&self) -> u64 {
        self.blocks + self.in_flight + self.packed.min(self.open)
    }

    /// The least with which no tile is packed.
    pub fn ample(&self) -> u64 {
        self.blocks + self.in_flight + self.open
    }
}

/// How many tiles are in flight at once: one a thread, and with none asked for a thread for each core.
fn at_once(layout: &Layout, options: &RunOptions<'_>) -> u64 {
    let cores = || std::thread::available_parallelism().map_or(1, usize::from);
    let threads = if options.threads > 0 { options.threads } else { cores() };
    threads.min(layout.count().max(1)) as u64
}

/// Counts what is kept and keeps it under the bound.
pub(crate) struct Ledger {
    bound: u64,
    packs: bool,
    at_once: u64,
    /// What is kept for good.
    kept: AtomicU64,
    /// The most that a tile in flight has taken.
    widest: AtomicU64,
}

impl Ledger {
    /// `beside` are bytes that the run keeps beside the tiles.
    pub(crate) fn new(plan: &Plan<'_>, options: &RunOptions<'_>, beside: u64) -> Ledger {
        let mut needs = Needs::of(&plan.grid, plan.job.motions.count(), options);
        needs.blocks += beside;
        let bound = options.memory.unwrap_or(u64::MAX);
        Ledger {
            bound,
            packs: needs.ample() > bound,
            at_once: at_once(&plan.layout, options),
            kept: AtomicU64::new(needs.blocks),
            widest: AtomicU64::new(0),
        }
    }

    /// Takes a tile that is done into what is kept; of it `noted` bytes were noted, and of all tiles together `noticed`
    /// bytes about rapids and bodies are kept; `beside` bytes are kept of it for good elsewhere.
    ///
    /// # Errors
    /// [`CarveError::Memory`] where that passes the bound.
    pub(crate) fn keep(&self, tile: Tile, noted: usize, noticed: usize, beside: usize) -> Result<Held, CarveError> {
        let twice = if self.packs { 2 } else { 1 };
        self.widest.fetch_max((twice * tile.bytes() + noted) as u64, Ordering::Relaxed);
        let held = if self.packs { Held::Packed(Packed::of(&tile)) } else { Held::Open(Box::new(tile)) };
        let bytes = (held.bytes() + beside) as u64;
        let kept = self.kept.fetch_add(bytes, Ordering::Relaxed) + bytes;
        let used = kept + noticed as u64 + self.at_once * self.widest.load(Ordering::Relaxed);
        if used > self.bound { Err(CarveError::Memory { bound: self.bound }) } else { Ok(held) }
    }

    /// What is kept by now, bytes.
    pub(crate) fn kept(&self) -> u64 {
        self.kept.load(Ordering::Relaxed)
    }
}
