//! Binary STL: triangles alone, in single precision and without a unit; millimetres are the custom.

use std::collections::BTreeSet;
use std::io::{self, Write};

use glam::DVec3;
use rayon::prelude::*;

use crate::mesh::Mesh;

/// The first 80 bytes. They must not begin with "solid", by which files of text are told.
const HEADER: &[u8; 80] = b"dryturn, in millimetres                                                         ";

/// Writes a mesh as binary STL. Corners are told apart by their numbers alone there, so vertices that would fall together
/// in single precision are moved apart by its last digit: what is read back is closed where the mesh is.
///
/// # Errors
/// Those of `to`, and [`io::ErrorKind::InvalidInput`] if there are more triangles than the format can count.
pub fn write_stl(mesh: &Mesh, to: &mut dyn Write) -> io::Result<()> {
    let count = u32::try_from(mesh.triangles.len())
        .map_err(|_| io::Error::new(io::ErrorKind::InvalidInput, "more triangles than an STL file can count"))?;
    to.write_all(HEADER)?;
    to.write_all(&count.to_le_bytes())?;
    let places = apart(&mesh.vertices);
    let put = |triangle: usize, bytes: &mut Vec<u8>| {
        let [a, b, c] = mesh.corners(triangle).map(DVec3::from_array);
        let normal = (b - a).cross(c - a).normalize_or_zero().as_vec3().to_array();
        let corners = mesh.triangles[triangle].map(|vertex| places[vertex as usize]);
        for number in [normal, corners[0], corners[1], corners[2]].iter().flatten() {
            bytes.extend(number.to_le_bytes());
        }
        bytes.extend([0; 2]);
    };
    super::each(0..mesh.triangles.len(), put, to)
}

/// A place in single precision.
type Place = [f32; 3];

/// Places in single precision, no two of them the same.
fn apart(vertices: &[[f64; 3]]) -> Vec<Place> {
    // Nought of either sign is one number.
    let mut places: Vec<Place> = vertices.iter().map(|it| it.map(|number| number as f32 + 0.0)).collect();
    let key = |place: &Place| place.map(f32::to_bits);
    let mut rounded: Vec<([u32; 3], u32)> = places.iter().map(key).zip(0..).collect();
    rounded.par_sort_unstable();
    let mut moved = BTreeSet::new();
    for pair in rounded.windows(2).filter(|pair| pair[0].0 == pair[1].0) {
        let place = &mut places[pair[1].1 as usize];
        let is_taken = |at: [u32; 3]| rounded.binary_search_by_key(&at, |it| it.0).is_ok() || moved.contains(&at);
        if let Some(free) = beside(*place).find(|place| !is_taken(key(place))) {
            moved.insert(key(&free));
            *place = free;
        }
    }
    places
}

/// Places beside another, nearest first.
fn beside(from: Place) -> impl Iterator<Item = Place> {
    let by = move |steps: u16| {
        (0..6).map(move |way: usize| {
            let (axis, sign) = (way / 2, if way.is_multiple_of(2) { 1.0 } else { -1.0 });
            let mut place = from;
            // Near nought, where numbers lie closer, as far as at a millimetre.
            place[axis] += sign * f32::from(steps) * f32::EPSILON * from[axis].abs().max(1.0);
            place
        })
    };
    (1..=u16::MAX).flat_map(by)
}
