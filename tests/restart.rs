//! `dryturn restart` as a person runs it.

use crate::workshop::{Workshop, scene as scene_folder};

#[test]
fn a_broken_job_is_taken_up() {
    let workshop = Workshop::copy_of(&scene_folder("winch-handle"));
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
    let workshop = Workshop::copy_of(&scene_folder("winch-handle"));
    for (more, told) in [
        ("--program 9 --line 1", "error: there is no program 9: the scene has "),
        ("--program 0 --line 1", "error: programs are counted from 1"),
        ("--program lid.nc --line 1", "error: no program of the scene is called lid.nc: there is 1, "),
        ("--program 1 --line 9999", "error: line 9999 is never executed"),
    ] {
        let run = workshop.expect(2, &format!("restart . {more} -o rest.nc"));
        assert!(run.stderr.starts_with(told), "{}", run.stderr);
    }
    assert!(!workshop.files().contains_key("rest.nc"));
}

/// Programs, target, library, the blank kept from before, the scene itself.
#[test]
fn nothing_that_a_scene_is_made_of_is_written_over() {
    for (folder, scene, files) in [
        ("choir-stand", "scene.toml", &["round.nc", "beads.nc", "profile.csv", "scene.toml"][..]),
        ("coat-peg", "scene.toml", &["shop.toml"]),
        ("harbor-light", "scene-fixed.toml", &["kept.npz", "target.ply"]),
    ] {
        let workshop = Workshop::copy_of(&scene_folder(folder));
        for file in files {
            let before = workshop.files()[*file].clone();
            let over = workshop.expect(2, &format!("restart {scene} --program 1 --line 8 -o {file}"));
            let told = format!("error: {file}: the scene is made of it; name another file to write\n");
            assert_eq!(over.stderr, told, "{folder}");
            assert!(workshop.files()[*file] == before, "{folder}: {file}");
        }
    }
    let workshop = Workshop::copy_of(&scene_folder("harbor-light"));
    for command in ["mesh scene.toml -o target.ply", "prove scene.toml --out .", "prove scene.toml --junit letters.nc"]
    {
        let over = workshop.expect(2, command);
        assert!(over.stderr.contains(": the scene is made of it; name another file to write"), "{}", over.stderr);
    }
    let round = "round --scene scene.toml --to 20 --from 20 --length 60 --cutter flat:12 --speed 2000";
    let workshop = Workshop::copy_of(&scene_folder("choir-stand"));
    let over = workshop.expect(2, &format!("{round} -o profile.csv"));
    assert!(over.stderr.starts_with("error: profile.csv: the scene is made of it"), "{}", over.stderr);
}
