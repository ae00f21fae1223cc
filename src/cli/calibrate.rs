//! `makeready calibrate`: measured pieces in, calibration records of the workshop out.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

use rayon::prelude::*;
use serde_json::json;

use super::args::{CalibrateArgs, FarOut, ResultForm};
use super::check::below;
use super::exit::Exit;
use super::knowledge::Loaded;
use super::pipeline::{self, Options};
use super::terminal::Terminal;
use super::world::{Located, World};
use super::writing::Batch;
use crate::catalogue::edit::{Change, put_records};
use crate::catalogue::{Shop, figures};
use crate::diag::{Diagnostic, Severity, Source, SourceId, Sources, Span, nearest};
use crate::fits::calibration::{FittedRecord, Judging, Measurement, fit_records};
use crate::fits::measurements::{self, CellError};
use crate::quantity::{Length, trim_number};
use crate::recipe::Recipe;

/// A workshop file as it is and as it would be.
struct Workshop {
    file: Located,
    before: String,
    after: String,
    changes: Vec<Change>,
}

pub(super) fn run(args: &CalibrateArgs, terminal: &Terminal) -> Result<Exit, Exit> {
    let stop = |found: Vec<Diagnostic>, sources: &Sources| {
        terminal.findings(&found, sources);
        Exit::of(&found)
    };
    let none = Sources::default();
    let world = World::around(&args.table, true).map_err(|d| stop(vec![d], &none))?;
    let table = world.asked_for(&args.table).map_err(|d| stop(vec![d], &none))?;
    let text = world.text(&table, None).map_err(|d| stop(vec![d], &none))?;
    let mut sources = Sources::default();
    let id = sources.add(Source::new(table.name.clone(), text.clone()));
    let shop_file = shop_file(args, &world, &table).map_err(|d| stop(vec![d], &none))?;
    let before = world.text(&shop_file, None).map_err(|d| stop(vec![d], &none))?;
    let loaded = pipeline::workshop(&shop_file.name, &before);
    if loaded.findings.iter().any(Diagnostic::is_error) {
        return Err(stop(loaded.findings.clone(), &loaded.sources));
    }
    let catalogue = &loaded.catalogue;
    let off = measurements::Off {
        least: catalogue.value(figures::MEASURED_OFF),
        share: catalogue.value(figures::MEASURED_OFF_SHARE),
    };
    let mut measured =
        measurements::read(&text, off).map_err(|e| stop(e.iter().map(|e| cell(e, &text, id)).collect(), &sources))?;
    let found = complete(&mut measured, &loaded, &text, id);
    if !found.is_empty() {
        return Err(stop(found, &sources));
    }
    let by = Judging {
        few: catalogue.value(figures::RECORD_PIECES).round() as usize,
        sizes_apart: catalogue.value(figures::SIZES_APART),
        scale_errors: catalogue.value(figures::SCALE_ERRORS),
        far_out_score: catalogue.value(figures::FAR_OUT_SCORE),
    };
    let least = catalogue.value(figures::RECORD_LEAST).round() as u32;
    let (fitted, left_out) = fitted(&measured, args.far_out, by);
    let (after, changes) = put(&before, &fitted, args.far_out, least).map_err(|d| stop(vec![d], &loaded.sources))?;
    let checked = pipeline::workshop(&shop_file.name, &after);
    if checked.findings.iter().any(Diagnostic::is_error) {
        // A record the workshop file itself would refuse is never written.
        return Err(stop(checked.findings.clone(), &checked.sources));
    }
    let shop = Workshop { file: shop_file, before, after, changes };
    let recipes = changed_recipes(&world, &shop);
    let old = old_records(loaded.shop.as_ref());
    let told = match args.print {
        ResultForm::Text => text_of(&fitted, &shop, &old, &recipes, &left_out),
        ResultForm::Json => json_of(&fitted, &shop, &recipes, args.dry_run, &left_out),
    };
    // Written before it is told: a reader that closes the pipe early must not undo it.
    let exit = finish(args, &shop, terminal)?;
    terminal.result(&told)?;
    // A script must see that a record still waits for somebody.
    if shop.changes.contains(&Change::FarOut) { Ok(exit.max(Exit::Wrong)) } else { Ok(exit) }
}

/// Fits the records; with [`FarOut::Leave`] once more without the pieces far from the rest, whose lines are returned.
fn fitted(measured: &[Measurement], far_out: FarOut, by: Judging) -> (Vec<FittedRecord>, BTreeSet<usize>) {
    let all = fit_records(measured, by);
    if far_out != FarOut::Leave {
        return (all, BTreeSet::new());
    }
    let lines: BTreeSet<usize> = all.iter().flat_map(|f| f.far_out().map(|o| o.line)).collect();
    let kept: Vec<Measurement> = measured.iter().filter(|m| !lines.contains(&m.line)).cloned().collect();
    (fit_records(&kept, by), lines)
}

/// Puts the records into the workshop's text, save those a person has yet to decide about.
fn put(
    before: &str,
    fitted: &[FittedRecord],
    far_out: FarOut,
    least: u32,
) -> Result<(String, Vec<Change>), Diagnostic> {
    let undecided = |f: &FittedRecord| far_out == FarOut::Ask && f.far_out().next().is_some();
    let records: Vec<_> = fitted.iter().filter(|f| !undecided(f)).map(|f| f.record.clone()).collect();
    let (after, made) = put_records(before, &records, least)?;
    let mut made = made.into_iter();
    let changes =
        fitted.iter().map(|f| if undecided(f) { Change::FarOut } else { made.next().unwrap_or(Change::Same) });
    Ok((after, changes.collect()))
}

fn finish(args: &CalibrateArgs, shop: &Workshop, terminal: &Terminal) -> Result<Exit, Exit> {
    let name = &shop.file.name;
    if shop.before == shop.after {
        terminal.say(&format!("{name}: nothing to change"));
        return Ok(Exit::Done);
    }
    if args.dry_run {
        terminal.say(&format!("{name}: left as it is (--dry-run)"));
        return Ok(Exit::Done);
    }
    let mut batch = Batch::default();
    batch.add(&shop.file.path, &shop.after).and_then(|()| batch.finish()).map_err(|message| {
        terminal.say(&format!("error[file/unwritable]: {message}"));
        Exit::Misuse
    })?;
    terminal.say(&format!("{name}: written"));
    Ok(Exit::Done)
}

fn shop_file(args: &CalibrateArgs, world: &World, table: &Located) -> Result<Located, Diagnostic> {
    if let Some(path) = &args.shop {
        return world.asked_for(path);
    }
    world.shop_near(table).ok_or_else(|| {
        Diagnostic::new(Severity::Error, "file/no-shop", "there is no shop.yaml in the folder of the table or above it")
            .hint("name the workshop file: `--shop workshop/shop.yaml`")
    })
}

/// Returns the span of a line of a text, counted from 1.
fn line_span(text: &str, line: usize, id: SourceId) -> Span {
    let start: usize = text.split_inclusive('\n').take(line.saturating_sub(1)).map(str::len).sum();
    let length = text.get(start..).and_then(|t| t.lines().next()).map_or(0, str::len);
    Span::new(id, start, start + length)
}

fn cell(e: &CellError, text: &str, id: SourceId) -> Diagnostic {
    let column = if e.column.is_empty() { String::new() } else { format!("column `{}`: ", e.column) };
    let found = Diagnostic::error("table/cell", line_span(text, e.line, id), format!("{column}{}", e.message));
    if e.hint.is_empty() { found } else { found.hint(e.hint.clone()) }
}

/// Fills in a printer or nozzle that is the only one, and finds names the workshop and the catalogue do not know.
fn complete(measured: &mut [Measurement], loaded: &Loaded, text: &str, id: SourceId) -> Vec<Diagnostic> {
    let Some(shop) = &loaded.shop else { return Vec::new() };
    let printers: Vec<&str> = shop.printers.iter().map(|p| p.name.value.as_str()).collect();
    let nozzles: Vec<&str> = shop.nozzles.iter().map(|n| n.name.value.as_str()).collect();
    let materials: Vec<&str> = loaded.catalogue.materials.keys().map(String::as_str).collect();
    let (mut found, mut told) = (Vec::new(), BTreeSet::new());
    for m in measured.iter_mut() {
        let at = line_span(text, m.line, id);
        for (column, own, known) in [
            ("printer", &mut m.printer, &printers),
            ("nozzle", &mut m.nozzle, &nozzles),
            ("material", &mut m.material, &materials),
        ] {
            if let (true, [only]) = (own.is_empty(), known.as_slice()) {
                *own = (*only).to_owned();
            }
            // A name that is wrong on one line is wrong on all of them; it is told once.
            if told.insert((column, own.clone())) {
                found.extend(unknown(column, own, known, at));
            }
        }
        if m.date.is_empty() {
            let message = "column `date`: a record needs the day it was measured";
            found.push(Diagnostic::error("table/cell", at, message).hint("write it as 2026-11-20"));
        }
    }
    // A table without dates lacks them on every line; the first twenty show it.
    found.truncate(20);
    found
}

fn unknown(column: &str, own: &str, known: &[&str], at: Span) -> Option<Diagnostic> {
    if known.contains(&own) {
        return None;
    }
    let message = if own.is_empty() {
        format!("column `{column}`: the workshop has several, so the table must name one")
    } else {
        format!("column `{column}`: `{own}` is not known")
    };
    let found = Diagnostic::error("table/cell", at, message);
    Some(match nearest(own, known.iter().copied()).filter(|_| !own.is_empty()) {
        Some(near) => found.hint(format!("did you mean `{near}`?")),
        None => found.hint(format!("known are {}", known.join(", "))),
    })
}

/// Offsets of the records the workshop had, by what they are about.
fn old_records(shop: Option<&Shop>) -> BTreeMap<String, String> {
    let mut old = BTreeMap::new();
    for c in shop.iter().flat_map(|s| &s.calibration) {
        let axis = c.axis.as_ref().map_or("", |a| a.value.as_str());
        let key = about(&c.printer.value, &c.nozzle.value, &c.material.value, c.what.value.as_str(), axis);
        if let Some(offset) = &c.offset {
            old.insert(key, format!("{} ({} pieces, {})", offset.value, c.count.value, c.on.value.0));
        }
    }
    old
}

fn about(printer: &str, nozzle: &str, material: &str, what: &str, axis: &str) -> String {
    format!("{printer}, {nozzle}, {material}, {what} {axis}")
}

fn key(f: &FittedRecord) -> String {
    let r = &f.record;
    about(&r.printer, &r.nozzle, &r.material, r.what.as_str(), r.axis.as_str())
}

/// One line of a recipe that would change.
struct Difference {
    spec: String,
    part: String,
    what: String,
    before: String,
    after: String,
}

/// Compiles every spec that uses the workshop file, with its text before and after, and returns what differs.
fn changed_recipes(world: &World, shop: &Workshop) -> Vec<Difference> {
    if shop.before == shop.after {
        return Vec::new();
    }
    let folder = shop.file.folder();
    let root = if folder.starts_with(world.root()) { world.root() } else { folder };
    let specs: Vec<PathBuf> =
        below(root).into_iter().filter(|p| p.extension().is_some_and(|e| e == "partspec")).collect();
    let one = |spec: &PathBuf| differences(spec, shop);
    specs.par_iter().map(one).collect::<Vec<_>>().into_iter().flatten().collect()
}

fn differences(spec: &Path, shop: &Workshop) -> Vec<Difference> {
    let Ok(world) = World::around(spec, false) else { return Vec::new() };
    let Ok(located) = world.asked_for(spec) else { return Vec::new() };
    if world.shop_near(&located).is_none_or(|own| own.path != shop.file.path) {
        return Vec::new();
    }
    let compile = |text: &str| {
        let options =
            Options { shop: Some(shop.file.path.clone()), shop_text: Some(text.to_owned()), ..Options::default() };
        pipeline::compile_one(&world, spec, &options)
    };
    let (before, after) = (compile(&shop.before), compile(&shop.after));
    let mut found = Vec::new();
    for part in &after.parts {
        let Some(old) = before.parts.iter().find(|p| p.recipe.part == part.recipe.part) else { continue };
        let (old, new) = (lines(&old.recipe), lines(&part.recipe));
        for (what, after) in &new {
            let before = old.get(what).cloned().unwrap_or_default();
            if before != *after {
                let (spec, part) = (located.name.clone(), part.recipe.part.clone());
                found.push(Difference { spec, part, what: what.clone(), before, after: after.clone() });
            }
        }
    }
    found
}

/// What of a recipe a calibration can change, by name.
fn lines(recipe: &Recipe) -> BTreeMap<String, String> {
    let mut lines = BTreeMap::new();
    lines.insert("decision".to_owned(), recipe.headline.to_string());
    lines.insert("status".to_owned(), recipe.status.words().to_owned());
    for a in &recipe.allowances {
        lines.insert(
            format!("fit \"{}\"", a.fit),
            format!("model it at {}, expect {}, {}", a.model_words(), a.spread_words(), a.route),
        );
    }
    lines
}

fn mm(length: Length) -> String {
    trim_number(length.to_mm(), 4)
}

fn text_of(
    fitted: &[FittedRecord],
    shop: &Workshop,
    old: &BTreeMap<String, String>,
    recipes: &[Difference],
    left_out: &BTreeSet<usize>,
) -> String {
    let mut out = String::new();
    if !left_out.is_empty() {
        let lines: Vec<String> = left_out.iter().map(ToString::to_string).collect();
        out.push_str(&format!("left out, far from the rest of their group: line {}\n\n", lines.join(", ")));
    }
    for (f, change) in fitted.iter().zip(&shop.changes) {
        let r = &f.record;
        out.push_str(&format!(
            "{} ({} {}, {}): {}\n",
            key(f),
            r.count,
            if r.count == 1 { "piece" } else { "pieces" },
            r.on,
            change.words()
        ));
        out.push_str(&format!("  offset  {} mm, standard error {} mm", mm(r.offset), mm(f.offset_error)));
        out.push_str(&old.get(&key(f)).map_or("\n".to_owned(), |o| format!("; before: {o}\n")));
        match &f.line {
            Some(line) => out.push_str(&format!(
                "  scale   {}, standard error {}{}\n",
                trim_number(line.slope, 6),
                trim_number(line.slope_error, 6),
                if (r.scale - 1.0).abs() > 1e-12 { "" } else { ": not told apart from 1, so the record takes 1" }
            )),
            None => out.push_str("  scale   not fitted: the sizes lie too close together or are too few\n"),
        }
        if *change == Change::TooFew {
            out.push_str("  spread  not known\n");
        } else {
            out.push_str(&format!("  spread  {} mm (standard deviation of single pieces)\n", mm(r.spread)));
            out.push_str(&format!("  expect  ± {} mm of one new piece (95 %)\n", mm(r.expected_deviation())));
        }
        for o in &f.outliers {
            out.push_str(&format!(
                "  line {}: off by {} mm, score {}: measure it again\n",
                o.line,
                mm(o.residual),
                trim_number(o.score, 1)
            ));
        }
        for warning in &f.warnings {
            out.push_str(&format!("  note    {warning}\n"));
        }
        out.push('\n');
    }
    if recipes.is_empty() {
        out.push_str("No recipe of the project changes.\n");
    } else {
        out.push_str("Recipes that change (compile them again):\n");
        for d in recipes {
            out.push_str(&format!(
                "  {}: {}: {}\n    before: {}\n    after:  {}\n",
                d.spec, d.part, d.what, d.before, d.after
            ));
        }
    }
    out
}

fn json_of(
    fitted: &[FittedRecord],
    shop: &Workshop,
    recipes: &[Difference],
    dry_run: bool,
    left_out: &BTreeSet<usize>,
) -> String {
    let rounded = |v: f64| (v * 1e6).round() / 1e6;
    let records: Vec<_> = fitted
        .iter()
        .zip(&shop.changes)
        .map(|(f, change)| {
            let r = &f.record;
            json!({
                "printer": r.printer, "nozzle": r.nozzle, "material": r.material,
                "what": r.what.as_str(), "axis": r.axis.as_str(), "count": r.count, "on": r.on,
                "offset_mm": rounded(r.offset.to_mm()), "offset_error_mm": rounded(f.offset_error.to_mm()),
                "scale": rounded(r.scale), "spread_mm": rounded(r.spread.to_mm()),
                "line": f.line.map(|l| json!({
                    "offset_mm": rounded(l.intercept), "offset_error_mm": rounded(l.intercept_error),
                    "scale": rounded(l.slope), "scale_error": rounded(l.slope_error),
                    "residual_sd_mm": rounded(l.residual_sd),
                })),
                "outliers": f.outliers.iter().map(|o| json!({
                    "line": o.line, "residual_mm": rounded(o.residual.to_mm()), "score": rounded(o.score),
                })).collect::<Vec<_>>(),
                "warnings": f.warnings.iter().map(ToString::to_string).collect::<Vec<_>>(),
                "change": change.words(),
            })
        })
        .collect();
    let changed: Vec<_> = recipes
        .iter()
        .map(|d| json!({ "spec": d.spec, "part": d.part, "what": d.what, "before": d.before, "after": d.after }))
        .collect();
    let written = shop.before != shop.after && !dry_run;
    let whole = json!({ "shop": shop.file.name, "written": written, "left_out": left_out, "records": records, "recipes": changed });
    let mut text = serde_json::to_string_pretty(&whole).unwrap_or_default();
    text.push('\n');
    text
}
