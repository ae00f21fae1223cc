//! The language reference, written from the vocabulary: `grammar/language.md` is this text, and a test keeps it so.

use std::fmt::Write as _;

use super::form::{Body, Context, Entry, Item, Kind, Measure, Repeat};
use super::vocabulary::{SETTINGS, VOCABULARY, statements_of};
use crate::quantity::{Dimension, UNITS, trim_number};

const HEAD: &str = "\
# The language

This page is generated from the vocabulary (`src/semantics/vocabulary.rs`), the table the checker works from. Change
the table, then run `UPDATE=1 cargo test reference`.

A file is UTF-8 text. A **statement** is a keyword, its arguments, and perhaps a block in braces; it ends at the end of
its line or at `;`. `//` begins a comment. Texts stand in double quotes. Numbers may have a decimal comma (`0,2 mm`),
and a minus may be the typographic one.

Every quantity has a **unit**; a bare number stands only where a count or a factor is meant. A temperature (`20 °C`) and
a temperature difference (`10 K`) are different things. `low .. high` is a range. Quantities may be computed:
`gust * 2`, `60 °C + 10 K`, `max(a, b)`, with names given by `let`.

Directions, points and places are those of the mesh: `+x` to `-z` or `(1, 0, -1)`; `(170 mm, 30 mm, 40 mm)`.

Statements that together say one thing may share a line: `load \"gust\" force 140 N toward -z shock` is the same as
`load \"gust\" { force 140 N; toward -z; shock }`. So it is with `mesh`, `contact`, `load`, `fit`, `face` and `pressure`.

A part may stand on profiles: `part \"name\" is first, second { ... }`. What the part says itself wins; a later profile
wins over an earlier one. Loads, fits, faces and contacts are told apart by their names.

In the patterns below `<name: kind>` is a value, `[...]` may be left out, `a | b` is a choice.
";

const TAIL: &str = "
## Rules

A rule holds its statements as expressions over facts. Facts have dotted names (`material.heat_limit`,
`service.air`); `x is known` asks whether one is there. Comparisons are `< <= > >= == !=` and `in`, joined by `and`,
`or`, `not`; arithmetic checks dimensions. `{...}` in a text is an expression whose value is printed; `{{` prints a
brace. The facts, functions and verdicts rules know stand in `rules-reference.md`.
";

/// Returns the language reference as Markdown.
pub fn reference() -> String {
    let mut text = HEAD.to_owned();
    for context in Context::ALL {
        // A profile takes what a part takes, except what is marked there; one section serves both.
        if context != Context::Profile && context != Context::Example {
            section(context, &mut text);
        }
    }
    text.push_str(TAIL);
    settings(&mut text);
    units(&mut text);
    text
}

fn section(context: Context, text: &mut String) {
    let title = match context {
        Context::File => "In the file".to_owned(),
        Context::Part => "In a `part` or `profile`".to_owned(),
        other => format!("In {}", other.name()),
    };
    let _ = write!(text, "\n## {title}\n");
    if context.shares_lines() {
        let _ = write!(text, "\nOn the line of {} or in its block.\n", context.name());
    }
    for entry in statements_of(context) {
        statement(entry, context, text);
    }
}

fn statement(entry: &Entry, context: Context, text: &mut String) {
    let _ = write!(text, "\n### `{}`\n\n{}.", entry.keyword, entry.help);
    let often = match entry.repeat {
        Repeat::Once => " Once.",
        Repeat::OncePerName => " Once for each name.",
        Repeat::Any => " As often as needed.",
    };
    text.push_str(often);
    if context == Context::Part && !entry.places.contains(&Context::Profile) {
        text.push_str(" In a part only.");
    }
    let _ = write!(text, "\n\n    {}\n", pattern(entry));
    let limits = limits(entry.form);
    if !limits.is_empty() {
        let _ = write!(text, "\nLimits: {}.\n", limits.join("; "));
    }
    let _ = write!(text, "\nExample: `{}`\n", entry.example);
}

/// Returns the pattern of a statement as one line: `sun none | shaded | direct [[for] <duration: a time>]`.
pub fn pattern(entry: &Entry) -> String {
    let mut text = entry.keyword.to_owned();
    items(entry.form, &mut text);
    match entry.body {
        Body::None => {}
        Body::Block(_) => text.push_str(" { ... }"),
        Body::InlineOrBlock(_) => text.push_str(" ... or { ... }"),
    }
    text
}

fn items(form: &[Item], text: &mut String) {
    for item in form {
        if !text.is_empty() && !text.ends_with('[') {
            text.push(' ');
        }
        match item {
            Item::Value(name, kind) => {
                let _ = write!(text, "<{name}: {}>", described(kind));
            }
            Item::Word(word) => text.push_str(word),
            Item::Noise(word) => {
                let _ = write!(text, "[{word}]");
            }
            Item::OneOf(_, words) => text.push_str(&words.join(" | ")),
            Item::Maybe(inner) => {
                text.push('[');
                items(inner, text);
                text.push(']');
            }
        }
    }
}

fn described(kind: &Kind) -> String {
    match kind {
        Kind::Text => "text".to_owned(),
        Kind::Name | Kind::Term => kind.noun(),
        Kind::Names => "names, separated by commas".to_owned(),
        Kind::Words(words) => format!("{}; several with `,` or `, then` between", words.join(" | ")),
        Kind::Measure(_) | Kind::Range(_) => kind.noun(),
        _ => format!("{}, as `{}`", kind.noun(), kind.example()),
    }
}

/// Returns the limits of the values in a form, beyond which the checker takes them for a slip.
pub(crate) fn limits(form: &[Item]) -> Vec<String> {
    let mut result = Vec::new();
    for item in form {
        match item {
            Item::Value(name, Kind::Measure(m) | Kind::Range(m)) => result.push(format!("{name} {}", span_of(m))),
            Item::Value(name, Kind::Count(most)) => result.push(format!("{name} from 1 to {most}")),
            Item::Value(name, Kind::Number { low, high }) => {
                let number = crate::quantity::significant;
                result.push(format!("{name} from {} to {}", number(*low), number(*high)));
            }
            Item::Maybe(inner) => result.extend(limits(inner)),
            _ => {}
        }
    }
    result
}

fn span_of(m: &Measure) -> String {
    let low = trim_number(m.low, 3);
    let above = if m.low_allowed { format!("from {low}") } else { format!("above {low}") };
    format!("{above} to {} {}", trim_number(m.high, 3), m.unit)
}

fn settings(text: &mut String) {
    text.push_str("\n## Settings that can be pinned\n\n| setting | value |\n|---|---|\n");
    for (name, dimension, unit) in SETTINGS {
        let value = match (*dimension, *unit) {
            (Dimension::NONE, "%") => "a percentage".to_owned(),
            (Dimension::NONE, _) => "a whole number".to_owned(),
            (dimension, unit) => format!("{}, in {unit} say", dimension.name()),
        };
        let _ = writeln!(text, "| `{name}` | {value} |");
    }
}

fn units(text: &mut String) {
    text.push_str("\n## Units\n\nWith `/`, `·` and exponents they make others: `g/cm3`, `mm/s`, `W/m2/K`, `1/K`.\n\n");
    text.push_str("| kind | units |\n|---|---|\n");
    let mut kinds: Vec<(Dimension, Vec<&str>)> = Vec::new();
    for unit in UNITS {
        match kinds.iter_mut().find(|(dimension, _)| *dimension == unit.dimension) {
            Some((_, symbols)) => symbols.push(unit.symbol),
            None => kinds.push((unit.dimension, vec![unit.symbol])),
        }
    }
    for (dimension, symbols) in kinds {
        let symbols: Vec<String> = symbols.iter().map(|s| format!("`{s}`")).collect();
        let _ = writeln!(text, "| {} | {} |", dimension.name(), symbols.join(" "));
    }
}

/// Returns every keyword once, in the order of the vocabulary.
pub fn keywords() -> Vec<&'static str> {
    let mut all: Vec<&'static str> = Vec::new();
    for entry in VOCABULARY {
        if !all.contains(&entry.keyword) {
            all.push(entry.keyword);
        }
    }
    all
}

#[cfg(test)]
#[expect(clippy::disallowed_methods, reason = "the committed text is read, or written anew")]
mod tests {
    use super::*;
    use crate::diag::{Source, Sources};
    use crate::semantics::form::Context;

    #[test]
    fn the_committed_reference_is_the_generated_one() {
        let path = concat!(env!("CARGO_MANIFEST_DIR"), "/grammar/language.md");
        let generated = reference();
        if std::env::var_os("UPDATE").is_some() {
            std::fs::write(path, &generated).unwrap();
        }
        let committed = std::fs::read_to_string(path).unwrap_or_default();
        assert!(
            committed == generated,
            "grammar/language.md is old: run `UPDATE=1 cargo test reference` and read the change"
        );
    }

    /// Puts an example into the block it belongs to.
    fn setting_of(context: Context, example: &str) -> String {
        let face = "face \"seat\" toward +z; face \"plate\" toward -x; load \"gust\" force 1 N toward -z";
        let part = |inner: &str| format!("part \"p\" {{ {inner} }}\n");
        match context {
            Context::File if example.starts_with("profile") => format!("{example}\n"),
            Context::File => format!("{example}\nprofile gable_outdoor {{ }}\n"),
            Context::Part | Context::Profile if example.contains("load \"gust\"") => {
                part(&format!("face \"seat\" toward +z; face \"plate\" toward -x; {example}"))
            }
            Context::Part | Context::Profile => part(&format!("{face}; {example}")),
            Context::Service => part(&format!("service {{ {example} }}")),
            Context::Mesh | Context::Pressure if example.starts_with("mesh") || example.starts_with("pressure") => {
                part(example)
            }
            Context::Mesh => part(&format!("mesh \"a.stl\" {example}")),
            Context::Pressure => part(&format!("pressure 1 bar {example}")),
            Context::Contact => part(&format!("service {{ {example} }}")),
            // What is said of size stands by itself: a force, or the part's own mass.
            Context::Load if ["force", "weight", "acceleration"].iter().any(|size| example.starts_with(size)) => {
                part(&format!("load \"l\" {{ {example} }}"))
            }
            Context::Load if example.starts_with("torque") || example.starts_with("about") => {
                part(&format!("load \"l\" {{ torque 2 Nm; {example} }}").replace("torque 2 Nm; torque", "torque"))
            }
            // A pressure stands in place of a force.
            Context::Load if example.starts_with("pressure") => {
                part(&format!("face \"lid\" toward +z; load \"l\" {{ {example} }}"))
            }
            Context::Load => part(&format!("{face}; face \"back\" toward -z; load \"l\" {{ force 1 N; {example} }}")),
            Context::Fit if example.starts_with("distance") => {
                part(&format!("fit \"left\" dowel 6 mm; fit \"right\" dowel 8 mm; fit \"f\" {{ {example} }}"))
            }
            Context::Fit if example.starts_with("flat") => part(&format!("fit \"f\" {{ bore 6 mm H11; {example} }}")),
            Context::Fit if is_fit(example) => part(&format!("fit \"f\" {{ {example} }}")),
            Context::Fit => part(&format!("fit \"f\" {{ dowel 6 mm; {example} }}")),
            Context::Face if example.starts_with("face") => part(example),
            Context::Face if example.starts_with("toward") => part(&format!("face \"f\" {{ {example} }}")),
            Context::Face => part(&format!("face \"f\" {{ toward +x; {example} }}")),
            Context::Assembly => format!(
                "part \"bolt\" {{ fit \"slide\" dowel 6 mm }}\npart \"case\" {{ fit \"slot\" dowel 6 mm }}\nassembly \"a\" {{ {example} }}\n"
            ),
            Context::Run => {
                let usual = [
                    ("from", "from 2026-12-07 07:00"),
                    ("hours", "hours monday .. friday 07:00 .. 19:00"),
                    ("build", "build \"a.partspec\""),
                ];
                let others: Vec<&str> =
                    usual.iter().filter(|(k, _)| !example.starts_with(k)).map(|(_, e)| *e).collect();
                format!("run \"r\" {{ {}; {example} }}\n", others.join("; "))
            }
            Context::Rule | Context::Example => format!("rule \"r\" {{ {example} }}\n"),
        }
    }

    fn is_fit(example: &str) -> bool {
        let word = example.split(' ').next().unwrap_or_default();
        !["count", "along", "at", "depth", "finish", "opened", "within", "allowance"].contains(&word)
    }

    #[test]
    fn every_example_of_the_vocabulary_checks() {
        for entry in VOCABULARY {
            for context in entry.places {
                // `at` and `bore` have an example for each place of their own; those are separate entries.
                let shared = entry.keyword == "toward" || entry.keyword == "tight" || entry.keyword == "count";
                let example = if shared && *context == Context::Load { "force 1 N toward -z" } else { entry.example };
                let mut text = setting_of(*context, example);
                if entry.keyword == "assembly" {
                    text.push_str(
                        "part \"bolt\" { fit \"slide\" dowel 6 mm }\npart \"case\" { fit \"slot\" dowel 6 mm }",
                    );
                }
                let mut sources = Sources::default();
                let id = sources.add(Source::new("example.partspec", text.as_str()));
                let parsed = crate::syntax::parse(id, &text);
                let mut all = parsed.diagnostics;
                all.extend(crate::semantics::check(&[parsed.value.unwrap()], &sources).diagnostics);
                all.retain(|d| d.is_error());
                assert_eq!(all, vec![], "{context:?} {}: {text}", entry.keyword);
            }
        }
    }

    #[test]
    fn no_statement_stands_twice_in_one_place() {
        for context in Context::ALL {
            let mut words: Vec<&str> = statements_of(context).map(|e| e.keyword).collect();
            let count = words.len();
            words.sort_unstable();
            words.dedup();
            assert_eq!(words.len(), count, "{context:?}");
        }
    }
}
