//! Laws that hold for every text.

use dryturn_program::listing::{Options, parse_line};
use dryturn_program::{BlockFlags, NO_ARC, Program, Setup, line_text, read};
use proptest::prelude::*;

use super::at_zero;

/// One word or scrap of a program, good or bad.
fn token() -> impl Strategy<Value = String> {
    let codes = prop::sample::select(vec![
        "G0",
        "G1",
        "G2",
        "G3",
        "G4",
        "G17",
        "G18",
        "G19",
        "G20",
        "G21",
        "G28",
        "G30",
        "G53",
        "G54",
        "G55",
        "G59.3",
        "G80",
        "G81",
        "G90",
        "G91",
        "G92",
        "G92.1",
        "G92.2",
        "G92.3",
        "G93",
        "G94",
        "M0",
        "M3",
        "M5",
        "M6",
        "M2",
        "T1",
        "T2",
        "S100",
        "P1",
        "(c)",
        "(",
        ")",
        ";",
        "%",
        "/",
        "#1=2",
        "[3]",
        "o1",
        "N5",
        "e",
        "\u{e9}",
        "\u{0}",
        "X",
        "--",
        "#1=[#1+1]",
        "X#1",
        "X[#1*2]",
        "A-[3]",
        "#5220=2",
        "#5221",
        "#<a>=1",
        "X#<a>",
        "Xsqrt[-1]",
        "M98 P1",
        "M99",
        "O1",
        "G10",
        "L2",
        "G41",
        "G42",
        "D1",
        "G43",
        "H1",
        "G52",
        "G90.1",
        "G91.1",
        "G98",
        "G99",
        "G73",
        "G83",
        "Q1",
        "G40",
        "G49",
        "G38.2",
        "M60",
        "M48",
    ])
    .prop_map(str::to_owned);
    let letters = prop::sample::select(vec!["X", "Y", "Z", "A", "B", "C", "I", "J", "K", "R", "F"]);
    let small = (letters.clone(), -20..20_i32).prop_map(|(letter, value)| format!("{letter}{value}"));
    let wild = (letters, any::<f64>()).prop_map(|(letter, value)| format!("{letter}{value}"));
    prop_oneof![4 => codes, 8 => small, 1 => wild]
}

/// Several lines of token soup.
fn soup() -> impl Strategy<Value = Vec<String>> {
    let words = prop::collection::vec(token(), 0..7).prop_map(|tokens| tokens.join(" "));
    let flow = prop::sample::select(vec![
        "o1 sub",
        "o1 endsub",
        "o1 call [1]",
        "o1 return [2]",
        "o2 if [#1 GT 2]",
        "o2 elseif [1]",
        "o2 else",
        "o2 endif",
        "o3 while [#1 LT 9]",
        "o3 endwhile",
        "o4 do",
        "o4 while [0]",
        "o5 repeat [3]",
        "o5 endrepeat",
        "o3 break",
        "o5 continue",
        "o1",
        "M98 P1 L2",
        "M99",
    ])
    .prop_map(str::to_owned);
    let line = prop_oneof![4 => words, 1 => flow];
    prop::collection::vec(line, 0..25)
}

/// What holds for every program whatever its text.
pub(crate) fn check(source: &[u8], program: &Program) -> Result<(), TestCaseError> {
    let mut line_before = 1;
    for (index, block) in program.blocks.iter().enumerate() {
        prop_assert!(block.to.iter().all(|word| word.is_finite() && word.abs() <= 1e9), "{block:?}");
        prop_assert!((block.line >= line_before || program.facts.jumps) && block.line <= program.lines);
        line_before = block.line;
        prop_assert_eq!(block.flags.has(BlockFlags::END_UNKNOWN), block.unknown() != 0);
        if program.start_of(index).contains(&None) {
            prop_assert!(block.flags.has(BlockFlags::START_UNKNOWN));
        }
        if block.arc != NO_ARC {
            let arc = &program.arcs[block.arc as usize];
            prop_assert!(arc.sweep != 0.0 && arc.sweep.abs() <= std::f64::consts::TAU);
            prop_assert!(arc.radius > 0.0 && arc.center.iter().all(|word| word.is_finite()));
            let [first, second, _] = arc.plane.axes();
            let angle = arc.from + arc.sweep;
            let slack = 0.5 + 1e-9 * arc.radius;
            prop_assert!((arc.center[0] + arc.radius * angle.cos() - block.to[first]).abs() <= slack);
            prop_assert!((arc.center[1] + arc.radius * angle.sin() - block.to[second]).abs() <= slack);
        }
    }
    for event in &program.events {
        prop_assert!(event.after_blocks as usize <= program.blocks.len() && event.line <= program.lines);
    }
    prop_assert_eq!(program.shown[0].first_block, 0);
    for one in &program.diagnostics {
        prop_assert!(one.line >= 1);
        prop_assert!(line_text(source, one.line).get(one.span.clone()).is_some(), "{one:?}");
    }
    prop_assert!(program.diagnostics.len() <= 201);
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 1000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn any_bytes_can_be_read(source in prop::collection::vec(any::<u8>(), 0..400)) {
        check(&source, &read(&source, &at_zero()))?;
    }

    #[test]
    fn any_line_can_be_parsed(text in prop::collection::vec(any::<u8>(), 0..300)) {
        let line = parse_line(&text, 1, Options::default());
        for word in &line.words {
            prop_assert!(word.value.is_finite() && word.letter.is_ascii_uppercase());
            prop_assert!(word.span.start < word.span.end && word.span.end as usize <= text.len());
        }
    }

    #[test]
    fn any_soup_of_words_can_be_read(lines in soup(), known: bool, lenient: bool) {
        let start = if known { [Some(0.0); 6] } else { [None; 6] };
        let setup = Setup { start, lenient, max_steps: 2000, max_blocks: 1000, ..Setup::default() };
        let source = lines.join("\n");
        check(source.as_bytes(), &read(source.as_bytes(), &setup))?;
    }

    #[test]
    fn line_ends_do_not_matter(lines in soup()) {
        let setup = Setup { max_steps: 2000, max_blocks: 1000, ..at_zero() };
        let unix = read(lines.join("\n").as_bytes(), &setup);
        let other = read(lines.join("\r\n").as_bytes(), &setup);
        prop_assert_eq!(format!("{unix:?}"), format!("{other:?}"));
    }

    #[test]
    fn blanks_do_not_matter(x in -9999..9999_i32, a in any::<i16>(), gaps in prop::collection::vec(0..3_usize, 40)) {
        let text = format!("G1X{}A{a}F12.5", f64::from(x) / 1000.0);
        let spread: String = text
            .chars()
            .zip(gaps.iter().cycle())
            .flat_map(|(one, &gap)| std::iter::once(one).chain(" \t".chars().take(gap)))
            .collect();
        prop_assert_eq!(read(text.as_bytes(), &at_zero()).blocks, read(spread.as_bytes(), &at_zero()).blocks);
    }

    #[test]
    fn increments_and_places_lead_the_same_way(steps in prop::collection::vec((0..6_usize, -50..50_i32), 1..20)) {
        let mut place = [0_i32; 6];
        let (mut absolute, mut incremental) = ("G90 G0\n".to_owned(), "G91 G0\n".to_owned());
        for (axis, step) in steps {
            place[axis] += step;
            let letter = char::from(b"XYZABC"[axis]);
            absolute += &format!("{letter}{}\n", place[axis]);
            incremental += &format!("{letter}{step}\n");
        }
        let ends = |text: &str| read(text.as_bytes(), &at_zero()).blocks.iter().map(|b| b.to).collect::<Vec<_>>();
        prop_assert_eq!(ends(&absolute), ends(&incremental));
    }

    #[test]
    fn g92_changes_the_display_and_no_place(x in -100..100_i32, given in -100..100_i32, next in -100..100_i32) {
        let moved = read(format!("G0 X{x}\nG92 X{given}\nG91 X{next}\nM2").as_bytes(), &at_zero());
        let plain = read(format!("G0 X{x}\n\nG91 X{next}\nM2").as_bytes(), &at_zero());
        prop_assert_eq!(moved.blocks[1].to, plain.blocks[1].to);
        let shown = moved.shown_during(1).unwrap();
        prop_assert_eq!(moved.blocks[1].to[0] - shown.offset[0], f64::from(given + next));
    }
}
