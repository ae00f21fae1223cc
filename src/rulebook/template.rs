//! Texts with values in braces, checked once and filled in many times.

use std::sync::Arc;

use super::code::{Code, Context};
use super::filled::{Filled, FilledPart};
use super::lower::Lower;
use super::names::Type;
use crate::diag::{Diagnostic, Span};
use crate::quantity::Dimension;
use crate::syntax::text::{Piece, pieces};
use crate::syntax::tree::ExprKind;

/// A text of a rule.
#[derive(Debug, Clone, PartialEq)]
pub struct Template {
    /// As written.
    pub written: String,
    parts: Vec<Part>,
}

#[derive(Debug, Clone, PartialEq)]
enum Part {
    Plain(Arc<str>),
    /// The name of the fact where it stands by itself, and what to evaluate.
    Value(Option<Arc<str>>, Type, Code),
    /// `{percent(x)}`
    Percent(Code),
}

impl Template {
    /// Fills in the values, as values.
    pub fn fill<'s>(&'s self, cx: &mut Context<'s, '_>) -> Filled {
        let filled = |part: &'s Part| match part {
            Part::Plain(plain) => FilledPart::Plain(Arc::clone(plain)),
            Part::Value(name, kind, code) => {
                FilledPart::Value { name: name.clone(), value: code.eval(cx).to_value(*kind) }
            }
            Part::Percent(code) => FilledPart::Percent(code.eval(cx).to_value(Type::Quantity(Dimension::NONE))),
        };
        Filled { parts: self.parts.iter().map(filled).collect() }
    }
}

impl Lower<'_> {
    /// Checks a text and the expressions in it.
    pub fn template(&mut self, text: &str, span: Span) -> Option<Template> {
        let found = match pieces(text, span, self.ready) {
            Ok(found) => found,
            Err(diagnostic) => {
                self.diagnostics.push(diagnostic);
                return None;
            }
        };
        let mut parts = Vec::new();
        for piece in found {
            match piece {
                Piece::Plain(plain) => parts.push(Part::Plain(Arc::from(plain))),
                Piece::Value(expr) => {
                    if let ExprKind::Call { name, arguments } = &expr.kind
                        && let ([word], [share]) = (name.as_slice(), arguments.as_slice())
                        && word.text == "percent"
                    {
                        parts.push(Part::Percent(self.quantity(share, Dimension::NONE)?));
                        continue;
                    }
                    let (kind, code) = self.value(&expr)?;
                    let name = match &code {
                        Code::Field(place) => Some(Arc::from(place.name.as_str())),
                        _ => None,
                    };
                    parts.push(Part::Value(name, kind, code));
                }
            }
        }
        if text.trim().is_empty() {
            self.diagnostics.push(Diagnostic::error("rule/empty-text", span, "an empty text says nothing"));
            return None;
        }
        Some(Template { written: text.to_owned(), parts })
    }
}
