//! The one integration test binary: each module is one area seen from the outside.

mod catalogue;
mod cli;
mod fits_commands;
mod geometry_layers;
mod geometry_readers;
mod language;
mod physics_properties;
mod published_fits;
mod published_meshes;
mod published_physics;
mod render;
mod rulebook;
