//! What it costs to work out how long a job takes.

use std::fmt::Write;

use dryturn_check::Times;
use dryturn_scene::{Job, JobOptions, LoadOptions, Scene};

fn main() {
    divan::main();
}

/// A finishing helix of so many blocks, on a machine with accelerations.
fn helix(blocks: u32) -> Job {
    let mut program = "M3 S18000\nG0 X10 Z40\nG1 Z20 F900\n".to_owned();
    for k in 1..=blocks {
        let turns = f64::from(k) / 200.0;
        let _ =
            writeln!(program, "X{:.4} Z{:.4} A{:.3}", 10.0 + 0.15 * turns, 20.0 + (turns * 0.3).sin(), 360.0 * turns);
    }
    let scene = "format = 1
        blank = { diameter = 60, length = 200 }
        program = [{ file = \"helix.nc\", cutter = 1 }]
        cutter = [{ diameter = 3, shape = \"ball\" }]
        [machine]
        start = { x = 0, y = 0, z = 60, a = 0 }
        accel = { x = 400, y = 400, z = 200, a = 1500 }";
    let folder = tempfile::tempdir().expect("a folder for the job");
    std::fs::write(folder.path().join("helix.nc"), program).expect("the program is written");
    Scene::parse(scene, "scene.toml", folder.path(), LoadOptions::default())
        .and_then(|scene| Job::read(scene, JobOptions::default()))
        .unwrap_or_else(|error| panic!("{}", error.render(false)))
}

#[divan::bench(sample_count = 20)]
fn helix_200k(bencher: divan::Bencher) {
    let job = helix(200_000);
    bencher.bench_local(|| Times::of(&job).end());
}
