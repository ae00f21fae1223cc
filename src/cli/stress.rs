//! `makeready stress`: the elasticity of a part under its loads.

use super::args::{ResultForm, StressArgs};
use super::cache::Cache;
use super::exit::Exit;
use super::measure;
use super::pipeline::{self, Options};
use super::terminal::Terminal;
use super::world::World;
use crate::diag::{Diagnostic, Severity, nearest};
use crate::field::solve;
use crate::geometry::survey::measure::PoseChoice;
use crate::geometry::vector::Vector;
use crate::render::stress::{Load, Report, text};
use crate::render::yaml;
use crate::resolve::elastic::{Asked, Case, options};
use crate::semantics::spec::FitFunction;

pub(super) fn run(args: &StressArgs, terminal: &Terminal) -> Result<Exit, Exit> {
    let tell = |found: Diagnostic| {
        terminal.findings(std::slice::from_ref(&found), &crate::diag::Sources::default());
        Exit::of(&[found])
    };
    let up = args.pose.as_deref().map(way_up).transpose().map_err(tell)?;
    let world = World::around(&args.spec, args.inputs.allow_outside).map_err(tell)?;
    let options = Options {
        shop: args.inputs.shop.clone(),
        cache: Cache::of_the_user(args.inputs.no_cache),
        ..Options::default()
    };
    let mut report = Report { loads: Vec::new() };
    let mut known = Vec::new();
    let (found, sources) = pipeline::with_parts(&world, &args.spec, &options, &mut |asked, name| {
        for load in &asked.spec.loads {
            known.push(load.name.value.clone());
            if args.load.as_ref().is_none_or(|wanted| *wanted == load.name.value) {
                report.loads.push(answer(asked, load, name, up));
            }
        }
    });
    terminal.findings(&found, &sources);
    if found.iter().any(Diagnostic::is_error) {
        return Err(Exit::of(&found));
    }
    if let Some(wanted) = args.load.as_deref().filter(|_| report.loads.is_empty()) {
        let missing = Diagnostic::new(Severity::Error, "usage/load", format!("the spec has no load \"{wanted}\""));
        return Err(tell(match nearest(wanted, known.iter().map(String::as_str)) {
            Some(near) => missing.hint(format!("did you mean \"{near}\"?")),
            None => {
                missing.hint(format!("it has {}", if known.is_empty() { "none".to_owned() } else { known.join(", ") }))
            }
        }));
    }
    terminal.result(&match args.print {
        ResultForm::Text => text(&report),
        ResultForm::Json => yaml::json(&report).map_err(|e| {
            let message = format!("the result can't be put into text: {e}");
            tell(Diagnostic::new(Severity::Error, "internal/stress", message))
        })?,
    })?;
    // A load of which nothing can be told is not done.
    Ok(if report.loads.iter().all(|l| l.elastic.is_some()) { Exit::Done } else { Exit::Wrong })
}

fn way_up(written: &str) -> Result<Vector, Diagnostic> {
    match measure::way_up(written)? {
        PoseChoice::Up(up) => Ok(up),
        _ => Err(Diagnostic::new(
            Severity::Error,
            "usage/option",
            format!("`{written}` is no way up to judge layers by"),
        )
        .hint("write the axis of the file that is to point up: +x, -x, +y, -y, +z, -z")),
    }
}

/// Solves one load.
fn answer(asked: Asked<'_>, load: &crate::semantics::spec::Load, part: &str, up: Option<Vector>) -> Load {
    let mut told = Load { part: part.to_owned(), name: load.name.value.clone(), ..Load::default() };
    let case = match Case::of(asked, load) {
        Ok(case) => case,
        Err(unsaid) => {
            told.why = Some(unsaid.to_string());
            return told;
        }
    };
    told.holds = case.holds.iter().map(|h| h.name.clone()).collect();
    told.assumed = case.assumed.iter().map(|assumed| assumed.to_string()).collect();
    let snaps = asked.spec.fits.iter().any(|f| matches!(f.function.value, FitFunction::Snap { .. }));
    match solve(&asked.part.mesh, &case.holds, &case.loads, &options(snaps, &asked.figures)) {
        Ok(solution) => told.solved(&solution, up, asked.figures.poisson),
        Err(refused) => {
            let at = refused.at.map(|p| format!(" at ({}) mm", p.map(crate::quantity::significant).join(", ")));
            told.why = Some(format!("{}{}", refused.why, at.unwrap_or_default()));
            told
        }
    }
}

#[cfg(test)]
mod tests;
