//! Printed against printed: the clearance of a mated pair is one, and both recipes say their share of it.

use crate::diag::Cite;
use crate::diag::{Diagnostic, Sources};
use crate::fits::SourceKind;
use crate::fits::feature::{FeatureContext, FeatureKind};
use crate::fits::function::Limits;
use crate::fits::iso286::{self, Zone};
use crate::fits::mating::{Share, SharedFit, Side, share};
use crate::fits::practice::Practice;
use crate::quantity::Length;
use crate::recipe::{
    Allowance, Caution, Cited, FitNote, Limits as Ends, Mated, Reason, Recipe, Sentence, Wanted, Work,
};
use crate::resolve::Outcome;
use crate::resolve::decide::full;
use crate::resolve::fits;
use crate::resolve::problem::Rules;
use crate::rulebook::CautionKind;
use crate::rulebook::value::Value;
use crate::semantics::spec::{Assembly, FitFunction, Mate};

/// One end of a possible pair: a fit of a part, as its recipe was decided.
#[derive(Debug, Clone)]
pub struct End {
    part: String,
    fit: String,
    /// Its place among the fits of the part.
    index: usize,
    size: Length,
    /// Clearance wanted on the diameter, and whether the spec states it.
    wanted: Limits,
    stated: bool,
    context: FeatureContext,
}

/// Sizes of two partners may differ by this and still be one size.
const SAME_SIZE_MM: f64 = 1e-3;

/// Returns the ends a decided part offers to an assembly.
pub(crate) fn ends(rules: &Rules<'_, '_>, outcome: &Outcome) -> Vec<End> {
    let Outcome::Decided(decided) = outcome else { return Vec::new() };
    let (world, choice) = (rules.world, full(&decided.choice));
    let end = |(index, fit): (usize, &crate::semantics::spec::Fit)| {
        let (function, context) = fits::context(world, index, &choice)?;
        let demand = function.demand(&context).ok()?;
        let (wanted, stated) =
            wanted(&fit.function.value, demand.nominal, demand.limits, context.kind, &context.practice);
        let (part, fit) = (world.spec.name.value.clone(), fit.name.value.clone());
        Some(End { part, fit, index, size: demand.nominal, wanted, stated, context })
    };
    world.spec.fits.iter().enumerate().filter_map(end).collect()
}

fn wanted(fit: &FitFunction, size: Length, own: Limits, kind: FeatureKind, practice: &Practice) -> (Limits, bool) {
    let less = |a: Length, b: Length| Length::um(a.to_um() - b.to_um());
    match fit {
        FitFunction::Sliding { play: Some(play), .. } => {
            // Half and half again: what a printed pair can be asked for.
            (Limits::new(Length::um(0.5 * play.to_um()), Length::um(1.5 * play.to_um())), true)
        }
        FitFunction::Iso { own, partner: Some(partner), inner, size } => {
            let (hole, shaft) = if *inner { (own, partner) } else { (partner, own) };
            let zones = Zone::parse(hole).and_then(|h| Ok((h, Zone::parse(shaft)?)));
            match zones.and_then(|(h, s)| iso286::pair_of(*size, &h, &s)) {
                Ok(pair) => (Limits::new(Length::um(pair.clearance.min_um), Length::um(pair.clearance.max_um)), true),
                // Classes that cannot be read were reported; the usual room of a printed pair stands in.
                Err(_) => (Limits::new(practice.sliding.least, practice.sliding.most), false),
            }
        }
        _ => match kind {
            FeatureKind::Hole => (Limits::new(less(own.low, size), less(own.high, size)), false),
            FeatureKind::Outside => (Limits::new(less(size, own.high), less(size, own.low)), false),
        },
    }
}

/// Shares the clearance of every mate and writes it into both recipes.
pub fn join(assemblies: &[Assembly], ends: &[End], recipes: &mut [&mut Recipe], sources: &Sources) -> Vec<Diagnostic> {
    let mut found = Vec::new();
    for mate in assemblies.iter().flat_map(|a| &a.mates) {
        if let Err(told) = join_one(mate, ends, recipes, sources) {
            found.push(told);
        }
    }
    found
}

fn join_one(mate: &Mate, ends: &[End], recipes: &mut [&mut Recipe], sources: &Sources) -> Result<(), Diagnostic> {
    let end = |(part, fit): &(String, String)| ends.iter().find(|e| e.part == *part && e.fit == *fit);
    let (Some(a), Some(b)) = (end(&mate.first.value), end(&mate.second.value)) else {
        let message = "the clearance of this mate is not shared: one of its parts has no recipe here";
        let hint =
            "compile both parts from one spec file, each with one mesh; each recipe allows for a mate of nominal size";
        return Err(Diagnostic::warning("assembly/not-shared", mate.span, message).hint(hint));
    };
    let (hole, peg) = if a.context.kind == FeatureKind::Hole { (a, b) } else { (b, a) };
    if (hole.size.to_mm() - peg.size.to_mm()).abs() > SAME_SIZE_MM {
        let message =
            format!("the two are of different size: {} and {}", fits::shown(hole.size), fits::shown(peg.size));
        return Err(Diagnostic::error("assembly/size", mate.span, message)
            .hint("give both fits the same nominal size; the clearance is added to it"));
    }
    let length = |end: &End| end.context.second.map(|s| s.size);
    if let (Some(a), Some(b)) = (length(hole), length(peg))
        && (a.to_mm() - b.to_mm()).abs() > SAME_SIZE_MM
    {
        let message = format!("the two are of different length: {} and {}", fits::shown(a), fits::shown(b));
        return Err(Diagnostic::error("assembly/size", mate.span, message)
            .hint("give both fits the same nominal width and length; the clearance is added to both"));
    }
    let wanted = if peg.stated && !hole.stated { peg.wanted } else { hole.wanted };
    let shared = share(hole.size, wanted, Share::Even, &hole.context, &peg.context)
        .map_err(|e| Diagnostic::error("assembly/mate", mate.span, e.message).hint(e.hint))?;
    let place = sources.cite(mate.span);
    for (own, other, side) in [(hole, peg, &shared.hole), (peg, hole, &shared.peg)] {
        write(own, other, side, &shared, &place, recipes);
    }
    Ok(())
}

/// How far a side may be off its aim, µm, and whether that is less than this printer spreads: limits that both keep must not
/// let the two meet, so where the spreads together would, each side gets its share of what the wanted clearance leaves.
fn half_width(side: &Side, shared: &SharedFit) -> (f64, bool) {
    let (own, both) = (side.spread.to_um(), shared.hole.spread.to_um() + shared.peg.spread.to_um());
    let middle = shared.wanted.middle().to_um();
    let least = shared.wanted.low.to_um();
    if middle - both >= least.min(0.0) || both <= 0.0 {
        return (own, false);
    }
    ((middle - least) * own / both, true)
}

fn pair_by_trying(own: &End, half: f64, side: &Side, place: &Cite) -> Caution {
    let because = Reason {
        text: FitNote::PairBecause.into(),
        places: vec![place.clone()],
        source: vec![Cited::bare(SourceKind::Computed)],
        ..Reason::default()
    };
    let text = FitNote::PairByTrying { fit: own.fit.clone(), half: Length::um(half), spread: side.spread };
    Caution { kind: CautionKind::Quality, text: text.into(), margin: None, because }
}

fn write(own: &End, other: &End, side: &Side, shared: &SharedFit, place: &Cite, recipes: &mut [&mut Recipe]) {
    let Some(recipe) = recipes.iter_mut().find(|r| r.part == own.part) else { return };
    let Some(line) = recipe.allowances.iter_mut().find(|a| a.fit == own.fit) else { return };
    let (half, narrowed) = half_width(side, shared);
    let (low, high) = (side.aim.to_um() - half, side.aim.to_um() + half);
    if narrowed {
        recipe.cautions.push(pair_by_trying(own, half, side, place));
    }
    let alone = line.clone();
    let ends = |l: &Limits| Ends { low: l.low, high: l.high };
    line.target = Ends { low: Length::um(low), high: Length::um(high) };
    line.spread = Some(side.spread);
    line.model_size = side.size_to_model.or(line.model_size);
    line.terms = super::allowances::terms(&side.terms, None);
    line.route = FitNote::Pair(shared.capability.verdict).into();
    line.mate = Some(Mated { fit: other.fit.clone(), part: other.part.clone() });
    line.because.text = FitNote::Shared {
        wanted: ends(&shared.wanted),
        aim: side.aim,
        expected: ends(&shared.expected),
        capability: shared.capability.clone(),
        warnings: side.warnings.clone(),
    }
    .into();
    line.because.places.push(place.clone());
    let shared = line.clone();
    // The second measure takes what the first is changed by.
    let also = own.context.second.zip(shared.model_size).map(|(second, model)| {
        let size = Length::um(second.size.to_um() + model.to_um() - own.size.to_um());
        fits::said::Also(second.what, size).to_string()
    });
    for step in recipe.checklist.iter_mut().flat_map(|phase| &mut phase.steps).filter(|s| s.fit == Some(own.index)) {
        say_anew(&mut step.text, &alone, &shared, also.as_deref());
    }
}

/// Puts the sizes of a shared clearance in place of those of a fit by itself, in a step that speaks of the fit.
fn say_anew(step: &mut Sentence, alone: &Allowance, shared: &Allowance, also: Option<&str>) {
    match step {
        Sentence::Rule { text, .. } => text.replace(|name| anew(name, shared, also)),
        Sentence::Step(work) => {
            if let Work::Check { wanted: Wanted::Limits(limits), .. } = work.as_mut()
                && *limits == alone.target
            {
                *limits = shared.target;
            }
        }
        _ => {}
    }
}

/// Returns the value a fact of the fit has with a shared clearance; `None` for what stays.
fn anew(name: &str, shared: &Allowance, also: Option<&str>) -> Option<Value> {
    match name {
        "fit.also" => also.map(Value::text),
        "fit.model_size" => shared.model_size.map(|size| Value::text(&fits::shown(size))),
        "fit.target" => Some(Value::text(&fits::limits(shared.target.low, shared.target.high))),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fits::said::{Looked, Named};
    use crate::recipe::{Effect, Found};

    #[test]
    fn only_the_sizes_of_the_fit_are_said_anew() {
        let ends = |low, high| Ends { low: Length::mm(low), high: Length::mm(high) };
        let alone = Allowance {
            fit: "b".to_owned(),
            function: Named::Size(Length::mm(2.5)),
            found: Found::None(None),
            nominal: Length::mm(2.5),
            target: ends(2.45, 2.55),
            printer_effect: Effect { shift: Length::mm(0.0), from: String::new() },
            terms: Vec::new(),
            model_size: Some(Length::mm(2.45)),
            spread: None,
            route: Sentence::Nothing,
            fetch: Vec::new(),
            mate: None,
            because: Reason::default(),
        };
        let shared = Allowance { model_size: Some(Length::mm(2.35)), target: ends(2.3, 2.4), ..alone.clone() };
        assert_eq!(anew("fit.model_size", &shared, None), Some(Value::text("2.35 mm")));
        assert_eq!(anew("fit.found", &shared, None), None);
        let check = |limits| {
            let what = Looked { fit: Named::Size(Length::mm(2.5)), as_printed: false };
            Sentence::from(Work::Check { fit: "b".to_owned(), what, wanted: Wanted::Limits(limits) })
        };
        let mut step = check(alone.target);
        say_anew(&mut step, &alone, &shared, None);
        assert_eq!(step, check(shared.target));
        let mut printed = check(ends(2.0, 2.1));
        say_anew(&mut printed, &alone, &shared, None);
        assert_eq!(printed, check(ends(2.0, 2.1)), "what is measured before it is finished stays");
    }
}
