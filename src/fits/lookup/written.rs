//! Fits that have no table of their own, as a spec writes them: slides, presses, flats, lids, grooves, by the figures of the trade.

use super::{Answer, LookUp, LookUpError, Word, length, locate};
use crate::fits::feature::FeatureKind;
use crate::fits::function::{Demand, FitFunction, Limits};
use crate::fits::groove::{self, Seat};
use crate::fits::hardware::Dimension;
use crate::fits::practice::Practice;
use crate::fits::said::Reason;
use crate::fits::{FitError, Provenance, SourceKind};
use crate::quantity::{Length, trim_number};
use std::ops::Range;

/// What can be looked up that way.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Written {
    Sliding,
    Press,
    Hinge,
    Square,
    Pocket,
    Tongue,
    Rim,
    Lip,
    Lid,
    Groove,
    /// A bore or a shaft with one flat, or two.
    Flatted(FeatureKind),
}

/// Words between the sizes that say nothing.
const NOISE: [&str; 13] = ["for", "ring", "o-ring", "oring", "with", "in", "a", "an", "the", "of", "by", "and", "fit"];

/// Where a groove is, in the words of the trade.
const SEATS: [(&str, Seat); 7] = [
    ("face", Seat::Face),
    ("axial", Seat::Face),
    ("lid", Seat::Face),
    ("shaft", Seat::Shaft),
    ("piston", Seat::Shaft),
    ("bore", Seat::Bore),
    ("rod", Seat::Bore),
];

const FLAT_ALIKE: Provenance =
    Provenance::new(SourceKind::Computed, "own choice: a flat takes the deviations of its round");

/// What no printer's allowance is in.
const FINISHED: &str = "sizes of the finished feature: by how much to model it larger or smaller hangs on printer, polymer and way up, \
                        and stands in a recipe (`makeready compile`) or is measured (`makeready coupon`)";

/// The sizes and the other words of a query.
struct Parts<'a> {
    sizes: Vec<(Length, Range<usize>)>,
    others: Vec<Word<'a>>,
}

/// Takes `shaft for ring 20 mm x 2 mm`, `20x30 H9`, `8 mm H11 flat 7 mm` apart.
fn parts<'a>(text: &'a str, words: &[Word<'a>]) -> Result<Parts<'a>, LookUpError> {
    let mut found = Parts { sizes: Vec::new(), others: Vec::new() };
    let mut open: Option<Range<usize>> = None;
    let mut ranges = Vec::new();
    for word in words {
        let number = word.text.starts_with(|c: char| c.is_ascii_digit() || matches!(c, '.' | '-' | '⌀' | 'Ø' | 'ø'));
        if number {
            ranges.extend(open.take());
            // `20x2` and `20mmx2mm` are two sizes.
            let ends = word.text.match_indices(['x', 'X', '×']).map(|(at, cross)| (at, cross.len()));
            let mut from = 0;
            for (end, cross) in ends.chain([(word.text.len(), 0)]) {
                if end > from {
                    ranges.extend(open.replace(word.start + from..word.start + end));
                }
                from = end + cross;
            }
        } else if let Some(from) = open.clone().filter(|_| super::is_unit(word.text)) {
            ranges.push(from.start..word.range().end);
            open = None;
        } else {
            ranges.extend(open.take());
            let lower = word.text.to_lowercase();
            if !NOISE.contains(&lower.as_str()) && !matches!(word.text, "x" | "X" | "×" | "*") {
                found.others.push(*word);
            }
        }
    }
    ranges.extend(open);
    for range in ranges {
        found.sizes.push((length(text, range.clone())?, range));
    }
    Ok(found)
}

/// A size under a key of its own, to a thousandth.
fn sized(key: &'static str, label: &'static str, size: Length, source: &Provenance) -> Dimension {
    Dimension { key, label, value: (size.to_um()).round() / 1000.0, source: source.clone() }
}

fn shifted(size: Length, of: &Demand, to: Length) -> Length {
    Length::um(size.to_um() + to.to_um() - of.nominal.to_um())
}

/// Least, aimed at, greatest.
fn three(demand: &Demand, size: Length, keys: [(&'static str, &'static str); 3]) -> Vec<Dimension> {
    let ends = [demand.limits.low, demand.aim, demand.limits.high];
    let named = keys.into_iter().zip(ends);
    named.map(|((key, label), end)| sized(key, label, shifted(size, demand, end), &demand.source)).collect()
}

const WIDTH: [(&str, &str); 3] =
    [("width_min_mm", "width, least"), ("width_aim_mm", "width to aim at"), ("width_max_mm", "width, greatest")];
const LENGTH: [(&str, &str); 3] =
    [("length_min_mm", "length, least"), ("length_aim_mm", "length to aim at"), ("length_max_mm", "length, greatest")];
const BORE: [(&str, &str); 3] =
    [("bore_min_mm", "bore, least"), ("bore_aim_mm", "bore to aim at"), ("bore_max_mm", "bore, greatest")];
const SHAFT: [(&str, &str); 3] =
    [("shaft_min_mm", "shaft, least"), ("shaft_aim_mm", "shaft to aim at"), ("shaft_max_mm", "shaft, greatest")];
const RIM: [[(&str, &str); 3]; 2] = [
    [("rim_min_mm", "rim, least"), ("rim_aim_mm", "rim to aim at"), ("rim_max_mm", "rim, greatest")],
    [
        ("rim_length_min_mm", "length of the rim, least"),
        ("rim_length_aim_mm", "length of the rim to aim at"),
        ("rim_length_max_mm", "length of the rim, greatest"),
    ],
];
const LIP: [[(&str, &str); 3]; 2] = [
    [("lip_min_mm", "lip, least"), ("lip_aim_mm", "lip to aim at"), ("lip_max_mm", "lip, greatest")],
    [
        ("lip_length_min_mm", "length of the lip, least"),
        ("lip_length_aim_mm", "length of the lip to aim at"),
        ("lip_length_max_mm", "length of the lip, greatest"),
    ],
];
const FLAT: [(&str, &str); 3] = [
    ("flat_min_mm", "over round and flat, least"),
    ("flat_aim_mm", "over round and flat, to aim at"),
    ("flat_max_mm", "over round and flat, greatest"),
];
const FLATS: [(&str, &str); 3] = [
    ("flats_min_mm", "across the two flats, least"),
    ("flats_aim_mm", "across the two flats, to aim at"),
    ("flats_max_mm", "across the two flats, greatest"),
];

/// An answer that grows from one demand after another.
struct Made {
    title: String,
    dimensions: Vec<Dimension>,
    notes: Vec<String>,
}

impl Made {
    fn new(title: String) -> Self {
        Self { title, dimensions: Vec::new(), notes: Vec::new() }
    }

    /// Takes over why a demand is as it is, each reason once.
    fn reasons(&mut self, demand: &Demand) {
        let told = demand.reasons.iter().map(ToString::to_string);
        for note in told.chain(demand.cautions.iter().map(ToString::to_string)) {
            if !self.notes.contains(&note) {
                self.notes.push(note);
            }
        }
    }
}

/// Looks one up; `words` are those behind the first.
pub(super) fn look_up(
    text: &str,
    words: &[Word<'_>],
    what: Written,
    usage: &str,
    practice: &Practice,
) -> Result<LookUp, LookUpError> {
    let parts = parts(text, words)?;
    let whole = 0..text.trim_end().len();
    let wrong = |range: Range<usize>, message: String| LookUpError::new(range, message, format!("write `{usage}`"));
    let sizes: Vec<Length> = parts.sizes.iter().map(|(l, _)| *l).collect();
    let (least, most) = match what {
        Written::Groove | Written::Pocket | Written::Tongue | Written::Flatted(_) => (2, 2),
        Written::Rim | Written::Lip | Written::Lid => (1, 2),
        Written::Sliding | Written::Press | Written::Hinge | Written::Square => (1, 1),
    };
    if sizes.len() < least {
        let message = if sizes.is_empty() { "the size is missing" } else { "the second size is missing" };
        return Err(wrong(whole, message.to_owned()));
    }
    if let Some((_, range)) = parts.sizes.get(most) {
        let message = format!("`{}` is one size too many", text.get(range.clone()).unwrap_or(""));
        return Err(wrong(range.clone(), message));
    }
    let (known, class): (Vec<Word<'_>>, Vec<Word<'_>>) = parts.others.into_iter().partition(|w| takes(what, w.text));
    let takes_class = matches!(what, Written::Pocket | Written::Tongue | Written::Square | Written::Flatted(_));
    if let Some(extra) = class.get(usize::from(takes_class)) {
        return Err(wrong(extra.range(), format!("`{}` was not understood", extra.text)));
    }
    let at = class.first().map_or(whole, Word::range);
    let class = class.first().map(|w| w.text.to_owned());
    let made = answer(what, &sizes, &known, class, practice).map_err(|e| locate(text, at, e))?;
    let mut notes = made.notes;
    notes.push(FINISHED.to_owned());
    Ok(LookUp { query: text.to_owned(), title: made.title, answer: Answer::Dimensions(made.dimensions), notes })
}

/// Whether a word belongs to such a fit, and is no class.
fn takes(what: Written, word: &str) -> bool {
    let lower = word.to_lowercase();
    match what {
        Written::Groove => SEATS.iter().any(|(name, _)| *name == lower),
        Written::Flatted(_) => matches!(lower.as_str(), "flat" | "flats"),
        Written::Hinge => lower == "in-place",
        _ => false,
    }
}

fn answer(
    what: Written,
    sizes: &[Length],
    known: &[Word<'_>],
    class: Option<String>,
    practice: &Practice,
) -> Result<Made, FitError> {
    use FeatureKind::{Hole, Outside};
    let [size, second] = [0, 1].map(|i| sizes.get(i).copied());
    let size = size.unwrap_or(Length::mm(0.0));
    let demand = |function: &FitFunction, kind| function.limits(kind, practice);
    match what {
        Written::Sliding => sides(
            practice,
            &[(FitFunction::Sliding { size, play: None }, Hole), (FitFunction::Sliding { size, play: None }, Outside)],
        ),
        Written::Press => {
            let press = || FitFunction::Press { size, interference: None };
            sides(practice, &[(press(), Hole), (press(), Outside)])
        }
        Written::Hinge => {
            let hinge = || FitFunction::Hinge { pin: size, in_place: !known.is_empty() };
            sides(practice, &[(hinge(), Hole), (hinge(), Outside)])
        }
        Written::Square | Written::Pocket | Written::Tongue => {
            let kind = if what == Written::Tongue { Outside } else { Hole };
            let length = second.filter(|_| what != Written::Square);
            let found = demand(&FitFunction::Flats { size, length, symbol: class }, kind)?;
            let mut made = Made::new(found.named.to_string());
            made.dimensions.extend(three(&found, size, WIDTH));
            made.dimensions.extend(length.into_iter().flat_map(|l| three(&found, l, LENGTH)));
            made.reasons(&found);
            if kind == Hole {
                let relief = Length::mm(practice.corner_relief * practice.usual_bore.to_mm());
                made.notes.push(Reason::Corners(relief).to_string());
            }
            Ok(made)
        }
        Written::Rim | Written::Lip | Written::Lid => {
            let lid = FitFunction::Lid { size, length: second };
            let both = [(Hole, RIM), (Outside, LIP)];
            let wanted = both.into_iter().filter(|(kind, _)| match what {
                Written::Rim => *kind == Hole,
                Written::Lip => *kind == Outside,
                _ => true,
            });
            let mut made: Option<Made> = None;
            for (kind, [across, along]) in wanted {
                let found = demand(&lid, kind)?;
                let made = made.get_or_insert_with(|| Made::new(found.named.to_string()));
                made.dimensions.extend(three(&found, size, across));
                made.dimensions.extend(second.into_iter().flat_map(|l| three(&found, l, along)));
                made.reasons(&found);
            }
            let mut made = made.unwrap_or_else(|| Made::new(String::new()));
            if what == Written::Lid {
                let sides: Vec<String> = sizes.iter().map(|l| format!("{} mm", trim_number(l.to_mm(), 3))).collect();
                made.title = format!("rim and lip of a lid {}", sides.join(" x "));
                // Each side keeps its half against a mate of nominal size: both at once are twice the play.
                made.notes.push(
                    "each side is for a mate of nominal size: where both are printed, draw one of them nominal"
                        .to_owned(),
                );
            }
            Ok(made)
        }
        Written::Flatted(kind) => {
            let class = class.unwrap_or_else(|| if kind == Hole { "H11" } else { "h11" }.to_owned());
            let across = second.unwrap_or(size);
            let two = known.iter().any(|w| w.text.eq_ignore_ascii_case("flats"));
            let least = if two { 0.0 } else { 0.5 * size.to_mm() };
            if across.to_mm() <= least || across >= size {
                let [most, least] = [size.to_mm(), least].map(|mm| trim_number(mm, 3));
                let message = format!(
                    "a flat on a round of {most} mm lies over {least} mm and under {most} mm from its far side"
                );
                return Err(FitError::new(
                    "",
                    message,
                    "the diameter comes first, then the size a caliper takes over the flat",
                ));
            }
            let found = demand(&FitFunction::Iso { size, symbol: class }, kind)?;
            let mut made = Made::new(format!(
                "{}, {} {} mm",
                found.named,
                if two { "flats" } else { "flat" },
                trim_number(across.to_mm(), 3)
            ));
            made.dimensions.extend(three(&found, size, if kind == Hole { BORE } else { SHAFT }));
            let flat = Demand { source: FLAT_ALIKE, ..found.clone() };
            made.dimensions.extend(three(&flat, across, if two { FLATS } else { FLAT }));
            made.reasons(&found);
            Ok(made)
        }
        Written::Groove => {
            let section = second.unwrap_or(size);
            let asked: Vec<Seat> = SEATS
                .iter()
                .filter(|(name, _)| known.iter().any(|w| w.text.to_lowercase() == *name))
                .map(|s| s.1)
                .collect();
            let seats = if asked.is_empty() { vec![Seat::Face, Seat::Shaft, Seat::Bore] } else { asked };
            let mut made: Option<Made> = None;
            for seat in seats {
                let found = demand(&FitFunction::Groove { seat, inside: size, section }, side_of(seat))?;
                let groove = groove::groove(seat, size, section, practice)?;
                let ring = [size, section].map(|l| trim_number(l.to_mm(), 3)).join(" mm x ");
                let made = made.get_or_insert_with(|| Made::new(format!("groove for an O-ring of {ring} mm at rest")));
                made.dimensions.extend(of_groove(seat, &groove, &found.source));
                made.reasons(&found);
            }
            Ok(made.unwrap_or_else(|| Made::new(String::new())))
        }
    }
}

/// Both sides of a fit that is round, each against a mate of nominal size.
fn sides(practice: &Practice, of: &[(FitFunction, FeatureKind)]) -> Result<Made, FitError> {
    let mut made: Option<Made> = None;
    for (function, kind) in of {
        let found = function.limits(*kind, practice)?;
        let made = made.get_or_insert_with(|| Made::new(found.named.to_string()));
        let keys = if *kind == FeatureKind::Hole { BORE } else { SHAFT };
        made.dimensions.extend(three(&found, found.nominal, keys));
        made.reasons(&found);
    }
    Ok(made.unwrap_or_else(|| Made::new(String::new())))
}

/// On which side of its mate a groove is.
const fn side_of(seat: Seat) -> FeatureKind {
    match seat {
        Seat::Face | Seat::Bore => FeatureKind::Hole,
        Seat::Shaft => FeatureKind::Outside,
    }
}

/// The sizes of a groove: what its floor or depth is held to, its width, its mate.
fn of_groove(seat: Seat, groove: &groove::Groove, source: &Provenance) -> Vec<Dimension> {
    let hundredth = |l: Length| Length::um((l.to_um() / 10.0).round() * 10.0);
    let keys: [(&'static str, &'static str); 6] = match seat {
        Seat::Face => [
            ("face_depth_min_mm", "in a face: depth, least"),
            ("face_depth_mm", "in a face: depth to aim at"),
            ("face_depth_max_mm", "in a face: depth, greatest"),
            ("face_outer_mm", "in a face: outer wall, pressure from inside"),
            ("face_width_min_mm", "in a face: width, least"),
            ("face_width_max_mm", "in a face: width, greatest"),
        ],
        Seat::Shaft => [
            ("shaft_floor_min_mm", "round a shaft: floor, least"),
            ("shaft_floor_mm", "round a shaft: floor to aim at"),
            ("shaft_floor_max_mm", "round a shaft: floor, greatest"),
            ("shaft_bore_mm", "round a shaft: bore over it"),
            ("shaft_width_min_mm", "round a shaft: width, least"),
            ("shaft_width_max_mm", "round a shaft: width, greatest"),
        ],
        Seat::Bore => [
            ("bore_floor_min_mm", "in a bore: floor, least"),
            ("bore_floor_mm", "in a bore: floor to aim at"),
            ("bore_floor_max_mm", "in a bore: floor, greatest"),
            ("bore_shaft_mm", "in a bore: shaft through it"),
            ("bore_width_min_mm", "in a bore: width, least"),
            ("bore_width_max_mm", "in a bore: width, greatest"),
        ],
    };
    let Limits { low, high } = groove.limits;
    let values = [low, groove.size, high, groove.other, groove.width.low, groove.width.high];
    keys.into_iter().zip(values).map(|((key, label), value)| sized(key, label, hundredth(value), source)).collect()
}
