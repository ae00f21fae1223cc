//! The one integration test binary: each module is one area seen from the outside.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test fails by panicking")]
#![allow(clippy::disallowed_methods, reason = "tests write the files they try the program on")]

mod architecture;
mod bearing;
mod browser;
mod casebook;
mod catalogue;
mod cli;
mod closing;
mod conflicts;
mod diff;
mod draft;

mod figures;
mod fits_commands;
mod fitting;
mod forgiving;
mod geometry_layers;
mod geometry_readers;
mod geometry_rounds;
mod hostile;
mod jobs;
mod judgement;
mod language;
mod layout;
mod limbs;
mod limits;
mod load_pages;
mod locked;
mod look;
mod lsp;
mod many;
mod margins;
mod mating;
mod physics_properties;
mod poses;
mod practice;
mod pressed;

mod published_fits;
mod published_meshes;
mod published_physics;
mod readers;
mod recipes;
mod relations;
mod render;
mod review;
mod rulebook;
mod runs;
mod sarif;
mod schema;
mod shop;
mod shop_files;
mod strength;
mod stress;
mod told;
mod uses;
mod vocabulary;
mod weather;
mod what_if;
mod withdrawn;
mod workshop;
