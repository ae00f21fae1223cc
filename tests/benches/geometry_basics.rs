//! Speed of reading, welding, health, mass, hull and section.
//!
//! `MESHES=folder cargo bench --bench geometry_basics` takes every STL file of the folder (as a baseline script
//! generates them); without it, a generated ball of 100,000 facets is used. Pin to one core (`taskset -c 0`) and set
//! `RAYON_NUM_THREADS=1` to compare with single-threaded libraries. Measured ratios: `DEVELOPERS.md`, "Speed of the
//! geometry".

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a bench that cannot run may stop")]
#![allow(clippy::disallowed_methods, reason = "a bench reads the meshes it is given")]

use divan::Bencher;
use makeready::geometry::{health, hull, mass, mesh::Mesh, read, section};

fn main() {
    divan::main();
}

/// Returns the names of the meshes to be used.
fn meshes() -> Vec<String> {
    let Ok(folder) = std::env::var("MESHES") else { return vec!["ball".to_owned()] };
    let files = std::fs::read_dir(folder).into_iter().flatten().flatten().map(|f| f.path());
    let mut names: Vec<String> =
        files.filter(|p| p.extension().is_some_and(|e| e == "stl")).map(|p| p.display().to_string()).collect();
    names.sort();
    names
}

fn bytes(name: &str) -> Vec<u8> {
    std::fs::read(name).unwrap_or_else(|_| ball())
}

fn mesh(name: &str) -> Mesh {
    read::read(&bytes(name), "x.stl", None).expect("reads").merged().expect("few vertices")
}

/// A dented ball as binary STL.
fn ball() -> Vec<u8> {
    let (rows, columns) = (224_u32, 224_u32);
    let point = |i: u32, j: u32| {
        let (a, b) = (
            std::f32::consts::PI * i as f32 / rows as f32,
            std::f32::consts::TAU * (j % columns) as f32 / columns as f32,
        );
        let r = 50.0 + (7.0 * a).sin() * (5.0 * b).cos();
        let s = if i == 0 || i == rows { 0.0 } else { a.sin() };
        [
            r * s * b.cos(),
            r * s * b.sin(),
            if i == 0 {
                50.0
            } else if i == rows {
                -50.0
            } else {
                r * a.cos()
            },
        ]
    };
    let mut facets: Vec<[[f32; 3]; 3]> = Vec::new();
    for i in 0..rows {
        for j in 0..columns {
            let (p, q, r, s) = (point(i, j), point(i + 1, j), point(i + 1, j + 1), point(i, j + 1));
            if i + 1 < rows {
                facets.push([p, q, r]);
            }
            if i > 0 {
                facets.push([p, r, s]);
            }
        }
    }
    let mut bytes = vec![0; 80];
    bytes.extend((facets.len() as u32).to_le_bytes());
    for facet in facets {
        bytes.extend([0; 12]);
        bytes.extend(facet.iter().flatten().flat_map(|c| c.to_le_bytes()));
        bytes.extend([0; 2]);
    }
    bytes
}

#[divan::bench(args = meshes(), max_time = 5)]
fn read_and_weld(bencher: Bencher, name: &str) {
    let bytes = bytes(name);
    bencher.bench(|| read::read(&bytes, "x.stl", None));
}

#[divan::bench(args = meshes(), max_time = 5)]
fn examine(bencher: Bencher, name: &str) {
    let mesh = mesh(name);
    bencher.bench(|| health::examine(&mesh));
}

#[divan::bench(args = meshes(), max_time = 5)]
fn volume_area_inertia(bencher: Bencher, name: &str) {
    let mesh = mesh(name);
    let health = health::examine(&mesh);
    bencher.bench(|| mass::measure(&mesh, &health));
}

#[divan::bench(args = meshes(), max_time = 5)]
fn convex_hull(bencher: Bencher, name: &str) {
    let mesh = mesh(name);
    bencher.bench(|| hull::convex(&mesh));
}

#[divan::bench(args = meshes(), max_time = 5)]
fn section_with_properties(bencher: Bencher, name: &str) {
    let mesh = mesh(name);
    let middle = mesh.bounds().centre();
    bencher.bench(|| section::cut(&mesh, middle, [0.1, 0.2, 1.0]));
}

fn packed(name: &str) -> Vec<u8> {
    let objects = [read::NamedMesh { name: "part".to_owned(), mesh: mesh(name) }];
    makeready::geometry::write_3mf::package(&objects).expect("fits an archive")
}

#[divan::bench(args = meshes(), max_time = 5)]
fn read_3mf(bencher: Bencher, name: &str) {
    let bytes = packed(name);
    bencher.bench(|| read::read(&bytes, "x.3mf", None));
}

#[divan::bench(args = meshes(), max_time = 5)]
fn write_3mf(bencher: Bencher, name: &str) {
    bencher.with_inputs(|| ()).bench_values(|()| packed(name));
}
