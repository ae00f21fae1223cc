//! Judgement: rules in makeready's own language, checked and evaluated.

pub mod value;
