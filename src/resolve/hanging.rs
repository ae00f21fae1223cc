//! The places of fits on a part with their facets: what of these hangs in a pose is where support stands in a fit.

use crate::catalogue::Catalogue;
use crate::fits::feature::{FeatureKind, Tools};
use crate::geometry::mesh::Mesh;
use crate::geometry::vector::{dot, norm, scale, sub};
use crate::semantics::spec::Spec;

use super::matching::{Feature, Place};
use super::part::Part;

/// How far beyond its ends and its wall a feature's floor, shoulder and rim are looked for, mm.
const ABOUT_MM: f64 = 0.2;

/// Finds every fit of a spec on a part: round features, flats, distances from faces, and the facets of each.
pub fn places(spec: &Spec, part: &Part, tools: &Tools, catalogue: &Catalogue) -> Vec<Place> {
    let mut places = super::matching::find(spec, &part.features, tools, catalogue);
    super::flats::find(spec, part, tools, catalogue, &mut places);
    super::spacing::find(spec, part, &mut places);
    find(part, &mut places);
    places
}

/// Finds the facets of every fit's features, with the floors and shoulders of its holes.
fn find(part: &Part, places: &mut [Place]) {
    for place in places.iter_mut().filter(|p| !p.features.is_empty()) {
        place.facets = part.facets_where(|mesh, facet| place.features.iter().any(|f| is_of(f, mesh, facet)));
    }
}

fn is_of(feature: &Feature, mesh: &Mesh, facet: usize) -> bool {
    let to = sub(mesh.centre(facet), feature.centre);
    let along = dot(to, feature.axis);
    let aside = norm(sub(to, scale(feature.axis, along)));
    let radius = 0.5 * feature.diameter.to_mm();
    let within = along.abs() <= 0.5 * feature.length.to_mm() + ABOUT_MM && aside <= radius + ABOUT_MM;
    // The inside of a peg is no part of it that anything sits on.
    within && (feature.kind == FeatureKind::Hole || aside >= radius - ABOUT_MM)
}
