//! What a snap arm or a living hinge strains the material, and what of that the material bears.

use crate::catalogue::{Catalogue, Figure, Material, figures};
use crate::physics::snap;
use crate::quantity::{Length, Quantity, Ratio};
use crate::semantics::spec::{Fit, FitFunction, Opened};

use super::world::World;

/// Strain of a strip folded flat about an inner radius of its own thickness, its middle at R = 1.5 t: t / (2 R), whatever the
/// thickness (computed).
const FOLDED_FLAT: f64 = 1.0 / 3.0;

/// What strains the material.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Bent {
    /// The arm of a snap hook.
    Arm { thickness: Length, undercut: Length, reach: Length },
    /// A strip of that thickness, folded flat.
    Strip(Length),
}

/// Returns the strain a fit asks of the material, and how it comes about; `None` for fits that ask none.
///
/// The inner `None`: an arm whose measures beam theory cannot take.
pub fn asked(fit: &FitFunction) -> Option<(Option<f64>, Bent)> {
    match fit {
        FitFunction::Snap { undercut, reach, thickness } => {
            let strain = snap::snap_strain(*thickness, *undercut, *reach).ok();
            Some((strain, Bent::Arm { thickness: *thickness, undercut: *undercut, reach: *reach }))
        }
        FitFunction::Hinge { size, living: true, .. } => Some((Some(FOLDED_FLAT), Bent::Strip(*size))),
        _ => None,
    }
}

/// Returns the thinnest wall of the mesh where a snap arm is stated to be thinner: the arm then is that thick at the least.
pub fn drawn_thicker(world: &World<'_>, fit: &FitFunction) -> Option<Length> {
    let FitFunction::Snap { thickness, .. } = fit else { return None };
    let apart = world.knowledge.catalogue.value(figures::ARM_APART).to_mm();
    let thinnest = world.part.thinnest_wall()?.mm;
    (thinnest > thickness.to_mm() + apart).then(|| Length::mm(thinnest))
}

/// Returns whether a fit strains the material each time it is used.
pub fn is_strained(fit: &FitFunction) -> bool {
    matches!(fit, FitFunction::Snap { .. } | FitFunction::Hinge { living: true, .. })
}

/// Returns what of the elongation at break counts for one use, and for many, of a print strained along or across its layers.
pub fn shares(catalogue: &Catalogue, across: bool) -> [f64; 2] {
    let kept = if across { catalogue.value(figures::STRAIN_ACROSS) } else { 1.0 };
    [figures::SNAP_ONCE, figures::SNAP_OFTEN].map(|key| catalogue.value(key) * kept)
}

/// Returns which of the two counts for a fit: the one for many uses only where it is said to be opened often.
pub fn counted([once, often]: [f64; 2], fit: &Fit) -> f64 {
    if fit.opened.as_ref().is_some_and(|o| o.value == Opened::Often) { often } else { once }
}

/// Returns how far a print stretches before it breaks, where that is known, else a moulded bar: those stretch many times as far.
pub fn elongation(material: &Material) -> Option<&Figure<Ratio>> {
    material.printed_elongation.as_ref().or(material.elongation.as_ref())
}

/// Returns the strain a print breaks at, the low end of what is known.
pub fn breaks_at(material: &Material) -> Option<f64> {
    elongation(material).map(|figure| Quantity::from(figure.low()).si)
}
