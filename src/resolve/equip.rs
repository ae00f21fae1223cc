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

/// Something a bench lacks.
#[derive(Debug, Clone, PartialEq)]
pub enum Lack {
    /// A spool of what the workshop does not list, whatever that is.
    AnySpool,
    /// A spool of a material.
    Spool(String),
    /// A release agent.
    Agent(String),
    /// A nozzle of a metal.
    Nozzle { metal: String, bore: Length },
    /// A build surface.
    Surface(String),
    /// A box round an open printer; by its bed alone the air in it gets about so warm.
    Enclosure { printer: String, reaches: Temperature },
    /// So much more in a chamber than it has.
    Warmth { printer: String, has: Temperature, more: TemperatureDifference },
    /// A dryer that reaches a temperature.
    Dryer(Temperature),
    /// A printer that has all of these, where the one that comes nearest lacks them.
    Printer { nearest: String, lacks: Vec<Short> },
    /// A printer, whatever is the matter with those there are.
    AnotherPrinter,
    /// Nothing that is known would do.
    Unknown,
    /// Each of several things.
    All(Vec<Lack>),
}

impl Lack {
    /// Returns the lack of a nozzle.
    pub fn nozzle(nozzle: &Nozzle) -> Self {
        Lack::Nozzle { metal: nozzle.metal.title.value.clone(), bore: nozzle.bore }
    }
}

/// What a printer falls short of for a material.
#[derive(Debug, Clone, PartialEq)]
pub enum Short {
    /// A hot end that reaches a temperature, and what it reaches.
    HotEnd { wants: Temperature, has: Temperature },
    /// A bed that reaches a temperature, and what it reaches.
    Bed { wants: Temperature, has: Temperature },
    /// A closed chamber, at a temperature where one is known, and what it has; open where it has none.
    Chamber { wants: Option<Temperature>, has: Option<Temperature> },
}

/// Returns what a printer falls short of for a material.
///
/// The thresholds are those of the rules `hot-end-reaches`, `bed-reaches`, `chamber-required` and `chamber-reaches`.
fn lacks(printer: &Printer, material: &Material, short: TemperatureDifference) -> Vec<Short> {
    let mut lacks = Vec::new();
    let typ = material.print_temperature.typ;
    if typ > printer.nozzle_limit {
        lacks.push(Short::HotEnd { wants: typ, has: printer.nozzle_limit });
    }
    if material.bed_temperature.low() > printer.bed_limit {
        lacks.push(Short::Bed { wants: material.bed_temperature.typ, has: printer.bed_limit });
    }
    let required = material.chamber_need.value == Need::Required;
    let wanted = material.chamber_temperature.as_ref().map(|c| c.typ);
    if required && !printer.enclosed {
        lacks.push(Short::Chamber { wants: wanted, has: None });
    } else if required
        && let (Some(typ), Some(has)) = (wanted, printer.chamber)
        && has.to_celsius() < typ.to_celsius() - short.to_k()
    {
        lacks.push(Short::Chamber { wants: wanted, has: Some(has) });
    }
    lacks
}

/// Says which printer a material needs, where none of the bench can print it.
fn printer(world: &World<'_>, material: &Material) -> Option<Lack> {
    let short = world.knowledge.catalogue.value(figures::CHAMBER_SHORT);
    let each = world.bench.printers.iter().map(|p| (lacks(p, material, short), p));
    // The first of those that lack least.
    let (lacks, nearest) = each.min_by_key(|(lacks, _)| lacks.len()).filter(|(lacks, _)| !lacks.is_empty())?;
    Some(Lack::Printer { nearest: nearest.name.clone(), lacks })
}

/// Says what of a fully equipped bench its best choice for the spec uses that the real bench lacks.
pub fn missing(world: &World<'_>, spec: &Spec, full: &Bench<'_>, part: &Part) -> Lack {
    let rich = World::new(world.knowledge, spec, part, full.clone(), BenchRecords::default());
    let Some(found) = best(&Rules::new(&rich)) else { return Lack::Unknown };
    let choice = &found.choice;
    let mut needs = Vec::new();
    let material = rich.bench.materials.get(choice[at::MATERIAL]);
    if let Some(m) = material {
        if world.bench.stock_listed && world.bench.spools_of(choice[at::MATERIAL]).next().is_none() {
            needs.push(Lack::Spool(m.name.clone()));
        }
        needs.extend(printer(world, m));
        if let Some(drying) = &m.drying_temperature
            && world.bench.tools.dryer_limit.is_none_or(|limit| limit < drying.low())
        {
            needs.push(Lack::Dryer(drying.typ));
        }
    }
    if let Some(n) = rich.bench.nozzles.get(choice[at::NOZZLE])
        && !world.bench.nozzles.iter().any(|b| b.name == n.name)
    {
        needs.push(Lack::nozzle(n));
    }
    if let Some(s) = rich.bench.surfaces.get(choice[at::SURFACE])
        && !world.bench.surfaces.iter().any(|b| b.name == s.name)
    {
        needs.push(Lack::Surface(s.kind.title.value.clone()));
    }
    if let Some(a) = rich.bench.agents.get(choice[at::AGENT])
        && !world.bench.agents.iter().any(|b| b.name == a.name)
    {
        needs.push(Lack::Agent(a.name.clone()));
    }
    if needs.is_empty() { Lack::AnotherPrinter } else { Lack::All(needs) }
}
