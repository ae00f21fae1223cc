//! The state of the server: what is open, how it reads, what it came to, and what is still to be done.

use std::collections::BTreeMap;
use std::path::Path;
use std::sync::{Arc, Condvar, Mutex, MutexGuard, PoisonError};

use lsp_server::{Message, Notification, Request, RequestId};
use lsp_types::notification::{Notification as _, PublishDiagnostics};
use lsp_types::{Diagnostic, PublishDiagnosticsParams, Uri};

use super::documents::{Document, Documents, Kind};
use super::names::{self, Name};
use super::positions::Encoding;
use super::published::Audience;
use super::reading::{self, Outcome, Reading};
use crate::cli::pipeline::Options;

/// Texts up to this size are read at each keystroke; larger ones when nobody types.
const AT_ONCE: usize = 256 << 10;

/// Sends a message to the client; none of them fails: a client that is gone is told by its silence.
pub(super) type Send = Box<dyn Fn(Message) + std::marker::Send>;

/// What both threads see.
pub(super) struct Shared {
    state: Mutex<State>,
    /// Something changed, or the server ends.
    pub news: Condvar,
    /// None once the server ends.
    send: Mutex<Option<Send>>,
}

impl Shared {
    pub(super) fn new(state: State, send: Send) -> Self {
        Self { state: Mutex::new(state), news: Condvar::new(), send: Mutex::new(Some(send)) }
    }

    /// Returns the state, also where a thread failed while it held it.
    pub(super) fn state(&self) -> MutexGuard<'_, State> {
        self.state.lock().unwrap_or_else(PoisonError::into_inner)
    }

    pub(super) fn send(&self, message: Message) {
        if let Some(send) = self.send.lock().unwrap_or_else(PoisonError::into_inner).as_ref() {
            send(message);
        }
    }

    /// Ends the work; nothing is sent from here on.
    pub(super) fn end(&self) {
        self.state().ended = true;
        *self.send.lock().unwrap_or_else(PoisonError::into_inner) = None;
        self.news.notify_all();
    }
}

/// What is known of the documents that are open.
pub(super) struct State {
    pub documents: Documents,
    readings: BTreeMap<String, Arc<Reading>>,
    pub outcomes: BTreeMap<String, Arc<Outcome>>,
    /// Documents to be compiled when nobody types, and whether they are to be read before.
    pub waiting: BTreeMap<String, bool>,
    /// Counts every change, so that it is seen whether somebody types.
    pub changes: u64,
    pub ended: bool,
    pub options: Options,
    pub encoding: Encoding,
    /// The client shows hints, and asks for them anew when it is told.
    pub refreshes: bool,
    asked: i32,
}

impl State {
    pub(super) fn new(options: Options, encoding: Encoding, refreshes: bool) -> Self {
        Self {
            documents: Documents::default(),
            readings: BTreeMap::new(),
            outcomes: BTreeMap::new(),
            waiting: BTreeMap::new(),
            changes: 0,
            ended: false,
            options,
            encoding,
            refreshes,
            asked: 0,
        }
    }

    /// Takes in what a document says now.
    pub(super) fn changed(&mut self, uri: &Uri, shared: &Shared) {
        self.changes += 1;
        let Some(document) = self.documents.get(uri) else { return };
        let at_once = document.text.len() <= AT_ONCE;
        if at_once {
            let open = Arc::new(self.documents.open());
            let (document, options) = (document.clone(), self.options.clone());
            if let Some(reading) = super::background::whole(|| reading::read(&document, &open, &options)) {
                self.keep(uri, reading);
                self.publish(uri, shared);
            }
        }
        self.waiting.insert(uri.as_str().to_owned(), !at_once);
        self.wait_for_users(uri);
    }

    /// Has every other document that uses this one read again.
    fn wait_for_users(&mut self, uri: &Uri) {
        let Some(changed) = self.documents.get(uri) else { return };
        let by_all = matches!(changed.kind, Kind::Shop | Kind::Rules);
        let path = changed.path.clone();
        let uses = |d: &Document| {
            let reading = self.readings.get(d.uri.as_str());
            reading.is_some_and(|r| r.sources.iter().any(|(_, s)| r.root.join(&s.name) == path))
        };
        let others = self.documents.iter().filter(|d| d.uri != *uri && (by_all || uses(d)));
        let others: Vec<String> = others.map(|d| d.uri.as_str().to_owned()).collect();
        self.waiting.extend(others.into_iter().map(|other| (other, true)));
    }

    /// Has every open document read again: a file changed that may be anyone's.
    pub(super) fn all_changed(&mut self) {
        self.changes += 1;
        let all: Vec<String> = self.documents.iter().map(|d| d.uri.as_str().to_owned()).collect();
        self.waiting.extend(all.into_iter().map(|uri| (uri, true)));
    }

    /// Forgets a document, and what was said of it.
    pub(super) fn close(&mut self, uri: &Uri, shared: &Shared) {
        self.wait_for_users(uri);
        self.documents.remove(uri);
        self.readings.remove(uri.as_str());
        self.outcomes.remove(uri.as_str());
        self.waiting.remove(uri.as_str());
        tell(uri, Vec::new(), None, shared);
    }

    /// Whether a document still is as it was when work on it began.
    pub(super) fn is_current(&self, uri: &Uri, version: i32) -> bool {
        self.documents.get(uri).is_some_and(|d| d.version == version)
    }

    pub(super) fn keep(&mut self, uri: &Uri, reading: Reading) {
        self.readings.insert(uri.as_str().to_owned(), Arc::new(reading));
    }

    /// Returns how a document reads, as it stands.
    pub(super) fn reading(&self, uri: &Uri) -> Option<&Arc<Reading>> {
        let document = self.documents.get(uri)?;
        self.readings.get(uri.as_str()).filter(|r| r.version == document.version)
    }

    /// Returns what a document came to, as it stands.
    pub(super) fn outcome(&self, uri: &Uri) -> Option<&Outcome> {
        let document = self.documents.get(uri)?;
        self.outcomes.get(uri.as_str()).filter(|o| o.version == document.version).map(AsRef::as_ref)
    }

    /// Returns the names of a document, and of what it uses.
    pub(super) fn names(&self, uri: &Uri) -> Vec<Name> {
        self.reading(uri).map(|reading| names::all(reading)).unwrap_or_default()
    }

    /// Returns whom findings of a document are told to.
    pub(super) fn audience<'s>(&'s self, document: &'s Document, root: &'s Path) -> Audience<'s> {
        Audience { documents: &self.documents, document, encoding: self.encoding, root }
    }

    /// Sends what is to be said of a document as it stands.
    pub(super) fn publish(&self, uri: &Uri, shared: &Shared) {
        let Some((document, reading)) = self.documents.get(uri).zip(self.reading(uri)) else { return };
        let audience = self.audience(document, &reading.root);
        let told = match self.outcome(uri) {
            Some(outcome) => audience.tell(&outcome.findings, &outcome.compiled.sources, outcome.own),
            None => audience.tell(&reading.diagnostics, &reading.sources, reading.own),
        };
        tell(uri, told, Some(document.version), shared);
    }

    /// Asks the client to fetch its hints anew.
    pub(super) fn refresh(&mut self, shared: &Shared) {
        if self.refreshes {
            self.asked += 1;
            let (id, method) = (RequestId::from(self.asked), "workspace/inlayHint/refresh".to_owned());
            shared.send(Message::Request(Request { id, method, params: serde_json::Value::Null }));
        }
    }
}

fn tell(uri: &Uri, diagnostics: Vec<Diagnostic>, version: Option<i32>, shared: &Shared) {
    let params = PublishDiagnosticsParams { uri: uri.clone(), diagnostics, version };
    shared.send(Message::Notification(Notification::new(PublishDiagnostics::METHOD.to_owned(), params)));
}
