//! The questions a client asks, each answered from what is known of the document as it stands.

use std::path::Path;

use lsp_server::ErrorCode;
use lsp_types::{
    CodeActionParams, CompletionParams, DocumentFormattingParams, DocumentHighlight, DocumentHighlightParams,
    DocumentSymbolParams, DocumentSymbolResponse, GotoDefinitionParams, HoverContents, HoverParams, InlayHintParams,
    MarkupContent, MarkupKind, Position, ReferenceParams, RenameParams, SemanticTokens, SemanticTokensParams,
    TextDocumentPositionParams, TextEdit, Uri,
};
use serde::de::DeserializeOwned;
use serde_json::Value;

use super::completion::Place;
use super::documents::Document;
use super::places;
use super::server::{Shared, State};
use super::{actions, hints, hover, symbols, tokens};
use crate::diag::SourceId;
use crate::syntax::layout::layout;

/// Why a question gets no answer.
pub(super) enum Refused {
    /// No such method.
    Unknown,
    /// Its parameters cannot be read; why.
    Unreadable(String),
    /// What is asked cannot be done; why.
    Wrong(String),
    /// A fault of ours.
    Failed,
}

impl Refused {
    /// Returns it as the protocol tells it.
    pub(super) fn told(self, method: &str) -> (ErrorCode, String) {
        match self {
            Self::Unknown => (ErrorCode::MethodNotFound, format!("`{method}` is not known here")),
            Self::Unreadable(why) => (ErrorCode::InvalidParams, why),
            Self::Wrong(why) => (ErrorCode::RequestFailed, why),
            Self::Failed => (ErrorCode::InternalError, format!("`{method}` failed: a bug in makeready")),
        }
    }
}

/// Answers a question; `null` is the answer where there is nothing to say.
pub(super) fn answer(shared: &Shared, method: &str, params: Value) -> Result<Value, Refused> {
    let state = shared.state();
    match method {
        "textDocument/hover" => {
            let HoverParams { text_document_position_params: at, .. } = read(params)?;
            Ok(hover(&state, &at).unwrap_or_default())
        }
        "textDocument/completion" => {
            let CompletionParams { text_document_position: at, .. } = read(params)?;
            Ok(completion(&state, &at).unwrap_or_default())
        }
        "textDocument/definition" => {
            let GotoDefinitionParams { text_document_position_params: at, .. } = read(params)?;
            Ok(places::definition(&state, &at).map(written).unwrap_or_default())
        }
        "textDocument/references" => {
            let ReferenceParams { text_document_position: at, context, .. } = read(params)?;
            Ok(places::references(&state, &at, context.include_declaration).map(written).unwrap_or_default())
        }
        "textDocument/documentHighlight" => {
            let DocumentHighlightParams { text_document_position_params: at, .. } = read(params)?;
            let ranges = places::within(&state, &at).unwrap_or_default();
            let marks: Vec<DocumentHighlight> =
                ranges.into_iter().map(|range| DocumentHighlight { range, kind: None }).collect();
            Ok(written(marks))
        }
        "textDocument/prepareRename" => {
            let at: TextDocumentPositionParams = read(params)?;
            Ok(places::renameable(&state, &at).map(written).unwrap_or_default())
        }
        "textDocument/rename" => {
            let RenameParams { text_document_position: at, new_name, .. } = read(params)?;
            places::rename(&state, &at, &new_name).map(written).map_err(Refused::Wrong)
        }
        "textDocument/documentSymbol" => {
            let DocumentSymbolParams { text_document, .. } = read(params)?;
            let of = |uri: &Uri| {
                let (document, reading) = (state.documents.get(uri)?, state.reading(uri)?);
                let audience = state.audience(document, &reading.root);
                document.kind.is_language().then(|| symbols::of(document.kind, &audience, reading))
            };
            Ok(of(&text_document.uri).map(|s| written(DocumentSymbolResponse::Nested(s))).unwrap_or_default())
        }
        "textDocument/formatting" => {
            let DocumentFormattingParams { text_document, .. } = read(params)?;
            Ok(formatting(&state, &text_document.uri).map(written).unwrap_or_default())
        }
        "textDocument/codeAction" => {
            let CodeActionParams { text_document, range, .. } = read(params)?;
            let uri = &text_document.uri;
            let of = || {
                let (document, reading) = (state.documents.get(uri)?, state.reading(uri)?);
                Some(actions::at(range, &state.audience(document, &reading.root), reading, state.outcome(uri)))
            };
            Ok(of().map(written).unwrap_or_default())
        }
        "textDocument/inlayHint" => {
            let InlayHintParams { text_document, range, .. } = read(params)?;
            let uri = &text_document.uri;
            let of = || {
                let (document, reading) = (state.documents.get(uri)?, state.reading(uri)?);
                let offset = |at: Position| document.lines.offset(&document.text, at, state.encoding);
                let within = offset(range.start)..offset(range.end);
                Some(hints::of(&state.audience(document, &reading.root), reading, state.outcome(uri)?, within))
            };
            Ok(of().map(written).unwrap_or_default())
        }
        "textDocument/semanticTokens/full" => {
            let SemanticTokensParams { text_document, .. } = read(params)?;
            let uri = &text_document.uri;
            let document = state.documents.get(uri).filter(|d| d.kind.is_language());
            let tokens = document.map(|d| tokens::of(d, &state.names(uri), state.encoding));
            Ok(tokens.map(|data| written(SemanticTokens { result_id: None, data })).unwrap_or_default())
        }
        _ => Err(Refused::Unknown),
    }
}

fn read<T: DeserializeOwned>(params: Value) -> Result<T, Refused> {
    serde_json::from_value(params).map_err(|why| Refused::Unreadable(why.to_string()))
}

/// Returns an answer as it is sent; what is made of texts and numbers can always be written.
fn written(value: impl serde::Serialize) -> Value {
    serde_json::to_value(value).unwrap_or_default()
}

/// Returns the document at a position, and the byte meant there.
pub(super) fn document<'s>(state: &'s State, at: &TextDocumentPositionParams) -> Option<(&'s Document, usize)> {
    let document = state.documents.get(&at.text_document.uri)?;
    Some((document, document.lines.offset(&document.text, at.position, state.encoding)))
}

fn hover(state: &State, at: &TextDocumentPositionParams) -> Option<Value> {
    let (document, offset) = document(state, at)?;
    let reading = state.reading(&document.uri)?;
    let names = state.names(&document.uri);
    let said = hover::at(document.kind, reading, &names, state.outcome(&document.uri), offset)?;
    let range = state.audience(document, &reading.root).range(said.span);
    let contents = HoverContents::Markup(MarkupContent { kind: MarkupKind::Markdown, value: said.text });
    Some(written(lsp_types::Hover { contents, range: Some(range) }))
}

fn completion(state: &State, at: &TextDocumentPositionParams) -> Option<Value> {
    let (document, offset) = document(state, at)?;
    let reading = state.reading(&document.uri)?;
    let names = state.names(&document.uri);
    // What was found of the mesh stays true while the spec is written.
    let outcome = state.outcomes.get(document.uri.as_str()).map(AsRef::as_ref);
    let place = Place { document, reading, names: &names, outcome, offset, encoding: state.encoding };
    Some(written(place.offers()))
}

/// Returns the edit that lays a document out; none where it cannot be read, or is as it should be.
fn formatting(state: &State, uri: &Uri) -> Option<Vec<TextEdit>> {
    let document = state.documents.get(uri).filter(|d| d.kind.is_language())?;
    let new = layout(SourceId(0), &document.text).value?;
    if new == *document.text {
        return Some(Vec::new());
    }
    let whole = document.lines.range(&document.text, 0..document.text.len(), state.encoding);
    Some(vec![TextEdit::new(whole, new)])
}

/// Returns the file a path within a document means.
pub(super) fn beside(document: &Document, path: &str) -> Option<std::path::PathBuf> {
    let folder = document.path.parent().unwrap_or(Path::new(""));
    folder.join(path).canonicalize().ok().filter(|p| p.is_file())
}
