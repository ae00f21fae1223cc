//! Part-used spools to the plates of one material, in the order the plates are printed.
//!
//! A plate takes its grams from one spool, or from several one after the other: all but the last are used up, and each
//! change in mid-plate costs some grams of the new spool. Wanted are the fewest such changes, then the least that is left
//! on spools too short for anything, then the fewest spools touched.

use crate::Effort;
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
        /// The least new spool, in steps, with which a plan was found.
        new_spool_g: f64,
    },
}

/// New spools are asked for in steps of this.
pub const STEP_G: f64 = 5.0;

/// Returns which spool feeds which plate.
pub fn plan(stock: &Stock, effort: Effort) -> Result<Answer, Refusal> {
    check(stock)?;
    if let Some(found) = first_that_holds(stock) {
        return Ok(Answer::Enough(found));
    }
    let _ = effort;
    let need: f64 = stock.plates_g.iter().sum();
    let have: f64 = stock.spools_g.iter().sum();
    let short_g = (need - have).max(0.0);
    // A new spool for everything always does.
    let new_spool_g = (need / STEP_G).ceil() * STEP_G;
    Ok(Answer::Short { short_g, new_spool_g })
}

fn check(stock: &Stock) -> Result<(), Refusal> {
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

/// Each plate from the fullest spool so far that holds it, the tightest first.
fn first_that_holds(stock: &Stock) -> Option<Plan> {
    let mut left_g = stock.spools_g.clone();
    let mut draws = Vec::new();
    for &need in &stock.plates_g {
        let holds = left_g.iter().enumerate().filter(|(_, left)| **left >= need - 1e-9);
        let (spool, _) = holds.min_by(|a, b| a.1.total_cmp(b.1))?;
        left_g[spool] -= need;
        draws.push(vec![Draw { spool, mass_g: need, lost_g: 0.0 }]);
    }
    let touched = |i: usize| left_g[i] < stock.spools_g[i];
    let scrap = |left: f64| if left > 1e-9 && left < stock.scrap_below_g { left } else { 0.0 };
    let stranded_g = (0..left_g.len()).filter(|i| touched(*i)).map(|i| scrap(left_g[i])).sum();
    let touched = (0..left_g.len()).filter(|i| touched(*i)).count();
    Some(Plan { draws, changes: 0, stranded_g, touched, left_g, changes_at_least: 0, proven: false })
}
