//! Which regions of a section part the place where a part is held from the place where it is loaded.
//!
//! A plane through a hook cuts its shank and its tip; only the shank carries what hangs in the bend. The plane divides the
//! part into pieces, which the regions join; regions between the same two pieces act together, and they bear the load
//! where no other way round them leads from the one place to the other.

use std::collections::{BTreeMap, BTreeSet};

use super::properties::SectionProperties;
use super::{Edge, Point2, Region, Section};
use crate::anchor::Anchor;
use crate::mesh::Mesh;
use crate::vector::{dot, sub};

/// Returns the section with only those regions that part the two places; of several such groups the one nearest to the
/// frame's origin. `None` where the plane parts them nowhere.
pub(super) fn between(
    mesh: &Mesh,
    section: Section,
    on_edges: &[(Point2, Edge)],
    ends: &[Vec<Anchor>; 2],
) -> Option<Section> {
    let frame = section.frame;
    let above = |p: [f64; 3]| dot(sub(p, frame.origin), frame.normal) > 0.0;
    if section.regions.len() < 2 {
        let sides = |end: &[Anchor], up: bool| end.iter().all(|a| above(a.point) == up);
        let parts = [true, false].into_iter().any(|up| sides(&ends[0], up) && sides(&ends[1], !up));
        return parts.then_some(section);
    }
    let side: Vec<bool> = mesh.vertices.iter().map(|&p| above(p)).collect();
    let mut pieces = Pieces::new(mesh, &side);
    let mut on_edges: Vec<([u64; 2], Edge)> = on_edges.iter().map(|&(p, e)| (p.map(f64::to_bits), e)).collect();
    on_edges.sort_unstable();
    let joins: Vec<(u32, u32)> =
        section.regions.iter().map(|region| pieces.of_region(region, &on_edges, &side)).collect::<Option<_>>()?;
    let mut corner = |end: &Anchor| {
        let corners = *mesh.triangles.get(end.facet as usize)?;
        corners.into_iter().find(|&v| side[v as usize] == above(end.point))
    };
    // What is held, or loaded, in several places at once joins the pieces these are on.
    let mut joined = |end: &[Anchor]| {
        let corners: Vec<u32> = end.iter().map(&mut corner).collect::<Option<_>>()?;
        let (&first, rest) = corners.split_first()?;
        rest.iter().for_each(|&v| pieces.join(first, v));
        Some(first)
    };
    let (from, to) = (joined(&ends[0])?, joined(&ends[1])?);
    // Roots only now: what the regions joined may have changed them.
    let mut groups: BTreeMap<(u32, u32), Vec<usize>> = BTreeMap::new();
    for (i, (a, b)) in joins.into_iter().enumerate() {
        groups.entry((pieces.root(a), pieces.root(b))).or_default().push(i);
    }
    let links: Vec<(u32, u32)> = groups.keys().copied().collect();
    let (from, to) = (pieces.root(from), pieces.root(to));
    if from == to {
        return None;
    }
    let parted = way(&links, from, to, None)?.into_iter().filter(|&g| way(&links, from, to, Some(g)).is_none());
    let off = |s: &Section| s.properties.map_or(f64::INFINITY, |p| p.centroid[0].hypot(p.centroid[1]));
    let only = |g: usize| {
        let chosen = groups.get(&links[g])?;
        let regions: Vec<Region> = chosen.iter().map(|&i| section.regions[i].clone()).collect();
        let mut part = Section { regions, properties: None, ..section.clone() };
        part.properties = SectionProperties::of(&part);
        Some(part)
    };
    parted.filter_map(only).min_by(|a, b| off(a).total_cmp(&off(b)))
}

/// Returns the links of a shortest way between two pieces that does without one of them; `None` where there is none.
fn way(links: &[(u32, u32)], from: u32, to: u32, without: Option<usize>) -> Option<Vec<usize>> {
    let mut by_piece: BTreeMap<u32, Vec<(usize, u32)>> = BTreeMap::new();
    for (i, &(a, b)) in links.iter().enumerate().filter(|(i, _)| Some(*i) != without) {
        by_piece.entry(a).or_default().push((i, b));
        by_piece.entry(b).or_default().push((i, a));
    }
    let mut came: BTreeMap<u32, (usize, u32)> = BTreeMap::new();
    let mut seen = BTreeSet::from([from]);
    let mut next = std::collections::VecDeque::from([from]);
    while let Some(piece) = next.pop_front() {
        if piece == to {
            break;
        }
        for &(link, other) in by_piece.get(&piece).into_iter().flatten() {
            if seen.insert(other) {
                came.insert(other, (link, piece));
                next.push_back(other);
            }
        }
    }
    let mut steps = Vec::new();
    let mut at = to;
    while at != from {
        let &(link, before) = came.get(&at)?;
        steps.push(link);
        at = before;
    }
    Some(steps)
}

/// The pieces a plane divides a part into: vertices joined by what lies wholly on one side.
struct Pieces {
    parent: Vec<u32>,
}

impl Pieces {
    fn new(mesh: &Mesh, side: &[bool]) -> Self {
        let mut pieces = Self { parent: (0..mesh.vertices.len() as u32).collect() };
        for &[a, b, c] in &mesh.triangles {
            for (p, q) in [(a, b), (b, c), (c, a)] {
                if side[p as usize] == side[q as usize] {
                    pieces.join(p, q);
                }
            }
        }
        pieces
    }

    fn root(&mut self, mut v: u32) -> u32 {
        while self.parent[v as usize] != v {
            let above = self.parent[self.parent[v as usize] as usize];
            self.parent[v as usize] = above;
            v = above;
        }
        v
    }

    fn join(&mut self, a: u32, b: u32) {
        let (a, b) = (self.root(a), self.root(b));
        // The lower number stays, so that the answer does not hang on the order of joining.
        self.parent[a.max(b) as usize] = a.min(b);
    }

    /// Joins the outlines of a region on either side (a hole's wall and the outer one are one piece of material) and
    /// returns a vertex above and one below.
    fn of_region(&mut self, region: &Region, on_edges: &[([u64; 2], Edge)], side: &[bool]) -> Option<(u32, u32)> {
        let mut found: Option<(u32, u32)> = None;
        for outline in std::iter::once(&region.outer).chain(&region.holes) {
            let first = outline.first()?.map(f64::to_bits);
            let &(_, (a, b)) =
                on_edges.get(on_edges.partition_point(|(p, _)| *p < first)).filter(|(p, _)| *p == first)?;
            let (up, down) = if side[a as usize] { (a, b) } else { (b, a) };
            match found {
                None => found = Some((up, down)),
                Some((u, d)) => {
                    self.join(u, up);
                    self.join(d, down);
                }
            }
        }
        found
    }
}
