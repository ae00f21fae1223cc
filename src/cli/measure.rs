//! `makeready measure`: the facts of a mesh alone.

use super::args::{MeasureArgs, ResultForm};
use super::exit::Exit;
use super::pipeline::{self, MeasureOptions};
use super::terminal::Terminal;
use super::world::World;
use crate::diag::{Diagnostic, Sources};

pub(super) fn run(args: &MeasureArgs, terminal: &Terminal) -> Result<Exit, Exit> {
    let tell = |found: Vec<Diagnostic>| {
        terminal.findings(&found, &Sources::default());
        Exit::of(&found)
    };
    let world = World::around(&args.mesh, true).map_err(|found| tell(vec![found]))?;
    let options = MeasureOptions {
        unit: args.unit.clone(),
        pose: args.pose.clone(),
        limit: args.limit.clone(),
        layer: args.layer.clone(),
        json: args.print == ResultForm::Json,
    };
    let text = pipeline::measure(&world, &args.mesh, &options).map_err(tell)?;
    terminal.result(&text)?;
    Ok(Exit::Done)
}
