//! The one integration test binary: each module is one area seen from the outside.

mod catalogue;
