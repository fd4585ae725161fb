//! Whole files: ends, percent lines, block delete, and files that are no programs.

use dryturn_program::{EventKind, Kind, Setup, Severity, line_text, read};

use super::{at_zero, quiet, quiet_with};

fn notes(text: &str) -> Vec<(Kind, u32)> {
    read(text.as_bytes(), &at_zero()).diagnostics.iter().map(|one| (one.kind, one.line)).collect()
}

const HEAD: &str = "G17 G21 G90 G94\n";

#[test]
fn programs_end_with_m2_m30_or_percent() {
    for text in ["G0 X1\nM2", "G0 X1\nM30\n", "%\nG0 X1\n%\n", "(c)\n\n % \nG0 X1 M30\n%\n", "%\nG0 X1\nM2"] {
        let program = read(format!("{text}\n").as_bytes(), &at_zero());
        assert!(program.facts.ended, "{text}");
        assert_eq!(program.events.last().unwrap().kind, EventKind::End);
        assert!(program.diagnostics.iter().all(|one| one.severity == Severity::Note), "{text}");
    }
    let program = read(b"%\nG0 X1", &at_zero());
    assert!(program.diagnostics.iter().any(|one| one.kind == Kind::End && one.severity == Severity::Warning));
}

#[test]
fn text_after_the_end_is_not_executed() {
    let text = format!("{HEAD}G0 X1\nM30\n(bye)\n\nG0 X2\nG0 X!\n");
    assert_eq!(notes(&text), [(Kind::End, 6)]);
    let program = read(text.as_bytes(), &at_zero());
    assert_eq!(program.blocks.len(), 1);
    assert_eq!(program.lines, 7);
    assert_eq!(notes(&format!("%\n{HEAD}G0 X1\n%\nG0 X2")), [(Kind::End, 5)]);
}

#[test]
fn a_percent_line_that_closes_nothing() {
    assert_eq!(notes(&format!("{HEAD}G0 X1\n%\n")), [(Kind::Percent, 3)]);
    assert!(!read(b"G0 X1\n%\n", &at_zero()).stopped());
    let found = notes(&format!("{HEAD}G0 X1\n%\nG0 X2\n"));
    assert_eq!(found, [(Kind::Percent, 3), (Kind::Percent, 4)]);
    assert!(read(b"G0 X1\n%\nG0 X2\n", &at_zero()).stopped());
}

#[test]
fn block_delete() {
    let text = "G0 X1\n/X2\n/ N5 Y3";
    let done = quiet(text);
    assert_eq!(done.blocks.len(), 3);
    let skipped = quiet_with(text, &Setup { block_delete: true, ..at_zero() });
    assert_eq!(skipped.blocks.len(), 1);
    for program in [done, skipped] {
        assert_eq!(program.diagnostics.iter().filter(|one| one.kind == Kind::BlockDelete).count(), 1);
    }
}

#[test]
fn line_numbers_mean_nothing() {
    let program = quiet("N10 G0 X1\nN5 X2\nN5\nn99999 X3");
    assert_eq!(program.blocks.len(), 3);
    let program = read(b"N100000 G0 X1\nN100001 X2\nM2", &at_zero());
    assert!(!program.stopped());
    assert_eq!(program.diagnostics.iter().filter(|one| one.kind == Kind::LineNumber).count(), 1, "once a file");
}

#[test]
fn every_line_end_and_none() {
    let lines = ["G0 X1", "(\u{e4}\u{f6})", "G1 Y2 F5", "M2"];
    // As text, for a rapid's feed is not a number.
    let shape = |text: &str| format!("{:?}", read(text.as_bytes(), &at_zero()));
    let plain = shape(&lines.join("\n"));
    for end in ["\r\n", "\r", "\n"] {
        let mut text = lines.join(end);
        assert_eq!(shape(&text), plain);
        text.push_str(end);
        assert_eq!(shape(&text), plain);
    }
    assert_eq!(shape(&format!("\u{feff}{}\u{1a}", lines.join("\n"))), plain);
}

#[test]
fn other_encodings_in_comments() {
    let program = read(b"(tiefe 3 mm, \xfcber alles)\nG0 X1\nM2", &at_zero());
    assert!(!program.stopped());
    assert_eq!(line_text(b"(\xfc)\n", 1), "(\u{fffd})");
    let source = b"(\xfc) G0 X1 \xfc\nM2";
    let program = read(source, &at_zero());
    let found = program.diagnostics.iter().find(|one| one.severity == Severity::Error).unwrap();
    assert_eq!(&line_text(source, 1)[found.span.clone()], "\u{fffd}");
}

#[test]
fn files_that_are_no_programs() {
    for source in [&b""[..], b"\n\n", b"(only a comment)\n%\n", b"\x7fELF\x02\x01\x01\0\0\0\0", b"G\x000\x00\n\x00"] {
        for setup in [at_zero(), Setup { lenient: true, ..at_zero() }] {
            let program = read(source, &setup);
            assert!(program.stopped());
            assert_eq!(program.diagnostics.last().unwrap().kind, Kind::NotAProgram);
        }
    }
    assert!(read(&[0xff; 5000], &at_zero()).stopped());
}

#[test]
fn a_program_cut_off() {
    let program = read(b"G0 X1\nG1 X", &at_zero());
    let kinds: Vec<(Kind, Severity)> = program.diagnostics.iter().map(|one| (one.kind, one.severity)).collect();
    assert!(kinds.contains(&(Kind::Unreadable, Severity::Error)));
    assert!(kinds.contains(&(Kind::End, Severity::Warning)));
}

#[test]
fn a_huge_line_is_one_error() {
    let source = "X1 ".repeat(3_500_000);
    let program = read(source.as_bytes(), &at_zero());
    assert!(program.stopped());
    assert!(program.diagnostics.len() <= 2, "{:?}", program.diagnostics);
}

#[test]
fn a_flood_of_errors_is_cut() {
    let program = read("G1 X!\n".repeat(10_000).as_bytes(), &at_zero());
    assert!(program.diagnostics.len() <= 201);
    let more = program.diagnostics.last().unwrap();
    assert_eq!((more.kind, more.severity), (Kind::More, Severity::Error));
    assert!(more.message.contains("9900 errors"), "{}", more.message);
}

#[test]
fn the_budget_of_blocks_ends_the_reading() {
    let setup = Setup { max_blocks: 3, lenient: true, ..at_zero() };
    let program = read(b"o1 repeat [10]\nG0 X1\no1 endrepeat\nG0 X2\nM2\n", &setup);
    assert!(program.stopped());
    // One for each of the three lines reached, and three more.
    assert_eq!((program.blocks.len(), program.lines), (6, 5));
    let found = program.diagnostics.iter().find(|one| one.kind == Kind::Budget).unwrap();
    assert_eq!(found.line, 2);
    // A long text is no loop.
    assert!(!read("G0 X1\n".repeat(10).as_bytes(), &setup).stopped());
}
