//! The language from the outside: annotated sources in `tests/suite`, and texts that must not break it.
//!
//! A suite file holds cases, each begun by a line `// === kebab-name`. Above the line a diagnostic points at stands
//! what is expected of it, in the order in which it is reported:
//!
//! ```text
//! // ! code column message        the diagnostic; the message may be cut short
//! // & `text` label               a second place it shows, by the text there
//! // > hint                       what it says to write instead
//! ```
//!
//! Every diagnostic must be annotated and every annotation seen. `UPDATE=1 cargo test` rewrites the annotations; read
//! the difference before you keep it.

#![allow(clippy::unwrap_used, reason = "a helper of a test may fail like the test")]

use crate::hostile;
use std::collections::BTreeSet;
use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};

use makeready::diag::{Diagnostic, Source, Sources};
use makeready::{semantics, syntax};

/// One case: its name and its lines without annotations, and the annotations by the line they stand above.
struct Case {
    name: String,
    text: String,
    expected: Vec<(usize, String)>,
}

fn is_annotation(line: &str) -> bool {
    let line = line.trim_start();
    ["// ! ", "// & ", "// > "].iter().any(|mark| line.starts_with(mark))
}

fn cases(text: &str) -> Vec<Case> {
    let mut cases: Vec<Case> = Vec::new();
    let mut line_number = 0;
    for line in text.lines() {
        if let Some(name) = line.strip_prefix("// === ") {
            cases.push(Case { name: name.trim().to_owned(), text: String::new(), expected: Vec::new() });
            line_number = 0;
            continue;
        }
        let Some(case) = cases.last_mut() else {
            assert!(line.trim().is_empty() || line.starts_with("//"), "a suite file begins with a case: {line}");
            continue;
        };
        if is_annotation(line) {
            case.expected.push((line_number + 1, line.trim().to_owned()));
        } else {
            line_number += 1;
            case.text.push_str(line);
            case.text.push('\n');
        }
    }
    cases
}

fn diagnose(name: &str, text: &str) -> (Sources, Vec<Diagnostic>) {
    let mut sources = Sources::default();
    let id = sources.add(Source::new(format!("{name}.partspec"), text));
    let parsed = syntax::parse(id, text);
    let mut all = parsed.diagnostics;
    if let Some(tree) = parsed.value {
        all.extend(semantics::check(std::slice::from_ref(&tree), &sources).diagnostics);
    }
    (sources, all)
}

/// Writes what a diagnostic says as annotation lines, with the line it stands at.
fn annotations(sources: &Sources, diagnostic: &Diagnostic) -> (usize, Vec<String>) {
    let Some(first) = diagnostic.labels.first() else { return (1, vec![diagnostic.message.clone()]) };
    let (line, column) = sources.get(first.span.source).map_or((1, 1), |source| source.line_column(first.span.start));
    let mut lines = vec![format!("// ! {} {column} {}", diagnostic.code, diagnostic.message)];
    for label in diagnostic.labels.iter().skip(1) {
        let there = sources.text(label.span).lines().next().unwrap_or_default();
        lines.push(format!("// & `{there}` {}", label.text));
    }
    lines.extend(diagnostic.hints.iter().map(|hint| format!("// > {hint}")));
    (line, lines)
}

fn found(case: &Case) -> Vec<(usize, String)> {
    let (sources, diagnostics) = diagnose(&case.name, &case.text);
    let mut found: Vec<(usize, String)> = Vec::new();
    for diagnostic in &diagnostics {
        assert!(!diagnostic.hints.is_empty(), "{} says not what to write instead: {diagnostic:?}", case.name);
        let (line, lines) = annotations(&sources, diagnostic);
        found.extend(lines.into_iter().map(|l| (line, l)));
    }
    found.sort_by_key(|(line, _)| *line);
    found
}

fn suite_files() -> Vec<PathBuf> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/suite");
    let mut files: Vec<PathBuf> = ["syntax", "semantics"]
        .iter()
        .flat_map(|folder| fs::read_dir(root.join(folder)).unwrap())
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|e| e == "partspec"))
        .collect();
    files.sort();
    files
}

fn rewritten(text: &str, cases: &[Case]) -> String {
    let mut result: String = text.lines().take_while(|l| !l.starts_with("// === ")).map(|l| format!("{l}\n")).collect();
    for case in cases {
        let _ = writeln!(result, "// === {}", case.name);
        let found = found(case);
        let lines: Vec<&str> = case.text.lines().collect();
        for (i, line) in lines.iter().enumerate() {
            let indent = &line[..line.len() - line.trim_start().len()];
            let past_end = i + 1 == lines.len();
            for (_, annotation) in found.iter().filter(|(at, _)| *at == i + 1 || (past_end && *at > i + 1)) {
                let _ = writeln!(result, "{indent}{annotation}");
            }
            let _ = writeln!(result, "{line}");
        }
    }
    result
}

/// An annotation may cut the message short; nothing else.
fn agrees(expected: &str, found: &str) -> bool {
    found.starts_with(expected) && (expected.starts_with("// ! ") || found == expected)
}

#[test]
fn suite() {
    let update = std::env::var_os("UPDATE").is_some();
    let (mut count, mut names, mut failures) = (0, BTreeSet::new(), String::new());
    for path in suite_files() {
        let text = fs::read_to_string(&path).unwrap();
        let cases = cases(&text);
        if update {
            fs::write(&path, rewritten(&text, &cases)).unwrap();
            continue;
        }
        for case in &cases {
            count += 1;
            assert!(names.insert(case.name.clone()), "two cases are called {}", case.name);
            let kebab = case.name.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-');
            assert!(kebab, "{} is no kebab name", case.name);
            let last = case.text.lines().count();
            let found: Vec<(usize, String)> = found(case).into_iter().map(|(l, t)| (l.min(last), t)).collect();
            let same = found.len() == case.expected.len()
                && found.iter().zip(&case.expected).all(|(f, e)| f.0 == e.0 && agrees(&e.1, &f.1));
            if !same {
                let _ = writeln!(failures, "\n{}: {}", path.file_name().unwrap().to_string_lossy(), case.name);
                for (line, text) in
                    case.expected.iter().filter(|e| !found.iter().any(|f| f.0 == e.0 && agrees(&e.1, &f.1)))
                {
                    let _ = writeln!(failures, "  expected above line {line}: {text}");
                }
                for (line, text) in
                    found.iter().filter(|f| !case.expected.iter().any(|e| f.0 == e.0 && agrees(&e.1, &f.1)))
                {
                    let _ = writeln!(failures, "  found above line {line}:    {text}");
                }
            }
        }
    }
    assert!(failures.is_empty(), "{failures}");
    assert!(update || count >= 60, "only {count} cases were run");
}

/// What a hint says to write must itself be right: each is written in place of what was refused, and read again.
#[test]
fn what_is_said_to_be_written_can_be_written() {
    let suites = [include_str!("suite/semantics/fits.partspec"), include_str!("suite/semantics/service.partspec")];
    let mut tried = 0;
    for case in suites.iter().flat_map(|suite| cases(suite)) {
        let (_, diagnostics) = diagnose(&case.name, &case.text);
        let told = diagnostics.iter().filter(|d| matches!(d.code, "fit/written" | "contact/incomplete"));
        for hint in told.flat_map(|d| &d.hints) {
            for written in hint.split('`').skip(1).step_by(2) {
                let line = match written.split(' ').next() {
                    Some("fit" | "ask") => written.to_owned(),
                    Some("contact") => format!("service {{ {written} }}"),
                    // The rest of a sentence offers other words for the same place.
                    Some("vapour" | "splash" | "wiped" | "immersed" | "service" | "in") | None => continue,
                    Some(_) => format!("fit \"x\" {written}"),
                };
                let (_, again) = diagnose("again", &format!("part \"a\" {{ {line} }}"));
                assert!(again.is_empty(), "{}: `{line}` is said to be right: {again:?}", case.name);
                tried += 1;
            }
        }
    }
    assert!(tried >= 30, "only {tried} suggestions were tried");
}

/// What an editor would write for somebody must mend what it is offered for: each is written, and the text read again.
#[test]
fn every_fix_mends_its_finding() {
    let (mut tried, mut wrong) = (0, String::new());
    for path in suite_files() {
        for case in cases(&fs::read_to_string(&path).unwrap()) {
            let (_, diagnostics) = diagnose(&case.name, &case.text);
            for (diagnostic, fix) in diagnostics.iter().flat_map(|d| d.fixes.iter().map(move |f| (d, f))) {
                let mut text = case.text.clone();
                for edit in fix.edits.iter().rev() {
                    text.replace_range(edit.span.start as usize..edit.span.end as usize, &edit.text);
                }
                let (_, again) = diagnose(&case.name, &text);
                tried += 1;
                // The same mistake may stand elsewhere; here there is one less of it.
                let alike = |all: &[Diagnostic]| all.iter().filter(|d| d.code == diagnostic.code).count();
                if alike(&again) >= alike(&diagnostics) {
                    let _ = writeln!(wrong, "{}: {}: {} leaves {:?}", case.name, diagnostic.message, fix.title, again);
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{wrong}");
    assert!(tried >= 30, "only {tried} fixes were tried");
}

fn spec_file(text: &str) -> semantics::spec::SpecFile {
    let mut sources = Sources::default();
    let id = sources.add(Source::new("a.partspec", text));
    let parsed = syntax::parse(id, text);
    assert_eq!(parsed.diagnostics, vec![]);
    let report = semantics::check(&[parsed.value.unwrap()], &sources);
    assert_eq!(report.diagnostics, vec![]);
    report.value.unwrap()
}

#[test]
fn a_full_spec_means_what_it_says() {
    use makeready::quantity::{Force, Length, Temperature};
    use semantics::spec::{ChoiceValue, Course, Decision, FitFunction, Preference, Where};

    let suite = include_str!("suite/semantics/whole-specs.partspec");
    let case = cases(suite).into_iter().find(|c| c.name == "a-full-spec").unwrap();
    let file = spec_file(&case.text);
    let spec = &file.parts[0];
    let near = |a: f64, b: f64| assert!((a - b).abs() < 1e-9, "{a} is not {b}");

    assert_eq!(spec.name.value, "vane-bracket");
    assert_eq!(spec.profiles[0].value, "gable_outdoor");
    assert_eq!(spec.revision.as_ref().unwrap().value, "B");
    let [x, y, z] = spec.size.unwrap().value.map(Length::to_mm);
    near(x, 180.0);
    near(y, 60.0);
    near(z, 40.0);
    assert_eq!(spec.quantity.unwrap().value, 6);

    // From the profile, beside what the part's own `service` says.
    let (low, high) = spec.service.air.unwrap().value;
    near(low.to_celsius(), -25.0);
    near(high.to_celsius(), 30.0);
    near(spec.service.sun.unwrap().value.duration.unwrap().to_years(), 5.0);
    assert_eq!(spec.service.colour.as_ref().unwrap().value, "dark");
    assert_eq!(spec.service.contacts[0].chemical.value, "diesel");

    let gust = &spec.loads[0];
    near(gust.force.map(|f| Force::to_n(f.value)).unwrap(), 140.0);
    assert_eq!(gust.direction.unwrap().value.0, [0.0, 0.0, -1.0]);
    assert_eq!(gust.at.as_ref().unwrap().value, Where::Face("seat".to_owned()));
    assert_eq!(*gust.fixed().unwrap(), Where::Face("plate".to_owned()));
    assert_eq!(gust.course.value, Course::Shock);
    near(gust.factor.unwrap().value, 2.0);
    assert_eq!(spec.loads[1].course.value, Course::Steady);
    near(spec.loads[1].held.unwrap().value.to_years(), 5.0);

    near(spec.faces[1].near.unwrap().value[0].to_mm(), 170.0);
    assert!(spec.faces[2].cosmetic && !spec.faces[1].cosmetic);
    assert_eq!(spec.fits[0].count.unwrap().value, 4);
    assert_eq!(spec.fits[0].along.unwrap().value.0, [1.0, 0.0, 0.0]);
    assert_eq!(
        spec.fits[1].function.value,
        FitFunction::Iso { size: Length::mm(8.0), own: "H9".to_owned(), partner: Some("h6".to_owned()), inner: true }
    );
    near(spec.wall.unwrap().value.to_mm(), 2.4);
    assert_eq!(spec.preferences.iter().map(|p| p.value).collect::<Vec<_>>(), [Preference::Strength, Preference::Cost]);
    assert_eq!(spec.pins[0].decision.value, Decision::Nozzle);
    assert_eq!(spec.pins[0].value.value, ChoiceValue::Length(Length::mm(0.6)));
    assert_eq!(spec.forbids[0].value.value, ChoiceValue::Named("ABS".to_owned()));
    assert_eq!(spec.waivers[0].rule.value, "warp-needs-enclosure");
    assert!(Temperature::celsius(0.0).to_kelvin() > 0.0);
}

#[test]
fn later_profiles_win_and_parts_win_over_both() {
    let file = spec_file(
        "profile one { quantity 1; consequence damage; service { wet rain; colour dark } }\n\
         profile two is one { quantity 2; service { colour light } }\n\
         profile three { load \"l\" force 5 N; stage production }\n\
         part \"a\" is one, two, three { load \"l\" force 6 N; load \"m\" force 7 N }\n\
         part \"b\" is two, one { quantity 9 }\n",
    );
    let (a, b) = (&file.parts[0], &file.parts[1]);
    assert_eq!(a.quantity.unwrap().value, 2);
    assert_eq!(a.service.colour.as_ref().unwrap().value, "light");
    assert_eq!(a.service.wet.unwrap().value, semantics::spec::Wet::Rain);
    let forces: Vec<f64> = a.loads.iter().map(|l| l.force.unwrap().value.to_n()).collect();
    assert_eq!(forces, [6.0, 7.0]);
    assert_eq!(a.stage.unwrap().value, semantics::spec::Stage::Production);
    assert_eq!(b.quantity.unwrap().value, 9);
    assert_eq!(b.service.colour.as_ref().unwrap().value, "dark");
}

/// Each is read to its end without a panic; how soon is timed by the bench of the compiler.
#[test]
fn hostile_texts_are_read_to_their_end() {
    for text in hostile::texts() {
        let (_, diagnostics) = diagnose("hostile", &text);
        assert!(diagnostics.len() <= text.len());
    }
}

mod never_panics {
    use std::sync::LazyLock;

    use proptest::prelude::*;

    use super::*;

    static REAL_SPECS: LazyLock<Vec<String>> = LazyLock::new(|| {
        let files = suite_files();
        files.iter().flat_map(|path| cases(&fs::read_to_string(path).unwrap())).map(|case| case.text).collect()
    });

    fn every_span_fits(text: &str) {
        let (sources, diagnostics) = diagnose("any", text);
        for diagnostic in &diagnostics {
            for label in &diagnostic.labels {
                let source = sources.get(label.span.source).unwrap();
                let (line, column) = source.line_column(label.span.start);
                assert!(line >= 1 && column >= 1);
                assert!(label.span.start <= label.span.end, "{diagnostic:?}");
            }
            assert!(!diagnostic.message.contains('\n'), "{diagnostic:?}");
            assert!(!diagnostic.labels.is_empty(), "{diagnostic:?}");
        }
    }

    proptest! {
        #![proptest_config(ProptestConfig { cases: 300, failure_persistence: None, ..ProptestConfig::default() })]

        #[test]
        fn on_any_text(text in "\\PC{0,200}") {
            every_span_fits(&text);
        }

        #[test]
        fn on_words_of_the_language(words in prop::collection::vec(word(), 0..40)) {
            every_span_fits(&words.join(" "));
            every_span_fits(&format!("part \"a\" {{ {} }}", words.join(" ")));
        }

        #[test]
        fn on_specs_with_something_cut_or_put_in(
            which in any::<prop::sample::Index>(),
            at in any::<prop::sample::Index>(),
            length in 0usize..12,
            piece in "[ -~°\n]{0,6}",
        ) {
            let spec: Vec<char> = REAL_SPECS[which.index(REAL_SPECS.len())].chars().collect();
            let start = at.index(spec.len() + 1);
            let end = (start + length).min(spec.len());
            let mut text: String = spec[..start].iter().collect();
            text.push_str(&piece);
            text.extend(&spec[end..]);
            every_span_fits(&text);
        }
    }

    fn word() -> impl Strategy<Value = String> {
        let keywords = semantics::reference::keywords();
        prop_oneof![
            prop::sample::select(keywords).prop_map(str::to_owned),
            prop::sample::select(vec![
                "\"a\"",
                "2 mm",
                "2",
                "-25 °C .. 30 °C",
                "-z",
                "(1, 2, 3)",
                "(1 mm, 2 mm, 3 mm)",
                "H7",
                "H7/g6",
                "M5",
                "{",
                "}",
                ";",
                "\n",
                ",",
                "=",
                "because",
                "face",
                "x",
                "is",
                "then",
                "[",
                "]",
                "+",
                "..",
                "5 %",
                "a.b",
                "f(",
                ")",
                "not",
                "1e999 mm",
                "-",
                "kg",
                "for",
                "at least",
                "×",
                "2 mm × 3 mm",
            ])
            .prop_map(str::to_owned),
        ]
    }
}
