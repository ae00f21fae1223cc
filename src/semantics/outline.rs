//! What the statements of a file are called: the words of their blocks with a statement's name or first argument.

use super::form::{Item, Kind, Repeat};
use super::read::{Found, name_of};
use super::values::Value;
use crate::diag::{Outline, Sources, Span};

/// Names the statements of a file: `service/air`, `load "gust"/force`, `ask food contact`, `pin nozzle`.
///
/// Those of a part are named from the part on, since a recipe is of one part; those of a profile or an assembly from the file.
pub(crate) fn of(file: &[Found], sources: &Sources) -> Outline {
    let mut named = Vec::new();
    for found in file {
        let own = segment(found, sources);
        let scope = if found.is("part") { own.as_str() } else { "" };
        let path = if found.is("part") { String::new() } else { own.clone() };
        named.push((found.span, scope.to_owned(), path.clone()));
        within(found, scope, &path, sources, &mut named);
    }
    Outline::of(named)
}

fn within(outer: &Found, scope: &str, path: &str, sources: &Sources, named: &mut Vec<(Span, String, String)>) {
    for found in &outer.inner {
        let joined = |segment: &str| if path.is_empty() { segment.to_owned() } else { format!("{path}/{segment}") };
        let own = joined(&segment(found, sources));
        for (word, span) in words(found) {
            named.push((*span, scope.to_owned(), joined(&format!("{} {word}", found.entry.keyword))));
        }
        within(found, scope, &own, sources, named);
        named.push((found.span, scope.to_owned(), own));
    }
}

/// The words of a statement that asks for several things, of which each is named for itself.
fn words(found: &Found) -> &[(&'static str, Span)] {
    match (found.entry.repeat, found.entry.form) {
        (Repeat::Any, [Item::Value(name, _)]) => found.values.words(name),
        _ => &[],
    }
}

/// Returns what a statement is called in its block: its keyword, with what tells it from others of the keyword.
fn segment(found: &Found, sources: &Sources) -> String {
    let keyword = found.entry.keyword;
    match found.entry.repeat {
        Repeat::Once => keyword.to_owned(),
        Repeat::OncePerName => match name_of(found) {
            Some(name) if is_bare(found) => format!("{keyword} {name}"),
            Some(name) => format!("{keyword} \"{name}\""),
            None => keyword.to_owned(),
        },
        Repeat::Any => format!("{keyword}{}", first(found, sources)),
    }
}

/// Whether the name is written without quotes, as that of a profile is.
fn is_bare(found: &Found) -> bool {
    matches!(found.entry.form.first(), Some(Item::Value(_, Kind::Name)))
}

/// Returns the first argument of a statement; of `forbid` also the choice, since one decision may be forbidden several.
fn first(found: &Found, sources: &Sources) -> String {
    let first = found.entry.form.iter().find_map(|item| match item {
        Item::Value(name, _) => Some(*name),
        _ => None,
    });
    match first.and_then(|name| found.values.get(name)) {
        Some(Value::Text(text)) => format!(" \"{text}\""),
        Some(Value::Decision(decision, setting)) => {
            let word = super::choice::decision_word(*decision, setting.as_deref());
            let choice = found.values.span("choice").filter(|_| found.is("forbid"));
            choice.map_or_else(|| format!(" {word}"), |at| format!(" {word} {}", sources.text(at)))
        }
        _ => String::new(),
    }
}

#[cfg(test)]
mod tests {
    use crate::diag::{Source, Sources, Span};
    use crate::semantics::check;
    use crate::syntax::parse;

    const TEXT: &str = r#"profile gable { service { sun direct for 5 years }; load "gust" force 140 N toward -z }
part "p" is gable {
  mesh "p.stl" in mm
  service { air -25 °C .. 30 °C }
  service { contact "diesel" splash at 40 °C }
  load "tug" { force 140 N toward -z; held 5 years }
  load "broom" force 20 N toward -z held 1 hour
  fit "pivot" bore 8 mm H9 depth 7 mm
  ask lifting, toy
  forbid material "ABS" because "x"
  forbid material "PLA" because "x"
  pin nozzle 0.6 mm because "x"
  waive rule "a" because "x"
}
part "q" { mesh "q.stl" object "a" in mm; mesh "q.stl" object "b" in inch; service { air 0 °C .. 30 °C } }
"#;

    fn path(text: &str, written: &str) -> Option<String> {
        let mut sources = Sources::default();
        let id = sources.add(Source::new("p.partspec", text));
        let tree = parse(id, text).value.unwrap();
        let report = check(&[tree], &sources);
        assert!(!report.has_errors(), "{:?}", report.diagnostics);
        for (id, outline) in report.value.unwrap().outlines {
            sources.set_outline(id, outline);
        }
        let start = text.find(written).unwrap();
        sources.path(Span::new(id, start, start + written.len())).map(str::to_owned)
    }

    #[test]
    fn statements_are_named_by_their_blocks_and_first_arguments() {
        for (written, named) in [
            ("sun direct", "profile gable/service/sun"),
            ("force 140 N toward -z", "profile gable/load \"gust\""),
            ("p.stl", "mesh \"p.stl\""),
            ("air -25 °C", "service/air"),
            ("contact \"diesel\" splash at 40 °C", "service/contact \"diesel\""),
            ("at 40 °C", "service/contact \"diesel\"/at"),
            ("held 5 years", "load \"tug\"/held"),
            ("held 1 hour", "load \"broom\"/held"),
            ("20 N", "load \"broom\"/force"),
            ("7 mm", "fit \"pivot\"/depth"),
            ("lifting", "ask lifting"),
            ("toy", "ask toy"),
            ("forbid material \"PLA\" because \"x\"", "forbid material \"PLA\""),
            ("0.6 mm", "pin nozzle"),
            ("waive rule", "waive \"a\""),
            ("q.stl\" object \"a\"", "mesh \"q.stl\" [1]"),
            ("q.stl\" object \"b\"", "mesh \"q.stl\" [2]"),
            ("air 0 °C", "service/air"),
        ] {
            assert_eq!(path(TEXT, written).as_deref(), Some(named), "{written}");
        }
    }

    #[test]
    fn a_comment_or_an_empty_line_moves_no_path() {
        let moved = TEXT.replace("  load \"tug\"", "\n  // the worst of the year\n  load \"tug\"");
        for written in ["air -25 °C", "held 5 years", "waive rule", "air 0 °C"] {
            assert_eq!(path(TEXT, written), path(&moved, written), "{written}");
        }
    }
}
