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
