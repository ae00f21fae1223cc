//! How fast machines print by the records of a run, against the hours that were reckoned.

use std::collections::{BTreeMap, BTreeSet};

use serde::{Deserialize, Serialize};

use super::Plan;
use super::record::{Row, moment};
use super::said::Told;
use crate::catalogue::{Catalogue, figures};
use crate::day::days_between;
use crate::semantics::run::Moment;

/// A round that is done, with the hours that were reckoned for it.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Done {
    /// The plan's name of it.
    pub round: String,
    /// The machine.
    pub printer: String,
    /// Hours reckoned before the machine's own pace is counted.
    pub hours: f64,
}

/// What records say of a machine.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pace {
    /// Rounds that say so.
    pub rounds: usize,
    /// Hours taken over hours reckoned: the least, the middle and the most of the rounds.
    pub least: f64,
    /// The middle one counts: a plate that was noted late moves it little.
    pub middle: f64,
    /// See `least`.
    pub most: f64,
}

/// Returns the rounds that are done by the records, as far as a plan knows what was reckoned for them.
pub fn done(rows: &[Row], before: Option<&Plan>) -> Vec<Done> {
    let Some(before) = before else { return Vec::new() };
    let rounds: BTreeSet<&str> = rows.iter().filter(|r| r.is_done()).map(|r| r.round.as_str()).collect();
    let known = before.done.iter().filter(|d| rounds.contains(d.round.as_str())).cloned();
    let planned = before.printing.iter().chain(&before.rounds).filter(|r| rounds.contains(r.name.as_str()));
    let planned = planned.map(|r| Done {
        round: r.name.clone(),
        printer: r.printer.clone(),
        hours: r.hours / before.pace.get(&r.printer).copied().unwrap_or(1.0),
    });
    let mut all: BTreeMap<String, Done> = planned.map(|d| (d.round.clone(), d)).collect();
    all.extend(known.map(|d| (d.round.clone(), d)));
    all.into_values().collect()
}

/// Returns what the records say of each machine that has finished a round.
pub fn of(done: &[Done], rows: &[Row]) -> BTreeMap<String, Pace> {
    let mut shares: BTreeMap<String, Vec<f64>> = BTreeMap::new();
    for round in done {
        let hours = taken(&round.round, rows).filter(|h| *h > 0.0 && round.hours > 0.0);
        shares.entry(round.printer.clone()).or_default().extend(hours.map(|h| h / round.hours));
    }
    shares.into_iter().filter_map(|(printer, shares)| Some((printer, of_shares(shares)?))).collect()
}

/// Returns by machine the pace that counts, and what is to be said of it: one of too few rounds is passed over, one that is
/// more than a machine's own is told and does not count.
pub(crate) fn counted(recorded: &BTreeMap<String, Pace>, catalogue: &Catalogue) -> (BTreeMap<String, f64>, Vec<Told>) {
    let most: f64 = catalogue.value(figures::DOUBTFUL_PACE);
    let enough: f64 = catalogue.value(figures::PACE_ROUNDS);
    let (mut counts, mut told) = (BTreeMap::new(), Vec::new());
    for (printer, pace) in recorded.iter().filter(|(_, pace)| pace.rounds as f64 >= enough) {
        let is_its_own = (1.0 / most..=most).contains(&pace.middle);
        if is_its_own {
            counts.insert(printer.clone(), pace.middle);
        }
        told.push(Told::Pace { printer: printer.clone(), pace: *pace, counts: is_its_own });
    }
    (counts, told)
}

fn of_shares(mut shares: Vec<f64>) -> Option<Pace> {
    shares.sort_by(f64::total_cmp);
    let half = shares.len() / 2;
    let upper = *shares.get(half)?;
    let middle = if shares.len().is_multiple_of(2) { f64::midpoint(*shares.get(half - 1)?, upper) } else { upper };
    Some(Pace { rounds: shares.len(), least: *shares.first()?, middle, most: *shares.last()? })
}

/// Hours from the begin of a round to the last end that was noted of it.
fn taken(round: &str, rows: &[Row]) -> Option<f64> {
    let of_it = || rows.iter().filter(|r| r.round == round);
    let begin = of_it().filter_map(|r| moment(&r.begin)).min()?;
    let end = of_it().filter_map(|r| moment(&r.end)).max()?;
    hours(&begin, &end)
}

fn hours(from: &Moment, to: &Moment) -> Option<f64> {
    let days = days_between(&from.day, &to.day)?;
    Some(days as f64 * 24.0 + (f64::from(to.minute) - f64::from(from.minute)) / 60.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::Round;

    fn row(round: &str, begin: &str, end: &str) -> Row {
        Row { round: round.to_owned(), begin: begin.to_owned(), end: end.to_owned(), ..Row::default() }
    }

    fn round(name: &str, hours: f64) -> Round {
        Round { name: name.to_owned(), printer: "Loft".to_owned(), hours, ..Round::default() }
    }

    /// By hand: 2.2 h of 2, 3.6 h of 3 over midnight, 9 h of 4 fetched in the morning: 1.1, 1.2, 2.25.
    #[test]
    fn the_middle_round_says_the_pace() {
        let rows = [
            row("Loft-1", "2026-12-07 08:00", "2026-12-07 10:12"),
            row("Loft-2", "2026-12-07 22:00", "2026-12-08 01:36"),
            row("Loft-3", "2026-12-08 22:00", "2026-12-09 07:00"),
            row("Loft-4", "2026-12-09 08:00", ""),
        ];
        let rounds = vec![round("Loft-1", 2.0), round("Loft-2", 3.0), round("Loft-3", 4.0), round("Loft-4", 1.0)];
        let plan = Plan { rounds, ..Plan::default() };
        let done = super::done(&rows, Some(&plan));
        assert_eq!(done.len(), 3);
        let pace = of(&done, &rows)["Loft"];
        let near = |a: f64, b: f64| (a - b).abs() < 1e-9;
        assert!(pace.rounds == 3 && near(pace.least, 1.1) && near(pace.middle, 1.2) && near(pace.most, 2.25));
        // A plan made since, which counts that pace and knows those rounds as done alone, says the same.
        let rounds = vec![round("Loft-4", 1.2)];
        let later = Plan { done, rounds, pace: [("Loft".to_owned(), 1.2)].into(), ..Plan::default() };
        let rows = [rows.as_slice(), &[row("Loft-4", "2026-12-09 08:00", "2026-12-09 09:12")]].concat();
        let done = super::done(&rows, Some(&later));
        assert!(near(done[3].hours, 1.0));
        assert!(near(of(&done, &rows)["Loft"].middle, 1.2));
    }
}
