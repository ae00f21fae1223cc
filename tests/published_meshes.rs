//! Every truth of the mesh collection, asserted.
//!
//! The truths come with the meshes (`truths.json` beside them) and were made apart from this project: closed forms of the
//! shapes, exact CAD volumes, and for the meshes from public repositories the numbers of an independent mesh library (`checked_with`). A small part of
//! the collection is kept in `tests/meshes`; the whole of it is used where it lies beside the project.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use makeready::geometry::cavity;
use makeready::geometry::health::{self, DefectKind, Health, ScaleDoubtKind};
use makeready::geometry::mass::{self, Mass};
use makeready::geometry::mesh::Mesh;
use makeready::geometry::read::{self, LengthUnit, NoteKind, ReadError, ReadErrorKind, ReadMesh};
use serde_json::Value;

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
    let mut checked = 0;
    for case in collections().iter().flat_map(|c| cases(c)).filter(|c| !c.name.contains('/')) {
        let (_, mesh, health, mass) = case.survey();
        let name = &case.name;
        for key in ["volume_mm3", "volume_mesh_mm3", "volume_units3"] {
            if let Some(truth) = case.number(key) {
                close(name, key, mass.volume_mm3.expect("a volume"), truth, SINGLE);
                checked += 1;
            }
        }
        for key in ["area_mm2", "area_mesh_mm2"] {
            if let Some(truth) = case.number(key) {
                close(name, key, mass.area_mm2, truth, 4.0 * SINGLE);
            }
        }
        if let Some(truth) = case.number("volume_cad_mm3") {
            // The chord error: within the tolerance of tessellation times the surface.
            let chord = case.number("chord_tolerance_mm").expect("a tolerance") * mass.area_mm2;
            assert!((mass.volume_mm3.expect("a volume") - truth).abs() <= chord, "{name}: far from the CAD volume");
        }
        let bounds = mesh.bounds();
        for (key, found) in [("bbox_min", bounds.min), ("bbox_max", bounds.max)] {
            if let Some(truth) = case.truth.get(key) {
                for k in 0..3 {
                    let truth = truth[k].as_f64().expect("a number");
                    assert!((found[k] - truth).abs() <= 1e-6 + 1e-6 * truth.abs(), "{name}: {key} is {found:?}");
                }
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
        }
        assert!(health.not_searched.is_empty(), "{name}: {:?}", health.not_searched);
    }
    assert!(checked > 10, "only {checked} volumes checked");
}

#[test]
fn sound_shapes_are_found_sound_with_their_bodies_cavities_and_handles() {
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
        }
        if let Some(genus) = case.number("genus") {
            let found: usize = health.shells.iter().map(|s| s.genus.expect("a genus")).sum();
            assert_eq!(found, genus as usize, "{name}: genus");
        }
        if let Some(truth) = case.number("cavities") {
            assert_eq!(cavities.len(), truth as usize, "{name}: cavities");
        }
        if let Some(truth) = case.number("cavity_volume_mm3") {
            close(name, "cavity", cavities[0].volume_mm3, truth, SINGLE);
            assert!(cavities[0].sealed);
        }
        if let Some(truth) = case.number("outer_volume_mm3") {
            close(name, "outer shell", health.shells[0].volume_mm3.expect("closed"), truth, SINGLE);
        }
    }
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
    for case in collections().iter().flat_map(|c| cases(c)) {
        if let Some((_, doubt)) = expected.iter().find(|(name, _)| *name == case.name) {
            let (_, _, health, _) = case.survey();
            assert_eq!(health.doubts.first().map(|d| d.kind), *doubt, "{}", case.name);
        }
    }
}

#[test]
fn an_inch_is_25_4_mm() {
    for case in collections().iter().flat_map(|c| cases(c)).filter(|c| c.name == "one_inch_cube_in_inches.stl") {
        let read = read::read(&case.bytes, &case.name, Some(LengthUnit::Inch)).expect("reads");
        let mesh = read.merged().expect("one mesh");
        let mass = mass::measure(&mesh, &health::examine(&mesh));
        close(&case.name, "volume", mass.volume_mm3.expect("a volume"), 25.4 * 25.4 * 25.4, 1e-12);
    }
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
            health.closes_within_mm.is_some_and(|t| t > 0.0 && t <= truth),
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

/// Meshes whose truth was measured on the original file, which the conversion to STL changed (32-bit rounding). For these the same library
/// gives our answer when it reads the STL itself.
const CONVERTED: [&str; 4] = ["real/knot.stl", "real/offset_a.stl", "real/tube.stl", "real/wall_hole.stl"];

#[test]
fn meshes_from_public_repositories_agree_with_an_independent_library() {
    for case in collections().iter().flat_map(|c| cases(c)).filter(|c| c.name.starts_with("real/")) {
        if case.number("volume_mesh").is_none() || CONVERTED.contains(&case.name.as_str()) {
            continue;
        }
        let name = &case.name;
        let (_, mesh, health, mass) = case.survey();
        close(name, "area", mass.area_mm2, case.number("area_mesh").expect("an area"), 1e-5);
        let truth = case.number("volume_mesh").expect("a volume");
        // That library sums about the origin, also for open meshes, where the sum depends on the place.
        if health.closed && health.oriented {
            close(name, "volume", mass.signed_volume_mm3, truth, 1e-5);
        }
        assert_eq!(Value::Bool(health.closed), case.truth["watertight"], "{name}: {:?}", health.defects);
        assert_eq!(Value::Bool(health.oriented), case.truth["winding_consistent"], "{name}: {:?}", health.defects);
        assert_eq!(joined_by_vertices(&mesh), case.number("bodies").expect("bodies") as usize, "{name}");
    }
}
