//! The list of keys as a JSON schema. Its keywords are those of draft 4, the last that editors of TOML take.

use serde_json::{Map, Value, json};

use super::keys::TABLES;
use super::{Form, TableKeys};
use crate::read::Bound;

/// The JSON schema of a scene file, ending in a newline. A library is one, too, so no key but `format` is called for.
pub fn schema() -> String {
    let mut root = whole("");
    let definitions: Map<String, Value> = TABLES
        .iter()
        .filter(|table| !table.path.is_empty())
        .map(|table| (named(table.path), whole(table.path)))
        .collect();
    let head = [
        ("$schema", json!("http://json-schema.org/draft-04/schema#")),
        ("title", json!("dryturn scene, format 1")),
        (
            "description",
            json!("One job of a rotary router: machine, blank, holding, cutters and programs; or a library."),
        ),
        ("required", json!(["format"])),
        ("definitions", Value::Object(definitions)),
    ];
    root.as_object_mut()
        .into_iter()
        .for_each(|root| root.extend(head.clone().map(|(key, value)| (key.to_owned(), value))));
    format!("{root:#}\n")
}

/// A table as an object that takes no other keys.
fn whole(path: &str) -> Value {
    let keys = TABLES.iter().filter(|table| table.path == path).flat_map(|table: &TableKeys| table.keys);
    let properties: Map<String, Value> = keys
        .map(|key| {
            let mut value = form(&key.form);
            // Beside a reference other keywords count for nothing in draft 4.
            if value.get("$ref").is_some() {
                value = json!({ "allOf": [value] });
            }
            value["description"] = json!(key.told);
            (key.name.to_owned(), value)
        })
        .collect();
    json!({ "type": "object", "additionalProperties": false, "properties": properties })
}

/// A schema path as the name of a definition; brackets would have to be escaped in a reference.
fn named(path: &str) -> String {
    path.replace("[]", "")
}

fn form(form: &Form) -> Value {
    match form {
        // A number is bounded here; a text is left to the reader, which knows units and fractions.
        Form::Length(bound) => json!({ "anyOf": [number(in_any_unit(*bound)), { "type": "string" }] }),
        Form::Rate(bound) => json!({ "anyOf": [number(in_any_unit(*bound)), { "type": "string" }] }),
        Form::Number(bound) => number(*bound),
        Form::Count(least, greatest) => json!({ "type": "integer", "minimum": least, "maximum": greatest }),
        Form::Flag => json!({ "type": "boolean" }),
        Form::Text => json!({ "type": "string" }),
        Form::Words(words) => json!({ "type": "string", "enum": words }),
        Form::List(entry) => json!({ "type": "array", "items": self::form(entry) }),
        Form::Pair(entry) => list_of(entry, 2),
        Form::Six(entry) => list_of(entry, 6),
        Form::Either(forms) => json!({ "anyOf": forms.iter().map(self::form).collect::<Vec<_>>() }),
        Form::Table(path) => reference(path),
        Form::Tables(path) => json!({ "type": "array", "items": reference(path) }),
        Form::Named(entry) => json!({ "type": "object", "additionalProperties": self::form(entry) }),
    }
}

fn list_of(entry: &Form, count: usize) -> Value {
    json!({ "type": "array", "items": form(entry), "minItems": count, "maxItems": count })
}

fn reference(path: &str) -> Value {
    json!({ "$ref": format!("#/definitions/{}", named(path)) })
}

fn number(bound: Bound) -> Value {
    match bound {
        Bound::Any => json!({ "type": "number" }),
        Bound::Positive => json!({ "type": "number", "minimum": 0, "exclusiveMinimum": true }),
        Bound::NotNegative => json!({ "type": "number", "minimum": 0 }),
        Bound::Within(least, greatest) => json!({ "type": "number", "minimum": least, "maximum": greatest }),
    }
}

/// A bound on millimetres as one that holds for numbers in any unit.
fn in_any_unit(bound: Bound) -> Bound {
    match bound {
        Bound::Within(least, _) if least > 0.0 => Bound::Positive,
        Bound::Within(least, _) if least >= 0.0 => Bound::NotNegative,
        Bound::Within(..) => Bound::Any,
        bound => bound,
    }
}

#[cfg(test)]
mod tests;
