//! Places as the protocol counts them: lines from 0, and within a line code units of UTF-16, or bytes where the client takes
//! UTF-8.

use lsp_types::{Position, PositionEncodingKind, Range};

/// What a column counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Encoding {
    Utf8,
    Utf16,
}

impl Encoding {
    /// Returns what is agreed with a client: UTF-8 where it offers that, else UTF-16, which all have.
    pub(super) fn agreed(offered: Option<&[PositionEncodingKind]>) -> Self {
        let utf8 = offered.is_some_and(|kinds| kinds.contains(&PositionEncodingKind::UTF8));
        if utf8 { Self::Utf8 } else { Self::Utf16 }
    }

    /// Returns how the protocol names it.
    pub(super) fn kind(self) -> PositionEncodingKind {
        match self {
            Self::Utf8 => PositionEncodingKind::UTF8,
            Self::Utf16 => PositionEncodingKind::UTF16,
        }
    }

    /// Returns how long a text is in this count.
    pub(super) fn length(self, text: &str) -> usize {
        match self {
            Self::Utf8 => text.len(),
            Self::Utf16 => text.encode_utf16().count(),
        }
    }
}

/// Where the lines of a text begin; `\n`, `\r\n` and a lone `\r` end one.
#[derive(Debug, Clone)]
pub(super) struct Lines {
    starts: Vec<usize>,
}

impl Lines {
    pub(super) fn of(text: &str) -> Self {
        let bytes = text.as_bytes();
        let ends = |at: &usize| match bytes.get(*at) {
            Some(b'\n') => true,
            Some(b'\r') => bytes.get(at + 1) != Some(&b'\n'),
            _ => false,
        };
        let starts = std::iter::once(0).chain((0..bytes.len()).filter(ends).map(|at| at + 1)).collect();
        Self { starts }
    }

    /// Returns the bytes of a line, its end left out.
    pub(super) fn line(&self, text: &str, line: usize) -> std::ops::Range<usize> {
        let Some(&start) = self.starts.get(line) else { return text.len()..text.len() };
        let end = self.starts.get(line + 1).copied().unwrap_or(text.len());
        let bare = text.get(start..end).unwrap_or("").trim_end_matches(['\n', '\r']);
        start..start + bare.len()
    }

    /// Returns the byte a position means; one past a line's end is that end, one past the text the text's end.
    pub(super) fn offset(&self, text: &str, at: Position, encoding: Encoding) -> usize {
        let line = self.line(text, at.line as usize);
        let (mut left, inside) = (at.character as usize, text.get(line.clone()).unwrap_or(""));
        for (byte, c) in inside.char_indices() {
            let wide = match encoding {
                Encoding::Utf8 => c.len_utf8(),
                Encoding::Utf16 => c.len_utf16(),
            };
            if left < wide {
                return line.start + byte;
            }
            left -= wide;
        }
        line.end
    }

    /// Returns the position of a byte; one within a character is that character's.
    pub(super) fn position(&self, text: &str, offset: usize, encoding: Encoding) -> Position {
        let mut offset = offset.min(text.len());
        while !text.is_char_boundary(offset) {
            offset -= 1;
        }
        let line = self.starts.partition_point(|&start| start <= offset).max(1) - 1;
        let start = self.starts.get(line).copied().unwrap_or(0);
        let column = encoding.length(text.get(start..offset).unwrap_or(""));
        Position::new(line as u32, column as u32)
    }

    /// Returns the range of some bytes.
    pub(super) fn range(&self, text: &str, bytes: std::ops::Range<usize>, encoding: Encoding) -> Range {
        let at = |offset| self.position(text, offset, encoding);
        Range::new(at(bytes.start), at(bytes.end.max(bytes.start)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_count_what_was_agreed() {
        let text = "a\n𝄞µm x";
        let lines = Lines::of(text);
        let x = text.find('x').unwrap();
        assert_eq!(lines.position(text, x, Encoding::Utf16), Position::new(1, 5));
        assert_eq!(lines.position(text, x, Encoding::Utf8), Position::new(1, 8));
        for encoding in [Encoding::Utf16, Encoding::Utf8] {
            for (offset, _) in text.char_indices() {
                assert_eq!(lines.offset(text, lines.position(text, offset, encoding), encoding), offset);
            }
        }
    }

    #[test]
    fn every_line_end_ends_a_line_once() {
        let text = "a\rb\r\nc\nd";
        let lines = Lines::of(text);
        let line = |n| &text[lines.line(text, n)];
        assert_eq!([line(0), line(1), line(2), line(3)], ["a", "b", "c", "d"]);
        assert_eq!(lines.position(text, text.len(), Encoding::Utf16), Position::new(3, 1));
    }

    #[test]
    fn what_lies_outside_is_the_nearest_place() {
        let text = "ab\ncd";
        let lines = Lines::of(text);
        assert_eq!(lines.offset(text, Position::new(0, 99), Encoding::Utf16), 2);
        assert_eq!(lines.offset(text, Position::new(9, 0), Encoding::Utf16), 5);
        assert_eq!(lines.position("µ", 1, Encoding::Utf8), Position::new(0, 0));
    }
}
