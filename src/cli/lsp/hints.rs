//! What was decided and what is in hand, behind the lines that ask for it: `→ ASA on Loft`, `→ 4 K, holds narrowly`.

use lsp_types::{InlayHint, InlayHintLabel, InlayHintTooltip};

use super::published::Audience;
use super::reading::{Outcome, Reading};
use crate::recipe::{Margin, Recipe};
use crate::semantics::Found;

/// Returns the hints of a document that was compiled as it stands, those within some bytes of it.
pub(super) fn of(
    audience: &Audience<'_>,
    reading: &Reading,
    outcome: &Outcome,
    within: std::ops::Range<usize>,
) -> Vec<InlayHint> {
    let mut hints = Vec::new();
    for found in reading.statements().iter().filter(|f| f.is("part")) {
        let name = found.values.text("name").unwrap_or_default();
        for part in outcome.compiled.parts.iter().filter(|p| p.recipe.part == name) {
            hints.extend(hint(audience, found, &decided(&part.recipe), &part.recipe.headline.to_string(), &within));
            margins(&part.recipe, audience, found, &within, &mut hints);
        }
    }
    hints.sort_by_key(|h| h.position);
    hints
}

fn decided(recipe: &Recipe) -> String {
    match &recipe.decisions {
        Some(d) => format!("{} on {}, {}, {}", d.material.value, d.printer.value, d.pose.value, recipe.status.words()),
        None => recipe.status.words().to_owned(),
    }
}

fn margins(
    recipe: &Recipe,
    audience: &Audience<'_>,
    part: &Found,
    within: &std::ops::Range<usize>,
    hints: &mut Vec<InlayHint>,
) {
    let mut todo: Vec<&Found> = part.inner.iter().collect();
    while let Some(found) = todo.pop() {
        todo.extend(&found.inner);
        let of: Vec<&Margin> = recipe.margins.iter().filter(|m| is_about(m, found)).collect();
        // The worst of a line's margins; the others are in its hover.
        let Some(worst) = of.iter().min_by_key(|m| m.verdict) else { continue };
        let told = &worst.told.margin.to_string();
        let label = if told.is_empty() {
            worst.verdict.words().to_owned()
        } else {
            format!("{told}, {}", worst.verdict.words())
        };
        let all: Vec<String> = of
            .iter()
            .map(|m| {
                format!("{}: asked {}, there is {}; {}", m.what, m.told.demand, m.told.capacity, m.verdict.words())
            })
            .collect();
        hints.extend(hint(audience, found, &label, &all.join("\n"), within));
    }
}

/// Whether a margin is of what a statement asks for.
fn is_about(margin: &Margin, found: &Found) -> bool {
    let Some(key) = &margin.asked_by else { return false };
    let row = key.row();
    let stands = found.is(row.keyword) && found.entry.places.contains(&row.context);
    let named = || found.values.text("name").or(found.values.text("chemical"));
    stands && (!row.quoted || key.subject.as_deref() == named())
}

/// Returns a hint at the end of a statement's own line.
fn hint(
    audience: &Audience<'_>,
    found: &Found,
    label: &str,
    tooltip: &str,
    within: &std::ops::Range<usize>,
) -> Option<InlayHint> {
    let document = audience.document;
    let at = found.head.end as usize;
    if found.head.source != found.span.source || at < within.start || at > within.end {
        return None;
    }
    let line = document.lines.position(&document.text, at, audience.encoding).line as usize;
    let end = document.lines.line(&document.text, line).end;
    Some(InlayHint {
        position: document.lines.position(&document.text, end, audience.encoding),
        label: InlayHintLabel::String(format!("→ {label}")),
        kind: None,
        text_edits: None,
        tooltip: Some(InlayHintTooltip::String(tooltip.to_owned())),
        padding_left: Some(true),
        padding_right: None,
        data: None,
    })
}
