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

    struct Vector {
        name: &'static str,
        flutes: Flutes,
        station: f64,
        theta: f64,
        from: [f64; 4],
        to: [f64; 4],
        spans: &'static [(f64, f64)],
    }

    fn flat(diameter: f64, length: f64) -> Flutes {
        Flutes::new(Shape::Flat, 0.5 * diameter, length).unwrap()
    }

    fn ball(diameter: f64, length: f64) -> Flutes {
        Flutes::new(Shape::Ball, 0.5 * diameter, length).unwrap()
    }

    fn taper(tip: f64, diameter: f64, length: f64) -> Flutes {
        let shape = Shape::Taper { half_angle: radians(3.0), tip_radius: 0.5 * tip, ball: true };
        Flutes::new(shape, 0.5 * diameter, length).unwrap()
    }

    /// Rays on which simpler methods are known to fail; spans from dense independent sampling.
    #[rustfmt::skip]
    fn vectors() -> Vec<Vector> {
        vec![
            Vector { name: "concave, then a kink", flutes: flat(12.0, 8.0), station: -15.9736, theta: 200.1707,
                from: [-19.8747, 5.1012, 6.5191, -156.6639], to: [-19.5215, 5.1012, 6.6187, -157.5237], spans: &[(6.621777, 14.630544)] },
            Vector { name: "the slice shrinks to nothing", flutes: flat(6.0, 20.0), station: -18.6017, theta: 61.8090,
                from: [-15.704, 4.1158, 15.7507, 71.158], to: [-15.601, 4.1158, 15.8692, 73.6721], spans: &[(19.138249, 30.117664)] },
            Vector { name: "both ends miss", flutes: ball(1.0, 8.0), station: -11.1697, theta: 39.7189,
                from: [-10.4082, 0.0, 23.8505, 399.0521], to: [-10.8669, -0.2984, 23.5846, 400.084], spans: &[(24.091350, 28.892169)] },
            Vector { name: "two passages", flutes: flat(3.0, 40.0), station: 4.0399, theta: 122.3826,
                from: [1.1889, 0.0, -4.2514, 135.3258], to: [3.9706, 1.4419, -6.115, 111.5353], spans: &[(0.0, 3.209228), (20.359642, 34.850053)] },
            Vector { name: "two passages that merge at 5 degrees", flutes: flat(3.0, 12.0), station: -46.2116, theta: 28.3077,
                from: [-46.1152, -1.0136, 1.8427, -324.2454], to: [-49.022, -2.5544, 0.7423, -351.0513], spans: &[(1.599806, 3.862544), (10.039805, 13.495492)] },
            Vector { name: "both ends hit, still two", flutes: taper(0.5, 6.0, 80.0), station: 15.8931, theta: 312.0278,
                from: [15.6058, 0.0, -6.1506, -56.0468], to: [14.9, 0.0, -4.9458, -51.2582], spans: &[(0.0, 6.022587), (17.455014, 49.386829)] },
            Vector { name: "a small gap near the axis", flutes: ball(6.0, 80.0), station: -32.9846, theta: 346.4529,
                from: [-31.0519, -3.0121, -6.1142, -163.2236], to: [-31.2537, -2.2259, -7.5178, -208.777], spans: &[(0.0, 0.854242), (1.421349, 6.260356)] },
            Vector { name: "straight, minimum inside, one end misses", flutes: flat(6.0, 12.0), station: -0.9253, theta: 51.6657,
                from: [11.214, 0.0, 38.5961, 46.7533], to: [-1.5471, -5.4052, 44.9258, 46.7533], spans: &[(43.290627, 57.135671)] },
            Vector { name: "far lower than either end", flutes: flat(12.0, 12.0), station: -4.2878, theta: 130.8925,
                from: [-11.742, -6.391, 34.4217, 122.7608], to: [-5.5958, -7.3699, 38.4823, 113.6777], spans: &[(35.962628, 49.928921)] },
            Vector { name: "a kink after a concave stretch", flutes: Flutes::new(Shape::Drill { half_angle: radians(67.5) }, 3.0, 40.0).unwrap(), station: -21.5308, theta: 259.5093,
                from: [-23.2115, -3.8858, 33.5665, 255.1348], to: [-24.023, -7.6051, 31.7238, 250.2369], spans: &[(33.766849, 73.781440)] },
            Vector { name: "upper end at a corner of the cap", flutes: Flutes::new(Shape::Bull { corner: 2.0 }, 3.0, 12.0).unwrap(), station: 0.0975, theta: 3.5899,
                from: [0.9431, 0.0, 1.8293, -323.2812], to: [1.2915, 0.6494, 3.17, -318.1926], spans: &[(2.259143, 5.388496)] },
            Vector { name: "474 degrees, one passage", flutes: ball(6.0, 40.0), station: -52.1888, theta: 190.2358,
                from: [-48.3033, 0.0, 17.3153, -302.2133], to: [-57.4833, 0.0, 17.5028, -776.065], spans: &[(17.451060, 57.481913)] },
            Vector { name: "two passages within 1.5 degrees", flutes: taper(2.0, 6.0, 80.0), station: 4.231473, theta: 285.5504,
                from: [6.016932, 5.769628, 21.146744, -65.206837], to: [5.575046, 5.769628, 21.141751, -63.015709], spans: &[(29.258603, 34.843127), (37.965734, 40.900872)] },
        ]
    }

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

    #[test]
    fn known_hard_rays_are_exact() {
        for vector in vectors() {
            let pose = |p: [f64; 4]| Pose { x: p[0], y: p[1], z: p[2], turn: radians(p[3]) };
            let found = removed(
                &vector.flutes,
                &pose(vector.from),
                &pose(vector.to),
                vector.station,
                radians(vector.theta),
                1e3,
            );
            assert_eq!(found.len(), vector.spans.len(), "{}: {found:?} for {:?}", vector.name, vector.spans);
            for (a, b) in found.iter().zip(vector.spans) {
                // The numbers above are given to four decimals of input, so to about 1 µm.
                let off = (a.0 - b.0).abs().max((a.1 - b.1).abs());
                assert!(off < 1e-3, "{}: {found:?} for {:?}", vector.name, vector.spans);
            }
        }
    }
}
