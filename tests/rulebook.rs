//! The rule language from the outside: annotated mistakes, evaluation, and the committed rules with their examples.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a helper of a test may fail like the test")]

use makeready::catalogue::words::Opened;
use makeready::diag::{Diagnostic, Report, Source, Sources};
use makeready::quantity::{Dimension, Quantity};
use makeready::rulebook::value::{Fact, Origin, Record, Value};
use makeready::rulebook::{
    Decision, Functions, Judgement, NoFunctions, Registry, Root, Rulebook, Scope, Touches, Trace, build, run_examples,
};
use makeready::syntax;

fn read(text: &str) -> (Sources, Report<Rulebook>) {
    let mut sources = Sources::default();
    let id = sources.add(Source::new("t.rules", text));
    let tree = syntax::parse(id, text);
    assert_eq!(tree.diagnostics, vec![], "{text}");
    let report = build(&tree.value.unwrap().statements, &sources, &NoFunctions);
    (sources, report)
}

fn book(text: &str) -> Rulebook {
    let (_, report) = read(text);
    assert_eq!(report.diagnostics, vec![]);
    report.value.unwrap()
}

/// Wraps statements into one rule with reason and source.
fn rule(body: &str) -> Rulebook {
    book(&format!("rule \"r\" {{\n{body}\nbecause \"x\"\nsource common-practice\n}}"))
}

fn q(text: &str) -> Value {
    Value::Quantity(Quantity::parse(text).unwrap())
}

fn record(title: &str, facts: &[(&str, Value)]) -> Record {
    let mut record = Record::new(title);
    for (name, value) in facts {
        record.insert(
            makeready::rulebook::value::Text::shared(name),
            Fact { value: value.clone(), origin: Origin::Measured },
        );
    }
    record
}

#[test]
fn annotated_mistakes_are_found_where_they_stand_and_no_others() {
    let suite = include_str!("suite/rules/mistakes.txt");
    let mut cases = 0;
    for case in suite.split("\n--- ").skip(1) {
        let (name, text) = case.split_once(" ---\n").unwrap();
        cases += 1;
        let (sources, report) = read(text);
        let mut found: Vec<(usize, String)> = report.diagnostics.iter().map(|d| located(&sources, d)).collect();
        let mut wanted = annotations(text);
        found.sort();
        wanted.sort();
        assert_eq!(found, wanted, "case {name}: {:#?}", report.diagnostics);
        for d in &report.diagnostics {
            assert!(
                d.severity != makeready::diag::Severity::Error || d.code == "rule/wrong-type" || !d.message.is_empty()
            );
            assert!(!d.message.ends_with('.') && !d.message.contains('\n'), "{}", d.message);
        }
    }
    assert!(cases >= 30, "{cases}");
}

fn located(sources: &Sources, d: &Diagnostic) -> (usize, String) {
    let span = d.labels[0].span;
    let line = sources.get(span.source).unwrap().line_column(span.start).0;
    (line, format!("{}: {}", d.severity, d.code))
}

/// The line each annotation speaks of: the next one that is no annotation.
fn annotations(text: &str) -> Vec<(usize, String)> {
    let lines: Vec<&str> = text.lines().collect();
    let mut wanted = Vec::new();
    for (i, line) in lines.iter().enumerate() {
        if let Some(note) = annotation(line) {
            let at = (i + 1..lines.len()).find(|j| annotation(lines[*j]).is_none()).unwrap();
            wanted.push((at + 1, note));
        }
    }
    wanted
}

fn annotation(line: &str) -> Option<String> {
    let note = line.trim().strip_prefix("// ")?;
    (note.starts_with("error: ") || note.starts_with("warning: ")).then(|| note.to_owned())
}

#[test]
fn unknown_is_three_valued() {
    let book = rule("require material.abrasive or nozzle.bore > 0.5 mm");
    let known = record("m", &[("abrasive", Value::Bool(true))]);
    let unknown = record("m", &[("abrasive", Value::Unknown)]);
    let no = record("m", &[("abrasive", Value::Bool(false))]);
    let small = record("n", &[("bore", q("0.4 mm"))]);
    let judge = |scope: Scope<'_>| book.rules[0].judge(&scope, &NoFunctions, None);
    // One true side settles `or` whatever the other is.
    assert_eq!(judge(Scope::new().with(Root::Material, &known)), vec![]);
    assert_eq!(
        judge(Scope::new().with(Root::Material, &unknown).with(Root::Nozzle, &small)),
        vec![Judgement::Undetermined { missing: vec!["material.abrasive".to_owned()] }]
    );
    assert!(matches!(
        judge(Scope::new().with(Root::Material, &no).with(Root::Nozzle, &small))[..],
        [Judgement::Broken { .. }]
    ));
    assert_eq!(book.rules[0].holds(&Scope::new(), &NoFunctions), None);
}

#[test]
fn an_unknown_condition_does_not_apply_and_is_known_asks() {
    let book = rule("when material.flexible\nrequire nozzle.bore > 0.5 mm");
    assert_eq!(book.rules[0].judge(&Scope::new(), &NoFunctions, None), vec![]);
    let book = rule("when material.melting is unknown\ncaution quality \"no melting point\"");
    assert_eq!(book.rules[0].judge(&Scope::new(), &NoFunctions, None).len(), 1);
}

#[test]
fn a_margin_met_exactly_is_met() {
    // 60 °C + 10 K is 343.15 K only to the last bit.
    let book = rule("require material.heat_limit >= service.part_temperature + 10 K");
    for (limit, part) in [("70 °C", "60 °C"), ("80.1 °C", "70.1 °C"), ("-5 °C", "-15 °C")] {
        let m = record("m", &[("heat_limit", q(limit))]);
        let s = record("s", &[("part_temperature", q(part))]);
        let scope = Scope::new().with(Root::Material, &m).with(Root::Service, &s);
        assert_eq!(book.rules[0].holds(&scope, &NoFunctions), Some(true), "{limit} {part}");
    }
}

#[test]
fn texts_fill_in_values_and_the_trace_names_what_was_read() {
    let book = rule(
        "require material.heat_limit >= service.part_temperature + 10 K\n\
         otherwise \"{material} holds to {material.heat_limit}, {percent(service.absorptance)} of the sun\"",
    );
    let m = record("PLA", &[("heat_limit", q("50 °C"))]);
    let s = record("s", &[("part_temperature", q("61.1 °C")), ("absorptance", q("0.9"))]);
    let scope = Scope::new().with(Root::Material, &m).with(Root::Service, &s);
    let mut trace = Trace::default();
    let said = book.rules[0].judge(&scope, &NoFunctions, Some(&mut trace));
    let [Judgement::Broken { text, .. }] = &said[..] else { panic!("{said:?}") };
    assert_eq!(text.to_string(), "PLA holds to 50 °C, 90 % of the sun");
    let names: Vec<&str> = trace.used.iter().map(|u| u.name.as_str()).collect();
    assert!(names.starts_with(&["material.heat_limit", "service.part_temperature"]), "{names:?}");
    assert_eq!(trace.used[0].origin, Origin::Measured);
}

#[test]
fn touches_follow_from_names_through_settings() {
    let book = book(
        "rule \"a\" { derive settings.h = nozzle.bore * 0.5\n because \"x\"\n source common-practice }\n\
         rule \"b\" { require settings.h < pose.height\n because \"x\"\n source common-practice }\n\
         rule \"c\" { require bond.strength > weak\n because \"x\"\n source common-practice }\n\
         rule \"d\" { require service.air_high < 50 °C\n because \"x\"\n source common-practice }\n\
         rule \"e\" { require load.margin > 1\n because \"x\"\n source common-practice }\n\
         rule \"f\" { when printer.loaded.print_temperature > 200 °C\n caution quality \"x\"\n because \"x\"\n source common-practice }\n",
    );
    let touches = |name: &str| book.get(name).unwrap().touches;
    assert_eq!(touches("a"), Touches::of(&[Decision::Nozzle]));
    assert_eq!(touches("b"), Touches::of(&[Decision::Nozzle, Decision::Pose]));
    assert_eq!(touches("c"), Touches::of(&[Decision::Material, Decision::Surface, Decision::Agent]));
    assert_eq!(touches("d"), Touches::NONE);
    assert_eq!(touches("e"), Touches::of(&[Decision::Material, Decision::Pose]));
    assert_eq!(touches("f"), Touches::of(&[Decision::Printer]));
    assert_eq!(book.get("e").unwrap().each, Some(Root::Load));
}

#[test]
fn settings_follow_their_dependencies_and_pins_go_first() {
    let book = book(
        "rule \"w\" { derive settings.width = settings.height * 2\n because \"x\"\n source common-practice }\n\
         rule \"h\" { derive settings.height = nozzle.bore * 0.5\n because \"x\"\n source common-practice }\n\
         rule \"h-fine\" { when part.prefers_finish > 0.5\n derive settings.height = nozzle.bore * 0.25\n because \"x\"\n source common-practice }\n",
    );
    let nozzle = record("n", &[("bore", q("0.4 mm"))]);
    let part = record("p", &[("prefers_finish", q("0.8"))]);
    let scope = Scope::new().with(Root::Nozzle, &nozzle);
    let get = |r: &Record, n: &str| r.get(n).and_then(|f| f.value.as_quantity()).unwrap().in_unit("mm").unwrap();
    let plain = book.settings(&scope, &NoFunctions);
    assert!((get(&plain, "height") - 0.2).abs() < 1e-9 && (get(&plain, "width") - 0.4).abs() < 1e-9);
    let fine = book.settings(&scope.with(Root::Part, &part), &NoFunctions);
    assert!((get(&fine, "height") - 0.1).abs() < 1e-9);
    let pinned = record("", &[("height", q("0.3 mm"))]);
    let settled = book.settle(&scope, &NoFunctions, &pinned);
    assert!((get(&settled.record, "width") - 0.6).abs() < 1e-9);
}

#[test]
fn shares_are_shown_as_percentages() {
    let book = rule("derive settings.infill = choose(part.loaded, 100 %, 20 %)\nderive settings.walls = 3");
    let part = record("p", &[("loaded", Value::Bool(true))]);
    let settings = book.settings(&Scope::new().with(Root::Part, &part), &NoFunctions);
    let shown = |n: &str| book.show_setting(n, &settings.get(n).unwrap().value);
    assert_eq!((shown("infill").as_str(), shown("walls").as_str()), ("100 %", "3"));
}

#[test]
fn penalties_grow_or_are_flat_and_never_reward() {
    let book = rule("prefer less 4 per cm² of pose.overhang\notherwise \"{pose.overhang} overhangs\"");
    let pose = record("p", &[("overhang", q("250 mm²"))]);
    let scope = Scope::new().with(Root::Pose, &pose);
    let said = book.rules[0].judge(&scope, &NoFunctions, None);
    let [Judgement::Penalty { name, amount, text }] = &said[..] else { panic!("{said:?}") };
    assert_eq!((name.as_str(), text.to_string().as_str()), ("r", "250 mm² overhangs"));
    assert!((amount - 10.0).abs() < 1e-9);
    assert!((book.rules[0].ruling(&scope, &NoFunctions).1 - 10.0).abs() < 1e-9);
    let book =
        rule("when pose.overhang > 1 mm²\nprefer less 1 per 1 K of material.heat_limit - 100 °C\nprefer another 3");
    let m = record("m", &[("heat_limit", q("80 °C"))]);
    assert!((book.rules[0].ruling(&scope.with(Root::Material, &m), &NoFunctions).1 - 3.0).abs() < 1e-9);
}

#[test]
fn the_language_counts_and_rounds() {
    let cases = [
        ("round(nozzle.bore * 0.6, 0.05 mm)", "0.25 mm"),
        ("round_up(nozzle.bore * 0.6, 0.1 mm)", "0.3 mm"),
        ("round_down(nozzle.bore * 0.6, 0.1 mm)", "0.2 mm"),
        ("clamp(nozzle.bore * 9, 0.1 mm, 1 mm)", "1 mm"),
        ("max(nozzle.bore, 0.1 mm, 3 mm)", "3 mm"),
        ("min(nozzle.bore, 0.1 mm)", "0.1 mm"),
        ("abs(nozzle.bore - 1 mm)", "0.6 mm"),
        ("choose(nozzle.hardness >= hardened, 1 mm, 2 mm)", "2 mm"),
        ("given(part.wall, 5 mm)", "5 mm"),
        // Both ends of a range belong to it.
        ("choose(nozzle.bore in 0.2 mm .. 0.4 mm, 1 mm, 2 mm)", "1 mm"),
        ("choose(nozzle.bore in 0.4 mm .. 0.6 mm, 1 mm, 2 mm)", "1 mm"),
        ("choose(nozzle.bore in 0.5 mm .. 0.6 mm, 1 mm, 2 mm)", "2 mm"),
        ("0.1 mm + 0.3 mm * 2 - 1 mm / 4", "0.45 mm"),
    ];
    let nozzle = record("n", &[("bore", q("0.4 mm")), ("hardness", Value::word("soft"))]);
    for (expr, want) in cases {
        let book = rule(&format!("derive settings.x = {expr}"));
        let got = book.settings(&Scope::new().with(Root::Nozzle, &nozzle), &NoFunctions);
        let got = got.get("x").and_then(|f| f.value.as_quantity()).unwrap();
        assert_eq!(got.to_string(), want, "{expr}");
    }
    // Temperatures are rounded in °C.
    let m = record("m", &[("print_temperature", q("238 °C"))]);
    let book = rule("derive settings.t = round(material.print_temperature, 5 K)");
    let got = book.settings(&Scope::new().with(Root::Material, &m), &NoFunctions);
    assert_eq!(got.get("t").and_then(|f| f.value.as_quantity()).unwrap().to_string(), "240 °C");
}

struct Doubling;

impl Functions for Doubling {
    fn signature(&self, name: &str) -> Option<(Vec<Dimension>, Dimension)> {
        (name == "doubled").then(|| (vec![Dimension::LENGTH], Dimension::LENGTH))
    }
    fn call(&self, _: &str, a: &[Quantity]) -> Result<Quantity, String> {
        if a[0].si > 1.0 { Err("too long".to_owned()) } else { Ok(Quantity::new(a[0].si * 2.0, Dimension::LENGTH)) }
    }
    fn names(&self) -> Vec<&'static str> {
        vec!["doubled"]
    }
}

#[test]
fn registered_functions_are_called_and_their_refusal_is_an_unknown() {
    let text = "rule \"r\" { require doubled(part.wall) > 1 mm\n because \"x\"\n source common-practice }";
    let mut sources = Sources::default();
    let id = sources.add(Source::new("t.rules", text));
    let tree = syntax::parse(id, text).value.unwrap();
    let report = build(&tree.statements, &sources, &Doubling);
    assert_eq!(report.diagnostics, vec![]);
    let book = report.value.unwrap();
    let part = |wall| record("p", &[("wall", q(wall))]);
    let (thin, thick, absurd) = (part("0.4 mm"), part("0.8 mm"), part("3 m"));
    let judge = |p| book.rules[0].judge(&Scope::new().with(Root::Part, p), &Doubling, None);
    assert!(matches!(judge(&thin)[..], [Judgement::Broken { .. }]));
    assert_eq!(judge(&thick), vec![]);
    assert_eq!(judge(&absurd), vec![Judgement::Undetermined { missing: vec!["doubled(..): too long".to_owned()] }]);
}

#[test]
fn things_are_the_same_by_name() {
    let book = rule("when printer.loaded != material\ncaution quality \"change\"");
    let pla = record("PLA, grey", &[("name", Value::text("PLA"))]);
    let same = record("PLA", &[("name", Value::text("PLA"))]);
    let other = record("PETG", &[("name", Value::text("PETG"))]);
    let printer = record("Bench", &[("loaded", Value::Record(std::sync::Arc::new(pla)))]);
    let scope = Scope::new().with(Root::Printer, &printer);
    assert_eq!(book.rules[0].judge(&scope.with(Root::Material, &same), &NoFunctions, None), vec![]);
    assert_eq!(book.rules[0].judge(&scope.with(Root::Material, &other), &NoFunctions, None).len(), 1);
}

const SPARE: &str = "let spare by consequence { nuisance 0 K; damage 5 K; injury 15 K; because \"hot summers\"; source paper AI22 }
rule \"a\" { require material.heat_limit >= service.part_temperature + spare; otherwise \"{spare} wanted\"; because \"x\"; source common-practice }
rule \"b\" { when material.heat_limit < service.part_temperature + spare; caution quality \"x\"; because \"x\"; source common-practice }
";

/// Facts of a part at 70 °C whose failure has this consequence.
fn at_70(consequence: &str, heat_limit: &str) -> [(Root, Record); 3] {
    [
        (Root::Material, record("X", &[("heat_limit", q(heat_limit))])),
        (Root::Service, record("service", &[("part_temperature", q("70 °C"))])),
        (
            Root::Part,
            record("part", &[("consequence", Value::word(makeready::rulebook::value::Text::shared(consequence)))]),
        ),
    ]
}

fn holds(book: &Rulebook, rule: &str, facts: &[(Root, Record)]) -> Option<bool> {
    let scope = facts.iter().fold(Scope::new(), |scope, (root, record)| scope.with(*root, record));
    book.get(rule).unwrap().holds(&scope, &NoFunctions)
}

#[test]
fn a_threshold_by_consequence_is_stricter_where_people_can_be_hurt() {
    let book = book(SPARE);
    for (consequence, enough, too_little) in
        [("nuisance", "70 °C", "69 °C"), ("damage", "75 °C", "74 °C"), ("injury", "85 °C", "84 °C")]
    {
        assert_eq!(holds(&book, "a", &at_70(consequence, enough)), Some(true), "{consequence}");
        assert_eq!(holds(&book, "a", &at_70(consequence, too_little)), Some(false), "{consequence}");
    }
    let unknown = &at_70("injury", "85 °C")[..2];
    assert_eq!(holds(&book, "a", unknown), None, "the consequence is not known");
    // It touches what the facts it reads touch, and says what it read.
    assert_eq!(book.get("a").unwrap().touches, Touches::of(&[Decision::Material]));
    assert_eq!(book.get("a").unwrap().thresholds, ["spare"]);
}

/// In conditions, penalties and texts, of facts, thresholds and other names, in whatever order they stand.
#[test]
fn a_rule_names_for_itself_what_it_reads_twice() {
    let text = "let most = 2 K { because \"x\"; source common-practice }
        rule \"a\" {
          let over = missing - most
          let missing = material.heat_limit - service.part_temperature
          when missing > most
          prefer less 1 per 1 K of over
          otherwise \"{missing} missing, {over} too much\"
          because \"x\"
          source common-practice
        }
        rule \"s\" { let wider = 2 * settings.b; derive settings.a = wider; because \"x\"; source common-practice }
        rule \"t\" { let wide = 0.4 mm; derive settings.b = wide; because \"x\"; source common-practice }";
    let book = book(text);
    let facts = at_70("damage", "77 °C");
    let scope = facts.iter().fold(Scope::new(), |scope, (root, record)| scope.with(*root, record));
    let said = book.get("a").unwrap().judge(&scope, &NoFunctions, None);
    let [Judgement::Penalty { amount, .. }] = said.as_slice() else { panic!("{said:?}") };
    assert_eq!(*amount, 5.0);
    assert_eq!(said[0].text().unwrap().to_string(), "7 K missing, 5 K too much");
    assert_eq!(book.get("a").unwrap().thresholds, ["most"]);
    assert_eq!(book.get("a").unwrap().touches, Touches::of(&[Decision::Material]));
    let settings: Vec<&str> = book.get("s").unwrap().names.iter().map(String::as_str).collect();
    assert!(settings.contains(&"settings.b"), "{settings:?}");
}

#[test]
fn a_reason_names_the_threshold_with_its_source() {
    let book = book(SPARE);
    let facts = at_70("injury", "80 °C");
    let scope = facts.iter().fold(Scope::new(), |scope, (root, record)| scope.with(*root, record));
    let mut trace = Trace::default();
    let said = book.get("a").unwrap().judge(&scope, &NoFunctions, Some(&mut trace));
    assert!(matches!(said.as_slice(), [Judgement::Broken { .. }]), "{said:?}");
    assert_eq!(said[0].text().unwrap().to_string(), "15 K wanted");
    let used = trace.used.iter().find(|u| u.name == "spare").unwrap();
    assert_eq!(used.value, q("15 K"));
    let Origin::Sourced { kind: "paper", source: Some(source), .. } = &used.origin else { panic!("{used:?}") };
    assert_eq!(source.as_ref(), "AI22");
}

#[test]
fn a_workshop_replaces_a_threshold_for_every_rule_that_reads_it() {
    let own = "let spare = 2 K replaces { because \"we know our summers\"; source from-memory }";
    let (_, report) = read(&format!("{SPARE}{own}"));
    assert_eq!(report.diagnostics, vec![]);
    let book = report.value.unwrap();
    assert_eq!(holds(&book, "a", &at_70("injury", "72 °C")), Some(true));
    assert_eq!(holds(&book, "a", &at_70("injury", "71 °C")), Some(false));
    let facts = at_70("injury", "71 °C");
    let scope = facts.iter().fold(Scope::new(), |scope, (root, record)| scope.with(*root, record));
    assert_eq!(book.get("b").unwrap().judge(&scope, &NoFunctions, None).len(), 1, "the other rule follows");
    assert_eq!(book.names["spare"].written, "2 K");
}

#[test]
fn an_example_that_does_not_come_true_fails() {
    let book = rule(
        "require not material.abrasive\nexample refuses { material { abrasive } }\nexample refuses { material { abrasive false } }",
    );
    let outcomes = run_examples(&book, &NoFunctions, &|_, _| None);
    assert_eq!(outcomes.iter().map(|o| o.passed).collect::<Vec<_>>(), [true, false]);
    assert_eq!(outcomes[1].text, "expected a refusal; the rule was quiet");
    assert_eq!(outcomes[1].place, "t.rules:4");
}

#[test]
fn an_example_that_states_one_figure_has_the_others_from_the_catalogue() {
    let book = rule(
        "require figure.heat_close > figure.heat_room_injury\nexample refuses { figure { heat_close 1 K } }\nexample accepts { figure { heat_close 90 K } }",
    );
    let figures = [("heat_close", q("5 K")), ("heat_room_injury", q("15 K"))];
    let entry = |root: Root, _: &str| (root == Root::Figure).then(|| record("figures", &figures));
    let outcomes = run_examples(&book, &NoFunctions, &entry);
    assert_eq!(outcomes.iter().map(|o| o.passed).collect::<Vec<_>>(), [true, true], "{outcomes:?}");
}

#[test]
fn what_an_example_states_goes_before_the_catalogue_entry() {
    let book = rule(
        "require not material.abrasive\nexample refuses { material \"X\" { abrasive } }\nexample accepts { material \"X\" }",
    );
    let entry = |_: Root, name: &str| Some(record(name, &[("abrasive", Value::Bool(false))]));
    let outcomes = run_examples(&book, &NoFunctions, &entry);
    assert_eq!(outcomes.iter().map(|o| o.passed).collect::<Vec<_>>(), [true, true], "{outcomes:?}");
}

const RULE_FILES: &[(&str, &str)] = &[
    ("changeover", include_str!("../recipes/rules/changeover.rules")),
    ("checklist", include_str!("../recipes/rules/checklist.rules")),
    ("uses", include_str!("../recipes/rules/uses.rules")),
    ("cautions", include_str!("../recipes/rules/cautions.rules")),
    ("build-up", include_str!("../recipes/rules/build-up.rules")),
    ("margins", include_str!("../recipes/rules/margins.rules")),
    ("material", include_str!("../recipes/rules/material.rules")),
    ("nozzle", include_str!("../recipes/rules/nozzle.rules")),
    ("pose", include_str!("../recipes/rules/pose.rules")),
    ("settings", include_str!("../recipes/rules/settings.rules")),
    ("support", include_str!("../recipes/rules/support.rules")),
    ("surface", include_str!("../recipes/rules/surface.rules")),
];

pub fn committed() -> Rulebook {
    let mut sources = Sources::default();
    let mut statements = Vec::new();
    for (name, text) in RULE_FILES {
        let id = sources.add(Source::new(format!("recipes/rules/{name}.rules"), *text));
        let tree = syntax::parse(id, text);
        let shown: Vec<String> = tree.diagnostics.iter().map(|d| line(&sources, d)).collect();
        assert!(shown.is_empty(), "{}", shown.join("\n"));
        statements.extend(tree.value.unwrap().statements);
    }
    let report = build(&statements, &sources, &Registry);
    let shown: Vec<String> = report.diagnostics.iter().map(|d| line(&sources, d)).collect();
    assert!(shown.is_empty(), "{}", shown.join("\n"));
    report.value.unwrap()
}

fn line(sources: &Sources, d: &Diagnostic) -> String {
    format!("{}: {} [{}] {:?}", sources.place(d.labels[0].span), d.message, d.code, d.hints)
}

#[test]
fn every_committed_rule_does_what_its_examples_say() {
    let book = committed();
    let (catalogue, _) = makeready::catalogue::built_in();
    let figures = |root, _: &str| (root == Root::Figure).then(|| makeready::resolve::figures(&catalogue));
    let outcomes = run_examples(&book, &Registry, &figures);
    let failed: Vec<String> =
        outcomes.iter().filter(|o| !o.passed).map(|o| format!("{} ({}): {}", o.rule, o.place, o.text)).collect();
    assert!(failed.is_empty(), "{} failed\n{}", failed.len(), failed.join("\n"));
    assert!(outcomes.len() >= 2 * book.rules.len());
}

mod fuzz {
    use super::*;
    use proptest::prelude::*;

    /// Pieces of which rules are made, right and wrong, in any order.
    const PIECES: &[&str] = &[
        "rule \"a\" {",
        "}",
        "\n",
        ";",
        "when ",
        "require ",
        "otherwise ",
        "prefer less 4 per cm² of ",
        "derive settings.x = ",
        "step removal 10 ",
        "caution fire ",
        "because \"x\"",
        "source paper X",
        "example refuses { ",
        "material { abrasive }",
        "material.heat_limit",
        "service.part_temperature",
        "settings.x",
        "nozzle.hardness",
        "hardened",
        "printer.loaded.name",
        " >= ",
        " == ",
        " and ",
        " or ",
        "not ",
        " in [",
        "]",
        "(",
        ")",
        " .. ",
        " + ",
        " - ",
        " * ",
        " / ",
        ", ",
        "10 K",
        "1e308 mm",
        "0",
        "-25 °C",
        "max(",
        "clamp(",
        "choose(",
        "round(",
        "given(",
        "count(",
        "\"{material} {\"",
        "\"{nozzle.bore}\"",
        " is known",
        " is unknown",
        "load.margin",
        "fit.name",
        "part.prefers_cost",
        "bead_area(",
        "0.4 mm",
        "5 %",
    ];

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(150))]

        #[test]
        fn no_text_of_rule_pieces_panics(picks in prop::collection::vec(0..PIECES.len(), 0..60)) {
            let text: String = picks.iter().map(|i| PIECES[*i]).collect();
            let mut sources = Sources::default();
            let id = sources.add(Source::new("t.rules", text.clone()));
            if let Some(tree) = syntax::parse(id, &text).value {
                let report = build(&tree.statements, &sources, &Registry);
                judge_all(&report.value.unwrap());
            }
        }

        #[test]
        fn no_damage_to_a_committed_rule_panics(file in 0..RULE_FILES.len(), at in 0.0..1.0f64, cut in 0..40usize, put in 0..PIECES.len()) {
            let text = RULE_FILES[file].1;
            let mut start = (text.len() as f64 * at) as usize;
            while !text.is_char_boundary(start) { start -= 1; }
            let mut end = (start + cut).min(text.len());
            while !text.is_char_boundary(end) { end -= 1; }
            let text = format!("{}{}{}", &text[..start], PIECES[put], &text[end.max(start)..]);
            let mut sources = Sources::default();
            let id = sources.add(Source::new("t.rules", text.clone()));
            if let Some(tree) = syntax::parse(id, &text).value {
                let report = build(&tree.statements, &sources, &Registry);
                for d in &report.diagnostics {
                    prop_assert!(!d.labels.is_empty() && !d.message.is_empty());
                }
                judge_all(&report.value.unwrap());
            }
        }
    }

    /// Facts of every name, of the right kind: whatever was built must judge them without falling over.
    fn judge_all(book: &Rulebook) {
        let records: Vec<(Root, Record)> = Root::ALL.iter().map(|r| (*r, filled(*r))).collect();
        let scope = records.iter().fold(Scope::new(), |s, (root, record)| s.with(*root, record));
        for rule in &book.rules {
            let mut trace = Trace::default();
            for j in rule.judge(&scope, &Registry, Some(&mut trace)) {
                if let Judgement::Penalty { amount, .. } = j {
                    assert!(amount.is_finite() && amount >= 0.0);
                }
            }
            let _ = (rule.holds(&scope, &Registry), rule.ruling(&scope, &Registry));
        }
        let _ = book.settings(&scope, &Registry);
    }

    fn filled(root: Root) -> Record {
        use makeready::rulebook::Type;
        let mut record = Record::new(root.word());
        for field in root.fields() {
            let value = match field.kind {
                Type::Bool => Value::Bool(true),
                Type::Quantity(d) => Value::Quantity(Quantity::new(0.0, d)),
                Type::Range(d) => Value::Range(Quantity::new(0.0, d), Quantity::new(1.0, d)),
                Type::Text => Value::text("x"),
                Type::Word(words) => Value::word(words[0]),
                Type::List(_) => Value::List(std::sync::Arc::from(Vec::new())),
                Type::Record(of) if of != root => Value::Record(std::sync::Arc::new(Record::new(of.word()))),
                Type::Record(_) => Value::Unknown,
            };
            record.insert(field.name, Fact { value, origin: Origin::None });
        }
        record
    }

    #[test]
    fn the_committed_rules_judge_anything() {
        judge_all(&committed());
    }
}

/// A rule's citation is one of the sources listed in the catalogue with how far each was opened; standards are cited by number.
#[test]
fn every_citation_is_among_the_listed_sources() {
    let (catalogue, _) = makeready::catalogue::built_in();
    let book = committed();
    let mut cited = 0;
    for rule in &book.rules {
        for key in rule.citations.iter().filter(|c| !c.starts_with("ISO/") && !c.starts_with("ISO ")) {
            let source =
                catalogue.sources.get(key.as_str()).unwrap_or_else(|| panic!("{}: {key} is not listed", rule.name));
            // What was only recalled carries no firm kind.
            assert!(source.status.value != Opened::Recalled, "{}: {} {key}", rule.name, rule.source_kind);
            cited += 1;
        }
    }
    assert!(cited > 8, "only {cited}");
}

#[test]
fn a_chain_of_many_operators_is_refused_not_overflowed() {
    for (term, op) in [("3", " + "), ("material.abrasive", " and ")] {
        let chain = vec![term; 150].join(op);
        let (_, report) = read(&format!("rule \"a\" {{\nrequire {chain}\nbecause \"x\"\nsource common-practice\n}}"));
        assert_eq!(report.diagnostics.iter().map(|d| d.code).collect::<Vec<_>>(), ["rule/too-long"]);
    }
}

#[test]
fn rules_read_without_their_examples_are_the_same_rules() {
    let full = committed();
    let mut sources = Sources::default();
    let mut statements = Vec::new();
    for (name, text) in RULE_FILES {
        let text = makeready::rulebook::without_examples(text);
        let id = sources.add(Source::new(format!("recipes/rules/{name}.rules"), text.clone()));
        statements.extend(syntax::parse(id, &text).value.unwrap().statements);
    }
    let report = build(&statements, &sources, &Registry);
    assert_eq!(report.diagnostics, vec![]);
    let bare = report.value.unwrap();
    assert_eq!(full.rules.len(), bare.rules.len());
    for (a, b) in full.rules.iter().zip(&bare.rules) {
        assert_eq!((&a.name, &a.place, &a.verdicts, a.touches), (&b.name, &b.place, &b.verdicts, b.touches));
        assert!(b.examples.is_empty(), "{}", b.name);
    }
}

/// `UPDATE_REFERENCE=1 cargo test` writes it anew.
#[test]
fn the_committed_reference_is_made_from_the_tables() {
    let made = makeready::rulebook::reference();
    let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("grammar/rules-reference.md");
    if std::env::var_os("UPDATE_REFERENCE").is_some() {
        std::fs::write(&path, &made).unwrap();
    }
    assert_eq!(std::fs::read_to_string(&path).unwrap_or_default(), made, "run with UPDATE_REFERENCE=1");
}
