//! The decision: the best choice, what stood next for each decision, and why the others were not taken.

use super::problem::{Constraint, Rules, Said};
use super::search::{Allowed, BREAK, Penalty, Search, Solution};
use super::world::{COUNT, Partial, at};

/// A choice that stands, with everything needed to explain it.
#[derive(Debug, Clone)]
pub struct Decided {
    pub choice: [usize; COUNT],
    pub penalties: Vec<(Constraint, Penalty)>,
    /// For each decision the best choice that decides it otherwise.
    pub runners_up: [Option<RunnerUp>; COUNT],
    pub rejected: Vec<Rejected>,
    /// Requirements broken under a waiver.
    pub waived: Vec<Said>,
    /// All poses in the order of their best total, the chosen first.
    pub poses: Vec<PoseTotal>,
    /// What the spec leaves open, with what each answer would lead to.
    pub questions: Vec<super::questions::Asked>,
}

/// A pose with the least total there is in it.
#[derive(Debug, Clone)]
pub struct PoseTotal {
    pub pose: usize,
    pub total: Penalty,
    /// What makes it up.
    pub penalties: Vec<(Constraint, Penalty)>,
    /// All that is chosen with it.
    pub choice: [usize; COUNT],
}

/// What would have been chosen had one decision been barred.
#[derive(Debug, Clone)]
pub struct RunnerUp {
    pub value: usize,
    /// All that would have been chosen with it.
    pub choice: [usize; COUNT],
    pub more: Penalty,
    /// Penalties that differ, the greatest difference first; positive counts against the runner-up.
    pub separated_by: Vec<(Constraint, Penalty)>,
    /// Where this one is as good, the next that is not: for how the inside is built.
    pub beyond: Option<Box<RunnerUp>>,
}

/// A value that was not taken.
#[derive(Debug, Clone)]
pub struct Rejected {
    pub decision: usize,
    pub value: usize,
    pub why: Why,
}

#[derive(Debug, Clone)]
pub enum Why {
    /// The spec forbids it, or pins another: index into pins or forbids is in the spec.
    ByTheSpec(super::pins::Excluded),
    /// Rules refuse it, whatever else is chosen; the fewest that do.
    ///
    /// The decisive one in words, the others by name.
    Refused { decisive: Box<Said>, also: Vec<Constraint> },
    /// It would do; it costs more.
    Costlier { separated_by: Vec<(Constraint, Penalty)> },
}

/// Decisions whose values are all accounted for in the recipe.
const ACCOUNTED: [usize; 4] = [at::MATERIAL, at::PRINTER, at::NOZZLE, at::SURFACE];

pub fn full(choice: &[usize]) -> Partial {
    let mut partial: Partial = [None; COUNT];
    for (slot, value) in partial.iter_mut().zip(choice) {
        *slot = Some(*value);
    }
    partial
}

pub fn fixed(choice: &[usize]) -> [usize; COUNT] {
    let mut result = [0; COUNT];
    for (slot, value) in result.iter_mut().zip(choice) {
        *slot = *value;
    }
    result
}

/// Decides, or returns `None` where nothing stands.
pub fn decide(rules: &Rules<'_, '_>) -> Option<Decided> {
    if !rules.broken_from_the_start().is_empty() {
        return None;
    }
    let allowed = rules.allowed();
    let mut search = rules.search();
    let Some(best) = search.best(&allowed) else {
        rules.keep(search);
        return None;
    };
    let choice = fixed(&best.choice);
    let penalties = penalties(rules, &mut search, &choice);
    let runners_up = std::array::from_fn(|d| runner_up(rules, &mut search, &allowed, &best, &penalties, d));
    let waived = rules.broken(&full(&choice));
    let poses = poses(rules, &mut search, &allowed, &best);
    let rejected = rejected(rules, &mut search, &allowed, &best, &penalties);
    rules.keep(search);
    Some(Decided { choice, penalties, runners_up, rejected, waived, poses, questions: Vec::new() })
}

/// Returns the best choice there is without explaining it.
pub fn best(rules: &Rules<'_, '_>) -> Option<Solution> {
    if !rules.broken_from_the_start().is_empty() {
        return None;
    }
    Search::new(rules).best(&rules.allowed())
}

/// Returns whether anything stands at all.
pub fn stands(rules: &Rules<'_, '_>) -> bool {
    rules.broken_from_the_start().is_empty() && Search::new(rules).stands(&rules.allowed())
}

/// Adds what a choice breaks, waived rules left out.
pub fn with_broken(
    rules: &Rules<'_, '_>,
    search: &mut Search<'_, Rules<'_, '_>>,
    best: Solution,
) -> (Solution, Vec<Said>) {
    let broken = broken_by(rules, search, &best.choice);
    let broken = broken.into_iter().map(|c| rules.explain(c, &full(&best.choice))).collect();
    (best, broken)
}

fn broken_by(rules: &Rules<'_, '_>, search: &mut Search<'_, Rules<'_, '_>>, choice: &[usize]) -> Vec<Constraint> {
    let mut broken: Vec<Constraint> = search.refusing(choice).into_iter().map(|c| rules.constraint(c)).collect();
    broken.extend(rules.broken_from_the_start());
    broken
}

/// Returns every penalty of a full choice by constraint.
fn penalties(
    rules: &Rules<'_, '_>,
    search: &mut Search<'_, Rules<'_, '_>>,
    choice: &[usize],
) -> Vec<(Constraint, Penalty)> {
    search.costs(choice).into_iter().map(|(c, penalty)| (rules.constraint(c), penalty)).collect()
}

/// Returns a choice with one decision changed to each of its values in turn.
fn varied(choice: &[usize], decision: usize, count: usize) -> impl Iterator<Item = Vec<usize>> {
    (0..count).map(move |value| {
        let mut other = choice.to_vec();
        other[decision] = value;
        other
    })
}

fn without(allowed: &Allowed, decision: usize, value: usize) -> Allowed {
    let mut result = allowed.clone();
    result[decision][value] = false;
    result
}

/// Leaves one value of a decision.
pub fn only(allowed: &Allowed, decision: usize, value: usize) -> Allowed {
    let mut result = allowed.clone();
    for (i, slot) in result[decision].iter_mut().enumerate() {
        *slot = i == value;
    }
    result
}

fn runner_up(
    rules: &Rules<'_, '_>,
    search: &mut Search<'_, Rules<'_, '_>>,
    allowed: &Allowed,
    best: &Solution,
    penalties: &[(Constraint, Penalty)],
    decision: usize,
) -> Option<RunnerUp> {
    // What stands next for a printer or a pose is asked with the material held: else the answer would speak of another job.
    let held =
        if decision == at::MATERIAL { allowed.clone() } else { only(allowed, at::MATERIAL, best.choice[at::MATERIAL]) };
    let mut others = without(&held, decision, best.choice[decision]);
    let mut equal = Vec::new();
    loop {
        let Some(other) = search.best_from(&others, varied(&best.choice, decision, others[decision].len())) else {
            // Nothing but equals: the first of them is next.
            return equal.into_iter().next();
        };
        let theirs = self::penalties(rules, search, &other.choice);
        let value = other.choice[decision];
        let next = RunnerUp {
            value,
            choice: fixed(&other.choice),
            more: other.penalty - best.penalty,
            separated_by: differences(penalties, &theirs),
            beyond: None,
        };
        // Two that build the same part tell nothing of why it is built so: the next that differs does.
        if decision == at::BUILD_UP && next.more == 0 {
            equal.push(next);
            others = without(&others, decision, value);
            continue;
        }
        return Some(match equal.into_iter().next() {
            Some(first) => RunnerUp { beyond: Some(Box::new(next)), ..first },
            None => next,
        });
    }
}

/// Returns where two sets of penalties differ, greatest first.
fn differences(ours: &[(Constraint, Penalty)], theirs: &[(Constraint, Penalty)]) -> Vec<(Constraint, Penalty)> {
    let of = |set: &[(Constraint, Penalty)], c: Constraint| set.iter().find(|(x, _)| *x == c).map_or(0, |(_, p)| *p);
    let mut all: Vec<Constraint> = ours.iter().chain(theirs).map(|(c, _)| *c).collect();
    all.sort_unstable();
    all.dedup();
    let mut result: Vec<(Constraint, Penalty)> =
        all.into_iter().map(|c| (c, of(theirs, c) - of(ours, c))).filter(|(_, p)| *p != 0).collect();
    result.sort_by_key(|(c, p)| (-p.abs(), *c));
    result
}

/// Returns the poses that stand, in the order of their totals.
fn poses(
    rules: &Rules<'_, '_>,
    search: &mut Search<'_, Rules<'_, '_>>,
    allowed: &Allowed,
    best: &Solution,
) -> Vec<PoseTotal> {
    // The other decisions stay as chosen but for the support policy, so that rows compare like with like. A pose that does not
    // stand so may stand with another nozzle or build-up, and is the runner-up then: it has its row as well.
    let of_the_material = only(allowed, at::MATERIAL, best.choice[at::MATERIAL]);
    let mut held = allowed.clone();
    for (decision, values) in held.iter_mut().enumerate() {
        if decision != at::POSE && decision != at::SUPPORTS {
            for (value, slot) in values.iter_mut().enumerate() {
                *slot = value == best.choice[decision];
            }
        }
    }
    let count = held[at::POSE].len();
    let mut rows: Vec<PoseTotal> = (0..count)
        .filter(|&p| held[at::POSE][p])
        .filter_map(|pose| {
            let known: Vec<Vec<usize>> = varied(&best.choice, at::SUPPORTS, held[at::SUPPORTS].len())
                .map(|mut choice| {
                    choice[at::POSE] = pose;
                    choice
                })
                .collect();
            let here = [&held, &of_the_material];
            let found =
                here.into_iter().find_map(|open| search.best_from(&only(open, at::POSE, pose), known.clone()))?;
            let penalties = penalties(rules, search, &found.choice);
            Some(PoseTotal { pose, total: found.penalty, penalties, choice: fixed(&found.choice) })
        })
        .collect();
    rows.sort_by_key(|row| (row.total, row.pose));
    rows
}

fn rejected(
    rules: &Rules<'_, '_>,
    search: &mut Search<'_, Rules<'_, '_>>,
    allowed: &Allowed,
    best: &Solution,
    penalties: &[(Constraint, Penalty)],
) -> Vec<Rejected> {
    let mut result = Vec::new();
    for decision in ACCOUNTED {
        for value in (0..allowed[decision].len()).filter(|&v| v != best.choice[decision]) {
            result.extend(rejects(rules, search, allowed, (&best.choice, penalties), (decision, value)));
        }
    }
    result.extend(rejected_poses(rules, search, allowed, best, penalties));
    result
}

/// Says why a value of a decision was not taken; `None` where it was, or where nothing is against it.
pub fn not_taken(rules: &Rules<'_, '_>, decided: &Decided, decision: usize, value: usize) -> Option<Rejected> {
    let allowed = rules.allowed();
    let asked_of = allowed.get(decision)?.len();
    if value >= asked_of || decided.choice.get(decision) == Some(&value) {
        return None;
    }
    let mut search = rules.search();
    let chosen = (decided.choice.as_slice(), decided.penalties.as_slice());
    let found = rejects(rules, &mut search, &allowed, chosen, (decision, value));
    rules.keep(search);
    found
}

/// Says why one value was not taken in place of what was chosen at the penalties there are.
fn rejects(
    rules: &Rules<'_, '_>,
    search: &mut Search<'_, Rules<'_, '_>>,
    allowed: &Allowed,
    (chosen, penalties): (&[usize], &[(Constraint, Penalty)]),
    (decision, value): (usize, usize),
) -> Option<Rejected> {
    let why = if allowed[decision][value] {
        // A material is judged whatever else is chosen; the rest is judged for the material that was chosen, else
        // a nozzle would be blamed for the faults of the one material it could still print.
        let open =
            if decision == at::MATERIAL { allowed.clone() } else { only(allowed, at::MATERIAL, chosen[at::MATERIAL]) };
        // What it breaks by itself needs no search for what else might be chosen with it.
        let mut alone: Partial = [None; COUNT];
        alone[decision] = Some(value);
        let broken = search.refusing_alone(decision, value).into_iter().map(|c| rules.constraint(c)).collect();
        refused(rules, broken, &alone).or_else(|| {
            let mut near = chosen.to_vec();
            near[decision] = value;
            why_not(rules, search, &only(&open, decision, value), near, penalties)
        })
    } else {
        super::pins::excluded_by(rules.world, decision, value).map(Why::ByTheSpec)
    };
    why.map(|why| Rejected { decision, value, why })
}

/// Says which rule refuses each pose that does not stand in the table of totals; of the one somebody asked about, what it
/// would cost.
fn rejected_poses(
    rules: &Rules<'_, '_>,
    search: &mut Search<'_, Rules<'_, '_>>,
    allowed: &Allowed,
    best: &Solution,
    penalties: &[(Constraint, Penalty)],
) -> Vec<Rejected> {
    let decision = at::POSE;
    let open = only(allowed, at::MATERIAL, best.choice[at::MATERIAL]);
    let asked = rules.world.part.asked;
    let values = (0..allowed[decision].len()).filter(|&v| v != best.choice[decision]);
    let mut of = |value: usize| {
        let why = if allowed[decision][value] || asked == Some(value) {
            let mut near = best.choice.clone();
            near[decision] = value;
            let why = why_not(rules, search, &only(&open, decision, value), near, penalties)?;
            if matches!(why, Why::Costlier { .. }) && asked != Some(value) {
                return None;
            }
            why
        } else {
            Why::ByTheSpec(super::pins::excluded_by(rules.world, decision, value)?)
        };
        Some(Rejected { decision, value, why })
    };
    values.filter_map(&mut of).collect()
}

/// Says why a value was not taken: the rules that refuse it, or what it costs more. `near` is a choice that may come near.
fn why_not(
    rules: &Rules<'_, '_>,
    search: &mut Search<'_, Rules<'_, '_>>,
    allowed: &Allowed,
    near: Vec<usize>,
    penalties: &[(Constraint, Penalty)],
) -> Option<Why> {
    search.count_breaks = true;
    let found = search.best_from(allowed, [near]);
    search.count_breaks = false;
    let found = found?;
    if found.penalty >= BREAK {
        return refused(rules, broken_by(rules, search, &found.choice), &full(&found.choice));
    }
    let theirs = self::penalties(rules, search, &found.choice);
    Some(Why::Costlier { separated_by: differences(penalties, &theirs) })
}

/// What the part must do comes before what the bench lacks.
fn refused(rules: &Rules<'_, '_>, mut broken: Vec<Constraint>, choice: &Partial) -> Option<Why> {
    broken.sort_by_key(|c| (!speaks_of_the_part(rules, *c), *c));
    let (decisive, also) = broken.split_first()?;
    Some(Why::Refused { decisive: Box::new(rules.explain(*decisive, choice)), also: also.to_vec() })
}

/// Returns whether a rule reads something the spec asks for.
fn speaks_of_the_part(rules: &Rules<'_, '_>, constraint: Constraint) -> bool {
    let names = &rules.rule(constraint).names;
    names.iter().any(|n| ["service.", "contact.", "load.", "part."].iter().any(|root| n.starts_with(root)))
}
