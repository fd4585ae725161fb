//! From a scene and programs as text to what a run finds.

use dryturn_check::{Finding, Place, Proof, RunOptions, Severity, prove};
use dryturn_scene::{Job, JobOptions, LoadOptions, Scene};

/// A job read from a scene's text (without its format and programs) and programs, the first run with cutter 1.
pub(crate) fn job(scene: &str, programs: &[&str]) -> Job {
    let entries: String = (1..=programs.len())
        .map(|n| format!("[[program]]\nfile = \"{n}.nc\"\n{}\n", if n == 1 { "cutter = 1" } else { "" }))
        .collect();
    job_of(&format!("format = 1\n{scene}\n{entries}"), programs)
}

/// A job read from the whole text of a scene whose programs are 1.nc, 2.nc ….
pub(crate) fn job_of(scene: &str, programs: &[&str]) -> Job {
    job_with(scene, programs, &[])
}

/// The same with more files beside the scene.
pub(crate) fn job_with(scene: &str, programs: &[&str], files: &[(&str, &str)]) -> Job {
    let folder = tempfile::tempdir().expect("a folder for the job");
    for (name, content) in files {
        std::fs::write(folder.path().join(name), content).expect("the file is written");
    }
    for (n, program) in programs.iter().enumerate() {
        std::fs::write(folder.path().join(format!("{}.nc", n + 1)), program).expect("the program is written");
    }
    let scene = Scene::parse(scene, "scene.toml", folder.path(), LoadOptions::default())
        .unwrap_or_else(|error| panic!("{}", error.render(false)));
    Job::read(scene, JobOptions::default()).unwrap_or_else(|error| panic!("{}", error.render(false)))
}

pub(crate) fn run(job: &Job) -> Proof {
    prove(job, &RunOptions { threads: 1, ..RunOptions::default() }).expect("the run ends")
}

/// What a rule finds in a job.
pub(crate) fn found(rule: &str, scene: &str, programs: &[&str]) -> Vec<Finding> {
    run(&job(scene, programs)).findings.into_iter().filter(|finding| finding.rule == rule).collect()
}

/// The one thing a rule finds.
#[track_caller]
pub(crate) fn one(rule: &str, scene: &str, programs: &[&str]) -> Finding {
    let mut found = found(rule, scene, programs);
    assert_eq!(found.len(), 1, "{found:#?}");
    let finding = found.remove(0);
    assert!(finding.text.ends_with('.') && !finding.cure.is_empty(), "{finding:#?}");
    finding
}

#[track_caller]
pub(crate) fn silent(rule: &str, scene: &str, programs: &[&str]) {
    let found = found(rule, scene, programs);
    assert!(found.is_empty(), "{found:#?}");
}

#[track_caller]
pub(crate) fn assert_near(value: f64, expected: f64, tolerance: f64) {
    assert!((value - expected).abs() <= tolerance, "{value} is not {expected} ± {tolerance}");
}

#[track_caller]
pub(crate) fn assert_finding(finding: &Finding, severity: Severity, lines: (u32, u32), value: f64, tolerance: f64) {
    assert_eq!((finding.severity, finding.lines), (severity, Some(lines)), "{finding:#?}");
    assert_near(finding.value.expect("a value"), value, tolerance);
}

/// Station, θ and radius of a finding, the angle from −180 to 180.
pub(crate) fn place(finding: &Finding) -> (f64, f64, f64) {
    let Place { station_mm, angle_deg, radius_mm, .. } = finding.place.expect("a place");
    (station_mm, if angle_deg > 180.0 { angle_deg - 360.0 } else { angle_deg }, radius_mm)
}

#[track_caller]
pub(crate) fn assert_place(finding: &Finding, station: f64, angle: f64, radius: f64, tolerance: f64) {
    let at = place(finding);
    let off = (at.0 - station).abs().max((at.1 - angle).abs()).max((at.2 - radius).abs());
    assert!(off <= tolerance, "{at:?} is not ({station}, {angle}, {radius}) ± {tolerance}");
}
