//! Holes by the thousand, and ceilings bent one way or both. The meshes are made here from closed forms, so their counts
//! and sizes are known.

use std::f64::consts::{PI, TAU};

use makeready::geometry::features::{self, Features};
use makeready::geometry::first_layer::first_layer;
use makeready::geometry::health::examine;
use makeready::geometry::mesh::Mesh;
use makeready::geometry::polygon::Filling;
use makeready::geometry::pose::Pose;
use makeready::geometry::regions::limits::Limits;
use makeready::geometry::regions::{Kind, Region, Verdict};
use makeready::geometry::survey::Prepared;
use makeready::geometry::vector::{add, cross, dot, scale, sub};

/// A plate with `side` times `side` openings of diameter 6, 10 mm apart: whole rounds and half rounds by turns,
/// `n` sides to a full turn (a multiple of four).
fn plate(side: usize, n: usize, thick: f64) -> Mesh {
    let mut mesh = Mesh::default();
    let (pitch, count) = (10.0, side + 1);
    for z in [0.0, thick] {
        for i in 0..count * count {
            mesh.vertices.push([pitch * (i % count) as f64, pitch * (i / count) as f64, z]);
        }
    }
    let grid = |x: usize, y: usize, top: bool| (y * count + x + if top { count * count } else { 0 }) as u32;
    for cell in 0..side * side {
        let (x, y) = (cell % side, cell / side);
        let loops = [false, true].map(|top| {
            let first = mesh.vertices.len() as u32;
            let z = if top { thick } else { 0.0 };
            let middle = [pitch * (x as f64 + 0.5), pitch * (y as f64 + 0.5)];
            let outline = opening(n, (x + y) % 2 == 1);
            mesh.vertices.extend(outline.iter().map(|p| [middle[0] + p[0], middle[1] + p[1], z]));
            (first..first + outline.len() as u32).collect::<Vec<u32>>()
        });
        for (top, ring) in [false, true].into_iter().zip(&loops) {
            let corners = [[1, 1], [0, 1], [0, 0], [1, 0]].map(|[dx, dy]| grid(x + dx, y + dy, top));
            // The flat of a half disc is seen from the third corner, and its end from the fourth.
            let k = n / 4;
            let ends = if ring.len() == n { [k, 2 * k, 3 * k, 4 * k] } else { [k, 2 * k, 2 * k + 1, 2 * k + 1] };
            for i in 0..ring.len() {
                let (a, b, q) = (ring[i], ring[(i + 1) % ring.len()], ends.iter().filter(|&&end| i >= end).count());
                let mut cover = vec![[a, corners[q], b]];
                cover.extend((0..4).filter(|&q| ends[q] == i + 1).map(|q| [b, corners[q], corners[(q + 1) % 4]]));
                mesh.triangles.extend(cover.into_iter().map(|[a, b, c]| if top { [a, b, c] } else { [a, c, b] }));
            }
        }
        for i in 0..loops[0].len() {
            let k = (i + 1) % loops[0].len();
            let [a, b, c, d] = [loops[0][i], loops[0][k], loops[1][k], loops[1][i]];
            mesh.triangles.extend([[a, c, b], [a, d, c]]);
        }
    }
    for i in 0..side {
        let sides =
            [[(i, 0), (i + 1, 0)], [(side, i), (side, i + 1)], [(i + 1, side), (i, side)], [(0, i + 1), (0, i)]];
        for [(ax, ay), (bx, by)] in sides {
            let [a, b, c, d] = [grid(ax, ay, false), grid(bx, by, false), grid(bx, by, true), grid(ax, ay, true)];
            mesh.triangles.extend([[a, b, c], [a, c, d]]);
        }
    }
    mesh
}

/// The outline of an opening about its middle, counterclockwise from +x.
fn opening(n: usize, half: bool) -> Vec<[f64; 2]> {
    let at = |i: usize| {
        let (s, c) = (TAU * i as f64 / n as f64).sin_cos();
        [3.0 * c, 3.0 * s - if half { 1.0 } else { 0.0 }]
    };
    (0..if half { n / 2 + 1 } else { n }).map(at).collect()
}

fn find(mesh: &Mesh) -> Features {
    let prepared = Prepared::new(mesh);
    features::find(mesh, &prepared.table, prepared.twins(), prepared.rays())
}

#[test]
fn a_plate_with_thousands_of_whole_and_half_holes_has_each_of_them() {
    let (side, n) = (60, 12);
    let mesh = plate(side, n, 5.0);
    let found = find(&mesh);
    assert_eq!((found.holes.len(), found.roundings.len(), found.bosses.len()), (1800, 1800, 0));
    for hole in &found.holes {
        assert!((hole.diameter_mm - 6.0).abs() < 1e-6 && (hole.depth_mm - 5.0).abs() < 1e-6, "{hole:?}");
        assert!(hole.through && hole.facets == n && hole.axis == [0.0, 0.0, 1.0], "{hole:?}");
    }
    for round in &found.roundings {
        assert!((round.radius_mm - 3.0).abs() < 1e-6 && (round.length_mm - 5.0).abs() < 1e-6, "{round:?}");
        assert!((round.arc_deg - 180.0).abs() < 1e-6 && round.hollow, "{round:?}");
    }
    let one = rayon::ThreadPoolBuilder::new().num_threads(1).build().unwrap().install(|| find(&mesh));
    assert!(one == found);
}

const UP: [f64; 3] = [0.0, 0.0, 1.0];

/// A closed surface of rings, each with the middle and the two radii given, the first and last closed by fans.
fn tube(rings: &[([f64; 3], [f64; 3], [f64; 3])], n: usize) -> Mesh {
    let mut mesh = Mesh::default();
    for (middle, u, v) in rings {
        for j in 0..n {
            let (s, c) = (TAU * j as f64 / n as f64).sin_cos();
            mesh.vertices.push(add(*middle, add(scale(*u, c), scale(*v, s))));
        }
    }
    let at = |i: usize, j: usize| (i * n + j % n) as u32;
    for i in 1..rings.len() {
        for j in 0..n {
            mesh.triangles
                .extend([[at(i - 1, j), at(i, j), at(i - 1, j + 1)], [at(i, j), at(i, j + 1), at(i - 1, j + 1)]]);
        }
    }
    for (ring, flip) in [(0, false), (rings.len() - 1, true)] {
        let hub = mesh.vertices.len() as u32;
        mesh.vertices.push(rings[ring].0);
        for j in 0..n {
            let [a, b] = [at(ring, j), at(ring, j + 1)];
            mesh.triangles.push(if flip { [hub, b, a] } else { [hub, a, b] });
        }
    }
    mesh
}

/// The regions of a block round a void, and what of them belongs to the void, upright as made.
fn ceilings(void: &Mesh) -> Vec<Region> {
    let bounds = void.bounds();
    let mut mesh = void.clone();
    let inward = signed_volume(&mesh) < 0.0;
    if !inward {
        mesh.triangles.iter_mut().for_each(|t| t.swap(1, 2));
    }
    let corner = |i: usize| [0, 1, 2].map(|k| if i >> k & 1 == 0 { bounds.min[k] - 6.0 } else { bounds.max[k] + 6.0 });
    let first = mesh.vertices.len() as u32;
    mesh.vertices.extend((0..8).map(corner));
    let quads: [[u32; 4]; 6] = [[0, 2, 3, 1], [4, 5, 7, 6], [0, 1, 5, 4], [2, 6, 7, 3], [0, 4, 6, 2], [1, 3, 7, 5]];
    for [a, b, c, d] in quads.map(|q| q.map(|i| i + first)) {
        mesh.triangles.extend([[a, b, c], [a, c, d]]);
    }
    assert!(signed_volume(&mesh) > 0.0);
    Prepared::new(&mesh).regions(&Pose::new(UP).unwrap(), &Limits::default()).list
}

fn signed_volume(mesh: &Mesh) -> f64 {
    (0..mesh.triangles.len()).map(|t| mesh.corners(t)).map(|[a, b, c]| dot(a, cross(b, c)) / 6.0).sum()
}

/// A round channel of radius `r` along a path in the upright plane, straight for `run` mm before and after a bend of
/// radius `bend` from one direction (degrees above +x) to another, in steps of `step` degrees.
fn bent(r: f64, bend: f64, from: f64, to: f64, run: f64, step: f64) -> Mesh {
    let ahead = |deg: f64| [deg.to_radians().cos(), 0.0, deg.to_radians().sin()];
    let side = if to > from { 1.0 } else { -1.0 };
    let inner = |deg: f64| scale(ahead(deg + 90.0), side);
    let centre = scale(inner(from), bend);
    let on_bend = |deg: f64| sub(centre, scale(inner(deg), bend));
    let steps = ((to - from).abs() / step).round() as usize;
    let mut stations = vec![(sub(on_bend(from), scale(ahead(from), run)), from)];
    for i in 0..=steps {
        let deg = from + (to - from) * i as f64 / steps as f64;
        stations.push((on_bend(deg), deg));
    }
    stations.push((add(on_bend(to), scale(ahead(to), run)), to));
    stations.dedup_by(|a, b| dot(sub(a.0, b.0), sub(a.0, b.0)) < 1e-9);
    let rings: Vec<_> = stations.into_iter().map(|(p, deg)| (p, [0.0, r, 0.0], scale(ahead(deg + 90.0), r))).collect();
    tube(&rings, 32)
}

/// Half axes across, along and up of a hollow ball, longer or flatter.
fn hollow(across: f64, along: f64, up: f64) -> Mesh {
    let rings: Vec<_> = (1..32)
        .map(|i| {
            let (s, c) = (PI * i as f64 / 32.0).sin_cos();
            ([0.0, 0.0, -up * c], [across * s, 0.0, 0.0], [0.0, along * s, 0.0])
        })
        .collect();
    tube(&rings, 48)
}

#[test]
fn the_ceiling_of_a_pipe_bent_upright_is_a_crown() {
    // Bends of a pipe are from 1 to 3 diameters of the middle line; less than half of one cuts into itself.
    for bend in [1.1, 1.5, 2.0, 3.0, 6.0] {
        let r = 4.0;
        let bends = [
            ("up, over and down", 90.0, -90.0, 10.0),
            ("up and level", 90.0, 0.0, 10.0),
            ("level and down", 0.0, -90.0, 0.0),
            ("level and up", 0.0, 90.0, 10.0),
            ("sloping up", 0.0, 45.0, 10.0),
        ];
        for (name, from, to, run) in bends {
            for step in [5.0, 15.0] {
                let list = ceilings(&bent(r, bend * r, from, to, run, step));
                let largest = &list[0];
                let what = format!("{name}, bend {bend}, step {step}: {largest:?}");
                // Where the bend turns up, the crown's end is a lip, and it may count as a slope that holds by its reach.
                assert!(largest.kind == Kind::HoleCrown || to > from && largest.kind == Kind::Steep, "{what}");
                assert_eq!(largest.verdict, Verdict::None, "{what}");
                let d = largest.diameter_mm.unwrap_or(2.0 * r);
                assert!((d - 2.0 * r).abs() < 0.01 * r, "{what}");
            }
        }
    }
}

#[test]
fn the_ceiling_of_a_ball_or_a_cone_is_none_whatever_its_proportions() {
    for [across, along, up] in [[6.0, 6.0, 6.0], [6.0, 7.0, 6.0], [7.0, 6.0, 5.0], [6.0, 6.0, 4.0]] {
        let list = ceilings(&hollow(across, along, up));
        assert!(!list.is_empty() && list.iter().all(|r| r.kind != Kind::HoleCrown), "{across} {along} {up} {list:?}");
    }
    for height in [5.0, 3.0, 1.5] {
        let ring = |r: f64, z: f64| ([0.0, 0.0, z], [r, 0.0, 0.0], [0.0, r, 0.0]);
        let cone = tube(&[ring(6.0, -8.0), ring(6.0, 0.0), ring(1e-3, height)], 32);
        let list = ceilings(&cone);
        assert!(!list.is_empty() && list.iter().all(|r| r.kind != Kind::HoleCrown), "{height} {list:?}");
    }
}

#[test]
fn a_cavity_much_longer_than_wide_is_held_from_both_its_sides() {
    // As the bore it nearly is: three times as long, its ceiling is curved nine times as much across as along.
    let list = ceilings(&hollow(4.0, 12.0, 4.0));
    assert_eq!(list[0].kind, Kind::HoleCrown, "{:?}", list[0]);
    let straight = ceilings(&bent(4.0, 1e6, 0.0, 0.001, 0.0, 0.001));
    assert_eq!(straight[0].kind, Kind::HoleCrown, "{:?}", straight[0]);
    assert!((straight[0].diameter_mm.unwrap() - 8.0).abs() < 1e-3);
}

#[test]
fn a_shallow_vault_is_no_dome() {
    // 20 mm wide on a radius of 30 mm.
    let half = (10.0_f64 / 30.0).asin();
    let rise = |i: usize| {
        let angle = -half + 2.0 * half * i as f64 / 16.0;
        [30.0 * angle.sin(), 30.0 * (angle.cos() - half.cos())]
    };
    let mut outline: Vec<[f64; 2]> = (0..=16).map(rise).collect();
    outline.extend([[10.0, -10.0], [-10.0, -10.0]]);
    let n = outline.len();
    let mut void = Mesh::default();
    for y in [0.0, 40.0] {
        void.vertices.extend(outline.iter().map(|p| [p[0], y, p[1]]));
        void.vertices.push([0.0, y, -5.0]);
    }
    let at = |end: usize, i: usize| (end * (n + 1) + i % n) as u32;
    for i in 0..n {
        let hub = |end: usize| (end * (n + 1) + n) as u32;
        void.triangles.extend([[at(0, i), at(1, i), at(0, i + 1)], [at(1, i), at(1, i + 1), at(0, i + 1)]]);
        void.triangles.extend([[hub(0), at(0, i), at(0, i + 1)], [hub(1), at(1, i + 1), at(1, i)]]);
    }
    let list = ceilings(&void);
    assert_eq!(list[0].kind, Kind::HoleCrown, "{:?}", list[0]);
    assert!((list[0].diameter_mm.unwrap() - 60.0).abs() < 0.1, "{:?}", list[0]);
}

#[test]
fn an_open_outline_is_not_called_empty() {
    // A box of which half a side is missing, lying on its whole bottom.
    let mut mesh = plate(1, 4, 5.0);
    mesh.triangles.pop();
    let prepared = Prepared::new(&mesh);
    let view = prepared.view(&Pose::new(UP).unwrap());
    let layer = |contact| first_layer(&view, Filling::EvenOdd, 0.2, contact, 1.0, 1.0);
    assert!(layer(60.0).missing().contains("does not close"));
    assert!(layer(0.0).missing().contains("nothing of the part"));
    let defects = examine(&mesh).defects;
    assert!(defects.iter().any(|d| d.words().contains("the surface has a hole here")), "{defects:?}");
}
