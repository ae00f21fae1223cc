//! Part-used spools to the plates of one material, in the order the plates are printed.
//!
//! A plate takes its grams from one spool, or from several one after the other: all but the last are used up, and each
//! change in mid-plate costs some grams of the new spool. Wanted are the fewest such changes, then the least that is left
//! on spools too short for anything, then the fewest spools touched.

use std::collections::BTreeMap;

use crate::Effort;
use crate::order::Span;
use crate::refusal::{About, Refusal, within};

/// Plates and what there is for them.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Stock {
    /// What each plate takes, in the order of printing.
    pub plates_g: Vec<f64>,
    /// What is on each spool.
    pub spools_g: Vec<f64>,
    /// What a change in mid-plate costs of the new spool.
    pub loss_at_change_g: f64,
    /// A touched spool that ends with less than this, but not empty, is scrap.
    pub scrap_below_g: f64,
    /// When each plate is printed, where some are printed at the same time: a spool feeds one plate at a time. Empty: one
    /// after the other.
    pub printed: Vec<Span>,
}

/// What a plate takes from a spool.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Draw {
    /// The spool.
    pub spool: usize,
    /// Printed from it.
    pub mass_g: f64,
    /// Lost of it at the change.
    pub lost_g: f64,
}

/// Spools for all plates.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    /// For each plate what it takes, in order.
    pub draws: Vec<Vec<Draw>>,
    /// Changes in mid-plate.
    pub changes: usize,
    /// Left on touched spools as scrap.
    pub stranded_g: f64,
    /// Spools touched.
    pub touched: usize,
    /// What is left on each spool.
    pub left_g: Vec<f64>,
    /// Fewer changes than this cannot be.
    pub changes_at_least: usize,
    /// Whether nothing better exists.
    pub proven: bool,
}

/// Whether the stock does.
#[derive(Debug, Clone, PartialEq)]
pub enum Answer {
    /// It does.
    Enough(Plan),
    /// It does not, or no way was found.
    Short {
        /// What is missing by weight alone; 0 where it is the losses, or the search, that fail.
        short_g: f64,
        /// The least new spool, in steps, with which a plan was found; 0 where one more is not enough, since several plates
        /// are printed at a time.
        new_spool_g: f64,
    },
}

/// New spools are asked for in steps of this.
pub const STEP_G: f64 = 5.0;

/// Returns which spool feeds which plate.
///
/// All ways are tried, the likeliest first, as far as the effort goes; what is best of those is then not proven.
pub fn plan(stock: &Stock, effort: Effort) -> Result<Answer, Refusal> {
    check(stock)?;
    if let (Some(found), proven) = in_parts(stock, effort) {
        let least = changes_at_least(stock);
        return Ok(Answer::Enough(told(stock, &found, proven, least)));
    }
    let need: f64 = stock.plates_g.iter().sum();
    let have: f64 = stock.spools_g.iter().sum();
    let short_g = (need - have).max(0.0);
    Ok(Answer::Short { short_g, new_spool_g: least_new_spool(stock, short_g, need, effort) })
}

/// More plates than this are fed in several goes, each from what the one before left.
const MOST_AT_ONCE: usize = 1_000;

fn in_parts(stock: &Stock, effort: Effort) -> (Option<Feeds>, bool) {
    let parts = stock.plates_g.len().div_ceil(MOST_AT_ONCE).max(1);
    let mut feeds = Vec::new();
    let mut all_proven = parts == 1;
    let mut now = stock.clone();
    for part in 0..parts {
        let of = part * MOST_AT_ONCE..stock.plates_g.len().min((part + 1) * MOST_AT_ONCE);
        now.plates_g = stock.plates_g[of.clone()].to_vec();
        now.printed = stock.printed.get(of).unwrap_or_default().to_vec();
        let mut steps = effort.0 / parts as u64;
        let (Some(found), proven) = Search::run(&now, &mut steps, false) else { return (None, false) };
        all_proven &= proven;
        now.spools_g = told(&now, &found, false, 0).left_g;
        feeds.extend(found);
    }
    (Some(feeds), all_proven)
}

fn check(stock: &Stock) -> Result<(), Refusal> {
    if !stock.printed.is_empty() && stock.printed.len() != stock.plates_g.len() {
        return Err(Refusal::number("expected a time of printing for each plate, or none"));
    }
    if stock.printed.windows(2).any(|w| w[0].from_min > w[1].from_min) {
        return Err(Refusal::number("expected plates in the order in which they begin"));
    }
    for (index, mass) in stock.plates_g.iter().enumerate() {
        within(About::Plate(index), "a plate's mass in g", *mass, 0.0, 1e7)?;
    }
    for (index, mass) in stock.spools_g.iter().enumerate() {
        within(About::Spool(index), "a spool's mass in g", *mass, 0.0, 1e7)?;
    }
    within(About::Number, "a loss in g", stock.loss_at_change_g, 0.0, 1e7)?;
    within(About::Number, "a limit of scrap in g", stock.scrap_below_g, 0.0, 1e7)?;
    Ok(())
}

/// The least spool, in steps, that makes the stock do.
fn least_new_spool(stock: &Stock, short_g: f64, need: f64, effort: Effort) -> f64 {
    let (mut low, high) = ((short_g / STEP_G - 1e-9).ceil().max(1.0) as u64, (need / STEP_G).ceil().max(1.0) as u64);
    let mut with = stock.clone();
    with.spools_g.push(0.0);
    let mut steps = effort.0;
    let mut does = |grams: f64, steps: &mut u64| {
        if let Some(last) = with.spools_g.last_mut() {
            *last = grams;
        }
        let mut share = *steps / 16 + 1_000;
        let before = share;
        let found = Search::run(&with, &mut share, true).0.is_some();
        *steps = steps.saturating_sub(before - share);
        found
    };
    let all = high as f64 * STEP_G;
    // One that holds everything does, unless plates are printed at the same time.
    if !does(all, &mut steps) {
        return 0.0;
    }
    while low < high && steps > 0 {
        if does(low as f64 * STEP_G, &mut steps) {
            return low as f64 * STEP_G;
        }
        low += 1;
    }
    all
}

/// Changes that no plan can do without: of each plate by itself, from full spools.
fn changes_at_least(stock: &Stock) -> usize {
    let mut spools: Vec<i64> = stock.spools_g.iter().map(|g| down(*g)).collect();
    spools.sort_unstable_by(|a, b| b.cmp(a));
    stock.plates_g.iter().map(|g| fewest(&spools, up(*g), up(stock.loss_at_change_g))).sum()
}

/// The fewest changes for a plate, from what is left on spools, the fullest first.
fn fewest(left: &[i64], need: i64, loss: i64) -> usize {
    let mut sum = 0;
    for (n, left) in left.iter().enumerate() {
        sum += left - if n > 0 { loss } else { 0 };
        if sum >= need {
            return n;
        }
    }
    left.len()
}

/// Masses are counted in milligrams: plates are rounded up, spools down.
fn up(mass_g: f64) -> i64 {
    (mass_g * 1000.0 - 1e-3).ceil() as i64
}

fn down(mass_g: f64) -> i64 {
    (mass_g * 1000.0 + 1e-3).floor() as i64
}

/// For each plate its spools, all but the last used up.
type Feeds = Vec<Vec<usize>>;

/// Changes, milligrams stranded, spools touched.
type Cost = (usize, i64, usize);

/// How a spool stands: what is left, whether it was touched, until when it feeds a plate.
type Standing = (i64, bool, i64);

struct Search {
    plates: Vec<i64>,
    spools: Vec<i64>,
    printed: Vec<Span>,
    /// Until when each spool feeds a plate.
    busy: Vec<i64>,
    loss: i64,
    scrap: i64,
    /// Any plan will do.
    any: bool,
    steps: u64,
    best: Option<(Cost, Feeds)>,
    /// The fewest changes with which a state (plates done, what is left, sorted) was met.
    seen: BTreeMap<(usize, Vec<Standing>), usize>,
}

/// More states than this are not remembered.
const MOST_SEEN: usize = 300_000;

impl Search {
    /// Returns the best plan found, and whether all were looked at.
    fn run(stock: &Stock, steps: &mut u64, any: bool) -> (Option<Feeds>, bool) {
        let mut search = Self {
            plates: stock.plates_g.iter().map(|g| up(*g)).collect(),
            spools: stock.spools_g.iter().map(|g| down(*g)).collect(),
            printed: stock.printed.clone(),
            busy: vec![i64::MIN; stock.spools_g.len()],
            loss: up(stock.loss_at_change_g),
            scrap: up(stock.scrap_below_g),
            any,
            steps: *steps,
            best: None,
            seen: BTreeMap::new(),
        };
        if search.plates.iter().sum::<i64>() > search.spools.iter().sum::<i64>() {
            return (None, true);
        }
        let mut left = search.spools.clone();
        let all = search.go(&mut left, 0, &mut Vec::new()).is_some();
        *steps = search.steps;
        (search.best.map(|b| b.1), all)
    }

    fn cost(&self, left: &[i64], changes: usize) -> Cost {
        let touched: Vec<i64> = (0..left.len()).filter(|s| left[*s] != self.spools[*s]).map(|s| left[s]).collect();
        (changes, touched.iter().filter(|l| **l < self.scrap).sum(), touched.len())
    }

    /// Feeds the plates from the one on that comes after those fed; none where the steps ran out.
    fn go(&mut self, left: &mut Vec<i64>, changes: usize, fed: &mut Feeds) -> Option<()> {
        if self.any && self.best.is_some() {
            return Some(());
        }
        let Some(&need) = self.plates.get(fed.len()) else {
            let cost = self.cost(left, changes);
            if self.best.as_ref().is_none_or(|b| cost < b.0) {
                self.best = Some((cost, fed.clone()));
            }
            return Some(());
        };
        self.steps = self.steps.checked_sub(50 + 10 * left.len() as u64)?;
        if self.is_hopeless(left, changes, fed.len()) {
            return Some(());
        }
        let begin = self.begin(fed.len());
        for feed in self.one_spool(left, need, begin) {
            self.feed(feed, need, left, changes, fed)?;
        }
        // Several are looked for only where a change more may still be better.
        if self.best.as_ref().is_none_or(|b| changes < b.0.0) {
            // A spool that feeds another plate is as good as empty.
            let free: Vec<i64> = (0..left.len()).map(|s| if self.busy[s] <= begin { left[s] } else { 0 }).collect();
            for feed in self.several_spools(&free, need) {
                self.feed(feed, need, left, changes, fed)?;
            }
        }
        Some(())
    }

    /// Feeds a plate in one way and goes on.
    fn feed(
        &mut self,
        feed: Vec<usize>,
        need: i64,
        left: &mut Vec<i64>,
        changes: usize,
        fed: &mut Feeds,
    ) -> Option<()> {
        let before: Vec<i64> = feed.iter().map(|s| left[*s]).collect();
        let more = feed.len() - 1;
        let mut rest = need + self.loss * more as i64;
        for (spool, had) in feed.iter().zip(&before) {
            left[*spool] -= rest.min(*had);
            rest -= rest.min(*had);
        }
        let were_busy: Vec<i64> = feed.iter().map(|s| self.busy[*s]).collect();
        if let Some(printed) = self.printed.get(fed.len()) {
            feed.iter().for_each(|s| self.busy[*s] = printed.to_min);
        }
        fed.push(feed);
        let went_on = self.go(left, changes + more, fed);
        if let Some(feed) = fed.pop() {
            feed.iter().zip(before).for_each(|(spool, had)| left[*spool] = had);
            feed.iter().zip(were_busy).for_each(|(spool, was)| self.busy[*spool] = was);
        }
        went_on
    }

    /// Whether nothing better than what is known, or nothing new, can come of a state.
    fn is_hopeless(&mut self, left: &[i64], changes: usize, done: usize) -> bool {
        let now = self.begin(done);
        // Until when a spool was busy no longer matters once that is past.
        let one = |s: usize| (left[s], left[s] != self.spools[s], self.busy[s].max(now));
        let mut state: Vec<Standing> = (0..left.len()).map(one).collect();
        state.sort_unstable_by(|a, b| b.cmp(a));
        if state.iter().map(|s| s.0).sum::<i64>() < self.plates[done..].iter().sum::<i64>() {
            return true;
        }
        if let Some((best, _)) = &self.best {
            let fullest: Vec<i64> = state.iter().map(|s| s.0).collect();
            let ahead = &self.plates[done..self.plates.len().min(done + 60)];
            let more: usize = ahead.iter().map(|p| fewest(&fullest, *p, self.loss)).sum();
            let touched = state.iter().filter(|s| s.1).count();
            if (changes + more, 0, touched) >= *best {
                return true;
            }
        }
        let key = (done, state);
        match self.seen.get(&key) {
            Some(fewest) if *fewest <= changes => true,
            _ => {
                if self.seen.len() < MOST_SEEN {
                    self.seen.insert(key, changes);
                }
                false
            }
        }
    }

    /// When the next plate begins.
    fn begin(&self, done: usize) -> i64 {
        self.printed.get(done).map_or(0, |p| p.from_min)
    }

    /// The ways to feed a plate from one spool, the likeliest first.
    fn one_spool(&self, left: &[i64], need: i64, begin: i64) -> Vec<Vec<usize>> {
        let mut single: Vec<usize> = (0..left.len()).filter(|s| left[*s] >= need && self.busy[*s] <= begin).collect();
        let key = |s: usize| {
            let rest = left[s] - need;
            let wasted = rest > 0 && rest < self.scrap;
            (wasted, left[s] == self.spools[s], rest, s)
        };
        single.sort_by_key(|s| key(*s));
        // Spools that stand alike give the same.
        single.dedup_by_key(|s| (left[*s], left[*s] == self.spools[*s], self.busy[*s].max(begin)));
        single.into_iter().map(|s| vec![s]).collect()
    }

    /// The ways to feed it from several; with many spools not all sets of them are looked through.
    fn several_spools(&mut self, left: &[i64], need: i64) -> Vec<Vec<usize>> {
        const MOST_SETS: usize = 4_000;
        let (mut feeds, mut room) = (Vec::new(), MOST_SETS);
        for size in 2..=left.len().min(6) {
            for last in (0..left.len()).filter(|s| left[*s] > 0) {
                self.used_up(left, need, size, last, &mut Vec::new(), 0, &mut feeds, &mut room);
            }
        }
        self.steps = self.steps.saturating_sub(5 * (MOST_SETS - room) as u64);
        feeds
    }

    /// Adds the ways in which so many spools feed a plate, all but the last of them used up.
    #[expect(clippy::too_many_arguments, reason = "a recursion over what stands above it")]
    fn used_up(
        &self,
        left: &[i64],
        need: i64,
        size: usize,
        last: usize,
        used: &mut Vec<usize>,
        from: usize,
        feeds: &mut Vec<Vec<usize>>,
        room: &mut usize,
    ) {
        *room = room.saturating_sub(1);
        if *room == 0 {
            return;
        }
        if used.len() + 1 == size {
            let first: i64 = used.iter().map(|s| left[*s]).sum();
            let rest = need + self.loss * (size as i64 - 1) - first;
            // All but the first lose some at the change: it must be more than that.
            let enough = used.iter().filter(|s| left[**s] <= self.loss).count() <= usize::from(self.loss > 0);
            if rest > self.loss && left[last] >= rest && enough {
                let mut feed = used.clone();
                // One with less than the loss can only be the first.
                feed.sort_by_key(|s| (left[*s], *s));
                feed.push(last);
                feeds.push(feed);
            }
            return;
        }
        for spool in (from..left.len()).filter(|s| *s != last && left[*s] > 0 && left[*s] < need) {
            used.push(spool);
            self.used_up(left, need, size, last, used, spool + 1, feeds, room);
            used.pop();
        }
    }
}

/// The plan in grams.
fn told(stock: &Stock, feeds: &Feeds, proven: bool, changes_at_least: usize) -> Plan {
    let mut left_g = stock.spools_g.clone();
    let mut draws = Vec::new();
    for (feed, need) in feeds.iter().zip(&stock.plates_g) {
        let mut rest = *need;
        let mut plate = Vec::new();
        for (n, &spool) in feed.iter().enumerate() {
            let lost_g = if n > 0 { stock.loss_at_change_g } else { 0.0 };
            let mass_g = if n + 1 < feed.len() { left_g[spool] - lost_g } else { rest };
            rest -= mass_g;
            left_g[spool] = (left_g[spool] - mass_g - lost_g).max(0.0);
            plate.push(Draw { spool, mass_g, lost_g });
        }
        draws.push(plate);
    }
    let touched: Vec<usize> = (0..left_g.len()).filter(|s| draws.iter().flatten().any(|d| d.spool == *s)).collect();
    let stranded_g = touched.iter().map(|s| left_g[*s]).filter(|l| *l > 1e-6 && *l < stock.scrap_below_g - 1e-9).sum();
    let changes = draws.iter().map(|d| d.len() - 1).sum();
    Plan { draws, changes, stranded_g, touched: touched.len(), left_g, changes_at_least, proven }
}
