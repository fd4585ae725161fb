//! Lines that are wrong, and words that are not taken.

use dryturn_program::{BlockFlags, Kind, Setup, Severity, read};

use super::{at_zero, fault, fault_with, quiet, quiet_with};

/// A controller that takes nothing but plain motion.
fn small() -> Setup {
    Setup {
        expressions: false,
        subprograms: false,
        canned: false,
        tool_length: false,
        compensation: false,
        ..at_zero()
    }
}

#[test]
fn codes_that_change_the_motion_stop() {
    for code in [
        "G33", "G38.2", "G41", "G42", "G43", "G43.1", "G68", "G73", "G81", "G82", "G83", "G84", "G85", "G86", "G87",
        "G88", "G89", "G95", "G5", "G123", "M97", "M123",
    ] {
        let found = fault_with(code, &small(), Kind::NotUnderstood, Severity::Error, code);
        assert!(found.message.starts_with(code), "{}", found.message);
    }
    let says = |text: &str, what: &str| {
        let caret = text.split(' ').next().unwrap();
        let found = fault_with(text, &small(), Kind::NotUnderstood, Severity::Error, caret);
        assert!(found.message.contains(what), "{}", found.message);
    };
    says("G81 X1 Z-2 R1", "canned cycle");
    says("G41 D1", "compensation");
    says("G43 H1", "tool length");
    says("U5", "not an axis");
    fault("G0 X1e5", Kind::NotUnderstood, Severity::Error, "e5");
    fault_with("#1=5", &small(), Kind::NotUnderstood, Severity::Error, "#1=5");
    fault_with("G1 X[1+2]", &small(), Kind::NotUnderstood, Severity::Error, "X[1+2]");
    fault_with("o100 sub", &small(), Kind::NotUnderstood, Severity::Error, "o100 sub");
    fault_with("M98 P1", &small(), Kind::NotUnderstood, Severity::Error, "M98");
}

#[test]
fn an_unknown_function_by_the_book() {
    // NISTIR 6556 section 5.1.2, Table 10: an error.
    fault("g1 x asim[0.5]", Kind::Unreadable, Severity::Error, "x");
}

#[test]
fn codes_that_do_not_are_warnings_or_notes() {
    for code in ["M10", "M11", "M19", "M62"] {
        fault(code, Kind::NotUnderstood, Severity::Warning, code);
    }
    fault_with("O1234", &small(), Kind::NotUnderstood, Severity::Warning, "O1234");
    assert!(quiet_with("G98\nG0 X1", &small()).diagnostics.iter().any(|one| one.kind == Kind::NotUnderstood));
}

#[test]
fn modal_groups_are_in_conflict() {
    // NISTIR 6556 section 3.4, Table 4.
    for (line, second) in [
        ("G0 G1 X1", "G1"),
        ("G17 G18", "G18"),
        ("G90 G91", "G91"),
        ("G93 G94", "G94"),
        ("G20 G21", "G21"),
        ("G54 G55", "G55"),
        ("G61 G64", "G64"),
        ("G4 P1 G53", "G53"),
        ("M3 M5", "M5"),
        ("M0 M30", "M30"),
        ("M7 M9", "M9"),
        ("M48 M49", "M49"),
    ] {
        fault(line, Kind::Conflict, Severity::Error, second);
    }
    quiet("M7 M8");
    fault("G0 X1 G0", Kind::Conflict, Severity::Warning, "G0");
    fault("G0 X1 Y2 X3", Kind::Conflict, Severity::Error, "X3");
}

#[test]
fn axis_words_need_a_motion() {
    fault("X1", Kind::NoMotion, Severity::Error, "X1");
    fault("G0 X1\nG80\nA5 X1", Kind::NoMotion, Severity::Error, "A5");
    fault("G80 X1", Kind::NoMotion, Severity::Error, "X1");
    let program = quiet("G0\nX1\nG1 F100\nX2");
    assert_eq!(program.diagnostics.iter().filter(|one| one.kind == Kind::NoMotion).count(), 1);
}

#[test]
fn words_that_nothing_uses() {
    fault("G1 X5 I3 F1", Kind::UnusedWord, Severity::Warning, "I3");
    fault("G0 X5 P3", Kind::UnusedWord, Severity::Warning, "P3");
    fault("T1 M6 H1", Kind::UnusedWord, Severity::Warning, "H1");
}

#[test]
fn codes_are_whole_numbers() {
    fault("G1.55 X1", Kind::Number, Severity::Error, "G1.55");
    fault("G-1 X1", Kind::Number, Severity::Error, "G-1");
    fault("M3.2", Kind::Number, Severity::Error, "M3.2");
    quiet("G1.000001 X1 F1");
}

#[test]
fn numbers_out_of_range() {
    fault("G0 X1000000001", Kind::Number, Severity::Error, "X1000000001");
    fault("G20 G0 X900000000", Kind::Number, Severity::Error, "X900000000");
    fault("G91 G0 X900000000\nX900000000", Kind::Number, Severity::Error, "X900000000");
    let digits = "1234567890".repeat(4);
    fault(&format!("G0 X{digits}"), Kind::Number, Severity::Error, &format!("X{digits}"));
    assert_eq!(quiet(&format!("G0 X0.{digits}")).blocks[0].to[0], 0.123_456_789_012_345_68);
    assert_eq!(quiet("G0 A-1000000000").blocks[0].to[3], -1e9);
    fault("G0 XNaN", Kind::Unreadable, Severity::Error, "X");
}

#[test]
fn read_leniently_what_a_bad_line_moves_is_unknown() {
    let lenient = Setup { lenient: true, ..small() };
    for bad in ["G81 X5 R1", "X5 X6", "X.9.", "X#3", "X[1+2]", "$X5", "G1 X2000000000", "G0 G1 X5", "G92 G1 X5"] {
        let text = format!("G0 Y1\n{bad}\nG0 Y2\nG0 X7\nG0 Y3\nM2");
        let program = read(text.as_bytes(), &lenient);
        assert!(!program.stopped());
        assert!(program.diagnostics.iter().any(|one| one.severity == Severity::Error), "{bad}");
        let unknown: Vec<u8> = program.blocks.iter().map(|block| block.unknown()).collect();
        assert_eq!(unknown, [0, 1, 0, 0], "{bad}");
        assert!(read(text.as_bytes(), &small()).stopped());
    }
}

#[test]
fn read_leniently_codes_left_out_leave_the_rest_of_the_line() {
    let lenient = Setup { lenient: true, ..small() };
    let program = read(b"G43 H1 G0 Z50\nG90 G21 G95 X1\nM2", &lenient);
    assert_eq!(program.blocks.len(), 2);
    assert_eq!(program.blocks[1].to[..3], [1.0, 0.0, 50.0]);
    assert!(!program.blocks[1].flags.has(BlockFlags::START_UNKNOWN));
}

#[test]
fn lines_after_a_cycle_that_is_not_taken_are_not_passed_over() {
    let program = read(b"G81 X1 Z-1 R1\nX2\nG80\nG0 X3\nM2", &small());
    let lines: Vec<u32> =
        program.diagnostics.iter().filter(|d| d.severity == Severity::Error).map(|d| d.line).collect();
    assert_eq!(lines, [1, 2]);
}
