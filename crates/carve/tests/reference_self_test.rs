//! The slow reference itself, held against closed forms, computed vectors and blunt sampling.

// The figures behind the verdicts are worth a look: `--nocapture` shows them.
#![allow(clippy::print_stdout)]

mod reference;

use dryturn_geom::{Flutes, Pose, Shape};
use rayon::prelude::*;
use reference::walks::{Case, FAMILIES, case};
use reference::{Removed, TOLERANCE, removed, worst_difference};
use std::f64::consts::TAU;

fn cutter(shape: Shape, diameter: f64, length: f64) -> Flutes {
    Flutes::new(shape, 0.5 * diameter, length).expect("the tests' cutters are cutters")
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
        let found = removed(&vector.flutes, &from, &to, vector.ray.0, vector.ray.1.to_radians(), 200.0);
        let off = worst_difference(&found.spans, vector.spans);
        println!("{}: off by {:.4} µm, bracket {:.4} µm", vector.name, 1e3 * off, 1e3 * found.bracket);
        assert!(off < 5e-5, "{}: {:?} instead of {:?}", vector.name, found.spans, vector.spans);
    }
}

/// A full turn under a cutter that stands still cuts a groove: its floor is where the slice of the cutter at the ray's
/// station is nearest to the axis, its outer end where that slice is farthest, the corners under the flutes' top.
#[test]
fn grooves_have_the_floor_of_the_slice() {
    let around = |y: f64, z: f64| [[0.0, y, z, 10.0], [0.0, y, z, 375.0]];
    let half_width = |radius: f64, along: f64| (radius * radius - along * along).sqrt();

    let flat = cutter(Shape::Flat, 6.0, 12.0);
    expect("flat", &flat, around(0.0, 20.0), (1.8, 77.0, 90.0), &[(20.0, 32f64.hypot(2.4))]);
    expect("flat, off centre", &flat, around(5.0, 20.0), (-1.8, 77.0, 90.0), &[(20f64.hypot(2.6), 32f64.hypot(7.4))]);

    let ball = cutter(Shape::Ball, 6.0, 12.0);
    expect("ball", &ball, around(0.0, 20.0), (1.8, 200.0, 90.0), &[(20.6, 32f64.hypot(2.4))]);
    expect("ball, blank inside", &ball, around(0.0, 20.0), (1.8, 200.0, 24.0), &[(20.6, 24.0)]);
    expect("ball, off centre", &ball, around(7.0, 17.0), (0.0, 3.0, 25.0), &[(20f64.hypot(7.0) - 3.0, 25.0)]);

    let bull = cutter(Shape::Bull { corner: 1.0 }, 6.0, 12.0);
    let floor = 20.0 + 1.0 - (1.0 - 0.6f64 * 0.6).sqrt();
    expect("bull", &bull, around(0.0, 20.0), (2.6, 0.0, 90.0), &[(floor, 32f64.hypot(half_width(3.0, 2.6)))]);

    let vee = cutter(Shape::Vee { half_angle: 30f64.to_radians(), tip_radius: 0.0 }, 6.0, 12.0);
    let floor = 20.0 + 1.5 / 30f64.to_radians().tan();
    expect("vee", &vee, around(0.0, 20.0), (1.5, 0.0, 30.0), &[(floor, 30.0)]);

    let drill = cutter(Shape::Drill { half_angle: 59f64.to_radians() }, 6.0, 12.0);
    let floor = 20.0 + 1.5 / 59f64.to_radians().tan();
    expect("drill", &drill, around(0.0, 20.0), (-1.5, 0.0, 30.0), &[(floor, 30.0)]);

    let taper = Shape::Taper { half_angle: 5f64.to_radians(), tip_radius: 0.5, ball: true };
    let angle = 5f64.to_radians();
    let floor = 20.0 + 0.5 * (1.0 - angle.sin()) + (1.2 - 0.5 * angle.cos()) / angle.tan();
    expect("taper", &cutter(taper, 6.0, 40.0), around(0.0, 20.0), (1.2, 0.0, 40.0), &[(floor, 40.0)]);

    expect("through the axis", &flat, around(0.0, -2.0), (1.8, 77.0, 90.0), &[(0.0, 10f64.hypot(2.4))]);
    expect("hanging below", &flat, around(0.0, -32.0), (1.8, 77.0, 90.0), &[(20.0, 32f64.hypot(2.4))]);
}

/// With the blank at rest the cutter sweeps a prism or a stretched copy of itself, which the ray enters and leaves.
#[test]
fn slots_and_holes_have_the_walls_of_the_cutter() {
    let flat = cutter(Shape::Flat, 6.0, 100.0);
    let plunge = [[0.0, 0.0, 60.0, 0.0], [0.0, 0.0, -40.0, 0.0]];
    expect("plunge onto the ray", &flat, [plunge[0], [0.0, 0.0, 12.0, 0.0]], (1.0, 0.0, 50.0), &[(12.0, 50.0)]);
    let wall = 2.4 / 30f64.to_radians().sin();
    expect("plunge across the ray", &flat, plunge, (1.8, 30.0, 50.0), &[(0.0, wall)]);
    let aside = plunge.map(|row| [row[0], -8.0, row[2], row[3]]);
    let walls = [5.6, 10.4].map(|y| y / 30f64.to_radians().sin());
    expect("plunge beside the axis", &flat, aside, (1.8, 30.0, 50.0), &[(walls[0], walls[1])]);

    let ball = cutter(Shape::Ball, 6.0, 12.0);
    let cosine = 20f64.to_radians().cos();
    let across = [[0.0, -8.0, 10.0, 5.0], [0.0, 8.0, 10.0, 5.0]];
    expect("ball across", &ball, across, (1.8, 25.0, 50.0), &[(10.6 / cosine, 22.0 / cosine)]);

    // The cutter moves along the axis over a ray on the line y = slope · z; a stretch is told by its heights.
    let ray = |slope: f64| (0.0, -slope.atan().to_degrees(), 100.0);
    let along = |y: f64| [[-20.0, y, 10.0, 0.0], [20.0, y, 10.0, 0.0]];
    let stretch = |slope: f64, low: f64, high: f64| (low * slope.hypot(1.0), high * slope.hypot(1.0));

    let rows = vec![(0.0, 0.0), (0.0, 5.0), (4.0, 5.0), (4.0, 2.5), (12.0, 2.5)];
    let keyhole = cutter(Shape::Form { profile: rows }, 10.0, 20.0);
    expect("keyhole disc", &keyhole, along(0.0), ray(0.3), &[stretch(0.3, 10.0, 14.0)]);
    expect("keyhole disc and neck", &keyhole, along(0.0), ray(0.1), &[stretch(0.1, 10.0, 25.0)]);
    let both = [stretch(0.3, 10.0, 14.0), stretch(0.3, 50.0 / 3.0, 30.0)];
    expect("keyhole, wood between", &keyhole, along(7.5), ray(0.3), &both);

    let rows = vec![(0.0, 6.0), (8.0, 3.0), (10.0, 3.0)];
    let dovetail = cutter(Shape::Form { profile: rows }, 12.0, 10.0);
    expect("dovetail", &dovetail, along(0.0), ray(0.5), &[stretch(0.5, 10.0, 9.75 / 0.875)]);
}

/// How far a point of the ray is from being inside the cutter at the share `t` of the motion; never above 0 inside.
fn violation(case: &Case, t: f64, r: f64) -> f64 {
    let at = case.from.toward(&case.to, t);
    let (sine, cosine) = (case.theta - at.turn).sin_cos();
    let height = r * cosine - at.z;
    let distance = (case.station - at.x).hypot(-r * sine - at.y);
    let length = case.flutes.length();
    let outside = (-height).max(height - length).max(0.0);
    outside.max(distance - case.flutes.radius_at(height.clamp(0.0, length)))
}

/// Whether any of many sampled moments has the point inside the cutter, the most promising ones looked at more closely.
fn sampled(case: &Case, r: f64) -> bool {
    const COUNT: usize = 4000;
    let mut width = 1.0 / COUNT as f64;
    let mut moments: Vec<f64> = (0..=COUNT).map(|k| k as f64 * width).collect();
    for _ in 0..6 {
        let mut rated: Vec<(f64, f64)> = moments.iter().map(|&t| (violation(case, t, r), t)).collect();
        rated.sort_by(|a, b| a.0.total_cmp(&b.0));
        if rated[0].0 <= 0.0 {
            return true;
        }
        width /= 10.0;
        let around = |t: f64| (-10..=10).map(move |k| (t + f64::from(k) * width).clamp(0.0, 1.0));
        moments = rated.iter().take(60).flat_map(|&(_, t)| around(t)).collect();
    }
    false
}

#[test]
fn blunt_sampling_finds_the_same_spans() {
    let cases: Vec<Case> = FAMILIES.iter().flat_map(|&family| (0..20).map(move |k| case(family, k))).collect();
    let compared: usize = cases.par_iter().map(compare_with_sampling).sum();
    println!("{compared} radii compared");
    assert!(compared > 1000);
}

/// Radii 1 µm to either side of every span end, in the middle of every span, and spread over the ray.
fn compare_with_sampling(case: &Case) -> usize {
    const MARGIN: f64 = 1e-3;
    let found = answer(case);
    if found.grazing {
        return 0;
    }
    let ends = found
        .spans
        .iter()
        .flat_map(|&(low, high)| [low - MARGIN, low + MARGIN, 0.5 * (low + high), high - MARGIN, high + MARGIN]);
    let spread = (0..10).map(|k| case.outer * (f64::from(k) + 0.5) / 10.0);
    let clear = |r: &f64| found.spans.iter().all(|&(low, high)| (r - low).abs().min((r - high).abs()) > 0.9 * MARGIN);
    let radii: Vec<f64> = ends.chain(spread).filter(|r| (0.0..=case.outer).contains(r)).filter(clear).collect();
    for &r in &radii {
        let inside = found.spans.iter().any(|&(low, high)| low <= r && r <= high);
        assert_eq!(sampled(case, r), inside, "at {r} of {:?}: {case:?}", found.spans);
    }
    radii.len()
}

#[test]
fn the_way_a_motion_is_told_does_not_matter() {
    let cases: Vec<Case> = FAMILIES.iter().flat_map(|&family| (100..130).map(move |k| case(family, k))).collect();
    cases.par_iter().for_each(|case| {
        let whole = answer(case);
        let same = |other: &Case, what: &str| {
            let off = worst_difference(&whole.spans, &answer(other).spans);
            assert!(whole.grazing || off <= 5e-5, "{what}: {off} in {case:?}");
        };
        same(&Case { from: case.to, to: case.from, ..case.clone() }, "backwards");
        let turned = |pose: Pose| Pose { turn: pose.turn + TAU, ..pose };
        same(&Case { from: turned(case.from), to: turned(case.to), ..case.clone() }, "a turn later");

        let middle = case.from.toward(&case.to, 0.37);
        let first = answer(&Case { to: middle, ..case.clone() });
        let second = answer(&Case { from: middle, ..case.clone() });
        let together = union(first.spans.iter().chain(&second.spans).copied().collect());
        let off = worst_difference(&whole.spans, &together);
        assert!(whole.grazing || off <= 5e-5, "in two: {off} in {case:?}");
        assert!(whole.strays(&together) <= 5e-5, "in two: {case:?}");
    });
}

fn union(mut spans: Vec<(f64, f64)>) -> Vec<(f64, f64)> {
    spans.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut joined: Vec<(f64, f64)> = Vec::new();
    for (low, high) in spans {
        match joined.last_mut().filter(|last| low <= last.1 + TOLERANCE) {
            Some(last) => last.1 = last.1.max(high),
            None => joined.push((low, high)),
        }
    }
    joined
}

#[test]
fn the_walks_are_worth_asking_about() {
    for family in FAMILIES {
        let found: Vec<Removed> = (0..200u64).into_par_iter().map(|k| answer(&case(family, k))).collect();
        let share = |what: &dyn Fn(&Removed) -> bool| found.iter().filter(|&r| what(r)).count() as f64 / 200.0;
        let (hit, twice, grazing) =
            (share(&|r| !r.spans.is_empty()), share(&|r| r.spans.len() > 1), share(&|r| r.grazing));
        println!("{family:?}: hit {hit}, more than one passage {twice}, grazing {grazing}");
        assert!(hit > 0.9 && twice > 0.0 && grazing < 0.05, "{family:?}");
        let open = found.iter().filter(|r| !r.grazing && r.bracket > TOLERANCE).count();
        assert_eq!(open, 0, "{family:?}: undecided");
        for r in &found {
            assert!(r.spans.windows(2).all(|pair| pair[0].1 < pair[1].0) && r.spans.iter().all(|span| span.0 < span.1));
            assert!(r.strays(&r.spans) <= TOLERANCE, "{family:?}: {r:?}");
        }
    }
}

#[test]
fn differences_are_measured_by_the_longest_stretch() {
    assert_eq!(worst_difference(&[(1.0, 2.0), (4.0, 6.0)], &[(1.0, 2.25), (4.0, 6.0)]), 0.25);
    assert_eq!(worst_difference(&[(1.0, 2.0), (4.0, 6.0)], &[(1.0, 6.0)]), 2.0);
    assert_eq!(worst_difference(&[(1.0, 6.0)], &[(1.0, 2.0), (4.0, 6.0)]), 2.0);
    assert_eq!(worst_difference(&[], &[(4.0, 6.5)]), 2.5);
    assert_eq!(worst_difference(&[], &[]), 0.0);
}
