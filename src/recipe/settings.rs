//! The settings of a recipe, in the order in which a person enters them, and in groups of our own.

use crate::quantity::{Length, Quantity};
use crate::recipe::reasons::{because, from_trace};
use crate::recipe::{Choice, Group, Reason, Setting, Shown};
use crate::resolve::decide::{Decided, full};
use crate::resolve::problem::Rules;
use crate::resolve::world::World;
use crate::rulebook::SettledBy;
use crate::rulebook::value::{Record, Value};

/// The working order: what must be hot first, then the layer everything stands on, then the rest of the part, its pace,
/// its air, the filament's feed, the support. A setting of a shop's own rules comes after these, by name.
pub(crate) const ORDER: &[(&str, Group)] = &[
    ("nozzle_temperature", Group::Heat),
    ("bed_temperature", Group::Heat),
    ("chamber_temperature", Group::Heat),
    ("first_height", Group::FirstLayer),
    ("first_speed", Group::FirstLayer),
    ("first_temperature", Group::FirstLayer),
    ("brim", Group::FirstLayer),
    ("layer_height", Group::Layers),
    ("bead_width", Group::Layers),
    ("second_colour_layer", Group::Layers),
    ("wall_beads", Group::Wall),
    ("closed_above", Group::ClosedLayers),
    ("closed_below", Group::ClosedLayers),
    ("infill", Group::Inside),
    ("speed", Group::Pace),
    ("outside_speed", Group::Pace),
    ("layer_dwell", Group::Pace),
    ("melt_flow", Group::Pace),
    ("fan", Group::Air),
    ("fan_starts", Group::Air),
    ("retraction", Group::Feed),
    ("support_beyond", Group::Support),
    ("support_gap", Group::Support),
];

/// Builds the settings of a decided job.
pub(super) fn settings(rules: &Rules<'_, '_>, decided: &Decided) -> Vec<Setting> {
    let world = rules.world;
    let settled = world.settled(&full(&decided.choice));
    let known = world.knowledge.rulebook.setting_order();
    let own = known.iter().map(AsRef::as_ref).filter(|n| ORDER.iter().all(|(known, _)| known != n));
    let mut own: Vec<(&str, Group)> = own.map(|name| (name, Group::OfTheShop)).collect();
    own.sort_unstable();
    let setting = |(name, group): &(&str, Group)| {
        let fact = settled.record.get(name)?;
        let because = match settled.by.get(*name) {
            Some(SettledBy::Rule { rule, trace }) => {
                let rule = world.knowledge.rulebook.rules.get(*rule)?;
                from_trace(rule, because(rule), &trace.used, world.knowledge.sources)
            }
            _ => pinned(world, name),
        };
        Some(Setting {
            name: (*name).to_owned(),
            group: *group,
            value: shown(world, name, &fact.value),
            detail: detail(name, &settled.record),
            because,
        })
    };
    ORDER.iter().chain(&own).filter_map(setting).collect()
}

/// A setting whose rules speak of percentages is shown as one.
fn shown(world: &World<'_>, name: &str, value: &Value) -> Shown {
    match value.as_quantity().filter(|_| world.knowledge.rulebook.shares.contains(name)) {
        Some(share) => Shown::Percent(share.si),
        None => Shown::Value(value.clone()),
    }
}

/// What a wall of so many beads measures: beads are counted on the machine, walls are thought of in millimetres.
fn detail(name: &str, record: &Record) -> Option<Quantity> {
    let quantity = |name: &str| record.get(name).and_then(|f| f.value.as_quantity());
    match (name, quantity("wall_beads"), quantity("bead_width").and_then(|q| q.in_unit("mm"))) {
        ("wall_beads", Some(beads), Some(width)) => Some(Length::mm(beads.si * width).into()),
        _ => None,
    }
}

fn pinned(world: &World<'_>, name: &str) -> Reason {
    let pin = world.spec.pins.iter().find(|p| p.setting.as_deref() == Some(name));
    Reason {
        text: Choice::Pinned { because: pin.map_or(String::new(), |p| p.because.clone()) }.into(),
        places: pin.map(|p| vec![world.knowledge.sources.cite(p.span)]).unwrap_or_default(),
        ..Reason::default()
    }
}

#[cfg(test)]
mod tests {
    use super::ORDER;
    use crate::semantics::vocabulary::SETTINGS;

    #[test]
    fn every_setting_a_spec_may_pin_has_its_place_in_the_order() {
        for (name, ..) in SETTINGS {
            assert!(ORDER.iter().any(|(known, _)| known == name), "{name}");
        }
    }
}
