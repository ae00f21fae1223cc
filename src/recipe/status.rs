//! What a recipe comes to. One table, from verdicts, waivers and questions to the status; nobody writes "ready".
//!
//! | of this job | status |
//! |---|---|
//! | a rule refuses every choice, whatever is answered; or a margin is broken, no waiver lets it pass, and a failure could hurt someone | not printable as specified |
//! | a margin is broken, and no waiver lets it pass | does not hold |
//! | a margin is not shown, and rules have it settled before printing; a rule asks first; an answer that is open decides, whether anything would do as well; a use is withheld | a question first |
//! | a margin does not plainly hold; a hazard; a question; a doubt about the mesh; a waiver | ready with cautions |
//! | none of these | ready |

use std::collections::BTreeSet;

use crate::recipe::{
    Assumption, Conflict, Failing, Headline, Margin, Open, Recipe, Refused, Requirement, Sentence, Status, Unshown,
    Verdict,
};
use crate::resolve::decide::Decided;
use crate::resolve::margin::{About, MarginKind};
use crate::resolve::problem::{Rules, Said};
use crate::resolve::questions::{self, Asked};
use crate::resolve::world::World;
use crate::rulebook::{CautionKind, Root};
use crate::semantics::requirements::Key;
use crate::semantics::spec::Consequence;

/// Returns what the print is not for, each use once, whatever brings it up.
pub(super) fn uses(recipe: &Recipe) -> Vec<Sentence> {
    let mut uses: Vec<Sentence> = Vec::new();
    for one in recipe.not_for.iter().map(|n| &n.usage) {
        if !uses.contains(one) {
            uses.push(one.clone());
        }
    }
    uses
}

/// Gives a printable recipe its status, and says in the headline what stands against it.
pub(super) fn settle(
    rules: &Rules<'_, '_>,
    decided: &Decided,
    mut headline: Headline,
    said: &[Said],
    recipe: &mut Recipe,
) {
    let waived = waived(rules, decided);
    let of = |counts: &dyn Fn(&Margin) -> bool| -> Vec<Margin> {
        recipe
            .margins
            .iter()
            .filter(|m| counts(m) && !waived.contains(&(m.kind, m.asked_by.clone())))
            .cloned()
            .collect()
    };
    let (broken, first) = (of(&|m| m.verdict == Verdict::Broken), of(&|m| m.asks_first));
    let hurts = rules.world.spec.consequence.is_some_and(|c| c.value == Consequence::Injury);
    if !broken.is_empty() && hurts {
        withhold(recipe, &broken);
        recipe.cautions = super::build::cautions(rules, &rules.of_the_job());
        return;
    }
    recipe.assumptions.extend(first.iter().map(question));
    let mut questions = super::build::asked_first(rules, said);
    let open = decided.questions.iter().filter(|a| comes_first(rules, a));
    questions.extend(open.map(|a| open_question(rules.world, a)));
    let settled_first = !first.is_empty() || !questions.is_empty() || !recipe.not_for.is_empty();
    if let Headline::Print { failing, first: open, asked, not_for, .. } = &mut headline {
        *failing = broken.iter().map(told).collect();
        *open = first.iter().map(unshown).collect();
        *asked = questions;
        *not_for = uses(recipe);
        // What is withheld and nothing else open is a question too: who answers for that use.
        if asked.is_empty() && open.is_empty() && !not_for.is_empty() {
            asked.push(Open::WhoAnswers { uses: not_for.clone() }.into());
        }
    }
    recipe.headline = headline.into();
    recipe.status = if !broken.is_empty() {
        Status::DoesNotHold
    } else if settled_first {
        Status::QuestionFirst
    } else if is_to_be_watched(recipe) {
        Status::ReadyWithCautions
    } else {
        Status::Ready
    };
}

/// Returns the margins whose refusal a waiver sets aside, by their kinds and what asks for them.
fn waived(rules: &Rules<'_, '_>, decided: &Decided) -> BTreeSet<(MarginKind, Option<Key>)> {
    let margins: Vec<About> = rules.world.margins().collect();
    let of_margins = decided.waived.iter().filter(|s| rules.rule(s.constraint).each == Some(Root::Margin));
    let about = of_margins.filter_map(|s| margins.get(s.constraint.instance));
    about.map(|about| (about.kind, about.asked_by(rules.world.spec))).collect()
}

/// Says in the headline what the spec leaves open.
pub(super) fn open_question(world: &World<'_>, asked: &Asked) -> Sentence {
    super::build::open_words(world, asked.about).0.whole()
}

/// Whether something about this very job is to be watched: a margin, a waiver, a question, a hazard.
fn is_to_be_watched(recipe: &Recipe) -> bool {
    recipe.margins.iter().any(|m| m.verdict != Verdict::Holds)
        || recipe.cautions.iter().any(|c| c.kind < CautionKind::Quality)
        || recipe.assumptions.iter().any(|a| a.question)
        || recipe.mesh.iter().any(|m| m.warning)
        || !recipe.broken.is_empty()
}

/// Whether a question is settled before printing: one whose answer decides, and of the place one where not even the air is said.
fn comes_first(rules: &Rules<'_, '_>, asked: &Asked) -> bool {
    // Of holds and places rules say which come first.
    let by_rules = matches!(asked.about, questions::Open::Hold(_) | questions::Open::At(_));
    // What is chosen bears the hotter of the two; where nothing does, a refusal asks it first.
    let borne = matches!(asked.about, questions::Open::Back | questions::Open::Warm);
    let untried = matches!(asked.about, questions::Open::Which(_)) && asked.answers.is_empty();
    (asked.decides() || untried)
        && !(by_rules || borne)
        && (asked.about != questions::Open::Place || rules.world.spec.service.air.is_none())
}

fn unshown(m: &Margin) -> Unshown {
    Unshown { what: m.what.clone(), why: m.because.text.clone() }
}

fn told(m: &Margin) -> Failing {
    Failing { what: m.what.clone(), demand: m.told.demand.clone(), capacity: m.told.capacity.clone() }
}

/// What is to be settled first, as a question.
fn question(margin: &Margin) -> Assumption {
    let why = margin.because.text.clone();
    Assumption::new(Open::NotShown { what: margin.what.clone(), why }, Open::NotShownEffect, true)
}

/// Where a failure can hurt someone, what does not hold is not to be printed from: no rule may have refused it, the margin does.
fn withhold(recipe: &mut Recipe, broken: &[Margin]) {
    recipe.status = Status::NotPrintableAsSpecified;
    recipe.headline = Headline::Withheld(broken.iter().map(told).collect()).into();
    recipe.conflicts = broken
        .iter()
        .map(|m| {
            let at = |place: &crate::diag::Cite| Requirement {
                text: Sentence::Called(m.what.clone()),
                place: place.clone(),
            };
            let text = Refused::Margin(told(m)).into();
            Conflict { requirements: m.because.places.iter().map(at).collect(), text }
        })
        .collect();
    recipe.decisions = None;
    recipe.run = None;
    recipe.settings.clear();
    recipe.allowances.clear();
    recipe.margins.clear();
    recipe.checklist.clear();
    recipe.cautions.clear();
    recipe.rejected.clear();
    recipe.poses.clear();
    recipe.regions.clear();
    recipe.more_regions = None;
}
