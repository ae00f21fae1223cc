//! How far the part gives under its loads against what is allowed.

use crate::catalogue::figures;
use crate::fits::SourceKind;
use crate::physics::foam;
use crate::quantity::Length;
use crate::resolve::strength;
use crate::resolve::world::{World, at};

use super::{Asked, Band, Margin, Source, Told, times};

/// How far a load is from buckling the part.
pub(super) fn buckling(asked: &Asked<'_, '_>) -> Option<Margin> {
    let stated = asked.world.spec.loads.get(asked.about.index)?;
    let strength::Buckling { times: times_solid, working, settled } =
        strength::buckling(asked.world, asked.about.index, asked.choice[at::MATERIAL]?)?;
    if times_solid > asked.world.knowledge.catalogue.value(figures::BUCKLING_FAR) {
        return None;
    }
    if !settled {
        return Some(asked.not_shown(|| Told {
            demand: stated.size().map_or(String::new(), |s| s.to_string()),
            capacity: "not known".to_owned(),
            basis: format!("where it buckles still hangs on the grid; {working}"),
            at: vec![stated.span],
            ..Told::default()
        }));
    }
    let infill = asked.world.setting("infill", asked.choice).and_then(|v| v.as_quantity()).map_or(1.0, |q| q.si);
    let share = if infill > super::SOLID { 1.0 } else { foam::stiffness(infill) };
    let ratio = times_solid * share;
    Some(Margin {
        ratio: Some(ratio),
        ratio_at_best: Some(times_solid),
        told: asked.words(|| {
            let size = stated.size().map_or(String::new(), |s| s.to_string());
            let foam = match share < 1.0 {
                false => String::new(),
                true => format!("; as a foam of {:.0} % throughout: x {share:.3}", infill * 100.0),
            };
            // Stiffness in bending grows with the width and the cube of the depth.
            let thicker = match ratio < 1.0 {
                true => format!(
                    "; would hold {:.0} % thicker and wider throughout, by the law of sections",
                    100.0 * (ratio.powf(-0.25) - 1.0)
                ),
                false => String::new(),
            };
            Told {
                demand: size.clone(),
                capacity: format!("buckles at {:.2} times that, its factor counted", ratio),
                spare: times(ratio),
                basis: format!("{working}{foam}{thicker}"),
                at: vec![stated.span],
                source: vec![
                    Source::of(SourceKind::Computed, "geometric stiffness of the field"),
                    Source::of(SourceKind::FromMemory, "modulus and most reductions"),
                ],
            }
        }),
        ..asked.margin()
    })
}

pub(super) fn deflection(asked: &Asked<'_, '_>) -> Option<Margin> {
    let limit = asked.world.spec.deflection.as_ref()?;
    let allowed = || format!("{} allowed", limit.limit.value);
    let Some(strength::Moves { mm: tip, least_mm, working }) =
        strength::deflection(asked.world, asked.choice[at::MATERIAL]?)
    else {
        return Some(asked.not_shown(|| Told {
            demand: "not known".to_owned(),
            capacity: allowed(),
            basis: why_not(asked.world),
            at: vec![limit.limit.span],
            ..Told::default()
        }));
    };
    let infill = asked.world.setting("infill", asked.choice).and_then(|v| v.as_quantity()).map_or(1.0, |q| q.si);
    let share = if infill > super::SOLID { 1.0 } else { foam::stiffness(infill) };
    let allowed_mm = limit.limit.value.to_mm();
    let best = allowed_mm / least_mm.max(1e-9);
    let (ratio, solid) = (share * allowed_mm / tip.max(1e-9), tip);
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
                Source::of(SourceKind::Computed, "elasticity of the field"),
                Source::of(SourceKind::FromMemory, "modulus and most reductions"),
            ],
        }),
        ..asked.margin()
    })
}

/// Says why no deflection is known.
fn why_not(world: &World<'_>) -> String {
    let unsolved = world.part.fields.iter().find_map(|f| match f {
        Err(why) => Some(why.clone()),
        Ok(solved) => solved.unsolved.clone(),
    });
    unsolved.unwrap_or_else(|| "there is no load, or no modulus is known".to_owned())
}
