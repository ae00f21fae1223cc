//! The allowances of a recipe: what to model for each fit, why, and how to gauge it.

use crate::fits::allowance::{AllowanceLine, Route, Use};
use crate::fits::inspection::Check;
use crate::recipe::{Allowance, Phase, Reason, Step, UsedValue};
use crate::resolve::fits;
use crate::resolve::world::{Partial, World, at};

/// Builds the allowance of each fit for a full choice.
pub(super) fn allowances(world: &World<'_>, choice: &Partial) -> Vec<Allowance> {
    (0..world.spec.fits.len()).filter_map(|index| allowance(world, index, choice)).collect()
}

fn allowance(world: &World<'_>, index: usize, choice: &Partial) -> Option<Allowance> {
    let fit = world.spec.fits.get(index)?;
    let place = world.knowledge.sources.place(fit.span);
    let line = match fits::line(world, index, choice)? {
        Ok(line) => line,
        Err(_) => return None,
    };
    let mut text = line.reasons.join("; ");
    for more in line.warnings.iter().chain(&line.cautions) {
        text = if text.is_empty() { more.clone() } else { format!("{text}; {more}") };
    }
    let origin = line.origin_source.to_string();
    // What is not printed has no size to model: the bought part's own fit has one.
    let printed = !matches!(line.route, Route::Replace { .. });
    let of_the_print = |size: String| if printed { size } else { NONE.to_owned() };
    Some(Allowance {
        fit: fit.name.value.clone(),
        function: format!("{}{}", line.function, found_words(world, index)),
        nominal: fits::shown(line.nominal),
        target: fits::limits(line.target.low, line.target.high),
        printer_effect: format!("{} ({origin})", effect_words(&line)),
        terms: if printed { terms(&line, &origin) } else { Vec::new() },
        model_size: of_the_print(fits::shown(line.size_to_model)),
        spread: of_the_print(format!("± {}", fits::shown(line.spread))),
        route: line.route.in_words(),
        because: Reason {
            text: text.replace(&format!(" ({origin})"), ""),
            places: vec![place],
            source: Some(line.target_source.to_string()),
            ..Reason::default()
        },
    })
}

/// Stands where a line has no size.
const NONE: &str = "–";

/// Says which features of the mesh are the fit's.
fn found_words(world: &World<'_>, index: usize) -> String {
    let features = world.fit_places.get(index).map_or(&[][..], |p| p.features.as_slice());
    let count = world.spec.fits.get(index).and_then(|f| f.count);
    match (features, count) {
        ([], None) => String::new(),
        ([], Some(count)) => format!(", {} of them", count.value),
        ([one], _) => format!(": {}", one.words()),
        (many, _) => {
            let words: Vec<String> = many.iter().map(|f| f.words()).collect();
            format!(", {} of them: {}", many.len(), words.join("; "))
        }
    }
}

/// The sum, term by term. Where the printer's behaviour is known from has been said once, at its effect.
fn terms(line: &AllowanceLine, origin: &str) -> Vec<UsedValue> {
    let from = |note: &str, source: String| {
        if source == origin { note.to_owned() } else { format!("{note}; {source}") }
    };
    let term = |t: &crate::fits::allowance::Term| UsedValue {
        name: t.name.to_owned(),
        value: format!("{:+.3} mm{}", t.value.to_mm(), used_words(t.used)),
        from: from(&t.note, t.source.to_string()),
    };
    line.terms.iter().map(term).collect()
}

/// A term that does not enter the sum is shown all the same, and says so.
pub(super) fn used_words(used: Use) -> &'static str {
    match used {
        Use::InSum => "",
        Use::InRecord => ", not added: within the record",
        Use::Local => ", not added: local",
    }
}

fn effect_words(line: &AllowanceLine) -> String {
    let shift = line.printed.middle().to_mm() - line.size_to_model.to_mm();
    if shift.abs() < 5e-4 {
        "prints to size".to_owned()
    } else {
        format!("prints {:.2} mm {}", shift.abs(), if shift < 0.0 { "smaller" } else { "larger" })
    }
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
        let places = vec![world.knowledge.sources.place(fit.span)];
        for check in &line.inspection.checks {
            rows.push(form_row(&fit.name.value, check, places.clone()));
        }
    }
    if rows.is_empty() {
        return;
    }
    let mut steps = vec![Step {
        text:
            "Take the first good piece by itself through all that follows below and fill in these lines on the way; the \
               others follow only if every line is within."
                .to_owned(),
        blanks: vec!["by".to_owned(), "on".to_owned()],
        because: Reason {
            text: "what is wrong with the first piece is wrong with all of them".to_owned(),
            source: Some("common-practice".to_owned()),
            ..Reason::default()
        },
    }];
    steps.append(&mut rows);
    // It stands before the work it asks of one piece first: who reads on and begins with all of them has lost them all.
    let later = phases.iter().position(|p| matches!(p.phase.as_str(), "finish" | "inspect"));
    let at = later.unwrap_or(phases.len());
    phases.insert(at, Phase { phase: "first-article".to_owned(), title: "First article".to_owned(), steps });
}

/// A line of the first-article form.
fn form_row(name: &str, check: &Check, places: Vec<String>) -> Step {
    let (wanted, blank) = match check.limits {
        Some(l) => (fits::limits(l.low, l.high), "found"),
        None => (check.gauge.clone(), "passed"),
    };
    Step {
        text: format!("\"{name}\", {}: {wanted}.", check.what),
        blanks: vec![blank.to_owned()],
        because: Reason { places, ..Reason::default() },
    }
}

fn is_printed(line: &Result<AllowanceLine, crate::fits::FitError>) -> bool {
    !matches!(line, Ok(AllowanceLine { route: Route::Replace { .. }, .. }))
}

/// What was taken for granted about the fits in a pose: text, effect, and whether it is a question.
pub(super) fn assumptions(world: &World<'_>, choice: &Partial) -> Vec<(String, String, bool)> {
    let mut result = Vec::new();
    for (index, fit) in world.spec.fits.iter().enumerate() {
        let place = world.fit_places.get(index);
        if choice[at::POSE].and_then(|pose| fits::lie(world, index, pose)).is_none()
            && fits::context(world, index, choice).is_some()
        {
            let text = format!(
                "fit \"{}\": its axis is not stated and not found on the mesh; upright assumed",
                fit.name.value
            );
            result.push((
                text,
                "a lying hole comes out smaller and sags at its crown; state `along x`".to_owned(),
                true,
            ));
        }
        if let Some((message, hint, _)) = place.and_then(|p| p.problem.as_ref()) {
            result.push((format!("fit \"{}\": {message}", fit.name.value), hint.clone(), true));
        }
        if let Some(Ok(line)) = fits::line(world, index, choice).filter(is_printed) {
            for warning in line.warnings.iter().filter(|w| w.contains("the mesh ")) {
                let text = format!("fit \"{}\": {warning}", fit.name.value);
                result.push((
                    text,
                    format!("the finished size is off unless it is modelled at {}", fits::shown(line.size_to_model)),
                    true,
                ));
            }
        }
        if let Some(text) = place.and_then(|p| p.assumed.clone()) {
            result.push((text, "state `count`, so that a missing or doubled hole is noticed".to_owned(), false));
        }
    }
    result
}
