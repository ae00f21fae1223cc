//! Diagnostics as text with snippets, as one line each, and as JSON.

use std::borrow::Cow;
use std::ops::Range;

use annotate_snippets::{Annotation, AnnotationKind, Group, Level, Origin, Renderer, Snippet};
use serde::Serialize;

use crate::diag::{Diagnostic, Label, Severity, Source, SourceId, Sources, Span};

/// Returns the diagnostics with the lines they speak of, for people; colour codes only where asked for.
///
/// Spans that lie outside their text, or inside a character, are moved to the nearest place that fits: a wrong
/// span must never hide the message it belongs to.
pub fn text(diagnostics: &[Diagnostic], sources: &Sources, colour: bool) -> String {
    let renderer = if colour { Renderer::styled() } else { Renderer::plain() };
    let mut shown: String = diagnostics.iter().take(MOST_SHOWN).map(|d| one(d, sources, &renderer) + "\n\n").collect();
    if let Some(more) = diagnostics.len().checked_sub(MOST_SHOWN).filter(|more| *more > 0) {
        shown.push_str(&format!("and {more} more, not shown: mend these first\n\n"));
    }
    shown
}

/// More findings than this nobody reads in one go; the other forms have them all.
const MOST_SHOWN: usize = 100;

/// Returns one line each, `file:line:column: severity[code]: message`.
pub fn short(diagnostics: &[Diagnostic], sources: &Sources) -> String {
    let mut out = String::new();
    for d in diagnostics {
        if let Some((source, place)) = d.labels.first().and_then(|l| Some((sources.get(l.span.source)?, l.span))) {
            let (line, column) = source.line_column(place.start);
            out.push_str(&format!("{}:{line}:{column}: ", printable(&source.name)));
        }
        out.push_str(&format!("{}[{}]: {}\n", d.severity, d.code, printable(&d.message)));
    }
    out
}

/// Returns a JSON array: `{severity, code, message, labels[{file, line, column, end_line, end_column, text}], hints}`.
///
/// Lines and columns count from 1, columns in characters; the end is the place after the last character.
pub fn json(diagnostics: &[Diagnostic], sources: &Sources) -> String {
    let rows: Vec<JsonDiagnostic> = diagnostics.iter().map(|d| JsonDiagnostic::of(d, sources)).collect();
    // Strings and numbers alone: serialising them cannot fail.
    serde_json::to_string_pretty(&rows).unwrap_or_default() + "\n"
}

/// Returns how many errors and warnings there are, in words: `2 errors, 1 warning`; empty where there are none.
pub fn tally(diagnostics: &[Diagnostic]) -> String {
    let count = |severity| diagnostics.iter().filter(|d| d.severity == severity).count();
    [(count(Severity::Error), "error"), (count(Severity::Warning), "warning")]
        .iter()
        .filter(|(n, _)| *n > 0)
        .map(|(n, word)| format!("{n} {word}{}", if *n == 1 { "" } else { "s" }))
        .collect::<Vec<_>>()
        .join(", ")
}

#[derive(Serialize)]
struct JsonDiagnostic<'a> {
    severity: String,
    code: &'a str,
    message: &'a str,
    labels: Vec<JsonLabel<'a>>,
    hints: &'a [String],
}

#[derive(Serialize)]
struct JsonLabel<'a> {
    file: &'a str,
    line: usize,
    column: usize,
    end_line: usize,
    end_column: usize,
    text: &'a str,
}

impl<'a> JsonDiagnostic<'a> {
    fn of(d: &'a Diagnostic, sources: &'a Sources) -> Self {
        Self {
            severity: d.severity.to_string(),
            code: d.code,
            message: &d.message,
            labels: d.labels.iter().filter_map(|l| JsonLabel::of(l, sources)).collect(),
            hints: &d.hints,
        }
    }
}

impl<'a> JsonLabel<'a> {
    fn of(label: &'a Label, sources: &'a Sources) -> Option<Self> {
        let source = sources.get(label.span.source)?;
        let range = fitting(label.span, &source.text);
        let (line, column) = source.line_column(range.start as u32);
        let (end_line, end_column) = source.line_column(range.end as u32);
        Some(Self { file: &source.name, line, column, end_line, end_column, text: &label.text })
    }
}

fn one(d: &Diagnostic, sources: &Sources, renderer: &Renderer) -> String {
    let level = match d.severity {
        Severity::Error => Level::ERROR,
        Severity::Warning => Level::WARNING,
        Severity::Note => Level::NOTE,
    };
    let mut group = Group::with_title(level.primary_title(printable(&d.message)).id(d.code));
    for (at, id) in places(d, sources).into_iter().enumerate() {
        if let Some(source) = sources.get(id) {
            group = match Window::around(d, id, source) {
                Some(window) => group.element(window.snippet(d, source, at == 0)),
                None => group.element(Origin::path(printable(&source.name))),
            };
        }
    }
    if d.labels.is_empty() {
        // Without a place there is no text to draw a margin for.
        let hints: String = d.hints.iter().map(|h| format!("\n  = hint: {}", printable(h))).collect();
        return renderer.render(&[group]) + &hints;
    }
    for hint in &d.hints {
        group = group.element(Level::HELP.with_name("hint").message(printable(hint)));
    }
    renderer.render(&[group])
}

/// The sources a diagnostic points into, each once, that of the primary label first.
fn places(d: &Diagnostic, sources: &Sources) -> Vec<SourceId> {
    let mut ids: Vec<SourceId> = Vec::new();
    for label in &d.labels {
        if sources.get(label.span.source).is_some() && !ids.contains(&label.span.source) {
            ids.push(label.span.source);
        }
    }
    ids
}

/// The whole lines of a source that a diagnostic needs. Handing the drawing library only these keeps the cost of a
/// message independent of the size of the file.
struct Window {
    id: SourceId,
    lines: Range<usize>,
    first_line: usize,
}

impl Window {
    fn around(d: &Diagnostic, id: SourceId, source: &Source) -> Option<Self> {
        let ranges: Vec<Range<usize>> =
            d.labels.iter().filter(|l| l.span.source == id).map(|l| fitting(l.span, &source.text)).collect();
        let start = ranges.iter().map(|r| r.start).min()?;
        let end = ranges.iter().map(|r| r.end).max()?;
        let from = source.text.get(..start)?.rfind('\n').map_or(0, |i| i + 1);
        let to = source.text.get(end..)?.find('\n').map_or(source.text.len(), |i| end + i);
        (!source.text.is_empty()).then(|| Self { id, lines: from..to, first_line: source.line_column(from as u32).0 })
    }

    fn snippet<'a>(&self, d: &'a Diagnostic, source: &'a Source, first: bool) -> Snippet<'a, Annotation<'a>> {
        let shown = source.text.get(self.lines.clone()).unwrap_or("");
        // A carriage return at the end of a line is not to be seen, and takes as many bytes as the blank in its place.
        let shown = if shown.contains('\r') { Cow::Owned(shown.replace('\r', " ")) } else { Cow::Borrowed(shown) };
        let mut snippet = Snippet::source(shown).line_start(self.first_line).path(printable(&source.name));
        for (i, label) in d.labels.iter().enumerate().filter(|(_, l)| l.span.source == self.id) {
            let range = fitting(label.span, &source.text);
            let kind = if first && i == 0 { AnnotationKind::Primary } else { AnnotationKind::Context };
            let mut mark = kind.span(range.start - self.lines.start..range.end - self.lines.start);
            if !label.text.is_empty() {
                mark = mark.label(printable(&label.text));
            }
            snippet = snippet.annotation(mark);
        }
        snippet
    }
}

/// Returns the nearest range that lies inside the text, on character borders, and runs forwards.
pub(super) fn fitting(span: Span, text: &str) -> Range<usize> {
    let start = text.floor_char_boundary((span.start as usize).min(text.len()));
    let end = text.ceil_char_boundary((span.end as usize).min(text.len()));
    start..end.max(start)
}

/// Returns the text on one line, with control characters (a terminal would obey them) made visible.
fn printable(text: &str) -> String {
    text.chars()
        .map(|c| match c {
            '\n' | '\t' | '\r' => ' ',
            // Control characters, and the marks that turn the direction of writing.
            c if c.is_control() || matches!(c, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}') => '\u{fffd}',
            c => c,
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const SPEC: &str = "part \"hook\" {\n  mesh \"hook.stl\" in mm\n  clearance 0.2 degC\n}\n";

    fn sources() -> (Sources, SourceId) {
        let mut sources = Sources::default();
        let id = sources.add(Source::new("hook.partspec", SPEC));
        (sources, id)
    }

    fn wrong_unit(id: SourceId) -> Diagnostic {
        let at = SPEC.find("0.2").unwrap();
        Diagnostic::error("unit/wrong", Span::new(id, at, at + 8), "expected a length, found a temperature")
            .here("a temperature")
            .hint("write `0.2 mm`")
    }

    #[test]
    fn text_shows_the_line_the_place_and_the_hint() {
        let (sources, id) = sources();
        insta::assert_snapshot!(text(&[wrong_unit(id)], &sources, false), @r"
        error[unit/wrong]: expected a length, found a temperature
         --> hook.partspec:3:13
          |
        3 |   clearance 0.2 degC
          |             ^^^^^^^^ a temperature
          |
          = hint: write `0.2 mm`
        ");
    }

    #[test]
    fn a_conflict_shows_both_files() {
        let (mut sources, id) = sources();
        let other = sources.add(Source::new("common.partspec", "profile shed {\n  air -10 °C .. 30 °C\n}\n"));
        let d = Diagnostic::error("spec/twice", Span::new(id, 0, 4), "`air` is stated twice")
            .here("here")
            .label(Span::new(other, 17, 38), "and here");
        insta::assert_snapshot!(text(&[d], &sources, false), @r#"
        error[spec/twice]: `air` is stated twice
         --> hook.partspec:1:1
          |
        1 | part "hook" {
          | ^^^^ here
          |
         ::: common.partspec:2:3
          |
        2 |   air -10 °C .. 30 °C
          |   ------------------- and here
        "#);
    }

    #[test]
    fn a_finding_without_a_place_has_no_margin_and_a_flood_is_cut() {
        let nowhere = Diagnostic::new(Severity::Error, "usage/name", "no such thing").hint("write `x`");
        let sources = Sources::default();
        assert_eq!(
            text(std::slice::from_ref(&nowhere), &sources, false),
            "error[usage/name]: no such thing\n  = hint: write `x`\n\n"
        );
        let flood = text(&vec![nowhere; 103], &sources, false);
        assert_eq!(flood.matches("error[").count(), 100);
        assert!(flood.ends_with("and 3 more, not shown: mend these first\n\n"));
    }

    #[test]
    fn colour_comes_only_when_asked_for() {
        let (sources, id) = sources();
        assert!(!text(&[wrong_unit(id)], &sources, false).contains('\u{1b}'));
        assert!(text(&[wrong_unit(id)], &sources, true).contains('\u{1b}'));
    }

    #[test]
    fn short_is_one_line_with_its_place() {
        let (sources, id) = sources();
        assert_eq!(
            short(&[wrong_unit(id), Diagnostic::new(Severity::Warning, "file/missing", "no file `a\nb`")], &sources),
            "hook.partspec:3:13: error[unit/wrong]: expected a length, found a temperature\n\
             warning[file/missing]: no file `a b`\n"
        );
    }

    #[test]
    fn json_counts_characters_from_one() {
        let (sources, id) = sources();
        let parsed: serde_json::Value = serde_json::from_str(&json(&[wrong_unit(id)], &sources)).unwrap();
        let label = &parsed[0]["labels"][0];
        assert_eq!(label["file"], "hook.partspec");
        assert_eq!((label["line"].as_u64(), label["column"].as_u64()), (Some(3), Some(13)));
        assert_eq!((label["end_line"].as_u64(), label["end_column"].as_u64()), (Some(3), Some(21)));
        assert_eq!(parsed[0]["hints"][0], "write `0.2 mm`");
    }

    #[test]
    fn a_message_cannot_drive_the_terminal() {
        let d = Diagnostic::new(Severity::Error, "spec/word", "unknown word `\u{1b}[2J\u{202e}`");
        let out = text(&[d], &Sources::default(), false);
        assert!(!out.contains('\u{1b}') && !out.contains('\u{202e}'), "{out}");
    }

    #[test]
    fn tally_counts_in_words() {
        let (_, id) = sources();
        let all = [wrong_unit(id), wrong_unit(id), Diagnostic::new(Severity::Warning, "a/b", "c")];
        assert_eq!(tally(&all), "2 errors, 1 warning");
        assert_eq!(tally(&[]), "");
    }

    proptest! {
        /// The drawing library panics on a range past the end or inside a character; ours never hands it one.
        #[test]
        fn no_span_and_no_text_panics(
            body in "(\\PC|[\\r\\n\\tµ°–\u{feff}\u{0}\u{1b}漢\u{301}]){0,60}",
            spans in proptest::collection::vec((0u32..90, 0u32..90, 0u32..3), 0..5),
            message in "\\PC{0,20}",
        ) {
            let mut sources = Sources::default();
            sources.add(Source::new("a.partspec", body.clone()));
            sources.add(Source::new("", body));
            let mut d = Diagnostic::new(Severity::Error, "a/b", message.clone()).hint(message.clone());
            for (start, end, source) in spans {
                d = d.label(Span { source: SourceId(source), start, end }, message.clone());
            }
            let all = [d];
            text(&all, &sources, false);
            text(&all, &sources, true);
            short(&all, &sources);
            prop_assert!(serde_json::from_str::<serde_json::Value>(&json(&all, &sources)).is_ok());
        }
    }
}
