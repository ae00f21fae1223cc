//! What a recipe says, for tests to read.

use super::read::{Margin, Recipe};
use makeready::recipe::Status;

/// The material decided on.
pub fn material(recipe: &Recipe) -> &str {
    recipe.decisions.as_ref().map_or("none", |d| d.material.value.as_str())
}

/// Why a value was not taken.
pub fn rejection<'r>(recipe: &'r Recipe, value: &str) -> &'r str {
    let found = recipe.rejected.iter().find(|r| r.value == value);
    &found.unwrap_or_else(|| panic!("{value} is not among the rejected")).because.text
}

pub fn margin<'r>(recipe: &'r Recipe, what: &str) -> &'r Margin {
    let found = recipe.margins.iter().find(|m| m.what == what);
    found.unwrap_or_else(|| panic!("no margin {what}: {:#?}, conflicts {:#?}", recipe.margins, recipe.conflicts))
}

pub fn mesh_fact<'r>(recipe: &'r Recipe, name: &str) -> &'r str {
    &recipe.mesh.iter().find(|f| f.name == name).unwrap_or_else(|| panic!("no {name}")).value
}

pub fn setting<'r>(recipe: &'r Recipe, name: &str) -> &'r str {
    &recipe.settings.iter().find(|s| s.name == name).unwrap_or_else(|| panic!("no {name}")).value
}

/// The steps of the checklist, in order.
pub fn steps(recipe: &Recipe) -> Vec<&str> {
    recipe.checklist.iter().flat_map(|p| &p.steps).map(|s| s.text.as_str()).collect()
}

/// All that a refusal says.
pub fn refusals(recipe: &Recipe) -> String {
    assert_eq!(recipe.status, Status::NotPrintableAsSpecified, "{:#?}", recipe.margins);
    serde_json::to_string(recipe).unwrap()
}
