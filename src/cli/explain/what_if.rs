//! `--with` and `--without`: the spec as it would read with a line more, another, or one less, and what that would decide.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use crate::cli::args::ExplainArgs;
use crate::cli::pipeline::{self, Glance, Options};
use crate::cli::world::{Open, World};
use crate::diag::{Diagnostic, Edit, Severity, Source, SourceId, Sources, Span, nearest};
use crate::semantics::form::{Body, Context, Repeat};
use crate::semantics::vocabulary;
use crate::syntax;
use crate::syntax::tree::{Statement, Tree, join};

/// What is asked to be otherwise, as it was typed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(in crate::cli) enum Asked {
    With(String),
    Without(String),
}

impl Asked {
    /// Returns what a call asks to be otherwise, what goes first.
    pub(super) fn of(args: &ExplainArgs) -> Vec<Self> {
        let without = args.without.iter().cloned().map(Self::Without);
        without.chain(args.with.iter().cloned().map(Self::With)).collect()
    }

    /// Returns it in words.
    pub(in crate::cli) fn words(&self) -> String {
        match self {
            Self::With(text) => format!("`{}`", one_line(text)),
            Self::Without(text) => format!("`{}` (taken out)", one_line(text)),
        }
    }
}

fn one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// A finding about what was asked, and the text it points into.
pub(in crate::cli) type Told = (Vec<Diagnostic>, Sources);

/// Returns the project with the spec as it would read.
///
/// # Errors
///
/// What is asked cannot be read, or speaks of what the spec does not have.
pub(in crate::cli) fn changed(world: &World, spec: &Path, asked: &[Asked], options: &Options) -> Result<World, Told> {
    asked.iter().try_fold(world.clone(), |world, asked| {
        // Each change sees those before it.
        let glance = pipeline::glance(&world, spec, options);
        if glance.diagnostics.iter().any(Diagnostic::is_error) {
            return Err((glance.diagnostics, glance.sources));
        }
        let mut making = Making { glance: &glance, edits: Vec::new() };
        match asked {
            Asked::With(text) => making.with(text)?,
            Asked::Without(text) => making.without(text)?,
        }
        let edits = std::mem::take(&mut making.edits);
        Ok(applied(&world, &glance.sources, edits))
    })
}

/// Returns the project with edits made in the texts it opens in place of its files.
fn applied(world: &World, sources: &Sources, edits: Vec<Edit>) -> World {
    let mut by_source: BTreeMap<SourceId, Vec<Edit>> = BTreeMap::new();
    edits.into_iter().for_each(|edit| by_source.entry(edit.span.source).or_default().push(edit));
    let mut open: Open = world.open_texts().clone();
    for (id, mut edits) in by_source {
        let Some(source) = sources.get(id) else { continue };
        // From the end on, so that the places of those before stay.
        edits.sort_by_key(|edit| std::cmp::Reverse((edit.span.start, edit.span.end)));
        let mut text = source.text.clone();
        for edit in edits {
            let range = edit.span.start as usize..edit.span.end as usize;
            if text.get(range.clone()).is_some() {
                text.replace_range(range, &edit.text);
            }
        }
        let path: PathBuf = world.root().join(&source.name);
        open.insert(path, Arc::from(text));
    }
    world.clone().with_open(Arc::new(open))
}

struct Making<'g> {
    glance: &'g Glance,
    edits: Vec<Edit>,
}

impl Making<'_> {
    fn parts(&self) -> impl Iterator<Item = &Statement> {
        let own = self.glance.trees.first();
        own.into_iter().flat_map(|tree| &tree.statements).filter(|s| s.keyword.text == "part")
    }

    /// Puts a line into every part of the spec, in place of what it says itself.
    fn with(&mut self, text: &str) -> Result<(), Told> {
        let (sources, tree) = read("--with", text)?;
        let mut edits = Vec::new();
        for part in self.parts() {
            for statement in &tree.statements {
                edits.extend(put(part, statement, &sources, Context::Part)?);
            }
        }
        self.edits = edits;
        Ok(())
    }

    /// Takes a line out of every part of the spec, and of the profiles it stands on.
    fn without(&mut self, text: &str) -> Result<(), Told> {
        let (sources, tree) = read("--without", text)?;
        for asked in &tree.statements {
            let found: Vec<Edit> = self.glance.trees.iter().flat_map(|tree| taken_out(tree, asked)).collect();
            if found.is_empty() {
                return Err((vec![nothing(self.glance, asked)], sources));
            }
            self.edits.extend(found);
        }
        Ok(())
    }
}

/// Reads what was asked, as the language reads it.
fn read(option: &str, text: &str) -> Result<(Sources, Tree), Told> {
    let mut sources = Sources::default();
    let id = sources.add(Source::new(option, text));
    let report = syntax::parse(id, text);
    let wrong = report.has_errors();
    match report.value.filter(|tree| !wrong && !tree.statements.is_empty()) {
        Some(tree) => Ok((sources, tree)),
        None if wrong => Err((report.diagnostics, sources)),
        None => {
            let found = Diagnostic::new(Severity::Error, "usage/question", format!("`{option}` says nothing"));
            Err((vec![found.hint("write a line of a spec, as in `service { air -20 °C .. 60 °C }`")], sources))
        }
    }
}

/// Returns the edits that put a statement into a block, in place of the one it is.
fn put(block: &Statement, asked: &Statement, sources: &Sources, context: Context) -> Result<Vec<Edit>, Told> {
    let Some(entry) = vocabulary::find(context, &asked.keyword.text) else {
        let message = format!("`{}` is no statement of {}", asked.keyword.text, context.name());
        let found = Diagnostic::error("keyword/unknown", asked.keyword.span, message);
        let known = vocabulary::statements_of(context).map(|e| e.keyword);
        let told = match nearest(&asked.keyword.text, known) {
            Some(near) => found.meant(near),
            None => found.hint("write it as it would stand in the spec, as in `service { air -20 °C .. 60 °C }`"),
        };
        return Err((vec![told], sources.clone()));
    };
    let inside: Vec<&Statement> = block.block.iter().flat_map(|b| &b.statements).collect();
    let same = |s: &&&Statement| s.keyword.text == asked.keyword.text;
    // A service says several things, each in place of its like.
    if let (Body::Block(inner), Some(asked_block)) = (entry.body, &asked.block)
        && entry.repeat == Repeat::Any
    {
        let blocks: Vec<&Statement> = inside.iter().copied().filter(|s| same(&s)).collect();
        let mut edits = Vec::new();
        for one in &asked_block.statements {
            let told = blocks.iter().find_map(|b| replaced(b, one, sources, inner));
            let more = || format!("{} {{ {} }}", asked.keyword.text, sources.text(one.span));
            edits.extend(told.or_else(|| line_more(block, more())));
        }
        return Ok(edits);
    }
    let text = || sources.text(asked.span).to_owned();
    let told = replaced(block, asked, sources, context).or_else(|| line_more(block, text()));
    Ok(told.into_iter().collect())
}

/// Returns the edit that writes a statement in place of the one of a block that says the same thing.
fn replaced(block: &Statement, asked: &Statement, sources: &Sources, context: Context) -> Option<Edit> {
    let entry = vocabulary::find(context, &asked.keyword.text)?;
    let inside = block.block.as_ref()?.statements.iter();
    let told = inside.filter(|s| s.keyword.text == asked.keyword.text).find(|s| match entry.repeat {
        Repeat::Once => true,
        // A pin of a decision takes the place of another of it.
        Repeat::OncePerName => first(s) == first(asked),
        Repeat::Any => asked.keyword.text == "pin" && first(s) == first(asked),
    })?;
    Some(Edit { span: told.span, text: sources.text(asked.span).to_owned() })
}

/// Returns the edit that puts a line at the end of a block.
fn line_more(block: &Statement, text: String) -> Option<Edit> {
    let end = block.block.as_ref()?.span;
    let close = end.end.saturating_sub(1) as usize;
    Some(Edit { span: Span::new(end.source, close, close), text: format!("\n{text}\n") })
}

/// Returns a statement's first argument, as it tells it from others of its keyword.
fn first(statement: &Statement) -> Option<String> {
    use crate::syntax::tree::ExprKind;
    statement.arguments.first().and_then(|a| match &a.kind {
        ExprKind::Text(text) => Some(text.clone()),
        ExprKind::Name(parts) => Some(join(parts)),
        _ => None,
    })
}

/// Returns the edits that take out of a file every statement of its parts and profiles that is asked to go.
fn taken_out(tree: &Tree, asked: &Statement) -> Vec<Edit> {
    let blocks = tree.statements.iter().filter(|s| matches!(s.keyword.text.as_str(), "part" | "profile"));
    blocks.filter_map(|b| b.block.as_ref()).flat_map(|b| within(&b.statements, asked)).collect()
}

fn within(statements: &[Statement], asked: &Statement) -> Vec<Edit> {
    let mut edits = Vec::new();
    for statement in statements {
        let same = statement.keyword.text == asked.keyword.text;
        let inside = statement.block.as_ref().map_or(&[][..], |b| b.statements.as_slice());
        match &asked.block {
            // `service { sun }`: what is named of the block goes, not the block.
            Some(block) if same && !block.statements.is_empty() => {
                edits.extend(block.statements.iter().flat_map(|one| within(inside, one)));
            }
            _ if same && (asked.arguments.is_empty() || first(statement) == first(asked)) => {
                edits.push(Edit { span: statement.span, text: String::new() });
            }
            // `sun` alone: where it stands in a block of the part.
            _ => edits.extend(within(inside, asked)),
        }
    }
    edits
}

/// Says that the spec has no such line, and which is nearest.
fn nothing(glance: &Glance, asked: &Statement) -> Diagnostic {
    let name = |s: &Statement| match first(s) {
        Some(first) => format!("{} \"{first}\"", s.keyword.text),
        None => s.keyword.text.clone(),
    };
    let mut known: Vec<String> = Vec::new();
    let blocks = glance.trees.iter().flat_map(|t| &t.statements).filter_map(|s| s.block.as_ref());
    for statement in blocks.flat_map(|b| &b.statements) {
        known.push(name(statement));
        known.extend(statement.block.iter().flat_map(|b| &b.statements).map(name));
    }
    let wanted = name(asked);
    let found = Diagnostic::error("usage/question", asked.span, format!("the spec has no `{wanted}`"));
    match nearest(&wanted, known.iter().map(String::as_str)) {
        Some(near) => found.hint(format!("did you mean `{near}`?")),
        None => found.hint("name a line by its keyword and its first word, as in `load \"gust\"`"),
    }
}
