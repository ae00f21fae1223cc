//! What takes longer than a keystroke: meshes, fields, recipes. One thread works through the documents that wait, each only
//! when nobody has typed for a while; what is done for a text that has changed meanwhile is thrown away.

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::{Arc, PoisonError};
use std::time::Duration;

use super::documents::Kind;
use super::reading::{self, Outcome, Reading};
use super::server::Shared;
use crate::cli::compile::WORKER_STACK;
use crate::cli::pipeline::Options;

/// How long nobody types before work is begun that takes longer.
const STILL: Duration = Duration::from_millis(200);

/// Starts the worker.
///
/// # Errors
///
/// Where the system gives no thread.
pub(super) fn start(shared: &Arc<Shared>) -> std::io::Result<()> {
    let shared = Arc::clone(shared);
    let work = move || {
        // A pool of its own: what is compiled walks trees, and wants the stack for it.
        let pool = rayon::ThreadPoolBuilder::new().stack_size(WORKER_STACK).build();
        let Ok(pool) = pool else { return };
        while let Some(job) = next(&shared) {
            pool.install(|| job.run(&shared));
        }
    };
    std::thread::Builder::new().name("recipes".to_owned()).spawn(work).map(drop)
}

/// A document to be worked on as it stands.
struct Job {
    document: super::documents::Document,
    open: Arc<crate::cli::world::Open>,
    options: Options,
    /// It has to be read as well: it is large, or something it uses changed.
    read: bool,
}

/// Waits for work until nobody types; none when the server ends.
fn next(shared: &Shared) -> Option<Job> {
    let mut state = shared.state();
    loop {
        if state.ended {
            return None;
        }
        if state.waiting.is_empty() {
            state = shared.news.wait(state).unwrap_or_else(PoisonError::into_inner);
            continue;
        }
        let before = state.changes;
        let (again, _) = shared.news.wait_timeout(state, STILL).unwrap_or_else(PoisonError::into_inner);
        state = again;
        if state.changes != before || state.ended {
            continue;
        }
        let (uri, read) = state.waiting.pop_first()?;
        let Some(document) = state.documents.iter().find(|d| d.uri.as_str() == uri).cloned() else { continue };
        let open = Arc::new(state.documents.open());
        return Some(Job { document, open, options: state.options.clone(), read });
    }
}

impl Job {
    fn run(&self, shared: &Shared) {
        let uri = &self.document.uri;
        if self.read {
            let read = || reading::read(&self.document, &self.open, &self.options);
            if let Some(reading) = whole(read) {
                let mut state = shared.state();
                if state.is_current(uri, self.document.version) {
                    // What it came to was made of what has changed since.
                    state.outcomes.remove(uri.as_str());
                    state.keep(uri, reading);
                    state.publish(uri, shared);
                }
            }
        }
        let ready = {
            let state = shared.state();
            let sound = |r: &Arc<Reading>| !r.diagnostics.iter().any(crate::diag::Diagnostic::is_error);
            self.document.kind == Kind::Spec
                && state.is_current(uri, self.document.version)
                && state.reading(uri).is_some_and(sound)
        };
        if !ready {
            return;
        }
        let outcome: Option<Outcome> = whole(|| reading::compile(&self.document, &self.open, &self.options)).flatten();
        let Some(outcome) = outcome else { return };
        let mut state = shared.state();
        if state.is_current(uri, self.document.version) {
            state.outcomes.insert(uri.as_str().to_owned(), Arc::new(outcome));
            state.publish(uri, shared);
            state.refresh(shared);
        }
    }
}

/// Runs a piece of work; where it fails by a fault of ours the server goes on without it.
pub(super) fn whole<T>(work: impl FnOnce() -> T) -> Option<T> {
    catch_unwind(AssertUnwindSafe(work)).ok()
}
