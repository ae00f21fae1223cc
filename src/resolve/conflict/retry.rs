//! The job asked again under other conditions, as often as its budget allows.

use std::borrow::Cow;
use std::cell::Cell;
use std::rc::Rc;

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
    purse: Rc<Purse>,
}

/// What is left to spend.
struct Purse {
    left: Cell<usize>,
    cut_short: Cell<bool>,
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
        let purse = Purse { left: Cell::new(BUDGET), cut_short: Cell::new(false) };
        Self { world, judge, bench: None, shape: None, purse: Rc::new(purse) }
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
        let (bench, shape) = (self.bench.clone(), self.shape.clone());
        Self { world: self.world, judge: self.judge, bench, shape, purse: Rc::clone(&self.purse) }
    }

    /// Whether something was left unasked because the budget was spent.
    pub fn is_cut_short(&self) -> bool {
        self.purse.cut_short.get()
    }

    /// Pays for questions about a spec; `false` where the budget does not reach.
    fn pay(&self, spec: &Spec, questions: usize) -> bool {
        let things = spec.loads.len() + spec.fits.len() + spec.faces.len() + spec.service.contacts.len();
        let left = self.purse.left.get().checked_sub(questions * (QUESTION + things));
        match left {
            Some(left) => self.purse.left.set(left),
            None => self.purse.cut_short.set(true),
        }
        left.is_some()
    }

    fn part(&self, spec: &Spec) -> Cow<'_, Part> {
        let part = self.shape.as_ref().unwrap_or(self.world.part);
        match part.asked_as(self.world.spec, spec) {
            Some(part) => Cow::Owned(part),
            None => Cow::Borrowed(part),
        }
    }

    fn world<'w>(&'w self, spec: &'w Spec, part: &'w Part) -> World<'w> {
        World::beside(self.world, spec, part, self.bench.clone())
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
