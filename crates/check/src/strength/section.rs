//! What a section of wood is worth in bending and torsion, from its integrals alone.

use std::f64::consts::{PI, TAU};

use dryturn_carve::Section;
use dryturn_geom::angle;

use super::matrix::Matrix;

/// How far the polar second moment of a section may lie over that of the circle of its area for it to be taken as one.
/// A regular polygon of 12 sides lies 0.0005 over it, one of 8 sides 0.0026; a saw cut to the axis as wide as a
/// hundredth of the radius 0.004.
const ROUND: f64 = 1e-3;

/// A section about its own centroid; the directions are y and z of the blank frame.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Profile {
    /// mm².
    pub(crate) area: f64,
    /// Second moments, mm⁴.
    pub(crate) inertia: Matrix,
    /// A bound on the distance of its outermost wood from the centroid, mm.
    pub(crate) reach: f64,
}

impl Profile {
    /// The profile of a section; `None` where too little is left of it to have any stiffness.
    pub(crate) fn of(section: &Section) -> Option<Profile> {
        let Section { area, first, second, reach } = *section;
        let [y, z] = first.map(|moment| moment / area);
        let across = second[2] - area * y * z;
        let inertia = Matrix([[second[0] - area * y * y, across], [across, second[1] - area * z * z]]);
        let is_whole = area > 0.0 && inertia.least() > 0.0 && inertia.greatest().is_finite();
        is_whole.then(|| Profile { area, inertia, reach: reach + angle::diagonal(y, z) })
    }

    /// Polar second moment, mm⁴.
    fn polar(&self) -> f64 {
        self.inertia.0[0][0] + self.inertia.0[1][1]
    }

    /// Whether it is a full circle, wherever its middle lies. Of all sections of one area the circle alone has the least
    /// polar second moment, area²/2π, so that equality proves it.
    pub(crate) fn is_round(&self) -> bool {
        self.polar() <= (1.0 + ROUND) * self.area * self.area / TAU
    }

    /// Diameter of the circle of the same area, mm.
    pub(crate) fn diameter(&self) -> f64 {
        2.0 * (self.area / PI).sqrt()
    }

    /// Share by which the shear of a section deflects more than its mean shear stress would: 10/9 of a circle and 6/5 of a
    /// rectangle, both from the strain energy of the parabolic shear stress (Roark's Formulas for Stress and Strain, section
    /// on the deflection due to shear, from memory). No other value is known for what a cutter leaves; the rectangle's stands in.
    pub(crate) fn shear_coefficient(&self) -> f64 {
        if self.is_round() { 10.0 / 9.0 } else { 6.0 / 5.0 }
    }

    /// Torsion constant by Saint-Venant's rule area⁴/(4π²·polar second moment), mm⁴ (Saint-Venant, 1855, from memory): exact
    /// for the circle and the ellipse, within a tenth for full sections, and too low, never too high, for a closed tube.
    pub(crate) fn torsion_estimate(&self) -> f64 {
        let square = self.area * self.area;
        square * square / (4.0 * PI * PI * self.polar())
    }
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;

    /// A full circle about the axis.
    pub(crate) fn circle(diameter: f64) -> Section {
        let (radius, area) = (0.5 * diameter, 0.25 * PI * diameter * diameter);
        let second = 0.25 * area * radius * radius;
        Section { area, first: [0.0; 2], second: [second, second, 0.0], reach: radius }
    }

    /// A section moved off the axis.
    pub(crate) fn moved(section: &Section, [y, z]: [f64; 2]) -> Section {
        let Section { area, first: [sy, sz], second: [yy, zz, yz], reach } = *section;
        Section {
            area,
            first: [sy + area * y, sz + area * z],
            second: [
                yy + 2.0 * y * sy + area * y * y,
                zz + 2.0 * z * sz + area * z * z,
                yz + y * sz + z * sy + area * y * z,
            ],
            reach: reach + angle::diagonal(y, z),
        }
    }

    #[test]
    fn a_circle_is_one_wherever_it_stands() {
        let there = Profile::of(&moved(&circle(10.0), [7.0, -3.0])).unwrap();
        assert!(there.is_round() && (there.diameter() - 10.0).abs() < 1e-12);
        assert!((there.inertia.0[0][0] - PI * 1e4 / 64.0).abs() < 1e-9 && there.inertia.0[0][1].abs() < 1e-9);
        assert!((there.torsion_estimate() / (PI * 1e4 / 32.0) - 1.0).abs() < 1e-12);
    }

    /// A regular polygon of `sides` and the apothem 1: area n·t, polar second moment n·t·(1/2 + t²/6), t = tan(π/n).
    #[test]
    fn a_polygon_is_none() {
        let polygon = |sides: f64| {
            let t = (PI / sides).tan();
            let polar = sides * t * (0.5 + t * t / 6.0);
            Section { area: sides * t, first: [0.0; 2], second: [0.5 * polar, 0.5 * polar, 0.0], reach: 1.0 }
        };
        assert!(!Profile::of(&polygon(4.0)).unwrap().is_round());
        assert!(!Profile::of(&polygon(8.0)).unwrap().is_round());
        assert!(Profile::of(&polygon(24.0)).unwrap().is_round());
    }

    #[test]
    fn nothing_has_no_profile() {
        assert_eq!(Profile::of(&Section::default()), None);
        assert_eq!(Profile::of(&Section { area: f64::NAN, ..circle(3.0) }), None);
        // A blade without width.
        assert_eq!(Profile::of(&Section { second: [4.0, 0.0, 0.0], ..circle(3.0) }), None);
    }
}
