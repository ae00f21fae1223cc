//! What the checker carries with it: the texts, the names in sight, and what was found wrong.

use super::names::Names;
use crate::diag::{Diagnostic, Sources};

/// State of one check.
pub(crate) struct Checker<'t> {
    pub sources: &'t Sources,
    pub names: Names<'t>,
    /// While a let is evaluated: how many layers of names it can see.
    pub sight: Option<usize>,
    /// How many lets are being evaluated within one another.
    pub depth: usize,
    pub diagnostics: Vec<Diagnostic>,
}

/// An error was found and reported; nothing more is to be said of it.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Reported;

impl<'t> Checker<'t> {
    pub fn new(sources: &'t Sources) -> Self {
        Self { sources, names: Names::default(), sight: None, depth: 0, diagnostics: Vec::new() }
    }

    pub fn report(&mut self, diagnostic: Diagnostic) {
        self.diagnostics.push(diagnostic);
    }

    /// Returns the findings in order of place, each once: a profile is looked at again in every part that uses it.
    pub fn finish(self) -> Vec<Diagnostic> {
        let mut all = self.diagnostics;
        let key = |d: &Diagnostic| d.labels.first().map(|l| (l.span.source, l.span.start));
        all.sort_by(|a, b| key(a).cmp(&key(b)).then_with(|| (a.code, &a.message).cmp(&(b.code, &b.message))));
        all.dedup();
        all
    }

    /// Keeps an error and gives the token of its having been reported.
    pub fn refuse<T>(&mut self, diagnostic: Diagnostic) -> Result<T, Reported> {
        self.report(diagnostic);
        Err(Reported)
    }
}
