//! The readers against odd and hostile input.

use crate::published_meshes::{cases, collections};
use makeready::geometry::{health, mass, read};
use proptest::prelude::*;

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
