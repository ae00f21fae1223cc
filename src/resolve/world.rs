//! The candidates for every decision, and the facts rules see about any partial choice of them.

use std::cell::RefCell;
use std::collections::HashMap;
use std::rc::Rc;

use crate::catalogue::{Catalogue, Material, Nozzle};
use crate::diag::Sources;
use crate::quantity::{Dimension, Quantity};
use crate::rulebook::names::{Decision, Root, Touches};
use crate::rulebook::value::{Origin, Record, Value};
use crate::rulebook::{Functions, Rule, Rulebook, Scope, Settled};
use crate::semantics::spec::Spec;

use super::facts::{self, Lower, mm};
use super::heat::{PartHeat, part_heat};
use super::matching::Place;
use super::part::Part;
use super::shop::Bench;
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
    least_margins: Vec<Option<f64>>,
    records: RefCell<HashMap<(Root, usize, Partial), Rc<Record>>>,
    settled: RefCell<HashMap<Partial, Rc<Settled>>>,
}

impl<'a> World<'a> {
    pub fn new(knowledge: Knowledge<'a>, spec: &'a Spec, part: &'a Part, bench: Bench<'a>) -> Self {
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
            least_margins: strength::relative_margins(part),
            records: RefCell::default(),
            settled: RefCell::default(),
        }
    }

    /// Makes the world of another spec or bench on the same part (as [`Part::asked_as`] gives it for the other spec); what
    /// does not hang on the spec is not worked out again.
    pub fn beside<'b>(other: &World<'b>, spec: &'b Spec, part: &'b Part, bench: Bench<'b>) -> World<'b>
    where
        'a: 'b,
    {
        let world = World::new(other.knowledge, spec, part, bench);
        let lasting = |root: Root| matches!(root, Root::Material | Root::Agent | Root::Mesh);
        let kept: Vec<_> =
            other.records.borrow().iter().filter(|(k, _)| lasting(k.0)).map(|(k, v)| (*k, Rc::clone(v))).collect();
        // Candidates are added behind those there are, so an index means the same thing in both.
        world.records.borrow_mut().extend(kept);
        world
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
        format!("{} down", super::loads::direction_words(down))
    }

    pub fn heat(&self, material: usize) -> Option<&PartHeat> {
        self.heat.get(material).and_then(Option::as_ref)
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

    /// Hands the rule's scope for a partial choice to `ask`. Decisions the rule does not touch are left out of it.
    pub fn with_scope<R>(
        &self,
        rule: &Rule,
        instance: usize,
        choice: &Partial,
        ask: impl FnOnce(&Scope<'_>) -> R,
    ) -> R {
        let choice = masked(choice, rule.touches);
        let roots = roots_of(rule);
        self.with_roots(&roots, rule.each, instance, &choice, ask)
    }

    /// Hands a scope of all facts known about a partial choice to `ask`.
    pub fn with_everything<R>(
        &self,
        each: Option<Root>,
        instance: usize,
        choice: &Partial,
        ask: impl FnOnce(&Scope<'_>) -> R,
    ) -> R {
        self.with_roots(&Root::ALL, each, instance, choice, ask)
    }

    fn with_roots<R>(
        &self,
        roots: &[Root],
        each: Option<Root>,
        instance: usize,
        choice: &Partial,
        ask: impl FnOnce(&Scope<'_>) -> R,
    ) -> R {
        let held: Vec<(Root, Rc<Record>)> = roots
            .iter()
            .filter(|r| !r.is_each() || Some(**r) == each)
            .filter(|r| **r != Root::Settings)
            .filter_map(|&r| self.record(r, if r.is_each() { instance } else { 0 }, choice).map(|rec| (r, rec)))
            .collect();
        let settled = roots.contains(&Root::Settings).then(|| self.settled(choice));
        let mut scope = Scope::new();
        for (root, record) in &held {
            scope.set(*root, record);
        }
        if let Some(settled) = &settled {
            scope.set_settings(&settled.record);
        }
        ask(&scope)
    }

    /// Returns the settings for a partial choice, with the rule behind each.
    pub fn settled(&self, choice: &Partial) -> Rc<Settled> {
        if let Some(found) = self.settled.borrow().get(choice) {
            return Rc::clone(found);
        }
        let roots: Vec<Root> = Root::ALL.into_iter().filter(|r| *r != Root::Settings && !r.is_each()).collect();
        // `pose.time` and `pose.cost` rest on settings; while settings are being made they are open.
        let held: Vec<(Root, Rc<Record>)> =
            roots.iter().filter_map(|&r| self.plain_record(r, choice).map(|rec| (r, rec))).collect();
        let mut scope = Scope::new();
        for (root, record) in &held {
            scope.set(*root, record);
        }
        let settled = Rc::new(self.knowledge.rulebook.settle(&scope, self.knowledge.functions, &self.pinned));
        self.settled.borrow_mut().insert(*choice, Rc::clone(&settled));
        settled
    }

    /// Returns the settings that time and mass hang on; where the part lies and on what does not change them.
    pub fn settled_for_time(&self, choice: &Partial) -> Rc<Settled> {
        let mut narrow: Partial = [None; 7];
        for d in [at::PRINTER, at::MATERIAL, at::NOZZLE] {
            narrow[d] = choice[d];
        }
        self.settled(&narrow)
    }

    /// Returns the facts of a root for a partial choice, computed once.
    pub fn record(&self, root: Root, instance: usize, choice: &Partial) -> Option<Rc<Record>> {
        let key = (root, instance, masked(choice, depends(root)));
        if let Some(found) = self.records.borrow().get(&key) {
            return Some(Rc::clone(found));
        }
        let mut record = self.build(root, instance, &key.2)?;
        if root == Root::Pose {
            self.add_time_and_cost(&key.2, &mut record);
        }
        let record = Rc::new(record);
        self.records.borrow_mut().insert(key, Rc::clone(&record));
        Some(record)
    }

    fn plain_record(&self, root: Root, choice: &Partial) -> Option<Rc<Record>> {
        if root == Root::Pose { self.build(root, 0, choice).map(Rc::new) } else { self.record(root, 0, choice) }
    }

    fn lower(&self) -> Lower<'a> {
        Lower { sources: self.knowledge.sources }
    }

    fn build(&self, root: Root, instance: usize, choice: &Partial) -> Option<Record> {
        let lower = self.lower();
        match root {
            Root::Service => Some(self.service(choice)),
            Root::Part => Some(self.part_record(choice)),
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
                let supported = choice[at::SUPPORTS].map(|s| s != 0);
                Some(lower.face(face, instance, self.part, choice[at::POSE], supported))
            }
            Root::Printer => self.bench.printer_record(&lower, choice[at::PRINTER]?, self.knowledge),
            Root::Material => self.material(choice).map(|m| lower.material(m)),
            Root::Spool => self.bench.spool_record(&lower, choice[at::MATERIAL]?, self.spec, self.part),
            Root::Nozzle => {
                let index = choice[at::NOZZLE]?;
                let fitted = choice[at::PRINTER].map(|p| self.bench.is_fitted(p, index));
                let mut record = lower.nozzle(self.bench.nozzles.get(index)?, fitted);
                self.bench.add_torque(choice[at::PRINTER], &mut record);
                Some(record)
            }
            Root::Surface => {
                let index = choice[at::SURFACE]?;
                let surface = self.bench.surfaces.get(index)?;
                let mounted = choice[at::PRINTER].map(|p| self.bench.is_mounted(p, index));
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

    fn part_record(&self, choice: &Partial) -> Record {
        let mut record = self.lower().part(self.spec, self.part);
        if let (Some(m), Some(pose)) = (choice[at::MATERIAL], choice[at::POSE])
            && let Some((deflection, working)) = strength::deflection(self, m, pose)
        {
            record.set("deflection", mm(deflection), Origin::Computed { working });
        }
        record
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
        let mut record = Record::new(words.clone());
        record.set("label", Value::text(&words), Origin::None);
        record.set("up", Value::text(&super::loads::direction_words(facts.pose.up)), Origin::None);
        let area = |mm2: f64| Quantity::new(mm2 * 1e-6, Dimension::AREA);
        record.set("overhang", area(facts.overhang_mm2), Origin::Measured);
        record.set("contact", area(facts.contact_mm2), Origin::Measured);
        record.set("height", mm(facts.height_mm), Origin::Measured);
        record.set("support", Quantity::new(facts.support_mm3 * 1e-9, Dimension::VOLUME), Origin::Measured);
        let least = facts.footprint_mm[1].max(1e-6);
        record.set("slenderness", Quantity::number(facts.height_mm / least), Origin::Measured);
        record.set("stable", facts.stable, Origin::Measured);
        record.set("footprint_longest", mm(facts.footprint_mm[0]), Origin::Measured);
        let least = self.least_margins.get(index).copied().flatten();
        record.set("least_margin", least.map(Quantity::number), Origin::Measured);
        self.part.add_layer_facts(index, &mut record);
        if let Some(printer) = choice[at::PRINTER] {
            record.set("fits", self.bench.fits(printer, facts), Origin::Measured);
        }
        Some(record)
    }

    fn add_time_and_cost(&self, choice: &Partial, record: &mut Record) {
        let wanted = [at::PRINTER, at::MATERIAL, at::NOZZLE, at::POSE, at::SUPPORTS];
        if wanted.iter().any(|&d| choice[d].is_none()) {
            return;
        }
        if let Ok(piece) = super::run::piece(self, choice) {
            let basis = Origin::Computed { working: piece.basis.to_owned() };
            record.set("time", Quantity::from(piece.time), basis.clone());
            record.set("cost", piece.cost.map(Quantity::from), basis);
        }
    }
}

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
        Root::Mesh | Root::Settings => Touches::NONE,
    }
}

/// Returns the choice with every decision outside `touches` open.
fn masked(choice: &Partial, touches: Touches) -> Partial {
    let mut result = *choice;
    for (slot, decision) in result.iter_mut().zip(DECISIONS) {
        let touched =
            touches.contains(decision) || (decision == Decision::Material && touches.contains(Decision::Spool));
        if !touched {
            *slot = None;
        }
    }
    result
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
