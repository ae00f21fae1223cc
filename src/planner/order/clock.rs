//! Puts jobs on machines one after the other, each as early as machine, people, hours and stations allow.

use super::{Change, Floor, Score, Slot, Span};

/// When a person, or a place of a station, is taken: spans in order, none over another.
#[derive(Debug, Clone, Default)]
struct Diary {
    taken: Vec<Span>,
}

impl Diary {
    /// The first minute from `from` at which there are `minutes` free.
    fn free(&self, from: i64, minutes: i64) -> i64 {
        let mut at = from;
        for span in &self.taken[self.taken.partition_point(|s| s.to_min <= from)..] {
            if at + minutes <= span.from_min {
                break;
            }
            at = at.max(span.to_min);
        }
        at
    }

    fn take(&mut self, span: Span) {
        if span.from_min < span.to_min {
            let index = self.taken.partition_point(|s| s.from_min < span.from_min);
            self.taken.insert(index, span);
        }
    }
}

/// One of the copies there are of a value, and where it is.
#[derive(Debug, Clone, Copy)]
struct Copy {
    aspect: usize,
    value: usize,
    /// The machine it is fitted to; none: it lies on the shelf.
    on: Option<usize>,
    free_min: i64,
}

/// A floor with some jobs in their places.
#[derive(Debug, Clone)]
pub(super) struct Clock<'a> {
    floor: &'a Floor,
    /// The state of each machine after its last job; none where a part of it was taken to another machine.
    states: Vec<Vec<Option<usize>>>,
    free_min: Vec<i64>,
    people: Option<Vec<Diary>>,
    stations: Vec<Vec<Diary>>,
    copies: Vec<Copy>,
    ends: Vec<Option<i64>>,
    pub(super) slots: Vec<Vec<Slot>>,
    pub(super) left: Vec<usize>,
}

impl<'a> Clock<'a> {
    pub(super) fn new(floor: &'a Floor) -> Self {
        Self {
            floor,
            states: floor.machines.iter().map(|m| m.state.iter().copied().map(Some).collect()).collect(),
            free_min: floor.machines.iter().map(|m| m.free_from_min).collect(),
            people: floor.people.map(|n| vec![Diary::default(); n]),
            stations: floor.stations.iter().map(|s| vec![Diary::default(); s.places]).collect(),
            copies: copies(floor),
            ends: vec![None; floor.jobs.len()],
            slots: vec![Vec::new(); floor.machines.len()],
            left: Vec::new(),
        }
    }

    /// Minutes of change before a job on a machine as it now stands.
    pub(super) fn change_min(&self, job: usize, machine: usize) -> i64 {
        let needed = &self.floor.jobs[job].state;
        (0..needed.len()).map(|a| self.minutes_of(machine, a, needed[a])).sum()
    }

    fn minutes_of(&self, machine: usize, aspect: usize, to: usize) -> i64 {
        let minutes = &self.floor.aspects[aspect].minutes;
        match self.states[machine][aspect] {
            Some(from) => minutes[from][to],
            // Nothing is fitted: whatever is fitted takes as long as the longest change to it.
            None => minutes.iter().map(|row| row[to]).max().unwrap_or(0),
        }
    }

    /// Where a job would come on a machine now; none where it cannot.
    pub(super) fn slot(&self, job: usize, machine: usize) -> Option<Slot> {
        let (the_job, the_machine) = (&self.floor.jobs[job], &self.floor.machines[machine]);
        let minutes = (*the_job.minutes.get(machine)?)?;
        let after = match the_job.after {
            Some((before, wait)) => self.ends[before]? + wait,
            None => 0,
        };
        let (stays, dried) = self.stays(job);
        let ready =
            self.free_min[machine].max(the_job.ready_min).max(after).max(dried).max(self.fetched(job, machine)?);
        let setup = the_job.handling_min + self.change_min(job, machine);
        let alone = the_job.alone && the_machine.alone;
        // How long a person is needed, and how long the hours must last.
        let person = setup + the_job.watch_min.min(minutes);
        let attended = if alone { person } else { setup + minutes };
        let mut at = ready;
        loop {
            let before = at;
            at = self.within_hours(at, attended)?;
            at = self.person_free(at, person)?;
            for away in &the_machine.away {
                if at < away.to_min && at + setup + minutes > away.from_min {
                    at = away.to_min;
                }
            }
            if at == before {
                break;
            }
        }
        let begin_min = at + setup;
        if self.floor.until_min.is_some_and(|until| begin_min >= until) {
            return None;
        }
        Some(Slot {
            job,
            machine,
            changes: self.changes(job, machine),
            setup_min: at,
            begin_min,
            watched_min: at + person,
            end_min: begin_min + minutes,
            stays,
        })
    }

    fn changes(&self, job: usize, machine: usize) -> Vec<Change> {
        let needed = &self.floor.jobs[job].state;
        let state = &self.states[machine];
        (0..needed.len())
            .filter(|a| state[*a] != Some(needed[*a]))
            .map(|a| Change { aspect: a, from: state[a].unwrap_or(needed[a]), to: needed[a] })
            .collect()
    }

    /// The first minute from which the hours last long enough.
    fn within_hours(&self, from: i64, minutes: i64) -> Option<i64> {
        let hours = &self.floor.hours;
        if hours.is_empty() {
            return Some(from);
        }
        hours[hours.partition_point(|s| s.to_min <= from)..].iter().find_map(|span| {
            let at = from.max(span.from_min);
            (at + minutes <= span.to_min).then_some(at)
        })
    }

    fn person_free(&self, from: i64, minutes: i64) -> Option<i64> {
        match &self.people {
            None => Some(from),
            Some(_) if minutes == 0 => Some(from),
            Some(people) => people.iter().map(|p| p.free(from, minutes)).min(),
        }
    }

    /// When the material of a job goes through its stations, and from when it is ready.
    fn stays(&self, job: usize) -> (Vec<Span>, i64) {
        let the_job = &self.floor.jobs[job];
        let mut ready = the_job.ready_min;
        let mut spans = Vec::with_capacity(the_job.before.len());
        for stay in &the_job.before {
            let places = &self.stations[stay.station];
            let from_min = places.iter().map(|p| p.free(ready, stay.minutes)).min().unwrap_or(ready);
            ready = from_min + stay.minutes;
            spans.push(Span { from_min, to_min: ready });
        }
        (spans, ready)
    }

    /// From when there is a copy of everything the job needs; none where there is none at all.
    fn fetched(&self, job: usize, machine: usize) -> Option<i64> {
        let needed = &self.floor.jobs[job].state;
        let mut from = 0;
        for (aspect, &value) in needed.iter().enumerate() {
            let scarce = self.floor.aspects[aspect].copies.get(value).copied().flatten().is_some();
            if scarce && self.states[machine][aspect] != Some(value) {
                from = from.max(self.copies[self.nearest_copy(aspect, value)?].free_min);
            }
        }
        Some(from)
    }

    /// The copy that is free first: on the shelf before on a machine.
    fn nearest_copy(&self, aspect: usize, value: usize) -> Option<usize> {
        let of_it =
            (0..self.copies.len()).filter(|c| self.copies[*c].aspect == aspect && self.copies[*c].value == value);
        of_it.min_by_key(|c| (self.copies[*c].free_min, self.copies[*c].on.is_some(), *c))
    }

    /// Puts a job where [`Clock::slot`] said.
    pub(super) fn put(&mut self, slot: Slot) {
        let (job, machine) = (&self.floor.jobs[slot.job], slot.machine);
        for (stay, span) in job.before.iter().zip(&slot.stays) {
            let minutes = span.to_min - span.from_min;
            let places = &mut self.stations[stay.station];
            if let Some(place) = places.iter_mut().find(|p| p.free(span.from_min, minutes) == span.from_min) {
                place.take(*span);
            }
        }
        let busy = Span { from_min: slot.setup_min, to_min: slot.watched_min };
        if let Some(person) = self
            .people
            .iter_mut()
            .flatten()
            .find(|p| p.free(busy.from_min, busy.to_min - busy.from_min) == busy.from_min)
        {
            person.take(busy);
        }
        for change in &slot.changes {
            self.fetch(machine, *change, slot.setup_min);
        }
        for (aspect, value) in job.state.iter().enumerate() {
            self.states[machine][aspect] = Some(*value);
        }
        for copy in self.copies.iter_mut().filter(|c| c.on == Some(machine)) {
            copy.free_min = slot.end_min;
        }
        self.free_min[machine] = slot.end_min;
        self.ends[slot.job] = Some(slot.end_min);
        self.slots[machine].push(slot);
    }

    /// What was fitted goes on the shelf; what is needed comes from there or from another machine.
    fn fetch(&mut self, machine: usize, change: Change, at: i64) {
        for copy in &mut self.copies {
            if copy.on == Some(machine) && copy.aspect == change.aspect {
                copy.on = None;
                copy.free_min = at;
            }
        }
        if let Some(index) = self.nearest_copy(change.aspect, change.to) {
            if let Some(other) = self.copies[index].on.filter(|other| *other != machine) {
                self.states[other][change.aspect] = None;
            }
            self.copies[index].on = Some(machine);
        }
    }

    /// Whether a job waits for its place.
    pub(super) fn is_open(&self, job: usize) -> bool {
        self.ends[job].is_none()
    }

    /// Each machine's jobs in order.
    pub(super) fn order(&self) -> Vec<Vec<usize>> {
        self.slots.iter().map(|m| m.iter().map(|s| s.job).collect()).collect()
    }

    /// How many jobs have theirs.
    pub(super) fn placed(&self) -> usize {
        self.slots.iter().map(Vec::len).sum()
    }

    /// All that wait are left out.
    pub(super) fn leave_the_rest(&mut self) {
        self.left = (0..self.ends.len()).filter(|j| self.is_open(*j)).collect();
    }

    /// From when a machine is free.
    pub(super) fn free_min(&self, machine: usize) -> i64 {
        self.free_min[machine]
    }

    /// From when machines are free, the first first.
    pub(super) fn all_free(&self) -> Vec<i64> {
        let mut free = self.free_min.clone();
        free.sort_unstable();
        free
    }

    /// Whether some machine stands in a state.
    pub(super) fn has_fitted(&self, state: &[usize]) -> bool {
        self.states.iter().any(|s| s.iter().zip(state).all(|(have, need)| *have == Some(*need)))
    }

    /// Whether some machine has a value.
    pub(super) fn has_value(&self, aspect: usize, value: usize) -> bool {
        self.states.iter().any(|s| s[aspect] == Some(value))
    }

    /// Whether no machine's times hang on another's: then each is reckoned by itself.
    pub(super) fn is_simple(floor: &Floor) -> bool {
        let scarce = floor.aspects.iter().any(|a| a.copies.iter().any(Option::is_some));
        let tied = floor.jobs.iter().any(|j| j.after.is_some() || !j.before.is_empty());
        let away = floor.machines.iter().any(|m| !m.away.is_empty());
        !scarce && !tied && !away && floor.hours.is_empty() && floor.people.is_none() && floor.until_min.is_none()
    }

    /// Whether the job another comes after is in its place.
    pub(super) fn may_come(&self, job: usize) -> bool {
        self.floor.jobs[job].after.is_none_or(|(before, _)| self.ends[before].is_some())
    }

    pub(super) fn score(&self) -> Score {
        score(self.floor, &self.slots, self.left.len())
    }
}

/// The copies there are, those on machines with them.
fn copies(floor: &Floor) -> Vec<Copy> {
    let mut all = Vec::new();
    for (aspect, of) in floor.aspects.iter().enumerate() {
        for (value, count) in of.copies.iter().enumerate() {
            let Some(count) = count else { continue };
            let on = floor.machines.iter().enumerate().filter(|(_, m)| m.state[aspect] == value);
            let fitted: Vec<Copy> =
                on.map(|(machine, m)| Copy { aspect, value, on: Some(machine), free_min: m.free_from_min }).collect();
            let shelf = count.saturating_sub(fitted.len());
            all.extend(fitted);
            all.extend((0..shelf).map(|_| Copy { aspect, value, on: None, free_min: 0 }));
        }
    }
    all
}

/// What a schedule is worth.
pub(super) fn score(floor: &Floor, machines: &[Vec<Slot>], left: usize) -> Score {
    let mut score = Score { left: left as i64, ..Score::default() };
    for slot in machines.iter().flatten() {
        let (job, machine) = (&floor.jobs[slot.job], &floor.machines[slot.machine]);
        if let Some(due) = job.due_min {
            let late = slot.end_min - due;
            score.lateness_min = Some(score.lateness_min.map_or(late, |l| l.max(late)));
            score.total_tardiness_min += late.max(0);
        }
        score.makespan_min = score.makespan_min.max(slot.end_min);
        score.change_min += slot.begin_min - slot.setup_min - job.handling_min;
        score.changeovers += i64::from(!slot.changes.is_empty());
        score.changes += slot.changes.len() as i64;
        score.cost += (slot.end_min - slot.begin_min) as f64 * machine.cost_per_min;
        for change in &slot.changes {
            let costs = &floor.aspects[change.aspect].cost;
            score.cost += costs.get(change.from).and_then(|row| row.get(change.to)).copied().unwrap_or(0.0);
        }
    }
    score
}

/// One machine's part of a score, where it hangs on no other's.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Line {
    score: Score,
}

impl Line {
    pub(super) fn new(floor: &Floor, machine: usize, jobs: &[usize]) -> Self {
        let the_machine = &floor.machines[machine];
        let mut score = Score::default();
        let (mut state, mut free) = (&the_machine.state, the_machine.free_from_min);
        for &index in jobs {
            let job = &floor.jobs[index];
            let (mut minutes, mut changes) = (0, 0);
            for (k, aspect) in floor.aspects.iter().enumerate() {
                let (from, to) = (state[k], job.state[k]);
                if from != to {
                    minutes += aspect.minutes[from][to];
                    changes += 1;
                    score.cost += aspect.cost.get(from).and_then(|row| row.get(to)).copied().unwrap_or(0.0);
                }
            }
            let printing = job.minutes[machine].unwrap_or(0);
            free = free.max(job.ready_min) + job.handling_min + minutes + printing;
            state = &job.state;
            score.change_min += minutes;
            score.changes += changes;
            score.changeovers += i64::from(changes > 0);
            score.cost += printing as f64 * the_machine.cost_per_min;
            score.makespan_min = free;
            if let Some(due) = job.due_min {
                let late = free - due;
                score.lateness_min = Some(score.lateness_min.map_or(late, |l| l.max(late)));
                score.total_tardiness_min += late.max(0);
            }
        }
        Self { score }
    }

    pub(super) fn add_to(self, sum: Score) -> Score {
        let one = self.score;
        Score {
            left: sum.left,
            lateness_min: one.lateness_min.max(sum.lateness_min),
            total_tardiness_min: sum.total_tardiness_min + one.total_tardiness_min,
            change_min: sum.change_min + one.change_min,
            changeovers: sum.changeovers + one.changeovers,
            changes: sum.changes + one.changes,
            cost: sum.cost + one.cost,
            makespan_min: sum.makespan_min.max(one.makespan_min),
        }
    }
}
