//! The radial dexel blank: exact sweeps of any cutter over a turning blank.
//!
//! # Theory
//!
//! The blank is a field of rays from the rotary axis outward, at the middle of every cell along the axis and at even
//! angles around it. Each ray holds the stretches of solid along it, any number of them. A block of motion removes from
//! a ray exactly the radii that lie inside the cutter at *any* instant of it: nothing is stamped at sampled positions,
//! so the result does not depend on how a path is cut into blocks. How those radii are found, and why none is
//! overlooked, is told at the head of the private module `kernel`. Ray-based models of milling go back to Van Hook,
//! *Real-time shaded NC milling display* (SIGGRAPH 1986); Altintas et al., *Virtual process systems for part machining
//! operations* (CIRP Annals 63, 2014), survey what followed. Here the rays run from an axis, which suits turned work.
//!
//! # Practice
//!
//! [`Grid::over`] lays the rays, [`carve()`] runs a [`Job`] and gives a [`Carved`] blank. The grid is cut into tiles; one
//! thread takes a tile from its first block to its last, so the bits are the same for any number of threads. Volumes
//! are summed as whole numbers, so that blank = removed + left holds to the last unit. [`removed`] does a single ray
//! without any grid.
//!
//! A bound on memory ([`RunOptions::memory`]; [`Needs`] tells beforehand what is taken) changes no bit either: a piece that
//! does not fit is kept packed, tile by tile, and looked at through a [`Band`] of rows or a [`Reader`].
//!
//! [`History`] shows the wood before any block of a run; [`carve_again`] carves what an edit of the job can reach and
//! keeps all else. Both give the bits of a carve from the start.
//!
//! What falls between the rays of a grid is found by [`Replay`], which gives any ray exactly: [`Replay::surface`] how the
//! surface lies there, [`Replay::walls`] where one surface gives way to another, and [`Replay::volumes`] volumes without the
//! error of the grid. [`finer`] carves a part of a grid again at a finer pitch.
//!
//! ```
//! use dryturn_carve::{Cutter, Grid, Job, RunOptions, carve};
//! use dryturn_geom::{Flutes, Motion, Pose, Shape, Stock};
//! use std::f64::consts::{PI, TAU};
//!
//! // One whole turn under a flat cutter of radius 3 whose end stands 20 mm over the axis.
//! let stock = Stock::round(25.0, 20.0);
//! let cutters = [Cutter { flutes: Flutes::new(Shape::Flat, 3.0, 20.0)?, uppers: vec![] }];
//! let from = Pose { x: 10.0, y: 0.0, z: 20.0, turn: 0.0 };
//! let to = Pose { turn: TAU, ..from };
//! let motions = vec![Motion { from, to, arc: None, block: 0, cutter: 0, rapid: false }];
//! let job = Job { stock: &stock, dimple: None, cutters: &cutters, motions: &motions };
//! let carved = carve(&job, &Grid::over(&stock, 0.5), &RunOptions::default())?;
//! let groove = 6.0 * PI * (25.0 * 25.0 - 20.0 * 20.0);
//! assert!((carved.removed_by(0) - groove).abs() < 1e-3);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

mod again;
mod carve;
mod carved;
mod course;
mod cut;
mod dexel;
mod effort;
mod grid;
mod history;
mod job;
mod kept;
mod kernel;
mod layout;
mod memory;
mod nearby;
mod parts;
mod patch;
mod plan;
mod reach;
mod reader;
mod replay;
mod single;
mod surface;
mod tile;
mod tree;
mod volume;
mod walls;
mod watch;

pub use again::{Again, Kept, carve_again};
pub use carve::{carve, skim, uncut};
pub use carved::{Band, Carved};
pub use course::{Course, Section, Stroke, carve_recorded};
pub use dexel::Dexel;
pub use grid::{Grid, RAY_BYTES};
pub use history::History;
pub use job::{CarveError, Cutter, Dimple, Job, RunOptions, Upper, UpperBody};
pub use kept::{Keeping, KeptError, KeptPiece, KeptSolid, Programs, PutBack, Source, npy_head};
pub use kernel::{Instructions, Passages};
pub use layout::BAND_ROWS;
pub use memory::Needs;
pub use nearby::Nearby;
pub use parts::{Part, WoodPoint};
pub use patch::{Patch, finer};
pub use reader::Reader;
pub use replay::{End, Ray, Replay, Solid, Stretch};
pub use single::removed;
pub use surface::Surface;
pub use tile::{EARLIER, PREPARED, Span, UNTOUCHED, is_block};
pub use volume::Volumes;
pub use walls::{Edge, Riser, Wall};
pub use watch::Reach;
