//! Spools in the dryer before they are printed from: one after the other, those first that are wanted first.

use std::collections::BTreeMap;

use super::calendar::Calendar;
use super::question::{Filament, due, filament};
use super::{Asked, Dried, Round};
use crate::plan::routing::Drying;

/// What is dried, and when.
pub(super) struct Dryer {
    stays: Vec<Stay>,
}

struct Stay {
    filament: Filament,
    spool: Option<String>,
    drying: Drying,
    from_min: i64,
    to_min: i64,
}

impl Dryer {
    /// Puts each filament that must be dried into the dryer, from the first hours on.
    pub fn of(asked: &Asked<'_>, calendar: &Calendar) -> Self {
        let mut wanted: BTreeMap<Filament, (i64, Drying, Option<String>)> = BTreeMap::new();
        for part in asked.parts {
            let Some(routing) = part.routings.first() else { continue };
            let Some(drying) = routing.dry else { continue };
            let by = part.by.as_ref().and_then(|by| due(calendar, by)).unwrap_or(i64::MAX);
            let entry = wanted.entry(filament(routing)).or_insert_with(|| (by, drying, routing.spool.clone()));
            entry.0 = entry.0.min(by);
        }
        let mut queue: Vec<_> = wanted.into_iter().collect();
        queue.sort_by(|a, b| (a.1.0, &a.0).cmp(&(b.1.0, &b.0)));
        let (mut stays, mut free) = (Vec::new(), 0);
        for (filament, (_, drying, spool)) in queue {
            // Somebody has to be there to put it in; it may come out when somebody is there again.
            let from_min = calendar.hours.iter().find(|h| h.to_min > free).map_or(free, |h| h.from_min.max(free));
            let to_min = from_min + (drying.hours * 60.0).ceil() as i64;
            free = to_min;
            stays.push(Stay { filament, spool, drying, from_min, to_min });
        }
        Self { stays }
    }

    /// Returns the minute from which a filament may be printed.
    pub fn ready(&self, filament: &Filament) -> i64 {
        self.stays.iter().find(|s| s.filament == *filament).map_or(0, |s| s.to_min)
    }

    /// Returns what goes into the dryer and when, with the first round that wants it.
    pub fn told(&self, calendar: &Calendar, rounds: &[Round]) -> Vec<Dried> {
        let told = |stay: &Stay| {
            let from = |r: &&Round| {
                Some(&r.material) == stay.filament.material.as_ref()
                    && stay.spool.as_ref().is_none_or(|spool| r.spools.iter().any(|d| d.name == *spool))
            };
            let material = |r: &&Round| Some(&r.material) == stay.filament.material.as_ref();
            let first = rounds.iter().find(from).or_else(|| rounds.iter().find(material))?;
            Some(Dried {
                spool: first.spools.first().map(|d| d.name.clone()).unwrap_or_default(),
                from: calendar.moment(stay.from_min).to_string(),
                to: calendar.moment(stay.to_min).to_string(),
                at: stay.drying.at.to_string(),
                round: first.name.clone(),
            })
        };
        self.stays.iter().filter_map(told).collect()
    }
}
