//! Changes of texts as the protocol makes them.

use std::collections::HashMap;

use lsp_types::{TextEdit, Uri, WorkspaceEdit};

use super::published::Audience;
use crate::diag::{Edit, SourceId, Sources, Span};

/// Returns edits of a document and the files it uses; none where one of them is of a text that lies in no file.
pub(super) fn workspace(
    edits: &[Edit],
    audience: &Audience<'_>,
    sources: &Sources,
    own: SourceId,
) -> Option<WorkspaceEdit> {
    let mut all: Vec<(Uri, Vec<TextEdit>)> = Vec::new();
    for edit in edits {
        let location = audience.location(edit.span, sources, own)?;
        let text = TextEdit::new(location.range, edit.text.clone());
        match all.iter_mut().find(|(uri, _)| *uri == location.uri) {
            Some((_, edits)) => edits.push(text),
            None => all.push((location.uri, vec![text])),
        }
    }
    (!all.is_empty()).then(|| {
        #[allow(clippy::mutable_key_type, reason = "the protocol's type; addresses are never changed")]
        let changes: HashMap<Uri, Vec<TextEdit>> = all.into_iter().collect();
        WorkspaceEdit::new(changes)
    })
}

/// Returns a line more at the end of a block, set in as its statements are: `close` is the place of its `}`.
pub(super) fn line_more(text: &str, source: SourceId, close: usize, line: &str) -> Edit {
    let begin = text.get(..close).and_then(|t| t.rfind('\n')).map_or(0, |at| at + 1);
    let before = text.get(begin..close).unwrap_or("");
    // The brace stands on a line of its own: the new one goes before it. Else it goes before the brace itself.
    if before.trim().is_empty() {
        let set_in = format!("{before}  {line}\n");
        return Edit { span: Span::new(source, begin, begin), text: set_in };
    }
    Edit { span: Span::new(source, close, close), text: format!("; {line} ") }
}

/// Returns the edit that takes a statement out, with its line where it stands alone on it.
pub(super) fn without(text: &str, at: Span) -> Edit {
    let (start, end) = (at.start as usize, at.end as usize);
    let begin = text.get(..start).and_then(|t| t.rfind('\n')).map_or(0, |n| n + 1);
    let stop = text.get(end..).and_then(|t| t.find('\n')).map_or(text.len(), |n| end + n + 1);
    let blank = |range: std::ops::Range<usize>| text.get(range).is_some_and(|t| t.trim().is_empty());
    if blank(begin..start) && blank(end..stop) {
        return Edit { span: Span::new(at.source, begin, stop), text: String::new() };
    }
    // The `;` that parted it from the next goes with it.
    let behind = text.get(end..).unwrap_or("");
    let parted = behind.len() - behind.trim_start_matches([' ', '\t']).trim_start_matches(';').len();
    Edit { span: Span::new(at.source, start, end + parted), text: String::new() }
}
