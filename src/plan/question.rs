//! The run as a question to the planner: names become numbers.

use planner::Effort;
use planner::order::{Aspect, Machine, Span, USUAL};
use planner::plates::{Bed, Kind, Options, Policy, Shape, Turn};
use planner::run::{self, Printer};
use planner::start::{Demand, Prior, Share, WholePlates};

use super::Asked;
use super::calendar::Calendar;
use super::drying::Dryer;
use super::routing::Routing;
use crate::catalogue::figures;
use crate::quantity::{Duration, Length, Mass, TemperatureDifference};
use crate::resolve::purge;
use crate::semantics::run::Run;

/// Filament as a machine's state has it: what is in it is not known where there is no material.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Filament {
    pub material: Option<String>,
    pub colour: Option<String>,
}

/// What lies on a bed: a surface and what is on it.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Bedding {
    pub surface: Option<String>,
    pub agent: Option<String>,
}

/// The values that a machine's state may take, and the machines of the run.
pub(super) struct Names {
    /// Of the bench, by their places in it.
    pub printers: Vec<usize>,
    pub filaments: Vec<Filament>,
    pub nozzles: Vec<Option<String>>,
    pub beddings: Vec<Bedding>,
}

/// Which aspect of a state is which.
pub(super) mod aspect {
    pub const MATERIAL: usize = 0;
    pub const NOZZLE: usize = 1;
    pub const SURFACE: usize = 2;
    pub const NAMES: [&str; 3] = ["material", "nozzle", "surface"];
}

/// Work put into packing and ordering: some seconds for a week's run.
const EFFORT: Effort = Effort(4_000_000);

impl Names {
    pub fn of(asked: &Asked<'_>) -> Self {
        let uses = |name: &str| asked.run.printers.is_empty() || asked.run.printers.iter().any(|p| p.value == name);
        let printers: Vec<usize> =
            (0..asked.bench.printers.len()).filter(|p| uses(&asked.bench.printers[*p].name)).collect();
        let mut names = Self { printers, filaments: Vec::new(), nozzles: Vec::new(), beddings: Vec::new() };
        for routing in asked.parts.iter().flat_map(|p| &p.routings) {
            names.filaments.push(filament(routing));
            names.nozzles.push(Some(routing.nozzle.clone()));
            names.beddings.push(bedding(routing));
        }
        for printer in names.printers.clone() {
            let (filament, nozzle, bedding) = on(asked, printer);
            names.filaments.push(filament);
            names.nozzles.push(nozzle);
            names.beddings.push(bedding);
        }
        names.filaments.sort();
        names.filaments.dedup();
        names.nozzles.sort();
        names.nozzles.dedup();
        names.beddings.sort();
        names.beddings.dedup();
        names
    }

    pub fn state_of(&self, filament: &Filament, nozzle: &Option<String>, bedding: &Bedding) -> Vec<usize> {
        let at = |place: Option<usize>| place.unwrap_or(0);
        vec![
            at(self.filaments.iter().position(|f| f == filament)),
            at(self.nozzles.iter().position(|n| n == nozzle)),
            at(self.beddings.iter().position(|b| b == bedding)),
        ]
    }

    /// Returns the machine of the run that a routing is made on.
    pub fn machine(&self, asked: &Asked<'_>, routing: &Routing) -> Option<usize> {
        self.printers.iter().position(|p| asked.bench.printers.get(*p).is_some_and(|p| p.name == routing.printer))
    }
}

pub(super) fn filament(routing: &Routing) -> Filament {
    Filament { material: Some(routing.material.clone()), colour: routing.colour.clone() }
}

pub(super) fn bedding(routing: &Routing) -> Bedding {
    Bedding { surface: Some(routing.surface.clone()), agent: routing.agent.clone() }
}

/// What is on a printer of the bench when the run begins.
fn on(asked: &Asked<'_>, printer: usize) -> (Filament, Option<String>, Bedding) {
    let name = asked.bench.printers.get(printer).map(|p| p.name.as_str()).unwrap_or_default();
    let now = asked.floor.machines.get(name).cloned().unwrap_or_default();
    let colour = |spool: &String| asked.bench.spools.iter().find(|s| s.name == *spool)?.colour.clone();
    (
        Filament { material: now.material, colour: now.spool.as_ref().and_then(colour) },
        now.nozzle,
        Bedding { surface: now.surface, agent: now.agent },
    )
}

/// Returns the question.
pub(super) fn question(asked: &Asked<'_>, names: &Names, calendar: &Calendar, dryer: &Dryer) -> run::Run {
    let gap: Length = asked.catalogue.value(figures::PLATE_GAP);
    run::Run {
        parts: (0..asked.parts.len()).map(|part| part_of(asked, names, calendar, dryer, part)).collect(),
        beds: names.printers.iter().map(|p| bed(asked, *p)).collect(),
        packing: Options { gap_mm: gap.to_mm(), policy: Policy::Balanced, mixed: true, effort: EFFORT },
        printers: (0..names.printers.len()).map(|m| printer(asked, names, calendar, m)).collect(),
        aspects: vec![materials(asked, names), nozzles(asked, names), beddings(asked, names)],
        hours: calendar.hours.clone(),
        people: Some(1),
        goals: USUAL.to_vec(),
        effort: EFFORT,
        ..run::Run::default()
    }
}

fn part_of(asked: &Asked<'_>, names: &Names, calendar: &Calendar, dryer: &Dryer, index: usize) -> run::Part {
    let part = &asked.parts[index];
    let first = &part.routings[0];
    let machines: Vec<usize> = part.routings.iter().filter_map(|w| names.machine(asked, w)).collect();
    let ([one, two], figure) = (first.minutes, |key| minutes(asked, key));
    let each = (two - one).max(0.0);
    let factor = |machine: usize| {
        let routing = part.routings.iter().find(|w| names.machine(asked, w) == Some(machine));
        routing.map_or(1.0, |w| if two > 0.0 { w.minutes[1] / two } else { 1.0 })
    };
    let unattended = asked.run.unattended.is_some_and(|u| u.value);
    let alone = unattended && first.alone;
    let per_plate = (one - each).max(0.0);
    // Of a plate that must be watched to its end no more is laid on than somebody stays for.
    let most = if alone { None } else { most_in_hours(asked, calendar, per_plate, each) };
    run::Part {
        kind: Kind { most_per_plate: most, ..kind(first) },
        demand: demand(asked, index),
        minutes_each: each,
        minutes_per_plate: per_plate,
        factors: (0..names.printers.len()).map(factor).collect(),
        mass_each_g: first.mass_g,
        mass_per_plate_g: 0.0,
        state: names.state_of(&filament(first), &Some(first.nozzle.clone()), &bedding(first)),
        group: Some(group(asked, index)),
        machines,
        due_min: part.by.as_ref().and_then(|by| due(calendar, by)),
        ready_min: dryer.ready(&filament(first)),
        alone,
        handling_min: figure(figures::WORK_PER_PLATE),
        watch_min: figure(figures::WATCH_FIRST_LAYER),
        before: Vec::new(),
        inspection_min: 0,
    }
}

/// Returns how many pieces fit into the longest time for which somebody is there; at least one.
fn most_in_hours(asked: &Asked<'_>, calendar: &Calendar, per_plate: f64, each: f64) -> Option<usize> {
    let longest = calendar.hours.iter().map(|h| h.to_min - h.from_min).max()?;
    let room = longest as f64 - minutes(asked, figures::WORK_PER_PLATE) as f64 - per_plate;
    (each > 0.0).then(|| (room / each).floor().max(1.0) as usize)
}

/// Returns when a part is due: at the time stated, else at the end of that day's hours.
pub(super) fn due(calendar: &Calendar, by: &(String, Option<u16>)) -> Option<i64> {
    match by.1 {
        Some(minute) => calendar.minutes(&by.0, minute),
        None => calendar.end_of(&by.0),
    }
}

pub(super) fn minutes(asked: &Asked<'_>, key: figures::Key<Duration>) -> i64 {
    asked.catalogue.value(key).to_min().round() as i64
}

/// Parts whose settings are the same may share plates; those named together do, if that holds of them.
fn group(asked: &Asked<'_>, part: usize) -> usize {
    let same = |a: &Routing, b: &Routing| a.settings == b.settings && a.brim_mm == b.brim_mm;
    let first = |p: usize| asked.parts.get(p).and_then(|p| p.routings.first());
    (0..part).find(|other| first(*other).zip(first(part)).is_some_and(|(a, b)| same(a, b))).unwrap_or(part)
}

fn kind(routing: &Routing) -> Kind {
    let (shape, turn) = match rectangle(&routing.outline) {
        Some([width_mm, depth_mm]) => (Shape::Rectangle { width_mm, depth_mm }, Turn::Quarter),
        None => (Shape::Outline(routing.outline.clone()), Turn::Any),
    };
    Kind { shape, brim_mm: routing.brim_mm, turn, count: 0, most_per_plate: None }
}

/// The sides of an outline that is a rectangle along the axes.
fn rectangle(outline: &[[f64; 2]]) -> Option<[f64; 2]> {
    let most = |k: usize| outline.iter().fold(0.0, |most: f64, p| most.max(p[k]));
    let size = [most(0), most(1)];
    let corner = |p: &[f64; 2]| (0..2).all(|k| p[k].abs() < 1e-6 || (p[k] - size[k]).abs() < 1e-6);
    (outline.len() == 4 && outline.iter().all(corner)).then_some(size)
}

/// What is wanted of a part. Of one that is built on several lines each takes its share of the number that all of them
/// together need, so that a line split in two starts no piece more.
fn demand(asked: &Asked<'_>, index: usize) -> Demand {
    let all = whole(asked, index);
    let mut wanted_before = 0;
    let mut several = false;
    for (i, part) in asked.parts.iter().enumerate().filter(|(_, p)| p.name == asked.parts[index].name) {
        several |= i != index;
        wanted_before += if i < index { u64::from(part.wanted) } else { 0 };
    }
    let (true, Ok(start)) = (several, planner::start::start(&all)) else { return all };
    let share = |wanted: u64| start.pieces * wanted / all.wanted.max(1);
    let own = u64::from(asked.parts[index].wanted);
    let pieces = share(wanted_before + own) - share(wanted_before);
    // Enough is asked of all together; of one line just its share.
    Demand { wanted: pieces, good: Share::Known(1.0), ..all }
}

/// What is wanted of a part on all lines that build it.
pub(super) fn whole(asked: &Asked<'_>, index: usize) -> Demand {
    let part = &asked.parts[index];
    let usual = asked.catalogue.value(figures::YIELD_ASSUMED);
    let weight = asked.catalogue.value(figures::YIELD_PRIOR);
    // Lines of one part may be made on unlike machines: the record of the first counts for all.
    let first = asked.parts.iter().find(|p| p.name == part.name).unwrap_or(part);
    let good = match &first.routings[0].recorded {
        Some(record) => Share::Recorded {
            came: record.good,
            of: record.started,
            prior: Prior { came: usual * weight, not: (1.0 - usual) * weight },
        },
        None => Share::Known(usual),
    };
    let wanted = asked.parts.iter().filter(|p| p.name == part.name).map(|p| u64::from(p.wanted)).sum();
    Demand {
        wanted,
        used_up: 0,
        first_article: 0,
        good,
        plates: plates_lost(asked, part),
        confidence: confidence(asked),
    }
}

/// How often plates of a part are lost whole, once the records tell of one.
fn plates_lost(asked: &Asked<'_>, part: &super::Part) -> Option<WholePlates> {
    let plates = part.plates;
    let (usual, weight) = (asked.catalogue.value(figures::PLATE_LOST), asked.catalogue.value(figures::PLATE_PRIOR));
    (plates.lost > 0).then(|| WholePlates {
        per_plate: u64::from(plates.most.max(1)),
        lost: Share::Recorded {
            came: u64::from(plates.lost),
            of: u64::from(plates.done),
            prior: Prior { came: usual * weight, not: (1.0 - usual) * weight },
        },
    })
}

/// How sure the count of good pieces is to be.
pub(super) fn confidence(asked: &Asked<'_>) -> f64 {
    asked.run.confidence.map_or_else(|| asked.catalogue.value(figures::START_CONFIDENCE), |c| c.value)
}

fn bed(asked: &Asked<'_>, printer: usize) -> Bed {
    let printer = &asked.bench.printers[printer];
    Bed {
        width_mm: printer.build[0].to_mm(),
        depth_mm: printer.build[1].to_mm(),
        edge_mm: printer.edge.to_mm(),
        taken: Vec::new(),
    }
}

fn printer(asked: &Asked<'_>, names: &Names, calendar: &Calendar, machine: usize) -> Printer {
    let printer = &asked.bench.printers[names.printers[machine]];
    let (filament, nozzle, bedding) = on(asked, names.printers[machine]);
    let free = printer.free_from.as_ref().and_then(|day| calendar.minutes(day, 0));
    let busy = asked.busy.get(&printer.name).and_then(|until| calendar.minutes(&until.day, until.minute));
    let free = free.max(busy);
    let rate = printer.hour_rate.map_or(0.0, |rate| rate.to_per_h() / 60.0);
    let alone = asked.shop.printer(&printer.name).and_then(|p| p.unattended.as_ref()).is_some_and(|u| u.value);
    Printer {
        machine: Machine {
            state: names.state_of(&filament, &nozzle, &bedding),
            free_from_min: free.unwrap_or(0).max(0),
            away: away(asked.run, calendar, &printer.name),
            alone,
            cost_per_min: rate,
        },
        bed: machine,
        time_factor: asked.paces.get(&printer.name).copied().unwrap_or(1.0),
    }
}

/// When a printer is out of service, in order, none over another.
fn away(run: &Run, calendar: &Calendar, printer: &str) -> Vec<Span> {
    let of_it = run.without.iter().filter(|w| w.printers.iter().any(|p| p.value == printer));
    let span = |days: &(String, String)| {
        let (from, to) = (calendar.minutes(&days.0, 0)?.max(0), calendar.minutes(&days.1, 0)? + 24 * 60);
        (from < to).then_some(Span { from_min: from, to_min: to })
    };
    let mut spans: Vec<Span> = of_it.filter_map(|w| span(&w.days)).collect();
    spans.sort();
    let mut apart: Vec<Span> = Vec::new();
    for span in spans {
        match apart.last_mut() {
            Some(last) if last.to_min >= span.from_min => last.to_min = last.to_min.max(span.to_min),
            _ => apart.push(span),
        }
    }
    apart
}

/// Returns a person's minutes and the grams purged for a change of filament.
pub(super) fn material_change(asked: &Asked<'_>, from: &Filament, to: &Filament) -> (i64, f64) {
    if from == to {
        return (0, 0.0);
    }
    let grams = |key: figures::Key<Mass>| asked.catalogue.value(key).to_g();
    let full = (minutes(asked, figures::CHANGE_MATERIAL), grams(figures::PURGE_MATERIAL));
    let (Some(old), Some(new)) = (&from.material, &to.material) else { return full };
    if old == new {
        return (minutes(asked, figures::CHANGE_COLOUR), grams(figures::PURGE_COLOUR));
    }
    let overheat: TemperatureDifference = asked.catalogue.value(figures::OVERHEAT);
    let both = asked.catalogue.material(old).zip(asked.catalogue.material(new));
    let direct = both.is_none_or(|(a, b)| purge::temperature(a, b, None, overheat).is_some());
    // What no temperature suits goes through a third: it is purged twice.
    if direct { full } else { (minutes(asked, figures::CHANGE_STAGED), 2.0 * full.1) }
}

fn materials(asked: &Asked<'_>, names: &Names) -> Aspect {
    let price = |f: &Filament| {
        let routing = asked.parts.iter().flat_map(|p| &p.routings).find(|w| filament(w) == *f);
        routing.map_or(0.0, |w| w.price_per_kg / 1000.0)
    };
    let table = |of: &dyn Fn(&Filament, &Filament) -> f64| -> Vec<Vec<f64>> {
        names.filaments.iter().map(|a| names.filaments.iter().map(|b| of(a, b)).collect()).collect()
    };
    let minutes = table(&|a, b| material_change(asked, a, b).0 as f64);
    Aspect {
        minutes: minutes.into_iter().map(|row| row.into_iter().map(|m| m as i64).collect()).collect(),
        cost: table(&|a, b| material_change(asked, a, b).1 * price(b)),
        copies: Vec::new(),
    }
}

fn nozzles(asked: &Asked<'_>, names: &Names) -> Aspect {
    let copies = |name: &Option<String>| {
        let name = name.as_ref()?;
        let listed = asked.shop.nozzle(name)?.count.as_ref().map_or(1, |c| c.value as usize);
        Some(listed.max(mounted(asked, |now| now.nozzle.as_ref() == Some(name))))
    };
    let minutes = minutes(asked, figures::CHANGE_NOZZLE);
    Aspect { copies: names.nozzles.iter().map(copies).collect(), ..Aspect::even(names.nozzles.len(), minutes) }
}

fn beddings(asked: &Asked<'_>, names: &Names) -> Aspect {
    let copies = |bedding: &Bedding| {
        let name = bedding.surface.as_ref()?;
        let listed = asked.shop.surfaces.iter().find(|s| s.name.value == *name)?;
        let count = listed.count.as_ref().map_or(1, |c| c.value as usize);
        Some(count.max(mounted(asked, |now| now.surface.as_ref() == Some(name))))
    };
    let minutes = minutes(asked, figures::CHANGE_SURFACE);
    Aspect { copies: names.beddings.iter().map(copies).collect(), ..Aspect::even(names.beddings.len(), minutes) }
}

fn mounted(asked: &Asked<'_>, has: impl Fn(&super::floor::Machine) -> bool) -> usize {
    asked.floor.machines.values().filter(|now| has(now)).count()
}
