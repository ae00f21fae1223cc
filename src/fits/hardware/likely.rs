//! What a round hole of a mesh could be for, by its diameter: standard parts whose hole it may be.

use super::tables::{BEARINGS, CLEARANCE, DOWELS, INSERTS};
use super::{Series, normal_thread};
use crate::quantity::{Length, trim_number};

/// Threads of first choice, which shops have (ISO 261:1998, column 1).
const FIRST_CHOICE: [&str; 15] =
    ["M1.6", "M2", "M2.5", "M3", "M4", "M5", "M6", "M8", "M10", "M12", "M16", "M20", "M24", "M30", "M36"];

/// A standard part that a hole may be for.
#[derive(Debug, Clone, PartialEq)]
pub struct Likely {
    /// As a fit says it: `clearance M5 medium`.
    pub write: String,
    /// In words: `an M5 screw passes through (ISO 273, medium)`.
    pub words: String,
    /// The size of the hole by that part's table.
    pub hole: Length,
    /// Whether it only passes through: then the hole is no seat.
    pub passes: bool,
}

/// Returns what a hole could be for, the nearest in size first, then in the order of tables.
///
/// `within` says how far from a size a model may lie. How deep a hole is tells nothing: that is the designer's choice.
pub fn likely(diameter: Length, within: impl Fn(Length) -> Length) -> Vec<Likely> {
    let mut all: Vec<Likely> = Vec::new();
    let mut add = |hole: f64, passes: bool, write: String, words: String| {
        let hole = Length::mm(hole);
        if (hole.to_mm() - diameter.to_mm()).abs() <= within(hole).to_mm() {
            all.push(Likely { write, words, hole, passes });
        }
    };
    for (thread, fine, medium, coarse) in CLEARANCE.into_iter().filter(|(thread, ..)| FIRST_CHOICE.contains(thread)) {
        // One line for a thread: the series whose hole is nearest.
        let holes = Series::ALL.into_iter().zip([fine, medium, coarse]);
        let nearest = holes.min_by(|a, b| {
            let off = |hole: f64| (hole - diameter.to_mm()).abs();
            off(a.1).total_cmp(&off(b.1))
        });
        if let Some((series, hole)) = nearest {
            let series = series.as_str();
            add(
                hole,
                true,
                format!("clearance {thread} {series}"),
                format!("an {thread} screw passes through (ISO 273 {series}, {} mm)", trim_number(hole, 2)),
            );
        }
    }
    for (thread, hole, ..) in INSERTS {
        let thread = normal_thread(thread);
        let words = format!("a heat-set insert {thread} (hole about {} mm)", trim_number(hole, 2));
        add(hole, false, format!("insert {thread}"), words);
    }
    for (name, _, outside, _) in BEARINGS {
        let words = format!("the seat of a ball bearing {name} ({} mm)", trim_number(outside, 2));
        add(outside, false, format!("bearing {name}"), words);
    }
    for size in DOWELS {
        let size_words = trim_number(size, 1);
        add(size, false, format!("dowel {size_words} mm"), format!("a dowel pin of {size_words} mm"));
    }
    all.sort_by(|a, b| off(a, diameter).total_cmp(&off(b, diameter)));
    all
}

/// How far a part's hole is from a diameter, to the micrometre, so that rounding orders nothing.
fn off(likely: &Likely, diameter: Length) -> f64 {
    ((likely.hole.to_mm() - diameter.to_mm()).abs() * 1000.0).round()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(mm: f64) -> Vec<String> {
        likely(Length::mm(mm), |_| Length::mm(0.35)).into_iter().map(|l| l.write).collect()
    }

    /// Sizes of ISO 273:1979 Table 1, ISO 15 and ISO 2338.
    #[test]
    fn a_hole_is_what_tables_say_it_may_be() {
        assert_eq!(of(5.5)[0], "clearance M5 medium");
        assert_eq!(of(4.5)[0], "clearance M4 medium");
        assert!(of(22.0).contains(&"bearing 608".to_owned()));
        assert!(of(6.0).contains(&"dowel 6 mm".to_owned()));
        assert!(of(4.0).contains(&"insert M3".to_owned()));
        // M7 is no thread of first choice, though its coarse hole is 8 mm.
        assert!(!of(8.0).iter().any(|l| l.contains("M7")), "{:?}", of(8.0));
        assert_eq!(of(300.0), Vec::<String>::new());
    }
}
