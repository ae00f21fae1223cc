//! Orders: proven optima are met, rules of the house are kept, and help never harms.

use proptest::prelude::*;
use serde_json::Value;

use super::{instances, whole};
use crate::Effort;
use crate::order::{
    Aspect, Floor, Goal, Job, Machine, Schedule, Slot, Span, Station, Stay, USUAL, reschedule, schedule,
};

fn minutes(value: &Value) -> i64 {
    value.as_i64().unwrap_or_else(|| panic!("{value}"))
}

/// A floor as the truths give it: three aspects, machines that never rest.
pub(super) fn floor(case: &Value) -> Floor {
    let names: Vec<&str> = case["printers"].as_array().unwrap().iter().map(|p| p["name"].as_str().unwrap()).collect();
    let everyone = case["printers"].as_array().unwrap().iter().chain(case["jobs"].as_array().unwrap());
    let mut values = [Vec::new(), Vec::new(), Vec::new()];
    for one in everyone {
        for k in 0..3 {
            values[k].push(one["state"][k].as_str().unwrap());
        }
    }
    values.iter_mut().for_each(|v| {
        v.sort_unstable();
        v.dedup();
    });
    let state = |one: &Value| -> Vec<usize> {
        (0..3).map(|k| values[k].iter().position(|v| one["state"][k] == *v).unwrap()).collect()
    };
    let table = |a: &&str| values[0].iter().map(|b| minutes(&case["material_minutes"][a][b])).collect();
    let material = Aspect { minutes: values[0].iter().map(table).collect(), ..Aspect::default() };
    let even = |k: usize, name: &str| Aspect::even(values[k].len(), minutes(&case["minutes_per_change"][name]));
    Floor {
        aspects: vec![material, even(1, "nozzle"), even(2, "surface")],
        machines: case["printers"]
            .as_array()
            .unwrap()
            .iter()
            .map(|p| Machine { state: state(p), ..Machine::default() })
            .collect(),
        jobs: case["jobs"]
            .as_array()
            .unwrap()
            .iter()
            .map(|j| Job {
                state: state(j),
                minutes: names
                    .iter()
                    .map(|n| j["on"].as_array().unwrap().iter().any(|on| on == n).then(|| minutes(&j["minutes"])))
                    .collect(),
                due_min: Some(minutes(&j["due"])),
                ..Job::default()
            })
            .collect(),
        ..Floor::default()
    }
}

#[test]
fn proven_optima_are_met() {
    let cases = instances(include_str!("truths/changeovers.json"));
    assert_eq!(cases.len(), 15);
    for case in &cases {
        let floor = floor(case);
        let answer = &case["answer"];
        for (goal, name) in [
            (Goal::ChangeMinutes, "least_change_minutes"),
            (Goal::Changeovers, "least_changeovers"),
            (Goal::Changes, "least_single_changes"),
            (Goal::Lateness, "least_greatest_lateness"),
            (Goal::TotalTardiness, "least_total_tardiness"),
            (Goal::Makespan, "least_makespan"),
        ] {
            let found = schedule(&floor, &[goal], Effort::default()).unwrap();
            assert_eq!(found.score.of(goal), minutes(&answer[name]), "{} {name}", case["id"]);
            assert!(found.proven, "{} {name}", case["id"]);
            assert_holds(&floor, &found);
        }
        let found = schedule(&floor, &USUAL, Effort::default()).unwrap();
        let least = minutes(&answer["least_change_minutes_with_dates_kept_or_least_lateness"]);
        assert_eq!(found.score.change_min, least, "{}", case["id"]);
        assert_eq!(
            found.score.of(Goal::Tardiness),
            minutes(&answer["least_greatest_lateness"]).max(0),
            "{}",
            case["id"]
        );
        assert!(found.proven, "{}", case["id"]);
    }
    assert_eq!(whole(&cases[0]["answer"]["least_change_minutes"]), 45);
}

/// Panics unless every job is in its place once, and times, states, hours, people and copies are kept.
fn assert_holds(floor: &Floor, found: &Schedule) {
    let mut jobs: Vec<usize> =
        found.machines.iter().flatten().map(|s| s.job).chain(found.left.iter().copied()).collect();
    jobs.sort_unstable();
    assert!(jobs.into_iter().eq(0..floor.jobs.len()), "{found:?}");
    for (m, slots) in found.machines.iter().enumerate() {
        let mut free = floor.machines[m].free_from_min;
        for slot in slots {
            let job = &floor.jobs[slot.job];
            assert_eq!(slot.machine, m);
            assert!(slot.setup_min >= free.max(job.ready_min), "{slot:?} before {free}");
            assert_eq!(Some(slot.end_min - slot.begin_min), job.minutes[m]);
            assert!(floor.machines[m].away.iter().all(|a| slot.end_min <= a.from_min || slot.setup_min >= a.to_min));
            assert!(floor.until_min.is_none_or(|u| slot.begin_min < u));
            let attended = if job.alone && floor.machines[m].alone { slot.watched_min } else { slot.end_min };
            let within = |h: &Span| slot.setup_min >= h.from_min && attended <= h.to_min;
            assert!(floor.hours.is_empty() || floor.hours.iter().any(within), "{slot:?}");
            if let Some((before, wait)) = job.after {
                let ended = found.machines.iter().flatten().find(|s| s.job == before).unwrap().end_min;
                assert!(slot.setup_min >= ended + wait);
            }
            let mut ready = job.ready_min;
            for (stay, span) in job.before.iter().zip(&slot.stays) {
                assert!(span.from_min >= ready && span.to_min - span.from_min == stay.minutes);
                ready = span.to_min;
            }
            assert!(slot.setup_min >= ready);
            free = slot.end_min;
        }
    }
    let all: Vec<&Slot> = found.machines.iter().flatten().collect();
    for slot in &all {
        if let Some(people) = floor.people {
            let busy = all.iter().filter(|s| s.setup_min <= slot.setup_min && slot.setup_min < s.watched_min).count();
            assert!(busy <= people, "{busy} at {}", slot.setup_min);
        }
        for (station, of) in floor.stations.iter().enumerate() {
            let spans = |s: &Slot| -> Vec<Span> {
                floor.jobs[s.job]
                    .before
                    .iter()
                    .zip(&s.stays)
                    .filter(|(b, _)| b.station == station)
                    .map(|(_, s)| *s)
                    .collect()
            };
            for at in spans(slot) {
                let there =
                    all.iter().flat_map(|s| spans(s)).filter(|s| s.from_min <= at.from_min && at.from_min < s.to_min);
                assert!(there.count() <= of.places);
            }
        }
    }
}

fn days(n: i64) -> Vec<Span> {
    (0..n).map(|d| Span { from_min: d * 1440 + 420, to_min: d * 1440 + 1140 }).collect()
}

prop_compose! {
    fn a_job(machines: usize)(
        state in (0_usize..3, 0_usize..2), times in prop::collection::vec(prop::option::weighted(0.8, 20_i64..600), machines),
        due in prop::option::of(100_i64..4000), ready in prop_oneof![Just(0_i64), 0_i64..500],
        handling in 0_i64..15, watch in 0_i64..15, alone in any::<bool>(), dry in prop::option::weighted(0.3, 30_i64..300),
    ) -> Job {
        let mut minutes = times;
        if minutes.iter().all(Option::is_none) {
            minutes[0] = Some(60);
        }
        Job {
            state: vec![state.0, state.1],
            minutes,
            due_min: due,
            ready_min: ready,
            handling_min: handling,
            watch_min: watch,
            alone,
            before: dry.map(|minutes| Stay { station: 0, minutes }).into_iter().collect(),
            after: None,
        }
    }
}

prop_compose! {
    fn a_floor(most_jobs: usize)(
        jobs in prop::collection::vec(a_job(2), 1..most_jobs), states in prop::collection::vec((0_usize..3, 0_usize..2), 2),
        hours in any::<bool>(), people in prop::option::of(1_usize..3), scarce in any::<bool>(), chained in any::<bool>(),
    ) -> Floor {
        let mut jobs = jobs;
        if chained && jobs.len() > 1 {
            jobs[1].after = Some((0, 45));
        }
        let copies = if scarce { vec![None, Some(1)] } else { Vec::new() };
        // A nozzle of which there is one is not fitted twice.
        let second = if scarce { 0 } else { states[1].1 };
        Floor {
            aspects: vec![
                Aspect { minutes: vec![vec![0, 12, 20], vec![25, 0, 8], vec![30, 14, 0]], ..Aspect::default() },
                Aspect { copies, ..Aspect::even(2, 15) },
            ],
            machines: vec![
                Machine { state: vec![states[0].0, states[0].1], alone: true, ..Machine::default() },
                Machine { state: vec![states[1].0, second], away: vec![Span { from_min: 600, to_min: 900 }], ..Machine::default() },
            ],
            jobs,
            stations: vec![Station { places: 1 }],
            hours: if hours { days(30) } else { Vec::new() },
            people,
            until_min: None,
        }
    }
}

proptest! {
    #![proptest_config(super::cases(30))]

    #[test]
    fn every_schedule_keeps_the_rules_and_its_bounds(floor in a_floor(9)) {
        let found = schedule(&floor, &USUAL, Effort(300_000)).unwrap();
        assert_holds(&floor, &found);
        for (goal, least) in USUAL.iter().zip(&found.at_least).take(2) {
            prop_assert!(found.score.of(*goal) >= *least, "{goal:?} {found:?}");
        }
        prop_assert_eq!(&schedule(&floor, &USUAL, Effort(300_000)).unwrap(), &found);
    }

    #[test]
    fn another_machine_is_never_later(floor in a_floor(6)) {
        prop_assume!(floor.aspects[1].copies.is_empty());
        let goals = [Goal::Tardiness, Goal::Makespan];
        let found = schedule(&floor, &goals, Effort(3_000_000)).unwrap();
        let mut more = floor.clone();
        more.machines.push(Machine { alone: true, ..floor.machines[0].clone() });
        more.jobs.iter_mut().for_each(|j| j.minutes.push(j.minutes[0]));
        let better = schedule(&more, &goals, Effort(3_000_000)).unwrap();
        prop_assume!(found.proven && better.proven);
        prop_assert!(better.score.left <= found.score.left);
        if better.score.left == found.score.left {
            prop_assert!(better.score.of(Goal::Tardiness) <= found.score.of(Goal::Tardiness));
        }
    }

    #[test]
    fn the_order_of_lines_changes_nothing(floor in a_floor(6)) {
        let mut turned = floor.clone();
        prop_assume!(turned.jobs.iter().all(|j| j.after.is_none()));
        turned.jobs.reverse();
        let (one, other) = (schedule(&floor, &USUAL, Effort(3_000_000)).unwrap(), schedule(&turned, &USUAL, Effort(3_000_000)).unwrap());
        prop_assume!(one.proven && other.proven);
        prop_assert_eq!(one.score, other.score);
    }

    #[test]
    fn what_stood_before_stays_where_nothing_is_better(floor in a_floor(7)) {
        let found = schedule(&floor, &USUAL, Effort(300_000)).unwrap();
        let mut slots: Vec<&Slot> = found.machines.iter().flatten().collect();
        slots.sort_by_key(|s| (s.setup_min, s.machine));
        let before: Vec<(usize, usize)> = slots.iter().map(|s| (s.job, s.machine)).collect();
        let again = reschedule(&floor, &USUAL, Effort(10_000), &before).unwrap();
        prop_assert!(USUAL.iter().map(|g| again.score.of(*g)).le(USUAL.iter().map(|g| found.score.of(*g))));
    }
}

fn one_machine(alone: bool) -> Floor {
    let job =
        Job { state: vec![0], minutes: vec![Some(600)], handling_min: 10, watch_min: 15, alone, ..Job::default() };
    Floor {
        aspects: vec![Aspect::even(1, 0)],
        machines: vec![Machine { state: vec![0], alone: true, ..Machine::default() }],
        jobs: vec![job.clone(), job],
        hours: days(5),
        people: Some(1),
        ..Floor::default()
    }
}

#[test]
fn a_night_is_used_only_where_part_and_machine_may_run_alone() {
    let found = schedule(&one_machine(true), &USUAL, Effort::default()).unwrap();
    let begins = |s: &Schedule| s.machines[0].iter().map(|s| s.setup_min).collect::<Vec<_>>();
    assert_eq!(begins(&found), [420, 1030]);
    let found = schedule(&one_machine(false), &USUAL, Effort::default()).unwrap();
    assert_eq!(begins(&found), [420, 1860]);
    // Longer than a day: with somebody there it can have no place.
    let mut long = one_machine(false);
    long.jobs[1].minutes = vec![Some(800)];
    assert_eq!(schedule(&long, &USUAL, Effort::default()).unwrap().left, [1]);
    long.until_min = Some(400);
    assert_eq!(schedule(&long, &USUAL, Effort::default()).unwrap().left, [0, 1]);
}

#[test]
fn one_nozzle_is_in_one_machine_at_a_time() {
    let job = |state: usize| Job {
        state: vec![state],
        minutes: vec![Some(100), Some(100)],
        due_min: Some(100),
        ..Job::default()
    };
    let mut floor = Floor {
        aspects: vec![Aspect { copies: vec![None, Some(1)], ..Aspect::even(2, 10) }],
        machines: vec![
            Machine { state: vec![0], ..Machine::default() },
            Machine { state: vec![0], ..Machine::default() },
        ],
        jobs: vec![job(1), job(1)],
        ..Floor::default()
    };
    let ends = |floor: &Floor| {
        let found = schedule(floor, &USUAL, Effort::default()).unwrap();
        found.machines.iter().flatten().map(|s| s.end_min).max()
    };
    assert_eq!(ends(&floor), Some(210));
    floor.aspects[0].copies = Vec::new();
    assert_eq!(ends(&floor), Some(110));
}

#[test]
fn what_does_not_match_is_refused() {
    let good = one_machine(true);
    let spoil: [fn(&mut Floor); 7] = [
        |f| f.jobs[0].state = vec![7],
        |f| f.jobs[0].minutes = vec![None],
        |f| f.jobs[0].minutes = vec![Some(-5)],
        |f| f.machines[0].state = Vec::new(),
        |f| f.hours = vec![Span { from_min: 10, to_min: 5 }],
        |f| f.jobs[0].after = Some((0, 5)),
        |f| f.aspects[0].minutes = vec![vec![0, 1]],
    ];
    for (n, spoil) in spoil.into_iter().enumerate() {
        let mut floor = good.clone();
        spoil(&mut floor);
        assert!(schedule(&floor, &USUAL, Effort::default()).is_err(), "{n}");
    }
}
