//! What prints without support: the workshop's own record, else the catalogue, else the named default; each verdict says
//! which. And what is kept of a mesh between runs changes nothing of a recipe.

use std::fs;

use crate::workshop::read::{Recipe, Region as RegionRow};
use makeready::cli::cache::Cache;
use makeready::cli::pipeline::Options;

use crate::workshop::shapes::blocks;
use crate::workshop::{Workshop, first, root};

/// Two legs and a lintel that spans 20 mm between them.
fn portal() -> String {
    blocks([&[0.0, 10.0, 30.0, 40.0], &[0.0, 12.0], &[0.0, 8.0, 14.0]], |[x, _, z]| z == 1 || x != 1, |p| p)
}

/// A block whose side at x = 20 leans outward by 52° from vertical.
fn leaning() -> String {
    let lean = 52.0_f64.to_radians().tan();
    blocks([&[0.0, 20.0], &[0.0, 20.0], &[0.0, 10.0]], |_| true, |[x, y, z]| [x + x / 20.0 * z * lean, y, z])
}

const SPEC: &str = r#"part "piece" {
  mesh "piece.stl" in mm
  face "feet" { toward -z; near (5 mm, 6 mm, 0 mm); on bed }
  pin printer "Loft" because "the test looks at its records"
  pin nozzle "brass-06" because "the test looks at its records"
  pin material "PETG" because "the test looks at its records"
}
"#;

fn project(mesh: &str, records: &str) -> Workshop {
    let shop = fs::read_to_string(root().join("examples/shop.yaml")).unwrap() + records;
    Workshop::empty().with("shop.yaml", shop).with("piece.stl", mesh).with("piece.partspec", SPEC)
}

fn compile(home: &Workshop, cache: Option<Cache>) -> Recipe {
    first(home.compile_by("piece.partspec", &Options { cache, afresh: true, ..Options::default() }))
}

fn recipe(mesh: &str, records: &str) -> Recipe {
    compile(&project(mesh, records), None)
}

fn record(what: &str, on: &str) -> String {
    format!("  - {{ printer: Loft, nozzle: brass-06, material: PETG, what: {what}, count: 12, on: {on} }}\n")
}

fn region<'r>(recipe: &'r Recipe, kind: &str) -> &'r RegionRow {
    recipe.regions.iter().find(|r| r.kind == kind).unwrap_or_else(|| panic!("no {kind}: {:?}", recipe.regions))
}

fn supports(recipe: &Recipe) -> &str {
    &recipe.decisions.as_ref().unwrap().supports.value
}

#[test]
fn a_record_of_bridges_decides_whether_the_lintel_is_supported() {
    let without = recipe(&portal(), "");
    let bridge = region(&without, "bridge");
    assert_eq!(bridge.verdict, "support", "{bridge:?}");
    assert!(bridge.because.contains("(PETG, catalogue: "), "{}", bridge.because);
    assert_eq!(supports(&without), "where needed");

    let long = recipe(&portal(), &record("bridge, span: 24 mm", "2026-11-05"));
    let bridge = region(&long, "bridge");
    assert_eq!(bridge.verdict, "no support, it bridges");
    let told = "held at both ends, span 20.00 mm, within 24.00 mm (Loft's own record, 12 pieces, 2026-11-05)";
    assert_eq!(bridge.because, told);
    assert_eq!(supports(&long), "none");

    let short = recipe(&portal(), &record("bridge, span: 15 mm", "2026-11-05"));
    assert_eq!(region(&short, "bridge").verdict, "support");
    assert!(region(&short, "bridge").because.contains("over 15.00 mm (Loft's own record"));
}

#[test]
fn the_latest_record_counts_and_those_of_others_do_not() {
    let older = record("bridge, span: 15 mm", "2026-10-01");
    let newer = record("bridge, span: 24 mm", "2026-11-05");
    let others =
        newer.replace("Loft", "Bench") + &newer.replace("PETG", "PLA") + &newer.replace("brass-06", "brass-04");
    assert_eq!(region(&recipe(&portal(), &(newer + &older)), "bridge").verdict, "no support, it bridges");
    assert_eq!(region(&recipe(&portal(), &(older + &others)), "bridge").verdict, "support");
    assert!(region(&recipe(&portal(), &others), "bridge").because.contains("catalogue"));
}

#[test]
fn a_record_of_overhangs_decides_whether_the_slope_is_supported() {
    let without = recipe(&leaning(), "");
    let slope = region(&without, "steep overhang");
    assert_eq!(slope.verdict, "support", "{slope:?}");
    // The default is a study's: it is cited in full.
    assert!(
        slope.because.contains("52.0° from vertical, over 45.0° (default: paper, Mazlan et al. 2020)"),
        "{slope:?}"
    );
    assert!(without.sources.iter().any(|s| s.key == "MAZLAN20"), "{:?}", without.sources);
    assert_eq!(supports(&without), "where needed");

    let steeper = recipe(&leaning(), &record("overhang, angle: 55 deg", "2026-11-05"));
    assert!(steeper.regions.iter().all(|r| r.kind != "steep overhang"), "{:?}", steeper.regions);
    assert_eq!(supports(&steeper), "none");
    let hangs = |r: &Recipe| r.poses[0].overhang.to_mm2();
    assert_eq!(hangs(&steeper).round(), 0.0);
    // 20 mm wide, 10 mm high, and 1 / cos 52 degrees along the slope.
    assert_eq!(hangs(&without).round(), 325.0);

    let careful = recipe(&leaning(), &record("overhang, angle: 50 deg", "2026-11-05"));
    let because = &region(&careful, "steep overhang").because;
    assert!(because.contains("over 50.0° (Loft's own record, 12 pieces, 2026-11-05)"), "{because}");
}

#[test]
fn kept_facts_change_nothing() {
    let records = record("bridge, span: 24 mm", "2026-11-05");
    let home = project(&portal(), &records);
    let folder = tempfile::tempdir().unwrap();
    let form = |recipe: &Recipe| serde_json::to_string(recipe).unwrap();
    let bare = form(&compile(&home, None));
    let cache = || Some(Cache::at(folder.path()));
    let entries = || -> Vec<_> { fs::read_dir(folder.path()).unwrap().map(|e| e.unwrap().path()).collect() };
    assert_eq!(form(&compile(&home, cache())), bare);
    assert_eq!(entries().len(), 1);
    let kept = fs::read(&entries()[0]).unwrap();
    assert_eq!(form(&compile(&home, cache())), bare);
    assert_eq!(entries().len(), 1);
    // Damaged at any place, it is worked out and written anew.
    for at in (0..kept.len()).step_by(kept.len() / 7 + 1) {
        let mut damaged = kept.clone();
        damaged[at] ^= 0x20;
        fs::write(&entries()[0], damaged).unwrap();
        assert_eq!(form(&compile(&home, cache())), bare);
        assert_eq!(fs::read(&entries()[0]).unwrap(), kept);
    }
    // Another mesh, another question about the same mesh: entries of their own.
    home.write("piece.stl", leaning());
    compile(&home, cache());
    let asked = SPEC.replace("pin printer", "load \"shelf\" { force 10 N toward -x }\n  pin printer");
    home.write("piece.partspec", asked);
    compile(&home, cache());
    assert_eq!(entries().len(), 3);
}

#[test]
fn a_loaded_hook_is_laid_with_its_layers_along_the_stress() {
    const HOOK: &str = "coat-hook/coat-hook.partspec";
    let acts =
        "toward -z at (11 mm, 38 mm, 48.6 mm); fixed at face \"wall\"; held 10 years }\n  face \"wall\" toward -y";
    let recipe = Workshop::hut().change(HOOK, "toward -z; held 10 years }", acts).recipe(HOOK);
    let pose = &recipe.decisions.as_ref().unwrap().pose;
    // The outline of the hook on the bed: up lies across the plane of wall and load.
    assert!(pose.detail.contains("lay it on the flat side that faces -x in the file"), "{}", pose.detail);
    assert!(pose.detail.contains("the layers run with the stress of \"wet coats\""), "{}", pose.detail);
    assert!(pose.detail.contains("orientation XYZ (ISO 17295), 90 x 52 mm"), "{}", pose.detail);
    let told = |name: &str| recipe.mesh.iter().find(|m| m.name == name).map(|m| m.value.clone()).unwrap_or_default();
    assert!(told("first layer").contains("sharp corners that lift first"), "{}", told("first layer"));
    assert!(told("curl").contains("PETG (medium warp)"), "{}", told("curl"));
    // Its screw holes lie: their crowns hold themselves, and the page says by what.
    let crown = region(&recipe, "hole crown");
    assert!(crown.verdict == "no support" && crown.because.contains("within 10.00 mm (default: common practice)"));
}
