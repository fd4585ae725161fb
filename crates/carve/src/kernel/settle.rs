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

mod gathered;
mod lowest;
mod ray;
mod real;

use dryturn_geom::{ConvexPart, Primitive};
use smallvec::SmallVec;

use super::SAME_END;
use super::instant::Piece;
use super::lanes::bits;
use gathered::Batch;
pub(crate) use gathered::{Chunk, Gathered, Settled};
use lowest::{at_cone, at_rounding, on_ball, on_face, on_slope};
use ray::{Now, Way};
use real::Real;

/// Most an end may be off, mm.
const CERTAIN: f64 = 5e-6;

/// Least steepness, as a sine, at which a ray crosses the surface: over a piece a ray turns by far less, so n · e keeps its
/// sign and half its size.
const STEEP: f64 = 0.1;

/// Rays that are settled together.
const BATCH: usize = 8;

/// Where a part of a cutter can touch wood that it stands over.
#[derive(Clone, Debug)]
pub(crate) struct Underside {
    surfaces: SmallVec<[Surface; 3]>,
    radius: f64,
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
        Underside { surfaces: surfaces.collect(), radius: part.radius, top: part.top, wall, wall_from }
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

/// A part of a cutter on its way.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Contact<'a> {
    way: Way<'a, f64>,
    /// Whether all is so small that single precision will do.
    is_small: bool,
}

/// Up to this size of cutter and wood over its tip single precision will do, mm, …
const SMALL: f64 = 32.0;
/// … and up to this size times the way, mm²: rates are told apart from nothing by [`CERTAIN`].
const SMALL_WAY: f64 = 24.0;

impl<'a> Contact<'a> {
    /// For a blank up to the radius `top`.
    pub(crate) fn new(underside: &'a Underside, piece: &Piece, top: f64) -> Contact<'a> {
        let (from, by) = (&piece.from, &piece.by);
        let way = Way { underside, z: from.z, y: from.y, y_by: by.y, z_by: by.z, x_by: by.x, turn_by: by.turn };
        let lowest = from.z.min(from.z + by.z);
        let size = (top - lowest).max(underside.radius) + from.y.abs() + by.y.abs();
        let is_small = size <= SMALL && size * (piece.way + top * by.turn.abs()) <= SMALL_WAY;
        Contact { way, is_small }
    }
}

impl<'a> Way<'a, f64> {
    #[inline(always)]
    fn of<R: Real>(&self) -> Way<'a, R> {
        Way {
            underside: self.underside,
            z: R::of(self.z),
            y: R::of(self.y),
            y_by: R::of(self.y_by),
            z_by: R::of(self.z_by),
            x_by: R::of(self.x_by),
            turn_by: R::of(self.turn_by),
        }
    }
}

/// Settles what can be settled of the rays that were gathered.
#[inline(always)]
pub(crate) fn settle(contact: &Contact<'_>, gathered: &mut Gathered) {
    let Gathered { count, small, large, settled, .. } = gathered;
    settled.clear();
    if contact.is_small {
        settle_all(contact, *count, small, settled);
    } else {
        settle_all(contact, *count, large, settled);
    }
    gathered.hand_back();
}

#[inline(always)]
fn settle_all<R: Real>(contact: &Contact<'_>, count: usize, batches: &[Batch<R>], settled: &mut Vec<Settled<BATCH>>) {
    let way = contact.way.of::<R>();
    for (index, batch) in batches.iter().take(count.div_ceil(BATCH)).enumerate() {
        let asked = FULL >> (BATCH - (count - index * BATCH).min(BATCH));
        settled.push(settle_batch(contact, &way, asked, batch));
    }
}

/// The bits of a batch.
const FULL: u32 = (1 << BATCH) - 1;

/// How the tile takes what is proved.
#[inline(always)]
fn verdict<R>(asked: u32, proved: u32, rays: &Batch<R>, (lo, hi): ([f32; BATCH], [f32; BATCH])) -> Settled<BATCH> {
    let (mut is_cut, mut is_lowered) = ([0u32; BATCH], [0u32; BATCH]);
    for lane in 0..BATCH {
        let (inner, outer) = (rays.inner[lane], rays.outer[lane]);
        is_cut[lane] = u32::from(lo[lane] <= outer - SAME_END);
        is_lowered[lane] = u32::from((hi[lane] >= outer) & (lo[lane] > inner + SAME_END));
    }
    let cut = bits(&is_cut) & proved;
    let lowered = bits(&is_lowered) & cut;
    Settled { lo, hi, lowered, cut: cut & !lowered, open: asked & !proved }
}

/// Settles the rays of a batch that are asked for, surface by surface.
#[inline(always)]
fn settle_batch<R: Real>(contact: &Contact<'_>, way: &Way<'_, R>, asked: u32, rays: &Batch<R>) -> Settled<BATCH> {
    let (mut open, mut lo, mut hi) = (asked, [0.0; BATCH], [0.0; BATCH]);
    for surface in &contact.way.underside.surfaces {
        let entries = enter(contact, way, surface, rays, open);
        let (exits, proved) = leave(contact, way, rays, &entries, open);
        for lane in 0..BATCH {
            let is_proved = proved >> lane & 1 != 0;
            let entry = (contact.way.z + entries.lo[lane].wide()) as f32;
            lo[lane] = if is_proved { entry } else { lo[lane] };
            hi[lane] = if is_proved { exits[lane] } else { hi[lane] };
        }
        open &= !proved;
        if open == 0 {
            break;
        }
    }
    verdict(asked, asked & !open, rays, (lo, hi))
}

/// The lowest entries of a batch of rays.
struct Entries<R> {
    /// Radius over the base, mm.
    lo: [R; BATCH],
    /// The instant.
    t: [R; BATCH],
    /// Rays, by bit, of which it is proved that they enter here and nowhere lower.
    proved: u32,
    /// Rays whose outer end is known to lie inside the cutter at that instant.
    inside: u32,
}

impl<R: Real> Entries<R> {
    /// Of each ray (entry, its instant, whether it is proved, whether the outer end is inside).
    #[inline(always)]
    fn of(mut enter: impl FnMut(usize) -> (R, R, bool, bool)) -> Entries<R> {
        let (mut lo, mut t) = ([R::default(); BATCH], [R::default(); BATCH]);
        let (mut is_proved, mut is_inside) = ([0u32; BATCH], [0u32; BATCH]);
        for lane in 0..BATCH {
            let (entry, instant, proved, inside) = enter(lane);
            (lo[lane], t[lane]) = (entry, instant);
            is_proved[lane] = u32::from(proved);
            is_inside[lane] = u32::from(inside);
        }
        Entries { lo, t, proved: bits(&is_proved), inside: bits(&is_inside) }
    }
}

/// The lowest entries of the rays that are open, as far as they lie on a surface.
#[inline(always)]
fn enter<R: Real>(
    contact: &Contact<'_>,
    way: &Way<'_, R>,
    surface: &Surface,
    rays: &Batch<R>,
    open: u32,
) -> Entries<R> {
    let ray = |lane| rays.ray(lane, contact.way.z);
    let n = R::of;
    match *surface {
        Surface::Face { height, radius } => on_face(way, (n(height), n(radius)), ray, open),
        Surface::Ball { radius, center, up_to } => {
            Entries::of(|lane| on_ball(way, (n(radius), n(center), n(up_to)), &ray(lane)))
        }
        Surface::Cone { outward, down, offset, from, to } => {
            let side = (n(outward), n(down), n(offset));
            let cone = |now: &Now<R>, r: R| at_cone(way, now, r, side, (n(from), n(to)));
            Entries::of(|lane| on_slope::<false, R>(way, n(from), &cone, &ray(lane)))
        }
        Surface::Rounding { disc, tube, center } => {
            let rounding = |now: &Now<R>, r: R| at_rounding(way, now, r, (n(disc), n(tube), n(center)));
            Entries::of(|lane| on_slope::<true, R>(way, n(center - tube), &rounding, &ray(lane)))
        }
    }
}

/// Where the open rays leave again, mm, at most their outer ends; and which of them are proved at both ends.
#[inline(always)]
fn leave<R: Real>(
    contact: &Contact<'_>,
    way: &Way<'_, R>,
    rays: &Batch<R>,
    entries: &Entries<R>,
    open: u32,
) -> ([f32; BATCH], u32) {
    let entered = entries.proved & open;
    let mut through = entries.inside & entered;
    if through != entered {
        let mut is_through = [0u32; BATCH];
        for (lane, is_through) in is_through.iter_mut().enumerate() {
            let ray = rays.ray(lane, contact.way.z);
            let is_in_wall = way.wall_holds(&ray.at(way, entries.t[lane]), ray.outer);
            *is_through = u32::from(is_in_wall | (entries.lo[lane] >= ray.outer));
        }
        through |= bits(&is_through) & entered;
    }
    if through == entered {
        return (rays.outer, entered);
    }
    let (mut hi, mut is_highest) = (rays.outer, [0u32; BATCH]);
    for lane in 0..BATCH {
        let ray = rays.ray(lane, contact.way.z);
        let (exit, is_proved) = contact.way.exit(&ray, entries.t[lane], entries.lo[lane]);
        let exit = (contact.way.z + exit) as f32;
        let is_shorter = (through >> lane & 1 == 0) & (exit < hi[lane]);
        hi[lane] = if is_shorter { exit } else { hi[lane] };
        is_highest[lane] = u32::from(is_proved);
    }
    (hi, entered & (through | bits(&is_highest)))
}
