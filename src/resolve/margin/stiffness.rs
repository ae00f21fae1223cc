//! How far the part gives under its loads against what is allowed.

use crate::catalogue::figures;
use crate::fits::SourceKind;
use crate::physics::foam;
use crate::quantity::Length;
use crate::resolve::strength;
use crate::resolve::world::{Partial, World, at};

use super::said::{Demand, Foam, NotShown, Said, Why};
use super::{Asked, Band, Margin, Source, Told, sourced};

/// How far a load is from buckling the part.
pub(super) fn buckling(asked: &Asked<'_, '_>) -> Option<Margin> {
    let stated = asked.world.spec.loads.get(asked.about.index)?;
    let strength::Buckling { times: times_solid, working, settled } =
        strength::buckling(asked.world, asked.about.index, asked.choice[at::MATERIAL]?)?;
    if times_solid > asked.world.knowledge.catalogue.value(figures::BUCKLING_FAR) {
        return None;
    }
    if !settled {
        let size = stated.size().map_or(Demand::Unsaid, Demand::Size);
        return Some(asked.not_shown(|| NotShown::new(size, Why::HangsOnGrid(working)), vec![stated.span]));
    }
    let foam = foam(asked.world, asked.choice);
    let ratio = times_solid * foam.map_or(1.0, |foam| foam.share);
    Some(Margin {
        ratio: Some(ratio),
        ratio_at_best: Some(times_solid),
        told: asked.words(|| Told {
            // Stiffness in bending grows with the width and the cube of the depth.
            said: Said::Buckling {
                size: stated.size(),
                ratio,
                foam,
                working,
                thicker: (ratio < 1.0).then(|| ratio.powf(-0.25) - 1.0),
            },
            at: vec![stated.span],
            source: sources(asked, "geometric stiffness of the field"),
        }),
        ..asked.margin()
    })
}

/// Returns the foam that an infill makes of the part; `None` where it is solid.
fn foam(world: &World<'_>, choice: &Partial) -> Option<Foam> {
    let infill = world.setting("infill", choice).and_then(|v| v.as_quantity()).map_or(1.0, |q| q.si);
    (infill <= super::SOLID).then(|| Foam { infill, share: foam::stiffness(infill) })
}

pub(super) fn deflection(asked: &Asked<'_, '_>) -> Option<Margin> {
    let limit = asked.world.stated().deflection_limit.as_ref()?;
    let Some(strength::Moves { mm: tip, least_mm, working }) =
        strength::deflection(asked.world, asked.choice[at::MATERIAL]?)
    else {
        let said = || NotShown { allowed: Some(limit.value), ..NotShown::new(Demand::Unknown, why_not(asked.world)) };
        return Some(asked.not_shown(said, limit.lines()));
    };
    let foam = foam(asked.world, asked.choice);
    let share = foam.map_or(1.0, |foam| foam.share);
    let allowed_mm = limit.value.to_mm();
    let best = allowed_mm / least_mm.max(1e-9);
    let (ratio, solid) = (share * allowed_mm / tip.max(1e-9), tip);
    let tip = tip / share;
    Some(Margin {
        demand: Some(Band::exactly(Length::mm(tip))),
        capacity: Some(Band::exactly(limit.value)),
        ratio: Some(ratio),
        ratio_at_best: Some(best),
        told: asked.words(|| Told {
            said: Said::Deflection {
                tip: Length::mm(tip),
                solid: Length::mm(solid),
                allowed: limit.value,
                ratio,
                foam,
                working,
            },
            at: limit.lines(),
            source: sources(asked, "elasticity of the field"),
        }),
        ..asked.margin()
    })
}

/// Returns where the stiffness is from.
fn sources(asked: &Asked<'_, '_>, computed: &'static str) -> Vec<Source> {
    let modulus = asked.world.material(asked.choice).and_then(|m| m.modulus.as_ref());
    let modulus = modulus.map(|m| Source { of: "modulus", ..sourced(m) });
    let left = Source::of(SourceKind::FromMemory, "what heat and time leave of it");
    [Some(Source::of(SourceKind::Computed, computed)), modulus, Some(left)].into_iter().flatten().collect()
}

/// Returns why no deflection is known.
fn why_not(world: &World<'_>) -> Why {
    let unsolved = world.part.fields.iter().find_map(|f| match f {
        Err(why) => Some(Why::NotKnown(why.clone())),
        Ok(solved) => solved.unsolved.as_deref().map(|why| Why::Unsolved(why.into())),
    });
    unsolved.unwrap_or(Why::NoLoad)
}
