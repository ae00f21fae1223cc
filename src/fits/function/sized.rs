//! Sizes with limits: zones of ISO 286, limits of the spec, slots, lids, grooves, keyways.

use super::super::feature::FeatureKind;
use super::super::groove::Seat;
use super::super::iso286::{Member, Zone};
use super::super::practice::Practice;
use super::super::said::{Caution, Gauge, Named, Reason};
use super::super::{FitError, Provenance, SourceKind, groove, hardware, iso286};
use super::{Demand, FinishKind, Limits, mm, plain, plus, sliding};
use crate::quantity::{Length, trim_number};

pub(super) const STATED: Provenance =
    Provenance::new(SourceKind::Computed, "limits: nominal size and deviations of the spec");

pub(super) const KEYWAY: Provenance = Provenance::new(
    SourceKind::FromMemory,
    "key and keyway by ISO 773 (DIN 6885-1), recalled, those of shafts over 38 mm compared with a published table; width JS9 by ISO 286-1",
);

pub(super) const ISO: Provenance = Provenance::new(SourceKind::Standard, "limits by ISO 286-1");

/// Picks the zone the feature takes: its own member of a pair, or the single class if it fits the feature.
pub(super) fn own_zone(symbol: &str, kind: FeatureKind) -> Result<Zone, FitError> {
    let member = match kind {
        FeatureKind::Hole => Member::Hole,
        FeatureKind::Outside => Member::Shaft,
    };
    if symbol.contains('/') {
        let (hole, shaft) = iso286::parse_pair(symbol)?;
        return Ok(if member == Member::Hole { hole } else { shaft });
    }
    let zone = Zone::parse(symbol.trim())?;
    if zone.member == member {
        return Ok(zone);
    }
    let (found, wanted, letters) = match member {
        Member::Hole => ("a shaft", "hole", symbol.to_ascii_uppercase()),
        Member::Shaft => ("a hole", "shaft", symbol.to_ascii_lowercase()),
    };
    Err(FitError::new(
        symbol,
        format!("`{symbol}` is {found} class, the feature is a {wanted}"),
        format!("write `{letters}` for the {wanted}"),
    ))
}

pub(super) fn iso(size: Length, symbol: &str, kind: FeatureKind, practice: &Practice) -> Result<Demand, FitError> {
    let zone = own_zone(symbol, kind)?;
    let deviations = iso286::limits(size, &zone)?;
    let limits = Limits::new(plus(size, deviations.lower_um / 1000.0), plus(size, deviations.upper_um / 1000.0));
    let mut demand = plain(Named::Class { size, class: symbol.to_owned() }, size, limits, ISO);
    demand.grade = Some(zone.grade);
    let grade = f64::from(zone.grade.number());
    demand.finishes = match kind {
        FeatureKind::Hole => vec![FinishKind::Ream, FinishKind::Bush],
        FeatureKind::Outside if grade <= practice.pinned_grade => vec![FinishKind::MetalPin, FinishKind::Turn],
        FeatureKind::Outside => vec![FinishKind::Turn, FinishKind::MetalPin],
    };
    if grade >= practice.drilled_grade && kind == FeatureKind::Hole {
        demand.finishes.insert(0, FinishKind::Drill);
    }
    let deviations_um = [deviations.upper_um, deviations.lower_um];
    demand.reasons.push(Reason::Zone { zone, size, deviations_um, limits });
    Ok(demand)
}

/// A size whose limits are stated: until they are, it is its nominal size.
pub(super) fn sized(size: Length, kind: FeatureKind) -> Demand {
    let mut demand = plain(Named::Size(size), size, Limits::new(size, size), STATED);
    demand.finishes = match kind {
        FeatureKind::Hole => vec![FinishKind::Drill, FinishKind::Ream],
        FeatureKind::Outside => vec![FinishKind::Turn],
    };
    demand
}

/// Two holes drawn in one print keep their distance but for shrinkage; what printing cannot hold, drilling through the mate does.
pub(super) fn distance(size: Length) -> Demand {
    let mut demand = plain(Named::Distance(size), size, Limits::new(size, size), STATED);
    demand.gauge = Some(Gauge::OverPins);
    demand.finishes = vec![FinishKind::SetOut];
    demand.reasons.push(Reason::DistanceOtherwise);
    demand
}

/// The room between two flat walls: no round tool cuts it, and no round gauge tells its width.
pub(super) fn slot(size: Length, symbol: Option<&str>, practice: &Practice) -> Result<Demand, FitError> {
    let mut demand = match symbol {
        Some(symbol) => iso(size, symbol, FeatureKind::Hole, practice)?,
        None => sized(size, FeatureKind::Hole),
    };
    demand.finishes = vec![FinishKind::File, FinishKind::TryAndFit];
    demand.gauge = Some(Gauge::BetweenWalls);
    Ok(demand)
}

/// What lies between flats all about: no round tool cuts it, and its mate tells more than a gauge.
pub(super) fn flats(
    size: Length,
    length: Option<Length>,
    symbol: Option<&str>,
    kind: FeatureKind,
    practice: &Practice,
) -> Result<Demand, FitError> {
    let mut demand = match symbol {
        Some(symbol) => iso(size, symbol, kind, practice)?,
        None => sliding(size, None, kind, practice)?,
    };
    demand.named = match length {
        Some(length) => Named::Pocket { size: [size, length], side: kind },
        None => Named::Square { size, side: kind },
    };
    demand.finishes = vec![FinishKind::TryAndFit];
    demand.gauge = Some(Gauge::MateAndCaliper);
    Ok(demand)
}

/// A lid's lip goes into its rim by hand, all round.
pub(super) fn lid(size: Length, length: Option<Length>, kind: FeatureKind, practice: &Practice) -> Demand {
    let (least, most) = practice.lid.ends();
    let limits = match kind {
        FeatureKind::Hole => Limits::new(plus(size, least), plus(size, most)),
        FeatureKind::Outside => Limits::new(plus(size, -most), plus(size, -least)),
    };
    let source = practice.lid.source("lip of a lid in its rim:", "of play, against a mate of nominal size");
    let mut demand = plain(Named::Lid { size, length, side: kind }, size, limits, source);
    demand.finishes = vec![FinishKind::TryAndFit];
    demand.gauge = Some(Gauge::MateAndCaliper);
    demand.reasons.extend([Reason::MateTaken(size), Reason::WallsBow]);
    demand
}

/// The groove of a ring that does not move: its floor (or depth) by the squeeze of the ring.
pub(super) fn ring_groove(
    seat: Seat,
    inside: Length,
    section: Length,
    practice: &Practice,
) -> Result<Demand, FitError> {
    let groove = groove::groove(seat, inside, section, practice)?;
    let percent = |share: f64| trim_number(100.0 * share, 1);
    let [_, least, most] = groove.squeeze;
    let words = format!(
        "limits: O-ring at rest, squeezed by {} to {} % of its section; the housings of ISO 3601-2 were not compared",
        percent(least),
        percent(most)
    );
    let source = Provenance::owned(practice.ring_kind, words);
    let mut demand = plain(Named::Groove { seat, inside, section }, groove.size, groove.limits, source);
    demand.aim = groove.size;
    demand.gauge = Some(if seat == Seat::Face { Gauge::Depth } else { Gauge::MateAndCaliper });
    demand.reasons.push(Reason::Groove { seat, groove, fill: practice.ring_fill });
    demand.cautions.push(Caution::RingLeaks);
    Ok(demand)
}

/// The hub's keyway: its width by ISO 773 for a free key, its depth beyond the bore from the same table.
pub(super) fn keyway(shaft: Length) -> Result<Demand, FitError> {
    let key = hardware::parallel_key(shaft)?;
    let zone = Zone::parse(hardware::HUB_KEYWAY)?;
    let deviations = iso286::limits(key.width, &zone)?;
    let limits =
        Limits::new(plus(key.width, deviations.lower_um / 1000.0), plus(key.width, deviations.upper_um / 1000.0));
    let named = Named::Keyway { width: key.width, height: key.height, shaft };
    let mut demand = plain(named, key.width, limits, KEYWAY);
    demand.grade = Some(zone.grade);
    demand.finishes = vec![FinishKind::TryAndFit];
    demand.gauge = Some(Gauge::OwnKey);
    let bottom = plus(shaft, key.in_hub.to_mm());
    demand.reasons.push(Reason::KeywayBottom(Limits::new(bottom, plus(bottom, key.deeper.to_mm()))));
    demand.cautions.push(Caution::KeyPresses);
    Ok(demand)
}

/// The limits the spec states in place of those a fit has by itself; they are aimed at in the middle.
pub(super) fn stated(mut demand: Demand, [low, high]: [Length; 2]) -> Result<Demand, FitError> {
    let limits = Limits::new(plus(demand.nominal, low.to_mm()), plus(demand.nominal, high.to_mm()));
    if !(limits.width().to_um() > 0.0 && limits.low.to_um() > 0.0) {
        let hint = "write the least and the greatest deviation, as in `+-0.1 mm`";
        return Err(FitError::new(
            "",
            format!("the limits {} to {} leave no size between them", mm(limits.low), mm(limits.high)),
            hint,
        ));
    }
    demand.limits = limits;
    demand.aim = limits.middle();
    demand.grade = None;
    demand.source = STATED;
    demand.reasons.push(Reason::Stated(limits));
    Ok(demand)
}
