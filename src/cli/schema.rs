//! `schema`: the form of a job file as a JSON Schema, for editors.
//!
//! # Source
//! JSON Schema, draft 2020-12: core and validation vocabularies.

use super::Answer;
use crate::job::{Entry, EntrySort as Sort, forms};
use serde_json::{Map, Value, json};

pub(super) fn run() -> Answer {
    let schema = schema();
    let mut answer = Answer::new();
    answer.raw = Some(format!("{schema:#}\n"));
    answer.result = json!({ "json-schema": schema });
    answer
}

fn schema() -> Value {
    let mut top = table(&forms());
    let head = [
        ("$schema", json!("https://json-schema.org/draft/2020-12/schema")),
        ("title", json!("job.toml of pouchwork")),
        ("description", json!("A job: what is to be cut, and what there is to cut it from.")),
        ("$defs", defs()),
    ];
    for (key, value) in head {
        top.insert(key.to_owned(), value);
    }
    Value::Object(top)
}

/// What is used again and again.
fn defs() -> Value {
    let figure = json!({
        "anyOf": [
            { "type": "string", "minLength": 1, "pattern": "^[^,]+$" },
            { "type": "number" },
        ],
        "description": "a text with its unit, such as \"1 1/4 in\"; a bare number where `unit` is set",
    });
    let point = json!({
        "type": "array", "minItems": 2, "maxItems": 2, "items": { "$ref": "#/$defs/figure" },
    });
    json!({
        "figure": figure,
        "length": { "anyOf": [
            { "$ref": "#/$defs/figure" },
            { "type": "array", "minItems": 1, "items": { "$ref": "#/$defs/figure" } },
        ]},
        "lengths": { "type": "array", "items": { "$ref": "#/$defs/figure" } },
        "point": point,
    })
}

fn table(entries: &[Entry]) -> Map<String, Value> {
    let keys: Map<String, Value> =
        entries.iter().map(|entry| (entry.name.to_owned(), key(entry))).collect();
    let needed: Vec<&str> =
        entries.iter().filter(|e| e.needed && !e.measure).map(|e| e.name).collect();
    let mut made = Map::new();
    made.insert("type".to_owned(), json!("object"));
    made.insert("properties".to_owned(), Value::Object(keys));
    made.insert("additionalProperties".to_owned(), json!(false));
    if !needed.is_empty() {
        made.insert("required".to_owned(), json!(needed));
    }
    let has = |name: &str| entries.iter().any(|entry| entry.name == name);
    if has("positions") && has("count") {
        made.insert(
            "oneOf".to_owned(),
            json!([{ "required": ["positions"] }, { "required": ["count"] }]),
        );
    }
    // Measures may also come from a table of places, or from the part whose mirror image it is.
    let measures: Vec<&str> =
        entries.iter().filter(|e| e.needed && e.measure).map(|e| e.name).collect();
    if !measures.is_empty() {
        made.insert(
            "anyOf".to_owned(),
            json!([
                { "required": measures },
                { "required": ["table"] },
                { "required": ["mate-of"] },
            ]),
        );
    }
    made
}

/// What may stand behind a key, with a word about it.
fn key(entry: &Entry) -> Value {
    let mut made = match sort(&entry.sort) {
        Value::Object(made) => made,
        other => Map::from_iter([("allOf".to_owned(), json!([other]))]),
    };
    let example = entry.example.trim();
    let about = match example {
        "" => entry.about.to_owned(),
        _ => format!("{}; for example {example}", entry.about),
    };
    made.insert("description".to_owned(), Value::String(about));
    Value::Object(made)
}

fn sort(sort: &Sort) -> Value {
    let figures = |least: usize, most: usize| {
        json!({
            "type": "array", "minItems": least, "maxItems": most,
            "items": { "$ref": "#/$defs/figure" },
        })
    };
    match sort {
        Sort::Length | Sort::Signed => json!({ "$ref": "#/$defs/length" }),
        Sort::Lengths => json!({ "$ref": "#/$defs/lengths" }),
        Sort::Point => json!({ "$ref": "#/$defs/point" }),
        Sort::Points(least) => json!({
            "type": "array", "minItems": least, "items": { "$ref": "#/$defs/point" },
        }),
        Sort::Corners => json!({ "type": "array", "minItems": 2, "items": figures(2, 3) }),
        Sort::Line => json!({
            "type": "array", "minItems": 2,
            "items": { "type": "array", "minItems": 2, "maxItems": 3, "items": { "type": "number" } },
        }),
        Sort::Count(least, most) => {
            json!({ "type": "integer", "minimum": least, "maximum": most })
        }
        Sort::Number(least, most) => {
            json!({ "type": "number", "minimum": least, "maximum": most })
        }
        Sort::Word(words) => json!({ "enum": words }),
        Sort::Text => json!({ "type": "string" }),
        Sort::TextOrCount => json!({ "type": ["string", "integer"] }),
        Sort::Texts => json!({
            "type": "array", "minItems": 1, "items": { "type": "string" },
        }),
        Sort::Growth => json!({ "anyOf": [
            { "const": "material" },
            { "type": "array", "minItems": 2, "maxItems": 2, "items": { "type": "string" } },
        ]}),
        Sort::Table(entries) => Value::Object(table(entries)),
        Sort::Tables(entries) => json!({ "type": "array", "items": table(entries) }),
        Sort::Own => json!({ "type": "object", "additionalProperties": { "type": "string" } }),
        Sort::Kinds(by, kinds) => kinds_of(by, kinds),
    }
}

/// Tables of several kinds: an editor first sees the names of the kinds, then the keys of the one that is typed.
fn kinds_of(by: &str, kinds: &[(&'static str, Vec<Entry>)]) -> Value {
    let names: Vec<&str> = kinds.iter().map(|(name, _)| *name).collect();
    let each: Vec<Value> = kinds
        .iter()
        .map(|(name, entries)| {
            let mut then = table(entries);
            if let Some(Value::Object(keys)) = then.get_mut("properties") {
                keys.insert(by.to_owned(), json!({ "const": name }));
            }
            json!({
                "if": { "properties": { by: { "const": name } }, "required": [by] },
                "then": then,
            })
        })
        .collect();
    json!({
        "type": "array",
        "items": {
            "type": "object",
            "required": [by],
            "properties": { by: { "enum": names, "description": "what it is: pouchwork kind" } },
            "allOf": each,
        },
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::part::KINDS;

    #[test]
    fn every_kind_has_its_keys_and_no_other() {
        let schema = schema();
        let each = schema["properties"]["part"]["items"]["allOf"].as_array().unwrap();
        assert_eq!(each.len(), KINDS.len());
        for (card, one) in KINDS.iter().zip(each) {
            assert_eq!(one["if"]["properties"]["kind"]["const"], card.name);
            assert_eq!(one["then"]["additionalProperties"], false);
            for key in card.keys {
                assert!(one["then"]["properties"][key.name].is_object(), "{}", key.name);
            }
        }
    }

    #[test]
    fn what_is_referred_to_is_there() {
        let schema = schema();
        let text = schema.to_string();
        for part in text.split("\"$ref\":\"#/$defs/").skip(1) {
            let name = part.split('"').next().unwrap();
            assert!(schema["$defs"][name].is_object(), "{name}");
        }
    }
}
