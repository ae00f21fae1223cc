//! The bench a job is made on: what the shop file lists, joined with what the catalogue knows of it.

use super::heat::Coat;
use super::limits::{LimitRecord, Recorded};
use crate::catalogue::shop::{self, Shop};
use crate::catalogue::{Agent, Catalogue, Material, Nozzle, Surface};
use crate::diag::Span;
use crate::fits::calibration::CalibrationRecord;
use crate::fits::feature::{FeatureAxis, FeatureKind};
use crate::geometry::survey::PoseFacts;
use crate::quantity::{Dimension, Flow, Length, Mass, MassPrice, Quantity, Temperature, TimePrice};
use crate::rulebook::value::{Origin, Record, Value};
use crate::semantics::spec::Spec;

use super::facts;
use super::part::Part;
use super::purge;
use super::world::{Knowledge, Partial, at};
use std::sync::Arc;

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
    /// `direct` or `bowden`
    pub drive: &'static str,
    pub flow: Flow,
    pub hour_rate: Option<TimePrice>,
    /// Material loaded now, by catalogue name.
    pub loaded: Option<String>,
    pub loaded_spool: Option<String>,
    /// Index into [`Bench::nozzles`].
    pub fitted: Option<usize>,
    /// Index into [`Bench::surfaces`].
    pub mounted: Option<usize>,
    pub level_due: bool,
    /// Tightening torque of the nozzle, from the hot end's documentation.
    pub torque: Option<Quantity>,
    /// Names of the nozzles and surfaces that fit it; all of them where nothing is said.
    pub nozzles: Option<Vec<String>>,
    pub surfaces: Option<Vec<String>>,
    pub at: Span,
}

#[derive(Debug, Clone)]
pub struct BenchSurface<'a> {
    pub name: String,
    pub kind: &'a Surface,
    pub at: Span,
}

#[derive(Debug, Clone)]
pub struct BenchAgent<'a> {
    pub name: String,
    /// `None`: no agent.
    pub kind: Option<&'a Agent>,
    pub at: Option<Span>,
}

#[derive(Debug, Clone)]
pub struct Spool {
    pub name: String,
    pub material: String,
    pub colour: Option<String>,
    pub left: Option<Mass>,
    pub price: Option<MassPrice>,
    pub opened: Option<String>,
    pub dried: Option<String>,
    /// Kept in a bag or a dry box.
    pub dry_kept: bool,
    pub at: Span,
}

/// Tools that fits and treatments need.
#[derive(Debug, Clone, Default)]
pub struct Tools {
    pub dryer_limit: Option<Temperature>,
    pub oven_limit: Option<Temperature>,
    pub extraction: Option<bool>,
}

/// Good pieces of those started, as the shop recorded them.
#[derive(Debug, Clone)]
pub struct Yield {
    pub printer: Option<String>,
    pub material: Option<String>,
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

/// Candidates and stock.
#[derive(Debug, Clone)]
pub struct Bench<'a> {
    pub name: String,
    pub catalogue: &'a Catalogue,
    /// No shop file was found; a well-equipped bench is assumed.
    pub assumed: bool,
    pub currency: String,
    pub printers: Vec<Printer>,
    /// All materials of the catalogue, by name.
    pub materials: Vec<&'a Material>,
    pub nozzles: Vec<Nozzle>,
    pub surfaces: Vec<BenchSurface<'a>>,
    /// The first is no agent.
    pub agents: Vec<BenchAgent<'a>>,
    pub spools: Vec<Spool>,
    /// The shop lists its spools; without a list every material counts as at hand.
    pub stock_listed: bool,
    pub tools: Tools,
    pub yields: Vec<Yield>,
    pub calibration: Vec<CalibrationRecord>,
    /// What its printers were found to print without support.
    pub limit_records: Vec<LimitRecord>,
    /// Gaps at which pieces printed in place came free.
    pub gaps: Vec<Gap>,
    /// The latest date the shop file states: the day it was last kept up, as far as it says.
    pub latest: Option<String>,
    /// What there is to finish fits with.
    pub fit_tools: crate::fits::feature::Tools,
}

/// Free room kept between part and the edge of the build volume (common practice: brim and clips need it).
const EDGE_MM: f64 = 5.0;
/// Waste on top of a part's own mass: purge, skirt, a failed start (from memory).
const WASTE: f64 = 1.15;

impl Bench<'_> {
    /// Returns whether a pose fits a printer, turned about the vertical if that helps.
    pub fn fits(&self, printer: usize, facts: &PoseFacts) -> bool {
        let Some(p) = self.printers.get(printer) else { return false };
        let [x, y, z] = p.build.map(Length::to_mm);
        let (long, short) = (facts.footprint_mm[0], facts.footprint_mm[1]);
        let edge = 2.0 * p.edge.to_mm();
        let (bed_long, bed_short) = (x.max(y) - edge, x.min(y) - edge);
        facts.height_mm <= z && fits_turned(long, short, bed_long, bed_short)
    }

    pub fn is_fitted(&self, printer: usize, nozzle: usize) -> bool {
        self.printers.get(printer).is_some_and(|p| p.fitted == Some(nozzle))
    }

    pub fn is_mounted(&self, printer: usize, surface: usize) -> bool {
        self.printers.get(printer).is_some_and(|p| p.mounted == Some(surface))
    }

    /// Returns whether a nozzle fits a printer at all.
    pub fn nozzle_suits(&self, printer: usize, nozzle: usize) -> bool {
        suits(self.printers.get(printer).and_then(|p| p.nozzles.as_ref()), self.nozzles.get(nozzle).map(|n| &n.name))
    }

    /// Returns whether a surface fits a printer at all.
    pub fn surface_suits(&self, printer: usize, surface: usize) -> bool {
        suits(self.printers.get(printer).and_then(|p| p.surfaces.as_ref()), self.surfaces.get(surface).map(|s| &s.name))
    }

    pub fn add_torque(&self, printer: Option<usize>, record: &mut Record) {
        record.set("torque", printer.and_then(|p| self.printers.get(p)).and_then(|p| p.torque), Origin::None);
    }

    /// Returns the spool to take for a material: the colour asked for, then enough on it, then one that is loaded, then most on it,
    /// then by name.
    pub fn spool(&self, material: usize, spec: &Spec, part: &Part) -> Option<&Spool> {
        let needed = self.needed(material, spec, part).map_or(0.0, Mass::to_g);
        let wanted = spec.service.colour.as_ref().map(|c| c.value.as_str());
        let pinned = spec.pins.iter().find(|p| p.decision.value == crate::semantics::spec::Decision::Spool);
        let pinned = pinned.and_then(|p| match &p.value.value {
            crate::semantics::spec::ChoiceValue::Named(name) => Some(name.clone()),
            _ => None,
        });
        let left = |s: &Spool| s.left.map_or(f64::MAX, Mass::to_g);
        self.spools_of(material).filter(|s| pinned.as_ref().is_none_or(|p| s.name == *p)).max_by(|a, b| {
            let rank = |s: &Spool| {
                let same = |w: &str| s.colour.as_ref().is_some_and(|c| self.catalogue.same_colour(c, w));
                let colour = wanted.is_none_or(same);
                let loaded = self.printers.iter().any(|p| p.loaded_spool.as_ref() == Some(&s.name));
                (colour, left(s) >= needed, loaded)
            };
            rank(a).cmp(&rank(b)).then(left(a).total_cmp(&left(b))).then_with(|| b.name.cmp(&a.name))
        })
    }

    /// Returns what gives a part in a material its colour.
    pub fn coat(&self, material: usize, spec: &Spec, part: &Part) -> Coat<'_> {
        let sold = self.materials.get(material).and_then(|m| m.colours.as_ref()).map(|c| c.value.as_slice());
        let spool = self.spool(material, spec, part).and_then(|s| Some((s.name.as_str(), s.colour.as_deref()?)));
        Coat { sold, spool }
    }

    /// Returns the spools a material is printed from, in the order of the shop file.
    pub fn spools_of(&self, material: usize) -> impl Iterator<Item = &Spool> {
        let names =
            self.materials.get(material).map(|m| (m.name.clone(), m.spool_of.as_ref().map(|s| s.value.clone())));
        self.spools.iter().filter(move |s| {
            names.as_ref().is_some_and(|(name, of)| s.material == *name || of.as_ref() == Some(&s.material))
        })
    }

    /// Returns the filament the whole run needs, solid parts and waste counted.
    pub fn needed(&self, material: usize, spec: &Spec, part: &Part) -> Option<Mass> {
        let density = self.materials.get(material)?.density.typ.to_g_per_cm3();
        let pieces = spec.quantity.map_or(1.0, |q| f64::from(q.value));
        Some(Mass::g(part.volume_mm3? / 1000.0 * density * pieces * WASTE))
    }

    pub fn spool_record(&self, material: usize, spec: &Spec, part: &Part) -> Option<Record> {
        let entry = self.materials.get(material)?;
        let mut record = Record::new(entry.name.clone());
        let needed = self.needed(material, spec, part);
        record.set("needed", needed.map(Quantity::from), Origin::Measured);
        if !self.stock_listed {
            let text = "no spools are listed: every material counts as at hand".to_owned();
            record.set("in_stock", true, Origin::Assumed { text: text.into() });
            return Some(record);
        }
        let Some(spool) = self.spool(material, spec, part) else {
            record.set("in_stock", false, Origin::None);
            return Some(record);
        };
        let origin = Origin::Stated { at: spool.at };
        record.title.clone_from(&spool.name);
        record.set("in_stock", true, origin.clone());
        record.set("name", Value::text(&spool.name), origin.clone());
        record.set("left", spool.left.map(Quantity::from), origin.clone());
        let total: Option<f64> = self.spools_of(material).map(|s| s.left.map(Mass::to_g)).sum();
        record.set("left_in_all", total.map(|g| Quantity::from(Mass::g(g))), origin.clone());
        if let (Some(total), Some(needed)) = (total, needed) {
            record.set("enough", total >= needed.to_g(), origin.clone());
        }
        if let Some(colour) = &spool.colour {
            record.set("colour", Value::text(colour), origin.clone());
            if let Some(wanted) = &spec.service.colour {
                record.set("colour_right", self.catalogue.same_colour(colour, &wanted.value), origin.clone());
            }
        }
        record.set("dried", spool.dried.is_some() && spool.dry_kept, origin.clone());
        let loaded = self.printers.iter().any(|p| p.loaded_spool.as_ref() == Some(&spool.name));
        record.set("loaded", loaded, origin);
        Some(record)
    }

    pub fn printer_record(&self, printer: usize, knowledge: Knowledge<'_>) -> Option<Record> {
        let p = self.printers.get(printer)?;
        let origin = Origin::Stated { at: p.at };
        let mut record = Record::new(p.name.clone());
        record.set("name", Value::text(&p.name), origin.clone());
        for (name, side) in ["build_x", "build_y", "build_z"].iter().zip(p.build) {
            record.set(*name, Quantity::from(side), origin.clone());
        }
        record.set("nozzle_limit", Quantity::from(p.nozzle_limit), origin.clone());
        record.set("bed_limit", Quantity::from(p.bed_limit), origin.clone());
        record.set("chamber", p.chamber.map(Quantity::from), origin.clone());
        record.set("enclosed", p.enclosed, origin.clone());
        record.set("drive", Value::word(p.drive), origin.clone());
        record.set("flow", Quantity::from(p.flow), origin.clone());
        record.set("hour_rate", p.hour_rate.map(Quantity::from), origin.clone());
        record.set("level_due", p.level_due, origin.clone());
        if let Some(material) = p.loaded.as_ref().and_then(|name| knowledge.catalogue.material(name)) {
            record.set("loaded", Value::Record(Arc::new(facts::material(material))), origin.clone());
        }
        if let Some(spool) = &p.loaded_spool {
            record.set("loaded_spool", Value::text(spool), origin.clone());
        }
        if let Some(nozzle) = p.fitted.and_then(|n| self.nozzles.get(n)) {
            record.set("fitted", Value::Record(Arc::new(facts::nozzle(nozzle, Some(true)))), origin.clone());
        }
        if let Some(surface) = p.mounted.and_then(|s| self.surfaces.get(s)) {
            let mounted = facts::surface(surface.kind, &surface.name, Some(true), surface.at);
            record.set("mounted", Value::Record(Arc::new(mounted)), origin);
        }
        Some(record)
    }

    pub fn shop_record(&self, choice: &Partial, knowledge: Knowledge<'_>) -> Record {
        let mut record = Record::new(self.name.clone());
        record.set("name", Value::text(&self.name), Origin::None);
        record.set("assumed", self.assumed, Origin::None);
        record.set("has_dryer", self.tools.dryer_limit.is_some(), Origin::None);
        record.set("dryer_limit", self.tools.dryer_limit.map(Quantity::from), Origin::None);
        record.set("has_oven", self.tools.oven_limit.is_some(), Origin::None);
        record.set("oven_limit", self.tools.oven_limit.map(Quantity::from), Origin::None);
        record.set("extraction", self.tools.extraction.map(Value::Bool), Origin::None);
        let next = choice[at::MATERIAL].and_then(|m| self.materials.get(m));
        let loaded = choice[at::PRINTER]
            .and_then(|p| self.printers.get(p)?.loaded.as_ref())
            .and_then(|name| knowledge.catalogue.material(name));
        if let (Some(next), Some(loaded)) = (next, loaded) {
            let (from, to) = (loaded.print_temperature.typ.to_kelvin(), next.print_temperature.typ.to_kelvin());
            let gap = Quantity::new(to - from, Dimension::TEMPERATURE_DIFFERENCE);
            record.set("purge_gap", gap, Origin::None);
            let limit = choice[at::PRINTER].and_then(|p| self.printers.get(p)).map(|p| p.nozzle_limit);
            let degrees = |t: f64| Quantity::from(Temperature::kelvin(t));
            if let Some(direct) = purge::temperature(loaded, next, limit) {
                record.set("purge_direct", degrees(direct), Origin::None);
            } else if let Some(way) = purge::through(self.plain_at_hand(), loaded, next, limit) {
                record.set("purge", Value::Record(Arc::new(facts::material(way.by))), Origin::None);
                record.set("purge_in", degrees(way.into), Origin::None);
                record.set("purge_out", degrees(way.out), Origin::None);
            }
        }
        record
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
        self.calibration
            .iter()
            .filter(|r| r.printer == printer && r.nozzle == nozzle && r.what == kind && r.axis == axis)
            .filter(|r| r.material == material.name || r.material == of)
            .max_by(|a, b| a.on.cmp(&b.on).then_with(|| a.count.cmp(&b.count)))
            .cloned()
    }
}

impl Bench<'_> {
    /// Returns the newest record of gaps printed in place for a printer, nozzle, material and lie.
    pub fn gap(&self, printer: &str, nozzle: &str, material: &Material, axis: FeatureAxis) -> Option<&Gap> {
        self.gaps
            .iter()
            .filter(|g| g.printer == printer && g.nozzle == nozzle && g.axis == axis && g.material == material.name)
            .max_by(|a, b| a.on.cmp(&b.on).then_with(|| a.count.cmp(&b.count)))
    }
}

fn suits(listed: Option<&Vec<String>>, name: Option<&String>) -> bool {
    listed.is_none_or(|list| name.is_some_and(|n| list.contains(n)))
}

/// Returns whether a rectangle fits another, turned in the plane if that helps (Carver 1957: the long side may exceed the
/// bed's when laid aslant).
fn fits_turned(p: f64, q: f64, a: f64, b: f64) -> bool {
    if p <= a && q <= b {
        return true;
    }
    p > a
        && q <= b
        && b * (p * p + q * q) >= 2.0 * p * q * a + (p * p - q * q) * (p * p + q * q - a * a).max(0.0).sqrt()
}

/// Returns the default melt flow of a hot end by the length of its melt zone, from the catalogue's process figures.
pub fn flow_of(zone: &str, catalogue: &Catalogue) -> Flow {
    let key = match zone {
        "long" => "flow_long_melt_zone",
        "very-long" => "flow_very_long_melt_zone",
        _ => "flow_short_melt_zone",
    };
    let listed = catalogue.process(key).and_then(|f| Flow::try_from(f.typ).ok());
    // The figures of the process table's source, should a shop have overridden the table without them.
    listed.unwrap_or(Flow::mm3_per_s(if zone == "short" { 11.0 } else { 24.0 }))
}

impl<'a> Bench<'a> {
    /// Joins a shop with what the catalogue knows of the things it lists; what the catalogue does not know is left out
    /// (the shop's own check has reported it).
    pub fn of(shop: &Shop, catalogue: &'a Catalogue, assumed: bool) -> Self {
        let nozzles: Vec<Nozzle> = shop
            .nozzles
            .iter()
            .filter_map(|n| catalogue.nozzle(&n.name.value, &n.metal.value, n.bore.value, n.at))
            .collect();
        let surfaces: Vec<BenchSurface<'a>> = shop
            .surfaces
            .iter()
            .filter_map(|s| {
                let kind = catalogue.surfaces.get(&s.kind.value)?;
                Some(BenchSurface { name: s.name.value.clone(), kind, at: s.at })
            })
            .collect();
        let mut agents = vec![BenchAgent { name: "none".to_owned(), kind: None, at: None }];
        agents.extend(shop.agents.iter().filter(|a| a.kind.value != "none").filter_map(|a| {
            let kind = catalogue.agents.get(&a.kind.value)?;
            Some(BenchAgent { name: a.name.value.clone(), kind: Some(kind), at: Some(a.at) })
        }));
        let printers = shop.printers.iter().map(|p| printer(p, shop, catalogue, &nozzles, &surfaces)).collect();
        Self {
            name: shop.name.value.clone(),
            catalogue,
            assumed,
            currency: shop.currency.as_ref().map_or("money".to_owned(), |c| c.value.clone()),
            printers,
            materials: catalogue.materials.values().collect(),
            nozzles,
            surfaces,
            agents,
            spools: shop.spools.iter().flatten().map(spool).collect(),
            stock_listed: shop.spools.is_some(),
            tools: tools(shop),
            yields: shop.yields.iter().map(yield_record).collect(),
            calibration: shop.calibration.iter().filter_map(calibration).collect(),
            limit_records: shop.calibration.iter().filter_map(limit_record).collect(),
            gaps: shop.calibration.iter().filter_map(gap).collect(),
            latest: latest(shop),
            fit_tools: fit_tools(shop),
        }
    }
}

/// Dates are written year first, so that the latest is the largest text.
fn latest(shop: &Shop) -> Option<String> {
    let spools = shop.spools.iter().flatten().flat_map(|s| [s.opened.as_ref(), s.dried.as_ref()]).flatten();
    let yields = shop.yields.iter().filter_map(|y| y.on.as_ref());
    let records = shop.calibration.iter().map(|c| &c.on);
    spools.chain(yields).chain(records).map(|d| d.value.0.clone()).max()
}

fn printer(
    p: &shop::Printer,
    all: &Shop,
    catalogue: &Catalogue,
    nozzles: &[Nozzle],
    surfaces: &[BenchSurface<'_>],
) -> Printer {
    let now = p.now.as_ref();
    let zone = p.melt_zone.as_ref().map_or("short", |z| z.value.as_str());
    let loaded_spool = now.and_then(|n| n.spool.as_ref()).map(|s| s.value.clone());
    // A spool on the machine says what is loaded, should the material not be named.
    let by_spool = loaded_spool.as_ref().and_then(|name| all.spool(name)).map(|s| s.material.value.clone());
    Printer {
        name: p.name.value.clone(),
        build: p.build.size,
        edge: p.edge.as_ref().map_or(Length::mm(EDGE_MM), |e| e.value),
        nozzle_limit: p.nozzle_limit.value,
        bed_limit: p.bed_limit.value,
        enclosed: p.enclosed.value,
        chamber: p.chamber.as_ref().map(|c| c.value),
        drive: p.drive.value.as_str(),
        flow: p.flow.as_ref().map_or_else(|| flow_of(zone, catalogue), |f| f.value),
        hour_rate: p.hour_rate.as_ref().map(|r| r.value),
        loaded: now.and_then(|n| n.material.as_ref()).map(|m| m.value.clone()).or(by_spool),
        loaded_spool,
        fitted: now.and_then(|n| n.nozzle.as_ref()).and_then(|f| nozzles.iter().position(|n| n.name == f.value)),
        mounted: now.and_then(|n| n.surface.as_ref()).and_then(|m| surfaces.iter().position(|s| s.name == m.value)),
        level_due: p.level_due.as_ref().is_some_and(|l| l.value)
            || now.and_then(|n| n.levelled.as_ref()).is_some_and(|l| !l.value),
        torque: p.nozzle_torque.as_ref().map(|t| Quantity::from(t.value)),
        nozzles: p.nozzles.as_ref().map(|n| n.value.clone()),
        surfaces: p.surfaces.as_ref().map(|s| s.value.clone()),
        at: p.at,
    }
}

fn spool(s: &shop::Spool) -> Spool {
    Spool {
        name: s.name.value.clone(),
        material: s.material.value.clone(),
        colour: s.colour.as_ref().map(|c| c.value.clone()),
        left: s.left.as_ref().map(|l| l.value),
        price: s.price.as_ref().map(|p| p.value),
        opened: s.opened.as_ref().map(|d| d.value.0.clone()),
        dried: s.dried.as_ref().map(|d| d.value.0.clone()),
        dry_kept: s.stored.as_ref().is_some_and(|k| k.value != crate::catalogue::words::Stored::Open),
        at: s.at,
    }
}

fn tools(shop: &Shop) -> Tools {
    let tools = shop.tools.as_ref();
    Tools {
        dryer_limit: tools.and_then(|t| t.dryer_limit.as_ref()).map(|l| l.value),
        oven_limit: tools.and_then(|t| t.oven_limit.as_ref()).map(|l| l.value),
        extraction: shop.extraction.as_ref().map(|e| e.value),
    }
}

fn yield_record(y: &shop::Yield) -> Yield {
    Yield {
        printer: y.printer.as_ref().map(|p| p.value.clone()),
        material: y.material.as_ref().map(|m| m.value.clone()),
        good: u64::from(y.good.value),
        started: u64::from(y.started.value),
        at: y.at,
    }
}

/// Turns a shop's record of holes or outside sizes into what the fits take; other records are not about fits.
fn calibration(c: &shop::Calibration) -> Option<CalibrationRecord> {
    use crate::catalogue::words::{Axis, Measured};
    let what = match c.what.value {
        Measured::Hole => FeatureKind::Hole,
        Measured::Outside => FeatureKind::Outside,
        _ => return None,
    };
    let axis = match c.axis.as_ref()?.value {
        Axis::AlongLayers => FeatureAxis::AlongLayers,
        Axis::AcrossLayers => FeatureAxis::AcrossLayers,
        _ => return None,
    };
    Some(CalibrationRecord {
        printer: c.printer.value.clone(),
        nozzle: c.nozzle.value.clone(),
        material: c.material.value.clone(),
        what,
        axis,
        offset: c.offset.as_ref().map_or(Length::mm(0.0), |o| o.value),
        scale: c.scale.as_ref().map_or(1.0, |s| Quantity::from(s.value).si),
        spread: c.spread.as_ref().map(|s| s.value)?,
        count: c.count.value,
        on: c.on.value.0.clone(),
        range: c.from.as_ref().zip(c.to.as_ref()).map(|(a, b)| (a.value, b.value)),
    })
}

/// Turns a shop's record of overhangs or bridges into a limit; other records are not about support.
fn limit_record(c: &shop::Calibration) -> Option<LimitRecord> {
    use crate::catalogue::words::Measured;
    let what = match c.what.value {
        Measured::Overhang => Recorded::Overhang(c.angle.as_ref()?.value),
        Measured::Bridge => Recorded::Bridge(c.span.as_ref()?.value),
        _ => return None,
    };
    Some(LimitRecord {
        printer: c.printer.value.clone(),
        nozzle: c.nozzle.value.clone(),
        material: c.material.value.clone(),
        what,
        count: c.count.value,
        on: c.on.value.0.clone(),
    })
}

fn gap(c: &shop::Calibration) -> Option<Gap> {
    use crate::catalogue::words::{Axis, Measured};
    let axis = match c.axis.as_ref()?.value {
        Axis::AlongLayers => FeatureAxis::AlongLayers,
        Axis::AcrossLayers => FeatureAxis::AcrossLayers,
        _ => return None,
    };
    (c.what.value == Measured::Gap).then_some(())?;
    Some(Gap {
        printer: c.printer.value.clone(),
        nozzle: c.nozzle.value.clone(),
        material: c.material.value.clone(),
        axis,
        gap: c.gap.as_ref()?.value,
        count: c.count.value,
        on: c.on.value.0.clone(),
    })
}

fn fit_tools(shop: &Shop) -> crate::fits::feature::Tools {
    let Some(tools) = &shop.tools else { return crate::fits::feature::Tools::default() };
    let sizes = |list: &Option<Vec<shop::Sized>>| list.iter().flatten().map(|s| s.size).collect();
    crate::fits::feature::Tools {
        known: true,
        reamers: sizes(&tools.reamers),
        drills: sizes(&tools.drills),
        taps: tools.taps.as_ref().map(|t| t.value.clone()).unwrap_or_default(),
        inserts: tools.inserts.iter().flatten().filter_map(insert).collect(),
        lathe: tools.lathe.as_ref().is_some_and(|l| l.value),
    }
}

/// An insert whose hole the shop knows; without it the usual value of the fits stands.
fn insert(i: &shop::Insert) -> Option<crate::fits::hardware::InsertData> {
    let usual = crate::fits::hardware::insert_data(&i.thread.value, &[]).ok();
    let pick = |own: &Option<crate::catalogue::Located<Length>>, usual: Option<Length>| {
        own.as_ref().map(|l| l.value).or(usual)
    };
    Some(crate::fits::hardware::InsertData {
        thread: i.thread.value.clone(),
        hole: pick(&i.hole, usual.as_ref().map(|u| u.hole))?,
        outside: pick(&i.outside, usual.as_ref().map(|u| u.outside))?,
        length: pick(&i.length, usual.as_ref().map(|u| u.length))?,
        source: match &i.hole {
            Some(_) => crate::fits::Provenance::new(crate::fits::SourceKind::Measured, "the shop's own insert data"),
            None => usual.map(|u| u.source)?,
        },
    })
}

#[cfg(test)]
mod tests {
    use super::fits_turned;

    #[test]
    fn a_long_bar_fits_a_bed_aslant() {
        assert!(fits_turned(100.0, 50.0, 100.0, 50.0));
        assert!(!fits_turned(101.0, 50.0, 100.0, 100.0_f64.sqrt()));
        // A bar of no width fits up to the diagonal of a 200 x 200 bed, 282.8.
        assert!(fits_turned(282.0, 0.1, 200.0, 200.0));
        assert!(!fits_turned(284.0, 0.1, 200.0, 200.0));
    }
}
