//! `dryturn restart` as a person runs it.

use crate::workshop::{Workshop, scene};

#[test]
fn a_broken_job_is_taken_up() {
    let workshop = Workshop::copy_of(&scene("winch-handle"));
    let run = workshop.expect(0, "restart . --program hexagon.nc --line 60 -o rest.nc");
    assert!(
        run.stdout.starts_with("Takes up hexagon.nc at line 60, with cutter 1 in the spindle.\n"),
        "{}",
        run.stdout
    );
    let (rest, whole) = (workshop.read("rest.nc"), workshop.read("hexagon.nc"));
    assert!(rest.starts_with("(takes up hexagon.nc at line 60)\n"), "{rest}");
    let tail: Vec<&str> = whole.lines().skip(59).collect();
    assert!(rest.ends_with(&(tail.join("\n") + "\n")), "{rest}");
}

#[test]
fn what_cannot_be_taken_up_is_refused_and_nothing_written() {
    let workshop = Workshop::copy_of(&scene("winch-handle"));
    for (more, told) in [
        ("--program 9 --line 1", "error: there is no program 9: the scene has "),
        ("--program 0 --line 1", "error: programs are counted from 1"),
        ("--program lid.nc --line 1", "error: no program of the scene is called lid.nc"),
        ("--program 1 --line 9999", "error: line 9999 is never executed"),
    ] {
        let run = workshop.expect(2, &format!("restart . {more} -o rest.nc"));
        assert!(run.stderr.starts_with(told), "{}", run.stderr);
    }
    let over = workshop.expect(2, "restart . --program 1 --line 60 -o hexagon.nc");
    assert!(over.stderr.starts_with("error: -o names the program that is taken up"), "{}", over.stderr);
    assert!(!workshop.files().contains_key("rest.nc"));
    for (file, what) in [("edges.nc", "edges.nc, a program of the scene"), ("scene.toml", "the scene itself")] {
        let kept = workshop.read(file);
        let over = workshop.expect(2, &format!("restart . --program 1 --line 60 -o {file}"));
        assert!(over.stderr.starts_with(&format!("error: -o names {what}")), "{}", over.stderr);
        assert_eq!(workshop.read(file), kept);
    }
}
