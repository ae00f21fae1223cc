//! From data to text: diagnostics for people and machines, recipes as Markdown, HTML, YAML and JSON, figures as SVG.
//!
//! Everything here is a pure function: data in, text out. No file is read and no terminal asked.

pub mod diagnostics;
pub mod figure;
pub mod html;
pub mod inline;
mod machine;
pub mod markdown;
pub mod measurement;
pub mod pages;
pub mod picture;
pub mod sheet;
pub mod words;
pub mod wrap;
pub mod yaml;
