//! The JSON Schema of the machine form, made from the structs; the committed copy is held against it, and prints.
//!
//! It is open, as the form is: keys may be added. `tests/schema.rs` closes it and holds every recipe against it.

use std::borrow::Cow;

use schemars::generate::SchemaSettings;
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};

use super::*;
use crate::recipe::{Recipe, SCHEMA, Step};
use crate::rulebook::Phase as Ruled;
use crate::word::Word;

/// Gives a leaf the schema of the way it is written.
macro_rules! leaf {
    ($($kind:ty: $name:literal = $schema:tt),+ $(,)?) => {
        $(impl JsonSchema for $kind {
            fn schema_name() -> Cow<'static, str> {
                $name.into()
            }
            fn json_schema(_: &mut SchemaGenerator) -> Schema {
                json_schema!($schema)
            }
        })+
    };
}

leaf!(
    Sentence: "Sentence" = { "description": "A text for a person, the same as on the page.", "type": "string" },
    MarginName: "MarginName" = { "type": "string" },
    Cite: "Place" = { "description": "`file: path`.", "type": "string", "minLength": 1 },
    Cited: "Source" = { "description": "Kind and citation, and what of the line is from there.", "type": "string", "minLength": 1 },
    Basis: "Origin" = { "description": "A place, a source, or a working.", "type": "string", "minLength": 1 },
    Detail: "Detail" = { "type": "string" },
    Found: "Found" = { "type": "array", "items": { "type": "string" } },
    MeshValue: "MeshValue" = { "type": "string" },
    About: "About" = { "type": "string" },
    Named: "Fit" = { "description": "What a fit is, with its designation.", "type": "string" },
    Points: "Points" = { "description": "Points of penalty, in whole hundredths.", "type": "number" },
    Limits: "Limits" = {
        "type": "object",
        "properties": { "low": { "type": "number" }, "high": { "type": "number" }, "unit": { "const": "mm" } },
        "required": ["low", "high", "unit"]
    },
    Band: "Band" = {
        "description": "The typical value; `low` and `high` where they differ from it.",
        "type": "object",
        "properties": {
            "value": { "type": "number" },
            "low": { "type": "number" },
            "high": { "type": "number" },
            "unit": { "type": "string" }
        },
        "required": ["value", "unit"],
        "dependentRequired": { "low": ["high"], "high": ["low"] }
    },
);

/// The schema of a number with whatever unit it is shown in.
fn with_unit() -> Schema {
    json_schema!({
        "type": "object",
        "properties": { "value": { "type": "number" }, "unit": { "type": "string", "minLength": 1 } },
        "required": ["value", "unit"]
    })
}

impl JsonSchema for Quantity {
    fn schema_name() -> Cow<'static, str> {
        "Quantity".into()
    }
    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({ "anyOf": [{ "type": "number" }, with_unit()] })
    }
}

impl JsonSchema for Shown {
    fn schema_name() -> Cow<'static, str> {
        "Value".into()
    }
    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        json_schema!({
            "description": "A quantity, two ends, a word, yes or no, a list of these, or null where it is not known.",
            "anyOf": [
                generator.subschema_for::<Quantity>(),
                {
                    "type": "object",
                    "properties": { "low": { "type": "number" }, "high": { "type": "number" }, "unit": { "type": "string" } },
                    "required": ["low", "high", "unit"]
                },
                { "type": ["string", "boolean", "null"] },
                { "type": "array", "items": generator.subschema_for::<Shown>() }
            ]
        })
    }
}

impl JsonSchema for Phase {
    fn schema_name() -> Cow<'static, str> {
        "Phase".into()
    }
    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        let stages = [Stage::FirstArticle].into_iter().chain(Ruled::ALL.iter().map(|phase| Stage::Of(*phase)));
        let words: Vec<&str> = stages.map(Stage::word).collect();
        json_schema!({
            "type": "object",
            "properties": {
                "phase": { "enum": words },
                "title": { "type": "string" },
                "steps": { "type": "array", "items": generator.subschema_for::<Step>() }
            },
            "required": ["phase", "title", "steps"]
        })
    }
}

/// Gives a typed quantity the schema of a number in its one unit.
macro_rules! measured {
    ($($kind:ty: $name:literal in $unit:literal),+ $(,)?) => {
        leaf!($($kind: $name = {
            "type": "object",
            "properties": { "value": { "type": "number" }, "unit": { "const": $unit } },
            "required": ["value", "unit"]
        }),+);
    };
}

measured!(
    Length: "Length" in "mm",
    Area: "Area" in "mm²",
    Volume: "Volume" in "mm³",
    Mass: "Mass" in "g",
    Duration: "Duration" in "min",
);

/// Every member of a closed set.
fn members<W: Word>() -> Vec<W> {
    W::WORDS.iter().filter_map(|word| W::from_word(word)).collect()
}

/// Gives a closed set the schema of its words, each as it is written.
macro_rules! words {
    ($($kind:ty: $name:literal of $all:expr),+ $(,)?) => {
        $(impl JsonSchema for $kind {
            fn schema_name() -> Cow<'static, str> {
                $name.into()
            }
            fn json_schema(_: &mut SchemaGenerator) -> Schema {
                let words: Vec<_> = $all.iter().map(|member| serde_json::to_value(member).unwrap()).collect();
                json_schema!({ "enum": words })
            }
        })+
    };
}

words!(
    Decision: "Decision" of Decision::ALL,
    CautionKind: "CautionKind" of CautionKind::ALL,
    Verdict: "Verdict" of members::<Verdict>(),
    MarginKind: "MarginKind" of members::<MarginKind>(),
    Group: "Group" of members::<Group>(),
    Cause: "Cause" of members::<Cause>(),
);

#[cfg(test)]
#[expect(clippy::disallowed_methods, reason = "the committed schema is read, or written anew")]
mod tests {
    use super::*;

    #[test]
    fn the_committed_schema_is_that_of_the_structs() {
        let settings = SchemaSettings::draft2020_12().for_serialize();
        let mut schema = settings.into_generator().into_root_schema_for::<Recipe>();
        schema.insert("title".to_owned(), SCHEMA.into());
        let written = serde_json::to_string_pretty(&schema).unwrap() + "\n";
        let path = concat!(env!("CARGO_MANIFEST_DIR"), "/grammar/recipe.schema.json");
        if std::env::var_os("UPDATE").is_some() {
            std::fs::write(path, &written).unwrap();
        }
        let committed = std::fs::read_to_string(path).unwrap_or_default();
        assert!(
            committed == written,
            "grammar/recipe.schema.json is old: run `UPDATE=1 cargo test --lib schema` and read the change"
        );
    }
}
