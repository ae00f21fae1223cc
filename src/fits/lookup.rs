//! Look-ups by hand: `20 mm H7/g6`, `M5 medium`, `bearing 608`, `thread M10`, `nut M6` ...

use super::feature::FeatureKind;
use super::hardware::{self, Dimension, Hardware, InsertData, Series};
use super::iso286::{self, Deviations, FitLimits, Grade, Member, Zone};
use super::practice::Practice;
use super::{FitError, Provenance, general};
use crate::quantity::{Length, Quantity, trim_number};
use serde::Serialize;
use serde::ser::{SerializeMap, Serializer};
use std::ops::Range;

mod written;

use written::Written;

/// The answer to a look-up, with the sources of its numbers.
#[derive(Debug, Clone, PartialEq)]
pub struct LookUp {
    pub query: String,
    pub title: String,
    pub answer: Answer,
    pub notes: Vec<String>,
}

/// What was found.
#[derive(Debug, Clone, PartialEq)]
pub enum Answer {
    /// A pair by ISO 286.
    Pair { size: Length, hole: Zone, shaft: Zone, limits: FitLimits },
    /// One member by ISO 286.
    Single { size: Length, zone: Zone, deviations: Deviations },
    /// Named dimensions of standard parts.
    Dimensions(Vec<Dimension>),
}

/// Why a look-up failed: what is wrong, what to write instead, and where in the text.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct LookUpError {
    pub message: String,
    pub hint: String,
    /// Byte range in the text looked up.
    pub range: Range<usize>,
}

impl LookUpError {
    fn new(range: Range<usize>, message: impl Into<String>, hint: impl Into<String>) -> Self {
        Self { message: message.into(), hint: hint.into(), range }
    }
}

impl std::fmt::Display for LookUpError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.message)?;
        if self.hint.is_empty() { Ok(()) } else { write!(f, "\nhint: {}", self.hint) }
    }
}

impl std::error::Error for LookUpError {}

/// A word of the query and where it begins.
#[derive(Debug, Clone, Copy)]
struct Word<'a> {
    text: &'a str,
    start: usize,
}

impl Word<'_> {
    fn range(&self) -> Range<usize> {
        self.start..self.start + self.text.len()
    }
}

fn words(text: &str) -> Vec<Word<'_>> {
    text.split_whitespace()
        .map(|word| Word { text: word, start: word.as_ptr() as usize - text.as_ptr() as usize })
        .collect()
}

/// Gives a table's error its place: the words at fault where they can be found in the text, else the given range.
fn locate(text: &str, within: Range<usize>, error: FitError) -> LookUpError {
    let piece = text.get(within.clone()).unwrap_or("");
    let range = match piece.find(error.part.as_str()) {
        Some(at) if !error.part.is_empty() => within.start + at..within.start + at + error.part.len(),
        _ => within,
    };
    LookUpError { message: error.message, hint: error.hint, range }
}

/// What can be looked up, by its first word.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    Clearance,
    Thread,
    Nut,
    Washer,
    Head,
    Countersink,
    Insert,
    Bearing,
    Dowel,
    Magnet,
    General,
    Keyway,
    /// By the figures of the trade.
    Written(Written),
}

/// First words and how each look-up is written.
const KINDS: [(&str, Kind, &str); 47] = [
    ("sliding", Kind::Written(Written::Sliding), "sliding 12 mm"),
    ("slide", Kind::Written(Written::Sliding), "sliding 12 mm"),
    ("press", Kind::Written(Written::Press), "press 8 mm"),
    ("hinge", Kind::Written(Written::Hinge), "hinge 4 mm"),
    ("square", Kind::Written(Written::Square), "square 9 mm"),
    ("pocket", Kind::Written(Written::Pocket), "pocket 8 mm x 20 mm"),
    ("mortise", Kind::Written(Written::Pocket), "pocket 8 mm x 20 mm"),
    ("mortice", Kind::Written(Written::Pocket), "pocket 8 mm x 20 mm"),
    ("recess", Kind::Written(Written::Pocket), "pocket 8 mm x 20 mm"),
    ("tongue", Kind::Written(Written::Tongue), "tongue 8 mm x 20 mm"),
    ("tenon", Kind::Written(Written::Tongue), "tongue 8 mm x 20 mm"),
    ("rim", Kind::Written(Written::Rim), "rim 60 mm x 40 mm"),
    ("lip", Kind::Written(Written::Lip), "lip 60 mm x 40 mm"),
    ("lid", Kind::Written(Written::Lid), "lid 60 mm x 40 mm"),
    ("cover", Kind::Written(Written::Lid), "lid 60 mm x 40 mm"),
    ("cap", Kind::Written(Written::Lid), "lid 60 mm x 40 mm"),
    ("groove", Kind::Written(Written::Groove), "groove shaft for ring 20 mm x 2.5 mm"),
    ("o-ring", Kind::Written(Written::Groove), "groove shaft for ring 20 mm x 2.5 mm"),
    ("oring", Kind::Written(Written::Groove), "groove shaft for ring 20 mm x 2.5 mm"),
    ("ring", Kind::Written(Written::Groove), "groove shaft for ring 20 mm x 2.5 mm"),
    ("seal", Kind::Written(Written::Groove), "groove shaft for ring 20 mm x 2.5 mm"),
    ("d-bore", Kind::Written(Written::Flatted(FeatureKind::Hole)), "bore 8 mm H11 flat 7 mm"),
    ("d-hole", Kind::Written(Written::Flatted(FeatureKind::Hole)), "bore 8 mm H11 flat 7 mm"),
    ("double-d", Kind::Written(Written::Flatted(FeatureKind::Hole)), "bore 8 mm H11 flats 6 mm"),
    ("d-shaft", Kind::Written(Written::Flatted(FeatureKind::Outside)), "shaft 8 mm h11 flat 7 mm"),
    ("key", Kind::Keyway, "keyway 20 mm"),
    ("o_ring", Kind::Written(Written::Groove), "groove shaft for ring 20 mm x 2.5 mm"),
    ("slip", Kind::Written(Written::Sliding), "sliding 12 mm"),
    ("interference", Kind::Written(Written::Press), "press 8 mm"),
    ("keyway", Kind::Keyway, "keyway 20 mm"),
    ("clearance", Kind::Clearance, "clearance M5 medium"),
    ("hole", Kind::Clearance, "hole M5 medium"),
    ("thread", Kind::Thread, "thread M10"),
    ("tap", Kind::Thread, "tap M5"),
    ("nut", Kind::Nut, "nut M6"),
    ("washer", Kind::Washer, "washer M6"),
    ("head", Kind::Head, "head M6"),
    ("screw", Kind::Head, "screw M6"),
    ("counterbore", Kind::Head, "counterbore M6"),
    ("countersink", Kind::Countersink, "countersink M4"),
    ("insert", Kind::Insert, "insert M3"),
    ("bearing", Kind::Bearing, "bearing 608"),
    ("dowel", Kind::Dowel, "dowel 6 mm"),
    ("pin", Kind::Dowel, "pin 6 mm"),
    ("magnet", Kind::Magnet, "magnet 8 mm x 3 mm"),
    ("general", Kind::General, "general 50 mm m"),
    ("tolerance", Kind::General, "tolerance 50 mm m"),
];

const FORMS: &str = "write a size and an ISO class (`20 mm H7/g6`), a thread and a series (`M5 medium`), or a part: `bearing 608`, \
                     `thread M10`, `nut M6`, `washer M6`, `head M6`, `countersink M4`, `insert M3`, `dowel 6 mm`, `magnet 8 mm x 3 mm`, \
                     `keyway 20 mm`, `slot 6 mm H11`; or what no table has: `pocket 8 mm x 20 mm`, `tongue 8 mm x 20 mm`, `square 9 mm`, \
                     `lid 60 mm x 40 mm`, `groove shaft for ring 20 mm x 2.5 mm`, `bore 8 mm H11 flat 7 mm`, `sliding 12 mm`, `press 8 mm`";

/// What a spec writes before a size and its class.
const SIDES: [&str; 3] = ["bore", "shaft", "slot"];

/// The longest text that is looked at.
const LONGEST: usize = 200;

/// Looks up a fit, a hole or a standard part.
pub fn look_up(text: &str, practice: &Practice) -> Result<LookUp, LookUpError> {
    look_up_with(text, practice, &[])
}

/// Looks up a fit, a hole or a standard part; the shop's own inserts come before the usual ones.
pub fn look_up_with(text: &str, practice: &Practice, inserts: &[InsertData]) -> Result<LookUp, LookUpError> {
    if text.len() > LONGEST {
        return Err(LookUpError::new(0..text.len(), "the text is too long for one look-up", FORMS));
    }
    let words = words(text);
    let Some(first) = words.first() else {
        return Err(LookUpError::new(0..text.len(), "there is nothing to look up", FORMS));
    };
    let lower = first.text.to_lowercase();
    if let Some((_, kind, usage)) = KINDS.iter().find(|(name, ..)| *name == lower) {
        return look_up_kind(text, &words, *kind, usage, (practice, inserts));
    }
    if let Some(kind) = flatted(&lower, &words) {
        let usage = "bore 8 mm H11 flat 7 mm";
        return written::look_up(text, words.get(1..).unwrap_or(&[]), Written::Flatted(kind), usage, practice);
    }
    // As a spec has it: `bore 20 mm H7`, `shaft 12 mm g6`, `slot 6 mm H11`.
    // A square has the class of its width: `bore square 9 mm H11`.
    let size = words.iter().skip(1).find(|w| w.text != "square");
    if let Some(second) = size.filter(|_| SIDES.contains(&lower.as_str())) {
        let rest = text.get(second.start..).unwrap_or("");
        if let Some(size) = sole_size(rest) {
            let class = if lower == "shaft" { "h9" } else { "H11" };
            let hint = format!("write how close it is kept: `{} {size} {class}`", first.text);
            return Err(LookUpError::new(second.range(), "a size alone has nothing to look up", hint));
        }
        return look_up_iso(rest)
            .map_err(|e| LookUpError { range: e.range.start + second.start..e.range.end + second.start, ..e });
    }
    if is_thread(first.text) {
        return look_up_thread_first(text, &words);
    }
    if first.text.contains(|c: char| c.is_ascii_digit() || matches!(c, '⌀' | 'Ø' | 'ø')) {
        return look_up_iso(text);
    }
    let hint = match crate::diag::nearest(&lower, KINDS.iter().map(|(name, ..)| *name)) {
        Some(near) => {
            let usage = KINDS.iter().find(|(name, ..)| *name == near).map_or("", |(.., usage)| *usage);
            format!("did you mean `{near}`? write `{usage}`")
        }
        None => FORMS.to_owned(),
    };
    Err(LookUpError::new(first.range(), format!("`{}` is nothing that can be looked up", first.text), hint))
}

/// Returns a size behind which nothing stands.
fn sole_size(rest: &str) -> Option<&str> {
    let parts = iso_parts(rest).ok()?;
    rest.get(parts.size.filter(|_| parts.classes.is_empty())?)
}

/// Returns on which side a round with flats is: `bore 8 mm H11 flat 7 mm`, `shaft 8 mm h11 flats 6 mm`.
fn flatted(first: &str, words: &[Word<'_>]) -> Option<FeatureKind> {
    let kind = match first {
        "bore" => FeatureKind::Hole,
        "shaft" => FeatureKind::Outside,
        _ => return None,
    };
    words.iter().any(|w| matches!(w.text.to_lowercase().as_str(), "flat" | "flats")).then_some(kind)
}

fn is_thread(text: &str) -> bool {
    let mut chars = text.chars();
    matches!(chars.next(), Some('M' | 'm')) && chars.next().is_some_and(|c| c.is_ascii_digit())
}

fn found(query: &str, hardware: Hardware) -> LookUp {
    LookUp {
        query: query.to_owned(),
        title: hardware.title,
        answer: Answer::Dimensions(hardware.dimensions),
        notes: hardware.notes.iter().map(|n| (*n).to_owned()).collect(),
    }
}

fn look_up_kind(
    text: &str,
    words: &[Word<'_>],
    kind: Kind,
    usage: &str,
    (practice, inserts): (&Practice, &[InsertData]),
) -> Result<LookUp, LookUpError> {
    let Some(second) = words.get(1) else {
        let range = words.first().map_or(0..text.len(), Word::range);
        return Err(LookUpError::new(range, "the size is missing", format!("write `{usage}`")));
    };
    let within = second.start..text.trim_end().len();
    let rest = text.get(within.clone()).unwrap_or("");
    let hardware = match kind {
        // `hole 8 mm H9`: a hole with a class, and no screw's.
        Kind::Clearance if !is_thread(second.text) => {
            return look_up_iso(rest)
                .map_err(|e| LookUpError { range: e.range.start + within.start..e.range.end + within.start, ..e });
        }
        Kind::Written(what) => return written::look_up(text, words.get(1..).unwrap_or(&[]), what, usage, practice),
        Kind::Clearance => return look_up_thread_first(text, words.get(1..).unwrap_or(&[])),
        Kind::Thread => hardware::thread(rest),
        Kind::Nut => hardware::nut(rest),
        Kind::Washer => hardware::washer(rest),
        Kind::Head => hardware::socket_head(rest),
        Kind::Countersink => hardware::countersink(rest),
        Kind::Insert => hardware::insert(rest, inserts),
        Kind::Bearing => hardware::bearing(rest),
        Kind::Dowel => hardware::dowel(length(text, within.clone())?),
        Kind::Magnet => return magnet(text, within),
        Kind::General => return general_tolerance(text, words),
        Kind::Keyway => {
            // `keyway for shaft 20 mm`, as a spec has it.
            let size = words.iter().skip(1).find(|w| !["for", "shaft"].contains(&w.text));
            let range = size.map_or(within.clone(), |w| w.start..within.end);
            hardware::keyway(length(text, range)?)
        }
    };
    hardware.map(|h| found(text, h)).map_err(|e| locate(text, within, e))
}

/// Reads a length; a bare number is millimetres.
fn length(text: &str, range: Range<usize>) -> Result<Length, LookUpError> {
    let piece = text.get(range.clone()).unwrap_or("").trim_start_matches(['⌀', 'Ø', 'ø']);
    let quantity =
        Quantity::parse(piece).map_err(|e| LookUpError::new(range.clone(), e.to_string(), "write `20 mm`"))?;
    if quantity.dimension == crate::quantity::Dimension::NONE {
        return Ok(Length::mm(quantity.si));
    }
    Length::try_from(quantity).map_err(|dimension| {
        LookUpError::new(range, format!("expected a length, found {}", dimension.name()), "write `20 mm`")
    })
}

fn magnet(text: &str, within: Range<usize>) -> Result<LookUp, LookUpError> {
    let piece = text.get(within.clone()).unwrap_or("");
    let cross = piece.char_indices().find(|(_, c)| matches!(c, 'x' | 'X' | '×'));
    let (diameter, thickness) = match cross {
        Some((at, c)) => {
            let second = within.start + at + c.len_utf8()..within.end;
            (length(text, within.start..within.start + at)?, Some(length(text, second)?))
        }
        None => (length(text, within.clone())?, None),
    };
    hardware::magnet(diameter, thickness).map(|h| found(text, h)).map_err(|e| locate(text, within, e))
}

fn general_tolerance(text: &str, words: &[Word<'_>]) -> Result<LookUp, LookUpError> {
    let usage = "write `general 50 mm m` with a class f, m, c or v of ISO 2768-1";
    let Some((last, middle)) = words.get(1..).and_then(<[Word<'_>]>::split_last) else {
        return Err(LookUpError::new(0..text.len(), "the size is missing", usage));
    };
    let Some(first) = middle.first() else {
        return Err(LookUpError::new(last.range(), "a size and a class are needed", usage));
    };
    let size = length(text, first.start..middle.last().map_or(first.start, |w| w.range().end))?;
    let class = last.text.to_ascii_lowercase();
    let value = general::linear(size, &class).map_err(|e| locate(text, first.start..last.range().end, e))?;
    let dimension = Dimension {
        key: "plus_minus_mm",
        label: "general tolerance, plus-minus",
        value: trim_number(value.to_mm(), 3).parse().unwrap_or(value.to_mm()),
        source: general::SOURCE,
    };
    Ok(LookUp {
        query: text.to_owned(),
        title: format!("general tolerance {} mm, ISO 2768-{class}", trim_number(size.to_mm(), 3)),
        answer: Answer::Dimensions(vec![dimension]),
        notes: vec!["written for cutting and forming: printing is not claimed to keep it".to_owned()],
    })
}

/// `M5 medium`, `M5` (all series and the tap drill), `M10x1.25` (the thread).
fn look_up_thread_first(text: &str, words: &[Word<'_>]) -> Result<LookUp, LookUpError> {
    let Some(first) = words.first() else {
        return Err(LookUpError::new(0..text.len(), "the thread is missing", "write `M5 medium`"));
    };
    if let Some(extra) = words.get(2) {
        let hint = "a thread and a series are enough: `M5 medium`";
        return Err(LookUpError::new(extra.range(), format!("`{}` was not understood", extra.text), hint));
    }
    let result = match words.get(1) {
        Some(second) => {
            let series = Series::parse(second.text).ok_or_else(|| {
                let near = crate::diag::nearest(second.text, Series::ALL.map(Series::as_str));
                let hint = near
                    .map_or("the series are fine, medium and coarse".to_owned(), |n| format!("did you mean `{n}`?"));
                LookUpError::new(second.range(), format!("`{}` is no series of ISO 273", second.text), hint)
            })?;
            hardware::clearance_hole(first.text, series)
        }
        None if hardware::normal_thread(first.text).contains('x') => hardware::thread(first.text),
        None => thread_summary(first.text),
    };
    result.map(|h| found(text, h)).map_err(|e| locate(text, first.range(), e))
}

/// The holes a thread size may want: all clearance series and the tap drill.
fn thread_summary(thread: &str) -> Result<Hardware, FitError> {
    let mut dimensions = Vec::new();
    for (series, key, label) in [
        (Series::Fine, "hole_fine_mm", "clearance hole, fine"),
        (Series::Medium, "hole_medium_mm", "clearance hole, medium"),
        (Series::Coarse, "hole_coarse_mm", "clearance hole, coarse"),
    ] {
        let hole = hardware::clearance_hole(thread, series)?;
        dimensions.extend(hole.dimensions.into_iter().filter(|d| d.key == "hole_mm").map(|d| Dimension {
            key,
            label,
            ..d
        }));
    }
    if let Ok(data) = hardware::thread(thread) {
        dimensions.extend(data.dimensions.into_iter().filter(|d| matches!(d.key, "tap_drill_mm" | "pitch_mm")));
    }
    Ok(Hardware {
        title: format!("holes for {}", hardware::normal_thread(thread)),
        dimensions,
        notes: vec!["write `thread`, `nut`, `washer`, `head`, `countersink` or `insert` before the size for more"],
    })
}

/// A piece of an ISO look-up: the size, its unit, or a class.
struct IsoParts {
    size: Option<Range<usize>>,
    classes: Vec<Range<usize>>,
}

/// Takes `20 mm H7/g6`, `20H7/g6`, `H7/g6 20` apart.
fn iso_parts(text: &str) -> Result<IsoParts, LookUpError> {
    let mut parts = IsoParts { size: None, classes: Vec::new() };
    for word in words(text) {
        let body = word.text.trim_start_matches(['⌀', 'Ø', 'ø']);
        let start = word.range().end - body.len();
        let number_end =
            body.find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | ',' | '-' | '+'))).unwrap_or(body.len());
        if body.starts_with(|c: char| c.is_ascii_digit() || matches!(c, '-' | '+')) {
            if parts.size.is_some() {
                let message = format!("`{body}` is a second size");
                return Err(LookUpError::new(word.range(), message, "one size and one class or pair: `20 mm H7/g6`"));
            }
            let tail = body.get(number_end..).unwrap_or("");
            let unit = crate::quantity::Quantity::with_unit(1.0, tail).is_ok();
            let end = if unit { start + body.len() } else { start + number_end };
            parts.size = Some(start..end);
            if !unit && !tail.is_empty() {
                parts.classes.push(end..start + body.len());
            }
        } else if parts.size.as_ref().is_some_and(|s| only_gap(text, s.end, start)) && is_unit(body) {
            let from = parts.size.as_ref().map_or(start, |s| s.start);
            parts.size = Some(from..start + body.len());
        } else {
            parts.classes.push(start..start + body.len());
        }
    }
    Ok(parts)
}

fn only_gap(text: &str, from: usize, to: usize) -> bool {
    text.get(from..to).is_some_and(|gap| gap.trim().is_empty())
}

fn is_unit(text: &str) -> bool {
    !text.is_empty() && Quantity::with_unit(1.0, text).is_ok()
}

fn look_up_iso(text: &str) -> Result<LookUp, LookUpError> {
    let parts = iso_parts(text)?;
    let whole = 0..text.trim_end().len();
    let Some(first) = parts.classes.first() else {
        let hint = "add an ISO 286 class or pair: `20 mm H7/g6`; bearings are written `bearing 608`";
        return Err(LookUpError::new(whole, "a size alone has nothing to look up", hint));
    };
    let last = parts.classes.last().unwrap_or(first);
    let classes = first.start..last.end;
    let Some(size_range) = parts.size else {
        return Err(LookUpError::new(classes, "the size is missing", "write `20 mm H7/g6`"));
    };
    let size = length(text, size_range.clone())?;
    let symbol: String =
        parts.classes.iter().filter_map(|r| text.get(r.clone())).collect::<Vec<_>>().join(" ").replace(" / ", "/");
    let place = |e: FitError| {
        // An error about the size points at the size, one about a class at the class.
        let at = if e.part.ends_with("mm") { size_range.clone() } else { classes.clone() };
        locate(text, at, e)
    };
    answer_iso(text, size, symbol.trim()).map_err(place)
}

fn answer_iso(text: &str, size: Length, symbol: &str) -> Result<LookUp, FitError> {
    let shown = format!("{} mm", trim_number(size.to_mm(), 3));
    let pair = symbol.replacen(' ', "/", usize::from(!symbol.contains('/')));
    if let Some(grade) = symbol.strip_prefix("IT").and_then(Grade::parse) {
        let value = iso286::standard_tolerance_um(size, grade)?;
        let source = iso286::tolerance_source(size, grade);
        let dimension = Dimension { key: "it_um", label: "standard tolerance", value, source };
        return Ok(LookUp {
            query: text.to_owned(),
            title: format!("IT{grade} at {shown}"),
            answer: Answer::Dimensions(vec![dimension]),
            notes: Vec::new(),
        });
    }
    if pair.contains('/') {
        let (hole, shaft) = iso286::parse_pair(&pair)?;
        let limits = iso286::pair_of(size, &hole, &shaft)?;
        return Ok(LookUp {
            query: text.to_owned(),
            title: format!("{shown} {hole}/{shaft}"),
            answer: Answer::Pair { size, hole, shaft, limits },
            notes: Vec::new(),
        });
    }
    let zone = Zone::parse(symbol)?;
    let deviations = iso286::limits(size, &zone)?;
    Ok(LookUp {
        query: text.to_owned(),
        title: format!("{shown} {zone}"),
        answer: Answer::Single { size, zone, deviations },
        notes: Vec::new(),
    })
}

/// Returns the size that lies so many micrometres over another, mm, to a ten-thousandth.
pub fn at(size: Length, um: f64) -> f64 {
    ((size.to_um() + um) * 10.0).round() / 10_000.0
}

/// One member in the JSON form.
#[derive(Serialize)]
struct MemberForm {
    class: String,
    #[serde(serialize_with = "super::plain_number")]
    upper_um: f64,
    #[serde(serialize_with = "super::plain_number")]
    lower_um: f64,
    #[serde(serialize_with = "super::plain_number")]
    max_mm: f64,
    #[serde(serialize_with = "super::plain_number")]
    min_mm: f64,
    from: iso286::How,
}

fn member(size: Length, zone: &Zone, d: &Deviations) -> MemberForm {
    MemberForm {
        class: zone.to_string(),
        upper_um: d.upper_um,
        lower_um: d.lower_um,
        max_mm: at(size, d.upper_um),
        min_mm: at(size, d.lower_um),
        from: d.how,
    }
}

/// Serialises a number without a needless fraction.
struct Plain(f64);

impl Serialize for Plain {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        super::plain_number(&self.0, serializer)
    }
}

impl LookUp {
    /// Returns the sources of the answer, each once, in the order of its dimensions.
    pub fn sources(&self) -> Vec<Provenance> {
        match &self.answer {
            Answer::Pair { size, hole, shaft, .. } => iso286::sources(*size, &[hole, shaft]),
            Answer::Single { size, zone, .. } => iso286::sources(*size, &[zone]),
            Answer::Dimensions(dimensions) => {
                let mut sources: Vec<Provenance> = Vec::new();
                for dimension in dimensions {
                    if !sources.contains(&dimension.source) {
                        sources.push(dimension.source.clone());
                    }
                }
                sources
            }
        }
    }
}

impl Serialize for LookUp {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut map = serializer.serialize_map(None)?;
        map.serialize_entry("query", &self.query)?;
        map.serialize_entry("title", &self.title)?;
        match &self.answer {
            Answer::Pair { size, hole, shaft, limits } => {
                map.serialize_entry("size_mm", &Plain(at(*size, 0.0)))?;
                map.serialize_entry("hole", &member(*size, hole, &limits.hole))?;
                map.serialize_entry("shaft", &member(*size, shaft, &limits.shaft))?;
                map.serialize_entry("clearance", &limits.clearance)?;
                map.serialize_entry("character", &limits.character)?;
            }
            Answer::Single { size, zone, deviations } => {
                map.serialize_entry("size_mm", &Plain(at(*size, 0.0)))?;
                let name = if zone.member == Member::Hole { "hole" } else { "shaft" };
                map.serialize_entry(name, &member(*size, zone, deviations))?;
            }
            Answer::Dimensions(dimensions) => {
                for d in dimensions {
                    map.serialize_entry(d.key, &Plain(d.value))?;
                }
                let by_key: std::collections::BTreeMap<&str, String> =
                    dimensions.iter().map(|d| (d.key, d.source.to_string())).collect();
                map.serialize_entry("source_of", &by_key)?;
            }
        }
        map.serialize_entry("notes", &self.notes)?;
        map.serialize_entry("sources", &self.sources())?;
        map.end()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn json(text: &str) -> serde_json::Value {
        serde_json::to_value(look_up(text, &Practice::usual()).unwrap_or_else(|e| panic!("{text}: {e}"))).unwrap()
    }

    /// FIT-01 in every spelling a fitter might use.
    #[test]
    fn a_pair_in_many_spellings() {
        for text in [
            "20 mm H7/g6",
            "20 H7/g6",
            "20H7/g6",
            "⌀20 H7/g6",
            "H7/g6 20 mm",
            "2 cm H7/g6",
            "20mm H7 / g6",
            "20 mm H7 g6",
        ] {
            let value = json(text);
            assert_eq!(value["hole"]["upper_um"], 21, "{text}");
            assert_eq!(value["shaft"]["lower_um"], -20, "{text}");
            assert_eq!(value["clearance"]["min_um"], 7, "{text}");
            assert_eq!(value["clearance"]["max_um"], 41, "{text}");
            assert_eq!(value["hole"]["max_mm"], 20.021, "{text}");
        }
    }

    #[test]
    fn parts_by_name() {
        assert_eq!(json("M5 medium")["hole_mm"], 5.5);
        assert_eq!(json("clearance m5 coarse")["hole_mm"], 5.8);
        assert_eq!(json("M5")["hole_fine_mm"], 5.3);
        assert_eq!(json("bearing 608")["outside_mm"], 22);
        assert_eq!(json("bearing 608-2RS")["bore_mm"], 8);
        assert_eq!(json("thread M10")["pitch_diameter_mm"], 9.026);
        assert_eq!(json("M10x1.25")["pitch_mm"], 1.25);
        assert_eq!(json("nut M6")["across_flats_mm"], 10);
        assert_eq!(json("insert M3")["hole_mm"], 4);
        assert_eq!(json("dowel 6 mm")["pin_max_mm"], 6.012);
        assert_eq!(json("magnet 8x3")["pocket_mm"], 8.2);
        assert_eq!(json("magnet 8 mm x 3 mm")["pocket_depth_mm"], 3.2);
        assert_eq!(json("countersink M4")["socket_countersink_mm"], 8.96);
        assert_eq!(json("head M6")["head_diameter_knurled_mm"], 10.22);
        assert_eq!(json("washer M6")["outside_mm"], 12);
        assert_eq!(json("20 mm H7")["hole"]["upper_um"], 21);
        assert_eq!(json("20 IT7")["it_um"], 21);
        // GT-01 and GT-02 of the reference cases (ISO 2768-1:1989 Table 1).
        assert_eq!(json("general 50 mm m")["plus_minus_mm"], 0.3);
        assert_eq!(json("tolerance 6 c")["plus_minus_mm"], 0.3);
    }

    /// Whatever a spec can write is looked up as it is written there, and as people write it who have not read how.
    #[test]
    fn fits_of_a_spec_are_looked_up() {
        // A ring at rest between shaft and bore: squeezed by a fifth of its section, which stretching by a fiftieth has thinned.
        let thin = 2.5 / 1.02_f64.sqrt();
        for text in ["groove shaft for ring 20 mm x 2.5 mm", "groove piston 20x2.5", "o-ring shaft 20 x 2.5"] {
            let found = json(text);
            assert_eq!(found["shaft_floor_mm"], 20.4, "{text}");
            let bore = found["shaft_bore_mm"].as_f64().unwrap();
            assert!((bore - (20.4 + 1.6 * thin)).abs() < 6e-3, "{text}: {bore}");
            assert!(found.get("face_depth_mm").is_none(), "{text}");
        }
        let all = json("oring 20mmx2.5mm");
        assert!(["face_depth_mm", "shaft_floor_mm", "bore_floor_mm"].iter().all(|k| all[k].is_number()), "{all}");
        let pocket = json("pocket 8 mm x 20 mm H11");
        assert_eq!([&pocket["width_max_mm"], &pocket["length_min_mm"]].map(|v| v.as_f64()), [Some(8.09), Some(20.0)]);
        let pocket = json("pocket 8x20");
        let over = |key: &str, size: f64| pocket[key].as_f64().unwrap() - size;
        assert!((over("width_max_mm", 8.0) - over("length_max_mm", 20.0)).abs() < 1e-9, "one play for both");
        assert!(json("tongue 8x20")["width_max_mm"].as_f64() < Some(8.0));
        assert!(pocket["notes"].to_string().contains("relief"));
        let lid = json("lid 60 mm x 40 mm");
        let play = lid["rim_aim_mm"].as_f64().unwrap() - 60.0;
        assert!(play > 0.0 && (60.0 - lid["lip_aim_mm"].as_f64().unwrap() - play).abs() < 1e-9, "{lid}");
        assert!(json("rim 60").get("lip_aim_mm").is_none() && json("rim 60").get("rim_length_aim_mm").is_none());
        // H11 at 8 mm is 90 um wide (ISO 286-2).
        for text in ["bore 8 mm H11 flat 7 mm", "d-bore 8 flat 7", "bore 8mm flat 7mm"] {
            let d = json(text);
            assert_eq!([&d["bore_max_mm"], &d["flat_max_mm"]].map(|v| v.as_f64()), [Some(8.09), Some(7.09)], "{text}");
        }
        assert_eq!(json("shaft 8 mm h11 flats 6 mm")["flats_min_mm"], 5.91);
        assert!(json("sliding 12")["bore_aim_mm"].as_f64() > Some(12.0));
        assert!(json("press 8 mm")["bore_max_mm"].as_f64() < Some(8.0));
        assert_eq!(json("hole 8 mm H9")["hole"]["upper_um"], 36);
        assert_eq!(json("keyway for shaft 20 mm"), {
            let mut key = json("key 20 mm");
            key["query"] = "keyway for shaft 20 mm".into();
            key
        });
        let told = serde_json::to_string(&json("groove face 20x2")).unwrap();
        assert!(told.contains("makeready coupon") && told.contains("common-practice"), "{told}");
    }

    #[test]
    fn errors_point_at_the_word() {
        let fails = |text: &str| {
            let e = look_up(text, &Practice::usual()).unwrap_err();
            (text.get(e.range.clone()).unwrap_or("?").to_owned(), format!("{} | {}", e.message, e.hint))
        };
        assert_eq!(fails("20 mm H7/i6").0, "i6");
        assert_eq!(fails("4 m H7/g6").0, "4 m");
        assert_eq!(
            fails("M5 mediun"),
            ("mediun".to_owned(), "`mediun` is no series of ISO 273 | did you mean `medium`?".to_owned())
        );
        assert_eq!(fails("thread M9").0, "M9");
        assert!(fails("bearing 680").1.contains("608"));
        assert!(fails("bering 608").1.contains("did you mean `bearing`"));
        assert!(fails("nut").1.contains("write `nut M6`"));
        assert!(fails("").1.contains("nothing to look up"));
        assert!(fails("washre").1.contains("did you mean `washer`"));
        assert!(fails("20 mm").1.contains("nothing to look up"));
        assert_eq!(fails("H7/g6").0, "H7/g6");
        assert_eq!(fails("20 °C H7/g6").0, "20 °C");
        assert!(fails("M5 medium count 4").1.contains("`count`"));
        assert!(fails("20 30 H7/g6").1.contains("second size"));
        assert_eq!(fails("pocket 8 mm").1, "the second size is missing | write `pocket 8 mm x 20 mm`");
        assert_eq!(fails("groove elbow 20x2").0, "elbow");
        assert_eq!(fails("lid 60 x 40 x 20").0, "20");
        assert!(fails("groove 2 x 20").1.contains("no O-ring"));
        assert!(fails("bore 8 mm flat 9 mm").1.contains("under 8 mm"));
        assert_eq!(fails("pocket 8x20 H7x").0, "H7x");
        assert!(fails("slot 9 mm").1.contains("slot 9 mm H11"));
    }

    proptest::proptest! {
        #[test]
        fn no_text_panics(text in "\\PC{0,40}") {
            let _ = look_up(&text, &Practice::usual());
        }

        #[test]
        fn no_likely_text_panics(text in "(M|bearing |magnet |general |thread |groove |pocket |lid |bore |hole |press |⌀)?[0-9x.,/ -]{0,9}(mm|H7/g6| medium|°| x 3| flat 2)?[a-zA-Z0-9/ ]{0,6}") {
            if let Err(e) = look_up(&text, &Practice::usual()) {
                proptest::prop_assert!(e.range.end <= text.len() && text.get(e.range.clone()).is_some());
            }
        }
    }
}
