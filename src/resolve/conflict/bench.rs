//! What the bench could be given.

use super::retry::Retry;
use super::{Change, Freed};
use crate::resolve::equip;
use crate::resolve::shop::Bench;
use crate::resolve::world::World;

/// Tries what a bench could be given: each thing by itself, then a material in stock with each.
pub(super) fn by_bench(retry: &Retry<'_, '_>, world: &World<'_>) -> Vec<Freed> {
    let spec = world.spec;
    let mut result = Vec::new();
    for (what, bench) in single_additions(world) {
        if retry.stands_on(spec, &bench)
            && let Some(way) = retry.solve(spec, &bench)
        {
            result.push(Freed { change: Change::Bench { what }, way });
        }
    }
    if result.is_empty() {
        // A bench with everything the catalogue knows: if even that fails, no bench will do.
        let mut everything = world.bench.clone();
        everything.stock_listed = false;
        equip::everything(&mut everything, world.knowledge.catalogue);
        if let Some(mut way) = retry.solve(spec, &everything) {
            let needs = equip::missing(world, spec, &everything, world.part);
            // The machine that does it is none of those there are: it is one of the same size, with all of that.
            way.printer = format!("a machine of the size of {} so equipped", way.printer);
            result.push(Freed { change: Change::Bench { what: needs }, way });
        }
    }
    result
}

fn single_additions<'a>(world: &World<'a>) -> Vec<(String, Bench<'a>)> {
    let mut result = Vec::new();
    let catalogue = world.knowledge.catalogue;
    if world.bench.stock_listed {
        let mut bench = world.bench.clone();
        bench.stock_listed = false;
        result.push(("a spool that is not in stock now".to_owned(), bench));
    }
    for nozzle in equip::nozzles(&world.bench, catalogue) {
        let mut bench = world.bench.clone();
        let what = format!("a {} nozzle of {} mm", nozzle.metal.title.value, nozzle.bore.to_mm());
        bench.nozzles.push(nozzle);
        result.push((what, bench));
    }
    for surface in equip::surfaces(&world.bench, catalogue) {
        let mut bench = world.bench.clone();
        let what = format!("the build surface {}", surface.kind.title.value);
        bench.surfaces.push(surface);
        result.push((what, bench));
    }
    for agent in equip::agents(&world.bench, catalogue) {
        let mut bench = world.bench.clone();
        let what = format!("the agent {}", agent.name);
        bench.agents.push(agent);
        result.push((what, bench));
    }
    result
}
