//! The slow reference itself, held against closed forms, computed vectors and blunt sampling.

// The figures behind the verdicts are worth a look: `--nocapture` shows them.
#![allow(clippy::print_stdout)]

mod reference;

use dryturn_geom::{Flutes, Pose, Shape};
use rayon::prelude::*;
use reference::vectors::{cutter, pose, vectors};
use reference::walks::{Case, FAMILIES, case};
use reference::{Removed, TOLERANCE, removed, worst_difference};
use std::f64::consts::TAU;

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

#[test]
fn the_computed_vectors_come_out() {
    for vector in vectors() {
        let found = answer(&vector.case);
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
