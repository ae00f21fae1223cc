//! The path a load takes through the body of a part, from where it acts to where the part is held.
//!
//! Straight where the material reaches all along; else round through the body: a short path over the surface, drawn into
//! the middle of the sections square to it.

use super::{Cut, Cutter, Place};
use crate::geometry::anchor::{Anchor, along_surface, within};
use crate::geometry::mesh::{Mesh, Point};
use crate::geometry::vector::{Vector, add, cross, distance, dot, norm, normalise, scale, sub};

/// Places along the path.
const CUTS: usize = 24;
/// How often what lies between two neighbours of very unlike area is halved: to a thirtieth of their distance.
const HALVINGS: usize = 5;
/// How unlike, and in how many places at most.
const UNLIKE: f64 = 1.25;
const STEPS: usize = 4;
/// How far, degrees, the best plane so far is leant about either axis of its section to find a smaller one: to within 2° of
/// square, where it is a thousandth too large.
const LEANS: [f64; 4] = [15.0, 7.5, 4.0, 2.0];
/// How many planes are tried, smallest first, whether they part hold and load.
const TRIED: usize = 5;
/// How far planes keep from hold and load, in halves of the section's thickness: as far as can be.
const DISTANCES: [f64; 3] = [1.0, 0.5, 0.2];
/// Just off the hold.
const ROOT: f64 = 1e-3;

/// A place along the path.
#[derive(Debug, Clone)]
pub(super) struct Stop {
    /// Share of the path from the hold (0) to the load (1).
    pub share: f64,
    /// The cut, and where it faces.
    pub normal: Vector,
    pub cut: Cut,
    /// Where the path runs slantwise through a limb: the cut square to the limb.
    pub limb: Option<(Vector, Cut)>,
}

/// What the path is looked for in.
pub(super) struct Body<'m, C> {
    pub mesh: &'m Mesh,
    pub ends: [Vec<Anchor>; 2],
    /// Where hold and load are, from which planes keep a distance.
    pub places: [Point; 2],
    pub cutter: C,
}

/// A line of points, and how far along it each of them is.
struct Line {
    points: Vec<Point>,
    far: Vec<f64>,
}

impl Line {
    fn through(points: Vec<Point>) -> Self {
        let mut far = vec![0.0];
        for w in points.windows(2) {
            far.push(far.last().copied().unwrap_or(0.0) + distance(w[0], w[1]));
        }
        Self { points, far }
    }

    fn length(&self) -> f64 {
        self.far.last().copied().unwrap_or(0.0)
    }

    /// Returns the point a share of the path along.
    fn at(&self, share: f64) -> Point {
        let far = share.clamp(0.0, 1.0) * self.length();
        let i = self.far.partition_point(|f| *f <= far).clamp(1, self.points.len().max(2) - 1);
        let (Some(&p), Some(&q)) = (self.points.get(i - 1), self.points.get(i)) else {
            return self.points.first().copied().unwrap_or_default();
        };
        let long = self.far[i] - self.far[i - 1];
        add(p, scale(sub(q, p), if long > 0.0 { (far - self.far[i - 1]) / long } else { 0.0 }))
    }
}

impl<C: Cutter> Body<'_, C> {
    /// Returns the places along the path; `None` where no path leads through the material, or too little of it can be cut.
    pub(super) fn stops(&self, hold: &Place, point: Point) -> Option<Vec<Stop>> {
        let [Some(from), Some(to)] = [self.ends[0].first(), self.ends[1].first()] else { return None };
        let single = self.ends.iter().all(|end| end.len() == 1);
        if single && within(self.mesh, [from, to]) { self.straight(hold, point) } else { self.round(from, to) }
    }

    /// Follows the body: at each place of a path over the surface, the smallest section through it is that of the limb.
    fn round(&self, from: &Anchor, to: &Anchor) -> Option<Vec<Stop>> {
        let line = Line::through(along_surface(self.mesh, from, to)?);
        let stop = |share: f64, distance: f64| {
            let (normal, cut) = self.across_limb(line.at(share), None, distance)?;
            Some(Stop { share, normal, cut, limb: None })
        };
        // Close to hold and load nothing can be cut; but a path of which more than three quarters cannot is not known. A
        // stubby part is all close to them.
        DISTANCES.iter().find_map(|&distance| {
            let found: Vec<Stop> = shares().filter_map(|share| stop(share, distance)).collect();
            (found.len() * 4 >= CUTS).then(|| with_steps(found, |share| stop(share, distance)))
        })
    }

    /// Returns the smallest section through a point that parts hold and load; `first` is a plane to begin from.
    fn across_limb(&self, at: Point, first: Option<Vector>, distance: f64) -> Option<(Vector, Cut)> {
        let look = |normal: Vector| self.cutter.local(at, normal).filter(Cut::is_whole).map(|cut| (normal, cut));
        let keep = |(normal, cut): &(Vector, Cut)| self.keeps_off(*normal, cut, distance);
        let mut found: Vec<(Vector, Cut)> = first.into_iter().chain(all_ways()).filter_map(look).filter(keep).collect();
        found.sort_by(|a, b| a.1.area_mm2.total_cmp(&b.1.area_mm2));
        let parts = |normal: Vector| self.cutter.between(at, normal, &self.ends).filter(Cut::is_whole);
        let (rough, mut best) = found.into_iter().take(TRIED).find_map(|found| Some((parts(found.0)?, found)))?;
        let first = best.0;
        for lean in LEANS {
            for k in 0..2 {
                let leant = [lean, -lean].map(|l| leant(best.0, best.1.axes[k], l.to_radians()));
                for found in leant.into_iter().filter_map(look).filter(keep) {
                    if found.1.area_mm2 < best.1.area_mm2 {
                        best = found;
                    }
                }
            }
        }
        Some(parts(best.0).map_or((first, rough), |cut| (best.0, cut)))
    }

    /// Returns whether a plane is far enough from hold and load: close to them it would cut off a corner of the part, where
    /// beam theory says nothing (Saint-Venant).
    fn keeps_off(&self, normal: Vector, cut: &Cut, distance: f64) -> bool {
        let thin = distance * cut.reach_mm[0].min(cut.reach_mm[1]);
        let met = self.ends.iter().flatten().map(|a| a.point);
        self.places.into_iter().chain(met).all(|p| dot(sub(p, cut.centroid), normal).abs() >= thin)
    }

    fn straight(&self, hold: &Place, point: Point) -> Option<Vec<Stop>> {
        let (from, normal) = match hold {
            Place::Patch(p) => (p.centre, Some(p.normal)),
            Place::Point(p) => (*p, None),
        };
        let path = sub(point, from);
        if norm(path) < 1e-6 {
            return None;
        }
        // Square to the hold's face where the part leaves it squarely, else square to the path.
        let (along, squarely) = match normal {
            Some(n) if dot(normalise(path), n).abs() > 0.8 => (scale(n, dot(path, n).signum()), true),
            _ => (normalise(path), false),
        };
        let stop = |share: f64| {
            let at = add(from, scale(path, share));
            let cut = self.cutter.between(at, along, &self.ends).filter(Cut::is_whole)?;
            let limb = self
                .across_limb(at, Some(along), DISTANCES[0])
                .filter(|(_, limb)| limb.area_mm2 < SMALLER * cut.area_mm2);
            Some(Stop { share, normal: along, cut, limb })
        };
        let found: Vec<Stop> = shares().filter_map(stop).collect();
        if found.is_empty() {
            return None;
        }
        // What leaves a face squarely is strained most right at it.
        let root = squarely.then(|| stop(ROOT)).flatten();
        Some(with_steps(root.into_iter().chain(found).collect(), stop))
    }
}

/// A section across the limb counts beside the one across the path where it is smaller than by rounding.
const SMALLER: f64 = 0.999;

/// The thirteen directions to the faces, edges and corners of a cube: no direction is more than 28° from one of them.
fn all_ways() -> impl Iterator<Item = Vector> {
    let all = (-1..=1).flat_map(|x| (-1..=1).flat_map(move |y| (-1..=1).map(move |z| [x, y, z])));
    all.filter(|d| *d > [0, 0, 0]).map(|d| normalise(d.map(f64::from)))
}

/// Returns a unit vector turned about an axis that is square to it, or nearly so.
fn leant(normal: Vector, axis: Vector, angle: f64) -> Vector {
    normalise(add(scale(normal, angle.cos()), scale(cross(axis, normal), angle.sin())))
}

fn shares() -> impl Iterator<Item = f64> {
    (0..CUTS).map(|i| (i as f64 + 0.5) / CUTS as f64)
}

/// Adds, where the section changes abruptly from one place to the next, the place where it does: the root of an arm.
fn with_steps(stops: Vec<Stop>, at: impl Fn(f64) -> Option<Stop>) -> Vec<Stop> {
    let unlike = |a: &Stop, b: &Stop| {
        let (a, b) = (a.cut.area_mm2, b.cut.area_mm2);
        a.max(b) / a.min(b)
    };
    let mut steps: Vec<usize> =
        (0..stops.len().saturating_sub(1)).filter(|&i| unlike(&stops[i], &stops[i + 1]) > UNLIKE).collect();
    steps.sort_by(|&i, &j| {
        unlike(&stops[j], &stops[j + 1]).total_cmp(&unlike(&stops[i], &stops[i + 1])).then(i.cmp(&j))
    });
    steps.truncate(STEPS);
    let mut found = Vec::new();
    for i in steps {
        let (mut low, mut high) = (stops[i].clone(), stops[i + 1].clone());
        for _ in 0..HALVINGS {
            let Some(middle) = at((low.share + high.share) / 2.0) else { break };
            if unlike(&low, &middle) > unlike(&middle, &high) { high = middle } else { low = middle }
        }
        found.extend([low, high].into_iter().filter(|s| s.share != stops[i].share && s.share != stops[i + 1].share));
    }
    let mut all: Vec<Stop> = stops.into_iter().chain(found).collect();
    all.sort_by(|a, b| a.share.total_cmp(&b.share));
    all
}
