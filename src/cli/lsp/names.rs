//! Names in specs, runs and rules: where each is given, and where it is used.
//!
//! What a name is of follows from the pattern of the statement it stands in, so a new statement of the vocabulary needs no line
//! here unless it names something.

use super::reading::Reading;
use crate::diag::{SourceId, Span};
use crate::semantics::spec::{ChoiceValue, Where};
use crate::semantics::{Found, Value};
use crate::syntax::tree::{Expr, ExprKind, Statement};

/// What a name is the name of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Of {
    Part,
    Profile,
    Assembly,
    Run,
    Load,
    Fit,
    Face,
    /// What `let` names.
    Constant,
    Rule,
    /// A file, by its path from this one.
    File,
    Chemical,
    Colour,
    Printer,
    Material,
    Spool,
    Nozzle,
    Surface,
    Agent,
    Setting,
}

impl Of {
    /// Returns whether a name holds in one part or profile only.
    fn is_of_a_block(self) -> bool {
        matches!(self, Self::Load | Self::Fit | Self::Face)
    }

    /// Returns whether it is given in a spec or rule file, so that it can be given another name.
    pub(super) fn is_ours(self) -> bool {
        matches!(
            self,
            Self::Part
                | Self::Profile
                | Self::Assembly
                | Self::Run
                | Self::Load
                | Self::Fit
                | Self::Face
                | Self::Constant
                | Self::Rule
        )
    }

    /// Returns the list of a workshop file that gives such names.
    pub(super) fn section(self) -> Option<&'static str> {
        Some(match self {
            Self::Printer => "printers",
            Self::Spool => "spools",
            Self::Nozzle => "nozzles",
            Self::Surface => "surfaces",
            Self::Agent => "agents",
            _ => return None,
        })
    }

    /// Returns the kind of entry of the catalogue.
    pub(super) fn entry(self) -> Option<&'static str> {
        Some(match self {
            Self::Material => "materials",
            Self::Surface => "surfaces",
            Self::Agent => "agents",
            Self::Chemical => "chemicals",
            Self::Colour => "colours",
            _ => return None,
        })
    }
}

/// A name at a place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Name {
    pub of: Of,
    pub name: String,
    /// The name alone, its quotes left out.
    pub span: Span,
    /// It is given here.
    pub given: bool,
    /// The part or profile whose name it is, where it is of one; empty else.
    pub block: String,
}

impl Name {
    /// Returns whether two are of the same thing.
    pub(super) fn is_same(&self, other: &Name) -> bool {
        (self.of, &self.name, &self.block) == (other.of, &other.name, &other.block)
    }
}

/// Returns every name of a document and of what it imports, in the order of the texts.
pub(super) fn all(reading: &Reading) -> Vec<Name> {
    let mut gathering = Gathering { reading, names: Vec::new() };
    for (tree, found) in reading.trees.iter().zip(&reading.found) {
        found.iter().for_each(|f| gathering.statement(f, ""));
        gathering.rules(&tree.statements);
        gathering.constants(tree.source, &tree.statements);
    }
    let Gathering { mut names, .. } = gathering;
    resolve(&mut names, reading);
    names.sort_by_key(|n| (n.span.source, n.span.start, n.of));
    names.dedup();
    names
}

/// Returns the name at a place of the document.
pub(super) fn at(names: &[Name], own: SourceId, offset: usize) -> Option<&Name> {
    let offset = offset as u32;
    names.iter().find(|n| n.span.source == own && n.span.start <= offset && offset <= n.span.end)
}

struct Gathering<'r> {
    reading: &'r Reading,
    names: Vec<Name>,
}

impl Gathering<'_> {
    fn statement(&mut self, found: &Found, block: &str) {
        let keyword = found.entry.keyword;
        let own;
        let mut block = block;
        if matches!(keyword, "part" | "profile") {
            own = found.values.text("name").unwrap_or_default().to_owned();
            block = &own;
        }
        for (name, value, span) in found.values.iter() {
            self.value(keyword, name, value, span, block, found);
        }
        found.inner.iter().for_each(|f| self.statement(f, block));
    }

    fn value(&mut self, keyword: &str, name: &str, value: &Value, span: Span, block: &str, found: &Found) {
        match value {
            Value::Text(text) => {
                let part = |end| found.values.text(end).unwrap_or_default().to_owned();
                let (of, given, block) = match (keyword, name) {
                    ("part", "name") => (Of::Part, true, String::new()),
                    ("profile", "name") => (Of::Profile, true, String::new()),
                    ("assembly", "name") => (Of::Assembly, true, String::new()),
                    ("run", "name") => (Of::Run, true, String::new()),
                    ("load", "name") => (Of::Load, true, block.to_owned()),
                    ("fit", "name") => (Of::Fit, true, block.to_owned()),
                    ("face", "name") => (Of::Face, true, block.to_owned()),
                    ("deflection", "load") => (Of::Load, false, block.to_owned()),
                    ("distance", "from" | "to") => (Of::Fit, false, block.to_owned()),
                    ("mate", "part" | "other part") | ("build", "part") => (Of::Part, false, String::new()),
                    ("mate", "fit") => (Of::Fit, false, part("part")),
                    ("mate", "other fit") => (Of::Fit, false, part("other part")),
                    ("use" | "mesh", "file") | ("build", "spec") => (Of::File, false, String::new()),
                    ("contact", "chemical") | ("of" | "tight", "medium") => (Of::Chemical, false, String::new()),
                    ("colour", "colour") => (Of::Colour, false, String::new()),
                    ("waive", "rule") => (Of::Rule, false, String::new()),
                    _ => return,
                };
                self.put(of, text, span, given, block);
            }
            Value::Names(names) => {
                let of = match (keyword, name) {
                    (_, "profiles") => Of::Profile,
                    (_, "printers") => Of::Printer,
                    (_, "parts") => Of::Part,
                    _ => return,
                };
                names.iter().for_each(|n| self.put(of, &n.value, n.span, false, String::new()));
            }
            Value::Where(Where::Face(face)) => self.put(Of::Face, face, span, false, block.to_owned()),
            Value::Where(Where::Fit(fit)) => self.put(Of::Fit, fit, span, false, block.to_owned()),
            Value::Decision(_, Some(setting)) => self.put(Of::Setting, setting, span, false, String::new()),
            Value::Choice(ChoiceValue::OnFace(face)) => self.put(Of::Face, face, span, false, block.to_owned()),
            Value::Choice(ChoiceValue::Named(choice)) => {
                let Some(Value::Decision(decision, _)) = found.values.get("decision") else { return };
                use crate::semantics::spec::Decision;
                let of = match decision {
                    Decision::Printer => Of::Printer,
                    Decision::Material => Of::Material,
                    Decision::Spool => Of::Spool,
                    Decision::Nozzle => Of::Nozzle,
                    Decision::Surface => Of::Surface,
                    Decision::Agent => Of::Agent,
                    _ => return,
                };
                self.put(of, choice, span, false, String::new());
            }
            _ => {}
        }
    }

    /// Adds a name; the span may hold its quotes, or a word before it as in `face "seat"`.
    fn put(&mut self, of: Of, name: &str, span: Span, given: bool, block: String) {
        let written = self.reading.sources.text(span);
        let quoted = format!("\"{name}\"");
        let start = match written.find(&quoted) {
            Some(at) => at + 1,
            None => match written.find(name) {
                Some(at) => at,
                // An escape in the text: it is found by nobody, and renamed by nobody.
                None => return,
            },
        };
        let start = span.start as usize + start;
        let span = Span::new(span.source, start, start + name.len());
        self.names.push(Name { of, name: name.to_owned(), span, given, block });
    }

    /// Adds the rules of a rule file.
    fn rules(&mut self, statements: &[Statement]) {
        for statement in statements.iter().filter(|s| s.keyword.text == "rule") {
            let Some(name) = statement.arguments.first() else { continue };
            if let Some(text) = name.as_text() {
                self.put(Of::Rule, text, name.span, true, String::new());
            }
        }
    }

    /// Adds what `let` names, with each use: those of a block hold there alone.
    fn constants(&mut self, source: SourceId, statements: &[Statement]) {
        let mut scopes = Scopes { of: Vec::new(), names: &mut self.names };
        scopes.block(source, statements, "");
    }
}

/// The names given by `let` that are in sight, the innermost last.
struct Scopes<'n> {
    of: Vec<(String, Vec<String>)>,
    names: &'n mut Vec<Name>,
}

impl Scopes<'_> {
    fn block(&mut self, source: SourceId, statements: &[Statement], called: &str) {
        let given: Vec<String> = statements.iter().filter_map(given_at).map(|(name, _)| name.to_owned()).collect();
        self.of.push((called.to_owned(), given));
        for (nth, statement) in statements.iter().enumerate() {
            let skip = usize::from(given_by(statement));
            if let Some((name, span)) = given_at(statement) {
                self.names.push(Name {
                    of: Of::Constant,
                    name: name.to_owned(),
                    span,
                    given: true,
                    block: called.to_owned(),
                });
            }
            statement.arguments.iter().skip(skip).for_each(|expr| self.uses(source, expr));
            if let Some(block) = &statement.block {
                self.block(source, &block.statements, &format!("{called}/{}{nth}", statement.keyword.text));
            }
        }
        self.of.pop();
    }

    fn uses(&mut self, source: SourceId, expr: &Expr) {
        let mut found: Vec<(String, Span)> =
            expr.names().into_iter().filter_map(|parts| parts.first()).map(|w| (w.text.clone(), w.span)).collect();
        if let ExprKind::Text(text) = &expr.kind
            && let Ok(inner) = crate::syntax::text::expressions(text, expr.span)
        {
            let names = inner.iter().flat_map(|(_, e)| e.names()).filter_map(|parts| parts.first());
            found.extend(names.map(|w| (w.text.clone(), w.span)));
        }
        for (name, span) in found {
            let home = self.of.iter().rev().find(|(_, names)| names.contains(&name));
            // What an imported file names is of no block.
            let block = home.map(|(called, _)| called.clone()).unwrap_or_default();
            self.names.push(Name { of: Of::Constant, name, span: Span { source, ..span }, given: false, block });
        }
    }
}

fn given_by(statement: &Statement) -> bool {
    statement.keyword.text == "let"
}

/// Returns the name a `let` gives.
fn given_at(statement: &Statement) -> Option<(&str, Span)> {
    let first = statement.arguments.first().filter(|_| given_by(statement))?;
    first.as_word().map(|word| (word, first.span))
}

/// Leaves words out that are no names after all, and finds the profile that gives what a part uses of it.
fn resolve(names: &mut Vec<Name>, reading: &Reading) {
    let given: Vec<Name> = names.iter().filter(|n| n.given).cloned().collect();
    let known =
        |of: Of, name: &str, block: &str| given.iter().any(|g| g.of == of && g.name == name && g.block == block);
    names.retain(|n| n.of != Of::Constant || n.given || known(n.of, &n.name, &n.block));
    let bases = bases(reading);
    for name in names.iter_mut().filter(|n| n.of.is_of_a_block() && !n.given) {
        let mut todo = vec![name.block.clone()];
        let mut seen: Vec<String> = Vec::new();
        while let Some(block) = todo.pop() {
            if known(name.of, &name.name, &block) {
                name.block = block;
                break;
            }
            if !seen.contains(&block) {
                // A later profile wins over an earlier one.
                todo.extend(bases.iter().filter(|(of, _)| *of == block).flat_map(|(_, bases)| bases.clone()));
                seen.push(block);
            }
        }
    }
}

/// Returns the profiles each part and profile stands on.
fn bases(reading: &Reading) -> Vec<(String, Vec<String>)> {
    let blocks = reading.found.iter().flatten().filter(|f| f.is("part") || f.is("profile"));
    let of = |f: &Found| {
        let bases = f.values.names("profiles").iter().map(|p| p.value.clone()).collect();
        Some((f.values.text("name")?.to_owned(), bases))
    };
    blocks.filter_map(of).collect()
}
