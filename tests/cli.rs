//! The command line: what can be typed, what is printed, what is written, and the exit code.

use std::collections::BTreeSet;

use crate::workshop::{Run, WRITTEN, Workshop};

/// The shortest scene.
const SCENE: &str = "\
format = 1
title = \"A peg\"
blank = { diameter = 64, length = 200 }
program = [{ file = \"peg.nc\" }]
cutter = [{ diameter = 6 }]
grid = { pitch = 1 }
";
/// A groove around the peg.
const PEG: &str = "G21 G17 G90 G94\nM3 S12000\nG0 X60 Y0 Z40 A0\nG1 Z30 F300\nG1 A360 F900\nG0 Z40\nM5\nM30\n";
/// The same without a spindle, after which it needs no other error.
const STOPPED: &str = "G21 G17 G90 G94\nM5\nG0 X60 Y0 Z40 A0\nG1 Z30 F300\nG1 A360 F900\nG0 Z40\nM30\n";

fn peg() -> Workshop {
    Workshop::with(&[("scene.toml", SCENE), ("peg.nc", PEG)])
}

/// A scene with an error: wood is cut with the spindle stopped.
fn spoiled() -> Workshop {
    Workshop::with(&[("scene.toml", SCENE), ("peg.nc", STOPPED)])
}

#[test]
fn a_folder_or_its_scene_file_can_be_named() {
    let workshop = peg();
    let timeless = |run: Run| run.stdout.lines().filter(|line| !line.contains("Time")).collect::<String>();
    let by_folder = workshop.expect(0, "prove .");
    assert!(by_folder.stdout.contains("A peg"), "{}", by_folder.stdout);
    assert_eq!(timeless(by_folder), timeless(workshop.expect(0, "prove scene.toml")));
}

#[test]
fn a_run_prints_its_verdict_what_was_not_checked_and_the_caution() {
    let run = peg().expect(0, "prove .");
    for words in ["CAUTION", "Not checked", "holding", "Volume", "in air first"] {
        assert!(run.stdout.contains(words), "{words}:\n{}", run.stdout);
    }
    assert_eq!(run.stderr, "", "a pipe shows no progress");
}

#[test]
fn quiet_prints_the_verdict_only() {
    let workshop = peg();
    for flag in ["--quiet", "-q"] {
        let run = workshop.expect(0, &format!("prove . {flag}"));
        assert_eq!((run.stdout.as_str(), run.stderr.as_str()), ("caution  A peg\n", ""));
    }
    let run = spoiled().expect(1, "prove . --quiet");
    assert_eq!((run.stdout.as_str(), run.stderr.as_str()), ("stop  A peg\n", ""));
}

#[test]
fn the_least_severity_that_fails_can_be_chosen() {
    let workshop = spoiled();
    workshop.expect(1, "prove .");
    workshop.expect(1, "prove . --fail-on error");
    workshop.expect(1, "prove . --fail-on note");
    workshop.expect(0, "prove . --fail-on never");
    // A quill that is out a little is a note.
    let noted = peg();
    let tailstock = "tailstock = { center = { angle = 60, diameter = 12, quill = 16, extension = 4 }, dimple = 2 }\n";
    noted.write("scene.toml", format!("{SCENE}{tailstock}"));
    noted.expect(0, "prove . --fail-on error");
    noted.expect(0, "prove . --fail-on warning");
    noted.expect(1, "prove . --fail-on note");
    // One that is out further than it is thick is a warning.
    let warned = peg();
    warned.write("scene.toml", format!("{SCENE}{}", tailstock.replace("extension = 4", "extension = 40")));
    warned.expect(0, "prove .");
    warned.expect(1, "prove . --fail-on warning");
    warned.expect(2, "prove . --fail-on sometimes");
}

#[test]
fn out_writes_just_the_files_that_are_listed() {
    let workshop = peg();
    workshop.expect(0, "prove . --out deep/out");
    let before = ["peg.nc", "scene.toml"].map(str::to_owned);
    let expected: BTreeSet<String> = before.into_iter().chain(WRITTEN.map(|name| format!("deep/out/{name}"))).collect();
    assert_eq!(workshop.files().into_keys().collect::<BTreeSet<String>>(), expected);
    let report = workshop.report("deep/out");
    let maps: BTreeSet<&str> =
        report["maps"].as_array().unwrap().iter().map(|map| map["name"].as_str().unwrap()).collect();
    let expected_maps =
        ["remaining-radius", "solid-length", "cut-by", "cut-by-program", "cut-by-cutter", "depth-of-cut", "chip"];
    assert_eq!(maps, BTreeSet::from(expected_maps));
    // A second run puts new files in the place of the old ones and leaves none beside them.
    workshop.expect(0, "prove . --out deep/out");
    assert_eq!(workshop.files().into_keys().collect::<BTreeSet<String>>(), expected);
    // Without --out nothing is written at all.
    let dry = peg();
    dry.expect(0, "prove .");
    assert_eq!(dry.files().len(), 2);
}

#[test]
fn several_scenes_are_proved_one_after_another() {
    let workshop = peg();
    workshop.write("second/scene.toml", SCENE.replace("A peg", "Another"));
    workshop.write("second/peg.nc", STOPPED);
    workshop.write("third/scene.toml", "format = 1\n");
    workshop.write("fourth/scene.toml", SCENE.replace("A peg", "The last"));
    workshop.write("fourth/peg.nc", PEG);

    let run = workshop.expect(1, "prove scene.toml second fourth --quiet --out out");
    assert_eq!(run.stdout, "caution  A peg\nstop  Another\ncaution  The last\n");
    let folders: BTreeSet<String> = workshop
        .files()
        .keys()
        .filter_map(|name| Some(name.strip_prefix("out/")?.split_once('/')?.0.to_owned()))
        .collect();
    assert_eq!(folders.len(), 3, "{folders:?}");
    for folder in &folders {
        workshop.report(&format!("out/{folder}"));
    }

    // One that cannot be read costs the exit code and none of the others.
    let run = workshop.expect(2, "prove second third fourth nowhere.toml --quiet");
    assert_eq!(run.stdout, "stop  Another\ncaution  The last\n");
    assert!(run.stderr.contains("third") && run.stderr.contains("nowhere.toml"), "{}", run.stderr);
}

#[test]
fn a_bare_program_is_proved_without_a_scene() {
    let workshop = Workshop::with(&[("peg.nc", PEG)]);
    let flags = "--blank 64x200 --cutter flat:6";
    let run = workshop.expect(0, &format!("prove peg.nc {flags} --out bare --save kept.toml"));
    assert!(run.stdout.contains("CAUTION"), "{}", run.stdout);
    let kept = workshop.read("kept.toml");
    for line in ["format = 1", "diameter = 64", "length = 200", "peg.nc"] {
        assert!(kept.contains(line), "{kept}");
    }
    workshop.expect(0, "prove kept.toml --out kept");
    let (mut bare, mut kept) = (workshop.report("bare"), workshop.report("kept"));
    for report in [&mut bare, &mut kept] {
        // They are called after different files.
        report["title"] = serde_json::Value::Null;
    }
    assert_eq!(bare, kept);
    // What was kept is not overwritten.
    let run = workshop.expect(2, &format!("prove peg.nc {flags} --save kept.toml"));
    assert!(run.stderr.contains("kept.toml"), "{}", run.stderr);
}

#[test]
fn a_bare_program_may_be_kept_in_another_folder_or_be_said_in_inches() {
    let workshop = Workshop::with(&[("shop/peg.nc", PEG)]);
    workshop.expect(0, "prove shop/peg.nc --blank \"2 1/2 in x 8 in\" --cutter flat:1/4in --save shop/kept.toml -q");
    workshop.expect(0, "prove shop/kept.toml --out out -q");
    let blank = workshop.report("out")["blank_mm3"].as_f64().unwrap();
    let exact = std::f64::consts::PI * 31.75 * 31.75 * 203.2;
    assert!((blank / exact - 1.0).abs() < 1e-3, "{blank} for {exact}");
}

#[test]
fn a_program_alone_is_told_what_to_add() {
    let workshop = peg();
    for (arguments, word) in [
        ("prove peg.nc", "--blank 64x200"),
        ("prove peg.nc --blank 64x200", "--cutter"),
        ("prove peg.nc --cutter flat:6", "--blank"),
        ("prove peg.nc --blank 64 --cutter flat:6", "64x200"),
        ("prove peg.nc --blank 64x200 --cutter spoon:6", "ball:DIAMETER"),
        ("prove peg.nc --blank=-64x200 --cutter flat:6", "64x200"),
        ("prove peg.nc --blank 64x1e308 --cutter flat:6", "1e308"),
        ("prove peg.nc --blank 64x200 --cutter flat:nan", "nan"),
        ("prove gone.nc --blank 64x200 --cutter flat:6", "gone.nc"),
    ] {
        let run = workshop.expect(2, arguments);
        assert!(run.stderr.contains(word), "{arguments}: {}", run.stderr);
        assert_eq!(run.stdout, "");
    }
}

#[test]
fn the_schema_is_the_one_that_lies_beside_each_report() {
    let workshop = peg();
    workshop.expect(0, "prove . --out out");
    let run = workshop.expect(0, "schema report");
    assert_eq!(run.stdout, workshop.read("out/report.schema.json"));
    // It must be able to refuse.
    let schema = serde_json::from_str(&run.stdout).unwrap();
    let validator = jsonschema::validator_for(&schema).unwrap();
    let mut report = workshop.report("out");
    report["verdict"] = "perhaps".into();
    assert!(!validator.is_valid(&report));
    report["verdict"] = "clear".into();
    report.as_object_mut().unwrap().remove("blank_mm3");
    assert!(!validator.is_valid(&report));
    workshop.expect(2, "schema poem");
}

#[test]
fn help_and_version_are_there() {
    let workshop = Workshop::new();
    assert_eq!(workshop.expect(0, "--version").stdout, format!("dryturn {}\n", env!("CARGO_PKG_VERSION")));
    let help = workshop.expect(0, "--help").stdout;
    assert!(help.contains("prove") && help.contains("schema") && help.contains("130"), "{help}");
    let help = workshop.expect(0, "prove --help").stdout;
    for words in [
        "Examples",
        "--out",
        "--sarif",
        "--junit",
        "--markdown",
        "--format",
        "--fail-on",
        "--threads",
        "--memory",
        "--quiet",
    ] {
        assert!(help.contains(words), "{help}");
    }
    assert!(workshop.expect(0, "schema --help").stdout.contains("Example"));
    for arguments in ["", "prove", "carve", "prove --no-such-flag", "prove . --threads many", "prove . --memory 2TB"] {
        let run = workshop.expect(2, arguments);
        assert_eq!(run.stdout, "");
        assert!(run.stderr.contains("Usage") || run.stderr.contains("error"), "{arguments}: {}", run.stderr);
    }
}

#[test]
fn colour_is_for_terminals_and_for_those_who_ask() {
    let workshop = peg();
    let coloured = |arguments: &str, set: &[(&str, &str)]| {
        let output = workshop.command(arguments).envs(set.iter().copied()).output().unwrap();
        Run::of(output).stdout.contains('\u{1b}')
    };
    assert!(!coloured("prove .", &[]));
    assert!(coloured("prove .", &[("CLICOLOR_FORCE", "1")]));
    assert!(!coloured("prove .", &[("CLICOLOR_FORCE", "1"), ("NO_COLOR", "1")]));
    assert!(coloured("prove . --color always", &[("NO_COLOR", "1")]));
    assert!(!coloured("prove . --color never", &[("CLICOLOR_FORCE", "1")]));
}

#[test]
fn a_grid_too_large_is_refused_with_the_pitch_that_fits() {
    let workshop = peg();
    workshop.write("scene.toml", SCENE.replace("pitch = 1", "pitch = 0.02"));
    let refused = workshop.expect(2, "prove . --threads 2 --memory 60MB --out out");
    assert!(!workshop.path("out").exists() && refused.stderr.contains("raise --memory"), "{}", refused.stderr);
    // Without maps to draw a finer one would do.
    let run = workshop.expect(2, "prove . --threads 2 --memory 30MB");
    let pitch = run.stderr.split("pitch = ").nth(1).and_then(|rest| rest.split_whitespace().next());
    let pitch = pitch.unwrap_or_else(|| panic!("no pitch in: {}", run.stderr));
    workshop.write("scene.toml", SCENE.replace("pitch = 1", &format!("pitch = {pitch}")));
    workshop.expect(0, "prove . --threads 2 --memory 30MB");
    workshop.expect(0, "prove . --out out");
    let bytes = workshop.report("out")["grid"]["bytes"].as_u64().unwrap();
    assert!((10_000_000..=60_000_000).contains(&bytes), "{bytes}");
    // Where no pitch would do, none is named.
    let run = workshop.expect(2, "prove . --memory 10B");
    assert!(run.stderr.contains("raise --memory") && !run.stderr.contains("pitch ="), "{}", run.stderr);
}

#[test]
fn a_pitch_may_be_asked_for_in_place_of_the_scenes() {
    let workshop = peg();
    workshop.expect(0, "prove . --pitch 0.5 --out fine");
    let resolved = workshop.read("fine/scene.resolved.toml");
    assert!(resolved.contains("pitch = 0.5  # flag"), "{resolved}");
    // The same as if the scene had said so, but for who said it.
    workshop.write("scene.toml", SCENE.replace("pitch = 1", "pitch = 0.5"));
    workshop.expect(0, "prove . --out said");
    assert_eq!(workshop.report("fine"), workshop.report("said"));
}

#[test]
fn timings_say_where_the_time_went() {
    let workshop = peg();
    workshop.expect(0, "prove . --out out --threads 2");
    let timings: serde_json::Value = serde_json::from_str(&workshop.read("out/timings.json")).unwrap();
    assert_eq!(timings["threads"], 2);
    assert!(timings.to_string().contains("prove"), "{timings}");
}

#[test]
fn the_course_is_told_in_as_many_slices_as_asked_for() {
    let workshop = peg();
    for (arguments, slices) in [("", 400), ("--series 7", 7)] {
        workshop.expect(0, &format!("prove . --out out {arguments}"));
        let report = workshop.report("out");
        let series = &report["series"];
        assert_eq!(series["time_s"].as_array().unwrap().len(), slices);
        let removed: f64 = series["removal_mm3_s"].as_array().unwrap().iter().map(|rate| rate.as_f64().unwrap()).sum();
        let (removed, told) = (removed * series["step_s"].as_f64().unwrap(), report["removed_mm3"].as_f64().unwrap());
        // All the wood of the run lies in its slices.
        assert!((removed - told).abs() <= 1e-3 * told, "{removed} of {told}");
    }
    workshop.expect(2, "prove . --series 0");
}
