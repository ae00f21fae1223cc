//! What a bench could be given: everything the catalogue knows that it lacks.

use crate::catalogue::words::{Drive, Need};
use crate::catalogue::{Catalogue, Material, Nozzle, figures};
use crate::quantity::{Length, Temperature, TemperatureDifference};
use crate::semantics::spec::Spec;

use super::decide::best;
use super::part::Part;
use super::problem::Rules;
use super::shop::{Bench, BenchAgent, BenchSurface, Printer};
use super::world::{BenchRecords, World, at};

/// Nozzles the catalogue knows and the bench lacks: each metal in the bores the bench has, and in those every metal is sold in.
pub fn nozzles(bench: &Bench<'_>, catalogue: &Catalogue) -> Vec<Nozzle> {
    let common = catalogue.figure(figures::COMMON_BORE);
    let mut bores: Vec<f64> =
        bench.nozzles.iter().map(|n| n.bore.to_mm()).chain([common.low().to_mm(), common.high().to_mm()]).collect();
    bores.sort_by(f64::total_cmp);
    bores.dedup();
    let mut result = Vec::new();
    for metal in catalogue.metals.values() {
        for bore in &bores {
            let has = bench.nozzles.iter().any(|n| n.metal.name == metal.name && (n.bore.to_mm() - bore).abs() < 1e-6);
            if !has
                && let Some(nozzle) =
                    catalogue.nozzle(&format!("{} {bore}", metal.name), &metal.name, Length::mm(*bore), metal.at)
            {
                result.push(nozzle);
            }
        }
    }
    result
}

pub fn surfaces<'a>(bench: &Bench<'_>, catalogue: &'a Catalogue) -> Vec<BenchSurface<'a>> {
    catalogue
        .surfaces
        .values()
        .filter(|s| !bench.surfaces.iter().any(|b| b.kind.name == s.name))
        .map(|s| BenchSurface { name: s.name.clone(), kind: s, limit: None, count: None, at: s.at })
        .collect()
}

pub fn agents<'a>(bench: &Bench<'_>, catalogue: &'a Catalogue) -> Vec<BenchAgent<'a>> {
    catalogue
        .agents
        .values()
        .filter(|a| a.name != "none" && !bench.agents.iter().any(|b| b.kind.is_some_and(|k| k.name == a.name)))
        .map(|a| BenchAgent { name: a.name.clone(), kind: Some(a) })
        .collect()
}

/// Adds a nozzle that fits every printer: who buys one buys it so.
pub fn give_nozzle(bench: &mut Bench<'_>, nozzle: Nozzle) {
    for names in bench.printers.iter_mut().filter_map(|p| p.nozzles.as_mut()) {
        names.push(nozzle.name.clone());
    }
    bench.nozzles.push(nozzle);
}

/// Adds a surface that fits every printer.
pub fn give_surface<'a>(bench: &mut Bench<'a>, surface: BenchSurface<'a>) {
    for names in bench.printers.iter_mut().filter_map(|p| p.surfaces.as_mut()) {
        names.push(surface.name.clone());
    }
    bench.surfaces.push(surface);
}

/// Puts a box round a printer: the air in it gets as warm as the bed makes it.
pub fn enclose(bench: &mut Bench<'_>, printer: usize, catalogue: &Catalogue) {
    if let Some(printer) = bench.printers.get_mut(printer) {
        printer.enclosed = true;
        printer.chamber = Some(catalogue.value(figures::CHAMBER_ROUND));
    }
}

/// Makes a chamber a little warmer.
pub fn warm(bench: &mut Bench<'_>, printer: usize, by: TemperatureDifference) {
    if let Some(chamber) = bench.printers.get_mut(printer).and_then(|p| p.chamber.as_mut()) {
        *chamber = Temperature::celsius(chamber.to_celsius() + by.to_k());
    }
}

/// Gives a bench all of the catalogue, and its first printer the reach of any printer there is.
pub fn everything<'a>(bench: &mut Bench<'a>, catalogue: &'a Catalogue) {
    for nozzle in nozzles(bench, catalogue) {
        give_nozzle(bench, nozzle);
    }
    for surface in surfaces(bench, catalogue) {
        give_surface(bench, surface);
    }
    let more = agents(bench, catalogue);
    bench.agents.extend(more);
    for printer in &mut bench.printers {
        printer.nozzle_limit = catalogue.value(figures::RICHEST_NOZZLE);
        printer.bed_limit = catalogue.value(figures::RICHEST_BED);
        printer.chamber = Some(catalogue.value(figures::RICHEST_CHAMBER));
        printer.enclosed = true;
        printer.drive = Drive::Direct;
    }
    bench.tools.dryer_limit = Some(catalogue.value(figures::RICHEST_DRYER));
    bench.tools.oven_limit = Some(catalogue.value(figures::RICHEST_OVEN));
    bench.tools.extraction = Some(true);
}

/// Returns what a printer lacks for a material, each in words, and what it has instead.
///
/// The thresholds are those of the rules `hot-end-reaches`, `bed-reaches`, `chamber-required` and `chamber-reaches`.
fn lacks(printer: &Printer, material: &Material, short: TemperatureDifference) -> Vec<(String, String)> {
    let mut lacks = Vec::new();
    let typ = material.print_temperature.typ;
    if typ > printer.nozzle_limit {
        lacks.push((format!("a hot end for {typ}"), format!("hot end {}", printer.nozzle_limit)));
    }
    if material.bed_temperature.low() > printer.bed_limit {
        lacks.push((format!("a bed for {}", material.bed_temperature.typ), format!("bed {}", printer.bed_limit)));
    }
    let required = material.chamber_need.value == Need::Required;
    let wanted = material.chamber_temperature.as_ref().map(|c| c.typ);
    let closed = || wanted.map_or("a closed chamber".to_owned(), |typ| format!("a closed chamber at {typ}"));
    if required && !printer.enclosed {
        lacks.push((closed(), "open".to_owned()));
    } else if required
        && let (Some(typ), Some(has)) = (wanted, printer.chamber)
        && has.to_celsius() < typ.to_celsius() - short.to_k()
    {
        lacks.push((closed(), format!("chamber {has}")));
    }
    lacks
}

/// Says which printer a material needs, where none of the bench can print it.
fn printer(world: &World<'_>, material: &Material) -> Option<String> {
    let short = world.knowledge.catalogue.value(figures::CHAMBER_SHORT);
    let each = world.bench.printers.iter().map(|p| (lacks(p, material, short), p));
    // The first of those that lack least.
    let (lacks, nearest) = each.min_by_key(|(lacks, _)| lacks.len()).filter(|(lacks, _)| !lacks.is_empty())?;
    let wants: Vec<&str> = lacks.iter().map(|(wants, _)| wants.as_str()).collect();
    let has: Vec<&str> = lacks.iter().map(|(_, has)| has.as_str()).collect();
    Some(format!(
        "a printer with {} (none here can print it; {} comes nearest: {})",
        wants.join(" and "),
        nearest.name,
        has.join(", ")
    ))
}

/// Says what of a fully equipped bench its best choice for the spec uses that the real bench lacks.
pub fn missing(world: &World<'_>, spec: &Spec, full: &Bench<'_>, part: &Part) -> String {
    let rich = World::new(world.knowledge, spec, part, full.clone(), BenchRecords::default());
    let Some(found) = best(&Rules::new(&rich)) else { return "nothing that is known".to_owned() };
    let choice = &found.choice;
    let mut needs = Vec::new();
    let material = rich.bench.materials.get(choice[at::MATERIAL]);
    if let Some(m) = material {
        if world.bench.stock_listed && world.bench.spools_of(choice[at::MATERIAL]).next().is_none() {
            needs.push(format!("a spool of {}", m.name));
        }
        needs.extend(printer(world, m));
        if let Some(drying) = &m.drying_temperature
            && world.bench.tools.dryer_limit.is_none_or(|limit| limit < drying.low())
        {
            needs.push(format!("a dryer for {}", drying.typ));
        }
    }
    if let Some(n) = rich.bench.nozzles.get(choice[at::NOZZLE])
        && !world.bench.nozzles.iter().any(|b| b.name == n.name)
    {
        needs.push(format!("a {} nozzle of {} mm", n.metal.title.value, n.bore.to_mm()));
    }
    if let Some(s) = rich.bench.surfaces.get(choice[at::SURFACE])
        && !world.bench.surfaces.iter().any(|b| b.name == s.name)
    {
        needs.push(format!("the build surface {}", s.kind.title.value));
    }
    if let Some(a) = rich.bench.agents.get(choice[at::AGENT])
        && !world.bench.agents.iter().any(|b| b.name == a.name)
    {
        needs.push(format!("the agent {}", a.name));
    }
    if needs.is_empty() { "another printer".to_owned() } else { needs.join(", ") }
}
