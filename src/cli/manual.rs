//! `makeready manual`: the help of every command as pages for `man`.

use std::fs;

use clap::{Command, CommandFactory};
use clap_mangen::Man;

use super::args::{Cli, ManualArgs};
use super::exit::Exit;
use super::terminal::Terminal;
use super::writing::Batch;

pub(super) fn run(args: &ManualArgs, terminal: &Terminal) -> Result<Exit, Exit> {
    let failed = |why: String| {
        terminal.say(&format!("error: {why}"));
        Exit::Misuse
    };
    let folder = &args.folder;
    fs::create_dir_all(folder).map_err(|e| failed(format!("`{}` can't be made: {}", folder.display(), e.kind())))?;
    let mut program = Cli::command();
    program.build();
    let mut batch = Batch::default();
    for (name, page) in pages(&program).map_err(|e| failed(format!("a page can't be made: {}", e.kind())))? {
        batch.add_bytes(&folder.join(name), &page).map_err(failed)?;
    }
    batch.finish().map_err(failed)?;
    Ok(Exit::Done)
}

/// The page of the program, then those of its commands, each with its file's name.
fn pages(program: &Command) -> std::io::Result<Vec<(String, Vec<u8>)>> {
    let commands = program.get_subcommands().filter(|c| !c.is_hide_set() && c.get_name() != "help");
    let named = commands.map(|command| (format!("{}-{}", program.get_name(), command.get_name()), command));
    let all = std::iter::once((program.get_name().to_owned(), program)).chain(named);
    let page = |(name, command): (String, &Command)| {
        let mut page = Vec::new();
        Man::new(command.clone().display_name(name.clone())).render(&mut page)?;
        Ok((format!("{name}.1"), page))
    };
    all.map(page).collect()
}
