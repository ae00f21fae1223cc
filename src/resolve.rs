//! From spec, mesh facts and knowledge to decisions: least total penalty, with the reason for each and what stood next.

pub mod loads;
pub mod search;
