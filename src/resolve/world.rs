//! The candidates for every decision, and the facts rules see about any partial choice of them.

use std::cell::{OnceCell, RefCell};
use std::rc::Rc;
use std::sync::Arc;

use crate::catalogue::{Catalogue, Material, Nozzle};
use crate::diag::Sources;
use crate::geometry::regions::limits::{Limit, Limits};
use crate::geometry::survey::Overhangs;
use crate::quantity::{Dimension, Quantity};
use crate::rulebook::names::{Decision, Root, Touches};
use crate::rulebook::value::{Origin, Record, Value};
use crate::rulebook::{Facts, Functions, Rule, Rulebook, Scope, Settled};
use crate::semantics::spec::Spec;

use super::facts::{self, Lower, mm};
use super::heat::{PartHeat, part_heat};
use super::limits;
use super::matching::Place;
use super::mixing::QuickMap;
use super::part::Part;
use super::shop::{Bench, Printer};
use super::strength;

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
    heat: Vec<Option<PartHeat>>,
    /// Least load margin of each pose over the best pose's, for a neutral material.
    least_margins: Rc<Vec<Option<f64>>>,
    /// What each rule of the rulebook reads.
    readings: Rc<Vec<Reading>>,
    records: RefCell<QuickMap<(Root, usize, Partial), Rc<Record>>>,
    settled: RefCell<QuickMap<Partial, Rc<Settled>>>,
    /// The settings a piece's time hangs on.
    for_time: RefCell<QuickMap<Partial, Rc<Record>>>,
    /// By load and pose.
    pub(super) stresses: RefCell<QuickMap<(usize, usize), Rc<strength::Stresses>>>,
}

/// Records of facts that hang on bench and catalogue alone, whatever the spec and the part.
#[derive(Debug, Default)]
pub struct BenchRecords(QuickMap<(Root, usize, Partial), Rc<Record>>);

/// Whether the facts of a root hang on nothing but bench, catalogue and choice.
fn of_the_bench(root: Root) -> bool {
    use Root::{Agent, Bond, Material, Nozzle, Printer, Shop, Supports, Surface};
    matches!(root, Material | Agent | Supports | Printer | Nozzle | Surface | Bond | Shop)
}

/// What a rule reads, worked out once: the search asks the same rules thousands of times.
struct Reading {
    /// The roots that records are made for, each with the decisions its record may hang on for this rule.
    roots: Vec<(Root, Mask)>,
    settings: bool,
    touches: Mask,
}

impl Reading {
    fn of(roots: &[Root], each: Option<Root>, touches: Mask) -> Self {
        let records = roots.iter().filter(|r| **r != Root::Settings && (!r.is_each() || Some(**r) == each));
        let masks = records.map(|&r| (r, both(mask(depends(r)), touches)));
        Self { roots: masks.collect(), settings: roots.contains(&Root::Settings), touches }
    }

    fn of_rule(rule: &Rule) -> Self {
        Self::of(&roots_of(rule), rule.each, mask(rule.touches))
    }
}

/// The roots settings may be made from; where a rule is judged for each of something there is no one to speak of.
const SETTLING: [Root; 13] = [
    Root::Service,
    Root::Part,
    Root::Mesh,
    Root::Printer,
    Root::Material,
    Root::Spool,
    Root::Nozzle,
    Root::Surface,
    Root::Agent,
    Root::Bond,
    Root::Pose,
    Root::Supports,
    Root::Shop,
];

/// The facts a rule reads of a choice, each made when it is first read.
struct Held<'h, 'a> {
    world: &'h World<'a>,
    reading: &'h Reading,
    instance: usize,
    choice: &'h Partial,
    records: [OnceCell<Option<Rc<Record>>>; Root::ALL.len()],
    settled: OnceCell<Rc<Settled>>,
}

impl Facts for Held<'_, '_> {
    fn record(&self, root: Root) -> Option<&Record> {
        if root == Root::Settings {
            let settled = || self.world.settled(&masked(self.choice, &self.reading.touches));
            return self.reading.settings.then(|| &self.settled.get_or_init(settled).record);
        }
        let (_, hangs_on) = self.reading.roots.iter().find(|(r, _)| *r == root)?;
        let instance = if root.is_each() { self.instance } else { 0 };
        let make = || self.world.kept(root, instance, masked(self.choice, hangs_on));
        self.records.get(root as usize)?.get_or_init(make).as_deref()
    }
}

/// For each decision, whether it counts.
type Mask = [bool; 7];

const EVERY: Mask = [true; 7];

impl<'a> World<'a> {
    pub fn new(knowledge: Knowledge<'a>, spec: &'a Spec, part: &'a Part, bench: Bench<'a>) -> Self {
        let readings = Rc::new(knowledge.rulebook.rules.iter().map(Reading::of_rule).collect());
        Self::with(knowledge, spec, part, bench, readings, Rc::new(strength::relative_margins(part)))
    }

    fn with(
        knowledge: Knowledge<'a>,
        spec: &'a Spec,
        part: &'a Part,
        bench: Bench<'a>,
        readings: Rc<Vec<Reading>>,
        least_margins: Rc<Vec<Option<f64>>>,
    ) -> Self {
        let heat = bench
            .materials
            .iter()
            .map(|m| part_heat(spec, knowledge.catalogue, m.colours.as_ref().map(|c| c.value.as_slice())))
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
            records: RefCell::default(),
            settled: RefCell::default(),
            for_time: RefCell::default(),
            stresses: RefCell::default(),
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
        let world = World::with(other.knowledge, spec, part, bench, Rc::clone(&other.readings), margins);
        let lasting = |root: Root| match root {
            Root::Material | Root::Agent | Root::Mesh | Root::Supports => true,
            root => same_bench && of_the_bench(root),
        };
        let kept: Vec<_> =
            other.records.borrow().iter().filter(|(k, _)| lasting(k.0)).map(|(k, v)| (*k, Rc::clone(v))).collect();
        // Candidates are added behind those there are, so an index means the same thing in both.
        world.records.borrow_mut().extend(kept);
        world
    }

    /// Takes over records that another job's world gave back.
    ///
    /// They must be of the same bench and the same catalogue: a record is known by the index of what it is about.
    pub fn take_over(&self, records: BenchRecords) {
        self.records.borrow_mut().extend(records.0);
    }

    /// Gives away the records that hang on bench and catalogue alone; the world would make them again if asked.
    pub fn give_back(&self) -> BenchRecords {
        let mut records = self.records.take();
        records.retain(|(root, _, _), _| of_the_bench(*root));
        BenchRecords(records)
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
        self.heat.get(material).and_then(Option::as_ref)
    }

    pub fn material(&self, choice: &Partial) -> Option<&'a Material> {
        self.bench.materials.get(choice[at::MATERIAL]?).copied()
    }

    fn printer(&self, choice: &Partial) -> Option<&Printer> {
        self.bench.printers.get(choice[at::PRINTER]?)
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
        match self.readings.get(rule) {
            Some(reading) => self.with_reading(reading, instance, choice, ask),
            None => ask(&Scope::new()),
        }
    }

    /// Hands a scope of all facts known about a partial choice to `ask`.
    pub fn with_everything<R>(
        &self,
        each: Option<Root>,
        instance: usize,
        choice: &Partial,
        ask: impl FnOnce(&Scope<'_>) -> R,
    ) -> R {
        self.with_reading(&Reading::of(&Root::ALL, each, EVERY), instance, choice, ask)
    }

    fn with_reading<R>(
        &self,
        reading: &Reading,
        instance: usize,
        choice: &Partial,
        ask: impl FnOnce(&Scope<'_>) -> R,
    ) -> R {
        let records = [const { OnceCell::new() }; Root::ALL.len()];
        ask(&Scope::of(&Held { world: self, reading, instance, choice, records, settled: OnceCell::new() }))
    }

    /// Returns the settings for a partial choice, with the rule behind each.
    pub fn settled(&self, choice: &Partial) -> Rc<Settled> {
        if let Some(found) = self.settled.borrow().get(choice) {
            return Rc::clone(found);
        }
        // The plan of plates counts the brim, which is a setting.
        let open = |r: &Root| matches!(r, Root::Settings | Root::Run) || r.is_each();
        let roots: Vec<Root> = Root::ALL.into_iter().filter(|r| !open(r)).collect();
        // `pose.time` and `pose.cost` rest on settings; while settings are being made they are open.
        let held: Vec<(Root, Rc<Record>)> =
            roots.iter().filter_map(|&r| self.timeless_record(r, choice).map(|rec| (r, rec))).collect();
        let mut scope = Scope::new();
        for (root, record) in &held {
            scope.set(*root, record);
        }
        let settled = Rc::new(self.knowledge.rulebook.settle(&scope, self.knowledge.functions, &self.pinned));
        self.settled.borrow_mut().insert(*choice, Rc::clone(&settled));
        settled
    }

    /// Returns the settings that time and mass hang on; where the part lies and on what does not change them.
    pub fn settings_for_time(&self, choice: &Partial) -> Rc<Record> {
        let mut narrow: Partial = [None; 7];
        for d in [at::PRINTER, at::MATERIAL, at::NOZZLE] {
            narrow[d] = choice[d];
        }
        if let Some(found) = self.for_time.borrow().get(&narrow) {
            return Rc::clone(found);
        }
        let reading = Reading::of(&SETTLING, None, EVERY);
        let rulebook = self.knowledge.rulebook;
        let values = self.with_reading(&reading, 0, &narrow, |scope| {
            rulebook.values(super::run::SETTINGS, scope, self.knowledge.functions, &self.pinned)
        });
        let values = Rc::new(values);
        self.for_time.borrow_mut().insert(narrow, Rc::clone(&values));
        values
    }

    /// Returns the facts of a root for a partial choice, computed once.
    pub fn record(&self, root: Root, instance: usize, choice: &Partial) -> Option<Rc<Record>> {
        self.kept(root, instance, masked(choice, &mask(depends(root))))
    }

    /// Returns the facts of a root for a choice that is open wherever they do not hang on it.
    fn kept(&self, root: Root, instance: usize, choice: Partial) -> Option<Rc<Record>> {
        let key = (root, instance, choice);
        if let Some(found) = self.records.borrow().get(&key) {
            return Some(Rc::clone(found));
        }
        let record = match root {
            Root::Pose => self.with_time_and_cost(&choice)?,
            Root::Part => self.with_deflection(&choice)?,
            _ => Rc::new(self.build(root, instance, &choice)?),
        };
        self.records.borrow_mut().insert(key, Rc::clone(&record));
        Some(record)
    }

    fn timeless_record(&self, root: Root, choice: &Partial) -> Option<Rc<Record>> {
        if root == Root::Pose {
            return self.kept(root, 0, masked(choice, &TIMELESS));
        }
        self.record(root, 0, choice)
    }

    fn lower(&self) -> Lower<'a> {
        Lower { sources: self.knowledge.sources }
    }

    fn build(&self, root: Root, instance: usize, choice: &Partial) -> Option<Record> {
        let lower = self.lower();
        match root {
            Root::Service => Some(self.service(choice)),
            Root::Part => Some(lower.part(self.spec, self.part)),
            Root::Mesh => Some(lower.mesh(self.part)),
            Root::Contact => {
                let contact = self.spec.service.contacts.get(instance)?;
                let rating = self.material(choice).map(|m| {
                    let at = super::heat::contact_temperature(self.spec, contact);
                    self.knowledge.catalogue.chemical_rating(&m.name, &contact.chemical.value, at)
                });
                Some(lower.contact(contact, self.knowledge.catalogue, rating))
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
                Some(lower.face(face, instance, self.part, pose, scars))
            }
            Root::Printer => self.bench.printer_record(&lower, choice[at::PRINTER]?, self.knowledge),
            Root::Material => self.material(choice).map(|m| lower.material(m)),
            Root::Spool => self.bench.spool_record(&lower, choice[at::MATERIAL]?, self.spec, self.part),
            Root::Nozzle => {
                let index = choice[at::NOZZLE]?;
                // A printer whose state nobody recorded may hold any nozzle.
                let fitted = self.printer(choice).and_then(|p| Some(p.fitted? == index));
                let mut record = lower.nozzle(self.bench.nozzles.get(index)?, fitted);
                self.bench.add_torque(choice[at::PRINTER], &mut record);
                Some(record)
            }
            Root::Surface => {
                let index = choice[at::SURFACE]?;
                let surface = self.bench.surfaces.get(index)?;
                let mounted = self.printer(choice).and_then(|p| Some(p.mounted? == index));
                Some(lower.surface(surface.kind, &surface.name, mounted, surface.at))
            }
            Root::Agent => {
                let agent = self.bench.agents.get(choice[at::AGENT]?)?;
                Some(lower.agent(agent.kind.map(|k| (k, agent.name.as_str()))))
            }
            Root::Bond => self.bond_record(&lower, choice),
            Root::Pose => self.pose_record(choice),
            Root::Supports => {
                let kind = SUPPORTS.get(choice[at::SUPPORTS]?)?;
                let mut record = Record::new(*kind);
                record.set("kind", Value::word(kind), Origin::None);
                Some(record)
            }
            Root::Settings => None,
            Root::Shop => Some(self.bench.shop_record(&lower, choice, self.knowledge)),
            Root::Run => self.run_record(choice),
        }
    }

    fn service(&self, choice: &Partial) -> Record {
        let lower = self.lower();
        let s = &self.spec.service;
        let mut record = Record::new("service");
        if let Some(air) = s.air {
            let at = lower.spec_origin(air.span, "service.air");
            record.set("air_low", Quantity::from(air.value.0), at.clone());
            record.set("air_high", Quantity::from(air.value.1), at);
        }
        if let Some(peak) = s.peak {
            record.set("peak", Quantity::from(peak.value), lower.spec_origin(peak.span, "service.peak"));
        }
        if let Some(place) = s.place {
            let word = Value::word(facts::place_word(place.value));
            record.set("place", word, lower.spec_origin(place.span, "service.place"));
        }
        if let Some(sun) = s.sun {
            let at = lower.spec_origin(sun.span, "service.sun");
            record.set("sun", Value::word(facts::sun_word(sun.value.exposure)), at.clone());
            record.set("sun_duration", sun.value.duration.map(Quantity::from), at);
        }
        if let Some(wet) = s.wet {
            let at = lower.spec_origin(wet.span, "service.wet");
            record.set("wet", Value::word(facts::wet_word(wet.value)), at);
        }
        if let Some(colour) = &s.colour {
            record.set("colour", Value::text(&colour.value), lower.spec_origin(colour.span, "service.colour"));
        }
        record.set("has_contacts", !s.contacts.is_empty(), Origin::None);
        if let Some(heat) = choice[at::MATERIAL].and_then(|m| self.heat(m)) {
            let worked = Origin::Computed { working: heat.working.clone() };
            record.set("part_temperature", Quantity::from(heat.temperature), worked.clone());
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
        let plain = self.kept(Root::Part, 0, [None; 7])?;
        let (Some(m), Some(pose)) = (choice[at::MATERIAL], choice[at::POSE]) else { return Some(plain) };
        let Some((deflection, working)) = strength::deflection(self, m, pose) else { return Some(plain) };
        let mut record = Record::clone(&plain);
        record.set("deflection", mm(deflection), Origin::Computed { working });
        Some(Rc::new(record))
    }

    fn load_record(&self, instance: usize, choice: &Partial) -> Option<Record> {
        let load = self.spec.loads.get(instance)?;
        let lower = self.lower();
        let id = format!("load \"{}\"", load.name.value);
        let at = lower.spec_origin(load.span, &id);
        let mut record = Record::new(id);
        record.set("name", Value::text(&load.name.value), at.clone());
        record.set("force", load.force.map(|f| Quantity::from(f.value)), at.clone());
        record.set("torque", load.torque.map(|t| Quantity::from(t.value)), at.clone());
        record.set("course", Value::word(facts::course_word(load.course.value)), at.clone());
        record.set("held", load.held.map(|h| Quantity::from(h.value)), at.clone());
        record.set("cycles", load.cycles.map(|c| Quantity::number(c.value)), at.clone());
        let (factor, factor_origin) = match load.factor {
            Some(f) => (f.value, at),
            None => strength::default_factor(self.spec),
        };
        record.set("factor", Quantity::number(factor), factor_origin);
        if let Some(pose) = choice[at::POSE] {
            if let Some(shape) = strength::in_pose(self, instance, pose) {
                record.set("stress", stress(shape.stress_mpa), Origin::Computed { working: shape.working });
                record.set("angle", Quantity::new(shape.angle, Dimension::ANGLE), Origin::Measured);
            }
            if let Some(material) = choice[at::MATERIAL] {
                let margin = strength::margin(self, instance, material, pose);
                record.set("shown", margin.is_ok(), Origin::None);
                if let Ok(m) = margin {
                    record.set("capacity", stress(m.capacity_mpa), Origin::Computed { working: m.working.clone() });
                    record.set("margin", Quantity::number(m.margin), Origin::Computed { working: m.working });
                }
            }
        }
        Some(record)
    }

    fn bond_record(&self, lower: &Lower<'_>, choice: &Partial) -> Option<Record> {
        let material = self.material(choice)?;
        let surface = self.bench.surfaces.get(choice[at::SURFACE]?)?;
        let agent = self.bench.agents.get(choice[at::AGENT]?)?;
        let agent_kind = agent.kind.map_or("none", |k| k.name.as_str());
        let spool_of = material.spool_of.as_ref().map_or(material.name.as_str(), |s| s.value.as_str());
        let bond = self
            .knowledge
            .catalogue
            .bond(&material.name, &surface.kind.name, agent_kind)
            .or_else(|| self.knowledge.catalogue.bond(spool_of, &surface.kind.name, agent_kind));
        let with = if agent_kind == "none" { String::new() } else { format!(" with {}", agent.name) };
        Some(lower.bond(bond, format!("{} on {}{with}", material.name, surface.name)))
    }

    fn pose_record(&self, choice: &Partial) -> Option<Record> {
        let index = choice[at::POSE]?;
        let facts = self.part.poses.get(index)?;
        let words = self.pose_words(index);
        let (limits, seen) = (self.limits(choice), self.overhangs(choice)?);
        let mut record = Record::new(words.clone());
        record.set("label", Value::text(&words), Origin::None);
        record.set("up", Value::text(&super::loads::direction_words(facts.pose.up)), Origin::None);
        let area = |mm2: f64| Quantity::new(mm2 * 1e-6, Dimension::AREA);
        record.set("overhang", area(seen.overhang_mm2), Origin::Measured);
        record.set("contact", area(facts.contact_mm2), Origin::Measured);
        record.set("height", mm(facts.height_mm), Origin::Measured);
        record.set("support", Quantity::new(seen.support_mm3 * 1e-9, Dimension::VOLUME), Origin::Measured);
        let least = facts.footprint_mm[1].max(1e-6);
        record.set("slenderness", Quantity::number(facts.height_mm / least), Origin::Measured);
        record.set("stable", facts.stable, Origin::Measured);
        record.set("footprint_longest", mm(facts.footprint_mm[0]), Origin::Measured);
        let least = self.least_margins.get(index).copied().flatten();
        record.set("least_margin", least.map(Quantity::number), Origin::Measured);
        let from = |limit: &Limit| Origin::Computed { working: limit.origin.clone() };
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

    /// Returns what the chosen printer can leave without support, with the chosen nozzle and material.
    pub fn limits(&self, choice: &Partial) -> Limits {
        limits::limits(&self.bench, choice[at::PRINTER], choice[at::NOZZLE], choice[at::MATERIAL])
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
        let plan = super::run::plates(self, choice).ok()?;
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
            record.set("plate_time", Quantity::from(plate.time), Origin::Computed { working: plate.basis.to_owned() });
        }
        record.set("gap", mm(super::run::GAP_MM), Origin::None);
        record.set("edge", mm(super::run::MARGIN_MM), Origin::None);
        let to_model = (0..self.spec.fits.len()).filter(|&i| super::fits::to_model(self, i, choice)).count();
        record.set("to_model", Quantity::number(to_model as f64), Origin::None);
        Some(record)
    }

    /// Adds time and cost to the facts of a pose where all they hang on is decided.
    fn with_time_and_cost(&self, choice: &Partial) -> Option<Rc<Record>> {
        let timeless = masked(choice, &TIMELESS);
        if timeless == *choice {
            return self.build(Root::Pose, 0, choice).map(Rc::new);
        }
        let plain = self.kept(Root::Pose, 0, timeless)?;
        let wanted = [at::PRINTER, at::MATERIAL, at::NOZZLE, at::POSE, at::SUPPORTS];
        if wanted.iter().any(|&d| choice[d].is_none()) {
            return Some(plain);
        }
        let Ok(piece) = super::run::piece(self, choice) else { return Some(plain) };
        let mut record = Record::clone(&plain);
        let basis = Origin::Computed { working: piece.basis.to_owned() };
        record.set("time", Quantity::from(piece.time), basis.clone());
        record.set("cost", piece.cost.map(Quantity::from), basis);
        Some(Rc::new(record))
    }
}

/// What the facts of a pose but time and cost hang on.
const TIMELESS: Mask = {
    let mut mask = [false; 7];
    mask[at::PRINTER] = true;
    mask[at::MATERIAL] = true;
    mask[at::NOZZLE] = true;
    mask[at::POSE] = true;
    mask
};

/// Support policies.
pub const SUPPORTS: [&str; 2] = ["none", "where-needed"];

fn stress(mpa: f64) -> Quantity {
    Quantity::new(mpa * 1e6, Dimension::STRESS)
}

/// Returns the decisions any field of a root may hang on.
fn depends(root: Root) -> Touches {
    use Decision::{Agent, Material, Nozzle, Pose, Printer, Supports, Surface};
    match root {
        Root::Service | Root::Contact | Root::Material | Root::Spool => Touches::of(&[Material]),
        Root::Part | Root::Load => Touches::of(&[Material, Pose]),
        Root::Fit => Touches::of(&[Printer, Material, Nozzle, Pose]),
        Root::Face => Touches::of(&[Pose, Supports]),
        Root::Printer => Touches::of(&[Printer]),
        Root::Nozzle => Touches::of(&[Nozzle, Printer]),
        Root::Surface => Touches::of(&[Surface, Printer]),
        Root::Agent => Touches::of(&[Agent]),
        Root::Bond => Touches::of(&[Material, Surface, Agent]),
        Root::Pose => Touches::of(&[Printer, Material, Nozzle, Pose, Supports]),
        Root::Supports => Touches::of(&[Supports]),
        Root::Shop => Touches::of(&[Printer, Material]),
        Root::Run => Touches::of(&Decision::ALL),
        Root::Mesh | Root::Settings => Touches::NONE,
    }
}

/// Returns the choice with every decision outside `mask` open.
fn masked(choice: &Partial, mask: &Mask) -> Partial {
    let mut result: Partial = [None; 7];
    for ((slot, value), counts) in result.iter_mut().zip(choice).zip(mask) {
        if *counts {
            *slot = *value;
        }
    }
    result
}

/// Returns which decisions are touched; a spool is chosen with its material.
fn mask(touches: Touches) -> Mask {
    DECISIONS.map(|decision| {
        touches.contains(decision) || (decision == Decision::Material && touches.contains(Decision::Spool))
    })
}

fn both(a: Mask, b: Mask) -> Mask {
    std::array::from_fn(|i| a[i] && b[i])
}

/// Returns the roots a rule reads.
fn roots_of(rule: &Rule) -> Vec<Root> {
    let mut roots: Vec<Root> =
        rule.names.iter().filter_map(|n| Root::parse(n.split('.').next().unwrap_or(n))).collect();
    roots.extend(rule.each);
    roots.sort_unstable();
    roots.dedup();
    roots
}
