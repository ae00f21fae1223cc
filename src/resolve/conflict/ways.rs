//! What frees the job: one change, or several together.

use super::numbers::by_number;
use super::retry::Retry;
use super::sets::shrink;
use super::{Change, Freed, Together, bench, keep};
use crate::resolve::world::World;
use crate::semantics::requirements::{Gives, Kind, Requirement, without};
use crate::semantics::spec::Spec;

/// Whether a line says what the part is used for: that is not asked to give way.
fn of_the_use(requirement: &Requirement) -> bool {
    requirement.key.row().gives == Gives::Use
}

pub(super) fn free(retry: &Retry<'_, '_>, world: &World<'_>, sets: &[Vec<Requirement>]) -> Vec<Freed> {
    let spec = world.spec;
    let mut members: Vec<Requirement> = Vec::new();
    for requirement in sets.iter().flatten() {
        if !members.iter().any(|m| m.key == requirement.key) {
            members.push(requirement.clone());
        }
    }
    let mut result: Vec<Freed> = members.iter().flat_map(|r| by_number(retry, spec, r)).collect();
    for requirement in &members {
        let eased = |f: &Freed| matches!(&f.change, Change::Number { requirement: r, .. } if r.key == requirement.key);
        // A pin was somebody's choice among many: that the job can be made without it is worth knowing beside any number.
        if result.iter().any(|f| eased(f) && !f.way.fails()) && requirement.key.kind != Kind::Pin {
            continue;
        }
        if of_the_use(requirement) {
            continue;
        }
        if let Some(way) = retry.freed(&without(spec, [&requirement.key])) {
            result.push(Freed { change: Change::Drop { requirement: requirement.clone() }, way });
        }
    }
    result.extend(bench::by_bench(retry, world));
    // What would not hold comes last, and only where there is nothing better.
    if result.iter().any(|f| !f.way.fails()) {
        result.retain(|f| !f.way.fails());
    }
    result
}

/// Most lines changed together: who would have to change more wants another part, or another shop.
const TOGETHER: usize = 6;

/// Finds changes of the spec that free the job together: one line out of each set gives way, each by as little as the
/// others leave it.
pub(super) fn together(
    retry: &Retry<'_, '_>,
    spec: &Spec,
    all: &[Requirement],
    sets: &[Vec<Requirement>],
) -> Option<Together> {
    let mut sets = sets.to_vec();
    let chosen = loop {
        // What a part is used for is not asked to give way.
        if sets.iter().any(|set| set.iter().all(of_the_use)) {
            return None;
        }
        let chosen = one_of_each(spec, &sets);
        if chosen.is_empty() || chosen.len() > TOGETHER {
            return None;
        }
        let left: Vec<Requirement> = all.iter().filter(|r| !chosen.iter().any(|c| c.key == r.key)).cloned().collect();
        if retry.stands(&keep(spec, all, &left)) {
            break chosen;
        }
        // There are more sets than were looked for.
        sets.push(shrink(retry, spec, all, left));
    };
    let mut changes: Vec<Change> = Vec::new();
    let mut eased = spec.clone();
    for (i, requirement) in chosen.iter().enumerate() {
        let others = without(&eased, chosen.iter().skip(i + 1).map(|r| &r.key));
        let by_number = by_number(retry, &others, requirement).into_iter().next().map(|freed| freed.change);
        let change = by_number.unwrap_or_else(|| Change::Drop { requirement: requirement.clone() });
        eased = made(&eased, &change)?;
        changes.push(change);
    }
    let way = retry.freed(&eased)?;
    Some(Together { changes, way })
}

/// Takes one line out of each set: the one in most sets, then one that has a number to change, then the first written.
fn one_of_each(spec: &Spec, sets: &[Vec<Requirement>]) -> Vec<Requirement> {
    let mut chosen: Vec<Requirement> = Vec::new();
    loop {
        let open = |set: &&Vec<Requirement>| !set.iter().any(|r| chosen.iter().any(|c| c.key == r.key));
        let left: Vec<&Vec<Requirement>> = sets.iter().filter(open).collect();
        let in_sets = |r: &Requirement| left.iter().filter(|set| set.iter().any(|m| m.key == r.key)).count();
        let rank = |r: &&Requirement| (in_sets(r), !r.key.numbers(spec).is_empty(), std::cmp::Reverse(r.span.start));
        let free = left.iter().flat_map(|set| set.iter()).filter(|r| !of_the_use(r));
        let Some(next) = free.max_by_key(rank) else { return chosen };
        chosen.push(next.clone());
    }
}

/// Returns the spec with a change of it made.
fn made(spec: &Spec, change: &Change) -> Option<Spec> {
    match change {
        Change::Number { number, to, .. } => number.replaced(spec, *to),
        Change::Drop { requirement } => Some(without(spec, [&requirement.key])),
        Change::Bench { .. } => None,
    }
}
