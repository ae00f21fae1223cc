//! A lighter colour, where the sun heats the part: the shade decides tens of kelvin.

use super::retry::Retry;
use super::{Change, Colour, Freed, Way};
use crate::catalogue::{self, Material};
use crate::quantity::Quantity;
use crate::resolve::heat::is_sunlit;
use crate::resolve::shop::{Bench, Spool};
use crate::resolve::world::World;
use crate::semantics::requirements::{Kind, Requirement};
use crate::semantics::spec::{Spec, Stated};

/// Whose colour is changed.
#[derive(Clone, Copy, PartialEq)]
enum From {
    /// A spool that is there.
    Shelf,
    /// A spool to buy, of a material that is on the shelf in another colour.
    Known,
    /// A spool to buy, of any material.
    Any,
}

/// Finds the darkest colour with which the job can be made: of what is on the shelf, and of what could be bought.
pub(super) fn lighter(retry: &Retry<'_, '_>, all: &[Requirement]) -> Vec<Freed> {
    let world = retry.world;
    if !is_sunlit(world.spec) {
        return Vec::new();
    }
    let colours = darkest_first(world);
    let Some(lightest) = colours.last() else { return Vec::new() };
    let at_best = retry.on(with_spools_of(world, &lightest.name, false));
    if at_best.stands(&in_colour(world.spec, &lightest.name)) != Some(true) {
        return Vec::new();
    }
    // Asked for and not on the shelf: before another colour comes a spool of this one.
    let asked = world.spec.service.colour.as_ref().map(|c| c.value.as_str());
    let as_asked = asked.filter(|_| world.bench.stock_listed);
    let found = as_asked.and_then(|c| freed(retry, all, c, From::Known));
    if let Some(freed) = found {
        return vec![freed];
    }
    let asked = asked.and_then(|name| world.knowledge.catalogue.colour(name)).map(takes_up);
    let lighter = |c: &&&catalogue::Colour| asked.is_none_or(|asked| takes_up(c) < asked);
    let darkest = |from: From| colours.iter().filter(lighter).find_map(|c| freed(retry, all, &c.name, from));
    let shelf = darkest(From::Shelf);
    // A workshop that lists no spools has every colour.
    let bought = if world.bench.stock_listed { darkest(From::Known).or_else(|| darkest(From::Any)) } else { None };
    shelf.into_iter().chain(bought).collect()
}

/// A lighter colour of which a spool is there, or any where none are listed.
pub(super) struct Paler {
    pub change: Colour,
}

impl Colour {
    /// Returns the change with the spool of the material that would do; `None` where spools are listed and there is none of it.
    pub(super) fn with_spool_for(&self, world: &World<'_>, way: &Way) -> Option<Self> {
        let same = |s: &&Spool| {
            s.material == way.material
                && s.colour.as_ref().is_some_and(|c| world.knowledge.catalogue.same_colour(c, &self.to))
        };
        let spool = world.bench.spools.iter().find(same).map(|s| s.name.clone());
        (spool.is_some() || !self.listed).then(|| Self { spool, ..self.clone() })
    }
}

/// Finds the darkest colour on the shelf that frees some of these sets of lines, though not the whole job, with a mark for each
/// it frees.
pub(super) fn paler(retry: &Retry<'_, '_>, all: &[Requirement], sets: &[Spec]) -> Option<(Paler, Vec<bool>)> {
    let world = retry.world;
    if !is_sunlit(world.spec) {
        return None;
    }
    let catalogue = world.knowledge.catalogue;
    let of = |colour: &str| {
        let same = |s: &&Spool| s.colour.as_ref().is_some_and(|c| catalogue.same_colour(c, colour));
        world.bench.spools.iter().find(same)
    };
    let asked = world.spec.service.colour.as_ref().and_then(|c| catalogue.colour(&c.value)).map(takes_up);
    let lighter = |c: &&catalogue::Colour| asked.is_none_or(|asked| takes_up(c) < asked);
    let there = |c: &&catalogue::Colour| !world.bench.stock_listed || of(&c.name).is_some();
    darkest_first(world).into_iter().filter(lighter).filter(there).find_map(|c| {
        let frees: Vec<bool> = sets.iter().map(|s| retry.stands(&in_colour(s, &c.name)) == Some(true)).collect();
        let change = Colour {
            asked: all.iter().find(|r| r.key.kind == Kind::Colour).cloned(),
            from: world.spec.service.colour.as_ref().map(|c| c.value.clone()),
            to: c.name.clone(),
            spool: of(&c.name).filter(|_| world.bench.stock_listed).map(|s| s.name.clone()),
            listed: world.bench.stock_listed,
        };
        frees.contains(&true).then_some((Paler { change }, frees))
    })
}

/// Returns the catalogue's colours, the one that takes up most of the sun first.
fn darkest_first<'a>(world: &World<'a>) -> Vec<&'a catalogue::Colour> {
    let mut colours: Vec<&catalogue::Colour> = world.knowledge.catalogue.colours.values().collect();
    colours.sort_by(|a, b| takes_up(b).total_cmp(&takes_up(a)).then_with(|| a.name.cmp(&b.name)));
    colours
}

/// Returns the share of the sun's heat that a colour takes up.
fn takes_up(colour: &catalogue::Colour) -> f64 {
    Quantity::from(colour.absorptance.typ).si
}

/// Solves the job in a colour.
fn freed(retry: &Retry<'_, '_>, all: &[Requirement], colour: &str, from: From) -> Option<Freed> {
    let world = retry.world;
    let spec = in_colour(world.spec, colour);
    let lent = (from != From::Shelf).then(|| retry.on(with_spools_of(world, colour, from == From::Known)));
    let way = lent.as_ref().unwrap_or(retry).freed(&spec).filter(|way| !way.fails() && !way.leaves_the_heat_open())?;
    let same = |s: &&Spool| s.colour.as_ref().is_some_and(|c| world.knowledge.catalogue.same_colour(c, colour));
    let spool = world.bench.spools.iter().filter(same).find(|s| s.material == way.material);
    // What does in spite of the spool's own colour does not for the colour's sake.
    if from == From::Shelf && world.bench.stock_listed && spool.is_none() {
        return None;
    }
    let change = Colour {
        asked: all.iter().find(|r| r.key.kind == Kind::Colour).cloned(),
        from: world.spec.service.colour.as_ref().map(|c| c.value.clone()),
        to: colour.to_owned(),
        spool: spool.filter(|_| from == From::Shelf).map(|s| s.name.clone()),
        listed: world.bench.stock_listed,
    };
    Some(Freed::by(Change::Colour(change), way))
}

/// Returns a spec that asks for a colour.
pub(in crate::resolve) fn in_colour(spec: &Spec, colour: &str) -> Spec {
    let mut spec = spec.clone();
    let span = spec.service.colour.as_ref().map_or(spec.name.span, |c| c.span);
    spec.service.colour = Some(Stated { value: colour.to_owned(), span });
    spec
}

/// Returns the bench with a spool in a colour of every material that is sold in it, or only of those on its shelf.
pub(in crate::resolve) fn with_spools_of<'a>(world: &World<'a>, colour: &str, known: bool) -> Bench<'a> {
    let mut bench = world.bench.clone();
    let catalogue = world.knowledge.catalogue;
    let filament = bench.printers.first().map(|p| p.filament);
    let sold =
        |m: &Material| m.colours.as_ref().is_none_or(|c| c.value.iter().any(|c| catalogue.same_colour(c, colour)));
    let has = |m: &Material| !known || bench.spools.iter().any(|s| s.material == m.name);
    let of = |m: &&Material| {
        Some(Spool {
            name: format!("{colour} {}", m.name),
            material: m.name.clone(),
            colour: Some(colour.to_owned()),
            left: None,
            filament: filament?,
            price: None,
            opened: None,
            dried: None,
            stored: None,
            print_temperature: None,
            bed_temperature: None,
            limit: None,
            at: world.spec.name.span,
        })
    };
    let bought: Vec<Spool> =
        bench.materials.iter().filter(|m| m.spool_of.is_none() && sold(m) && has(m)).filter_map(of).collect();
    bench.spools.extend(bought);
    bench
}
