//! Never a number from something that is not one closed skin.

use elasticity::{Acting, Hold, Load, Options, Reason, Refusal, Solution};

use crate::geometry::health::{DefectKind, Health, examine};
use crate::geometry::mesh::Mesh;

/// Solves a load case: all loads together, on a body held by all holds.
///
/// # Errors
/// A [`Refusal`] where the mesh, the holds or the loads make no problem that has a solution.
pub fn solve(mesh: &Mesh, holds: &[Hold], loads: &[Load], options: &Options) -> Result<Solution, Refusal> {
    closed(&examine(mesh))?;
    elasticity::solve(mesh, holds, loads, options)
}

/// Solves several load cases on the same holds at once, each as [`solve`] would by itself; `take` gets the number of a case with
/// its solution, in no order, and what it returns is all that stays, in the order of the cases.
pub fn solve_each<T: Send>(
    mesh: &Mesh,
    holds: &[Hold],
    cases: &[Acting],
    options: &Options,
    take: impl Fn(usize, Result<Solution, Refusal>) -> T + Sync,
) -> Vec<T> {
    match closed(&examine(mesh)) {
        Ok(()) => elasticity::solve_each(mesh, holds, cases, options, take),
        Err(refused) => (0..cases.len()).map(|i| take(i, Err(refused.clone()))).collect(),
    }
}

/// Returns how many cells of a grid of at most so many lie through the wall that governs; none where the mesh is no solid.
pub fn cells_through(mesh: &Mesh, most_cells: usize) -> f64 {
    closed(&examine(mesh)).map_or(0.0, |()| elasticity::cells_through(mesh, most_cells))
}

fn closed(health: &Health) -> Result<(), Refusal> {
    let bad = [DefectKind::SelfIntersection, DefectKind::ShellOverlap, DefectKind::NestedShell, DefectKind::InsideOut];
    if health.closes_within_mm == Some(0.0) && health.bounds_a_solid() && !bad.iter().any(|k| health.has(*k)) {
        return Ok(());
    }
    let first = bad.iter().find_map(|k| health.defect(*k)).or_else(|| health.defects.first());
    match first {
        Some(d) => Err(Refusal::new(
            Reason::NotClosed,
            Some(d.at),
            format!("the mesh is not one closed skin ({}): {}", d.kind.name(), d.words()),
        )),
        None => Err(Refusal::new(Reason::NotClosed, None, "the mesh encloses nothing")),
    }
}
