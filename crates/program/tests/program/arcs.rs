//! Circles in all planes against places computed another way.

use std::f64::consts::{FRAC_PI_2, PI, TAU};

use dryturn_program::{Arc, Kind, NO_ARC, Plane, Program, Setup, Severity};

use super::{at_zero, fault, fault_with, last, near, quiet};

fn arc_of(program: &Program) -> Arc {
    program.arcs[last(program).arc as usize]
}

/// A point of the arc, in X Y Z, from its definition; the word along the normal is left at 0.
fn point(arc: &Arc, share: f64) -> [f64; 3] {
    let angle = arc.from + share * arc.sweep;
    let [first, second, _] = arc.plane.axes();
    let mut at = [0.0; 3];
    at[first] = arc.center[0] + arc.radius * angle.cos();
    at[second] = arc.center[1] + arc.radius * angle.sin();
    at
}

#[track_caller]
fn passes(arc: &Arc, share: f64, through: [f64; 3]) {
    let at = point(arc, share);
    for axis in 0..3 {
        near(at[axis], through[axis], 1e-9);
    }
}

#[test]
fn centre_form_by_the_book() {
    // NISTIR 6556 section 3.5.3.2: centre (10, 11), radius 5.
    let program = quiet("G0 X7 Y7\nG17 G2 x 10 y 16 i 3 j 4 z 9");
    let arc = arc_of(&program);
    assert_eq!(arc.center, [10.0, 11.0]);
    near(arc.radius, 5.0, 1e-12);
    assert!(arc.sweep < 0.0 && arc.sweep > -PI, "clockwise");
    assert_eq!(last(&program).to, [10.0, 16.0, 9.0, 0.0, 0.0, 0.0]);
    passes(&arc, 1.0, [10.0, 16.0, 0.0]);
}

#[test]
fn radius_form_by_the_book() {
    // NISTIR 6556 section 5.1.2, Table 10: centre (1.5, 7.8476).
    let program = quiet("g1 x3 y1 f20\ng2 x0 y1 r7.01 z0.5");
    let arc = arc_of(&program);
    near(arc.center[0], 1.5, 1e-12);
    near(arc.center[1], 7.8476, 5e-5);
    near(arc.sweep, -24.7114_f64.to_radians(), 1e-6);
    // Section 3.5.3.1.
    assert!(arc_of(&quiet("G17 G2 x 10 y 15 r 20 z 5")).sweep < 0.0);
    // Appendix C.1.
    let arc = arc_of(&quiet("g0 x64 y4\ng2 x69 r4"));
    near(arc.center[0], 66.5, 1e-12);
    near(arc.center[1], 0.8775, 5e-5);
}

#[test]
fn three_quarters_and_whole_circles_by_the_book() {
    // NISTIR 6556 appendix C.1: 270 degrees, then a full circle of radius 2.5.
    let arc = arc_of(&quiet("g0 x16 y2.5\ng3 x13.5 y0 i-2.5"));
    near(arc.sweep, 1.5 * PI, 1e-12);
    let arc = arc_of(&quiet("g0 x32.5 y0\ng2 x32.5 j2.5"));
    near(arc.sweep, -TAU, 1e-12);
    near(arc.radius, 2.5, 1e-12);
}

#[test]
fn quarter_turns_in_every_plane() {
    // Counter-clockwise from first to second axis: X to Y, Z to X, Y to Z (NISTIR 6556 section 3.5.3).
    let h = 10.0 * 0.5_f64.sqrt();
    for (text, plane, half_way) in [
        ("G17 G0 X10\nG3 X0 Y10 I-10", Plane::Xy, [h, h, 0.0]),
        ("G18 G0 Z10\nG3 Z0 X10 K-10", Plane::Zx, [h, 0.0, h]),
        ("G19 G0 Y10\nG3 Y0 Z10 J-10", Plane::Yz, [0.0, h, h]),
    ] {
        let arc = arc_of(&quiet(text));
        assert_eq!(arc.plane, plane);
        near(arc.sweep, FRAC_PI_2, 1e-12);
        passes(&arc, 0.5, half_way);
    }
    for (text, half_way) in [
        ("G17 G0 X10\nG2 X0 Y10 I-10", [-h, -h, 0.0]),
        ("G18 G0 Z10\nG2 Z0 X10 K-10", [-h, 0.0, -h]),
        ("G19 G0 Y10\nG2 Y0 Z10 J-10", [0.0, -h, -h]),
    ] {
        let arc = arc_of(&quiet(text));
        near(arc.sweep, -3.0 * FRAC_PI_2, 1e-12);
        passes(&arc, 0.5, half_way);
    }
}

#[test]
fn radius_of_either_sign_and_turn() {
    // From (0, 0) to (10, 0) with radius 10: the centre lies at height ± 10·√3/2.
    let high = 75.0_f64.sqrt();
    for (text, center, sweep) in [
        ("G2 X10 R10", -high, -PI / 3.0),
        ("G2 X10 R-10", high, -5.0 * PI / 3.0),
        ("G3 X10 R10", high, PI / 3.0),
        ("G3 X10 R-10", -high, 5.0 * PI / 3.0),
    ] {
        let arc = arc_of(&quiet(text));
        near(arc.center[1], center, 1e-12);
        near(arc.sweep, sweep, 1e-12);
        passes(&arc, 0.0, [0.0, 0.0, 0.0]);
        passes(&arc, 1.0, [10.0, 0.0, 0.0]);
    }
    near(arc_of(&quiet("G19 G2 Y10 R5")).sweep, -PI, 1e-12);
}

#[test]
fn a_chord_a_little_too_long_gets_the_nearest_radius() {
    near(arc_of(&quiet("G2 X10.008 R5")).radius, 5.004, 1e-12);
    fault("G2 X10.1 R5", Kind::Arc, Severity::Error, "G2 X10.1 R5");
}

#[test]
fn radii_that_differ() {
    // 0.004 mm and 0.1 % pass, more does not, and half a millimetre never does.
    quiet("G2 X10.004 I5");
    quiet("G2 X200.09 I100");
    fault("G2 X10.02 I5", Kind::Arc, Severity::Error, "G2 X10.02 I5");
    fault("G2 X2000.6 I1000", Kind::Arc, Severity::Error, "G2 X2000.6 I1000");
    let generous = Setup { arc_slack_mm: 0.03, ..at_zero() };
    assert!(!dryturn_program::read(b"G2 X10.02 I5\nM2", &generous).stopped());
    let careless = Setup { arc_slack_mm: 9.0, ..at_zero() };
    fault_with("G2 X10.6 I5", &careless, Kind::Arc, Severity::Error, "G2 X10.6 I5");
}

#[test]
fn helices_and_rotary_words() {
    let program = quiet("G2 X0 Y0 I5 Z-3 A720");
    assert_eq!(last(&program).to, [0.0, 0.0, -3.0, 720.0, 0.0, 0.0]);
    near(arc_of(&program).sweep, -TAU, 1e-12);
}

#[test]
fn a_whole_circle_without_axis_words() {
    near(arc_of(&quiet("G3 J-2")).sweep, TAU, 1e-12);
}

#[test]
fn centres_are_increments_and_scaled() {
    let program = quiet("G20 G0 X1 Y1\nG91 G3 X-1 Y1 I-1");
    let arc = arc_of(&program);
    assert_eq!(arc.center, [0.0, 25.4]);
    near(arc.radius, 25.4, 1e-12);
    assert_eq!(last(&program).to[..2], [0.0, 50.8]);
    assert_eq!(arc_of(&quiet("G90 G0 X7 Y7\nG2 X9 I1")).center, [8.0, 7.0]);
}

#[test]
fn sums_of_increments_close_a_circle() {
    // 0.1 + 0.2 is not 0.3 in binary, and is still the start.
    let program = quiet("G91 G0 X0.1\nX0.2\nG90 G2 X0.3 Y0 I5");
    near(arc_of(&program).sweep, -TAU, 1e-9);
}

#[test]
fn offsets_reach_the_centre() {
    let arc = arc_of(&quiet("G0 X5\nG92 X0\nG2 X10 I5"));
    assert_eq!(arc.center, [10.0, 0.0]);
}

#[test]
fn what_an_arc_needs() {
    let error = |text: &str| fault(text, Kind::Arc, Severity::Error, text);
    error("G2 X5");
    error("G2 X5 I1 R3");
    error("G2 X5 R0");
    error("G2 Z5 R3");
    error("G2 X0 Y0 R3");
    error("G2 X0 Y0 I0");
    error("G18 G2 X5 J2");
    assert_eq!(quiet("G17 G2 X10 I5 J0 K0").arcs.len(), 1, "a zero out of the plane says nothing");
    fault("G2 X10 I5 K1", Kind::UnusedWord, Severity::Warning, "K1");
    let no_arcs = Setup { arcs: false, ..at_zero() };
    fault_with("G2 X10 I5", &no_arcs, Kind::NotUnderstood, Severity::Error, "G2 X10 I5");
}

#[test]
fn read_leniently_a_bad_arc_has_an_end_but_no_way() {
    let lenient = Setup { lenient: true, ..at_zero() };
    let program = dryturn_program::read(b"G2 X5\nG1 X6 F1\nM2", &lenient);
    assert!(!program.stopped());
    let flags = program.blocks[0].flags;
    assert!(flags.has(dryturn_program::BlockFlags::START_UNKNOWN));
    assert!(!flags.has(dryturn_program::BlockFlags::END_UNKNOWN));
    assert_eq!(program.blocks[0].to[0], 5.0);
    assert_eq!(program.blocks[0].arc, NO_ARC);
    assert!(!program.blocks[1].flags.has(dryturn_program::BlockFlags::START_UNKNOWN));
}
