//! `makeready fit`: limits and sizes, looked up by hand.

use super::args::{FitArgs, ResultForm};
use super::exit::Exit;
use super::pipeline;
use super::terminal::Terminal;

pub(super) fn run(args: &FitArgs, terminal: &Terminal) -> Result<Exit, Exit> {
    let text = pipeline::look_up_fit(&args.text.join(" "), args.print == ResultForm::Json).map_err(|failed| {
        let (found, sources) = *failed;
        terminal.findings(std::slice::from_ref(&found), &sources);
        Exit::of(&[found])
    })?;
    terminal.result(&text)?;
    Ok(Exit::Done)
}
