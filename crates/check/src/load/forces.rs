//! What a cut pulls with.
//!
//! A tooth feels its *main force* along its own way and a *thrust* away from the middle of the cutter. With the chip h thick
//! and the cut a deep, the main force is k·a·h, k the specific cutting force of the material; at the angle α ahead of the
//! way h is the feed per tooth times cos α. Summed along a direction in the plane of the teeth this is
//! `k·a·f·cos α·(A sin α + B cos α)`, of which the mean over a turn and the extremes over the arc are closed forms
//! (mechanistic model with constant coefficients: Altintas, *Manufacturing Automation*, 2000, chapter 2, from memory).
//!
//! No table of k for solid wood against the thickness of the chip could be opened. The ranges of the materials, what thin
//! chips make of them and the thrust are planning defaults, from memory.

use std::f64::consts::{PI, TAU};

use dryturn_geom::angle;

use super::engagement::Immersion;

/// Thrust over main force, least and greatest, with sharp edges: planning default, from memory. Blunt edges pass 1.
pub(crate) const THRUST: [f64; 2] = [0.3, 0.6];
/// Chips as thin as this or thinner take [`THIN`] times the force for their section; planning default, from memory.
const THIN_CHIP: f64 = 0.05;
/// From this thickness on the ranges of the materials hold as they stand; planning default, from memory.
const FULL_CHIP: f64 = 0.1;
const THIN: f64 = 2.0;

/// By how much chips of this mean thickness (mm) raise the greatest specific cutting force; of chips that nobody can tell,
/// as if they were thin.
pub(super) fn thinness(chip: Option<f64>) -> f64 {
    let over = chip.map_or(0.0, |chip| (chip - THIN_CHIP) / (FULL_CHIP - THIN_CHIP));
    THIN - (THIN - 1.0) * over.clamp(0.0, 1.0)
}

/// Power at the spindle, W, of taking so many mm³ a second at a specific cutting force in N/mm², which is as many mJ/mm³.
/// Machine and spindle lose some of theirs on the way. That it is the rate alone that counts is simple and not accurate:
/// the range has to hold what is left out (power constants of *Machinery's Handbook*, 31st edition, p. 1147).
pub(super) fn power(specific: f64, rate: f64) -> f64 {
    specific * rate / 1000.0
}

/// What a cut pulls with, least and greatest: the mean over a turn with the least specific cutting force, and the peak of
/// a tooth with the greatest.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Forces {
    /// Main force, along the teeth's own way, N.
    pub main: [f64; 2],
    /// Thrust away from the cutter, N; of a plunge, straight down.
    pub thrust: [f64; 2],
    /// Push on the wood along the axis, N, above zero toward greater stations, where a live center stands.
    pub axial: [f64; 2],
    /// Torque that turns the wood about the rotary axis, N·mm, either way.
    pub torque: [f64; 2],
}

impl Forces {
    /// Push on the wood toward the center, N; no less than nothing.
    pub fn toward_center(&self) -> [f64; 2] {
        self.axial.map(|end| end.max(0.0))
    }

    /// Main force and thrust together, across the rotary axis at the most, N.
    pub fn across(&self) -> [f64; 2] {
        [0, 1].map(|end| angle::diagonal(self.main[end], self.thrust[end]))
    }
}

/// A cut along a wall or in a groove.
#[derive(Clone, Copy, Debug)]
pub(super) struct Sideways {
    pub(super) immersion: Immersion,
    /// mm.
    pub(super) depth: f64,
    /// mm.
    pub(super) feed_per_tooth: f64,
    pub(super) teeth: u32,
    /// Direction of the way as seen from above, of length 1: along the axis and across the bed.
    pub(super) ahead: [f64; 2],
    /// Whether the wood lies to the left of the way.
    pub(super) is_left: bool,
    pub(super) is_climb: bool,
    /// Height over the rotary axis, mm.
    pub(super) height: f64,
}

impl Sideways {
    /// For a least and a greatest specific cutting force, N/mm².
    pub(super) fn forces(&self, [least, greatest]: [f64; 2]) -> Forces {
        let Immersion { share, .. } = self.immersion;
        // Of one N/mm²: a tooth at its thickest chip, and the mean of all over a turn.
        let tooth = self.feed_per_tooth * self.depth;
        let mean = f64::from(self.teeth) * tooth * share / PI;
        let main = [least * mean, greatest * mean.max(tooth * self.immersion.greatest())];
        let [along, across] = [0, 1].map(|axis| THRUST.map(|thrust| self.toward(axis, thrust)));
        let means = across.map(|pull| pull.mean);
        let steady = if means[0] * means[1] < 0.0 { 0.0 } else { means[0].abs().min(means[1].abs()) };
        let strongest = across.iter().fold(0.0, |most, pull| pull.size().max(most));
        let lever = self.height.abs();
        Forces {
            main,
            thrust: [THRUST[0] * main[0], THRUST[1] * main[1]],
            axial: [
                least * along[0].mean.min(along[1].mean),
                greatest * along.iter().fold(0.0, |most: f64, pull| most.max(pull.peak).max(pull.mean)),
            ],
            torque: [lever * least * steady, lever * greatest * strongest],
        }
    }

    /// The pull along the axis (0) or across the bed (1) for each N/mm², the thrust being so many times the main force.
    fn toward(&self, axis: usize, thrust: f64) -> Pull {
        let [along, across] = self.ahead;
        let side = if self.is_left { 1.0 } else { -1.0 };
        // The direction, as it lies ahead and toward the wood.
        let ahead = [along, across][axis];
        let beside = side * [-across, along][axis];
        // Teeth that come out of the wood ahead push it forward; those that climb pull it back.
        let hand = if self.is_climb { -1.0 } else { 1.0 };
        let pair = [hand * ahead + thrust * beside, thrust * ahead - hand * beside];
        self.pull(pair)
    }

    /// Mean and extremes of f·a·cos α·(A sin α + B cos α), α from the far side of the arc to the side of the cutter.
    fn pull(&self, [a, b]: [f64; 2]) -> Pull {
        let Immersion { arc, sine, cosine, .. } = self.immersion;
        let tooth = self.feed_per_tooth * self.depth;
        let sum = a * sine * sine + b * (arc - sine * cosine);
        let whole = angle::diagonal(a, b);
        Pull {
            mean: f64::from(self.teeth) * tooth * sum / (2.0 * TAU),
            peak: tooth * highest([a, b], whole, [sine, cosine]),
            dip: tooth * highest([-a, -b], whole, [sine, cosine]),
        }
    }
}

/// The pull along one direction for each N/mm².
#[derive(Clone, Copy, Debug)]
struct Pull {
    /// Over a turn, mm².
    mean: f64,
    /// The most of one tooth, mm²; not below zero.
    peak: f64,
    /// The most against it, mm²; not below zero.
    dip: f64,
}

impl Pull {
    fn size(&self) -> f64 {
        self.peak.max(self.dip).max(self.mean.abs())
    }
}

/// The highest of cos α·(a sin α + b cos α) = ½(b + ρ cos(2α − δ)), ρ = √(a² + b²) being `whole`, on the arc that ends a
/// quarter turn ahead, where it is zero.
fn highest([a, b]: [f64; 2], whole: f64, [sine, cosine]: [f64; 2]) -> f64 {
    if a * sine - b * cosine >= whole * cosine {
        return 0.5 * (b + whole);
    }
    (sine * (a * cosine + b * sine)).max(0.0)
}

/// A cut straight down.
#[derive(Clone, Copy, Debug)]
pub(super) struct Down {
    /// Diameter of a hole of the same section, mm.
    pub(super) width: f64,
    /// mm.
    pub(super) feed_per_tooth: f64,
    pub(super) teeth: u32,
    /// How far beside the rotary axis, mm.
    pub(super) aside: f64,
}

impl Down {
    /// For a least and a greatest specific cutting force, N/mm². Every tooth cuts from the middle out all the time, so
    /// their main forces cancel out but for a couple about the spindle, and their thrusts add up, straight down.
    pub(super) fn forces(&self, specific: [f64; 2]) -> Forces {
        let main = specific.map(|force| force * self.feed_per_tooth * 0.5 * self.width);
        let thrust = [0, 1].map(|end| f64::from(self.teeth) * THRUST[end] * main[end]);
        Forces { main, thrust, axial: [0.0; 2], torque: thrust.map(|force| force * self.aside.abs()) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn near(value: f64, expected: f64, tolerance: f64) {
        assert!((value - expected).abs() <= tolerance, "{value} is not {expected}");
    }

    const GROOVE: Sideways = Sideways {
        immersion: Immersion { share: 1.0, cosine: -1.0, sine: 0.0, arc: PI },
        depth: 2.0,
        feed_per_tooth: 0.05,
        teeth: 2,
        ahead: [1.0, 0.0],
        is_left: true,
        is_climb: false,
        height: 20.0,
    };

    /// 1 N/mm² is 1 J/cm³: a groove 6 wide and 2 deep at 1000 mm/min takes 12 000 mm³/min, at 30 N/mm² 6.0 W.
    #[test]
    fn the_power_of_a_groove() {
        near(power(30.0, 6.0 * 2.0 * 1000.0 / 60.0), 6.0, 1e-12);
    }

    /// *Machinery's Handbook*, power constant method, from memory: turning alloy steel at 6.72 in³/min with K_p 0.62,
    /// C 0.94 and W 1.30 takes 5.09 hp; with K_p 1.69 and 1.812 cm³/s 3.74 kW.
    #[test]
    fn the_power_constant_method() {
        let horsepower = 745.699_87;
        let inch = 25.4f64.powi(3);
        let specific = 0.62 * 0.94 * 1.30 * horsepower * 60.0 / inch * 1000.0;
        near(power(specific, 6.72 * inch / 60.0) / horsepower, 5.09, 0.005);
        near(power(1690.0 * 0.94 * 1.30, 1812.0) / 1000.0, 3.74, 0.005);
    }

    /// P = a_p·a_e·v_f·k_c/60·10⁶ kW, in a cutter maker's catalogue over an efficiency of 0.8: 2 deep, 80 wide, 280 mm/min,
    /// 1800 N/mm²: 1.68 kW. The numbers of its result are from memory.
    #[test]
    fn the_power_of_face_milling() {
        near(power(1800.0, 2.0 * 80.0 * 280.0 / 60.0) / 1000.0 / 0.8, 1.68, 1e-9);
    }

    /// The main force is the power over the speed of the edge: 6 W at 5.98473 m/s are 1.0 N, and a tooth of a cut 6 deep
    /// with chips of 0.05 mm at 30 N/mm² peaks at 9 N.
    #[test]
    fn mean_and_peak_of_the_main_force() {
        let (diameter, rpm) = (6.35, 18_000.0);
        let speed = PI * diameter * rpm / 60.0;
        near(speed * 60.0 / 1000.0, 359.084, 5e-4);
        let (width, depth, feed) = (3.0, 2.0, 0.05);
        let cut = Sideways { immersion: Immersion::of(width, diameter), depth, feed_per_tooth: feed, ..GROOVE };
        let rate = width * depth * feed * 2.0 * rpm / 60.0;
        near(cut.forces([30.0, 30.0]).main[0], 1000.0 * power(30.0, rate) / speed, 1e-12);
        let deep = Sideways { depth: 6.0, ..GROOVE };
        near(deep.forces([30.0, 30.0]).main[1], 9.0, 1e-12);
    }

    #[test]
    fn thin_chips_take_twice_the_force() {
        for (chip, factor) in [(0.01, 2.0), (0.05, 2.0), (0.075, 1.5), (0.1, 1.0), (0.3, 1.0)] {
            near(thinness(Some(chip)), factor, 1e-12);
        }
        assert_eq!(thinness(None), 2.0);
    }

    /// Tooth by tooth at two hundred thousand angles, beside the closed forms.
    #[test]
    fn means_and_peaks_as_summed_up() {
        for (width, is_left, is_climb, ahead) in [
            (0.3, true, false, [1.0, 0.0]),
            (1.5, true, true, [0.6, -0.8]),
            (4.0, false, false, [-0.6, -0.8]),
            (4.4, false, true, [0.0, -1.0]),
            (6.0, true, false, [-1.0, 0.0]),
        ] {
            let cut = Sideways { immersion: Immersion::of(width, 6.0), is_left, is_climb, ahead, ..GROOVE };
            for (axis, thrust) in [(0, 0.3), (1, 0.3), (0, 0.6), (1, 0.6)] {
                let found = cut.toward(axis, thrust);
                let [mean, peak, dip] = summed(&cut, axis, thrust);
                near(found.mean, mean, 1e-6);
                near(found.peak, peak, 1e-6);
                near(found.dip, dip, 1e-6);
            }
        }
    }

    /// Mean, greatest and least of what one tooth does to the wood along an axis, from places and velocities of the tooth.
    fn summed(cut: &Sideways, axis: usize, thrust: f64) -> [f64; 3] {
        let left = [-cut.ahead[1], cut.ahead[0]];
        let side = if cut.is_left { 1.0 } else { -1.0 };
        // Conventional teeth move forward where they are beside the cutter in the wood.
        let forward = if cut.is_climb { -1.0 } else { 1.0 };
        let count = 200_000;
        let (mut sum, mut peak, mut dip) = (0.0, 0.0f64, 0.0f64);
        for k in 0..count {
            let beside = PI / 2.0 - cut.immersion.arc * (f64::from(k) + 0.5) / f64::from(count);
            let (sine, cosine) = beside.sin_cos();
            let outward = [0, 1].map(|i| cosine * cut.ahead[i] + side * sine * left[i]);
            let edge = [0, 1].map(|i| forward * (sine * cut.ahead[i] - side * cosine * left[i]));
            let chip = cut.feed_per_tooth * cosine;
            let pull = cut.depth * chip * (edge[axis] + thrust * outward[axis]);
            sum += pull;
            (peak, dip) = (peak.max(pull), dip.max(-pull));
        }
        let share = cut.immersion.arc / TAU;
        [f64::from(cut.teeth) * share * sum / f64::from(count), peak, dip]
    }

    /// With the way along the axis, toward the center: of the main force nothing is left over a turn in a groove, and the
    /// thrust pushes on.
    #[test]
    fn a_groove_toward_the_center() {
        let forces = GROOVE.forces([20.0, 40.0]);
        near(forces.axial[0], 20.0 * 0.3 * 2.0 * 0.05 * 2.0 / 4.0, 1e-12);
        assert!(forces.axial[1] > forces.axial[0] && forces.axial[1] <= 40.0 * 0.1 * 1.6);
        let back = Sideways { ahead: [-1.0, 0.0], ..GROOVE }.forces([20.0, 40.0]);
        near(back.axial[0], -20.0 * 0.6 * 2.0 * 0.05 * 2.0 / 4.0, 1e-12);
        // Across, the main force turns the wood: mean z·k·a·f/4 at 20 mm over the axis.
        near(forces.torque[0], 20.0 * 20.0 * 2.0 * 0.05 * 2.0 / 4.0, 1e-12);
    }

    #[test]
    fn a_plunge_pushes_down_and_turns_the_wood_only_beside_the_axis() {
        let down = Down { width: 6.0, feed_per_tooth: 0.1, teeth: 2, aside: -4.0 }.forces([20.0, 40.0]);
        assert_eq!((down.main, down.axial), ([6.0, 12.0], [0.0, 0.0]));
        near(down.thrust[0], 3.6, 1e-12);
        near(down.thrust[1], 14.4, 1e-12);
        near(down.torque[1], 57.6, 1e-12);
    }
}
