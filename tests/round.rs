//! `dryturn round` as a person runs it.

use crate::workshop::Workshop;

/// A bar of 50 mm that leaves a clean round of 46.
const SQUARE: &str = "round --square 50 --runout 0.8 --bow 1.2 --blank-length 90 --from 10 --length 70 --cutter flat:12 \
    --speed 2500";

#[test]
fn a_square_bar_becomes_round_and_its_scene_proves_as_well() {
    let workshop = Workshop::new();
    let more = "--to 46 --material \"hard maple\" -o round.nc --save-scene round.toml";
    let text = workshop.expect(0, &format!("{SQUARE} {more}")).stdout;
    assert!(text.starts_with("○ PROVED  square bar 50 mm to a cylinder of 46 mm\n"), "{text}");
    let round = "a cylinder of 46 mm from station 10 mm to 80 mm, at most 0.";
    for told in ["power at the spindle", "turns on, at A", round, "Written: round.nc and round.toml"] {
        assert!(text.contains(told), "{told}\n{text}");
    }
    let program = workshop.read("round.nc");
    assert!(program.starts_with("(square bar 50 mm to a cylinder of 46 mm)\n(stations 10 mm to 80 mm)\n"));
    assert!(program.is_ascii() && program.lines().all(|line| line.len() <= 70), "{program}");
    assert!(program.contains("nor the set-up)\nG21 G17 G90 G94 G54\nS18000 M3\nG0 Z"), "{program}");
    assert!(program.ends_with("\nM5\nM30\n"), "{program}");
    workshop.expect(0, "prove round.toml --fail-on warning");
}

#[test]
fn the_scene_is_clear_once_the_holding_is_described() {
    let workshop = Workshop::new();
    workshop.expect(0, &format!("{SQUARE} --to 46 -o round.nc --save-scene round.toml"));
    let mut scene = workshop.read("round.toml").replace("length = 90", "length = 115");
    for key in ["[chuck]", "hold = ", "body", "jaws", "[tailstock]", "center", "stickout", "holder"] {
        scene = scene.replace(&format!("# {key}"), key);
    }
    workshop.write("round.toml", scene);
    let text = workshop.expect(0, "prove round.toml --fail-on warning").stdout;
    assert!(text.starts_with("○ CLEAR"), "{text}");
}

#[test]
fn more_than_the_blank_leaves_is_refused_and_nothing_written() {
    let workshop = Workshop::new();
    let told = "error: 46.1 mm is more than this blank leaves all round: 46 mm at the most, its size less twice the \
        0.8 mm that its centre is off and the 1.2 mm that it is bent\n";
    assert_eq!(workshop.expect(2, &format!("{SQUARE} --to 46.1 -o round.nc")).stderr, told);
    let told = "error: 46.00002 mm is more than this blank leaves all round: 46 mm at the most";
    assert!(workshop.expect(2, &format!("{SQUARE} --to 46.00002 -o round.nc")).stderr.starts_with(told));
    let told = "error: 1.815 in is more than this blank leaves all round: 1.811 in at the most, its size less twice the \
        0.0315 in that its centre is off and the 0.0472 in that it is bent\n";
    let inches = SQUARE.replace("--square 50", "--square 50mm").replace("0.8", "0.8mm").replace("1.2", "1.2mm");
    let inches = inches.replace("--from 10 --length 70", "--from 1 --length 2").replace("flat:12", "flat:12mm");
    assert_eq!(workshop.expect(2, &format!("{inches} --units inch --to 1.815 -o round.nc")).stderr, told);
    assert!(workshop.files().is_empty());
}

#[test]
fn options_that_cannot_be_read_are_named() {
    let workshop = Workshop::with(&[("there.toml", "")]);
    for (more, told) in [
        ("-o a.nc --advance \"3 feet\"", "error: --advance: `feet` is not a unit of length"),
        ("-o a.nc --save-scene there.toml", "error: there.toml: is there already"),
        ("-o a.nc --save-scene in/a.toml", "error: in/a.toml: keep the scene in the folder of the program"),
        ("-o a.nc --material unobtainium", "error: no material is called \"unobtainium\""),
        ("-o a.nc --diameter 50", "error: the argument '--square <W>' cannot be used with"),
        ("-o a.nc --flats 6 --rezero", "error: the argument '--flats <N>' cannot be used with"),
        ("-o there.toml", "error: there.toml: a scene is called so; name the program to write"),
        ("-o a.nc --depth -3", "error: the depth cannot be -3 mm: it must be above 0"),
        ("-o a.nc --depth 1000000000", "error: the depth cannot be 1000000000 mm: it must be at most 1000000 mm"),
        ("-o a.nc --spindle nan", "error: the spindle speed cannot be NaN turns/min: it must be above 0"),
        ("-o ..", "error: ..: name a file to write the program to"),
        ("", "error: the following required arguments were not provided:"),
    ] {
        let run = workshop.expect(2, &format!("{SQUARE} --to 46 {more}"));
        assert!(run.stderr.starts_with(told), "{more}\n{}", run.stderr);
    }
    assert_eq!(workshop.files().len(), 1);
}

#[test]
fn a_pass_deeper_than_the_flutes_is_refused() {
    let workshop = Workshop::with(&[]);
    let deep = "round --square 40 --to 10 --from 20 --length 60 --cutter flat:6 --speed 2000 -o a.nc --depth";
    let run = workshop.expect(2, &format!("{deep} 30"));
    let told = "error: a pass of 23.284 mm is deeper than the cutter's flutes of 18 mm: take less with --depth";
    assert!(run.stderr.starts_with(told), "{}", run.stderr);
    workshop.expect(0, &format!("{deep} 12 -q"));
}

#[test]
fn inches_turned_back_for_another_machine() {
    let workshop = Workshop::new();
    let run = workshop.expect(
        0,
        "round --units inch --polygon \"8:2 1/4\" --to 2 --from 1/2 --length 2 --cutter flat:1/2 --speed 100 --feed-form all \
         --winding back-and-forth --rotary b --along y --numbers --rezero -q -o round.nc",
    );
    assert_eq!(run.stdout, "○ PROVED  bar of 8 flats 2.25 in to a cylinder of 2 in\n");
    let program = workshop.read("round.nc");
    assert!(program.starts_with("%\n(bar of 8 flats 2.25 in to a cylinder of 2 in)\n"), "{program}");
    assert!(program.contains("\nN10 G20 G17 G90 G94 G54\n") && program.contains(" X0 Y2.25 B0\n"), "{program}");
    assert!(program.ends_with(" G92 B0\n%\n"), "{program}");
}

/// What is zeroed at the end of one program is so for the next: nothing is turned back.
#[test]
fn a_zero_at_the_end_is_that_of_the_next_program() {
    let workshop = Workshop::with(&[("slot.nc", "G21 G90\nM3 S9000\nG0 X40 A0 Z40\nG1 Z20 F300\nX60\nG0 Z40\nM30\n")]);
    let round = "round --diameter 50 --to 45 --from 10 --length 90 --cutter flat:12 --speed 2500 --rezero";
    workshop.expect(0, &format!("{round} -q -o round.nc --save-scene scene.toml"));
    workshop.expect(0, "sheet . -o sheet.html -q --pitch 1");
    let page = workshop.read("sheet.html");
    assert!(page.contains("A goes from 0° to 5760°."), "{page}");
    assert!(page.contains("A ends at 0°, zeroed at 5760°, and need not be turned back."), "{page}");
    let scene = workshop.read("scene.toml");
    workshop.write("both.toml", format!("{scene}\n[[program]]\nfile = \"slot.nc\"\n"));
    workshop.expect(0, "prove both.toml --out out -q --pitch 1");
    let report = workshop.report("out");
    let winding = &report["programs"][1]["winding"];
    assert_eq!((winding["start_deg"].as_f64(), winding["end_deg"].as_f64()), (Some(0.0), Some(0.0)));
    // Its M30 takes the zero back (NISTIR 6556 section 3.6.1).
    assert_eq!(report["preparation"]["wound_deg"].as_f64(), Some(5760.0));
}

#[test]
fn a_hexagon_and_a_coupon() {
    let workshop = Workshop::new();
    let round = "round --diameter 32 --from 8 --length 32 --cutter flat:6 --speed 900";
    let hexagon = workshop.expect(0, &format!("{round} --to 26 --flats 6 -o hexagon.nc")).stdout;
    assert!(hexagon.contains("6 faces, 26 mm across from station 8 mm to 40 mm"), "{hexagon}");
    assert_eq!(workshop.read("hexagon.nc").matches("(face ").count(), 6);
    let coupon = workshop.expect(0, &format!("{round} --to 10 --coupon -o coupon.nc")).stdout;
    assert!(coupon.contains("F, from flat to flat: 10 mm if Z0 is right."), "{coupon}");
    assert!(coupon.contains("T + S: 12 mm if Y0 is right"), "{coupon}");
}

/// Of eight faces four lie along those of the bar, and the others only take its corners off.
#[test]
fn a_square_bar_becomes_an_octagon_nearly_as_wide() {
    let workshop = Workshop::new();
    let round = "round --square 40 --from 8 --length 32 --cutter flat:6 --speed 900 --flats 8 -o octagon.nc";
    let octagon = workshop.expect(0, &format!("{round} --to 39")).stdout;
    assert!(octagon.contains("8 faces, 39 mm across from station 8 mm to 40 mm"), "{octagon}");
    let wider = workshop.expect(2, &format!("{round} --to 40.5"));
    let square = workshop.expect(2, &format!("{} --to 40", round.replace("--flats 8", "--flats 4")));
    assert_eq!(square.stderr, "error: nothing would be cut: the blank is no more than 40 mm there as it is\n");
    assert!(wider.stderr.starts_with("error: 40.5 mm is more than this blank leaves all round"), "{}", wider.stderr);
}

#[test]
fn a_rotary_axis_too_slow_for_the_speed_is_told_with_the_speed_that_comes_of_it() {
    let workshop = Workshop::new();
    let round = "round --diameter 40 --to 38 --from 8 --length 32 --cutter flat:12 --speed 900 -o round.nc";
    let told = workshop.expect(0, &format!("{round} --fastest-turn 360")).stdout;
    // A turn a minute: 2π · 20 mm and the advance.
    assert!(told.contains("900 mm/min over the wood, but 12"), "{told}");
    let program = workshop.read("round.nc").replace(")\n(", " ");
    assert!(program.contains("mm/min where A turns no faster"), "{program}");
    assert!(!workshop.expect(0, round).stdout.contains("no faster"));
}

#[test]
fn help_explains_in_prose_and_shows_examples() {
    let text = Workshop::new().expect(0, "round --help").stdout;
    for told in ["--speed is that over the wood", "dryturn round --square 50 --runout 0.8", "Exit codes:"] {
        assert!(text.contains(told), "{told}");
    }
}

/// A square bar in jaws and on a center, of a machine with the chuck on the right; `{shape}` and `{stickout}` differ.
fn held(shape: &str, stickout: u32) -> Workshop {
    let scene = format!(
        "format = 1
blank = {{ {shape}, length = 120, material = \"hard maple\", runout = {{ y = 0, z = 0.8 }}, bow = {{ amount = 1.2 }} }}
program = [{{ file = \"finial.nc\", cutter = 4 }}]
machine = {{ chuck_on = \"+x\", turns = \"reversed\", rotary = \"B\", feed_counts = \"all\", bed = 80 }}
chuck = {{ hold = 25, body = {{ diameter = 80, length = 45 }}, jaws = {{ count = 4, width = 14, length = 22, height = 18 }} }}
[tailstock]
center = {{ angle = 60, diameter = 12, quill = 16, extension = 3 }}
dimple = 2
body = {{ width = 40, above = 20, length = 70 }}
[[cutter]]
number = 4
diameter = 12
flute = 15
stickout = {stickout}
holder = [[50, 20]]
"
    );
    Workshop::with(&[("job.toml", &scene), ("finial.nc", "G21\nG0 Z60\n")])
}

const HELD: &str = "round --scene job.toml --from 6 --length 80 --cutter flat:12 --speed 2500 -o round.nc";

#[test]
fn what_holds_the_blank_may_come_from_a_scene() {
    let workshop = held("across_flats = 50", 45);
    let text = workshop.expect(0, &format!("{HELD} --to 46")).stdout;
    assert!(text.starts_with("○ PROVED  square bar 50 mm to a cylinder of 46 mm\n"), "{text}");
    let (_, unseen) = text.split_once("Not checked").unwrap();
    for known in ["holding", "tailstock", "stickout", "holder", "bed"] {
        assert!(!unseen.contains(known), "{known}\n{text}");
    }
    // The chuck stands on the right: the pass begins at the free end, at a small X. B counts along with the lengths.
    let program = workshop.read("round.nc");
    assert!(program.contains(" B") && !program.contains(" A0") && program.contains("X-80"), "{program}");
    // What the bar leaves is what the scene says of it.
    let told = "error: 46.1 mm is more than this blank leaves all round: 46 mm at the most";
    assert!(workshop.expect(2, &format!("{HELD} --to 46.1")).stderr.starts_with(told));
}

#[test]
fn nothing_is_written_that_hits_what_a_scene_describes() {
    let workshop = held("across_flats = 50", 17);
    let text = workshop.expect(1, &format!("{HELD} --to 46")).stdout;
    assert!(text.contains("The holder over cutter 1 hits jaw") && text.contains("Nothing was written."), "{text}");
    assert!(!workshop.path("round.nc").exists());
}

#[test]
fn a_scene_that_does_not_suit_is_refused() {
    let workshop = held("diameter = 50, bore = 20", 45);
    let refused = |more: &str, told: &str| {
        let run = workshop.expect(2, &format!("{HELD} --to 40 {more}"));
        assert!(run.stderr.contains(told), "{more}\n{}", run.stderr);
    };
    refused("", "the blank of the scene is no bar");
    refused("--runout 1", "'--scene <SCENE>' cannot be used with");
    refused("--square 50", "'--scene <SCENE>' cannot be used with");
    refused("--turns reversed", "'--scene <SCENE>' cannot be used with");
}
