//! What each word of a text is, for colours: by its own shape and place, so that a half-written text keeps them.

use std::collections::BTreeSet;
use std::sync::LazyLock;

use lsp_types::{SemanticToken, SemanticTokenType};

use super::documents::Document;
use super::names::{Name, Of};
use super::positions::Encoding;
use crate::semantics::highlighting::clause_words;

/// The kinds of token, by the number they are sent as.
pub(super) const LEGEND: [SemanticTokenType; 7] = [
    SemanticTokenType::KEYWORD,
    SemanticTokenType::STRING,
    SemanticTokenType::NUMBER,
    SemanticTokenType::COMMENT,
    SemanticTokenType::ENUM_MEMBER,
    SemanticTokenType::VARIABLE,
    SemanticTokenType::OPERATOR,
];
const KEYWORD: u32 = 0;
const STRING: u32 = 1;
const NUMBER: u32 = 2;
const COMMENT: u32 = 3;
const WORD: u32 = 4;
const VARIABLE: u32 = 5;
const OPERATOR: u32 = 6;

/// Single words of the patterns.
static WORDS: LazyLock<BTreeSet<&'static str>> =
    LazyLock::new(|| clause_words().into_iter().flat_map(str::split_whitespace).collect());

/// Returns the tokens of a document, each told by how far it is from the one before.
pub(super) fn of(document: &Document, names: &[Name], encoding: Encoding) -> Vec<SemanticToken> {
    let constants: BTreeSet<&str> = names.iter().filter(|n| n.of == Of::Constant).map(|n| n.name.as_str()).collect();
    let text: &str = &document.text;
    let (mut line, mut column) = (0, 0);
    let mut tokens = Vec::new();
    for (range, kind) in scan(text, &constants) {
        let at = document.lines.position(text, range.start, encoding);
        let delta_line = at.line - line;
        let delta_start = if delta_line == 0 { at.character - column } else { at.character };
        let length = encoding.length(text.get(range).unwrap_or("")) as u32;
        (line, column) = (at.line, at.character);
        tokens.push(SemanticToken { delta_line, delta_start, length, token_type: kind, token_modifiers_bitset: 0 });
    }
    tokens
}

/// Returns the tokens of a text by their bytes, in order.
fn scan(text: &str, constants: &BTreeSet<&str>) -> Vec<(std::ops::Range<usize>, u32)> {
    let mut tokens = Vec::new();
    let mut begins = true;
    let mut at = 0;
    while let Some(c) = text.get(at..).and_then(|rest| rest.chars().next()) {
        let rest = text.get(at..).unwrap_or("");
        let length =
            |take: &dyn Fn(char) -> bool| rest.chars().take_while(|c| take(*c)).map(char::len_utf8).sum::<usize>();
        let (len, kind) = if rest.starts_with("//") {
            (length(&|c| c != '\n' && c != '\r'), Some(COMMENT))
        } else if c == '"' {
            (quoted(rest), Some(STRING))
        } else if c.is_ascii_digit() {
            (number(rest), Some(NUMBER))
        } else if c.is_alphabetic() || c == '_' || c == '°' || c == '%' {
            let len = length(&|c| c.is_alphanumeric() || "_-.°%²³".contains(c)).max(c.len_utf8());
            let word = rest.get(..len).unwrap_or("");
            let kind = match word {
                _ if begins => KEYWORD,
                "and" | "or" | "not" | "in" | "is" | "known" | "unknown" => OPERATOR,
                _ if constants.contains(word) => VARIABLE,
                _ if WORDS.contains(word) => WORD,
                // A unit behind its number, a zone such as H7.
                _ if crate::quantity::parse_unit(word).is_some() => NUMBER,
                _ => VARIABLE,
            };
            (len, Some(kind))
        } else {
            (c.len_utf8(), None)
        };
        if let Some(kind) = kind {
            tokens.push((at..at + len, kind));
        }
        begins = match c {
            '\n' | '\r' | ';' | '{' | '}' => true,
            c if c.is_whitespace() => begins,
            _ => begins && kind == Some(COMMENT),
        };
        at += len;
    }
    tokens
}

/// Returns how long a text in quotes is: to its closing quote or the end of its line.
fn quoted(rest: &str) -> usize {
    let mut escaped = true;
    for (at, c) in rest.char_indices() {
        match c {
            '\n' | '\r' => return at,
            '"' if !escaped => return at + 1,
            _ => escaped = c == '\\' && !escaped,
        }
        if at == 0 {
            escaped = false;
        }
    }
    rest.len()
}

fn number(rest: &str) -> usize {
    let mut len = 0;
    let bytes = rest.as_bytes();
    while let Some(b) = bytes.get(len) {
        let joins = matches!(b, b'.' | b',' | b':' | b'-') && bytes.get(len + 1).is_some_and(u8::is_ascii_digit);
        // `5 .. 30` is two numbers, `5..30` too.
        if !(b.is_ascii_digit() || joins && bytes.get(len + 1) != Some(&b'.')) {
            break;
        }
        len += 1;
    }
    len
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_are_told_apart_by_shape_and_place() {
        let text =
            "part \"a\\\"b\" { air -25 °C .. 30 °C // cold\n  sun direct for 5 years; let gust = 3 N\n  load \"half";
        let constants = BTreeSet::from(["gust"]);
        let told: Vec<(&str, u32)> = scan(text, &constants).into_iter().map(|(r, k)| (&text[r], k)).collect();
        assert_eq!(
            told,
            [
                ("part", KEYWORD),
                ("\"a\\\"b\"", STRING),
                ("air", KEYWORD),
                ("25", NUMBER),
                ("°C", NUMBER),
                ("30", NUMBER),
                ("°C", NUMBER),
                ("// cold", COMMENT),
                ("sun", KEYWORD),
                ("direct", WORD),
                ("for", WORD),
                ("5", NUMBER),
                ("years", NUMBER),
                ("let", KEYWORD),
                ("gust", VARIABLE),
                ("3", NUMBER),
                ("N", NUMBER),
                ("load", KEYWORD),
                ("\"half", STRING),
            ]
        );
    }
}
