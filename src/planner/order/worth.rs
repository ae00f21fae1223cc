//! What schedules are compared by, and what none can beat.

use super::clock::Clock;
use super::{Floor, Goal, Score};

/// What counts, by the goals in their order; less is better, the first that differs decides.
pub(super) type Worth = [i64; 10];

pub(super) fn worth(score: &Score, goals: &[Goal]) -> Worth {
    let mut worth = [0; 10];
    // Whatever is asked for, a job left out is worse than any of it.
    worth[0] = score.left;
    for (value, goal) in worth.iter_mut().skip(1).zip(goals) {
        *value = score.of(*goal);
    }
    worth
}

/// What every bound of a floor needs.
#[derive(Debug, Clone)]
pub(super) struct Bounds<'a> {
    floor: &'a Floor,
    /// Distinct states of jobs.
    states: Vec<&'a [usize]>,
    /// For each job which of those it needs.
    of_job: Vec<usize>,
    /// The least minutes of change into each of those, out of any other state there is.
    into: Vec<i64>,
    /// The same by aspect and value.
    into_value: Vec<Vec<i64>>,
    /// The shortest time of each job.
    shortest: Vec<i64>,
    /// Jobs by their dates.
    by_date: Vec<usize>,
    /// Working minutes before each span of hours.
    worked: Vec<i64>,
}

impl<'a> Bounds<'a> {
    pub(super) fn new(floor: &'a Floor) -> Self {
        let mut states: Vec<&[usize]> = floor.jobs.iter().map(|j| &j.state[..]).collect();
        states.sort_unstable();
        states.dedup();
        let of_job = floor.jobs.iter().map(|j| states.partition_point(|s| *s < &j.state[..])).collect();
        let others: Vec<&[usize]> = states.iter().copied().chain(floor.machines.iter().map(|m| &m.state[..])).collect();
        let between = |a: &[usize], b: &[usize]| -> i64 {
            floor.aspects.iter().enumerate().map(|(k, aspect)| aspect.minutes[a[k]][b[k]]).sum()
        };
        let into = states
            .iter()
            .map(|s| others.iter().filter(|o| *o != s).map(|o| between(o, s)).min().unwrap_or(0))
            .collect();
        let into_value = floor
            .aspects
            .iter()
            .map(|aspect| {
                let n = aspect.minutes.len();
                let least = |to: usize| (0..n).filter(|f| *f != to).map(|f| aspect.minutes[f][to]).min().unwrap_or(0);
                (0..n).map(least).collect()
            })
            .collect();
        let shortest: Vec<i64> = floor
            .jobs
            .iter()
            .map(|j| j.minutes.iter().flatten().min().copied().unwrap_or(0) + j.handling_min)
            .collect();
        let mut by_date: Vec<usize> = (0..floor.jobs.len()).filter(|j| floor.jobs[*j].due_min.is_some()).collect();
        by_date.sort_by_key(|j| (floor.jobs[*j].due_min, *j));
        let mut sum = 0;
        let worked = floor
            .hours
            .iter()
            .map(|span| {
                let before = sum;
                sum += span.to_min - span.from_min;
                before
            })
            .collect();
        Self { floor, states, of_job, into, into_value, shortest, by_date, worked }
    }

    /// What no way to go on can beat: each figure by itself.
    pub(super) fn worth(&self, clock: &Clock, goals: &[Goal]) -> Worth {
        let score = clock.score();
        let open = |job: usize| clock.is_open(job);
        let mut waiting: Vec<usize> = vec![0; self.states.len()];
        for job in (0..self.of_job.len()).filter(|j| open(*j)) {
            waiting[self.of_job[job]] += 1;
        }
        let fitted: Vec<bool> = self.states.iter().map(|s| clock.has_fitted(s)).collect();
        let new: Vec<usize> = (0..waiting.len()).filter(|s| waiting[*s] > 0 && !fitted[*s]).collect();
        let mut worth = [0; 10];
        worth[0] = score.left;
        for (value, goal) in worth.iter_mut().skip(1).zip(goals) {
            *value = match goal {
                Goal::Left => score.left,
                Goal::Lateness => self.lateness(clock, &score, &fitted).unwrap_or(i64::MIN),
                Goal::Tardiness => self.lateness(clock, &score, &fitted).unwrap_or(0).max(0),
                Goal::TotalTardiness => {
                    score.total_tardiness_min + self.each_late(clock).filter(|l| *l > 0).sum::<i64>()
                }
                Goal::ChangeMinutes => score.change_min + self.changes(clock, &new),
                Goal::Changeovers => score.changeovers + new.len() as i64,
                Goal::Changes => score.changes + (new.len() as i64).max(self.single_changes(clock)),
                Goal::Cost => Score { cost: score.cost + self.cost(clock), ..score }.of(Goal::Cost) - 1,
                Goal::Makespan => score.makespan_min.max(self.makespan(clock, &new)),
            };
        }
        worth
    }

    /// Minutes into every state that is needed and fitted nowhere.
    fn changes(&self, clock: &Clock, new: &[usize]) -> i64 {
        let whole: i64 = new.iter().map(|s| self.into[*s]).sum();
        whole.max(self.values(clock, |aspect, value| self.into_value[aspect][value]))
    }

    fn single_changes(&self, clock: &Clock) -> i64 {
        self.values(clock, |_, _| 1)
    }

    /// Sums up over the values that are needed and fitted nowhere.
    fn values(&self, clock: &Clock, count: impl Fn(usize, usize) -> i64) -> i64 {
        let mut sum = 0;
        for aspect in 0..self.floor.aspects.len() {
            let mut needed = vec![false; self.floor.aspects[aspect].minutes.len()];
            for job in (0..self.of_job.len()).filter(|j| clock.is_open(*j)) {
                needed[self.floor.jobs[job].state[aspect]] = true;
            }
            let missing = (0..needed.len()).filter(|v| needed[*v] && !clock.has_value(aspect, *v));
            sum += missing.map(|value| count(aspect, value)).sum::<i64>();
        }
        sum
    }

    fn cost(&self, clock: &Clock) -> f64 {
        let open = (0..self.of_job.len()).filter(|j| clock.is_open(*j));
        let least = |job: usize| {
            let each = self.floor.jobs[job].minutes.iter().zip(&self.floor.machines);
            let costs = each.filter_map(|(m, machine)| Some((*m)? as f64 * machine.cost_per_min));
            let least = costs.fold(f64::INFINITY, f64::min);
            if least.is_finite() { least } else { 0.0 }
        };
        open.map(least).sum()
    }

    /// The lateness of each waiting job if it came next.
    fn each_late(&self, clock: &Clock) -> impl Iterator<Item = i64> {
        self.by_date.iter().filter(|j| clock.is_open(**j)).map(|j| {
            let job = &self.floor.jobs[*j];
            let first = (0..job.minutes.len())
                .filter_map(|m| Some(clock.free_min(m).max(job.ready_min) + job.handling_min + job.minutes[m]?));
            first.min().unwrap_or(0) - job.due_min.unwrap_or(0)
        })
    }

    /// How long a person is there for a job, without changes.
    fn person_min(&self, job: usize) -> i64 {
        let job = &self.floor.jobs[job];
        job.handling_min + job.watch_min.min(job.minutes.iter().flatten().min().copied().unwrap_or(0))
    }

    /// When people, from the first minute on, have done so much work at the soonest; none where they are no limit.
    fn people_done(&self, work: i64) -> Option<i64> {
        let people = self.floor.people? as i64;
        let each = (work + people - 1).checked_div(people)?;
        if self.floor.hours.is_empty() || each <= 0 {
            return Some(each);
        }
        let span = self.worked.partition_point(|w| *w < each).checked_sub(1)?;
        let at = self.floor.hours[span].from_min + each - self.worked[span];
        // More than there are hours for: some of it is left, and that counts for itself.
        (at <= self.floor.hours[span].to_min).then_some(at)
    }

    /// The greatest lateness: of each by itself, and of all up to each date, worked off by all machines together.
    fn lateness(&self, clock: &Clock, score: &Score, fitted: &[bool]) -> Option<i64> {
        let mut late = score.lateness_min;
        let mut offer = |l: i64| late = Some(late.map_or(l, |b| b.max(l)));
        self.each_late(clock).for_each(&mut offer);
        let free = clock.all_free();
        let (mut work, mut seen) = (0, vec![false; self.states.len()]);
        // People's work is counted from the start, with that on jobs in their places already.
        let mut hands: i64 = clock.slots.iter().flatten().map(|s| s.watched_min - s.setup_min).sum();
        let from_the_start = hands == 0;
        for &job in self.by_date.iter().filter(|j| clock.is_open(**j)) {
            work += self.shortest[job];
            hands += self.person_min(job);
            let state = self.of_job[job];
            if !seen[state] && !fitted[state] {
                work += self.into[state];
                hands += self.into[state];
            }
            seen[state] = true;
            let due = self.floor.jobs[job].due_min.unwrap_or(0);
            offer(done_by(&free, work) - due);
            // Jobs in their places may have later dates, and their hands be free for these before: only at the start
            // is it sure that all of the work comes first.
            if from_the_start {
                offer(self.people_done(hands).unwrap_or(0) - due);
            }
        }
        late
    }

    fn makespan(&self, clock: &Clock, new: &[usize]) -> i64 {
        let open: Vec<usize> = (0..self.of_job.len()).filter(|j| clock.is_open(*j)).collect();
        let work: i64 =
            open.iter().map(|j| self.shortest[*j]).sum::<i64>() + new.iter().map(|s| self.into[*s]).sum::<i64>();
        let longest = open.iter().map(|j| {
            let job = &self.floor.jobs[*j];
            let each = (0..job.minutes.len())
                .filter_map(|m| Some(clock.free_min(m).max(job.ready_min) + job.handling_min + job.minutes[m]?));
            each.min().unwrap_or(0)
        });
        let longest = longest.max().unwrap_or(0);
        if work == 0 {
            return longest;
        }
        let hands: i64 = clock.slots.iter().flatten().map(|s| s.watched_min - s.setup_min).sum::<i64>()
            + open.iter().map(|j| self.person_min(*j)).sum::<i64>()
            + new.iter().map(|s| self.into[*s]).sum::<i64>();
        longest.max(done_by(&clock.all_free(), work)).max(self.people_done(hands).unwrap_or(0))
    }
}

/// When machines, free from those minutes on (in order), have done so much work together at the soonest.
fn done_by(free: &[i64], work: i64) -> i64 {
    let mut sum = 0;
    let mut at = i64::MAX;
    for (index, from) in free.iter().enumerate() {
        if *from >= at {
            break;
        }
        sum += from;
        let machines = index as i64 + 1;
        at = (work + sum + machines - 1).div_euclid(machines);
    }
    if at == i64::MAX { 0 } else { at }
}
