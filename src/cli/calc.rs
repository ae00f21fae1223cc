//! `makeready calc`: the computations that rules may call, listed, or one of them done by hand.

use super::args::{CalcArgs, ResultForm};
use super::exit::Exit;
use super::terminal::Terminal;
use crate::diag::{Diagnostic, Severity, Sources, nearest};
use crate::physics::registry::{Function, function, functions};
use crate::quantity::Quantity;
use crate::render::calc::{Entry, List, Worked};
use crate::render::yaml;

pub(super) fn run(args: &CalcArgs, terminal: &Terminal) -> Result<Exit, Exit> {
    let tell = |found: Diagnostic| {
        terminal.findings(std::slice::from_ref(&found), &Sources::default());
        Exit::of(&[found])
    };
    let unprintable = |e: String| {
        let message = format!("the result can't be put into text: {e}");
        tell(Diagnostic::new(Severity::Error, "internal/calc", message))
    };
    let text = match &args.name {
        None => {
            let list = List { functions: functions().iter().map(Entry::of).collect() };
            match args.print {
                ResultForm::Text => list.text(),
                ResultForm::Json => yaml::json(&list).map_err(unprintable)?,
            }
        }
        Some(name) => {
            let worked = work(name, &args.inputs).map_err(tell)?;
            match args.print {
                ResultForm::Text => worked.text(),
                ResultForm::Json => yaml::json(&worked).map_err(unprintable)?,
            }
        }
    };
    terminal.result(&text)?;
    Ok(Exit::Done)
}

fn misuse(message: impl Into<String>, hint: impl Into<String>) -> Diagnostic {
    Diagnostic::new(Severity::Error, "usage/calc", message).hint(hint)
}

fn work(name: &str, given: &[String]) -> Result<Worked, Diagnostic> {
    let Some(f) = function(name) else {
        let hint = match nearest(name, functions().iter().map(|f| f.name)) {
            Some(near) => format!("did you mean `{near}`?"),
            None => "`makeready calc` lists them".to_owned(),
        };
        return Err(misuse(format!("there is no computation `{name}`"), hint));
    };
    let example = Entry::of(f).example;
    let mut args: Vec<Option<Quantity>> = vec![None; f.inputs.len()];
    for text in given {
        let (at, value) = one(f, text, &example)?;
        if let Some(slot) = args.get_mut(at)
            && slot.replace(value).is_some()
        {
            return Err(misuse(format!("`{text}` gives an input a second time"), format!("write `{example}`")));
        }
    }
    let missing: Vec<&str> = f.inputs.iter().zip(&args).filter(|(_, a)| a.is_none()).map(|(p, _)| p.name).collect();
    if !missing.is_empty() {
        return Err(misuse(format!("`{name}` also needs {}", missing.join(", ")), format!("write `{example}`")));
    }
    let args: Vec<Quantity> = args.into_iter().flatten().collect();
    let result = f.call(&args).map_err(|why| misuse(why, format!("write `{example}`")))?;
    Ok(Worked::of(f, &args, result))
}

/// Reads `input=value`.
fn one(f: &Function, text: &str, example: &str) -> Result<(usize, Quantity), Diagnostic> {
    let like = || format!("write `{example}`");
    let (input, value) = text
        .split_once('=')
        .ok_or_else(|| misuse(format!("expected an input and its value, found `{text}`"), like()))?;
    let at = f.inputs.iter().position(|p| p.name == input.trim());
    let at = at.ok_or_else(|| misuse(format!("`{}` has no input `{}`", f.name, input.trim()), like()))?;
    let value =
        Quantity::parse(value.trim()).map_err(|e| misuse(format!("the value of `{}`: {e}", input.trim()), like()))?;
    Ok((at, value))
}
