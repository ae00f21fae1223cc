//! What comes back from the floor: rows of what was printed, as a form to fill in and as records that are only added to.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use super::Plan;
use super::floor::{Floor, Machine};
use crate::day::is_day;
use crate::semantics::run::Moment;

/// The columns of form and records, in their order.
pub const COLUMNS: [&str; 17] = [
    "round", "printer", "part", "count", "begin", "end", "good", "scrapped", "reason", "material", "spool", "left_g",
    "nozzle", "surface", "agent", "by", "note",
];

/// What the first line of a file of records begins with; the run's name stands behind it.
pub const HEAD: &str = "# makeready-records/1 of run: ";

/// What stands in place of a round's name in the row of a spool that is dried.
pub const DRYER: &str = "dryer";

/// Pieces of one part on one plate, or a spool in the dryer. What is not filled in is empty.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(default, deny_unknown_fields)]
pub struct Row {
    /// The plan's name of it.
    pub round: String,
    /// The machine.
    pub printer: String,
    /// The part.
    pub part: String,
    /// Pieces on the plate.
    pub count: String,
    /// `2026-12-07 07:20`
    pub begin: String,
    /// Likewise; empty while it prints.
    pub end: String,
    /// Good pieces.
    pub good: String,
    /// Pieces that are not.
    pub scrapped: String,
    /// Why not.
    pub reason: String,
    /// What it was printed from.
    pub material: String,
    /// From which spool, the last one.
    pub spool: String,
    /// What is left on it by the scale, in grams.
    pub left_g: String,
    /// What was fitted.
    pub nozzle: String,
    /// What was on the bed.
    pub surface: String,
    /// What lay on the surface.
    pub agent: String,
    /// Who did it.
    pub by: String,
    /// Measured values, lot numbers, anything else.
    pub note: String,
}

/// A row that cannot stand, and why; the line counts from 1.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    /// Of the file.
    pub line: usize,
    /// What is wrong, and what to write instead.
    pub why: String,
}

impl Row {
    fn cells(&self) -> [&String; 17] {
        [
            &self.round,
            &self.printer,
            &self.part,
            &self.count,
            &self.begin,
            &self.end,
            &self.good,
            &self.scrapped,
            &self.reason,
            &self.material,
            &self.spool,
            &self.left_g,
            &self.nozzle,
            &self.surface,
            &self.agent,
            &self.by,
            &self.note,
        ]
    }

    fn of_cells(cells: &[String]) -> Self {
        let at = |i: usize| cells.get(i).map(|c| c.trim().to_owned()).unwrap_or_default();
        Self {
            round: at(0),
            printer: at(1),
            part: at(2),
            count: at(3),
            begin: at(4),
            end: at(5),
            good: at(6),
            scrapped: at(7),
            reason: at(8),
            material: at(9),
            spool: at(10),
            left_g: at(11),
            nozzle: at(12),
            surface: at(13),
            agent: at(14),
            by: at(15),
            note: at(16),
        }
    }

    /// Whether anything of it was filled in.
    pub fn is_begun(&self) -> bool {
        !self.begin.is_empty() || !self.end.is_empty() || !self.good.is_empty() || !self.scrapped.is_empty()
    }

    /// Whether it is done with.
    pub fn is_done(&self) -> bool {
        !self.end.is_empty()
    }

    /// Whether the plate was lost with all that was on it: its pieces did not fail each for itself.
    pub fn is_lost_whole(&self) -> bool {
        Self::number(&self.count) > 1 && Self::number(&self.good) == 0
    }

    fn number(text: &str) -> u32 {
        text.parse().unwrap_or(0)
    }
}

/// Returns the form for the rounds of a plan that are not recorded yet.
pub fn form(plan: &Plan, recorded: &[Row]) -> Vec<Row> {
    let known = |round: &str| recorded.iter().any(|r| r.round == round && r.is_done());
    let begun = |round: &str, part: &str| recorded.iter().find(|r| r.round == round && r.part == part);
    let dried = |spool: &str| recorded.iter().any(|r| r.round == DRYER && r.spool == spool && r.is_done());
    let dryer = plan.drying.iter().filter(|d| !dried(&d.spool)).map(|d| Row {
        round: DRYER.to_owned(),
        spool: d.spool.clone(),
        note: format!("at {}", d.at),
        ..Row::default()
    });
    let rounds = plan.printing.iter().chain(&plan.rounds).filter(|r| !known(&r.name));
    let rounds = rounds.flat_map(|round| {
        round.parts.iter().map(|part| Row {
            round: round.name.clone(),
            printer: round.printer.clone(),
            part: part.part.clone(),
            count: part.count.to_string(),
            material: round.material.clone(),
            spool: round.spools.last().map(|s| s.name.clone()).unwrap_or_default(),
            nozzle: round.nozzle.clone(),
            surface: round.surface.clone(),
            agent: round.agent.clone().unwrap_or_default(),
            begin: begun(&round.name, &part.part).map(|r| r.begin.clone()).unwrap_or_default(),
            ..Row::default()
        })
    });
    dryer.chain(rounds).collect()
}

/// Returns rows as CSV, the head line first.
pub fn csv(rows: &[Row]) -> String {
    let line = |cells: Vec<String>| cells.iter().map(|c| cell(c)).collect::<Vec<_>>().join(",") + "\n";
    let head = line(COLUMNS.iter().map(|c| (*c).to_owned()).collect());
    head + &rows.iter().map(|r| line(r.cells().into_iter().cloned().collect())).collect::<String>()
}

fn cell(text: &str) -> String {
    if text.contains([',', '"', '\n', '\r', '#']) {
        format!("\"{}\"", text.replace('"', "\"\""))
    } else {
        text.to_owned()
    }
}

/// Reads CSV with a head line; lines that begin with `#` are passed over. Each row with its line.
///
/// # Errors
///
/// All lines that cannot be read, each with why.
pub fn read_csv(text: &str) -> Result<Vec<(usize, Row)>, Vec<Fault>> {
    let (mut rows, mut faults, mut headed) = (Vec::new(), Vec::new(), false);
    for (index, line) in text.lines().enumerate() {
        let line_number = index + 1;
        if line.trim().is_empty() || line.starts_with('#') {
            continue;
        }
        let Some(cells) = cells(line) else {
            faults.push(Fault { line: line_number, why: "a quote is opened and not closed on this line".to_owned() });
            continue;
        };
        if !headed {
            headed = true;
            let same = cells.iter().map(|c| c.trim()).eq(COLUMNS);
            if !same {
                let why = format!("the columns are not those of a record; write `{}`", COLUMNS.join(","));
                return Err(vec![Fault { line: line_number, why }]);
            }
            continue;
        }
        if cells.len() != COLUMNS.len() {
            let why = format!(
                "{} cells, and a record has {}: a comma within a cell wants quotes",
                cells.len(),
                COLUMNS.len()
            );
            faults.push(Fault { line: line_number, why });
            continue;
        }
        rows.push((line_number, Row::of_cells(&cells)));
    }
    if faults.is_empty() { Ok(rows) } else { Err(faults) }
}

fn cells(line: &str) -> Option<Vec<String>> {
    let (mut all, mut cell, mut quoted) = (Vec::new(), String::new(), false);
    let mut chars = line.chars().peekable();
    while let Some(c) = chars.next() {
        match (c, quoted) {
            ('"', true) if chars.peek() == Some(&'"') => {
                chars.next();
                cell.push('"');
            }
            ('"', _) => quoted = !quoted,
            (',', false) => all.push(std::mem::take(&mut cell)),
            (c, _) => cell.push(c),
        }
    }
    all.push(cell);
    (!quoted).then_some(all)
}

/// Reads a moment, `2026-12-07 07:20`.
pub fn moment(text: &str) -> Option<Moment> {
    let (day, time) = text.trim().split_once(' ')?;
    let (hours, minutes) = time.trim().split_once(':')?;
    let (hours, minutes): (u16, u16) = (hours.parse().ok()?, minutes.parse().ok()?);
    (is_day(day) && hours < 24 && minutes < 60).then(|| Moment { day: day.to_owned(), minute: hours * 60 + minutes })
}

/// Returns what contradicts itself in rows that are to be added to others.
pub fn contradictions(recorded: &[Row], new: &[(usize, Row)], plan: &Plan, from: &Moment) -> Vec<Fault> {
    let mut faults = Vec::new();
    for (index, (line, row)) in new.iter().enumerate() {
        let mut fault = |why: String| faults.push(Fault { line: *line, why });
        let before = || recorded.iter().chain(new[..index].iter().map(|(_, r)| r));
        if row.round == DRYER {
            let (begin, end) = (moment(&row.begin), moment(&row.end));
            if row.spool.is_empty()
                || begin.is_none()
                || (end.is_none() && !row.end.is_empty())
                || end.is_some_and(|e| Some(e) <= begin)
            {
                fault(
                    "a row of the dryer wants a spool, `begin`, and a later `end` once it is out: `2026-12-07 07:20`"
                        .to_owned(),
                );
            }
            continue;
        }
        let planned = plan.round(&row.round);
        let on_plate = planned.and_then(|r| r.parts.iter().find(|p| p.part == row.part));
        match (planned, on_plate) {
            (None, _) => fault(format!("the plan has no round `{}`: is it the record of another run?", row.round)),
            (Some(_), None) => fault(format!("round {} has no part `{}` on it", row.round, row.part)),
            _ => {}
        }
        if before().any(|r| r.round == row.round && r.part == row.part && r.is_done()) {
            fault(format!(
                "{} of round {} is recorded as done already; a correction goes into `note` of another row",
                row.part, row.round
            ));
        }
        let (begin, end) = (moment(&row.begin), moment(&row.end));
        if begin.is_none() {
            fault(format!("`begin` is `{}`: write day and time, `2026-12-07 07:20`", row.begin));
        }
        if end.is_none() && !row.end.is_empty() {
            fault(format!("`end` is `{}`: write day and time, `2026-12-07 07:20`", row.end));
        }
        if begin.as_ref().zip(end.as_ref()).is_some_and(|(b, e)| e <= b) {
            fault("it ends before it begins".to_owned());
        }
        if begin.as_ref().is_some_and(|b| b < from) {
            fault(format!("it begins before the run does, {from}"));
        }
        let whole = |text: &str| text.parse::<u32>().ok();
        for (name, text) in [("count", &row.count), ("good", &row.good), ("scrapped", &row.scrapped)] {
            if whole(text).is_none() && !(text.is_empty() && (name != "count" && !row.is_done())) {
                fault(format!("`{name}` is `{text}`: write a whole number"));
            }
        }
        if let (true, Some(count), Some(good), Some(bad)) =
            (row.is_done(), whole(&row.count), whole(&row.good), whole(&row.scrapped))
            && good.saturating_add(bad) != count
        {
            fault(format!("{count} on the plate, {good} good and {bad} scrapped: that is not {count}"));
        }
        if whole(&row.scrapped).is_some_and(|n| n > 0) && row.reason.is_empty() {
            fault("something is scrapped, and `reason` says nothing".to_owned());
        }
        if let Ok(left) = row.left_g.parse::<f64>() {
            let last =
                before().filter(|r| r.spool == row.spool).filter_map(|r| r.left_g.parse::<f64>().ok()).next_back();
            if last.is_some_and(|last| left > last) {
                fault(format!(
                    "{} has {left} g left, and had {} g before: is it another spool?",
                    row.spool,
                    last.unwrap_or(0.0)
                ));
            }
        } else if !row.left_g.is_empty() {
            fault(format!("`left_g` is `{}`: write grams as a number", row.left_g));
        }
    }
    faults
}

/// What the records of a run come to.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Tally {
    /// Good pieces, and pieces that are done with, by part.
    pub done: BTreeMap<String, (u32, u32)>,
    /// Plates that are done with, and those of them of which nothing came out good, by part.
    pub plates: BTreeMap<String, PlatesDone>,
    /// Pieces that print now, by part.
    pub printing: BTreeMap<String, u32>,
    /// The latest moment that is known.
    pub latest: Option<Moment>,
    /// The round that a machine prints now, with when it began.
    pub busy: BTreeMap<String, (String, Moment)>,
    /// The number of the last round of each machine.
    pub numbers: BTreeMap<String, usize>,
}

/// Plates of one part.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct PlatesDone {
    /// Done with.
    pub done: u32,
    /// Lost whole: several pieces, none of them good.
    pub lost: u32,
    /// Pieces on those that were lost.
    pub lost_pieces: u32,
    /// Pieces on the fullest.
    pub most: u32,
}

impl PlatesDone {
    fn add(&mut self, row: &Row) {
        let count = Row::number(&row.count);
        self.done += 1;
        self.most = self.most.max(count);
        if row.is_lost_whole() {
            self.lost += 1;
            self.lost_pieces += count;
        }
    }
}

/// Adds up records and puts the workshop into the state they leave. A row that is filled in further stands over the one before.
pub fn tally(rows: &[Row], floor: &mut Floor) -> Tally {
    let mut tally = Tally::default();
    for (index, row) in rows.iter().enumerate() {
        let again = rows[index + 1..].iter().any(|r| r.round == row.round && r.part == row.part);
        tally.latest = tally.latest.take().max(moment(&row.begin)).max(moment(&row.end));
        if let Some(number) = row.round.rsplit('-').next().and_then(|n| n.parse::<usize>().ok()) {
            let last = tally.numbers.entry(row.printer.clone()).or_default();
            *last = (*last).max(number);
        }
        if again && row.round != DRYER {
            continue;
        }
        if row.round == DRYER {
            if let Some(end) = moment(&row.end) {
                floor.dried.insert(row.spool.clone(), end.day);
            }
            continue;
        }
        if row.is_done() {
            let done = tally.done.entry(row.part.clone()).or_default();
            done.0 += Row::number(&row.good);
            done.1 += Row::number(&row.count);
            tally.plates.entry(row.part.clone()).or_default().add(row);
        } else if let Some(begin) = moment(&row.begin) {
            *tally.printing.entry(row.part.clone()).or_default() += Row::number(&row.count);
            tally.busy.insert(row.printer.clone(), (row.round.clone(), begin));
        }
        let stated = |text: &String| (!text.is_empty()).then(|| text.clone());
        floor.machines.insert(
            row.printer.clone(),
            Machine {
                material: stated(&row.material),
                spool: stated(&row.spool),
                nozzle: stated(&row.nozzle),
                surface: stated(&row.surface),
                agent: stated(&row.agent),
            },
        );
        if let Ok(left) = row.left_g.parse::<f64>() {
            floor.left.insert(row.spool.clone(), left);
        }
    }
    tally
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_written_is_read_again() {
        let row = Row { round: "Loft-1".to_owned(), note: "a, \"b\" # c".to_owned(), ..Row::default() };
        let text = format!("{HEAD}week\n{}", csv(std::slice::from_ref(&row)));
        assert_eq!(read_csv(&text).unwrap(), vec![(3, row)]);
        assert_eq!(read_csv("round,part\nx,y\n").unwrap_err()[0].line, 1);
        let broken = csv(&[]) + "a,\"b\n";
        assert_eq!(read_csv(&broken).unwrap_err()[0].line, 2);
    }

    #[test]
    fn records_that_contradict_themselves_are_told() {
        let part = super::super::OnPlate { part: "tag".to_owned(), count: 4, ..Default::default() };
        let round = super::super::Round { name: "Loft-1".to_owned(), parts: vec![part], ..Default::default() };
        let plan = Plan { rounds: vec![round], ..Plan::default() };
        let from = Moment { day: "2026-12-07".to_owned(), minute: 420 };
        let row = |f: fn(&mut Row)| {
            let mut row = Row {
                round: "Loft-1".to_owned(),
                part: "tag".to_owned(),
                count: "4".to_owned(),
                begin: "2026-12-07 08:00".to_owned(),
                end: "2026-12-07 09:00".to_owned(),
                good: "4".to_owned(),
                scrapped: "0".to_owned(),
                ..Row::default()
            };
            f(&mut row);
            contradictions(&[], &[(5, row)], &plan, &from)
        };
        assert_eq!(row(|_| {}), vec![]);
        let wrong: [fn(&mut Row); 9] = [
            |r| r.round = "Loft-9".to_owned(),
            |r| r.part = "hook".to_owned(),
            |r| r.good = "3".to_owned(),
            |r| r.good = "x".to_owned(),
            |r| r.end = "2026-12-07 07:30".to_owned(),
            |r| r.begin = "2026-12-06 07:30".to_owned(),
            |r| r.begin = String::new(),
            |r| r.left_g = "much".to_owned(),
            |r| (r.good, r.scrapped) = ("3".to_owned(), "1".to_owned()),
        ];
        for (i, change) in wrong.into_iter().enumerate() {
            assert!(row(change).iter().any(|f| f.line == 5), "case {i}");
        }
    }
}

#[cfg(test)]
#[expect(clippy::disallowed_methods, reason = "the committed schema is read, or written anew")]
mod schema {
    use super::Row;

    #[test]
    fn the_committed_schema_is_that_of_a_row() {
        let settings = schemars::generate::SchemaSettings::draft2020_12();
        let mut schema = settings.into_generator().into_root_schema_for::<Vec<Row>>();
        schema.insert("title".to_owned(), "A form for what comes back from the floor".into());
        let written = serde_json::to_string_pretty(&schema).unwrap() + "\n";
        let path = concat!(env!("CARGO_MANIFEST_DIR"), "/grammar/records.schema.json");
        if std::env::var_os("UPDATE").is_some() {
            std::fs::write(path, &written).unwrap();
        }
        let committed = std::fs::read_to_string(path).unwrap_or_default();
        assert!(
            committed == written,
            "grammar/records.schema.json is old: run `UPDATE=1 cargo test --lib schema` and read the change"
        );
    }
}
