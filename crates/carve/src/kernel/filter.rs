//! Which rays a piece leaves alone, told in single precision and many at a time.
//!
//! A ray is clear of a body if no point of it up to its outer end comes inside at any instant. For each primitive of a
//! part a few supporting planes, or the whole ball, are tried on the way of the outer end. What is called clear is clear
//! whatever the rounding; what is not is looked at exactly, so nothing here shows in the result.

use dryturn_geom::{ConvexPart, Primitive};
use smallvec::SmallVec;

use super::SAME_END;
use super::instant::Piece;
use super::lanes::{Aims, LANES, bits};

/// What all rays of one row have in common under one piece, for every primitive of a part that the row can meet.
#[derive(Clone, Debug)]
pub(crate) struct Bars {
    /// ξ of the station 0 at the start and at the end, mm.
    xi_of_zero: (f64, f64),
    way: Way,
    bodies: SmallVec<[Body; 4]>,
}

/// The row under the piece: (at the start, at the end) in mm.
#[derive(Clone, Copy, Debug)]
struct Way {
    xi: (f32, f32),
    y: (f32, f32),
    z: (f32, f32),
    /// How much less than its outer end a ray is looked at, so that cuts too thin to count are none.
    skin: f32,
    /// Most the path of a point leaves its chord.
    sagitta: f32,
}

/// Bounds of a primitive.
#[derive(Clone, Copy, Debug)]
struct Body {
    kind: Kind,
    radius: f64,
    /// Whether the row comes within the radius.
    is_met: bool,
    /// Lowest height of the primitive over the tip.
    from: f32,
    /// Half its width where the row crosses it nearest.
    half_width: f32,
    /// Radius below which no ray meets it, or 0.
    floor: f32,
    /// Whether the tip stays so high that a ray which hangs or leans cannot come in from below.
    is_above: bool,
}

#[derive(Clone, Copy, Debug)]
enum Kind {
    /// No more than its bottom and its width is known.
    Block,
    Ball {
        center: f32,
        /// Square of the radius, sagitta included.
        square: f32,
        /// The same for the whole line of the ray, whose distance from the centre is not quite as even as a point's.
        line_square: f32,
    },
    /// The side of a cone: outward · distance − down · height = offset.
    Cone { outward: f32, down: f32, offset: f32 },
    /// A disc fattened by a ball.
    Torus { disc: f32, tube: f32, center: f32 },
}

/// Single precision loses at most this share of the greatest radius in a height or a distance.
const ROUNDING: f64 = 5e-7;

impl Bars {
    /// For wood up to the radius `top`.
    pub(crate) fn new(part: &ConvexPart, piece: &Piece, top: f64) -> Bars {
        let sagitta = 0.125 * top * piece.by.turn * piece.by.turn;
        let lowest = piece.from.z.min(piece.from.z + piece.by.z);
        let both = |from: f64, by: f64| (from as f32, (from + by) as f32);
        let way = Way {
            xi: (0.0, 0.0),
            y: both(piece.from.y, piece.by.y),
            z: both(piece.from.z, piece.by.z),
            skin: (f64::from(SAME_END) - ROUNDING * top) as f32,
            sagitta: (sagitta * (1.0 + 1e-6)) as f32,
        };
        let xi_of_zero = (-piece.from.x, -piece.from.x - piece.by.x);
        let mut bodies = SmallVec::new();
        for primitive in &part.primitives {
            let (radius, from, kind) = bounds_of(primitive, piece, sagitta);
            if lowest + from >= top {
                continue;
            }
            let floor = ((lowest + from).max(0.0) * (1.0 - 1e-6)) as f32;
            let is_above = lowest + from > 0.0;
            bodies.push(Body { kind, radius, is_met: false, from: from as f32, half_width: 0.0, floor, is_above });
        }
        Bars { xi_of_zero, way, bodies }
    }

    /// Moves on to another row; gives its ξ at the start, mm.
    #[inline(always)]
    pub(super) fn go_to(&mut self, station: f64) -> f64 {
        let xi = (station + self.xi_of_zero.0, station + self.xi_of_zero.1);
        self.way.xi = (xi.0 as f32, xi.1 as f32);
        let aside = if xi.0 * xi.1 <= 0.0 { 0.0 } else { xi.0.abs().min(xi.1.abs()) };
        for body in &mut self.bodies {
            let square = body.radius * body.radius - aside * aside;
            body.is_met = square > 0.0;
            body.half_width = (square.max(0.0).sqrt() * (1.0 + 1e-6)) as f32;
        }
        xi.0
    }
}

/// Greatest radius and lowest height of a primitive, and what more there is to know of it.
fn bounds_of(primitive: &Primitive, piece: &Piece, sagitta: f64) -> (f64, f64, Kind) {
    match *primitive {
        Primitive::Cylinder { radius, from } => (radius, from, Kind::Block),
        Primitive::Frustum { from, from_radius, to, to_radius } => {
            let slope = (to_radius - from_radius) / (to - from);
            if slope <= 0.0 {
                return (from_radius, from, Kind::Block);
            }
            let outward = 1.0 / (1.0 + slope * slope).sqrt();
            let down = slope * outward;
            let offset = outward * from_radius - down * from + sagitta;
            (to_radius, from, Kind::Cone { outward: outward as f32, down: down as f32, offset: offset as f32 })
        }
        Primitive::Sphere { radius, center } => {
            // As the ray turns while the tip moves, the line of the ray passes the centre on a bent way.
            let far = piece.from.y.abs() + piece.by.y.abs() + piece.from.z.abs() + piece.by.z.abs() + center;
            let turn = piece.by.turn.abs();
            let bend = 0.25 * turn * (piece.by.y.abs() + piece.by.z.abs()) + 0.125 * turn * turn * far;
            let square = |slack: f64| ((radius + slack) * (radius + slack)) as f32;
            let kind = Kind::Ball { center: center as f32, square: square(sagitta), line_square: square(bend) };
            (radius, center - radius, kind)
        }
        Primitive::RoundedDisc { disc, tube, center } => {
            let kind = Kind::Torus { disc: disc as f32, tube: (tube + sagitta) as f32, center: center as f32 };
            (disc + tube, center - tube, kind)
        }
    }
}

/// Which of the rays asked for, by bit, may meet any of the bodies; so many of them are looked at together.
#[inline(always)]
pub(crate) fn meets<const TOGETHER: usize>(bars: &Bars, asked: u32, aims: &Aims<f32>, outer: &[f32; LANES]) -> u32 {
    let mut all = 0;
    for first in (0..LANES).step_by(TOGETHER) {
        let asked = asked >> first & ((1 << TOGETHER) - 1);
        if asked != 0 {
            all |= (asked & met_of(bars, &Neighbours::<TOGETHER>::of(first, aims, outer))) << first;
        }
    }
    all
}

/// Rays that are looked at together: their outer ends and how they stand.
struct Neighbours<'a, const COUNT: usize> {
    outer: &'a [f32; COUNT],
    s0: &'a [f32; COUNT],
    c0: &'a [f32; COUNT],
    s1: &'a [f32; COUNT],
    c1: &'a [f32; COUNT],
}

impl<'a, const COUNT: usize> Neighbours<'a, COUNT> {
    #[inline(always)]
    fn of(first: usize, aims: &'a Aims<f32>, outer: &'a [f32; LANES]) -> Self {
        let some = |values: &'a [f32; LANES]| -> &'a [f32; COUNT] {
            values[first..].first_chunk().expect("a chunk holds whole numbers of them")
        };
        Neighbours {
            outer: some(outer),
            s0: some(&aims.s0),
            c0: some(&aims.c0),
            s1: some(&aims.s1),
            c1: some(&aims.c1),
        }
    }
}

#[inline(always)]
fn met_of<const COUNT: usize>(bars: &Bars, rays: &Neighbours<'_, COUNT>) -> u32 {
    let mut met = 0;
    for body in bars.bodies.iter().filter(|body| body.is_met) {
        let body = *body;
        let ray = |lane| Lane::new(&bars.way, rays, lane);
        met |= match body.kind {
            Kind::Block => each::<COUNT>(|lane| !ray(lane).is_beside(&body)),
            Kind::Ball { center, square, line_square } => {
                each::<COUNT>(|lane| !ray(lane).misses_ball(center, square, line_square))
            }
            Kind::Cone { outward, down, offset } => {
                each::<COUNT>(|lane| !(ray(lane).is_beside(&body) | ray(lane).misses_cone(outward, down, offset)))
            }
            Kind::Torus { disc, tube, center } => {
                each::<COUNT>(|lane| !(ray(lane).is_beside(&body) | ray(lane).misses_torus(disc, tube, center)))
            }
        };
    }
    met
}

/// The rays, by bit, for which something holds.
#[inline(always)]
fn each<const COUNT: usize>(holds: impl Fn(usize) -> bool) -> u32 {
    let mut found = [0u32; COUNT];
    for (lane, found) in found.iter_mut().enumerate() {
        *found = u32::from(holds(lane));
    }
    bits(&found)
}

/// One ray: the way of its outer end, seen from the tip.
#[derive(Clone, Copy)]
struct Lane {
    way: Way,
    r: f32,
    s: (f32, f32),
    c: (f32, f32),
    u: (f32, f32),
    w: (f32, f32),
}

#[inline(always)]
fn least(a: f32, b: f32) -> f32 {
    if a < b { a } else { b }
}

#[inline(always)]
fn most(a: f32, b: f32) -> f32 {
    if a > b { a } else { b }
}

impl Lane {
    #[inline(always)]
    fn new<const COUNT: usize>(way: &Way, rays: &Neighbours<'_, COUNT>, lane: usize) -> Lane {
        let r = rays.outer[lane] - way.skin;
        let (s, c) = ((rays.s0[lane], rays.s1[lane]), (rays.c0[lane], rays.c1[lane]));
        Lane {
            way: *way,
            r,
            s,
            c,
            u: (way.y.0 + r * s.0, way.y.1 + r * s.1),
            w: (r * c.0 - way.z.0, r * c.1 - way.z.1),
        }
    }

    /// Whether the ray stays below the bottom of a body, or to one side of it, from its floor to its outer end.
    #[inline(always)]
    fn is_beside(&self, body: &Body) -> bool {
        let sagitta = self.way.sagitta;
        let under = body.is_above & (most(self.w.0, self.w.1) + sagitta <= body.from);
        let foot = (self.way.y.0 + body.floor * self.s.0, self.way.y.1 + body.floor * self.s.1);
        let left = most(most(self.u.0, self.u.1), most(foot.0, foot.1)) + sagitta <= -body.half_width;
        let right = least(least(self.u.0, self.u.1), least(foot.0, foot.1)) - sagitta >= body.half_width;
        under | left | right
    }

    /// Whether the ray stays outside a ball, its outer end being the nearest to it, or passes it by altogether.
    #[inline(always)]
    fn misses_ball(&self, center: f32, square: f32, line_square: f32) -> bool {
        let xi = self.way.xi;
        let w = (self.w.0 - center, self.w.1 - center);
        let z = (self.way.z.0 + center, self.way.z.1 + center);
        let y = self.way.y;
        let end_is_outside = {
            let by = (xi.1 - xi.0, self.u.1 - self.u.0, w.1 - w.0);
            let span = by.0 * by.0 + by.1 * by.1 + by.2 * by.2;
            let toward = -(xi.0 * by.0 + self.u.0 * by.1 + w.0 * by.2);
            stays_outside(xi.0 * xi.0 + self.u.0 * self.u.0 + w.0 * w.0, toward, span, square)
        };
        let nearest = least(z.0 * self.c.0 - y.0 * self.s.0, z.1 * self.c.1 - y.1 * self.s.1);
        let line_is_outside = {
            let p = (y.0 * self.c.0 + z.0 * self.s.0, y.1 * self.c.1 + z.1 * self.s.1);
            let by = (xi.1 - xi.0, p.1 - p.0);
            let span = by.0 * by.0 + by.1 * by.1;
            stays_outside(xi.0 * xi.0 + p.0 * p.0, -(xi.0 * by.0 + p.0 * by.1), span, line_square)
        };
        (end_is_outside & (nearest >= self.r)) | line_is_outside
    }

    /// Level direction toward the way of the outer end where it is nearest to the spindle axis, and its distance there.
    #[inline(always)]
    fn nearest_aside(&self) -> (f32, f32, f32, f32) {
        let xi = self.way.xi;
        let by = (xi.1 - xi.0, self.u.1 - self.u.0);
        let span = by.0 * by.0 + by.1 * by.1 + f32::MIN_POSITIVE;
        let share = most(least(-(xi.0 * by.0 + self.u.0 * by.1) / span, 1.0), 0.0);
        let (x, u) = (xi.0 + share * by.0, self.u.0 + share * by.1);
        let distance = (x * x + u * u).sqrt() + 1e-12;
        (x / distance, u / distance, distance, share)
    }

    /// Whether a plane with this normal (level directions, up; supporting at `offset`) has the whole ray outside.
    #[inline(always)]
    fn is_outside(&self, (x, u, up): (f32, f32, f32), offset: f32) -> bool {
        let start = x * self.way.xi.0 + u * self.u.0 + up * self.w.0;
        let end = x * self.way.xi.1 + u * self.u.1 + up * self.w.1;
        let leans_out = (u * self.s.0 + up * self.c.0 < 0.0) & (u * self.s.1 + up * self.c.1 < 0.0);
        leans_out & (least(start, end) >= offset)
    }

    #[inline(always)]
    fn misses_cone(&self, outward: f32, down: f32, offset: f32) -> bool {
        let (x, u, _, _) = self.nearest_aside();
        self.is_outside((outward * x, outward * u, -down), offset)
    }

    #[inline(always)]
    fn misses_torus(&self, disc: f32, tube: f32, center: f32) -> bool {
        let (x, u, distance, share) = self.nearest_aside();
        let over = most(distance - disc, 0.0);
        let up = self.w.0 + share * (self.w.1 - self.w.0) - center;
        let length = (over * over + up * up).sqrt() + 1e-12;
        let (level, up) = (over / length, up / length);
        self.is_outside((level * x, level * u, up), level * disc + up * center + tube)
    }
}

/// Whether a segment from a point at the square distance `from` stays at least the root of `square` away: `toward` is how
/// far its start points at the centre (times its length), `span` the square of its length.
#[inline(always)]
fn stays_outside(from: f32, toward: f32, span: f32, square: f32) -> bool {
    let at_start = from >= square;
    let at_end = from - 2.0 * toward + span >= square;
    let between = (from - square) * span >= toward * toward;
    at_start & at_end & (between | (toward <= 0.0) | (toward >= span))
}
