//! How sure a choice is: which value known as a band only, moved to an end of it, makes another one. Found by solving.

use std::collections::BTreeMap;
use std::path::Path;

use rayon::prelude::*;

use crate::catalogue::{Catalogue, Plain};
use crate::cli::pipeline::{self, Options};
use crate::cli::world::World;
use crate::diag::{Diagnostic, Sources};
use crate::quantity::Quantity;
use crate::recipe::{Basis, Cited, Reason, Recipe};
use crate::render::sure::{self, Moved};
use crate::resolve::breaks::{Made, made};
use crate::resolve::world::World as Resolver;
use crate::rulebook::Decision;

/// Most values that are moved; each costs two answers.
const MOST: usize = 32;

/// A value of the catalogue that the recipe rests on, and its band.
#[derive(Debug, Clone)]
struct Band {
    /// `materials`, `figures`.
    section: &'static str,
    /// The material; empty for a figure.
    of: String,
    field: String,
    typ: Quantity,
    ends: (Quantity, Quantity),
    source: Cited,
}

impl Band {
    /// Returns the catalogue's entry with the value at one end, and no doubt left about it.
    fn at(&self, value: Quantity) -> String {
        let value = format!("{{ typ: {value}, low: {value}, high: {value}, kind: computed }}");
        match self.of.as_str() {
            "" => format!("{}:\n  {}: {value}\n", self.section, self.field),
            of => format!("{}:\n  {of}:\n    {}: {value}\n", self.section, self.field),
        }
    }

    /// Returns what it is called.
    fn name(&self) -> String {
        let field = self.field.replace('_', " ");
        if self.of.is_empty() { field } else { format!("{field} of {}", self.of) }
    }
}

/// Returns the page of every part of a spec.
///
/// # Errors
///
/// What is wrong with the spec, with the texts it points into.
pub(super) fn page(world: &World, spec: &Path, options: &Options) -> Result<String, (Vec<Diagnostic>, Sources)> {
    let mut bands: BTreeMap<String, Vec<Band>> = BTreeMap::new();
    let compiled = pipeline::compile_visiting(world, spec, options, &mut |rules, _, recipe| {
        bands.insert(recipe.part.clone(), rested_on(recipe, rules.world));
    });
    if compiled.diagnostics.iter().any(Diagnostic::is_error) {
        return Err((compiled.diagnostics, compiled.sources));
    }
    let before = chosen(world, spec, options, None);
    let mut out = String::new();
    for (part, bands) in &bands {
        let Some(now) = before.get(part) else { continue };
        let left = bands.len().saturating_sub(MOST);
        let moved = |band: &Band| {
            let other = |end: Quantity| {
                let made = chosen(world, spec, options, Some(band.at(end))).remove(part)?;
                (made != *now).then_some((end, made))
            };
            let (low, high) = band.ends;
            let ends = [low, high].into_iter().filter(|end| end.si != band.typ.si).filter_map(other).collect();
            Moved { name: band.name(), typ: band.typ, ends: band.ends, source: kind_of(&band.source), to: ends }
        };
        let all: Vec<Moved> = bands.par_iter().take(MOST).map(moved).collect();
        out.push_str(&sure::text(part, now.as_ref(), &all, left));
    }
    Ok(out)
}

/// Returns where a value is known from; its place in the catalogue is told by its name.
fn kind_of(source: &Cited) -> String {
    Cited { place: None, of: "", ..source.clone() }.to_string()
}

/// Returns what is chosen for each part, with some entries of the catalogue laid over what there is.
fn chosen(world: &World, spec: &Path, options: &Options, catalogue: Option<String>) -> BTreeMap<String, Option<Made>> {
    let mut found = BTreeMap::new();
    let options = Options { catalogue, ..options.clone() };
    pipeline::with_rules(world, spec, &options, &mut |rules| {
        found.insert(rules.world.spec.name.value.clone(), made(rules));
    });
    found
}

/// Returns the values with a band that decisions and margins of a recipe rest on, then the same of materials at hand that
/// were not taken, with what the rules read that refuse them; each once.
fn rested_on(recipe: &Recipe, world: &Resolver<'_>) -> Vec<Band> {
    let catalogue = world.knowledge.catalogue;
    let decided = recipe.decisions.iter().flat_map(|d| d.all()).flat_map(|(_, d)| &d.because);
    let margins = recipe.margins.iter().map(|m| &m.because);
    let mut found: Vec<Band> = decided.chain(margins).flat_map(|reason| cited(reason, catalogue)).collect();
    let fields: Vec<String> = found.iter().filter(|b| !b.of.is_empty()).map(|b| b.field.clone()).collect();
    let spools = &world.bench.spools;
    let at_hand = |name: &str| spools.is_empty() || spools.iter().any(|s| s.material == name);
    let others = recipe.rejected.iter().filter(|r| r.decision == Decision::Material && at_hand(&r.value));
    for other in others {
        let rule = other.because.rule.as_ref().and_then(|rule| world.knowledge.rulebook.get(rule));
        let read = rule.into_iter().flat_map(|r| &r.names).filter_map(|name| name.strip_prefix("material."));
        let fields = read.chain(fields.iter().map(String::as_str));
        found.extend(fields.filter_map(|field| of_material(catalogue, &other.value, field)));
    }
    let mut known: Vec<(String, String)> = Vec::new();
    found.retain(|band| {
        let key = (band.of.clone(), band.field.clone());
        let new = !known.contains(&key);
        known.push(key);
        new
    });
    found
}

/// Returns a value of a material, where it has a band.
fn of_material(catalogue: &Catalogue, of: &str, field: &str) -> Option<Band> {
    let datum = catalogue.material(of)?.datum(field)?;
    let Plain::Quantity(typ) = datum.value else { return None };
    let ends = (datum.low?, datum.high?);
    let from = datum.from?;
    let source = Cited { keys: from.source.into_iter().collect(), ..Cited::bare(from.kind.into()) };
    Some(Band { section: "materials", of: of.to_owned(), field: field.to_owned(), typ, ends, source })
}

/// Returns the values of the catalogue with a band that a reason cites.
fn cited<'r>(reason: &'r Reason, catalogue: &'r Catalogue) -> impl Iterator<Item = Band> + 'r {
    let read = reason.values.iter().filter_map(|used| match &used.from {
        Basis::Sourced { source, .. } => Some(source),
        _ => None,
    });
    reason.source.iter().chain(read).filter_map(move |source| {
        let mut path = source.place.as_ref()?.path.split('/');
        match (path.next()?, path.next()?, path.next()) {
            ("materials", of, Some(field)) => of_material(catalogue, of, field),
            ("figures", field, None) => {
                let (_, figure) = catalogue.figures.all().find(|(name, _)| *name == field)?;
                let (typ, ends) = (figure.typ, (figure.low?, figure.high?));
                let (of, field, source) = (String::new(), field.to_owned(), source.clone());
                Some(Band { section: "figures", of, field, typ, ends, source })
            }
            _ => None,
        }
    })
}
