//! Texts with expressions in braces: `"purge at {material.print_temperature}"`.

use std::collections::BTreeMap;

use super::parse_expression;
use super::tree::Expr;
use crate::diag::{Diagnostic, Span};

/// Expressions of texts that were read beforehand, by the place between their braces.
pub type Ready = BTreeMap<Span, Expr>;

/// A stretch of a text: plain, or an expression whose value is to be printed.
#[derive(Debug, Clone)]
pub enum Piece {
    /// What stands outside braces, doubled braces undone.
    Plain(String),
    /// What stood between braces, to be computed and printed in its place.
    Value(Expr),
}

/// A stretch of a text, its expression not read yet.
enum Stretch<'t> {
    Plain(String),
    /// What stands between braces, and where.
    Written(&'t str, Span),
}

/// Splits a text into pieces; `span` is the place of the text with its quotes. `{{` and `}}` print one brace.
///
/// An expression that is ready is not read again.
pub fn pieces(text: &str, span: Span, ready: &Ready) -> Result<Vec<Piece>, Diagnostic> {
    let read = |stretch| match stretch {
        Stretch::Plain(plain) => Ok(Piece::Plain(plain)),
        Stretch::Written(written, at) => match ready.get(&at) {
            Some(expr) => Ok(Piece::Value(expr.clone())),
            None => parse_expression(at.source, written, at.start as usize).map(Piece::Value),
        },
    };
    let mut result = Vec::new();
    for stretch in stretches(text, span) {
        result.push(read(stretch?)?);
    }
    Ok(result)
}

/// Returns the expressions in a text with the places between their braces.
pub fn expressions(text: &str, span: Span) -> Result<Vec<(Span, Expr)>, Diagnostic> {
    let mut result = Vec::new();
    for stretch in stretches(text, span) {
        if let Stretch::Written(written, at) = stretch? {
            result.push((at, parse_expression(at.source, written, at.start as usize)?));
        }
    }
    Ok(result)
}

fn stretches(text: &str, span: Span) -> Vec<Result<Stretch<'_>, Diagnostic>> {
    let mut result = Vec::new();
    let mut plain = String::new();
    let mut chars = text.char_indices().peekable();
    while let Some((i, c)) = chars.next() {
        match c {
            '{' | '}' if chars.peek().is_some_and(|(_, next)| *next == c) => {
                chars.next();
                plain.push(c);
            }
            '{' => {
                let rest = &text[i + 1..];
                let Some(length) = rest.find('}') else {
                    let error = Diagnostic::error("text/brace", span, "a `{` in a text that is never closed");
                    result.push(Err(error.hint("write `{name}` for a value, `{{` for a brace")));
                    return result;
                };
                if !plain.is_empty() {
                    result.push(Ok(Stretch::Plain(std::mem::take(&mut plain))));
                }
                // The offset is right as long as no escape stands before it in the text; it only places a message.
                let offset = span.start as usize + 1 + i + 1;
                result.push(Ok(Stretch::Written(&rest[..length], Span::new(span.source, offset, offset + length))));
                while chars.peek().is_some_and(|(j, _)| *j <= i + 1 + length) {
                    chars.next();
                }
            }
            _ => plain.push(c),
        }
    }
    if !plain.is_empty() {
        result.push(Ok(Stretch::Plain(plain)));
    }
    result
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diag::SourceId;

    #[test]
    fn splits_values_from_words() {
        let span = Span::new(SourceId(0), 0, 40);
        let p = pieces("purge at {max(a.b, 200 °C)} now {{x}}", span, &Ready::new()).unwrap();
        assert_eq!(p.len(), 3);
        assert!(matches!(&p[1], Piece::Value(_)));
        assert!(matches!(&p[2], Piece::Plain(t) if t == " now {x}"));
        assert!(pieces("open {a", span, &Ready::new()).is_err());
        assert!(pieces("bad {a +}", span, &Ready::new()).is_err());
    }
}
