//! Quickhull (C. B. Barber, D. P. Dobkin, H. Huhdanpaa, "The quickhull algorithm for convex hulls", ACM Trans. Math.
//! Software 22(4), 1996).
//!
//! Which side of a facet a point lies on is decided exactly where rounding could decide it (J. R. Shewchuk, "Adaptive
//! precision floating-point arithmetic and fast robust geometric predicates", Discrete Comput. Geom. 18, 1997, by the
//! library `robust`), so the facets a point sees always hang together and their border is one closed row.

use robust::{Coord3D, orient3d};

use crate::health::edges::NONE;
use crate::mesh::{Mesh, Point};
use crate::vector::{Vector, cross, distance, dot, norm, sub};

/// A hull that grows. Points must lie within a unit box around zero, or so: tolerances are absolute.
pub struct Quick<'a> {
    points: &'a [Point],
    /// A point beyond the hull by no more than this adds nothing.
    tolerance: f64,
    facets: Vec<Facet>,
    /// For each point the next one that waits before the same facet, or [`NONE`].
    next: Vec<u32>,
    /// Facets with points waiting before them; some may be gone by now.
    waiting: Vec<u32>,
    /// For each point the new facet whose border edge starts there; only right during one step.
    starting: Vec<u32>,
}

/// One facet of the hull, counter-clockwise seen from outside.
struct Facet {
    corners: [u32; 3],
    /// The facet across each side, from corner `k` to the next.
    across: [u32; 3],
    /// Outward, of any length.
    normal: Vector,
    length: f64,
    /// What rounding can add to a point's height over the facet (times `length`).
    doubt: f64,
    /// The first point that waits before this facet, the farthest one, and its distance.
    first: u32,
    farthest: u32,
    reach: f64,
    gone: bool,
}

impl<'a> Quick<'a> {
    /// Begins with a tetrahedron of some of the points at `seeds`, and takes the others in. `None` where they span no
    /// volume.
    pub fn new(points: &'a [Point], seeds: &[u32], tolerance: f64) -> Option<Self> {
        let simplex = simplex(points, seeds)?;
        let mut hull = Self {
            points,
            tolerance,
            facets: Vec::new(),
            next: vec![NONE; points.len()],
            waiting: Vec::new(),
            starting: vec![NONE; points.len()],
        };
        let [a, b, c, d] = simplex;
        // Across side k of each facet lies the one that has the same two corners the other way round.
        for (corners, across) in
            [([a, b, c], [1, 2, 3]), ([b, a, d], [0, 3, 2]), ([c, b, d], [0, 1, 3]), ([a, c, d], [0, 2, 1])]
        {
            let facet = hull.facet(corners, across);
            hull.facets.push(facet);
        }
        for &p in seeds.iter().filter(|p| !simplex.contains(p)) {
            hull.wait_at_any(p, 0..4);
        }
        hull.grow();
        Some(hull)
    }

    /// Returns the number of facets made so far; those no longer part of the hull are among them.
    pub fn made(&self) -> usize {
        self.facets.len()
    }

    /// Returns a facet's outward normal and its corners, if it is part of the hull.
    pub fn plane(&self, facet: usize) -> Option<(Vector, [Point; 3])> {
        let f = &self.facets[facet];
        (!f.gone).then(|| (f.normal, f.corners.map(|v| self.points[v as usize])))
    }

    /// Lets a point wait before a facet that it lies beyond; taken in by [`Self::grow`].
    ///
    /// Returns false, and leaves the point out, where it does not lie beyond it.
    pub fn wait_at(&mut self, p: u32, facet: usize) -> bool {
        let reach = self.beyond(facet, p);
        if let Some(reach) = reach {
            self.enqueue(p, facet, reach);
        }
        reach.is_some()
    }

    /// Lets a point wait before the first facet that it lies beyond, if there is one.
    pub fn wait_anywhere(&mut self, p: u32) {
        let there = (0..self.facets.len()).filter(|&f| !self.facets[f].gone);
        if let Some((facet, reach)) = there.into_iter().find_map(|f| self.beyond(f, p).map(|reach| (f, reach))) {
            self.enqueue(p, facet, reach);
        }
    }

    /// Takes in all points that wait.
    pub fn grow(&mut self) {
        let mut seen = Vec::new();
        let mut border = Vec::new();
        while let Some(facet) = self.waiting.pop() {
            let f = &self.facets[facet as usize];
            if !f.gone && f.first != NONE {
                self.take_in(f.farthest, facet, &mut seen, &mut border);
            }
        }
    }

    /// Returns the hull's corners, in the order of the points, and its triangles.
    pub fn mesh(&self) -> Mesh {
        let mut number = vec![NONE; self.points.len()];
        let left = || self.facets.iter().filter(|f| !f.gone);
        left().flat_map(|f| f.corners).for_each(|v| number[v as usize] = 0);
        let mut mesh = Mesh::default();
        for (number, &p) in number.iter_mut().zip(self.points).filter(|(n, _)| **n != NONE) {
            *number = mesh.vertices.len() as u32;
            mesh.vertices.push(p);
        }
        mesh.triangles = left().map(|f| f.corners.map(|v| number[v as usize])).collect();
        mesh
    }

    fn facet(&self, corners: [u32; 3], across: [u32; 3]) -> Facet {
        let [a, b, c] = corners.map(|v| self.points[v as usize]);
        let (ab, ac) = (sub(b, a), sub(c, a));
        let normal = cross(ab, ac);
        // Each product of the normal rounds by one part in 2^53, each difference before it too, and what the normal is
        // multiplied with is no longer than the diagonal of the box.
        let doubt = 32.0 * f64::EPSILON * norm(ab) * norm(ac);
        let length = norm(normal);
        Facet { corners, across, normal, length, doubt, first: NONE, farthest: NONE, reach: 0.0, gone: false }
    }

    #[inline]
    fn height(&self, facet: usize, p: u32) -> f64 {
        let f = &self.facets[facet];
        dot(f.normal, sub(self.points[p as usize], self.points[f.corners[0] as usize]))
    }

    /// Whether a point sees a facet from outside: exact.
    #[inline]
    fn sees(&self, facet: usize, p: u32) -> bool {
        let (height, doubt) = (self.height(facet, p), self.facets[facet].doubt);
        if height.abs() > doubt { height > 0.0 } else { self.sees_exactly(facet, p) }
    }

    #[cold]
    fn sees_exactly(&self, facet: usize, p: u32) -> bool {
        let coord = |v: u32| {
            let [x, y, z] = self.points[v as usize];
            Coord3D { x, y, z }
        };
        let [a, b, c] = self.facets[facet].corners.map(coord);
        orient3d(a, b, c, coord(p)) < 0.0
    }

    /// Returns how far beyond a facet a point lies, where that is more than the tolerance.
    #[inline]
    fn beyond(&self, facet: usize, p: u32) -> Option<f64> {
        let (height, f) = (self.height(facet, p), &self.facets[facet]);
        let out = height > self.tolerance * f.length && (height > f.doubt || self.sees_exactly(facet, p));
        out.then(|| height / f.length)
    }

    fn wait_at_any(&mut self, p: u32, mut facets: std::ops::Range<usize>) {
        if let Some((facet, reach)) = facets.find_map(|f| self.beyond(f, p).map(|reach| (f, reach))) {
            self.enqueue(p, facet, reach);
        }
    }

    fn enqueue(&mut self, p: u32, facet: usize, reach: f64) {
        let f = &mut self.facets[facet];
        if f.first == NONE {
            self.waiting.push(facet as u32);
        }
        self.next[p as usize] = f.first;
        f.first = p;
        if reach > f.reach {
            (f.reach, f.farthest) = (reach, p);
        }
    }

    /// Replaces the facets that `p` sees by new ones from their border to `p`.
    fn take_in(&mut self, p: u32, facet: u32, seen: &mut Vec<u32>, border: &mut Vec<(u32, u32)>) {
        self.look_around(p, facet, seen, border);
        let made = self.facets.len();
        for &(inside, side) in border.iter() {
            let old = &self.facets[inside as usize];
            let (from, to) = (old.corners[side as usize], old.corners[(side as usize + 1) % 3]);
            let outside = old.across[side as usize];
            let number = self.facets.len() as u32;
            let new = self.facet([from, to, p], [outside, NONE, NONE]);
            self.facets.push(new);
            self.starting[from as usize] = number;
            let back = self.facets[outside as usize].corners.iter().position(|&v| v == to);
            if let Some(k) = back {
                self.facets[outside as usize].across[k] = number;
            }
        }
        // The border is one closed row, so each of its points starts one edge and ends one.
        for number in made..self.facets.len() {
            let after = self.starting[self.facets[number].corners[1] as usize];
            self.facets[number].across[1] = after;
            self.facets[after as usize].across[2] = number as u32;
        }
        for &old in seen.iter() {
            let mut waits = self.facets[old as usize].first;
            while waits != NONE {
                let following = self.next[waits as usize];
                if waits != p {
                    self.wait_at_any(waits, made..self.facets.len());
                }
                waits = following;
            }
        }
    }

    /// Collects the facets that `p` sees, from `facet` on, marks them gone, and lists the sides that end them.
    fn look_around(&mut self, p: u32, facet: u32, seen: &mut Vec<u32>, border: &mut Vec<(u32, u32)>) {
        seen.clear();
        border.clear();
        seen.push(facet);
        self.facets[facet as usize].gone = true;
        let mut done = 0;
        while let Some(&inside) = seen.get(done) {
            done += 1;
            for side in 0..3 {
                let other = self.facets[inside as usize].across[side as usize];
                if self.facets[other as usize].gone {
                    continue;
                }
                if self.sees(other as usize, p) {
                    self.facets[other as usize].gone = true;
                    seen.push(other);
                } else {
                    border.push((inside, side));
                }
            }
        }
    }
}

/// Returns four points that span a good part of the volume, the first three counter-clockwise seen from outside.
fn simplex(points: &[Point], seeds: &[u32]) -> Option<[u32; 4]> {
    let at = |v: u32| points[v as usize];
    let farthest = |measure: &dyn Fn(Point) -> f64| {
        let mut best: Option<(f64, u32)> = None;
        for &v in seeds {
            let m = measure(at(v));
            if best.is_none_or(|(most, _)| m > most) {
                best = Some((m, v));
            }
        }
        best
    };
    let extremes = (0..3).map(|k| {
        let (low, high) = (farthest(&|p| -p[k])?, farthest(&|p| p[k])?);
        Some((distance(at(low.1), at(high.1)), low.1, high.1))
    });
    let (length, a, b) = extremes.flatten().fold((0.0, 0, 0), |best, now| if now.0 > best.0 { now } else { best });
    let run = sub(at(b), at(a));
    let (area, c) = farthest(&|p| norm(cross(run, sub(p, at(a)))))?;
    let normal = cross(run, sub(at(c), at(a)));
    let (volume, d) = farthest(&|p| dot(normal, sub(p, at(a))).abs())?;
    // Thinner than the rounding of a file's 32-bit numbers: no volume.
    let flat = |height: f64| height.is_nan() || height <= 1e-9;
    if flat(length) || flat(area / length) || flat(volume / area) {
        return None;
    }
    Some(if dot(normal, sub(at(d), at(a))) > 0.0 { [a, c, b, d] } else { [a, b, c, d] })
}
