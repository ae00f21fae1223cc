//! The facts of each root, made for a partial choice, each once.

use std::fmt::Display;
use std::sync::Arc;

use super::{Partial, SUPPORTS, World, at};
use crate::catalogue::figures;
use crate::geometry::regions::limits::{Limit, Limits};
use crate::geometry::regions::{Kind, Region, Regions, Verdict};
use crate::geometry::survey::{Overhangs, PoseFacts};
use crate::geometry::vector::dot;
use crate::quantity::{Angle, Area, Length, Stress, Volume};
use crate::resolve::elastic::NotKnown;
use crate::resolve::margin::said::Combination;
use crate::resolve::matching::Place;
use crate::resolve::mixing::lock;
use crate::resolve::reading::{Key, Mask, depends};
use crate::resolve::{facts, fits, limits, loads, names, part, shop, strength, together};
use crate::rulebook::facts::Known;
use crate::rulebook::facts::{self as rules, LIMITED, RootFacts};
use crate::rulebook::names::Root;
use crate::rulebook::value::{Origin, Record, Text};
use crate::semantics::spec::{Contact, ContactKind, Hold, Load, Stated, Wet, Where};

impl World<'_> {
    /// Returns the facts of a root for a partial choice, computed once.
    pub fn record(&self, root: Root, instance: usize, choice: &Partial) -> Option<Arc<Record>> {
        let hangs_on = match root {
            Root::Margin => self.margin_hangs_on(instance),
            root => Mask::touched(depends(root)),
        };
        self.cached(root, instance, Key::of(choice).masked(hangs_on))
    }

    /// Returns the facts of a root for a choice that is open wherever they do not hang on it.
    pub(super) fn cached(&self, root: Root, instance: usize, choice: Key) -> Option<Arc<Record>> {
        // Rules that touch the same decisions are asked one after the other: mostly the last record is wanted again.
        let latest = self.memory.latest.get(root as usize);
        if let Some((of, known, record)) = latest.map(|l| lock(l)).as_deref().and_then(Option::as_ref)
            && (*of, *known) == (instance, choice)
        {
            return Some(Arc::clone(record));
        }
        let record = self.made(root, instance, choice)?;
        if let Some(latest) = latest {
            *lock(latest) = Some((instance, choice, Arc::clone(&record)));
        }
        Some(record)
    }

    fn made(&self, root: Root, instance: usize, choice: Key) -> Option<Arc<Record>> {
        let key = (root, instance, choice);
        if let Some(found) = self.memory.records.known(&key) {
            return Some(found);
        }
        let (decided, choice) = (choice, choice.choice());
        let record = match root {
            Root::Margin => Arc::new(self.margin_record(instance, decided)?),
            Root::Part => self.with_deflection(&choice)?,
            _ => Arc::new(self.build(root, instance, &choice)?),
        };
        self.memory.records.keep(key, Arc::clone(&record));
        Some(record)
    }

    fn build(&self, root: Root, instance: usize, choice: &Partial) -> Option<Record> {
        match root {
            Root::Service => Some(self.service(choice).record()),
            Root::Part => Some(self.stated().clone().record()),
            Root::Mesh => Some(facts::mesh(self.part).record()),
            Root::Hint => Some(self.hints.get(instance)?.facts().record()),
            Root::Contact => {
                let contact = self.spec.touching().nth(instance)?;
                let rating = self.material(choice).map(|m| {
                    let at = self.contact_temperature(contact, choice[at::MATERIAL])?;
                    self.knowledge.catalogue.chemical_rating(&m.name, &contact.chemical.value, at)
                });
                Some(facts::contact(contact, self.knowledge.catalogue, rating).record())
            }
            Root::Load => self.load_facts(instance, choice).map(RootFacts::record),
            Root::Fit => fits::facts(self, instance, choice).map(RootFacts::record),
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
            Root::Printer => {
                let mut facts = self.bench.printer_facts(choice[at::PRINTER]?, self.knowledge)?;
                let found = self.bench.flow_recorded(choice[at::PRINTER], choice[at::NOZZLE], choice[at::MATERIAL]);
                facts.flow_recorded = Origin::Measured.of(found.map(|f| f.value));
                Some(facts.record())
            }
            Root::Material => self.material(choice).map(|m| facts::material(m, self.knowledge.catalogue).record()),
            Root::Spool => {
                let job = shop::Job { spec: self.spec, part: self.part, knowledge: self.knowledge };
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
            Root::BuildUp => self.build_up_facts(choice[at::BUILD_UP]?).map(RootFacts::record),
            Root::Settings | Root::Margin => None,
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
        // Worked out, with words, for every material: only where something presses.
        let pressed = choice[at::MATERIAL].filter(|_| self.spec.pressure.is_some());
        let lasting = pressed.and_then(|m| strength::lasting_across(self, m));
        let heat = choice[at::MATERIAL].and_then(|m| self.heat(m));
        let worked = heat.map_or(Origin::None, |heat| heat.origin.clone());
        rules::Service {
            title: "service".to_owned(),
            air_low: air.of(s.air.map(|a| a.value.0)),
            air_high: air.of(s.air.map(|a| a.value.1)),
            peak: s.peak.and_then(|p| facts::stated(p.span).of(p.value)),
            usual: s.usual.and_then(|p| facts::stated(p.span).of(p.value)),
            part_temperature: worked.of(heat.map(|h| h.temperature)),
            lasting_strength: lasting.and_then(|(left, words)| computed(words).of(left)),
            part_temperature_high: none.of(heat.map(|h| h.high)),
            part_temperature_low: none.of(heat.and_then(|h| h.low)),
            place: s.place.and_then(|p| facts::stated(p.span).of(p.value)),
            sun: sun.of(s.sun.map(|s| s.value.exposure)),
            sun_duration: sun.of(s.sun.and_then(|s| s.value.duration)),
            back: s.back.and_then(|b| facts::stated(b.span).of(b.value)),
            wet: self.wet(),
            colour: s.colour.as_ref().and_then(|c| facts::stated(c.span).of(Text::shared(&c.value))),
            absorptance: worked.of(heat.map(|h| h.absorptance)),
            has_contacts: none.of(self.spec.touching().next().is_some()),
        }
    }

    /// Returns how wet the part gets; what lies in water is immersed, whichever line says so.
    fn wet(&self) -> Option<Known<Wet>> {
        let stated = self.spec.service.wet;
        let watery = |c: &&Contact| {
            c.kind == ContactKind::Immersed && names::acts_as_water(&c.chemical.value, self.knowledge.catalogue)
        };
        let lies = self.spec.touching().find(watery).filter(|_| stated.is_none_or(|w| w.value < Wet::Immersed));
        let lies = lies.and_then(|c| facts::stated(c.span).of(Wet::Immersed));
        lies.or_else(|| stated.and_then(|w| facts::stated(w.span).of(w.value)))
    }

    /// Adds the deflection to the facts of the part, if it is known; else they are the same for every choice.
    fn with_deflection(&self, choice: &Partial) -> Option<Arc<Record>> {
        if choice.iter().all(Option::is_none) {
            return self.build(Root::Part, 0, choice).map(Arc::new);
        }
        let plain = self.cached(Root::Part, 0, Key::of(&[None; super::COUNT]))?;
        let (Some(m), Some(_)) = (choice[at::MATERIAL], choice[at::POSE]) else { return Some(plain) };
        let Some(moves) = strength::deflection(self, m) else { return Some(plain) };
        let limit_mm = self.stated().deflection_limit.as_ref().map_or(0.0, |limit| limit.value.to_mm());
        // Where it hangs on the grid which side of the limit it is, it is not known.
        if moves.least_mm < moves.mm && (moves.least_mm..moves.mm).contains(&limit_mm) {
            return Some(plain);
        }
        let mut record = Record::clone(&plain);
        let deflection = computed(moves.working).of(Length::mm(moves.mm));
        rules::Part { deflection, ..rules::Part::default() }.add_to(&mut record);
        Some(Arc::new(record))
    }

    fn load_facts(&self, instance: usize, choice: &Partial) -> Option<rules::Load> {
        let load = self.spec.loads.get(instance)?;
        let (none, at) = (Origin::None, facts::stated(load.span));
        let (factor, factor_origin) = match load.factor {
            Some(f) => (f.value, at.clone()),
            None => strength::usual_factor(self.spec, self.knowledge.catalogue),
        };
        let combination = together::combination(self.spec, instance);
        let pose = choice[at::POSE];
        let shape = pose.and_then(|pose| strength::in_pose(self, instance, pose));
        let chosen = pose.zip(choice[at::MATERIAL]);
        let margin = chosen.map(|(pose, material)| self.load_margin(instance, material, pose));
        let shown = margin.as_ref().map(Result::is_ok);
        let unshown_because = margin.as_ref().and_then(|m| m.as_ref().err()).map(|why| Text::shared(&why.to_string()));
        let margin = margin.and_then(Result::ok);
        let worked = margin.as_ref().map_or(Origin::None, |m| computed(m.working));
        let together = chosen
            .zip(combination.as_ref())
            .and_then(|((pose, material), all)| self.together(all, material, pose))
            .and_then(|(margin, working)| computed(working).of(margin));
        Some(rules::Load {
            title: format!("load \"{}\"", load.name.value),
            name: at.of(Text::shared(&load.name.value)),
            force: at.of(load.force.map(|f| f.value)),
            torque: at.of(load.torque.map(|t| t.value)),
            course: at.of(load.course.value),
            held: at.of(load.held.map(|h| h.value)),
            hold_stated: at.of(!load.holds.is_empty()),
            heads: at.of(self.heads(load)),
            place_stated: at.of(load.at.is_some()),
            cycles: at.of(load.cycles.map(|c| c.value)),
            springs: at.of(super::super::hints::springs(self.spec, load, self.knowledge.catalogue)),
            factor: factor_origin.of(factor),
            angle: Origin::Measured.of(shape.as_ref().filter(|s| s.pulls).map(|s| Angle::rad(s.angle))),
            stress: shape.and_then(|s| {
                let weighs = choice[at::MATERIAL].map_or(1.0, |material| strength::weighs(self, instance, material));
                computed(s.working).of(Stress::mpa(s.stress_mpa * weighs))
            }),
            capacity: worked.of(margin.as_ref().map(|m| Stress::mpa(m.capacity_mpa))),
            margin: worked.of(margin.as_ref().map(|m| m.margin)),
            shown: none.of(shown),
            unshown_because: none.of(unshown_because),
            together: none.of(combination.map(|all| Text::shared(&together::names(self.spec, &all)))),
            together_margin: together,
        })
    }

    /// Returns how many heads of screws hold a load, where nothing else does.
    fn heads(&self, load: &Load) -> Option<f64> {
        let of = |hold: &Stated<Hold>| match (&hold.value.at, hold.value.heads) {
            (Where::Fit(name), Some(_)) => {
                let index = self.spec.fits.iter().position(|f| f.name.value == *name)?;
                Some(crate::resolve::fits::count(self, index))
            }
            _ => None,
        };
        let all: Option<Vec<f64>> = load.holds.iter().map(of).collect();
        all.filter(|all| !all.is_empty()).map(|all| all.iter().sum())
    }

    /// Returns the margin of a load, worked out once for every build-up; the error says what is missing.
    pub(in crate::resolve) fn load_margin(
        &self,
        load: usize,
        material: usize,
        pose: usize,
    ) -> Result<Arc<strength::LoadMargin>, NotKnown> {
        let make = || strength::margin(self, load, material, pose).map(Arc::new);
        self.memory.load_margins.of((load, material, pose), make)
    }

    /// Returns what loads that act at once leave of the strength, worked out once for every build-up.
    pub(in crate::resolve) fn between(
        &self,
        loads: &[usize],
        material: usize,
        pose: usize,
    ) -> Result<Arc<strength::Between>, NotKnown> {
        let make = || strength::together(self, loads, material, pose).map(Arc::new);
        self.memory.between.of((loads.to_vec(), material, pose), make)
    }

    /// Returns the margin loads leave together, and how it was worked out.
    fn together(&self, loads: &[usize], material: usize, pose: usize) -> Option<(f64, Combination)> {
        let between = self.between(loads, material, pose).ok()?;
        Some((between.margin, together::taken(self.spec, loads, &between)))
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
        let alone = self.memory.poses.of(index, || Arc::new(self.pose_alone(index, facts).record()));
        let found = Origin::Measured;
        let from = |limit: &Limit| computed(&limit.origin);
        let layers = seen.regions.as_ref().map(part::layer_facts);
        let lying = choice[at::PRINTER].and_then(|printer| self.bench.lie_on(printer, facts));
        let own = rules::Pose {
            overhang: found.of(Area::mm2(seen.overhang_mm2)),
            overhang_limit: from(&limits.overhang_deg).of(Angle::rad(limits.overhang())),
            support: found.of(Volume::mm3(seen.support_mm3)),
            propped: found.of(seen.propped),
            bridge: found.of(layers.as_ref().map(|l| l.bridge)),
            bridge_limit: from(&limits.bridge_mm).of(Length::mm(limits.bridge_mm.value)),
            bridged: found.of(layers.as_ref().map(|l| l.bridged)),
            wants_support: found.of(layers.as_ref().map(|l| l.wants_support)),
            trapped: found.of(layers.as_ref().map(|l| l.trapped)),
            shut_in: found.of(layers.as_ref().map(|l| l.shut_in)),
            unheld: found.of(seen.regions.as_ref().map(|regions| self.unheld(regions))),
            fits_on_support: found.of(seen.regions.as_ref().and_then(|regions| self.fits_on_support(regions))),
            fits: found.of(choice[at::PRINTER].map(|printer| self.bench.fits(printer, facts))),
            room: found.of(lying.map(|l| Length::mm(l.room_mm))),
            askew: found.of(lying.map(|l| l.askew_deg.is_some())),
            ..rules::Pose::default()
        };
        Some(own.upon(alone))
    }

    /// Returns how far the farthest of what cannot hold itself reaches out over nothing. A slope that is not too flat curls and
    /// goes on; what is flatter falls.
    fn unheld(&self, regions: &Regions) -> Length {
        let beyond = self.knowledge.catalogue.value(figures::FALLS_BEYOND).to_rad();
        let falls = |r: &&Region| match r.kind {
            Kind::Island | Kind::Ledge => true,
            Kind::Steep => r.angle_deg.to_radians() > beyond,
            Kind::Bridge | Kind::HoleCrown => false,
        };
        let held = regions.list.iter().filter(|r| r.verdict >= Verdict::Support).filter(falls);
        Length::mm(held.map(|r| r.reach_mm.unwrap_or(r.area_mm2.sqrt())).fold(0.0, f64::max))
    }

    /// Returns the fits that support would be laid under, by their names; nothing where there is none.
    fn fits_on_support(&self, regions: &Regions) -> Option<Text> {
        let held: Vec<_> =
            regions.list.iter().filter(|r| matches!(r.verdict, Verdict::Support | Verdict::Trapped)).collect();
        let touched = |place: &&Place| place.features.iter().any(|f| held.iter().any(|r| f.has_on_it(r.at)));
        let names = self.spec.fits.iter().zip(&self.fit_places).filter(|(_, place)| touched(place));
        let names: Vec<String> = names.map(|(fit, _)| format!("\"{}\"", fit.name.value)).collect();
        (!names.is_empty()).then(|| Text::shared(&names.join(", ")))
    }

    /// What of the facts of a pose hangs on nothing else; the rest is added upon it.
    fn pose_alone(&self, index: usize, facts: &PoseFacts) -> rules::Pose {
        let (none, found) = (Origin::None, Origin::Measured);
        let words = self.pose_words(index);
        let leans = self.part.across_broad_wall().map(|n| dot(n, facts.pose.up).abs());
        // A face that slopes is cut wider than it is thick.
        let level = |leans: f64| (1.0 - leans * leans).max(0.0).sqrt();
        let stands = leans.filter(|leans| *leans < fits::ALIKE);
        let cut = self.part.broad_wall.zip(stands).map(|(wall, leans)| facts::measured(wall.mm / level(leans)));
        rules::Pose {
            label: none.of(Text::shared(&words)),
            title: words,
            up: none.of(Text::shared(&loads::direction_words(facts.pose.up))),
            contact: found.of(Area::mm2(facts.contact_mm2)),
            height: found.of(Length::mm(facts.height_mm)),
            footed: found.of(facts.is_footed(&self.part.flat)),
            stands: found.of(facts.stands(&self.part.flat)),
            leans: found.of(!facts.is_footed(&self.part.flat) && !self.part.is_plain(facts.pose.up)),
            wall_stands: found.of(leans.map(|leans| leans < fits::ALIKE)),
            wall_cut: found.of(cut),
            sloped: found.of(self.part.sloped_share(facts.pose.up)),
            slenderness: found.of(facts.is_footed(&self.part.flat).then(|| facts.slenderness())),
            stable: found.of(facts.stable),
            footing: found.of(Length::mm(facts.footing_mm)),
            footprint_longest: found.of(Length::mm(facts.footprint_mm[0])),
            footprint_shortest: found.of(Length::mm(facts.footprint_mm[1])),
            least_margin: found.of(self.least_margin(index)),
            overhang: None,
            overhang_limit: None,
            propped: None,
            support: None,
            bridge: None,
            bridge_limit: None,
            bridged: None,
            wants_support: None,
            trapped: None,
            shut_in: None,
            unheld: None,
            fits_on_support: None,
            fits: None,
            room: None,
            askew: None,
        }
    }

    /// Returns what the chosen printer can leave without support, with the chosen nozzle and material.
    pub fn limits(&self, choice: &Partial) -> Arc<Limits> {
        let mut hangs_on = Mask::touched(LIMITED);
        if self.bench.limit_records.is_empty() {
            // Without records one printer or nozzle is like another.
            hangs_on = hangs_on.within(Mask::of(&[at::MATERIAL]));
        }
        let narrow = Key::of(choice).masked(hangs_on);
        self.memory.limits.of(narrow, || {
            let choice = narrow.choice();
            Arc::new(limits::limits(&self.bench, choice[at::PRINTER], choice[at::NOZZLE], choice[at::MATERIAL]))
        })
    }

    /// Returns what of the chosen pose hangs over by those limits; the verdicts count, their words may be another choice's.
    pub fn overhangs(&self, choice: &Partial) -> Option<Arc<Overhangs>> {
        self.part.overhangs(choice[at::POSE]?, &self.limits(choice))
    }
}

pub(super) fn computed(working: impl Display) -> Origin {
    Origin::Computed { working: working.to_string().into() }
}
