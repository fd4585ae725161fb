//! Whole scene files: what is read, what is assumed, what is refused and how it is said.

use std::path::Path;

use dryturn_geom::{Shape, Side};
use dryturn_scene::{Batch, BlankShape, LoadOptions, Origin, Scene, SceneError, Shank, ZeroHeight};

const LEAST: &str = "format = 1
blank = { diameter = 64, length = 200 }
program = [{ file = \"part.nc\" }]
cutter = [{ diameter = 6 }]
";

fn folder() -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a folder for the test");
    for (name, text) in [
        ("part.nc", "G0 Z40\nG1 X10 Z30 F300\nM30\n"),
        ("rough.nc", "G0 X0 Z40 A0\nG1 X10 Z30 A90 F300\nM30\n"),
        ("keyhole.csv", "height, radius\n0, 4\n3, 4\n3, 2\n10, 2\n"),
        ("wanted.stl", ""),
    ] {
        std::fs::write(folder.path().join(name), text).expect("a file for the test");
    }
    folder
}

fn parse(text: &str) -> Result<Scene, SceneError> {
    let folder = folder();
    Scene::parse(text, "scene.toml", folder.path(), LoadOptions::default())
}

fn refusal(text: &str) -> String {
    match parse(text) {
        Ok(_) => panic!("accepted:\n{}", &text[..text.len().min(2000)]),
        Err(error) => error.render(false),
    }
}

fn with(lines: &str) -> String {
    format!("{LEAST}{lines}\n")
}

fn not_checked(scene: &Scene) -> Vec<&str> {
    scene.not_checked.iter().map(|item| item.what.as_str()).collect()
}

#[test]
fn the_fewest_lines_make_a_scene() {
    let scene = parse(LEAST).unwrap();
    assert_eq!(scene.blank.shape, BlankShape::Round { diameter: 64.0 });
    assert_eq!((scene.stock().start, scene.stock().end()), (0.0, 200.0));
    let cutter = &scene.cutters[0];
    assert_eq!((cutter.number, cutter.flutes.radius(), cutter.flutes.length()), (1, 3.0, 18.0));
    assert_eq!((cutter.teeth, cutter.cuts_center, &cutter.shank), (2, true, &Shank::Plain(6.0)));
    assert_eq!(scene.programs[0].cutter, Some(1));
    assert_eq!(scene.machine.rapid.z, 2000.0);
    assert_eq!(scene.grid.pitch, 0.256);
    assert_eq!(scene.checks.near("jaws"), 2.0);
    let assumed: Vec<(&str, &str)> = scene.assumed.iter().map(|a| (a.key.as_str(), a.value.as_str())).collect();
    for expected in [
        ("machine.along", "\"x\""),
        ("machine.turns", "\"iso\""),
        ("machine.rapid.a", "3600"),
        ("zero.z", "\"axis\""),
        ("cutter[1].flute", "\"18 mm\""),
        ("cutter[1].number", "1"),
        ("program[1].cutter", "1"),
        ("grid.pitch", "\"0.256 mm\""),
    ] {
        assert!(assumed.contains(&expected), "{expected:?} not in {assumed:?}");
    }
    for what in
        ["holding", "tailstock", "holder of cutter 1", "stickout of cutter 1", "reach", "bed", "spindle", "target"]
    {
        assert!(not_checked(&scene).contains(&what), "{what} not in {:?}", not_checked(&scene));
    }
    assert!(!scene.holding_described() && !scene.holders_described());
}

#[test]
fn the_whole_format_is_read() {
    let scene = parse(include_str!("data/whole.toml")).unwrap();
    assert_eq!(scene.title.as_deref(), Some("Curtain-rod end, hard maple"));
    assert_eq!(scene.blank.shape, BlankShape::Round { diameter: 63.5 });
    assert_eq!(scene.blank_start(), -15.0);
    assert_eq!(scene.machine.reach.z, Some([-5.0, 130.0]));
    assert_eq!(scene.machine.spindle[1].length, 120.0);
    assert_eq!(scene.chuck.as_ref().and_then(|c| c.jaws.as_ref()).map(|j| j.turned_deg), Some(5.0));
    assert_eq!(scene.tailstock.as_ref().map(|t| (t.quill, t.dimple)), Some((16.0, 2.0)));
    assert_eq!(scene.fixed[0].y, [-60.0, -40.0]);
    assert_eq!(scene.moving[0].to, 40.0);
    assert_eq!(scene.zeros.systems[1].x, Some(120.0));
    assert_eq!(scene.zeros.systems[6].z, Some(ZeroHeight::Height(12.5)));
    assert_eq!(scene.cutters.len(), 6);
    assert_eq!(scene.cutters[4].flutes.radius(), 1.5875);
    assert_eq!(scene.cutters[0].limits.chip, Some([0.02, 0.12]));
    assert!(matches!(scene.cutters[5].flutes.shape(), Shape::Form { profile } if profile.len() == 4));
    let shank: Vec<f64> = scene.cutters[0].shank_cylinders().iter().map(|c| c.length).collect();
    assert_eq!(shank, [15.0]);
    assert_eq!(scene.programs[0].zeros.systems[0].z, Some(ZeroHeight::Surface));
    assert_eq!(scene.programs[1].slip.a_deg, 0.5);
    assert_eq!((scene.checks.near("center"), scene.checks.near("quill")), (0.5, 2.0));
    assert_eq!(scene.accept[0].lines, Some([10, 20]));
    assert_eq!(scene.blank.material.as_ref().and_then(|m| m.bending), Some(109.0));
    assert_eq!(scene.machine.spindle_speed, Some(18000.0));
    assert_eq!(scene.chuck.as_ref().and_then(|chuck| chuck.torque), Some(6.0));
    assert_eq!(scene.tailstock.as_ref().and_then(|tailstock| tailstock.force), Some(150.0));
    assert_eq!((scene.checks.spring, scene.checks.safety), (Some(0.2), 3.0));
    assert_eq!(scene.batch, Some(Batch { pieces: 10, loading_seconds: Some(240.0) }));
    assert!(not_checked(&scene).contains(&"doubt"), "{:?}", not_checked(&scene));
    for what in [
        "holding",
        "bed",
        "reach",
        "spindle",
        "tailstock body",
        "limits of load",
        "machine.rise",
        "machine.skew",
        "machine.backlash",
    ] {
        assert!(!not_checked(&scene).contains(&what), "{what}");
    }
}

#[test]
fn what_loads_are_not_held_against_is_said_once() {
    let because = |text: &str| {
        let scene = parse(text).unwrap();
        scene.not_checked.iter().map(|row| format!("{}: {}", row.what, row.because)).collect::<Vec<_>>()
    };
    assert!(because(LEAST).iter().any(|row| row.starts_with("loads, spring and strength: ")));
    let walnut = LEAST.replace("length = 200 }", "length = 200, material = \"walnut\" }");
    let rows = because(&walnut);
    let found = |start: &str| rows.iter().find(|row| row.starts_with(start)).cloned().unwrap_or_default();
    assert!(
        found("limits of load").ends_with("not given: machine.spindle_power and machine.rotary_torque."),
        "{rows:?}"
    );
    let limits = found("limits of cutters");
    assert!(limits.ends_with("what is not given: depth, width, plunge and chip of cutter 1."), "{rows:?}");
    assert!(found("loads, spring").is_empty() && found("some loads").is_empty(), "{rows:?}");
    let board = LEAST.replace("length = 200 }", "length = 200, material = \"tooling board\" }");
    let rows = because(&board);
    assert!(
        rows.iter().any(|row| row.contains("this is not known: specific cutting force and shear strength.")),
        "{rows:?}"
    );
}

/// The same scene, but for what a resolved file cannot or need not repeat.
fn comparable(mut scene: Scene) -> Scene {
    scene.assumed.clear();
    scene.given.clear();
    scene
}

#[test]
fn a_resolved_scene_reads_back_as_itself() {
    let inch = "format = 1
units = \"inch\"
blank = { across_flats = 3, sides = 6, length = \"110 mm\", turned = 12.5 }
program = [{ file = \"part.nc\", zero = { z = { flat = true } } }, { file = \"rough.nc\", zero.g59 = { x = 1.25 } }]
cutter = [{ shape = \"vee\", angle = 77.7, diameter = 0.5 }, { shape = \"form\", profile = \"keyhole.csv\" }]
faceplate = { diameter = 2.3, thickness = 0.3, screws = [{ radius = 0.7, angle = 45, diameter = 0.16, length = 1 }] }
machine = { along = \"y\", rotary = \"X\", wrap_diameter = 2.1, turns = \"reversed\", chuck_on = \"+y\" }
";
    let own = with(
        "[blank.material]\ndensity = 650\ncutting = [20, 30]\n[drive]\ncenter = { diameter = 20, length = 15, bite = 3 }"
    )
    .replace("blank = { diameter = 64, length = 200 }\n", "")
    .replace("[blank.material]", "[blank]\ndiameter = 60\nbore = 20\nlength = 100\n[blank.material]");
    let folder = folder();
    for text in [LEAST, include_str!("data/whole.toml"), inch, &own] {
        let read = |text: &str| match Scene::parse(text, "scene.toml", folder.path(), LoadOptions::default()) {
            Ok(scene) => scene,
            Err(error) => panic!("{}\n{text}", error.render(false)),
        };
        let scene = read(text);
        let resolved = scene.resolved_toml();
        let again = read(&resolved);
        assert_eq!(again.resolved_toml().replace("# default", "# scene"), resolved.replace("# default", "# scene"));
        assert_eq!(comparable(again), comparable(scene), "{resolved}");
    }
}

#[test]
fn a_resolved_scene_says_where_each_key_came_from() {
    let resolved =
        parse(&with("[machine]\nbed = 75\nstart = { z = 80 }\nrapid = { x = 5000 }")).unwrap().resolved_toml();
    for line in [
        "diameter = 64.0  # scene",
        "bed = 75.0  # scene",
        "start.z = 80.0  # scene",
        "rapid.x = 5000.0  # scene",
        "rapid.y = 3000.0  # default",
        "turns = \"iso\"  # default",
        "# stickout: not given",
        "pitch = 0.256  # default",
        "file = \"part.nc\"  # scene",
    ] {
        assert!(resolved.lines().any(|l| l == line), "{line} not in\n{resolved}");
    }
}

#[test]
fn no_scene_file_is_needed() {
    let folder = folder();
    let program = folder.path().join("part.nc");
    let scene = Scene::from_flags(&program, "2 1/2 in x 200", "ball:3").unwrap();
    assert_eq!(scene.blank.shape, BlankShape::Round { diameter: 63.5 });
    assert_eq!(scene.cutters[0].flutes.shape(), &Shape::Ball);
    assert_eq!(scene.given.get("blank.diameter"), Some(&Origin::Flag));
    assert!(scene.resolved_toml().contains("diameter = 63.5  # flag"));
    let saved = Scene::flags_to_toml(&program, "2 1/2 in x 200", "ball:3", folder.path()).unwrap();
    assert!(saved.contains("file = \"part.nc\""), "{saved}");
    let again = Scene::parse(&saved, "scene.toml", folder.path(), LoadOptions::default()).unwrap();
    assert_eq!(again.blank, scene.blank);
    assert!(matches!(Scene::from_flags(Path::new("nowhere.nc"), "64x200", "flat:6"), Err(SceneError::Read { .. })));
    assert!(matches!(Scene::from_flags(&program, "64", "flat:6"), Err(SceneError::Argument { .. })));
}

#[test]
fn units_hold_for_every_length_and_rate() {
    let scene = parse(
        "format = 1
units = \"inch\"
blank = { diameter = \"2 1/4 in\", length = \"200 mm\", runout = { y = 0.01 } }
program = [{ file = \"part.nc\" }]
cutter = [{ diameter = 0.25, flute = \"3/4\", plunge = 20, stickout = 1.5, holder = [[1, 0.5]] }]
[machine]
rapid = { x = 100, y = \"100 in/min\", z = \"2000 mm/min\", a = 1800 }
accel = { x = 10, a = 1500 }
[zero]
z = \"1 in\"
x = \"20mm\"
",
    )
    .unwrap();
    let near = |a: f64, b: f64| assert!((a - b).abs() < 1e-9, "{a} {b}");
    assert_eq!(scene.blank.shape, BlankShape::Round { diameter: 57.15 });
    near(scene.blank.length, 200.0);
    near(scene.blank.runout[0], 0.254);
    near(scene.blank.runout_far[0], 0.254);
    near(scene.cutters[0].flutes.length(), 19.05);
    near(scene.cutters[0].limits.plunge.unwrap(), 508.0);
    near(scene.cutters[0].holder[0].diameter, 25.4);
    near(scene.machine.rapid.x, 2540.0);
    near(scene.machine.rapid.y, 2540.0);
    near(scene.machine.rapid.z, 2000.0);
    near(scene.machine.rapid.a, 1800.0);
    near(scene.machine.accel.x.unwrap(), 254.0);
    near(scene.zero(0, 0).z, 25.4);
    near(scene.zero(0, 0).x, 20.0);
}

#[test]
fn an_unknown_key_is_named_with_the_nearest() {
    let expected = "\
error: unknown key `wrap_diametre` in [machine]
 --> scene.toml:6:1
  |
6 | wrap_diametre = 5
  | ^^^^^^^^^^^^^ not a key of this table
  |
  = help: did you mean `wrap_diameter`?
";
    assert_eq!(refusal(&with("[machine]\nwrap_diametre = 5")), expected);
}

#[test]
fn all_problems_of_a_file_are_told_at_once() {
    let expected = "\
error: `blank.diameter` must be a length above zero
 --> scene.toml:2:22
  |
2 | blank = { diameter = -64, length = 200 }
  |                      ^^^

error: unknown key `stickuot` in [[cutter]]
 --> scene.toml:4:27
  |
4 | cutter = [{ diameter = 6, stickuot = 30 }]
  |                           ^^^^^^^^ not a key of this table
  |
  = help: did you mean `stickout`?

error: unknown key `hold` in the scene
 --> scene.toml:5:1
  |
5 | hold = 15
  | ^^^^ not a key of this table
  |
  = help: `hold` belongs to [chuck]

error: `zero.x` is not a length: `5 feet` is not a unit of length; use mm, cm, m, in, inch or \"
 --> scene.toml:7:5
  |
7 | x = \"5 feet\"
  |     ^^^^^^^^
";
    let text = with("hold = 15\n[zero]\nx = \"5 feet\"")
        .replace("diameter = 64", "diameter = -64")
        .replace("diameter = 6 ", "diameter = 6, stickuot = 30 ");
    let shown = refusal(&text);
    // The unit error quotes the text it could not read.
    assert_eq!(shown.replace("`feet`", "`5 feet`"), expected);
}

#[test]
fn each_kind_of_mistake_has_its_own_words() {
    let least = |from: &str, to: &str| LEAST.replace(from, to);
    for (text, words) in [
        (least("format = 1\n", ""), "`format` is missing"),
        (least("format = 1", "format = 2"), "format 2 needs a newer version"),
        (least("format = 1", "format = \"one\""), "`format` must be the number 1"),
        (least("format = 1", "format = 0"), "`format` must be the number 1"),
        (least("64", "nan"), "`blank.diameter` is not a number"),
        (least("64", "inf"), "`blank.diameter` is beyond any length"),
        (least("64", "1e308"), "`blank.diameter` is beyond any length"),
        (least("64", "0"), "must be a length above zero"),
        (least("64", "true"), "`blank.diameter` must be a length, not a boolean"),
        (least("length = 200", ""), "`blank.length` is missing"),
        (least("cutter = [{ diameter = 6 }]", "cutter = 6"), "`cutter` must be a list of tables"),
        (least("cutter = [{ diameter = 6 }]", "cutter = []"), "at least one cutter"),
        (least("cutter = [{ diameter = 6 }]", "cutter = [6]"), "`cutter[1]` must be a table"),
        (least("part.nc", "missing.nc"), "`missing.nc` does not exist"),
        (least("part.nc", "../part.nc"), "leads out of the scene's folder"),
        (least("part.nc", "/etc/passwd"), "leads out of the scene's folder"),
        (least("part.nc", ""), "must name a file"),
        (with("[machine]\nrotary = \"Y\""), "`machine.wrap_diameter` is missing"),
        (with("[machine]\nwrap_diameter = 60"), "is for a wrapped word"),
        (with("[machine]\nrotary = \"Q\""), "must be \"A\", \"B\", \"C\""),
        (with("[machine]\nturns = \"isso\""), "did you mean \"iso\"?"),
        (with("[machine]\nreach = { x = [5, 1] }"), "must rise"),
        (with("[machine]\nreach = { x = [5] }"), "must hold two numbers"),
        (with("[machine]\nspindle = [[52]]"), "must be [diameter, length]"),
        (with("use = \"router.toml\""), "`use` must be a list"),
        (with("use = [\"none.toml\"]"), "the library `none.toml` does not exist"),
        (with("[zero]\nz = { touch = { station = 300 } }"), "comes down on nothing"),
        (with("[zero]\nz = { touch = { a = 0 } }"), "`zero.z.touch.station` is missing"),
        (
            least(
                "program = [{ file = \"part.nc\" }]",
                "program = [{ file = \"part.nc\" }, { file = \"part.nc\", zero = { z = { touch = { station = 50 } } } }]",
            ),
            "comes down on nothing",
        ),
        (with("[zero]\nz = \"top\""), "cannot be \"top\""),
        (with("[zero]\nz = { flat = true }"), "this blank has no flat"),
        (with("[chuck]\nhold = 300"), "the jaws hold 300 mm of a blank only 200 mm long"),
        (
            with("[chuck]\njaws = { count = 4, width = 1, length = 1, height = 1, grip = \"inside\" }"),
            "only of a blank with a bore",
        ),
        (with("[tailstock]\ndimple = 1"), "`tailstock.center` is missing"),
        (with("[[fixed]]\nname = \"jaws\"\nbox = [0, 1, 0, 1, 0, 1]"), "this name is taken"),
        (with("[[fixed]]\nname = \"clamp\"\nbox = [0, 1, 0, 1, 0]"), "must hold six lengths"),
        (with("[[fixed]]\nname = \"clamp\"\nbox = [0, 1, 0, 1, 1, 0]"), "encloses nothing"),
        (with("[checks]\nnear = { jwas = 1 }"), "no body is called `jwas`"),
        (with("[checks]\nshank_in_blank = { warning = 0.4 }"), "is less than that of a warning"),
        (with("[checks]\nwound_up = { minuts = 4 }"), "minutes"),
        (with("[checks]\nslender = 0"), "slender` must"),
        (with("[grid]\npitch = 0.001"), "must lie between 0.01 and 100"),
        (with("[controller]\nline_limit = 1.5"), "must be a whole number"),
        (with("[target]\nfile = \"none.stl\""), "does not exist"),
        (least("diameter = 64", "shape = \"kept\", file = \"x\""), "a kept blank cannot be read here"),
        (least("diameter = 64, length = 200", "file = \"part.nc\""), "its name does not end in stl, obj, ply or 3mf"),
        (least("diameter = 64", "shape = \"mesh\""), "`blank.file` is missing"),
        (least("diameter = 64", "file = \"part.nc\""), "does not belong to a blank from a mesh"),
        (least("diameter = 64", "diameter = 64, bore = 64"), "leaves nothing"),
        (least("diameter = 64", "diameter = 64, sides = 5"), "`blank.sides` does not belong to a round blank"),
        (least("length = 200", "length = 200, material = \"hard mapel\""), "did you mean \"hard maple\"?"),
        (least("diameter = 6 ", "diameter = 6, from = \"x\" "), "no library has a cutter called \"x\""),
        (least("diameter = 6 ", "shape = \"bull\", diameter = 6, corner = 4 "), "this is no cutter"),
        (
            least("diameter = 6 ", "diameter = 6, angle = 60 "),
            "`angle` is for shape = \"vee\" or \"taper\" or \"drill\"",
        ),
        (least("diameter = 6 ", "shape = \"vee\", diameter = 6 "), "`cutter[1].angle` is missing"),
        (least("diameter = 6 ", "diameter = 6, flute = 30, stickout = 20 "), "longer than the stickout"),
        (least("diameter = 6 }", "diameter = 6 }, { number = 1, diameter = 3 }"), "two cutters with the number 1"),
        (least("part.nc\"", "part.nc\", cutter = 7"), "there is no cutter 7"),
        ("format = 1\n[blank\n".into(), "this is not TOML"),
        ("G0 X10\n".into(), "this is not TOML"),
        (String::new(), "the scene is empty"),
        (" \n\n".into(), "blank = { diameter = 64, length = 200 }"),
        (LEAST.replace("diameter = 64", "diameter = 4001"), "is no router's"),
        (LEAST.replace("length = 200", "length = 20001"), "look at `units`"),
    ] {
        let shown = refusal(&text);
        assert!(shown.contains(words), "{words} not in\n{shown}\nof\n{text}");
    }
}

#[test]
fn files_that_are_no_scene_are_refused_as_a_whole() {
    let folder = folder();
    let refuse = |name: &str, bytes: &[u8]| {
        let path = folder.path().join(name);
        std::fs::write(&path, bytes).unwrap();
        Scene::load(&path, LoadOptions::default()).expect_err(name).render(false)
    };
    assert!(refuse("empty.toml", b"").contains("the scene is empty"));
    assert!(refuse("latin.toml", b"format = 1\ntitle = \"\xe4\"\n").contains("line 2 is not UTF-8 text"));
    assert!(refuse("binary.toml", b"\x00\x01\x02").contains("this is not TOML"));
    assert!(refuse("huge.toml", &vec![b'#'; 5 << 20]).contains("larger than 4 MiB"));
    let long = refuse("long.toml", format!("format = 1\ntitle = {}\n", "[".repeat(3 << 20)).as_bytes());
    assert!(long.contains("this is not TOML") && long.len() < 8000, "{}", long.len());
    assert!(Scene::load(folder.path(), LoadOptions::default()).expect_err("folder").render(false).contains("a folder"));
    let missing = Scene::load(&folder.path().join("none.toml"), LoadOptions::default());
    assert!(matches!(missing, Err(SceneError::Read { .. })));
    let path = folder.path().join("windows.toml");
    std::fs::write(&path, format!("\u{feff}{}", LEAST.replace('\n', "\r\n"))).unwrap();
    assert!(Scene::load(&path, LoadOptions::default()).is_ok());
}

#[cfg(unix)]
#[test]
fn a_link_may_not_lead_out_of_the_folder() {
    let (inside, outside) = (folder(), folder());
    let link = inside.path().join("link.nc");
    std::os::unix::fs::symlink(outside.path().join("part.nc"), link).unwrap();
    let text = LEAST.replace("part.nc", "link.nc");
    let read = |allow_outside| {
        Scene::parse(&text, "scene.toml", inside.path(), LoadOptions { allow_outside, ..LoadOptions::default() })
    };
    assert!(read(false).unwrap_err().render(false).contains("a link that leads out"));
    assert!(read(true).is_ok());
}

#[test]
fn zeros_sit_where_they_are_said_to() {
    let square = LEAST.replace("diameter = 64", "across_flats = 60");
    let height = |text: &str, keys: &str| parse(&format!("{text}[zero]\n{keys}\n")).unwrap().zero(0, 0).z;
    assert_eq!(height(LEAST, "z = \"surface\""), 32.0);
    assert!((height(&square, "z = \"surface\"") - 30.0 * std::f64::consts::SQRT_2).abs() < 1e-9);
    assert_eq!(height(&square, "z = { flat = true }"), 30.0);
    assert_eq!(height(&square, "z = \"axis\""), 0.0);
    assert_eq!(height(&square, "z = 12"), 12.0);
    let noted = parse(&format!("{square}[zero]\nz = \"surface\"\n")).unwrap().notes;
    assert_eq!(noted.len(), 1);
    assert!(noted[0].contains("42.426") && noted[0].contains("30.000") && noted[0].contains("0 (\"axis\")"));
    assert!(parse(LEAST).unwrap().notes.is_empty());
}

#[test]
fn a_program_overrides_the_zero_key_by_key() {
    let text = LEAST.replace("part.nc\" }", "part.nc\", zero = { z = 5, g55 = { y = 3 } } }")
        + "[zero]\nx = 20\nz = 1\na = 90\n[zero.g55]\nx = 120\n";
    let scene = parse(&text).unwrap();
    let g54 = scene.zero(0, 0);
    assert_eq!((g54.x, g54.y, g54.z), (20.0, 0.0, 5.0));
    let g55 = scene.zero(0, 1);
    assert_eq!((g55.x, g55.y, g55.z, g55.turn), (120.0, 3.0, 5.0, g54.turn));
    let origins = scene.origins(0);
    assert_eq!(origins[1], [100.0, 3.0, 0.0, 0.0, 0.0, 0.0]);
    assert_eq!(origins[2], [0.0; 6]);
}

#[test]
fn the_faceplate_puts_the_blank_at_station_zero() {
    let text = with("[chuck]\nbody = { diameter = 80, length = 45 }\n[faceplate]\ndiameter = 60\nthickness = 8");
    let scene = parse(&text).unwrap();
    assert_eq!(scene.blank_start(), 0.0);
    assert_eq!(scene.machine.chuck_on, Side::Minus);
    assert!(scene.notes.is_empty());
    let noted = parse(&text.replace("[chuck]\n", "[chuck]\nhold = 5\n")).unwrap();
    assert_eq!(noted.blank_start(), 0.0);
    assert!(noted.notes[0].contains("the 5 mm the chuck is said to hold have no effect"), "{:?}", noted.notes);
}

#[test]
fn every_way_to_hold_may_stand_in_one_file() {
    let more = "[faceplate]
diameter = 60
thickness = 8
screws = [{ radius = 0, angle = 0, diameter = 4, length = 25 }]
[drive]
center = { diameter = 20, length = 15, bite = 3 }
body = { diameter = 50, length = 60 }
";
    let scene = parse(&format!("{}{more}", include_str!("data/whole.toml"))).unwrap();
    assert_eq!(scene.faceplate.as_ref().map(|plate| plate.screws[0].length), Some(25.0));
    assert_eq!(scene.drive.as_ref().map(|drive| (drive.bite, drive.center.length)), Some((3.0, 15.0)));
    assert_eq!(scene.blank_start(), 0.0);
}

#[test]
fn files_of_megabytes_that_are_no_scenes_are_told_in_a_page() {
    let keys: String = (0..200_000).map(|k| format!("k{k} = 1\n")).collect();
    let word = "x".repeat(3 << 20);
    for text in [
        with(&keys),
        with(&format!("{word} = 1")),
        with(&format!("title = 5\nunits = \"{word}\"")),
        LEAST.replace("length = 200", &format!("length = 200, material = \"{word}\"")),
        LEAST.replace("64", &format!("\"{word}\"")),
        with(&"[[moving]]\n".repeat(100_000)),
        format!("format = 1\n{}", "[[cutter]]\ndiameter = 6\n".repeat(100_000)),
        LEAST.replace("64", &"9".repeat(1 << 20)),
        LEAST.replace("64", &format!("0.{}", "0".repeat(1 << 20))),
    ] {
        let shown = refusal(&text);
        assert!(shown.len() < 12_000, "{} bytes", shown.len());
    }
}

proptest::proptest! {
    #![proptest_config(proptest::test_runner::Config { failure_persistence: None, ..Default::default() })]

    #[test]
    fn nothing_that_is_read_panics(bytes in proptest::collection::vec(proptest::num::u8::ANY, 0..200)) {
        let text = String::from_utf8_lossy(&bytes).into_owned();
        if let Err(error) = parse(&text) {
            error.render(true);
        }
    }

    #[test]
    fn a_damaged_scene_never_panics(
        at in 0usize..4000, cut in 0usize..60, put in "[\\[\\]{}=\"',.#a-z0-9\\n -]{0,8}"
    ) {
        let mut text = include_str!("data/whole.toml").to_owned();
        let at = at.min(text.len());
        text.replace_range(at..(at + cut).min(text.len()), &put);
        if let Err(error) = parse(&text) {
            error.render(false);
        }
    }
}

#[test]
fn an_accepted_rule_must_exist_and_have_a_reason() {
    let folder = folder();
    let parse = |lines: &str, rules| {
        let options = LoadOptions { rules, ..LoadOptions::default() };
        Scene::parse(&with(lines), "scene.toml", folder.path(), options).map_err(|error| error.render(false))
    };
    let rules = ["holder-hits", "near-miss"];
    let entry = "[[accept]]\nrule = \"holder-hit\"\nwhy = \"seen\"";
    let refused = parse(entry, Some(&rules)).unwrap_err();
    for words in ["no rule is called \"holder-hit\"", "scene.toml:6", "^^^^", "did you mean \"holder-hits\"?"] {
        assert!(refused.contains(words), "{words}:\n{refused}");
    }
    assert!(parse(&entry.replace("holder-hit", "poem"), Some(&rules)).unwrap_err().contains("dryturn rule"));
    assert_eq!(parse(&entry.replace("hit", "hits"), Some(&rules)).unwrap().accept[0].rule, "holder-hits");
    assert_eq!(parse(entry, None).unwrap().accept[0].rule, "holder-hit", "who names no rules looks at no names");
    assert!(parse(&entry.replace("seen", " "), None).unwrap_err().contains("the reason is empty"));
    assert!(
        parse("[[accept]]\nrule = \"near-miss\"", Some(&rules)).unwrap_err().contains("`accept[1].why` is missing")
    );
    assert!(parse(&format!("{entry}\nprogram = 2"), None).unwrap_err().contains("whole number from 1 to 1"));
}
