//! A whole run: how many of each part to start, their plates, spools, and the order of the plates on the machines.

mod feed;
mod jobs;
mod lots;

use self::lots::Packed;
use crate::Effort;
use crate::order::{self, Aspect, Goal, Machine, Schedule, Span, Station, Stay};
use crate::plates::{Because, Bed, Kind, Options, Place};
use crate::refusal::{About, Refusal};
use crate::spools;
use crate::start::{self, Demand, Start, WholePlates};

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
    /// Why not.
    pub because: Because,
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
/// Parts of one group that need the same state and may go on the same machines share plates, the fewest that are found; a
/// first article has a plate of its own, and the rest of its part waits for its inspection. Where a date is missed,
/// the pieces that are late are laid out for other beds, or under [`plates::Policy::Balanced`](crate::plates::Policy)
/// spread over more plates, as long as that helps.
///
/// Refused: what the parts of it refuse; a part that no machine may print.
pub fn plan(run: &Run) -> Result<Plan, Refusal> {
    check(run)?;
    let mut packing = lots::Packing::new(run)?;
    let starts = starts(run, &mut packing)?;
    let mut lots = packing.lots(&starts)?;
    let mut schedule = scheduled(run, &lots, run.effort)?;
    hurry(run, &mut packing, &mut lots, &mut schedule)?;
    let rounds = jobs::rounds(run, &lots);
    let told = jobs::told(&lots);
    let spools = feed::feeds(run, &rounds, &schedule)?;
    Ok(Plan { starts, rounds, lots: told, schedule, spools })
}

fn check(run: &Run) -> Result<(), Refusal> {
    for (index, printer) in run.printers.iter().enumerate() {
        if printer.bed >= run.beds.len() || !printer.time_factor.is_finite() || printer.time_factor <= 0.0 {
            return Err(Refusal::new(About::Machine(index), "expected a bed that there is and a factor above 0"));
        }
    }
    for (index, part) in run.parts.iter().enumerate() {
        if part.machines.is_empty() || part.machines.iter().any(|m| *m >= run.printers.len()) {
            return Err(Refusal::new(About::Part(index), "expected a machine that may print it"));
        }
        let figures = [part.minutes_each, part.minutes_per_plate, part.mass_each_g, part.mass_per_plate_g];
        if figures.into_iter().chain(part.factors.iter().copied()).any(|v| !v.is_finite() || v < 0.0) {
            return Err(Refusal::new(About::Part(index), "expected times and masses that are no less than 0"));
        }
    }
    Ok(())
}

/// How many of each part to start; plates that are lost whole hold what goes on one.
fn starts(run: &Run, packing: &mut lots::Packing) -> Result<Vec<Start>, Refusal> {
    let about = |index: usize| move |r: Refusal| Refusal::new(About::Part(index), r.why);
    let mut starts = Vec::new();
    for (index, part) in run.parts.iter().enumerate() {
        let mut demand = part.demand;
        if let Some(plates) = demand.plates {
            let per_plate = packing.full(index).map_err(about(index))? as u64;
            demand.plates = Some(WholePlates { per_plate: per_plate.max(1), ..plates });
        }
        starts.push(start::start(&demand).map_err(about(index))?);
    }
    Ok(starts)
}

fn goals(run: &Run) -> &[Goal] {
    if run.goals.is_empty() { &order::USUAL } else { &run.goals }
}

fn scheduled(run: &Run, lots: &[Packed], effort: Effort) -> Result<Schedule, Refusal> {
    let rounds = jobs::rounds(run, lots);
    order::schedule(&jobs::floor(run, lots, &rounds), goals(run), effort)
}

/// More rounds than this are not laid out anew for the sake of a date.
const MOST_HURRIED: usize = 150;

/// While dates are missed: lots that are late on more plates or another bed, where that is better.
fn hurry(
    run: &Run,
    packing: &mut lots::Packing,
    lots: &mut Vec<Packed>,
    schedule: &mut Schedule,
) -> Result<(), Refusal> {
    let worth = |s: &Schedule| [s.score.of(Goal::Left), s.score.of(Goal::Tardiness), s.score.of(Goal::TotalTardiness)];
    let mut tries = 24;
    let mut better = true;
    while better && worth(schedule) > [0; 3] {
        better = false;
        for lot in jobs::late(run, lots, schedule) {
            for other in packing.others(&lots[lot])? {
                let mut changed = lots.clone();
                changed[lot] = other;
                let rounds: usize = changed.iter().map(|l| l.plates.len()).sum();
                if tries == 0 || rounds > MOST_HURRIED {
                    return Ok(());
                }
                tries -= 1;
                let found = scheduled(run, &changed, Effort(run.effort.0 / 8))?;
                if worth(&found) < worth(schedule) {
                    (*lots, *schedule, better) = (changed, found, true);
                    break;
                }
            }
            if better {
                break;
            }
        }
    }
    Ok(())
}
