//! Layers: the part cut by planes parallel to the bed, and what each layer lacks beneath it.

use rayon::prelude::*;

use super::adjacency::NONE;
use super::polygon::{Contour, Filling, Point2, Polygons};
use super::regions::patch::View;

/// Outlines are followed to within this, mm: far below what a nozzle can draw.
const FINE_MM: f64 = 0.002;
/// Points left out at most in one go, which bounds the work.
const LONGEST_RUN: usize = 24;
/// Facets cut in one go over all layers of it: bounds the memory for the lists of facets per layer.
const MOST_CUTS: u64 = 1 << 23;
/// Layers a thread takes at least: what it needs to remember is made anew for each such lot.
const LOT: usize = 32;
/// At most this many layers are cut; a finer step is refused by making the layers thicker.
pub const MOST_LAYERS: usize = 6000;

/// One layer: the outlines of the part at one height.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Layer {
    /// Height of the plane above the bed, mm.
    pub z_mm: f64,
    /// Closed outlines, solid to the left.
    pub contours: Vec<Contour>,
    /// Outlines that ran out at an open edge and were left out.
    pub broken: usize,
}

impl Layer {
    /// Returns the area, holes taken off by their direction, mm².
    pub fn area(&self) -> f64 {
        self.contours.iter().map(|c| super::pose::footprint::area(c)).fold(0.0, |sum, a| sum + a)
    }

    /// Returns the areas of the layer, points that bend an outline by less than two micrometres left out: finely
    /// faceted parts have many, and every one costs in what follows.
    pub fn polygons(&self, filling: Filling) -> Polygons {
        let thinned: Vec<Contour> = self.contours.iter().map(thinned).collect();
        Polygons::new(&thinned, filling)
    }
}

/// Drops points that lie within [`FINE_MM`] of the straight line between those kept, one run of points at a time.
fn thinned(contour: &Contour) -> Contour {
    let mut kept: Contour = Vec::with_capacity(contour.len());
    let mut from = 0;
    while let Some(&start) = contour.get(from) {
        kept.push(start);
        let mut to = from + 1;
        while to + 1 < contour.len() && to - from < LONGEST_RUN {
            let end = contour[to + 1];
            if contour[from + 1..=to].iter().any(|&p| off(p, start, end) > FINE_MM) {
                break;
            }
            to += 1;
        }
        from = to;
    }
    if kept.len() < 3 { contour.clone() } else { kept }
}

/// Distance of a point from the line through two others.
fn off(p: Point2, a: Point2, b: Point2) -> f64 {
    let d = [b[0] - a[0], b[1] - a[1]];
    let cross = d[0] * (p[1] - a[1]) - d[1] * (p[0] - a[0]);
    let square = d[0] * d[0] + d[1] * d[1];
    if square > 0.0 { cross.abs() / square.sqrt() } else { f64::INFINITY }
}

/// Returns the heights of the middles of layers `layer_mm` thick over a part `height_mm` high.
pub fn middles(height_mm: f64, layer_mm: f64) -> Vec<f64> {
    if !(height_mm > 0.0 && layer_mm > 0.0 && height_mm.is_finite()) {
        return Vec::new();
    }
    let step = layer_mm.max(height_mm / MOST_LAYERS as f64);
    let count = ((height_mm / step) - 1e-6).ceil().max(1.0) as usize;
    (0..count).map(|k| (k as f64 + 0.5) * step).filter(|z| *z < height_mm).collect()
}

/// Cuts the part at the given heights (ascending), all threads at work. Linear in cuts made.
///
/// A vertex exactly in a plane counts as below it, so no cut is ever degenerate.
pub fn cut(view: &View, heights: &[f64]) -> Vec<Layer> {
    let levels = levels(view, heights);
    let spans = spans(view, &levels);
    let counts = counts(&spans, heights.len());
    let mut layers = Vec::with_capacity(heights.len());
    while layers.len() < heights.len() {
        let first = layers.len();
        let lists = Lists::new(&spans, &counts, first);
        let fresh = || (vec![0_u32; spans.len()], Contour::new());
        let of = |k: usize, (stamps, contour): &mut (Vec<u32>, Contour)| {
            let layer = (first + k) as u32;
            let z = heights[first + k];
            Cutter { view, levels: &levels, z, layer, stamps, contour }.layer(lists.of(k))
        };
        let cut: Vec<Layer> =
            (0..lists.len()).into_par_iter().with_min_len(LOT).map_init(fresh, |scratch, k| of(k, scratch)).collect();
        layers.extend(cut);
    }
    layers
}

/// For each vertex, the first plane at or above it: it lies below that one and all that follow.
fn levels(view: &View, heights: &[f64]) -> Vec<u32> {
    let (low, high) = (heights.first().copied().unwrap_or(0.0), heights.last().copied().unwrap_or(0.0));
    let per_mm = if high > low { (heights.len() - 1) as f64 / (high - low) } else { 0.0 };
    let level = |&z: &f64| {
        // Planes mostly lie evenly; where they do not, or rounding misleads, they are searched.
        let guess = (((z - low) * per_mm).ceil().max(0.0) as usize).min(heights.len());
        let after = guess == 0 || heights[guess - 1] < z;
        let before = heights.get(guess).is_none_or(|&h| h >= z);
        (if after && before { guess } else { heights.partition_point(|&h| h < z) }) as u32
    };
    view.heights.par_iter().map(level).collect()
}

/// The first plane that cuts each facet, and the first one above it.
fn spans(view: &View, levels: &[u32]) -> Vec<(u32, u32)> {
    let span = |t: &[u32; 3]| {
        let [a, b, c] = t.map(|v| levels[v as usize]);
        (a.min(b).min(c), a.max(b).max(c))
    };
    view.mesh.triangles.par_iter().map(span).collect()
}

/// How many facets each of `planes` planes cuts.
fn counts(spans: &[(u32, u32)], planes: usize) -> Vec<u32> {
    let mut changes = vec![0_i64; planes + 1];
    for &(low, high) in spans {
        changes[low as usize] += 1;
        changes[high as usize] -= 1;
    }
    let mut sum = 0;
    let step = |change: i64| {
        sum += change;
        sum as u32
    };
    changes.into_iter().take(planes).map(step).collect()
}

/// The facets that each of some layers cuts, in their order.
struct Lists {
    facets: Vec<u32>,
    /// Where each layer's list begins; one more at the end.
    begins: Vec<usize>,
}

impl Lists {
    /// Lists from layer `first` on, as many layers as there is room for, one at least.
    fn new(spans: &[(u32, u32)], counts: &[u32], first: usize) -> Self {
        let mut begins = vec![0_usize];
        let mut total = 0;
        for &count in &counts[first..] {
            if begins.len() > 1 && total as u64 + u64::from(count) > MOST_CUTS {
                break;
            }
            total += count as usize;
            begins.push(total);
        }
        let (start, end) = (first as u32, (first + begins.len() - 1) as u32);
        let mut next = begins.clone();
        let mut facets = vec![0_u32; total];
        for (t, &(low, high)) in spans.iter().enumerate() {
            for layer in low.max(start)..high.min(end) {
                let slot = &mut next[(layer - start) as usize];
                facets[*slot] = t as u32;
                *slot += 1;
            }
        }
        Self { facets, begins }
    }

    fn len(&self) -> usize {
        self.begins.len() - 1
    }

    fn of(&self, layer: usize) -> &[u32] {
        &self.facets[self.begins[layer]..self.begins[layer + 1]]
    }
}

struct Cutter<'a> {
    view: &'a View<'a>,
    levels: &'a [u32],
    z: f64,
    layer: u32,
    /// A facet whose stamp is one more than the layer has been passed in it.
    stamps: &'a mut [u32],
    /// The outline being followed, used again for the next.
    contour: &'a mut Contour,
}

impl Cutter<'_> {
    fn layer(&mut self, facets: &[u32]) -> Layer {
        let mut layer = Layer { z_mm: self.z, ..Layer::default() };
        for &seed in facets {
            if self.stamps[seed as usize] != self.layer + 1 {
                match self.walk(seed) {
                    Some(()) if self.contour.len() >= 3 => layer.contours.push(self.contour.clone()),
                    Some(()) => {}
                    None => layer.broken += 1,
                }
            }
        }
        layer
    }

    /// Follows the cut from facet to facet until it closes; `None` where it runs out.
    fn walk(&mut self, seed: u32) -> Option<()> {
        self.contour.clear();
        let (mut t, mut corners) = (seed, self.view.mesh.triangles[seed as usize]);
        let mut leave = self.rising_side(corners)?;
        loop {
            self.stamps[t as usize] = self.layer + 1;
            let point = self.point(corners[leave], corners[(leave + 1) % 3]);
            self.contour.push(point);
            let across = self.view.twin[3 * t as usize + leave];
            if across == NONE {
                return None;
            }
            let (next, entered) = (across / 3, (across % 3) as usize);
            if next == seed {
                return Some(());
            }
            if self.stamps[next as usize] == self.layer + 1 {
                return None;
            }
            t = next;
            corners = self.view.mesh.triangles[t as usize];
            // By "the other cut side" rather than by direction, so that a facet turned the wrong way is passed too: two
            // sides of a cut facet are cut, and the corner across from the one entered tells which the other is.
            let apart = self.is_below(corners[entered]) != self.is_below(corners[(entered + 2) % 3]);
            leave = (entered + if apart { 2 } else { 1 }) % 3;
        }
    }

    #[inline]
    fn is_below(&self, v: u32) -> bool {
        self.levels[v as usize] <= self.layer
    }

    /// The side from a corner below to one above: leaving there keeps the solid to the left.
    fn rising_side(&self, corners: [u32; 3]) -> Option<usize> {
        let below = corners.map(|v| self.is_below(v));
        (0..3).find(|&k| below[k] && !below[(k + 1) % 3])
    }

    #[inline]
    fn point(&self, a: u32, b: u32) -> Point2 {
        // In one order for both facets of the edge, so that both compute the same point.
        let (a, b) = (a.min(b) as usize, a.max(b) as usize);
        let (p, q) = (self.view.flat(self.view.mesh.vertices[a]), self.view.flat(self.view.mesh.vertices[b]));
        let part = (self.z - self.view.heights[a]) / (self.view.heights[b] - self.view.heights[a]);
        [p[0] + part * (q[0] - p[0]), p[1] + part * (q[1] - p[1])]
    }
}

/// Returns, for each layer, what lacks support: the layer less the one below grown by `grow` mm (layer height times the
/// tangent of the limit angle). The first layer stands on the bed and lacks nothing.
pub fn unsupported(layers: &[Layer], grow: f64, filling: Filling) -> Vec<Polygons> {
    let polygons: Vec<Polygons> = layers.par_iter().map(|l| l.polygons(filling)).collect();
    (0..layers.len())
        .into_par_iter()
        .map(|k| if k == 0 { Polygons::default() } else { polygons[k].minus(&polygons[k - 1].grown(grow)) })
        .collect()
}
