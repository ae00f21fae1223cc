//! Sizes, times, masses and values as a person tells them.

use std::fmt::{self, Display, Formatter};

use crate::quantity::{Duration, Length, Mass, trim_number};
use crate::recipe::{Apart, Basis, Cost, Limits, Shown};
use crate::rulebook::show;

/// A size in millimetres with three decimals at most.
pub(super) fn size(size: Length) -> String {
    crate::resolve::fits::shown(size)
}

pub(super) fn limits(l: &Limits) -> String {
    crate::resolve::fits::limits(l.low, l.high)
}

/// Returns a working time as hours and minutes; a long run as days of running without a break besides.
pub fn hours(time: Duration) -> String {
    let seconds = time.to_s();
    let minutes = (seconds / 60.0).round() as u64;
    match (minutes / 60, minutes % 60) {
        (h, _) if h >= 100 => format!("{h} h ({:.0} days without a break)", seconds / 86_400.0),
        (0, m) => format!("{m} min"),
        (h, 0) => format!("{h} h"),
        (h, m) => format!("{h} h {m} min"),
    }
}

/// Returns a mass with as many digits as mean something: a crumb is not nothing, and no one weighs tons in grams.
pub fn mass(mass: Mass) -> String {
    let grams = mass.to_g();
    if grams >= 10_000.0 {
        format!("{:.1} kg", grams / 1000.0)
    } else if grams >= 10.0 {
        format!("{grams:.0} g")
    } else if grams >= 0.1 {
        format!("{} g", trim_number(grams, 1))
    } else if grams >= 1e-3 {
        format!("{} g", trim_number(grams, 3))
    } else {
        "under 0.001 g".to_owned()
    }
}

/// Below these a run is no longer, s, and no dearer, money.
const NO_LONGER: f64 = 30.0;
const NO_DEARER: f64 = 0.005;

impl Apart {
    /// Returns whether the two runs differ by anything a person would notice.
    pub(crate) fn matters(&self) -> bool {
        self.time.to_s().abs() >= NO_LONGER || self.cost.amount.abs() >= NO_DEARER
    }
}

impl Display for Apart {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        let (time, cost) = (self.time.to_s(), &self.cost);
        if !self.matters() {
            return f.write_str("the run as it is");
        }
        let pace = if time < 0.0 { "quicker" } else { "longer" };
        let price = if cost.amount < 0.0 { "cheaper" } else { "dearer" };
        let amount = Cost { amount: cost.amount.abs(), currency: cost.currency.clone() };
        if time.abs() < NO_LONGER {
            return write!(f, "the run {amount} {price}");
        }
        write!(f, "the run {} {pace}, {amount} {price}", hours(Duration::s(time.abs())))
    }
}

impl Display for Cost {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        match &self.currency {
            Some(currency) => write!(f, "{:.2} {currency}", self.amount),
            None => write!(f, "{:.2} (no currency stated)", self.amount),
        }
    }
}

impl Display for Shown {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        match self {
            Shown::Value(value) => f.write_str(&show(value)),
            Shown::Percent(share) => write!(f, "{} %", trim_number(share * 100.0, 0)),
        }
    }
}

impl Display for Basis {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        match self {
            Basis::Nothing => Ok(()),
            Basis::Stated(place) => place.fmt(f),
            Basis::Sourced { source, range: None } => source.fmt(f),
            Basis::Sourced { source, range: Some((low, high)) } => write!(f, "{source}, range {low} to {high}"),
            Basis::Measured => f.write_str("measured on the mesh"),
            Basis::Computed(working) => f.write_str(working),
            Basis::Assumed(text) => write!(f, "assumed: {text}"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn masses_and_times_are_told_as_a_person_would() {
        for (grams, words) in [
            (0.0, "under 0.001 g"),
            (0.000_15, "under 0.001 g"),
            (0.0372, "0.037 g"),
            (0.5, "0.5 g"),
            (11.2, "11 g"),
            (9999.0, "9999 g"),
            (134_250.0, "134.2 kg"),
        ] {
            assert_eq!(mass(Mass::g(grams)), words);
        }
        assert_eq!(hours(Duration::s(7.0 * 60.0)), "7 min");
        assert_eq!(hours(Duration::s(5.0 * 3600.0 + 34.0 * 60.0)), "5 h 34 min");
        assert_eq!(hours(Duration::s(3680.0 * 3600.0)), "3680 h (153 days without a break)");
    }
}
