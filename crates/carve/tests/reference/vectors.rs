//! Single rays that have caught faulty kernels, by name.

use super::walks::{Case, Regime};
use dryturn_geom::{Flutes, Pose, Shape};

/// One row of the table.
pub(crate) struct Vector {
    pub(crate) name: &'static str,
    pub(crate) case: Case,
    pub(crate) spans: &'static [(f64, f64)],
}

/// A cutter of a diameter and a length of flutes, mm.
pub(crate) fn cutter(shape: Shape, diameter: f64, length: f64) -> Flutes {
    Flutes::new(shape, 0.5 * diameter, length).expect("the tests' cutters are cutters")
}

/// X, Y, Z in mm and the turn in degrees.
pub(crate) fn pose(row: [f64; 4]) -> Pose {
    Pose { x: row[0], y: row[1], z: row[2], turn: row[3].to_radians() }
}

/// Rays on which simpler ways fail, with spans found by dense sampling of time and radius.
pub(crate) fn vectors() -> Vec<Vector> {
    let row = |name, flutes, (station, degrees): (f64, f64), from, to, spans| {
        let (from, to, theta) = (pose(from), pose(to), degrees.to_radians());
        // Nearly all the motions move everything; a ray is longer than what any of them cuts from it.
        let case = Case { regime: Regime::Combined, flutes, from, to, station, theta, outer: 200.0 };
        Vector { name, case, spans }
    };
    let taper =
        |tip_diameter: f64, ball| Shape::Taper { half_angle: 3f64.to_radians(), tip_radius: 0.5 * tip_diameter, ball };
    vec![
        row(
            "N1",
            cutter(Shape::Flat, 12.0, 8.0),
            (-15.9736, 200.1707),
            [-19.8747, 5.1012, 6.5191, -156.6639],
            [-19.5215, 5.1012, 6.6187, -157.5237],
            &[(6.621777, 14.630544)],
        ),
        row(
            "N2",
            cutter(Shape::Flat, 6.0, 20.0),
            (-18.6017, 61.8090),
            [-15.704, 4.1158, 15.7507, 71.158],
            [-15.601, 4.1158, 15.8692, 73.6721],
            &[(19.138249, 30.117664)],
        ),
        row(
            "N3",
            cutter(Shape::Ball, 1.0, 8.0),
            (-11.1697, 39.7189),
            [-10.4082, 0.0, 23.8505, 399.0521],
            [-10.8669, -0.2984, 23.5846, 400.084],
            &[(24.091350, 28.892169)],
        ),
        row(
            "N4",
            cutter(Shape::Flat, 3.0, 40.0),
            (4.0399, 122.3826),
            [1.1889, 0.0, -4.2514, 135.3258],
            [3.9706, 1.4419, -6.115, 111.5353],
            &[(0.0, 3.209228), (20.359642, 34.850053)],
        ),
        row(
            "N5",
            cutter(Shape::Flat, 3.0, 12.0),
            (-46.2116, 28.3077),
            [-46.1152, -1.0136, 1.8427, -324.2454],
            [-49.022, -2.5544, 0.7423, -351.0513],
            &[(1.599806, 3.862544), (10.039805, 13.495492)],
        ),
        row(
            "N6",
            cutter(taper(0.5, true), 6.0, 80.0),
            (15.8931, 312.0278),
            [15.6058, 0.0, -6.1506, -56.0468],
            [14.9, 0.0, -4.9458, -51.2582],
            &[(0.0, 6.022587), (17.455014, 49.386829)],
        ),
        row(
            "N7",
            cutter(Shape::Ball, 6.0, 80.0),
            (-32.9846, 346.4529),
            [-31.0519, -3.0121, -6.1142, -163.2236],
            [-31.2537, -2.2259, -7.5178, -208.777],
            &[(0.0, 0.854242), (1.421349, 6.260356)],
        ),
        row(
            "N8",
            cutter(Shape::Flat, 6.0, 12.0),
            (-0.9253, 51.6657),
            [11.214, 0.0, 38.5961, 46.7533],
            [-1.5471, -5.4052, 44.9258, 46.7533],
            &[(43.290627, 57.135671)],
        ),
        row(
            "N9",
            cutter(Shape::Flat, 12.0, 12.0),
            (-4.2878, 130.8925),
            [-11.742, -6.391, 34.4217, 122.7608],
            [-5.5958, -7.3699, 38.4823, 113.6777],
            &[(35.962628, 49.928921)],
        ),
        row(
            "N10",
            cutter(Shape::Drill { half_angle: 67.5f64.to_radians() }, 6.0, 40.0),
            (-21.5308, 259.5093),
            [-23.2115, -3.8858, 33.5665, 255.1348],
            [-24.023, -7.6051, 31.7238, 250.2369],
            &[(33.766849, 73.781440)],
        ),
        row(
            "N11",
            cutter(Shape::Bull { corner: 2.0 }, 6.0, 12.0),
            (0.0975, 3.5899),
            [0.9431, 0.0, 1.8293, -323.2812],
            [1.2915, 0.6494, 3.17, -318.1926],
            &[(2.259143, 5.388496)],
        ),
        row(
            "N12",
            cutter(Shape::Ball, 6.0, 40.0),
            (-52.1888, 190.2358),
            [-48.3033, 0.0, 17.3153, -302.2133],
            [-57.4833, 0.0, 17.5028, -776.065],
            &[(17.451060, 57.481913)],
        ),
        row(
            "N13",
            cutter(taper(2.0, true), 6.0, 80.0),
            (4.231473, 285.5504),
            [6.016932, 5.769628, 21.146744, -65.206837],
            [5.575046, 5.769628, 21.141751, -63.015709],
            &[(29.258603, 34.843127), (37.965734, 40.900872)],
        ),
    ]
}
