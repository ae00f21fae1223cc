//! The spools of the shop: which of them a material is printed from, and whether it reaches.

use super::super::heat::Coat;
use super::super::part::Part;
use super::{Bench, Spool};
use crate::quantity::{Mass, Quantity};
use crate::rulebook::value::{Origin, Record, Value};
use crate::semantics::spec::Spec;

/// Waste on top of a part's own mass: purge, skirt, a failed start (from memory).
const WASTE: f64 = 1.15;

impl Bench<'_> {
    /// Returns the spool to take for a material: the colour asked for, then enough on it, then one that is loaded, then most on it,
    /// then by name.
    pub fn spool(&self, material: usize, spec: &Spec, part: &Part) -> Option<&Spool> {
        let needed = self.needed(material, spec, part).map_or(0.0, Mass::to_g);
        let wanted = spec.service.colour.as_ref().map(|c| c.value.as_str());
        let pinned = spec.pins.iter().find(|p| p.decision.value == crate::semantics::spec::Decision::Spool);
        let pinned = pinned.and_then(|p| match &p.value.value {
            crate::semantics::spec::ChoiceValue::Named(name) => Some(name.clone()),
            _ => None,
        });
        let left = |s: &Spool| s.left.map_or(f64::MAX, Mass::to_g);
        self.spools_of(material).filter(|s| pinned.as_ref().is_none_or(|p| s.name == *p)).max_by(|a, b| {
            let rank = |s: &Spool| {
                let same = |w: &str| s.colour.as_ref().is_some_and(|c| self.catalogue.same_colour(c, w));
                let colour = wanted.is_none_or(same);
                let loaded = self.printers.iter().any(|p| p.loaded_spool.as_ref() == Some(&s.name));
                (colour, left(s) >= needed, loaded)
            };
            rank(a).cmp(&rank(b)).then(left(a).total_cmp(&left(b))).then_with(|| b.name.cmp(&a.name))
        })
    }

    /// Returns what gives a part in a material its colour.
    pub fn coat(&self, material: usize, spec: &Spec, part: &Part) -> Coat<'_> {
        let sold = self.materials.get(material).and_then(|m| m.colours.as_ref()).map(|c| c.value.as_slice());
        let spool = self.spool(material, spec, part).and_then(|s| Some((s.name.as_str(), s.colour.as_deref()?)));
        Coat { sold, spool }
    }

    /// Returns the spools a material is printed from, in the order of the shop file.
    pub fn spools_of(&self, material: usize) -> impl Iterator<Item = &Spool> {
        let names =
            self.materials.get(material).map(|m| (m.name.clone(), m.spool_of.as_ref().map(|s| s.value.clone())));
        self.spools.iter().filter(move |s| {
            names.as_ref().is_some_and(|(name, of)| s.material == *name || of.as_ref() == Some(&s.material))
        })
    }

    /// Returns the filament the whole run needs, solid parts and waste counted.
    pub fn needed(&self, material: usize, spec: &Spec, part: &Part) -> Option<Mass> {
        let density = self.materials.get(material)?.density.typ.to_g_per_cm3();
        let pieces = spec.quantity.map_or(1.0, |q| f64::from(q.value));
        Some(Mass::g(part.volume_mm3? / 1000.0 * density * pieces * WASTE))
    }

    pub fn spool_record(&self, material: usize, spec: &Spec, part: &Part) -> Option<Record> {
        let entry = self.materials.get(material)?;
        let mut record = Record::new(entry.name.clone());
        let needed = self.needed(material, spec, part);
        record.set("needed", needed.map(Quantity::from), Origin::Measured);
        if !self.stock_listed {
            let text = "no spools are listed: every material counts as at hand".to_owned();
            record.set("in_stock", true, Origin::Assumed { text: text.into() });
            return Some(record);
        }
        let Some(spool) = self.spool(material, spec, part) else {
            record.set("in_stock", false, Origin::None);
            return Some(record);
        };
        let origin = Origin::Stated { at: spool.at };
        record.title.clone_from(&spool.name);
        record.set("in_stock", true, origin.clone());
        record.set("name", Value::text(&spool.name), origin.clone());
        record.set("left", spool.left.map(Quantity::from), origin.clone());
        let total: Option<f64> = self.spools_of(material).map(|s| s.left.map(Mass::to_g)).sum();
        record.set("left_in_all", total.map(|g| Quantity::from(Mass::g(g))), origin.clone());
        if let (Some(total), Some(needed)) = (total, needed) {
            record.set("enough", total >= needed.to_g(), origin.clone());
        }
        if let Some(colour) = &spool.colour {
            record.set("colour", Value::text(colour), origin.clone());
            if let Some(wanted) = &spec.service.colour {
                record.set("colour_right", self.catalogue.same_colour(colour, &wanted.value), origin.clone());
            }
        }
        record.set("dried", spool.dried.is_some() && spool.dry_kept, origin.clone());
        let loaded = self.printers.iter().any(|p| p.loaded_spool.as_ref() == Some(&spool.name));
        record.set("loaded", loaded, origin);
        Some(record)
    }
}
