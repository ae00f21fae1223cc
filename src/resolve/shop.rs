//! The bench a job is made on: what the shop file lists, joined with what the catalogue knows of it.

mod joining;
mod places;
mod read;
mod stock;

pub use read::Unread;
pub use stock::Job;

use read::Entry;

use std::sync::Arc;

use super::limits::LimitRecord;
use crate::catalogue::words::{Axis, Drive, Stored};
use crate::catalogue::{Agent, BuildUp, Catalogue, Material, Nozzle, Surface, figures};
use crate::diag::Span;
use crate::fits::calibration::CalibrationRecord;
use crate::fits::feature::{FeatureAxis, FeatureKind};
use crate::geometry::survey::PoseFacts;
use crate::quantity::{
    Acceleration, EnergyPrice, Flow, Length, Mass, MassPrice, Money, Power, Speed, Temperature, TemperatureDifference,
    TimePrice, Torque,
};
use crate::rulebook::facts::{self as rules, Nested};
use crate::rulebook::value::{Origin, Text};
use crate::seen::Seen;

use super::facts;
use super::purge;
use super::world::{Knowledge, Partial, at};

/// A printer as the resolver needs it.
#[derive(Debug, Clone)]
pub struct Printer {
    pub name: String,
    pub build: [Length; 3],
    /// Room kept free at the bed's edge.
    pub edge: Length,
    pub nozzle_limit: Temperature,
    pub bed_limit: Temperature,
    pub enclosed: bool,
    pub chamber: Option<Temperature>,
    pub drive: Drive,
    pub flow: Flow,
    pub hour_rate: Option<TimePrice>,
    /// Fastest travel that still prints well.
    pub speed: Option<Speed>,
    pub acceleration: Option<Acceleration>,
    /// Hours its plates took over the hours reckoned for them; none where the workshop has not recorded it.
    pub pace: Option<f64>,
    /// Mean electrical power while printing.
    pub power: Option<Power>,
    /// Material loaded now, by catalogue name.
    pub loaded: Option<String>,
    pub loaded_spool: Option<String>,
    /// What lies on the surface on it.
    pub coated: Option<String>,
    /// Diameter of the filament it takes.
    pub filament: Length,
    /// Index into [`Bench::nozzles`].
    pub fitted: Option<usize>,
    /// Index into [`Bench::surfaces`].
    pub mounted: Option<usize>,
    pub level_due: bool,
    /// Day from which it is free for new work, where it is not free now.
    pub free_from: Option<String>,
    /// Tightening torque of the nozzle, from the hot end's documentation.
    pub torque: Option<Torque>,
    /// Names of the nozzles and surfaces that fit it; all of them where nothing is said.
    pub nozzles: Option<Vec<String>>,
    pub surfaces: Option<Vec<String>>,
    pub at: Span,
}

#[derive(Debug, Clone)]
pub struct BenchSurface<'a> {
    pub name: String,
    pub kind: &'a Surface,
    /// Hottest bed it stands, where the shop says so of its own.
    pub limit: Option<Temperature>,
    /// How many there are, as far as the shop says.
    pub count: Option<u32>,
    pub at: Span,
}

#[derive(Debug, Clone)]
pub struct BenchAgent<'a> {
    pub name: String,
    /// `None`: no agent.
    pub kind: Option<&'a Agent>,
}

#[derive(Debug, Clone)]
pub struct Spool {
    pub name: String,
    pub material: String,
    pub colour: Option<String>,
    pub left: Option<Mass>,
    /// Diameter of the filament on it.
    pub filament: Length,
    pub price: Option<MassPrice>,
    pub opened: Option<String>,
    pub dried: Option<String>,
    pub stored: Option<Stored>,
    /// Nozzle temperature by its label.
    pub print_temperature: Option<Temperature>,
    /// Bed temperature by its label.
    pub bed_temperature: Option<Temperature>,
    /// Hottest the spool body itself may be dried.
    pub limit: Option<Temperature>,
    pub at: Span,
}

/// Tools that fits and treatments need.
#[derive(Debug, Clone, Default)]
pub struct Tools {
    pub dryer_limit: Option<Temperature>,
    pub oven_limit: Option<Temperature>,
    pub extraction: Option<bool>,
    pub iron: Option<bool>,
    pub scale: Option<bool>,
    pub drill_press: Option<bool>,
    /// Gauges by name; nothing where the shop lists none.
    pub gauges: Seen<Option<Vec<String>>>,
    /// How many heat-set inserts are left, by thread.
    pub inserts: Seen<Vec<(String, u32)>>,
}

/// Good pieces of those started, as the shop recorded them.
#[derive(Debug, Clone)]
pub struct Yield {
    pub printer: Option<String>,
    pub material: Option<String>,
    /// What was printed.
    pub part: Option<String>,
    /// The run it was learned from.
    pub run: Option<String>,
    pub good: u64,
    pub started: u64,
    pub at: Span,
}

/// The smallest gap all round at which pieces printed in place came free of one another.
#[derive(Debug, Clone)]
pub struct Gap {
    pub printer: String,
    pub nozzle: String,
    pub material: String,
    pub axis: FeatureAxis,
    pub gap: Length,
    pub count: u32,
    pub on: String,
}

/// What a shop measured of a hot end or a polymer, for one printer, nozzle and material.
#[derive(Debug, Clone)]
pub struct Measurement<T> {
    pub printer: String,
    pub nozzle: String,
    pub material: String,
    pub value: T,
    pub count: u32,
    pub on: String,
}

/// Candidates and stock.
#[derive(Debug, Clone)]
pub struct Bench<'a> {
    pub name: String,
    pub catalogue: &'a Catalogue,
    /// No shop file was found; a well-equipped bench is assumed.
    pub assumed: bool,
    pub currency: Option<Arc<str>>,
    pub printers: Vec<Printer>,
    /// All materials of the catalogue, by name.
    pub materials: Vec<&'a Material>,
    pub nozzles: Vec<Nozzle>,
    pub surfaces: Vec<BenchSurface<'a>>,
    /// The first is no agent.
    pub agents: Vec<BenchAgent<'a>>,
    /// From light to solid.
    pub build_ups: Vec<&'a BuildUp>,
    pub spools: Vec<Spool>,
    /// The shop lists its spools; without a list every material counts as at hand.
    pub stock_listed: bool,
    pub tools: Tools,
    pub yields: Vec<Seen<Yield>>,
    /// Pieces on the one plate that is asked about, where a run has divided its pieces among plates already.
    pub plate: Option<u32>,
    pub calibration: Vec<Seen<CalibrationRecord>>,
    /// What its printers were found to print without support.
    pub limit_records: Vec<LimitRecord>,
    /// Gaps at which pieces printed in place came free.
    pub gaps: Vec<Seen<Gap>>,
    /// Flows at which the line still came out full.
    pub flows: Vec<Measurement<Flow>>,
    /// Printed over modelled length along the x and y axes of the machine.
    pub scales: Vec<Seen<Measurement<(Axis, f64)>>>,
    pub electricity: Option<EnergyPrice>,
    /// Price of a person's hour.
    pub labour: Option<TimePrice>,
    /// The day on which printing begins, where a run says it.
    pub printed: Option<String>,
    /// The latest date the shop file states: the day it was last kept up, as far as it says.
    pub latest: Option<String>,
    /// What there is to finish fits with.
    pub fit_tools: crate::fits::feature::Tools,
    /// What of the file remembers whether it was read.
    entries: Vec<Entry>,
}

impl Printer {
    /// Returns width and depth of the bed without what is left free at its edge, and the height, mm.
    pub fn free_mm(&self) -> [f64; 3] {
        let [x, y, z] = self.build.map(Length::to_mm);
        let edge = 2.0 * self.edge.to_mm();
        [x - edge, y - edge, z]
    }
}

impl Bench<'_> {
    /// Returns whether a pose fits a printer, turned about the vertical if that helps.
    pub fn fits(&self, printer: usize, facts: &PoseFacts) -> bool {
        let Some(p) = self.printers.get(printer) else { return false };
        let [x, y, z] = p.free_mm();
        let [long, short] = facts.footprint_mm;
        facts.height_mm <= z && fits_turned(long, short, x.max(y), x.min(y))
    }

    /// Returns how a pose is to be turned on a printer's bed for the most room at its edges; `None` where it fits in no way.
    pub fn lie_on(&self, printer: usize, facts: &PoseFacts) -> Option<OnBed> {
        let p = self.printers.get(printer)?;
        let [x, y, _] = p.free_mm();
        on_bed(facts.footprint_mm, [x, y])
    }

    /// Returns what a pose with a brim about it leaves of a printer's bed, on each side.
    pub fn room(&self, printer: usize, facts: &PoseFacts, brim_mm: f64) -> Option<f64> {
        let p = self.printers.get(printer)?;
        let [x, y, _] = p.free_mm();
        let sides = facts.footprint_mm.map(|side| side + 2.0 * brim_mm);
        Some(room_beside(sides, [x.max(y), x.min(y)]))
    }

    pub fn printer_facts(&self, printer: usize, knowledge: Knowledge<'_>) -> Option<rules::Printer> {
        let p = self.printers.get(printer)?;
        let at = facts::stated(p.at);
        let loaded = p.loaded.as_ref().and_then(|name| knowledge.catalogue.material(name));
        let fitted = p.fitted.and_then(|n| self.nozzles.get(n));
        let mounted = p.mounted.and_then(|s| self.surfaces.get(s));
        let mounted = mounted.map(|s| facts::surface(s.kind, &s.name, Some(true), s.at));
        let [build_x, build_y, build_z] = p.build;
        Some(rules::Printer {
            title: p.name.clone(),
            name: at.of(Text::shared(&p.name)),
            build_x: at.of(build_x),
            build_y: at.of(build_y),
            build_z: at.of(build_z),
            nozzle_limit: at.of(p.nozzle_limit),
            bed_limit: at.of(p.bed_limit),
            chamber: at.of(p.chamber),
            enclosed: at.of(p.enclosed),
            drive: at.of(p.drive),
            flow: at.of(p.flow),
            loaded: at.of(loaded.map(|m| Nested::from(self.loaded_facts(p, m)))),
            loaded_spool: at.of(p.loaded_spool.as_deref().map(Text::shared)),
            fitted: at.of(fitted.map(|n| Nested::from(facts::nozzle(n, Some(true))))),
            mounted: at.of(mounted.map(Nested::from)),
            level_due: at.of(p.level_due),
            free_from: at.of(p.free_from.as_deref().map(Text::shared)),
            hour_rate: at.of(p.hour_rate),
            speed: at.of(p.speed),
            coated: at.of(p.coated.as_deref().map(Text::shared)),
            flow_recorded: None,
        })
    }

    /// Returns the facts of what is loaded: the label of the spool in it knows better at what it comes out.
    fn loaded_facts(&self, printer: &Printer, material: &Material) -> rules::Material {
        let mut loaded = facts::material(material, self.catalogue);
        let spool = self.spools.iter().find(|s| Some(&s.name) == printer.loaded_spool.as_ref());
        if let Some((label, at)) = spool.and_then(|s| Some((s.print_temperature?, s.at))) {
            loaded.print_temperature = facts::stated(at).of(label);
        }
        loaded
    }

    /// Returns the newest record of the flow of a printer with a nozzle and a material.
    pub fn flow_recorded(
        &self,
        printer: Option<usize>,
        nozzle: Option<usize>,
        material: Option<usize>,
    ) -> Option<&Measurement<Flow>> {
        if self.flows.is_empty() {
            return None;
        }
        let (printer, nozzle) = (self.printers.get(printer?)?, self.nozzles.get(nozzle?)?);
        newest(self.flows.iter(), &printer.name, &nozzle.name, self.materials.get(material?)?, |_| true)
    }

    /// Returns by how much prints come out short in the layer plane by the shop's own records: the mean of both axes.
    pub fn shrinkage_recorded(&self, printer: &str, nozzle: &str, material: &Material) -> Option<f64> {
        let of = |axis: Axis| {
            let own = self.scales.iter().filter(|m| m.peek().of(printer, nozzle, material)).map(|m| &**m);
            newest(own, printer, nozzle, material, |(of, _)| *of == axis).map(|m| 1.0 - m.value.1)
        };
        match (of(Axis::X), of(Axis::Y)) {
            (Some(x), Some(y)) => Some(0.5 * (x + y)),
            (x, y) => x.or(y),
        }
    }

    /// Returns what the shop's money is worth in that of the catalogue: the middle of what its spools cost against the usual price
    /// of their material; without such, what its hours cost against the usual.
    pub fn price_level(&self) -> f64 {
        let of_spool = |s: &Spool| {
            let usual = self.catalogue.material(&s.material)?.price.typ.to_per_kg();
            Some(s.price?.to_per_kg() / usual)
        };
        let mut levels: Vec<f64> =
            self.spools.iter().filter_map(of_spool).filter(|l| l.is_finite() && *l > 0.0).collect();
        levels.sort_by(f64::total_cmp);
        let hour =
            |rate: TimePrice, usual: figures::Key<TimePrice>| rate.to_per_h() / self.catalogue.value(usual).to_per_h();
        let machine = || self.printers.iter().find_map(|p| Some(hour(p.hour_rate?, figures::MACHINE_HOUR)));
        let spools = levels.get(levels.len() / 2).copied();
        spools.or_else(|| self.labour.map(|l| hour(l, figures::PERSON_HOUR))).or_else(machine).unwrap_or(1.0)
    }

    /// Returns what an hour of a person's work is worth in the shop's money.
    pub fn hour_of_work(&self) -> Money {
        let usual = || self.catalogue.value(figures::PERSON_HOUR).to_per_h() * self.price_level();
        Money::of(self.labour.map(|l| l.to_per_h()).filter(|l| *l > 0.0).unwrap_or_else(usual))
    }

    pub fn shop_facts(&self, choice: &Partial, knowledge: Knowledge<'_>) -> rules::Shop {
        let none = Origin::None;
        let tools = &self.tools;
        let printer = choice[at::PRINTER].and_then(|p| self.printers.get(p));
        let next = choice[at::MATERIAL].and_then(|m| self.materials.get(m).copied());
        let loaded = printer.and_then(|p| p.loaded.as_ref()).and_then(|name| knowledge.catalogue.material(name));
        let change = loaded.zip(next);
        let limit = printer.map(|p| p.nozzle_limit);
        let overheat = self.catalogue.value(figures::OVERHEAT);
        let direct = change.and_then(|(old, next)| purge::temperature(old, next, limit, overheat));
        let way = change.filter(|_| direct.is_none());
        let way = way.and_then(|(old, next)| purge::through(self.plain_at_hand(), old, next, limit, overheat));
        let gap = change.map(|(old, next)| {
            let (from, to) = (old.print_temperature.typ.to_kelvin(), next.print_temperature.typ.to_kelvin());
            TemperatureDifference::k(to - from)
        });
        rules::Shop {
            title: self.name.clone(),
            name: none.of(Text::shared(&self.name)),
            assumed: none.of(self.assumed),
            hour_of_work: none.of(self.hour_of_work()),
            has_dryer: none.of(tools.dryer_limit.is_some()),
            dryer_limit: none.of(tools.dryer_limit),
            has_oven: none.of(tools.oven_limit.is_some()),
            oven_limit: none.of(tools.oven_limit),
            extraction: none.of(tools.extraction),
            has_iron: none.of(tools.iron),
            has_scale: none.of(tools.scale),
            has_drill_press: none.of(tools.drill_press),
            purge_direct: none.of(direct.map(Temperature::kelvin)),
            purge: none.of(way.as_ref().map(|w| Nested::from(facts::material(w.by, self.catalogue)))),
            purge_in: none.of(way.as_ref().map(|w| Temperature::kelvin(w.into))),
            purge_out: none.of(way.as_ref().map(|w| Temperature::kelvin(w.out))),
            purge_gap: none.of(gap),
        }
    }

    /// Returns the materials at hand that a nozzle may be purged with: neither abrasive nor rubbery, nor one that must not be
    /// overheated itself.
    fn plain_at_hand(&self) -> impl Iterator<Item = &Material> {
        self.materials.iter().copied().enumerate().filter_map(|(i, m)| {
            let plain = !m.abrasive.value && !m.flexible.value && !m.support_only.value && m.spool_of.is_none();
            let at_hand = !self.stock_listed || self.spools_of(i).next().is_some();
            (plain && at_hand && !purge::is_heat_sensitive(m)).then_some(m)
        })
    }

    /// Returns the record of this printer for such a feature: its own nozzle and material, the latest by date.
    pub fn record(
        &self,
        printer: &str,
        nozzle: &str,
        material: &Material,
        kind: FeatureKind,
        axis: FeatureAxis,
    ) -> Option<CalibrationRecord> {
        let of = material.spool_of.as_ref().map_or(material.name.as_str(), |s| s.value.as_str());
        let concerns = |r: &CalibrationRecord| {
            r.printer == printer
                && r.nozzle == nozzle
                && r.what == kind
                && r.axis == axis
                && (r.material == material.name || r.material == of)
        };
        self.calibration
            .iter()
            .filter(|r| concerns(r.peek()))
            .map(|r| &**r)
            .max_by(|a, b| a.on.cmp(&b.on).then_with(|| a.count.cmp(&b.count)))
            .cloned()
    }
}

impl Bench<'_> {
    /// Returns the newest record of gaps printed in place for a printer, nozzle, material and lie.
    pub fn gap(&self, printer: &str, nozzle: &str, material: &Material, axis: FeatureAxis) -> Option<&Gap> {
        let concerns =
            |g: &Gap| g.printer == printer && g.nozzle == nozzle && g.axis == axis && g.material == material.name;
        self.gaps
            .iter()
            .filter(|g| concerns(g.peek()))
            .map(|g| &**g)
            .max_by(|a, b| a.on.cmp(&b.on).then_with(|| a.count.cmp(&b.count)))
    }
}

impl<T> Measurement<T> {
    /// Whether it is of that printer with that nozzle and material.
    fn of(&self, printer: &str, nozzle: &str, material: &Material) -> bool {
        let of = material.spool_of.as_ref().map_or(material.name.as_str(), |s| s.value.as_str());
        self.printer == printer && self.nozzle == nozzle && (self.material == material.name || self.material == of)
    }
}

fn newest<'m, T: 'm>(
    all: impl Iterator<Item = &'m Measurement<T>>,
    printer: &str,
    nozzle: &str,
    material: &Material,
    is: impl Fn(&T) -> bool,
) -> Option<&'m Measurement<T>> {
    all.filter(|m| m.of(printer, nozzle, material))
        .filter(|m| is(&m.value))
        .max_by(|a, b| a.on.cmp(&b.on).then(a.count.cmp(&b.count)))
}

/// Returns whether a rectangle fits another, turned in the plane if that helps (Carver 1957: the long side may exceed the
/// bed's when laid aslant).
/// How a footprint lies on a bed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OnBed {
    /// By how much its longer side is turned from the bed's x, degrees from 0 to 90.
    pub turn_deg: f64,
    /// From which to which turn it fits, where it does not fit along either side of the bed.
    pub askew_deg: Option<[f64; 2]>,
    /// Room left on each side between it and the edge that is kept free, mm.
    pub room_mm: f64,
}

/// Tries the turns from one side of the bed to the other. Square to the bed where that leaves as much room.
fn on_bed([long, short]: [f64; 2], [x, y]: [f64; 2]) -> Option<OnBed> {
    const STEPS: usize = 180;
    let turn = |i: usize| i as f64 * 90.0 / STEPS as f64;
    let room = |i: usize| {
        let (sin, cos) = match i {
            0 => (0.0, 1.0),
            STEPS => (1.0, 0.0),
            _ => turn(i).to_radians().sin_cos(),
        };
        0.5 * (x - long * cos - short * sin).min(y - long * sin - short * cos)
    };
    let square = if room(STEPS) > room(0) { STEPS } else { 0 };
    if room(square) >= 0.0 {
        return Some(OnBed { turn_deg: turn(square), askew_deg: None, room_mm: room(square) });
    }
    let fitting: Vec<usize> = (0..=STEPS).filter(|&i| room(i) >= 0.0).collect();
    let best = fitting.iter().copied().max_by(|a, b| room(*a).total_cmp(&room(*b)).then(b.cmp(a)))?;
    // Of two ranges, one along each side of the bed, that of the best.
    let run = |step: fn(usize) -> Option<usize>| {
        std::iter::successors(Some(best), |&i| step(i)).take_while(|i| fitting.contains(i)).last().unwrap_or(best)
    };
    let askew_deg = [run(|i| i.checked_sub(1)), run(|i| i.checked_add(1))].map(turn);
    // The room of the margin: what half a degree more or less would leave is not told apart.
    let room_mm = room_beside([long, short], [x.max(y), x.min(y)]);
    Some(OnBed { turn_deg: turn(best), askew_deg: Some(askew_deg), room_mm })
}

fn fits_turned(p: f64, q: f64, a: f64, b: f64) -> bool {
    if p <= a && q <= b {
        return true;
    }
    p > a
        && q <= b
        && b * (p * p + q * q) >= 2.0 * p * q * a + (p * p - q * q) * (p * p + q * q - a * a).max(0.0).sqrt()
}

/// Returns by how much a rectangle may grow on each side, mm, and still lie within another; negative where it does not.
fn room_beside([long, short]: [f64; 2], [bed_long, bed_short]: [f64; 2]) -> f64 {
    let straight = 0.5 * (bed_long - long).min(bed_short - short);
    if straight >= 0.0 || !fits_turned(long, short, bed_long, bed_short) {
        return straight;
    }
    // Aslant: what grows evenly stops fitting once, which halving finds to well below what shows.
    let (mut fits, mut beyond) = (0.0, 0.5 * (bed_short - short).max(0.0));
    for _ in 0..HALVINGS {
        let room = 0.5 * (fits + beyond);
        let side = |side: f64| side + 2.0 * room;
        if fits_turned(side(long), side(short), bed_long, bed_short) {
            fits = room;
        } else {
            beyond = room;
        }
    }
    fits
}

/// A bed of a metre, halved so often, is less than a micrometre.
const HALVINGS: usize = 20;

/// Returns the default melt flow of a hot end by the length of its melt zone.
pub fn flow_of(zone: &str, catalogue: &Catalogue) -> Flow {
    catalogue.value(match zone {
        "long" => figures::FLOW_LONG_MELT_ZONE,
        "very-long" => figures::FLOW_VERY_LONG_MELT_ZONE,
        _ => figures::FLOW_SHORT_MELT_ZONE,
    })
}

#[cfg(test)]
mod tests {
    use super::{fits_turned, on_bed, room_beside};

    /// 232 x 60 on 230 x 190: at 31° 229.8 x 170.9, at 37° 221.4 x 187.5; at 30° 230.9 wide, at 38° 190.1 deep.
    #[test]
    fn a_plate_lies_askew_where_it_fits_no_other_way() {
        let found = on_bed([232.0, 60.0], [230.0, 190.0]).unwrap();
        let [from, to] = found.askew_deg.unwrap();
        assert!((30.5..=31.0).contains(&from) && (37.0..=38.0).contains(&to), "{found:?}");
        assert!(found.room_mm > 0.5 && (from..=to).contains(&found.turn_deg), "{found:?}");
        // The margin of the bed says the same.
        assert_eq!(found.room_mm, room_beside([232.0, 60.0], [230.0, 190.0]));
        assert_eq!(room_beside([100.0, 60.0], [230.0, 190.0]), 65.0);
        let square = on_bed([100.0, 60.0], [190.0, 230.0]).unwrap();
        assert_eq!((square.turn_deg, square.askew_deg, square.room_mm), (90.0, None, 65.0));
        assert_eq!(on_bed([300.0, 60.0], [230.0, 190.0]), None);
    }

    #[test]
    fn room_beside_is_what_is_left_on_each_side() {
        let bed = [200.0, 100.0];
        assert!((room_beside([180.0, 90.0], bed) - 5.0).abs() < 1e-9);
        assert!((room_beside([180.0, 104.0], bed) + 2.0).abs() < 1e-9);
        // 210 x 4 mm fits aslant, and grows by some millimetres before it no longer does.
        let aslant = room_beside([210.0, 4.0], bed);
        assert!(fits_turned(210.0 + 2.0 * aslant, 4.0 + 2.0 * aslant, 200.0, 100.0));
        assert!(!fits_turned(210.01 + 2.0 * aslant, 4.01 + 2.0 * aslant, 200.0, 100.0));
        assert!(aslant > 1.0, "{aslant}");
    }

    #[test]
    fn a_long_bar_fits_a_bed_aslant() {
        assert!(fits_turned(100.0, 50.0, 100.0, 50.0));
        assert!(!fits_turned(101.0, 50.0, 100.0, 100.0_f64.sqrt()));
        // A bar of no width fits up to the diagonal of a 200 x 200 bed, 282.8.
        assert!(fits_turned(282.0, 0.1, 200.0, 200.0));
        assert!(!fits_turned(284.0, 0.1, 200.0, 200.0));
    }
}
