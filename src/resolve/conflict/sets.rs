//! The smallest sets of requirements that cannot stand together.

use super::keep;
use super::retry::Retry;
use crate::semantics::requirements::{Gives, Requirement};

/// Most conflict sets of several lines looked for.
const SETS: usize = 4;
/// Most lists of lines looked through for them.
const LOOKED: usize = 12;

/// What is asked for, and of which conflicts are sought: rules set aside stay so, since without that more would conflict.
pub(super) fn in_question(all: &[Requirement]) -> Vec<&Requirement> {
    all.iter().filter(|r| r.key.row().gives != Gives::Aside).collect()
}

/// Finds minimal conflict sets: first every line that cannot stand by itself, then sets of several among the others, further
/// ones by taking one member of a found set away and looking again (as in enumerating minimal unsatisfiable subsets by
/// hitting-set branches; Reiter 1987).
pub(super) fn conflict_sets(retry: &Retry<'_, '_>, all: &[Requirement]) -> Vec<Vec<Requirement>> {
    let mut sets: Vec<Vec<Requirement>> = Vec::new();
    let mut rest: Vec<&Requirement> = Vec::new();
    let lines = in_question(all);
    let alone = retry.each(&lines, |retry, line| stand(retry, all, &[*line]));
    for (requirement, stands) in lines.into_iter().zip(alone) {
        match stands {
            Some(false) => sets.push(vec![requirement.clone()]),
            Some(true) => rest.push(requirement),
            None => return sets,
        }
    }
    let mut queue = vec![rest];
    let mut found = 0;
    let mut looked = 0;
    while let Some(candidates) = queue.pop() {
        looked += 1;
        if found >= SETS || looked > LOOKED || stand(retry, all, &candidates) != Some(false) {
            continue;
        }
        let Some(set) = smallest(retry, all, &candidates) else { break };
        for member in &set {
            queue.push(candidates.iter().filter(|r| r.key != member.key).copied().collect());
        }
        if !sets.iter().any(|s| same(s, &set)) {
            found += 1;
            sets.push(set);
        }
    }
    sets.sort_by_key(|s| (s.len(), s.iter().map(|r| r.span.start).collect::<Vec<_>>()));
    sets
}

fn same(a: &[Requirement], b: &[Requirement]) -> bool {
    a.len() == b.len() && a.iter().all(|x| b.iter().any(|y| x.key == y.key))
}

/// Returns whether some lines stand with nothing beside them.
fn stand(retry: &Retry<'_, '_>, all: &[Requirement], kept: &[&Requirement]) -> Option<bool> {
    retry.stands(&keep(retry.world.spec, all, kept))
}

/// Returns a smallest set of lines in conflict out of many, in the order of the spec; `None` where the budget is spent.
///
/// By halves (Junker's QuickXplain, 2004): where few of many conflict, that asks for each of them as often as the list can be
/// halved, not once for every line there is.
pub(super) fn smallest(
    retry: &Retry<'_, '_>,
    all: &[Requirement],
    candidates: &[&Requirement],
) -> Option<Vec<Requirement>> {
    let mut set = halves(retry, all, &mut Vec::new(), false, candidates)?;
    set.sort_by_key(|r| r.span.start);
    Some(set.into_iter().cloned().collect())
}

/// Returns what of the candidates conflicts with what is `held`; `news` says whether that has grown since it was last asked.
fn halves<'q>(
    retry: &Retry<'_, '_>,
    all: &[Requirement],
    held: &mut Vec<&'q Requirement>,
    news: bool,
    candidates: &[&'q Requirement],
) -> Option<Vec<&'q Requirement>> {
    if news && !stand(retry, all, held)? {
        return Some(Vec::new());
    }
    if candidates.len() <= 1 {
        return Some(candidates.to_vec());
    }
    let (first, second) = candidates.split_at(candidates.len() / 2);
    let before = held.len();
    held.extend(first);
    let of_second = halves(retry, all, held, true, second)?;
    held.truncate(before);
    held.extend(&of_second);
    let of_first = halves(retry, all, held, !of_second.is_empty(), first)?;
    held.truncate(before);
    Some(of_second.into_iter().chain(of_first).collect())
}
