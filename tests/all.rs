//! All tests from the outside, in one binary: linking once is quicker than linking often.

mod geometry_layers;
