//! From `rule` statements to checked rules: every mistake located, the good rules kept.

mod statements;

use statements::Reading;
pub use statements::SOURCE_KINDS;
pub(super) use statements::tidy;

use std::collections::{BTreeMap, BTreeSet};

use super::Rulebook;
use super::consistency;
use super::functions::Functions;
use super::lower::{Locals, Lower, Uses};
use super::named;
use super::names::{Root, Touches, Type};
use super::rule::{Rule, Verdict};
use crate::diag::{Diagnostic, Report, Sources, Span, nearest};
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
    ("redraw", "\"TEXT\"", "how the part could be drawn so that the requirement holds: a way out of a refusal"),
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
    lower.unread(head);
    let Uses { touches, each, settings: settings_used, names, functions: called, thresholds } = lower.uses;
    let each = judged_for_each(&each, &reading, &names, head).map_err(|found| diagnostics.push(found)).ok()?;
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
        redraw: reading.redraw,
        settings_used,
    })
}

/// Returns what a rule is judged for each of, if it is; whatever keeps it from being judged so is the error.
fn judged_for_each(
    each: &BTreeMap<Root, Span>,
    reading: &Reading,
    names: &BTreeSet<String>,
    head: Span,
) -> Result<Option<Root>, Diagnostic> {
    // A margin speaks of a contact, a load or a fit; a rule may read that besides.
    let of_a_margin = each.len() == 2 && each.contains_key(&Root::Margin);
    let mut roots = each.iter().filter(|(root, _)| !of_a_margin || **root == Root::Margin);
    let first = roots.next();
    if let (Some((a, _)), Some((b, span))) = (first, roots.next()) {
        let message = format!("a rule is judged per {} or per {}, not both", a.word(), b.word());
        return Err(Diagnostic::error("rule/two-instances", *span, message).hint("write two rules"));
    }
    let derives = |of: fn(&str) -> bool| {
        reading.verdicts.iter().any(|v| matches!(v, Verdict::Derive { setting, .. } if of(setting)))
    };
    if derives(|setting| setting == VERDICT) && (names.contains(VERDICT) || names.contains(ASKS_FIRST)) {
        let message = "a rule that judges a margin cannot read the verdict";
        return Err(Diagnostic::error("rule/derive-cycle", head, message).hint(
            "judge by `margin.ratio`, `margin.room` and the like; what follows from a verdict is another rule's",
        ));
    }
    if first.is_some() && derives(|setting| !is_judgement(setting)) {
        let message = "a setting has one value, not one per instance";
        return Err(Diagnostic::error("rule/setting-per-instance", head, message)
            .hint("derive it from names that stand for the whole part"));
    }
    Ok(first.map(|(root, _)| *root))
}

/// Returns the root for messages about example facts.
pub(super) fn root_of(word: &Word) -> Option<Root> {
    Root::parse(&word.text)
}
