//! Typed access to the tables of a scene. Every refusal names the key, the line and the way out.

use std::ops::Range;

use dryturn_geom::units;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::{Context, Source};
use crate::model::Cylinder;
use crate::schema;

/// What a number must satisfy besides being finite and of a size that makes sense.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Bound {
    /// Nothing more.
    Any,
    /// Above zero.
    Positive,
    /// Zero or above.
    NotNegative,
    /// Between two numbers, both allowed.
    Within(f64, f64),
}

/// What a number measures; each has a greatest size no shop reaches.
#[derive(Clone, Copy)]
enum Kind {
    Length,
    Rate,
    Plain,
}

impl Kind {
    fn noun(self) -> &'static str {
        match self {
            Kind::Length => "length",
            Kind::Rate => "rate",
            Kind::Plain => "number",
        }
    }

    /// Greatest size: 100 m, 10 km/min, and for plain numbers a thousand million.
    fn limit(self) -> (f64, &'static str) {
        match self {
            Kind::Length => (1e5, "100 m"),
            Kind::Rate => (1e7, "10 km/min"),
            Kind::Plain => (1e9, "1000000000"),
        }
    }
}

/// A table of the scene; absent ones read as empty.
#[derive(Clone)]
pub(crate) struct Table<'a> {
    cx: &'a Context,
    table: Option<&'a DeTable<'a>>,
    span: Range<usize>,
    path: String,
    schema: &'static str,
}

/// A key with its value.
#[derive(Clone)]
pub(crate) struct Item<'a> {
    cx: &'a Context,
    path: String,
    key_span: Range<usize>,
    value: &'a Spanned<DeValue<'a>>,
}

impl<'a> Table<'a> {
    /// Opens a table and reports every key the format does not have there.
    pub(crate) fn open(
        cx: &'a Context,
        table: &'a DeTable<'a>,
        span: Range<usize>,
        path: String,
        schema: &'static str,
    ) -> Table<'a> {
        let opened = Table { cx, table: Some(table), span, path, schema };
        opened.report_unknown_keys(table);
        opened
    }

    fn report_unknown_keys(&self, table: &DeTable<'_>) {
        for key in table.keys() {
            let name: &str = key.get_ref();
            if self.cx.is_full() || schema::keys_of(self.schema).any(|known| known == name) {
                continue;
            }
            let place = if self.path.is_empty() { "the scene".to_owned() } else { schema::header(self.schema) };
            let help = match (schema::nearest(name, self.schema), schema::home_of(name)) {
                (Some(near), _) => format!("did you mean `{near}`?"),
                (None, Some(home)) => format!("`{name}` belongs to {home}"),
                (None, None) => format!("{place} takes {}", listed(schema::keys_of(self.schema))),
            };
            let message = format!("unknown key `{name}` in {place}");
            self.cx.problem(key.span(), message, "not a key of this table".into(), Some(help));
        }
    }

    pub(crate) fn cx(&self) -> &'a Context {
        self.cx
    }

    /// Whether the table is written in the scene.
    pub(crate) fn is_given(&self) -> bool {
        self.table.is_some()
    }

    /// Where the table stands.
    pub(crate) fn span(&self) -> Range<usize> {
        self.span.clone()
    }

    /// The dotted path of one of its keys.
    pub(crate) fn path_of(&self, key: &str) -> String {
        if self.path.is_empty() { key.to_owned() } else { format!("{}.{key}", self.path) }
    }

    /// The key, if it is there.
    pub(crate) fn get(&self, key: &str) -> Option<Item<'a>> {
        let (name, value) = self.table?.get_key_value(key)?;
        Some(Item { cx: self.cx, path: self.path_of(key), key_span: name.span(), value })
    }

    /// Whether the key is there.
    pub(crate) fn has(&self, key: &str) -> bool {
        self.table.is_some_and(|table| table.contains_key(key))
    }

    /// A table within this one; absent or not a table: reads as empty.
    pub(crate) fn table(&self, key: &str, schema: &'static str) -> Table<'a> {
        match self.get(key).and_then(|item| item.table(schema)) {
            Some(table) => table,
            None => Table { cx: self.cx, table: None, span: self.span(), path: self.path_of(key), schema },
        }
    }

    /// The tables of an array.
    pub(crate) fn tables(&self, key: &str, schema: &'static str) -> Vec<Table<'a>> {
        let Some(item) = self.get(key) else { return Vec::new() };
        let DeValue::Array(array) = item.value.get_ref() else {
            item.problem(format!("`{}` must be a list of tables", item.path), Some(format!("write [[{key}]]")));
            return Vec::new();
        };
        let entry = |(index, value)| item.entry(index, value).table(schema);
        array.iter().enumerate().filter_map(entry).collect()
    }

    pub(crate) fn length(&self, key: &str, bound: Bound) -> Option<f64> {
        self.get(key)?.length(bound)
    }

    pub(crate) fn rate(&self, key: &str, bound: Bound) -> Option<f64> {
        self.get(key)?.measure(Kind::Rate, bound)
    }

    pub(crate) fn number(&self, key: &str, bound: Bound) -> Option<f64> {
        self.get(key)?.number(bound)
    }

    pub(crate) fn flag(&self, key: &str) -> Option<bool> {
        let item = self.get(key)?;
        let DeValue::Boolean(value) = item.value.get_ref() else {
            item.problem(format!("`{}` must be true or false", item.path), None);
            return None;
        };
        Some(*value)
    }

    pub(crate) fn count(&self, key: &str, least: u64, greatest: u64) -> Option<u64> {
        self.get(key)?.count(least, greatest)
    }

    pub(crate) fn text(&self, key: &str) -> Option<&'a str> {
        self.get(key)?.text()
    }

    /// One of a few words.
    pub(crate) fn choice<T: Copy>(&self, key: &str, choices: &[(&str, T)]) -> Option<T> {
        let item = self.get(key)?;
        let text = item.value.get_ref().as_str();
        if let Some(&(_, value)) = text.and_then(|text| choices.iter().find(|(word, _)| *word == text)) {
            return Some(value);
        }
        let words = choices.iter().map(|(word, _)| format!("\"{word}\"")).collect::<Vec<_>>().join(", ");
        item.problem(format!("`{}` must be one of {words}", item.path), near_word(text, choices));
        None
    }

    /// Least and greatest, in lengths.
    pub(crate) fn span_of_lengths(&self, key: &str, bound: Bound) -> Option<[f64; 2]> {
        let item = self.get(key)?;
        let [low, high] = item.list(|entry| entry.length(bound))?.try_into().ok().or_else(|| item.not_a_pair())?;
        item.rising(low, high)
    }

    /// Least and greatest, in plain numbers.
    pub(crate) fn span_of_numbers(&self, key: &str, bound: Bound) -> Option<[f64; 2]> {
        let item = self.get(key)?;
        let [low, high] = item.list(|entry| entry.number(bound))?.try_into().ok().or_else(|| item.not_a_pair())?;
        item.rising(low, high)
    }

    /// Reports that a key is missing, and answers NaN so that the reading can go on.
    pub(crate) fn missing(&self, key: &str, example: &str) -> f64 {
        if !self.has(key) {
            let message = format!("`{}` is missing", self.path_of(key));
            let place = if self.path.is_empty() { "the scene" } else { "this table" };
            self.cx.problem(self.span(), message, format!("{place} needs it"), Some(format!("add {example}")));
        }
        f64::NAN
    }

    /// A length that must be there.
    pub(crate) fn needed_length(&self, key: &str, bound: Bound, example: &str) -> f64 {
        self.length(key, bound).unwrap_or_else(|| self.missing(key, example))
    }

    /// The value, or a default that is listed as assumed where the key is absent.
    pub(crate) fn or<T>(&self, key: &str, value: Option<T>, default: T, written: &str, because: &str) -> T {
        if !self.has(key) {
            self.cx.assume(self.path_of(key), written.to_owned(), because);
        }
        value.unwrap_or(default)
    }

    /// Reports a problem with a key of this table, or with the table where the key is absent.
    pub(crate) fn problem(&self, key: &str, message: String, help: Option<String>) {
        match self.get(key) {
            Some(item) => item.problem(message, help),
            None => self.cx.problem(self.span(), message, String::new(), help),
        }
    }
}

fn listed<'k>(keys: impl Iterator<Item = &'k str>) -> String {
    keys.map(|key| format!("`{key}`")).collect::<Vec<_>>().join(", ")
}

fn near_word<T>(text: Option<&str>, choices: &[(&str, T)]) -> Option<String> {
    let near = schema::nearest_word(text?, choices.iter().map(|(word, _)| *word))?;
    Some(format!("did you mean \"{near}\"?"))
}

impl<'a> Item<'a> {
    pub(crate) fn path(&self) -> &str {
        &self.path
    }

    /// What was written.
    pub(crate) fn value(&self) -> &'a DeValue<'a> {
        self.value.get_ref()
    }

    /// The file the value is written in.
    pub(crate) fn source(&self) -> &'a Source {
        self.cx.sources.at(self.value.span().start)
    }

    pub(crate) fn problem(&self, message: String, help: Option<String>) {
        self.cx.problem(self.value.span(), message, String::new(), help);
    }

    /// Reports a problem with the key rather than with its value.
    pub(crate) fn problem_with_key(&self, message: String, help: Option<String>) {
        self.cx.problem(self.key_span.clone(), message, String::new(), help);
    }

    /// The value as a table with the keys of a schema path.
    pub(crate) fn table(&self, schema: &'static str) -> Option<Table<'a>> {
        let DeValue::Table(table) = self.value.get_ref() else {
            self.problem(format!("`{}` must be a table", self.path), keys_help(schema));
            return None;
        };
        Some(Table::open(self.cx, table, self.value.span(), self.path.clone(), schema))
    }

    fn entry(&self, index: usize, value: &'a Spanned<DeValue<'a>>) -> Item<'a> {
        Item { cx: self.cx, path: format!("{}[{}]", self.path, index + 1), key_span: self.key_span.clone(), value }
    }

    /// Every entry of a list read the same way; `None` if it is no list or an entry cannot be read.
    pub(crate) fn list<T>(&self, read: impl Fn(&Item<'a>) -> Option<T>) -> Option<Vec<T>> {
        let DeValue::Array(array) = self.value.get_ref() else {
            self.problem(format!("`{}` must be a list", self.path), Some("write it in brackets, as in [ … ]".into()));
            return None;
        };
        array.iter().enumerate().map(|(index, value)| read(&self.entry(index, value))).collect()
    }

    fn not_a_pair<T>(&self) -> Option<T> {
        self.problem(format!("`{}` must hold two numbers, the least and the greatest", self.path), None);
        None
    }

    fn rising(&self, low: f64, high: f64) -> Option<[f64; 2]> {
        if low <= high {
            return Some([low, high]);
        }
        self.problem(format!("`{}` must rise: the least first, then the greatest", self.path), None);
        None
    }

    /// A stack of cylinders: [[diameter, length], …].
    pub(crate) fn cylinders(&self) -> Option<Vec<Cylinder>> {
        self.list(|entry| {
            let sizes = entry.list(|size| size.length(Bound::Positive))?;
            let &[diameter, length] = sizes.as_slice() else {
                entry.problem(format!("`{}` must be [diameter, length]", entry.path), None);
                return None;
            };
            Some(Cylinder { diameter, length })
        })
    }

    /// Least and greatest, lengths or plain numbers.
    pub(crate) fn range(&self, lengths: bool) -> Option<[f64; 2]> {
        let read = |entry: &Item<'a>| if lengths { entry.length(Bound::Any) } else { entry.number(Bound::Any) };
        let [low, high] = self.list(read)?.try_into().ok().or_else(|| self.not_a_pair())?;
        self.rising(low, high)
    }

    /// First and last line of a program.
    pub(crate) fn lines(&self) -> Option<[u32; 2]> {
        let last = u64::from(u32::MAX);
        let lines = self.list(|entry| entry.count(1, last).map(|line| line as u32))?;
        let [first, last] = lines.try_into().ok().or_else(|| self.not_a_pair())?;
        if first > last {
            return self.rising(1.0, 0.0).map(|_| [first, last]);
        }
        Some([first, last])
    }

    /// The keys of a table whose keys are names of the user's own.
    pub(crate) fn entries(&self) -> Vec<(&'a str, Item<'a>)> {
        let DeValue::Table(table) = self.value.get_ref() else { return Vec::new() };
        let mut entries = Vec::new();
        for (name, value) in table {
            let text: &'a str = name.get_ref();
            let path = format!("{}.{text}", self.path);
            entries.push((text, Item { cx: self.cx, path, key_span: name.span(), value }));
        }
        entries
    }

    pub(crate) fn text(&self) -> Option<&'a str> {
        let text = self.value.get_ref().as_str();
        if text.is_none() {
            self.problem(format!("`{}` must be a text in quotes", self.path), None);
        }
        text
    }

    pub(crate) fn length(&self, bound: Bound) -> Option<f64> {
        self.measure(Kind::Length, bound)
    }

    pub(crate) fn number(&self, bound: Bound) -> Option<f64> {
        self.measure(Kind::Plain, bound)
    }

    fn count(&self, least: u64, greatest: u64) -> Option<u64> {
        let value = match self.value.get_ref() {
            DeValue::Integer(integer) => u64::from_str_radix(integer.as_str(), integer.radix()).ok(),
            _ => None,
        };
        let value = value.filter(|value| (least..=greatest).contains(value));
        if value.is_none() {
            let message = format!("`{}` must be a whole number from {least} to {greatest}", self.path);
            self.problem(message, None);
        }
        value
    }

    fn measure(&self, kind: Kind, bound: Bound) -> Option<f64> {
        let value = match (self.value.get_ref(), kind) {
            (DeValue::Integer(integer), _) => {
                i64::from_str_radix(integer.as_str(), integer.radix()).map_or(f64::INFINITY, |v| v as f64)
                    * self.scale(kind)
            }
            (DeValue::Float(float), _) => float.as_str().parse::<f64>().unwrap_or(f64::NAN) * self.scale(kind),
            (DeValue::String(text), Kind::Length | Kind::Rate) => match units::millimetres(text, self.source().units())
            {
                Ok(value) => value,
                Err(error) => {
                    self.problem(format!("`{}` is not a {}: {error}", self.path, kind.noun()), None);
                    return None;
                }
            },
            (other, _) => {
                let text = format!("`{}` must be a {}, not a {}", self.path, kind.noun(), other.type_str());
                self.problem(text, None);
                return None;
            }
        };
        self.bounded(value, kind, bound)
    }

    fn scale(&self, kind: Kind) -> f64 {
        match kind {
            Kind::Length | Kind::Rate => self.source().units().in_mm(),
            Kind::Plain => 1.0,
        }
    }

    fn bounded(&self, value: f64, kind: Kind, bound: Bound) -> Option<f64> {
        let (limit, limit_text) = kind.limit();
        let noun = kind.noun();
        let wrong = if value.is_nan() {
            Some("is not a number".to_owned())
        } else if value.abs() > limit {
            Some(format!("is beyond any {noun} that makes sense here ({limit_text})"))
        } else {
            match bound {
                Bound::Positive if value <= 0.0 => Some(format!("must be a {noun} above zero")),
                Bound::NotNegative if value < 0.0 => Some(format!("must be a {noun} of zero or above")),
                Bound::Within(low, high) if value < low || value > high => {
                    Some(format!("must lie between {low} and {high}"))
                }
                _ => None,
            }
        };
        match wrong {
            Some(wrong) => {
                self.problem(format!("`{}` {wrong}", self.path), None);
                None
            }
            None => Some(value),
        }
    }
}

fn keys_help(schema: &'static str) -> Option<String> {
    schema::keys_of(schema).next()?;
    Some(format!("it takes {}", listed(schema::keys_of(schema))))
}
