//! The one integration test binary.

mod rulebook;
