//! The job asked again under other conditions, as often as its budget allows.

use std::borrow::Cow;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering::Relaxed};

use rayon::prelude::*;

use super::{Judge, Way};
use crate::resolve::decide::{best, fixed, stands};
use crate::resolve::part::Part;
use crate::resolve::problem::Rules;
use crate::resolve::shop::Bench;
use crate::resolve::world::{World, at};
use crate::semantics::spec::Spec;

/// A job that can be asked again under other conditions.
pub(in crate::resolve) struct Retry<'r, 'a> {
    pub world: &'r World<'a>,
    judge: &'r Judge<'r>,
    /// Another bench than the world's.
    bench: Option<Bench<'a>>,
    /// Another shape than the world's part.
    shape: Option<Part>,
    purse: Arc<Purse>,
}

/// What is left to spend. It is spent by one thread at a time: who asks several things at once gives each a purse of its own.
struct Purse {
    left: AtomicUsize,
    cut_short: AtomicBool,
}

impl Purse {
    fn of(left: usize) -> Arc<Self> {
        Arc::new(Self { left: AtomicUsize::new(left), cut_short: AtomicBool::new(false) })
    }

    fn left(&self) -> usize {
        self.left.load(Relaxed)
    }

    /// Takes an amount; `false` where it does not reach.
    fn take(&self, amount: usize) -> bool {
        let left = self.left().checked_sub(amount);
        match left {
            Some(left) => self.left.store(left, Relaxed),
            None => self.cut_short.store(true, Relaxed),
        }
        left.is_some()
    }
}

/// What a refusal may spend on asking again. Each question costs the things it has to be judged for, and a full answer as much
/// as several questions: this bounds work whatever the spec, and counts no time, so that every machine says the same.
///
/// Measured on 2026-11-29: of the 32 refusals in the tests of practice, conflicts, bearing and the case book the dearest spent
/// 1,414, twelve loads none of which holds 816, a hundred and twenty such 1,114; twelve loads that hold alone and break the part
/// together 2,024. Twice that is left for what nobody tried; 24 loads of the last kind end it.
const BUDGET: usize = 4_000;
/// What asking costs beside the loads, fits, faces and contacts of the spec asked.
const QUESTION: usize = 4;
/// Questions that a full answer is worth.
const ANSWER: usize = 4;

impl<'r, 'a> Retry<'r, 'a> {
    pub fn new(world: &'r World<'a>, judge: &'r Judge<'r>) -> Self {
        Self { world, judge, bench: None, shape: None, purse: Purse::of(BUDGET) }
    }

    /// Asks on another bench, out of the same purse.
    pub fn on(&self, bench: Bench<'a>) -> Self {
        Self { bench: Some(bench), ..self.again() }
    }

    /// Asks of another shape, out of the same purse.
    pub fn of(&self, shape: Part) -> Self {
        Self { shape: Some(shape), ..self.again() }
    }

    fn again(&self) -> Self {
        self.out_of(Arc::clone(&self.purse))
    }

    fn out_of(&self, purse: Arc<Purse>) -> Self {
        let (bench, shape) = (self.bench.clone(), self.shape.clone());
        Self { world: self.world, judge: self.judge, bench, shape, purse }
    }

    /// Asks about each of several things, on as many threads as there are. What is found and what is spent are the same on one:
    /// each is asked as if nothing else were, and the first for which the budget would not have reached, and all behind it, are
    /// asked again one after the other.
    pub fn each<I: Sync, T: Send>(&self, things: &[I], ask: impl Fn(&Self, &I) -> T + Sync) -> Vec<T> {
        let left = self.purse.left();
        let alone = |thing: &I| {
            let asked = self.out_of(Purse::of(left));
            let found = ask(&asked, thing);
            (found, left - asked.purse.left(), asked.is_cut_short())
        };
        let mut found = Vec::with_capacity(things.len());
        let asked: Vec<_> = things.par_iter().map(alone).collect();
        for (one, spent, cut_short) in asked {
            if cut_short || spent > self.purse.left() {
                break;
            }
            self.purse.take(spent);
            found.push(one);
        }
        let rest = found.len();
        found.extend(things.iter().skip(rest).map(|thing| ask(self, thing)));
        found
    }

    /// Whether something was left unasked because the budget was spent.
    pub fn is_cut_short(&self) -> bool {
        self.purse.cut_short.load(Relaxed)
    }

    /// Pays for questions about a spec; `false` where the budget does not reach.
    fn pay(&self, spec: &Spec, questions: usize) -> bool {
        let things = spec.loads.len() + spec.fits.len() + spec.faces.len() + spec.touching().count();
        self.purse.take(questions * (QUESTION + things))
    }

    /// Looks at a spec as it is asked.
    pub fn look<T>(&self, spec: &Spec, see: impl FnOnce(&World<'_>) -> T) -> T {
        let part = self.part(spec);
        see(&self.world(spec, &part))
    }

    fn part(&self, spec: &Spec) -> Cow<'_, Part> {
        let part = self.shape.as_ref().unwrap_or(self.world.part);
        match part.asked_as(self.world.spec, spec) {
            Some(part) => Cow::Owned(part),
            None => Cow::Borrowed(part),
        }
    }

    fn world<'w>(&'w self, spec: &'w Spec, part: &'w Part) -> World<'w> {
        World::variant(self.world, spec, part, self.bench.clone())
    }

    /// Returns what would be chosen; `None` where nothing stands, or nothing more may be asked.
    pub fn solve(&self, spec: &Spec) -> Option<Way> {
        if !self.pay(spec, ANSWER) {
            return None;
        }
        let part = self.part(spec);
        let world = self.world(spec, &part);
        let rules = Rules::new(&world);
        let choice = fixed(&best(&rules)?.choice);
        Some(Way {
            material: world.name(at::MATERIAL, choice[at::MATERIAL]),
            printer: world.name(at::PRINTER, choice[at::PRINTER]),
            equipped: false,
            pose: world.pose_words(choice[at::POSE]),
            weak: (self.judge)(&rules, &choice),
        })
    }

    /// Returns what would be chosen, if anything stands.
    pub fn freed(&self, spec: &Spec) -> Option<Way> {
        if self.stands(spec)? { self.solve(spec) } else { None }
    }

    /// Returns whether anything stands; `None` where nothing more may be asked.
    pub fn stands(&self, spec: &Spec) -> Option<bool> {
        if !self.pay(spec, 1) {
            return None;
        }
        let part = self.part(spec);
        let world = self.world(spec, &part);
        Some(stands(&Rules::refusing(&world)))
    }
}
