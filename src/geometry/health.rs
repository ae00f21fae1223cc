//! Whether a mesh describes a solid, and what is wrong with it where it does not.
//!
//! Everything is reported with a count and one place; nothing is repaired. What the defects withhold (a volume, for
//! one) the measurements say themselves.

use std::sync::Arc;

use rayon::prelude::*;

use super::bounds::Bounds;
use super::mass::{Sums, sums_of_shells};
use super::mesh::{Mesh, Point};
use super::tree::{Boxes, Tree};
use super::vector::{add, cross, dot, norm, scale, sub};
use cracks::Cracks;
use crossings::Crossings;
use edges::{Corners, NONE, Shells, Topology};

mod cracks;
mod crossings;
pub(crate) mod edges;
mod nesting;

/// Kinds of defect.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum DefectKind {
    /// An edge that one facet alone uses; counted are edges.
    OpenEdge,
    /// An open edge that would close if points within a small distance were joined.
    Crack,
    /// An open edge that would close if it were split at points that lie on it, or a piece of such an edge.
    TJunction,
    /// An edge that three or more facets use.
    NonManifoldEdge,
    /// A vertex at which facets meet in more than one fan.
    NonManifoldVertex,
    /// A facet wound against the others of its shell.
    Flipped,
    /// A shell that cannot be wound alike throughout (a one-sided surface); counted are shells.
    OneSided,
    /// A facet that stands there twice or more; counted are the copies beyond the first.
    DuplicateFacet,
    /// A facet without area.
    DegenerateFacet,
    /// Two facets that cross; counted are pairs.
    SelfIntersection,
    /// Two shells that cross; counted are pairs of shells.
    ShellOverlap,
    /// A closed shell that faces the wrong way.
    InsideOut,
    /// A closed shell inside another that faces the same way: material within material.
    NestedShell,
    /// A shell too small to be printed beside a far larger one.
    Speck,
}

impl DefectKind {
    /// Returns the kind's stable name, as in JSON.
    pub fn name(self) -> &'static str {
        match self {
            Self::OpenEdge => "open-edge",
            Self::Crack => "crack",
            Self::TJunction => "t-junction",
            Self::NonManifoldEdge => "non-manifold-edge",
            Self::NonManifoldVertex => "non-manifold-vertex",
            Self::Flipped => "flipped",
            Self::OneSided => "one-sided",
            Self::DuplicateFacet => "duplicate-facet",
            Self::DegenerateFacet => "degenerate-facet",
            Self::SelfIntersection => "self-intersection",
            Self::ShellOverlap => "shell-overlap",
            Self::InsideOut => "inside-out",
            Self::NestedShell => "nested-shell",
            Self::Speck => "speck",
        }
    }

    /// Returns what the kind means to whoever has to mend it in the model, in words.
    pub fn means(self) -> &'static str {
        match self {
            Self::OpenEdge => "the surface has a hole here; close it in the model, then export again",
            Self::Crack => "two edges do not quite meet; join them in the model, or export with finer points",
            Self::TJunction => "a corner lies on another facet's edge; split that edge there",
            Self::NonManifoldEdge => {
                "more than two facets meet; unite the touching bodies, or take out the wall without thickness"
            }
            Self::NonManifoldVertex => "solids touch in a point only; let them overlap, or part them",
            Self::Flipped => "facets face the wrong way; turn their normals round",
            Self::OneSided => "the surface has no inside; model it as a solid",
            Self::DuplicateFacet => "facets lie on one another; delete what is double, or unite the touching bodies",
            Self::DegenerateFacet => "facets without area; they seldom matter, a fresh export may leave them out",
            Self::SelfIntersection => "surfaces cross; unite the bodies in the model",
            Self::ShellOverlap => "bodies run into one another; unite them in the model",
            Self::InsideOut => "a body faces inward; turn its normals round",
            Self::NestedShell => {
                "material within material; take the inner body out, or turn it round if it is a hollow"
            }
            Self::Speck => "a scrap too small to print; delete it",
        }
    }
}

/// A kind of defect, how often it occurs and where first (by facet order).
#[derive(Debug, Clone, PartialEq)]
pub struct Defect {
    /// What is wrong.
    pub kind: DefectKind,
    /// Edges, facets or shells with it, whichever the kind is of.
    pub count: usize,
    /// The first place by facet order, in part axes, mm.
    pub at: Point,
    /// What more there is to say, in words; may be empty.
    pub detail: String,
}

impl Defect {
    /// Returns what more there is to say of it or, without that, what its kind means.
    pub fn words(&self) -> &str {
        if self.detail.is_empty() { self.kind.means() } else { &self.detail }
    }
}

/// A set of facets that hang together by their edges.
#[derive(Debug, Clone, PartialEq)]
pub struct Shell {
    /// Facets in it.
    pub triangles: usize,
    /// Whether every edge of the shell is passed as often one way as the other.
    pub closed: bool,
    /// Signed: negative where the shell faces inward, as a cavity does. `None` for an open or unevenly wound shell.
    pub volume_mm3: Option<f64>,
    /// Of its surface, mm².
    pub area_mm2: f64,
    /// Box around it, mm.
    pub bounds: Bounds,
    /// Whether it faces the wrong way for where it lies.
    pub inside_out: bool,
    /// Whether it lies within material and adds nothing (see [`DefectKind::NestedShell`]).
    pub redundant: bool,
    /// The innermost closed shell around it.
    pub contained_in: Option<usize>,
    /// How many closed shells lie around it.
    pub depth: usize,
    /// The number of handles (through holes) of a faultless closed shell; `None` for others.
    pub genus: Option<usize>,
}

/// A reason to doubt the unit or the scale.
#[derive(Debug, Clone, PartialEq)]
pub struct ScaleDoubt {
    /// What is odd about the size.
    pub kind: ScaleDoubtKind,
    /// One line for a person, with the sizes and what unit may be meant.
    pub message: String,
}

/// Kinds of doubt about scale.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum ScaleDoubtKind {
    /// No length of a part that can be printed (below 0.001 mm or above a kilometre).
    AbsurdSize,
    /// So small that the numbers may be inches, centimetres or metres.
    PerhapsLargerUnit,
    /// So large that the numbers may be micrometres, or the part no desk-side printer's.
    PerhapsSmallerUnit,
    /// So far from the origin that 32-bit coordinates lose detail.
    FarFromOrigin,
}

impl ScaleDoubtKind {
    /// Returns the kind's stable name.
    pub fn name(self) -> &'static str {
        match self {
            Self::AbsurdSize => "absurd-size",
            Self::PerhapsLargerUnit => "perhaps-larger-unit",
            Self::PerhapsSmallerUnit => "perhaps-smaller-unit",
            Self::FarFromOrigin => "far-from-origin",
        }
    }
}

/// The state of a mesh.
#[derive(Debug, Clone, PartialEq)]
pub struct Health {
    /// Whether every edge joins exactly two facets (facets without area left out where that closes the mesh).
    pub closed: bool,
    /// Whether all facets of each shell are wound alike.
    pub oriented: bool,
    /// Whether every closed shell faces as its place demands.
    pub outward: bool,
    /// The distance within which points must be taken as one for the mesh to enclose something: 0 for a mesh closed as
    /// it stands, `None` for one with true openings.
    pub closes_within_mm: Option<f64>,
    /// In the order of [`DefectKind`], each kind once.
    pub defects: Vec<Defect>,
    /// In the order of their first facets.
    pub shells: Vec<Shell>,
    /// The sums each shell adds to the mass properties, about the middle of the bounds of all vertices.
    pub(crate) sums: Vec<Sums>,
    /// The shell of each facet; `u32::MAX` for facets without area that were left out.
    pub shell_of: Vec<u32>,
    /// Pairs of shells that cross, lower number first.
    pub crossing_shells: Vec<(u32, u32)>,
    /// Empty where nothing is odd about the size.
    pub doubts: Vec<ScaleDoubt>,
    /// Searches given up because of their cost, in words; empty as a rule.
    pub not_searched: Vec<String>,
}

impl Health {
    /// Returns whether the mesh encloses a volume that can be told: closed (touching edges and cracks allowed), evenly
    /// wound, facing right, and of bodies that do not cross.
    pub fn bounds_a_solid(&self) -> bool {
        self.closes_within_mm.is_some()
            && self.oriented
            && !self.has(DefectKind::InsideOut)
            && !self.has(DefectKind::ShellOverlap)
    }

    /// Returns whether there is a defect of that kind.
    pub fn has(&self, kind: DefectKind) -> bool {
        self.defect(kind).is_some()
    }

    /// Returns the defect of that kind, if the mesh has it.
    pub fn defect(&self, kind: DefectKind) -> Option<&Defect> {
        self.defects.iter().find(|d| d.kind == kind)
    }
}

/// A facet less high than this part of its longest side has no area to speak of (a file's 32-bit numbers resolve no
/// more).
const LEAST_HEIGHT: f64 = 1e-6;

/// Examines a mesh. Indices must be in range and coordinates finite, as the readers guarantee.
pub fn examine(mesh: &Mesh) -> Health {
    let (connected, (tree, boxes)) = rayon::join(|| Connected::new(mesh), || Tree::with_boxes(mesh));
    examine_connected(mesh, &connected, &tree, boxes)
}

/// Which facet meets which, found before all else.
pub(crate) struct Connected {
    /// Facets without area.
    flat: Vec<u32>,
    topology: Topology,
    /// Facets that take no part.
    left_out: Vec<u32>,
    grouped: Shells,
}

impl Connected {
    pub(crate) fn new(mesh: &Mesh) -> Self {
        let facets = (0..mesh.triangles.len() as u32).into_par_iter().with_min_len(4096);
        let flat: Vec<u32> = facets.filter(|&t| is_flat(mesh, t as usize)).collect();
        let (topology, left_out) = connect(mesh, &flat);
        let grouped = edges::shells(mesh, &topology, |t| takes_part(&left_out, t));
        Self { flat, topology, left_out, grouped }
    }

    /// Returns what [`super::adjacency::twins`] finds, where that is the same: only folded facets take no part.
    pub(crate) fn twins(&self, mesh: &Mesh) -> Option<Arc<Vec<u32>>> {
        self.left_out.iter().all(|&t| is_folded(mesh, t)).then(|| self.topology.twin.clone())
    }
}

#[inline]
fn takes_part(left_out: &[u32], t: usize) -> bool {
    left_out.is_empty() || left_out.binary_search(&(t as u32)).is_err()
}

/// Examines a mesh of which much is known; `boxes` are let go as soon as possible.
pub(crate) fn examine_connected(mesh: &Mesh, connected: &Connected, tree: &Tree, boxes: Boxes) -> Health {
    let Connected { flat, topology, left_out, grouped } = connected;
    let bounds = Bounds::of(mesh.vertices.iter().copied());
    let counts: &(dyn Fn(usize) -> bool + Sync) = &|t| takes_part(left_out, t);
    let cracks = cracks::sort_out(mesh, &topology.open);
    let crossings = crossings::search(mesh, (tree, &boxes), counts, &grouped.of, rounding(&bounds));
    drop(boxes);
    let corners = Corners::new(mesh, counts);
    let sums = sums_of_shells(mesh, &grouped.of, grouped.count, bounds.centre());
    let mut shells = describe_shells(mesh, topology, grouped, &corners, &sums);
    nesting::nest(mesh, tree, &grouped.of, &mut shells);

    let mut finder = Finder { mesh, defects: Vec::new() };
    finder.edges(topology, &cracks);
    finder.vertices(topology, &corners, counts);
    finder.facets(topology, grouped, flat);
    finder.crossings(&crossings);
    finder.shells(&shells, grouped);

    let balanced = topology.crowded.iter().all(edges::CrowdedEdge::is_balanced);
    let oriented = topology.flipped.is_empty() && grouped.one_sided.iter().all(|odd| !odd);
    let defects = finder.finish();
    Health {
        closed: topology.open.is_empty() && topology.crowded.is_empty() && !mesh.triangles.is_empty(),
        oriented,
        outward: shells.iter().all(|s| !s.inside_out),
        closes_within_mm: closes_within(mesh, topology, &cracks, balanced),
        defects,
        shells,
        sums,
        shell_of: grouped.of.clone(),
        crossing_shells: crossings.shells.iter().copied().collect(),
        doubts: doubts(&bounds),
        not_searched: not_searched(&cracks, &crossings),
    }
}

fn closes_within(mesh: &Mesh, topology: &Topology, cracks: &Cracks, balanced: bool) -> Option<f64> {
    if mesh.triangles.is_empty() || !balanced || !cracks.left.is_empty() {
        None
    } else if topology.open.is_empty() {
        Some(0.0)
    } else {
        Some(cracks.tolerance_mm)
    }
}

fn not_searched(cracks: &Cracks, crossings: &Crossings) -> Vec<String> {
    let mut texts = Vec::new();
    if cracks.given_up {
        texts.push("too many open edges to look for cracks and T-junctions among them".to_owned());
    }
    if crossings.given_up {
        texts.push("too many facets lie in one another's way to find all that cross; the count is a part".to_owned());
    }
    texts
}

/// Connects the facets. Those without area take part where the mesh needs them (they fill T-junctions), and are left
/// out where they spoil it.
fn connect(mesh: &Mesh, flat: &[u32]) -> (Topology, Vec<u32>) {
    let folded: Vec<u32> = flat.iter().copied().filter(|&t| is_folded(mesh, t)).collect();
    let without = |list: &[u32]| Topology::new(mesh, |t| list.is_empty() || list.binary_search(&(t as u32)).is_err());
    let with_flat = without(&folded);
    let faults = |t: &Topology| t.open.len() + t.crowded.len();
    if faults(&with_flat) == 0 || flat.len() == folded.len() {
        return (with_flat, folded);
    }
    let without_flat = without(flat);
    if faults(&without_flat) < faults(&with_flat) { (without_flat, flat.to_vec()) } else { (with_flat, folded) }
}

/// Whether two corners of a facet are one.
fn is_folded(mesh: &Mesh, t: u32) -> bool {
    let [a, b, c] = mesh.triangles[t as usize];
    a == b || b == c || c == a
}

/// Returns whether a facet has no area to speak of.
pub(crate) fn is_flat(mesh: &Mesh, t: usize) -> bool {
    let [a, b, c] = mesh.corners(t);
    let (ab, ac, bc) = (sub(b, a), sub(c, a), sub(c, b));
    let longest2 = dot(ab, ab).max(dot(ac, ac)).max(dot(bc, bc));
    let n = cross(ab, ac);
    // Height = |n| / longest; compared as squares. Written so that underflow (tiny meshes) does not make all flat.
    if longest2 > 1e-70 { dot(n, n) <= (LEAST_HEIGHT * longest2).powi(2) } else { norm(scale(n, 1e140)) == 0.0 }
}

/// Returns how far rounding to 32-bit numbers can move a point of the mesh, with a margin, mm.
fn rounding(bounds: &Bounds) -> f64 {
    let largest = bounds.min.iter().chain(&bounds.max).fold(0.0_f64, |m, c| m.max(c.abs()));
    8.0 * f64::from(f32::EPSILON) * largest
}

fn describe_shells(mesh: &Mesh, topology: &Topology, grouped: &Shells, corners: &Corners, sums: &[Sums]) -> Vec<Shell> {
    let count = grouped.count;
    let (mut triangles, mut boxes) = (vec![0; count], vec![Bounds::EMPTY; count]);
    for (t, &shell) in grouped.of.iter().enumerate() {
        if shell != NONE {
            triangles[shell as usize] += 1;
            if count > 1 {
                for p in mesh.corners(t) {
                    boxes[shell as usize].include(p);
                }
            }
        }
    }
    if let [only] = boxes.as_mut_slice() {
        *only = Bounds::of(mesh.vertices.iter().copied());
    }
    let (closed, uneven, crowded) = shell_faults(mesh, topology, grouped);
    let vertices = if count == 1 { vec![corners.vertices()] } else { vertices_of_shells(mesh, grouped) };
    (0..count)
        .map(|s| {
            let sound = closed[s] && !uneven[s];
            // Euler's formula with E = 3F/2: V - F/2 = 2 - 2g.
            let euler = vertices[s] as i64 - triangles[s] as i64 / 2;
            let genus = (sound && !crowded[s] && euler <= 2 && euler % 2 == 0).then_some(((2 - euler) / 2) as usize);
            Shell {
                triangles: triangles[s],
                closed: closed[s],
                volume_mm3: sound.then_some(sums[s].volume),
                area_mm2: sums[s].area,
                bounds: boxes[s],
                inside_out: false,
                redundant: false,
                contained_in: None,
                depth: 0,
                genus,
            }
        })
        .collect()
}

/// Returns for each shell: closed, unevenly wound, touching a crowded edge.
fn shell_faults(mesh: &Mesh, topology: &Topology, grouped: &Shells) -> (Vec<bool>, Vec<bool>, Vec<bool>) {
    let shell = |half: u32| grouped.of[half as usize / 3] as usize;
    let mut closed = vec![true; grouped.count];
    let mut uneven = grouped.one_sided.clone();
    let mut crowded = vec![false; grouped.count];
    for &half in &topology.open {
        closed[shell(half)] = false;
    }
    for &half in &topology.flipped {
        uneven[shell(half)] = true;
    }
    for edge in &topology.crowded {
        for &half in &edge.half_edges {
            crowded[shell(half)] = true;
            let way = |h: u32| if edges::start(mesh, h) < edges::end(mesh, h) { 1 } else { -1 };
            let same_shell = edge.half_edges.iter().filter(|&&h| shell(h) == shell(half));
            if same_shell.map(|&h| way(h)).sum::<i32>() != 0 {
                closed[shell(half)] = false;
            }
        }
    }
    (closed, uneven, crowded)
}

fn vertices_of_shells(mesh: &Mesh, grouped: &Shells) -> Vec<usize> {
    let mut owner = vec![NONE; mesh.vertices.len()];
    let mut counts = vec![0; grouped.count];
    let mut shared: Vec<(u32, u32)> = Vec::new();
    for (triangle, &shell) in mesh.triangles.iter().zip(&grouped.of) {
        for &v in triangle.iter().filter(|_| shell != NONE) {
            let owner = &mut owner[v as usize];
            if *owner == NONE {
                *owner = shell;
                counts[shell as usize] += 1;
            } else if *owner != shell {
                shared.push((v, shell));
            }
        }
    }
    shared.sort_unstable();
    shared.dedup();
    for (_, shell) in shared {
        counts[shell as usize] += 1;
    }
    counts
}

/// Collects defects in the order of their kinds.
struct Finder<'a> {
    mesh: &'a Mesh,
    defects: Vec<Defect>,
}

impl Finder<'_> {
    fn add(&mut self, kind: DefectKind, count: usize, at: Point, detail: impl Into<String>) {
        if count > 0 {
            self.defects.push(Defect { kind, count, at, detail: detail.into() });
        }
    }

    fn finish(mut self) -> Vec<Defect> {
        self.defects.sort_by_key(|d| d.kind);
        self.defects
    }

    /// Adds a defect of edges, each given by a half-edge; the place is the middle of the first by facet order.
    fn add_edges(&mut self, kind: DefectKind, halves: &[u32], detail: impl Into<String>) {
        if let Some(&first) = halves.iter().min() {
            let end = |v: u32| self.mesh.vertices[v as usize];
            let middle = add(end(edges::start(self.mesh, first)), end(edges::end(self.mesh, first)));
            self.add(kind, halves.len(), scale(middle, 0.5), detail);
        }
    }

    fn edges(&mut self, topology: &Topology, cracks: &Cracks) {
        let width = format!("points up to {} mm apart would have to be joined", cracks.tolerance_mm);
        self.add_edges(DefectKind::OpenEdge, &cracks.left, "");
        self.add_edges(DefectKind::Crack, &cracks.cracks, width);
        self.add_edges(DefectKind::TJunction, &cracks.junctions, "");
        let crowded: Vec<u32> = topology.crowded.iter().filter_map(|e| e.half_edges.iter().min().copied()).collect();
        self.add_edges(DefectKind::NonManifoldEdge, &crowded, "");
    }

    fn vertices(&mut self, topology: &Topology, corners: &Corners, counts: &(dyn Fn(usize) -> bool + Sync)) {
        let split = edges::split_vertices(self.mesh, topology, corners, counts);
        if let Some(&first) = split.first() {
            self.add(DefectKind::NonManifoldVertex, split.len(), self.mesh.vertices[first as usize], "");
        }
    }

    fn facets(&mut self, topology: &Topology, grouped: &Shells, flat: &[u32]) {
        let centre = |t: &u32| self.mesh.centre(*t as usize);
        let listed = |list: &[u32]| list.first().map(centre).unwrap_or_default();
        let double = duplicates(self.mesh, topology);
        let one_sided: Vec<u32> = (0..grouped.count)
            .filter(|&s| grouped.one_sided[s])
            .filter_map(|s| grouped.of.iter().position(|&o| o as usize == s).map(|t| t as u32))
            .collect();
        // In a one-sided shell no winding is the right one.
        let against: Vec<u32> =
            grouped.against.iter().copied().filter(|&t| !grouped.one_sided[grouped.of[t as usize] as usize]).collect();
        let found = [
            (DefectKind::Flipped, against.len(), listed(&against)),
            (DefectKind::OneSided, one_sided.len(), listed(&one_sided)),
            (DefectKind::DuplicateFacet, double.len(), listed(&double)),
            (DefectKind::DegenerateFacet, flat.len(), listed(flat)),
        ];
        for (kind, count, at) in found {
            self.add(kind, count, at, "");
        }
    }

    fn crossings(&mut self, crossings: &Crossings) {
        let Some((a, _)) = crossings.first else { return };
        let at = self.mesh.centre(a as usize);
        let detail = if crossings.given_up { "at least; the search was given up" } else { "" };
        self.add(DefectKind::SelfIntersection, crossings.pairs, at, detail);
        self.add(DefectKind::ShellOverlap, crossings.shells.len(), at, "");
    }

    fn shells(&mut self, shells: &[Shell], grouped: &Shells) {
        let first_facet = |s: usize| grouped.of.iter().position(|&o| o as usize == s).unwrap_or(0);
        let largest = shells.iter().map(|s| s.bounds.diagonal()).fold(0.0, f64::max);
        let speck = |s: &Shell| s.bounds.diagonal() < 0.2 && s.bounds.diagonal() < 0.02 * largest;
        type Test<'t> = &'t dyn Fn(&Shell) -> bool;
        let tests: [(DefectKind, Test<'_>); 3] = [
            (DefectKind::InsideOut, &|s| s.inside_out),
            (DefectKind::NestedShell, &|s| s.redundant),
            (DefectKind::Speck, &speck),
        ];
        for (kind, test) in tests {
            let mut matching = shells.iter().enumerate().filter(|(_, s)| test(s));
            if let Some((first, _)) = matching.next() {
                let at = self.mesh.centre(first_facet(first));
                self.add(kind, 1 + matching.count(), at, "");
            }
        }
    }
}

/// Returns the facets that repeat the three corners of an earlier one, in ascending order.
fn duplicates(mesh: &Mesh, topology: &Topology) -> Vec<u32> {
    // Copies crowd their edges, or, where two facets form a shell of their own, are each other's only neighbours.
    let mut suspects: Vec<u32> = topology.crowded.iter().flat_map(|e| &e.half_edges).map(|h| h / 3).collect();
    for (t, twins) in topology.twin.chunks_exact(3).enumerate() {
        if twins[0] != NONE && twins[0] / 3 == twins[1] / 3 && twins[1] / 3 == twins[2] / 3 {
            suspects.push(t as u32);
        }
    }
    suspects.sort_unstable();
    suspects.dedup();
    let mut keyed: Vec<([u32; 3], u32)> = suspects
        .into_iter()
        .map(|t| {
            let mut corners = mesh.triangles[t as usize];
            corners.sort_unstable();
            (corners, t)
        })
        .collect();
    keyed.sort_unstable();
    let mut double: Vec<u32> = keyed.windows(2).filter(|w| w[0].0 == w[1].0).map(|w| w[1].1).collect();
    double.sort_unstable();
    double
}

/// Returns reasons to doubt the unit or scale. Limits are common practice: what a desk-side printer can make.
fn doubts(bounds: &Bounds) -> Vec<ScaleDoubt> {
    if bounds.is_empty() {
        return Vec::new();
    }
    let size = bounds.size();
    let largest = size.into_iter().fold(0.0, f64::max);
    let shown = size.map(crate::number::significant).join(" x ");
    let mut doubts = Vec::new();
    let mut doubt = |kind, message: String| doubts.push(ScaleDoubt { kind, message });
    if !(1e-3..=1e6).contains(&largest) {
        doubt(ScaleDoubtKind::AbsurdSize, format!("the part measures {shown} mm, which no printer makes"));
    } else if largest < 5.0 {
        let message = format!("the part measures only {shown} mm; are its numbers inches, centimetres or metres?");
        doubt(ScaleDoubtKind::PerhapsLargerUnit, message);
    } else if largest > 2000.0 {
        let message = format!("the part measures {shown} mm; are its numbers micrometres?");
        doubt(ScaleDoubtKind::PerhapsSmallerUnit, message);
    }
    let far = norm(bounds.centre());
    if far > 1000.0 * largest.max(1.0) {
        let message = format!(
            "the part lies {} mm from the origin, where 32-bit coordinates resolve {} mm",
            crate::number::significant(far),
            crate::number::significant(far * f64::from(f32::EPSILON) / 2.0)
        );
        doubt(ScaleDoubtKind::FarFromOrigin, message);
    }
    doubts
}
