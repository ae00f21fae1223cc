//! The documents a client has open, as it has them.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::str::FromStr;
use std::sync::Arc;

use lsp_types::{TextDocumentContentChangeEvent, Uri};
use percent_encoding::{AsciiSet, NON_ALPHANUMERIC, percent_decode_str, utf8_percent_encode};

use super::positions::{Encoding, Lines};
use crate::cli::runs;
use crate::cli::world::{Open, SHOP_FILE};

/// What a document is by its name.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Kind {
    Spec,
    Run,
    Rules,
    Shop,
    /// None of ours.
    Other,
}

impl Kind {
    fn of(path: &Path) -> Self {
        let ending = path.extension().map(|e| e.to_string_lossy().to_lowercase()).unwrap_or_default();
        match ending.as_str() {
            "partspec" => Self::Spec,
            runs::ENDING => Self::Run,
            "rules" => Self::Rules,
            "yaml" | "yml" if path.file_name().is_some_and(|n| n == SHOP_FILE) => Self::Shop,
            _ => Self::Other,
        }
    }

    /// Whether it is written in our language.
    pub(super) fn is_language(self) -> bool {
        matches!(self, Self::Spec | Self::Run | Self::Rules)
    }
}

/// One open document.
#[derive(Debug, Clone)]
pub(super) struct Document {
    pub uri: Uri,
    pub path: PathBuf,
    pub kind: Kind,
    /// As the client counts; of two changes the later has the higher.
    pub version: i32,
    pub text: Arc<str>,
    pub lines: Arc<Lines>,
}

impl Document {
    pub(super) fn new(uri: Uri, version: i32, text: &str) -> Option<Self> {
        let path = path_of(&uri)?;
        // What the client calls a file may be a link to it; one that is not saved yet has its own name.
        let path = path.canonicalize().unwrap_or(path);
        let (kind, lines) = (Kind::of(&path), Arc::new(Lines::of(text)));
        Some(Self { uri, path, kind, version, text: Arc::from(text), lines })
    }

    /// Makes the changes of one message, one after the other.
    pub(super) fn change(&mut self, changes: Vec<TextDocumentContentChangeEvent>, version: i32, encoding: Encoding) {
        let mut text = String::from(&*self.text);
        for change in changes {
            match change.range {
                Some(range) => {
                    let lines = Lines::of(&text);
                    let from = lines.offset(&text, range.start, encoding);
                    let to = lines.offset(&text, range.end, encoding).max(from);
                    text.replace_range(from..to, &change.text);
                }
                None => text = change.text,
            }
        }
        self.lines = Arc::new(Lines::of(&text));
        (self.text, self.version) = (Arc::from(text), version);
    }
}

/// Every open document, by its address.
#[derive(Debug, Default)]
pub(super) struct Documents {
    of: BTreeMap<String, Document>,
}

impl Documents {
    pub(super) fn put(&mut self, document: Document) {
        self.of.insert(document.uri.as_str().to_owned(), document);
    }

    pub(super) fn remove(&mut self, uri: &Uri) {
        self.of.remove(uri.as_str());
    }

    pub(super) fn get(&self, uri: &Uri) -> Option<&Document> {
        self.of.get(uri.as_str())
    }

    pub(super) fn get_mut(&mut self, uri: &Uri) -> Option<&mut Document> {
        self.of.get_mut(uri.as_str())
    }

    pub(super) fn iter(&self) -> impl Iterator<Item = &Document> {
        self.of.values()
    }

    /// Returns the texts for reading in place of the files.
    pub(super) fn open(&self) -> Open {
        self.of.values().map(|d| (d.path.clone(), Arc::clone(&d.text))).collect()
    }

    /// Returns the address of a file: as the client has it where it is open.
    pub(super) fn uri_of(&self, path: &Path) -> Option<Uri> {
        let open = self.of.values().find(|d| d.path == path).map(|d| d.uri.clone());
        open.or_else(|| uri_of(path))
    }
}

/// Returns the file an address means; none where it means something else than a file.
pub(super) fn path_of(uri: &Uri) -> Option<PathBuf> {
    let rest = uri.as_str().strip_prefix("file://")?;
    // A host before the path is this one or a share's.
    let path = rest.get(rest.find('/')?..)?;
    let path = percent_decode_str(path.split(['?', '#']).next()?).decode_utf8().ok()?.into_owned();
    let drive = path.get(1..3).filter(|d| cfg!(windows) && d.ends_with(':')).is_some();
    Some(PathBuf::from(if drive { path.get(1..)? } else { path.as_str() }))
}

/// What stands in the path of an address as it is (RFC 3986, unreserved, and `/`).
const PLAIN: &AsciiSet = &NON_ALPHANUMERIC.remove(b'/').remove(b'-').remove(b'.').remove(b'_').remove(b'~');

/// Returns the address of a file.
pub(super) fn uri_of(path: &Path) -> Option<Uri> {
    let text = path.to_str()?.replace('\\', "/");
    let slash = if text.starts_with('/') { "" } else { "/" };
    Uri::from_str(&format!("file://{slash}{}", utf8_percent_encode(&text, PLAIN))).ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_path_comes_back_from_its_address() {
        for path in ["/hut/vane bracket.partspec", "/hut/über/a%b#c.partspec"] {
            let uri = uri_of(Path::new(path)).unwrap();
            assert_eq!(path_of(&uri).unwrap(), Path::new(path), "{}", uri.as_str());
        }
        assert_eq!(path_of(&Uri::from_str("untitled:Untitled-1").unwrap()), None);
    }

    #[test]
    fn changes_are_made_in_their_order() {
        let uri = uri_of(Path::new("/hut/a.partspec")).unwrap();
        let mut document = Document::new(uri, 1, "air 5 °C\n").unwrap();
        let change = |from: (u32, u32), to: (u32, u32), text: &str| TextDocumentContentChangeEvent {
            range: Some(lsp_types::Range::new(
                lsp_types::Position::new(from.0, from.1),
                lsp_types::Position::new(to.0, to.1),
            )),
            range_length: None,
            text: text.to_owned(),
        };
        document.change(vec![change((0, 8), (0, 8), " .. 9 °C"), change((0, 4), (0, 5), "-5")], 2, Encoding::Utf16);
        assert_eq!((&*document.text, document.version), ("air -5 °C .. 9 °C\n", 2));
    }
}
