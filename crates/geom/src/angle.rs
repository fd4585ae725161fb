//! The one place sines and cosines come from.
//!
//! The platform's own functions differ in the last bit between systems; a portable library gives the same bits
//! everywhere, and with them the same report.

use std::f64::consts::{PI, TAU};

/// Sine and cosine of an angle in radians.
#[inline]
pub fn sin_cos(radians: f64) -> (f64, f64) {
    libm::sincos(radians)
}

/// Tangent of an angle in radians.
pub fn tan(radians: f64) -> f64 {
    libm::tan(radians)
}

/// Angle in radians, −π … π, of the direction with the given sine-like and cosine-like components.
pub fn atan2(sine: f64, cosine: f64) -> f64 {
    libm::atan2(sine, cosine)
}

/// Arc sine in radians of a number clamped to −1 … 1.
pub fn asin(sine: f64) -> f64 {
    libm::asin(sine.clamp(-1.0, 1.0))
}

/// Arc cosine in radians of a number clamped to −1 … 1.
pub fn acos(cosine: f64) -> f64 {
    libm::acos(cosine.clamp(-1.0, 1.0))
}

/// Length of the hypotenuse, without the overflow a plain sum of squares would meet.
pub fn hypot(a: f64, b: f64) -> f64 {
    libm::hypot(a, b)
}

/// The same of numbers that are nowhere near overflow, such as millimetres or newtons; several times as quick.
#[inline]
pub fn diagonal(a: f64, b: f64) -> f64 {
    (a * a + b * b).sqrt()
}

/// Degrees as radians.
pub fn radians(degrees: f64) -> f64 {
    degrees * (PI / 180.0)
}

/// Radians as degrees.
pub fn degrees(radians: f64) -> f64 {
    radians * (180.0 / PI)
}

/// The angle brought into 0 … 2π (2π excluded).
pub fn wrapped(radians: f64) -> f64 {
    let turn = radians - TAU * (radians / TAU).floor();
    if turn >= TAU { 0.0 } else { turn }
}

/// The angle brought into −π … π.
pub fn signed(radians: f64) -> f64 {
    radians - TAU * (radians / TAU).round()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn wrapped_angles_stay_in_one_turn() {
        assert_eq!(wrapped(0.0), 0.0);
        assert!((wrapped(-0.25) - (TAU - 0.25)).abs() < 1e-15);
        assert!(wrapped(-1e-30) < TAU);
        assert!((wrapped(radians(3610.0)) - radians(10.0)).abs() < 1e-12);
        assert!((signed(radians(350.0)) + radians(10.0)).abs() < 1e-12);
    }

    #[test]
    fn degrees_and_radians_are_inverse() {
        assert_eq!(radians(180.0), PI);
        assert!((degrees(radians(33.3)) - 33.3).abs() < 1e-12);
    }
}
