//! Every test from the outside, in one binary.

mod language;
