//! Plain bodies as meshes: what is turned, and blocks.

use std::f64::consts::{PI, TAU};

use dryturn_carve::UNTOUCHED;
use dryturn_geom::angle;
use glam::DVec3;

use crate::mesh::{Kind, Mesh};
use crate::place::outward;

/// Least distance of the chords of a circle from it that is heeded, mm.
const FINEST: f64 = 1e-4;
/// Fewest and most sides of a circle.
const SIDES: [f64; 2] = [24.0, 7200.0];

impl Mesh {
    /// What a closed outline encloses when it turns about the rotary axis: rows of (station, radius), mm, the stations
    /// never falling, straight lines between; the axis closes it. Chords lie within `within` mm of its circles. Where the
    /// outline touches the axis on its way, the body falls into parts; where it encloses nothing, nothing is there.
    pub fn turned(outline: &[[f64; 2]], within: f64) -> Mesh {
        let greatest = outline.iter().map(|row| row[1]).fold(0.0, f64::max);
        let sides = sides(greatest, within);
        let mut mesh = Mesh::default();
        for part in parts(outline) {
            mesh.add_turned(&part, sides);
        }
        mesh
    }

    /// A block from a corner and the three edges that run out from it, mm, which form a right-handed frame.
    pub fn block(corner: [f64; 3], edges: [[f64; 3]; 3]) -> Mesh {
        let corner = DVec3::from_array(corner);
        let [a, b, c] = edges.map(DVec3::from_array);
        let at = |number: u32| {
            let part = |bit: u32, edge: DVec3| if number & bit != 0 { edge } else { DVec3::ZERO };
            corner + part(1, a) + part(2, b) + part(4, c)
        };
        let mut mesh = Mesh::default();
        mesh.add_sharp((0..8).map(at));
        for [a, b, c, d] in [[0, 2, 3, 1], [4, 5, 7, 6], [0, 1, 5, 4], [2, 6, 7, 3], [0, 4, 6, 2], [1, 3, 7, 5]] {
            mesh.add_own([a, b, c]);
            mesh.add_own([a, c, d]);
        }
        mesh
    }

    /// A mesh of somebody else's: its corners, mm, and its triangles.
    pub fn of_triangles(vertices: Vec<[f64; 3]>, triangles: Vec<[u32; 3]>) -> Mesh {
        Mesh { kinds: vec![Kind::Edge; vertices.len()], owners: vec![UNTOUCHED; triangles.len()], vertices, triangles }
    }

    /// The mesh at another place.
    pub fn moved(mut self, by: [f64; 3]) -> Mesh {
        for vertex in &mut self.vertices {
            *vertex = std::array::from_fn(|k| vertex[k] + by[k]);
        }
        self
    }

    /// The mesh of a mirror across the upright plane through the axis; its triangles still face outward. The blank frame
    /// becomes the piece frame so where the chuck stands on the far side.
    pub fn mirrored(mut self) -> Mesh {
        self.vertices.iter_mut().for_each(|vertex| vertex[1] = -vertex[1]);
        self.triangles.iter_mut().for_each(|triangle| triangle.reverse());
        self
    }

    /// Takes in another mesh; the two share no vertex.
    pub fn add(&mut self, other: Mesh) {
        let before = self.vertices.len() as u32;
        self.vertices.extend(other.vertices);
        self.kinds.extend(other.kinds);
        self.triangles.extend(other.triangles.iter().map(|triangle| triangle.map(|vertex| vertex + before)));
        self.owners.extend(other.owners);
    }

    /// One part of an outline, which begins and ends on the axis and does not touch it in between.
    fn add_turned(&mut self, part: &[[f64; 2]], sides: u32) {
        let around: Vec<DVec3> = (0..sides).map(|k| outward(TAU * f64::from(k) / f64::from(sides))).collect();
        let [first, last] = [part[0], part[part.len() - 1]].map(|[station, _]| DVec3::X * station);
        let start = self.vertices.len() as u32;
        self.add_sharp([first, last].into_iter());
        let rings = &part[1..part.len() - 1];
        for [station, radius] in rings {
            self.add_sharp(around.iter().map(|ray| DVec3::X * *station + ray * *radius));
        }
        let at = |ring: usize, k: u32| start + 2 + ring as u32 * sides + k % sides;
        let last_ring = rings.len() - 1;
        for k in 0..sides {
            self.add_own([start, at(0, k + 1), at(0, k)]);
            for ring in 0..last_ring {
                self.add_own([at(ring, k), at(ring, k + 1), at(ring + 1, k + 1)]);
                self.add_own([at(ring, k), at(ring + 1, k + 1), at(ring + 1, k)]);
            }
            self.add_own([start + 1, at(last_ring, k), at(last_ring, k + 1)]);
        }
    }

    fn add_sharp(&mut self, points: impl Iterator<Item = DVec3>) {
        self.vertices.extend(points.map(|point| point.to_array()));
        self.kinds.resize(self.vertices.len(), Kind::Edge);
    }

    fn add_own(&mut self, triangle: [u32; 3]) {
        self.triangles.push(triangle);
        self.owners.push(UNTOUCHED);
    }
}

/// Into how many sides a circle is cut so that they lie within a distance of it: a chord's sagitta is r (1 − cos π/n).
fn sides(radius: f64, within: f64) -> u32 {
    let share = within.max(FINEST) / radius.max(FINEST);
    let sides = if share < 1.0 { PI / angle::acos(1.0 - share) } else { 0.0 };
    (4.0 * (sides / 4.0).ceil()).clamp(SIDES[0], SIDES[1]) as u32
}

/// The parts of an outline between its places on the axis, each with one such place at either end.
fn parts(outline: &[[f64; 2]]) -> Vec<Vec<[f64; 2]>> {
    let ends = [outline.first(), outline.last()].map(|row| row.map(|[station, _]| [*station, 0.0]));
    let closed = ends[0].iter().chain(outline).chain(&ends[1]);
    let mut parts: Vec<Vec<[f64; 2]>> = Vec::new();
    let mut part: Vec<[f64; 2]> = Vec::new();
    for row in closed {
        if part.last() == Some(row) {
            continue;
        }
        part.push(*row);
        if row[1] <= 0.0 {
            let done = std::mem::replace(&mut part, vec![*row]);
            parts.extend(Some(done).filter(|part| encloses(part)));
        }
    }
    parts
}

/// Whether anything lies between a part of an outline and the axis.
fn encloses(part: &[[f64; 2]]) -> bool {
    part.len() > 2 && part[0][0] < part[part.len() - 1][0]
}
