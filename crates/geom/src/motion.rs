//! How a cutter passes over the blank.

use std::f64::consts::{FRAC_PI_2, PI};

use crate::angle;

/// Where the tip stands over the blank, in the blank frame.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pose {
    /// Station: distance along the rotary axis from the jaw face, mm.
    pub x: f64,
    /// Across the bed, mm; 0 is over the axis.
    pub y: f64,
    /// Height of the tip over the axis, mm.
    pub z: f64,
    /// Angle θ of the ray of the blank that points straight up, radians, unbounded.
    pub turn: f64,
}

impl Pose {
    /// The pose at the share `t` of the straight way from `self` to `to`.
    #[inline]
    pub fn toward(&self, to: &Pose, t: f64) -> Pose {
        let mix = |a: f64, b: f64| a + (b - a) * t;
        Pose { x: mix(self.x, to.x), y: mix(self.y, to.y), z: mix(self.z, to.z), turn: mix(self.turn, to.turn) }
    }

    fn get(&self, axis: Axis) -> f64 {
        match axis {
            Axis::X => self.x,
            Axis::Y => self.y,
            Axis::Z => self.z,
            Axis::Turn => self.turn,
        }
    }

    fn set(&mut self, axis: Axis, value: f64) {
        match axis {
            Axis::X => self.x = value,
            Axis::Y => self.y = value,
            Axis::Z => self.z = value,
            Axis::Turn => self.turn = value,
        }
    }
}

/// How the rotary axis lies beside the machine's own axes: what it rises and leans, mm a mm of station. At station 0 it is
/// where it should be.
///
/// Only the tip's place is led by it. The cutter leans against the axis as well, by an angle that lowers one side of its face
/// by a share of its width which is as small.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Lean {
    /// Upward.
    pub up: f64,
    /// Toward +Y.
    pub across: f64,
}

impl Lean {
    /// Where a tip stands over the axis as it lies, sent to a place over one that lies true.
    #[inline]
    pub fn over_axis(&self, sent: &Pose) -> Pose {
        Pose { y: sent.y - self.across * sent.x, z: sent.z - self.up * sent.x, ..*sent }
    }

    /// Where a tip was sent to that stands at a place over the axis as it lies.
    #[inline]
    pub fn sent(&self, pose: &Pose) -> Pose {
        Pose { y: pose.y + self.across * pose.x, z: pose.z + self.up * pose.x, ..*pose }
    }

    /// Bounds over the axis as it lies of what is sent to places within bounds.
    fn box_over_axis(&self, low: Pose, high: Pose) -> (Pose, Pose) {
        let ends = |rate: f64| [rate * low.x, rate * high.x];
        let least = |rate: f64| ends(rate)[0].min(ends(rate)[1]);
        let most = |rate: f64| ends(rate)[0].max(ends(rate)[1]);
        let lowest = Pose { y: low.y - most(self.across), z: low.z - most(self.up), ..low };
        (lowest, Pose { y: high.y - least(self.across), z: high.z - least(self.up), ..high })
    }
}

/// A coordinate of a [`Pose`].
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Axis {
    /// The station.
    X,
    /// Across the bed.
    Y,
    /// The height.
    Z,
    /// The angle on top.
    Turn,
}

/// An arc or helix: two coordinates run on a circle (each with its own scale, so that a circle on an unrolled skin is
/// one too), the others at a constant rate.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Arc {
    /// The two coordinates that run on the circle.
    pub axes: [Axis; 2],
    /// Centre in those coordinates, mm or radians.
    pub center: [f64; 2],
    /// Signed reach of each coordinate from the centre, mm or radians: coordinate = centre + reach · (cos, sin).
    pub reach: [f64; 2],
    /// Parameter angle at the start, radians.
    pub start: f64,
    /// Signed parameter sweep, radians.
    pub sweep: f64,
    /// What the rotary axis leans: the circle is one before that.
    pub lean: Lean,
}

/// One block's motion over the blank.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Motion {
    /// Where it starts.
    pub from: Pose,
    /// Where it ends.
    pub to: Pose,
    /// Set if the way between is not straight.
    pub arc: Option<Arc>,
    /// The block that commands it; ids grow in program order over the whole job.
    pub block: u32,
    /// Index of the cutter in the job's list.
    pub cutter: u16,
    /// Whether it is a rapid.
    pub rapid: bool,
}

/// The motions of a job, by block id.
pub trait Motions: Sync {
    /// How many blocks there are.
    fn count(&self) -> u32;
    /// The motion of block `index`; `None` where the block moves nothing or its start is not known.
    fn motion(&self, index: u32) -> Option<Motion>;
}

impl Motions for [Motion] {
    fn count(&self) -> u32 {
        u32::try_from(self.len()).unwrap_or(u32::MAX)
    }

    #[inline]
    fn motion(&self, index: u32) -> Option<Motion> {
        self.get(index as usize).copied()
    }
}

impl Motions for Vec<Motion> {
    fn count(&self) -> u32 {
        self.as_slice().count()
    }

    #[inline]
    fn motion(&self, index: u32) -> Option<Motion> {
        self.as_slice().motion(index)
    }
}

impl Motion {
    /// The pose at the share `t` of the motion, 0 … 1.
    #[inline]
    pub fn at(&self, t: f64) -> Pose {
        match &self.arc {
            None => self.from.toward(&self.to, t),
            Some(arc) => self.on_arc(arc, t),
        }
    }

    fn on_arc(&self, arc: &Arc, t: f64) -> Pose {
        if t >= 1.0 {
            return self.to;
        }
        let (from, to) = (arc.lean.sent(&self.from), arc.lean.sent(&self.to));
        let mut pose = from.toward(&to, t);
        let (on_circle, start, end) = (arc.point(t), arc.point(0.0), arc.point(1.0));
        for (k, axis) in arc.axes.into_iter().enumerate() {
            // A controller accepts an arc whose ends miss the circle a little; the miss is spread evenly over the arc.
            let miss = (from.get(axis) - start[k]) * (1.0 - t) + (to.get(axis) - end[k]) * t;
            pose.set(axis, on_circle[k] + miss);
        }
        arc.lean.over_axis(&pose)
    }

    /// The motion between two shares of it, the first not greater than the second.
    pub fn between(&self, first: f64, last: f64) -> Motion {
        let arc = |arc: Arc| Arc { start: arc.start + arc.sweep * first, sweep: arc.sweep * (last - first), ..arc };
        Motion { from: self.at(first), to: self.at(last), arc: self.arc.map(arc), ..*self }
    }

    /// The least and the greatest value of every coordinate on the way; on an arc they may lie a little farther out than
    /// it goes.
    pub fn bounds(&self) -> (Pose, Pose) {
        self.bounds_between(0.0, 1.0)
    }

    /// The same between two shares of the way, the first not greater than the second.
    pub fn bounds_between(&self, first: f64, last: f64) -> (Pose, Pose) {
        let lean = self.arc.map_or(Lean::default(), |arc| arc.lean);
        let [from, to] = [first, last].map(|share| lean.sent(&self.at(share)));
        let (mut low, mut high) = (from, from);
        let mut reach = |axis: Axis, value: f64| {
            low.set(axis, low.get(axis).min(value));
            high.set(axis, high.get(axis).max(value));
        };
        for axis in [Axis::X, Axis::Y, Axis::Z, Axis::Turn] {
            reach(axis, to.get(axis));
        }
        if let Some(arc) = self.arc {
            let (start, end) = (arc.point(0.0), arc.point(1.0));
            let (begun, ended) = (lean.sent(&self.from), lean.sent(&self.to));
            for (k, axis) in arc.axes.into_iter().enumerate() {
                let [least, greatest] = arc.range(k, first, last);
                for miss in [begun.get(axis) - start[k], ended.get(axis) - end[k]] {
                    reach(axis, least + miss);
                    reach(axis, greatest + miss);
                }
            }
        }
        lean.box_over_axis(low, high)
    }

    /// Into how many equal straight pieces the motion must be cut for none to leave it by more than `deviation` mm on
    /// a blank of the greatest radius `radius` mm. 1 for straight motions.
    pub fn chord_count(&self, deviation: f64, radius: f64) -> u32 {
        let Some(arc) = self.arc else { return 1 };
        let reach = arc.reach_mm(radius);
        if reach <= deviation {
            return 1.max((arc.sweep.abs() / std::f64::consts::FRAC_PI_2).ceil() as u32);
        }
        let step = 2.0 * angle::acos(1.0 - deviation / reach);
        ((arc.sweep.abs() / step).ceil() as u32).clamp(1, 1 << 20)
    }

    /// The straight pieces of the motion, in order, cut by [`Motion::chord_count`].
    pub fn chords(&self, deviation: f64, radius: f64) -> impl Iterator<Item = (Pose, Pose)> + '_ {
        let count = self.chord_count(deviation, radius);
        (0..count).map(move |k| {
            let at = |k: u32| self.at(f64::from(k) / f64::from(count));
            (at(k), at(k + 1))
        })
    }
}

impl Arc {
    fn point(&self, t: f64) -> [f64; 2] {
        let (sine, cosine) = angle::sin_cos(self.start + self.sweep * t);
        [self.center[0] + self.reach[0] * cosine, self.center[1] + self.reach[1] * sine]
    }

    /// Least and greatest value of one of the two coordinates between two shares.
    fn range(&self, k: usize, first: f64, last: f64) -> [f64; 2] {
        let [one, other] = [self.point(first)[k], self.point(last)[k]];
        let (mut least, mut greatest) = (one.min(other), one.max(other));
        let angles = [first, last].map(|share| self.start + self.sweep * share);
        // Where the coordinate turns: half turns from the start of the circle for the cosine, a quarter later for the sine.
        let turns = |angle: f64| (angle - if k == 0 { 0.0 } else { FRAC_PI_2 }) / PI;
        let (low, high) = (turns(angles[0].min(angles[1])), turns(angles[0].max(angles[1])));
        // A hair more, for rounding; of two in a row one lies on each side.
        let (from, to) = ((low - 1e-9).ceil(), (high + 1e-9).floor());
        for half in [from, from + 1.0].into_iter().filter(|half| *half <= to) {
            let reach = if half.rem_euclid(2.0) == 0.0 { self.reach[k] } else { -self.reach[k] };
            least = least.min(self.center[k] + reach);
            greatest = greatest.max(self.center[k] + reach);
        }
        [least, greatest]
    }

    /// Greatest reach from the centre as a length on a blank of the given radius, mm.
    fn reach_mm(&self, radius: f64) -> f64 {
        let length = |k: usize| match self.axes[k] {
            Axis::Turn => self.reach[k].abs() * radius,
            Axis::X | Axis::Y | Axis::Z => self.reach[k].abs(),
        };
        length(0).max(length(1))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::TAU;

    fn quarter() -> Motion {
        Motion {
            from: Pose { x: 10.0, y: 0.0, z: 5.0, turn: 0.0 },
            to: Pose { x: 0.0, y: 10.0, z: 7.0, turn: 1.0 },
            arc: Some(Arc {
                axes: [Axis::X, Axis::Y],
                center: [0.0, 0.0],
                reach: [10.0, 10.0],
                start: 0.0,
                sweep: FRAC_PI_2,
                lean: Lean::default(),
            }),
            block: 0,
            cutter: 0,
            rapid: false,
        }
    }

    #[test]
    fn arcs_keep_their_ends_and_their_radius() {
        let motion = quarter();
        assert_eq!(motion.at(0.0), motion.from);
        assert_eq!(motion.at(1.0), motion.to);
        let middle = motion.at(0.5);
        assert!((angle::hypot(middle.x, middle.y) - 10.0).abs() < 1e-12);
        assert_eq!((middle.z, middle.turn), (6.0, 0.5));
    }

    #[test]
    fn chords_stay_within_the_deviation() {
        let motion = quarter();
        for (a, b) in motion.chords(2e-4, 30.0) {
            let middle = angle::hypot(0.5 * (a.x + b.x), 0.5 * (a.y + b.y));
            assert!(10.0 - middle <= 2e-4 + 1e-12, "{middle}");
        }
        let last = motion.chords(2e-4, 30.0).last().unwrap();
        assert_eq!(last.1, motion.to);
    }

    #[test]
    fn a_stretch_goes_where_the_whole_goes() {
        let mut motion = quarter();
        motion.to.y = 10.3;
        for whole in [motion, Motion { arc: None, ..motion }] {
            let stretch = whole.between(0.2, 0.7);
            for share in [0.0, 0.3, 0.9, 1.0] {
                let (one, other) = (stretch.at(share), whole.at(0.2 + 0.5 * share));
                for axis in [Axis::X, Axis::Y, Axis::Z, Axis::Turn] {
                    assert!((one.get(axis) - other.get(axis)).abs() < 1e-12, "{one:?} {other:?}");
                }
            }
        }
    }

    #[test]
    fn bounds_hold_the_whole_way() {
        let mut motion = quarter();
        motion.to.y = 10.3;
        for reach in [[10.0, 10.0], [-10.0, 10.0]] {
            motion.arc = motion.arc.map(|arc| Arc { reach, sweep: 5.0, ..arc });
            let (low, high) = motion.bounds();
            for pose in (0..=100).map(|k| motion.at(f64::from(k) / 100.0)) {
                for axis in [Axis::X, Axis::Y, Axis::Z, Axis::Turn] {
                    assert!((low.get(axis)..=high.get(axis)).contains(&pose.get(axis)), "{axis:?} of {pose:?}");
                }
            }
        }
    }

    #[test]
    fn bounds_of_a_stretch_hold_it_and_hardly_more() {
        let mut motion = quarter();
        for (start, sweep) in [(0.0, 5.0), (2.0, -20.0), (-1.0, 0.3), (4.0, TAU * 9.0)] {
            motion.arc = motion.arc.map(|arc| Arc { start, sweep, reach: [10.0, -10.0], ..arc });
            let arc = motion.arc.unwrap();
            let [from, to] = [arc.point(0.0), arc.point(1.0)];
            (motion.from, motion.to) =
                (Pose { x: from[0], y: from[1], ..motion.from }, Pose { x: to[0], y: to[1], ..motion.to });
            for first in (0..20).map(|k| f64::from(k) * 0.05) {
                for last in [first, first + 0.01, first + 0.05, 1.0] {
                    let (low, high) = motion.bounds_between(first, last);
                    let poses: Vec<Pose> =
                        (0..=400).map(|k| motion.at(first + (last - first) * f64::from(k) / 400.0)).collect();
                    for axis in [Axis::X, Axis::Y, Axis::Z, Axis::Turn] {
                        let least = poses.iter().map(|pose| pose.get(axis)).fold(f64::INFINITY, f64::min);
                        let most = poses.iter().map(|pose| pose.get(axis)).fold(f64::NEG_INFINITY, f64::max);
                        let (low, high) = (low.get(axis), high.get(axis));
                        assert!(low <= least + 1e-12 && high >= most - 1e-12, "{axis:?}: {low} {least} {most} {high}");
                        assert!(least - low < 0.2 && high - most < 0.2, "{axis:?}: {low} {least} {most} {high}");
                    }
                }
            }
        }
    }

    #[test]
    fn over_an_axis_that_leans_an_arc_is_where_it_was_sent() {
        let lean = Lean { up: 0.02, across: -0.03 };
        for axes in [[Axis::X, Axis::Y], [Axis::Z, Axis::X], [Axis::Y, Axis::Z], [Axis::X, Axis::Turn]] {
            let arc = Arc { axes, center: [3.0, -2.0], reach: [10.0, 7.0], start: 0.4, sweep: 5.0, lean };
            let true_arc = Arc { lean: Lean::default(), ..arc };
            let straight = Motion { arc: None, ..quarter() };
            let sent = Motion { arc: Some(true_arc), ..straight };
            let led =
                Motion { from: lean.over_axis(&sent.from), to: lean.over_axis(&sent.to), arc: Some(arc), ..straight };
            let (low, high) = led.bounds();
            for t in (0..=50).map(|k| f64::from(k) / 50.0) {
                let (pose, expected) = (led.at(t), lean.over_axis(&sent.at(t)));
                for axis in [Axis::X, Axis::Y, Axis::Z, Axis::Turn] {
                    assert!((pose.get(axis) - expected.get(axis)).abs() < 1e-12, "{axes:?} {t}: {pose:?} {expected:?}");
                    assert!((low.get(axis)..=high.get(axis)).contains(&pose.get(axis)), "{axes:?} {t}: {axis:?}");
                }
            }
        }
    }

    #[test]
    fn a_missed_end_is_reached_without_a_jump() {
        let mut motion = quarter();
        motion.to.y = 10.004;
        assert_eq!(motion.at(1.0).y, 10.004);
        assert!((motion.at(1.0 - 1e-9).y - 10.004).abs() < 1e-6);
    }

    #[test]
    fn an_arc_on_the_skin_is_cut_by_its_length_in_the_wood() {
        let mut motion = quarter();
        motion.arc = Some(Arc {
            axes: [Axis::X, Axis::Turn],
            center: [0.0, 0.0],
            reach: [10.0, 10.0 / 30.0],
            start: 0.0,
            sweep: TAU,
            lean: Lean::default(),
        });
        let on_skin = motion.chord_count(2e-4, 30.0);
        motion.arc = Some(Arc { axes: [Axis::X, Axis::Y], reach: [10.0, 10.0], ..motion.arc.unwrap() });
        assert_eq!(on_skin, motion.chord_count(2e-4, 30.0));
    }
}
