//! The field solver against bodies with finite-element truths (`strength/truths.json`).

use makeready::field::{Options, solve};
use reading::{Body, compare};
use serde_json::Value;

use crate::workshop::root;

mod reading;

fn bodies() -> Vec<(String, Body)> {
    let folder = root().join("tests/strength");
    let truths: Value = serde_json::from_str(&std::fs::read_to_string(folder.join("truths.json")).unwrap()).unwrap();
    let entries = truths["bodies"].as_object().unwrap();
    entries.iter().map(|(name, entry)| (name.clone(), Body::read(&folder, name, entry))).collect()
}

// One cell across is enough for a prismatic strut's displacement and its buckling factor.
#[test]
fn a_strut_on_a_coarse_grid_is_right_already() {
    let all = bodies();
    let (_, body) = all.iter().find(|(name, _)| name == "strut-a").unwrap();
    let s = solve(&body.mesh, &body.holds, &body.loads, &Options { cell_mm: Some(5.0), ..body.options() }).unwrap();
    let figures = compare(body, &s);
    for name in ["u", "b"] {
        let f = figures.iter().find(|f| f.name == name).unwrap();
        assert!(f.is_near(), "{name}: got {}, want {}", f.got, f.want);
    }
}

#[test]
#[cfg_attr(debug_assertions, ignore = "a minute or two: cargo test --release strength")]
fn bodies_with_truths_are_met() {
    let mut off = Vec::new();
    for (name, body) in bodies() {
        let s = solve(&body.mesh, &body.holds, &body.loads, &body.options()).unwrap();
        assert!(s.settled, "{name}: {:?}", s.unsettled);
        // The solver ends at a millionth of the energy, a thousandth of what moves; a pressure that is in balance by itself is
        // measured by its whole thrust.
        assert!(s.imbalance.iter().all(|i| *i < 3e-3), "{name}: {:?}", s.imbalance);
        let far = compare(&body, &s).into_iter().filter(|f| !f.is_near());
        off.extend(far.map(|f| {
            format!("{name} {}: got {} (coarser grid {}), want {} at {:?}", f.name, f.got, f.coarse, f.want, f.at)
        }));
    }
    assert!(off.is_empty(), "{off:#?}");
}

/// What is added where two grids are too far apart to bound what a finer one adds (`resolve/elastic/solved`).
const ON_ITS_WAY: f64 = 4.0;

// A grid of very few cells underrates no stress by as much as is added for what it is apart from one of still fewer.
#[test]
fn very_few_cells_underrate_no_stress_by_more_than_is_added() {
    let (mut looked_at, mut far) = (0, Vec::new());
    for (name, body) in bodies() {
        let options = Options { most_cells: 300, ..body.options() };
        let s = solve(&body.mesh, &body.holds, &body.loads, &options).unwrap();
        // Small ones decide nothing.
        for f in compare(&body, &s).into_iter().filter(|f| f.name.len() == 2 && f.want >= f.scale) {
            looked_at += 1;
            let apart = (f.got - f.coarse).abs() / f.got;
            if f.want > 1.05 * f.got * (1.0 + ON_ITS_WAY * apart) {
                far.push(format!("{name} {}: {} for {}, {apart:.2} apart", f.name, f.got, f.want));
            }
        }
    }
    assert!(looked_at > 12 && far.is_empty(), "{looked_at} {far:#?}");
}
