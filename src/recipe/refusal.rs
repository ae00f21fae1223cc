//! The recipe that says no: what conflicts, what came nearest, and what would free it. No settings, no checklist.

use crate::diag::Cite;
use crate::quantity::Quantity;
use crate::recipe::reasons::reason;
use crate::recipe::{
    Assumption, Beside, Change as Told, Conflict, Does, Headline, NearMiss, Open, Recipe, Refused, Relaxation,
    Requirement, Rewrite, Sentence, Status, Way as Choice,
};
use crate::resolve::conflict::{Change, Colour, Refusal, Shape, Way, nearest_with};
use crate::resolve::problem::{Rules, Said};
use crate::resolve::questions::{self, Asked};
use crate::resolve::search::Solution;
use crate::resolve::world::{World, at};
use crate::rulebook::{Filled, Judgement};
use crate::semantics::requirements::{Kind, Line, Which};

/// Fills a recipe that cannot be printed as specified.
pub fn fill(rules: &Rules<'_, '_>, refused: &Refusal, recipe: &mut Recipe) {
    let world = rules.world;
    recipe.status = Status::NotPrintableAsSpecified;
    for said in &refused.from_the_start {
        let because = reason(rules, said);
        let of = |p: &Cite| {
            let line =
                p.at.map(|at| world.knowledge.sources.text(at).trim().to_owned()).filter(|line| !line.is_empty());
            Requirement { text: line.map_or(because.text.clone(), Into::into), place: p.clone() }
        };
        let requirements = because.places.iter().map(of).collect();
        recipe.conflicts.push(Conflict { requirements, text: because.text });
    }
    for set in &refused.sets {
        let of = |r: &crate::semantics::requirements::Requirement| Requirement {
            text: r.text.trim().into(),
            place: r.place.clone(),
        };
        let requirements: Vec<Requirement> = set.iter().map(of).collect();
        // What a rule has said of one line already, with its reason, needs no saying again.
        let told = |r: &crate::semantics::requirements::Requirement| {
            recipe.conflicts.iter().any(|c| c.requirements.iter().any(|q| r.holds(&q.place)))
        };
        if set.len() == 1 && set.iter().all(told) {
            continue;
        }
        let text = Refused::Together(requirements.len()).into();
        recipe.conflicts.push(Conflict { requirements, text });
    }
    let oversize = super::oversize::oversize(world).filter(|_| refused.bench_only);
    let too_large = oversize.is_some();
    if refused.bench_only {
        let text = oversize.map_or(Refused::BenchAlone, Refused::Oversize).into();
        recipe.conflicts.push(Conflict { requirements: of_the_mesh(world), text });
    }
    recipe.nearest = refused.nearest.iter().map(|(solution, broken)| miss(rules, solution, broken)).collect();
    recipe.relaxations =
        refused.relaxations.iter().map(|f| relaxation(rules, [&f.change], &f.way, (Does::Alone, f.hollow))).collect();
    let worth = refused.relaxations.iter().filter(|f| !f.hollow).count();
    if let Some(redrawn) = redrawn(rules, &refused.nearest) {
        recipe.relaxations.insert(worth.min(recipe.relaxations.len()), redrawn);
    }
    let does = if refused.relaxations.is_empty() { Does::OnlyTogether } else { Does::WithoutPurchase };
    let together = refused.together.iter().map(|t| relaxation(rules, &t.changes, &t.way, (does, t.hollow)));
    recipe.relaxations.extend(together);
    recipe.assumptions = super::build::base_assumptions(world);
    // The numbers of a refusal rest on where its loads were taken to act; the nearest miss is the choice they were told of.
    let loads = refused.nearest.first().map(|(near, _)| super::build::taken_of_loads(world, &near.choice));
    recipe.assumptions.extend(loads.unwrap_or_default());
    if refused.cut_short {
        recipe.assumptions.push(Assumption::new(Open::CutShort, Open::CutShortEffect, false));
    }
    let of_the_job = rules.of_the_job();
    recipe.cautions = super::build::cautions(rules, &of_the_job);
    recipe.not_for = super::build::not_for(rules, &of_the_job);
    // What a part is used for is no setting of a print.
    let by_use = refused.from_the_start.iter().any(|said| rules.rule(said.constraint).defers);
    let mut refusing = refused.from_the_start.iter().chain(refused.nearest.iter().flat_map(|(_, broken)| broken));
    let mut refuses_for_people = refusing.any(|said| rules.rule(said.constraint).defers);
    refuses_for_people |= of_the_job.iter().any(|said| rules.rule(said.constraint).defers);
    let beside = Beside {
        by_use,
        for_people: refuses_for_people && !by_use,
        not_for: super::status::uses(recipe),
        asked: questions_first(rules, refused, &of_the_job),
    };
    open_questions(rules, refused, &of_the_job, recipe);
    let answered = refused.from_the_start.is_empty() && decisive(rules, refused).any(could_free);
    if answered {
        recipe.status = Status::QuestionFirst;
    }
    recipe.headline = headline(recipe, too_large, answered, beside).into();
}

/// Whether something would do if an open question were answered one way: then it is asked, and nothing is refused yet.
fn could_free(asked: &Asked) -> bool {
    asked.answers.iter().any(|a| a.way.as_ref().is_some_and(|way| !way.fails()))
}

/// The lines that say which body is meant: where nothing else stands in the way, its shape does.
fn of_the_mesh(world: &World<'_>) -> Vec<Requirement> {
    let sources = world.knowledge.sources;
    let of = |span| Requirement { text: sources.text(span).trim().into(), place: sources.cite(span) };
    world.spec.meshes.iter().map(|mesh| of(mesh.span)).collect()
}

/// Returns what is to be settled before anything else: what rules ask of the job, and what is open and could free it.
fn questions_first(rules: &Rules<'_, '_>, refused: &Refusal, of_the_job: &[Said]) -> Vec<Sentence> {
    let mut asked = super::build::asked_first(rules, of_the_job);
    asked.extend(decisive(rules, refused).map(|asked| super::status::open_question(rules.world, asked)));
    asked
}

/// Returns the open questions that are put into words and whose answers lead to different things.
fn decisive<'r>(rules: &'r Rules<'_, '_>, refused: &'r Refusal) -> impl Iterator<Item = &'r Asked> {
    let told = |asked: &&Asked| super::build::open_words(rules.world, asked.about).0 != Sentence::Nothing;
    refused.questions.iter().filter(|asked| asked.decides()).filter(told)
}

/// Says what the spec leaves open where the answer could free the job, and what rules ask of the job whatever is chosen.
fn open_questions(rules: &Rules<'_, '_>, refused: &Refusal, of_the_job: &[Said], recipe: &mut Recipe) {
    let open = decisive(rules, refused).map(|asked| super::build::question(rules.world, asked));
    let by_rules = super::build::asked(rules, of_the_job);
    // How hot the sun makes it says how far from possible it is, though no answer alone makes it so.
    let heat = refused.questions.iter().filter(|asked| asked.about == questions::Open::Back && !asked.decides());
    let heat = heat.map(|asked| {
        let (text, effect) = super::build::open_words(rules.world, asked.about);
        Assumption::new(text, effect, true)
    });
    for question in open.chain(by_rules).chain(heat) {
        recipe.assumptions.retain(|known| known.text != question.text);
        recipe.assumptions.push(question);
    }
}

fn miss(rules: &Rules<'_, '_>, solution: &Solution, broken: &[Said]) -> NearMiss {
    let name = |decision: usize| rules.world.name(decision, solution.choice[decision]);
    NearMiss {
        value: format!("{} on {}", name(at::MATERIAL), name(at::PRINTER)),
        breaks: broken.iter().map(|s| reason(rules, s)).collect(),
    }
}

/// Returns how the model could be drawn for what came nearest, where nothing but its shape stands in the way of that.
fn redrawn(rules: &Rules<'_, '_>, nearest: &[(Solution, Vec<Said>)]) -> Option<Relaxation> {
    let of = |said: &Said| -> Option<Vec<Filled>> {
        let broken = said.judgements.iter().filter_map(|j| match j {
            Judgement::Broken { redraw, .. } => Some(redraw.clone()),
            _ => None,
        });
        broken.collect()
    };
    let (solution, so) = nearest.iter().find_map(|(solution, broken)| {
        let so: Vec<Filled> = broken.iter().map(of).collect::<Option<Vec<_>>>()?.concat();
        (!so.is_empty()).then_some((solution, so))
    })?;
    let name = |decision: usize| rules.world.name(decision, solution.choice[decision]).to_owned();
    let (material, printer) = (name(at::MATERIAL), name(at::PRINTER));
    Some(Relaxation {
        text: Refused::Redrawn { so, material, printer }.into(),
        places: of_the_mesh(rules.world).into_iter().map(|r| r.place).collect(),
        write: None,
        rewrites: Vec::new(),
    })
}

/// Returns what stands against a material in a job that cannot be made, by its name in any case; `None` where the bench has
/// no such material or the spec bars it.
pub fn against(rules: &Rules<'_, '_>, material: &str) -> Option<NearMiss> {
    let index = rules.world.bench.materials.iter().position(|m| m.name.eq_ignore_ascii_case(material))?;
    let (solution, broken) = nearest_with(rules, index)?;
    Some(miss(rules, &solution, &broken))
}

fn headline(recipe: &Recipe, too_large: bool, answered: bool, beside: Beside) -> Headline {
    if too_large {
        return Headline::TooLarge(beside);
    }
    let mut places: Vec<Cite> = Vec::new();
    for place in recipe.conflicts.iter().flat_map(|c| &c.requirements).map(|r| &r.place) {
        if !places.contains(place) {
            places.push(place.clone());
        }
    }
    match places.is_empty() {
        _ if answered => Headline::Unanswered { places, beside },
        true => Headline::Bench(beside),
        false => Headline::InTheWay { things: recipe.conflicts.len(), places, beside },
    }
}

/// Returns what would be chosen, and what of it would be weak, the worst first.
pub(super) fn would_be(way: &Way) -> Choice {
    let weak = |fails: bool| way.weak.iter().filter(move |w| w.fails == fails).map(|w| w.what.clone());
    Choice {
        material: way.material.clone(),
        printer: way.printer.clone(),
        equipped: way.equipped,
        fails: way.fails(),
        weak: weak(true).chain(weak(false)).collect(),
    }
}

/// Says the changes that free a job, alone or only together, where they are to be made, and what to write there.
fn relaxation<'c>(
    rules: &Rules<'_, '_>,
    changes: impl IntoIterator<Item = &'c Change>,
    way: &Way,
    (does, hollow): (Does, bool),
) -> Relaxation {
    let changes: Vec<&Change> = changes.into_iter().collect();
    let each: Vec<_> = changes.iter().map(|c| change(rules, c, way)).collect();
    let rewrites: Option<Vec<Rewrite>> = changes.iter().zip(&each).map(|(c, e)| rewrite(rules, c, e)).collect();
    let mut places: Vec<Cite> = each.iter().map(|(_, place, _)| place.clone()).collect();
    places.sort_by_key(ToString::to_string);
    places.dedup();
    let lines: Vec<String> = each.iter().filter_map(|(.., write)| write.clone()).collect();
    let choice = would_be(way);
    let each = each.into_iter().map(|(told, place, _)| (told, vec![place])).collect();
    Relaxation {
        text: Refused::Changes { each, does, hollow, way: choice }.into(),
        places,
        write: (!lines.is_empty()).then(|| lines.join("; ")),
        rewrites: rewrites.unwrap_or_default(),
    }
}

/// Returns a change as one of the spec's text; nothing where it is of the workshop or the model.
fn rewrite(rules: &Rules<'_, '_>, change: &Change, told: &(Told, Cite, Option<String>)) -> Option<Rewrite> {
    let (_, place, write) = told;
    let more = place.at == Some(rules.world.spec.name.span);
    match (change, write) {
        (Change::Drop { requirement, .. }, _) => {
            Some(Rewrite { at: requirement.span, text: String::new(), more: false })
        }
        (_, Some(text)) => Some(Rewrite { at: place.at?, text: text.clone(), more }),
        _ => None,
    }
}

/// Says a change, where it is to be made, and what to write there.
fn change(rules: &Rules<'_, '_>, change: &Change, way: &Way) -> (Told, Cite, Option<String>) {
    let sources = rules.world.knowledge.sources;
    match change {
        Change::Number { requirement, number, from, to } => {
            let which = number.number.which;
            let line = number.line(rules.world.spec, sources, requirement);
            // As it is told, so it is to be written.
            let anew = line.as_ref().map(|line| (line, in_its_unit(&line.number, *from, *to)));
            let (said, new) = match &anew {
                Some((line, new)) => (line.number.clone(), new.clone()),
                None => (from.to_string(), to.to_string()),
            };
            let write = anew.map(|(line, new)| line.with(&new));
            let of = number.number.words.to_owned();
            let (held, model) = (which == Which::Held, which.is_of_the_shape());
            let told = Told::Number { of, held, model, from: said, to: new };
            (told, sources.cite(requirement.span), write)
        }
        Change::Shape(shape) => shape_told(rules, shape),
        Change::Colour(colour) => colour_told(rules, colour, way),
        Change::Drop { requirement, no_less } => {
            let line = requirement.text.trim().to_owned();
            (Told::Without { line, no_less: *no_less }, sources.cite(requirement.span), None)
        }
        Change::Bench { what, .. } => {
            let shop = Cite { file: "shop.yaml".to_owned(), ..Cite::default() };
            (Told::With(what.clone()), shop, None)
        }
    }
}

/// Says another colour, and where it is to be written.
fn colour_told(rules: &Rules<'_, '_>, colour: &Colour, way: &Way) -> (Told, Cite, Option<String>) {
    let sources = rules.world.knowledge.sources;
    let told = Told::Colour {
        from: colour.from.clone(),
        to: colour.to.clone(),
        spool: colour.spool.clone(),
        buy: (colour.listed && colour.spool.is_none()).then(|| way.material.clone()),
    };
    if colour.from.as_ref() == Some(&colour.to) {
        return (told, Cite { file: "shop.yaml".to_owned(), ..Cite::default() }, None);
    }
    let line = format!("colour \"{}\"", colour.to);
    match &colour.asked {
        Some(asked) => (told, sources.cite(asked.span), Some(line)),
        None => (told, sources.cite(rules.world.spec.name.span), Some(format!("service {{ {line} }}"))),
    }
}

/// Says a change of the shape, and where the model or the line of it is named.
fn shape_told(rules: &Rules<'_, '_>, shape: &Shape) -> (Told, Cite, Option<String>) {
    let sources = rules.world.knowledge.sources;
    match shape {
        Shape::Wall { from, to, at, asked } => {
            let told = Told::Wall { from: *from, to: *to, at: *at, asked: asked.is_some() };
            let mesh = rules.world.spec.meshes.first().map(|mesh| mesh.path.span);
            let place = asked.as_ref().map(|r| r.span).or(mesh);
            let write = asked.as_ref().and_then(|requirement| {
                let spec = rules.world.spec;
                let number = requirement.key.numbers(spec).into_iter().next()?;
                Some(rewritten(&number.line(spec, sources, requirement)?, number.value(spec)?, (*to).into()))
            });
            (told, place.map(|p| sources.cite(p)).unwrap_or_default(), write)
        }
        Shape::Thick { requirement, from, to, at } => {
            let load = requirement.key.to_string();
            let bends = requirement.key.kind == Kind::Deflection;
            let told = Told::Thick { load, bends, from: *from, to: *to, at: *at };
            (told, sources.cite(requirement.span), None)
        }
        Shape::Section { requirement, bent, pulled } => {
            let told = Told::Section { load: requirement.key.to_string(), bent: *bent, pulled: *pulled };
            (told, sources.cite(requirement.span), None)
        }
    }
}

/// Returns the line with another number in the place of its own, in the unit that one is written in.
pub(crate) fn rewritten(line: &Line, from: Quantity, to: Quantity) -> String {
    line.with(&in_its_unit(&line.number, from, to))
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

/// Returns a number as it would be written in place of another, which stands for `from`, in the same unit.
fn in_its_unit(written: &str, from: Quantity, to: Quantity) -> String {
    let plain = to.to_string();
    if written == from.to_string() {
        return plain;
    }
    let digits = written.find(|c: char| !c.is_ascii_digit() && c != '.' && c != ',').unwrap_or(written.len());
    let (gap, unit) = written[digits..].split_at(written[digits..].len() - written[digits..].trim_start().len());
    let value = to.in_unit(unit).zip(from.in_unit(unit)).map(|(to, from)| rounded_off(to, from));
    value.map_or(plain, |value| format!("{}{gap}{unit}", crate::quantity::trim_number(value, 6)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diag::{Source, Sources};
    use crate::semantics::requirements::requirements;

    /// Writes the main number of the one requirement of a spec, or that of another name, anew.
    fn anew(line: &str, which: Which, to: &str) -> Option<String> {
        let text = format!("let u = 2 mm\npart \"p\" {{ mesh \"p.stl\" in mm; {line} }}");
        let mut sources = Sources::default();
        let id = sources.add(Source::new("p.partspec", text.as_str()));
        let tree = crate::syntax::parse(id, &text).value.unwrap();
        let spec = crate::semantics::check(&[tree], &sources).value.unwrap().parts.remove(0);
        let [requirement] = &requirements(&spec, &sources)[..] else { panic!("{line}") };
        let number = requirement.key.numbers(&spec).into_iter().find(|n| n.number.which == which).unwrap();
        let line = number.line(&spec, &sources, requirement)?;
        Some(rewritten(&line, number.value(&spec).unwrap(), Quantity::parse(to).unwrap()))
    }

    #[test]
    fn a_number_is_written_in_the_unit_of_its_line() {
        let main = |line: &str, to: &str| anew(line, Which::Main, to);
        let pressure = main("pressure 3 bar of \"water\" bore 40 mm", "0.17 MPa");
        assert_eq!(pressure.unwrap(), "pressure 1.7 bar of \"water\" bore 40 mm");
        assert_eq!(main("wall at least 0.3 cm", "2.4 mm").unwrap(), "wall at least 0.24 cm");
        assert_eq!(main("wall at least 3 mm // the least", "2.4 mm").unwrap(), "wall at least 2.4 mm");
        let air = |which| anew("service { air -20 °C .. 40 °C }", which, "30 °C").unwrap();
        assert_eq!(air(Which::Main), "air -20 °C .. 30 °C");
        assert_eq!(air(Which::Low), "air 30 °C .. 40 °C");
        let load = "load \"pull\" { force 40 N toward -z\n  held 2 years; factor 2 }";
        assert_eq!(
            anew(load, Which::Held, "1 year").unwrap(),
            "load \"pull\" { force 40 N toward -z held 1 year; factor 2 }"
        );
        assert_eq!(
            anew(load, Which::Factor, "1.5").unwrap(),
            "load \"pull\" { force 40 N toward -z held 2 years; factor 1.5 }"
        );
        assert_eq!(main("pin nozzle 0.6 mm because \"x\"", "0.4 mm").unwrap(), "pin nozzle 0.4 mm because \"x\"");
        assert_eq!(main("quantity 24", "12").unwrap(), "quantity 12");
    }

    #[test]
    fn of_equal_numbers_in_a_line_the_one_meant_is_written_anew() {
        let thick = |line: &str| anew(line, Which::Thickness, "1.5 mm").unwrap();
        assert_eq!(
            thick("fit \"clip\" { snap 1.2 mm reach 12 mm thick 2 mm }"),
            "fit \"clip\" { snap 1.2 mm reach 12 mm thick 1.5 mm }"
        );
        assert_eq!(
            thick("fit \"clip\" { snap 2 mm reach 12 mm thick 2 mm }"),
            "fit \"clip\" { snap 2 mm reach 12 mm thick 1.5 mm }"
        );
    }

    /// Another number of the same size in the line is not the one meant.
    #[test]
    fn a_number_that_is_named_is_not_written_anew() {
        assert_eq!(anew("fit \"clip\" { snap u reach 12 mm thick 2 mm }", Which::Undercut, "1 mm"), None);
        assert_eq!(anew("wall at least 1.5 * u", Which::Main, "2.4 mm"), None);
        assert_eq!(anew("wall at least u", Which::Main, "1 mm"), None);
    }
}
