//! Drills and reamers as they can be bought, and which of them makes a hole within given limits.

use super::function::Limits;
use super::iso286::{self, Zone};
use crate::quantity::Length;

/// Half a micrometre: sizes nearer than that are one size.
const SAME_UM: f64 = 0.5;

/// Returns the usual reamers (H7, hand and machine), in mm: by half millimetres to 20, by whole ones to 32 (common practice).
fn usual_reamers() -> impl Iterator<Item = Length> {
    let halves = (2..=40).map(|n| f64::from(n) / 2.0);
    halves.chain((21..=32).map(f64::from)).map(Length::mm)
}

/// Returns the usual twist drills, in mm: by tenths to 13, by half millimetres to 30 (common practice; ISO 235 lists more).
fn usual_drills() -> impl Iterator<Item = Length> {
    let tenths = (5..=130).map(|n| f64::from(n) / 10.0);
    tenths.chain((27..=60).map(|n| f64::from(n) / 2.0)).map(Length::mm)
}

fn nearest(sizes: impl Iterator<Item = Length>, aim: Length) -> Option<Length> {
    let off = |l: &Length| (l.to_um() - aim.to_um()).abs();
    sizes.min_by(|a, b| off(a).total_cmp(&off(b)))
}

/// Returns the drill whose size lies within the limits: the shop's nearest to the aim, else the nearest usual one.
pub fn drill(shop: &[Length], limits: Limits, aim: Length) -> Option<Length> {
    let within = |l: &Length| l.to_um() >= limits.low.to_um() - SAME_UM && l.to_um() <= limits.high.to_um() + SAME_UM;
    nearest(shop.iter().copied().filter(within), aim).or_else(|| nearest(usual_drills().filter(within), aim))
}

/// Returns the reamer whose hole (H7 of its size) lies within the limits: the shop's nearest to the aim, else the nearest
/// usual one.
pub fn reamer(shop: &[Length], limits: Limits, aim: Length) -> Option<Length> {
    let Ok(h7) = Zone::parse("H7") else { return None };
    let within = |l: &Length| {
        let inside = l.to_um() >= limits.low.to_um() - SAME_UM && l.to_um() <= limits.high.to_um() + SAME_UM;
        inside
            && iso286::limits(*l, &h7).is_ok_and(|hole| {
                let (low, high) = (l.to_um() + hole.lower_um, l.to_um() + hole.upper_um);
                low >= limits.low.to_um() - SAME_UM && high <= limits.high.to_um() + SAME_UM
            })
    };
    nearest(shop.iter().copied().filter(within), aim).or_else(|| nearest(usual_reamers().filter(within), aim))
}

/// Returns whether the shop has the tool of this size.
pub fn owned(shop: &[Length], tool: Length) -> bool {
    shop.iter().any(|l| (l.to_um() - tool.to_um()).abs() < SAME_UM)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn limits(low: f64, high: f64) -> Limits {
        Limits::new(Length::mm(low), Length::mm(high))
    }

    fn sizes(found: Option<Length>) -> Option<f64> {
        found.map(|l| (l.to_mm() * 1000.0).round() / 1000.0)
    }

    #[test]
    fn a_reamer_is_named_only_where_its_whole_hole_lies_within() {
        let ream = |low, high| sizes(reamer(&[], limits(low, high), Length::mm((low + high) / 2.0)));
        // H7 and H9 of 8 mm (ISO 286-2: +15 and +36 µm); a press of 8 mm; a sliding fit of 12 mm; G7 of 8 mm.
        assert_eq!(ream(8.0, 8.015), Some(8.0));
        assert_eq!(ream(8.0, 8.036), Some(8.0));
        assert_eq!(ream(7.904, 7.976), None);
        assert_eq!(ream(12.05, 12.35), None);
        assert_eq!(ream(8.005, 8.020), None);
        // H6 of 8 mm is 9 µm wide: an H7 reamer may cut wider.
        assert_eq!(ream(8.0, 8.009), None);
        assert_eq!(ream(6.3, 6.315), None);
        assert_eq!(ream(35.0, 35.025), None);
        // What the shop has goes first, usual or not.
        assert_eq!(sizes(reamer(&[Length::mm(6.3)], limits(6.3, 6.315), Length::mm(6.3))), Some(6.3));
    }

    #[test]
    fn a_drill_is_named_only_within_the_limits() {
        let drill = |low, high| sizes(super::drill(&[], limits(low, high), Length::mm((low + high) / 2.0)));
        assert_eq!(drill(8.05, 8.35), Some(8.2));
        assert_eq!(drill(7.904, 7.976), None);
        assert_eq!(drill(20.05, 20.35), None);
        assert_eq!(drill(20.3, 20.7), Some(20.5));
        assert_eq!(sizes(super::drill(&[Length::mm(4.25)], limits(4.15, 4.5), Length::mm(4.3))), Some(4.25));
    }
}
