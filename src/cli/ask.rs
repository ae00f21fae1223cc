//! `makeready ask`: what a spec leaves open, each question with its answers and what each would lead to.

use super::args::AskArgs;
use super::compile::options;
use super::exit::Exit;
use super::pipeline;
use super::terminal::Terminal;
use super::world::World;
use crate::diag::Sources;
use crate::render::pages;

pub(super) fn run(args: &AskArgs, terminal: &Terminal) -> Result<Exit, Exit> {
    let world = World::around(&args.spec, args.inputs.allow_outside).map_err(|found| {
        terminal.findings(std::slice::from_ref(&found), &Sources::default());
        Exit::of(&[found])
    })?;
    let options = options(&args.inputs, false);
    let mut answers = Vec::new();
    let bar = super::compile::bar(1, terminal);
    let compiled = pipeline::compile_visiting(&world, &args.spec, &options, &mut |_, _, recipe| {
        answers.push(pages::questions(recipe));
    });
    bar.finish_and_clear();
    let exit = Exit::of(&compiled.diagnostics);
    if exit != Exit::Done {
        terminal.findings(&compiled.diagnostics, &compiled.sources);
        return Err(exit);
    }
    terminal.result(&answers.join("\n"))?;
    Ok(Exit::Done)
}
