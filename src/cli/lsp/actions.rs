//! What an editor offers to do: a finding's own text to write instead, a way out of a refusal, a decision pinned.

use lsp_types::{CodeAction, CodeActionKind, CodeActionOrCommand, Range};

use super::edits::{line_more, without, workspace};
use super::published::Audience;
use super::reading::{Outcome, Reading};
use crate::diag::{Diagnostic, Edit, SourceId, Sources, Span};
use crate::recipe::{Recipe, Rewrite};
use crate::rulebook::Decision;
use crate::semantics::Found;

/// The reason a pin is written with: somebody is to say a better one.
const REASON: &str = "as decided; say here what it is kept for";

/// Returns what may be done about a range of a document.
pub(super) fn at(
    range: Range,
    audience: &Audience<'_>,
    reading: &Reading,
    outcome: Option<&Outcome>,
) -> Vec<CodeActionOrCommand> {
    let document = audience.document;
    let from = document.lines.offset(&document.text, range.start, audience.encoding);
    let to = document.lines.offset(&document.text, range.end, audience.encoding);
    let touches = |span: Span| span.start as usize <= to && from <= span.end as usize;
    let mut actions = Vec::new();
    let (found, sources, own) = match outcome {
        Some(outcome) => (outcome.findings.as_slice(), &outcome.compiled.sources, outcome.own),
        None => (reading.diagnostics.as_slice(), &reading.sources, reading.own),
    };
    let here = |d: &&Diagnostic| d.labels.iter().any(|l| l.span.source == own && touches(l.span));
    for finding in found.iter().filter(here) {
        actions.extend(fixes(finding, audience, sources, own));
    }
    if let Some(outcome) = outcome {
        for found in reading.statements().iter().filter(|f| f.is("part") && touches(f.span)) {
            let name = found.values.text("name").unwrap_or_default();
            for part in outcome.compiled.parts.iter().filter(|p| p.recipe.part == name) {
                let inside = |span: Span| span.source != outcome.own || touches(span) || touches(found.head);
                actions.extend(ways_out(&part.recipe, audience, outcome, found, &inside));
                if touches(found.head) {
                    actions.extend(pins(&part.recipe, audience, outcome, found));
                }
            }
        }
    }
    actions
}

fn fixes(d: &Diagnostic, audience: &Audience<'_>, sources: &Sources, own: SourceId) -> Vec<CodeActionOrCommand> {
    let told = audience.tell(std::slice::from_ref(d), sources, own);
    let only = d.fixes.len() == 1;
    let action = |fix: &crate::diag::Fix| {
        Some(CodeActionOrCommand::CodeAction(CodeAction {
            title: fix.title.clone(),
            kind: Some(CodeActionKind::QUICKFIX),
            diagnostics: Some(told.clone()),
            edit: Some(workspace(&fix.edits, audience, sources, own)?),
            is_preferred: Some(only),
            ..CodeAction::default()
        }))
    };
    d.fixes.iter().filter_map(action).collect()
}

/// Changes of the text that free a part, each solved again before the recipe offers it.
fn ways_out(
    recipe: &Recipe,
    audience: &Audience<'_>,
    outcome: &Outcome,
    part: &Found,
    inside: &dyn Fn(Span) -> bool,
) -> Vec<CodeActionOrCommand> {
    let sources = &outcome.compiled.sources;
    let whole = |r: &Rewrite| sources.get(r.at.source).map_or("", |s| s.text.as_str());
    let edit = |r: &Rewrite| match (r.more, r.text.is_empty()) {
        (true, _) => line_more(whole(r), r.at.source, (part.span.end as usize).saturating_sub(1), &r.text),
        (false, true) => without(whole(r), r.at),
        (false, false) => Edit { span: r.at, text: r.text.clone() },
    };
    let relevant = |w: &&crate::recipe::Relaxation| w.rewrites.iter().any(|r| inside(r.at));
    let action = |way: &crate::recipe::Relaxation| {
        let edits: Vec<Edit> = way.rewrites.iter().map(edit).collect();
        Some(CodeActionOrCommand::CodeAction(CodeAction {
            title: format!("way out: {}", way.text),
            kind: Some(CodeActionKind::QUICKFIX),
            edit: Some(workspace(&edits, audience, sources, outcome.own)?),
            ..CodeAction::default()
        }))
    };
    recipe.relaxations.iter().filter(relevant).filter_map(action).collect()
}

/// Lines that would fix what is decided now.
fn pins(recipe: &Recipe, audience: &Audience<'_>, outcome: &Outcome, part: &Found) -> Vec<CodeActionOrCommand> {
    let sources = &outcome.compiled.sources;
    let text = sources.get(outcome.own).map_or("", |s| s.text.as_str());
    let close = (part.span.end as usize).saturating_sub(1);
    if text.get(close..close + 1) != Some("}") {
        return Vec::new();
    }
    let pinned = |of: Decision| {
        part.inner
            .iter()
            .any(|f| f.is("pin") && f.values.span("decision").is_some_and(|at| sources.text(at) == of.word()))
    };
    let action = |(of, value): (Decision, &str)| {
        // A pose and a build-up are words of the language, all else is a name in quotes.
        let value = match of {
            Decision::Pose | Decision::Supports | Decision::BuildUp => value.to_owned(),
            _ => format!("\"{value}\""),
        };
        let line = format!("pin {} {value} because \"{REASON}\"", of.word());
        let edit = line_more(text, outcome.own, close, &line);
        Some(CodeActionOrCommand::CodeAction(CodeAction {
            title: format!("pin {} {value}, with a reason", of.word()),
            kind: Some(CodeActionKind::REFACTOR),
            edit: Some(workspace(&[edit], audience, sources, outcome.own)?),
            ..CodeAction::default()
        }))
    };
    let decisions = recipe.decisions.iter().flat_map(|d| d.all());
    let free = decisions.filter(|(of, _)| !pinned(*of)).map(|(of, decided)| (of, decided.value.as_str()));
    free.filter_map(action).collect()
}
