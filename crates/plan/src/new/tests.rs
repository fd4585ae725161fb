//! What is guessed from small programs of one trait each.

use std::io::Cursor;

use super::*;

fn sketch(programs: &[&str]) -> Sketch {
    let named = programs.iter().zip(1..);
    let given = named.map(|(text, n)| Given { file: format!("p{n}.nc"), input: Cursor::new(text.as_bytes()) });
    draft(given.collect()).expect("programs that move")
}

/// The value of a key, `table.key`, with how it came to stand there; of several tables the first that has it.
fn value(sketch: &Sketch, path: &str) -> Option<(String, Standing)> {
    let (table, key) = path.rsplit_once('.').unwrap_or(("", path));
    let parts = sketch.parts.iter().filter(|part| part.name == table);
    let entry = parts.flat_map(|part| &part.entries).find(|entry| entry.key == key)?;
    Some((entry.value.clone(), entry.standing))
}

#[track_caller]
fn assert_guess(programs: &[&str], path: &str, expected: &str) {
    let sketch = sketch(programs);
    let found = value(&sketch, path);
    assert_eq!(found, Some((expected.to_owned(), Standing::Guessed)), "{path} of\n{}", sketch.text(None));
}

#[track_caller]
fn assert_standing(programs: &[&str], path: &str, standing: Standing) {
    let found = value(&sketch(programs), path).map(|(_, found)| found);
    assert_eq!(found, Some(standing), "{path}");
}

const TURNED: &str = "G21\nM3 S9000\nG0 X5 Y0 Z22 A0\nG0 Z16.3\nG1 Z15 A360 F25\nG1 X60 A3960 F60\nG0 Z22\nM5\nM2\n";

#[test]
fn radii_and_depths() {
    assert_guess(&[TURNED], "zero.z", "\"axis\"");
    assert_guess(&[TURNED], "blank.diameter", "32");
    let under = "G21\nG0 X5 Y0 Z22 A0\nG1 Z3 A360 F25\nX60 A3960\nZ-1 A4320\nX5 A360\nG0 Z22\nM2\n";
    assert_guess(&[under], "zero.z", "\"surface\"");
    assert_standing(&[under], "blank.diameter", Standing::StandsIn);
    // A program that leaves it open is taken as the others.
    let drilled = "G21\nG0 X20 Y0 Z10 A0\nG1 Z-8 F60\nG0 Z10\nM2\n";
    assert_guess(&[drilled], "zero.z", "\"axis\"");
    assert_guess(&[under, drilled], "zero.z", "\"surface\"");
    assert_guess(&[under, TURNED], "program.zero", "{ z = \"axis\" }");
}

#[test]
fn a_diameter_is_that_of_wood_nobody_has_cut() {
    let later = TURNED.replace("Z16.3", "Z12.1").replace("Z15 ", "Z10 ");
    assert_guess(&[TURNED, &later], "blank.diameter", "32");
    // Travel far over the blank says little of it, and a peck in a hole nothing.
    assert_guess(&[&TURNED.replace("Z16.3", "Z50")], "blank.diameter", "40");
    let pecked = TURNED.replace("G0 Z22\nM5", "G0 X70 Z17\nG1 Z9 F60\nG0 Z17\nG0 Z9.5\nG1 Z4\nG0 Z22\nM5");
    assert_guess(&[&pecked], "blank.diameter", "32");
    assert_guess(&["G21\nG0 X5 Y0 Z16 A0\nG1 Z9 F60\nG0 Z22\nM2\n"], "blank.diameter", "32");
    assert_guess(&["G21\nG1 X5 Y0 Z15 A0 F60\nX9 A360\nM2\n"], "blank.diameter", "30");
    // A tip beside the blank is not over it.
    let beside = "G21\nG0 X5 Y-30 Z12 A0\nG1 Y30 F600\nG0 Z40\nM2\n";
    assert_guess(&[TURNED, beside], "blank.diameter", "32");
}

#[test]
fn inches_where_all_count_them() {
    let inch = "G20\nM3 S9000\nG0 X.2 Y0 Z1 A0\nG0 Z.66\nG1 Z.6 A360 F5\nX2.5 A3960\nG0 Z1\nM5\nM2\n";
    assert_guess(&[inch], "units", "\"inch\"");
    assert_guess(&[inch], "blank.diameter", "1.3125");
    assert_guess(&[inch], "blank.length", "2.5");
    assert_eq!(value(&sketch(&[inch, TURNED]), "units"), None);
    let (unstated, standing) = value(&sketch(&[&TURNED.replace("G21\n", "")]), "units").expect("it is asked for");
    assert_eq!((unstated.as_str(), standing), ("\"mm\"", Standing::Open));
}

#[test]
fn the_word_that_turns() {
    let b = TURNED.replace('A', "B").replace('X', "Y").replace("Y0 Z22", "X0 Z22");
    assert_guess(&[&b], "machine.rotary", "\"B\"");
    assert_guess(&[&b], "machine.along", "\"y\"");
    assert_eq!(value(&sketch(&[&TURNED.replace('A', "B")]), "machine.along"), None);
    let both = TURNED.replace("G0 Z22\nM5", "G0 Z22 C90\nM5").replace("Z22 A0", "Z22 A0 C0");
    assert_guess(&[&both], "machine.rotary", "\"A\"");
    assert!(sketch(&[&both]).text(None).contains("C moves, too"));
    let indexed = "G21\nG0 X5 Y0 Z22 A0\nG1 Z9 F60\nX60\nG0 Z22\nA90\nG1 Z9\nX5\nG0 Z22\nM2\n";
    assert_guess(&[indexed], "program.indexed", "true");
    assert_eq!(value(&sketch(&[TURNED]), "program.indexed"), None);
}

#[test]
fn a_drawing_that_is_wound_on() {
    let ring = "G21\nM3 S9000\nG0 X10 Y-75.4 Z5\nG1 Z-1 F60\nY75.4 F400\nG0 Z5\nX20 Y0\nG1 Z-1\nX30\nG0 Z5\nM2\n";
    assert_guess(&[ring], "machine.rotary", "\"Y\"");
    assert_guess(&[ring], "machine.wrap_diameter", "48.001");
    assert_guess(&[ring], "blank.diameter", "48");
    // Work over the axis, a turn at rest at either end.
    let turned = "G21\nM3 S9000\nG0 X5 Y0 Z40\nG1 Z28 F60\nY150.8 F400\nX90 Y1508\nY1658.8\nG0 Z40\nM5\nM2\n";
    assert_guess(&[turned], "machine.rotary", "\"Y\"");
    assert_guess(&[turned], "machine.wrap_diameter", "48.001");
    assert_guess(&[turned], "blank.diameter", "66");
    // The walls of a pocket lead into each other, and one deeper than such a blank is thick is none.
    let pocket = "G21\nM3 S9000\nG0 X10 Y-20 Z5\nG1 Z-2 F60\nY20 F400\nX30\nY-20\nX10\nG0 Z5\nM2\n";
    assert_standing(&[pocket], "machine.rotary", Standing::Open);
    let slot = "G21\nM3 S9000\nG0 X10 Y-7 Z5\nG1 Z-6 F60\nY7 F400\nG0 Z5\nM2\n";
    assert_standing(&[slot], "machine.rotary", Standing::Open);
}

#[test]
fn where_the_blank_lies() {
    let at = |low: &str, high: &str| TURNED.replace("X5 ", &format!("X{low} ")).replace("X60 ", &format!("X{high} "));
    assert_guess(&[&at("-3", "60.2")], "zero.x", "0");
    assert_guess(&[&at("-3", "60.2")], "blank.length", "61");
    assert_guess(&[&at("-80.5", "0")], "zero.x", "81");
    assert_guess(&[&at("-80.5", "0")], "blank.length", "81");
    assert_guess(&[&at("-30", "30")], "zero.x", "30");
    assert_guess(&[&at("-30", "30")], "blank.length", "60");
    let arcs = "G21\nG18 G0 Z20 Y0 A0\nG2 X10 Z10 I10 F100\nG3 X0 Z0 I-10\nG0 Z20\nM2\n";
    sketch(&[arcs]);
    assert_standing(&["G21\nG0 Z20 A0\nG1 Z10 A360 F100\nG0 Z20\nM2\n"], "blank.length", Standing::StandsIn);
}

#[test]
fn cutters_by_t_words_and_by_comments() {
    let called = "G21\nT2 M6 (vee 60, 1/2 in)\nG0 X5 Z22 A0\nG1 Z9 A360 F60\nT5 M6\nG1 X9 A720\nM2\n";
    let found = sketch(&[called]);
    let cutters: Vec<&Part> = found.parts.iter().filter(|part| part.name == "cutter").collect();
    let of =
        |part: &Part, key: &str| part.entries.iter().find(|entry| entry.key == key).map(|entry| entry.value.clone());
    assert_eq!(cutters.iter().filter_map(|part| of(part, "number")).collect::<Vec<_>>(), ["2", "5"]);
    assert_eq!(
        ["shape", "diameter", "angle"].map(|key| of(cutters[0], key).unwrap_or_default()),
        ["\"vee\"", "12.7", "60"]
    );
    assert_eq!(cutters[1].entries[1].standing, Standing::StandsIn);
    assert_eq!(value(&found, "program.cutter"), None, "the program calls its own");
    // Programs that call none: what their heads say, and else what is in the spindle.
    let head = |comment: &str| format!("{comment}\n{TURNED}");
    let found = sketch(&[&head("(flat 6)"), &head("(ball 4)"), &head(""), &head("(flat 6 again)")]);
    let begins =
        found.parts.iter().filter(|part| part.name == "program").map(|part| of(part, "cutter").unwrap_or_default());
    assert_eq!(begins.collect::<Vec<_>>(), ["1", "2", "2", "1"]);
    assert_standing(&[TURNED], "cutter.diameter", Standing::StandsIn);
}

#[test]
fn what_the_controller_must_take() {
    let cycle = "G21\nG0 X5 Y0 Z22 A0\nG98 G81 Z9 R12 F60\nG80\nM2\n";
    assert_guess(&[TURNED, cycle], "controller.canned", "true");
    let formula = TURNED.replace("X60", "X[30 * 2]");
    assert_guess(&[&formula], "controller.expressions", "true");
    assert_guess(&[&TURNED.replace("M3", "G43 H1\nM3")], "controller.tool_length", "\"table\"");
    assert_eq!(value(&sketch(&[TURNED]), "controller.canned"), None);
    assert_guess(&[&TURNED.replace("M3 S9000\n", "").replace("M5\n", "")], "machine.spindle_switch", "\"hand\"");
    assert_eq!(value(&sketch(&[TURNED]), "machine.spindle_switch"), None);
}

#[test]
fn what_no_shop_turns_is_refused() {
    let far = TURNED.replace("X60", "X60000");
    let refused = draft(vec![Given { file: "far.nc".to_owned(), input: Cursor::new(far.as_bytes()) }]).unwrap_err();
    assert_eq!(
        refused.to_string(),
        "far.nc: it goes to X 60000 mm at feed, farther than any blank reaches: look at its units"
    );
}

#[test]
fn a_comment_cannot_end_its_line() {
    let text = format!("(flat 6\u{b}\u{1b}[31m = \"]] # x)\n{TURNED}");
    let sketched = sketch(&[&text]).text(Some("scene.schema.json"));
    assert!(sketched.lines().all(|line| !line.chars().any(char::is_control)), "{sketched}");
    assert!(sketched.starts_with("#:schema scene.schema.json\n"));
}

proptest::proptest! {
    #![proptest_config(proptest::test_runner::Config { failure_persistence: None, ..Default::default() })]

    #[test]
    fn any_program_makes_a_sketch_or_a_reason(lines in proptest::collection::vec("[GXYZABCTMF()/ ;.0-9-]{0,20}", 0..12)) {
        let text = lines.join("\n");
        if let Ok(sketch) = draft(vec![Given { file: "p.nc".to_owned(), input: Cursor::new(text.as_bytes()) }]) {
            crate::draft::scene_of(&sketch.text(None)).map_err(|error| error.to_string()).expect("a scene");
        }
    }
}
