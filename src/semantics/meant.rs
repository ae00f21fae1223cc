//! What a statement that could not be read was meant to say, where people write it in ways of their own.
//!
//! A fitter writes `h6 in H7` and a cook `food contact`; the general messages would tell them word by word what cannot
//! stand there. Here the whole statement is looked at, and the first message gives it as it is to be written.

mod fits;
mod uses;

use super::checker::Checker;
use super::form::Context;
use super::read::Found;
use crate::diag::Diagnostic;
use crate::syntax::tree::{Expr, Statement};

impl Checker<'_> {
    /// Puts one message in place of those from `before` on, where it is known how a statement would be written rightly.
    pub(crate) fn tell_what_was_meant(
        &mut self,
        statement: &Statement,
        context: Context,
        before: usize,
        found: &mut Found,
    ) {
        let told = match found.entry.keyword {
            "fit" => self.fit_meant(statement, found),
            "bore" | "shaft" if context == Context::Fit && found.broken => self.fit_clause_meant(statement),
            "contact" if found.broken => self.contact_meant(statement, context),
            _ => None,
        };
        if let Some(diagnostic) = told {
            self.diagnostics.truncate(before);
            self.report(diagnostic);
            found.broken = true;
            found.inner.clear();
        }
    }

    /// Returns the message for a statement no block knows, where it is known what was meant.
    pub(crate) fn unknown_meant(&self, statement: &Statement, context: Context) -> Option<Diagnostic> {
        match context {
            Context::Fit => self.fit_statement_meant(statement),
            Context::Part | Context::Profile | Context::Service => self.use_meant(statement, context),
            _ => None,
        }
    }
}

/// Returns a word or a text as it reads.
fn words_of(expr: &Expr) -> Option<&str> {
    expr.as_word().or(expr.as_text())
}
