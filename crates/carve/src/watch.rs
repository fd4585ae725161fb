//! What is noticed while carving, beyond what is left: rapids in wood, wood beyond the axis, bodies above the flutes.

use dryturn_geom::{ConvexPart, Flutes, Primitive};
use smallvec::SmallVec;

use crate::job::UpperBody;
use crate::kernel::{Passages, Piece, Range, RayAt, depth_inside, sweep};

/// A ray and how far something went there. Of several the deepest is kept, of equals the one with the lower ray.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reach {
    /// The block.
    pub block: u32,
    /// How far, mm.
    pub depth: f32,
    /// Radius on the ray at which it was met, mm.
    pub radius: f32,
    /// Row of the ray.
    pub row: u32,
    /// Column of the ray.
    pub column: u32,
}

/// What has been noticed so far.
#[derive(Clone, Debug, Default)]
pub(crate) struct Seen {
    pub(crate) rapids: Vec<Reach>,
    pub(crate) beyond: Vec<Reach>,
    /// By kind of body.
    pub(crate) uppers: [Vec<Reach>; 3],
}

impl Seen {
    fn lists(&mut self) -> [&mut Vec<Reach>; 5] {
        let [shank, holder, spindle] = &mut self.uppers;
        [&mut self.rapids, &mut self.beyond, shank, holder, spindle]
    }

    /// Bytes its reaches take, room that is kept free included.
    pub(crate) fn bytes(&self) -> usize {
        let lists = [&self.rapids, &self.beyond].into_iter().chain(&self.uppers);
        lists.map(|list| list.capacity()).sum::<usize>() * size_of::<Reach>()
    }
}

impl Reach {
    fn beats(&self, other: &Reach) -> bool {
        (self.depth, other.row, other.column) > (other.depth, self.row, self.column)
    }
}

/// Keeps the deepest reach of each block, for reaches that arrive in block order.
pub(crate) fn keep_deepest(found: &mut Vec<Reach>, reach: Reach) {
    match found.last_mut().filter(|last| last.block == reach.block) {
        Some(last) if reach.beats(last) => *last = reach,
        Some(_) => {}
        None => found.push(reach),
    }
}

/// Joins the reaches of many tiles: one a block, in block order.
fn join(mut reaches: Vec<Reach>) -> Vec<Reach> {
    reaches.sort_by_key(|reach| reach.block);
    let mut joined = Vec::new();
    for reach in reaches {
        keep_deepest(&mut joined, reach);
    }
    joined
}

/// What was noticed in many tiles, joined now and then so that it does not pile up; in which order they come does not
/// show.
#[derive(Debug, Default)]
pub(crate) struct Pile {
    seen: Seen,
    /// How many reaches there were when they were last joined.
    settled: usize,
}

/// So many reaches are not worth joining yet.
const FEW: usize = 1 << 15;

impl Pile {
    pub(crate) fn add(&mut self, mut seen: Seen) {
        for (all, found) in self.seen.lists().into_iter().zip(seen.lists()) {
            all.append(found);
        }
        if self.count() > 2 * self.settled.max(FEW) {
            self.join();
            self.settled = self.count();
        }
    }

    fn count(&mut self) -> usize {
        self.seen.lists().iter().map(|list| list.len()).sum()
    }

    fn join(&mut self) {
        self.seen.lists().into_iter().for_each(|list| *list = join(std::mem::take(list)));
    }

    pub(crate) fn joined(mut self) -> Seen {
        self.join();
        self.seen
    }

    /// Bytes it takes.
    pub(crate) fn bytes(&self) -> usize {
        self.seen.bytes()
    }
}

/// Solid along a ray, (inner, outer) in mm.
pub(crate) type Solid = SmallVec<[(f64, f64); 4]>;

/// A depth in a body is found to this, mm; closer to touching, the sweeps that test it grow slow.
const DEPTH_STEP: f64 = 5e-5;

/// A body is made smaller down to this width or height and no further, mm: sweeps of needles and foils are slow, and wood
/// so deep in it is deep enough.
const THINNEST: f64 = 0.05;

/// Halvings of the instant that a search makes, to better than a micron on any real cutter.
const HALVINGS: usize = 24;

/// Bodies above the flutes count as touching wood from this depth on, mm.
pub(crate) const DEEP_ENOUGH: f64 = 0.02;

/// The wood (inner, outer), mm, that passages take from the solid of a ray.
pub(crate) fn overlaps(solid: &Solid, passages: &Passages) -> Solid {
    let pairs = solid.iter().flat_map(|span| passages.iter().map(move |passage| (span, passage)));
    pairs
        .map(|(span, passage)| (span.0.max(passage.0), span.1.min(passage.1)))
        .filter(|(inner, outer)| inner < outer)
        .collect()
}

/// How deep a rapid took the flutes into a stretch of wood (inner, outer) along a ray, and at which radius, mm.
///
/// It is measured inside the flutes and not along the ray: a rapid that shaves a wall by a hair is not deep. The wood is
/// tried at its two ends and midway; where it came deepest in between, at least half of that is seen.
pub(crate) fn rapid_depth(
    flutes: &Flutes,
    piece: &Piece,
    station: f64,
    direction: (f64, f64),
    (inner, outer): (f64, f64),
) -> (f64, f64) {
    let ray = piece.ray(station, piece.aim(direction));
    [outer, 0.5 * (inner + outer), inner]
        .map(|radius| (greatest_depth(flutes, &ray, radius), radius))
        .into_iter()
        .fold((f64::NEG_INFINITY, outer), |best, found| if found.0 > best.0 { found } else { best })
}

fn greatest_depth(flutes: &Flutes, ray: &RayAt<'_>, radius: f64) -> f64 {
    let depth = |t: f64| {
        let point = ray.at(t).point(radius);
        flutes.parts().iter().map(|part| depth_inside(part, &point)).fold(f64::NEG_INFINITY, f64::max)
    };
    // For a fixed radius the depth has one maximum: close in on it from both sides.
    let (mut from, mut to) = (0.0, 1.0);
    for _ in 0..HALVINGS {
        let (a, b) = (from + 0.382 * (to - from), from + 0.618 * (to - from));
        if depth(a) < depth(b) {
            from = a;
        } else {
            to = b;
        }
    }
    depth(0.5 * (from + to)).max(depth(0.0)).max(depth(1.0))
}

/// The body made smaller all round by `margin`, so that what it still meets lies at least that deep in the full body.
fn shrunk(body: &UpperBody, margin: f64) -> Option<ConvexPart> {
    let (radius, from) = (body.radius - margin, body.from + margin);
    (radius > 0.0 && from < body.to).then(|| ConvexPart {
        top: body.to,
        bottom: from,
        radius,
        primitives: vec![Primitive::Cylinder { radius, from }],
    })
}

/// Radius at which a body, shrunk by `margin`, meets the solid of a ray during a piece.
fn meets(
    body: &UpperBody,
    margin: f64,
    piece: &Piece,
    station: f64,
    direction: (f64, f64),
    solid: &Solid,
) -> Option<f64> {
    let part = shrunk(body, margin)?;
    let range = Range { inner: solid.first()?.0, outer: solid.last()?.1 };
    let passages = sweep(&part, &piece.ray(station, piece.aim(direction)), range);
    solid.iter().rev().find_map(|&(inner, outer)| {
        passages.iter().rev().find(|(lo, hi)| *lo < outer && *hi > inner).map(|(_, hi)| hi.min(outer))
    })
}

/// How deep wood of the ray lies inside the body during a piece: (depth, radius) in mm, if deeper than `over`.
pub(crate) fn depth_in_body(
    body: &UpperBody,
    piece: &Piece,
    station: f64,
    direction: (f64, f64),
    solid: &Solid,
    over: f64,
) -> Option<(f64, f64)> {
    let test = |margin: f64| meets(body, margin, piece, station, direction, solid);
    let mut radius = test(over)?;
    // Always from the same bracket: what other rays were found before must not show in the last bits.
    let (mut deep, mut free) = (DEEP_ENOUGH, body.radius.min(body.to - body.from) - THINNEST);
    while free - deep > DEPTH_STEP {
        let middle = 0.5 * (deep + free);
        match test(middle) {
            Some(at) => (deep, radius) = (middle, at),
            None => free = middle,
        }
    }
    Some((deep, radius))
}

/// As [`depth_in_body`], for wood that the flutes take away during the same piece: the piece is halved until the
/// cutter rises by at most `rise` within each part, and in each part the flutes act first.
#[expect(clippy::too_many_arguments, reason = "one ray under one piece needs all of it, and nothing is kept")]
pub(crate) fn depth_before_cut(
    body: &UpperBody,
    flutes: &Flutes,
    piece: &Piece,
    station: f64,
    direction: (f64, f64),
    solid: &Solid,
    rise: f64,
    over: f64,
) -> Option<(f64, f64)> {
    // What the body does not meet before anything is cut it does not meet after.
    meets(body, over, piece, station, direction, solid)?;
    let mut left = solid.clone();
    if rise_of(piece, flutes.radius()) <= rise {
        cut(&mut left, flutes, piece, station, direction);
        return depth_in_body(body, piece, station, direction, &left, over);
    }
    let (one, two) = (piece.part(0.0, 0.5), piece.part(0.5, 1.0));
    let first = depth_before_cut(body, flutes, &one, station, direction, solid, rise, over);
    cut(&mut left, flutes, &one, station, direction);
    let over = first.map_or(over, |(depth, _)| depth);
    depth_before_cut(body, flutes, &two, station, direction, &left, rise, over).or(first)
}

/// Most that a point of the blank can sink against the cutter during a piece, mm.
pub(crate) fn rise_of(piece: &Piece, radius: f64) -> f64 {
    let sideways = radius + piece.from.y.abs().max((piece.from.y + piece.by.y).abs());
    piece.by.z.max(0.0) + sideways * piece.by.turn.abs()
}

fn cut(solid: &mut Solid, flutes: &Flutes, piece: &Piece, station: f64, direction: (f64, f64)) {
    for part in flutes.parts() {
        let (Some(first), Some(last)) = (solid.first(), solid.last()) else { return };
        let range = Range { inner: first.0, outer: last.1 };
        for (lo, hi) in sweep(part, &piece.ray(station, piece.aim(direction)), range) {
            *solid = solid
                .iter()
                .flat_map(|&(inner, outer)| [(inner, outer.min(lo)), (inner.max(hi), outer)])
                .filter(|(inner, outer)| inner < outer)
                .collect();
        }
    }
}
