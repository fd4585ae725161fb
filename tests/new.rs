//! `dryturn new` as a person runs it.

use std::path::Path;

use crate::workshop::{Run, Workshop, cases, scene};

/// A sketch of a job's programs in a folder of their own: what was printed, and the scene, which has been proved once.
fn sketched(folder: &Path, programs: &str) -> (Workshop, Run, toml::Table) {
    let workshop = Workshop::new();
    for name in programs.split_whitespace() {
        workshop.write(name, std::fs::read(folder.join(name)).unwrap());
    }
    let run = workshop.expect(0, &format!("new {programs} -o scene.toml"));
    let text = workshop.read("scene.toml");
    let table = text.parse().unwrap_or_else(|error| panic!("{error}\n{text}"));
    (workshop, run, table)
}

/// Whatever is found in it, it is a scene.
#[track_caller]
fn assert_proves(workshop: &Workshop) {
    let proved = workshop.run("prove .");
    assert!(proved.code <= 1, "{}\n{}", proved.stderr, workshop.read("scene.toml"));
}

fn number(value: &toml::Value) -> f64 {
    value.as_float().or_else(|| value.as_integer().map(|value| value as f64)).unwrap()
}

#[track_caller]
fn assert_within(value: &toml::Value, low: f64, high: f64) {
    let value = number(value);
    assert!((low..=high).contains(&value), "{value} is not in {low} to {high}");
}

/// What is really so in an example job.
struct Known {
    name: &'static str,
    programs: &'static str,
    rotary: &'static str,
    /// Of each program.
    zeros: &'static [&'static str],
    /// Diameter, where the programs tell it.
    diameter: Option<f64>,
    /// How far the blank stands out.
    length: f64,
    /// Diameters of cutters.
    cutters: &'static [f64],
}

const KNOWN: [Known; 8] = [
    Known {
        name: "winch-handle",
        programs: "hexagon.nc holes.nc edges.nc part.nc",
        rotary: "A",
        zeros: &["axis", "axis", "axis", "axis"],
        diameter: Some(40.0),
        length: 125.0,
        cutters: &[6.0],
    },
    Known {
        name: "kite-reel",
        programs: "groove.nc windows.nc",
        rotary: "A",
        zeros: &["axis", "axis"],
        diameter: Some(50.0),
        length: 78.0,
        cutters: &[],
    },
    Known {
        name: "choir-stand",
        programs: "round.nc waist-first.nc size.nc beads.nc",
        rotary: "A",
        zeros: &["axis", "axis", "axis", "axis"],
        // The corners of a square of 24.
        diameter: Some(33.94),
        length: 470.0,
        cutters: &[6.0, 4.0],
    },
    Known {
        name: "coat-peg",
        programs: "shape.nc ring.nc",
        rotary: "A",
        zeros: &["axis", "axis"],
        diameter: Some(32.0),
        length: 75.0,
        cutters: &[6.0, 4.0],
    },
    Known {
        name: "marble-lift",
        programs: "turn.nc groove.nc finish.nc",
        rotary: "A",
        zeros: &["surface", "axis", "surface"],
        diameter: Some(60.0),
        length: 280.0,
        cutters: &[12.0, 16.0, 6.0],
    },
    Known {
        name: "vane-cap",
        programs: "round.nc profile.nc",
        rotary: "A",
        // On a flat of a square.
        zeros: &["surface", "surface"],
        diameter: None,
        length: 110.0,
        cutters: &[10.0, 6.0],
    },
    Known {
        name: "harbor-light",
        programs: "turning.nc faceting.nc",
        rotary: "Y",
        zeros: &["axis", "axis"],
        diameter: None,
        length: 155.6,
        cutters: &[0.4724, 0.315],
    },
    Known {
        name: "harbor-light",
        programs: "letters.nc",
        rotary: "Y",
        zeros: &["surface"],
        diameter: Some(48.0),
        length: 63.5,
        cutters: &[],
    },
];

#[test]
fn the_example_jobs_are_guessed_from_their_programs() {
    for known in KNOWN {
        let (workshop, run, table) = sketched(&scene(known.name), known.programs);
        assert_proves(&workshop);
        let unit = if table.get("units").and_then(toml::Value::as_str) == Some("inch") { 25.4 } else { 1.0 };
        assert_eq!(unit == 25.4, known.name == "harbor-light", "{}", known.name);
        assert_eq!(table["machine"]["rotary"].as_str(), Some(known.rotary), "{}", known.name);
        let own = |program: &toml::Value| Some(program.get("zero")?.get("z")?.as_str()?.to_owned());
        let first = table["zero"]["z"].as_str().unwrap();
        let zeros: Vec<String> = table["program"]
            .as_array()
            .unwrap()
            .iter()
            .map(|program| own(program).unwrap_or(first.to_owned()))
            .collect();
        assert_eq!(zeros, known.zeros, "{}", known.name);
        if let Some(diameter) = known.diameter {
            assert_within(&table["blank"]["diameter"], 0.95 * diameter / unit, 1.05 * diameter / unit);
            assert!(
                !run.stdout.contains("Standing in") || !run.stdout.contains("blank.diameter = 0"),
                "{}",
                run.stdout
            );
        }
        // The programs cannot tell of wood that they leave alone.
        assert_within(&table["blank"]["length"], 0.6 * known.length / unit, 1.05 * known.length / unit);
        let cutters = table["cutter"].as_array().unwrap();
        for diameter in known.cutters {
            assert!(cutters.iter().any(|cutter| number(&cutter["diameter"]) == *diameter), "{diameter}: {cutters:?}");
        }
    }
}

#[test]
fn every_program_alone_makes_a_scene() {
    for known in KNOWN {
        for program in known.programs.split_whitespace() {
            assert_proves(&sketched(&scene(known.name), program).0);
        }
    }
}

#[test]
fn quiet_jobs_make_scenes_too() {
    let mut jobs: Vec<_> = std::fs::read_dir(cases("quiet")).unwrap().map(|entry| entry.unwrap().path()).collect();
    jobs.sort();
    let mut turned = 0;
    for job in jobs {
        let text = std::fs::read_to_string(job.join("scene.toml")).unwrap();
        let table: toml::Table = text.parse().unwrap();
        let files: Vec<&str> =
            table["program"].as_array().unwrap().iter().map(|one| one["file"].as_str().unwrap()).collect();
        let (_, _, found) = sketched(&job, &files.join(" "));
        let rotary = |table: &toml::Table| Some(table.get("machine")?.get("rotary")?.as_str()?.to_owned());
        if let Some(word) = rotary(&found) {
            assert_eq!(word, rotary(&table).unwrap_or("A".to_owned()), "{}", job.display());
            turned += 1;
        }
    }
    assert!(turned > 30, "{turned}");
}

const PEG: &str = "\
(a peg)
T3 M6 (ball nose 8 mm, the worn one)
G21 G17 G90 G94
M3 S12000
G0 Z22
G0 X5 Y0 A0
G0 Z16.3
G1 Z15 A360 F25
G1 X60 A3960 F60
G0 Z22
M5
M30
";

#[test]
fn every_guess_stands_beside_its_evidence() {
    let workshop = Workshop::with(&[("peg.nc", PEG)]);
    let run = workshop.expect(0, "new peg.nc -o scene.toml");
    let text = workshop.read("scene.toml");
    assert!(text.starts_with("#:schema scene.schema.json\n"), "{text}");
    for lines in [
        "format = 1\ntitle = \"peg\"\n",
        "# peg.nc:6 turns it from 0° to 3960°, and leaves it 11 turns on.\nrotary = \"A\"\n",
        "# peg.nc:2: (ball nose 8 mm, the worn one)\nnumber = 3\n# peg.nc:2 says \"ball\".\nshape = \"ball\"\n",
        "# peg.nc:2 gives it.\ndiameter = 8\n",
        "\ndiameter = 32\n",
        "\nlength = 60\n",
        "\nz = \"axis\"\n",
        "# [chuck]\n",
        "\n# jaws = { count = 4",
    ] {
        assert!(text.contains(lines), "{lines}\nis not in\n{text}");
    }
    for words in
        ["machine.rotary = \"A\"", "Still unknown", "holding", "caution", "Written: scene.toml, and scene.schema.json"]
    {
        assert!(run.stdout.contains(words), "{words}:\n{}", run.stdout);
    }
    let schema: serde_json::Value = serde_json::from_str(&workshop.read("scene.schema.json")).unwrap();
    let table: toml::Table = text.parse().unwrap();
    assert!(jsonschema::is_valid(&schema, &serde_json::to_value(table).unwrap()));
    assert_eq!(workshop.expect(0, "schema scene").stdout, workshop.read("scene.schema.json"));
}

#[test]
fn every_key_left_out_may_be_put_in() {
    let workshop = Workshop::with(&[("peg.nc", PEG)]);
    workshop.expect(0, "new peg.nc -o scene.toml");
    let text = workshop.read("scene.toml");
    let is_key = |line: &str| {
        let line = line.strip_prefix("# ").unwrap_or(line);
        line.starts_with('[')
            || line.split(" = ").next().is_some_and(|key| key.chars().all(|c| c.is_lowercase() || c == '_'))
    };
    let put_in =
        |line: &str| if is_key(line) { line.strip_prefix("# ").unwrap_or(line).to_owned() } else { line.to_owned() };
    let whole: Vec<String> = text.lines().map(put_in).collect();
    workshop.write("scene.toml", whole.join("\n"));
    let run = workshop.run("prove . --out out");
    assert!(run.code <= 1, "{}\n{}", run.stderr, whole.join("\n"));
    assert!(whole.iter().any(|line| line.starts_with("jaws = ")) && whole.iter().any(|line| line == "[tailstock]"));
}

#[test]
fn a_scene_that_is_there_stays_unless_told() {
    let workshop = Workshop::with(&[("peg.nc", PEG), ("scene.toml", "mine"), ("scene.schema.json", "mine, too")]);
    let run = workshop.expect(2, "new peg.nc -o scene.toml");
    assert!(run.stderr.contains("is there already") && run.stderr.contains("--force"), "{}", run.stderr);
    assert_eq!(workshop.read("scene.toml"), "mine");
    workshop.expect(0, "new peg.nc -o scene.toml --force");
    assert!(workshop.read("scene.toml").contains("format = 1"));
    assert_eq!(workshop.read("scene.schema.json"), "mine, too");
    let run = workshop.expect(2, "new peg.nc -o peg.nc --force");
    assert!(run.stderr.contains("names the program"), "{}", run.stderr);
    assert_eq!(workshop.read("peg.nc"), PEG);
}

#[test]
fn what_is_no_program_leaves_nothing_behind() {
    for (name, text, words) in [
        ("empty.nc", "", "this program holds no command"),
        ("rapids.nc", "G21\nG0 X1 Y2 Z3\nM2\n", "no line of it moves anything at feed"),
        ("prose.nc", "Dear all,\nthe peg is done.\nYours\n", "prose.nc"),
        ("noise.nc", "\0\u{1}\u{2}PK\u{3}\u{4}", "noise.nc"),
        ("unread.nc", "G21\nG1 X1 F100\nG1 X2 K2 Q\nM2\n", "unread.nc"),
    ] {
        let workshop = Workshop::with(&[(name, text)]);
        let run = workshop.expect(2, &format!("new {name} -o scene.toml"));
        assert!(run.stderr.contains(words), "{name}: {}", run.stderr);
        assert_eq!(workshop.files().len(), 1, "{name}");
    }
    let workshop = Workshop::with(&[("peg.nc", PEG), ("inner/peg.nc", PEG)]);
    for (arguments, words) in [
        ("new none.nc -o scene.toml", "cannot read none.nc"),
        ("new inner -o scene.toml", "a folder; name the programs in it"),
        ("new peg.nc -o inner/scene.toml", "does not lie in the folder of"),
        ("new peg.nc -o none/scene.toml", "cannot read none"),
        ("new -o scene.toml", "required"),
    ] {
        let run = workshop.expect(2, arguments);
        assert!(run.stderr.contains(words), "{arguments}: {}", run.stderr);
    }
    assert_eq!(workshop.files().len(), 2);
    workshop.expect(0, "new inner/peg.nc peg.nc -o scene.toml");
    assert!(workshop.read("scene.toml").contains("file = \"inner/peg.nc\""));
}
