//! Every code that is taken.

use dryturn_program::{BlockFlags, EventKind, Kind, Severity};

use super::{at_zero, end_of, fault, last, quiet, quiet_with};

#[test]
fn a_block_takes_64_bytes() {
    assert!(size_of::<dryturn_program::Block>() <= 64);
}

#[test]
fn blanks_inside_numbers() {
    // NISTIR 6556 section 3.3.
    assert_eq!(end_of("g0x +0. 12 34y 7")[..2], [0.1234, 7.0]);
}

#[test]
fn rapid_and_feed() {
    // NISTIR 6556 section 5.1.2, Table 10.
    let program = quiet("g1 x3 y1 f20.0\ng0 z5");
    assert_eq!(program.blocks[0].to, [3.0, 1.0, 0.0, 0.0, 0.0, 0.0]);
    assert_eq!(program.blocks[0].feed, 20.0);
    assert!(!program.blocks[0].flags.has(BlockFlags::RAPID));
    assert!(program.blocks[1].flags.has(BlockFlags::RAPID));
    assert!(program.blocks[1].feed.is_nan());
}

#[test]
fn axis_words_alone_repeat_the_motion() {
    let program = quiet("G1 X1 F100\nX2\nA90\nG0 X3\nY4");
    let rapid: Vec<bool> = program.blocks.iter().map(|block| block.flags.has(BlockFlags::RAPID)).collect();
    assert_eq!(rapid, [false, false, false, true, true]);
    let lines: Vec<u32> = program.blocks.iter().map(|block| block.line).collect();
    assert_eq!(lines, [1, 2, 3, 4, 5]);
}

#[test]
fn rotary_words_are_unbounded_degrees() {
    // NISTIR 6556 section 2.1.2.2: wrapped linear axes, no shortest way.
    let program = quiet("G20 G0 A10\nA-7200\nA0\nA370");
    let angles: Vec<f64> = program.blocks.iter().map(|block| block.to[3]).collect();
    assert_eq!(angles, [10.0, -7200.0, 0.0, 370.0]);
    assert_eq!(end_of("G0 B-5 C720"), [0.0, 0.0, 0.0, 0.0, -5.0, 720.0]);
}

#[test]
fn absolute_and_incremental() {
    // NISTIR 6556 section 3.5.17.
    assert_eq!(end_of("G91 G0 X1 A90\nX1 A90\nG90 Y3\nG91 Y1")[..4], [2.0, 4.0, 0.0, 180.0]);
}

#[test]
fn inches_scale_lengths_and_their_feed() {
    // NISTIR 6556 section 2.1.2.9: rotary words are degrees in either unit.
    let program = quiet("G20 F10 G1 X1 A90\nA180");
    assert_eq!(program.blocks[0].to, [25.4, 0.0, 0.0, 90.0, 0.0, 0.0]);
    assert_eq!(program.blocks[0].feed, 254.0);
    assert_eq!(program.blocks[1].feed, 10.0, "degrees a minute");
    assert!(last(&program).flags.has(BlockFlags::INCH));
    assert_eq!(end_of("G20 G0 X1\nG21 X1")[0], 1.0);
}

#[test]
fn a_feed_number_of_the_other_unit_is_warned_of() {
    // NISTIR 6556 section 4.3.3.3 keeps the number.
    fault("G21 G1 X1 F300\nG20 X2\nX3", Kind::Feed, Severity::Warning, "G20 X2");
}

#[test]
fn inverse_time() {
    // NISTIR 6556 section 3.5.19: F2 takes half a minute.
    let program = quiet("G93 G1 X5 A90 F2\nF4 X6\nG0 X0\nG94 G1 X1 F100");
    assert_eq!(program.blocks[0].feed, 2.0);
    assert!(program.blocks[0].flags.has(BlockFlags::INVERSE_TIME));
    assert_eq!(program.blocks[1].feed, 4.0);
    assert!(!program.blocks[2].flags.has(BlockFlags::INVERSE_TIME));
    assert_eq!(program.blocks[3].feed, 100.0);
    fault("G93 G1 X5 F2\nX6", Kind::Feed, Severity::Error, "X6");
}

#[test]
fn a_feed_does_not_outlive_its_mode() {
    assert!(last(&quiet("G1 X1 F100\nG93 X2 F3\nG94 X3")).feed.is_nan());
    assert!(last(&quiet("G1 X1")).feed.is_nan());
}

#[test]
fn feed_words() {
    fault("G1 X1 F-5", Kind::Feed, Severity::Error, "F-5");
    fault("G1 X1 F0", Kind::Feed, Severity::Warning, "F0");
    assert_eq!(last(&quiet("F100\nG1 X1\nG0 X0\nG1 X2")).feed, 100.0);
}

#[test]
fn dwell_in_seconds_or_milliseconds() {
    let dwell = |setup| {
        let program = quiet_with("G0 X1\nG4 P1.5", &setup);
        assert_eq!(program.events[0].after_blocks, 1);
        program.events[0].kind
    };
    assert_eq!(dwell(at_zero()), EventKind::Dwell(1.5));
    let setup = dryturn_program::Setup { dwell_milliseconds: true, ..at_zero() };
    assert_eq!(dwell(setup), EventKind::Dwell(0.0015));
    fault("G4", Kind::NoMotion, Severity::Error, "G4");
    fault("G4 P-1", Kind::Number, Severity::Error, "P-1");
}

#[test]
fn spindle_speed_and_stops() {
    let program = quiet("S12000 M3\nG0 X1\nM5\nX2\nM4 S0\nX3\nM0\nM1");
    let kinds: Vec<EventKind> = program.events.iter().map(|event| event.kind).collect();
    let expected = [
        EventKind::SpindleSpeed(12000.0),
        EventKind::SpindleClockwise,
        EventKind::SpindleOff,
        EventKind::SpindleSpeed(0.0),
        EventKind::SpindleCounterClockwise,
        EventKind::Stop,
        EventKind::OptionalStop,
        EventKind::End,
    ];
    assert_eq!(kinds, expected);
    let on: Vec<bool> = program.blocks.iter().map(|block| block.flags.has(BlockFlags::SPINDLE_ON)).collect();
    assert_eq!(on, [true, false, false], "S0 stands still");
    assert!(program.facts.spindle);
    fault("S-1 M3", Kind::Number, Severity::Error, "S-1");
}

#[test]
fn order_on_a_line_is_not_that_of_the_words() {
    // NISTIR 6556 section 3.8, Table 8: spindle before the move, stops after it.
    let program = quiet("G1 X1 F100 M0 M3");
    let after: Vec<u32> = program.events.iter().map(|event| event.after_blocks).collect();
    assert_eq!(after, [0, 1, 1]);
    assert!(program.blocks[0].flags.has(BlockFlags::SPINDLE_ON));
    assert_eq!(end_of("X1 G20 G0"), end_of("G0 G20 X1"));
}

#[test]
fn accepted_without_effect_on_the_motion() {
    let plain = quiet("G0 X1\nG1 Y2 F50");
    let decorated =
        quiet("G17 G21 G40 G49 G54 G90 G91.1 G94\nG61\nG61.1\nG64\nM7 M8\nM9\nM48\nM49\nG80\nG0 X1\nG1 Y2 F50");
    let places = |program: &dryturn_program::Program| program.blocks.iter().map(|block| block.to).collect::<Vec<_>>();
    assert_eq!(places(&plain), places(&decorated));
}

#[test]
fn modes_never_stated_are_noted_once() {
    let program = quiet("(c)\nG1 X1 F5\nG2 X2 I0.5\nG90 G17");
    let notes: Vec<_> = program.diagnostics.iter().filter(|one| one.kind == Kind::Modes).collect();
    assert_eq!(notes.len(), 1);
    assert_eq!(notes[0].line, 2);
    for name in ["G21", "G90", "G94", "G17"] {
        assert!(notes[0].message.contains(name), "{}", notes[0].message);
    }
    let stated = quiet("G17 G21 G90 G94\nG1 X1 F5\nG2 X2 I0.5");
    assert!(stated.diagnostics.is_empty(), "{:?}", stated.diagnostics);
}

#[test]
fn a_block_without_length_is_kept() {
    let program = quiet("G1 X0 F100\nX0 A0");
    assert_eq!(program.blocks.len(), 2);
}

#[test]
fn facts_of_a_program() {
    let facts = quiet("G20\nG0 X1\nG91 A5").facts;
    assert_eq!(facts.commanded, [Some(2), None, None, Some(3), None, None]);
    assert!(facts.inch && !facts.millimetres && facts.distance && !facts.feed && !facts.spindle && facts.ended);
}
