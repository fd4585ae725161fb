//! The unit of the scene, and sizes that a shop would write in it.

use dryturn_geom::units::LengthUnit;

use crate::measure::{Measure, trimmed};

/// The unit that lengths are written in.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Sizes(pub(super) LengthUnit);

impl Sizes {
    /// A length as a number of the scene.
    pub(super) fn number(self, mm: f64) -> String {
        let decimals = if self.0 == LengthUnit::Inch { 4 } else { 3 };
        trimmed(mm / self.0.in_mm(), decimals)
    }

    /// A length with its unit.
    pub(super) fn told(self, mm: f64) -> Measure {
        Measure { mm, unit: self.0 }
    }

    /// The step that stock is sold in, mm: 1 mm, or 1/16 inch.
    fn step(self) -> f64 {
        if self.0 == LengthUnit::Inch { LengthUnit::Inch.in_mm() / 16.0 } else { 1.0 }
    }

    /// The nearest size of stock, mm.
    pub(super) fn nearest(self, mm: f64) -> f64 {
        ((mm / self.step()).round() * self.step()).max(self.step())
    }

    /// The next size of stock that is no less, mm.
    pub(super) fn at_least(self, mm: f64) -> f64 {
        // A hair over a size is that size.
        (((mm - 1e-6) / self.step()).ceil() * self.step()).max(self.step())
    }

    /// The cutter that is taken where none is named, mm: 6 mm, or 1/4 inch.
    pub(super) fn usual_cutter(self) -> f64 {
        if self.0 == LengthUnit::Inch { LengthUnit::Inch.in_mm() / 4.0 } else { 6.0 }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sizes_are_those_of_the_shop() {
        let (mm, inch) = (Sizes(LengthUnit::Millimetre), Sizes(LengthUnit::Inch));
        assert_eq!(
            (mm.nearest(39.6), mm.at_least(110.2), mm.at_least(110.0), mm.nearest(0.1)),
            (40.0, 111.0, 110.0, 1.0)
        );
        assert_eq!(inch.number(inch.nearest(38.0)), "1.5");
        assert_eq!(inch.number(inch.at_least(25.5)), "1.0625");
        assert_eq!(mm.told(12.5).to_string(), "12.5 mm");
    }
}
