//! The run of a choice as facts: its plates, what a piece takes.

use std::sync::Arc;

use super::making::computed;
use super::{Partial, World, at};
use crate::catalogue::figures;
use crate::day::days_between;
use crate::physics::packing;
use crate::quantity::{Duration, Length, Mass, Money, Quantity};
use crate::resolve::fits;
use crate::resolve::reading::Key;
use crate::resolve::run::said::Summed;
use crate::resolve::run::{self, Pace, Plates};
use crate::rulebook::facts as rules;
use crate::rulebook::value::Origin;

impl World<'_> {
    /// Returns how fast a printer lays a material through a nozzle, worked out once.
    pub(in crate::resolve) fn pace(&self, choice: Key, make: impl FnOnce() -> Pace) -> Pace {
        self.memory.paces.of(choice, make)
    }

    /// The facts of the plan of plates of a full choice; while anything is open there is none.
    pub(super) fn run_facts(&self, choice: &Partial) -> Option<rules::Run> {
        if choice.iter().any(Option::is_none) {
            return None;
        }
        let plan = self.plan(choice)?;
        let none = Origin::None;
        let count = |count: u32| Origin::None.of(f64::from(count));
        let figure = |key| Origin::None.of(self.knowledge.catalogue.value(key));
        let plate = run::pieces(self, choice, plan.per_plate).ok();
        let sum = run::totals(self, choice, &plan).ok();
        let to_model = (0..self.spec.fits.len()).filter(|&i| fits::to_model(self, i, choice)).count();
        Some(rules::Run {
            title: "run".to_owned(),
            wanted: count(plan.wanted),
            start: count(plan.start),
            per_plate: count(plan.per_plate),
            plates: count(plan.plates),
            last_plate: count(plan.start.saturating_sub(plan.per_plate.saturating_mul(plan.plates.saturating_sub(1)))),
            mass: computed(Summed::Masses).of(sum.as_ref().map(|s| Mass::g(s.mass_g))),
            time: computed(Summed::Times).of(sum.as_ref().map(|s| Duration::s(s.time_s))),
            time_left: self.time_left(choice),
            plate_time: plate.and_then(|p| computed(p.basis).of(p.time)),
            gap: figure(figures::PLATE_GAP),
            edge: none.of(choice[at::PRINTER].and_then(|p| self.bench.printers.get(p)).map(|p| p.edge)),
            to_model: none.of(to_model as f64),
        })
    }

    /// The time from the day the printer is free to the day the part is wanted.
    fn time_left(&self, choice: &Partial) -> Option<rules::Known<Duration>> {
        let printer = choice[at::PRINTER].and_then(|p| self.bench.printers.get(p))?;
        let days = days_between(printer.free_from.as_deref()?, &self.spec.wanted_by.as_ref()?.value)?;
        computed(Summed::WholeDays).of(Duration::h(24.0 * days as f64))
    }

    /// Returns the plan of plates of a full choice, made once.
    pub fn plan(&self, choice: &Partial) -> Option<Arc<Plates>> {
        self.memory.plans.of(Key::of(choice), || run::plates(self, choice).ok().map(Arc::new))
    }

    /// Returns how many pieces go on a bed; counted once for all jobs on one bench, since a thousand of them ask it of one mesh.
    pub(in crate::resolve) fn on_bed(
        &self,
        bed: [Length; 2],
        piece: [Length; 2],
        gap: Length,
        edge: Length,
    ) -> Option<u32> {
        let sizes = [bed[0], bed[1], piece[0], piece[1], gap, edge].map(|l| l.to_mm().to_bits());
        let count = || u32::try_from(packing::on_bed(bed, piece, gap, edge).ok()?.count).ok();
        self.memory.packed.of(sizes, count)
    }

    /// Time and cost of a piece, where all they hang on is decided.
    pub(super) fn piece_facts(&self, choice: &Partial) -> Option<rules::Piece> {
        let hangs_on = [at::PRINTER, at::MATERIAL, at::NOZZLE, at::POSE, at::SUPPORTS, at::BUILD_UP];
        if hangs_on.iter().any(|&d| choice[d].is_none()) {
            return None;
        }
        let piece = run::piece(self, choice).ok()?;
        let basis = computed(piece.basis);
        // A person's time goes by the plate, of which the run knows; it is the same for whatever is compared here.
        let cost = piece.cost.map(|cost| Money::of(Quantity::from(cost).si - piece.shares.labour.unwrap_or(0.0)));
        Some(rules::Piece { title: "piece".to_owned(), time: basis.of(piece.time), cost: basis.of(cost) })
    }
}
