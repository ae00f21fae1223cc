//! `makeready schema`: the JSON Schema of the recipe for machines, for whoever reads recipes with a program.

use super::exit::Exit;
use super::terminal::Terminal;

const SCHEMA: &str = include_str!("../../grammar/recipe.schema.json");

pub(super) fn run(terminal: &Terminal) -> Result<Exit, Exit> {
    terminal.result(SCHEMA)?;
    Ok(Exit::Done)
}
