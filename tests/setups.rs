//! Several set-ups: what one leaves is the blank of the next.

use std::fs;

use serde_json::Value;

use crate::skin::Skin;
use crate::workshop::{Workshop, scene};

/// A post that is held by its raw end; `{blank}`, `{programs}` and `{more}` differ.
fn post(blank: &str, programs: &str, hold: f64) -> String {
    format!(
        "format = 1
title = \"Post\"
blank = {{ {blank}, material = \"hard maple\" }}
program = [{programs}]
cutter = [{{ number = 1, diameter = 6, flute = 18, stickout = 40, holder = [[20, 8], [25, 20]] }}]
chuck = {{ hold = {hold}, body = {{ diameter = 60, length = 30 }}, jaws = {{ count = 3, width = 8, length = 12, height = 10 }} }}
"
    )
}

const RAW: &str = "diameter = 30, length = 60";

/// Turns a spigot at the free end, and mills a flat on what is behind it.
const SPIGOT: &str = "G21 G90\nM3 S9000\nG0 X47 Y0 A0 Z30\nG1 Z11 F300\nA360 F3000\nX36 A1800\nA2160\nG0 Z30
G0 X30 Y-8 A0\nG1 Z13 F300\nY8 F900\nX26\nY-8\nG0 Z30\nM30\n";

/// A groove all round, across the flat, and another flat on the other side.
const GROOVE: &str = "G21 G90\nM3 S9000\nG0 X28 Y0 A0 Z30\nG1 Z12 F300\nA360 F3000\nG0 Z30
G0 X20 Y-8 A180\nG1 Z13 F300\nY8 F900\nG0 Z30\nM30\n";

fn workshop() -> Workshop {
    let both = "{ file = \"spigot.nc\" }, { file = \"groove.nc\" }";
    let first = post(RAW, "{ file = \"spigot.nc\" }", 12.0);
    let second = post("file = \"kept.npz\"", "{ file = \"groove.nc\" }", 12.0);
    Workshop::with(&[
        ("both.toml", &post(RAW, both, 12.0)),
        ("first.toml", &first),
        ("second.toml", &second),
        ("spigot.nc", SPIGOT),
        ("groove.nc", GROOVE),
    ])
}

/// A workshop in which the first set-up has been proved.
fn kept() -> Workshop {
    let workshop = workshop();
    workshop.expect(0, "prove first.toml --out first -q");
    fs::copy(workshop.path("first/kept.npz"), workshop.path("kept.npz")).unwrap();
    workshop
}

fn findings<'a>(report: &'a Value, rule: &str) -> Vec<&'a str> {
    let all = report["findings"].as_array().unwrap().iter().filter(|it| it["rule"] == rule);
    all.map(|it| it["text"].as_str().unwrap()).collect()
}

/// The lines of a map, as they lie in its file.
pub(crate) fn lines(workshop: &Workshop, map: &str) -> Vec<i32> {
    let bytes = fs::read(workshop.path(map)).unwrap();
    let start = 10 + usize::from(u16::from_le_bytes([bytes[8], bytes[9]]));
    bytes[start..].as_chunks().0.iter().map(|four| i32::from_le_bytes(*four)).collect()
}

#[test]
fn two_set_ups_leave_the_very_piece_that_one_would() {
    let workshop = kept();
    workshop.expect(0, "prove both.toml --out both -q");
    workshop.expect(0, "prove second.toml --out second -q");
    let (both, second) = (workshop.report("both"), workshop.report("second"));
    assert_eq!(both["grid"], second["grid"]);
    for map in ["remaining-radius", "solid-length"] {
        let bytes = |folder: &str| fs::read(workshop.path(&format!("{folder}/maps/{map}.npy"))).unwrap();
        assert!(bytes("both") == bytes("second"), "{map}");
    }
    assert_eq!(both["left_mm3"], second["left_mm3"]);
    assert_eq!(second["blank_mm3"], workshop.report("first")["left_mm3"]);
    assert_eq!(both["programs"][1]["removed_mm3"], second["programs"][0]["removed_mm3"]);
    // Who cut what is told either way: by this set-up, or by the one before.
    let (once, now, before) = (
        lines(&workshop, "both/maps/cut-by.npy"),
        lines(&workshop, "second/maps/cut-by.npy"),
        lines(&workshop, "second/maps/kept-from.npy"),
    );
    let told: Vec<i32> = now.iter().zip(&before).map(|(now, before)| (*now).max(*before)).collect();
    assert!(told == once && now.contains(&-1) && before.iter().any(|line| *line > 0));
}

#[test]
fn the_lines_that_made_what_the_jaws_grip_are_named() {
    let workshop = kept();
    let flipped = post("file = \"kept.npz\", flip = true", "{ file = \"groove.nc\", zero = { x = 4 } }", 14.0);
    workshop.write("flipped.toml", &flipped);
    workshop.expect(0, "prove flipped.toml --out flipped -q");
    let report = workshop.report("flipped");
    let notes = findings(&report, "set-up");
    assert_eq!(notes, ["The jaws grip 22.00 mm across, on what lines 4 to 7 of spigot.nc cut in the set-up \"Post\"."]);
    assert_eq!(report["verdict"], "clear");
    // The spigot of 22 is 14 long: of a blank of 60 that leaves 46 from the jaws on.
    let grid = &report["grid"];
    let end = grid["station_first"].as_f64().unwrap()
        + grid["stations"].as_f64().unwrap() * grid["station_step"].as_f64().unwrap();
    assert!((end - 46.0).abs() < 0.2, "{end}");
}

/// A shift takes as much from the grip.
#[test]
fn a_piece_put_back_farther_out_is_held_by_less() {
    let workshop = kept();
    let shifted = |shift: u32| post(&format!("file = \"kept.npz\", shift = {shift}"), "{ file = \"groove.nc\" }", 12.0);
    for (shift, told) in [
        (7, "The chuck holds 5 mm of the blank, 0.167 times the 30.00 mm it grips, without a tailstock."),
        (12, "The blank begins at the front of the jaws: the chuck holds nothing of it."),
        (14, "The blank begins 2.00 mm in front of the jaws: the chuck holds nothing of it."),
    ] {
        workshop.write("shifted.toml", shifted(shift));
        workshop.expect(0, "prove shifted.toml --out shifted -q");
        assert_eq!(findings(&workshop.report("shifted"), "poor-grip"), [told]);
        workshop.expect(0, "sheet shifted.toml -o sheet.html -q");
        let held = format!("{} of the blank in the jaws, tight", if shift == 7 { "5 mm" } else { "0 mm" });
        assert!(workshop.read("sheet.html").replace('\u{a0}', " ").contains(&held), "{held}");
    }
}

#[test]
fn put_back_off_centre_at_another_pitch_the_piece_runs_out() {
    let workshop = kept();
    let blank = "file = \"kept.npz\", turn = 33, off = { y = 0, z = 0.4 }";
    let mut text = post(blank, "{ file = \"groove.nc\" }", 12.0);
    text += "grid = { pitch = 0.31 }\n";
    workshop.write("off.toml", &text);
    workshop.expect(0, "prove off.toml --out off -q");
    let skin = Skin::read(&workshop, "off");
    // The raw end runs off as a whole; the groove is round.
    for degrees in [0.0, 60.0, 90.0, 200.0] {
        let along = 0.4 * f64::cos(f64::to_radians(degrees));
        let across = 0.4 * f64::sin(f64::to_radians(degrees));
        let expected = along + (225.0 - across * across).sqrt();
        let column = (degrees / 360.0 * skin.columns() as f64).round() / skin.columns() as f64 * 360.0;
        assert!((skin.value(3.0, column) - expected).abs() < 0.01, "{degrees}: {}", skin.value(3.0, column));
        assert!((skin.value(28.0, degrees) - 12.0).abs() < 1e-5);
    }
}

#[test]
fn the_end_piece_is_a_solid_with_the_edges_of_all_its_set_ups() {
    let workshop = kept();
    workshop.expect(0, "mesh both.toml -o both.ply --within 0 --pitch 0.4 -q");
    workshop.expect(0, "mesh second.toml -o second.ply --within 0 --pitch 0.4 -q");
    let volume = |name: &str| {
        let mesh = dryturn_scene::Mesh::read(&workshop.path(name), None).unwrap();
        mesh.check_closed().unwrap_or_else(|fault| panic!("{name}: {fault}"));
        mesh.volume()
    };
    let (both, second) = (volume("both.ply"), volume("second.ply"));
    assert!((both - second).abs() < 1e-4 * both, "{both} and {second}");
}

#[test]
fn a_blank_from_a_mesh_is_kept_like_any_other() {
    let workshop = kept();
    workshop.expect(0, "mesh first.toml -o blank.ply --within 0 -q");
    let of_mesh = |programs: &str| post("file = \"blank.ply\"", programs, 12.0) + "grid = { pitch = 0.3 }\n";
    workshop
        .write("groove-and-more.toml", of_mesh("{ file = \"groove.nc\" }, { file = \"groove.nc\", zero = { x = 5 } }"));
    workshop.write("groove.toml", of_mesh("{ file = \"groove.nc\" }"));
    workshop.expect(0, "prove groove-and-more.toml --out both -q");
    workshop.expect(0, "prove groove.toml --out groove -q");
    fs::copy(workshop.path("groove/kept.npz"), workshop.path("kept.npz")).unwrap();
    let more = |blank: &str, pitch: f64| {
        post(blank, "{ file = \"groove.nc\", zero = { x = 5 } }", 12.0) + &format!("grid = {{ pitch = {pitch} }}\n")
    };
    workshop.write("more.toml", more("file = \"kept.npz\"", 0.3));
    workshop.expect(0, "prove more.toml --out more -q");
    let radii = |folder: &str| fs::read(workshop.path(&format!("{folder}/maps/remaining-radius.npy"))).unwrap();
    assert!(radii("both") == radii("more"));
    // End for end and back again through a file of its own, off the rays that were kept.
    workshop.write("turned.toml", post("file = \"kept.npz\", flip = true", "{ file = \"air.nc\" }", 12.0));
    workshop.write("air.nc", "G21 G90\nG0 Z30\n");
    workshop.run("prove turned.toml --out turned -q");
    fs::copy(workshop.path("turned/kept.npz"), workshop.path("kept.npz")).unwrap();
    workshop.write("back.toml", more("file = \"kept.npz\", flip = true", 0.37));
    workshop.expect(0, "prove back.toml --out back -q");
    workshop.write("other.toml", workshop.read("groove-and-more.toml").replace("0.3 ", "0.37 "));
    workshop.expect(0, "prove other.toml --out other -q");
    let left = |folder: &str| workshop.report(folder)["left_mm3"].as_f64().unwrap();
    assert!((left("back") - left("other")).abs() < 1e-3 * left("other"), "{} and {}", left("back"), left("other"));
}

#[test]
fn a_resolved_scene_of_a_kept_blank_reads_back() {
    let workshop = kept();
    let blank = "file = \"kept.npz\", flip = true, turn = 12.5, shift = 1.5, off = { y = 0.1, z = -0.2 }";
    workshop.write("odd.toml", post(blank, "{ file = \"groove.nc\", zero = { x = 4 } }", 14.0));
    workshop.run("prove odd.toml --out odd -q");
    workshop.write("again.toml", workshop.read("odd/scene.resolved.toml"));
    workshop.run("prove again.toml --out again -q");
    let (one, other) = (workshop.report("odd"), workshop.report("again"));
    assert_eq!((&one["grid"], &one["left_mm3"]), (&other["grid"], &other["left_mm3"]));
    // Shifted it sits farther out: the jaws hold 12.5 of it.
    assert!((one["grid"]["station_first"].as_f64().unwrap() + 12.5).abs() < 0.2, "{}", one["grid"]);
}

#[test]
fn what_is_no_kept_piece_is_refused_and_nothing_is_written() {
    let workshop = kept();
    let whole = fs::read(workshop.path("kept.npz")).unwrap();
    fs::remove_file(workshop.path("kept.npz")).unwrap();
    let run = workshop.expect(2, "prove second.toml --out second");
    assert!(run.stderr.contains("`kept.npz` does not exist"), "{}", run.stderr);
    assert!(run.stderr.contains("prove the set-up before with --out"), "{}", run.stderr);
    for (bytes, says) in [
        (&whole[..whole.len() / 2], "not a piece that was kept"),
        (&b"not an archive"[..], "not a piece that was kept"),
        (&b""[..], "not a piece that was kept"),
    ] {
        workshop.write("kept.npz", bytes);
        let run = workshop.expect(2, "prove second.toml --out second");
        assert!(run.stderr.contains(says) && run.stderr.contains("second.toml:"), "{}", run.stderr);
    }
    assert!(!workshop.path("second").exists());
    workshop.write("kept.npz", &whole);
    for (blank, says) in [
        ("file = \"kept.npz\", length = 60", "`length` does not belong to a kept blank"),
        ("file = \"kept.npz\", runout = { y = 1, z = 0 }", "`runout` does not belong to a kept blank"),
        ("file = \"kept.npz\", diameter = 30", "`blank.diameter` does not belong to a kept blank"),
        ("file = \"kept.npz\", off = { y = 0, z = 500 }", "`off` sets it 500 mm off the axis"),
        ("diameter = 30, length = 60, flip = true", "`blank.flip` does not belong to a round blank"),
    ] {
        workshop.write("wrong.toml", post(blank, "{ file = \"groove.nc\" }", 12.0));
        let run = workshop.expect(2, "prove wrong.toml");
        assert!(run.stderr.contains(says), "{blank}: {}", run.stderr);
    }
}

#[test]
fn the_kept_piece_of_the_harbor_light_is_what_its_first_set_up_leaves() {
    let workshop = Workshop::copy_of(&scene("harbor-light"));
    workshop.expect(0, "prove first.toml --out first -q");
    workshop.expect(0, "prove scene-fixed.toml --out before -q");
    fs::copy(workshop.path("first/kept.npz"), workshop.path("kept.npz")).unwrap();
    workshop.expect(0, "prove scene-fixed.toml --out after -q");
    assert_eq!(workshop.report("before"), workshop.report("after"));
}
