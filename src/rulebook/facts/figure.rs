//! The named figures, whose names, types and help are the catalogue's.

use super::Kind;
use crate::catalogue::figures;
use crate::rulebook::names::{Declared, Field, Touches, Type};

/// The figures; their record is made of the catalogue's table itself.
pub struct Figure;

impl Figure {
    pub(in crate::rulebook) const DECLARED: Declared =
        Declared { word: "figure", each: false, touches: Touches::NONE, fields: FIELDS };
}

/// How many names the figures have: one each, and one for each consequence of those that hang on it.
const FIGURES: usize = {
    let (mut count, mut i) = (0, 0);
    while i < figures::TABLE.len() {
        count += if figures::TABLE[i].by_consequence.is_some() { 4 } else { 1 };
        i += 1;
    }
    count
};

/// The names of the figures, from the catalogue's table.
const FIELDS: &[Field] = &{
    let mut fields = [field("", bool::TYPE, ""); FIGURES];
    let (mut count, mut i) = (0, 0);
    while i < figures::TABLE.len() {
        let row = figures::TABLE[i];
        fields[count] = field(row.name, Type::Quantity(row.dimension), row.help);
        count += 1;
        if let Some(names) = row.by_consequence {
            let mut k = 0;
            while k < names.len() {
                fields[count] = field(names[k], Type::Quantity(row.dimension), row.help);
                count += 1;
                k += 1;
            }
        }
        i += 1;
    }
    fields
};

const fn field(name: &'static str, kind: Type, help: &'static str) -> Field {
    Field { name, kind, also: Touches::NONE, help }
}
