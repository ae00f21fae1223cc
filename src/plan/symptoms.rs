//! What can go wrong with a recipe and how it looks: the rows of `recipes/catalogue/symptoms.yaml` that can happen to it.

use std::sync::LazyLock;

use serde::{Deserialize, Serialize};

use super::routing::Routing;
use crate::recipe::Recipe;

const TEXT: &str = include_str!("../../recipes/catalogue/symptoms.yaml");

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    symptoms: Vec<Row>,
}

#[derive(Deserialize, Clone)]
#[serde(deny_unknown_fields)]
struct Row {
    looks: String,
    cause: String,
    check: String,
    change: String,
    #[serde(default, rename = "where")]
    needs: Vec<String>,
    kind: String,
}

/// One way in which it can go wrong.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Symptom {
    /// What somebody sees.
    pub looks: String,
    /// What it most likely comes from.
    pub cause: String,
    /// The cheapest way to be sure.
    pub check: String,
    /// What to do.
    pub change: String,
    /// How good the source is.
    pub kind: String,
}

// A test reads it; a file that cannot be read gives no rows.
static ROWS: LazyLock<Vec<Row>> =
    LazyLock::new(|| serde_yaml::from_str::<File>(TEXT).map(|f| f.symptoms).unwrap_or_default());

/// What may be said of a recipe in `where`.
pub const TRAITS: [&str; 6] = ["damp", "warps", "supports", "agent", "bare", "drives-soft"];

/// Returns the rows that can happen to a recipe, its settings filled in.
pub fn of(routing: &Routing, recipe: &Recipe) -> Vec<Symptom> {
    let holds = |row: &&Row| row.needs.iter().all(|need| routing.traits.iter().any(|t| t == need));
    ROWS.iter()
        .filter(holds)
        .filter_map(|row| {
            let fill = |text: &str| filled(text, recipe);
            Some(Symptom {
                looks: fill(&row.looks)?,
                cause: fill(&row.cause)?,
                check: fill(&row.check)?,
                change: fill(&row.change)?,
                kind: row.kind.replace('-', " "),
            })
        })
        .collect()
}

/// Puts settings into a text; none where the recipe has no such setting.
fn filled(text: &str, recipe: &Recipe) -> Option<String> {
    let mut out = String::new();
    let mut rest = text;
    while let Some((before, after)) = rest.split_once('{') {
        let (name, behind) = after.split_once('}')?;
        let setting = recipe.settings.iter().find(|s| s.name == name)?;
        out.push_str(before);
        out.push_str(&setting.value.to_string());
        rest = behind;
    }
    out.push_str(rest);
    Some(out)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_row_is_read_and_knows_its_words() {
        let file: File = serde_yaml::from_str(TEXT).unwrap();
        assert!(file.symptoms.len() >= 12);
        for row in &file.symptoms {
            assert!(row.needs.iter().all(|need| TRAITS.contains(&need.as_str())), "{:?}", row.needs);
            assert!(["common-practice", "from-memory"].contains(&row.kind.as_str()), "{}", row.kind);
        }
    }
}
