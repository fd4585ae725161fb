//! From the text of a scene to the checked model.

mod accept;
mod checks;
mod cutters;
mod files;
mod holding;
mod machine;
mod programs;

use std::collections::BTreeMap;
use std::fs::File;
use std::io::Read;
use std::path::Path;

use dryturn_geom::units::LengthUnit;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

use crate::error::SceneError;
use crate::model::{Origin, Scene};
use crate::read::{Context, Problem, Table, on_lines};
use crate::{not_checked, notes};
use files::Files;

/// Largest scene file that is read, bytes.
const SCENE_LIMIT: u64 = 4 << 20;

/// How a scene is read.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct LoadOptions<'a> {
    /// Whether files may lie outside the scene's folder.
    pub allow_outside: bool,
    /// Names of the rules whose findings can be accepted; `None`: names are not looked at.
    pub rules: Option<&'a [&'a str]>,
    /// Whether the programs' bytes are at hand, for [`crate::Job::from_sources`]: their files need not be there.
    pub programs_at_hand: bool,
}

impl Scene {
    /// Reads a scene file.
    ///
    /// # Errors
    /// [`SceneError`] where the file cannot be read or its content is not a scene; all that is wrong at once.
    pub fn load(path: &Path, options: LoadOptions<'_>) -> Result<Scene, SceneError> {
        let name = path.display().to_string();
        let text = text_of(path, &name)?;
        let folder = path.parent().unwrap_or(Path::new(""));
        Scene::parse(&text, &name, folder, options)
    }

    /// Reads a scene from its text. `name` is what messages call it; paths in it start from `folder`.
    ///
    /// # Errors
    /// As [`Scene::load`].
    pub fn parse(text: &str, name: &str, folder: &Path, options: LoadOptions<'_>) -> Result<Scene, SceneError> {
        parse_as(text, name, folder, options, Origin::Scene)
    }
}

fn text_of(path: &Path, name: &str) -> Result<String, SceneError> {
    let cannot_read = |source| SceneError::Read { path: name.to_owned(), source };
    let refuse = |message: &str, help: &str| SceneError::File {
        path: name.to_owned(),
        message: message.to_owned(),
        help: help.to_owned(),
    };
    let file = File::open(path).map_err(cannot_read)?;
    if file.metadata().map_err(cannot_read)?.is_dir() {
        return Err(refuse("this is a folder", "name the scene file in it"));
    }
    let mut bytes = Vec::new();
    file.take(SCENE_LIMIT + 1).read_to_end(&mut bytes).map_err(cannot_read)?;
    if bytes.len() as u64 > SCENE_LIMIT {
        return Err(refuse("the file is larger than 4 MiB, too large for a scene", "is this a program or a mesh?"));
    }
    let text = String::from_utf8(bytes).map_err(|error| {
        let at = error.utf8_error().valid_up_to();
        let line = error.as_bytes()[..at].iter().filter(|&&byte| byte == b'\n').count() + 1;
        refuse(&format!("line {line} is not UTF-8 text"), "save the file as UTF-8")
    })?;
    Ok(text.strip_prefix('\u{feff}').map(str::to_owned).unwrap_or(text))
}

/// Most syntax errors told of one file; later ones mostly follow from the first.
const SYNTAX_ERRORS: usize = 3;

/// Reads a scene whose keys came from `origin`.
pub(crate) fn parse_as(
    text: &str,
    name: &str,
    folder: &Path,
    options: LoadOptions<'_>,
    origin: Origin,
) -> Result<Scene, SceneError> {
    if text.trim().is_empty() {
        return Err(SceneError::File {
            path: name.to_owned(),
            message: "the scene is empty".to_owned(),
            help: format!("the fewest lines are:\n{LEAST}"),
        });
    }
    let (document, errors) = DeTable::parse_recoverable(text);
    if !errors.is_empty() {
        let problem = |error: &toml::de::Error| Problem {
            span: error.span().unwrap_or(0..0),
            message: format!("this is not TOML: {}", error.message().lines().next().unwrap_or_default()),
            label: String::new(),
            help: None,
        };
        return Err(on_lines(name, text, errors.iter().take(SYNTAX_ERRORS).map(problem).collect()));
    }
    let context = Context::new();
    let mut scene = {
        let header = 0..text.lines().next().map_or(0, str::len);
        let root = Table::open(&context, document.get_ref(), header, String::new(), "");
        check_format(&root);
        scene_of(&root, name, folder, options)
    };
    if !context.has_problems() {
        scene.given = given_keys(document.get_ref(), origin);
    }
    scene.assumed = context.finish(name, text)?;
    scene.notes = notes::of_scene(&scene);
    scene.not_checked = not_checked::of_scene(&scene);
    Ok(scene)
}

const LEAST: &str = "format = 1
blank = { diameter = 64, length = 200 }
program = [{ file = \"part.nc\" }]
cutter = [{ diameter = 6 }]";

fn check_format(root: &Table<'_>) {
    let newer = root.get("format").and_then(|item| item.value().as_integer()).and_then(|i| i.as_str().parse().ok());
    match newer {
        Some(1i64) => {}
        Some(number) if number > 1 => root.problem(
            "format",
            format!("format {number} needs a newer version of dryturn"),
            Some("this version reads format = 1".into()),
        ),
        _ if root.has("format") => {
            root.problem("format", "`format` must be the number 1".into(), Some("write format = 1".into()));
        }
        _ => {
            root.missing("format", "format = 1 as the first line");
        }
    }
}

fn scene_of(root: &Table<'_>, name: &str, folder: &Path, options: LoadOptions<'_>) -> Scene {
    let units = [("mm", LengthUnit::Millimetre), ("inch", LengthUnit::Inch)];
    let units = root.or("units", root.choice("units", &units), LengthUnit::Millimetre, "\"mm\"", "the usual unit");
    root.cx().set_units(units);
    if root.has("use") {
        root.problem("use", "libraries are not available yet".into(), Some("copy their tables into the scene".into()));
    }
    let LoadOptions { allow_outside, programs_at_hand, .. } = options;
    let files = Files { folder, allow_outside, programs_at_hand, units };
    let machine = machine::machine(root);
    let controller = machine::controller(root);
    let blank = holding::blank(root, &files, machine.chuck_on);
    let cutters = cutters::cutters(root, &files);
    let fixed = holding::fixed(root);
    let programs = programs::programs(root, &blank, &cutters, &files);
    let scene = Scene {
        name: name.to_owned(),
        folder: folder.to_owned(),
        title: root.text("title").map(str::to_owned),
        units,
        chuck: holding::chuck(root, &blank),
        faceplate: holding::faceplate(root, &blank),
        drive: holding::drive(root, &blank),
        tailstock: holding::tailstock(root, &blank),
        moving: holding::moving(root),
        zeros: programs::scene_zeros(root, &blank),
        target: programs::target(root, programs.len(), &files),
        grid: programs::grid(root, &blank),
        checks: checks::checks(root, &fixed),
        batch: programs::batch(root),
        doubt: programs::doubt(root),
        accept: accept::accept(root, programs.len(), options.rules),
        machine,
        controller,
        blank,
        fixed,
        cutters,
        programs,
        touched: BTreeMap::new(),
        assumed: Vec::new(),
        not_checked: Vec::new(),
        notes: Vec::new(),
        given: BTreeMap::new(),
    };
    // What is wrong already may be why nothing can be touched.
    if !root.cx().has_problems() && !scene.touches() {
        root.problem(
            "zero",
            "the cutter comes down on nothing where it is touched off".into(),
            Some("the station must lie on the blank, and the program needs a cutter".into()),
        );
    }
    scene
}

/// Every key that has a value, by its dotted path.
fn given_keys(table: &DeTable<'_>, origin: Origin) -> BTreeMap<String, Origin> {
    let mut keys = BTreeMap::new();
    gather(table, "", origin, &mut keys);
    keys
}

fn gather(table: &DeTable<'_>, prefix: &str, origin: Origin, keys: &mut BTreeMap<String, Origin>) {
    for (name, value) in table {
        let name: &str = name.get_ref();
        let path = if prefix.is_empty() { name.to_owned() } else { format!("{prefix}.{name}") };
        match value.get_ref() {
            DeValue::Table(inner) => gather(inner, &path, origin, keys),
            DeValue::Array(array) if array.iter().any(|entry: &Spanned<DeValue<'_>>| entry.get_ref().is_table()) => {
                for (index, entry) in array.iter().enumerate() {
                    if let DeValue::Table(inner) = entry.get_ref() {
                        gather(inner, &format!("{path}[{}]", index + 1), origin, keys);
                    }
                }
            }
            _ => {
                keys.insert(path, origin);
            }
        }
    }
}
