//! What a run costs, and what another piece of a part would.

use planner::run::{self, Plan as Found};

use super::question::{Names, minutes};
use super::{Asked, Changeovers, Cost, Reprint};
use crate::catalogue::figures;

/// Returns the cost of a plan.
pub(super) fn cost(
    asked: &Asked<'_>,
    names: &Names,
    question: &run::Run,
    found: &Found,
    changes: &Changeovers,
) -> Cost {
    let labour = asked.bench.labour.map(|rate| rate.to_per_h() / 60.0);
    let (mut cost, mut wanted, mut scrap) = (Cost::default(), 0.0, 0.0);
    let mut highest_price: f64 = 0.0;
    for slot in found.schedule.machines.iter().flatten() {
        let hours = (slot.end_min - slot.begin_min) as f64 / 60.0;
        let printer = names.printers.get(slot.machine).and_then(|p| asked.bench.printers.get(*p));
        let rate = printer.and_then(|p| p.hour_rate).map(|rate| rate.to_per_h());
        cost.machine = more(cost.machine, rate.map(|r| r * hours));
        let pieces = &found.rounds[slot.job].places;
        let routing = pieces.first().and_then(|p| {
            let routings = &asked.parts[p.kind].routings;
            routings.iter().find(|w| names.machine(asked, w) == Some(slot.machine))
        });
        cost.electricity = more(cost.electricity, routing.and_then(|w| w.electricity_per_h).map(|e| e * hours));
        for place in pieces {
            let routing = &asked.parts[place.kind].routings[0];
            cost.material += routing.mass_g / 1000.0 * routing.price_per_kg;
            highest_price = highest_price.max(routing.price_per_kg);
        }
        let handling = question.parts[pieces.first().map_or(0, |p| p.kind)].handling_min;
        cost.handling = more(cost.handling, labour.map(|l| l * handling as f64));
    }
    cost.material += changes.purge_g / 1000.0 * highest_price;
    cost.handling = more(cost.handling, labour.map(|l| l * changes.minutes as f64));
    cost.total = cost.material + [cost.machine, cost.electricity, cost.handling].into_iter().flatten().sum::<f64>();
    let weight = |part: usize| question.parts[part].mass_each_g;
    let all: f64 = (0..asked.parts.len()).map(|p| found.starts[p].pieces as f64 * weight(p)).sum();
    for (index, part) in asked.parts.iter().enumerate() {
        wanted += f64::from(part.wanted);
        let over = (found.starts[index].pieces as f64 * (1.0 - expected(asked, index))).max(0.0);
        scrap += if all > 0.0 { over * weight(index) / all } else { 0.0 };
        cost.reprint.push(reprint(asked, names, index, labour));
    }
    cost.scrap = cent(cost.total * scrap);
    cost.per_good = if wanted > 0.0 { cent(cost.total / wanted) } else { 0.0 };
    cost.currency = asked.bench.currency.as_deref().map(str::to_owned);
    for value in [&mut cost.machine, &mut cost.electricity, &mut cost.handling].into_iter().flatten() {
        *value = cent(*value);
    }
    (cost.material, cost.total) = (cent(cost.material), cent(cost.total));
    cost
}

fn more(sum: Option<f64>, each: Option<f64>) -> Option<f64> {
    each.map(|e| sum.unwrap_or(0.0) + e).or(sum)
}

/// The share of good pieces that is expected of a part.
pub(super) fn expected(asked: &Asked<'_>, part: usize) -> f64 {
    let usual = asked.catalogue.value(figures::YIELD_ASSUMED);
    let weight = asked.catalogue.value(figures::YIELD_PRIOR);
    match &asked.parts[part].routings[0].recorded {
        Some(r) => (r.good as f64 + usual * weight) / (r.started as f64 + weight),
        None => usual,
    }
}

/// What one more piece costs: among others, and on a plate of its own with a person's time at it.
fn reprint(asked: &Asked<'_>, _names: &Names, part: usize, labour: Option<f64>) -> Reprint {
    let routing = &asked.parts[part].routings[0];
    let per_h = routing.machine_per_h.unwrap_or(0.0) + routing.electricity_per_h.unwrap_or(0.0);
    let material = routing.mass_g / 1000.0 * routing.price_per_kg;
    let [one, two] = routing.minutes;
    let hand = labour.unwrap_or(0.0) * minutes(asked, figures::WORK_PER_PLATE) as f64;
    Reprint {
        part: asked.parts[part].name.clone(),
        among_others: cent(material + per_h * (two - one).max(0.0) / 60.0),
        by_itself: cent(material + per_h * one / 60.0 + hand),
    }
}

/// Rounds to what a price list shows.
fn cent(money: f64) -> f64 {
    (money * 100.0).round() / 100.0 + 0.0
}
