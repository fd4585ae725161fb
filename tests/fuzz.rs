//! Whole scenes with programs changed at random: read, carved on a coarse grid, checked. Nothing panics.
//!
//! The programs and the changes are those of the reader's own test; `FUZZ_ROUNDS` and `FUZZ_SEED` look further.

#[path = "../crates/program/tests/program/mutate.rs"]
mod mutate;

use std::path::Path;

use dryturn_check::{RunOptions, prove};
use dryturn_scene::{Job, JobOptions, LoadOptions, Scene};

use crate::workshop::Workshop;
use mutate::{Dice, Witness, from_environment, mutated};

/// A small blank with everything around it that can be hit, and budgets that end a mean program soon.
const SCENE: &str = "\
format = 1
program = [{ file = \"part.nc\" }]
cutter = [
    { number = 1, shape = \"ball\", diameter = 6, flute = 12, stickout = 30, holder = [[20, 20]] },
    { number = 2, diameter = 3, depth = 1, chip = [0.01, 0.1] },
]
grid = { pitch = 5 }
blank = { diameter = 30, length = 60, material = \"hard maple\" }
tailstock = { center = { angle = 60, diameter = 12, quill = 16, extension = 3 }, dimple = 2 }

[machine]
bed = 60
home = { z = 100 }
reach = { x = [-20, 100], y = [-50, 50], z = [-5, 130] }

[controller]
canned = true
expressions = true
subprograms = true
tool_length = \"table\"
budget = { steps = 500, depth = 4, blocks = 200 }

[chuck]
hold = 10
body = { diameter = 60, length = 30 }
jaws = { count = 4, width = 10, length = 15, height = 12, grip = \"outside\", turned = 0 }
";

/// How many scenes are proved unless somebody says otherwise.
const ROUNDS: usize = 120;

fn corpus() -> Vec<Vec<u8>> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../program/tests/corpus");
    let mut paths: Vec<_> = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    paths.sort();
    paths.iter().map(|path| std::fs::read(path).unwrap()).collect()
}

#[test]
fn scenes_with_changed_programs_are_proved_or_refused() {
    let workshop = Workshop::with(&[("scene.toml", SCENE)]);
    let programs = corpus();
    let mut dice = Dice(from_environment("FUZZ_SEED", 1) as u64);
    let (mut proved, mut removed) = (0, 0.0);
    for round in 0..from_environment("FUZZ_ROUNDS", ROUNDS) {
        let text = if round < programs.len() { programs[round].clone() } else { mutated(&programs, &mut dice) };
        let _witness = Witness(round, &text);
        workshop.write("part.nc", &text);
        let scene = Scene::load(&workshop.path("scene.toml"), LoadOptions::default()).unwrap();
        let Ok(job) = Job::read(scene, JobOptions { lenient: true }) else {
            continue;
        };
        let options = RunOptions { threads: 1, ..RunOptions::default() };
        let proof = prove(&job, &options).unwrap();
        for finding in &proof.findings {
            assert!(finding.value.is_none_or(f64::is_finite), "{finding:?}");
        }
        proved += 1;
        removed += proof.carved.blank_mm3() - proof.carved.left_mm3();
    }
    assert!(proved > 20 && removed > 0.0, "{proved} scenes are proved, {removed} mm³ removed");
}
