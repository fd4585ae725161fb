//! A mesh: distances by a tree over its triangles, and what of a ray lies inside by counting its faces.
//!
//! A ray meets the plane of its station in half-open rules: a corner on the plane counts as beyond it, a point on the ray
//! as to its left. What two triangles share is worked out from the same numbers in the same order, so that a ray passes
//! between no two of them and through no edge twice. Faces left outward count one, faces entered take one off; inside is
//! where the count of faces farther out is above nought, so that bodies may overlap (the non-zero rule).
//!
//! The chord error is an estimate: where two triangles fold by less than [`SMOOTH`], a curve was meant, and a facet as wide
//! as the narrower of them, turning by that angle, has a sagitta of width · angle / 8. Sharper folds are edges.

use dryturn_geom::angle;
use dryturn_scene::Mesh;
use parry3d_f64::bounding_volume::Aabb;
use parry3d_f64::math::Vector;
use parry3d_f64::partitioning::{Bvh, BvhBuildStrategy, BvhNode, TraversalAction};

use super::surface::{Inside, Near, Point};

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

impl MeshSurface {
    pub(super) fn new(mesh: &Mesh) -> MeshSurface {
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

    pub(super) fn greatest_chord(&self) -> f64 {
        f64::from(self.chords.iter().copied().fold(0.0, f32::max))
    }

    pub(super) fn nearest(&self, [x, y, z]: Point, bound: f64) -> Near {
        let point = Vector::new(x, y, z);
        let limit = bound * (1.0 + 1e-9) + 1e-9;
        let to_box = |node: &BvhNode, _| point.clamp(node.mins(), node.maxs()).distance_squared(point);
        let to_face = |face: u32, _| Some(self.nearest_of(face, point).distance_squared(point));
        let found = self
            .tree
            .find_best(limit * limit, to_box, to_face)
            .or_else(|| self.tree.find_best(f64::INFINITY, to_box, to_face));
        // A target has triangles, all of them at finite places.
        let face = found.map_or(0, |(face, _)| face);
        let foot = self.nearest_of(face, point);
        Near {
            distance: foot.distance(point),
            point: [foot.x, foot.y, foot.z],
            chord: f64::from(self.chords[face as usize]),
        }
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

    pub(super) fn inside(&self, station: f64, direction: (f64, f64)) -> Inside {
        let mut crossings = Vec::new();
        let (out_y, out_z) = out(direction);
        self.tree.traverse(|node| {
            let (low, high) = (node.mins(), node.maxs());
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
                crossings.extend(cross(segment, direction));
            }
            TraversalAction::Continue
        });
        stretches(&mut crossings)
    }

    pub(super) fn row(&self, station: f64, directions: &[(f64, f64)]) -> Vec<Inside> {
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
