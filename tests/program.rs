//! The program as a user runs it, for tests from the outside.

use std::path::Path;
use std::process::{Command, Output, Stdio};

/// Runs makeready in a folder.
pub fn makeready(home: &Path, args: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_makeready"))
        .args(args)
        .current_dir(home)
        .env_remove("NO_COLOR")
        // The cache of whoever runs the tests is not theirs to touch.
        .env("MAKEREADY_CACHE", "off")
        .stdin(Stdio::null())
        .output()
        .unwrap()
}

pub fn code(out: &Output) -> i32 {
    out.status.code().unwrap()
}

pub fn stdout(out: &Output) -> String {
    String::from_utf8(out.stdout.clone()).unwrap()
}

pub fn stderr(out: &Output) -> String {
    String::from_utf8(out.stderr.clone()).unwrap()
}
