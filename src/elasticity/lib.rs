//! The elastic field of a loaded body: where stress really goes.
//!
//! A crate of its own, since it is compiled with optimisation where the rest is not, and knows no specs: a closed mesh, holds and loads in; displacements, stresses across layers of any
//! direction, reactions and the buckling factor out, each with how far it can be trusted.
//!
//! Method: linear elasticity on a rectilinear grid cut by the mesh (finite cell method, `basis`), its lines on the body's
//! flat faces (`grid`), exact sums over cut cells (`cut`), cells split at gaps (`parts`), quadratic displacements without
//! a matrix (`kernel`, `level`), conjugate gradients with a cycle over the coarser grids (`multigrid`, `smoother`). The
//! same problem on twice the spacing is one of the levels, and the difference is the band.
//!
//! How to call it: a load case is what acts at once. Give every hold and load a [`Region`] of the mesh (facets, a plane
//! face, a disc, ring or polygon on it, half a bore, an inner skin) and call [`solve`]. Stresses do not hang on the
//! modulus of a body of one material, so one solution serves all materials; displacements come times the reference
//! modulus and are divided by it. Stresses across and between the layers of any pose are asked of the [`Solution`]
//! afterwards ([`Solution::greatest`]). A body as printed (walls, layers, infill in their places) is
//! [`Material::ByPlace`], solved once for the chosen candidate. Only a `settled` solution may decide anything.
//! Displacements are small ones: whether they are is for the caller to check, with the modulus.

#![warn(missing_docs)]

mod basis;
mod bearing;
mod buckling;
mod coarsest;
mod cut;
mod element;
pub mod geometry;
mod grid;
mod kernel;
mod lanes;
mod law;
mod level;
mod lines;
mod load;
mod mate;
mod model;
mod motion;
mod multigrid;
mod parts;
mod patch;
mod refusal;
mod smoother;
mod solution;
mod stress;

pub use bearing::Bearing;
pub use law::Stiffness;
pub use load::{Load, LoadKind};
pub use model::{Hold, HoldKind, Material, Options, Reaction};
pub use patch::Region;
pub use refusal::{Reason, Refusal};
pub use solution::{
    Acting, Answer, Figure, LoadAnswer, SETTLED_STRESS, Solution, cells_through, solve, solve_each, stresses,
};
pub use stress::{
    Gauge, Measure, Peak, Stress, direction, in_layers, in_layers_beside, principal, sharp_inner_edges,
    without_pressing,
};

/// Returns a number to four figures, for a person.
fn significant(value: f64) -> String {
    if value == 0.0 || !value.is_finite() {
        return value.abs().to_string();
    }
    let magnitude = value.abs().log10().floor();
    if !(-5.0..7.0).contains(&magnitude) {
        return format!("{value:.3e}");
    }
    let text = format!("{value:.*}", (3.0 - magnitude).max(0.0) as usize);
    match text.contains('.') {
        true => text.trim_end_matches('0').trim_end_matches('.').to_owned(),
        false => text,
    }
}
