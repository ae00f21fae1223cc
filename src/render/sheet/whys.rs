//! The review's reasons: of decisions with what was not taken, of steps and cautions by phase, of sizes as one sum.

use super::rejected::not_taken;
use super::{
    Line, Reason, ReasonsLines, Recipe, decision, hours, in_words, inline, mass, named_and_smaller, short_citation,
    shortly,
};
use crate::recipe::{Allowance, Choice, Counted, Decided, Decisions, Run, Sentence, Stage, Step};
use crate::rulebook::Decision;

/// Returns each decision with its reasons, its second best, and what was not taken.
pub(super) fn decided(recipe: &Recipe, decisions: &Decisions) -> Vec<ReasonsLines> {
    decisions.all().iter().filter_map(|(of, d)| one(recipe, *of, d)).collect()
}

fn one(recipe: &Recipe, of: Decision, d: &Decided) -> Option<ReasonsLines> {
    // What rules left out is told by those left out: each with its own numbers.
    let kept = |r: &&Reason| !matches!(&r.text, Sentence::Choice(c) if matches!(**c, Choice::RuledOut { .. }));
    let apart = d
        .runner_up
        .as_ref()
        .and_then(|next| next.run_apart.as_ref())
        .filter(|a| a.matters())
        .map(|a| inline(&a.to_string()));
    // A choice that only follows another's next best, as supports follow the way up, is told there.
    let follows = d.runner_up.as_ref().is_some_and(|next| told_before(recipe, of, &next.separated_by));
    let told = |r: &Reason| {
        let better = matches!(&r.text, Sentence::Choice(c) if matches!(**c, Choice::Better { .. }));
        if better && follows {
            return "as with the decision before: the next best of both is one".to_owned();
        }
        let apart = apart.iter().filter(|_| better).map(|a| format!("; with it {a}")).collect::<String>();
        shortly(recipe, r) + &apart
    };
    let mut reasons: Vec<String> = d.because.iter().filter(kept).map(told).filter(|r| !r.is_empty()).collect();
    let of_next = |r: &Reason| matches!(&r.text, Sentence::Choice(c) if matches!(**c, Choice::Better { .. } | Choice::AsGoodAs { .. }));
    if let Some(next) = d.runner_up.as_ref().filter(|_| !d.because.iter().any(of_next)) {
        let by = named_and_smaller(&next.separated_by).join(", ");
        reasons.push(inline(&format!("second best: {}, worse by {}: {by}", next.value, next.penalty.plain())));
    }
    reasons.extend(not_taken(recipe, of));
    (!reasons.is_empty()).then(|| ReasonsLines { what: decision(of).to_owned(), value: inline(&d.value), reasons })
}

/// Whether the decision just before is kept from its next best by the same.
fn told_before(recipe: &Recipe, of: Decision, by: &[crate::recipe::Weighed]) -> bool {
    let all = recipe.decisions.as_ref().map(Decisions::all);
    let mut before = None;
    for (other, d) in all.iter().flatten() {
        if *other == of {
            break;
        }
        before = d.runner_up.as_ref();
    }
    before.is_some_and(|next| !by.is_empty() && next.separated_by == by)
}

/// Returns why steps and cautions stand as they do: a line for each phase, each reason once, with all the rules that give it.
pub(super) fn whys(recipe: &Recipe, printable: bool) -> Vec<Line> {
    let mut said: Vec<Why> = Vec::new();
    for phase in recipe.checklist.iter().filter(|_| printable) {
        // The form of the first piece asks for what other steps ask for.
        let steps = phase.steps.iter().filter(|s| phase.phase != Stage::FirstArticle || s.fit.is_none());
        say(recipe, phase.phase.title(), steps.map(|s: &Step| &s.because), &mut said);
    }
    say(recipe, "Cautions", recipe.cautions.iter().map(|c| &c.because), &mut said);
    let mut lines: Vec<Line> = Vec::new();
    for Why { what, text, rules, source } in said {
        let cites = [rules.join(", "), source].into_iter().filter(|c| !c.is_empty()).collect::<Vec<_>>().join("; ");
        let told = if cites.is_empty() { text } else { format!("{text} *({cites})*") };
        match lines.last_mut().filter(|line| line.what == what) {
            Some(line) => line.value = format!("{}; {told}", line.value),
            None => lines.push(Line { what: what.to_owned(), value: told, because: String::new() }),
        }
    }
    lines
}

/// A reason that stands in the phase that gives it first.
struct Why<'a> {
    what: &'a str,
    text: String,
    rules: Vec<String>,
    source: String,
}

fn say<'a, 'r>(recipe: &Recipe, what: &'a str, reasons: impl Iterator<Item = &'r Reason>, said: &mut Vec<Why<'a>>) {
    for reason in reasons {
        let text = in_words(&reason.text);
        // A source without words stands where what it is the source of is told.
        if text.is_empty() {
            continue;
        }
        let cites = inline(&short_citation(recipe, reason));
        let (rule, source) = cites.split_once("; ").map_or((cites.as_str(), ""), |(rule, source)| (rule, source));
        match said.iter_mut().find(|w| w.text == text && w.source == source) {
            Some(before) if before.rules.iter().any(|r| r == rule) => {}
            Some(before) => before.rules.push(rule.to_owned()),
            None => {
                let rules = [rule].iter().filter(|r| !r.is_empty()).map(|r| (*r).to_owned()).collect();
                said.push(Why { what, text, rules, source: source.to_owned() });
            }
        }
    }
}

/// Returns the sum from the size aimed at on the printed part to the size to model.
pub(super) fn sum(a: &Allowance) -> String {
    let Some(model) = a.model_size else { return String::new() };
    let counted = || a.terms.iter().filter(|t| t.counted == Counted::InSum);
    let aim = model.to_mm() + counted().map(|t| t.value.to_mm()).sum::<f64>();
    let taken =
        counted().map(|t| format!(" {} {:.3} ({})", sign(-t.value.to_mm()), t.value.to_mm().abs(), t.name.as_str()));
    format!("{aim:.3} aimed at as printed{} = {}", taken.collect::<String>(), crate::resolve::fits::shown(model))
}

fn sign(value: f64) -> char {
    if value < 0.0 { '-' } else { '+' }
}

/// Returns the run in one line.
pub(super) fn run_words(run: &Run) -> String {
    let each = if run.per_round > 1 && run.start > 1 { "one by itself" } else { "each" };
    inline(&format!(
        "{} {each} and {} in all, {} each and {} in all, {}",
        hours(run.time_each),
        hours(run.time_total),
        mass(run.mass_each),
        mass(run.mass_total),
        run.cost
    ))
}
