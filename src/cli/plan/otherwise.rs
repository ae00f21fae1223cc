//! Where a run decides otherwise than a part's own recipe, which knows nothing of the run, and what of the run does it.

use std::collections::BTreeSet;

use super::super::of_run::OfRun;
use super::super::pipeline::Options;
use super::super::world::{Located, World};
use super::making::{Decided, Origin, compiled};
use crate::diag::{Diagnostic, Severity};
use crate::plan::{Otherwise, Round};
use crate::semantics::spec::Decision;

/// What is decided of a part, with the names of the decisions.
pub(super) type Values = Vec<(&'static str, String)>;

const PRINTER: &str = "printer";
const MATERIAL: &str = "material";
const SPOOL: &str = "spool";

/// A spec compiled for itself, to hold what the run makes of it against.
pub(super) struct Differences<'a> {
    world: &'a World,
    spec: &'a Located,
    options: &'a Options,
    asked: &'a OfRun,
    own: Vec<Decided>,
}

/// What of a run may make a difference, alone.
#[derive(Clone, Copy)]
enum Cause {
    Printers,
    Dates,
    Count,
    Records,
}

impl<'a> Differences<'a> {
    /// Compiles a spec for itself.
    pub fn of(world: &'a World, spec: &'a Located, options: &'a Options, asked: &'a OfRun) -> Self {
        let (own, _) = compiled(world, &spec.path, options, None);
        Self { world, spec, options, asked, own }
    }

    /// Returns what the spec alone decides, and what the run decides otherwise. Where only its dates make another material, as
    /// a spool has become damp by then, the spool is dried instead: what is decided becomes that.
    pub fn told(&self, decided: &mut Decided) -> (Option<Values>, Vec<Otherwise>) {
        let Some(own) = self.own.iter().find(|d| d.recipe.part == decided.recipe.part) else {
            return (None, Vec::new());
        };
        let before = values(own);
        let mut now = values(decided);
        if before.is_empty() || now.is_empty() || before == now {
            return (Some(before), Vec::new());
        }
        let causes: Vec<(Cause, Values)> =
            self.causes().into_iter().map(|cause| (cause, self.under(cause, &own.recipe.part))).collect();
        let flips =
            |(_, alone): &&(Cause, Values)| !alone.is_empty() && value(alone, MATERIAL) != value(&before, MATERIAL);
        let by_dates = causes.iter().find(flips).is_some_and(|(cause, _)| matches!(cause, Cause::Dates));
        if by_dates
            && value(&now, MATERIAL) != value(&before, MATERIAL)
            && let Some(dried) = self.dried(own, &decided.spec_name)
        {
            *decided = dried;
            now = values(decided);
        }
        let damp = decided.routing.as_ref().is_ok_and(|w| w.dry.is_some()) || by_dates;
        let changed = before.iter().zip(&now).filter(|(b, n)| b.1 != n.1);
        let told = changed.map(|(b, n)| Otherwise {
            part: decided.recipe.part.clone(),
            decision: b.0.to_owned(),
            before: b.1.clone(),
            now: n.1.clone(),
            why: self.why(b, &causes, damp),
        });
        let told = told.collect();
        (Some(before), told)
    }

    /// What the run says otherwise at all.
    fn causes(&self) -> Vec<Cause> {
        let asked = self.asked;
        let all = [
            (Cause::Printers, !asked.barred.is_empty()),
            (Cause::Dates, asked.day.is_some() || asked.wanted_by.is_some()),
            (Cause::Count, asked.quantity.is_some()),
            (Cause::Records, asked.floor.is_some()),
        ];
        all.into_iter().filter(|(_, said)| *said).map(|(cause, _)| cause).collect()
    }

    /// What is decided of a part where only this of the run is said.
    fn under(&self, cause: Cause, part: &str) -> Values {
        let asked = self.asked.clone();
        let nothing =
            OfRun { quantity: None, wanted_by: None, day: None, barred: Vec::new(), floor: None, ..asked.clone() };
        let alone = match cause {
            Cause::Printers => OfRun { barred: asked.barred, ..nothing },
            Cause::Dates => OfRun { wanted_by: asked.wanted_by, day: asked.day, ..nothing },
            Cause::Count => OfRun { quantity: asked.quantity, ..nothing },
            Cause::Records => OfRun { floor: asked.floor, ..nothing },
        };
        let (made, _) = compiled(self.world, &self.spec.path, self.options, Some(alone));
        made.iter().find(|d| d.recipe.part == part).map(values).unwrap_or_default()
    }

    /// The part of its own recipe's material, where a stay in the dryer is all that it needs.
    fn dried(&self, own: &Decided, spec_name: &str) -> Option<Decided> {
        let mut pinned = self.asked.clone();
        let material = own.routing.as_ref().ok()?.material.clone();
        pinned.pins.insert(spec_name.to_owned(), vec![(Decision::Material, material)]);
        let (made, _) = compiled(self.world, &self.spec.path, self.options, Some(pinned));
        let found = made.into_iter().find(|d| d.recipe.part == own.recipe.part)?;
        let sound = found.recipe.status.may_print() && found.recipe.broken.len() <= own.recipe.broken.len();
        (sound && found.routing.as_ref().is_ok_and(|w| w.dry.is_some())).then_some(found)
    }

    /// What of the run makes a difference.
    fn why(&self, before: &(&'static str, String), causes: &[(Cause, Values)], damp: bool) -> String {
        let differs = |(_, alone): &&(Cause, Values)| {
            alone.iter().any(|(decision, value)| *decision == before.0 && *value != before.1)
        };
        let words: Vec<String> = causes.iter().filter(differs).map(|(cause, _)| self.words(*cause, damp)).collect();
        if !words.is_empty() {
            return words.join("; ");
        }
        let all: Vec<String> = causes.iter().map(|(cause, _)| self.words(*cause, damp)).collect();
        match all.as_slice() {
            [] => "the run decides it so".to_owned(),
            all => format!("none of these alone, only together: {}", all.join("; ")),
        }
    }

    fn words(&self, cause: Cause, damp: bool) -> String {
        let asked = self.asked;
        match cause {
            Cause::Printers => format!("the run does not use {}", asked.barred.join(", ")),
            Cause::Dates => {
                let day = asked.day.as_deref().unwrap_or_default();
                let by = asked.wanted_by.as_ref().map(|by| format!(", wanted by {}", by.value)).unwrap_or_default();
                let damp = if damp { ": by then a spool counts as damp" } else { "" };
                format!("the dates: printed from {day} on{by}{damp}")
            }
            Cause::Count => {
                format!("the run wants {} of it", asked.quantity.map(|q| q.value).unwrap_or_default())
            }
            Cause::Records => "the workshop is as the run's records leave it".to_owned(),
        }
    }
}

/// What is decided of a part; nothing where no choice stands.
fn values(decided: &Decided) -> Values {
    let (Ok(routing), Some(found)) = (&decided.routing, &decided.recipe.decisions) else { return Vec::new() };
    vec![
        (PRINTER, routing.printer.clone()),
        (MATERIAL, routing.material.clone()),
        (SPOOL, routing.spool.clone().unwrap_or_else(|| "none listed".to_owned())),
        ("nozzle", routing.nozzle.clone()),
        ("surface", routing.surface.clone()),
        ("agent", found.agent.value.clone()),
        ("pose", found.pose.value.clone()),
        ("supports", found.supports.value.clone()),
    ]
}

fn value<'a>(values: &'a Values, decision: &str) -> Option<&'a str> {
    values.iter().find(|(name, _)| *name == decision).map(|(_, value)| value.as_str())
}

/// Returns what the rounds make otherwise: which printers and spools they take is known only of the whole plan.
pub(super) fn settled(rounds: &[Round], origins: &[Origin]) -> Vec<Otherwise> {
    let mut all = Vec::new();
    for origin in origins {
        let mut told = origin.otherwise.clone();
        let part = &origin.recipe.part;
        let of_part = || rounds.iter().filter(|r| r.parts.iter().any(|p| p.part == *part));
        let printers: BTreeSet<&str> = of_part().map(|r| r.printer.as_str()).collect();
        let spools: BTreeSet<&str> = of_part().flat_map(|r| r.spools.iter().map(|s| s.name.as_str())).collect();
        let shared = [
            (PRINTER, printers, "the plan spreads the rounds over printers that make it in the same way"),
            (SPOOL, spools, "the plan shares what is left on the spools among its parts"),
        ];
        for (decision, taken, why) in shared {
            let Some(before) = origin.own.as_ref().and_then(|own| value(own, decision)) else { continue };
            if taken.is_empty() || before == "none listed" {
                continue;
            }
            let now = taken.into_iter().collect::<Vec<_>>().join(", ");
            if now == before {
                told.retain(|o| o.decision != decision);
            } else if let Some(known) = told.iter_mut().find(|o| o.decision == decision) {
                known.now = now;
            } else {
                told.push(Otherwise {
                    part: part.clone(),
                    decision: decision.to_owned(),
                    before: before.to_owned(),
                    now,
                    why: why.to_owned(),
                });
            }
        }
        all.extend(told);
    }
    all.dedup();
    all
}

/// The same as notes beside the plan.
pub(super) fn notes(otherwise: &[Otherwise]) -> Vec<Diagnostic> {
    let note = |o: &Otherwise| {
        let message = format!("{}: {} {}, where its own recipe has {}: {}", o.part, o.decision, o.now, o.before, o.why);
        Diagnostic::new(Severity::Note, "run/other-than-recipe", message)
    };
    otherwise.iter().map(note).collect()
}
