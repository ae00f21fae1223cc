//! What a printer can leave without support with a nozzle and a material: its own record, else what the catalogue says of
//! the material, else the named default.

use crate::catalogue::{Catalogue, Figure, Material, figures};
use crate::geometry::regions::limits::{Limit, Limits};
use crate::quantity::{Angle, Length};

use super::shop::Bench;

/// A workshop's record of the steepest overhang or the longest bridge that came out well.
#[derive(Debug, Clone, PartialEq)]
pub struct LimitRecord {
    pub printer: String,
    pub nozzle: String,
    pub material: String,
    pub what: Recorded,
    pub count: u32,
    /// Date, year first.
    pub on: String,
}

/// What was recorded.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Recorded {
    /// Steepest slope from vertical.
    Overhang(Angle),
    Bridge(Length),
}

impl Recorded {
    /// Returns the angle in degrees, where it is one.
    fn degrees(self) -> Option<f64> {
        // The analysis works on slopes: straight up and flat ceilings are no limit to look for.
        matches!(self, Self::Overhang(_)).then(|| self.value().clamp(5.0, 85.0))
    }

    fn millimetres(self) -> Option<f64> {
        matches!(self, Self::Bridge(_)).then(|| self.value())
    }

    fn value(self) -> f64 {
        match self {
            Self::Overhang(angle) => angle.to_deg(),
            Self::Bridge(span) => span.to_mm(),
        }
    }
}

/// Returns the limits of a printer with a nozzle and a material, all by their place on the bench.
///
/// Without a material there is nothing to go by but the defaults; without a printer and a nozzle, no record.
pub fn limits(bench: &Bench<'_>, printer: Option<usize>, nozzle: Option<usize>, material: Option<usize>) -> Limits {
    let mut limits = Limits::default();
    usual(bench.catalogue, &mut limits);
    let Some(material) = material.and_then(|m| bench.materials.get(m)) else { return limits };
    of_material(material, &mut limits);
    let printer = printer.and_then(|p| bench.printers.get(p)).map(|p| p.name.as_str());
    let nozzle = nozzle.and_then(|n| bench.nozzles.get(n)).map(|n| n.name.as_str());
    let (Some(printer), Some(nozzle)) = (printer, nozzle) else { return limits };
    let latest = |pick: fn(Recorded) -> Option<f64>| {
        let own = |r: &&LimitRecord| r.printer == printer && r.nozzle == nozzle && is_of(r, material);
        let fitting = bench.limit_records.iter().filter(own).filter_map(|r| Some((r, pick(r.what)?)));
        fitting.max_by(|(a, _), (b, _)| a.on.cmp(&b.on).then(a.count.cmp(&b.count)))
    };
    let limit = |(record, value): (&LimitRecord, f64)| {
        let pieces = if record.count == 1 { "1 piece".to_owned() } else { format!("{} pieces", record.count) };
        Limit::new(value, format!("{printer}'s own record, {pieces}, {}", record.on))
    };
    if let Some(found) = latest(Recorded::degrees) {
        limits.overhang_deg = limit(found);
    }
    let bridge = latest(Recorded::millimetres);
    if let Some(found) = bridge {
        limits.bridge_mm = limit(found);
    }
    if bridge.is_some() || latest(Recorded::degrees).is_some() {
        limits.crown_mm = crown(&limits, bridge.is_some());
    }
    limits
}

/// The crown of a lying round hole that holds itself: beyond the overhang limit its flat part is laid as a bridge. What the
/// printer was not tried at is as long as in the usual crown.
fn crown(limits: &Limits, bridged: bool) -> Limit {
    let usual = Limits::default();
    let chord = if bridged { limits.bridge_mm.value } else { usual.crown_mm.value * usual.overhang().cos() };
    let from = if bridged { &limits.bridge_mm.origin } else { &limits.overhang_deg.origin };
    Limit::new(
        chord / limits.overhang().cos(),
        format!("{from}: a flat part of {chord:.2} mm beyond {:.0}°", limits.overhang_deg.value),
    )
}

fn is_of(record: &LimitRecord, material: &Material) -> bool {
    let of = material.spool_of.as_ref().map_or(material.name.as_str(), |s| s.value.as_str());
    record.material == material.name || record.material == of
}

/// The overhang of any machine is a figure, which a workshop may replace.
fn usual(catalogue: &Catalogue, limits: &mut Limits) {
    let figure = catalogue.figure(figures::OVERHANG_TO_CONSIDER);
    let degrees = figure.typ.to_deg();
    if (degrees - limits.overhang_deg.value).abs() > 1e-9 {
        let limit = Limit::new(degrees, format!("default: {}", figure.kind.as_str()));
        limits.overhang_deg = match figure.source.clone() {
            Some(key) => limit.cited(key),
            None => limit,
        };
    }
}

/// The catalogue's figures. Its overhangs are those of tuned machines, which one without a record is not known to be: the
/// default stands wherever it lies within the material's range, else the end of the range nearest to it.
fn of_material(material: &Material, limits: &mut Limits) {
    let figure = &material.overhang_limit;
    let (low, typical) = (figure.low().to_deg(), figure.typ.to_deg());
    let default = limits.overhang_deg.value;
    let within = default.max(low).min(typical.max(low));
    if (within - default).abs() > 1e-9 {
        limits.overhang_deg = from_catalogue(material, figure, within);
    }
    limits.bridge_mm = from_catalogue(material, &material.bridge_span, material.bridge_span.typ.to_mm());
}

fn from_catalogue<T>(material: &Material, figure: &Figure<T>, value: f64) -> Limit {
    let limit = Limit::new(value, format!("{}, catalogue: {}", material.name, figure.kind.as_str()));
    match &figure.source {
        Some(key) => limit.cited(key.clone()),
        None => limit,
    }
}

/// Returns every overhang limit that a choice on this bench may bring, in degrees, ascending, each once: the poses are
/// looked at by each of them.
pub fn angles(bench: &Bench<'_>) -> Vec<f64> {
    let at_hand = |m: &usize| !bench.stock_listed || bench.spools_of(*m).next().is_some();
    let mut found: Vec<f64> = (0..bench.materials.len())
        .filter(at_hand)
        .map(|m| limits(bench, None, None, Some(m)).overhang_deg.value)
        .chain(bench.limit_records.iter().filter_map(|r| r.what.degrees()))
        .collect();
    found.sort_by(f64::total_cmp);
    found.dedup();
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_default_overhang_is_held_within_what_the_material_is_known_to_do() {
        let (catalogue, _) = crate::catalogue::built_in();
        let mut material = catalogue.materials.values().next().unwrap().clone();
        let mut of = |low: f64, typical: f64| {
            (material.overhang_limit.low, material.overhang_limit.typ) = (Some(Angle::deg(low)), Angle::deg(typical));
            let mut limits = Limits::default();
            of_material(&material, &mut limits);
            limits.overhang_deg.value
        };
        let near = |a: f64, b: f64| assert!((a - b).abs() < 1e-9, "{a} against {b}");
        let default = Limits::default().overhang_deg.value;
        near(of(default - 10.0, default + 10.0), default);
        near(of(default - 10.0, default - 5.0), default - 5.0);
        near(of(default + 5.0, default + 10.0), default + 5.0);
    }

    #[test]
    fn a_crown_is_as_long_as_the_printer_was_seen_to_bridge() {
        let mut limits = Limits::default();
        let usual = crown(&limits, false).value;
        limits.bridge_mm.value *= 3.0;
        assert!((crown(&limits, false).value - usual).abs() < 1e-9, "not tried: as in the usual crown");
        let seen = limits.bridge_mm.value / limits.overhang().cos();
        assert!((crown(&limits, true).value - seen).abs() < 1e-9);
    }
}
