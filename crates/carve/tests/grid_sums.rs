//! The sums over a grid's rays themselves: solids whose rays are set from a closed form and whose volume has one too.
//!
//! Sources of the values are named at [`common::oracle`]. Tolerances: a smooth stretch of length l costs a midpoint sum
//! at most l·Δ²/24 · max |f″|, a kink S·Δ²/12, a jump J·Δ/2 (Euler–Maclaurin); a trigonometric polynomial over its whole
//! period nothing at all.

#![allow(clippy::print_stdout, clippy::unwrap_used, reason = "tests print what they measure, and may fail")]

mod common;

use std::f64::consts::{PI, TAU};

use common::{Solid, oracle, round_wall, without};
use dryturn_carve::Grid;
use dryturn_geom::Stock;

const PITCH: f64 = 0.25;
/// Allowance for the orders after the first.
const NEXT: f64 = 1.01;

/// Sums the solid of all rays of a grid and compares it with a closed form.
fn check(name: &str, grid: &Grid, expected: f64, tolerance: f64, solid: impl Fn(f64, f64) -> Solid) {
    let cell = 0.5 * grid.angle_step * grid.station_step;
    let rows = (0..grid.stations).flat_map(|row| (0..grid.angles).map(move |column| (row, column)));
    let value: f64 = rows
        .flat_map(|(row, column)| solid(grid.station(row), grid.theta(column)))
        .map(|(inner, outer)| cell * (outer * outer - inner * inner))
        .sum();
    let error = value / expected - 1.0;
    println!("{name:<26}{value:>16.6}{expected:>18.6}{error:>11.2e} (of {tolerance:.1e})");
    assert!(error.abs() <= tolerance, "{name}: {value} for {expected}");
}

fn grid(radius: f64, start: f64, length: f64) -> Grid {
    Grid::over(&Stock { start, ..Stock::round(radius, length) }, PITCH)
}

/// Rounding in a sum of some 100 000 terms.
const ROUNDING: f64 = 1e-11;

#[test]
fn v05_ball_and_v06_cap() {
    let ball = |x: f64, _: f64| vec![(0.0, (400.0 - x * x).max(0.0).sqrt())];
    let around = |x: f64, theta: f64| without(&[(0.0, 25.0)], 0.0, ball(x, theta)[0].1);
    // f = a² − x², f″ = −2.
    let off = |length: f64| PI * length * PITCH * PITCH / 12.0;
    let whole = grid(25.0, -20.0, 40.0);
    let (inside, outside, cap) = (oracle("V05", ""), oracle("V05b", ""), oracle("V06", ""));
    check("V05 ball", &whole, inside, off(40.0) / inside + ROUNDING, ball);
    check("V05 turned to a ball", &whole, outside, off(40.0) / outside + ROUNDING, around);
    check("V06 cap", &grid(25.0, 15.0, 5.0), cap, off(5.0) / cap + ROUNDING, ball);
}

#[test]
fn v21_napkin_ring() {
    let value = oracle("V21", "");
    let hole = oracle("V05", "") - value;
    let tolerance = (round_wall(PITCH, 5.0) * hole + PI * 40.0 * PITCH * PITCH / 12.0) / value;
    check("V21 napkin ring", &grid(20.0, -20.0, 40.0), value, tolerance, |x, theta| {
        let half = (25.0 - x * x).max(0.0).sqrt();
        let inside = if half > 0.0 { half / theta.sin().abs() } else { 0.0 };
        without(&[(0.0, (400.0 - x * x).sqrt())], 0.0, inside)
    });
}

#[test]
fn v22_bead_and_v28_rosette() {
    let bead = grid(24.0, 0.0, 30.0);
    check("V22 bead", &bead, oracle("V22", ""), ROUNDING, |x, _| vec![(0.0, 20.0 + 4.0 * (TAU * x / 30.0).cos())]);
    let rosette = grid(25.0, 0.0, 100.0);
    check("V28 rosette", &rosette, oracle("V28", ""), ROUNDING, |_, theta| {
        vec![(0.0, 20.0 + 2.0 * (6.0 * theta).cos())]
    });
}

#[test]
fn v23_twisted_square() {
    let grid = grid(25.0, 0.0, 100.0);
    // At each of four corners the slope of r²/2 jumps by 2 h² sin 45° / cos³ 45° = 4 h².
    let tolerance = 100.0 * 16.0 * 225.0 * grid.angle_step.powi(2) * NEXT / 12.0 / 90_000.0;
    for degrees in [0.0, 90.0, 200.0_f64] {
        check("V23 twisted square", &grid, oracle("V23", ""), tolerance, |x, theta: f64| {
            let phi = theta - degrees.to_radians() * x / 100.0;
            let off_middle = phi - 0.25 * TAU * (phi / (0.25 * TAU)).round();
            vec![(0.0, 15.0 / off_middle.cos())]
        });
    }
}

#[test]
fn v24_spiral_cam() {
    let grid = grid(23.0, 0.0, 20.0);
    let value = oracle("V24", "");
    // The step from 23 back to 15 mm lies on a ray.
    let jump = 0.5 * (23.0 * 23.0 - 15.0 * 15.0);
    let kink = (23.0 - 15.0) * 8.0 / TAU;
    let error = 0.5 * jump * grid.angle_step + kink * grid.angle_step.powi(2) / 12.0;
    let tolerance = 20.0 * error * NEXT / value;
    check("V24 spiral cam", &grid, value, tolerance, |_, theta| vec![(0.0, 15.0 + 8.0 * theta / TAU)]);
}
