//! Lengths as they are told.

use std::fmt::{Display, Formatter, Result};

use dryturn_geom::units::LengthUnit;

/// A length that is told in a unit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Measure {
    /// The length, mm.
    pub mm: f64,
    /// The unit it is told in.
    pub unit: LengthUnit,
}

impl Display for Measure {
    /// With its unit and as many decimals as a caliper shows, zeros at the end left away.
    fn fmt(&self, f: &mut Formatter<'_>) -> Result {
        f.write_str(&self.with_decimals(self.decimals_of_a_caliper()))
    }
}

/// No length is told with more decimals.
const MOST_DECIMALS: usize = 9;

impl Measure {
    fn decimals_of_a_caliper(&self) -> usize {
        match self.unit {
            LengthUnit::Millimetre => 3,
            LengthUnit::Inch => 4,
        }
    }

    fn with_decimals(&self, decimals: usize) -> String {
        let name = match self.unit {
            LengthUnit::Millimetre => "mm",
            LengthUnit::Inch => "in",
        };
        format!("{} {name}", trimmed(self.mm / self.unit.in_mm(), decimals))
    }

    /// With as many decimals as it takes to tell it from another.
    pub fn beside(&self, other: Measure) -> String {
        let tells = |decimals: &usize| self.with_decimals(*decimals) != other.with_decimals(*decimals);
        let decimals = (self.decimals_of_a_caliper()..MOST_DECIMALS).find(tells).unwrap_or(MOST_DECIMALS);
        self.with_decimals(decimals)
    }
}

/// A number with so many decimals at most, and no minus zero.
pub(crate) fn trimmed(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    let text = if decimals > 0 { text.trim_end_matches('0').trim_end_matches('.') } else { &text };
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

/// A number above zero with so many figures that count, zeros at the end left away.
pub(crate) fn figures(value: f64, count: i32) -> String {
    let before = if value > 0.0 { value.log10().floor() as i32 + 1 } else { 1 };
    trimmed(value, usize::try_from(count - before).unwrap_or(0))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lengths_are_told_in_their_unit() {
        let told = |mm, unit| Measure { mm, unit }.to_string();
        assert_eq!(told(46.0, LengthUnit::Millimetre), "46 mm");
        assert_eq!(told(70.71068, LengthUnit::Millimetre), "70.711 mm");
        assert_eq!(told(38.1, LengthUnit::Inch), "1.5 in");
    }

    #[test]
    fn lengths_that_differ_are_told_so_that_it_shows() {
        let mm = |mm| Measure { mm, unit: LengthUnit::Millimetre };
        assert_eq!([mm(46.1).beside(mm(46.0)), mm(46.0).beside(mm(46.1))], ["46.1 mm", "46 mm"]);
        assert_eq!([mm(46.000_02).beside(mm(46.0)), mm(46.0).beside(mm(46.000_02))], ["46.00002 mm", "46 mm"]);
        assert_eq!(mm(46.0).beside(mm(46.0)), "46 mm");
    }

    #[test]
    fn numbers_keep_the_figures_that_count() {
        assert_eq!(
            [0.012_345_678, 89.903_21, 6228.0, 123_456.0].map(|v| figures(v, 5)),
            ["0.012346", "89.903", "6228", "123456"]
        );
        assert_eq!([trimmed(-0.00001, 3), trimmed(100.0, 0), trimmed(10.5, 4)], ["0", "100", "10.5"]);
    }
}
