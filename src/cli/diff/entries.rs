//! A recipe as a flat list of what it decides, so that two can be held against each other.
//!
//! Reasons, sources and workings are left out: a recipe that decides the same for another reason has not changed.

use std::collections::BTreeMap;

use serde_json::Value;

/// What kind of line of a recipe something is, in order of consequence.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub(super) enum Group {
    Status,
    Conflict,
    Margin,
    Decision,
    Fit,
    Setting,
    Run,
    Question,
    Caution,
    Checklist,
}

impl Group {
    /// Whether it is how the part is made, rather than what is said of it.
    pub(super) fn is_choice(self) -> bool {
        matches!(self, Self::Decision | Self::Fit | Self::Setting)
    }
}

/// What a recipe decides: by group and name, its value in words.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Entries {
    of: BTreeMap<(Group, String), String>,
    mesh: BTreeMap<String, String>,
}

/// One line in which two recipes differ.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub(super) struct Difference {
    pub group: Group,
    pub name: String,
    pub before: Option<String>,
    pub now: Option<String>,
}

impl Entries {
    pub(super) fn status(&self) -> String {
        self.get(Group::Status, "status").unwrap_or_default().to_owned()
    }

    pub(super) fn get(&self, group: Group, name: &str) -> Option<&str> {
        self.of.get(&(group, name.to_owned())).map(String::as_str)
    }

    /// Returns what differs, in order of consequence.
    pub(super) fn differences(&self, now: &Self) -> Vec<Difference> {
        let mut keys: Vec<&(Group, String)> = self.of.keys().chain(now.of.keys()).collect();
        keys.sort();
        keys.dedup();
        let differs = |key: &&(Group, String)| self.of.get(*key) != now.of.get(*key);
        keys.into_iter()
            .filter(differs)
            .map(|key| Difference {
                group: key.0,
                name: key.1.clone(),
                before: self.of.get(key).cloned(),
                now: now.of.get(key).cloned(),
            })
            .collect()
    }

    /// Returns what of the making of a piece moved: decisions, sizes to model and settings, by name.
    pub(super) fn remade(&self, now: &Self) -> Vec<String> {
        let makes = |d: &Difference| matches!(d.group, Group::Decision | Group::Fit | Group::Setting);
        let mut names: Vec<String> = self.differences(now).into_iter().filter(makes).map(|d| d.name).collect();
        if !self.mesh_moved(now).is_empty() {
            names.push("the mesh".to_owned());
        }
        names
    }

    /// Says what of the mesh moved.
    pub(super) fn mesh_moved(&self, now: &Self) -> Vec<String> {
        let moved = |(name, new): (&String, &String)| {
            let old = self.mesh.get(name)?;
            (old != new).then(|| format!("{name} {old} -> {new}"))
        };
        now.mesh.iter().filter_map(moved).collect()
    }
}

/// Where the name of the spool taken stands, beside what the form for machines holds.
pub(super) const SPOOL: &str = "spool";

/// Facts of a mesh that tell a person what changed about a body.
const OF_THE_BODY: [&str; 5] = ["size", "volume", "surface", "separate bodies", "thinnest wall"];

/// Returns what a recipe in the form for machines decides.
pub(super) fn entries(recipe: &Value) -> Entries {
    let mut of = BTreeMap::new();
    let mut put = |group: Group, name: &str, value: String| {
        // Equal names are one after the other: the second margin called "heat" is `heat (2)`.
        let mut key = (group, name.to_owned());
        let mut nth = 1;
        while of.contains_key(&key) {
            nth += 1;
            key.1 = format!("{name} ({nth})");
        }
        of.insert(key, value);
    };
    put(Group::Status, "status", text(recipe, "status"));
    for conflict in list(recipe, "conflicts") {
        let lines: Vec<String> = list(conflict, "requirements").map(|r| text(r, "text")).collect();
        let told = if lines.is_empty() { text(conflict, "text") } else { lines.join("; ") };
        put(Group::Conflict, &told, "cannot stand".to_owned());
    }
    if let Some(Value::Object(decisions)) = recipe.get("decisions") {
        for (name, decided) in decisions {
            put(Group::Decision, &name.replace('_', "-"), text(decided, "value"));
        }
    }
    if recipe.get(SPOOL).is_some() {
        put(Group::Decision, SPOOL, text(recipe, SPOOL));
    }
    for margin in list(recipe, "margins") {
        let told = |key| margin.get("told").map_or_else(String::new, |t| text(t, key));
        let value = format!("{} (asked {}, there is {})", text(margin, "verdict"), told("demand"), told("capacity"));
        put(Group::Margin, &text(margin, "what"), value);
    }
    for fit in list(recipe, "allowances") {
        let model = fit.get("model_size").map(shown).filter(|m| !m.is_empty());
        let model = model.map_or_else(String::new, |m| format!("model it at {m}; "));
        put(Group::Fit, &format!("fit \"{}\"", text(fit, "fit")), format!("{model}{}", text(fit, "route")));
    }
    for setting in list(recipe, "settings") {
        put(Group::Setting, &text(setting, "name"), setting.get("value").map_or_else(String::new, shown));
    }
    if let Some(run) = recipe.get("run").filter(|r| r.is_object()) {
        let number = |key| run.get(key).map_or_else(String::new, shown);
        put(Group::Run, "pieces", format!("{} wanted, start {}", number("wanted"), number("start")));
        put(Group::Run, "plates", format!("{} of up to {}", number("rounds"), number("per_round")));
        put(Group::Run, "time", number("time_total"));
        put(Group::Run, "mass", number("mass_total"));
    }
    for assumed in list(recipe, "assumptions").filter(|a| a.get("question") == Some(&Value::Bool(true))) {
        put(Group::Question, &text(assumed, "text"), "open".to_owned());
    }
    for caution in list(recipe, "cautions") {
        put(Group::Caution, &text(caution, "text"), text(caution, "kind"));
    }
    for step in list(recipe, "checklist").flat_map(|phase| list(phase, "steps")) {
        put(Group::Checklist, &text(step, "text"), "stands".to_owned());
    }
    let mesh = list(recipe, "mesh")
        .map(|fact| (text(fact, "name"), fact.get("value").map_or_else(String::new, shown)))
        .filter(|(name, _)| OF_THE_BODY.contains(&name.as_str()));
    Entries { of, mesh: mesh.collect() }
}

/// Returns whether two recipes were made from the same files, whatever the program knew.
pub(super) fn same_inputs(one: &Value, other: &Value) -> bool {
    let files = |recipe: &Value| -> BTreeMap<String, String> {
        let named = list(recipe, "inputs").map(|i| (text(i, "name"), text(i, "digest")));
        named.filter(|(name, _)| !name.contains("built-in")).collect()
    };
    files(one) == files(other)
}

fn list<'v>(value: &'v Value, key: &str) -> impl Iterator<Item = &'v Value> {
    value.get(key).and_then(Value::as_array).into_iter().flatten()
}

fn text(value: &Value, key: &str) -> String {
    value.get(key).map_or_else(String::new, shown)
}

/// Returns a value as a person would write it: `250 °C`, `PETG`, `3`.
fn shown(value: &Value) -> String {
    match value {
        Value::Null => String::new(),
        Value::String(text) => text.clone(),
        Value::Number(number) => number.as_f64().map_or_else(|| number.to_string(), rounded),
        Value::Object(quantity) => match (quantity.get("value"), quantity.get("unit").and_then(Value::as_str)) {
            (Some(value), Some(unit)) => format!("{} {unit}", shown(value)),
            _ => value.to_string(),
        },
        other => other.to_string(),
    }
}

/// Returns a number with three decimals at most.
fn rounded(number: f64) -> String {
    let text = format!("{number:.3}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn only_what_is_decided_differs() {
        let recipe = |material: &str, why: &str| {
            json!({
                "status": "ready",
                "decisions": { "material": { "value": material, "because": [{ "text": why }] } },
                "settings": [{ "name": "speed", "value": { "value": 80.0, "unit": "mm/s" } }],
                "inputs": [{ "name": "shop.yaml", "digest": why }],
            })
        };
        let (one, other) = (entries(&recipe("PLA", "a")), entries(&recipe("PLA", "b")));
        assert_eq!(one.differences(&other), []);
        let moved = one.differences(&entries(&recipe("PETG", "a")));
        assert_eq!(moved.len(), 1);
        assert_eq!((moved[0].name.as_str(), moved[0].before.as_deref()), ("material", Some("PLA")));
        assert_eq!(one.get(Group::Setting, "speed"), Some("80 mm/s"));
        assert!(!same_inputs(&recipe("PLA", "a"), &recipe("PLA", "b")));
    }
}
