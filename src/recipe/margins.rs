//! The margins: what the part must bear, what it can bear, and how much lies between.

use crate::catalogue::words::Stands;
use crate::physics::pressure::pressure_wall;
use crate::quantity::{Quantity, Stress, trim_number};
use crate::recipe::{Margin, Reason};
use crate::resolve::decide::full;
use crate::resolve::heat::PartHeat;
use crate::resolve::problem::Rules;
use crate::resolve::strength;
use crate::resolve::together;
use crate::resolve::world::at;
use crate::rulebook::names::Root;
use crate::rulebook::value::Origin;
use crate::semantics::spec::{Ask, Impact, SunExposure};

/// A margin below this part of what is asked is called narrow.
const NARROW: f64 = 1.25;
/// Kelvin between part and limit below which heat is called narrow.
const NARROW_K: f64 = 10.0;

/// The verdicts on a margin.
pub(super) const HOLDS: &str = "holds";
pub(super) const NARROWLY: &str = "holds narrowly";
pub(super) const BROKEN: &str = "broken";
pub(super) const NOT_SHOWN: &str = "not shown";

/// Builds the margins of a decided job.
pub fn margins(rules: &Rules<'_, '_>, choice: &[usize; 7]) -> Vec<Margin> {
    let mut result = Vec::new();
    result.extend(heat(rules, choice));
    result.extend(sun(rules, choice));
    result.extend(chemicals(rules, choice));
    for load in 0..rules.world.spec.loads.len() {
        result.push(of_load(rules, choice, load));
    }
    result.extend((0..rules.world.spec.loads.len()).filter_map(|load| of_loads_together(rules, choice, load)));
    result.extend(impact(rules, choice));
    result.extend(deflection(rules, choice));
    result.extend(pressure(rules, choice));
    result.extend(super::wall::margin(rules.world));
    result.extend(super::joints::margins(rules.world, &full(choice)));
    result
}

pub(super) fn sourced(figure_kind: &str, source: Option<&String>, place: String) -> String {
    let key = source.map_or(String::new(), |s| format!(" {s}"));
    format!("{figure_kind}{key} ({place})")
}

fn heat(rules: &Rules<'_, '_>, choice: &[usize; 7]) -> Option<Margin> {
    let world = rules.world;
    let heat = world.heat(choice[at::MATERIAL])?;
    let material = world.material(&full(choice))?;
    let limit = &material.heat_limit;
    let spare = limit.typ.to_kelvin() - heat.temperature.to_kelvin();
    let verdict = if spare < 0.0 {
        "broken"
    } else if spare < NARROW_K {
        "holds narrowly"
    } else {
        "holds"
    };
    Some(Margin {
        what: "heat".to_owned(),
        demand: heat.temperature.to_string(),
        capacity: format!("{} ({} to {})", limit.typ, limit.low(), limit.high()),
        margin: format!("{spare:.0} K"),
        verdict: verdict.to_owned(),
        because: Reason {
            text: hotter_words(heat),
            source: Some(sourced(limit.kind.as_str(), limit.source.as_ref(), world.knowledge.sources.place(limit.at))),
            ..Reason::default()
        },
    })
}

/// The sum, and how hot it may get beyond it where a figure in it has a band.
fn hotter_words(heat: &PartHeat) -> String {
    if heat.high.to_kelvin() < heat.temperature.to_kelvin() + 0.05 {
        heat.working.clone()
    } else if heat.sunlit {
        format!("{}; up to {} in still air and peak sun", heat.working, heat.high)
    } else {
        format!("{}; up to {} with the unfavourable end of each figure", heat.working, heat.high)
    }
}

fn sun(rules: &Rules<'_, '_>, choice: &[usize; 7]) -> Option<Margin> {
    let world = rules.world;
    let sun = world.spec.service.sun.filter(|s| s.value.exposure == SunExposure::Direct)?;
    let wanted = sun.value.duration?;
    let material = world.material(&full(choice))?;
    let place = world.knowledge.sources.place(sun.span);
    let Some(years) = &material.uv_years else {
        return Some(Margin {
            what: "sunlight".to_owned(),
            demand: wanted.to_string(),
            capacity: "not known".to_owned(),
            margin: String::new(),
            verdict: "not shown".to_owned(),
            because: Reason {
                text: "no figure for its life in the sun".to_owned(),
                places: vec![place],
                ..Reason::default()
            },
        });
    };
    let ratio = years.typ.to_s() / wanted.to_s().max(1e-9);
    Some(Margin {
        what: "sunlight".to_owned(),
        demand: wanted.to_string(),
        capacity: format!("{} ({} to {}), unprotected", years.typ, years.low(), years.high()),
        margin: times(ratio),
        verdict: word(ratio, 1.0).to_owned(),
        because: Reason {
            text: format!("weathering {}", material.uv.value),
            places: vec![place],
            source: Some(sourced(years.kind.as_str(), years.source.as_ref(), world.knowledge.sources.place(years.at))),
            ..Reason::default()
        },
    })
}

/// A margin as a multiple; beyond a hundred the figure says nothing more.
pub(super) fn times(ratio: f64) -> String {
    if ratio > 100.0 { "over x 100".to_owned() } else { format!("x {ratio:.1}") }
}

pub(super) fn word(ratio: f64, asked: f64) -> &'static str {
    if ratio < asked {
        "broken"
    } else if ratio < asked * NARROW {
        "holds narrowly"
    } else {
        "holds"
    }
}

fn chemicals(rules: &Rules<'_, '_>, choice: &[usize; 7]) -> Vec<Margin> {
    let world = rules.world;
    let Some(material) = world.material(&full(choice)) else { return Vec::new() };
    world
        .spec
        .service
        .contacts
        .iter()
        .map(|contact| {
            let t = world.contact_temperature(contact, Some(choice[at::MATERIAL]));
            let rating = world.knowledge.catalogue.chemical_rating(&material.name, &contact.chemical.value, t);
            let (capacity, verdict, source) = match &rating {
                Some(r) if r.stands != Stands::Unknown => (
                    format!("{} against {}", r.stands, r.class),
                    match r.stands {
                        Stands::Poor => "broken",
                        Stands::Limited => "holds narrowly",
                        _ => "holds",
                    },
                    r.from
                        .as_ref()
                        .map(|f| sourced(f.kind.as_str(), f.source.as_ref(), world.knowledge.sources.place(f.at))),
                ),
                _ => ("not known".to_owned(), "not shown", None),
            };
            let cracks = rating.as_ref().is_some_and(|r| r.cracks_under_load.is_some());
            // What cracks under load does not plainly hold where something pulls at it.
            let strained = !world.spec.loads.is_empty() || world.spec.pressure.is_some();
            let (capacity, verdict) = match cracks {
                true if verdict == "holds" && strained => {
                    (format!("{capacity}; may crack under load in it"), "holds narrowly")
                }
                _ => (capacity, verdict),
            };
            Margin {
                what: format!("contact \"{}\"", contact.chemical.value),
                demand: format!("at {t}"),
                capacity,
                margin: String::new(),
                verdict: verdict.to_owned(),
                because: Reason {
                    text: if cracks { "may crack under load in it".to_owned() } else { String::new() },
                    places: vec![world.knowledge.sources.place(contact.span)],
                    source,
                    ..Reason::default()
                },
            }
        })
        .collect()
}

/// Returns the share of a solid's strength that a foam of it has, `0.3 f^1.5` for open cells (handbook, recalled: Gibson and
/// Ashby, *Cellular Solids*, 2nd ed. 1997, ch. 5): less than a print of that infill bears, which has walls besides.
fn foam_strength(filled: f64) -> f64 {
    0.3 * filled.clamp(0.0, 1.0).powf(1.5)
}

fn of_load(rules: &Rules<'_, '_>, choice: &[usize; 7], load: usize) -> Margin {
    let world = rules.world;
    let stated = &world.spec.loads[load];
    let places = vec![world.knowledge.sources.place(stated.span)];
    let what = format!("load \"{}\"", stated.name.value);
    let infill = world.setting("infill", &full(choice)).and_then(|v| v.as_quantity()).map_or(1.0, |q| q.si);
    let solid = infill > 0.999;
    let share = if solid { 1.0 } else { foam_strength(infill) };
    match strength::margin(world, load, choice[at::MATERIAL], choice[at::POSE]) {
        Ok(m) => Margin {
            what,
            demand: format!("{:.2} MPa", m.demand_mpa),
            capacity: match solid {
                true => format!("{:.2} MPa", m.capacity_mpa),
                false => format!("{:.2} MPa, {:.2} MPa were it solid", m.capacity_mpa * share, m.capacity_mpa),
            },
            margin: format!("{} ({} with typical strengths)", times(m.margin * share), times(m.typical * share)),
            // What holds as a foam holds with walls round it, and what breaks solid breaks filled; between them nobody knows.
            verdict: match word(m.margin * share, 1.0) {
                BROKEN if m.margin >= 1.0 => "not shown".to_owned(),
                verdict => verdict.to_owned(),
            },
            because: Reason {
                text: match solid {
                    true => format!("{}; Tsai-Hill, solid section, no notch counted", m.working),
                    false => format!(
                        "{}; Tsai-Hill, no notch counted; as a foam of {:.0} % throughout, its walls not counted: x {share:.3}",
                        m.working,
                        infill * 100.0
                    ),
                },
                places,
                source: Some("handbook CRAW3; strengths and reductions mostly from-memory".to_owned()),
                ..Reason::default()
            },
        },
        Err(why) => Margin {
            what,
            demand: stated.force.map_or(String::new(), |f| f.value.to_string()),
            capacity: "not known".to_owned(),
            margin: String::new(),
            verdict: "not shown".to_owned(),
            because: Reason { text: why, places, ..Reason::default() },
        },
    }
}

/// What strikes the part; what of it the part takes up is not computed.
fn impact(rules: &Rules<'_, '_>, choice: &[usize; 7]) -> Option<Margin> {
    let world = rules.world;
    let stated = world.spec.impact?;
    let demand = match stated.value {
        Impact::Drop(height) if height.to_mm() <= 0.0 => return None,
        Impact::Drop(height) => format!("a drop of {height}"),
        Impact::Blow { mass, speed } => {
            let (kg, m_s) = (Quantity::from(mass).si, Quantity::from(speed).si);
            format!("a blow of {mass} at {speed}, {} J", trim_number(0.5 * kg * m_s * m_s, 2))
        }
        Impact::Stated => "blows or drops".to_owned(),
    };
    let soft = world.spec.asks.iter().any(|a| a.value == Ask::Softness);
    let flexible = world.material(&full(choice)).is_some_and(|m| m.flexible.value);
    let more = if soft || flexible { "" } else { "; must it be soft, write `ask softness`" };
    Some(Margin {
        what: "impact".to_owned(),
        demand,
        capacity: "not known".to_owned(),
        margin: String::new(),
        verdict: NOT_SHOWN.to_owned(),
        because: Reason {
            text: format!(
                "the energy a print takes up before it breaks is not computed: strike a trial piece first{more}"
            ),
            places: vec![world.knowledge.sources.place(stated.span)],
            ..Reason::default()
        },
    })
}

/// What the loads that act at once with one take between them.
fn of_loads_together(rules: &Rules<'_, '_>, choice: &[usize; 7], load: usize) -> Option<Margin> {
    let world = rules.world;
    let all = together::company(world.spec, load)?;
    let places = all.iter().filter_map(|&l| world.spec.loads.get(l)).map(|l| world.knowledge.sources.place(l.span));
    let places: Vec<String> = places.collect();
    let what = format!("loads {} together", together::names(world.spec, &all));
    let infill = world.setting("infill", &full(choice)).and_then(|v| v.as_quantity()).map_or(1.0, |q| q.si);
    let share = if infill > 0.999 { 1.0 } else { foam_strength(infill) };
    let record = world.record(Root::Load, load, &full(choice))?;
    let fact = record.get("together_margin");
    let known = fact.and_then(|f| match &f.origin {
        Origin::Computed { working } => Some((f.value.as_quantity()?.si, working)),
        _ => None,
    });
    let Some((margin, working)) = known else {
        return Some(Margin {
            what,
            demand: "not known".to_owned(),
            capacity: String::new(),
            margin: String::new(),
            verdict: "not shown".to_owned(),
            because: Reason {
                text: "the stress of one of them could not be computed".to_owned(),
                places,
                ..Reason::default()
            },
        });
    };
    let foam = if share < 1.0 { format!("; as a foam of that filling: x {share:.3}") } else { String::new() };
    Some(Margin {
        what,
        demand: format!("{:.0} % of what is borne", (100.0 / (margin * share)).min(1e6)),
        capacity: "100 %".to_owned(),
        margin: times(margin * share),
        verdict: match word(margin * share, 1.0) {
            BROKEN if margin >= 1.0 => "not shown".to_owned(),
            verdict => verdict.to_owned(),
        },
        because: Reason {
            text: format!(
                "{working}; on the safe side where they do not strain the same place; `alone` in a load says that it never acts with another{foam}"
            ),
            places,
            source: Some("computed from the margins above".to_owned()),
            ..Reason::default()
        },
    })
}

fn deflection(rules: &Rules<'_, '_>, choice: &[usize; 7]) -> Option<Margin> {
    let world = rules.world;
    let limit = world.spec.deflection.as_ref()?;
    let places = vec![world.knowledge.sources.place(limit.limit.span)];
    let Some((tip, working)) = strength::deflection(world, choice[at::MATERIAL]) else {
        let text = "no load could be placed on the mesh, or no modulus is known".to_owned();
        return Some(Margin {
            what: "deflection".to_owned(),
            demand: "not known".to_owned(),
            capacity: format!("{} allowed", limit.limit.value),
            margin: String::new(),
            verdict: "not shown".to_owned(),
            because: Reason { text, places, ..Reason::default() },
        });
    };
    let ratio = limit.limit.value.to_mm() / tip.max(1e-9);
    Some(Margin {
        what: "deflection".to_owned(),
        demand: format!("{tip:.2} mm"),
        capacity: format!("{} allowed", limit.limit.value),
        margin: times(ratio),
        verdict: word(ratio, 1.0).to_owned(),
        because: Reason {
            text: working,
            places,
            source: Some("computed by beam statics; modulus and reductions mostly from-memory".to_owned()),
            ..Reason::default()
        },
    })
}

/// The share of the lasting strength across the layers that is used: that of the rule `pressure-wall`.
const PRESSURE_SHARE: f64 = 1.0 / 3.0;

/// The wall a pressure wants against the wall there is.
fn pressure(rules: &Rules<'_, '_>, choice: &[usize; 7]) -> Option<Margin> {
    let world = rules.world;
    let stated = world.spec.pressure.as_ref()?;
    let pressure = stated.pressure?.value;
    let material = world.material(&full(choice))?;
    let figure = &material.strength_across;
    let wall = super::wall::that_counts(world);
    let bar = format!("{} bar", trim_number(pressure.to_mpa() * 10.0, 2));
    let places = vec![world.knowledge.sources.place(stated.span)];
    let (bore, wall) = match (stated.bore, wall) {
        (Some(bore), Some(wall)) => (bore.value, wall),
        _ => {
            let text = "the bore or the wall is not stated: no stress can be computed".to_owned();
            let because = Reason { text, places, ..Reason::default() };
            let (capacity, verdict) = ("not known".to_owned(), "not shown".to_owned());
            return Some(Margin {
                what: "pressure".to_owned(),
                demand: bar,
                capacity,
                margin: String::new(),
                verdict,
                because,
            });
        }
    };
    let (lasting, working) = strength::lasting_across(world, choice[at::MATERIAL])?;
    // Where the pressure is more than the limit no wall is thick enough.
    let wanted = pressure_wall(pressure, bore, Stress::mpa(lasting.to_mpa() * PRESSURE_SHARE)).ok();
    let ratio = wanted.map_or(0.0, |wanted| wall.to_mm() / wanted.to_mm().max(1e-9));
    let wanted = wanted.map_or("no wall is thick enough".to_owned(), |w| format!("{:.2} mm of solid wall", w.to_mm()));
    let source = sourced(figure.kind.as_str(), figure.source.as_ref(), world.knowledge.sources.place(figure.at));
    Some(Margin {
        what: "pressure".to_owned(),
        demand: format!("{bar} in a bore of {bore}: {wanted}"),
        capacity: format!("{} mm of wall", trim_number(wall.to_mm(), 2)),
        margin: times(ratio),
        verdict: word(ratio, 1.0).to_owned(),
        because: Reason {
            text: format!(
                "hoop stress at the bore to a third of what lasts: {working}; \
                 bends, steps and leaks between layers not counted: test it with water"
            ),
            places,
            source: Some(format!("{source}; wall computed by Lame")),
            ..Reason::default()
        },
    })
}

#[cfg(test)]
mod tests {
    use super::times;

    #[test]
    fn a_margin_is_no_string_of_digits() {
        assert_eq!(times(1.54), "x 1.5");
        assert_eq!(times(2.2e10), "over x 100");
    }
}
