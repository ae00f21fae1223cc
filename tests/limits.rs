//! What prints without support: the workshop's own record, else the catalogue, else the named default; each verdict says
//! which. And what is kept of a mesh between runs changes nothing of a recipe.

use std::fmt::Write as _;
use std::fs;
use std::path::Path;

use makeready::cli::cache::Cache;
use makeready::cli::pipeline::{Options, compile_one};
use makeready::cli::world::World;
use makeready::recipe::{Recipe, RegionRow};

type Point = [f64; 3];

/// Writes the blocks of a grid as one closed surface; `solid` says which cells are full.
fn stl(lines: [&[f64]; 3], solid: impl Fn([usize; 3]) -> bool, bend: impl Fn(Point) -> Point) -> String {
    let cells = lines.map(|l| l.len() - 1);
    let full = |c: [i64; 3]| (0..3).all(|k| c[k] >= 0 && (c[k] as usize) < cells[k]) && solid(c.map(|i| i as usize));
    let mut out = String::from("solid part\n");
    let at = |c: [i64; 3]| bend([0, 1, 2].map(|k| lines[k][c[k] as usize]));
    for i in 0..cells.iter().product() {
        let cell = [i % cells[0], i / cells[0] % cells[1], i / cells[0] / cells[1]].map(|n| n as i64);
        for (k, up) in (0..3).flat_map(|k| [(k, true), (k, false)]) {
            let mut beside = cell;
            beside[k] += if up { 1 } else { -1 };
            if !full(cell) || full(beside) {
                continue;
            }
            let corner = |a: i64, b: i64| {
                let mut c = cell;
                c[k] += i64::from(up);
                c[(k + 1) % 3] += a;
                c[(k + 2) % 3] += b;
                at(c)
            };
            let mut around = [corner(0, 0), corner(1, 0), corner(1, 1), corner(0, 1)];
            if !up {
                around.reverse();
            }
            for t in [[0, 1, 2], [0, 2, 3]] {
                out += "facet normal 0 0 0\nouter loop\n";
                for [x, y, z] in t.map(|v: usize| around[v]) {
                    writeln!(out, "vertex {x} {y} {z}").unwrap();
                }
                out += "endloop\nendfacet\n";
            }
        }
    }
    out + "endsolid part\n"
}

/// Two legs and a lintel that spans 20 mm between them.
fn portal() -> String {
    stl([&[0.0, 10.0, 30.0, 40.0], &[0.0, 12.0], &[0.0, 8.0, 14.0]], |[x, _, z]| z == 1 || x != 1, |p| p)
}

/// A block whose side at x = 20 leans outward by 52° from vertical.
fn leaning() -> String {
    let lean = 52.0_f64.to_radians().tan();
    stl([&[0.0, 20.0], &[0.0, 20.0], &[0.0, 10.0]], |_| true, |[x, y, z]| [x + x / 20.0 * z * lean, y, z])
}

const SPEC: &str = r#"part "piece" {
  mesh "piece.stl" in mm
  face "feet" { toward -z; near (5 mm, 6 mm, 0 mm); on bed }
  pin printer "Loft" because "the test looks at its records"
  pin nozzle "brass-06" because "the test looks at its records"
  pin material "PETG" because "the test looks at its records"
}
"#;

fn project(mesh: &str, records: &str) -> tempfile::TempDir {
    let home = tempfile::tempdir().unwrap();
    let shop = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/shop.yaml");
    let text = fs::read_to_string(shop).unwrap() + records;
    fs::write(home.path().join("shop.yaml"), text).unwrap();
    fs::write(home.path().join("piece.stl"), mesh).unwrap();
    fs::write(home.path().join("piece.partspec"), SPEC).unwrap();
    home
}

fn compile(home: &Path, cache: Option<Cache>) -> Recipe {
    let path = home.join("piece.partspec");
    let world = World::around(&path, false).unwrap();
    let mut compiled = compile_one(&world, &path, &Options { cache, afresh: true, ..Options::default() });
    assert!(!compiled.parts.is_empty(), "{:#?}", compiled.diagnostics);
    compiled.parts.remove(0).recipe
}

fn recipe(mesh: &str, records: &str) -> Recipe {
    compile(project(mesh, records).path(), None)
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
    let hangs = |r: &Recipe| r.poses[0].facts.iter().find(|f| f.name == "overhang").map(|f| f.value.clone()).unwrap();
    assert_eq!(hangs(&steeper), "0 mm²");
    // 20 mm wide, 10 mm high, and 1 / cos 52 degrees along the slope.
    assert_eq!(hangs(&without), "325 mm²");

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
    let bare = form(&compile(home.path(), None));
    let cache = || Some(Cache::at(folder.path()));
    let entries = || -> Vec<_> { fs::read_dir(folder.path()).unwrap().map(|e| e.unwrap().path()).collect() };
    assert_eq!(form(&compile(home.path(), cache())), bare);
    assert_eq!(entries().len(), 1);
    let kept = fs::read(&entries()[0]).unwrap();
    assert_eq!(form(&compile(home.path(), cache())), bare);
    assert_eq!(entries().len(), 1);
    // Damaged at any place, it is worked out and written anew.
    for at in (0..kept.len()).step_by(kept.len() / 7 + 1) {
        let mut damaged = kept.clone();
        damaged[at] ^= 0x20;
        fs::write(&entries()[0], damaged).unwrap();
        assert_eq!(form(&compile(home.path(), cache())), bare);
        assert_eq!(fs::read(&entries()[0]).unwrap(), kept);
    }
    // Another mesh, another question about the same mesh: entries of their own.
    fs::write(home.path().join("piece.stl"), leaning()).unwrap();
    compile(home.path(), cache());
    let asked = SPEC.replace("pin printer", "load \"shelf\" { force 10 N toward -x }\n  pin printer");
    fs::write(home.path().join("piece.partspec"), asked).unwrap();
    compile(home.path(), cache());
    assert_eq!(entries().len(), 3);
}

#[test]
fn a_loaded_hook_is_laid_with_its_layers_along_the_stress() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/coat-hook/coat-hook.partspec");
    let world = World::around(&path, false).unwrap();
    let recipe = compile_one(&world, &path, &Options::default()).parts.remove(0).recipe;
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
