//! Cases that differ by the size of what acts alone are one problem: what rests on something that only pushes, without a gap, answers
//! in proportion too. Each is solved for loads of unit size and multiplied, whether it stands alone or beside others, so that what
//! is said of a load does not hang on which others the spec has.

use std::collections::{BTreeMap, BTreeSet};

use super::Case;
use super::solved::{Solved, Sought};
use crate::field::{Bearing, Load, LoadKind};
use crate::geometry::vector::{norm, scale};

/// A case of loads of unit size, and the cases it stands for.
pub(super) struct Unit<'a> {
    pub case: Case,
    pub buckling: bool,
    pub members: Vec<Member<'a>>,
}

/// One of these.
pub(super) struct Member<'a> {
    /// Its place in the group it is solved in.
    pub number: usize,
    case: &'a Case,
    /// How many times as large it is.
    pub times: f64,
    /// For each of its loads that of the unit it is a part of, and which part.
    shares: Vec<(usize, f64)>,
}

/// Digits of the components of a unit load: what differs by the rounding of a product alone is alike.
const DIGITS: f64 = 1e12;

impl<'a> Unit<'a> {
    /// Returns the units of some cases on the same holds.
    pub fn of(cases: impl Iterator<Item = (usize, Sought<'a>)>) -> Vec<Self> {
        let mut known: BTreeMap<String, usize> = BTreeMap::new();
        let mut all: Vec<Self> = Vec::new();
        for (number, sought) in cases {
            let case = sought.case;
            let (loads, shares, times) = united(&case.loads);
            let member = Member { number, case, times, shares };
            let key = format!(
                "{loads:?} {:?} {} {:?} {} {}",
                case.off, case.off_mm, case.beside, case.moves_count, sought.buckling
            );
            match known.get(&key).and_then(|&at| all.get_mut(at)) {
                Some(unit) => unit.members.push(member),
                None => {
                    known.insert(key, all.len());
                    let case = Case { loads, hopeless_mpa: None, assumed: Vec::new(), ..case.clone() };
                    all.push(Self { case, buckling: sought.buckling, members: vec![member] });
                }
            }
        }
        all
    }

    /// Returns it without some of the cases.
    pub fn without(mut self, answered: &BTreeSet<usize>) -> Self {
        self.members.retain(|member| !answered.contains(&member.number));
        self
    }
}

impl Member<'_> {
    /// Returns its answer from that of the unit.
    pub fn answer(&self, solved: &Solved, unit: &Case) -> Solved {
        let mut own = solved.times(self.times);
        own.assumed.clone_from(&self.case.assumed);
        let mut bearings = Vec::new();
        let mut widths = Vec::new();
        for (pressed, wide) in own.bearings.iter().zip(&own.widths) {
            let of_unit = unit.loads.iter().position(|load| load.name == pressed.of);
            let Some(at) = of_unit else {
                bearings.push(pressed.clone());
                widths.push(*wide);
                continue;
            };
            for (load, (_, share)) in self.case.loads.iter().zip(&self.shares).filter(|(_, (of, _))| *of == at) {
                let newtons = scale(pressed.newtons, *share);
                bearings.push(Bearing { of: load.name.clone(), newtons, ..pressed.clone() });
                widths.push(*wide);
            }
        }
        (own.bearings, own.widths) = (bearings, widths);
        own
    }
}

/// Returns loads of unit size, those that act alike at one place as one; for each load which of these it is a part of, and which
/// part of it; and how many times as large they are.
fn united(loads: &[Load]) -> (Vec<Load>, Vec<(usize, f64)>, f64) {
    let mut kinds: Vec<(String, LoadKind, f64)> = Vec::new();
    let mut parts: Vec<(usize, f64)> = Vec::new();
    for load in loads {
        let size = size(&load.kind);
        let unit = if size > 0.0 { rounded(times(&load.kind, 1.0 / size)) } else { load.kind.clone() };
        let key = format!("{unit:?}");
        let at = kinds.iter().position(|(known, ..)| *known == key).unwrap_or(kinds.len());
        match kinds.get_mut(at) {
            Some((_, _, sum)) => *sum += size,
            None => kinds.push((key, unit, size)),
        }
        parts.push((at, size));
    }
    let whole = kinds.first().map_or(1.0, |(_, _, size)| *size);
    let whole = if whole > 0.0 { whole } else { 1.0 };
    let of = |(at, size): (usize, f64)| {
        let sum = kinds.get(at).map_or(0.0, |(_, _, sum)| *sum);
        (at, if sum > 0.0 { size / sum } else { 1.0 })
    };
    let shares = parts.into_iter().map(of).collect();
    // No hold has such a name.
    let named = |(at, (_, unit, size)): (usize, &(String, LoadKind, f64))| Load {
        name: format!("\u{1}{at}"),
        kind: if *size > 0.0 { rounded(times(unit, size / whole)) } else { unit.clone() },
    };
    (kinds.iter().enumerate().map(named).collect(), shares, whole)
}

/// Returns how large a load is, by which it is a number without a unit that tells it from others alike.
fn size(kind: &LoadKind) -> f64 {
    match kind {
        LoadKind::Force { newtons, .. } | LoadKind::Pin { newtons, .. } => norm(*newtons),
        LoadKind::Pressure { mpa, .. } => mpa.abs(),
        LoadKind::Mate { newtons, newton_mm, .. } => norm(*newtons) + norm(*newton_mm),
        LoadKind::Torque { newton_mm, .. } => newton_mm.abs(),
        LoadKind::Body { newtons_per_mm3 } => norm(*newtons_per_mm3),
    }
}

/// Returns a load whose numbers are rounded.
fn rounded(mut kind: LoadKind) -> LoadKind {
    // Adding nothing takes the sign off a zero.
    let round = |x: f64| (x * DIGITS).round() / DIGITS + 0.0;
    match &mut kind {
        LoadKind::Force { newtons, .. } | LoadKind::Pin { newtons, .. } => *newtons = newtons.map(round),
        LoadKind::Pressure { mpa, .. } => *mpa = round(*mpa),
        LoadKind::Mate { newtons, newton_mm, .. } => {
            (*newtons, *newton_mm) = (newtons.map(round), newton_mm.map(round));
        }
        LoadKind::Torque { newton_mm, .. } => *newton_mm = round(*newton_mm),
        LoadKind::Body { newtons_per_mm3 } => *newtons_per_mm3 = newtons_per_mm3.map(round),
    }
    kind
}

/// Returns a load so many times as large.
pub(super) fn times(kind: &LoadKind, ratio: f64) -> LoadKind {
    let mut kind = kind.clone();
    match &mut kind {
        LoadKind::Force { newtons, .. } | LoadKind::Pin { newtons, .. } => *newtons = scale(*newtons, ratio),
        LoadKind::Pressure { mpa, .. } => *mpa *= ratio,
        LoadKind::Mate { newtons, newton_mm, .. } => {
            (*newtons, *newton_mm) = (scale(*newtons, ratio), scale(*newton_mm, ratio));
        }
        LoadKind::Torque { newton_mm, .. } => *newton_mm *= ratio,
        LoadKind::Body { newtons_per_mm3 } => *newtons_per_mm3 = scale(*newtons_per_mm3, ratio),
    }
    kind
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::field::Region;

    fn force(name: &str, near: f64, newtons: [f64; 3]) -> Load {
        let on = Region::Face { normal: [0.0, 0.0, 1.0], near: [near, 0.0, 5.0], within: None };
        Load { name: name.to_owned(), kind: LoadKind::Force { on, newtons } }
    }

    #[test]
    fn loads_that_differ_by_their_size_alone_are_one_of_unit_size() {
        let way = [0.6 / 3.0_f64.sqrt(), 0.1, -0.8];
        let of = |newtons: f64| united(&[force("any", 1.0, scale(way, newtons))]);
        let ((one, _, small), (other, _, large)) = (of(7.3), of(261.1));
        assert_eq!(format!("{one:?}"), format!("{other:?}"));
        assert!((large / small - 261.1 / 7.3).abs() < 1e-9);
        // The other way is another.
        assert_ne!(format!("{one:?}"), format!("{:?}", of(-7.3).0));
    }

    #[test]
    fn loads_at_one_place_act_as_one_and_keep_their_shares() {
        let all = [
            force("box", 1.0, [0.0, 0.0, -40.0]),
            force("wind", 2.0, [9.0, 0.0, 0.0]),
            force("snow", 1.0, [0.0, 0.0, -160.0]),
        ];
        let (loads, shares, times) = united(&all);
        assert_eq!(loads.len(), 2);
        assert_eq!(shares, [(0, 0.2), (1, 1.0), (0, 0.8)]);
        let newtons = |load: &Load| match &load.kind {
            LoadKind::Force { newtons, .. } => scale(*newtons, times),
            _ => [0.0; 3],
        };
        assert_eq!(loads.iter().map(newtons).collect::<Vec<_>>(), [[0.0, 0.0, -200.0], [9.0, 0.0, 0.0]]);
    }
}
