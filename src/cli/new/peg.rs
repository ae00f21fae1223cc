//! The mesh of the starter folder: a coat peg on a plate with two screw holes, made here from its dimensions.

use std::f64::consts::TAU;
use std::fmt::Write;

type Point = [f64; 3];

/// The plate is three square cells long: a hole in the first and the last, the peg on the middle one. Millimetres.
const CELL: f64 = 20.0;
const THICK: f64 = 5.0;
const HOLE_RADIUS: f64 = 2.25;
/// Corners of the polygon that stands for a round hole; divisible by four, so that each corner of a cell has its arc.
const FACETS: usize = 48;
const PEG_LOW: f64 = 2.0;
const PEG_HIGH: f64 = 18.0;
const HEIGHT: f64 = 40.0;

/// Returns the mesh as an ASCII STL in millimetres; closed, outward normals.
pub(in crate::cli) fn stl(name: &str) -> String {
    let mut out = format!("solid {name}\n");
    for [a, b, c] in triangles() {
        let n = normal(a, b, c);
        // Writing to a String cannot fail.
        let _ = writeln!(out, "facet normal {:.6} {:.6} {:.6}\n outer loop", n[0], n[1], n[2]);
        for p in [a, b, c] {
            let _ = writeln!(out, "  vertex {:.5} {:.5} {:.5}", p[0], p[1], p[2]);
        }
        out.push_str(" endloop\nendfacet\n");
    }
    out + &format!("endsolid {name}\n")
}

fn triangles() -> Vec<[Point; 3]> {
    let mut mesh = Vec::new();
    for cell in 0..3 {
        let x = f64::from(cell) * CELL;
        let square = [[x, 0.0], [x + CELL, 0.0], [x + CELL, CELL], [x, CELL]];
        // Long sides of the plate, cell by cell, so that edges meet whole.
        wall(&mut mesh, [square[0], square[1]], 0.0, THICK);
        wall(&mut mesh, [square[2], square[3]], 0.0, THICK);
        if cell == 1 {
            let peg =
                [[x + PEG_LOW, PEG_LOW], [x + PEG_HIGH, PEG_LOW], [x + PEG_HIGH, PEG_HIGH], [x + PEG_LOW, PEG_HIGH]];
            quad(&mut mesh, [square[0], square[3], square[2], square[1]], 0.0);
            for i in 0..4 {
                let j = (i + 1) % 4;
                quad(&mut mesh, [square[i], square[j], peg[j], peg[i]], THICK);
                wall(&mut mesh, [peg[i], peg[j]], THICK, HEIGHT);
            }
            quad(&mut mesh, peg, HEIGHT);
        } else {
            hole(&mut mesh, square, x + CELL / 2.0);
        }
    }
    wall(&mut mesh, [[3.0 * CELL, 0.0], [3.0 * CELL, CELL]], 0.0, THICK);
    wall(&mut mesh, [[0.0, CELL], [0.0, 0.0]], 0.0, THICK);
    mesh
}

/// A square cell of the plate with a round hole in its middle: both faces, and the wall of the hole.
fn hole(mesh: &mut Vec<[Point; 3]>, square: [[f64; 2]; 4], centre: f64) {
    let rim = |i: usize| {
        let angle = TAU * (i % FACETS) as f64 / FACETS as f64;
        [centre + HOLE_RADIUS * angle.cos(), CELL / 2.0 + HOLE_RADIUS * angle.sin()]
    };
    // The corner in the direction of each quarter of the rim, counter-clockwise from +x.
    let corners = [square[2], square[3], square[0], square[1]];
    let quarter = FACETS / 4;
    for (q, corner) in corners.into_iter().enumerate() {
        for i in q * quarter..(q + 1) * quarter {
            both(mesh, [corner, rim(i + 1), rim(i)]);
            wall(mesh, [rim(i + 1), rim(i)], 0.0, THICK);
        }
        both(mesh, [corner, corners[(q + 1) % 4], rim((q + 1) * quarter)]);
    }
}

/// A triangle (counter-clockwise from above) on the upper face, and its counterpart on the lower.
fn both(mesh: &mut Vec<[Point; 3]>, [a, b, c]: [[f64; 2]; 3]) {
    mesh.push([at(a, THICK), at(b, THICK), at(c, THICK)]);
    mesh.push([at(c, 0.0), at(b, 0.0), at(a, 0.0)]);
}

fn quad(mesh: &mut Vec<[Point; 3]>, [a, b, c, d]: [[f64; 2]; 4], z: f64) {
    mesh.push([at(a, z), at(b, z), at(c, z)]);
    mesh.push([at(a, z), at(c, z), at(d, z)]);
}

/// An upright wall; the solid lies to the left of the way from the first point to the second.
fn wall(mesh: &mut Vec<[Point; 3]>, [a, b]: [[f64; 2]; 2], low: f64, high: f64) {
    mesh.push([at(a, low), at(b, low), at(b, high)]);
    mesh.push([at(a, low), at(b, high), at(a, high)]);
}

fn at([x, y]: [f64; 2], z: f64) -> Point {
    [x, y, z]
}

fn normal(a: Point, b: Point, c: Point) -> Point {
    let (u, v) = ([0, 1, 2].map(|i| b[i] - a[i]), [0, 1, 2].map(|i| c[i] - a[i]));
    let n = [u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0]];
    let length = n.iter().map(|x| x * x).sum::<f64>().sqrt();
    // `+ 0.0` turns a negative zero into a plain one.
    n.map(|x| x / length + 0.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeMap;

    fn key(p: Point) -> [i64; 3] {
        p.map(|x| (x * 1e5).round() as i64)
    }

    /// Closed and consistently turned: each directed edge occurs once, and once the other way round.
    #[test]
    fn the_mesh_is_closed() {
        let mut edges: BTreeMap<([i64; 3], [i64; 3]), i32> = BTreeMap::new();
        for t in triangles() {
            for i in 0..3 {
                *edges.entry((key(t[i]), key(t[(i + 1) % 3]))).or_default() += 1;
            }
        }
        for ((a, b), n) in &edges {
            assert_eq!(*n, 1, "{a:?} {b:?}");
            assert_eq!(edges.get(&(*b, *a)), Some(&1), "{a:?} {b:?}");
        }
    }

    /// Divergence theorem against the closed form: plate and peg less two prisms on regular polygons,
    /// area n/2 r² sin(2π/n).
    #[test]
    fn the_volume_is_that_of_plate_and_peg_less_the_holes() {
        let det = |[a, b, c]: [Point; 3]| {
            a[0] * (b[1] * c[2] - b[2] * c[1]) - a[1] * (b[0] * c[2] - b[2] * c[0]) + a[2] * (b[0] * c[1] - b[1] * c[0])
        };
        let volume: f64 = triangles().into_iter().map(|t| det(t) / 6.0).sum();
        let polygon = FACETS as f64 / 2.0 * HOLE_RADIUS * HOLE_RADIUS * (TAU / FACETS as f64).sin();
        let expected = 60.0 * 20.0 * 5.0 + 16.0 * 16.0 * 35.0 - 2.0 * polygon * 5.0;
        assert!((volume - expected).abs() < 1e-6, "{volume} {expected}");
    }
}
