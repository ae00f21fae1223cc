//! How one material takes another out of a nozzle: a temperature at which both melt and neither is overheated.

use crate::catalogue::Material;
use crate::quantity::{Temperature, TemperatureDifference};

/// A purge in two stages.
pub struct Through<'a> {
    pub by: &'a Material,
    /// Temperature at which it takes out what is in the machine, K.
    pub into: f64,
    /// Temperature at which the next material takes it out, K.
    pub out: f64,
}

/// How far rests of a material may be heated: the top of its range, and so much more where it is not heat-sensitive.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Purged {
    pub overheat: TemperatureDifference,
}

pub fn is_heat_sensitive(material: &Material) -> bool {
    material.heat_sensitive.as_ref().is_some_and(|s| s.value)
}

/// Returns the hottest that rests of a material may get while another takes them out.
pub fn residue_limit(material: &Material, overheat: TemperatureDifference) -> Temperature {
    let over = if is_heat_sensitive(material) { 0.0 } else { overheat.to_k() };
    Temperature::kelvin(material.print_temperature.high().to_kelvin() + over)
}

/// Returns a temperature (K) at which `next` takes `old` out: both at least at the low end of their ranges, neither above its
/// limit, as near to the hotter of the two print temperatures as that allows. Nothing is returned where there is none, or
/// where the hot end does not reach it.
pub fn temperature(
    old: &Material,
    next: &Material,
    hot_end: Option<Temperature>,
    overheat: TemperatureDifference,
) -> Option<f64> {
    between(old, next, residue_limit(next, overheat), hot_end, overheat)
}

fn between(
    old: &Material,
    next: &Material,
    next_limit: Temperature,
    hot_end: Option<Temperature>,
    overheat: TemperatureDifference,
) -> Option<f64> {
    let (a, b) = (&old.print_temperature, &next.print_temperature);
    let floor = a.low().to_kelvin().max(b.low().to_kelvin());
    let ceiling = residue_limit(old, overheat).to_kelvin().min(next_limit.to_kelvin());
    let ceiling = hot_end.map_or(ceiling, |t| ceiling.min(t.to_kelvin()));
    (floor <= ceiling).then(|| a.typ.to_kelvin().max(b.typ.to_kelvin()).clamp(floor, ceiling))
}

/// Returns the material to purge through where the next one cannot take the old one out by itself: the one that prints nearest
/// the middle of the two, and is itself never taken above its own printing range while it is fed.
pub fn through<'a>(
    at_hand: impl Iterator<Item = &'a Material>,
    old: &Material,
    next: &Material,
    hot_end: Option<Temperature>,
    overheat: TemperatureDifference,
) -> Option<Through<'a>> {
    let typical = |m: &Material| m.print_temperature.typ.to_kelvin();
    let middle = 0.5 * (typical(old) + typical(next));
    let off = |m: &Material| (typical(m) - middle).abs();
    at_hand
        .filter(|m| m.name != old.name && m.name != next.name)
        .filter_map(|by| {
            let into = between(old, by, by.print_temperature.high(), hot_end, overheat)?;
            let out = temperature(by, next, hot_end, overheat)?;
            Some(Through { by, into, out })
        })
        .min_by(|x, y| off(x.by).total_cmp(&off(y.by)).then_with(|| x.by.name.cmp(&y.by.name)))
}

#[cfg(test)]
mod tests {
    use super::*;

    const OVERHEAT: TemperatureDifference = TemperatureDifference::k(20.0);
    use crate::catalogue::{Catalogue, built_in};

    fn of<'a>(catalogue: &'a Catalogue, name: &str) -> &'a Material {
        catalogue.material(name).unwrap()
    }

    #[test]
    fn acetal_never_gets_hotter_than_its_own_range_whatever_follows() {
        let (catalogue, _) = built_in();
        let pom = of(&catalogue, "POM");
        let limit = Temperature::celsius(230.0).to_kelvin();
        let mut ways = 0;
        for other in catalogue.materials.values() {
            for t in
                [temperature(pom, other, None, OVERHEAT), temperature(other, pom, None, OVERHEAT)].into_iter().flatten()
            {
                assert!(t <= limit + 1e-9, "{}: {t}", other.name);
            }
            if let Some(way) = through(catalogue.materials.values(), pom, other, None, OVERHEAT) {
                ways += 1;
                assert!(way.into <= limit + 1e-9, "{} through {}", other.name, way.by.name);
            }
            if let Some(way) = through(catalogue.materials.values(), other, pom, None, OVERHEAT) {
                ways += 1;
                assert!(way.out <= limit + 1e-9, "{} through {}", other.name, way.by.name);
            }
        }
        assert!(ways > 10, "{ways}");
    }

    #[test]
    fn both_melt_and_what_is_fed_stays_in_its_range() {
        let (catalogue, _) = built_in();
        let (mut at_once, mut ways) = (0, 0);
        for old in catalogue.materials.values() {
            for next in catalogue.materials.values() {
                let low = |m: &Material| m.print_temperature.low().to_kelvin();
                if let Some(t) = temperature(old, next, None, OVERHEAT) {
                    at_once += 1;
                    assert!(t >= low(old) && t >= low(next), "{} to {}", old.name, next.name);
                    assert!(
                        t <= residue_limit(old, OVERHEAT).to_kelvin() && t <= residue_limit(next, OVERHEAT).to_kelvin()
                    );
                }
                if let Some(way) = through(catalogue.materials.values(), old, next, None, OVERHEAT) {
                    ways += 1;
                    assert!(way.into <= way.by.print_temperature.high().to_kelvin(), "{} by {}", old.name, way.by.name);
                    assert!(way.out >= low(way.by) && way.out >= low(next));
                }
            }
        }
        assert!(at_once > 100 && ways > 100, "{at_once} {ways}");
    }

    #[test]
    fn the_usual_changes_are_those_of_the_trade() {
        let (catalogue, _) = built_in();
        let change = |a: &str, b: &str| {
            temperature(of(&catalogue, a), of(&catalogue, b), None, OVERHEAT).map(|t| (t - 273.15).round() as i64)
        };
        assert_eq!(change("PLA", "PETG"), Some(240));
        assert_eq!(change("PETG", "PLA"), Some(240));
        assert_eq!(change("PLA", "ABS"), Some(230));
        assert_eq!(change("PLA", "PC"), None);
        assert_eq!(change("PLA", "PEI"), None);
        assert_eq!(change("POM", "PETG"), Some(230));
        assert_eq!(change("POM", "PC"), None);
    }
}
