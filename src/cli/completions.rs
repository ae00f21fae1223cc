//! `makeready completions`: what a shell needs to complete our command line.

use clap::CommandFactory;

use super::args::{Cli, CompletionArgs};
use super::exit::Exit;
use super::terminal::Terminal;

pub(super) fn run(args: &CompletionArgs, terminal: &Terminal) -> Result<Exit, Exit> {
    let mut script = Vec::new();
    clap_complete::generate(args.shell, &mut Cli::command(), "makeready", &mut script);
    terminal.result(&String::from_utf8_lossy(&script))?;
    Ok(Exit::Done)
}
