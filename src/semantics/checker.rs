//! What the checker carries with it: the texts, the names in sight, and what was found wrong.

use std::collections::{BTreeMap, BTreeSet};

use super::names::Names;
use crate::diag::{Diagnostic, SourceId, Sources};

/// State of one check.
pub(crate) struct Checker<'t> {
    pub sources: &'t Sources,
    pub names: Names<'t>,
    /// While a let is evaluated: how many layers of names it can see.
    pub sight: Option<usize>,
    /// How many lets are being evaluated within one another.
    pub depth: usize,
    /// Words that stand in a source, looked up once.
    pub mentioned: BTreeMap<SourceId, BTreeSet<&'t str>>,
    pub diagnostics: Vec<Diagnostic>,
}

/// Longer messages than this quote something no one would read.
const LONGEST: usize = 500;

fn brief(text: &str) -> String {
    let line = text.split_whitespace().collect::<Vec<_>>().join(" ");
    if line.chars().count() <= LONGEST {
        return line;
    }
    line.chars().take(LONGEST).chain(" ...".chars()).collect()
}

/// An error was found and reported; nothing more is to be said of it.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Reported;

impl<'t> Checker<'t> {
    pub fn new(sources: &'t Sources) -> Self {
        Self {
            sources,
            names: Names::default(),
            sight: None,
            depth: 0,
            mentioned: BTreeMap::new(),
            diagnostics: Vec::new(),
        }
    }

    /// Keeps a finding; what it quotes of the source is brought onto one line.
    pub fn report(&mut self, mut diagnostic: Diagnostic) {
        for text in std::iter::once(&mut diagnostic.message).chain(&mut diagnostic.hints) {
            if text.contains('\n') || text.len() > LONGEST {
                *text = brief(text);
            }
        }
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
