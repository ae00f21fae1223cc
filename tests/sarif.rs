//! Findings as SARIF, held against the standard's own schema.
//!
//! `published/sarif-schema-2.1.0.json` is the schema of OASIS Static Analysis Results Interchange Format (SARIF) Version 2.1.0,
//! Errata 01 (`Schemata/sarif-schema-2.1.0.json` of the committee's repository), its descriptions left out, and the
//! pattern of a language's tag, which has a bracket too many and which we don't write.

use serde_json::Value;

use crate::workshop::{Workshop, root};

fn log(made: &Workshop, args: &[&str]) -> Value {
    let run = made.run(&[&["check", "--print", "sarif"], args].concat());
    let log: Value = serde_json::from_str(&run.stdout).unwrap();
    let text = std::fs::read_to_string(root().join("tests/published/sarif-schema-2.1.0.json")).unwrap();
    let schema = jsonschema::draft7::new(&serde_json::from_str(&text).unwrap()).unwrap();
    let faults: Vec<String> = schema.iter_errors(&log).map(|e| format!("{}: {e}", e.instance_path())).collect();
    assert_eq!(faults, Vec::<String>::new());
    log["runs"][0].clone()
}

/// A starter with two mistakes, of which one is a word of another line.
fn wrong() -> Workshop {
    let made = Workshop::starter("peg");
    let spec = made.read("peg/peg.partspec");
    made.write("peg/peg.partspec", spec.replace("quantity  4", "quantiti  4").replace("\n  mesh ", "\n  mehs "));
    made
}

#[test]
fn findings_are_results_of_the_standard_s_form() {
    let made = wrong();
    let run = log(&made, &["peg"]);
    let results = run["results"].as_array().unwrap();
    assert!(results.len() >= 2, "{run}");
    let spec = made.read("peg/peg.partspec");
    for word in ["quantiti", "mehs"] {
        let line = spec.lines().position(|line| line.contains(word)).unwrap() + 1;
        let found = results.iter().find(|r| r["message"]["text"].as_str().unwrap().contains(word)).unwrap();
        let place = &found["locations"][0]["physicalLocation"];
        assert_eq!(
            (place["region"]["startLine"].as_u64(), found["level"].as_str()),
            (Some(line as u64), Some("error"))
        );
        assert_eq!(place["artifactLocation"]["uri"], "peg.partspec");
        let rule = found["ruleIndex"].as_u64().unwrap() as usize;
        assert_eq!(run["tool"]["driver"]["rules"][rule]["id"], found["ruleId"]);
    }
}

#[test]
fn a_finding_is_known_again_when_its_line_has_moved() {
    let made = wrong();
    let marks = |made: &Workshop| -> Vec<Value> {
        let run = log(made, &["peg"]);
        run["results"].as_array().unwrap().iter().map(|r| r["partialFingerprints"].clone()).collect()
    };
    let before = marks(&made);
    let mut once: Vec<String> = before.iter().map(Value::to_string).collect();
    once.sort();
    once.dedup();
    assert_eq!(once.len(), before.len(), "two findings have one mark: {before:?}");
    made.write("peg/peg.partspec", format!("// a line more\n\n{}", made.read("peg/peg.partspec")));
    assert_eq!(marks(&made), before);
}

#[test]
fn nothing_found_is_an_empty_run_and_a_part_that_cannot_be_made_is_a_result() {
    let none = Workshop::starter("peg");
    assert_eq!(log(&none, &["peg/shop.yaml"])["results"], serde_json::json!([]));
    let hut = Workshop::hut();
    let refused = log(&hut, &["coolant-elbow"]);
    let result = &refused["results"][0];
    assert_eq!(result["ruleId"], "spec/cannot-be-made");
    assert!(result["message"]["text"].as_str().unwrap().contains("Not printable as specified"), "{result}");
}
