//! `dryturn mesh`: bodies in files, and what they come to.

use std::collections::BTreeMap;

use dryturn_scene::Mesh;

use crate::workshop::{Run, Workshop};

/// A tube that is turned, slotted by a cutter of its own and drilled across, in jaws and on a live center.
const SCENE: &str = "format = 1
title = \"Peg\"
blank = { shape = \"tube\", diameter = 30, bore = 6, length = 60, material = \"hard maple\" }
program = [{ file = \"peg.nc\", cutter = 1 }, { file = \"slot.nc\", cutter = 2 }]
[[cutter]]
number = 1
diameter = 6
[[cutter]]
number = 2
name = \"small\"
diameter = 3
[grid]
pitch = 0.25
[chuck]
hold = 10
body = { diameter = 60, length = 30 }
jaws = { count = 3, width = 8, length = 12, height = 10 }
[tailstock]
center = { angle = 60, diameter = 10, quill = 12, extension = 3 }
dimple = 0
body = { width = 30, above = 30, length = 40 }
";

/// A waist all round at stations 14 to 25.
const PEG: &str = "G21 G90\nM3 S9000\nG0 X17 A0 Z30\nG1 Z11 F300\nA360 F3000\nX22 A720\nA1080\nG0 Z30\nM30\n";

/// A slot at θ = 90° from station 30 on, and a hole across at θ = 200°.
const SLOT: &str =
    "G21 G90\nM3 S9000\nG0 X30 A90 Z30\nG1 Z12 F300\nX40 F900\nG0 Z30\nG0 X45 A200\nG1 Z-20 F300\nG0 Z30\nM30\n";

fn peg() -> Workshop {
    Workshop::with(&[("scene.toml", SCENE), ("peg.nc", PEG), ("slot.nc", SLOT)])
}

fn read(workshop: &Workshop, name: &str) -> Mesh {
    let mesh = Mesh::read(&workshop.path(name), None).unwrap();
    mesh.check_closed().unwrap_or_else(|fault| panic!("{name}: {fault}"));
    mesh
}

/// The volume of a body of the peg with all its triangles, mm³.
fn volume(workshop: &Workshop, what: &str) -> f64 {
    workshop.expect(0, &format!("mesh . -o {what}.ply --what {what} --within 0"));
    read(workshop, &format!("{what}.ply")).volume()
}

#[test]
fn volumes_are_those_of_the_report_and_add_up() {
    let workshop = peg();
    workshop.run("prove . --out out --fail-on never");
    let report = workshop.report("out");
    let counted = |name: &str| report[name].as_f64().unwrap();
    let [blank, piece, removed] = ["blank", "piece", "removed"].map(|what| volume(&workshop, what));
    // The report counts rays, whose error at walls goes with the pitch.
    for (mesh, name, most) in [(blank, "blank_mm3", 1e-5), (piece, "left_mm3", 1e-3), (removed, "removed_mm3", 5e-3)] {
        assert!((mesh / counted(name) - 1.0).abs() < most, "{name}: {mesh} is not {}", counted(name));
    }
    let rest = (blank - piece - removed) / blank;
    assert!(rest.abs() < 2e-5, "{rest:e}");
    let tube = std::f64::consts::PI * (225.0 - 9.0) * 60.0;
    assert!((blank / tube - 1.0).abs() < 1e-5, "{blank} is not {tube}");
}

/// The findings of a job that is held against a mesh, by rule.
fn beside(workshop: &Workshop, scene: &str, target: &str) -> BTreeMap<String, usize> {
    let rest = scene.find("[[cutter]]").unwrap();
    let (head, tables) = scene.split_at(rest);
    let own = "gouge = 0.02, leftover = 0.02, span = [1, 49]";
    workshop.write("beside.toml", format!("{head}target = {{ {target}, {own} }}\n{tables}"));
    workshop.run("prove beside.toml --out beside --fail-on never");
    let report = workshop.report("beside");
    assert!(report["target"]["gouge_mm3"].is_number(), "{}", report["target"]);
    let mut rules = BTreeMap::new();
    for finding in report["findings"].as_array().unwrap() {
        *rules.entry(finding["rule"].as_str().unwrap().to_owned()).or_default() += 1;
    }
    rules.retain(|rule, _| rule == "gouge" || rule == "leftover");
    rules
}

#[test]
fn a_job_beside_its_own_mesh_gouges_nothing_and_leaves_nothing() {
    let workshop = peg();
    for name in ["peg.stl", "peg.ply", "peg.3mf"] {
        workshop.expect(0, &format!("mesh . -o {name}"));
        assert_eq!(beside(&workshop, SCENE, &format!("file = \"{name}\"")), BTreeMap::new(), "{name}");
    }
    // That it would be seen: turned a little, the slot and the hole are elsewhere.
    let turned = beside(&workshop, SCENE, "file = \"peg.stl\", place = { a = 3 }");
    assert_eq!(turned.into_keys().collect::<Vec<_>>(), ["gouge", "leftover"]);
}

#[test]
fn a_turned_job_has_the_turned_mesh() {
    let workshop = peg();
    workshop.write("turned.toml", SCENE.replacen("[grid]", "[zero]\na = 40\n[grid]", 1));
    workshop.expect(0, "mesh turned.toml -o turned.stl");
    let seen = |a: f64| beside(&workshop, SCENE, &format!("file = \"turned.stl\", place = {{ a = {a} }}"));
    assert_eq!(seen(-40.0), BTreeMap::new());
    assert!(seen(40.0).contains_key("gouge"));
}

#[test]
fn a_chuck_on_the_far_side_holds_the_same_piece() {
    let workshop = peg();
    workshop.expect(0, "mesh . -o near.stl --what piece");
    // Stations count the other way, and seen from the chuck the blank turns the other way.
    let mirrored = |program: &str| {
        let word = |word: &str| match (word.as_bytes()[0], &word[1..]) {
            (b'X' | b'A', number) => format!("{}{}", &word[..1], -number.parse::<f64>().unwrap()),
            _ => word.to_owned(),
        };
        let line = |line: &str| line.split(' ').map(word).collect::<Vec<_>>().join(" ");
        program.lines().map(line).collect::<Vec<_>>().join("\n") + "\n"
    };
    workshop.write("peg.nc", mirrored(PEG));
    workshop.write("slot.nc", mirrored(SLOT));
    workshop.write("scene.toml", SCENE.replacen("[grid]", "[machine]\nchuck_on = \"+x\"\n[grid]", 1));
    workshop.expect(0, "mesh . -o far.stl --what piece");
    let [near, far] = ["near.stl", "far.stl"].map(|name| read(&workshop, name));
    assert!((near.volume() / far.volume() - 1.0).abs() < 1e-5, "{} {}", near.volume(), far.volume());
    // Its slot lies where θ is 90°, at y below 0 in a right-handed frame, whatever the side of the chuck.
    for mesh in [&near, &far] {
        let is_floor = |[x, y, z]: &[f64; 3]| (28.5..41.5).contains(x) && z.abs() < 1.6 && (y + 12.0).abs() < 1e-3;
        assert!(mesh.corners.iter().filter(|corner| is_floor(corner)).count() > 4);
    }
    workshop.write("near.toml", SCENE);
    workshop.write("peg.nc", PEG);
    workshop.write("slot.nc", SLOT);
    assert_eq!(beside(&workshop, SCENE, "file = \"far.stl\""), BTreeMap::new());
}

#[test]
fn any_number_of_threads_gives_the_same_bytes() {
    let workshop = peg();
    for (name, rest) in [
        ("a.glb", "--what piece,removed,holding --color cutter"),
        ("a.3mf", "--what removed,piece"),
        ("a.stl", "--within 0"),
    ] {
        workshop.expect(0, &format!("mesh . -o {name} {rest} --threads 1"));
        let one = workshop.files().remove(name).unwrap();
        workshop.expect(0, &format!("mesh . -o {name} {rest} --threads 3"));
        assert!(one == workshop.files()[name], "{name}");
    }
}

#[test]
fn a_glb_file_holds_each_body_and_each_cutter_by_its_name() {
    let workshop = peg();
    let run = workshop.expect(0, "mesh . -o peg.glb --what holding,piece,blank --color cutter");
    assert!(run.stdout.starts_with("peg.glb\n  piece: "), "{}", run.stdout);
    let file = gltf::Gltf::open(workshop.path("peg.glb")).unwrap();
    let nodes: Vec<_> = file.nodes().map(|node| node.name().unwrap().to_owned()).collect();
    assert_eq!(nodes, ["piece", "blank", "chuck", "jaw 1", "jaw 2", "jaw 3", "center", "quill", "tailstock"]);
    let of = |node: usize| -> Vec<String> {
        let primitives = file.nodes().nth(node).unwrap().mesh().unwrap().primitives();
        primitives.map(|it| it.material().name().unwrap().to_owned()).collect()
    };
    assert_eq!(of(0), ["hard maple", "cutter 1", "cutter 2, small"]);
    assert_eq!(of(1), ["hard maple"]);
    assert_eq!((of(3), of(8)), (vec!["steel".to_owned()], vec!["cast iron".to_owned()]));
    // The slot at θ = 90° looks at whoever stands at the machine: +Z; the axis is X, up is Y.
    let piece = file.nodes().next().unwrap().mesh().unwrap();
    let small = piece.primitives().nth(2).unwrap();
    let binary = file.blob.as_ref().unwrap();
    let reader = small.reader(|_| Some(binary));
    let positions: Vec<[f32; 3]> = reader.read_positions().unwrap().collect();
    let places = reader.read_indices().unwrap().into_u32().map(|it| positions[it as usize]);
    let slot: Vec<[f32; 3]> = places.filter(|place| (0.030..0.039).contains(&place[0])).collect();
    assert!(!slot.is_empty() && slot.iter().all(|[_, y, z]| y.abs() < 0.0016 && *z > 0.0119), "{slot:?}");
}

#[test]
fn the_holding_stands_where_the_scene_says() {
    let workshop = peg();
    workshop.expect(0, "mesh . -o held.3mf --what holding --within 0.0001");
    let held = read(&workshop, "held.3mf");
    let least = held.corners.iter().fold([f64::INFINITY; 3], |least, at| std::array::from_fn(|k| least[k].min(at[k])));
    let most = held.corners.iter().fold([-f64::INFINITY; 3], |most, at| std::array::from_fn(|k| most[k].max(at[k])));
    let near = |a: [f64; 3], b: [f64; 3]| (0..3).all(|k| (a[k] - b[k]).abs() < 1e-3);
    // Chuck behind the jaws; the tailstock from 200 under the axis to 30 over it.
    let cone = 5.0 / 30f64.to_radians().tan();
    assert!(near(least, [-42.0, -30.0, -200.0]), "{least:?}");
    assert!(near(most, [50.0 + cone + 3.0 + 40.0, 30.0, 30.0]), "{most:?}");
    let pi = std::f64::consts::PI;
    let volumes =
        [pi * 900.0 * 30.0, 3.0 * 8.0 * 12.0 * 10.0, pi * 25.0 * cone / 3.0, pi * 36.0 * 3.0, 30.0 * 230.0 * 40.0];
    let whole: f64 = volumes.iter().sum();
    assert!((held.volume() / whole - 1.0).abs() < 1e-4, "{} is not {whole}", held.volume());
    // The first jaw stands upright over the tube.
    let upright = held.corners.iter().filter(|[x, y, z]| *x == 0.0 && y.abs() == 4.0 && (z - 25.0).abs() < 1e-6);
    assert_eq!(upright.count(), 2);
}

#[test]
fn the_target_is_written_as_it_was_read_and_needs_no_carving() {
    let workshop = peg();
    workshop.write("cone.csv", "0,10\n40,5\n40,3\n50,3\n");
    let target = "target = { file = \"cone.csv\", place = { x = 2 } }\n";
    workshop.write("scene.toml", SCENE.replacen("[[cutter]]", &format!("{target}[[cutter]]"), 1));
    // Far too fine to be carved.
    workshop.expect(0, "mesh . -o cone.stl --what target --within 0.001 --pitch 0.01 --memory 10MB");
    let mesh = read(&workshop, "cone.stl");
    let pi = std::f64::consts::PI;
    let whole = pi * (40.0 / 3.0 * (100.0 + 50.0 + 25.0) + 90.0);
    assert!((mesh.volume() / whole - 1.0).abs() < 3e-4, "{} is not {whole}", mesh.volume());
    workshop.write("again.toml", SCENE.replacen("[[cutter]]", "target = { file = \"cone.stl\" }\n[[cutter]]", 1));
    workshop.expect(0, "mesh again.toml -o again.stl --what target");
    let files = workshop.files();
    assert_eq!(read(&workshop, "again.stl").volume(), mesh.volume());
    assert_eq!(files["again.stl"].len(), files["cone.stl"].len());
}

/// What a run that is refused says; nothing is written by it.
fn refused(workshop: &Workshop, arguments: &str) -> String {
    let before = workshop.files();
    let Run { stderr, stdout, .. } = workshop.expect(2, arguments);
    assert_eq!(stdout, "");
    assert!(before == workshop.files(), "{arguments}");
    stderr
}

#[test]
fn what_cannot_be_written_is_refused_with_the_way_out() {
    let workshop = peg();
    workshop.write("old.stl", "an old file");
    for (arguments, said) in [
        ("mesh . -o peg.obj", "peg.obj: no mesh is written by such a name; let it end in .stl, .ply, .glb or .3mf"),
        ("mesh . -o peg", "let it end in .stl, .ply, .glb or .3mf"),
        ("mesh . -o old.stl --what piece,blank", "a file of STL holds one body; let its name end in .glb or .3mf"),
        ("mesh . -o peg.ply --color cutter", "a file of PLY holds no colours"),
        ("mesh . -o old.stl --what target", "the scene has no target; describe it under [target]"),
        ("mesh . -o old.stl --what tenon", "possible values: piece, removed, blank, target, holding"),
        ("mesh . -o old.stl --within -1", "write a distance from 0 to 100 mm"),
        ("mesh . -o old.stl --within NaN", "write a distance from 0 to 100 mm"),
        ("mesh . -o old.stl --pitch 0.001", "write a pitch from 0.01 to 100 mm"),
        ("mesh . -o old.stl --pitch -1", "write a pitch from 0.01 to 100 mm"),
        ("mesh . -o old.stl --color wood", "a file of STL holds no colours"),
        ("mesh . -o old.stl --what piece,piece", "--what names piece twice"),
        ("mesh . -o old.glb --what blank,piece,blank", "--what names blank twice"),
        ("mesh peg.nc -o old.stl", "peg.nc: not a scene file (.toml)"),
        ("mesh elsewhere -o old.stl", "elsewhere"),
        ("mesh . -o scene.toml/old.stl", "scene.toml"),
        ("mesh .", "--output"),
    ] {
        let stderr = refused(&workshop, arguments);
        assert!(stderr.contains(said), "{arguments}: {stderr}");
    }
    workshop.write("peg.nc", "G21 G90\nM3 S9000\nG0 Z40\nX20\nM30\n");
    workshop.write("slot.nc", "G21 G90\nM3 S9000\nG0 Z40\nX20\nM30\n");
    assert!(refused(&workshop, "mesh . -o old.stl --what removed").contains("take nothing off the blank"));
    workshop.write("bare.toml", SCENE.split("[chuck]").next().unwrap());
    assert!(refused(&workshop, "mesh bare.toml -o old.stl --what holding").contains("what holds the blank"));
    workshop.write("peg.nc", "G21 G90\nG1 Q\n");
    assert!(refused(&workshop, "mesh . -o old.stl").contains("peg.nc"));
    workshop.expect(0, "mesh . -o old.stl --lenient --quiet");
}

#[test]
fn little_is_said_and_nothing_where_that_is_asked_for() {
    let workshop = peg();
    let run = workshop.expect(0, "mesh scene.toml -o new/peg.stl --pitch 1");
    assert!(run.stdout.starts_with("new/peg.stl\n  piece: ") && run.stdout.ends_with(" cm³\n"), "{}", run.stdout);
    assert_eq!(run.stderr, "");
    let run = workshop.expect(0, "mesh . -o peg.stl --pitch 1 --quiet");
    assert_eq!((run.stdout.as_str(), run.stderr.as_str()), ("", ""));
    // A thinner mesh is smaller, and all triangles are more.
    let size = |arguments: &str| {
        workshop.expect(0, &format!("mesh . -o size.stl --pitch 1 {arguments}"));
        workshop.files()["size.stl"].len()
    };
    let [full, usual, rough] = ["--within 0", "", "--within 0.1"].map(size);
    assert!(full > 2 * usual && usual > rough, "{full} {usual} {rough}");
}

/// Tips of lips are no thin wood, and a kept dimple beside the axis has columns a micrometre wide.
#[test]
fn meshes_of_the_scenes_leave_nothing_to_doubt() {
    let workshop = Workshop::with(&[]);
    for scene in ["winch-handle/scene.toml", "kite-reel/scene-fixed.toml", "harbor-light/scene-fixed.toml"] {
        let run =
            workshop.expect(0, &format!("mesh {} -o mesh.ply --within 0", crate::workshop::scene(scene).display()));
        assert_eq!(run.stderr, "", "{scene}");
    }
}

#[test]
fn what_does_not_fit_into_memory_is_refused_with_the_pitch_that_does() {
    let workshop = peg();
    let stderr = refused(&workshop, "mesh . -o peg.stl --pitch 0.05 --memory 60MB");
    let fits = stderr.split("--pitch ").nth(1).and_then(|rest| rest.split([' ', '`']).next()).unwrap().to_owned();
    workshop.expect(0, &format!("mesh . -o peg.stl --memory 60MB --pitch {fits}"));
}
