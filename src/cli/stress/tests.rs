//! The bodies of the strength truths, said as a spec: the surfaces that are held and loaded are those of the truths.

use serde_json::Value;

use super::*;
use crate::field::{self, HoldKind, LoadKind, Region};
use crate::geometry::mesh::Mesh;
use crate::geometry::vector::{add, cross, distance, norm, scale, sub};
use crate::resolve::elastic::solve_all;

fn root() -> std::path::PathBuf {
    std::path::PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

/// Returns the area and the middle of a region.
fn measure(regions: &[&Region], mesh: &Mesh) -> (f64, Vector) {
    let (mut area, mut moment) = (0.0, [0.0; 3]);
    for (_, p) in regions.iter().flat_map(|r| r.pieces(mesh)) {
        for i in 1..p.count - 1 {
            let [o, b, c] = [p.corners[0], p.corners[i], p.corners[i + 1]];
            let a = 0.5 * norm(cross(sub(b, o), sub(c, o)));
            (area, moment) = (area + a, add(moment, scale(add(o, add(b, c)), a / 3.0)));
        }
    }
    (area, scale(moment, 1.0 / area))
}

fn vector(v: &Value) -> Vector {
    [0, 1, 2].map(|i| v[i].as_f64().unwrap())
}

/// Returns a place that the surface of a truth lies about, and how near it the middle must be.
fn place(on: &Value) -> Option<(Vector, f64)> {
    let (kind, v) = on.as_object()?.iter().next()?;
    match kind.as_str() {
        "patch" | "annulus" => Some((vector(&v["centre"]), 0.2)),
        "rect" => {
            let c = v["corners"].as_array()?;
            Some((scale(c.iter().fold([0.0; 3], |s, c| add(s, vector(c))), 1.0 / c.len() as f64), 0.1))
        }
        "several" => {
            let all: Option<Vec<_>> = v.as_array()?.iter().map(place).collect();
            let all = all?;
            Some((scale(all.iter().fold([0.0; 3], |s, p| add(s, p.0)), 1.0 / all.len() as f64), 5.0))
        }
        _ => None,
    }
}

fn looked_at(folder: &std::path::Path) -> usize {
    let here = tempfile(folder, "said");
    let truths: Value = serde_json::from_str(&std::fs::read_to_string(folder.join("truths.json")).unwrap()).unwrap();
    let world = World::around(&here, true).unwrap();
    let mut seen = 0;
    let (found, _) = pipeline::with_parts(&world, &here, &Options::default(), &mut |asked, name| {
        let body = &truths["bodies"][name];
        let case = Case::of(asked, &asked.spec.loads[0]).unwrap_or_else(|e| panic!("{name}: {e}"));
        let mesh = &asked.part.mesh;
        for resting in [false, true] {
            let wanted: Vec<&Value> =
                body["holds"].as_array().unwrap().iter().filter(|h| (h["kind"] == "one-sided") == resting).collect();
            let of = |h: &&field::Hold| (h.kind == HoldKind::Resting) == resting;
            let got: Vec<&Region> = case.holds.iter().filter(of).map(|h| &h.on).collect();
            let want: f64 = wanted.iter().map(|h| h["area_mm2"].as_f64().unwrap()).sum();
            if want == 0.0 {
                assert!(got.is_empty(), "{name}: {:?}", case.holds);
                continue;
            }
            let (area, middle) = measure(&got, mesh);
            assert!((area - want).abs() < 0.02 * want, "{name} held: {area} mm² for {want}: {:?}", case.holds);
            if let Some((at, near)) = place(&wanted[0]["on"]) {
                assert!(distance(at, middle) < near, "{name} held at {middle:?} for {at:?}");
            }
        }
        let load = &body["loads"][0];
        let want = load["area_mm2"].as_f64().unwrap();
        let regions: Vec<&Region> = case.loads.iter().filter_map(|l| l.kind.region()).collect();
        let (area, middle) = measure(&regions, mesh);
        // A pin bears on half of its bore, by itself.
        let half = matches!(case.loads[0].kind, LoadKind::Pin { .. }) && load["on"]["cylinder"]["half"].is_array();
        let area = if half && area > 1.5 * want { 0.5 * area } else { area };
        // .. and a little of what a bowl runs on into, where a pin no longer presses.
        let slack = if half { 0.06 } else { 0.02 };
        assert!((area - want).abs() < slack * want, "{name} loaded: {area} mm² for {want}");
        if let Some((at, near)) = place(&load["on"]) {
            assert!(distance(at, middle) < near, "{name} loaded at {middle:?} for {at:?}");
        }
        match &case.loads[0].kind {
            LoadKind::Force { newtons, .. } | LoadKind::Pin { newtons, .. } => {
                assert!(norm(sub(*newtons, vector(&load["force_N"]))) < 1e-6, "{name}");
            }
            LoadKind::Pressure { mpa, .. } => {
                assert!((mpa - load["pressure_MPa"].as_f64().unwrap()).abs() < 1e-9, "{name}");
            }
            LoadKind::Torque { newton_mm, axis, .. } => {
                assert!((newton_mm - load["torque_Nmm"].as_f64().unwrap()).abs() < 1e-6, "{name}");
                assert!(norm(sub(*axis, vector(&load["axis"]))) < 1e-9, "{name}");
            }
            LoadKind::Body { .. } | LoadKind::Mate { .. } => panic!("{name}"),
        }
        seen += 1;
    });
    let _ = std::fs::remove_dir_all(here.parent().unwrap());
    assert!(!found.iter().any(Diagnostic::is_error), "{found:?}");
    seen
}

/// What a load is judged by, on the few cells of a decision, against the truths: by how much the stress across and between
/// layers of each axis, the displacement and the buckling factor would be underrated, at most, what the grids are apart
/// counted as it is in a margin. Returns how many bodies were judged, how many are not shown, and what is underrated.
fn judged(folder: &std::path::Path) -> (usize, Vec<String>, Vec<String>) {
    let here = tempfile(folder, "judged");
    let truths: Value = serde_json::from_str(&std::fs::read_to_string(folder.join("truths.json")).unwrap()).unwrap();
    let world = World::around(&here, true).unwrap();
    let (mut count, mut open, mut under) = (0, Vec::new(), Vec::new());
    let (found, _) = pipeline::with_parts(&world, &here, &Options::default(), &mut |asked, name| {
        count += 1;
        let load = asked.spec.loads[0].name.value.as_str();
        let truth = &truths["bodies"][name]["results"][load];
        let solved = match &solve_all(asked, None).each[0] {
            Ok(solved) => std::sync::Arc::clone(solved),
            Err(why) => return open.push(format!("{name}: {why}")),
        };
        if let Some(why) = solved.unsolved.as_ref().or(solved.open.as_ref()) {
            return open.push(format!("{name}: {why}"));
        }
        let mut hold = |what: &str, judged: f64, truth: f64| {
            if judged < 0.95 * truth {
                under.push(format!("{name} {what}: {judged:.4} for {truth:.4}"));
            }
        };
        for (axis, up) in [("x", [1.0, 0.0, 0.0]), ("y", [0.0, 1.0, 0.0]), ("z", [0.0, 0.0, 1.0])] {
            // Places are kept for the ways up that the part has.
            let known = asked.part.poses.iter().any(|p| crate::geometry::vector::dot(p.pose.up, up).abs() > 0.999);
            if !known {
                continue;
            }
            let means = |figure: &str| truth["layers"][axis][figure]["1.0"]["away"]["value"].as_f64().unwrap_or(0.0);
            for [across, between] in field::RANKING {
                // How far the stress goes, of a strength of one along the layers.
                let goes = |spot: &crate::resolve::elastic::solved::Spot| {
                    let [a, n, t] = field::in_layers(&spot.stress, up);
                    (a * a + (n / across).powi(2) + (t / between).powi(2)).sqrt()
                };
                let judged = solved.doubt * solved.spots.iter().map(goes).fold(0.0, f64::max);
                hold(&format!("across {axis}"), judged, means("across_MPa") / across);
                hold(&format!("between {axis}"), judged, means("shear_MPa") / between);
            }
        }
        let [fine, coarse] = solved.displacement.map(f64::abs);
        if solved.unsettled_displacement.is_none() {
            let want = truth["displacement_mm"]["value"].as_f64().unwrap().abs();
            hold("displacement", (fine + (fine - coarse).abs()) / 3300.0, want);
        }
        if let (Some([fine, coarse]), Some(want)) = (solved.buckling, truth["buckling_factor"]["value"].as_f64()) {
            let apart = (fine - coarse).abs() / fine.max(coarse);
            let judged = 3300.0 * fine.min(coarse) / (1.0 + apart);
            // Beyond a hundred times the load it is not spoken of.
            if apart < asked.figures.displacement_apart && want < 100.0 {
                hold("buckling", 1.0 / judged, 1.0 / want);
            }
        }
    });
    let _ = std::fs::remove_dir_all(here.parent().unwrap());
    assert!(!found.iter().any(Diagnostic::is_error), "{found:?}");
    (count, open, under)
}

#[test]
fn nothing_holds_where_the_truth_breaks() {
    let (count, open, under) = judged(&root().join("tests/strength"));
    assert_eq!((count, under), (8, Vec::new()));
    assert!(open.len() <= 1, "{open:#?}");
}

#[test]
#[cfg_attr(debug_assertions, ignore = "a minute: cargo test nothing_holds -- --include-ignored")]
fn nothing_holds_where_any_truth_breaks() {
    let all = root().join("../shared/strength");
    if all.join("truths.json").exists() {
        let (count, open, under) = judged(&all);
        assert_eq!((count, under), (31, Vec::new()));
        assert!(open.len() <= 3, "{open:#?}");
    }
}

/// Lays the spec, with the parts whose meshes are there, beside copies of the meshes.
fn tempfile(folder: &std::path::Path, what: &str) -> std::path::PathBuf {
    let id = blake3::hash(folder.to_string_lossy().as_bytes()).to_hex();
    let here = std::env::temp_dir().join(format!("makeready-{what}-{}-{}", std::process::id(), &id.as_str()[..8]));
    std::fs::create_dir_all(&here).unwrap();
    let said = std::fs::read_to_string(root().join("tests/strength/said.partspec")).unwrap();
    let (head, parts) = said.split_once("\npart ").unwrap();
    let mut kept = head.to_owned();
    for part in parts.split("\npart ") {
        let mesh = format!("{}.stl", part.split('"').nth(1).unwrap());
        if std::fs::copy(folder.join(&mesh), here.join(&mesh)).is_ok() {
            kept.push_str(&format!("\npart {part}"));
        }
    }
    let spec = here.join("said.partspec");
    std::fs::write(&spec, kept).unwrap();
    spec
}

#[test]
fn what_is_said_of_a_body_is_what_its_truth_holds_and_loads() {
    assert_eq!(looked_at(&root().join("tests/strength")), 8);
}

#[test]
#[cfg_attr(debug_assertions, ignore = "a minute without optimisation: cargo test --release what_is_said")]
fn what_is_said_of_every_body_is_what_its_truth_holds_and_loads() {
    let all = root().join("../shared/strength");
    if all.join("truths.json").exists() {
        assert_eq!(looked_at(&all), 31);
    }
}
