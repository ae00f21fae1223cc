//! Refusals from the outside: what conflicts, in which order ways out are told, and that each of them does as promised.

use std::fs;

use crate::workshop::read::{Recipe, Relaxation};
use makeready::recipe::Status;

use crate::workshop::Workshop;

const SPEC: &str = "peg.partspec";

/// The starter's peg in its workshop, under these lines.
fn peg(lines: &str) -> String {
    format!(
        "part \"peg\" {{\n  mesh \"peg.stl\" in mm\n  consequence nuisance\n  face \"back\" toward -z\n{lines}\n}}\n"
    )
}

fn refused(spec: &str) -> Recipe {
    let recipe = compiled(spec);
    assert_eq!(recipe.status, Status::NotPrintableAsSpecified);
    recipe
}

fn compiled(spec: &str) -> Recipe {
    let starter = Workshop::starter("peg");
    let bytes = |file: &str| fs::read(starter.path(file)).unwrap();
    let home = Workshop::empty().with("peg.stl", bytes("peg/peg.stl")).with("shop.yaml", bytes("peg/shop.yaml"));
    home.with(SPEC, spec).recipe(SPEC)
}

/// Loads that pull at the peg's end in places of their own, more than anything here bears.
fn impossible(count: usize) -> String {
    let load = |i: usize| {
        let (force, z) = (400 + i, 24 + i % 12);
        format!(
            "  load \"pull-{i}\" {{ force {force} N toward -x at (30 mm, 10 mm, {z} mm); fixed at face \"back\"; held 5 years; factor 2 }}"
        )
    };
    (0..count).map(load).collect::<Vec<_>>().join("\n")
}

/// Returns the spec with every line of a way out written in place of the one that has its name.
fn with_written(spec: &str, way: &Relaxation) -> String {
    let written: Vec<&str> = way.write.as_deref().unwrap().split("; load ").collect();
    let line = |line: &str| {
        let name = line.split('"').nth(1).unwrap_or_default();
        let named = |w: &&&str| w.split('"').nth(1) == Some(name) && line.trim_start().starts_with("load");
        written.iter().find(named).map_or(line.to_owned(), |w| format!("load {}", w.trim_start_matches("load ")))
    };
    spec.lines().map(line).collect::<Vec<_>>().join("\n")
}

#[test]
fn twelve_loads_that_cannot_hold_are_named_each_and_eased_together() {
    let spec = peg(&impossible(12));
    let recipe = refused(&spec);
    assert_eq!(recipe.conflicts.len(), 12, "{:#?}", recipe.conflicts);
    assert!(recipe.conflicts.iter().all(|c| c.requirements.len() == 1));
    let way = recipe.relaxations.iter().find(|r| r.text.contains("all of these together")).unwrap();
    assert_eq!(way.text.matches("with a load of ").count(), 12, "{}", way.text);
    assert!(!way.text.contains("without"), "{}", way.text);
    let eased = compiled(&with_written(&spec, way));
    assert_ne!(eased.status, Status::NotPrintableAsSpecified, "{}\n{:#?}", way.text, eased.conflicts);
    assert!(!recipe.assumptions.iter().any(|a| a.text.contains("cut short")));
}

#[test]
fn what_only_some_of_many_lines_cause_is_laid_to_those() {
    // Ten loads that hold, alone and together, and one that does not.
    let light = impossible(10).replace("force 4", "force 0.4").replace("held 5 years", "held 1 hour");
    let heavy = r#"  load "tug" { force 900 N toward -x at (30 mm, 10 mm, 38 mm); fixed at face "back"; shock; alone; factor 2 }"#;
    let recipe = refused(&peg(&format!("{light}\n{heavy}")));
    let named: Vec<&str> = recipe.conflicts.iter().flat_map(|c| &c.requirements).map(|r| r.text.as_str()).collect();
    assert_eq!(named.len(), 1, "{named:?}");
    assert!(named[0].starts_with("load \"tug\""), "{named:?}");
    assert!(recipe.relaxations.iter().any(|r| r.text.starts_with("with a load of ")), "{:#?}", recipe.relaxations);
}

#[test]
fn what_can_be_bought_or_borrowed_comes_before_what_is_given_up() {
    // What is on the shelf is too soft; a spool of something else would do.
    let recipe = refused(&peg("  service { air 5 °C .. 95 °C }"));
    let place = |text: &str| recipe.relaxations.iter().position(|r| r.text.contains(text));
    let spool = place("with a spool that is not in stock now").unwrap();
    let cooler = place("instead of 95 °C").unwrap();
    assert!(spool < cooler, "{:#?}", recipe.relaxations);
    // To do without the line is worth a word only where no number of it helps.
    assert!(place("without `air").is_none_or(|dropped| dropped > cooler));
}

#[test]
fn two_conflicts_of_different_kinds_are_freed_by_a_pair() {
    let spec = peg(
        "  pin material \"PLA\" because \"on the shelf\"\n  service { air 5 °C .. 60 °C }\n  load \"tug\" { force 900 N toward -x at (30 mm, 10 mm, 38 mm); fixed at face \"back\"; held 1 hour; factor 2 }",
    );
    let recipe = refused(&spec);
    assert!(recipe.conflicts.len() >= 2, "{:#?}", recipe.conflicts);
    let way = recipe.relaxations.iter().find(|r| r.text.contains("all of these together")).unwrap();
    assert!(way.text.contains("a load of"), "{}", way.text);
}

#[test]
fn a_rule_set_aside_stays_so_while_other_conflicts_are_looked_for() {
    // Without the waiver the warm air alone would be a conflict of its own.
    let heat = "  service { air 5 °C .. 60 °C }\n  pin material \"PLA\" because \"on the shelf\"\n";
    let rule = refused(&peg(heat)).nearest[0].breaks[0].rule.clone().unwrap();
    let load =
        r#"  load "tug" { force 900 N toward -x at (30 mm, 10 mm, 38 mm); fixed at face "back"; shock; factor 2 }"#;
    let recipe = refused(&peg(&format!("{heat}  waive \"{rule}\" because \"tried\"\n{load}")));
    let named: Vec<&str> = recipe.conflicts.iter().flat_map(|c| &c.requirements).map(|r| r.text.as_str()).collect();
    assert!(named.iter().all(|text| text.starts_with("load")), "{named:?}");
}
