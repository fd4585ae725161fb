//! What a run with loads writes: how it is headed, the run drawn, the maps of what made each spot.

use crate::skin::Skin;
use crate::workshop::Workshop;

/// A bar of maple of which the first program cuts a ring, and the second, with another cutter, one more.
const SCENE: &str = "\
format = 1
blank = { diameter = 40, length = 100, material = \"hard maple\" }
program = [{ file = \"one.nc\", cutter = 1 }, { file = \"two.nc\", cutter = 2 }]
cutter = [{ number = 1, diameter = 6, stickout = 40 }, { number = 2, diameter = 4, stickout = 40 }]
chuck = { hold = 20, torque = 0.05 }
machine = { change = 300, start = { x = 30, y = 0, z = 40, a = 0 } }
grid = { pitch = 1 }
";

fn ring(station: u32) -> String {
    format!("G21 G90 G94\nM3 S9000\nG0 X{station} Z22\nG1 Z18 F300\nG1 A360 F900\nG0 Z40\nG0 A0\nM30\n")
}

fn shop() -> Workshop {
    let workshop = Workshop::with(&[("peg/scene.toml", SCENE), ("peg/other.toml", SCENE)]);
    workshop.write("peg/one.nc", ring(30));
    workshop.write("peg/two.nc", ring(60));
    workshop
}

#[test]
fn a_job_without_a_title_is_headed_by_its_folder_or_its_file() {
    let workshop = shop();
    for (named, title) in [("peg", "peg"), ("peg/scene.toml", "peg"), ("peg/other.toml", "other.toml")] {
        workshop.run(&format!("prove {named} --out out"));
        assert_eq!(workshop.report("out")["title"], title);
        assert!(workshop.read("out/run.svg").contains(&format!("<title>{title}</title>")));
    }
    let inside = workshop.command("prove .").current_dir(workshop.path("peg")).output().unwrap();
    let told = String::from_utf8(inside.stdout).unwrap();
    assert!(told.lines().next().unwrap().ends_with("  peg"), "{told}");
}

#[test]
fn wood_that_nothing_cut_has_no_depth_and_no_chip() {
    let workshop = shop();
    workshop.run("prove peg --out out");
    for map in ["depth-of-cut", "chip"] {
        let skin = Skin::of_map(&workshop, "out", map);
        assert!(skin.value(30.0, 90.0) > 0.0 && skin.value(60.0, 200.0) > 0.0, "{map}");
        assert!(skin.value(45.0, 90.0).is_nan() && skin.value(5.0, 0.0).is_nan(), "{map}");
    }
    let depth = Skin::of_map(&workshop, "out", "depth-of-cut").value(30.0, 180.0);
    assert!((depth - 2.0).abs() < 0.05, "{depth}");
}

/// The bar springs the more the farther from the chuck it is cut, and is thicker by that.
#[test]
fn what_springs_away_has_a_map_of_its_own() {
    let workshop = shop();
    workshop.run("prove peg --out out");
    let [spring, radius, sprung] =
        ["spring", "remaining-radius", "sprung-radius"].map(|map| Skin::of_map(&workshop, "out", map));
    let at = |station: f64| spring.value(station, 90.0);
    assert!(at(30.0) > 0.0 && at(60.0) > 1.5 * at(30.0) && at(45.0).is_nan(), "{} {}", at(30.0), at(60.0));
    let difference = 1000.0 * (sprung.value(60.0, 90.0) - radius.value(60.0, 90.0));
    assert!((difference - at(60.0)).abs() < 0.01, "{difference} is not {}", at(60.0));
    let listed = workshop.report("out")["maps"].clone();
    let spring = listed.as_array().unwrap().iter().find(|map| map["name"] == "spring").unwrap().clone();
    assert_eq!(spring["unit"], "µm");
}

/// The five minutes of the change are the second program's.
#[test]
fn a_program_begins_with_the_change_of_its_cutter() {
    let workshop = shop();
    workshop.run("prove peg --out out");
    let series = workshop.report("out")["series"].clone();
    let starts: Vec<f64> = series["starts_s"].as_array().unwrap().iter().map(|it| it.as_f64().unwrap()).collect();
    let step = series["step_s"].as_f64().unwrap();
    let end = step * series["time_s"].as_array().unwrap().len() as f64;
    assert!(starts[1] < 0.5 * (end - 300.0) + 5.0 && end - starts[1] > 300.0, "{starts:?}, {end}");
    let during = ((starts[1] + 150.0) / step) as usize;
    assert_eq!((&series["program"][during], &series["cutter"][during]), (&2.into(), &2.into()));
}

/// Block by block as long as there are no more than rows are asked for; what they take is what the program takes.
#[test]
fn blocks_have_their_times() {
    let workshop = shop();
    for (arguments, a_row, rows) in [("", 1, 10), ("--series 3", 4, 4)] {
        workshop.run(&format!("prove peg --out out {arguments}"));
        let report = workshop.report("out");
        let blocks = &report["blocks"];
        assert_eq!((&blocks["blocks_a_row"], blocks["line"].as_array().unwrap().len()), (&a_row.into(), rows));
        let sum = |column: &str, program: u64| -> f64 {
            let numbers = blocks["program"].as_array().unwrap().iter().zip(blocks[column].as_array().unwrap());
            numbers.filter(|(of, _)| **of == program).map(|(_, it)| it.as_f64().unwrap()).sum()
        };
        for program in [1, 2] {
            let time = &report["programs"][program as usize - 1]["time"];
            let [cut, rapid] = ["cut_s", "rapid_s"].map(|key| time[key].as_f64().unwrap());
            assert!((sum("taken_s", program) - cut - rapid).abs() < 1e-4, "{program}");
            assert!(sum("air_s", program) < cut + rapid && sum("asked_s", program) > 0.0);
        }
        // The second program begins with the five minutes of the change.
        let first = blocks["program"].as_array().unwrap().iter().position(|of| *of == 2).unwrap();
        assert!(blocks["start_s"][first].as_f64().unwrap() > 300.0 && blocks["start_s"][0] == 0.0);
    }
}

/// A slot toward a center that holds 2 N.
#[test]
fn the_push_along_the_axis_is_told_as_a_range() {
    let workshop = shop();
    workshop.write(
        "peg/scene.toml",
        SCENE.to_owned() + "tailstock = { force = 2, center = { diameter = 8, quill = 16, extension = 3 } }\n",
    );
    workshop.write("peg/one.nc", "G21 G90 G94\nM3 S9000\nG0 X30 Z22\nG1 Z18 F300\nG1 X70 F900\nG0 Z40\nM30\n");
    let told = workshop.run("prove peg --out out").stdout;
    assert!(told.contains("push along the axis ") && told.contains(" of 2 N at the most, one.nc:5"), "{told}");
    let report = workshop.report("out");
    let axial = &report["loads"]["axial_n"];
    assert_eq!((&axial["limit"], &axial["line"]), (&2.0.into(), &5.into()));
    let [low, high] = ["low", "high"].map(|end| axial[end].as_f64().unwrap());
    assert!(low > 0.0 && high > 2.0 * low, "{axial}");
    let column = report["series"]["axial_n"]["high"].as_array().unwrap();
    assert_eq!(column.iter().map(|it| it.as_f64().unwrap()).fold(0.0, f64::max), high);
    assert!(workshop.read("out/run.svg").contains("the center holds 2 N"));
}

/// A helix whose eighths of a turn advance by a row each: the depth of the last cut is that of the turn, also where no ray of
/// an eighth has met it whole.
#[test]
fn the_depth_of_a_helix_has_no_odd_rows() {
    let workshop = shop();
    let facing = |z: f64, turns: u32| format!("G1 Z{z} F300\nG1 X80 A{} F120\n", 360 * turns);
    let program = format!(
        "G21 G90 G94\nM3 S9000\nG0 X30 Z22\n{}G0 Z40\nX30 A0\n{}G0 Z40\nM30\n",
        facing(18.0, 12),
        facing(17.7, 12)
    );
    workshop.write("peg/one.nc", program);
    workshop.write("peg/scene.toml", SCENE.replace("pitch = 1", "pitch = 0.5"));
    workshop.run("prove peg --out out");
    let skin = Skin::of_map(&workshop, "out", "depth-of-cut");
    for row in 80..140 {
        let depth = skin.value(0.5 * f64::from(row), 90.0);
        assert!((depth - 0.3).abs() < 0.01, "{row}: {depth}");
    }
}

/// The chuck holds 0.05 N·m, and the cut comes near that.
#[test]
fn what_bears_a_load_stands_beside_it() {
    let workshop = shop();
    let told = workshop.run("prove peg --out out").stdout;
    assert!(told.contains(" of 0.05 N·m at the most, two.nc:5"), "{told}");
    assert!(workshop.read("out/run.svg").contains("0.05 N·m hold against it"));
    assert_eq!(workshop.report("out")["loads"]["torque_nmm"]["limit"], 50.0);
    assert_eq!(workshop.report("out")["loads"]["power_w"]["limit"], serde_json::Value::Null);
}
