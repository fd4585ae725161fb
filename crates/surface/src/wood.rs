//! What the mesh asks about the wood between the rays.

use dryturn_carve::{Replay, UNTOUCHED, is_block};
use glam::DVec3;

use crate::place::Place;

/// A surface near a place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Height {
    /// How high the place stands over it, mm; negative in the wood.
    pub(crate) height: f64,
    /// Unit normal out of the wood.
    pub(crate) normal: DVec3,
}

/// What is at a place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct State {
    /// Whether it lies in the body.
    pub(crate) is_solid: bool,
    /// Whose surface is the border if the body ends here, as far as this side of it tells.
    pub(crate) by: Option<u32>,
}

/// A body of which single places can be asked.
pub(crate) trait Wood: Sync {
    /// What is at a place.
    fn at(&self, place: Place) -> State;

    /// The surface that an owner made near a place, if it made one.
    fn surface(&self, by: u32, place: Place) -> Option<Height>;
}

/// The wood that is left: where it is gone, whoever took it made the surface.
impl Wood for Replay<'_> {
    fn at(&self, Place { station, theta, radius }: Place) -> State {
        let by = self.taken_by(station, theta, radius);
        State { is_solid: by.is_none(), by }
    }

    /// The faces at both ends of the blank belong to its outline too.
    fn surface(&self, by: u32, Place { station, theta, radius }: Place) -> Option<Height> {
        let found = Replay::surface(self, by, station, theta, radius)?;
        let side = Height { height: found.height, normal: DVec3::from_array(found.normal) };
        if by != UNTOUCHED {
            return Some(side);
        }
        let stock = self.job().stock;
        let near = Height { height: stock.start - station, normal: DVec3::NEG_X };
        let far = Height { height: station - stock.end(), normal: DVec3::X };
        let most = |a: Height, b: Height| if b.height > a.height { b } else { a };
        Some([near, far].into_iter().fold(side, most))
    }
}

/// What blocks have taken, as a body of its own. Toward the wood that is left it ends where the block that took it went;
/// outward, in the bore and the dimple with the blank.
pub(crate) struct Removed<'a, 'b>(pub(crate) &'a Replay<'b>);

impl Wood for Removed<'_, '_> {
    fn at(&self, Place { station, theta, radius }: Place) -> State {
        let by = self.0.taken_by(station, theta, radius);
        State { is_solid: by.is_some_and(is_block), by }
    }

    fn surface(&self, by: u32, place: Place) -> Option<Height> {
        let found = Wood::surface(self.0, by, place)?;
        let Height { height, normal } = found;
        Some(if is_block(by) { Height { height: -height, normal: -normal } } else { found })
    }
}
