//! The first page: what to load, on which machine, which way up, supported or not, and what to watch.

use super::super::words::{caution_kind, hours, mass};
use super::{Line, capital, inline, line};
use crate::recipe::{Caution, Decided, Decisions, Recipe, Run};
use crate::rulebook::CautionKind;

/// How many lines the first screen gives to what is to be watched; the rest stand behind the checklist.
const WATCHED: usize = 3;

/// Returns the rows of the first screen.
pub(super) fn glance(recipe: &Recipe, d: &Decisions, run: Option<&Run>) -> Vec<Line> {
    let mut rows = vec![
        line("Machine", &valued(&d.printer)),
        line("Material", &valued(&d.material)),
        line("Nozzle", &valued(&d.nozzle)),
        line("Bed", &format!("{}; {}", valued(&d.surface), agent_words(&d.agent))),
        line("Which way up", &valued(&d.pose)),
        line("Supports", &valued(&d.supports)),
    ];
    let wanted = run.map_or(1, |r| r.wanted);
    let fetched = fetched(recipe, wanted);
    if !fetched.is_empty() {
        rows.insert(1, line("Fetch", &fetched));
    }
    rows.extend(run.map(|r| line("Run", &run_words(r))));
    let open = recipe.assumptions.iter().filter(|a| a.question).count();
    if open > 0 {
        let words = if open == 1 { "one question".to_owned() } else { format!("{open} questions") };
        rows.push(line("Open", &format!("{words} whose answer could change this recipe, under Open questions")));
    }
    rows
}

/// What is to be watched, and which of the recipe's cautions that are.
pub(super) struct Watched {
    pub words: Vec<String>,
    pub cautions: Vec<usize>,
}

/// What is to be watched, in order of consequence: every requirement the recipe breaks, and as many cautions as there is
/// room for, those first that are about this very part. What goes with every job is not among them.
pub(super) fn watched(recipe: &Recipe, printable: bool) -> Watched {
    if !printable {
        return Watched { words: Vec::new(), cautions: Vec::new() };
    }
    let mut words: Vec<String> =
        recipe.broken.iter().map(|b| format!("**Breaks:** {}", inline(&b.text.to_string()))).collect();
    let own = |(_, c): &(usize, &Caution)| c.kind != CautionKind::Usual;
    let mut chosen: Vec<(usize, &Caution)> = recipe.cautions.iter().enumerate().filter(own).collect();
    chosen.sort_by_key(|(_, c)| c.rank());
    chosen.truncate(WATCHED.saturating_sub(words.len()));
    // The recipe holds its cautions in order of consequence.
    chosen.sort_by_key(|(place, _)| *place);
    let said =
        |(_, c): &(usize, &Caution)| format!("**{}.** {}", caution_kind(c.kind), capital(&inline(&c.text.to_string())));
    words.extend(chosen.iter().map(said));
    if words.is_empty() {
        words.push("Nothing beyond the usual.".to_owned());
    }
    Watched { words, cautions: chosen.iter().map(|(place, _)| *place).collect() }
}

/// What to have at hand for the fits, each once; what the shop's file does not have is said to be got.
fn fetched(recipe: &Recipe, wanted: u32) -> String {
    let mut all: Vec<(&str, u32, bool)> = Vec::new();
    for f in recipe.allowances.iter().flat_map(|a| &a.fetch) {
        let count = f.each.map_or(0, |each| each.saturating_mul(wanted));
        match all.iter_mut().find(|(what, ..)| *what == f.what) {
            Some((_, before, _)) => *before = before.saturating_add(count),
            None => all.push((&f.what, count, f.there == Some(false))),
        }
    }
    let said = all.iter().map(|(what, count, missing)| {
        let count = if *count > 0 { format!("{count} x ") } else { String::new() };
        format!("{count}{what}{}", if *missing { " (to be got)" } else { "" })
    });
    said.collect::<Vec<_>>().join(", ")
}

fn valued(d: &Decided) -> String {
    if d.detail.is_nothing() { d.value.clone() } else { format!("{}, {}", d.value, d.detail) }
}

fn agent_words(agent: &Decided) -> String {
    match (agent.value.as_str(), agent.detail.is_nothing()) {
        ("none", true) => "no agent".to_owned(),
        ("none", false) => format!("no agent, {}", agent.detail),
        _ => valued(agent),
    }
}

fn run_words(run: &Run) -> String {
    let rounds = match (run.rounds, run.per_round) {
        (1, _) => "in one round".to_owned(),
        (_, 1) => "one at a time".to_owned(),
        (rounds, each) => format!("in {rounds} rounds of up to {each}"),
    };
    format!("{} wanted, start {}, {rounds}; {}, {}", run.wanted, run.start, hours(run.time_total), mass(run.mass_total))
}
