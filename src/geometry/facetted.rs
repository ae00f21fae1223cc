//! Whether a place of the surface is flat by itself, or a facet of a round: what is drawn round is exported as facets whose
//! corners lie on it, so that the facets between lie beside it.

use super::adjacency::{NONE, twins};
use super::anchor::Anchor;
use super::mesh::{Mesh, Point};
use super::vector::{Vector, cross, dot, normalise, sub};

/// Cosine of 0.2 degrees: facets nearer to one plane than this are one flat.
const ONE_PLANE: f64 = 0.999_994;
/// Cosine of 35 degrees: flats that turn by less run on into each other as the facets of a round do; ten to a turn are coarse.
const RUNS_ON: f64 = 0.819;
/// Two directions in a flat lead to unlike sides of it.
const ACROSS: f64 = -0.3;
/// A flat that is so many times as wide as what it runs on into is no facet of a round, but a flat between two fillets.
const MUCH_WIDER: f64 = 3.0;
/// Ways out of a flat that are looked at.
const MOST_WAYS: usize = 64;

/// Returns whether one of the two sides of the wall that runs through a place in the material is a round: O(n) in facets.
pub fn sides_of_a_wall_are_round(mesh: &Mesh, middle: Point) -> bool {
    let Some(near) = Anchor::nearest(mesh, None, middle) else { return false };
    let out = mesh.normal_area(near.facet as usize).0;
    let facing: Vec<u32> = (0..mesh.triangles.len())
        .filter(|&t| dot(mesh.normal_area(t).0, out) < super::walls::OPPOSED)
        .map(|t| t as u32)
        .collect();
    let far = Anchor::nearest(mesh, Some(&facing), middle);
    let twin = twins(mesh);
    [Some(near), far].into_iter().flatten().any(|side| is_of_a_round(mesh, &twin, side.facet))
}

/// Returns whether the flat about a facet runs on, on two unlike sides, into flats of about its own width.
fn is_of_a_round(mesh: &Mesh, twin: &[u32], facet: u32) -> bool {
    let flat = Flat::about(mesh, twin, facet);
    let alike = |way: Vector, beyond: u32| {
        width(mesh, &flat.facets, way) <= MUCH_WIDER * width(mesh, &Flat::about(mesh, twin, beyond).facets, way)
    };
    let ways: Vec<Vector> =
        flat.ways.iter().filter(|(way, beyond)| alike(*way, *beyond)).map(|(way, _)| *way).collect();
    ways.iter().enumerate().any(|(i, a)| ways.iter().skip(i + 1).any(|b| dot(*a, *b) < ACROSS))
}

/// The facets in one plane about one, and the ways out of them into flats that turn a little: square to the edge, and beyond it.
struct Flat {
    facets: Vec<u32>,
    ways: Vec<(Vector, u32)>,
}

impl Flat {
    fn about(mesh: &Mesh, twin: &[u32], facet: u32) -> Self {
        let plane = mesh.normal_area(facet as usize).0;
        let mut flat = Self { facets: vec![facet], ways: Vec::new() };
        let mut seen = std::collections::HashSet::from([facet]);
        let mut next = 0;
        while let Some(&t) = flat.facets.get(next) {
            next += 1;
            let corners = mesh.corners(t as usize);
            for k in 0..3 {
                let across = twin.get(3 * t as usize + k).copied().unwrap_or(NONE);
                if across == NONE {
                    continue;
                }
                let beyond = across / 3;
                let turns = dot(mesh.normal_area(beyond as usize).0, plane);
                if turns >= ONE_PLANE {
                    if seen.insert(beyond) {
                        flat.facets.push(beyond);
                    }
                } else if turns > RUNS_ON && flat.ways.len() < MOST_WAYS {
                    let edge = sub(corners[(k + 1) % 3], corners[k]);
                    let way = normalise(cross(edge, plane));
                    if flat.ways.iter().all(|(known, _)| dot(*known, way) < ONE_PLANE) {
                        flat.ways.push((way, beyond));
                    }
                }
            }
        }
        flat
    }
}

/// How wide facets are along a direction, mm.
fn width(mesh: &Mesh, facets: &[u32], along: Vector) -> f64 {
    let places = facets.iter().flat_map(|&t| mesh.corners(t as usize)).map(|p| dot(p, along));
    let (least, most) = places.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, m), x| (l.min(x), m.max(x)));
    most - least
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::samples::block;

    /// A convex outline pulled up along z.
    fn pulled(outline: &[[f64; 2]], height: f64) -> Mesh {
        let n = outline.len() as u32;
        let at = |z: f64| outline.iter().map(move |[x, y]| [*x, *y, z]);
        let sides = (0..n).flat_map(|i| {
            let (a, b) = (i, (i + 1) % n);
            [[a, b, b + n], [a, b + n, a + n]]
        });
        let lids = (1..n - 1).flat_map(|i| [[0, i + 1, i], [n, n + i, n + i + 1]]);
        Mesh { vertices: at(0.0).chain(at(height)).collect(), triangles: sides.chain(lids).collect() }
    }

    fn arc(middle: [f64; 2], radius: f64, from: f64, steps: u32) -> Vec<[f64; 2]> {
        let place = |i: u32| {
            let (sine, cosine) = (from + std::f64::consts::PI * f64::from(i) / f64::from(steps)).sin_cos();
            [middle[0] + radius * cosine, middle[1] + radius * sine]
        };
        (0..=steps).map(place).collect()
    }

    #[test]
    fn a_facet_of_a_round_is_told_from_a_flat() {
        assert!(!sides_of_a_wall_are_round(&block([60.0, 20.0, 3.0]), [30.0, 10.0, 1.5]));
        let mut round = arc([0.0, 0.0], 6.0, 0.0, 16);
        round.extend(&arc([0.0, 0.0], 6.0, std::f64::consts::PI, 16)[1..16]);
        assert!(sides_of_a_wall_are_round(&pulled(&round, 20.0), [0.0, 0.0, 10.0]));
        // A flat bar with round edges runs on into them on both sides, and is flat all the same.
        let quarter = std::f64::consts::FRAC_PI_2;
        let bar = [arc([10.0, 0.0], 1.5, -quarter, 12), arc([-10.0, 0.0], 1.5, quarter, 12)].concat();
        assert!(!sides_of_a_wall_are_round(&pulled(&bar, 20.0), [0.1, 0.0, 10.0]));
    }
}
