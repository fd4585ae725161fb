//! From a mesh to the vertices that are drawn.

use bytemuck::{Pod, Zeroable};
use dryturn_surface::{Kind, Mesh};
use glam::{DVec3, Vec3};
use rayon::prelude::*;
use smallvec::{SmallVec, smallvec};

/// A corner of triangles that share its normal and colour.
#[derive(Clone, Copy, Debug, PartialEq, Pod, Zeroable)]
#[repr(C)]
pub(crate) struct Vertex {
    /// mm, in the piece frame.
    pub(crate) position: [f32; 3],
    /// Outward, of length 32 767; the fourth tells where it lies.
    pub(crate) normal: [i16; 4],
    /// sRGB, and 255 where it takes the place of the finish's own.
    pub(crate) color: [u8; 4],
}

/// Where a vertex lies, as its fourth number tells.
const SMOOTH: i16 = 0;
const EDGE: i16 = 1;
const CORNER: i16 = 2;
/// How many times smaller cells of edges are where vertices become one.
const OF_EDGES: f32 = 4.0;

/// Vertices, and triangles by them.
#[derive(Debug, Default)]
pub(crate) struct Vertices {
    pub(crate) vertices: Vec<Vertex>,
    pub(crate) indices: Vec<u32>,
}

/// Two triangles that meet by more than this at an edge between sharp vertices do not share their normal: cos 12°.
const CREASE: f64 = 0.978;
/// Triangles lower than this share of their longest side are needles, and how much of their angle counts.
const NEEDLE: f64 = 5e-3;
const HARDLY: f64 = 1e-3;

impl Vertices {
    /// The vertices of a mesh, those on edges and of several colours once for each side. `None` if there are more than
    /// can be numbered. The bits do not depend on the number of threads.
    pub(crate) fn new(mesh: &Mesh, colors: Option<&[[u8; 3]]>) -> Option<Vertices> {
        let around = Around::new(mesh);
        let normals: Vec<DVec3> = (0..mesh.triangles.len()).into_par_iter().map(|it| normal(mesh, it)).collect();
        let fan = Fan { mesh, colors, normals: &normals, around: &around };
        let parts: Vec<Part> = (0..mesh.vertices.len().div_ceil(PART)).into_par_iter().map(|it| fan.part(it)).collect();
        let mut indices = vec![0; 3 * mesh.triangles.len()];
        let mut vertices = Vec::with_capacity(mesh.vertices.len());
        let mut corners = around.corners.iter();
        for part in parts {
            let first = u32::try_from(vertices.len() + part.vertices.len()).ok()? - part.vertices.len() as u32;
            for (number, corner) in part.numbers.iter().zip(&mut corners) {
                indices[*corner as usize] = first + number;
            }
            vertices.extend(part.vertices);
        }
        Some(Vertices { vertices, indices })
    }
}

impl Vertices {
    /// The triangles that are left when vertices of a cell, and of about the same direction, become one: enough to throw a
    /// shadow. Those on edges have cells of their own, so much smaller that a shadow does not show it; corners stay where
    /// they are, and so does what lies on edges beside them, which would be cut off else. `cell` is in mm.
    pub(crate) fn coarse(&self, cell: f32) -> Vec<u32> {
        let key = |(number, vertex): (usize, &Vertex)| {
            let is_sharp = vertex.normal[3] != SMOOTH;
            let cell = if is_sharp { cell / OF_EDGES } else { cell };
            let place = vertex.position.map(|it| u64::from((it / cell).floor() as i32 as u16));
            let [x, y, z] = [place[0] << 41, place[1] << 25, place[2] << 9];
            let [a, b, c] = [0, 1, 2].map(|k| ((f32::from(vertex.normal[k]) / 16384.0).round() + 2.0) as u64);
            (u64::from(is_sharp) << 57 | x | y | z | a << 6 | b << 3 | c, number as u32)
        };
        let mut keys: Vec<(u64, u32)> = self.vertices.par_iter().enumerate().map(key).collect();
        keys.par_sort_unstable();
        let mut stands_for: Vec<u32> = (0..self.vertices.len() as u32).collect();
        for cell in keys.chunk_by(|a, b| a.0 == b.0) {
            let has_corner = cell.iter().any(|it| self.vertices[it.1 as usize].normal[3] == CORNER);
            if !has_corner {
                cell.iter().for_each(|it| stands_for[it.1 as usize] = cell[0].1);
            }
        }
        let of = |it: &[u32]| [it[0], it[1], it[2]];
        let moved = self.indices.par_chunks_exact(3).map(|it| (of(it).map(|it| stands_for[it as usize]), of(it)));
        moved.filter(|(to, from)| self.throws_shadow(*to, *from)).flat_map_iter(|(to, _)| to).collect()
    }

    /// Whether a triangle is left once other vertices stand for its own. One that is turned over would stand in the light
    /// of its own place, which others cover twice without it.
    fn throws_shadow(&self, to: [u32; 3], from: [u32; 3]) -> bool {
        let normal = |corners: [u32; 3]| {
            let [a, b, c] = corners.map(|it| Vec3::from(self.vertices[it as usize].position));
            (b - a).cross(c - a)
        };
        let [a, b, c] = to;
        a != b && b != c && c != a && (to == from || normal(to).dot(normal(from)) > 0.0)
    }
}

/// Vertices of a mesh whose sides are made in one go.
const PART: usize = 4096;

/// What some vertices of a mesh become.
#[derive(Default)]
struct Part {
    vertices: Vec<Vertex>,
    /// For each corner around each of them in turn, the vertex that it takes.
    numbers: Vec<u32>,
}

/// The corners of triangles around each vertex, numbered three a triangle.
struct Around {
    first: Vec<u32>,
    corners: Vec<u32>,
}

impl Around {
    fn new(mesh: &Mesh) -> Around {
        let mut first = vec![0_u32; mesh.vertices.len() + 1];
        for vertex in mesh.triangles.iter().flatten() {
            first[*vertex as usize + 1] += 1;
        }
        for vertex in 1..first.len() {
            first[vertex] += first[vertex - 1];
        }
        let mut next = first.clone();
        let mut corners = vec![0; 3 * mesh.triangles.len()];
        for (corner, vertex) in mesh.triangles.iter().flatten().enumerate() {
            let next = &mut next[*vertex as usize];
            corners[*next as usize] = corner as u32;
            *next += 1;
        }
        Around { first, corners }
    }

    fn of(&self, vertex: usize) -> &[u32] {
        &self.corners[self.first[vertex] as usize..self.first[vertex + 1] as usize]
    }
}

/// Makes sides of the triangles around a vertex.
struct Fan<'a> {
    mesh: &'a Mesh,
    colors: Option<&'a [[u8; 3]]>,
    /// Unit normals of the triangles; zero for those without an area.
    normals: &'a [DVec3],
    around: &'a Around,
}

impl Fan<'_> {
    /// What a part of the vertices of the mesh become.
    fn part(&self, number: usize) -> Part {
        let mut part = Part::default();
        for vertex in number * PART..self.mesh.vertices.len().min((number + 1) * PART) {
            self.sides(vertex, self.around.of(vertex), &mut part);
        }
        part
    }

    /// Adds the vertices that a vertex of the mesh becomes, and for each of its corners which of them it takes.
    fn sides(&self, vertex: usize, corners: &[u32], part: &mut Part) {
        let mut side_of: SmallVec<[u8; 16]> = smallvec![0; corners.len()];
        if self.mesh.kinds[vertex] != Kind::Smooth || self.colors.is_some() {
            for (place, side) in side_of.iter_mut().enumerate() {
                *side = place.min(usize::from(u8::MAX)) as u8;
            }
            self.join(vertex, corners, &mut side_of);
        }
        let count = side_of.iter().max().map_or(0, |most| usize::from(*most) + 1);
        let side =
            |side: usize| self.vertex(vertex, corners.iter().zip(&side_of).filter(|it| usize::from(*it.1) == side));
        let first = part.vertices.len() as u32;
        part.vertices.extend((0..count).map(side));
        part.numbers.extend(side_of.iter().map(|side| first + u32::from(*side)));
    }

    /// Gives corners that belong together the same number; the numbers have no gaps.
    fn join(&self, vertex: usize, corners: &[u32], side_of: &mut [u8]) {
        for a in 0..corners.len() {
            for b in 0..a {
                let (from, to) = (side_of[a].max(side_of[b]), side_of[a].min(side_of[b]));
                if from != to && self.is_one_side(vertex, corners[a] / 3, corners[b] / 3) {
                    side_of.iter_mut().filter(|side| **side == from).for_each(|side| *side = to);
                }
            }
        }
        let mut names: Vec<u8> = side_of.to_vec();
        names.sort_unstable();
        names.dedup();
        for side in side_of {
            *side = names.partition_point(|name| name < side) as u8;
        }
    }

    /// Whether two triangles around a vertex share an edge there across which the surface goes on.
    fn is_one_side(&self, vertex: usize, a: u32, b: u32) -> bool {
        let (a, b) = (a as usize, b as usize);
        let is_one_color = self.colors.is_none_or(|colors| colors.get(a) == colors.get(b));
        let shared = |it: &&u32| **it as usize != vertex && self.mesh.triangles[b].contains(it);
        let Some(other) = self.mesh.triangles[a].iter().find(shared) else { return false };
        let is_smooth = [vertex, *other as usize].iter().any(|it| self.mesh.kinds[*it] == Kind::Smooth);
        let has_no_area = self.normals[a] == DVec3::ZERO || self.normals[b] == DVec3::ZERO;
        is_one_color && (is_smooth || has_no_area || self.normals[a].dot(self.normals[b]) > CREASE)
    }

    /// A vertex as seen by some of the corners around it.
    fn vertex<'a>(&self, vertex: usize, corners: impl Iterator<Item = (&'a u32, &'a u8)>) -> Vertex {
        let mut sum = DVec3::ZERO;
        let mut color = [0; 4];
        for (corner, _) in corners {
            let triangle = *corner as usize / 3;
            sum += self.normals[triangle] * self.say(triangle, *corner as usize % 3);
            if let Some([red, green, blue]) = self.colors.and_then(|colors| colors.get(triangle)) {
                color = [*red, *green, *blue, 255];
            }
        }
        let [x, y, z] = sum.try_normalize().unwrap_or(DVec3::X).to_array().map(|it| (it * 32767.0).round() as i16);
        let kind = match self.mesh.kinds[vertex] {
            Kind::Smooth => SMOOTH,
            Kind::Edge => EDGE,
            Kind::Corner => CORNER,
        };
        Vertex { position: self.mesh.vertices[vertex].map(|it| it as f32), normal: [x, y, z, kind], color }
    }

    /// How much a triangle has to say about the normal at its corner: its angle there, radians. Which way a needle looks is
    /// chance, and its angle may be half a turn.
    fn say(&self, triangle: usize, corner: usize) -> f64 {
        let corners = self.mesh.triangles[triangle].map(|it| DVec3::from_array(self.mesh.vertices[it as usize]));
        let (at, next, last) = (corners[corner], corners[(corner + 1) % 3], corners[(corner + 2) % 3]);
        let (one, other) = (next - at, last - at);
        let longest = one.length_squared().max(other.length_squared()).max((next - last).length_squared());
        let is_needle = one.cross(other).length() < NEEDLE * longest;
        one.angle_between(other) * if is_needle { HARDLY } else { 1.0 }
    }
}

fn normal(mesh: &Mesh, triangle: usize) -> DVec3 {
    let [a, b, c] = mesh.triangles[triangle].map(|it| DVec3::from_array(mesh.vertices[it as usize]));
    (b - a).cross(c - a).normalize_or_zero()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A cube whose corners are known to be corners.
    fn cube() -> Mesh {
        let vertices = (0..8).map(|k| [k & 1, k >> 1 & 1, k >> 2].map(f64::from)).collect();
        let faces = [[0, 2, 3, 1], [4, 5, 7, 6], [0, 1, 5, 4], [2, 6, 7, 3], [0, 4, 6, 2], [1, 3, 7, 5]];
        let triangles = faces.iter().flat_map(|[a, b, c, d]| [[*a, *b, *c], [*a, *c, *d]]).collect();
        Mesh { vertices, kinds: vec![Kind::Corner; 8], triangles, owners: vec![0; 12] }
    }

    #[test]
    fn a_corner_has_a_normal_for_each_face() {
        let made = Vertices::new(&cube(), None).unwrap();
        assert_eq!(made.vertices.len(), 24);
        for (triangle, corners) in made.indices.chunks(3).enumerate() {
            let expected = normal(&cube(), triangle).to_array().map(|it| (it * 32767.0) as i16);
            for corner in corners {
                assert_eq!(made.vertices[*corner as usize].normal, [expected[0], expected[1], expected[2], CORNER]);
            }
        }
    }

    #[test]
    fn a_smooth_vertex_has_one() {
        let mesh = Mesh { kinds: vec![Kind::Smooth; 8], ..cube() };
        let made = Vertices::new(&mesh, None).unwrap();
        assert_eq!(made.vertices.len(), 8);
        let third = (32767.0 / 3.0_f64.sqrt()).round() as i16;
        assert_eq!(made.vertices[0].normal, [-third, -third, -third, 0]);
    }

    #[test]
    fn what_throws_shadows_has_fewer_triangles_and_the_same_edges() {
        let mut mesh = Mesh::default();
        let side = 40;
        for k in 0..(side + 1) * (side + 1) {
            let (x, y) = (k % (side + 1), k / (side + 1));
            mesh.vertices.push([f64::from(x), f64::from(y), 0.0]);
            let rims = [x, y].into_iter().filter(|at| [0, side].contains(at)).count();
            mesh.kinds.push([Kind::Smooth, Kind::Edge, Kind::Corner][rims]);
        }
        for k in (0..(side + 1) * side).filter(|k| k % (side + 1) < side).map(|k| k as u32) {
            let above = k + side as u32 + 1;
            mesh.triangles.extend([[k, k + 1, above], [above, k + 1, above + 1]]);
        }
        let made = Vertices::new(&mesh, None).unwrap();
        let coarse = made.coarse(10.0);
        assert!(coarse.len() < made.indices.len() / 8, "{} of {}", coarse.len(), made.indices.len());
        let corner = |it: u32| made.vertices[it as usize].position;
        let area: f32 = coarse
            .chunks(3)
            .map(|it| [corner(it[0]), corner(it[1]), corner(it[2])])
            .map(|[a, b, c]| 0.5 * ((b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])))
            .sum();
        assert!((area - 1600.0).abs() < 0.1, "{area}");
    }

    #[test]
    fn what_is_turned_over_throws_no_shadow() {
        // In a cell of 1 mm the first corner stands for the second, which lies beyond the line between the others.
        let places = [[0.1, 0.1], [0.9, 0.9], [1.1, 0.2], [0.2, 1.1]];
        let vertex = |[x, y]: [f32; 2]| Vertex { position: [x, y, 0.0], normal: [0, 0, 32767, SMOOTH], color: [0; 4] };
        let made = Vertices { vertices: places.map(vertex).to_vec(), indices: vec![2, 1, 3, 0, 2, 3] };
        assert_eq!(made.coarse(1.0), [0, 2, 3]);
    }

    #[test]
    fn needles_do_not_tell_where_a_vertex_looks() {
        // A floor with a vertex on the side of two of its triangles, a hair beyond it: the needle between looks down.
        let low = [[0.0, -1.0], [1.0, -1.0], [1.0, 0.0], [0.0, 0.0], [0.5, -1e-5], [1.0, 1.0], [0.0, 1.0]];
        let triangles = vec![[0, 1, 2], [0, 2, 3], [3, 2, 4], [3, 4, 6], [4, 2, 5]];
        let vertices = low.map(|[x, y]| [x, y, 0.0]).to_vec();
        for kind in [Kind::Smooth, Kind::Edge] {
            let mut mesh = Mesh { vertices: vertices.clone(), triangles: triangles.clone(), ..Mesh::default() };
            mesh.kinds = vec![Kind::Smooth; 7];
            mesh.kinds[4] = kind;
            let made = Vertices::new(&mesh, None).unwrap();
            assert!(made.vertices.iter().all(|vertex| vertex.normal[2] > 32_700), "{:?}", made.vertices);
        }
    }

    #[test]
    fn colours_part_even_smooth_vertices() {
        let mesh = Mesh { kinds: vec![Kind::Smooth; 8], ..cube() };
        let mut colors = vec![[10, 20, 30]; 12];
        colors[0] = [200, 0, 0];
        let made = Vertices::new(&mesh, Some(&colors)).unwrap();
        assert_eq!(made.vertices.len(), 11);
        assert!(made.indices[..3].iter().all(|it| made.vertices[*it as usize].color == [200, 0, 0, 255]));
        assert!(made.indices[3..].iter().all(|it| made.vertices[*it as usize].color == [10, 20, 30, 255]));
    }
}
