//! Every order of few jobs, but for those that cannot be better than what is known.
//!
//! Jobs are put in their places by the times at which they begin, so that each schedule is met once; equal jobs count as
//! one. A branch ends where the bounds of what is still open are no better than the best schedule so far.

use super::clock::Clock;
use super::worth::{Bounds, Worth, worth};
use super::{Floor, Goal, Job};

pub(super) struct Exact<'a> {
    floor: &'a Floor,
    goals: &'a [Goal],
    bounds: &'a Bounds<'a>,
    /// For each job the first that equals it, and still waits with it.
    twin: Vec<usize>,
    steps: u64,
    best: (Worth, Option<Clock<'a>>),
}

/// More jobs than this are not tried in every order.
pub(super) const MOST_JOBS: usize = 40;

/// Returns a schedule better than the worth given, if there is one, and whether all were looked at.
pub(super) fn better<'a>(
    floor: &'a Floor,
    goals: &'a [Goal],
    bounds: &'a Bounds<'a>,
    known: Worth,
    steps: &mut u64,
) -> (Option<(Worth, Clock<'a>)>, bool) {
    let twin = twins(floor);
    let mut exact = Exact { floor, goals, bounds, twin, steps: *steps, best: (known, None) };
    let all = exact.go(&Clock::new(floor), (i64::MIN, 0)).is_some();
    *steps = exact.steps;
    let (worth, clock) = exact.best;
    (clock.map(|c| (worth, c)), all)
}

/// For each job the first one that is equal; a job that another waits for is like none.
fn twins(floor: &Floor) -> Vec<usize> {
    let awaited = |j: usize| floor.jobs.iter().any(|o| o.after.is_some_and(|(b, _)| b == j));
    let mut firsts: Vec<(usize, &Job)> = Vec::new();
    (0..floor.jobs.len())
        .map(|j| {
            let job = &floor.jobs[j];
            match firsts.iter().find(|(first, other)| *other == job && !awaited(*first)) {
                Some((first, _)) if !awaited(j) => *first,
                _ => {
                    firsts.push((j, job));
                    j
                }
            }
        })
        .collect()
}

impl<'a> Exact<'a> {
    /// Goes on from a clock; none where the steps ran out.
    fn go(&mut self, clock: &Clock<'a>, last: (i64, usize)) -> Option<()> {
        let open = self.floor.jobs.len().saturating_sub(clock.placed());
        self.steps = self.steps.checked_sub(100 + 20 * (open * self.floor.machines.len()) as u64)?;
        let mut nexts = Vec::new();
        let mut tried = vec![false; self.floor.jobs.len()];
        for job in 0..self.floor.jobs.len() {
            if !clock.is_open(job) || std::mem::replace(&mut tried[self.twin[job]], true) {
                continue;
            }
            for machine in 0..self.floor.machines.len() {
                if let Some(slot) = clock.slot(job, machine) {
                    nexts.push(slot);
                }
            }
        }
        if nexts.is_empty() {
            let mut done = clock.clone();
            done.leave_the_rest();
            let worth = worth(&done.score(), self.goals);
            if worth < self.best.0 {
                self.best = (worth, Some(done));
            }
            return Some(());
        }
        let mut ways = Vec::new();
        for slot in nexts.into_iter().filter(|s| (s.setup_min, s.machine) >= last) {
            let mut next = clock.clone();
            let at = (slot.setup_min, slot.machine);
            next.put(slot);
            self.steps = self.steps.checked_sub(150 + 10 * open as u64)?;
            let bound = self.bounds.worth(&next, self.goals);
            if bound < self.best.0 {
                ways.push((bound, at, next));
            }
        }
        ways.sort_by(|a, b| a.0.cmp(&b.0).then(a.1.cmp(&b.1)));
        for (bound, at, next) in ways {
            if bound < self.best.0 {
                self.go(&next, at)?;
            }
        }
        Some(())
    }
}
