//! The `makeready` program; everything it does is in the library.

use std::process::ExitCode;

/// A job asks for memory ten thousand times; with the system's allocator a sixth of the whole time goes there.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn main() -> ExitCode {
    makeready::cli::main()
}
