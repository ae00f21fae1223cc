//! Texts with expressions in braces: `"purge at {material.print_temperature}"`.

use super::parse_expression;
use super::tree::Expr;
use crate::diag::{Diagnostic, Span};

/// A stretch of a text: plain, or an expression whose value is to be printed.
#[derive(Debug, Clone)]
pub enum Piece {
    Plain(String),
    Value(Expr),
}

/// Splits a text into pieces; `span` is the place of the text with its quotes. `{{` and `}}` print one brace.
pub fn pieces(text: &str, span: Span) -> Result<Vec<Piece>, Diagnostic> {
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
                    return Err(Diagnostic::error("text/brace", span, "a `{` in a text that is never closed")
                        .hint("write `{name}` for a value, `{{` for a brace"));
                };
                if !plain.is_empty() {
                    result.push(Piece::Plain(std::mem::take(&mut plain)));
                }
                // The offset is right as long as no escape stands before it in the text; it only places a message.
                let offset = span.start as usize + 1 + i + 1;
                result.push(Piece::Value(parse_expression(span.source, &rest[..length], offset)?));
                while chars.peek().is_some_and(|(j, _)| *j <= i + 1 + length) {
                    chars.next();
                }
            }
            _ => plain.push(c),
        }
    }
    if !plain.is_empty() {
        result.push(Piece::Plain(plain));
    }
    Ok(result)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diag::SourceId;

    #[test]
    fn splits_values_from_words() {
        let span = Span::new(SourceId(0), 0, 40);
        let p = pieces("purge at {max(a.b, 200 °C)} now {{x}}", span).unwrap();
        assert_eq!(p.len(), 3);
        assert!(matches!(&p[1], Piece::Value(_)));
        assert!(matches!(&p[2], Piece::Plain(t) if t == " now {x}"));
        assert!(pieces("open {a", span).is_err());
        assert!(pieces("bad {a +}", span).is_err());
    }
}
