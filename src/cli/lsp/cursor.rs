//! Where in a half-written text somebody is typing: in which block, behind which words. Nothing here asks that the text can be read.

use crate::semantics::form::{Body, Context, Entry};
use crate::semantics::vocabulary;

/// What stands around the place where somebody types.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Cursor {
    /// The keywords of the blocks that are open there, the outermost first.
    pub blocks: Vec<Statement>,
    /// The statement begun there, up to the place.
    pub words: Vec<String>,
    /// The last of these is still being written: nothing stands between it and the place.
    pub partial: bool,
    /// A text in quotes is open there; it is the last of the words.
    pub in_text: bool,
    /// Behind `//`.
    pub in_comment: bool,
}

/// A statement whose block is open: its keyword and its first argument.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Statement {
    pub keyword: String,
    pub name: String,
}

impl Cursor {
    /// Looks a text over up to a place.
    pub(super) fn at(text: &str, offset: usize) -> Self {
        let mut cursor =
            Self { blocks: Vec::new(), words: Vec::new(), partial: false, in_text: false, in_comment: false };
        let before = text.get(..offset.min(text.len())).unwrap_or("");
        let mut word = String::new();
        let mut depth = 0_usize;
        let mut chars = before.chars().peekable();
        while let Some(c) = chars.next() {
            if cursor.in_comment && c != '\n' {
                continue;
            }
            cursor.in_comment = false;
            if cursor.in_text {
                match c {
                    '\\' => word.extend(chars.next()),
                    '"' | '\n' => {
                        cursor.in_text = false;
                        cursor.words.push(std::mem::take(&mut word));
                    }
                    c => word.push(c),
                }
                continue;
            } else if c == '/' && chars.peek() == Some(&'/') {
                cursor.end(&mut word);
                cursor.in_comment = true;
                continue;
            }
            match c {
                '"' => {
                    cursor.end(&mut word);
                    cursor.in_text = true;
                }
                '{' => {
                    cursor.end(&mut word);
                    let mut words = std::mem::take(&mut cursor.words).into_iter();
                    let keyword = words.next().unwrap_or_default();
                    cursor.blocks.push(Statement { keyword, name: words.next().unwrap_or_default() });
                    depth = 0;
                }
                '}' => {
                    cursor.end(&mut word);
                    cursor.words.clear();
                    cursor.blocks.pop();
                }
                '(' | '[' => {
                    cursor.end(&mut word);
                    depth += 1;
                }
                ')' | ']' => {
                    cursor.end(&mut word);
                    depth = depth.saturating_sub(1);
                }
                '\n' | ';' if depth == 0 => {
                    cursor.end(&mut word);
                    cursor.words.clear();
                }
                c if c.is_whitespace() || c == ',' => cursor.end(&mut word),
                c => word.push(c),
            }
        }
        cursor.partial = !word.is_empty() || cursor.in_text;
        if cursor.partial {
            cursor.words.push(word);
        }
        cursor
    }

    fn end(&mut self, word: &mut String) {
        if !word.is_empty() {
            self.words.push(std::mem::take(word));
        }
    }

    /// Returns the context the open blocks make; none where one of them is no block of the language.
    pub(super) fn context(&self) -> Option<Context> {
        self.blocks.iter().try_fold(Context::File, |context, block| {
            match vocabulary::find(context, &block.keyword)?.body {
                Body::Block(inner) | Body::InlineOrBlock(inner) => Some(inner),
                Body::None => None,
            }
        })
    }

    /// Returns the words that are written to their end.
    pub(super) fn done(&self) -> &[String] {
        let end = self.words.len().saturating_sub(usize::from(self.partial));
        self.words.get(..end).unwrap_or(&[])
    }

    /// Returns the statement that is being written, and of those that share its line the last; none before its keyword is done.
    pub(super) fn entries(&self) -> Option<(&'static Entry, &'static Entry)> {
        let context = self.context()?;
        let done = self.done();
        let entry = vocabulary::find(context, done.first()?)?;
        let shared = match entry.body {
            Body::InlineOrBlock(inner) => Some(inner),
            _ => Some(context).filter(|c| c.shares_lines()),
        };
        let last = shared.and_then(|c| done.iter().skip(1).rev().find_map(|word| vocabulary::find(c, word)));
        Some((entry, last.unwrap_or(entry)))
    }

    /// Returns the name of the part or profile that is open.
    pub(super) fn block(&self) -> &str {
        let of = self.blocks.iter().find(|b| matches!(b.keyword.as_str(), "part" | "profile"));
        of.map_or("", |b| b.name.as_str())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(text: &str) -> Cursor {
        let offset = text.find('|').unwrap();
        Cursor::at(&text.replace('|', ""), offset)
    }

    #[test]
    fn blocks_and_words_around_a_place() {
        let cursor = at("part \"a b\" is x {\n  // load {\n  load \"gust\" { force 140 N tow|");
        let keywords: Vec<&str> = cursor.blocks.iter().map(|b| b.keyword.as_str()).collect();
        assert_eq!((keywords, cursor.block()), (vec!["part", "load"], "a b"));
        assert_eq!((cursor.done(), cursor.partial), (&["force", "140", "N"].map(String::from)[..], true));
        assert_eq!(cursor.context(), Some(Context::Load));
    }

    #[test]
    fn closed_blocks_and_ended_statements_are_behind_it() {
        let cursor = at("part \"a\" { service { air 5 °C .. 30 °C }; fit \"x\" bore 8 mm H9 co|\n}");
        assert_eq!(cursor.context(), Some(Context::Part));
        let (entry, last) = cursor.entries().unwrap();
        assert_eq!((entry.keyword, last.keyword), ("fit", "bore"));
        assert!(at("quantity 3 // how ma|ny").in_comment);
    }

    #[test]
    fn an_open_text_is_seen() {
        let cursor = at("part \"a\" { load \"l\" { at face \"se|");
        assert!(cursor.in_text);
        assert_eq!(cursor.words, ["at", "face", "se"]);
    }
}
