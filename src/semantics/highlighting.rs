//! A syntax file for editors, written from the vocabulary: `grammar/partspec.tmLanguage.json`.
//!
//! The format is the one most editors read: scopes by regular expressions. A test keeps the committed file equal.

use serde_json::{Value, json};

use super::form::Item;
use super::reference::keywords;
use super::vocabulary::VOCABULARY;
use crate::quantity::UNITS;

/// Returns the syntax file as JSON, with a line break at its end.
pub fn highlighting() -> String {
    let keywords = keywords().join("|");
    let value = json!({
        "name": "part spec",
        "scopeName": "source.partspec",
        "fileTypes": ["partspec", "runspec", "rules"],
        "patterns": [
            scope("comment.line.double-slash.partspec", "//.*$"),
            scope("string.quoted.double.partspec", r#""(\\.|[^"\\])*""#),
            // A statement's keyword begins a line or stands behind `;` or `{`.
            scope("keyword.control.partspec", &format!(r"(?<=^|[;{{])\s*({keywords})(?![\w-])")),
            scope("constant.numeric.partspec", &quantity()),
            scope("constant.language.direction.partspec", r"(?<![\w)])[+−-][xyzXYZ](?!\w)"),
            scope("constant.other.zone.partspec", r"\b[A-Za-z]{1,2}\d{1,2}(/[A-Za-z]{1,2}\d{1,2})?\b"),
            scope("keyword.other.partspec", &format!(r"\b({})\b", clause_words().join("|"))),
            scope("keyword.operator.partspec", r"\.\.|…|[=<>!≤≥≠]=?|[*/×+−-]|\b(and|or|not|in|is|known|unknown)\b"),
        ],
    });
    serde_json::to_string_pretty(&value).unwrap_or_default() + "\n"
}

fn scope(name: &str, expression: &str) -> Value {
    json!({ "name": name, "match": expression })
}

fn quantity() -> String {
    let mut units: Vec<&str> = UNITS.iter().map(|u| u.symbol).collect();
    // The longest first: `mm` before `m`.
    units.sort_by_key(|u| std::cmp::Reverse(u.chars().count()));
    let unit = units.join("|");
    format!(r"[+−-]?\d+([.,]\d+)?([eE][+-]?\d+)?(\s*({unit})([²³]|\^?[2-4])?(/({unit})([²³]|\^?[2-4])?)*(?![\w]))?")
}

/// The words of the patterns, keywords of statements on the same line among them.
pub(crate) fn clause_words() -> Vec<&'static str> {
    let mut words = Vec::new();
    for entry in VOCABULARY {
        collect(entry.form, &mut words);
        if entry.places.iter().any(|c| c.shares_lines()) {
            words.push(entry.keyword);
        }
    }
    words.retain(|w| w.chars().next().is_some_and(char::is_alphabetic) && *w != "x");
    words.sort_unstable();
    words.dedup();
    // The longest first: `in model` before `in`.
    words.sort_by_key(|w| std::cmp::Reverse(w.len()));
    words
}

fn collect(form: &'static [Item], words: &mut Vec<&'static str>) {
    for item in form {
        match item {
            Item::Word(word) | Item::Noise(word) => words.push(word),
            Item::OneOf(_, choices) => words.extend(choices.iter().copied()),
            Item::Value(_, super::form::Kind::Words(choices)) => words.extend(choices.iter().copied()),
            Item::Maybe(inner) => collect(inner, words),
            Item::Value(..) => {}
        }
    }
}

#[cfg(test)]
#[expect(clippy::disallowed_methods, reason = "the committed text is read, or written anew")]
mod tests {
    use super::*;

    #[test]
    fn the_committed_syntax_file_is_the_generated_one() {
        let path = concat!(env!("CARGO_MANIFEST_DIR"), "/grammar/partspec.tmLanguage.json");
        let generated = highlighting();
        if std::env::var_os("UPDATE").is_some() {
            std::fs::write(path, &generated).unwrap();
        }
        let committed = std::fs::read_to_string(path).unwrap_or_default();
        assert!(committed == generated, "{path} is old: run `UPDATE=1 cargo test highlighting` and read the change");
    }
}
