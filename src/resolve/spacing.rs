//! How far the axes of fits are from a face of the part, and what is said of a distance that the mesh shows otherwise.

use crate::geometry::vector::{Vector, dot, norm, scale, sub};
use crate::quantity::{Length, trim_number};
use crate::semantics::spec::{Fit, FitFunction, Spec};

use super::matching::{Between, Feature, Place};
use super::part::Part;

/// Sine of the angle up to which an axis runs along a face.
const ALONG: f64 = 0.02;

/// Measures every distance of the spec that begins or ends at a face.
pub fn find(spec: &Spec, part: &Part, places: &mut [Place]) {
    for (i, fit) in spec.fits.iter().enumerate() {
        let Some((size, face, other)) = of_a_face(spec, fit) else { continue };
        let axes = spec.fits.iter().position(|f| f.name.value == other).and_then(|at| places.get(at));
        let axes: Vec<Feature> = axes.map_or_else(Vec::new, |p| p.features.clone());
        let plane = part.faces.get(face).and_then(Option::as_ref).filter(|p| norm(p.normal) > 0.0);
        let plane = plane.map(|p| (p.centre, scale(p.normal, 1.0 / norm(p.normal))));
        let off = |b: &Between| off(b, size);
        let name = spec.faces.get(face).map_or("", |f| f.name.value.as_str());
        let found = plane.and_then(|(centre, normal)| {
            let square = axes.iter().filter(|a| dot(a.axis, normal).abs() < ALONG);
            square.map(|a| between(a, centre, normal, name)).min_by(|a, b| off(a).total_cmp(&off(b)))
        });
        if let Some(place) = places.get_mut(i) {
            let missing = format!("the mesh shows no axis of \"{other}\" along face \"{name}\"");
            place.spaced(fit, size, found, &missing, "the face and the fit it is between");
        }
    }
}

/// How far a distance in the mesh is from the one stated, mm.
pub(super) fn off(found: &Between, size: Length) -> f64 {
    (found.apart.to_mm() - size.to_mm()).abs()
}

impl Place {
    /// Takes a distance as the mesh shows it, or says what is wrong: that it shows none, or another one. `ends` are what the line
    /// could name better.
    pub(super) fn spaced(&mut self, fit: &Fit, size: Length, found: Option<Between>, missing: &str, ends: &str) {
        let name = &fit.name.value;
        self.problem = match &found {
            None => Some((
                format!("fit \"{name}\": {missing}"),
                "it is told as it is stated; `makeready measure` lists the features of the mesh".to_owned(),
                false,
            )),
            Some(found) if off(found, size) > SLIP * size.to_mm() => Some((
                format!(
                    "fit \"{name}\" is {} by the spec, and {} mm in the mesh ({})",
                    super::fits::shown(size),
                    trim_number(found.apart.to_mm(), 2),
                    found.words
                ),
                format!("one of the two is wrong: write the distance that is meant, or name {ends}"),
                true,
            )),
            Some(_) => None,
        };
        self.between = found.filter(|_| self.problem.is_none());
    }
}

/// A distance in the mesh that is off by more, as a share of itself, is another one: no shrinkage is allowed for by so much.
const SLIP: f64 = 0.05;

/// Returns the size of a distance from a face, which face of the spec that is, and the fit at its other end.
pub(super) fn of_a_face<'s>(spec: &'s Spec, fit: &'s Fit) -> Option<(Length, usize, &'s str)> {
    let FitFunction::Distance { size, from, to } = &fit.function.value else { return None };
    let to = to.as_deref()?;
    let face = |name: &str| {
        let fit = spec.fits.iter().any(|f| f.name.value == name);
        spec.faces.iter().position(|f| f.name.value == name).filter(|_| !fit)
    };
    match (face(from), face(to)) {
        (Some(at), None) => Some((*size, at, to)),
        (None, Some(at)) => Some((*size, at, from.as_str())),
        _ => None,
    }
}

fn between(axis: &Feature, centre: Vector, normal: Vector, face: &str) -> Between {
    let far = dot(sub(axis.centre, centre), normal);
    Between {
        apart: Length::mm(far.abs()),
        toward: normal,
        axis: None,
        // A face that looks toward the axis comes nearer to it as it prints large.
        wall: Some(if far > 0.0 { -1.0 } else { 1.0 }),
        words: format!("face \"{face}\" to {}", axis.words()),
    }
}
