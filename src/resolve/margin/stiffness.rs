//! How far the part gives under its loads against what is allowed.

use crate::fits::SourceKind;
use crate::quantity::Length;
use crate::resolve::strength;
use crate::resolve::world::at;

use super::{Asked, Band, Margin, Source, Told, times};

/// Returns the share of a solid's stiffness that a foam of it has, `f^2` for open cells (handbook, recalled: Gibson and Ashby,
/// *Cellular Solids*, 2nd ed. 1997, ch. 5): less than a print of that infill has, which has walls besides.
fn foam_stiffness(filled: f64) -> f64 {
    filled.clamp(0.01, 1.0).powi(2)
}

pub(super) fn deflection(asked: &Asked<'_, '_>) -> Option<Margin> {
    let limit = asked.world.spec.deflection.as_ref()?;
    let allowed = || format!("{} allowed", limit.limit.value);
    let Some((tip, working)) = strength::deflection(asked.world, asked.choice[at::MATERIAL]?) else {
        return Some(asked.not_shown(|| Told {
            demand: "not known".to_owned(),
            capacity: allowed(),
            basis: "no load could be placed on the mesh, or no modulus is known".to_owned(),
            at: vec![limit.limit.span],
            ..Told::default()
        }));
    };
    let infill = asked.world.setting("infill", asked.choice).and_then(|v| v.as_quantity()).map_or(1.0, |q| q.si);
    let share = if infill > super::SOLID { 1.0 } else { foam_stiffness(infill) };
    let best = limit.limit.value.to_mm() / tip.max(1e-9);
    let (ratio, solid) = (best * share, tip);
    let tip = tip / share;
    Some(Margin {
        demand: Some(Band::exactly(Length::mm(tip))),
        capacity: Some(Band::exactly(limit.limit.value)),
        ratio: Some(ratio),
        ratio_at_best: Some(best),
        told: asked.words(|| Told {
            demand: match share < 1.0 {
                false => format!("{tip:.2} mm"),
                true => format!("{tip:.2} mm, {solid:.2} mm were it solid"),
            },
            capacity: allowed(),
            spare: times(ratio),
            basis: match share < 1.0 {
                false => working,
                true => format!(
                    "{working}; as a foam of {:.0} % throughout, its walls not counted: stiffness x {share:.3}",
                    infill * 100.0
                ),
            },
            at: vec![limit.limit.span],
            source: vec![
                Source::of(SourceKind::Computed, "beam statics"),
                Source::of(SourceKind::FromMemory, "modulus and most reductions"),
            ],
        }),
        ..asked.margin()
    })
}
