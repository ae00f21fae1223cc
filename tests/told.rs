//! What the user is told, from the outside: refusals and their ways out, statements that nothing rests on, places that
//! are not on the part.

use std::fs;
use std::path::{Path, PathBuf};

use makeready::cli::pipeline::{Compiled, Options, compile_one};
use makeready::cli::world::World;
use makeready::recipe::{Recipe, Relaxation, Status};

/// A folder with a workshop, a mesh and one spec.
struct Bench {
    folder: tempfile::TempDir,
}

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

/// The coat peg of `makeready new` as a spec of its own, with room for more lines.
const PEG: &str = r#"part "peg" {
  mesh "peg.stl" in mm
  size 60 mm x 20 mm x 40 mm
  quantity 4
  consequence nuisance
  service {
    air 5 °C .. 30 °C
  }
  load "coat" { force 25 N toward -x at (30 mm, 10 mm, 38 mm); fixed at face "back"; held 5 years; factor 2 }
  face "back" toward -z
  @
}
"#;

impl Bench {
    /// The starter's workshop and its peg, and this spec.
    fn with(spec: &str) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let new = std::process::Command::new(env!("CARGO_BIN_EXE_makeready"))
            .args(["new", "peg"])
            .current_dir(folder.path())
            .output()
            .unwrap();
        assert!(new.status.success());
        for name in ["peg.stl", "shop.yaml"] {
            fs::rename(folder.path().join("peg").join(name), folder.path().join(name)).unwrap();
        }
        let bench = Self { folder };
        bench.write(spec);
        bench
    }

    /// A mesh of the test collection and the hut's workshop.
    fn of_mesh(mesh: &str, spec: &str) -> Self {
        let folder = tempfile::tempdir().unwrap();
        fs::copy(root().join("tests/meshes").join(mesh), folder.path().join("part.stl")).unwrap();
        fs::copy(root().join("examples/shop.yaml"), folder.path().join("shop.yaml")).unwrap();
        let bench = Self { folder };
        bench.write(spec);
        bench
    }

    fn peg(more: &str) -> Self {
        Self::with(&PEG.replace('@', more))
    }

    fn path(&self) -> PathBuf {
        self.folder.path().join("peg.partspec")
    }

    fn write(&self, spec: &str) {
        fs::write(self.path(), spec).unwrap();
    }

    fn compile(&self) -> Compiled {
        compile(&self.path())
    }

    fn recipe(&self) -> Recipe {
        let mut compiled = self.compile();
        assert!(!compiled.parts.is_empty(), "{:#?}", compiled.diagnostics);
        compiled.parts.remove(0).recipe
    }
}

fn compile(path: &Path) -> Compiled {
    let world = World::around(path, false).unwrap();
    compile_one(&world, path, &Options::default())
}

fn relaxation<'r>(recipe: &'r Recipe, start: &str) -> &'r Relaxation {
    let found = recipe.relaxations.iter().find(|r| r.text.starts_with(start));
    found.unwrap_or_else(|| panic!("none begins with `{start}`: {:#?}", recipe.relaxations))
}

/// Every line a refusal says to write is put in its place and compiled: it must do as promised, and nothing may fail.
fn every_written_line_works(spec: &str, bench: impl Fn(&str) -> Bench) {
    let refused = bench(spec).recipe();
    assert_eq!(refused.status, Status::NotPrintableAsSpecified);
    let mut tried = 0;
    for way in refused.relaxations.iter().filter(|r| r.write.is_some()) {
        let line: usize = way.place.rsplit(':').next().unwrap().parse().unwrap();
        let written = way.write.as_ref().unwrap();
        let lines: Vec<&str> = spec.lines().enumerate().map(|(i, l)| if i + 1 == line { written } else { l }).collect();
        let recipe = bench(&lines.join("\n")).recipe();
        assert_ne!(recipe.status, Status::NotPrintableAsSpecified, "{}", way.text);
        let failing: Vec<_> = recipe.margins.iter().filter(|m| m.verdict == "broken").collect();
        assert!(failing.is_empty() || way.text.contains("broken"), "{}: {failing:#?}", way.text);
        let material = &recipe.decisions.as_ref().unwrap().material.value;
        assert!(way.text.contains(material.as_str()), "{}: {material}", way.text);
        tried += 1;
    }
    assert!(tried > 0, "{:#?}", refused.relaxations);
}

#[test]
fn a_load_too_large_is_offered_the_largest_that_works() {
    let spec = PEG.replace('@', "").replace("25 N", "80 N");
    let recipe = Bench::with(&spec).recipe();
    let way = relaxation(&recipe, "with a load of ");
    let newtons: f64 = way.text["with a load of ".len()..].split(' ').next().unwrap().parse().unwrap();
    // Stress is linear in the load: the bearable one is the refused one times its margin, here from the refusal's own words.
    let told = &recipe.nearest[0].breaks.iter().find(|b| b.text.contains("makes")).unwrap().text;
    let number = |after: &str| -> f64 {
        let rest = told.split(after).nth(1).unwrap();
        rest.trim().split(' ').next().unwrap().parse().unwrap()
    };
    let bearable = 80.0 * number("bears") / (number("makes") * 2.0);
    assert!((newtons - bearable).abs() <= 0.02 * bearable + 1.0, "{newtons} N offered, {bearable:.1} N bearable");
    assert!(!recipe.relaxations.iter().any(|r| r.text.contains("a factor of")), "{:#?}", recipe.relaxations);
    every_written_line_works(&spec, Bench::with);
}

#[test]
fn a_load_of_a_spec_with_several_is_eased_alone() {
    let more = r#"load "broom" { force 90 N toward -x at (30 mm, 10 mm, 30 mm); fixed at face "back"; held 5 years; factor 2 }"#;
    let spec = PEG.replace('@', more);
    let recipe = Bench::with(&spec).recipe();
    let way = relaxation(&recipe, "with a load of ");
    assert!(way.write.as_ref().unwrap().starts_with("load \"broom\""), "{way:?}");
    every_written_line_works(&spec, Bench::with);
}

#[test]
fn temperatures_are_eased_and_what_is_weak_stands_beside() {
    let spec = PEG.replace('@', "pin material \"PLA\" because \"on the shelf\"").replace("30 °C", "60 °C");
    let recipe = Bench::with(&spec).recipe();
    let way = relaxation(&recipe, "with 45 °C instead of 60 °C");
    assert!(way.text.contains("but heat: 45 °C against 45 °C"), "{}", way.text);
    relaxation(&recipe, "without `pin material \"PLA\"");
    every_written_line_works(&spec, Bench::with);
}

#[test]
fn a_pin_is_offered_to_be_dropped_beside_its_number() {
    let spec = PEG.replace('@', "pin nozzle_temperature 400 °C because \"it was so\"");
    let recipe = Bench::with(&spec).recipe();
    relaxation(&recipe, "without `pin nozzle_temperature 400 °C");
    assert!(recipe.relaxations.iter().all(|r| !r.text.contains("would do on Bench so equipped")));
}

#[test]
fn the_coolant_elbow_is_told_what_would_be_weak() {
    let spec = root().join("examples/coolant-elbow/coolant-elbow.partspec");
    let recipe = compile(&spec).parts.remove(0).recipe;
    let way = relaxation(&recipe, "with 40 °C instead of 140 °C");
    for weak in ["holds narrowly", "may crack under load"] {
        assert!(way.text.contains(weak), "{}", way.text);
    }
    // The machine that would do it is none of those of the shop.
    let bench = recipe.relaxations.iter().find(|r| r.place == "shop.yaml").unwrap();
    assert!(bench.text.contains("the hottest here, Loft, reaches 300 °C"), "{}", bench.text);
    assert!(bench.text.contains("on a machine of the size of"), "{}", bench.text);
}

#[test]
fn a_plate_larger_than_every_machine_is_told_how_to_be_split() {
    let spec = "part \"plate\" { mesh \"part.stl\" in mm; service { air 5 °C .. 30 °C } }";
    let recipe = Bench::of_mesh("huge_plate_600.stl", spec).recipe();
    assert!(recipe.headline.contains("larger than every machine"), "{}", recipe.headline);
    let text = &recipe.conflicts[0].text;
    for told in ["600 x 500 x 10 mm", "that of Loft, is 220 x 220 x 250 mm", "600 mm and 500 mm are too long", "6 pieces"] {
        assert!(text.contains(told), "{text}");
    }
    // One miss for each machine: what misses the same and more says nothing new.
    let misses: Vec<&str> = recipe.nearest.iter().map(|n| n.value.as_str()).collect();
    assert_eq!(misses.len(), 2, "{misses:?}");
}
