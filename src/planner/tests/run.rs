//! Whole runs: proven figures are met, and what helps never harms.

use proptest::prelude::*;
use serde_json::Value;

use super::{instances, number, whole};
use crate::Effort;
use crate::order::{Aspect, Goal, Machine, USUAL};
use crate::plates::{Bed, Kind, Options, Policy, Shape, Turn};
use crate::run::{Part, Plan, Printer, Run, Spools, plan};
use crate::spools::{Answer, Stock};
use crate::start::{Demand, Share};

fn part(size: [f64; 2], demand: Demand, machines: usize) -> Part {
    Part {
        kind: Kind {
            shape: Shape::Rectangle { width_mm: size[0], depth_mm: size[1] },
            brim_mm: 0.0,
            turn: Turn::Quarter,
            count: 0,
            most_per_plate: None,
        },
        demand,
        minutes_each: 30.0,
        factors: Vec::new(),
        minutes_per_plate: 10.0,
        mass_each_g: 12.0,
        mass_per_plate_g: 0.0,
        state: vec![0],
        group: None,
        machines: (0..machines).collect(),
        due_min: None,
        ready_min: 0,
        alone: true,
        handling_min: 0,
        watch_min: 0,
        before: Vec::new(),
        inspection_min: 0,
    }
}

fn demand(wanted: u64, good: f64, confidence: f64) -> Demand {
    Demand { wanted, used_up: 0, first_article: 0, good: Share::Known(good), plates: None, confidence }
}

fn minutes(value: &Value) -> i64 {
    value.as_i64().unwrap_or_else(|| panic!("{value}"))
}

/// A run of the truths, and the names of its materials.
fn run_of(case: &Value) -> (Run, Vec<String>) {
    let (parts, printers) = (case["parts"].as_array().unwrap(), case["printers"].as_array().unwrap());
    let value = |k: usize| {
        let mut all: Vec<String> =
            parts.iter().chain(printers).map(|o| o["state"][k].as_str().unwrap().to_owned()).collect();
        all.sort();
        all.dedup();
        all
    };
    let values = [value(0), value(1), value(2)];
    let state = |one: &Value| {
        (0..3).map(|k| values[k].iter().position(|v| one["state"][k] == **v).unwrap()).collect::<Vec<_>>()
    };
    let table = |a: &String| values[0].iter().map(|b| minutes(&case["material_minutes"][a][b])).collect();
    let material = Aspect { minutes: values[0].iter().map(table).collect(), ..Aspect::default() };
    let even = |k: usize, name: &str| Aspect::even(values[k].len(), minutes(&case["minutes_per_change"][name]));
    let spools = |material: &String| {
        let left = case["spools_left_g"].get(material)?;
        Some(Spools {
            left_g: left.as_array().unwrap().iter().map(number).collect(),
            loss_at_change_g: number(&case["loss_at_change_g"]),
            scrap_below_g: number(&case["scrap_below_g"]),
        })
    };
    let run = Run {
        parts: parts
            .iter()
            .map(|p| Part {
                state: state(p),
                due_min: Some(minutes(&p["due"])),
                minutes_each: number(&p["minutes_each"]),
                minutes_per_plate: number(&p["minutes_per_plate"]),
                mass_each_g: number(&p["grams_each"]),
                ..part(
                    [number(&p["size"][0]), number(&p["size"][1])],
                    demand(whole(&p["wanted"]), number(&p["yield"]), number(&p["confidence"])),
                    printers.len(),
                )
            })
            .collect(),
        beds: vec![Bed {
            width_mm: number(&case["plate"][0]),
            depth_mm: number(&case["plate"][1]),
            edge_mm: number(&case["edge"]),
            taken: Vec::new(),
        }],
        packing: Options { gap_mm: number(&case["gap"]), policy: Policy::FillFirst, ..Options::default() },
        printers: printers
            .iter()
            .map(|p| Printer { machine: Machine { state: state(p), ..Machine::default() }, bed: 0, time_factor: 1.0 })
            .collect(),
        aspects: vec![material, even(1, "nozzle"), even(2, "surface")],
        material: Some(0),
        spools: values[0].iter().map(spools).collect(),
        goals: USUAL.to_vec(),
        ..Run::default()
    };
    (run, values[0].clone())
}

#[test]
fn proven_runs_are_met() {
    let cases = instances(include_str!("truths/runs.json"));
    assert_eq!(cases.len(), 6);
    for case in &cases {
        let (run, materials) = run_of(case);
        let found = plan(&run).unwrap();
        let answer = &case["answer"];
        for (index, part) in case["parts"].as_array().unwrap().iter().enumerate() {
            let truth = &part["answer"];
            assert_eq!(found.starts[index].pieces, whole(&truth["start"]), "{}", case["id"]);
            let rounds = &found.lots.iter().find(|l| l.parts == [index]).unwrap().rounds;
            let sizes: Vec<u64> = rounds.iter().map(|r| found.rounds[*r].places.len() as u64).collect();
            let plates: Vec<u64> = truth["plate_sizes"].as_array().unwrap().iter().map(whole).collect();
            assert_eq!(sizes, plates, "{}", case["id"]);
        }
        let jobs = answer["jobs"].as_array().unwrap();
        assert_eq!(found.rounds.len(), jobs.len());
        for (round, job) in found.rounds.iter().zip(jobs) {
            assert!((round.minutes - number(&job["minutes"])).abs() < 1e-9, "{}", case["id"]);
        }
        let score = found.schedule.score;
        assert_eq!(score.change_min, minutes(&answer["least_change_minutes_with_dates_kept_or_least_lateness"]));
        assert_eq!(score.of(Goal::Tardiness), minutes(&answer["least_greatest_lateness"]).max(0));
        assert!(found.schedule.proven);
        for (goal, name) in [
            (Goal::ChangeMinutes, "least_change_minutes"),
            (Goal::Changeovers, "least_changeovers"),
            (Goal::Changes, "least_single_changes"),
            (Goal::Lateness, "least_greatest_lateness"),
            (Goal::TotalTardiness, "least_total_tardiness"),
            (Goal::Makespan, "least_makespan"),
        ] {
            let found = plan(&Run { goals: vec![goal], ..run.clone() }).unwrap();
            assert_eq!(found.schedule.score.of(goal), minutes(&answer[name]), "{} {name}", case["id"]);
        }
        // The truths feed a material's plates in the order of the parts.
        for (material, truth) in answer["spools"].as_object().unwrap() {
            let value = materials.iter().position(|m| m == material).unwrap();
            let spools = run.spools[value].clone().unwrap();
            let plates_g: Vec<f64> = found.rounds.iter().filter(|r| r.state[0] == value).map(|r| r.mass_g).collect();
            let total: f64 = plates_g.iter().sum();
            assert!((total - number(&answer["grams_by_material"][material])).abs() < 1e-6);
            let stock = Stock {
                plates_g,
                spools_g: spools.left_g,
                loss_at_change_g: spools.loss_at_change_g,
                scrap_below_g: spools.scrap_below_g,
                ..Stock::default()
            };
            let Answer::Enough(fed) = crate::spools::plan(&stock, Effort::default()).unwrap() else { panic!("{case}") };
            assert_eq!(fed.changes as u64, whole(&truth["changes_in_mid_plate"]), "{}", case["id"]);
            assert_eq!(fed.touched as u64, whole(&truth["spools_touched"]), "{}", case["id"]);
            assert!((fed.stranded_g - number(&truth["stranded_g"])).abs() < 1e-6, "{}", case["id"]);
        }
    }
}

fn a_run(parts: Vec<Part>, machines: usize) -> Run {
    Run {
        parts,
        beds: vec![Bed { width_mm: 220.0, depth_mm: 220.0, edge_mm: 5.0, taken: Vec::new() }],
        packing: Options { gap_mm: 4.0, mixed: true, effort: Effort(200_000), ..Options::default() },
        printers: (0..machines)
            .map(|_| Printer {
                machine: Machine { state: vec![0], alone: true, ..Machine::default() },
                bed: 0,
                time_factor: 1.0,
            })
            .collect(),
        aspects: vec![Aspect::even(2, 20)],
        goals: USUAL.to_vec(),
        effort: Effort(1_000_000),
        ..Run::default()
    }
}

fn pieces(found: &Plan, part: usize) -> usize {
    found.rounds.iter().flat_map(|r| &r.places).filter(|p| p.kind == part).count()
}

prop_compose! {
    fn some_parts(machines: usize)(
        of in prop::collection::vec(((20.0_f64..90.0, 20.0_f64..90.0), 1_u64..30, 0.8_f64..1.0, 0_usize..2, prop::option::of(300_i64..3000)), 1..4)
    ) -> Vec<Part> {
        of.into_iter().map(|((w, d), wanted, good, state, due_min)| Part {
            state: vec![state],
            due_min,
            group: Some(0),
            ..part([w, d], demand(wanted, good, 0.9), machines)
        }).collect()
    }
}

proptest! {
    #![proptest_config(super::cases(25))]

    #[test]
    fn every_piece_is_on_a_plate_and_every_plate_on_a_machine(parts in some_parts(2)) {
        let found = plan(&a_run(parts.clone(), 2)).unwrap();
        for (index, start) in found.starts.iter().enumerate() {
            prop_assert_eq!(pieces(&found, index) as u64, start.pieces);
        }
        prop_assert_eq!(found.schedule.machines.iter().map(Vec::len).sum::<usize>(), found.rounds.len());
        let in_lots: usize = found.lots.iter().map(|l| l.rounds.len()).sum();
        prop_assert_eq!(in_lots, found.rounds.len());
        prop_assert!(found.lots.iter().all(|l| l.rounds.len() >= l.at_least));
    }

    #[test]
    fn the_order_of_lines_changes_no_total(parts in some_parts(2)) {
        let found = plan(&a_run(parts.clone(), 2)).unwrap();
        let turned: Vec<Part> = parts.iter().rev().cloned().collect();
        let other = plan(&a_run(turned, 2)).unwrap();
        let mass = |p: &Plan| p.rounds.iter().map(|r| r.mass_g).sum::<f64>();
        prop_assert!((mass(&found) - mass(&other)).abs() < 1e-6);
        let counts = |p: &Plan| p.starts.iter().map(|s| s.pieces).sum::<u64>();
        prop_assert_eq!(counts(&found), counts(&other));
    }

    #[test]
    fn a_build_split_in_two_changes_no_total(w in 20.0_f64..80.0, one in 1_u64..20, two in 1_u64..20) {
        let build = |wanted| Part { group: Some(0), ..part([w, 40.0], demand(wanted, 1.0, 0.9), 1) };
        let whole = plan(&a_run(vec![build(one + two)], 1)).unwrap();
        let split = plan(&a_run(vec![build(one), build(two)], 1)).unwrap();
        prop_assert_eq!(pieces(&whole, 0), pieces(&split, 0) + pieces(&split, 1));
        prop_assert_eq!(whole.rounds.len(), split.rounds.len());
        let (a, b) = (whole.schedule.score, split.schedule.score);
        prop_assert_eq!(a.makespan_min, b.makespan_min);
    }

    #[test]
    fn a_machine_more_is_never_later(parts in some_parts(3)) {
        let few: Vec<Part> = parts.iter().map(|p| Part { machines: vec![0, 1], ..p.clone() }).collect();
        let late = |p: &Plan| p.schedule.score.of(Goal::Tardiness);
        let (few, more) = (plan(&a_run(few, 2)).unwrap(), plan(&a_run(parts, 3)).unwrap());
        prop_assume!(few.schedule.proven && more.schedule.proven && few.rounds.len() <= more.rounds.len());
        prop_assert!(late(&more) <= late(&few));
    }
}

#[test]
fn a_first_article_is_inspected_before_the_rest_starts() {
    let first = Demand { first_article: 1, ..demand(10, 0.95, 0.9) };
    let waits = Part { inspection_min: 60, ..part([60.0, 60.0], first, 2) };
    let found = plan(&a_run(vec![waits], 2)).unwrap();
    assert_eq!(found.rounds[0].places.len(), 1);
    let end = |job: usize| found.schedule.machines.iter().flatten().find(|s| s.job == job).unwrap();
    assert!((1..found.rounds.len()).all(|job| end(job).setup_min >= end(0).end_min + 60));
    assert_eq!(pieces(&found, 0) as u64, found.starts[0].pieces);
}

#[test]
fn pieces_that_would_be_late_are_spread_over_machines() {
    // Nine on a plate take 280 minutes; on three plates of three, 100.
    let hasty = Part { due_min: Some(120), ..part([60.0, 60.0], demand(9, 1.0, 0.9), 3) };
    let found = plan(&a_run(vec![hasty.clone()], 3)).unwrap();
    assert_eq!(found.schedule.score.of(Goal::Tardiness), 0, "{:?}", found.schedule.score);
    let calm = Part { due_min: Some(1_000), ..hasty };
    assert_eq!(plan(&a_run(vec![calm], 3)).unwrap().rounds.len(), 1);
}

#[test]
fn a_large_piece_goes_on_the_large_bed_alone() {
    let mut run =
        a_run(vec![part([300.0, 200.0], demand(2, 1.0, 0.9), 2), part([50.0, 50.0], demand(3, 1.0, 0.9), 2)], 2);
    run.beds.push(Bed { width_mm: 320.0, depth_mm: 320.0, edge_mm: 5.0, taken: Vec::new() });
    run.printers[1].bed = 1;
    let found = plan(&run).unwrap();
    let large = found.lots.iter().find(|l| l.parts == [0]).unwrap();
    for slot in found.schedule.machines.iter().flatten() {
        assert!(slot.machine == 1 || !large.rounds.contains(&slot.job));
    }
    run.parts[0].kind.shape = Shape::Rectangle { width_mm: 900.0, depth_mm: 900.0 };
    assert_eq!(plan(&run).unwrap_err().about, crate::About::Part(0));
    run.parts[0].machines = Vec::new();
    assert!(plan(&run).is_err());
}

/// 500 part numbers, 20,000 pieces, 20 printers, five materials, working hours, two people.
fn a_large_run() -> Run {
    let mut dice = crate::dice::Dice::new(2026);
    let mut between = |low: u64, high: u64| low + dice.next() % (high - low);
    let parts = (0..500).map(|n| {
        let size = [between(15, 120) as f64, between(15, 90) as f64];
        let shape = match n % 5 {
            0 => Shape::Outline(vec![
                [0.0, 0.0],
                [size[0], 0.0],
                [size[0], 8.0],
                [8.0, 8.0],
                [8.0, size[1]],
                [0.0, size[1]],
            ]),
            1 => Shape::Disc { diameter_mm: size[1] },
            _ => Shape::Rectangle { width_mm: size[0], depth_mm: size[1] },
        };
        let mut part = part(size, demand(between(20, 60), 0.97, 0.95), 20);
        part.kind.shape = shape;
        Part {
            state: vec![between(0, 5) as usize, between(0, 2) as usize],
            group: Some(n % 3),
            minutes_each: between(4, 25) as f64,
            due_min: Some(between(3, 30) as i64 * 1440),
            handling_min: 5,
            watch_min: 5,
            ..part
        }
    });
    let mut run = a_run(parts.collect(), 20);
    run.aspects = vec![Aspect::even(5, 20), Aspect::even(2, 10)];
    for (index, printer) in run.printers.iter_mut().enumerate() {
        printer.machine.state = vec![index % 5, index % 2];
    }
    run.hours = (0..60).map(|d| crate::order::Span { from_min: d * 1440 + 420, to_min: d * 1440 + 1140 }).collect();
    run.people = Some(2);
    run.packing.effort = Effort::default();
    run.effort = Effort::default();
    run
}

#[test]
fn a_large_run_is_planned_whole() {
    let run = a_large_run();
    let found = plan(&run).unwrap();
    let started: u64 = found.starts.iter().map(|s| s.pieces).sum();
    assert!(started > 20_000, "{started}");
    assert_eq!(found.rounds.iter().map(|r| r.places.len() as u64).sum::<u64>(), started);
    assert_eq!(found.schedule.score.left, 0);
    assert_eq!(found.schedule.machines.iter().map(Vec::len).sum::<usize>(), found.rounds.len());
}
