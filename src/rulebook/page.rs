//! The page of a rule: what it does, why, where that is from, its examples, the names it uses.

use std::fmt::Write as _;

use super::names::{Field, Root, Type};
use super::rule::{Rule, Verdict};

/// Returns the page that `explain --rule NAME` prints, as Markdown.
pub fn page(rule: &Rule) -> String {
    let mut text = format!("# {}\n\n", rule.name);
    // Writing to a String cannot fail.
    let _ = writeln!(text, "{} ({})\n", rule.because, rule.source);
    for when in &rule.when_written {
        let _ = writeln!(text, "- applies when `{when}`");
    }
    for verdict in &rule.verdicts {
        let _ = writeln!(text, "- {}", says(verdict));
    }
    if let Some(otherwise) = &rule.otherwise {
        let _ = writeln!(text, "- says \"{}\"", otherwise.written);
    }
    let _ = writeln!(text, "\nTouches: {}.", rule.touches);
    if let Some(each) = rule.each {
        let _ = writeln!(text, "Judged once per {}.", each.word());
    }
    let _ = writeln!(text, "Written in {}.", rule.place);
    if !rule.names.is_empty() {
        text.push_str("\n## Names\n\n");
    }
    for name in &rule.names {
        let _ = writeln!(text, "- `{name}`: {}", help(name));
    }
    if !rule.functions.is_empty() {
        let _ = writeln!(text, "\nFunctions: {}.", rule.functions.join(", "));
    }
    if !rule.examples.is_empty() {
        text.push_str("\n## Examples\n\n```\n");
        for example in &rule.examples {
            let _ = writeln!(text, "{}", dedent(&example.written));
        }
        text.push_str("```\n");
    }
    text
}

fn says(verdict: &Verdict) -> String {
    match verdict {
        Verdict::Require { written, .. } => format!("requires `{written}`"),
        Verdict::Prefer { per: None, .. } => "adds a flat penalty".to_owned(),
        Verdict::Prefer { per: Some(_), .. } => "adds a penalty that grows".to_owned(),
        Verdict::Derive { setting, .. } => format!("gives the setting `{setting}`"),
        Verdict::Step { phase, order, text, .. } => format!("adds a step to {phase} ({order}): \"{}\"", text.written),
        Verdict::Caution { kind, text } => format!("cautions ({kind}): \"{}\"", text.written),
    }
}

/// Returns the help line of a dotted name.
pub fn help(name: &str) -> String {
    let mut parts = name.split('.');
    let Some(root) = parts.next().and_then(Root::parse) else { return String::new() };
    if root == Root::Settings {
        return "a setting, derived by a rule".to_owned();
    }
    let mut found: Option<&'static Field> = None;
    let mut of = root;
    for part in parts {
        match of.field(part) {
            Some(field) => {
                found = Some(field);
                if let Type::Record(inner) = field.kind {
                    of = inner;
                }
            }
            None => break,
        }
    }
    found.map_or_else(|| format!("the {} itself", root.word()), |f| f.help.to_owned())
}

fn dedent(written: &str) -> String {
    let mut lines = written.trim_end().lines();
    let mut text = lines.next().unwrap_or("").trim_start().to_owned();
    for line in lines {
        text.push('\n');
        text.push_str(line.strip_prefix("  ").unwrap_or(line));
    }
    text
}
