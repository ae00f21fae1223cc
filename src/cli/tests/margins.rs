//! The table of margin kinds.

use std::collections::BTreeMap;

use super::with_world;
use crate::resolve::margin::MarginKind;

/// Specs whose margins are of every kind between them, by the folder their meshes lie in.
pub(super) const EVERY_MARGIN: [(&str, &str); 7] = [
    (
        "tests/meshes",
        r#"part "ruler" {
  mesh "long_flat_plate.stl" in mm
  service { place outdoors; air -20 °C .. 30 °C; sun direct for 2 years; contact "grease" wiped }
  impact drop 1 m
  wall at least 2 mm
  fit "clip" snap 1.2 mm reach 12 mm thick 2 mm along x
}"#,
    ),
    ("tests/meshes", r#"part "box" { mesh "hingebox.stl" in mm; fit "fold" hinge living 0.5 mm along z }"#),
    (
        // So large that its walls are not all beads.
        "tests/meshes",
        r#"part "beam" {
  mesh "long_flat_plate.stl" in cm
  service { place indoors; air 5 °C .. 35 °C }
  load "push" { force 200 N toward -x at face "end"; fixed at face "foot"; held 1 year }
  load "press" { force 10 N toward -z at face "end"; fixed at face "foot"; shock }
  face "foot" toward -x
  face "end" toward +x
  deflection at most 20 mm under "press"
}"#,
    ),
    ("tests/meshes", r#"part "comb" { mesh "gap_slots.stl" in mm }"#),
    (
        "tests/meshes",
        r#"part "eye" {
  mesh "pinp.stl" in mm
  service { place indoors; air 5 °C .. 35 °C }
  pressure 1 bar of "water" bore 8 mm
  fit "pin" hinge in-place 7.4 mm count 1
}"#,
    ),
    (
        "tests/meshes",
        r#"part "block" {
  mesh "thin_web_block.stl" in mm
  service { place indoors; air 5 °C .. 35 °C }
  fit "dowels" press 6 mm count 2 along z
}"#,
    ),
    (
        "examples/vane-bracket",
        r#"part "bracket" {
  mesh "vane-bracket.stl" in mm
  service { place indoors; air 5 °C .. 35 °C }
  fit "cover" insert M3 count 2 along z
}"#,
    ),
];

/// What a margin hangs on is written down by its kind, and answers are kept by it: one that read more would be kept wrongly.
/// That this would be seen is seen here too: of every kind each decision is left out in turn, and each time margins differ.
#[test]
fn every_margin_hangs_on_what_its_kind_says() {
    let mut made: BTreeMap<MarginKind, usize> = BTreeMap::new();
    let mut missed: BTreeMap<MarginKind, BTreeMap<&str, bool>> = BTreeMap::new();
    for (folder, text) in EVERY_MARGIN {
        with_world(folder, text, &mut |world| {
            let found = world.margins_made_otherwise();
            assert!(found.otherwise.is_empty(), "{text}: {:#?}", found.otherwise.iter().take(3).collect::<Vec<_>>());
            found.made.into_iter().for_each(|(kind, count)| *made.entry(kind).or_default() += count);
            for (kind, decisions) in found.missed {
                let of = missed.entry(kind).or_default();
                decisions.into_iter().for_each(|(decision, missed)| *of.entry(decision).or_default() |= missed);
            }
        });
    }
    let mut idle = Vec::new();
    for kind in MarginKind::WORDS.iter().filter_map(|word| MarginKind::parse(word)) {
        assert!(made.get(&kind).is_some_and(|count| *count > 0), "no margin of {kind} was made: {made:?}");
        let unseen = missed[&kind].iter().filter(|(_, missed)| !**missed);
        idle.extend(unseen.map(|(decision, _)| format!("{kind} is made the same whatever the {decision}")));
    }
    assert!(idle.is_empty(), "{idle:#?}");
}
