//! Speed of the compiler: parsing, start-up, one job from spec to recipe, a thousand specs in one call.
//! `cargo bench --bench compile`.
//!
//! What a person waits for is timed as they run it, as a process with all it reads and writes; the rest in this one.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a bench that cannot run may stop")]
#![allow(clippy::disallowed_methods, reason = "a bench writes the job it times, and runs the program")]

use std::fmt::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use divan::Bencher;
use divan::counter::{BytesCount, ItemsCount};
use makeready::cli::pipeline::{Options, compile_one};
use makeready::cli::world::World;
use makeready::diag::{Source, SourceId, Sources};
use makeready::render::markdown::Template;
use makeready::render::yaml;
use makeready::rulebook::value::{Fact, Origin, Record, Text, Value};
use makeready::rulebook::{self, NoFunctions, Root, Scope};
use makeready::{semantics, syntax};

#[path = "../hostile.rs"]
mod hostile;

fn main() {
    divan::main();
}

fn examples() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("examples")
}

/// A megabyte of ordinary spec lines.
fn long_text() -> String {
    let spec = std::fs::read_to_string(examples().join("vane-bracket/vane-bracket.partspec")).unwrap();
    let mut text = String::new();
    while text.len() < 1 << 20 {
        text.push_str(&spec);
    }
    text
}

#[divan::bench(sample_count = 5, sample_size = 1)]
fn parse(bencher: Bencher) {
    let text = long_text();
    bencher.counter(BytesCount::of_str(&text)).bench(|| syntax::parse(SourceId(0), divan::black_box(&text)));
}

/// Texts made to take long, each from its reading to its findings: none may stand out by more than its length explains.
#[divan::bench(args = 0..hostile::texts().len(), sample_count = 3, sample_size = 1)]
fn hostile_text(bencher: Bencher, which: usize) {
    let text = hostile::texts().swap_remove(which);
    bencher.counter(BytesCount::of_str(&text)).bench(|| {
        let mut sources = Sources::default();
        let id = sources.add(Source::new("hostile.partspec", text.as_str()));
        let tree = syntax::parse(id, &text);
        tree.value.map_or(0, |tree| semantics::check(&[tree], &sources).diagnostics.len())
    });
}

/// One rule held against a record of sixty facts, as the search asks it thousands of times a job.
#[divan::bench]
fn one_judgement(bencher: Bencher) {
    let mut sources = Sources::default();
    let text = "rule \"r\" { when material.abrasive; require nozzle.hardness >= hardened; because \"x\"; source common-practice }";
    let id = sources.add(Source::new("t.rules", text));
    let tree = syntax::parse(id, text).value.unwrap();
    let book = rulebook::build(&tree.statements, &sources, &NoFunctions).value.unwrap();
    let (mut material, mut nozzle) = (Record::new("m"), Record::new("n"));
    for i in 0..60 {
        material.insert(Text::shared(&format!("filler{i}")), Fact { value: true.into(), origin: Origin::None });
    }
    material.insert("abrasive", Fact { value: true.into(), origin: Origin::None });
    nozzle.insert("hardness", Fact { value: Value::word("hardened"), origin: Origin::None });
    let scope = Scope::new().with(Root::Material, &material).with(Root::Nozzle, &nozzle);
    bencher.bench_local(|| divan::black_box(&book.rules[0]).holds(&scope, &NoFunctions));
}

/// Runs the program to its end, without output.
fn run(arguments: &[&str]) {
    let mut program = Command::new(env!("CARGO_BIN_EXE_makeready"));
    // Facts of meshes kept from an earlier run would be another measurement.
    program.args(arguments).env("MAKEREADY_CACHE", "off").stdin(Stdio::null()).stdout(Stdio::null());
    let status = program.stderr(Stdio::null()).status().unwrap();
    assert!(status.success(), "{arguments:?}: {status}");
}

/// The program from nothing to all it knows.
#[divan::bench(sample_count = 30, sample_size = 1)]
fn start_up(bencher: Bencher) {
    bencher.bench(|| run(&["catalogue", "places"]));
}

fn compile(path: &Path) -> usize {
    let world = World::around(path, false).unwrap();
    compile_one(&world, path, &Options::default()).parts.len()
}

const JOBS: [&str; 3] = ["peg-tags/peg-tag", "vane-bracket/vane-bracket", "coolant-elbow/coolant-elbow"];

/// One job, knowledge already loaded: from reading its files to the recipe.
#[divan::bench(args = JOBS, sample_count = 20, sample_size = 1)]
fn one_job(bencher: Bencher, name: &str) {
    let path = examples().join(name).with_extension("partspec");
    compile(&path);
    bencher.bench(|| compile(&path));
}

/// One recipe put into text: the page, and the data.
#[divan::bench(sample_count = 20, sample_size = 1)]
fn one_recipe_as_text(bencher: Bencher) {
    let path = examples().join(JOBS[0]).with_extension("partspec");
    let world = World::around(&path, false).unwrap();
    let compiled = compile_one(&world, &path, &Options::default());
    let template = Template::built_in().unwrap();
    let recipe = &compiled.parts[0].recipe;
    bencher.bench(|| template.render(recipe, None).unwrap().len() + yaml::yaml(recipe).unwrap().len());
}

/// A folder with specs that differ, all beside one mesh.
fn specs(count: usize) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    std::fs::copy(examples().join("peg-tags/peg-tag.stl"), folder.path().join("peg-tag.stl")).unwrap();
    for i in 0..count {
        let mut text = String::new();
        writeln!(text, "part \"tag-{i}\" {{\n  mesh \"peg-tag.stl\" in mm\n  quantity {}\n}}", i % 90 + 1).unwrap();
        std::fs::write(folder.path().join(format!("tag-{i}.partspec")), text).unwrap();
    }
    folder
}

/// A thousand small specs beside one small mesh, in one call, as data on stdout.
#[divan::bench(sample_count = 3, sample_size = 1)]
fn thousand_specs_as_data(bencher: Bencher) {
    let folder = specs(1_000);
    let paths: Vec<String> =
        (0..1_000).map(|i| folder.path().join(format!("tag-{i}.partspec")).display().to_string()).collect();
    let mut arguments = vec!["compile", "--print", "yaml"];
    arguments.extend(paths.iter().map(String::as_str));
    bencher.counter(ItemsCount::new(paths.len())).bench(|| run(&arguments));
}

/// Two dozen specs, each with a mesh of its own (nothing is shared), on one worker and on two: the second figure should be
/// near half of the first where two cores are free.
#[divan::bench(args = ["1", "2"], sample_count = 3, sample_size = 1)]
fn two_dozen_specs_on_workers(bencher: Bencher, workers: &str) {
    let folder = tempfile::tempdir().unwrap();
    let paths: Vec<String> = (0..24)
        .map(|i| {
            let mesh = folder.path().join(format!("bracket-{i}.stl"));
            std::fs::copy(examples().join("vane-bracket/vane-bracket.stl"), mesh).unwrap();
            let path = folder.path().join(format!("bracket-{i}.partspec"));
            let text = format!("part \"bracket-{i}\" {{\n  mesh \"bracket-{i}.stl\" in mm\n  quantity {}\n}}", i + 1);
            std::fs::write(&path, text).unwrap();
            path.display().to_string()
        })
        .collect();
    compiled_by(bencher, workers, &paths);
}

/// Times specs compiled as data in one call by so many workers.
fn compiled_by(bencher: Bencher, workers: &str, paths: &[String]) {
    let mut arguments = vec!["compile", "--print", "yaml", "--jobs", workers];
    arguments.extend(paths.iter().map(String::as_str));
    bencher.counter(ItemsCount::new(paths.len())).bench(|| run(&arguments));
}

/// Forty specs, each with a mesh and a load of its own, on one worker and on two: solving fields is most of what they take.
#[divan::bench(args = ["1", "2"], sample_count = 1, sample_size = 1)]
fn forty_loads_on_workers(bencher: Bencher, workers: &str) {
    let (folder, _) = peg("");
    let home = folder.path().join("peg");
    let paths: Vec<String> = (0..40)
        .map(|i| {
            std::fs::copy(home.join("peg.stl"), home.join(format!("peg-{i}.stl"))).unwrap();
            let load = format!(
                "force {} N toward -x at (30 mm, 10 mm, {} mm); fixed at face \"back\"; held 5 years",
                4.0 + 0.01 * f64::from(i),
                24 + i % 12
            );
            let text = format!(
                "part \"peg-{i}\" {{\n  mesh \"peg-{i}.stl\" in mm\n  consequence nuisance\n  service {{ place indoors; air 15 °C .. 30 °C }}\n  face \"back\" toward -z\n  load \"pull\" {{ {load} }}\n}}"
            );
            let path = home.join(format!("peg-{i}.partspec"));
            std::fs::write(&path, text).unwrap();
            path.display().to_string()
        })
        .collect();
    compiled_by(bencher, workers, &paths);
}

/// A thousand small specs with every file a recipe has: page, data and picture.
#[divan::bench(sample_count = 3, sample_size = 1)]
fn thousand_specs_as_files(bencher: Bencher) {
    let folder = specs(1_000);
    let out = folder.path().join("recipes").display().to_string();
    let paths: Vec<String> =
        (0..1_000).map(|i| folder.path().join(format!("tag-{i}.partspec")).display().to_string()).collect();
    let mut arguments = vec!["compile", "--out", &out];
    arguments.extend(paths.iter().map(String::as_str));
    bencher.counter(ItemsCount::new(paths.len())).bench(|| run(&arguments));
}

/// The peg of `makeready new` in its workshop, with a spec of its own.
fn peg(spec: &str) -> (tempfile::TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let program =
        Command::new(env!("CARGO_BIN_EXE_makeready")).args(["new", "peg"]).current_dir(folder.path()).output();
    assert!(program.unwrap().status.success());
    let path = folder.path().join("peg/peg.partspec");
    std::fs::write(&path, spec).unwrap();
    (folder, path)
}

/// Twelve loads none of which the part can bear: what conflicts, and what would free it. To be told within a second.
#[divan::bench(args = [1, 12, 48], sample_count = 3, sample_size = 1)]
fn loads_that_cannot_hold(bencher: Bencher, count: usize) {
    let mut text = String::from("part \"peg\" {\n  mesh \"peg.stl\" in mm\n  face \"back\" toward -z\n");
    for i in 0..count {
        writeln!(text, "  load \"pull-{i}\" {{ force {} N toward -x at (30 mm, 10 mm, {} mm); fixed at face \"back\"; held 5 years }}", 400 + i, 24 + i % 12).unwrap();
    }
    text.push('}');
    let (_folder, path) = peg(&text);
    compile(&path);
    bencher.bench(|| compile(&path));
}

/// Specs of many faces, and files of many parts: four times as many should take four times as long.
#[divan::bench(args = [5_000, 20_000], sample_count = 1, sample_size = 1)]
fn many_faces(bencher: Bencher, count: usize) {
    let mut text = String::from("part \"peg\" {\n  mesh \"peg.stl\" in mm\n");
    for i in 0..count {
        writeln!(text, "  face \"f{i}\" toward -z").unwrap();
    }
    text.push('}');
    let (_folder, path) = peg(&text);
    bencher.bench(|| compile(&path));
}

#[divan::bench(args = [2_500, 10_000], sample_count = 1, sample_size = 1)]
fn many_parts(bencher: Bencher, count: usize) {
    let mut text = String::new();
    for i in 0..count {
        writeln!(text, "part \"peg-{i}\" {{ mesh \"peg.stl\" in mm; quantity {} }}", i % 90 + 1).unwrap();
    }
    let (_folder, path) = peg(&text);
    bencher.bench(|| compile(&path));
}
