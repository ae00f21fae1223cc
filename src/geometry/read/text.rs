//! Words and numbers of text formats, with line numbers.

/// Walks the bytes of a text file word by word, counting lines.
pub(super) struct Words<'a> {
    bytes: &'a [u8],
    at: usize,
    /// The 1-based line of the word last returned.
    pub line: usize,
    next_line: usize,
}

impl<'a> Words<'a> {
    pub fn new(bytes: &'a [u8]) -> Self {
        Self { bytes, at: 0, line: 1, next_line: 1 }
    }

    /// Returns how many bytes are still unread.
    pub fn bytes_left(&self) -> usize {
        self.bytes.len() - self.at
    }

    /// Returns the rest of the current line, trimmed, and moves to its end.
    pub fn rest_of_line(&mut self) -> &'a [u8] {
        let start = self.at;
        while self.bytes.get(self.at).is_some_and(|&b| b != b'\n' && b != b'\r') {
            self.at += 1;
        }
        self.bytes[start..self.at].trim_ascii()
    }
}

impl<'a> Iterator for Words<'a> {
    type Item = &'a [u8];

    #[inline]
    fn next(&mut self) -> Option<&'a [u8]> {
        while let Some(&b) = self.bytes.get(self.at) {
            if !is_blank(b) {
                break;
            }
            // A lone carriage return ends a line too; the pair CR LF counts once, by its LF.
            let lone_return = b == b'\r' && self.bytes.get(self.at + 1) != Some(&b'\n');
            self.next_line += usize::from(b == b'\n' || lone_return);
            self.at += 1;
        }
        let start = self.at;
        while self.bytes.get(self.at).is_some_and(|&b| !is_blank(b)) {
            self.at += 1;
        }
        self.line = self.next_line;
        (self.at > start).then(|| &self.bytes[start..self.at])
    }
}

#[inline]
fn is_blank(b: u8) -> bool {
    matches!(b, b' ' | b'\t'..=b'\r')
}

/// Splits into lines at LF, CR LF or CR; yields the 1-based number and the line.
pub(super) fn lines(bytes: &[u8]) -> impl Iterator<Item = (usize, &[u8])> {
    let mut rest = Some(bytes);
    let mut number = 0;
    std::iter::from_fn(move || {
        let current = rest.take().filter(|r| !r.is_empty())?;
        number += 1;
        let end = current.iter().position(|&b| b == b'\n' || b == b'\r').unwrap_or(current.len());
        let skip = if current[end..].starts_with(b"\r\n") { 2 } else { 1 };
        rest = current.get(end + skip..);
        Some((number, &current[..end]))
    })
}

/// Reads a decimal number; `nan` and `inf` come back as such.
#[inline]
pub(super) fn number(word: &[u8]) -> Option<f64> {
    std::str::from_utf8(word).ok()?.parse().ok()
}

/// Returns a word for a message: at most 40 characters, unprintable bytes replaced.
pub(super) fn shown(word: &[u8]) -> String {
    let text: String =
        String::from_utf8_lossy(word).chars().map(|c| if c.is_control() { '\u{fffd}' } else { c }).take(41).collect();
    if text.chars().count() > 40 { text.chars().take(40).chain(['…']).collect() } else { text }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_are_counted_whatever_ends_them() {
        let mut words = Words::new(b"a\r\nb\rc\n\nd");
        let seen: Vec<_> = std::iter::from_fn(|| words.next().map(|w| (w[0], words.line))).collect();
        assert_eq!(seen, [(b'a', 1), (b'b', 2), (b'c', 3), (b'd', 5)]);
        let split: Vec<_> = lines(b"a\r\nb\rc\n\nd").map(|(n, l)| (n, l.len())).collect();
        assert_eq!(split, [(1, 1), (2, 1), (3, 1), (4, 0), (5, 1)]);
    }
}
