//! A neck by its outline.

use dryturn_carve::{Replay, Section};
use dryturn_geom::angle;

use super::matrix::Matrix;
use super::rays::Rays;
use super::section::Profile;
use super::torsion::torsion;
use super::weak::Stresses;

/// Rays that an outline is taken from.
const RAYS: usize = 360;

/// The outline at a station, mm, of what a job leaves.
pub(super) fn outline(replay: &Replay<'_>, station: f64) -> Rays {
    let step = std::f64::consts::TAU / RAYS as f64;
    let ray = |column: usize| {
        let solid = replay.ray(station, column as f64 * step).solid;
        solid.iter().rev().map(|stretch| (stretch.inner, stretch.outer)).collect()
    };
    Rays((0..RAYS).map(ray).collect())
}

/// What a section makes of a bending moment, whatever its direction, and of a torque. In bending the stress at a point r from
/// the centroid is r·I⁻¹·M, so that the greatest over all directions of M is the length of I⁻¹·r.
pub(super) fn stresses(rays: &Rays, section: &Section, profile: &Profile) -> Option<Stresses> {
    let middle = section.first.map(|moment| moment / section.area);
    let inverse = profile.inertia.inverse();
    let farthest = rays.ends().map(|point| stretched(inverse, [point[0] - middle[0], point[1] - middle[1]]));
    let bending = farthest.fold(0.0, f64::max);
    let torsion = torsion(rays.bounds()?, |point| rays.holds(point))?.stress;
    Some(Stresses { bending, torsion })
}

fn stretched(Matrix([[a, b], [c, d]]): Matrix, [y, z]: [f64; 2]) -> f64 {
    angle::hypot(a * y + b * z, c * y + d * z)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::strength::rays::tests::{rays, square};
    use crate::strength::section::tests::circle;

    /// A neck of ⌀6: 32 M/π d³ and 16 T/π d³ (any handbook); 1000 N·mm bend it with 47.157 MPa, 750 N·mm twist it with
    /// 17.684. The smallest that carries these with 9.4 MPa has ⌀7.40687.
    #[test]
    fn a_round_neck() {
        let profile = Profile::of(&circle(6.0)).unwrap();
        let exact = Stresses::of(&profile);
        assert!((1000.0 * exact.bending - 47.157).abs() < 5e-4 && (750.0 * exact.torsion - 17.683_88).abs() < 5e-6);
        let smallest = Stresses::of(&Profile::of(&circle(7.406_87)).unwrap());
        assert!((750.0 * smallest.torsion - 9.4).abs() < 1e-4 && (398.668 * exact.torsion - 9.4).abs() < 1e-4);
        let drawn = stresses(&rays(360, |_| vec![(0.0, 3.0)]), &circle(6.0), &profile).unwrap();
        assert!(
            (drawn.bending / exact.bending - 1.0).abs() < 1e-12 && (drawn.torsion / exact.torsion - 1.0).abs() < 6e-3
        );
    }

    /// A square of the side 2 is weakest over its corners, 12 M √½/s³, and twisted 1/(0.208 s³) (Timoshenko and Goodier).
    #[test]
    fn a_square_neck() {
        let second = [4.0 / 3.0, 4.0 / 3.0, 0.0];
        let section = Section { area: 4.0, second, reach: 2f64.sqrt(), ..Section::default() };
        let drawn = stresses(&rays(360, square), &section, &Profile::of(&section).unwrap()).unwrap();
        assert!((drawn.bending - 12.0 * 0.5f64.sqrt() / 8.0).abs() < 1e-3, "{drawn:?}");
        assert!((drawn.torsion * 0.208 * 8.0 - 1.0).abs() < 1e-2, "{drawn:?}");
    }
}
