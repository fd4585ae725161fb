//! From the text of a scene to the checked model.

mod accept;
mod checks;
mod cutters;
mod files;
mod holding;
mod kept;
mod library;
mod machine;
mod merge;
mod programs;
mod seen;
mod text;

use std::collections::BTreeMap;
use std::path::Path;

use dryturn_geom::units::LengthUnit;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

use crate::error::SceneError;
use crate::model::{Origin, Scene};
use crate::read::{Context, Sources, Table};
use crate::{not_checked, notes};
use files::Files;
pub use kept::{KeptReader, KeptRefusal, KeptSolid, PutBack};
pub use seen::Seen;

/// How a scene is read.
#[derive(Clone, Copy, Debug, Default)]
pub struct LoadOptions<'a> {
    /// Whether files may lie outside the folder of the file that names them.
    pub allow_outside: bool,
    /// Folder that `shop:` stands for in `use`; `None`: the nearest at or above the scene's that holds `shop.toml`.
    pub shop: Option<&'a Path>,
    /// Names of the rules whose findings can be accepted; `None`: names are not looked at.
    pub rules: Option<&'a [&'a str]>,
    /// Whether the programs' bytes are at hand, for [`crate::Job::from_sources`]: their files need not be there.
    pub programs_at_hand: bool,
    /// Reads blanks that were kept from an earlier set-up; without it there are none.
    pub kept: Option<KeptReader>,
    /// Takes down which files are looked for.
    pub seen: Option<&'a Seen>,
}

impl Scene {
    /// Reads a scene file.
    ///
    /// # Errors
    /// [`SceneError`] where the file cannot be read or its content is not a scene; all that is wrong at once.
    pub fn load(path: &Path, options: LoadOptions<'_>) -> Result<Scene, SceneError> {
        let name = path.display().to_string();
        Seen::note(options.seen, path);
        let text = text::text_of(path, &name)?;
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
    let mut sources = Sources::default();
    sources.push(name.to_owned(), text.to_owned(), folder.to_owned(), origin);
    let context = Context::new(library::gather(sources, options)?);
    let mut scene = {
        let Some(document) = merge::merged(&context) else { return Err(context.refused()) };
        let header = context.sources.file(0).head();
        let root = Table::open(&context, &document, header, String::new(), "");
        let mut scene = scene_of(&root, name, folder, options);
        if !context.has_problems() {
            gather_keys(&context, &document, "", &mut scene.given);
        }
        scene
    };
    scene.assumed = context.finish()?;
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
    let units = root.choice("units", &merge::UNITS);
    let units = root.or("units", units, LengthUnit::Millimetre, "\"mm\"", "the usual unit");
    let LoadOptions { allow_outside, programs_at_hand, kept, seen, .. } = options;
    let files = Files { folder, allow_outside, programs_at_hand, kept, seen };
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
    if !root.cx().has_problems() && (scene.swept_radius() > GREATEST_RADIUS || scene.blank.length > GREATEST_LENGTH) {
        root.problem(
            "blank",
            format!(
                "a blank {:.0} mm long that sweeps {:.0} mm is no router's",
                scene.blank.length,
                2.0 * scene.swept_radius()
            ),
            Some("look at `units`; at the most 20 m of length and 4 m of diameter are carved".into()),
        );
    }
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

/// Greatest radius of a blank that is carved, mm: with it the sums of volume are far from what their numbers hold.
const GREATEST_RADIUS: f64 = 2000.0;
/// Greatest length, mm.
const GREATEST_LENGTH: f64 = 20_000.0;

/// Every key that has a value, by its dotted path, and where it came from.
fn gather_keys(cx: &Context, table: &DeTable<'_>, prefix: &str, keys: &mut BTreeMap<String, Origin>) {
    for (name, value) in table {
        let name: &str = name.get_ref();
        let path = if prefix.is_empty() { name.to_owned() } else { format!("{prefix}.{name}") };
        match value.get_ref() {
            DeValue::Table(inner) => gather_keys(cx, inner, &path, keys),
            DeValue::Array(array) if array.iter().any(|entry: &Spanned<DeValue<'_>>| entry.get_ref().is_table()) => {
                for (index, entry) in array.iter().enumerate() {
                    if let DeValue::Table(inner) = entry.get_ref() {
                        gather_keys(cx, inner, &format!("{path}[{}]", index + 1), keys);
                    }
                }
            }
            _ => {
                keys.insert(path, cx.sources.at(value.span().start).origin.clone());
            }
        }
    }
}
