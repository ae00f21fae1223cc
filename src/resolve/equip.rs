//! What a bench could be given: everything the catalogue knows that it lacks.

use crate::catalogue::{Catalogue, Nozzle};
use crate::quantity::{Length, Temperature};
use crate::semantics::spec::Spec;

use super::decide::best;
use super::part::Part;
use super::problem::Rules;
use super::shop::{Bench, BenchAgent, BenchSurface, Printer};
use super::world::{BenchRecords, World, at};

/// Nozzles the catalogue knows and the bench lacks: each metal in the bores the bench has, and in 0.4 and 0.6 mm.
pub fn nozzles(bench: &Bench<'_>, catalogue: &Catalogue) -> Vec<Nozzle> {
    let mut bores: Vec<f64> = bench.nozzles.iter().map(|n| n.bore.to_mm()).chain([0.4, 0.6]).collect();
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
        .map(|s| BenchSurface { name: s.name.clone(), kind: s, at: s.at })
        .collect()
}

pub fn agents<'a>(bench: &Bench<'_>, catalogue: &'a Catalogue) -> Vec<BenchAgent<'a>> {
    catalogue
        .agents
        .values()
        .filter(|a| a.name != "none" && !bench.agents.iter().any(|b| b.kind.is_some_and(|k| k.name == a.name)))
        .map(|a| BenchAgent { name: a.name.clone(), kind: Some(a), at: Some(a.at) })
        .collect()
}

/// Gives a bench all of the catalogue, and its first printer the reach of any printer there is.
pub fn everything<'a>(bench: &mut Bench<'a>, catalogue: &'a Catalogue) {
    let more = nozzles(bench, catalogue);
    bench.nozzles.extend(more);
    let more = surfaces(bench, catalogue);
    bench.surfaces.extend(more);
    let more = agents(bench, catalogue);
    bench.agents.extend(more);
    for printer in &mut bench.printers {
        printer.nozzle_limit = Temperature::celsius(450.0);
        printer.bed_limit = Temperature::celsius(200.0);
        printer.chamber = Some(Temperature::celsius(180.0));
        printer.enclosed = true;
        printer.drive = "direct";
    }
    bench.tools.dryer_limit = Some(Temperature::celsius(150.0));
    bench.tools.oven_limit = Some(Temperature::celsius(250.0));
    bench.tools.extraction = Some(true);
}

/// Returns the highest of a limit over the printers there are, °C, and whose it is.
fn most(world: &World<'_>, limit: impl Fn(&Printer) -> Temperature) -> (f64, String) {
    let of = |p: &Printer| (limit(p).to_celsius(), p.name.clone());
    world.bench.printers.iter().map(of).fold((0.0, String::new()), |a, b| if b.0 > a.0 { b } else { a })
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
        let (hottest, whose) = most(world, |p| p.nozzle_limit);
        if m.print_temperature.low().to_celsius() > hottest {
            let typ = m.print_temperature.typ;
            needs.push(format!("a hot end for {typ} (the hottest here, {whose}, reaches {hottest:.0} °C)"));
        }
        let (bed, whose) = most(world, |p| p.bed_limit);
        if m.bed_temperature.low().to_celsius() > bed {
            let typ = m.bed_temperature.typ;
            needs.push(format!("a bed for {typ} (the hottest here, {whose}, reaches {bed:.0} °C)"));
        }
        if let Some(chamber) = &m.chamber_temperature {
            let warmest =
                world.bench.printers.iter().filter_map(|p| p.chamber).map(Temperature::to_celsius).fold(0.0, f64::max);
            if chamber.low().to_celsius() > warmest {
                needs.push(format!("a chamber at {}", chamber.typ));
            }
        }
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
