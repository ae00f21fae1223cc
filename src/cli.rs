//! The command line: the only part of makeready that touches files, the environment and the terminal.

#![allow(
    clippy::disallowed_methods,
    clippy::print_stderr,
    reason = "files, terminal and environment are its part, and nobody else's"
)]

mod args;
mod ask;
pub mod cache;
mod calc;
mod calibrate;
mod catalogue;
mod check;
mod compile;
mod completions;
mod coupon;
mod depfile;
mod diff;
mod digest;
mod draft;

mod exit;
mod explain;
mod fit;
mod fmt;
mod guard;
mod kept;
mod knowledge;
mod learned;
mod listing;
mod locked;
mod look;
mod lsp;
mod manual;
mod measure;
mod meshes;
mod new;
pub mod of_run;
pub mod pipeline;
mod plan;
mod record;
mod runs;
mod schema;
mod shared;
mod stress;
mod terminal;
#[cfg(test)]
mod tests;
mod withdrawn;
pub mod world;
mod writing;

use std::ffi::OsString;
use std::process::ExitCode;

use clap::Parser;

use args::{Cli, Command};
use exit::Exit;
use terminal::Terminal;

/// Runs the program on the process's own arguments and returns its exit code.
pub fn main() -> ExitCode {
    guard::guarded(run).into()
}

fn run() -> Exit {
    let cli = match Cli::try_parse_from(std::env::args_os().map(as_value)) {
        Ok(cli) => cli,
        Err(asked) => return usage(&asked),
    };
    let terminal = Terminal::new(cli.color);
    // Both sides of the `Result` are exit codes; the wrong side only means that the work stopped early.
    dispatch(&cli.command, &terminal).unwrap_or_else(|early| early)
}

/// Lets the name of a pose, `-z down`, be a value where it would be read as an option.
fn as_value(argument: OsString) -> OsString {
    let pose = argument.to_str().filter(|text| crate::geometry::pose::read(text).is_some());
    pose.map(|text| OsString::from(format!(" {text}"))).unwrap_or(argument)
}

fn dispatch(command: &Command, terminal: &Terminal) -> Result<Exit, Exit> {
    match command {
        Command::Compile(args) => compile::run(args, terminal),
        Command::Plan(args) => plan::run(args, terminal),
        Command::Record(args) => record::run(args, terminal),
        Command::Floor(args) => record::floor(args, terminal),
        Command::Check(args) => check::run(args, terminal),
        Command::Fmt(args) => fmt::run(args, terminal),
        Command::Diff(args) => diff::run(args, terminal),
        Command::Impact(args) => diff::impact::run(args, terminal),
        Command::Explain(args) => explain::run(args, terminal),
        Command::Ask(args) => ask::run(args, terminal),
        Command::Draft(args) => draft::run(args, terminal),
        Command::Catalogue(args) => catalogue::run(args, terminal),
        Command::New(args) => new::run(args, terminal),
        Command::Measure(args) => measure::run(args, terminal),
        Command::Fit(args) => fit::run(args, terminal),
        Command::Calc(args) => calc::run(args, terminal),
        Command::Stress(args) => stress::run(args, terminal),
        Command::Coupon(args) => coupon::run(args, terminal),
        Command::Calibrate(args) => calibrate::run(args, terminal),
        Command::Look(args) => look::run(args, terminal),
        Command::Lsp(args) => lsp::run(args, terminal),
        Command::Schema(args) => schema::run(args, terminal),
        Command::Completions(args) => completions::run(args, terminal),
        Command::Manual(args) => manual::run(args, terminal),
    }
}

/// Help and version are results and go to stdout; a misused command line is told on stderr.
fn usage(asked: &clap::Error) -> Exit {
    // Nothing can be said where the stream itself is closed.
    let _ = asked.print();
    if asked.use_stderr() { Exit::Misuse } else { Exit::Done }
}
