//! `makeready lsp`: the Language Server Protocol 3.17 on stdin and stdout, for any editor.
//!
//! What a text says by itself is read at each change; what needs its mesh is made by one thread in the background
//! ([`background`]) and told when it is done, unless the text has changed meanwhile. Everything that is told is what the other
//! commands tell: findings, reference, catalogue, recipe.

mod actions;
mod background;
mod completion;
mod cursor;
mod documents;
mod edits;
mod hints;
mod hover;
mod names;
mod places;
mod positions;
mod published;
mod reading;
mod requests;
mod server;
mod symbols;
mod tokens;
mod yaml;

use std::sync::Arc;

use lsp_server::{Connection, ErrorCode, Message, Notification, Request, Response};
use lsp_types::notification::{
    DidChangeTextDocument, DidChangeWatchedFiles, DidCloseTextDocument, DidOpenTextDocument, DidSaveTextDocument,
    Notification as _,
};
use lsp_types::{
    CodeActionProviderCapability, CompletionOptions, DidChangeTextDocumentParams, DidCloseTextDocumentParams,
    DidOpenTextDocumentParams, HoverProviderCapability, InitializeParams, OneOf, RenameOptions, SaveOptions,
    SemanticTokensFullOptions, SemanticTokensLegend, SemanticTokensOptions, ServerCapabilities,
    TextDocumentSyncCapability, TextDocumentSyncKind, TextDocumentSyncOptions, TextDocumentSyncSaveOptions,
    WorkDoneProgressOptions,
};
use serde::de::DeserializeOwned;

use super::args::LspArgs;
use super::compile::options;
use super::exit::Exit;
use super::pipeline;
use super::terminal::Terminal;
use documents::Document;
use positions::Encoding;
use server::{Shared, State};

/// Behind these something can be offered that could not before.
const TRIGGERS: [&str; 4] = ["\"", " ", ".", "{"];

pub(super) fn run(args: &LspArgs, terminal: &Terminal) -> Result<Exit, Exit> {
    let options = options(&args.inputs, false);
    // Before the first text is read: it is waited for on the keys.
    pipeline::load_knowledge();
    let (connection, threads) = Connection::stdio();
    let state = State::new(options, Encoding::Utf16, false);
    let sender = connection.sender.clone();
    let send = Box::new(move |message| drop(sender.send(message)));
    let shared = Arc::new(Shared::new(state, send));
    background::start(&shared).map_err(|e| {
        terminal.say(&format!("error: no thread to work in: {}", e.kind()));
        Exit::Misuse
    })?;
    let mut session = Session { shared: Arc::clone(&shared), stage: Stage::New };
    let mut end = None;
    while end.is_none() {
        // A client that is gone closes the stream; there is nobody left to work for.
        let Ok(message) = connection.receiver.recv() else { break };
        end = session.take(message);
    }
    shared.end();
    drop(connection);
    if end.is_some() {
        // So that the last answer is written; where the stream is closed the threads have ended by themselves.
        let _ = threads.join();
    }
    Ok(end.unwrap_or(Exit::Wrong))
}

/// How far a session has come.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Stage {
    /// Before `initialize`.
    New,
    Running,
    /// After `shutdown`: nothing is done any more.
    Closing,
}

struct Session {
    shared: Arc<Shared>,
    stage: Stage,
}

impl Session {
    /// Takes a message; returns how the session ended where it did.
    fn take(&mut self, message: Message) -> Option<Exit> {
        match message {
            Message::Request(request) => {
                let answer = self.answer(request);
                self.shared.send(Message::Response(answer));
                None
            }
            Message::Notification(note) if note.method == "exit" => {
                Some(if self.stage == Stage::Closing { Exit::Done } else { Exit::Wrong })
            }
            Message::Notification(note) => {
                if self.stage == Stage::Running {
                    let known = background::whole(|| self.note(note));
                    debug_assert!(known.is_some(), "a message made us fail");
                }
                None
            }
            // To the only question asked of it a client has nothing to say.
            Message::Response(_) => None,
        }
    }

    fn answer(&mut self, request: Request) -> Response {
        let Request { id, method, params } = request;
        let refuse = |code: ErrorCode, why: &str| Response::new_err(id.clone(), code as i32, why.to_owned());
        match (self.stage, method.as_str()) {
            (Stage::New, "initialize") => match serde_json::from_value::<InitializeParams>(params) {
                Ok(params) => {
                    self.stage = Stage::Running;
                    Response::new_ok(id, self.begin(&params))
                }
                Err(why) => refuse(ErrorCode::InvalidParams, &why.to_string()),
            },
            (Stage::New, _) => refuse(ErrorCode::ServerNotInitialized, "`initialize` comes first"),
            (Stage::Closing, _) => refuse(ErrorCode::InvalidRequest, "after `shutdown` comes `exit`"),
            (Stage::Running, "initialize") => refuse(ErrorCode::InvalidRequest, "it is initialized already"),
            (Stage::Running, "shutdown") => {
                self.stage = Stage::Closing;
                Response::new_ok(id, serde_json::Value::Null)
            }
            (Stage::Running, _) => {
                let answer = background::whole(|| requests::answer(&self.shared, &method, params));
                match answer.unwrap_or(Err(requests::Refused::Failed)) {
                    Ok(value) => Response::new_ok(id, value),
                    Err(refused) => {
                        let (code, why) = refused.told(&method);
                        refuse(code, &why)
                    }
                }
            }
        }
    }

    /// Agrees with the client on what there is, and returns it.
    fn begin(&mut self, params: &InitializeParams) -> serde_json::Value {
        let general = params.capabilities.general.as_ref();
        let encoding = Encoding::agreed(general.and_then(|g| g.position_encodings.as_deref()));
        let workspace = params.capabilities.workspace.as_ref();
        let hints = workspace.and_then(|w| w.inlay_hint.as_ref()).and_then(|h| h.refresh_support);
        let mut state = self.shared.state();
        (state.encoding, state.refreshes) = (encoding, hints.unwrap_or(false));
        serde_json::json!({
            "capabilities": capabilities(encoding),
            "serverInfo": { "name": "makeready", "version": env!("CARGO_PKG_VERSION") },
        })
    }

    fn note(&mut self, note: Notification) {
        let Notification { method, params } = note;
        match method.as_str() {
            DidOpenTextDocument::METHOD => {
                let Some(DidOpenTextDocumentParams { text_document: opened }) = read(params) else { return };
                let mut state = self.shared.state();
                if let Some(document) = Document::new(opened.uri.clone(), opened.version, &opened.text) {
                    state.documents.put(document);
                    state.changed(&opened.uri, &self.shared);
                }
            }
            DidChangeTextDocument::METHOD => {
                let Some(DidChangeTextDocumentParams { text_document, content_changes }) = read(params) else { return };
                let mut state = self.shared.state();
                let encoding = state.encoding;
                let Some(document) = state.documents.get_mut(&text_document.uri) else { return };
                document.change(content_changes, text_document.version, encoding);
                state.changed(&text_document.uri, &self.shared);
            }
            DidCloseTextDocument::METHOD => {
                let Some(DidCloseTextDocumentParams { text_document }) = read(params) else { return };
                self.shared.state().close(&text_document.uri, &self.shared);
            }
            DidSaveTextDocument::METHOD | DidChangeWatchedFiles::METHOD => self.shared.state().all_changed(),
            _ => return,
        }
        self.shared.news.notify_all();
    }
}

/// Reads the parameters of a message; what cannot be read is passed over, since nobody waits for an answer.
fn read<T: DeserializeOwned>(params: serde_json::Value) -> Option<T> {
    serde_json::from_value(params).ok()
}

fn capabilities(encoding: Encoding) -> ServerCapabilities {
    ServerCapabilities {
        position_encoding: Some(encoding.kind()),
        text_document_sync: Some(TextDocumentSyncCapability::Options(TextDocumentSyncOptions {
            open_close: Some(true),
            change: Some(TextDocumentSyncKind::INCREMENTAL),
            save: Some(TextDocumentSyncSaveOptions::SaveOptions(SaveOptions { include_text: Some(false) })),
            ..TextDocumentSyncOptions::default()
        })),
        hover_provider: Some(HoverProviderCapability::Simple(true)),
        completion_provider: Some(CompletionOptions {
            trigger_characters: Some(TRIGGERS.map(str::to_owned).to_vec()),
            ..CompletionOptions::default()
        }),
        definition_provider: Some(OneOf::Left(true)),
        references_provider: Some(OneOf::Left(true)),
        document_highlight_provider: Some(OneOf::Left(true)),
        document_symbol_provider: Some(OneOf::Left(true)),
        document_formatting_provider: Some(OneOf::Left(true)),
        code_action_provider: Some(CodeActionProviderCapability::Simple(true)),
        rename_provider: Some(OneOf::Right(RenameOptions {
            prepare_provider: Some(true),
            work_done_progress_options: WorkDoneProgressOptions::default(),
        })),
        inlay_hint_provider: Some(OneOf::Left(true)),
        semantic_tokens_provider: Some(
            SemanticTokensOptions {
                legend: SemanticTokensLegend { token_types: tokens::LEGEND.to_vec(), token_modifiers: Vec::new() },
                full: Some(SemanticTokensFullOptions::Bool(true)),
                ..SemanticTokensOptions::default()
            }
            .into(),
        ),
        ..ServerCapabilities::default()
    }
}
