//! Printed against printed: the clearance of a mated pair is one, and both recipes say their share of it.

use crate::diag::{Diagnostic, Sources};
use crate::fits::feature::{FeatureContext, FeatureKind};
use crate::fits::function::Limits;
use crate::fits::iso286::{self, Zone};
use crate::fits::mating::{Share, SharedFit, Side, share};
use crate::fits::practice::Practice;
use crate::quantity::{Length, trim_number};
use crate::recipe::{Caution, Reason, Recipe, UsedValue};
use crate::resolve::Outcome;
use crate::resolve::decide::full;
use crate::resolve::fits;
use crate::resolve::problem::Rules;
use crate::semantics::spec::{Assembly, FitFunction, Mate};

/// One end of a possible pair: a fit of a part, as its recipe was decided.
#[derive(Debug, Clone)]
pub struct End {
    part: String,
    fit: String,
    size: Length,
    /// Clearance wanted on the diameter, and whether the spec states it.
    wanted: Limits,
    stated: bool,
    context: FeatureContext,
}

/// Sizes of two partners may differ by this and still be one size.
const SAME_SIZE_MM: f64 = 1e-3;

/// Returns the ends a decided part offers to an assembly.
pub fn ends(rules: &Rules<'_, '_>, outcome: &Outcome) -> Vec<End> {
    let Outcome::Decided(decided) = outcome else { return Vec::new() };
    let (world, choice) = (rules.world, full(&decided.choice));
    let end = |(index, fit): (usize, &crate::semantics::spec::Fit)| {
        let (function, context) = fits::context(world, index, &choice)?;
        let demand = function.demand(&context).ok()?;
        let (wanted, stated) =
            wanted(&fit.function.value, demand.nominal, demand.limits, context.kind, &context.practice);
        let (part, fit) = (world.spec.name.value.clone(), fit.name.value.clone());
        Some(End { part, fit, size: demand.nominal, wanted, stated, context })
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
    let wanted = if peg.stated && !hole.stated { peg.wanted } else { hole.wanted };
    let shared = share(hole.size, wanted, Share::Even, &hole.context, &peg.context)
        .map_err(|e| Diagnostic::error("assembly/mate", mate.span, e.message).hint(e.hint))?;
    let place = sources.place(mate.span);
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

fn pair_by_trying(own: &End, half: f64, side: &Side, place: &str) -> Caution {
    let mm = |um: f64| trim_number(um / 1000.0, 3);
    let text = format!(
        "\"{}\" fits its mate within ± {} mm for certain, and this printer spreads it by ± {}: most pieces lie outside. \
         Try piece with piece and keep pairs together, or give the two more play.",
        own.fit,
        mm(half),
        fits::shown(side.spread)
    );
    let because = Reason {
        text: "limits that exclude a clash of any two pieces are narrower than a print".to_owned(),
        places: vec![place.to_owned()],
        source: Some("computed".to_owned()),
        ..Reason::default()
    };
    Caution { kind: "quality".to_owned(), text, margin: String::new(), because }
}

fn write(own: &End, other: &End, side: &Side, shared: &SharedFit, place: &str, recipes: &mut [&mut Recipe]) {
    let mm = |l: Length| trim_number(l.to_mm(), 3);
    let Some(recipe) = recipes.iter_mut().find(|r| r.part == own.part) else { return };
    let Some(line) = recipe.allowances.iter_mut().find(|a| a.fit == own.fit) else { return };
    let alone = (line.target.clone(), line.model_size.clone());
    let (half, narrowed) = half_width(side, shared);
    let (low, high) = (side.aim.to_um() - half, side.aim.to_um() + half);
    if narrowed {
        recipe.cautions.push(pair_by_trying(own, half, side, place));
    }
    line.target = fits::limits(Length::um(low), Length::um(high));
    line.spread = format!("± {}", fits::shown(side.spread));
    if let Some(model) = side.size_to_model {
        line.model_size = fits::shown(model);
    }
    line.terms = side
        .terms
        .iter()
        .map(|t| UsedValue {
            name: t.name.to_owned(),
            value: format!("{:+.3} mm{}", t.value.to_mm(), super::allowances::used_words(t.used)),
            from: format!("{}; {}", t.note, t.source),
        })
        .collect();
    line.route = format!("print, then {}", shared.advice);
    line.function = format!("{}; mates with fit \"{}\" of part \"{}\"", line.function, other.fit, other.part);
    line.because.text = format!(
        "clearance wanted {} to {} mm on the diameter, shared half and half: this side aims at {} mm; a pair taken at \
         random is expected to have {} to {} mm ({})",
        mm(shared.wanted.low),
        mm(shared.wanted.high),
        mm(side.aim),
        mm(shared.expected.low),
        mm(shared.expected.high),
        shared.capability.text
    );
    for warning in &side.warnings {
        line.because.text = format!("{}; {warning}", line.because.text);
    }
    line.because.places.push(place.to_owned());
    let changed = [(alone.0, line.target.clone()), (alone.1, line.model_size.clone())];
    for step in recipe.checklist.iter_mut().flat_map(|phase| &mut phase.steps) {
        say_anew(&mut step.text, &own.fit, &changed);
    }
}

/// Puts the sizes of a shared clearance in place of those of a fit by itself, in a step that speaks of the fit.
fn say_anew(step: &mut String, fit: &str, changed: &[(String, String)]) {
    if !step.contains(&format!("\"{fit}\"")) {
        return;
    }
    for (alone, shared) in changed.iter().filter(|(alone, shared)| alone.contains(char::is_numeric) && alone != shared)
    {
        let whole = |at: usize| !step[..at].ends_with(|c: char| c.is_ascii_digit() || c == '.');
        // `2.45 mm` also ends `12.45 mm`, which is another size.
        let places: Vec<usize> = step.match_indices(alone.as_str()).map(|(at, _)| at).filter(|&at| whole(at)).collect();
        for at in places.into_iter().rev() {
            step.replace_range(at..at + alone.len(), shared);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::say_anew;

    #[test]
    fn only_the_size_itself_is_said_anew() {
        let mut step = "Set \"b\" to 2.45 mm; the mesh has 12.45 mm, or 2.45 mm.".to_owned();
        let changed = [("2.45 mm".to_owned(), "2.35 mm".to_owned())];
        say_anew(&mut step, "s", &changed);
        assert!(step.contains("to 2.45 mm"), "another fit's step stays");
        say_anew(&mut step, "b", &changed);
        assert_eq!(step, "Set \"b\" to 2.35 mm; the mesh has 12.45 mm, or 2.35 mm.");
    }
}
