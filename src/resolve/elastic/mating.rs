//! Fits between flats: squares, keys, nuts, tongues, shafts with a flat. What sits in them only pushes.

use std::collections::BTreeSet;

use super::{Making, Unsaid, round};
use crate::field::{LoadKind, Region, Round};
use crate::fits::feature::FeatureKind;
use crate::geometry::vector::{Vector, dot, norm, scale, sub};
use crate::quantity::Length;
use crate::resolve::flatted;
use crate::resolve::matching::{Feature, Place, round_features};
use crate::semantics::spec::{Fit, FitFunction};

/// What a mate of the part presses on.
pub(super) struct Flats {
    pub on: Region,
    /// Its flats, ascending.
    pub walls: Vec<u32>,
    /// The middle of what it presses on.
    pub centre: Vector,
}

/// A wall that a force meets at a smaller cosine than this is not pushed by it.
const PUSHED: f64 = 0.5;
/// The bore that a key lies in is as wide as its shaft, within this share.
const ALIKE: f64 = 0.1;

impl<'a> Making<'a> {
    /// Returns the flats of a fit that something sits between; `None` of any other.
    pub(super) fn flats(&self, name: &str) -> Option<Flats> {
        let at = self.asked.spec.fits.iter().position(|f| f.name.value == name)?;
        self.flats_of(self.asked.spec.fits.get(at)?, self.asked.fits.get(at)?)
    }

    fn flats_of(&self, fit: &Fit, place: &Place) -> Option<Flats> {
        if fit.flat.is_some() && !place.features.is_empty() {
            return self.flatted(fit, &place.features);
        }
        if !place.features.is_empty() || place.facets.is_empty() {
            return None;
        }
        let mesh = &self.asked.part.mesh;
        let walls = place.facets.clone();
        let mut on = Region::Facets(walls.clone());
        let (mut sum, mut area) = ([0.0; 3], 0.0);
        for (middle, vector) in on.spread(mesh) {
            (sum, area) = (std::array::from_fn(|i| sum[i] + middle[i] * norm(vector)), area + norm(vector));
        }
        let mut centre = scale(sum, 1.0 / area.max(f64::MIN_POSITIVE));
        // A key turns with its shaft, and what it pushes at one side the shaft pushes back at the other.
        if let FitFunction::Keyway { shaft } = &fit.function.value
            && let Some(bore) = self.bore_of_key(*shaft, centre)
        {
            on = Region::Several(vec![on, bore.region()]);
            centre = bore.centre;
        }
        Some(Flats { on, walls, centre })
    }

    /// A round that is pressed in holds by that, flat or not.
    fn flatted(&self, fit: &Fit, features: &[Feature]) -> Option<Flats> {
        if matches!(fit.function.value, FitFunction::Press { .. }) {
            return None;
        }
        let rounds: Vec<Round> = features.iter().map(round).collect();
        let [first] = rounds.as_slice() else { return None };
        let mesh = &self.asked.part.mesh;
        let curved: BTreeSet<u32> = first.region().pieces(mesh).iter().map(|(facet, _)| *facet).collect();
        let mut walls = flatted::flat_facets(self.asked.part, features.first()?);
        walls.retain(|facet| !curved.contains(facet));
        let on = Region::Several(vec![first.region(), Region::Facets(walls.clone())]);
        (!walls.is_empty()).then_some(Flats { on, walls, centre: first.centre })
    }

    /// Returns the bore that a key for a shaft lies in: the nearest as wide as the shaft.
    fn bore_of_key(&self, shaft: Length, near: Vector) -> Option<Round> {
        let features = self.surface.features;
        let holes = round_features(features).into_iter().filter(|f| f.kind == FeatureKind::Hole).map(|f| round(&f));
        let parts = features.roundings.iter().filter(|r| r.hollow).map(|r| Round {
            axis: r.axis,
            centre: r.centre_mm,
            radius: r.radius_mm,
            length: r.length_mm,
            hollow: true,
        });
        let wide = 0.5 * shaft.to_mm();
        let all = holes.chain(parts).filter(|r| (r.radius - wide).abs() <= ALIKE * wide);
        let far = |r: &Round| norm(sub(r.centre, near));
        all.min_by(|a, b| far(a).total_cmp(&far(b))).filter(|r| far(r) < 2.0 * r.radius + r.length)
    }

    /// Returns the fit between flats that a face is a flat of.
    pub(super) fn flat_of(&self, face: &str) -> Option<&'a str> {
        let at = self.asked.spec.faces.iter().position(|f| f.name.value == face)?;
        let patch = self.asked.part.faces.get(at)?.as_ref()?;
        let all = self.asked.spec.fits.iter().zip(self.asked.fits);
        let is_it = |(fit, place): &(&'a Fit, &Place)| {
            let flats = self.flats_of(fit, place);
            flats.is_some_and(|flats| {
                !patch.facets.is_empty() && patch.facets.iter().all(|f| flats.walls.binary_search(f).is_ok())
            })
        };
        let mut found = all.filter(is_it);
        found.next().map(|(fit, _)| fit.name.value.as_str())
    }

    /// Returns what a load does on the flats of a fit: pushes at walls it moves into; what none stops drags along all of them.
    pub(super) fn on_flats(&self, flats: Flats) -> Result<LoadKind, Unsaid> {
        let Flats { on, walls, centre } = flats;
        if self.load.torque.is_some() {
            let newton_mm = scale(self.direction(), self.newton_mm());
            return Ok(LoadKind::Mate { on, centre, newtons: [0.0; 3], newton_mm });
        }
        let mesh = &self.asked.part.mesh;
        let against = |&facet: &u32| dot(mesh.normal_area(facet as usize).0, self.direction()) < -PUSHED;
        Ok(match walls.iter().any(against) {
            true => LoadKind::Mate { on, centre, newtons: self.newtons(), newton_mm: [0.0; 3] },
            false => LoadKind::Force { on, newtons: self.newtons() },
        })
    }
}
