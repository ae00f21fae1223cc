//! A body on a grid, held: everything but the loads.

use std::sync::Arc;

use rayon::prelude::*;

use super::basis::shapes;
use super::bearing::Bearing;
use super::cut::{Columns, fill, settled_facets};
use super::grid::Grid;
use super::law::{PLACE, Stiffness};
use super::level::Spring;
use super::mate::{self, Wall};
use super::multigrid::Multigrid;
use super::parts::Layout;
use super::patch::{Region, SurfacePoint, points};
use super::stress::Gauge;
use crate::geometry::mesh::{Mesh, Point};
use crate::geometry::vector::{Vector, add, cross, dot, scale};

/// A place where the body is held.
#[derive(Debug, Clone, PartialEq)]
pub struct Hold {
    /// What refusals and reactions call it.
    pub name: String,
    /// Which part of the surface is held.
    pub on: Region,
    /// In which directions.
    pub kind: HoldKind,
}

/// In which directions a hold holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum HoldKind {
    /// Held in all directions: bonded, or clamped by a screw's head.
    Bonded,
    /// Rests on something stiff that only pushes: no friction, no gap at the start.
    Resting,
    /// Held by flats that something sits between, which only pushes: what it presses their edges with counts.
    Mating,
    /// Cannot move square to the face, slides freely along it; also a plane of symmetry.
    Sliding,
    /// Held square to an axis of the file (0, 1, 2), slides freely along it, as in a guide.
    Guided(usize),
}

impl HoldKind {
    /// Whether it only pushes.
    #[must_use]
    pub fn pushes(self) -> bool {
        matches!(self, Self::Resting | Self::Mating)
    }
}

/// What the body is made of, over a reference modulus.
#[derive(Clone, Copy)]
#[allow(clippy::large_enum_variant, reason = "there is one")]
pub enum Material<'a> {
    /// One stiffness throughout.
    Everywhere(Stiffness),
    /// By place: the mean over a cell is taken from several points in it.
    ByPlace(&'a (dyn Fn(Point) -> Stiffness + Sync)),
}

/// How to solve.
#[derive(Clone, Copy)]
pub struct Options<'a> {
    /// What the body is made of.
    pub material: Material<'a>,
    /// Radius of the ball over which stresses are averaged, mm: about a bead.
    pub ball_mm: f64,
    /// Stresses nearer to holds than this are left out, mm.
    pub off_holds_mm: f64,
    /// .. and nearer than this to these parts of the surface, mm.
    pub off_mm: f64,
    /// Parts of the surface about which nothing is to be said.
    pub off: &'a [Region],
    /// .. and nearer to inner edges sharper than `sharp_degrees`.
    pub off_edges_mm: f64,
    /// How far the faces of an edge turn toward each other, in degrees from flat, for it to count as a sharp one.
    pub sharp_degrees: f64,
    /// At most so many cells.
    pub most_cells: usize,
    /// A finer grid is not begun where it may take more work than this, in iterations times nodes.
    pub most_work: f64,
    /// Fixes the width of the cells, for tests and comparisons; otherwise found from the body's walls, and refined.
    pub cell_mm: Option<f64>,
    /// Whether to look for the lowest buckling factor.
    pub buckling: bool,
    /// What may decide: only how far the stress goes for each of these is then read off, and where; otherwise the greatest
    /// stresses by axis are.
    pub gauges: &'a [Gauge],
    /// Places kept for each of them.
    pub telling: usize,
    /// Conjugate gradients go on until the error is this part of the solution, in energy.
    pub tolerance: f64,
}

/// The tolerance where nothing else is asked. Against one a hundred times as strict, displacements and stresses of a thin shell on
/// pins and of a bracket that rests on its foot moved by 2e-6 of their size at most, reactions by 4e-5; it takes a quarter less.
const TOLERANCE: f64 = 1e-5;

impl Default for Options<'_> {
    fn default() -> Self {
        Self {
            material: Material::Everywhere(Stiffness::Isotropic { modulus: 1.0, poisson: 0.38 }),
            ball_mm: 1.0,
            off_holds_mm: 2.0,
            off_mm: 0.0,
            off: &[],
            off_edges_mm: 2.0,
            sharp_degrees: 35.0,
            most_cells: 200_000,
            most_work: f64::INFINITY,
            cell_mm: None,
            buckling: true,
            gauges: &[],
            telling: 0,
            tolerance: TOLERANCE,
        }
    }
}

/// Stiffness of an ideal hold, in reference moduli over the width of a cell: a hundred times that of the cell behind it.
const HOLD: f64 = 100.0;
/// What steadies a motion that nothing excites, as a part of the hold's stiffness.
const STEADIED: f64 = 1e-7;
/// Stiffness of what a body rests on, in reference moduli per mm: like a soft layer a sixth of a millimetre thick.
const REST: f64 = 6.0;

/// A hold's points.
pub struct Held {
    pub kind: HoldKind,
    pub points: Vec<SurfacePoint>,
    /// How many of the points each of its places has: rings under heads, bores.
    pub places: Vec<usize>,
    /// Which points press, for a body that rests.
    pub active: Vec<bool>,
    pub stiffness: f64,
    /// Stiffness in all directions besides: next to nothing, for what would otherwise be free and is not excited.
    pub steadied: f64,
}

pub struct Model {
    pub grid: Multigrid,
    pub facets: Arc<Vec<[Vector; 3]>>,
    pub columns: Arc<Columns>,
    pub held: Vec<Held>,
}

impl Held {
    fn new(hold: &Hold, mesh: &Mesh, layout: &Layout, cell_mm: f64) -> Self {
        let each = match &hold.on {
            Region::Several(all) => all.as_slice(),
            one => std::slice::from_ref(one),
        };
        let (mut places, mut all) = (Vec::new(), Vec::new());
        for on in each {
            let points = points(on, mesh, layout);
            places.push(points.len());
            all.extend(points);
        }
        let mut points: Vec<SurfacePoint> = all;
        // A shaft is round where a mesh has facets: what sits in a bore turns in it.
        for p in points.iter_mut().filter(|_| hold.kind != HoldKind::Bonded) {
            p.normal = hold.on.smooth_normal(p.at, p.normal);
        }
        let stiffness = if hold.kind.pushes() { REST } else { HOLD / cell_mm };
        Self { kind: hold.kind, active: vec![true; points.len()], points, places, stiffness, steadied: 0.0 }
    }

    /// Steadies what the holds leave free.
    pub fn steady(&mut self) {
        self.steadied = STEADIED * self.stiffness;
    }

    /// Returns the tensor of a point with what steadies it.
    fn steadied_tensor(&self, i: usize) -> [f64; 6] {
        let mut t = self.tensor(i);
        if t.iter().any(|c| *c != 0.0) {
            t[..3].iter_mut().for_each(|c| *c += self.steadied);
        }
        t
    }

    /// Returns the stiffness tensor of a point, over its area.
    pub fn tensor(&self, i: usize) -> [f64; 6] {
        let n = self.points[i].normal;
        match self.kind {
            HoldKind::Bonded => [1.0, 1.0, 1.0, 0.0, 0.0, 0.0],
            HoldKind::Guided(axis) => std::array::from_fn(|i| f64::from(u8::from(i < 3 && i != axis))),
            HoldKind::Resting | HoldKind::Mating if !self.active[i] => [0.0; 6],
            HoldKind::Resting | HoldKind::Mating | HoldKind::Sliding => {
                [n[0] * n[0], n[1] * n[1], n[2] * n[2], n[0] * n[1], n[1] * n[2], n[2] * n[0]]
            }
        }
        .map(|t| t * self.stiffness)
    }
}

/// Returns the springs of all holds, those that do not pull for now among them.
fn springs(held: &[Held]) -> Vec<Spring> {
    let points = held.iter().flat_map(|h| &h.points);
    let spring = |(p, tensor): (&SurfacePoint, [f64; 6])| Spring { part: p.part, within: p.within, tensor };
    points.zip(tensors(held)).map(spring).collect()
}

/// Returns the tensors of all holds' points, over their areas.
pub fn tensors(held: &[Held]) -> Vec<[f64; 6]> {
    let of = |h: &Held| h.points.iter().enumerate().map(|(i, p)| h.steadied_tensor(i).map(|t| t * p.area)).collect();
    held.iter().flat_map(|h| -> Vec<[f64; 6]> { of(h) }).collect()
}

/// What a hold does to the body.
#[derive(Debug, Clone, PartialEq)]
pub struct Reaction {
    /// The hold's name.
    pub name: String,
    /// The force on the body, N.
    pub newtons: Vector,
    /// About the origin, N mm.
    pub newton_mm: Vector,
}

impl Held {
    /// Returns the force of the hold on the body under a displacement, and its moment about the origin.
    pub fn reaction(&self, layout: &Layout, u: &[[f64; 3]]) -> (Vector, Vector) {
        let (mut force, mut moment) = ([0.0; 3], [0.0; 3]);
        for (i, p) in self.points.iter().enumerate() {
            let f = scale(self.traction(i, layout, u), p.area);
            (force, moment) = (add(force, f), add(moment, cross(p.at, f)));
        }
        (force, moment)
    }

    /// Returns the force of the hold on the body at a point, by area.
    fn traction(&self, i: usize, layout: &Layout, u: &[[f64; 3]]) -> Vector {
        let (t, u) = (self.tensor(i), at(layout, &self.points[i], u));
        [0, 1, 2].map(|a| -(0..3).map(|b| t[PLACE[a][b]] * u[b]).sum::<f64>())
    }

    /// Returns what presses on each of its places, nothing on some.
    pub fn bearings(&self, name: &str, layout: &Layout, u: &[[f64; 3]]) -> Vec<Bearing> {
        if self.kind == HoldKind::Mating {
            let walls: Vec<Wall> = self.points.iter().map(Wall::from).collect();
            let (newtons, newton_mm) = self.reaction(layout, u);
            return vec![
                mate::bearing(name, &walls, [0.0; 3], newtons, newton_mm).unwrap_or_else(|| Bearing::none(name)),
            ];
        }
        let ends = self.places.iter().scan(0, |end, n| {
            *end += n;
            Some((*end - n, *end))
        });
        let point = |i: usize| (self.points[i].normal, self.points[i].area, self.traction(i, layout, u));
        let of = |(from, to): (usize, usize)| {
            Bearing::of(name, (from..to).map(point)).unwrap_or_else(|| Bearing::none(name))
        };
        ends.map(of).collect()
    }

    /// Lets the points press that move into what the body rests on, and no others; `moved` tells how a point does. Returns the
    /// share of the area that changed.
    pub fn settle(&mut self, moved: impl Fn(usize) -> Vector) -> f64 {
        if !self.kind.pushes() {
            return 0.0;
        }
        let presses: Vec<bool> = self.points.iter().enumerate().map(|(i, p)| dot(moved(i), p.normal) > 0.0).collect();
        let all: f64 = self.points.iter().map(|p| p.area).sum();
        let turned = presses.iter().zip(&self.active).zip(&self.points).filter(|((now, before), _)| now != before);
        let changed: f64 = turned.map(|(_, p)| p.area).sum();
        self.active = presses;
        changed / all
    }
}

/// Returns the displacement at a point of the surface.
fn at(layout: &Layout, p: &SurfacePoint, u: &[[f64; 3]]) -> Vector {
    let n = shapes(p.within);
    layout.nodes[p.part as usize].iter().enumerate().fold([0.0; 3], |s, (a, &v)| add(s, scale(u[v as usize], n[a])))
}

impl Model {
    /// Lays a grid of cells no wider than `cell_mm` over the body.
    pub fn new(mesh: &Mesh, holds: &[Hold], options: &Options, cell_mm: f64) -> Self {
        let fine = Grid::fitted(mesh, cell_mm);
        let facets = settled_facets(mesh, &fine);
        let columns = Columns::new(&fine, &facets);
        let filled = fill(&fine, &facets);
        let layout = Layout::finest(fine, filled, &facets);
        let (material, laws) = materials(&layout, options.material);
        let held: Vec<Held> = holds.iter().map(|h| Held::new(h, mesh, &layout, cell_mm)).collect();
        let grid = Multigrid::new(layout, material, laws, &springs(&held));
        Self { grid, facets: Arc::new(facets), columns: Arc::new(columns), held }
    }

    /// Lets all points of what the body rests on press again, as before any load.
    pub fn release(&mut self) {
        for h in &mut self.held {
            h.active.fill(true);
            h.steadied = 0.0;
        }
        self.grid.restart_springs(&tensors(&self.held));
    }
}

/// Returns the material of each part, and the list of materials.
fn materials(layout: &Layout, material: Material) -> (Vec<u32>, Vec<Stiffness>) {
    let by_place = match material {
        Material::Everywhere(s) => return (vec![0; layout.cells.len()], vec![s]),
        Material::ByPlace(f) => f,
    };
    let of: Vec<Option<Stiffness>> = (0..layout.cells.len())
        .into_par_iter()
        .with_min_len(64)
        .map(|p| {
            let cell = layout.cells[p];
            let widths = layout.grid.widths(cell);
            let low = [0, 1, 2].map(|a| layout.grid.axes[a].lines[cell[a] as usize]);
            let parts: Vec<(f64, Stiffness)> = (0..27)
                .map(|i| {
                    let at = [i / 9, i / 3 % 3, i % 3];
                    (1.0, by_place([0, 1, 2].map(|a| low[a] + widths[a] * (at[a] as f64 + 0.5) / 3.0)))
                })
                .collect();
            Stiffness::mean(&parts)
        })
        .collect();
    let mut laws: Vec<Stiffness> = Vec::new();
    let material = of
        .into_iter()
        .map(|s| {
            let s = s.unwrap_or(Stiffness::Isotropic { modulus: 1.0, poisson: 0.38 });
            // Neighbours are mostly of one material; a search from the end finds it at once.
            match laws.iter().rev().take(8).position(|l| *l == s) {
                Some(back) => (laws.len() - 1 - back) as u32,
                None => {
                    laws.push(s);
                    laws.len() as u32 - 1
                }
            }
        })
        .collect();
    (material, laws)
}
