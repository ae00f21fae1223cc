//! Poses, layers, regions, walls and the whole of a survey on a closed bumpy ball, the same one that
//! the library comparison makes, so that the times can be set side by side. Measured ratios: `DEVELOPERS.md`,
//! "Speed of the geometry".

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a bench that cannot run may stop")]

use divan::{Bencher, black_box};
use makeready::geometry::layers::{cut, middles, unsupported};
use makeready::geometry::mesh::Mesh;
use makeready::geometry::polygon::Filling;
use makeready::geometry::pose::Pose;
use makeready::geometry::pose::candidates::{Wanted, candidates};
use makeready::geometry::rays::Rays;
use makeready::geometry::regions::limits::Limits;
use makeready::geometry::survey::measure::{MeasureOptions, measure};
use makeready::geometry::survey::{PoseOptions, Prepared};
use makeready::geometry::{adjacency, features, walls};

fn main() {
    divan::main();
}

/// Rings of the ball for about 5,000, 100,000 and 1,000,000 triangles.
const SIZES: [usize; 3] = [51, 224, 708];

/// A closed bumpy ball about 100 mm across with 2 n (n - 1) triangles.
fn bumpy(n: usize) -> Mesh {
    let turn = std::f64::consts::TAU / n as f64;
    let mut vertices = vec![[0.0, 0.0, 50.0]];
    for i in 1..n {
        let p = std::f64::consts::PI * i as f64 / n as f64;
        for j in 0..n {
            let t = turn * j as f64;
            let r = 50.0 * (1.0 + 0.1 * (8.0 * t).sin() * (6.0 * p).sin() * p.sin());
            // Through single precision, as a file would.
            vertices.push([r * p.sin() * t.cos(), r * p.sin() * t.sin(), r * p.cos()].map(|c| f64::from(c as f32)));
        }
    }
    vertices.push([0.0, 0.0, -50.0]);
    let at = |ring: usize, j: usize| (1 + ring * n + j % n) as u32;
    let (last, mut triangles) = (vertices.len() as u32 - 1, Vec::with_capacity(2 * n * (n - 1)));
    for j in 0..n {
        triangles.push([0, at(0, j), at(0, j + 1)]);
        triangles.push([last, at(n - 2, j + 1), at(n - 2, j)]);
        for ring in 0..n - 2 {
            triangles.push([at(ring, j), at(ring + 1, j), at(ring + 1, j + 1)]);
            triangles.push([at(ring, j), at(ring + 1, j + 1), at(ring, j + 1)]);
        }
    }
    Mesh { vertices, triangles }
}

#[divan::bench(args = SIZES, sample_count = 3)]
fn prepare(bencher: Bencher, n: usize) {
    let mesh = bumpy(n);
    bencher.bench_local(|| black_box(Prepared::new(&mesh)).table.surface_mm2);
}

#[divan::bench(args = SIZES, sample_count = 3)]
fn twins(bencher: Bencher, n: usize) {
    let mesh = bumpy(n);
    bencher.bench_local(|| adjacency::twins(black_box(&mesh)).len());
}

#[divan::bench(args = SIZES, sample_count = 3)]
fn ray_tree(bencher: Bencher, n: usize) {
    let mesh = bumpy(n);
    bencher.bench_local(|| Rays::new(black_box(&mesh)).hit([0.0; 3], [0.0, 0.0, 1.0], 100.0));
}

#[divan::bench(args = SIZES, sample_count = 3)]
fn facet_pass_of_all_candidates(bencher: Bencher, n: usize) {
    let mesh = bumpy(n);
    let prepared = Prepared::new(&mesh);
    let poses = candidates(prepared.hull.as_ref(), &Wanted::default());
    bencher.bench_local(|| prepared.table.pass(&mesh, black_box(&poses), 45_f64.to_radians()).len());
}

#[divan::bench(args = SIZES, sample_count = 3)]
fn poses_in_full(bencher: Bencher, n: usize) {
    let mesh = bumpy(n);
    let prepared = Prepared::new(&mesh);
    prepared.twins();
    prepared.rays();
    prepared.fans();
    bencher.bench_local(|| prepared.poses(black_box(&PoseOptions::default())).len());
}

#[divan::bench(args = SIZES, sample_count = 3)]
fn regions_of_one_pose(bencher: Bencher, n: usize) {
    let mesh = bumpy(n);
    let prepared = Prepared::new(&mesh);
    prepared.twins();
    prepared.rays();
    prepared.fans();
    bencher.bench_local(|| prepared.regions(black_box(&Pose::as_placed()), &Limits::default()).list.len());
}

#[divan::bench(args = SIZES, sample_count = 3)]
fn cut_500_layers(bencher: Bencher, n: usize) {
    let mesh = bumpy(n);
    let prepared = Prepared::new(&mesh);
    let view = prepared.view(&Pose::as_placed());
    bencher.bench_local(|| cut(black_box(&view), &middles(100.0, 0.2)).len());
}

#[divan::bench(args = SIZES, sample_count = 1)]
fn unsupported_of_500_layers(bencher: Bencher, n: usize) {
    let mesh = bumpy(n);
    let prepared = Prepared::new(&mesh);
    let layers = cut(&prepared.view(&Pose::as_placed()), &middles(100.0, 0.2));
    bencher.bench_local(|| unsupported(black_box(&layers), 0.2, Filling::Winding).len());
}

#[divan::bench(args = SIZES, sample_count = 3)]
fn find_features(bencher: Bencher, n: usize) {
    let mesh = bumpy(n);
    let prepared = Prepared::new(&mesh);
    let _ = (prepared.twins(), prepared.rays());
    bencher.bench_local(|| {
        features::find(black_box(&mesh), &prepared.table, prepared.twins(), prepared.rays()).planes.len()
    });
}

#[divan::bench(args = SIZES, sample_count = 3)]
fn measure_walls(bencher: Bencher, n: usize) {
    let mesh = bumpy(n);
    let prepared = Prepared::new(&mesh);
    prepared.rays();
    bencher.bench_local(|| walls::measure(black_box(&mesh), prepared.rays(), prepared.table.size_mm).samples.len());
}

#[divan::bench(args = SIZES, sample_count = 3)]
fn survey_all(bencher: Bencher, n: usize) {
    let mesh = bumpy(n);
    bencher.bench_local(|| measure(black_box(&mesh), &MeasureOptions::default()).triangles);
}
