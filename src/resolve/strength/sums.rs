//! What a load's margin is made of: the place, what governs there and every factor, so that a person can work it out again.

use super::{Pick, Reduction, Warmth, by_hand, factor, first_to_fail, moist, solved, sound, strengths, sudden, weighs};
use crate::geometry::anchor::Anchor;
use crate::geometry::vector::{Vector, dot, norm, scale, sub};
use crate::physics::strength::{Mode, Strengths};
use crate::physics::sustained;
use crate::quantity::{Length, Stress, trim_number};
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
    pub near: String,
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
    /// The holds, and how they leave the part free.
    pub held_words: String,
    /// The hand sum beside the field, in short.
    pub by_hand: Option<String>,
}

/// What something leaves of a strength, along the layers and across them (and between them).
#[derive(Debug, Clone, PartialEq)]
pub struct Left {
    /// `moisture`, `heat`, `held`, `cycles`.
    pub by: &'static str,
    /// In words: `75.6 °C`.
    pub what: String,
    pub along: Ends,
    pub across: Ends,
}

impl Left {
    fn alike(by: &'static str, what: String, left: Ends) -> Self {
        Self { by, what, along: left, across: left }
    }
}

/// Returns what the margin of a load in a material and pose is made of; the error says what is missing.
pub fn sums(world: &World<'_>, load: usize, material: usize, pose: usize) -> Result<Sums, String> {
    let stated = world.spec.loads.get(load).ok_or("no such load")?;
    let solved = sound(solved(world, load)?)?;
    let up = world.part.poses.get(pose).ok_or("no such pose")?.pose.up;
    let entry = *world.bench.materials.get(material).ok_or("no such material")?;
    let catalogue = world.knowledge.catalogue;
    let asked = factor(world.spec, stated, catalogue);
    let warmth = Warmth::of(world, stated, material).ok_or("how warm the part gets is not known")?;
    let reduced = Reduction::of(stated, entry, warmth, (asked, world.spec.consequence()), catalogue, &mut Vec::new())?;
    let nothing = "the load stresses nothing that is looked at";
    let (low, spot) = first_to_fail(world, load, pose, material, Pick::Low, &reduced.low).ok_or(nothing)?;
    let spot = solved.spots.get(spot).ok_or(nothing)?;
    let times = sudden(stated) * weighs(world, load, material);
    let stress = spot.in_layers(up).map(|s| s * times);
    let kept = [Pick::Low, Pick::Typical].map(|pick| moist(entry.conditioned_strength.as_ref(), pick));
    let ends = [Pick::Low, Pick::Typical].map(|pick| at_sign(&strengths(entry, catalogue, pick), &stress));
    let dry = |i: usize| [0, 1].map(|end| ends[end][i] / kept[end].max(f64::MIN_POSITIVE));
    let mut left = Vec::new();
    if entry.conditioned_strength.is_some() {
        left.push(Left::alike("moisture", "with the moisture of the air in it".to_owned(), kept));
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
        held_words: solved.held_words(),
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
    /// Says so where nobody tested as many cycles.
    fn beyond(&self) -> String {
        match self.cycles > self.tested {
            true => format!(", the line of tests up to {:.0} carried on", self.tested),
            false => String::new(),
        }
    }

    /// Returns what heat, time and repetition leave where it is so stressed, each by itself.
    fn left(&self, load: &Load, stress: &[f64; 3]) -> Vec<Left> {
        let Self { low, typical, .. } = self;
        let at_once = |left: &mut Vec<Left>| {
            if low.relief > 1.0 {
                let what = "since figures are not all at their low ends at once".to_owned();
                left.push(Left::alike("low ends", what, [low.relief, typical.relief]));
            }
        };
        let mut left = vec![Left::alike("heat", format!("at {}", self.temperature), [low.hot, typical.hot])];
        match load.course.value {
            Course::Steady => {
                let gone = match low.sustained > 0.0 {
                    true => String::new(),
                    false => format!(
                        ", since that is within {} K of {}, where it softens",
                        sustained::NEAR_LIMIT_K,
                        self.softens
                    ),
                };
                let [along, across] = [stress[0], stress[1]].map(|at| match at < 0.0 {
                    true => [low.pressed(), typical.pressed()],
                    false => [low.sustained, typical.sustained],
                });
                let pressed = low.pressed() > low.sustained && (stress[0] < 0.0 || stress[1] < 0.0);
                let as_pads = if pressed { ", where pressed as pads of rubber are" } else { "" };
                let of =
                    self.of.map_or_else(String::new, |whole| format!(" of the {whole}, the share assumed so warm"));
                let what = format!("held {}{of}{gone}{as_pads}", self.held);
                left.push(Left { by: "held", what, along, across });
            }
            Course::Cyclic => {
                let [along, across, _] = stress.map(Stress::mpa);
                let [least, middle] = [low.cycled(along, across), typical.cycled(along, across)];
                let pressed = if stress[0] < 0.0 || stress[1] < 0.0 { " (pressed: no crack opens)" } else { "" };
                let of = self
                    .of_cycles
                    .map_or_else(String::new, |all| format!(" of the {all:.0}, the share assumed so warm"));
                left.push(Left {
                    by: "cycles",
                    what: format!("after {:.0} cycles{of}{}{pressed}", self.cycles, self.beyond()),
                    along: [least[0], middle[0]],
                    across: [least[1], middle[1]],
                });
            }
            Course::Shock => left.push(Left::alike("held", "momentary".to_owned(), [1.0; 2])),
        }
        at_once(&mut left);
        left
    }
}

/// A place is the middle of a ball that stands for a bead: this near to a surface it lies right under it.
const UNDER_MM: f64 = 1.0;

/// Returns a place as the spec would call it: under a face, at a hole of a fit, or as far from the nearest of them.
pub fn named(world: &World<'_>, load: &Load, at: Vector) -> String {
    let mut all: Vec<(f64, String)> = Vec::new();
    for (face, patch) in world.spec.faces.iter().zip(&world.part.faces) {
        let Some(patch) = patch else { continue };
        let near = Anchor::nearest(&world.part.mesh, Some(&patch.facets), at);
        all.extend(near.map(|a| (norm(sub(a.point, at)), format!("face \"{}\"", face.name.value))));
    }
    for (fit, seat) in world.spec.fits.iter().zip(&world.fit_places) {
        let near = seat.features.iter().map(|f| off_round(f, at)).min_by(f64::total_cmp);
        all.extend(near.map(|far| (far, format!("fit \"{}\"", fit.name.value))));
    }
    if let Some(Where::Point(p)) = load.at.as_ref().map(|w| &w.value) {
        all.push((norm(sub(p.map(Length::to_mm), at)), "where the load acts".to_owned()));
    }
    match all.into_iter().min_by(|a, b| a.0.total_cmp(&b.0)) {
        None => "away from anything the spec names".to_owned(),
        Some((far, name)) if far <= UNDER_MM => format!("right at {name}"),
        Some((far, name)) => format!("{} mm from {name}", trim_number(far, 0)),
    }
}

/// Returns how far a place is from the wall of a hole or pin, mm.
fn off_round(f: &Feature, at: Vector) -> f64 {
    let out = sub(at, f.centre);
    let way = dot(out, f.axis);
    let beyond = (way.abs() - 0.5 * f.length.to_mm()).max(0.0);
    (norm(sub(out, scale(f.axis, way))) - 0.5 * f.diameter.to_mm()).abs().hypot(beyond)
}
