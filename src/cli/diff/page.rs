//! What two states decide differently, on a page that is read in two minutes.

use std::fmt::Write;

use serde_json::json;

use super::blame::Blamed;
use super::entries::{Difference, Group};

/// Most lines of one kind that are written out; of more, the number is told.
const OF_A_KIND: usize = 6;

/// What became of one part.
pub(super) struct PartChange {
    pub part: String,
    pub spec: String,
    /// None where only the program decides otherwise.
    pub what: Option<What>,
    /// What this program decides otherwise than the committed recipe of the earlier state.
    pub by_program: Vec<Difference>,
}

pub(super) enum What {
    New {
        status: String,
    },
    Gone {
        status: String,
    },
    Changed {
        /// The status of before, and of now.
        before: String,
        now: String,
        differences: Vec<Difference>,
        blamed: Blamed,
        /// What of the making of a piece moved.
        remade: Vec<String>,
        /// What of the mesh moved, in words.
        mesh: Vec<String>,
    },
}

/// How many specs were compared, and how many could not be.
#[derive(Debug, Clone, Copy)]
pub(super) struct Count {
    pub compared: usize,
    pub unread: usize,
}

/// Returns the page for a terminal.
pub(super) fn text(changes: &[&PartChange], count: Count) -> String {
    page(changes, count, |head| head.to_owned(), |name| name.to_owned())
}

/// Returns the page as Markdown, for a comment under a pull request.
pub(super) fn markdown(changes: &[&PartChange], count: Count) -> String {
    page(changes, count, |head| format!("### {head}\n"), |name| format!("**{name}**"))
}

fn page(
    changes: &[&PartChange],
    count: Count,
    heading: impl Fn(&str) -> String,
    strong: impl Fn(&str) -> String,
) -> String {
    let mut out = String::new();
    for change in changes {
        let _ = writeln!(out, "{}", heading(&title(change)));
        lines(change, &strong).iter().for_each(|line| {
            let _ = writeln!(out, "- {line}");
        });
        out.push('\n');
    }
    let Count { compared, unread } = count;
    let files = if compared == 1 { "1 spec".to_owned() } else { format!("{compared} specs") };
    let told = match changes.len() {
        0 => "nothing is decided otherwise".to_owned(),
        1 => "1 part is decided otherwise".to_owned(),
        n => format!("{n} parts are decided otherwise"),
    };
    if compared > 0 {
        let _ = writeln!(out, "{files} compared: {told}.");
    }
    if unread > 0 {
        let _ = writeln!(out, "{unread} could not be read in one of the two states, and were not compared.");
    }
    out
}

fn title(change: &PartChange) -> String {
    let PartChange { part, spec, what, .. } = change;
    match what {
        Some(What::New { status }) => format!("{part} ({spec}): new, {}", status.replace('-', " ")),
        Some(What::Gone { status }) => format!("{part} ({spec}): gone; it was {}", status.replace('-', " ")),
        Some(What::Changed { differences, .. }) => match differences.iter().find(|d| d.group == Group::Status) {
            Some(d) => format!("{part} ({spec}): {} -> {}", words(d.before.as_ref()), words(d.now.as_ref())),
            None => format!("{part} ({spec}): decided otherwise"),
        },
        None => format!("{part} ({spec}): this program decides otherwise than the recipe beside the earlier spec"),
    }
}

fn words(status: Option<&String>) -> String {
    status.map_or_else(|| "nothing".to_owned(), |s| s.replace('-', " "))
}

fn lines(change: &PartChange, strong: &impl Fn(&str) -> String) -> Vec<String> {
    let mut lines = Vec::new();
    if let Some(What::Changed { differences, blamed, remade, mesh, .. }) = &change.what {
        if !blamed.inputs.is_empty() {
            lines.push(format!("{}: {}", strong("changed"), some(&blamed.inputs, OF_A_KIND)));
        }
        if !mesh.is_empty() {
            lines.push(format!("{}: {}", strong("mesh"), mesh.join("; ")));
        }
        let status = |d: &&(&Difference, &[String])| d.0.group != Group::Status || blamed.inputs.len() > 1;
        let by = |nth: usize| blamed.by.get(nth).map_or(&[][..], Vec::as_slice);
        let each: Vec<(&Difference, &[String])> = differences.iter().enumerate().map(|(n, d)| (d, by(n))).collect();
        let alone = blamed.inputs.len() <= 1;
        let shown: Vec<&(&Difference, &[String])> = each.iter().filter(status).collect();
        for group in shown.chunk_by(|a, b| a.0.group == b.0.group) {
            of_group(group, alone, strong, &mut lines);
        }
        lines.push(first_article(remade));
        if differences.iter().any(|d| matches!(d.group, Group::Margin | Group::Fit)) {
            lines.push(
                "pieces in stock were made to the recipe before: hold them against the margins and fits that moved"
                    .to_owned(),
            );
        }
    }
    if !change.by_program.is_empty() {
        let told: Vec<String> = change.by_program.iter().map(|d| moved(d, &|n: &str| n.to_owned())).collect();
        lines.push(format!(
            "{}: from the same inputs this program decides otherwise than the committed recipe: {}",
            strong("the program and its built-in knowledge"),
            some(&told, OF_A_KIND)
        ));
    }
    lines
}

fn first_article(remade: &[String]) -> String {
    if remade.is_empty() {
        return "no first article for this: nothing moved of how a piece is made".to_owned();
    }
    format!("first article again: {} moved", some(remade, OF_A_KIND))
}

/// Lines of one kind: cautions, questions and the checklist by what is new and gone, all else one by one.
fn of_group(
    group: &[&(&Difference, &[String])],
    alone: bool,
    strong: &impl Fn(&str) -> String,
    lines: &mut Vec<String>,
) {
    let because = |by: &[String]| match by {
        _ if alone => String::new(),
        [] => ", by several changes together".to_owned(),
        by => format!(", by {}", by.join(" and ")),
    };
    let kind = group.first().map_or(Group::Status, |g| g.0.group);
    match kind {
        Group::Checklist => {
            let count = |new: bool| group.iter().filter(|g| g.0.before.is_none() == new).count();
            lines.push(format!("{}: {} new lines, {} gone", strong("checklist"), count(true), count(false)));
        }
        // Settings and amounts follow from what was decided: one line for those with one cause.
        Group::Setting | Group::Run => {
            let mut causes: Vec<&[String]> = group.iter().map(|g| g.1).collect();
            causes.sort();
            causes.dedup();
            for cause in causes {
                let of: Vec<String> =
                    group.iter().filter(|g| g.1 == cause).map(|g| moved(g.0, &|n: &str| n.to_owned())).collect();
                let name = if kind == Group::Run { "run" } else { "settings" };
                lines.push(format!("{}: {}{}", strong(name), some(&of, OF_A_KIND), because(cause)));
            }
        }
        _ => {
            lines.extend(group.iter().take(OF_A_KIND).map(|g| format!("{}{}", moved(g.0, strong), because(g.1))));
            if group.len() > OF_A_KIND {
                lines.push(format!("and {} more of this kind", group.len() - OF_A_KIND));
            }
        }
    }
}

fn moved(d: &Difference, strong: &impl Fn(&str) -> String) -> String {
    let Difference { group, name, before, now } = d;
    let kind = match group {
        Group::Conflict => "cannot stand",
        Group::Question => "question",
        Group::Caution => "caution",
        _ => {
            let name = strong(name);
            return match (before, now) {
                (Some(old), Some(new)) => format!("{name}: {old} -> {new}"),
                (None, Some(new)) => format!("{name}: now {new}"),
                (Some(old), None) => format!("{name}: no longer ({old})"),
                (None, None) => name,
            };
        }
    };
    let how = if before.is_none() { "new" } else { "gone" };
    format!("{}: {name}", strong(&format!("{how} {kind}")))
}

/// Lists the first few, and says how many more there are.
fn some(all: &[String], most: usize) -> String {
    let listed = all.iter().take(most).cloned().collect::<Vec<_>>().join("; ");
    if all.len() > most { format!("{listed}; and {} more", all.len() - most) } else { listed }
}

/// Returns the changes for other programs.
pub(super) fn json(changes: &[&PartChange]) -> String {
    let part = |change: &&PartChange| {
        let mut one = json!({ "part": change.part, "spec": change.spec, "by_program": change.by_program });
        let (kind, status) = match &change.what {
            Some(What::New { status }) => ("new", status.clone()),
            Some(What::Gone { status }) => ("gone", status.clone()),
            Some(What::Changed { .. }) => ("changed", String::new()),
            None => ("program", String::new()),
        };
        one["what"] = json!(kind);
        if !status.is_empty() {
            one["status"] = json!(status);
        }
        if let Some(What::Changed { differences, blamed, remade, mesh, .. }) = &change.what {
            let each = differences.iter().enumerate().map(|(nth, d)| {
                let mut d = json!(d);
                d["because"] = json!(blamed.by.get(nth).cloned().unwrap_or_default());
                d
            });
            one["changes"] = each.collect();
            one["inputs"] = json!(blamed.inputs);
            one["first_article"] = json!(!remade.is_empty());
            one["mesh"] = json!(mesh);
        }
        one
    };
    let all: Vec<serde_json::Value> = changes.iter().map(part).collect();
    serde_json::to_string_pretty(&json!({ "parts": all })).map(|t| t + "\n").unwrap_or_default()
}
