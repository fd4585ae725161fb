//! Good jobs of every kind: none may give an error or a warning.
//!
//! Each folder of `cases/quiet` is a job a person would be right to run. A report that cries wolf is not read, so a
//! rule that speaks up here is wrong, whatever its reasons.

use std::path::{Path, PathBuf};

use crate::workshop::{Workshop, cases};

#[test]
fn good_jobs_give_no_error_and_no_warning() {
    let mut folders: Vec<PathBuf> =
        std::fs::read_dir(cases("quiet")).unwrap().map(|entry| entry.unwrap().path()).collect();
    folders.sort();
    assert!(folders.len() >= 50, "only {} jobs were found", folders.len());
    let alarms: Vec<String> = folders.iter().flat_map(|folder| alarms(folder)).collect();
    assert!(alarms.is_empty(), "\n{}", alarms.join("\n"));
}

/// What a job's report says that it should not, one a line.
fn alarms(folder: &Path) -> Vec<String> {
    let workshop = Workshop::new();
    let name = folder.file_name().unwrap().to_str().unwrap();
    let run = workshop.run(&format!("prove \"{}\" --out out --fail-on warning", folder.display()));
    if run.code == 2 {
        return vec![format!("{name}: {}", run.stderr)];
    }
    let report = workshop.report("out");
    let mut alarms: Vec<String> = report["findings"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|finding| finding["severity"] != "note")
        .map(|finding| format!("{name}: {} {}: {}", finding["rule"], finding["lines"], finding["text"]))
        .collect();
    // Both hold for a job that says nothing because nothing was looked at.
    if report["verdict"] != "clear" && alarms.is_empty() {
        alarms.push(format!("{name}: {}, as something is not described", report["verdict"]));
    }
    if report["removed_mm3"].as_f64().unwrap() < 10.0 {
        alarms.push(format!("{name}: it removes nothing"));
    }
    alarms
}
