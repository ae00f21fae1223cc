//! The elastic field of a loaded body: where stress really goes.
//!
//! The solver is the crate `elasticity` (see its head, `src/elasticity/lib.rs`), which is optimised in every build. Here is
//! what it needs of the rest of geometry: whether a mesh is one closed skin, and the parts of its surface by what a person
//! calls them.

mod closed;
mod surface;

pub use closed::solve;
pub use elasticity::{
    Answer, Figure, Hold, HoldKind, Load, LoadAnswer, LoadKind, Material, Measure, Options, Peak, Reaction, Reason,
    Refusal, Region, Solution, Stiffness, Stress,
};
pub use surface::{Extent, Round, SPOT_MM, Surface};

#[cfg(test)]
mod tests;
