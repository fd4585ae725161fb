//! Whether two triangles of a mesh pass through each other.

use std::cmp::Ordering;

use glam::DVec3;
use robust::{Coord, Coord3D, orient2d, orient3d};

/// Whether two triangles, given by their vertices, have more in common than the corners that they share. Where they
/// merely touch they do not.
pub(crate) fn pass_through(one: [u32; 3], other: [u32; 3], point: impl Fn(u32) -> DVec3) -> bool {
    let [a, b] = [one, other].map(|triangle| triangle.map(&point));
    let own = |of: [u32; 3], than: [u32; 3]| of.map(|vertex| !than.contains(&vertex));
    let (own_a, own_b) = (own(one, other), own(other, one));
    let is_edge_shared = own_b.iter().filter(|is_own| **is_own).count() == 1;
    if is_edge_shared && !is_folded(a, b) || is_apart(a, b, own_b) || is_apart(b, a, own_a) {
        return false;
    }
    // The side of the plane of one that the corners of the other lie on; those they share lie in it.
    let sides = |of: [u32; 3], [p, q, r]: [DVec3; 3], corners: [u32; 3]| {
        of.map(|vertex| if corners.contains(&vertex) { Ordering::Equal } else { side(p, q, r, point(vertex)) })
    };
    let over_a = sides(other, a, one);
    if over_a == [Ordering::Equal; 3] {
        return lie_upon_each_other(a, b);
    }
    if !is_mixed(over_a) {
        return false;
    }
    let over_b = sides(one, b, other);
    is_mixed(over_b) && (is_pierced(a, b, over_a) || is_pierced(b, a, over_b))
}

/// Whether two triangles on both sides of an edge, in one sense, look in opposite directions: otherwise they cannot lie
/// upon each other.
fn is_folded(one: [DVec3; 3], other: [DVec3; 3]) -> bool {
    let [one, other] = [one, other].map(|[a, b, c]| (b - a).cross(c - a));
    one.dot(other) <= 0.0
}

/// A distance far above the rounding of coordinates, mm.
const CLEAR: f64 = 1e-9;

/// Whether the corners of another triangle, but for those that are shared, lie well on one side of a triangle's plane or
/// well outside the upright plane on one of its edges: then they have no more in common than that edge. Saves most pairs
/// the exact tests.
fn is_apart([a, b, c]: [DVec3; 3], other: [DVec3; 3], is_own: [bool; 3]) -> bool {
    let normal = (b - a).cross(c - a);
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
        let point = |vertex: u32| DVec3::from_array(points[vertex as usize]);
        let all = [(one, other), (other, one)].map(|(one, other)| pass_through(one, other, point));
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
