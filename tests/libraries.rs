//! Libraries of a shop, as commands find and name them.

use crate::workshop::{Workshop, scene};

const SCENE: &str = "\
format = 1
use = [\"shop:shop.toml\"]
blank = { diameter = 64, length = 200 }
program = [{ file = \"peg.nc\" }]
cutter = [{ from = \"flat 6\" }]
grid = { pitch = 1 }
";
const SHOP: &str =
    "format = 1\nmachine = { bed = 75 }\ncutter = [{ name = \"flat 6\", diameter = 6, stickout = 40 }]\n";
const PEG: &str = "G21 G17 G90 G94\nM3 S12000\nG0 X60 Y0 Z40 A0\nG1 Z30 F300\nG1 A360 F900\nG0 Z40\nM5\nM30\n";

#[test]
fn the_coat_peg_has_its_machine_and_cutters_from_libraries() {
    let workshop = Workshop::new();
    let run = workshop.expect(0, &format!("prove {} --out out", scene("coat-peg").display()));
    assert!(run.stdout.contains("CLEAR") && run.stdout.contains("0 errors, 0 warnings"), "{}", run.stdout);
    let resolved = workshop.read("out/scene.resolved.toml");
    for line in ["bed = 75.0  # shop:shop.toml", "stickout = 30.0  # shop:cutters.toml", "length = 95.0  # scene"] {
        assert!(resolved.contains(line), "{line}:\n{resolved}");
    }
    assert_eq!(workshop.report("out")["verdict"], "clear");
}

#[test]
fn the_shop_is_an_argument_or_a_setting_or_a_folder_above() {
    let workshop = Workshop::with(&[("jobs/scene.toml", SCENE), ("jobs/peg.nc", PEG), ("tools/shop.toml", SHOP)]);
    let lost = workshop.expect(2, "prove jobs").stderr;
    assert!(lost.contains("jobs/scene.toml:2") && lost.contains("--shop DIR or set DRYTURN_SHOP"), "{lost}");
    workshop.expect(0, "prove jobs --shop tools");
    let set = workshop.command("prove jobs").env("DRYTURN_SHOP", "tools").output().unwrap();
    assert_eq!(set.status.code(), Some(0));
    // An argument counts more than a setting, and an empty setting is none.
    let both = workshop.command("prove jobs --shop tools").env("DRYTURN_SHOP", "none").output().unwrap();
    assert_eq!(both.status.code(), Some(0));
    workshop.write("shop.toml", SHOP);
    let above = workshop.command("prove jobs").env("DRYTURN_SHOP", "").output().unwrap();
    assert_eq!(above.status.code(), Some(0));
    workshop.expect(0, "mesh jobs -o peg.stl --shop tools");
    workshop.expect(0, "restart jobs --program 1 --line 5 -o rest.nc --shop tools");
}

#[test]
fn a_mistake_in_a_library_names_the_library() {
    let broken = SHOP.replace("bed", "bde");
    let workshop = Workshop::with(&[("scene.toml", SCENE), ("peg.nc", PEG), ("shop.toml", &broken)]);
    let told = workshop.expect(2, "prove . --sarif found.sarif").stderr;
    for words in ["shop.toml:2:13", "unknown key `bde` in [machine]", "did you mean `bed`?"] {
        assert!(told.contains(words), "{words}:\n{told}");
    }
    let sarif: serde_json::Value = serde_json::from_str(&workshop.read("found.sarif")).unwrap();
    let notification = &sarif["runs"][0]["invocations"][0]["toolExecutionNotifications"][0];
    assert_eq!(notification["locations"][0]["physicalLocation"]["artifactLocation"]["uri"], "shop.toml", "{sarif}");
}

#[test]
fn the_same_bytes_from_wherever_it_is_proved() {
    let files = [("shop/shop.toml", SHOP), ("shop/jobs/scene.toml", SCENE), ("shop/jobs/peg.nc", PEG)];
    let workshop = Workshop::with(&files);
    let resolved = |from: &str, named: &str| {
        let out = workshop.path("out");
        let mut command = workshop.command(&format!("prove {named} --out {}", out.display()));
        let done = command.current_dir(workshop.path(from)).output().unwrap();
        assert_eq!(done.status.code(), Some(0), "{}", String::from_utf8_lossy(&done.stderr));
        let text = workshop.read("out/scene.resolved.toml");
        text.split_once('\n').unwrap().1.to_owned()
    };
    assert_eq!(resolved("shop/jobs", "."), resolved("", "shop/jobs/scene.toml"));
    assert_eq!(resolved("shop", "jobs"), resolved("shop/jobs", "../jobs"));
}
