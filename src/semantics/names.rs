//! Names given by `let`: found, evaluated once, and counted so that unused and shadowed ones can be told.

use std::collections::BTreeMap;

use super::checker::Checker;
use super::evaluate::Constant;
use crate::diag::{Diagnostic, Span};
use crate::syntax::tree::{Expr, ExprKind, Statement, Word};

/// Chains of names longer than this are refused: nobody writes them, and evaluation recurses.
const DEEPEST: usize = 64;

/// One `let`.
#[derive(Debug)]
pub(crate) struct Let<'t> {
    pub name: &'t Word,
    /// `None`: the statement was malformed, which is reported where it stands.
    value: Option<&'t Expr>,
    state: State,
    used: bool,
    /// Whether an unused one is worth a warning (those of imported files are not).
    own: bool,
}

#[derive(Debug, Clone)]
enum State {
    Waiting,
    Busy,
    Done(Option<Constant>),
}

/// What a name stands for.
#[derive(Debug, Clone)]
pub(crate) enum Lookup {
    Value(Constant),
    /// It has no value because of an error that has been reported.
    Broken,
    Unknown,
}

/// The names in sight: those of the files, and, within a part or profile, those of its own.
#[derive(Debug, Default)]
pub(crate) struct Names<'t> {
    layers: Vec<BTreeMap<&'t str, Let<'t>>>,
}

impl<'t> Names<'t> {
    pub fn contains(&self, name: &str) -> bool {
        self.layers.iter().any(|layer| layer.contains_key(name))
    }

    pub fn all(&self) -> impl Iterator<Item = &str> {
        self.layers.iter().flat_map(|layer| layer.keys().copied())
    }
}

/// Returns the name and value of a `let` statement; the value is `None` where the statement is malformed.
fn parts(statement: &Statement) -> Option<(&Word, Option<&Expr>)> {
    let ExprKind::Name(words) = &statement.arguments.first()?.kind else { return None };
    let [name] = words.as_slice() else { return None };
    match statement.arguments.as_slice() {
        [_, Expr { kind: ExprKind::Assign, .. }, value] if statement.block.is_none() => Some((name, Some(value))),
        _ => Some((name, None)),
    }
}

/// Tells whether a statement is a `let` that [`Checker::open_names`] takes care of entirely.
pub(crate) fn is_sound_let(statement: &Statement) -> bool {
    statement.keyword.text == "let" && matches!(parts(statement), Some((_, Some(_))))
}

impl<'t> Checker<'t> {
    /// Opens a layer with the lets among these statements; earlier files win over later ones.
    pub(crate) fn open_names(&mut self, files: &[(&'t [Statement], bool)]) {
        let mut layer: BTreeMap<&'t str, Let<'t>> = BTreeMap::new();
        for (statements, own) in files {
            for statement in statements.iter().filter(|s| s.keyword.text == "let") {
                let Some((name, value)) = parts(statement) else { continue };
                if let Some(first) = layer.get(name.text.as_str()) {
                    let (first, name) = (first.name.span, name.clone());
                    self.repeated_name(&name, first);
                    continue;
                }
                self.warn_shadowing(name);
                let new = Let { name, value, state: State::Waiting, used: false, own: *own };
                layer.insert(name.text.as_str(), new);
            }
        }
        self.names.layers.push(layer);
    }

    fn repeated_name(&mut self, name: &Word, first: Span) {
        if first.source == name.span.source {
            self.report(
                Diagnostic::error("name/repeated", name.span, format!("`{}` is named twice", name.text))
                    .here("named again here")
                    .label(first, "first named here")
                    .hint("give one of them another name"),
            );
        } else {
            let message = format!("`{}` of an imported file is shadowed", name.text);
            self.report(
                Diagnostic::warning("name/shadowed", first, message)
                    .here("this one is used")
                    .label(name.span, "this one is not")
                    .hint("give one of them another name"),
            );
        }
    }

    fn warn_shadowing(&mut self, name: &Word) {
        let outer = self.names.layers.iter().rev().find_map(|layer| layer.get(name.text.as_str()));
        if let Some(outer) = outer {
            let message = format!("`{}` shadows the one outside the block", name.text);
            let diagnostic = Diagnostic::warning("name/shadowed", name.span, message)
                .here("used within this block")
                .label(outer.name.span, "shadowed here")
                .hint("give one of them another name");
            self.report(diagnostic);
        }
    }

    /// Closes the innermost layer: evaluates what nobody used, so that its errors show, and warns of it.
    pub(crate) fn close_names(&mut self) {
        let depth = self.names.layers.len();
        let Some(top) = depth.checked_sub(1) else { return };
        let names: Vec<(&'t str, Span, bool)> =
            self.names.layers[top].values().map(|l| (l.name.text.as_str(), l.name.span, l.used || !l.own)).collect();
        for (name, span, quiet) in names {
            self.evaluate_let(top, name);
            if !quiet {
                self.report(
                    Diagnostic::warning("name/unused", span, format!("`{name}` is never used"))
                        .hint("remove it, or use it"),
                );
            }
        }
        self.names.layers.pop();
    }

    /// Returns what a name stands for, seen from the innermost layer.
    pub(crate) fn look_up(&mut self, word: &Word) -> Lookup {
        let from = self.sight.unwrap_or(self.names.layers.len());
        for depth in (0..from).rev() {
            let key = self.names.layers[depth].get_key_value(word.text.as_str()).map(|(key, _)| *key);
            let Some(key) = key else { continue };
            if let Some(found) = self.names.layers[depth].get_mut(key) {
                found.used = true;
            }
            if let Some(Let { state: State::Busy, name, .. }) = self.names.layers[depth].get(key) {
                let diagnostic =
                    Diagnostic::error("name/cycle", word.span, format!("`{}` is defined by way of itself", word.text))
                        .label(name.span, "named here")
                        .hint("give one of them a value of its own");
                self.report(diagnostic);
                return Lookup::Broken;
            }
            return self.evaluate_let(depth, key).map_or(Lookup::Broken, Lookup::Value);
        }
        Lookup::Unknown
    }

    /// Evaluates one let, once; a let sees its own layer and those outside it.
    fn evaluate_let(&mut self, depth: usize, key: &'t str) -> Option<Constant> {
        let found = self.names.layers.get_mut(depth)?.get_mut(key)?;
        if let State::Done(value) = &found.state {
            return value.clone();
        }
        found.state = State::Busy;
        let (expr, name) = (found.value, found.name.span);
        let value = if self.depth < DEEPEST {
            let outer = self.sight.replace(depth + 1);
            self.depth += 1;
            let value = expr.and_then(|e| self.evaluate(e));
            self.depth -= 1;
            self.sight = outer;
            value
        } else {
            let message = format!("names stand for one another more than {DEEPEST} deep");
            self.report(Diagnostic::error("name/too-deep", name, message).hint("give it a value of its own"));
            None
        };
        if let Some(found) = self.names.layers.get_mut(depth).and_then(|l| l.get_mut(key)) {
            found.state = State::Done(value.clone());
        }
        value
    }
}
