//! The JSON Schema of the recipe for machines, held by a validator of others against recipes as they are printed.
//!
//! The committed schema lets keys be added; here it is closed, so that a key it does not know is found.

use std::fs;

use jsonschema::Validator;
use serde_json::{Value, json};

use crate::workshop::{self, Workshop};

fn committed() -> Value {
    serde_json::from_str(&fs::read_to_string(workshop::root().join("grammar/recipe.schema.json")).unwrap()).unwrap()
}

/// Forbids keys an object's schema does not name.
fn close(schema: &mut Value) {
    match schema {
        Value::Object(object) => {
            object.values_mut().for_each(close);
            if object.get("properties").is_some_and(Value::is_object) {
                object.insert("additionalProperties".to_owned(), json!(false));
            }
        }
        Value::Array(items) => items.iter_mut().for_each(close),
        _ => {}
    }
}

/// The validator of the closed schema.
pub fn strict() -> Validator {
    let mut schema = committed();
    close(&mut schema);
    jsonschema::draft202012::new(&schema).unwrap()
}

/// Says where a recipe is not as the schema has it.
pub fn faults(validator: &Validator, recipe: &Value) -> Vec<String> {
    validator.iter_errors(recipe).map(|e| format!("{}: {e}", e.instance_path())).collect()
}

fn example() -> Value {
    let text = fs::read_to_string(workshop::root().join("examples/coat-hook/coat-hook.recipe.yaml")).unwrap();
    serde_yaml::from_str(&text).unwrap()
}

#[test]
fn the_committed_recipes_are_as_the_schema_says() {
    let validator = strict();
    let mut seen = workshop::Seen::default();
    for folder in fs::read_dir(workshop::root().join("examples")).unwrap().flatten().filter(|e| e.path().is_dir()) {
        for file in fs::read_dir(folder.path()).unwrap().flatten().map(|e| e.path()) {
            if file.to_string_lossy().ends_with(".recipe.yaml") {
                let recipe: Value = serde_yaml::from_str(&fs::read_to_string(&file).unwrap()).unwrap();
                assert_eq!(faults(&validator, &recipe), Vec::<String>::new(), "{}", file.display());
                let refused = recipe["decisions"].is_null();
                seen.one(if refused { "refused" } else { "decided" });
            }
        }
    }
    seen.each(&["refused", "decided"]);
}

/// The keys that sources named anywhere within a value point to: what follows the kind, up to a place or what is from there. A
/// standard is named by its number.
fn keys_within(value: &Value, out: &mut Vec<String>) {
    const KINDS: [&str; 4] = ["handbook ", "paper ", "library ", "computed "];
    match value {
        Value::Array(items) => items.iter().for_each(|item| keys_within(item, out)),
        Value::Object(map) => {
            for (key, value) in map {
                let named =
                    value.as_array().filter(|_| key == "source").into_iter().flatten().filter_map(Value::as_str);
                for source in named.filter(|s| KINDS.iter().any(|kind| s.starts_with(kind))) {
                    let whole = source.split([':', '(']).next().unwrap_or_default();
                    out.extend(whole.split_whitespace().skip(1).map(str::to_owned));
                }
                keys_within(value, out);
            }
        }
        _ => {}
    }
}

/// A key that leads nowhere is a citation of nothing.
#[test]
fn every_source_a_committed_recipe_names_stands_in_its_list() {
    let mut looked_up = 0;
    for folder in fs::read_dir(workshop::root().join("examples")).unwrap().flatten().filter(|e| e.path().is_dir()) {
        for file in fs::read_dir(folder.path()).unwrap().flatten().map(|e| e.path()) {
            if file.to_string_lossy().ends_with(".recipe.yaml") {
                let recipe: Value = serde_yaml::from_str(&fs::read_to_string(&file).unwrap()).unwrap();
                let listed: Vec<&str> =
                    recipe["sources"].as_array().unwrap().iter().filter_map(|s| s["key"].as_str()).collect();
                let mut keys = Vec::new();
                keys_within(&recipe, &mut keys);
                looked_up += keys.len();
                let lost: Vec<&String> = keys.iter().filter(|key| !listed.contains(&key.as_str())).collect();
                assert!(lost.is_empty(), "{}: {lost:?}", file.display());
            }
        }
    }
    assert!(looked_up > 15, "{looked_up}");
}

/// Makes of a recipe something that is none.
type Spoil = fn(&mut Value);

#[test]
fn a_recipe_that_is_not_as_the_schema_says_is_found() {
    let validator = strict();
    let recipe = example();
    assert_eq!(faults(&validator, &recipe), Vec::<String>::new());
    let spoilt: [(&str, Spoil); 7] = [
        ("a status of no such word", |r| r["status"] = json!("fine")),
        ("a key more", |r| r["more"] = json!(1)),
        ("a key less", |r| drop(r.as_object_mut().unwrap().remove("inputs"))),
        ("another version", |r| r["schema"] = json!("makeready-recipe/2")),
        ("a text for a quantity", |r| r["run"]["mass_each"] = json!("12 g")),
        ("another unit", |r| r["run"]["mass_each"]["unit"] = json!("kg")),
        ("a verdict of no such word", |r| r["margins"][0]["verdict"] = json!("narrow")),
    ];
    for (what, spoil) in spoilt {
        let mut recipe = recipe.clone();
        spoil(&mut recipe);
        assert!(!faults(&validator, &recipe).is_empty(), "{what} is not found");
    }
}

#[test]
fn the_program_prints_the_schema_as_committed() {
    let run = Workshop::empty().run(&["schema"]);
    assert_eq!(run.code, 0);
    assert_eq!(run.json(), committed());
}

fn of(name: &str) -> Validator {
    let printed = Workshop::empty().run(&["schema", name]).json();
    jsonschema::draft202012::new(&printed).unwrap()
}

fn yaml(text: &str) -> Value {
    serde_yaml::from_str(text).unwrap()
}

/// Files that are taken are as the schemas of workshop and catalogue say, and a slip in one is marked.
#[test]
fn workshop_and_catalogue_files_are_as_their_schemas_say() {
    let (shop, catalogue) = (of("shop"), of("catalogue"));
    let read = |path: &str| fs::read_to_string(workshop::root().join(path)).unwrap();
    let files = ["examples/shop.yaml", "recipes/templates/starter.shop.yaml", "recipes/catalogue/bench.yaml"];
    for file in files {
        assert_eq!(faults(&shop, &yaml(&read(file))), Vec::<String>::new(), "{file}");
    }
    let mut seen = 0;
    for file in fs::read_dir(workshop::root().join("recipes/catalogue")).unwrap().flatten() {
        let name = file.file_name().into_string().unwrap();
        // The bench is a workshop, and what looks how when it goes wrong is no entry a workshop may have.
        if !["bench.yaml", "symptoms.yaml"].contains(&name.as_str()) {
            let text = fs::read_to_string(file.path()).unwrap();
            assert_eq!(faults(&catalogue, &yaml(&text)), Vec::<String>::new(), "{name}");
            seen += 1;
        }
    }
    assert!(seen >= 10, "{seen}");
    let own = "catalogue:\n  materials:\n    PETG:\n      strength_across: { typ: 29 MPa, low: 26 MPa, high: 31 MPa, kind: computed }\n";
    let whole = format!("{}\n{own}", read("examples/shop.yaml"));
    assert_eq!(faults(&shop, &yaml(&whole)), Vec::<String>::new());
    for (from, to) in [
        ("enclosed: no", "enclosd: no"),
        ("    nozzle_limit: 290 °C\n", ""),
        ("drive: direct", "drive: sideways"),
        ("kind: computed", "kind: certain"),
        ("strength_across", "strenght_across"),
        ("low: 26 MPa", "least: 26 MPa"),
    ] {
        assert!(whole.contains(from), "{from}");
        assert_ne!(faults(&shop, &yaml(&whole.replace(from, to))), Vec::<String>::new(), "{to}");
    }
}

#[test]
fn a_form_for_records_is_as_its_schema_says() {
    let made = Workshop::hut();
    let run = "spring-service/spring-service.runspec";
    assert!(made.run(&["plan", run]).code <= 1);
    assert_eq!(made.run(&["record", run]).code, 0);
    let form = yaml(&made.read("spring-service/spring-service.form.yaml"));
    let validator = of("records");
    assert!(form.as_array().is_some_and(|rows| !rows.is_empty()));
    assert_eq!(faults(&validator, &form), Vec::<String>::new());
    assert_ne!(faults(&validator, &json!([{ "rounds": "Loft 1" }])), Vec::<String>::new());
}
