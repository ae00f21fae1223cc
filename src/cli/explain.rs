//! `makeready explain`: why a recipe is as it is.

use std::path::Path;

use super::args::ExplainArgs;
use super::compile::options;
use super::exit::Exit;
use super::pipeline;
use super::terminal::Terminal;
use super::world::World;
use crate::diag::{Diagnostic, Severity, Sources, nearest};
use crate::geometry::pose;
use crate::recipe::{self, Recipe};
use crate::render::pages;
use crate::resolve::Outcome;

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
    let named;
    let question = match question {
        Question::Word(value) | Question::Not(value) if pose::read(value).is_some() => {
            options.asked = pose::read(value);
            named = options.asked.map(pose::name).unwrap_or_default();
            Question::Not(&named)
        }
        other => other,
    };
    let mut against = Vec::new();
    let compiled = pipeline::compile_visiting(&world, spec, &options, &mut |rules, outcome, made| {
        // A page that refuses names the nearest misses only; whoever asks for another material gets its answer here.
        if let (Outcome::Refused(_), Question::Word(value) | Question::Not(value)) = (outcome, &question) {
            against.extend(recipe::refusal::against(rules, value).map(|near| pages::miss(made, &near)));
        }
    });
    let exit = Exit::of(&compiled.diagnostics);
    if exit != Exit::Done {
        terminal.findings(&compiled.diagnostics, &compiled.sources);
        return Err(exit);
    }
    let recipes: Vec<&Recipe> = compiled.parts.iter().map(|p| &p.recipe).collect();
    let mut answers: Vec<String> = recipes.iter().filter_map(|r| question.answer(r)).collect();
    if answers.is_empty() {
        answers.append(&mut against);
    }
    if answers.is_empty() {
        return Err(tell(question.unanswered(&recipes), terminal));
    }
    terminal.result(&answers.join("\n"))?;
    Ok(Exit::Done)
}

/// What was asked about a recipe.
enum Question<'a> {
    Everything,
    Word(&'a str),
    Not(&'a str),
}

impl<'a> Question<'a> {
    fn of(what: &'a [String]) -> Result<Self, Diagnostic> {
        match what {
            [] => Ok(Question::Everything),
            [not, value] if not == "not" => Ok(Question::Not(value.trim())),
            [not] if not == "not" => {
                Err(misuse("expected a choice after `not`, found nothing").hint("write `not glass`, for example"))
            }
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
        }
    }

    fn unanswered(&self, recipes: &[&Recipe]) -> Diagnostic {
        let (asked, known): (&str, Vec<String>) = match self {
            Question::Everything => ("", Vec::new()),
            Question::Word(word) => (word, recipes.iter().flat_map(|r| pages::words(r)).collect()),
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
