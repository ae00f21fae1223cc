//! Where text goes: results to stdout, talk to stderr.

use std::io::{self, ErrorKind, IsTerminal, Write};

use super::args::{Colour, FindingForm};
use super::exit::Exit;
use crate::diag::{Diagnostic, Sources};
use crate::render::{diagnostics, sarif};

/// The two output streams, and what they can show.
pub(super) struct Terminal {
    colour_on_stderr: bool,
    colour_on_stdout: bool,
    stderr_is_terminal: bool,
}

impl Terminal {
    pub(super) fn new(colour: Colour) -> Self {
        let stderr_is_terminal = io::stderr().is_terminal();
        // https://no-color.org: set and not empty means no colour, unless the command line asks for it.
        let unwanted = std::env::var_os("NO_COLOR").is_some_and(|v| !v.is_empty())
            || std::env::var_os("TERM").is_some_and(|v| v == "dumb");
        let coloured = |is_terminal: bool| match colour {
            Colour::Always => true,
            Colour::Never => false,
            Colour::Auto => is_terminal && !unwanted,
        };
        Self {
            colour_on_stderr: coloured(stderr_is_terminal),
            colour_on_stdout: coloured(io::stdout().is_terminal()),
            stderr_is_terminal,
        }
    }

    /// Whether a progress bar has someone to look at it.
    pub(super) fn is_watched(&self) -> bool {
        self.stderr_is_terminal
    }

    /// Writes a result to stdout.
    ///
    /// # Errors
    ///
    /// `Exit::Done` where the reader has closed the pipe (it has seen enough, which is no fault); `Exit::Misuse`
    /// where the stream can't be written.
    pub(super) fn result(&self, text: &str) -> Result<(), Exit> {
        self.results([text])
    }

    /// Writes a result that comes in pieces, as [`Terminal::result`] does.
    pub(super) fn results<'t>(&self, pieces: impl IntoIterator<Item = &'t str>) -> Result<(), Exit> {
        let mut out = io::stdout().lock();
        let mut pieces = pieces.into_iter();
        match pieces.try_for_each(|text| out.write_all(text.as_bytes())).and_then(|()| out.flush()) {
            Ok(()) => Ok(()),
            Err(e) if e.kind() == ErrorKind::BrokenPipe => Err(Exit::Done),
            Err(e) => {
                self.say(&format!("error: the result can't be written to stdout: {}", e.kind()));
                Err(Exit::Misuse)
            }
        }
    }

    /// Writes one line of talk to stderr; where that is closed there is nobody to tell.
    pub(super) fn say(&self, line: &str) {
        let _ = writeln!(io::stderr().lock(), "{line}");
    }

    /// Writes findings to stderr as text with snippets.
    pub(super) fn findings(&self, found: &[Diagnostic], sources: &Sources) {
        let text = diagnostics::text(found, sources, self.colour_on_stderr);
        let _ = io::stderr().lock().write_all(text.as_bytes());
    }

    /// Returns findings in the form asked for, for stdout.
    pub(super) fn form(&self, found: &[Diagnostic], sources: &Sources, form: FindingForm) -> String {
        match form {
            FindingForm::Text => diagnostics::text(found, sources, self.colour_on_stdout),
            FindingForm::Short => diagnostics::short(found, sources),
            FindingForm::Json => diagnostics::json(found, sources),
            FindingForm::Sarif => sarif::sarif(found, sources),
        }
    }
}
