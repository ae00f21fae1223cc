//! What must hold of every recipe, seen over all examples as they are compiled today.

use std::fs;
use std::path::{Path, PathBuf};

use makeready::cli::pipeline::{Options, compile_one};
use makeready::cli::world::World;
use makeready::recipe::{Points, Recipe, Weighed};
use makeready::render::markdown::markdown;

fn examples() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("examples")
}

fn specs() -> Vec<PathBuf> {
    let folders = fs::read_dir(examples()).unwrap().flatten().map(|e| e.path()).filter(|p| p.is_dir());
    let files = folders.flat_map(|folder| fs::read_dir(folder).unwrap().flatten().map(|e| e.path()));
    let is_spec = |p: &PathBuf| p.extension().is_some_and(|e| e == "partspec");
    // What others `use` is no part by itself.
    let mut found: Vec<PathBuf> = files.filter(is_spec).filter(|p| !p.ends_with("workshop/common.partspec")).collect();
    found.sort();
    assert!(found.len() >= 7, "{found:?}");
    found
}

fn recipes() -> Vec<Recipe> {
    let compiled = specs().into_iter().map(|spec| {
        let world = World::around(&spec, false).unwrap();
        compile_one(&world, &spec, &Options::default())
    });
    compiled.flat_map(|c| c.parts).map(|p| p.recipe).collect()
}

fn sum(weighed: &[Weighed]) -> Points {
    weighed.iter().map(|w| w.points).sum()
}

/// The numbers with a sign in a cell, as hundredths.
fn signed(cell: &str) -> i64 {
    let words = cell.split([' ', ',', ';']).filter(|w| w.starts_with(['+', '-']) && w.contains('.'));
    words.map(|w| (w.parse::<f64>().unwrap() * 100.0).round() as i64).sum()
}

/// The rows of the first table behind a heading.
fn table(page: &str, heading: &str) -> Vec<Vec<String>> {
    let behind = page.split_once(&format!("\n{heading}\n")).map_or("", |(_, rest)| rest);
    let rows = behind.lines().skip_while(|l| !l.starts_with('|')).take_while(|l| l.starts_with('|')).skip(2);
    rows.map(|l| l.trim_matches('|').split(" | ").map(|c| c.trim().to_owned()).collect()).collect()
}

#[test]
fn penalties_shown_add_up_to_the_total_shown() {
    let (mut poses, mut next) = (0, 0);
    for recipe in recipes() {
        for row in &recipe.poses {
            assert_eq!(sum(&row.penalties), row.total, "{}: {row:?}", recipe.part);
            poses += 1;
        }
        for decided in recipe.decisions.iter().flat_map(|d| [&d.printer, &d.material, &d.nozzle, &d.surface, &d.pose]) {
            let Some(next_best) = &decided.runner_up else { continue };
            assert_eq!(sum(&next_best.separated_by), next_best.penalty, "{}: {next_best:?}", recipe.part);
            next += 1;
        }
        let page = markdown(&recipe, None).unwrap();
        for row in table(&page, "### Second best") {
            let [_, _, worse, by] = row.as_slice() else { panic!("{row:?}") };
            assert_eq!(signed(&format!("+{worse}")), signed(by), "{row:?}");
        }
        for row in table(&page, "## Poses looked at") {
            let [_, total, by, _] = row.as_slice() else { panic!("{row:?}") };
            assert_eq!(signed(&format!("+{total}")), signed(by), "{row:?}");
        }
    }
    assert!(poses > 10 && next > 10, "{poses} {next}");
}

#[test]
fn what_counts_alike_against_every_pose_is_in_no_row() {
    for recipe in recipes().iter().filter(|r| r.poses.len() > 1) {
        for weighed in &recipe.poses[0].penalties {
            let also = |row: &makeready::recipe::PoseRow| row.penalties.iter().any(|w| w.rule == weighed.rule);
            assert!(!recipe.poses.iter().all(also), "{}: {weighed:?}", recipe.part);
        }
    }
}
