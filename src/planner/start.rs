//! How many pieces to start so that enough of them are good.
//!
//! A piece is good with a known share, or with one that is only known from records: then good pieces and bad ones drawn
//! before are taken for the balls of Pólya's urn (the beta-binomial distribution, prior and records added up). Pieces fail
//! alone, and whole plates fail with all that is on them; both at once may be known or recorded.
//!
//! Sums of positive terms only, so that they are right to about 1e-12. Source of the distributions: Johnson, Kemp and
//! Kotz, Univariate Discrete Distributions, 3rd ed. 2005, ch. 3 and 6 (from memory).

use crate::refusal::{About, Refusal, within};

/// More pieces than this are not started in one run.
const MOST: u64 = 2_000_000;

/// Two routes to one limit differ in the last digits; a tie counts as enough.
const TIE: f64 = 1e-12;

/// What was believed before the first record: Beta(`came`, `not`), as if so many had come out and so many had not.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Prior {
    /// Weight of those that came out.
    pub came: f64,
    /// Weight of those that did not.
    pub not: f64,
}

impl Prior {
    /// Every share as likely as every other: Beta(1, 1).
    pub const EVEN: Self = Self { came: 1.0, not: 1.0 };
}

/// How often something comes out.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Share {
    /// A share taken for certain.
    Known(f64),
    /// One known from records alone.
    Recorded {
        /// So many came out,
        came: u64,
        /// of so many.
        of: u64,
        /// What was believed before.
        prior: Prior,
    },
}

/// Pieces that stand or fall together.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WholePlates {
    /// Pieces of a full plate.
    pub per_plate: u64,
    /// How often a plate is lost with all that is on it.
    pub lost: Share,
}

/// What is wanted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Demand {
    /// Good pieces to hand over.
    pub wanted: u64,
    /// Good pieces used up on the way: cut open at a hold point, kept as a sample, a first article that is not sold.
    pub used_up: u64,
    /// Pieces of a first article that is printed and released before the rest, on a plate of its own; 0: none. They
    /// count among the good ones where they are good: what is used up of them stands in `used_up` too.
    pub first_article: u64,
    /// How often a piece of a plate that is not lost is good.
    pub good: Share,
    /// Plates that are lost whole; without them every piece fails alone.
    pub plates: Option<WholePlates>,
    /// With what chance there are to be enough.
    pub confidence: f64,
}

/// How many to start.
#[derive(Debug, Clone, PartialEq)]
pub struct Start {
    /// Pieces to start, the first article among them.
    pub pieces: u64,
    /// Pieces on each plate, in order, where plates were asked about: a first article's, full ones, the rest.
    pub plates: Vec<u64>,
    /// Chance of enough good ones.
    pub chance: f64,
    /// The same with one piece less.
    pub chance_with_one_less: f64,
    /// The least number of full plates (after a first article's) that do, where plates were asked about.
    pub full_plates: Option<u64>,
}

/// Returns the least number to start.
///
/// Refused: a share or a confidence out of bounds, a yield of nothing, more than two million pieces.
pub fn start(demand: &Demand) -> Result<Start, Refusal> {
    let chances = Chances::new(demand)?;
    let confidence = within(About::Number, "a confidence", demand.confidence, 0.0, 1.0)?;
    let pieces = chances.least(confidence)?;
    let plates = chances.plates.map_or(Vec::new(), |p| sizes(pieces, demand.first_article, p.per_plate));
    let full_plates = chances.plates.map(|p| pieces.saturating_sub(demand.first_article).div_ceil(p.per_plate));
    let one_less = pieces.checked_sub(1).map_or(0.0, |n| chances.of(n));
    Ok(Start { pieces, plates, chance: chances.of(pieces), chance_with_one_less: one_less, full_plates })
}

/// Returns the chance that `started` pieces give enough good ones (the demand's confidence is not looked at).
pub fn chance(demand: &Demand, started: u64) -> Result<f64, Refusal> {
    if started > MOST {
        return Err(Refusal::number(format!("expected at most {MOST} pieces, found {started}")));
    }
    Ok(Chances::new(demand)?.of(started))
}

/// Pieces on each plate: the first article's, full ones, the rest.
fn sizes(pieces: u64, first_article: u64, per_plate: u64) -> Vec<u64> {
    let first = first_article.min(pieces);
    let (full, rest) = ((pieces - first) / per_plate, (pieces - first) % per_plate);
    let mut sizes = Vec::new();
    sizes.extend((first > 0).then_some(first));
    sizes.extend((0..full).map(|_| per_plate));
    sizes.extend((rest > 0).then_some(rest));
    sizes
}

/// Chances of a further draw, when so many came and so many did not.
#[derive(Debug, Clone, Copy)]
enum Urn {
    Known(f64),
    Weights { came: f64, not: f64 },
}

impl Urn {
    fn new(what: &str, share: Share) -> Result<Self, Refusal> {
        match share {
            Share::Known(p) => Ok(Self::Known(within(About::Number, what, p, 0.0, 1.0)?)),
            Share::Recorded { came, of, prior } => {
                if came > of {
                    return Err(Refusal::number(format!("expected {what} of {of} at most, found {came}")));
                }
                let weight = |w| within(About::Number, "a prior's weight", w, 1e-6, 1e9);
                Ok(Self::Weights {
                    came: weight(prior.came)? + came as f64,
                    not: weight(prior.not)? + (of - came) as f64,
                })
            }
        }
    }

    fn came(self, came: f64, not: f64) -> f64 {
        match self {
            Self::Known(p) => p,
            Self::Weights { came: a, not: b } => (a + came) / (a + b + came + not),
        }
    }

    fn not(self, came: f64, not: f64) -> f64 {
        match self {
            Self::Known(p) => 1.0 - p,
            Self::Weights { came: a, not: b } => (b + not) / (a + b + came + not),
        }
    }
}

/// A positive number that may be far too small for a float.
#[derive(Debug, Clone, Copy)]
struct Tiny {
    value: f64,
    /// How often it was made larger by [`Tiny::STEP`].
    steps: u32,
}

impl Tiny {
    const STEP: f64 = 1e200;

    fn times(self, factor: f64) -> Self {
        let (value, steps) = (self.value * factor, self.steps);
        if value > 0.0 && value < 1.0 / Self::STEP {
            Self { value: value * Self::STEP, steps: steps + 1 }
        } else if steps > 0 && value >= 1.0 {
            Self { value: value / Self::STEP, steps: steps - 1 }
        } else {
            Self { value, steps }
        }
    }

    fn get(self) -> f64 {
        match self.steps {
            0 => self.value,
            1 => self.value / Self::STEP,
            _ => 0.0,
        }
    }
}

/// The chance of enough for every number started.
struct Chances {
    needed: u64,
    first_article: u64,
    plates: Option<WholePlates>,
    lost: Urn,
    /// For every number of pieces on plates that are not lost, the chance that enough are good.
    enough: Vec<f64>,
}

impl Chances {
    fn new(demand: &Demand) -> Result<Self, Refusal> {
        let good = Urn::new("a share of good pieces", demand.good)?;
        let lost = Urn::new("a share of plates lost", demand.plates.map_or(Share::Known(0.0), |p| p.lost))?;
        let needed = demand.wanted.saturating_add(demand.used_up);
        if needed > MOST || demand.first_article > MOST {
            return Err(Refusal::number(format!("expected at most {MOST} pieces, found {needed}")));
        }
        if demand.plates.is_some_and(|p| p.per_plate == 0) {
            return Err(Refusal::number("expected at least one piece a plate"));
        }
        let enough = enough(good, needed);
        Ok(Self { needed, first_article: demand.first_article, plates: demand.plates, lost, enough })
    }

    /// Chance that so many started are enough.
    fn of(&self, started: u64) -> f64 {
        if started < self.needed {
            return 0.0;
        }
        let Some(plates) = self.plates else { return self.enough_of(started) };
        let first = self.first_article.min(started);
        let (full, last) = ((started - first) / plates.per_plate, (started - first) % plates.per_plate);
        let mut sum = 0.0;
        for (lost, chance) in self.full_plates_lost(full) {
            let kept = full - lost;
            let mut part = 0.0;
            // Whether the first article's plate and the last one are lost too.
            for (first_lost, last_lost) in [(false, false), (false, true), (true, false), (true, true)] {
                let once = self.next(kept, lost, first_lost);
                let (kept_now, lost_now) = (kept + u64::from(!first_lost), lost + u64::from(first_lost));
                let twice = self.next(kept_now, lost_now, last_lost);
                let pieces =
                    kept * plates.per_plate + if first_lost { 0 } else { first } + if last_lost { 0 } else { last };
                part += once * twice * self.enough_of(pieces);
            }
            sum += chance * part;
        }
        sum.min(1.0)
    }

    fn next(&self, kept: u64, lost: u64, is_lost: bool) -> f64 {
        let (lost, kept) = (lost as f64, kept as f64);
        if is_lost { self.lost.came(lost, kept) } else { self.lost.not(lost, kept) }
    }

    /// How many of the full plates are lost, and with what chance, from none on.
    fn full_plates_lost(&self, full: u64) -> impl Iterator<Item = (u64, f64)> {
        let none = (0..full).fold(Tiny { value: 1.0, steps: 0 }, |t, i| t.times(self.lost.not(0.0, i as f64)));
        let urn = self.lost;
        let all_lost = matches!(urn, Urn::Known(p) if p >= 1.0);
        let mut chance = none;
        (0..=full).map(move |lost| {
            if lost > 0 {
                // Ratio of the chances of `lost` and one fewer.
                let (before, rest) = ((lost - 1) as f64, (full - lost) as f64);
                let ratio = match urn {
                    Urn::Known(p) => p / (1.0 - p),
                    Urn::Weights { came, not } => (came + before) / (not + rest),
                };
                chance = chance.times((rest + 1.0) / (before + 1.0) * ratio);
            }
            // The last chance of all is nothing times without end.
            (lost, if all_lost { f64::from(u8::from(lost == full)) } else { chance.get() })
        })
    }

    fn enough_of(&self, pieces: u64) -> f64 {
        match usize::try_from(pieces) {
            Ok(n) => self.enough.get(n).copied().unwrap_or_else(|| self.enough.last().copied().unwrap_or(0.0)),
            Err(_) => 0.0,
        }
    }

    /// The least number whose chance is at least the confidence: more pieces never do harm.
    fn least(&self, confidence: f64) -> Result<u64, Refusal> {
        let enough = |n: u64| self.of(n) >= confidence - TIE;
        if confidence >= 1.0 && self.of(self.needed) < 1.0 {
            return Err(Refusal::number(
                "expected a confidence below 1: where pieces fail, no number is certain to do",
            ));
        }
        let mut high = self.needed.max(1);
        while !enough(high) {
            if high >= MOST {
                return Err(Refusal::number(format!(
                    "even {MOST} pieces started do not give {} good ones at a confidence of {confidence}",
                    self.needed
                )));
            }
            high = high.saturating_mul(2).min(MOST);
        }
        let mut low = self.needed;
        while low < high {
            let middle = low + (high - low) / 2;
            if enough(middle) {
                high = middle;
            } else {
                low = middle + 1;
            }
        }
        Ok(low)
    }
}

/// For 0, 1, 2, ... pieces the chance that at least `needed` are good, until it no longer rises.
///
/// The step from n to n + 1: there are enough now that were not before where just one was missing and the next is good.
fn enough(good: Urn, needed: u64) -> Vec<f64> {
    let Some(short) = needed.checked_sub(1) else { return vec![1.0] };
    let came = short as f64;
    let mut chances = vec![0.0; short as usize + 1];
    // The chance that just one is missing, of n pieces.
    let mut one_missing = (0..short).fold(Tiny { value: 1.0, steps: 0 }, |t, i| t.times(good.came(i as f64, 0.0)));
    let mut sum = 0.0_f64;
    for n in short..MOST {
        let not = (n - short) as f64;
        let step = one_missing.get() * good.came(came, not);
        sum += step;
        chances.push(sum.min(1.0));
        one_missing = one_missing.times((n + 1) as f64 / (not + 1.0) * good.not(came, not));
        if sum >= 1.0 - 1e-15 || (one_missing.value == 0.0) || (sum > 0.5 && step < 1e-18) {
            break;
        }
    }
    chances
}
