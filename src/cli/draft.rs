//! `makeready draft`: a first spec for a mesh, and the questions it leaves.

use std::path::Path;

use super::args::{AskArgs, DraftArgs, InputArgs};
use super::exit::Exit;
use super::terminal::Terminal;
use super::world::{World, shown};
use super::writing::{Batch, file_stem};
use super::{ask, knowledge, measure};
use crate::catalogue::figures;
use crate::diag::{Diagnostic, Severity, Sources};
use crate::quantity::Length;
use crate::render::draft;

pub(super) fn run(args: &DraftArgs, terminal: &Terminal) -> Result<Exit, Exit> {
    let tell = |found: Diagnostic| {
        terminal.findings(std::slice::from_ref(&found), &Sources::default());
        Exit::of(&[found])
    };
    let spec = args.mesh.with_extension("partspec");
    if !args.print && spec.exists() {
        let message = format!("there is a `{}` already, and it is left as it is", shown(&spec));
        let hint = format!(
            "`makeready ask {}` asks what it leaves open; `--print` shows a draft without writing it",
            shown(&spec)
        );
        return Err(tell(Diagnostic::new(Severity::Error, "usage/exists", message).hint(hint)));
    }
    let text = text(args).map_err(tell)?;
    if args.print {
        terminal.result(&text)?;
        return Ok(Exit::Done);
    }
    let mut batch = Batch::default();
    batch
        .add(&spec, &text)
        .and_then(|()| batch.finish())
        .map_err(|message| tell(Diagnostic::new(Severity::Error, "file/unwritable", message)))?;
    terminal.say(&format!("{} holds what the mesh says. What it leaves open:\n", shown(&spec)));
    ask::run(&AskArgs { spec, inputs: InputArgs { no_cache: args.no_cache, ..InputArgs::default() } }, terminal)
}

fn text(args: &DraftArgs) -> Result<String, Diagnostic> {
    let world = World::around(&args.mesh, true)?;
    let file = world.asked_for(&args.mesh)?;
    let name = file.name.rsplit('/').next().unwrap_or_default().to_owned();
    let bytes = world.mesh(&file, None)?;
    let unit = args.unit.as_deref().map(measure::unit).transpose()?;
    let (found, unit_said) = measure::for_draft(bytes, &name, unit)?;
    let part =
        Path::new(&name).file_stem().map_or_else(|| "part".to_owned(), |stem| stem.to_string_lossy().into_owned());
    let wish = draft::Wish { part: &file_stem(&part), mesh: &name, unit_said: unit_said && args.unit.is_none() };
    Ok(draft::text(&found, &wish, within))
}

/// How far a hole may be from a standard part's size, as fits look for theirs.
pub(super) fn within(size: Length) -> Length {
    let catalogue = &knowledge::built_in().catalogue;
    let (share, room) = (catalogue.value(figures::MATCH_SHARE), catalogue.figure(figures::MATCH_ROOM));
    Length::mm((share * size.to_mm()).min(room.high().to_mm()).max(room.low().to_mm()))
}
