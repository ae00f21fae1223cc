//! Layers: the part cut by planes parallel to the bed, and what each layer lacks beneath it.

use rayon::prelude::*;

use super::adjacency::NONE;
use super::polygon::{Contour, Filling, Point2, Polygons};
use super::regions::patch::View;

/// Layers cut together: bounds the memory for the lists of facets per layer.
const BAND: usize = 64;
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

    pub fn polygons(&self, filling: Filling) -> Polygons {
        Polygons::new(&self.contours, filling)
    }
}

/// Returns the heights of the middles of layers `layer_mm` thick over a part `height_mm` high.
pub fn middles(height_mm: f64, layer_mm: f64) -> Vec<f64> {
    if !(height_mm > 0.0 && layer_mm > 0.0) || !height_mm.is_finite() {
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
    bands.par_iter().enumerate().flat_map_iter(|(b, zs)| cut_band(view, zs, b * BAND, &spans)).collect()
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

fn cut_band(view: &View, zs: &[f64], first: usize, spans: &[(u32, u32)]) -> Vec<Layer> {
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
    let mut stamps = vec![0_u32; spans.len()];
    zs.iter()
        .enumerate()
        .map(|(k, &z)| {
            let list = &facets[counts[k] as usize..counts[k + 1] as usize];
            Cutter { view, z, stamp: k as u32 + 1, stamps: &mut stamps }.layer(list)
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
