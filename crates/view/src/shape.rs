//! A field of rays as triangles for the eye: closed, lit softly, and quick to make.

mod relief;
#[cfg(test)]
mod tests;
mod tool;

use dryturn_geom::{Side, angle};
use dryturn_render::live::{Corner, Shape};
use dryturn_surface::Mesh;
use rayon::prelude::*;

use crate::field::{Field, Solid};
use relief::openness;
pub(crate) use relief::relief;
pub(crate) use tool::tool;

/// The piece as triangles, its rays coloured (sRGB, black for none).
pub(crate) fn piece(field: &Field, colors: &[[u8; 3]]) -> Shape {
    let mut shape = Shape::default();
    // What lies under a groove's leaning wall is a hollow of some rays only: as such it closes toward the next ray, where
    // layer by layer the wood would have walls inside.
    let envelope = Walls::new(field, &field.envelope());
    add(&mut shape, envelope.side(|solid| solid.outer, 1.0, colors));
    if envelope.solids.iter().any(|solid| solid.inner > 0.0) {
        add(&mut shape, envelope.side(|solid| solid.inner, -1.0, &[]));
    }
    for gaps in field.gaps() {
        let walls = Walls::new(field, &gaps);
        add(&mut shape, walls.side(|gap| gap.outer, -1.0, &[]));
        add(&mut shape, walls.side(|gap| gap.inner, 1.0, &[]));
    }
    for rays in &field.layers {
        let walls = Walls::new(field, rays);
        add(&mut shape, walls.cap(0));
        add(&mut shape, walls.cap(1));
    }
    shape
}

/// A mesh as triangles with flat sides, all in the colour of what it is made of.
pub(crate) fn body(mesh: &Mesh) -> Shape {
    let mut shape = Shape::default();
    for corners in &mesh.triangles {
        let [a, b, c] = corners.map(|vertex| mesh.vertices[vertex as usize]);
        let normal = tool::normal_of(a, b, c);
        for position in [a, b, c] {
            shape.indices.push(shape.corners.len() as u32);
            shape.corners.push(corner(position, normal, [0, 0, 0, 255]));
        }
    }
    shape
}

fn add(shape: &mut Shape, other: Shape) {
    let base = shape.corners.len() as u32;
    shape.corners.extend(other.corners);
    shape.indices.extend(other.indices.iter().map(|index| index + base));
}

fn corner(position: [f64; 3], normal: [f64; 3], color: [u8; 4]) -> Corner {
    let length = normal.iter().map(|part| part * part).sum::<f64>().sqrt().max(1e-12);
    let [x, y, z] = normal.map(|part| (127.0 * part / length).round() as i8);
    Corner { position: position.map(|part| part as f32), normal: [x, y, z, 0], color }
}

/// One layer of a field on its way to triangles.
struct Walls<'a> {
    field: &'a Field,
    /// Rays without solid that stand beside some that have: both their ends in the middle of theirs, so that the
    /// surfaces close there.
    solids: Vec<Solid>,
    is_there: Vec<bool>,
    /// Cosine and sine of every column, y counted as in the piece frame.
    ways: Vec<[f64; 2]>,
}

impl<'a> Walls<'a> {
    fn new(field: &'a Field, rays: &[Solid]) -> Walls<'a> {
        let across = if field.chuck == Side::Plus { 1.0 } else { -1.0 };
        let way = |column: usize| {
            let (sine, cosine) = angle::sin_cos(column as f64 * field.turn);
            [across * sine, cosine]
        };
        let ways = (0..field.columns).map(way).collect();
        let is_there: Vec<bool> = rays.iter().map(|solid| !solid.is_empty()).collect();
        let (rows, columns) = (field.rows, field.columns);
        let closed = |ray: usize| {
            if is_there[ray] {
                return rays[ray];
            }
            let beside = neighbours(ray, rows, columns).filter(|it| is_there[*it]).map(|it| rays[it]);
            let (count, sum) = beside.fold((0.0, 0.0), |(n, sum), it| (n + 2.0, sum + it.inner + it.outer));
            let middle = if count > 0.0 { sum / count } else { 0.0 };
            Solid { inner: middle, outer: middle }
        };
        let solids = (0..rays.len()).into_par_iter().map(closed).collect();
        Walls { field, solids, is_there, ways }
    }

    fn at(&self, station: f64, column: usize, radius: f64) -> [f64; 3] {
        let [y, z] = self.ways[column];
        [station, radius * y, radius * z]
    }

    /// One side of the layer: `outward` is 1 for the outer, −1 for the inner.
    fn side(&self, of: impl Fn(&Solid) -> f32 + Sync, outward: f64, colors: &[[u8; 3]]) -> Shape {
        let Field { rows, columns, .. } = *self.field;
        let radii: Vec<f32> = self.solids.iter().map(of).collect();
        let open = if outward > 0.0 { openness(self.field, &radii) } else { vec![150; radii.len()] };
        let corners = (0..rows * columns).into_par_iter().map(|ray| {
            let (row, column) = (ray / columns, ray % columns);
            let [red, green, blue] = colors.get(ray).copied().unwrap_or_default();
            let position = self.at(self.station(row), column, f64::from(radii[ray]));
            corner(position, self.normal(&radii, row, column, outward), [red, green, blue, open[ray]])
        });
        let corners = corners.collect();
        let is_left = (outward > 0.0) == (self.field.chuck == Side::Minus);
        let quads = (0..(rows - 1) * columns).into_par_iter().filter_map(|cell| {
            let (row, column) = (cell / columns, cell % columns);
            let [a, b] = [cell, row * columns + (column + 1) % columns];
            let [c, d] = [a + columns, b + columns];
            [a, b, c, d].iter().any(|it| self.is_there[*it]).then(|| quad([a, b, c, d], is_left))
        });
        Shape { corners, indices: quads.flatten_iter().collect() }
    }

    /// Station of a row's corners: the outermost rows reach to the ends of the blank.
    fn station(&self, row: usize) -> f64 {
        match row {
            0 => self.field.ends[0],
            row if row + 1 == self.field.rows => self.field.ends[1],
            row => self.field.station(row),
        }
    }

    /// Outward, by how the radius changes along and around.
    fn normal(&self, radii: &[f32], row: usize, column: usize, outward: f64) -> [f64; 3] {
        let Field { rows, columns, step, turn, .. } = *self.field;
        let radius = |row: usize, column: usize| f64::from(radii[row * columns + column % columns]);
        let (low, high) = (row.saturating_sub(1), (row + 1).min(rows - 1));
        let along = (radius(high, column) - radius(low, column)) / (step * (high - low).max(1) as f64);
        let here = radius(row, column).max(1e-3);
        let around = (radius(row, column + 1) - radius(row, column + columns - 1)) / (2.0 * turn * here);
        let [y, z] = self.ways[column];
        // The direction in which θ grows.
        let across = if self.field.chuck == Side::Plus { 1.0 } else { -1.0 };
        let [grow_y, grow_z] = [across * z, -across * y];
        [-along, y - around * grow_y, z - around * grow_z].map(|part| outward * part)
    }

    /// The end of the layer at the chuck's side (0) or the free one (1).
    fn cap(&self, end: usize) -> Shape {
        let Field { rows, columns, ends, .. } = *self.field;
        let row = end * (rows - 1);
        let facing = [[-1.0, 0.0, 0.0], [1.0, 0.0, 0.0]][end];
        let mut shape = Shape::default();
        for column in 0..columns {
            let solid = self.solids[row * columns + column];
            for radius in [solid.inner, solid.outer] {
                let position = self.at(ends[end], column, f64::from(radius));
                shape.corners.push(corner(position, facing, [0, 0, 0, 235]));
            }
        }
        let is_left = (end == 1) == (self.field.chuck == Side::Minus);
        for column in 0..columns {
            let next = (column + 1) % columns;
            let corners = [2 * column, 2 * next, 2 * column + 1, 2 * next + 1];
            shape.indices.extend(quad(corners, !is_left));
        }
        shape
    }
}

/// Two triangles over corners (along 0, around 0), (0, 1), (1, 0), (1, 1).
fn quad([a, b, c, d]: [usize; 4], is_left: bool) -> [u32; 6] {
    let [a, b, c, d] = [a, b, c, d].map(|it| it as u32);
    if is_left { [a, b, c, b, d, c] } else { [a, c, b, b, c, d] }
}

fn neighbours(ray: usize, rows: usize, columns: usize) -> impl Iterator<Item = usize> {
    let (row, column) = (ray / columns, ray % columns);
    let rows = row.saturating_sub(1)..=(row + 1).min(rows - 1);
    rows.flat_map(move |row| [columns - 1, 0, 1].map(move |by| row * columns + (column + by) % columns))
}
