//! `feed-reading`.

use crate::common::{found, one, silent};
use dryturn_check::Severity;

fn scene(machine: &str) -> String {
    format!(
        "blank = {{ diameter = 40, length = 60 }}
        grid = {{ pitch = 2 }}
        cutter = [{{ diameter = 6 }}]
        [machine]
        {machine}
        start = {{ x = 10, y = 0, z = 50, a = 0 }}"
    )
}

/// Ten millimetres and a turn at 100 mm/min: 6 s by the standard, 216 s over all words alike.
const TURNING: &str = "M3 S9000\nG1 X20 A360 F100\n";

#[test]
fn the_three_times_where_the_reading_was_not_stated() {
    let finding = one("feed-reading", &scene(""), &[TURNING]);
    assert_eq!((finding.severity, finding.lines, finding.blocks), (Severity::Warning, Some((2, 2)), 1));
    for time in ["6 s with F along", "3.6 min with F over all", "6 s with F as inverse"] {
        assert!(finding.text.contains(time), "{}", finding.text);
    }
    assert!(finding.cure.contains("feed_counts = "), "{}", finding.cure);
}

#[test]
fn a_note_where_it_was() {
    let finding = one("feed-reading", &scene("feed_counts = \"linear\""), &[TURNING]);
    assert_eq!(finding.severity, Severity::Note);
    // Nothing is asked for that cannot be done: the cure of a note is not to slow down.
    assert!(finding.cure.starts_with("Nothing to do"), "{}", finding.cure);
}

#[test]
fn nothing_where_the_times_hardly_differ() {
    silent("feed-reading", &scene(""), &["M3 S9000\nG1 X20 A5 F100\n"]);
    silent("feed-reading", &scene(""), &["M3 S9000\nG1 X20 F100\nG1 A360 F3600\n"]);
    silent("feed-reading", &scene(""), &["M3 S9000\nG93 G1 X20 A360 F10\n"]);
    silent("feed-reading", &scene(""), &["M3 S9000\nG0 X20 A360\n"]);
}

#[test]
fn a_rotary_word_asked_for_ten_times_its_rapid() {
    let stated = scene("feed_counts = \"linear\"\nrapid = { a = 3600 }");
    let finding = one("feed-reading", &stated, &["M3 S9000\nG1 X11 A720 F100\n"]);
    assert_eq!(finding.severity, Severity::Warning);
    assert!(finding.text.contains("1 of its blocks"), "{}", finding.text);
    assert!(finding.cure.starts_with("Lower F"), "{}", finding.cure);
    // Nine times.
    let found = found("feed-reading", &stated, &["M3 S9000\nG1 X11 A324 F100\n"]);
    assert!(found.iter().all(|finding| finding.severity == Severity::Note), "{found:?}");
}
