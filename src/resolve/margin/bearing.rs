//! What presses on the part where it is held and where loads act, against what it bears pressed.

use std::f64::consts::PI;

use crate::catalogue::figures;
use crate::fits::SourceKind;
use crate::physics::foam;
use crate::quantity::{Force, Quantity, Stress};
use crate::resolve::strength::{self, Pressed};
use crate::resolve::world::at;

use super::said::{Presses, Said, Thicker};
use super::{Asked, Band, Margin, Source, Told, load, sourced};

/// Returns how far what presses at the worst place of a load is from sinking in. What the field does not say is not said here
/// again: then the load's own margin says why.
pub(super) fn bearing(asked: &Asked<'_, '_>) -> Option<Margin> {
    let (world, index) = (asked.world, asked.about.index);
    let stated = world.spec.loads.get(index)?;
    let (material, pose) = (asked.choice[at::MATERIAL]?, asked.choice[at::POSE]?);
    let pressed = strength::bearing(world, index, material, pose).ok()??;
    let [solid, typical] = pressed.ratios();
    let (infill, share) = share(asked, &pressed);
    let ratio = solid * share;
    if ratio > world.knowledge.catalogue.value(figures::BEARING_FAR) {
        return None;
    }
    let wider = (ratio < 1.0 && solid > 0.0).then(|| match pressed.edge {
        // How large a square must be is for its shaft to say; how long its socket is, for the part.
        true => Thicker::Longer { times: 1.0 / ratio },
        false => Thicker::Wider { wanted_mm2: pressed.area_mm2 / ratio, there_mm2: pressed.area_mm2 },
    });
    let capacity = |mpa: Stress| Quantity::from(Stress::mpa(mpa.to_mpa() * share));
    Some(Margin {
        demand: Some(Band::exactly(pressed.demand)),
        capacity: Some(Band {
            low: capacity(pressed.bears),
            typical: capacity(pressed.typical),
            high: capacity(pressed.typical),
        }),
        ratio: Some(ratio),
        ratio_at_best: Some(solid),
        would_hold: wider,
        presses: Some(if stated.name.value == pressed.of { Presses::Acting } else { Presses::On(pressed.of.clone()) }),
        told: asked.words(|| Told {
            said: Said::Bearing {
                force: Force::n(pressed.newtons),
                area_mm2: pressed.area_mm2,
                edge: pressed.edge,
                of: pressed.of.clone(),
                acts: stated.name.value == pressed.of,
                demand: pressed.demand,
                solid: pressed.bears,
                ratio,
                typical: typical * share,
                infill,
                share,
                working: pressed.working.clone(),
                wider,
            },
            at: vec![stated.span],
            source: sources(asked),
        }),
        ..asked.margin()
    })
}

/// Returns the infill, and what of what a solid bears pressed is there: a foam of that filling, and what shears round the patch
/// through the thinnest skin (as a plate is punched: force over circumference and thickness), of a round patch, which has the least of it.
fn share(asked: &Asked<'_, '_>, pressed: &Pressed) -> (f64, f64) {
    let infill = asked.world.setting("infill", asked.choice).and_then(|v| v.as_quantity()).map_or(1.0, |q| q.si);
    if infill > super::SOLID {
        return (infill, 1.0);
    }
    let skin = load::skins(asked.world, asked.choice).into_iter().fold(f64::INFINITY, f64::min);
    let round = 2.0 * (PI * pressed.area_mm2).sqrt();
    let punched = pressed.shear * round * skin / pressed.area_mm2;
    // What lies round it is as hollow, and holds nothing up.
    (infill, (foam::strength(infill) + punched).min(1.0) / pressed.confined)
}

/// Returns where what it bears is from.
fn sources(asked: &Asked<'_, '_>) -> Vec<Source> {
    let figure = |of: &'static str, key| Source { of, ..sourced(&asked.world.knowledge.catalogue.figure(key)) };
    let strength =
        asked.world.material(asked.choice).map(|m| Source { of: "strength along", ..sourced(&m.strength_along) });
    [
        Some(Source::of(SourceKind::Computed, "force over area, of the field")),
        strength,
        Some(figure("pressed over pulled", figures::COMPRESSION_TO_TENSION)),
        Some(figure("what lies round a patch", figures::BEARING_SHARE)),
    ]
    .into_iter()
    .flatten()
    .collect()
}
