//! `use`: the libraries a scene names, and those that they name.

use std::ops::Range;
use std::path::{Component, Path, PathBuf};

use toml::de::{DeTable, DeValue};

use super::files::lies_in;
use super::text::text_of;
use super::{LoadOptions, Seen};
use crate::error::SceneError;
use crate::model::Origin;
use crate::read::{Problem, Sources};
use crate::schema::nearest_word;

/// How deep libraries may name each other.
const DEEPEST: usize = 4;
/// Most libraries of a scene.
const MOST: usize = 100;
/// Most syntax errors told of one file; later ones mostly follow from the first.
const SYNTAX_ERRORS: usize = 3;
/// What stands for the folder of the shop.
const SHOP: &str = "shop:";

/// Finds every file a scene is made of, itself first.
///
/// # Errors
/// [`SceneError::Lines`] where a file is no TOML or a library cannot be had.
pub(super) fn gather(scene: Sources, options: LoadOptions<'_>) -> Result<Sources, SceneError> {
    let file = scene.file(0);
    let real = Path::new(&file.name).file_name().and_then(|name| file.folder.join(name).canonicalize().ok());
    let mut search = Search { sources: scene, known: vec![real], options, problems: Vec::new() };
    search.visit(0, &mut vec![0]);
    if search.problems.is_empty() { Ok(search.sources) } else { Err(search.sources.on_lines(search.problems)) }
}

struct Search<'a> {
    sources: Sources,
    /// Where each file really lies, by its index; the scene may be a text only.
    known: Vec<Option<PathBuf>>,
    options: LoadOptions<'a>,
    problems: Vec<Problem>,
}

impl Search<'_> {
    /// Visits the libraries of a file, then takes its own turn: what it says is laid over what they say.
    fn visit(&mut self, index: usize, chain: &mut Vec<usize>) {
        for (named, span) in self.uses(index) {
            if self.sources.len() > MOST {
                return self.refuse(span, format!("there are more than {MOST} libraries"), "put them into fewer files");
            }
            let Some(path) = self.path_of(&named, &span, index) else { continue };
            if let Some(next) = self.take_up(&named, path, span, chain) {
                chain.push(next);
                self.visit(next, chain);
                chain.pop();
            }
        }
        self.sources.order.push(index);
    }

    fn refuse(&mut self, span: Range<usize>, message: String, help: impl Into<String>) {
        self.problems.push(Problem { span, message, label: String::new(), help: Some(help.into()) });
    }

    /// What a file names under `use`, with the places; what is no list of names is told when the keys are read.
    fn uses(&mut self, index: usize) -> Vec<(String, Range<usize>)> {
        let file = self.sources.file(index);
        let (document, errors) = DeTable::parse_recoverable(&file.text);
        let syntax = errors.iter().take(SYNTAX_ERRORS).map(|error| Problem {
            span: file.placed(error.span().unwrap_or(0..0)),
            message: format!("this is not TOML: {}", error.message().lines().next().unwrap_or_default()),
            label: String::new(),
            help: None,
        });
        self.problems.extend(syntax);
        let Some(DeValue::Array(list)) = document.get_ref().get("use").map(|value| value.get_ref()) else {
            return Vec::new();
        };
        let named = |entry: &toml::Spanned<DeValue<'_>>| {
            Some((entry.get_ref().as_str()?.to_owned(), file.placed(entry.span())))
        };
        list.iter().filter_map(named).collect()
    }

    fn path_of(&mut self, named: &str, span: &Range<usize>, index: usize) -> Option<PathBuf> {
        let (folder, relative) = match named.strip_prefix(SHOP) {
            Some(relative) => (self.shop(span)?, relative),
            None => (self.sources.file(index).folder.clone(), named),
        };
        if relative.trim().is_empty() || relative.contains('\0') {
            self.refuse(span.clone(), format!("`{named}` names no file"), "write for example \"shop:router.toml\"");
            return None;
        }
        let path = folder.join(relative);
        Seen::note(self.options.seen, &path);
        let plain =
            Path::new(relative).components().all(|part| matches!(part, Component::Normal(_) | Component::CurDir));
        if !self.options.allow_outside && !(plain && (!path.exists() || lies_in(&path, &folder))) {
            let place = if named.starts_with(SHOP) { "the shop's folder" } else { "the folder of this file" };
            let help = "keep libraries in the shop's folder and name them \"shop:…\", or run with --allow-outside";
            self.refuse(span.clone(), format!("`{named}` leads out of {place}"), help);
            return None;
        }
        if !path.is_file() {
            let shop = if named.starts_with(SHOP) { SHOP } else { "" };
            let near = near(&folder, relative).map_or(String::new(), |near| format!("did you mean \"{shop}{near}\"? "));
            let help = format!("{near}it is looked for in {}", shown(&folder));
            self.refuse(span.clone(), format!("the library `{named}` does not exist"), help);
            return None;
        }
        Some(path)
    }

    /// The folder that `shop:` stands for.
    fn shop(&mut self, span: &Range<usize>) -> Option<PathBuf> {
        let found = match self.options.shop {
            Some(folder) => Some(folder.to_owned()),
            None => shop_above(&self.sources.file(0).folder),
        };
        let (message, help) = match found {
            Some(folder) if folder.is_dir() => return Some(folder),
            Some(folder) => {
                (format!("the shop's folder {} does not exist", folder.display()), "look at --shop and DRYTURN_SHOP")
            }
            None => (
                "nobody says where the shop's libraries are".to_owned(),
                "put a file `shop.toml` beside them, in a folder above the scene; or give --shop DIR or set DRYTURN_SHOP",
            ),
        };
        self.refuse(span.clone(), message, help);
        None
    }

    /// Reads a library, unless it is known already.
    fn take_up(&mut self, named: &str, path: PathBuf, span: Range<usize>, chain: &[usize]) -> Option<usize> {
        let real = path.canonicalize().ok();
        let known = real.as_ref().and_then(|real| self.known.iter().position(|known| known.as_ref() == Some(real)));
        if let Some(at) = known.and_then(|known| chain.iter().position(|&above| above == known)) {
            let mut names: Vec<&str> =
                chain[at..].iter().map(|&above| self.sources.file(above).name.as_str()).collect();
            names.extend([names[0]]);
            let message = format!("libraries name each other in a circle: {}", names.join(" → "));
            self.refuse(span, message, "take one of them out of `use`");
            return None;
        }
        if known.is_some() {
            return None;
        }
        if chain.len() > DEEPEST {
            let message = format!("libraries are nested more than {DEEPEST} deep");
            self.refuse(span, message, "name this one in the scene itself");
            return None;
        }
        match text_of(&path, &path.display().to_string()) {
            Ok(text) => {
                let folder = path.parent().unwrap_or(Path::new("")).to_owned();
                self.known.push(real);
                let origin = Origin::Library(named.to_owned());
                Some(self.sources.push(path.display().to_string(), text, folder, origin))
            }
            Err(error) => {
                let help = if let SceneError::File { help, .. } = &error { help.clone() } else { String::new() };
                self.refuse(span, error.to_string(), help);
                None
            }
        }
    }
}

fn shown(folder: &Path) -> String {
    let is_here = folder.as_os_str().is_empty() || folder == Path::new(".");
    if is_here { "this folder".to_owned() } else { folder.display().to_string() }
}

/// The nearest folder at or above a scene's that holds `shop.toml`, in the words the scene was named with where they
/// lead there.
fn shop_above(folder: &Path) -> Option<PathBuf> {
    let holds = |folder: &&Path| folder.join("shop.toml").is_file();
    let is_plain = folder.components().all(|part| !matches!(part, Component::ParentDir));
    let named = is_plain.then(|| folder.ancestors().find(holds)).flatten();
    if let Some(named) = named {
        let is_here = named.as_os_str().is_empty();
        return Some(if is_here { PathBuf::from(".") } else { named.to_owned() });
    }
    let folder = if folder.as_os_str().is_empty() { Path::new(".") } else { folder };
    folder.canonicalize().ok()?.ancestors().find(holds).map(Path::to_owned)
}

/// How the names of libraries end.
const ENDING: &str = ".toml";

/// A library beside one that does not exist, with nearly its name.
fn near(folder: &Path, relative: &str) -> Option<String> {
    let folder = if folder.as_os_str().is_empty() { Path::new(".") } else { folder };
    let mut names: Vec<String> = std::fs::read_dir(folder)
        .ok()?
        .filter_map(|entry| Some(entry.ok()?.file_name().to_str()?.strip_suffix(ENDING)?.to_owned()))
        .collect();
    names.sort();
    let near = nearest_word(relative.strip_suffix(ENDING).unwrap_or(relative), names.iter().map(String::as_str))?;
    Some(format!("{near}{ENDING}"))
}
