//! What is carved, and how the run is to go.

use std::sync::atomic::AtomicBool;

use dryturn_geom::{Axis, Flutes, Motion, Motions, Stock};

use crate::kernel::Instructions;

/// A body above the flutes that must not touch wood: a cylinder about the spindle axis, heights over the tip, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct UpperBody {
    /// Which of the cutter's bodies it belongs to.
    pub kind: Upper,
    /// Radius, mm.
    pub radius: f64,
    /// Height of its foot over the tip, mm.
    pub from: f64,
    /// Height of its top over the tip, mm.
    pub to: f64,
}

/// The bodies above the flutes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Upper {
    /// The smooth part of the cutter.
    Shank,
    /// The collet nut and what is above it.
    Holder,
    /// The spindle.
    Spindle,
}

/// One cutter with what is above it.
#[derive(Clone, Debug, PartialEq)]
pub struct Cutter {
    /// What removes wood.
    pub flutes: Flutes,
    /// What must not touch any.
    pub uppers: Vec<UpperBody>,
}

/// The hole that the live center's cone has made before the run.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Dimple {
    /// Station of its deepest point, mm.
    pub apex: f64,
    /// Growth of its radius toward the free end, mm a mm: the tangent of half its included angle.
    pub slope: f64,
}

/// A blank and all that passes over it.
#[derive(Clone, Copy)]
pub struct Job<'a> {
    /// The blank.
    pub stock: &'a Stock,
    /// Hole of the live center, if there is one.
    pub dimple: Option<Dimple>,
    /// The cutters, indexed by [`Motion::cutter`].
    pub cutters: &'a [Cutter],
    /// The blocks.
    pub motions: &'a dyn Motions,
}

/// How to run: none of it changes a bit of the result.
#[derive(Clone, Copy, Default)]
pub struct RunOptions<'a> {
    /// Number of threads; 0 takes one for each core.
    pub threads: usize,
    /// Rows and columns of a tile; `None` takes a size that fits a core's own cache.
    pub tile: Option<(usize, usize)>,
    /// Instructions to use; `None` takes the widest this processor has.
    pub instructions: Option<Instructions>,
    /// Set from outside to have the run end early with [`CarveError::Cancelled`].
    pub cancel: Option<&'a AtomicBool>,
    /// Most bytes that may be taken; where the tiles do not fit within it open, they are kept packed. `None` takes what it
    /// takes. What counts is told by [`Needs`](crate::Needs).
    pub memory: Option<u64>,
    /// Told now and then the share of the work that is done, 0 … 1; from any thread.
    pub progress: Option<&'a (dyn Fn(f64) + Sync)>,
}

/// Why there is no result.
#[derive(Debug, thiserror::Error)]
pub enum CarveError {
    /// The run was told to end early.
    #[error("the run was interrupted")]
    Cancelled,
    /// What is left of the blank takes more memory than it may.
    #[error("what is left of the blank takes more than the {bound} bytes of memory allowed, packed as it is")]
    Memory {
        /// The most it may take, bytes.
        bound: u64,
    },
    /// The threads could not be started.
    #[error("the worker threads could not be started: {0}")]
    Threads(#[from] rayon::ThreadPoolBuildError),
    /// A motion names a cutter that the job does not have.
    #[error("block {block} is cut by cutter {cutter}, but the job has {count}")]
    NoSuchCutter {
        /// The block.
        block: u32,
        /// Index it names.
        cutter: u16,
        /// Number of cutters in the job.
        count: usize,
    },
}

/// Most an arc may be off the chords it is carved by, in the blank at its greatest radius, mm.
pub(crate) const CHORD_DEVIATION: f64 = 2e-4;

/// Into how many straight pieces a motion is cut on a blank of this greatest radius, mm. What rapids and tips below the axis
/// do is noted by the piece, so theirs are half as long.
pub(crate) fn piece_count(motion: &Motion, radius: f64) -> u32 {
    let is_noted = motion.rapid || motion.from.z.min(motion.to.z) < 0.0;
    let turns = crate::kernel::piece_count(greatest_turn(motion) * if is_noted { 2.0 } else { 1.0 });
    motion.chord_count(CHORD_DEVIATION, radius).max(turns)
}

/// A bound on how far a motion turns the blank in all, radians; an arc on the unrolled skin turns it to and fro.
pub(crate) fn greatest_turn(motion: &Motion) -> f64 {
    let straight = (motion.to.turn - motion.from.turn).abs();
    let on_arc = motion.arc.map_or(0.0, |arc| {
        let turning = arc.axes.iter().zip(arc.reach).filter(|(axis, _)| **axis == Axis::Turn);
        turning.map(|(_, reach)| (reach * arc.sweep).abs()).fold(0.0, f64::max)
    });
    straight.max(on_arc)
}

#[cfg(test)]
mod tests {
    use super::*;
    use dryturn_geom::{Arc, Lean, Pose};

    #[test]
    fn no_piece_of_an_arc_on_the_skin_turns_by_more_than_a_degree() {
        let from = Pose { x: 0.0, y: 0.0, z: 4.0, turn: 6.0 };
        let arc = Arc {
            axes: [Axis::X, Axis::Turn],
            center: [-30.0, 6.0],
            reach: [30.0, 6.0],
            start: 0.0,
            sweep: std::f64::consts::TAU,
            lean: Lean::default(),
        };
        let motion = Motion { from, to: from, arc: Some(arc), block: 0, cutter: 0, rapid: false };
        let pieces = piece_count(&motion, 5.0);
        let at = |k: u32| motion.at(f64::from(k) / f64::from(pieces)).turn;
        let widest = (0..pieces).map(|k| (at(k + 1) - at(k)).abs()).fold(0.0, f64::max);
        assert!(widest <= crate::kernel::LARGEST_TURN, "{widest}");
    }
}
