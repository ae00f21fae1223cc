//! Round surfaces: flat strips around a common axis, recognised as the cylinder they stand for.

use std::collections::BTreeSet;
use std::f64::consts::TAU;
use std::sync::atomic::{AtomicBool, Ordering};

use rayon::prelude::*;

use super::faces::{Faces, NONE};
use super::joining::join;
use crate::mesh::{Mesh, Point};
use crate::vector::{Vector, add, cross, distance, dot, norm, normalise, perpendiculars, scale, sub};

/// Neighbouring strips meet at no more than this angle (radians): eight strips make the coarsest round.
const MOST_TURN: f64 = 0.80;
/// ... and at no less than this, or they would be one flat face.
const LEAST_TURN: f64 = 0.0075;
/// Edges of one cylinder run parallel within this angle (radians).
pub(super) const PARALLEL: f64 = 0.02;
/// A corner lies on a long side of its strip if it is no farther from it than this share of the strip's width.
const ON_THE_SIDE: f64 = 1e-3;
/// Corners stand off the fitted circle by no more than this part of the radius.
pub(super) const ROUND: f64 = 0.01;

/// Less of a turn than this is a curved surface, not a rounding.
const LEAST_ARC_DEG: f64 = 15.0;

/// A piece of a cylinder's surface.
#[derive(Debug, Clone, PartialEq)]
pub struct Cylinder {
    /// Unit direction of the axis; its largest component is positive.
    pub axis: Vector,
    /// A point of the axis, halfway along.
    pub centre: Point,
    /// Radius of the circle through the corners, mm.
    pub radius_mm: f64,
    /// Length along the axis, mm.
    pub length_mm: f64,
    /// Arc covered, degrees, at most 360.
    pub arc_deg: f64,
    /// Sides in a full turn.
    pub sides: usize,
    /// Whether the material lies outside: a hole rather than a boss.
    pub hollow: bool,
    /// The flat faces that make it up.
    pub strips: Vec<u32>,
}

impl Cylinder {
    /// Returns where along the axis a point lies, from the centre, mm.
    pub fn along(&self, p: Point) -> f64 {
        dot(sub(p, self.centre), self.axis)
    }

    /// Returns how far from the axis a point lies, mm.
    pub fn off(&self, p: Point) -> f64 {
        norm(cross(sub(p, self.centre), self.axis))
    }
}

/// An edge between two flat faces that could be two strips of one round.
struct Seam {
    faces: [u32; 2],
    /// Unit vector from one end to the other.
    along: Vector,
    length: f64,
    /// Whether the material is on the outer side (the faces look at each other).
    hollow: bool,
}

/// Returns every round surface, whole or part, in the order of its first strip.
pub fn cylinders(mesh: &Mesh, faces: &Faces, twin: &[u32]) -> Vec<Cylinder> {
    let seams = seams(mesh, faces, twin);
    let index = by_face(&seams, faces.faces.len());
    // Most of the time goes into finding out that nothing goes on, which needs nothing of what was found before.
    let goes_on = goes_on(&seams, &index);
    let seeds = (0..seams.len() as u32).filter(|&s| goes_on[s as usize].load(Ordering::Relaxed)).collect();
    let walk = Walk::new(&seams, &index, faces.faces.len());
    let grow = |seeds: &[(u32, u32)]| -> Vec<(u32, Cylinder)> {
        seeds.iter().filter_map(|&(_, seed)| Some((seed, walk.grow(mesh, faces, seed)?))).collect()
    };
    let apart = apart(&seams, &index, seeds);
    let mut pieces: Vec<(u32, Cylinder)> =
        apart.par_chunk_by(|a, b| a.0 == b.0).map(grow).collect::<Vec<_>>().into_iter().flatten().collect();
    pieces.sort_unstable_by_key(|(seed, _)| *seed);
    join(mesh, faces, pieces.into_iter().map(|(_, piece)| piece).collect())
}

fn seams(mesh: &Mesh, faces: &Faces, twin: &[u32]) -> Vec<Seam> {
    (0..twin.len()).into_par_iter().with_min_len(8192).filter_map(|half| seam(mesh, faces, twin, half)).collect()
}

/// Returns the seam along a half-edge, where it is one and the half-edge is the lower of its two.
fn seam(mesh: &Mesh, faces: &Faces, twin: &[u32], half: usize) -> Option<Seam> {
    let across = twin[half];
    if across == NONE || across < half as u32 {
        return None;
    }
    let (t, o) = (half / 3, across as usize / 3);
    let pair = [faces.of_facet[t], faces.of_facet[o]];
    if pair[0] == pair[1] {
        return None;
    }
    let (a, b) = (faces.faces[pair[0] as usize].normal, faces.faces[pair[1] as usize].normal);
    let turn = cross(a, b);
    if dot(a, b) < MOST_TURN.cos() || norm(turn) < LEAST_TURN {
        return None;
    }
    let from = mesh.vertices[mesh.triangles[t][half % 3] as usize];
    let to = mesh.vertices[mesh.triangles[t][(half + 1) % 3] as usize];
    let run = sub(to, from);
    // The edge runs with its facet to the left, so a fold towards the viewer turns the other way.
    let hollow = dot(turn, run) < 0.0;
    Some(Seam { faces: pair, along: normalise(run), length: norm(run), hollow })
}

/// Compressed lists of the seams of each face.
fn by_face(seams: &[Seam], faces: usize) -> (Vec<u32>, Vec<u32>) {
    let mut starts = vec![0_u32; faces + 1];
    seams.iter().flat_map(|s| s.faces).for_each(|f| starts[f as usize + 1] += 1);
    for f in 0..faces {
        starts[f + 1] += starts[f];
    }
    let mut next = starts.clone();
    let mut entries = vec![0_u32; starts[faces] as usize];
    for (i, seam) in seams.iter().enumerate() {
        for f in seam.faces {
            entries[next[f as usize] as usize] = i as u32;
            next[f as usize] += 1;
        }
    }
    (starts, entries)
}

/// Walks from seam to seam over strips that fold the same way about the same direction.
///
/// Walks from seeds that are [`apart`] never meet, so they may go on at the same time.
struct Walk<'a> {
    seams: &'a [Seam],
    index: &'a (Vec<u32>, Vec<u32>),
    /// Faces that belong to a cylinder already.
    taken: Vec<AtomicBool>,
    tried: Vec<AtomicBool>,
}

impl<'a> Walk<'a> {
    fn new(seams: &'a [Seam], index: &'a (Vec<u32>, Vec<u32>), faces: usize) -> Self {
        let unset = |count: usize| {
            let mut flags = Vec::new();
            flags.resize_with(count, AtomicBool::default);
            flags
        };
        Self { seams, index, taken: unset(faces), tried: unset(seams.len()) }
    }

    /// Returns the cylinder reached from a seam, if there is one, and takes its faces.
    fn grow(&self, mesh: &Mesh, faces: &Faces, seed: u32) -> Option<Cylinder> {
        let (strips, axis) = self.gather(seed as usize);
        if strips.len() < 3 {
            return None;
        }
        let piece = fit_most(mesh, faces, &strips, axis, self.seams[seed as usize].hollow)?;
        piece.strips.iter().for_each(|&f| self.taken[f as usize].store(true, Ordering::Relaxed));
        Some(piece)
    }

    /// Returns the strips reached from a seam and the direction of their axis; none from one that was passed before.
    fn gather(&self, seed: usize) -> (Vec<u32>, Vector) {
        let is = |flags: &[AtomicBool], at: u32| flags[at as usize].load(Ordering::Relaxed);
        let direction = self.seams[seed].along;
        if is(&self.tried, seed as u32) || self.seams[seed].faces.iter().any(|&f| is(&self.taken, f)) {
            return (Vec::new(), direction);
        }
        let (mut strips, mut queue, mut run) = (Vec::new(), vec![seed], [0.0; 3]);
        let mut seen = BTreeSet::new();
        self.tried[seed].store(true, Ordering::Relaxed);
        while let Some(s) = queue.pop() {
            let seam = &self.seams[s];
            let length = if dot(seam.along, direction) < 0.0 { -seam.length } else { seam.length };
            run = add(run, scale(seam.along, length));
            for f in seam.faces {
                if is(&self.taken, f) || !seen.insert(f) {
                    continue;
                }
                strips.push(f);
                for &n in around(self.index, f) {
                    if !is(&self.tried, n) && fits(&self.seams[seed], &self.seams[n as usize]) {
                        self.tried[n as usize].store(true, Ordering::Relaxed);
                        queue.push(n as usize);
                    }
                }
            }
        }
        strips.sort_unstable();
        (strips, normalise(run))
    }
}

/// Returns each seed behind the number of its group, in groups none of which a walk from another can come into.
///
/// All seams of a walk fit its seed, so those it passes from one to the next are no more than twice the angle apart: faces
/// on both sides of such seams belong together. Few do on a freeform surface, and all the holes of a plate lie apart.
fn apart(seams: &[Seam], index: &(Vec<u32>, Vec<u32>), seeds: Vec<u32>) -> Vec<(u32, u32)> {
    // Beyond this number of seams round one face all count as one, which is always right.
    const MOST_PAIRED: usize = 32;
    let faces = index.0.len() as u32 - 1;
    let links = (0..faces).into_par_iter().with_min_len(4096).flat_map_iter(|face| {
        let near = around(index, face);
        let meets = move |s: u32| {
            let fit = |&n: &u32| n != s && may_follow(&seams[s as usize], &seams[n as usize]);
            near.len() > MOST_PAIRED || near.iter().any(fit)
        };
        near.iter().filter(move |&&s| meets(s)).map(|&s| seams[s as usize].faces)
    });
    let links: Vec<[u32; 2]> = links.collect();
    let mut above: Vec<u32> = (0..faces).collect();
    for [a, b] in links {
        let (a, b) = (root(&mut above, a), root(&mut above, b));
        above[a.max(b) as usize] = a.min(b);
    }
    let mut apart: Vec<(u32, u32)> =
        seeds.into_iter().map(|seed| (root(&mut above, seams[seed as usize].faces[0]), seed)).collect();
    apart.sort_unstable();
    apart
}

/// Returns the lowest face of a group, and shortens the way there.
fn root(above: &mut [u32], mut face: u32) -> u32 {
    while above[face as usize] != face {
        above[face as usize] = above[above[face as usize] as usize];
        face = above[face as usize];
    }
    face
}

fn may_follow(a: &Seam, b: &Seam) -> bool {
    a.hollow == b.hollow && norm(cross(a.along, b.along)) < 2.01 * PARALLEL
}

fn around(index: &(Vec<u32>, Vec<u32>), face: u32) -> &[u32] {
    let (starts, entries) = index;
    &entries[starts[face as usize] as usize..starts[face as usize + 1] as usize]
}

/// Returns for each seam whether another of one of its faces could belong to the same cylinder; on freeform surfaces hardly
/// ever.
fn goes_on(seams: &[Seam], index: &(Vec<u32>, Vec<u32>)) -> Vec<AtomicBool> {
    let mut goes_on = Vec::new();
    goes_on.resize_with(seams.len(), AtomicBool::default);
    // Face by face, which looks at each seam twice only.
    (0..index.0.len() as u32 - 1).into_par_iter().with_min_len(4096).for_each(|face| {
        let near = around(index, face);
        let known = |s: u32| &goes_on[s as usize];
        for &seed in near.iter().filter(|&&s| !known(s).load(Ordering::Relaxed)) {
            let fitting = |&&s: &&u32| s != seed && fits(&seams[seed as usize], &seams[s as usize]);
            if let Some(&other) = near.iter().find(fitting) {
                known(seed).store(true, Ordering::Relaxed);
                known(other).store(true, Ordering::Relaxed);
            }
        }
    });
    goes_on
}

fn fits(a: &Seam, b: &Seam) -> bool {
    a.hollow == b.hollow && norm(cross(a.along, b.along)) < PARALLEL
}

/// Fits a cylinder to all strips or, where scraps of a neighbouring surface came along, to those that lie on the
/// cylinder of the larger ones.
fn fit_most(mesh: &Mesh, faces: &Faces, strips: &[u32], axis: Vector, hollow: bool) -> Option<Cylinder> {
    if let Some(whole) = fit(mesh, faces, strips, axis, hollow) {
        return Some(whole);
    }
    let area = |f: u32| faces.faces[f as usize].area_mm2;
    let largest = strips.iter().map(|&f| area(f)).fold(0.0, f64::max);
    let large: Vec<u32> = strips.iter().copied().filter(|&f| area(f) >= 0.2 * largest).collect();
    if large.len() < 3 || large.len() == strips.len() {
        return None;
    }
    let core = fit(mesh, faces, &large, axis, hollow)?;
    let on_it = |f: u32| {
        corners(mesh, faces, &[f]).iter().all(|&p| (core.off(p) - core.radius_mm).abs() < ROUND * core.radius_mm)
    };
    let kept: Vec<u32> = strips.iter().copied().filter(|&f| on_it(f)).collect();
    fit(mesh, faces, &kept, axis, hollow)
}

/// Fits a circle to the strips' corners seen along the axis; `None` where they do not lie on one.
pub(super) fn fit(mesh: &Mesh, faces: &Faces, strips: &[u32], axis: Vector, hollow: bool) -> Option<Cylinder> {
    let axis = settle(axis);
    let (u, v) = perpendiculars(axis);
    let corners = edges(mesh, faces, strips, axis);
    let anchor = *corners.first()?;
    let flat: Vec<[f64; 2]> = corners.iter().map(|&p| sub(p, anchor)).map(|p| [dot(p, u), dot(p, v)]).collect();
    let (middle, radius) = circle(&flat)?;
    let worst = flat.iter().map(|p| ((p[0] - middle[0]).hypot(p[1] - middle[1]) - radius).abs()).fold(0.0, f64::max);
    let size = corners.iter().map(|&p| distance(p, anchor)).fold(0.0, f64::max);
    if !radius.is_finite() || worst > ROUND * radius + 1e-6 * size {
        return None;
    }
    let heights: Vec<f64> = corners.iter().map(|&p| dot(sub(p, anchor), axis)).collect();
    let (low, high) = heights.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), &z| (l.min(z), h.max(z)));
    let base = add(add(anchor, scale(u, middle[0])), scale(v, middle[1]));
    let centre = add(base, scale(axis, 0.5 * (low + high)));
    let arc_deg = arc(&flat, middle);
    if arc_deg < LEAST_ARC_DEG {
        return None;
    }
    let slack = 2e-3 * radius + 1e-4 * (high - low);
    let at =
        |height: f64| heights.iter().zip(&flat).filter(move |(z, _)| (**z - height).abs() <= slack).map(|(_, p)| *p);
    let rims = [low, high].map(|height| rim(&at(height).collect::<Vec<_>>(), middle));
    let sides = rims.into_iter().flatten().min().unwrap_or_else(|| sides(faces, strips, u, v));
    Some(Cylinder {
        axis,
        centre,
        radius_mm: radius,
        length_mm: high - low,
        arc_deg,
        sides,
        hollow,
        strips: strips.to_vec(),
    })
}

fn corners(mesh: &Mesh, faces: &Faces, strips: &[u32]) -> Vec<Point> {
    let facets = strips.iter().map(|&f| faces.facets(f as usize));
    let mut ids: Vec<u32> = Vec::with_capacity(3 * facets.clone().map(<[u32]>::len).sum::<usize>());
    for facets in facets {
        facets.iter().for_each(|&t| ids.extend(mesh.triangles[t as usize]));
    }
    ids.sort_unstable();
    ids.dedup();
    ids.into_iter().map(|v| mesh.vertices[v as usize]).collect()
}

/// Returns the corners on the long sides of the strips: what lies between them is on a chord, put there by cutting facets finer,
/// and would make the round smaller than it was drawn.
fn edges(mesh: &Mesh, faces: &Faces, strips: &[u32], axis: Vector) -> Vec<Point> {
    let mut ids: Vec<u32> = Vec::new();
    for &strip in strips {
        let across = cross(faces.faces[strip as usize].normal, axis);
        let mut own: Vec<(f64, u32)> = faces
            .facets(strip as usize)
            .iter()
            .flat_map(|&t| mesh.triangles[t as usize])
            .map(|id| (dot(mesh.vertices[id as usize], across), id))
            .collect();
        let (low, high) = own.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), (s, _)| (l.min(*s), h.max(*s)));
        own.retain(|(s, _)| (s - low).min(high - s) <= ON_THE_SIDE * (high - low));
        ids.extend(own.into_iter().map(|(_, id)| id));
    }
    ids.sort_unstable();
    ids.dedup();
    ids.into_iter().map(|v| mesh.vertices[v as usize]).collect()
}

/// Least-squares circle (Kåsa, IEEE Trans. Instrumentation and Measurement 25, 1976).
pub(crate) fn circle(points: &[[f64; 2]]) -> Option<([f64; 2], f64)> {
    let n = points.len() as f64;
    let mean = points.iter().fold([0.0; 2], |m, p| [m[0] + p[0] / n, m[1] + p[1] / n]);
    let (mut xx, mut xy, mut yy, mut xr, mut yr, mut rr) = (0.0, 0.0, 0.0, 0.0, 0.0, 0.0);
    for p in points {
        let (x, y) = (p[0] - mean[0], p[1] - mean[1]);
        let r = x * x + y * y;
        xx += x * x;
        xy += x * y;
        yy += y * y;
        xr += x * r;
        yr += y * r;
        rr += r;
    }
    let det = xx * yy - xy * xy;
    if det <= 1e-12 * (xx + yy) * (xx + yy) {
        return None;
    }
    let (cx, cy) = (0.5 * (xr * yy - yr * xy) / det, 0.5 * (yr * xx - xr * xy) / det);
    Some(([mean[0] + cx, mean[1] + cy], (cx * cx + cy * cy + rr / n).sqrt()))
}

/// Returns the arc that the corners cover about the middle, in degrees.
fn arc(points: &[[f64; 2]], middle: [f64; 2]) -> f64 {
    let gaps = gaps(points.iter().map(|p| (p[1] - middle[1]).atan2(p[0] - middle[0])).collect());
    let widest = gaps.iter().copied().fold(0.0, f64::max);
    if is_whole(&gaps) { 360.0 } else { (TAU - widest).to_degrees() }
}

/// Whether corners with these gaps go all round: a gap no wider than a side or so is a side, anything wider an opening.
fn is_whole(gaps: &[f64]) -> bool {
    let widest = gaps.iter().copied().fold(0.0, f64::max);
    gaps.len() >= 6 && widest <= 1.75 * median(gaps.to_vec())
}

/// Returns how many corners stand round an end, if they go all round.
fn rim(points: &[[f64; 2]], middle: [f64; 2]) -> Option<usize> {
    let gaps = gaps(points.iter().map(|p| (p[1] - middle[1]).atan2(p[0] - middle[0])).collect());
    is_whole(&gaps).then_some(gaps.len())
}

/// Returns the sides a full turn has, where no end is whole, from the usual turn between the strips' normals: what cuts
/// across the cylinder adds corners, but few directions.
fn sides(faces: &Faces, strips: &[u32], u: Vector, v: Vector) -> usize {
    let area = |f: u32| faces.faces[f as usize].area_mm2;
    let largest = strips.iter().map(|&f| area(f)).fold(0.0, f64::max);
    // Slivers left by crossing features point anywhere.
    let normals = strips.iter().filter(|&&f| area(f) >= 0.2 * largest).map(|&f| faces.faces[f as usize].normal);
    let step = median(gaps(normals.map(|n| dot(n, v).atan2(dot(n, u))).collect()));
    if step > 0.0 { (TAU / step).round().max(3.0) as usize } else { strips.len().max(3) }
}

/// Returns the steps between neighbouring directions around the full turn; directions within 0.1 degree are one.
fn gaps(mut angles: Vec<f64>) -> Vec<f64> {
    angles.sort_by(f64::total_cmp);
    angles.dedup_by(|a, b| (*a - *b).abs() < 2e-3);
    if angles.len() > 1 && angles[0] + TAU - angles[angles.len() - 1] < 2e-3 {
        angles.pop();
    }
    let mut gaps: Vec<f64> = angles.windows(2).map(|w| w[1] - w[0]).collect();
    gaps.push(angles.first().zip(angles.last()).map_or(TAU, |(a, b)| a + TAU - b));
    gaps
}

fn median(mut values: Vec<f64>) -> f64 {
    values.sort_by(f64::total_cmp);
    values.get(values.len() / 2).copied().unwrap_or(0.0)
}

/// Gives the axis a sign of its own (largest component positive) and takes rounding off a file axis.
fn settle(axis: Vector) -> Vector {
    let largest = (0..3).fold(0, |m, k| if axis[k].abs() > axis[m].abs() + 1e-6 { k } else { m });
    let signed = if axis[largest] < 0.0 { scale(axis, -1.0) } else { axis };
    let mut unit = [0.0; 3];
    unit[largest] = 1.0;
    // Adding zero turns minus zero into zero.
    if norm(cross(unit, signed)) < 1e-5 { unit } else { signed.map(|c| c + 0.0) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::adjacency::twins;
    use crate::features::joining::one_surface;
    use crate::pose::facets::FacetTable;

    /// The wall of a bore of 24 sides at both ends, with a ring of corners between that stand half a side further on: its
    /// facets look in twice as many directions as it has sides.
    #[test]
    fn a_round_of_uneven_facets_has_the_sides_of_its_rim() {
        let n = 24;
        let mut mesh = Mesh::default();
        for ring in 0..3_u32 {
            for i in 0..n {
                let angle = TAU * (f64::from(i) + 0.5 * f64::from(ring % 2)) / f64::from(n);
                mesh.vertices.push([4.0 * angle.cos(), 4.0 * angle.sin(), 100.0 * f64::from(ring)]);
            }
        }
        for i in 0..n {
            let at = |ring: u32, i: u32| ring * n + i % n;
            // Inward: the material is outside.
            mesh.triangles.extend([
                [at(0, i), at(1, i), at(0, i + 1)],
                [at(1, i), at(1, i + 1), at(0, i + 1)],
                [at(2, i), at(2, i + 1), at(1, i)],
                [at(2, i + 1), at(1, i + 1), at(1, i)],
            ]);
        }
        let (table, twin) = (FacetTable::new(&mesh, None), twins(&mesh));
        let faces = Faces::new(&mesh, &table, &twin);
        let found = cylinders(&mesh, &faces, &twin);
        assert_eq!(found.len(), 1, "{found:?}");
        assert!(found[0].hollow && (found[0].radius_mm - 4.0).abs() < 1e-9 && found[0].arc_deg == 360.0);
        assert_eq!(found[0].sides, 24);
    }

    /// Facets cut finer put corners on the chords; the round is that of the corners it was drawn with.
    #[test]
    fn a_round_cut_finer_keeps_its_diameter_and_its_sides() {
        let n = 24_u32;
        let mut mesh = Mesh::default();
        let at = |i: u32| {
            let angle = TAU * f64::from(i % n) / f64::from(n);
            [4.0 * angle.cos(), 4.0 * angle.sin()]
        };
        // Corners and the middles of the chords, at both ends and halfway up.
        for z in [0.0, 5.0, 10.0] {
            for i in 0..n {
                let (a, b) = (at(i), at(i + 1));
                mesh.vertices.push([a[0], a[1], z]);
                mesh.vertices.push([0.5 * (a[0] + b[0]), 0.5 * (a[1] + b[1]), z]);
            }
        }
        let id = |ring: u32, i: u32| ring * 2 * n + i % (2 * n);
        for (ring, i) in (0..2).flat_map(|ring| (0..2 * n).map(move |i| (ring, i))) {
            mesh.triangles.push([id(ring, i), id(ring + 1, i), id(ring, i + 1)]);
            mesh.triangles.push([id(ring + 1, i), id(ring + 1, i + 1), id(ring, i + 1)]);
        }
        let (table, twin) = (FacetTable::new(&mesh, None), twins(&mesh));
        let faces = Faces::new(&mesh, &table, &twin);
        let found = cylinders(&mesh, &faces, &twin);
        assert_eq!(found.len(), 1, "{found:?}");
        assert!((found[0].radius_mm - 4.0).abs() < 1e-9, "{}", found[0].radius_mm);
        assert_eq!(found[0].sides, 24);
    }

    /// Every mesh there is: those kept here, the examples', and the shared collection where it is.
    #[expect(clippy::disallowed_methods, reason = "tests look for meshes")]
    fn all_meshes() -> Vec<(String, Mesh)> {
        let root = std::path::Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/../.."));
        let mut folders: Vec<_> = ["tests/meshes", "examples", "../shared/meshes"].map(|f| root.join(f)).to_vec();
        let mut meshes = Vec::new();
        while let Some(folder) = folders.pop() {
            let Ok(entries) = std::fs::read_dir(&folder) else { continue };
            for path in entries.map(|e| e.unwrap().path()) {
                if path.is_dir() {
                    folders.push(path);
                    continue;
                }
                let name = path.file_name().unwrap().to_string_lossy().into_owned();
                let read = crate::read::read(&std::fs::read(&path).unwrap(), &name, None);
                meshes.extend(read.ok().and_then(|r| r.merged()).map(|mesh| (name, mesh)));
            }
        }
        meshes
    }

    /// Rounds grown one after the other, each held against all before it: what the groups and places must come to.
    fn one_by_one(mesh: &Mesh, faces: &Faces, twin: &[u32]) -> Vec<Cylinder> {
        let seams = seams(mesh, faces, twin);
        let index = by_face(&seams, faces.faces.len());
        let walk = Walk::new(&seams, &index, faces.faces.len());
        let mut joined: Vec<Cylinder> = Vec::new();
        for piece in (0..seams.len() as u32).filter_map(|seed| walk.grow(mesh, faces, seed)) {
            let open = |c: &Cylinder| c.arc_deg < 359.0;
            let first = joined.iter().position(|c| open(c) && open(&piece) && one_surface(c, &piece));
            let whole = first.and_then(|i| {
                let mut strips = [joined[i].strips.as_slice(), &piece.strips].concat();
                strips.sort_unstable();
                Some((i, fit(mesh, faces, &strips, joined[i].axis, piece.hollow)?))
            });
            match whole {
                Some((i, whole)) => joined[i] = whole,
                None => joined.push(piece),
            }
        }
        joined
    }

    #[test]
    fn rounds_grown_together_are_those_grown_one_by_one() {
        let (mut found, mut parted) = (0, 0);
        for (name, mesh) in all_meshes() {
            let (table, twin) = (FacetTable::new(&mesh, None), twins(&mesh));
            let faces = Faces::new(&mesh, &table, &twin);
            let together = cylinders(&mesh, &faces, &twin);
            assert!(together == one_by_one(&mesh, &faces, &twin), "{name}");
            found += together.len();
            parted += usize::from(together.len() > 1);
        }
        assert!(found > 20 && parted > 3, "{found} {parted}");
    }
}
