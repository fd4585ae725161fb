//! What a carve notices beside the solid: rapids in wood, wood beyond the axis, bodies above the flutes in wood.
//!
//! A depth is measured inside the body: the least way out through its bottom or its side. All numbers follow from plane
//! geometry.

#![allow(clippy::print_stdout, clippy::unwrap_used, reason = "tests print what they measure, and may fail")]

mod common;

use common::{Program, carved, cutter, pose};
use dryturn_carve::{Carved, Cutter, Reach, Upper, UpperBody};
use dryturn_geom::{Shape, Stock};

/// Radius and length of the blank, mm.
const R: f64 = 25.0;
const L: f64 = 40.0;
/// Greatest error of a depth, mm.
const DEPTH: f64 = 1e-4;

fn stock() -> Stock {
    Stock::round(R, L)
}

fn flat(radius: f64, length: f64) -> Cutter {
    cutter(Shape::Flat, radius, length)
}

/// A flat cutter with one body above it, from a height over the tip upward.
fn under(kind: Upper, body_radius: f64, from: f64, radius: f64, length: f64) -> Cutter {
    let body = UpperBody { kind, radius: body_radius, from, to: from + 60.0 };
    Cutter { uppers: vec![body], ..flat(radius, length) }
}

fn run(cutters: &[Cutter], program: &Program) -> Carved {
    carved(&stock(), cutters, &program.motions, 0.25)
}

/// The depth noted for a block, 0 where nothing is.
fn depth_of(reaches: &[Reach], block: u32) -> f64 {
    let found: Vec<_> = reaches.iter().filter(|reach| reach.block == block).collect();
    assert!(found.len() <= 1, "{found:?}");
    found.first().map_or(0.0, |reach| f64::from(reach.depth))
}

fn upper_depth(carved: &Carved, kind: Upper, block: u32) -> f64 {
    let (_, reaches) = carved.uppers.iter().find(|(of, _)| *of == kind).unwrap();
    depth_of(reaches, block)
}

fn close(found: f64, expected: f64) {
    println!("{found:.6} for {expected:.6}");
    assert!((found - expected).abs() <= DEPTH, "{found} for {expected}");
}

/// A slot along the whole blank at y = 0, cut in steps of `step` down to `floor`.
fn slot(program: &mut Program, cutter: u16, step: f64, floor: f64) {
    let passes = ((R - floor) / step).ceil();
    for pass in 1..=passes as u32 {
        let z = R - (R - floor) * f64::from(pass) / passes;
        program.resume(pose(-15.0, 0.0, z, 0.0), cutter).feed(pose(L + 15.0, 0.0, z, 0.0));
    }
}

#[test]
fn a_rapid_into_wood_reads_as_deep_as_it_goes() {
    let mut program = Program::new(pose(-10.0, 0.0, R - 0.3, 0.0));
    program.rapid(pose(20.0, 0.0, R - 0.3, 0.0));
    program.resume(pose(30.125, 0.0, 40.0, 90.0), 0).rapid(pose(30.125, 0.0, R - 0.3, 90.0));
    program.resume(pose(30.125, 0.0, R - 0.3, 180.0), 0).rapid(pose(30.125, 0.0, R - 0.3, 300.0));
    let carved = run(&[flat(3.0, 20.0)], &program);
    for block in 0..3 {
        close(depth_of(&carved.rapids, block), 0.3);
        assert!(carved.removed_by(block) > 0.5);
    }
}

#[test]
fn a_rapid_that_shaves_a_wall_is_not_deep() {
    for (radius, shaved) in [(3.0, 0.0), (3.02, 0.02)] {
        let mut program = Program::new(pose(0.0, 0.0, 40.0, 0.0));
        slot(&mut program, 0, 5.0, 15.0);
        let first = program.motions.len() as u32;
        program
            .resume(pose(20.0, 0.0, 40.0, 0.0), 1)
            .rapid(pose(20.0, 0.0, 15.0, 0.0))
            .rapid(pose(30.0, 0.0, 15.0, 0.0))
            .rapid(pose(30.0, 0.0, 40.0, 0.0));
        let carved = run(&[flat(3.0, 20.0), flat(radius, 20.0)], &program);
        let depths: Vec<f64> = (first..first + 3).map(|block| depth_of(&carved.rapids, block)).collect();
        println!("shaved by {shaved}: {depths:?}");
        assert!(depths.iter().all(|depth| *depth <= shaved + DEPTH), "{depths:?}");
    }
}

#[test]
fn a_rapid_over_a_finished_cylinder() {
    for (above, expected) in [(0.05, 0.0), (0.0, 0.0), (-0.04, 0.04)] {
        let mut program = Program::new(pose(0.0, 0.0, 20.0, 0.0));
        for k in 0..9u8 {
            program.ring(5.0 * f64::from(k), 0.0, 20.0);
        }
        let block = program.motions.len() as u32;
        let z = 20.0 + above;
        program.resume(pose(0.0, 0.0, z, 10.0), 0).rapid(pose(L, 0.0, z, 700.0));
        close(depth_of(&run(&[flat(3.0, 20.0)], &program).rapids, block), expected);
    }
}

/// The disc of a keyhole cutter cuts under wood that its neck leaves standing.
#[test]
fn a_rapid_under_standing_wood_is_deep() {
    let profile = vec![(0.0, 5.0), (4.0, 5.0), (4.0, 2.0), (30.0, 2.0)];
    let cutters = [flat(2.0, 20.0), cutter(Shape::Form { profile }, 5.0, 30.0)];
    let mut program = Program::new(pose(0.0, 0.0, 40.0, 0.0));
    slot(&mut program, 0, 5.0, 15.0);
    let block = program.motions.len() as u32;
    program.resume(pose(-15.0, 0.0, 15.0, 0.0), 1).rapid(pose(L + 15.0, 0.0, 15.0, 0.0));
    // Beside the slot, 2 mm off the axis of the cutter, the disc reaches 3 mm farther and 4 mm up.
    close(depth_of(&run(&cutters, &program).rapids, block), 3.0);
}

#[test]
fn wood_beyond_the_axis() {
    let mut program = Program::new(pose(10.0, 0.0, 40.0, 0.0));
    program.feed(pose(10.0, 0.0, -8.0, 0.0));
    program.resume(pose(25.0, 0.0, 40.0, 30.0), 0).feed(pose(25.0, 0.0, -40.0, 30.0));
    program.ring(35.0, 0.0, 1.0).ring(35.0, 0.0, -1.0);
    let carved = run(&[flat(3.0, 80.0)], &program);
    close(depth_of(&carved.beyond_axis, 0), 8.0);
    close(depth_of(&carved.beyond_axis, 1), R);
    close(depth_of(&carved.beyond_axis, 2), 0.0);
    // While the blank turns, the depth may be overstated by the turn of one piece at the cutter's radius.
    let turned = depth_of(&carved.beyond_axis, 3);
    assert!((1.0 - DEPTH..1.0 + 3.0 * 1f64.to_radians()).contains(&turned), "{turned}");
}

#[test]
fn a_shank_wider_than_its_slot() {
    let mut program = Program::new(pose(0.0, 0.0, 40.0, 0.0));
    slot(&mut program, 0, 5.0, 15.0);
    let carved = run(&[under(Upper::Shank, 5.0, 6.0, 3.0, 6.0)], &program);
    // At the first pass the shank stands over the blank, at the second its foot is at 21 and both walls, 3 mm off the
    // axis and up to 24.8 high, stand 2 mm in.
    close(upper_depth(&carved, Upper::Shank, 0), 0.0);
    close(upper_depth(&carved, Upper::Shank, 1), 2.0);
}

#[test]
fn a_holder_that_grazes_a_cylinder() {
    let mut program = Program::new(pose(0.0, 0.0, 40.0, 0.0));
    program.ring(20.0, 0.0, 20.0).ring(20.0, 0.0, 15.0);
    for kind in [Upper::Holder, Upper::Spindle] {
        let carved = run(&[under(kind, 15.0, 9.9, 3.0, 9.9)], &program);
        close(upper_depth(&carved, kind, 0), 0.0);
        close(upper_depth(&carved, kind, 1), 0.1);
        close(upper_depth(&carved, Upper::Shank, 1), 0.0);
    }
}

#[test]
fn a_shank_as_wide_as_the_flutes_follows_them() {
    let mut program = Program::new(pose(10.0, 0.0, 40.0, 0.0));
    program.feed(pose(10.0, 0.0, -5.0, 0.0)).feed(pose(10.0, 0.0, 40.0, 0.0));
    slot(&mut program, 0, 4.0, 5.0);
    program.resume(pose(30.0, 4.0, 40.0, 90.0), 0).feed(pose(30.0, 4.0, 2.0, 90.0));
    let carved = run(&[under(Upper::Shank, 3.0, 6.0, 3.0, 6.0)], &program);
    for block in 0..program.motions.len() as u32 {
        close(upper_depth(&carved, Upper::Shank, block), 0.0);
    }
}

#[test]
fn a_wide_shank_leaves_a_wide_pocket_freely_and_not_a_narrow_hole() {
    let cutters = [under(Upper::Shank, 5.0, 6.0, 3.0, 6.0)];
    let mut program = Program::new(pose(20.0, 0.0, 40.0, 0.0));
    // A pocket 12 mm wide and 14 mm long beyond the cutter, in steps that the flutes clear.
    for z in [20.0, 15.0] {
        for y in [-3.0, 0.0, 3.0] {
            program.resume(pose(13.0, y, z, 0.0), 0).feed(pose(27.0, y, z, 0.0));
        }
    }
    let retract = program.motions.len() as u32;
    program.resume(pose(20.0, 0.0, 15.0, 0.0), 0).feed(pose(20.0, 0.0, 40.0, 0.0));
    program.resume(pose(20.0, 0.0, 40.0, 180.0), 0).feed(pose(20.0, 0.0, 15.0, 180.0));
    let carved = run(&cutters, &program);
    close(upper_depth(&carved, Upper::Shank, retract), 0.0);
    // The flutes' hole is 3 mm wide on each side, the shank's foot 4 mm under the skin.
    close(upper_depth(&carved, Upper::Shank, retract + 1), 2.0);
}

/// Wood that the flutes take later in the same block, after the shank has met it.
#[test]
fn a_shank_that_comes_before_its_flutes_is_seen() {
    // From a start inside the wood straight up, on a row: above the flutes stands wood up to the skin.
    let mut program = Program::new(pose(20.125, 0.0, 5.0, 0.0));
    program.feed(pose(20.125, 0.0, 40.0, 0.0));
    let carved = run(&[under(Upper::Shank, 3.0, 6.0, 3.0, 6.0)], &program);
    // Wood on the very axis of a body is found to within 0.05 mm of it.
    let depth = upper_depth(&carved, Upper::Shank, 0);
    assert!((2.95 - DEPTH..=3.0).contains(&depth), "{depth}");
}
