//! `makeready catalogue`: what is known, with values, ranges and sources.

use super::args::CatalogueArgs;
use super::exit::Exit;
use super::pipeline;
use super::terminal::Terminal;
use crate::diag::Sources;
use crate::render::pages;

pub(super) fn run(args: &CatalogueArgs, terminal: &Terminal) -> Result<Exit, Exit> {
    let page = match (&args.kind, &args.name) {
        (Some(kind), Some(name)) => pipeline::catalogue_entry(kind, name).map(|e| pages::entry(&e)),
        (kind, _) => pipeline::catalogue_table(kind.as_deref()).map(|t| pages::table(&t)),
    };
    let page = page.map_err(|found| {
        terminal.findings(std::slice::from_ref(&found), &Sources::default());
        Exit::of(&[found])
    })?;
    terminal.result(&page)?;
    Ok(Exit::Done)
}
