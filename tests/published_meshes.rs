//! Every truth of the mesh collection, asserted.
//!
//! The truths come with the meshes (`truths.json` beside them) and were made apart from this project: closed forms of
//! the shapes, exact CAD volumes, and for the meshes from public repositories the numbers of an independent mesh
//! library (`checked_with`). A small part of the collection is kept in `tests/meshes`; the whole of it is used where it
//! lies beside the project.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use makeready::geometry::health::{self, DefectKind, Health, ScaleDoubtKind};
use makeready::geometry::mass::{self, Mass};
use makeready::geometry::mesh::Mesh;
use makeready::geometry::read::{self, LengthUnit, NoteKind, ReadError, ReadErrorKind, ReadMesh};
use makeready::geometry::vector::dot;
use makeready::geometry::{cavity, hull, section};
use serde_json::Value;

use crate::workshop::Seen;

/// Returns the folders with meshes and truths: the copies always, the collection where it is there.
pub fn collections() -> Vec<PathBuf> {
    let here = Path::new(env!("CARGO_MANIFEST_DIR"));
    let all = [here.join("tests/meshes"), here.join("../shared/meshes")];
    all.into_iter().filter(|p| p.join("truths.json").is_file()).collect()
}

pub struct Case {
    pub name: String,
    pub truth: Value,
    pub bytes: Vec<u8>,
}

impl Case {
    pub fn number(&self, key: &str) -> Option<f64> {
        self.truth.get(key).and_then(Value::as_f64)
    }

    pub fn read(&self) -> Result<ReadMesh, ReadError> {
        read::read(&self.bytes, &self.name, None)
    }

    fn survey(&self) -> (ReadMesh, Mesh, Health, Mass) {
        let read = self.read().unwrap_or_else(|e| panic!("{}: {e}", self.name));
        let mesh = read.merged().expect("few vertices");
        let health = health::examine(&mesh);
        let mass = mass::measure(&mesh, &health);
        (read, mesh, health, mass)
    }
}

pub fn cases(folder: &Path) -> Vec<Case> {
    let text = std::fs::read_to_string(folder.join("truths.json")).expect("truths are there");
    let truths: serde_json::Map<String, Value> = serde_json::from_str(&text).expect("truths are JSON");
    let cases = truths.into_iter().map(|(name, truth)| {
        let bytes = std::fs::read(folder.join(&name)).unwrap_or_else(|e| panic!("{name}: {e}"));
        Case { name, truth, bytes }
    });
    cases.collect()
}

fn close(name: &str, what: &str, found: f64, truth: f64, relative: f64) {
    let allowed = relative * truth.abs().max(1e-9);
    assert!((found - truth).abs() <= allowed, "{name}: {what} is {found}, should be {truth}");
}

/// STL keeps 32 bits of each coordinate: about 6e-8 of its size, a few times that in a sum of products.
const SINGLE: f64 = 2e-6;

#[test]
fn volumes_areas_and_centroids_are_those_of_the_shapes() {
    let mut seen = Seen::default();
    for case in collections().iter().flat_map(|c| cases(c)).filter(|c| !c.name.contains('/')) {
        let (_, mesh, health, mass) = case.survey();
        let name = &case.name;
        for key in ["volume_mm3", "volume_mesh_mm3", "volume_units3"] {
            if let Some(truth) = case.number(key) {
                close(name, key, mass.volume_mm3.expect("a volume"), truth, SINGLE);
                seen.one("volume");
            }
        }
        for key in ["area_mm2", "area_mesh_mm2"] {
            if let Some(truth) = case.number(key) {
                close(name, key, mass.area_mm2, truth, 4.0 * SINGLE);
                seen.one("area");
            }
        }
        if let Some(truth) = case.number("volume_cad_mm3") {
            // The chord error: within the tolerance of tessellation times the surface.
            let chord = case.number("chord_tolerance_mm").expect("a tolerance") * mass.area_mm2;
            assert!((mass.volume_mm3.expect("a volume") - truth).abs() <= chord, "{name}: far from the CAD volume");
            seen.one("CAD volume");
        }
        let bounds = mesh.bounds();
        for (key, found) in [("bbox_min", bounds.min), ("bbox_max", bounds.max)] {
            if let Some(truth) = case.truth.get(key) {
                for k in 0..3 {
                    let truth = truth[k].as_f64().expect("a number");
                    assert!((found[k] - truth).abs() <= 1e-6 + 1e-6 * truth.abs(), "{name}: {key} is {found:?}");
                }
                seen.one("bounds");
            }
        }
        let centroid = case.truth.get("centroid").or_else(|| case.truth.get("centre_of_mass"));
        if let Some(truth) = centroid {
            let found = mass.centroid_mm.expect("a centroid");
            // For tessellated CAD parts the truth is that of the exact shape; chords move the centre a little.
            let diagonal = bounds.diagonal();
            let allowed = case.number("chord_tolerance_mm").map_or(2e-5, |_| 1e-3 * diagonal);
            for k in 0..3 {
                assert!((found[k] - truth[k].as_f64().expect("a number")).abs() < allowed, "{name}: {found:?}");
            }
            seen.one("centroid");
        }
        assert!(health.not_searched.is_empty(), "{name}: {:?}", health.not_searched);
    }
    seen.each(&["volume", "area", "CAD volume", "bounds", "centroid"]);
}

#[test]
fn sound_shapes_are_found_sound_with_their_bodies_cavities_and_handles() {
    let mut seen = Seen::default();
    for case in collections().iter().flat_map(|c| cases(c)).filter(|c| !c.name.contains('/')) {
        let (_, _, health, _) = case.survey();
        let name = &case.name;
        assert_eq!(case.truth["watertight"], Value::Bool(health.closed), "{name}");
        assert!(health.oriented && health.outward && health.bounds_a_solid(), "{name}: {:?}", health.defects);
        assert_eq!(health.defects, [], "{name}");
        let cavities = cavity::find(&health);
        let shells = case.number("shells").unwrap_or_else(|| case.number("bodies").expect("bodies"));
        assert_eq!(health.shells.len(), shells as usize, "{name}: shells");
        if let Some(bodies) = case.number("bodies") {
            assert_eq!(health.shells.len() - cavities.len(), bodies as usize, "{name}: bodies");
            seen.one("bodies");
        }
        if let Some(genus) = case.number("genus") {
            let found: usize = health.shells.iter().map(|s| s.genus.expect("a genus")).sum();
            assert_eq!(found, genus as usize, "{name}: genus");
            seen.one("genus");
        }
        if let Some(truth) = case.number("cavities") {
            assert_eq!(cavities.len(), truth as usize, "{name}: cavities");
            seen.one("cavities");
        }
        if let Some(truth) = case.number("cavity_volume_mm3") {
            close(name, "cavity", cavities[0].volume_mm3, truth, SINGLE);
            assert!(cavities[0].sealed);
        }
        if let Some(truth) = case.number("outer_volume_mm3") {
            close(name, "outer shell", health.shells[0].volume_mm3.expect("closed"), truth, SINGLE);
            seen.one("cavity volume");
        }
    }
    seen.each(&["bodies", "genus", "cavities", "cavity volume"]);
}

#[test]
fn small_and_far_parts_raise_doubts_about_scale() {
    let expected = [
        ("one_inch_cube_in_inches.stl", Some(ScaleDoubtKind::PerhapsLargerUnit)),
        ("tiny_cube_half_mm.stl", Some(ScaleDoubtKind::PerhapsLargerUnit)),
        ("far_from_origin.stl", Some(ScaleDoubtKind::FarFromOrigin)),
        ("bracket_rect.stl", None),
        ("huge_plate_600.stl", None),
    ];
    let mut seen = Seen::default();
    for case in collections().iter().flat_map(|c| cases(c)) {
        if let Some((name, doubt)) = expected.iter().find(|(name, _)| *name == case.name) {
            let (_, _, health, _) = case.survey();
            assert_eq!(health.doubts.first().map(|d| d.kind), *doubt, "{name}");
            seen.one(name);
        }
    }
    seen.each(&expected.map(|(name, _)| name));
}

#[test]
fn an_inch_is_25_4_mm() {
    let mut seen = Seen::default();
    for case in collections().iter().flat_map(|c| cases(c)).filter(|c| c.name == "one_inch_cube_in_inches.stl") {
        let read = read::read(&case.bytes, &case.name, Some(LengthUnit::Inch)).expect("reads");
        let mesh = read.merged().expect("one mesh");
        let mass = mass::measure(&mesh, &health::examine(&mesh));
        close(&case.name, "volume", mass.volume_mm3.expect("a volume"), 25.4 * 25.4 * 25.4, 1e-12);
        seen.one("cube");
    }
    seen.each(&["cube"]);
}

#[test]
fn sections_of_the_brackets_have_their_closed_form_properties() {
    let mut checked = 0;
    for case in collections().iter().flat_map(|c| cases(c)) {
        let Some(area) = case.number("section_area_mm2") else { continue };
        let mesh = case.read().expect("reads").merged().expect("one mesh");
        let root = [case.number("root_plane_x").expect("a plane"), 0.0, 0.0];
        // The plane lies in the wall plate's face; the section is the arm's, on the side the normal points to.
        let section = section::cut(&mesh, root, [1.0, 0.0, 0.0]).expect("a direction");
        let found = section.properties.expect("an area");
        let in_frame = |axis: [f64; 3]| [dot(axis, section.frame.u), dot(axis, section.frame.v)];
        let (y, z) = (in_frame([0.0, 1.0, 0.0]), in_frame([0.0, 0.0, 1.0]));
        let truth = |key: &str| case.number(key).expect("a truth");
        close(&case.name, "area", found.area_mm2, area, 1e-9);
        close(&case.name, "I about Y", found.second_moment(y), truth("I_about_Y_mm4"), SINGLE);
        close(&case.name, "I about Z", found.second_moment(z), truth("I_about_Z_mm4"), SINGLE);
        close(&case.name, "modulus", found.modulus(&section, y), truth("section_modulus_about_Y_mm3"), SINGLE);
        assert!(section.open_outlines == 0 && !section.uneven);
        checked += 1;
    }
    assert!(checked >= 2);
}

#[test]
fn stacked_sections_add_up_to_the_volume() {
    let mut seen = Seen::default();
    // Cavalieri: the mean of the section areas times the length is the volume, if islands, holes and cavities are all
    // told apart.
    for case in collections().iter().flat_map(|c| cases(c)).filter(|c| !c.name.contains('/')) {
        let (_, mesh, _, mass) = case.survey();
        let bounds = mesh.bounds();
        let steps = 100;
        for axis in 0..3 {
            let length = bounds.size()[axis];
            let mut normal = [0.0; 3];
            normal[axis] = 1.0;
            let areas: Vec<f64> = (0..steps)
                .map(|i| {
                    let mut at = bounds.min;
                    at[axis] += length * (f64::from(i) + 0.5) / f64::from(steps);
                    let section = section::cut(&mesh, at, normal).expect("a direction");
                    assert_eq!((section.open_outlines, section.uneven), (0, false), "{}", case.name);
                    section.properties.map_or(0.0, |p| p.area_mm2)
                })
                .collect();
            let step = length / f64::from(steps);
            let (sum, largest) = areas.iter().fold((0.0, 0.0_f64), |(s, l), a| (s + a, l.max(*a)));
            let truth = mass.volume_mm3.expect("a volume");
            // A jump of the area within a step is off by half the step at most; no part here has many.
            let allowed = 2.0 * step * largest;
            seen.one("part");
            assert!((sum * step - truth).abs() <= allowed, "{}: {} of {truth}", case.name, sum * step);
        }
    }
    seen.each(&["part"]);
}

#[test]
fn hulls_hold_every_vertex_and_no_less_than_the_volume() {
    let mut seen = Seen::default();
    for case in collections().iter().flat_map(|c| cases(c)).filter(|c| !c.name.contains('/')) {
        let (_, mesh, _, mass) = case.survey();
        let hull = hull::convex(&mesh).unwrap_or_else(|| panic!("{}: no hull", case.name));
        let health = health::examine(&hull.mesh);
        let own = mass::measure(&hull.mesh, &health);
        assert!(own.volume_mm3.expect("a closed hull") >= mass.volume_mm3.expect("a volume") * (1.0 - SINGLE));
        let size = mesh.bounds().diagonal() + mesh.bounds().centre().iter().map(|c| c.abs()).sum::<f64>();
        for t in 0..hull.mesh.triangles.len() {
            let (normal, area) = hull.mesh.normal_area(t);
            if area > 1e-3 {
                seen.one("face");
                let level = dot(normal, hull.mesh.corners(t)[0]);
                let highest = mesh.vertices.iter().map(|&v| dot(normal, v) - level).fold(f64::MIN, f64::max);
                assert!(highest <= 1e-5 * size, "{}: a vertex lies {highest} mm outside", case.name);
            }
        }
        let faces: f64 = hull.faces.iter().map(|f| f.area_mm2).sum();
        close(&case.name, "hull area", faces, own.area_mm2, 1e-9);
    }
    seen.each(&["face"]);
}

/// What each word of the truths' `defects` lists must show up as.
fn shows(word: &str, read: &ReadMesh, health: &Health) -> bool {
    let note = |kind| read.note(kind).is_some();
    match word {
        "count_mismatch" => note(NoteKind::CountMismatch),
        "trailing_bytes" => note(NoteKind::TrailingBytes),
        "no_triangles" => note(NoteKind::NoTriangles),
        "non_finite" => note(NoteKind::NonFinite),
        "normals_disagree_with_winding" => note(NoteKind::NormalsDisagree),
        "mirrored_transform" => note(NoteKind::MirroredTransform),
        "singular_transform" => note(NoteKind::SingularTransform),
        "no_relationships" => note(NoteKind::NoRelationships),
        "absurd_size" => health.doubts.iter().any(|d| d.kind == ScaleDoubtKind::AbsurdSize),
        "open" => health.has(DefectKind::OpenEdge) && !health.closed,
        "open_by_index" => !health.closed,
        "unwelded" => health.has(DefectKind::Crack),
        "t_junction" => health.has(DefectKind::TJunction),
        "degenerate_facets" => health.has(DefectKind::DegenerateFacet),
        "duplicate_facets" => health.has(DefectKind::DuplicateFacet),
        "non_manifold_edge" => health.has(DefectKind::NonManifoldEdge),
        "non_manifold_vertex" => health.has(DefectKind::NonManifoldVertex),
        "inconsistent_winding" => health.has(DefectKind::Flipped) && !health.oriented,
        "non_orientable" => health.has(DefectKind::OneSided) && !health.oriented,
        "inside_out" => health.has(DefectKind::InsideOut) && !health.outward,
        "nested_same_orientation" => health.has(DefectKind::NestedShell),
        "self_intersection" => health.has(DefectKind::SelfIntersection),
        "specks" => health.has(DefectKind::Speck),
        _ => panic!("`{word}` is no known defect"),
    }
}

/// The kind of refusal for each word of the truths' `defects` lists.
fn refusals(word: &str) -> &'static [ReadErrorKind] {
    use ReadErrorKind as K;
    match word {
        "count_mismatch" | "truncated" => &[K::Truncated],
        "empty" => &[K::Empty],
        "not_a_mesh" => &[K::NotAMesh],
        "cycle" => &[K::Cycle],
        "unknown_required_extension" => &[K::UnknownRequiredExtension],
        "bad_index" => &[K::BadIndex],
        "bad_reference" => &[K::BadReference],
        "bad_number" => &[K::BadNumber],
        "bad_unit" => &[K::BadUnit],
        "dtd" => &[K::Dtd],
        "crc" => &[K::Checksum],
        "expansion_bomb" => &[K::Expansion],
        "missing_part" => &[K::MissingPart],
        _ => panic!("`{word}` is no known refusal"),
    }
}

fn words(case: &Case) -> Vec<&str> {
    case.truth["defects"].as_array().map_or_else(Vec::new, |d| d.iter().filter_map(Value::as_str).collect())
}

#[test]
fn every_broken_file_is_refused_or_reported_as_its_truth_says() {
    let mut checked = 0;
    for case in collections().iter().flat_map(|c| cases(c)).filter(|c| c.name.starts_with("broken/")) {
        let name = &case.name;
        checked += 1;
        match (case.read(), &case.truth["readable"]) {
            (Err(e), Value::Bool(true)) => panic!("{name}: {e}"),
            (Ok(_), Value::Bool(false)) => panic!("{name} was read"),
            (Err(e), _) => {
                assert!(words(&case).iter().any(|w| refusals(w).contains(&e.kind)), "{name}: {:?} {e}", e.kind);
                assert!(!e.message.is_empty() && !e.hint.is_empty() && !e.message.ends_with('.'), "{name}: {e}");
            }
            (Ok(read), _) => {
                let (_, _, health, mass) = case.survey();
                for word in words(&case) {
                    assert!(shows(word, &read, &health), "{name}: no {word} in {:?} {:?}", read.notes, health);
                }
                if words(&case).is_empty() {
                    assert_eq!(health.defects, [], "{name}");
                }
                check_broken_numbers(&case, &read, &health, &mass);
            }
        }
    }
    assert!(checked > 20, "only {checked} broken files checked");
}

fn check_broken_numbers(case: &Case, read: &ReadMesh, health: &Health, mass: &Mass) {
    let name = &case.name;
    let tolerance = case.number("tolerance_rel").unwrap_or(SINGLE);
    for key in ["volume_mm3", "model_volume_mm3", "volume_union_mm3"] {
        // The union of crossing bodies is not computed: their volume is withheld.
        if let Some(truth) = case.number(key).filter(|_| !health.has(DefectKind::ShellOverlap)) {
            close(name, key, mass.volume_mm3.unwrap_or_else(|| panic!("{name}: no volume")), truth, tolerance);
        }
    }
    for key in ["volume_sum_mm3", "volume_mm3_signed"] {
        if let Some(truth) = case.number(key) {
            close(name, key, mass.signed_volume_mm3, truth, tolerance);
        }
    }
    for key in ["volume_if_fixed_mm3", "volume_if_closed_mm3", "volume_if_capped_mm3"] {
        assert!(case.number(key).is_none() || mass.volume_mm3.is_none(), "{name}: a volume out of nothing");
    }
    if let Some(truth) = case.number("area_mm2") {
        close(name, "area_mm2", mass.area_mm2, truth, tolerance.max(4.0 * SINGLE));
    }
    let count = |kind| health.defect(kind).map_or(0, |d| d.count);
    let counts = [
        ("boundary_edges", count(DefectKind::OpenEdge)),
        ("flipped", count(DefectKind::Flipped)),
        ("duplicates", count(DefectKind::DuplicateFacet)),
        ("degenerate", count(DefectKind::DegenerateFacet)),
        ("bodies", health.shells.len()),
        ("bodies_by_facets", health.shells.len()),
        ("items", read.objects.len()),
    ];
    for (key, found) in counts {
        if let Some(truth) = case.number(key) {
            assert_eq!(found, truth as usize, "{name}: {key}");
        }
    }
    if let Some(truth) = case.number("weld_tolerance_needed_mm") {
        assert!(
            // The truth is itself a difference of doubles.
            health.closes_within_mm.is_some_and(|t| t > 0.0 && t <= truth * (1.0 + 1e-12)),
            "{name}: {:?}",
            health.closes_within_mm
        );
    }
    if let Some(truth) = case.number("main_volume_mm3") {
        let largest = health.shells.iter().filter_map(|s| s.volume_mm3).fold(0.0, f64::max);
        close(name, "largest body", largest, truth, tolerance);
    }
    if let Some(truth) = case.truth.get("bbox_mm").and_then(Value::as_array) {
        let size = read.merged().expect("few").bounds().size();
        for k in 0..3 {
            close(name, "size", size[k], truth[k].as_f64().expect("a number"), SINGLE);
        }
    }
}

/// Returns the number of groups of facets that share vertices.
fn joined_by_vertices(mesh: &Mesh) -> usize {
    fn find(root: &mut [usize], mut a: usize) -> usize {
        while root[a] != a {
            root[a] = root[root[a]];
            a = root[a];
        }
        a
    }
    let mut root: Vec<usize> = (0..mesh.vertices.len()).collect();
    for t in &mesh.triangles {
        for pair in t.windows(2) {
            let (a, b) = (find(&mut root, pair[0] as usize), find(&mut root, pair[1] as usize));
            root[a] = b;
        }
    }
    let used: BTreeSet<usize> = mesh.triangles.iter().map(|t| find(&mut root, t[0] as usize)).collect();
    used.len()
}

/// Meshes whose truth was measured on the original OBJ file, in which points at the same place stay apart (texture
/// seams) and coordinates have more digits: by the manifest knot and tube are open, tube and wall_hole fall into 4 and
/// 13 bodies, knot has 1439 points too few for a closed surface, and offset_a has an area 4.2 mm² smaller. For these,
/// what the same library (trimesh 5.2.0) says when it reads and welds the STL file itself: area, volume, whether
/// closed, bodies.
const REREAD: [(&str, f64, f64, bool, usize); 4] = [
    ("real/knot.stl", 112_056.612_026_659, 1_057_307.770_365_193, true, 1),
    ("real/offset_a.stl", 1_684_588.306_764_323, 1_614_684.149_986_029, false, 39),
    ("real/tube.stl", 113.004_485_282_228, 8.618_539_522_145, true, 1),
    ("real/wall_hole.stl", 761.421_356_237_310, 1_066.666_666_666_667, false, 1),
];

#[test]
fn meshes_from_public_repositories_agree_with_an_independent_library() {
    for case in collections().iter().flat_map(|c| cases(c)).filter(|c| c.name.starts_with("real/")) {
        let reread = REREAD.iter().find(|r| r.0 == case.name);
        let (area, volume, watertight, bodies) = match (reread, case.number("volume_mesh")) {
            (Some(&(_, area, volume, watertight, bodies)), _) => (area, volume, Value::Bool(watertight), bodies),
            (None, Some(volume)) => (
                case.number("area_mesh").expect("an area"),
                volume,
                case.truth["watertight"].clone(),
                case.number("bodies").expect("bodies") as usize,
            ),
            (None, None) => continue,
        };
        let name = &case.name;
        let (_, mesh, health, mass) = case.survey();
        close(name, "area", mass.area_mm2, area, if reread.is_some() { 1e-9 } else { 1e-5 });
        // That library sums about the origin, also for open meshes, where the sum depends on the place.
        if health.closed && health.oriented {
            close(name, "volume", mass.signed_volume_mm3, volume, if reread.is_some() { 1e-9 } else { 1e-5 });
        }
        assert_eq!(Value::Bool(health.closed), watertight, "{name}: {:?}", health.defects);
        assert_eq!(Value::Bool(health.oriented), case.truth["winding_consistent"], "{name}: {:?}", health.defects);
        assert_eq!(joined_by_vertices(&mesh), bodies, "{name}");
    }
}
