//! The bench a job is made on: what the shop file lists, joined with what the catalogue knows of it.

use crate::catalogue::{Agent, Catalogue, Material, Nozzle, Surface};
use crate::diag::Span;
use crate::fits::calibration::CalibrationRecord;
use crate::fits::feature::{FeatureAxis, FeatureKind};
use crate::geometry::survey::PoseFacts;
use crate::quantity::{Dimension, Flow, Length, Mass, MassPrice, Quantity, Temperature, TimePrice};
use crate::rulebook::value::{Origin, Record, Value};
use crate::semantics::spec::Spec;

use super::facts::Lower;
use super::part::Part;
use super::world::{Knowledge, Partial, at};
use std::sync::Arc;

/// A printer as the resolver needs it.
#[derive(Debug, Clone)]
pub struct Printer {
    pub name: String,
    pub build: [Length; 3],
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
    pub at: Span,
}

/// Tools that fits and treatments need.
#[derive(Debug, Clone, Default)]
pub struct Tools {
    pub dryer_limit: Option<Temperature>,
    pub oven_limit: Option<Temperature>,
    pub extraction: Option<bool>,
    pub nozzle_torque: Option<Quantity>,
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

/// Candidates and stock.
#[derive(Debug, Clone)]
pub struct Bench<'a> {
    pub name: String,
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
        let (bed_long, bed_short) = (x.max(y) - 2.0 * EDGE_MM, x.min(y) - 2.0 * EDGE_MM);
        facts.height_mm <= z && fits_turned(long, short, bed_long, bed_short)
    }

    pub fn is_fitted(&self, printer: usize, nozzle: usize) -> bool {
        self.printers.get(printer).is_some_and(|p| p.fitted == Some(nozzle))
    }

    pub fn is_mounted(&self, printer: usize, surface: usize) -> bool {
        self.printers.get(printer).is_some_and(|p| p.mounted == Some(surface))
    }

    pub fn add_torque(&self, record: &mut Record) {
        record.set("torque", self.tools.nozzle_torque, Origin::None);
    }

    /// Returns the spool to take for a material: the colour asked for, then enough on it, then most on it, then by name.
    pub fn spool(&self, material: usize, spec: &Spec, part: &Part) -> Option<&Spool> {
        let needed = self.needed(material, spec, part).map_or(0.0, Mass::to_g);
        let wanted = spec.service.colour.as_ref().map(|c| c.value.to_lowercase());
        let pinned = spec.pins.iter().find(|p| p.decision.value == crate::semantics::spec::Decision::Spool);
        let pinned = pinned.and_then(|p| match &p.value.value {
            crate::semantics::spec::ChoiceValue::Named(name) => Some(name.clone()),
            _ => None,
        });
        self.spools_of(material).filter(|s| pinned.as_ref().is_none_or(|p| s.name == *p)).max_by(|a, b| {
            let rank = |s: &Spool| {
                let colour = wanted.as_ref().is_none_or(|w| s.colour.as_ref().is_some_and(|c| c.to_lowercase() == *w));
                let left = s.left.map_or(f64::MAX, Mass::to_g);
                (colour, left >= needed, left)
            };
            let (a_rank, b_rank) = (rank(a), rank(b));
            (a_rank.0, a_rank.1)
                .cmp(&(b_rank.0, b_rank.1))
                .then(a_rank.2.total_cmp(&b_rank.2))
                .then_with(|| b.name.cmp(&a.name))
        })
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

    pub fn spool_record(&self, lower: &Lower<'_>, material: usize, spec: &Spec, part: &Part) -> Option<Record> {
        let entry = self.materials.get(material)?;
        let mut record = Record::new(entry.name.clone());
        let needed = self.needed(material, spec, part);
        record.set("needed", needed.map(Quantity::from), Origin::Measured);
        if !self.stock_listed {
            let text = "no spools are listed: every material counts as at hand".to_owned();
            record.set("in_stock", true, Origin::Assumed { text });
            return Some(record);
        }
        let Some(spool) = self.spool(material, spec, part) else {
            record.set("in_stock", false, Origin::None);
            return Some(record);
        };
        let origin = Origin::Stated { place: lower.sources.place(spool.at), requirement: None };
        record.title.clone_from(&spool.name);
        record.set("in_stock", true, origin.clone());
        record.set("name", Value::text(&spool.name), origin.clone());
        record.set("left", spool.left.map(Quantity::from), origin.clone());
        let total: Option<f64> = self.spools_of(material).map(|s| s.left.map(Mass::to_g)).sum();
        if let (Some(total), Some(needed)) = (total, needed) {
            record.set("enough", total >= needed.to_g(), origin.clone());
        }
        if let Some(colour) = &spool.colour {
            record.set("colour", Value::text(colour), origin.clone());
            if let Some(wanted) = &spec.service.colour {
                record.set("colour_right", colour.to_lowercase() == wanted.value.to_lowercase(), origin.clone());
            }
        }
        record.set("dried", spool.dried.is_some(), origin.clone());
        let loaded = self.printers.iter().any(|p| p.loaded_spool.as_ref() == Some(&spool.name));
        record.set("loaded", loaded, origin);
        Some(record)
    }

    pub fn printer_record(&self, lower: &Lower<'_>, printer: usize, knowledge: Knowledge<'_>) -> Option<Record> {
        let p = self.printers.get(printer)?;
        let origin = Origin::Stated { place: lower.sources.place(p.at), requirement: None };
        let mut record = Record::new(p.name.clone());
        record.set("name", Value::text(&p.name), origin.clone());
        for (name, side) in ["build_x", "build_y", "build_z"].iter().zip(p.build) {
            record.set(name, Quantity::from(side), origin.clone());
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
            record.set("loaded", Value::Record(Arc::new(lower.material(material))), origin.clone());
        }
        if let Some(spool) = &p.loaded_spool {
            record.set("loaded_spool", Value::text(spool), origin.clone());
        }
        if let Some(nozzle) = p.fitted.and_then(|n| self.nozzles.get(n)) {
            record.set("fitted", Value::Record(Arc::new(lower.nozzle(nozzle, Some(true)))), origin.clone());
        }
        if let Some(surface) = p.mounted.and_then(|s| self.surfaces.get(s)) {
            let mounted = lower.surface(surface.kind, &surface.name, Some(true), surface.at);
            record.set("mounted", Value::Record(Arc::new(mounted)), origin);
        }
        Some(record)
    }

    pub fn shop_record(&self, lower: &Lower<'_>, choice: &Partial, knowledge: Knowledge<'_>) -> Record {
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
            if let Some(between) = self.between(loaded, next) {
                record.set("purge", Value::Record(Arc::new(lower.material(between))), Origin::None);
            }
        }
        record
    }

    /// Returns a material in stock that prints between two others, nearest the middle, plain ones first: for a staged purge.
    fn between(&self, a: &Material, b: &Material) -> Option<&Material> {
        let (ta, tb) = (a.print_temperature.typ.to_kelvin(), b.print_temperature.typ.to_kelvin());
        let (low, high, middle) = (ta.min(tb), ta.max(tb), 0.5 * (ta + tb));
        self.materials
            .iter()
            .copied()
            .enumerate()
            .filter(|(i, m)| {
                let t = m.print_temperature.typ.to_kelvin();
                let plain = !m.abrasive.value && !m.flexible.value && !m.support_only.value && m.spool_of.is_none();
                let at_hand = !self.stock_listed || self.spools_of(*i).next().is_some();
                t > low + 5.0 && t < high - 5.0 && plain && at_hand
            })
            .min_by(|(_, x), (_, y)| {
                let off = |m: &Material| (m.print_temperature.typ.to_kelvin() - middle).abs();
                off(x).total_cmp(&off(y)).then_with(|| x.name.cmp(&y.name))
            })
            .map(|(_, m)| m)
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
