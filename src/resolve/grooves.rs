//! Grooves of O-rings in faces of the mesh: a round wall and a round boss about one axis, with a floor between them.

use crate::catalogue::Catalogue;
use crate::fits::feature::FeatureKind;
use crate::fits::function::Limits;
use crate::fits::groove::{Seat, groove};
use crate::geometry::features::Features;
use crate::geometry::vector::{cross, dot, norm, scale, sub};
use crate::quantity::{Length, trim_number};
use crate::semantics::spec::{FitFunction, GrooveSeat, Spec};

use super::matching::{Between, Feature, Place, round_features};

/// Sine of the angle up to which two axes run alike, and mm that they may be apart.
const PARALLEL: f64 = 0.02;
const ONE_AXIS_MM: f64 = 0.1;
/// The walls of a groove are this many sections of the ring apart at the most: fuller ones and wider ones are no groove of it.
const WIDEST: f64 = 2.0;

/// A groove is drawn so near to its width, mm.
const DRAWN_MM: f64 = 0.06;

/// Finds the groove of every fit that lies in a face.
pub(super) fn find(spec: &Spec, features: &Features, catalogue: &Catalogue, places: &mut [Place]) {
    for (fit, place) in spec.fits.iter().zip(places) {
        let FitFunction::Groove { seat: GrooveSeat::Face, inside, section } = &fit.function.value else { continue };
        let (function, kind) = super::fits::function(&fit.function.value);
        let Ok(nominal) = function.nominal(kind, &catalogue.practice()) else { continue };
        let round = round_features(features);
        let along = |f: &&Feature| fit.along.is_none_or(|a| norm(cross(f.axis, a.value.0)) < PARALLEL);
        let walls = round.iter().filter(|f| f.kind == FeatureKind::Hole).filter(along);
        let bosses = || round.iter().filter(|f| f.kind == FeatureKind::Outside);
        let near = fit.at.map(|p| p.value.map(|l| l.to_mm()));
        let grooves = walls.flat_map(|wall| bosses().map(move |boss| (wall, boss))).filter(|(wall, boss)| {
            let to = sub(boss.centre, wall.centre);
            let aside = norm(sub(to, scale(wall.axis, dot(to, wall.axis))));
            let wide = 0.5 * (wall.diameter.to_mm() - boss.diameter.to_mm());
            let about =
                wall.diameter.to_mm() > inside.to_mm() && boss.diameter.to_mm() < inside.to_mm() + section.to_mm();
            norm(cross(wall.axis, boss.axis)) < PARALLEL
                && aside < ONE_AXIS_MM
                && about
                && wide > 0.0
                && wide < WIDEST * section.to_mm()
        });
        let far = |f: &Feature| near.map_or((f.length.to_mm() - nominal.to_mm()).abs(), |p| norm(sub(f.centre, p)));
        let found = grooves.min_by(|a, b| far(a.0).total_cmp(&far(b.0)));
        let Some((wall, boss)) = found else {
            let message = format!("fit \"{}\": the mesh shows no round groove that takes the ring", fit.name.value);
            let hint = "its sizes are told from the spec alone; `makeready measure` lists the features of the mesh";
            place.problem = Some((message, hint.to_owned(), false));
            continue;
        };
        let depth = wall.length.to_mm().min(boss.length.to_mm());
        let [d, width] = [wall.diameter.to_mm(), 0.5 * (wall.diameter.to_mm() - boss.diameter.to_mm())];
        let words = format!(
            "a groove {} mm deep and {} mm wide, {} mm across, at {}",
            trim_number(depth, 2),
            trim_number(width, 2),
            trim_number(d, 2),
            wall.centre.map(|c| trim_number(c, 1)).join(", ")
        );
        place.between = Some(Between { apart: Length::mm(depth), toward: wall.axis, axis: None, wall: None, words });
        let wanted = groove(Seat::Face, *inside, *section, &catalogue.practice()).ok().map(|g| g.width);
        let off = |w: &Limits| width < w.low.to_mm() - DRAWN_MM || width > w.high.to_mm() + DRAWN_MM;
        if let Some(wide) = wanted.filter(off) {
            let [low, high] = [wide.low, wide.high].map(|l| trim_number(l.to_mm(), 2));
            let message = format!(
                "the groove of fit \"{}\" is {} mm wide in the mesh, and its ring wants {low} to {high} mm",
                fit.name.value,
                trim_number(width, 2)
            );
            let hint = "a ring that is squeezed grows wide: in a groove that it fills it lifts the mate or is cut, in too wide a \
                        one it wanders. Draw the groove so wide";
            place.problem = Some((message, hint.to_owned(), true));
        }
    }
}
