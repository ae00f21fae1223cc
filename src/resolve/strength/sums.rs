//! What a load's margin is made of: the place, what governs there and every factor, so that a person can work it out again.

use super::said::{Beam, By, Left, Named, Near};
use super::{
    Factors, Pick, Reduction, Warmth, by_hand, factor, first_to_fail, moist, solved, sound, strengths, sudden, weighs,
};
use crate::geometry::anchor::Anchor;
use crate::geometry::vector::{Vector, dot, norm, scale, sub};
use crate::physics::strength::{Mode, Strengths};
use crate::quantity::{Length, Stress};
use crate::resolve::elastic::said::{NotKnown, Of};
use crate::resolve::matching::Feature;
use crate::resolve::world::World;
use crate::semantics::spec::{Course, Load, Where};

/// The low end of a figure and its typical value.
pub type Ends = [f64; 2];

/// What a load's margin is made of.
#[derive(Debug, Clone, PartialEq)]
pub struct Sums {
    /// Where the material fails first, mm.
    pub at: Vector,
    /// The same by what the spec calls it.
    pub near: Near,
    /// Whether it is right beside what something presses on: only what pulls there counts, and what presses is a margin of its own.
    pub beside: bool,
    /// What takes the largest share of its strength there.
    pub governs: Mode,
    /// Along and across the layers (above zero: tension) and between them, what comes on suddenly counted, MPa.
    pub stress_mpa: [f64; 3],
    /// What a load that comes on suddenly strains the part more.
    pub sudden: f64,
    /// The factor on the load.
    pub factor: f64,
    /// Along, across and between, dry, new and cool, for the sign of the stress, MPa.
    pub strength_mpa: [Ends; 3],
    /// What is left of them.
    pub left: Vec<Left>,
    /// How far apart two grids are, and what they count by against the part.
    pub apart: f64,
    pub grids: f64,
    /// Why the stress still hangs on the grid, where it does.
    pub open: Option<String>,
    pub cells: usize,
    pub cell_mm: f64,
    pub held: Vec<String>,
    /// What of a section that is not solid counts, pulled through and bent with its infill in full; 1 where it is solid.
    pub skin: [f64; 2],
    /// Name of the material.
    pub material: String,
    /// How the holds leave the part free to move, where the load does not move it so.
    pub free: Vec<String>,
    /// The hand sum beside the field, in short.
    pub by_hand: Option<Beam>,
}

impl Left {
    fn alike(by: By, left: Ends) -> Self {
        Self { by, along: left, across: left }
    }
}

/// Returns what the margin of a load in a material and pose is made of; the error says what is missing.
pub fn sums(world: &World<'_>, load: usize, material: usize, pose: usize) -> Result<Sums, NotKnown> {
    let stated = world.spec.loads.get(load).ok_or(NotKnown::NoSuch(Of::Load))?;
    let solved = sound(solved(world, load)?)?;
    let up = world.part.poses.get(pose).ok_or(NotKnown::NoSuch(Of::Pose))?.pose.up;
    let entry = *world.bench.materials.get(material).ok_or(NotKnown::NoSuch(Of::Material))?;
    let catalogue = world.knowledge.catalogue;
    let asked = factor(world.spec, stated, catalogue);
    let warmth = Warmth::of(world, stated, material).ok_or(NotKnown::Warmth)?;
    let all = Reduction::each(stated, entry, warmth, (asked, world.spec.consequence()), catalogue, &mut Vec::new())?;
    let at = |factors: &Factors| first_to_fail(world, load, pose, material, Pick::Low, factors);
    let reduced = Reduction::worst(all, |factors| at(factors).map_or(0.0, |(low, _)| low.margin))?;
    let (low, spot) = at(&reduced.low).ok_or(NotKnown::Unstressed)?;
    let spot = solved.spots.get(spot).ok_or(NotKnown::Unstressed)?;
    let times = sudden(stated) * weighs(world, load, material);
    let stress = spot.in_layers(up).map(|s| s * times);
    let kept = [Pick::Low, Pick::Typical].map(|pick| moist(entry.conditioned_strength.as_ref(), pick));
    let ends = [Pick::Low, Pick::Typical].map(|pick| at_sign(&strengths(entry, catalogue, pick), &stress));
    let dry = |i: usize| [0, 1].map(|end| ends[end][i] / kept[end].max(f64::MIN_POSITIVE));
    let mut left = Vec::new();
    if entry.conditioned_strength.is_some() {
        left.push(Left::alike(By::Moisture, kept));
    }
    left.extend(reduced.left(stated, &stress));
    Ok(Sums {
        at: spot.at,
        near: named(world, stated, spot.at),
        beside: spot.judged() != spot.stress,
        governs: low.governing,
        stress_mpa: stress,
        sudden: sudden(stated),
        factor: asked,
        strength_mpa: [dry(0), dry(1), dry(2)],
        left,
        apart: solved.apart,
        grids: solved.doubt,
        open: solved.open.clone(),
        cells: solved.cells,
        cell_mm: solved.cell_mm,
        held: solved.holds.clone(),
        skin: [1.0; 2],
        material: entry.name.clone(),
        free: solved.free.clone(),
        by_hand: by_hand(world, load, sudden(stated)),
    })
}

/// Returns the strengths along, across and between for the signs of a stress, MPa.
fn at_sign(s: &Strengths, stress: &[f64; 3]) -> [f64; 3] {
    let pick = |at: f64, pulled: Stress, pressed: Option<Stress>| {
        if at < 0.0 { pressed.unwrap_or(pulled) } else { pulled }.to_mpa()
    };
    [pick(stress[0], s.along, s.along_compression), pick(stress[1], s.across, s.across_compression), s.shear.to_mpa()]
}

impl Reduction {
    /// Returns what heat, time and repetition leave where it is so stressed, each by itself.
    fn left(&self, load: &Load, stress: &[f64; 3]) -> Vec<Left> {
        let Self { low, typical, .. } = self;
        let mut left = vec![Left::alike(By::Heat(self.temperature), [low.hot, typical.hot])];
        let pressed = stress[0] < 0.0 || stress[1] < 0.0;
        left.push(match load.course.value {
            Course::Steady => {
                let [along, across] = [stress[0], stress[1]].map(|at| match at < 0.0 {
                    true => [low.pressed(), typical.pressed()],
                    false => [low.sustained, typical.sustained],
                });
                let by = By::Held {
                    time: self.held,
                    of: self.of,
                    softens: (low.sustained <= 0.0).then_some(self.softens),
                    as_pads: pressed && low.pressed() > low.sustained,
                };
                Left { by, along, across }
            }
            Course::Cyclic => {
                let [along, across, _] = stress.map(Stress::mpa);
                let [least, middle] = [low.cycled(along, across), typical.cycled(along, across)];
                let tested = (self.cycles > self.tested).then_some(self.tested);
                let by = By::Cycles { count: self.cycles, of: self.of_cycles, tested, pressed };
                Left { by, along: [least[0], middle[0]], across: [least[1], middle[1]] }
            }
            Course::Shock => Left::alike(By::Momentary, [1.0; 2]),
        });
        if low.relief > 1.0 {
            left.push(Left::alike(By::LowEnds, [low.relief, typical.relief]));
        }
        left
    }
}

/// A place is the middle of a ball that stands for a bead: this near to a surface it lies right under it.
const UNDER_MM: f64 = 1.0;

/// Returns a place as the spec would call it: under a face, at a hole of a fit, or as far from the nearest of them.
pub fn named(world: &World<'_>, load: &Load, at: Vector) -> Near {
    let mut all: Vec<(f64, Named)> = Vec::new();
    for (face, patch) in world.spec.faces.iter().zip(&world.part.faces) {
        let Some(patch) = patch else { continue };
        let near = Anchor::nearest(&world.part.mesh, Some(&patch.facets), at);
        all.extend(near.map(|a| (norm(sub(a.point, at)), Named::Face(face.name.value.as_str().into()))));
    }
    for (fit, seat) in world.spec.fits.iter().zip(&world.fit_places) {
        let near = seat.features.iter().map(|f| off_round(f, at)).min_by(f64::total_cmp);
        all.extend(near.map(|far| (far, Named::Fit(fit.name.value.as_str().into()))));
    }
    if let Some(Where::Point(p)) = load.at.as_ref().map(|w| &w.value) {
        all.push((norm(sub(p.map(Length::to_mm), at)), Named::Load));
    }
    match all.into_iter().min_by(|a, b| a.0.total_cmp(&b.0)) {
        None => Near::Nothing,
        Some((mm, named)) if mm <= UNDER_MM => Near::At(named),
        Some((mm, named)) => Near::From { mm, named },
    }
}

/// Returns how far a place is from the wall of a hole or pin, mm.
fn off_round(f: &Feature, at: Vector) -> f64 {
    let out = sub(at, f.centre);
    let way = dot(out, f.axis);
    let beyond = (way.abs() - 0.5 * f.length.to_mm()).max(0.0);
    (norm(sub(out, scale(f.axis, way))) - 0.5 * f.diameter.to_mm()).abs().hypot(beyond)
}
