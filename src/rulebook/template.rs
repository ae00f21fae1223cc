//! Texts with values in braces, checked once and filled in many times.

use super::code::{Code, Context, show_percent};
use super::lower::Lower;
use super::names::Type;
use crate::diag::{Diagnostic, Span};
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
    Plain(String),
    Value(Type, Code),
    /// `{percent(x)}`
    Percent(Code),
}

impl Template {
    /// Fills in the values; what is unknown is printed as "(not known)".
    pub fn fill<'s>(&'s self, cx: &mut Context<'s, '_>) -> String {
        let mut text = String::with_capacity(self.written.len() + 16);
        for part in &self.parts {
            match part {
                Part::Plain(plain) => text.push_str(plain),
                Part::Value(kind, code) => text.push_str(&code.eval(cx).show(*kind)),
                Part::Percent(code) => text.push_str(&show_percent(code.eval(cx))),
            }
        }
        text
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
                Piece::Plain(plain) => parts.push(Part::Plain(plain)),
                Piece::Value(expr) => {
                    if let ExprKind::Call { name, arguments } = &expr.kind
                        && let ([word], [share]) = (name.as_slice(), arguments.as_slice())
                        && word.text == "percent"
                    {
                        parts.push(Part::Percent(self.quantity(share, crate::quantity::Dimension::NONE)?));
                        continue;
                    }
                    let (kind, code) = self.value(&expr)?;
                    parts.push(Part::Value(kind, code));
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
