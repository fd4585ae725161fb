//! What the mesh asks about the wood between the rays.

use dryturn_carve::{Nearby, Replay, Surface, UNTOUCHED, is_block};
use dryturn_geom::Stock;
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

/// A body, some part of which can be asked sooner than all of it.
pub(crate) trait Body: Wood {
    type Part<'a>: Wood
    where
        Self: 'a;

    /// The same between two places, the second of which has no lower station, angle or radius.
    fn between(&self, from: Place, to: Place) -> Self::Part<'_>;
}

/// The wood that is left: where it is gone, whoever took it made the surface.
impl Wood for Replay<'_> {
    fn at(&self, Place { station, theta, radius }: Place) -> State {
        left(self.taken_by(station, theta, radius))
    }

    fn surface(&self, by: u32, place: Place) -> Option<Height> {
        let found = Replay::surface(self, by, place.station, place.theta, place.radius)?;
        Some(with_faces(found, by, place.station, self.job().stock))
    }
}

impl<'j> Body for Replay<'j> {
    type Part<'a>
        = Nearby<'a, 'j>
    where
        Self: 'a;

    fn between(&self, from: Place, to: Place) -> Nearby<'_, 'j> {
        self.near((from.station, to.station), (from.theta, to.theta), (from.radius, to.radius))
    }
}

impl Wood for Nearby<'_, '_> {
    fn at(&self, Place { station, theta, radius }: Place) -> State {
        left(self.taken_by(station, theta, radius))
    }

    fn surface(&self, by: u32, place: Place) -> Option<Height> {
        let found = Nearby::surface(self, by, place.station, place.theta, place.radius)?;
        Some(with_faces(found, by, place.station, self.replay().job().stock))
    }
}

fn left(by: Option<u32>) -> State {
    State { is_solid: by.is_none(), by }
}

/// A surface; the faces at both ends of the blank belong to its outline too.
fn with_faces(found: Surface, by: u32, station: f64, stock: &Stock) -> Height {
    let side = Height { height: found.height, normal: DVec3::from_array(found.normal) };
    if by != UNTOUCHED {
        return side;
    }
    let near = Height { height: stock.start - station, normal: DVec3::NEG_X };
    let far = Height { height: station - stock.end(), normal: DVec3::X };
    let most = |a: Height, b: Height| if b.height > a.height { b } else { a };
    [near, far].into_iter().fold(side, most)
}

/// What blocks have taken, as a body of its own. Toward the wood that is left it ends where the block that took it went;
/// outward, in the bore and the dimple with the blank.
pub(crate) struct Removed<W>(pub(crate) W);

impl<W: Wood> Wood for Removed<W> {
    fn at(&self, place: Place) -> State {
        let by = self.0.at(place).by;
        State { is_solid: by.is_some_and(is_block), by }
    }

    fn surface(&self, by: u32, place: Place) -> Option<Height> {
        let found = self.0.surface(by, place)?;
        let Height { height, normal } = found;
        Some(if is_block(by) { Height { height: -height, normal: -normal } } else { found })
    }
}

impl<W: Body> Body for Removed<&W> {
    type Part<'a>
        = Removed<W::Part<'a>>
    where
        Self: 'a;

    fn between(&self, from: Place, to: Place) -> Removed<W::Part<'_>> {
        Removed(self.0.between(from, to))
    }
}

impl<W: Wood> Wood for &W {
    fn at(&self, place: Place) -> State {
        W::at(self, place)
    }

    fn surface(&self, by: u32, place: Place) -> Option<Height> {
        W::surface(self, by, place)
    }
}
