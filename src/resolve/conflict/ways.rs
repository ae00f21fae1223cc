//! What frees the job: one change, or a few together.

use super::bench::{self, Addition};
use super::numbers::{Easing, by_number};
use super::rank::{Rank, of_line};
use super::retry::Retry;
use super::sets::{in_question, smallest};
use super::{Change, Freed, Together, Way, colour, keep, shape};
use crate::catalogue::figures;
use crate::semantics::requirements::{Gives, Kind, Requirement, without};
use crate::semantics::spec::Spec;

/// What was found to free a job, better ways first.
pub(super) struct Ways {
    pub single: Vec<Freed>,
    pub together: Vec<Together>,
}

/// Whether a line says what the part is used for: that is not asked to give way.
fn of_the_use(requirement: &Requirement) -> bool {
    requirement.key.row().gives == Gives::Use
}

/// Looks for what frees the job: single changes, and where none does it by itself, pairs, threes, or one line out of each set.
pub(super) fn find(retry: &Retry<'_, '_>, all: &[Requirement], sets: &[Vec<Requirement>]) -> Ways {
    let additions = bench::additions(retry.world);
    let mut single = colour::lighter(retry, all);
    let recoloured = !single.is_empty();
    single.extend(by_addition(retry, all, sets, &additions));
    let by_line = by_line(retry, sets).into_iter();
    // Which colour would do says more than that this one will not.
    single.extend(by_line.filter(|f| !recoloured || !f.change.drops(Kind::Colour)));
    let sections: Vec<Freed> = single.iter().filter_map(|freed| shape::deeper(retry, freed)).collect();
    single.extend(sections);
    single.extend(shape::wall(retry, all));
    // Where loads alone stand in the way it is not the bench that is wrong: no machine for hotter polymers is bought for a hook.
    let of_loads = !sets.is_empty() && sets.iter().flatten().all(|r| r.key.kind == Kind::Load);
    if !of_loads && !single.iter().any(|f| matches!(f.change, Change::Bench { .. })) {
        let equipped = bench::equipped(retry);
        single.extend(equipped.filter(|freed| !leaves_in_question(sets, &freed.way)));
    }
    for freed in &mut single {
        freed.hollow = hollow(retry, [&freed.change]);
    }
    better_first(&mut single, |way| leaves_in_question(sets, way));
    let mut together = Vec::new();
    if single.iter().all(|freed| freed.hollow || freed.change.buys() || freed.way.hangs()) {
        together = several(retry, all, sets, &additions);
    }
    // Beside a purchase that frees the job by itself only what needs none is worth telling.
    if !single.is_empty() {
        together.retain(|t| !t.hollow && !t.way.hangs() && !t.changes.iter().any(Change::buys));
    }
    Ways { single, together }
}

/// Puts the better ways first. What would not hold, or is not known to, frees nothing; what leaves in question a load that stood in
/// the way is told only where there is nothing better.
fn better_first(single: &mut Vec<Freed>, in_question: impl Fn(&Way) -> bool) {
    single.retain(Freed::does);
    if single.iter().any(|f| !in_question(&f.way)) {
        single.retain(|f| !in_question(&f.way));
    }
    // A part that has to hang in supports is a way too, behind those that lie on a face.
    single.sort_by_key(|f| (f.hollow, f.way.hangs(), f.change.rank()));
}

/// Whether most of what a line asks for is given up: true as a way out, and of little use.
fn hollow<'c>(retry: &Retry<'_, '_>, changes: impl IntoIterator<Item = &'c Change>) -> bool {
    let most = retry.world.knowledge.catalogue.value(figures::GIVEN_UP_MOST);
    changes.into_iter().any(|change| change.given_up() > most)
}

/// Tries each thing the bench could be given. What does not free the smallest set of lines frees nothing.
fn by_addition<'a>(
    retry: &Retry<'_, 'a>,
    all: &[Requirement],
    sets: &[Vec<Requirement>],
    additions: &[Addition<'a>],
) -> Vec<Freed> {
    let spec = retry.world.spec;
    let least = sets.first().map(|set| keep(spec, all, &set.iter().collect::<Vec<_>>()));
    let frees = |retry: &Retry<'_, 'a>, addition: &Addition<'a>| {
        let equipped = retry.on(bench::given(&retry.world.bench, &[addition]));
        if let Some(least) = &least
            && !equipped.stands(least)?
        {
            return None;
        }
        let way = equipped.freed(spec)?;
        (!leaves_in_question(sets, &way)).then(|| Freed::by(addition.change(), way))
    };
    retry.each(additions, frees).into_iter().flatten().collect()
}

/// Whether a load that stood in the way is then not known to hold: that is no way out.
fn leaves_in_question(sets: &[Vec<Requirement>], way: &Way) -> bool {
    sets.iter().flatten().filter(|r| r.key.kind == Kind::Load).any(|load| way.leaves_open(load))
}

/// Tries each line that is in every set: who changes another leaves a set as it is.
fn by_line(retry: &Retry<'_, '_>, sets: &[Vec<Requirement>]) -> Vec<Freed> {
    let spec = retry.world.spec;
    let Some((first, others)) = sets.split_first() else { return Vec::new() };
    let everywhere = |r: &&Requirement| others.iter().all(|set| set.iter().any(|m| m.key == r.key));
    let lines: Vec<&Requirement> = first.iter().filter(everywhere).collect();
    let freed = |retry: &Retry<'_, '_>, requirement: &&Requirement| {
        let mut result = by_number(retry, spec, requirement);
        let does = result.iter().any(Freed::does);
        // A pin was somebody's choice among many: that the job can be made without it is worth knowing beside any number.
        if !of_the_use(requirement) && (!does || requirement.key.kind == Kind::Pin) {
            let way = retry.freed(&without(spec, [&requirement.key]));
            let no_less = !does && none_is_enough(retry, requirement);
            let change = Change::Drop { requirement: (*requirement).clone(), no_less };
            result.extend(way.map(|way| Freed::by(change, way)));
        }
        result
    };
    retry.each(&lines, freed).into_iter().flatten().collect()
}

/// Whether it can be said of a line given up, whose numbers were eased in vain, that none of them is enough. Of a pin that says
/// nothing: it has no number that asks for less.
fn none_is_enough(retry: &Retry<'_, '_>, requirement: &Requirement) -> bool {
    let asks = requirement.key.row().gives != Gives::Choice;
    asks && !requirement.key.numbers(retry.world.spec).is_empty() && !retry.is_cut_short()
}

/// Something that can be changed.
#[derive(Clone, Copy)]
enum Lever<'l, 'a> {
    Add(&'l Addition<'a>),
    Paint(&'l colour::Paler),
    Line(&'l Requirement),
}

impl Lever<'_, '_> {
    fn rank(self) -> Rank {
        match self {
            Lever::Add(addition) => addition.lends.rank(),
            Lever::Paint(paler) => Change::Colour(paler.change.clone()).rank(),
            Lever::Line(requirement) => of_line(requirement),
        }
    }
}

/// Most lines changed together: who would have to change more wants another part, or another shop.
const TOGETHER: usize = 16;
/// Most changes tried together one combination after the other; beyond that one line out of each set gives way.
const FEW: usize = 3;
/// Most combinations tried, and most of them told.
const TRIED: usize = 8;
const TOLD: usize = 2;
/// Most sets of which it is asked what each addition frees.
const SETS_ASKED: usize = 4;

/// Finds changes that free the job together.
fn several<'a>(
    retry: &Retry<'_, 'a>,
    all: &[Requirement],
    sets: &[Vec<Requirement>],
    additions: &[Addition<'a>],
) -> Vec<Together> {
    // What a part is used for is not asked to give way.
    if sets.is_empty() || sets.iter().any(|set| set.iter().all(of_the_use)) {
        return Vec::new();
    }
    let alone: Vec<Spec> =
        sets.iter().map(|set| keep(retry.world.spec, all, &set.iter().collect::<Vec<_>>())).collect();
    let paler = if sets.len() <= SETS_ASKED { colour::paler(retry, all, &alone) } else { None };
    let levers = levers(retry, sets, &alone, additions, paler.as_ref());
    let mut found: Vec<Together> = Vec::new();
    for combination in combinations(&levers, sets.len()).into_iter().take(TRIED) {
        found.extend(pulled(retry, sets, &combination));
        if found.iter().filter(|t| !t.hollow).count() == TOLD {
            break;
        }
    }
    found.sort_by_key(|t| t.hollow);
    found.truncate(TOLD);
    if !found.iter().any(Together::does) {
        found.extend(one_out_of_each(retry, all, sets));
    }
    found.retain(Together::does);
    found
}

/// Everything that frees some set, with a mark for each set it frees; the better first.
fn levers<'l, 'a>(
    retry: &Retry<'_, 'a>,
    sets: &'l [Vec<Requirement>],
    alone: &[Spec],
    additions: &'l [Addition<'a>],
    paler: Option<&'l (colour::Paler, Vec<bool>)>,
) -> Vec<(Lever<'l, 'a>, Vec<bool>)> {
    let mut levers: Vec<(Lever<'l, 'a>, Vec<bool>)> = Vec::new();
    for requirement in sets.iter().flatten().filter(|r| !of_the_use(r)) {
        let known = levers.iter().any(|(l, _)| matches!(l, Lever::Line(r) if r.key == requirement.key));
        if !known {
            let frees = sets.iter().map(|set| set.iter().any(|r| r.key == requirement.key)).collect();
            levers.push((Lever::Line(requirement), frees));
        }
    }
    if sets.len() <= SETS_ASKED {
        let frees = |retry: &Retry<'_, 'a>, addition: &Addition<'a>| -> Vec<bool> {
            let equipped = retry.on(bench::given(&retry.world.bench, &[addition]));
            alone.iter().map(|spec| equipped.stands(spec) == Some(true)).collect()
        };
        let asked = additions.iter().zip(retry.each(additions, frees));
        levers.extend(asked.filter(|(_, frees)| frees.contains(&true)).map(|(a, frees)| (Lever::Add(a), frees)));
    }
    levers.extend(paler.map(|(paler, frees)| (Lever::Paint(paler), frees.clone())));
    levers.sort_by_key(|(lever, _)| lever.rank());
    levers
}

/// Returns pairs and threes of levers of which each frees a set that the others leave, and all are freed; pairs first, then
/// the better ones.
fn combinations<'l, 'a>(levers: &[(Lever<'l, 'a>, Vec<bool>)], sets: usize) -> Vec<Vec<Lever<'l, 'a>>> {
    let mut found: Vec<(usize, Vec<Rank>, Vec<usize>)> = Vec::new();
    let mut open: Vec<Vec<usize>> = vec![Vec::new()];
    while let Some(chosen) = open.pop() {
        let freed = |set: usize, of: &[usize]| of.iter().any(|&l| levers[l].1[set]);
        let Some(left) = (0..sets).find(|&set| !freed(set, &chosen)) else {
            let needed = |&one: &usize| {
                let others: Vec<usize> = chosen.iter().copied().filter(|&l| l != one).collect();
                (0..sets).any(|set| !freed(set, &others))
            };
            if chosen.iter().all(needed) {
                let mut sorted = chosen.clone();
                sorted.sort_unstable();
                let rank = Rank::of_all(sorted.iter().map(|&l| levers[l].0.rank()));
                found.push((sorted.len(), rank, sorted));
            }
            continue;
        };
        if chosen.len() < FEW {
            let frees = (0..levers.len()).filter(|&l| levers[l].1[left]);
            open.extend(frees.map(|l| chosen.iter().copied().chain([l]).collect()));
        }
    }
    found.sort();
    found.dedup();
    found.into_iter().map(|(_, _, chosen)| chosen.into_iter().map(|l| levers[l].0).collect()).collect()
}

/// Makes the changes of a combination, each by as little as the others leave it, and solves again.
fn pulled<'a>(retry: &Retry<'_, 'a>, sets: &[Vec<Requirement>], levers: &[Lever<'_, 'a>]) -> Option<Together> {
    let additions: Vec<&Addition<'a>> =
        levers.iter().filter_map(|l| if let Lever::Add(a) = l { Some(*a) } else { None }).collect();
    let lines: Vec<&Requirement> =
        levers.iter().filter_map(|l| if let Lever::Line(r) = l { Some(*r) } else { None }).collect();
    let equipped = match additions.is_empty() {
        true => None,
        false => Some(retry.on(bench::given(&retry.world.bench, &additions))),
    };
    let retry = equipped.as_ref().unwrap_or(retry);
    let painted = levers.iter().find_map(|l| if let Lever::Paint(paler) = l { Some(&paler.change) } else { None });
    let spec = painted.map_or_else(|| retry.world.spec.clone(), |c| colour::in_colour(retry.world.spec, &c.to));
    let (changes, eased) = give_way(retry, &spec, &lines)?;
    let way = retry.freed(&eased)?;
    if !additions.is_empty() && leaves_in_question(sets, &way) {
        return None;
    }
    // The spool is that of the material which then would do; in spite of another spool's colour it frees nothing.
    let painted = match painted {
        Some(change) => Some(change.with_spool_for(retry.world, &way)?),
        None => None,
    };
    let lent = additions.iter().map(|a| a.change()).chain(painted.map(Change::Colour));
    let changes: Vec<Change> = lent.chain(changes).collect();
    Some(Together { hollow: hollow(retry, &changes), changes, way })
}

/// Eases the numbers of lines together, and leaves those out that have none, or of which no number is enough.
fn give_way(retry: &Retry<'_, '_>, spec: &Spec, lines: &[&Requirement]) -> Option<(Vec<Change>, Spec)> {
    let (numbered, plain): (Vec<&Requirement>, Vec<&Requirement>) =
        lines.iter().partition(|r| !r.key.numbers(spec).is_empty());
    let dropped = |of: &[&Requirement]| -> Vec<Change> {
        of.iter().map(|&r| Change::Drop { requirement: r.clone(), no_less: none_is_enough(retry, r) }).collect()
    };
    let rest = without(spec, plain.iter().map(|r| &r.key));
    if numbered.is_empty() {
        return Some((dropped(&plain), rest));
    }
    if let Some((mut changes, eased)) = Easing::of(&rest, numbered.iter().copied()).together(retry, &rest) {
        changes.extend(dropped(&plain));
        return Some((changes, eased));
    }
    let bare = without(spec, lines.iter().map(|r| &r.key));
    retry.stands(&bare)?.then(|| (dropped(lines), bare))
}

/// Lets one line out of each set give way, and looks for further sets until what is left stands.
fn one_out_of_each(retry: &Retry<'_, '_>, all: &[Requirement], sets: &[Vec<Requirement>]) -> Option<Together> {
    let mut sets = sets.to_vec();
    let chosen = loop {
        if sets.iter().any(|set| set.iter().all(of_the_use)) {
            return None;
        }
        let chosen = one_of_each(retry.world.spec, &sets);
        if chosen.is_empty() || chosen.len() > TOGETHER {
            return None;
        }
        let left: Vec<&Requirement> =
            in_question(all).into_iter().filter(|r| !chosen.iter().any(|c| c.key == r.key)).collect();
        if retry.stands(&keep(retry.world.spec, all, &left))? {
            break chosen;
        }
        // There are more sets than were looked for.
        sets.push(smallest(retry, all, &left)?);
    };
    let (changes, eased) = give_way(retry, retry.world.spec, &chosen.iter().collect::<Vec<_>>())?;
    let way = retry.freed(&eased)?;
    Some(Together { hollow: hollow(retry, &changes), changes, way })
}

/// Takes one line out of each set: the one in most sets, then one that has a number to change, then the first by name.
fn one_of_each(spec: &Spec, sets: &[Vec<Requirement>]) -> Vec<Requirement> {
    let mut chosen: Vec<Requirement> = Vec::new();
    loop {
        let open = |set: &&Vec<Requirement>| !set.iter().any(|r| chosen.iter().any(|c| c.key == r.key));
        let left: Vec<&Vec<Requirement>> = sets.iter().filter(open).collect();
        let in_sets = |r: &Requirement| left.iter().filter(|set| set.iter().any(|m| m.key == r.key)).count();
        // By name where nothing else tells: the order of the lines is nobody's wish.
        let rank =
            |r: &&Requirement| (in_sets(r), !r.key.numbers(spec).is_empty(), std::cmp::Reverse(r.key.to_string()));
        let free = left.iter().flat_map(|set| set.iter()).filter(|r| !of_the_use(r));
        let Some(next) = free.max_by_key(rank) else { return chosen };
        chosen.push(next.clone());
    }
}

#[cfg(test)]
mod tests {
    use super::super::{Lends, Way, Weak, Weakness};
    use super::*;
    use crate::resolve::equip::Lack;

    fn freed(lends: Lends, hollow: bool, fails: bool) -> Freed {
        let weak =
            vec![Weakness { what: Weak::OnNoFace { pose: String::new(), on_a_face: None }, fails, open: Vec::new() }];
        let (material, printer, pose) = ("m".to_owned(), "p".to_owned(), "-z down".to_owned());
        let way = Way { material, printer, equipped: false, pose, weak };
        Freed { change: Change::Bench { lends, what: Lack::AnySpool }, hollow, way }
    }

    fn kinds(single: &[Freed]) -> Vec<Rank> {
        single.iter().map(|f| f.change.rank()).collect()
    }

    #[test]
    fn better_ways_stand_first_and_what_does_not_hold_is_none() {
        let mut single = vec![
            freed(Lends::Spool, true, false),
            freed(Lends::Machine, false, false),
            freed(Lends::Agent, false, true),
            freed(Lends::Nozzle, false, false),
        ];
        better_first(&mut single, |_| false);
        assert_eq!(kinds(&single), [Rank::Nozzle, Rank::Machine, Rank::Spool]);
        let mut bad = vec![freed(Lends::Machine, false, true), freed(Lends::Nozzle, false, true)];
        better_first(&mut bad, |_| false);
        assert!(bad.is_empty());
        let unsure = |way: &Way| way.material == "unsure";
        let of = |lends, unsure: bool| {
            let mut freed = freed(lends, false, false);
            freed.way.material = if unsure { "unsure" } else { "sure" }.to_owned();
            freed
        };
        let mut some = vec![of(Lends::Nozzle, true), of(Lends::Machine, false)];
        better_first(&mut some, unsure);
        assert_eq!(kinds(&some), [Rank::Machine]);
        let mut only = vec![of(Lends::Nozzle, true)];
        better_first(&mut only, unsure);
        assert_eq!(kinds(&only), [Rank::Nozzle]);
    }
}
