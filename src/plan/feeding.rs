//! Which spool feeds which round, and what must be bought.

use std::collections::BTreeMap;

use planner::Effort;
use planner::spools::{Answer, Stock, plan};

use super::question::Filament;
use super::said::Wanting;
use super::{Asked, Buy, Draw};
use crate::catalogue::figures;

/// A round as it asks for filament.
pub(super) struct Wants<'a> {
    pub filament: &'a Filament,
    pub machine: usize,
    pub begin_min: i64,
    pub end_min: i64,
    pub mass_g: f64,
    /// What is purged before it, from the same spool.
    pub purge_g: f64,
}

const EFFORT: Effort = Effort(2_000_000);

/// Returns what each round draws, in the order given, and what the stock lacks; `begin` says a minute in words.
pub(super) fn feed(
    asked: &Asked<'_>,
    wants: &[Wants<'_>],
    begin: &dyn Fn(i64) -> String,
) -> Result<(Vec<Vec<Draw>>, Vec<Buy>), String> {
    let mut draws = vec![Vec::new(); wants.len()];
    let mut buy = Vec::new();
    let mut by_filament: BTreeMap<&Filament, Vec<usize>> = BTreeMap::new();
    (0..wants.len()).for_each(|w| by_filament.entry(wants[w].filament).or_default().push(w));
    for (filament, mut rounds) in by_filament {
        rounds.sort_by_key(|r| (wants[*r].begin_min, wants[*r].machine));
        let mut stock = spools(asked, filament);
        for share in shares(wants, &rounds) {
            let of = stock_for(&mut stock, wants, &share);
            draw(asked, wants, filament, &share, of, begin, (&mut draws, &mut buy))?;
        }
    }
    Ok((draws, buy))
}

/// Rounds that one set of spools may feed: all of them where no two print at a time, else those of each machine.
fn shares(wants: &[Wants<'_>], rounds: &[usize]) -> Vec<Vec<usize>> {
    let overlap = |a: usize, b: usize| wants[a].begin_min < wants[b].end_min && wants[b].begin_min < wants[a].end_min;
    let any = rounds.iter().enumerate().any(|(i, a)| rounds[..i].iter().any(|b| overlap(*a, *b)));
    if !any {
        return vec![rounds.to_vec()];
    }
    let mut by_machine: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    rounds.iter().for_each(|r| by_machine.entry(wants[*r].machine).or_default().push(*r));
    let mass = |share: &Vec<usize>| share.iter().map(|r| wants[*r].mass_g).sum::<f64>();
    let mut shares: Vec<Vec<usize>> = by_machine.into_values().collect();
    // The one that takes most chooses first.
    shares.sort_by(|a, b| mass(b).total_cmp(&mass(a)));
    shares
}

/// The spools of a filament: name and grams left; one whose rest nobody states counts as full enough.
fn spools(asked: &Asked<'_>, filament: &Filament) -> Vec<(String, f64)> {
    let of = asked.bench.spools.iter().filter(|s| Some(&s.material) == filament.material.as_ref());
    let of = of.filter(|s| s.colour == filament.colour);
    of.map(|s| (s.name.clone(), asked.floor.left.get(&s.name).copied().unwrap_or(UNSTATED_G))).collect()
}

/// A spool whose rest is not stated: more than any spool holds.
const UNSTATED_G: f64 = 1e5;

/// Takes for a share as many spools, the one on its machine and the fullest first, as it needs; all where it is the only one.
fn stock_for(stock: &mut Vec<(String, f64)>, wants: &[Wants<'_>], share: &[usize]) -> Vec<(String, f64)> {
    let need: f64 = share.iter().map(|r| wants[*r].mass_g + wants[*r].purge_g).sum();
    stock.sort_by(|a, b| b.1.total_cmp(&a.1).then_with(|| a.0.cmp(&b.0)));
    let mut sum = 0.0;
    let enough = stock.iter().position(|s| {
        sum += s.1;
        sum >= need
    });
    let count = enough.map_or(stock.len(), |i| i + 1);
    stock.drain(..count).collect()
}

fn draw(
    asked: &Asked<'_>,
    wants: &[Wants<'_>],
    filament: &Filament,
    share: &[usize],
    mut spools: Vec<(String, f64)>,
    begin: &dyn Fn(i64) -> String,
    (draws, buy): (&mut [Vec<Draw>], &mut Vec<Buy>),
) -> Result<(), String> {
    let grams = |key: figures::Key<crate::quantity::Mass>| asked.catalogue.value(key).to_g();
    let stock = |spools: &[(String, f64)]| Stock {
        plates_g: share.iter().map(|r| wants[*r].mass_g + wants[*r].purge_g).collect(),
        spools_g: spools.iter().map(|s| s.1).collect(),
        loss_at_change_g: grams(figures::CHANGE_SPOOL_LOSS),
        scrap_below_g: 0.0,
        ..Stock::default()
    };
    let mut answer = plan(&stock(&spools), EFFORT).map_err(|r| r.to_string())?;
    let mut bought = None;
    if let Answer::Short { new_spool_g, short_g } = answer {
        let named = called(filament);
        // A purchase with a name of its own: two machines may each need one.
        let name = format!("new {named} {}", buy.len() + 1);
        spools.push((name.clone(), new_spool_g));
        bought = Some((name, new_spool_g, short_g));
        answer = plan(&stock(&spools), EFFORT).map_err(|r| r.to_string())?;
    }
    let Answer::Enough(found) = answer else { return Err(format!("no spools were found for {}", called(filament))) };
    for (round, from) in share.iter().zip(&found.draws) {
        draws[*round] = from
            .iter()
            .filter_map(|d| Some(Draw { name: spools.get(d.spool)?.0.clone(), mass_g: tenth(d.mass_g) }))
            .collect();
    }
    if let Some((name, mass, short)) = bought {
        let first =
            share.iter().filter(|r| draws[**r].iter().any(|d| d.name == name)).map(|r| wants[*r].begin_min).min();
        buy.push(Buy {
            what: called(filament),
            mass_g: mass,
            by: begin(first.unwrap_or(0)),
            because: if short > 0.0 { Wanting::Short(short) } else { Wanting::TooSmall }.to_string(),
        });
    }
    Ok(())
}

/// Returns what a filament is called where no spool of the workshop is meant.
pub(super) fn called(filament: &Filament) -> String {
    let material = filament.material.as_deref().unwrap_or("filament");
    filament.colour.as_ref().map_or_else(|| material.to_owned(), |colour| format!("{material} {colour}"))
}

/// Rounds to what a scale shows.
pub(super) fn tenth(grams: f64) -> f64 {
    (grams * 10.0).round() / 10.0 + 0.0
}
