//! Jobs that are broken off anywhere and taken up again, beside the same jobs run through.
//!
//! `RESTART_LINES` draws another number of lines of each scene.

#![expect(clippy::unwrap_used, reason = "a test that cannot go on has failed")]

use std::path::{Path, PathBuf};

use dryturn_check::{Proof, RunOptions, prove};
use dryturn_geom::Motions;
use dryturn_plan::restart::{At, Restart, RestartError, draft};
use dryturn_scene::{Job, JobOptions, LoadOptions, Scene};

fn scenes() -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../scenes");
    let mut files: Vec<PathBuf> = std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter_map(|folder| {
            [folder.join("scene-fixed.toml"), folder.join("scene.toml")].into_iter().find(|file| file.exists())
        })
        .collect();
    files.sort();
    files
}

fn job_of(file: &Path) -> Job {
    let options = LoadOptions { kept: Some(dryturn_check::KEPT), ..LoadOptions::default() };
    let mut scene = Scene::load(file, options).unwrap();
    // Bits are compared, which a coarse grid shows as well.
    scene.grid.pitch *= 2.0;
    dryturn_check::read(scene, JobOptions::default(), &RunOptions::default()).unwrap()
}

/// Every ray of the two, to the last bit.
fn same(one: &Proof, other: &Proof) -> bool {
    let grid = one.carved.grid();
    (0..grid.stations).all(|row| {
        (0..grid.angles).all(|column| {
            let ends = |proof: &Proof| {
                proof.carved.spans(row, column).map(|span| (span.inner, span.outer)).collect::<Vec<_>>()
            };
            ends(one) == ends(other)
        })
    })
}

/// Lines spread over all blocks of a job, always the same.
fn lines(job: &Job, count: u32) -> Vec<At> {
    let block = |draw: u32| (u64::from(draw) * 2_654_435_761 % u64::from(job.count())) as u32;
    (1..=count).map(block).map(|block| At { program: job.program_of(block), line: job.line_of(block) }).collect()
}

#[test]
fn a_job_taken_up_comes_out_as_if_it_had_run_through() {
    let count = std::env::var("RESTART_LINES").ok().and_then(|lines| lines.parse().ok()).unwrap_or(50);
    for file in scenes() {
        let job = job_of(&file);
        let through = prove(&job, &RunOptions::default()).unwrap();
        for at in lines(&job, count) {
            let taken = draft(&job, at, "rest.nc", &RunOptions::default());
            let restart = taken.unwrap_or_else(|error| panic!("{}: {at:?}: {error}", file.display()));
            assert!(same(&through, &restart.proof), "{}: {at:?}", file.display());
            assert!(restart.lead_lines >= 9);
        }
    }
}

fn job(program: &str) -> Job {
    let text = "format = 1\nblank = { diameter = 40, length = 80 }\nprogram = [{ file = \"a.nc\", cutter = 1 }]\n\
        cutter = [{ diameter = 6 }]\nmachine = { start = { x = 0, y = 0, z = 60, a = 0 } }\ngrid = { pitch = 1 }\n";
    let options = LoadOptions { programs_at_hand: true, ..LoadOptions::default() };
    let scene = Scene::parse(text, "scene.toml", Path::new(""), options).unwrap();
    Job::from_sources(scene, vec![program.into()], JobOptions::default()).unwrap()
}

#[test]
fn all_modes_are_put_in_force_again() {
    let job = job(
        "%\nG20 G90\nG55 S900 M3\nG0 X1 A90\nG92 A0\nG1 Z0.7 F10\nG91 G18\nG93\nG0 X0.5\nX0.1\nG1 X0.1 A10 F2\nM30\n%\n",
    );
    let restart = draft(&job, At { program: 0, line: 10 }, "rest.nc", &RunOptions::default()).unwrap();
    let text = String::from_utf8(restart.program).unwrap();
    let (head, rest) = text.split_at(text.find("X0.1\n").unwrap());
    assert_eq!(rest, "X0.1\nG1 X0.1 A10 F2\nM30\n%\n");
    let expected =
        "G20 G17 G90 G94 G55\nS900\nM3\nG0 Z2.363\nG0 X1.5 A90\nG1 Z0.7 F11.811\nG0 Z0.7\nG92 A0\nG18\nG93\nG91\n";
    assert!(head.starts_with("%\n(takes up a.nc at line 10)\n") && head.ends_with(expected), "{head}");
    let through = prove(&job, &RunOptions::default()).unwrap();
    assert!(same(&through, &restart.proof));
}

/// What the program says of a job whose G55 lies 50 mm along and 20 mm up, from the line of the unit on.
fn head(program: &str, line: u32) -> (String, Restart) {
    let text = "format = 1\nblank = { diameter = 40, length = 80 }\nprogram = [{ file = \"a.nc\", cutter = 1 }]\n\
        cutter = [{ number = 1, diameter = 6 }, { number = 2, diameter = 3 }]\ngrid = { pitch = 1 }\n\
        zero = { g55 = { x = 50, z = 20 } }\nmachine = { start = { x = 0, y = 0, z = 60, a = 0 } }\n";
    let options = LoadOptions { programs_at_hand: true, ..LoadOptions::default() };
    let scene = Scene::parse(text, "scene.toml", Path::new(""), options).unwrap();
    let job = Job::from_sources(scene, vec![program.into()], JobOptions::default()).unwrap();
    let through = prove(&job, &RunOptions::default()).unwrap();
    let restart = draft(&job, At { program: 0, line }, "rest.nc", &RunOptions::default()).unwrap();
    assert!(same(&through, &restart.proof));
    let lines = String::from_utf8(restart.program.clone()).unwrap();
    let lead: Vec<&str> = lines.lines().take(restart.lead_lines as usize).collect();
    let first = lead.iter().position(|line| line.starts_with("G2")).unwrap();
    (lead[first..].join("\n"), restart)
}

/// A person who works in G55 alone need not have set G54 at all.
#[test]
fn the_way_down_is_told_in_the_system_in_force() {
    let program = "G21 G90 G55\nS900 M3\nG0 X0.3 A90 Z30\nG1 Z-3.3 F200\nX-9.7\nX-15.1\nG0 Z30\nM30\n";
    let (head, restart) = head(program, 6);
    assert_eq!(head, "G21 G17 G90 G94 G55\nS900\nM3\nG0 Z40\nG0 X-9.7 A90\nG1 Z-3.3 F300\nF200");
    assert_eq!(restart.system, "G55");
    let shown: Vec<String> = restart.shown.iter().map(|(letter, value)| format!("{letter}{value:.3}")).collect();
    assert_eq!(shown, ["X-9.700", "Z-3.300", "A90.000"]);
    assert!(String::from_utf8_lossy(&restart.program).contains("too, words are those of G55)"));
}

#[test]
fn a_line_that_changes_something_finds_what_held_before_it() {
    let program = "T1 M6\nG21 G90 G54\nS900 M4\nM7\nM8\nG64 P0.02\nM49\nG0 X70 A0 Z30\nG1 Z18 F200\nG0 Z30\n\
        T2 M6\nF150\nG55\nM3 M9\nG0 X10 Z30\nG1 Z-2 F100\nG92 X5\nG52 Z1\nX7\nG0 Z40\nM30\n";
    let before_the_change = head(program, 11);
    assert_eq!(before_the_change.1.cutter, Some(1));
    let expected = "G21 G17 G90 G94 G54\nS900\nM4\nM7\nM8\nG0 Z61\nG0 X70 A0\nG1 Z30 F300\nF200\nG64 P0.02\nM49";
    assert_eq!(before_the_change.0, expected);
    // An F that nothing has moved by yet; G55 and the turning of the spindle only come.
    let before_the_system = head(program, 13);
    assert_eq!(before_the_system.1.cutter, Some(2));
    let expected = "G21 G17 G90 G94 G54\nS900\nM7\nM8\nG0 Z61\nG0 X70 A0\nG1 Z30 F300\nF150\nG64 P0.02\nM49";
    assert_eq!(before_the_system.0, expected);
    // G92 only comes; then it holds.
    assert!(!head(program, 17).0.contains("G92"));
    assert!(head(program, 18).0.contains("\nG92 X5\n"));
}

/// A program that is taken up from its head on, before its own percent sign or at it.
#[test]
fn the_opening_sign_is_not_said_twice() {
    let program = "(a comment)\n%\nG21 G90\nM3 S900\nG0 X20 A0 Z30\nG1 Z15 F300\nG0 Z30\nM30\n%\n";
    let job = job(program);
    let through = prove(&job, &RunOptions::default()).unwrap();
    for line in [1, 2, 3] {
        let restart = draft(&job, At { program: 0, line }, "rest.nc", &RunOptions::default()).unwrap();
        assert_eq!(restart.program.iter().filter(|byte| **byte == b'%').count(), 2, "{line}");
        assert!(same(&through, &restart.proof) && restart.proof.carved.left_mm3() < restart.proof.carved.blank_mm3());
    }
}

#[test]
fn what_cannot_be_taken_up_is_refused_with_the_reason() {
    let refused = |program: &str, line: u32| {
        draft(&job(program), At { program: 0, line }, "rest.nc", &RunOptions::default())
            .map(drop)
            .unwrap_err()
            .to_string()
    };
    for (program, line, told) in [
        ("G0 Z30\nM30\nG0 Z40\n", 3, "line 3 is never executed"),
        ("G0 Z30\nM30\n", 9, "line 9 is never executed: the program has 2 lines"),
        ("G0 X10 Z15\nG2 X20 I5 F300\nX10 I-5\nM2\n", 3, "line 3 goes on with G2 without naming it"),
    ] {
        let error = refused(program, line);
        assert!(error.starts_with(told), "{error}");
    }
    let missing = draft(&job("G0 Z30\nM2\n"), At { program: 4, line: 1 }, "rest.nc", &RunOptions::default());
    assert!(matches!(missing, Err(RestartError::NoProgram { number: 5, programs: 1 })));
}

#[test]
fn a_way_down_through_wood_is_refused() {
    // The tip came in from the end of the bar, below wood that still stands.
    let program = "M3 S9000\nG0 X90 A0\nG0 Z-3\nG1 X70 F300\nG1 X60\nM30\n";
    let scene = "format = 1\nblank = { diameter = 40, length = 80 }\nprogram = [{ file = \"a.nc\", cutter = 1 }]\n\
        cutter = [{ diameter = 6, flute = 6 }]\nmachine = { start = { x = 0, y = 0, z = 60, a = 0 } }\ngrid = { pitch = 1 }\n";
    let options = LoadOptions { programs_at_hand: true, ..LoadOptions::default() };
    let scene = Scene::parse(scene, "scene.toml", Path::new(""), options).unwrap();
    let job = Job::from_sources(scene, vec![program.into()], JobOptions::default()).unwrap();
    let refused = draft(&job, At { program: 0, line: 5 }, "rest.nc", &RunOptions::default());
    assert!(matches!(refused, Err(RestartError::Cuts { removed_mm3 }) if removed_mm3 > 100.0));
}
