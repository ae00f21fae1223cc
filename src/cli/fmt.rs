//! `makeready fmt`: the canonical layout of specs and rules.

use std::io::Read;
use std::path::{Path, PathBuf};

use super::args::FmtArgs;
use super::check::files;
use super::exit::Exit;
use super::terminal::Terminal;
use super::world::shown;
use super::writing::Batch;
use crate::diag::{Diagnostic, Severity, Source, Sources};
use crate::syntax::layout::layout;

/// Largest text taken from stdin, bytes: as large as a spec may be.
const MOST_FROM_STDIN: u64 = 16 << 20;

pub(super) fn run(args: &FmtArgs, terminal: &Terminal) -> Result<Exit, Exit> {
    if args.paths == [PathBuf::from("-")] {
        return from_stdin(args.check, terminal);
    }
    let (files, mut found) = files(&args.paths);
    let mut sources = Sources::default();
    let (mut batch, mut changed, mut seen) = (Batch::default(), Vec::new(), 0);
    for file in files.iter().filter(|file| is_laid_out(file)) {
        seen += 1;
        let Some((old, new)) = laid_out(file, &mut sources, &mut found) else { continue };
        if old == new {
            continue;
        }
        changed.push(format!("{}, from line {}", shown(file), first_difference(&old, &new)));
        if !args.check {
            batch.add(file, &new).map_err(|why| misuse(terminal, why))?;
        }
    }
    batch.finish().map_err(|why| misuse(terminal, why))?;
    terminal.findings(&found, &sources);
    let done = if args.check { "would change" } else { "laid out" };
    changed.iter().for_each(|line| terminal.say(&format!("{done}: {line}")));
    terminal.say(&format!("{seen} files: {} {done}, the others are as they should be", changed.len()));
    let stale = args.check && !changed.is_empty();
    Ok(Exit::of(&found).max(if stale { Exit::Wrong } else { Exit::Done }))
}

/// What of the files named or found has a layout of ours: a workshop file is YAML.
fn is_laid_out(file: &Path) -> bool {
    !file.extension().is_some_and(|e| e == "yaml" || e == "yml")
}

fn laid_out(file: &Path, sources: &mut Sources, found: &mut Vec<Diagnostic>) -> Option<(String, String)> {
    match std::fs::read_to_string(file) {
        Ok(text) => {
            let id = sources.add(Source::new(shown(file), text.clone()));
            let report = layout(id, &text);
            found.extend(report.diagnostics);
            Some((text, report.value?))
        }
        Err(error) => {
            let told = format!("`{}` can't be read: {}", shown(file), error.kind());
            found.push(Diagnostic::new(Severity::Error, "file/unreadable", told));
            None
        }
    }
}

fn from_stdin(check: bool, terminal: &Terminal) -> Result<Exit, Exit> {
    let mut text = String::new();
    let read = std::io::stdin().take(MOST_FROM_STDIN).read_to_string(&mut text);
    read.map_err(|error| misuse(terminal, format!("stdin can't be read: {}", error.kind())))?;
    let mut sources = Sources::default();
    let id = sources.add(Source::new("stdin", text.clone()));
    let report = layout(id, &text);
    terminal.findings(&report.diagnostics, &sources);
    let Some(new) = report.value else { return Ok(Exit::Wrong) };
    if check {
        return Ok(if new == text { Exit::Done } else { Exit::Wrong });
    }
    terminal.result(&new)?;
    Ok(Exit::Done)
}

/// The first line, counted from one, in which two texts differ.
pub(super) fn first_difference(old: &str, new: &str) -> usize {
    old.lines().zip(new.lines()).take_while(|(a, b)| a == b).count() + 1
}

fn misuse(terminal: &Terminal, why: String) -> Exit {
    terminal.findings(&[Diagnostic::new(Severity::Error, "file/unwritable", why)], &Sources::default());
    Exit::Misuse
}
