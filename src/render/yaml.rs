//! The recipe for machines: the `Recipe` structs as they are, in YAML and JSON. Key order is that of the structs.

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

/// Returns any serialisable data as one YAML document.
///
/// # Errors
///
/// Returns the serialiser's message; for a plan none is known.
pub fn any<T: Serialize>(data: &T) -> Result<String, String> {
    serde_yaml::to_string(data).map_err(|e| e.to_string())
}

/// Returns any serialisable data as indented JSON with a line end: a recipe, or a list of them.
///
/// # Errors
///
/// Returns the serialiser's message; for a `Recipe` none is known.
pub fn json<T: Serialize + ?Sized>(data: &T) -> Result<String, String> {
    serde_json::to_string_pretty(data).map(|s| s + "\n").map_err(|e| e.to_string())
}

/// What stands before, between and behind the items of a list in JSON.
pub const JSON_LIST: [&str; 3] = ["[\n", ",\n", "\n]\n"];

/// Returns what [`json`] made of something as an item of a list.
pub fn json_item(one: &str) -> String {
    // No text in JSON holds a line end as it is, so that every line is one of the form's own.
    one.lines().map(|line| format!("  {line}")).collect::<Vec<_>>().join("\n")
}

/// Returns a list of what [`json`] made of each, as [`json`] would make it of the list.
pub fn json_list<'t>(each: impl Iterator<Item = &'t str>) -> String {
    let [open, between, close] = JSON_LIST;
    format!("{open}{}{close}", each.map(json_item).collect::<Vec<_>>().join(between))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_list_of_texts_is_the_text_of_the_list() {
        let each = [serde_json::json!({"a": ["x\n  y", {}], "b": {"c": null}}), serde_json::json!([1.5, "\r\n,"])];
        let texts: Vec<String> = each.iter().map(|e| json(e).unwrap()).collect();
        assert_eq!(json_list(texts.iter().map(String::as_str)), json(&each).unwrap());
    }
}
