//! What the mesh asks about the wood between the rays.

use dryturn_carve::{Replay, UNTOUCHED};
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

/// A body of wood of which single places can be asked.
pub(crate) trait Wood: Sync {
    /// Who took the wood at a place; `None` where it is still there.
    fn taken_by(&self, place: Place) -> Option<u32>;

    /// The surface that an owner made near a place, if it made one.
    fn surface(&self, by: u32, place: Place) -> Option<Height>;
}

impl Wood for Replay<'_> {
    fn taken_by(&self, Place { station, theta, radius }: Place) -> Option<u32> {
        Replay::taken_by(self, station, theta, radius)
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
