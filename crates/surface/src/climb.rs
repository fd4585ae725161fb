//! The crossings of a strip, one for each level at which its rays differ.
//!
//! Walls are mostly flat. So of a stretch of levels the lowest and the highest are crossed first: where both lie in one
//! plane of one owner, those between are where that plane crosses them; else the middle one is crossed, and both halves
//! are looked at in the same way. A plane through the crossing below also tells where the next one is to be looked for.

use std::ops::RangeInclusive;

use crate::crossing::{Likely, Way, at_the_face, crossing};
use crate::place::Place;
use crate::rays::{End, is_solid};
use crate::skin::Sample;
use crate::strip::Strip;
use crate::wood::Wood;

/// Most that crossings of a flat wall may lie off its plane, mm, and the least product of its unit normals.
const FLAT: f64 = 1e-6;
const STRAIGHT: f64 = 1.0 - 1e-10;

/// A strip whose crossings are looked for.
pub(crate) struct Climb<'a, W> {
    pub(crate) wood: &'a W,
    pub(crate) strip: Strip<'a>,
    /// The levels at which its rays differ, ascending.
    pub(crate) levels: &'a [f64],
    /// The rays, at the axis.
    pub(crate) rays: [Place; 2],
    /// Whether one of the rays stands beyond an end of the blank.
    pub(crate) is_at_the_face: bool,
    /// Over how much of a flat wall nothing else is looked for, mm.
    pub(crate) longest: f64,
}

impl<W: Wood> Climb<'_, W> {
    /// The crossings, a level each.
    pub(crate) fn crossings(&self) -> Vec<Sample> {
        let mut found: Vec<Option<Sample>> = vec![None; self.levels.len()];
        let mut below = None;
        let mut from = 0;
        while from < self.levels.len() {
            let to = self.stretch(from);
            found[from] = Some(self.cross(from, below));
            if to > from {
                found[to] = Some(self.cross(to, found[from]));
            }
            self.fill(from..=to, &mut found);
            (below, from) = (found[to], to + 1);
        }
        found.into_iter().flatten().collect()
    }

    /// The last level of a stretch that begins at one and in which the same ray has the wood.
    fn stretch(&self, from: usize) -> usize {
        let longest = self.levels[from] + self.longest;
        let goes_on = |level: &&f64| **level <= longest && self.is_near(**level) == self.is_near(self.levels[from]);
        from + self.levels[from + 1..].iter().take_while(goes_on).count()
    }

    /// Whether it is the first ray that has the wood at a level.
    fn is_near(&self, level: f64) -> bool {
        is_solid(self.strip.near, level)
    }

    /// Finds the crossings between the outer two of a stretch.
    fn fill(&self, stretch: RangeInclusive<usize>, found: &mut [Option<Sample>]) {
        let (from, to) = (*stretch.start(), *stretch.end());
        if to - from < 2 {
            return;
        }
        let (Some(low), Some(high)) = (found[from], found[to]) else { return };
        if is_one_plane(&low, &high) {
            for (level, between) in found.iter_mut().enumerate().take(to).skip(from + 1) {
                *between = Some(self.on_plane(level, &low));
            }
            return;
        }
        let middle = (from + to) / 2;
        found[middle] = Some(self.cross(middle, Some(low)));
        self.fill(from..=middle, found);
        self.fill(middle..=to, found);
    }

    /// The way over the strip at a level, out of the wood.
    fn way(&self, level: f64) -> Way {
        let [near, far] = self.rays.map(|ray| Place { radius: level, ..ray });
        if self.is_near(level) { Way::new(near, far) } else { Way::new(far, near) }
    }

    /// The crossing at a level, where the plane of another is.
    fn on_plane(&self, level: usize, plane: &Sample) -> Sample {
        let way = self.way(self.levels[level]);
        let Some(share) = way.meeting(plane) else { return self.cross(level, Some(*plane)) };
        let point = way.at(share).point();
        Sample { point: point - plane.normal * plane.normal.dot(point - plane.point), ..*plane }
    }

    fn cross(&self, level: usize, below: Option<Sample>) -> Sample {
        let level = self.levels[level];
        let way = self.way(level);
        if self.is_at_the_face {
            return at_the_face(self.wood, &way);
        }
        // Who made the crossing below, or the end of the empty ray, is likely to have made this one too.
        let of_below = |it: Sample| Likely { by: it.by, share: way.meeting(&it).unwrap_or(0.5) };
        let of_end = || maker(if self.is_near(level) { self.strip.far } else { self.strip.near }, level);
        let likely = below.map(of_below).or_else(|| of_end().map(|by| Likely { by, share: 0.5 }));
        crossing(self.wood, &way, likely)
    }
}

/// Whether two crossings lie in one flat wall of one owner.
pub(crate) fn is_one_plane(one: &Sample, other: &Sample) -> bool {
    let is_off = one.normal.dot(other.point - one.point).abs() > FLAT;
    one.by == other.by && one.normal.dot(other.normal) >= STRAIGHT && !is_off
}

/// Who made the end of a ray below a radius, or else the one above it.
fn maker(ends: &[End], radius: f64) -> Option<u32> {
    let above = ends.partition_point(|end| end.radius() < radius);
    ends[..above].last().or_else(|| ends.get(above)).map(|end| end.by)
}
