//! Speed of the compiler: parsing, one job from spec to recipe, a thousand specs in one go. `cargo bench --bench compile`.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a bench that cannot run may stop")]

use std::fmt::Write;
use std::path::{Path, PathBuf};

use divan::Bencher;
use divan::counter::{BytesCount, ItemsCount};
use makeready::cli::pipeline::{Options, compile_one};
use makeready::cli::world::World;
use makeready::diag::SourceId;
use makeready::syntax;
use rayon::prelude::*;

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

fn compile(path: &Path) -> usize {
    let world = World::around(path, false).unwrap();
    compile_one(&world, path, &Options::default()).parts.len()
}

/// One job, knowledge already loaded: from reading its files to the recipe.
#[divan::bench(args = ["peg-tags/peg-tag", "vane-bracket/vane-bracket", "coolant-elbow/coolant-elbow"], sample_count = 10, sample_size = 1)]
fn one_job(bencher: Bencher, name: &str) {
    let path = examples().join(name).with_extension("partspec");
    compile(&path);
    bencher.bench(|| compile(&path));
}

/// A thousand small specs beside one small mesh, on all cores.
#[divan::bench(sample_count = 1, sample_size = 1)]
fn thousand_specs(bencher: Bencher) {
    let folder = tempfile::tempdir().unwrap();
    std::fs::copy(examples().join("peg-tags/peg-tag.stl"), folder.path().join("peg-tag.stl")).unwrap();
    let paths: Vec<PathBuf> = (0..1_000)
        .map(|i| {
            let mut text = String::new();
            writeln!(text, "part \"tag-{i}\" {{\n  mesh \"peg-tag.stl\" in mm\n  quantity {}\n}}", i % 90 + 1).unwrap();
            let path = folder.path().join(format!("tag-{i}.partspec"));
            std::fs::write(&path, text).unwrap();
            path
        })
        .collect();
    compile(&paths[0]);
    bencher.counter(ItemsCount::new(paths.len())).bench(|| paths.par_iter().map(|p| compile(p)).sum::<usize>());
}
