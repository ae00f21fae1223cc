//! The rulebook and a job as a search problem: rules that can refuse or penalise are its constraints.

use std::collections::BTreeSet;

use crate::rulebook::{Judgement, Rule, Trace};

use super::mixing::lock;
use super::search::{Allowed, Penalty, Problem, Search, Verdict};
use super::world::{COUNT, Partial, World};

/// One rule, for one instance of the thing it is judged for each of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Constraint {
    /// Index into the rulebook.
    pub rule: usize,
    /// Which contact, load, fit or face; 0 for rules judged once.
    pub instance: usize,
}

/// What a rule does to a choice.
#[derive(Debug, Clone, Copy)]
pub(super) struct Ruling {
    /// Whether one of its requirements does not hold.
    pub broken: bool,
    pub penalty: Penalty,
}

/// A job as a search problem.
pub struct Rules<'w, 'a> {
    pub world: &'w World<'a>,
    domains: [usize; COUNT],
    constraints: Vec<Constraint>,
    touched: Vec<Vec<usize>>,
    /// Names of waived rules: they cannot refuse.
    waived: BTreeSet<&'w str>,
    /// Rules that touch no decision: they are settled before any search.
    pub fixed: Vec<Constraint>,
    with_penalties: bool,
    /// Whether what rules say of the bench alone holds for any other spec as well.
    is_plain: bool,
}

/// What a rule said about a choice, with what it read.
#[derive(Debug, Clone)]
pub struct Said {
    pub constraint: Constraint,
    pub judgements: Vec<Judgement>,
    pub trace: Trace,
}

impl<'w, 'a> Rules<'w, 'a> {
    pub fn new(world: &'w World<'a>) -> Self {
        Self::of(world, true)
    }

    /// Takes only the rules that can refuse: enough to ask whether anything stands at all.
    pub fn refusing(world: &'w World<'a>) -> Self {
        Self::of(world, false)
    }

    fn of(world: &'w World<'a>, with_penalties: bool) -> Self {
        let waived: BTreeSet<&str> = world.spec.waivers.iter().map(|w| w.rule.value.as_str()).collect();
        let (mut constraints, mut touched, mut fixed) = (Vec::new(), Vec::new(), Vec::new());
        for (index, rule) in world.knowledge.rulebook.rules.iter().enumerate() {
            let counts = rule.can_refuse() || (with_penalties && rule.can_penalise());
            if !counts {
                continue;
            }
            for instance in 0..world.instances(rule.each) {
                let constraint = Constraint { rule: index, instance };
                // What the spec alone keeps silent is not asked again for every choice.
                if world.with_scope(index, instance, &[None; COUNT], |s| rule.is_silent(s, world.knowledge.functions)) {
                    continue;
                }
                let decisions = world.asked(index, instance);
                if decisions.is_empty() {
                    fixed.push(constraint);
                } else {
                    constraints.push(constraint);
                    touched.push(decisions.into_owned());
                }
            }
        }
        let is_plain = with_penalties && waived.is_empty() && world.pinned.is_empty();
        Self { world, domains: world.domains(), constraints, touched, waived, fixed, with_penalties, is_plain }
    }

    pub fn rule(&self, constraint: Constraint) -> &'a Rule {
        &self.world.knowledge.rulebook.rules[constraint.rule]
    }

    pub fn constraint(&self, index: usize) -> Constraint {
        self.constraints[index]
    }

    pub fn is_waived(&self, constraint: Constraint) -> bool {
        let rule = self.rule(constraint);
        !rule.binding && self.waived.contains(rule.name.as_str())
    }

    /// Returns whether a rule that touches no decision is broken by the spec alone.
    pub fn broken_from_the_start(&self) -> Vec<Constraint> {
        let open: Partial = [None; COUNT];
        let broken = |c: &&Constraint| {
            let rule = self.rule(**c);
            let holds =
                self.world.with_scope(c.rule, c.instance, &open, |s| rule.holds(s, self.world.knowledge.functions));
            holds == Some(false) && !self.is_waived(**c)
        };
        self.fixed.iter().filter(broken).copied().collect()
    }

    /// Returns what a rule says about a choice, in words and with what it read.
    pub fn explain(&self, constraint: Constraint, choice: &Partial) -> Said {
        let rule = self.rule(constraint);
        let mut trace = Trace::default();
        let judgements = self.world.with_scope(constraint.rule, constraint.instance, choice, |scope| {
            rule.judge(scope, self.world.knowledge.functions, Some(&mut trace))
        });
        Said { constraint, judgements, trace }
    }

    /// Returns every rule, of any verb, for every instance, with what it says about a full choice.
    pub fn all(&self, choice: &Partial) -> Vec<Said> {
        let rules = &self.world.knowledge.rulebook.rules;
        let pairs = rules
            .iter()
            .enumerate()
            .flat_map(|(rule, r)| (0..self.world.instances(r.each)).map(move |instance| Constraint { rule, instance }));
        pairs.filter_map(|c| self.said(c, choice)).collect()
    }

    /// Returns what a rule says about a choice, if anything: of the many that do not apply nothing is noted.
    fn said(&self, constraint: Constraint, choice: &Partial) -> Option<Said> {
        let (rule, functions) = (self.rule(constraint), self.world.knowledge.functions);
        let mut trace = Trace::default();
        let judgements = self.world.with_scope(constraint.rule, constraint.instance, choice, |scope| {
            rule.speaks(scope, functions).then(|| rule.judge(scope, functions, Some(&mut trace)))
        });
        judgements.filter(|j| !j.is_empty()).map(|judgements| Said { constraint, judgements, trace })
    }

    /// Returns every rule that hangs on no decision, with what it says of the job whatever is chosen.
    pub fn of_the_job(&self) -> Vec<Said> {
        let rules = &self.world.knowledge.rulebook.rules;
        let pairs = rules
            .iter()
            .enumerate()
            .flat_map(|(rule, r)| (0..self.world.instances(r.each)).map(move |instance| Constraint { rule, instance }));
        let open: Partial = [None; COUNT];
        let free = pairs.filter(|c| self.world.asked(c.rule, c.instance).is_empty());
        free.filter_map(|c| self.said(c, &open)).collect()
    }

    /// Returns the constraints that refuse a full choice, waived ones too.
    pub fn broken(&self, choice: &Partial) -> Vec<Said> {
        let every = self.constraints.iter().chain(&self.fixed);
        let broken = every.filter(|c| {
            let rule = self.rule(**c);
            rule.can_refuse()
                && self.world.with_scope(c.rule, c.instance, choice, |s| rule.holds(s, self.world.knowledge.functions))
                    == Some(false)
        });
        broken.map(|c| self.explain(*c, choice)).collect()
    }

    /// Returns what the rule of a constraint does to a choice, waived or not.
    fn rule_on(&self, c: Constraint, choice: &Partial) -> Ruling {
        let (rule, functions) = (self.rule(c), self.world.knowledge.functions);
        self.world.with_scope(c.rule, c.instance, choice, |scope| {
            let (broken, penalty) = rule.ruling(scope, functions);
            Ruling { broken, penalty: millionths(penalty) }
        })
    }

    /// Begins a search that knows what jobs before this one found the rules to say of the bench.
    pub(super) fn search(&self) -> Search<'_, Self> {
        match self.is_plain {
            true => Search::knowing(self, std::mem::take(&mut *lock(&self.world.memory.sums))),
            false => Search::new(self),
        }
    }

    /// Keeps what a search found the rules to say of the bench, for later jobs.
    pub(super) fn keep(&self, search: Search<'_, Self>) {
        if self.is_plain {
            *lock(&self.world.memory.sums) = search.into_sums();
        }
    }

    /// Returns the domains with the spec's pins and forbiddings applied.
    pub fn allowed(&self) -> Allowed {
        super::pins::allowed(self.world, &self.domains)
    }
}

impl Problem for Rules<'_, '_> {
    fn is_lasting(&self, constraint: usize) -> bool {
        self.is_plain && self.world.is_job_independent(self.constraints[constraint].rule)
    }

    fn domains(&self) -> &[usize] {
        &self.domains
    }

    fn constraints(&self) -> &[Vec<usize>] {
        &self.touched
    }

    fn judge(&self, constraint: usize, values: &[usize]) -> Verdict {
        let mut choice: Partial = [None; COUNT];
        for &decision in &self.touched[constraint] {
            choice[decision] = Some(values[decision]);
        }
        let c = self.constraints[constraint];
        let ruling = self.world.ruling(c.rule, &choice, || self.rule_on(c, &choice));
        match ruling.broken && !self.is_waived(c) {
            true => Verdict::Refused,
            false if self.with_penalties => Verdict::Costs(ruling.penalty),
            false => Verdict::Costs(0),
        }
    }
}

/// A penalty in millionths; absurd ones are held below what would overflow a sum.
fn millionths(amount: f64) -> Penalty {
    (amount.clamp(0.0, 1e5) * 1e6).round() as Penalty
}
