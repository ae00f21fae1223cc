//! Meshes: those kept with the tests, and shapes made by hand whose measures are known.

use std::fmt::Write as _;
use std::path::PathBuf;

use makeready::fits::coupon::{CouponPlan, Outline};
use makeready::fits::feature::{FeatureAxis, FeatureKind};
use makeready::fits::said::Named;
use makeready::geometry::mesh::Mesh;
use makeready::geometry::read::NamedMesh;
use makeready::geometry::write_3mf;
use makeready::quantity::Length;

pub type Point = [f64; 3];

/// Where a mesh of `tests/meshes` or `tests/meshes/layers` lies.
pub fn stored(name: &str) -> PathBuf {
    let meshes = super::root().join("tests/meshes");
    let places = [meshes.join(name), meshes.join("layers").join(name)];
    places.into_iter().find(|p| p.exists()).unwrap_or_else(|| panic!("no mesh {name} is kept with the tests"))
}

/// Facets as an ASCII STL file.
pub fn stl(facets: impl IntoIterator<Item = [Point; 3]>) -> String {
    let mut text = String::from("solid part\n");
    for facet in facets {
        text.push_str("facet normal 0 0 0\nouter loop\n");
        for [x, y, z] in facet {
            writeln!(text, "vertex {x} {y} {z}").unwrap();
        }
        text.push_str("endloop\nendfacet\n");
    }
    text + "endsolid part\n"
}

/// The two facets of a quadrilateral, its corners counter-clockwise from outside.
pub fn quad([a, b, c, d]: [Point; 4]) -> [[Point; 3]; 2] {
    [[a, b, c], [a, c, d]]
}

/// A block from the origin.
pub fn block(size: Point) -> String {
    let corner = |i: usize| [0, 1, 2].map(|k| if i >> k & 1 == 1 { size[k] } else { 0.0 });
    let faces = [[0, 4, 6, 2], [1, 3, 7, 5], [0, 1, 5, 4], [2, 6, 7, 3], [0, 2, 3, 1], [4, 5, 7, 6]];
    stl(faces.into_iter().flat_map(|face| quad(face.map(corner))))
}

/// A profile in the x-y plane, counter-clockwise, pulled up along z, and turned about z; `ears` are the triangles of the
/// profile.
pub fn prism(profile: &[[f64; 2]], ears: &[[usize; 3]], width: f64, turned: f64) -> String {
    let (sin, cos) = turned.to_radians().sin_cos();
    let corner = |i: usize, z: f64| {
        let [x, y] = profile[i % profile.len()];
        [x * cos - y * sin, x * sin + y * cos, z]
    };
    let mut facets = Vec::new();
    for &[a, b, c] in ears {
        facets.push([corner(a, width), corner(b, width), corner(c, width)]);
        facets.push([corner(c, 0.0), corner(b, 0.0), corner(a, 0.0)]);
    }
    for i in 0..profile.len() {
        facets.extend(quad([corner(i, 0.0), corner(i + 1, 0.0), corner(i + 1, width), corner(i, width)]));
    }
    stl(facets)
}

/// An outline in the x-y plane, counter-clockwise, pulled up along z; cut into triangles ear by ear.
pub fn pulled(outline: &[[f64; 2]], height: f64) -> String {
    prism(outline, &ears(outline), height, 0.0)
}

/// The triangles of a simple outline, counter-clockwise (G. H. Meisters, 1975: every one has two ears).
fn ears(outline: &[[f64; 2]]) -> Vec<[usize; 3]> {
    let turn = |a: usize, b: usize, c: usize| {
        let [a, b, c] = [a, b, c].map(|i| outline[i]);
        (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
    };
    let mut left: Vec<usize> = (0..outline.len()).collect();
    let mut found = Vec::new();
    while left.len() > 2 {
        let n = left.len();
        let is_ear = |&i: &usize| {
            let [a, b, c] = [left[(i + n - 1) % n], left[i], left[(i + 1) % n]];
            let within = |&&p: &&usize| turn(a, b, p) >= 0.0 && turn(b, c, p) >= 0.0 && turn(c, a, p) >= 0.0;
            let others = || left.iter().filter(|&&p| p != a && p != b && p != c);
            turn(a, b, c) > 0.0 && others().find(within).is_none()
        };
        let ear = (0..n).find(is_ear).expect("a simple outline has an ear");
        found.push([left[(ear + n - 1) % n], left[ear], left[(ear + 1) % n]]);
        left.remove(ear);
    }
    found
}

/// A D: a round with a flat `across` from its far side.
pub fn d_outline(diameter: f64, across: f64) -> Vec<[f64; 2]> {
    let (radius, steps) = (0.5 * diameter, 8);
    let flat = across - radius;
    let half = (flat / radius).acos();
    let mut outline = arc([0.0, 0.0], radius, half.to_degrees(), 360.0 - half.to_degrees(), 48);
    let ends = radius * half.sin();
    outline.extend((1..steps).map(|i| [flat, ends * (2.0 * f64::from(i) / f64::from(steps) - 1.0)]));
    outline
}

/// A double D: a round with two flats, one opposite the other, so far apart.
pub fn double_d_outline(diameter: f64, across: f64) -> Vec<[f64; 2]> {
    let (radius, steps) = (0.5 * diameter, 8);
    let flat = 0.5 * across;
    let half = (flat / radius).acos().to_degrees();
    let ends = radius * half.to_radians().sin();
    let mut outline = Vec::new();
    for side in [1.0, -1.0] {
        let from = if side > 0.0 { half } else { 180.0 + half };
        outline.extend(arc([0.0, 0.0], radius, from, from + 180.0 - 2.0 * half, 24));
        let along = (1..steps).map(|i| [-side * flat, side * ends * (1.0 - 2.0 * f64::from(i) / f64::from(steps))]);
        outline.extend(along);
    }
    outline
}

/// A round of that radius with a hole of any outline about its middle, counter-clockwise and seen whole from there.
pub fn ring(hole: &[[f64; 2]], radius: f64, height: f64) -> String {
    let rim = |[x, y]: [f64; 2]| [radius / x.hypot(y) * x, radius / x.hypot(y) * y];
    let at = |[x, y]: [f64; 2], z: f64| [x, y, z];
    let mut facets = Vec::new();
    for (i, &a) in hole.iter().enumerate() {
        let b = hole[(i + 1) % hole.len()];
        let (c, d) = (rim(a), rim(b));
        facets.extend(quad([at(c, 0.0), at(d, 0.0), at(d, height), at(c, height)]));
        facets.extend(quad([at(b, 0.0), at(a, 0.0), at(a, height), at(b, height)]));
        facets.extend(quad([at(a, height), at(c, height), at(d, height), at(b, height)]));
        facets.extend(quad([at(c, 0.0), at(a, 0.0), at(b, 0.0), at(d, 0.0)]));
    }
    stl(facets)
}

/// A closed outline of (radius, height), counter-clockwise with the radius to the right, turned about z.
pub fn revolved(outline: &[[f64; 2]]) -> String {
    const SIDES: usize = 72;
    let at = |[r, z]: [f64; 2], k: usize| {
        let (sin, cos) = ((k % SIDES) as f64 * std::f64::consts::TAU / SIDES as f64).sin_cos();
        [r * cos, r * sin, z]
    };
    let mut facets = Vec::new();
    for k in 0..SIDES {
        for i in 0..outline.len() {
            let (a, b) = (outline[i], outline[(i + 1) % outline.len()]);
            let [p, q, r, s] = [at(a, k), at(a, k + 1), at(b, k + 1), at(b, k)];
            facets.extend([[p, q, r], [p, r, s]].into_iter().filter(|[x, y, z]| x != y && y != z && z != x));
        }
    }
    stl(facets)
}

/// An arc of a circle about (x, y), from one angle to another in so many steps, degrees.
pub fn arc([x, y]: [f64; 2], radius: f64, from: f64, to: f64, steps: usize) -> Vec<[f64; 2]> {
    let at = |i: usize| {
        let (sin, cos) = (from + (to - from) * i as f64 / steps as f64).to_radians().sin_cos();
        [x + radius * cos, y + radius * sin]
    };
    (0..=steps).map(at).collect()
}

/// The blocks of a grid as one closed surface; `solid` says which cells are full, `bend` where the corners go.
pub fn blocks(lines: [&[f64]; 3], solid: impl Fn([usize; 3]) -> bool, bend: impl Fn(Point) -> Point) -> String {
    let cells = lines.map(|l| l.len() - 1);
    let full = |c: [i64; 3]| (0..3).all(|k| c[k] >= 0 && (c[k] as usize) < cells[k]) && solid(c.map(|i| i as usize));
    let at = |c: [i64; 3]| bend([0, 1, 2].map(|k| lines[k][c[k] as usize]));
    let mut facets = Vec::new();
    for i in 0..cells.iter().product() {
        let cell = [i % cells[0], i / cells[0] % cells[1], i / cells[0] / cells[1]].map(|n| n as i64);
        for (k, up) in (0..3).flat_map(|k| [(k, true), (k, false)]) {
            let mut beside = cell;
            beside[k] += if up { 1 } else { -1 };
            if !full(cell) || full(beside) {
                continue;
            }
            let corner = |a: i64, b: i64| {
                let mut c = cell;
                c[k] += i64::from(up);
                c[(k + 1) % 3] += a;
                c[(k + 2) % 3] += b;
                at(c)
            };
            let mut around = [corner(0, 0), corner(1, 0), corner(1, 1), corner(0, 1)];
            if !up {
                around.reverse();
            }
            facets.extend(quad(around));
        }
    }
    stl(facets)
}

/// A plate 60 x 40 x 10 mm with one upright hole through its middle.
pub fn plate_with_hole(diameter: f64) -> String {
    plate_with_sided_hole::<96>(diameter)
}

/// The same plate with a hole of so many flats, as far across corners as the diameter says.
pub fn plate_with_sided_hole<const SIDES: usize>(diameter: f64) -> String {
    let at = |k: usize, z: f64| {
        let (sin, cos) = (k as f64 * std::f64::consts::TAU / SIDES as f64).sin_cos();
        [0.5 * diameter * cos, 0.5 * diameter * sin, z]
    };
    // The outline has a point for each of the hole, on the ray through it.
    let out = |k: usize, z: f64| {
        let [x, y, _] = at(k, z);
        let grow = (30.0 / x.abs().max(1e-9)).min(20.0 / y.abs().max(1e-9));
        [x * grow, y * grow, z]
    };
    let mut facets = Vec::new();
    for k in 0..SIDES {
        let n = (k + 1) % SIDES;
        facets.extend(quad([at(k, 10.0), out(k, 10.0), out(n, 10.0), at(n, 10.0)]));
        facets.extend(quad([at(n, 0.0), out(n, 0.0), out(k, 0.0), at(k, 0.0)]));
        facets.extend(quad([at(n, 0.0), at(k, 0.0), at(k, 10.0), at(n, 10.0)]));
        facets.extend(quad([out(k, 0.0), out(n, 0.0), out(n, 10.0), out(k, 10.0)]));
    }
    stl(facets)
}

/// A plate 100 x 30 x 10 mm with two upright holes, so far apart, either side of its middle.
pub fn plate_with_holes(diameters: [f64; 2], apart: f64) -> String {
    const SIDES: usize = 64;
    let mut facets = Vec::new();
    for (side, diameter) in [-1.0, 1.0].into_iter().zip(diameters) {
        let middle = 0.5 * side * apart;
        // Each half of the plate, from its middle to its end, about its own hole.
        let (near, far) = if side < 0.0 { (-50.0 - middle, -middle) } else { (-middle, 50.0 - middle) };
        let at = |k: usize, z: f64| {
            let (sin, cos) = (k as f64 * std::f64::consts::TAU / SIDES as f64).sin_cos();
            [middle + 0.5 * diameter * cos, 0.5 * diameter * sin, z]
        };
        // The outline has a point for each of the hole, on the ray through it; the corners are among them.
        let corners = [[far, 15.0], [near, 15.0], [near, -15.0], [far, -15.0]].map(|[x, y]: [f64; 2]| y.atan2(x));
        let ray = |k: usize| {
            let angle = k as f64 * std::f64::consts::TAU / SIDES as f64;
            let step = std::f64::consts::TAU / SIDES as f64;
            let turn =
                |a: f64| (a + 3.0 * std::f64::consts::PI).rem_euclid(std::f64::consts::TAU) - std::f64::consts::PI;
            corners.iter().copied().find(|c| turn(c - angle).abs() < 0.5 * step).unwrap_or(angle)
        };
        let out = |k: usize, z: f64| {
            let (sin, cos) = ray(k).sin_cos();
            let side: f64 = if cos > 0.0 { far } else { near };
            let reach_x = side.abs() / cos.abs().max(1e-9);
            let reach_y = 15.0 / sin.abs().max(1e-9);
            let reach = reach_x.min(reach_y);
            [middle + reach * cos, reach * sin, z]
        };
        for k in 0..SIDES {
            let n = (k + 1) % SIDES;
            facets.extend(quad([at(k, 10.0), out(k, 10.0), out(n, 10.0), at(n, 10.0)]));
            facets.extend(quad([at(n, 0.0), out(n, 0.0), out(k, 0.0), at(k, 0.0)]));
            facets.extend(quad([at(n, 0.0), at(k, 0.0), at(k, 10.0), at(n, 10.0)]));
            // Nothing between the two halves.
            if ![out(k, 0.0), out(n, 0.0)].iter().all(|p| p[0].abs() < 1e-6) {
                facets.extend(quad([out(k, 0.0), out(n, 0.0), out(n, 10.0), out(k, 10.0)]));
            }
        }
    }
    stl(facets)
}

/// A plate with holes, or pegs, of these sizes in a row, as a 3MF file.
pub fn plate(kind: FeatureKind, sizes: &[f64]) -> Vec<u8> {
    let plan = CouponPlan {
        fit: Named::Size(Length::mm(1.0)),
        kind,
        axis: FeatureAxis::AcrossLayers,
        outline: Outline::Round(64),
        sizes: sizes.iter().map(|s| Length::mm(*s)).collect(),
        depth: Length::mm(8.0),
        wall: Length::mm(3.0),
    };
    let built = plan.build().unwrap();
    let mesh = Mesh { vertices: built.points, triangles: built.triangles };
    write_3mf::package(&[NamedMesh { name: "plate".to_owned(), mesh }]).unwrap()
}
