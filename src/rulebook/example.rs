//! Examples: facts in, verdict out. They stand in the rule, and run as its tests.

use super::code::{Val, show};
use super::facts::words::MarginVerdict;
use super::filled::Filled;
use super::functions::Functions;
use super::lower::Lower;
use super::names::{Root, Type};
use super::rule::{Judgement, Rule};
use super::scope::Scope;
use super::value::{Fact, Origin, Record, Text, Value};
use super::{Rulebook, VERDICT, check};
use crate::diag::{Diagnostic, Sources, Span, nearest};
use crate::quantity::Dimension;
use crate::syntax::tree::{Expr, ExprKind, Statement, Word};

/// One example of a rule.
#[derive(Debug, Clone, PartialEq)]
pub struct Example {
    /// What the rule is to say of those facts.
    pub expect: Expect,
    pub(super) things: Vec<Thing>,
    /// `file:line`
    pub place: String,
    /// Where the example stands, for messages.
    pub span: Span,
    /// As written, for the page.
    pub written: String,
}

/// What the rule is to say.
#[derive(Debug, Clone, PartialEq)]
pub enum Expect {
    /// Breaks a requirement.
    Refuses,
    /// Applies or not, but breaks nothing and leaves nothing undetermined.
    Accepts,
    /// Says anything but a refusal.
    Fires,
    /// Says nothing: its conditions do not hold.
    Quiet,
    /// Cannot be known from those facts.
    Undetermined,
    /// Gives a setting this value; `setting` is `None` where the rule derives only one.
    Derives {
        /// The setting, without its root.
        setting: Option<String>,
        /// To within rounding.
        value: Value,
    },
    /// Costs this much, all its preferences together.
    Weighs(f64),
    /// Says a text that holds these words.
    Says(String),
}

/// One record of an example: a root, perhaps the name of a catalogue entry, and facts that go before the entry's.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Thing {
    root: Root,
    name: Option<String>,
    facts: Record,
}

/// What an example came to.
#[derive(Debug, Clone, PartialEq)]
pub struct ExampleOutcome {
    /// Name of the rule.
    pub rule: String,
    /// `file:line` of the example
    pub place: String,
    /// Where the example stands, for messages.
    pub span: Span,
    /// Whether the rule said what was expected.
    pub passed: bool,
    /// What was expected and what was said instead.
    pub text: String,
}

/// Finds catalogue entries that examples name; a shop's test has the catalogue, a test of the engine has none.
pub type Entries<'a> = &'a dyn Fn(Root, &str) -> Option<Record>;

/// Runs every example of every rule, in order of rules.
pub fn run_examples(book: &Rulebook, functions: &dyn Functions, entries: Entries<'_>) -> Vec<ExampleOutcome> {
    // Figures stand behind every example, as they do behind every job; one may state its own.
    let figures = entries(Root::Figure, "figures").unwrap_or_default();
    let background = Scope::new().with(Root::Figure, &figures);
    let run = |rule, e| run(rule, e, background, functions, entries);
    book.rules.iter().flat_map(|rule| rule.examples.iter().map(move |e| run(rule, e))).collect()
}

fn run(
    rule: &Rule,
    example: &Example,
    background: Scope<'_>,
    functions: &dyn Functions,
    entries: Entries<'_>,
) -> ExampleOutcome {
    let records: Vec<(Root, Record)> = example.things.iter().map(|t| (t.root, t.record(entries))).collect();
    let scope = records.iter().fold(background, |scope, (root, record)| scope.with(*root, record));
    let said = rule.judge(&scope, functions, None);
    let passed = example.expect.met(&said);
    let heard: Vec<String> = said.iter().map(Judgement::words).collect();
    let text = format!(
        "expected {}; the rule {}",
        example.expect.words(),
        if heard.is_empty() { "was quiet".to_owned() } else { heard.join("; ") }
    );
    ExampleOutcome { rule: rule.name.clone(), place: example.place.clone(), span: example.span, passed, text }
}

impl Thing {
    fn record(&self, entries: Entries<'_>) -> Record {
        let figures = (self.root == Root::Figure).then_some("figures");
        let mut record = self
            .name
            .as_deref()
            .or(figures)
            .and_then(|name| entries(self.root, name))
            .unwrap_or_else(|| Record::new(self.facts.title.clone()));
        // What the example states takes the place of what the entry has.
        for (name, fact) in &self.facts.facts {
            record.insert(name.clone(), fact.clone());
        }
        record
    }
}

impl Expect {
    fn met(&self, said: &[Judgement]) -> bool {
        let refused = said.iter().any(|j| matches!(j, Judgement::Broken { .. }));
        let open = said.iter().any(|j| matches!(j, Judgement::Undetermined { .. }));
        match self {
            Expect::Refuses => refused,
            Expect::Accepts => !refused && !open,
            Expect::Fires => !refused && !open && !said.is_empty(),
            Expect::Quiet => said.is_empty(),
            Expect::Undetermined => open,
            Expect::Derives { setting, value } => said.iter().any(|j| {
                matches!(j, Judgement::Setting { name, value: found }
                    if setting.as_ref().is_none_or(|s| s == name) && alike(found, value))
            }),
            Expect::Weighs(amount) => {
                let sum: f64 =
                    said.iter().map(|j| if let Judgement::Penalty { amount, .. } = j { *amount } else { 0.0 }).sum();
                (sum - amount).abs() <= 1e-6 * amount.abs().max(1.0)
            }
            Expect::Says(part) => said.iter().any(|j| j.text().is_some_and(|t| t.to_string().contains(part.as_str()))),
        }
    }

    fn words(&self) -> String {
        match self {
            Expect::Refuses => "a refusal".to_owned(),
            Expect::Accepts => "no refusal".to_owned(),
            Expect::Fires => "that it applies".to_owned(),
            Expect::Quiet => "that it is quiet".to_owned(),
            Expect::Undetermined => "that it cannot tell".to_owned(),
            Expect::Derives { setting: Some(setting), value } => format!("{setting} = {}", show(value)),
            Expect::Derives { setting: None, value } => format!("the value {}", show(value)),
            Expect::Weighs(amount) => format!("a penalty of {amount}"),
            Expect::Says(part) => format!("a text with \"{part}\""),
        }
    }
}

/// Two values that print alike to the shop's precision and do not differ by more than rounding.
fn alike(a: &Value, b: &Value) -> bool {
    match (a, b) {
        (Value::Quantity(x), Value::Quantity(y)) => {
            x.dimension == y.dimension && (x.si - y.si).abs() <= 1e-6 * x.si.abs().max(y.si.abs())
        }
        _ => a == b,
    }
}

impl Judgement {
    /// Returns the text a person would read, where there is one.
    pub fn text(&self) -> Option<&Filled> {
        match self {
            Judgement::Broken { text, .. }
            | Judgement::Penalty { text, .. }
            | Judgement::Step { text, .. }
            | Judgement::Caution { text, .. }
            | Judgement::Question { text, .. }
            | Judgement::Withhold { text, .. } => Some(text),
            Judgement::Setting { .. } | Judgement::Undetermined { .. } => None,
        }
    }

    fn words(&self) -> String {
        match self {
            Judgement::Broken { text, .. } => format!("refused: {text}"),
            Judgement::Penalty { amount, text, .. } => format!("weighed {amount}: {text}"),
            Judgement::Setting { name, value } => format!("gave {name} = {}", show(value)),
            Judgement::Step { phase, text, .. } => format!("gave a step ({phase}): {text}"),
            Judgement::Caution { kind, text } => format!("cautioned ({kind}): {text}"),
            Judgement::Question { text, .. } => format!("asked: {text}"),
            Judgement::Withhold { from, text } => format!("withheld from {from}: {text}"),
            Judgement::Undetermined { missing } => format!("could not tell without {}", missing.join(", ")),
        }
    }
}

const EXPECTATIONS: &[&str] = &["refuses", "accepts", "fires", "quiet", "undetermined", "derives", "weighs", "says"];

impl Lower<'_> {
    /// Reads `example EXPECTATION { FACTS }`.
    pub(super) fn example(&mut self, statement: &Statement, sources: &Sources) -> Option<Example> {
        // Facts of an example are no part of what the rule names.
        let uses = self.uses.clone();
        let example = self.example_parts(statement, sources);
        self.uses = uses;
        example
    }

    fn example_parts(&mut self, statement: &Statement, sources: &Sources) -> Option<Example> {
        let expect = self.expectation(statement);
        let Some(block) = &statement.block else {
            self.diagnostics.push(
                Diagnostic::error("rule/example", statement.head, "an example needs facts")
                    .hint("write them in braces, as in `example refuses { material { abrasive } }`"),
            );
            return None;
        };
        let things: Vec<Option<Thing>> = block.statements.iter().map(|s| self.thing(s)).collect();
        Some(Example {
            expect: expect?,
            things: things.into_iter().collect::<Option<Vec<Thing>>>()?,
            place: sources.place(statement.span),
            span: statement.head,
            written: sources.text(statement.span).to_owned(),
        })
    }

    fn expectation(&mut self, statement: &Statement) -> Option<Expect> {
        let word = statement.arguments.first().and_then(Expr::as_word).unwrap_or("");
        let rest = statement.arguments.get(1..).unwrap_or(&[]);
        let expect = match (word, rest) {
            ("refuses", []) => Expect::Refuses,
            ("accepts", []) => Expect::Accepts,
            ("fires", []) => Expect::Fires,
            ("quiet", []) => Expect::Quiet,
            ("undetermined", []) => Expect::Undetermined,
            ("says", [text]) if text.as_text().is_some() => Expect::Says(text.as_text().unwrap_or("").to_owned()),
            ("weighs", [amount]) => match self.quantity(amount, Dimension::NONE)?.constant() {
                Some(Val::Number(n)) => Expect::Weighs(n),
                _ => return self.bad_example(statement),
            },
            ("derives", [value]) if value.as_word().is_some_and(|w| MarginVerdict::WORDS.contains(&w)) => {
                Expect::Derives {
                    setting: Some(VERDICT.to_owned()),
                    value: MarginVerdict::WORDS
                        .iter()
                        .find(|w| value.as_word() == Some(w))
                        .map_or(Value::Unknown, |w| Value::word(*w)),
                }
            }
            ("derives", [value]) => Expect::Derives { setting: None, value: self.literal(value)? },
            ("derives", [name, assign, value]) if matches!(assign.kind, ExprKind::Assign) => {
                let setting = match &name.kind {
                    ExprKind::Name(parts) => parts.last().map(|w| w.text.clone()),
                    _ => return self.bad_example(statement),
                };
                Expect::Derives { setting, value: self.literal(value)? }
            }
            _ => return self.bad_example(statement),
        };
        Some(expect)
    }

    fn bad_example(&mut self, statement: &Statement) -> Option<Expect> {
        let word = statement.arguments.first().and_then(Expr::as_word).unwrap_or("");
        let mut hint = format!("write one of {}, then the facts in braces", EXPECTATIONS.join(", "));
        if !EXPECTATIONS.contains(&word)
            && let Some(near) = nearest(word, EXPECTATIONS.iter().copied())
        {
            hint = format!("did you mean `{near}`?");
        }
        self.diagnostics
            .push(Diagnostic::error("rule/example", statement.head, "this says not what is expected").hint(hint));
        None
    }

    /// A value whose type is plain from how it is written.
    fn literal(&mut self, expr: &Expr) -> Option<Value> {
        let (kind, code) = self.value(expr)?;
        match code.constant() {
            Some(value) => Some(value.to_value(kind)),
            None => {
                self.diagnostics.push(Diagnostic::error("rule/example", expr.span, "expected a plain value"));
                None
            }
        }
    }

    /// Reads `material "PA12-CF" { abrasive; print_temperature 250 °C }`.
    fn thing(&mut self, statement: &Statement) -> Option<Thing> {
        let Some(root) = check::root_of(&statement.keyword) else {
            let word = &statement.keyword;
            let hint = nearest(&word.text, Root::ALL.iter().map(|r| r.word()))
                .map_or_else(|| "write `material { ... }`".to_owned(), |near| format!("did you mean `{near}`?"));
            self.diagnostics.push(
                Diagnostic::error("rule/unknown-name", word.span, format!("unknown name `{}`", word.text)).hint(hint),
            );
            return None;
        };
        let (name, facts) = self.facts(root, statement)?;
        Some(Thing { root, name, facts })
    }

    fn facts(&mut self, root: Root, statement: &Statement) -> Option<(Option<String>, Record)> {
        let name = match statement.arguments.as_slice() {
            [] => None,
            [name] if name.as_text().is_some() => name.as_text().map(str::to_owned),
            _ => {
                self.diagnostics.push(
                    Diagnostic::error("rule/example", statement.head, "a name in quotes could stand here")
                        .hint("write the facts in braces, as in `material { abrasive }`"),
                );
                return None;
            }
        };
        let mut record = Record::new(name.clone().unwrap_or_else(|| format!("the {}", root.word())));
        if let Some(name) = &name
            && root.field("name").is_some()
        {
            record.insert("name", Fact { value: Value::text(name), origin: Origin::None });
        }
        for fact in statement.block.iter().flat_map(|b| &b.statements) {
            let (field, value) = self.fact(root, fact)?;
            record.insert(Text::shared(&field), Fact { value, origin: Origin::None });
        }
        Some((name, record))
    }

    fn fact(&mut self, root: Root, statement: &Statement) -> Option<(String, Value)> {
        let word = &statement.keyword;
        let kind = self.kind_of(root, word)?;
        let value = match (kind, statement.arguments.as_slice(), &statement.block) {
            (Type::Bool, [], None) => Value::Bool(true),
            (Type::Record(of), _, _) => Value::Record(std::sync::Arc::new(self.facts(of, statement)?.1)),
            (Type::Range(_), [expr], None) => self.literal(expr)?,
            (kind, [expr], None) => {
                let code = self.option(kind, expr)?;
                match code.constant() {
                    Some(value) => value.to_value(kind),
                    None => {
                        self.diagnostics.push(Diagnostic::error("rule/example", expr.span, "expected a plain value"));
                        return None;
                    }
                }
            }
            _ => {
                self.diagnostics.push(Diagnostic::error(
                    "rule/example",
                    statement.head,
                    format!("`{}` needs one value: {}", word.text, kind.noun()),
                ));
                return None;
            }
        };
        Some((word.text.clone(), value))
    }

    fn kind_of(&mut self, root: Root, word: &Word) -> Option<Type> {
        if root == Root::Settings {
            if let Some(kind) = self.settings.get(&word.text) {
                return Some(*kind);
            }
        } else if let Some(field) = root.field(&word.text) {
            return Some(field.kind);
        }
        let known: Vec<&str> = match root {
            Root::Settings => self.settings.keys().map(String::as_str).collect(),
            _ => root.fields().iter().map(|f| f.name).collect(),
        };
        let hint = nearest(&word.text, known)
            .map_or_else(|| "see the table of names".to_owned(), |near| format!("did you mean `{near}`?"));
        self.diagnostics.push(
            Diagnostic::error("rule/unknown-name", word.span, format!("`{}` has no `{}`", root.word(), word.text))
                .hint(hint),
        );
        None
    }
}

/// Returns the text of a rule file with its one-line examples blanked out, everything else on its old place.
///
/// Examples are about half of what there is to parse in the built-in rules and serve only `check` and `explain`; whoever
/// starts up to compile reads this instead. An example over several lines is left as it is.
pub fn without_examples(text: &str) -> String {
    let mut kept = String::with_capacity(text.len());
    for line in text.split_inclusive('\n') {
        let whole = line.matches('{').count() == line.matches('}').count();
        if whole && line.trim_start().starts_with("example ") {
            // As many bytes as before, so that every place in the file keeps its offset.
            kept.extend(std::iter::repeat_n(' ', line.len().saturating_sub(1)));
            kept.push('\n');
        } else {
            kept.push_str(line);
        }
    }
    kept
}
