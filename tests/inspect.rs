//! `dryturn inspect`: programs described without a scene.

use std::io::Write;
use std::process::Stdio;

use serde_json::{Value, json};

use crate::workshop::{Run, Workshop};

/// Measured from the axis, in millimetres.
const MILLIMETRES: &str = "\
(T1 ball 6)
G21 G17 G90 G94
T1 M6 (rough)
S12000 M3
G0 X0 Y0 Z40 A0
G1 Z25.4 F254
X50.8 A720
G2 X76.2 I12.7 J0 F508
G4 P2
G0 Z40
M5
M30
";

/// The same in inches.
const INCHES: &str = "\
(T1 ball 6)
G20 G17 G90 G94
T1 M6 (rough)
S12000 M3
G0 X0 Y0 Z1.574803149606299 A0
G1 Z1 F10
X2 A720
G2 X3 I0.5 J0 F20
G4 P2
G0 Z1.574803149606299
M5
M30
";

fn workshop() -> Workshop {
    Workshop::with(&[("mm.nc", MILLIMETRES), ("inch.nc", INCHES)])
}

/// Runs with a text on standard input.
fn piped(workshop: &Workshop, arguments: &str, text: &[u8]) -> Run {
    let mut command = workshop.command(arguments);
    command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped());
    let mut child = command.spawn().unwrap();
    child.stdin.take().unwrap().write_all(text).unwrap();
    Run::of(child.wait_with_output().unwrap())
}

fn told(run: &Run) -> Vec<Value> {
    let json: Value = serde_json::from_str(&run.stdout).unwrap_or_else(|error| panic!("{error}: {}", run.stdout));
    assert_eq!(json["format"], 1);
    json["programs"].as_array().unwrap().clone()
}

/// Checks that two trees of JSON are alike, numbers to a millionth.
#[track_caller]
fn alike(one: &Value, other: &Value, path: &str) {
    match (one, other) {
        (Value::Number(a), Value::Number(b)) => {
            let (a, b) = (a.as_f64().unwrap(), b.as_f64().unwrap());
            assert!((a - b).abs() <= 2e-6 * a.abs().max(1.0), "{path}: {a} and {b}");
        }
        (Value::Object(a), Value::Object(b)) => {
            assert_eq!(a.keys().collect::<Vec<_>>(), b.keys().collect::<Vec<_>>(), "{path}");
            a.iter().for_each(|(key, value)| alike(value, &b[key], &format!("{path}.{key}")));
        }
        (Value::Array(a), Value::Array(b)) => {
            assert_eq!(a.len(), b.len(), "{path}");
            a.iter().zip(b).for_each(|(a, b)| alike(a, b, path));
        }
        _ => assert_eq!(one, other, "{path}"),
    }
}

#[test]
fn a_person_reads_what_the_file_is() {
    let run = workshop().expect(0, "inspect mm.nc");
    assert_eq!(run.stderr, "");
    for words in [
        "mm.nc\n",
        "12 lines, 5 blocks: 3 at feed, 2 rapid",
        "millimetres: G21 on line 2",
        "moves     X, Y, Z and A",
        "X         0 … 76.2 mm",
        "Y         0 … 12.7 mm",
        "A         0° … 720°; winds 2 turns",
        "As measured from the axis, at a radius of 25.4 mm",
        "T1        line 3, put in once, 3 blocks at feed\n            │ (T1 ball 6)\n            │ (rough)\n",
        "mm/min: 254 in 2 blocks, 508 in 1 block",
        "S 12 000 per minute; M3 and M5",
        "1 arc in the plane XY, radius 12.7 mm, the first on line 8",
        "dwells 2 s",
        "nothing to remark",
    ] {
        let folded = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(folded(&run.stdout).contains(&folded(words)), "no `{words}` in\n{}", run.stdout);
    }
}

#[test]
fn inches_are_shown_as_inches() {
    let run = workshop().expect(0, "inspect inch.nc");
    for words in ["inches: G20 on line 2", "0 … 3 in", "radius of 1 in", "in/min: 10 in 2 blocks"] {
        assert!(run.stdout.contains(words), "no `{words}` in\n{}", run.stdout);
    }
}

#[test]
fn json_says_the_same_of_an_inch_program_and_its_twin() {
    let all = told(&workshop().expect(0, "inspect --json mm.nc inch.nc"));
    assert_eq!((&all[0]["file"], &all[1]["file"]), (&json!("mm.nc"), &json!("inch.nc")));
    let [mut mm, mut inch] = [0, 1].map(|index| all[index]["description"].clone());
    assert_eq!(mm["units"], json!({ "unit": "mm", "stated": true, "first_line": 2 }));
    assert_eq!(inch["units"], json!({ "unit": "inch", "stated": true, "first_line": 2 }));
    for told in [&mut mm, &mut inch] {
        told["units"] = Value::Null;
        // F counts degrees beside lengths in the unit of the program, and inverse time its bare number.
        for reading in ["fed_all_s", "fed_inverse_s"] {
            assert!(told["time"][reading].as_f64().unwrap() > 0.0);
            told["time"][reading] = Value::Null;
        }
    }
    alike(&mm, &inch, "");
}

#[test]
fn json_holds_every_figure() {
    let told = &told(&workshop().expect(0, "inspect --json mm.nc"))[0]["description"];
    assert_eq!(told["lines"], 12);
    assert_eq!(told["blocks"], json!({ "all": 5, "fed": 3, "rapid": 2, "from_unknown": 1 }));
    assert_eq!((&told["ended"], &told["read_to_the_end"]), (&json!(true), &json!(true)));
    let x = json!({
        "word": "X", "first_line": 5, "moves": true, "taken_from_zero": false, "least_mm": 0.0, "greatest_mm": 76.2,
        "fed_least_mm": 0.0, "fed_greatest_mm": 76.2,
    });
    alike(&told["linear_words"][0], &x, "X");
    let a = json!({
        "word": "A", "first_line": 5, "moves": true, "taken_from_zero": false, "least_deg": 0.0, "greatest_deg": 720.0,
        "fed_least_deg": 0.0, "fed_greatest_deg": 720.0, "net_turns": 2.0, "greatest_turns": 2.0,
    });
    assert_eq!(told["rotary_words"], json!([a]));
    let comments = json!([{ "line": 1, "text": "(T1 ball 6)" }, { "line": 3, "text": "(rough)" }]);
    let cutter = json!({ "number": 1, "first_line": 3, "changes": 1, "fed_blocks": 3, "comments": comments });
    assert_eq!(told["cutters"], json!([cutter]));
    let feeds = json!([{ "value": 254.0, "times": 2 }, { "value": 508.0, "times": 1 }]);
    assert_eq!(told["feeds"]["mm_per_min"]["values"], feeds);
    assert_eq!(told["cutting_z"]["measured_from"], "axis");
    assert_eq!(told["arcs"][0]["count"], 1);
    // NISTIR 6556 section 2.1.2.5: 14.6 mm down, 50.8 mm along, then half a circle at twice the feed, and a dwell.
    let arc = 12.7 * std::f64::consts::PI;
    let seconds = 60.0 * ((14.6 + 50.8) / 254.0 + arc / 508.0);
    alike(&told["time"]["fed_linear_s"], &json!(seconds), "F along X, Y, Z");
    let all = 60.0 * ((14.6 + (50.8_f64 * 50.8 + 720.0 * 720.0).sqrt()) / 254.0 + arc / 508.0);
    alike(&told["time"]["fed_all_s"], &json!(all), "F over all words");
    alike(&told["time"]["fed_inverse_s"], &json!(60.0 * (2.0 / 254.0 + 1.0 / 508.0)), "F as inverse time");
    assert_eq!(told["time"]["dwell_s"], 2.0);
}

#[test]
fn standard_input_is_a_program_like_any_other() {
    let workshop = workshop();
    let run = piped(&workshop, "inspect -", MILLIMETRES.as_bytes());
    assert_eq!((run.code, run.stderr.as_str()), (0, ""));
    let file = workshop.expect(0, "inspect mm.nc");
    assert_eq!(run.stdout, file.stdout.replace("mm.nc", "standard input"));
    let run = piped(&workshop, "inspect --json mm.nc -", INCHES.as_bytes());
    assert_eq!(told(&run)[1]["file"], "standard input");
}

#[cfg(unix)]
#[test]
fn a_pipe_with_a_name_is_read_too() {
    let run = piped(&workshop(), "inspect /dev/stdin", MILLIMETRES.as_bytes());
    assert_eq!((run.code, run.stderr.as_str()), (0, ""));
    assert!(run.stdout.contains("12 lines"), "{}", run.stdout);
}

#[test]
fn what_cannot_be_read_costs_the_code_and_none_of_the_others() {
    let workshop = workshop();
    workshop.write("empty.nc", "");
    workshop.write("junk.nc", b"\x7fELF\0\0\xff\xfe\x1b[2J".repeat(100));
    workshop.write("comments.nc", "(nothing)\n");
    let run = workshop.expect(2, "inspect empty.nc junk.nc comments.nc nowhere.nc mm.nc");
    for (name, words) in [
        ("empty.nc", "no command"),
        ("junk.nc", "holds NUL bytes, so it is no text (UTF-16 or binary?)"),
        ("comments.nc", "no command"),
        ("nowhere.nc", ""),
    ] {
        let line = run.stderr.lines().find(|line| line.starts_with(&format!("error: {name}")));
        assert!(line.is_some_and(|line| line.contains(words)), "{name}: {}", run.stderr);
    }
    assert_eq!(run.stderr.lines().count(), 4);
    assert!(run.stdout.contains("12 lines"), "{}", run.stdout);
    let run = workshop.expect(2, "inspect --json junk.nc mm.nc");
    let all = told(&run);
    assert!(all[0]["error"].is_string() && all[0]["description"].is_null() && all[1]["error"].is_null());
    workshop.expect(2, "inspect");
}

#[test]
fn noise_without_zero_bytes_is_described_and_steers_nothing() {
    let workshop = workshop();
    workshop.write("noise.nc", [b"G0 X1\n", b"\xff\x1b]0;x\x07 G1 X\x80\n".repeat(50).as_slice()].concat());
    let run = workshop.expect(0, "inspect noise.nc");
    assert!(run.stdout.contains("errors"), "{}", run.stdout);
    assert!(!run.stdout.chars().any(|c| c.is_control() && c != '\n'), "{:?}", run.stdout);
}

#[test]
fn what_is_hardly_a_program_is_said_to_be_none() {
    let prose = "# Table lamp\n\nG0 X1 is a rapid.\nX is along the blank.\nF100 moves slowly.\n";
    let workshop = Workshop::with(&[("read.me", prose), ("long.nc", &"G1X1".repeat(20_000))]);
    let run = workshop.expect(0, "inspect read.me");
    assert!(run.stdout.starts_with("read.me\n  file      hardly a program: 4 of 4 lines"), "{}", run.stdout);
    let run = workshop.expect(2, "inspect long.nc");
    assert!(run.stderr.contains("line 1: this line has more than 65536 characters"), "{}", run.stderr);
}

#[test]
fn a_program_without_feed_or_units_says_so() {
    let workshop = Workshop::with(&[("bare.nc", "G90\nG0 X0 Z5 A0\nG1 X10\nA-360\nM2\n")]);
    let run = workshop.expect(0, "inspect bare.nc");
    for words in ["holds neither G20 nor G21", "2 blocks at feed with no F in force", "no S word", "winds −1 turns"] {
        assert!(run.stdout.contains(words), "no `{words}` in\n{}", run.stdout);
    }
}

#[test]
fn what_small_controllers_may_lack_is_named_with_its_line() {
    let text = "G21\n#1=5\nG43 H1\nG0 X0 Z5\nG81 X#1 Z-1 R1 F50\no1 repeat [2]\nG91 X1\no1 endrepeat\nG80\nM2\n";
    let workshop = Workshop::with(&[("long.nc", text)]);
    let run = workshop.expect(0, "inspect long.nc");
    let folded = run.stdout.split_whitespace().collect::<Vec<_>>().join(" ");
    for words in ["parameters or expressions (3×, from line 2 on)", "G43 on line 3", "G81 on line 5", "subprograms"] {
        assert!(folded.contains(words), "no `{words}` in\n{}", run.stdout);
    }
    let all = told(&workshop.expect(0, "inspect --json long.nc"));
    let named: Vec<&str> =
        all[0]["description"]["uncommon"].as_array().unwrap().iter().map(|one| one["what"].as_str().unwrap()).collect();
    assert_eq!(named, ["expressions", "G43", "G81", "subprograms"]);
}

#[test]
fn a_reading_that_ends_early_is_told_as_far_as_it_goes() {
    let workshop = Workshop::with(&[("deep.nc", "G21 G90\nG0 X1\no1 sub\no1 call\no1 endsub\no1 call\nM2\n")]);
    let run = workshop.expect(2, "inspect deep.nc");
    assert!(run.stdout.contains("calls nested more than 10 deep"), "{}", run.stdout);
    assert_eq!(told(&workshop.expect(2, "inspect --json deep.nc"))[0]["description"]["read_to_the_end"], false);
}
