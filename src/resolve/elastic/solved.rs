//! What a load does to the part, solved once for all materials and ways up, and kept.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use rayon::prelude::*;

use super::Case;
use super::alike::{Member, Unit};
use super::closing::{self, Closing};
use super::confined;
use super::said::{Assumed, NotKnown};
use crate::field::{self, Bearing, Gauge, LoadKind, Solution, Stress};
use crate::geometry::coded;
use crate::geometry::survey::PoseFacts;
use crate::geometry::vector::{Vector, dot, normalise};
use crate::resolve::part::{Memory, Part};
use crate::resolve::strength::hand;

/// The answer to a load, or why there is none.
pub type Answer = Result<Arc<Solved>, NotKnown>;

/// A place that may decide, and the stress there averaged over about a bead: xx, yy, zz, xy, yz, zx in MPa.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spot {
    pub at: Vector,
    pub stress: Stress,
    /// Whether it is right beside what something presses on: what presses there is a matter of bearing.
    pub beside: bool,
}

impl Spot {
    /// Returns its stress along, across and between layers as it is judged.
    pub fn in_layers(&self, up: Vector) -> [f64; 3] {
        if self.beside { field::in_layers_beside(&self.stress, up) } else { field::in_layers(&self.stress, up) }
    }

    /// Returns what of its stress is judged.
    pub fn judged(&self) -> Stress {
        if self.beside { field::without_pressing(&self.stress) } else { self.stress }
    }
}

/// What of a solution is drawn: the part as it is seen along an axis of the file, on a raster.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct View {
    /// 0, 1, 2 for x, y, z: from +x, -y, +z.
    pub axis: usize,
    /// Of the raster.
    pub spacing_mm: f64,
    /// Row by row, each from left to right.
    pub seen: Vec<Seen>,
}

/// A place of the surface that is seen.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Seen {
    pub at: Vector,
    /// Right under it, MPa.
    pub stress: Stress,
    /// Times the modulus, N/mm.
    pub moves: Vector,
}

/// What a load does to the solid part, alike in all directions. Stresses are those of any modulus; displacements are to be
/// divided by it, the buckling factor multiplied.
#[derive(Debug, Clone, PartialEq)]
pub struct Solved {
    pub spots: Vec<Spot>,
    /// The stresses where loads of the same hold may decide with it: at the same places for each of them, in the same order.
    /// Empty where there are none, or where they cannot be added.
    pub shared: Vec<Spot>,
    /// How far apart the two grids are, as a part of the stress.
    pub apart: f64,
    /// What stresses may be larger by: what the grids are apart, twice that where they are not settled, and much more where
    /// they are still on their way.
    pub doubt: f64,
    /// The loaded patch's displacement in the load's direction, times the modulus, on the finer and the coarser grid: N/mm.
    pub displacement: [f64; 2],
    /// The lowest buckling factor over the modulus, 1/MPa, on both grids, where anything is pressed.
    pub buckling: Option<[f64; 2]>,
    /// Why the stresses are not known at all, where the equations could not be solved.
    pub unsolved: Option<String>,
    /// What the grids say, where they are so far apart that only what does not hang on them is judged.
    pub open: Option<String>,
    /// Why the displacement does, where it does.
    pub unsettled_displacement: Option<String>,
    pub cells: usize,
    pub cell_mm: f64,
    /// Whether what the part rests on only pushes: stresses of loads then cannot be added.
    pub rests: bool,
    pub holds: Vec<String>,
    /// What each of them does to the part: its force, N, and its moment about the origin of the file, N mm.
    pub reactions: Vec<[f64; 6]>,
    /// What presses on the part: by hold, each of its places, then by load.
    pub bearings: Vec<Bearing>,
    /// Of each of them, how many times as wide what it presses with can spread in the part.
    pub widths: Vec<f64>,
    /// Whether a finer grid would take more work than is spent on a load.
    pub spent: bool,
    /// The gap of the part that it closes first.
    pub closing: Option<Closing>,
    /// How they leave the part free to move, where the load does not move it so.
    pub free: Vec<String>,
    /// What is drawn of it, and how many times as large it is.
    pub view: Arc<View>,
    pub view_times: f64,
    /// What was taken for granted.
    pub assumed: Vec<Assumed>,
}

/// An answer as it is kept; what was assumed is that of the case.
struct Kept {
    numbers: Vec<f64>,
    displacement: [f64; 2],
    buckling: Option<[f64; 2]>,
    unsolved: Option<String>,
    open: Option<String>,
    unsettled_displacement: Option<String>,
    cells: usize,
    rests: bool,
    spent: bool,
    holds: Vec<String>,
    reactions: Vec<f64>,
    /// Force, area, kind and spread of what presses, and the names.
    bearings: Vec<f64>,
    pressed: Vec<String>,
    /// Gap, its middle and the modulus, where one closes.
    closing: Vec<f64>,
    free: Vec<String>,
    /// Axis, spacing, and what is seen in single precision: it is drawn, not judged.
    axis: usize,
    spacing_mm: f64,
    seen: Vec<u32>,
    seen_times: f64,
}

coded! {
    Kept { numbers, displacement, buckling, unsolved, open, unsettled_displacement, cells, rests, spent, holds, reactions, bearings, pressed, closing, free, axis, spacing_mm, seen, seen_times }
}

impl Solved {
    fn to_bytes(&self) -> Vec<u8> {
        let all = self.spots.iter().chain(&self.shared);
        let spots = all.flat_map(|s| s.at.into_iter().chain(s.stress).chain([f64::from(u8::from(s.beside))]));
        let own = self.spots.len() as f64;
        let kept = Kept {
            numbers: [self.apart, self.doubt, self.cell_mm, own].into_iter().chain(spots).collect(),
            displacement: self.displacement,
            buckling: self.buckling,
            unsolved: self.unsolved.clone(),
            open: self.open.clone(),
            unsettled_displacement: self.unsettled_displacement.clone(),
            cells: self.cells,
            rests: self.rests,
            spent: self.spent,
            holds: self.holds.clone(),
            reactions: self.reactions.concat(),
            bearings: (self.bearings.iter().zip(&self.widths))
                .flat_map(|(b, wide)| b.newtons.into_iter().chain([b.area_mm2, f64::from(u8::from(b.edge)), *wide]))
                .collect(),
            closing: (self.closing.iter()).flat_map(|c| [c.gap_mm, c.modulus_mpa].into_iter().chain(c.at)).collect(),
            pressed: self.bearings.iter().map(|b| b.of.clone()).collect(),
            free: self.free.clone(),
            axis: self.view.axis,
            spacing_mm: self.view.spacing_mm,
            seen: self.view.to_bits(),
            seen_times: self.view_times,
        };
        crate::geometry::codec::bytes(&kept)
    }

    fn from_bytes(bytes: &[u8]) -> Option<Self> {
        let kept: Kept = crate::geometry::codec::whole(bytes)?;
        let (&[apart, doubt, cell_mm, own], spots) = kept.numbers.split_first_chunk::<4>()?;
        // A place, its stress and whether it lies beside what is pressed.
        let (spots, rest) = spots.as_chunks::<10>();
        let spot = |&[x, y, z, a, b, c, d, e, f, beside]: &[f64; 10]| Spot {
            at: [x, y, z],
            stress: [a, b, c, d, e, f],
            beside: beside > 0.0,
        };
        let (own, shared) = spots.split_at_checked(own as usize)?;
        rest.is_empty().then(|| Self {
            spots: own.iter().map(spot).collect(),
            shared: shared.iter().map(spot).collect(),
            apart,
            doubt,
            displacement: kept.displacement,
            buckling: kept.buckling,
            unsolved: kept.unsolved,
            open: kept.open,
            unsettled_displacement: kept.unsettled_displacement,
            cells: kept.cells,
            cell_mm,
            rests: kept.rests,
            spent: kept.spent,
            holds: kept.holds,
            reactions: kept.reactions.as_chunks::<6>().0.to_vec(),
            widths: kept.bearings.as_chunks::<6>().0.iter().map(|&[.., wide]| wide).collect(),
            bearings: (kept.bearings.as_chunks::<6>().0.iter().zip(kept.pressed))
                .map(|(&[x, y, z, area_mm2, edge, _], of)| Bearing {
                    of,
                    newtons: [x, y, z],
                    area_mm2,
                    edge: edge > 0.0,
                })
                .collect(),
            closing: (kept.closing.first_chunk::<5>()).map(|&[gap_mm, modulus_mpa, x, y, z]| Closing {
                gap_mm,
                at: [x, y, z],
                modulus_mpa,
            }),
            free: kept.free,
            view: Arc::new(View::from_bits(kept.axis, kept.spacing_mm, &kept.seen)),
            view_times: kept.seen_times,
            // Those of the case that asks.
            assumed: Vec::new(),
        })
    }

    /// Returns the same for a load so many times as large.
    pub fn times(&self, ratio: f64) -> Self {
        let spot = |s: &Spot| Spot { stress: s.stress.map(|c| c * ratio), ..*s };
        Self {
            spots: self.spots.iter().map(spot).collect(),
            shared: self.shared.iter().map(spot).collect(),
            displacement: self.displacement.map(|d| d * ratio),
            reactions: self.reactions.iter().map(|r| r.map(|c| c * ratio)).collect(),
            widths: self.widths.clone(),
            bearings: (self.bearings.iter())
                .map(|b| Bearing { newtons: b.newtons.map(|c| c * ratio), ..b.clone() })
                .collect(),
            closing: self.closing.map(|c| Closing { modulus_mpa: c.modulus_mpa * ratio, ..c }),
            view: Arc::clone(&self.view),
            view_times: self.view_times * ratio,
            buckling: self.buckling.map(|b| b.map(|f| f / ratio)),
            unsolved: self.unsolved.clone(),
            open: self.open.clone(),
            unsettled_displacement: self.unsettled_displacement.clone(),
            holds: self.holds.clone(),
            free: self.free.clone(),
            assumed: self.assumed.clone(),
            ..*self
        }
    }
}

/// What an answer hangs on besides the mesh, in words: two questions alike have one answer.
pub(super) fn question(case: &Case, part: &Part, options: &field::Options<'_>) -> String {
    let ups: Vec<Vector> = part.poses.iter().map(|p| p.pose.up).collect();
    format!(
        "{:?} {:?} {:?} {} {:?} {ups:?} {:?} {:?} {:?} {:?}",
        case.holds,
        case.loads,
        case.off,
        case.off_mm,
        case.beside,
        options.off_edges_mm,
        case.figures,
        case.hopeless_mpa,
        case.cells
    )
}

/// Returns the answer kept for a question.
pub(super) fn recalled(case: &Case, question: &str, memory: Option<&(dyn Memory + Sync)>) -> Option<Solved> {
    let known = memory.and_then(|m| Solved::from_bytes(&m.recall_answer(question)?))?;
    Some(Solved { assumed: case.assumed.clone(), ..known })
}

pub(super) fn keep(solved: &Solved, question: &str, memory: Option<&(dyn Memory + Sync)>) {
    if let Some(memory) = memory {
        memory.keep_answer(question, &solved.to_bytes());
    }
}

/// A case to be solved, and whether its lowest buckling factor is sought.
#[derive(Clone, Copy)]
pub(super) struct Sought<'a> {
    pub case: &'a Case,
    pub buckling: bool,
}

/// An answer with its field.
pub(super) type Found = Result<(Solved, Sized), NotKnown>;

/// Solves cases, or recalls their answers; where any has to be solved, others beside them, which come with their fields.
pub(super) fn solve(
    sought: &[Sought<'_>],
    beside: &[Sought<'_>],
    part: &Part,
    options: &field::Options<'_>,
    memory: Option<&(dyn Memory + Sync)>,
) -> (Vec<Answer>, Vec<Found>) {
    let questions: Vec<String> = sought.iter().map(|s| question(s.case, part, options)).collect();
    let recall = |(s, question): (&Sought<'_>, &String)| recalled(s.case, question, memory).map(|k| Ok(Arc::new(k)));
    let mut answers: Vec<Option<Answer>> = sought.iter().zip(&questions).map(recall).collect();
    let open: Vec<usize> = (0..sought.len()).filter(|&i| answers.get(i).is_some_and(Option::is_none)).collect();
    let mut asked: Vec<Sought<'_>> = open.iter().filter_map(|&i| sought.get(i).copied()).collect();
    let (found, with_fields) = if asked.is_empty() || beside.is_empty() {
        (afresh(&asked, part, options, |solved, _| solved), Vec::new())
    } else {
        asked.extend(beside);
        let mut found = afresh(&asked, part, options, |solved, sized| (solved, sized));
        let with_fields = found.split_off(open.len());
        (found.into_iter().map(|found| found.map(|(solved, _)| solved)).collect(), with_fields)
    };
    for (i, solved) in open.into_iter().zip(found) {
        if let (Ok(solved), Some(question)) = (&solved, questions.get(i)) {
            keep(solved, question, memory);
        }
        if let Some(answer) = answers.get_mut(i) {
            *answer = Some(solved.map(Arc::new));
        }
    }
    (answers.into_iter().flatten().collect(), with_fields)
}

/// The field of a case, and what it has to be multiplied by.
pub(super) struct Sized {
    pub field: Arc<Solution>,
    pub times: f64,
}

/// Solves cases on grids as fine as the stresses of each ask for, those of the same holds in one. What `keep` makes of an answer
/// and its field is returned, in the order of the cases.
pub(super) fn afresh<T: Send>(
    sought: &[Sought<'_>],
    part: &Part,
    options: &field::Options<'_>,
    keep: impl Fn(Solved, Sized) -> T + Sync,
) -> Vec<Result<T, NotKnown>> {
    let mut by_holds: BTreeMap<String, Vec<usize>> = BTreeMap::new();
    for (i, s) in sought.iter().enumerate() {
        by_holds.entry(format!("{:?} {:?}", s.case.cells, s.case.holds)).or_default().push(i);
    }
    let of_one_hold = |numbers: Vec<usize>| {
        let group: Vec<Sought<'_>> = numbers.iter().filter_map(|&i| sought.get(i).copied()).collect();
        let found = held_alike(&group, part, options, &keep);
        numbers.into_iter().zip(found).collect::<Vec<_>>()
    };
    let groups: Vec<Vec<usize>> = by_holds.into_values().collect();
    let mut all: Vec<(usize, Result<T, NotKnown>)> = groups.into_par_iter().flat_map_iter(of_one_hold).collect();
    all.sort_by_key(|(i, _)| *i);
    all.into_iter().map(|(_, found)| found).collect()
}

/// What a grid said of a case that a finer one is asked about.
struct Before {
    cell_mm: f64,
    converged: bool,
    tops: Vec<field::Answer>,
    buckling: Option<[f64; 2]>,
}

/// Solves cases of the same holds.
fn held_alike<T: Send>(
    group: &[Sought<'_>],
    part: &Part,
    options: &field::Options<'_>,
    keep: &(impl Fn(Solved, Sized) -> T + Sync),
) -> Vec<Result<T, NotKnown>> {
    let of_pose = |p: &PoseFacts| field::RANKING.map(|strengths| (p.pose.up, strengths));
    let gauges: Vec<Gauge> = part.poses.iter().flat_map(of_pose).collect();
    let Some(holds) = group.first().map(|s| &s.case.holds) else { return Vec::new() };
    let mut done: Vec<(usize, Result<T, NotKnown>)> = broken_at_once(group, part, options, &gauges, keep);
    let known: BTreeSet<usize> = done.iter().map(|(i, _)| *i).collect();
    let all = group.iter().copied().enumerate().filter(|(i, _)| !known.contains(i));
    let mut open: Vec<(Unit<'_>, Option<Before>)> = Unit::of(all).into_iter().map(|unit| (unit, None)).collect();
    let cells = group.first().map_or(&[][..], |s| s.case.cells);
    let first = if holds.iter().any(|h| h.kind.pushes()) { first_to_tell(cells, part) } else { 0 };
    for (turn, &most_cells) in cells.iter().enumerate().skip(first) {
        // What is slender enough to buckle shows it on few cells; what is stout, on none.
        // The second time at once as fine as that many cells allow.
        let cell_mm = (turn > 0).then_some(0.0);
        let options = field::Options { most_cells, cell_mm, gauges: &gauges, telling: field::TELLING, ..*options };
        let acting: Vec<field::Acting<'_>> = open
            .iter()
            .map(|(unit, _)| field::Acting {
                loads: &unit.case.loads,
                off: &unit.case.off,
                off_mm: unit.case.off_mm,
                beside: &unit.case.beside,
                buckling: turn == 0 && unit.buckling,
            })
            .collect();
        let judged = |i: usize, found: Result<Solution, field::Refusal>| {
            let (unit, before) = open.get(i)?;
            Some(unit.judged(found, before.as_ref(), turn, part, keep))
        };
        let found = field::solve_each(&part.mesh, holds, &acting, &options, judged);
        let mut finer = Vec::new();
        for ((unit, _), standing) in open.into_iter().zip(found) {
            let Some((answers, before)) = standing else {
                done.extend(unit.members.iter().map(|member| (member.number, Err(NotKnown::NotSolved))));
                continue;
            };
            let answered: BTreeSet<usize> = answers.iter().map(|(number, _)| *number).collect();
            done.extend(answers);
            let rest = unit.without(&answered);
            if !rest.members.is_empty() {
                finer.push((rest, before));
            }
        }
        open = finer;
    }
    done.sort_by_key(|(i, _)| *i);
    done.into_iter().map(|(_, answer)| answer).collect()
}

/// Returns the first of some grids that resolves the part's walls, where one does. A thin shell that something pushes at takes so many
/// more iterations on coarser ones that they cost more than the fine one, and they tell nothing of it.
fn first_to_tell(cells: &[usize], part: &Part) -> usize {
    let resolved = |&most: &usize| field::cells_through(&part.mesh, most) >= RESOLVED;
    cells.iter().position(resolved).unwrap_or(0)
}

/// Cells through the wall that governs for a grid to resolve it.
const RESOLVED: f64 = 0.8;

/// Solves on few cells those of many loads that may break the part whatever a finer grid says, and returns those that do, by
/// their place in the group.
fn broken_at_once<T: Send>(
    group: &[Sought<'_>],
    part: &Part,
    options: &field::Options<'_>,
    gauges: &[Gauge],
    keep: &(impl Fn(Solved, Sized) -> T + Sync),
) -> Vec<(usize, Result<T, NotKnown>)> {
    let asked: Vec<(usize, Sought<'_>, f64)> =
        group.iter().enumerate().filter_map(|(i, &s)| Some((i, s, s.case.hopeless_mpa?))).collect();
    let Some(holds) = asked.first().map(|(_, s, _)| &s.case.holds) else { return Vec::new() };
    let options = field::Options {
        most_cells: field::FEW_CELLS,
        cell_mm: Some(0.0),
        gauges,
        telling: TOLD_OF_BROKEN,
        buckling: false,
        tolerance: ROUGHLY,
        ..*options
    };
    let acting: Vec<field::Acting<'_>> = (asked.iter())
        .map(|(_, s, _)| field::Acting {
            loads: &s.case.loads,
            off: &s.case.off,
            off_mm: s.case.off_mm,
            beside: &s.case.beside,
            buckling: false,
        })
        .collect();
    let judged = |at: usize, found: Result<Solution, field::Refusal>| {
        let (i, sought, hopeless_mpa) = asked.get(at)?;
        let found = found.ok().filter(|found| is_hopeless(found, *hopeless_mpa))?;
        let solved = Solved::of(&found, apart(&found, None), sought.case, part);
        Some((*i, Ok(keep(solved, Sized { field: Arc::new(found), times: 1.0 }))))
    };
    field::solve_each(&part.mesh, holds, &acting, &options, judged).into_iter().flatten().collect()
}

/// How far such a field may be from its equations' solution, in energy: far less than few cells are from many.
const ROUGHLY: f64 = 1e-4;

/// Places kept for each gauge where a load breaks the part beyond any doubt: the worst, and the next.
const TOLD_OF_BROKEN: usize = 2;

/// Whether a stress that no material at hand bears is exceeded in every way up, though it be smaller by all that the grids leave open.
fn is_hopeless(found: &Solution, bears_mpa: f64) -> bool {
    let least = 1.0 + ON_ITS_WAY * apart(found, None);
    // The stresses of a place put together in full, against a bond as good as the bead: Tsai-Hill's criterion counts at least
    // half of their squares.
    let best_bond = found.tops.chunks(field::RANKING.len()).filter_map(|pose| pose.first());
    let mut broken = best_bond.map(|top| top.value / (SQUARES * least) > bears_mpa).peekable();
    found.converged && broken.peek().is_some() && broken.all(|broken| broken)
}

/// The root of what the squares of two equal stresses make together over what one does.
const SQUARES: f64 = std::f64::consts::SQRT_2;

/// What a grid says of the cases of a unit that need no finer one, by their numbers, and what a finer one is held against.
type Judged<T> = (Vec<(usize, Result<T, NotKnown>)>, Option<Before>);

impl Unit<'_> {
    /// Returns the answers a grid gives, and what a finer one is to be held against.
    fn judged<T>(
        &self,
        found: Result<Solution, field::Refusal>,
        before: Option<&Before>,
        turn: usize,
        part: &Part,
        keep: &impl Fn(Solved, Sized) -> T,
    ) -> Judged<T> {
        let found = match found {
            Ok(found) => Arc::new(found),
            Err(refused) => {
                let why = NotKnown::Refused { why: refused.why.into(), at: refused.at };
                return (self.members.iter().map(|member| (member.number, Err(why.clone()))).collect(), None);
            }
        };
        let apart = apart(&found, before);
        let buckling = match before {
            Some(before) => before.buckling,
            None => found.buckling.map(|b| [b.value, b.coarse]),
        };
        let next = self.case.cells.get(turn + 1);
        // What hangs on the last is asked of the finest there is.
        let finer = next.or(field::FINER_CELLS.last().filter(|&&most| most as f64 > found.cells as f64 * ANOTHER_GRID));
        let spent = finer.is_some_and(|&cells| found.work_on(cells as f64) > field::MOST_WORK);
        let enough =
            |member: &&Member<'_>| spent || next.is_none() || self.case.is_enough(&found, apart, turn, member.times);
        let answered: Vec<&Member<'_>> = self.members.iter().filter(enough).collect();
        let solved =
            (!answered.is_empty()).then(|| Solved { buckling, spent, ..Solved::of(&found, apart, &self.case, part) });
        let answers = solved.iter().flat_map(|solved| {
            let of = |member: &&Member<'_>| {
                let sized = Sized { field: Arc::clone(&found), times: member.times };
                (member.number, Ok(keep(member.answer(solved, &self.case), sized)))
            };
            answered.iter().map(of).collect::<Vec<_>>()
        });
        let before = Before { cell_mm: found.cell_mm, converged: found.converged, tops: found.tops.clone(), buckling };
        (answers.collect(), Some(before))
    }
}

/// Returns how far the greatest stresses may be from those of a still finer grid, as a part of them: what the grid of twice
/// the spacing says otherwise, or the one solved before, whose difference is as much larger as the two are nearer in width
/// (the error falls with the width at least). Where one of the two lies within a cell of a hold or a corner it says little;
/// never less than half of what the other says.
fn apart(found: &Solution, before: Option<&Before>) -> f64 {
    let finer = before.map_or(1.0, |b| b.cell_mm / found.cell_mm);
    let step = |gauge: usize, value: f64| {
        let earlier = before.filter(|b| b.converged && finer > ANOTHER_GRID)?.tops.get(gauge)?.value;
        Some((value - earlier).abs() / value.abs().max(f64::MIN_POSITIVE) / (finer - 1.0))
    };
    let of = |(gauge, top): (usize, &field::Answer)| match step(gauge, top.value) {
        Some(step) => step.min(top.apart()).max(0.5 * step.max(top.apart())),
        None => top.apart(),
    };
    found.tops.iter().enumerate().map(of).fold(0.0, f64::max)
}

/// How many times as wide cells must be for another grid to say anything of the error.
const ANOTHER_GRID: f64 = 1.15;

/// Returns how far apart the displacements of the two grids are at most, as a part of them.
fn moved_apart(s: &Solution) -> f64 {
    s.loads.iter().map(|l| l.displacement.apart()).fold(0.0, f64::max)
}

impl Case {
    /// Returns whether a finer grid would change nothing that is judged, of so many times the loads.
    fn is_enough(&self, s: &Solution, apart: f64, turn: usize, times: f64) -> bool {
        let near = match turn {
            0 => field::NEAR,
            // What hangs on the grid is looked at until it does no longer.
            _ if self.cells == field::FINER_CELLS => field::SETTLED_STRESS,
            _ => self.figures.stress_apart,
        };
        let light = times * s.tops.iter().map(|t| t.value).fold(0.0, f64::max) < self.figures.light_mpa;
        s.converged
            && (apart <= near || light)
            && (!self.moves_count || moved_apart(s) <= self.figures.displacement_apart)
    }
}

/// How many times what two grids are apart a still finer one may add, where they are too far apart to bound it.
pub const ON_ITS_WAY: f64 = 4.0;

impl Solved {
    fn of(s: &Solution, apart: f64, case: &Case, part: &Part) -> Self {
        let figures = &case.figures;
        // What two grids are apart bounds what a still finer one would add, twice over where that falls off slowly, and twice
        // that again where they are still on their way.
        let slowly = match apart {
            near if near <= field::SETTLED_STRESS => 1.0,
            bounded if bounded <= figures.stress_apart => 2.0,
            _ => ON_ITS_WAY,
        };
        let doubt = 1.0 + slowly * apart;
        let unless = |bounded: bool| s.unsettled.clone().filter(|_| !bounded || !s.converged);
        let unsolved = || s.unsettled.clone().filter(|_| !s.converged);
        let open = || (apart > figures.stress_apart).then(|| s.apart_words());
        let count = s.loads.len().max(1) as f64;
        let mean =
            |of: &dyn Fn(&field::Answer) -> f64| s.loads.iter().map(|l| of(&l.displacement)).sum::<f64>() / count;
        let spot = |&(at, stress): &(Vector, Stress)| Spot { at, stress, beside: s.is_beside(at) };
        Self {
            spots: s.telling.iter().map(spot).collect(),
            shared: Vec::new(),
            apart,
            doubt,
            displacement: [mean(&|a| a.value), mean(&|a| a.coarse)].map(|mm| mm * most_over_mean(s, case, part)),
            buckling: s.buckling.map(|b| [b.value, b.coarse]),
            unsolved: unsolved(),
            open: open(),
            unsettled_displacement: unless(moved_apart(s) <= figures.displacement_apart),
            cells: s.cells,
            cell_mm: s.cell_mm,
            rests: case.holds.iter().any(|h| h.kind.pushes()),
            spent: false,
            holds: case.holds.iter().map(|h| h.name.clone()).collect(),
            reactions: s
                .reactions
                .iter()
                .map(|r| [r.newtons, r.newton_mm].concat().try_into().unwrap_or_default())
                .collect(),
            bearings: s.bearings.clone(),
            widths: confined::widths(case, &part.mesh, s.bearings.len()),
            closing: closing::first(s, part),
            free: s.free.clone(),
            view: Arc::new(View::of(s, case, part)),
            view_times: 1.0,
            assumed: case.assumed.clone(),
        }
    }
}

/// Returns how many times the mean over a part the most of it moves, where its own mass moves it: that has no patch of its own.
fn most_over_mean(s: &Solution, case: &Case, part: &Part) -> f64 {
    let [field::Load { kind: LoadKind::Body { newtons_per_mm3 }, .. }] = case.loads.as_slice() else { return 1.0 };
    let way = normalise(*newtons_per_mm3);
    let moved = |p: &Vector| s.displacement(*p).map(|u| dot(u, way).abs());
    let most = part.mesh.vertices.iter().filter_map(moved).fold(0.0, f64::max);
    let mean = s.loads.first().map_or(0.0, |l| l.displacement.value.abs());
    if mean > 0.0 { (most / mean).max(1.0) } else { 1.0 }
}

/// Places of the raster along the longer side of what is seen.
const RASTER: f64 = 56.0;
/// How far under the surface the stress is read, in spacings.
const UNDER: f64 = 0.05;
/// Of each place: where it is, its stress, how it moves.
const OF_SEEN: usize = 12;

impl View {
    fn of(s: &Solution, case: &Case, part: &Part) -> Self {
        let axis = hand::seen_along(case, part);
        let (low, high) = (part.bounds.min, part.bounds.max);
        let [right, up] = if axis == 2 { [0, 1] } else { [1 - axis, 2] };
        let spacing_mm = (high[right] - low[right]).max(high[up] - low[up]) / RASTER;
        if spacing_mm <= 0.0 || !spacing_mm.is_finite() {
            return Self::default();
        }
        let count = |k: usize| ((high[k] - low[k]) / spacing_mm).ceil() as usize;
        // From +x, -y or +z.
        let (from, ahead) = if axis == 1 { (low[1], 1.0) } else { (high[axis], -1.0) };
        let rays = part.rays();
        let mut direction = [0.0; 3];
        direction[axis] = ahead;
        let look = |row: usize, column: usize| {
            let mut origin = [0.0; 3];
            origin[right] = low[right] + (column as f64 + 0.5) * spacing_mm;
            origin[up] = low[up] + (row as f64 + 0.5) * spacing_mm;
            origin[axis] = from - ahead * spacing_mm;
            let hit = rays.hit(origin, direction, f64::INFINITY)?;
            let mut at = origin;
            at[axis] += ahead * (hit.distance + UNDER * spacing_mm);
            // As it is kept, so that what is drawn does not hang on whether it was.
            let kept = |x: f64| f64::from(x as f32);
            Some(Seen { at: at.map(kept), stress: s.stress_at(at)?.map(kept), moves: s.displacement(at)?.map(kept) })
        };
        let columns = count(right);
        let seen = (0..count(up)).flat_map(|row| (0..columns).map(move |column| (row, column)));
        Self { axis, spacing_mm, seen: seen.filter_map(|(row, column)| look(row, column)).collect() }
    }

    /// Returns the same for a load so many times as large.
    pub fn times(&self, ratio: f64) -> Self {
        let of = |s: &Seen| Seen { at: s.at, stress: s.stress.map(|c| c * ratio), moves: s.moves.map(|c| c * ratio) };
        Self { seen: self.seen.iter().map(of).collect(), ..*self }
    }

    fn to_bits(&self) -> Vec<u32> {
        let of = |s: &Seen| s.at.into_iter().chain(s.stress).chain(s.moves).collect::<Vec<f64>>();
        self.seen.iter().flat_map(of).map(|x| (x as f32).to_bits()).collect()
    }

    fn from_bits(axis: usize, spacing_mm: f64, seen: &[u32]) -> Self {
        let of = |one: &[u32; OF_SEEN]| {
            let [x, y, z, a, b, c, d, e, f, u, v, w] = one.map(|bits| f64::from(f32::from_bits(bits)));
            Seen { at: [x, y, z], stress: [a, b, c, d, e, f], moves: [u, v, w] }
        };
        Self { axis, spacing_mm, seen: seen.as_chunks().0.iter().map(of).collect() }
    }
}

/// Returns the direct stress in a direction.
pub fn along(s: &Stress, way: Vector) -> f64 {
    let [x, y, z] = way;
    s[0] * x * x + s[1] * y * y + s[2] * z * z + 2.0 * (s[3] * x * y + s[4] * y * z + s[5] * z * x)
}

#[cfg(test)]
mod tests {
    use super::*;

    // n · σ n by hand.
    #[test]
    fn the_stress_in_a_direction_is_that_of_cauchy() {
        let stress = [3.0, -5.0, 7.0, 11.0, 13.0, 17.0];
        let near = |way: Vector, told: f64| assert!((along(&stress, way) - told).abs() < 1e-9, "{way:?} {told}");
        near([1.0, 0.0, 0.0], 3.0);
        near([0.0, 1.0, 0.0], -5.0);
        near([0.0, 0.0, 1.0], 7.0);
        let r = std::f64::consts::FRAC_1_SQRT_2;
        near([r, r, 0.0], 0.5 * (3.0 - 5.0) + 11.0);
        near([0.0, r, -r], 0.5 * (-5.0 + 7.0) - 13.0);
        near([r, 0.0, r], 0.5 * (3.0 + 7.0) + 17.0);
    }
}
