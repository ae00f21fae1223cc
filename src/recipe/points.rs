//! Points of penalty as they are shown: whole hundredths, so that what stands in a table adds up to its total.

use std::collections::BTreeMap;
use std::iter::Sum;
use std::ops::{Add, AddAssign, Neg};

use serde::Serialize;

use crate::recipe::About;
use crate::recipe::reasons::{about, touches};
use crate::resolve::problem::{Constraint, Rules};
use crate::resolve::search::Penalty;

/// Millionths of a point in the hundredth that is shown.
const SHOWN: Penalty = 10_000;

/// Points in whole hundredths; positive counts against a choice.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct Points(i64);

/// What one rule counts against a choice, or between two.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Weighed {
    /// Name of the rule.
    pub rule: String,
    /// Which load, fit, face or contact the rule speaks of, where it is asked for each.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub about: Option<About>,
    /// Heavier is worse; between two choices the difference.
    pub points: Points,
}

impl Points {
    /// No points.
    pub const NONE: Self = Self(0);

    /// Returns the points for a number of hundredths.
    pub const fn hundredths(count: i64) -> Self {
        Self(count)
    }

    /// Rounds what the search counts in millionths.
    pub fn of(penalty: Penalty) -> Self {
        let half = if penalty < 0 { -SHOWN / 2 } else { SHOWN / 2 };
        Self((penalty + half) / SHOWN)
    }

    /// Returns the points as a number, hundredths behind the point.
    pub fn as_f64(self) -> f64 {
        self.0 as f64 / 100.0
    }
}

impl Add for Points {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self(self.0.saturating_add(other.0))
    }
}

impl AddAssign for Points {
    fn add_assign(&mut self, other: Self) {
        *self = *self + other;
    }
}

impl Neg for Points {
    type Output = Self;
    fn neg(self) -> Self {
        Self(-self.0)
    }
}

impl Sum for Points {
    fn sum<I: Iterator<Item = Self>>(each: I) -> Self {
        each.fold(Self::NONE, Add::add)
    }
}

/// Returns the sum of what is shown.
pub fn total(weighed: &[Weighed]) -> Points {
    weighed.iter().map(|w| w.points).sum()
}

/// Returns what separates two choices, what a rule says of each instance by itself, in the order given; what rounds to
/// nothing is left out.
pub(super) fn separating(rules: &Rules<'_, '_>, differences: &[(Constraint, Penalty)]) -> Vec<Weighed> {
    let weighed = |(c, penalty): &(Constraint, Penalty)| {
        let rule = rules.rule(*c);
        let about = about(rules.world, rule, c.instance);
        Weighed { rule: rule.name.clone(), about, points: Points::of(*penalty) }
    };
    differences.iter().map(weighed).filter(|w| w.points != Points::NONE).collect()
}

/// Puts the rules that touch a decision before the others; within each the order stays.
pub(super) fn own_first(
    rules: &Rules<'_, '_>,
    decision: usize,
    differences: &[(Constraint, Penalty)],
) -> Vec<(Constraint, Penalty)> {
    let mut ordered = differences.to_vec();
    ordered.sort_by_key(|(c, _)| !touches(rules.rule(*c), decision));
    ordered
}

/// Returns for each of several choices what counts against it, by rule, beyond what counts against all of them: that tells
/// none from another. A choice by itself keeps everything.
pub(super) fn compared(rules: &Rules<'_, '_>, choices: &[&[(Constraint, Penalty)]]) -> Vec<Vec<Weighed>> {
    let by_rule = |penalties: &[(Constraint, Penalty)]| {
        let mut sums: BTreeMap<String, Penalty> = BTreeMap::new();
        for (constraint, penalty) in penalties {
            *sums.entry(rules.rule(*constraint).name.clone()).or_default() += *penalty;
        }
        sums.into_iter().map(|(rule, sum)| (rule, Points::of(sum))).collect::<BTreeMap<_, _>>()
    };
    without_shared(choices.iter().map(|penalties| by_rule(penalties)).collect())
}

fn without_shared(rows: Vec<BTreeMap<String, Points>>) -> Vec<Vec<Weighed>> {
    let shared = |rule: &str| match rows.as_slice() {
        [_] => Points::NONE,
        rows => rows.iter().map(|row| row.get(rule).copied().unwrap_or_default()).min().unwrap_or_default(),
    };
    let kept = |row: &BTreeMap<String, Points>| {
        let beyond = row.iter().map(|(rule, p)| (rule, *p + -shared(rule))).filter(|(_, p)| *p != Points::NONE);
        beyond.map(|(rule, points)| Weighed { rule: rule.clone(), about: None, points }).collect()
    };
    rows.iter().map(kept).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn millionths_round_to_the_nearer_hundredth_on_either_side() {
        for (penalty, shown) in [(4_999, 0), (5_000, 1), (-5_000, -1), (-4_999, 0), (2_500_000, 250)] {
            assert_eq!(Points::of(penalty), Points::hundredths(shown), "{penalty}");
        }
    }

    #[test]
    fn what_counts_alike_against_all_is_left_out_and_the_rest_adds_up() {
        let row = |of: &[(&str, i64)]| of.iter().map(|(r, p)| ((*r).to_owned(), Points::hundredths(*p))).collect();
        let rows: Vec<BTreeMap<String, Points>> =
            vec![row(&[("warp", 900), ("cost", 1282)]), row(&[("warp", 932), ("edge", 4000)])];
        let told = without_shared(rows.clone());
        assert_eq!(
            told.iter().map(|row| total(row)).collect::<Vec<_>>(),
            [Points::hundredths(1282), Points::hundredths(4032)]
        );
        assert_eq!(total(&without_shared(rows[..1].to_vec())[0]), Points::hundredths(2182), "one by itself keeps all");
    }
}
