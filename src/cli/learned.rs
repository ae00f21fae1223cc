//! `makeready record RUN --into-shop`: what the records of a run say of the workshop goes into its file.

use std::path::Path;

use super::exit::Exit;
use super::pipeline;
use super::record;
use super::runs::RunFile;
use super::terminal::Terminal;
use super::world::World;
use super::writing::Batch;
use crate::catalogue::edit::{Change, Entry, put_entries};
use crate::diag::{Diagnostic, Severity, Sources};
use crate::plan::record::tally;
use crate::plan::{Plan, floor::Floor, learned, pace};
use crate::resolve::shop::Bench;

/// Writes, or says what would be written.
pub(super) fn into_shop(
    path: &Path,
    run: &RunFile,
    plan: &Plan,
    dry_run: bool,
    terminal: &Terminal,
) -> Result<Exit, Exit> {
    let stop = |found: Vec<Diagnostic>, sources: &Sources| {
        terminal.findings(&found, sources);
        Exit::of(&found).max(Exit::Wrong)
    };
    let none = Sources::default();
    let rows = record::recorded(path, &run.run.name.value).map_err(|found| stop(found, &none))?;
    let world = World::around(path, false).map_err(|found| stop(vec![found], &none))?;
    let file = world.asked_for(path).ok().and_then(|file| world.shop_near(&file)).ok_or_else(|| {
        let found = Diagnostic::new(Severity::Error, "file/no-shop", "there is no shop.yaml near the run to learn");
        stop(vec![found.hint("write one: `makeready new` shows how it begins")], &none)
    })?;
    let before = world.text(&file, None).map_err(|found| stop(vec![found], &none))?;
    let loaded = &run.loaded;
    let Some(shop) = loaded.shop.as_ref() else { return Err(Exit::Wrong) };
    let bench = Bench::of(shop, &loaded.catalogue, loaded.assumed);
    let stated = Floor::of(&bench);
    let mut left = stated.clone();
    tally(&rows, &mut left);
    let (paces, told) = pace::counted(&pace::of(&pace::done(&rows, Some(plan)), &rows), &loaded.catalogue);
    told.iter().for_each(|said| terminal.say(&said.to_string()));
    let entries = learned::entries(&run.run.name.value, &rows, &stated, &left, &paces);
    let (after, changes) = put_entries(&before, &entries).map_err(|found| stop(vec![found], &none))?;
    // What the workshop's file itself would refuse is never written.
    let checked = pipeline::workshop(&file.name, &after);
    if checked.findings.iter().any(Diagnostic::is_error) {
        return Err(stop(checked.findings.clone(), &checked.sources));
    }
    let lines: Vec<String> = entries.iter().zip(changes).filter_map(|(entry, change)| line(entry, change)).collect();
    if lines.is_empty() {
        terminal.say(&format!("{}: nothing to change", file.name));
        return Ok(Exit::Done);
    }
    if !dry_run {
        let mut batch = Batch::default();
        batch.add(&file.path, &after).and_then(|()| batch.finish_on_disk()).map_err(|message| {
            terminal.say(&format!("error[file/unwritable]: {message}"));
            Exit::Misuse
        })?;
    }
    terminal.result(&(lines.join("\n") + "\n"))?;
    let done = if dry_run {
        "left as it is (--dry-run)"
    } else {
        "written; `makeready check --locked` says which recipes it moves"
    };
    terminal.say(&format!("{}: {done}", file.name));
    Ok(Exit::Done)
}

/// Says one change: `spools a: left: 512 g`.
fn line(entry: &Entry, change: Change) -> Option<String> {
    let about: Vec<&str> = entry.about.iter().map(|(_, value)| value.as_str()).collect();
    let within = entry.within.map_or_else(String::new, |inner| format!(" {inner}"));
    let says: Vec<String> = entry.says.iter().map(|(key, value)| format!("{key} {value}")).collect();
    let what = format!("{} {}{within}: {}", entry.list, about.join(", "), says.join(", "));
    match change {
        Change::Same => None,
        Change::Added => Some(format!("{what} (new)")),
        _ => Some(what),
    }
}
