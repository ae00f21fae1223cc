//! Loads as forces on the nodes.

use super::basis::{G, GAUSS, NODES, POINTS, shapes, whole};
use super::bearing::Bearing;
use super::level::{Level, Nodal};
use super::mate::{self, Wall};
use super::multigrid::dot as product;
use super::patch::{Region, SurfacePoint, points};
use crate::geometry::mesh::Mesh;
use crate::geometry::vector::{Vector, add, cross, dot, norm, normalise, scale, sub};

/// A load. Newtons, millimetres, megapascals.
#[derive(Debug, Clone, PartialEq)]
pub struct Load {
    /// What refusals and answers call it.
    pub name: String,
    /// What it does, and where.
    pub kind: LoadKind,
}

/// What a load does, and on which part of the surface.
#[derive(Debug, Clone, PartialEq)]
pub enum LoadKind {
    /// A force, spread evenly over the region.
    Force {
        /// Where it acts.
        on: Region,
        /// The whole force, N.
        newtons: Vector,
    },
    /// A pressure pushing on the region, square to it.
    Pressure {
        /// Where it acts.
        on: Region,
        /// Positive into the body, MPa.
        mpa: f64,
    },
    /// A pin or bearing in a bore (or a bar in a hook): pressure `p0 cos(angle)` on the half of the region it is pressed
    /// against; the pressures add up to `newtons`.
    Pin {
        /// The bore or hook.
        on: Region,
        /// Direction of the pin; its sense does not matter.
        axis: Vector,
        /// A point on the pin's axis, mm.
        centre: Vector,
        /// The whole force, square to the axis, N.
        newtons: Vector,
    },
    /// What sits between flats, and presses on them as a stiff body that only pushes.
    Mate {
        /// The flats, and rounds between them.
        on: Region,
        /// Where the force passes through, mm.
        centre: Vector,
        /// The whole force, N.
        newtons: Vector,
        /// The whole moment about the centre, N mm.
        newton_mm: Vector,
    },
    /// A torque in N mm about `axis` through the middle of the region, as traction along the surface that grows with the
    /// distance from that middle.
    Torque {
        /// Where it acts.
        on: Region,
        /// The axis turned about, right-handed.
        axis: Vector,
        /// The whole torque, N mm.
        newton_mm: f64,
    },
    /// A force on each mm³ of the body: weight, or mass times acceleration.
    Body {
        /// Density of the force, N/mm³.
        newtons_per_mm3: Vector,
    },
}

impl LoadKind {
    /// Returns the region it acts on, if it acts on the surface.
    pub fn region(&self) -> Option<&Region> {
        match self {
            Self::Force { on, .. }
            | Self::Pressure { on, .. }
            | Self::Pin { on, .. }
            | Self::Mate { on, .. }
            | Self::Torque { on, .. } => Some(on),
            Self::Body { .. } => None,
        }
    }
}

/// A load laid on a grid.
pub struct Laid {
    pub forces: Nodal<f64>,
    /// What the work of the forces is divided by to give the displacement in the load's direction: N, or N mm for a
    /// torque's turn.
    pub size: f64,
    pub total: Vector,
    /// About the origin.
    pub moment: Vector,
    pub area: f64,
    /// For a torque, the loaded patch's tangential directions, to give a displacement beside the turn.
    pub tangential: Option<Nodal<f64>>,
    /// What it presses on the body with, if it presses.
    pub bearing: Option<Bearing>,
}

/// What a pin may press aside, as a part of what it is pressed with: facets of a round that end anywhere make no more.
const ASIDE: f64 = 0.3;

/// Returns the load's forces; `None` where its region is empty, or where it presses nowhere or much of it aside.
pub fn lay(load: &LoadKind, mesh: &Mesh, level: &Level) -> Option<Laid> {
    match load {
        LoadKind::Body { newtons_per_mm3 } => body(*newtons_per_mm3, level),
        LoadKind::Force { on, newtons } => {
            let p = points(on, mesh, &level.layout);
            let area: f64 = p.iter().map(|p| p.area).sum();
            spread(level, &p, norm(*newtons), |_| scale(*newtons, 1.0 / area))
        }
        LoadKind::Pressure { on, mpa } => {
            let p = points(on, mesh, &level.layout);
            let area: f64 = p.iter().map(|p| p.area).sum();
            spread(level, &p, mpa.abs() * area, |p| scale(p.normal, -mpa))
        }
        LoadKind::Pin { on, axis, centre, newtons } => {
            let p = points(on, mesh, &level.layout);
            let (axis, way) = (normalise(*axis), normalise(*newtons));
            let outward = |p: &SurfacePoint| {
                let d = sub(p.at, *centre);
                normalise(sub(d, scale(axis, dot(d, axis))))
            };
            // In a bore the body lies outside the round, on a pin inside it.
            let bulge: f64 = p.iter().map(|p| p.area * dot(outward(p), p.normal)).sum();
            let side = if bulge > 0.0 { -1.0 } else { 1.0 };
            let radial = |p: &SurfacePoint| scale(outward(p), side);
            // Only the half that is pressed against bears.
            let bears =
                |p: &SurfacePoint| dot(radial(p), way).max(0.0) * f64::from(u8::from(dot(radial(p), p.normal) < 0.0));
            let sum: f64 = p.iter().map(|p| p.area * bears(p) * dot(radial(p), way)).sum();
            if sum <= 0.0 {
                return None;
            }
            let peak = norm(*newtons) / sum;
            let laid = spread(level, &p, norm(*newtons), |p| scale(radial(p), peak * bears(p)))?;
            // What is no half of a round, as a strip of a groove, would be pressed aside as well.
            (norm(sub(laid.total, *newtons)) <= ASIDE * norm(*newtons)).then_some(laid)
        }
        LoadKind::Mate { on, centre, newtons, newton_mm } => mating(
            &points(on, mesh, &level.layout).into_iter().map(|p| smooth(on, p)).collect::<Vec<_>>(),
            level,
            (*centre, *newtons, *newton_mm),
        ),
        LoadKind::Torque { on, axis, newton_mm } => {
            let p = points(on, mesh, &level.layout);
            let area: f64 = p.iter().map(|p| p.area).sum();
            let middle = scale(p.iter().fold([0.0; 3], |s, p| add(s, scale(p.at, p.area))), 1.0 / area);
            let axis = normalise(*axis);
            let arm = |p: &SurfacePoint| cross(axis, sub(p.at, middle));
            let polar: f64 = p.iter().map(|p| p.area * dot(arm(p), arm(p))).sum();
            if polar <= 0.0 {
                return None;
            }
            let along = spread(level, &p, 1.0, |p| scale(normalise(arm(p)), 1.0 / area))?;
            let laid = spread(level, &p, newton_mm.abs(), |p| scale(arm(p), newton_mm / polar))?;
            let sign = newton_mm.signum();
            let tangential = along.forces.into_iter().map(|f| scale(f, sign)).collect();
            Some(Laid { tangential: Some(tangential), ..laid })
        }
    }
}

/// Returns a point with the normal of the round it lies on.
fn smooth(on: &Region, p: SurfacePoint) -> SurfacePoint {
    SurfacePoint { normal: on.smooth_normal(p.at, p.normal), ..p }
}

/// Lays on what a stiff mate presses with that does a force and a moment about a place.
fn mating(p: &[SurfacePoint], level: &Level, (centre, newtons, newton_mm): (Vector, Vector, Vector)) -> Option<Laid> {
    let walls: Vec<Wall> = p.iter().map(Wall::from).collect();
    let pressures = mate::pressures(&walls, centre, newtons, newton_mm)?;
    let pressed: Vec<SurfacePoint> =
        p.iter().zip(&pressures).map(|(p, mpa)| SurfacePoint { normal: scale(p.normal, -mpa), ..*p }).collect();
    let force = norm(newtons);
    // A moment by itself turns: how far is told where it acts.
    let size = if force > 0.0 { force } else { norm(newton_mm) };
    let laid = spread(level, &pressed, size, |p| p.normal)?;
    let area: f64 = p.iter().map(|p| p.area).sum();
    let axis = normalise(newton_mm);
    let turning = |p: &SurfacePoint| scale(normalise(cross(axis, sub(p.at, centre))), 1.0 / area);
    let tangential = if force > 0.0 { None } else { Some(spread(level, p, 1.0, turning)?.forces) };
    let bearing = mate::bearing("", &walls, centre, newtons, newton_mm);
    Some(Laid { area, tangential, bearing, ..laid })
}

fn spread(
    level: &Level,
    points: &[SurfacePoint],
    size: f64,
    traction: impl Fn(&SurfacePoint) -> Vector,
) -> Option<Laid> {
    let mut forces = vec![[0.0; 3]; level.nodes()];
    let (mut total, mut moment, mut area) = ([0.0; 3], [0.0; 3], 0.0);
    for p in points {
        let f = scale(traction(p), p.area);
        if !f.iter().all(|c| c.is_finite()) {
            return None;
        }
        (total, moment, area) = (add(total, f), add(moment, cross(p.at, f)), area + p.area);
        let n = shapes(p.within);
        for (a, &v) in level.layout.nodes[p.part as usize].iter().enumerate() {
            forces[v as usize] = add(forces[v as usize], scale(f, n[a]));
        }
    }
    let acts = product(&forces, &forces) > 0.0 && size > 0.0;
    let bearing = Bearing::of("", points.iter().map(|p| (p.normal, p.area, traction(p))));
    acts.then_some(Laid { forces, size, total, moment, area, tangential: None, bearing })
}

fn body(density: Vector, level: &Level) -> Option<Laid> {
    let layout = &level.layout;
    let one = whole();
    let mut forces = vec![[0.0; 3]; level.nodes()];
    let (mut volume, mut first) = (0.0, [0.0; 3]);
    let at: Vec<([f64; 3], [f64; NODES])> = (0..POINTS)
        .map(|q| {
            let x = [GAUSS[q / (G * G)], GAUSS[q / G % G], GAUSS[q % G]];
            (x, shapes(x))
        })
        .collect();
    for p in 0..layout.cells.len() {
        let widths = layout.grid.widths(layout.cells[p]);
        let low = [0, 1, 2].map(|a| layout.grid.axes[a].lines[layout.cells[p][a] as usize]);
        let eighth = widths[0] * widths[1] * widths[2] / 8.0;
        for (q, (x, n)) in at.iter().enumerate() {
            let w = eighth
                * match layout.cut[p] {
                    u32::MAX => one[q],
                    c => f64::from(layout.weights[c as usize][q]),
                };
            volume += w;
            first = add(first, [0, 1, 2].map(|a| w * (low[a] + 0.5 * (x[a] + 1.0) * widths[a])));
            for (a, &v) in layout.nodes[p].iter().enumerate() {
                forces[v as usize] = add(forces[v as usize], scale(density, w * n[a]));
            }
        }
    }
    let total = scale(density, volume);
    (norm(total) > 0.0).then(|| Laid {
        forces,
        size: norm(total),
        total,
        moment: cross(first, density),
        area: 0.0,
        tangential: None,
        bearing: None,
    })
}
