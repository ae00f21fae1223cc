//! The readers against odd and hostile input.

use crate::published_meshes::{cases, collections};
use std::io::Write as _;

use makeready::geometry::read::{LengthUnit, ReadErrorKind};
use makeready::geometry::{health, mass, read};
use proptest::prelude::*;
use zip::write::{SimpleFileOptions, ZipWriter};

/// Reads and, if it reads, surveys: nothing may panic.
fn survive(bytes: &[u8], name: &str) {
    if let Ok(read) = read::read(bytes, name, None)
        && let Some(mesh) = read.merged()
    {
        assert!(mesh.triangles.iter().flatten().all(|&v| (v as usize) < mesh.vertices.len()));
        assert!(mesh.vertices.iter().flatten().all(|c| c.is_finite()));
        let health = health::examine(&mesh);
        let mass = mass::measure(&mesh, &health);
        assert!(mass.volume_mm3.is_none_or(|v| v >= 0.0));
    }
}

/// Small files of every format, to be damaged.
fn seeds() -> Vec<(String, Vec<u8>)> {
    let all = collections().into_iter().take(1).flat_map(|c| cases(&c));
    all.filter(|c| c.bytes.len() < 6000).map(|c| (c.name, c.bytes)).collect()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn no_reader_panics_on_damaged_files(
        pick in any::<prop::sample::Index>(),
        cut in any::<prop::sample::Index>(),
        edits in prop::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 0..12),
        shorten in any::<bool>(),
    ) {
        let seeds = seeds();
        let (name, bytes) = &seeds[pick.index(seeds.len())];
        let mut bytes = bytes.clone();
        for (at, value) in edits {
            if !bytes.is_empty() {
                let at = at.index(bytes.len());
                bytes[at] = value;
            }
        }
        if shorten && !bytes.is_empty() {
            bytes.truncate(cut.index(bytes.len()));
        }
        survive(&bytes, name);
    }

    #[test]
    fn no_reader_panics_on_any_bytes(bytes in prop::collection::vec(any::<u8>(), 0..600)) {
        for extension in ["stl", "3mf", "obj", "off"] {
            survive(&bytes, &format!("x.{extension}"));
        }
    }
}

#[test]
fn other_formats_are_named_with_a_way_out() {
    for (bytes, name) in [
        (&b"ISO-10303-21;\nHEADER;"[..], "part.step"),
        (&b"ply\nformat ascii 1.0\n"[..], "part.ply"),
        (&b"anything"[..], "part"),
    ] {
        let e = read::read(bytes, name, None).unwrap_err();
        assert_eq!(e.kind, read::ReadErrorKind::UnsupportedFormat, "{name}");
        assert!(e.hint.contains("3MF"), "{e}");
    }
}

/// Packs a model part and whatever else into a 3MF package.
fn package(resources: &str, items: &str, others: &[(&str, Vec<u8>)]) -> Vec<u8> {
    let core = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02";
    let production = "http://schemas.microsoft.com/3dmanufacturing/production/2015/06";
    let model = format!(
        r#"<model unit="millimeter" xmlns="{core}" xmlns:p="{production}"><resources>{resources}</resources>
        <build>{items}</build></model>"#
    );
    let mut archive = ZipWriter::new(std::io::Cursor::new(Vec::new()));
    let parts = [("3D/3dmodel.model", model.into_bytes())];
    for (name, content) in parts.iter().map(|(n, c)| (*n, c)).chain(others.iter().map(|(n, c)| (*n, c))) {
        archive.start_file(name, SimpleFileOptions::default()).expect("starts");
        archive.write_all(content).expect("writes");
    }
    archive.finish().expect("finishes").into_inner()
}

const TETRAHEDRON: &str = concat!(
    r#"<object id="1" type="model"><mesh><vertices><vertex x="0" y="0" z="0"/><vertex x="9" y="0" z="0"/>"#,
    r#"<vertex x="0" y="9" z="0"/><vertex x="0" y="0" z="9"/></vertices><triangles><triangle v1="0" v2="2" v3="1"/>"#,
    r#"<triangle v1="0" v2="1" v3="3"/><triangle v1="0" v2="3" v3="2"/><triangle v1="1" v2="2" v3="3"/></triangles>"#,
    "</mesh></object>"
);

fn refusal(bytes: &[u8]) -> (ReadErrorKind, String) {
    let e = read::read(bytes, "x.3mf", None).expect_err("refused");
    (e.kind, e.place)
}

#[test]
fn components_that_double_at_every_level_are_refused_before_they_are_made() {
    let level = |id: u32| {
        let below = id - 1;
        format!(
            r#"<object id="{id}" type="model"><components><component objectid="{below}"/>
            <component objectid="{below}"/></components></object>"#
        )
    };
    let doubling = |levels: u32| {
        let resources: String = (2..2 + levels).map(level).collect();
        package(&format!("{TETRAHEDRON}{resources}"), &format!(r#"<item objectid="{}"/>"#, 1 + levels), &[])
    };
    let read = read::read(&doubling(5), "x.3mf", None).expect("thirty-two copies are fine");
    assert_eq!(read.triangles(), 4 * 32);
    assert_eq!(refusal(&doubling(40)).0, ReadErrorKind::Expansion);
    assert_eq!(refusal(&doubling(1000)).0, ReadErrorKind::Expansion);
}

#[test]
fn a_part_that_expands_beyond_reason_is_refused() {
    let blanks = vec![b' '; 60 << 20];
    let reference =
        r#"<object id="2"><components><component objectid="1" p:path="/3D/other.model"/></components></object>"#;
    let bytes = package(reference, r#"<item objectid="2"/>"#, &[("3D/other.model", blanks)]);
    assert!(bytes.len() < 200_000);
    assert_eq!(refusal(&bytes), (ReadErrorKind::Expansion, "3D/other.model".to_owned()));
}

#[test]
fn a_path_never_leaves_the_package() {
    for path in ["../secret.model", "/3D/../../secret.model", "C:/secret.model", "//host/secret.model", "a\\b.model"] {
        let reference =
            format!(r#"<object id="2"><components><component objectid="1" p:path="{path}"/></components></object>"#);
        let bytes = package(&reference, r#"<item objectid="2"/>"#, &[]);
        assert_eq!(refusal(&bytes).0, ReadErrorKind::BadReference, "{path}");
    }
}

#[test]
fn a_unit_at_odds_with_the_file_is_refused() {
    let bytes = package(TETRAHEDRON, r#"<item objectid="1"/>"#, &[]);
    assert!(read::read(&bytes, "x.3mf", Some(LengthUnit::Millimetre)).is_ok());
    let e = read::read(&bytes, "x.3mf", Some(LengthUnit::Inch)).unwrap_err();
    assert_eq!(e.kind, ReadErrorKind::UnitConflict);
}

#[test]
fn objects_keep_their_names_and_places() {
    let named = TETRAHEDRON.replace(r#"type="model""#, r#"type="model" name="wing &amp; nut""#);
    let items = r#"<item objectid="1"/><item objectid="1" transform="0 1 0 -1 0 0 0 0 1 100 0 0"/>"#;
    let read = read::read(&package(&named, items, &[]), "x.3mf", None).expect("reads");
    assert_eq!(read.objects.len(), 2);
    assert_eq!(read.objects[1].name, "wing & nut");
    // A quarter turn about z takes +x to +y and +y to -x, then 100 along x.
    let bounds = read.objects[1].mesh.bounds();
    assert_eq!((bounds.min, bounds.max), ([91.0, 0.0, 0.0], [100.0, 9.0, 9.0]));
}
