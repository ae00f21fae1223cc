//! What the mesh says: reading, health, mass, hull, sections, and the analysis of poses.
//!
//! Knows nothing of specs, rules or recipes. All lengths are millimetres, all sums are in f64.

#![warn(missing_docs)]

pub mod adjacency;
pub mod anchor;
pub mod cavity;
pub mod codec;
pub mod drawing;
pub mod facetted;
pub mod features;
pub mod first_layer;
pub mod health;
pub mod hull;
pub mod layers;
pub mod mass;
pub mod patch;
pub mod polygon;
pub mod pose;
pub mod rays;
pub mod reach;
pub mod read;
pub mod regions;
#[cfg(any(test, feature = "for-tests"))]
pub mod samples;
pub mod section;
pub mod survey;
pub mod tree;
pub mod walls;
pub mod weld;
pub mod write_3mf;

/// Vectors, boxes and meshes are those of the solver.
pub use elasticity::geometry::{bounds, mesh, vector};

/// How numbers are written, as the whole program writes them.
#[allow(dead_code, reason = "what the program alone needs of it")]
#[path = "../number.rs"]
mod number;
