//! Parts that may share plates, and the plates they go on.

use std::collections::BTreeMap;

use super::{Part, Run};
use crate::Effort;
use crate::plates::{self, Because, Bed, Kind, Options, Place, Plates, Policy};
use crate::refusal::{About, Refusal};
use crate::start::Start;

/// Parts on plates for one bed.
#[derive(Debug, Clone)]
pub(super) struct Packed {
    /// The parts; a place's kind is one of them.
    pub(super) parts: Vec<usize>,
    /// How many pieces of each.
    pub(super) counts: Vec<usize>,
    /// The bed they are laid out for.
    pub(super) bed: usize,
    /// Over how many plates they are spread at least.
    pub(super) spread: usize,
    pub(super) plates: Vec<Vec<Place>>,
    pub(super) at_least: usize,
    pub(super) because: Because,
    /// Whether it is the first article of its one part.
    pub(super) first_article: bool,
}

/// What parts that share plates have in common: their group, themselves where they keep to themselves, state, machines.
type Sharing<'a> = (usize, Vec<usize>, &'a [usize], Vec<usize>);

/// A lot by its parts, bed and spread.
type Key = (Vec<usize>, Vec<usize>, usize, usize);

pub(super) struct Packing<'a> {
    run: &'a Run,
    /// What each lot may search.
    effort: Effort,
    known: BTreeMap<Key, Plates>,
    /// Beds of a part that hold it, each size once.
    beds: Vec<Vec<usize>>,
}

/// Whether what lies on one bed may lie on another just so.
pub(super) fn holds(bed: &Bed, on: &Bed) -> bool {
    let inside =
        on.width_mm + 1e-9 >= bed.width_mm && on.depth_mm + 1e-9 >= bed.depth_mm && on.edge_mm <= bed.edge_mm + 1e-9;
    // What is taken of the other must be taken of this one too.
    inside && on.taken.iter().all(|t| bed.taken.contains(t))
}

impl<'a> Packing<'a> {
    pub(super) fn new(run: &'a Run) -> Result<Self, Refusal> {
        let share = run.packing.effort.0 / run.parts.len().max(1) as u64;
        let effort = Effort(share.max(100_000).min(run.packing.effort.0));
        let beds = run.parts.iter().map(|part| distinct(run, part)).collect();
        Ok(Self { run, effort, known: BTreeMap::new(), beds })
    }

    /// How many of a part go on its best bed.
    pub(super) fn full(&mut self, part: usize) -> Result<usize, Refusal> {
        let options = Options { effort: self.effort, ..self.run.packing };
        let mut most = 0;
        for bed in &self.beds[part] {
            most = most.max(plates::most(&self.run.beds[*bed], &self.run.parts[part].kind, &options)?.places.len());
        }
        Ok(most)
    }

    /// All parts in lots, each on the bed that takes the fewest plates; first articles before the rest.
    pub(super) fn lots(&mut self, starts: &[Start]) -> Result<Vec<Packed>, Refusal> {
        let mut groups: BTreeMap<Sharing, Vec<usize>> = BTreeMap::new();
        let mut lots = Vec::new();
        for (index, part) in self.run.parts.iter().enumerate() {
            let first = part.demand.first_article.min(starts[index].pieces) as usize;
            if first > 0 {
                let mut lot = self.fewest(vec![index], vec![first])?;
                lot.first_article = true;
                lots.push(lot);
            }
            // A part that waits for its first article keeps to itself.
            let alone = vec![index];
            let (group, own) = match part.group {
                Some(group) if first == 0 => (group, Vec::new()),
                _ => (0, alone),
            };
            let mut machines = part.machines.clone();
            machines.sort_unstable();
            groups.entry((group, own, &part.state, machines)).or_default().push(index);
        }
        let mut groups: Vec<Vec<usize>> = groups.into_values().collect();
        groups.sort();
        for parts in groups {
            let rest = |p: &usize| starts[*p].pieces.saturating_sub(self.run.parts[*p].demand.first_article) as usize;
            let counts: Vec<usize> = parts.iter().map(rest).collect();
            if counts.iter().sum::<usize>() > 0 {
                lots.push(self.fewest(parts, counts)?);
            }
        }
        Ok(lots)
    }

    fn fewest(&mut self, parts: Vec<usize>, counts: Vec<usize>) -> Result<Packed, Refusal> {
        let mut best: Option<Packed> = None;
        let mut refused = None;
        for bed in self.beds[parts[0]].clone() {
            match self.pack(&parts, &counts, bed, 1) {
                Ok(found) if best.as_ref().is_none_or(|b| found.plates.len() < b.plates.len()) => best = Some(found),
                Ok(_) => {}
                Err(refusal) => refused = Some(refusal),
            }
        }
        let why = || Refusal::new(About::Part(parts[0]), "expected a machine that may print it");
        best.ok_or_else(|| refused.unwrap_or_else(why))
    }

    /// Lays a lot out for a bed, over so many plates at least.
    fn pack(&mut self, parts: &[usize], counts: &[usize], bed: usize, spread: usize) -> Result<Packed, Refusal> {
        let key = (parts.to_vec(), counts.to_vec(), bed, spread);
        if !self.known.contains_key(&key) {
            let found = self.packed(parts, counts, bed, spread)?;
            self.known.insert(key.clone(), found);
        }
        let found = &self.known[&key];
        let of_part = |place: &Place| Place { kind: parts[place.kind], ..*place };
        Ok(Packed {
            parts: parts.to_vec(),
            counts: counts.to_vec(),
            bed,
            spread,
            plates: found.plates.iter().map(|p| p.iter().map(of_part).collect()).collect(),
            at_least: found.at_least,
            because: found.because,
            first_article: false,
        })
    }

    fn packed(&self, parts: &[usize], counts: &[usize], bed: usize, spread: usize) -> Result<Plates, Refusal> {
        let kind = |(part, count): (&usize, &usize)| {
            let kind = &self.run.parts[*part].kind;
            let each = count.div_ceil(spread).max(1);
            let most = if spread > 1 {
                Some(kind.most_per_plate.unwrap_or(usize::MAX).min(each))
            } else {
                kind.most_per_plate
            };
            Kind { count: *count, most_per_plate: most, ..kind.clone() }
        };
        let kinds: Vec<Kind> = parts.iter().zip(counts).map(kind).collect();
        // What a lot may search grows with its parts.
        let effort = Effort(self.effort.0.saturating_mul(parts.len() as u64));
        let options = Options { effort, ..self.run.packing };
        plates::plates(&self.run.beds[bed], &kinds, &options).map_err(|refusal| match refusal.about {
            About::Piece(kind) => Refusal::new(About::Part(parts[kind]), refusal.why),
            _ => refusal,
        })
    }

    /// The same lot otherwise: on a plate more or on twice as many (unless full ones are wanted first), on another bed.
    pub(super) fn others(&mut self, lot: &Packed) -> Result<Vec<Packed>, Refusal> {
        let pieces: usize = lot.counts.iter().sum();
        let machines = self.run.parts[lot.parts[0]].machines.len();
        let now = lot.plates.len();
        let mut ways: Vec<(usize, usize)> = Vec::new();
        let may_spread = self.run.packing.policy == Policy::Balanced;
        for plates in [now + 1, 2 * now] {
            if may_spread && plates <= pieces && plates <= now.max(1) * machines.max(2) && !lot.first_article {
                ways.push((lot.bed, plates));
            }
        }
        ways.extend(self.beds[lot.parts[0]].iter().filter(|b| **b != lot.bed).map(|b| (*b, lot.spread)));
        ways.dedup();
        let mut others = Vec::new();
        for (bed, spread) in ways {
            // A bed that does not hold all of it is none.
            if let Ok(mut found) = self.pack(&lot.parts, &lot.counts, bed, spread) {
                found.at_least = lot.at_least;
                found.because = lot.because;
                found.first_article = lot.first_article;
                others.push(found);
            }
        }
        Ok(others)
    }
}

/// The beds of a part's machines, each size once.
fn distinct(run: &Run, part: &Part) -> Vec<usize> {
    let mut beds: Vec<usize> = Vec::new();
    for machine in &part.machines {
        let bed = run.printers[*machine].bed;
        if !beds.iter().any(|b| run.beds[*b] == run.beds[bed]) {
            beds.push(bed);
        }
    }
    beds
}
