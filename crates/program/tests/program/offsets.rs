//! Coordinate systems, G92, and machine coordinates.

use dryturn_program::{BlockFlags, Kind, Setup, Severity, read};

use super::{at_zero, end_of, fault, last, quiet, quiet_with};

fn two_origins() -> Setup {
    let mut setup = at_zero();
    setup.origins[1] = [100.0, 10.0, 1.0, 90.0, 0.0, 0.0];
    setup.origins[8] = [-5.0; 6];
    setup
}

#[test]
fn every_coordinate_system() {
    for (system, code) in ["G54", "G55", "G56", "G57", "G58", "G59", "G59.1", "G59.2", "G59.3"].iter().enumerate() {
        let mut setup = at_zero();
        for (index, origin) in setup.origins.iter_mut().enumerate() {
            origin[0] = 100.0 * index as f64;
        }
        let program = quiet_with(&format!("{code}\nG0 X1"), &setup);
        assert_eq!(last(&program).to[0], 1.0 + 100.0 * system as f64, "{code}");
        assert_eq!(program.shown[0].system as usize, system + 1);
    }
}

#[test]
fn systems_do_not_move_but_words_do() {
    let program = quiet_with("G0 X1\nG55\nX2 A0\nG91 X3\nG90 G54 X4", &two_origins());
    let places: Vec<f64> = program.blocks.iter().map(|block| block.to[0]).collect();
    assert_eq!(places, [1.0, 102.0, 105.0, 4.0]);
    assert_eq!(program.blocks[1].to[3], 90.0);
    let shown = |block: u32| program.shown_during(block).unwrap();
    assert_eq!(shown(0).offset[0], 0.0);
    assert_eq!((shown(1).offset[0], shown(1).system), (100.0, 2));
    assert_eq!(shown(2).offset[0], 100.0);
    assert_eq!(shown(3).offset[0], 0.0);
}

#[test]
fn g92_by_the_book() {
    // NISTIR 6556 section 3.5.18: at X4, X reads 7, offset -3; then 9, offset -5.
    let program = quiet("G0 X4\nG92 x7\nG0 X7\nG92 x9\nG0 X9");
    let places: Vec<f64> = program.blocks.iter().map(|block| block.to[0]).collect();
    assert_eq!(places, [4.0, 4.0, 4.0]);
    let offsets: Vec<f64> = program.shown.iter().map(|shown| shown.offset[0]).collect();
    assert_eq!(offsets, [0.0, -3.0, -5.0]);
}

#[test]
fn g92_acts_on_all_systems_and_ignores_g91() {
    let program = quiet_with("G91 G92 X5\nG90 G55 G0 X0", &two_origins());
    assert_eq!(last(&program).to[0], 95.0);
    assert_eq!(end_of("G20 G0 X1\nG92 X0\nG0 X1")[0], 50.8);
    assert_eq!(end_of("G0 A3600\nG92 A0\nG0 A10")[3], 3610.0);
}

#[test]
fn g92_dropped_and_recalled() {
    let place = |codes: &str| end_of(&format!("G0 X4\nG92 X0\n{codes}\nG0 X1"))[0];
    assert_eq!(place(""), 5.0);
    assert_eq!(place("G92.1"), 1.0);
    assert_eq!(place("G92.2"), 1.0);
    assert_eq!(place("G92.2\nG92.3"), 5.0);
    assert_eq!(place("G92.1\nG92.3"), 1.0);
    fault("G92", Kind::NoMotion, Severity::Error, "G92");
    fault("G0 G92 X1", Kind::Conflict, Severity::Error, "G0");
}

#[test]
fn the_mode_in_force_is_suspended_for_g92() {
    // NISTIR 6556 section 3.4.
    assert_eq!(quiet("G1 X4 F5\nG92 X0").blocks.len(), 1);
}

fn with_machine_zero() -> Setup {
    Setup {
        machine_zero: [Some(-50.0), Some(20.0), Some(200.0), Some(5.0), None, None],
        stickouts: [(1, 30.0), (2, 45.0)].into(),
        cutter: Some(1),
        ..at_zero()
    }
}

#[test]
fn machine_coordinates() {
    let setup = with_machine_zero();
    let program = quiet_with("G53 G0 X10 Z-20\nG0 X0\nG91 G53 G1 X10 F5\nG90 G53 Y1", &setup);
    assert_eq!(program.blocks[0].to[..3], [-40.0, 0.0, 150.0], "the tip is the stickout lower");
    assert_eq!(program.blocks[2].to[0], -40.0, "absolute under G91 too");
    assert_eq!(program.blocks[3].to[1], 21.0);
    // Offsets do not touch machine coordinates.
    assert_eq!(last(&quiet_with("G92 X500\nG53 G0 X10", &setup)).to[0], -40.0);
    assert_eq!(last(&quiet_with("T2 M6\nG53 G0 Z0", &setup)).to[2], 155.0);
    assert_eq!(last(&quiet_with("G20 G53 G0 X1", &setup)).to[0], -24.6);
}

#[test]
fn g53_goes_with_straight_motion() {
    fault("G53 X1", Kind::NoMotion, Severity::Error, "G53");
    fault("G2 X2 I1\nG53 X1 I2", Kind::NoMotion, Severity::Error, "G53");
}

#[test]
fn home_by_way_of_a_point() {
    let setup = with_machine_zero();
    let program = quiet_with("G0 X10\nG91 G28 Z5\nG90", &setup);
    let places: Vec<[f64; 3]> = program.blocks.iter().map(|b| [b.to[0], b.to[1], b.to[2]]).collect();
    assert_eq!(places, [[10.0, 0.0, 0.0], [10.0, 0.0, 5.0], [10.0, 0.0, 170.0]]);
    assert!(program.blocks[1..].iter().all(|block| block.flags.has(BlockFlags::RAPID)));
    // Without words: every axis the machine has.
    let program = quiet_with("G30", &setup);
    assert_eq!(last(&program).to, [-50.0, 20.0, 170.0, 5.0, 0.0, 0.0]);
    assert_eq!(program.blocks.len(), 1);
    fault("G0 G28 X1", Kind::Conflict, Severity::Error, "G0");
}

#[test]
fn without_machine_zero_the_words_moved_are_unknown() {
    for text in ["G28 Z5", "G30 Z5", "G0 G53 Z5"] {
        let source = format!("{text}\nG0 X1\nG0 Z7\nG0 X2\nM2");
        let program = read(source.as_bytes(), &at_zero());
        assert!(!program.stopped());
        let notes = program.diagnostics.iter().filter(|one| one.kind == Kind::Position);
        assert_eq!(notes.count(), 1, "{text}");
        let count = program.blocks.len();
        let unknown: Vec<u8> = program.blocks[count - 4..].iter().map(|block| block.unknown()).collect();
        assert_eq!(unknown, [0b100, 0b100, 0, 0], "{text}");
        let start = |back: usize| program.blocks[count - back].flags.has(BlockFlags::START_UNKNOWN);
        assert!(start(3) && start(2) && !start(1));
    }
}

#[test]
fn without_a_stickout_only_z_is_unknown() {
    let setup = Setup { cutter: Some(9), ..with_machine_zero() };
    let program = quiet_with("G28 X0 Z0", &setup);
    assert_eq!(last(&program).unknown(), 0b100);
    assert_eq!(last(&program).to[0], -50.0);
}
