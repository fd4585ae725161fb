//! Ctrl-C during a long run: exit code 130 soon after, and no file left behind.

use std::fmt::Write;
use std::process::{Child, Command, Stdio};
use std::thread::sleep;
use std::time::{Duration, Instant};

use crate::workshop::{Run, Workshop};

/// A scene that would take minutes: hundreds of thousands of blocks, each over many rays.
const SCENE: &str = "\
format = 1
blank = { diameter = 100, length = 400 }
program = [{ file = \"long.nc\" }]
cutter = [{ diameter = 12, stickout = 60, holder = [[40, 30]] }]
grid = { pitch = 0.1 }
chuck = { hold = 30, body = { diameter = 120, length = 60 }, jaws = { count = 3, width = 16, length = 30, height = 20 } }
";

fn long_program() -> String {
    let mut text = "G21 G90 G94\nM3 S12000\nG0 X10 Y0 Z70 A0\n".to_owned();
    for block in 0..200_000 {
        let along = 10.0 + 350.0 * f64::from(block % 4000) / 4000.0;
        let depth = 48.0 - f64::from(block / 4000) * 0.5;
        writeln!(text, "G1 X{along:.3} Z{depth:.2} A{} F2000", i64::from(block) * 7).unwrap();
    }
    text + "G0 Z70\nM30\n"
}

/// Waits until the command listens for interrupts, as Linux tells; elsewhere long enough.
fn wait_until_it_listens(child: &Child) {
    let caught = || {
        let status = std::fs::read_to_string(format!("/proc/{}/status", child.id())).ok()?;
        let mask = status.lines().find_map(|line| line.strip_prefix("SigCgt:"))?;
        // Signal 2 is the second bit.
        Some(u64::from_str_radix(mask.trim(), 16).ok()? & 2 != 0)
    };
    while let Some(false) = caught() {
        sleep(Duration::from_millis(10));
    }
    // On to the middle of the work.
    sleep(Duration::from_secs(if caught().is_some() { 1 } else { 3 }));
}

fn interrupt(child: &Child) {
    let sent = Command::new("kill").args(["-INT", &child.id().to_string()]).status().unwrap();
    assert!(sent.success());
}

fn interrupted(workshop: &Workshop, arguments: &str) {
    let mut command = workshop.command(arguments);
    let mut child = command.stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
    wait_until_it_listens(&child);
    assert_eq!(child.try_wait().unwrap(), None, "the run was over before it could be interrupted");
    interrupt(&child);
    let asked = Instant::now();
    while child.try_wait().unwrap().is_none() {
        if asked.elapsed() > Duration::from_secs(60) {
            child.kill().unwrap();
            panic!("{arguments}: still running a minute after it was interrupted");
        }
        sleep(Duration::from_millis(10));
    }
    let run = Run::of(child.wait_with_output().unwrap());
    assert_eq!((run.code, run.stdout.as_str()), (130, ""), "{}", run.stderr);
    assert!(run.stderr.contains("interrupted") && run.stderr.contains("nothing was written"), "{}", run.stderr);
}

#[test]
fn an_interrupted_run_ends_soon_and_leaves_nothing() {
    let workshop = Workshop::with(&[("scene.toml", SCENE), ("long.nc", &long_program())]);
    interrupted(&workshop, "prove . --out out --sarif ci/a.sarif --junit ci/a.xml --markdown ci/a.md");
    assert_eq!(workshop.files().len(), 2);
    assert!(!workshop.path("out").exists());
}

#[test]
fn an_interrupted_run_leaves_old_files_as_they_were_and_starts_no_other_scene() {
    let workshop = Workshop::with(&[("scene.toml", SCENE), ("long.nc", "G21 G90\nM3\nG0 X50 Z60\nG1 Z45 F100\n")]);
    workshop.write("scene.toml", SCENE.replace("pitch = 0.1", "pitch = 2"));
    workshop.expect(1, "prove . --out out --fail-on note");
    workshop.write("scene.toml", SCENE);
    workshop.write("long.nc", long_program());
    let before = workshop.files();
    interrupted(&workshop, "prove . --out out");
    assert!(workshop.files() == before);
    // The second could be proved at once.
    interrupted(&workshop, "prove scene.toml out/scene.resolved.toml");
    assert!(workshop.files() == before);
}

#[cfg(feature = "render")]
#[test]
fn an_interrupted_still_ends_soon_and_leaves_nothing() {
    let workshop = Workshop::with(&[("scene.toml", SCENE), ("long.nc", &long_program())]);
    interrupted(&workshop, "still . -o pictures/long.html --memory 20GB");
    assert_eq!(workshop.files().len(), 2);
    assert!(!workshop.path("pictures").exists());
}

#[test]
fn an_interrupted_mesh_leaves_the_old_file_as_it_was() {
    let workshop = Workshop::with(&[("scene.toml", SCENE), ("long.nc", &long_program()), ("piece.glb", "an old file")]);
    let before = workshop.files();
    interrupted(&workshop, "mesh . -o piece.glb --memory 40GB");
    interrupted(&workshop, "mesh . -o new/piece.3mf --what removed,blank --memory 40GB");
    assert!(workshop.files() == before);
}
