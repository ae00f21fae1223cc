//! Poses, regions, features, walls and gaps against the truths of the mesh collection.
//!
//! The truths come from the generators of the collection (closed forms) and from a CAD kernel, not from this project's
//! own geometry. Where the collection is beside the checkout, all of it is tried; a few small meshes are always here.

use std::path::{Path, PathBuf};

use makeready::geometry::features::{self, Features};
use makeready::geometry::layers::{cut, middles, unsupported};
use makeready::geometry::mesh::Mesh;
use makeready::geometry::polygon::Filling;
use makeready::geometry::pose::Pose;
use makeready::geometry::read;
use makeready::geometry::regions::limits::{Limit, Limits};
use makeready::geometry::regions::{Kind, Regions, Verdict};
use makeready::geometry::survey::measure::{MeasureOptions, PoseChoice, measure};
use makeready::geometry::survey::{PoseOptions, Prepared, poses};
use makeready::geometry::vector::{dot, norm, normalise, sub};
use makeready::geometry::walls;
use proptest::prelude::*;
use serde_json::Value;

use crate::workshop::{Seen, shapes};

const UP: [f64; 3] = [0.0, 0.0, 1.0];

fn collection() -> Option<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../shared/meshes");
    folder.join("truths.json").exists().then_some(folder)
}

fn read_mesh(path: &Path) -> Mesh {
    let bytes = std::fs::read(path).unwrap_or_else(|e| panic!("{}: {e}", path.display()));
    let name = path.file_name().unwrap().to_string_lossy().into_owned();
    read::read(&bytes, &name, None).unwrap_or_else(|e| panic!("{name}: {e:?}")).merged().unwrap()
}

/// Folders of meshes that are kept with the tests.
fn kept_folders() -> [PathBuf; 2] {
    ["tests/meshes/layers", "tests/meshes"].map(|f| Path::new(env!("CARGO_MANIFEST_DIR")).join(f))
}

/// A mesh that is kept with the tests.
fn kept(name: &str) -> Mesh {
    let path = kept_folders().iter().map(|f| f.join(name)).find(|p| p.exists());
    read_mesh(&path.unwrap_or_else(|| panic!("{name} is not kept")))
}

/// Calls `check(name, mesh, truth)` for every mesh with truths: the whole collection where it is, else the kept ones.
fn each_truth(mut check: impl FnMut(&str, &Mesh, &Value)) {
    let folders = collection().map_or_else(|| kept_folders().to_vec(), |f| vec![f]);
    for folder in folders {
        let text = std::fs::read_to_string(folder.join("truths.json")).unwrap();
        let truths: Value = serde_json::from_str(&text).unwrap();
        for (name, truth) in truths.as_object().unwrap() {
            let path = folder.join(name);
            if !name.contains('/') && name.ends_with(".stl") && path.exists() {
                check(name, &read_mesh(&path), truth);
            }
        }
    }
}

fn number(truth: &Value, key: &str) -> Option<f64> {
    truth.get(key).and_then(Value::as_f64)
}

fn numbers(value: &Value) -> Vec<f64> {
    value.as_array().map(|a| a.iter().filter_map(Value::as_f64).collect()).unwrap_or_default()
}

fn vector(value: &Value) -> [f64; 3] {
    numbers(value).try_into().unwrap()
}

#[track_caller]
fn near(what: &str, found: f64, truth: f64, tolerance: f64) {
    assert!((found - truth).abs() <= tolerance, "{what}: found {found}, truth {truth}, tolerance {tolerance}");
}

/// One analysis layer or 2 %, whichever is more: what the specification asks of spans, walls, gaps and areas of regions.
fn lenient(truth: f64) -> f64 {
    (0.02 * truth.abs()).max(0.2)
}

fn regions(mesh: &Mesh, up: [f64; 3]) -> Regions {
    Prepared::new(mesh).regions(&Pose::new(up).unwrap(), &Limits::default())
}

fn spans(found: &Regions, kind: Kind) -> Vec<f64> {
    found.list.iter().filter(|r| r.kind == kind).filter_map(|r| r.span_mm).collect()
}

fn reaches(found: &Regions) -> Vec<f64> {
    let mut reaches: Vec<f64> =
        found.list.iter().filter(|r| r.kind == Kind::Ledge).filter_map(|r| r.reach_mm).collect();
    reaches.sort_by(f64::total_cmp);
    reaches
}

#[test]
fn overhang_and_contact_areas_are_those_of_the_facets() {
    let mut checked = 0;
    each_truth(|name, mesh, truth| {
        let facts = Prepared::new(mesh).facts_in_pose(&Pose::as_placed(), &PoseOptions::default());
        if let Some(area) = number(truth, "overhang45_area_mm2") {
            near(name, facts.overhang_mm2, area, 1e-4 * area + 0.02);
            checked += 1;
        } else if let Some(area) = number(truth, "overhang45_area_smooth_mm2") {
            near(name, facts.overhang_mm2, area, 0.02 * area);
            checked += 1;
        }
        if let Some(area) = number(truth, "bed_contact_mm2") {
            near(name, facts.contact_mm2, area, 1e-4 * area + 1e-6);
        }
    });
    assert!(checked >= 8, "{checked}");
}

#[test]
fn spans_reaches_and_heights_of_regions_are_the_true_ones() {
    let mut seen = Seen::default();
    each_truth(|name, mesh, truth| {
        let found = regions(mesh, UP);
        if let Some(span) = number(truth, "bridge_span_mm").or(number(truth, "window_bridge_mm")) {
            let bridges = spans(&found, Kind::Bridge);
            assert!(bridges.iter().any(|s| (s - span).abs() <= lenient(span)), "{name}: {bridges:?}, truth {span}");
            seen.one("bridge");
        }
        for key in ["top_chord_at_45_mm", "span_where_steeper_than_45_mm"] {
            if let Some(chord) = number(truth, key) {
                near(name, spans(&found, Kind::HoleCrown)[0], chord, 1e-3 * chord);
                seen.one("crown");
            }
        }
        if let Some(cantilevers) = truth.get("cantilever_mm") {
            let (reaches, truths) = (reaches(&found), numbers(cantilevers));
            assert_eq!(reaches.len(), truths.len(), "{name}: {reaches:?}");
            reaches.iter().zip(&truths).for_each(|(r, t)| near(name, *r, *t, lenient(*t)));
            seen.one("cantilever");
        }
        if let Some(count) = number(truth, "overhang_regions") {
            assert_eq!(found.list.len(), count as usize, "{name}");
            seen.one("count");
        }
        if let Some(z) = number(truth, "overhang_z").or(number(truth, "ceiling_z")) {
            assert!(found.list.iter().any(|r| (r.z_mm[1] - z).abs() < 1e-3), "{name}: no region at {z}");
            seen.one("height");
        }
        if truth.get("bridge").and_then(Value::as_bool) == Some(false) {
            assert!(found.list.iter().all(|r| r.kind != Kind::Bridge), "{name}: a ledge was called a bridge");
            seen.one("ledge");
        }
        if let Some(z) = number(truth, "island_z") {
            let islands: Vec<_> = found.list.iter().filter(|r| r.kind == Kind::Island).collect();
            assert_eq!(islands.len(), 1, "{name}");
            near(name, islands[0].z_mm[0], z, 1e-6);
            assert_eq!(islands[0].verdict, Verdict::Support, "{name}");
            seen.one("island");
        }
    });
    seen.each(&["bridge", "crown", "cantilever", "count", "height", "ledge", "island"]);
}

#[test]
fn poses_said_to_be_free_of_overhang_have_no_regions() {
    let mut checked = 0;
    each_truth(|name, mesh, truth| {
        for up in truth.get("zero_overhang_up").and_then(Value::as_array).into_iter().flatten() {
            let up = match up.as_str().unwrap() {
                // The collection names -X, in which the broad side of the column hangs over; +X is what it must mean.
                "-X" if name == "shelf_one_side_25.stl" => [1.0, 0.0, 0.0],
                "+X" => [1.0, 0.0, 0.0],
                "-X" => [-1.0, 0.0, 0.0],
                "+Y" => [0.0, 1.0, 0.0],
                "-Y" => [0.0, -1.0, 0.0],
                "-Z" => [0.0, 0.0, -1.0],
                _ => UP,
            };
            assert!(regions(mesh, up).list.is_empty(), "{name} {up:?}");
            checked += 1;
        }
    });
    assert!(checked >= 4, "{checked}");
}

#[test]
fn holes_have_their_diameter_axis_depth_and_ends() {
    let mut seen = Seen::default();
    each_truth(|name, mesh, truth| {
        let prepared = Prepared::new(mesh);
        let report = features::find(mesh, &prepared.table, prepared.twins(), prepared.rays());
        if let Some(d) = number(truth, "hole_diameter_mm").or(number(truth, "bore_mm")).or(number(truth, "hole_d_mm")) {
            let hole = report.holes.iter().find(|h| (h.diameter_mm - d).abs() < 0.01 * d);
            let hole = hole.unwrap_or_else(|| panic!("{name}: no hole of {d}"));
            if let Some(through) = truth.get("hole_through").and_then(Value::as_bool) {
                assert_eq!(hole.through, through, "{name}");
                seen.one("through");
            }
            if let Some(axis) = truth.get("hole_axis").or(truth.get("bore_axis")) {
                assert!(dot(hole.axis, vector(axis)).abs() > 1.0 - 1e-6, "{name}");
                seen.one("axis");
            }
            if let Some(centre) = truth.get("hole_centre") {
                assert!(norm(sub(hole.centre_mm, vector(centre))) < 1e-3, "{name}");
                seen.one("centre");
            }
            if let Some(depth) = number(truth, "hole_depth_mm") {
                near(name, hole.depth_mm, depth, 1e-3);
                seen.one("depth");
            }
            let sides = hole.facets as f64;
            near(name, hole.chord_shortfall_mm, d * (1.0 - (std::f64::consts::PI / sides).cos()), 1e-3);
            seen.one("diameter");
        }
        let listed = ["holes", "bores"].iter().filter_map(|k| truth.get(k)).filter_map(Value::as_array).flatten();
        for group in listed {
            check_group(name, &report, group);
            seen.one("group");
        }
    });
    seen.each(&["diameter", "through", "axis", "centre", "depth"]);
}

fn check_group(name: &str, report: &Features, group: &Value) {
    let (d, axis) = (number(group, "d").unwrap(), vector(&group["axis"]));
    let alike: Vec<_> = report
        .holes
        .iter()
        .filter(|h| (h.diameter_mm - d).abs() < 0.02 * d && dot(h.axis, axis).abs() > 0.9999)
        .collect();
    let names: Vec<_> = report.holes.iter().map(|h| &h.name).collect();
    let wanted = number(group, "n").unwrap_or(1.0) as usize;
    assert_eq!(alike.len(), wanted, "{name}: holes of {d} along {axis:?} among {names:#?}");
    if group.get("blind").and_then(Value::as_bool) == Some(true) {
        assert!(alike.iter().all(|h| !h.through), "{name}: {d} is blind");
    }
    if let Some(depth) = number(group, "depth") {
        alike.iter().for_each(|h| near(name, h.depth_mm, depth, lenient(depth)));
    }
}

#[test]
fn a_polygon_hole_names_its_sides_and_its_shortfall() {
    let report = measure(&kept("block_hole_horizontal_d8.stl"), &MeasureOptions::default());
    let hole = &report.holes[0];
    assert_eq!(hole.name, "hole 1: d 8.00, axis +y, through, at (20.0, 10.0, 10.0)");
    assert_eq!(hole.facets, 64);
    // The generator states the inscribed diameter 7.990363649641379.
    near("shortfall", hole.chord_shortfall_mm, 8.0 - 7.990_363_649_641_379, 1e-6);
}

#[test]
fn walls_and_gaps_are_the_true_ones() {
    let mut seen = Seen::default();
    each_truth(|name, mesh, truth| {
        let prepared = Prepared::new(mesh);
        let found = walls::measure(mesh, prepared.rays(), prepared.table.size_mm);
        let thinnest_known = ["min_wall_mm", "wall_mm"].iter().find_map(|k| number(truth, k));
        if let Some(wall) = thinnest_known {
            // Elsewhere than in its named wall, a part may be thinner still; but that wall must be among those found.
            let has = found.samples.iter().filter_map(|s| s.wall_mm).any(|w| (w - wall).abs() <= 0.02 * wall);
            assert!(has, "{name}: no wall of {wall}");
            seen.one("wall");
        }
        if let Some(wall) = number(truth, "min_wall_mm") {
            near(name, found.thinnest.unwrap().mm, wall, 0.02 * wall);
            seen.one("thinnest");
        }
        for key in ["min_gap_mm", "min_gap_between_bodies_mm", "radial_gap_mm"] {
            if let Some(gap) = number(truth, key) {
                near(name, found.narrowest.unwrap().mm, gap, 0.02 * gap);
                seen.one("gap");
            }
        }
        let all = |list: &[f64], of: fn(&walls::Sample) -> Option<f64>| {
            let among = |t: f64| found.samples.iter().filter_map(of).any(|w| (w - t).abs() <= 0.02 * t);
            list.iter().for_each(|&t| assert!(among(t), "{name}: {t} was not found"));
        };
        truth.get("gap_mm").into_iter().for_each(|_| seen.one("gaps"));
        truth.get("wall_thickness_mm").into_iter().for_each(|_| seen.one("walls"));
        all(&truth.get("gap_mm").map(numbers).unwrap_or_default(), |s| s.gap_mm);
        all(&truth.get("wall_thickness_mm").map(numbers).unwrap_or_default(), |s| s.wall_mm);
    });
    seen.each(&["wall", "thinnest", "gap", "gaps", "walls"]);
}

#[test]
fn the_thinnest_wall_and_the_narrowest_slot_come_with_their_place() {
    let thin = measure(&kept("thin_walls.stl"), &MeasureOptions::default()).min_wall.unwrap();
    near("wall", thin.mm, 0.3, 1e-5);
    // The first wall stands from x = 4 to 4.3.
    near("its x", thin.at[0], 4.15, 1e-4);
    let slot = measure(&kept("gap_slots.stl"), &MeasureOptions::default()).min_gap.unwrap();
    near("gap", slot.mm, 0.1, 1e-5);
    near("its x", slot.at[0], 5.05, 1e-4);
}

/// A wall is more than a spot: neither the edge of a wedge (sides 8 degrees apart, closed form) nor a web between two
/// crossing holes is one.
#[test]
fn a_thin_wall_is_told_from_a_tapering_edge() {
    let beyond = |mesh: &Mesh| {
        let prepared = Prepared::new(mesh);
        let found = walls::measure(mesh, prepared.rays(), prepared.table.size_mm);
        (found.thinnest.unwrap().mm, found.thinnest_beyond(mesh, 25.0, prepared.table.surface_mm2))
    };
    let (thinnest, wall) = beyond(&kept("thin_walls.stl"));
    let wall = wall.unwrap();
    near("thinnest", thinnest, 0.3, 1e-5);
    near("wall", wall.mm, 0.3, 1e-5);
    near("its x", wall.at[0], 4.15, 1e-4);
    let thick = 40.0 * 8_f64.to_radians().tan();
    let roof = [[0.0, 0.5 * thick, 40.0], [60.0, 0.5 * thick, 40.0]];
    let base = [[0.0, 0.0, 0.0], [60.0, 0.0, 0.0], [60.0, thick, 0.0], [0.0, thick, 0.0]];
    let wedge = Mesh {
        vertices: base.into_iter().chain(roof).collect(),
        triangles: vec![[0, 2, 1], [0, 3, 2], [0, 1, 5], [0, 5, 4], [2, 3, 4], [2, 4, 5], [0, 4, 3], [1, 2, 5]],
    };
    let (thinnest, wall) = beyond(&wedge);
    // Only its two ends stand parallel, the length of the wedge apart.
    assert!(thinnest < 0.4 && wall.unwrap().mm > 59.9, "{thinnest} {wall:?}");
}

#[test]
fn cavities_are_found_and_what_hangs_in_them_is_trapped() {
    let mut seen = Seen::default();
    each_truth(|name, mesh, truth| {
        let Some(count) = number(truth, "cavities") else { return };
        let report = measure(mesh, &MeasureOptions::default());
        assert_eq!(report.cavities.len(), count as usize, "{name}");
        if let Some(volume) = number(truth, "cavity_volume_mm3") {
            near(name, report.cavities[0].volume_mm3, volume, 1e-4 * volume);
            assert!(report.cavities[0].sealed, "{name}");
            let inside = &report.regions[0];
            assert!(!inside.removable && inside.verdict == Verdict::Trapped, "{name}: {inside:?}");
            seen.one("sealed");
        }
        seen.one("count");
    });
    seen.each(&["count", "sealed"]);
}

#[test]
fn a_ledge_is_not_a_bridge_of_the_same_length() {
    let limits = Limits { bridge_mm: Limit::new(30.0, "test"), ..Limits::default() };
    let of = |name: &str| Prepared::new(&kept(name)).regions(&Pose::as_placed(), &limits).list;
    let (bridge, ledge) = (of("bridge_span_20.stl"), of("tee_arms_a.stl"));
    assert_eq!((bridge[0].kind, bridge[0].verdict), (Kind::Bridge, Verdict::Bridge));
    assert_eq!((ledge[0].kind, ledge[0].verdict), (Kind::Ledge, Verdict::Support));
    near("span", bridge[0].span_mm.unwrap(), 20.0, 1e-3);
    near("reach", ledge[0].reach_mm.unwrap(), 20.0, 1e-3);
    assert!(ledge[0].because.contains("held on one side"), "{}", ledge[0].because);
}

/// A block with a hollow ball of diameter 12 in its middle.
fn hollow_ball() -> Mesh {
    let (rings, turns) = (24, 48);
    let mut ball = Mesh { vertices: vec![[0.0, 0.0, 6.0]], triangles: Vec::new() };
    for i in 1..rings {
        let p = std::f64::consts::PI * f64::from(i) / f64::from(rings);
        for j in 0..turns {
            let t = std::f64::consts::TAU * f64::from(j) / f64::from(turns);
            ball.vertices.push([6.0 * p.sin() * t.cos(), 6.0 * p.sin() * t.sin(), 6.0 * p.cos()]);
        }
    }
    ball.vertices.push([0.0, 0.0, -6.0]);
    let at = |ring: i32, j: i32| (1 + (ring - 1) * turns + j % turns) as u32;
    let last = ball.vertices.len() as u32 - 1;
    for j in 0..turns {
        // Facing inward: the material is outside.
        ball.triangles.extend([[0, at(1, j + 1), at(1, j)], [last, at(rings - 1, j), at(rings - 1, j + 1)]]);
        for i in 1..rings - 1 {
            ball.triangles.push([at(i, j), at(i + 1, j + 1), at(i + 1, j)]);
            ball.triangles.push([at(i, j), at(i, j + 1), at(i + 1, j + 1)]);
        }
    }
    let mut part = kept("tiny_cube_half_mm.stl");
    let bounds = part.bounds();
    let scale = 30.0 / bounds.size()[0];
    for v in &mut part.vertices {
        *v = [0, 1, 2].map(|k| (v[k] - bounds.centre()[k]) * scale);
    }
    assert!(part.append(&ball));
    part
}

#[test]
fn the_ceiling_of_a_hollow_ball_is_no_hole_crown() {
    let part = hollow_ball();
    for up in [UP, [1.0, 0.0, 0.0], [0.3, -0.5, 0.7]] {
        let found = regions(&part, up).list;
        assert!(!found.is_empty());
        for region in found {
            assert!(region.kind != Kind::HoleCrown && region.diameter_mm.is_none(), "{up:?} {region:?}");
        }
    }
}

#[test]
fn a_bent_round_channel_still_has_hole_crowns() {
    let Some(path) = collection().map(|f| f.join("block_swept_channel.stl")) else { return };
    assert!(regions(&read_mesh(&path), UP).list.iter().any(|r| r.kind == Kind::HoleCrown));
}

#[test]
fn a_very_thin_plate_lies_on_either_broad_face() {
    // A ten-thousandth of its length thick.
    let [x, y, z] = [100.0, 60.0, 0.01];
    let vertices = (0..8).map(|i| [(0, x), (1, y), (2, z)].map(|(k, side)| if i >> k & 1 == 1 { side } else { 0.0 }));
    let quads = [[0, 2, 3, 1], [4, 5, 7, 6], [0, 1, 5, 4], [2, 6, 7, 3], [0, 4, 6, 2], [1, 3, 7, 5]];
    let triangles = quads.iter().flat_map(|q| [[q[0], q[1], q[2]], [q[0], q[2], q[3]]]).collect();
    let plate = Mesh { vertices: vertices.collect(), triangles };
    let flat = |mesh: &Mesh, normal: [f64; 3]| {
        let options = PoseOptions { distinguish: vec![normal], ..PoseOptions::default() };
        let found = Prepared::new(mesh).poses(&options);
        let broad: Vec<f64> = found[..2].iter().map(|p| dot(p.pose.up, normal)).collect();
        assert!(broad.iter().all(|d| d.abs() > 1.0 - 1e-6) && broad[0] * broad[1] < 0.0, "{normal:?} {broad:?}");
        for pose in &found[..2] {
            near("height", pose.height_mm, z, 1e-4);
            near("contact", pose.contact_mm2, x * y, 1.0);
        }
    };
    flat(&plate, [0.0, 0.0, 1.0]);
    for (i, up) in [[0.3, -0.5, 0.7], [1.0, 2.0, 3.0], [-0.9, 0.1, 0.2], [0.01, 1.0, 0.02]].into_iter().enumerate() {
        let turn = Pose::new(up).unwrap().rotation();
        let mut turned = plate.transformed(&turn, [5.0 * i as f64, 6.0, 7.0]);
        // As a file would keep it.
        turned.vertices.iter_mut().flatten().for_each(|c| *c = f64::from(*c as f32));
        flat(&turned, [turn[0][2], turn[1][2], turn[2][2]]);
    }
}

#[test]
fn a_horizontal_drilled_hole_needs_no_support_and_says_why() {
    let crown = &regions(&kept("block_hole_horizontal_d8.stl"), UP).list[0];
    assert_eq!((crown.kind, crown.verdict), (Kind::HoleCrown, Verdict::None));
    assert!(crown.because.contains("diameter 8.00 mm, within 10.00 mm"), "{}", crown.because);
    assert!(crown.because.contains("chord of 5.66 mm"), "{}", crown.because);
    // At another limit the flat part is another chord: d cos(limit).
    let limits = Limits { overhang_deg: Limit::new(60.0, "test"), ..Limits::default() };
    let flat = &Prepared::new(&kept("block_hole_horizontal_d8.stl")).regions(&Pose::as_placed(), &limits).list[0];
    near("chord at 60 degrees", flat.span_mm.unwrap(), 4.0, 1e-5);
}

#[test]
fn a_teardrop_needs_nothing() {
    assert!(regions(&kept("block_teardrop_45.stl"), UP).list.is_empty());
}

#[test]
fn support_in_an_internal_channel_is_not_removable() {
    let channel = &regions(&kept("block_L_channel_6.stl"), UP).list[0];
    assert_eq!(channel.kind, Kind::Bridge);
    assert!(!channel.removable);
    let strict = Limits { bridge_mm: Limit::new(5.0, "test"), ..Limits::default() };
    let found = Prepared::new(&kept("block_L_channel_6.stl")).regions(&Pose::as_placed(), &strict);
    assert_eq!(found.list[0].verdict, Verdict::Trapped);
    // An open ledge beside it is removable.
    assert!(regions(&kept("tee_arms_a.stl"), UP).list.iter().all(|r| r.removable));
}

/// A box with a port at either end, through which the support of its roof may or may not come out.
fn ported_box() -> Mesh {
    let across: &[f64] = &[0.0, 4.0, 20.0, 40.0, 56.0, 60.0];
    let stl = shapes::blocks(
        [&[0.0, 4.0, 76.0, 80.0], across, across],
        |[x, y, z]| {
            let wall = x == 0 || x == 2 || y == 0 || y == 4 || z == 0 || z == 4;
            wall && !(y == 2 && z == 2)
        },
        |p| p,
    );
    read::read(stl.as_bytes(), "box.stl", None).unwrap().merged().unwrap()
}

/// How open a cavity is is a fact of the body: neither the order of its facets in the file nor how they are cut moves it.
#[test]
fn openness_does_not_hang_on_the_order_of_facets_or_their_cut() {
    let mesh = ported_box();
    let found = regions(&mesh, UP);
    let roof = found.list.iter().find(|r| r.kind == Kind::Bridge || r.kind == Kind::Ledge).unwrap();
    assert!(roof.openness > 0.0 && roof.openness < 0.1, "{roof:?}");
    let mut others = Vec::new();
    for step in [5, 7, 11, 13] {
        let n = mesh.triangles.len();
        let mut order: Vec<usize> = (0..n).collect();
        order.sort_by_key(|i| (i * step % 17, *i));
        let turned = |[a, b, c]: [u32; 3]| [b, c, a];
        others.push(Mesh { triangles: order.iter().map(|&i| turned(mesh.triangles[i])).collect(), ..mesh.clone() });
    }
    let mut cut = Mesh { triangles: Vec::new(), ..mesh.clone() };
    for t in 0..mesh.triangles.len() {
        let [a, b, c] = mesh.triangles[t];
        let m = cut.vertices.len() as u32;
        let corners = mesh.corners(t);
        cut.vertices.push([0, 1, 2].map(|k| (corners[0][k] + corners[1][k] + corners[2][k]) / 3.0));
        cut.triangles.extend([[a, b, m], [b, c, m], [c, a, m]]);
    }
    others.push(cut);
    for other in others {
        let other = regions(&other, UP);
        let facts = |all: &Regions| all.list.iter().map(|r| (r.kind, r.verdict, r.removable)).collect::<Vec<_>>();
        assert_eq!(facts(&other), facts(&found));
        for (a, b) in other.list.iter().zip(&found.list) {
            near(&format!("openness at {:?} and {:?}", a.at, b.at), a.openness, b.openness, 1e-9);
            near("volume below", a.below_mm3, b.below_mm3, 1e-6 * b.below_mm3);
        }
    }
}

/// A plate of 40 x 40 x 4 with a block of 20 x 20 x 6 whose underside is `gap` above it.
fn plate_and_block(gap: f64) -> Mesh {
    let quads = [[0, 2, 3, 1], [4, 5, 7, 6], [0, 1, 5, 4], [2, 6, 7, 3], [0, 4, 6, 2], [1, 3, 7, 5]];
    let block = |from: [f64; 3], size: [f64; 3]| Mesh {
        vertices: (0..8_u32)
            .map(|i| [0, 1, 2].map(|k| from[k] + if i >> k & 1 == 1 { size[k] } else { 0.0 }))
            .collect(),
        triangles: quads.iter().flat_map(|q| [[q[0], q[1], q[2]], [q[0], q[2], q[3]]]).collect(),
    };
    let mut both = block([0.0; 3], [40.0, 40.0, 4.0]);
    assert!(both.append(&block([10.0, 10.0, 4.0 + gap], [20.0, 20.0, 6.0])));
    both
}

#[test]
fn what_lies_less_than_a_layer_below_holds_and_a_gap_too_narrow_for_support_calls_for_redesign() {
    let verdict = |gap: f64| regions(&plate_and_block(gap), UP).list.first().map(|r| (r.kind, r.verdict));
    assert_eq!(verdict(5.0), Some((Kind::Island, Verdict::Support)));
    assert_eq!(verdict(0.25), Some((Kind::Island, Verdict::Redesign)));
    assert_eq!(verdict(0.1), None, "within a layer");
    assert_eq!(verdict(0.0), None, "flush");
    assert_eq!(verdict(-1.0), None, "one within the other");
}

#[test]
fn support_volume_is_that_of_the_room_below() {
    // Arms of 20 x 10 on both sides, 30 above the bed; a block of 20 x 20 hanging 16 above a plate.
    near("tee", regions(&kept("tee_arms_a.stl"), UP).support_mm3, 12_000.0, 1.0);
    let floating = regions(&kept("floating_island.stl"), UP);
    near("island", floating.support_mm3, 6400.0, 1.0);
    near("touching from below", floating.support_contact_mm2, 400.0, 1.0);
    near("standing on the part", floating.support_on_part_mm2, 400.0, 1.0);
}

/// The layers are a second opinion on the regions: what a layer lacks beneath it, grown back by one step on each held
/// side, is the region.
#[test]
fn layers_lack_what_the_regions_say() {
    let lacking = |name: &str| {
        let mesh = kept(name);
        let prepared = Prepared::new(&mesh);
        let view = prepared.view(&Pose::as_placed());
        let height = prepared.table.extent(UP).1 - prepared.table.extent(UP).0;
        let layers = cut(&view, &middles(height, 0.2));
        assert!(layers.iter().all(|l| l.broken == 0), "{name}");
        unsupported(&layers, 0.2, Filling::Winding).iter().fold(0.0, |sum, p| sum + p.area())
    };
    near("bridge 20 x 10, held at two ends of 10", lacking("bridge_span_20.stl"), 200.0 - 2.0 * 0.2 * 10.0, 0.01);
    near("two arms of 20 x 10, each held at one end", lacking("tee_arms_a.stl"), 400.0 - 2.0 * 0.2 * 10.0, 0.01);
    near("an island lacks all", lacking("floating_island.stl"), 400.0, 0.01);
    near("a room of 42 x 32 held all round", lacking("room_roof.stl"), 41.6 * 31.6, 0.01);
    near("a teardrop at the limit lacks nothing", lacking("block_teardrop_45.stl"), 0.0, 0.1);
    // Slope of 60 degrees: each of the 99 layers above the first steps out 0.2 tan 60, of which 0.2 is held.
    near("wedge", lacking("wedge_60.stl"), 99.0 * 15.0 * 0.2 * (60_f64.to_radians().tan() - 1.0), 0.5);
}

#[test]
fn layers_add_up_to_the_volume() {
    let mut checked = 0;
    each_truth(|name, mesh, truth| {
        let Some(volume) = number(truth, "volume_mesh_mm3").or(number(truth, "volume_mm3")) else { return };
        let prepared = Prepared::new(mesh);
        let (low, high) = prepared.table.extent(UP);
        let step = (high - low) / 400.0;
        let layers = cut(&prepared.view(&Pose::as_placed()), &middles(high - low, step));
        let sum: f64 = layers.iter().map(|l| l.area() * step).sum();
        // A flat face within a layer is rounded to the layer's middle: half a layer of its area at most.
        near(name, sum, volume, 0.01 * volume);
        checked += 1;
    });
    assert!(checked >= 8, "{checked}");
}

#[test]
fn turned_copies_have_the_regions_of_the_original() {
    let mut checked = 0;
    let mut originals = std::collections::BTreeMap::new();
    let mut turned = Vec::new();
    each_truth(|name, mesh, truth| {
        if let Some(up) = truth.get("original_up_in_this_frame") {
            let original = truth["rotated_from"].as_str().unwrap().to_owned();
            turned.push((name.to_owned(), original, regions(mesh, vector(up))));
        } else {
            originals.insert(name.trim_end_matches(".stl").to_owned(), regions(mesh, UP));
        }
    });
    let names =
        [("bridge_10", "bridge_span_10"), ("bridge_20", "bridge_span_20"), ("hole_h", "block_hole_horizontal_d8")];
    for (name, original, found) in turned {
        let full = names.iter().find(|n| n.0 == original).map_or(original.as_str(), |n| n.1);
        let full = if full == "tee_arms" { "tee_arms_a" } else { full };
        let Some(truth) = originals.get(full) else { continue };
        assert_eq!(found.list.len(), truth.list.len(), "{name}");
        for (a, b) in found.list.iter().zip(&truth.list) {
            assert_eq!((a.kind, a.verdict, a.removable), (b.kind, b.verdict, b.removable), "{name}");
            near(&name, a.area_mm2, b.area_mm2, 1e-3 * b.area_mm2);
            near(&name, a.span_mm.or(a.reach_mm).unwrap(), b.span_mm.or(b.reach_mm).unwrap(), 1e-3);
            near(&name, a.z_mm[1], b.z_mm[1], 1e-3);
        }
        checked += 1;
    }
    assert!(checked >= 1, "{checked}");
}

#[test]
fn the_best_pose_does_not_depend_on_how_the_file_is_turned() {
    for name in [
        "bridge_span_20.stl",
        "tee_arms_a.stl",
        "block_hole_horizontal_d8.stl",
        "shelf_one_side_25.stl",
        "wedge_60.stl",
    ] {
        let mesh = kept(name);
        let here = poses(&mesh, &PoseOptions::default());
        for up in [[0.3, -0.5, 0.8], [-0.9, 0.1, -0.2], [0.2, 0.9, 0.4]] {
            let turn = Pose::new(up).unwrap();
            let there = poses(&mesh.transformed(&turn.rotation(), [7.0, -3.0, 11.0]), &PoseOptions::default());
            near(name, there[0].total(), here[0].total(), 1e-3);
            near(name, there[0].height_mm, here[0].height_mm, 1e-3);
            near(name, there[0].contact_mm2, here[0].contact_mm2, 1e-3 * here[0].contact_mm2);
            // The pose itself, or one that a symmetry of the part makes its equal.
            let back = turn.turn(here[0].pose.up);
            let same = there[0].pose.angle_to(back) < 1e-3;
            assert!(same || (there[0].overhang_mm2 - here[0].overhang_mm2).abs() < 1e-3, "{name}");
        }
    }
}

#[test]
fn a_leaning_column_does_not_stand_and_a_plate_has_four_corners() {
    let mut checked = 0;
    each_truth(|name, mesh, truth| {
        if truth.get("topples_unrestrained").and_then(Value::as_bool) == Some(true) {
            let report = measure(mesh, &MeasureOptions::default());
            assert!(report.first_layer.tip_deg < 0.0, "{name}");
            checked += 1;
        }
    });
    assert!(checked >= 1);
    let block = measure(&kept("block_teardrop_45.stl"), &MeasureOptions::default()).first_layer;
    assert_eq!((block.sharp_corners, block.patches), (4, 1));
    near("area", block.area_mm2, 480.0, 1e-6);
    near("perimeter", block.perimeter_mm, 92.0, 1e-6);
    near("longest", block.longest_mm, (30_f64 * 30.0 + 16.0 * 16.0).sqrt(), 1e-6);
}

#[test]
fn the_report_has_the_documented_keys() {
    let report = measure(&kept("bridge_span_20.stl"), &MeasureOptions { pose: PoseChoice::Best, ..Default::default() });
    let json = report.json();
    let keys = "triangles closed shells volume_mm3 area_mm2 centroid_mm bounds_mm defects cavities holes min_wall min_gap \
                pose overhang_mm2 contact_mm2 regions support_mm3 poses";
    for key in keys.split_whitespace() {
        assert!(json.get(key).is_some(), "{key}");
    }
    assert_eq!(json["regions"], serde_json::json!([]));
    let placed = measure(&kept("bridge_span_20.stl"), &MeasureOptions::default());
    let json = placed.json();
    assert_eq!(json["bounds_mm"]["max"], serde_json::json!([40.0, 10.0, 25.0]));
    for key in "kind z_mm area_mm2 span_mm reach_mm angle_deg at verdict removable".split_whitespace() {
        assert!(json["regions"][0].get(key).is_some(), "{key}");
    }
    assert_eq!(json["regions"][0]["kind"], "bridge");
    assert!(json["poses"][0]["penalties"].is_object() && json["poses"][0]["total"].is_number());
}

#[test]
fn the_same_mesh_gives_the_same_bytes() {
    let mesh = kept("block_L_channel_6.stl");
    let text = || measure(&mesh, &MeasureOptions::default()).json().to_string();
    assert_eq!(text(), text());
}

#[test]
fn an_inside_out_mesh_is_looked_at_from_outside_and_says_so() {
    let mut mesh = kept("tee_arms_a.stl");
    mesh.triangles.iter_mut().for_each(|t| t.swap(1, 2));
    let report = measure(&mesh, &MeasureOptions::default());
    near("overhang", report.overhang_mm2.unwrap(), 400.0, 1e-6);
    assert!(report.volume_mm3.is_none() && report.withheld.iter().any(|w| w.contains("faces inward")));
}

#[test]
fn every_damaged_mesh_of_the_collection_is_measured_without_a_panic() {
    let Some(folder) = collection() else { return };
    let mut count = 0;
    for sub in ["broken", "real"] {
        let mut paths: Vec<PathBuf> = std::fs::read_dir(folder.join(sub)).unwrap().map(|e| e.unwrap().path()).collect();
        paths.sort();
        for path in paths {
            let name = path.file_name().unwrap().to_string_lossy().into_owned();
            let bytes = std::fs::read(&path).unwrap();
            let Some(mesh) = read::read(&bytes, &name, None).ok().and_then(|r| r.merged()) else { continue };
            if mesh.triangles.is_empty() || mesh.triangles.len() > 2500 {
                continue;
            }
            let report = measure(&mesh, &MeasureOptions::default());
            assert!(serde_json::to_string(&report).is_ok(), "{name}");
            count += 1;
        }
    }
    assert!(count > 60, "{count}");
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, ..ProptestConfig::default() })]

    /// Loose facets of any shape, degenerate and repeated ones among them: nothing stops the program or hangs it.
    #[test]
    fn a_soup_of_facets_is_measured(
        points in proptest::collection::vec(proptest::array::uniform3(-4_i32..4), 3..24),
        picks in proptest::collection::vec(proptest::array::uniform3(0_usize..24), 1..60),
        size in prop_oneof![Just(1e-9), Just(1.0), Just(1e9)],
    ) {
        let vertices: Vec<[f64; 3]> = points.iter().map(|p| p.map(|c| f64::from(c) * size)).collect();
        let triangles = picks.iter().map(|t| t.map(|i| (i % vertices.len()) as u32)).collect();
        let report = measure(&Mesh { vertices, triangles }, &MeasureOptions::default());
        prop_assert!(report.area_mm2 >= 0.0);
        prop_assert!(report.regions.iter().all(|r| r.area_mm2.is_finite()));
    }

    /// A box turned any way lies on its broadest side.
    #[test]
    fn a_turned_box_lies_flat(axis in proptest::array::uniform3(-1.0_f64..1.0)) {
        prop_assume!(norm(axis) > 0.1);
        let turn = Pose::new(normalise(axis)).unwrap().rotation();
        let corner = |i: u32| [0, 1, 2].map(|k| if i >> k & 1 == 1 { [40.0, 20.0, 10.0][k] } else { 0.0 });
        let quads = [[0, 2, 3, 1], [4, 5, 7, 6], [0, 1, 5, 4], [2, 6, 7, 3], [0, 4, 6, 2], [1, 3, 7, 5]];
        let triangles = quads.iter().flat_map(|q| [[q[0], q[1], q[2]], [q[0], q[2], q[3]]]).collect();
        let mesh = Mesh { vertices: (0..8).map(corner).collect(), triangles }.transformed(&turn, [0.0; 3]);
        let best = &poses(&mesh, &PoseOptions::default())[0];
        prop_assert!((best.height_mm - 10.0).abs() < 1e-6 && (best.contact_mm2 - 800.0).abs() < 1e-3);
    }
}
