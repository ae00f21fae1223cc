//! From tree to meaning: names, units and types checked against one vocabulary.
//!
//! [`vocabulary`] says which statement may stand where with which arguments; [`check`] holds a tree against it and
//! gives the typed [`spec`]. A mistake is reported once, at its place, with what to write instead.

mod agreement;
mod arguments;
mod calendar;
mod check;
mod checker;
mod choice;
mod evaluate;
mod faces;
mod fits;
pub mod form;
pub mod highlighting;
pub mod imports;
mod loads;
mod measure;
mod merge;
mod names;
mod outline;
mod part;
mod place;
mod profiles;
mod read;
pub mod reference;
pub mod requirements;
pub mod run;
mod service;
pub mod spec;
mod suggestion;
mod symbols;
mod values;
pub mod vocabulary;
mod words;

pub(crate) use check::check_keeping;
pub use check::{check, rules};
pub use imports::{LoadError, Loader, load, project_name};
pub(crate) use read::Found;
pub use requirements::{Key, Kind, NumberOf, Requirement, requirements, without};
pub(crate) use values::Value;
