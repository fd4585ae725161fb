//! One ray on its own: what a straight move removes from it, without any grid.

use dryturn_geom::{Flutes, Pose, angle};

use crate::kernel::{self, Passages, Piece, Range};

/// The radii (mm) within 0 … `outer` of the ray at a station (mm) and angle θ (radians) that lie inside the flutes at
/// any instant of the straight move between two poses; sorted and disjoint.
///
/// The move may turn the blank any number of times.
pub fn removed(flutes: &Flutes, from: &Pose, to: &Pose, station: f64, theta: f64, outer: f64) -> Passages {
    let mut passages = Passages::new();
    let direction = angle::sin_cos(theta);
    let count = kernel::piece_count(to.turn - from.turn);
    for k in 0..count {
        let at = |k: u32| from.toward(to, f64::from(k) / f64::from(count));
        let piece = Piece::new(&at(k), &at(k + 1));
        let ray = piece.ray(station, piece.aim(direction));
        for part in flutes.parts() {
            passages.extend(kernel::sweep(part, &ray, Range { inner: 0.0, outer }));
        }
    }
    kernel::join(&mut passages);
    passages
}

#[cfg(test)]
mod tests {
    use super::*;
    use dryturn_geom::Shape;
    use dryturn_geom::angle::radians;

    /// At the end of the piece the ray passes through the very point of the drill, where a normal made of rounding errors
    /// would prove anything.
    #[test]
    fn the_point_of_a_drill_proves_nothing() {
        let drill = Flutes::new(Shape::Drill { half_angle: radians(67.5) }, 1.0, 20.0).unwrap();
        let from =
            Pose { x: -15.02352784116683, y: -0.200891437452946, z: 0.7978938691763846, turn: 0.1812141541941475 };
        let to = Pose { x: -13.733310890338748, y: 0.5099827092528084, z: 1.578410188245078, turn: 0.333215578650966 };
        let found = removed(&drill, &from, &to, -14.765484451001214, 0.2730848896802018, 6.0);
        assert_eq!(found.len(), 1);
        // From the self-certifying reference of the tests.
        assert!((found[0].0 - 0.9190565015).abs() < 1e-5, "{found:?}");
    }
}
