//! JSON Schemas of the workshop's file and of catalogue files, made from the records that read them, for editors that complete
//! YAML by them. The committed copies are held against these, and print.
//!
//! They are closed: a key that no record has is marked while it is written. What a value must be beyond its form (a unit of the
//! right dimension, a name that the catalogue has) is told by `check` and the language server.

use schemars::{Schema, json_schema};
use serde_json::{Map, Value, json};

use super::bench::{Agent, Bore, NozzleMetal, Surface};
use super::chemical::Chemical;
use super::figures::TABLE;
use super::material::Material;
use super::shop::reference::{self, Section};
use super::surroundings::{BuildUp, Citation, Colour, Place};
use super::value::{Field, Shape, SourceKind};
use crate::quantity::Dimension;

/// The sections of a workshop's file that are lists; the others are blocks.
const LISTS: [&str; 8] =
    ["printers", "nozzles", "surfaces", "agents", "spools", "yields", "calibration", "tools.inserts"];
/// Those whose items may be a name alone.
const NAMED: [&str; 2] = ["surfaces", "agents"];

/// What of an entry names it, and so has no source.
const BY_ITSELF: [&str; 1] = ["bore"];

const DRAFT: &str = "https://json-schema.org/draft/2020-12/schema";

/// Returns the schema of `shop.yaml`.
fn shop() -> Schema {
    let mut schema = section("");
    let object = schema.as_object_mut().into_iter();
    for (key, value) in
        object.flat_map(|o| o.get_mut("properties").and_then(Value::as_object_mut).into_iter().flatten())
    {
        if key == "catalogue" {
            *value = entries();
        }
    }
    titled(schema, "A workshop: what it has and knows of itself")
}

/// Returns the schema of a catalogue file.
fn catalogue() -> Schema {
    titled(entries(), "Entries of the catalogue: materials, surfaces, figures and what else is known")
}

fn titled(schema: Value, title: &str) -> Schema {
    let mut whole = json_schema!({ "$schema": DRAFT, "title": title, "$defs": defined() });
    for (key, value) in schema.as_object().cloned().unwrap_or_default() {
        whole.insert(key, value);
    }
    whole
}

/// Returns the schema of a part of the workshop's file that holds keys, with those below it.
fn section(path: &str) -> Value {
    let of = |s: &&Section| s.path == path;
    let fields = reference::SECTIONS.iter().find(of).map_or(&[][..], |s| s.fields);
    let (mut properties, mut needed) = (Map::new(), Vec::new());
    for field in fields {
        let key = if path.is_empty() { field.name.to_owned() } else { format!("{path}.{}", field.name) };
        let mut value = of_shop(&key, field);
        value["description"] = json!(described(&key, field));
        // An entry of a list that names itself by its kind needs no more.
        if field.needed && !(NAMED.contains(&path) && field.name != "kind") {
            needed.push(field.name);
        }
        properties.insert(field.name.to_owned(), value);
    }
    json!({ "type": "object", "properties": properties, "required": needed, "additionalProperties": false })
}

fn of_shop(key: &str, field: &Field) -> Value {
    if reference::SECTIONS.iter().any(|s| s.path == key) {
        let below = section(key);
        return match (LISTS.contains(&key), NAMED.contains(&key)) {
            (true, true) => json!({ "type": "array", "items": { "anyOf": [{ "type": "string" }, below] } }),
            (true, false) => json!({ "type": "array", "items": below }),
            _ => below,
        };
    }
    match key {
        "printers.build" => json!({ "type": "array", "items": { "type": "string" }, "minItems": 3, "maxItems": 3 }),
        "tools.reamers" | "tools.drills" => json!({ "type": "array", "items": { "type": "string" } }),
        _ => plain(field.shape),
    }
}

fn described(key: &str, field: &Field) -> String {
    let effect = reference::effect(key).map_or(String::new(), |e| format!(". {e}"));
    format!("{}{effect}", field.help.trim().trim_end_matches('.'))
}

/// Returns the schema of a value as it is written by itself.
fn plain(shape: Shape) -> Value {
    match shape {
        Shape::Quantity(_) => json!({ "type": ["string", "number"] }),
        Shape::Word(words) => json!({ "enum": words }),
        Shape::Flag => json!({ "enum": ["yes", "no", true, false] }),
        Shape::Text => json!({ "type": ["string", "number"] }),
        Shape::Words => json!({ "type": "array", "items": { "type": ["string", "number"] } }),
        Shape::Block => json!({}),
    }
}

/// Returns the schema of a value of the catalogue: the figure or the fact with the kind of its source.
fn sourced(shape: Shape) -> Value {
    match shape {
        Shape::Quantity(_) => json!({ "$ref": "#/$defs/figure" }),
        Shape::Flag => json!({ "$ref": "#/$defs/answer" }),
        Shape::Text => json!({ "$ref": "#/$defs/text" }),
        Shape::Words => json!({ "$ref": "#/$defs/texts" }),
        Shape::Word(_) => fact(plain(shape)),
        Shape::Block => json!({}),
    }
}

/// Returns the schemas that entries of the catalogue refer to.
fn defined() -> Value {
    let any = Dimension::NONE;
    json!({
        "figure": with_source(&["typ", "low", "high"], plain(Shape::Quantity(any))),
        "answer": fact(plain(Shape::Flag)),
        "text": fact(plain(Shape::Text)),
        "texts": fact(plain(Shape::Words)),
    })
}

/// What names an entry stands by itself; what is known of it has its source.
fn fact(plain: Value) -> Value {
    json!({ "anyOf": [plain, with_source(&["is"], plain.clone())] })
}

fn with_source(keys: &[&str], of: Value) -> Value {
    let mut value: Map<String, Value> = keys.iter().map(|k| ((*k).to_owned(), of.clone())).collect();
    value.insert("kind".to_owned(), json!({ "enum": SourceKind::WORDS, "description": "how firm it is" }));
    value.insert("source".to_owned(), json!({ "type": "string", "description": "key of the work it is from" }));
    value.insert("note".to_owned(), json!({ "type": "string" }));
    json!({ "type": "object", "properties": value, "required": ["kind"], "additionalProperties": false })
}

/// Returns the schema of the sections of a catalogue file.
fn entries() -> Value {
    let map = |fields: &[Field]| {
        let mut properties: Map<String, Value> = Map::new();
        for field in fields.iter().filter(|f| f.name != "name") {
            let mut value = if BY_ITSELF.contains(&field.name) { plain(field.shape) } else { sourced(field.shape) };
            value["description"] = json!(field.help.trim());
            properties.insert(field.name.to_owned(), value);
        }
        properties
            .insert("like".to_owned(), json!({ "type": "string", "description": "all that is not given is as there" }));
        let entry = json!({ "type": "object", "properties": properties, "additionalProperties": false });
        json!({ "type": "object", "additionalProperties": entry })
    };
    let figures: Map<String, Value> = TABLE.iter().map(|row| {
        let one = sourced(Shape::Quantity(row.dimension));
        let by = json!({ "type": "object", "properties": { "nuisance": one, "damage": one, "injury": one }, "additionalProperties": false });
        let mut value = if row.by_consequence.is_some() { json!({ "anyOf": [one, by] }) } else { one };
        value["description"] = json!(row.help);
        (row.name.to_owned(), value)
    }).collect();
    let rows = json!({ "type": "array", "items": { "type": "object" } });
    let named = json!({ "type": "object", "additionalProperties": { "type": "object" } });
    json!({
        "type": "object",
        "properties": {
            "materials": map(Material::FIELDS),
            "metals": map(NozzleMetal::FIELDS),
            "bores": map(Bore::FIELDS),
            "surfaces": map(Surface::FIELDS),
            "agents": map(Agent::FIELDS),
            "bonds": rows,
            "chemical_classes": named,
            "chemicals": map(Chemical::FIELDS),
            "resistance": rows,
            "stress_cracking": rows,
            "colours": map(Colour::FIELDS),
            "places": map(Place::FIELDS),
            "build_ups": map(BuildUp::FIELDS),
            "figures": { "type": "object", "properties": figures, "additionalProperties": false },
            "words": { "type": "object", "additionalProperties": sourced(Shape::Words) },
            "sources": map(Citation::FIELDS),
        },
        "additionalProperties": false
    })
}

#[cfg(test)]
#[expect(clippy::disallowed_methods, reason = "the committed schemas are read, or written anew")]
mod tests {
    use super::*;

    #[test]
    fn the_committed_schemas_are_those_of_the_records() {
        for (name, schema) in [("shop", shop()), ("catalogue", catalogue())] {
            let written = serde_json::to_string_pretty(&schema).unwrap() + "\n";
            let path = format!("{}/grammar/{name}.schema.json", env!("CARGO_MANIFEST_DIR"));
            if std::env::var_os("UPDATE").is_some() {
                std::fs::write(&path, &written).unwrap();
            }
            let committed = std::fs::read_to_string(&path).unwrap_or_default();
            assert!(
                committed == written,
                "grammar/{name}.schema.json is old: run `UPDATE=1 cargo test --lib schema` and read the change"
            );
        }
    }
}
