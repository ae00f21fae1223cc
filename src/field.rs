//! The elastic field of a loaded body: where stress really goes.
//!
//! The solver is the crate `elasticity` (see its head, `src/elasticity/lib.rs`), which is optimised in every build. Here is
//! what it needs of the rest of geometry: whether a mesh is one closed skin, and the parts of its surface by what a person
//! calls them.

mod closed;
mod laid;
mod opening;
mod place;
mod surface;

pub use closed::{cells_through, solve, solve_each};
pub use elasticity::{
    Acting, Answer, Bearing, Figure, Gauge, Hold, HoldKind, Load, LoadAnswer, LoadKind, Material, Measure, Options,
    Peak, Reaction, Reason, Refusal, Region, SETTLED_STRESS, Solution, Stiffness, Stress, in_layers, in_layers_beside,
    principal, stresses, without_pressing,
};
pub use place::{Corners, governing, most_pulled, thickness_at};
pub use surface::{
    Extent, FEW_CELLS, FINER_CELLS, JUDGED_CELLS, MOST_WORK, NEAR, OFF_SNAP_ROOTS_MM, RANKING, Round, SEEN, Surface,
    TELLING, reach,
};

#[cfg(test)]
pub(crate) mod tests;
