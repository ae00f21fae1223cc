//! What a word or a value means, and what it decided: the language's own reference, the catalogue's entry, the recipe's reasons.

use std::fmt::Write as _;

use super::documents::Kind;
use super::names::{Name, Of};
use super::reading::{Outcome, Reading};
use super::yaml;
use crate::cli::{listing, pipeline};
use crate::diag::{SourceId, Span};
use crate::recipe::{Reason, Recipe};
use crate::render::pages;
use crate::rulebook::{RULE_WORDS, Root, help_of_function};
use crate::semantics::Found;
use crate::semantics::form::Entry;
use crate::semantics::reference;
use crate::syntax::tree::{Statement, Word};

/// Most lines of one page that a hover shows.
const MOST_LINES: usize = 28;

/// What is hovered over, and the bytes it covers.
pub(super) struct Hover {
    pub text: String,
    pub span: Span,
}

/// Returns what is to be said of a place of a document.
pub(super) fn at(
    kind: Kind,
    reading: &Reading,
    names: &[Name],
    outcome: Option<&Outcome>,
    offset: usize,
) -> Option<Hover> {
    match kind {
        Kind::Spec | Kind::Run => of_spec(reading, names, outcome, offset),
        Kind::Rules => of_rules(reading, names, offset),
        Kind::Shop => yaml::hover(reading, offset),
        Kind::Other => None,
    }
}

fn of_spec(reading: &Reading, names: &[Name], outcome: Option<&Outcome>, offset: usize) -> Option<Hover> {
    let found = innermost(reading.statements(), offset);
    let name = super::names::at(names, reading.own, offset);
    let mut text = String::new();
    if let Some(name) = name {
        text.push_str(&of_name(reading, names, name));
    }
    // The statement itself, where the place is its keyword or nothing was said of a name.
    let on_keyword = found.is_some_and(|f| offset <= f.head.start as usize + f.entry.keyword.len());
    if let Some(found) = found.filter(|_| on_keyword || text.is_empty()) {
        text.insert_str(0, &statement(found.entry));
    }
    if let Some((found, outcome)) = found.zip(outcome) {
        text.push_str(&decided(found, outcome));
    }
    let span = match (name, found) {
        (Some(name), _) => name.span,
        (None, Some(found)) => found.head,
        (None, None) => return None,
    };
    (!text.is_empty()).then_some(Hover { text, span })
}

/// Returns the innermost statement at a place.
pub(super) fn innermost(statements: &[Found], offset: usize) -> Option<&Found> {
    let holds = |f: &&Found| f.span.start as usize <= offset && offset <= f.span.end as usize;
    let found = statements.iter().filter(holds).min_by_key(|f| f.span.end - f.span.start)?;
    innermost(&found.inner, offset).or(Some(found))
}

/// Returns what the reference says of a statement.
pub(super) fn statement(entry: &Entry) -> String {
    let mut text = format!("**`{}`** {}.\n\n    {}\n", entry.keyword, entry.help, reference::pattern(entry));
    let limits = reference::limits(entry.form);
    if !limits.is_empty() {
        let _ = write!(text, "\nLimits: {}.\n", limits.join("; "));
    }
    let _ = write!(text, "\nExample: `{}`\n", entry.example);
    text
}

/// Says what a name stands for: the line that gives it, or the entry of catalogue and rulebook.
fn of_name(reading: &Reading, names: &[Name], name: &Name) -> String {
    if let Some(given) = names.iter().find(|n| n.given && n.is_same(name)) {
        let line = line_around(reading, given.span);
        let place = reading.sources.place(given.span);
        let shown = if name.given { String::new() } else { format!("{}\n\n{place}\n", fenced(&line)) };
        if name.of != Of::Rule {
            return shown;
        }
    }
    if name.of == Of::Rule {
        return rule(reading, &name.name).unwrap_or_default();
    }
    let entry = name.of.entry().zip(reading.loaded.as_ref());
    let entry = entry.and_then(|(kind, loaded)| listing::entry(loaded, kind, &name.name).ok());
    entry.map(|entry| fenced(&pages::entry(&entry))).unwrap_or_default()
}

fn rule(reading: &Reading, name: &str) -> Option<String> {
    let rule = pipeline::rule_page_of(reading.loaded.as_ref()?, name).ok()?;
    Some(fenced(&pages::rule(&rule)))
}

fn line_around(reading: &Reading, span: Span) -> String {
    let Some(source) = reading.sources.get(span.source) else { return String::new() };
    let start = source.text.get(..span.start as usize).and_then(|t| t.rfind('\n')).map_or(0, |at| at + 1);
    source.text.get(start..).and_then(|t| t.lines().next()).unwrap_or_default().trim().to_owned()
}

/// Returns a page as it is read, at most so many lines of it.
fn fenced(page: &str) -> String {
    let lines: Vec<&str> = page.trim_end().lines().collect();
    let more = lines.len().checked_sub(MOST_LINES).filter(|n| *n > 0);
    let shown = lines.iter().take(MOST_LINES).copied().collect::<Vec<_>>().join("\n");
    // A fence longer than any within it.
    let told = more.map_or(String::new(), |n| format!("\n... and {n} lines more"));
    format!("````text\n{shown}{told}\n````\n")
}

/// Says what the statement came to: margins and decisions that cite it.
fn decided(found: &Found, outcome: &Outcome) -> String {
    let mut text = String::new();
    for part in &outcome.compiled.parts {
        let recipe = &part.recipe;
        if found.is("part") {
            if found.values.text("name").is_some_and(|name| recipe.part == name) {
                let _ = write!(text, "\n**{}**: {}\n\n{}\n", recipe.part, recipe.status_line(), recipe.headline);
            }
            continue;
        }
        // A load, a fit, a contact or a setting has a page of its own.
        let named = found.values.text("name").or(found.values.text("chemical"));
        let page = named.filter(|_| !found.is("face")).and_then(|name| pages::explain(recipe, name));
        match page {
            Some(page) => {
                let _ = write!(text, "\n{}", fenced(&page));
            }
            None => lines(recipe, found.span, outcome.own).iter().for_each(|line| {
                let _ = write!(text, "\n- {line}");
            }),
        }
    }
    if text.is_empty() { text } else { format!("\n---\n{text}\n") }
}

/// Returns a line for each margin and decision that rests on a place.
fn lines(recipe: &Recipe, at: Span, own: SourceId) -> Vec<String> {
    let within = |reason: &Reason| rests_on(reason, at, own);
    let margins = recipe.margins.iter().filter(|m| within(&m.because)).map(|m| {
        let told = &m.told;
        format!("{}: {}, asked {}, there is {}", m.what, m.verdict.words(), told.demand, told.capacity)
    });
    let decisions = recipe.decisions.iter().flat_map(|d| d.all());
    let decided = decisions.flat_map(|(of, decided)| {
        let reasons = decided.because.iter().filter(|reason| within(reason));
        reasons.map(move |reason| format!("{} {}: {}", of.word(), decided.value, told(reason)))
    });
    let rejected = recipe.rejected.iter().filter(|r| within(&r.because));
    let rejected = rejected.map(|r| format!("not {} ({}): {}", r.value, r.decision.word(), told(&r.because)));
    let settings = recipe.settings.iter().filter(|s| within(&s.because));
    let settings = settings.map(|s| format!("{}: {}, {}", s.name.replace('_', " "), s.value, told(&s.because)));
    margins.chain(decided).chain(rejected).chain(settings).take(MOST_LINES).collect()
}

/// Returns whether a reason rests on a place of a text.
fn rests_on(reason: &Reason, at: Span, own: SourceId) -> bool {
    let within = |span: Span| span.source == own && at.start <= span.start && span.end <= at.end.max(at.start + 1);
    let cited = reason.places.iter().filter_map(|cite| cite.at);
    let read = reason.values.iter().filter_map(|used| match &used.from {
        crate::recipe::Basis::Stated(cite) => cite.at,
        _ => None,
    });
    cited.chain(read).any(within)
}

fn told(reason: &Reason) -> String {
    let sources: Vec<String> = reason.source.iter().map(ToString::to_string).collect();
    let rule = reason.rule.as_ref().map_or(String::new(), |rule| format!(" (rule {rule}; {})", sources.join("; ")));
    format!("{}{rule}", reason.text)
}

fn of_rules(reading: &Reading, names: &[Name], offset: usize) -> Option<Hover> {
    if let Some(name) = super::names::at(names, reading.own, offset).filter(|n| !n.given) {
        let text = of_name(reading, names, name);
        if !text.is_empty() {
            return Some(Hover { text, span: name.span });
        }
    }
    let (statement, word) = word_at(&reading.tree()?.statements, offset)?;
    match word {
        // A keyword, or a dotted fact with the place of the whole.
        None => {
            let keyword = &statement.keyword;
            let (_, pattern, help) = RULE_WORDS.iter().find(|(word, ..)| *word == keyword.text)?;
            let text = format!("**`{}`** {help}.\n\n    {} {pattern}\n", keyword.text, keyword.text);
            Some(Hover { text, span: keyword.span })
        }
        Some(parts) => {
            let (first, last) = (parts.first()?, parts.last()?);
            let text = fact(reading, &parts)?;
            Some(Hover { text, span: first.span.to(last.span) })
        }
    }
}

/// Returns what is said of a fact, a function or a threshold.
fn fact(reading: &Reading, parts: &[Word]) -> Option<String> {
    let written = crate::syntax::tree::join(parts);
    let first = parts.first()?.text.as_str();
    let root = Root::parse(first);
    if let Some((root, name)) = root.zip(parts.get(1)) {
        let field = root.field(&name.text)?;
        return Some(format!("**`{written}`** {}: {}.\n", field.kind.noun(), field.help));
    }
    if let Some((usage, help)) = help_of_function(first) {
        return Some(format!("**`{usage}`** {help}.\n"));
    }
    rule(reading, first)
}

/// Returns the innermost statement at a place, and the name there where the place is no keyword.
fn word_at(statements: &[Statement], offset: usize) -> Option<(&Statement, Option<Vec<Word>>)> {
    let holds = |span: Span| span.start as usize <= offset && offset <= span.end as usize;
    let statement = statements.iter().find(|s| holds(s.span))?;
    if holds(statement.keyword.span) {
        return Some((statement, None));
    }
    if let Some(block) = statement.block.as_ref().filter(|b| holds(b.span)) {
        return word_at(&block.statements, offset);
    }
    let within = |parts: &[Word]| parts.first().zip(parts.last()).is_some_and(|(a, b)| holds(a.span.to(b.span)));
    for argument in statement.arguments.iter().filter(|a| holds(a.span)) {
        if let Some(parts) = called_at(argument, &within) {
            return Some((statement, Some(parts)));
        }
    }
    None
}

/// Returns the name in an expression that is at a place; of a text the names between its braces.
fn called_at(expr: &crate::syntax::tree::Expr, within: &dyn Fn(&[Word]) -> bool) -> Option<Vec<Word>> {
    if let Some(parts) = expr.names().into_iter().find(|parts| within(parts)) {
        return Some(parts.to_vec());
    }
    if let Some(name) = expr.calls().into_iter().find(|parts| within(parts)) {
        return Some(name.to_vec());
    }
    let text = expr.as_text()?;
    let inner = crate::syntax::text::expressions(text, expr.span).ok()?;
    inner.iter().find_map(|(_, inner)| called_at(inner, within))
}
