//! Laws on pairs of programs: the same motion said in two ways.

use std::fmt::Write;

use dryturn_program::{BlockFlags, NO_ARC, Program, Setup, read};
use proptest::prelude::*;

use super::at_zero;

/// A line of motion with whole numbers, which may be scaled.
#[derive(Debug, Clone)]
enum Line {
    Straight {
        rapid: bool,
        words: Vec<(usize, i32)>,
        feed: i32,
    },
    /// A half circle in X and Y: twice its radius along X or Y.
    Half {
        clockwise: bool,
        along: usize,
        radius: i32,
    },
    Drill {
        x: i32,
        depth: i32,
        code: u8,
    },
}

const LETTERS: [char; 6] = ['X', 'Y', 'Z', 'A', 'B', 'C'];

fn line() -> impl Strategy<Value = Line> {
    let words = prop::collection::vec((0..6_usize, -50..50_i32), 1..4);
    prop_oneof![
        4 => (any::<bool>(), words, 1..500_i32).prop_map(|(rapid, mut words, feed)| {
            words.sort_by_key(|(axis, _)| *axis);
            words.dedup_by_key(|(axis, _)| *axis);
            Line::Straight { rapid, words, feed }
        }),
        1 => (any::<bool>(), 0..2_usize, 1..20_i32)
            .prop_map(|(clockwise, along, radius)| Line::Half { clockwise, along, radius }),
        1 => (-50..50_i32, 1..20_i32, prop::sample::select(vec![81_u8, 82, 85, 89]))
            .prop_map(|(x, depth, code)| Line::Drill { x, depth, code }),
    ]
}

fn lines() -> impl Strategy<Value = Vec<Line>> {
    prop::collection::vec(line(), 1..20)
}

/// Text under G90, all lengths multiplied, from a start at zero.
fn text(lines: &[Line], head: &str, scale: f64) -> String {
    let mut out = format!("{head}\nF{}\n", 100.0 * scale);
    let mut place = [0.0; 6];
    for line in lines {
        match line {
            Line::Straight { rapid, words, feed } => {
                write!(out, "G{}", u8::from(!rapid)).unwrap();
                let before = place;
                for &(axis, value) in words {
                    place[axis] = f64::from(value) * if axis < 3 { scale } else { 1.0 };
                    write!(out, " {}{}", LETTERS[axis], place[axis]).unwrap();
                }
                // Where no linear word moves the feed is in degrees, in either unit.
                let linear = (0..3).any(|axis| (place[axis] - before[axis]).abs() > 1e-9);
                let feed = f64::from(*feed) * if linear { scale } else { 1.0 };
                writeln!(out, " F{feed}").unwrap();
            }
            Line::Half { clockwise, along, radius } => {
                let radius = f64::from(*radius) * scale;
                place[*along] += 2.0 * radius;
                let code = if *clockwise { 2 } else { 3 };
                let (letter, offset) = (LETTERS[*along], ['I', 'J'][*along]);
                writeln!(out, "G{code} {letter}{} {offset}{radius} F{}", place[*along], 100.0 * scale).unwrap();
            }
            Line::Drill { x, depth, code } => {
                place[0] = f64::from(*x) * scale;
                let deep = place[2] - f64::from(*depth) * scale;
                writeln!(out, "G98 G{code} X{} Z{deep} R{} P1 F{}", place[0], place[2], 100.0 * scale).unwrap();
            }
        }
    }
    out + "M2\n"
}

/// Says a resolved program again: places in full, one line a block.
fn written(program: &Program) -> String {
    let mut out = "G21 G90 G17\n".to_owned();
    for (index, block) in program.blocks.iter().enumerate() {
        let code = match program.arcs.get(block.arc as usize) {
            Some(arc) => {
                let [first, second, _] = arc.plane.axes();
                let from = program.start_of(index);
                let offset = |k: usize, axis: usize| arc.center[k] - from[axis].unwrap();
                let plane = 17 + u8::from(first == 2) + 2 * u8::from(first == 1);
                let code = if arc.sweep < 0.0 { 2 } else { 3 };
                let letters = ['I', 'J', 'K'];
                let (one, other) = (offset(0, first), offset(1, second));
                format!("G{plane} G{code} {}{one} {}{other}", letters[first], letters[second])
            }
            None => format!("G{}", u8::from(!block.flags.has(BlockFlags::RAPID))),
        };
        let words: String = LETTERS.iter().zip(block.to).map(|(letter, place)| format!(" {letter}{place}")).collect();
        let feed = if block.feed.is_nan() { String::new() } else { format!(" F{}", block.feed) };
        writeln!(out, "{code}{words}{feed}").unwrap();
    }
    out + "M2\n"
}

/// Two programs move alike: places to `within`, feeds, rapids and arcs.
fn same_motion(one: &Program, other: &Program, within: f64) -> Result<(), TestCaseError> {
    prop_assert_eq!(one.blocks.len(), other.blocks.len());
    for (a, b) in one.blocks.iter().zip(&other.blocks) {
        for axis in 0..6 {
            prop_assert!((a.to[axis] - b.to[axis]).abs() <= within, "{:?} and {:?}", a, b);
        }
        prop_assert_eq!(a.flags.has(BlockFlags::RAPID), b.flags.has(BlockFlags::RAPID));
        prop_assert!(a.feed.is_nan() == b.feed.is_nan());
        prop_assert!(a.feed.is_nan() || (a.feed - b.feed).abs() <= 1e-5 * a.feed, "{} and {}", a.feed, b.feed);
        prop_assert_eq!(a.arc == NO_ARC, b.arc == NO_ARC);
        if let (Some(a), Some(b)) = (one.arcs.get(a.arc as usize), other.arcs.get(b.arc as usize)) {
            prop_assert!((a.center[0] - b.center[0]).abs() <= within && (a.center[1] - b.center[1]).abs() <= within);
            prop_assert!((a.sweep - b.sweep).abs() <= 1e-6 && (a.radius - b.radius).abs() <= within);
        }
    }
    Ok(())
}

fn fine(text: &str) -> Program {
    let program = read(text.as_bytes(), &at_zero());
    assert!(!program.stopped(), "{text}: {:?}", program.diagnostics);
    program
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn an_inch_program_is_its_millimetre_twin(lines in lines()) {
        let millimetres = fine(&text(&lines, "G21 G90 G17", 25.4));
        let inches = fine(&text(&lines, "G20 G90 G17", 1.0));
        same_motion(&millimetres, &inches, 1e-9)?;
    }

    #[test]
    fn what_is_resolved_can_be_said_again(lines in lines()) {
        let once = fine(&text(&lines, "G21 G90 G17", 1.0));
        let again = fine(&written(&once));
        same_motion(&once, &again, 1e-9)?;
    }

    #[test]
    fn a_shifted_system_moves_everything(lines in lines(), shift in -100..100_i32) {
        let setup = |shift: f64| {
            let mut origins = [[0.0; 6]; 9];
            origins[0] = [shift; 6];
            Setup { origins, start: [Some(shift); 6], ..Setup::default() }
        };
        let text = text(&lines, "G21 G90 G17", 1.0);
        let (plain, shifted) = (read(text.as_bytes(), &setup(0.0)), read(text.as_bytes(), &setup(f64::from(shift))));
        prop_assert_eq!(plain.blocks.len(), shifted.blocks.len());
        for (a, b) in plain.blocks.iter().zip(&shifted.blocks) {
            for axis in 0..6 {
                prop_assert!((a.to[axis] + f64::from(shift) - b.to[axis]).abs() < 1e-9);
            }
        }
    }

    #[test]
    fn the_order_of_words_means_nothing(words in prop::collection::vec(0..6_usize, 1..6), values in prop::array::uniform6(-99..99_i32), seed: u64) {
        let mut line: Vec<String> = words.iter().map(|&axis| format!("{}{}", LETTERS[axis], values[axis])).collect();
        line.sort();
        line.dedup();
        line.extend(["G1", "F50", "S9", "M3"].map(str::to_owned));
        let plain = fine(&format!("{}\nM2", line.join(" ")));
        let turn = seed as usize % line.len();
        line.rotate_left(turn);
        let last = line.len() - 1;
        line.swap(0, last);
        let other = fine(&format!("{}\nM2", line.join(" ")));
        prop_assert_eq!(plain.blocks, other.blocks);
        prop_assert_eq!(plain.events, other.events);
    }

    #[test]
    fn an_arc_in_two_parts_is_the_arc(radius in 1..50_i32, clockwise: bool, quarter in 0..4_usize) {
        let (radius, code) = (f64::from(radius), if clockwise { 2 } else { 3 });
        let side = if clockwise { 1.0 } else { -1.0 };
        // From the left of a circle about the origin: its top or bottom comes first, then its right.
        let stops = [[0.0, side * radius], [radius, 0.0], [0.0, -side * radius], [-radius, 0.0]];
        let start = format!("G21 G90 G17 G0 X{} Y0\n", -radius);
        let whole = fine(&format!("{start}G{code} X{} Y0 I{radius} J0 F100\nM2", -radius));
        let [x, y] = stops[quarter];
        let parts = fine(&format!("{start}G{code} X{x} Y{y} I{radius} J0 F100\nX{} Y0 I{} J{}\nM2", -radius, -x, -y));
        let swept = |program: &Program| program.arcs.iter().map(|arc| arc.sweep).sum::<f64>();
        let full = if quarter == 3 { 2.0 } else { 1.0 };
        prop_assert!((swept(&parts) - full * swept(&whole)).abs() < 1e-9);
        prop_assert!(parts.arcs.iter().all(|arc| arc.center[0].abs() < 1e-9 && arc.center[1].abs() < 1e-9));
    }

    #[test]
    fn a_loop_is_its_lines_written_out(lines in lines(), times in 0..4_usize) {
        let body = text(&lines, "G91 G0 X1", 1.0).replace("M2\n", "");
        let out = format!("G90\n{}M2\n", body.repeat(times));
        let looped = format!("G90\no1 repeat [{times}]\n{body}o1 endrepeat\nM2\n");
        let called = format!("G90\nM98 P5 L{times}\nM2\nO5\n{body}M99\n");
        let plain = read(out.as_bytes(), &at_zero());
        for other in [looped, called] {
            let other = read(other.as_bytes(), &at_zero());
            prop_assert_eq!(plain.stopped(), other.stopped());
            if !plain.stopped() {
                same_motion(&plain, &other, 0.0)?;
            }
        }
    }
}
