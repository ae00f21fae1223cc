//! Where nothing is left: the smallest sets of requirements that cannot stand together, the nearest misses, and the
//! smallest changes that free it, each verified by solving again and looked at for what would then be weak.

use std::borrow::Cow;
use std::collections::BTreeSet;

use crate::quantity::Quantity;
use crate::rulebook::Judgement;
use crate::semantics::requirements::{Requirement, governing, relaxed, requirements, without};
use crate::semantics::spec::Spec;

use super::decide::{best, fixed, full, only, stands, with_broken};
use super::part::Part;
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
    /// Where no single change frees the job: changes of the spec that do it together.
    pub together: Option<Together>,
}

/// Changes that free the job if all are made.
#[derive(Debug, Clone)]
pub struct Together {
    pub changes: Vec<Change>,
    /// What would then be chosen.
    pub way: Way,
}

/// A change that frees the job.
#[derive(Debug, Clone)]
pub struct Freed {
    pub change: Change,
    /// What would then be chosen.
    pub way: Way,
}

/// What would be chosen, and what of it would be weak.
#[derive(Debug, Clone)]
pub struct Way {
    pub material: String,
    pub printer: String,
    pub weak: Vec<Weakness>,
}

impl Way {
    /// Returns whether something of it would not hold.
    pub fn fails(&self) -> bool {
        self.weak.iter().any(|w| w.fails)
    }
}

/// A weak point of a choice that no rule refuses.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Weakness {
    pub text: String,
    /// It does not hold, rather than narrowly.
    pub fails: bool,
}

/// Finds the weak points of a choice; margins are the business of whoever writes the recipe.
pub type Judge<'j> = dyn Fn(&Rules<'_, '_>, &[usize; 7]) -> Vec<Weakness> + 'j;

#[derive(Debug, Clone)]
pub enum Change {
    /// Another number in a line of the spec.
    ///
    /// `id` is that of the number: see [`governing`].
    Number { requirement: Requirement, id: String, what: &'static str, from: Quantity, to: Quantity },
    /// Without a line of the spec.
    Drop { requirement: Requirement },
    /// Something the bench lacks.
    Bench { what: String },
}

/// Most conflict sets looked for.
const SETS: usize = 4;
/// Most nearest misses shown.
const MISSES: usize = 4;
/// Most looked at before those that say nothing new are left out.
const MISSES_KEPT: usize = 12;

/// A job that can be asked again under other conditions.
struct Retry<'r, 'a> {
    world: &'r World<'a>,
    judge: &'r Judge<'r>,
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
    fn solve(&self, spec: &Spec, bench: &Bench<'_>) -> Option<Way> {
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
    fn freed(&self, spec: &Spec) -> Option<Way> {
        if self.stands(spec) { self.solve(spec, &self.world.bench) } else { None }
    }

    fn stands(&self, spec: &Spec) -> bool {
        self.stands_on(spec, &self.world.bench)
    }

    fn stands_on(&self, spec: &Spec, bench: &Bench<'_>) -> bool {
        let part = self.part(spec);
        let world = self.world(spec, &part, bench);
        stands(&Rules::refusing(&world))
    }
}

/// Works out why nothing is left and what would free it.
pub fn refuse(world: &World<'_>, rules: &Rules<'_, '_>, judge: &Judge<'_>) -> Refusal {
    let retry = Retry { world, judge };
    let open = [None; 7];
    let from_the_start = rules.broken_from_the_start().into_iter().map(|c| rules.explain(c, &open)).collect();
    let all = requirements(world.spec, world.knowledge.sources);
    let bare = drop_all(world.spec, &all);
    let bench_only = !retry.stands(&bare);
    let sets = if bench_only { Vec::new() } else { conflict_sets(&retry, world.spec, &all) };
    let nearest = misses(rules, world);
    let relaxations = free(&retry, world, &sets);
    let one_does = relaxations.iter().any(|f| !f.way.fails());
    let together = if one_does { None } else { together(&retry, world.spec, &all, &sets) };
    Refusal { from_the_start, sets, bench_only, nearest, relaxations, together }
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

/// Returns for the materials that break least what they break, fewest first; of those that break the same, one.
fn misses(rules: &Rules<'_, '_>, world: &World<'_>) -> Vec<(Solution, Vec<Said>)> {
    let mut search = Search::new(rules);
    search.count_breaks = true;
    let allowed = rules.allowed();
    let mut found: Vec<Solution> = Vec::new();
    for material in (0..world.bench.materials.len()).filter(|&m| allowed[at::MATERIAL][m]) {
        // One that breaks more than the last to be kept need not be looked at further.
        let mut most = found.get(MISSES_KEPT - 1).map_or(Penalty::MAX, |s| s.penalty);
        // What came near for another material may come near for this one.
        for near in &found {
            let mut choice = near.choice.clone();
            choice[at::MATERIAL] = material;
            most = most.min(search.total(&choice).unwrap_or(Penalty::MAX));
        }
        found.extend(search.best_within(&only(&allowed, at::MATERIAL, material), most));
        found.sort_by(|a, b| (a.penalty, &a.choice).cmp(&(b.penalty, &b.choice)));
        found.truncate(MISSES_KEPT);
    }
    let mut told: Vec<BTreeSet<_>> = Vec::new();
    let mut found: Vec<_> = found.into_iter().map(|solution| with_broken(rules, &mut search, solution)).collect();
    found.retain(|(solution, broken)| {
        let missed = what_is_missed(world, solution, broken);
        // What misses all that another misses, and more, is no news either.
        let news = !told.iter().any(|t| t.is_subset(&missed));
        told.push(missed);
        news
    });
    found.truncate(MISSES);
    found
}

/// Returns the choice with a material that breaks least, and what it breaks; `None` where the spec bars the material.
pub fn nearest_with(rules: &Rules<'_, '_>, material: usize) -> Option<(Solution, Vec<Said>)> {
    let mut search = Search::new(rules);
    search.count_breaks = true;
    let solution = search.best(&only(&rules.allowed(), at::MATERIAL, material))?;
    Some(with_broken(rules, &mut search, solution))
}

/// Returns what a miss says, without the name of its material: where only that differs, it says nothing new.
fn what_is_missed(world: &World<'_>, solution: &Solution, broken: &[Said]) -> BTreeSet<(usize, usize, String)> {
    let material = world.name(at::MATERIAL, solution.choice[at::MATERIAL]);
    let text = |said: &Said| {
        let words = said.judgements.iter().map(|j| match j {
            Judgement::Broken { text } => text.replace(&material, ""),
            _ => String::new(),
        });
        (said.constraint.rule, said.constraint.instance, words.collect::<String>())
    };
    broken.iter().map(text).collect()
}

fn free(retry: &Retry<'_, '_>, world: &World<'_>, sets: &[Vec<Requirement>]) -> Vec<Freed> {
    let spec = world.spec;
    let mut members: Vec<Requirement> = Vec::new();
    for requirement in sets.iter().flatten() {
        if !members.iter().any(|m| m.id == requirement.id) {
            members.push(requirement.clone());
        }
    }
    let mut result: Vec<Freed> = members.iter().flat_map(|r| by_number(retry, spec, r)).collect();
    for requirement in &members {
        let eased = |f: &Freed| matches!(&f.change, Change::Number { requirement: r, .. } if r.id == requirement.id);
        // A pin was somebody's choice among many: that the job can be made without it is worth knowing beside any number.
        if result.iter().any(|f| eased(f) && !f.way.fails()) && !requirement.id.starts_with("pin ") {
            continue;
        }
        if requirement.is_of_the_use() {
            continue;
        }
        if let Some(way) = retry.freed(&without(spec, &requirement.id)) {
            result.push(Freed { change: Change::Drop { requirement: requirement.clone() }, way });
        }
    }
    result.extend(by_bench(retry, world));
    // What would not hold comes last, and only where there is nothing better.
    if result.iter().any(|f| !f.way.fails()) {
        result.retain(|f| !f.way.fails());
    }
    result
}

/// Most lines changed together: who would have to change more wants another part, or another shop.
const TOGETHER: usize = 6;

/// Finds changes of the spec that free the job together: one line out of each set gives way, each by as little as the
/// others leave it.
fn together(retry: &Retry<'_, '_>, spec: &Spec, all: &[Requirement], sets: &[Vec<Requirement>]) -> Option<Together> {
    let mut sets = sets.to_vec();
    let chosen = loop {
        // What a part is used for is not asked to give way.
        if sets.iter().any(|set| set.iter().all(Requirement::is_of_the_use)) {
            return None;
        }
        let chosen = one_of_each(spec, &sets);
        if chosen.is_empty() || chosen.len() > TOGETHER {
            return None;
        }
        let left: Vec<Requirement> = all.iter().filter(|r| !chosen.iter().any(|c| c.id == r.id)).cloned().collect();
        if retry.stands(&keep(spec, all, &left)) {
            break chosen;
        }
        // There are more sets than were looked for.
        sets.push(shrink(retry, spec, all, left));
    };
    let mut changes: Vec<Change> = Vec::new();
    let mut eased = spec.clone();
    for (i, requirement) in chosen.iter().enumerate() {
        let others = chosen.iter().skip(i + 1).fold(eased.clone(), |s, r| without(&s, &r.id));
        let by_number = by_number(retry, &others, requirement).into_iter().next().map(|freed| freed.change);
        let change = by_number.unwrap_or_else(|| Change::Drop { requirement: requirement.clone() });
        eased = made(&eased, &change)?;
        changes.push(change);
    }
    let way = retry.freed(&eased)?;
    Some(Together { changes, way })
}

/// Takes one line out of each set: the one in most sets, then one that has a number to change, then the first written.
fn one_of_each(spec: &Spec, sets: &[Vec<Requirement>]) -> Vec<Requirement> {
    let mut chosen: Vec<Requirement> = Vec::new();
    loop {
        let open = |set: &&Vec<Requirement>| !set.iter().any(|r| chosen.iter().any(|c| c.id == r.id));
        let left: Vec<&Vec<Requirement>> = sets.iter().filter(open).collect();
        let in_sets = |r: &Requirement| left.iter().filter(|set| set.iter().any(|m| m.id == r.id)).count();
        let rank = |r: &&Requirement| (in_sets(r), has_number(spec, r), std::cmp::Reverse(r.span.start));
        let free = left.iter().flat_map(|set| set.iter()).filter(|r| !r.is_of_the_use());
        let Some(next) = free.max_by_key(rank) else { return chosen };
        chosen.push(next.clone());
    }
}

fn has_number(spec: &Spec, requirement: &Requirement) -> bool {
    NUMBERS.iter().any(|part| governing(spec, &format!("{}{part}", requirement.id)).is_some())
}

/// Returns the spec with a change of it made.
fn made(spec: &Spec, change: &Change) -> Option<Spec> {
    match change {
        Change::Number { id, to, .. } => relaxed(spec, id, *to),
        Change::Drop { requirement } => Some(without(spec, &requirement.id)),
        Change::Bench { .. } => None,
    }
}

/// Finds for the numbers of a requirement the nearest with which the job can be made.
///
/// The first that holds is enough: a load comes down before it is held for less long, and only then with less in hand.
fn by_number(retry: &Retry<'_, '_>, spec: &Spec, requirement: &Requirement) -> Vec<Freed> {
    let mut found: Vec<Freed> = Vec::new();
    for part in NUMBERS {
        if found.iter().any(|f| !f.way.fails()) && part == " factor" {
            break;
        }
        found.extend(one_number(retry, spec, requirement, &format!("{}{part}", requirement.id)));
    }
    if found.iter().any(|f| !f.way.fails()) {
        found.retain(|f| !f.way.fails());
    }
    found
}

/// What is written behind the id of a requirement for its numbers: see [`governing`].
const NUMBERS: [&str; 5] = ["", " low", " held", " factor", " undercut"];

/// Says which number of a line an id means, where a line has several.
fn what_number(spec: &Spec, id: &str) -> &'static str {
    if id.ends_with(" held") {
        "held for "
    } else if id.ends_with(" factor") {
        "a factor of "
    } else if id.ends_with(" undercut") {
        "an undercut of "
    } else if spec.loads.iter().any(|l| id == format!("load \"{}\"", l.name.value)) {
        "a load of "
    } else {
        ""
    }
}

/// Finds the nearest number in place of a requirement's own with which the job can be made, by bisection.
fn one_number(retry: &Retry<'_, '_>, spec: &Spec, requirement: &Requirement, id: &str) -> Option<Freed> {
    let from = governing(spec, id)?;
    let mild = mildest(id, from)?;
    let stands = |q: Quantity| relaxed(spec, id, q).is_some_and(|s| retry.stands(&s));
    if !stands(mild) {
        return None;
    }
    let good = bisect(id, from, mild, 40, stands);
    let (to, way) = rounded(retry, spec, id, from, mild, good)?;
    let what = what_number(spec, id);
    let freed = |to, way| {
        let (requirement, id) = (requirement.clone(), id.to_owned());
        Freed { change: Change::Number { requirement, id, what, from, to }, way }
    };
    if !way.fails() {
        return Some(freed(to, way));
    }
    // The rules let it pass, yet something would not hold: ease it further until everything does.
    let sound = |q: Quantity| relaxed(spec, id, q).and_then(|s| retry.freed(&s)).is_some_and(|w| !w.fails());
    if sound(mild)
        && let Some((to, way)) = rounded(retry, spec, id, from, mild, bisect(id, good, mild, 12, sound))
        && !way.fails()
    {
        return Some(freed(to, way));
    }
    Some(freed(to, way))
}

/// Returns the number nearest to `bad` at which `holds` still is true; it is at `good`.
fn bisect(id: &str, bad: Quantity, good: Quantity, steps: usize, holds: impl Fn(Quantity) -> bool) -> Quantity {
    let (mut no, mut yes) = (bad.si, good.si);
    for _ in 0..steps {
        let middle = 0.5 * (no + yes);
        let middle = if id == "quantity" { middle.floor() } else { middle };
        if (yes - no).abs() <= 1e-4 * bad.si.abs().max(1e-12) || middle == yes || middle == no {
            break;
        }
        if holds(Quantity::new(middle, bad.dimension)) {
            yes = middle;
        } else {
            no = middle;
        }
    }
    Quantity::new(yes, bad.dimension)
}

/// Rounds to a figure a person would write, the bad side of the border first (it may be just as good: a limit that is met
/// exactly), and makes sure that it still stands.
fn rounded(
    retry: &Retry<'_, '_>,
    spec: &Spec,
    id: &str,
    from: Quantity,
    mild: Quantity,
    good: Quantity,
) -> Option<(Quantity, Way)> {
    for digits in 2..=4 {
        for toward in [from, mild] {
            let tried = round_towards(good, toward, digits);
            // Rounded back to where it came from it is no change.
            if tried.si != from.si
                && let Some(way) = relaxed(spec, id, tried).and_then(|s| retry.freed(&s))
                && (toward.si != from.si || !way.fails())
            {
                return Some((tried, way));
            }
        }
    }
    None
}

/// The value of a number at which it asks for next to nothing.
fn mildest(id: &str, from: Quantity) -> Option<Quantity> {
    use crate::quantity::Dimension;
    let room = Quantity::parse("20 °C").ok()?;
    let other = if from.dimension == Dimension::TEMPERATURE {
        room
    } else if id == "deflection" || (id.starts_with("fit ") && !id.ends_with(" undercut")) {
        // Leave to give or to play: more of it asks for less.
        Quantity::new(from.si * 1e2, from.dimension)
    } else if id == "quantity" || id.ends_with(" factor") {
        Quantity::number(1.0)
    } else {
        Quantity::new(from.si * 1e-3, from.dimension)
    };
    // Of two ends of a range the lower eases upwards, the other downwards.
    let eases = if id == "service.air low" { other.si > from.si } else { other.si != from.si };
    (eases && from.si > 0.0).then_some(other)
}

/// A year in seconds, as quantities count it.
const YEAR_S: f64 = 365.25 * 86_400.0;

/// Rounds to so many significant digits (whole degrees Celsius for a temperature), towards `toward`.
fn round_towards(value: Quantity, toward: Quantity, digits: i32) -> Quantity {
    use crate::quantity::Dimension;
    let (offset, factor) = match value.dimension {
        Dimension::TEMPERATURE => (273.15, 1.0),
        Dimension::LENGTH => (0.0, 1e-3),
        Dimension::STRESS => (0.0, 1e5),
        Dimension::TIME if value.si >= YEAR_S => (0.0, YEAR_S),
        // Days, and from where they are shown as months, those.
        Dimension::TIME if value.si >= 60.0 * 86_400.0 => (0.0, YEAR_S / 12.0),
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
            && let Some(way) = retry.solve(spec, &bench)
        {
            result.push(Freed { change: Change::Bench { what }, way });
        }
    }
    if result.is_empty() {
        // A bench with everything the catalogue knows: if even that fails, no bench will do.
        let mut everything = world.bench.clone();
        everything.stock_listed = false;
        super::equip::everything(&mut everything, world.knowledge.catalogue);
        if let Some(mut way) = retry.solve(spec, &everything) {
            let needs = super::equip::missing(world, spec, &everything, world.part);
            // The machine that does it is none of those there are: it is one of the same size, with all of that.
            way.printer = format!("a machine of the size of {} so equipped", way.printer);
            result.push(Freed { change: Change::Bench { what: needs }, way });
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
