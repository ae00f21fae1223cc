//! Cutting polygonal faces into triangles.

use crate::mesh::Point;
use crate::vector::{Vector, add, cross, dot, normalise, sub};

/// The largest number of corners a face may have; ear clipping costs about the square of it.
pub(super) const MOST_CORNERS: usize = 256;

/// Ears tried per corner before a polygon is given up as self-crossing and finished as a fan; bounds the cost.
const TRIES: usize = 16;

/// Cuts a simple, roughly planar polygon into triangles of corner positions; concave ones by ear clipping.
///
/// Method: Meisters, "Polygons have ears", Amer. Math. Monthly 82 (1975). Ears are taken in order of index, so the
/// result is the same on every run. A polygon without an ear (self-crossing) is finished as a fan.
pub(super) fn cut(points: &[Point]) -> Vec<[usize; 3]> {
    let n = points.len();
    if n < 3 {
        return Vec::new();
    }
    let normal = newell(points);
    let convex = (0..n).all(|i| turn(points, normal, (i + n - 1) % n, i, (i + 1) % n) >= 0.0);
    if n == 3 || convex {
        return (1..n - 1).map(|i| [0, i, i + 1]).collect();
    }
    let mut left: Vec<usize> = (0..n).collect();
    let mut triangles = Vec::with_capacity(n - 2);
    let mut tries = TRIES * n;
    while left.len() > 3 {
        let m = left.len();
        let looked = m.min(tries);
        let Some(ear) = (0..looked).find(|&i| is_ear(points, normal, &left, i)) else { break };
        tries -= ear + 1;
        triangles.push([left[(ear + m - 1) % m], left[ear], left[(ear + 1) % m]]);
        left.remove(ear);
    }
    triangles.extend((1..left.len() - 1).map(|i| [left[0], left[i], left[i + 1]]));
    triangles
}

/// Returns the unit normal by Newell's sum of edge products.
fn newell(points: &[Point]) -> Vector {
    let origin = points[0];
    let pairs = points.windows(2).map(|w| cross(sub(w[0], origin), sub(w[1], origin)));
    normalise(pairs.fold([0.0; 3], add))
}

fn turn(points: &[Point], normal: Vector, a: usize, b: usize, c: usize) -> f64 {
    dot(normal, cross(sub(points[b], points[a]), sub(points[c], points[b])))
}

fn is_ear(points: &[Point], normal: Vector, left: &[usize], i: usize) -> bool {
    let m = left.len();
    let (a, b, c) = (left[(i + m - 1) % m], left[i], left[(i + 1) % m]);
    if turn(points, normal, a, b, c) <= 0.0 {
        return false;
    }
    let inside = |p: usize| [(a, b), (b, c), (c, a)].iter().all(|&(u, v)| turn(points, normal, u, v, p) >= 0.0);
    let corner = |p: usize| [a, b, c].iter().any(|&q| points[q] == points[p]);
    !left.iter().any(|&p| !corner(p) && inside(p))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::vector::norm;

    #[test]
    fn a_concave_polygon_keeps_its_area_and_sense() {
        // A square with a notch; the reference is the shoelace sum over its outline.
        let flat = [[0.0, 0.0], [4.0, 0.0], [4.0, 4.0], [2.0, 1.0], [0.0, 4.0]];
        let points: Vec<Point> = flat.iter().map(|p| [p[0], p[1], 7.0]).collect();
        let shoelace: f64 = (0..5)
            .map(|i| {
                let (p, q) = (flat[i], flat[(i + 1) % 5]);
                0.5 * (p[0] * q[1] - q[0] * p[1])
            })
            .sum();
        let cut = cut(&points);
        assert_eq!(cut.len(), 3);
        let areas: Vec<Vector> =
            cut.iter().map(|&[a, b, c]| cross(sub(points[b], points[a]), sub(points[c], points[a]))).collect();
        assert!(areas.iter().all(|a| a[2] > 0.0));
        assert!((areas.iter().map(|&a| 0.5 * norm(a)).sum::<f64>() - shoelace).abs() < 1e-12);
    }
}
