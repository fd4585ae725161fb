//! A piece kept from one set-up to be the blank of the next.
//!
//! Two things are kept of it. Its **rays**, as the carve left them: put back on them, the next set-up goes on with the very
//! same bits. And its **past**: the outline it had before the first cut, and every motion that has passed over it since.
//! From the past any other ray is carved anew, so that a piece put back turned by any angle, off centre, or under another
//! pitch is as exact as if all its set-ups were one job, its walls included. What is put back is a rigid body, so the past
//! is put back with it: a motion over the piece in its old place is a motion over it in the new one, for a cutter looks
//! the same from all sides. Off centre an even turn becomes a turn with a little swing beside it, which is carved in chords.
//!
//! All of it is in the frame of the piece, its stations counted from the end of the wood that was in the holding.

mod ends;
mod file;
mod npy;
mod past;
mod place;
mod read;
mod solid;
mod write;

use std::ops::Range;

use dryturn_geom::{Lattice, Offset, angle};

pub use file::KeptError;
pub use npy::head as npy_head;
use past::Past;
pub use past::{Programs, Source};
pub use place::PutBack;
pub use solid::KeptSolid;
pub use write::Keeping;

/// A piece between two set-ups.
#[derive(Clone, Debug, PartialEq)]
pub struct KeptPiece {
    /// How it came to be what it is.
    past: Past,
    rays: Rays,
    /// Length of the wood, mm.
    length: f64,
}

/// The rays of a kept piece.
#[derive(Clone, Debug, PartialEq)]
struct Rays {
    lattice: Lattice,
    /// Angle θ of the first column, radians.
    turned: f64,
    /// Where the axis they run out from lies off the rotary axis.
    off: Offset,
    /// Where the spans of each ray begin, row by row; one more at the end.
    starts: Vec<u32>,
    /// Inner and outer end of every span, from the outside in on each ray, mm.
    ends: Vec<[f32; 2]>,
    /// Who made them: a number of the past, or [`NOBODY`].
    by: Vec<[u32; 2]>,
}

/// The maker of an end that is the outline's own.
const NOBODY: u32 = u32::MAX;

impl Rays {
    /// The spans of a ray.
    fn spans(&self, row: usize, column: usize) -> Range<usize> {
        let ray = row * self.lattice.angles + column;
        self.starts[ray] as usize..self.starts[ray + 1] as usize
    }

    /// Whether the axis they run out from is the rotary axis.
    fn is_centred(&self) -> bool {
        self.off == Offset::default()
    }

    /// Greatest distance of the ends of each row's rays from the rotary axis, mm.
    fn tops(&self) -> Vec<f64> {
        let step = std::f64::consts::TAU / self.lattice.angles as f64;
        let toward = |column: usize| angle::sin_cos(self.turned + step * column as f64);
        let directions: Vec<(f64, f64)> = (0..self.lattice.angles).map(toward).collect();
        let top = |row: usize, column: usize| {
            let ((sine, cosine), ends) = (directions[column], &self.ends[self.spans(row, column)]);
            let place = |end: &[f32; 2]| {
                let radius = f64::from(end[1]);
                angle::hypot(self.off.y - radius * sine, self.off.z + radius * cosine)
            };
            // On the rotary axis itself nothing is calculated, so that nothing is rounded.
            ends.iter().map(|end| if self.is_centred() { f64::from(end[1]) } else { place(end) }).fold(0.0, f64::max)
        };
        let row = |row: usize| (0..self.lattice.angles).map(|column| top(row, column)).fold(0.0, f64::max);
        (0..self.lattice.stations).map(row).collect()
    }

    /// Station of a row from the end of the wood, mm.
    fn station(&self, row: usize) -> f64 {
        self.lattice.first + row as f64 * self.lattice.step
    }
}

impl KeptPiece {
    /// The pitch of its rays, mm.
    pub fn pitch(&self) -> f64 {
        self.rays.lattice.pitch
    }

    /// Greatest radius of the wood about the axis that it was worked on, mm.
    pub fn greatest_radius(&self) -> f64 {
        self.rays.tops().into_iter().fold(0.0, f64::max)
    }

    /// Length of the wood, mm.
    pub fn length(&self) -> f64 {
        self.length
    }
}
