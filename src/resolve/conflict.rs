//! Where nothing is left: the smallest sets of requirements that cannot stand together, the nearest misses, and the
//! smallest changes that free it, each verified by solving again.

use crate::quantity::Quantity;
use crate::semantics::requirements::{Requirement, governing, relaxed, requirements, without};
use crate::semantics::spec::Spec;

use super::decide::{best, full, only, stands, with_broken};
use super::problem::{Rules, Said};
use super::search::{Penalty, Search, Solution};
use super::shop::Bench;
use super::world::{World, at};

/// Everything to say about a refusal.
#[derive(Debug, Clone)]
pub struct Refusal {
    /// Rules broken by the spec alone, whatever is chosen.
    pub from_the_start: Vec<Said>,
    pub sets: Vec<Vec<Requirement>>,
    /// Requirements stand by themselves; the bench is what is short.
    pub bench_only: bool,
    /// The nearest misses: choice, and what it breaks.
    pub nearest: Vec<(Solution, Vec<Said>)>,
    pub relaxations: Vec<Freed>,
}

/// A change that frees the job.
#[derive(Debug, Clone)]
pub struct Freed {
    pub change: Change,
    /// What would then be chosen.
    pub material: String,
    pub printer: String,
}

#[derive(Debug, Clone)]
pub enum Change {
    /// Another number in a line of the spec.
    Number { requirement: Requirement, from: Quantity, to: Quantity },
    /// Without a line of the spec.
    Drop { requirement: Requirement },
    /// Something the bench lacks.
    Bench { what: String },
}

/// Most conflict sets looked for.
const SETS: usize = 4;
/// Most nearest misses shown.
const MISSES: usize = 4;

/// A job that can be asked again under other conditions.
struct Retry<'r, 'a> {
    world: &'r World<'a>,
}

impl Retry<'_, '_> {
    fn world<'w>(&'w self, spec: &'w Spec, bench: &Bench<'w>) -> World<'w> {
        let other = (!std::ptr::eq(bench, &raw const self.world.bench)).then(|| bench.clone());
        World::beside(self.world, spec, other)
    }

    /// Returns what would be chosen.
    fn solve(&self, spec: &Spec, bench: &Bench<'_>) -> Option<(String, String)> {
        let world = self.world(spec, bench);
        let found = best(&Rules::new(&world))?;
        Some((world.name(at::MATERIAL, found.choice[at::MATERIAL]), world.name(at::PRINTER, found.choice[at::PRINTER])))
    }

    /// Returns what would be chosen on the bench as it is, if anything stands.
    fn freed(&self, spec: &Spec) -> Option<(String, String)> {
        if self.stands(spec) { self.solve(spec, &self.world.bench) } else { None }
    }

    fn stands(&self, spec: &Spec) -> bool {
        self.stands_on(spec, &self.world.bench)
    }

    fn stands_on(&self, spec: &Spec, bench: &Bench<'_>) -> bool {
        let world = self.world(spec, bench);
        stands(&Rules::refusing(&world))
    }
}

/// Works out why nothing is left and what would free it.
pub fn refuse(world: &World<'_>, rules: &Rules<'_, '_>) -> Refusal {
    let retry = Retry { world };
    let open = [None; 7];
    let from_the_start = rules.broken_from_the_start().into_iter().map(|c| rules.explain(c, &open)).collect();
    let all = requirements(world.spec, world.knowledge.sources);
    let bare = drop_all(world.spec, &all);
    let bench_only = !retry.stands(&bare);
    let sets = if bench_only { Vec::new() } else { conflict_sets(&retry, world.spec, &all) };
    let nearest = misses(rules, world);
    let relaxations = free(&retry, world, &sets, bench_only);
    Refusal { from_the_start, sets, bench_only, nearest, relaxations }
}

fn drop_all(spec: &Spec, requirements: &[Requirement]) -> Spec {
    requirements.iter().fold(spec.clone(), |s, r| without(&s, &r.id))
}

/// Returns the spec with only these requirements left.
fn keep(spec: &Spec, all: &[Requirement], kept: &[Requirement]) -> Spec {
    let dropped: Vec<Requirement> = all.iter().filter(|r| !kept.iter().any(|k| k.id == r.id)).cloned().collect();
    drop_all(spec, &dropped)
}

/// Finds minimal conflict sets: the first by deletion, further ones by taking one member of a found set away and
/// looking again (as in enumerating minimal unsatisfiable subsets by hitting-set branches; Reiter 1987).
fn conflict_sets(retry: &Retry<'_, '_>, spec: &Spec, all: &[Requirement]) -> Vec<Vec<Requirement>> {
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
            queue.push(candidates.iter().filter(|r| r.id != member.id).cloned().collect());
        }
        if !sets.iter().any(|s| same(s, &set)) {
            sets.push(set);
        }
    }
    sets.sort_by_key(|s| (s.len(), s.iter().map(|r| r.span.start).collect::<Vec<_>>()));
    sets
}

fn same(a: &[Requirement], b: &[Requirement]) -> bool {
    a.len() == b.len() && a.iter().all(|x| b.iter().any(|y| x.id == y.id))
}

/// Takes away whatever can go with the rest still in conflict.
fn shrink(retry: &Retry<'_, '_>, spec: &Spec, all: &[Requirement], mut set: Vec<Requirement>) -> Vec<Requirement> {
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

/// Returns for the materials that break least what they break, fewest first.
fn misses(rules: &Rules<'_, '_>, world: &World<'_>) -> Vec<(Solution, Vec<Said>)> {
    let mut search = Search::new(rules);
    search.count_breaks = true;
    let allowed = rules.allowed();
    let mut found: Vec<Solution> = Vec::new();
    for material in (0..world.bench.materials.len()).filter(|&m| allowed[at::MATERIAL][m]) {
        // One that breaks more than the last to be shown need not be looked at further.
        let mut most = found.get(MISSES - 1).map_or(Penalty::MAX, |s| s.penalty);
        // What came near for another material may come near for this one.
        for near in &found {
            let mut choice = near.choice.clone();
            choice[at::MATERIAL] = material;
            most = most.min(search.total(&choice).unwrap_or(Penalty::MAX));
        }
        found.extend(search.best_within(&only(&allowed, at::MATERIAL, material), most));
        found.sort_by(|a, b| (a.penalty, &a.choice).cmp(&(b.penalty, &b.choice)));
        found.truncate(MISSES);
    }
    found.into_iter().map(|solution| with_broken(rules, solution)).collect()
}

fn free(retry: &Retry<'_, '_>, world: &World<'_>, sets: &[Vec<Requirement>], bench_only: bool) -> Vec<Freed> {
    let spec = world.spec;
    let mut members: Vec<Requirement> = Vec::new();
    for requirement in sets.iter().flatten() {
        if !members.iter().any(|m| m.id == requirement.id) {
            members.push(requirement.clone());
        }
    }
    let mut result = Vec::new();
    for requirement in &members {
        if let Some(freed) = by_number(retry, spec, requirement) {
            result.push(freed);
        }
    }
    for requirement in &members {
        if result
            .iter()
            .any(|f: &Freed| matches!(&f.change, Change::Number { requirement: r, .. } if r.id == requirement.id))
        {
            continue;
        }
        if let Some((material, printer)) = retry.freed(&without(spec, &requirement.id)) {
            result.push(Freed { change: Change::Drop { requirement: requirement.clone() }, material, printer });
        }
    }
    let _ = bench_only;
    result.extend(by_bench(retry, world));
    result
}

/// Finds the nearest number in place of a requirement's own with which the job can be made, by bisection.
fn by_number(retry: &Retry<'_, '_>, spec: &Spec, requirement: &Requirement) -> Option<Freed> {
    let from = governing(spec, &requirement.id)?;
    let mild = mildest(from)?;
    let ask = |q: Quantity| relaxed(spec, &requirement.id, q).is_some_and(|s| retry.stands(&s));
    if !ask(mild) {
        return None;
    }
    let (mut bad, mut good) = (from.si, mild.si);
    for _ in 0..40 {
        let middle = 0.5 * (bad + good);
        if ask(Quantity::new(middle, from.dimension)) {
            good = middle;
        } else {
            bad = middle;
        }
        if (good - bad).abs() <= 1e-4 * from.si.abs().max(1e-12) {
            break;
        }
    }
    // Round to a figure a person would write, the bad side of the border first (it may be just as good: a limit that is
    // met exactly), and make sure it still stands.
    for digits in 2..=4 {
        for toward in [from, mild] {
            let rounded = round_towards(Quantity::new(good, from.dimension), toward, digits);
            if ask(rounded)
                && let Some((material, printer)) = relaxed(spec, &requirement.id, rounded).and_then(|s| retry.freed(&s))
            {
                let change = Change::Number { requirement: requirement.clone(), from, to: rounded };
                return Some(Freed { change, material, printer });
            }
        }
    }
    None
}

/// The value of a quantity at which it asks for next to nothing.
fn mildest(from: Quantity) -> Option<Quantity> {
    use crate::quantity::Dimension;
    if from.dimension == Dimension::TEMPERATURE {
        let room = Quantity::parse("20 °C").ok()?;
        return (from.si != room.si).then_some(room);
    }
    (from.si > 0.0).then(|| Quantity::new(from.si * 1e-3, from.dimension))
}

/// Rounds to so many significant digits (whole degrees Celsius for a temperature), towards `toward`.
fn round_towards(value: Quantity, toward: Quantity, digits: i32) -> Quantity {
    use crate::quantity::Dimension;
    let (offset, factor) = match value.dimension {
        Dimension::TEMPERATURE => (273.15, 1.0),
        Dimension::LENGTH => (0.0, 1e-3),
        Dimension::STRESS => (0.0, 1e5),
        Dimension::TIME => (0.0, 86_400.0),
        _ => (0.0, 1.0),
    };
    let shown = (value.si - offset) / factor;
    if shown == 0.0 {
        return value;
    }
    // Whole degrees are as fine as anyone writes a temperature.
    let step = if value.dimension == Dimension::TEMPERATURE {
        1.0
    } else {
        10f64.powi(shown.abs().log10().floor() as i32 + 1 - digits)
    };
    let down = toward.si < value.si;
    let rounded = if down { (shown / step).floor() * step } else { (shown / step).ceil() * step };
    Quantity::new(rounded * factor + offset, value.dimension)
}

/// Tries what a bench could be given: each thing by itself, then a material in stock with each.
fn by_bench(retry: &Retry<'_, '_>, world: &World<'_>) -> Vec<Freed> {
    let spec = world.spec;
    let mut result = Vec::new();
    for (what, bench) in single_additions(world) {
        if retry.stands_on(spec, &bench)
            && let Some((material, printer)) = retry.solve(spec, &bench)
        {
            result.push(Freed { change: Change::Bench { what }, material, printer });
        }
    }
    if result.is_empty() {
        // A bench with everything the catalogue knows: if even that fails, no bench will do.
        let mut everything = world.bench.clone();
        everything.stock_listed = false;
        super::equip::everything(&mut everything, world.knowledge.catalogue);
        if let Some((material, printer)) = retry.solve(spec, &everything) {
            let needs = super::equip::missing(world, spec, &everything, world.part);
            result.push(Freed { change: Change::Bench { what: needs }, material, printer });
        }
    }
    result
}

fn single_additions<'a>(world: &World<'a>) -> Vec<(String, Bench<'a>)> {
    let mut result = Vec::new();
    let catalogue = world.knowledge.catalogue;
    if world.bench.stock_listed {
        let mut bench = world.bench.clone();
        bench.stock_listed = false;
        result.push(("a spool that is not in stock now".to_owned(), bench));
    }
    for nozzle in super::equip::nozzles(&world.bench, catalogue) {
        let mut bench = world.bench.clone();
        let what = format!("a {} nozzle of {} mm", nozzle.metal.title.value, nozzle.bore.to_mm());
        bench.nozzles.push(nozzle);
        result.push((what, bench));
    }
    for surface in super::equip::surfaces(&world.bench, catalogue) {
        let mut bench = world.bench.clone();
        let what = format!("the build surface {}", surface.kind.title.value);
        bench.surfaces.push(surface);
        result.push((what, bench));
    }
    for agent in super::equip::agents(&world.bench, catalogue) {
        let mut bench = world.bench.clone();
        let what = format!("the agent {}", agent.name);
        bench.agents.push(agent);
        result.push((what, bench));
    }
    result
}

/// Returns what a choice breaks, in words, without waived rules.
pub fn broken_words(rules: &Rules<'_, '_>, choice: &[usize]) -> Vec<Said> {
    rules.broken(&full(choice)).into_iter().filter(|s| !rules.is_waived(s.constraint)).collect()
}
