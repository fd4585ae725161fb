//! The ridges that passes leave between them, as ends of single rays and as radii of carved blanks.
//!
//! Between passes of a ball the ridge stands b − √(b² − p²/4) high, on the flat and over rings alike (Choi and Jerard,
//! *Sculptured Surface Machining*, 1998, from memory); the other numbers follow from plane geometry and were computed
//! apart, to seven decimals. Ridges are found within 0.1 µm.

#![allow(clippy::print_stdout, clippy::unwrap_used, reason = "tests print what they measure, and may fail")]

mod common;

use std::f64::consts::PI;

use common::{Program, carved, cutter, pose};
use dryturn_carve::removed;
use dryturn_geom::{Flutes, Pose, Shape, Stock};

/// Greatest error of a ridge, mm.
const RIDGE: f64 = 1e-4;
/// Half the last place of the numbers given.
const PLACE: f64 = 6e-8;

fn ball() -> Flutes {
    Flutes::new(Shape::Ball, 3.0, 40.0).expect("a plain cutter")
}

fn flat() -> Flutes {
    Flutes::new(Shape::Flat, 3.0, 40.0).expect("a plain cutter")
}

/// Lowest radius that any of some moves takes from a ray.
fn lowest(flutes: &Flutes, moves: &[(Pose, Pose)], station: f64, theta: f64) -> f64 {
    moves
        .iter()
        .filter_map(|(from, to)| removed(flutes, from, to, station, theta, 40.0).first().map(|first| first.0))
        .fold(f64::INFINITY, f64::min)
}

fn ridge(name: &str, found: f64, expected: f64) {
    println!("{name}: {found:.7} for {expected:.7}, off by {:.4} µm", (found - expected) * 1e3);
    assert!((found - expected).abs() <= RIDGE, "{name}: {found} for {expected}");
}

#[test]
fn between_rings_of_a_ball() {
    for (p, given) in [(0.5, 0.010_434_8), (1.0, 0.041_960_1), (2.0, 0.171_572_9)] {
        let height = 3.0 - f64::sqrt(9.0 - 0.25 * p * p);
        assert!(f64::abs(height - given) <= PLACE);
        let ring = |x: f64| (pose(x, 0.0, 20.0, 0.0), pose(x, 0.0, 20.0, 360.0));
        for theta in [0.0, 0.3, 2.0, 5.5] {
            let found = lowest(&ball(), &[ring(0.0), ring(p)], 0.5 * p, theta);
            ridge(&format!("rings {p} apart"), found - 20.0, height);
        }
    }
}

#[test]
fn along_a_helix_of_a_ball() {
    for (p, height) in [(1.0, 0.041_957_8), (2.0, 0.171_534_3), (4.0, 0.763_173_7)] {
        let helix = (pose(-2.0 * p, 0.0, 20.0, -720.0), pose(3.0 * p, 0.0, 20.0, 1080.0));
        for theta in [0.0, 100f64.to_radians()] {
            let station = p * (0.5 + theta / (2.0 * PI));
            ridge(&format!("helix {p} a turn"), lowest(&ball(), &[helix], station, theta) - 20.0, height);
        }
    }
}

fn along(degrees: f64, z: f64) -> (Pose, Pose) {
    (pose(-10.0, 0.0, z, degrees), pose(10.0, 0.0, z, degrees))
}

#[test]
fn between_indexed_passes_of_a_ball() {
    for (degrees, given) in [(2.0, 0.023_472_6), (5.0, 0.150_831_7), (10.0, 0.680_516_9)] {
        let (sine, cosine) = f64::sin_cos(0.5 * f64::to_radians(degrees));
        let height = 23.0 * cosine - (9.0 - (23.0 * sine).powi(2)).sqrt() - 20.0;
        assert!(f64::abs(height - given) <= PLACE);
        let found = lowest(&ball(), &[along(0.0, 20.0), along(degrees, 20.0)], 0.7, 0.5 * degrees.to_radians());
        ridge(&format!("ball every {degrees}°"), found - 20.0, height);
    }
}

#[test]
fn corners_of_a_prism_of_flat_passes() {
    for (sides, given) in [(36, 0.076_396_8), (72, 0.019_053_7), (90, 0.012_190_9)] {
        let half = PI / f64::from(sides);
        let height = 20.0 * (1.0 / half.cos() - 1.0);
        assert!(f64::abs(height - given) <= PLACE);
        let step = 360.0 / f64::from(sides);
        let found = lowest(&flat(), &[along(0.0, 20.0), along(step, 20.0)], 0.0, half);
        ridge(&format!("{sides} flat passes"), found - 20.0, height);
    }
}

#[test]
fn a_flat_helix_over_the_axis_leaves_none() {
    let helix = (pose(-18.0, 0.0, 20.0, -1080.0), pose(18.0, 0.0, 20.0, 1080.0));
    // A station midway between two passes is touched at the rims only, where the wall stands upright.
    let floors = (0..60).map(|k| lowest(&flat(), &[helix], 0.1 * f64::from(k) + 0.05, 1.0));
    ridge("flat helix", floors.fold(0.0, f64::max), 20.0);
}

#[test]
fn a_flat_ring_beside_the_axis() {
    let ring = (pose(0.0, 5.0, 20.0, 0.0), pose(0.0, 5.0, 20.0, 360.0));
    for station in [0.0, 1.0, 2.5, 2.99] {
        let floor = 20f64.hypot(5.0 - f64::sqrt(9.0 - station * station));
        ridge("flat ring at y 5", lowest(&flat(), &[ring], station, 4.0), floor);
    }
    ridge("flat ring at y 5, least", lowest(&flat(), &[ring], 0.0, 4.0), 20.099_751_2);
}

#[test]
fn large_blanks_are_turned_as_truly_as_small_ones() {
    for radius in [20.0, 100.0, 300.0] {
        // The ray passes under the cutter at all places of the pieces that a turn is cut into.
        let floors = (0..40).map(|k| {
            let start = -0.025 * f64::from(k);
            lowest_at(radius, start)
        });
        ridge(&format!("flat turn at radius {radius}"), floors.fold(0.0, f64::max), radius);
    }
}

fn lowest_at(radius: f64, start: f64) -> f64 {
    let (from, to) = (pose(0.0, 0.0, radius, start), pose(0.0, 0.0, radius, start + 2.0));
    removed(&flat(), &from, &to, 1.0, 0.0, radius + 10.0)[0].0
}

#[test]
fn ridges_stand_on_carved_blanks() {
    // Rows at 0.125, 0.375 …: rings 2 mm apart on rows, with a row midway.
    let stock = Stock::round(25.0, 12.0);
    let mut program = Program::new(pose(0.0, 0.0, 20.0, 0.0));
    for k in 0..6 {
        program.ring(0.125 + 2.0 * f64::from(k), 0.0, 20.0);
    }
    let blank = carved(&stock, &[cutter(Shape::Ball, 3.0, 40.0)], &program.motions, 0.25);
    for column in (0..blank.grid().angles).step_by(50) {
        for row in (0..40).step_by(8) {
            let [floor, ridge] = [row, row + 4].map(|row| f64::from(blank.radius(row, column)));
            assert!((floor - 20.0).abs() <= RIDGE && (ridge - 20.171_572_9).abs() <= RIDGE, "{floor}, {ridge}");
        }
    }
}
