//! Standard parts that printed parts are joined with: what they measure and what pocket or hole they want.
//!
//! Every function returns named dimensions, each with its own source: within one look-up a hole may come from a standard,
//! a drill from common practice and a pin size from memory.

mod keys;
mod likely;
mod tables;

pub(crate) use keys::HUB_KEYWAY;
pub use keys::{ParallelKey, keyway, parallel_key};
pub use likely::{Likely, likely};

use super::iso286::{self, Zone};
use super::{FitError, Provenance, SourceKind, plain_number};
use crate::quantity::{Length, trim_number};
use serde::Serialize;
use tables::{
    BEARINGS, CLEARANCE, COARSE, DOWELS, FINE_PITCHES, INSERTS, NUTS, RING_TOLERANCE, SLOT_COUNTERSUNK,
    SOCKET_COUNTERSUNK, SOCKET_HEADS, WASHERS,
};

/// One named dimension of a standard part.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Dimension {
    /// Stable key with its unit, as in the JSON form: `across_flats_mm`.
    pub key: &'static str,
    /// The same in words.
    pub label: &'static str,
    /// In the unit the key ends in (mm, mm2, um).
    #[serde(serialize_with = "plain_number")]
    pub value: f64,
    /// The table it was read from.
    pub source: Provenance,
}

impl Dimension {
    fn new(key: &'static str, label: &'static str, value: f64, source: &Provenance) -> Self {
        // Tables hold at most three decimals; computed diameters are rounded the way ISO 724 prints them.
        Self { key, label, value: (value * 1000.0).round() / 1000.0, source: source.clone() }
    }
}

/// A standard part or feature: its dimensions, and what a fitter should be told about it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Hardware {
    /// What it is, `M5 clearance holes`.
    pub title: String,
    /// In the order a fitter wants them.
    pub dimensions: Vec<Dimension>,
    /// What a fitter should be told, a sentence each.
    pub notes: Vec<&'static str>,
}

impl Hardware {
    /// Returns a dimension's value by its key.
    pub fn get(&self, key: &str) -> Option<f64> {
        self.dimensions.iter().find(|d| d.key == key).map(|d| d.value)
    }
}

/// The three series of clearance holes in ISO 273.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Series {
    /// The closest hole.
    Fine,
    /// The usual hole.
    Medium,
    /// The widest hole.
    Coarse,
}

impl Series {
    /// The three, closest first.
    pub const ALL: [Self; 3] = [Self::Fine, Self::Medium, Self::Coarse];

    /// Returns the word of specs, `medium`.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Fine => "fine",
            Self::Medium => "medium",
            Self::Coarse => "coarse",
        }
    }

    /// Reads `fine`, `medium`, `coarse` (ISO 273) or the drawing-office words `close`, `normal`, `loose`.
    pub fn parse(text: &str) -> Option<Self> {
        match text.to_ascii_lowercase().as_str() {
            "fine" | "close" => Some(Self::Fine),
            "medium" | "normal" => Some(Self::Medium),
            "coarse" | "loose" => Some(Self::Coarse),
            _ => None,
        }
    }

    /// The tolerance field ISO 273 names for the series, for information.
    pub const fn field(self) -> &'static str {
        match self {
            Self::Fine => "H12",
            Self::Medium => "H13",
            Self::Coarse => "H14",
        }
    }
}

const ISO273: Provenance = Provenance::new(SourceKind::Standard, "ISO 273:1979 Table 1");
const ISO273_WEAK: Provenance = Provenance::new(
    SourceKind::Standard,
    "ISO 273:1979 Table 1 (from one public reproduction and memory; older tables print 14, 16 and 18 mm for M12, M14, M16 \
     medium)",
);
const ISO273_MEMORY: Provenance = Provenance::new(SourceKind::FromMemory, "ISO 273:1979 Table 1, M4.5");
const PITCH: Provenance = Provenance::new(SourceKind::Standard, "ISO 261 and ISO 262");
const PITCH_FINE: Provenance = Provenance::new(SourceKind::FromMemory, "ISO 261, fine pitches");
const BASIC: Provenance = Provenance::new(SourceKind::Standard, "ISO 724, by the ISO 68-1 basic profile");
const STRESS_AREA: Provenance = Provenance::new(SourceKind::Computed, "pi/4 ((d2 + d3)/2)^2, as in ISO 898-1");
const CORE_6H: Provenance = Provenance::new(
    SourceKind::FromMemory,
    "ISO 965-1 tolerance 6H of the minor diameter by its formula (433 P - 190 P^1.22 to P 0.8, 230 P^0.7 from P 1, µm); \
     the printed table rounds",
);
const TAP_DRILL: Provenance =
    Provenance::new(SourceKind::CommonPractice, "usual tap drill, about major diameter less pitch");
const NUT: Provenance = Provenance::new(SourceKind::Library, "ISO 4032 dimensions, two open parts libraries");
const NUT_CORNERS: Provenance = Provenance::new(SourceKind::Library, "ISO 4032 dimensions, one open parts library");
const HEAD: Provenance = Provenance::new(SourceKind::Library, "ISO 4762 dimensions, open parts libraries");
const COUNTERSUNK_SOCKET: Provenance =
    Provenance::new(SourceKind::Library, "ISO 10642 dimensions, one open parts library");
const COUNTERSUNK_SLOT: Provenance =
    Provenance::new(SourceKind::Library, "ISO 7046-1 / ISO 2009 head form (ISO 7721), one open parts library");
const WASHER: Provenance = Provenance::new(SourceKind::Library, "ISO 7089 dimensions, two open parts libraries");
const BEARING: Provenance =
    Provenance::new(SourceKind::Library, "ISO 15 / DIN 625-1 boundary dimensions, open parts libraries");
const RINGS: Provenance = Provenance::new(SourceKind::FromMemory, "ISO 492 Normal class, mean diameter deviations");
const SHOULDER: Provenance = Provenance::new(
    SourceKind::FromMemory,
    "shoulder that touches the outer ring only: opening of the mean of bore and outside diameter or more",
);
const DOWEL: Provenance = Provenance::new(SourceKind::FromMemory, "ISO 2338 and ISO 8734 nominal diameters");
const DOWEL_LIMITS: Provenance = Provenance::new(SourceKind::Computed, "ISO 286-1 limits");
const INSERT: Provenance = Provenance::new(
    SourceKind::FromMemory,
    "usual heat-set inserts; there is no standard, the maker's drawing or the insert in the drawer governs",
);
const INSERT_DEPTH: Provenance =
    Provenance::new(SourceKind::CommonPractice, "insert length and at least 1 mm below it for displaced melt");
const INSERT_BOSS: Provenance =
    Provenance::new(SourceKind::CommonPractice, "moulding design pages: boss 2 to 3 times the insert outside diameter");
const COUNTERBORE: Provenance =
    Provenance::new(SourceKind::CommonPractice, "head diameter, knurled, and about 0.5 mm room all told");
const POCKET: Provenance = Provenance::new(
    SourceKind::CommonPractice,
    "drop-in pocket: part size and about 0.2 mm; the printer's own allowance comes on top",
);
const MAGNET_POCKET: Provenance = Provenance::new(
    SourceKind::CommonPractice,
    "disc magnet pocket: diameter and about 0.2 mm for the glue, flush or 0.2 mm below the face",
);

/// Returns the usual spelling `M5` of a thread size written `m5`, `M 5` or `M5`; a pitch stays with it (`M10x1.25`).
pub fn normal_thread(text: &str) -> String {
    let compact: String = text.chars().filter(|c| !c.is_whitespace()).collect();
    let compact = compact.replace(['×', 'X', '*'], "x").replace(',', ".");
    match compact.strip_prefix(['m', 'M']) {
        Some(rest) => format!("M{rest}"),
        None => compact,
    }
}

/// A size that no table has. Of threads there are larger ones than the tables', and the error says what to do about one.
fn unknown_thread<'a>(what: &str, text: &str, known: impl Iterator<Item = &'a str> + Clone) -> FitError {
    let number = |t: &str| t.trim_start_matches(['M', 'm']).parse::<f64>().ok();
    let largest = known.clone().filter_map(|k| number(k).map(|n| (n, k))).max_by(|a, b| a.0.total_cmp(&b.0));
    let beyond = largest.filter(|(n, _)| number(text).is_some_and(|wanted| wanted > *n));
    let found = unknown_size(what, text, known);
    let Some((_, size)) = beyond else { return found };
    let hint = format!(
        "the tables end at {size}: take the core hole from a thread table, write it as in `bore 33 mm H11` and cut the thread \
         by its tap or on a lathe, or put in a bought nut or fitting that has it"
    );
    FitError::new(text, format!("no {what} of size `{text}` is listed"), hint)
}

fn unknown_size<'a>(what: &str, text: &str, known: impl Iterator<Item = &'a str> + Clone) -> FitError {
    let number = |t: &str| t.trim_start_matches(['M', 'm']).parse::<f64>().ok();
    let nearest = number(text).filter(|n| n.is_finite()).and_then(|wanted| {
        known.clone().filter_map(|k| number(k).map(|n| ((n - wanted).abs(), k))).min_by(|a, b| a.0.total_cmp(&b.0))
    });
    let hint = match nearest {
        Some((_, size)) => format!("the nearest listed size is {size}"),
        None => format!("the sizes are {}", known.collect::<Vec<_>>().join(", ")),
    };
    FitError::new(text, format!("no {what} of size `{text}` is listed"), hint)
}

fn row<'a, const N: usize>(
    table: &'a [(&'static str, [f64; N])],
    what: &str,
    size: &str,
) -> Result<(&'static str, &'a [f64; N]), FitError> {
    table
        .iter()
        .find(|(name, _)| *name == size)
        .map(|(name, values)| (*name, values))
        .ok_or_else(|| unknown_size(what, size, table.iter().map(|(name, _)| *name)))
}

/// Returns the major diameter of a metric thread, coarse or fine.
pub fn major_diameter(text: &str) -> Result<Length, FitError> {
    thread_geometry(text).map(|(_, d, _, _)| Length::mm(d))
}

/// Returns the clearance hole of ISO 273 for a thread and a series, with its tolerance field as limits.
pub fn clearance_hole(thread: &str, series: Series) -> Result<Hardware, FitError> {
    let size = normal_thread(thread);
    let base = size.split('x').next().unwrap_or(&size);
    let (name, fine, medium, coarse) = CLEARANCE
        .iter()
        .find(|(name, ..)| *name == base)
        .ok_or_else(|| unknown_size("ISO 273 clearance hole", base, CLEARANCE.iter().map(|(n, ..)| *n)))?;
    let source = match *name {
        "M12" | "M14" | "M16" => ISO273_WEAK,
        "M4.5" => ISO273_MEMORY,
        _ => ISO273,
    };
    let hole = match series {
        Series::Fine => *fine,
        Series::Medium => *medium,
        Series::Coarse => *coarse,
    };
    let limits = iso286::limits(Length::mm(hole), &Zone::parse(series.field())?)?;
    let field = Provenance::owned(
        SourceKind::Standard,
        format!("ISO 273:1979, tolerance field {} for information, limits by ISO 286-1", series.field()),
    );
    Ok(Hardware {
        title: format!("clearance hole for {name}, {} series", series.as_str()),
        dimensions: vec![
            Dimension::new("hole_mm", "hole", hole, &source),
            Dimension::new("hole_max_mm", "largest hole by the series' field", hole + limits.upper_um / 1000.0, &field),
        ],
        notes: vec!["fine for aligned holes, medium for general use, coarse where holes must take up misalignment"],
    })
}

/// Returns the clearance holes of all three series, fine to coarse.
pub fn clearance_series(thread: &str) -> Result<[Length; 3], FitError> {
    let mut holes = [Length::mm(0.0); 3];
    for (slot, series) in holes.iter_mut().zip(Series::ALL) {
        *slot = Length::mm(clearance_hole(thread, series)?.get("hole_mm").unwrap_or(0.0));
    }
    Ok(holes)
}

/// Returns name, major diameter, pitch and the tap drill (none for a fine pitch).
fn thread_geometry(text: &str) -> Result<(String, f64, f64, Option<f64>), FitError> {
    let name = normal_thread(text);
    let (base, pitch) = match name.split_once('x') {
        Some((base, pitch)) => (base.to_owned(), Some(pitch.to_owned())),
        None => (name.clone(), None),
    };
    let coarse = COARSE.iter().find(|(n, ..)| *n == base);
    let Some(pitch) = pitch else {
        return coarse
            .map(|(n, d, p, drill)| ((*n).to_owned(), *d, *p, Some(*drill)))
            .ok_or_else(|| unknown_thread("metric coarse thread", &base, COARSE.iter().map(|(n, ..)| *n)));
    };
    let bad_pitch = |hint: String| FitError::new(text, format!("`{name}` is not a listed metric thread"), hint);
    let wanted: f64 = pitch.parse().map_err(|_| bad_pitch("write `M10` or `M10x1.25`".to_owned()))?;
    if let Some((n, d, p, drill)) = coarse
        && (p - wanted).abs() < 1e-9
    {
        return Ok(((*n).to_owned(), *d, *p, Some(*drill)));
    }
    let diameter: f64 = base.trim_start_matches('M').parse().unwrap_or(0.0);
    let fine = FINE_PITCHES.iter().find(|(d, _)| (d - diameter).abs() < 1e-9);
    match fine {
        Some((d, pitches)) if pitches.iter().any(|p| (p - wanted).abs() < 1e-9) => Ok((name, *d, wanted, None)),
        Some((_, pitches)) => {
            let list: Vec<String> = pitches.iter().map(|p| trim_number(*p, 2)).collect();
            let coarse = coarse.map_or_else(String::new, |(_, _, p, _)| format!("{} (coarse), ", trim_number(*p, 2)));
            Err(bad_pitch(format!("the pitches of {base} are {coarse}{}", list.join(", "))))
        }
        None => Err(unknown_thread("metric thread", &base, COARSE.iter().map(|(n, ..)| *n))),
    }
}

/// Returns the tolerance 6H of the minor diameter of an internal thread, in millimetres.
fn minor_tolerance_6h(pitch: f64) -> f64 {
    let um = if pitch <= 0.8 { 433.0 * pitch - 190.0 * pitch.powf(1.22) } else { 230.0 * pitch.powf(0.7) };
    um / 1000.0
}

/// Returns the basic dimensions of a metric thread (ISO 68-1, 261, 724), its core hole and its tap drill.
pub fn thread(text: &str) -> Result<Hardware, FitError> {
    let (name, d, pitch, drill) = thread_geometry(text)?;
    let height = pitch * 3f64.sqrt() / 2.0;
    let (d2, d1, d3) = (d - 0.75 * height, d - 1.25 * height, d - 17.0 / 12.0 * height);
    let stress_area = std::f64::consts::FRAC_PI_4 * ((d2 + d3) / 2.0).powi(2);
    let pitch_source = if drill.is_some() { PITCH } else { PITCH_FINE };
    let drill = drill.unwrap_or(((d - pitch) * 100.0).round() / 100.0);
    Ok(Hardware {
        title: format!("thread {name}, pitch {} mm", trim_number(pitch, 2)),
        dimensions: vec![
            Dimension::new("major_diameter_mm", "major diameter d", d, &pitch_source),
            Dimension::new("pitch_mm", "pitch P", pitch, &pitch_source),
            Dimension::new("pitch_diameter_mm", "pitch diameter d2", d2, &BASIC),
            Dimension::new("minor_diameter_internal_mm", "minor diameter of the nut thread D1", d1, &BASIC),
            Dimension::new("minor_diameter_external_mm", "root diameter of the screw thread d3", d3, &BASIC),
            Dimension::new("core_hole_max_mm", "largest core hole (6H)", d1 + minor_tolerance_6h(pitch), &CORE_6H),
            Dimension::new("tap_drill_mm", "tap drill", drill, &TAP_DRILL),
            Dimension::new("stress_area_mm2", "stress area", (stress_area * 100.0).round() / 100.0, &STRESS_AREA),
        ],
        notes: vec!["printed plastic gives little thread: prefer an insert where the screw is opened more than once"],
    })
}

/// Returns the dimensions of an ISO 4032 nut and the pocket it drops into.
pub fn nut(text: &str) -> Result<Hardware, FitError> {
    let (name, [s, m, e]) = row(&NUTS, "ISO 4032 nut", &normal_thread(text))?;
    let mut notes = vec!["the corners turn free once the pocket is wider than across corners: keep the pocket close"];
    if matches!(name, "M10" | "M12" | "M14") {
        notes
            .push("old nuts (DIN 934) are 17, 19 and 22 mm across flats for M10, M12 and M14: measure the nut in hand");
    }
    Ok(Hardware {
        title: format!("hexagon nut {name} (ISO 4032)"),
        dimensions: vec![
            Dimension::new("across_flats_mm", "across flats s", *s, &NUT),
            Dimension::new("height_mm", "height m, largest", *m, &NUT),
            Dimension::new("across_corners_min_mm", "across corners e, smallest", *e, &NUT_CORNERS),
            Dimension::new("pocket_across_flats_mm", "pocket across flats", s + 0.2, &POCKET),
            Dimension::new("pocket_depth_mm", "pocket depth", m + 0.2, &POCKET),
        ],
        notes,
    })
}

/// Returns the head of an ISO 4762 socket screw and the counterbore for it.
pub fn socket_head(text: &str) -> Result<Hardware, FitError> {
    let (name, [plain, knurled, k, s, t]) = row(&SOCKET_HEADS, "ISO 4762 screw", &normal_thread(text))?;
    Ok(Hardware {
        title: format!("socket head cap screw {name} (ISO 4762)"),
        dimensions: vec![
            Dimension::new("head_diameter_mm", "head diameter, plain, largest", *plain, &HEAD),
            Dimension::new("head_diameter_knurled_mm", "head diameter, knurled, largest", *knurled, &HEAD),
            Dimension::new("head_height_mm", "head height k", *k, &HEAD),
            Dimension::new("key_mm", "key across flats", *s, &HEAD),
            Dimension::new("key_depth_mm", "key depth, smallest", *t, &HEAD),
            Dimension::new("counterbore_mm", "counterbore diameter", knurled + 0.5, &COUNTERBORE),
            Dimension::new("counterbore_depth_mm", "counterbore depth, head flush", k + 0.2, &COUNTERBORE),
        ],
        notes: vec!["most socket screws are knurled: size the counterbore for the knurled head"],
    })
}

/// Returns the countersinks for an ISO 10642 or an ISO 7046 head, whichever the table lists.
pub fn countersink(text: &str) -> Result<Hardware, FitError> {
    let size = normal_thread(text);
    let socket = SOCKET_COUNTERSUNK.iter().find(|(n, _)| *n == size);
    let slot = SLOT_COUNTERSUNK.iter().find(|(n, _)| *n == size);
    let mut dimensions = Vec::new();
    if let Some((_, [theoretical, actual, k])) = socket {
        let source = &COUNTERSUNK_SOCKET;
        dimensions.push(Dimension::new("socket_countersink_mm", "countersink for ISO 10642", *theoretical, source));
        dimensions.push(Dimension::new("socket_head_diameter_mm", "head diameter ISO 10642", *actual, source));
        dimensions.push(Dimension::new("socket_head_height_mm", "head height ISO 10642", *k, source));
    }
    if let Some((_, [theoretical, k])) = slot {
        let source = &COUNTERSUNK_SLOT;
        dimensions.push(Dimension::new("recess_countersink_mm", "countersink for ISO 7046-1", *theoretical, source));
        dimensions.push(Dimension::new("recess_head_height_mm", "head height ISO 7046-1", *k, source));
    }
    if dimensions.is_empty() {
        let known = SLOT_COUNTERSUNK.iter().map(|(n, _)| *n).chain(SOCKET_COUNTERSUNK.iter().map(|(n, _)| *n));
        return Err(unknown_size("countersunk screw", &size, known));
    }
    Ok(Hardware {
        title: format!("90° countersink for {size}"),
        dimensions,
        notes: vec!["heads to DIN 7991 and DIN 965 are smaller and still sold under the ISO numbers: measure the head"],
    })
}

/// Returns the dimensions of an ISO 7089 washer.
pub fn washer(text: &str) -> Result<Hardware, FitError> {
    let (name, [d1, d2, h, h_max]) = row(&WASHERS, "ISO 7089 washer", &normal_thread(text))?;
    Ok(Hardware {
        title: format!("plain washer {name} (ISO 7089)"),
        dimensions: vec![
            Dimension::new("bore_mm", "bore d1, smallest", *d1, &WASHER),
            Dimension::new("outside_mm", "outside diameter d2, largest", *d2, &WASHER),
            Dimension::new("thickness_mm", "thickness h", *h, &WASHER),
            Dimension::new("thickness_max_mm", "thickness, largest", *h_max, &WASHER),
        ],
        notes: vec!["under a screw on printed plastic a washer spreads the load that creep would otherwise let go"],
    })
}

/// Bore, outside diameter and width of a deep-groove bearing, with its rings' lower deviations.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bearing {
    /// The number it is ordered by, `608`.
    pub designation: &'static str,
    /// Diameter of the shaft.
    pub bore: Length,
    /// Diameter of the housing.
    pub outside: Length,
    /// Along the axis.
    pub width: Length,
    /// Lower deviations (ISO 492 Normal, from memory); the upper ones are zero.
    pub bore_lower: Length,
    /// Of the outside diameter, as for the bore.
    pub outside_lower: Length,
}

/// Finds a bearing by its basic designation; suffixes for seals and clearance (`608-2RS`, `6202ZZ C3`) are ignored.
pub fn find_bearing(text: &str) -> Result<Bearing, FitError> {
    let digits: String = text.trim().chars().take_while(char::is_ascii_digit).collect();
    // `6801` is the short name of 61801, `6902` of 61902 (common practice).
    let full = match digits.as_bytes() {
        [b'6', b'8' | b'9', _, _] => format!("61{}", &digits[1..]),
        _ => digits.clone(),
    };
    let (designation, d, big_d, b) = BEARINGS.iter().find(|(name, ..)| *name == full).ok_or_else(|| {
        let known: Vec<&str> = BEARINGS.iter().map(|(n, ..)| *n).collect();
        // A number one digit away is another bearing of another size: none is guessed at.
        let hint = format!(
            "write the seat by its drawing, `bore 26 mm H7` for a ring of 26 mm; listed are {}",
            known.join(", ")
        );
        FitError::new(text, format!("no bearing `{}` is listed", text.trim()), hint)
    })?;
    let ring = |diameter: f64| RING_TOLERANCE.iter().find(|(to, ..)| diameter <= *to);
    Ok(Bearing {
        designation,
        bore: Length::mm(*d),
        outside: Length::mm(*big_d),
        width: Length::mm(*b),
        bore_lower: Length::mm(ring(*d).map_or(-0.02, |r| r.1)),
        outside_lower: Length::mm(ring(*big_d).map_or(-0.02, |r| r.2)),
    })
}

/// Returns the boundary dimensions of a deep-groove bearing and the usual seat.
pub fn bearing(text: &str) -> Result<Hardware, FitError> {
    let b = find_bearing(text)?;
    let (d, outside) = (b.bore.to_mm(), b.outside.to_mm());
    Ok(Hardware {
        title: format!("deep-groove ball bearing {}", b.designation),
        dimensions: vec![
            Dimension::new("bore_mm", "bore d", d, &BEARING),
            Dimension::new("outside_mm", "outside diameter D", outside, &BEARING),
            Dimension::new("width_mm", "width B", b.width.to_mm(), &BEARING),
            Dimension::new("bore_min_mm", "smallest bore", (b.bore.to_um() + b.bore_lower.to_um()) / 1000.0, &RINGS),
            Dimension::new("outside_min_mm", "smallest outside", outside + b.outside_lower.to_mm(), &RINGS),
            Dimension::new("shoulder_opening_mm", "opening of the shoulder, smallest", (d + outside) / 2.0, &SHOULDER),
        ],
        notes: vec![
            "usual in metal: housing H7 (ring at rest) and shaft h6 or k5 to k6 (ring turning); a printed seat is cut or clamped",
            "corner radii differ from maker to maker: give the seat a generous relief in the corner",
        ],
    })
}

/// Returns the limits of an ISO 2338 / ISO 8734 pin (m6) and of the reamed hole (H7).
pub fn dowel(size: Length) -> Result<Hardware, FitError> {
    let mm = size.to_mm();
    if !DOWELS.iter().any(|d| (d - mm).abs() < 1e-6) {
        let nearest = DOWELS.iter().copied().min_by(|a, b| (a - mm).abs().total_cmp(&(b - mm).abs()));
        let hint = nearest.map_or_else(String::new, |n| format!("the nearest listed pin is {} mm", trim_number(n, 1)));
        let text = format!("{} mm", trim_number(mm, 3));
        return Err(FitError::new(text.clone(), format!("no dowel pin of {text} is listed"), hint));
    }
    let fit = iso286::pair(size, "H7/m6")?;
    let at = |um: f64| mm + um / 1000.0;
    let source = &DOWEL_LIMITS;
    Ok(Hardware {
        title: format!("dowel pin {} m6 (ISO 2338, ISO 8734)", trim_number(mm, 1)),
        dimensions: vec![
            Dimension::new("diameter_mm", "diameter", mm, &DOWEL),
            Dimension::new("pin_max_mm", "largest pin, m6", at(fit.shaft.upper_um), source),
            Dimension::new("pin_min_mm", "smallest pin, m6", at(fit.shaft.lower_um), source),
            Dimension::new("hole_max_mm", "largest hole, H7", at(fit.hole.upper_um), source),
            Dimension::new("hole_min_mm", "smallest hole, H7", at(fit.hole.lower_um), source),
        ],
        notes: vec![
            "locate with one round hole and one slot or a second hole with clearance, or two pins will fight each other",
        ],
    })
}

/// A heat-set insert as the shop knows it (its own measured data) or as usually sold.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct InsertData {
    /// Its inner thread, `M5`.
    pub thread: String,
    /// Diameter of the hole it is set into.
    #[serde(serialize_with = "serialize_mm")]
    pub hole: Length,
    /// Its largest outside diameter.
    #[serde(serialize_with = "serialize_mm")]
    pub outside: Length,
    /// Along its axis.
    #[serde(serialize_with = "serialize_mm")]
    pub length: Length,
    /// The shop's own data or the usual one.
    pub source: Provenance,
}

fn serialize_mm<S: serde::Serializer>(value: &Length, serializer: S) -> Result<S::Ok, S::Error> {
    plain_number(&((value.to_mm() * 1e6).round() / 1e6), serializer)
}

/// Returns the usual insert for a thread; the shop's own data, where there is any, comes before it.
pub fn insert_data(text: &str, shop: &[InsertData]) -> Result<InsertData, FitError> {
    let size = normal_thread(text);
    if let Some(own) = shop.iter().find(|own| normal_thread(&own.thread) == size) {
        return Ok(own.clone());
    }
    let (name, hole, outside, _, long) = INSERTS
        .iter()
        .find(|(n, ..)| *n == size)
        .ok_or_else(|| unknown_size("heat-set insert", &size, INSERTS.iter().map(|(n, ..)| *n)))?;
    Ok(InsertData {
        thread: (*name).to_owned(),
        hole: Length::mm(*hole),
        outside: Length::mm(*outside),
        length: Length::mm(*long),
        source: INSERT,
    })
}

/// Returns hole, depth and boss for a heat-set insert.
pub fn insert(text: &str, shop: &[InsertData]) -> Result<Hardware, FitError> {
    let data = insert_data(text, shop)?;
    let (hole, outside, length) = (data.hole.to_mm(), data.outside.to_mm(), data.length.to_mm());
    Ok(Hardware {
        title: format!("heat-set insert {}", data.thread),
        dimensions: vec![
            Dimension::new("hole_mm", "hole", hole, &data.source),
            Dimension::new("outside_mm", "outside diameter over the knurl", outside, &data.source),
            Dimension::new("length_mm", "length", length, &data.source),
            Dimension::new("hole_depth_mm", "hole depth, smallest", length + 1.0, &INSERT_DEPTH),
            Dimension::new("boss_mm", "boss outside diameter, smallest", 2.0 * outside, &INSERT_BOSS),
        ],
        notes: vec![
            "set flush or up to 0.2 mm below the face, so that the mating part bears on the insert",
            "take the hole from the maker's drawing or from the insert in hand; enter it in the shop's own data",
        ],
    })
}

/// Returns the pocket for a disc magnet by its diameter and thickness.
pub fn magnet(diameter: Length, thickness: Option<Length>) -> Result<Hardware, FitError> {
    let d = diameter.to_mm();
    if !(d.is_finite() && (1.0..=100.0).contains(&d)) {
        let text = format!("{} mm", trim_number(d, 3));
        return Err(FitError::new(
            text.clone(),
            format!("a disc magnet of {text} is beyond this look-up"),
            "give a diameter from 1 mm to 100 mm, as in `magnet 8 mm x 3 mm`",
        ));
    }
    let mut dimensions = vec![
        Dimension::new("diameter_mm", "magnet diameter", d, &MAGNET_POCKET),
        Dimension::new("pocket_mm", "pocket diameter", d + 0.2, &MAGNET_POCKET),
    ];
    if let Some(t) = thickness {
        if !(t.to_mm().is_finite() && t.to_mm() > 0.0) {
            return Err(FitError::new(
                "",
                "a magnet's thickness must be greater than zero",
                "write `magnet 8 mm x 3 mm`",
            ));
        }
        dimensions.push(Dimension::new("pocket_depth_mm", "pocket depth", t.to_mm() + 0.2, &MAGNET_POCKET));
    }
    Ok(Hardware {
        title: match thickness {
            Some(t) => format!("disc magnet {} mm x {} mm", trim_number(d, 2), trim_number(t.to_mm(), 2)),
            None => format!("disc magnet {} mm", trim_number(d, 2)),
        },
        dimensions,
        notes: vec!["check the poles before the glue sets; magnets lose strength for good above about 80 °C"],
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A head goes into its counterbore, knurled as well, and no deeper than flush by a little.
    #[test]
    fn a_counterbore_takes_the_knurled_head() {
        for name in ["M3", "M4", "M5", "M6", "M8", "M10"] {
            let head = socket_head(name).unwrap();
            let get = |key| head.get(key).unwrap();
            let (across, deep) = (get("counterbore_mm"), get("counterbore_depth_mm"));
            assert!((0.3..=0.8).contains(&(across - get("head_diameter_knurled_mm"))), "{name}: {across}");
            assert!((0.1..=0.5).contains(&(deep - get("head_height_mm"))), "{name}: {deep}");
        }
    }

    /// HW-01 to HW-08 of the reference cases (ISO 273, ISO 724 sheet, ISO 4032, ISO 4762, ISO 15).
    #[test]
    fn published_hardware_cases() {
        assert_eq!(clearance_hole("M8", Series::Medium).unwrap().get("hole_mm"), Some(9.0));
        assert_eq!(clearance_hole("M12", Series::Medium).unwrap().get("hole_mm"), Some(13.5));
        let m3 = thread("M3").unwrap();
        assert_eq!(m3.get("pitch_diameter_mm"), Some(2.675));
        assert_eq!(m3.get("minor_diameter_internal_mm"), Some(2.459));
        assert_eq!(m3.get("minor_diameter_external_mm"), Some(2.387));
        assert_eq!(m3.get("stress_area_mm2"), Some(5.03));
        let m10 = thread("M10x1.5").unwrap();
        assert_eq!(m10.get("pitch_diameter_mm"), Some(9.026));
        assert_eq!(m10.get("minor_diameter_internal_mm"), Some(8.376));
        assert_eq!(m10.get("minor_diameter_external_mm"), Some(8.16));
        assert!((thread("m8").unwrap().get("stress_area_mm2").unwrap() - 36.6).abs() < 0.1);
        let nut = nut("M5").unwrap();
        assert_eq!((nut.get("across_flats_mm"), nut.get("height_mm")), (Some(8.0), Some(4.7)));
        let head = socket_head("M6").unwrap();
        assert_eq!((head.get("head_diameter_mm"), head.get("head_diameter_knurled_mm")), (Some(10.0), Some(10.22)));
        let b = bearing("608-2RS").unwrap();
        assert_eq!((b.get("bore_mm"), b.get("outside_mm"), b.get("width_mm")), (Some(8.0), Some(22.0), Some(7.0)));
    }

    /// ISO 965-1 Table: minor diameter tolerance 6H of M10 300 µm, M5 200 µm, M3 140 µm (from memory); the formula is
    /// rounded in the table.
    #[test]
    fn core_hole_tolerance_is_near_the_table() {
        for (pitch, table) in [(1.5, 0.300), (0.8, 0.200), (0.5, 0.140), (2.0, 0.375)] {
            assert!((minor_tolerance_6h(pitch) - table).abs() < 0.01, "{pitch}");
        }
    }

    #[test]
    fn a_short_name_is_its_long_one_and_no_other_is_guessed_at() {
        assert_eq!(find_bearing("6800-2RS").unwrap().designation, "61800");
        // 6801 is 12 x 21, 6001 is 12 x 28: a seat for the one does not take the other.
        let told = find_bearing("6801").unwrap_err();
        assert!(!format!("{told:?}").contains("did you mean"), "{told:?}");
    }

    #[test]
    fn unknown_sizes_name_the_nearest() {
        assert!(thread("M9").unwrap_err().hint.contains("M8"));
        assert!(thread("M10x1.3").unwrap_err().hint.contains("1.5 (coarse), 1.25, 1, 0.75"));
        assert!(nut("M11").unwrap_err().hint.contains("M10"));
        assert!(find_bearing("607x").is_ok());
        assert!(find_bearing("680").unwrap_err().hint.contains("608"));
        assert!(dowel(Length::mm(7.0)).unwrap_err().hint.contains("mm"));
        assert!(insert("M7", &[]).unwrap_err().hint.contains("M6"));
        assert!(magnet(Length::mm(-3.0), None).is_err());
    }

    #[test]
    fn shop_inserts_come_first() {
        let own = InsertData {
            thread: "M3".to_owned(),
            hole: Length::mm(4.3),
            outside: Length::mm(4.9),
            length: Length::mm(5.0),
            source: Provenance::new(SourceKind::Measured, "shop.yaml, inserts"),
        };
        assert_eq!(insert("M3", std::slice::from_ref(&own)).unwrap().get("hole_mm"), Some(4.3));
        assert_eq!(insert("M3", &[]).unwrap().dimensions[0].source.kind, SourceKind::FromMemory);
    }
}
