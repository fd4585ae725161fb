//! Whether two triangles of a mesh pass through each other.

use std::cmp::Ordering;

use glam::DVec3;
use robust::{Coord, Coord3D, orient2d, orient3d};

use crate::mesh::Mesh;

/// A triangle as it is looked at.
#[derive(Clone, Copy)]
pub(super) struct Facet {
    vertices: [u32; 3],
    corners: [DVec3; 3],
    /// Twice its area, the way it looks.
    normal: DVec3,
}

impl Facet {
    pub(super) fn of(mesh: &Mesh, triangle: u32) -> Facet {
        let corners = mesh.corners(triangle as usize).map(DVec3::from_array);
        Facet::new(mesh.triangles[triangle as usize], corners)
    }

    fn new(vertices: [u32; 3], corners: [DVec3; 3]) -> Facet {
        let [a, b, c] = corners;
        Facet { vertices, corners, normal: (b - a).cross(c - a) }
    }

    /// Which of its vertices another does not have.
    fn own_beside(&self, other: &Facet) -> [bool; 3] {
        self.vertices.map(|vertex| !other.vertices.contains(&vertex))
    }

    /// The sides of its plane that the corners of another lie on, those of which are not shared that are marked.
    fn sides(&self, other: &Facet, is_own: [bool; 3]) -> [Ordering; 3] {
        let [p, q, r] = self.corners;
        let of = |k: usize| if is_own[k] { side(p, q, r, other.corners[k]) } else { Ordering::Equal };
        [of(0), of(1), of(2)]
    }
}

/// Whether two triangles have more in common than the corners that they share. Where they merely touch they do not.
pub(super) fn pass_through(a: &Facet, b: &Facet) -> bool {
    let (own_a, own_b) = (a.own_beside(b), b.own_beside(a));
    let is_edge_shared = own_b.iter().filter(|is_own| **is_own).count() == 1;
    // On both sides of an edge, in one sense: unless they look in opposite directions they cannot lie upon each other.
    let is_unfolded = || a.normal.dot(b.normal) > 0.0;
    if is_edge_shared && is_unfolded() || is_apart(a, b, own_b) || is_apart(b, a, own_a) {
        return false;
    }
    let over_a = a.sides(b, own_b);
    if over_a == [Ordering::Equal; 3] {
        return lie_upon_each_other(a.corners, b.corners);
    }
    if !is_mixed(over_a) {
        return false;
    }
    let over_b = b.sides(a, own_a);
    is_mixed(over_b) && (is_pierced(a.corners, b.corners, over_a) || is_pierced(b.corners, a.corners, over_b))
}

/// A distance far above the rounding of coordinates, mm.
const CLEAR: f64 = 1e-9;

/// Whether the corners of another triangle, but for those that are shared, lie well on one side of a triangle's plane or
/// well outside the upright plane on one of its edges: then they have no more in common than that edge. Saves most pairs
/// the exact tests.
fn is_apart(one: &Facet, other: &Facet, is_own: [bool; 3]) -> bool {
    let (Facet { corners: [a, b, c], normal, .. }, other) = (*one, other.corners);
    let beyond = |through: DVec3, way: DVec3| {
        let least = CLEAR * CLEAR * way.length_squared();
        let is_clear = |height: f64| height > 0.0 && height * height > least;
        other.iter().zip(is_own).all(|(corner, is_own)| !is_own || is_clear(way.dot(*corner - through)))
    };
    let outside = |from: DVec3, to: DVec3, third: usize| {
        // A corner that is shared and does not lie on the edge lies inside.
        let opposite = [c, a, b][third];
        !other.iter().zip(is_own).any(|(corner, is_own)| !is_own && *corner == opposite)
            && beyond(from, (to - from).cross(normal))
    };
    beyond(a, normal) || beyond(a, -normal) || outside(a, b, 0) || outside(b, c, 1) || outside(c, a, 2)
}

/// On which side of the plane through three points another lies.
fn side(a: DVec3, b: DVec3, c: DVec3, point: DVec3) -> Ordering {
    // Much lies in the end faces, and finding an exact nothing is the dearest.
    if a.x == b.x && b.x == c.x && c.x == point.x {
        return Ordering::Equal;
    }
    let [a, b, c, d] = [a, b, c, point].map(|p| Coord3D { x: p.x, y: p.y, z: p.z });
    orient3d(a, b, c, d).partial_cmp(&0.0).unwrap_or(Ordering::Equal)
}

fn is_mixed(sides: [Ordering; 3]) -> bool {
    sides.contains(&Ordering::Less) && sides.contains(&Ordering::Greater)
}

/// Whether an edge of the triangle `by` whose ends lie on different sides of another goes through it.
fn is_pierced([a, b, c]: [DVec3; 3], by: [DVec3; 3], sides: [Ordering; 3]) -> bool {
    [(0, 1), (1, 2), (2, 0)].into_iter().any(|(from, to)| {
        let is_across = sides[from] != Ordering::Equal && sides[to] == sides[from].reverse();
        let (p, q) = (by[from], by[to]);
        let round = || [(a, b), (b, c), (c, a)].map(|(u, v)| side(p, q, u, v));
        is_across && !is_mixed(round())
    })
}

/// Whether two triangles in one plane have an inner part in common. If not, a side of one of them parts them.
fn lie_upon_each_other(a: [DVec3; 3], b: [DVec3; 3]) -> bool {
    let normal = (a[1] - a[0]).cross(a[2] - a[0]).abs();
    let flat = |p: DVec3| {
        let [x, y] = if normal.x >= normal.y.max(normal.z) {
            [p.y, p.z]
        } else if normal.y >= normal.z {
            [p.x, p.z]
        } else {
            [p.x, p.y]
        };
        Coord { x, y }
    };
    let [a, b] = [a, b].map(|corners| corners.map(flat));
    let left = |p, q, r| orient2d(p, q, r).partial_cmp(&0.0).unwrap_or(Ordering::Equal);
    let parts = |[p, q, r]: [Coord<f64>; 3], others: [Coord<f64>; 3]| {
        let inside = left(p, q, r);
        let is_out = |from, to| others.iter().all(|other| left(from, to, *other) != inside);
        inside == Ordering::Equal || is_out(p, q) || is_out(q, r) || is_out(r, p)
    };
    !parts(a, b) && !parts(b, a)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn found(points: &[[f64; 3]], one: [u32; 3], other: [u32; 3]) -> bool {
        let facet = |of: [u32; 3]| Facet::new(of, of.map(|vertex| DVec3::from_array(points[vertex as usize])));
        let all = [(one, other), (other, one)].map(|(one, other)| pass_through(&facet(one), &facet(other)));
        assert_eq!(all[0], all[1]);
        all[0]
    }

    const FLOOR: [[f64; 3]; 3] = [[0.0, 0.0, 0.0], [4.0, 0.0, 0.0], [0.0, 4.0, 0.0]];

    /// The floor and another triangle, none of whose corners it shares.
    fn beside(other: [[f64; 3]; 3]) -> bool {
        found(&[FLOOR, other].concat(), [0, 1, 2], [3, 4, 5])
    }

    #[test]
    fn triangles_apart_or_touching_do_not_pass_through_each_other() {
        assert!(!beside([[0.0, 0.0, 1.0], [4.0, 0.0, 1.0], [0.0, 4.0, 1.0]]));
        assert!(!beside([[1.0, 1.0, 0.0], [1.0, 1.0, 1.0], [2.0, 1.0, 1.0]]));
        assert!(!beside([[3.0, 3.0, -1.0], [3.0, 3.0, 1.0], [5.0, 3.0, 1.0]]));
        assert!(!beside([[4.0, 0.0, 0.0], [0.0, 4.0, 0.0], [4.0, 4.0, 0.0]]));
    }

    #[test]
    fn what_comes_through_the_other_side_passes_through() {
        assert!(beside([[1.0, 1.0, -1.0], [1.0, 1.0, 1.0], [5.0, 5.0, 1.0]]));
        assert!(beside([[1.0, 1.0, -1e-12], [1.0, 1.0, 1e-12], [1.1, 1.0, 1.0]]));
        assert!(beside([[1.0, 1.0, 0.0], [5.0, 1.0, 0.0], [1.0, 5.0, 0.0]]));
        assert!(beside(FLOOR));
    }

    #[test]
    fn neighbours_meet_in_what_they_share() {
        let with = |more: &[[f64; 3]]| [&FLOOR, more].concat();
        // Folded along an edge: upright, over, and flat upon.
        assert!(!found(&with(&[[1.0, 1.0, 1.0]]), [0, 1, 2], [1, 0, 3]));
        assert!(!found(&with(&[[1.0, -1.0, 0.0]]), [0, 1, 2], [1, 0, 3]));
        assert!(found(&with(&[[1.0, 1.0, 0.0]]), [0, 1, 2], [1, 0, 3]));
        // About a corner: away, and back through the inside.
        assert!(!found(&with(&[[-1.0, -1.0, -1.0], [-1.0, -1.0, 1.0]]), [0, 1, 2], [0, 3, 4]));
        assert!(found(&with(&[[1.0, 1.0, -1.0], [1.0, 1.0, 1.0]]), [0, 1, 2], [0, 3, 4]));
        assert!(!found(&with(&[[5.0, -1.0, -1.0], [5.0, -1.0, 1.0]]), [0, 1, 2], [0, 3, 4]));
    }
}
