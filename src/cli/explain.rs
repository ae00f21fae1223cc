//! `makeready explain`: why a recipe is as it is.

mod sure;
pub(super) mod what_if;

use std::path::Path;

use super::args::ExplainArgs;
use super::compile::options;
use super::exit::Exit;
use super::terminal::Terminal;
use super::world::World;
use super::{diff, pipeline};
use crate::diag::{Diagnostic, Severity, Sources, nearest};
use crate::geometry::pose;
use crate::recipe::{self, Recipe};
use crate::render::{self, hand, pages};
use crate::resolve::problem::Rules;
use crate::resolve::world::at;
use crate::resolve::{self, Outcome, strength};
use what_if::Asked;

pub(super) fn run(args: &ExplainArgs, terminal: &Terminal) -> Result<Exit, Exit> {
    if let Some(rule) = &args.rule {
        let page = pipeline::rule_page(rule).map_err(|found| tell(found, terminal))?;
        terminal.result(&pages::rule(&page))?;
        return Ok(Exit::Done);
    }
    let question = Question::of(&args.what).map_err(|found| tell(found, terminal))?;
    // clap asks for a spec wherever no rule is named.
    let spec = args.spec.as_deref().unwrap_or(Path::new(""));
    let world = World::around(spec, args.inputs.allow_outside).map_err(|found| tell(found, terminal))?;
    let mut options = options(&args.inputs, false);
    let asked = Asked::of(args);
    let told = |(found, sources): what_if::Told| {
        terminal.findings(&found, &sources);
        Exit::of(&found).max(Exit::Wrong)
    };
    let changed = what_if::changed(&world, spec, &asked, &options).map_err(told)?;
    if !asked.is_empty() && args.what.is_empty() {
        let some = |which: &[usize]| {
            let some: Vec<Asked> = which.iter().filter_map(|&i| asked.get(i)).cloned().collect();
            what_if::changed(&world, spec, &some, &options).ok()
        };
        let changes = diff::Supposed { words: asked.iter().map(Asked::words).collect(), with: &some };
        return diff::supposed(spec, &world, &changes, (&options, args.print), terminal);
    }
    let world = changed;
    if let Question::Sure = question {
        let page = sure::page(&world, spec, &options).map_err(told)?;
        terminal.result(&page)?;
        return Ok(Exit::Done);
    }
    let named;
    let question = match question {
        Question::Word(value) | Question::Not(value) if pose::read(value).is_some() => {
            options.asked = pose::read(value);
            named = options.asked.map(pose::name).unwrap_or_default();
            Question::Not(&named)
        }
        other => other,
    };
    let (mut against, mut loads, mut known_loads) = (Vec::new(), Vec::new(), Vec::new());
    let mut breaks = Vec::new();
    let bar = super::compile::bar(1, terminal);
    let compiled = pipeline::compile_visiting(&world, spec, &options, &mut |rules, outcome, made| {
        if let Question::Breaks = question {
            breaks.push(render::breaks::text(&made.part, &resolve::breaks::find(rules)));
        }
        if let Question::Load(name) = &question {
            known_loads.extend(rules.world.spec.loads.iter().map(|l| l.name.value.clone()));
            loads.extend(load_page(rules, outcome, made, name));
        }
        // A page that refuses names the nearest misses only; whoever asks for another material gets its answer here.
        if let (Outcome::Refused(_), Question::Word(value) | Question::Not(value)) = (outcome, &question) {
            against.extend(recipe::refusal::against(rules, value).map(|near| pages::miss(made, &near)));
        }
        // What the recipe accounts for stands in it; the other decisions are asked about here.
        if let (Outcome::Decided(decided), Question::Not(value)) = (outcome, &question) {
            let all = recipe::against(rules, decided, value);
            let is = |d: &&recipe::Decided| d.value.eq_ignore_ascii_case(value);
            let taken = made.decisions.as_ref().is_some_and(|d| d.all().iter().any(|(_, d)| is(d)));
            if !all.is_empty() && (taken || pages::explain_not(made, value).is_none()) {
                against.push(pages::not_taken(made, &all));
            }
        }
    });
    bar.finish_and_clear();
    let exit = Exit::of(&compiled.diagnostics);
    if exit != Exit::Done {
        terminal.findings(&compiled.diagnostics, &compiled.sources);
        return Err(exit);
    }
    if let Question::Breaks = question {
        terminal.result(&breaks.join("\n"))?;
        return Ok(Exit::Done);
    }
    if let Question::Load(name) = &question {
        if loads.is_empty() {
            return Err(tell(no_load(name, &known_loads), terminal));
        }
        terminal.result(&loads.join("\n"))?;
        return Ok(Exit::Done);
    }
    let recipes: Vec<&Recipe> = compiled.parts.iter().map(|p| &p.recipe).collect();
    let mut answers: Vec<String> = recipes.iter().filter_map(|r| question.answer(r)).collect();
    if answers.is_empty() || matches!(question, Question::Not(_)) {
        answers.append(&mut against);
    }
    if answers.is_empty() {
        return Err(tell(question.unanswered(&recipes), terminal));
    }
    terminal.result(&answers.join("\n"))?;
    Ok(Exit::Done)
}

/// Returns the hand sum of a load beside what the field says, for the choice made or the nearest to one; `None` where the part
/// has no such load.
fn load_page(rules: &Rules<'_, '_>, outcome: &Outcome, made: &Recipe, name: &str) -> Option<String> {
    let world = rules.world;
    let load = world.spec.loads.iter().position(|l| l.name.value == name)?;
    let (choice, refused) = match outcome {
        Outcome::Decided(decided) => (decided.choice.to_vec(), false),
        Outcome::Refused(refusal) => (refusal.nearest.first()?.0.choice.clone(), true),
    };
    let [material, pose] = [at::MATERIAL, at::POSE].map(|d| choice.get(d).copied());
    let called = |d: usize| choice.get(d).map_or(String::new(), |&value| world.name(d, value));
    Some(hand::text(&hand::LoadPage {
        recipe: made,
        load: &format!("load \"{name}\""),
        choice: &format!("{} on {}, {}", called(at::MATERIAL), called(at::PRINTER), called(at::POSE)),
        refused,
        margins: &recipe::of_load(world, &choice, load),
        hand: &strength::hand::hand(world, load, material?, pose?),
    }))
}

fn no_load(name: &str, known: &[String]) -> Diagnostic {
    let found = misuse(format!("the spec has no load \"{name}\", or nothing came near to printing it"));
    match nearest(name, known.iter().map(String::as_str)) {
        Some(near) if near != name => found.hint(format!("did you mean \"{near}\"?")),
        _ if known.is_empty() => found.hint("it has none"),
        _ => found.hint(format!("it has {}", known.join(", "))),
    }
}

/// What was asked about a recipe.
enum Question<'a> {
    Everything,
    Word(&'a str),
    Not(&'a str),
    Load(&'a str),
    Breaks,
    Sure,
}

impl<'a> Question<'a> {
    fn of(what: &'a [String]) -> Result<Self, Diagnostic> {
        match what {
            [] => Ok(Question::Everything),
            [not, value] if not == "not" => Ok(Question::Not(value.trim())),
            [not] if not == "not" => {
                Err(misuse("expected a choice after `not`, found nothing").hint("write `not glass`, for example"))
            }
            [load, name] if load == "load" => Ok(Question::Load(name.trim())),
            [word] if word == "breaks" => Ok(Question::Breaks),
            [word] if word == "sure" => Ok(Question::Sure),
            [word] => Ok(Question::Word(word.trim())),
            more => Err(misuse(format!("expected one decision, found `{}`", more.join(" ")))
                .hint("a name of several words goes between quotation marks")),
        }
    }

    fn answer(&self, recipe: &Recipe) -> Option<String> {
        match self {
            Question::Everything => Some(pages::explain_all(recipe)),
            Question::Word(word) => pages::explain(recipe, word),
            Question::Not(value) => pages::explain_not(recipe, value),
            Question::Load(_) | Question::Breaks | Question::Sure => None,
        }
    }

    fn unanswered(&self, recipes: &[&Recipe]) -> Diagnostic {
        let (asked, known): (&str, Vec<String>) = match self {
            Question::Everything | Question::Breaks | Question::Sure => ("", Vec::new()),
            Question::Word(word) => (word, recipes.iter().flat_map(|r| pages::words(r)).collect()),
            Question::Load(name) => (name, Vec::new()),
            Question::Not(value) => (value, recipes.iter().flat_map(|r| pages::rejects(r)).collect()),
        };
        let found = misuse(format!("the recipe does not speak of `{asked}`"));
        let begins = known.iter().map(String::as_str).find(|k| !asked.is_empty() && k.starts_with(asked));
        match begins.or_else(|| nearest(asked, known.iter().map(String::as_str))) {
            Some(near) => found.hint(format!("did you mean `{near}`?")),
            None if known.is_empty() => found.hint(
                "the part can't be made as specified: without a further word, `explain` says what stands in the way",
            ),
            None => found.hint(format!("it speaks of {}", known.join(", "))),
        }
    }
}

fn misuse(message: impl Into<String>) -> Diagnostic {
    Diagnostic::new(Severity::Error, "usage/question", message)
}

fn tell(found: Diagnostic, terminal: &Terminal) -> Exit {
    terminal.findings(std::slice::from_ref(&found), &Sources::default());
    Exit::of(&[found])
}
