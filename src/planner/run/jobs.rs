//! Plates as rounds, rounds as jobs.

use super::lots::{Packed, holds};
use super::{Lot, Part, Round, Run};
use crate::order::{Floor, Job, Schedule};
use crate::plates::Place;

/// All plates of all lots, in the lots' order.
pub(super) fn rounds(run: &Run, lots: &[Packed]) -> Vec<Round> {
    lots.iter().flat_map(|lot| lot.plates.iter().map(|places| round(run, lot.bed, places))).collect()
}

fn round(run: &Run, bed: usize, places: &[Place]) -> Round {
    let pieces = || places.iter().filter_map(|p| run.parts.get(p.kind));
    // What a plate takes besides its pieces it takes once.
    let once = |of: fn(&Part) -> f64| pieces().map(of).fold(0.0, f64::max);
    Round {
        places: places.to_vec(),
        bed,
        mass_g: pieces().map(|p| p.mass_each_g).sum::<f64>() + once(|p| p.mass_per_plate_g),
        minutes: pieces().map(|p| p.minutes_each).sum::<f64>() + once(|p| p.minutes_per_plate),
        state: pieces().next().map_or(Vec::new(), |p| p.state.clone()),
    }
}

/// Which rounds belong to which lot.
pub(super) fn told(lots: &[Packed]) -> Vec<Lot> {
    let mut from = 0;
    let mut told = Vec::new();
    for lot in lots {
        let rounds = (from..from + lot.plates.len()).collect();
        from += lot.plates.len();
        told.push(Lot { parts: lot.parts.clone(), rounds, at_least: lot.at_least, because: lot.because });
    }
    told
}

/// The workshop with a job for each round.
pub(super) fn floor(run: &Run, lots: &[Packed], rounds: &[Round]) -> Floor {
    let told = told(lots);
    let mut jobs: Vec<Job> = rounds.iter().map(|r| job(run, r)).collect();
    for (index, lot) in lots.iter().enumerate().filter(|(_, lot)| lot.first_article) {
        // The first article's last plate holds up all other plates of its part.
        let (Some(part), Some(first)) = (lot.parts.first(), told[index].rounds.last()) else { continue };
        for (other, lot) in lots.iter().enumerate().filter(|(_, l)| !l.first_article && l.parts.contains(part)) {
            debug_assert_eq!(lot.parts.len(), 1);
            for round in &told[other].rounds {
                jobs[*round].after = Some((*first, run.parts[*part].inspection_min));
            }
        }
    }
    Floor {
        aspects: run.aspects.clone(),
        machines: run.printers.iter().map(|p| p.machine.clone()).collect(),
        jobs,
        stations: run.stations.clone(),
        hours: run.hours.clone(),
        people: run.people,
        until_min: run.until_min,
    }
}

fn job(run: &Run, round: &Round) -> Job {
    let of: Vec<&Part> = round.places.iter().filter_map(|p| run.parts.get(p.kind)).collect();
    let may = |m: usize| {
        of.iter().all(|p| p.machines.contains(&m)) && holds(&run.beds[round.bed], &run.beds[run.printers[m].bed])
    };
    let minutes = |m: usize| (round.minutes * run.printers[m].time_factor * factor(&of, m) - 1e-9).ceil() as i64;
    Job {
        state: round.state.clone(),
        minutes: (0..run.printers.len()).map(|m| may(m).then(|| minutes(m))).collect(),
        due_min: of.iter().filter_map(|p| p.due_min).min(),
        ready_min: of.iter().map(|p| p.ready_min).max().unwrap_or(0),
        handling_min: of.iter().map(|p| p.handling_min).max().unwrap_or(0),
        watch_min: of.iter().map(|p| p.watch_min).max().unwrap_or(0),
        alone: of.iter().all(|p| p.alone),
        before: of.iter().map(|p| &p.before).max_by_key(|b| b.len()).cloned().unwrap_or_default(),
        after: None,
    }
}

/// The pieces of a plate print one by one, so that their own factors average out.
fn factor(pieces: &[&Part], machine: usize) -> f64 {
    let sum: f64 = pieces.iter().map(|p| p.factors.get(machine).copied().unwrap_or(1.0)).sum();
    if pieces.is_empty() { 1.0 } else { sum / pieces.len() as f64 }
}

/// Lots of which a plate is late or left, the latest first.
pub(super) fn late(run: &Run, lots: &[Packed], schedule: &Schedule) -> Vec<usize> {
    let told = told(lots);
    let by_how_much = |lot: usize| -> i64 {
        let rounds = &told[lot].rounds;
        if schedule.left.iter().any(|r| rounds.contains(r)) {
            return i64::MAX;
        }
        let due = |p: &usize| run.parts[*p].due_min;
        let Some(due) = lots[lot].parts.iter().filter_map(due).min() else { return 0 };
        let ends = schedule.machines.iter().flatten().filter(|s| rounds.contains(&s.job)).map(|s| s.end_min);
        ends.max().map_or(0, |end| end - due)
    };
    let mut late: Vec<(i64, usize)> = (0..lots.len()).map(|l| (by_how_much(l), l)).filter(|l| l.0 > 0).collect();
    late.sort_by(|a, b| b.0.cmp(&a.0).then(a.1.cmp(&b.1)));
    late.into_iter().map(|l| l.1).collect()
}
