//! Rules of thumb: from nothing to a schedule, job by job.

use super::Floor;
use super::clock::Clock;

/// How the next job is chosen.
#[derive(Debug, Clone, Copy)]
pub(super) enum Rule {
    /// The earliest date first, on the machine where it is not late and changes least, else where it is done first.
    DateThenChange,
    /// The earliest date first, where it is done first.
    DateThenEnd,
    /// The machine that is free first takes what is urgent (so many minutes of slack are left), else what changes least.
    Urgent(i64),
    /// The machine that is free first takes the earliest date, each minute of change counting as so many later.
    Weighed(i64),
}

pub(super) const RULES: [Rule; 15] = [
    Rule::DateThenChange,
    Rule::DateThenEnd,
    Rule::Urgent(i64::MIN),
    Rule::Urgent(0),
    Rule::Urgent(480),
    Rule::Urgent(4_320),
    Rule::Weighed(10),
    Rule::Weighed(50),
    Rule::Weighed(100),
    Rule::Weighed(160),
    Rule::Weighed(200),
    Rule::Weighed(250),
    Rule::Weighed(330),
    Rule::Weighed(500),
    Rule::Weighed(1_500),
];

/// Returns the schedule that a rule makes.
pub(super) fn by_rule(floor: &Floor, rule: Rule) -> Clock<'_> {
    let mut clock = Clock::new(floor);
    match rule {
        Rule::DateThenChange | Rule::DateThenEnd => by_date(&mut clock, floor, matches!(rule, Rule::DateThenChange)),
        Rule::Urgent(_) | Rule::Weighed(_) => by_machine(&mut clock, floor, rule),
    }
    clock.leave_the_rest();
    clock
}

/// Jobs without a place by their dates, on the machine where they are late least and change least, or done first.
pub(super) fn by_date(clock: &mut Clock, floor: &Floor, spare_changes: bool) {
    let mut waiting: Vec<usize> = (0..floor.jobs.len()).filter(|j| clock.is_open(*j)).collect();
    waiting.sort_by(|a, b| {
        let key = |j: usize| (floor.jobs[j].due_min.unwrap_or(i64::MAX), floor.jobs[j].ready_min);
        key(*a).cmp(&key(*b)).then_with(|| floor.jobs[*a].state.cmp(&floor.jobs[*b].state)).then(a.cmp(b))
    });
    let mut at = 0;
    while !waiting.is_empty() {
        // One that waits for another is passed over until that has its place.
        let Some(next) = (at..waiting.len()).find(|i| clock.may_come(waiting[*i])) else {
            if at == 0 {
                return;
            }
            at = 0;
            continue;
        };
        let job = waiting.remove(next);
        at = if next == at { 0 } else { at };
        let due = floor.jobs[job].due_min.unwrap_or(i64::MAX);
        let slots = (0..floor.machines.len()).filter_map(|m| clock.slot(job, m));
        let best = slots.min_by_key(|s| {
            let late = s.end_min.saturating_sub(due).max(0);
            let changed = s.begin_min - s.setup_min;
            if spare_changes { (late, changed, s.end_min, s.machine) } else { (0, s.end_min, changed, s.machine) }
        });
        if let Some(slot) = best {
            clock.put(slot);
        }
    }
}

/// Jobs that need the same and may go on the same machines wait in one queue, by their dates.
fn queues(floor: &Floor) -> Vec<Vec<usize>> {
    let mut order: Vec<usize> = (0..floor.jobs.len()).collect();
    let may = |j: usize| floor.jobs[j].minutes.iter().map(Option::is_some).collect::<Vec<bool>>();
    let key = |j: usize| (floor.jobs[j].state.clone(), may(j), floor.jobs[j].after.is_some(), floor.jobs[j].ready_min);
    order.sort_by_cached_key(|j| (key(*j), floor.jobs[*j].due_min.unwrap_or(i64::MAX), *j));
    let mut queues: Vec<Vec<usize>> = Vec::new();
    for job in order {
        match queues.last_mut() {
            Some(queue) if key(queue[0]) == key(job) => queue.push(job),
            _ => queues.push(vec![job]),
        }
    }
    queues.iter_mut().for_each(|q| q.reverse());
    queues
}

/// A job without a date comes after all others, but for changes.
const MOST_LATE: i64 = 10_000_000;

fn by_machine(clock: &mut Clock, floor: &Floor, rule: Rule) {
    let mut queues = queues(floor);
    let mut resting = vec![false; floor.machines.len()];
    loop {
        let awake = (0..floor.machines.len()).filter(|m| !resting[*m]);
        let Some(machine) = awake.min_by_key(|m| (clock.free_min(*m), *m)) else { return };
        let slots = queues.iter().enumerate().filter_map(|(q, queue)| Some((q, clock.slot(*queue.last()?, machine)?)));
        let best = slots.min_by_key(|(q, slot)| {
            let due = floor.jobs[slot.job].due_min;
            let slack = due.map_or(i64::MAX, |due| due - slot.end_min);
            let change = clock.change_min(slot.job, machine);
            let (first, then, last) = match rule {
                Rule::Urgent(urgent) if slack < urgent => (0, slack, change),
                Rule::Weighed(weight) => (0, due.unwrap_or(MOST_LATE).saturating_add(weight * change), slack),
                _ => (1, change, slack),
            };
            (first, then, last, slot.setup_min, *q)
        });
        match best {
            Some((q, slot)) => {
                clock.put(slot);
                queues[q].pop();
                // What waited for this job may now go on any machine.
                resting.fill(false);
            }
            None => resting[machine] = true,
        }
    }
}
