//! The statements of a document as an outline.

use lsp_types::{DocumentSymbol, SymbolKind};

use super::documents::Kind;
use super::published::Audience;
use super::reading::Reading;
use crate::diag::Span;
use crate::semantics::Found;
use crate::syntax::tree::Statement;

/// Returns the outline of a document in our language.
pub(super) fn of(kind: Kind, audience: &Audience<'_>, reading: &Reading) -> Vec<DocumentSymbol> {
    match kind {
        Kind::Rules => {
            let statements = reading.tree().map_or(&[][..], |tree| tree.statements.as_slice());
            statements.iter().map(|s| rule(audience, s)).collect()
        }
        _ => reading.statements().iter().filter_map(|f| statement(audience, reading, f)).collect(),
    }
}

fn statement(audience: &Audience<'_>, reading: &Reading, found: &Found) -> Option<DocumentSymbol> {
    // Of an imported file there are none here.
    if found.span.source != reading.own {
        return None;
    }
    let keyword = found.entry.keyword;
    let named = ["name", "chemical", "file", "spec", "decision"];
    let span = named.iter().find_map(|name| found.values.span(name)).unwrap_or(found.head);
    let written = reading.sources.text(span);
    let name = if span == found.head { one_line(written) } else { format!("{keyword} {}", written.trim_matches('"')) };
    let kind = match keyword {
        "part" => SymbolKind::CLASS,
        "profile" => SymbolKind::INTERFACE,
        "run" | "assembly" => SymbolKind::MODULE,
        "load" => SymbolKind::EVENT,
        "fit" => SymbolKind::INTERFACE,
        "face" => SymbolKind::FIELD,
        "let" => SymbolKind::CONSTANT,
        "mesh" | "use" | "build" => SymbolKind::FILE,
        _ => SymbolKind::PROPERTY,
    };
    let inner: Vec<DocumentSymbol> = found.inner.iter().filter_map(|f| statement(audience, reading, f)).collect();
    Some(symbol(audience, name, kind, found.span, span, inner))
}

fn rule(audience: &Audience<'_>, statement: &Statement) -> DocumentSymbol {
    let first = statement.arguments.first();
    let name = first.and_then(|a| a.as_text().or(a.as_word())).unwrap_or_default();
    let (kind, span) = match statement.keyword.text.as_str() {
        "let" => (SymbolKind::CONSTANT, first.map_or(statement.head, |a| a.span)),
        _ => (SymbolKind::FUNCTION, first.map_or(statement.head, |a| a.span)),
    };
    symbol(audience, format!("{} {name}", statement.keyword.text), kind, statement.span, span, Vec::new())
}

fn symbol(
    audience: &Audience<'_>,
    name: String,
    kind: SymbolKind,
    whole: Span,
    named: Span,
    inner: Vec<DocumentSymbol>,
) -> DocumentSymbol {
    #[expect(deprecated, reason = "the protocol's type has a field that is not used any more")]
    DocumentSymbol {
        name,
        detail: None,
        kind,
        tags: None,
        deprecated: None,
        range: audience.range(whole.to(named)),
        selection_range: audience.range(named),
        children: (!inner.is_empty()).then_some(inner),
    }
}

fn one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}
