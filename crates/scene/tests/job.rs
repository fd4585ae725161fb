//! Programs of a scene: where their words lead, what is known of them, and what they are refused for.

use dryturn_geom::angle::{degrees, radians};
use dryturn_geom::{Axis, Motion, Motions, Pose, Side, piece_from_blank};
use dryturn_scene::{Job, JobOptions, LoadOptions, Scene, SceneError};

/// A job of programs p1.nc, p2.nc … and a scene that lists them as `[[program]]` tables of its own.
fn try_job(scene: &str, programs: &[&str], lenient: bool) -> Result<Job, SceneError> {
    let folder = tempfile::tempdir().expect("a folder for the test");
    for (index, text) in programs.iter().enumerate() {
        std::fs::write(folder.path().join(format!("p{}.nc", index + 1)), text).expect("a file for the test");
    }
    let scene = Scene::parse(scene, "scene.toml", folder.path(), LoadOptions::default())?;
    Job::read(scene, JobOptions { lenient })
}

fn job(scene: &str, programs: &[&str]) -> Job {
    match try_job(scene, programs, false) {
        Ok(job) => job,
        Err(error) => panic!("{}", error.render(false)),
    }
}

fn scene(rest: &str) -> String {
    format!("format = 1\nblank = {{ diameter = 64, length = 200 }}\n{rest}\n")
}

const ONE: &str = "cutter = [{ diameter = 6 }]\nprogram = [{ file = \"p1.nc\" }]\n";

fn motions(job: &Job) -> Vec<Option<Motion>> {
    (0..job.count()).map(|block| job.motion(block)).collect()
}

fn near(a: f64, b: f64) {
    assert!((a - b).abs() < 1e-9, "{a} is not {b}");
}

fn assumed<'a>(job: &'a Job, key: &str) -> Option<&'a str> {
    job.scene.assumed.iter().find(|item| item.key == key).map(|item| item.because.as_str())
}

#[test]
fn words_become_poses() {
    let job = job(
        &scene(&format!("{ONE}[zero]\nx = 20\nz = 5\na = 10\n[machine]\nstart = {{ x = 0, y = 0, z = 50, a = 0 }}")),
        &["G0 X5 A90\nG1 Z1 F300\nG1 Y2\nM30\n"],
    );
    let motions = motions(&job);
    let first = motions[0].unwrap();
    assert_eq!((first.from.x, first.from.z, first.to.x), (20.0, 55.0, 25.0));
    near(degrees(first.from.turn), 10.0);
    near(degrees(first.to.turn), 100.0);
    assert!(first.rapid && first.arc.is_none() && first.cutter == 0);
    let last = motions[2].unwrap();
    assert_eq!((last.to.y, last.to.z, last.block), (2.0, 6.0, 2));
    assert!(!last.rapid);
    assert_eq!((job.feed(0), job.feed(1), job.line_of(2)), (None, Some(300.0), 3));
    assert_eq!(job.line_text(0, 2), "G1 Z1 F300");
}

#[test]
fn a_word_nobody_commands_stands_at_its_zero() {
    let job = job(&scene(&format!("{ONE}[zero]\na = 30\ny = 0")), &["(Y is not used)\nG0 X0 Z40\nG1 X10 F300\nM30\n"]);
    let motions = motions(&job);
    // The first block brings X and Z from a place nobody knows.
    assert_eq!(motions[0], None);
    let second = motions[1].unwrap();
    assert_eq!((second.from.y, second.from.z), (0.0, 40.0));
    near(degrees(second.to.turn), 30.0);
    assert!(assumed(&job, "machine.start.a").unwrap().contains("no program commands A"));
    assert!(assumed(&job, "machine.start.y").is_some());
    assert!(assumed(&job, "machine.start.x").is_none());
    let told = job.scene.not_checked.iter().find(|item| item.what == "unknown places in program 1").unwrap();
    assert!(told.because.starts_with("1 block moves from or to a place nobody knows (line 2)"), "{}", told.because);
}

#[test]
fn a_word_commanded_later_is_unknown_until_then() {
    let job = job(&scene(ONE), &["G0 X0 Z40\nG1 X10 F300\nG1 A0\nG1 X20 A10\nM30\n"]);
    let known: Vec<bool> = motions(&job).iter().map(Option::is_some).collect();
    assert_eq!(known, [false, false, false, true]);
}

#[test]
fn a_letter_after_the_end_commands_nothing() {
    let job = job(&scene(ONE), &["G0 X0 Z40\nG1 X10 F300\nM30\nY5\n"]);
    assert!(motions(&job)[1].is_some());
    assert!(assumed(&job, "machine.start.y").is_some());
}

#[test]
fn the_next_program_starts_where_the_last_one_ended() {
    let text = scene(
        "cutter = [{ diameter = 6 }]
[[program]]
file = \"p1.nc\"
zero = { z = 0, x = 20 }
[[program]]
file = \"p2.nc\"
zero = { z = 30, x = 50, a = 90 }
",
    );
    let job = job(&text, &["G0 X0 Y0 Z60\nG0 A45\nM30\n", "G1 X0 F100\nM30\n"]);
    assert_eq!((job.programs[1].first_block, job.count()), (2, 3));
    assert_eq!((job.program_of(1), job.program_of(2), job.line_of(2)), (0, 1, 1));
    let motion = job.motion(2).unwrap();
    assert_eq!((motion.from.x, motion.from.z, motion.to.x), (20.0, 60.0, 50.0));
    near(degrees(motion.from.turn), 45.0);
    near(degrees(motion.to.turn), 45.0);
}

#[test]
fn a_slip_moves_the_piece_and_not_the_machine() {
    let text = scene(
        "cutter = [{ diameter = 6, length_error = 0.25 }]
[[program]]
file = \"p1.nc\"
[[program]]
file = \"p2.nc\"
slip = { a = 2, x = 1 }
",
    );
    let job = job(&text, &["G0 X0 Y0 Z60 A0\nG0 A45\nM30\n", "G1 X10 F100\nM30\n"]);
    let motion = job.motion(2).unwrap();
    assert_eq!((motion.from.x, motion.to.x, motion.to.z), (1.0, 11.0, 60.25));
    near(degrees(motion.to.turn), 47.0);
    let shown = job.shown(2, &motion.to);
    near(shown[0].unwrap(), 10.0);
    near(shown[2].unwrap(), 60.0);
    near(shown[3].unwrap(), 45.0);
}

#[test]
fn arcs_keep_to_the_words_they_are_made_of() {
    // A quarter in the plane of X and Y with the chuck on the far side, and one in the plane of Z and X.
    let text = scene(&format!(
        "{ONE}[machine]\nchuck_on = \"+x\"\nstart = {{ x = 0, y = 0, z = 40, a = 0 }}\n[zero]\nx = 100\nz = 3"
    ));
    let job = job(&text, &["G17 G3 X10 Y10 I0 J10 A20 F300\nG18 G2 X0 Z50 I-10 K0\nM30\n"]);
    for (block, radius, axes) in [(0, 10.0, [Axis::X, Axis::Y]), (1, 10.0, [Axis::Z, Axis::X])] {
        let motion = job.motion(block).unwrap();
        let arc = motion.arc.unwrap();
        assert_eq!(arc.axes, axes);
        let get = |pose: &Pose, axis| match axis {
            Axis::X => pose.x,
            Axis::Y => pose.y,
            Axis::Z => pose.z,
            Axis::Turn => pose.turn,
        };
        let run = &job.programs[0].frame;
        for k in 0..=8 {
            let pose = motion.at(f64::from(k) / 8.0);
            let off = [0, 1].map(|i| get(&pose, axes[i]) - arc.center[i]);
            near(off[0].hypot(off[1]), radius);
            // The same circle in the words of the program.
            let words = run.words(&pose);
            let (center, at) =
                if block == 0 { ([0.0, 10.0], [words[0], words[1]]) } else { ([40.0, 0.0], [words[2], words[0]]) };
            near((at[0] - center[0]).hypot(at[1] - center[1]), radius);
        }
        let exact = motion.at(1.0 - 1e-12);
        near(exact.x, motion.to.x);
        near(exact.z, motion.to.z);
    }
    near(degrees(job.motion(0).unwrap().at(0.5).turn), 10.0);
}

#[test]
fn a_wrapped_word_turns_the_blank() {
    let quarter = std::f64::consts::PI * 60.0 / 4.0;
    let rest = "cutter = [{ diameter = 6 }]\nprogram = [{ file = \"p1.nc\" }]\n[zero]\nz = \"surface\"\n";
    for (machine, word, sign) in [
        ("rotary = \"Y\"\nwrap_diameter = 60", 'Y', -1.0),
        ("rotary = \"Y\"\nwrap_diameter = 60\nturns = \"reversed\"", 'Y', 1.0),
        ("along = \"y\"\nrotary = \"X\"\nwrap_diameter = 60", 'X', 1.0),
    ] {
        let other = if word == 'Y' { 'X' } else { 'Y' };
        let job = job(
            &scene(&format!("{rest}[machine]\n{machine}\nstart = {{ x = 0, y = 0, z = 10 }}")),
            &[&format!("G1 {other}5 {word}{quarter} F100\nG17 G2 {other}5 {word}0 R30\nM30\n")],
        );
        let motion = job.motion(0).unwrap();
        near(degrees(motion.to.turn), 90.0 * sign);
        assert_eq!((motion.to.x, motion.to.y, motion.to.z), (5.0, 0.0, 42.0));
        let arc = job.motion(1).unwrap();
        let [first, second] = arc.arc.unwrap().reach;
        let turning = if word == 'Y' { second } else { first };
        near(turning, sign * 2.0 / 60.0 * 30.0);
        assert_eq!(job.shown(0, &motion.to)[3], None);
        near(job.shown(0, &motion.to)[if word == 'Y' { 1 } else { 0 }].unwrap(), quarter);
    }
}

/// Where the piece is cut, in its own frame, by a cutter whose tip stands over the axis.
fn on_the_piece(side: Side, pose: &Pose) -> [f64; 3] {
    piece_from_blank(side, pose.x, pose.turn, pose.z)
}

/// A right-hand spiral posted for each way a machine can be built gives one and the same piece: on the minus side it
/// turns A the way the right hand does, on the plus side X runs backward and the machine's own frame is turned half
/// round, so that A must run the other way for the same piece.
#[test]
fn a_right_hand_spiral_is_the_same_piece_on_every_machine() {
    let spiral = |x: char, across: char, a: char, station: f64, sense: f64| {
        let mut text = format!("G0 {across}0 Z40\nG0 {x}0 {a}0\n");
        for k in 1..=24 {
            let (along, turn) = (station * 2.5 * f64::from(k), sense * 37.0 * f64::from(k));
            text += &format!("G1 {x}{along} {a}{turn} Z30 F500\n");
        }
        text + "M30\n"
    };
    let mut pieces: Vec<Vec<[f64; 3]>> = Vec::new();
    for along in ["x", "y"] {
        for side in ["-", "+"] {
            for turns in ["iso", "reversed"] {
                let (x, across, a) = if along == "x" { ('X', 'Y', 'A') } else { ('Y', 'X', 'B') };
                let station = if side == "-" { 1.0 } else { -1.0 };
                let sense = station * if turns == "iso" { 1.0 } else { -1.0 };
                let machine = format!(
                    "[machine]\nalong = \"{along}\"\nrotary = \"{a}\"\nturns = \"{turns}\"\nchuck_on = \"{side}{along}\""
                );
                let job = job(&scene(&format!("{ONE}{machine}")), &[&spiral(x, across, a, station, sense)]);
                let side = job.scene.machine.chuck_on;
                let piece = motions(&job).iter().flatten().map(|m| on_the_piece(side, &m.to)).collect();
                pieces.push(piece);
            }
        }
    }
    assert_eq!(pieces.len(), 8);
    assert_eq!(pieces[0].len(), 24);
    for piece in &pieces[1..] {
        for (a, b) in piece.iter().zip(&pieces[0]) {
            (0..3).for_each(|k| near(a[k], b[k]));
        }
    }
    // Right-handed about +x: with x growing, from +z toward −y.
    let [first, second] = [pieces[0][0], pieces[0][1]];
    assert!(second[0] > first[0] && first[1] < 0.0 && second[1] < first[1]);
}

#[test]
fn a_half_turn_of_the_blank_is_where_the_frames_say() {
    let job = job(&scene(&format!("{ONE}[machine]\nturns = \"reversed\"")), &["G0 X0 Z40\nA0\nG1 A90 F100\nM30\n"]);
    near(job.motion(2).unwrap().to.turn, radians(-90.0));
}

#[test]
fn a_cutter_that_is_not_listed_is_refused() {
    let text = scene("cutter = [{ diameter = 6 }, { number = 4, diameter = 3 }]\nprogram = [{ file = \"p1.nc\" }]");
    let error = try_job(&text, &["T1 M6\nG0 X0 Z9\nT7 M6\nM30\n"], true).unwrap_err().render(false);
    assert!(error.contains("the scene has no cutter 7"), "{error}");
    assert!(error.contains("3 | T7 M6") && error.contains("p1.nc:3:1"), "{error}");
    assert!(error.contains("it has cutters 1, 4"), "{error}");
}

#[test]
fn cutters_change_where_the_program_says() {
    let text = scene("cutter = [{ diameter = 6 }, { number = 4, diameter = 3 }]\nprogram = [{ file = \"p1.nc\" }]");
    let job = job(&text, &["G0 X0 Z9\nG0 X1\nT4 M6\nG0 X2\nT0 M6\nG0 X3\nM30\n"]);
    assert_eq!([1, 2, 3].map(|block| job.cutter_index(block)), [Some(0), Some(1), None]);
    assert_eq!([1, 2, 3].map(|block| job.motion(block).map(|m| m.cutter)), [Some(0), Some(1), None]);
    assert!(job.scene.not_checked.iter().any(|item| item.what == "empty spindle in program 1"));
}

#[test]
fn what_is_not_understood_stops_unless_lenient() {
    let text = scene(ONE);
    let program = "G0 X0 Z40\nG1 X10 F300\nG5 X3\nG1 X20\nM30\n";
    let error = try_job(&text, &[program], false).unwrap_err();
    let shown = error.render(false);
    assert!(matches!(error, SceneError::Lines { .. }));
    assert!(shown.contains("3 | G5 X3") && shown.contains("p1.nc:3"), "{shown}");
    let job = try_job(&text, &[program], true).unwrap();
    assert!(job.remarks(0).iter().any(|remark| remark.line == 3));
    assert!(job.motion(1).is_some());
}

#[test]
fn machine_coordinates_go_through_home_and_stickout() {
    let cutters = "cutter = [{ diameter = 6, stickout = 35, holder = [[20, 30]] }]\nprogram = [{ file = \"p1.nc\" }]\n";
    let program = "G0 X0 Z40\nG53 G0 Z-10\nG0 X5\nM30\n";
    let with_home = job(&scene(&format!("{cutters}[machine]\nhome = {{ z = 120 }}\n[zero]\nz = 30")), &[program]);
    // The holder's face is at 120 − 10 over the axis, the tip 35 under it.
    assert_eq!(with_home.motion(1).unwrap().to.z, 75.0);
    let without = job(&scene(cutters), &[program]);
    assert_eq!((without.motion(1), without.motion(2)), (None, None));
}

#[test]
fn other_systems_sit_where_the_scene_puts_them() {
    let program = "G0 X0 Z40\nG55 G1 X10 F100\nM30\n";
    let there = job(&scene(&format!("{ONE}[zero.g55]\nx = 120")), &[program]);
    assert_eq!(there.motion(1).unwrap().to.x, 130.0);
    assert_eq!(there.shown(1, &there.motion(1).unwrap().to)[0], Some(10.0));
    assert!(assumed(&there, "zero.g55").is_none());
    let nowhere = job(&scene(ONE), &[program]);
    assert_eq!(nowhere.motion(1).unwrap().to.x, 10.0);
    assert!(assumed(&nowhere, "zero.g55").unwrap().contains("taken as in G54"));
}

#[test]
fn the_display_keeps_its_unit_and_its_winding() {
    let job = job(&scene(ONE), &["G20 G0 X0 Z2 A0\nG1 X1 A7200 F10\nG92 A0\nG1 X2 A10\nM30\n"]);
    let motion = job.motion(1).unwrap();
    assert_eq!(motion.to.x, 25.4);
    let shown = job.shown(1, &motion.to).map(Option::unwrap);
    [1.0, 0.0, 2.0, 7200.0].iter().zip(shown).for_each(|(a, b)| near(*a, b));
    let last = job.motion(2).unwrap();
    near(degrees(last.to.turn), 7210.0);
    near(job.shown(2, &last.to)[3].unwrap(), 10.0);
}

#[test]
fn the_controller_takes_what_the_scene_says() {
    let program = "#1=5\no1 sub\nG0 X[#1*2] Z40\no1 endsub\no1 call [5]\nG81 X20 Z30 R35 F100\nG80\nM30\n";
    let error = try_job(&scene(ONE), &[program], false).unwrap_err().render(false);
    for words in ["no parameters or expressions", "no subprograms", "G81 is not taken"] {
        assert!(error.contains(words), "{error}");
    }
    let taken = "[controller]\nexpressions = true\nsubprograms = true\ncanned = true";
    let job = job(&scene(&format!("{ONE}{taken}")), &[program]);
    assert_eq!(job.motion(job.count() - 1).unwrap().to.x, 20.0);
    // A turns nothing, though ABS, CALL and the like hold its letter.
    assert!(job.motion(1).is_some());
}

#[test]
fn the_controller_says_what_it_does_instead() {
    let refusing = |key: &str| {
        let text = scene(&format!("{ONE}[controller]\n{key}"));
        try_job(&text, &["G0 X0 Z40\nG0 X[1+2]\nM30\n"], false).unwrap_err().render(false)
    };
    assert!(refusing("not_understood = \"stops\"").contains("stops here"));
    assert!(refusing("not_understood = \"ignores\"").contains("passes over it"));
    assert!(refusing("drops = [\"G64\", \"what\"]").contains("`what` is no letter and no G or M code"));
    let text = scene(&format!("{ONE}[controller]\ndrops = [\"G91\"]"));
    let job = job(&text, &["G0 X10 Z40\nG91 X20\nM30\n"]);
    assert_eq!(job.motion(1).unwrap().to.x, 20.0);
}

#[test]
fn what_the_controller_keeps_goes_on_in_the_next_program() {
    let text = scene(
        "cutter = [{ diameter = 6, stickout = 40 }, { number = 2, diameter = 8, stickout = 55 }]
program = [{ file = \"p1.nc\" }, { file = \"p2.nc\" }]
controller = { expressions = true, tool_length = \"table\" }",
    );
    let first = "G0 X5 Z60\nG10 L20 P2 X0\n#100=7\nT1 M6\nG43 H1 G0 Z50\nM30\n";
    let job = job(&text, &[first, "G55 G0 X[#100] Z30\nG54 X1\nM30\n"]);
    let last = job.motion(job.count() - 2).unwrap().to;
    assert_eq!((last.x, last.z), (12.0, 30.0));
    assert_eq!(job.motion(job.count() - 1).unwrap().to.x, 1.0);
}

#[test]
fn programs_that_cannot_be_read_are_refused() {
    for (bytes, words) in [("", "no command"), ("\u{0}\u{1}", "no text"), ("\u{fffd}", "p1.nc:1")] {
        let error = try_job(&scene(ONE), &[bytes], false).unwrap_err().render(false);
        assert!(error.contains(words), "{error}");
    }
}

proptest::proptest! {
    #![proptest_config(proptest::test_runner::Config { failure_persistence: None, ..Default::default() })]

    /// Whatever stands in a program, what comes out is finite and every question about a block has an answer.
    #[test]
    fn no_program_panics(lines in proptest::collection::vec("[GXYZABIJKRFTMS()%;/0-9. -]{0,24}", 0..12), lenient: bool) {
        let text = scene(&format!("{ONE}[zero]\nz = \"surface\"\nx = 20"));
        if let Ok(job) = try_job(&text, &[&lines.join("\n"), "G0 X1 Z50\nM30\n"], lenient) {
            for block in 0..job.count() + 2 {
                let motion = job.motion(block);
                let pose = motion.map_or(Pose { x: 0.0, y: 0.0, z: 0.0, turn: 0.0 }, |motion| motion.at(0.5));
                assert!([pose.x, pose.y, pose.z, pose.turn].iter().all(|coordinate| coordinate.is_finite()));
                job.shown(block, &pose);
                job.line_text(job.program_of(block), job.line_of(block));
            }
        }
    }
}
