//! All tests from the outside, in one binary (it links once).

mod geometry_layers;
mod geometry_readers;
mod published_meshes;
