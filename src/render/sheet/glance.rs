//! The first screen: what to load, on which machine, which way up, supported or not, and what to watch.

use super::super::words::{caution_kind, hours, mass};
use super::{Line, capital, inline, line};
use crate::recipe::{Caution, Decided, Decisions, Recipe, Run};

/// How many lines the first screen gives to what is to be watched; the rest are counted there and stand further on.
const WATCHED: usize = 4;

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
    rows.extend(run.map(|r| line("Run", &run_words(r))));
    rows.extend(watch(recipe).into_iter().enumerate().map(|(i, value)| Line {
        what: if i == 0 { "Watch".to_owned() } else { String::new() },
        value,
        because: String::new(),
    }));
    let open = recipe.assumptions.iter().filter(|a| a.question).count();
    if open > 0 {
        let words = if open == 1 { "one question".to_owned() } else { format!("{open} questions") };
        rows.push(line("Open", &format!("{words} whose answer could change this recipe, under Open questions")));
    }
    rows
}

/// What is to be watched, in order of consequence: requirements the recipe breaks, and as many cautions as there is room
/// for, those first that are about this very part.
fn watch(recipe: &Recipe) -> Vec<String> {
    let breaks = recipe.broken.iter().map(|b| format!("**Breaks:** {}", inline(&b.text.to_string())));
    let mut all: Vec<String> = breaks.collect();
    let mut chosen: Vec<(usize, &Caution)> = recipe.cautions.iter().enumerate().collect();
    chosen.sort_by_key(|(_, c)| c.rank());
    let more = (all.len() + chosen.len()).saturating_sub(WATCHED);
    all.truncate(WATCHED);
    chosen.truncate(WATCHED - all.len());
    // The recipe holds its cautions in order of consequence.
    chosen.sort_by_key(|(place, _)| *place);
    all.extend(
        chosen.iter().map(|(_, c)| format!("**{}:** {}", caution_kind(c.kind), capital(&inline(&c.text.to_string())))),
    );
    if more > 0 {
        all.push(format!("and {more} more, under Cautions"));
    }
    if all.is_empty() {
        all.push("nothing beyond the usual".to_owned());
    }
    all
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
