//! The allowances of a recipe: what to model for each fit, why, and how to gauge it.

use crate::fits::allowance::{AllowanceLine, Use};
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
    Some(Allowance {
        fit: fit.name.value.clone(),
        function: format!("{}{}", line.function, found_words(world, index)),
        nominal: fits::shown(line.nominal),
        target: fits::limits(line.target.low, line.target.high),
        printer_effect: format!("{} ({origin})", effect_words(&line)),
        terms: terms(&line, &origin),
        model_size: fits::shown(line.size_to_model),
        spread: format!("± {}", fits::shown(line.spread)),
        route: line.route.in_words(),
        because: Reason {
            text: text.replace(&format!(" ({origin})"), ""),
            places: vec![place],
            source: Some(line.target_source.to_string()),
            ..Reason::default()
        },
    })
}

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

/// Adds to the checklist how each fit is gauged: the rules name the size to measure, the fits the gauge, when and how many.
pub(super) fn inspect(world: &World<'_>, choice: &Partial, phases: &mut Vec<Phase>) {
    let mut form = Vec::new();
    for (index, fit) in world.spec.fits.iter().enumerate() {
        let Some(Ok(line)) = fits::line(world, index, choice) else { continue };
        let name = &fit.name.value;
        let because = Reason {
            text: "the gauge's error stays within about a tenth of the tolerance".to_owned(),
            places: vec![world.knowledge.sources.place(fit.span)],
            source: Some("common-practice".to_owned()),
            ..Reason::default()
        };
        let finished = line.inspection.checks.len().saturating_sub(1);
        for (i, check) in line.inspection.checks.iter().enumerate() {
            form.push(form_row(form.len() + 1, name, check, &because));
            let ruled = format!("Measure \"{name}\"");
            let target = check.limits.is_some() && (i == finished || check.limits == Some(line.target));
            let known = phases.iter_mut().flat_map(|p| p.steps.iter_mut()).find(|s| s.text.starts_with(&ruled));
            match known.filter(|_| target) {
                Some(step) => {
                    step.text =
                        format!("{} With: {}; {}; {}.", step.text, check.gauge, check.when, check.sample.in_words())
                }
                None => add_check(phases, name, check, i < finished, &because),
            }
        }
    }
    if world.spec.quantity.is_some_and(|q| q.value > 1) && !form.is_empty() {
        let (phase, title) = ("first-article".to_owned(), "First article".to_owned());
        phases.push(Phase { phase, title, steps: form });
    }
}

/// What is measured before finishing belongs before the finishing, everything else to the inspection.
fn add_check(phases: &mut Vec<Phase>, name: &str, check: &Check, before: bool, because: &Reason) {
    let limits = check.limits.map_or(String::new(), |l| format!("{}; ", fits::limits(l.low, l.high)));
    let blank = if check.limits.is_some() { "measured" } else { "passed" };
    let mut because = because.clone();
    if check.limits.is_none() {
        "nothing is left to measure: a trial judges it".clone_into(&mut because.text);
    }
    let step = Step {
        text: format!(
            "\"{name}\", {}: {limits}{}; {}; {}.",
            check.what,
            check.gauge,
            check.when,
            check.sample.in_words()
        ),
        blanks: vec![blank.to_owned()],
        because,
    };
    let word = if before { "finish" } else { "inspect" };
    match phases.iter_mut().find(|p| p.phase == word) {
        Some(phase) if before => {
            // In front of the finishing, in the order of the fits.
            let at = phase.steps.iter().take_while(|s| s.text.contains(", as printed")).count();
            phase.steps.insert(at, step);
        }
        Some(phase) => phase.steps.push(step),
        None => {
            let title = if before { "Finish" } else { "Inspect" };
            let at = phases.iter().position(|p| p.phase == "inspect").filter(|_| before).unwrap_or(phases.len());
            phases.insert(at, Phase { phase: word.to_owned(), title: title.to_owned(), steps: vec![step] });
        }
    }
}

/// A line of the first-article form: every check of the first good piece, in order of work.
fn form_row(number: usize, name: &str, check: &Check, because: &Reason) -> Step {
    let limits = check.limits.map_or("pass or fail".to_owned(), |l| fits::limits(l.low, l.high));
    Step {
        text: format!("No. {number}, \"{name}\", {}: {limits}; {}.", check.what, check.gauge),
        blanks: vec!["found".to_owned(), "by".to_owned()],
        because: Reason { places: because.places.clone(), ..Reason::default() },
    }
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
        if let Some(Ok(line)) = fits::line(world, index, choice) {
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
