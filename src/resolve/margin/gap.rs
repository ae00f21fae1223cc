//! The gap all round a pin printed in its eye, as the mesh has it, against what comes free on this printer.

use crate::fits::feature::FeatureAxis;
use crate::fits::mating::{GapRecord, in_place_gap};
use crate::quantity::{Length, Quantity};
use crate::resolve::fits;
use crate::resolve::world::at;
use crate::semantics::spec::FitFunction;

use super::said::{Demand, NotShown, Said, Why};
use super::{Asked, Band, Margin, Told};

/// Sizes are held as floats: what differs by less is the same size.
const ROUNDED_UM: f64 = 1e-3;

/// Whether a pin is printed in its eye.
pub(super) fn is_in_place(fit: &FitFunction) -> bool {
    matches!(fit, FitFunction::Hinge { in_place: true, living: false, .. })
}

pub(super) fn gap(asked: &Asked<'_, '_>) -> Option<Margin> {
    let (world, choice, index) = (asked.world, asked.choice, asked.about.index);
    let fit = world.spec.fits.get(index)?;
    let FitFunction::Hinge { size: pin, .. } = fit.function.value else { return None };
    let (_, context) = fits::context(world, index, choice)?;
    let eyes = world.fit_places.get(index).map_or(&[][..], |p| p.features.as_slice());
    let Some(eye) = eyes.iter().map(|f| f.diameter).min_by(|a, b| a.to_um().total_cmp(&b.to_um())) else {
        return Some(asked.not_shown(|| NotShown::new(Demand::Unsaid, Why::NoEye), vec![fit.span]));
    };
    let (printer, nozzle) = (world.bench.printers.get(choice[at::PRINTER]?)?, world.nozzle(choice)?);
    let own = world.bench.gap(&printer.name, &nozzle.name, world.material(choice)?, context.axis);
    let record = own.map(|g| GapRecord {
        sideways: g.gap,
        upward: g.gap,
        citation: format!("shop record: {} with {}, {}, {} pieces, {}", g.printer, g.nozzle, g.material, g.count, g.on),
    });
    // Below a lying pin the layers sag into the gap: there it must hold upward too.
    let upward = context.axis == FeatureAxis::AlongLayers;
    let gap = Length::um(0.5 * (eye.to_um() - pin.to_um()));
    let found = in_place_gap(upward, &context, record.as_ref());
    Some(Margin {
        demand: Some(Band::exactly(found.fuses)),
        usual: Some(Quantity::from(Length::um(found.free.to_um() - ROUNDED_UM))),
        capacity: Some(Band::exactly(gap)),
        ratio: Some((gap.to_um() + ROUNDED_UM) / found.fuses.to_um().max(1e-9)),
        told: asked.words(|| Told {
            said: Said::Gap { free: found.free, gap, eye, pin, proven: record.is_some() },
            at: vec![fit.span],
            source: vec![(&found.source).into()],
        }),
        ..asked.margin()
    })
}
