//! How a cutter stands in the wood.

use std::f64::consts::{PI, TAU};

use dryturn_geom::angle;

/// How a cutter stands in the wood during a stroke. What needs a feed or a spindle speed that nobody named is `None`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Engagement {
    /// Width of the cut, across the way and along the surface, mm; of a plunge the diameter of a hole of its size.
    pub width: f64,
    /// Depth of the cut from the surface that was there, mm.
    pub depth: f64,
    /// Greatest diameter of the cutter within that depth, mm.
    pub diameter: f64,
    /// Angle of a turn during which a tooth is in the wood, radians.
    pub arc: f64,
    /// What the cutter advances from one tooth to the next, mm.
    pub feed_per_tooth: Option<f64>,
    /// Thickness of a chip, mean over the arc, mm.
    pub chip_mean: Option<f64>,
    /// Thickness of a chip where it is thickest, mm.
    pub chip_greatest: Option<f64>,
    /// Wood taken, mm³ a second.
    pub rate: Option<f64>,
    /// Speed of the cutter over the wood, mm a second.
    pub speed: Option<f64>,
    /// Direction over the wood, of length 1: along the axis, across the bed, up.
    pub direction: [f64; 3],
    /// Whether the way goes mainly down.
    pub is_plunge: bool,
    /// Whether the teeth leave the wood where their chip is thinnest, as when the work is fed the way they go; `None` in a
    /// groove, where both sides are cut, and for a plunge.
    pub is_climb: Option<bool>,
    /// How it goes with the grain.
    pub grain: Grain,
}

/// How a way goes with the grain, which runs along the axis.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Grain {
    /// Across it: around the blank, or straight down.
    Across,
    /// Along it at one height.
    Along,
    /// Along it with the tip rising: against the grain, which is lifted and torn.
    Uphill,
    /// Along it with the tip going down.
    Downhill,
}

/// What rises or falls less than this for every mm of the way is level.
pub(crate) const LEVEL: f64 = 0.01;

impl Grain {
    /// Of a way in this direction: along the axis, across the bed, up.
    pub(super) fn of([along, across, up]: [f64; 3]) -> Grain {
        match along.abs() > across.abs() && along.abs() > up.abs() {
            false => Grain::Across,
            true if up > LEVEL => Grain::Uphill,
            true if up < -LEVEL => Grain::Downhill,
            true => Grain::Along,
        }
    }
}

/// The part of a cutter's circle that is in the wood when it goes along a wall.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Immersion {
    /// Width over diameter, 0 … 1.
    pub(super) share: f64,
    /// Cosine and sine of the arc.
    pub(super) cosine: f64,
    pub(super) sine: f64,
    /// The arc, radians.
    pub(super) arc: f64,
}

impl Immersion {
    /// For a width of cut and a diameter, both mm and above zero: the arc is acos(1 − 2q), q their quotient (*Machinery's
    /// Handbook*, "Radial chip thinning", and any book on milling; from memory).
    pub(super) fn of(width: f64, diameter: f64) -> Immersion {
        let share = (width / diameter).clamp(0.0, 1.0);
        let cosine = 1.0 - 2.0 * share;
        Immersion { share, cosine, sine: 2.0 * (share * (1.0 - share)).sqrt(), arc: angle::acos(cosine) }
    }

    /// The thickest chip over the feed per tooth: 2√(q − q²) until half of the cutter is in the wood, 1 beyond.
    pub(super) fn greatest(&self) -> f64 {
        if self.share < 0.5 { self.sine } else { 1.0 }
    }

    /// The mean chip over the feed per tooth: 2q over the arc.
    pub(super) fn mean(&self) -> f64 {
        if self.arc > 0.0 { 2.0 * self.share / self.arc } else { 0.0 }
    }
}

/// A full turn in solid wood, less where a plunge takes less than a whole hole of the cutter's diameter: section and
/// diameter in mm² and mm.
pub(super) fn plunge_arc(section: f64, diameter: f64) -> f64 {
    TAU * (4.0 * section / (PI * diameter * diameter)).clamp(0.0, 1.0)
}

/// What a cutter advances from one tooth to the next, mm, at a speed in mm a second; `None` for a spindle that stands still
/// and a cutter without teeth.
pub(super) fn feed_per_tooth(speed: f64, rpm: f64, teeth: u32) -> Option<f64> {
    let passing = rpm * f64::from(teeth) / 60.0;
    Some(speed / passing).filter(|feed| feed.is_finite() && passing > 0.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn near(value: f64, expected: f64, tolerance: f64) {
        assert!((value - expected).abs() <= tolerance, "{value} is not {expected}");
    }

    /// Closed forms of q = a_e/D for D 6.
    #[test]
    fn arcs_and_chips_of_a_cutter_of_six() {
        for (width, degrees, greatest, mean) in [
            (0.3, 25.8419, 0.435_890, 0.221_716),
            (0.6, 36.8699, 0.600_000, 0.310_800),
            (1.5, 60.0, 0.866_025, 0.477_465),
            (3.0, 90.0, 1.0, std::f64::consts::FRAC_2_PI),
        ] {
            let immersion = Immersion::of(width, 6.0);
            near(angle::degrees(immersion.arc), degrees, 5e-5);
            near(immersion.greatest(), greatest, 5e-7);
            near(immersion.mean(), mean, 5e-7);
            near(immersion.sine, immersion.arc.sin(), 1e-12);
        }
    }

    #[test]
    fn in_a_groove_half_a_turn() {
        let groove = Immersion::of(6.0, 6.0);
        near(groove.arc, PI, 1e-12);
        near(groove.mean(), 2.0 / PI, 1e-12);
        assert_eq!((groove.greatest(), Immersion::of(9.0, 6.0).arc), (1.0, groove.arc));
        assert_eq!(Immersion::of(0.0, 6.0).mean(), 0.0);
        near(plunge_arc(9.0 * PI, 6.0), TAU, 1e-12);
        near(plunge_arc(4.5 * PI, 6.0), PI, 1e-12);
    }

    /// 1800 mm/min with two teeth at 18 000: 0.05 mm a tooth.
    #[test]
    fn the_feed_of_a_tooth() {
        near(feed_per_tooth(30.0, 18_000.0, 2).unwrap(), 0.05, 1e-15);
        assert_eq!(feed_per_tooth(30.0, 0.0, 2), None);
        assert_eq!(feed_per_tooth(30.0, 18_000.0, 0), None);
        assert_eq!(feed_per_tooth(f64::NAN, 18_000.0, 2), None);
    }

    #[test]
    fn the_grain_runs_along_the_axis() {
        assert_eq!(Grain::of([0.0, -1.0, 0.0]), Grain::Across);
        assert_eq!(Grain::of([0.0, 0.0, -1.0]), Grain::Across);
        assert_eq!(Grain::of([-1.0, 0.0, 0.0]), Grain::Along);
        assert_eq!(Grain::of([-0.9, 0.1, 0.3]), Grain::Uphill);
        assert_eq!(Grain::of([0.9, 0.1, -0.3]), Grain::Downhill);
    }
}
