//! The smallest sets of requirements that cannot stand together.

use super::keep;
use super::retry::Retry;
use crate::semantics::requirements::Requirement;
use crate::semantics::spec::Spec;

/// Most conflict sets looked for.
const SETS: usize = 4;

/// Finds minimal conflict sets: the first by deletion, further ones by taking one member of a found set away and
/// looking again (as in enumerating minimal unsatisfiable subsets by hitting-set branches; Reiter 1987).
pub(super) fn conflict_sets(retry: &Retry<'_, '_>, spec: &Spec, all: &[Requirement]) -> Vec<Vec<Requirement>> {
    let mut sets: Vec<Vec<Requirement>> = Vec::new();
    let mut queue: Vec<Vec<Requirement>> = vec![all.to_vec()];
    let mut looked = 0;
    while let Some(candidates) = queue.pop() {
        looked += 1;
        if sets.len() >= SETS || looked > 12 || retry.stands(&keep(spec, all, &candidates)) {
            continue;
        }
        let set = shrink(retry, spec, all, candidates.clone());
        for member in &set {
            queue.push(candidates.iter().filter(|r| r.key != member.key).cloned().collect());
        }
        if !sets.iter().any(|s| same(s, &set)) {
            sets.push(set);
        }
    }
    sets.sort_by_key(|s| (s.len(), s.iter().map(|r| r.span.start).collect::<Vec<_>>()));
    sets
}

fn same(a: &[Requirement], b: &[Requirement]) -> bool {
    a.len() == b.len() && a.iter().all(|x| b.iter().any(|y| x.key == y.key))
}

/// Takes away whatever can go with the rest still in conflict.
pub(super) fn shrink(
    retry: &Retry<'_, '_>,
    spec: &Spec,
    all: &[Requirement],
    mut set: Vec<Requirement>,
) -> Vec<Requirement> {
    let mut i = 0;
    while i < set.len() {
        let fewer: Vec<Requirement> = set.iter().enumerate().filter(|(j, _)| *j != i).map(|(_, r)| r.clone()).collect();
        if retry.stands(&keep(spec, all, &fewer)) {
            i += 1;
        } else {
            set = fewer;
        }
    }
    set
}
