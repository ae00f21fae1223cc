//! From `rule` statements to checked rules: every mistake located, the good rules kept.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use super::Rulebook;
use super::consistency;
use super::example;
use super::facts::words::MarginVerdict;
use super::functions::Functions;
use super::lower::{Locals, Lower, Uses};
use super::named;
use super::names::{Root, Touches, Type};
use super::rule::{CautionKind, Phase, Rule, Verdict};
use crate::diag::{Diagnostic, Report, Sources, Span, nearest};
use crate::quantity::{Dimension, parse_unit};
use crate::syntax::text::Ready;
use crate::syntax::tree::{Expr, ExprKind, Statement, Word, join};

/// Keyword, arguments and help of each statement of a rule, for the language reference.
pub const STATEMENTS: &[(&str, &str, &str)] = &[
    (
        "let",
        "NAME = EXPRESSION",
        "a name of the rule's own for what several of its statements read; a threshold is named above the rules",
    ),
    ("when", "CONDITION", "the rule applies only where this holds; several must all hold"),
    ("require", "CONDITION", "must hold, or the candidate is refused"),
    ("otherwise", "\"TEXT\"", "what to say when a requirement is broken or a preference counts"),
    (
        "prefer",
        "less WEIGHT per AMOUNT of EXPRESSION | another WEIGHT",
        "a penalty: so much for every amount of something, or flat",
    ),
    (
        "derive",
        "settings.NAME = EXPRESSION | margin.verdict = WORD | margin.asks_first = CONDITION",
        "gives a setting its value, a rule with `when` before one without; or judges a margin: of several verdicts the worst counts, and one that asks first is enough",
    ),
    (
        "step",
        "PHASE ORDER \"TEXT\" blank \"LABEL\" ...",
        "a line of the checklist: prepare, change-over, first-layer, during, removal, finish, inspect",
    ),
    ("caution", "KIND \"TEXT\"", "a caution: injury, fire, health, load, damage, quality"),
    (
        "question",
        "open | first \"TEXT\"",
        "a question of the recipe; one that comes first is to be settled before it is printed",
    ),
    (
        "withhold",
        "\"USE\" \"TEXT\"",
        "a use the page is marked as not for, and what would establish it; a question first",
    ),
    ("binding", "", "no waiver sets the rule aside"),
    ("defers", "", "it touches people: a page that refuses defers to codes and licensed practice"),
    ("because", "\"TEXT\"", "the reason, one sentence"),
    (
        "source",
        "KIND KEY ...",
        "standard, handbook, paper or library with a citation; common-practice, from-memory or computed",
    ),
    (
        "example",
        "refuses | accepts | fires | quiet | undetermined | derives VALUE | weighs NUMBER | says \"TEXT\" { FACTS }",
        "facts in, verdict out; run by `makeready check`",
    ),
];

/// Kinds of source; the first four need a citation.
pub const SOURCE_KINDS: &[&str] =
    &["standard", "handbook", "paper", "library", "common-practice", "from-memory", "computed"];

/// What may stand beside rules in a source file; these are other readers' business.
const NEIGHBOURS: &[&str] = &["use", "profile", "part", "assembly"];

/// Checks `rule` statements into a rulebook. Statements of other kinds that may stand in the same file are passed over.
///
/// A rule may replace one of an earlier source by `rule "NAME" replaces { .. }`. The value is there even if there are
/// errors: it holds the rules that are right.
pub fn build(statements: &[Statement], sources: &Sources, functions: &dyn Functions) -> Report<Rulebook> {
    build_with(statements, &Ready::new(), sources, functions)
}

/// As [`build`], with expressions of texts that were read beforehand.
pub fn build_with(
    statements: &[Statement],
    ready: &Ready,
    sources: &Sources,
    functions: &dyn Functions,
) -> Report<Rulebook> {
    let mut diagnostics = Vec::new();
    let drafts = drafts(statements, sources, &mut diagnostics);
    let (names, wrong_names) = named::names(statements, &named::Known { functions, ready, sources }, &mut diagnostics);
    let (settings, poisoned) = setting_types(&drafts, functions, &names, &mut diagnostics);
    let known =
        Known { functions, settings: &settings, poisoned: &poisoned, names: &names, wrong_names: &wrong_names, ready };
    let mut rules = Vec::new();
    for draft in &drafts {
        let before = diagnostics.len();
        let rule = check_rule(draft, sources, &known, &mut diagnostics);
        if let Some(rule) = rule
            && !diagnostics.iter().skip(before).any(Diagnostic::is_error)
        {
            rules.push(rule);
        }
    }
    rules.sort_by(|a, b| a.name.cmp(&b.name));
    if !diagnostics.iter().any(Diagnostic::is_error) {
        let of_names = names.values().flat_map(|n| n.uses.thresholds.iter());
        let read = rules.iter().flat_map(|r| &r.thresholds).chain(of_names).cloned().collect();
        named::unread(&names, &read, &mut diagnostics);
    }
    spread_touches(&mut rules);
    let order = consistency::setting_order(&rules, &mut diagnostics);
    consistency::contradictions(&rules, &mut diagnostics);
    let mut book = Rulebook::assemble(rules, settings, order);
    book.shares = shares(&drafts, &names);
    book.names = names;
    Report { value: Some(book), diagnostics }
}

/// A rule statement with its name read.
struct Draft<'a> {
    name: String,
    statement: &'a Statement,
    body: &'a [Statement],
}

fn drafts<'a>(statements: &'a [Statement], sources: &Sources, diagnostics: &mut Vec<Diagnostic>) -> Vec<Draft<'a>> {
    let mut found: BTreeMap<String, (Draft<'a>, bool)> = BTreeMap::new();
    for statement in statements {
        if statement.keyword.text != "rule" {
            if statement.keyword.text != "let" && !NEIGHBOURS.contains(&statement.keyword.text.as_str()) {
                diagnostics.push(
                    Diagnostic::error(
                        "rule/unknown-statement",
                        statement.keyword.span,
                        format!("`{}` does not begin a rule", statement.keyword.text),
                    )
                    .hint("write `rule \"a-name\" { ... }`, or `let NAME = VALUE { ... }` for a threshold"),
                );
            }
            continue;
        }
        let Some((draft, replaces)) = draft(statement, diagnostics) else { continue };
        match found.get(&draft.name) {
            Some((earlier, _)) if !replaces => diagnostics.push(
                Diagnostic::error("rule/duplicate", statement.head, format!("a second rule `{}`", draft.name))
                    .label(earlier.statement.head, "the first one")
                    .hint("give it another name, or write `replaces` after the name to put it in place of the first"),
            ),
            None if replaces => diagnostics.push(
                Diagnostic::error(
                    "rule/replaces-nothing",
                    statement.head,
                    format!("there is no earlier rule `{}` to replace", draft.name),
                )
                .hint(
                    nearest(&draft.name, found.keys().map(String::as_str))
                        .map_or_else(|| "leave out `replaces`".to_owned(), |near| format!("did you mean `{near}`?")),
                ),
            ),
            _ => {
                found.insert(draft.name.clone(), (draft, replaces));
            }
        }
    }
    let _ = sources;
    found.into_values().map(|(draft, _)| draft).collect()
}

fn draft<'a>(statement: &'a Statement, diagnostics: &mut Vec<Diagnostic>) -> Option<(Draft<'a>, bool)> {
    let name = match statement.arguments.first().map(|a| &a.kind) {
        Some(ExprKind::Text(text)) => text.clone(),
        Some(ExprKind::Name(parts)) => join(parts),
        _ => {
            diagnostics.push(
                Diagnostic::error("rule/no-name", statement.head, "a rule needs a name")
                    .hint("write `rule \"what-it-says\" { ... }`"),
            );
            return None;
        }
    };
    let plain = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-';
    if name.is_empty() || !name.chars().all(plain) {
        diagnostics.push(
            Diagnostic::error("rule/name", statement.head, format!("`{name}` is not a name for a rule"))
                .hint("use small letters, digits and hyphens, as in `hot-end-reaches`"),
        );
        return None;
    }
    let replaces = match statement.arguments.get(1) {
        None => false,
        Some(word) if word.as_word() == Some("replaces") => true,
        Some(other) => {
            diagnostics.push(
                Diagnostic::error("rule/stray-argument", other.span, format!("{} is not expected here", other.noun()))
                    .hint("after the name stands the block, or `replaces`"),
            );
            return None;
        }
    };
    let Some(block) = &statement.block else {
        diagnostics.push(
            Diagnostic::error("rule/no-block", statement.head, format!("the rule `{name}` says nothing"))
                .hint("write its statements in braces: `when`, `require`, `because`, `source` ..."),
        );
        return None;
    };
    Some((Draft { name, statement, body: &block.statements }, replaces))
}

/// Finds the type of each setting from the expressions that derive it, whatever order the rules stand in.
fn setting_types<'a>(
    drafts: &[Draft<'a>],
    functions: &dyn Functions,
    names: &named::Names,
    diagnostics: &mut Vec<Diagnostic>,
) -> (BTreeMap<String, Type>, BTreeSet<String>) {
    let derived = |d: &Draft<'a>| {
        let own = named::locals(d.body, names, &mut Vec::new()).given;
        let parts = d.body.iter().filter(|s| s.keyword.text == "derive").filter_map(derive_parts);
        parts.map(|(setting, expr)| (setting, expr, own.clone())).collect::<Vec<_>>()
    };
    let mut open: Vec<(&Word, &Expr, BTreeMap<String, &Expr>)> = drafts.iter().flat_map(derived).collect();
    let (mut types, none, ready) = (BTreeMap::new(), BTreeSet::new(), Ready::new());
    loop {
        let before = open.len();
        open.retain(|(setting, expr, own)| {
            let mut quiet = Vec::new();
            let mut lower = Lower {
                functions,
                settings: &types,
                poisoned: &none,
                names,
                wrong_names: &none,
                locals: Locals { given: own.clone(), ..Locals::default() },
                ready: &ready,
                diagnostics: &mut quiet,
                uses: Uses::default(),
                depth: 0,
            };
            match lower.value(expr) {
                Some((kind, _)) => {
                    types.entry(setting.text.clone()).or_insert(kind);
                    false
                }
                None => true,
            }
        });
        if open.len() == before {
            break;
        }
    }
    let poisoned: BTreeSet<String> =
        open.iter().map(|(setting, ..)| setting.text.clone()).filter(|s| !types.contains_key(s)).collect();
    let open: Vec<(&Word, &Expr)> = open.into_iter().map(|(setting, expr, _)| (setting, expr)).collect();
    for (setting, expr) in &open {
        report_cycle(setting, expr, &open, &poisoned, diagnostics);
    }
    (types, poisoned)
}

/// Returns the settings whose values are written in percent.
fn shares(drafts: &[Draft<'_>], names: &named::Names) -> BTreeSet<String> {
    let derived = drafts.iter().flat_map(|d| d.body).filter(|s| s.keyword.text == "derive").filter_map(derive_parts);
    derived.filter(|(_, expr)| in_percent(expr, names)).map(|(setting, _)| setting.text.clone()).collect()
}

/// Whether what an expression comes to is written in percent somewhere: itself, or a branch or fallback of it.
fn in_percent(expr: &Expr, names: &named::Names) -> bool {
    let in_percent = |expr: &Expr| in_percent(expr, names);
    match &expr.kind {
        ExprKind::Number { unit: Some(unit), .. } => unit.text == "%",
        ExprKind::Name(_) => expr.as_word().and_then(|w| names.get(w)).is_some_and(|n| n.written.ends_with('%')),
        ExprKind::Call { name, arguments } if join(name) == "choose" => arguments.iter().skip(1).any(in_percent),
        ExprKind::Call { name, arguments } if super::functions::builtin(&join(name)).is_some() => {
            arguments.iter().any(in_percent)
        }
        _ => false,
    }
}

/// Returns name and expression of `derive settings.NAME = EXPR`.
fn derive_parts(statement: &Statement) -> Option<(&Word, &Expr)> {
    let [target, assign, value] = statement.arguments.as_slice() else { return None };
    let ExprKind::Name(parts) = &target.kind else { return None };
    let ([root, setting], ExprKind::Assign) = (parts.as_slice(), &assign.kind) else { return None };
    (root.text == "settings").then_some((setting, value))
}

/// The names under which rules judge a margin: whether it holds, and whether it is to be settled before printing.
pub const VERDICT: &str = "margin.verdict";
pub const ASKS_FIRST: &str = "margin.asks_first";

/// Whether what a rule derives is the judgement of a margin rather than a setting.
pub(super) fn is_judgement(derived: &str) -> bool {
    [VERDICT, ASKS_FIRST].contains(&derived)
}

/// Returns name, place and expression of `derive margin.verdict = EXPR`.
fn judged_parts(statement: &Statement) -> Option<(&'static str, Span, &Expr)> {
    let [target, assign, value] = statement.arguments.as_slice() else { return None };
    let (ExprKind::Name(parts), ExprKind::Assign) = (&target.kind, &assign.kind) else { return None };
    let name = [VERDICT, ASKS_FIRST].into_iter().find(|name| join(parts) == *name)?;
    Some((name, target.span, value))
}

/// Settings that were never typed because they derive from each other; once per cycle, at its first name.
fn report_cycle(
    setting: &Word,
    expr: &Expr,
    open: &[(&Word, &Expr)],
    poisoned: &BTreeSet<String>,
    diagnostics: &mut Vec<Diagnostic>,
) {
    let mut reached = BTreeSet::new();
    let mut todo = settings_in(expr);
    while let Some(next) = todo.pop() {
        if poisoned.contains(&next) && reached.insert(next.clone()) {
            todo.extend(open.iter().filter(|(s, _)| s.text == next).flat_map(|(_, e)| settings_in(e)));
        }
    }
    let first = reached.iter().next();
    if reached.contains(&setting.text) && first == Some(&setting.text) {
        let cycle: Vec<&str> = reached.iter().map(String::as_str).collect();
        diagnostics.push(
            Diagnostic::error(
                "rule/derive-cycle",
                setting.span,
                format!("the settings {} derive from each other", cycle.join(", ")),
            )
            .hint("let one of them follow from the decisions alone"),
        );
    }
}

fn settings_in(expr: &Expr) -> Vec<String> {
    let setting = |parts: &[Word]| match parts {
        [root, setting, ..] if root.text == "settings" => Some(setting.text.clone()),
        _ => None,
    };
    expr.names().into_iter().filter_map(setting).collect()
}

/// A setting touches what the rules that derive it touch, and so on through the settings they use.
fn spread_touches(rules: &mut [Rule]) {
    let mut by_setting: BTreeMap<String, Touches> = BTreeMap::new();
    loop {
        let mut changed = false;
        for rule in rules.iter_mut() {
            let wanted =
                rule.settings_used.iter().filter_map(|s| by_setting.get(s)).fold(rule.touches, |sum, t| sum.union(*t));
            changed |= wanted != rule.touches;
            rule.touches = wanted;
            for verdict in &rule.verdicts {
                if let Verdict::Derive { setting, .. } = verdict {
                    let slot = by_setting.entry(setting.to_string()).or_default();
                    let union = slot.union(rule.touches);
                    changed |= union != *slot;
                    *slot = union;
                }
            }
        }
        if !changed {
            return;
        }
    }
}

/// What has been read of a rule so far.
#[derive(Default)]
struct Reading {
    when: Vec<super::code::Code>,
    when_written: Vec<String>,
    otherwise: Option<super::template::Template>,
    verdicts: Vec<Verdict>,
    binding: bool,
    defers: bool,
    because: Option<String>,
    source: Option<(&'static str, Vec<String>)>,
    examples: Vec<example::Example>,
}

/// What is known when a rule is checked.
struct Known<'a> {
    functions: &'a dyn Functions,
    settings: &'a BTreeMap<String, Type>,
    poisoned: &'a BTreeSet<String>,
    names: &'a named::Names,
    wrong_names: &'a BTreeSet<String>,
    ready: &'a Ready,
}

fn check_rule(
    draft: &Draft<'_>,
    sources: &Sources,
    known: &Known<'_>,
    diagnostics: &mut Vec<Diagnostic>,
) -> Option<Rule> {
    let Known { functions, settings, poisoned, names, wrong_names, ready } = *known;
    let locals = named::locals(draft.body, names, diagnostics);
    let mut lower = Lower {
        functions,
        settings,
        poisoned,
        names,
        wrong_names,
        locals,
        ready,
        diagnostics,
        uses: Uses::default(),
        depth: 0,
    };
    let mut reading = Reading::default();
    for statement in draft.body {
        lower.statement(statement, sources, &mut reading);
    }
    let head = draft.statement.head;
    lower.completeness(draft);
    let idle: Vec<String> = lower.locals.given.keys().filter(|n| !lower.locals.read.contains(*n)).cloned().collect();
    for name in idle {
        let message = format!("the rule does not read its own `{name}`");
        let found = Diagnostic::warning("rule/let-unread", draft.statement.head, message);
        lower.diagnostics.push(found.hint("use it in a condition, a value or a text, or leave it out"));
    }
    let Uses { touches, mut each, settings: settings_used, names, functions: called, thresholds } = lower.uses;
    // A margin speaks of a contact, a load or a fit; a rule may read that besides.
    if let Some(span) = each.get(&Root::Margin).copied().filter(|_| each.len() == 2) {
        each = BTreeMap::from([(Root::Margin, span)]);
    }
    let mut roots = each.iter();
    let first = roots.next();
    if let (Some((a, _)), Some((b, span))) = (first, roots.next()) {
        diagnostics.push(
            Diagnostic::error(
                "rule/two-instances",
                *span,
                format!("a rule is judged per {} or per {}, not both", a.word(), b.word()),
            )
            .hint("write two rules"),
        );
        return None;
    }
    let each = first.map(|(root, _)| *root);
    let judges =
        reading.verdicts.iter().any(|v| matches!(v, Verdict::Derive { setting, .. } if setting.as_ref() == VERDICT));
    if judges && (names.contains(VERDICT) || names.contains(ASKS_FIRST)) {
        let message = "a rule that judges a margin cannot read the verdict";
        diagnostics.push(Diagnostic::error("rule/derive-cycle", head, message).hint(
            "judge by `margin.ratio`, `margin.room` and the like; what follows from a verdict is another rule's",
        ));
        return None;
    }
    let of_setting = |v: &Verdict| matches!(v, Verdict::Derive { setting, .. } if !is_judgement(setting));
    if each.is_some() && reading.verdicts.iter().any(of_setting) {
        diagnostics.push(
            Diagnostic::error("rule/setting-per-instance", head, "a setting has one value, not one per instance")
                .hint("derive it from names that stand for the whole part"),
        );
        return None;
    }
    let (source_kind, citations) = reading.source?;
    let source = std::iter::once(source_kind).chain(citations.iter().map(String::as_str));
    Some(Rule {
        name: draft.name.clone(),
        because: reading.because?,
        source: source.collect::<Vec<_>>().join(" "),
        source_kind: source_kind.to_owned(),
        citations,
        place: sources.place(draft.statement.span),
        span: head,
        touches,
        each,
        names: names.into_iter().collect(),
        functions: called.into_iter().collect(),
        thresholds: thresholds.into_iter().collect(),
        verdicts: reading.verdicts,
        binding: reading.binding,
        defers: reading.defers,
        examples: reading.examples,
        when_written: reading.when_written,
        when: reading.when,
        otherwise: reading.otherwise,
        settings_used,
    })
}

impl Lower<'_> {
    /// What every rule owes; a statement that is there but wrong has been reported already.
    fn completeness(&mut self, draft: &Draft<'_>) {
        let has = |words: &[&str]| draft.body.iter().any(|s| words.contains(&s.keyword.text.as_str()));
        let owed = [
            (
                &["require", "prefer", "derive", "step", "caution", "question", "withhold"][..],
                "rule/no-verdict",
                "does nothing",
                "give it a `require`, `prefer`, `derive`, `step`, `caution`, `question` or `withhold`",
            ),
            (&["because"], "rule/no-because", "gives no reason", "write `because \"...\"`"),
            (
                &["source"],
                "rule/no-source",
                "gives no source",
                "write `source common-practice`, or a kind and a citation: `source paper SPOERK18`",
            ),
        ];
        for (words, code, what, hint) in owed {
            if !has(words) {
                let message = format!("the rule `{}` {what}", draft.name);
                self.diagnostics.push(Diagnostic::error(code, draft.statement.head, message).hint(hint));
            }
        }
    }

    fn statement(&mut self, statement: &Statement, sources: &Sources, reading: &mut Reading) {
        let arguments = statement.arguments.as_slice();
        match statement.keyword.text.as_str() {
            "when" => {
                if let Some(expr) = self.only(statement) {
                    reading.when_written.push(tidy(sources.text(expr.span)));
                    reading.when.extend(self.condition(expr));
                }
            }
            "require" => {
                if let Some(expr) = self.only(statement)
                    && let Some(condition) = self.condition(expr)
                {
                    let written = tidy(sources.text(expr.span));
                    reading.verdicts.push(Verdict::Require { condition, written });
                }
            }
            "otherwise" => {
                if let Some((text, span)) = self.text(statement) {
                    reading.otherwise = self.template(&text, span);
                }
            }
            "prefer" => reading.verdicts.extend(self.prefer(statement, arguments)),
            "derive" => reading.verdicts.extend(self.derive(statement)),
            "step" => reading.verdicts.extend(self.step(statement, arguments)),
            "caution" => reading.verdicts.extend(self.caution(statement, arguments)),
            "question" => reading.verdicts.extend(self.question(statement, arguments)),
            "withhold" => reading.verdicts.extend(self.withhold(statement, arguments)),
            // Read before all others.
            "let" => {}
            "binding" => reading.binding = true,
            "defers" => reading.defers = true,
            "because" => {
                if let Some((text, span)) = self.text(statement)
                    && reading.because.replace(text).is_some()
                {
                    self.diagnostics.push(Diagnostic::error("rule/repeated", span, "a second `because`"));
                }
            }
            "source" => {
                if let Some(source) = self.source(statement, arguments)
                    && reading.source.replace(source).is_some()
                {
                    self.diagnostics.push(
                        Diagnostic::error("rule/repeated", statement.head, "a second `source`")
                            .hint("write several citations behind one kind"),
                    );
                }
            }
            "example" => reading.examples.extend(self.example(statement, sources)),
            _ => self.unknown_statement(statement),
        }
    }

    fn unknown_statement(&mut self, statement: &Statement) {
        let word = &statement.keyword;
        let known = STATEMENTS.iter().map(|s| s.0);
        let hint = nearest(&word.text, known.clone()).map_or_else(
            || format!("a rule has {}", known.collect::<Vec<_>>().join(", ")),
            |near| format!("did you mean `{near}`?"),
        );
        self.diagnostics.push(
            Diagnostic::error("rule/unknown-statement", word.span, format!("unknown statement `{}`", word.text))
                .hint(hint),
        );
    }

    fn usage(&mut self, statement: &Statement) {
        let keyword = statement.keyword.text.as_str();
        let usage = STATEMENTS.iter().find(|s| s.0 == keyword).map_or("", |s| s.1);
        self.diagnostics.push(
            Diagnostic::error("rule/arguments", statement.head, format!("`{keyword}` is not written like this"))
                .hint(format!("write `{keyword} {usage}`")),
        );
    }

    fn only<'s>(&mut self, statement: &'s Statement) -> Option<&'s Expr> {
        match (statement.arguments.as_slice(), &statement.block) {
            ([expr], None) => Some(expr),
            _ => {
                self.usage(statement);
                None
            }
        }
    }

    pub(super) fn text(&mut self, statement: &Statement) -> Option<(String, Span)> {
        let expr = self.only(statement)?;
        match expr.as_text() {
            Some(text) if !text.trim().is_empty() => Some((text.to_owned(), expr.span)),
            _ => {
                self.usage(statement);
                None
            }
        }
    }

    fn prefer(&mut self, statement: &Statement, arguments: &[Expr]) -> Option<Verdict> {
        let words: Vec<Option<&str>> = arguments.iter().map(Expr::as_word).collect();
        match (words.as_slice(), arguments) {
            ([Some("another"), _], [_, weight]) => {
                let weight = self.quantity(weight, Dimension::NONE)?;
                Some(Verdict::Prefer { weight, per: None })
            }
            ([Some("less"), _, Some("per"), _, Some("of"), _], [_, weight, _, amount, _, measured]) => {
                let weight = self.quantity(weight, Dimension::NONE);
                let (kind, code) = self.value(measured)?;
                let Type::Quantity(dimension) = kind else {
                    self.diagnostics.push(Diagnostic::error(
                        "rule/wrong-type",
                        measured.span,
                        format!("a penalty grows with a number, found {}", kind.noun()),
                    ));
                    return None;
                };
                // A penalty per degree grows with a difference; a bare temperature has no zero to grow from.
                let unit = self.amount(amount, dimension)?;
                Some(Verdict::Prefer { weight: weight?, per: Some((code, unit)) })
            }
            _ => {
                self.usage(statement);
                None
            }
        }
    }

    /// Reads the amount behind `per`: a unit (`cm²`), a quantity (`10 K`, `0.1`).
    fn amount(&mut self, expr: &Expr, dimension: Dimension) -> Option<f64> {
        let found = match (&expr.kind, expr.as_word()) {
            (_, Some(word)) => parse_unit(word).map(|u| (u.factor, u.dimension)),
            (ExprKind::Number { .. }, _) => match self.value(expr)? {
                (Type::Quantity(d), super::code::Code::Number(n)) => Some((n, d)),
                _ => None,
            },
            _ => None,
        };
        match found {
            Some((factor, d)) if d == dimension && !d.point && factor > 0.0 => Some(factor),
            _ => {
                let message = match found {
                    Some((_, d)) => format!("expected an amount of {}, found {}", dimension.name(), d.name()),
                    None => format!("expected a unit or an amount, found {}", expr.noun()),
                };
                self.diagnostics.push(
                    Diagnostic::error("rule/wrong-dimension", expr.span, message)
                        .hint("write a unit or a quantity, as in `per cm²` or `per 10 K`"),
                );
                None
            }
        }
    }

    fn derive(&mut self, statement: &Statement) -> Option<Verdict> {
        if let Some((name, target, expr)) = judged_parts(statement) {
            // What judges a margin is judged for each.
            self.uses.each.entry(Root::Margin).or_insert(target);
            let kind = if name == VERDICT { Type::Word(MarginVerdict::WORDS) } else { Type::Bool };
            return Some(Verdict::Derive { setting: Arc::from(name), kind, code: self.option(kind, expr)? });
        }
        let Some((setting, expr)) = derive_parts(statement) else {
            self.usage(statement);
            return None;
        };
        let (kind, code) = self.value(expr)?;
        let wanted = self.settings.get(&setting.text).copied();
        if let Some(wanted) = wanted
            && wanted != kind
        {
            self.diagnostics.push(Diagnostic::error(
                "rule/setting-type",
                expr.span,
                format!("`{}` is {} by another rule, here it is {}", setting.text, wanted.noun(), kind.noun()),
            ));
            return None;
        }
        Some(Verdict::Derive { setting: Arc::from(setting.text.as_str()), kind, code })
    }

    fn step(&mut self, statement: &Statement, arguments: &[Expr]) -> Option<Verdict> {
        let [phase, order, text, rest @ ..] = arguments else {
            self.usage(statement);
            return None;
        };
        let phase = self.closed(phase, Phase::parse, Phase::ALL.iter().map(|p| p.word()).collect())?;
        let (ExprKind::Number { value, unit: None }, Some(written)) = (&order.kind, text.as_text()) else {
            self.usage(statement);
            return None;
        };
        if value.fract() != 0.0 || value.abs() > 10_000.0 {
            self.diagnostics.push(Diagnostic::error(
                "rule/number",
                order.span,
                "the order of a step is a whole number up to 10000",
            ));
            return None;
        }
        let mut blanks = Vec::new();
        for pair in rest.chunks(2) {
            match (pair.first().and_then(Expr::as_word), pair.get(1).and_then(Expr::as_text)) {
                (Some("blank"), Some(label)) => blanks.push(label.to_owned()),
                _ => {
                    self.usage(statement);
                    return None;
                }
            }
        }
        let text = self.template(written, text.span)?;
        Some(Verdict::Step { phase, order: *value as i32, text, blanks })
    }

    fn question(&mut self, statement: &Statement, arguments: &[Expr]) -> Option<Verdict> {
        let [when, text] = arguments else {
            self.usage(statement);
            return None;
        };
        let first = |word: &str| Some(word == "first").filter(|first| *first || word == "open");
        let first = self.closed(when, first, vec!["open", "first"])?;
        let Some(written) = text.as_text() else {
            self.usage(statement);
            return None;
        };
        Some(Verdict::Question { first, text: self.template(written, text.span)? })
    }

    fn withhold(&mut self, statement: &Statement, arguments: &[Expr]) -> Option<Verdict> {
        let [from, text] = arguments else {
            self.usage(statement);
            return None;
        };
        let (Some(of), Some(written)) = (from.as_text(), text.as_text()) else {
            self.usage(statement);
            return None;
        };
        Some(Verdict::Withhold { from: self.template(of, from.span)?, text: self.template(written, text.span)? })
    }

    fn caution(&mut self, statement: &Statement, arguments: &[Expr]) -> Option<Verdict> {
        let [kind, text] = arguments else {
            self.usage(statement);
            return None;
        };
        let kind = self.closed(kind, CautionKind::parse, CautionKind::ALL.iter().map(|k| k.word()).collect())?;
        let Some(written) = text.as_text() else {
            self.usage(statement);
            return None;
        };
        Some(Verdict::Caution { kind, text: self.template(written, text.span)? })
    }

    /// Reads a word of a closed set.
    pub(super) fn closed<T>(&mut self, expr: &Expr, parse: fn(&str) -> Option<T>, known: Vec<&str>) -> Option<T> {
        let word = expr.as_word().unwrap_or("");
        let found = parse(word);
        if found.is_none() {
            let near = nearest(word, known.iter().copied());
            let mut hint = format!("one of {}", known.join(", "));
            if let Some(near) = near {
                hint = format!("did you mean `{near}`? ({hint})");
            }
            self.diagnostics.push(
                Diagnostic::error("rule/unknown-word", expr.span, format!("{} does not stand here", expr.noun()))
                    .hint(hint),
            );
        }
        found
    }

    pub(super) fn source(&mut self, statement: &Statement, arguments: &[Expr]) -> Option<(&'static str, Vec<String>)> {
        let Some((kind, keys)) = arguments.split_first() else {
            self.usage(statement);
            return None;
        };
        let kind =
            self.closed(kind, |word| SOURCE_KINDS.iter().find(|k| **k == word).copied(), SOURCE_KINDS.to_vec())?;
        let mut citations = Vec::new();
        for key in keys {
            match &key.kind {
                ExprKind::Text(text) => citations.push(text.clone()),
                ExprKind::Name(parts) => citations.push(join(parts)),
                ExprKind::Comma => {}
                _ => {
                    self.usage(statement);
                    return None;
                }
            }
        }
        if citations.is_empty() && matches!(kind, "standard" | "handbook" | "paper" | "library") {
            self.diagnostics.push(
                Diagnostic::error("rule/no-citation", statement.head, format!("`{kind}` without a citation"))
                    .hint("write the key or title behind it; without one it is `common-practice` or `from-memory`"),
            );
            return None;
        }
        Some((kind, citations))
    }
}

/// Joins an expression written over several lines into one.
pub(super) fn tidy(written: &str) -> String {
    written.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Returns the root for messages about example facts.
pub(super) fn root_of(word: &Word) -> Option<Root> {
    Root::parse(&word.text)
}
