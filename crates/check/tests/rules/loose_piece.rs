//! `loose-piece`: the block that severs, and what stays one piece.
//!
//! Every line and every volume here is worked out by hand from the shape of the cuts.

use crate::common::{assert_finding, job_of, job_with, one, run, silent};
use dryturn_check::Severity;

/// A bar of ⌀20 that stands 65 out of its jaws, and a flat cutter of 4.
const BAR: &str = "blank = { diameter = 20, length = 80 }
    grid = { pitch = 0.25 }
    cutter = [{ diameter = 4, flute = 30 }]
    chuck = { hold = 15 }
    machine = { start = { x = 40, y = 0, z = 50, a = 0 } }";

/// A tube of ⌀30 with a bore of 20 that stands 45 out of its jaws. At a height of 8 a cutter of 4 is through its wall,
/// which begins at √(10² − 2²) = 9.8 beside the cutter's middle.
const TUBE: &str = "blank = { shape = \"tube\", diameter = 30, bore = 20, length = 60 }
    grid = { pitch = 0.25 }
    cutter = [{ diameter = 4, flute = 30 }]
    chuck = { hold = 15 }
    machine = { start = { x = 10, y = 0, z = 50, a = 0 } }";

/// The one finding: what falls off is this large (mm³), and this line lets it fall.
#[track_caller]
fn falls(scene: &str, program: &str, line: u32, volume: f64) {
    let finding = one("loose-piece", scene, &[program]);
    assert_finding(&finding, Severity::Warning, (line, line), volume, 0.01 * volume);
    assert_eq!(finding.unit, Some("mm³"));
}

#[track_caller]
fn stays(scene: &str, program: &str) {
    silent("loose-piece", scene, &[program]);
}

/// A ring cut in three depths at station 40, a whole turn each. Lines 4, 6 and 8 plunge, 5, 7 and 9 turn.
fn parted(last: f64) -> String {
    format!(
        "M3 S9000\nG0 Z20\nX40 A0\nG1 Z6 F300\nA360 F1800\nZ2 F300\nA720 F1800\nZ{last} F300\nA1080 F1800\nG0 Z20\n"
    )
}

#[test]
fn a_parting_ring_severs_as_it_is_turned() {
    // The plunge of line 8 reaches half a millimetre past the axis and leaves the core's lower half, which the turn takes.
    // Beyond the ring, from station 42 to the end at 65, stands π · 10² · 23 mm³.
    falls(BAR, &parted(-0.5), 9, 7225.7);
    // A core of ⌀1 holds it, however weakly.
    stays(BAR, &parted(0.5));
}

#[test]
fn parting_that_is_meant_is_quiet() {
    let entry = |parts: &str| format!("format = 1\n{BAR}\n[[program]]\nfile = \"1.nc\"\ncutter = 1\n{parts}");
    let speaks = |parts: &str| {
        let findings = run(&job_of(&entry(parts), &[&parted(-0.5)])).findings;
        findings.iter().any(|finding| finding.rule == "loose-piece")
    };
    assert!(speaks(""));
    assert!(!speaks("parts = { min_tab = 0 }"));
}

#[test]
fn what_only_the_center_touches_is_loose() {
    let center = "tailstock = { center = { diameter = 12, quill = 16, extension = 3 }, dimple = 2 }";
    let finding = one("loose-piece", &format!("{BAR}\n{center}"), &[&parted(-0.5)]);
    assert_eq!((finding.severity, finding.lines), (Severity::Warning, Some((9, 9))));
}

#[test]
fn the_part_that_is_wanted_is_an_error() {
    let scene = format!(
        "{BAR}\ntarget = {{ file = \"wanted.csv\" }}\nformat = 1\nprogram = [{{ file = \"1.nc\", cutter = 1 }}]"
    );
    let severity = |outline: &str| {
        let findings = run(&job_with(&scene, &[&parted(-0.5)], &[("wanted.csv", outline)])).findings;
        let loose: Vec<_> = findings.iter().filter(|finding| finding.rule == "loose-piece").collect();
        assert_eq!(loose.len(), 1, "{loose:#?}");
        loose[0].severity
    };
    assert_eq!(severity("44,10\n60,10\n"), Severity::Error);
    // The waste falls, and the piece stays in the jaws.
    assert_eq!(severity("5,10\n36,10\n"), Severity::Warning);
}

/// In a tube: across at station 10 from A0 to A90 (line 5), out along A0 over the free end (line 9), and in again along
/// A90 from a station to the cross slot (line 13).
fn strip(from: f64) -> String {
    format!(
        "M3 S9000\nG0 Z20\nX10 A0\nG1 Z8 F300\nA90 F900\nG0 Z20\nA0\nG1 Z8 F300\nX49 F600\nG0 Z20\nX{from} A90\n\
         G1 Z8 F300\nX10 F600\nG0 Z20\n"
    )
}

#[test]
fn a_slot_lengthwise_frees_the_strip_beside_it() {
    // Between the slots' walls, 2 off their middles, a quarter less twice asin(2/r) is left at a radius r, and from the
    // cross slot's wall at station 12 to the end at 45: 33 · ∫ r (π/2 − 2 asin(2/r)) dr from 10 to 15.
    falls(TUBE, &strip(49.0), 13, 2576.8);
    // A bridge of 3 is left at the free end: the cutter's edge begins at station 42.
    stays(TUBE, &strip(40.0));
}

/// Slots that wind around a tube from one place, one up to A180 (line 5), the other the other way around (line 9).
fn wound_both_ways(station: f64, angle: f64) -> String {
    format!(
        "M3 S9000\nG0 Z20\nX10 A0\nG1 Z8 F300\nX25 A180 F200\nG0 Z20\nX10 A0\nG1 Z8 F300\nX{station} A-{angle} F200\nG0 Z20\n"
    )
}

#[test]
fn openwork_whose_spirals_meet_falls_in_two() {
    // Both wind 30 mm a turn and meet on the far side, at station 25 and 180°: a closed line around the tube. The volume
    // beyond it was added up from cells of 0.5 × 1° × 0.125 mm.
    falls(TUBE, &wound_both_ways(25.0, 180.0), 9, 9957.0);
    // 40° short, at station 21.67: there the other slot's middle lies at station 28.33, 6.67 along the axis or 6.3 across
    // it, and a bridge of 2.3 is left between the walls.
    stays(TUBE, &wound_both_ways(10.0 + 15.0 * 140.0 / 180.0, 140.0));
    // One alone, however often it winds, leaves a spring.
    stays(TUBE, "M3 S9000\nG0 Z20\nX10 A0\nG1 Z8 F300\nX40 A1080 F200\nG0 Z20\n");
}

/// Holes of 6 right through a bar at one station, one every 30°; hole k turns in line 3k, plunges in 3k + 1 and leaves
/// in 3k + 2.
fn holes(count: u32) -> String {
    let hole = |index| format!("X30 A{}\nG1 Z-12 F200\nG0 Z15\n", 30 * index);
    let all: String = (0..count).map(hole).collect();
    format!("M3 S9000\nG0 Z15\n{all}")
}

#[test]
fn cross_holes_that_overlap_right_around_part_the_bar() {
    // Halfway between two holes the skin lies 10 · sin 15° = 2.59 off their middles, less than their radius: the sixth
    // hole, lines 18 to 20, closes the ring. Beyond it 15 less the holes' half width is left at every radius and angle.
    let scene = BAR.replace("diameter = 4", "diameter = 6").replace("length = 80", "length = 60");
    falls(&scene, &holes(6), 19, 3834.6);
    stays(&scene, &holes(5));
}

#[test]
fn a_web_of_three_tenths_holds() {
    // Across the bar from above and from below, 0.15 off the axis each: a web of 0.3 is left, or, past the axis, none.
    let sawn = |second: f64| {
        format!(
            "M3 S9000\nG0 Z20\nX40 Y-15 A0\nG1 Z0.15 F300\nY15 F600\nG0 Z20\nY-15 A180\nG1 Z{second} F300\nY15 F600\nG0 Z20\n"
        )
    };
    stays(BAR, &sawn(0.15));
    falls(BAR, &sawn(-0.2), 9, 7225.7);
    // A tube turned down to a wall of 0.3, and through it.
    let ring = |floor: f64| format!("M3 S9000\nG0 Z20\nX30 A0\nG1 Z{floor} F300\nA360 F1800\nG0 Z20\n");
    stays(TUBE, &ring(10.3));
    falls(TUBE, &ring(9.5), 5, std::f64::consts::PI * 125.0 * 13.0);
    // A tube sawn through from 8.235° to 8.235° before a whole turn: the cutter's walls, asin(2/15) = 7.662° off its
    // middle at the skin, leave 0.3 there, and nothing below 2/sin 8.235° = 13.96.
    let nearly = "M3 S9000\nG0 Z20\nX30 A8.235\nG1 Z8 F300\nA351.765 F1800\nG0 Z20\n";
    stays(TUBE, nearly);
    falls(TUBE, &nearly.replace("A351.765", "A369"), 5, std::f64::consts::PI * 125.0 * 13.0);
}

#[test]
fn a_plug_out_of_a_window_is_a_note() {
    // Around a window of 8 × 8 with a cutter of 2: the last side, line 8, frees a plug of 4 × 4 and the wall's thickness.
    let thin = TUBE.replace("diameter = 4,", "diameter = 2,");
    let window = "M3 S9000\nG0 Z20\nX17 Y-3\nG1 Z8 F200\nX23 F400\nY3\nX17\nY-3\nG0 Z20\n";
    let finding = one("loose-piece", &thin, &[window]);
    assert_finding(&finding, Severity::Note, (8, 8), 80.4, 1.5);
    stays(&thin, &window.replace("Y-3\nG0", "Y0\nG0"));
}
