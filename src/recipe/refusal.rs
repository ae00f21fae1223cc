//! The recipe that says no: what conflicts, what came nearest, and what would free it. No settings, no checklist.

use std::collections::BTreeSet;

use crate::quantity::Quantity;
use crate::recipe::reasons::reason;
use crate::recipe::{Assumption, Conflict, NearMiss, Recipe, Relaxation, Requirement, Status};
use crate::resolve::conflict::{Change, Freed, Refusal, Together, Way, nearest_with};
use crate::resolve::problem::{Rules, Said};
use crate::resolve::search::Solution;
use crate::resolve::world::at;
use crate::semantics::requirements::Which;

/// Fills a recipe that cannot be printed as specified.
pub fn fill(rules: &Rules<'_, '_>, refused: &Refusal, recipe: &mut Recipe) {
    let world = rules.world;
    recipe.status = Status::NotPrintableAsSpecified;
    for said in &refused.from_the_start {
        let because = reason(rules, said);
        recipe.conflicts.push(Conflict {
            requirements: because
                .places
                .iter()
                .map(|p| Requirement { text: because.text.clone(), place: p.clone() })
                .collect(),
            text: because.text,
        });
    }
    for set in &refused.sets {
        let requirements: Vec<Requirement> = set
            .iter()
            .map(|r| Requirement { text: r.text.trim().to_owned(), place: world.knowledge.sources.place(r.span) })
            .collect();
        // What a rule has said of one line already, with its reason, needs no saying again.
        let told = |r: &Requirement| recipe.conflicts.iter().any(|c| c.requirements.iter().any(|q| q.place == r.place));
        if requirements.len() == 1 && requirements.iter().all(told) {
            continue;
        }
        let text = match requirements.len() {
            1 => "this one line cannot be met on this bench".to_owned(),
            n => format!("these {n} lines cannot be met together on this bench; one of them must give way"),
        };
        recipe.conflicts.push(Conflict { requirements, text });
    }
    if refused.bench_only {
        let alone = "the bench alone stands in the way: even without a single requirement nothing on it can be printed \
                     from this mesh";
        let text = super::oversize::oversize(world).unwrap_or_else(|| alone.to_owned());
        recipe.conflicts.push(Conflict { requirements: Vec::new(), text });
    }
    recipe.nearest = refused.nearest.iter().map(|(solution, broken)| miss(rules, solution, broken)).collect();
    recipe.relaxations = refused.relaxations.iter().map(|f| relaxation(rules, f)).collect();
    recipe.relaxations.extend(refused.together.iter().map(|t| together(rules, t)));
    recipe.assumptions = super::build::base_assumptions(world);
    // The numbers of a refusal rest on where its loads were taken to act; the nearest miss is the choice they were told of.
    let loads = refused.nearest.first().map(|(near, _)| super::build::load_assumptions(world, &near.choice));
    for (text, effect) in loads.unwrap_or_default() {
        recipe.assumptions.push(Assumption { text, effect, question: true });
    }
    if refused.cut_short {
        recipe.assumptions.push(Assumption {
            text: "the search for conflicts and ways out was cut short: so much is asked for that not everything was tried"
                .to_owned(),
            effect: "there may be further conflicts, and smaller changes that free the job: take away what is not needed and \
                     compile again"
                .to_owned(),
            question: false,
        });
    }
    recipe.headline = headline(recipe);
    if recipe.relaxations.is_empty() && (!world.spec.asks.is_empty() || world.spec.consequence.is_some()) {
        recipe.headline.push_str(
            " What a part is used for is no setting of a print: take a bought part made for it, or have someone licensed for \
             such work answer for the design.",
        );
    }
}

fn miss(rules: &Rules<'_, '_>, solution: &Solution, broken: &[Said]) -> NearMiss {
    let name = |decision: usize| rules.world.name(decision, solution.choice[decision]);
    NearMiss {
        value: format!("{} on {}", name(at::MATERIAL), name(at::PRINTER)),
        breaks: broken.iter().map(|s| reason(rules, s)).collect(),
    }
}

/// Returns what stands against a material in a job that cannot be made, by its name in any case; `None` where the bench has
/// no such material or the spec bars it.
pub fn against(rules: &Rules<'_, '_>, material: &str) -> Option<NearMiss> {
    let index = rules.world.bench.materials.iter().position(|m| m.name.eq_ignore_ascii_case(material))?;
    let (solution, broken) = nearest_with(rules, index)?;
    Some(miss(rules, &solution, &broken))
}

fn headline(recipe: &Recipe) -> String {
    let mut lines: Vec<&str> = Vec::new();
    for place in recipe.conflicts.iter().flat_map(|c| &c.requirements).map(|r| r.place.as_str()) {
        if !lines.contains(&place) {
            lines.push(place);
        }
    }
    let large = recipe.conflicts.iter().any(|c| c.requirements.is_empty() && c.text.starts_with("the part measures"));
    if lines.is_empty() && large {
        "Not printable as specified: the part is larger than every machine here.".to_owned()
    } else if lines.is_empty() {
        "Not printable as specified: see what stands in the way below.".to_owned()
    } else {
        let each = match recipe.conflicts.len() {
            0 | 1 => String::new(),
            n => format!(" {n} things stand in the way, and each must be freed;"),
        };
        format!("Not printable as specified:{each} see {}.", lines.join(", "))
    }
}

fn relaxation(rules: &Rules<'_, '_>, freed: &Freed) -> Relaxation {
    let mut relaxation = change(rules, &freed.change);
    relaxation.text.push_str(&format!(", {}", does(&freed.way)));
    relaxation
}

/// Says which changes free the job only together.
fn together(rules: &Rules<'_, '_>, together: &Together) -> Relaxation {
    let each: Vec<Relaxation> = together.changes.iter().map(|c| change(rules, c)).collect();
    let told: Vec<String> = each.iter().map(|r| format!("{} ({})", r.text, r.place)).collect();
    let lines: Vec<String> = each.iter().filter_map(|r| r.write.clone()).collect();
    Relaxation {
        text: format!(
            "no single change is enough; all of these together: {}: {}",
            told.join(", and "),
            does(&together.way)
        ),
        place: each
            .iter()
            .map(|r| r.place.as_str())
            .collect::<BTreeSet<_>>()
            .into_iter()
            .collect::<Vec<_>>()
            .join(", "),
        write: (!lines.is_empty()).then(|| lines.join("; ")),
    }
}

fn does(way: &Way) -> String {
    let does = if way.fails() { "could be printed" } else { "would do" };
    format!("{} {does} on {}{}", way.material, way.printer, beside(way))
}

/// Says a change, where it is to be made, and what to write there.
fn change(rules: &Rules<'_, '_>, change: &Change) -> Relaxation {
    let place = |r: &crate::semantics::requirements::Requirement| rules.world.knowledge.sources.place(r.span);
    match change {
        Change::Number { requirement, number, from, to } => {
            let what = number.number.words;
            let with = if number.number.which == Which::Held { "" } else { "with " };
            let plain = (from.to_string(), to.to_string());
            // As it is told, so it is to be written.
            let (said, new) = match requirement.text.contains(&plain.0) {
                true => plain,
                false => in_the_lines_unit(&requirement.text, *from, *to).unwrap_or(plain),
            };
            Relaxation {
                text: format!("{with}{what}{new} instead of {said}"),
                place: place(requirement),
                write: Some(rewritten(&requirement.text, *from, *to)),
            }
        }
        Change::Drop { requirement } => Relaxation {
            text: format!("without `{}`", requirement.text.trim()),
            place: place(requirement),
            write: None,
        },
        Change::Bench { what, .. } => {
            Relaxation { text: format!("with {what}"), place: "shop.yaml".to_owned(), write: None }
        }
    }
}

/// Says what would be weak about a way out, the worst first.
fn beside(way: &Way) -> String {
    let of = |fails: bool| way.weak.iter().filter(move |w| w.fails == fails).map(|w| w.text.as_str());
    let weak: Vec<&str> = of(true).chain(of(false)).collect();
    match weak.as_slice() {
        [] => String::new(),
        weak => format!(", but {}", weak.join("; ")),
    }
}

/// Returns the line with its number replaced, in the unit it was written in; where it stands nowhere in the line (it is
/// named by a `let`), the new number alone.
fn rewritten(line: &str, from: Quantity, to: Quantity) -> String {
    let old = from.to_string();
    let text = line.trim();
    if text.contains(&old) {
        return text.replacen(&old, &to.to_string(), 1);
    }
    let (said, new) = in_the_lines_unit(text, from, to).unwrap_or((old, to.to_string()));
    if text.contains(&said) { text.replacen(&said, &new, 1) } else { format!("{new} in place of {said}") }
}

/// Rounds to three figures, away from the value that was too much to ask: what a person writes, on the safe side.
fn rounded_off(value: f64, from: f64) -> f64 {
    if value == 0.0 || !value.is_finite() {
        return value;
    }
    let step = 10f64.powi(value.abs().log10().floor() as i32 - 2);
    let steps = value / step;
    // What was round already in this unit stays so.
    let near = steps.round();
    let steps = if (steps - near).abs() < 1e-6 {
        near
    } else if value < from {
        steps.floor()
    } else {
        steps.ceil()
    };
    steps * step
}

/// Finds a quantity in a line that equals `from`, and returns it as written and `to` in its unit.
fn in_the_lines_unit(text: &str, from: Quantity, to: Quantity) -> Option<(String, String)> {
    let starts = text.char_indices().filter(|&(i, c)| {
        let before = text[..i].chars().next_back();
        c.is_ascii_digit() && !before.is_some_and(|b| b.is_alphanumeric() || matches!(b, '.' | ',' | '_'))
    });
    starts.into_iter().find_map(|(i, _)| {
        let rest = &text[i..];
        let digits = rest.find(|c: char| !c.is_ascii_digit() && c != '.' && c != ',').unwrap_or(rest.len());
        let gap = rest[digits..].len() - rest[digits..].trim_start_matches(' ').len();
        let unit = rest[digits + gap..].split([' ', ';', '}', ')', ',']).next().unwrap_or_default();
        let written = &rest[..digits + gap + unit.len()];
        let found = Quantity::parse(written).ok().filter(|q| q.dimension == from.dimension)?;
        let same = (found.si - from.si).abs() <= 1e-9 * from.si.abs().max(1e-12);
        let value = same.then(|| to.in_unit(unit)).flatten()?;
        let value = rounded_off(value, found.in_unit(unit)?);
        Some((
            written.to_owned(),
            format!("{}{}{unit}", crate::quantity::trim_number(value, 6), &rest[digits..digits + gap]),
        ))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_number_is_written_in_the_unit_of_its_line() {
        let q = |text: &str| Quantity::parse(text).unwrap();
        let line = "pressure 3 bar of \"water\" bore 40 mm";
        assert_eq!(rewritten(line, q("0.3 MPa"), q("0.17 MPa")), "pressure 1.7 bar of \"water\" bore 40 mm");
        assert_eq!(rewritten("wall at least 0.3 cm;", q("3 mm"), q("2.4 mm")), "wall at least 0.24 cm;");
        assert_eq!(rewritten("force gust toward -z", q("140 N"), q("90 N")), "90 N in place of 140 N");
    }
}
