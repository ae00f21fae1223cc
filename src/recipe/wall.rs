//! The wall a spec asks for against the thinnest the mesh has.

use crate::quantity::{Length, trim_number};
use crate::recipe::{Margin, Reason};
use crate::resolve::world::World;

use super::margins::{BROKEN, HOLDS, NARROWLY};

/// How much thinner a wall of a mesh may come out than the wall that was drawn, at the most and as a part of it: export
/// lays the corners of its facets on curved faces and the facets within, by a tolerance of hundredths of a millimetre, and
/// rounds (common practice: 0.01 to 0.05 mm).
const FACETS_MM: f64 = 0.05;
const FACETS: f64 = 0.02;

/// Returns by how much facets may make a wall of this size look thinner, mm.
fn tolerance(wall_mm: f64) -> f64 {
    FACETS_MM.min(FACETS * wall_mm)
}

/// Returns the wall that counts: what is asked for, or what the mesh has where that is less.
pub(super) fn that_counts(world: &World<'_>) -> Option<Length> {
    let stated = world.spec.wall.map(|w| w.value.to_mm());
    let found = world.part.broad_wall.map(|w| w.mm);
    let least = stated.into_iter().chain(found).reduce(f64::min);
    least.map(Length::mm)
}

/// Builds the margin of the smallest wall, where the spec asks for one.
pub(super) fn margin(world: &World<'_>) -> Option<Margin> {
    let asked = world.spec.wall?;
    let places = vec![world.knowledge.sources.place(asked.span)];
    let demand = format!("{} at the least", asked.value);
    let Some(found) = world.part.broad_wall else {
        let text = "no wall could be measured on the mesh: measure it in the model".to_owned();
        let because = Reason { text, places, ..Reason::default() };
        let (capacity, verdict) = ("not known".to_owned(), "not shown".to_owned());
        return Some(Margin { what: "wall".to_owned(), demand, capacity, margin: String::new(), verdict, because });
    };
    let (wanted, tolerance) = (asked.value.to_mm(), tolerance(asked.value.to_mm()));
    let slack = trim_number(tolerance, 2);
    let (verdict, remark) = match found.mm - wanted {
        // Half a hundredth is what the figure shown is rounded by.
        spare if spare >= -5e-3 => {
            (HOLDS, format!("facets may make it look up to {slack} mm thinner than it was drawn"))
        }
        spare if spare >= -tolerance => (
            HOLDS,
            format!(
                "{:.2} mm less than asked, within the {slack} mm by which facets may make it look thinner than it was drawn",
                -spare
            ),
        ),
        spare => (
            BROKEN,
            format!(
                "{:.2} mm less than asked, and facets account for {slack} mm at the most: thicken it in the model, or ask for less",
                -spare
            ),
        ),
    };
    let spot = world.part.min_wall_mm.zip(world.part.min_wall_at).filter(|(spot, _)| *spot < wanted - tolerance);
    let [x, y, z] = found.at.map(|c| trim_number(c, 1));
    let mut capacity = format!("{:.2} mm at ({x}, {y}, {z}) mm", found.mm);
    let mut spare = format!("{:+.2} mm", found.mm - wanted);
    let (verdict, spot) = match spot.filter(|_| verdict != BROKEN) {
        Some((mm, at)) => {
            let [x, y, z] = at.map(|c| trim_number(c, 1));
            capacity = format!("{mm:.2} mm in a spot at ({x}, {y}, {z}) mm, {:.2} mm elsewhere", found.mm);
            spare = format!("{:+.2} mm in the spot", mm - wanted);
            (NARROWLY, "; a thinner spot or tapering edge is no wall, but look at it in the model")
        }
        None => (verdict, ""),
    };
    Some(Margin {
        what: "wall".to_owned(),
        demand,
        capacity,
        margin: spare,
        verdict: verdict.to_owned(),
        because: Reason {
            text: format!("thinnest wall measured on the mesh: {remark}{spot}"),
            places,
            source: Some("computed; tolerance of facets common-practice".to_owned()),
            ..Reason::default()
        },
    })
}

#[cfg(test)]
mod tests {
    use super::tolerance;

    #[test]
    fn facets_account_for_hundredths_and_less_on_thin_walls() {
        assert!((tolerance(3.0) - 0.05).abs() < 1e-9 && (tolerance(0.8) - 0.016).abs() < 1e-9);
    }
}
