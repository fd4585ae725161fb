//! Reference pictures of the example jobs, in `tests/pictures`; only software adapters draw alike enough to compare.

use crate::compare::assert_like;
use crate::workshop::{Workshop, root, scene, skipped};

/// The adapter is told on standard error where it is software.
fn compared(name: &str, scene_file: &str, options: &str) {
    let workshop = Workshop::new();
    let scene = scene(scene_file);
    let Some(run) = workshop
        .drawn(&format!("still {} -o still.png --size 480x320 --samples 2 --pitch 0.6 {options}", scene.display()))
    else {
        return;
    };
    if !run.stderr.contains("drawn by the processor") {
        skipped(&format!("{name}: a graphics card rounds otherwise than the software that drew the references"));
        return;
    }
    assert_like(&root().join(format!("tests/pictures/{name}.png")), &workshop.files()["still.png"]);
}

#[test]
fn the_winch_handle_of_maple() {
    compared("winch-handle", "winch-handle", "");
}

#[test]
fn the_choir_stand_of_walnut_with_its_holding() {
    compared("choir-stand", "choir-stand/scene-fixed.toml", "--holding");
}

#[test]
fn the_lettering_of_the_harbor_light_in_cherry() {
    compared("harbor-light", "harbor-light/scene-fixed.toml", "--view standing,90,15");
}

#[test]
fn the_core_of_the_kite_reel_cut_open_lengthwise() {
    compared("kite-reel", "kite-reel/scene-fixed.toml", "--section lengthwise");
}

#[test]
fn the_screw_of_the_marble_lift_by_age() {
    compared("marble-lift", "marble-lift/scene-fixed.toml", "--color age");
}

#[test]
fn the_vane_cap_of_cedar_with_its_dimensions() {
    compared("vane-cap", "vane-cap/scene-fixed.toml", "--dimensions --ground plain");
}
