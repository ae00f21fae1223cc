//! A whole run: how many of each part to start, their plates, spools, and the order of the plates on the machines.

use crate::Effort;
use crate::order::{self, Aspect, Floor, Goal, Job, Machine, Schedule, Span, Station, Stay};
use crate::plates::{self, Bed, Kind, Options, Place};
use crate::refusal::{About, Refusal};
use crate::spools::{self, Stock};
use crate::start::{self, Demand, Start};

/// A part of the run.
#[derive(Debug, Clone, PartialEq)]
pub struct Part {
    /// What a piece covers and how it may be turned (its count is not looked at).
    pub kind: Kind,
    /// How many are wanted, and how sure.
    pub demand: Demand,
    /// Printing time of one piece, in minutes, on a machine whose factor is 1.
    pub minutes_each: f64,
    /// Its printing time on each machine over the nominal one, besides the machine's own factor; empty: 1 on all.
    pub factors: Vec<f64>,
    /// Printing time of a plate besides.
    pub minutes_per_plate: f64,
    /// Material of one piece.
    pub mass_each_g: f64,
    /// Material of a plate besides: purge, first line.
    pub mass_per_plate_g: f64,
    /// The value of each aspect it needs.
    pub state: Vec<usize>,
    /// Parts of one group may share a plate, if their state is the same; none: a plate of its own.
    pub group: Option<usize>,
    /// Machines that may print it.
    pub machines: Vec<usize>,
    /// By when; none: whenever.
    pub due_min: Option<i64>,
    /// Not before.
    pub ready_min: i64,
    /// Whether it may print with nobody there.
    pub alone: bool,
    /// How long a person clears the bed and starts.
    pub handling_min: i64,
    /// How long a person watches after the start.
    pub watch_min: i64,
    /// What must be done to its material first.
    pub before: Vec<Stay>,
    /// How long the inspection of a first article takes before the rest may start.
    pub inspection_min: i64,
}

/// A machine of the run.
#[derive(Debug, Clone, PartialEq)]
pub struct Printer {
    /// As a machine.
    pub machine: Machine,
    /// Its bed, as one of the run's.
    pub bed: usize,
    /// Its printing time over the nominal one.
    pub time_factor: f64,
}

/// Spools of a material.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Spools {
    /// What is left on each.
    pub left_g: Vec<f64>,
    /// What a change in mid-plate costs of the new one.
    pub loss_at_change_g: f64,
    /// A touched spool that ends below this is scrap.
    pub scrap_below_g: f64,
}

/// What there is and what is wanted.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Run {
    /// The parts.
    pub parts: Vec<Part>,
    /// The beds of the machines.
    pub beds: Vec<Bed>,
    /// Gap, policy and effort of packing.
    pub packing: Options,
    /// The machines.
    pub printers: Vec<Printer>,
    /// What a state consists of.
    pub aspects: Vec<Aspect>,
    /// Which aspect is the material, if spools are kept count of.
    pub material: Option<usize>,
    /// Spools by the material's value; none: as much as it takes.
    pub spools: Vec<Option<Spools>>,
    /// Dryers and ovens.
    pub stations: Vec<Station>,
    /// Working hours; empty: always.
    pub hours: Vec<Span>,
    /// Persons; none: as many as it takes.
    pub people: Option<usize>,
    /// No plate begins after that.
    pub until_min: Option<i64>,
    /// What makes one plan better than another.
    pub goals: Vec<Goal>,
    /// How much to search for the order.
    pub effort: Effort,
}

/// One printing of a plate.
#[derive(Debug, Clone, PartialEq)]
pub struct Round {
    /// Where each piece lies; its kind is the part.
    pub places: Vec<Place>,
    /// The bed it was laid out for.
    pub bed: usize,
    /// What it takes.
    pub mass_g: f64,
    /// How long it prints where the factor is 1.
    pub minutes: f64,
    /// The value of each aspect it needs.
    pub state: Vec<usize>,
}

/// Plates of some parts, with what no packing can beat.
#[derive(Debug, Clone, PartialEq)]
pub struct Lot {
    /// The parts in it.
    pub parts: Vec<usize>,
    /// Its plates, as rounds.
    pub rounds: Vec<usize>,
    /// Fewer plates cannot do (first articles apart).
    pub at_least: usize,
}

/// A whole plan.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    /// For each part, how many to start.
    pub starts: Vec<Start>,
    /// The plates; each is the job of the same index.
    pub rounds: Vec<Round>,
    /// Which rounds belong together, and their bounds.
    pub lots: Vec<Lot>,
    /// When and where each is printed.
    pub schedule: Schedule,
    /// For each material's value, which spool feeds which of its rounds.
    pub spools: Vec<Feed>,
}

/// Spools of one material.
#[derive(Debug, Clone, PartialEq)]
pub struct Feed {
    /// The material's value.
    pub material: usize,
    /// The rounds in the order in which they are fed.
    pub rounds: Vec<usize>,
    /// From what.
    pub answer: spools::Answer,
}

/// Returns a plan.
///
/// Refused: what the parts of it refuse; a part that no machine may print.
pub fn plan(run: &Run) -> Result<Plan, Refusal> {
    let mut starts = Vec::new();
    let mut rounds = Vec::new();
    let mut lots = Vec::new();
    for (index, part) in run.parts.iter().enumerate() {
        starts.push(start::start(&part.demand).map_err(|r| Refusal::new(About::Part(index), r.why))?);
    }
    for (index, part) in run.parts.iter().enumerate() {
        let bed = bed_of(run, index)?;
        let kind = Kind { count: starts[index].pieces as usize, ..part.kind.clone() };
        let found = plates::plates(&run.beds[bed], &[kind], &run.packing)
            .map_err(|r| Refusal::new(About::Part(index), r.why))?;
        let from = rounds.len();
        rounds.extend(found.plates.into_iter().map(|places| round(run, index, bed, places)));
        lots.push(Lot { parts: vec![index], rounds: (from..rounds.len()).collect(), at_least: found.at_least });
    }
    let floor = floor(run, &rounds);
    let schedule = order::schedule(&floor, &run.goals, run.effort)?;
    let spools = feeds(run, &rounds)?;
    Ok(Plan { starts, rounds, lots, schedule, spools })
}

fn bed_of(run: &Run, part: usize) -> Result<usize, Refusal> {
    let first = run.parts[part].machines.first().and_then(|m| run.printers.get(*m));
    let bed = first.map(|p| p.bed).filter(|b| *b < run.beds.len());
    bed.ok_or_else(|| Refusal::new(About::Part(part), "expected a machine that may print it"))
}

fn round(run: &Run, part: usize, bed: usize, places: Vec<Place>) -> Round {
    let the_part = &run.parts[part];
    let pieces = places.len() as f64;
    Round {
        places: places.into_iter().map(|p| Place { kind: part, ..p }).collect(),
        bed,
        mass_g: pieces * the_part.mass_each_g + the_part.mass_per_plate_g,
        minutes: pieces * the_part.minutes_each + the_part.minutes_per_plate,
        state: the_part.state.clone(),
    }
}

fn floor(run: &Run, rounds: &[Round]) -> Floor {
    let jobs = rounds.iter().map(|round| {
        let of: Vec<&Part> = round.places.iter().filter_map(|p| run.parts.get(p.kind)).collect();
        let may = |m: usize| of.iter().all(|p| p.machines.contains(&m)) && run.printers[m].bed == round.bed;
        Job {
            state: round.state.clone(),
            minutes: (0..run.printers.len())
                .map(|m| {
                    may(m).then(|| (round.minutes * run.printers[m].time_factor * factor(&of, m) - 1e-9).ceil() as i64)
                })
                .collect(),
            due_min: of.iter().filter_map(|p| p.due_min).min(),
            ready_min: of.iter().map(|p| p.ready_min).max().unwrap_or(0),
            handling_min: of.iter().map(|p| p.handling_min).max().unwrap_or(0),
            watch_min: of.iter().map(|p| p.watch_min).max().unwrap_or(0),
            alone: of.iter().all(|p| p.alone),
            before: of.first().map_or(Vec::new(), |p| p.before.clone()),
            after: None,
        }
    });
    Floor {
        aspects: run.aspects.clone(),
        machines: run.printers.iter().map(|p| p.machine.clone()).collect(),
        jobs: jobs.collect(),
        stations: run.stations.clone(),
        hours: run.hours.clone(),
        people: run.people,
        until_min: run.until_min,
    }
}

/// The pieces of a plate print one by one, so that their own factors average out.
fn factor(pieces: &[&Part], machine: usize) -> f64 {
    let sum: f64 = pieces.iter().map(|p| p.factors.get(machine).copied().unwrap_or(1.0)).sum();
    if pieces.is_empty() { 1.0 } else { sum / pieces.len() as f64 }
}

fn feeds(run: &Run, rounds: &[Round]) -> Result<Vec<Feed>, Refusal> {
    let Some(aspect) = run.material else { return Ok(Vec::new()) };
    let mut feeds = Vec::new();
    for (material, spools) in run.spools.iter().enumerate() {
        let Some(spools) = spools else { continue };
        let of_it: Vec<usize> = (0..rounds.len()).filter(|r| rounds[*r].state.get(aspect) == Some(&material)).collect();
        if of_it.is_empty() {
            continue;
        }
        let stock = Stock {
            plates_g: of_it.iter().map(|r| rounds[*r].mass_g).collect(),
            spools_g: spools.left_g.clone(),
            loss_at_change_g: spools.loss_at_change_g,
            scrap_below_g: spools.scrap_below_g,
        };
        let answer = spools::plan(&stock, run.effort)?;
        feeds.push(Feed { material, rounds: of_it, answer });
    }
    Ok(feeds)
}
