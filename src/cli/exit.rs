//! What the exit code says.

use std::process::ExitCode;

use crate::diag::Diagnostic;

/// How a run ended; the worst of several wins.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Exit {
    /// What was asked for is done.
    Done = 0,
    /// The input was read, and it is wrong or can't be met.
    Wrong = 1,
    /// The command was misused, or something could not be read or written.
    Misuse = 2,
    /// makeready itself failed.
    OurBug = 3,
}

impl Exit {
    /// Returns what a set of findings amounts to.
    ///
    /// A file that was asked for on the command line and can't be read is misuse; one that a spec names wrongly (the
    /// finding then has a place in that spec) is a wrong spec.
    pub(super) fn of(diagnostics: &[Diagnostic]) -> Self {
        let of = |d: &Diagnostic| match (d.code.split('/').next(), d.labels.is_empty()) {
            // What a command line names and nobody knows is misuse like any other word too many.
            (Some("file" | "usage" | "catalogue"), true) => Exit::Misuse,
            (Some("rule"), true) if d.code == "rule/unknown" => Exit::Misuse,
            (Some("internal"), _) => Exit::OurBug,
            _ => Exit::Wrong,
        };
        diagnostics.iter().filter(|d| d.is_error()).map(of).max().unwrap_or(Exit::Done)
    }
}

impl From<Exit> for ExitCode {
    fn from(exit: Exit) -> Self {
        ExitCode::from(exit as u8)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diag::{Severity, SourceId, Span};

    #[test]
    fn findings_map_to_codes() {
        let at = Span::new(SourceId(0), 0, 1);
        let unread = Diagnostic::new(Severity::Error, "file/missing", "no file `a`");
        let misnamed = Diagnostic::error("file/missing", at, "no file `a`");
        let bug = Diagnostic::new(Severity::Error, "internal/template", "x");
        let warning = Diagnostic::warning("spec/unused", at, "x");
        assert_eq!(Exit::of(&[]), Exit::Done);
        assert_eq!(Exit::of(std::slice::from_ref(&warning)), Exit::Done);
        assert_eq!(Exit::of(&[warning, misnamed.clone()]), Exit::Wrong);
        assert_eq!(Exit::of(&[unread.clone(), misnamed]), Exit::Misuse);
        assert_eq!(Exit::of(&[unread, bug]), Exit::OurBug);
    }
}
