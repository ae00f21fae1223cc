//! What a statement that could not be read was meant to say, where people write it in ways of their own.
//!
//! A fitter writes `h6 in H7` and a cook `food contact`; the general messages would tell them word by word what cannot
//! stand there. Here the whole statement is looked at, and the first message gives it as it is to be written.

mod fits;
mod uses;

use super::checker::Checker;
use super::form::{Context, Entry, Item};
use super::read::Found;
use crate::diag::{Diagnostic, Span};
use crate::quantity::Dimension;
use crate::syntax::tree::{Expr, ExprKind, Statement};

/// The longest life `sun` can mean, in seconds of Julian years.
const HUNDRED_YEARS: f64 = 100.0 * 365.25 * 86_400.0;

impl Checker<'_> {
    /// Puts one message in place of those from `before` on, where it is known how a statement would be written rightly.
    pub(crate) fn suggest(&mut self, statement: &Statement, context: Context, before: usize, found: &mut Found) {
        let told = match found.entry.keyword {
            "fit" => self.suggest_fit(statement, found, self.diagnostics.len() > before),
            "bore" | "shaft" if context == Context::Fit && found.broken => self.suggest_fit_clause(statement),
            "sun" if found.broken => self.suggest_sun(statement),
            "contact" if found.broken => self.suggest_contact(statement, context),
            _ => None,
        };
        if let Some(diagnostic) = told {
            self.diagnostics.truncate(before);
            self.report(diagnostic);
            found.broken = true;
            found.inner.clear();
        }
    }

    /// `sun 15 years`: how long, without how much; the years are the person's own.
    fn suggest_sun(&self, statement: &Statement) -> Option<Diagnostic> {
        let arguments = &statement.arguments;
        let first = arguments.first()?;
        let duration = if first.as_word() == Some("for") { arguments.get(1)? } else { first };
        let ExprKind::Number { value, unit } = &duration.kind else { return None };
        let written = self.sources.text(duration.span);
        let years = match unit {
            None => format!("{written} years"),
            Some(_) => written.to_owned(),
        };
        let dimension = unit
            .as_ref()
            .map_or(Some(Dimension::TIME), |u| crate::quantity::parse_unit(&u.text).map(|u| u.dimension))?;
        // One that cannot stand gets the general message: this one must be right as it is.
        let sound = *value > 0.0 && crate::quantity::Quantity::parse(&years).is_ok_and(|q| q.si <= HUNDRED_YEARS);
        if dimension != Dimension::TIME || !sound {
            return None;
        }
        let message = format!("expected `none`, `shaded` or `direct` for `sun`, found {}", first.noun());
        let hint = format!("write `sun direct for {years}`, or `sun shaded for {years}`");
        Some(Diagnostic::error("word/unknown", first.span, message).hint(hint))
    }

    /// Returns the message for a statement no block knows, where it is known what was meant.
    pub(crate) fn suggest_unknown(&self, statement: &Statement, context: Context) -> Option<Diagnostic> {
        match context {
            Context::Fit => self.suggest_fit_statement(statement),
            Context::Part | Context::Profile | Context::Service => self.suggest_use(statement, context),
            _ => None,
        }
    }
}

/// Returns what to write for something that cannot stand on the line of a load, a face or a fit.
pub(crate) fn clause(context: Context, found: &Expr, written: &str) -> Option<String> {
    let word = found.as_word().unwrap_or_default();
    let direction = matches!(found.kind, ExprKind::Direction { .. });
    match (context, &found.kind) {
        (_, ExprKind::Comma) => Some("leave the comma out".to_owned()),
        (Context::Load, ExprKind::Number { unit: Some(unit), .. }) => {
            match crate::quantity::parse_unit(&unit.text)?.dimension {
                Dimension::FORCE => Some(format!("write `force {written}`")),
                Dimension::TORQUE => Some(format!("write `torque {written} about +z`")),
                Dimension::TIME => Some(format!("write `held {written}`")),
                // Standard gravity (ISO 80000-3).
                Dimension::MASS => {
                    let newtons = crate::quantity::Quantity::parse(written).ok()?.si * 9.806_65;
                    let newtons = crate::quantity::significant(newtons);
                    Some(format!("a load is a force: write `force {newtons} N toward -z` for what weighs {written}"))
                }
                _ => None,
            }
        }
        (Context::Load | Context::Face, _) if direction => Some(format!("write `toward {written}`")),
        (Context::Load | Context::Face, _) if matches!(word, "up" | "down" | "upward" | "downward" | "downwards") => {
            Some(
                "write the axis of the mesh, as in `toward -z`: a part has no up or down before it is posed".to_owned(),
            )
        }
        (Context::Load, _) if word == "for" => Some("write `held 5 years`".to_owned()),
        (Context::Load, _) if word == "cycles" => Some("write `cyclic 1000 times`".to_owned()),
        (Context::Face, _) if word == "visible" => Some("write `cosmetic`".to_owned()),
        (Context::Pressure, ExprKind::Name(_)) if crate::diag::nearest(word, ["tight", "bore", "of"]).is_none() => {
            Some(format!("write `of \"{written}\"` for the fluid"))
        }
        _ => None,
    }
}

/// Finds a `=` in a statement that has none, and returns it with what stands before and behind it.
pub(crate) fn stray_assign(arguments: &[Expr], keyword: Span, entry: &Entry) -> Option<(Span, Span, Span)> {
    if entry.places.contains(&Context::Rule) || entry.form.contains(&Item::Word("=")) {
        return None;
    }
    let at = arguments.iter().position(|a| matches!(a.kind, ExprKind::Assign))?;
    let (assign, before) = (arguments.get(at)?.span, at.checked_sub(1).and_then(|i| arguments.get(i)));
    let behind = arguments.get(at + 1)?.span.to(arguments.last()?.span);
    Some((assign, before.map_or(keyword, |b| keyword.to(b.span)), behind))
}

/// Returns a word or a text as it reads.
fn words_of(expr: &Expr) -> Option<&str> {
    expr.as_word().or(expr.as_text())
}
