//! The loads of two hundred thousand blocks, a stroke each, on one core.

use divan::Bencher;
use dryturn_carve::Stroke;
use dryturn_check::load::Loads;
use dryturn_scene::{Job, JobOptions, LoadOptions, Scene};

fn main() {
    divan::main();
}

const BLOCKS: u32 = 200_000;

/// A helix of 0.5 mm a turn in steps of 3°.
fn job() -> Job {
    let text = "format = 1
        blank = { diameter = 60, length = 900, material = \"black walnut\" }
        cutter = [{ diameter = 6, shape = \"ball\" }]
        program = [{ file = \"1.nc\", cutter = 1 }]
        machine = { start = { x = 0, y = 0, z = 28, a = 0 } }";
    let lines = (1..=BLOCKS).map(|k| format!("G1 X{:.4} A{} F400\n", f64::from(k) / 240.0, 3 * k));
    let program = format!("M3 S18000\n{}", lines.collect::<String>());
    let folder = tempfile::tempdir().expect("a folder");
    std::fs::write(folder.path().join("1.nc"), program).expect("the program is written");
    let scene = Scene::parse(text, "scene.toml", folder.path(), LoadOptions::default()).expect("a scene");
    Job::read(scene, JobOptions::default()).expect("a job")
}

#[divan::bench]
fn of_two_hundred_thousand_blocks(bencher: Bencher) {
    let job = job();
    let asked = |_| Some(0.02);
    let loads = Loads::new(&job, &asked);
    let stroke =
        |block| Stroke { block, last: block, share: (0.0, 1.0), volume_mm3: 0.9, depth_mm: 1.2, left_mm3: 0.1 };
    bencher.bench(|| {
        let powers = (0..BLOCKS).filter_map(|block| loads.of(&stroke(block))?.forces);
        powers.map(|forces| forces.torque[1]).fold(0.0, f64::max)
    });
}
