//! One job: its spec, its part, the bench it is to be made on, and the facts of any partial choice.
//!
//! ```text
//! candidates   what there is to choose from     naming   how it is called
//! making       the facts of each root           plan     those of the run and of a piece
//! view         what a rule sees of them, and the settings
//! judged       the margins of the job with their verdicts
//! memory       what was worked out, kept by what it hangs on
//! ```

mod candidates;
mod judged;
mod making;
mod memory;
mod naming;
mod plan;
mod view;

pub use candidates::{COUNT, DECISIONS, Partial, SUPPORTS, at};
pub use memory::BenchRecords;

use std::sync::{Arc, OnceLock};

use crate::catalogue::{Catalogue, Material, Nozzle};
use crate::diag::Sources;
use crate::quantity::Temperature;
use crate::rulebook::facts as rules;
use crate::rulebook::names::Root;
use crate::rulebook::value::{Record, Value};
use crate::rulebook::{Functions, Rule, Rulebook};
use crate::semantics::spec::{Contact, Load, Spec, Where};

use super::heat::{Coat, PartHeat, part_heat};
use super::hints::Hint;
use super::matching::Place;
use super::part::Part;
use super::reading::Readings;
use super::shop::{Bench, Unread};
use super::strength;
use memory::Memory;

/// What the program knows, whatever the job.
#[derive(Clone, Copy)]
pub struct Knowledge<'a> {
    pub catalogue: &'a Catalogue,
    pub rulebook: &'a Rulebook,
    pub functions: &'a (dyn Functions + Sync),
    pub sources: &'a Sources,
}

/// One job: its spec, its part and the bench it is to be made on; shared between threads.
pub struct World<'a> {
    pub knowledge: Knowledge<'a>,
    pub spec: &'a Spec,
    pub part: &'a Part,
    pub bench: Bench<'a>,
    /// Settings pinned by the spec.
    pub pinned: Record,
    /// What the mesh holds of each fit, in the spec's order.
    pub fit_places: Vec<Place>,
    /// Words of the spec that point to a use.
    hints: Vec<Hint>,
    /// What the spec asks of the part, read once.
    stated: OnceLock<Box<rules::Part>>,
    /// The margins the job may have.
    judged: Vec<judged::Judged>,
    heat: Vec<Option<Arc<PartHeat>>>,
    /// Least load margin of each pose over the best pose's, for a neutral material.
    least_margins: Arc<OnceLock<Vec<Option<f64>>>>,
    /// What each rule of the rulebook reads.
    readings: Arc<Readings>,
    /// Which loads of the spec asked first these are.
    pub(super) loads: Vec<strength::Known>,
    /// What loads do to the part, for every variant of this world.
    pub(super) load_facts: Arc<strength::LoadFacts>,
    pub(super) memory: Memory,
}

/// What a world shares with its variants.
struct Shared {
    readings: Arc<Readings>,
    least_margins: Arc<OnceLock<Vec<Option<f64>>>>,
    loads: Vec<strength::Known>,
    load_facts: Arc<strength::LoadFacts>,
}

/// Whether every load of one spec acts and is held as its namesake of the other: then only its size may differ.
fn placed_alike(one: &Spec, other: &Spec) -> bool {
    let face = |spec: &Spec, place: &Where| {
        let found = spec.faces.iter().find(|f| Some(f.name.value.as_str()) == place.face())?;
        Some((found.round, found.toward.map(|t| t.value), found.near.map(|n| n.value)))
    };
    one.loads.iter().all(|load| {
        let same = other.loads.iter().find(|o| o.name.value == load.name.value);
        let holds = |l: &Load| -> Vec<_> { l.holds.iter().map(|h| h.value.clone()).collect() };
        same.is_none_or(|o| {
            let placed = |l: &Load| (l.at.as_ref().map(|w| w.value.clone()), l.direction.map(|d| d.value));
            let faces = load.places().all(|(place, _)| face(one, place) == face(other, place));
            holds(o) == holds(load) && placed(o) == placed(load) && faces
        })
    })
}

impl<'a> World<'a> {
    /// Begins with nothing known (`BenchRecords::default()`), or with what another job's world gave back: that must be of the
    /// same bench and the same knowledge, since a record is known by the index of what it is about.
    pub fn new(
        knowledge: Knowledge<'a>,
        spec: &'a Spec,
        part: &'a Part,
        bench: Bench<'a>,
        known: BenchRecords,
    ) -> Self {
        let readings =
            known.readings.clone().unwrap_or_else(|| Arc::new(Readings::of(knowledge.rulebook, bench.never_known())));
        let shared = Shared {
            readings,
            least_margins: Arc::default(),
            loads: strength::Known::first(spec),
            load_facts: Arc::default(),
        };
        let mut world = Self::with(knowledge, spec, part, bench, shared);
        world.memory = Memory::knowing(known, !world.pinned.is_empty(), world.asked_of_the_part());
        world
    }

    fn with(
        knowledge: Knowledge<'a>,
        spec: &'a Spec,
        part: &'a Part,
        bench: Bench<'a>,
        Shared { readings, least_margins, loads, load_facts }: Shared,
    ) -> Self {
        // Materials of one colour get equally warm.
        let mut found: Vec<(Coat<'_>, Option<Arc<PartHeat>>)> = Vec::new();
        let heat = (0..bench.materials.len())
            .map(|index| {
                let coat = bench.coat(index, spec, part);
                if let Some((_, known)) = found.iter().find(|(of, _)| *of == coat) {
                    return known.clone();
                }
                let heat = part_heat(spec, knowledge.catalogue, coat, part.stoutness_mm()).map(Arc::new);
                found.push((coat, heat.clone()));
                heat
            })
            .collect();
        let fit_places = super::hanging::places(spec, part, &bench.fit_tools, knowledge.catalogue);
        let mut world = Self {
            knowledge,
            spec,
            part,
            bench,
            fit_places,
            hints: super::hints::hints(spec, knowledge.catalogue),
            stated: OnceLock::new(),
            judged: Vec::new(),
            pinned: super::pins::settings(spec),
            heat,
            least_margins,
            readings,
            loads,
            load_facts,
            memory: Memory::default(),
        };
        world.judged = world.judged_by_all(super::margin::all(&world));
        world
    }

    /// Makes the world of another spec or bench on the same part (as [`Part::asked_as`] gives it for the other spec); what
    /// hangs on none of them is not worked out again.
    pub fn variant<'b>(other: &World<'b>, spec: &'b Spec, part: &'b Part, bench: Option<Bench<'b>>) -> World<'b>
    where
        'a: 'b,
    {
        let same_bench = bench.is_none();
        let bench = bench.unwrap_or_else(|| other.bench.clone());
        let margins = match std::ptr::eq(part, other.part) {
            true => Arc::clone(&other.least_margins),
            false => Arc::default(),
        };
        let known = || match placed_alike(spec, other.spec) && Arc::ptr_eq(&part.mesh, &other.part.mesh) {
            true => strength::Known::for_variant(spec, other.spec, &other.loads),
            false => None,
        };
        let (loads, load_facts) = match known() {
            Some(loads) => (loads, Arc::clone(&other.load_facts)),
            None => (strength::Known::first(spec), Arc::default()),
        };
        let shared = Shared { readings: Arc::clone(&other.readings), least_margins: margins, loads, load_facts };
        let mut world = World::with(other.knowledge, spec, part, bench, shared);
        world.memory = other.memory.for_variant(same_bench, part.has_the_walls_of(other.part));
        world
    }

    /// Returns the least load margin of a pose over the best pose's, for a neutral material; worked out when first asked for.
    fn least_margin(&self, pose: usize) -> Option<f64> {
        self.least_margins.get_or_init(|| strength::relative_margins(self.part)).get(pose).copied().flatten()
    }

    /// Returns what the spec asks of the part, as rules read it and with the lines that say so: nothing else reads these lines.
    pub fn stated(&self) -> &rules::Part {
        self.stated.get_or_init(|| Box::new(super::facts::part(self.spec, self.knowledge.catalogue)))
    }

    /// Returns what the spec asks of the part that settings are made from, in the order of the readings.
    fn asked_of_the_part(&self) -> Vec<Option<Value>> {
        let part = self.record(Root::Part, 0, &[None; COUNT]);
        let value = |name: &&'static str| part.as_ref()?.get(name).map(|fact| fact.value.clone());
        self.readings.asked.iter().map(value).collect()
    }

    /// Gives away what hangs on bench and catalogue alone; the world would make it again if asked.
    pub fn bench_records(&self) -> BenchRecords {
        self.memory.take_lasting(&self.readings, !self.pinned.is_empty())
    }

    /// Returns the entries of the workshop's file that the job has not read so far.
    pub fn unread(&self) -> Vec<Unread> {
        let judged = |rule: &&Rule| self.instances(rule.each) > 0;
        let rules = || self.knowledge.rulebook.rules.iter().filter(judged);
        self.bench.unread(|fact| rules().any(|rule| rule.names.iter().any(|name| name == fact)))
    }

    pub fn heat(&self, material: usize) -> Option<&PartHeat> {
        self.heat.get(material)?.as_deref()
    }

    /// Returns the temperature at which a chemical meets the part in a material.
    pub fn contact_temperature(&self, contact: &Contact, material: Option<usize>) -> Option<Temperature> {
        let heat = material.and_then(|m| self.heat(m));
        super::heat::contact_temperature(self.spec, self.knowledge.catalogue, contact, heat)
    }

    pub fn material(&self, choice: &Partial) -> Option<&'a Material> {
        self.bench.materials.get(choice[at::MATERIAL]?).copied()
    }

    pub fn nozzle(&self, choice: &Partial) -> Option<&Nozzle> {
        self.bench.nozzles.get(choice[at::NOZZLE]?)
    }

    /// Returns how often a rule of this kind is judged: once, or once for each contact, load, fit or face.
    pub fn instances(&self, each: Option<Root>) -> usize {
        match each {
            Some(Root::Hint) => self.hints.len(),
            Some(Root::Contact) => self.spec.touching().count(),
            Some(Root::Load) => self.spec.loads.len(),
            Some(Root::Fit) => self.spec.fits.len(),
            Some(Root::Face) => self.spec.faces.len(),
            Some(Root::Margin) => self.judged.len(),
            _ => 1,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_world_is_shared_between_threads() {
        fn shared<T: Send + Sync>() {}
        shared::<World<'_>>();
    }
}
