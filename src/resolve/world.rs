//! The candidates for every decision, and the facts rules see about any partial choice of them.

use std::cell::{Cell, OnceCell, RefCell};
use std::rc::Rc;
use std::sync::Arc;

use crate::catalogue::{Catalogue, Material, Nozzle, figures};
use crate::diag::Sources;
use crate::geometry::regions::limits::{Limit, Limits};
use crate::geometry::survey::{Overhangs, PoseFacts};
use crate::quantity::{Angle, Area, Length, Mass, Quantity, Stress, Temperature, Volume};
use crate::rulebook::facts::words::SupportKind;
use crate::rulebook::facts::{self as rules, LIMITED, RootFacts};
use crate::rulebook::names::{Decision, Root};
use crate::rulebook::value::{Fact, Origin, Record, Text, Value};
use crate::rulebook::{Facts, Functions, Rulebook, Scope, Settled};
use crate::semantics::spec::{Contact, Spec};

use super::facts;
use super::heat::{Coat, PartHeat, part_heat};
use super::limits;
use super::matching::Place;
use super::mixing::{Memo, QuickMap};
use super::part::Part;
use super::problem::Ruling;
use super::reading::{Key, Mask, Reading, Readings, depends, of_the_bench};
use super::run::{Pace, Plates};
use super::search::Sums;
use super::shop::Bench;
use super::strength;
use super::together;

/// The decisions the search makes, in the order in which ties are broken. The spool goes with the material.
pub const DECISIONS: [Decision; 7] = [
    Decision::Printer,
    Decision::Material,
    Decision::Nozzle,
    Decision::Surface,
    Decision::Agent,
    Decision::Pose,
    Decision::Supports,
];

/// Index of each decision in a choice.
pub mod at {
    pub const PRINTER: usize = 0;
    pub const MATERIAL: usize = 1;
    pub const NOZZLE: usize = 2;
    pub const SURFACE: usize = 3;
    pub const AGENT: usize = 4;
    pub const POSE: usize = 5;
    pub const SUPPORTS: usize = 6;
}

/// A choice of which some decisions may be open.
pub type Partial = [Option<usize>; 7];

/// What the program knows, whatever the job.
#[derive(Clone, Copy)]
pub struct Knowledge<'a> {
    pub catalogue: &'a Catalogue,
    pub rulebook: &'a Rulebook,
    pub functions: &'a (dyn Functions + Sync),
    pub sources: &'a Sources,
}

/// One job: its spec, its part and the bench it is to be made on, with every record of facts asked for so far.
pub struct World<'a> {
    pub knowledge: Knowledge<'a>,
    pub spec: &'a Spec,
    pub part: &'a Part,
    pub bench: Bench<'a>,
    /// Settings pinned by the spec.
    pub pinned: Record,
    /// What the mesh holds of each fit, in the spec's order.
    pub fit_places: Vec<Place>,
    heat: Vec<Option<Rc<PartHeat>>>,
    /// Least load margin of each pose over the best pose's, for a neutral material.
    least_margins: Rc<Vec<Option<f64>>>,
    /// What each rule of the rulebook reads.
    readings: Rc<Readings>,
    records: Memo<(Root, usize, Key), Rc<Record>>,
    /// Of each root the record asked for last.
    latest: [Latest; Root::ALL.len()],
    /// What of the facts of a pose hangs on nothing but the pose.
    poses: Memo<usize, Arc<Record>>,
    /// Single settings, by their place in the order of dependence.
    settings: Memo<(usize, Key), Option<Fact>>,
    /// What rules said that read the bench alone.
    rulings: Memo<(usize, Key), Ruling>,
    /// What rules that read the bench alone say together, between searches.
    pub(super) sums: Cell<Sums>,
    /// By the choice of printer, material and nozzle.
    paces: Memo<Key, Pace>,
    limits: Memo<Key, Rc<Limits>>,
    /// By the full choice.
    plans: Memo<Key, Option<Rc<Plates>>>,
    /// Which loads of the spec asked first these are.
    pub(super) loads: Vec<strength::Known>,
    /// What loads do to the part, for every world beside this one.
    pub(super) load_facts: Rc<strength::LoadFacts>,
}

/// Instance, choice and record.
type Latest = RefCell<Option<(usize, Key, Rc<Record>)>>;

/// What hangs on bench and catalogue alone, whatever the spec and the part.
#[derive(Debug, Default)]
pub struct BenchRecords {
    readings: Option<Rc<Readings>>,
    records: QuickMap<(Root, usize, Key), Rc<Record>>,
    settings: QuickMap<(usize, Key), Option<Fact>>,
    rulings: QuickMap<(usize, Key), Ruling>,
    sums: Sums,
}

/// The facts a rule reads of a choice, each made when it is first read.
struct Held<'h, 'a> {
    world: &'h World<'a>,
    reading: &'h Reading,
    instance: usize,
    choice: Key,
    purpose: Purpose,
    /// In the order of the reading's roots; few rules read more than there is room for here.
    records: [OnceCell<Option<Rc<Record>>>; ROOM],
    more: Vec<OnceCell<Option<Rc<Record>>>>,
    settings: OnceCell<Record>,
}

/// Roots of a rule for which no memory is asked.
const ROOM: usize = 6;

/// What facts are read for.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Purpose {
    /// To judge by them.
    Judging,
    /// To make a setting of them: what rests on settings is open, and so are the things a rule may be judged for each of, for
    /// a setting speaks of none of them.
    Deriving,
}

/// Whether the facts of a root are made from settings: time and cost, and the plan of plates, which counts the brim.
fn rests_on_settings(root: Root) -> bool {
    matches!(root, Root::Piece | Root::Run)
}

impl Facts for Held<'_, '_> {
    fn record(&self, root: Root) -> Option<&Record> {
        if root == Root::Settings {
            let used = &self.reading.settings;
            let make = || self.world.settings_record(used, self.choice.masked(self.reading.touches));
            return (!used.is_empty()).then(|| self.settings.get_or_init(make));
        }
        let (place, (_, hangs_on)) = self.reading.roots.iter().copied().enumerate().find(|(_, (r, _))| *r == root)?;
        let hangs_on = match self.purpose {
            Purpose::Deriving if rests_on_settings(root) || root.is_each() => return None,
            _ => hangs_on,
        };
        let instance = if root.is_each() { self.instance } else { 0 };
        let make = || self.world.kept(root, instance, self.choice.masked(hangs_on));
        self.records.get(place).or_else(|| self.more.get(place - ROOM))?.get_or_init(make).as_deref()
    }
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
        let readings = known.readings.unwrap_or_else(|| Rc::new(Readings::of(knowledge.rulebook)));
        let mut world = Self::with(knowledge, spec, part, bench, readings, Rc::new(strength::relative_margins(part)));
        world.records = Memo::holding(known.records);
        if world.pinned.is_empty() {
            world.settings = Memo::holding(known.settings);
            world.rulings = Memo::holding(known.rulings);
            world.sums = Cell::new(known.sums);
        }
        world
    }

    fn with(
        knowledge: Knowledge<'a>,
        spec: &'a Spec,
        part: &'a Part,
        bench: Bench<'a>,
        readings: Rc<Readings>,
        least_margins: Rc<Vec<Option<f64>>>,
    ) -> Self {
        // Materials of one colour get equally warm.
        let mut found: Vec<(Coat<'_>, Option<Rc<PartHeat>>)> = Vec::new();
        let heat = (0..bench.materials.len())
            .map(|index| {
                let coat = bench.coat(index, spec, part);
                if let Some((_, known)) = found.iter().find(|(of, _)| *of == coat) {
                    return known.clone();
                }
                let heat = part_heat(spec, knowledge.catalogue, coat).map(Rc::new);
                found.push((coat, heat.clone()));
                heat
            })
            .collect();
        let fit_places = super::matching::find(spec, &part.features, &bench.fit_tools, knowledge.catalogue);
        Self {
            knowledge,
            spec,
            part,
            bench,
            fit_places,
            pinned: super::pins::settings(spec),
            heat,
            least_margins,
            readings,
            records: Memo::default(),
            latest: std::array::from_fn(|_| RefCell::default()),
            poses: Memo::default(),
            settings: Memo::default(),
            rulings: Memo::default(),
            sums: Cell::default(),
            paces: Memo::default(),
            limits: Memo::default(),
            plans: Memo::default(),
            loads: strength::Known::first(spec),
            load_facts: Rc::default(),
        }
    }

    /// Makes the world of another spec or bench on the same part (as [`Part::asked_as`] gives it for the other spec); what
    /// hangs on none of them is not worked out again.
    pub fn beside<'b>(other: &World<'b>, spec: &'b Spec, part: &'b Part, bench: Option<Bench<'b>>) -> World<'b>
    where
        'a: 'b,
    {
        let same_bench = bench.is_none();
        let bench = bench.unwrap_or_else(|| other.bench.clone());
        let margins = match std::ptr::eq(part, other.part) {
            true => Rc::clone(&other.least_margins),
            false => Rc::new(strength::relative_margins(part)),
        };
        let mut world = World::with(other.knowledge, spec, part, bench, Rc::clone(&other.readings), margins);
        if let Some(loads) = strength::Known::beside(spec, other.spec, &other.loads) {
            world.loads = loads;
            world.load_facts = Rc::clone(&other.load_facts);
        }
        let lasting = |root: Root| match root {
            Root::Material | Root::Agent | Root::Mesh | Root::Supports => true,
            root => same_bench && of_the_bench(root),
        };
        // Candidates are added behind those there are, so an index means the same thing in both.
        world.records = Memo::holding(other.records.those(|(root, _, _)| lasting(*root)));
        world
    }

    /// Gives away what hangs on bench and catalogue alone; the world would make it again if asked.
    pub fn bench_records(&self) -> BenchRecords {
        let mut records = self.records.take();
        records.retain(|(root, _, _), _| of_the_bench(*root));
        let (mut settings, mut rulings, sums) = (self.settings.take(), self.rulings.take(), self.sums.take());
        if self.pinned.is_empty() {
            settings.retain(|(setting, _), _| self.readings.settings[*setting].of_the_bench);
        } else {
            settings.clear();
            rulings.clear();
        }
        BenchRecords { readings: Some(Rc::clone(&self.readings)), records, settings, rulings, sums }
    }

    /// Returns how many values each decision has.
    pub fn domains(&self) -> [usize; 7] {
        let b = &self.bench;
        [
            b.printers.len(),
            b.materials.len(),
            b.nozzles.len(),
            b.surfaces.len(),
            b.agents.len(),
            self.part.poses.len(),
            SUPPORTS.len(),
        ]
    }

    /// Returns how a value of a decision is called.
    pub fn name(&self, decision: usize, value: usize) -> String {
        let b = &self.bench;
        let found = match decision {
            at::PRINTER => b.printers.get(value).map(|p| p.name.clone()),
            at::MATERIAL => b.materials.get(value).map(|m| m.name.clone()),
            at::NOZZLE => b.nozzles.get(value).map(|n| n.name.clone()),
            at::SURFACE => b.surfaces.get(value).map(|s| s.name.clone()),
            at::AGENT => b.agents.get(value).map(|a| a.name.clone()),
            at::POSE => self.part.poses.get(value).map(|_| self.pose_words(value)),
            _ => SUPPORTS.get(value).map(|s| s.to_string()),
        };
        found.unwrap_or_default()
    }

    /// Says which way up a pose is, by a named face if one lies on the bed.
    pub fn pose_words(&self, pose: usize) -> String {
        let Some(facts) = self.part.poses.get(pose) else { return String::new() };
        let down = facts.pose.up.map(|c| -c);
        for (i, face) in self.spec.faces.iter().enumerate() {
            if self.part.lies_down(i, pose) == Some(true) {
                return format!("face \"{}\" down", face.name.value);
            }
        }
        match super::loads::lean(down) {
            (axis, tilt) if tilt.is_empty() => format!("{axis} down"),
            (axis, tilt) => format!("{axis} down, tilted {tilt}"),
        }
    }

    pub fn heat(&self, material: usize) -> Option<&PartHeat> {
        self.heat.get(material)?.as_deref()
    }

    /// Returns the temperature at which a chemical meets the part in a material.
    pub fn contact_temperature(&self, contact: &Contact, material: Option<usize>) -> Temperature {
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
            Some(Root::Contact) => self.spec.service.contacts.len(),
            Some(Root::Load) => self.spec.loads.len(),
            Some(Root::Fit) => self.spec.fits.len(),
            Some(Root::Face) => self.spec.faces.len(),
            _ => 1,
        }
    }

    /// Hands the scope of a rule of the rulebook for a partial choice to `ask`. Decisions it does not touch are left out.
    pub fn with_scope<R>(
        &self,
        rule: usize,
        instance: usize,
        choice: &Partial,
        ask: impl FnOnce(&Scope<'_>) -> R,
    ) -> R {
        self.with_reading(rule, instance, Key::of(choice), Purpose::Judging, ask)
    }

    fn with_reading<R>(
        &self,
        rule: usize,
        instance: usize,
        choice: Key,
        purpose: Purpose,
        ask: impl FnOnce(&Scope<'_>) -> R,
    ) -> R {
        let Some(reading) = self.readings.rules.get(rule) else { return ask(&Scope::new()) };
        let records = [const { OnceCell::new() }; ROOM];
        let more = (ROOM..reading.roots.len()).map(|_| OnceCell::new()).collect();
        let settings = OnceCell::new();
        ask(&Scope::of(&Held { world: self, reading, instance, choice, purpose, records, more, settings }))
    }

    /// Returns the decisions a rule is asked about, by their indices.
    pub(super) fn asked(&self, rule: usize) -> &[usize] {
        match self.readings.rules.get(rule) {
            Some(reading) if self.bench.limit_records.is_empty() => &reading.asked_without_records,
            Some(reading) => &reading.asked,
            None => &[],
        }
    }

    /// Whether all a rule reads hangs on bench and catalogue alone.
    pub(super) fn is_of_the_bench(&self, rule: usize) -> bool {
        self.readings.rules.get(rule).is_some_and(|r| r.of_the_bench)
    }

    /// Returns what a rule that reads the bench alone said of a choice, where it was asked before; else asks `judge`.
    pub(super) fn ruling(&self, rule: usize, choice: &Partial, judge: impl FnOnce() -> Ruling) -> Ruling {
        if !self.is_of_the_bench(rule) {
            return judge();
        }
        self.rulings.of((rule, Key::of(choice)), judge)
    }

    /// Returns the settings for a partial choice, with the rule behind each and what it read.
    pub fn settled(&self, choice: &Partial) -> Settled {
        let open = |r: Root| r == Root::Settings || rests_on_settings(r) || r.is_each();
        let held: Vec<(Root, Rc<Record>)> = (Root::ALL.into_iter().filter(|r| !open(*r)))
            .filter_map(|root| Some((root, self.record(root, 0, choice)?)))
            .collect();
        let mut scope = Scope::new();
        for (root, record) in &held {
            scope.set(*root, record);
        }
        self.knowledge.rulebook.settle(&scope, self.knowledge.functions, &self.pinned)
    }

    /// Returns one setting for a partial choice.
    pub fn setting(&self, name: &str, choice: &Partial) -> Option<Value> {
        self.setting_at(self.readings.setting(name)?, Key::of(choice)).map(|fact| fact.value)
    }

    /// Returns one setting for a partial choice, if it is a number.
    pub(super) fn number(&self, name: &str, choice: Key) -> Option<Quantity> {
        self.read_setting(self.readings.setting(name)?, choice, |fact| fact?.value.as_quantity())
    }

    /// Returns a setting by its place in the order of dependence.
    fn setting_at(&self, setting: usize, choice: Key) -> Option<Fact> {
        self.read_setting(setting, choice, |fact| fact.cloned())
    }

    /// Reads a setting, made once for all choices that agree in what it hangs on.
    fn read_setting<R>(&self, setting: usize, choice: Key, read: impl FnOnce(Option<&Fact>) -> R) -> R {
        let Some(derivation) = self.readings.settings.get(setting) else { return read(None) };
        if let Some(fact) = self.pinned.get(&derivation.name) {
            return read(Some(fact));
        }
        let choice = choice.masked(derivation.touches);
        let (rulebook, functions) = (self.knowledge.rulebook, self.knowledge.functions);
        let derived = |rule: usize| {
            self.with_reading(rule, 0, choice, Purpose::Deriving, |scope| {
                rulebook.derived(rule, &derivation.name, scope, functions)
            })
        };
        let make = || derivation.rules.iter().find_map(|&rule| derived(rule));
        self.settings.read((setting, choice), make, |fact| read(fact.as_ref()))
    }

    fn settings_record(&self, settings: &[usize], choice: Key) -> Record {
        let mut record = Record::new("settings");
        for &setting in settings {
            if let (Some(fact), Some(d)) = (self.setting_at(setting, choice), self.readings.settings.get(setting)) {
                record.insert(&d.name, fact);
            }
        }
        record
    }

    /// Returns how fast a printer lays a material through a nozzle, worked out once.
    pub(super) fn pace(&self, choice: Key, make: impl FnOnce() -> Pace) -> Pace {
        self.paces.of(choice, make)
    }

    /// Returns the facts of a root for a partial choice, computed once.
    pub fn record(&self, root: Root, instance: usize, choice: &Partial) -> Option<Rc<Record>> {
        self.kept(root, instance, Key::of(choice).masked(Mask::touched(depends(root))))
    }

    /// Returns the facts of a root for a choice that is open wherever they do not hang on it.
    fn kept(&self, root: Root, instance: usize, choice: Key) -> Option<Rc<Record>> {
        // Rules that touch the same decisions are asked one after the other: mostly the last record is wanted again.
        let latest = self.latest.get(root as usize);
        if let Some((of, known, record)) = latest.and_then(|l| l.borrow().clone())
            && (of, known) == (instance, choice)
        {
            return Some(record);
        }
        let record = self.made(root, instance, choice)?;
        if let Some(latest) = latest {
            latest.replace(Some((instance, choice, Rc::clone(&record))));
        }
        Some(record)
    }

    fn made(&self, root: Root, instance: usize, choice: Key) -> Option<Rc<Record>> {
        let key = (root, instance, choice);
        if let Some(found) = self.records.known(&key) {
            return Some(found);
        }
        let choice = choice.choice();
        let record = match root {
            Root::Part => self.with_deflection(&choice)?,
            _ => Rc::new(self.build(root, instance, &choice)?),
        };
        self.records.keep(key, Rc::clone(&record));
        Some(record)
    }

    fn build(&self, root: Root, instance: usize, choice: &Partial) -> Option<Record> {
        match root {
            Root::Service => Some(self.service(choice).record()),
            Root::Part => Some(facts::part(self.spec, self.knowledge.catalogue).record()),
            Root::Mesh => Some(facts::mesh(self.part).record()),
            Root::Contact => {
                let contact = self.spec.service.contacts.get(instance)?;
                let rating = self.material(choice).map(|m| {
                    let at = self.contact_temperature(contact, choice[at::MATERIAL]);
                    self.knowledge.catalogue.chemical_rating(&m.name, &contact.chemical.value, at)
                });
                Some(facts::contact(contact, self.knowledge.catalogue, rating).record())
            }
            Root::Load => self.load_facts(instance, choice).map(RootFacts::record),
            Root::Fit => super::fits::facts(self, instance, choice).map(RootFacts::record),
            Root::Face => {
                let face = self.spec.faces.get(instance)?;
                let pose = choice[at::POSE];
                let scars = match choice[at::SUPPORTS] {
                    Some(0) => Some(0.0),
                    Some(_) => pose.and_then(|p| self.part.scarred_mm2(instance, p, &self.limits(choice))),
                    None => None,
                };
                Some(facts::face(face, instance, self.part, pose, scars).record())
            }
            Root::Printer => self.bench.printer_facts(choice[at::PRINTER]?, self.knowledge).map(RootFacts::record),
            Root::Material => self.material(choice).map(|m| facts::material(m, self.knowledge.catalogue).record()),
            Root::Spool => {
                let job = super::shop::Job { spec: self.spec, part: self.part, knowledge: self.knowledge };
                self.bench.spool_facts(choice, job).map(RootFacts::record)
            }
            Root::Nozzle => {
                let nozzle = self.bench.nozzle_facts(choice[at::PRINTER], choice[at::NOZZLE]?, self.knowledge);
                nozzle.map(RootFacts::record)
            }
            Root::Surface => {
                let surface = self.bench.surface_facts(choice[at::PRINTER], choice[at::SURFACE]?, self.knowledge);
                surface.map(RootFacts::record)
            }
            Root::Agent => {
                let agent = self.bench.agents.get(choice[at::AGENT]?)?;
                Some(facts::agent(agent.kind.map(|k| (k, agent.name.as_str()))).record())
            }
            Root::Bond => self.bond_facts(choice).map(RootFacts::record),
            Root::Pose => self.pose_record(choice),
            Root::Piece => self.piece_facts(choice).map(RootFacts::record),
            Root::Supports => {
                let kind = *SUPPORTS.get(choice[at::SUPPORTS]?)?;
                Some(rules::Supports { title: kind.to_string(), kind: Origin::None.of(kind) }.record())
            }
            Root::Settings => None,
            Root::Figure => Some(facts::figures(self.knowledge.catalogue)),
            Root::Shop => Some(self.bench.shop_facts(choice, self.knowledge).record()),
            Root::Run => self.run_facts(choice).map(RootFacts::record),
        }
    }

    fn service(&self, choice: &Partial) -> rules::Service {
        let s = &self.spec.service;
        let none = Origin::None;
        let air = s.air.as_ref().map_or(Origin::None, |air| facts::stated(air.span));
        let sun = s.sun.as_ref().map_or(Origin::None, |sun| facts::stated(sun.span));
        let lasting = choice[at::MATERIAL].and_then(|m| strength::lasting_across(self, m));
        let heat = choice[at::MATERIAL].and_then(|m| self.heat(m));
        let worked = heat.map_or(Origin::None, |heat| computed(&heat.working));
        rules::Service {
            title: "service".to_owned(),
            air_low: air.of(s.air.map(|a| a.value.0)),
            air_high: air.of(s.air.map(|a| a.value.1)),
            peak: s.peak.and_then(|p| facts::stated(p.span).of(p.value)),
            part_temperature: worked.of(heat.map(|h| h.temperature)),
            lasting_strength: lasting.and_then(|(left, words)| computed(&words).of(left)),
            part_temperature_high: none.of(heat.map(|h| h.high)),
            part_temperature_low: none.of(heat.and_then(|h| h.low)),
            place: s.place.and_then(|p| facts::stated(p.span).of(p.value)),
            sun: sun.of(s.sun.map(|s| s.value.exposure)),
            sun_duration: sun.of(s.sun.and_then(|s| s.value.duration)),
            wet: s.wet.and_then(|w| facts::stated(w.span).of(w.value)),
            colour: s.colour.as_ref().and_then(|c| facts::stated(c.span).of(Text::shared(&c.value))),
            absorptance: worked.of(heat.map(|h| h.absorptance)),
            has_contacts: none.of(!s.contacts.is_empty()),
        }
    }

    /// Adds the deflection to the facts of the part, if it is known; else they are the same for every choice.
    fn with_deflection(&self, choice: &Partial) -> Option<Rc<Record>> {
        if choice.iter().all(Option::is_none) {
            return self.build(Root::Part, 0, choice).map(Rc::new);
        }
        let plain = self.kept(Root::Part, 0, Key::of(&[None; 7]))?;
        let (Some(m), Some(_)) = (choice[at::MATERIAL], choice[at::POSE]) else { return Some(plain) };
        let Some((deflection, working)) = strength::deflection(self, m) else { return Some(plain) };
        let mut record = Record::clone(&plain);
        let deflection = computed(&working).of(Length::mm(deflection));
        rules::Part { deflection, ..rules::Part::default() }.add_to(&mut record);
        Some(Rc::new(record))
    }

    fn load_facts(&self, instance: usize, choice: &Partial) -> Option<rules::Load> {
        let load = self.spec.loads.get(instance)?;
        let (none, at) = (Origin::None, facts::stated(load.span));
        let (factor, factor_origin) = match load.factor {
            Some(f) => (f.value, at.clone()),
            None => strength::default_factor(self.spec, self.knowledge.catalogue),
        };
        let combination = together::combination(self.spec, instance);
        let pose = choice[at::POSE];
        let shape = pose.and_then(|pose| strength::in_pose(self, instance, pose));
        let chosen = pose.zip(choice[at::MATERIAL]);
        let margin = chosen.map(|(pose, material)| strength::margin(self, instance, material, pose));
        let shown = margin.as_ref().map(Result::is_ok);
        let margin = margin.and_then(Result::ok);
        let worked = margin.as_ref().map_or(Origin::None, |m| computed(&m.working));
        let together = chosen
            .zip(combination.as_ref())
            .and_then(|((pose, material), all)| self.together(all, material, pose))
            .and_then(|(margin, working)| computed(&working).of(margin));
        Some(rules::Load {
            title: format!("load \"{}\"", load.name.value),
            name: at.of(Text::shared(&load.name.value)),
            force: at.of(load.force.map(|f| f.value)),
            torque: at.of(load.torque.map(|t| t.value)),
            course: at.of(load.course.value),
            held: at.of(load.held.map(|h| h.value)),
            cycles: at.of(load.cycles.map(|c| c.value)),
            factor: factor_origin.of(factor),
            angle: Origin::Measured.of(shape.as_ref().map(|s| Angle::rad(s.angle))),
            stress: shape.and_then(|s| computed(&s.working).of(Stress::mpa(s.stress_mpa))),
            capacity: worked.of(margin.as_ref().map(|m| Stress::mpa(m.capacity_mpa))),
            margin: worked.of(margin.as_ref().map(|m| m.margin)),
            shown: none.of(shown),
            together: none.of(combination.map(|all| Text::shared(&together::names(self.spec, &all)))),
            together_margin: together,
        })
    }

    /// Returns the margin loads leave together, and how it was worked out.
    fn together(&self, loads: &[usize], material: usize, pose: usize) -> Option<(f64, String)> {
        let (margin, shares) = strength::together(self, loads, material, pose)?;
        Some((margin, together::shares_words(self.spec, loads, &shares)))
    }

    fn bond_facts(&self, choice: &Partial) -> Option<rules::Bond> {
        let material = self.material(choice)?;
        let surface = self.bench.surfaces.get(choice[at::SURFACE]?)?;
        let agent = self.bench.agents.get(choice[at::AGENT]?)?;
        let agent_kind = agent.kind.map_or("none", |k| k.name.as_str());
        let spool_of = material.spool_of.as_ref().map_or(material.name.as_str(), |s| s.value.as_str());
        let of = |agent: &str| {
            let catalogue = self.knowledge.catalogue;
            let own = catalogue.bond(&material.name, &surface.kind.name, agent);
            own.or_else(|| catalogue.bond(spool_of, &surface.kind.name, agent))
        };
        let with = if agent_kind == "none" { String::new() } else { format!(" with {}", agent.name) };
        Some(facts::bond(of(agent_kind), of("none"), format!("{} on {}{with}", material.name, surface.name)))
    }

    fn pose_record(&self, choice: &Partial) -> Option<Record> {
        let index = choice[at::POSE]?;
        let facts = self.part.poses.get(index)?;
        let (limits, seen) = (self.limits(choice), self.overhangs(choice)?);
        let alone = self.poses.of(index, || Arc::new(self.pose_alone(index, facts).record()));
        let found = Origin::Measured;
        let from = |limit: &Limit| computed(&limit.origin);
        let layers = seen.regions.as_ref().map(super::part::layer_facts);
        let own = rules::Pose {
            overhang: found.of(Area::mm2(seen.overhang_mm2)),
            overhang_limit: from(&limits.overhang_deg).of(Angle::rad(limits.overhang())),
            support: found.of(Volume::mm3(seen.support_mm3)),
            bridge: found.of(layers.as_ref().map(|l| l.bridge)),
            bridge_limit: from(&limits.bridge_mm).of(Length::mm(limits.bridge_mm.value)),
            bridged: found.of(layers.as_ref().map(|l| l.bridged)),
            trapped: found.of(layers.as_ref().map(|l| l.trapped)),
            fits: found.of(choice[at::PRINTER].map(|printer| self.bench.fits(printer, facts))),
            ..rules::Pose::default()
        };
        Some(own.upon(alone))
    }

    /// What of the facts of a pose hangs on nothing else; the rest is added upon it.
    fn pose_alone(&self, index: usize, facts: &PoseFacts) -> rules::Pose {
        let (none, found) = (Origin::None, Origin::Measured);
        let words = self.pose_words(index);
        rules::Pose {
            label: none.of(Text::shared(&words)),
            title: words,
            up: none.of(Text::shared(&super::loads::direction_words(facts.pose.up))),
            contact: found.of(Area::mm2(facts.contact_mm2)),
            height: found.of(Length::mm(facts.height_mm)),
            slenderness: found.of(facts.height_mm / facts.footprint_mm[1].max(1e-6)),
            stable: found.of(facts.stable),
            footprint_longest: found.of(Length::mm(facts.footprint_mm[0])),
            least_margin: found.of(self.least_margins.get(index).copied().flatten()),
            overhang: None,
            overhang_limit: None,
            support: None,
            bridge: None,
            bridge_limit: None,
            bridged: None,
            trapped: None,
            fits: None,
        }
    }

    /// Returns what the chosen printer can leave without support, with the chosen nozzle and material.
    pub fn limits(&self, choice: &Partial) -> Rc<Limits> {
        let mut hangs_on = Mask::touched(LIMITED);
        if self.bench.limit_records.is_empty() {
            // Without records one printer or nozzle is like another.
            hangs_on = hangs_on.within(Mask::of(&[at::MATERIAL]));
        }
        let narrow = Key::of(choice).masked(hangs_on);
        self.limits.of(narrow, || {
            let choice = narrow.choice();
            Rc::new(limits::limits(&self.bench, choice[at::PRINTER], choice[at::NOZZLE], choice[at::MATERIAL]))
        })
    }

    /// Returns what of the chosen pose hangs over by those limits; the verdicts count, their words may be another choice's.
    pub fn overhangs(&self, choice: &Partial) -> Option<Arc<Overhangs>> {
        self.part.overhangs(choice[at::POSE]?, &self.limits(choice))
    }

    /// The facts of the plan of plates of a full choice; while anything is open there is none.
    fn run_facts(&self, choice: &Partial) -> Option<rules::Run> {
        if choice.iter().any(Option::is_none) {
            return None;
        }
        let plan = self.plan(choice)?;
        let none = Origin::None;
        let count = |count: u32| Origin::None.of(f64::from(count));
        let figure = |key| Origin::None.of(self.knowledge.catalogue.value(key));
        let plate = super::run::pieces(self, choice, plan.per_plate).ok();
        let sum = super::run::totals(self, choice, &plan).ok();
        let to_model = (0..self.spec.fits.len()).filter(|&i| super::fits::to_model(self, i, choice)).count();
        Some(rules::Run {
            title: "run".to_owned(),
            wanted: count(plan.wanted),
            start: count(plan.start),
            per_plate: count(plan.per_plate),
            plates: count(plan.plates),
            last_plate: count(plan.start.saturating_sub(plan.per_plate.saturating_mul(plan.plates.saturating_sub(1)))),
            mass: computed("the masses of its plates, walls and infill counted").of(sum.map(|s| Mass::g(s.mass_g))),
            plate_time: plate.and_then(|p| computed(p.basis).of(p.time)),
            gap: figure(figures::PLATE_GAP),
            edge: figure(figures::PLATE_EDGE),
            to_model: none.of(to_model as f64),
        })
    }

    /// Returns the plan of plates of a full choice, made once.
    pub fn plan(&self, choice: &Partial) -> Option<Rc<Plates>> {
        self.plans.of(Key::of(choice), || super::run::plates(self, choice).ok().map(Rc::new))
    }

    /// Time and cost of a piece, where all they hang on is decided.
    fn piece_facts(&self, choice: &Partial) -> Option<rules::Piece> {
        let hangs_on = [at::PRINTER, at::MATERIAL, at::NOZZLE, at::POSE, at::SUPPORTS];
        if hangs_on.iter().any(|&d| choice[d].is_none()) {
            return None;
        }
        let piece = super::run::piece(self, choice).ok()?;
        let basis = computed(piece.basis);
        Some(rules::Piece { title: "piece".to_owned(), time: basis.of(piece.time), cost: basis.of(piece.cost) })
    }
}

/// Support policies.
pub const SUPPORTS: &[SupportKind] = SupportKind::ALL;

fn computed(working: &str) -> Origin {
    Origin::Computed { working: working.into() }
}
