//! What the records of a run say of the workshop, as entries of its file.

use std::collections::BTreeMap;

use super::floor::{Floor, Machine};
use super::record::{DRYER, Row, moment};
use crate::catalogue::edit::Entry;
use crate::fits::calibration::yaml_word;
use crate::quantity::trim_number;

/// Good and started pieces of one part in one material on one machine, and the day of the last.
#[derive(Default)]
struct Count {
    started: u32,
    good: u32,
    on: String,
}

/// Returns the entries: what came out good (of plates that were not lost whole: the file counts pieces that fail alone), what is left on spools and when they were dried, what is on the machines, and
/// their pace. `before` is the workshop as its file has it, `after` as the records leave it.
pub fn entries(run: &str, rows: &[Row], before: &Floor, after: &Floor, paces: &BTreeMap<String, f64>) -> Vec<Entry> {
    let named = |list, name: &str, within, says| Entry { list, about: vec![("name", name.to_owned())], within, says };
    let mut all: Vec<Entry> = paces
        .iter()
        .map(|(printer, pace)| named("printers", printer, None, vec![("pace", trim_number(*pace, 2))]))
        .collect();
    let moved = after.machines.iter().filter(|(name, now)| before.machines.get(*name) != Some(*now));
    all.extend(moved.map(|(name, now)| named("printers", name, Some("now"), says_now(now, before.machines.get(name)))));
    for (spool, left) in after.left.iter().filter(|(spool, left)| before.left.get(*spool) != Some(*left)) {
        all.push(named("spools", spool, None, vec![("left", format!("{} g", trim_number(*left, 0)))]));
    }
    for (spool, day) in &after.dried {
        all.push(named("spools", spool, None, vec![("dried", day.clone())]));
    }
    all.extend(yields(run, rows));
    all
}

/// What is on a machine; what was on it and is not any more is said to be none.
fn says_now(now: &Machine, before: Option<&Machine>) -> Vec<(&'static str, String)> {
    let keys = |m: &Machine| {
        [
            ("material", m.material.clone()),
            ("spool", m.spool.clone()),
            ("nozzle", m.nozzle.clone()),
            ("surface", m.surface.clone()),
            ("agent", m.agent.clone()),
        ]
    };
    let agent_before = before.is_some_and(|b| b.agent.is_some());
    let one = |(key, value): (&'static str, Option<String>)| match value {
        Some(value) => Some((key, yaml_word(&value))),
        // Only of an agent can the file say that there is none.
        None => (key == "agent" && agent_before).then(|| (key, "none".to_owned())),
    };
    keys(now).into_iter().filter_map(one).collect()
}

fn yields(run: &str, rows: &[Row]) -> Vec<Entry> {
    let mut counts: BTreeMap<(&str, &str, &str), Count> = BTreeMap::new();
    for row in rows.iter().filter(|r| r.round != DRYER && r.is_done() && !r.is_lost_whole()) {
        let count = counts.entry((&row.printer, &row.material, &row.part)).or_default();
        count.started += row.count.parse().unwrap_or(0);
        count.good += row.good.parse().unwrap_or(0);
        let day = moment(&row.end).map(|m| m.day).unwrap_or_default();
        count.on = std::mem::take(&mut count.on).max(day);
    }
    let one = |((printer, material, part), count): ((&str, &str, &str), Count)| Entry {
        list: "yields",
        about: [("run", run), ("printer", printer), ("material", material), ("part", part)]
            .map(|(key, value)| (key, value.to_owned()))
            .to_vec(),
        within: None,
        says: vec![("started", count.started.to_string()), ("good", count.good.to_string()), ("on", count.on)],
    };
    counts.into_iter().filter(|(_, count)| count.started > 0).map(one).collect()
}
