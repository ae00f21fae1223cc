//! The bench a job is made on: what the shop file lists, joined with what the catalogue knows of it.

mod joining;
mod places;
mod stock;

pub use stock::Job;

use super::limits::LimitRecord;
use crate::catalogue::words::Stored;
use crate::catalogue::{Agent, Catalogue, Material, Nozzle, Surface, figures};
use crate::diag::Span;
use crate::fits::calibration::CalibrationRecord;
use crate::fits::feature::{FeatureAxis, FeatureKind};
use crate::geometry::survey::PoseFacts;
use crate::quantity::{Dimension, Flow, Length, Mass, MassPrice, Quantity, Temperature, TimePrice};
use crate::rulebook::value::{Origin, Record, Value};

use super::facts;
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
    /// Diameter of the filament it takes.
    pub filament: Length,
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
    pub at: Option<Span>,
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
    pub currency: Option<Arc<str>>,
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
