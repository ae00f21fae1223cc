//! Vectors, boxes and meshes, as the solver and the program share them.

#[path = "../geometry/bounds.rs"]
pub mod bounds;
#[path = "../geometry/mesh.rs"]
pub mod mesh;
#[path = "../geometry/vector.rs"]
pub mod vector;
