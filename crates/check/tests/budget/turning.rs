//! A rotary axis that has slipped or been zeroed off a whole turn, and how far it is wound.

use crate::wood::{Wood, carved, job, near};
use dryturn_check::{Proof, RunOptions, prove};
use dryturn_scene::Job;

const KEYS: &str = "machine = { start = { x = 0, y = 0, z = 60, a = 0 } }";

/// Two programs, the blank turned by 3° between them.
fn slipped<T>(diameter: u32, cutter: &str, [first, second]: [&str; 2], look: impl FnOnce(&Wood<'_>) -> T) -> T {
    let scene =
        format!("blank = {{ diameter = {diameter}, length = 120 }}\ncutter = [{{ {cutter}, flute = 40 }}]\n{KEYS}");
    carved(&job(&scene, &[("cutter = 1", first), ("slip = { a = 3 }", second)]), look)
}

const BALL: &str = "shape = \"ball\", diameter = 3";

#[test]
fn edges_step_where_the_blank_has_slipped() {
    for (radius, told) in [(10.0, 0.52), (20.0, 1.05), (25.0, 1.31), (35.0, 1.83)] {
        let line = |station: u32| {
            format!("M3 S9000\nG0 X{station} Z60 A0\nG1 Z{} F500\nX{}\nG0 Z60\n", radius - 1.0, station + 20)
        };
        slipped(2 * radius as u32, BALL, [&line(20), &line(60)], |wood| {
            let by = wood.deepest(70.0, 0.0, 5.0) - wood.deepest(30.0, 0.0, 5.0);
            near(by, 3.0, 2e-3);
            near(by.to_radians() * radius, told, 6e-3);
        });
    }
}

/// The station near another where a groove around the blank is deepest.
fn middle(wood: &Wood<'_>, about: f64, degrees: f64) -> f64 {
    let radius = |station: f64| wood.radius(station, degrees);
    let (mut low, mut high) = (about - 1.4, about + 1.4);
    while high - low > 1e-6 {
        let (one, other) = (low + (high - low) / 3.0, high - (high - low) / 3.0);
        if radius(one) < radius(other) { high = other } else { low = one }
    }
    0.5 * (low + high)
}

#[test]
fn a_spiral_moves_along_by_its_lead() {
    let spiral =
        |station: u32| format!("M3 S9000\nG0 X{station} Z60 A0\nG1 Z24 F500\nX{} A360\nG0 Z60\n", station + 40);
    slipped(50, BALL, [&spiral(5), &spiral(65)], |wood| {
        // The second lies 60 mm farther on, and at the same ray it comes 3° earlier.
        let by = middle(wood, 25.0 + 60.0, 180.0) - middle(wood, 25.0, 180.0) - 60.0;
        near(by, -40.0 * 3.0 / 360.0, 1e-3);
        near(by.abs(), 0.333, 1e-3);
    });
}

#[test]
fn a_hexagon_cut_twice_has_twelve_sides() {
    let faces: String = (0..6)
        .map(|k| format!("G0 A{}\nG1 Z20 F500\nX{}\nG0 Z60\n", 60 * k, if k % 2 == 0 { 100 } else { 20 }))
        .collect();
    let hexagon = format!("M3 S9000\nG0 X20 Z60\n{faces}");
    // A corner halfway between two faces, and the area.
    let look = |corner: f64| move |wood: &Wood<'_>| (wood.radius(60.0, corner), wood.area(60.0));
    let once = slipped(60, "diameter = 80", [&hexagon, "M3 S9000\nG0 X20 Z60\n"], look(30.0));
    let twice = slipped(60, "diameter = 80", [&hexagon, &hexagon], look(31.5));
    // A polygon around a circle of 20: sides at 60°, then at 3° and 57° in turn.
    let tan = |degrees: f64| degrees.to_radians().tan();
    near(once.1, 6.0 * 400.0 * tan(30.0), 0.05);
    near(twice.1, 6.0 * 400.0 * (tan(1.5) + tan(28.5)), 0.05);
    near(once.0, 23.09, 5e-3);
    near(twice.0, 20.0 / 28.5f64.to_radians().cos(), 5e-3);
    near(twice.0, 22.76, 6e-3);
    near(once.1, 1385.6, 0.1);
    near(twice.1, 1365.9, 0.1);
}

/// 24¼ turns of a spiral with a lead of 40, the axis zeroed there, and a spiral from zero after that.
#[test]
fn zeroed_off_a_whole_turn_all_that_follows_stands_turned() {
    let scene = format!("blank = {{ diameter = 50, length = 120 }}\ncutter = [{{ {BALL} }}]\n{KEYS}");
    let program =
        "M3 S9000\nG0 X10 Z60 A0\nG1 Z24 F500\nX50 A360\nG0 Z60\nA8730\nG92 A0\nX60\nG1 Z24 F500\nX100 A360\nG0 Z60\n";
    carved(&job(&scene, &[("cutter = 1", program)]), |wood| {
        let first = middle(wood, 10.0 + 30.0, 270.0);
        near(first, 40.0, 1e-3);
        // 50 mm farther on it would lie at 90, were it not turned by 90°: at this ray it comes a quarter of a lead earlier.
        near(middle(wood, 80.0, 270.0) - first - 50.0, -10.0, 1e-3);
    });
}

#[test]
fn passes_wind_the_axis_up() {
    let scene = "blank = { diameter = 50, length = 310 }
        cutter = [{ diameter = 6, flute = 30 }]
        grid = { pitch = 2 }
        machine = { start = { x = 0, y = 0, z = 60, a = 0 }, rapid = { a = 3600 } }";
    let passes: String = (1..=6)
        .map(|k| format!("G1 Z{} F500\nX{} A{}\n", 26 - k, if k % 2 == 1 { 305 } else { 5 }, 36_000 * k))
        .collect();
    let job = job(scene, &[("cutter = 1", &format!("M3 S9000\nG0 X5 Z40 A0\n{passes}G0 Z60\n"))]);
    let proof = proof(&job);
    assert_eq!(proof.programs[0].winding, Some([0.0, 216_000.0]));
    near(216_000.0 / 360.0, 600.0, 0.0);
    near(proof.times.unwinding_s.expect("it turns") / 60.0, 60.0, 1e-9);
}

fn proof(job: &Job) -> Proof {
    prove(job, &RunOptions { threads: 1, ..RunOptions::default() }).expect("a run")
}

/// Numbers of 32 bits hold 24 of them: at 346 680° they step by 2⁻⁵°. On ⌀50 that is 0.014 mm and let pass; on ⌀100 it is told.
#[test]
fn the_controllers_number_runs_out_of_digits() {
    let step = 346_680.0f32.next_up() - 346_680.0f32;
    near(f64::from(step), 0.031, 5e-4);
    near(f64::from(step).to_radians() * 25.0, 0.014, 5e-4);
    let values = |diameter: u32| -> Vec<f64> {
        let scene = format!(
            "blank = {{ diameter = {diameter}, length = 40 }}\ncutter = [{{ diameter = 6 }}]\ngrid = {{ pitch = 2 }}\n{KEYS}"
        );
        let found = proof(&job(&scene, &[("cutter = 1", "G0 X10 A346680\n")])).findings;
        let told = found.iter().filter(|it| it.rule == "wound-up" && it.unit == Some("mm"));
        told.filter_map(|it| it.value).collect()
    };
    assert!(values(50).is_empty());
    let [told] = values(100)[..] else { panic!("told once") };
    near(told, f64::from(step).to_radians() * 50.0, 1e-9);
}
