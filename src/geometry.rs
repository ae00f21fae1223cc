//! What the mesh says: reading, health, mass, hull, sections, and the analysis of poses.
//!
//! Knows nothing of specs, rules or recipes. All lengths are millimetres, all sums are in f64.

pub mod adjacency;
pub(crate) mod anchor;
pub mod cavity;
pub(crate) mod codec;
pub(crate) mod drawing;
pub mod features;
pub mod first_layer;
pub mod health;
pub mod hull;
pub mod layers;
pub mod mass;
pub(crate) mod patch;
pub mod polygon;
pub mod pose;
pub mod rays;
pub(crate) mod reach;
pub mod read;
pub mod regions;
pub mod section;
pub mod survey;
pub(crate) mod tree;
pub mod walls;
pub(crate) mod weld;
pub mod write_3mf;

/// Vectors, boxes and meshes are those of the solver.
pub use elasticity::geometry::{bounds, mesh, vector};
