//! `rezero-off-turn`.

use super::skin;
use crate::common::{assert_finding, job, job_of, job_with, one, place, run, silent};
use dryturn_check::{Finding, Severity};
use dryturn_geom::Motions;

fn bar() -> String {
    "blank = { diameter = 60, length = 200 }
        grid = { pitch = 2 }
        cutter = [{ diameter = 6, flute = 30 }]
        machine = { start = { x = 20, y = 0, z = 80, a = 0 } }"
        .to_owned()
}

/// A groove of lead 40 that ends at A 8730, and the same begun again at A0.
const GROOVE: &str = "M3 S9000\nG0 Z40\nX20\nG1 Z26 F300\nX180 A1440\nX20 A2880\nG0 Z40\nG0 A8730\n";
const SLOT: &str = "G0 X100 A0\nG1 Z24 F300\nX140 A360\nG0 Z40\n";

#[test]
fn zeroed_again_a_quarter_past_a_turn() {
    let finding = one("rezero-off-turn", &bar(), &[GROOVE, &format!("M3\nG92 A0\n{SLOT}")]);
    assert_finding(&finding, Severity::Error, (2, 5), 90.0, 1e-9);
    assert_eq!((finding.unit, finding.program, finding.cutter), (Some("°"), Some(1), Some(1)));
    assert_eq!(place(&finding).0, 100.0);
    assert!(finding.text.contains("A is zeroed again at 8730°, 90° off a whole turn"), "{}", finding.text);
    assert!(finding.text.contains("47.12 mm of arc at a radius of 30.00 mm"), "{}", finding.text);
    assert!(finding.text.contains("10.00 mm along a lead of 40.00 mm"), "{}", finding.text);
    assert!(finding.cure.contains("9000°"), "{}", finding.cure);
    // At a whole turn nothing is wrong.
    silent("rezero-off-turn", &bar(), &[&GROOVE.replace("8730", "8640"), &format!("M3\nG92 A0\n{SLOT}")]);
    // Nor where the word is only told where it stands.
    silent("rezero-off-turn", &bar(), &[GROOVE, &format!("M3\nG92 A90\n{SLOT}")]);
}

#[test]
fn zeroed_again_within_a_program() {
    let whole = format!("{GROOVE}G92 A0\n{SLOT}");
    let finding = one("rezero-off-turn", &bar(), &[&whole]);
    assert_finding(&finding, Severity::Error, (9, 12), 90.0, 1e-9);
    let reversed = bar().replace("{ start", "{ turns = \"reversed\", rotary = \"B\", start");
    let finding = one("rezero-off-turn", &reversed, &[&whole.replace('A', "B")]);
    assert!(finding.text.starts_with("B is zeroed again at 8730°"), "{}", finding.text);
    // What was zeroed before anything was cut is the zero.
    silent("rezero-off-turn", &bar(), &[&format!("G0 A90\nG92 A0\n{SLOT}")]);
    // The offset dropped again before the next cut.
    silent("rezero-off-turn", &bar(), &[&format!("{GROOVE}G92 A0\nG92.1\nG0 A8640\n{SLOT}")]);
}

/// A percent sign resets nothing, as M2 and M30 do (NISTIR 6556 section 3.6.1): the zero is there for the next program.
#[test]
fn zeroed_again_at_the_end_of_the_program_before() {
    let bounded = |end: &str| format!("%\n{GROOVE}G92 A0\n{end}");
    let finding = one("rezero-off-turn", &bar(), &[&bounded("%\n"), &format!("M3\n{SLOT}")]);
    assert_eq!((finding.value, finding.program), (Some(90.0), Some(1)));
    // What stands in the second program then is turned by as much.
    let turned = |end: &str| {
        let job = job(&bar(), &[&bounded(end), &format!("M3\n{SLOT}")]);
        let last = job.motion(job.count() - 2).unwrap();
        last.to.turn.to_degrees()
    };
    assert!((turned("%\n") - 8730.0 - 360.0).abs() < 1e-6 && (turned("M30\n%\n") - 360.0).abs() < 1e-6);
}

fn with_zeros(zero: &str, programs: &[&str]) -> Vec<Finding> {
    let scene = format!(
        "format = 1\n{}\n[[program]]\nfile = \"1.nc\"\ncutter = 1\n[[program]]\nfile = \"2.nc\"\n{zero}\n",
        bar()
    );
    run(&job_of(&scene, programs)).findings.into_iter().filter(|found| found.rule == "rezero-off-turn").collect()
}

#[test]
fn zeroed_where_it_stood_between_two_programs() {
    let next = format!("M3\n{SLOT}");
    for zero in ["zero = { a = 8730 }", "zero = { a = 90 }"] {
        let found = with_zeros(zero, &[GROOVE, &next]);
        assert_eq!(found.len(), 1, "{zero}: {found:#?}");
        assert_finding(&found[0], Severity::Error, (3, 4), 90.0, 1e-6);
        assert!(found[0].text.starts_with("A is zeroed again at 8730°"), "{}", found[0].text);
    }
    // A zero of its own that is not where the word stood is meant, and so is one for faces that were counted off.
    assert!(with_zeros("zero = { a = 45 }", &[GROOVE, &next]).is_empty());
    assert!(with_zeros("zero = { a = 8640 }", &[&GROOVE.replace("8730", "8640"), &next]).is_empty());
    assert!(with_zeros("zero = { a = 180 }", &["M3\nG0 A180\nX100\nG1 Z24 F300\nX140\nG0 Z40\n", &next]).is_empty());
    assert!(with_zeros("", &[GROOVE, &next]).is_empty());
}

#[test]
fn another_face_of_work_that_is_counted_off() {
    let slot = "X100\nG1 Z24 F300\nX140\nG0 Z40\n";
    let faces = format!("M3 S9000\nG0 Z40\n{slot}A90\nG92 A0\n{slot}");
    let with = |indexed: &str| {
        let scene = format!("format = 1\n{}\n[[program]]\nfile = \"1.nc\"\ncutter = 1\n{indexed}\n", bar());
        let findings = run(&job_of(&scene, &[&faces])).findings;
        findings.iter().filter(|found| found.rule == "rezero-off-turn").count()
    };
    assert_eq!((with("indexed = true"), with("")), (0, 1));
}

#[test]
fn a_pattern_carried_round_by_zeroing_again() {
    let flute = "X40\nG1 Z26 F300\nX100\nG0 Z40\nA60\nG92 A0\n";
    let six = format!("M3 S9000\nG0 Z40\n{}", flute.repeat(6));
    silent("rezero-off-turn", &bar(), &[&six]);
}

#[test]
fn what_is_the_same_all_round_is_a_note() {
    let ring = "X60\nG1 Z26 F300\nA360\nG0 Z40\n";
    let rings = format!("M3 S9000\nG0 Z40\n{ring}A450\nG92 A0\n{}", ring.replace("X60", "X100"));
    let slot = "X100\nG1 Z24 F300\nX140\nG0 Z40\n";
    // Nor does it matter where a slot begins on what was turned, or a ring on what was slotted.
    for (first, second) in [(ring, slot), (slot, ring)] {
        let program = format!("M3 S9000\nG0 Z40\n{first}A450\nG92 A0\n{second}");
        assert_eq!(one("rezero-off-turn", &bar(), &[&program]).severity, Severity::Note);
    }
    let finding = one("rezero-off-turn", &bar(), &[&rings]);
    assert_eq!(finding.severity, Severity::Note);
    assert!(finding.text.ends_with("what is cut before it or after it is the same all round."), "{}", finding.text);
}

#[test]
fn a_target_says_whether_it_was_meant() {
    let scene = format!(
        "format = 1\nprogram = [{{ file = \"1.nc\", cutter = 1 }}]\ntarget = {{ file = \"t.stl\" }}\n{}",
        bar()
    );
    let slots = "M3 S9000\nG0 Z40\nX40\nG1 Z26 F300\nX80\nG0 Z40\nA450\nG92 A0\nX120\nG1 Z26\nX160\nG0 Z40\n";
    let told = |second: f64| {
        let target = skin([2.0, 200.0], 120, |station, theta| {
            let in_slot = |from: f64, angle: f64| {
                let across = 30.0 * (theta - angle.to_radians()).sin();
                (from - 3.0..from + 43.0).contains(&station)
                    && across.abs() < 3.0
                    && (theta - angle.to_radians()).cos() > 0.0
            };
            if in_slot(40.0, 0.0) || in_slot(120.0, second) { 26.0 } else { 30.0 }
        });
        let findings = run(&job_with(&scene, &[slots], &[("t.stl", &target)])).findings;
        findings.into_iter().filter(|found| found.rule == "rezero-off-turn").collect::<Vec<_>>()
    };
    let off = told(0.0);
    assert_eq!(off.len(), 1);
    assert_finding(&off[0], Severity::Error, (8, 11), 90.0, 1e-9);
    assert!(off[0].text.contains("; on a whole turn it would leave"), "{}", off[0].text);
    assert!(told(90.0).is_empty());
}
