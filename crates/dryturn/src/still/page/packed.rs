//! A mesh in few bytes: places in 65 535 steps along each side of the box, normals folded into a square, and of all
//! numbers the differences from one to the next, packed.

use std::io::Write;

use dryturn_surface::Mesh;
use flate2::Compression;
use flate2::write::ZlibEncoder;

/// A packed mesh.
pub(super) struct Packed {
    /// How many vertices there are; those on edges count once for each side.
    pub(super) vertices: usize,
    /// How many triangles there are.
    pub(super) triangles: usize,
    /// The corner of the box, mm.
    pub(super) least: [f64; 3],
    /// Its sides, mm.
    pub(super) extent: [f64; 3],
    /// x, y and z of all vertices, both parts of their normals, and the corners of all triangles: streams of
    /// differences, packed (zlib, RFC 1950).
    pub(super) bytes: Vec<u8>,
}

/// Steps along a side of the box, and of a part of a normal.
const STEPS: f64 = 65_535.0;
const NORMAL_STEPS: f32 = 32_767.0;

impl Packed {
    /// # Errors
    /// Where the packing fails, which has not been seen.
    pub(super) fn of(mesh: &Mesh) -> std::io::Result<Packed> {
        let shaded = mesh.shaded();
        let (least, most) = mesh.bounds().unwrap_or_default();
        let extent: [f64; 3] = std::array::from_fn(|axis| (most[axis] - least[axis]).max(f64::MIN_POSITIVE));
        let folded: Vec<[i32; 2]> = shaded.normals.iter().map(|normal| folded(*normal)).collect();
        let mut packing = ZlibEncoder::new(Vec::new(), Compression::best());
        for axis in 0..3 {
            let step = |of: &u32| ((mesh.vertices[*of as usize][axis] - least[axis]) / extent[axis] * STEPS).round();
            packing.write_all(&stream(shaded.of.iter().map(|of| step(of) as i32), 3))?;
        }
        for part in 0..2 {
            packing.write_all(&stream(folded.iter().map(|normal| normal[part]), 3))?;
        }
        packing.write_all(&stream(shaded.triangles.iter().flatten().map(|corner| *corner as i32), 4))?;
        Ok(Packed {
            vertices: shaded.of.len(),
            triangles: shaded.triangles.len(),
            least,
            extent,
            bytes: packing.finish()?,
        })
    }
}

/// A direction as a place in a square: the octahedron, its lower half folded outward (Meyer et al., *On floating-point
/// normal vectors*, Computer Graphics Forum 29, 2010).
fn folded([x, y, z]: [f32; 3]) -> [i32; 2] {
    let sum = x.abs() + y.abs() + z.abs();
    let (u, v) = (x / sum, y / sum);
    let side = |part: f32| if part < 0.0 { -1.0 } else { 1.0 };
    let [u, v] = if z < 0.0 { [(1.0 - v.abs()) * side(u), (1.0 - u.abs()) * side(v)] } else { [u, v] };
    [u, v].map(|part| (part * NORMAL_STEPS).round() as i32)
}

/// Differences from one number to the next, the sign in the lowest bit: all lowest bytes first, then all second ones, and
/// so on, `width` in all.
fn stream(numbers: impl Iterator<Item = i32>, width: usize) -> Vec<u8> {
    let mut before = 0;
    let differences: Vec<u32> = numbers
        .map(|number| {
            let difference = number.wrapping_sub(std::mem::replace(&mut before, number));
            ((difference << 1) ^ (difference >> 31)) as u32
        })
        .collect();
    let planes =
        (0..width).flat_map(|plane| differences.iter().map(move |difference| (difference >> (8 * plane)) as u8));
    planes.collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Numbers from a stream, as the page reads them.
    fn read(stream: &[u8], width: usize) -> Vec<i32> {
        let count = stream.len() / width;
        let mut sum = 0i32;
        let number = |index: usize| {
            let difference =
                (0..width).fold(0u32, |all, plane| all | u32::from(stream[plane * count + index]) << (8 * plane));
            sum = sum.wrapping_add((difference >> 1) as i32 ^ -((difference & 1) as i32));
            sum
        };
        (0..count).map(number).collect()
    }

    #[test]
    fn numbers_come_back() {
        let numbers = [0, 65_535, 0, 32_767, -32_767, 5, 4, 3];
        assert_eq!(read(&stream(numbers.into_iter(), 3), 3), numbers);
        let corners = [0, 1, 2, 4_000_000, 3, 2_000_000_000, 7];
        assert_eq!(read(&stream(corners.into_iter(), 4), 4), corners);
    }

    #[test]
    fn directions_come_back_to_a_hundredth_of_a_degree() {
        for direction in
            [[1.0, 0.0, 0.0], [0.0, 0.0, -1.0], [0.6, -0.64, 0.48], [-0.48, 0.6, -0.64], [0.0, -0.8, -0.6f32]]
        {
            let [u, v] = folded(direction).map(|part| part as f32 / NORMAL_STEPS);
            let z = 1.0 - u.abs() - v.abs();
            let under = (-z).max(0.0);
            let out = |part: f32| if part < 0.0 { part + under } else { part - under };
            let [x, y] = [out(u), out(v)];
            let length = (x * x + y * y + z * z).sqrt();
            let off = [x, y, z].iter().zip(direction).map(|(a, b)| (a / length - b).powi(2)).sum::<f32>().sqrt();
            assert!(off < 1.7e-4, "{direction:?}: {off}");
        }
    }

    #[test]
    fn a_block_stands_with_three_normals_in_each_corner() {
        let block = Mesh::block([0.0; 3], [[1.0, 0.0, 0.0], [0.0, 2.0, 0.0], [0.0, 0.0, 3.0]]);
        let packed = Packed::of(&block).unwrap();
        assert_eq!((packed.vertices, packed.triangles), (24, 12));
        assert_eq!((packed.least, packed.extent), ([0.0; 3], [1.0, 2.0, 3.0]));
    }
}
