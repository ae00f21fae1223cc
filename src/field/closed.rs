//! Never a number from something that is not one closed skin.

use elasticity::{Hold, Load, Options, Reason, Refusal, Solution};

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
