//! The recipe for machines: the `Recipe` structs as they are, in YAML and JSON. Key order is that of the structs.

use rayon::prelude::*;
use serde::Serialize;

use crate::recipe::Recipe;

/// Returns the recipe as one YAML document; every string that could be read as something else is quoted.
///
/// # Errors
///
/// Returns the serialiser's message; for a `Recipe` none is known.
pub fn yaml(recipe: &Recipe) -> Result<String, String> {
    serde_yaml::to_string(recipe).map_err(|e| e.to_string())
}

/// Returns several recipes as a YAML stream.
///
/// # Errors
///
/// As [`yaml`].
pub fn yaml_stream(recipes: &[&Recipe]) -> Result<String, String> {
    // `collect` keeps their order, whatever order they are done in.
    let documents: Vec<String> = recipes.par_iter().map(|r| yaml(r)).collect::<Result<_, _>>()?;
    Ok(documents.join("---\n"))
}

/// Returns any serialisable data as indented JSON with a line end: a recipe, or a list of them.
///
/// # Errors
///
/// Returns the serialiser's message; for a `Recipe` none is known.
pub fn json<T: Serialize + ?Sized>(data: &T) -> Result<String, String> {
    serde_json::to_string_pretty(data).map(|s| s + "\n").map_err(|e| e.to_string())
}
