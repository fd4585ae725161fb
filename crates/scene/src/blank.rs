//! The blank's solid and the heights a cutter is touched off at.

use dryturn_geom::{Bow, Maker, Offset, Section, Solid, Stock, angle};

use crate::model::{Blank, BlankShape, KeptBlank};

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
            BlankShape::Mesh { solid: Some(solid), .. } | BlankShape::Kept(KeptBlank { solid: Some(solid), .. }) => {
                (Section::Solid(solid.clone()), 0.0)
            }
            BlankShape::Mesh { solid: None, .. } | BlankShape::Kept(KeptBlank { solid: None, .. }) => {
                (Section::Round { radius: f64::NAN }, 0.0)
            }
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

    /// How much farther out of the holding it sits than the holding says, mm.
    pub fn shift(&self) -> f64 {
        if let BlankShape::Kept(kept) = &self.shape { kept.shift } else { 0.0 }
    }

    /// The solid of a blank that is no bar.
    fn solid(&self) -> Option<&dyn Solid> {
        match &self.shape {
            BlankShape::Mesh { solid, .. } | BlankShape::Kept(KeptBlank { solid, .. }) => {
                Some(solid.as_ref()?.0.as_ref())
            }
            _ => None,
        }
    }

    /// The programs that were run over it in earlier set-ups, as (set-up, file).
    pub fn programs_before(&self) -> Vec<(&str, &str)> {
        self.solid().map_or_else(Vec::new, |solid| solid.programs())
    }

    /// Bytes that a blank takes which is no bar.
    pub fn bytes(&self) -> u64 {
        self.solid().map_or(0, |solid| solid.bytes())
    }

    /// The line of an earlier set-up that a maker of the blank is.
    pub fn maker(&self, maker: u32) -> Option<Maker<'_>> {
        self.solid()?.maker(maker)
    }

    /// Whether the section is another at every station.
    pub fn is_solid(&self) -> bool {
        matches!(self.shape, BlankShape::Mesh { .. } | BlankShape::Kept(_))
    }

    /// Whether the section is a disc or a ring.
    pub fn is_round(&self) -> bool {
        matches!(self.shape, BlankShape::Round { .. } | BlankShape::Tube { .. })
    }
}
