use super::*;

fn told(text: &str) -> Description {
    Description::of(text.as_bytes()).1
}

fn named(told: &Description) -> String {
    told.words.iter().flatten().map(|word| word.letter).collect()
}

#[test]
fn letters_that_cannot_be_read_move_nothing() {
    let found = told("G21 G90\nG0 X1 !A90\nTABLE C\nG0 X5\nM2\nBB");
    assert_eq!((named(&found).as_str(), found.idle), ("X", vec!['A', 'B', 'C']));
    let found = told("G1 X5 A90 F100\nM2");
    assert_eq!((named(&found).as_str(), found.idle), ("XA", vec![]));
}

#[test]
fn increments_only_where_there_are_some() {
    assert_eq!(told("X5 A90\nM2").from_zero, 0);
    assert_eq!(told("G91 G1 X5 A90 F100\nM2").from_zero, 0b1001);
}

#[test]
fn compensation_is_seen_on_either_side() {
    let found = told("T1 M6\nG0 X0 Y0\nG42 D1 G1 X5 F100\nG40 X9\nG41 X10\nM2").compensation;
    assert_eq!(found, Some(Seen { line: 3, times: 2 }));
    assert_eq!(told("G40 G1 X5 F100\nM2").compensation, None);
}

#[test]
fn all_that_was_kept_is_remarked_errors_first() {
    let found = told(&format!("G21 G90\n{}G1 X1 !\nM2", "/G0 X1\n".repeat(3) + &"G0 X1 Q5\n".repeat(20)));
    assert_eq!(found.remarks.len(), found.counted.iter().sum::<usize>());
    assert!(
        found.remarks.len() > 20 && found.remarks.is_sorted_by(|(one, _), (next, _)| one.severity >= next.severity)
    );
    assert!(found.remarks.iter().all(|(one, text)| one.span.end <= text.len()));
}

#[test]
fn feed_per_revolution_is_seen() {
    assert_eq!(told("G95\nG1 X5 F0.1\nM2").per_revolution, Some(Seen { line: 1, times: 1 }));
    assert_eq!(told("G94\nG1 X5 F100\nM2").per_revolution, None);
}

#[test]
fn prose_is_hardly_a_program() {
    let prose = "# Table lamp\n\nTurn the blank, see below.\n- sand it\n\nG0 X1 is a rapid.\n";
    assert_eq!(told(prose).unreadable, Some(Unreadable { lines: 4, of: 4 }));
    assert_eq!(told("G21 G90\nG0 X1 !\nX2\nX3 ?\nM2").unreadable, None);
    assert_eq!(told("G95\nG95 G1 X1 F1\nM2").unreadable, None, "it can be read, though not be taken");
}
