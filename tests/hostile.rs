//! Input that is wrong, broken or meant to do harm: a clear error, exit code 2, nothing written, no panic.

use crate::workshop::{Run, Workshop};

const SCENE: &str = "\
format = 1
blank = { diameter = 40, length = 100 }
program = [{ file = \"part.nc\" }]
cutter = [{ diameter = 6 }]
grid = { pitch = 1 }
";
const PROGRAM: &str = "G21 G90\nM3 S9000\nG0 X50 Y0 Z30\nG1 Z15 F300\nG0 Z30\nM30\n";

/// A job that is right, and was proved before: its output lies in `out`.
fn proved() -> Workshop {
    let workshop = Workshop::with(&[("scene.toml", SCENE), ("part.nc", PROGRAM)]);
    workshop.expect(0, "prove . --out out");
    workshop
}

/// Runs what must be refused: nothing on standard output, an error that holds all the words, and no file made, lost or
/// changed, neither where there was output before nor where there was none.
fn refused(workshop: &Workshop, arguments: &str, words: &[&str]) -> Run {
    let before = workshop.files();
    let runs = ["out", "new/out"].map(|out| {
        let run = workshop.expect(2, &format!("{arguments} --out {out}"));
        assert_eq!(run.stdout, "", "{arguments}");
        assert!(run.stderr.starts_with("error"), "{arguments}: {}", run.stderr);
        for word in words {
            assert!(run.stderr.contains(word), "{arguments}: no `{word}` in\n{}", run.stderr);
        }
        assert!(run.stderr.len() < 20_000, "{arguments}: {} characters of error", run.stderr.len());
        assert!(workshop.files() == before, "{arguments}: files were written or lost");
        assert!(!workshop.path("new").exists(), "{arguments}: a folder was made");
        run
    });
    let [over, anew] = runs;
    assert_eq!(over.stderr, anew.stderr, "{arguments}");
    over
}

/// A program of these bytes is refused.
fn refused_program(workshop: &Workshop, bytes: impl AsRef<[u8]>, words: &[&str]) -> Run {
    workshop.write("part.nc", bytes);
    refused(workshop, "prove .", words)
}

/// A scene of these bytes is refused.
fn refused_scene(workshop: &Workshop, bytes: impl AsRef<[u8]>, words: &[&str]) -> Run {
    workshop.write("scene.toml", bytes);
    refused(workshop, "prove .", words)
}

/// The scene with one line in place of another.
fn changed(from: &str, to: &str) -> String {
    assert!(SCENE.contains(from), "{from}");
    SCENE.replace(from, to)
}

/// Bytes without sense, the same each time.
fn noise(count: usize) -> Vec<u8> {
    let mut state = 0x2545_F491_4F6C_DD1D_u64;
    let mut byte = || {
        // Marsaglia's xorshift (Journal of Statistical Software 8(14), 2003).
        state ^= state << 13;
        state ^= state >> 7;
        state ^= state << 17;
        (state >> 32) as u8
    };
    (0..count).map(|_| byte()).collect()
}

#[test]
fn programs_that_are_none() {
    let workshop = proved();
    refused_program(&workshop, "", &["part.nc"]);
    refused_program(&workshop, "\n\n  \r\n", &["part.nc"]);
    refused_program(&workshop, [0u8; 4096], &["part.nc"]);
    refused_program(&workshop, noise(100_000), &["part.nc"]);
    refused_program(&workshop, b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR", &["part.nc"]);
}

#[test]
fn programs_that_are_cut_off_or_garbled() {
    let workshop = proved();
    refused_program(&workshop, "G21 G90\nG1 X", &["part.nc:2", "^"]);
    refused_program(&workshop, "G21 G90\nG1 X1. Y2 Z-", &["part.nc:2", "^"]);
    refused_program(&workshop, "G21 G90\n(no end to this", &["part.nc:2", "^"]);
    refused_program(&workshop, "G21 G90\nG1 X1 F\u{fc}nf\n", &["part.nc:2", "^"]);
    refused_program(&workshop, b"G21 G90\nG1 X1 \xff\xfe\n", &["part.nc:2", "^"]);
    refused_program(&workshop, "G21 G90\nG1 X1e9999 F100\n", &["part.nc:2"]);
    refused_program(&workshop, "G21 G90\nG1 X99999999999999999999999999999999999999999 F100\n", &["part.nc:2"]);
    refused_program(&workshop, "G21 G90\nG17.5 X3\n", &["part.nc:2", "^"]);
    refused_program(&workshop, "G21 G90\nG0 X1 X2\n", &["part.nc:2", "^"]);
    refused_program(&workshop, "G21 G90\nG0 X0 Y0 Z0\nF100 G2 X10 Y10 I0 J0\n", &["part.nc:3", "^"]);
    refused_program(&workshop, "G21 G90\n#1 = 5\nG1 X#1 F100\n", &["part.nc:2", "^"]);
    refused_program(&workshop, "G21 G90\nG81 X1 Y1 Z-3 R2 F100\n", &["part.nc:2", "^"]);
}

#[test]
fn what_is_not_understood_can_be_passed_over_and_stays_an_error() {
    let workshop = proved();
    workshop.write("part.nc", PROGRAM.replace("M30", "G5 X60 Y0 I1 J1 P2 Q2\nM30"));
    refused(&workshop, "prove .", &["part.nc:6", "^"]);
    workshop.expect(1, "prove . --lenient --out out");
    let report = workshop.report("out");
    let finding = report["findings"].as_array().unwrap().iter().find(|finding| finding["lines"][0] == 6).unwrap();
    assert_eq!((&finding["rule"], &finding["severity"]), (&"not-understood".into(), &"error".into()));
}

#[test]
fn line_ends_of_every_kind_read_the_same() {
    let workshop = proved();
    let before = workshop.read("out/report.json");
    for ending in ["\r\n", "\r", "\n"] {
        workshop.write("part.nc", PROGRAM.replace('\n', ending));
        workshop.expect(0, "prove . --out again");
        assert!(workshop.read("again/report.json") == before, "{ending:?}");
    }
    workshop.write("part.nc", format!("%\r\n{}%\r\n", PROGRAM.replace('\n', "\r\n")));
    workshop.expect(0, "prove .");
    workshop.write("part.nc", PROGRAM);
    workshop.write("scene.toml", SCENE.replace('\n', "\r\n"));
    workshop.expect(0, "prove . --out again");
    assert!(workshop.read("again/report.json") == before);
}

#[test]
fn a_line_of_ten_megabytes() {
    let workshop = proved();
    let run = refused_program(&workshop, "G1 X1 ".repeat(10_000_000 / 6), &["part.nc:1", "^"]);
    assert!(run.stderr.len() < 5_000, "{}", run.stderr.len());
    refused_program(&workshop, "9".repeat(10_000_000), &["part.nc:1"]);
    refused_program(&workshop, "(".repeat(10_000_000), &["part.nc:1"]);
    let mut scene = SCENE.to_owned() + "title = \"";
    scene.push_str(&"x".repeat(10_000_000));
    refused_scene(&workshop, &scene, &["scene.toml"]);
    refused_scene(&workshop, "[".repeat(10_000_000), &["scene.toml"]);
}

#[test]
fn scenes_that_are_none() {
    let workshop = proved();
    refused_scene(&workshop, "", &["scene.toml", "format"]);
    refused_scene(&workshop, [0u8; 4096], &["scene.toml"]);
    refused_scene(&workshop, noise(10_000), &["scene.toml"]);
    refused_scene(&workshop, b"format = 1\ntitle = \"\xff\xfe\"\n", &["scene.toml"]);
    refused_scene(&workshop, "format = 1\nblank = { diameter =", &["scene.toml:2", "^"]);
    refused_scene(&workshop, PROGRAM, &["scene.toml:1", "^"]);
    refused_scene(&workshop, changed("format = 1", "format = 2"), &["scene.toml:1", "^"]);
    refused_scene(&workshop, "a".repeat(200) + "." + &"a.".repeat(5000) + "a = 1\n", &["scene.toml"]);
}

#[test]
fn keys_that_are_wrong_name_the_nearest_right_one() {
    let workshop = proved();
    refused_scene(
        &workshop,
        changed("diameter = 40", "diametre = 40"),
        &["scene.toml:2", "diametre", "`diameter`", "^"],
    );
    refused_scene(&workshop, SCENE.to_owned() + "chukc = { hold = 15 }\n", &["scene.toml:6", "`chuck`", "^"]);
    refused_scene(&workshop, changed("diameter = 40", "diameter = \"wide\""), &["scene.toml:2", "^"]);
    refused_scene(&workshop, changed("length = 100", "length = true"), &["scene.toml:2", "^"]);
    refused_scene(&workshop, changed("length = 100", "length = 100, length = 90"), &["scene.toml:2", "^"]);
    refused_scene(&workshop, changed("blank = { diameter = 40, length = 100 }\n", ""), &["scene.toml", "blank"]);
    refused_scene(&workshop, changed("program = [{ file = \"part.nc\" }]", "program = []"), &["scene.toml:3", "^"]);
    refused_scene(&workshop, changed("cutter = [{ diameter = 6 }]", "cutter = []"), &["scene.toml", "cutter"]);
}

#[test]
fn sizes_that_no_blank_or_cutter_has() {
    let workshop = proved();
    for number in ["0", "-40", "nan", "inf", "-inf", "1e308", "-1e308", "\"-40 mm\"", "\"1e400 in\""] {
        for (key, line) in [("diameter = 40", 2), ("length = 100", 2), ("diameter = 6", 4), ("pitch = 1", 5)] {
            let name = key.split(' ').next().unwrap();
            let scene = changed(key, &format!("{name} = {number}"));
            refused_scene(&workshop, scene, &[&format!("scene.toml:{line}"), name, "^"]);
        }
    }
}

/// Places may be anything that a number can say, and must do no harm.
#[test]
fn places_out_of_this_world() {
    let workshop = proved();
    for number in ["nan", "inf", "1e308", "-1e308"] {
        for key in ["x", "y", "z", "a"] {
            refused_scene(&workshop, format!("{SCENE}zero = {{ {key} = {number} }}\n"), &["scene.toml:6", "^"]);
            let start = format!("{SCENE}machine = {{ start = {{ {key} = {number} }} }}\n");
            refused_scene(&workshop, start, &["scene.toml:6", "^"]);
        }
        let fixed = format!("{SCENE}fixed = [{{ name = \"lamp\", box = [0, 1, 0, 1, 0, {number}] }}]\n");
        refused_scene(&workshop, fixed, &["scene.toml:6", "^"]);
    }
}

#[test]
fn paths_that_lead_out_of_the_folder() {
    let workshop = proved();
    workshop.write("job/scene.toml", SCENE);
    let outside = workshop.path("part.nc");
    let named = |path: &str| changed("part.nc", path);
    for path in ["../part.nc", "./../part.nc", "sub/../../part.nc", &outside.display().to_string()] {
        workshop.write("job/scene.toml", named(path));
        refused(&workshop, "prove job", &["scene.toml:3", "^", "--allow-outside"]);
        if !path.starts_with("sub") {
            workshop.expect(0, "prove job --allow-outside");
        }
    }
}

#[cfg(unix)]
#[test]
fn links_that_lead_out_of_the_folder() {
    let workshop = proved();
    workshop.write("job/scene.toml", SCENE);
    std::os::unix::fs::symlink(workshop.path("part.nc"), workshop.path("job/part.nc")).unwrap();
    refused(&workshop, "prove job", &["scene.toml:3", "^", "link", "--allow-outside"]);
    workshop.expect(0, "prove job --allow-outside");
    std::fs::remove_file(workshop.path("job/part.nc")).unwrap();
    // A link within the folder is as good as a file; one that leads nowhere is none.
    workshop.write("job/real.nc", PROGRAM);
    std::os::unix::fs::symlink("real.nc", workshop.path("job/part.nc")).unwrap();
    workshop.expect(0, "prove job");
    std::fs::remove_file(workshop.path("job/real.nc")).unwrap();
    let run = workshop.expect(2, "prove job");
    assert!(run.stderr.contains("scene.toml:3"), "{}", run.stderr);
}

#[test]
fn files_that_are_not_there_or_not_files() {
    let workshop = proved();
    std::fs::remove_file(workshop.path("part.nc")).unwrap();
    refused(&workshop, "prove .", &["scene.toml:3", "part.nc", "does not exist", "^"]);
    std::fs::create_dir(workshop.path("part.nc")).unwrap();
    refused(&workshop, "prove .", &["scene.toml:3", "part.nc", "folder", "^"]);
    refused(&workshop, "prove nowhere", &["nowhere"]);
    refused(&workshop, "prove nowhere.toml", &["nowhere.toml"]);
    std::fs::create_dir(workshop.path("empty")).unwrap();
    refused(&workshop, "prove empty", &["empty", "scene.toml"]);
    std::fs::create_dir_all(workshop.path("odd/scene.toml")).unwrap();
    refused(&workshop, "prove odd", &["scene.toml"]);
    refused(&workshop, "prove part.nc", &["part.nc"]);
    refused(&workshop, "prove part.nc --blank 40x100 --cutter flat:6", &["part.nc"]);
}

#[test]
fn cutters_that_the_scene_does_not_have() {
    let workshop = proved();
    let run = refused_program(&workshop, PROGRAM.replace("M3", "T7 M6\nM3"), &["part.nc:2", "7", "^"]);
    assert!(run.stderr.contains("1"), "the cutters that are known: {}", run.stderr);
    refused_scene(&workshop, changed("part.nc\"", "part.nc\", cutter = 4"), &["scene.toml:3", "4", "^"]);
}

#[test]
fn places_that_cannot_be_written_to() {
    let workshop = proved();
    workshop.write("taken", "a file in the way");
    let before = workshop.files();
    for out in ["taken", "taken/deeper", "out/report.json"] {
        let run = workshop.expect(2, &format!("prove . --out {out}"));
        let taken = out.trim_end_matches("/deeper");
        assert!(run.stderr.starts_with("error") && run.stderr.contains(taken), "{}", run.stderr);
        assert!(workshop.files() == before, "{out}");
    }
    // A folder stands where a file would go: found before anything is put in place.
    std::fs::create_dir_all(workshop.path("half/report.json")).unwrap();
    let run = workshop.expect(2, "prove . --out half");
    assert!(run.stderr.contains("report.json"), "{}", run.stderr);
    assert!(workshop.files() == before);
    assert!(!workshop.path("half/maps").exists());
    let run = workshop.expect(2, "prove part.nc --blank 40x100 --cutter flat:6 --save taken/scene.toml");
    assert!(run.stderr.starts_with("error") && run.stderr.contains("taken"), "{}", run.stderr);
}

/// Names and comments are shown as they are safe to show, not as they would steer a terminal.
#[test]
fn what_files_say_cannot_steer_a_terminal() {
    let escape = "\u{1b}]0;gotcha\u{7}\u{1b}[2J";
    let workshop = proved();
    workshop.write("part.nc", format!("({escape})\nG5 X60 ({escape})\n"));
    let run = workshop.expect(2, "prove .");
    assert!(!run.stderr.contains('\u{1b}'), "{:?}", run.stderr);
    workshop.write(
        "part.nc",
        PROGRAM.replace("M3 S9000", &format!("M5 ({escape})")).replace("F300", &format!("F300 ({escape})")),
    );
    workshop.write("scene.toml", format!("title = \"\\u001b[2Jgotcha\"\n{SCENE}"));
    let run = workshop.expect(1, "prove .");
    assert!(run.stdout.contains("G1 Z15 F300") && !run.stdout.contains('\u{1b}'), "{:?}", run.stdout);
    let run = workshop.expect(1, "prove . --quiet");
    assert!(run.stdout.contains("gotcha") && !run.stdout.contains('\u{1b}'), "{:?}", run.stdout);
}
