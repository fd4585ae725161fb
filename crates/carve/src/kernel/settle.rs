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

mod lowest;
mod ray;

use dryturn_geom::{ConvexPart, Primitive};
use smallvec::SmallVec;

use super::SAME_END;
use super::instant::Piece;
use super::lanes::{Aims, LANES, Wood, bits};
use lowest::{at_cone, at_rounding, on_ball, on_face, on_slope};
use ray::{Now, Ray};

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

/// Rays of a batch, settled together; they may come from anywhere under the piece.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Batch {
    /// ξ at the start of the piece.
    xi: [f64; BATCH],
    inner: [f32; BATCH],
    outer: [f32; BATCH],
    s0: [f64; BATCH],
    c0: [f64; BATCH],
    s1: [f64; BATCH],
    c1: [f64; BATCH],
}

impl Batch {
    /// Without wood, which nothing is lost of.
    const EMPTY: Batch = {
        let zero = [0.0; BATCH];
        Batch { xi: zero, inner: [0.0; BATCH], outer: [0.0; BATCH], s0: zero, c0: zero, s1: zero, c1: zero }
    };

    #[inline(always)]
    fn ray(&self, lane: usize) -> Ray {
        Ray {
            xi: self.xi[lane],
            outer: f64::from(self.outer[lane]),
            start: (self.s0[lane], self.c0[lane]),
            end: (self.s1[lane], self.c1[lane]),
        }
    }
}

/// The rays that a piece may meet, gathered out of all rows it passes over, and what they lose as far as it is proved.
///
/// A row under a narrow tip holds a ray or two of them: batches of neighbours would be all but empty.
#[derive(Clone, Debug, Default)]
pub(crate) struct Gathered {
    count: usize,
    batches: Vec<Batch>,
    settled: Vec<Settled<BATCH>>,
}

impl Gathered {
    pub(crate) fn clear(&mut self) {
        self.count = 0;
    }

    /// Adds the rays of a chunk whose bits are set; gives how many there were before. ξ is that of the row at the start of
    /// the piece.
    #[inline]
    pub(crate) fn add(&mut self, mut rays: u32, xi: f64, aims: &Aims<f64>, wood: Wood<'_>) -> usize {
        let before = self.count;
        let room = (self.count + LANES).div_ceil(BATCH);
        if self.batches.len() < room {
            self.batches.resize(room, Batch::EMPTY);
        }
        while rays != 0 {
            let lane = rays.trailing_zeros() as usize % LANES;
            rays &= rays - 1;
            let (batch, place) = (&mut self.batches[self.count / BATCH], self.count % BATCH);
            batch.xi[place] = xi;
            (batch.inner[place], batch.outer[place]) = (wood.inner[lane], wood.outer[lane]);
            (batch.s0[place], batch.c0[place]) = (aims.s0[lane], aims.c0[lane]);
            (batch.s1[place], batch.c1[place]) = (aims.s1[lane], aims.c1[lane]);
            self.count += 1;
        }
        before
    }

    /// What the rays of a chunk lose that were added with these bits set, as the `first`-th and those after it.
    #[inline]
    pub(crate) fn fates(&self, mut rays: u32, first: usize) -> Settled<LANES> {
        let mut fates = Settled { lo: [0.0; LANES], hi: [0.0; LANES], lowered: 0, cut: 0, open: 0 };
        let mut index = first;
        while rays != 0 {
            let lane = rays.trailing_zeros() as usize % LANES;
            rays &= rays - 1;
            let (settled, place) = (&self.settled[index / BATCH], index % BATCH);
            (fates.lo[lane], fates.hi[lane]) = (settled.lo[place], settled.hi[place]);
            fates.lowered |= (settled.lowered >> place & 1) << lane;
            fates.cut |= (settled.cut >> place & 1) << lane;
            fates.open |= (settled.open >> place & 1) << lane;
            index += 1;
        }
        fates
    }
}

/// What rays lose, as far as it is proved; sets of rays by bit.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Settled<const COUNT: usize> {
    /// Radii that a ray loses, mm: from its lowest entry …
    pub(crate) lo: [f32; COUNT],
    /// … to its highest exit, or the outer end where that is nearer.
    pub(crate) hi: [f32; COUNT],
    /// Rays that lose the outer part of their outermost solid, and no more.
    pub(crate) lowered: u32,
    /// Rays that lose lo … hi, wherever there is wood.
    pub(crate) cut: u32,
    /// Rays of which nothing is proved.
    pub(crate) open: u32,
}

/// Settles what can be settled of the rays that were gathered.
#[inline(always)]
pub(crate) fn settle(contact: &Contact<'_>, gathered: &mut Gathered) {
    gathered.settled.clear();
    for (index, batch) in gathered.batches[..gathered.count.div_ceil(BATCH)].iter().enumerate() {
        let asked = FULL >> (BATCH - (gathered.count - index * BATCH).min(BATCH));
        gathered.settled.push(settle_batch(contact, asked, batch));
    }
}

/// The bits of a batch.
const FULL: u32 = (1 << BATCH) - 1;

/// How the tile takes what is proved.
#[inline(always)]
fn verdict(asked: u32, proved: u32, rays: &Batch, (lo, hi): ([f32; BATCH], [f32; BATCH])) -> Settled<BATCH> {
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
fn settle_batch(contact: &Contact<'_>, asked: u32, rays: &Batch) -> Settled<BATCH> {
    let (mut open, mut lo, mut hi) = (asked, [0.0; BATCH], [0.0; BATCH]);
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
    verdict(asked, asked & !open, rays, (lo, hi))
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
fn enter(contact: &Contact<'_>, surface: &Surface, rays: &Batch, open: u32) -> Entries {
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
fn leave(contact: &Contact<'_>, rays: &Batch, entries: &Entries, open: u32) -> ([f64; BATCH], u32) {
    let entered = entries.proved & open;
    let mut through = entries.inside & entered;
    if through != entered {
        let mut is_through = [0u32; BATCH];
        for (lane, is_through) in is_through.iter_mut().enumerate() {
            let outer = f64::from(rays.outer[lane]);
            let is_in_wall = contact.wall_holds(&entries.now(lane), outer);
            *is_through = u32::from(is_in_wall | (entries.lo[lane] >= outer));
        }
        through |= bits(&is_through) & entered;
    }
    let mut hi = [0.0; BATCH];
    for (hi, outer) in hi.iter_mut().zip(rays.outer) {
        *hi = f64::from(outer);
    }
    if through == entered {
        return (hi, entered);
    }
    let mut is_highest = [0u32; BATCH];
    for lane in 0..BATCH {
        let ray = rays.ray(lane);
        let (exit, is_proved) = contact.exit(&ray, &entries.now(lane), entries.lo[lane]);
        let is_shorter = (through >> lane & 1 == 0) & (exit < ray.outer);
        hi[lane] = if is_shorter { exit } else { hi[lane] };
        is_highest[lane] = u32::from(is_proved);
    }
    (hi, entered & (through | bits(&is_highest)))
}
