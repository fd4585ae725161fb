//! A finished tile, open where there is room and packed where there is not.

use std::borrow::Cow;

use super::{Node, Packed, Tile};

/// A tile that is carved on no further.
#[derive(Clone, Debug)]
pub(crate) enum Held {
    Open(Box<Tile>),
    Packed(Packed),
}

impl Held {
    /// The tile; a packed one is unpacked for as long as it is looked at.
    pub(crate) fn tile(&self) -> Cow<'_, Tile> {
        match self {
            Held::Open(tile) => Cow::Borrowed(tile),
            Held::Packed(packed) => Cow::Owned(packed.unpack()),
        }
    }

    /// The tile to be carved on; from here on it is open.
    pub(crate) fn opened(&mut self) -> &mut Tile {
        if let Held::Packed(packed) = self {
            *self = Held::Open(Box::new(packed.unpack()));
        }
        match self {
            Held::Open(tile) => tile,
            Held::Packed(_) => unreachable!("it was opened just now"),
        }
    }

    /// Bytes it takes.
    pub(crate) fn bytes(&self) -> usize {
        match self {
            Held::Open(tile) => size_of::<(Held, Tile)>() + tile.bytes(),
            Held::Packed(packed) => size_of::<Held>() + packed.bytes(),
        }
    }
}

impl Tile {
    /// Bytes its rays take, room that is kept free included.
    pub(crate) fn bytes(&self) -> usize {
        let radii = [&self.outer, &self.inner, &self.chunk_top, &self.row_top].map(Vec::capacity);
        let words = [&self.outer_by, &self.inner_by, &self.more].map(Vec::capacity);
        let numbers: usize = radii.iter().chain(&words).sum();
        numbers * size_of::<u32>() + self.nodes.capacity() * size_of::<Node>()
    }
}
