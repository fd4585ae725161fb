//! Strokes as a carve tells them.

use std::f64::consts::PI;

use dryturn_carve::{Cutter, Grid, RunOptions, carve_recorded};
use dryturn_check::Times;
use dryturn_check::load::{Load, Loads};
use dryturn_geom::Motions;
use dryturn_scene::Job;

use crate::strokes::job;

/// The loads of a job of ⌀50 × 120 and one cutter, in order.
pub(crate) fn loads(job: &Job, pitch: f64) -> Vec<Load> {
    let stock = job.scene.stock();
    let cutters = [Cutter { flutes: job.scene.cutters[0].flutes.clone(), uppers: vec![] }];
    let work = dryturn_carve::Job { stock: &stock, dimple: None, cutters: &cutters, motions: job };
    let options = RunOptions { threads: 1, ..RunOptions::default() };
    let (_, course) = carve_recorded(&work, &Grid::over(&stock, pitch), &[], &options).expect("a carve");
    let times = Times::of(job);
    let asked = |block| times.asked(block);
    let loads = Loads::new(job, &asked);
    course.strokes(0..job.count()).filter_map(|stroke| loads.of(&stroke)).collect()
}

#[track_caller]
fn near(value: f64, expected: f64, share: f64) {
    assert!((value / expected - 1.0).abs() <= share, "{value} is not {expected}");
}

/// A flat cutter over the axis takes R 25 down to h 20 with 3 mm a turn at ten turns a minute: π(R² − h²)·p·n =
/// 21 205.75 mm³/min, a width of 3 mm less the slope of the helix, 5 mm deep.
#[test]
fn facing_by_a_helix() {
    let program = "M3 S18000\nG0 X123.1 Z40\nG1 Z20 F3000\nG93 X90.1 A3960 F0.909090909\nG0 Z40\n";
    let job = job("", "material = \"black walnut\"", "diameter = 6, flute = 20", program);
    let steady: Vec<Load> = loads(&job, 0.2).into_iter().filter(|load| (95.0..116.0).contains(&load.station)).collect();
    assert!(steady.len() > 40, "{}", steady.len());
    let sum = |of: &dyn Fn(&Load) -> Option<f64>| steady.iter().filter_map(of).sum::<f64>();
    let seconds = sum(&|load| load.seconds);
    let rate = sum(&|load| Some(load.engagement.rate? * load.seconds?)) / seconds;
    near(60.0 * rate, PI * (25.0f64.powi(2) - 20.0f64.powi(2)) * 3.0 * 10.0, 1e-4);
    near(60.0 * rate, 21_205.75, 1e-4);
    for load in &steady {
        // A ray under the tip stands upright to a degree.
        near(load.engagement.depth, 5.0, 1e-3);
        near(load.engagement.width, 3.0, 0.1);
        near(load.radius, 22.5, 1e-3);
        near(load.engagement.speed.unwrap(), (2.0 * PI * 22.5f64).hypot(3.0) / 6.0, 1e-3);
        assert!(load.power.unwrap()[0] > 0.0 && load.forces.unwrap().main[1] > 0.0);
    }
    // The mean width is that of the lead.
    near(sum(&|load| Some(load.engagement.width)) / steady.len() as f64, 3.0, 0.01);
    // A positive turn takes the cutter toward −Y over the wood, with the wood that is left on its right as it goes toward
    // the chuck: it climbs.
    assert!(steady.iter().all(|load| load.engagement.is_climb == Some(true)));
}

/// The other hand, or the other sense of turning, does not climb.
#[test]
fn facing_by_a_helix_the_other_way() {
    let program = "M4 S18000\nG0 X123.1 Z40\nG1 Z20 F3000\nG93 X90.1 A3960 F0.909090909\nG0 Z40\n";
    let climbs = |program: &str| {
        let job = job("", "material = \"black walnut\"", "diameter = 6, flute = 20", program);
        let mut loads = loads(&job, 0.5);
        loads.retain(|load| (95.0..116.0).contains(&load.station));
        loads.iter().map(|load| load.engagement.is_climb).collect::<Vec<_>>()
    };
    let other_hand = climbs(program);
    assert!(!other_hand.is_empty() && other_hand.iter().all(|climbs| *climbs == Some(false)));
    let turned = climbs(&program.replace("M4", "M3").replace("A3960", "A-3960"));
    assert!(!turned.is_empty() && turned.iter().all(|climbs| *climbs == Some(false)));
}

/// A groove over the top of a round bar takes all of its cutter, however deep it is.
#[test]
fn a_groove_over_the_top_is_as_wide_as_its_cutter() {
    for floor in [15.0, 23.0, 24.5] {
        let program = format!("M3 S18000\nG0 X20 Z40\nG1 Z{floor} F300\nX80 F1000\nG0 Z40\n");
        let job = job("", "material = \"black walnut\"", "diameter = 6, flute = 20", &program);
        let along: Vec<Load> = loads(&job, 0.2).into_iter().filter(|load| load.engagement.direction[0] > 0.9).collect();
        assert!(along.len() >= 6, "{}", along.len());
        for load in &along[1..] {
            near(load.engagement.width, 6.0, 1e-12);
            near(load.engagement.arc, PI, 1e-12);
        }
    }
}

/// A long groove along the axis in one block: its strokes are alike, the last one with what stood ahead of the cutter.
#[test]
fn a_groove_in_one_block() {
    let program = "M3 S18000\nG0 X20 Z40\nG1 Z23 F300\nX80 F1000\nG0 Z40\n";
    let job = job("", "material = \"black walnut\"", "diameter = 6, flute = 20", program);
    let along: Vec<Load> = loads(&job, 0.2).into_iter().filter(|load| load.engagement.direction[0] > 0.9).collect();
    assert!(along.len() >= 6, "{}", along.len());
    // The first begins in the hole of the plunge.
    // Of the round bar over the floor: less than 6 · 2 by what is missing beside the crown.
    let section = 25.0f64.powi(2) * (3.0f64 / 25.0).asin() + 3.0 * (25.0f64.powi(2) - 9.0).sqrt() - 6.0 * 23.0;
    for load in &along[1..] {
        // At the top all of the cutter is in the wood, 2 mm deep.
        near(load.engagement.width, 6.0, 1e-12);
        near(load.engagement.arc, PI, 1e-12);
        near(load.engagement.rate.unwrap(), section * 1000.0 / 60.0, 0.04);
        assert_eq!(load.engagement.is_climb, None);
    }
}

/// A slot that is open down to the axis goes on below it: on the rays that point down wood is taken from within.
#[test]
fn a_slot_below_the_axis() {
    let down = |floor: f64| format!("G0 X60\nG0 Z{floor}\nG1 X20 F1000\nG0 Z40\n");
    let program = format!("M3 S18000\nG0 X60 Z40\n{}{}{}", down(12.0), down(0.0), down(-8.0));
    let job = job("", "material = \"black walnut\"", "diameter = 6, flute = 45", &program);
    let mut last: Vec<Load> = loads(&job, 0.2);
    last.retain(|load| load.station < 55.0 && load.engagement.direction[0] < -0.9);
    let block = last.last().expect("a slot").block;
    last.retain(|load| load.block == block);
    assert!(last.len() >= 4, "{}", last.len());
    for load in &last {
        near(load.engagement.depth, 8.0, 1e-3);
        near(load.engagement.width, 6.0, 0.06);
        near(load.engagement.rate.unwrap(), 6.0 * 8.0 * 1000.0 / 60.0, 0.06);
        assert!(load.forces.unwrap().main[0] > 0.0);
    }
}
