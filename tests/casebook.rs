//! The case book: jobs as they come to a workshop, each with the decisions a practitioner expects and those that must not be.
//!
//! All of it where the shared collection lies beside the repository, else the telling rows kept in `tests/cases`. What the
//! program does not bring yet stands in [`WAITS`], each check with the issue that removes it; one that passes must leave the list.

mod book;
mod checks;

use std::collections::BTreeSet;
use std::path::PathBuf;

use crate::workshop::root;
use book::{Row, rows};
use checks::misses;

/// Row, check as the index or the score calls it, and the issue that makes it pass.
const WAITS: &[(&str, &str, &str)] =
    &[("J08", "demand:coil<=3.6", "the field has 1.9 MPa at the fillet (settled on finer grids too), the beam 1.4")];

fn book_folder() -> PathBuf {
    let shared = root().join("../shared/cases");
    if shared.join("index.csv").exists() { shared } else { root().join("tests/cases") }
}

/// Compiles every row of one workshop and compares what is missed with what may be missed.
fn hold(workshop: &str) {
    let folder = book_folder();
    let rows: Vec<Row> = rows(&folder).into_iter().filter(|r| r.spec.starts_with(workshop)).collect();
    assert!(rows.len() >= 4, "only {} rows of {workshop} in {}", rows.len(), folder.display());
    let mut wrong = Vec::new();
    for row in &rows {
        let missed = misses(row, &folder);
        let waits = |check: &str| WAITS.iter().any(|(id, of, _)| *id == row.id && *of == check);
        wrong.extend(missed.iter().filter(|m| !waits(&m.check)).map(|m| format!("{} {}: {}", row.id, m.check, m.why)));
        let missed: BTreeSet<&str> = missed.iter().map(|m| m.check.as_str()).collect();
        let passes = WAITS.iter().filter(|(id, of, _)| *id == row.id && !missed.contains(of));
        wrong.extend(passes.map(|(id, of, issue)| format!("{id} {of} passes: take it from the list ({issue})")));
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn the_small_workshop_gets_what_a_practitioner_expects() {
    hold("small/");
}

#[test]
fn the_large_workshop_gets_what_a_practitioner_expects() {
    hold("large/");
}
