//! The field solver against the strength truths beside the repository (`../shared/strength`, or the folder named by
//! `STRENGTH`): a table of every figure that is off, and what each body took.
//!
//! Names of bodies as arguments choose some; `CELL=0.5` fixes the cells' width; `BUCKLING=1` asks for the factor of all.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a bench that cannot run may stop")]

use std::path::PathBuf;

use makeready::field::{Figure, Hold, HoldKind, Load, LoadKind, Options, Region, Solution, solve};
use makeready::geometry::bounds::Bounds;
use makeready::geometry::mesh::Mesh;
use makeready::geometry::read;
use serde_json::Value;

fn vector(v: &Value) -> [f64; 3] {
    [0, 1, 2].map(|i| v[i].as_f64().unwrap())
}

fn boxed(v: &Value) -> Bounds {
    Bounds { min: vector(&v[0]), max: vector(&v[1]) }
}

/// Returns the region that an entry's `on` means.
fn region(on: &Value) -> Region {
    let (kind, v) = on.as_object().unwrap().iter().next().unwrap();
    let n = |k: &str| v[k].as_f64().unwrap();
    match kind.as_str() {
        "face" => {
            Region::Face { normal: vector(&v["normal"]), near: vector(&v["near"]), within: v.get("within").map(boxed) }
        }
        "patch" => Region::Disc { centre: vector(&v["centre"]), normal: vector(&v["normal"]), radius: n("radius") },
        "annulus" => Region::Annulus {
            centre: vector(&v["centre"]),
            normal: vector(&v["normal"]),
            inner: n("r_in"),
            outer: n("r_out"),
        },
        "rect" => Region::Polygon {
            corners: v["corners"].as_array().unwrap().iter().map(vector).collect(),
            normal: vector(&v["normal"]),
        },
        "cylinder" => Region::Cylinder {
            axis: vector(&v["axis"]),
            centre: vector(&v["centre"]),
            radius: n("radius"),
            inside: v["inside"].as_bool().unwrap(),
            half: v.get("half").map(vector),
        },
        "inner" => Region::Inner(boxed(&v["box"])),
        "several" => Region::Several(v.as_array().unwrap().iter().map(region).collect()),
        other => panic!("{other}"),
    }
}

fn load(l: &Value) -> Load {
    let on = region(&l["on"]);
    let kind = if let Some(p) = l.get("pressure_MPa") {
        LoadKind::Pressure { on, mpa: p.as_f64().unwrap() }
    } else if let Some(t) = l.get("torque_Nmm") {
        LoadKind::Torque { on, axis: vector(&l["axis"]), newton_mm: t.as_f64().unwrap() }
    } else if let Some(c) = l["on"].get("cylinder") {
        LoadKind::Pin { on, axis: vector(&c["axis"]), centre: vector(&c["centre"]), newtons: vector(&l["force_N"]) }
    } else {
        LoadKind::Force { on, newtons: vector(&l["force_N"]) }
    };
    Load { name: l["name"].as_str().unwrap().to_owned(), kind }
}

fn hold(h: &Value) -> Hold {
    let kind = if h["kind"] == "one-sided" { HoldKind::Resting } else { HoldKind::Bonded };
    Hold { name: h["kind"].as_str().unwrap().to_owned(), on: region(&h["on"]), kind }
}

fn mesh(path: &std::path::Path) -> Mesh {
    let bytes = std::fs::read(path).unwrap();
    read::read(&bytes, &path.to_string_lossy(), Some(read::LengthUnit::Millimetre)).unwrap().into_merged().unwrap()
}

fn main() {
    let folder = std::env::var("STRENGTH").map_or_else(|_| PathBuf::from("../shared/strength"), PathBuf::from);
    let Ok(text) = std::fs::read_to_string(folder.join("truths.json")) else { return };
    let truths: Value = serde_json::from_str(&text).unwrap();
    let chosen: Vec<String> = std::env::args().skip(1).filter(|a| !a.starts_with('-')).collect();
    let number = |k: &str| std::env::var(k).ok().and_then(|v| v.parse::<f64>().ok());
    for (name, b) in truths["bodies"].as_object().unwrap() {
        if !chosen.is_empty() && !chosen.iter().any(|c| name.starts_with(c.as_str())) {
            continue;
        }
        let body = mesh(&folder.join(format!("{name}.stl")));
        let holds: Vec<Hold> = b["holds"].as_array().unwrap().iter().map(hold).collect();
        let loads: Vec<Load> = b["loads"].as_array().unwrap().iter().map(load).collect();
        let out = &b["left_out"];
        let options = Options {
            off_holds_mm: out["holds_mm"].as_f64().unwrap(),
            off_edges_mm: out["re_entrant_edges_mm"].as_f64().unwrap(),
            cell_mm: number("CELL"),
            buckling: std::env::var("BUCKLING").is_ok()
                || b["results"].as_object().unwrap().values().any(|r| r["buckling_factor"]["counts"] == true),
            ..Options::default()
        };
        let started = std::time::Instant::now();
        let s = match solve(&body, &holds, &loads, &options) {
            Ok(s) => s,
            Err(e) => {
                println!("{name:11} {e:?}");
                continue;
            }
        };
        let took = started.elapsed().as_secs_f64();
        let r = b["results"].as_object().unwrap().values().next().unwrap();
        println!("{name:11} {} took {took:.2} s", table(r, &s));
    }
}

/// Returns how far each figure is off, in per cent (stresses of their own size, small ones of three tenths of the scale),
/// and in brackets what the coarser grid says.
fn table(r: &Value, s: &Solution) -> String {
    let modulus = 3300.0;
    let number = |v: &Value| v["value"].as_f64().or(v.as_f64()).unwrap();
    let mut out = format!(
        "cells {:6} of {:4.2} mm it {:2} {}",
        s.cells,
        s.cell_mm,
        s.iterations,
        if s.settled { "settled" } else { "NOT    " }
    );
    let l = &s.loads[0];
    let (got, want) = match l.turn {
        Some(turn) => (turn, number(&r["twist_rad"])),
        None => (l.displacement, number(&r["displacement_mm"])),
    };
    let off = |g: f64| 100.0 * (g / modulus / want - 1.0);
    out += &format!(" u {:+5.1} ({:+5.1})", off(got.value), off(got.coarse));
    let scale = r["scale_MPa"].as_f64().unwrap();
    let mut figure = |name: &str, got: Option<Figure>, truth: &Value, scored: bool| {
        let want = truth["value"].as_f64().unwrap().max(0.0);
        let off = |g: f64| 100.0 * (g.max(0.0) - want) / want.abs().max(0.3 * scale);
        let (v, c) = got.map_or((0.0, 0.0), |g| (g.value, g.coarse));
        let miss =
            (v.max(0.0) - want).abs() > (0.1 * want.abs()).max(0.03 * scale) && scored && truth["settled"] == true;
        out += &format!(" {name} {:+5.1} ({:+5.1}){}", off(v), off(c), if miss { "!" } else { "" });
    };
    figure("p", s.principal, &r["largest_principal_MPa"], true);
    for (i, axis) in ["x", "y", "z"].iter().enumerate() {
        for (k, key) in ["across_MPa", "shear_MPa"].iter().enumerate() {
            figure(&format!("{axis}{}", ["a", "s"][k]), s.layers[i][k], &r["layers"][axis][key]["1.0"]["away"], true);
        }
    }
    if let (Some(b), Some(t)) = (s.buckling, r["buckling_factor"]["value"].as_f64()) {
        out += &format!(" b {:+5.1} ({:+5.1})", 100.0 * (b.value / t - 1.0), 100.0 * (b.coarse / t - 1.0));
    }
    out + &format!(" eq {:.0e} {:.0e} {}", s.imbalance[0], s.imbalance[1], s.unsettled.clone().unwrap_or_default())
}
