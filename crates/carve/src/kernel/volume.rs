//! Volume in whole units, so that sums do not depend on their order.

/// Units of r² to the square millimetre.
pub(crate) const UNITS: f64 = (1u64 << 24) as f64;

/// From here to twice as much, numbers of double precision are the whole ones.
const WHOLE: f64 = (1u64 << 52) as f64;

/// The square of a radius up to 16 m in whole units, up to a constant.
///
/// Added to 2⁵² a number is rounded to a whole one by the sum itself, and its bits count as it does; quicker than to ask
/// for a whole number, and many are done at a time.
#[inline(always)]
pub(super) fn units_of(r: f32) -> i64 {
    let r = f64::from(r);
    (r * r * UNITS + WHOLE).to_bits() as i64
}

/// The area between two radii in whole units.
#[inline]
pub(crate) fn units(inner: f32, outer: f32) -> i64 {
    units_of(outer) - units_of(inner)
}
