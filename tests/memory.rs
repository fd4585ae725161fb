//! `--memory`: less of it changes nothing but the time, and it is kept.

use std::fmt::Write;

use crate::workshop::Workshop;

const SCENE: &str = "\
format = 1
blank = { diameter = 30, length = 60 }
program = [{ file = \"relief.nc\" }]
cutter = [{ diameter = 3, shape = \"ball\" }]
grid = { pitch = 0.08 }
";

/// A helix whose depth goes up and down, and a hole straight through.
fn relief() -> String {
    let mut text = "G21 G90 G94\nM3 S12000\nG0 X0 Y0 Z30 A0\nG1 Z14 F500\n".to_owned();
    for block in 0..3000 {
        let turn = 6.0 * f64::from(block);
        let height = 13.5 + 0.4 * (turn / 17.0).sin();
        writeln!(text, "G1 X{:.4} Z{height:.4} A{turn:.1} F2000", f64::from(block) / 50.0).unwrap();
    }
    text + "G0 Z30\nG0 X30 A0\nG1 Z-18 F300\nG0 Z30\nM30\n"
}

fn workshop() -> Workshop {
    Workshop::with(&[("scene.toml", SCENE), ("relief.nc", &relief())])
}

/// The bytes a refusal says the run needs, in the unit it says them in.
fn needed(workshop: &Workshop, arguments: &str) -> String {
    let refused = workshop.expect(2, &format!("{arguments} --memory 10B"));
    let rest = refused.stderr.split("needs about ").nth(1).unwrap_or_else(|| panic!("{}", refused.stderr));
    rest.split(',').next().unwrap().replace(' ', "")
}

/// A tenth of a megabyte more, as a refusal rounds to that.
fn a_little_over(size: &str) -> String {
    let number: f64 = size.trim_end_matches("MB").parse().unwrap();
    format!("{:.1}MB", number + 0.1)
}

#[test]
fn in_little_memory_all_files_are_the_same() {
    let workshop = workshop();
    workshop.run("prove . --out ample --fail-on never");
    let least = a_little_over(&needed(&workshop, "prove . --out packed --threads 3"));
    workshop.expect(0, &format!("prove . --out packed --threads 3 --fail-on never --memory {least}"));
    let files = workshop.files();
    let of = |folder: &str| -> Vec<_> {
        let own = files.iter().filter_map(|(name, bytes)| Some((name.strip_prefix(folder)?, bytes)));
        own.filter(|(name, _)| *name != "timings.json").collect()
    };
    let (ample, packed) = (of("ample/"), of("packed/"));
    assert!(ample.len() == packed.len() && ample.iter().any(|(name, _)| *name == "run.png"));
    for (one, other) in ample.iter().zip(&packed) {
        assert!(one == other, "{} differs from {}", one.0, other.0);
    }
}

/// The most memory that a run ever had, bytes, as Linux tells.
#[cfg(target_os = "linux")]
fn peak(workshop: &Workshop, arguments: &str) -> u64 {
    use crate::workshop::Run;
    use std::process::Stdio;
    use std::time::Duration;

    let mut child = workshop.command(arguments).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
    let mut peak = 0;
    while child.try_wait().unwrap().is_none() {
        let status = std::fs::read_to_string(format!("/proc/{}/status", child.id())).unwrap_or_default();
        let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"));
        let kib = line.and_then(|line| line.trim().trim_end_matches("kB").trim().parse().ok()).unwrap_or(0);
        peak = peak.max(1024 * kib);
        std::thread::sleep(Duration::from_millis(1));
    }
    let run = Run::of(child.wait_with_output().unwrap());
    assert_eq!(run.code, 0, "{}", run.stderr);
    peak
}

#[cfg(target_os = "linux")]
#[test]
fn the_bound_is_kept() {
    let workshop = workshop();
    workshop.write("scene.toml", SCENE.replace("0.08", "0.03"));
    for arguments in ["prove . --threads 2 --fail-on never", "prove . --threads 2 --fail-on never --out out"] {
        let least = a_little_over(&needed(&workshop, arguments));
        let bound: f64 = least.trim_end_matches("MB").parse().unwrap();
        let peak = peak(&workshop, &format!("{arguments} --memory {least}"));
        // With the least that is let pass every tile is packed.
        assert!((peak as f64) < bound * 1e6, "{peak} of {least}");
    }
}

#[test]
fn a_piece_too_rough_to_be_packed_so_far_is_given_up_without_a_file() {
    let workshop = workshop();
    let large = SCENE.replace("diameter = 30, length = 60", "diameter = 200, length = 200");
    workshop.write("scene.toml", large.replace("0.08", "0.3"));
    // Every block at a height of its own: no row of rays follows from the one above.
    let mut text = "G21 G90 G94\nM3 S12000\nG0 X0 Y0 Z110 A0\n".to_owned();
    let mut noise = 1u32;
    for block in 0..60_000 {
        noise = noise.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        let (x, height) = (f64::from(block) / 300.0, 96.0 + f64::from(noise >> 16) / 32768.0);
        writeln!(text, "G1 X{x:.4} Z{height:.4} A{:.1} F2000", 7.3 * f64::from(block)).unwrap();
    }
    workshop.write("relief.nc", text + "M30\n");
    let least = a_little_over(&needed(&workshop, "prove . --out out --threads 1"));
    let run = workshop.expect(2, &format!("prove . --out out --threads 1 --memory {least}"));
    assert!(run.stderr.contains("write pitch = 0.425") && run.stderr.contains("raise --memory"), "{}", run.stderr);
    assert!(run.stderr.contains("give --pitch 0.425"), "{}", run.stderr);
    assert!(!workshop.path("out").exists());
    workshop.run("prove . --out out --fail-on never");
    assert!(workshop.path("out").exists());
}

/// The scene's pitch counts for nothing beside one that is typed.
#[test]
fn who_types_a_pitch_is_told_of_that_one() {
    let workshop = workshop();
    let run = workshop.expect(2, "prove . --pitch 0.05 --memory 30MB");
    assert!(run.stderr.contains("a pitch of 0.05 mm needs about"), "{}", run.stderr);
    assert!(run.stderr.contains("; give --pitch ") && !run.stderr.contains("[grid]"), "{}", run.stderr);
}
