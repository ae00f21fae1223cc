//! Better schedules from good ones: jobs moved and swapped, as long as the steps last.

use super::clock::{Clock, Line};
use super::worth::{Worth, worth};
use super::{Floor, Goal, Score};
use crate::dice::Dice;

/// Each machine's jobs in order.
pub(super) type Order = Vec<Vec<usize>>;

/// Puts jobs in their places: of all machines' next jobs always that which can begin first.
pub(super) fn lay<'a>(floor: &'a Floor, order: &Order) -> Clock<'a> {
    let mut clock = Clock::new(floor);
    let mut next = vec![0; order.len()];
    loop {
        let heads = (0..order.len()).filter_map(|m| Some((m, *order[m].get(next[m])?)));
        let slots = heads.clone().filter_map(|(m, job)| clock.slot(job, m));
        match slots.min_by_key(|s| (s.setup_min, s.machine)) {
            Some(slot) => {
                next[slot.machine] += 1;
                clock.put(slot);
            }
            // A job that can have no place now is passed over, those that may wait for others last.
            None => match heads.min_by_key(|(_, job)| floor.jobs[*job].after.is_some()) {
                Some((machine, _)) => next[machine] += 1,
                None => break,
            },
        }
    }
    clock.leave_the_rest();
    clock
}

/// Puts jobs in their places as a plan before had them, what it lacks after that by their dates.
pub(super) fn follow<'a>(floor: &'a Floor, before: &[(usize, usize)]) -> Clock<'a> {
    let mut clock = Clock::new(floor);
    for &(job, machine) in before {
        if job < floor.jobs.len()
            && machine < floor.machines.len()
            && clock.is_open(job)
            && let Some(slot) = clock.slot(job, machine)
        {
            clock.put(slot);
        }
    }
    super::rules::by_date(&mut clock, floor, true);
    clock.leave_the_rest();
    clock
}

/// How an order is judged: machine by machine where none touches another, else all over again.
struct Judge<'a> {
    floor: &'a Floor,
    goals: &'a [Goal],
    lines: Option<Vec<Line>>,
}

impl Judge<'_> {
    fn worth(&self, order: &Order, changed: &[usize], steps: &mut u64) -> Worth {
        match &self.lines {
            Some(lines) => {
                *steps = steps.saturating_sub(changed.iter().map(|m| order[*m].len() as u64 + 2).sum());
                let fresh: Vec<Line> = changed.iter().map(|m| Line::new(self.floor, *m, &order[*m])).collect();
                let all = (0..lines.len()).map(|m| match changed.iter().position(|c| *c == m) {
                    Some(i) => fresh[i],
                    None => lines[m],
                });
                worth(&all.fold(Score::default(), |score, line| line.add_to(score)), self.goals)
            }
            None => {
                let jobs: usize = order.iter().map(Vec::len).sum();
                *steps = steps.saturating_sub((jobs * order.len() * 8) as u64 + 8);
                worth(&lay(self.floor, order).score(), self.goals)
            }
        }
    }

    fn take(&mut self, order: &Order, changed: &[usize]) {
        if let Some(lines) = &mut self.lines {
            for machine in changed {
                lines[*machine] = Line::new(self.floor, *machine, &order[*machine]);
            }
        }
    }
}

/// Returns the best order found and its worth.
pub(super) fn improve(floor: &Floor, goals: &[Goal], start: Order, steps: &mut u64) -> (Worth, Order) {
    let lines = Clock::is_simple(floor)
        .then(|| start.iter().enumerate().map(|(m, jobs)| Line::new(floor, m, jobs)).collect::<Vec<Line>>());
    let mut judge = Judge { floor, goals, lines };
    let all: Vec<usize> = (0..start.len()).collect();
    let mut order = start;
    let mut now = judge.worth(&order, &all, steps);
    let mut best = (now, order.clone());
    let mut dice = Dice::new(3);
    while *steps > 0 && order.iter().any(|o| !o.is_empty()) {
        downhill(&mut judge, &mut order, &mut now, &mut dice, steps);
        if now < best.0 {
            best = (now, order.clone());
        }
        // Out of the valley: a few jobs thrown elsewhere, from the best so far.
        order = best.1.clone();
        for _ in 0..2 + dice.below(4) {
            if let Some((moved, _)) = any_move(floor, &order, &mut dice) {
                order = moved;
            }
        }
        judge.take(&order, &all);
        now = judge.worth(&order, &all, steps);
    }
    best
}

/// Takes moves by chance while they make nothing worse, until many in a row have made nothing better.
fn downhill(judge: &mut Judge, order: &mut Order, now: &mut Worth, dice: &mut Dice, steps: &mut u64) {
    let jobs: usize = order.iter().map(Vec::len).sum();
    let mut idle = 0;
    while idle < 30 * jobs + 60 && *steps > 0 {
        *steps = steps.saturating_sub(4);
        idle += 1;
        let Some((moved, changed)) = any_move(judge.floor, order, dice) else { continue };
        let worth = judge.worth(&moved, &changed, steps);
        if worth <= *now {
            if worth < *now {
                idle = 0;
            }
            *now = worth;
            *order = moved;
            judge.take(order, &changed);
        }
    }
}

/// A job, or a run of jobs that need the same, moved to another place, or two swapped; and the machines touched.
fn any_move(floor: &Floor, order: &Order, dice: &mut Dice) -> Option<(Order, Vec<usize>)> {
    let from = pick(order, dice)?;
    let at = dice.below(order[from].len());
    let mut moved = order.clone();
    if dice.below(3) == 0 {
        let to = pick(order, dice)?;
        let other = dice.below(order[to].len());
        let (a, b) = (order[from][at], order[to][other]);
        floor.jobs[a].minutes[to]?;
        floor.jobs[b].minutes[from]?;
        moved[from][at] = b;
        moved[to][other] = a;
        return Some((moved, if from == to { vec![from] } else { vec![from, to] }));
    }
    // One job, or with it those after it in the same state.
    let mut end = at + 1;
    if dice.below(2) == 0 {
        while end < order[from].len() && floor.jobs[order[from][end]].state == floor.jobs[order[from][at]].state {
            end += 1;
        }
    }
    let block: Vec<usize> = moved[from].drain(at..end).collect();
    let may: Vec<usize> =
        (0..order.len()).filter(|m| block.iter().all(|j| floor.jobs[*j].minutes[*m].is_some())).collect();
    let to = may[dice.below(may.len())];
    let place = dice.below(moved[to].len() + 1);
    moved[to].splice(place..place, block);
    Some((moved, if from == to { vec![from] } else { vec![from, to] }))
}

/// A machine that has a job.
fn pick(order: &Order, dice: &mut Dice) -> Option<usize> {
    let busy = order.iter().filter(|o| !o.is_empty()).count();
    let nth = dice.below(busy);
    (0..order.len()).filter(|m| !order[*m].is_empty()).nth(nth)
}
