//! The keys of all files laid over each other: libraries first, the scene last, key by key.

use std::collections::BTreeMap;

use dryturn_geom::units::LengthUnit;
use toml::Spanned;
use toml::de::{DeArray, DeTable, DeValue};

use super::check_format;
use crate::read::{Context, Source, Table};
use crate::schema::nearest_word;

/// Units a file may be written in.
pub(super) const UNITS: [(&str, LengthUnit); 2] = [("mm", LengthUnit::Millimetre), ("inch", LengthUnit::Inch)];

/// Lays the files over each other. What is wrong with a library as such is told here; `None`: a cutter cannot be had, and
/// all that its missing keys would lead to is not worth telling.
pub(super) fn merged(cx: &Context) -> Option<DeTable<'_>> {
    let mut whole = DeTable::new();
    let mut cutters = Catalogue::default();
    for &index in &cx.sources.order {
        let file = cx.sources.file(index);
        let mut table = DeTable::parse_recoverable(&file.text).0.into_inner();
        place(&mut table, file);
        let root = Table::open(cx, &table, file.head(), String::new(), "");
        check_format(&root);
        file.set_units(root.choice("units", &UNITS).unwrap_or(LengthUnit::Millimetre));
        check_uses(&root);
        if index == 0 {
            cutters.fill_in(cx, &mut table)?;
        } else {
            refuse_programs(&root);
            cutters.take(cx, &mut table);
            OWN.iter().for_each(|own| drop(table.remove(*own)));
        }
        lay_over(&mut whole, table, "");
    }
    Some(whole)
}

fn check_uses(root: &Table<'_>) {
    if let Some(item) = root.get("use") {
        item.list(|entry| entry.text());
    }
}

fn refuse_programs(root: &Table<'_>) {
    if let Some(item) = root.get("program") {
        let message = "a library has no programs".to_owned();
        item.problem_with_key(message, Some("programs belong to the scene, for they are one job's".into()));
    }
}

/// Moves every span of a table to where its file stands among all files.
fn place(table: &mut DeTable<'_>, file: &Source) {
    let entries = std::mem::take(table);
    for (key, value) in entries {
        table.insert(Spanned::new(file.placed(key.span()), key.into_inner()), placed(value, file));
    }
}

fn placed<'i>(value: Spanned<DeValue<'i>>, file: &Source) -> Spanned<DeValue<'i>> {
    let span = file.placed(value.span());
    let value = match value.into_inner() {
        DeValue::Table(mut table) => {
            place(&mut table, file);
            DeValue::Table(table)
        }
        DeValue::Array(array) => DeValue::Array(array.into_iter().map(|entry| placed(entry, file)).collect()),
        plain => plain,
    };
    Spanned::new(span, value)
}

/// Keys that say one thing in one of several ways, which are not mixed.
const WHOLE: &[&str] = &["z", "material"];

/// Keys that say something of a library alone.
const OWN: &[&str] = &["format", "title", "units", "use", "program"];

/// Lays one table over another, key by key; `path` is where they stand.
fn lay_over<'i>(under: &mut DeTable<'i>, over: DeTable<'i>, path: &str) {
    for (key, value) in over {
        let name: &str = key.get_ref();
        let whole = WHOLE.contains(&name);
        let below = under.remove_entry(name).map(|(_, below)| below);
        let value = match below {
            Some(below) if !whole => both(below, value, path, name),
            _ => value,
        };
        under.insert(key, value);
    }
}

fn both<'i>(below: Spanned<DeValue<'i>>, value: Spanned<DeValue<'i>>, path: &str, name: &str) -> Spanned<DeValue<'i>> {
    let span = value.span();
    match (below.into_inner(), value.into_inner()) {
        (DeValue::Table(mut below), DeValue::Table(table)) => {
            lay_over(&mut below, table, name);
            Spanned::new(span, DeValue::Table(below))
        }
        (DeValue::Array(below), DeValue::Array(array)) if path.is_empty() && ["fixed", "moving"].contains(&name) => {
            Spanned::new(span, DeValue::Array(by_name(below, array)))
        }
        (DeValue::Array(mut below), DeValue::Array(array)) if path.is_empty() && name == "accept" => {
            array.into_iter().for_each(|entry| below.push(entry));
            Spanned::new(span, DeValue::Array(below))
        }
        (_, value) => Spanned::new(span, value),
    }
}

/// Bodies are told apart by their names: one of the same name is laid over, another is one more.
fn by_name<'i>(mut below: DeArray<'i>, array: DeArray<'i>) -> DeArray<'i> {
    for entry in array {
        let named = name_of(entry.get_ref());
        let same = below.iter_mut().find(|other| named.is_some() && name_of(other.get_ref()) == named);
        match (same, entry) {
            (Some(other), entry) => {
                let under = std::mem::replace(other, Spanned::new(0..0, DeValue::Boolean(false)));
                *other = both(under, entry, "", "");
            }
            (None, entry) => below.push(entry),
        }
    }
    below
}

fn name_of<'v>(value: &'v DeValue<'_>) -> Option<&'v str> {
    value.as_table()?.get("name")?.get_ref().as_str()
}

/// The cutters of the libraries, by name: a scene has those that it takes.
#[derive(Default)]
struct Catalogue<'i>(BTreeMap<String, DeTable<'i>>);

/// How deep cutters may be taken from each other.
const DEEPEST: usize = 8;

impl<'i> Catalogue<'i> {
    /// Takes the cutters out of a library.
    fn take(&mut self, cx: &Context, library: &mut DeTable<'i>) {
        let Some((key, value)) = library.remove_entry("cutter") else { return };
        let problem = |message: &str| {
            cx.problem(key.span(), message.to_owned(), String::new(), Some("write [[cutter]]".into()));
        };
        let DeValue::Array(list) = value.into_inner() else { return problem("`cutter` must be a list of tables") };
        for entry in list {
            let span = entry.span();
            let DeValue::Table(table) = entry.into_inner() else {
                problem("`cutter` must be a list of tables");
                continue;
            };
            let opened = Table::open(cx, &table, span, "cutter".into(), "cutter[]");
            let Some(name) = opened.text("name").map(str::to_owned) else {
                opened.missing("name", "name = \"roughing\"; scenes take the cutter by its name");
                continue;
            };
            lay_over(self.0.entry(name).or_default(), table, "cutter");
        }
    }

    /// Puts the keys of the library's cutters under those of the scene that name them; `None`: one is not to be had.
    fn fill_in(&self, cx: &Context, scene: &mut DeTable<'i>) -> Option<()> {
        let Some(DeValue::Array(list)) = scene.get_mut("cutter").map(Spanned::get_mut) else { return Some(()) };
        let mut all = Some(());
        for entry in list.iter_mut() {
            if let DeValue::Table(table) = entry.get_mut() {
                match self.whole(cx, std::mem::take(table), &mut Vec::new()) {
                    Some(whole) => *table = whole,
                    None => all = None,
                }
            }
        }
        all
    }

    /// A cutter with all that it takes from others.
    fn whole(&self, cx: &Context, table: DeTable<'i>, chain: &mut Vec<String>) -> Option<DeTable<'i>> {
        let Some(from) = table.get("from") else { return Some(table) };
        let refuse = |message: String, help: Option<String>| cx.problem(from.span(), message, String::new(), help);
        let Some(name) = from.get_ref().as_str() else {
            refuse("`from` must be a text in quotes".into(), None);
            return None;
        };
        let Some(entry) = self.0.get(name) else {
            refuse(format!("no library has a cutter called \"{name}\""), Some(self.help(name)));
            return None;
        };
        let in_a_circle = chain.iter().any(|above| above == name);
        chain.push(name.to_owned());
        if in_a_circle || chain.len() > DEEPEST {
            let how = if in_a_circle { "in a circle".to_owned() } else { format!("more than {DEEPEST} deep") };
            let message = format!("cutters are taken from each other {how}: {}", chain.join(" → "));
            refuse(message, Some("leave `from` out of one of them".into()));
            return None;
        }
        let mut under = self.whole(cx, entry.clone(), chain)?;
        lay_over(&mut under, table, "cutter");
        Some(under)
    }

    fn help(&self, name: &str) -> String {
        let names = self.0.keys().map(String::as_str);
        match nearest_word(name, names.clone()) {
            Some(near) => format!("did you mean \"{near}\"?"),
            None if self.0.is_empty() => "name a library that has it: use = [\"shop:cutters.toml\"]".to_owned(),
            None => format!("there are {}", names.map(|name| format!("\"{name}\"")).collect::<Vec<_>>().join(", ")),
        }
    }
}
