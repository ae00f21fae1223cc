//! Where a thing of the shop is: what fits a printer, and what another machine holds.

use super::{Bench, Printer};
use crate::resolve::facts;
use crate::resolve::world::Knowledge;
use crate::rulebook::facts::{self as rules, Known, Nested};
use crate::rulebook::value::Origin;

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

    /// Returns the facts of a nozzle, with those that hang on the printer it is to go into.
    pub fn nozzle_facts(
        &self,
        printer: Option<usize>,
        nozzle: usize,
        knowledge: Knowledge<'_>,
    ) -> Option<rules::Nozzle> {
        let found = self.nozzles.get(nozzle)?;
        let there = printer.and_then(|p| self.printers.get(p));
        let at = there.map_or(Origin::None, |p| facts::stated(p.at));
        let holder = printer.and_then(|p| self.nozzle_holder(p, nozzle));
        Some(rules::Nozzle {
            torque: Origin::None.of(there.and_then(|p| p.torque)),
            suits: at.of(there.and_then(|p| suits(p.nozzles.as_ref(), &found.name))),
            holder: self.holder_facts(holder, knowledge),
            ..facts::nozzle(found, printer.and_then(|p| self.is_fitted(p, nozzle)))
        })
    }

    /// Returns the facts of a surface, with what the shop says of it and those that hang on the printer it is to lie on.
    pub fn surface_facts(
        &self,
        printer: Option<usize>,
        surface: usize,
        knowledge: Knowledge<'_>,
    ) -> Option<rules::Surface> {
        let found = self.surfaces.get(surface)?;
        let there = printer.and_then(|p| self.printers.get(p));
        let at = there.map_or(Origin::None, |p| facts::stated(p.at));
        let holder = printer.and_then(|p| self.surface_holder(p, surface));
        let mounted = printer.and_then(|p| self.is_mounted(p, surface));
        let plain = facts::surface(found.kind, &found.name, mounted, found.at);
        Some(rules::Surface {
            limit: facts::stated(found.at).of(found.limit).or(plain.limit),
            suits: at.of(there.and_then(|p| suits(p.surfaces.as_ref(), &found.name))),
            holder: self.holder_facts(holder, knowledge),
            ..plain
        })
    }

    /// Returns the machine that holds a thing now, with what else is known of it.
    pub(super) fn holder_facts(
        &self,
        holder: Option<usize>,
        knowledge: Knowledge<'_>,
    ) -> Option<Known<Nested<rules::Printer>>> {
        let at = facts::stated(self.printers.get(holder?)?.at);
        at.of(self.printer_facts(holder?, knowledge).map(Nested::from))
    }
}

/// Returns whether a thing is on a printer's list of what fits it; nothing where the printer states no list.
fn suits(listed: Option<&Vec<String>>, name: &str) -> Option<bool> {
    listed.map(|list| list.iter().any(|n| n == name))
}
