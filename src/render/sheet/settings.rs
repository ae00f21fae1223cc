//! Settings as a person says them: one row for each group, its values in a few words.

use super::{Line, capital, cited, inline, shortly};
use crate::recipe::{Recipe, Setting};

/// How a setting is said within its group; `{}` is its value.
const WORDS: &[(&str, &str)] = &[
    ("nozzle_temperature", "nozzle {}"),
    ("bed_temperature", "bed {}"),
    ("chamber_temperature", "chamber {}"),
    ("first_height", "{} high"),
    ("first_speed", "laid at {}"),
    ("first_temperature", "nozzle {}"),
    ("brim", "brim {} wide"),
    ("layer_height", "{} high"),
    ("bead_width", "beads {} wide"),
    ("second_colour_layer", "second colour from layer {}"),
    ("wall_beads", "{} beads"),
    ("closed_above", "{} layers above"),
    ("closed_below", "{} below"),
    ("infill", "infill {}"),
    ("speed", "{}"),
    ("outside_speed", "outermost bead {}"),
    ("layer_dwell", "a layer takes at least {}"),
    ("melt_flow", "at most {} of melt"),
    ("fan", "fan at {}"),
    ("fan_starts", "not before layer {}"),
    ("retraction", "retraction {}"),
    ("support_beyond", "beyond {} from vertical"),
    ("support_gap", "{} of air below the part"),
];

/// Returns one row for each group of settings, in working order: what it is about, and its values.
pub fn setting_rows(settings: &[Setting]) -> Vec<Line> {
    let mut rows: Vec<Line> = Vec::new();
    for setting in settings {
        let (what, value) = (capital(setting.group.as_str()), inline(&said(setting)));
        match rows.last_mut().filter(|row| row.what == what) {
            Some(row) => row.value = format!("{}, {value}", row.value),
            None => rows.push(Line { what, value, because: String::new() }),
        }
    }
    rows
}

fn said(setting: &Setting) -> String {
    let value = setting.value.to_string();
    let detail = setting.detail.and_then(|q| q.in_unit("mm")).map(|mm| format!("about {mm:.1} mm"));
    match (setting.name.as_str(), detail) {
        ("brim", _) if setting.value.is_zero() => return "no brim".to_owned(),
        ("wall_beads", Some(wall)) => {
            return format!("{value} beads from each surface inward, {wall}; fewer where two sides meet");
        }
        _ => {}
    }
    match WORDS.iter().find(|(name, _)| *name == setting.name) {
        Some((_, words)) => words.replace("{}", &value),
        None => format!("{} {value}", spoken(&setting.name)),
    }
}

/// Returns every setting on a line of its own, with its reason.
pub(super) fn lines(recipe: &Recipe) -> Vec<Line> {
    let of = |s: &Setting| Line {
        what: capital(&inline(&spoken(&s.name))),
        value: inline(&s.value.to_string()),
        because: cited(recipe, &s.because),
    };
    recipe.settings.iter().map(of).collect()
}

/// Values of one reason, and the reason.
type Together = (Vec<String>, String);

/// Returns a line for each group: what each value is, and why, those of one reason together.
pub(super) fn reasons(recipe: &Recipe) -> Vec<Line> {
    let mut lines: Vec<(String, Vec<Together>)> = Vec::new();
    for setting in &recipe.settings {
        let group = capital(setting.group.as_str());
        let (value, because) = (inline(&said(setting)), shortly(recipe, &setting.because));
        if lines.last().is_none_or(|(of, _)| *of != group) {
            lines.push((group, Vec::new()));
        }
        let Some((_, pairs)) = lines.last_mut() else { continue };
        match pairs.iter_mut().find(|(_, why)| *why == because) {
            Some((values, _)) => values.push(value),
            None => pairs.push((vec![value], because)),
        }
    }
    let told = |(values, because): &Together| format!("{}: {because}", values.join(", "));
    let line = |(what, pairs): (String, Vec<Together>)| Line {
        what,
        value: pairs.iter().map(told).collect::<Vec<_>>().join("; "),
        because: String::new(),
    };
    lines.into_iter().map(line).collect()
}

/// A setting's name as words.
pub(in crate::render) fn spoken(name: &str) -> String {
    name.replace('_', " ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::Quantity;
    use crate::recipe::{Group, Reason, Shown};
    use crate::rulebook::value::Value;

    #[test]
    fn groups_are_rows_and_the_shops_own_settings_stay_readable() {
        let setting = |name: &str, group: Group, value: &str, wall: Option<&str>| Setting {
            name: name.to_owned(),
            group,
            value: Shown::Value(Value::Quantity(Quantity::parse(value).unwrap())),
            detail: wall.map(|wall| Quantity::parse(wall).unwrap()),
            because: Reason::default(),
        };
        let rows = setting_rows(&[
            setting("nozzle_temperature", Group::Heat, "250 °C", None),
            setting("bed_temperature", Group::Heat, "105 °C", None),
            setting("brim", Group::FirstLayer, "0 mm", None),
            setting("wall_beads", Group::Wall, "3", Some("1.98 mm")),
            setting("wipe_length", Group::OfTheShop, "2 mm", None),
        ]);
        let said: Vec<String> = rows.iter().map(|r| format!("{}: {}", r.what, r.value)).collect();
        assert_eq!(
            said,
            [
                "Heat: nozzle 250 °C, bed 105 °C",
                "First layer: no brim",
                "Wall: 3 beads from each surface inward, about 2.0 mm; fewer where two sides meet",
                "Of the shop: wipe length 2 mm"
            ]
        );
    }
}
