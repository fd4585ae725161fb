//! How far in and out the wood of a row goes.

use super::{CHUNK, NONE, Tile};

impl Tile {
    /// The greatest inner and the least outer end of the innermost solid on the rays of a row, mm.
    pub(crate) fn ring(&self, row: usize) -> [f32; 2] {
        let first = (row - self.rows.start) * self.stride;
        let rays = first..first + self.columns.len();
        let (greater, less) = (|a, b| if a > b { a } else { b }, |a, b| if a < b { a } else { b });
        if self.more.is_empty() {
            return [extreme(&self.inner[rays.clone()], greater), extreme(&self.outer[rays], less)];
        }
        let innermost = rays.map(|ray| self.innermost_solid(ray));
        innermost.reduce(|a, b| [greater(a[0], b[0]), less(a[1], b[1])]).unwrap_or_default()
    }

    /// The ends of the innermost solid on a ray, mm.
    pub(super) fn innermost_solid(&self, ray: usize) -> [f32; 2] {
        let (mut ends, mut next) = ([self.inner[ray], self.outer[ray]], self.first_node(ray));
        while next != NONE {
            let node = &self.nodes[next as usize];
            (ends, next) = ([node.span.inner, node.span.outer], node.next);
        }
        ends
    }
}

/// The one of some radii that is chosen of any two; 0 of none. Neighbours are compared side by side, which the compiler turns
/// into vector instructions.
fn extreme(radii: &[f32], choose: impl Fn(f32, f32) -> f32) -> f32 {
    let mut lanes = [radii.first().copied().unwrap_or_default(); CHUNK];
    let (chunks, rest) = radii.as_chunks::<CHUNK>();
    for chunk in chunks {
        lanes.iter_mut().zip(chunk).for_each(|(lane, radius)| *lane = choose(*lane, *radius));
    }
    lanes.into_iter().chain(rest.iter().copied()).reduce(&choose).unwrap_or_default()
}
