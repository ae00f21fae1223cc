//! The statements of one rule: each read, and what is wrong with it.

use std::sync::Arc;

use super::super::example;
use super::super::facts::words::MarginVerdict;
use super::super::lower::Lower;
use super::super::names::{Root, Type};
use super::super::rule::{CautionKind, Phase, Verdict};
use super::{Draft, STATEMENTS, VERDICT, derive_parts, judged_parts};
use crate::diag::{Diagnostic, Sources, Span, nearest};
use crate::quantity::{Dimension, parse_unit};
use crate::syntax::tree::{Expr, ExprKind, Statement, join};

/// Kinds of source; the first four need a citation.
pub const SOURCE_KINDS: &[&str] =
    &["standard", "handbook", "paper", "library", "common-practice", "from-memory", "computed"];

/// What has been read of a rule so far.
#[derive(Default)]
pub(super) struct Reading {
    pub(super) when: Vec<crate::rulebook::code::Code>,
    pub(super) when_written: Vec<String>,
    pub(super) otherwise: Option<crate::rulebook::template::Template>,
    pub(super) redraw: Option<crate::rulebook::template::Template>,
    pub(super) verdicts: Vec<Verdict>,
    pub(super) binding: bool,
    pub(super) defers: bool,
    pub(super) because: Option<String>,
    pub(super) source: Option<(&'static str, Vec<String>)>,
    pub(super) examples: Vec<example::Example>,
}

impl Lower<'_> {
    /// What every rule owes; a statement that is there but wrong has been reported already.
    pub(super) fn completeness(&mut self, draft: &Draft<'_>) {
        let has = |words: &[&str]| draft.body.iter().any(|s| words.contains(&s.keyword.text.as_str()));
        let owed = [
            (
                &["require", "prefer", "derive", "step", "caution", "question", "withhold"][..],
                "rule/no-verdict",
                "does nothing",
                "give it a `require`, `prefer`, `derive`, `step`, `caution`, `question` or `withhold`",
            ),
            (&["because"], "rule/no-because", "gives no reason", "write `because \"...\"`"),
            (
                &["source"],
                "rule/no-source",
                "gives no source",
                "write `source common-practice`, or a kind and a citation: `source paper SPOERK18`",
            ),
        ];
        for (words, code, what, hint) in owed {
            if !has(words) {
                let message = format!("the rule `{}` {what}", draft.name);
                self.diagnostics.push(Diagnostic::error(code, draft.statement.head, message).hint(hint));
            }
        }
    }

    pub(super) fn statement(&mut self, statement: &Statement, sources: &Sources, reading: &mut Reading) {
        let arguments = statement.arguments.as_slice();
        match statement.keyword.text.as_str() {
            "when" => {
                if let Some(expr) = self.only(statement) {
                    reading.when_written.push(tidy(sources.text(expr.span)));
                    reading.when.extend(self.condition(expr));
                }
            }
            "require" => {
                if let Some(expr) = self.only(statement)
                    && let Some(condition) = self.condition(expr)
                {
                    let written = tidy(sources.text(expr.span));
                    reading.verdicts.push(Verdict::Require { condition, written });
                }
            }
            "otherwise" => {
                if let Some((text, span)) = self.text(statement) {
                    reading.otherwise = self.template(&text, span);
                }
            }
            "redraw" => {
                if let Some((text, span)) = self.text(statement) {
                    reading.redraw = self.template(&text, span);
                }
            }
            "prefer" => reading.verdicts.extend(self.prefer(statement, arguments)),
            "derive" => reading.verdicts.extend(self.derive(statement)),
            "step" => reading.verdicts.extend(self.step(statement, arguments)),
            "caution" => reading.verdicts.extend(self.caution(statement, arguments)),
            "question" => reading.verdicts.extend(self.question(statement, arguments)),
            "withhold" => reading.verdicts.extend(self.withhold(statement, arguments)),
            // Read before all others.
            "let" => {}
            "binding" => reading.binding = true,
            "defers" => reading.defers = true,
            "because" => {
                if let Some((text, span)) = self.text(statement)
                    && reading.because.replace(text).is_some()
                {
                    self.diagnostics.push(Diagnostic::error("rule/repeated", span, "a second `because`"));
                }
            }
            "source" => {
                if let Some(source) = self.source(statement, arguments)
                    && reading.source.replace(source).is_some()
                {
                    self.diagnostics.push(
                        Diagnostic::error("rule/repeated", statement.head, "a second `source`")
                            .hint("write several citations behind one kind"),
                    );
                }
            }
            "example" => reading.examples.extend(self.example(statement, sources)),
            _ => self.unknown_statement(statement),
        }
    }

    /// Names of the rule's own that it does not read.
    pub(super) fn unread(&mut self, head: Span) {
        let idle: Vec<String> = self.locals.given.keys().filter(|n| !self.locals.read.contains(*n)).cloned().collect();
        for name in idle {
            let message = format!("the rule does not read its own `{name}`");
            let found = Diagnostic::warning("rule/let-unread", head, message);
            self.diagnostics.push(found.hint("use it in a condition, a value or a text, or leave it out"));
        }
    }

    fn unknown_statement(&mut self, statement: &Statement) {
        let word = &statement.keyword;
        let known = STATEMENTS.iter().map(|s| s.0);
        let hint = nearest(&word.text, known.clone()).map_or_else(
            || format!("a rule has {}", known.collect::<Vec<_>>().join(", ")),
            |near| format!("did you mean `{near}`?"),
        );
        self.diagnostics.push(
            Diagnostic::error("rule/unknown-statement", word.span, format!("unknown statement `{}`", word.text))
                .hint(hint),
        );
    }

    fn usage(&mut self, statement: &Statement) {
        let keyword = statement.keyword.text.as_str();
        let usage = STATEMENTS.iter().find(|s| s.0 == keyword).map_or("", |s| s.1);
        self.diagnostics.push(
            Diagnostic::error("rule/arguments", statement.head, format!("`{keyword}` is not written like this"))
                .hint(format!("write `{keyword} {usage}`")),
        );
    }

    fn only<'s>(&mut self, statement: &'s Statement) -> Option<&'s Expr> {
        match (statement.arguments.as_slice(), &statement.block) {
            ([expr], None) => Some(expr),
            _ => {
                self.usage(statement);
                None
            }
        }
    }

    pub(in crate::rulebook) fn text(&mut self, statement: &Statement) -> Option<(String, Span)> {
        let expr = self.only(statement)?;
        match expr.as_text() {
            Some(text) if !text.trim().is_empty() => Some((text.to_owned(), expr.span)),
            _ => {
                self.usage(statement);
                None
            }
        }
    }

    fn prefer(&mut self, statement: &Statement, arguments: &[Expr]) -> Option<Verdict> {
        let words: Vec<Option<&str>> = arguments.iter().map(Expr::as_word).collect();
        match (words.as_slice(), arguments) {
            ([Some("another"), _], [_, weight]) => {
                let weight = self.quantity(weight, Dimension::NONE)?;
                Some(Verdict::Prefer { weight, per: None })
            }
            ([Some("less"), _, Some("per"), _, Some("of"), _], [_, weight, _, amount, _, measured]) => {
                let weight = self.quantity(weight, Dimension::NONE);
                let (kind, code) = self.value(measured)?;
                let Type::Quantity(dimension) = kind else {
                    self.diagnostics.push(Diagnostic::error(
                        "rule/wrong-type",
                        measured.span,
                        format!("a penalty grows with a number, found {}", kind.noun()),
                    ));
                    return None;
                };
                // A penalty per degree grows with a difference; a bare temperature has no zero to grow from.
                let unit = self.amount(amount, dimension)?;
                Some(Verdict::Prefer { weight: weight?, per: Some((code, unit)) })
            }
            _ => {
                self.usage(statement);
                None
            }
        }
    }

    /// Reads the amount behind `per`: a unit (`cm²`), a quantity (`10 K`, `0.1`).
    fn amount(&mut self, expr: &Expr, dimension: Dimension) -> Option<f64> {
        let found = match (&expr.kind, expr.as_word()) {
            (_, Some(word)) => parse_unit(word).map(|u| (u.factor, u.dimension)),
            (ExprKind::Number { .. }, _) => match self.value(expr)? {
                (Type::Quantity(d), crate::rulebook::code::Code::Number(n)) => Some((n, d)),
                _ => None,
            },
            _ => None,
        };
        match found {
            Some((factor, d)) if d == dimension && !d.point && factor > 0.0 => Some(factor),
            _ => {
                let message = match found {
                    Some((_, d)) => format!("expected an amount of {}, found {}", dimension.name(), d.name()),
                    None => format!("expected a unit or an amount, found {}", expr.noun()),
                };
                self.diagnostics.push(
                    Diagnostic::error("rule/wrong-dimension", expr.span, message)
                        .hint("write a unit or a quantity, as in `per cm²` or `per 10 K`"),
                );
                None
            }
        }
    }

    fn derive(&mut self, statement: &Statement) -> Option<Verdict> {
        if let Some((name, target, expr)) = judged_parts(statement) {
            // What judges a margin is judged for each.
            self.uses.each.entry(Root::Margin).or_insert(target);
            let kind = if name == VERDICT { Type::Word(MarginVerdict::WORDS) } else { Type::Bool };
            return Some(Verdict::Derive { setting: Arc::from(name), kind, code: self.option(kind, expr)? });
        }
        let Some((setting, expr)) = derive_parts(statement) else {
            self.usage(statement);
            return None;
        };
        let (kind, code) = self.value(expr)?;
        let wanted = self.settings.get(&setting.text).copied();
        if let Some(wanted) = wanted
            && wanted != kind
        {
            self.diagnostics.push(Diagnostic::error(
                "rule/setting-type",
                expr.span,
                format!("`{}` is {} by another rule, here it is {}", setting.text, wanted.noun(), kind.noun()),
            ));
            return None;
        }
        Some(Verdict::Derive { setting: Arc::from(setting.text.as_str()), kind, code })
    }

    fn step(&mut self, statement: &Statement, arguments: &[Expr]) -> Option<Verdict> {
        let [phase, order, text, rest @ ..] = arguments else {
            self.usage(statement);
            return None;
        };
        let phase = self.closed(phase, Phase::parse, Phase::ALL.iter().map(|p| p.word()).collect())?;
        let (ExprKind::Number { value, unit: None }, Some(written)) = (&order.kind, text.as_text()) else {
            self.usage(statement);
            return None;
        };
        if value.fract() != 0.0 || value.abs() > 10_000.0 {
            self.diagnostics.push(Diagnostic::error(
                "rule/number",
                order.span,
                "the order of a step is a whole number up to 10000",
            ));
            return None;
        }
        let mut blanks = Vec::new();
        for pair in rest.chunks(2) {
            match (pair.first().and_then(Expr::as_word), pair.get(1).and_then(Expr::as_text)) {
                (Some("blank"), Some(label)) => blanks.push(label.to_owned()),
                _ => {
                    self.usage(statement);
                    return None;
                }
            }
        }
        let text = self.template(written, text.span)?;
        Some(Verdict::Step { phase, order: *value as i32, text, blanks })
    }

    fn question(&mut self, statement: &Statement, arguments: &[Expr]) -> Option<Verdict> {
        let [when, text] = arguments else {
            self.usage(statement);
            return None;
        };
        let first = |word: &str| Some(word == "first").filter(|first| *first || word == "open");
        let first = self.closed(when, first, vec!["open", "first"])?;
        let Some(written) = text.as_text() else {
            self.usage(statement);
            return None;
        };
        Some(Verdict::Question { first, text: self.template(written, text.span)? })
    }

    fn withhold(&mut self, statement: &Statement, arguments: &[Expr]) -> Option<Verdict> {
        let [from, text] = arguments else {
            self.usage(statement);
            return None;
        };
        let (Some(of), Some(written)) = (from.as_text(), text.as_text()) else {
            self.usage(statement);
            return None;
        };
        Some(Verdict::Withhold { from: self.template(of, from.span)?, text: self.template(written, text.span)? })
    }

    fn caution(&mut self, statement: &Statement, arguments: &[Expr]) -> Option<Verdict> {
        let [kind, text] = arguments else {
            self.usage(statement);
            return None;
        };
        let kind = self.closed(kind, CautionKind::parse, CautionKind::ALL.iter().map(|k| k.word()).collect())?;
        let Some(written) = text.as_text() else {
            self.usage(statement);
            return None;
        };
        Some(Verdict::Caution { kind, text: self.template(written, text.span)? })
    }

    /// Reads a word of a closed set.
    pub(super) fn closed<T>(&mut self, expr: &Expr, parse: fn(&str) -> Option<T>, known: Vec<&str>) -> Option<T> {
        let word = expr.as_word().unwrap_or("");
        let found = parse(word);
        if found.is_none() {
            let near = nearest(word, known.iter().copied());
            let mut hint = format!("one of {}", known.join(", "));
            if let Some(near) = near {
                hint = format!("did you mean `{near}`? ({hint})");
            }
            self.diagnostics.push(
                Diagnostic::error("rule/unknown-word", expr.span, format!("{} does not stand here", expr.noun()))
                    .hint(hint),
            );
        }
        found
    }

    pub(in crate::rulebook) fn source(
        &mut self,
        statement: &Statement,
        arguments: &[Expr],
    ) -> Option<(&'static str, Vec<String>)> {
        let Some((kind, keys)) = arguments.split_first() else {
            self.usage(statement);
            return None;
        };
        let kind =
            self.closed(kind, |word| SOURCE_KINDS.iter().find(|k| **k == word).copied(), SOURCE_KINDS.to_vec())?;
        let mut citations = Vec::new();
        for key in keys {
            match &key.kind {
                ExprKind::Text(text) => citations.push(text.clone()),
                ExprKind::Name(parts) => citations.push(join(parts)),
                ExprKind::Comma => {}
                _ => {
                    self.usage(statement);
                    return None;
                }
            }
        }
        if citations.is_empty() && matches!(kind, "standard" | "handbook" | "paper" | "library") {
            self.diagnostics.push(
                Diagnostic::error("rule/no-citation", statement.head, format!("`{kind}` without a citation"))
                    .hint("write the key or title behind it; without one it is `common-practice` or `from-memory`"),
            );
            return None;
        }
        Some((kind, citations))
    }
}

/// Joins an expression written over several lines into one.
pub(in crate::rulebook) fn tidy(written: &str) -> String {
    written.split_whitespace().collect::<Vec<_>>().join(" ")
}
