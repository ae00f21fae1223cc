//! The job asked again under other conditions.

use std::borrow::Cow;

use super::{Judge, Way};
use crate::resolve::decide::{best, fixed, stands};
use crate::resolve::part::Part;
use crate::resolve::problem::Rules;
use crate::resolve::shop::Bench;
use crate::resolve::world::{World, at};
use crate::semantics::spec::Spec;

/// A job that can be asked again under other conditions.
pub(super) struct Retry<'r, 'a> {
    pub world: &'r World<'a>,
    pub judge: &'r Judge<'r>,
}

impl Retry<'_, '_> {
    fn part(&self, spec: &Spec) -> Cow<'_, Part> {
        match self.world.part.asked_as(self.world.spec, spec) {
            Some(part) => Cow::Owned(part),
            None => Cow::Borrowed(self.world.part),
        }
    }

    fn world<'w>(&'w self, spec: &'w Spec, part: &'w Part, bench: &Bench<'w>) -> World<'w> {
        let other = (!std::ptr::eq(bench, &raw const self.world.bench)).then(|| bench.clone());
        World::beside(self.world, spec, part, other)
    }

    /// Returns what would be chosen.
    pub fn solve(&self, spec: &Spec, bench: &Bench<'_>) -> Option<Way> {
        let part = self.part(spec);
        let world = self.world(spec, &part, bench);
        let rules = Rules::new(&world);
        let choice = fixed(&best(&rules)?.choice);
        Some(Way {
            material: world.name(at::MATERIAL, choice[at::MATERIAL]),
            printer: world.name(at::PRINTER, choice[at::PRINTER]),
            weak: (self.judge)(&rules, &choice),
        })
    }

    /// Returns what would be chosen on the bench as it is, if anything stands.
    pub fn freed(&self, spec: &Spec) -> Option<Way> {
        if self.stands(spec) { self.solve(spec, &self.world.bench) } else { None }
    }

    pub fn stands(&self, spec: &Spec) -> bool {
        self.stands_on(spec, &self.world.bench)
    }

    pub fn stands_on(&self, spec: &Spec, bench: &Bench<'_>) -> bool {
        let part = self.part(spec);
        let world = self.world(spec, &part, bench);
        stands(&Rules::refusing(&world))
    }
}
