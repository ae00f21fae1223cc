//! The field solver against the strength truths beside the repository (`../shared/strength`, or the folder named by
//! `STRENGTH`): how far every figure is off in per cent, in brackets what the coarser grid says, and what each body took.
//!
//! Names of bodies as arguments choose some; `CELL=0.5` fixes the cells' width.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a bench that cannot run may stop")]
#![allow(
    clippy::disallowed_methods,
    clippy::print_stdout,
    reason = "a bench reads its bodies and what it is asked itself, and shows a table"
)]

use std::path::PathBuf;

use makeready::field::{Options, solve};
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
    for (name, entry) in truths["bodies"].as_object().unwrap() {
        if !chosen.is_empty() && !chosen.iter().any(|c| name.starts_with(c.as_str())) {
            continue;
        }
        let body = Body::read(&folder, name, entry);
        let started = std::time::Instant::now();
        let solution = solve(&body.mesh, &body.holds, &body.loads, &Options { cell_mm, ..body.options() });
        let took = started.elapsed().as_secs_f64();
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
}
