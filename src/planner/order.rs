//! What is printed where and when.
//!
//! A machine is in a state (material, nozzle, surface, chamber: as many aspects as the caller likes); a job needs one. What
//! differs is changed before the job, in the times that the aspect gives. Changes, starts and the watch over a first
//! layer need a person, in working hours; printing needs none where job and machine may run alone.

mod clock;
mod exact;
mod rules;
mod search;
mod worth;

use self::clock::Clock;
use self::worth::{Bounds, Worth};
use crate::Effort;
use crate::refusal::{About, Refusal, within};

/// From, up to but without.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Span {
    /// First minute.
    pub from_min: i64,
    /// First minute after.
    pub to_min: i64,
}

/// One thing of a machine's state, such as the material: what it takes to change it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Aspect {
    /// Minutes by value before and after; nothing on the diagonal.
    pub minutes: Vec<Vec<i64>>,
    /// What the change costs (purged material, a new sheet), likewise; empty: nothing.
    pub cost: Vec<Vec<f64>>,
    /// How often each value is there at all (one 0.6 nozzle for four machines); empty: as often as one likes.
    pub copies: Vec<Option<usize>>,
}

impl Aspect {
    /// Returns one in which every change takes as long.
    pub fn even(values: usize, minutes: i64) -> Self {
        let row = |from: usize| (0..values).map(|to| if from == to { 0 } else { minutes }).collect();
        Self { minutes: (0..values).map(row).collect(), ..Self::default() }
    }
}

/// A machine.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Machine {
    /// The value of each aspect as it stands.
    pub state: Vec<usize>,
    /// From when it is free: what it prints now stays.
    pub free_from_min: i64,
    /// When it is out of service.
    pub away: Vec<Span>,
    /// Whether it may run with nobody there.
    pub alone: bool,
    /// What a minute of printing costs.
    pub cost_per_min: f64,
}

/// Time in a dryer or oven before a job.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Stay {
    /// Which station.
    pub station: usize,
    /// How long.
    pub minutes: i64,
}

/// A dryer or oven.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Station {
    /// So many jobs' material at a time.
    pub places: usize,
}

/// A plate to print.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Job {
    /// The value of each aspect it needs.
    pub state: Vec<usize>,
    /// How long it prints on each machine; none where it must not.
    pub minutes: Vec<Option<i64>>,
    /// By when it is to be done; none: whenever.
    pub due_min: Option<i64>,
    /// Not before.
    pub ready_min: i64,
    /// How long a person clears the bed and starts, besides changes.
    pub handling_min: i64,
    /// How long a person watches after the start.
    pub watch_min: i64,
    /// Whether it may run with nobody there.
    pub alone: bool,
    /// What must be done to its material first, one after the other.
    pub before: Vec<Stay>,
    /// A job that must be done, and so many minutes gone by, before this one starts (a first article and its inspection).
    pub after: Option<(usize, i64)>,
}

/// The workshop and its work.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Floor {
    /// What a state consists of.
    pub aspects: Vec<Aspect>,
    /// The machines.
    pub machines: Vec<Machine>,
    /// The jobs.
    pub jobs: Vec<Job>,
    /// Dryers and ovens.
    pub stations: Vec<Station>,
    /// Working hours in order; empty: always.
    pub hours: Vec<Span>,
    /// Persons, each at one machine at a time; none: as many as it takes.
    pub people: Option<usize>,
    /// What is not begun by then is left; none: no end.
    pub until_min: Option<i64>,
}

/// What makes one schedule better than another.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Goal {
    /// Jobs left out.
    Left,
    /// The greatest lateness; early is negative.
    Lateness,
    /// The greatest lateness, early counting as nothing.
    Tardiness,
    /// The sum of all tardiness.
    TotalTardiness,
    /// Minutes of change.
    ChangeMinutes,
    /// Jobs before which anything is changed.
    Changeovers,
    /// Single things changed.
    Changes,
    /// Cost of changes and machine minutes.
    Cost,
    /// The end of the last job.
    Makespan,
}

/// The usual goals, the first above the second and so on.
pub const USUAL: [Goal; 5] = [Goal::Left, Goal::Tardiness, Goal::ChangeMinutes, Goal::Cost, Goal::Makespan];

/// A change before a job.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Change {
    /// Which aspect.
    pub aspect: usize,
    /// The value before.
    pub from: usize,
    /// The value after.
    pub to: usize,
}

/// A job in its place.
#[derive(Debug, Clone, PartialEq)]
pub struct Slot {
    /// The job.
    pub job: usize,
    /// The machine.
    pub machine: usize,
    /// What is changed first.
    pub changes: Vec<Change>,
    /// Clearing and changes begin; a person is there from here,
    pub setup_min: i64,
    /// printing begins,
    pub begin_min: i64,
    /// the person may go,
    pub watched_min: i64,
    /// and it ends.
    pub end_min: i64,
    /// When its material goes into each station.
    pub stays: Vec<Span>,
}

/// What a schedule is worth.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Score {
    /// Jobs left out.
    pub left: i64,
    /// The greatest lateness among jobs with a date; early is negative; none: no job has a date.
    pub lateness_min: Option<i64>,
    /// The sum of all tardiness.
    pub total_tardiness_min: i64,
    /// Minutes of change.
    pub change_min: i64,
    /// Jobs before which anything is changed.
    pub changeovers: i64,
    /// Single things changed.
    pub changes: i64,
    /// Cost of changes and machine minutes.
    pub cost: f64,
    /// The end of the last job.
    pub makespan_min: i64,
}

impl Score {
    /// Returns what counts for a goal; less is better. Cost counts in thousandths.
    pub fn of(&self, goal: Goal) -> i64 {
        match goal {
            Goal::Left => self.left,
            Goal::Lateness => self.lateness_min.unwrap_or(i64::MIN),
            Goal::Tardiness => self.lateness_min.unwrap_or(0).max(0),
            Goal::TotalTardiness => self.total_tardiness_min,
            Goal::ChangeMinutes => self.change_min,
            Goal::Changeovers => self.changeovers,
            Goal::Changes => self.changes,
            Goal::Cost => (self.cost * 1000.0).round() as i64,
            Goal::Makespan => self.makespan_min,
        }
    }
}

/// Who prints what, when.
#[derive(Debug, Clone, PartialEq)]
pub struct Schedule {
    /// Each machine's jobs in order.
    pub machines: Vec<Vec<Slot>>,
    /// Jobs that found no place.
    pub left: Vec<usize>,
    /// What it is worth.
    pub score: Score,
    /// For each goal asked, what no schedule can beat that is as good in the goals before it.
    pub at_least: Vec<i64>,
    /// Whether it is proven that no schedule is better.
    pub proven: bool,
}

/// Returns a schedule, the best that was found by the goals in their order.
///
/// Few jobs are tried in every order; for more, rules of thumb are improved by moving jobs about. A job that can have no
/// place (no hours long enough, none left before the end) is left out, and that counts before every goal.
///
/// Refused: states and times that do not match the lists they point into, a job that no machine may print.
pub fn schedule(floor: &Floor, goals: &[Goal], effort: Effort) -> Result<Schedule, Refusal> {
    reschedule(floor, goals, effort, &[])
}

/// The same from a plan that stood before: jobs with their machines in the order of their beginnings. It is kept where
/// nothing better is found; what it does not say is filled in, what no longer may be is left out of it.
pub fn reschedule(
    floor: &Floor,
    goals: &[Goal],
    effort: Effort,
    before: &[(usize, usize)],
) -> Result<Schedule, Refusal> {
    check(floor)?;
    let goals = &goals[..goals.len().min(9)];
    let bounds = Bounds::new(floor);
    let root = bounds.worth(&Clock::new(floor), goals);
    let mut steps = effort.0;
    let mut best = first(floor, goals, before, &mut steps);
    let mut all_tried = false;
    if best.0 > root {
        // A short search first: a good schedule lets the complete one leave out more.
        let mut share = steps / 8;
        steps -= share;
        improve(floor, goals, &mut best, &mut share);
    }
    if best.0 > root && floor.jobs.len() <= exact::MOST_JOBS {
        let mut share = steps / 2;
        steps -= share;
        let (found, all) = exact::better(floor, goals, &bounds, best.0, &mut share);
        steps += share;
        // A copy fetched from an idle machine follows a rule of thumb, so that not all orders are all schedules.
        all_tried = all && !floor.aspects.iter().any(|a| a.copies.iter().any(Option::is_some));
        if let Some(found) = found {
            best = found;
        }
    }
    if best.0 > root && !all_tried {
        improve(floor, goals, &mut best, &mut steps);
    }
    let (known, clock) = best;
    let proven = all_tried || known <= root;
    let at_least = if proven { known } else { root };
    let (score, at_least) = (clock.score(), at_least[1..=goals.len()].to_vec());
    Ok(Schedule { machines: clock.slots, left: clock.left, score, at_least, proven })
}

type Best<'a> = (Worth, Clock<'a>);

/// The best of the plan before and of the rules of thumb.
fn first<'a>(floor: &'a Floor, goals: &[Goal], before: &[(usize, usize)], steps: &mut u64) -> Best<'a> {
    let judged = |clock: Clock<'a>| (worth::worth(&clock.score(), goals), clock);
    let mut best = judged(search::follow(floor, before));
    for rule in rules::RULES {
        *steps = steps.saturating_sub((floor.jobs.len() * floor.machines.len() * 20) as u64);
        let found = judged(rules::by_rule(floor, rule));
        if found.0 < best.0 {
            best = found;
        }
    }
    best
}

fn improve<'a>(floor: &'a Floor, goals: &[Goal], best: &mut Best<'a>, steps: &mut u64) {
    let (worth, order) = search::improve(floor, goals, best.1.order(), steps);
    if worth < best.0 {
        *best = (worth, search::lay(floor, &order));
    }
}

/// Fifty years: no time is further off.
const MOST_MIN: f64 = 50.0 * 366.0 * 1440.0;

fn check(floor: &Floor) -> Result<(), Refusal> {
    let time = |about, what: &str, value: i64| within(about, what, value as f64, 0.0, MOST_MIN);
    for (index, aspect) in floor.aspects.iter().enumerate() {
        let about = About::Aspect(index);
        let values = aspect.minutes.len();
        let square = aspect.minutes.iter().all(|row| row.len() == values);
        let costs = aspect.cost.iter().all(|row| row.len() == values) && [0, values].contains(&aspect.cost.len());
        if !square || !costs || ![0, values].contains(&aspect.copies.len()) {
            return Err(Refusal::new(about, format!("expected a table of {values} by {values} values")));
        }
        for minutes in aspect.minutes.iter().flatten() {
            time(about, "minutes of a change", *minutes)?;
        }
        for cost in aspect.cost.iter().flatten() {
            within(about, "a cost of a change", *cost, 0.0, 1e9)?;
        }
    }
    let fits = |state: &[usize]| {
        state.len() == floor.aspects.len() && state.iter().zip(&floor.aspects).all(|(v, a)| *v < a.minutes.len())
    };
    for (index, machine) in floor.machines.iter().enumerate() {
        let about = About::Machine(index);
        if !fits(&machine.state) {
            return Err(Refusal::new(about, "expected a state with one of the values of each aspect"));
        }
        time(about, "the minute from which a machine is free", machine.free_from_min)?;
        within(about, "a cost per minute", machine.cost_per_min, 0.0, 1e9)?;
        in_order(about, &machine.away)?;
    }
    for (index, job) in floor.jobs.iter().enumerate() {
        check_job(floor, index, job, &fits)?;
    }
    in_order(About::Hours(0), &floor.hours)
}

fn check_job(floor: &Floor, index: usize, job: &Job, fits: &dyn Fn(&[usize]) -> bool) -> Result<(), Refusal> {
    let about = About::Job(index);
    if !fits(&job.state) {
        return Err(Refusal::new(about, "expected a state with one of the values of each aspect"));
    }
    if job.minutes.len() != floor.machines.len() || job.minutes.iter().all(Option::is_none) {
        return Err(Refusal::new(about, "expected a machine that may print it"));
    }
    let times = job.minutes.iter().flatten().chain([&job.ready_min, &job.handling_min, &job.watch_min]);
    for value in times.chain(job.before.iter().map(|s| &s.minutes)) {
        within(about, "minutes", *value as f64, 0.0, MOST_MIN)?;
    }
    if let Some(due) = job.due_min {
        within(about, "a date in minutes", due as f64, -MOST_MIN, MOST_MIN)?;
    }
    if job.before.iter().any(|s| floor.stations.get(s.station).is_none_or(|s| s.places == 0)) {
        return Err(Refusal::new(about, "expected a station that there is"));
    }
    if let Some((before, minutes)) = job.after {
        within(about, "minutes", minutes as f64, 0.0, MOST_MIN)?;
        // Back through what comes before: as many steps as there are jobs would be a ring.
        let mut at = Some(before);
        let mut steps = 0;
        while let Some(job) = at {
            if job >= floor.jobs.len() || steps > floor.jobs.len() {
                return Err(Refusal::new(about, "expected to come after another job, not after itself"));
            }
            at = floor.jobs[job].after.map(|(before, _)| before);
            steps += 1;
        }
    }
    Ok(())
}

fn in_order(about: About, spans: &[Span]) -> Result<(), Refusal> {
    let each = spans.iter().all(|s| s.from_min < s.to_min && (s.to_min as f64).abs() <= MOST_MIN);
    if each && spans.windows(2).all(|w| w[0].to_min <= w[1].from_min) {
        Ok(())
    } else {
        Err(Refusal::new(about, "expected spans in order, none over another, each of some length"))
    }
}
