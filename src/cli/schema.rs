//! `makeready schema`: the JSON Schemas of what machines read and write, for programs and for editors that complete YAML.

use super::args::{SchemaArgs, SchemaOf};
use super::exit::Exit;
use super::terminal::Terminal;

pub(super) fn run(args: &SchemaArgs, terminal: &Terminal) -> Result<Exit, Exit> {
    terminal.result(match args.of {
        SchemaOf::Recipe => include_str!("../../grammar/recipe.schema.json"),
        SchemaOf::Shop => include_str!("../../grammar/shop.schema.json"),
        SchemaOf::Catalogue => include_str!("../../grammar/catalogue.schema.json"),
        SchemaOf::Records => include_str!("../../grammar/records.schema.json"),
    })?;
    Ok(Exit::Done)
}
