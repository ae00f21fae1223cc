//! Places spread evenly over a patch as it is seen from above: a lattice laid over its shadow, so that they do not depend on
//! how its surface is cut into facets or in what order these stand in the file.

use std::collections::BTreeMap;

use super::patch::{Patch, View};
use crate::mesh::Point;
use crate::vector::{add, scale, sub};

/// The lattice is turned by the angle whose tangent is the golden ratio, which of all comes least into step with edges that lie
/// along the axes (badly approximable: A. Hurwitz, 1891), so that a narrow strip gets its share of places too.
const TANGENT: f64 = 1.618_033_988_749_895;
/// Where the lattice lies about the middle of the patch, in its cells: off the lines of symmetry, where edges of facets run.
const OFFSET: [f64; 2] = [0.377, 0.431];
/// What lies on the edge between two facets lies on one of them at least, however it is rounded.
const HAIR: f64 = 1e-9;
/// How often the cells are quartered where too few places are found.
const FINER: usize = 5;

/// Returns about `count` places on the patch, more where it is too narrow for so few, in an order of their own; the middles of
/// its facets where none is found.
pub(super) fn places(view: &View, patch: &Patch, count: usize) -> Vec<Point> {
    let mut cell = (patch.shadow_mm2 / count.max(1) as f64).sqrt();
    for _ in 0..FINER {
        if cell > 0.0 {
            let found = Lattice::new(view, patch, cell).places();
            if 2 * found.len() >= count {
                return found;
            }
        }
        cell *= 0.5;
    }
    let mut middles: Vec<Point> = patch.facets.iter().map(|&t| view.mesh.centre(t as usize)).collect();
    middles.sort_by(|a, b| {
        a.iter().zip(b).map(|(m, n)| m.total_cmp(n)).find(|o| o.is_ne()).unwrap_or(std::cmp::Ordering::Equal)
    });
    let step = middles.len().div_ceil(count.max(1)).max(1);
    middles.into_iter().step_by(step).collect()
}

struct Lattice<'a> {
    view: &'a View<'a>,
    patch: &'a Patch,
    middle: [f64; 2],
    cell: f64,
}

impl<'a> Lattice<'a> {
    fn new(view: &'a View<'a>, patch: &'a Patch, cell: f64) -> Self {
        Self { view, patch, middle: view.flat(patch.middle), cell }
    }

    /// Where a place lies in the cells of the lattice.
    fn cells(&self, p: Point) -> [f64; 2] {
        let [x, y] = self.view.flat(p);
        let (x, y) = ((x - self.middle[0]) / self.cell, (y - self.middle[1]) / self.cell);
        let (sin, cos) = TANGENT.atan().sin_cos();
        [x * cos + y * sin - OFFSET[0], y * cos - x * sin - OFFSET[1]]
    }

    /// A point of the lattice has one place, though it may lie on the edge of two facets; of a patch that winds over itself the
    /// lowest.
    fn places(&self) -> Vec<Point> {
        let mut found: BTreeMap<[i64; 2], (f64, Point)> = BTreeMap::new();
        for &t in &self.patch.facets {
            for (at, p) in self.of_facet(t) {
                let height = crate::vector::dot(p, self.view.up);
                let known = found.entry(at).or_insert((height, p));
                if height < known.0 {
                    *known = (height, p);
                }
            }
        }
        found.into_values().map(|(_, p)| p).collect()
    }

    fn of_facet(&self, t: u32) -> Vec<([i64; 2], Point)> {
        let corners = self.view.mesh.corners(t as usize);
        let [a, b, c] = corners.map(|p| self.cells(p));
        let (ab, ac) = ([b[0] - a[0], b[1] - a[1]], [c[0] - a[0], c[1] - a[1]]);
        let twice = ab[0] * ac[1] - ab[1] * ac[0];
        let span = |k: usize| (a[k].min(b[k]).min(c[k]).ceil() as i64, a[k].max(b[k]).max(c[k]).floor() as i64);
        let ((left, right), (low, high)) = (span(0), span(1));
        if twice == 0.0 {
            return Vec::new();
        }
        let mut found = Vec::new();
        for (i, j) in (left..=right).flat_map(|i| (low..=high).map(move |j| (i, j))) {
            let p = [i as f64 - a[0], j as f64 - a[1]];
            let (s, r) = ((p[0] * ac[1] - p[1] * ac[0]) / twice, (ab[0] * p[1] - ab[1] * p[0]) / twice);
            if s >= -HAIR && r >= -HAIR && s + r <= 1.0 + HAIR {
                let [a, b, c] = corners;
                found.push(([i, j], add(a, add(scale(sub(b, a), s), scale(sub(c, a), r)))));
            }
        }
        found
    }
}
