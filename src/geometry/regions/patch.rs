//! Patches: facets steeper than the limit that hang together, with the edges that hold them and the edges that do not.

use rayon::prelude::*;

use crate::adjacency::NONE;
use crate::mesh::{Mesh, Point};
use crate::pose::Pose;
use crate::pose::facets::{FacetTable, LIMIT_SLACK};
use crate::vector::{Vector, add, cross, dot, norm, normalise, scale, sub};

/// Facets flatter than this (degrees from vertical) form a ceiling rather than a slope.
pub const FLAT_DEG: f64 = 80.0;
/// Sine below which a fold counts as none (about one degree).
const SMOOTH: f64 = 0.02;

/// The mesh as seen in one pose: heights above the bed, in part axes throughout.
pub struct View<'a> {
    pub mesh: &'a Mesh,
    pub table: &'a FacetTable,
    pub twin: &'a [u32],
    pub up: Vector,
    /// The printer's x and y, which span the bed plane, in part axes.
    pub across: [Vector; 2],
    /// Height of each vertex above the bed, mm.
    pub heights: Vec<f64>,
    /// Vertices no higher than this touch the bed, mm.
    pub bed_mm: f64,
}

impl<'a> View<'a> {
    /// Looks at a mesh with `up` along the build direction.
    pub fn new(mesh: &'a Mesh, table: &'a FacetTable, twin: &'a [u32], up: Vector) -> Self {
        let [u, v, _] = Pose { up, label: String::new() }.rotation();
        let (low, _) = table.extent(up);
        let heights = mesh.vertices.par_iter().map(|&p| dot(p, up) - low).collect();
        Self { mesh, table, twin, up, across: [u, v], heights, bed_mm: table.bed_tolerance_mm }
    }

    /// Returns the unit normal and the area of a facet.
    #[inline]
    pub fn facet(&self, t: u32) -> (Vector, f64) {
        self.table.facet(t as usize)
    }

    /// Returns where a point lies on the bed plane.
    #[inline]
    pub fn flat(&self, p: Point) -> [f64; 2] {
        [dot(p, self.across[0]), dot(p, self.across[1])]
    }

    pub fn on_bed(&self, t: usize) -> bool {
        self.mesh.triangles[t].iter().all(|&v| self.heights[v as usize] <= self.bed_mm)
    }

    fn height(&self, t: usize, k: usize) -> f64 {
        self.heights[self.mesh.triangles[t][k % 3] as usize]
    }
}

/// One edge of a patch's border, on the bed plane.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Border {
    pub from: [f64; 2],
    pub to: [f64; 2],
    /// Whether there is material beneath: the patch is held here.
    pub held: bool,
}

/// Facets steeper than the limit that share edges.
#[derive(Debug, Clone, Default)]
pub struct Patch {
    pub facets: Vec<u32>,
    pub area_mm2: f64,
    /// Area seen from below, mm².
    pub shadow_mm2: f64,
    /// Part of the area that is ceiling rather than slope, mm².
    pub flat_mm2: f64,
    /// Lowest and highest point, mm above the bed.
    pub z_mm: [f64; 2],
    /// Steepest facet, degrees from vertical (90 is a ceiling).
    pub angle_deg: f64,
    /// Area-weighted middle.
    pub middle: Point,
    pub border: Vec<Border>,
    pub held_mm: f64,
    pub free_mm: f64,
    /// Points that stand on the bed.
    pub footing: Vec<[f64; 2]>,
    /// Length of inner folds that bend round a void, and round material, mm.
    pub hollow_mm: f64,
    pub bulging_mm: f64,
    /// How far it is bent: twice the largest turn between a facet and the mean of all, radians.
    pub turn: f64,
}

/// All patches of a view; `of_facet` gives each facet's patch or [`NONE`].
pub struct Patches {
    pub list: Vec<Patch>,
    pub of_facet: Vec<u32>,
}

/// Gathers the patches steeper than `limit` radians from vertical, those lying on the bed left out.
pub fn patches(view: &View, limit: f64) -> Patches {
    let steep = -(limit.sin() + LIMIT_SLACK);
    let mut patches = Patches { list: Vec::new(), of_facet: vec![NONE; view.mesh.triangles.len()] };
    for seed in 0..view.mesh.triangles.len() {
        if patches.of_facet[seed] == NONE && is_steep(view, seed, steep) == Some(true) {
            gather(view, steep, seed as u32, &mut patches);
        }
    }
    let of_facet = &patches.of_facet;
    patches.list.par_iter_mut().enumerate().for_each(|(id, patch)| measure(view, of_facet, id as u32, patch));
    patches
}

/// Whether a facet is steeper than the limit; `None` for one without area, which says nothing of its own.
fn is_steep(view: &View, t: usize, steep: f64) -> Option<bool> {
    let (normal, area) = view.table.facet(t);
    (area > 0.0).then(|| dot(normal, view.up) < steep && !view.on_bed(t))
}

fn gather(view: &View, steep: f64, seed: u32, patches: &mut Patches) {
    let id = patches.list.len() as u32;
    let mut facets = vec![seed];
    patches.of_facet[seed as usize] = id;
    let mut next = 0;
    while next < facets.len() {
        let t = facets[next] as usize;
        next += 1;
        for k in 0..3 {
            let across = view.twin[3 * t + k];
            if across == NONE || patches.of_facet[across as usize / 3] != NONE {
                continue;
            }
            let o = across as usize / 3;
            // Facets without area join whatever they lie between, so that they do not part a ceiling.
            if is_steep(view, o, steep).unwrap_or_else(|| !view.on_bed(o)) {
                patches.of_facet[o] = id;
                facets.push(o as u32);
            }
        }
    }
    patches.list.push(Patch { facets, z_mm: [f64::INFINITY, f64::NEG_INFINITY], ..Patch::default() });
}

fn measure(view: &View, of_facet: &[u32], id: u32, patch: &mut Patch) {
    let facets = std::mem::take(&mut patch.facets);
    let mean =
        facets.iter().map(|&t| view.facet(t)).fold([0.0; 3], |sum, (normal, area)| add(sum, scale(normal, area)));
    let mean = normalise(mean);
    let anchor = facets.first().map_or([0.0; 3], |&t| view.mesh.centre(t as usize));
    let mut moment = [0.0; 3];
    let (mut steepest, mut straightest) = (f64::NEG_INFINITY, f64::INFINITY);
    let flat = FLAT_DEG.to_radians().sin();
    for &t in &facets {
        let t = t as usize;
        let (normal, area) = view.table.facet(t);
        let down = -dot(normal, view.up);
        patch.area_mm2 += area;
        patch.shadow_mm2 += area * down;
        patch.flat_mm2 += if down > flat { area } else { 0.0 };
        if area > 0.0 {
            steepest = steepest.max(down);
            // Angles take long: only of those that may turn farthest. A hair more, for rounding.
            let along = dot(mean, normal);
            if along < straightest + 1e-9 {
                straightest = straightest.min(along);
                patch.turn = patch.turn.max(2.0 * crate::pose::angle(mean, normal));
            }
        }
        moment = add(moment, scale(sub(view.mesh.centre(t), anchor), area));
        for k in 0..3 {
            let h = view.height(t, k);
            patch.z_mm = [patch.z_mm[0].min(h), patch.z_mm[1].max(h)];
            if h <= view.bed_mm {
                patch.footing.push(view.flat(view.mesh.corners(t)[k]));
            }
            side(view, of_facet, id, patch, t, k);
        }
    }
    patch.angle_deg = steepest.clamp(0.0, 1.0).asin().to_degrees();
    patch.middle = if patch.area_mm2 > 0.0 { add(anchor, scale(moment, 1.0 / patch.area_mm2)) } else { anchor };
    patch.facets = facets;
}

/// Takes one side of one facet into account: an inner fold, or a piece of border that is held or free.
fn side(view: &View, of_facet: &[u32], id: u32, patch: &mut Patch, t: usize, k: usize) {
    let corners = view.mesh.corners(t);
    let (from, to) = (corners[k], corners[(k + 1) % 3]);
    let run = sub(to, from);
    let length = norm(run);
    let across = view.twin[3 * t + k];
    let inner = across != NONE && of_facet[across as usize / 3] == id;
    let fold = (across != NONE).then(|| fold(view, t, across, from, run)).flatten();
    if inner {
        if let Some(f) = fold.filter(|_| across as usize > 3 * t + k) {
            patch.hollow_mm += if f.out > SMOOTH { length } else { 0.0 };
            patch.bulging_mm += if f.out < -SMOOTH { length } else { 0.0 };
        }
        return;
    }
    let held = fold.is_some_and(|f| is_held(view, &f));
    let flat = if held { &mut patch.held_mm } else { &mut patch.free_mm };
    *flat += length;
    patch.border.push(Border { from: view.flat(from), to: view.flat(to), held });
}

/// How the surface goes on across an edge.
struct Fold {
    /// Component of the far facet's inward direction along the near facet's normal: positive in a hollow.
    out: f64,
    /// ... and along the vertical.
    rise: f64,
    /// Whether the far facet faces down.
    faces_down: bool,
    on_bed: bool,
}

fn fold(view: &View, t: usize, across: u32, from: Point, run: Vector) -> Option<Fold> {
    let o = across as usize / 3;
    let third = view.mesh.vertices[view.mesh.triangles[o][(across as usize + 2) % 3] as usize];
    let along = normalise(run);
    let reach = sub(third, from);
    // By the third corner rather than by winding, so that a facet turned the wrong way does no harm.
    let into = normalise(sub(reach, scale(along, dot(reach, along))));
    let (normal, area) = view.table.facet(t);
    if into == [0.0; 3] || area <= 0.0 {
        return None;
    }
    let normal = if cross(normal, along) == [0.0; 3] { return None } else { normal };
    let (far, _) = view.table.facet(o);
    Some(Fold {
        out: dot(into, normal),
        rise: dot(into, view.up),
        faces_down: dot(far, view.up) < -SMOOTH,
        on_bed: view.on_bed(o),
    })
}

/// A patch is held at an edge where material goes on beneath: in a hollow corner, on the bed, or where the surface
/// simply continues downward. A sharp outer edge holds nothing.
fn is_held(view: &View, f: &Fold) -> bool {
    let _ = view;
    f.on_bed || f.out > SMOOTH || (f.rise < -SMOOTH && f.faces_down) || (f.out.abs() <= SMOOTH && f.rise < 0.0)
}
