//! Every test from the outside, in one binary: linking once is what makes them quick to run.

mod cli;
mod render;
