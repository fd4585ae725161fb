//! The everyday case, in closed form and many rays at a time: the cutter goes deepest on its flat bottom, on the ball of its
//! tip, on its cone or its rounding, and what it takes from the ray at that instant is all it takes.
//!
//! # Why one plane proves the lower end
//!
//! Let the ray enter the cutter at the radius lo at some instant, with the outward normal n there, and follow the ray's
//! point at that *fixed* radius. Its height over the tangent plane, n · P(t, lo), is a linear function of t plus
//! lo · n · e(t), with e the ray's direction; an entry has n · e < 0, and n · e is a multiple of a cosine, so the height is
//! convex as long as n · e stays negative. If its rate n · V is zero at that instant (or leads outward, at an end of the
//! piece) the point therefore never gets below the plane; a point of the ray nearer to the axis lies farther out still,
//! for −e leads out of the plane. The cutter lies below its own tangent plane. So **no instant of the piece has a lower
//! entry**, whatever turns and moves together, and no search is needed. With a rate that is merely small, γ, no instant
//! has one lower by more than |γ| · Δt / |n · e|.
//!
//! # And another the upper end
//!
//! If the outer end lies inside the cutter at that instant, all between lo and the outer end does, the cutter being
//! convex: the ray loses exactly lo … outer. Otherwise the ray leaves the cutter at a radius hi, through its wall or its
//! top, with n · e > 0 there. The height of the point at the fixed radius hi over that tangent plane is now *concave* in t
//! as long as n · e stays positive, and so is least at an end of the piece. If it is not below the plane at either end,
//! **no instant has a higher exit**, points farther out lying higher still, and the ray loses exactly lo … hi.
//!
//! Everything else is left to the search of [`sweep`](fn@super::sweep).

use dryturn_geom::{ConvexPart, Primitive};
use smallvec::SmallVec;

use super::SAME_END;
use super::instant::Piece;
use super::lanes::{Aims, LANES, Wood, bits};

/// Most an end may be off, mm.
const CERTAIN: f64 = 5e-6;

/// Least steepness, as a sine, at which a ray crosses the surface: over a piece a ray turns by far less, so n · e keeps its
/// sign and half its size.
const STEEP: f64 = 0.1;

/// Rays that are settled together.
const BATCH: usize = 4;

/// Where a part of a cutter can touch wood that it stands over.
#[derive(Clone, Debug)]
pub(crate) struct Underside {
    surfaces: SmallVec<[Surface; 3]>,
    /// Height over the tip at which the part ends.
    top: f64,
    /// Radius of its wall and the height at which it begins.
    wall: f64,
    wall_from: f64,
}

/// A stretch of the underside of a part; heights are over the tip.
#[derive(Clone, Copy, Debug)]
enum Surface {
    /// A flat face.
    Face { height: f64, radius: f64 },
    /// The underside of a ball, up to a height.
    Ball { radius: f64, center: f64, up_to: f64 },
    /// The side of a cone between two heights: outward · distance − down · height = offset.
    Cone { outward: f64, down: f64, offset: f64, from: f64, to: f64 },
    /// The rounding between a flat face and a wall.
    Rounding { disc: f64, tube: f64, center: f64 },
}

impl Underside {
    pub(crate) fn of(part: &ConvexPart) -> Underside {
        // Over its underside lies nothing but the part, as long as it narrows nowhere; one that does is left to the search.
        let narrows = |primitive: &Primitive| matches!(*primitive, Primitive::Frustum { from_radius, to_radius, .. } if to_radius < from_radius);
        let widening: &[Primitive] = if part.primitives.iter().any(narrows) { &[] } else { &part.primitives };
        let surfaces = widening.iter().enumerate().flat_map(|(index, primitive)| {
            let next = part.primitives.get(index + 1).map_or(part.top, lowest_of);
            undersides(primitive, index == 0, next.min(part.top))
        });
        let (wall, wall_from) = match part.primitives.last() {
            // The plane at an exit bounds the whole part only where nothing of it stands out of the wall.
            Some(Primitive::Cylinder { radius, from }) if *radius >= part.radius => (*radius, *from),
            _ => (0.0, part.top),
        };
        Underside { surfaces: surfaces.collect(), top: part.top, wall, wall_from }
    }
}

fn lowest_of(primitive: &Primitive) -> f64 {
    match *primitive {
        Primitive::Cylinder { from, .. } | Primitive::Frustum { from, .. } => from,
        Primitive::Sphere { radius, center } => center - radius,
        Primitive::RoundedDisc { tube, center, .. } => center - tube,
    }
}

/// What looks down of a primitive that ends, for the part, at the height `next`.
fn undersides(primitive: &Primitive, is_tip: bool, next: f64) -> SmallVec<[Surface; 2]> {
    let mut surfaces = SmallVec::new();
    let mut face = |height, radius| {
        if is_tip && radius > 0.0 {
            surfaces.push(Surface::Face { height, radius });
        }
    };
    match *primitive {
        Primitive::Cylinder { radius, from } => face(from, radius),
        Primitive::Frustum { from, from_radius, to, to_radius } => {
            face(from, from_radius);
            let slope = (to_radius - from_radius) / (to - from);
            if slope > 0.0 {
                let outward = 1.0 / (1.0 + slope * slope).sqrt();
                let down = slope * outward;
                let offset = outward * from_radius - down * from;
                surfaces.push(Surface::Cone { outward, down, offset, from, to: to.min(next) });
            }
        }
        Primitive::Sphere { radius, center } => {
            surfaces.push(Surface::Ball { radius, center, up_to: center.min(next) });
        }
        Primitive::RoundedDisc { disc, tube, center } => {
            face(center - tube, disc);
            surfaces.push(Surface::Rounding { disc, tube, center });
        }
    }
    surfaces
}

/// A part of a cutter on its way: the tip at the start and what it moves by.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Contact<'a> {
    underside: &'a Underside,
    y: f64,
    y_by: f64,
    z: f64,
    z_by: f64,
    x_by: f64,
    turn_by: f64,
}

impl<'a> Contact<'a> {
    pub(crate) fn new(underside: &'a Underside, piece: &Piece) -> Contact<'a> {
        let (from, by) = (&piece.from, &piece.by);
        Contact { underside, y: from.y, y_by: by.y, z: from.z, z_by: by.z, x_by: by.x, turn_by: by.turn }
    }
}

/// What the rays of a chunk lose, as far as it is proved; sets of rays by bit.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Settled {
    /// Radii that a ray loses, mm: from its lowest entry …
    pub(crate) lo: [f32; LANES],
    /// … to its highest exit, or the outer end where that is nearer.
    pub(crate) hi: [f32; LANES],
    /// Rays that lose the outer part of their outermost solid, and no more.
    pub(crate) lowered: u32,
    /// Rays that lose lo … hi, wherever there is wood.
    pub(crate) cut: u32,
    /// Rays of which nothing is proved.
    pub(crate) open: u32,
}

/// Settles what can be settled of the rays whose bits are set. ξ is that of the row at the start of the piece.
#[inline(always)]
pub(crate) fn settle(contact: &Contact<'_>, met: u32, xi: f64, aims: &Aims<f64>, wood: Wood<'_>) -> Settled {
    let (mut lo, mut hi, mut proved) = ([0.0; LANES], [0.0; LANES], 0);
    for first in (0..LANES).step_by(BATCH) {
        let asked = met >> first & FULL;
        if asked != 0 {
            let rays = Rays::of(xi, first, aims, wood);
            proved |= settle_batch(contact, asked, &rays, (&mut lo[first..], &mut hi[first..])) << first;
        }
    }
    // How the tile takes what is proved.
    let (mut is_cut, mut is_lowered) = ([0u32; LANES], [0u32; LANES]);
    for lane in 0..LANES {
        let (inner, outer) = (wood.inner[lane], wood.outer[lane]);
        is_cut[lane] = u32::from(lo[lane] <= outer - SAME_END);
        is_lowered[lane] = u32::from((hi[lane] >= outer) & (lo[lane] > inner + SAME_END));
    }
    let cut = bits(&is_cut) & proved;
    let lowered = bits(&is_lowered) & cut;
    Settled { lo, hi, lowered, cut: cut & !lowered, open: met & !proved }
}

/// The bits of a batch.
const FULL: u32 = (1 << BATCH) - 1;

/// The rays of a batch.
struct Rays {
    xi: f64,
    outer: [f64; BATCH],
    s0: [f64; BATCH],
    c0: [f64; BATCH],
    s1: [f64; BATCH],
    c1: [f64; BATCH],
}

/// The values of a batch out of those of a chunk.
#[inline(always)]
fn batch_of<T>(values: &[T; LANES], first: usize) -> &[T; BATCH] {
    values[first..].first_chunk().expect("chunks are whole batches")
}

impl Rays {
    #[inline(always)]
    fn of(xi: f64, first: usize, aims: &Aims<f64>, wood: Wood<'_>) -> Rays {
        let batch = |values| *batch_of(values, first);
        let mut outer = [0.0; BATCH];
        for (outer, end) in outer.iter_mut().zip(batch_of(wood.outer, first)) {
            *outer = f64::from(*end);
        }
        Rays { xi, outer, s0: batch(&aims.s0), c0: batch(&aims.c0), s1: batch(&aims.s1), c1: batch(&aims.c1) }
    }

    #[inline(always)]
    fn ray(&self, lane: usize) -> Ray {
        Ray {
            xi: self.xi,
            outer: self.outer[lane],
            start: (self.s0[lane], self.c0[lane]),
            end: (self.s1[lane], self.c1[lane]),
        }
    }
}

/// Settles the rays of a batch that are asked for, surface by surface; returns those that are proved.
#[inline(always)]
fn settle_batch(contact: &Contact<'_>, asked: u32, rays: &Rays, (lo, hi): (&mut [f32], &mut [f32])) -> u32 {
    let mut open = asked;
    for surface in &contact.underside.surfaces {
        let entries = enter(contact, surface, rays, open);
        let (exits, proved) = leave(contact, rays, &entries, open);
        for lane in 0..BATCH {
            let is_proved = proved >> lane & 1 != 0;
            lo[lane] = if is_proved { entries.lo[lane] as f32 } else { lo[lane] };
            hi[lane] = if is_proved { exits[lane] as f32 } else { hi[lane] };
        }
        open &= !proved;
        if open == 0 {
            break;
        }
    }
    asked & !open
}

/// The lowest entries of a batch of rays.
struct Entries {
    /// Radius, mm.
    lo: [f64; BATCH],
    /// The instant.
    xi: [f64; BATCH],
    y: [f64; BATCH],
    z: [f64; BATCH],
    s: [f64; BATCH],
    c: [f64; BATCH],
    /// Rays, by bit, of which it is proved that they enter here and nowhere lower.
    proved: u32,
    /// Rays whose outer end is known to lie inside the cutter at that instant.
    inside: u32,
}

impl Entries {
    /// Of each ray (entry, its instant, whether it is proved, whether the outer end is inside).
    #[inline(always)]
    fn of(mut enter: impl FnMut(usize) -> (f64, Now, bool, bool)) -> Entries {
        let zero = [0.0; BATCH];
        let mut entries = Entries { lo: zero, xi: zero, y: zero, z: zero, s: zero, c: zero, proved: 0, inside: 0 };
        let (mut is_proved, mut is_inside) = ([0u32; BATCH], [0u32; BATCH]);
        for lane in 0..BATCH {
            let (lo, now, proved, inside) = enter(lane);
            entries.lo[lane] = lo;
            entries.xi[lane] = now.xi;
            entries.y[lane] = now.y;
            entries.z[lane] = now.z;
            entries.s[lane] = now.s;
            entries.c[lane] = now.c;
            is_proved[lane] = u32::from(proved);
            is_inside[lane] = u32::from(inside);
        }
        entries.proved = bits(&is_proved);
        entries.inside = bits(&is_inside);
        entries
    }

    #[inline(always)]
    fn now(&self, lane: usize) -> Now {
        Now { xi: self.xi[lane], y: self.y[lane], z: self.z[lane], s: self.s[lane], c: self.c[lane] }
    }
}

/// The lowest entries of the rays that are open, as far as they lie on a surface.
#[inline(always)]
fn enter(contact: &Contact<'_>, surface: &Surface, rays: &Rays, open: u32) -> Entries {
    match *surface {
        Surface::Face { height, radius } => on_face(contact, (height, radius), rays, open),
        Surface::Ball { radius, center, up_to } => {
            Entries::of(|lane| on_ball(contact, (radius, center, up_to), &rays.ray(lane)))
        }
        Surface::Cone { outward, down, offset, from, to } => {
            let cone = |now: &Now, r: f64| at_cone(now, r, (outward, down, offset), (from, to));
            Entries::of(|lane| on_slope::<false>(contact, from, &cone, &rays.ray(lane)))
        }
        Surface::Rounding { disc, tube, center } => {
            let rounding = |now: &Now, r: f64| at_rounding(now, r, (disc, tube, center));
            Entries::of(|lane| on_slope::<true>(contact, center - tube, &rounding, &rays.ray(lane)))
        }
    }
}

/// Where the open rays leave again, mm, at most their outer ends; and which of them are proved at both ends.
#[inline(always)]
fn leave(contact: &Contact<'_>, rays: &Rays, entries: &Entries, open: u32) -> ([f64; BATCH], u32) {
    let entered = entries.proved & open;
    let mut through = entries.inside & entered;
    if through != entered {
        let mut is_through = [0u32; BATCH];
        for (lane, is_through) in is_through.iter_mut().enumerate() {
            let outer = rays.outer[lane];
            let is_in_wall = contact.wall_holds(&entries.now(lane), outer);
            *is_through = u32::from(is_in_wall | (entries.lo[lane] >= outer));
        }
        through |= bits(&is_through) & entered;
    }
    if through == entered {
        return (rays.outer, entered);
    }
    let (mut hi, mut is_highest) = (rays.outer, [0u32; BATCH]);
    for lane in 0..BATCH {
        let ray = rays.ray(lane);
        let (exit, is_proved) = contact.exit(&ray, &entries.now(lane), entries.lo[lane]);
        let is_shorter = (through >> lane & 1 == 0) & (exit < ray.outer);
        hi[lane] = if is_shorter { exit } else { hi[lane] };
        is_highest[lane] = u32::from(is_proved);
    }
    (hi, entered & (through | bits(&is_highest)))
}

#[derive(Clone, Copy)]
struct Ray {
    xi: f64,
    outer: f64,
    start: (f64, f64),
    end: (f64, f64),
}

/// The ray at an instant; z is the height of the tip.
#[derive(Clone, Copy)]
struct Now {
    xi: f64,
    y: f64,
    z: f64,
    s: f64,
    c: f64,
}

impl Now {
    /// This instant if it is chosen, the other if not.
    #[inline(always)]
    fn or(&self, other: &Now, is_chosen: bool) -> Now {
        let choose = |a: f64, b: f64| if is_chosen { a } else { b };
        Now {
            xi: choose(self.xi, other.xi),
            y: choose(self.y, other.y),
            z: choose(self.z, other.z),
            s: choose(self.s, other.s),
            c: choose(self.c, other.c),
        }
    }

    /// The ray's point at a radius, as the cutter sees it.
    #[inline(always)]
    fn point(&self, r: f64) -> (f64, f64, f64) {
        (self.xi, self.y + r * self.s, r * self.c - self.z)
    }
}

impl Ray {
    /// At the start of the piece.
    #[inline(always)]
    fn first(&self, contact: &Contact<'_>) -> Now {
        Now { xi: self.xi, y: contact.y, z: contact.z, s: self.start.0, c: self.start.1 }
    }

    /// At its end.
    #[inline(always)]
    fn last(&self, contact: &Contact<'_>) -> Now {
        Now {
            xi: self.xi - contact.x_by,
            y: contact.y + contact.y_by,
            z: contact.z + contact.z_by,
            s: self.end.0,
            c: self.end.1,
        }
    }

    #[inline(always)]
    fn at(&self, contact: &Contact<'_>, t: f64) -> Now {
        let (sine, cosine) = super::instant::small_sin_cos(-contact.turn_by * t);
        Now {
            xi: self.xi - contact.x_by * t,
            y: contact.y + contact.y_by * t,
            z: contact.z + contact.z_by * t,
            s: self.start.0 * cosine + self.start.1 * sine,
            c: self.start.1 * cosine - self.start.0 * sine,
        }
    }
}

impl Contact<'_> {
    /// Whether the wall of the part, from where it begins up to its top, holds the ray's point at a radius.
    #[inline(always)]
    fn wall_holds(&self, now: &Now, r: f64) -> bool {
        let Underside { top, wall, wall_from, .. } = *self.underside;
        let (xi, u, w) = now.point(r);
        (xi * xi + u * u <= wall * wall) & (w >= wall_from) & (w <= top)
    }

    /// Where the ray leaves the part that it has entered at `lo`, by its wall or its top; and whether it is proved that no
    /// instant has a higher exit.
    #[inline(always)]
    fn exit(&self, ray: &Ray, now: &Now, lo: f64) -> (f64, bool) {
        let Underside { top, wall, wall_from, .. } = *self.underside;
        let half_width = (wall * wall - now.xi * now.xi).sqrt();
        let side = if now.s >= 0.0 { half_width } else { -half_width };
        let (by_wall, by_top) = ((side - now.y) / now.s, (top + now.z) / now.c);
        let is_wall = by_wall < by_top;
        let hi = if is_wall { by_wall } else { by_top };
        // The tangent plane at the exit: of the wall, its normal as long as the wall's radius, or of the top.
        let n = if is_wall { (now.xi, side, 0.0) } else { (0.0, 0.0, 1.0) };
        let offset = if is_wall { wall * wall } else { top };
        let is_on_part = {
            let (xi, u, w) = now.point(hi);
            (w >= wall_from) & (is_wall | (xi * xi + u * u <= wall * wall))
        };
        let over = |at: &Now| {
            let (xi, u, w) = at.point(hi);
            n.0 * xi + n.1 * u + n.2 * w - offset
        };
        let leans = |at: &Now| n.1 * at.s + n.2 * at.c;
        let (first, last) = (ray.first(self), ray.last(self));
        let over = least(over(&first), over(&last));
        let leans = least(leans(&first), leans(&last));
        (hi, (leans > 0.0) & (over >= -CERTAIN * leans) & is_on_part & (hi >= lo))
    }
}

#[inline(always)]
fn least(a: f64, b: f64) -> f64 {
    if a < b { a } else { b }
}

/// A share of the piece, whatever came out of a division.
#[inline(always)]
fn share(t: f64) -> f64 {
    let t = if t > 0.0 { t } else { 0.0 };
    if t < 1.0 { t } else { 1.0 }
}

/// Whether a rate at an instant proves that nothing lies lower than [`CERTAIN`]: it leads outward at an end, or it is
/// nothing to speak of. In the sense of a radius: positive grows.
#[inline(always)]
fn is_lowest(t: f64, rate: f64) -> bool {
    let longest = if t > 0.5 { t } else { 1.0 - t };
    leads_out(t, rate) | (2.0 * rate.abs() * longest <= CERTAIN)
}

/// How the entry on a flat face goes at an instant: its radius, and its rate times c, for the face rises and the ray leans.
#[inline(always)]
fn on_plane(contact: &Contact<'_>, height: f64, now: &Now) -> (f64, f64) {
    let lo = (now.z + height) / now.c;
    (lo, contact.z_by - contact.turn_by * lo * now.s)
}

#[inline(always)]
fn on_face(contact: &Contact<'_>, (height, radius): (f64, f64), rays: &Rays, open: u32) -> Entries {
    let mut between = [0u32; BATCH];
    let mut guesses = [0.0; BATCH];
    let mut steps = [0.0; BATCH];
    let ends = Entries::of(|lane| {
        let ray = rays.ray(lane);
        let (first, last) = (ray.first(contact), ray.last(contact));
        let ((lo0, rate0), (lo1, rate1)) = (on_plane(contact, height, &first), on_plane(contact, height, &last));
        let (is_start, is_end) = (rate0 >= 0.0, (rate0 < 0.0) & (rate1 <= 0.0));
        // A face that stays at its height: where the ray is nearest to the spindle axis.
        let is_level = (rate0 == 0.0) & (rate1 == 0.0);
        let along = (last.xi - first.xi, last.point(lo1).1 - first.point(lo0).1);
        let level = -(first.xi * along.0 + first.point(lo0).1 * along.1) / (along.0 * along.0 + along.1 * along.1);
        guesses[lane] = share(if is_level { level } else { rate0 / (rate0 - rate1) });
        steps[lane] = if is_level { 0.0 } else { 1.0 / (rate1 - rate0) };
        between[lane] = u32::from(is_level | !(is_start | is_end));
        let now = last.or(&first, is_end);
        let lo = if is_end { lo1 } else { lo0 };
        (
            lo,
            now,
            (is_start | is_end) & face_holds(contact, radius, &now, lo),
            face_holds(contact, radius, &now, ray.outer),
        )
    });
    let between = bits(&between);
    if between & open == 0 {
        return ends;
    }
    Entries::of(|lane| {
        let ray = rays.ray(lane);
        // One step of Newton's method.
        let (_, rate) = on_plane(contact, height, &ray.at(contact, guesses[lane]));
        let t = share(guesses[lane] - rate * steps[lane]);
        let now = ray.at(contact, t);
        let (lo, rate) = on_plane(contact, height, &now);
        let is_between = between >> lane & 1 != 0;
        let now = now.or(&ends.now(lane), is_between);
        let lo = if is_between { lo } else { ends.lo[lane] };
        let is_lowest = is_lowest(t, rate / now.c) | !is_between;
        (lo, now, is_lowest & face_holds(contact, radius, &now, lo), face_holds(contact, radius, &now, ray.outer))
    })
}

/// Whether the part holds the ray's point over its flat face, which the ray crosses steeply.
#[inline(always)]
fn face_holds(contact: &Contact<'_>, radius: f64, now: &Now, r: f64) -> bool {
    let (xi, u, w) = now.point(r);
    (xi * xi + u * u <= radius * radius) & (w <= contact.underside.top) & (now.c >= STEEP) & (r >= 0.0)
}

#[inline(always)]
fn on_ball(contact: &Contact<'_>, (radius, center, up_to): (f64, f64, f64), ray: &Ray) -> (f64, Now, bool, bool) {
    // (p, m): how far the centre is from the line of the ray, across it and along it.
    let across = |y: f64, z: f64, (s, c): (f64, f64)| (y * c + z * s, z * c - y * s);
    let z = contact.z + center;
    let (p0, m0) = across(contact.y, z, ray.start);
    let (p1, m1) = across(contact.y + contact.y_by, z + contact.z_by, ray.end);
    let (by_xi, by_p, by_m) = (-contact.x_by, p1 - p0, m1 - m0);
    let span = by_xi * by_xi + by_p * by_p;
    let closest = -(ray.xi * by_xi + p0 * by_p) / span;
    let (xi, p) = (ray.xi + closest * by_xi, p0 + closest * by_p);
    let deepest = radius * radius - xi * xi - p * p;
    // The lowest point of m − √(deepest − span (t − closest)²), were the way straight.
    let guess = share(closest - by_m * (deepest / (span * (span + by_m * by_m))).sqrt());
    let found = |t: f64| {
        let now = ray.at(contact, t);
        let z = now.z + center;
        let (p, m) = across(now.y, z, (now.s, now.c));
        let root = (radius * radius - now.xi * now.xi - p * p).sqrt();
        let lo = m - root;
        let (u, w) = (now.y + lo * now.s, lo * now.c - z);
        // n · V over −n · e, with n from the centre to the entry.
        let leaving = u * (contact.y_by - contact.turn_by * lo * now.c)
            - w * (contact.z_by - contact.turn_by * lo * now.s)
            - now.xi * contact.x_by;
        (now, lo, root, m, w, leaving / root)
    };
    // One step of Newton's method, with the curvature of the straight way and of the turn; an end whose rate leads outward
    // is the place already.
    let (_, _, root, _, _, rate) = found(guess);
    let stays = ((guess == 0.0) & (rate >= 0.0)) | ((guess == 1.0) & (rate <= 0.0));
    let bend = span * deepest / (root * root * root) - z * contact.turn_by * contact.turn_by;
    let t = if stays { guess } else { share(guess - rate / bend) };
    let (now, lo, root, m, w, rate) = found(t);
    let is_on_ball = (w + center <= up_to) & (root >= STEEP * radius);
    let is_outer_inside = (ray.outer <= m + root) & (ray.outer * now.c - now.z <= contact.underside.top);
    (lo, now, is_lowest(t, rate) & is_on_ball & (lo >= 0.0), is_outer_inside)
}

/// A sloping surface near a point of the ray.
#[derive(Clone, Copy)]
struct Near {
    /// How far the point is outside.
    away: f64,
    /// Outward normal (ξ, u, w), of length 1.
    n: (f64, f64, f64),
    /// How fast the normal changes outward from the spindle axis, around it, and upward, per mm.
    bend: (f64, f64, f64),
    /// Whether the nearest point of the part is on this surface, and the point below its upper end.
    is_on: bool,
    is_under_end: bool,
}

/// Keeps a distance from being exactly zero.
const TINY: f64 = 1e-12;

#[inline(always)]
fn at_cone(now: &Now, r: f64, (outward, down, offset): (f64, f64, f64), (from, to): (f64, f64)) -> Near {
    let (u, w) = (now.y + r * now.s, r * now.c - now.z);
    let d = (now.xi * now.xi + u * u).sqrt() + TINY;
    Near {
        away: outward * d - down * w - offset,
        n: (outward * now.xi / d, outward * u / d, -down),
        bend: (0.0, outward / d, 0.0),
        is_on: (w >= from) & (w <= to),
        is_under_end: w <= to,
    }
}

#[inline(always)]
fn at_rounding(now: &Now, r: f64, (disc, tube, center): (f64, f64, f64)) -> Near {
    let (u, w) = (now.y + r * now.s, r * now.c - now.z);
    let d = (now.xi * now.xi + u * u).sqrt() + TINY;
    let over = if d > disc { d - disc } else { 0.0 };
    let up = w - center;
    let length = (over * over + up * up).sqrt() + TINY;
    let level = over / (length * d);
    Near {
        away: length - tube,
        n: (level * now.xi, level * u, up / length),
        bend: (1.0 / length, level, 1.0 / length),
        is_on: (d >= disc) & (up <= 0.0),
        is_under_end: up <= 0.0,
    }
}

/// A guess at the lowest entry on a sloping surface.
#[derive(Clone, Copy)]
struct Guess {
    t: f64,
    r: f64,
    now: Now,
    at: Near,
}

/// Newton's method in time and radius together: three steps prove all but a few rays on a cone; a rounding takes one more.
#[inline(always)]
fn on_slope<const IS_ROUNDING: bool>(
    contact: &Contact<'_>,
    bottom: f64,
    near: &impl Fn(&Now, f64) -> Near,
    ray: &Ray,
) -> (f64, Now, bool, bool) {
    // Begin where the outer end is nearest to the spindle axis, at the height of the bottom: outside, from where Newton's
    // method cannot overshoot along the ray.
    let (u0, u1) = (contact.y + ray.outer * ray.start.0, contact.y + contact.y_by + ray.outer * ray.end.0);
    let span = contact.x_by * contact.x_by + (u1 - u0) * (u1 - u0);
    let t = share((ray.xi * contact.x_by - u0 * (u1 - u0)) / span);
    let now = ray.at(contact, t);
    let r = (now.z + bottom) / now.c;
    let guess = Guess { t, r, now, at: near(&now, r) };
    let guess = closer(contact, near, ray, &guess);
    let guess = closer(contact, near, ray, &guess);
    let guess = closer(contact, near, ray, &guess);
    let Guess { t, r: lo, now, at } = if IS_ROUNDING { closer(contact, near, ray, &guess) } else { guess };
    let (steepness, rate, _) = rates(contact, &Guess { t, r: lo, now, at });
    let end = near(&now, ray.outer);
    let longest = if t > 0.5 { t } else { 1.0 - t };
    let drift = if leads_out(t, rate) { 0.0 } else { rate.abs() * longest };
    let is_outer_inside = (end.away <= 0.0) & end.is_under_end & (ray.outer * now.c - now.z <= contact.underside.top);
    let is_proved =
        (steepness <= -STEEP) & (2.0 * (at.away.abs() + drift) <= -CERTAIN * steepness) & at.is_on & (lo >= 0.0);
    (lo, now, is_proved, is_outer_inside)
}

/// Whether an end of the piece has been reached where the rate leads outward.
#[inline(always)]
fn leads_out(t: f64, rate: f64) -> bool {
    ((t == 0.0) & (rate >= 0.0)) | ((t == 1.0) & (rate <= 0.0))
}

/// How steeply the ray crosses the surface, how fast its point leaves it, and how that rate grows, along the surface's
/// normal.
#[inline(always)]
fn rates(contact: &Contact<'_>, guess: &Guess) -> (f64, f64, f64) {
    let Guess { r, now, at, .. } = guess;
    let steepness = at.n.1 * now.s + at.n.2 * now.c;
    let v = (-contact.x_by, contact.y_by - contact.turn_by * r * now.c, contact.turn_by * r * now.s - contact.z_by);
    let rate = at.n.0 * v.0 + at.n.1 * v.1 + at.n.2 * v.2;
    let u = now.y + r * now.s;
    let level = v.0 * v.0 + v.1 * v.1;
    let outward = now.xi * v.0 + u * v.1;
    let outward = outward * outward / (now.xi * now.xi + u * u + TINY);
    let bend = at.bend.0 * outward + at.bend.1 * (level - outward) + at.bend.2 * v.2 * v.2
        - r * contact.turn_by * contact.turn_by * steepness;
    (steepness, rate, bend)
}

/// One step of Newton's method.
#[inline(always)]
fn closer(contact: &Contact<'_>, near: &impl Fn(&Now, f64) -> Near, ray: &Ray, guess: &Guess) -> Guess {
    let (steepness, rate, bend) = rates(contact, guess);
    let moved = share(guess.t - rate / bend);
    let t = if leads_out(guess.t, rate) { guess.t } else { moved };
    // Along the tangent plane to the new instant, and down to the surface.
    let r = guess.r - (guess.at.away + rate * (t - guess.t)) / steepness;
    let now = ray.at(contact, t);
    Guess { t, r, now, at: near(&now, r) }
}
