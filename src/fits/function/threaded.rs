//! Screws and what goes with them: clearance holes, threads, inserts, nuts, heads.

use super::super::feature::{FeatureAxis, FeatureContext, Finishing};
use super::super::hardware::Series;
use super::super::practice::Practice;
use super::super::said::{Caution, Gauge, Named, Reason};
use super::super::{FitError, Provenance, SourceKind, hardware};
use super::{Demand, FinishKind, FitFunction, Limits, mm, plain};
use crate::quantity::Length;

pub(super) const CLEARANCE: Provenance = Provenance::new(
    SourceKind::Computed,
    "limits: own choice, the neighbouring series of ISO 273:1979; the aim is the standard's hole",
);

pub(super) const CORE: Provenance = Provenance::new(
    SourceKind::CommonPractice,
    "usual tap drill; limits of the core hole by ISO 724 and ISO 965-1 6H (formula from memory)",
);

/// The hole serves while it lies between the neighbouring series: below the fine hole a screw may bind, above the coarse
/// one the head loses its bearing. ISO 273's own field (H12 to H14) is stated for information and is narrower.
pub(super) fn clearance(thread: &str, series: Series) -> Result<Demand, FitError> {
    let [fine, medium, coarse] = hardware::clearance_series(thread)?;
    let major = hardware::major_diameter(hardware::normal_thread(thread).split('x').next().unwrap_or(thread))
        .unwrap_or(Length::um(2.0 * fine.to_um() - medium.to_um()));
    let (aim, limits) = match series {
        Series::Fine => (fine, Limits::new(Limits::new(major, fine).middle(), medium)),
        Series::Medium => (medium, Limits::new(fine, coarse)),
        Series::Coarse => (coarse, Limits::new(medium, Length::um(2.0 * coarse.to_um() - medium.to_um()))),
    };
    let size = hardware::normal_thread(thread);
    let named = Named::Clearance { thread: size.clone(), series };
    let mut demand = plain(named, aim, limits, CLEARANCE);
    demand.aim = aim;
    // A fine hole guides its screw; a wider one only has to let it through, which most pieces do as printed.
    demand.finishes = match series {
        Series::Fine => vec![FinishKind::Drill],
        Series::Medium | Series::Coarse => vec![FinishKind::OpenWhereTight, FinishKind::Drill],
    };
    demand.reasons.push(Reason::ScrewHole { series, thread: size, hole: aim, serves: limits });
    Ok(demand)
}

pub(super) fn thread(designation: &str) -> Result<Demand, FitError> {
    let data = hardware::thread(designation)?;
    let get = |key| Length::mm(data.get(key).unwrap_or(0.0));
    let drill = get("tap_drill_mm");
    let limits = Limits::new(get("minor_diameter_internal_mm").min(drill), get("core_hole_max_mm").max(drill));
    let name = hardware::normal_thread(designation);
    let mut demand = plain(Named::Thread(name.clone()), drill, limits, CORE);
    demand.aim = drill;
    demand.finishes = vec![FinishKind::Tap];
    demand.always = true;
    demand.companions = data
        .dimensions
        .into_iter()
        .filter(|d| matches!(d.key, "tap_drill_mm" | "pitch_mm" | "minor_diameter_internal_mm"))
        .collect();
    demand.reasons.push(Reason::CoreHole { drill, thread: name });
    demand.cautions.push(Caution::ThreadStrips);
    Ok(demand)
}

/// A thread so large that it may be printed: upright, unloaded, its pitch wide against the bore, and asked for so or without a tap.
///
/// Its core is as much larger than that of the standard as the whole thread is drawn larger.
pub(super) fn printed_thread(fit: &FitFunction, context: &FeatureContext) -> Result<Option<Demand>, FitError> {
    let FitFunction::Thread { designation } = fit else { return Ok(None) };
    let (data, practice) = (hardware::thread(designation)?, &context.practice);
    let get = |key| Length::mm(data.get(key).unwrap_or(0.0));
    let name = hardware::normal_thread(designation);
    let no_tap = context.tools.known && !context.tools.taps.iter().any(|t| hardware::normal_thread(t) == name);
    let wanted = match context.finish {
        Some(asked) => asked == Finishing::AsPrinted,
        None => no_tap,
    };
    let large = get("major_diameter_mm") >= practice.printed_thread;
    let drawn = get("pitch_mm").to_mm() >= practice.printed_thread_bores * context.nozzle_bore.to_mm();
    let bears = context.loaded || context.axis == FeatureAxis::AlongLayers;
    if !wanted || !large || !drawn || bears || context.flexible {
        return Ok(None);
    }
    let room = practice.printed_thread_play;
    let core = get("minor_diameter_internal_mm");
    let source = room.source("printed thread:", "of play, on all its diameters");
    let mut demand = plain(Named::PrintedThread(name.clone()), core, room.over(core), source);
    let play = Length::um(demand.aim.to_um() - core.to_um());
    demand.finishes = vec![FinishKind::PrintThread];
    demand.always = true;
    demand.companions =
        data.dimensions.into_iter().filter(|d| matches!(d.key, "pitch_mm" | "major_diameter_mm")).collect();
    demand.reasons.push(Reason::PrintedThread { thread: name, play });
    Ok(Some(demand))
}

pub(super) fn insert(thread: &str, shop: &[hardware::InsertData], practice: &Practice) -> Result<Demand, FitError> {
    let data = hardware::insert_data(thread, shop)?;
    let own = data.source.kind == SourceKind::Measured;
    let limits = practice.insert_hole.either_way(data.hole);
    let words = format!(
        "insert hole within about {}: tighter squeezes out melt, wider does not hold",
        mm(practice.insert_hole.most)
    );
    let source = Provenance::owned(practice.insert_hole.kind, words);
    let mut demand = plain(Named::Insert(data.thread.clone()), data.hole, limits, source);
    demand.finishes = vec![FinishKind::SetInsert, FinishKind::DrillAndSetInsert];
    demand.always = true;
    demand.companions = hardware::insert(thread, shop)?
        .dimensions
        .into_iter()
        .filter(|d| matches!(d.key, "hole_depth_mm" | "boss_mm" | "outside_mm"))
        .collect();
    demand.reasons.push(Reason::InsertHole { hole: data.hole, source: data.source });
    if !own {
        demand.cautions.push(Caution::InsertUsual);
    }
    demand.cautions.push(Caution::InsertHot);
    Ok(demand)
}

pub(super) fn nut(thread: &str, practice: &Practice) -> Result<Demand, FitError> {
    let data = hardware::nut(thread)?;
    let flats = Length::mm(data.get("across_flats_mm").unwrap_or(0.0));
    let limits = practice.pocket.over(flats);
    let source = practice.pocket.source("nut pocket", "over across flats: drops in and does not turn");
    let mut demand = plain(Named::NutPocket(hardware::normal_thread(thread)), flats, limits, source);
    demand.companions = data
        .dimensions
        .into_iter()
        .filter(|d| matches!(d.key, "height_mm" | "across_corners_min_mm" | "pocket_depth_mm"))
        .collect();
    demand.finishes = vec![FinishKind::TryAndFit];
    demand.gauge = Some(Gauge::OwnNut);
    demand.reasons.extend(data.notes.into_iter().map(Reason::OfTable));
    Ok(demand)
}

pub(super) fn head(thread: &str, practice: &Practice) -> Result<Demand, FitError> {
    let data = hardware::socket_head(thread)?;
    let knurled = Length::mm(data.get("head_diameter_knurled_mm").unwrap_or(0.0));
    let limits = practice.head.over(knurled);
    let source = practice.head.source("counterbore", "over the knurled head");
    let mut demand = plain(Named::Counterbore(hardware::normal_thread(thread)), limits.middle(), limits, source);
    demand.companions = data.dimensions.into_iter().filter(|d| d.key == "counterbore_depth_mm").collect();
    // A counterbore has a flat floor: no twist drill makes it.
    demand.finishes = vec![FinishKind::TryAndFit];
    demand.gauge = Some(Gauge::OwnHead);
    Ok(demand)
}
