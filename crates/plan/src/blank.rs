//! The blank as it comes from the saw.

use std::f64::consts::PI;

use dryturn_geom::angle;
use dryturn_geom::units::LengthUnit;

use crate::measure::Measure;

/// A bar that may not run true.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Blank {
    /// Its section.
    pub section: Section,
    /// Whole length from the jaw face to the free end, mm.
    pub length: f64,
    /// How far its centre line is off the rotary axis all along, mm: half of what a dial indicator swings.
    pub runout: f64,
    /// How far it is bent midway between its ends, mm.
    pub bow: f64,
}

/// The section of a [`Blank`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Section {
    /// A round bar, perhaps only nearly so.
    Round {
        /// mm.
        diameter: f64,
    },
    /// A bar with flats all round.
    Polygon {
        /// 3 or more.
        sides: u32,
        /// Twice the distance from the middle to a flat, mm.
        across: f64,
    },
}

impl Blank {
    /// A square bar that runs true; lengths in mm.
    pub fn square(across: f64, length: f64) -> Blank {
        Blank { section: Section::Polygon { sides: 4, across }, length, runout: 0.0, bow: 0.0 }
    }

    /// Size across flats, or the diameter, mm.
    pub fn across(&self) -> f64 {
        match self.section {
            Section::Round { diameter } => diameter,
            Section::Polygon { across, .. } => across,
        }
    }

    /// Greatest radius about its own middle, mm.
    fn corner_radius(&self) -> f64 {
        match self.section {
            Section::Round { diameter } => diameter / 2.0,
            Section::Polygon { sides, across } => across / 2.0 / angle::sin_cos(PI / f64::from(sides)).1,
        }
    }

    /// How far a section may lie off the rotary axis, mm.
    pub fn off(&self) -> f64 {
        self.runout + self.bow
    }

    /// Diameter of the largest cylinder, or size across flats of the largest prism that lies as this one does, that this
    /// blank holds wherever its centre line goes, mm.
    pub fn clean(&self) -> f64 {
        self.across() - 2.0 * self.off()
    }

    /// A bound on the radius that it sweeps, mm.
    pub fn swept_radius(&self) -> f64 {
        self.corner_radius() + self.off()
    }

    /// What it is, in few words of plain letters.
    pub fn told(&self, unit: LengthUnit) -> String {
        let told = |mm| Measure { mm, unit };
        match self.section {
            Section::Round { diameter } => format!("round bar {}", told(diameter)),
            Section::Polygon { sides: 4, across } => format!("square bar {}", told(across)),
            Section::Polygon { sides, across } => format!("bar of {sides} flats {}", told(across)),
        }
    }

    /// Its keys in a scene. Off and bent toward the first flat, so that the flat across from it lies nearest to the axis.
    pub(crate) fn keys(&self) -> String {
        let shape = match self.section {
            Section::Round { diameter } => format!("shape = \"round\"\ndiameter = {diameter}"),
            Section::Polygon { sides: 4, across } => format!("shape = \"square\"\nacross_flats = {across}"),
            Section::Polygon { sides, across } => {
                format!("shape = \"polygon\"\nacross_flats = {across}\nsides = {sides}")
            }
        };
        let Blank { length, runout, bow, .. } = self;
        format!(
            "{shape}\nlength = {length}\nrunout = {{ y = 0, z = {runout} }}\nbow = {{ amount = {bow}, angle = 0 }}\n"
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_runs_off_and_is_bent_leaves_less() {
        let blank = Blank { runout: 0.8, bow: 1.2, ..Blank::square(50.0, 300.0) };
        assert!((blank.clean() - 46.0).abs() < 1e-12);
        // 50 times the root of two is 70.7106781 over the corners.
        assert!((blank.swept_radius() - (70.710_678_1 / 2.0 + 2.0)).abs() < 1e-7);
    }

    #[test]
    fn a_polygon_over_its_corners() {
        let blank = Blank { section: Section::Polygon { sides: 6, across: 40.0 }, ..Blank::square(1.0, 100.0) };
        assert!((2.0 * blank.swept_radius() - 46.188_021_5).abs() < 1e-6);
        assert_eq!(blank.told(LengthUnit::Millimetre), "bar of 6 flats 40 mm");
    }
}
