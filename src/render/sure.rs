//! How sure a choice is, as a page: what another value within a band would make of it.

use super::pages::push_text;
use crate::quantity::Quantity;
use crate::resolve::breaks::Made;

/// A value that was moved to the ends of its band.
#[derive(Debug, Clone)]
pub struct Moved {
    /// `heat limit of PLA`.
    pub name: String,
    /// As it is taken.
    pub typ: Quantity,
    /// The band.
    pub ends: (Quantity, Quantity),
    /// Where it is known from.
    pub source: String,
    /// The ends at which another thing is chosen, and what; nothing stands where that is empty.
    pub to: Vec<(Quantity, Option<Made>)>,
}

/// Returns the page of a part; `left` is how many values were not moved.
pub fn text(part: &str, now: Option<&Made>, all: &[Moved], left: usize) -> String {
    let mut out = String::new();
    let what = now.map_or_else(|| "nothing".to_owned(), |made| told(made, None));
    push_text(&mut out, &format!("{part}: {what}"), "");
    let turning: Vec<&Moved> = all.iter().filter(|m| !m.to.is_empty()).collect();
    let many = if all.len() == 1 { "1 value".to_owned() } else { format!("{} values", all.len()) };
    let head = match (all.len(), turning.len()) {
        (0, _) => "It rests on no value that is known as a band only.".to_owned(),
        (_, 0) => format!(
            "It rests on {many} known as a band only. None of them, moved by itself to either end of its band, turns the choice."
        ),
        (_, n) => format!(
            "It rests on {many} known as a band only. Moved by itself to an end of its band, {n} of them would turn it:"
        ),
    };
    push_text(&mut out, &head, "");
    for moved in turning {
        let ends = moved.to.iter().map(|(end, made)| match made {
            Some(made) => format!("at {end} it would be {}", told(made, now)),
            None => format!("at {end} nothing would stand"),
        });
        let Moved { name, typ, ends: (low, high), source, .. } = moved;
        let ends = ends.collect::<Vec<_>>().join("; ");
        push_text(&mut out, &format!("- {name} ({typ}; {low} to {high}, {source}): {ends}"), "");
    }
    if left > 0 {
        push_text(&mut out, &format!("{left} more were not moved."), "");
    }
    out
}

/// Returns what of a choice differs from another; of one alone the printer and the material.
fn told(made: &Made, from: Option<&Made>) -> String {
    let Some(from) = from else { return made.iter().take(2).rev().cloned().collect::<Vec<_>>().join(" on ") };
    let differs = made.iter().zip(from).filter(|(a, b)| a != b).map(|(a, _)| a.clone());
    differs.collect::<Vec<_>>().join(", ")
}
