//! The faces of a row: a polygon around every place where the surface passes a line of the lattice, in triangles.

use glam::DVec3;
use smallvec::SmallVec;

use crate::blocks::Blocks;
use crate::cells::{Cells, Vertex};
use crate::column::{Side, Toward};
use crate::complex::Complex;
use crate::rays::{is_outer, is_solid};
use crate::skin::Sample;
use crate::strip::Knot;
use crate::twins::{EdgeOf, Pass};
use crate::wood::Wood;

/// Faces whose triangles would both stand at less than this product to the true normal get a vertex in their middle.
const ASKEW: f64 = 0.3;
/// Products closer than this are the same.
const SAME: f64 = 1e-6;
/// Lower triangles may look anywhere, mm: they lie within what the carve may be off.
const LOW: f64 = 2e-4;

/// The vertices of all columns, and those in the middle of twin edges.
pub(crate) struct Corners<'a> {
    pub(crate) blocks: &'a Blocks,
    pub(crate) cells: &'a [Cells],
    /// Number of the first vertex of each row of columns.
    pub(crate) first: &'a [u32],
    pub(crate) vertices: &'a [Vertex],
    /// The edges that have a vertex in their middle, in order, with its number.
    pub(crate) twins: &'a [(EdgeOf, u32)],
}

impl Corners<'_> {
    fn twin(&self, edge: EdgeOf) -> Option<u32> {
        let at = self.twins.binary_search_by(|(other, _)| other.cmp(&edge)).ok()?;
        Some(self.twins[at].1)
    }

    fn point(&self, corner: u32) -> DVec3 {
        self.vertices[corner as usize].point
    }
}

/// Triangles of a row.
#[derive(Default)]
pub(crate) struct Faces {
    pub(crate) triangles: Vec<[u32; 3]>,
    /// Who made each of them.
    pub(crate) owners: Vec<u32>,
    /// Vertices in the middle of faces; in the triangles they are numbered on from [`CENTER`].
    pub(crate) centers: Vec<DVec3>,
    /// Corners of triangles that look into the wood, of which some lie on the wrong side of others.
    pub(crate) turned: Vec<u32>,
    /// For each face the number of its first triangle, where that is asked for.
    pub(crate) passes: Vec<(usize, Pass)>,
}

/// Number of the first vertex of a row that stands in the middle of a face.
pub(crate) const CENTER: u32 = 1 << 31;

/// A face that is not yet cut into triangles.
struct Polygon {
    /// Its corners and the vertices in the middle of its edges, counterclockwise about the normal.
    outline: SmallVec<[u32; 8]>,
    has_twins: bool,
    pass: Pass,
    sample: Sample,
}

/// How a face is cut.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Cut {
    /// It is a triangle.
    Whole,
    /// From the corner 0 to 2, or from 1 to 3.
    Across(usize),
    /// From a vertex in its middle to all corners.
    Fan,
}

/// Makes the faces of one row: those at its rays and at the strips that begin there.
pub(crate) struct Maker<'a, W> {
    pub(crate) complex: &'a Complex<'a, W>,
    pub(crate) corners: &'a Corners<'a>,
    pub(crate) row: usize,
    /// Whether it tells which triangles belong to which face.
    pub(crate) tells_passes: bool,
}

impl<W: Wood> Maker<'_, W> {
    pub(crate) fn faces(&self) -> Faces {
        let mut faces = Faces::default();
        let rays = self.complex.rays;
        let is_inside = self.row > 0 && self.row + 1 < rays.rows();
        for column in 0..rays.angles {
            if is_inside {
                self.at_ends(column, &mut faces);
                self.at_around(column, &mut faces);
            }
            if self.row + 1 < rays.rows() {
                self.at_along(column, &mut faces);
            }
        }
        self.at_axis(&mut faces);
        faces
    }

    fn at_ends(&self, column: usize, faces: &mut Faces) {
        let (row, before) = (self.row, self.complex.rays.before(column));
        if self.is_within_a_block(column) {
            return;
        }
        let count = self.complex.rays.ends(row, column).len();
        let polygon = |number: usize| {
            let around = [(row, before, 2), (row - 1, before, 3), (row - 1, column, 1), (row, column, 0)];
            let corners = around.map(|(row, column, ray)| {
                self.corner(row, column, || self.complex.column(row, column).end(ray, number))
            });
            let sample = self.complex.skin.sample(row, column, number);
            self.polygon(Pass::End(row, column, number), &corners, sample, !is_outer(number, count))
        };
        // Where two blocks meet the edge between them is all that is left.
        let is_face = |polygon: &Polygon| polygon.outline.len() > 2;
        let polygons: SmallVec<[Polygon; 2]> = (0..count).map(polygon).filter(is_face).collect();
        let mut cuts: SmallVec<[Cut; 2]> = polygons.iter().map(|it| self.cut(it)).collect();
        let diagonals: SmallVec<[_; 2]> = polygons.iter().zip(&cuts).map(|(it, cut)| it.diagonal(*cut)).collect();
        for (cut, diagonal) in cuts.iter_mut().zip(&diagonals) {
            if diagonal.is_some() && diagonals.iter().filter(|other| *other == diagonal).count() > 1 {
                *cut = Cut::Fan;
            }
        }
        for (polygon, cut) in polygons.iter().zip(cuts) {
            self.push(polygon, cut, faces);
        }
    }

    /// Whether all columns around a ray of the row share one vertex.
    fn is_within_a_block(&self, column: usize) -> bool {
        let before = self.complex.rays.before(column);
        let around = [(self.row, column), (self.row, before), (self.row - 1, column), (self.row - 1, before)];
        let [one, others @ ..] = around.map(|(row, column)| self.corners.blocks.first(row, column));
        one.is_some() && others.iter().all(|other| *other == one)
    }

    fn at_along(&self, column: usize, faces: &mut Faces) {
        let (row, before) = (self.row, self.complex.rays.before(column));
        let near = self.complex.rays.ends(row, column);
        for (number, &level) in self.complex.along_levels(row, column).iter().enumerate() {
            let sides = [(row, before, Side::AlongSecond), (row, column, Side::AlongFirst)];
            let sample = self.complex.along_sample(row, column, number);
            let corners = self.at_level(sides, number);
            let polygon = self.polygon(Pass::Along(row, column, number), &corners, sample, !is_solid(near, level));
            self.push(&polygon, self.cut(&polygon), faces);
        }
    }

    fn at_around(&self, column: usize, faces: &mut Faces) {
        let row = self.row;
        let near = self.complex.rays.ends(row, column);
        for (number, &level) in self.complex.around_levels(row, column).iter().enumerate() {
            let sides = [(row, column, Side::AroundFirst), (row - 1, column, Side::AroundSecond)];
            let sample = self.complex.around_sample(row, column, number);
            let corners = self.at_level(sides, number);
            let polygon = self.polygon(Pass::Around(row, column, number), &corners, sample, !is_solid(near, level));
            self.push(&polygon, self.cut(&polygon), faces);
        }
    }

    /// The corners of the face at a level's crossing, by the columns on both sides of the strip. One that does not have
    /// the level gives the same corner twice.
    fn at_level(&self, [one, other]: [(usize, usize, Side); 2], number: usize) -> [u32; 4] {
        let corner = |(row, column, side): (usize, usize, Side), toward: Toward| {
            let node = || self.complex.column(row, column).node(side, Knot::Level(number as u32), toward);
            self.corner(row, column, node)
        };
        let (above, below) = (Toward::Above, Toward::Below);
        [corner(one, above), corner(other, above), corner(other, below), corner(one, below)]
    }

    fn at_axis(&self, faces: &mut Faces) {
        let Some(sample) = self.complex.axis_sample(self.row) else { return };
        let corner = |column: usize| self.corner(self.row, column, || self.complex.column(self.row, column).axis());
        let corners: Vec<u32> = (0..self.complex.rays.angles).map(corner).collect();
        let polygon = self.polygon(Pass::Axis(self.row), &corners, sample, !self.complex.rays.solid_axis[self.row]);
        self.push(&polygon, self.cut(&polygon), faces);
    }

    fn corner(&self, row: usize, column: usize, node: impl FnOnce() -> usize) -> u32 {
        let (row, column) = self.corners.blocks.first(row, column).unwrap_or((row, column));
        self.corners.first[row] + self.corners.cells[row].vertex(column, node) as u32
    }

    /// The face with these corners, counterclockwise about its line or, if turned, the other way.
    fn polygon(&self, pass: Pass, corners: &[u32], sample: Sample, is_turned: bool) -> Polygon {
        let mut outline = SmallVec::new();
        let mut has_twins = false;
        let mut last = corners[corners.len() - 1];
        for (edge, &corner) in corners.iter().enumerate() {
            if corner != last {
                outline.push(corner);
            }
            last = corner;
            if let Some(twin) = self.corners.twin((pass, edge)) {
                outline.push(twin);
                has_twins = true;
            }
        }
        if is_turned {
            outline.reverse();
        }
        Polygon { outline, has_twins, pass, sample }
    }

    fn cut(&self, polygon: &Polygon) -> Cut {
        let is_pair = |corner: &u32| self.corners.vertices[*corner as usize].is_pair;
        match polygon.outline[..] {
            _ if polygon.has_twins || polygon.outline.iter().any(is_pair) => Cut::Fan,
            [_, _, _] => Cut::Whole,
            [a, b, c, d] => self.diagonal([a, b, c, d], &polygon.sample),
            _ => Cut::Fan,
        }
    }

    /// The diagonal whose triangles agree better with the true normal, or else the shorter one.
    fn diagonal(&self, corners: [u32; 4], sample: &Sample) -> Cut {
        let points = corners.map(|corner| self.corners.point(corner));
        let facing = |[a, b, c]: [usize; 3]| {
            let normal = (points[b] - points[a]).cross(points[c] - points[a]);
            normal.normalize_or_zero().dot(sample.normal)
        };
        let agree =
            [0, 1].map(|from: usize| facing([from, from + 1, from + 2]).min(facing([from, from + 2, (from + 3) % 4])));
        let length = [0, 1].map(|from: usize| (points[from + 2] - points[from]).length());
        if agree[0].max(agree[1]) < ASKEW {
            return Cut::Fan;
        }
        if (agree[0] - agree[1]).abs() > SAME {
            return Cut::Across(usize::from(agree[1] > agree[0]));
        }
        Cut::Across(usize::from(length[1] < length[0] * (1.0 - SAME)))
    }

    fn push(&self, polygon: &Polygon, cut: Cut, faces: &mut Faces) {
        let outline = &polygon.outline;
        let before = faces.triangles.len();
        if self.tells_passes {
            faces.passes.push((before, polygon.pass));
        }
        match cut {
            Cut::Whole => faces.triangles.push([outline[0], outline[1], outline[2]]),
            Cut::Across(from) => {
                let at = |k: usize| outline[(from + k) % 4];
                faces.triangles.extend([[at(0), at(1), at(2)], [at(0), at(2), at(3)]]);
            }
            Cut::Fan => {
                let center = CENTER + faces.centers.len() as u32;
                faces.centers.push(polygon.sample.point);
                let next = |k: usize| outline[(k + 1) % outline.len()];
                faces.triangles.extend((0..outline.len()).map(|k| [center, outline[k], next(k)]));
            }
        }
        faces.owners.extend(std::iter::repeat_n(polygon.sample.by, faces.triangles.len() - before));
        let point = |corner: u32| if corner < CENTER { self.corners.point(corner) } else { polygon.sample.point };
        let looks_in = |corners: &&[u32; 3]| looks_in(corners.map(point), polygon.sample.normal);
        let corners = faces.triangles[before..].iter().filter(looks_in).flatten();
        faces.turned.extend(corners.filter(|corner| **corner < CENTER));
    }
}

/// Whether a triangle looks against the normal of the surface that it stands for.
fn looks_in([a, b, c]: [DVec3; 3], normal: DVec3) -> bool {
    let twice = (b - a).cross(c - a);
    let longest = || (b - a).length_squared().max((c - b).length_squared()).max((a - c).length_squared());
    twice.dot(normal) < 0.0 && twice.length_squared() > LOW * LOW * longest()
}

impl Polygon {
    /// The two corners that a cut goes across, the lower one first.
    fn diagonal(&self, cut: Cut) -> Option<(u32, u32)> {
        let Cut::Across(from) = cut else { return None };
        let (one, other) = (self.outline[from], self.outline[from + 2]);
        Some((one.min(other), one.max(other)))
    }
}
