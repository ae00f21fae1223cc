//! All loads of a spec, solved so that those of one hold can be judged together.
//!
//! Where holds are bonded, stresses of loads are added place by place: each is asked for at the places that may decide for any of
//! them, or for all of them at once. Where a hold only pushes they cannot be added, and all are solved as one case.

use std::collections::BTreeMap;
use std::sync::Arc;

use rayon::prelude::*;

use super::alike::times;
use super::said::{NotKnown, Of};
use super::solved::{self, Answer, Found, Sized, Solved, Sought, Spot};
use super::{Asked, Case, Figures, Growth};
use crate::field;
use crate::geometry::vector::Vector;
use crate::resolve::part::{Memory, Part};
use crate::resolve::{strength, together};
use crate::semantics::spec::{FitFunction, Spec};

/// Loads of one hold whose stresses are kept to be added; more are judged all at once.
pub const MOST_ADDED: usize = 16;

/// Loads that act at once, as one case: sudden ones with what they strain the part more for that.
#[derive(Debug, Clone)]
pub struct AtOnce {
    /// Their places in the spec, in its order.
    pub loads: Vec<usize>,
    pub answer: Answer,
}

/// What the loads of a spec do to the part.
pub struct Fields {
    /// In the order of the spec.
    pub each: Vec<Answer>,
    pub at_once: Vec<AtOnce>,
}

/// Solves every load of a spec, and those that act at once.
pub fn solve_all(asked: Asked<'_>, memory: Option<&(dyn Memory + Sync)>) -> Fields {
    Solving::of(asked, memory).all()
}

/// Solves loads of a spec again on grids as fine as there may be, and with them those that are held alike; what is known of
/// all others stays.
pub fn solve_finer(asked: Asked<'_>, finer: &[usize], memory: Option<&(dyn Memory + Sync)>) -> Fields {
    let mut solving = Solving::of(asked, memory);
    let loads = &asked.spec.loads;
    let hanging = || finer.iter().filter_map(|&load| loads.get(load));
    let again = loads.iter().map(|load| hanging().any(|other| other.is_held_like(load)));
    let again: Vec<bool> = again.enumerate().map(|(i, alike)| alike || finer.contains(&i)).collect();
    for (case, _) in solving.cases.iter_mut().zip(&again).filter(|(_, again)| **again) {
        if let Ok(case) = case {
            case.cells = &field::FINER_CELLS;
        }
    }
    solving.but(&again)
}

/// How a case is solved.
pub fn options(snaps: bool, figures: &Figures) -> field::Options<'static> {
    let stiffness = field::Stiffness::Isotropic { modulus: 1.0, poisson: figures.poisson };
    let material = field::Material::Everywhere(stiffness);
    let usual = field::Options { material, most_work: field::MOST_WORK, ..field::Options::default() };
    field::Options { off_edges_mm: if snaps { field::OFF_SNAP_ROOTS_MM } else { usual.off_edges_mm }, ..usual }
}

/// Returns the loads whose stresses are to be added, by hold, with the places that decide for all at once.
fn added(spec: &Spec, at_once: &[AtOnce]) -> Vec<(Vec<usize>, Vec<Spot>)> {
    let mut groups: Vec<(Vec<usize>, Vec<Spot>)> = Vec::new();
    for one in at_once {
        let Ok(solved) = &one.answer else { continue };
        let of_one_hold = |group: &&mut (Vec<usize>, Vec<Spot>)| {
            let loads = group.0.first().zip(one.loads.first());
            let loads = loads.and_then(|(&a, &b)| Some((spec.loads.get(a)?, spec.loads.get(b)?)));
            loads.is_some_and(|(a, b)| a.is_held_like(b))
        };
        match groups.iter_mut().find(of_one_hold) {
            _ if solved.rests => {}
            Some((members, places)) => {
                members.extend(&one.loads);
                places.extend(&solved.spots);
            }
            None => groups.push((one.loads.clone(), solved.spots.clone())),
        }
    }
    for (members, _) in &mut groups {
        members.sort_unstable();
        members.dedup();
    }
    groups.retain(|(members, _)| members.len() <= MOST_ADDED);
    groups
}

/// Answers of loads that were found beside others.
type InHand = BTreeMap<usize, Found>;

/// The loads of a spec, to be solved.
pub(super) struct Solving<'a> {
    asked: Asked<'a>,
    /// Of each load.
    cases: Vec<Result<Case, NotKnown>>,
    options: field::Options<'static>,
    memory: Option<&'a (dyn Memory + Sync)>,
}

impl<'a> Solving<'a> {
    fn of(asked: Asked<'a>, memory: Option<&'a (dyn Memory + Sync)>) -> Self {
        let case = |load| Case::of(asked, load).map_err(NotKnown::Unsaid);
        let snaps = asked.spec.fits.iter().any(|f| matches!(f.function.value, FitFunction::Snap { .. }));
        let cases = asked.spec.loads.par_iter().map(case).collect();
        Self { asked, cases, options: options(snaps, &asked.figures), memory }
    }

    /// The same loads on the part as it is drawn.
    pub(super) fn drawn(asked: Asked<'a>, drawn: &'a Part, growth: &Growth) -> Self {
        let Self { cases, options, .. } = Self::of(asked, None);
        let cases = cases.into_iter().map(|case| case.map(|case| growth.case(case))).collect();
        Self { asked: Asked { part: drawn, ..asked }, cases, options, memory: None }
    }

    /// Solves all of them.
    pub(super) fn all(&self) -> Fields {
        self.but(&vec![true; self.asked.spec.loads.len()])
    }

    /// Solves some of them, and takes the others as the part has them.
    fn but(&self, again: &[bool]) -> Fields {
        let spec = self.asked.spec;
        let stays = |load: &usize| again.get(*load).is_some_and(|again| !again);
        let known = |load: usize| self.asked.part.fields.get(load).filter(|_| stays(&load)).cloned();
        let combinations = (0..spec.loads.len()).filter_map(|load| together::combination(spec, load));
        let (kept, anew): (Vec<_>, Vec<_>) = combinations.partition(|loads: &Vec<usize>| loads.iter().all(stays));
        let kept = self.asked.part.at_once.iter().filter(|one| kept.contains(&one.loads)).cloned();
        let mut each: Vec<Option<Answer>> = (0..spec.loads.len()).map(known).collect();
        // What acts alike on what rests is one problem, alone and at once.
        let resting: Vec<usize> = (0..each.len()).filter(|&load| each[load].is_none() && self.rests(load)).collect();
        let (found, alone, mut in_hand) = self.at_once(anew, &resting);
        let at_once: Vec<AtOnce> = kept.chain(found).collect();
        for (load, answer) in resting.into_iter().zip(alone) {
            each[load] = Some(answer);
        }
        for (members, places) in added(spec, &at_once) {
            if members.iter().all(stays) {
                continue;
            }
            let answers = self.members(&members, &places, &mut in_hand);
            for (load, answer) in members.into_iter().zip(answers) {
                each[load] = Some(answer);
            }
        }
        let alone: Vec<usize> = (0..each.len()).filter(|&load| each.get(load).is_some_and(Option::is_none)).collect();
        let mut answers = self.alone(&alone, &mut in_hand).into_iter();
        let unknown = || Err(NotKnown::NotSolved);
        let each = each.into_iter().map(|known| known.or_else(|| answers.next()).unwrap_or_else(unknown)).collect();
        Fields { each, at_once }
    }

    fn case(&self, load: usize) -> Result<&Case, NotKnown> {
        self.cases.get(load).map_or_else(|| Err(NotKnown::NoSuch(Of::Load)), |case| case.as_ref().map_err(Clone::clone))
    }

    /// Solves loads each by itself.
    fn alone(&self, loads: &[usize], in_hand: &mut InHand) -> Vec<Answer> {
        let known: Vec<Option<Answer>> = loads.iter().map(|load| self.kept_of(*load, in_hand.remove(load)?)).collect();
        let open = loads.iter().zip(&known).filter(|(_, known)| known.is_none());
        let cases = open.map(|(&load, _)| self.case(load)).collect();
        let mut answers = self.answers(cases, self.options.buckling).into_iter();
        let unknown = || Err(NotKnown::NotSolved);
        known.into_iter().map(|known| known.or_else(|| answers.next()).unwrap_or_else(unknown)).collect()
    }

    /// Returns an answer that was found beside others as one by itself, and keeps it.
    fn kept_of(&self, load: usize, found: Found) -> Option<Answer> {
        let case = self.case(load).ok()?;
        if let Ok((solved, _)) = &found {
            solved::keep(solved, &solved::question(case, self.asked.part, &self.options), self.memory);
        }
        Some(found.map(|(solved, _)| Arc::new(solved)))
    }

    /// Whether what holds the part under a load only pushes.
    fn rests(&self, load: usize) -> bool {
        self.case(load).is_ok_and(|case| case.holds.iter().any(|hold| hold.kind.pushes()))
    }

    /// Solves loads at once, and others alone; where any of the first are not known yet, on the same grids the loads they are made
    /// of too, which are asked for next.
    fn at_once(&self, combinations: Vec<Vec<usize>>, alone: &[usize]) -> (Vec<AtOnce>, Vec<Answer>, InHand) {
        let joined: Vec<Result<Case, NotKnown>> = combinations.iter().map(|loads| self.joined(loads)).collect();
        let cases = joined.iter().map(|case| case.as_ref().map_err(Clone::clone));
        let cases = cases.chain(alone.iter().map(|&load| self.case(load))).collect();
        let members = self.to_be_added(&combinations);
        let (mut answers, found) = self.answers_beside(cases, false, &members);
        let alone = answers.split_off(combinations.len());
        let at_once = combinations.into_iter().zip(answers).map(|(loads, answer)| AtOnce { loads, answer }).collect();
        (at_once, alone, members.into_iter().zip(found).collect())
    }

    /// Returns the loads of some combinations whose stresses will be added, see [`added`]: of holds that do not only push.
    fn to_be_added(&self, combinations: &[Vec<usize>]) -> Vec<usize> {
        let mut all: Vec<usize> = combinations.concat();
        all.sort_unstable();
        all.dedup();
        let loads = &self.asked.spec.loads;
        let alike = |a: usize, b: usize| loads.get(a).zip(loads.get(b)).is_some_and(|(a, b)| a.is_held_like(b));
        let few = |load: usize| all.iter().filter(|&&other| alike(load, other)).count() <= MOST_ADDED;
        all.iter().copied().filter(|&load| self.case(load).is_ok() && !self.rests(load) && few(load)).collect()
    }

    /// Solves cases, all that can be together.
    fn answers(&self, cases: Vec<Result<&Case, NotKnown>>, buckling: bool) -> Vec<Answer> {
        self.answers_beside(cases, buckling, &[]).0
    }

    /// Solves cases; where any is not known yet, loads beside them, whose answers come with their fields.
    fn answers_beside(
        &self,
        cases: Vec<Result<&Case, NotKnown>>,
        buckling: bool,
        beside: &[usize],
    ) -> (Vec<Answer>, Vec<Found>) {
        let sought: Vec<Sought<'_>> = cases.iter().flatten().map(|&case| Sought { case, buckling }).collect();
        let own = self.options.buckling;
        let beside: Vec<Sought<'_>> =
            beside.iter().filter_map(|&load| Some(Sought { case: self.case(load).ok()?, buckling: own })).collect();
        let (solved, found) = solved::solve(&sought, &beside, self.asked.part, &self.options, self.memory);
        let mut solved = solved.into_iter();
        let unknown = || Err(NotKnown::NotSolved);
        (cases.into_iter().map(|case| case.and_then(|_| solved.next().unwrap_or_else(unknown))).collect(), found)
    }

    /// Returns the factor on a load.
    fn factor(&self, load: usize) -> f64 {
        let spec = self.asked.spec;
        let usual = self.asked.figures.load_factor.get(spec.consequence() as usize).copied().unwrap_or(1.0);
        spec.loads.get(load).and_then(|l| l.factor).map_or(usual, |f| f.value)
    }

    /// Returns loads of one hold as one case, each as large as its factor makes it beside the greatest of them.
    fn joined(&self, loads: &[usize]) -> Result<Case, NotKnown> {
        let mut all: Option<Case> = None;
        let greatest = loads.iter().map(|&load| self.factor(load)).fold(f64::MIN_POSITIVE, f64::max);
        for &load in loads {
            let sudden = self.asked.spec.loads.get(load).map_or(1.0, strength::sudden);
            let raise = sudden * self.factor(load) / greatest;
            let mut one = self.case(load)?.clone();
            for part in &mut one.loads {
                part.kind = times(&part.kind, raise);
            }
            match &mut all {
                None => all = Some(one),
                Some(all) => {
                    all.cells = if one.cells.len() > all.cells.len() { one.cells } else { all.cells };
                    all.loads.append(&mut one.loads);
                    all.hopeless_mpa = all.hopeless_mpa.zip(one.hopeless_mpa).map(|(a, b)| a.max(b));
                    all.off.extend(one.off.into_iter().filter(|o| !all.off.contains(o)).collect::<Vec<_>>());
                    all.beside.extend(one.beside.into_iter().filter(|b| !all.beside.contains(b)).collect::<Vec<_>>());
                    all.assumed
                        .extend(one.assumed.into_iter().filter(|a| !all.assumed.contains(a)).collect::<Vec<_>>());
                }
            }
        }
        all.ok_or(NotKnown::NoLoads)
    }

    /// Solves loads of one hold, and asks each for its stresses at the places that tell for any of them.
    fn members(&self, members: &[usize], places: &[Spot], in_hand: &mut InHand) -> Vec<Answer> {
        let part = self.asked.part;
        let each: Vec<String> = members
            .iter()
            .map(|&load| {
                self.case(load).map_or_else(|why| why.to_string(), |case| solved::question(case, part, &self.options))
            })
            .collect();
        let at: Vec<Vector> = places.iter().map(|s| s.at).collect();
        let all = format!("{} {at:?}", each.join(" + "));
        let question = |place: usize| format!("the {place} of {all}");
        let recall = |(place, &load): (usize, &usize)| {
            let case = self.case(load).ok()?;
            solved::recalled(case, &question(place), self.memory).map(|known| Ok(Arc::new(known)))
        };
        if let Some(known) = members.iter().enumerate().map(recall).collect::<Option<Vec<Answer>>>() {
            return known;
        }
        let found = members.iter().map(|load| in_hand.remove(load)).collect::<Option<Vec<Found>>>();
        let found = found.unwrap_or_else(|| self.found(members));
        let own = found.iter().flatten().flat_map(|(solved, _)| &solved.spots);
        let places: Vec<Spot> = places.iter().chain(own).copied().collect();
        let at: Vec<Vector> = places.iter().map(|s| s.at).collect();
        // Beside what any of them is pressed on.
        let pressed = |p: Vector| found.iter().flatten().any(|(_, of)| of.field.is_beside(p));
        let places: Vec<Spot> = places.into_iter().map(|s| Spot { beside: s.beside || pressed(s.at), ..s }).collect();
        // Where a load is not judged, right where it acts, it adds nothing.
        let solutions: Vec<&field::Solution> = found.iter().flatten().map(|(_, of)| &*of.field).collect();
        let mut stresses = field::stresses(&solutions, &at, self.options.ball_mm).into_iter();
        let finish = |(place, found): (usize, Found)| {
            let (solved, Sized { times, .. }) = found?;
            let stresses = stresses.next().unwrap_or_default();
            let sized = |stress: Option<field::Stress>| stress.unwrap_or_default().map(|c| c * times);
            let shared = places.iter().zip(stresses).map(|(s, stress)| Spot { stress: sized(stress), ..*s });
            let solved = Solved { shared: shared.collect(), ..solved };
            solved::keep(&solved, &question(place), self.memory);
            Ok(Arc::new(solved))
        };
        found.into_iter().enumerate().map(finish).collect()
    }

    /// Solves loads, and returns their answers with their fields.
    fn found(&self, members: &[usize]) -> Vec<Found> {
        let cases: Vec<Result<&Case, NotKnown>> = members.iter().map(|&load| self.case(load)).collect();
        let sought: Vec<Sought<'_>> =
            cases.iter().flatten().map(|&case| Sought { case, buckling: self.options.buckling }).collect();
        let mut solved =
            solved::afresh(&sought, self.asked.part, &self.options, |solved, field| (solved, field)).into_iter();
        let unknown = || Err(NotKnown::NotSolved);
        cases.into_iter().map(|case| case.and_then(|_| solved.next().unwrap_or_else(unknown))).collect()
    }
}
