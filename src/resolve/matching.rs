//! Which features of the mesh each fit of the spec speaks of: found by size, axis and place, and said with places.

use crate::catalogue::{Catalogue, figures};
use crate::diag::Diagnostic;
use crate::fits::allowance::asked;
use crate::fits::feature::{FeatureAxis, FeatureContext, FeatureKind, Tools};
use crate::fits::matching::{FoundFeature, Matched, Problem, Wanted, explain, match_features};
use crate::geometry::features::Features;
use crate::geometry::vector::{Vector, add, cross, dot, norm, scale, sub};
use crate::quantity::{Length, trim_number};
use crate::resolve::world::World;
use crate::semantics::spec::{Fit, FitFinish, FitFunction, GrooveSeat, Spec};

/// A round feature of the mesh.
#[derive(Debug, Clone, PartialEq)]
pub struct Feature {
    /// `hole 3`, as `measure` names it.
    pub name: String,
    pub kind: FeatureKind,
    pub diameter: Length,
    pub axis: Vector,
    pub centre: Vector,
    pub length: Length,
    pub facets: usize,
    /// Whether it has a floor.
    pub blind: bool,
    /// Whether it is the wide end of a narrower hole.
    pub stepped: bool,
}

impl Feature {
    /// Returns the feature with its size and place: `hole 3 (d 5.5 mm at 20, 4, 10)`.
    pub fn words(&self) -> String {
        let at = self.centre.map(|c| trim_number(c, 1)).join(", ");
        format!("{} (d {} mm at {at})", self.name, trim_number(self.diameter.to_mm(), 2))
    }

    /// Returns whether a place lies on its round side, within what the flats of a mesh and half a bead leave.
    pub fn has_on_it(&self, place: Vector) -> bool {
        let from = sub(place, self.centre);
        let along = dot(from, self.axis);
        let radius = 0.5 * self.diameter.to_mm();
        let off = (dot(from, from) - along * along).max(0.0).sqrt() - radius;
        along.abs() <= 0.5 * self.length.to_mm() + ON_IT_MM && off.abs() <= ON_IT_MM
    }

    /// Returns whether it is a narrower hole that begins where another ends, on one axis with it.
    fn narrows(&self, wide: &Self) -> bool {
        let from = sub(self.centre, wide.centre);
        let along = dot(from, wide.axis);
        let aside = (dot(from, from) - along * along).max(0.0).sqrt();
        let between = along.abs() - 0.5 * (self.length.to_mm() + wide.length.to_mm());
        self.kind == FeatureKind::Hole
            && self.diameter.to_mm() < wide.diameter.to_mm() - SAME_MM
            && dot(self.axis, wide.axis).abs() > ONE_AXIS
            && aside <= ON_IT_MM
            && between.abs() <= ON_IT_MM
    }

    /// Returns whether one of its ends lies on the lowest plane of a pose.
    fn stands_on(&self, up: Vector, lowest: f64) -> bool {
        let half = scale(self.axis, 0.5 * self.length.to_mm());
        let ends = [add(self.centre, half), sub(self.centre, half)];
        ends.iter().any(|e| (dot(*e, up) - lowest).abs() < 0.05)
    }
}

/// What was found of one fit.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Place {
    pub features: Vec<Feature>,
    /// Message, hint, and whether it stops the job.
    pub problem: Option<(String, String, bool)>,
    /// The other fit of the spec that claims the same feature.
    pub rival: Option<usize>,
    /// Of a distance: how far apart its ends are in the mesh; of what lies between flats, how far these are.
    pub between: Option<Between>,
    /// Facets of its features, ascending, with the floors and shoulders of holes; of what lies between flats, its walls.
    pub facets: Vec<u32>,
    /// Thickness of a snap's arm in the mesh.
    pub thick: Option<Length>,
    /// How a snap's arm runs in the mesh.
    pub arm: Option<Arm>,
    /// Its second measure in the mesh: the flat of a round, the length of a pocket.
    pub second: Option<Length>,
    /// How many features were taken where a count is not stated and there are several.
    pub uncounted: Option<usize>,
}

/// How the arm of a snap runs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Arm {
    /// Straight, along this.
    Along(Vector),
    /// Bent, and square to this all the way.
    SquareTo(Vector),
}

impl Arm {
    /// Returns how it lies in a pose: an arm that stands somewhere is strained across its layers there.
    fn lie(self, up: Vector) -> FeatureAxis {
        let stands = match self {
            Self::Along(way) => dot(way, up).abs() > UPRIGHT,
            Self::SquareTo(way) => dot(way, up).abs() <= UPRIGHT,
        };
        if stands { FeatureAxis::AcrossLayers } else { FeatureAxis::AlongLayers }
    }
}

/// What lies between two axes of the mesh.
#[derive(Debug, Clone, PartialEq)]
pub struct Between {
    pub apart: Length,
    /// From the one to the other.
    pub toward: Vector,
    /// Along what lies between flats all about; none where there are but two.
    pub axis: Option<Vector>,
    /// Of a face and an axis: 1 where the face's growth adds to it, -1 where it takes away.
    pub wall: Option<f64>,
    /// The two, in words.
    pub words: String,
}

/// How the features of a fit lie in a pose.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lie {
    pub axis: FeatureAxis,
    /// Some stand and some lie: the worse counts.
    pub mixed: bool,
    /// Largest lean of an axis that neither stands nor lies, degrees from upright.
    pub leans: Option<f64>,
    /// Some feature begins on the bed.
    pub on_bed: bool,
}

/// Cosine of the lean up to which an axis is taken as upright; the layers of a hole that leans more are ellipses.
const UPRIGHT: f64 = 0.7;
/// Cosine of the lean up to which two holes are on one axis.
const ONE_AXIS: f64 = 0.999;
/// A modelled size this near counts as one size.
const SAME_MM: f64 = 0.05;

impl Place {
    /// Returns how the features lie in a pose; the worst of them decides.
    pub fn lie(&self, up: Vector, lowest: f64) -> Option<Lie> {
        if let Some(between) = &self.between {
            if let Some(axis) = between.axis {
                let upright = dot(axis, up).abs() > UPRIGHT;
                let axis = if upright { FeatureAxis::AcrossLayers } else { FeatureAxis::AlongLayers };
                return Some(Lie { axis, mixed: false, leans: None, on_bed: false });
            }
            // Its axis is square to its way: a length in the plane of the layers is drawn as a hole's width is.
            let upright = dot(between.toward, up).abs() > UPRIGHT;
            let axis = if upright { FeatureAxis::AlongLayers } else { FeatureAxis::AcrossLayers };
            return Some(Lie { axis, mixed: false, leans: None, on_bed: false });
        }
        if let Some(arm) = self.arm {
            return Some(Lie { axis: arm.lie(up), mixed: false, leans: None, on_bed: false });
        }
        self.features.first()?;
        let rise = |f: &Feature| dot(f.axis, up).abs();
        let upright = self.features.iter().filter(|f| rise(f) > UPRIGHT).count();
        let all = upright == self.features.len();
        let leaning = self.features.iter().map(rise).filter(|r| (0.09..0.996).contains(r));
        Some(Lie {
            axis: if all { FeatureAxis::AcrossLayers } else { FeatureAxis::AlongLayers },
            mixed: upright > 0 && !all,
            leans: leaning.map(|r| r.min(1.0).acos().to_degrees()).reduce(f64::max),
            on_bed: self.features.iter().any(|f| f.stands_on(up, lowest)),
        })
    }

    /// Returns the size in the mesh that lies farthest from the nominal one, and the fewest flats of a circle.
    pub fn modelled(&self, nominal: Length) -> Option<(Length, Option<u32>)> {
        if let Some(apart) = self.between.as_ref().map(|b| b.apart).or(self.thick) {
            return Some((apart, None));
        }
        let off = |f: &&Feature| (f.diameter.to_mm() - nominal.to_mm()).abs();
        let worst = self.features.iter().max_by(|a, b| off(a).total_cmp(&off(b)))?;
        let facets = self.features.iter().map(|f| f.facets).min();
        Some((worst.diameter, facets.and_then(|n| u32::try_from(n).ok())))
    }

    /// Returns the smallest and the largest size where the mesh holds more than one for the fit.
    pub fn uneven(&self) -> Option<[Length; 2]> {
        let sizes = || self.features.iter().map(|f| f.diameter.to_mm());
        let (low, high) = (sizes().fold(f64::INFINITY, f64::min), sizes().fold(0.0, f64::max));
        (high - low > SAME_MM).then(|| [low, high].map(Length::mm))
    }

    /// Returns whether every hole ends at a floor or a narrower hole; `None` where none was found.
    pub fn has_shoulder(&self) -> Option<bool> {
        let holes = || self.features.iter().filter(|f| f.kind == FeatureKind::Hole);
        holes().next()?;
        Some(holes().all(|f| f.blind || f.stepped))
    }

    /// Returns the narrowest way through behind its holes, among the round features of the mesh: the hole that one of them narrows
    /// to, nothing where it ends at a closed floor; `None` where none of them ends at either.
    pub fn opening(&self, round: &[Feature]) -> Option<Length> {
        let holes = self.features.iter().filter(|f| f.kind == FeatureKind::Hole);
        let behind = |f: &Feature| {
            let narrower = round.iter().filter(|other| other.narrows(f)).map(|other| other.diameter);
            let widest = narrower.reduce(|a, b| if b.to_um() > a.to_um() { b } else { a });
            widest.or(f.blind.then(|| Length::mm(0.0)))
        };
        holes.filter_map(behind).reduce(|a, b| if b.to_um() < a.to_um() { b } else { a })
    }

    /// Returns the least depth of the features.
    pub fn depth(&self) -> Option<Length> {
        self.features.iter().map(|f| f.length).reduce(|a, b| if b.to_um() < a.to_um() { b } else { a })
    }
}

/// Returns the round features of a mesh, holes first, under the names `measure` gives them.
pub fn round_features(features: &Features) -> Vec<Feature> {
    let short = |name: &str| name.split(':').next().unwrap_or(name).to_owned();
    let holes = features.holes.iter().map(|h| Feature {
        name: short(&h.name),
        kind: FeatureKind::Hole,
        diameter: Length::mm(h.diameter_mm),
        axis: h.axis,
        centre: h.centre_mm,
        length: Length::mm(h.depth_mm),
        facets: h.facets,
        blind: !h.through,
        stepped: h.counterbore,
    });
    let bosses = features.bosses.iter().map(|b| Feature {
        name: short(&b.name),
        kind: FeatureKind::Outside,
        diameter: Length::mm(b.diameter_mm),
        axis: b.axis,
        centre: b.centre_mm,
        length: Length::mm(b.height_mm),
        facets: b.facets,
        blind: true,
        stepped: false,
    });
    holes.chain(bosses).collect()
}

/// Whether a fit is of a round feature at all; a hook, a fold and a hexagon are not looked for.
fn is_round(fit: &FitFunction) -> bool {
    !matches!(
        fit,
        FitFunction::Snap { .. }
            | FitFunction::Nut { .. }
            | FitFunction::Hinge { living: true, .. }
            | FitFunction::Slot { .. }
            | FitFunction::Square { .. }
            | FitFunction::Pocket { .. }
            | FitFunction::Lid { length: Some(_), .. }
            | FitFunction::Groove { seat: GrooveSeat::Face, .. }
            | FitFunction::Keyway { .. }
            | FitFunction::Distance { .. }
    )
}

/// Finds the features of every fit of a spec.
pub fn find(spec: &Spec, features: &Features, tools: &Tools, catalogue: &Catalogue) -> Vec<Place> {
    let round = round_features(features);
    let found: Vec<FoundFeature> = round
        .iter()
        .map(|f| FoundFeature {
            name: f.name.clone(),
            kind: f.kind,
            diameter: f.diameter,
            axis: f.axis,
            centre: f.centre,
        })
        .collect();
    let mut places = vec![Place::default(); spec.fits.len()];
    let (indices, mut wanted): (Vec<usize>, Vec<Wanted>) =
        spec.fits.iter().enumerate().filter_map(|(i, fit)| Some((i, wanted(fit, tools, catalogue)?))).unzip();
    let mut matched = match_features(&wanted, &found);
    if count_the_uncounted(spec, &indices, &mut wanted, &matched, &round) {
        matched = match_features(&wanted, &found);
    }
    for (w, &fit) in indices.iter().enumerate() {
        let Some(stated) = spec.fits.get(fit) else { continue };
        let (Some(m), Some(want), Some(place)) = (matched.get(w), wanted.get(w), places.get_mut(fit)) else { continue };
        place.features = m.features.iter().filter_map(|f| round.get(*f)).cloned().collect();
        place.problem = judge(stated, w, &wanted, &matched, &found, &place.features, catalogue)
            .map(|(message, hint, stops)| (message, format!("{hint}{}", with_a_flat(want, m, features)), stops));
        place.rival = match m.problem {
            Some(Problem::Contested { other, .. }) => indices.get(other).copied(),
            _ => None,
        };
        if place.problem.is_some() && !is_coaxial(m, want, &place.features) {
            place.features = match m.problem {
                // Those there are still say how the fit lies.
                Some(Problem::TooFew { .. }) => place.features.clone(),
                _ => Vec::new(),
            };
        }
        if stated.count.is_none() && place.features.len() > 1 {
            place.uncounted = Some(place.features.len());
        }
    }
    super::flatted::find(spec, features, catalogue, &mut places);
    super::grooves::find(spec, features, catalogue, &mut places);
    measure_distances(spec, &mut places);
    places
}

/// Measures every distance between the features that its ends were found to be.
fn measure_distances(spec: &Spec, places: &mut [Place]) {
    let of = |name: &str| spec.fits.iter().position(|f| f.name.value == name);
    for (i, fit) in spec.fits.iter().enumerate() {
        let FitFunction::Distance { size, from, to } = &fit.function.value else { continue };
        if super::spacing::of_a_face(spec, fit).is_some() {
            continue;
        }
        let ends = |name: &str| of(name).and_then(|at| places.get(at)).map_or(&[][..], |p| p.features.as_slice());
        let (first, second) = (ends(from), to.as_deref().map_or_else(|| ends(from), ends));
        let pairs = first.iter().flat_map(|a| second.iter().map(move |b| (a, b))).filter(|(a, b)| a.name != b.name);
        let off = |b: &Between| super::spacing::off(b, *size);
        let found = pairs.map(|(a, b)| between(a, b)).min_by(|a, b| off(a).total_cmp(&off(b)));
        if let Some(place) = places.get_mut(i) {
            place.spaced(fit, *size, found, "its ends were not both found in the mesh", "the fits it is between");
        }
    }
}

/// How far two axes are apart: those that run alike square to them, others where they come nearest.
fn between(a: &Feature, b: &Feature) -> Between {
    let apart = sub(b.centre, a.centre);
    let square = cross(a.axis, b.axis);
    let way = if norm(square) < PARALLEL_SINE {
        sub(apart, scale(a.axis, dot(apart, a.axis)))
    } else {
        let unit = scale(square, 1.0 / norm(square));
        scale(unit, dot(apart, unit))
    };
    let mm = norm(way);
    let unit = if mm > 0.0 { scale(way, 1.0 / mm) } else { way };
    Between {
        apart: Length::mm(mm),
        toward: unit,
        axis: None,
        wall: None,
        words: format!("{} to {}", a.words(), b.words()),
    }
}

/// How far off its round side a place may be named: what the flats of a coarse mesh leave, mm.
const ON_IT_MM: f64 = 0.5;
/// Sine of the angle up to which two axes run alike.
const PARALLEL_SINE: f64 = 0.02;

/// A fit that states no count means all features of its size, where these are alike.
fn count_the_uncounted(
    spec: &Spec,
    indices: &[usize],
    wanted: &mut [Wanted],
    matched: &[Matched],
    round: &[Feature],
) -> bool {
    let mut changed = false;
    for ((fit, want), m) in indices.iter().zip(wanted.iter_mut()).zip(matched) {
        let uncounted = spec.fits.get(*fit).is_some_and(|f| f.count.is_none() && f.at.is_none());
        let Some(Problem::TooMany { found }) = m.problem else { continue };
        let own =
            Place { features: m.features.iter().filter_map(|f| round.get(*f)).cloned().collect(), ..Place::default() };
        if uncounted && own.uneven().is_none() {
            want.count = found;
            changed = true;
        }
    }
    changed
}

/// A mesh is looked through for the size to print as well where it is so far from the nominal one, mm; nearer ones are one size.
const BOTH_SIZES_MM: f64 = 0.2;

fn wanted(fit: &Fit, tools: &Tools, catalogue: &Catalogue) -> Option<Wanted> {
    if !is_round(&fit.function.value) || fit.flat.is_some() {
        return None;
    }
    let (function, kind) = super::fits::function(&fit.function.value);
    let mut context = FeatureContext::new(kind, FeatureAxis::AcrossLayers, catalogue.printed(""), catalogue.practice());
    context.tools = tools.clone();
    let demand = function.demand(&context).ok()?;
    let mut sizes = vec![demand.nominal];
    if (demand.aim.to_mm() - demand.nominal.to_mm()).abs() > BOTH_SIZES_MM {
        sizes.push(demand.aim);
    }
    // Of rubber it is drawn as far under or over its mate as it is to stretch.
    if function.grips(&demand, kind) {
        let [stretch, ..] = context.practice.grip_stretch;
        let sign = if kind == FeatureKind::Hole { -1.0 } else { 1.0 };
        sizes.push(Length::mm((1.0 + sign * stretch) * demand.nominal.to_mm()));
    }
    // A tenth covers any allowance and reaching for a reamer, and stops short of the next screw.
    let (share, room) = (catalogue.value(figures::MATCH_SHARE), catalogue.figure(figures::MATCH_ROOM));
    let within = (share * demand.nominal.to_mm()).min(room.high().to_mm()).max(room.low().to_mm());
    Some(Wanted {
        name: fit.name.value.clone(),
        kind,
        sizes,
        within: Length::mm(within),
        beyond: Length::mm(room.low().to_mm() + catalogue.value(figures::MATCH_BEYOND) * demand.nominal.to_mm()),
        count: fit.count.map_or(1, |c| c.value as usize),
        along: fit.along.map(|d| d.value.0),
        near: fit.at.map(|p| p.value.map(|l| l.to_mm())),
    })
}

/// One bore through several walls counts as one where the count says so.
fn is_coaxial(m: &Matched, want: &Wanted, features: &[Feature]) -> bool {
    if !matches!(m.problem, Some(Problem::TooMany { .. })) {
        return false;
    }
    let mut lines: Vec<&Feature> = Vec::new();
    for f in features {
        let same = |l: &&Feature| {
            let apart = sub(f.centre, l.centre);
            norm(cross(f.axis, l.axis)) < 0.02 && norm(cross(apart, l.axis)) < 0.05
        };
        if !lines.iter().any(same) {
            lines.push(f);
        }
    }
    lines.len() == want.count
}

/// Says what stands where a round hole is looked for and none is found: a round of that size which goes only part of the way
/// about its axis.
fn with_a_flat(want: &Wanted, m: &Matched, features: &Features) -> String {
    let Some(Problem::TooFew { near_misses, .. }) = &m.problem else { return String::new() };
    let of_its_size = |d: f64| want.sizes.iter().any(|s| (d - s.to_mm()).abs() <= want.within.to_mm());
    let along = |axis: Vector| want.along.is_none_or(|wanted| norm(cross(axis, wanted)) < 0.02);
    let all = super::flatted::rounds(features, want.kind);
    let mut fitting = all.iter().filter(|r| of_its_size(r.round.diameter.to_mm()) && along(r.round.axis));
    let Some(found) = fitting.next().filter(|_| near_misses.is_empty()) else { return String::new() };
    let [x, y, z] = found.round.centre.map(|c| trim_number(c, 1));
    let d = trim_number(found.round.diameter.to_mm(), 2);
    match found.across {
        Some(across) => {
            let across = trim_number(across, 2);
            format!(
                "; at ({x}, {y}, {z}) mm stands a round of {d} mm with a flat: write `flat {across} mm` behind its size"
            )
        }
        None => format!(
            "; at ({x}, {y}, {z}) mm a round of {d} mm goes {:.0}° about its axis and is open at a side: no bore. What springs open \
             for its mate is a snap (`snap 1.2 mm reach 12 mm thick 2 mm`); else leave the fit out, draw the round with the play it \
             needs, and try the first piece on its mate",
            found.arc_deg
        ),
    }
}

fn judge(
    fit: &Fit,
    index: usize,
    wanted: &[Wanted],
    matched: &[Matched],
    found: &[FoundFeature],
    own: &[Feature],
    catalogue: &Catalogue,
) -> Option<(String, String, bool)> {
    let (want, m) = (wanted.get(index)?, matched.get(index)?);
    let Some(problem) = &m.problem else { return elsewhere(fit, want, own, catalogue) };
    if is_coaxial(m, want, own) {
        return None;
    }
    let (message, hint) = explain(index, wanted, matched, found)?;
    // A thread that is in the mesh is no round hole.
    let helix = matches!(fit.function.value, FitFunction::Thread { .. })
        && fit.finish.is_some_and(|f| f.value == FitFinish::AsPrinted);
    let stops = match problem {
        _ if helix => false,
        // Without a count any number will do, but none at all is a fit on nothing.
        Problem::TooFew { found, .. } => fit.count.is_some() || fit.at.is_some() || *found == 0,
        Problem::TooMany { .. } | Problem::Contested { .. } => true,
    };
    let hint = match problem {
        Problem::TooFew { near_misses, .. } if near_misses.is_empty() => {
            format!("{hint}; `makeready measure` lists the features of the mesh")
        }
        _ => hint,
    };
    Some((message, hint, stops))
}

/// A fit whose place is stated must be there: the nearest feature is no answer if it is elsewhere.
fn elsewhere(fit: &Fit, want: &Wanted, own: &[Feature], catalogue: &Catalogue) -> Option<(String, String, bool)> {
    let (point, [one]) = (want.near?, own) else { return None };
    let apart = sub(point, one.centre);
    let off = norm(sub(apart, scale(one.axis, dot(apart, one.axis))));
    let beyond = dot(apart, one.axis).abs() - 0.5 * one.length.to_mm();
    let share = catalogue.value(figures::PLACE_OFF_SHARE);
    let reach = (share * one.diameter.to_mm()).max(catalogue.value(figures::PLACE_OFF).to_mm());
    (off > reach || beyond > reach).then(|| {
        let at = point.map(|c| trim_number(c, 1)).join(", ");
        (
            format!("no {} for fit \"{}\" at {at}", want.kind, fit.name.value),
            format!("the nearest of its size is {}", one.words()),
            true,
        )
    })
}

/// Tells which fits are in no table, or ask for what there is not; it needs no mesh.
pub fn impossible(spec: &Spec, tools: &Tools, catalogue: &Catalogue) -> Vec<Diagnostic> {
    let told = |fit: &Fit| {
        if let (FitFunction::Hinge { living: true, .. }, Some(finish)) = (&fit.function.value, fit.finish)
            && finish.value != FitFinish::AsPrinted
        {
            let error = Diagnostic::error(
                "fit/impossible",
                finish.span,
                "a living hinge is a thin strip: only `as printed` can be said of it",
            );
            return Some(error.hint("leave `finish` out"));
        }
        let (function, kind) = super::fits::function(&fit.function.value);
        let mut context =
            FeatureContext::new(kind, FeatureAxis::AcrossLayers, catalogue.printed(""), catalogue.practice());
        context.tools = tools.clone();
        context.within = fit.within.map(|w| w.value);
        context.finish = fit.finish.map(|f| super::fits::finishing(f.value));
        let (e, span) = match function.demand(&context) {
            Err(e) => (e, fit.function.span),
            Ok(demand) => (asked::possible(&function, &demand, &context).err()?, fit.finish?.span),
        };
        Some(Diagnostic::error("fit/impossible", span, e.message).hint(e.hint))
    };
    spec.fits.iter().filter_map(told).collect()
}

/// Tells which fits are not on the mesh, at each fit's own line; `lenient` where a part has several meshes and a fit may be on
/// another of them.
pub fn check(world: &World<'_>, lenient: bool) -> Vec<Diagnostic> {
    let (spec, places) = (world.spec, &world.fit_places);
    let mut found = Vec::new();
    for (i, (fit, place)) in spec.fits.iter().zip(places).enumerate() {
        let Some((message, hint, stops)) = &place.problem else { continue };
        // Two fits on one feature are one mistake: told at the first of them, with the place of the other.
        let rival = place.rival.and_then(|r| Some((r, places.get(r)?, spec.fits.get(r)?)));
        let earlier = |other: &Fit| (other.span.source, other.span.start) < (fit.span.source, fit.span.start);
        if rival.is_some_and(|(_, other, stated)| other.rival == Some(i) && earlier(stated)) {
            continue;
        }
        let missing = place.features.len() < fit.count.map_or(1, |c| c.value as usize);
        let told = if *stops && !(lenient && missing) {
            Diagnostic::error("fit/not-on-mesh", fit.span, message.clone())
        } else {
            Diagnostic::warning("fit/not-on-mesh", fit.span, message.clone())
        };
        let told = match rival {
            Some((_, _, other)) => told.here("this one").label(other.span, "and this one"),
            None => told,
        };
        found.push(told.hint(hint.clone()));
    }
    found.extend(
        spec.fits.iter().zip(places).filter_map(|(fit, place)| wrong_depth(fit, place, world.knowledge.catalogue)),
    );
    found
}

/// A stated depth must be on the mesh: a shallower feature cannot take what is meant for it.
fn wrong_depth(fit: &Fit, place: &Place, catalogue: &Catalogue) -> Option<Diagnostic> {
    let (stated, found) = (fit.depth?, place.depth()?);
    if place.problem.is_some() {
        return None;
    }
    let (wanted, there) = (stated.value.to_mm(), found.to_mm());
    let share = catalogue.value(figures::DEPTH_OFF_SHARE);
    let slack = catalogue.value(figures::DEPTH_OFF).to_mm().max(share * wanted);
    let shallowest = place.features.iter().min_by(|a, b| a.length.to_mm().total_cmp(&b.length.to_mm()))?;
    let there_words = trim_number(there, 2);
    let message = format!("{} is {there_words} mm deep, and {} is stated", shallowest.words(), stated.value);
    if there < wanted - slack {
        let hint = format!("deepen it in the model, or write `depth {there_words} mm`");
        return Some(Diagnostic::error("fit/depth", stated.span, message).hint(hint));
    }
    (there > wanted + slack && shallowest.blind).then(|| {
        let hint = format!(
            "write `depth {there_words} mm`, or make it shallower in the model; the stated depth is computed with"
        );
        Diagnostic::warning("fit/depth", stated.span, message).hint(hint)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn hole(axis: Vector, centre: Vector, d: f64) -> Feature {
        Feature {
            name: "hole 1".to_owned(),
            kind: FeatureKind::Hole,
            diameter: Length::mm(d),
            axis,
            centre,
            length: Length::mm(10.0),
            facets: 64,
            blind: false,
            stepped: false,
        }
    }

    #[test]
    fn the_worst_lie_decides() {
        let (x, z) = ([1.0, 0.0, 0.0], [0.0, 0.0, 1.0]);
        let place = |axes: &[Vector]| Place {
            features: axes.iter().map(|a| hole(*a, [0.0, 0.0, 5.0], 5.5)).collect(),
            ..Place::default()
        };
        let upright = place(&[z, z]).lie(z, 0.0).unwrap();
        assert_eq!((upright.axis, upright.mixed, upright.on_bed), (FeatureAxis::AcrossLayers, false, true));
        let both = place(&[x, z]).lie(z, 0.0).unwrap();
        assert_eq!((both.axis, both.mixed, both.leans), (FeatureAxis::AlongLayers, true, None));
        let aslant = place(&[[0.6, 0.0, 0.8]]).lie(z, 0.0).unwrap();
        // acos 0.8 = 36.87 degrees.
        assert!((aslant.leans.unwrap() - 36.87).abs() < 0.01);
        assert_eq!(place(&[]).lie(z, 0.0), None);
    }

    #[test]
    fn the_size_farthest_from_nominal_is_told() {
        let z = [0.0, 0.0, 1.0];
        let place = Place { features: vec![hole(z, [0.0; 3], 5.5), hole(z, [9.0, 0.0, 0.0], 5.8)], ..Place::default() };
        assert_eq!(place.modelled(Length::mm(5.5)).unwrap().0, Length::mm(5.8));
        assert_eq!(place.uneven(), Some([5.5, 5.8].map(Length::mm)));
    }
}
