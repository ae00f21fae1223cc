//! The allowances of a recipe: what to model for each fit, why, and how to gauge it.

use crate::fits::allowance::{AllowanceLine, Availability, Route, Use};
use crate::fits::function::FinishKind;
use crate::fits::inspection::Check;
use crate::fits::said::Note;
use crate::fits::{Provenance, SourceKind};
use crate::quantity::Length;
use crate::recipe::{
    Allowance, Assumption, Cited, Counted, Effect, Fetched, FitNote, Found, Limits, Open, Phase, Reason, Sentence,
    Stage, Step, Term, Wanted, Work,
};
use crate::resolve::fits;
use crate::resolve::margin::Source;
use crate::resolve::world::{Partial, World, at};
use crate::rulebook;
use crate::semantics::spec::FitFunction;

/// Builds the allowance of each fit for a full choice.
pub(super) fn allowances(world: &World<'_>, choice: &Partial) -> Vec<Allowance> {
    (0..world.spec.fits.len()).filter_map(|index| allowance(world, index, choice)).collect()
}

fn allowance(world: &World<'_>, index: usize, choice: &Partial) -> Option<Allowance> {
    let fit = world.spec.fits.get(index)?;
    let line = match fits::line(world, index, choice)? {
        Ok(line) => line,
        Err(_) => return None,
    };
    // What is not printed has no size to model: the bought part's own fit has one.
    let printed = !matches!(line.route, Route::Replace { .. });
    Some(Allowance {
        fit: fit.name.value.clone(),
        function: line.function.clone(),
        found: found(world, index),
        nominal: line.nominal,
        target: Limits { low: line.target.low, high: line.target.high },
        printer_effect: Effect { shift: shift(&line), from: line.origin_source.to_string() },
        terms: if printed { terms(&line.terms, Some(&line.origin_source)) } else { Vec::new() },
        model_size: printed.then_some(line.size_to_model),
        spread: printed.then_some(line.spread),
        route: FitNote::Route(line.route.clone()).into(),
        fetch: fetch(world, index, &line),
        mate: None,
        because: Reason {
            text: FitNote::Why { reasons: line.reasons, warnings: line.warnings, cautions: line.cautions }.into(),
            places: vec![world.knowledge.sources.cite(fit.span)],
            source: vec![of_fits(&line.target_source)],
            ..Reason::default()
        },
    })
}

/// What a fit takes: the part that is bought for it, and the tool that brings it to size.
fn fetch(world: &World<'_>, index: usize, line: &AllowanceLine) -> Vec<Fetched> {
    let Some(fit) = world.spec.fits.get(index) else { return Vec::new() };
    let found = world.fit_places.get(index).map_or(0, |p| p.features.len());
    let each = fit.count.map_or(found.max(1) as u32, |c| c.value);
    let bought = |what: String, there: Option<bool>| Fetched { what, each: Some(each), there };
    let inserts = |thread: &str| world.bench.tools.inserts.iter().any(|(own, _)| own == thread).then_some(true);
    let part = match &fit.function.value {
        FitFunction::BearingSeat { designation } => Some(bought(format!("bearing {designation}"), None)),
        FitFunction::Insert { thread } => Some(bought(format!("insert {thread}"), inserts(thread))),
        FitFunction::Nut { thread } => Some(bought(format!("nut {thread}"), None)),
        FitFunction::Dowel { size } => Some(bought(format!("dowel pin {size}"), None)),
        FitFunction::Magnet { diameter, height } => Some(bought(format!("magnet {diameter} x {height}"), None)),
        _ => None,
    };
    let tool = line.route.finish().and_then(|then| {
        let there = match (then.kind, then.tool) {
            (FinishKind::SetInsert, _) => world.bench.tools.iron,
            (_, Availability::InShop) => Some(true),
            (_, Availability::NotInShop) => Some(false),
            (_, Availability::Unstated) => None,
        };
        let what = fits::tool(fit, line)?.to_string();
        let by_hand = matches!(then.kind, FinishKind::Turn | FinishKind::File);
        Some(Fetched { what, each: None, there: there.filter(|_| !by_hand) })
    });
    part.into_iter().chain(tool).collect()
}

fn of_fits(from: &crate::fits::Provenance) -> Cited {
    let Source { kind, citation, .. } = from.into();
    Cited { citation, ..Cited::bare(kind) }
}

/// Says which features of the mesh are the fit's.
fn found(world: &World<'_>, index: usize) -> Found {
    if let Some(between) = world.fit_places.get(index).and_then(|p| p.between.as_ref()) {
        return Found::Features(vec![between.words.clone()]);
    }
    let features = world.fit_places.get(index).map_or(&[][..], |p| p.features.as_slice());
    match features {
        [] => Found::None(world.spec.fits.get(index).and_then(|f| f.count).map(|c| c.value)),
        found => Found::Features(found.iter().map(|f| f.words()).collect()),
    }
}

/// The sum, term by term. Where the printer's behaviour is known from has been said once, at its effect.
pub(super) fn terms(terms: &[crate::fits::allowance::Term], origin: Option<&Provenance>) -> Vec<Term> {
    let from = |note: &Note, source: &Provenance| FitNote::Effect {
        note: note.clone(),
        source: (origin != Some(source)).then(|| source.clone()),
    };
    let counted = |used: Use| match used {
        Use::InSum => Counted::InSum,
        Use::InRecord => Counted::InRecord,
        Use::Local | Use::AtTheWall => Counted::Local,
    };
    let term = |t: &crate::fits::allowance::Term| Term {
        name: t.cause,
        value: t.value,
        counted: counted(t.used),
        from: from(&t.note, &t.source).into(),
    };
    terms.iter().map(term).collect()
}

fn shift(line: &AllowanceLine) -> Length {
    Length::mm(line.printed.middle().to_mm() - line.size_to_model.to_mm())
}

/// Adds the first-article form where more than one piece is made: every check of the first good piece, in order of work,
/// before the rest are finished: it stands before Finish. How each is gauged stands under Finish and Inspect; a single piece is recorded there.
pub(super) fn first_article(world: &World<'_>, choice: &Partial, phases: &mut Vec<Phase>) {
    if world.spec.quantity.is_none_or(|q| q.value < 2) {
        return;
    }
    let mut rows = Vec::new();
    for (index, fit) in world.spec.fits.iter().enumerate() {
        let Some(Ok(line)) = fits::line(world, index, choice) else { continue };
        let places = vec![world.knowledge.sources.cite(fit.span)];
        for check in &line.inspection.checks {
            let text = form_row(&fit.name.value, check).into();
            let blank = if check.limits.is_some() { "found" } else { "passed" };
            let because = Reason { places: places.clone(), ..Reason::default() };
            rows.push(Step { text, blanks: vec![blank.to_owned()], because, fit: Some(index) });
        }
    }
    if rows.is_empty() {
        return;
    }
    let mut steps = vec![Step {
        text: Work::FirstArticle.into(),
        blanks: vec!["by".to_owned(), "on".to_owned()],
        because: Reason {
            text: Work::FirstArticleBecause.into(),
            source: vec![Cited::bare(SourceKind::CommonPractice)],
            ..Reason::default()
        },
        fit: None,
    }];
    steps.append(&mut rows);
    // It stands before the work it asks of one piece first: who reads on and begins with all of them has lost them all.
    let later = [rulebook::Phase::Finish, rulebook::Phase::Inspect].map(Stage::Of);
    let at = phases.iter().position(|p| later.contains(&p.phase)).unwrap_or(phases.len());
    phases.insert(at, Phase { phase: Stage::FirstArticle, steps });
}

/// A line of the first-article form.
fn form_row(name: &str, check: &Check) -> Work {
    let wanted = match check.limits {
        Some(l) => Wanted::Limits(Limits { low: l.low, high: l.high }),
        None => Wanted::Gauge(check.gauge),
    };
    Work::Check { fit: name.to_owned(), what: check.what.clone(), wanted }
}

fn is_printed(line: &Result<AllowanceLine, crate::fits::FitError>) -> bool {
    !matches!(line, Ok(AllowanceLine { route: Route::Replace { .. }, .. }))
}

/// What was taken for granted about the fits in a pose.
pub(super) fn assumptions(world: &World<'_>, choice: &Partial) -> Vec<Assumption> {
    let mut result = Vec::new();
    let mut add = |text: Sentence, effect: Sentence, question| result.push(Assumption::new(text, effect, question));
    for (index, fit) in world.spec.fits.iter().enumerate() {
        let place = world.fit_places.get(index);
        let name = || fit.name.value.clone();
        if choice[at::POSE].and_then(|pose| fits::lie(world, index, pose)).is_none()
            && fits::context(world, index, choice).is_some()
        {
            add(Open::AxisAssumed { fit: name() }.into(), Open::AxisEffect.into(), true);
        }
        if let Some((message, hint, _)) = place.and_then(|p| p.problem.as_ref()) {
            add(Open::OfFit { fit: name(), told: message.as_str().into() }.into(), hint.as_str().into(), true);
        }
        if let Some(Ok(line)) = fits::line(world, index, choice).filter(is_printed)
            && let Some(told) = line.model_warning.clone()
        {
            let off = Open::ModelledOff { model: line.size_to_model };
            add(Open::OfFit { fit: name(), told: FitNote::Warning(told).into() }.into(), off.into(), true);
        }
        if let Some(found) = place.and_then(|p| p.uncounted) {
            add(Open::FewFound { fit: name(), found }.into(), Open::CountAssumed.into(), false);
        }
    }
    result
}
