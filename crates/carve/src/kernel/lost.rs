//! What rays lose to a piece: how much, how deep, and on which side of the cutter's way.

use super::instant::{Aim, Piece};
use super::volume::UNITS;

/// The way of a cutter over the wood during a piece, seen from above: along the axis and across the bed.
///
/// A point of the wood at the height h over the axis moves across by h · turn as the blank turns, so the cutter passes over
/// it by its own way across less that.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Heading {
    /// Station and y of the tip midway, mm.
    x: f64,
    y: f64,
    /// What the tip moves by along and across, mm, and the blank turns by, radians.
    along: f64,
    across: f64,
    turn: f64,
    /// What lies no farther off zero lies on the line of the way, mm².
    on_line: f64,
    /// All of a row lies on one side of the way that lies ahead of the tip by so much that this many times it, mm, is more than
    /// `at_most`, mm²: under the tip there is no wood, so where the blank turns fast it carries all of a row past on one side.
    passes: f64,
    at_most: f64,
}

/// A point as near to the line of the way lies on it, mm: more than single precision is off at any length of a piece.
const ON_LINE: f64 = 1e-4;

impl Heading {
    /// Of a cutter of a radius, mm.
    pub(crate) fn of(piece: &Piece, radius: f64) -> Heading {
        let (from, by) = (&piece.from, &piece.by);
        let on_line = ON_LINE * (piece.way + from.z.abs() * by.turn.abs());
        let lowest = from.z.min(from.z + by.z).max(0.0);
        // Somewhat more than the radius, for the blank turns meanwhile.
        let aside = 1.5 * radius + by.y.abs();
        Heading {
            x: from.x + 0.5 * by.x,
            y: from.y + 0.5 * by.y,
            along: by.x,
            across: by.y,
            turn: by.turn,
            on_line,
            passes: by.turn.abs() * lowest - by.y.abs(),
            at_most: by.x.abs() * aside + on_line,
        }
    }

    /// As the rays of a station see it.
    #[inline]
    pub(crate) fn at(&self, station: f64) -> Side {
        let ahead = station - self.x;
        if ahead.abs() * self.passes > self.at_most {
            let is_left = (ahead > 0.0) == (self.turn > 0.0);
            return Side { of_all: Some(if is_left { 2 } else { 0 }), ..Side::default() };
        }
        // Halves, since sines and cosines midway are told as the sums of those at the ends.
        Side {
            constant: (-self.along * self.y - self.across * ahead) as f32,
            by_cosine: (0.5 * self.turn * ahead) as f32,
            by_sine: (-0.5 * self.along) as f32,
            on_line: self.on_line as f32,
            of_all: None,
        }
    }
}

/// Tells for the points of a station on which side of the way they lie: by the cross product of the way and of what they
/// are off the tip, constant + r · (`by_cosine` · 2 cos φ + `by_sine` · 2 sin φ), mm².
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Side {
    constant: f32,
    by_cosine: f32,
    by_sine: f32,
    /// What lies no farther off zero lies on the line of the way.
    pub(super) on_line: f32,
    /// Where all points lie on one side, 2 to the left and 0 to the right.
    pub(super) of_all: Option<i64>,
}

impl Side {
    /// Of a point at the radius r of a ray, given the sums of the sines and of the cosines at the two ends of the piece;
    /// positive to the left.
    #[inline(always)]
    pub(super) fn turned(&self, r: f32, sines: f32, cosines: f32) -> f32 {
        self.constant + r * (self.by_cosine * cosines + self.by_sine * sines)
    }
}

/// How far down a length of a ray reaches that stands at these cosines to the spindle's direction at the ends of a piece;
/// nothing on a ray that is level or points down.
#[inline(always)]
pub(super) fn fall(length: f32, cosines: (f32, f32)) -> f32 {
    let upright = if cosines.0 > cosines.1 { cosines.0 } else { cosines.1 };
    if upright > 0.0 { length * upright } else { 0.0 }
}

/// Length of ray under a radius that holds so many units of volume, mm.
fn under(radius: f32, units: i64) -> f32 {
    let left = f64::from(radius).powi(2) - units as f64 / UNITS;
    radius - left.max(0.0).sqrt() as f32
}

/// What rays lost together.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Lost {
    pub(crate) units: i64,
    /// Twice the units that lay to the left of the way; what lies on it counts half.
    pub(crate) left_twice: i64,
    /// The most by which the outer end of one of them came down through wood, straight down, mm.
    pub(crate) depth: f32,
}

impl Lost {
    /// What one ray lost of its outermost solid `inner` … `outer`, now `after`, and behind it.
    pub(crate) fn of_ray(side: &Side, aim: &Aim, units: i64, (inner, outer): (f32, f32), after: (f32, f32)) -> Lost {
        let (sines, cosines) = (aim.start.0 as f32 + aim.end.0 as f32, aim.start.1 as f32 + aim.end.1 as f32);
        let turned = side.turned(outer, sines, cosines);
        let by_itself = i64::from(turned > side.on_line) + i64::from(turned >= -side.on_line);
        let lowered = (outer - after.1.max(inner)).max(0.0);
        let (start, end) = (aim.start.1 as f32, aim.end.1 as f32);
        let depth = if lowered > 0.0 {
            fall(lowered, (start, end))
        } else {
            // From within, on either side of the axis.
            fall(under(after.0, units), (start.abs(), end.abs()))
        };
        Lost { units, left_twice: units * side.of_all.unwrap_or(by_itself), depth }
    }

    #[inline]
    pub(crate) fn add(&mut self, more: &Lost) {
        self.units += more.units;
        self.left_twice += more.left_twice;
        self.depth = if more.depth > self.depth { more.depth } else { self.depth };
    }
}
