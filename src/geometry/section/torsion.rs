//! The torsion constant of any section, holes included, and the largest shear stress that torsion makes in it.
//!
//! Prandtl's stress function (S. Timoshenko and J. N. Goodier, "Theory of Elasticity", ch. 10, handbook): Δφ = -2 in
//! the material, φ = 0 on the outer outline and constant on each hole; J = 2∫φ dA + 2 Σ φ_hole A_hole. Solved on a
//! square grid with sides cut at the outlines (the symmetric scheme of F. Gibou et al., J. Comput. Phys. 176, 2002,
//! paper) on two grids, the second half as wide, and extrapolated. The holes' constants follow from the least-energy
//! principle. The shear stress is Gθ |∇φ|, largest on an outline (same source).

use super::nest::{area2, pairs};
use super::{Point2, Region, Section};

/// A torsion constant and how far to trust it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Torsion {
    /// J in mm⁴: twist per length = torque / (G J).
    pub j_mm4: f64,
    /// The relative change from the coarser grid to the finer one: an upper estimate of the error. Walls only a few
    /// cells thick make it large.
    pub uncertainty: f64,
    /// Largest |∇φ| in mm: shear stress = torque · slope / J. Of a sharp inward corner it is what the finer grid can
    /// resolve: in theory the stress there has no bound.
    pub slope_mm: f64,
}

/// More holes in one region than this are not solved.
const MOST_HOLES: usize = 12;

/// Returns the torsion constant, regions added up (each twists on its own), from grids of `cells` and twice as many cells
/// along the longer side of each region; `None` without area or with too many holes. With 64 it is within half a percent
/// where walls are not thinner than a few cells; the cost grows with the third power of `cells`.
pub fn torsion_on(section: &Section, cells: usize) -> Option<Torsion> {
    if section.regions.is_empty() || section.regions.iter().any(|r| r.holes.len() > MOST_HOLES) {
        return None;
    }
    let cells = cells.clamp(8, 512);
    let mut total = [0.0; 2];
    let mut slope = 0.0_f64;
    for region in &section.regions {
        let found = [Grid::new(region, cells)?.torsion(region)?, Grid::new(region, 2 * cells)?.torsion(region)?];
        total = [0, 1].map(|k| total[k] + found[k].0);
        slope = slope.max(found[1].1);
    }
    let [coarse, fine] = total;
    // The scheme's error falls with the square of the cell.
    let j_mm4 = fine + (fine - coarse) / 3.0;
    let uncertainty = ((fine - coarse) / j_mm4).abs();
    (j_mm4 > 0.0 && j_mm4.is_finite() && slope.is_finite()).then_some(Torsion { j_mm4, uncertainty, slope_mm: slope })
}

/// What stands beside a node: another node, or an outline (0 the outer one, k the k-th hole) at a part of a cell.
#[derive(Clone, Copy)]
enum Beside {
    Node(u32),
    Outline { which: u32, part: f64 },
}

struct Grid {
    cell: f64,
    nodes: Vec<[Beside; 4]>,
}

impl Grid {
    fn new(region: &Region, cells: usize) -> Option<Self> {
        let bounds = |k: usize| {
            region.outer.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), p| (l.min(p[k]), h.max(p[k])))
        };
        let (x, y) = (bounds(0), bounds(1));
        let cell = (x.1 - x.0).max(y.1 - y.0) / cells as f64;
        if !(cell > 0.0 && cell.is_finite()) {
            return None;
        }
        // Half a cell off the bounds, so that straight sides do not fall on nodes.
        let origin = [x.0 - 0.5 * cell, y.0 - 0.5 * cell];
        let size = cells + 3;
        let along = [crossings(region, origin, cell, size, 0), crossings(region, origin, cell, size, 1)];
        let inside = |i: usize, j: usize| odd_before(&along[0][j], i as f64);
        let mut number = vec![u32::MAX; size * size];
        let mut places = Vec::new();
        for j in 0..size {
            for i in 0..size {
                if inside(i, j) {
                    number[j * size + i] = places.len() as u32;
                    places.push((i, j));
                }
            }
        }
        let node = |i: usize, j: usize| number.get(j * size + i).copied().filter(|&n| n != u32::MAX);
        let nodes = places
            .iter()
            .map(|&(i, j)| {
                [
                    beside(&along[0][j], i as f64, 1.0, i.checked_add(1).and_then(|i| node(i, j))),
                    beside(&along[0][j], i as f64, -1.0, i.checked_sub(1).and_then(|i| node(i, j))),
                    beside(&along[1][i], j as f64, 1.0, j.checked_add(1).and_then(|j| node(i, j))),
                    beside(&along[1][i], j as f64, -1.0, j.checked_sub(1).and_then(|j| node(i, j))),
                ]
            })
            .collect();
        Some(Self { cell, nodes })
    }

    /// Returns J and the largest slope of the stress function.
    fn torsion(&self, region: &Region) -> Option<(f64, f64)> {
        let h2 = self.cell * self.cell;
        let holes = region.holes.len();
        let plain = self.solve(2.0 * h2, None);
        let own = 2.0 * h2 * self.integral(&plain, None);
        // One harmonic function for each hole: 1 on it, 0 on every other outline.
        let lifts: Vec<Vec<f64>> = (1..=holes).map(|k| self.solve(0.0, Some(k as u32))).collect();
        let weight = |k: usize| h2 * self.integral(&lifts[k], Some(k as u32 + 1)) + area2(&region.holes[k]).abs() / 2.0;
        let b: Vec<f64> = (0..holes).map(weight).collect();
        let energy: Vec<Vec<f64>> = (0..holes)
            .map(|k| (0..holes).map(|l| self.energy(&lifts[k], k as u32 + 1, &lifts[l], l as u32 + 1)).collect())
            .collect();
        let c = solve_dense(energy, &b)?;
        let j = own + 4.0 * c.iter().zip(&b).map(|(c, b)| c * b).sum::<f64>();
        // The function itself: each hole lifted to its constant.
        let mut phi = plain;
        for (lift, c) in lifts.iter().zip(&c) {
            phi.iter_mut().zip(lift).for_each(|(p, l)| *p += 2.0 * c * l);
        }
        let heights: Vec<f64> = std::iter::once(0.0).chain(c.iter().map(|c| 2.0 * c)).collect();
        Some((j, self.steepest(&phi, &heights)))
    }

    /// Returns the largest slope of `phi`, whose height on each outline is given, on the outlines.
    fn steepest(&self, phi: &[f64], heights: &[f64]) -> f64 {
        let mut most = 0.0_f64;
        for (node, &own) in self.nodes.iter().zip(phi) {
            let at = |b: Beside| match b {
                Beside::Node(m) => (1.0, phi.get(m as usize).copied().unwrap_or(0.0)),
                Beside::Outline { which, part } => (part, heights.get(which as usize).copied().unwrap_or(0.0)),
            };
            let [x, y] = [[0, 1], [2, 3]].map(|[plus, minus]| slopes(at(node[plus]), own, at(node[minus])));
            for (side, across) in [(0, y), (1, y), (2, x), (3, x)] {
                let along = if side < 2 { x } else { y };
                let end = [along.plus, along.minus][side % 2];
                if matches!(node[side], Beside::Outline { .. }) {
                    most = most.max(end.hypot(across.middle));
                }
            }
        }
        most / self.cell
    }

    /// Solves for `source` per node with 1 on the `raised` outline, by conjugate gradients.
    fn solve(&self, source: f64, raised: Option<u32>) -> Vec<f64> {
        let n = self.nodes.len();
        let diagonal: Vec<f64> = self.nodes.iter().map(|b| b.iter().map(|&b| conductance(b)).sum()).collect();
        let apply = |x: &[f64], out: &mut [f64]| {
            for ((node, out), (x_own, d)) in self.nodes.iter().zip(out).zip(x.iter().zip(&diagonal)) {
                let near: f64 = node.iter().map(|b| if let Beside::Node(m) = b { x[*m as usize] } else { 0.0 }).sum();
                *out = d * x_own - near;
            }
        };
        let mut residual: Vec<f64> = self
            .nodes
            .iter()
            .map(|node| source + node.iter().map(|&b| conductance(b) * outline_value(b, raised)).sum::<f64>())
            .collect();
        let mut x = vec![0.0; n];
        let mut z: Vec<f64> = residual.iter().zip(&diagonal).map(|(r, d)| r / d).collect();
        let mut direction = z.clone();
        let mut image = vec![0.0; n];
        let product = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(a, b)| a * b).sum::<f64>();
        let mut rz = product(&residual, &z);
        let goal = 1e-20 * rz;
        for _ in 0..4000 {
            if rz <= goal || rz == 0.0 {
                break;
            }
            apply(&direction, &mut image);
            let step = rz / product(&direction, &image);
            for i in 0..n {
                x[i] += step * direction[i];
                residual[i] -= step * image[i];
                z[i] = residual[i] / diagonal[i];
            }
            let next = product(&residual, &z);
            for (d, z) in direction.iter_mut().zip(&z) {
                *d = z + next / rz * *d;
            }
            rz = next;
        }
        x
    }

    /// Returns how far a node's share of the plane reaches along x and y, in cells: half-way to a node, all the way to
    /// an outline.
    fn share(node: &[Beside; 4]) -> [f64; 2] {
        let reach = |b: Beside| if let Beside::Outline { part, .. } = b { part } else { 0.5 };
        [reach(node[0]) + reach(node[1]), reach(node[2]) + reach(node[3])]
    }

    /// Returns ∫ x dA in squares of a cell; towards an outline the values run straight to the outline's.
    fn integral(&self, x: &[f64], raised: Option<u32>) -> f64 {
        let mut sum = 0.0;
        for (node, &own) in self.nodes.iter().zip(x) {
            let [along_x, along_y] = Self::share(node);
            sum += along_x * along_y * own;
            for (side, &beside) in node.iter().enumerate() {
                if let Beside::Outline { part, .. } = beside {
                    let across = if side < 2 { along_y } else { along_x };
                    sum += 0.5 * (outline_value(beside, raised) - own) * part * across;
                }
            }
        }
        sum
    }

    /// Returns ∫ ∇a·∇b dA for two lifts.
    fn energy(&self, a: &[f64], raised_a: u32, b: &[f64], raised_b: u32) -> f64 {
        let mut sum = 0.0;
        for (i, node) in self.nodes.iter().enumerate() {
            let [along_x, along_y] = Self::share(node);
            for (side, &beside) in node.iter().enumerate() {
                let across = if side < 2 { along_y } else { along_x };
                let (da, db, share) = match beside {
                    Beside::Node(m) => (a[m as usize] - a[i], b[m as usize] - b[i], 0.5),
                    Beside::Outline { .. } => {
                        let value = |raised| outline_value(beside, Some(raised));
                        (value(raised_a) - a[i], value(raised_b) - b[i], 1.0)
                    }
                };
                sum += share * across * conductance(beside) * da * db;
            }
        }
        sum
    }
}

/// Slopes of the parabola through three points in a row.
#[derive(Clone, Copy)]
struct Slopes {
    plus: f64,
    middle: f64,
    minus: f64,
}

/// `plus` and `minus` are the distance to and the height of the points on either side.
fn slopes(plus: (f64, f64), own: f64, minus: (f64, f64)) -> Slopes {
    let (forward, back) = ((plus.1 - own) / plus.0, (own - minus.1) / minus.0);
    let whole = plus.0 + minus.0;
    let bend = (forward - back) / whole;
    Slopes {
        plus: forward + bend * plus.0,
        middle: (back * plus.0 + forward * minus.0) / whole,
        minus: back - bend * minus.0,
    }
}

/// Nodes nearer to an outline than this part of a cell are taken to be this far off, to keep the equations tame.
const NEAREST: f64 = 1e-3;

fn conductance(beside: Beside) -> f64 {
    match beside {
        Beside::Node(_) => 1.0,
        Beside::Outline { part, .. } => 1.0 / part,
    }
}

fn outline_value(beside: Beside, raised: Option<u32>) -> f64 {
    match beside {
        Beside::Outline { which, .. } if Some(which) == raised => 1.0,
        _ => 0.0,
    }
}

/// Returns, for each grid line along `axis`, where outlines cross it, in cells, ascending, and which outline.
fn crossings(region: &Region, origin: Point2, cell: f64, size: usize, axis: usize) -> Vec<Vec<(f64, u32)>> {
    let across = 1 - axis;
    let mut lines = vec![Vec::new(); size];
    for (which, outline) in std::iter::once(&region.outer).chain(&region.holes).enumerate() {
        for (p, q) in pairs(outline) {
            let scaled = |p: Point2, k: usize| (p[k] - origin[k]) / cell;
            let (a, b) = (scaled(p, across), scaled(q, across));
            let (low, high) = (a.min(b), a.max(b));
            let first = low.ceil().max(0.0) as usize;
            // Half-open: a corner on a line counts for one of its two sides.
            for (line, marks) in lines.iter_mut().enumerate().skip(first) {
                let at = line as f64;
                if at >= high {
                    break;
                }
                let t = (at - a) / (b - a);
                marks.push((scaled(p, axis) + t * (scaled(q, axis) - scaled(p, axis)), which as u32));
            }
        }
    }
    for marks in &mut lines {
        marks.sort_by(|a: &(f64, u32), b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
    }
    lines
}

fn odd_before(marks: &[(f64, u32)], at: f64) -> bool {
    marks.partition_point(|m| m.0 < at) % 2 == 1
}

fn beside(marks: &[(f64, u32)], at: f64, way: f64, node: Option<u32>) -> Beside {
    let split = marks.partition_point(|m| m.0 < at);
    let mark = if way > 0.0 { marks.get(split) } else { split.checked_sub(1).and_then(|i| marks.get(i)) };
    match (mark, node) {
        (Some(&(mark, which)), node) => {
            let part = (mark - at).abs();
            match node {
                Some(n) if part >= 1.0 => Beside::Node(n),
                _ => Beside::Outline { which, part: part.clamp(NEAREST, 1.0) },
            }
        }
        (None, Some(n)) => Beside::Node(n),
        (None, None) => Beside::Outline { which: 0, part: 1.0 },
    }
}

/// Solves a small dense symmetric system by elimination with row exchange.
fn solve_dense(mut m: Vec<Vec<f64>>, b: &[f64]) -> Option<Vec<f64>> {
    let n = b.len();
    let mut x = b.to_vec();
    for k in 0..n {
        let pivot = (k..n).max_by(|&i, &j| m[i][k].abs().total_cmp(&m[j][k].abs()))?;
        m.swap(k, pivot);
        x.swap(k, pivot);
        if m[k][k] == 0.0 {
            return None;
        }
        for i in k + 1..n {
            let factor = m[i][k] / m[k][k];
            for j in k..n {
                m[i][j] -= factor * m[k][j];
            }
            x[i] -= factor * x[k];
        }
    }
    for k in (0..n).rev() {
        let known: f64 = (k + 1..n).map(|j| m[k][j] * x[j]).sum();
        x[k] = (x[k] - known) / m[k][k];
    }
    Some(x)
}

#[cfg(test)]
mod tests {
    use super::super::Frame;
    use super::*;

    fn section(outer: Vec<Point2>, holes: Vec<Vec<Point2>>) -> Section {
        let frame = Frame::new([0.0; 3], [0.0, 0.0, 1.0]).expect("a frame");
        Section { frame, regions: vec![Region { outer, holes }], open_outlines: 0, uneven: false, properties: None }
    }

    fn torsion_constant(section: &Section) -> Option<Torsion> {
        torsion_on(section, 64)
    }

    fn rectangle(x: [f64; 2], y: [f64; 2]) -> Vec<Point2> {
        vec![[x[0], y[0]], [x[1], y[0]], [x[1], y[1]], [x[0], y[1]]]
    }

    fn circle(r: f64, clockwise: bool) -> Vec<Point2> {
        let n = 720;
        let turn = |i: i32| std::f64::consts::TAU * f64::from(if clockwise { n - i } else { i }) / f64::from(n);
        (0..n).map(|i| [r * turn(i).cos(), r * turn(i).sin()]).collect()
    }

    fn check(section: &Section, truth: f64) {
        let t = torsion_constant(section).expect("a solution");
        assert!((t.j_mm4 / truth - 1.0).abs() < 0.005, "{} should be {truth} ({} unsure)", t.j_mm4, t.uncertainty);
        assert!(t.uncertainty < 0.05);
    }

    /// Saint-Venant's series, as tabled in Timoshenko and Goodier, ch. 10 (handbook): J = beta a b³.
    #[test]
    fn rectangles_as_tabled() {
        for (ratio, beta) in [(1.0, 0.1406), (1.5, 0.1958), (2.0, 0.2287), (4.0, 0.2808)] {
            check(&section(rectangle([0.0, ratio * 10.0], [0.0, 10.0]), Vec::new()), beta * ratio * 1e4);
        }
    }

    /// A circular tube, closed form: π (R⁴ - r⁴) / 2.
    #[test]
    fn tube_in_closed_form() {
        let truth = std::f64::consts::PI / 2.0 * (10.0_f64.powi(4) - 6.0_f64.powi(4));
        check(&section(circle(10.0, false), vec![circle(6.0, true)]), truth);
    }

    /// Largest shear stress of a rectangle as tabled by Timoshenko and Goodier, ch. 10 (handbook): T / (k a b²). The
    /// square's is also W. C. Young and R. G. Budynas, "Roark's Formulas for Stress and Strain", 7th ed., table 10.1,
    /// case 4: 0.601 T / (a/2)³ = 4.81 T / a³ (handbook).
    #[test]
    fn shear_stress_of_rectangles_as_tabled() {
        for (ratio, k) in [(1.0, 0.208), (1.5, 0.231), (2.0, 0.246), (4.0, 0.282)] {
            let t = torsion_constant(&section(rectangle([0.0, ratio * 10.0], [0.0, 10.0]), Vec::new())).unwrap();
            let found = t.slope_mm / t.j_mm4;
            let truth = 1.0 / (k * ratio * 1000.0);
            assert!((found / truth - 1.0).abs() < 0.03, "{ratio}: {found} should be {truth}");
        }
    }

    /// Round bar and tube in closed form, T R / J; and the thin tube by Bredt's formulas (Timoshenko and Goodier, ch. 10,
    /// handbook): J = 4 A² t / s, stress = T / (2 A t).
    #[test]
    fn shear_stress_of_round_sections_and_of_a_thin_tube() {
        for (inner, cells) in [(0.0, 64), (6.0, 64), (9.0, 128)] {
            let holes = if inner > 0.0 { vec![circle(inner, true)] } else { Vec::new() };
            let t = torsion_on(&section(circle(10.0, false), holes), cells).unwrap();
            assert!((t.slope_mm / 10.0 - 1.0).abs() < 0.05, "{inner}: {}", t.slope_mm);
            if inner == 9.0 {
                let (middle, wall) = (9.5_f64, 1.0);
                let area = std::f64::consts::PI * middle * middle;
                let bredt = 4.0 * area * area * wall / (std::f64::consts::TAU * middle);
                assert!((t.j_mm4 / bredt - 1.0).abs() < 0.01, "{} should be {bredt}", t.j_mm4);
                let stress = t.slope_mm / t.j_mm4;
                assert!((stress * 2.0 * area * wall - 1.0).abs() < 0.1, "{stress}");
            }
        }
    }

    /// The coarse grids that loads are judged on, against the same closed forms.
    #[test]
    fn coarse_grids_are_within_a_few_percent() {
        let square = torsion_on(&section(rectangle([0.0, 10.0], [0.0, 10.0]), Vec::new()), 24).unwrap();
        assert!(
            (square.j_mm4 / 1406.0 - 1.0).abs() < 0.01 && (square.slope_mm / square.j_mm4 * 208.0 - 1.0).abs() < 0.03
        );
        let tube = torsion_on(&section(circle(10.0, false), vec![circle(6.0, true)]), 24).unwrap();
        let truth = std::f64::consts::PI / 2.0 * (1e4 - 6.0_f64.powi(4));
        assert!((tube.j_mm4 / truth - 1.0).abs() < 0.02 && (tube.slope_mm / 10.0 - 1.0).abs() < 0.08, "{tube:?}");
    }

    /// The section of case BM-04: J = 675 900 mm⁴ by an independent finite-element section library.
    #[test]
    fn rectangle_with_an_eccentric_hole() {
        let mut hole = rectangle([10.0, 30.0], [20.0, 50.0]);
        hole.reverse();
        check(&section(rectangle([0.0, 40.0], [0.0, 60.0]), vec![hole]), 675_900.0);
    }
}
