//! From data to text: diagnostics for people and machines, recipes as Markdown, HTML, YAML and JSON, figures as SVG.
//!
//! Everything here is a pure function: data in, text out. No file is read and no terminal asked.

pub(crate) mod breaks;
pub(crate) mod calc;
pub(crate) mod diagnostics;
pub(crate) mod draft;
pub(crate) mod figure;
pub(crate) mod hand;
pub mod html;
pub mod inline;
pub(crate) mod look_up;
mod machine;
pub mod markdown;
pub(crate) mod measurement;
pub mod pages;
pub(crate) mod picture;
pub(crate) mod plan;
pub(crate) mod sarif;
pub(crate) mod sheet;
pub(crate) mod stress;
pub(crate) mod sure;
pub(crate) mod traveller;
pub(crate) mod words;
pub(crate) mod wrap;
pub mod yaml;

pub use words::{hours, mass};
