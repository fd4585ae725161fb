//! What a piece falls into.

#![allow(clippy::unwrap_used, reason = "tests may fail")]

mod common;

use std::f64::consts::PI;
use std::sync::atomic::AtomicBool;

use common::{Program, cutter, pose};
use dryturn_carve::{CarveError, Carved, Cutter, Grid, Job, Part, RunOptions, carve};
use dryturn_geom::{Shape, Stock};

/// The parts, after what must hold of any: they are all that is left, whatever the tiles.
fn parts(stock: &Stock, cutters: &[Cutter], program: &Program, pitch: f64) -> Vec<Part> {
    let job = Job { stock, dimple: None, cutters, motions: &program.motions };
    let carved = |tile| carve(&job, &Grid::over(stock, pitch), &RunOptions { tile, ..RunOptions::default() }).unwrap();
    let first: Carved = carved(None);
    let parts = first.parts(None).unwrap();
    let (sum, left) = (parts.iter().map(|part| part.volume_mm3).sum::<f64>(), first.left_mm3());
    assert!((sum - left).abs() < 1e-9 * left, "{sum} {left}");
    assert_eq!(carved(Some((5, 17))).parts(None).unwrap(), parts);
    for part in &parts {
        assert!((part.volume_between(-1e9, 1e9) - part.volume_mm3).abs() < 1e-9 * left);
        let mut spans = first.spans(part.ray.0, part.ray.1).map(|span| (f64::from(span.inner), f64::from(span.outer)));
        assert!(spans.any(|(inner, outer)| inner < part.radius && part.radius < outer && outer == part.reach));
    }
    parts
}

/// Those worth a name.
fn great(stock: &Stock, cutters: &[Cutter], program: &Program, pitch: f64) -> Vec<Part> {
    parts(stock, cutters, program, pitch).into_iter().filter(|part| part.volume_mm3 > 1.0).collect()
}

fn bar() -> Stock {
    Stock::round(10.0, 40.0)
}

fn tube() -> Stock {
    Stock { bore: 7.0, ..Stock::round(10.0, 40.0) }
}

#[test]
fn a_whole_bar_is_one_part() {
    let one = parts(&bar(), &[], &Program::new(pose(0.0, 0.0, 20.0, 0.0)), 0.5);
    assert_eq!(one.len(), 1);
    let part = &one[0];
    assert!((part.volume_mm3 - PI * 100.0 * 40.0).abs() < 1e-6);
    assert_eq!((part.stations, part.ray, part.radius, part.reach), ((0.25, 39.75), (0, 0), 5.0, 10.0));
    assert!((part.volume_between(0.0, 10.0) - PI * 100.0 * 10.0).abs() < 1e-6);
    assert_eq!(part.stretches, 80 * 144);
}

#[test]
fn a_ring_parts_a_bar_when_it_reaches_the_axis() {
    let cutters = [cutter(Shape::Flat, 1.5, 20.0)];
    for (height, count) in [(0.3, 1), (0.0, 2)] {
        let mut program = Program::new(pose(30.0, 0.0, 20.0, 0.0));
        program.ring(30.0, 0.0, height);
        let found = great(&bar(), &cutters, &program, 0.25);
        assert_eq!(found.len(), count, "down to {height}");
        if let [near, far] = &found[..] {
            assert!(near.stations.1 < 28.5 && far.stations.0 > 31.5, "{found:?}");
            assert!((far.volume_mm3 - PI * 100.0 * 8.5).abs() < 0.01 * far.volume_mm3, "{far:?}");
        }
    }
}

/// A slot right through along the whole of it, and one that stops short of an end.
#[test]
fn a_slot_lengthwise_makes_halves_once_both_ends_are_open() {
    let cutters = [cutter(Shape::Flat, 1.0, 30.0)];
    for stock in [bar(), tube()] {
        for (last, count) in [(38.0, 1), (42.0, 2)] {
            let mut program = Program::new(pose(-2.0, 0.0, -11.0, 20.0));
            program.feed(pose(last, 0.0, -11.0, 20.0));
            let found = great(&stock, &cutters, &program, 0.25);
            assert_eq!(found.len(), count, "bore {}, up to {last}", stock.bore);
            if let [one, other] = &found[..] {
                assert!((one.volume_mm3 - other.volume_mm3).abs() < 0.02 * one.volume_mm3);
                assert_eq!(one.stations, other.stations);
            }
        }
    }
}

/// A helix through the wall of a tube, open to both ends, leaves a helix that hangs together; with two that are open, two;
/// and one that closes on itself in a ring severs.
#[test]
fn openwork() {
    let stock = tube();
    let cutters = [cutter(Shape::Flat, 1.5, 30.0)];
    let through = |program: &mut Program, first: f64, last: f64, from: f64, turns: f64| {
        program.resume(pose(first, 0.0, 5.0, from), 0).feed(pose(last, 0.0, 5.0, from + 360.0 * turns));
    };
    let mut one = Program::new(pose(0.0, 0.0, 20.0, 0.0));
    through(&mut one, -2.0, 42.0, 0.0, 4.0);
    assert_eq!(great(&stock, &cutters, &one, 0.25).len(), 1);
    let mut two = Program::new(pose(0.0, 0.0, 20.0, 0.0));
    through(&mut two, -2.0, 42.0, 0.0, 4.0);
    through(&mut two, -2.0, 42.0, 180.0, 4.0);
    assert_eq!(great(&stock, &cutters, &two, 0.25).len(), 2);
    let mut inside = Program::new(pose(0.0, 0.0, 20.0, 0.0));
    through(&mut inside, 5.0, 35.0, 0.0, 4.0);
    through(&mut inside, 5.0, 35.0, 180.0, 4.0);
    assert_eq!(great(&stock, &cutters, &inside, 0.25).len(), 1);
    // Left-hand windings across right-hand ones make lozenges.
    through(&mut inside, 5.0, 35.0, 0.0, -4.0);
    assert!(great(&stock, &cutters, &inside, 0.25).len() > 3);
}

/// Cross holes in a ring through a tube: with a web between all of them, it holds; overlapping, it comes apart.
#[test]
fn a_ring_of_holes() {
    let stock = tube();
    let cutters = [cutter(Shape::Flat, 3.0, 30.0)];
    // Ten holes stand 36° apart: at the bore, radius 7, 4.33 mm from one middle to the next, at the outside 6.18 mm.
    for (count, parted) in [(8u8, false), (10, false), (12, true)] {
        let mut program = Program::new(pose(20.0, 0.0, 20.0, 0.0));
        for k in 0..count {
            let angle = 360.0 / f64::from(count) * f64::from(k);
            program.resume(pose(20.0, 0.0, 15.0, angle), 0).feed(pose(20.0, 0.0, 2.0, angle));
        }
        let found = great(&stock, &cutters, &program, 0.25);
        assert_eq!(found.len() > 1, parted, "{count} holes: {} parts", found.len());
    }
}

/// Webs of 0.3 mm between slots, lengthwise and around.
#[test]
fn a_thin_web_holds() {
    let cutters = [cutter(Shape::Flat, 1.5, 30.0)];
    let mut around = Program::new(pose(0.0, 0.0, 20.0, 0.0));
    // A ring but for 0.3 mm at the outside.
    let open = (3.0 + 0.3f64) / 10.0;
    around.resume(pose(20.0, 0.0, 5.0, 0.0), 0).feed(pose(20.0, 0.0, 5.0, 360.0 - open.to_degrees()));
    let found = great(&tube(), &cutters, &around, 0.25);
    assert_eq!(found.len(), 1);
    let mut along = Program::new(pose(-2.0, 0.0, -11.0, 0.0));
    along.feed(pose(40.0 - 1.8, 0.0, -11.0, 0.0));
    assert_eq!(great(&tube(), &cutters, &along, 0.25).len(), 1);
}

#[test]
fn looking_for_parts_can_be_stopped() {
    let stock = bar();
    let job = Job { stock: &stock, dimple: None, cutters: &[], motions: &Vec::new() };
    let carved = carve(&job, &Grid::over(&stock, 0.5), &RunOptions::default()).unwrap();
    assert!(matches!(carved.parts(Some(&AtomicBool::new(true))), Err(CarveError::Cancelled)));
}
