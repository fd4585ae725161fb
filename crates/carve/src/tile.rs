//! A tile of neighbouring rays and the solid along them.
//!
//! Each ray keeps its **outermost** span inline, for that is where cutting happens; further spans hang in a chain of
//! nodes, from the outside in. Ends are single precision (half a spacing is 2 nm at a radius of 30 mm) and remember the
//! block that made them.

mod held;
mod packed;
mod ring;

use std::ops::Range as Rows;

use smallvec::SmallVec;

use crate::kernel::{Field, LANES, SAME_END, UNITS, Wood, greatest, units};

pub(crate) use held::Held;
pub(crate) use packed::Packed;

/// Owner of an end that no block has touched.
pub const UNTOUCHED: u32 = u32::MAX;
/// Owner of an end that the bore or the dimple made before the first block.
pub const PREPARED: u32 = u32::MAX - 1;
/// From here to [`PREPARED`], owners of ends that were made before the first block, in an earlier set-up: the number of the
/// maker as the blank counts them, above this. All below it are blocks.
pub const EARLIER: u32 = 1 << 31;

/// Whether an owner is a block of the job.
pub fn is_block(owner: u32) -> bool {
    owner < EARLIER
}

/// A stretch of solid along a ray, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Span {
    /// End nearer to the axis.
    pub inner: f32,
    /// End farther out.
    pub outer: f32,
    /// Block that made the inner end; 0-based, or [`UNTOUCHED`] or [`PREPARED`], or from [`EARLIER`] on a maker of an earlier
    /// set-up.
    pub inner_by: u32,
    /// Block that made the outer end.
    pub outer_by: u32,
}

/// The solid along one ray, from the outside in.
pub(crate) type Spans = SmallVec<[Span; 4]>;

#[derive(Clone, Copy, Debug)]
struct Node {
    span: Span,
    next: u32,
}

const NONE: u32 = u32::MAX;

/// Rays are compared with a bound this many at a time.
pub(crate) const CHUNK: usize = LANES;

/// A block of rows × columns of rays. The rays of a row lie together, filled up with empty ones to whole chunks.
#[derive(Clone, Debug)]
pub(crate) struct Tile {
    pub(crate) rows: Rows<usize>,
    pub(crate) columns: Rows<usize>,
    /// Rays from one row to the next, a multiple of [`CHUNK`].
    stride: usize,
    outer: Vec<f32>,
    inner: Vec<f32>,
    outer_by: Vec<u32>,
    inner_by: Vec<u32>,
    /// First node of each ray's further spans; empty until some ray has any.
    more: Vec<u32>,
    nodes: Vec<Node>,
    free: u32,
    /// Greatest outer end in each chunk of each row.
    chunk_top: Vec<f32>,
    /// Greatest outer end in each row.
    row_top: Vec<f32>,
    /// Greatest outer end of all, or more.
    top: f32,
    /// Whether the row that reached the top has come down since.
    is_top_stale: bool,
}

/// The greatest of some radii, none of which is no number.
#[inline]
fn highest(radii: &[f32]) -> f32 {
    radii.iter().fold(0.0, |highest, &radius| if radius > highest { radius } else { highest })
}

/// Cubic millimetres of a number of units on a grid with the given cell.
pub(crate) fn cubic_mm(units: f64, station_step: f64, angle_step: f64) -> f64 {
    units / UNITS * 0.5 * angle_step * station_step
}

impl Tile {
    /// A tile filled by `solid(row, column)`, spans from the outside in.
    pub(crate) fn filled(
        rows: Rows<usize>,
        columns: Rows<usize>,
        mut solid: impl FnMut(usize, usize) -> Spans,
    ) -> Tile {
        let stride = columns.len().next_multiple_of(CHUNK);
        let count = rows.len() * stride;
        let mut tile = Tile {
            stride,
            outer: vec![0.0; count],
            inner: vec![0.0; count],
            outer_by: vec![UNTOUCHED; count],
            inner_by: vec![UNTOUCHED; count],
            more: Vec::new(),
            nodes: Vec::new(),
            free: NONE,
            chunk_top: vec![0.0; rows.len() * stride / CHUNK],
            row_top: vec![0.0; rows.len()],
            top: 0.0,
            is_top_stale: true,
            rows: rows.clone(),
            columns: columns.clone(),
        };
        for row in rows {
            for column in columns.clone() {
                let ray = tile.index(row, column);
                tile.store(ray, &solid(row, column), UNTOUCHED);
            }
            for chunk in 0..stride / CHUNK {
                tile.refresh_top(row, chunk);
            }
        }
        tile.refresh_all();
        tile
    }

    /// A tile whose rows are all alike.
    pub(crate) fn even(rows: Rows<usize>, columns: Rows<usize>, mut solid: impl FnMut(usize) -> Spans) -> Tile {
        let mut tile = Tile::filled(rows.start..rows.start + 1, columns.clone(), |_, column| solid(column));
        if !tile.nodes.is_empty() {
            return Tile::filled(rows, columns, |_, column| solid(column));
        }
        let stride = tile.stride;
        for _ in 1..rows.len() {
            tile.outer.extend_from_within(..stride);
            tile.inner.extend_from_within(..stride);
            tile.outer_by.extend_from_within(..stride);
            tile.inner_by.extend_from_within(..stride);
            tile.chunk_top.extend_from_within(..stride / CHUNK);
        }
        tile.row_top.resize(rows.len(), tile.top);
        tile.rows = rows;
        tile
    }

    /// Index within the tile of a ray given by its row and column on the grid.
    #[inline]
    pub(crate) fn index(&self, row: usize, column: usize) -> usize {
        (row - self.rows.start) * self.stride + (column - self.columns.start)
    }

    /// All rays by their indices.
    pub(crate) fn rays(&self) -> impl Iterator<Item = usize> + use<> {
        let (stride, columns) = (self.stride, self.columns.len());
        (0..self.rows.len()).flat_map(move |row| row * stride..row * stride + columns)
    }

    /// The outermost span; outer = inner where nothing is left.
    #[inline]
    pub(crate) fn outermost(&self, ray: usize) -> Span {
        Span {
            inner: self.inner[ray],
            outer: self.outer[ray],
            inner_by: self.inner_by[ray],
            outer_by: self.outer_by[ray],
        }
    }

    fn set_outermost(&mut self, ray: usize, span: Span) {
        self.inner[ray] = span.inner;
        self.outer[ray] = span.outer;
        self.inner_by[ray] = span.inner_by;
        self.outer_by[ray] = span.outer_by;
    }

    fn first_node(&self, ray: usize) -> u32 {
        self.more.get(ray).copied().unwrap_or(NONE)
    }

    /// All spans of a ray, from the outside in.
    pub(crate) fn spans(&self, ray: usize) -> Spans {
        let mut spans = Spans::new();
        self.each_span(ray, |span| spans.push(*span));
        spans
    }

    /// Calls `visit` with all spans of a ray, from the outside in.
    #[inline]
    pub(crate) fn each_span(&self, ray: usize, mut visit: impl FnMut(&Span)) {
        let outermost = self.outermost(ray);
        if outermost.outer > outermost.inner {
            visit(&outermost);
        }
        let mut next = self.first_node(ray);
        while next != NONE {
            let node = &self.nodes[next as usize];
            visit(&node.span);
            next = node.next;
        }
    }

    /// Units of volume of all its solid.
    pub(crate) fn units(&self) -> i64 {
        let outermost: i64 = self.inner.iter().zip(&self.outer).map(|(&inner, &outer)| units(inner, outer)).sum();
        let mut further = 0;
        for &head in &self.more {
            let mut next = head;
            while next != NONE {
                let node = self.nodes[next as usize];
                further += units(node.span.inner, node.span.outer);
                next = node.next;
            }
        }
        outermost + further
    }

    /// Calls `visit` with the spans of the rays of a row behind their outermost ones, and the column of the tile.
    pub(crate) fn further_spans(&self, row: usize, mut visit: impl FnMut(usize, &Span)) {
        let first = (row - self.rows.start) * self.stride;
        let heads = self.more.get(first..first + self.columns.len()).unwrap_or_default();
        for (column, &head) in heads.iter().enumerate() {
            let mut next = head;
            while next != NONE {
                let node = &self.nodes[next as usize];
                visit(column, &node.span);
                next = node.next;
            }
        }
    }

    /// The innermost end of solid on the ray.
    pub(crate) fn innermost(&self, ray: usize) -> f32 {
        self.innermost_solid(ray)[0]
    }

    /// The outermost solid of all its rays.
    #[inline]
    pub(crate) fn field(&self) -> Field<'_> {
        let Tile { inner, outer, chunk_top, .. } = self;
        Field { first: self.rows.start, chunks: self.stride / CHUNK, inner, outer, tops: chunk_top }
    }

    /// The outer ends of a chunk of rays in a row.
    #[inline]
    pub(crate) fn outer_ends(&self, row: usize, chunk: usize) -> &[f32; CHUNK] {
        let first = (row - self.rows.start) * self.stride + chunk * CHUNK;
        self.outer[first..].first_chunk().expect("rows are filled up to whole chunks")
    }

    /// The outermost solid of a chunk of rays in a row.
    #[inline]
    pub(crate) fn wood(&self, row: usize, chunk: usize) -> Wood<'_> {
        self.field().wood(row, chunk)
    }

    /// The outer ends of a chunk of rays in a row, and who made them, to be brought down.
    #[inline]
    pub(crate) fn outer_ends_mut(&mut self, row: usize, chunk: usize) -> (&mut [f32; CHUNK], &mut [u32; CHUNK]) {
        let first = (row - self.rows.start) * self.stride + chunk * CHUNK;
        let whole = "rows are filled up to whole chunks";
        let ends = self.outer[first..].first_chunk_mut().expect(whole);
        (ends, self.outer_by[first..].first_chunk_mut().expect(whole))
    }

    /// The outer ends of some columns of the tile in a row.
    #[inline]
    pub(crate) fn columns_mut(&mut self, row: usize, columns: &Rows<usize>) -> &mut [f32] {
        let first = (row - self.rows.start) * self.stride;
        &mut self.outer[first + columns.start..first + columns.end]
    }

    /// Greatest radius of solid in a row of the tile, mm.
    #[inline]
    pub(crate) fn row_top(&self, row: usize) -> f32 {
        self.row_top[row - self.rows.start]
    }

    /// A radius beyond which no ray of the tile holds solid, mm.
    #[inline]
    pub(crate) fn top(&self) -> f32 {
        self.top
    }

    /// Recomputes the greatest radius of a chunk and its row after rays have been cut.
    #[inline]
    pub(crate) fn refresh_top(&mut self, row: usize, chunk: usize) {
        self.set_top(row, chunk, greatest(self.outer_ends(row, chunk)));
    }

    /// The same, where the greatest radius of the chunk is known.
    #[inline]
    pub(crate) fn set_top(&mut self, row: usize, chunk: usize, top: f32) {
        let local = row - self.rows.start;
        let chunks = self.stride / CHUNK;
        let before = std::mem::replace(&mut self.chunk_top[local * chunks + chunk], top);
        let row_top = self.row_top[local];
        if before >= row_top || top > row_top {
            let tops = &self.chunk_top[local * chunks..(local + 1) * chunks];
            self.row_top[local] = highest(tops);
            self.is_top_stale |= row_top >= self.top;
        }
    }

    /// Recomputes all greatest radii, whichever rays have been cut.
    pub(crate) fn refresh(&mut self) {
        for row in self.rows.clone() {
            (0..self.stride / CHUNK).for_each(|chunk| self.refresh_top(row, chunk));
        }
        self.refresh_all();
    }

    /// Recomputes the greatest radius of the tile after its rows have been cut.
    #[inline]
    pub(crate) fn refresh_all(&mut self) {
        if self.is_top_stale {
            self.top = highest(&self.row_top);
            self.is_top_stale = false;
        }
    }

    /// Takes the radii `lo` … `hi` off a ray in the name of a block; returns the units of volume removed, which close
    /// to the axis may round to none, or `None` if nothing has changed.
    #[inline]
    pub(crate) fn remove(&mut self, ray: usize, lo: f32, hi: f32, by: u32) -> Option<i64> {
        let outer = self.outer[ray];
        if lo > outer - SAME_END {
            return None;
        }
        if hi >= outer && lo > self.inner[ray] + SAME_END {
            self.outer[ray] = lo;
            self.outer_by[ray] = by;
            return Some(units(lo, outer));
        }
        self.remove_anywhere(ray, lo, hi, by)
    }

    fn remove_anywhere(&mut self, ray: usize, lo: f32, hi: f32, by: u32) -> Option<i64> {
        if !self.overlaps(ray, lo, hi) {
            return None;
        }
        if let Some(removed) = self.widen(ray, lo, hi, by) {
            return Some(removed);
        }
        let before = self.spans(ray);
        let mut after = Spans::new();
        let mut removed = 0;
        for span in before {
            if lo > span.outer - SAME_END || hi < span.inner + SAME_END {
                after.push(span);
                continue;
            }
            removed += units(span.inner, span.outer);
            if hi < span.outer - SAME_END {
                after.push(Span { inner: hi, inner_by: by, ..span });
                removed -= units(hi, span.outer);
            }
            if lo > span.inner + SAME_END {
                after.push(Span { outer: lo, outer_by: by, ..span });
                removed -= units(span.inner, lo);
            }
        }
        self.store(ray, &after, by);
        Some(removed)
    }

    /// As [`Tile::remove_anywhere`] where all it does is to widen the gap under the outermost span, as block after block
    /// does on the flank of a groove; nothing is changed where more is to be done.
    fn widen(&mut self, ray: usize, lo: f32, hi: f32, by: u32) -> Option<i64> {
        let above = self.outermost(ray);
        let below = self.nodes.get(self.first_node(ray) as usize)?.span;
        let is_from_above = lo <= above.inner + SAME_END && hi < above.outer - SAME_END;
        let is_into_below = hi > below.outer - SAME_END && lo > below.inner + SAME_END;
        if !(is_from_above && is_into_below) {
            return None;
        }
        let mut removed = 0;
        if hi >= above.inner + SAME_END {
            removed += units(above.inner, hi);
            (self.inner[ray], self.inner_by[ray]) = (hi, by);
        }
        if lo <= below.outer - SAME_END && hi >= below.inner + SAME_END {
            removed += units(lo, below.outer);
            let below = &mut self.nodes[self.more[ray] as usize].span;
            (below.outer, below.outer_by) = (lo, by);
        }
        Some(removed)
    }

    /// Whether the radii `lo` … `hi` take anything off a ray.
    fn overlaps(&self, ray: usize, lo: f32, hi: f32) -> bool {
        let is_cut = |span: Span| lo <= span.outer - SAME_END && hi >= span.inner + SAME_END;
        let mut next = self.first_node(ray);
        let mut is_found = is_cut(self.outermost(ray));
        while !is_found && next != NONE {
            let node = self.nodes[next as usize];
            is_found = is_cut(node.span);
            next = node.next;
        }
        is_found
    }

    /// Replaces the spans of a ray; a ray left empty remembers who emptied it.
    fn store(&mut self, ray: usize, spans: &[Span], emptied_by: u32) {
        let mut next = self.first_node(ray);
        while next != NONE {
            let after = self.nodes[next as usize].next;
            self.nodes[next as usize].next = self.free;
            self.free = next;
            next = after;
        }
        let empty = Span { inner: 0.0, outer: 0.0, inner_by: emptied_by, outer_by: emptied_by };
        self.set_outermost(ray, spans.first().copied().unwrap_or(empty));
        if self.more.is_empty() {
            if spans.len() < 2 {
                return;
            }
            self.more = vec![NONE; self.outer.len()];
        }
        let mut chain = NONE;
        for &span in spans.iter().skip(1).rev() {
            chain = self.node(Node { span, next: chain });
        }
        self.more[ray] = chain;
    }

    /// Gives the owner of every end another name.
    pub(crate) fn rename(&mut self, name: impl Fn(u32) -> u32) {
        let owners = self.outer_by.iter_mut().chain(&mut self.inner_by);
        owners.for_each(|by| *by = name(*by));
        for Node { span, .. } in &mut self.nodes {
            (span.inner_by, span.outer_by) = (name(span.inner_by), name(span.outer_by));
        }
    }

    fn node(&mut self, node: Node) -> u32 {
        if self.free == NONE {
            self.nodes.push(node);
            return (self.nodes.len() - 1) as u32;
        }
        let slot = self.free;
        self.free = self.nodes[slot as usize].next;
        self.nodes[slot as usize] = node;
        slot
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn tile() -> Tile {
        Tile::filled(0..1, 0..24, |_, _| {
            let mut spans = Spans::new();
            spans.push(Span { inner: 0.0, outer: 10.0, inner_by: UNTOUCHED, outer_by: UNTOUCHED });
            spans
        })
    }

    fn ends(tile: &Tile, ray: usize) -> Vec<(f32, f32)> {
        tile.spans(ray).iter().map(|s| (s.inner, s.outer)).collect()
    }

    #[test]
    fn cutting_splits_shortens_and_empties() {
        let mut tile = tile();
        let removed = tile.remove(3, 4.0, 6.0, 1);
        assert_eq!(removed, Some(units(4.0, 6.0)));
        assert_eq!(ends(&tile, 3), [(6.0, 10.0), (0.0, 4.0)]);
        tile.remove(3, 8.0, 10.0, 2);
        tile.remove(3, 1.0, 2.0, 3);
        assert_eq!(ends(&tile, 3), [(6.0, 8.0), (2.0, 4.0), (0.0, 1.0)]);
        assert_eq!(tile.innermost(3), 0.0);
        let spans = tile.spans(3);
        assert_eq!((spans[0].outer_by, spans[0].inner_by, spans[1].inner_by), (2, 1, 3));
        let rest = tile.remove(3, 0.0, 10.0, 4);
        assert_eq!(rest, Some(units(6.0, 8.0) + units(2.0, 4.0) + units(0.0, 1.0)));
        assert!(ends(&tile, 3).is_empty());
        assert_eq!(tile.outermost(3).outer_by, 4);
    }

    #[test]
    fn a_gap_is_widened_as_if_it_were_cut_anew() {
        for (lo, hi) in
            [(3.0, 8.0), (3.0, 5.0), (5.0, 8.0), (3.0, 6.0), (4.0, 8.0), (4.5, 5.5), (3.0, 10.0), (0.0, 8.0)]
        {
            let mut widened = tile();
            widened.remove(0, 4.0, 6.0, 1);
            let removed = widened.remove(0, lo, hi, 2);
            let outer = if hi < 10.0 { (6.0f32.max(hi), 10.0) } else { (0.0, 0.0) };
            let inner = (0.0, 4.0f32.min(lo));
            let left: Vec<_> = [outer, inner].into_iter().filter(|(from, to)| to > from).collect();
            assert_eq!(ends(&widened, 0), left, "{lo} {hi}");
            let units_left: i64 = left.iter().map(|&(from, to)| units(from, to)).sum();
            assert_eq!(removed.unwrap_or(0), units(6.0, 10.0) + units(0.0, 4.0) - units_left);
        }
    }

    #[test]
    fn a_second_gap_farther_in_is_a_gap_of_its_own() {
        let mut tile = tile();
        tile.remove(0, 6.0, 8.0, 1);
        assert_eq!(tile.remove(0, 2.0, 3.0, 2), Some(units(2.0, 3.0)));
        assert_eq!(ends(&tile, 0), [(8.0, 10.0), (3.0, 6.0), (0.0, 2.0)]);
    }

    #[test]
    fn rows_that_are_alike_are_filled_at_once() {
        let two = |_: usize, column: usize| -> Spans {
            let span = |inner: f32, outer: f32| Span { inner, outer, inner_by: UNTOUCHED, outer_by: PREPARED };
            if column == 17 {
                [span(6.0, 9.0), span(0.0, 2.0)].into_iter().collect()
            } else {
                Spans::from_iter([span(1.0, 9.5)])
            }
        };
        for columns in [0..16, 3..40] {
            let (a, b) = (Tile::even(2..7, columns.clone(), |column| two(0, column)), Tile::filled(2..7, columns, two));
            assert!(a.rays().zip(b.rays()).all(|(i, j)| i == j && a.spans(i) == b.spans(j)));
            assert_eq!((&a.chunk_top, &a.row_top, a.top, &a.rows), (&b.chunk_top, &b.row_top, b.top, &b.rows));
        }
    }

    #[test]
    fn a_repeated_pass_keeps_the_first_name() {
        let mut tile = tile();
        tile.remove(0, 5.0, 10.0, 1);
        assert_eq!(tile.remove(0, 5.0 - 2e-5, 10.0, 2), None);
        assert_eq!(tile.outermost(0).outer_by, 1);
    }

    #[test]
    fn a_stretch_too_small_to_count_is_gone_and_told_of() {
        let mut tile = tile();
        tile.remove(0, 1.5e-4, 10.0, 1);
        assert_eq!(tile.remove(0, 0.0, 10.0, 2), Some(0));
        assert!(ends(&tile, 0).is_empty());
    }

    #[test]
    fn freed_nodes_are_used_again() {
        let mut tile = tile();
        for round in 0..50u8 {
            let ray = usize::from(round % 24);
            tile.remove(ray, 4.0, 5.0, 1);
            tile.remove(ray, 0.0, 5.5, 2);
        }
        assert!(tile.nodes.len() <= 2, "{}", tile.nodes.len());
    }

    #[test]
    fn tops_follow_the_rays() {
        let mut tile = tile();
        for ray in 0..16 {
            tile.remove(ray, 7.0, 10.0, 1);
        }
        tile.refresh_top(0, 0);
        assert_eq!((&tile.chunk_top[..], tile.row_top(0)), (&[7.0, 10.0][..], 10.0));
    }
}
