//! The table of requirements, and what facts are declared to hang on.

use std::collections::{BTreeMap, BTreeSet};

use super::with_world;
use crate::resolve::world::{COUNT, DECISIONS, Partial, World};
use crate::rulebook::names::{Decision, Root};
use crate::rulebook::value::Value;
use crate::semantics::requirements::{Key, ROWS, Row, requirements, without};

/// A part of which every kind of requirement asks something.
const EVERY_REQUIREMENT: &str = r#"part "everything" {
  mesh "vane-bracket.stl" in mm
  stage production
  consequence nuisance
  size 180 mm x 24 mm x 96 mm
  quantity 3
  wanted by 2031-05-01
  service {
    place outdoors; air -20 °C .. 30 °C; peak 50 °C; usual 15 °C
    sun direct for 5 years; colour white; back free; wet rain
    contact "olive oil" wiped at 50 °C
  }
  wall at least 2 mm
  pressure 1 bar of "air" tight bore 8 mm
  deflection at most 20 mm under "pull"
  colour "red" from 2.4 mm
  wear against "steel"
  impact drop 1 m
  prefer strength, then finish, then speed, then cost
  load "pull" { force 5 N toward -z at face "seat"; fixed at face "plate"; cyclic 1000 times }
  fit "h" insert M3 count 2 along z
  face "plate" toward -x
  face "seat" toward +z near (165 mm, 0 mm, 76 mm)
  face "under" toward -z cosmetic
  treat anneal
  treat seal
  treat paint
  treat condition
@asks
  pin nozzle 0.4 mm because "x"
  forbid material "ABS" because "x"
  waive "wall-printable" because "x"
}"#;

/// The same for what can't be asked beside the others.
const REST: [&str; 11] = [
    "service { contact \"water\" immersed }",
    "ask food contact",
    "purpose \"a toy for the children\"\n  no toy because \"x\"",
    "treat anneal",
    "treat seal",
    "treat paint",
    "treat condition",
    "fit \"b\" bore 8 mm H7",
    "fit \"c\" snap 1.2 mm reach 12 mm thick 2 mm",
    "fit \"l\" lip 50 mm",
    "fit \"r\" groove face for ring 20 mm x 2.5 mm",
];

/// The roots of which one record stands for the whole spec; each of the others is one for each statement of its kind.
const OF_THE_SPEC: [Root; 2] = [Root::Service, Root::Part];

/// What is known of the spec whatever is decided, by name, and how many there are of what rules are asked for each.
fn known(world: &World<'_>) -> (BTreeMap<String, Value>, BTreeMap<Root, usize>) {
    let mut facts = BTreeMap::new();
    for root in OF_THE_SPEC {
        let record = world.record(root, 0, &[Some(0); COUNT]).unwrap();
        for field in root.fields().iter().filter(|f| root.touches().union(f.also).is_empty()) {
            if let Some(fact) = record.get(field.name) {
                facts.insert(format!("{}.{}", root.word(), field.name), fact.value.clone());
            }
        }
    }
    let many = [Root::Contact, Root::Load, Root::Fit, Root::Face];
    (facts, many.into_iter().map(|root| (root, world.instances(Some(root)))).collect())
}

/// Returns the names of facts that are otherwise, or not there, without a requirement.
fn made_by(world: &World<'_>, key: &Key) -> BTreeSet<String> {
    let spec = without(world.spec, [key]);
    let other = World::variant(world, &spec, world.part, None);
    let ((with, many), (without, fewer)) = (known(world), known(&other));
    let names: BTreeSet<&String> = with.keys().chain(without.keys()).collect();
    let mut made: BTreeSet<String> =
        names.into_iter().filter(|name| with.get(*name) != without.get(*name)).cloned().collect();
    made.extend(many.into_iter().filter(|(root, n)| fewer[root] != *n).map(|(root, _)| format!("{}.*", root.word())));
    made
}

/// Finds what a name of a row stands for: all of a root, or one field of it.
fn declared(name: &str) -> Option<(Root, bool)> {
    let (root, field) = name.split_once('.')?;
    let root = Root::parse(root)?;
    match field {
        "*" => root.is_each().then_some((root, true)),
        field => root.field(field).map(|field| (root, root.touches().union(field.also).is_empty())),
    }
}

/// The facts that a row says its statement makes are those that are otherwise without the statement: no name is misspelt, none is
/// stale, and none of what follows from the spec alone is left out.
#[test]
fn a_row_names_the_facts_its_statement_makes() {
    let asks = crate::semantics::vocabulary::ASKS;
    let all: String = asks.iter().map(|ask| format!("  ask {ask}\n")).collect();
    let denied: String = asks.iter().map(|ask| format!("  no {ask} because \"x\"\n")).collect();
    let plain = EVERY_REQUIREMENT.replace("@asks", "");
    let mut specs = vec![EVERY_REQUIREMENT.replace("@asks", &all), EVERY_REQUIREMENT.replace("@asks", &denied), plain];
    specs.extend(REST.map(|line| format!("part \"rest\" {{\n  mesh \"vane-bracket.stl\" in mm\n  {line}\n}}")));
    let mut made: BTreeMap<(usize, Option<String>), BTreeSet<String>> = BTreeMap::new();
    let mut wrong = BTreeSet::new();
    for text in specs {
        with_world("examples/vane-bracket", &text, &mut |world| {
            for requirement in requirements(world.spec, world.knowledge.sources) {
                let key = requirement.key;
                let found = made_by(world, &key);
                wrong.extend(
                    found.iter().filter(|name| !key.makes(name)).map(|name| format!("`{key}` makes {name} unsaid")),
                );
                // Of what is named by people one word is as good as another.
                let subject = key.subject.as_deref().filter(|_| !key.row().quoted).map(str::to_owned);
                made.entry((key.kind as usize, subject)).or_default().extend(found);
            }
        });
    }
    for row in &ROWS {
        let tried = made.keys().filter(|(kind, _)| *kind == row.kind as usize).count();
        assert!(tried > 0, "no spec here has `{}`", row.keyword);
        for (subject, name) in row.facts() {
            let (root, alone) = declared(name).unwrap_or_else(|| panic!("`{}`: {name} is no fact", row.keyword));
            let of = |row: &Row, (kind, word): &(usize, Option<String>)| {
                *kind == row.kind as usize && subject.is_none_or(|subject| word.as_deref() == Some(subject))
            };
            let found = made.iter().filter(|(key, _)| of(row, key)).any(|(_, names)| names.contains(name));
            // What is made with a choice, or of words that stand elsewhere, is looked at where it is made.
            let looked_at = alone && root != Root::Hint;
            if looked_at && !found {
                wrong.insert(format!("`{}` {} does not make {name}", row.keyword, subject.unwrap_or_default()));
            }
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
}

/// A fact hangs on no decision but those its declaration names: a rule that reads it is asked once these are settled, and would
/// find it unknown, or otherwise, for good.
#[test]
fn a_fact_hangs_on_the_decisions_it_is_declared_with() {
    let (mut looked_at, mut wrong) = (BTreeSet::new(), BTreeSet::new());
    let (folder, ruler) = super::margins::EVERY_MARGIN[0];
    let everything = EVERY_REQUIREMENT.replace("@asks", "");
    for (folder, text) in [("examples/vane-bracket", everything.as_str()), (folder, ruler)] {
        with_world(folder, text, &mut |world| {
            let domains = world.domains();
            let full: Partial = std::array::from_fn(|d| Some(domains[d].saturating_sub(1) / 2));
            let roots =
                Root::ALL.into_iter().filter(|root| ![Root::Settings, Root::Margin, Root::Figure].contains(root));
            for (root, instance) in
                roots.flat_map(|r| (0..world.instances(Some(r).filter(|r| r.is_each()))).map(move |i| (r, i)))
            {
                let Some(all) = world.record(root, instance, &full) else { continue };
                for field in root.fields() {
                    let touches = root.touches().union(field.also);
                    let named = |d: usize| {
                        let also = DECISIONS[d] == Decision::Material && touches.contains(Decision::Spool);
                        touches.contains(DECISIONS[d]) || also
                    };
                    let some: Partial = std::array::from_fn(|d| full[d].filter(|_| named(d)));
                    let less = world.record(root, instance, &some);
                    let of = |record: &crate::rulebook::value::Record| record.get(field.name).map(|f| f.value.clone());
                    let (more, less) = (of(&all), less.as_deref().and_then(of));
                    looked_at.extend(more.is_some().then(|| format!("{}.{}", root.word(), field.name)));
                    if more != less {
                        wrong.insert(format!("{}.{} hangs on more than {touches}", root.word(), field.name));
                    }
                }
            }
        });
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
    assert!(looked_at.len() > 150, "{}", looked_at.len());
}
