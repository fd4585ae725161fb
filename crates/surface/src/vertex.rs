//! The vertex that stands for a loop.
//!
//! A **smooth** loop's knots lie on the surface, and its vertex is to lie so that the mesh holds the true volume. Over
//! a stretch h of a surface with curvature κ the mean of the knots lies κh²/8 under the surface, the tangent planes at
//! the knots meet κh²/8 over it, and a polygon holds the true volume if its corners lie κh²/12 over it: five sixths of
//! the way from the one to the other, in both directions alike.
//!
//! A **sharp** loop's vertex lies where the planes of its knots meet. Where that is outside the cell, the vertex slides
//! along the edge until it is inside. Then those who made the surfaces are asked how they lie at that very place, and the
//! wood whether it is there: a third may have taken it between the rays.

use dryturn_carve::{PREPARED, UNTOUCHED};
use glam::DVec3;
use smallvec::SmallVec;

use crate::Kind;
use crate::place::{Place, around, outward};
use crate::quadric::{Plane, Spread};
use crate::skin::Sample;
use crate::wood::Wood;

/// Least product of the normals of two knots of a smooth loop with each other: 14°.
const SMOOTH: f64 = 0.97;
/// Share of the way from the mean of the knots to where their planes meet.
const SHARE: f64 = 5.0 / 6.0;
/// Directions count whose planes differ by more than this share of the main one: not those of a radius of 12 pitches.
const APART: f64 = 0.02;
/// The same once every surface is asked at the vertex itself.
const APART_AT_THE_VERTEX: f64 = 0.005;
/// Times that a vertex may slide back into its cell, and times that the owners are asked.
const SLIDES: usize = 6;
const REFINEMENTS: usize = 2;
/// A refinement by no more than this is the last one, mm.
const SHORT: f64 = 1e-7;
/// Least product of normals of one surface of an owner within a loop.
const SAME_FACE: f64 = 0.9;
/// How far from the vertex toward its knots a surface is asked, in pitches: on its own side of an edge.
const ASIDE: f64 = 0.05;
/// How far from the sides of its cell a vertex that is drawn in stays, as a share of the width: those of two cells do not
/// touch.
const CLEAR: f64 = 2e-3;
/// Farthest that a vertex may lie outside its cell, in pitches or, around the axis, in the width of the cell there.
const OUTSIDE: f64 = 0.5;
/// Farthest that a refinement may move it, in pitches.
const MOVE: f64 = 2.0;
/// How near to the ends of what its cell has of an edge a vertex may slide, as a share of that: the next cell has the rest.
const END: f64 = 0.1;
/// How far under a vertex there must be wood, in pitches, and how often it is asked who took it.
const UNDER: f64 = 0.02;
const THIRDS: usize = 2;

/// Where a vertex should lie: ranges of station, angle and radius.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Cell {
    pub(crate) station: (f64, f64),
    pub(crate) theta: (f64, f64),
    pub(crate) radius: (f64, f64),
    /// Distance between rows, mm.
    pub(crate) pitch: f64,
}

impl Cell {
    /// The nearest point within, by station, angle and radius.
    fn nearest(&self, point: DVec3) -> DVec3 {
        let Place { station, theta, radius } = Place::of(point);
        let middle = 0.5 * (self.theta.0 + self.theta.1);
        let aside = dryturn_geom::angle::signed(theta - middle);
        let half = 0.5 * (self.theta.1 - self.theta.0);
        let inside = Place {
            station: station.clamp(self.station.0, self.station.1),
            theta: middle + aside.clamp(-half, half),
            radius: radius.clamp(self.radius.0, self.radius.1),
        };
        inside.point()
    }

    /// The cell without a share of its width at every side, and without the axis, where all columns meet.
    fn shrunk(&self, share: f64) -> Cell {
        let inner = |(from, to): (f64, f64)| (from + share * (to - from), to - share * (to - from));
        let off_axis = |radius: f64| radius.max(share * self.pitch);
        let radius = (off_axis(self.radius.0), off_axis(self.radius.1));
        Cell { station: inner(self.station), theta: inner(self.theta), radius, ..*self }
    }

    /// The cell and so much around it: along and outward in pitches, around in its own width.
    fn grown(&self, share: f64) -> Cell {
        let outer = |(from, to): (f64, f64), by: f64| (from - by, to + by);
        let by = share * self.pitch;
        let theta = outer(self.theta, share * (self.theta.1 - self.theta.0));
        Cell { station: outer(self.station, by), theta, radius: outer(self.radius, by), ..*self }
    }

    /// The nearest point within and clear of the sides; the point itself if it lies within.
    pub(crate) fn clear(&self, point: DVec3) -> DVec3 {
        if self.holds(point) { point } else { self.shrunk(CLEAR).nearest(point) }
    }

    /// Whether a point lies within, but for the rounding of places.
    fn holds(&self, point: DVec3) -> bool {
        (point - self.nearest(point)).length_squared() < SHORT * SHORT
    }

    /// The point nearest to another of what the cell has of the line through that; `None` if it has nothing of it.
    fn slid(&self, from: DVec3, way: DVec3) -> Option<DVec3> {
        let out = outward(0.5 * (self.theta.0 + self.theta.1));
        let (low, high) = (around(self.theta.0), around(self.theta.1));
        let walls = [
            (DVec3::X, self.station.0),
            (DVec3::NEG_X, -self.station.1),
            (low, 0.0),
            (-high, 0.0),
            (out, self.radius.0),
            (-out, -self.radius.1),
        ];
        let (mut first, mut last) = (f64::NEG_INFINITY, f64::INFINITY);
        for (inward, least) in walls {
            let (over, rise) = (inward.dot(from) - least, inward.dot(way));
            if rise > 0.0 {
                first = first.max(-over / rise);
            } else if rise < 0.0 {
                last = last.min(-over / rise);
            } else if over < 0.0 {
                return None;
            }
        }
        let margin = END * (last - first);
        (last > first && margin.is_finite()).then(|| from + way * 0.0f64.clamp(first + margin, last - margin))
    }
}

/// Place and kind of the vertex of a loop through some knots; its cell is asked for where that matters.
pub(crate) fn vertex(samples: &[Sample], cell: impl FnOnce() -> Cell, wood: &impl Wood) -> (DVec3, Kind) {
    let count = samples.len() as f64;
    let mean = samples.iter().map(|it| it.point).sum::<DVec3>() / count;
    let found = if is_smooth(samples) {
        let normal = samples.iter().map(|it| it.normal).sum::<DVec3>().normalize_or_zero();
        let over = samples.iter().map(|it| it.normal.dot(it.point - mean)).sum::<f64>() / count;
        (mean + normal * (SHARE * over), Kind::Smooth)
    } else {
        sharp(samples, mean, &cell(), wood)
    };
    if found.0.is_finite() { found } else { (mean, found.1) }
}

/// A point near another that lies within the cell of a loop, on one of its surfaces as far as these pass through it.
pub(crate) fn inside(samples: &[Sample], cell: &Cell, wood: &impl Wood, from: DVec3) -> DVec3 {
    let cell = cell.shrunk(CLEAR);
    let faces = Face::all(samples);
    let mut at = cell.nearest(from);
    if (at - from).length() < SHORT {
        return from;
    }
    for _ in 0..SLIDES {
        let planes = faces.iter().map(|face| face.plane_at(at, &cell, wood));
        let ways = planes.map(|(point, normal)| normal * normal.dot(point - at));
        let Some(way) = ways.min_by(|a, b| a.length_squared().total_cmp(&b.length_squared())) else { break };
        at = cell.nearest(at + way);
    }
    if at.is_finite() { at } else { from }
}

fn is_smooth(samples: &[Sample]) -> bool {
    let first = samples[0].normal;
    // Two within half the angle of a third are within the angle of each other.
    samples.iter().all(|it| it.normal.dot(first) > 0.9925)
        || samples.iter().enumerate().all(|(k, a)| samples[..k].iter().all(|b| a.normal.dot(b.normal) > SMOOTH))
}

fn sharp(samples: &[Sample], mean: DVec3, cell: &Cell, wood: &impl Wood) -> (DVec3, Kind) {
    let planes: SmallVec<[Plane; 16]> = samples.iter().map(|it| (it.point, it.normal)).collect();
    let spread = Spread::of(&planes);
    let mut rank = spread.rank(APART);
    let mut at = slide(&spread, &planes, mean, rank, cell);
    let faces = Face::all(samples);
    for _ in 0..REFINEMENTS {
        let planes: SmallVec<[Plane; 8]> = faces.iter().map(|face| face.plane_at(at, cell, wood)).collect();
        let spread = Spread::of(&planes);
        let found = spread.rank(APART_AT_THE_VERTEX).min(faces.len());
        let moved = slide(&spread, &planes, at, found, cell);
        if (moved - at).length() > MOVE * cell.pitch || !moved.is_finite() {
            break;
        }
        let is_there = (moved - at).length() <= SHORT;
        (at, rank) = (moved, found);
        if is_there {
            break;
        }
    }
    if !cell.grown(OUTSIDE).holds(at) {
        at = cell.nearest(at);
    }
    match rank {
        0 | 1 => (at, Kind::Smooth),
        2 => without_thirds(samples, at, Kind::Edge, cell, wood),
        _ => without_thirds(samples, at, Kind::Corner, cell, wood),
    }
}

/// A vertex where surfaces of a loop would meet, or, between two that were cut, the nearest one on the surface of a third
/// that took the wood from there without meeting any ray. If that lies between those of the loop, as cusps do that are nearer to each other than
/// the rays, there is no edge.
fn without_thirds(samples: &[Sample], vertex: DVec3, kind: Kind, cell: &Cell, wood: &impl Wood) -> (DVec3, Kind) {
    let mut cut = samples.iter().map(|it| it.by).filter(|by| ![UNTOUCHED, PREPARED].contains(by));
    let first = cut.next();
    if cut.all(|by| Some(by) == first) {
        return (vertex, kind);
    }
    let outward = samples.iter().map(|it| it.normal).sum::<DVec3>().normalize_or_zero();
    let (mut at, mut found) = (vertex, kind);
    for _ in 0..THIRDS {
        let under = wood.at(Place::of(at - outward * (UNDER * cell.pitch)));
        let third = under.by.filter(|by| !under.is_solid && samples.iter().all(|it| it.by != *by));
        let surface = third.and_then(|by| wood.surface(by, Place::of(at)));
        let Some(surface) = surface.filter(|it| it.height > 0.0 && it.height < cell.pitch) else { break };
        let moved = at - surface.normal * surface.height;
        if !cell.grown(OUTSIDE).holds(moved) {
            break;
        }
        let is_between = samples.iter().all(|it| it.normal.dot(surface.normal) > SMOOTH);
        (at, found) = (moved, if is_between { Kind::Smooth } else { kind });
    }
    (at, found)
}

/// Where the planes meet, near the cell.
fn slide(spread: &Spread, planes: &[Plane], from: DVec3, rank: usize, cell: &Cell) -> DVec3 {
    let mut at = spread.solve(planes, from, rank);
    for _ in 0..SLIDES {
        if cell.holds(at) {
            break;
        }
        let slid = spread.edge(rank).and_then(|way| cell.slid(at, way));
        at = spread.solve(planes, slid.unwrap_or_else(|| cell.nearest(at)), rank);
    }
    at
}

/// Knots of a loop on one surface of one owner.
struct Face<'a> {
    samples: SmallVec<[&'a Sample; 8]>,
}

impl<'a> Face<'a> {
    fn all(samples: &'a [Sample]) -> SmallVec<[Face<'a>; 4]> {
        let mut faces: SmallVec<[Face<'a>; 4]> = SmallVec::new();
        for sample in samples {
            let is_its = |face: &&mut Face<'_>| {
                face.samples[0].by == sample.by && face.samples[0].normal.dot(sample.normal) > SAME_FACE
            };
            match faces.iter_mut().find(is_its) {
                Some(face) => face.samples.push(sample),
                None => faces.push(Face { samples: SmallVec::from_elem(sample, 1) }),
            }
        }
        faces
    }

    /// Its plane at a vertex.
    fn plane_at(&self, vertex: DVec3, cell: &Cell, wood: &impl Wood) -> Plane {
        let distance = |sample: &&&Sample| (sample.point - vertex).length_squared();
        let nearest = self.samples.iter().min_by(|a, b| distance(a).total_cmp(&distance(b)));
        let sample = nearest.expect("a face has a first knot");
        let way = sample.point - vertex;
        let asked = vertex + way.clamp_length_max(ASIDE * cell.pitch);
        let found = wood.surface(sample.by, Place::of(asked));
        match found.filter(|it| it.normal.dot(sample.normal) > SAME_FACE && it.height.abs() < cell.pitch) {
            Some(surface) => (asked - surface.normal * surface.height, surface.normal),
            None => (sample.point, sample.normal),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::wood::{Height, State};

    /// Wood that nobody knows anything about but what the knots tell.
    struct Unknown;

    impl Wood for Unknown {
        fn at(&self, _: Place) -> State {
            State { is_solid: true, by: None }
        }

        fn surface(&self, _: u32, _: Place) -> Option<Height> {
            None
        }
    }

    #[test]
    fn a_vertex_slides_along_its_edge_into_the_cell() {
        let step = 0.01;
        let cell = Cell { station: (0.0, 0.25), theta: (0.0, step), radius: (24.0, 26.0), pitch: 0.25 };
        // A low ridge that crosses the column's first side at the station 0.1 and leans to it by so much.
        for slope in [0.05, 0.1, 0.2] {
            let along = DVec3::new(1.0, -slope, 0.0).normalize();
            let across = DVec3::Z.cross(along);
            let top = DVec3::new(0.1, 0.0, 25.0);
            let sample = |station: f64, column: f64| {
                let point = Place { station, theta: column * step, radius: 25.0 }.point();
                let side = (point - top).dot(across).signum();
                let normal = (DVec3::Z + across * (0.25 * side)).normalize();
                Sample { point: point - normal * normal.dot(point - top), normal, by: u32::from(side > 0.0) }
            };
            let samples = [sample(0.0, 0.0), sample(0.0, 1.0), sample(0.25, 1.0), sample(0.25, 0.0)];
            let (found, kind) = vertex(&samples, || cell, &Unknown);
            assert_eq!(kind, Kind::Edge);
            assert!((found - top).cross(along).length() < 1e-9, "{found}");
            assert!(found.x > 0.1 && cell.holds(found), "{slope}: {found}");
        }
    }
}
