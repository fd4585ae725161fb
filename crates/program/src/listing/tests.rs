//! One line at a time.

use super::*;

fn parse(text: &str) -> Line {
    parse_line(text.as_bytes(), 1, Options::default())
}

fn words(text: &str) -> Vec<(char, f64)> {
    let line = parse(text);
    assert!(line.diagnostics.is_empty(), "{text}: {:?}", line.diagnostics);
    line.words.iter().map(|word| (char::from(word.letter), word.value)).collect()
}

/// The text under the caret of the only diagnostic, and its kind.
fn fault(text: &str) -> (Kind, String) {
    let line = parse(text);
    assert_eq!(line.diagnostics.len(), 1, "{text}: {:?}", line.diagnostics);
    let found = &line.diagnostics[0];
    (found.kind, text[found.span.clone()].to_owned())
}

#[test]
fn blanks_mean_nothing() {
    // NISTIR 6556 section 3.3.
    assert_eq!(words("g0x +0. 12 34y 7"), words("g0 x+0.1234 y7"));
    assert_eq!(words("g0x +0. 12 34y 7"), [('G', 0.0), ('X', 0.1234), ('Y', 7.0)]);
    assert_eq!(words("\tG 1 A - 7 2 0 0 ."), [('G', 1.0), ('A', -7200.0)]);
    assert_eq!(words("g3 8 .2"), [('G', 38.2)]);
}

#[test]
fn block_delete_and_line_number() {
    let line = parse("/ n00100 g1 x1");
    assert!(line.slash.is_some());
    assert_eq!(line.number, Some(100));
    assert!(line.diagnostics.is_empty());
    assert_eq!(fault("N000009 X1"), (Kind::LineNumber, "N000009".into()));
    assert_eq!(fault("X1 N5"), (Kind::LineNumber, "N5".into()));
    assert_eq!(fault("N1.5 X1"), (Kind::LineNumber, "N1.5".into()));
    assert_eq!(fault("N150/ Z-38"), (Kind::Unreadable, "/".into()));
    assert_eq!(fault("// text"), (Kind::Unreadable, "/".into()));
}

#[test]
fn comments_stand_anywhere_between_words() {
    let line = parse("(one) g1 (two) x5 (MSG, go) y6 ; three (");
    assert_eq!(line.words.len(), 3);
    assert_eq!(line.comments.len(), 4);
    assert!(line.comments[3].semicolon);
    assert!(line.diagnostics.is_empty());
    assert_eq!(words("x1(a)y2"), [('X', 1.0), ('Y', 2.0)]);
    assert_eq!(fault("x1 (open"), (Kind::Comment, "(".into()));
    assert_eq!(fault("x1 (a (b) y2"), (Kind::Comment, "(".into()));
    assert_eq!(fault("x1) y2"), (Kind::Unreadable, ")".into()));
}

#[test]
fn what_cannot_be_read_is_pointed_at() {
    assert_eq!(fault("X.9. Y1"), (Kind::Unreadable, ".".into()));
    assert_eq!(fault("F0,3"), (Kind::Unreadable, ",".into()));
    assert_eq!(fault("GOO X1"), (Kind::Unreadable, "G".into()));
    assert_eq!(fault("XNaN"), (Kind::Unreadable, "X".into()));
    assert_eq!(fault("G1 X!!! Y2"), (Kind::Unreadable, "X".into()));
    assert_eq!(fault("G1 X"), (Kind::Unreadable, "X".into()));
    assert_eq!(fault("=5"), (Kind::Unreadable, "=".into()));
    assert_eq!(fault("12 X1"), (Kind::Unreadable, "12".into()));
    assert_eq!(fault("X1 - - 2"), (Kind::Unreadable, "-".into()));
    assert_eq!(fault("X99999999999999"), (Kind::Number, "X99999999999999".into()));
    assert_eq!(fault("é X1"), (Kind::Unreadable, "é".into()));
}

#[test]
fn lines_that_speak_to_the_controller() {
    assert_eq!(fault("$J=G91 X5"), (Kind::NotUnderstood, "$J=G91 X5".into()));
}

#[test]
fn lost_axis_letters_are_remembered() {
    assert_eq!(parse("G1 Y2 X.9. Z5 (A) ; B").lost, 0b100);
    assert_eq!(parse("G1 X[1 A2").lost, 0b1001);
}

#[test]
fn percent_lines() {
    assert!(parse(" % ").percent.is_some());
    assert_eq!(fault("% O100"), (Kind::Percent, " O100".into()));
    assert_eq!(fault("X1 %"), (Kind::Unreadable, "%".into()));
}

#[test]
fn a_line_has_few_faults_whatever_stands_on_it() {
    for scrap in ["X1", "N5", "N.5", "()", "(()", "%", "\u{e9}", "#", "G1"] {
        let line = parse(&scrap.repeat(10_000));
        assert!(line.diagnostics.len() <= 3, "{scrap}: {}", line.diagnostics.len());
        assert!(line.words.len() <= MOST_WORDS);
    }
}

#[test]
fn long_lines() {
    let comment = format!("X1 ({})", "-".repeat(300));
    let line = parse(&comment);
    assert_eq!(line.diagnostics[0].severity, Severity::Warning);
    let words = format!("X1 ({}) Y1", "-".repeat(300));
    assert_eq!(parse(&words).diagnostics[0].severity, Severity::Error);
    let huge = "X1".repeat(1 << 20);
    let line = parse(&huge);
    assert_eq!(line.words.len(), 0);
    assert_eq!(line.diagnostics.len(), 1);
}

#[test]
fn formulas_wait_for_their_value() {
    let line = parse("#1=[2+3] #<a name>=#1 G1 X#1 Y-[4] Zsin[30]");
    assert_eq!(line.settings.len(), 2);
    let waiting: Vec<bool> = line.words.iter().map(|word| word.formula.is_some()).collect();
    assert_eq!(waiting, [false, true, true, true]);
    assert!(line.diagnostics.iter().all(|one| one.severity == Severity::Note));
}

#[test]
fn formulas_that_cannot_be_read() {
    assert_eq!(fault("X[1+"), (Kind::Expression, "+".into()));
    assert_eq!(fault("X[1#2]"), (Kind::Expression, "#".into()));
    assert_eq!(fault("X[]"), (Kind::Expression, "]".into()));
    assert_eq!(fault("Xsin30"), (Kind::Expression, "3".into()));
    assert_eq!(fault("Xatan[1]"), (Kind::Expression, "]".into()));
    assert_eq!(fault("#1"), (Kind::Expression, "1".into()));
    assert_eq!(fault("#<a=1"), (Kind::Expression, "<".into()));
    assert_eq!(fault("X]"), (Kind::Unreadable, "X".into()));
    assert_eq!(fault("N#1"), (Kind::Unreadable, "N".into()));
    let deep = format!("X{}1{}", "[".repeat(100), "]".repeat(100));
    assert_eq!(fault(&deep).0, Kind::Expression);
}

#[test]
fn o_words() {
    let flow = |text: &str| parse(text).flow.map(|flow| (flow.label.to_string(), flow.keyword, flow.arguments.len()));
    assert_eq!(flow("o100 sub"), Some(("O100".into(), Some(Keyword::Sub), 0)));
    assert_eq!(flow("N5 O<Round It> call [1] [#2]"), Some(("O<roundit>".into(), Some(Keyword::Call), 2)));
    assert_eq!(flow("o1 e n d if"), Some(("O1".into(), Some(Keyword::EndIf), 0)));
    assert_eq!(flow("O1234 (name)"), Some(("O1234".into(), None, 0)));
    assert_eq!(flow(":0001"), Some(("O1".into(), None, 0)));
    assert_eq!(fault("o1 if"), (Kind::Flow, "o1 if".into()));
    assert_eq!(fault("o1 endif [1]"), (Kind::Flow, "o1 endif".into()));
    assert_eq!(fault("G0 o1 call"), (Kind::Flow, "o".into()));
    assert_eq!(fault("o#1 call"), (Kind::NotUnderstood, "o".into()));
    assert_eq!(fault("OTEST"), (Kind::Unreadable, "O".into()));
}

#[test]
fn axes_that_stand_in_a_file() {
    assert_eq!(axes_written(b"G1 X1 (A)\n; B\n"), 0b1);
    assert_eq!(axes_written(b"o1 call [abs[#1]]\no2 break\nG1 Zatan[1]/[2]\n#<ABC>=1"), 0b100);
    assert_eq!(axes_written(b"G1 C5\nX.9. A1\n"), 0b101001);
    assert_eq!(axes_written(b""), 0);
}
