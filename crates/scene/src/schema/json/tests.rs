//! The schema and the reader say the same of every key.

use std::path::Path;

use serde_json::{Value, json};
use toml::Table;

use super::super::Form;
use super::super::keys::TABLES;
use crate::{LoadOptions, Scene};

const LEAST: &str = "format = 1
blank = { diameter = 64, length = 200 }
program = [{ file = \"part.nc\" }]
cutter = [{ diameter = 6 }]
";

/// Tables that need others about them to be read at all, by path: what they stand in.
const FRAMES: &[(&str, &str)] = &[
    ("faceplate", "faceplate = { diameter = 60, thickness = 8, screws = [{ radius = 1, diameter = 4, length = 9 }] }"),
    ("drive", "drive = { center = { diameter = 20, length = 15 } }"),
    ("tailstock", "tailstock = { center = { diameter = 12, quill = 16, extension = 3 } }"),
    ("chuck", "chuck = { jaws = { count = 4, width = 1, length = 1, height = 1 } }"),
    ("batch", "batch = { pieces = 1 }"),
    ("fixed", "fixed = [{ name = \"clamp\", box = [0, 1, 0, 1, 0, 1] }]"),
    ("moving", "moving = [{ name = \"hose\", diameter = 9, from = 1, to = 2 }]"),
    ("target", "target = { file = \"wanted.stl\" }"),
    ("accept", "accept = [{ rule = \"near-miss\", why = \"seen\" }]"),
];

/// Keys that count only beside these, or in place of these: the keys to set, and those to take away.
fn beside(path: &str, key: &str) -> (&'static str, &'static [&'static str]) {
    match (path, key) {
        ("machine", "wrap_diameter") => ("rotary = \"Y\"", &[]),
        ("blank", "bore") => ("shape = \"tube\"", &[]),
        ("blank", "across_flats" | "sides" | "turned") => {
            ("shape = \"polygon\"\nacross_flats = 60\nsides = 6", &["diameter"])
        }
        ("cutter[]", "corner") => ("shape = \"bull\"", &[]),
        ("cutter[]", "angle") => ("shape = \"drill\"", &[]),
        ("cutter[]", "tip" | "tip_shape") => ("shape = \"taper\"\nangle = 5\ntip = 1", &[]),
        ("cutter[]", "profile") => ("shape = \"form\"", &["diameter"]),
        ("blank.material", _) => ("density = 700", &[]),
        _ => ("", &[]),
    }
}

/// Keys of blanks kept from another run, and the key of libraries, are not read here.
fn is_left_out(path: &str, key: &str) -> bool {
    path == "blank.off" || (path == "blank" && ["flip", "shift", "turn", "off", "file", "units"].contains(&key))
}

/// A scene in which a key holds a value.
fn scene_with(path: &str, key: &str, value: &toml::Value) -> Table {
    let mut scene: Table = LEAST.parse().unwrap();
    let first = path.split(['.', '[']).next().unwrap_or_default();
    for (name, frame) in FRAMES {
        if *name == first {
            scene.extend(frame.parse::<Table>().unwrap());
        }
    }
    let (more, fewer) = beside(path, key);
    let more: Table = more.parse().unwrap();
    let mut table = &mut scene;
    let place = if path == "zero.system" { "zero.g55" } else { path };
    for part in place.split('.').filter(|part| !part.is_empty()) {
        let name = part.trim_end_matches("[]");
        let is_list = part.ends_with("[]");
        let empty = if is_list { toml::Value::Array(vec![Table::new().into()]) } else { Table::new().into() };
        let entry = table.entry(name).or_insert(empty);
        if !is_list && !entry.is_table() {
            *entry = Table::new().into();
        }
        table = if is_list { entry[0].as_table_mut().unwrap() } else { entry.as_table_mut().unwrap() };
    }
    for key in fewer {
        table.remove(*key);
    }
    table.extend(more);
    table.insert(key.to_owned(), value.clone());
    scene
}

/// What the reader says, and whether the schema takes it.
fn both(folder: &Path, validator: &jsonschema::Validator, scene: &Table) -> (Option<String>, bool) {
    let text = toml::to_string(scene).unwrap();
    let told = Scene::parse(&text, "scene.toml", folder, LoadOptions::default()).err().map(|error| error.render(false));
    (told, validator.is_valid(&serde_json::to_value(scene).unwrap()))
}

fn folder() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    for (name, text) in [("part.nc", "M2\n"), ("wanted.stl", ""), ("edge.csv", "0, 1\n2, 2\n")] {
        std::fs::write(folder.path().join(name), text).unwrap();
    }
    folder
}

fn validator() -> jsonschema::Validator {
    jsonschema::validator_for(&schema()).unwrap()
}

fn schema() -> Value {
    serde_json::from_str(&super::schema()).unwrap()
}

/// Every key with the path of its table.
fn keys() -> impl Iterator<Item = (&'static str, &'static super::super::Key)> {
    let all = TABLES.iter().flat_map(|table| table.keys.iter().map(move |key| (table.path, key)));
    all.filter(|(path, key)| !is_left_out(path, key.name))
}

/// Values that a form takes.
fn good(form: &Form, name: &str) -> Vec<toml::Value> {
    let list = |entry: &Form, count: usize| -> Vec<toml::Value> {
        let entries: Vec<toml::Value> = good(entry, name);
        let entry = |at: usize| match &entries[0] {
            toml::Value::Integer(first) => (first + at as i64).into(),
            other => other.clone(),
        };
        vec![toml::Value::Array((0..count).map(entry).collect())]
    };
    match form {
        Form::Length(_) | Form::Rate(_) => vec![1.into(), "1 mm".into()],
        Form::Number(_) => vec![if name == "angle" { 60 } else { 1 }.into()],
        Form::Count(least, _) => vec![(*least as i64).into()],
        Form::Flag => vec![true.into()],
        Form::Text => vec![text_for(name).into()],
        Form::Words(words) => words.iter().map(|&word| word.into()).collect(),
        Form::List(entry) => list(entry, 1),
        Form::Pair(entry) => list(entry, 2),
        Form::Six(entry) => list(entry, 6),
        Form::Either(forms) => forms.iter().flat_map(|form| good(form, name)).collect(),
        // Tables are looked at key by key.
        Form::Table(_) | Form::Tables(_) | Form::Named(_) => Vec::new(),
    }
}

fn text_for(name: &str) -> &'static str {
    match name {
        "file" => "part.nc",
        "profile" => "edge.csv",
        "material" => "beech",
        "drops" => "S",
        _ => "some words",
    }
}

#[test]
fn the_schema_is_one_of_draft_4() {
    assert!(jsonschema::draft4::meta::is_valid(&schema()));
    let text = super::schema();
    assert!(text.ends_with("}\n") && !text.contains("$defs") && !text.contains("\"const\""));
}

#[test]
fn every_key_is_described_and_every_table_is_reached() {
    for (path, key) in keys() {
        assert!(key.told.ends_with('.'), "{path}.{}: {}", key.name, key.told);
        let needs_unit = matches!(key.form, Form::Length(_) | Form::Rate(_)) && !path.starts_with("zero");
        assert!(!needs_unit || key.told.contains("mm"), "{path}.{}: {}", key.name, key.told);
    }
    let text = super::schema();
    for table in TABLES.iter().filter(|table| !table.path.is_empty()) {
        let reference = format!("\"#/definitions/{}\"", super::named(table.path));
        assert!(text.contains(&reference), "nothing leads to {}", table.path);
    }
}

/// No key takes a list of lists of lists, so the reader must complain wherever it looks.
#[test]
fn every_key_of_the_list_is_read_and_its_form_is_checked() {
    let (folder, validator) = (folder(), validator());
    let nonsense: toml::Value = "x = [[[true]]]".parse::<Table>().unwrap()["x"].clone();
    for (path, key) in keys() {
        let (told, valid) = both(folder.path(), &validator, &scene_with(path, key.name, &nonsense));
        let told = told.unwrap_or_else(|| panic!("{path}.{} is not read", key.name));
        assert!(told.contains(key.name), "{path}.{}:\n{told}", key.name);
        assert!(!valid, "{path}.{} takes anything", key.name);
    }
}

#[test]
fn what_one_takes_the_other_takes() {
    let (folder, validator) = (folder(), validator());
    for (path, key) in keys() {
        for value in good(&key.form, key.name) {
            let scene = scene_with(path, key.name, &value);
            let (told, valid) = both(folder.path(), &validator, &scene);
            assert!(valid, "{path}.{} = {value} is against the schema", key.name);
            // What hangs together with other keys is the reader's affair alone.
            let of_form = [
                "must be a ",
                "must be one",
                "must be true",
                "must hold",
                "is not a",
                "is beyond",
                "unknown key",
                "no material",
            ];
            if let Some(told) = told {
                let lines: Vec<&str> = told.lines().filter(|line| line.starts_with("error")).collect();
                let own = |line: &&&str| {
                    line.contains(&format!("{}`", key.name)) && of_form.iter().any(|words| line.contains(words))
                };
                let excused = ["chuck_on", "rotary"].contains(&key.name) || (path, key.name) == ("blank", "shape");
                assert!(excused || !lines.iter().any(|line| own(&line)), "{path}.{} = {value}:\n{told}", key.name);
            }
        }
    }
}

#[test]
fn numbers_out_of_bounds_are_refused_by_both() {
    let (folder, validator) = (folder(), validator());
    let (mut refused, mut all) = (0, 0);
    for (path, key) in keys() {
        if !matches!(key.form, Form::Length(_) | Form::Rate(_) | Form::Number(_) | Form::Count(..)) {
            continue;
        }
        for value in [-1.0, 0.0, 0.5, 1e4].map(toml::Value::from).into_iter().chain([-1, 0, 1].map(toml::Value::from)) {
            let (told, valid) = both(folder.path(), &validator, &scene_with(path, key.name, &value));
            all += 1;
            if !valid {
                refused += 1;
                assert!(told.is_some(), "only the schema refuses {path}.{} = {value}", key.name);
                continue;
            }
            let told = told.unwrap_or_default();
            let bound = [format!("{}` must be a length", key.name), format!("{}` must be a number", key.name)];
            // The bounds of an angle differ from shape to shape, those of a tip, too.
            let differs = ["angle", "tip"].contains(&key.name);
            assert!(
                differs || !bound.iter().any(|words| told.contains(words)),
                "{path}.{} = {value}:\n{told}",
                key.name
            );
        }
    }
    assert!(refused > 100 && all > 500, "{refused} of {all}");
}

#[test]
fn words_are_those_of_the_reader() {
    let (folder, validator) = (folder(), validator());
    for (path, key) in keys() {
        let Form::Words(words) = key.form else { continue };
        let (told, valid) = both(folder.path(), &validator, &scene_with(path, key.name, &"nonesuch".into()));
        let told = told.unwrap();
        assert!(
            !valid && words.iter().all(|word| told.contains(&format!("\"{word}\"")) || excused(path, word)),
            "{told}"
        );
    }
    // With the axis along X only the first two sides are named, and only Y can be wrapped.
    fn excused(path: &str, word: &str) -> bool {
        path == "machine" && ["-y", "+y", "X"].contains(&word)
    }
}

#[test]
fn a_misspelt_key_is_refused_in_every_table() {
    let (folder, validator) = (folder(), validator());
    for table in TABLES.iter().filter(|table| table.path != "blank.off") {
        let (told, valid) = both(folder.path(), &validator, &scene_with(table.path, "nonesuch", &1.into()));
        assert!(told.is_some_and(|told| told.contains("unknown key `nonesuch`")) && !valid, "{}", table.path);
    }
}

#[test]
fn whole_files_are_taken() {
    let validator = validator();
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../..");
    let mut files = vec![root.join("crates/scene/tests/data/whole.toml")];
    for folder in ["scenes", "tests/cases/quiet"] {
        for job in std::fs::read_dir(root.join(folder)).unwrap() {
            let job = job.unwrap().path();
            let names = std::fs::read_dir(&job).unwrap().map(|entry| entry.unwrap().path());
            files.extend(names.filter(|path| path.extension().is_some_and(|ending| ending == "toml")));
        }
    }
    assert!(files.len() > 40);
    for file in files {
        let scene: Table = std::fs::read_to_string(&file).unwrap().parse().unwrap();
        let told: Vec<String> =
            validator.iter_errors(&json!(scene)).map(|error| format!("{}: {error}", error.instance_path())).collect();
        assert!(told.is_empty(), "{}: {told:?}", file.display());
    }
}
