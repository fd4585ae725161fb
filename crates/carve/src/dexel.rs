//! One ray of a grid and the solid along it.

use crate::tile::{PREPARED, Span, Tile, UNTOUCHED};

/// A ray of a carved grid.
#[derive(Clone, Copy, Debug)]
pub struct Dexel<'a> {
    tile: &'a Tile,
    ray: usize,
}

impl<'a> Dexel<'a> {
    /// The ray of a tile in a row and a column of the grid.
    pub(crate) fn new(tile: &'a Tile, row: usize, column: usize) -> Dexel<'a> {
        Dexel { tile, ray: tile.index(row, column) }
    }

    /// All rays of a tile in a row of the grid.
    pub(crate) fn row(tile: &'a Tile, row: usize) -> impl Iterator<Item = Dexel<'a>> {
        let first = tile.index(row, tile.columns.start);
        (first..first + tile.columns.len()).map(move |ray| Dexel { tile, ray })
    }

    /// The solid along the ray, from the outside in.
    pub fn spans(&self) -> impl Iterator<Item = Span> + use<> {
        self.tile.spans(self.ray).into_iter()
    }

    /// Calls `visit` with the solid along the ray, from the outside in; quicker than [`Dexel::spans`].
    #[inline]
    pub fn each_span(&self, visit: impl FnMut(&Span)) {
        self.tile.each_span(self.ray, visit);
    }

    /// The outermost radius of solid, mm; 0 where nothing is left.
    pub fn radius(&self) -> f32 {
        self.tile.outermost(self.ray).outer
    }

    /// The block that made the outermost end, or emptied the ray; [`UNTOUCHED`] or [`PREPARED`] where none did.
    pub fn cut_by(&self) -> u32 {
        let span = self.tile.outermost(self.ray);
        if span.outer > span.inner || span.outer_by != UNTOUCHED { span.outer_by } else { PREPARED }
    }
}
