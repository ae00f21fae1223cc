//! From the geometry's drawing of a part in its pose to the figure of the recipe.

mod plate;
mod stressed;

pub use plate::Round;
pub use stressed::Loaded;

use crate::fits::feature::FeatureKind;
use crate::geometry::drawing::{self, Drawing, DrawingOptions};
use crate::geometry::regions::Verdict;
use crate::geometry::regions::limits::Limits;
use crate::geometry::survey::Prepared;
use crate::geometry::vector::{Vector, add, norm, scale};
use crate::render::figure::{Arrow, Callout, Figure, Inset, Region, RegionKind, svg};
use crate::resolve::matching::{Place, round_features};
use crate::resolve::part::Part;
use crate::semantics::spec::Spec;

/// Cells of the depth picture: a hair's breadth on a sheet 180 mm wide, and a third of the work of the default.
const CELLS: usize = 500;
/// Most labels of features: more would cover the part.
const MOST_LABELS: usize = 12;

/// Draws the part as it lies in a pose, with its faces, fits, holes and loads named, and what the limits make of its regions;
/// `None` for a pose there is not. `fits` is what the mesh holds of each fit, in the spec's order;
/// `round` is what lies on the bed with it, and by how much askew; `loaded` the load that comes nearest to breaking it.
#[allow(clippy::too_many_arguments, reason = "what a drawing shows")]
pub fn picture(
    spec: &Spec,
    part: &Part,
    fits: &[Place],
    pose: usize,
    limits: &Limits,
    supported: bool,
    round: Option<&Round>,
    loaded: Option<&Loaded<'_>>,
) -> Option<String> {
    let facts = part.poses.get(pose)?;
    let found = part.regions(pose, limits);
    let prepared = Prepared::new(&part.mesh);
    let askew = round.map_or(0.0, |r| r.askew_deg);
    let options = DrawingOptions { turn_deg: facts.turn_deg + askew, cells: CELLS, ..DrawingOptions::default() };
    let regions: Vec<(&[u32], RegionKind)> = found
        .iter()
        .flat_map(|r| &r.list)
        .filter_map(|r| {
            let kind = match r.verdict {
                Verdict::Support if supported => RegionKind::Support,
                Verdict::Bridge => RegionKind::Bridge,
                Verdict::Trapped | Verdict::Redesign => RegionKind::Trapped,
                _ => return None,
            };
            Some((r.facets.as_slice(), kind))
        })
        .collect();
    let sets: Vec<&[u32]> = regions.iter().map(|(facets, _)| *facets).collect();
    let drawn = drawing::draw(&part.mesh, prepared.twins(), &facts.pose, &options, &sets);
    let mut figure = Figure {
        title: format!("{} as it lies on the bed", spec.name.value),
        outline: drawn.outline.iter().map(|l| l.to_vec()).collect(),
        visible: drawn.visible.iter().map(|l| l.to_vec()).collect(),
        hidden: drawn.hidden.iter().map(|l| l.to_vec()).collect(),
        floor: Some(drawn.bed),
        ..Figure::default()
    };
    for ((_, kind), hatching) in regions.iter().zip(&drawn.hatchings) {
        let (strokes, hidden_strokes) = (hatching.visible.clone(), hatching.hidden.clone());
        figure.regions.push(Region { kind: *kind, rings: Vec::new(), strokes, hidden_strokes });
    }
    figure.callouts = callouts(spec, part, fits, &drawn);
    figure.arrows = arrows(spec, part, &drawn);
    figure.inset = inset(part, pose);
    figure.plate = round.and_then(|round| plate::plate(&part.mesh, &facts.pose, facts.turn_deg, round));
    figure.below = loaded.and_then(|loaded| stressed::stressed(&prepared, &part.mesh, loaded)).map(Box::new);
    Some(svg(&figure))
}

/// Faces by their names, then the features that are a fit's by the fit's name, then the holes that are nobody's.
fn callouts(spec: &Spec, part: &Part, fits: &[Place], drawn: &Drawing) -> Vec<Callout> {
    let faces = spec.faces.iter().zip(&part.faces).filter_map(|(face, patch)| {
        let patch = patch.as_ref()?;
        Some(Callout { text: face.name.value.clone(), at: drawn.place(patch.centre) })
    });
    let of = |feature: &str| -> Vec<&str> {
        let named = spec.fits.iter().zip(fits).filter(|(_, p)| p.features.iter().any(|f| f.name == feature));
        named.map(|(fit, _)| fit.name.value.as_str()).collect()
    };
    let mut matched = Vec::new();
    let mut others = Vec::new();
    for feature in round_features(&part.features) {
        let names = of(&feature.name);
        let at = drawn.place(feature.centre);
        if !names.is_empty() {
            matched.push(Callout { text: format!("{}: {}", feature.name, names.join(", ")), at });
        } else if feature.kind == FeatureKind::Hole {
            others.push(Callout { text: format!("{}: d {:.2}", feature.name, feature.diameter.to_mm()), at });
        }
    }
    faces.chain(matched).chain(others).take(MOST_LABELS).collect()
}

/// One arrow for each place and direction a load acts at; loads that share it share the label.
fn arrows(spec: &Spec, part: &Part, drawn: &Drawing) -> Vec<Arrow> {
    let length = 0.22 * part.longest_mm();
    let mut arrows: Vec<Arrow> = Vec::new();
    for (load, path) in spec.loads.iter().zip(&part.loads) {
        let Some(path) = path else { continue };
        let direction: Vector = load.direction.map_or([0.0, 0.0, -1.0], |d| d.value.0);
        if norm(direction) <= 0.0 {
            continue;
        }
        let size = load.size().map_or(String::new(), |s| s.to_string());
        let text = format!("{} {size}", load.name.value);
        let (tail, head) = (drawn.place(add(path.point(), scale(direction, -length))), drawn.place(path.point()));
        match arrows.iter_mut().find(|a| a.tail == tail && a.head == head) {
            Some(same) => same.text = format!("{}, {text}", same.text),
            None => arrows.push(Arrow { text, tail, head }),
        }
    }
    arrows
}

fn inset(part: &Part, pose: usize) -> Option<Inset> {
    let layer = part.first_layer(pose)?;
    let rings: Vec<Vec<[f64; 2]>> = layer.outline.clone();
    (!rings.is_empty()).then(|| Inset { title: format!("first layer, {:.0} mm²", layer.contact_mm2), rings })
}
