//! The recipes of a plan's rounds, each made for the workshop as the rounds before it leave it.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::super::pipeline::{self, Options};
use super::super::runs::RunFile;
use super::super::world::World;
use super::making::{Made, Origin};
use crate::plan::floor::{Floor, Machine};
use crate::plan::{Plan, Round};
use crate::recipe::Recipe;
use crate::semantics::spec::Decision;

/// The recipes of each round, one for each part on it, in the plan's order.
pub(super) fn of(
    world: &World,
    run: &RunFile,
    plan: &Plan,
    made: &Made,
    floor: &Floor,
    options: &Options,
) -> Vec<Vec<Recipe>> {
    let mut floor = floor.clone();
    let mut kept: BTreeMap<String, Recipe> = BTreeMap::new();
    let mut all = Vec::new();
    for round in &plan.rounds {
        let mut recipes = Vec::new();
        for on in &round.parts {
            let Some(origin) = made.origins.iter().find(|o| o.recipe.part == on.part) else { continue };
            let before = floor.machines.get(&round.printer).cloned().unwrap_or_default();
            let key = format!(
                "{} {} {} {} {before:?}",
                on.part,
                on.count,
                round.name.rsplit_once('-').map_or("", |n| n.0),
                day(round)
            );
            let recipe = kept.entry(key).or_insert_with(|| {
                let found = compiled(world, run, origin, round, on.count, &floor, options);
                found.unwrap_or_else(|| origin.recipe.clone())
            });
            recipes.push(recipe.clone());
        }
        move_along(&mut floor, round, plan);
        all.push(recipes);
    }
    all
}

fn compiled(
    world: &World,
    run: &RunFile,
    origin: &Origin,
    round: &Round,
    count: u32,
    floor: &Floor,
    options: &Options,
) -> Option<Recipe> {
    let mut asked = origin.asked.clone();
    let mut pins = vec![
        (Decision::Printer, round.printer.clone()),
        (Decision::Material, round.material.clone()),
        (Decision::Nozzle, round.nozzle.clone()),
        (Decision::Surface, round.surface.clone()),
    ];
    let listed = |name: &str| run.loaded.shop.as_ref().is_some_and(|s| s.spool(name).is_some());
    pins.extend(round.spools.first().filter(|s| listed(&s.name)).map(|s| (Decision::Spool, s.name.clone())));
    asked.pins.insert(origin.spec_name.clone(), pins);
    asked.plate = Some(count);
    asked.day = Some(day(round).to_owned());
    asked.floor = Some(Arc::new(floor.clone()));
    let options = Options { run: Some(Arc::new(asked)), ..options.clone() };
    let mut found = None;
    pipeline::compile_visiting(world, &origin.spec.path, &options, &mut |_, _, recipe| {
        if recipe.part == origin.recipe.part && recipe.status.may_print() {
            found = Some(recipe.clone());
        }
    });
    found
}

/// Leaves the workshop as a round leaves it.
fn move_along(floor: &mut Floor, round: &Round, plan: &Plan) {
    let spool = round.spools.last().map(|s| s.name.clone());
    let now = Machine {
        material: Some(round.material.clone()),
        spool: spool.clone(),
        nozzle: Some(round.nozzle.clone()),
        surface: Some(round.surface.clone()),
        agent: round.agent.clone(),
    };
    floor.machines.insert(round.printer.clone(), now);
    for draw in &round.spools {
        if let Some(left) = floor.left.get_mut(&draw.name) {
            *left = (*left - draw.mass_g).max(0.0);
        }
        // The sheet of its first round asks for the drying, those after it rest on that.
        if let Some(dried) = plan.drying.iter().find(|d| d.spool == draw.name) {
            floor.dried.entry(draw.name.clone()).or_insert_with(|| day_of(&dried.to).to_owned());
        }
    }
}

/// The day on which a round begins to print.
fn day(round: &Round) -> &str {
    day_of(&round.begin)
}

fn day_of(moment: &str) -> &str {
    moment.split(' ').next().unwrap_or_default()
}
