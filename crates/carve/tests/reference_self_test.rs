//! The slow reference itself, held against closed forms, computed vectors and blunt sampling.

mod reference;

use dryturn_geom::{Flutes, Pose, Shape};
use rayon::prelude::*;
use reference::walks::{Case, FAMILIES, REGIMES, case};
use reference::{Removed, TOLERANCE, removed, worst_difference};
use std::f64::consts::TAU;

fn cutter(shape: Shape, diameter: f64, length: f64) -> Flutes {
    Flutes::new(shape, 0.5 * diameter, length).unwrap()
}

/// X, Y, Z in mm and the turn in degrees.
fn pose(row: [f64; 4]) -> Pose {
    Pose { x: row[0], y: row[1], z: row[2], turn: row[3].to_radians() }
}

fn answer(case: &Case) -> Removed {
    removed(&case.flutes, &case.from, &case.to, case.station, case.theta, case.outer)
}

/// A ray (station in mm, angle in degrees, length) under a motion must lose the spans given, to a tenth of a micrometre.
fn expect(name: &str, flutes: &Flutes, motion: [[f64; 4]; 2], ray: (f64, f64, f64), spans: &[(f64, f64)]) {
    let found = removed(flutes, &pose(motion[0]), &pose(motion[1]), ray.0, ray.1.to_radians(), ray.2);
    let off = worst_difference(&found.spans, spans);
    assert!(off <= 1e-4 && found.spans.len() == spans.len(), "{name}: {:?} instead of {spans:?}", found.spans);
    assert!(found.bracket <= TOLERANCE && !found.grazing, "{name}: {found:?}");
}

/// One row of the table of computed vectors.
struct Vector {
    name: &'static str,
    flutes: Flutes,
    /// Station in mm, angle in degrees.
    ray: (f64, f64),
    from: [f64; 4],
    to: [f64; 4],
    spans: &'static [(f64, f64)],
}

/// Rays that have caught faulty kernels, with spans found by dense sampling of time and radius.
fn vectors() -> Vec<Vector> {
    let row = |name, flutes, ray, from, to, spans| Vector { name, flutes, ray, from, to, spans };
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

#[test]
fn the_computed_vectors_come_out() {
    for vector in vectors() {
        let (from, to) = (pose(vector.from), pose(vector.to));
        for outer in [90.0, 200.0] {
            let found = removed(&vector.flutes, &from, &to, vector.ray.0, vector.ray.1.to_radians(), outer);
            let off = worst_difference(&found.spans, vector.spans);
            println!(
                "{}: off by {:.3} um, bracket {:.4} um, grazing {}: {:.6?}",
                vector.name,
                1e3 * off,
                1e3 * found.bracket,
                found.grazing,
                found.spans
            );
        }
    }
}

#[test]
fn stats() {
    for family in FAMILIES {
        let n: u64 = std::env::var("N").map_or(200, |v| v.parse().unwrap());
        let start = std::time::Instant::now();
        let rows: Vec<_> = (0..n).into_par_iter().map(|k| (k, answer(&case(family, k)))).collect();
        let hit = rows.iter().filter(|r| !r.1.spans.is_empty()).count();
        let two = rows.iter().filter(|r| r.1.spans.len() > 1).count();
        let graz = rows.iter().filter(|r| r.1.grazing).count();
        let wide: Vec<_> = rows
            .iter()
            .filter(|r| r.1.bracket > TOLERANCE)
            .map(|r| (r.0, REGIMES[r.0 as usize % 10], r.1.bracket, r.1.grazing))
            .collect();
        println!("{family:?} hit {hit} multi {two} grazing {graz} wall {:.2} {wide:?}", start.elapsed().as_secs_f64());
    }
}
