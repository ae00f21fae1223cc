//! All integration tests in one binary: linking once is what makes them quick to run.

mod physics_properties;
mod published_physics;
