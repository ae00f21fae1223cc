//! The table of the kinds of margin: one row for each, with where a job has such margins, what they hang on and who makes them.
//!
//! What asks for a kind stands with the statement that asks (`semantics::requirements`), its words in `render::words::margins`.

use std::sync::LazyLock;

use crate::resolve::strength;
use crate::resolve::together;
use crate::resolve::world::{World, at};
use crate::rulebook::names::Root;
use crate::semantics::requirements::{MarginKind, ROWS, Row};
use crate::semantics::spec::{FitFunction, Spec};

use super::{
    About, Asked, Margin, bearing, bed, boss, chemical, cold, depth, gap, heat, load, press, pressure, slit, snap,
    stiffness, wall,
};

use at::{MATERIAL, NOZZLE, POSE, PRINTER};

/// What is known of a kind of margin.
pub(super) struct OfKind {
    kind: MarginKind,
    /// Where a job has one, whatever is chosen.
    pub(super) there: There,
    /// The decisions it is made from.
    decisions: &'static [usize],
    /// The settings it is made from.
    settings: &'static [&'static str],
    /// The kind of the same load beside which it is judged: what presses or buckles under a load costs nothing that the load
    /// itself costs already.
    beside: Option<MarginKind>,
    /// Makes it, of the thing asked for.
    pub(super) make: fn(&Asked<'_, '_>) -> Option<Margin>,
}

/// Where a job has margins of a kind.
pub(super) enum There {
    /// One in every job of which this is true.
    Once(fn(&World<'_>) -> bool),
    /// One where the spec has the statement that asks for it.
    Stated,
    /// One for each chemical the part meets.
    EachContact,
    /// One for each load of which this is true.
    EachLoad(fn(&World<'_>, usize) -> bool),
    /// One for each fit of such a function.
    EachFit(fn(&FitFunction) -> bool),
}

impl There {
    /// Returns the name of the load, contact or fit of that place.
    pub(super) fn name<'s>(&self, spec: &'s Spec, index: usize) -> Option<&'s str> {
        let name = match self {
            There::Once(_) | There::Stated => return None,
            There::EachContact => &spec.touching().nth(index)?.chemical,
            There::EachLoad(_) => &spec.loads.get(index)?.name,
            There::EachFit(_) => &spec.fits.get(index)?.name,
        };
        Some(&name.value)
    }
}

/// The settings that say how much of a wall is plastic; of all its sides, and of one of them.
const PRINTED: &[&str] = &["infill", "wall_beads", "bead_width", "layer_height", "closed_above", "closed_below"];
const SHELL: &[&str] = &["infill", "wall_beads", "bead_width", "layer_height"];
/// What is made of the stiffness or the strength of a foam alone.
const FILLED: &[&str] = &["infill"];

/// Every kind of margin, in the order of [`MarginKind`], in which margins are told; those of fits fit by fit.
static KINDS: [OfKind; MarginKind::WORDS.len()] = {
    use MarginKind as M;
    use There::{EachContact, EachFit, EachLoad, Once, Stated};
    const fn row(
        kind: MarginKind,
        there: There,
        decisions: &'static [usize],
        settings: &'static [&'static str],
        make: fn(&Asked<'_, '_>) -> Option<Margin>,
    ) -> OfKind {
        OfKind { kind, there, decisions, settings, beside: None, make }
    }
    const ON_THE_LINE: &[usize] = &[PRINTER, MATERIAL, NOZZLE, POSE];
    let beside = Some(M::Load);
    [
        row(M::Heat, Once(|_| true), &[MATERIAL], &[], heat::heat),
        row(M::Cold, Once(|w| cold::stated(w.spec).is_some()), &[MATERIAL], &[], cold::cold),
        row(M::Sun, Once(|w| heat::is_for_years(w.spec)), &[MATERIAL], &[], heat::sun),
        row(M::Contact, EachContact, &[MATERIAL], &[], chemical::contact),
        row(M::Load, EachLoad(|_, _| true), &[MATERIAL, POSE], PRINTED, load::load),
        OfKind { beside, ..row(M::Buckling, EachLoad(strength::may_buckle), &[MATERIAL], FILLED, stiffness::buckling) },
        OfKind { beside, ..row(M::Bearing, EachLoad(|_, _| true), &[MATERIAL, POSE], PRINTED, bearing::bearing) },
        row(M::LoadsTogether, EachLoad(act_together), &[MATERIAL, POSE], FILLED, load::together),
        row(M::Impact, Once(|w| w.spec.impact.is_some_and(|i| cold::strikes(i.value))), &[MATERIAL], &[], load::impact),
        row(M::Deflection, Stated, &[MATERIAL], FILLED, stiffness::deflection),
        row(M::Pressure, Once(pressure::is_stated), &[MATERIAL], &[], pressure::pressure),
        row(M::Wall, Stated, &[], &[], wall::wall),
        row(M::Slit, Once(slit::may_close), &[NOZZLE], &[], slit::slit),
        row(M::BedRoom, Once(bed::is_near_its_edge), &[PRINTER, POSE], &["brim"], bed::room),
        row(M::Depth, EachFit(depth::is_filled_to_a_depth), &[], &[], depth::depth),
        row(M::Boss, EachFit(boss::is_melted_in), &[], SHELL, boss::boss),
        row(M::Snap, EachFit(snap::is_an_arm), &[MATERIAL, POSE], &[], snap::strained),
        row(M::LivingHinge, EachFit(snap::is_a_fold), &[MATERIAL, POSE], &[], snap::strained),
        row(M::Gap, EachFit(gap::is_in_place), ON_THE_LINE, &["layer_height"], gap::gap),
        row(M::Press, EachFit(press::is_pressed), ON_THE_LINE, SHELL, press::press),
        row(M::Grip, EachFit(press::is_pressed), ON_THE_LINE, SHELL, press::grip),
    ]
};

fn act_together(world: &World<'_>, load: usize) -> bool {
    together::combination(world.spec, load).is_some()
}

impl MarginKind {
    pub(super) fn row(self) -> &'static OfKind {
        &KINDS[self as usize]
    }

    /// Returns what of the spec a margin of this kind is made for each of.
    pub fn speaks_of(self) -> Option<Root> {
        match self.row().there {
            There::Once(_) | There::Stated => None,
            There::EachContact => Some(Root::Contact),
            There::EachLoad(_) => Some(Root::Load),
            There::EachFit(_) => Some(Root::Fit),
        }
    }

    /// Returns the statement that asks for margins of this kind; `None` where several may, or none does.
    pub(super) fn requirement(self) -> Option<&'static Row> {
        static ROW_OF: LazyLock<Vec<Option<&Row>>> =
            LazyLock::new(|| KINDS.iter().map(|of| ROWS.iter().find(|row| row.margins.contains(&of.kind))).collect());
        *ROW_OF.get(self as usize)?
    }

    /// Returns the decisions a margin of this kind hangs on, and the settings it is made from.
    pub(in crate::resolve) fn hangs_on(self) -> (&'static [usize], &'static [&'static str]) {
        (self.row().decisions, self.row().settings)
    }

    /// Returns the kind of the same load beside which it is judged.
    pub(in crate::resolve) fn beside(self) -> Option<MarginKind> {
        self.row().beside
    }
}

/// Returns every margin a job may have, whatever is chosen.
pub fn all(world: &World<'_>) -> Vec<About> {
    let spec = world.spec;
    let mut list = Vec::new();
    for OfKind { kind, there, .. } in &KINDS {
        let mut add = |index| list.push(About { kind: *kind, index });
        match there {
            There::Once(is) if is(world) => add(0),
            There::Stated if kind.requirement().is_some_and(|row| !row.find(spec).is_empty()) => add(0),
            There::Once(_) | There::Stated => {}
            There::EachContact => (0..spec.touching().count()).for_each(add),
            There::EachLoad(is) => (0..spec.loads.len()).filter(|&i| is(world, i)).for_each(add),
            There::EachFit(is) => {
                let such = spec.fits.iter().enumerate().filter(|(_, fit)| is(&fit.function.value));
                such.for_each(|(index, _)| add(index));
            }
        }
    }
    // Of one fit all that there is stands together.
    let fit = |about: &About| (about.kind.speaks_of() == Some(Root::Fit)).then_some(about.index);
    list.sort_by_key(fit);
    list
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::semantics::requirements::Kind;

    #[test]
    fn each_kind_has_its_row_and_speaks_of_what_asks_for_it() {
        for (place, of) in KINDS.iter().enumerate() {
            assert_eq!(of.kind as usize, place, "{}", of.kind);
            let asks = of.kind.requirement().map(|row| row.kind);
            let root = match asks {
                Some(Kind::Contact) => Some(Root::Contact),
                Some(Kind::Load) => Some(Root::Load),
                Some(Kind::Fit) => Some(Root::Fit),
                _ => None,
            };
            assert_eq!(of.kind.speaks_of(), root, "{} is asked for by {asks:?}", of.kind);
        }
        let unasked: Vec<_> = KINDS.iter().filter(|of| of.kind.requirement().is_none()).map(|of| of.kind).collect();
        // A blow or a shock; the mesh alone; the machine.
        assert_eq!(unasked, [MarginKind::Cold, MarginKind::Slit, MarginKind::BedRoom]);
    }
}
