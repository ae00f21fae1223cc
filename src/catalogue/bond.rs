//! How a first layer of a material holds on a surface with an agent between, and what the agent is there for.

use super::decode::{Backing, Decode, Reading};
use super::node::Node;
use super::value::{Datum, Figure, Located, Plain, Provenance, Shape};
use super::words::{Hold, Level, Role};
use crate::diag::{Diagnostic, Span};
use crate::quantity::Temperature;

/// The bond of one material on one surface with one agent.
#[derive(Debug, Clone, PartialEq)]
pub struct Bond {
    /// Name in [`super::Catalogue::materials`].
    pub material: String,
    /// Name in [`super::Catalogue::surfaces`].
    pub surface: String,
    /// Name in [`super::Catalogue::agents`]; `none` for the bare surface.
    pub agent: String,
    /// How it holds; where practice differs, the lower end.
    pub hold: Hold,
    /// The upper end, where practice differs.
    pub hold_high: Hold,
    /// Danger that the surface is damaged when the part comes off.
    pub damage: Level,
    /// What the agent does here.
    pub role: Role,
    /// The bed temperature for this pair, where it is not the material's own.
    pub bed_temperature: Option<Figure<Temperature>>,
    /// The source of the row.
    pub from: Provenance,
    /// The row it was read from.
    pub at: Span,
}

impl Bond {
    /// Returns whether the part can be expected to stay on and to come off again.
    pub fn usable(&self) -> bool {
        self.role != Role::Forbidden && self.hold >= Hold::Good && self.hold_high < Hold::TooStrong
    }

    /// Returns a value by its name, seen uniformly: `hold` (or `strength`), `hold_high`, `damage` (or `risk`), `role`,
    /// `bed_temperature`.
    pub fn datum(&self, name: &str) -> Option<Datum> {
        let word = |text: &str| {
            let value = Plain::Word(text.to_owned());
            Some(Datum { value, low: None, high: None, from: Some(self.from.clone()), at: self.at })
        };
        match name {
            "hold" | "strength" => word(self.hold.as_str()),
            "hold_high" => word(self.hold_high.as_str()),
            "damage" | "risk" => word(self.damage.as_str()),
            "role" => word(self.role.as_str()),
            "bed_temperature" => self.bed_temperature.datum(),
            _ => None,
        }
    }

    pub(crate) fn key(&self) -> (&str, &str, &str) {
        (&self.material, &self.surface, &self.agent)
    }
}

/// One row of `bonds.yaml`: several materials that behave alike on one surface with one agent.
#[derive(Debug, Clone)]
pub(crate) struct BondRow {
    pub surface: Located<String>,
    pub agent: Located<String>,
    pub materials: Located<Vec<String>>,
    hold: Hold,
    hold_high: Hold,
    damage: Level,
    role: Role,
    bed_temperature: Option<Figure<Temperature>>,
    from: Provenance,
    at: Span,
}

impl BondRow {
    /// Returns one bond for each material of the row.
    pub fn expand(&self) -> impl Iterator<Item = Bond> + '_ {
        self.materials.value.iter().map(|material| Bond {
            material: material.clone(),
            surface: self.surface.value.clone(),
            agent: self.agent.value.clone(),
            hold: self.hold,
            hold_high: self.hold_high,
            damage: self.damage,
            role: self.role,
            bed_temperature: self.bed_temperature.clone(),
            from: self.from.clone(),
            at: self.at,
        })
    }
}

impl Decode for BondRow {
    const SHAPE: Shape = Shape::Block;
    fn decode(node: &Node, out: &mut Vec<Diagnostic>) -> Option<Self> {
        let mut map = Reading::of(node, "a bond", out)?;
        let surface = map.take("surface", out);
        let agent = map.take("agent", out);
        let materials = map.take("materials", out);
        let hold = map.take::<Located<Hold>>("hold", out);
        let hold_high = map.take::<Option<Located<Hold>>>("up_to", out);
        let damage = map.take::<Located<Level>>("damage", out);
        let role = map.take::<Located<Role>>("role", out);
        let bed_temperature = map.take("bed_temperature", out);
        let backing = Backing::take(&mut map, out);
        map.finish(out);
        let hold = hold?;
        let high = hold_high?.map_or(hold.value, |h| h.value);
        if high < hold.value {
            out.push(Diagnostic::error("catalogue/range-order", hold.at, "`up_to` is weaker than `hold`"));
            return None;
        }
        Some(Self {
            surface: surface?,
            agent: agent?,
            materials: materials?,
            hold: hold.value,
            hold_high: high,
            damage: damage?.value,
            role: role?.value,
            bed_temperature: bed_temperature?,
            from: backing?.provenance(hold.at),
            at: hold.at,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_may_hold_too_fast_to_come_off_is_of_no_use() {
        let (catalogue, _) = crate::catalogue::built_in();
        let usable = catalogue.bonds.iter().find(|bond| bond.usable()).unwrap().clone();
        assert!(!Bond { hold_high: Hold::TooStrong, ..usable.clone() }.usable());
        assert!(!Bond { hold: Hold::Weak, ..usable.clone() }.usable());
        assert!(!Bond { role: Role::Forbidden, ..usable }.usable());
    }
}
