//! What tables of the program say, held against worlds made of specs.

mod facts;
mod margins;

use std::collections::BTreeMap;
use std::path::Path;
use std::sync::Arc;

use super::pipeline::{Options, with_rules};
use super::world::World as Files;
use crate::resolve::world::World;

/// Shows the world of each part of a spec to `see`: the spec's text as if it lay in a folder of the repository.
fn with_world(folder: &str, text: &str, see: &mut dyn FnMut(&World<'_>)) {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let folder = root.join(folder);
    let path = folder.join("of-a-test.partspec");
    let open = BTreeMap::from([(path.clone(), Arc::from(text))]);
    let files = Files::around(&folder, true).unwrap().with_open(Arc::new(open));
    // Of its two machines one is hardly longer than the plate of `EVERY_MARGIN`, and has records of rubber, whose press fits hang on them.
    let shop = root.join("examples/shop.yaml");
    let bench = std::fs::read_to_string(&shop).unwrap().replace("[240 mm, 200 mm", "[200 mm, 200 mm");
    let record = |axis: &str| {
        format!(
            "  - {{ printer: Bench, nozzle: brass-04, material: TPU-95A, what: hole, axis: {axis}, offset: -0.16 mm, \
             spread: 0.04 mm, from: 3 mm, to: 12 mm, count: 12, on: 2026-10-20 }}\n"
        )
    };
    let records = format!("calibration:\n{}{}", record("across-layers"), record("along-layers"));
    let bench = bench.replace("calibration:\n", &records);
    let options = Options { pictures: false, shop: Some(shop), shop_text: Some(bench), ..Options::default() };
    let mut seen = 0;
    with_rules(&files, &path, &options, &mut |rules| {
        seen += 1;
        see(rules.world);
    });
    assert_eq!(seen, 1, "{text}");
}
