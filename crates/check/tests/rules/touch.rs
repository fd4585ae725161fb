//! A zero touched off on what earlier programs have left.

use crate::common::{assert_near, run};
use dryturn_check::{ReadError, RunOptions, read};
use dryturn_scene::{Job, JobOptions, LoadOptions, Scene};

/// The first program turns a cylinder of radius 16 over stations 0 to 40; the second is zeroed on it.
const TURN: &str = "M3 S9000\nG0 Z40\nG1 Z16 F600\nA360\nX40 A7560\nA7920\nG0 Z40\n";

fn scene(second: &str, cutters: &str) -> Result<Job, ReadError> {
    let folder = tempfile::tempdir().expect("a folder");
    for (name, text) in [("1.nc", TURN), ("2.nc", "M3 S9000\nG0 Z5\nG1 X20 Z-1 F300\nA360\nG0 Z5\n")] {
        std::fs::write(folder.path().join(name), text).expect("the program is written");
    }
    let text = format!(
        "format = 1
        blank = {{ diameter = 40, length = 80 }}
        grid = {{ pitch = 1 }}
        {cutters}
        machine = {{ start = {{ x = 0, y = 0, z = 40, a = 0 }} }}
        [[program]]
        file = \"1.nc\"
        cutter = 1
        [[program]]
        file = \"2.nc\"
        cutter = 2
        {second}"
    );
    let scene = Scene::parse(&text, "scene.toml", folder.path(), LoadOptions::default())
        .unwrap_or_else(|error| panic!("{}", error.render(false)));
    read(scene, JobOptions::default(), &RunOptions { threads: 1, ..RunOptions::default() })
}

const CUTTERS: &str = "cutter = [{ number = 1, diameter = 6 }, { number = 2, shape = \"ball\", diameter = 6 }]";

fn touched(keys: &str) -> f64 {
    let job = scene(&format!("zero = {{ z = {{ touch = {{ {keys} }} }} }}"), CUTTERS).expect("the job is read");
    job.scene.zero(1, 0).z
}

#[test]
fn the_tip_comes_down_on_the_turned_cylinder() {
    assert_near(touched("station = 20"), 16.0, 1e-3);
    // Beyond what was turned it stands on the blank; in the corner of the shoulder the ball rests on its edge.
    assert_near(touched("station = 60"), 20.0, 1e-3);
    let edge = 43.0;
    assert_near(touched("station = 42"), 20.0 - (3.0 - (9.0f64 - (edge - 42.0) * (edge - 42.0)).sqrt()), 1e-3);
}

#[test]
fn the_program_then_cuts_as_deep_as_it_says() {
    let job = scene("zero = { z = { touch = { station = 20 } } }", CUTTERS).expect("the job is read");
    let proof = run(&job);
    let [low, _] = proof.programs[1].extents.expect("it moves")[2];
    assert_near(low, 15.0, 1e-3);
    // The key stands in the resolved scene as it was written.
    assert!(job.scene.resolved_toml().contains("touch = { station = 20.0, a = 0.0 }"));
}

#[test]
fn nothing_to_come_down_on_is_an_error() {
    let error = scene("zero = { z = { touch = { station = 90 } } }", CUTTERS).expect_err("there is no wood");
    assert!(error.to_string().contains("comes down on nothing where the zero of program 2"), "{error}");
}

#[test]
fn a_job_is_not_read_before_its_zeros_are_touched_off() {
    let job = scene("zero = { z = { touch = { station = 20 } } }", CUTTERS).expect("the job is read");
    let mut scene = job.scene;
    scene.touched.clear();
    let sources = job.programs.into_iter().map(|run| run.source).collect();
    let error = Job::from_sources(scene, sources, JobOptions::default()).expect_err("the height is not known");
    assert!(error.to_string().contains("not cut yet"), "{error}");
}
