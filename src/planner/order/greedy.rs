//! The rule of thumb: the earliest date first, where it is done first.

use super::clock::Clock;
use super::{Floor, Goal, Schedule};

pub(super) fn schedule(floor: &Floor, goals: &[Goal]) -> Schedule {
    let mut waiting: Vec<usize> = (0..floor.jobs.len()).collect();
    waiting.sort_by_key(|j| (floor.jobs[*j].due_min.unwrap_or(i64::MAX), floor.jobs[*j].ready_min, *j));
    let mut clock = Clock::new(floor);
    while let Some(next) = waiting.iter().position(|j| clock.may_come(*j)) {
        let job = waiting.remove(next);
        let slots = (0..floor.machines.len()).filter_map(|m| clock.slot(job, m));
        match slots.min_by_key(|s| (s.end_min, s.changes.len(), s.machine)) {
            Some(slot) => clock.put(slot),
            None => clock.left.push(job),
        }
    }
    clock.left.append(&mut waiting);
    let score = clock.score();
    let at_least = goals.iter().map(|_| i64::MIN).collect();
    Schedule { machines: clock.slots, left: clock.left, score, at_least, proven: false }
}
