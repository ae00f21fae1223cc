//! makeready: a compiler from what a printed part must do to the recipe for printing it.
//!
//! One direction only; an earlier phase never imports a later one (`tests/architecture.rs`):
//!
//! ```text
//! syntax::parse(source)            -> Tree          text to a tree with spans
//! semantics::check(tree)           -> Spec          names, units, types
//! geometry::read / survey(mesh)    -> facts         knows nothing of specs
//! field::solve(mesh, holds, loads) -> Solution      stress and displacement; knows nothing of specs
//! physics::*                       -> numbers       pure functions, one registry
//! catalogue::load(yaml)            -> Catalogue, Shop
//! rulebook::build(trees)           -> Rulebook      judgement, in our own language
//! resolve::resolve(spec, facts, knowledge) -> Resolution
//! recipe::build(resolution)        -> Recipe        plain data, every line with its reason
//! plan::plan(parts, run, workshop) -> Plan      how many, on which plates, where and when
//! render::*                        -> Markdown, YAML, JSON, SVG
//! cli                              the only part that touches files and the terminal
//! ```
//!
//! Each imports only from those before it:
//!
//! ```text
//! diag < number < quantity < leb128 < word < day < seen < planner < syntax < semantics < geometry < elasticity < field < physics < fits < catalogue < rulebook < resolve < recipe < plan < render < cli
//! ```

#![warn(missing_docs)]

pub mod catalogue;
pub mod cli;
pub(crate) mod day;
pub mod diag;
pub mod field;
pub mod fits;
/// What the mesh says, a crate of its own.
pub use ::geometry;
#[allow(dead_code, reason = "its writing half serves the build script")]
pub(crate) mod leb128;
pub(crate) mod number;
pub mod physics;
pub mod plan;
pub mod quantity;
pub mod recipe;
pub mod render;
pub mod resolve;
pub mod rulebook;
pub mod seen;
pub mod semantics;
pub mod syntax;
pub(crate) mod word;
