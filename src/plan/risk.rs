//! Parts that are in time by the plan and would not be if everything took as long as it may.

use planner::order::Slot;
use planner::run::{self, Plan as Found};

use super::calendar::Calendar;
use super::late::done;
use super::{Asked, AtRisk};
use crate::physics::print_time::BAND;

/// Returns the parts that are done in time, and late where every round of their machines takes as long as it may: what one takes
/// longer, those behind it begin later, and none begins where nobody is there.
pub(super) fn at_risk(asked: &Asked<'_>, calendar: &Calendar, question: &run::Run, found: &Found) -> Vec<AtRisk> {
    let ends: Vec<(usize, i64)> =
        found.schedule.machines.iter().flat_map(|slots| latest_ends(slots, calendar)).collect();
    let of = |part: usize| {
        let due = question.parts[part].due_min?;
        let planned = done(found, part).filter(|end| *end <= due)?;
        let of_it = |job: usize| found.rounds[job].places.iter().any(|p| p.kind == part);
        let latest = ends.iter().filter(|(job, _)| of_it(*job)).map(|(_, end)| *end).max()?;
        (latest > due).then(|| AtRisk {
            part: asked.parts[part].name.clone(),
            by: calendar.moment(due).to_string(),
            done: calendar.moment(planned).to_string(),
            latest: calendar.moment(latest).to_string(),
        })
    };
    (0..asked.parts.len()).filter_map(of).collect()
}

/// The rounds of a machine in their order, with when each would end.
fn latest_ends(slots: &[Slot], calendar: &Calendar) -> Vec<(usize, i64)> {
    let mut free = i64::MIN;
    let end = |slot: &Slot| {
        let setup = when_somebody_is_there(calendar, slot.setup_min.max(free));
        let begin = setup + (slot.begin_min - slot.setup_min);
        free = begin + ((slot.end_min - slot.begin_min) as f64 * BAND.high).ceil() as i64;
        (slot.job, free)
    };
    slots.iter().map(end).collect()
}

/// Returns the first minute from one on at which somebody is there; that one where the calendar ends before.
fn when_somebody_is_there(calendar: &Calendar, minute: i64) -> i64 {
    calendar.hours.iter().find(|h| h.to_min > minute).map_or(minute, |h| h.from_min.max(minute))
}
