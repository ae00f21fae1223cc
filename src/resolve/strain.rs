//! What a snap arm or a living hinge strains the material, and what of that the material bears.

use crate::catalogue::{Figure, Material};
use crate::physics::snap;
use crate::quantity::{Quantity, Ratio};
use crate::semantics::spec::FitFunction;

/// Strain of a strip folded flat about an inner radius of its own thickness, its middle at R = 1.5 t: t / (2 R), whatever the
/// thickness (computed).
const FOLDED_FLAT: f64 = 1.0 / 3.0;

/// Returns the strain a fit asks of the material, and how it comes about; `None` for fits that ask none.
///
/// The inner `None`: an arm whose measures beam theory cannot take.
pub fn asked(fit: &FitFunction) -> Option<(Option<f64>, String)> {
    match fit {
        FitFunction::Snap { undercut, reach, thickness } => {
            let strain = snap::snap_strain(*thickness, *undercut, *reach).ok();
            Some((strain, format!("1.5 x thickness {thickness} x undercut {undercut} / reach {reach} squared")))
        }
        FitFunction::Hinge { size, living: true, .. } => {
            let words = format!("strip of {size} folded flat about an inner radius of its own thickness");
            Some((Some(FOLDED_FLAT), words))
        }
        _ => None,
    }
}

/// Returns whether a fit strains the material each time it is used.
pub fn is_strained(fit: &FitFunction) -> bool {
    asked(fit).is_some()
}

/// Returns how far a print stretches before it breaks, where that is known, else a moulded bar: those stretch many times as far.
pub fn elongation(material: &Material) -> Option<&Figure<Ratio>> {
    material.printed_elongation.as_ref().or(material.elongation.as_ref())
}

/// Returns the strain a print breaks at, the low end of what is known.
pub fn breaks_at(material: &Material) -> Option<f64> {
    elongation(material).map(|figure| Quantity::from(figure.low()).si)
}
