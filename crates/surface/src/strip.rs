//! The strip between two neighbouring rays.
//!
//! Going out from the axis along both rays at once, the surface passes between them for as long as one has solid and
//! the other has not. It enters and leaves at an end of either ray, and at the levels that cut the strip it crosses
//! from the one side to the other.

use crate::rays::{End, is_solid};

/// Where the surface passes a line of the lattice.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Knot {
    /// On the axis, between two rows.
    Axis,
    /// At an end of the first ray.
    Near(u32),
    /// At an end of the second ray.
    Far(u32),
    /// Across the strip, at one of the levels at which its rays differ.
    Level(u32),
}

/// The way of the surface over a strip from one knot to the next one out.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Segment {
    pub(crate) lower: Knot,
    pub(crate) upper: Knot,
    /// Radius of the lower knot, mm.
    pub(crate) from: f64,
    /// Radius of the upper knot, mm.
    pub(crate) to: f64,
}

/// Two neighbouring rays.
#[derive(Clone, Copy)]
pub(crate) struct Strip<'a> {
    pub(crate) near: &'a [End],
    pub(crate) far: &'a [End],
}

impl Strip<'_> {
    /// Whether one ray has solid at a level and the other has not.
    pub(crate) fn differs_at(&self, level: f64) -> bool {
        is_solid(self.near, level) != is_solid(self.far, level)
    }

    /// How many segments there are if the surface crosses at so many levels.
    pub(crate) fn count(&self, levels: usize) -> usize {
        (self.near.len() + self.far.len()).div_ceil(2) + levels
    }

    /// Visits the segments from the axis out. `levels` are those, in order, at which the rays differ.
    pub(crate) fn segments(&self, levels: &[f64], mut visit: impl FnMut(Segment)) {
        let (mut near, mut far, mut level) = (0, 0, 0);
        let differ = (self.near.len() + self.far.len()) % 2 == 1;
        let mut open = differ.then_some((Knot::Axis, 0.0));
        loop {
            let radius = |ends: &[End], at: usize| ends.get(at).map_or(f64::INFINITY, End::radius);
            let (on_near, on_far) = (radius(self.near, near), radius(self.far, far));
            let across = levels.get(level).copied().unwrap_or(f64::INFINITY);
            let here = if across <= on_near.min(on_far) && level < levels.len() {
                level += 1;
                (Knot::Level(level as u32 - 1), across)
            } else if near < self.near.len() && on_near <= on_far {
                near += 1;
                (Knot::Near(near as u32 - 1), on_near)
            } else if far < self.far.len() {
                far += 1;
                (Knot::Far(far as u32 - 1), on_far)
            } else {
                break;
            };
            if let Some((lower, from)) = open {
                visit(Segment { lower, upper: here.0, from, to: here.1 });
            }
            open = (open.is_none() || matches!(here.0, Knot::Level(_))).then_some(here);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ends(radii: &[f32]) -> Vec<End> {
        radii.iter().map(|&radius| End { radius, by: 0 }).collect()
    }

    #[test]
    fn ends_pair_up_from_the_axis_out() {
        let (near, far) = (ends(&[2.0, 5.0, 9.0]), ends(&[4.0, 5.0]));
        let mut seen = Vec::new();
        Strip { near: &near, far: &far }.segments(&[], |it| seen.push((it.lower, it.upper)));
        use Knot::{Axis, Far, Near};
        assert_eq!(seen, [(Axis, Near(0)), (Far(0), Near(1)), (Far(1), Near(2))]);
    }

    #[test]
    fn an_end_on_a_level_lies_above_it() {
        let (near, far) = (ends(&[8.0]), ends(&[2.0]));
        let strip = Strip { near: &near, far: &far };
        assert!(strip.differs_at(8.0) && !strip.differs_at(2.0));
        let mut seen = Vec::new();
        strip.segments(&[4.0, 8.0], |it| seen.push((it.lower, it.upper, it.from, it.to)));
        use Knot::{Far, Level, Near};
        assert_eq!(seen, [(Far(0), Level(0), 2.0, 4.0), (Level(0), Level(1), 4.0, 8.0), (Level(1), Near(0), 8.0, 8.0)]);
        assert_eq!(strip.count(2), seen.len());
    }
}
