//! Volume, area, centre of mass and inertia.
//!
//! Method: sums over the tetrahedra between each facet and a point near the mesh (the divergence theorem), as in
//! Cha Zhang and Tsuhan Chen, "Efficient feature extraction for 2D/3D objects in mesh representation", ICIP 2001
//! (volume), with the second moments of a tetrahedron in closed form. All sums run in f64 relative to the middle of the
//! bounds, so a part far from the origin loses nothing. Exact for the mesh; the facets' chords are not corrected.

use rayon::prelude::*;

use super::health::Health;
use super::health::edges::NONE;
use super::mesh::{Mesh, Point};
use super::vector::{add, cross, dot, norm, scale, sub};

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
/// A shell inside another that faces the same way is material within material and counts once (the nonzero rule).
pub fn measure(mesh: &Mesh, health: &Health) -> Mass {
    let origin = mesh.bounds().centre();
    let all = sums_of_shells(mesh, &health.shell_of, health.shells.len(), origin);
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
