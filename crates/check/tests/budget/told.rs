//! The budget that a job is told by, and what it takes of wood and cutters.

use crate::wood::{job, near};
use dryturn_check::{Preparation, RunOptions, prove};

fn prepared(scene: &str, programs: &[(&str, &str)]) -> Preparation {
    let job = job(&format!("{scene}\ngrid = {{ pitch = 1 }}"), programs);
    prove(&job, &RunOptions { threads: 1, ..RunOptions::default() }).expect("a run").preparation
}

/// What a budget tells of an error, by the start of what it does.
#[track_caller]
fn effect(ready: &Preparation, error: &str, what: &str) -> f64 {
    let row =
        ready.budget.iter().find(|row| row.error.starts_with(error)).unwrap_or_else(|| panic!("{:#?}", ready.budget));
    let effect = row.effects.iter().find(|effect| effect.what.starts_with(what)).unwrap_or_else(|| panic!("{row:#?}"));
    effect.value
}

const DOUBT: &str = "doubt = { x = 0.5, y = 0.5, z = 0.5, a = 3, runout = 2 }";

/// Turned to 25 and 10 with a ball over 300 mm, lines of a vee on it.
fn post() -> Preparation {
    let scene = format!(
        "blank = {{ diameter = 56, length = 320 }}
        cutter = [{{ shape = \"ball\", diameter = 6 }}, {{ shape = \"vee\", angle = 60, diameter = 10 }}]
        machine = {{ start = {{ x = 0, y = 0, z = 60, a = 0 }} }}
        {DOUBT}"
    );
    let turn = "M3 S9000\nG0 X10 Z40\nG1 Z25 F500\nX200 A68400\nZ10\nX310 A108000\nG0 Z40\n";
    prepared(&scene, &[("cutter = 1", turn), ("cutter = 2", "M3 S9000\nG0 X100 Z40\nG1 Z24 F500\nX120\nG0 Z40\n")])
}

/// The figures are those of the whole carves beside this, at the radii that are worked all round: the first row of them is on
/// the flank where the ball came down, and what it leaves between its turns stands 0.042 over its tip.
#[test]
fn a_budget_tells_what_the_carves_show() {
    let ready = post();
    near(effect(&ready, "Z zero", "every diameter"), 1.0, 1e-12);
    near(effect(&ready, "Z zero", "lines of cutter 2"), 0.577, 1e-3);
    // hypot(0.5, 10 + 3) − (10 + 3): most where the tip comes nearest to the axis, not over what stands between its turns.
    near(effect(&ready, "Y zero", "cutter 1 leaves"), 0.009_612, 1e-6);
    near(effect(&ready, "Y zero", "its lines lie turned at radius 26.32"), 0.977, 1e-3);
    near(effect(&ready, "Y zero", "its lines lie turned at radius 10.04"), 2.20, 1e-2);
    near(effect(&ready, "A zero", "edges step at radius 26.32"), 1.378, 1e-3);
    near(effect(&ready, "A zero", "edges step at radius 10.04"), 0.526, 1e-3);
    near(effect(&ready, "axis that rises", "over"), 1.0, 1e-12);
    near(effect(&ready, "axis that leans", "lines along"), 0.977, 1e-3);
    near(effect(&ready, "play", "lines to and fro miss each other at radius 26.32"), 0.0459, 1e-4);
    near(effect(&ready, "blank off centre", "the clean round"), 4.0, 1e-12);
    let step = 0.0078125f64.to_radians() * 26.318;
    near(effect(&ready, "32-bit", "the surface"), step, 1e-3 * step);
}

#[test]
fn cutters_are_told_in_their_order_with_what_the_axis_shows() {
    let ready = post();
    let told: Vec<_> =
        ready.changes.iter().map(|it| (it.program, it.line, it.cutter, it.shown.and_then(|it| it.a))).collect();
    assert_eq!(told, [(0, 2, 1, Some(0.0)), (1, 2, 2, Some(108_000.0))]);
    let first = ready.first_cut.expect("it cuts");
    assert_eq!((first.program, first.line, first.cutter), (0, 3, 1));
    near(first.station_mm, 10.0, 1e-9);
    assert!((25.0..=40.0).contains(&first.height_mm), "{first:?}");
}

#[test]
fn the_smallest_blank_holds_the_piece_and_what_it_is_off() {
    let blank = |keys: &str, height: f64| {
        let scene = format!(
            "blank = {{ {keys}, length = 100 }}
            cutter = [{{ diameter = 6, flute = 40 }}]
            machine = {{ start = {{ x = 0, y = 0, z = 60, a = 0 }} }}"
        );
        let turn = format!("M3 S9000\nG0 X20 Z50\nG1 Z{height} F500\nA360\nX60 A7560\nA7920\nG0 Z50\n");
        prepared(&scene, &[("cutter = 1", &turn)]).wood.expect("it cuts")
    };
    let wood = blank("diameter = 50, runout = { z = 0.8 }, bow = { amount = 1.2 }", 20.0);
    near(wood.radii[0], 20.0, 1e-4);
    near(wood.spare_mm, 4.0, 1e-12);
    near(wood.round_mm, 44.0, 1e-3);
    near(wood.square_mm.expect("a square does too"), 44.0, 1e-3);
    assert!(!wood.is_skin && wood.outline.len() > 50);
    near(wood.stations[0], 17.0, 1.0);
    // Where flats of the blank itself stay, no smaller one does; where heights count from its skin neither.
    let corners = blank("shape = \"square\", across_flats = 40", 27.0);
    assert_eq!((corners.is_skin, corners.square_mm), (true, Some(40.0)));
    assert_eq!(blank("diameter = 50", 24.99).square_mm.map(f64::round), Some(50.0));
}
