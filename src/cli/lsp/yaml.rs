//! The workshop's file in an editor: what a key means, what may stand behind it, where an entry is.

use super::hover::Hover;
use super::reading::Reading;
use crate::catalogue::Field;
use crate::catalogue::shop::reference;
use crate::diag::{SourceId, Sources, Span};

/// Returns what is said of the key at a place.
pub(super) fn hover(reading: &Reading, offset: usize) -> Option<Hover> {
    let word = word_at(reading.text(), offset)?;
    let at = Span::new(reading.own, word.start, word.end);
    let behind = key_of(&reading.sources, reading.own, word.start);
    let path = reference::keys().into_iter().find(|key| Some(key.as_str()) == behind.as_deref())?;
    let field = reference::field(&path)?;
    Some(Hover { text: said(&path, field), span: at })
}

fn said(path: &str, field: &Field) -> String {
    let must = if field.needed { " It must be there." } else { "" };
    let effect = reference::effect(path).map_or(String::new(), |e| format!("\n\nWhat it does; without it: {e}.\n"));
    let help = field.help.trim().trim_end_matches('.');
    format!("**`{path}`** {help}.{must}\n\nWritten: {}\n{effect}", reference::written(path, field.shape))
}

/// Returns the path of the key a place belongs to as the reference has it, items' names left out: `printers.now.spool`.
pub(super) fn key_of(sources: &Sources, own: SourceId, offset: usize) -> Option<String> {
    let cited = sources.cite(Span::new(own, offset, offset));
    let mut names: Vec<&str> = cited.path.split('/').collect();
    // Within braces the word itself may be the key.
    let text = sources.get(own).map_or("", |s| s.text.as_str());
    let word = word_at(text, offset).and_then(|w| text.get(w)).unwrap_or("");
    if text
        .get(offset..)
        .is_some_and(|t| t.trim_start_matches(|c: char| c.is_alphanumeric() || c == '_').starts_with(':'))
        && names.last() != Some(&word)
    {
        names.push(word);
    }
    let keys = reference::keys();
    let fits = |key: &&String| {
        let mut rest = names.iter();
        key.split('.').all(|part| rest.any(|n| *n == part)) && key.split('.').next() == names.first().copied()
    };
    keys.iter().filter(fits).max_by_key(|key| key.split('.').count()).cloned()
}

/// Returns the bytes of the word at a place.
pub(super) fn word_at(text: &str, offset: usize) -> Option<std::ops::Range<usize>> {
    let is_word = |c: char| c.is_alphanumeric() || c == '_' || c == '-' || c == '.';
    let before = text.get(..offset)?;
    let start = before.char_indices().rev().take_while(|(_, c)| is_word(*c)).last().map_or(offset, |(at, _)| at);
    let len: usize = text.get(offset..)?.chars().take_while(|c| is_word(*c)).map(char::len_utf8).sum();
    (start < offset + len).then_some(start..offset + len)
}

/// Returns where a workshop file gives an entry of a list by its name.
pub(super) fn entry(text: &str, section: &str, name: &str) -> Option<std::ops::Range<usize>> {
    let mut within = false;
    let mut at = 0;
    for line in text.split_inclusive('\n') {
        let start = at;
        at += line.len();
        let top = !line.starts_with([' ', '-', '#', '\n', '\r']);
        if top {
            within = line.strip_prefix(section).is_some_and(|rest| rest.starts_with(':'));
        }
        if !within {
            continue;
        }
        let code = line.split(" #").next().unwrap_or(line);
        for (found, _) in code.match_indices(name) {
            let (before, after) = (&code[..found], &code[found + name.len()..]);
            let whole = |c: Option<char>| c.is_none_or(|c| !c.is_alphanumeric() && c != '-' && c != '_');
            let given = before.trim_end_matches(['"', '\'', ' ']);
            let named = given.ends_with("name:") || given.ends_with('-') || (top && given.ends_with(['[', ',']));
            if named && whole(after.chars().next()) {
                return Some(start + found..start + found + name.len());
            }
        }
    }
    None
}

/// Returns what may stand at a place: the keys of its block, or the words of its key.
pub(super) fn words(reading: &Reading, offset: usize) -> Vec<(String, String)> {
    let text = reading.text();
    let start = text.get(..offset).and_then(|t| t.rfind('\n')).map_or(0, |at| at + 1);
    let line = text.get(start..offset).unwrap_or("");
    let key = line.rsplit(['{', ',', '-']).next().unwrap_or("");
    if key.contains(':') {
        let path = key_of(&reading.sources, reading.own, offset.saturating_sub(1));
        return path.map(|path| values(reading, &path)).unwrap_or_default();
    }
    let indent = line.len() - line.trim_start().len();
    let section = if indent == 0 && !line.contains('-') { Some(String::new()) } else { block(text, start, indent) };
    let Some(section) = section else { return Vec::new() };
    let known = reference::SECTIONS.iter().find(|s| s.path == section);
    known.map_or(Vec::new(), |s| s.fields.iter().map(|f| (format!("{}: ", f.name), f.help.trim().to_owned())).collect())
}

/// Returns the path of the block a line set in so far stands in.
fn block(text: &str, before: usize, indent: usize) -> Option<String> {
    let mut names: Vec<&str> = Vec::new();
    let mut left = indent;
    for line in text.get(..before)?.lines().rev() {
        let content = line.trim_start();
        if content.is_empty() || content.starts_with('#') {
            continue;
        }
        let own = line.len() - content.len();
        let key = content.trim_start_matches("- ").split(':').next().unwrap_or("");
        if own < left && content.trim_end().ends_with(':') {
            names.push(key);
            left = own;
        }
        if own == 0 {
            break;
        }
    }
    names.reverse();
    (!names.is_empty()).then(|| names.join("."))
}

fn values(reading: &Reading, path: &str) -> Vec<(String, String)> {
    let catalogue = reading.loaded.as_ref().map(|l| &l.catalogue);
    let names = |of: &dyn Fn(&crate::catalogue::Catalogue) -> Vec<String>| catalogue.map(|c| of(c)).unwrap_or_default();
    let list = match path.rsplit('.').next().unwrap_or("") {
        "material" => names(&|c| c.materials.keys().cloned().collect()),
        "metal" => names(&|c| c.metals.keys().cloned().collect()),
        "colour" => names(&|c| c.colours.keys().cloned().collect()),
        "kind" if path.starts_with("agents") => names(&|c| c.agents.keys().cloned().collect()),
        "agents" | "agent" => names(&|c| c.agents.keys().cloned().collect()),
        "kind" | "surfaces" | "surface" => names(&|c| c.surfaces.keys().cloned().collect()),
        _ => match reference::field(path).map(|f| f.shape) {
            Some(crate::catalogue::Shape::Word(words)) => words.iter().map(|w| (*w).to_owned()).collect(),
            Some(crate::catalogue::Shape::Flag) => vec!["yes".to_owned(), "no".to_owned()],
            _ => Vec::new(),
        },
    };
    list.into_iter().map(|name| (name, String::new())).collect()
}
