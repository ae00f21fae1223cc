//! The candidates for every decision, and the facts rules see about any partial choice of them.

use std::cell::{Cell, OnceCell, RefCell};
use std::rc::Rc;
use std::sync::Arc;

use crate::catalogue::{Catalogue, Material, Nozzle, figures};
use crate::diag::Sources;
use crate::geometry::regions::limits::{Limit, Limits};
use crate::geometry::survey::{Overhangs, PoseFacts};
use crate::quantity::{Dimension, Mass, Quantity, Temperature};
use crate::rulebook::names::{Decision, LIMITED, Root, Touches};
use crate::rulebook::value::{Fact, Origin, Record, Value};
use crate::rulebook::{Facts, Functions, Rulebook, Scope, Settled};
use crate::semantics::spec::{Contact, Spec};

use super::facts::{self, mm};
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
    /// By load and pose.
    pub(super) stresses: Memo<(usize, usize), Option<Rc<strength::Stresses>>>,
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
        let fit_places = super::matching::find(spec, &part.features, &bench.fit_tools);
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
            stresses: Memo::default(),
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
            _ => SUPPORTS.get(value).map(|s| (*s).to_owned()),
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
            Root::Service => Some(self.service(choice)),
            Root::Part => Some(facts::part(self.spec, self.part)),
            Root::Mesh => Some(facts::mesh(self.part)),
            Root::Contact => {
                let contact = self.spec.service.contacts.get(instance)?;
                let rating = self.material(choice).map(|m| {
                    let at = self.contact_temperature(contact, choice[at::MATERIAL]);
                    self.knowledge.catalogue.chemical_rating(&m.name, &contact.chemical.value, at)
                });
                Some(facts::contact(contact, self.knowledge.catalogue, rating))
            }
            Root::Load => self.load_record(instance, choice),
            Root::Fit => super::fits::record(self, instance, choice),
            Root::Face => {
                let face = self.spec.faces.get(instance)?;
                let pose = choice[at::POSE];
                let scars = match choice[at::SUPPORTS] {
                    Some(0) => Some(0.0),
                    Some(_) => pose.and_then(|p| self.part.scarred_mm2(instance, p, &self.limits(choice))),
                    None => None,
                };
                Some(facts::face(face, instance, self.part, pose, scars))
            }
            Root::Printer => self.bench.printer_record(choice[at::PRINTER]?, self.knowledge),
            Root::Material => self.material(choice).map(facts::material),
            Root::Spool => {
                let job = super::shop::Job { spec: self.spec, part: self.part, knowledge: self.knowledge };
                self.bench.spool_record(choice, job)
            }
            Root::Nozzle => {
                let index = choice[at::NOZZLE]?;
                let fitted = choice[at::PRINTER].and_then(|p| self.bench.is_fitted(p, index));
                let mut record = facts::nozzle(self.bench.nozzles.get(index)?, fitted);
                self.bench.place_nozzle(choice[at::PRINTER], index, self.knowledge, &mut record);
                Some(record)
            }
            Root::Surface => {
                let index = choice[at::SURFACE]?;
                let surface = self.bench.surfaces.get(index)?;
                let mounted = choice[at::PRINTER].and_then(|p| self.bench.is_mounted(p, index));
                let mut record = facts::surface(surface.kind, &surface.name, mounted, surface.at);
                self.bench.place_surface(choice[at::PRINTER], index, self.knowledge, &mut record);
                Some(record)
            }
            Root::Agent => {
                let agent = self.bench.agents.get(choice[at::AGENT]?)?;
                Some(facts::agent(agent.kind.map(|k| (k, agent.name.as_str()))))
            }
            Root::Bond => self.bond_record(choice),
            Root::Pose => self.pose_record(choice),
            Root::Piece => self.piece_record(choice),
            Root::Supports => {
                let kind = SUPPORTS.get(choice[at::SUPPORTS]?)?;
                let mut record = Record::new(*kind);
                record.set("kind", Value::word(*kind), Origin::None);
                Some(record)
            }
            Root::Settings => None,
            Root::Figure => Some(facts::figures(self.knowledge.catalogue)),
            Root::Shop => Some(self.bench.shop_record(choice, self.knowledge)),
            Root::Run => self.run_record(choice),
        }
    }

    fn service(&self, choice: &Partial) -> Record {
        let s = &self.spec.service;
        let mut record = Record::new("service");
        if let Some(air) = s.air {
            let at = facts::stated(air.span);
            record.set("air_low", Quantity::from(air.value.0), at.clone());
            record.set("air_high", Quantity::from(air.value.1), at);
        }
        if let Some(peak) = s.peak {
            record.set("peak", Quantity::from(peak.value), facts::stated(peak.span));
        }
        if let Some(place) = s.place {
            let word = Value::word(facts::place_word(place.value));
            record.set("place", word, facts::stated(place.span));
        }
        if let Some(sun) = s.sun {
            let at = facts::stated(sun.span);
            record.set("sun", Value::word(facts::sun_word(sun.value.exposure)), at.clone());
            record.set("sun_duration", sun.value.duration.map(Quantity::from), at);
        }
        if let Some(wet) = s.wet {
            let at = facts::stated(wet.span);
            record.set("wet", Value::word(facts::wet_word(wet.value)), at);
        }
        if let Some(colour) = &s.colour {
            record.set("colour", Value::text(&colour.value), facts::stated(colour.span));
        }
        record.set("has_contacts", !s.contacts.is_empty(), Origin::None);
        if let Some((left, words)) = choice[at::MATERIAL].and_then(|m| strength::lasting_across(self, m)) {
            record.set("lasting_strength", Quantity::from(left), Origin::Computed { working: words.into() });
        }
        if let Some(heat) = choice[at::MATERIAL].and_then(|m| self.heat(m)) {
            let worked = Origin::Computed { working: heat.working.as_str().into() };
            record.set("part_temperature", Quantity::from(heat.temperature), worked.clone());
            record.set("part_temperature_high", Quantity::from(heat.high), Origin::None);
            record.set("part_temperature_low", heat.low.map(Quantity::from), Origin::None);
            record.set("absorptance", Quantity::number(heat.absorptance), worked);
        }
        record
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
        record.set("deflection", mm(deflection), Origin::Computed { working: working.into() });
        Some(Rc::new(record))
    }

    fn load_record(&self, instance: usize, choice: &Partial) -> Option<Record> {
        let load = self.spec.loads.get(instance)?;
        let id = format!("load \"{}\"", load.name.value);
        let at = facts::stated(load.span);
        let mut record = Record::new(id);
        record.set("name", Value::text(&load.name.value), at.clone());
        record.set("force", load.force.map(|f| Quantity::from(f.value)), at.clone());
        record.set("torque", load.torque.map(|t| Quantity::from(t.value)), at.clone());
        record.set("course", Value::word(facts::course_word(load.course.value)), at.clone());
        record.set("held", load.held.map(|h| Quantity::from(h.value)), at.clone());
        record.set("cycles", load.cycles.map(|c| Quantity::number(c.value)), at.clone());
        let (factor, factor_origin) = match load.factor {
            Some(f) => (f.value, at),
            None => strength::default_factor(self.spec, self.knowledge.catalogue),
        };
        record.set("factor", Quantity::number(factor), factor_origin);
        let combination = together::combination(self.spec, instance);
        let named = combination.as_ref().map(|all| Value::text(&together::names(self.spec, all)));
        record.set("together", named.unwrap_or(Value::Unknown), Origin::None);
        if let Some(pose) = choice[at::POSE] {
            if let Some(shape) = strength::in_pose(self, instance, pose) {
                record.set("stress", stress(shape.stress_mpa), Origin::Computed { working: shape.working.into() });
                record.set("angle", Quantity::new(shape.angle, Dimension::ANGLE), Origin::Measured);
            }
            if let Some(material) = choice[at::MATERIAL] {
                let margin = strength::margin(self, instance, material, pose);
                record.set("shown", margin.is_ok(), Origin::None);
                if let Ok(m) = margin {
                    record.set(
                        "capacity",
                        stress(m.capacity_mpa),
                        Origin::Computed { working: m.working.as_str().into() },
                    );
                    record.set("margin", Quantity::number(m.margin), Origin::Computed { working: m.working.into() });
                }
                if let Some((margin, working)) = combination.and_then(|all| self.together(&all, material, pose)) {
                    let origin = Origin::Computed { working: working.into() };
                    record.set("together_margin", Quantity::number(margin), origin);
                }
            }
        }
        Some(record)
    }

    /// Returns the margin loads leave together, and how it was worked out.
    fn together(&self, loads: &[usize], material: usize, pose: usize) -> Option<(f64, String)> {
        let (margin, shares) = strength::together(self, loads, material, pose)?;
        Some((margin, together::shares_words(self.spec, loads, &shares)))
    }

    fn bond_record(&self, choice: &Partial) -> Option<Record> {
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
        let alone = self.poses.of(index, || Arc::new(self.pose_alone(index, facts)));
        let mut record = Record::upon(alone);
        record.set("overhang", area(seen.overhang_mm2), Origin::Measured);
        record.set("support", Quantity::new(seen.support_mm3 * 1e-9, Dimension::VOLUME), Origin::Measured);
        let from = |limit: &Limit| Origin::Computed { working: limit.origin.as_str().into() };
        let angle = Quantity::new(limits.overhang(), Dimension::ANGLE);
        record.set("overhang_limit", angle, from(&limits.overhang_deg));
        record.set("bridge_limit", mm(limits.bridge_mm.value), from(&limits.bridge_mm));
        if let Some(regions) = &seen.regions {
            super::part::add_layer_facts(regions, &mut record);
        }
        if let Some(printer) = choice[at::PRINTER] {
            record.set("fits", self.bench.fits(printer, facts), Origin::Measured);
        }
        Some(record)
    }

    fn pose_alone(&self, index: usize, facts: &PoseFacts) -> Record {
        let words = self.pose_words(index);
        let mut record = Record::new(words.clone());
        record.set("label", Value::text(&words), Origin::None);
        record.set("up", Value::text(&super::loads::direction_words(facts.pose.up)), Origin::None);
        record.set("contact", area(facts.contact_mm2), Origin::Measured);
        record.set("height", mm(facts.height_mm), Origin::Measured);
        let least = facts.footprint_mm[1].max(1e-6);
        record.set("slenderness", Quantity::number(facts.height_mm / least), Origin::Measured);
        record.set("stable", facts.stable, Origin::Measured);
        record.set("footprint_longest", mm(facts.footprint_mm[0]), Origin::Measured);
        let least = self.least_margins.get(index).copied().flatten();
        record.set("least_margin", least.map(Quantity::number), Origin::Measured);
        record
    }

    /// Returns what the chosen printer can leave without support, with the chosen nozzle and material.
    pub fn limits(&self, choice: &Partial) -> Rc<Limits> {
        let mut hangs_on = Mask::touched(Touches::of(LIMITED));
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

    /// The plan of plates of a full choice; while anything is open there is none.
    fn run_record(&self, choice: &Partial) -> Option<Record> {
        if choice.iter().any(Option::is_none) {
            return None;
        }
        let plan = self.plan(choice)?;
        let mut record = Record::new("run");
        let last = plan.start.saturating_sub(plan.per_plate.saturating_mul(plan.plates.saturating_sub(1)));
        for (name, count) in [
            ("wanted", plan.wanted),
            ("start", plan.start),
            ("per_plate", plan.per_plate),
            ("plates", plan.plates),
            ("last_plate", last),
        ] {
            record.set(name, Quantity::number(f64::from(count)), Origin::None);
        }
        if let Ok(plate) = super::run::pieces(self, choice, plan.per_plate) {
            record.set("plate_time", Quantity::from(plate.time), Origin::Computed { working: plate.basis.into() });
        }
        if let Ok(sum) = super::run::totals(self, choice, &plan) {
            let basis = "the masses of its plates, walls and infill counted".to_owned();
            record.set("mass", Quantity::from(Mass::g(sum.mass_g)), Origin::Computed { working: basis.into() });
        }
        for (name, figure) in [("gap", figures::PLATE_GAP), ("edge", figures::PLATE_EDGE)] {
            record.set(name, Quantity::from(self.knowledge.catalogue.value(figure)), Origin::None);
        }
        let to_model = (0..self.spec.fits.len()).filter(|&i| super::fits::to_model(self, i, choice)).count();
        record.set("to_model", Quantity::number(to_model as f64), Origin::None);
        Some(record)
    }

    /// Returns the plan of plates of a full choice, made once.
    pub fn plan(&self, choice: &Partial) -> Option<Rc<Plates>> {
        self.plans.of(Key::of(choice), || super::run::plates(self, choice).ok().map(Rc::new))
    }

    /// Time and cost of a piece, where all they hang on is decided.
    fn piece_record(&self, choice: &Partial) -> Option<Record> {
        let hangs_on = [at::PRINTER, at::MATERIAL, at::NOZZLE, at::POSE, at::SUPPORTS];
        if hangs_on.iter().any(|&d| choice[d].is_none()) {
            return None;
        }
        let piece = super::run::piece(self, choice).ok()?;
        let mut record = Record::new("piece");
        let basis = Origin::Computed { working: piece.basis.into() };
        record.set("time", Quantity::from(piece.time), basis.clone());
        record.set("cost", piece.cost.map(Quantity::from), basis);
        Some(record)
    }
}

/// Support policies.
pub const SUPPORTS: [&str; 2] = ["none", "where-needed"];

fn area(mm2: f64) -> Quantity {
    Quantity::new(mm2 * 1e-6, Dimension::AREA)
}

fn stress(mpa: f64) -> Quantity {
    Quantity::new(mpa * 1e6, Dimension::STRESS)
}
