//! The trees of the built-in files in a compact form, written when the program is built and read when it starts.
//!
//! Reading YAML is four fifths of the start-up time, and the built-in texts cannot change after the build. So the build
//! script reads them once and leaves, for each file, where every key and value lies in its text. The texts stay in
//! the program: reasons point into them. Shared with the build script, hence nothing here but the format.
//!
//! ```text
//! index  = count { name tree-length tree }
//! tree   = tag start-delta length [ text | count { key tree } | count { tree } ]
//! key    = tag start-delta length [ text ]
//! number = LEB128; deltas are zigzag against the start before
//! ```

use super::node::{Content, Key, Node};
use crate::diag::{SourceId, Span};
use crate::leb128::{Bytes, put, put_bytes, put_signed};

const EMPTY: u8 = 0;
/// The text is what lies at the place.
const SLICE: u8 = 1;
/// The text differs from what lies at the place (it was unescaped) and follows.
const TEXT: u8 = 2;
const LIST: u8 = 3;
const MAP: u8 = 4;

/// Deeper than any tree the reader lets through.
const MAX_DEPTH: u32 = 64;

/// Appends a file's tree to an index.
pub fn write(index: &mut Vec<u8>, name: &str, text: &str, tree: &Node) {
    let mut writer = Writer { out: Vec::new(), text, last: 0 };
    writer.node(tree);
    put_bytes(index, name.as_bytes());
    put_bytes(index, &writer.out);
}

struct Writer<'a> {
    out: Vec<u8>,
    text: &'a str,
    last: u32,
}

impl Writer<'_> {
    fn node(&mut self, node: &Node) {
        match &node.content {
            Content::Empty => self.head(EMPTY, node.at),
            Content::Scalar(text) => self.scalar(text, node.at),
            Content::List(items) => {
                self.head(LIST, node.at);
                put(&mut self.out, items.len() as u64);
                items.iter().for_each(|item| self.node(item));
            }
            Content::Map(entries) => {
                self.head(MAP, node.at);
                put(&mut self.out, entries.len() as u64);
                for (key, value) in entries {
                    self.scalar(&key.text, key.at);
                    self.node(value);
                }
            }
        }
    }

    fn scalar(&mut self, text: &str, at: Span) {
        if self.text.get(at.start as usize..at.end as usize) == Some(text) {
            self.head(SLICE, at);
        } else {
            self.head(TEXT, at);
            put_bytes(&mut self.out, text.as_bytes());
        }
    }

    fn head(&mut self, tag: u8, at: Span) {
        self.out.push(tag);
        put_signed(&mut self.out, i64::from(at.start) - i64::from(self.last));
        put(&mut self.out, u64::from(at.end.saturating_sub(at.start)));
        self.last = at.start;
    }
}

/// Returns the tree of the file of that name, its places in `source`; nothing where the index does not hold it.
pub fn read(index: &[u8], name: &str, text: &str, source: SourceId) -> Option<Node> {
    let mut files = Bytes(index);
    while !files.is_empty() {
        let (found, tree) = (files.counted()?, files.counted()?);
        if found == name.as_bytes() {
            return Reader { bytes: Bytes(tree), text, source, last: 0 }.node(0);
        }
    }
    None
}

struct Reader<'a> {
    bytes: Bytes<'a>,
    text: &'a str,
    source: SourceId,
    last: u32,
}

impl Reader<'_> {
    fn node(&mut self, depth: u32) -> Option<Node> {
        if depth > MAX_DEPTH {
            return None;
        }
        let (tag, at) = self.head()?;
        let content = match tag {
            EMPTY => Content::Empty,
            LIST => {
                let count = self.bytes.length()?;
                Content::List((0..count).map(|_| self.node(depth + 1)).collect::<Option<_>>()?)
            }
            MAP => {
                let count = self.bytes.length()?;
                Content::Map((0..count).map(|_| self.entry(depth + 1)).collect::<Option<_>>()?)
            }
            _ => Content::Scalar(self.scalar(tag, at)?),
        };
        Some(Node { content, at })
    }

    fn entry(&mut self, depth: u32) -> Option<(Key, Node)> {
        let (tag, at) = self.head()?;
        let text = self.scalar(tag, at)?;
        Some((Key { text, at }, self.node(depth)?))
    }

    fn scalar(&mut self, tag: u8, at: Span) -> Option<String> {
        match tag {
            SLICE => self.text.get(at.start as usize..at.end as usize).map(str::to_owned),
            TEXT => std::str::from_utf8(self.bytes.counted()?).ok().map(str::to_owned),
            _ => None,
        }
    }

    fn head(&mut self) -> Option<(u8, Span)> {
        let tag = self.bytes.byte()?;
        let delta = self.bytes.signed()?;
        let start = u32::try_from(i64::from(self.last).checked_add(delta)?).ok()?;
        let end = start.checked_add(u32::try_from(self.bytes.number()?).ok()?)?;
        if end as usize > self.text.len() {
            return None;
        }
        self.last = start;
        Some((tag, Span { source: self.source, start, end }))
    }
}

#[cfg(test)]
mod tests {
    use super::super::node::parse_text;
    use super::*;

    const TEXT_IN: &str = "a: 0.40\nb: { typ: 60 °C, low: [1, 2], x: \"q\\tr\" }\nc:\n";

    #[test]
    fn what_is_written_is_read_again() {
        let tree = parse_text(TEXT_IN, SourceId(3)).unwrap();
        let mut index = Vec::new();
        write(&mut index, "other.yaml", "x: y", &parse_text("x: y", SourceId(0)).unwrap());
        write(&mut index, "a.yaml", TEXT_IN, &tree);
        assert_eq!(read(&index, "a.yaml", TEXT_IN, SourceId(3)).unwrap(), tree);
        assert_eq!(read(&index, "b.yaml", TEXT_IN, SourceId(3)), None);
    }

    #[test]
    fn a_broken_index_is_refused_not_trusted() {
        let tree = parse_text(TEXT_IN, SourceId(3)).unwrap();
        let mut index = Vec::new();
        write(&mut index, "a.yaml", TEXT_IN, &tree);
        for cut in 0..index.len() {
            assert_eq!(read(&index[..cut], "a.yaml", TEXT_IN, SourceId(3)), None, "{cut}");
            let mut wrong = index.clone();
            wrong[cut] ^= 0xff;
            // Whatever comes, nothing panics.
            let _ = read(&wrong, "a.yaml", TEXT_IN, SourceId(3));
        }
        assert_eq!(read(&index, "a.yaml", "too short", SourceId(3)), None);
    }
}
