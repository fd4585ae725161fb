//! Many rays at a time: plain loops over short arrays, compiled once more for machines with wider registers.
//!
//! The loops hold no fused multiply-adds and no reordered sums of numbers that round, so every level gives the same bits.

use super::filter::{Bars, meets};
use super::instant::{Aim, Piece};
use super::settle::{Contact, Settled, settle};
use super::volume::units_of;

/// Rays that are looked at together: neighbours in a row.
pub(crate) const LANES: usize = 16;

/// How neighbouring columns stand at the two ends of a piece: sin φ and cos φ.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Aims<T> {
    pub(crate) s0: [T; LANES],
    pub(crate) c0: [T; LANES],
    pub(crate) s1: [T; LANES],
    pub(crate) c1: [T; LANES],
}

/// The same for the filter and for what is exact.
#[derive(Clone, Copy, Debug)]
pub(crate) struct AimChunk {
    pub(crate) rough: Aims<f32>,
    pub(crate) exact: Aims<f64>,
}

impl<T: Copy> Aims<T> {
    const fn of(value: T) -> Aims<T> {
        Aims { s0: [value; LANES], c0: [value; LANES], s1: [value; LANES], c1: [value; LANES] }
    }
}

impl AimChunk {
    pub(crate) const ZERO: AimChunk = AimChunk { rough: Aims::of(0.0), exact: Aims::of(0.0) };

    /// How one column stands.
    #[inline]
    pub(crate) fn aim(&self, lane: usize) -> Aim {
        let exact = &self.exact;
        Aim { start: (exact.s0[lane], exact.c0[lane]), end: (exact.s1[lane], exact.c1[lane]) }
    }
}

/// The outermost solid of neighbouring rays in a row: its ends, mm.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Wood<'a> {
    pub(crate) inner: &'a [f32; LANES],
    pub(crate) outer: &'a [f32; LANES],
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

    /// How columns with these sines and cosines of θ stand during a piece.
    #[inline]
    pub(crate) fn aim(self, piece: &Piece, sines: &[f64; LANES], cosines: &[f64; LANES], aims: &mut AimChunk) {
        match self {
            Instructions::Common => aim(piece, sines, cosines, aims),
            Instructions::Wide => wide::aim(piece, sines, cosines, aims),
        }
    }

    /// Which of the rays asked for, by bit, the cutter may meet.
    #[inline]
    pub(crate) fn meets(self, bars: &Bars, asked: u32, aims: &AimChunk, outer: &[f32; LANES]) -> u32 {
        match self {
            Instructions::Common => meets(bars, asked, &aims.rough, outer),
            Instructions::Wide => wide::meets(bars, asked, &aims.rough, outer),
        }
    }

    /// What the rays of a row lose whose bits are set, where it can be proved at once; ξ at the start of the piece.
    #[inline]
    pub(crate) fn settle(self, contact: &Contact<'_>, met: u32, xi: f64, aims: &AimChunk, wood: Wood<'_>) -> Settled {
        match self {
            Instructions::Common => settle(contact, met, xi, &aims.exact, wood),
            Instructions::Wide => wide::settle(contact, met, xi, &aims.exact, wood),
        }
    }

    /// Brings rays, by bit, down to new outer ends in the name of a block; returns the units of volume they lose.
    #[inline]
    pub(crate) fn lower(
        self,
        rays: u32,
        (ends, by): (&[f32; LANES], u32),
        outer: &mut [f32; LANES],
        outer_by: &mut [u32; LANES],
    ) -> i64 {
        match self {
            Instructions::Common => lower(rays, ends, by, outer, outer_by),
            Instructions::Wide => wide::lower(rays, ends, by, outer, outer_by),
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
}

/// The places of the ones, as bits.
#[inline(always)]
pub(super) fn bits<const COUNT: usize>(values: &[u32; COUNT]) -> u32 {
    let mut bits = 0;
    for (lane, value) in values.iter().enumerate() {
        bits |= value << lane;
    }
    bits
}

#[inline(always)]
fn aim(piece: &Piece, sines: &[f64; LANES], cosines: &[f64; LANES], aims: &mut AimChunk) {
    let AimChunk { rough, exact } = aims;
    for lane in 0..LANES {
        let aim = piece.aim((sines[lane], cosines[lane]));
        (exact.s0[lane], exact.c0[lane]) = aim.start;
        (exact.s1[lane], exact.c1[lane]) = aim.end;
    }
    for lane in 0..LANES {
        rough.s0[lane] = exact.s0[lane] as f32;
        rough.c0[lane] = exact.c0[lane] as f32;
        rough.s1[lane] = exact.s1[lane] as f32;
        rough.c1[lane] = exact.c1[lane] as f32;
    }
}

#[inline(always)]
fn lower(rays: u32, ends: &[f32; LANES], by: u32, outer: &mut [f32; LANES], outer_by: &mut [u32; LANES]) -> i64 {
    let mut lost = [0; LANES];
    for lane in 0..LANES {
        // Bits are chosen rather than branches: what is stored in any case can be done many at a time.
        let chosen = (rays >> lane & 1).wrapping_neg();
        let end = f32::from_bits(ends[lane].to_bits() & chosen | outer[lane].to_bits() & !chosen);
        lost[lane] = units_of(outer[lane]) - units_of(end);
        outer[lane] = end;
        outer_by[lane] = by & chosen | outer_by[lane] & !chosen;
    }
    let mut sum = 0;
    for units in lost {
        sum += units;
    }
    sum
}

#[inline(always)]
fn skim(radii: &mut [f32], floor: f32) {
    for radius in radii {
        *radius = if *radius > floor { floor } else { *radius };
    }
}

#[cfg(not(target_arch = "x86_64"))]
mod wide {
    pub(super) use super::{aim, lower, meets, settle, skim};
}

#[cfg(target_arch = "x86_64")]
#[allow(unsafe_code, reason = "functions compiled for more instructions can be called in no other way")]
mod wide {
    use super::{AimChunk, Aims, Bars, Contact, LANES, Piece, Settled, Wood};

    /// The same functions once more, compiled for AVX2.
    macro_rules! widened {
        ($($name:ident = $inner:ident($($argument:ident: $kind:ty),*) $(-> $result:ty)?;)*) => { $(
            #[target_feature(enable = "avx2")]
            fn $inner($($argument: $kind),*) $(-> $result)? {
                super::$name($($argument),*)
            }

            #[inline]
            pub(super) fn $name($($argument: $kind),*) $(-> $result)? {
                // SAFETY: `Instructions::Wide` is only ever used after `available` has found AVX2 on this processor.
                unsafe { $inner($($argument),*) }
            }
        )* };
    }

    widened! {
        aim = aim_wide(piece: &Piece, sines: &[f64; LANES], cosines: &[f64; LANES], aims: &mut AimChunk);
        meets = meets_wide(bars: &Bars, asked: u32, aims: &Aims<f32>, outer: &[f32; LANES]) -> u32;
        settle = settle_wide(contact: &Contact<'_>, met: u32, xi: f64, aims: &Aims<f64>, wood: Wood<'_>) -> Settled;
        lower = lower_wide(rays: u32, ends: &[f32; LANES], by: u32, outer: &mut [f32; LANES], outer_by: &mut [u32; LANES]) -> i64;
        skim = skim_wide(radii: &mut [f32], floor: f32);
    }
}
