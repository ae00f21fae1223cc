//! The machine form of a recipe's leaves: quantities as number and unit, words of closed sets as they are written in files,
//! sentences in the English of [`super::words`]. The structs around them are those of `recipe`.

#[cfg(test)]
mod schema;

use serde::ser::{SerializeMap, SerializeStruct};
use serde::{Serialize, Serializer};

use crate::diag::Cite;
use crate::fits::allowance::Cause;
use crate::fits::said::Named;
use crate::quantity::{Area, Duration, Length, Mass, Quantity, Volume};
use crate::recipe::{
    About, Basis, Cited, Detail, Found, Group, Limits, MarginName, MeshValue, Phase, Points, Sentence, Shown, Stage,
    Verdict,
};
use crate::resolve::margin::{Band, MarginKind};
use crate::rulebook::value::Value;
use crate::rulebook::{CautionKind, Decision};

/// Writes what has words as its words.
macro_rules! in_words {
    ($($kind:ty),+ $(,)?) => {
        $(impl Serialize for $kind {
            fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
                serializer.collect_str(self)
            }
        })+
    };
}

in_words!(Sentence, MarginName, Cite, Cited, Basis, Detail, MeshValue, About, Named);

/// Writes a member of a closed set as its word.
macro_rules! as_word {
    ($($kind:ty => $word:expr),+ $(,)?) => {
        $(impl Serialize for $kind {
            fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
                let word: fn(&$kind) -> &'static str = $word;
                serializer.serialize_str(word(self))
            }
        })+
    };
}

as_word!(
    Group => |g| g.as_str(),
    Stage => |s| s.word(),
    CautionKind => |k| k.word(),
    Decision => |d| d.word(),
    Verdict => |v| v.words(),
    MarginKind => |k| k.as_str(),
    Cause => |c| c.as_str(),
);

/// A number and its unit.
#[derive(Serialize)]
struct Measured<'u> {
    value: f64,
    unit: &'u str,
}

/// Rounds to what is shown; a quantity of a recipe is never finer.
fn rounded(value: f64, decimals: i32) -> f64 {
    let scale = 10f64.powi(decimals);
    // Adding nothing makes a negative zero a plain one.
    (value * scale).round() / scale + 0.0
}

/// Writes a typed quantity in one unit, whatever its size, with so many decimals.
macro_rules! in_unit {
    ($($kind:ident as $unit:literal by $of:ident to $decimals:literal),+ $(,)?) => {
        $(impl Serialize for $kind {
            fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
                Measured { value: rounded(self.$of(), $decimals), unit: $unit }.serialize(serializer)
            }
        })+
    };
}

in_unit!(
    Length as "mm" by to_mm to 3,
    Area as "mm²" by to_mm2 to 1,
    Volume as "mm³" by to_mm3 to 1,
    Mass as "g" by to_g to 3,
    Duration as "min" by to_min to 0,
);

impl Serialize for Quantity {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let (number, unit) = self.in_practice();
        let value = number.parse().unwrap_or(self.si);
        match unit.as_ref() {
            "" => serializer.serialize_f64(value),
            unit => Measured { value, unit }.serialize(serializer),
        }
    }
}

/// Returns a quantity's number in the unit in which another is shown.
fn beside(of: Quantity, unit: &str) -> f64 {
    let value = if unit.is_empty() { Some(of.si) } else { of.in_unit(unit) };
    value.map_or(of.si, |v| v.to_string().parse::<f64>().map_or(v, |v| rounded(v, 6)))
}

impl Serialize for Band {
    /// The typical value first; `low` and `high` only where they differ from it.
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let (number, unit) = self.typical.in_practice();
        let mut map = serializer.serialize_map(None)?;
        map.serialize_entry("value", &number.parse().unwrap_or(self.typical.si))?;
        if self.low != self.high {
            map.serialize_entry("low", &beside(self.low, &unit))?;
            map.serialize_entry("high", &beside(self.high, &unit))?;
        }
        map.serialize_entry("unit", unit.as_ref())?;
        map.end()
    }
}

impl Serialize for Limits {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut limits = serializer.serialize_struct("Limits", 3)?;
        limits.serialize_field("low", &rounded(self.low.to_mm(), 3))?;
        limits.serialize_field("high", &rounded(self.high.to_mm(), 3))?;
        limits.serialize_field("unit", "mm")?;
        limits.end()
    }
}

impl Serialize for Found {
    /// The features one by one; an empty list where none was found.
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        match self {
            Found::Features(features) => serializer.collect_seq(features),
            Found::None(_) => serializer.collect_seq(std::iter::empty::<&str>()),
        }
    }
}

impl Serialize for Points {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_f64(self.as_f64())
    }
}

impl Serialize for Shown {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        match self {
            Shown::Percent(share) => Measured { value: rounded(share * 100.0, 1), unit: "%" }.serialize(serializer),
            Shown::Value(value) => Typed(value).serialize(serializer),
        }
    }
}

/// A value of the rule language.
struct Typed<'v>(&'v Value);

impl Serialize for Typed<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        match self.0 {
            Value::Unknown => serializer.serialize_none(),
            Value::Bool(b) => serializer.serialize_bool(*b),
            Value::Quantity(q) => q.serialize(serializer),
            Value::Range(low, high) => {
                let (number, unit) = low.in_practice();
                let mut range = serializer.serialize_struct("Range", 3)?;
                range.serialize_field("low", &number.parse().unwrap_or(low.si))?;
                range.serialize_field("high", &beside(*high, &unit))?;
                range.serialize_field("unit", unit.as_ref())?;
                range.end()
            }
            Value::Text(text) | Value::Word(text) => serializer.serialize_str(text.as_ref()),
            Value::List(items) => serializer.collect_seq(items.iter().map(Typed)),
            Value::Record(record) => serializer.serialize_str(&record.title),
        }
    }
}

impl Serialize for Phase {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut phase = serializer.serialize_struct("Phase", 3)?;
        phase.serialize_field("phase", &self.phase)?;
        phase.serialize_field("title", self.phase.title())?;
        phase.serialize_field("steps", &self.steps)?;
        phase.end()
    }
}
