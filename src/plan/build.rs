//! From the parts of a run to its plan: the question is asked, and its answer put into names, days and words.

use planner::order::{Goal, Slot};
use planner::run::{self, Plan as Found};
use planner::sampling::{self, Level};

use super::calendar::Calendar;
use super::drying::Dryer;
use super::feeding::{self, Wants, tenth};
use super::question::{self, Bedding, Filament, Names, aspect, confidence};
use super::said::{Aim, Apart, Lost, Measured, Sampled, StartBasis, Told};
use super::{
    Asked, Bound, Change, Changeovers, OnPlate, Place, Plan, Plates, Reached, Round, SCHEMA, Start, cost, late, risk,
};
use crate::catalogue::figures;
use crate::physics::print_time::BAND;

/// Days a calendar has at least beyond the work itself.
const DAYS_BEYOND: i64 = 60;
/// No plan goes further.
const MOST_DAYS: i64 = 3 * 366;

/// Returns the plan of a run.
///
/// # Errors
///
/// Says what the planner cannot make sense of; of a run with parts of positive size none is known.
pub fn plan(asked: &Asked<'_>) -> Result<Plan, String> {
    let names = Names::of(asked);
    let calendar = Calendar::of(asked.run, horizon(asked));
    let dryer = Dryer::of(asked, &calendar);
    let question = question::question(asked, &names, &calendar, &dryer);
    let found = if asked.parts.is_empty() {
        empty(names.printers.len())
    } else {
        run::plan(&question).map_err(|r| r.to_string())?
    };
    let answer = Answer { asked, names: &names, calendar: &calendar, question: &question, found: &found };
    let (rounds, buy, changeovers) = answer.rounds()?;
    Ok(Plan {
        schema: SCHEMA.to_owned(),
        run: asked.run.name.value.clone(),
        from: asked.run.from.value.to_string(),
        start: answer.starts(),
        drying: dryer.told(&calendar, &rounds),
        late: late::late(asked, &names, &calendar, &question, &found),
        at_risk: risk::at_risk(asked, &calendar, &question, &found),
        buy,
        cost: cost::cost(asked, &names, &question, &found, &changeovers),
        bound: answer.bound(),
        changeovers,
        rounds,
        told: answer.told().iter().map(Told::to_string).collect(),
        ..Plan::default()
    })
}

fn empty(machines: usize) -> Found {
    let schedule = planner::order::Schedule {
        machines: vec![Vec::new(); machines],
        left: Vec::new(),
        score: planner::order::Score::default(),
        at_least: Vec::new(),
        proven: true,
    };
    Found { starts: Vec::new(), rounds: Vec::new(), lots: Vec::new(), schedule, spools: Vec::new() }
}

/// Days that the calendar must have: twice what one machine takes for all of it by day, and two months.
fn horizon(asked: &Asked<'_>) -> i64 {
    let all: f64 = asked.parts.iter().map(|p| 2.0 * f64::from(p.wanted) * p.routings[0].minutes[0]).sum();
    let day: u32 = asked.run.hours.iter().map(|h| u32::from(h.value.times.1 - h.value.times.0)).min().unwrap_or(60);
    // A line of hours may be for one day of the week alone.
    let days = 7.0 * all / f64::from(day.max(1));
    (days.min(MOST_DAYS as f64) as i64 + DAYS_BEYOND).min(MOST_DAYS)
}

/// The planner's answer with what it is an answer to.
struct Answer<'a> {
    asked: &'a Asked<'a>,
    names: &'a Names,
    calendar: &'a Calendar,
    question: &'a run::Run,
    found: &'a Found,
}

impl Answer<'_> {
    fn starts(&self) -> Vec<Start> {
        let one = |(part, start): (usize, &planner::start::Start)| Start {
            part: self.asked.parts[part].name.clone(),
            wanted: self.asked.parts[part].wanted,
            start: u32::try_from(start.pieces).unwrap_or(u32::MAX),
            confidence: (self.chance(part, start.chance) * 1e4).floor() / 1e4,
            basis: self.basis(part).to_string(),
            recipe: self.asked.parts[part].recipe.clone(),
            sample: self.sample(part).map(|s| s.to_string()),
        };
        self.found.starts.iter().enumerate().map(one).collect()
    }

    /// The chance of enough, on all lines that build the part together.
    fn chance(&self, part: usize, own: f64) -> f64 {
        let same = |p: &usize| self.asked.parts[*p].name == self.asked.parts[part].name;
        let lines: Vec<usize> = (0..self.asked.parts.len()).filter(same).collect();
        let pieces = lines.iter().filter_map(|p| self.found.starts.get(*p)).map(|s| s.pieces).sum();
        match lines.len() {
            1 => own,
            _ => planner::start::chance(&question::whole(self.asked, part), pieces).unwrap_or(own),
        }
    }

    /// How many of a part's lot are measured, by the plan that the run asks for.
    fn sample(&self, part: usize) -> Option<Sampled> {
        let asked = self.asked.run.sample?.value;
        let level = match asked.level {
            "I" => Level::I,
            "III" => Level::III,
            "S-1" => Level::S1,
            "S-2" => Level::S2,
            "S-3" => Level::S3,
            "S-4" => Level::S4,
            _ => Level::II,
        };
        let lot = u64::from(self.asked.parts[part].wanted);
        let measured = match sampling::plan(lot, level, asked.limit) {
            Ok(plan) if plan.whole_lot => Measured::Every,
            Ok(plan) => Measured::AtRandom { sample: plan.sample, accept: plan.accept, reject: plan.reject },
            Err(why) => Measured::Unplanned(why.to_string()),
        };
        Some(Sampled { lot, level: asked.level, limit_percent: asked.limit, measured })
    }

    /// What the number to start rests on.
    fn basis(&self, part: usize) -> StartBasis {
        let catalogue = self.asked.catalogue;
        let figure = catalogue.figure(figures::YIELD_ASSUMED);
        let plates = self.asked.parts[part].plates;
        let recorded = self.asked.parts[part].routings[0].recorded.as_ref();
        StartBasis {
            confidence: confidence(self.asked),
            recorded: recorded.map(|record| (record.words.clone(), catalogue.value(figures::YIELD_PRIOR))),
            usual: figure.typ,
            kind: figure.kind,
            lost: (plates.lost > 0).then(|| Lost {
                plates: plates.lost,
                of: plates.done,
                usual: catalogue.value(figures::PLATE_LOST),
                weight: catalogue.value(figures::PLATE_PRIOR),
            }),
        }
    }

    /// The slots in the order in which they begin.
    fn slots(&self) -> Vec<&Slot> {
        let mut slots: Vec<&Slot> = self.found.schedule.machines.iter().flatten().collect();
        slots.sort_by_key(|s| (s.begin_min, s.machine));
        slots
    }

    fn rounds(&self) -> Result<(Vec<Round>, Vec<super::Buy>, Changeovers), String> {
        let slots = self.slots();
        let changes: Vec<Vec<Change>> = slots.iter().map(|s| self.changes(s)).collect();
        let filaments: Vec<&Filament> = slots.iter().map(|s| self.filament(s)).collect();
        let wants: Vec<Wants<'_>> = slots
            .iter()
            .zip(&changes)
            .zip(&filaments)
            .map(|((slot, changes), filament)| Wants {
                filament,
                machine: slot.machine,
                begin_min: slot.begin_min,
                end_min: slot.end_min,
                mass_g: self.found.rounds[slot.job].mass_g,
                purge_g: changes.iter().map(|c| c.purge_g).sum(),
            })
            .collect();
        let moment = |minute: i64| self.calendar.moment(minute).to_string();
        let (draws, buy) = feeding::feed(self.asked, &wants, &moment)?;
        let changeovers = Changeovers {
            count: changes.iter().filter(|c| !c.is_empty()).count() as i64,
            minutes: changes.iter().flatten().map(|c| c.minutes).sum(),
            purge_g: tenth(changes.iter().flatten().map(|c| c.purge_g).sum()),
        };
        let last = |m: usize| self.asked.numbers.get(&self.printer(m)).copied().unwrap_or(0);
        let mut number: Vec<usize> = (0..self.names.printers.len()).map(last).collect();
        let mut rounds = Vec::new();
        for ((slot, changes), spools) in slots.into_iter().zip(changes).zip(draws) {
            number[slot.machine] += 1;
            let mut round = self.round(slot, number[slot.machine]);
            (round.changes, round.spools) = (changes, spools);
            rounds.push(round);
        }
        Ok((rounds, buy, changeovers))
    }

    fn round(&self, slot: &Slot, number: usize) -> Round {
        let round = &self.found.rounds[slot.job];
        let bedding = self.bedding(slot);
        let printer = self.printer(slot.machine);
        let moment = |minute: i64| self.calendar.moment(minute).to_string();
        Round {
            name: format!("{printer}-{number}"),
            printer,
            nozzle: self.nozzle(slot),
            surface: bedding.surface.clone().unwrap_or_default(),
            agent: bedding.agent.clone(),
            material: self.filament(slot).material.clone().unwrap_or_default(),
            parts: self.on_plate(round),
            setup: moment(slot.setup_min),
            begin: moment(slot.begin_min),
            end: moment(slot.end_min),
            hours: ((slot.end_min - slot.begin_min) as f64 / 60.0 * 100.0).round() / 100.0,
            mass_g: tenth(round.mass_g),
            unattended: !self.watched(slot.begin_min, slot.end_min),
            after_hours: self.after_hours(slot).map(moment),
            ..Round::default()
        }
    }

    /// The longest that a round may last, where only then it ends with nobody there.
    fn after_hours(&self, slot: &Slot) -> Option<i64> {
        let longest = slot.begin_min + ((slot.end_min - slot.begin_min) as f64 * BAND.high).ceil() as i64;
        let over = self.watched(slot.begin_min, slot.end_min) && !self.watched(slot.begin_min, longest);
        over.then_some(longest)
    }

    /// Whether somebody is there all the time.
    fn watched(&self, from: i64, to: i64) -> bool {
        self.calendar.hours.iter().any(|h| h.from_min <= from && to <= h.to_min)
    }

    fn on_plate(&self, round: &run::Round) -> Vec<OnPlate> {
        let mut kinds: Vec<usize> = round.places.iter().map(|p| p.kind).collect();
        kinds.sort_unstable();
        kinds.dedup();
        let hundredth = |v: f64| (v * 100.0).round() / 100.0 + 0.0;
        let one = |kind: usize| {
            let of_it = round.places.iter().filter(|p| p.kind == kind);
            let places: Vec<Place> = of_it
                .map(|p| Place { x_mm: hundredth(p.x_mm), y_mm: hundredth(p.y_mm), turn_deg: hundredth(p.turn_deg) })
                .collect();
            OnPlate {
                part: self.asked.parts[kind].name.clone(),
                count: places.len() as u32,
                places,
                outline: self.asked.parts[kind].routings[0].outline.clone(),
            }
        };
        kinds.into_iter().map(one).collect()
    }

    fn printer(&self, machine: usize) -> String {
        let printer = self.names.printers.get(machine).and_then(|p| self.asked.bench.printers.get(*p));
        printer.map(|p| p.name.clone()).unwrap_or_default()
    }

    fn state(&self, slot: &Slot, aspect: usize) -> usize {
        self.found.rounds[slot.job].state.get(aspect).copied().unwrap_or(0)
    }

    fn filament(&self, slot: &Slot) -> &Filament {
        &self.names.filaments[self.state(slot, aspect::MATERIAL)]
    }

    fn nozzle(&self, slot: &Slot) -> String {
        self.names.nozzles[self.state(slot, aspect::NOZZLE)].clone().unwrap_or_default()
    }

    fn bedding(&self, slot: &Slot) -> &Bedding {
        &self.names.beddings[self.state(slot, aspect::SURFACE)]
    }

    fn changes(&self, slot: &Slot) -> Vec<Change> {
        let one = |change: &planner::order::Change| {
            let minutes = self.question.aspects[change.aspect].minutes[change.from][change.to];
            let (from, to) = (self.called(change.aspect, change.from), self.called(change.aspect, change.to));
            let purge_g = match change.aspect {
                aspect::MATERIAL => {
                    let of = |value: usize| &self.names.filaments[value];
                    question::material_change(self.asked, of(change.from), of(change.to)).1
                }
                _ => 0.0,
            };
            Change { what: aspect::NAMES[change.aspect].to_owned(), from, to, minutes, purge_g }
        };
        slot.changes.iter().map(one).collect()
    }

    /// What a value of a state is called.
    fn called(&self, aspect: usize, value: usize) -> String {
        let unknown = || "not known".to_owned();
        match aspect {
            aspect::MATERIAL => match &self.names.filaments[value] {
                Filament { material: None, .. } => unknown(),
                known => feeding::called(known),
            },
            aspect::NOZZLE => self.names.nozzles[value].clone().unwrap_or_else(unknown),
            _ => match &self.names.beddings[value] {
                Bedding { surface: None, .. } => unknown(),
                Bedding { surface: Some(surface), agent: None } => surface.clone(),
                Bedding { surface: Some(surface), agent: Some(agent) } => format!("{surface} with {agent}"),
            },
        }
    }

    fn bound(&self) -> Bound {
        let plates = |lot: &run::Lot| Plates {
            parts: lot.parts.iter().map(|p| self.asked.parts[*p].name.clone()).collect(),
            found: lot.rounds.len(),
            at_least: lot.at_least,
        };
        let schedule = &self.found.schedule;
        let reached = |(goal, at_least): (&Goal, &i64)| Reached {
            goal: Aim(*goal).to_string(),
            found: schedule.score.of(*goal),
            // No cost is below nothing, though its bound, a thousandth short for rounding, may be.
            at_least: (*at_least > i64::MIN).then(|| if *goal == Goal::Cost { (*at_least).max(0) } else { *at_least }),
        };
        Bound {
            plates: self.found.lots.iter().map(plates).collect(),
            order: self.question.goals.iter().zip(&schedule.at_least).map(reached).collect(),
            order_proven: schedule.proven,
            time_low: BAND.low,
            time_high: BAND.high,
        }
    }

    /// What was taken where the run says nothing.
    fn told(&self) -> Vec<Told> {
        let run = self.asked.run;
        let sure = run.confidence.is_none().then(|| Told::ConfidenceUnsaid(confidence(self.asked)));
        let nights = run.unattended.is_none().then_some(Told::NightsUnsaid);
        let together = run.together.iter().filter_map(|set| self.together(set));
        sure.into_iter().chain(nights).chain(self.nights()).chain(together).collect()
    }

    /// Who does not print alone though the run would have it, and why.
    fn nights(&self) -> Vec<Told> {
        if !self.asked.run.unattended.is_some_and(|u| u.value) {
            return Vec::new();
        }
        let printers = self.question.printers.iter().zip(&self.names.printers).filter(|(p, _)| !p.machine.alone);
        let printers = printers.filter_map(|(_, p)| Some(self.asked.bench.printers.get(*p)?.name.clone()));
        let parts = self.asked.parts.iter().filter(|p| !p.routings[0].alone).map(|p| p.name.clone());
        let (machines, watched): (Vec<String>, Vec<String>) = (printers.collect(), parts.collect());
        let machines = (!machines.is_empty()).then_some(Told::NotAlone(machines));
        machines.into_iter().chain((!watched.is_empty()).then_some(Told::Watched(watched))).collect()
    }

    /// What becomes of parts that are to share their plates.
    fn together(&self, set: &[crate::semantics::spec::Stated<String>]) -> Option<Told> {
        let names: Vec<&str> = set.iter().map(|p| p.value.as_str()).collect();
        let of = |name: &&str| self.asked.parts.iter().position(|p| p.name == *name);
        let groups: Vec<_> = names
            .iter()
            .filter_map(of)
            .map(|p| (self.question.parts[p].group, &self.question.parts[p].state))
            .collect();
        let shared = self.found.rounds.iter().any(|r| {
            let on = |name: &&str| of(name).is_some_and(|p| r.places.iter().any(|place| place.kind == p));
            names.iter().all(on)
        });
        let alike = groups.windows(2).all(|w| w[0] == w[1]);
        let why = match (groups.len() == names.len(), alike, shared) {
            (false, ..) => Apart::NotAllPlanned,
            (_, false, _) => Apart::OtherSettings,
            (_, true, false) => Apart::FewerPlates,
            (_, true, true) => return None,
        };
        Some(Told::Apart { parts: names.into_iter().map(str::to_owned).collect(), why })
    }
}
