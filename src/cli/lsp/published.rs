//! Findings as the protocol tells them.

use std::path::Path;

use lsp_types::{Diagnostic, DiagnosticRelatedInformation, DiagnosticSeverity, Location, NumberOrString, Range, Uri};

use super::documents::{Document, Documents};
use super::positions::{Encoding, Lines};
use crate::diag::{self, Severity, SourceId, Sources, Span};

/// Most findings that are shown of one document.
const MOST: usize = 500;

/// What findings are put into words for.
pub(super) struct Audience<'d> {
    pub documents: &'d Documents,
    pub document: &'d Document,
    pub encoding: Encoding,
    /// The project's folder.
    pub root: &'d Path,
}

impl Audience<'_> {
    /// Returns the findings of a document, those in a file it uses at its beginning.
    pub(super) fn tell(&self, found: &[diag::Diagnostic], sources: &Sources, own: SourceId) -> Vec<Diagnostic> {
        found.iter().take(MOST).map(|d| self.one(d, sources, own)).collect()
    }

    fn one(&self, d: &diag::Diagnostic, sources: &Sources, own: SourceId) -> Diagnostic {
        let here = d.labels.iter().find(|label| label.span.source == own);
        let first = d.labels.first().map(|label| label.span);
        let mut message = d.message.clone();
        let elsewhere = first.filter(|span| span.source != own);
        if let Some(span) = elsewhere {
            message = format!("{}: {message}", sources.place(span));
        }
        if let Some(text) = d.labels.first().map(|l| l.text.as_str()).filter(|t| !t.is_empty()) {
            message.push_str(&format!("\n{text}"));
        }
        d.hints.iter().for_each(|hint| message.push_str(&format!("\nhint: {hint}")));
        let related: Vec<DiagnosticRelatedInformation> = d
            .labels
            .iter()
            .filter(|label| Some(label.span) != here.map(|h| h.span))
            .filter_map(|label| {
                let text = if label.text.is_empty() { d.message.clone() } else { label.text.clone() };
                Some(DiagnosticRelatedInformation { location: self.location(label.span, sources, own)?, message: text })
            })
            .collect();
        Diagnostic {
            range: here.map_or_else(Range::default, |label| self.range(label.span)),
            severity: Some(match d.severity {
                Severity::Error => DiagnosticSeverity::ERROR,
                Severity::Warning => DiagnosticSeverity::WARNING,
                Severity::Note => DiagnosticSeverity::INFORMATION,
            }),
            code: Some(NumberOrString::String(d.code.to_owned())),
            source: Some("makeready".to_owned()),
            message,
            related_information: (!related.is_empty()).then_some(related),
            ..Diagnostic::default()
        }
    }

    /// Returns the range of a place in the document.
    pub(super) fn range(&self, span: Span) -> Range {
        self.document.lines.range(&self.document.text, span.start as usize..span.end as usize, self.encoding)
    }

    /// Returns a place in any text that lies in a file; what is built in lies in none.
    pub(super) fn location(&self, span: Span, sources: &Sources, own: SourceId) -> Option<Location> {
        if span.source == own {
            return Some(Location::new(self.document.uri.clone(), self.range(span)));
        }
        let source = sources.get(span.source)?;
        let uri = self.uri(&source.name)?;
        let lines = Lines::of(&source.text);
        Some(Location::new(uri, lines.range(&source.text, span.start as usize..span.end as usize, self.encoding)))
    }

    /// Returns the address of a file by its name in the project, where there is one.
    pub(super) fn uri(&self, name: &str) -> Option<Uri> {
        let path = self.root.join(name);
        path.is_file().then(|| self.documents.uri_of(&path)).flatten()
    }
}
