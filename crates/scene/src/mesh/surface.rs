//! A mesh: distances by a tree over its triangles, and what of a ray lies inside by counting its faces.
//!
//! A ray meets the plane of its station in half-open rules: a corner on the plane counts as beyond it, a point on the ray
//! as to its left. What two triangles share is worked out from the same numbers in the same order, so that a ray passes
//! between no two of them and through no edge twice. Faces left outward count one, faces entered take one off; inside is
//! where the count of faces farther out is above nought, so that bodies may overlap (the non-zero rule).
//!
//! The chord error is an estimate: where two triangles fold by less than [`SMOOTH`], a curve was meant, and a facet as wide
//! as the narrower of them, turning by that angle, has a sagitta of width · angle / 8. Sharper folds are edges.

use std::fmt;

use dryturn_geom::{Facets, Offset, Solid, angle};
use parry3d_f64::bounding_volume::Aabb;
use parry3d_f64::math::Vector;
use parry3d_f64::partitioning::{Bvh, BvhBuildStrategy, BvhNode, TraversalAction};

use super::Mesh;

/// A point: station, y, z, mm.
pub type Point = [f64; 3];

/// Stretches of a ray inside a solid, (from, to) in mm, from the axis out.
pub type Inside = Vec<(f64, f64)>;

/// What of a surface is nearest to a point.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Near {
    /// Distance, mm, 0 or above.
    pub distance: f64,
    /// The nearest point.
    pub point: Point,
    /// How far the surface that was meant may lie off the facets here, mm.
    pub chord: f64,
}

/// Folds below this stand for a curve, radians (15.5°).
const SMOOTH: f64 = 0.2705;

/// More than the rounding of any place a ray goes through a triangle, mm.
const ROUNDING: f64 = 1e-9;

/// Triangles with a tree over them.
pub struct MeshSurface {
    corners: Vec<Vector>,
    triangles: Vec<[u32; 3]>,
    tree: Bvh,
    /// Of each triangle, mm.
    chords: Vec<f32>,
}

impl fmt::Debug for MeshSurface {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.debug_struct("MeshSurface").field("triangles", &self.triangles.len()).finish_non_exhaustive()
    }
}

impl MeshSurface {
    /// The surface of a closed mesh; memory and time in proportion to its triangles.
    pub fn new(mesh: &Mesh) -> MeshSurface {
        let corners: Vec<Vector> = mesh.corners.iter().map(|&[x, y, z]| Vector::new(x, y, z)).collect();
        let triangles = mesh.triangles.clone();
        let boxes: Vec<Aabb> = triangles
            .iter()
            .map(|triangle| {
                let [a, b, c] = triangle.map(|corner| corners[corner as usize]);
                Aabb::new(a.min(b).min(c), a.max(b).max(c))
            })
            .collect();
        let tree = Bvh::from_leaves(BvhBuildStrategy::Binned, &boxes);
        let chords = chords(&corners, &triangles);
        MeshSurface { corners, triangles, tree, chords }
    }

    /// The greatest distance that the surface meant may be off the facets, mm.
    pub fn greatest_chord(&self) -> f64 {
        f64::from(self.chords.iter().copied().fold(0.0, f32::max))
    }

    /// The nearest point of the surface. `bound` is a distance within which there is one, if it is known: the search is the
    /// shorter for it. Infinity is always right.
    pub fn nearest(&self, point: Point, bound: f64) -> Near {
        let point = Vector::from_array(point);
        let (face, foot) = self.nearest_face(point, bound);
        let chord = f64::from(self.chords[face as usize]);
        Near { distance: foot.distance(point), point: foot.to_array(), chord }
    }

    fn nearest_face(&self, point: Vector, bound: f64) -> (u32, Vector) {
        let limit = bound * (1.0 + 1e-9) + 1e-9;
        let to_box = |node: &BvhNode, _| point.clamp(node.mins(), node.maxs()).distance_squared(point);
        let to_face = |face: u32, _| Some(self.nearest_of(face, point).distance_squared(point));
        let found = self
            .tree
            .find_best(limit * limit, to_box, to_face)
            .or_else(|| self.tree.find_best(f64::INFINITY, to_box, to_face));
        // A mesh that was read has triangles, all of them at finite places.
        let face = found.map_or(0, |(face, _)| face);
        (face, self.nearest_of(face, point))
    }

    fn corners_of(&self, face: u32) -> [Vector; 3] {
        self.triangles[face as usize].map(|corner| self.corners[corner as usize])
    }

    /// The nearest point of a triangle, by the region the point lies over (Ericson, *Real-Time Collision Detection*, 2005,
    /// section 5.1.5).
    fn nearest_of(&self, face: u32, point: Vector) -> Vector {
        let [a, b, c] = self.corners_of(face);
        let (ab, ac) = (b - a, c - a);
        let from_a = point - a;
        let (d1, d2) = (ab.dot(from_a), ac.dot(from_a));
        if d1 <= 0.0 && d2 <= 0.0 {
            return a;
        }
        let from_b = point - b;
        let (d3, d4) = (ab.dot(from_b), ac.dot(from_b));
        if d3 >= 0.0 && d4 <= d3 {
            return b;
        }
        let over_ab = d1 * d4 - d3 * d2;
        if over_ab <= 0.0 && d1 >= 0.0 && d3 <= 0.0 {
            return a + ab * (d1 / (d1 - d3));
        }
        let from_c = point - c;
        let (d5, d6) = (ab.dot(from_c), ac.dot(from_c));
        if d6 >= 0.0 && d5 <= d6 {
            return c;
        }
        let over_ac = d5 * d2 - d1 * d6;
        if over_ac <= 0.0 && d2 >= 0.0 && d6 <= 0.0 {
            return a + ac * (d2 / (d2 - d6));
        }
        let over_bc = d3 * d6 - d5 * d4;
        if over_bc <= 0.0 && d4 >= d3 && d5 >= d6 {
            return b + (c - b) * ((d4 - d3) / ((d4 - d3) + (d5 - d6)));
        }
        let whole = 1.0 / (over_bc + over_ac + over_ab);
        a + ab * (over_ac * whole) + ac * (over_ab * whole)
    }

    /// What of the ray at a station (mm) lies inside; `direction` is the sine and cosine of its angle θ.
    pub fn inside(&self, station: f64, direction: (f64, f64)) -> Inside {
        self.inside_from(station, direction, [0.0, 0.0])
    }

    /// The same for a ray that runs out from another point (y, z) of the plane.
    fn inside_from(&self, station: f64, direction: (f64, f64), [y, z]: [f64; 2]) -> Inside {
        let mut crossings = Vec::new();
        let (out_y, out_z) = out(direction);
        let from = Vector::new(0.0, y, z);
        self.tree.traverse(|node| {
            let (low, high) = (node.mins() - from, node.maxs() - from);
            // The box reaches the plane, lies not wholly behind the axis, and to both sides of the ray.
            let ahead = (out_y * low.y).max(out_y * high.y) + (out_z * low.z).max(out_z * high.z);
            let left = (out_y * low.z).max(out_y * high.z) + (-out_z * low.y).max(-out_z * high.y);
            let right = (out_y * low.z).min(out_y * high.z) + (-out_z * low.y).min(-out_z * high.y);
            if low.x > station || high.x < station || ahead < -ROUNDING || left < -ROUNDING || right > ROUNDING {
                return TraversalAction::Prune;
            }
            if let Some(face) = node.leaf_data()
                && let Some(segment) = self.cut(face, station)
            {
                let segment = segment.map(|end| [end[0] - y, end[1] - z]);
                crossings.extend(cross(segment, direction));
            }
            TraversalAction::Continue
        });
        stretches(&mut crossings)
    }

    /// The same for every ray of a row, given the sines and cosines of the columns' angles, which go evenly round from 0.
    pub fn row(&self, station: f64, directions: &[(f64, f64)]) -> Vec<Inside> {
        let mut crossings: Vec<Vec<(f64, i8)>> = vec![Vec::new(); directions.len()];
        self.tree.traverse(|node| {
            if node.mins().x > station || node.maxs().x < station {
                return TraversalAction::Prune;
            }
            if let Some(face) = node.leaf_data()
                && let Some(segment) = self.cut(face, station)
            {
                for column in columns_of(segment, directions.len()) {
                    crossings[column].extend(cross(segment, directions[column]));
                }
            }
            TraversalAction::Continue
        });
        crossings.iter_mut().map(|crossings| stretches(crossings)).collect()
    }

    /// The segment in which a triangle meets the plane of a station, (y, z) of both ends: first where the way around the
    /// triangle comes through the plane toward greater stations.
    fn cut(&self, face: u32, station: f64) -> Option<[[f64; 2]; 2]> {
        let triangle = self.triangles[face as usize];
        let is_beyond = triangle.map(|corner| self.corners[corner as usize].x >= station);
        let (mut first, mut last) = (None, None);
        for index in 0..3 {
            let next = (index + 1) % 3;
            match (is_beyond[index], is_beyond[next]) {
                (false, true) => first = Some(self.through(triangle[index], triangle[next], station)),
                (true, false) => last = Some(self.through(triangle[index], triangle[next], station)),
                _ => {}
            }
        }
        Some([first?, last?])
    }

    /// Where an edge goes through a plane, the same bits whichever way it is run through.
    fn through(&self, one: u32, other: u32, station: f64) -> [f64; 2] {
        let (a, b) = (self.corners[one.min(other) as usize], self.corners[one.max(other) as usize]);
        let share = (station - a.x) / (b.x - a.x);
        [a.y + share * (b.y - a.y), a.z + share * (b.z - a.z)]
    }
}

impl Solid for MeshSurface {
    fn spans(&self, station: f64, direction: (f64, f64), shift: Offset) -> Vec<(f64, f64)> {
        self.inside_from(station, direction, [-shift.y, -shift.z])
    }

    fn surface(&self, point: Point) -> (f64, [f64; 3]) {
        let place = Vector::from_array(point);
        let (face, foot) = self.nearest_face(place, f64::INFINITY);
        let distance = foot.distance(place);
        let (theta, radius) = (angle::atan2(-point[1], point[2]), angle::hypot(point[1], point[2]));
        let is_inside = holds(&self.inside(point[0], angle::sin_cos(theta)), radius);
        let height = if is_inside { -distance } else { distance };
        let [a, b, c] = self.corners_of(face);
        // On the surface itself the way to it has no direction, and its facet tells.
        let normal =
            if distance > ROUNDING { (place - foot) / height } else { (b - a).cross(c - a).normalize_or_zero() };
        (height, normal.to_array())
    }

    fn facets(&self) -> Option<Facets> {
        let corners = self.corners.iter().map(|corner| corner.to_array()).collect();
        Some(Facets { corners, triangles: self.triangles.clone() })
    }

    fn greatest_radius(&self, from: f64) -> f64 {
        let beyond =
            self.corners.iter().filter(|corner| corner.x >= from).map(|corner| angle::hypot(corner.y, corner.z));
        let mut greatest = beyond.fold(0.0, f64::max);
        // And where the plane of that station goes through.
        self.tree.traverse(|node| {
            if node.mins().x > from || node.maxs().x < from {
                return TraversalAction::Prune;
            }
            if let Some(face) = node.leaf_data() {
                let ends = self.cut(face, from).into_iter().flatten();
                greatest = ends.map(|[y, z]| angle::hypot(y, z)).fold(greatest, f64::max);
            }
            TraversalAction::Continue
        });
        greatest
    }
}

/// Whether a radius lies in one of the stretches.
pub fn holds(inside: &[(f64, f64)], radius: f64) -> bool {
    inside.iter().any(|&(from, to)| from <= radius && radius <= to)
}

/// The way a ray runs in its plane, (y, z).
fn out((sine, cosine): (f64, f64)) -> (f64, f64) {
    (-sine, cosine)
}

/// Where a segment crosses a ray: the radius, and 1 where the ray leaves the solid, −1 where it enters.
fn cross([first, last]: [[f64; 2]; 2], direction: (f64, f64)) -> Option<(f64, i8)> {
    let (out_y, out_z) = out(direction);
    let aside = |[y, z]: [f64; 2]| out_y * z - out_z * y;
    let (a, b) = (aside(first), aside(last));
    if (a >= 0.0) == (b >= 0.0) {
        return None;
    }
    let along = |[y, z]: [f64; 2]| out_y * y + out_z * z;
    let radius = along(first) + a / (a - b) * (along(last) - along(first));
    (radius > 0.0).then_some((radius, if a >= 0.0 { 1 } else { -1 }))
}

/// Columns whose rays a segment may cross.
fn columns_of([first, last]: [[f64; 2]; 2], count: usize) -> impl Iterator<Item = usize> {
    let step = std::f64::consts::TAU / count as f64;
    let [one, other] = [first, last].map(|[y, z]| angle::atan2(-y, z));
    let turn = angle::signed(other - one);
    let (low, high) = (one + turn.min(0.0), one + turn.max(0.0));
    // Near half a turn it may go round the axis on either side.
    let is_around = turn.abs() > 3.0;
    let begin = if is_around { 0 } else { (low / step).floor() as i64 - 1 };
    let end =
        if is_around { count as i64 - 1 } else { ((high / step).ceil() as i64 + 1).min(begin + count as i64 - 1) };
    (begin..=end).map(move |column| column.rem_euclid(count as i64) as usize)
}

/// What of a ray lies inside, from its crossings.
fn stretches(crossings: &mut [(f64, i8)]) -> Inside {
    crossings.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut count: i64 = crossings.iter().map(|crossing| i64::from(crossing.1)).sum();
    let mut inside = Inside::new();
    let mut from = 0.0;
    for &(radius, way) in crossings.iter() {
        let before = count > 0;
        count -= i64::from(way);
        match (before, count > 0) {
            (true, false) if radius > from => inside.push((from, radius)),
            (false, true) => from = radius,
            _ => {}
        }
    }
    inside
}

/// The chord error of each triangle.
fn chords(corners: &[Vector], triangles: &[[u32; 3]]) -> Vec<f32> {
    let mut edges: Vec<(u32, u32, u32)> = triangles
        .iter()
        .zip(0u32..)
        .flat_map(|(&[a, b, c], face)| [(a, b), (b, c), (c, a)].map(|(a, b)| (a.min(b), a.max(b), face)))
        .collect();
    edges.sort_unstable();
    let twice_area = |face: u32| {
        let [a, b, c] = triangles[face as usize].map(|corner| corners[corner as usize]);
        (b - a).cross(c - a)
    };
    let mut chords = vec![0.0f32; triangles.len()];
    for faces in edges.chunk_by(|one, other| (one.0, one.1) == (other.0, other.1)) {
        let &[(from, to, one), (_, _, other)] = faces else { continue };
        let (a, b) = (twice_area(one), twice_area(other));
        let fold = angle::atan2(a.cross(b).length(), a.dot(b));
        if fold < SMOOTH {
            let length = corners[from as usize].distance(corners[to as usize]);
            let width = a.length().min(b.length()) / length;
            let chord = (width * fold / 8.0) as f32;
            for face in [one, other] {
                let known = &mut chords[face as usize];
                *known = known.max(chord);
            }
        }
    }
    chords
}
