//! Libraries: what a scene takes from them, what it overrides, and where a mistake is said to be.

#![expect(clippy::unwrap_used, reason = "a test that cannot go on has failed")]

use std::path::Path;

use dryturn_geom::Shape;
use dryturn_scene::{LoadOptions, Origin, Scene, SceneError};

const SCENE: &str = "format = 1
use = [\"router.toml\", \"cutters.toml\"]
blank = { diameter = 64, length = 200 }
program = [{ file = \"part.nc\" }]
cutter = [{ from = \"roughing\" }]
";

const ROUTER: &str = "format = 1
title = \"The small router\"
machine = { bed = 75, rapid = { x = 5000, a = 7200 }, spindle = [[52, 40]] }
chuck = { hold = 15, jaws = { count = 4, width = 14, length = 22, height = 18 } }
fixed = [{ name = \"clamp\", box = [250, 280, -60, -40, -75, 10] }]
";

const CUTTERS: &str = "format = 1
units = \"inch\"

[[cutter]]
name = \"roughing\"
number = 7
diameter = 0.25
stickout = \"35 mm\"
holder = [[1, 0.5]]

[[cutter]]
name = \"long\"
from = \"roughing\"
stickout = 2
";

/// A folder with these files beside a program: name, contents.
fn folder(files: &[(&str, &str)]) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    for (name, text) in [("part.nc", "G0 X10 Z40\nG1 Z30 F300\nM30\n")].iter().chain(files) {
        let path = folder.path().join(name);
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(path, text).unwrap();
    }
    folder
}

fn load(files: &[(&str, &str)]) -> Result<Scene, SceneError> {
    Scene::load(&folder(files).path().join("scene.toml"), LoadOptions::default())
}

/// What is printed where a scene is refused, without the name of the folder.
fn refusal(files: &[(&str, &str)]) -> String {
    let folder = folder(files);
    match Scene::load(&folder.path().join("scene.toml"), LoadOptions::default()) {
        Ok(_) => panic!("accepted"),
        Err(error) => error.render(false).replace(&format!("{}/", folder.path().display()), ""),
    }
}

#[test]
fn keys_are_laid_over_each_other_one_by_one() {
    let scene = format!(
        "{SCENE}machine = {{ rapid = {{ x = 3500, z = 900 }}, bed = 60 }}\n\
         fixed = [{{ name = \"clamp\", box = [1, 2, 3, 4, 5, 6] }}, {{ name = \"hose\", box = [1, 2, 3, 4, 5, 6] }}]\n"
    );
    let scene = load(&[("scene.toml", &scene), ("router.toml", ROUTER), ("cutters.toml", CUTTERS)]).unwrap();
    let machine = &scene.machine;
    assert_eq!((machine.rapid.x, machine.rapid.z, machine.rapid.a), (3500.0, 900.0, 7200.0));
    assert_eq!((machine.bed, machine.spindle[0].diameter), (Some(60.0), 52.0));
    assert_eq!(scene.chuck.as_ref().map(|chuck| chuck.hold), Some(15.0));
    let fixed: Vec<_> = scene.fixed.iter().map(|body| (body.name.as_str(), body.x)).collect();
    assert_eq!(fixed, [("clamp", [1.0, 2.0]), ("hose", [1.0, 2.0])]);
    assert_eq!(scene.title, None, "a library's title is its own");
    assert_eq!(scene.cutters.len(), 1, "a scene has the cutters that it takes");
}

#[test]
fn the_order_of_libraries_decides_and_each_counts_once() {
    let library = |uses: &str, bed: &str| format!("format = 1\nuse = [{uses}]\nmachine = {{ {bed} }}\n");
    let files = [
        (
            "scene.toml",
            SCENE.replace("\"router.toml\"", "\"a.toml\", \"b.toml\"").replace("from = \"roughing\"", "diameter = 6"),
        ),
        ("cutters.toml", CUTTERS.to_owned()),
        ("a.toml", library("\"deep.toml\"", "bed = 10")),
        ("b.toml", library("\"deep.toml\"", "spindle_power = 20")),
        ("deep.toml", library("", "bed = 1, spindle_power = 2, rotary_torque = 3")),
    ];
    let files: Vec<(&str, &str)> = files.iter().map(|(name, text)| (*name, text.as_str())).collect();
    let machine = load(&files).unwrap().machine;
    assert_eq!((machine.bed, machine.spindle_power, machine.rotary_torque), (Some(10.0), Some(20.0), Some(3.0)));
}

#[test]
fn a_cutter_is_taken_by_name_with_any_key_overridden() {
    let cutters =
        "cutter = [{ from = \"roughing\", number = 1, stickout = 40 }, { from = \"long\", shape = \"ball\" }]";
    let scene = SCENE.replace("cutter = [{ from = \"roughing\" }]", cutters);
    let scene = load(&[("scene.toml", &scene), ("router.toml", ROUTER), ("cutters.toml", CUTTERS)]).unwrap();
    let of = |index: usize| {
        let cutter = &scene.cutters[index];
        (cutter.number, cutter.name.as_str(), 2.0 * cutter.flutes.radius(), cutter.stickout)
    };
    // Each number is of the unit of the file it is written in.
    assert_eq!(of(0), (1, "roughing", 6.35, Some(40.0)));
    assert_eq!(of(1), (7, "long", 6.35, Some(50.8)));
    assert_eq!(*scene.cutters[1].flutes.shape(), Shape::Ball);
    assert_eq!(scene.cutters[1].holder[0].length, 12.7);
}

#[test]
fn a_key_of_one_meaning_is_not_mixed_from_two() {
    let zero =
        "format = 1\nzero = { x = 5, z = { touch = { station = 50 } } }\nblank = { material = { density = 700 } }\n";
    let scene = SCENE.replace("router.toml", "zero.toml").replace("length = 200", "length = 200, material = \"beech\"");
    let files = [("zero.toml", zero), ("cutters.toml", CUTTERS)];
    let scene = format!("{scene}zero = {{ z = \"axis\" }}\n");
    let scene = load(&[files[0], files[1], ("scene.toml", &scene)]).unwrap();
    assert_eq!((scene.zero(0, 0).x, scene.zero(0, 0).z), (5.0, 0.0));
    assert!(scene.blank.material.is_some_and(|material| material.name.contains("beech")));
}

#[test]
fn where_each_key_came_from_is_known() {
    let scene = load(&[("scene.toml", SCENE), ("router.toml", ROUTER), ("cutters.toml", CUTTERS)]).unwrap();
    let from = |name: &str| Some(Origin::Library(name.to_owned()));
    assert_eq!(scene.given.get("machine.bed").cloned(), from("router.toml"));
    assert_eq!(scene.given.get("cutter[1].diameter").cloned(), from("cutters.toml"));
    assert_eq!(scene.given.get("blank.diameter"), Some(&Origin::Scene));
    let resolved = scene.resolved_toml();
    for line in [
        "bed = 75.0  # router.toml",
        "rapid.x = 5000.0  # router.toml",
        "rapid.y = 3000.0  # default",
        "stickout = 35.0  # cutters.toml",
        "length = 200.0  # scene",
    ] {
        assert!(resolved.lines().any(|other| other == line), "{line} is not in\n{resolved}");
    }
}

#[test]
fn a_resolved_scene_needs_no_library() {
    let cutters = format!("{CUTTERS}[[cutter]]\nname = \"edge\"\nshape = \"form\"\nprofile = \"edge.csv\"\n");
    let scene = SCENE.replace("cutters.toml", "tools/cutters.toml").replace("roughing", "edge");
    let folder = folder(&[
        ("scene.toml", &scene),
        ("router.toml", ROUTER),
        ("tools/cutters.toml", &cutters),
        ("tools/edge.csv", "0, 0.1\n0.5, 0.2\n"),
    ]);
    let scene = Scene::load(&folder.path().join("scene.toml"), LoadOptions::default()).unwrap();
    assert_eq!(scene.cutters[0].profile.as_deref(), Some("tools/edge.csv"));
    assert!((scene.cutters[0].flutes.length() - 12.7).abs() < 1e-9, "a profile counts in the unit of its library");
    // The profile's numbers are inches only where the scene says so.
    let resolved = scene.resolved_toml();
    assert!(!resolved.contains("\nuse") && resolved.contains("profile = \"tools/edge.csv\"  # tools/cutters.toml"));
}

#[test]
fn the_shop_is_told_or_looked_for_above_the_scene() {
    let scene = SCENE.replace("router.toml", "shop:router.toml").replace("cutters.toml", "shop:cutters.toml");
    let files =
        [("jobs/one/scene.toml", scene.as_str()), ("jobs/one/part.nc", "G0 X1\n"), ("other/router.toml", ROUTER)];
    let folder = folder(&[files[0], files[1], files[2], ("router.toml", ROUTER), ("cutters.toml", CUTTERS)]);
    let path = folder.path().join("jobs/one/scene.toml");
    let told = |shop: &Path| Scene::load(&path, LoadOptions { shop: Some(shop), ..LoadOptions::default() });
    let shown = |result: Result<Scene, SceneError>| result.unwrap_err().render(false);
    assert!(shown(Scene::load(&path, LoadOptions::default())).contains("put a file `shop.toml` beside them"));
    assert_eq!(told(folder.path()).unwrap().machine.bed, Some(75.0));
    assert!(shown(told(&folder.path().join("none"))).contains("look at --shop and DRYTURN_SHOP"));
    let other = shown(told(&folder.path().join("other")));
    assert!(other.contains("the library `shop:cutters.toml` does not exist") && other.contains("other"), "{other}");
    std::fs::write(folder.path().join("shop.toml"), "").unwrap();
    let found = Scene::load(&path, LoadOptions::default()).unwrap();
    assert_eq!(found.given["machine.bed"], Origin::Library("shop:router.toml".to_owned()));
}

#[test]
fn a_mistake_in_a_library_is_shown_in_the_library() {
    let files = [("scene.toml", SCENE), ("cutters.toml", CUTTERS)];
    let broken = ROUTER.replace("bed = 75", "bde = 75").replace("height = 18", "height = -18");
    let expected = "\
error: unknown key `bde` in [machine]
 --> router.toml:3:13
  |
3 | machine = { bde = 75, rapid = { x = 5000, a = 7200 }, spindle = [[52, 40]] }
  |             ^^^ not a key of this table
  |
  = help: did you mean `bed`?

error: `chuck.jaws.height` must be a length above zero
 --> router.toml:4:76
  |
4 | chuck = { hold = 15, jaws = { count = 4, width = 14, length = 22, height = -18 } }
  |                                                                            ^^^
";
    assert_eq!(refusal(&[files[0], files[1], ("router.toml", &broken)]), expected);
    // The scene's own mistakes come first, and only what it overrides is its own.
    let scene = SCENE.replace("from = \"roughing\"", "from = \"roughing\", stickout = 5, flute = 9");
    let shown = refusal(&[("scene.toml", &scene), ("router.toml", &broken), files[1]]);
    assert!(shown.contains("longer than the stickout") && shown.contains("unknown key `bde`"), "{shown}");
}

#[test]
fn what_a_library_may_not_be_says_what_to_do() {
    let lines = |text: &str| format!("format = 1\n{text}\n");
    for (library, words) in [
        (lines("program = [{ file = \"part.nc\" }]"), "programs belong to the scene"),
        (
            lines("use = [\"scene.toml\"]"),
            "libraries name each other in a circle: scene.toml → router.toml → scene.toml",
        ),
        (lines("use = [\"router.toml\"]"), "in a circle: router.toml → router.toml"),
        (lines("use = [\"../router.toml\"]"), "`../router.toml` leads out of the folder of this file"),
        (lines("use = [\"shop:\"]"), "put a file `shop.toml` beside them"),
        (lines("use = [5]"), "`use[1]` must be a text in quotes"),
        (lines("use = [\"\"]"), "`` names no file"),
        (lines("cutter = [{ diameter = 6 }]"), "scenes take the cutter by its name"),
        (lines("cutter = 6"), "`cutter` must be a list of tables"),
        (lines("cutter = [{ name = \"a\", diametr = 6 }]"), "did you mean `diameter`?"),
        (lines("machine = { rapid = 5 }"), "`machine.rapid` must be a table"),
        (lines("units = \"cm\""), "`units` must be one of"),
        ("machine = { bed = 5 }\n".to_owned(), "`format` is missing"),
        ("format = 2\n".to_owned(), "format 2 needs a newer version"),
        ("format = 1\n[blank\n".to_owned(), "this is not TOML"),
    ] {
        let shown = refusal(&[("scene.toml", SCENE), ("router.toml", &library), ("cutters.toml", CUTTERS)]);
        assert!(shown.contains(words) && shown.contains("router.toml:"), "{words} not in\n{shown}\nof\n{library}");
    }
}

#[test]
fn a_library_or_cutter_that_is_not_there_is_told_with_the_nearest() {
    let all = [("router.toml", ROUTER), ("cutters.toml", CUTTERS)];
    for (scene, words) in [
        (SCENE.replace("router.toml", "ruoter.toml"), "did you mean \"router.toml\"?"),
        (SCENE.replace("router.toml", "saw.toml"), "it is looked for in"),
        (SCENE.replace("\"roughing\"", "\"rouging\""), "did you mean \"roughing\"?"),
        (SCENE.replace("\"roughing\"", "\"x\""), "there are \"long\", \"roughing\""),
        (SCENE.replace("\"roughing\"", "\"y\", number = 0"), "no library has a cutter called \"y\""),
        (SCENE.replace("\"roughing\"", "6"), "`from` must be a text in quotes"),
        (SCENE.replace("cutter = [{ from = \"roughing\" }]", ""), "`cutter` is missing"),
    ] {
        let shown = refusal(&[("scene.toml", &scene), all[0], all[1]]);
        assert!(shown.contains(words) && shown.contains("scene.toml:"), "{words} not in\n{shown}");
        assert_eq!(shown.matches("error: ").count(), 1, "one mistake is told once:\n{shown}");
    }
    let circle = CUTTERS.replace("number = 7", "from = \"long\"");
    let shown = refusal(&[("scene.toml", SCENE), all[0], ("cutters.toml", &circle)]);
    assert!(shown.contains("in a circle: roughing → long → roughing") && shown.contains("cutters.toml:"), "{shown}");
}

#[test]
fn libraries_may_be_nested_four_deep() {
    let library = |next: usize| format!("format = 1\nuse = [\"l{next}.toml\"]\nmachine = {{ bed = {next} }}\n");
    let texts: Vec<String> = (2..6).map(library).chain(["format = 1\n".to_owned()]).collect();
    let names: Vec<String> = (1..=5).map(|n| format!("l{n}.toml")).collect();
    let mut files: Vec<(&str, &str)> = names.iter().map(String::as_str).zip(texts.iter().map(String::as_str)).collect();
    files.push(("cutters.toml", CUTTERS));
    let begun = |at: usize| SCENE.replace("router.toml", &names[at]);
    let (deep, fits) = (begun(0), begun(1));
    let shown = refusal(&[&files[..], &[("scene.toml", deep.as_str())]].concat());
    assert!(shown.contains("nested more than 4 deep") && shown.contains("l4.toml:2"), "{shown}");
    assert_eq!(load(&[&files[..], &[("scene.toml", fits.as_str())]].concat()).unwrap().machine.bed, Some(3.0));
}

#[cfg(unix)]
#[test]
fn a_link_to_a_library_may_not_lead_out_of_the_folder() {
    let (inside, outside) =
        (folder(&[("cutters.toml", CUTTERS), ("scene.toml", SCENE)]), folder(&[("r.toml", ROUTER)]));
    std::os::unix::fs::symlink(outside.path().join("r.toml"), inside.path().join("router.toml")).unwrap();
    let read = |allow_outside| {
        let options = LoadOptions { allow_outside, ..LoadOptions::default() };
        Scene::load(&inside.path().join("scene.toml"), options)
    };
    assert!(read(false).unwrap_err().render(false).contains("leads out of the folder of this file"));
    assert!(read(true).is_ok());
}

proptest::proptest! {
    #![proptest_config(proptest::test_runner::Config { failure_persistence: None, ..Default::default() })]

    #[test]
    fn a_damaged_library_never_panics(at in 0usize..400, cut in 0usize..40, put in "[\\[\\]{}=\"',.#a-z0-9\\n -]{0,8}") {
        let mut text = format!("{ROUTER}{}", CUTTERS.replace("format = 1\nunits = \"inch\"", ""));
        let at = at.min(text.len());
        text.replace_range(at..(at + cut).min(text.len()), &put);
        if let Err(error) = load(&[("scene.toml", SCENE), ("router.toml", &text), ("cutters.toml", "format = 1\n")]) {
            error.render(false);
        }
    }
}
