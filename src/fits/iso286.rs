//! Limits and fits of the ISO code system (ISO 286-1:2010), for sizes up to 3150 mm.
//!
//! The standard gives rounded tables; the tables govern, not the formulas behind them. Where the standard gives a rule
//! instead (JS and js, the Δ of the holes K to ZC, the other limit from the grade) the rule is computed, and every result
//! says which of the two it is.

mod tables;

use super::{FitError, Provenance, SourceKind, plain_number};
use crate::quantity::{Length, trim_number};
use serde::Serialize;
use std::fmt;
use tables::{AWAY, FINE_STEPS, HOLE_J, INTO, IT, IT_FINE, IT_FINEST, MAIN_STEPS, NONE, Row, SHAFT_J};

/// The largest nominal size the system covers.
pub const LARGEST: Length = Length::mm(3150.0);

const IT_SOURCE: Provenance =
    Provenance::new(SourceKind::Standard, "ISO 286-1 Table 1, as printed in IS 919-2 = ISO 286-2:1988");
const IT_SOURCE_LIBRARY: Provenance =
    Provenance::new(SourceKind::Library, "ISO 286-1 Table 1, by two public copies of the 2010 edition");
const DEVIATION_SOURCE: Provenance =
    Provenance::new(SourceKind::Standard, "ISO 286-1 Tables 2 to 5, reference tables compared with two libraries");
const DEVIATION_SOURCE_LIBRARY: Provenance =
    Provenance::new(SourceKind::Library, "ISO 286-1 Tables 2 to 5, by two public copies of the 2010 edition");

/// A standard tolerance grade: IT01, IT0, IT1 to IT18.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Grade(i8);

impl Grade {
    /// Returns the grade for IT1 to IT18.
    pub const fn it(number: u8) -> Option<Self> {
        if number <= 18 { Some(Self(number as i8)) } else { None }
    }

    /// Reads `01`, `0`, `1` to `18`.
    pub fn parse(text: &str) -> Option<Self> {
        if text == "01" {
            return Some(Self(-1));
        }
        if text.len() > 2 || (text.len() == 2 && text.starts_with('0')) {
            return None;
        }
        text.parse::<u8>().ok().and_then(Self::it)
    }

    /// Returns the grade's number; IT01 counts as -1.
    pub const fn number(self) -> i8 {
        self.0
    }
}

impl fmt::Display for Grade {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.0 < 0 { f.write_str("01") } else { write!(f, "{}", self.0) }
    }
}

/// Which member of a fit a zone belongs to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Member {
    /// The inner feature of a pair, in capital letters.
    Hole,
    /// The outer feature of a pair, in small letters.
    Shaft,
}

/// A tolerance class such as `H7` or `g6`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Zone {
    /// Whether it is a hole's zone or a shaft's.
    pub member: Member,
    /// The letter(s) in lower case, as the tables hold them.
    letter: &'static str,
    /// How wide the zone is.
    pub grade: Grade,
}

impl fmt::Display for Zone {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.member {
            Member::Hole => write!(f, "{}{}", self.letter.to_ascii_uppercase(), self.grade),
            Member::Shaft => write!(f, "{}{}", self.letter, self.grade),
        }
    }
}

const LETTERS: [&str; 28] = [
    "a", "b", "c", "cd", "d", "e", "ef", "f", "fg", "g", "h", "js", "j", "k", "m", "n", "p", "r", "s", "t", "u", "v",
    "x", "y", "z", "za", "zb", "zc",
];

impl Zone {
    /// Reads a tolerance class: capital letters for a hole, small letters for a shaft.
    pub fn parse(text: &str) -> Result<Self, FitError> {
        let split = text.find(|c: char| c.is_ascii_digit()).unwrap_or(text.len());
        let (letters, number) = text.split_at(split);
        let shape = || {
            let hint = "write a letter and a grade, capitals for a hole and small letters for a shaft: `H7`, `g6`";
            FitError::new(text, format!("`{text}` is not an ISO 286 tolerance class"), hint)
        };
        if letters.is_empty() || number.is_empty() || letters.len() > 2 {
            return Err(shape());
        }
        let member = if letters.bytes().all(|b| b.is_ascii_uppercase()) {
            Member::Hole
        } else if letters.bytes().all(|b| b.is_ascii_lowercase()) {
            Member::Shaft
        } else {
            return Err(FitError::new(
                text,
                format!("`{text}` mixes capital and small letters"),
                format!(
                    "a hole is written `{}{number}`, a shaft `{}{number}`",
                    letters.to_ascii_uppercase(),
                    letters.to_ascii_lowercase()
                ),
            ));
        };
        let lower = letters.to_ascii_lowercase();
        let letter = LETTERS.iter().find(|l| **l == lower).ok_or_else(|| {
            FitError::new(
                text,
                format!("ISO 286 has no letter `{letters}`"),
                "the letters are A to ZC without I, L, O, Q and W, and CD, EF, FG, JS",
            )
        })?;
        let grade = Grade::parse(number).ok_or_else(|| {
            FitError::new(text, format!("`{number}` is not a tolerance grade"), "grades are 01, 0 and 1 to 18")
        })?;
        Ok(Self { member, letter, grade })
    }
}

/// How a value was obtained.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum How {
    /// Both limits follow directly from tabulated values.
    Table,
    /// A rule of the standard was applied (symmetry, Δ, a stated zero).
    Rule,
}

/// The limit deviations of one member from the nominal size, in micrometres.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Deviations {
    /// From the nominal size to the greatest allowed, in µm.
    #[serde(serialize_with = "plain_number")]
    pub upper_um: f64,
    /// From the nominal size to the least allowed, in µm.
    #[serde(serialize_with = "plain_number")]
    pub lower_um: f64,
    /// Read from a table or by a rule of the standard.
    #[serde(skip)]
    pub how: How,
}

/// Smallest and largest clearance of a pair, in micrometres; negative is interference.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Clearance {
    /// Least hole less greatest shaft, in µm.
    #[serde(serialize_with = "plain_number")]
    pub min_um: f64,
    /// Greatest hole less least shaft, in µm.
    #[serde(serialize_with = "plain_number")]
    pub max_um: f64,
}

/// What kind of fit a pair makes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Character {
    /// Every pair has clearance.
    Clearance,
    /// Some pairs have clearance, some interference.
    Transition,
    /// Every pair has interference, or at most none.
    Interference,
}

impl Clearance {
    /// Returns the character of the fit (ISO 286-1, clause 3: a smallest clearance of zero is still a clearance fit).
    pub fn character(&self) -> Character {
        if self.min_um >= 0.0 {
            Character::Clearance
        } else if self.max_um <= 0.0 {
            Character::Interference
        } else {
            Character::Transition
        }
    }
}

/// The limits of a pair such as 20 H7/g6.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FitLimits {
    /// Of the hole.
    pub hole: Deviations,
    /// Of the shaft.
    pub shaft: Deviations,
    /// Of pairs taken at random.
    pub clearance: Clearance,
    /// What the clearance makes of the fit.
    pub character: Character,
}

fn size_mm(size: Length) -> Result<f64, FitError> {
    // A size read from text carries the rounding of its unit; a step bound must not be missed by 1e-13 mm.
    let mm = (size.to_mm() * 1e9).round() / 1e9;
    let shown = trim_number(mm, 3);
    if mm.is_finite() && mm > 0.0 && mm <= LARGEST.to_mm() {
        return Ok(mm);
    }
    let message = if mm > 0.0 {
        format!("{shown} mm is beyond the ISO 286 tables")
    } else {
        "a nominal size must be greater than zero".to_owned()
    };
    Err(FitError::new(format!("{shown} mm"), message, "the tables cover sizes over 0 up to and including 3150 mm"))
}

fn step(steps: &[f64], mm: f64) -> usize {
    steps.partition_point(|bound| *bound < mm)
}

fn it_at(mm: f64, grade: Grade) -> Option<f64> {
    let column = step(&MAIN_STEPS, mm);
    match grade.0 {
        -1 | 0 => IT_FINEST.get((grade.0 + 1) as usize)?.get(column).copied(),
        1..=4 => IT_FINE.get(grade.0 as usize - 1)?.get(column).copied(),
        5..=18 => IT.get(grade.0 as usize - 5)?.get(column).map(|v| f64::from(*v)),
        _ => None,
    }
}

/// Returns the standard tolerance of a grade at a size, in micrometres (ISO 286-1 Table 1).
pub fn standard_tolerance_um(size: Length, grade: Grade) -> Result<f64, FitError> {
    let mm = size_mm(size)?;
    it_at(mm, grade).ok_or_else(|| {
        FitError::new(
            format!("IT{grade}"),
            format!("IT{grade} is not defined at {} mm", trim_number(mm, 3)),
            "IT01 and IT0 end at 500 mm; the finest grade above is IT1",
        )
    })
}

/// Returns the source of a standard tolerance.
pub fn tolerance_source(size: Length, grade: Grade) -> Provenance {
    if (5..=16).contains(&grade.0) && size.to_mm() <= 500.0 { IT_SOURCE } else { IT_SOURCE_LIBRARY }
}

/// Returns the sources of the limits of some zones at a size, each once.
pub fn sources(size: Length, zones: &[&Zone]) -> Vec<Provenance> {
    let mut sources = Vec::new();
    let mut add = |source: Provenance| {
        if !sources.contains(&source) {
            sources.push(source);
        }
    };
    for zone in zones {
        add(tolerance_source(size, zone.grade));
        match zone.letter {
            "h" | "js" => {}
            "c" | "d" | "e" | "f" | "g" | "k" | "m" | "n" | "p" | "s" if size.to_mm() <= 500.0 => add(DEVIATION_SOURCE),
            _ => add(DEVIATION_SOURCE_LIBRARY),
        }
    }
    sources
}

fn read(row: &Row, mm: f64) -> Option<f64> {
    let value = match row {
        Row::Main(values) => values.get(step(&MAIN_STEPS, mm)),
        Row::Fine(values) => values.get(step(&FINE_STEPS, mm)),
    };
    value.filter(|v| **v != NONE).map(|v| f64::from(*v))
}

/// Says between which sizes a letter is defined, for messages.
fn defined_between(letter: &str) -> Option<(f64, f64)> {
    let (_, row) = AWAY.iter().chain(INTO.iter()).find(|(l, _)| *l == letter)?;
    let (values, steps): (&[i16], &[f64]) = match row {
        Row::Main(v) => (v, &MAIN_STEPS),
        Row::Fine(v) => (v, &FINE_STEPS),
    };
    let first = values.iter().position(|v| *v != NONE)?;
    let from = if first == 0 { 0.0 } else { *steps.get(first - 1)? };
    Some((from, *steps.get(values.len().checked_sub(1)?)?))
}

fn undefined(zone: &Zone, mm: f64) -> FitError {
    let text = zone.to_string();
    let hint = match zone.letter {
        "j" => "hole J is defined for J6, J7 and J8, shaft j for j5 to j7 (j8 up to 3 mm), up to 500 mm".to_owned(),
        letter => defined_between(letter).map_or_else(String::new, |(from, to)| {
            let nearest = match letter {
                "t" | "v" | "y" if mm <= from => "; the next stronger letter that is defined is u, x or z",
                _ => "",
            };
            format!(
                "`{}` is defined over {} up to and including {} mm{nearest}",
                text.trim_end_matches(|c: char| c.is_ascii_digit()),
                trim_number(from, 0),
                trim_number(to, 0)
            )
        }),
    };
    FitError::new(text.clone(), format!("ISO 286 defines no {text} at {} mm", trim_number(mm, 3)), hint)
}

/// Footnotes of Tables 2 to 5: combinations that "shall not be used".
fn forbidden(zone: &Zone, mm: f64) -> Option<FitError> {
    let text = zone.to_string();
    if mm <= 1.0 && matches!(zone.letter, "a" | "b") {
        return Some(FitError::new(text.clone(), format!("ISO 286 does not allow {text} up to 1 mm"), "use C or c"));
    }
    if zone.member == Member::Hole && zone.letter == "n" && zone.grade.0 > 8 && mm <= 1.0 {
        return Some(FitError::new(
            text.clone(),
            format!("ISO 286 does not allow {text} up to 1 mm"),
            "use N8 or finer",
        ));
    }
    if zone.member == Member::Hole && zone.letter == "k" && zone.grade.0 > 8 && mm > 3.0 {
        let message = format!("ISO 286 defines no {text} over 3 mm");
        return Some(FitError::new(text, message, "K goes up to K8 there; use JS for a wider symmetrical tolerance"));
    }
    None
}

/// Returns the limit deviations of a tolerance class at a size.
///
/// Source: ISO 286-1 Tables 1 to 5 and the Δ rule; the result says whether it is a table value or a rule's.
pub fn limits(size: Length, zone: &Zone) -> Result<Deviations, FitError> {
    let mm = size_mm(size)?;
    let it = standard_tolerance_um(size, zone.grade)?;
    if let Some(error) = forbidden(zone, mm) {
        return Err(error);
    }
    let (how, upper, lower) = match (zone.letter, zone.member) {
        ("js", _) => (How::Rule, it / 2.0, -it / 2.0),
        ("h", Member::Hole) => (How::Table, it, 0.0),
        ("h", Member::Shaft) => (How::Table, 0.0, -it),
        ("j", member) => {
            let value = special_j(zone, mm).ok_or_else(|| undefined(zone, mm))?;
            if member == Member::Hole { (How::Table, value, value - it) } else { (How::Table, value + it, value) }
        }
        (letter, member) => {
            if let Some((_, row)) = AWAY.iter().find(|(l, _)| *l == letter) {
                let value = read(row, mm).ok_or_else(|| undefined(zone, mm))?;
                if member == Member::Hole { (How::Table, value + it, value) } else { (How::Table, -value, -value - it) }
            } else {
                let (how, value) = into_material(zone, mm).ok_or_else(|| undefined(zone, mm))?;
                if member == Member::Hole { (how, value, value - it) } else { (how, value + it, value) }
            }
        }
    };
    Ok(Deviations { upper_um: clean(upper), lower_um: clean(lower), how })
}

/// Removes the negative zero.
fn clean(value: f64) -> f64 {
    if value == 0.0 { 0.0 } else { value }
}

fn special_j(zone: &Zone, mm: f64) -> Option<f64> {
    let rows: &[(u8, &[i16])] = if zone.member == Member::Hole { &HOLE_J } else { &SHAFT_J };
    let (_, row) = rows.iter().find(|(grade, _)| i8::try_from(*grade).is_ok_and(|g| g == zone.grade.0))?;
    row.get(step(&MAIN_STEPS, mm)).map(|v| f64::from(*v))
}

/// Returns the lower deviation of a shaft k to zc, or the upper deviation of a hole K to ZC.
fn into_material(zone: &Zone, mm: f64) -> Option<(How, f64)> {
    let (_, row) = INTO.iter().find(|(l, _)| *l == zone.letter)?;
    let value = read(row, mm)?;
    let grade = zone.grade.0;
    if zone.member == Member::Shaft {
        // Table 5: k has its value for IT4 to IT7 and is zero otherwise.
        let zero = zone.letter == "k" && !(4..=7).contains(&grade);
        return Some((How::Table, if zero { 0.0 } else { value }));
    }
    match zone.letter {
        // Table 2, footnote: the one value that departs from the rule.
        "m" if grade == 6 && mm > 250.0 && mm <= 315.0 => Some((How::Table, -9.0)),
        "n" if grade > 8 && mm <= 500.0 => Some((How::Table, if mm <= 3.0 { -4.0 } else { 0.0 })),
        "k" | "m" | "n" if grade <= 8 => Some((How::Rule, -value + delta(mm, grade)?)),
        "k" | "m" | "n" => Some((How::Table, -value)),
        _ if grade <= 7 => Some((How::Rule, -value + delta(mm, grade)?)),
        _ => Some((How::Table, -value)),
    }
}

/// Δ = IT(n) - IT(n-1) for IT3 to IT8 over 3 up to 500 mm, else zero (ISO 286-1 Table 3, right-hand columns).
fn delta(mm: f64, grade: i8) -> Option<f64> {
    if !(3..=8).contains(&grade) || mm <= 3.0 || mm > 500.0 {
        return Some(0.0);
    }
    Some(it_at(mm, Grade(grade))? - it_at(mm, Grade(grade - 1))?)
}

/// Returns the limits of a pair written hole first, `H7/g6`.
pub fn pair(size: Length, fit: &str) -> Result<FitLimits, FitError> {
    let (hole, shaft) = parse_pair(fit)?;
    pair_of(size, &hole, &shaft)
}

/// Reads `H7/g6` as a hole zone and a shaft zone.
pub fn parse_pair(fit: &str) -> Result<(Zone, Zone), FitError> {
    let Some((first, second)) = fit.split_once('/') else {
        return Err(FitError::new(
            fit,
            format!("`{fit}` names one zone, a fit needs two"),
            "write hole/shaft: `H7/g6`",
        ));
    };
    let (a, b) = (Zone::parse(first.trim())?, Zone::parse(second.trim())?);
    match (a.member, b.member) {
        (Member::Hole, Member::Shaft) => Ok((a, b)),
        (Member::Shaft, Member::Hole) => {
            Err(FitError::new(fit, "the hole comes first in a fit", format!("write `{b}/{a}`")))
        }
        (Member::Hole, Member::Hole) => Err(FitError::new(
            fit,
            format!("`{a}` and `{b}` are both holes"),
            format!("small letters for the shaft: `{a}/{}{}`", b.letter, b.grade),
        )),
        (Member::Shaft, Member::Shaft) => Err(FitError::new(
            fit,
            format!("`{a}` and `{b}` are both shafts"),
            format!("capitals for the hole: `{}{}/{b}`", a.letter.to_ascii_uppercase(), a.grade),
        )),
    }
}

/// Returns the limits of a pair of zones.
pub fn pair_of(size: Length, hole: &Zone, shaft: &Zone) -> Result<FitLimits, FitError> {
    let (hole, shaft) = (limits(size, hole)?, limits(size, shaft)?);
    let clearance =
        Clearance { min_um: clean(hole.lower_um - shaft.upper_um), max_um: clean(hole.upper_um - shaft.lower_um) };
    Ok(FitLimits { hole, shaft, clearance, character: clearance.character() })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn zone(mm: f64, text: &str) -> (f64, f64) {
        let d = limits(Length::mm(mm), &Zone::parse(text).unwrap()).unwrap();
        (d.upper_um, d.lower_um)
    }

    /// Seen in the standard itself up to 500 mm and for IT5 to IT16; the rest through copies of it.
    #[test]
    fn a_tolerance_cites_what_was_seen() {
        let kind = |mm: f64, grade: i8| tolerance_source(Length::mm(mm), Grade(grade)).kind;
        for (mm, grade) in [(1.0, 5), (500.0, 5), (500.0, 16), (20.0, 7)] {
            assert_eq!(kind(mm, grade), SourceKind::Standard, "{mm} mm IT{grade}");
        }
        for (mm, grade) in [(500.1, 7), (20.0, 4), (20.0, 17)] {
            assert_eq!(kind(mm, grade), SourceKind::Library, "{mm} mm IT{grade}");
        }
    }

    #[test]
    fn what_is_no_class_is_told_what_one_looks_like() {
        for text in ["", "H", "7", "abc7"] {
            let told = Zone::parse(text).unwrap_err().to_string();
            assert!(told.contains("is not an ISO 286 tolerance class"), "{text}: {told}");
        }
        assert!(Zone::parse("Q7").unwrap_err().to_string().contains("has no letter"));
        assert!(Zone::parse("H77").unwrap_err().to_string().contains("is not a tolerance grade"));
    }

    /// Values of ISO 286-2 as found in two public copies (kind library).
    #[test]
    fn values_at_the_edges_of_the_tables() {
        assert_eq!(zone(3.0, "N9"), (-4.0, -29.0));
        assert_eq!(zone(5.0, "N9"), (0.0, -30.0));
        assert_eq!(zone(300.0, "M6"), (-9.0, -41.0));
        assert_eq!(zone(600.0, "H7"), (70.0, 0.0));
        assert_eq!(zone(600.0, "g6"), (-22.0, -66.0));
        assert_eq!(zone(3150.0, "u8"), (3530.0, 3200.0));
        assert_eq!(zone(8.0, "H9"), (36.0, 0.0));
        assert_eq!(zone(20.0, "JS7"), (10.5, -10.5));
        assert_eq!(zone(2.0, "zc5"), (64.0, 60.0));
        assert_eq!(zone(20.0, "H01"), (0.6, 0.0));
    }

    #[test]
    fn a_step_bound_belongs_to_the_lower_step_however_the_size_was_written() {
        let read = crate::quantity::Quantity::parse("3 cm").unwrap();
        let size = Length::try_from(read).unwrap();
        assert_eq!(limits(size, &Zone::parse("H7").unwrap()).unwrap().upper_um, 21.0);
        assert_eq!(zone(30.0001, "H7").0, 25.0);
    }

    #[test]
    fn wrong_words_are_told_apart() {
        let message = |mm: f64, fit: &str| pair(Length::mm(mm), fit).unwrap_err().to_string();
        assert_eq!(message(20.0, "g6/H7"), "the hole comes first in a fit; write `H7/g6`");
        assert!(
            message(20.0, "H7/t6").contains("over 24 up to and including 500")
                || message(20.0, "H7/t6").contains("over 24")
        );
        assert!(message(20.0, "H7/i6").contains("no letter `i`"));
        assert!(message(20.0, "H7/g19").contains("not a tolerance grade"));
        assert!(message(4000.0, "H7/g6").contains("beyond the ISO 286 tables"));
        assert!(message(0.0, "H7/g6").contains("greater than zero"));
        assert!(message(20.0, "Js7/h6").contains("mixes capital"));
        assert!(message(600.0, "A11/h11").contains("up to and including 500"));
        assert!(message(0.8, "A11/h11").contains("does not allow"));
    }

    /// The formulas of the ISO 286-1 annex (from memory) come near the table everywhere above the first steps: a typing
    /// slip in the rows that no reference CSV covers would show here.
    #[test]
    fn tables_follow_the_formulas_behind_them() {
        let mut lower = 0.0;
        for (i, bound) in FINE_STEPS.iter().enumerate().take(25) {
            let d: f64 = if i == 0 { 3f64.sqrt() } else { (lower * bound as &f64).sqrt() };
            let it = |g: u8| it_at(*bound, Grade::it(g).unwrap()).unwrap();
            let formulas: [(&str, f64); 9] = [
                ("t", it(7) + 0.63 * d),
                ("u", it(7) + d),
                ("v", it(7) + 1.25 * d),
                ("x", it(7) + 1.6 * d),
                ("y", it(7) + 2.0 * d),
                ("z", it(7) + 2.5 * d),
                ("za", it(8) + 3.15 * d),
                ("zb", it(9) + 4.0 * d),
                ("zc", it(10) + 5.0 * d),
            ];
            for (letter, formula) in formulas {
                let (_, row) = INTO.iter().find(|(l, _)| *l == letter).unwrap();
                let Some(value) = read(row, *bound) else { continue };
                if i >= 3 {
                    assert!((value - formula).abs() <= 3.0 + 0.03 * formula, "{letter} to {bound}: {value} {formula}");
                }
            }
            let a = if d <= 120.0 { 265.0 + 1.3 * d } else { 3.5 * d };
            let (_, row) = AWAY.iter().find(|(l, _)| *l == "a").unwrap();
            assert!((read(row, *bound).unwrap() - a).abs() <= 0.04 * a, "a to {bound}");
            lower = *bound;
        }
    }
}
