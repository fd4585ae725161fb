//! Programs as a shop would run them, made by rule: on a blank of diameter 60, 200 long.

// Each benchmark that compiles this module uses a part of it.
#![allow(dead_code)]

use std::f64::consts::TAU;

use dryturn_carve::Cutter;
use dryturn_geom::angle::radians;
use dryturn_geom::{Flutes, Motion, Motions, Pose, Shape};

/// A program and the cutters it calls.
pub(crate) struct Work {
    pub(crate) name: &'static str,
    pub(crate) cutters: Vec<Cutter>,
    pub(crate) motions: Box<dyn Motions>,
}

/// All work; that which takes tens of seconds only if asked for.
pub(crate) fn all(long: bool) -> Vec<Work> {
    let mut all = vec![
        Work::new("roughing helix, flat 12", flat(12.0), roughing()),
        Work::new("finishing helix, ball 3", ball(3.0), finishing()),
        Work::new("the same twice, ball 3", ball(3.0), twice(finishing())),
        Work::new("finishing along X, ball 3", ball(3.0), along()),
        Work::new("finishing helix, bull 6 r 1", cutter(Shape::Bull { corner: 1.0 }, 6.0), finishing()),
        Work::new("finishing helix, vee 60°", cutter(vee(30.0), 6.0), finishing()),
        Work::new("finishing helix, taper tip 2", cutter(taper(), 6.0), finishing()),
        Work::new("finishing helix, form of 12", cutter(form(), 6.0), finishing()),
        Work::new("deep first groove, ball 3", ball(3.0), groove()),
        Work::new("20 blocks of 10 turns, flat 6", flat(6.0), turns()),
        Work::new("96 slots along X, flat 6", flat(6.0), slots()),
    ];
    if long {
        all.push(Work { name: "ten million relief blocks, ball 3", cutters: ball(3.0), motions: Box::new(Relief) });
    }
    all
}

impl Work {
    fn new(name: &'static str, cutters: Vec<Cutter>, motions: Vec<Motion>) -> Work {
        Work { name, cutters, motions: Box::new(motions) }
    }
}

fn cutter(shape: Shape, diameter: f64) -> Vec<Cutter> {
    let flutes = Flutes::new(shape, 0.5 * diameter, 4.0 * diameter).expect("a plain cutter");
    vec![Cutter { flutes, uppers: vec![] }]
}

pub(crate) fn flat(diameter: f64) -> Vec<Cutter> {
    cutter(Shape::Flat, diameter)
}

pub(crate) fn ball(diameter: f64) -> Vec<Cutter> {
    cutter(Shape::Ball, diameter)
}

fn vee(half_angle: f64) -> Shape {
    Shape::Vee { half_angle: radians(half_angle), tip_radius: 0.0 }
}

fn taper() -> Shape {
    Shape::Taper { half_angle: radians(5.0), tip_radius: 1.0, ball: true }
}

/// A cove and bead of twelve straight segments.
fn form() -> Shape {
    let profile = (0..=12).map(|k| {
        let height = 0.25 * f64::from(k);
        (height, 0.5 + 2.5 * (0.5 * height).sin().powi(2))
    });
    Shape::Form { profile: profile.collect() }
}

/// Blocks between poses that follow each other.
fn chain(poses: impl IntoIterator<Item = Pose>) -> Vec<Motion> {
    let poses: Vec<Pose> = poses.into_iter().collect();
    poses.windows(2).enumerate().map(|(block, ends)| straight(block as u32, ends[0], ends[1])).collect()
}

fn straight(block: u32, from: Pose, to: Pose) -> Motion {
    Motion { from, to, arc: None, block, cutter: 0, rapid: false }
}

/// A helix of `blocks` blocks of `degrees` each, `lead` mm a turn, with the tip at `height(turns)`.
pub(crate) fn helix(blocks: u32, degrees: f64, lead: f64, height: impl Fn(f64) -> f64) -> Vec<Motion> {
    chain((0..=blocks).map(|k| {
        let turns = f64::from(k) * degrees / 360.0;
        Pose { x: lead * turns, y: 0.0, z: height(turns), turn: turns * TAU }
    }))
}

/// 20 000 blocks of 1.2°, 3 mm a turn, 4 to 8 mm deep.
pub(crate) fn roughing() -> Vec<Motion> {
    helix(20_000, 1.2, 3.0, |turns| 26.0 - 4.0 * (turns * 0.1).sin().powi(2))
}

/// 200 000 blocks of 1.2°, 0.3 mm a turn, 0.3 to 0.8 mm deep over a wavy profile.
pub(crate) fn finishing() -> Vec<Motion> {
    helix(200_000, 1.2, 0.3, wave)
}

fn wave(turns: f64) -> f64 {
    29.7 - 0.5 * (turns * 0.05).sin().powi(2)
}

fn twice(once: Vec<Motion>) -> Vec<Motion> {
    let count = once.len() as u32;
    let again: Vec<Motion> = once.iter().map(|motion| Motion { block: motion.block + count, ..*motion }).collect();
    [once, again].concat()
}

/// 200 000 blocks of 0.63 mm, to and fro along the axis, the blank turned by 0.57° after each pass.
fn along() -> Vec<Motion> {
    let passes = 630;
    chain((0..passes).flat_map(|pass| {
        let turn = f64::from(pass) * TAU / f64::from(passes);
        (0..=316).map(move |k| {
            let x = 0.6297 * f64::from(if pass % 2 == 0 { k } else { 316 - k });
            Pose { x, y: 0.0, z: wave(x / 0.3), turn }
        })
    }))
}

/// One helix 4 mm deep into the full blank, 2.9 mm a turn.
fn groove() -> Vec<Motion> {
    helix(20_000, 1.2, 2.9, |_| 26.0)
}

/// 20 blocks that each turn the blank ten times, 2 mm a turn.
fn turns() -> Vec<Motion> {
    helix(20, 3600.0, 1.0, |_| 27.0)
}

/// 96 slots along the axis, 3 mm deep, with the lifts between them.
fn slots() -> Vec<Motion> {
    chain((0..96).flat_map(|slot| {
        let turn = f64::from(slot) * TAU / 96.0;
        let (near, far) = if slot % 2 == 0 { (20.0, 180.0) } else { (180.0, 20.0) };
        [(near, 35.0), (near, 27.0), (far, 27.0), (far, 35.0)].map(|(x, z)| Pose { x, y: 0.0, z, turn })
    }))
}

/// Ten million blocks of 0.14 mm: a relief on the whole skin, carved in a helix of 0.04 mm a turn. Made when asked for, as
/// they would fill more memory than the carve.
struct Relief;

impl Relief {
    const BLOCKS: u32 = 10_000_000;
    const LEAD: f64 = 0.027;
    const DEGREES: f64 = 0.267;

    fn pose(k: u32) -> Pose {
        let turns = f64::from(k) * Self::DEGREES / 360.0;
        let turn = turns * TAU;
        let x = Self::LEAD * turns;
        Pose { x, y: 0.0, z: 29.4 + 0.3 * (9.0 * turn).sin() * (0.4 * x).sin(), turn }
    }
}

impl Motions for Relief {
    fn count(&self) -> u32 {
        Self::BLOCKS
    }

    fn motion(&self, index: u32) -> Option<Motion> {
        (index < Self::BLOCKS).then(|| straight(index, Self::pose(index), Self::pose(index + 1)))
    }
}
