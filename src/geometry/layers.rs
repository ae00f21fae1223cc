//! Layers: the part cut by planes parallel to the bed, and what each layer lacks beneath it.

use rayon::prelude::*;

use super::adjacency::NONE;
use super::polygon::{Contour, Filling, Point2, Polygons};
use super::regions::patch::View;

/// Outlines are followed to within this, mm: far below what a nozzle can draw.
const FINE_MM: f64 = 0.002;
/// Points left out at most in one go, which bounds the work.
const LONGEST_RUN: usize = 24;
/// Layers cut together: bounds the memory for the lists of facets per layer.
const BAND: usize = 96;
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
    let bands: Vec<&[f64]> = heights.chunks(BAND).collect();
    let spans = spans(view, heights);
    let fresh = || vec![0_u32; spans.len()];
    let cut: Vec<Vec<Layer>> = bands
        .par_iter()
        .enumerate()
        .map_init(fresh, |stamps, (b, zs)| cut_band(view, zs, b * BAND, &spans, stamps))
        .collect();
    cut.into_iter().flatten().collect()
}

/// The first plane above each facet's lowest corner, and the first one above its highest.
fn spans(view: &View, heights: &[f64]) -> Vec<(u32, u32)> {
    let above = |z: f64| heights.partition_point(|&h| h < z) as u32;
    view.mesh
        .triangles
        .par_iter()
        .map(|t| {
            let [a, b, c] = t.map(|v| view.heights[v as usize]);
            (above(a.min(b).min(c)), above(a.max(b).max(c)))
        })
        .collect()
}

/// `stamps` may be those of an earlier band: no two layers stamp alike.
fn cut_band(view: &View, zs: &[f64], first: usize, spans: &[(u32, u32)], stamps: &mut [u32]) -> Vec<Layer> {
    let (start, end) = (first as u32, (first + zs.len()) as u32);
    let mut counts = vec![0_u32; zs.len() + 1];
    let within = |&(low, high): &(u32, u32)| (low.max(start), high.min(end));
    for span in spans {
        let (low, high) = within(span);
        for layer in low..high.max(low) {
            counts[(layer - start) as usize + 1] += 1;
        }
    }
    for k in 0..zs.len() {
        counts[k + 1] += counts[k];
    }
    let mut next = counts.clone();
    let mut facets = vec![0_u32; counts[zs.len()] as usize];
    for (t, span) in spans.iter().enumerate() {
        let (low, high) = within(span);
        for layer in low..high.max(low) {
            let slot = &mut next[(layer - start) as usize];
            facets[*slot as usize] = t as u32;
            *slot += 1;
        }
    }
    zs.iter()
        .enumerate()
        .map(|(k, &z)| {
            let list = &facets[counts[k] as usize..counts[k + 1] as usize];
            Cutter { view, z, stamp: (first + k) as u32 + 1, stamps: &mut *stamps }.layer(list)
        })
        .collect()
}

struct Cutter<'a> {
    view: &'a View<'a>,
    z: f64,
    /// A facet whose stamp this is has been passed in this layer.
    stamp: u32,
    stamps: &'a mut [u32],
}

impl Cutter<'_> {
    fn layer(&mut self, facets: &[u32]) -> Layer {
        let mut layer = Layer { z_mm: self.z, ..Layer::default() };
        for &seed in facets {
            if self.stamps[seed as usize] != self.stamp {
                match self.walk(seed) {
                    Some(contour) if contour.len() >= 3 => layer.contours.push(contour),
                    Some(_) => {}
                    None => layer.broken += 1,
                }
            }
        }
        layer
    }

    /// Follows the cut from facet to facet until it closes; `None` where it runs out.
    fn walk(&mut self, seed: u32) -> Option<Contour> {
        let mut contour = Contour::new();
        let (mut t, mut leave) = (seed, self.rising_side(seed)?);
        loop {
            self.stamps[t as usize] = self.stamp;
            contour.push(self.point(t, leave));
            let across = self.view.twin[(3 * t + leave) as usize];
            if across == NONE {
                return None;
            }
            let (next, entered) = (across / 3, across % 3);
            if next == seed {
                return Some(contour);
            }
            if self.stamps[next as usize] == self.stamp {
                return None;
            }
            // By "the other cut side" rather than by direction, so that a facet turned the wrong way is passed too.
            leave = self.other_side(next, entered)?;
            t = next;
        }
    }

    #[inline]
    fn is_below(&self, t: u32, k: u32) -> bool {
        self.view.heights[self.view.mesh.triangles[t as usize][(k % 3) as usize] as usize] <= self.z
    }

    /// The side from a corner below to one above: leaving there keeps the solid to the left.
    fn rising_side(&self, t: u32) -> Option<u32> {
        (0..3).find(|&k| self.is_below(t, k) && !self.is_below(t, k + 1))
    }

    fn other_side(&self, t: u32, entered: u32) -> Option<u32> {
        (0..3).find(|&k| k != entered && self.is_below(t, k) != self.is_below(t, k + 1))
    }

    fn point(&self, t: u32, side: u32) -> Point2 {
        let corners = self.view.mesh.triangles[t as usize];
        let (a, b) = (corners[side as usize], corners[(side as usize + 1) % 3]);
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
