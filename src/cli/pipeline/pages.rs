//! Pages of what is known, without a job: fits, entries of the catalogue, rules.

use super::super::digest::statement;
use super::super::knowledge::Loaded;
use super::super::{knowledge, listing};
use crate::diag::{Diagnostic, Severity, Source, Sources, Span, nearest};
use crate::render::pages::{Entry, RulePage, Table};
use crate::{fits, rulebook};

/// Looks up a fit, a thread, a clearance hole, a nut or a bearing, and returns it as text or JSON.
///
/// # Errors
///
/// Returns what is not understood, or not in the tables.
pub fn look_up_fit(text: &str, json: bool) -> Result<String, Box<(Diagnostic, Sources)>> {
    let found = fits::lookup::look_up(text, &knowledge::built_in().catalogue.practice()).map_err(|e| {
        let mut sources = Sources::default();
        let id = sources.add(Source::new("the text looked up", text));
        let span = Span::new(id, e.range.start.min(text.len()), e.range.end.min(text.len()));
        Box::new((Diagnostic::error("fit/look-up", span, e.message).hint(e.hint), sources))
    })?;
    if json {
        let mut text = serde_json::to_string_pretty(&found).unwrap_or_default();
        text.push('\n');
        Ok(text)
    } else {
        Ok(crate::render::pages::looked_up(&crate::render::look_up::text(&found)))
    }
}

/// Returns the entries of a kind, or the kinds.
///
/// # Errors
///
/// Returns `catalogue/unknown-kind` with the nearest there is.
pub(crate) fn catalogue_table(kind: Option<&str>) -> Result<Table, Diagnostic> {
    listing::table(knowledge::built_in(), kind)
}

/// Returns everything known of one entry.
///
/// # Errors
///
/// Returns `catalogue/unknown-kind` or `catalogue/unknown-name` with the nearest there is.
pub(crate) fn catalogue_entry(kind: &str, name: &str) -> Result<Entry, Diagnostic> {
    listing::entry(knowledge::built_in(), kind, name)
}

/// Returns the page of a rule.
///
/// # Errors
///
/// Returns `rule/unknown` with the nearest name there is.
pub(crate) fn rule_page(name: &str) -> Result<RulePage, Diagnostic> {
    rule_page_of(knowledge::built_in(), name)
}

/// The same of the rules of a workshop.
pub(in crate::cli) fn rule_page_of(loaded: &Loaded, name: &str) -> Result<RulePage, Diagnostic> {
    let Some(rule) = loaded.rulebook.get(name) else {
        if let Some(named) = loaded.rulebook.names.get(name) {
            return Ok(threshold_page(loaded, named));
        }
        let found = Diagnostic::new(Severity::Error, "rule/unknown", format!("there is no rule \"{name}\""));
        let known = loaded.rulebook.rules.iter().map(|r| r.name.as_str());
        let near = nearest(name, known.chain(loaded.rulebook.names.keys().map(String::as_str)));
        return Err(match near {
            Some(near) => found.hint(format!("did you mean \"{near}\"?")),
            None => found.hint("`makeready catalogue rules` lists them"),
        });
    };
    Ok(RulePage {
        name: rule.name.clone(),
        touches: rule.touches.iter().map(|d| d.word().to_owned()).collect(),
        text: statement(&loaded.sources, rule.span).to_owned(),
        reads: reads(loaded, &rule.thresholds, &rule.names),
        because: rule.because.clone(),
        source: rule.source.clone(),
        place: rule.place.clone(),
    })
}

/// The page of a threshold that rules read by its name, and which do.
pub(super) fn threshold_page(loaded: &Loaded, named: &rulebook::Named) -> RulePage {
    let readers = loaded.rulebook.rules.iter().filter(|r| r.thresholds.contains(&named.name));
    RulePage {
        name: named.name.clone(),
        text: statement(&loaded.sources, named.span).to_owned(),
        reads: readers.map(|r| (format!("by {}", r.name), r.because.clone(), r.place.clone())).collect(),
        because: named.because.clone(),
        source: named.source.clone(),
        place: named.place.clone(),
        ..RulePage::default()
    }
}

/// What a rule reads of thresholds and figures, with the value of each and where it is from.
pub(super) fn reads(loaded: &Loaded, thresholds: &[String], names: &[String]) -> Vec<(String, String, String)> {
    let thresholds = thresholds.iter().filter_map(|name| loaded.rulebook.names.get(name));
    let thresholds =
        thresholds.map(|n| (n.name.clone(), n.written.clone(), format!("{}, {}", n.source.replace('-', " "), n.place)));
    let figures = loaded.catalogue.figures.all().filter_map(|(name, figure)| {
        let name = format!("figure.{name}");
        let key = figure.source.as_ref().map_or(String::new(), |s| format!(" {s}"));
        let from = format!("{}{key}, {}", figure.kind.as_str().replace('-', " "), loaded.sources.place(figure.at));
        names.contains(&name).then(|| (name, figure.typ.to_string(), from))
    });
    thresholds.chain(figures).collect()
}
