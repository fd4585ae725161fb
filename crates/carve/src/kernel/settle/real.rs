//! Numbers of single or double precision, so that what settles rays is written once.

use std::ops::{Add, Div, Mul, Neg, Sub};

use super::super::lanes::AimChunk;

pub(crate) trait Real:
    Copy
    + Default
    + PartialOrd
    + Add<Output = Self>
    + Sub<Output = Self>
    + Mul<Output = Self>
    + Div<Output = Self>
    + Neg<Output = Self>
{
    const IS_SINGLE: bool;

    fn of(value: f64) -> Self;
    fn wide(self) -> f64;
    fn sqrt(self) -> Self;
    fn abs(self) -> Self;

    /// How a column stands at the start and at the end of the piece: sin φ and 1 − cos φ.
    fn aim(aims: &AimChunk, lane: usize) -> [(Self, Self); 2];
}

impl Real for f32 {
    const IS_SINGLE: bool = true;

    #[inline(always)]
    fn of(value: f64) -> f32 {
        value as f32
    }

    #[inline(always)]
    fn wide(self) -> f64 {
        f64::from(self)
    }

    #[inline(always)]
    fn sqrt(self) -> f32 {
        f32::sqrt(self)
    }

    #[inline(always)]
    fn abs(self) -> f32 {
        f32::abs(self)
    }

    #[inline(always)]
    fn aim(aims: &AimChunk, lane: usize) -> [(f32, f32); 2] {
        let (rough, versines) = (&aims.rough, &aims.versines);
        [(rough.s0[lane], versines.0[lane]), (rough.s1[lane], versines.1[lane])]
    }
}

impl Real for f64 {
    const IS_SINGLE: bool = false;

    #[inline(always)]
    fn of(value: f64) -> f64 {
        value
    }

    #[inline(always)]
    fn wide(self) -> f64 {
        self
    }

    #[inline(always)]
    fn sqrt(self) -> f64 {
        f64::sqrt(self)
    }

    #[inline(always)]
    fn abs(self) -> f64 {
        f64::abs(self)
    }

    #[inline(always)]
    fn aim(aims: &AimChunk, lane: usize) -> [(f64, f64); 2] {
        let exact = &aims.exact;
        [(exact.s0[lane], 1.0 - exact.c0[lane]), (exact.s1[lane], 1.0 - exact.c1[lane])]
    }
}
