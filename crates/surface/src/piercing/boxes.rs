//! Boxes around triangles, and a tree of them.

use glam::Vec4;
use rayon::prelude::*;
use smallvec::{SmallVec, smallvec};

use crate::mesh::Mesh;

/// Triangles of a leaf.
pub(super) const FEW: usize = 4;

/// A triangle and a box around it, of its coordinates and of its angle about the axis: the narrow triangles of a flat end
/// lie in boxes that overlap, but each at its own angle.
#[derive(Clone, Copy)]
pub(super) struct Boxed {
    pub(super) triangle: u32,
    bounds: Bounds,
}

#[derive(Clone, Copy)]
struct Bounds {
    low: Vec4,
    high: Vec4,
}

/// How much a quarter of a turn counts beside a millimetre where triangles are put in order.
const QUARTER: f64 = 30.0;

impl Boxed {
    pub(super) fn of(mesh: &Mesh, triangle: u32) -> Boxed {
        let (low, high) = mesh.bounds_of(triangle as usize);
        let [first, last] = angles(mesh.corners(triangle as usize)).map(|angle| angle * QUARTER);
        // What is rounded to single precision may be off by half a step.
        let (low, high) = (low.extend(first).as_vec4(), high.extend(last).as_vec4());
        Boxed { triangle, bounds: Bounds { low: low.map(f32::next_down), high: high.map(f32::next_up) } }
    }

    pub(super) fn meets(&self, other: &Boxed) -> bool {
        self.bounds.meets(&other.bounds)
    }
}

impl Bounds {
    const NOTHING: Bounds = Bounds { low: Vec4::INFINITY, high: Vec4::NEG_INFINITY };

    fn meets(&self, other: &Bounds) -> bool {
        (self.low.cmple(other.high) & other.low.cmple(self.high)).all()
    }

    fn with(self, other: Bounds) -> Bounds {
        Bounds { low: self.low.min(other.low), high: self.high.max(other.high) }
    }
}

/// The angles about the axis between which a triangle lies, from −2 to 2; all there are for one around the axis or over
/// the place where they begin anew.
fn angles(corners: [[f64; 3]; 3]) -> [f64; 2] {
    /// Far above the rounding of an angle.
    const CLEAR: f64 = 1e-9;
    let [a, b, c] = corners.map(|[_, y, z]| quarters(y, z));
    let (low, high) = (a.min(b).min(c), a.max(b).max(c));
    let is_round = high - low > 2.0 - CLEAR || corners.iter().any(|[_, y, z]| y.abs().max(z.abs()) < CLEAR);
    if is_round { [-2.0 - CLEAR, 2.0 + CLEAR] } else { [low - CLEAR, high + CLEAR] }
}

/// A number that grows with the angle of a direction, by one over each quarter of a turn.
fn quarters(y: f64, z: f64) -> f64 {
    let share = y / (y.abs() + z.abs());
    if z >= 0.0 { share } else { 2.0_f64.copysign(y) - share }
}

/// Boxes around triangles in the order of Morton's curve through their middles: by station, angle and distance from the
/// axis.
pub(super) fn near_each_other(mesh: &Mesh, triangles: Vec<u32>) -> Vec<Boxed> {
    let spread = |coordinate: f32| {
        // In micrometres, which is far finer than any order needs; what is out of reach of 21 bits is put at their ends.
        let steps = ((f64::from(coordinate) + 1000.0) * 1000.0).clamp(0.0, f64::from((1 << 21) - 1));
        parted_bits(steps as u64)
    };
    let key = |triangle: u32| {
        let Bounds { low, high } = Boxed::of(mesh, triangle).bounds;
        let at = 0.5 * (low + high);
        let [x, angle, radius] = [at.x, at.w, (at.y * at.y + at.z * at.z).sqrt()].map(spread);
        (x | angle << 1 | radius << 2, triangle)
    };
    let mut order: Vec<(u64, u32)> = triangles.into_par_iter().map(key).collect();
    order.par_sort_unstable();
    order.into_par_iter().map(|(_, triangle)| Boxed::of(mesh, triangle)).collect()
}

/// The lowest 21 bits of a number with two noughts behind each.
fn parted_bits(number: u64) -> u64 {
    const STEPS: [(u32, u64); 5] = [
        (32, 0x001f_0000_0000_ffff),
        (16, 0x001f_0000_ff00_00ff),
        (8, 0x100f_00f0_0f00_f00f),
        (4, 0x10c3_0c30_c30c_30c3),
        (2, 0x1249_2492_4924_9249),
    ];
    STEPS.into_iter().fold(number, |bits, (shift, mask)| (bits | bits << shift) & mask)
}

/// A box around every leaf, around every two of them, and so on: the node k is over 2k and 2k + 1, and the root is 1.
pub(super) struct Tree {
    nodes: Vec<Bounds>,
    /// How many leaves the lowest row has room for.
    width: usize,
}

impl Tree {
    pub(super) fn over(boxed: &[Boxed]) -> Tree {
        let width = boxed.len().div_ceil(FEW).next_power_of_two();
        let mut nodes = vec![Bounds::NOTHING; 2 * width];
        nodes[width..].par_iter_mut().zip(boxed.par_chunks(FEW)).for_each(|(node, leaf)| {
            *node = leaf.iter().fold(Bounds::NOTHING, |bounds, it| bounds.with(it.bounds));
        });
        for node in (1..width).rev() {
            nodes[node] = nodes[2 * node].with(nodes[2 * node + 1]);
        }
        Tree { nodes, width }
    }

    /// Visits the leaves behind another whose boxes meet its own.
    pub(super) fn visit_behind(&self, leaf: usize, mut visit: impl FnMut(usize)) {
        let bounds = self.nodes[self.width + leaf];
        // Going up, what is behind are the right neighbours of those that are on the left.
        let mut node = self.width + leaf;
        while node > 1 {
            if node.is_multiple_of(2) {
                self.visit_below(node + 1, &bounds, &mut visit);
            }
            node /= 2;
        }
    }

    fn visit_below(&self, top: usize, bounds: &Bounds, visit: &mut impl FnMut(usize)) {
        let mut open: SmallVec<[usize; 32]> = smallvec![top];
        while let Some(node) = open.pop() {
            if !self.nodes[node].meets(bounds) {
                continue;
            }
            if node >= self.width {
                visit(node - self.width);
            } else {
                open.extend([2 * node + 1, 2 * node]);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quarters_grow_around_the_axis() {
        let around: Vec<f64> = (-179..180)
            .map(|degrees| f64::from(degrees).to_radians().sin_cos())
            .map(|(sine, cosine)| quarters(sine, cosine))
            .collect();
        assert!(around.windows(2).all(|pair| pair[1] > pair[0]));
        assert_eq!([quarters(0.0, 1.0), quarters(1.0, 0.0), quarters(-1.0, 0.0)], [0.0, 1.0, -1.0]);
        assert_eq!([quarters(0.0, -1.0), quarters(-0.0, -1.0)], [2.0, -2.0]);
    }

    #[test]
    fn bits_are_parted() {
        assert_eq!(parted_bits(0b1011), 0b001_000_001_001);
        assert_eq!(parted_bits((1 << 21) - 1).count_ones(), 21);
        assert_eq!(parted_bits(1 << 20), 1 << 60);
    }
}
