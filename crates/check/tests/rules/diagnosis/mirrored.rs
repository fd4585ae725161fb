//! `mirrored`.

use std::f64::consts::TAU;

use super::skin;
use crate::common::{assert_near, job_with, run};
use dryturn_check::{Finding, Severity};

/// A spiral slot from A0 at station 20 to A270 at station 80, 4 mm deep, in a bar of ⌀40 × 100.
const SPIRAL: &str = "M3 S9000\nG0 Z30\nX20 Y0 A0\nG1 Z16 F300\nX80 A270 F600\nG0 Z30\n";

fn scene(turns: &str, programs: usize) -> String {
    let entries: String = (1..=programs).map(|n| format!("[[program]]\nfile = \"{n}.nc\"\ncutter = 1\n")).collect();
    format!(
        "format = 1
        blank = {{ diameter = 40, length = 100 }}
        grid = {{ pitch = 1 }}
        target = {{ file = \"t.stl\", gouge = 0.3, leftover = 0.6 }}
        cutter = [{{ diameter = 6, flute = 30 }}]
        machine = {{ turns = \"{turns}\", start = {{ x = 20, y = 0, z = 80, a = 0 }} }}
        {entries}"
    )
}

/// The bar with a slot along such a spiral as the target: a strip of its skin lies 4 mm lower.
fn target(hand: f64) -> String {
    let around = 270f64.to_radians() * 18.0;
    // The distance of a point of the skin from the middle of the slot, wherever the skin is cut open.
    skin([1.0, 100.0], 240, |station, theta| {
        let near = |turn: f64| {
            let [along, across] = [station - 20.0, hand * (theta + turn * TAU) * 18.0];
            let share = ((along * 60.0 + across * around) / (60.0f64.powi(2) + around.powi(2))).clamp(0.0, 1.0);
            (along - share * 60.0).hypot(across - share * around) < 3.0
        };
        if (-2..3).any(|turn| near(f64::from(turn))) { 16.0 } else { 20.0 }
    })
}

fn told(turns: &str, programs: &[&str], hand: f64) -> Vec<Finding> {
    let job = job_with(&scene(turns, programs.len()), programs, &[("t.stl", &target(hand))]);
    run(&job).findings.into_iter().filter(|finding| finding.rule == "mirrored").collect()
}

#[test]
fn a_spiral_of_the_other_hand() {
    let told = told("reversed", &[SPIRAL], 1.0);
    assert_eq!(told.len(), 1);
    let finding = &told[0];
    assert_eq!((finding.severity, finding.program, finding.lines), (Severity::Error, Some(0), Some((5, 5))));
    assert_eq!(finding.unit, Some("mm³"));
    assert!(finding.place.is_some());
    // Twice the slot, less what the two hands share at its start.
    let slot = finding.value.unwrap();
    assert!((2000.0..6000.0).contains(&slot), "{slot}");
    assert!(finding.text.contains("turned the other way it would leave"), "{}", finding.text);
    assert!(finding.cure.starts_with("Write turns = \"iso\" under [machine]"), "{}", finding.cure);
}

#[test]
fn the_same_spiral_of_the_right_hand() {
    assert!(told("iso", &[SPIRAL], 1.0).is_empty());
    assert!(told("reversed", &[SPIRAL], -1.0).is_empty());
    // Off its target in another way: mirroring makes it no better.
    assert!(told("iso", &[&SPIRAL.replace("A0", "A90").replace("A270", "A360")], 1.0).is_empty());
}

#[test]
fn of_several_programs_the_one_that_is_mirrored() {
    let ring = "M3 S9000\nG0 Z30\nX90 Y0 A0\nG1 Z19.8 F300\nA360 F600\nG0 Z30\n";
    let left = SPIRAL.replace("A270", "A-270");
    let told = told("iso", &[ring, &left], 1.0);
    assert_eq!(told.len(), 1);
    assert_eq!((told[0].program, told[0].lines), (Some(1), Some((5, 5))));
    assert_near(told[0].blocks.into(), 1.0, 0.0);
}
