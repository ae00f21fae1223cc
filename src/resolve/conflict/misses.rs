//! What came nearest: the choice with each material that breaks least.

use std::collections::BTreeSet;

use rayon::prelude::*;

use crate::resolve::decide::{only, with_broken};
use crate::resolve::problem::{Rules, Said};
use crate::resolve::search::{Penalty, Search, Solution};
use crate::resolve::world::{World, at};
use crate::rulebook::Judgement;
use crate::rulebook::names::Root;

/// Most nearest misses shown.
const MISSES: usize = 4;
/// Most looked at before those that say nothing new are left out.
const MISSES_KEPT: usize = 12;
/// Materials looked at side by side.
const AT_ONCE: usize = 4;

/// Returns for the materials that break least what they break, fewest first; of those that break the same, one.
pub(super) fn misses(rules: &Rules<'_, '_>, world: &World<'_>) -> Vec<(Solution, Vec<Said>)> {
    let mut searches: [Search<'_, Rules<'_, '_>>; AT_ONCE] = std::array::from_fn(|_| Search::new(rules));
    searches.iter_mut().for_each(|search| search.count_breaks = true);
    let allowed = rules.allowed();
    let mut found: Vec<Solution> = Vec::new();
    let materials: Vec<usize> =
        (0..world.bench.materials.len()).filter(|&m| allowed[at::MATERIAL].get(m) == Some(&true)).collect();
    for few in materials.chunks(AT_ONCE) {
        let nearest = |(search, &material): (&mut Search<'_, Rules<'_, '_>>, &usize)| {
            // One that breaks more than the last to be kept need not be looked at further.
            let mut most = found.get(MISSES_KEPT - 1).map_or(Penalty::MAX, |s| s.penalty);
            // What came near for another material may come near for this one.
            for near in &found {
                let mut choice = near.choice.clone();
                choice[at::MATERIAL] = material;
                most = most.min(search.total(&choice).unwrap_or(Penalty::MAX));
            }
            search.best_within(&only(&allowed, at::MATERIAL, material), most)
        };
        let nearest: Vec<Solution> = searches.par_iter_mut().zip(few).filter_map(nearest).collect();
        found.extend(nearest);
        found.sort_by(|a, b| (a.penalty, &a.choice).cmp(&(b.penalty, &b.choice)));
        found.truncate(MISSES_KEPT);
    }
    let [search, ..] = &mut searches;
    let mut told = Vec::new();
    let mut found: Vec<_> = found.into_iter().map(|solution| filled(rules, world, search, solution)).collect();
    found.retain(|(_, broken)| is_news(&mut told, what_is_missed(broken)));
    found.truncate(MISSES);
    found
}

/// Returns a miss with what it breaks, as heavily built as it may be where that breaks no more: who sees what is missing thinks
/// of the part filled, and not of the lightest of those that break.
fn filled<'r, 'w>(
    rules: &'r Rules<'r, 'w>,
    world: &World<'_>,
    search: &mut Search<'_, Rules<'r, 'w>>,
    solution: Solution,
) -> (Solution, Vec<Said>) {
    let allowed = rules.allowed();
    let heaviest = (0..world.bench.build_ups.len()).rev().find(|&b| allowed[at::BUILD_UP].get(b) == Some(&true));
    let light = with_broken(rules, search, solution);
    let Some(heaviest) = heaviest.filter(|&b| light.0.choice.get(at::BUILD_UP) != Some(&b)) else { return light };
    let mut heavy = light.0.clone();
    heavy.choice[at::BUILD_UP] = heaviest;
    let heavy = with_broken(rules, search, heavy);
    if heavy.1.len() <= light.1.len() { heavy } else { light }
}

/// Returns whether nothing told so far misses the same or less: what misses all that another misses, and more, is no news.
fn is_news<T: Ord>(told: &mut Vec<BTreeSet<T>>, missed: BTreeSet<T>) -> bool {
    let news = !told.iter().any(|t| t.is_subset(&missed));
    told.push(missed);
    news
}

/// Returns the choice with a material that breaks least, and what it breaks; `None` where the spec bars the material.
pub fn nearest_with(rules: &Rules<'_, '_>, material: usize) -> Option<(Solution, Vec<Said>)> {
    let mut search = Search::new(rules);
    search.count_breaks = true;
    let solution = search.best(&only(&rules.allowed(), at::MATERIAL, material))?;
    Some(with_broken(rules, &mut search, solution))
}

/// Returns what a miss says, without the name of its material: where only that differs, it says nothing new.
fn what_is_missed(broken: &[Said]) -> BTreeSet<(usize, usize, String)> {
    let text = |said: &Said| {
        let words = said.judgements.iter().map(|j| match j {
            Judgement::Broken { text, .. } => text.without(Root::Material.word()).to_string(),
            _ => String::new(),
        });
        (said.constraint.rule, said.constraint.instance, words.collect::<String>())
    };
    broken.iter().map(text).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_misses_the_same_or_more_is_no_news() {
        let mut told = Vec::new();
        let mut news = |missed: &[u8]| is_news(&mut told, missed.iter().copied().collect());
        assert!(news(&[1, 2]));
        assert!(!news(&[1, 2]), "the same");
        assert!(!news(&[1, 2, 3]), "all of it, and more");
        assert!(news(&[1]), "less");
        assert!(news(&[2, 3]), "other");
        assert!(!news(&[1, 3]), "more than what came last but one");
    }
}
