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
    /// Its torsion constant, about, mm⁴.
    pub(crate) torsion: f64,
}

/// What the torsion constant of a section that is not round may be taken too great by: the rules hold to a tenth.
const BY_RULE: f64 = 0.9;

impl Profile {
    /// The profile of a section; `None` where too little is left of it to have any stiffness.
    pub(crate) fn of(section: &Section) -> Option<Profile> {
        let Section { area, first, second, reach, .. } = *section;
        let [y, z] = first.map(|moment| moment / area);
        let across = second[2] - area * y * z;
        let inertia = Matrix([[second[0] - area * y * y, across], [across, second[1] - area * z * z]]);
        let is_whole = area > 0.0 && inertia.least() > 0.0 && inertia.greatest().is_finite();
        let reach = reach + angle::diagonal(y, z);
        is_whole.then(|| Profile { area, inertia, reach, torsion: torsion(section, polar(&inertia)) })
    }

    /// Whether it is a full circle, wherever its middle lies. Of all sections of one area the circle alone has the least
    /// polar second moment, area²/2π, so that equality proves it.
    pub(crate) fn is_round(&self) -> bool {
        polar(&self.inertia) <= (1.0 + ROUND) * self.area * self.area / TAU
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

    /// A bound from below on the torsion constant, mm⁴.
    pub(crate) fn torsion_at_least(&self) -> f64 {
        if self.is_round() { self.torsion } else { BY_RULE * self.torsion }
    }
}

/// Polar second moment, mm⁴.
fn polar(inertia: &Matrix) -> f64 {
    inertia.0[0][0] + inertia.0[1][1]
}

/// Torsion constant of a section, mm⁴, given its polar second moment about its centroid. It is exact for the circle, the
/// ellipse and the round tube, and about a tenth too great at the most for others.
///
/// A full section is worth area⁴/(4π²·polar second moment) (Saint-Venant, 1855, from memory). Where wood goes all round a
/// hole, the section is worth what it would be without the hole less what fills that, and as a wall that is closed
/// 4·inside²/∫ ds/t + ∫ t³ ds/4 (Bredt, 1896, from memory; the second part makes it exact for a round tube of any wall):
/// both lie above the truth, the one where walls are thin in places, the other where they are thick. It is worth no less than
/// the round tube in it, for more wood never makes it weaker. A wall that does not close is worth ∫ t³ ds/3 at the most
/// (Timoshenko and Goodier, *Theory of Elasticity*, chapter on torsion, from memory).
fn torsion(section: &Section, polar: f64) -> f64 {
    let Section { area, ring: [hole, rim], walls, inside, around, .. } = *section;
    let full = |area: f64, polar: f64| area.powi(4) / (4.0 * PI * PI * polar);
    if rim <= hole {
        return full(area, polar).min(walls / 3.0);
    }
    let round = |radius: f64| 0.5 * PI * radius.powi(4);
    let without_hole = full(area + PI * hole * hole, polar + round(hole)) - round(hole);
    let as_wall = 4.0 * inside * inside / around + 0.25 * walls;
    without_hole.min(as_wall).max(round(rim) - round(hole))
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;
    use crate::strength::rays::tests::rays;

    /// A full circle about the axis.
    pub(crate) fn circle(diameter: f64) -> Section {
        let (radius, area) = (0.5 * diameter, 0.25 * PI * diameter * diameter);
        let second = 0.25 * area * radius * radius;
        // As a wall it is as thick as its radius, and half as far around.
        let walls = PI * radius.powi(4);
        let (second, ring) = ([second, second, 0.0], [0.0, radius]);
        Section { area, first: [0.0; 2], second, reach: radius, ring, walls, inside: 0.25 * area, around: PI }
    }

    /// A section moved off the axis.
    pub(crate) fn moved(section: &Section, [y, z]: [f64; 2]) -> Section {
        let Section { area, first: [sy, sz], second: [yy, zz, yz], reach, .. } = *section;
        Section {
            area,
            first: [sy + area * y, sz + area * z],
            second: [
                yy + 2.0 * y * sy + area * y * y,
                zz + 2.0 * z * sz + area * z * z,
                yz + y * sz + z * sy + area * y * z,
            ],
            reach: reach + angle::diagonal(y, z),
            ..*section
        }
    }

    #[test]
    fn a_circle_is_one_wherever_it_stands() {
        let there = Profile::of(&moved(&circle(10.0), [7.0, -3.0])).unwrap();
        assert!(there.is_round() && (there.diameter() - 10.0).abs() < 1e-12);
        assert!((there.inertia.0[0][0] - PI * 1e4 / 64.0).abs() < 1e-9 && there.inertia.0[0][1].abs() < 1e-9);
        assert!((there.torsion / (PI * 1e4 / 32.0) - 1.0).abs() < 1e-12);
    }

    /// A regular polygon of `sides` and the apothem 1: area n·t, polar second moment n·t·(1/2 + t²/6), t = tan(π/n).
    #[test]
    fn a_polygon_is_none() {
        let polygon = |sides: f64| {
            let t = (PI / sides).tan();
            let polar = sides * t * (0.5 + t * t / 6.0);
            Section {
                area: sides * t,
                first: [0.0; 2],
                second: [0.5 * polar, 0.5 * polar, 0.0],
                reach: 1.0,
                ..Section::default()
            }
        };
        assert!(!Profile::of(&polygon(4.0)).unwrap().is_round());
        assert!(!Profile::of(&polygon(8.0)).unwrap().is_round());
        assert!(Profile::of(&polygon(24.0)).unwrap().is_round());
    }

    /// A tube about the axis; slit along, it is no ring.
    fn tube([inner, outer]: [f64; 2], is_slit: bool) -> Section {
        let [solid, hole] = [outer, inner].map(|radius| circle(2.0 * radius));
        let second = [0, 1, 2].map(|k| solid.second[k] - hole.second[k]);
        let ring = [inner, if is_slit { 0.0 } else { outer }];
        let walls = (outer - inner).powi(3) * PI * (outer + inner);
        let (inside, around) = (0.25 * PI * (outer + inner).powi(2), PI * (outer + inner) / (outer - inner));
        Section { area: solid.area - hole.area, second, ring, walls, inside, around, ..solid }
    }

    /// π/2 (b⁴ − a⁴) closed, at any wall; 2π r t³/3 slit, of a thin one (any handbook).
    #[test]
    fn a_tube_is_stiff_while_it_is_closed() {
        for inner in [0.0f64, 5.0, 9.0, 9.9] {
            let closed = Profile::of(&tube([inner, 10.0], false)).unwrap().torsion;
            assert!((closed / (0.5 * PI * (1e4 - inner.powi(4))) - 1.0).abs() < 1e-12, "{inner}: {closed}");
        }
        let slit = Profile::of(&tube([9.0, 10.0], true)).unwrap().torsion;
        assert!((slit / (2.0 * PI * 9.5 / 3.0) - 1.0).abs() < 1e-12, "{slit}");
        // With a thick wall it is still no more than the full rule has it.
        let thick = Profile::of(&tube([2.0, 10.0], true)).unwrap().torsion;
        assert!(thick < 0.5 * PI * 1e4, "{thick}");
    }

    /// Square and hexagonal bars, bored: torsion constants by finite elements (sectionproperties 3.10.2).
    #[test]
    fn a_bored_bar_is_stiff_whatever_its_outline() {
        for (sides, bore, expected) in [
            (4, 10.0, 21_503.0),
            (4, 15.0, 17_302.0),
            (4, 18.0, 11_031.0),
            (4, 19.0, 7_556.0),
            (6, 10.0, 17_426.0),
            (6, 16.0, 11_927.0),
        ] {
            let corners = TAU / f64::from(sides);
            let rim = |[y, z]: [f64; 2]| {
                let faces = (0..sides).map(|k| angle::sin_cos(f64::from(k) * corners));
                10.0 / faces.map(|(sine, cosine)| y * cosine + z * sine).fold(0.0, f64::max)
            };
            let section = rays(720, |toward| vec![(0.5 * bore, rim(toward))]).section();
            let found = Profile::of(&section).unwrap().torsion / expected;
            assert!((1.0..1.11).contains(&found), "{sides} sides, bored {bore}: {found}");
        }
    }

    #[test]
    fn nothing_has_no_profile() {
        assert_eq!(Profile::of(&Section::default()), None);
        assert_eq!(Profile::of(&Section { area: f64::NAN, ..circle(3.0) }), None);
        // A blade without width.
        assert_eq!(Profile::of(&Section { second: [4.0, 0.0, 0.0], ..circle(3.0) }), None);
    }
}
