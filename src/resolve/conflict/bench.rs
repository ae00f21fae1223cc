//! What the bench could be given: a spool, a nozzle, a build surface, an agent, an enclosure; or all of what the catalogue knows.

use super::retry::Retry;
use super::{Change, Freed, Lends};
use crate::catalogue::figures;
use crate::resolve::equip::{self, Lack};
use crate::resolve::shop::{Bench, Printer};
use crate::resolve::world::World;

/// One thing that could be bought or borrowed.
pub(super) struct Addition<'a> {
    pub lends: Lends,
    pub what: Lack,
    give: Box<dyn Fn(&mut Bench<'a>) + Sync + 'a>,
}

impl<'a> Addition<'a> {
    fn of(lends: Lends, what: Lack, give: impl Fn(&mut Bench<'a>) + Sync + 'a) -> Self {
        Self { lends, what, give: Box::new(give) }
    }

    pub fn change(&self) -> Change {
        Change::Bench { lends: self.lends, what: self.what.clone() }
    }
}

/// Returns a bench with some things added.
pub(super) fn given<'a>(bench: &Bench<'a>, additions: &[&Addition<'a>]) -> Bench<'a> {
    let mut bench = bench.clone();
    for addition in additions {
        (addition.give)(&mut bench);
    }
    bench
}

/// Returns each thing a bench could be given by itself.
pub(super) fn additions<'a>(world: &World<'a>) -> Vec<Addition<'a>> {
    let mut result = Vec::new();
    let catalogue = world.knowledge.catalogue;
    if world.bench.stock_listed {
        result.push(Addition::of(Lends::Spool, Lack::AnySpool, |bench| bench.stock_listed = false));
    }
    for agent in equip::agents(&world.bench, catalogue) {
        let what = Lack::Agent(agent.name.clone());
        result.push(Addition::of(Lends::Agent, what, move |bench| bench.agents.push(agent.clone())));
    }
    for nozzle in equip::nozzles(&world.bench, catalogue) {
        let what = Lack::nozzle(&nozzle);
        result.push(Addition::of(Lends::Nozzle, what, move |bench| equip::give_nozzle(bench, nozzle.clone())));
    }
    for surface in equip::surfaces(&world.bench, catalogue) {
        let what = Lack::Surface(surface.kind.title.value.clone());
        result.push(Addition::of(Lends::Surface, what, move |bench| equip::give_surface(bench, surface.clone())));
    }
    result.extend(chambers(world));
    result
}

/// Returns what could be done for the chambers: a box round what is open, a few kelvin for what is closed.
fn chambers<'a>(world: &World<'a>) -> Vec<Addition<'a>> {
    let catalogue = world.knowledge.catalogue;
    let (borrowed, round) = (catalogue.value(figures::CHAMBER_BORROWED), catalogue.value(figures::CHAMBER_ROUND));
    let mut result: Vec<Addition<'a>> = Vec::new();
    for (index, printer) in world.bench.printers.iter().enumerate() {
        let same = |other: &Printer| {
            let of = |p: &Printer| (p.build, p.edge, p.enclosed, p.drive, p.filament);
            let heat = |p: &Printer| (p.nozzle_limit, p.bed_limit, p.chamber);
            of(other) == of(printer) && heat(other) == heat(printer)
        };
        // Of ten machines of one make one speaks for all.
        if world.bench.printers[..index].iter().any(same) {
            continue;
        }
        match printer.chamber {
            _ if !printer.enclosed => {
                let what = Lack::Enclosure { printer: printer.name.clone(), reaches: round };
                result.push(Addition::of(Lends::Enclosure, what, move |bench| equip::enclose(bench, index, catalogue)));
            }
            Some(has) => {
                let what = Lack::Warmth { printer: printer.name.clone(), has, more: borrowed };
                result.push(Addition::of(Lends::Warmth, what, move |bench| equip::warm(bench, index, borrowed)));
            }
            None => {}
        }
    }
    result
}

/// Finds what frees the job if the bench had all that the catalogue knows: if even that fails, no bench will do.
pub(super) fn equipped(retry: &Retry<'_, '_>) -> Option<Freed> {
    let world = retry.world;
    let mut everything = world.bench.clone();
    everything.stock_listed = false;
    equip::everything(&mut everything, world.knowledge.catalogue);
    let mut way = retry.on(everything.clone()).freed(world.spec)?;
    let needs = equip::missing(world, world.spec, &everything, world.part);
    // The machine that does it is none of those there are: it is one of the same size, with all of that.
    way.equipped = true;
    Some(Freed::by(Change::Bench { lends: Lends::Machine, what: needs }, way))
}
