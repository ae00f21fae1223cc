//! What is where in the workshop at some time of a run.

use std::collections::BTreeMap;

use crate::quantity::Mass;
use crate::resolve::shop::{Bench, Printer};

/// What is where: it moves along with the plan.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Floor {
    /// By printer.
    pub machines: BTreeMap<String, Machine>,
    /// Grams left, by spool.
    pub left: BTreeMap<String, f64>,
    /// Spools dried since the workshop's file was written, with the day.
    pub dried: BTreeMap<String, String>,
}

/// What is on a printer; by the names of catalogue and workshop.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Machine {
    /// In the hot end.
    pub material: Option<String>,
    /// Where that comes from.
    pub spool: Option<String>,
    /// Fitted.
    pub nozzle: Option<String>,
    /// On the bed.
    pub surface: Option<String>,
    /// What lies on the surface.
    pub agent: Option<String>,
}

impl Floor {
    /// Returns the workshop as its file has it.
    pub fn of(bench: &Bench<'_>) -> Self {
        let machine = |p: &Printer| Machine {
            material: p.loaded.clone(),
            spool: p.loaded_spool.clone(),
            nozzle: p.fitted.and_then(|n| bench.nozzles.get(n)).map(|n| n.name.clone()),
            surface: p.mounted.and_then(|s| bench.surfaces.get(s)).map(|s| s.name.clone()),
            agent: p.coated.clone(),
        };
        Self {
            machines: bench.printers.iter().map(|p| (p.name.clone(), machine(p))).collect(),
            left: bench.spools.iter().filter_map(|s| Some((s.name.clone(), s.left?.to_g()))).collect(),
            dried: BTreeMap::new(),
        }
    }

    /// Puts a bench into this state.
    pub fn lay_over(&self, bench: &mut Bench<'_>) {
        for printer in &mut bench.printers {
            let Some(now) = self.machines.get(&printer.name) else { continue };
            printer.loaded.clone_from(&now.material);
            printer.loaded_spool.clone_from(&now.spool);
            printer.fitted = now.nozzle.as_ref().and_then(|n| bench.nozzles.iter().position(|b| b.name == *n));
            printer.mounted = now.surface.as_ref().and_then(|s| bench.surfaces.iter().position(|b| b.name == *s));
            printer.coated.clone_from(&now.agent);
        }
        for spool in &mut bench.spools {
            if let Some(left) = self.left.get(&spool.name) {
                spool.left = Some(Mass::g(*left));
            }
            if let Some(day) = self.dried.get(&spool.name) {
                spool.dried = Some(day.clone());
            }
        }
    }
}
