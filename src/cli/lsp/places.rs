//! Where a name is given, where it is used, and its being given another one.

use lsp_types::{Location, Position, Range, TextDocumentPositionParams, WorkspaceEdit};

use super::documents::Kind;
use super::edits;
use super::names::{self, Name, Of};
use super::positions::Lines;
use super::reading::Reading;
use super::requests::{beside, document};
use super::server::State;
use super::yaml;
use crate::diag::Edit;
use crate::semantics::vocabulary;

/// Returns where the name at a place is given.
pub(super) fn definition(state: &State, at: &TextDocumentPositionParams) -> Option<Vec<Location>> {
    let (document, offset) = document(state, at)?;
    let reading = state.reading(&document.uri)?;
    let audience = state.audience(document, &reading.root);
    let names = state.names(&document.uri);
    if document.kind == Kind::Shop {
        return of_shop(state, at);
    }
    let name = names::at(&names, reading.own, offset)?;
    if name.of == Of::File {
        let path = beside(document, &name.name)?;
        let start = Range::new(Position::new(0, 0), Position::new(0, 0));
        return Some(vec![Location::new(state.documents.uri_of(&path)?, start)]);
    }
    let given = names.iter().filter(|n| n.given && n.is_same(name));
    let here: Vec<Location> = given.filter_map(|n| audience.location(n.span, &reading.sources, reading.own)).collect();
    if !here.is_empty() {
        return Some(here);
    }
    if name.of == Of::Rule {
        let rule = reading.loaded.as_ref()?.rulebook.get(&name.name)?;
        let place = &reading.loaded.as_ref()?.sources;
        return Some(vec![audience.location(rule.span, place, reading.own)?]);
    }
    in_shop(state, reading, name).map(|location| vec![location])
}

/// Returns where the workshop file that counts gives a name.
fn in_shop(state: &State, reading: &Reading, name: &Name) -> Option<Location> {
    let file = reading.loaded.as_ref()?.shop_file.clone()?;
    let path = reading.root.join(file);
    let open = state.documents.iter().find(|d| d.path == path).map(|d| String::from(&*d.text));
    let text = open.or_else(|| std::fs::read_to_string(&path).ok())?;
    let range = yaml::entry(&text, name.of.section()?, &name.name)?;
    let lines = Lines::of(&text);
    Some(Location::new(state.documents.uri_of(&path)?, lines.range(&text, range, state.encoding)))
}

/// Within a workshop file: the entry of it that a value names.
fn of_shop(state: &State, at: &TextDocumentPositionParams) -> Option<Vec<Location>> {
    let (document, offset) = document(state, at)?;
    let reading = state.reading(&document.uri)?;
    let word = yaml::word_at(&document.text, offset)?;
    let key = yaml::key_of(&reading.sources, reading.own, word.start)?;
    let section = match key.rsplit('.').next()? {
        "printer" => "printers",
        "nozzle" | "nozzles" => "nozzles",
        "surface" | "surfaces" => "surfaces",
        "agent" | "agents" => "agents",
        "spool" => "spools",
        _ => return None,
    };
    let name = document.text.get(word)?;
    let range = yaml::entry(&document.text, section, name)?;
    let range = document.lines.range(&document.text, range, state.encoding);
    Some(vec![Location::new(document.uri.clone(), range)])
}

/// Returns every place of the name at a place, in the document, what it uses, and every other open one.
pub(super) fn references(state: &State, at: &TextDocumentPositionParams, with_given: bool) -> Option<Vec<Location>> {
    let (document, offset) = document(state, at)?;
    let reading = state.reading(&document.uri)?;
    let names = state.names(&document.uri);
    let name = names::at(&names, reading.own, offset)?;
    let mut found: Vec<Location> = Vec::new();
    for other in state.documents.iter() {
        let Some(reading) = state.reading(&other.uri) else { continue };
        let audience = state.audience(other, &reading.root);
        let same = state.names(&other.uri).into_iter().filter(|n| n.is_same(name) && (with_given || !n.given));
        for place in same.filter_map(|n| audience.location(n.span, &reading.sources, reading.own)) {
            if !found.contains(&place) {
                found.push(place);
            }
        }
    }
    Some(found)
}

/// Returns the places of a name within the document alone.
pub(super) fn within(state: &State, at: &TextDocumentPositionParams) -> Option<Vec<Range>> {
    let (document, offset) = document(state, at)?;
    let reading = state.reading(&document.uri)?;
    let names = state.names(&document.uri);
    let name = names::at(&names, reading.own, offset)?;
    let audience = state.audience(document, &reading.root);
    let here = names.iter().filter(|n| n.span.source == reading.own && n.is_same(name));
    Some(here.map(|n| audience.range(n.span)).collect())
}

/// Returns the range of a name that can be given another one.
pub(super) fn renameable(state: &State, at: &TextDocumentPositionParams) -> Option<Range> {
    let (document, offset) = document(state, at)?;
    let reading = state.reading(&document.uri)?;
    let names = state.names(&document.uri);
    let name = names::at(&names, reading.own, offset).filter(|n| n.of.is_ours())?;
    // What is given in a text that is built in keeps its name.
    let given = names.iter().find(|n| n.given && n.is_same(name))?;
    let audience = state.audience(document, &reading.root);
    audience.location(given.span, &reading.sources, reading.own)?;
    Some(audience.range(name.span))
}

/// Gives the name at a place another one, wherever it stands in the document and what it uses.
///
/// # Errors
///
/// Says why it cannot be.
pub(super) fn rename(state: &State, at: &TextDocumentPositionParams, new: &str) -> Result<WorkspaceEdit, String> {
    renameable(state, at).ok_or("there is no name of a spec here that could be changed")?;
    let found = document(state, at).and_then(|(document, offset)| {
        let reading = state.reading(&document.uri)?;
        Some((document, offset, reading, state.names(&document.uri)))
    });
    let (document, offset, reading, names) = found.ok_or("the document is being read")?;
    let name = names::at(&names, reading.own, offset).ok_or("there is no name here")?;
    sound(name.of, new)?;
    if names.iter().any(|n| n.given && n.of == name.of && n.block == name.block && n.name == new) {
        return Err(format!("there is a `{new}` already"));
    }
    let same = names.iter().filter(|n| n.is_same(name));
    let list: Vec<Edit> = same.map(|n| Edit { span: n.span, text: new.to_owned() }).collect();
    let audience = state.audience(document, &reading.root);
    edits::workspace(&list, &audience, &reading.sources, reading.own).ok_or_else(|| "it lies in no file".to_owned())
}

/// Says what is wrong with a name.
fn sound(of: Of, new: &str) -> Result<(), String> {
    if matches!(of, Of::Constant | Of::Profile) {
        let word = new.starts_with(|c: char| c.is_alphabetic() || c == '_')
            && new.chars().all(|c| c.is_alphanumeric() || c == '_' || c == '-');
        if !word {
            return Err(format!("`{new}` is no name: it is a word of letters, digits, `_` and `-`"));
        }
        if vocabulary::VOCABULARY.iter().any(|e| e.keyword == new) {
            return Err(format!("`{new}` is a statement of the language"));
        }
    } else if new.is_empty() || new.contains(['"', '\\', '\n', '\r']) {
        return Err("a name in quotes holds no quotes, backslashes or line ends, and is not empty".to_owned());
    }
    Ok(())
}
