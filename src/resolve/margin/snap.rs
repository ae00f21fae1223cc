//! Strain of snap hooks and living hinges against what the plastic bears.

use crate::catalogue::figures;
use crate::fits::SourceKind;
use crate::fits::living_hinge;
use crate::fits::said::Caution;
use crate::quantity::{Length, Quantity};
use crate::resolve::fits;
use crate::resolve::strain;
use crate::resolve::world::at;
use crate::semantics::spec::FitFunction;

use super::said::{Demand, NotShown, Said, Why};
use super::{Asked, Band, Margin, Source, Told, sourced};

pub(super) fn is_an_arm(fit: &FitFunction) -> bool {
    matches!(fit, FitFunction::Snap { .. })
}

pub(super) fn is_a_fold(fit: &FitFunction) -> bool {
    matches!(fit, FitFunction::Hinge { living: true, .. })
}

pub(super) fn strained(asked: &Asked<'_, '_>) -> Option<Margin> {
    let fit = asked.world.spec.fits.get(asked.about.index)?;
    let material = asked.world.material(asked.choice)?;
    let (strain, bent) = strain::asked(&fit.function.value)?;
    let Some((strain, figure)) = strain.zip(strain::elongation(material)) else {
        let demand = strain.map_or(Demand::Unsaid, Demand::Strain);
        let said = || NotShown::new(demand, Why::NoElongation(bent, folds(asked)));
        return Some(asked.not_shown(said, vec![fit.span]));
    };
    let breaks = Quantity::from(figure.low()).si;
    let catalogue = asked.world.knowledge.catalogue;
    let laid = asked.choice[at::POSE].and_then(|pose| fits::strained_across(asked.world, asked.about.index, pose));
    let shares @ [once, often] = strain::shares(catalogue, laid == Some(true));
    let counts = strain::counted(shares, fit);
    let ratio = breaks * counts / strain.max(1e-9);
    let share = |breaks: f64| Quantity::number(breaks * counts);
    Some(Margin {
        demand: Some(Band::exactly(Quantity::number(strain))),
        capacity: Some(Band {
            low: share(breaks),
            typical: share(Quantity::from(figure.typ).si),
            high: share(Quantity::from(figure.high()).si),
        }),
        ratio: Some(ratio),
        told: asked.words(|| Told {
            said: Said::Strain {
                strain,
                breaks,
                once,
                often,
                kind: catalogue.figure(figures::SNAP_ONCE).kind,
                ratio,
                lies: laid,
                across: catalogue.value(figures::STRAIN_ACROSS),
                bent,
                folds: folds(asked),
                opened: fit.opened.as_ref().map(|o| o.value),
            },
            at: vec![fit.span],
            source: vec![sourced(figure), Source::of(SourceKind::Computed, "strain")],
        }),
        ..asked.margin()
    })
}

/// What is to be heeded in folding a strip of this material, laid so.
fn folds(asked: &Asked<'_, '_>) -> Vec<Caution> {
    let (world, index) = (asked.world, asked.about.index);
    let size = match world.spec.fits.get(index).map(|f| &f.function.value) {
        Some(FitFunction::Hinge { size, .. }) => *size,
        _ => return Vec::new(),
    };
    let (Some(material), Some(nozzle)) = (world.material(asked.choice), world.nozzle(asked.choice)) else {
        return Vec::new();
    };
    let laid = asked.choice[at::POSE].and_then(|pose| fits::laid(world, index, pose));
    let catalogue = world.knowledge.catalogue;
    let (bears, better) = (catalogue.bears(&material.name), catalogue.for_hinges());
    let layer = Length::mm(catalogue.value(figures::LAYER_TO_BORE) * nozzle.bore.to_mm());
    living_hinge::cautions((&material.name, bears), &better, size, laid, layer, &catalogue.practice())
}
