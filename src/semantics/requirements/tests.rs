//! What is taken away of a spec, and what each line asks, on small specs.

use super::*;
use crate::diag::{Source, Sources};
use crate::semantics::spec::{Hold, Stated, Where};

const TEXT: &str = r#"
part "p" {
  mesh "p.stl" in mm
  service { air -25 °C .. 30 °C; sun direct for 5 years
    contact "diesel" splash at 40 °C }
  load "gust" {
    force 140 N toward -z // the worst
    held 5 years; factor 2
  }
  fit "pivot" bore 8 mm H9
  face "front" toward +y
  wall 2 mm
  quantity 6
  treat anneal
  ask lifting
  pin nozzle 0.6 mm because "x"
  forbid material "ABS" because "x"
  waive "a" because "x"
  no toy because "x"
}"#;

fn spec() -> (Spec, Sources) {
    let mut sources = Sources::default();
    let id = sources.add(Source::new("p.partspec", TEXT));
    let tree = crate::syntax::parse(id, TEXT).value.unwrap();
    let report = crate::semantics::check(&[tree], &sources);
    assert_eq!(report.diagnostics, vec![]);
    (report.value.unwrap().parts.remove(0), sources)
}

fn key(spec: &Spec, sources: &Sources, words: &str) -> Key {
    requirements(spec, sources).into_iter().find(|r| r.key.to_string() == words).unwrap().key
}

#[test]
fn every_requirement_can_be_taken_away() {
    let (spec, sources) = spec();
    let list = requirements(&spec, &sources);
    let words: Vec<String> = list.iter().map(|r| r.key.to_string()).collect();
    assert_eq!(
        words,
        [
            "quantity",
            "air",
            "sun",
            "wall",
            "contact \"diesel\"",
            "load \"gust\"",
            "fit \"pivot\"",
            "face \"front\"",
            "treat anneal",
            "ask lifting",
            "pin nozzle",
            "forbid material \"ABS\"",
            "waive \"a\"",
            "no toy",
        ]
    );
    for requirement in &list {
        let rest = requirements(&without(&spec, [&requirement.key]), &sources);
        assert_eq!(rest.len(), list.len() - 1, "{}", requirement.key);
        assert!(!rest.iter().any(|r| r.key == requirement.key));
    }
    assert_eq!(requirements(&without(&spec, list.iter().map(|r| &r.key)), &sources), vec![]);
}

#[test]
fn a_face_that_others_speak_of_keeps_its_name_and_loses_what_is_asked_of_it() {
    let (mut spec, sources) = spec();
    spec.faces[0].cosmetic = true;
    let hold = Hold { at: Where::Face("front".to_owned()), extent: None, heads: None, rests: false };
    spec.loads[0].holds = vec![Stated { value: hold, span: spec.faces[0].span }];
    let (face, load) = (key(&spec, &sources, "face \"front\""), key(&spec, &sources, "load \"gust\""));
    let bare = without(&spec, [&face]);
    assert_eq!((bare.faces.len(), bare.faces[0].cosmetic), (1, false));
    assert!(without(&spec, [&face, &load]).faces.is_empty());
}

#[test]
fn texts_are_as_written_on_one_line() {
    let (spec, sources) = spec();
    let text =
        |words: &str| requirements(&spec, &sources).into_iter().find(|r| r.key.to_string() == words).unwrap().text;
    assert_eq!(text("air"), "air -25 °C .. 30 °C");
    assert_eq!(text("load \"gust\""), "load \"gust\" { force 140 N toward -z held 5 years; factor 2 }");
    assert_eq!(text("pin nozzle"), "pin nozzle 0.6 mm because \"x\"");
}

#[test]
fn governing_numbers_are_replaced() {
    let (spec, sources) = spec();
    for (words, which, before, after) in [
        ("air", Which::Main, "30 °C", "25 °C"),
        ("air", Which::Low, "-25 °C", "-10 °C"),
        ("sun", Which::Main, "5 years", "2 years"),
        ("contact \"diesel\"", Which::Main, "40 °C", "20 °C"),
        ("load \"gust\"", Which::Main, "140 N", "90 N"),
        ("load \"gust\"", Which::Held, "5 years", "3 years"),
        ("load \"gust\"", Which::Factor, "2", "1.5"),
        ("wall", Which::Main, "2 mm", "3 mm"),
        ("quantity", Which::Main, "6", "4"),
        ("pin nozzle", Which::Main, "0.6 mm", "0.4 mm"),
    ] {
        let key = key(&spec, &sources, words);
        let number = key.numbers(&spec).into_iter().find(|n| n.number.which == which).unwrap();
        assert_eq!(number.value(&spec).unwrap().to_string(), before, "{words}");
        let eased = number.replaced(&spec, Quantity::parse(after).unwrap()).unwrap();
        assert_eq!(number.value(&eased).unwrap().to_string(), after, "{words}");
        assert!(number.replaced(&spec, Quantity::parse("5 kg").unwrap()).is_none());
    }
    assert!(key(&spec, &sources, "face \"front\"").numbers(&spec).is_empty());
}

#[test]
fn each_number_eases_towards_asking_for_less() {
    let q = |text: &str| Quantity::parse(text).unwrap();
    let mildest = |eases: Eases, text: &str| eases.mildest(q(text)).map(|to| to.to_string());
    assert_eq!(mildest(Eases::Down, "140 N").as_deref(), Some("0.14 N"));
    assert_eq!(mildest(Eases::Up, "2 mm").as_deref(), Some("200 mm"));
    assert_eq!(mildest(Eases::DownToOnePiece, "24").as_deref(), Some("1"));
    assert_eq!(mildest(Eases::ToRoom, "-20 °C").as_deref(), Some("20 °C"));
    // A service that is colder than a room at its low end eases upwards, and from a warmer one nothing is to be had.
    assert_eq!(mildest(Eases::UpToRoom, "-20 °C").as_deref(), Some("20 °C"));
    assert_eq!(mildest(Eases::UpToRoom, "30 °C"), None);
    assert_eq!(mildest(Eases::DownToOne, "1"), None);
}

/// Every statement of a part asks for something, names or describes it, or belongs to one that does.
#[test]
fn every_statement_of_a_part_has_its_row() {
    use crate::semantics::form::Context;
    use crate::semantics::vocabulary::statements_of;
    let describing = ["revision", "purpose", "mesh", "let", "service", "tight"];
    for context in [Context::Part, Context::Service] {
        for entry in statements_of(context) {
            let rows = ROWS.iter().filter(|r| r.keyword == entry.keyword && r.context == context).count();
            let wanted = usize::from(!describing.contains(&entry.keyword));
            assert_eq!(rows, wanted, "`{}` in {}", entry.keyword, context.name());
        }
    }
    for (i, row) in ROWS.iter().enumerate() {
        assert_eq!(row.kind as usize, i);
        assert!(statements_of(row.context).any(|e| e.keyword == row.keyword), "{}", row.keyword);
    }
}
