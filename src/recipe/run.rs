//! The plan of the run: how many to start, in how many rounds, how long, how heavy, at what cost.

use crate::catalogue::figures;
use crate::fits::SourceKind;
use crate::quantity::{Duration, Mass};
use crate::recipe::{Cited, Cost, Reason, Run, RunNote, Sentence};
use crate::resolve::decide::{Decided, full};
use crate::resolve::run;
use crate::resolve::world::{Partial, World, at};

/// Builds the plan of a decided job; `None` where time or plates cannot be told.
pub(super) fn run(world: &World<'_>, decided: &Decided) -> Option<Run> {
    let choice = full(&decided.choice);
    let each = run::piece(world, &choice).ok()?;
    let plan = world.plan(&choice)?;
    let run::Totals { time_s: time, mass_g: mass, cost, shares } = run::totals(world, &choice, &plan).ok()?;
    let note = |text: Sentence, source: Vec<Cited>| Reason { text, source, ..Reason::default() };
    let of = |kind| vec![Cited::bare(kind)];
    let mut because = vec![
        note(RunNote::Started(plan.started.clone()).into(), of(SourceKind::Computed)),
        note(RunNote::Beside(plan.beside.clone()).into(), of(SourceKind::CommonPractice)),
        note(
            RunNote::Estimate { basis: each.basis, pace: pace(world, &choice) }.into(),
            vec![Cited::bare(SourceKind::Computed), Cited::of(SourceKind::FromMemory, "allowances")],
        ),
        note(costs(&shares, world, &choice).into(), of(SourceKind::Computed)),
    ];
    let long = world.knowledge.catalogue.value(figures::LONG_RUN).to_s();
    if plan.plates > 1 && time > long && world.bench.printers.len() > 1 {
        because.push(note(sharing(world, decided).into(), of(SourceKind::Computed)));
    }
    Some(Run {
        wanted: plan.wanted,
        start: plan.start,
        per_round: plan.per_plate,
        rounds: plan.plates,
        time_each: each.time,
        time_total: Duration::s(time),
        mass_each: each.mass,
        mass_total: Mass::g(mass),
        cost: Cost { amount: cost, currency: world.bench.currency.as_deref().map(str::to_owned) },
        because,
    })
}

/// What the workshop's records say of a machine's times.
fn pace(world: &World<'_>, choice: &Partial) -> Option<f64> {
    world.bench.printers.get(choice[at::PRINTER]?)?.pace
}

/// Says what the cost is made of, and what of it the shop's file states no price for.
fn costs(shares: &run::Shares, world: &World<'_>, choice: &Partial) -> RunNote {
    let power = choice[at::PRINTER].and_then(|p| world.bench.printers.get(p)?.power);
    RunNote::Costs {
        filament: shares.filament,
        machine: shares.machine,
        electricity: shares.electricity,
        labour: shares.labour,
        no_power: world.bench.electricity.is_some() && power.is_none(),
    }
}

/// Says what a second machine would save of a long run, or that none here can take a share.
fn sharing(world: &World<'_>, decided: &Decided) -> RunNote {
    let next = decided.runners_up[at::PRINTER].as_ref();
    let shared = next.and_then(|next| run::shared(world, &full(&decided.choice), &full(&next.choice)));
    shared.map_or(RunNote::NoShare, RunNote::Shared)
}
