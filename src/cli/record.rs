//! `makeready record` and `makeready floor`: what comes back from the floor, kept beside the run.
//!
//! Records are only ever added to. The run file itself is locked meanwhile, so that two people at once wait for one
//! another; the new file takes the place of the old one whole, so that a program that is stopped loses nothing.

use std::collections::BTreeMap;
use std::fs::{self, File};
use std::io::ErrorKind;
use std::path::Path;

use super::args::{FloorArgs, RecordArgs};
use super::compile::with_end;
use super::exit::Exit;
use super::pipeline::Options;
use super::plan::head;
use super::runs::{self, RunFile};
use super::terminal::Terminal;
use super::world::{World, shown};
use super::writing::Batch;
use crate::day::days_after;
use crate::diag::{Diagnostic, Severity, Sources};
use crate::plan::record::{Fault, HEAD, Row, contradictions, csv, form, moment, read_csv, tally};
use crate::plan::{Plan, floor::Floor};
use crate::render::yaml;
use crate::semantics::run::{Moment, Run};

pub(super) fn run(args: &RecordArgs, terminal: &Terminal) -> Result<Exit, Exit> {
    let (run, plan) = planned(&args.run, terminal)?;
    match &args.add {
        None if args.into_shop => super::learned::into_shop(&args.run, &run, &plan, args.dry_run, terminal),
        None => open(&args.run, &run.run, &plan, terminal),
        Some(filled) => add(&args.run, filled, &run.run, &plan, terminal),
    }
}

/// Tells findings that have no place in a text; returns how the call ends.
fn tell(found: &[Diagnostic], exit: Exit, terminal: &Terminal) -> Exit {
    terminal.findings(found, &Sources::default());
    exit
}

/// Reads the run and the plan beside it.
fn planned(path: &Path, terminal: &Terminal) -> Result<(RunFile, Plan), Exit> {
    let world = World::around(path, false).map_err(|found| tell(&[found], Exit::Misuse, terminal))?;
    let read = runs::read(&world, path, &Options::default());
    let errors: Vec<Diagnostic> = read.diagnostics.into_iter().filter(Diagnostic::is_error).collect();
    let Some(run) = read.run.filter(|_| errors.is_empty()) else {
        terminal.findings(&errors, &read.sources);
        return Err(Exit::of(&errors).max(Exit::Wrong));
    };
    let head = head(path, &run.run.name.value, None);
    match plan_beside(&head) {
        Some(plan) => Ok((run, plan)),
        None => {
            let message = format!("there is no plan `{}`", shown(&with_end(&head, "plan.yaml")));
            let hint = format!("`makeready plan {}` makes it", shown(path));
            let found = Diagnostic::new(Severity::Error, "file/missing", message).hint(hint);
            Err(tell(&[found], Exit::Misuse, terminal))
        }
    }
}

/// Returns the plan that was written before, where there is one.
pub(super) fn plan_beside(head: &Path) -> Option<Plan> {
    serde_yaml::from_str(&fs::read_to_string(with_end(head, "plan.yaml")).ok()?).ok()
}

/// Returns the records of a run; none where nothing is recorded yet.
///
/// # Errors
///
/// What is wrong with the file, each at its line; nothing of it is changed.
pub(super) fn recorded(run: &Path, name: &str) -> Result<Vec<Row>, Vec<Diagnostic>> {
    let file = with_end(&head(run, name, None), "records.csv");
    let text = match fs::read_to_string(&file) {
        Ok(text) => text,
        Err(e) if e.kind() == ErrorKind::NotFound => return Ok(Vec::new()),
        Err(e) => return Err(vec![unreadable(&e, &file)]),
    };
    let damaged = |why: String| {
        let message = format!("`{}`: {why}", shown(&file));
        let hint = "nothing of it was changed; mend that line, or take the file back from version control";
        Diagnostic::new(Severity::Error, "record/damaged", message).hint(hint)
    };
    match text.lines().next().and_then(|line| line.strip_prefix(HEAD)) {
        Some(of) if of == name => {}
        Some(of) => return Err(vec![damaged(format!("these are the records of the run \"{of}\", not of \"{name}\""))]),
        None => {
            return Err(vec![damaged(format!("line 1 does not say of which run it is; write `{HEAD}{name}`"))]);
        }
    }
    if !text.ends_with('\n') {
        return Err(vec![damaged(format!("line {} breaks off", text.lines().count()))]);
    }
    let faults = |faults: Vec<Fault>| {
        faults.into_iter().map(|f| damaged(format!("line {}: {}", f.line, f.why))).collect::<Vec<_>>()
    };
    read_csv(&text).map(|rows| rows.into_iter().map(|(_, row)| row).collect()).map_err(faults)
}

fn unreadable(e: &std::io::Error, file: &Path) -> Diagnostic {
    let message = format!("`{}` can't be read: {}", shown(file), e.kind());
    Diagnostic::new(Severity::Error, "file/unreadable", message)
}

fn unwritable(message: &str, terminal: &Terminal) -> Exit {
    terminal.say(&format!("error[file/unwritable]: {message}"));
    Exit::Misuse
}

/// Writes the form.
fn open(path: &Path, run: &Run, plan: &Plan, terminal: &Terminal) -> Result<Exit, Exit> {
    let records = recorded(path, &run.name.value).map_err(|found| tell(&found, Exit::Wrong, terminal))?;
    let rows = form(plan, &records);
    let data = yaml::any(&rows).map_err(|e| {
        terminal.say(&format!("internal error: the form can't be put into text: {e}"));
        Exit::OurBug
    })?;
    let head = head(path, &run.name.value, None);
    let mut batch = Batch::default();
    let csv_file = with_end(&head, "form.csv");
    batch
        .add(&csv_file, &csv(&rows))
        .and_then(|()| batch.add(&with_end(&head, "form.yaml"), &data))
        .and_then(|()| batch.finish())
        .map_err(|message| unwritable(&message, terminal))?;
    terminal.say(&format!("{} rows to fill in -> {}", rows.len(), shown(&csv_file)));
    terminal.say(&format!("  then: makeready record {} --add {}", shown(path), shown(&csv_file)));
    Ok(Exit::Done)
}

/// Checks a filled form and adds what is begun in it.
fn add(path: &Path, filled: &Path, run: &Run, plan: &Plan, terminal: &Terminal) -> Result<Exit, Exit> {
    let misuse = |e: std::io::Error, file: &Path| tell(&[unreadable(&e, file)], Exit::Misuse, terminal);
    let text = fs::read_to_string(filled).map_err(|e| misuse(e, filled))?;
    let rows = rows_of(filled, &text).map_err(|faults| tell(&told(filled, faults), Exit::Wrong, terminal))?;
    let new: Vec<(usize, Row)> = rows.into_iter().filter(|(_, row)| row.is_begun()).collect();
    // Held until the file is closed, also where the program is stopped.
    let lock = File::open(path).map_err(|e| misuse(e, path))?;
    lock.lock().map_err(|e| misuse(e, path))?;
    let records = recorded(path, &run.name.value).map_err(|found| tell(&found, Exit::Wrong, terminal))?;
    // A form that is added again adds what is new in it.
    let fresh: Vec<(usize, Row)> = new.into_iter().filter(|(_, row)| !records.contains(row)).collect();
    let faults = contradictions(&records, &fresh, plan, &run.from.value);
    if !faults.is_empty() {
        let exit = tell(&told(filled, faults), Exit::Wrong, terminal);
        terminal.say("nothing was recorded");
        return Err(exit);
    }
    if fresh.is_empty() {
        terminal.say("nothing new to record: every row is empty or recorded already");
        return Ok(Exit::Done);
    }
    let file = with_end(&head(path, &run.name.value, None), "records.csv");
    let before = match fs::read_to_string(&file) {
        Ok(before) => before,
        Err(e) if e.kind() == ErrorKind::NotFound => format!("{HEAD}{}\n{}", run.name.value, csv(&[])),
        Err(e) => return Err(misuse(e, &file)),
    };
    let fresh: Vec<Row> = fresh.into_iter().map(|(_, row)| row).collect();
    let lines = csv(&fresh);
    let lines = lines.split_once('\n').map_or("", |(_, rows)| rows);
    let mut batch = Batch::default();
    batch
        .add(&file, &(before + lines))
        .and_then(|()| batch.finish_on_disk())
        .map_err(|message| unwritable(&message, terminal))?;
    drop(lock);
    terminal.say(&format!("{} rows recorded -> {}", fresh.len(), shown(&file)));
    terminal.say(&format!("  then: makeready plan {}", shown(path)));
    Ok(Exit::Done)
}

fn rows_of(file: &Path, text: &str) -> Result<Vec<(usize, Row)>, Vec<Fault>> {
    if file.extension().is_some_and(|e| e == "yaml" || e == "yml") {
        let fault = |e: serde_yaml::Error| vec![Fault { line: 1, why: format!("no form can be read of it: {e}") }];
        let rows: Vec<Row> = serde_yaml::from_str(text).map_err(fault)?;
        return Ok(rows.into_iter().enumerate().map(|(i, row)| (i + 1, row)).collect());
    }
    read_csv(text)
}

fn told(file: &Path, faults: Vec<Fault>) -> Vec<Diagnostic> {
    let what = if file.extension().is_some_and(|e| e == "csv") { "line" } else { "row" };
    let one = |f: Fault| {
        let message = format!("`{}`, {what} {}: {}", shown(file), f.line, f.why);
        Diagnostic::new(Severity::Error, "record/contradicts", message)
    };
    faults.into_iter().map(one).collect()
}

pub(super) fn floor(args: &FloorArgs, terminal: &Terminal) -> Result<Exit, Exit> {
    let (run, plan) = planned(&args.run, terminal)?;
    let run = run.run;
    let records = recorded(&args.run, &run.name.value).map_err(|found| tell(&found, Exit::Wrong, terminal))?;
    let at = match &args.at {
        Some(text) => moment(text).ok_or_else(|| {
            let found = Diagnostic::new(Severity::Error, "usage/moment", format!("`{text}` is no moment"));
            tell(&[found.hint("write '2026-12-08 16:00'")], Exit::Misuse, terminal)
        })?,
        None => tally(&records, &mut Floor::default()).latest.unwrap_or_else(|| run.from.value.clone()),
    };
    terminal.result(&state(&run, &plan, &records, &at))?;
    Ok(Exit::Done)
}

/// Says how the run stands at a moment.
fn state(run: &Run, plan: &Plan, records: &[Row], at: &Moment) -> String {
    let mut lines = vec![format!("run \"{}\" at {at}", run.name.value)];
    if plan.recorded != records.len() {
        let rows = records.len();
        lines.push(format!("the plan knows {} rows of {rows}: `makeready plan` plans anew", plan.recorded));
    }
    let waiting: Vec<&crate::plan::Round> =
        plan.rounds.iter().filter(|r| !records.iter().any(|row| row.round == r.name)).collect();
    let mut section = |title: &str, inside: Vec<String>| {
        lines.push(format!("\n{title}:"));
        let none = inside.is_empty().then(|| "  nothing".to_owned());
        lines.extend(inside.into_iter().map(|line| format!("  {line}")).chain(none));
    };
    section("prints now", printing(plan, records));
    section("next", next(&waiting));
    section("late", late(plan, &waiting, at));
    let days = waiting.iter().filter_map(|r| moment(&r.setup)).map(|m| m.day);
    let next_day = days.filter(|day| *day > at.day).min().or_else(|| days_after(&at.day, 1)).unwrap_or_default();
    section(&format!("to fetch for {next_day}"), fetch(plan, &next_day));
    lines.join("\n") + "\n"
}

fn printing(plan: &Plan, records: &[Row]) -> Vec<String> {
    let tally = tally(records, &mut Floor::default());
    let one = |(printer, (round, since)): (&String, &(String, Moment))| {
        let end = plan.round(round).map(|r| format!(", by the plan until {}", r.end));
        format!("{printer}: {round} since {since}{}", end.unwrap_or_default())
    };
    tally.busy.iter().map(one).collect()
}

/// The next round of each printer.
fn next(waiting: &[&crate::plan::Round]) -> Vec<String> {
    let mut first: BTreeMap<&str, &crate::plan::Round> = BTreeMap::new();
    for round in waiting {
        first.entry(&round.printer).or_insert(round);
    }
    let one = |round: &&crate::plan::Round| {
        let parts: Vec<String> = round.parts.iter().map(|p| format!("{} {}", p.count, p.part)).collect();
        format!("{} at {}: {}", round.name, round.setup, parts.join(", "))
    };
    first.values().map(one).collect()
}

fn late(plan: &Plan, waiting: &[&crate::plan::Round], at: &Moment) -> Vec<String> {
    let parts = plan.late.iter().map(|l| {
        let (by, done) = (l.by.as_deref().unwrap_or("any day"), l.done.as_deref().unwrap_or("never"));
        format!("{} wanted by {by}, done {done}", l.part)
    });
    let due = waiting.iter().filter(|r| moment(&r.begin).is_some_and(|begin| begin < *at));
    parts.chain(due.map(|r| format!("{} should have begun {}", r.name, r.begin))).collect()
}

/// What must be at hand on a day.
fn fetch(plan: &Plan, day: &str) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    let dried = plan.drying.iter().filter(|d| d.from.starts_with(day));
    lines.extend(dried.map(|d| format!("spool {} into the dryer at {} ({}), for {}", d.spool, d.from, d.at, d.round)));
    for round in plan.rounds.iter().filter(|r| r.setup.starts_with(day)) {
        lines.extend(round.spools.iter().map(|draw| format!("spool {} for {}", draw.name, round.printer)));
        let fitted = round.changes.iter().filter(|c| c.what != "material");
        lines.extend(fitted.map(|c| format!("{} {} for {}", c.what, c.to, round.printer)));
    }
    let end = format!("{day} 24:00");
    let bought = plan.buy.iter().filter(|b| b.by <= end);
    lines.extend(bought.map(|b| format!("to be bought by {}: {} g of {}", b.by, b.mass_g, b.what)));
    let mut seen = std::collections::BTreeSet::new();
    lines.retain(|line| seen.insert(line.clone()));
    lines
}
