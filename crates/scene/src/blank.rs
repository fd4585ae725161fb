//! The blank's solid and the heights a cutter is touched off at.

use dryturn_geom::{Bow, Offset, Section, Stock, angle};

use crate::model::{Blank, BlankShape};

impl Blank {
    /// The solid of the blank with its end in the holding at the station `start` (mm).
    pub fn stock(&self, start: f64) -> Stock {
        let (section, bore) = match &self.shape {
            BlankShape::Round { diameter } => (Section::Round { radius: diameter / 2.0 }, 0.0),
            BlankShape::Tube { diameter, bore } => (Section::Round { radius: diameter / 2.0 }, bore / 2.0),
            BlankShape::Square { across_flats } => (Section::Polygon { apothem: across_flats / 2.0, sides: 4 }, 0.0),
            BlankShape::Polygon { across_flats, sides } => {
                (Section::Polygon { apothem: across_flats / 2.0, sides: *sides }, 0.0)
            }
            BlankShape::Mesh { solid: Some(solid), .. } => (Section::Solid(solid.clone()), 0.0),
            BlankShape::Mesh { solid: None, .. } => (Section::Round { radius: f64::NAN }, 0.0),
        };
        let offset = |[y, z]: [f64; 2]| Offset { y, z };
        Stock {
            section,
            bore,
            start,
            length: self.length,
            turned: angle::radians(self.turned_deg),
            near: offset(self.runout),
            far: offset(self.runout_far),
            bow: Bow { amount: self.bow, angle: angle::radians(self.bow_angle_deg) },
        }
    }

    /// Half the diameter, or the radius over the corners, mm; runout ignored.
    pub fn corner_radius(&self) -> f64 {
        self.stock(0.0).corner_radius()
    }

    /// Half the diameter, or half the size across flats, mm; runout ignored.
    pub fn flat_radius(&self) -> f64 {
        self.stock(0.0).flat_radius()
    }

    /// Whether the section is a disc or a ring.
    pub fn is_round(&self) -> bool {
        matches!(self.shape, BlankShape::Round { .. } | BlankShape::Tube { .. })
    }
}
