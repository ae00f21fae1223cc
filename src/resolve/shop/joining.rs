//! From the shop's file to the bench: what it lists, joined with what the catalogue knows.

use super::super::limits::{LimitRecord, Recorded};
use super::read::Entries;
use super::{Bench, BenchAgent, BenchSurface, Gap, Measurement, Printer, Spool, Tools, Yield, flow_of};
use crate::catalogue::shop::{self, Shop};
use crate::catalogue::words::{Axis, Measured};
use crate::catalogue::{BuildUp, Catalogue, Located, Nozzle, figures};
use crate::fits::calibration::CalibrationRecord;
use crate::fits::feature::{FeatureAxis, FeatureKind};
use crate::quantity::{Length, Quantity};

impl<'a> Bench<'a> {
    /// Joins a shop with what the catalogue knows of the things it lists; what the catalogue does not know is left out
    /// (the shop's own check has reported it).
    pub fn of(shop: &Shop, catalogue: &'a Catalogue, assumed: bool) -> Self {
        let nozzles: Vec<Nozzle> = shop
            .nozzles
            .iter()
            .filter_map(|n| {
                let known = catalogue.nozzle(&n.name.value, &n.metal.value, n.bore.value, n.at)?;
                let worn = n.worn.as_ref().map(|w| w.value);
                Some(Nozzle { worn, count: n.count.as_ref().map_or(1, |c| c.value), ..known })
            })
            .collect();
        let surfaces: Vec<BenchSurface<'a>> = shop
            .surfaces
            .iter()
            .filter_map(|s| {
                let kind = catalogue.surfaces.get(&s.kind.value)?;
                let (limit, count) = (s.limit.as_ref().map(|l| l.value), s.count.as_ref().map(|c| c.value));
                Some(BenchSurface { name: s.name.value.clone(), kind, limit, count, at: s.at })
            })
            .collect();
        let mut agents = vec![BenchAgent { name: "none".to_owned(), kind: None }];
        agents.extend(shop.agents.iter().filter(|a| a.kind.value != "none").filter_map(|a| {
            let kind = catalogue.agents.get(&a.kind.value)?;
            Some(BenchAgent { name: a.name.value.clone(), kind: Some(kind) })
        }));
        let mut entries = Entries::default();
        let tools = tools(shop);
        let fit_tools = fit_tools(shop);
        entries.of_tools(&tools, &fit_tools);
        let printers = shop.printers.iter().map(|p| printer(p, shop, catalogue, &nozzles, &surfaces)).collect();
        Self {
            name: shop.name.value.clone(),
            catalogue,
            assumed,
            currency: shop.currency.as_ref().map(|c| std::sync::Arc::from(c.value.as_str())),
            printers,
            materials: catalogue.materials.values().collect(),
            build_ups: build_ups(catalogue),
            nozzles,
            surfaces,
            agents,
            spools: shop.spools.iter().flatten().map(|s| spool(s, catalogue)).collect(),
            stock_listed: shop.spools.is_some(),
            plate: None,
            tools,
            yields: entries.each("yields", &shop.yields, |y| Some(yield_record(y))),
            calibration: entries.each("calibration", &shop.calibration, calibration),
            limit_records: shop.calibration.iter().filter_map(limit_record).collect(),
            gaps: entries.each("calibration", &shop.calibration, gap),
            flows: shop
                .calibration
                .iter()
                .filter_map(|c| measurement(c, Measured::Flow, c.flow.as_ref()?.value))
                .collect(),
            scales: entries.each("calibration", &shop.calibration, scale),
            electricity: shop.electricity.as_ref().map(|e| e.value),
            labour: shop.labour.as_ref().map(|l| l.value),
            printed: None,
            latest: latest(shop),
            fit_tools,
            entries: entries.done(),
        }
    }
}

/// Dates are written year first, so that the latest is the largest text.
/// Returns the build-ups of the catalogue, from light to solid.
fn build_ups(catalogue: &Catalogue) -> Vec<&BuildUp> {
    let mut all: Vec<&BuildUp> = catalogue.build_ups.values().collect();
    let filled = |b: &BuildUp| [Quantity::from(b.infill.typ).si, b.walls.typ.to_mm()];
    all.sort_by(|a, b| filled(a).partial_cmp(&filled(b)).unwrap_or(std::cmp::Ordering::Equal));
    all
}

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
        edge: p.edge.as_ref().map_or_else(|| catalogue.value(figures::PLATE_EDGE), |e| e.value),
        nozzle_limit: p.nozzle_limit.value,
        bed_limit: p.bed_limit.value,
        enclosed: p.enclosed.value,
        chamber: p.chamber.as_ref().map(|c| c.value),
        drive: p.drive.value,
        flow: p.flow.as_ref().map_or_else(|| flow_of(zone, catalogue), |f| f.value),
        hour_rate: p.hour_rate.as_ref().map(|r| r.value),
        speed: p.speed.as_ref().map(|s| s.value),
        acceleration: p.acceleration.as_ref().map(|a| a.value),
        pace: p.pace.as_ref().map(|p| p.value.value()),
        power: p.power.as_ref().map(|p| p.value),
        loaded: now.and_then(|n| n.material.as_ref()).map(|m| m.value.clone()).or(by_spool),
        loaded_spool,
        coated: now.and_then(|n| n.agent.as_ref()).map(|a| a.value.clone()).filter(|a| a != "none"),
        filament: filament(p.filament.as_ref(), catalogue),
        fitted: now.and_then(|n| n.nozzle.as_ref()).and_then(|f| nozzles.iter().position(|n| n.name == f.value)),
        mounted: now.and_then(|n| n.surface.as_ref()).and_then(|m| surfaces.iter().position(|s| s.name == m.value)),
        level_due: p.level_due.as_ref().is_some_and(|l| l.value)
            || now.and_then(|n| n.levelled.as_ref()).is_some_and(|l| !l.value),
        free_from: p.free_from.as_ref().map(|day| day.value.0.clone()),
        torque: p.nozzle_torque.as_ref().map(|t| t.value),
        nozzles: p.nozzles.as_ref().map(|n| n.value.clone()),
        surfaces: p.surfaces.as_ref().map(|s| s.value.clone()),
        at: p.at,
    }
}

fn spool(s: &shop::Spool, catalogue: &Catalogue) -> Spool {
    Spool {
        name: s.name.value.clone(),
        material: s.material.value.clone(),
        colour: s.colour.as_ref().map(|c| c.value.clone()),
        left: s.left.as_ref().map(|l| l.value),
        filament: filament(s.filament.as_ref(), catalogue),
        price: s.price.as_ref().map(|p| p.value),
        opened: s.opened.as_ref().map(|d| d.value.0.clone()),
        dried: s.dried.as_ref().map(|d| d.value.0.clone()),
        stored: s.stored.as_ref().map(|k| k.value),
        print_temperature: s.print_temperature.as_ref().map(|t| t.value),
        bed_temperature: s.bed_temperature.as_ref().map(|t| t.value),
        limit: s.spool_limit.as_ref().map(|t| t.value),
        at: s.at,
    }
}

/// The diameter stated, else the usual one.
fn filament(stated: Option<&Located<Length>>, catalogue: &Catalogue) -> Length {
    stated.map_or_else(|| catalogue.value(figures::USUAL_FILAMENT), |f| f.value)
}

fn tools(shop: &Shop) -> Tools {
    let tools = shop.tools.as_ref();
    Tools {
        dryer_limit: tools.and_then(|t| t.dryer_limit.as_ref()).map(|l| l.value),
        oven_limit: tools.and_then(|t| t.oven_limit.as_ref()).map(|l| l.value),
        extraction: shop.extraction.as_ref().map(|e| e.value),
        iron: flag(tools.and_then(|t| t.iron.as_ref())),
        scale: flag(tools.and_then(|t| t.scale.as_ref())),
        drill_press: flag(tools.and_then(|t| t.drill_press.as_ref())),
        gauges: tools.and_then(|t| t.gauges.as_ref()).map(|g| g.value.clone()).into(),
        inserts: (tools.iter().flat_map(|t| t.inserts.iter().flatten()))
            .filter_map(|i| Some((i.thread.value.clone(), i.count.as_ref()?.value)))
            .collect::<Vec<_>>()
            .into(),
    }
}

fn flag(stated: Option<&Located<bool>>) -> Option<bool> {
    stated.map(|f| f.value)
}

fn yield_record(y: &shop::Yield) -> Yield {
    Yield {
        printer: y.printer.as_ref().map(|p| p.value.clone()),
        material: y.material.as_ref().map(|m| m.value.clone()),
        part: y.part.as_ref().map(|p| p.value.clone()),
        run: y.run.as_ref().map(|r| r.value.clone()),
        good: u64::from(y.good.value),
        started: u64::from(y.started.value),
        at: y.at,
    }
}

/// Turns a shop's record of holes or outside sizes into what the fits take; other records are not about fits.
fn calibration(c: &shop::Calibration) -> Option<CalibrationRecord> {
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
        scale: c.scale.as_ref().map_or(1.0, |s| s.value.value()),
        spread: c.spread.as_ref().map(|s| s.value)?,
        count: c.count.value,
        on: c.on.value.0.clone(),
        range: c.from.as_ref().zip(c.to.as_ref()).map(|(a, b)| (a.value, b.value)),
    })
}

/// Turns a shop's record of overhangs or bridges into a limit; other records are not about support.
fn limit_record(c: &shop::Calibration) -> Option<LimitRecord> {
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

fn measurement<T>(c: &shop::Calibration, what: Measured, value: T) -> Option<Measurement<T>> {
    (c.what.value == what).then(|| Measurement {
        printer: c.printer.value.clone(),
        nozzle: c.nozzle.value.clone(),
        material: c.material.value.clone(),
        value,
        count: c.count.value,
        on: c.on.value.0.clone(),
    })
}

fn scale(c: &shop::Calibration) -> Option<Measurement<(Axis, f64)>> {
    let (axis, scale) = (c.axis.as_ref()?.value, Quantity::from(c.scale.as_ref()?.value).si);
    measurement(c, Measured::Shrinkage, (axis, scale))
}

fn gap(c: &shop::Calibration) -> Option<Gap> {
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
    let sizes = |list: &Option<Vec<shop::Sized>>| list.iter().flatten().map(|s| s.size).collect::<Vec<_>>();
    // Which hole a reamer makes is counted for H7 alone.
    let is_h7 = |s: &&shop::Sized| s.zone.as_deref().is_none_or(|zone| zone == "H7");
    crate::fits::feature::Tools {
        known: true,
        reamers: tools.reamers.iter().flatten().filter(is_h7).map(|s| s.size).collect::<Vec<_>>().into(),
        drills: sizes(&tools.drills).into(),
        taps: tools.taps.as_ref().map(|t| t.value.clone()).unwrap_or_default().into(),
        inserts: tools.inserts.iter().flatten().filter_map(insert).collect::<Vec<_>>().into(),
        lathe: tools.lathe.as_ref().is_some_and(|l| l.value).into(),
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
