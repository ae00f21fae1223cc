//! Where a thing of the shop is: what fits a printer, and what another machine holds.

use std::sync::Arc;

use super::{Bench, Printer};
use crate::quantity::Quantity;
use crate::resolve::world::Knowledge;
use crate::rulebook::value::{Origin, Record, Value};

impl Bench<'_> {
    /// Returns whether a nozzle is in a printer, as far as is recorded: one that another machine holds is not in this one, and
    /// a printer whose state nobody recorded may hold any other.
    pub fn is_fitted(&self, printer: usize, nozzle: usize) -> Option<bool> {
        match self.printers.get(printer)?.fitted {
            Some(fitted) => Some(fitted == nozzle),
            None => self.nozzle_holder(printer, nozzle).map(|_| false),
        }
    }

    /// Returns whether a surface is on a printer, as far as is recorded.
    pub fn is_mounted(&self, printer: usize, surface: usize) -> Option<bool> {
        self.printers.get(printer)?.mounted.map(|mounted| mounted == surface)
    }

    /// Returns the other machine a nozzle would have to be taken out of: all of them there are sit in machines.
    pub fn nozzle_holder(&self, printer: usize, nozzle: usize) -> Option<usize> {
        let count = self.nozzles.get(nozzle).map_or(1, |n| n.count);
        self.holder(printer, Some(count), |p| p.fitted == Some(nozzle))
    }

    /// Returns the other machine a surface would have to be taken off.
    pub fn surface_holder(&self, printer: usize, surface: usize) -> Option<usize> {
        let count = self.surfaces.get(surface).and_then(|s| s.count);
        self.holder(printer, count, |p| p.mounted == Some(surface))
    }

    /// Returns the other machine a spool would have to be taken off.
    pub fn spool_holder(&self, printer: usize, spool: &str) -> Option<usize> {
        self.holder(printer, Some(1), |p| p.loaded_spool.as_deref() == Some(spool))
    }

    /// Returns the first other machine that holds a thing, where none of it is left over and this machine has none; a count
    /// that nobody states is that of the machines that have it.
    fn holder(&self, printer: usize, count: Option<u32>, holds: impl Fn(&Printer) -> bool) -> Option<usize> {
        if self.printers.get(printer).is_some_and(&holds) {
            return None;
        }
        let mut holding = (0..self.printers.len()).filter(|&p| self.printers.get(p).is_some_and(&holds));
        let first = holding.next()?;
        let all = 1 + holding.count();
        count.is_none_or(|count| all >= count as usize).then_some(first)
    }

    /// Adds to the facts of a nozzle what hangs on the printer it is to go into.
    pub fn place_nozzle(&self, printer: Option<usize>, nozzle: usize, knowledge: Knowledge<'_>, record: &mut Record) {
        let Some(found) = self.nozzles.get(nozzle) else { return };
        let stated = Origin::Stated { at: found.at };
        record.set("worn", found.worn.map(Value::Bool), stated);
        let Some((index, printer)) = printer.and_then(|p| Some((p, self.printers.get(p)?))) else { return };
        let stated = Origin::Stated { at: printer.at };
        record.set("torque", printer.torque, Origin::None);
        record.set("suits", suits(printer.nozzles.as_ref(), &found.name), stated);
        self.set_holder(self.nozzle_holder(index, nozzle), knowledge, record);
    }

    /// Adds to the facts of a surface what the shop says of it, and what hangs on the printer it is to lie on.
    pub fn place_surface(&self, printer: Option<usize>, surface: usize, knowledge: Knowledge<'_>, record: &mut Record) {
        let Some(found) = self.surfaces.get(surface) else { return };
        if let Some(limit) = found.limit {
            record.set("limit", Quantity::from(limit), Origin::Stated { at: found.at });
        }
        let Some((index, printer)) = printer.and_then(|p| Some((p, self.printers.get(p)?))) else { return };
        record.set("suits", suits(printer.surfaces.as_ref(), &found.name), Origin::Stated { at: printer.at });
        self.set_holder(self.surface_holder(index, surface), knowledge, record);
    }

    /// Names the machine that holds the thing of a record now, with what else is known of it.
    pub(super) fn set_holder(&self, holder: Option<usize>, knowledge: Knowledge<'_>, record: &mut Record) {
        if let Some((holder, printer)) =
            holder.and_then(|h| Some((self.printer_record(h, knowledge)?, self.printers.get(h)?)))
        {
            record.set("holder", Value::Record(Arc::new(holder)), Origin::Stated { at: printer.at });
        }
    }
}

/// Returns whether a thing is on a printer's list of what fits it; nothing where the printer states no list.
fn suits(listed: Option<&Vec<String>>, name: &str) -> Option<Value> {
    listed.map(|list| Value::Bool(list.iter().any(|n| n == name)))
}
