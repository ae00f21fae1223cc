//! The field solver against the strength truths beside the repository (`../shared/strength`, or the folder named by
//! `STRENGTH`): how far every figure is off in per cent, in brackets what the coarser grid says, and what each body took.
//!
//! Names of bodies as arguments choose some; `CELL=0.5` fixes the cells' width. The last lines: the middle and the worst of them,
//! and how one solve of many loads on the same hold grows with their number.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a bench that cannot run may stop")]
#![allow(
    clippy::disallowed_methods,
    clippy::print_stdout,
    reason = "a bench reads its bodies and what it is asked itself, and shows a table"
)]

use std::path::PathBuf;

use makeready::field::{Acting, Options, solve, solve_each};
use reading::{Body, compare};
use serde_json::Value;

#[path = "../strength/reading.rs"]
mod reading;

fn main() {
    let folder = std::env::var("STRENGTH").map_or_else(|_| PathBuf::from("../shared/strength"), PathBuf::from);
    let Ok(text) = std::fs::read_to_string(folder.join("truths.json")) else { return };
    let truths: Value = serde_json::from_str(&text).unwrap();
    let chosen: Vec<String> = std::env::args().skip(1).filter(|a| !a.starts_with('-')).collect();
    let cell_mm = std::env::var("CELL").ok().and_then(|v| v.parse::<f64>().ok());
    let mut seconds = Vec::new();
    for (name, entry) in truths["bodies"].as_object().unwrap() {
        if !chosen.is_empty() && !chosen.iter().any(|c| name.starts_with(c.as_str())) {
            continue;
        }
        let body = Body::read(&folder, name, entry);
        let started = std::time::Instant::now();
        let solution = solve(&body.mesh, &body.holds, &body.loads, &Options { cell_mm, ..body.options() });
        let took = started.elapsed().as_secs_f64();
        seconds.push(took);
        match solution {
            Err(refused) => println!("{name:11} {refused:?}"),
            Ok(s) => {
                let figures = compare(&body, &s);
                let list = figures.iter().map(|f| {
                    let mark = if f.is_near() { String::new() } else { format!("! at {:.2?}", f.at) };
                    format!("{} {:+.1} ({:+.1}){mark}", f.name, 100.0 * f.off(f.got), 100.0 * f.off(f.coarse))
                });
                let list = list.collect::<Vec<_>>().join(" ");
                let state = s.unsettled.as_deref().unwrap_or("settled");
                println!(
                    "{name:11} {took:5.2} s, {:6} cells of {:.2} mm, {:2} steps: {list}: {state}",
                    s.cells, s.cell_mm, s.iterations
                );
            }
        }
    }
    seconds.sort_by(f64::total_cmp);
    let [middle, worst] = [seconds.len() / 2, seconds.len().saturating_sub(1)].map(|i| seconds.get(i));
    println!("{} bodies: {middle:.2?} s in the middle, {worst:.2?} s at worst", seconds.len());
    if chosen.is_empty() {
        growth(&Body::read(&folder, "bracket-a", &truths["bodies"]["bracket-a"]));
    }
}

/// Shows what many loads on one hold take in one solve.
fn growth(body: &Body) {
    let acting = Acting { loads: &body.loads, off: &[], off_mm: 0.0, buckling: false, beside: &[] };
    for count in [1, 2, 4, 8, 11] {
        let cases = vec![acting; count];
        let started = std::time::Instant::now();
        solve_each(&body.mesh, &body.holds, &cases, &body.options(), |_, solved| solved.is_ok());
        println!("{count:2} loads: {:.2} s", started.elapsed().as_secs_f64());
    }
}
