//! Linear elastic laws of a cell's material, in units of a reference modulus.

use super::lanes::{Pack, Real};

/// The order of the six strains and stresses: xx, yy, zz, xy, yz, zx (shears as engineering strains).
pub const VOIGT: [[usize; 2]; 6] = [[0, 0], [1, 1], [2, 2], [0, 1], [1, 2], [2, 0]];
/// The place of a pair of axes in that order.
pub const PLACE: [[usize; 3]; 3] = [[0, 3, 5], [3, 1, 4], [5, 4, 2]];

/// A stiffness: stress from strain, symmetric and positive.
#[derive(Debug, Clone, Copy, PartialEq)]
#[allow(clippy::large_enum_variant, reason = "a body has few, and they are copied by value")]
pub enum Stiffness {
    /// The same in all directions: Young's modulus over the reference modulus, and Poisson's ratio.
    Isotropic {
        /// Young's modulus over the reference modulus; 1 for a body of one material.
        modulus: f64,
        /// Poisson's ratio, between -1 and 0.5.
        poisson: f64,
    },
    /// The six by six matrix over the reference modulus, in the order xx, yy, zz, xy, yz, zx.
    Any(Box6),
}

/// A six by six matrix.
pub type Box6 = [[f64; 6]; 6];

impl Stiffness {
    /// Returns the six by six matrix.
    pub fn matrix(&self) -> Box6 {
        match *self {
            Self::Any(m) => m,
            Self::Isotropic { modulus, poisson } => {
                let (lambda, mu) = lame(modulus, poisson);
                let mut m = [[0.0; 6]; 6];
                for i in 0..3 {
                    for j in 0..3 {
                        m[i][j] = lambda;
                    }
                    m[i][i] += 2.0 * mu;
                    m[i + 3][i + 3] = mu;
                }
                m
            }
        }
    }

    /// Returns the stiffness of a layered material, alike in all directions within its layers: `along` and `across` are
    /// moduli over the reference, `shear` the shear modulus between layers, `normal` the unit normal of the layers.
    ///
    /// Source: transverse isotropy, R. M. Jones, Mechanics of Composite Materials, 2nd ed. 1999, section 2.3 (from memory).
    pub fn layered(along: f64, across: f64, shear: f64, poisson: [f64; 2], normal: [f64; 3]) -> Option<Self> {
        let mut s = [[0.0; 6]; 6];
        let [nu, nu_across] = poisson;
        for i in 0..2 {
            s[i][i] = 1.0 / along;
            s[i][1 - i] = -nu / along;
            // The greater Poisson's ratio: strain across the layers per strain along them.
            s[i][2] = -nu_across / along;
            s[2][i] = -nu_across / along;
        }
        s[2][2] = 1.0 / across;
        s[3][3] = 2.0 * (1.0 + nu) / along;
        s[4][4] = 1.0 / shear;
        s[5][5] = 1.0 / shear;
        let stiff = inverse(&s)?;
        let (u, v) = crate::geometry::vector::perpendiculars(normal);
        Some(Self::Any(turned(&stiff, [u, v, normal])))
    }

    /// Returns the weighted mean of several (Voigt's upper estimate).
    pub fn mean(of: &[(f64, Self)]) -> Option<Self> {
        let total: f64 = of.iter().map(|x| x.0).sum();
        let first = of.first()?.1;
        if of.iter().all(|x| x.1 == first) {
            return Some(first);
        }
        let mut sum = [[0.0; 6]; 6];
        for (w, s) in of {
            let m = s.matrix();
            for i in 0..6 {
                for j in 0..6 {
                    sum[i][j] += w / total * m[i][j];
                }
            }
        }
        Some(Self::Any(sum))
    }

    /// Returns the stress of a strain, both in the order xx, yy, zz, xy, yz, zx.
    pub fn stress(&self, strain: [f64; 6]) -> [f64; 6] {
        match *self {
            Self::Isotropic { modulus, poisson } => {
                let (lambda, mu) = lame(modulus, poisson);
                let p = lambda * (strain[0] + strain[1] + strain[2]);
                let s = strain;
                [p + 2.0 * mu * s[0], p + 2.0 * mu * s[1], p + 2.0 * mu * s[2], mu * s[3], mu * s[4], mu * s[5]]
            }
            Self::Any(m) => [0, 1, 2, 3, 4, 5].map(|i| (0..6).map(|j| m[i][j] * strain[j]).sum()),
        }
    }

    /// Whether it can be used: finite, symmetric and positive definite.
    pub fn is_sound(&self) -> bool {
        let m = self.matrix();
        let size = (0..6).map(|i| m[i][i]).fold(0.0, f64::max);
        let symmetric = (0..6).all(|i| (0..6).all(|j| (m[i][j] - m[j][i]).abs() <= 1e-9 * size));
        m.iter().flatten().all(|x| x.is_finite()) && symmetric && is_positive(&m)
    }
}

/// Returns Lamé's two constants.
pub fn lame(modulus: f64, poisson: f64) -> (f64, f64) {
    (modulus * poisson / ((1.0 + poisson) * (1.0 - 2.0 * poisson)), modulus / (2.0 * (1.0 + poisson)))
}

fn is_positive(m: &Box6) -> bool {
    let mut l = [[0.0; 6]; 6];
    for i in 0..6 {
        for j in 0..=i {
            let s: f64 = m[i][j] - (0..j).map(|k| l[i][k] * l[j][k]).sum::<f64>();
            if i == j && s <= 1e-12 * m[i][i].abs() {
                return false;
            }
            l[i][j] = if i == j { s.sqrt() } else { s / l[j][j] };
        }
    }
    true
}

fn inverse(m: &Box6) -> Option<Box6> {
    let mut a = *m;
    let mut b = [[0.0; 6]; 6];
    for (i, row) in b.iter_mut().enumerate() {
        row[i] = 1.0;
    }
    for c in 0..6 {
        let pivot = (c..6).max_by(|&i, &j| a[i][c].abs().total_cmp(&a[j][c].abs()))?;
        if a[pivot][c] == 0.0 {
            return None;
        }
        a.swap(c, pivot);
        b.swap(c, pivot);
        let d = a[c][c];
        for j in 0..6 {
            a[c][j] /= d;
            b[c][j] /= d;
        }
        for i in (0..6).filter(|&i| i != c) {
            let f = a[i][c];
            for j in 0..6 {
                a[i][j] -= f * a[c][j];
                b[i][j] -= f * b[c][j];
            }
        }
    }
    Some(b)
}

/// Returns a stiffness given in a frame of its own in the frame of the body; the rows of `frame` are the own axes.
fn turned(m: &Box6, frame: [[f64; 3]; 3]) -> Box6 {
    let mut out = [[0.0; 6]; 6];
    for (p, row) in out.iter_mut().enumerate() {
        for (q, value) in row.iter_mut().enumerate() {
            let ([i, j], [k, l]) = (VOIGT[p], VOIGT[q]);
            for a in 0..3 {
                for b in 0..3 {
                    for c in 0..3 {
                        for d in 0..3 {
                            let turn = frame[a][i] * frame[b][j] * frame[c][k] * frame[d][l];
                            *value += turn * m[PLACE[a][b]][PLACE[c][d]];
                        }
                    }
                }
            }
        }
    }
    out
}

/// Stress from the displacement gradient, eight cells at a time.
pub trait Law<T: Real> {
    fn stress(&self, gradient: &[[Pack<T>; 3]; 3]) -> [[Pack<T>; 3]; 3];
}

/// Lamé's constants of eight cells.
#[derive(Debug, Clone, Copy)]
pub struct Isotropic<T> {
    pub lambda: Pack<T>,
    pub mu: Pack<T>,
}

impl<T: Real> Law<T> for Isotropic<T> {
    #[inline(always)]
    fn stress(&self, g: &[[Pack<T>; 3]; 3]) -> [[Pack<T>; 3]; 3] {
        let p = self.lambda * (g[0][0] + g[1][1] + g[2][2]);
        let normal = |i: usize| p + self.mu * (g[i][i] + g[i][i]);
        let shear = |i: usize, j: usize| self.mu * (g[i][j] + g[j][i]);
        let (xy, yz, zx) = (shear(0, 1), shear(1, 2), shear(2, 0));
        [[normal(0), xy, zx], [xy, normal(1), yz], [zx, yz, normal(2)]]
    }
}

/// The upper halves of the stiffness matrices of eight cells.
#[derive(Debug, Clone, Copy)]
pub struct Anisotropic<T>(pub [Pack<T>; 21]);

/// The place of a pair of strains in the upper half.
#[inline(always)]
pub fn half(i: usize, j: usize) -> usize {
    let (i, j) = if i <= j { (i, j) } else { (j, i) };
    i * (11 - i) / 2 + j
}

impl<T: Real> Law<T> for Anisotropic<T> {
    #[inline(always)]
    fn stress(&self, g: &[[Pack<T>; 3]; 3]) -> [[Pack<T>; 3]; 3] {
        let e = [g[0][0], g[1][1], g[2][2], g[0][1] + g[1][0], g[1][2] + g[2][1], g[2][0] + g[0][2]];
        let mut s = [Pack::zero(); 6];
        for i in 0..6 {
            for j in 0..6 {
                s[i] += self.0[half(i, j)] * e[j];
            }
        }
        [[s[0], s[3], s[5]], [s[3], s[1], s[4]], [s[5], s[4], s[2]]]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_layered_material_alike_in_all_directions_is_isotropic() {
        let (e, nu) = (2.0, 0.3);
        let g = e / (2.0 * (1.0 + nu));
        let n = crate::geometry::vector::normalise([1.0, 2.0, -0.5]);
        let got = Stiffness::layered(e, e, g, [nu, nu], n).unwrap().matrix();
        let want = Stiffness::Isotropic { modulus: e, poisson: nu }.matrix();
        for i in 0..6 {
            for j in 0..6 {
                assert!((got[i][j] - want[i][j]).abs() < 1e-9, "{i} {j} {} {}", got[i][j], want[i][j]);
            }
        }
    }

    #[test]
    fn a_poissons_ratio_of_a_half_is_not_sound() {
        assert!(!Stiffness::Isotropic { modulus: 1.0, poisson: 0.5 }.is_sound());
        assert!(!Stiffness::Isotropic { modulus: 0.0, poisson: 0.3 }.is_sound());
        assert!(Stiffness::Isotropic { modulus: 1.0, poisson: 0.38 }.is_sound());
    }

    #[test]
    fn the_upper_half_has_21_places() {
        let all: std::collections::BTreeSet<usize> = (0..6).flat_map(|i| (i..6).map(move |j| half(i, j))).collect();
        assert_eq!(all, (0..21).collect());
    }
}
