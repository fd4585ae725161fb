//! Rays one by one, of a blank that may be packed.

use std::cell::RefCell;

use crate::carved::Carved;
use crate::dexel::Dexel;
use crate::grid::Grid;
use crate::tile::{Held, Tile};

/// Rows of tiles that stay open: those of the ray looked at last, and those before and behind it.
const BANDS: usize = 3;

/// Looks at rays of a carved blank one by one and keeps the packed tiles open that it passed last, so that looking along
/// rows and at their neighbours opens each tile once. One for each thread: see [`Carved::reader`].
#[derive(Debug)]
pub struct Reader<'a> {
    carved: &'a Carved,
    /// Each tile has its place here, by its number modulo their count.
    opened: RefCell<Vec<Option<(usize, Tile)>>>,
}

impl Carved {
    /// Something that looks at rays here and there, for one thread.
    pub fn reader(&self) -> Reader<'_> {
        Reader { carved: self, opened: RefCell::default() }
    }
}

impl Reader<'_> {
    /// Where the rays stand.
    pub fn grid(&self) -> &Grid {
        self.carved.grid()
    }

    /// Looks at a ray.
    ///
    /// # Panics
    /// If the row or the column is not on the grid.
    pub fn look<T>(&self, row: usize, column: usize, at: impl FnOnce(Dexel<'_>) -> T) -> T {
        let layout = &self.carved.layout;
        let number = layout.tile_of(row, column);
        let packed = match &self.carved.tiles[number] {
            Held::Open(tile) => return at(Dexel::new(tile, row, column)),
            Held::Packed(packed) => packed,
        };
        let mut opened = self.opened.borrow_mut();
        if opened.is_empty() {
            opened.resize_with(BANDS * layout.across, || None);
        }
        let place = number % opened.len();
        let place = &mut opened[place];
        if place.as_ref().is_some_and(|(other, _)| *other != number) {
            *place = None;
        }
        let (_, tile) = place.get_or_insert_with(|| (number, packed.unpack()));
        at(Dexel::new(tile, row, column))
    }
}
