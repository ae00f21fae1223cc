//! Quadratic shape functions on a reference cell, and the five-point Gauss grid that carries what a cell holds.
//!
//! A cell has 27 nodes, three a direction at -1, 0, 1 (Cook and others, Concepts and Applications of Finite Element
//! Analysis: the triquadratic Lagrange element). What part of a cell the body fills is kept as weights on its 5 x 5 x 5
//! Gauss grid, which makes every integral of products of shape functions over that part exact (moment fitting; Müller,
//! Kummer, Oberlack, Int. J. Numer. Meth. Engng 96, 2013; the finite cell method: Parvizian, Düster, Rank,
//! Comput. Mech. 41, 2007; both cited from memory).

/// Nodes of a cell.
pub const NODES: usize = 27;
/// Gauss points a direction, and in a cell.
pub const G: usize = 5;
pub const POINTS: usize = G * G * G;

/// The Gauss-Legendre points and weights of order five on -1..1 (Abramowitz, Stegun, table 25.4).
pub const GAUSS: [f64; G] =
    [-0.906_179_845_938_664, -0.538_469_310_105_683_1, 0.0, 0.538_469_310_105_683_1, 0.906_179_845_938_664];
pub const WEIGHT: [f64; G] = [
    0.236_926_885_056_189_08,
    0.478_628_670_499_366_47,
    0.568_888_888_888_888_9,
    0.478_628_670_499_366_47,
    0.236_926_885_056_189_08,
];

/// Returns the three quadratic shape functions at `x`.
#[inline(always)]
pub fn shape(x: f64) -> [f64; 3] {
    [0.5 * x * (x - 1.0), (1.0 - x) * (1.0 + x), 0.5 * x * (x + 1.0)]
}

/// Returns their derivatives at `x`.
#[inline(always)]
pub fn slope(x: f64) -> [f64; 3] {
    [x - 0.5, -2.0 * x, x + 0.5]
}

/// Returns the 27 shape functions at a point of the reference cell; node `(i, j, k)` is number `9 i + 3 j + k`.
pub fn shapes(x: [f64; 3]) -> [f64; NODES] {
    let s = x.map(shape);
    let mut n = [0.0; NODES];
    for (a, n) in n.iter_mut().enumerate() {
        *n = s[0][a / 9] * s[1][a / 3 % 3] * s[2][a % 3];
    }
    n
}

/// Returns the gradients of the 27 shape functions in the reference cell.
pub fn gradients(x: [f64; 3]) -> [[f64; 3]; NODES] {
    let (s, d) = (x.map(shape), x.map(slope));
    let mut g = [[0.0; 3]; NODES];
    for (a, g) in g.iter_mut().enumerate() {
        let (i, j, k) = (a / 9, a / 3 % 3, a % 3);
        *g = [d[0][i] * s[1][j] * s[2][k], s[0][i] * d[1][j] * s[2][k], s[0][i] * s[1][j] * d[2][k]];
    }
    g
}

/// The Lagrange polynomials through the Gauss points, as coefficients by power, and their integrals from -1.
pub struct Fitting {
    pub coefficients: [[f64; G]; G],
    pub integrals: [[f64; G + 1]; G],
}

impl Fitting {
    pub fn new() -> Self {
        let mut coefficients = [[0.0; G]; G];
        let mut integrals = [[0.0; G + 1]; G];
        for g in 0..G {
            let mut p = [0.0; G];
            p[0] = 1.0;
            for (degree, q) in (0..G).filter(|&q| q != g).enumerate() {
                let scale = 1.0 / (GAUSS[g] - GAUSS[q]);
                for d in (0..=degree + 1).rev() {
                    let lower = if d > 0 { p[d - 1] } else { 0.0 };
                    let own = if d <= degree { p[d] } else { 0.0 };
                    p[d] = scale * (lower - GAUSS[q] * own);
                }
            }
            coefficients[g] = p;
            for d in 0..G {
                integrals[g][d + 1] = p[d] / (d + 1) as f64;
            }
            let at_start: f64 = (1..=G).map(|d| integrals[g][d] * if d.is_multiple_of(2) { 1.0 } else { -1.0 }).sum();
            integrals[g][0] = -at_start;
        }
        Self { coefficients, integrals }
    }

    /// Returns the five polynomials at `x`.
    #[inline(always)]
    pub fn at(&self, x: f64) -> [f64; G] {
        let mut v = [0.0; G];
        for g in 0..G {
            let c = &self.coefficients[g];
            v[g] = (((c[4] * x + c[3]) * x + c[2]) * x + c[1]) * x + c[0];
        }
        v
    }

    /// Returns their integrals from -1 to `x`.
    #[inline(always)]
    pub fn until(&self, x: f64) -> [f64; G] {
        let mut v = [0.0; G];
        for g in 0..G {
            let c = &self.integrals[g];
            v[g] = ((((c[5] * x + c[4]) * x + c[3]) * x + c[2]) * x + c[1]) * x + c[0];
        }
        v
    }
}

/// Returns the weights of a whole cell; their sum is 8.
pub fn whole() -> [f64; POINTS] {
    let mut w = [0.0; POINTS];
    for (q, w) in w.iter_mut().enumerate() {
        *w = WEIGHT[q / 25] * WEIGHT[q / 5 % 5] * WEIGHT[q % 5];
    }
    w
}

/// Adds to a parent's weights those of a child that fills `from..to` of the parent's -1..1 in each direction.
///
/// Exact: a polynomial on the parent is one of the same degree on the child.
pub fn add_child(fit: &Fitting, parent: &mut [f64; POINTS], child: &[f64; POINTS], from: [f64; 3], to: [f64; 3]) {
    let table = [0, 1, 2].map(|d| {
        let half = 0.5 * (to[d] - from[d]);
        GAUSS.map(|x| fit.at(from[d] + half * (x + 1.0)).map(|v| v * half))
    });
    let mut a = [0.0; POINTS];
    for line in 0..25 {
        for q in 0..G {
            let w = child[line * 5 + q];
            for g in 0..G {
                a[line * 5 + g] += w * table[2][q][g];
            }
        }
    }
    let mut b = [0.0; POINTS];
    for x in 0..G {
        for q in 0..G {
            for g in 0..G {
                for z in 0..G {
                    b[x * 25 + g * 5 + z] += a[x * 25 + q * 5 + z] * table[1][q][g];
                }
            }
        }
    }
    for q in 0..G {
        for g in 0..G {
            for yz in 0..25 {
                parent[g * 25 + yz] += b[q * 25 + yz] * table[0][q][g];
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shapes_are_one_at_their_own_node_and_zero_at_the_others() {
        for a in 0..NODES {
            let at = [a / 9, a / 3 % 3, a % 3].map(|i| i as f64 - 1.0);
            for (b, n) in shapes(at).into_iter().enumerate() {
                assert!((n - f64::from(u8::from(a == b))).abs() < 1e-14, "{a} {b}");
            }
        }
    }

    #[test]
    fn fitted_polynomials_integrate_to_the_gauss_weights() {
        let fit = Fitting::new();
        for (got, want) in fit.until(1.0).into_iter().zip(WEIGHT) {
            assert!((got - want).abs() < 1e-13, "{got} {want}");
        }
        assert!(fit.until(-1.0).into_iter().all(|v| v.abs() < 1e-14));
    }

    #[test]
    fn two_halves_make_a_whole_parent() {
        let (fit, one) = (Fitting::new(), whole());
        let mut parent = [0.0; POINTS];
        add_child(&fit, &mut parent, &one, [-1.0; 3], [-0.2, 1.0, 1.0]);
        add_child(&fit, &mut parent, &one, [-0.2, -1.0, -1.0], [1.0; 3]);
        for (got, want) in parent.into_iter().zip(one) {
            assert!((got - want).abs() < 1e-13, "{got} {want}");
        }
    }
}
