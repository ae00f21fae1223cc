//! Quantities with dimensions: the numbers that specs, catalogue, rules and physics exchange.
//!
//! Values are stored in SI base units. A temperature (a point on a scale) and a temperature difference are two
//! dimensions; the difference of two points is a difference, a point plus a difference is a point.

pub use crate::number::{significant, trim_number};
use std::fmt;

/// Exponents of the base dimensions. `point` marks an absolute temperature.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Dimension {
    /// Exponent of the metre.
    pub length: i8,
    /// Exponent of the kilogram.
    pub mass: i8,
    /// Exponent of the second.
    pub time: i8,
    /// Exponent of the kelvin.
    pub temperature: i8,
    /// Exponent of the radian; kept, so that a rotation is no frequency.
    pub angle: i8,
    /// Exponent of the shop's money.
    pub money: i8,
    /// A point on the temperature scale, not a difference.
    pub point: bool,
}

const fn dim(length: i8, mass: i8, time: i8, temperature: i8) -> Dimension {
    Dimension { length, mass, time, temperature, angle: 0, money: 0, point: false }
}

impl Dimension {
    /// A plain number: a ratio, a share or a count.
    pub const NONE: Self = dim(0, 0, 0, 0);
    /// In m.
    pub const LENGTH: Self = dim(1, 0, 0, 0);
    /// In m².
    pub const AREA: Self = dim(2, 0, 0, 0);
    /// In m³.
    pub const VOLUME: Self = dim(3, 0, 0, 0);
    /// In kg.
    pub const MASS: Self = dim(0, 1, 0, 0);
    /// In s.
    pub const TIME: Self = dim(0, 0, 1, 0);
    /// In K, as a rise, a fall or a spread.
    pub const TEMPERATURE_DIFFERENCE: Self = dim(0, 0, 0, 1);
    /// In K above absolute zero, as a point on the scale.
    pub const TEMPERATURE: Self = Dimension { point: true, ..dim(0, 0, 0, 1) };
    /// In rad.
    pub const ANGLE: Self = Dimension { angle: 1, ..dim(0, 0, 0, 0) };
    /// In the shop's own money.
    pub const MONEY: Self = Dimension { money: 1, ..dim(0, 0, 0, 0) };
    /// In N.
    pub const FORCE: Self = dim(1, 1, -2, 0);
    /// In N·m; energy in J too.
    pub const TORQUE: Self = dim(2, 1, -2, 0);
    /// In Pa: stress, pressure, elastic modulus.
    pub const STRESS: Self = dim(-1, 1, -2, 0);
    /// In kg/m³.
    pub const DENSITY: Self = dim(-3, 1, 0, 0);
    /// In m/s.
    pub const SPEED: Self = dim(1, 0, -1, 0);
    /// What speed changes by in a time.
    pub const ACCELERATION: Self = dim(1, 0, -2, 0);
    /// Volume per time, in m³/s.
    pub const FLOW: Self = dim(3, 0, -1, 0);
    /// In rad/s.
    pub const ROTATION: Self = Dimension { angle: 1, ..dim(0, 0, -1, 0) };
    /// Linear thermal expansion, in 1/K.
    pub const EXPANSION: Self = dim(0, 0, 0, -1);
    /// In W.
    pub const POWER: Self = dim(2, 1, -3, 0);
    /// In W/m².
    pub const IRRADIANCE: Self = dim(0, 1, -3, 0);
    /// Thermal conductivity, in W/(m·K).
    pub const CONDUCTIVITY: Self = dim(1, 1, -3, -1);
    /// In J/(kg·K).
    pub const SPECIFIC_HEAT: Self = dim(2, 0, -2, -1);
    /// Heat given off per area and kelvin, in W/(m²·K).
    pub const SURFACE_COEFFICIENT: Self = dim(0, 1, -3, -1);
    /// Thermal diffusivity, in m²/s.
    pub const DIFFUSIVITY: Self = dim(2, 0, -1, 0);
    /// Second moment of area, in m⁴.
    pub const SECOND_MOMENT: Self = dim(4, 0, 0, 0);
    /// Force per length, in N/m.
    pub const LINE_LOAD: Self = dim(0, 1, -2, 0);
    /// Price of a material, in money per kg.
    pub const MONEY_PER_MASS: Self = Dimension { money: 1, ..dim(0, -1, 0, 0) };
    /// Price of a machine or of work, in money per s.
    pub const MONEY_PER_TIME: Self = Dimension { money: 1, ..dim(0, 0, -1, 0) };

    /// Returns the plain-language name used in messages ("a length"), where there is one.
    pub fn name(self) -> String {
        NAMES
            .iter()
            .find(|(d, _)| *d == self)
            .map_or_else(|| format!("a quantity in {}", self.base_units()), |(_, n)| (*n).to_owned())
    }

    fn base_units(self) -> String {
        let parts = [
            ("m", self.length),
            ("kg", self.mass),
            ("s", self.time),
            ("K", self.temperature),
            ("rad", self.angle),
            ("money", self.money),
        ];
        let text: Vec<String> = parts
            .iter()
            .filter(|(_, e)| *e != 0)
            .map(|(u, e)| if *e == 1 { (*u).to_owned() } else { format!("{u}^{e}") })
            .collect();
        if text.is_empty() { "1".to_owned() } else { text.join("·") }
    }

    /// Returns the dimension of a product; an absolute temperature has none.
    pub fn times(self, other: Self) -> Option<Self> {
        self.combine(other, 1)
    }

    /// Returns the dimension of a quotient; an absolute temperature has none.
    pub fn over(self, other: Self) -> Option<Self> {
        self.combine(other, -1)
    }

    fn combine(self, o: Self, sign: i8) -> Option<Self> {
        if self.point || o.point {
            return None;
        }
        let add = |a: i8, b: i8| a.checked_add(b.checked_mul(sign)?);
        Some(Self {
            length: add(self.length, o.length)?,
            mass: add(self.mass, o.mass)?,
            time: add(self.time, o.time)?,
            temperature: add(self.temperature, o.temperature)?,
            angle: add(self.angle, o.angle)?,
            money: add(self.money, o.money)?,
            point: false,
        })
    }

    /// Returns the dimension of a whole power, negative ones included; an absolute temperature has none.
    pub fn power(self, n: i8) -> Option<Self> {
        let mut result = Self::NONE;
        for _ in 0..n.unsigned_abs() {
            result = if n > 0 { result.times(self)? } else { result.over(self)? };
        }
        Some(result)
    }
}

const NAMES: &[(Dimension, &str)] = &[
    (Dimension { length: -2, mass: -1, time: 2, ..Dimension::MONEY }, "a price per energy"),
    (Dimension { length: 1, time: -2, ..Dimension::NONE }, "an acceleration"),
    (Dimension::NONE, "a plain number"),
    (Dimension::LENGTH, "a length"),
    (Dimension::AREA, "an area"),
    (Dimension::VOLUME, "a volume"),
    (Dimension::MASS, "a mass"),
    (Dimension::TIME, "a time"),
    (Dimension::TEMPERATURE, "a temperature"),
    (Dimension::TEMPERATURE_DIFFERENCE, "a temperature difference"),
    (Dimension::ANGLE, "an angle"),
    (Dimension::MONEY, "a sum of money"),
    (Dimension::FORCE, "a force"),
    (Dimension::TORQUE, "a torque"),
    (Dimension::STRESS, "a stress or pressure"),
    (Dimension::DENSITY, "a density"),
    (Dimension::SPEED, "a speed"),
    (Dimension::FLOW, "a volume flow"),
    (Dimension::ROTATION, "a rotation speed"),
    (Dimension::EXPANSION, "an expansion coefficient"),
    (Dimension::POWER, "a power"),
    (Dimension::IRRADIANCE, "an irradiance"),
    (Dimension::CONDUCTIVITY, "a thermal conductivity"),
    (Dimension::SPECIFIC_HEAT, "a specific heat"),
    (Dimension::SURFACE_COEFFICIENT, "a surface heat transfer coefficient"),
    (Dimension::DIFFUSIVITY, "a thermal diffusivity"),
    (Dimension::SECOND_MOMENT, "a second moment of area"),
    (Dimension::LINE_LOAD, "a load per length"),
    (Dimension::MONEY_PER_MASS, "a price per mass"),
    (Dimension::MONEY_PER_TIME, "a price per time"),
];

/// One unit the language knows: spelling, dimension, factor to SI and, for temperatures, the offset.
#[derive(Debug, Clone, Copy)]
pub struct Unit {
    /// As it is written behind a number; empty for a unit put together of others.
    pub symbol: &'static str,
    /// What the unit measures.
    pub dimension: Dimension,
    /// How many SI units one of it is.
    pub factor: f64,
    /// What is added after the factor to reach kelvin; 0 for all but °C and °F.
    pub offset: f64,
}

const fn unit(symbol: &'static str, dimension: Dimension, factor: f64) -> Unit {
    Unit { symbol, dimension, factor, offset: 0.0 }
}

const DEGREE: f64 = std::f64::consts::PI / 180.0;
const YEAR: f64 = 365.25 * 86_400.0;

/// Every simple unit. Factors: SI brochure 9th ed. (standard); inch and pound by the 1959 international definition.
pub const UNITS: &[Unit] = &[
    unit("mm", Dimension::LENGTH, 1e-3),
    unit("cm", Dimension::LENGTH, 1e-2),
    unit("m", Dimension::LENGTH, 1.0),
    unit("µm", Dimension::LENGTH, 1e-6),
    unit("um", Dimension::LENGTH, 1e-6),
    unit("in", Dimension::LENGTH, 0.0254),
    unit("inch", Dimension::LENGTH, 0.0254),
    unit("ft", Dimension::LENGTH, 0.3048),
    unit("l", Dimension::VOLUME, 1e-3),
    unit("L", Dimension::VOLUME, 1e-3),
    unit("ml", Dimension::VOLUME, 1e-6),
    unit("°C", Dimension::TEMPERATURE, 1.0),
    unit("℃", Dimension::TEMPERATURE, 1.0),
    unit("degC", Dimension::TEMPERATURE, 1.0),
    unit("°F", Dimension::TEMPERATURE, 5.0 / 9.0),
    unit("℉", Dimension::TEMPERATURE, 5.0 / 9.0),
    unit("degF", Dimension::TEMPERATURE, 5.0 / 9.0),
    unit("K", Dimension::TEMPERATURE_DIFFERENCE, 1.0),
    unit("N", Dimension::FORCE, 1.0),
    unit("kN", Dimension::FORCE, 1e3),
    unit("kgf", Dimension::FORCE, 9.806_65),
    unit("lbf", Dimension::FORCE, 4.448_221_615_260_5),
    unit("Nm", Dimension::TORQUE, 1.0),
    unit("Ncm", Dimension::TORQUE, 1e-2),
    unit("Pa", Dimension::STRESS, 1.0),
    unit("kPa", Dimension::STRESS, 1e3),
    unit("MPa", Dimension::STRESS, 1e6),
    unit("GPa", Dimension::STRESS, 1e9),
    unit("bar", Dimension::STRESS, 1e5),
    unit("mbar", Dimension::STRESS, 100.0),
    unit("psi", Dimension::STRESS, 6_894.757_293_168),
    unit("kg", Dimension::MASS, 1.0),
    unit("g", Dimension::MASS, 1e-3),
    unit("mg", Dimension::MASS, 1e-6),
    unit("t", Dimension::MASS, 1e3),
    unit("lb", Dimension::MASS, 0.453_592_37),
    unit("s", Dimension::TIME, 1.0),
    unit("sec", Dimension::TIME, 1.0),
    unit("min", Dimension::TIME, 60.0),
    unit("h", Dimension::TIME, 3_600.0),
    unit("hour", Dimension::TIME, 3_600.0),
    unit("hours", Dimension::TIME, 3_600.0),
    unit("day", Dimension::TIME, 86_400.0),
    unit("days", Dimension::TIME, 86_400.0),
    unit("week", Dimension::TIME, 7.0 * 86_400.0),
    unit("weeks", Dimension::TIME, 7.0 * 86_400.0),
    unit("month", Dimension::TIME, YEAR / 12.0),
    unit("months", Dimension::TIME, YEAR / 12.0),
    unit("year", Dimension::TIME, YEAR),
    unit("years", Dimension::TIME, YEAR),
    unit("deg", Dimension::ANGLE, DEGREE),
    unit("°", Dimension::ANGLE, DEGREE),
    unit("rad", Dimension::ANGLE, 1.0),
    unit("rpm", Dimension::ROTATION, 2.0 * std::f64::consts::PI / 60.0),
    unit("W", Dimension::POWER, 1.0),
    unit("J", Dimension::TORQUE, 1.0),
    unit("%", Dimension::NONE, 0.01),
    unit("ppm", Dimension::NONE, 1e-6),
    unit("money", Dimension::MONEY, 1.0),
];

/// Units of data files only (`kJ/m2`, `money/kWh`): a spec has no use for them, so its grammar does not know them.
const DATA_UNITS: &[Unit] =
    &[unit("kW", Dimension::POWER, 1e3), unit("kJ", Dimension::TORQUE, 1e3), unit("kWh", Dimension::TORQUE, 3.6e6)];

/// Absolute temperature units and their zero point in kelvin.
const ZERO_CELSIUS: f64 = 273.15;

fn simple_unit(symbol: &str) -> Option<Unit> {
    let mut unit = *UNITS.iter().chain(DATA_UNITS).find(|u| u.symbol == symbol)?;
    if unit.dimension.point {
        unit.offset = if unit.factor == 1.0 { ZERO_CELSIUS } else { ZERO_CELSIUS - 32.0 * 5.0 / 9.0 };
    }
    Some(unit)
}

/// Reads a unit: a simple symbol or a quotient of products with exponents (`g/cm3`, `mm²`, `W/m2/K`, `1/K`).
pub fn parse_unit(text: &str) -> Option<Unit> {
    let text = text.trim();
    if let Some(unit) = simple_unit(text) {
        return Some(unit);
    }
    let mut result = unit("", Dimension::NONE, 1.0);
    for (i, group) in text.split('/').enumerate() {
        if i == 0 && group.trim() == "1" {
            continue;
        }
        for atom in group.split(['·', '*']) {
            let (symbol, exponent) = split_exponent(atom.trim());
            let mut atom_unit = simple_unit(symbol)?;
            if atom_unit.dimension.point {
                // Inside a compound a degree can only be a difference.
                atom_unit.dimension = Dimension::TEMPERATURE_DIFFERENCE;
                atom_unit.offset = 0.0;
            }
            let exponent = if i == 0 { exponent } else { -exponent };
            result.dimension = result.dimension.times(atom_unit.dimension.power(exponent)?)?;
            result.factor *= atom_unit.factor.powi(i32::from(exponent));
        }
    }
    Some(result)
}

fn split_exponent(atom: &str) -> (&str, i8) {
    for (suffix, exponent) in [("^2", 2), ("^3", 3), ("²", 2), ("³", 3), ("2", 2), ("3", 3), ("4", 4)] {
        if let Some(symbol) = atom.strip_suffix(suffix) {
            return (symbol, exponent);
        }
    }
    (atom, 1)
}

/// A number with a dimension, in SI base units.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Quantity {
    /// The value in SI base units.
    pub si: f64,
    /// What it measures.
    pub dimension: Dimension,
}

/// Why a quantity could not be read from text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum QuantityError {
    /// No number stands where one should; carries the whole text.
    NotANumber(String),
    /// A number, and behind it a unit that is not known.
    UnknownUnit {
        /// The unit as written.
        found: String,
        /// A unit of like spelling, where one is near enough to be meant.
        nearest: Option<&'static str>,
    },
    /// A temperature below -273.15 °C, which has no meaning.
    BelowAbsoluteZero,
    /// More than a number can hold: infinite, or not a number.
    NotFinite,
}

impl fmt::Display for QuantityError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NotANumber(text) => write!(f, "expected a number with a unit, found `{text}`"),
            Self::UnknownUnit { found, nearest: Some(near) } => {
                write!(f, "unknown unit `{found}`; did you mean `{near}`?")
            }
            Self::UnknownUnit { found, nearest: None } => write!(f, "unknown unit `{found}`"),
            Self::BelowAbsoluteZero => write!(f, "a temperature below absolute zero (-273.15 °C)"),
            Self::NotFinite => write!(f, "a number too large to mean anything"),
        }
    }
}

impl Quantity {
    /// Takes a value that is in SI base units already.
    pub const fn new(si: f64, dimension: Dimension) -> Self {
        Self { si, dimension }
    }

    /// A plain number: a ratio, a share or a count.
    pub const fn number(value: f64) -> Self {
        Self::new(value, Dimension::NONE)
    }

    /// Returns the quantity for a number and a unit text; an empty unit is a plain number.
    pub fn with_unit(value: f64, unit: &str) -> Result<Self, QuantityError> {
        if unit.trim().is_empty() {
            return if value.is_finite() { Ok(Self::number(value)) } else { Err(QuantityError::NotFinite) };
        }
        let known = parse_unit(unit).ok_or_else(|| QuantityError::UnknownUnit {
            found: unit.trim().to_owned(),
            nearest: crate::diag::nearest(unit.trim(), UNITS.iter().map(|u| u.symbol)),
        })?;
        let si = value * known.factor + known.offset;
        if !si.is_finite() {
            return Err(QuantityError::NotFinite);
        }
        if known.dimension.point && si < 0.0 {
            return Err(QuantityError::BelowAbsoluteZero);
        }
        Ok(Self::new(si, known.dimension))
    }

    /// Reads `250 mm`, `-25 °C`, `1.2 g/cm3`, `0.3`; a decimal comma and a Unicode minus are understood.
    pub fn parse(text: &str) -> Result<Self, QuantityError> {
        let text = text.trim();
        let end = text
            .char_indices()
            .find(|&(i, c)| {
                let exponent = (c == 'e' || c == 'E')
                    && text[i + 1..].starts_with(|d: char| d.is_ascii_digit() || d == '-' || d == '+')
                    && i > 0;
                !(c.is_ascii_digit() || matches!(c, '.' | ',' | '-' | '+' | '−') || exponent)
            })
            .map_or(text.len(), |(i, _)| i);
        let (number, unit) = text.split_at(end);
        let plain = number.replace('−', "-").replace(',', ".");
        let value: f64 = plain.parse().map_err(|_| QuantityError::NotANumber(text.to_owned()))?;
        Self::with_unit(value, unit)
    }

    /// Returns the value in the given unit, if the dimensions agree.
    pub fn in_unit(self, unit: &str) -> Option<f64> {
        let known = parse_unit(unit)?;
        (known.dimension == self.dimension).then(|| (self.si - known.offset) / known.factor)
    }

    /// Returns the sum; nothing where the dimensions differ, or for two temperatures. A temperature and a
    /// difference give a temperature.
    pub fn checked_add(self, other: Self) -> Option<Self> {
        let (a, b) = (self.dimension, other.dimension);
        let difference = Dimension::TEMPERATURE_DIFFERENCE;
        let dimension = if (a == b && !a.point) || (a.point && b == difference) {
            a
        } else if b.point && a == difference {
            b
        } else {
            return None;
        };
        Some(Self::new(self.si + other.si, dimension))
    }

    /// Returns the difference; nothing where the dimensions differ. Two temperatures give a difference.
    pub fn checked_sub(self, other: Self) -> Option<Self> {
        let (a, b) = (self.dimension, other.dimension);
        let dimension = if a == b {
            if a.point { Dimension::TEMPERATURE_DIFFERENCE } else { a }
        } else if a.point && b == Dimension::TEMPERATURE_DIFFERENCE {
            a
        } else {
            return None;
        };
        Some(Self::new(self.si - other.si, dimension))
    }

    /// Returns the product; nothing with an absolute temperature.
    pub fn checked_mul(self, other: Self) -> Option<Self> {
        Some(Self::new(self.si * other.si, self.dimension.times(other.dimension)?))
    }

    /// Returns the quotient; nothing over zero, or with an absolute temperature.
    pub fn checked_div(self, other: Self) -> Option<Self> {
        if other.si == 0.0 {
            return None;
        }
        Some(Self::new(self.si / other.si, self.dimension.over(other.dimension)?))
    }

    /// Compares two quantities of the same dimension.
    pub fn compare(self, other: Self) -> Option<std::cmp::Ordering> {
        if self.dimension == other.dimension { self.si.partial_cmp(&other.si) } else { None }
    }

    /// Formats in the given unit with at most `decimals` decimals, trailing zeros removed.
    pub fn display_in(self, unit: &str, decimals: usize) -> Option<String> {
        let value = self.in_unit(unit)?;
        let gap = if unit == "°" || unit.is_empty() { "" } else { " " };
        Some(format!("{}{gap}{unit}", trim_number(value, decimals)))
    }
}

impl Quantity {
    /// Returns number and unit as a practitioner would write them; a plain number has no unit, and money none of its own.
    pub fn in_practice(&self) -> (String, std::borrow::Cow<'static, str>) {
        let d = self.dimension;
        let magnitude = self.si.abs();
        let unit = match d {
            Dimension::NONE => "",
            Dimension::LENGTH if magnitude < 0.5e-4 && magnitude > 0.0 => "µm",
            Dimension::LENGTH if magnitude >= 10.0 => "m",
            Dimension::LENGTH => "mm",
            Dimension::AREA if magnitude >= 1e-3 => "cm²",
            Dimension::AREA => "mm²",
            Dimension::VOLUME if magnitude >= 1e-6 => "cm³",
            Dimension::VOLUME => "mm³",
            Dimension::MASS if magnitude >= 2.0 => "kg",
            Dimension::MASS => "g",
            Dimension::TIME if (0.99 * YEAR..1.01 * YEAR).contains(&magnitude) => "year",
            Dimension::TIME if magnitude >= 0.99 * YEAR => "years",
            Dimension::TIME if magnitude >= 60.0 * 86_400.0 => "months",
            Dimension::TIME if magnitude >= 3.0 * 86_400.0 => "days",
            Dimension::TIME if magnitude >= 2.0 * 3_600.0 => "h",
            Dimension::TIME if magnitude >= 120.0 => "min",
            Dimension::TIME => "s",
            Dimension::TEMPERATURE => "°C",
            Dimension::TEMPERATURE_DIFFERENCE => "K",
            Dimension::ANGLE => "°",
            Dimension::FORCE => "N",
            Dimension::TORQUE => "Nm",
            Dimension::STRESS if magnitude >= 1e9 => "GPa",
            Dimension::STRESS if magnitude < 1e5 && magnitude > 0.0 => "kPa",
            Dimension::STRESS => "MPa",
            Dimension::DENSITY => "g/cm³",
            Dimension::SPEED => "mm/s",
            Dimension::FLOW => "mm³/s",
            Dimension::ROTATION => "rpm",
            Dimension::EXPANSION => "1/K",
            Dimension::MONEY => "money",
            Dimension::POWER => "W",
            Dimension::IRRADIANCE => "W/m²",
            Dimension::CONDUCTIVITY => "W/m/K",
            Dimension::SPECIFIC_HEAT => "J/kg/K",
            Dimension::SURFACE_COEFFICIENT => "W/m²/K",
            Dimension::DIFFUSIVITY => "mm²/s",
            Dimension::SECOND_MOMENT => "mm4",
            Dimension::LINE_LOAD => "N/m",
            Dimension::ACCELERATION => "m/s²",
            Dimension::MONEY_PER_MASS => "money/kg",
            Dimension::MONEY_PER_TIME => "money/h",
            _ => return (significant(self.si), d.base_units().into()),
        };
        if unit.is_empty() {
            return (significant(self.si), "".into());
        }
        let value = self.in_unit(unit).unwrap_or(self.si);
        let number = match d {
            Dimension::TEMPERATURE | Dimension::TEMPERATURE_DIFFERENCE => trim_number(value, 1),
            Dimension::MONEY => trim_number(value, 2),
            _ => significant(value),
        };
        (number, if unit == "money" { "".into() } else { unit.into() })
    }
}

impl fmt::Display for Quantity {
    /// Prints in the unit a practitioner would use.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (number, unit) = self.in_practice();
        match unit.as_ref() {
            "" | "°" => write!(f, "{number}{unit}"),
            unit => write!(f, "{number} {unit}"),
        }
    }
}

/// A number of one dimension that is known when the program is built: a typed quantity, or `f64` for a plain number.
pub trait Measure: Copy + Into<Quantity> {
    /// What every value of the type measures.
    const DIMENSION: Dimension;

    /// Returns the number in SI base units as this quantity.
    fn from_si(si: f64) -> Self;
}

impl Measure for f64 {
    const DIMENSION: Dimension = Dimension::NONE;

    fn from_si(si: f64) -> Self {
        si
    }
}

/// Defines a typed quantity: constructors and getters per unit (its name stands after `in`), conversion to and from
/// [`Quantity`].
macro_rules! typed {
    ($(#[$doc:meta])* $name:ident, $dimension:expr, $($ctor:ident / $getter:ident in $unit:literal = $factor:expr, $offset:expr);+ $(;)?) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
        pub struct $name(f64);

        impl $name {
            /// What every value of the type measures.
            pub const DIMENSION: Dimension = $dimension;
            $(
                #[doc = concat!("A value given in ", $unit, ".")]
                pub const fn $ctor(value: f64) -> Self { Self(value * $factor + $offset) }
                #[doc = concat!("Returns the value in ", $unit, ".")]
                pub const fn $getter(self) -> f64 { (self.0 - $offset) / $factor }
            )+
            /// Returns the larger of the two.
            pub fn max(self, other: Self) -> Self { if other.0 > self.0 { other } else { self } }
            /// Returns the smaller of the two.
            pub fn min(self, other: Self) -> Self { if other.0 < self.0 { other } else { self } }
        }

        impl Measure for $name {
            const DIMENSION: Dimension = $dimension;
            fn from_si(si: f64) -> Self { Self(si) }
        }

        impl From<$name> for Quantity {
            fn from(value: $name) -> Quantity { Quantity::new(value.0, $dimension) }
        }

        impl TryFrom<Quantity> for $name {
            /// The dimension that was found instead.
            type Error = Dimension;
            fn try_from(q: Quantity) -> Result<Self, Dimension> {
                if q.dimension == $dimension { Ok(Self(q.si)) } else { Err(q.dimension) }
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result { Quantity::from(*self).fmt(f) }
        }
    };
}

typed!(
    /// A distance, size or allowance; an allowance may be negative.
    Length, Dimension::LENGTH,
    mm / to_mm in "mm" = 1e-3, 0.0;
    m / to_m in "m" = 1.0, 0.0;
    um / to_um in "µm" = 1e-6, 0.0
);
typed!(
    /// An area of a face or a section.
    Area, Dimension::AREA,
    mm2 / to_mm2 in "mm²" = 1e-6, 0.0
);
typed!(
    /// A volume, of a body or of material to be laid.
    Volume, Dimension::VOLUME,
    mm3 / to_mm3 in "mm³" = 1e-9, 0.0;
    cm3 / to_cm3 in "cm³" = 1e-6, 0.0
);
typed!(
    /// A mass of part, material or load.
    Mass, Dimension::MASS,
    g / to_g in "g" = 1e-3, 0.0;
    kg / to_kg in "kg" = 1.0, 0.0
);
typed!(
    /// A stretch of time, from seconds of a layer to years of service.
    Duration, Dimension::TIME,
    s / to_s in "seconds" = 1.0, 0.0;
    min_ / to_min in "minutes" = 60.0, 0.0;
    h / to_h in "hours" = 3600.0, 0.0;
    days / to_days in "days" = 86_400.0, 0.0;
    years / to_years in "Julian years of 365.25 days" = YEAR, 0.0
);
typed!(
    /// A point on the temperature scale.
    Temperature, Dimension::TEMPERATURE,
    celsius / to_celsius in "°C" = 1.0, ZERO_CELSIUS;
    kelvin / to_kelvin in "K above absolute zero" = 1.0, 0.0
);
typed!(
    /// A rise or fall of temperature, or a spread of one; never a point on the scale.
    TemperatureDifference, Dimension::TEMPERATURE_DIFFERENCE,
    k / to_k in "K" = 1.0, 0.0
);
typed!(
    /// A plane angle; of a slope, what the text that names it measures it from.
    Angle, Dimension::ANGLE,
    deg / to_deg in "degrees" = DEGREE, 0.0;
    rad / to_rad in "radians" = 1.0, 0.0
);
typed!(
    /// A force.
    Force, Dimension::FORCE,
    n / to_n in "N" = 1.0, 0.0
);
typed!(
    /// A moment of a force. Energy has the same dimension, and is told apart by where it stands.
    Torque, Dimension::TORQUE,
    nm / to_nm in "N·m" = 1.0, 0.0
);
typed!(
    /// A stress, a pressure or an elastic modulus.
    Stress, Dimension::STRESS,
    mpa / to_mpa in "MPa" = 1e6, 0.0;
    gpa / to_gpa in "GPa" = 1e9, 0.0;
    bar / to_bar in "bar" = 1e5, 0.0
);
typed!(
    /// A mass per volume.
    Density, Dimension::DENSITY,
    g_per_cm3 / to_g_per_cm3 in "g/cm³" = 1e3, 0.0
);
typed!(
    /// A speed of travel.
    Speed, Dimension::SPEED,
    mm_per_s / to_mm_per_s in "mm/s" = 1e-3, 0.0
);
typed!(
    /// A volume of melt per time.
    Flow, Dimension::FLOW,
    mm3_per_s / to_mm3_per_s in "mm³/s" = 1e-9, 0.0
);
typed!(
    /// A linear coefficient of thermal expansion.
    Expansion, Dimension::EXPANSION,
    per_k / to_per_k in "1/K" = 1.0, 0.0
);
typed!(
    /// The power of sunlight on an area.
    Irradiance, Dimension::IRRADIANCE,
    w_per_m2 / to_w_per_m2 in "W/m²" = 1.0, 0.0
);
typed!(
    /// A sum in the shop's own money; no currency is known.
    Money, Dimension::MONEY,
    of / amount in "the shop's money" = 1.0, 0.0
);
typed!(
    /// A plain number: a ratio or a share.
    Ratio, Dimension::NONE,
    of / value in "plain numbers, 1 being the whole" = 1.0, 0.0;
    percent / to_percent in "percent" = 0.01, 0.0
);
typed!(
    /// How well heat goes through a material.
    Conductivity, Dimension::CONDUCTIVITY,
    w_per_m_k / to_w_per_m_k in "W/(m·K)" = 1.0, 0.0
);
typed!(
    /// The heat that warms a mass by a degree.
    SpecificHeat, Dimension::SPECIFIC_HEAT,
    j_per_kg_k / to_j_per_kg_k in "J/(kg·K)" = 1.0, 0.0
);
typed!(
    /// A power: heat, or electricity of a machine.
    Power, Dimension::POWER,
    w / to_w in "W" = 1.0, 0.0
);
typed!(
    /// A change of speed per time, of a machine axis or of gravity.
    Acceleration, Dimension::ACCELERATION,
    mm_per_s2 / to_mm_per_s2 in "mm/s²" = 1e-3, 0.0;
    m_per_s2 / to_m_per_s2 in "m/s²" = 1.0, 0.0
);
typed!(
    /// Energy to break a notched bar, over the area left.
    Impact, dim(0, 1, -2, 0),
    kj_per_m2 / to_kj_per_m2 in "kJ/m²" = 1e3, 0.0
);
typed!(
    /// Price of a mass of material.
    MassPrice, Dimension { mass: -1, ..Dimension::MONEY },
    per_kg / to_per_kg in "the shop's money per kg" = 1.0, 0.0
);
typed!(
    /// Price of a machine's or a person's time.
    TimePrice, Dimension { time: -1, ..Dimension::MONEY },
    per_h / to_per_h in "the shop's money per hour" = 1.0 / 3600.0, 0.0
);
typed!(
    /// Price of electrical energy.
    EnergyPrice, Dimension { length: -2, mass: -1, time: 2, ..Dimension::MONEY },
    per_kwh / to_per_kwh in "the shop's money per kWh" = 1.0 / 3.6e6, 0.0
);
typed!(
    /// Heat given off per area and kelvin, convection and long-wave radiation together unless said otherwise.
    SurfaceCoefficient, Dimension::SURFACE_COEFFICIENT,
    w_per_m2_k / to_w_per_m2_k in "W/(m²·K)" = 1.0, 0.0
);
typed!(
    /// How fast a temperature evens out in a material: conductivity over density and specific heat.
    Diffusivity, Dimension::DIFFUSIVITY,
    mm2_per_s / to_mm2_per_s in "mm²/s" = 1e-6, 0.0
);
typed!(
    /// Second moment of area of a section about an axis.
    SecondMoment, Dimension::SECOND_MOMENT,
    mm4 / to_mm4 in "mm⁴" = 1e-12, 0.0
);
typed!(
    /// Second moment over the distance to the outermost fibre; the same dimension as a volume.
    SectionModulus, Dimension::VOLUME,
    mm3 / to_mm3 in "mm³" = 1e-9, 0.0
);
typed!(
    /// A force per length, along an edge or a seam.
    LineLoad, Dimension::LINE_LOAD,
    n_per_mm / to_n_per_mm in "N/mm" = 1e3, 0.0;
    n_per_m / to_n_per_m in "N/m" = 1.0, 0.0
);
typed!(
    /// A speed of rotation.
    Rotation, Dimension::ROTATION,
    rad_per_s / to_rad_per_s in "rad/s" = 1.0, 0.0
);

impl From<f64> for Quantity {
    fn from(value: f64) -> Quantity {
        Quantity::number(value)
    }
}

impl TryFrom<Quantity> for f64 {
    /// The dimension that was found instead of a plain number.
    type Error = Dimension;
    fn try_from(q: Quantity) -> Result<Self, Dimension> {
        if q.dimension == Dimension::NONE { Ok(q.si) } else { Err(q.dimension) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reads_what_people_write() {
        let mm = |t: &str| Quantity::parse(t).unwrap().in_unit("mm").unwrap();
        assert!((mm("0,2 mm") - 0.2).abs() < 1e-12);
        assert!((mm("1 in") - 25.4).abs() < 1e-12);
        assert!((mm("50 µm") - 0.05).abs() < 1e-12);
        assert_eq!(Quantity::parse("−25 ℃").unwrap().to_string(), "-25 °C");
        assert_eq!(Quantity::parse("212 °F").unwrap().to_string(), "100 °C");
        assert_eq!(Quantity::parse("1.24 g/cm3").unwrap().to_string(), "1.24 g/cm³");
        assert_eq!(Quantity::parse("68e-6 1/K").unwrap().dimension, Dimension::EXPANSION);
        assert_eq!(Quantity::parse("-300 °C"), Err(QuantityError::BelowAbsoluteZero));
        assert!(matches!(Quantity::parse("8 mn"), Err(QuantityError::UnknownUnit { nearest: Some(_), .. })));
    }

    #[test]
    fn a_temperature_is_not_a_difference() {
        let a = Quantity::parse("80 °C").unwrap();
        let b = Quantity::parse("60 °C").unwrap();
        assert_eq!(a.checked_sub(b).unwrap().to_string(), "20 K");
        assert_eq!(a.checked_add(b), None);
        assert_eq!(b.checked_add(Quantity::parse("10 K").unwrap()).unwrap().to_string(), "70 °C");
        assert_eq!(a.checked_mul(Quantity::number(2.0)), None);
    }

    #[test]
    fn prints_in_shop_units() {
        let show = |t: &str| Quantity::parse(t).unwrap().to_string();
        assert_eq!(show("5 years"), "5 years");
        assert_eq!(show("90 min"), "90 min");
        assert_eq!(show("0.2 mm"), "0.2 mm");
        assert_eq!(show("12.5 %"), "0.125");
        assert_eq!(show("45 deg"), "45°");
        assert_eq!(show("2.4 GPa"), "2.4 GPa");
    }
}
