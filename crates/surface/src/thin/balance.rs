//! Gives a thinned mesh the volume back that its flat triangles cut off.
//!
//! Triangles whose corners lie on a round surface lie under it, all of them on one side. Each knows how much volume
//! lies between it and the surface it stands for; by that over its area it is moved out, and every vertex goes to where
//! the planes of its triangles then meet. A chord's sagitta is shared so: a third of it stays under the surface, and
//! two thirds stand over it at the corners. Planes that met in an edge or in a corner still do.

use glam::DVec3;
use rayon::prelude::*;
use smallvec::SmallVec;

use super::part::Triangle;
use crate::mesh::Mesh;
use crate::quadric::{Plane, Spread};

/// Directions count in which the planes of a vertex differ by more than this share of the main one, as those of sharp
/// loops.
const APART: f64 = 0.02;
/// Shorter moves are not made, mm: a flat stays flat to the last bit.
const SHORT: f64 = 1e-8;
/// Least product of the normals of a triangle before and after.
const TURN: f64 = 0.99;

/// Moves the vertices of a thinned mesh, but those that are kept, by no more than `within` mm; `triangles` are its own.
pub(super) fn balance(mesh: &mut Mesh, triangles: &[Triangle], within: f64, is_kept: impl Fn(u32) -> bool) {
    let mut moves = moves(mesh, triangles, within);
    for (vertex, by) in (0..).zip(&mut moves) {
        if is_kept(vertex) {
            *by = DVec3::ZERO;
        }
    }
    let point = |vertex: u32| DVec3::from_array(mesh.vertices[vertex as usize]);
    let normal = |[a, b, c]: [DVec3; 3]| (b - a).cross(c - a).normalize_or_zero();
    let turns = |corners: &&[u32; 3]| {
        let [before, after] = [0.0, 1.0].map(|share| normal(corners.map(|it| point(it) + moves[it as usize] * share)));
        before.dot(after) < TURN && corners.iter().any(|it| moves[*it as usize] != DVec3::ZERO)
    };
    let turned: Vec<[u32; 3]> = mesh.triangles.par_iter().filter(turns).copied().collect();
    turned.iter().flatten().for_each(|vertex| moves[*vertex as usize] = DVec3::ZERO);
    for (vertex, by) in mesh.vertices.iter_mut().zip(moves) {
        if by != DVec3::ZERO {
            *vertex = (DVec3::from_array(*vertex) + by).to_array();
        }
    }
}

/// How far each vertex is to be moved.
fn moves(mesh: &Mesh, triangles: &[Triangle], within: f64) -> Vec<DVec3> {
    let mut around = vec![SmallVec::<[u32; 8]>::new(); mesh.vertices.len()];
    for (triangle, corners) in (0..).zip(&mesh.triangles) {
        corners.iter().for_each(|corner| around[*corner as usize].push(triangle));
    }
    let one = |around: SmallVec<[u32; 8]>| {
        let planes: SmallVec<[Plane; 8]> = around.iter().filter_map(|it| plane(mesh, *it, triangles)).collect();
        if planes.iter().all(|(point, _)| point.length_squared() < SHORT * SHORT) {
            return DVec3::ZERO;
        }
        let spread = Spread::of(&planes);
        let found = spread.solve(&planes, DVec3::ZERO, spread.rank(APART));
        if found.is_finite() { found.clamp_length_max(within) } else { DVec3::ZERO }
    };
    around.into_par_iter().map(one).collect()
}

/// The plane that a triangle is moved to, as seen from itself, its normal as long as the root of its area.
fn plane(mesh: &Mesh, triangle: u32, triangles: &[Triangle]) -> Option<Plane> {
    let [a, b, c] = mesh.corners(triangle as usize).map(DVec3::from_array);
    let twice = (b - a).cross(c - a);
    let area = 0.5 * twice.length();
    let normal = twice.try_normalize()?;
    Some((normal * (triangles[triangle as usize].lost / area), normal * area.sqrt()))
}
