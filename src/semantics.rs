//! From tree to meaning: names, units and types checked against one vocabulary.

pub mod spec;
pub mod requirements;
