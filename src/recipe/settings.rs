//! The settings of a recipe, in the order in which a person enters them, and in groups of our own.

use crate::recipe::reasons::from_trace;
use crate::recipe::{Reason, Setting};
use crate::resolve::decide::{Decided, full};
use crate::resolve::problem::Rules;
use crate::resolve::world::World;
use crate::rulebook::SettledBy;
use crate::rulebook::value::Record;

/// The working order: what must be hot first, then the layer everything stands on, then the rest of the part, its pace,
/// its air, the filament's feed, the support. A setting of a shop's own rules comes after these, by name.
pub(crate) const ORDER: &[(&str, &str)] = &[
    ("nozzle_temperature", "heat"),
    ("bed_temperature", "heat"),
    ("chamber_temperature", "heat"),
    ("first_height", "first layer"),
    ("first_speed", "first layer"),
    ("first_temperature", "first layer"),
    ("brim", "first layer"),
    ("layer_height", "layers"),
    ("bead_width", "layers"),
    ("wall_beads", "wall"),
    ("skin_above", "skin"),
    ("skin_below", "skin"),
    ("infill", "inside"),
    ("speed", "pace"),
    ("outside_speed", "pace"),
    ("layer_dwell", "pace"),
    ("melt_flow", "pace"),
    ("fan", "air"),
    ("fan_starts", "air"),
    ("retraction", "feed"),
    ("support_beyond", "support"),
    ("support_gap", "support"),
];

/// The group of settings that only a shop's rules know.
const OWN: &str = "of the shop";

/// Builds the settings of a decided job.
pub(super) fn settings(rules: &Rules<'_, '_>, decided: &Decided) -> Vec<Setting> {
    let world = rules.world;
    let settled = world.settled(&full(&decided.choice));
    let known = world.knowledge.rulebook.setting_order();
    let own = known.iter().map(AsRef::as_ref).filter(|n| ORDER.iter().all(|(known, _)| known != n));
    let mut own: Vec<(&str, &str)> = own.map(|name| (name, OWN)).collect();
    own.sort_unstable();
    let setting = |(name, group): &(&str, &str)| {
        let fact = settled.record.get(name)?;
        let because = match settled.by.get(*name) {
            Some(SettledBy::Rule { rule, trace }) => {
                let rule = world.knowledge.rulebook.rules.get(*rule)?;
                from_trace(rule, rule.because.clone(), &trace.used, world.knowledge.sources)
            }
            _ => pinned(world, name),
        };
        Some(Setting {
            name: (*name).to_owned(),
            group: (*group).to_owned(),
            value: world.knowledge.rulebook.show_setting(name, &fact.value),
            detail: detail(name, &settled.record),
            because,
        })
    };
    ORDER.iter().chain(&own).filter_map(setting).collect()
}

/// What a wall of so many beads measures: beads are counted on the machine, walls are thought of in millimetres.
fn detail(name: &str, record: &Record) -> String {
    let quantity = |name: &str| record.get(name).and_then(|f| f.value.as_quantity());
    match (name, quantity("wall_beads"), quantity("bead_width").and_then(|q| q.in_unit("mm"))) {
        ("wall_beads", Some(beads), Some(width)) => format!("about {:.1} mm", beads.si * width),
        _ => String::new(),
    }
}

fn pinned(world: &World<'_>, name: &str) -> Reason {
    let pin = world.spec.pins.iter().find(|p| p.setting.as_deref() == Some(name));
    Reason {
        text: pin.map_or("pinned by the spec".to_owned(), |p| format!("pinned by the spec: {}", p.because)),
        places: pin.map(|p| vec![world.knowledge.sources.place(p.span)]).unwrap_or_default(),
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
