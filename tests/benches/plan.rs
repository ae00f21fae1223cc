//! Speed of the planner: a week of 500 part numbers, 20,000 pieces and 20 printers, and its parts by themselves.
//! `cargo bench --bench plan`.

#![allow(clippy::unwrap_used, reason = "a bench that cannot run may stop")]

use divan::Bencher;
use planner::Effort;
use planner::order::{Aspect, Machine, Span, USUAL};
use planner::plates::{Bed, Kind, Options, Shape, Turn, most};
use planner::run::{Part, Printer, Run, plan};
use planner::start::{Demand, Prior, Share, WholePlates, start};

fn main() {
    divan::main();
}

const PRINTERS: usize = 20;

/// A number that goes up and down: the same run each time.
fn wave(n: usize, low: usize, high: usize) -> usize {
    low + (n * 7_919 + n * n * 104_729) % (high - low)
}

fn shape(n: usize) -> Shape {
    let [w, d] = [wave(n, 15, 120) as f64, wave(n + 1, 15, 90) as f64];
    match n % 5 {
        0 => Shape::Outline(vec![[0.0, 0.0], [w, 0.0], [w, 8.0], [8.0, 8.0], [8.0, d], [0.0, d]]),
        1 => Shape::Disc { diameter_mm: d },
        _ => Shape::Rectangle { width_mm: w, depth_mm: d },
    }
}

fn kind(n: usize) -> Kind {
    Kind { shape: shape(n), brim_mm: 0.0, turn: Turn::Quarter, count: 0, most_per_plate: None }
}

fn part(n: usize) -> Part {
    Part {
        kind: kind(n),
        demand: Demand {
            wanted: wave(n, 20, 60) as u64,
            used_up: 0,
            first_article: 0,
            good: Share::Known(0.97),
            plates: None,
            confidence: 0.95,
        },
        minutes_each: wave(n, 4, 25) as f64,
        factors: Vec::new(),
        minutes_per_plate: 10.0,
        mass_each_g: 12.0,
        mass_per_plate_g: 0.0,
        state: vec![wave(n, 0, 5), wave(n, 0, 2)],
        group: Some(n % 3),
        machines: (0..PRINTERS).collect(),
        due_min: Some(wave(n, 3, 30) as i64 * 1440),
        ready_min: 0,
        alone: true,
        handling_min: 5,
        watch_min: 5,
        before: Vec::new(),
        inspection_min: 0,
    }
}

fn run_of(parts: usize) -> Run {
    let machine = |m: usize| Machine { state: vec![m % 5, m % 2], alone: true, ..Machine::default() };
    Run {
        parts: (0..parts).map(part).collect(),
        beds: vec![Bed { width_mm: 220.0, depth_mm: 220.0, edge_mm: 5.0, taken: Vec::new() }],
        packing: Options { gap_mm: 4.0, mixed: true, ..Options::default() },
        printers: (0..PRINTERS).map(|m| Printer { machine: machine(m), bed: 0, time_factor: 1.0 }).collect(),
        aspects: vec![Aspect::even(5, 20), Aspect::even(2, 10)],
        hours: (0..90).map(|d| Span { from_min: d * 1440 + 420, to_min: d * 1440 + 1140 }).collect(),
        people: Some(2),
        goals: USUAL.to_vec(),
        ..Run::default()
    }
}

/// To be under 30 s for 500 parts on two cores, and about linear.
#[divan::bench(args = [125, 250, 500], sample_count = 1, sample_size = 1)]
fn whole_run(bencher: Bencher, parts: usize) {
    let run = run_of(parts);
    bencher.bench_local(|| plan(divan::black_box(&run)).unwrap());
}

#[divan::bench(args = [0, 1, 2], sample_count = 3, sample_size = 1)]
fn one_plate(bencher: Bencher, n: usize) {
    let bed = Bed { width_mm: 220.0, depth_mm: 220.0, edge_mm: 5.0, taken: Vec::new() };
    let options = Options { gap_mm: 4.0, effort: Effort::default(), ..Options::default() };
    bencher.bench_local(|| most(divan::black_box(&bed), &kind(n), &options).unwrap());
}

#[divan::bench]
fn start_of_a_thousand_on_plates_that_fail_whole(bencher: Bencher) {
    let recorded = |came, of| Share::Recorded { came, of, prior: Prior::EVEN };
    let demand = Demand {
        wanted: 1_000,
        used_up: 3,
        first_article: 1,
        good: recorded(290, 300),
        plates: Some(WholePlates { per_plate: 12, lost: recorded(1, 40) }),
        confidence: 0.95,
    };
    bencher.bench_local(|| start(divan::black_box(&demand)).unwrap());
}
