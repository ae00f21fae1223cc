//! Parts that are done after the day they are wanted by, and what would make them be in time, each tried by planning again.

use planner::run::{self, Plan as Found};

use super::calendar::Calendar;
use super::question::Names;
use super::said::WayOut;
use super::{Asked, Late};

/// Returns the parts that are late, with what would free each.
pub(super) fn late(
    asked: &Asked<'_>,
    names: &Names,
    calendar: &Calendar,
    question: &run::Run,
    found: &Found,
) -> Vec<Late> {
    let of = |part: usize| {
        let (due, done) = (question.parts[part].due_min, done(found, part));
        if done.is_some_and(|end| due.is_none_or(|due| end <= due)) {
            return None;
        }
        Some(Late {
            part: asked.parts[part].name.clone(),
            by: due.map(|due| calendar.moment(due).to_string()),
            done: done.map(|end| calendar.moment(end).to_string()),
            would_free: ways_out(asked, names, calendar, question, part, due, done)
                .iter()
                .map(WayOut::to_string)
                .collect(),
        })
    };
    (0..asked.parts.len()).filter_map(of).collect()
}

/// When the last round of a part ends; none where one of them found no place.
pub(super) fn done(found: &Found, part: usize) -> Option<i64> {
    let of_it = |round: usize| found.rounds[round].places.iter().any(|p| p.kind == part);
    if found.schedule.left.iter().any(|r| of_it(*r)) {
        return None;
    }
    found.schedule.machines.iter().flatten().filter(|s| of_it(s.job)).map(|s| s.end_min).max()
}

/// Tries what a workshop can do about a date, cheapest first.
fn ways_out(
    asked: &Asked<'_>,
    names: &Names,
    calendar: &Calendar,
    question: &run::Run,
    part: usize,
    due: Option<i64>,
    done_at: Option<i64>,
) -> Vec<WayOut> {
    let mut ways = Vec::new();
    let frees = |changed: &run::Run| {
        run::plan(changed).is_ok_and(|found| {
            let ends = |p: usize| done(&found, p).zip(changed.parts[p].due_min).is_none_or(|(end, due)| end <= due);
            done(&found, part).is_some_and(|end| due.is_none_or(|due| end <= due)) && (0..changed.parts.len()).all(ends)
        })
    };
    let mut nights = question.clone();
    nights.parts.iter_mut().for_each(|p| p.alone = true);
    if !asked.run.unattended.is_some_and(|u| u.value)
        && question.printers.iter().any(|p| p.machine.alone)
        && frees(&nights)
    {
        ways.push(WayOut::Unattended);
    }
    let mut dry = question.clone();
    dry.parts[part].ready_min = 0;
    if question.parts[part].ready_min > 0 && frees(&dry) {
        ways.push(WayOut::Dry);
    }
    for &machine in &question.parts[part].machines {
        let mut more = question.clone();
        let twin = more.printers[machine].clone();
        more.printers.push(twin);
        let new = more.printers.len() - 1;
        for p in &mut more.parts {
            if p.machines.contains(&machine) {
                p.machines.push(new);
                let factor = p.factors.get(machine).copied().unwrap_or(1.0);
                p.factors.resize(new, 1.0);
                p.factors.push(factor);
            }
        }
        if frees(&more) {
            let name = names.printers.get(machine).and_then(|p| asked.bench.printers.get(*p)).map(|p| p.name.as_str());
            ways.push(WayOut::SecondMachine(name.unwrap_or_default().to_owned()));
            break;
        }
    }
    if let Some(end) = done_at {
        ways.push(WayOut::Later { part: asked.parts[part].name.clone(), by: calendar.moment(end).to_string() });
    }
    ways
}
