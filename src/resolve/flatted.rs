//! Rounds with a flat in the mesh: D-bores and D-shafts.

use crate::catalogue::{Catalogue, figures};
use crate::fits::feature::FeatureKind;
use crate::geometry::features::{Features, Plane, Rounding};
use crate::geometry::vector::{Vector, cross, dot, norm, scale, sub};
use crate::quantity::{Length, trim_number};
use crate::semantics::spec::{Fit, Spec};

use super::matching::{Feature, Place, round_features};
use super::part::Part;

/// A round of the mesh that holds a shaft, and the flat on it.
pub struct Round {
    /// As if it were round all about.
    pub round: Feature,
    /// How far it goes about its axis, degrees.
    pub arc_deg: f64,
    /// From its flat to its far side, mm; none where it has no flat.
    pub across: Option<f64>,
}

/// What goes farther about its axis than half a turn holds a shaft.
const HALF_ROUND_DEG: f64 = 180.0;
const WHOLE_DEG: f64 = 360.0;
/// Sine of the angle up to which two axes run alike, or a flat lies along an axis.
const PARALLEL: f64 = 0.02;
/// A flat lies nearer the axis than this share of the radius: the flats a round is drawn with do not.
const NEARER: f64 = 0.985;
/// The middle of a flat lies within this share of half its chord of the foot of the axis on it: the sides of a mouth do not.
const CENTRED: f64 = 0.2;

/// Returns the rounds of a kind that have a flat or an open side, the widest about their axis first.
pub fn rounds(features: &Features, kind: FeatureKind) -> Vec<Round> {
    let hollow = kind == FeatureKind::Hole;
    let whole = round_features(features).into_iter().filter(|f| f.kind == kind).map(|f| (f, WHOLE_DEG));
    let part = features.roundings.iter().filter(|r| r.hollow == hollow && r.arc_deg > HALF_ROUND_DEG);
    let part = part.map(|r| (flatted(r, ["bore with a flat", "shaft with a flat"]), r.arc_deg));
    let mut all: Vec<Round> = whole
        .chain(part)
        .map(|(round, arc_deg)| Round { across: across(features, &round), arc_deg, round })
        .filter(|r| r.across.is_some() || r.arc_deg < WHOLE_DEG)
        .collect();
    all.sort_by(|a, b| b.arc_deg.total_cmp(&a.arc_deg));
    all
}

/// Returns the rounds of a kind that have two flats, one opposite the other, the widest about their axis first.
fn doubles(features: &Features, kind: FeatureKind) -> Vec<Round> {
    let whole = round_features(features).into_iter().filter(|f| f.kind == kind).map(|f| (f, WHOLE_DEG));
    let arcs = features.roundings.iter().filter(|r| r.hollow == (kind == FeatureKind::Hole));
    let arcs = arcs.map(|r| (flatted(r, ["bore with two flats", "shaft with two flats"]), r.arc_deg));
    let mut all: Vec<Round> = Vec::new();
    for (mut round, arc_deg) in whole.chain(arcs) {
        // Its sides are those of two arcs and two flats: by their number nothing is lost on its diameter.
        round.facets = 0;
        // Its two arcs may be there as one round or as two.
        let same = |r: &Round| norm(sub(r.round.centre, round.centre)) < PARALLEL * round.length.to_mm();
        if let Some(across) = across_two(features, &round).filter(|_| !all.iter().any(same)) {
            all.push(Round { across: Some(across), arc_deg, round });
        }
    }
    all.sort_by(|a, b| b.arc_deg.total_cmp(&a.arc_deg));
    all
}

/// A part of a round as if it were round all about, under one of two names.
fn flatted(r: &Rounding, [bore, shaft]: [&str; 2]) -> Feature {
    Feature {
        name: if r.hollow { bore } else { shaft }.to_owned(),
        kind: if r.hollow { FeatureKind::Hole } else { FeatureKind::Outside },
        diameter: Length::mm(2.0 * r.radius_mm),
        axis: r.axis,
        centre: r.centre_mm,
        length: Length::mm(r.length_mm),
        facets: 0,
        blind: false,
        stepped: false,
    }
}

/// The flats of a round: how far each is from the axis, and where it looks.
fn flats<'a>(features: &'a Features, round: &'a Feature) -> impl Iterator<Item = (f64, Vector)> + 'a {
    let radius = 0.5 * round.diameter.to_mm();
    let half_chord = move |far: f64| (radius * radius - far * far).max(0.0).sqrt();
    let of = |p: &Plane| Some((is_flat(round, p.normal, p.centre_mm)?, p.normal));
    let found = features.planes.iter().filter_map(of);
    found.filter(move |([far, aside], _)| *aside < CENTRED * half_chord(*far)).map(|([far, _], normal)| (far, normal))
}

/// Returns how far it is from the flat of a round to its far side.
fn across(features: &Features, round: &Feature) -> Option<f64> {
    let nearest = flats(features, round).map(|(far, _)| far).reduce(f64::min);
    nearest.map(|far| 0.5 * round.diameter.to_mm() + far)
}

/// Returns how far two flats of a round are apart that look opposite ways.
fn across_two(features: &Features, round: &Feature) -> Option<f64> {
    let all: Vec<(f64, Vector)> = flats(features, round).collect();
    let pairs = all.iter().enumerate().flat_map(|(i, a)| all.iter().skip(i + 1).map(move |b| (a, b)));
    pairs.filter(|(a, b)| dot(a.1, b.1) < PARALLEL - 1.0).map(|(a, b)| a.0 + b.0).reduce(f64::min)
}

/// Returns the facets of the flat of a round.
pub(super) fn flat_facets(part: &Part, round: &Feature) -> Vec<u32> {
    part.facets_where(|mesh, facet| {
        let (normal, area) = mesh.normal_area(facet);
        area > 0.0 && is_flat(round, normal, mesh.centre(facet)).is_some()
    })
}

/// Returns how far from the axis of a round a flat of it lies with this normal through a place, and how far aside of the foot of
/// the axis on it that is.
fn is_flat(round: &Feature, normal: Vector, place: Vector) -> Option<[f64; 2]> {
    let radius = 0.5 * round.diameter.to_mm();
    let half = 0.5 * round.length.to_mm();
    let out = if round.kind == FeatureKind::Hole { -1.0 } else { 1.0 };
    let to = sub(place, round.centre);
    let up = dot(to, round.axis);
    let off = sub(to, scale(round.axis, up));
    let far = out * dot(off, normal);
    let aside = norm(sub(off, scale(normal, dot(off, normal))));
    let along = dot(normal, round.axis).abs() < PARALLEL && up.abs() <= half;
    (along && far > 0.0 && far < NEARER * radius && aside < radius).then_some([far, aside])
}

/// Finds the round of every fit that has a flat.
pub(super) fn find(spec: &Spec, features: &Features, catalogue: &Catalogue, places: &mut [Place]) {
    for (fit, place) in spec.fits.iter().zip(places) {
        let Some(flat) = fit.flat else { continue };
        let (function, kind) = super::fits::function(&fit.function.value);
        let Ok(nominal) = function.nominal(kind, &catalogue.practice()) else { continue };
        let near = |r: &&Round| {
            let (share, room) = (catalogue.value(figures::MATCH_SHARE), catalogue.figure(figures::MATCH_ROOM));
            let room = (share * nominal.to_mm()).min(room.high().to_mm()).max(room.low().to_mm());
            let off = (r.round.diameter.to_mm() - nominal.to_mm()).abs();
            let along = fit.along.is_none_or(|a| norm(cross(r.round.axis, a.value.0)) < PARALLEL);
            let size = |r: &Round| r.across.map_or(f64::INFINITY, |a| (a - flat.value.to_mm()).abs());
            off <= room && along && size(r) <= room
        };
        let all = if fit.two_flats { doubles(features, kind) } else { rounds(features, kind) };
        let mut found: Vec<&Round> = all.iter().filter(near).collect();
        if let Some(at) = fit.at.map(|p| p.value.map(|l| l.to_mm())) {
            let away = |r: &Round| {
                let to = sub(at, r.round.centre);
                norm(sub(to, scale(r.round.axis, dot(to, r.round.axis))))
            };
            found.sort_by(|a, b| away(a).total_cmp(&away(b)));
            found.truncate(1);
        }
        let wanted = fit.count.map(|c| c.value as usize);
        if found.is_empty() || wanted.is_some_and(|n| n != found.len()) {
            place.problem = Some(unseen(fit, nominal, found.len(), &all));
            continue;
        }
        let off = |r: &&&Round| r.across.map_or(0.0, |a| (a - flat.value.to_mm()).abs());
        place.second = found.iter().max_by(|a, b| off(a).total_cmp(&off(b))).and_then(|r| r.across).map(Length::mm);
        place.features = found.iter().map(|r| r.round.clone()).collect();
    }
}

fn unseen(fit: &Fit, nominal: Length, found: usize, all: &[Round]) -> (String, String, bool) {
    let over = if fit.two_flats { "across its flats" } else { "over its flat" };
    let there: Vec<String> = all
        .iter()
        .filter_map(|r| Some((r, r.across?)))
        .map(|(r, across)| format!("{}, {} mm {over}", r.round.words(), trim_number(across, 2)))
        .collect();
    let flat = trim_number(fit.flat.map_or(0.0, |f| f.value.to_mm()), 3);
    let flat = match fit.two_flats {
        true => format!("two flats {flat} mm apart"),
        false => format!("a flat {flat} mm from the far side"),
    };
    let message = format!(
        "fit \"{}\": the mesh has {found} rounds of {} with {flat}",
        fit.name.value,
        super::fits::shown(nominal),
    );
    let hint = match there.as_slice() {
        [] => "the mesh has none such: leave `flat` or `flats` out, or draw it".to_owned(),
        some => format!("the mesh has {}", some.join("; ")),
    };
    (message, hint, true)
}
