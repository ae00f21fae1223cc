//! Thresholds that are named once: `let NAME = VALUE { because ..; source .. }` at the top of a rule file.
//!
//! Any rule reads one by its bare name; a workshop's own file puts another value in its place by `replaces`, and every rule
//! that reads it follows. A value may hang on what a failure would do (`let NAME by consequence { .. }`), on figures, on other
//! names and on facts, but on no setting: those come from rules.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use super::check::tidy;
use super::code::{Code, Val};
use super::functions::Functions;
use super::lower::{Locals, Lower, Uses};
use super::names::{Root, Type};
use super::value::Origin;
use crate::diag::{Diagnostic, Sources, Span, nearest};
use crate::syntax::text::Ready;
use crate::syntax::tree::{Expr, ExprKind, Statement, Word, join};

const CONSEQUENCE: &[&str] = <crate::semantics::spec::Consequence as crate::word::Word>::WORDS;

/// Keyword, arguments and help of the statement and of what stands in its block, for the language reference.
pub const STATEMENTS: &[(&str, &str, &str)] = &[
    ("let", "NAME = VALUE { .. }", "a threshold by name, for any rule"),
    (
        "let",
        "NAME by consequence { .. }",
        "one for each consequence of failure: `nuisance VALUE`, `damage VALUE`, `injury VALUE`",
    ),
    (
        "let",
        "NAME = VALUE replaces { .. }",
        "in place of the one of that name in an earlier file, for every rule that reads it",
    ),
    ("because", "\"TEXT\"", "the reason, one sentence"),
    ("source", "KIND KEY ...", "as in a rule"),
];

/// A named threshold, checked.
#[derive(Debug, Clone)]
pub struct Named {
    pub name: String,
    pub because: String,
    /// Kind of source and its keys.
    pub source: String,
    pub source_kind: &'static str,
    pub citations: Vec<String>,
    /// `file:line`
    pub place: String,
    pub span: Span,
    /// The value as written: `15 K`, `nuisance 5 K, damage 10 K, injury 15 K`.
    pub written: String,
    pub kind: Type,
    pub(super) code: Code,
    pub(super) uses: Uses,
    pub(super) origin: Origin,
}

/// Names are unique among the rules in force.
impl PartialEq for Named {
    fn eq(&self, other: &Self) -> bool {
        self.name == other.name
    }
}

pub(super) type Names = BTreeMap<String, Arc<Named>>;

/// A `let` with its name read.
struct Draft<'a> {
    name: Word,
    statement: &'a Statement,
    value: Written<'a>,
}

enum Written<'a> {
    One(&'a Expr),
    ByConsequence,
}

/// What is known when names are checked.
pub(super) struct Known<'a> {
    pub functions: &'a dyn Functions,
    pub ready: &'a Ready,
    pub sources: &'a Sources,
}

/// Checks the `let` statements of all files, in whatever order they stand; the good ones are kept.
pub(super) fn names(
    statements: &[Statement],
    known: &Known<'_>,
    out: &mut Vec<Diagnostic>,
) -> (Names, BTreeSet<String>) {
    let drafts = drafts(statements, out);
    let all: BTreeSet<String> = drafts.keys().cloned().collect();
    let mut names = Names::new();
    let mut open: Vec<&Draft<'_>> = drafts.values().collect();
    let mut wrong: BTreeSet<String> = BTreeSet::new();
    loop {
        let before = open.len();
        open.retain(|draft| {
            let reads = draft.reads();
            // Whatever reads a name that is wrong is no second mistake.
            let lost = reads.iter().any(|word| wrong.contains(word));
            if !lost && reads.iter().any(|word| all.contains(word) && !names.contains_key(word)) {
                return true;
            }
            let checked = if lost { None } else { draft.check(&names, known, out) };
            match checked {
                Some(named) => drop(names.insert(named.name.clone(), Arc::new(named))),
                None => drop(wrong.insert(draft.name.text.clone())),
            }
            false
        });
        if open.len() == before {
            break;
        }
    }
    if let Some(first) = open.first() {
        let cycle: Vec<&str> = open.iter().map(|d| d.name.text.as_str()).collect();
        let message = format!("{} are given by each other", cycle.join(", "));
        out.push(
            Diagnostic::error("rule/let-cycle", first.name.span, message).hint("give one of them a value of its own"),
        );
    }
    let poisoned = all.into_iter().filter(|name| !names.contains_key(name)).collect();
    (names, poisoned)
}

/// Reports names that no rule and no other name reads.
pub(super) fn unread(names: &Names, read: &BTreeSet<String>, out: &mut Vec<Diagnostic>) {
    for named in names.values().filter(|n| !read.contains(&n.name)) {
        let message = format!("no rule reads `{}`", named.name);
        out.push(Diagnostic::warning("rule/let-unread", named.span, message).hint("use it in a rule, or leave it out"));
    }
}

fn drafts<'a>(statements: &'a [Statement], out: &mut Vec<Diagnostic>) -> BTreeMap<String, Draft<'a>> {
    let mut found: BTreeMap<String, Draft<'a>> = BTreeMap::new();
    for statement in statements.iter().filter(|s| s.keyword.text == "let") {
        let Some((draft, replaces)) = draft(statement, out) else { continue };
        let name = &draft.name;
        match found.get(&name.text) {
            Some(earlier) if !replaces => out.push(
                Diagnostic::error("rule/duplicate", name.span, format!("a second `{}`", name.text))
                    .label(earlier.name.span, "the first one")
                    .hint("give it another name, or write `replaces` behind its value to put it in place of the first"),
            ),
            None if replaces => {
                let near = nearest(&name.text, found.keys().map(String::as_str));
                let hint = near.map_or_else(|| "leave out `replaces`".to_owned(), |n| format!("did you mean `{n}`?"));
                let message = format!("there is no earlier `{}` to replace", name.text);
                out.push(Diagnostic::error("rule/replaces-nothing", name.span, message).hint(hint));
            }
            _ => drop(found.insert(name.text.clone(), draft)),
        }
    }
    found
}

fn draft<'a>(statement: &'a Statement, out: &mut Vec<Diagnostic>) -> Option<(Draft<'a>, bool)> {
    let word = |e: Option<&Expr>| e.and_then(Expr::as_word).unwrap_or("").to_owned();
    let (name, rest) = match statement.arguments.split_first() {
        Some((Expr { kind: ExprKind::Name(parts), .. }, rest)) if parts.len() == 1 => (parts.first()?, rest),
        _ => return usage(statement, out),
    };
    let (value, rest) = match rest {
        [Expr { kind: ExprKind::Assign, .. }, value, rest @ ..] => (Written::One(value), rest),
        [by, of, rest @ ..] if word(Some(by)) == "by" && word(Some(of)) == "consequence" => {
            (Written::ByConsequence, rest)
        }
        _ => return usage(statement, out),
    };
    let replaces = match rest {
        [] => false,
        [one] if one.as_word() == Some("replaces") => true,
        _ => return usage(statement, out),
    };
    if let Some(taken) = taken(&name.text) {
        let message = format!("`{}` is not a name for a threshold: {taken}", name.text);
        let hint = "use small letters, digits and underlines, as in `night_shift`";
        out.push(Diagnostic::error("rule/let-name", name.span, message).hint(hint));
        return None;
    }
    Some((Draft { name: name.clone(), statement, value }, replaces))
}

/// Reads what a rule names for itself: `let NAME = EXPRESSION` among its statements.
pub(super) fn locals<'a>(body: &'a [Statement], names: &Names, out: &mut Vec<Diagnostic>) -> Locals<'a> {
    let mut locals = Locals::default();
    for statement in body.iter().filter(|s| s.keyword.text == "let") {
        let (word, value) = match statement.arguments.as_slice() {
            [Expr { kind: ExprKind::Name(parts), .. }, Expr { kind: ExprKind::Assign, .. }, value]
                if parts.len() == 1 && statement.block.is_none() =>
            {
                (&parts[0], value)
            }
            _ => {
                let message = "`let` is not written like this in a rule";
                let hint = "write `let room = EXPRESSION`; its reason and source are the rule's";
                out.push(Diagnostic::error("rule/arguments", statement.head, message).hint(hint));
                continue;
            }
        };
        let twice = locals.given.contains_key(&word.text).then(|| "the rule names it twice".to_owned());
        let of_all = names.contains_key(&word.text).then(|| "a threshold of all rules is called so".to_owned());
        if let Some(why) = twice.or(of_all).or_else(|| taken(&word.text)) {
            let message = format!("`{}` is no name for a rule's own value: {why}", word.text);
            out.push(Diagnostic::error("rule/let-name", word.span, message).hint("give it another name"));
            continue;
        }
        locals.given.insert(word.text.clone(), value);
    }
    locals
}

fn usage<T>(statement: &Statement, out: &mut Vec<Diagnostic>) -> Option<T> {
    let message = "`let` is not written like this";
    let hint = "write `let night_shift = 8 h { because \"...\"; source common-practice }`, or `let NAME by consequence { .. }`";
    out.push(Diagnostic::error("rule/arguments", statement.head, message).hint(hint));
    None
}

/// Why a word cannot name a threshold: the language would not know which of the two is meant.
fn taken(name: &str) -> Option<String> {
    let plain = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_';
    if !name.chars().all(plain) {
        return Some("it is not written in small letters".to_owned());
    }
    if Root::parse(name).is_some() {
        return Some("facts begin with it".to_owned());
    }
    if matches!(name, "true" | "false" | "yes" | "no" | "and" | "or" | "not" | "is" | "in" | "by" | "replaces") {
        return Some("it is a word of the language".to_owned());
    }
    let of_a_set = Root::ALL.iter().flat_map(|root| root.fields().iter().map(move |field| (root, field)));
    let mut of_a_set = of_a_set.filter(|(_, field)| matches!(field.kind, Type::Word(words) if words.contains(&name)));
    of_a_set.next().map(|(root, field)| format!("`{}.{}` may be `{name}`", root.word(), field.name))
}

impl Draft<'_> {
    fn body(&self) -> &[Statement] {
        self.statement.block.as_ref().map_or(&[], |b| &b.statements)
    }

    /// The values, one or one for each consequence.
    fn values(&self) -> Vec<&Expr> {
        match self.value {
            Written::One(expr) => vec![expr],
            Written::ByConsequence => {
                let cases = self.body().iter().filter(|s| CONSEQUENCE.contains(&s.keyword.text.as_str()));
                cases.flat_map(|s| &s.arguments).collect()
            }
        }
    }

    /// Bare words the value reads.
    fn reads(&self) -> Vec<String> {
        let names = self.values().into_iter().flat_map(Expr::names);
        names.filter_map(|parts| if let [word] = parts { Some(word.text.clone()) } else { None }).collect()
    }

    fn check(&self, names: &Names, known: &Known<'_>, out: &mut Vec<Diagnostic>) -> Option<Named> {
        let before = out.len();
        let (settings, none) = (BTreeMap::new(), BTreeSet::new());
        let mut lower = Lower {
            functions: known.functions,
            settings: &settings,
            poisoned: &none,
            names,
            wrong_names: &none,
            locals: Locals::default(),
            ready: known.ready,
            diagnostics: out,
            uses: Uses::default(),
            depth: 0,
        };
        let value = match self.value {
            _ if self.reads_a_setting(lower.diagnostics) => None,
            Written::One(expr) => {
                lower.value(expr).map(|(kind, code)| (kind, code, tidy(known.sources.text(expr.span))))
            }
            Written::ByConsequence => self.by_consequence(&mut lower, known.sources),
        };
        let (mut because, mut source) = (None, None);
        for statement in self.body() {
            match statement.keyword.text.as_str() {
                "because" => because = lower.text(statement).map(|(text, _)| text),
                "source" => source = lower.source(statement, &statement.arguments),
                word if matches!(self.value, Written::ByConsequence) && CONSEQUENCE.contains(&word) => {}
                word => {
                    let message = format!("unknown statement `{word}`");
                    let found = Diagnostic::error("rule/unknown-statement", statement.keyword.span, message);
                    lower.diagnostics.push(found.hint("a `let` has `because` and `source`"));
                }
            }
        }
        self.completeness(lower.diagnostics);
        let uses = lower.uses;
        if out.len() > before {
            return None;
        }
        let ((kind, code, written), (kind_of_source, citations)) = (value?, source?);
        let source = std::iter::once(kind_of_source).chain(citations.iter().map(String::as_str));
        let cited = (!citations.is_empty()).then(|| Arc::from(citations.join(" ")));
        Some(Named {
            name: self.name.text.clone(),
            because: because?,
            source: source.collect::<Vec<_>>().join(" "),
            source_kind: kind_of_source,
            place: known.sources.place(self.statement.span),
            span: self.statement.head,
            written,
            kind,
            code,
            uses,
            origin: Origin::Sourced { at: self.name.span, kind: kind_of_source, source: cited, low: None, high: None },
            citations,
        })
    }

    fn completeness(&self, out: &mut Vec<Diagnostic>) {
        for (word, code, what, hint) in [
            ("because", "rule/no-because", "gives no reason", "write `because \"...\"` in its block"),
            (
                "source",
                "rule/no-source",
                "gives no source",
                "write `source common-practice`, or a kind and a citation, in its block",
            ),
        ] {
            if !self.body().iter().any(|s| s.keyword.text == word) {
                let message = format!("`let {}` {what}", self.name.text);
                out.push(Diagnostic::error(code, self.statement.head, message).hint(hint));
            }
        }
    }

    fn reads_a_setting(&self, out: &mut Vec<Diagnostic>) -> bool {
        let names = self.values().into_iter().flat_map(Expr::names);
        let of_settings = |parts: &&[Word]| parts.first().is_some_and(|w| w.text == "settings");
        let Some(parts) = names.into_iter().find(of_settings) else { return false };
        let at = parts.first().map_or(self.statement.head, |w| w.span);
        let message = format!("a threshold cannot hang on `{}`: settings come from rules", join(parts));
        out.push(Diagnostic::error("rule/let-setting", at, message).hint("write it in the rule that needs it"));
        true
    }

    /// Reads a value for each consequence; the one for damage must lie between the others, or one of them is laxer than meant.
    fn by_consequence(&self, lower: &mut Lower<'_>, sources: &Sources) -> Option<(Type, Code, String)> {
        let mut cases: Vec<&Expr> = Vec::new();
        for word in CONSEQUENCE {
            let mut stated = self.body().iter().filter(|s| s.keyword.text == *word);
            match (stated.next().map(|s| (s.arguments.as_slice(), &s.block)), stated.next()) {
                (Some(([expr], None)), None) => cases.push(expr),
                (found, _) => {
                    let what = if found.is_some() { "one value is wanted" } else { "there is no value" };
                    let message = format!("{what} for `{word}` in `let {} by consequence`", self.name.text);
                    let hint = "write `nuisance`, `damage` and `injury`, each with a value, in its block";
                    lower
                        .diagnostics
                        .push(Diagnostic::error("rule/by-consequence", self.statement.head, message).hint(hint));
                    return None;
                }
            }
        }
        let (kind, codes) = lower.same(&cases)?;
        let written = CONSEQUENCE.iter().zip(&cases).map(|(word, e)| format!("{word} {}", tidy(sources.text(e.span))));
        let written: Vec<String> = written.collect();
        let numbers: Vec<f64> =
            codes.iter().filter_map(|c| if let Some(Val::Number(n)) = c.constant() { Some(n) } else { None }).collect();
        if let [a, b, c] = numbers.as_slice()
            && (*b < a.min(*c) || *b > a.max(*c))
        {
            let at = cases.get(1).map_or(self.statement.head, |e| e.span);
            let found =
                Diagnostic::error("rule/by-consequence", at, "the value for damage does not lie between the other two");
            lower
                .diagnostics
                .push(found.hint("from nuisance to injury a threshold gets stricter all the way, or not at all"));
            return None;
        }
        let code = lower.for_consequence(self.name.span, codes)?;
        Some((kind, code, written.join(", ")))
    }
}
