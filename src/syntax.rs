//! Text to a tree with spans: one uniform syntax for specs, profiles and rules.
//!
//! The grammar is `grammar/makeready.pest`. Several errors a file: what cannot be read is skipped to the end of its
//! statement or block, reported once, and the neighbours are kept.

mod braces;
#[allow(dead_code, reason = "its writing half serves the build script")]
pub(crate) mod index;
pub mod layout;
mod parse;
pub mod text;
pub mod tree;

pub use parse::{parse, parse_expression};
