//! Many rays at a time: plain loops over short arrays, compiled once more for machines with wider registers.
//!
//! The loops hold no fused multiply-adds and no reordered sums, so every level gives the same bits.

use super::filter::{Bars, meets};
use super::settle::{Contact, Settled, settle};

/// Rays that the filter looks at together.
pub(crate) const LANES: usize = 16;

/// Rays that are settled together.
pub(crate) const BATCH: usize = 8;

/// sin φ and cos φ of neighbouring columns at the two ends of a piece.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct AimChunk {
    pub(crate) s0: [f32; LANES],
    pub(crate) c0: [f32; LANES],
    pub(crate) s1: [f32; LANES],
    pub(crate) c1: [f32; LANES],
}

/// Rays, each with its ξ at the start, its outer end (mm) and how it stands at the two ends of the piece.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Batch {
    /// How many of the rays are to be settled.
    pub(crate) count: usize,
    pub(crate) xi: [f64; BATCH],
    pub(crate) outer: [f64; BATCH],
    pub(crate) s0: [f64; BATCH],
    pub(crate) c0: [f64; BATCH],
    pub(crate) s1: [f64; BATCH],
    pub(crate) c1: [f64; BATCH],
}

/// Which instructions the loops are compiled for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Instructions {
    /// What every processor of the kind has.
    Common,
    /// 256-bit registers, x86-64 only.
    Wide,
}

impl Instructions {
    /// The widest this processor has.
    pub fn best() -> Instructions {
        #[cfg(target_arch = "x86_64")]
        if is_x86_feature_detected!("avx2") {
            return Instructions::Wide;
        }
        Instructions::Common
    }

    /// These, or the common ones where the processor lacks them.
    pub(crate) fn available(self) -> Instructions {
        if self == Instructions::best() { self } else { Instructions::Common }
    }

    /// Which rays of a row, by bit, the cutter may meet.
    #[inline]
    pub(crate) fn meets(self, bars: &Bars, aims: &AimChunk, outer: &[f32; LANES]) -> u32 {
        match self {
            Instructions::Common => meets(bars, aims, outer),
            Instructions::Wide => wide::meets(bars, aims, outer),
        }
    }

    /// Brings every radius down to a floor.
    #[inline]
    pub(crate) fn skim(self, radii: &mut [f32], floor: f32) {
        match self {
            Instructions::Common => skim(radii, floor),
            Instructions::Wide => wide::skim(radii, floor),
        }
    }

    /// The lowest entries on a batch of rays, where they can be proved at once.
    #[inline]
    pub(crate) fn settle(self, contact: &Contact, batch: &Batch) -> Settled {
        match self {
            Instructions::Common => settle(contact, batch),
            Instructions::Wide => wide::settle(contact, batch),
        }
    }
}

#[inline(always)]
fn skim(radii: &mut [f32], floor: f32) {
    for radius in radii {
        *radius = if *radius > floor { floor } else { *radius };
    }
}

#[cfg(not(target_arch = "x86_64"))]
mod wide {
    pub(super) use super::{meets, settle, skim};
}

#[cfg(target_arch = "x86_64")]
#[allow(unsafe_code, reason = "functions compiled for more instructions can be called in no other way")]
mod wide {
    use super::{AimChunk, Bars, Batch, Contact, LANES, Settled};

    #[target_feature(enable = "avx2")]
    fn meets_wide(bars: &Bars, aims: &AimChunk, outer: &[f32; LANES]) -> u32 {
        super::meets(bars, aims, outer)
    }

    #[target_feature(enable = "avx2")]
    fn settle_wide(contact: &Contact, batch: &Batch) -> Settled {
        super::settle(contact, batch)
    }

    #[target_feature(enable = "avx2")]
    fn skim_wide(radii: &mut [f32], floor: f32) {
        super::skim(radii, floor);
    }

    #[inline]
    pub(super) fn skim(radii: &mut [f32], floor: f32) {
        // SAFETY: `Instructions::Wide` is only ever used after `available` has found AVX2 on this processor.
        unsafe { skim_wide(radii, floor) }
    }

    #[inline]
    pub(super) fn meets(bars: &Bars, aims: &AimChunk, outer: &[f32; LANES]) -> u32 {
        // SAFETY: as above.
        unsafe { meets_wide(bars, aims, outer) }
    }

    #[inline]
    pub(super) fn settle(contact: &Contact, batch: &Batch) -> Settled {
        // SAFETY: as above.
        unsafe { settle_wide(contact, batch) }
    }
}
