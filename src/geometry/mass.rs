//! Volume, area, centre of mass and inertia.
//!
//! Method: sums over the tetrahedra between each facet and a point near the mesh (the divergence theorem), as in
//! Cha Zhang and Tsuhan Chen, "Efficient feature extraction for 2D/3D objects in mesh representation", ICIP 2001
//! (volume), with the second moments of a tetrahedron in closed form. All sums run in f64 relative to the middle of the
//! bounds, so a part far from the origin loses nothing. Exact for the mesh; the facets' chords are not corrected.

use rayon::prelude::*;

use super::bounds::Bounds;
use super::health::Health;
use super::health::edges::NONE;
use super::mesh::{Mesh, Point};
use super::vector::{Vector, add, cross, dot, norm, scale, sub};

/// Raw sums over facets relative to an origin; they add up over facets and shells.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Sums {
    /// mm².
    pub area: f64,
    /// Signed, mm³.
    pub volume: f64,
    /// ∫ x dV, mm⁴.
    first: [f64; 3],
    /// ∫ xx, yy, zz, xy, yz, zx dV, mm⁵.
    second: [f64; 6],
    /// ∫ x dA, mm³.
    surface: [f64; 3],
}

impl Sums {
    #[inline]
    fn add_facet(&mut self, [a, b, c]: [Point; 3]) {
        let n = cross(sub(b, a), sub(c, a));
        let area = 0.5 * norm(n);
        let det = dot(a, n);
        let s = add(add(a, b), c);
        self.area += area;
        self.volume += det / 6.0;
        for k in 0..3 {
            self.first[k] += det / 24.0 * s[k];
            self.surface[k] += area / 3.0 * s[k];
        }
        // Over the tetrahedron (0, a, b, c): ∫ x_i x_j dV = det/120 (a_i a_j + b_i b_j + c_i c_j + s_i s_j).
        for (slot, (i, j)) in [(0, 0), (1, 1), (2, 2), (0, 1), (1, 2), (2, 0)].into_iter().enumerate() {
            self.second[slot] += det / 120.0 * (a[i] * a[j] + b[i] * b[j] + c[i] * c[j] + s[i] * s[j]);
        }
    }

    fn plus(mut self, other: &Self) -> Self {
        self.area += other.area;
        self.volume += other.volume;
        self.first = add(self.first, other.first);
        self.surface = add(self.surface, other.surface);
        for (a, b) in self.second.iter_mut().zip(other.second) {
            *a += b;
        }
        self
    }

    fn times(mut self, factor: f64) -> Self {
        self.volume *= factor;
        self.first = scale(self.first, factor);
        for a in &mut self.second {
            *a *= factor;
        }
        self
    }
}

/// Facets summed as one block; fixed, so that the sums do not depend on the number of threads.
const BLOCK: usize = 8192;

/// Returns the sums of each shell, relative to `origin`. Facets of no shell (degenerate ones) are left out.
pub fn sums_of_shells(mesh: &Mesh, shell_of: &[u32], shells: usize, origin: Point) -> Vec<Sums> {
    let local = |t: usize| mesh.corners(t).map(|p| sub(p, origin));
    if shells == 1 {
        let blocks: Vec<Sums> = (0..mesh.triangles.len().div_ceil(BLOCK))
            .into_par_iter()
            .map(|block| {
                let mut sums = Sums::default();
                for t in block * BLOCK..((block + 1) * BLOCK).min(mesh.triangles.len()) {
                    if shell_of[t] != NONE {
                        sums.add_facet(local(t));
                    }
                }
                sums
            })
            .collect();
        return vec![blocks.iter().fold(Sums::default(), Sums::plus)];
    }
    let mut sums = vec![Sums::default(); shells];
    for (t, &shell) in shell_of.iter().enumerate() {
        if shell != NONE {
            sums[shell as usize].add_facet(local(t));
        }
    }
    sums
}

/// Returns the plain signed sum of what the facets enclose, mm³: below zero where they face inward. It means something only
/// for a closed mesh.
pub fn signed_volume_mm3(mesh: &Mesh) -> f64 {
    let origin = Bounds::of(mesh.vertices.iter().copied()).centre();
    let of = |t: usize| {
        let [a, b, c] = mesh.corners(t).map(|p| sub(p, origin));
        dot(a, cross(b, c)) / 6.0
    };
    (0..mesh.triangles.len()).map(of).sum()
}

/// What the whole mesh weighs up to, at density one.
#[derive(Debug, Clone, PartialEq)]
pub struct Mass {
    /// The volume enclosed, cavities taken off; `None` where the mesh does not bound a solid, faces the wrong way or
    /// consists of bodies that cross one another.
    pub volume_mm3: Option<f64>,
    /// The plain signed sum over all facets; means something only for a closed mesh.
    pub signed_volume_mm3: f64,
    /// The area of all facets.
    pub area_mm2: f64,
    /// The centre of mass; `None` where there is no volume.
    pub centroid_mm: Option<Point>,
    /// The centre of the surface, for meshes without volume.
    pub surface_centroid_mm: Option<Point>,
    /// The inertia tensor about the centre of mass at density 1 per mm³, in mm⁵; times density in kg/mm³ gives kg mm².
    pub inertia_mm5: Option<[[f64; 3]; 3]>,
}

/// Returns the mass properties of the whole mesh, as far as its health lets them mean something.
///
/// `health` must be that of this very mesh, as it stands: its sums over the shells are used again. A shell inside another
/// that faces the same way is material within material and counts once (the nonzero rule).
pub fn measure(mesh: &Mesh, health: &Health) -> Mass {
    let origin = Bounds::of(mesh.vertices.iter().copied()).centre();
    let all = &health.sums;
    let plain = all.iter().fold(Sums::default(), |sum, s| sum.plus(s));
    let means_something = health.bounds_a_solid() && !all.is_empty();
    let counted = all
        .iter()
        .zip(&health.shells)
        .fold(Sums::default(), |sum, (s, shell)| sum.plus(&s.times(if shell.redundant { 0.0 } else { 1.0 })));
    let surface_centroid_mm =
        (plain.area > 0.0).then(|| add(origin, scale(plain.surface, 1.0 / plain.area))).filter(is_finite);
    let volume = counted.volume;
    let solid = means_something && volume > 0.0;
    let offset = scale(counted.first, 1.0 / volume);
    Mass {
        volume_mm3: (means_something && volume >= 0.0).then_some(volume),
        signed_volume_mm3: plain.volume,
        area_mm2: plain.area,
        centroid_mm: solid.then(|| add(origin, offset)).filter(is_finite),
        surface_centroid_mm,
        inertia_mm5: solid.then(|| inertia(&counted, offset)),
    }
}

/// Moments of inertia that differ by less than this share of the largest are one: the axes between them mean nothing.
const ONE_MOMENT: f64 = 0.005;

impl Mass {
    /// Returns the principal axes of inertia that are the body's own: unit vectors, each of a moment that no other one equals.
    /// A ball has none, a body of revolution one.
    pub fn own_axes(&self) -> Vec<Vector> {
        let Some(inertia) = self.inertia_mm5.filter(|rows| rows.iter().all(is_finite)) else { return Vec::new() };
        let (moments, axes) = principal(inertia);
        let largest = moments.iter().fold(0.0, |most: f64, m| most.max(m.abs()));
        let alone = |k: &usize| (0..3).all(|o| o == *k || (moments[o] - moments[*k]).abs() > ONE_MOMENT * largest);
        (0..3).filter(alone).map(|k| axes[k]).collect()
    }
}

/// Returns the eigenvalues of a symmetric matrix and an eigenvector of each (Jacobi's rotations).
fn principal(mut a: [[f64; 3]; 3]) -> ([f64; 3], [Vector; 3]) {
    let mut axes = [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]];
    // Each sweep squares what is left beside the diagonal; a handful is enough, and more change nothing.
    for (p, q) in [(0, 1), (0, 2), (1, 2)].into_iter().cycle().take(30) {
        if a[p][q] == 0.0 {
            continue;
        }
        let half = 0.5 * (a[q][q] - a[p][p]) / a[p][q];
        let tan = half.signum() / (half.abs() + half.hypot(1.0));
        let cos = 1.0 / tan.hypot(1.0);
        let sin = tan * cos;
        for row in &mut a {
            [row[p], row[q]] = [cos * row[p] - sin * row[q], sin * row[p] + cos * row[q]];
        }
        let (above, below) = (a[p], a[q]);
        a[p] = sub(scale(above, cos), scale(below, sin));
        a[q] = add(scale(above, sin), scale(below, cos));
        let (one, other) = (axes[p], axes[q]);
        axes[p] = sub(scale(one, cos), scale(other, sin));
        axes[q] = add(scale(one, sin), scale(other, cos));
    }
    ([a[0][0], a[1][1], a[2][2]], axes)
}

fn is_finite(p: &Point) -> bool {
    p.iter().all(|c| c.is_finite())
}

/// Turns second moments about the origin into the inertia tensor about the centroid at `offset` (parallel axes).
fn inertia(sums: &Sums, offset: Point) -> [[f64; 3]; 3] {
    let [xx, yy, zz, xy, yz, zx] = sums.second;
    let v = sums.volume;
    let [x, y, z] = offset;
    let (xx, yy, zz) = (xx - v * x * x, yy - v * y * y, zz - v * z * z);
    let (xy, yz, zx) = (xy - v * x * y, yz - v * y * z, zx - v * z * x);
    [[yy + zz, -xy, -zx], [-xy, zz + xx, -yz], [-zx, -yz, xx + yy]]
}

#[cfg(test)]
mod tests {
    use super::super::health;
    use super::*;

    /// A box from `low` to `high`; facing inward if `inward`.
    fn cuboid(low: Point, high: Point, inward: bool) -> Mesh {
        let corner = |i: u32| [0, 1, 2].map(|k| if i >> k & 1 == 1 { high[k] } else { low[k] });
        let quads = [[0, 2, 3, 1], [4, 5, 7, 6], [0, 1, 5, 4], [2, 6, 7, 3], [0, 4, 6, 2], [1, 3, 7, 5]];
        let triangles = quads.iter().flat_map(|&[a, b, c, d]| [[a, b, c], [a, c, d]]);
        let turned = triangles.map(|[a, b, c]| if inward { [a, c, b] } else { [a, b, c] });
        Mesh { vertices: (0..8).map(corner).collect(), triangles: turned.collect() }
    }

    fn mass_of(mesh: &Mesh) -> Mass {
        measure(mesh, &health::examine(mesh))
    }

    /// Inertia of a cuboid about its centre: m (b² + c²) / 12 (any handbook of mechanics), here far from the origin.
    #[test]
    fn a_far_box_has_the_inertia_of_the_closed_form() {
        let at = [1e5, -1e5, 1e5];
        let mass = mass_of(&cuboid(at, add(at, [10.0, 20.0, 30.0]), false));
        assert!((mass.volume_mm3.unwrap() - 6000.0).abs() < 1e-6);
        let inertia = mass.inertia_mm5.unwrap();
        for (i, squares) in [400.0 + 900.0, 900.0 + 100.0, 100.0 + 400.0].into_iter().enumerate() {
            assert!((inertia[i][i] / (6000.0 * squares / 12.0) - 1.0).abs() < 1e-9, "{inertia:?}");
            assert!(inertia[i][(i + 1) % 3].abs() < 1e-3);
        }
        let centre = mass.centroid_mm.unwrap();
        assert!((0..3).all(|k| (centre[k] - at[k] - [5.0, 10.0, 15.0][k]).abs() < 1e-9));
    }

    #[test]
    fn cavities_count_off_and_material_in_material_counts_once() {
        let mut hollow = cuboid([0.0; 3], [30.0; 3], false);
        assert!(hollow.append(&cuboid([5.0; 3], [25.0; 3], true)));
        assert!((mass_of(&hollow).volume_mm3.unwrap() - 19_000.0).abs() < 1e-6);
        let mut nested = cuboid([0.0; 3], [30.0; 3], false);
        assert!(nested.append(&cuboid([5.0; 3], [25.0; 3], false)));
        assert!((mass_of(&nested).volume_mm3.unwrap() - 27_000.0).abs() < 1e-6);
        // A body loose in the cavity is a body, and takes its room off the cavity.
        assert!(hollow.append(&cuboid([10.0; 3], [12.0; 3], false)));
        assert!((mass_of(&hollow).volume_mm3.unwrap() - 19_008.0).abs() < 1e-6);
        let cavities = super::super::cavity::find(&health::examine(&hollow));
        assert_eq!(cavities.len(), 1);
        assert!((cavities[0].volume_mm3 - 7_992.0).abs() < 1e-6);
    }

    #[test]
    fn there_is_no_volume_where_none_can_be_told() {
        let mut open = cuboid([0.0; 3], [10.0; 3], false);
        open.triangles.pop();
        assert_eq!(mass_of(&open).volume_mm3, None);
        assert_eq!(mass_of(&open).centroid_mm, None);
        assert!((mass_of(&open).area_mm2 - 550.0).abs() < 1e-9);
        let inward = mass_of(&cuboid([0.0; 3], [10.0; 3], true));
        assert_eq!((inward.volume_mm3, inward.signed_volume_mm3.round()), (None, -1000.0));
        assert_eq!(mass_of(&Mesh::default()).volume_mm3, None);
    }

    #[test]
    fn own_axes_are_those_that_no_other_one_equals() {
        let turn = crate::pose::Pose::new([0.3, -0.5, 0.7]).unwrap().rotation();
        let of = |size: Point| {
            let mesh = cuboid(size.map(|s| -s), size, false).transformed(&turn, [4.0, 5.0, 6.0]);
            mass_of(&mesh).own_axes()
        };
        let lies_along = |axis: Vector, k: usize| {
            let edge = [turn[0][k], turn[1][k], turn[2][k]];
            crate::vector::dot(axis, edge).abs() > 1.0 - 1e-9
        };
        let of_a_bar = of([10.0, 20.0, 40.0]);
        assert_eq!(of_a_bar.len(), 3);
        assert!((0..3).all(|k| of_a_bar.iter().any(|a| lies_along(*a, k))), "{of_a_bar:?}");
        let of_a_post = of([10.0, 10.0, 40.0]);
        assert!(of_a_post.len() == 1 && lies_along(of_a_post[0], 2), "{of_a_post:?}");
        assert!(of([10.0; 3]).is_empty());
    }
}
