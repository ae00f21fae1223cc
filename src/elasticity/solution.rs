//! Solving until the figures no longer hang on the grid, and what is read off a solution.

use std::sync::Arc;

use rayon::prelude::*;

use super::bearing::Bearing;
use super::buckling;
use super::cut::Columns;
use super::grid::Faces;
use super::law::Stiffness;
use super::level::Nodal;
use super::lines::thicknesses;
use super::load::{Laid, Load, lay};
use super::model::{Hold, HoldKind, Model, Options, Reaction, tensors};
use super::motion::{Motion, Unheld, excited, free_motions};
use super::multigrid::{Multigrid, Outcome, add_to, dot as product};
use super::parts::Layout;
use super::patch::Region;
use super::refusal::{Reason, Refusal, check};
use super::stress::{
    Beside, CORNERS, Field, Measure, Near, Peak, Places, Ranked, Spot, Stress, Weights, greatest, sharp_inner_edges,
    spots,
};
use crate::geometry::mesh::{Mesh, Point};
use crate::geometry::vector::{Vector, add, norm, scale, sub};

/// A figure on the grid and on one of twice the spacing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Answer {
    /// On the grid.
    pub value: f64,
    /// On the grid of twice the spacing; the difference says how far to trust the value.
    pub coarse: f64,
}

impl Answer {
    /// Returns how far apart the two are, as a part of the finer grid's.
    pub fn apart(&self) -> f64 {
        (self.value - self.coarse).abs() / self.value.abs().max(f64::MIN_POSITIVE)
    }
}

/// A greatest stress: its value and place, and its value on the coarser grid; MPa for loads in N and mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Figure {
    /// On the grid, MPa.
    pub value: f64,
    /// Where it is, mm.
    pub at: Point,
    /// On the grid of twice the spacing, MPa.
    pub coarse: f64,
}

/// What a load does to the body.
#[derive(Debug, Clone, PartialEq)]
pub struct LoadAnswer {
    /// The load's name.
    pub name: String,
    /// The mean displacement of the loaded patch in the load's direction (the work of the load over its size) times the
    /// reference modulus: N/mm. For a torque the mean tangential displacement of its patch.
    pub displacement: Answer,
    /// For a torque its turn in radians times the reference modulus.
    pub turn: Option<Answer>,
    /// What the load adds up to as a force, N; a torque adds up to next to none.
    pub force: Vector,
    /// Area of the patch it acts on, mm²; 0 for a force on the whole body.
    pub area: f64,
}

/// A solved load case. Stresses are those of the reference modulus and of any other; displacements are to be divided by
/// the modulus.
pub struct Solution {
    /// In the order of the loads.
    pub loads: Vec<LoadAnswer>,
    /// The largest first principal stress at a point (its mean over a ball of an eighth of the radius); none where gauges
    /// were asked for.
    pub principal: Option<Figure>,
    /// Mean stresses over balls where they go farthest for any of the gauges that were asked for, with their places.
    pub telling: Vec<(Point, Stress)>,
    /// How far the stress goes at most for each gauge, MPa.
    pub tops: Vec<Answer>,
    /// For layers normal to x, y and z: across them, and between them; none where gauges were asked for.
    pub layers: [[Option<Figure>; 2]; 3],
    /// In the order of the holds.
    pub reactions: Vec<Reaction>,
    /// What presses on the body: by hold, each of its places, then by load.
    pub bearings: Vec<Bearing>,
    /// What loads and reactions leave of force and moment, as a part of the loads (moments: times the body's size).
    pub imbalance: [f64; 2],
    /// The lowest factor at which the loads buckle the body, for the reference modulus (times the modulus for another);
    /// none where they press nothing, it was not asked, or the body rests on something.
    pub buckling: Option<Answer>,
    /// Whether refining the grid changed nothing that matters; only then may it decide anything.
    pub settled: bool,
    /// Whether the equations were solved at all.
    pub converged: bool,
    /// Why it is not settled.
    pub unsettled: Option<String>,
    /// How the holds leave the body free to move, where the loads do not move it so.
    pub free: Vec<String>,
    /// Cells of the grid that hold material.
    pub cells: usize,
    /// Unknown displacements solved for.
    pub unknowns: usize,
    /// Width of the cells, mm.
    pub cell_mm: f64,
    /// How many iterations the last solution took.
    pub iterations: usize,
    /// What finding it took: iterations times nodes, over both grids.
    pub work: f64,
    body: Body,
}

/// What is kept of the finest grid, to be asked again; shared by the cases that were solved on it.
struct Body {
    layout: Arc<Layout>,
    material: Arc<Vec<u32>>,
    laws: Arc<Vec<Stiffness>>,
    displacement: Nodal<f64>,
    facets: Arc<Vec<[Vector; 3]>>,
    columns: Arc<Columns>,
    off: [Arc<Near>; 4],
    beside: Beside,
    spots: Vec<Spot>,
}

/// Part of the ball's radius over which the largest principal stress is averaged.
const POINT: f64 = 0.12;
/// Cells through the governing wall at first, and how much finer the next grid is.
const CELLS_THROUGH: f64 = 2.5;
const FINER: f64 = 0.7;
/// Cells are at most this part of what is left out about holds wide, so that what happens there stays there; but at first
/// they are no more than so many.
const WIDEST: f64 = 0.75;
const FIRST_CELLS: usize = 15_000;
/// Settled: displacements and buckling within this of the coarser grid.
const SETTLED_DISPLACEMENT: f64 = 0.045;
/// Settled: stresses within this of those of the coarser grid, of their own size or, for small ones, of a part of the largest.
pub const SETTLED_STRESS: f64 = 0.15;
const SMALL: f64 = 0.25;
/// A body strained as far before it buckles does not buckle: its lowest mode is a ripple as fine as the grid.
const BUCKLED_STRAIN: f64 = 0.1;
/// Times as far it need not be known how far.
const FAR_FROM_BUCKLED: f64 = 2.0;
/// The residual of what converged, in tolerances of the error.
const CONVERGED: f64 = 10.0;
const MOST_ITERATIONS: usize = 400;
/// Changes of what a resting body presses on; the search ends when less than this share of the face changes, and until
/// then is solved only roughly.
const MOST_CHANGES: usize = 25;
const LITTLE: f64 = 0.002;
const ROUGHLY: f64 = 1e-4;
/// It begins on the coarsest of so many grids.
const SOUGHT_ON: usize = 4;
/// Work grows at least so with the number of cells.
const WORK_GROWS: f64 = 1.1;
/// How far apart places are looked at, in radii of the ball and in widths of a cell.
const BALLS_APART: f64 = 0.7;
const CELLS_APART: f64 = 0.4;
/// Columns of cells, and layers: what the grid itself may take.
const MOST_COLUMNS: f64 = 250_000.0;

/// What acts at once, of several load cases on the same holds.
#[derive(Clone, Copy)]
pub struct Acting<'a> {
    /// The loads.
    pub loads: &'a [Load],
    /// Parts of the surface about which nothing is to be said.
    pub off: &'a [Region],
    /// As far from them nothing is said, mm.
    pub off_mm: f64,
    /// Parts of the surface that something presses on, and how far beside each, mm, what presses decides nothing by
    /// itself: gauges count only what pulls there.
    pub beside: &'a [(Region, f64)],
    /// Whether to look for the lowest buckling factor.
    pub buckling: bool,
}

/// Solves a load case: all loads together, on a body held by all holds.
///
/// # Errors
/// A [`Refusal`] where the mesh, the holds or the loads make no problem that has a solution.
pub fn solve(mesh: &Mesh, holds: &[Hold], loads: &[Load], options: &Options) -> Result<Solution, Refusal> {
    let acting = Acting { loads, off: options.off, off_mm: options.off_mm, beside: &[], buckling: options.buckling };
    solve_each(mesh, holds, &[acting], options, |_, found| found).swap_remove(0)
}

/// Solves several load cases on the same holds, each as [`solve`] would by itself, bit by bit: the grid, its stiffness and the
/// cycle over the coarser grids are made once for all that are solved on cells of a width. What `options` say of buckling
/// and of what is left out, each case says itself. `take` gets the number of a case with its solution, in no order, and what it
/// returns is all that stays, in the order of the cases.
pub fn solve_each<T: Send>(
    mesh: &Mesh,
    holds: &[Hold],
    cases: &[Acting],
    options: &Options,
    take: impl Fn(usize, Result<Solution, Refusal>) -> T + Sync,
) -> Vec<T> {
    let refused = |(i, c): (usize, &Acting)| check(mesh, holds, c.loads, options).err().map(|why| take(i, Err(why)));
    let mut answers: Vec<Option<T>> = cases.iter().enumerate().map(refused).collect();
    if answers.iter().all(Option::is_some) {
        return answers.into_iter().flatten().collect();
    }
    let wall = governing_wall(mesh);
    let finest = finest_width(mesh, options.most_cells);
    let narrow = WIDEST * options.off_holds_mm.max(options.ball_mm);
    let bearable = if options.most_cells <= FIRST_CELLS { finest } else { finest_width(mesh, FIRST_CELLS) };
    let wanted = (wall / CELLS_THROUGH).min(narrow.max(bearable));
    let mut width = options.cell_mm.unwrap_or(wanted).max(finest);
    loop {
        let open: Vec<(usize, Acting)> =
            cases.iter().copied().enumerate().filter(|&(i, _)| answers[i].is_none()).collect();
        if open.is_empty() {
            return answers.into_iter().flatten().collect();
        }
        let next = (FINER * width).max(finest);
        let last = options.cell_mm.is_some() || next > 0.9 * width;
        let bearable = |s: &Solution| s.work_on(s.cells as f64 * (width / next).powi(3)) <= options.most_work;
        let done = |i: usize, mut found: Result<Solution, Refusal>| {
            if !last && found.as_ref().is_ok_and(|s| !s.settled && bearable(s)) {
                return None;
            }
            if let Some(why) = found.as_mut().ok().and_then(|s| s.unsettled.as_mut()).filter(|_| wall < 2.0 * width) {
                why.push_str(&format!(
                    "; the wall of {} mm has cells of {} mm, and there may be no more of them",
                    super::significant(wall),
                    super::significant(width)
                ));
            }
            Some(take(i, found))
        };
        let found = solve_at(mesh, holds, &open, options, width, done);
        for ((i, _), answer) in open.into_iter().zip(found) {
            answers[i] = answer;
        }
        width = next;
    }
}

/// Returns how many cells of a grid of at most so many lie through the wall that governs.
pub fn cells_through(mesh: &Mesh, most_cells: usize) -> f64 {
    governing_wall(mesh) / finest_width(mesh, most_cells)
}

/// Returns how thick the material is behind the tenth of the surface that has the thinnest, mm.
fn governing_wall(mesh: &Mesh) -> f64 {
    let facets: Vec<_> = (0..mesh.triangles.len()).map(|t| mesh.corners(t)).collect();
    let (b, size) = (mesh.bounds(), mesh.bounds().size());
    let all = thicknesses(&facets, b.min, b.max, size[0].max(size[1]).max(size[2]) / 120.0);
    let total: f64 = all.iter().map(|t| t.1).sum();
    let mut sum = 0.0;
    let tenth = all.iter().find(|(_, area)| {
        sum += area;
        sum >= 0.1 * total
    });
    tenth.map_or(size[0].min(size[1]).min(size[2]), |t| t.0)
}

/// Returns the least width of cells that keeps to their number and to a bearable grid.
fn finest_width(mesh: &Mesh, most: usize) -> f64 {
    let size = mesh.bounds().size();
    let volume: f64 = (0..mesh.triangles.len())
        .map(|t| {
            let [a, b, c] = mesh.corners(t);
            crate::geometry::vector::dot(a, crate::geometry::vector::cross(b, c)) / 6.0
        })
        .sum();
    let faces = Faces::of(mesh);
    let count = |h: f64| faces.grid(h).about(volume.abs(), faces.slanted_mm2(), h);
    let (mut low, mut high) = (1e-6, size[0] + size[1] + size[2]);
    // Beyond this many columns a grid is not laid to be counted.
    low = f64::max(low, (size[0] * size[1] / MOST_COLUMNS).sqrt());
    for _ in 0..30 {
        let middle = (low * high).sqrt();
        if count(middle) > most as f64 { low = middle } else { high = middle }
    }
    high
}

/// Load cases solved side by side: more would only hold more room.
const SIDE_BY_SIDE: usize = 4;

/// Solves numbered cases on cells of a given width and on twice that; `take` gets each, and what it returns stays.
fn solve_at<T: Send>(
    mesh: &Mesh,
    holds: &[Hold],
    cases: &[(usize, Acting)],
    options: &Options,
    width: f64,
    take: impl Fn(usize, Result<Solution, Refusal>) -> T + Sync,
) -> Vec<T> {
    let all = |why: Refusal| cases.iter().map(|(i, _)| take(*i, Err(why.clone()))).collect();
    let mut model = Model::new(mesh, holds, options, width);
    if let Some(bad) = model.grid.levels[0].laws.iter().find(|l| !l.is_sound()) {
        return all(Refusal::new(Reason::Material, None, format!("a stiffness is not positive: {bad:?}")));
    }
    let common = keep_off(mesh, holds, options);
    let places = |l: usize| {
        // Within a cell stress is next to linear: as far apart as a ball asks for, and no nearer than a cell can tell.
        let apart = (BALLS_APART * options.ball_mm).max(CELLS_APART * width * (1 + l) as f64);
        Places::new(&field_of(&model, l, &Vec::new()), apart, &common)
    };
    let (finer, wider) = rayon::join(|| places(0), || places(1));
    let places = [finer, wider];
    if holds.iter().any(|h| h.kind.pushes()) {
        // What a body presses on hangs on what acts: one after the other, each from the start.
        let one = |&(i, acting): &(usize, Acting)| {
            model.release();
            let found = steady(&mut model).and_then(|motions| {
                let on = Grids { mesh, holds, options, width, common: &common, places: &places, motions: &motions };
                on.rested(&mut model, acting)
            });
            take(i, found)
        };
        return cases.iter().map(one).collect();
    }
    let motions = match steady(&mut model) {
        Ok(motions) => motions,
        Err(why) => return all(why),
    };
    let on = Grids { mesh, holds, options, width, common: &common, places: &places, motions: &motions };
    let one = |&(i, acting): &(usize, Acting)| take(i, on.solved(&model, acting));
    cases.chunks(SIDE_BY_SIDE).flat_map(|few| few.par_iter().map(one).collect::<Vec<_>>()).collect()
}

/// What load cases on the same grids have in common.
struct Grids<'a> {
    mesh: &'a Mesh,
    holds: &'a [Hold],
    options: &'a Options<'a>,
    width: f64,
    common: &'a [Arc<Near>; 3],
    /// Where stress is looked at, on both.
    places: &'a [Places; 2],
    motions: &'a [Motion],
}

/// A load case laid on the grids, and its displacements on each as they are found.
struct Case {
    laid: Vec<Laid>,
    /// By level: the finer grid, the coarser one, and those below it where what presses is sought.
    forces: Vec<Nodal<f64>>,
    moved: Vec<Nodal<f64>>,
    work: f64,
}

impl Case {
    /// Solves on the finer grid (0), the coarser one (1), or one below it.
    fn solve(&mut self, grid: &Multigrid, l: usize, tolerance: f64) -> Outcome {
        let outcome = grid.solve(l, &self.forces[l], &mut self.moved[l], tolerance, MOST_ITERATIONS);
        self.work += (outcome.iterations * grid.levels[l].nodes()) as f64;
        outcome
    }

    /// Starts a grid from what the next coarser one has found.
    fn refine(&mut self, grid: &Multigrid, l: usize) {
        self.moved[l] = grid.refine(l, &self.moved[l + 1]);
    }
}

impl Grids<'_> {
    /// Lays a case on as many grids.
    fn laid(&self, model: &Model, acting: Acting, grids: usize) -> Result<Case, Refusal> {
        let laid = lay_all(self.mesh, acting.loads, model)?;
        let mut total = vec![[0.0; 3]; model.grid.levels[0].nodes()];
        for l in &laid {
            add_to(&mut total, 1.0, &l.forces);
        }
        unmoved(model, self.motions, &mut total)?;
        let mut forces = vec![total];
        for l in 1..grids {
            forces.push(model.grid.coarsen(l - 1, &forces[l - 1]));
        }
        let moved = forces.iter().map(|f| vec![[0.0; 3]; f.len()]).collect();
        Ok(Case { laid, forces, moved, work: 0.0 })
    }

    fn solved(&self, model: &Model, acting: Acting) -> Result<Solution, Refusal> {
        let mut case = self.laid(model, acting, 2)?;
        case.solve(&model.grid, 1, self.options.tolerance);
        case.refine(&model.grid, 0);
        self.read(model, acting, case)
    }

    /// Solves a case of a body that rests on something.
    fn rested(&self, model: &mut Model, acting: Acting) -> Result<Solution, Refusal> {
        let mut case = self.laid(model, acting, SOUGHT_ON.min(model.grid.levels.len()))?;
        press(model, &mut case, self.options.tolerance)?;
        self.read(model, Acting { buckling: false, ..acting }, case)
    }

    /// Solves on the finer grid, and reads off both.
    fn read(&self, model: &Model, acting: Acting, mut case: Case) -> Result<Solution, Refusal> {
        let options = self.options;
        let outcome = case.solve(&model.grid, 0, options.tolerance);
        let Case { laid, moved, work, .. } = case;
        let mut moved = moved.into_iter();
        let (fine, coarse) = (moved.next().unwrap_or_default(), moved.next().unwrap_or_default());
        let carried = model.grid.refine(0, &coarse);
        let answers = acting.loads.iter().zip(&laid).map(|(load, l)| answer(load, l, &fine, &carried)).collect();
        let reactions = reactions(model, self.holds, &fine);
        let bearings = bearings(model, self.holds, acting.loads, &laid, &fine);
        let imbalance = imbalance(self.mesh, &laid, &reactions);
        let own = acting.off.iter().flat_map(|on| triangles(self.mesh, on)).collect();
        let [bonded, edges, corners] = self.common;
        let off = [bonded.clone(), edges.clone(), corners.clone(), Arc::new(Near::new(own, acting.off_mm))];
        let beside = Beside::new(acting.beside.iter().map(|(on, mm)| (triangles(self.mesh, on), *mm)).collect());
        let [finer, wider] = self.places;
        let on = |l, u, places| {
            let field = field_of(model, l, u);
            Reading { spots: spots(&field, places, &off, self.common.len()), field, off: &off, options }
        };
        let (reading, coarser) = (on(0, &fine, finer), on(1, &coarse, wider));
        let (mut telling, mut tops, mut figures) = (Vec::new(), Vec::new(), vec![None; 7]);
        if options.gauges.is_empty() {
            figures = reading.figures().into_iter().zip(coarser.figures()).map(|(f, c)| figure(f, c)).collect();
        } else {
            let (ranked, wider) = (reading.ranked(&beside), coarser.ranked(&beside));
            tops =
                ranked.tops().into_iter().zip(wider.tops()).map(|(value, coarse)| Answer { value, coarse }).collect();
            telling = ranked.telling(&reading.field, &off, &beside, options.telling);
        }
        let spots = reading.spots;
        // What is stressed so much before it buckles that it never does.
        let stressed = |s: &Stress| super::stress::principal(s).iter().map(|p| p.abs()).fold(0.0, f64::max);
        let most = telling.iter().map(|(_, s)| stressed(s)).fold(0.0, f64::max);
        let far = if most > 0.0 { FAR_FROM_BUCKLED * BUCKLED_STRAIN / most } else { f64::INFINITY };
        let buckling = if acting.buckling { lowest_factor(model, &coarse, &fine, far) } else { None };
        let mut free: Vec<String> = self.motions.iter().map(Motion::words).collect();
        free.dedup();
        let finest = &model.grid.levels[0];
        let mut solution = Solution {
            loads: answers,
            principal: figures[0],
            telling,
            tops,
            layers: [[figures[1], figures[2]], [figures[3], figures[4]], [figures[5], figures[6]]],
            reactions,
            bearings,
            imbalance,
            buckling,
            settled: false,
            converged: outcome.residual <= CONVERGED * options.tolerance,
            unsettled: None,
            free,
            cells: finest.layout.cells.len(),
            unknowns: 3 * finest.nodes(),
            cell_mm: self.width,
            iterations: outcome.iterations,
            work,
            body: Body {
                layout: finest.layout.clone(),
                material: finest.material.clone(),
                laws: finest.laws.clone(),
                displacement: fine,
                facets: model.facets.clone(),
                columns: model.columns.clone(),
                off,
                beside,
                spots,
            },
        };
        solution.unsettled = why_unsettled(&solution, outcome.residual / options.tolerance);
        solution.settled = solution.unsettled.is_none();
        Ok(solution)
    }
}

/// Steadies the motions that the holds leave free, and returns them.
fn steady(model: &mut Model) -> Result<Vec<Motion>, Refusal> {
    let motions = free_motions(&model.grid.levels[0].layout, &model.held)
        .map_err(|Unheld(at)| loose(Some(at), "nothing holds it"))?;
    if !motions.is_empty() && model.held.iter().all(|h| h.steadied == 0.0) {
        model.held.iter_mut().for_each(super::model::Held::steady);
        model.grid.change_springs(&tensors(&model.held));
    }
    Ok(motions)
}

/// Refuses forces that do work on a motion the holds leave free; takes what is left of that work out of them.
fn unmoved(model: &Model, motions: &[Motion], total: &mut Nodal<f64>) -> Result<(), Refusal> {
    match excited(motions, &model.grid.levels[0].layout, &model.held, total) {
        None => Ok(()),
        Some(motion) => {
            let how = format!(
                "it can {}, and the loads push it that way: say what stops that, a second `fixed at` or `rests on` \
                 (a pin, a key, a second screw, a face it stands against)",
                motion.words()
            );
            Err(loose(motion.place(&model.held), &how))
        }
    }
}

fn loose(at: Option<Point>, how: &str) -> Refusal {
    Refusal::new(Reason::Loose, at, format!("the holds leave the body free to move: {how}"))
}

fn lay_all(mesh: &Mesh, loads: &[Load], model: &Model) -> Result<Vec<Laid>, Refusal> {
    let nowhere = "it presses nowhere, or aside (what is named there is no round that faces it: name a place and how far across, or the \
                   fit), or is not a finite one";
    let lay =
        |l: &Load| lay(&l.kind, mesh, &model.grid.levels[0]).ok_or_else(|| Refusal::new(Reason::Load, None, nowhere));
    loads.iter().map(lay).collect()
}

/// Finds where a resting body presses: from coarse grids, on which that costs little, to the finest, on which little changes.
fn press(model: &mut Model, case: &mut Case, tolerance: f64) -> Result<(), Refusal> {
    for l in (0..case.forces.len()).rev() {
        if l + 1 < case.forces.len() {
            case.refine(&model.grid, l);
        }
        case.solve(&model.grid, l, ROUGHLY);
        for _ in 0..MOST_CHANGES {
            let before: Vec<Vec<bool>> = model.held.iter().map(|h| h.active.clone()).collect();
            let changed = settle(model, l, &case.moved[l]);
            if changed == 0.0 {
                break;
            }
            let motions = steady(model).and_then(|motions| unmoved(model, &motions, &mut case.forces[0].clone()));
            if let Err(loose) = motions {
                // A grid too coarse to tell is none to be refused by.
                if l < 2 {
                    return Err(loose);
                }
                model.held.iter_mut().zip(before).for_each(|(h, active)| h.active = active);
                break;
            }
            model.grid.change_springs(&tensors(&model.held));
            case.solve(&model.grid, l, ROUGHLY);
            if changed < LITTLE {
                break;
            }
        }
        if l == 1 {
            case.solve(&model.grid, 1, tolerance);
        }
    }
    Ok(())
}

/// Lets press what moves into what the body rests on by a level's displacement, and nothing else; returns how much that changed
/// at most, as a share of the hold.
fn settle(model: &mut Model, l: usize, moved: &Nodal<f64>) -> f64 {
    let level = &model.grid.levels[l];
    let mut first = 0;
    let mut changed = 0.0_f64;
    for hold in &mut model.held {
        changed = changed.max(hold.settle(|i| level.moved_at(first + i, moved)));
        first += hold.points.len();
    }
    changed
}

fn answer(load: &Load, laid: &Laid, fine: &Nodal<f64>, coarse: &Nodal<f64>) -> LoadAnswer {
    let work =
        Answer { value: product(&laid.forces, fine) / laid.size, coarse: product(&laid.forces, coarse) / laid.size };
    let tangential = laid.tangential.as_ref().map(|t| Answer { value: product(t, fine), coarse: product(t, coarse) });
    LoadAnswer {
        name: load.name.clone(),
        displacement: tangential.unwrap_or(work),
        turn: tangential.map(|_| work),
        force: laid.total,
        area: laid.area,
    }
}

fn reactions(model: &Model, holds: &[Hold], u: &Nodal<f64>) -> Vec<Reaction> {
    let of = |(hold, held): (&Hold, &super::model::Held)| {
        let (newtons, newton_mm) = held.reaction(&model.grid.levels[0].layout, u);
        Reaction { name: hold.name.clone(), newtons, newton_mm }
    };
    holds.iter().zip(&model.held).map(of).collect()
}

fn bearings(model: &Model, holds: &[Hold], loads: &[Load], laid: &[Laid], u: &Nodal<f64>) -> Vec<Bearing> {
    let layout = &model.grid.levels[0].layout;
    let held = holds.iter().zip(&model.held).flat_map(|(hold, held)| held.bearings(&hold.name, layout, u));
    let laid = loads
        .iter()
        .zip(laid)
        .filter_map(|(load, laid)| laid.bearing.as_ref().map(|b| Bearing { of: load.name.clone(), ..b.clone() }));
    held.chain(laid).collect()
}

fn imbalance(mesh: &Mesh, laid: &[Laid], reactions: &[Reaction]) -> [f64; 2] {
    let sum = |list: &mut dyn Iterator<Item = Vector>| list.fold([0.0; 3], add);
    let force = sum(&mut laid.iter().map(|l| l.total).chain(reactions.iter().map(|r| r.newtons)));
    let moment = sum(&mut laid.iter().map(|l| l.moment).chain(reactions.iter().map(|r| r.newton_mm)));
    let b = mesh.bounds();
    // Loads without a resultant (a torque, a pressure inside) are measured by what they do locally.
    let size: f64 = laid.iter().map(|l| if l.tangential.is_some() { l.size / b.diagonal() } else { l.size }).sum();
    [norm(force) / size, norm(sub(moment, crate::geometry::vector::cross(b.centre(), force))) / (size * b.diagonal())]
}

fn triangles(mesh: &Mesh, on: &Region) -> Vec<[Vector; 3]> {
    on.pieces(mesh).into_iter().flat_map(|(_, p)| strips(p)).collect()
}

/// Returns a convex polygon as triangles from side to side: those of a fan about one corner would each reach across it.
fn strips(p: super::cut::Polygon) -> impl Iterator<Item = [Vector; 3]> {
    let last = p.count - 1;
    (0..p.count - 2).map(move |k| {
        let (first, end) = (k.div_ceil(2), last - k / 2);
        let between = if k % 2 == 0 { first + 1 } else { end - 1 };
        [first, between, end].map(|corner| p.corners[corner])
    })
}

/// Returns what all cases keep away from: bonded holds, sharp inner edges, and where a hold ends in such an edge (the places of
/// [`CORNERS`]): of a section there nothing would be seen from either side.
fn keep_off(mesh: &Mesh, holds: &[Hold], options: &Options) -> [Arc<Near>; 3] {
    let bonded: Vec<[Vector; 3]> =
        holds.iter().filter(|h| h.kind == HoldKind::Bonded).flat_map(|h| triangles(mesh, &h.on)).collect();
    let edges: Vec<[Vector; 3]> =
        sharp_inner_edges(mesh, options.sharp_degrees).into_iter().map(|[a, b]| [a, b, b]).collect();
    let on_a_hold = Near::new(bonded.clone(), ON_A_HOLD);
    let middle = |[a, b, _]: &[Vector; 3]| scale(add(*a, *b), 0.5);
    let corners = edges.iter().filter(|edge| on_a_hold.touches(middle(edge))).copied().collect();
    [
        Arc::new(Near::new(bonded, options.off_holds_mm)),
        Arc::new(Near::new(edges, options.off_edges_mm)),
        Arc::new(Near::new(corners, options.off_holds_mm)),
    ]
}

/// An edge so near a hold is its border, mm.
const ON_A_HOLD: f64 = 1e-3;

/// What is read off a level.
struct Reading<'a> {
    field: Field<'a>,
    spots: Vec<Spot>,
    off: &'a [Arc<Near>; 4],
    options: &'a Options<'a>,
}

/// Returns the field of a displacement on a level.
fn field_of<'a>(model: &'a Model, l: usize, displacement: &'a Nodal<f64>) -> Field<'a> {
    let level = &model.grid.levels[l];
    Field {
        layout: &level.layout,
        material: &level.material,
        laws: &level.laws,
        displacement,
        facets: &model.facets,
        columns: &model.columns,
        fine: &model.grid.levels[0].layout.grid,
    }
}

impl Reading<'_> {
    /// Returns the greatest stresses: principal, then across and between the layers by axis.
    fn figures(&self) -> Vec<Option<Peak>> {
        let most = |m: Measure, radius: f64| greatest(&self.field, &self.spots, m, radius, self.off);
        let mut values = vec![most(Measure::Principal, POINT * self.options.ball_mm)];
        for axis in [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]] {
            values.extend([Measure::Across(axis), Measure::Between(axis)].map(|m| most(m, self.options.ball_mm)));
        }
        values
    }

    fn ranked(&self, beside: &Beside) -> Ranked {
        let [_, _, corners, _] = self.off;
        Ranked::new(&self.field, &self.spots, self.options.gauges.to_vec(), self.options.ball_mm, (beside, corners))
    }
}

fn figure(fine: Option<Peak>, coarse: Option<Peak>) -> Option<Figure> {
    let fine = fine?;
    Some(Figure { value: fine.value, at: fine.at, coarse: coarse.map_or(0.0, |c| c.value) })
}

fn lowest_factor(model: &Model, coarse: &Nodal<f64>, fine: &Nodal<f64>, far: f64) -> Option<Answer> {
    let first = buckling::lowest(&model.grid, 1, coarse, None, far)?;
    let start = model.grid.refine(0, &first.shape);
    let second = buckling::lowest(&model.grid, 0, fine, Some(start), far)?;
    Some(Answer { value: second.factor, coarse: first.factor })
}

/// Returns why a solution is not settled, or nothing.
///
/// The residual is that of the finest grid, in tolerances.
fn why_unsettled(s: &Solution, residual: f64) -> Option<String> {
    if residual.is_nan() || residual > CONVERGED {
        return Some("the equations could not be solved: part of the body is hardly held".to_owned());
    }
    if s.loads.iter().any(|l| l.displacement.apart() > SETTLED_DISPLACEMENT) {
        return Some("the displacement still hangs on the grid".to_owned());
    }
    let largest = s.tops.iter().map(|t| t.value).fold(s.principal.map_or(0.0, |p| p.value.abs()), f64::max);
    let buckles = s.buckling.filter(|b| b.value * largest < BUCKLED_STRAIN);
    if buckles.is_some_and(|b| b.apart() > 2.0 * SETTLED_DISPLACEMENT) {
        return Some("the buckling factor still hangs on the grid".to_owned());
    }
    // The principal stress at a point has its own band: near a rim it may hang on the grid where means no longer do.
    let figures = || s.layers.iter().flatten().flatten();
    let largest = figures().map(|f| f.value.abs()).fold(0.0, f64::max);
    let off = |f: &&Figure| (f.value - f.coarse).abs() > SETTLED_STRESS * f.value.abs().max(SMALL * largest);
    if s.apart() > SETTLED_STRESS {
        return Some(s.apart_words());
    }
    figures().find(off).map(|f| {
        let at = f.at.map(super::significant).join(", ");
        format!("the stress at ({at}) still hangs on the grid")
    })
}

impl Body {
    fn field(&self) -> Field<'_> {
        Field {
            layout: &self.layout,
            material: &self.material,
            laws: &self.laws,
            displacement: &self.displacement,
            facets: &self.facets,
            columns: &self.columns,
            fine: &self.layout.grid,
        }
    }
}

impl Solution {
    /// Returns the greatest mean of a measure over balls of a radius, away from holds and sharp inner edges: for layers
    /// of any direction, without solving again.
    pub fn greatest(&self, measure: Measure, radius_mm: f64) -> Option<Peak> {
        greatest(&self.body.field(), &self.body.spots, measure, radius_mm, &self.body.off)
    }

    /// Returns what solving on so many cells may take, in iterations times nodes.
    pub fn work_on(&self, cells: f64) -> f64 {
        self.work * (cells / self.cells.max(1) as f64).max(1.0).powf(WORK_GROWS)
    }

    /// Returns how far apart the greatest stresses of the two grids are at most for any gauge, as a part of the finer grid's.
    pub fn apart(&self) -> f64 {
        self.tops.iter().map(Answer::apart).fold(0.0, f64::max)
    }

    /// Says so.
    pub fn apart_words(&self) -> String {
        let worst = self.tops.iter().max_by(|a, b| a.apart().total_cmp(&b.apart()));
        worst.map_or(String::new(), |t| {
            format!(
                "the greatest stress still hangs on the grid: {} MPa, and {} MPa on cells twice as wide",
                super::significant(t.value),
                super::significant(t.coarse)
            )
        })
    }

    /// Returns the mean stress over the part of a ball within the body, as it is judged: at the rim of what is left out about a
    /// hold, that of its edge.
    pub fn stress(&self, centre: Point, radius_mm: f64) -> Option<Stress> {
        let points = super::stress::ball(400);
        let [_, _, corners, _] = &self.body.off;
        self.body.field().judged(centre, radius_mm, &points, corners)
    }

    /// Whether a place lies beside what something presses on: what presses there is a matter of bearing.
    pub fn is_beside(&self, p: Point) -> bool {
        self.body.beside.holds(p)
    }

    /// Returns the stress at a point of the body: to be looked at, not judged by, since at a point it hangs on the grid.
    pub fn stress_at(&self, p: Point) -> Option<Stress> {
        self.body.field().stress(p)
    }

    /// Returns the displacement at a point of the body, times the reference modulus.
    pub fn displacement(&self, p: Point) -> Option<Vector> {
        let field = self.body.field();
        let part = field.part(p)?;
        Some(field.displacement_in(part, self.body.layout.grid.within(self.body.layout.cells[part], p)))
    }
}

/// Returns the mean stresses of several solutions over balls about some places, by solution and place; none where a place is left
/// out (nothing is to be said there, or it is too near a hold) or not in the body. What of a ball lies in the body is found once
/// for all that were solved on the same grid.
pub fn stresses(solutions: &[&Solution], places: &[Point], radius_mm: f64) -> Vec<Vec<Option<Stress>>> {
    let points = super::stress::ball(400);
    let on_the_grid_of = |one: &Solution| {
        let same = |s: &&Solution| Arc::ptr_eq(&s.body.layout, &one.body.layout);
        solutions.iter().position(same).unwrap_or_default()
    };
    let grids: Vec<usize> = solutions.iter().map(|one| on_the_grid_of(one)).collect();
    let at = |&p: &Point| -> Vec<Option<Stress>> {
        let mut known: Vec<Option<[Option<Weights>; 2]>> = solutions.iter().map(|_| None).collect();
        let of = |(one, &grid): (&&Solution, &usize)| {
            let said = !one.body.off.iter().any(|n| n.touches(p));
            let weights = || one.body.field().judged_by(p, radius_mm, &points, &one.body.off[CORNERS]);
            said.then(|| one.body.field().judged_as(known[grid].get_or_insert_with(weights))).flatten()
        };
        solutions.iter().zip(&grids).map(of).collect()
    };
    let by_place: Vec<Vec<Option<Stress>>> = places.par_iter().with_min_len(2).map(at).collect();
    (0..solutions.len()).map(|s| by_place.iter().map(|of| of[s]).collect()).collect()
}
