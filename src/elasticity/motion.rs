//! Motions of a body as a whole that its holds leave free.
//!
//! A load that does no work on such a motion has an answer all the same: what the motion adds is no strain. What rounding
//! and facets leave of that work is taken up where the body is held, as friction would.

use super::basis::shapes;
use super::law::PLACE;
use super::level::Nodal;
use super::model::Held;
use super::parts::Layout;
use crate::geometry::mesh::Point;
use crate::geometry::vector::{Vector, add, cross, dot, norm, scale, sub};

/// A motion of a body as a whole: `way`, and a `turn` about the middle of what holds it.
#[derive(Debug, Clone, PartialEq)]
pub struct Motion {
    body: u32,
    middle: Point,
    way: Vector,
    turn: Vector,
}

/// Energy of a motion in the holds, as a part of the stiffest motion's, below which they leave it free.
const FREE: f64 = 1e-7;
/// Work of the loads on a motion, as a part of what they could do at most, above which they excite it.
const EXCITED: f64 = 0.01;
const SLIDES: [&str; 3] = ["slide along x", "slide along y", "slide along z"];
const TURNS: [&str; 3] = ["turn about x", "turn about y", "turn about z"];

impl Motion {
    fn at(&self, p: Point) -> Vector {
        add(self.way, cross(self.turn, sub(p, self.middle)))
    }

    /// Returns where the body is held that can move so.
    pub fn place(&self, held: &[Held]) -> Option<Point> {
        let points = || held.iter().flat_map(|h| &h.points);
        points().map(|p| p.at).min_by(|a, b| norm(sub(*a, self.middle)).total_cmp(&norm(sub(*b, self.middle))))
    }

    /// Says what the body can do.
    pub fn words(&self) -> String {
        let names = if norm(self.turn) == 0.0 { SLIDES } else { TURNS };
        let v = if norm(self.turn) == 0.0 { self.way } else { self.turn };
        match (0..3).find(|&k| v[k].abs() > 0.999 * norm(v)) {
            Some(k) => names[k].to_owned(),
            None => {
                // A direction: of length one, to what tells it from another.
                let of_one = |c: f64| format!("{}", (c / norm(v) * 100.0).round() / 100.0 + 0.0);
                format!("{}({})", names[0].trim_end_matches('x'), v.map(of_one).join(", "))
            }
        }
    }
}

/// A body that nothing holds at all: a place in it.
pub struct Unheld(pub Point);

/// Returns the motions that the holds leave free, of every body.
pub fn free_motions(layout: &Layout, held: &[Held]) -> Result<Vec<Motion>, Unheld> {
    let (body, count) = layout.bodies();
    let mut all = Vec::new();
    for b in 0..count as u32 {
        let points: Vec<(&Held, usize)> = held
            .iter()
            .flat_map(|h| (0..h.points.len()).map(move |i| (h, i)))
            .filter(|(h, i)| body[h.points[*i].part as usize] == b && h.tensor(*i).iter().any(|t| *t != 0.0))
            .collect();
        if points.iter().map(|(h, i)| h.points[*i].area).sum::<f64>() <= 0.0 {
            let part = body.iter().position(|&of| of == b).unwrap_or(0);
            let cell = layout.cells[part].map(|c| c as usize);
            let middle = |a: usize| {
                let lines = &layout.grid.axes[a].lines;
                0.5 * (lines[cell[a]] + lines[cell[a] + 1])
            };
            return Err(Unheld([0, 1, 2].map(middle)));
        }
        all.extend(of_body(b, &points));
    }
    Ok(all)
}

fn of_body(body: u32, points: &[(&Held, usize)]) -> Vec<Motion> {
    let weight: f64 = points.iter().map(|(h, i)| h.points[*i].area).sum();
    let place = |(h, i): &(&Held, usize)| h.points[*i].at;
    let middle = points.iter().fold([0.0; 3], |s, p| add(s, scale(place(p), p.0.points[p.1].area / weight)));
    let spread: f64 =
        points.iter().map(|p| p.0.points[p.1].area / weight * dot(sub(place(p), middle), sub(place(p), middle))).sum();
    let size = spread.sqrt().max(1e-9);
    let mut m = [[0.0; 6]; 6];
    for p in points {
        let (t, d, area) = (p.0.tensor(p.1), scale(sub(place(p), middle), 1.0 / size), p.0.points[p.1].area);
        let motions = [0, 1, 2, 3, 4, 5].map(|k| {
            let mut e = [0.0; 3];
            e[k % 3] = 1.0;
            if k < 3 { e } else { cross(e, d) }
        });
        for k in 0..6 {
            for l in 0..6 {
                for a in 0..3 {
                    for b in 0..3 {
                        m[k][l] += area * motions[k][a] * t[PLACE[a][b]] * motions[l][b];
                    }
                }
            }
        }
    }
    let stiffest = (0..6).map(|k| m[k][k]).fold(0.0, f64::max);
    let (values, vectors) = eigen(m);
    // Those along and about the axes of the file first, so that they are called by them.
    let mut found: Vec<[f64; 6]> = (0..6)
        .filter(|&k| m[k][k] <= FREE * stiffest)
        .map(|k| [0, 1, 2, 3, 4, 5].map(|i| if i == k { 1.0 } else { 0.0 }))
        .collect();
    for (value, vector) in values.into_iter().zip(vectors) {
        let mut rest = vector;
        for f in &found {
            let share: f64 = (0..6).map(|i| f[i] * rest[i]).sum();
            (0..6).for_each(|i| rest[i] -= share * f[i]);
        }
        let left = rest.iter().map(|r| r * r).sum::<f64>().sqrt();
        if value <= FREE * stiffest && left > 0.1 {
            found.push(rest.map(|r| r / left));
        }
    }
    let motion = |v: [f64; 6]| Motion {
        body,
        middle,
        way: [v[0], v[1], v[2]],
        // Beside a turn about another place the way is part of it.
        turn: [v[3], v[4], v[5]].map(|c| if c.abs() < 1e-9 { 0.0 } else { c / size }),
    };
    found.into_iter().map(motion).collect()
}

/// Returns the eigenvalues of a symmetric matrix with their vectors (Jacobi's rotations).
fn eigen(mut a: [[f64; 6]; 6]) -> ([f64; 6], [[f64; 6]; 6]) {
    let mut v = [[0.0; 6]; 6];
    (0..6).for_each(|i| v[i][i] = 1.0);
    for _ in 0..30 {
        for p in 0..6 {
            for q in p + 1..6 {
                if a[p][q] == 0.0 {
                    continue;
                }
                let t = 0.5 * (2.0 * a[p][q]).atan2(a[q][q] - a[p][p]);
                let (s, c) = t.sin_cos();
                for row in &mut a {
                    (row[p], row[q]) = (c * row[p] - s * row[q], s * row[p] + c * row[q]);
                }
                let (rp, rq) = (a[p], a[q]);
                for k in 0..6 {
                    (a[p][k], a[q][k]) = (c * rp[k] - s * rq[k], s * rp[k] + c * rq[k]);
                }
                let (vp, vq) = (v[p], v[q]);
                for k in 0..6 {
                    (v[p][k], v[q][k]) = (c * vp[k] - s * vq[k], s * vp[k] + c * vq[k]);
                }
            }
        }
    }
    ([0, 1, 2, 3, 4, 5].map(|i| a[i][i]), v)
}

/// Returns a motion that forces excite; where they excite none, takes what is left of their work out of them.
pub fn excited<'a>(
    motions: &'a [Motion],
    layout: &Layout,
    held: &[Held],
    forces: &mut Nodal<f64>,
) -> Option<&'a Motion> {
    let (body, _) = layout.bodies();
    let mut of_node = vec![u32::MAX; forces.len()];
    for (part, nodes) in layout.nodes.iter().enumerate() {
        nodes.iter().for_each(|&n| of_node[n as usize] = body[part]);
    }
    for motion in motions {
        let own = || (0..forces.len()).filter(|&n| of_node[n] == motion.body && forces[n] != [0.0; 3]);
        let work: f64 = own().map(|n| dot(forces[n], motion.at(layout.place(n)))).sum();
        let most: f64 = own().map(|n| norm(forces[n]) * norm(motion.at(layout.place(n)))).sum();
        if work.abs() > EXCITED * most {
            return Some(motion);
        }
        let points = held.iter().flat_map(|h| &h.points).filter(|p| body[p.part as usize] == motion.body);
        let size: f64 = points.clone().map(|p| p.area * dot(motion.at(p.at), motion.at(p.at))).sum();
        for p in points.filter(|_| size > 0.0) {
            let n = shapes(p.within);
            for (a, &v) in layout.nodes[p.part as usize].iter().enumerate() {
                let rub = scale(motion.at(p.at), -work / size * p.area * n[a]);
                forces[v as usize] = add(forces[v as usize], rub);
            }
        }
    }
    None
}
