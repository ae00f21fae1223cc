//! The part as the resolver sees it: the mesh's facts and the spec's places on it, computed once.

use std::collections::BTreeMap;
use std::ops::Deref;
use std::sync::{Arc, Mutex, MutexGuard, OnceLock, PoisonError};

use crate::catalogue::{Catalogue, figures};
use crate::diag::{Diagnostic, Span};
use crate::geometry::anchor::Anchor;
use crate::geometry::cavity::{self, Cavity};
use crate::geometry::codec::{Coded, whole};
use crate::geometry::coded;
use crate::geometry::facetted;
use crate::geometry::features::Features;
use crate::geometry::first_layer::{FirstLayer, first_layer};
use crate::geometry::mesh::{Bounds, Mesh, Point};
use crate::geometry::patch::{self, Patch};
use crate::geometry::polygon::Filling;
use crate::geometry::pose::{self, Pose};
use crate::geometry::rays::Rays;
use crate::geometry::regions::limits::Limits;
use crate::geometry::regions::{Kind, Regions, Verdict};
use crate::geometry::section::Section;
use crate::geometry::section::slicer::Slicer;
use crate::geometry::survey::measure::{features_and_walls, outward};
use crate::geometry::survey::{Flat, Overhangs, PoseFacts, PoseOptions, Prepared};
use crate::geometry::tree::Tree;
use crate::geometry::vector::{Vector, cross, dot, norm, scale};
use crate::geometry::walls::{Extreme, Walls};
use crate::geometry::{health, mass};
use crate::quantity::{Area, Length};
use crate::resolve::elastic;
use crate::resolve::elastic::{NotKnown, Taken};
use crate::resolve::loads::{Action, Cut, Cutter, LoadPath, Place};
use crate::semantics::spec::{ChoiceValue, Decision, Face, Load, Spec, Where};

use super::flats::{Facing, facing, opposing};

/// Overhangs as judged, by pose and the bits of the overhang limit (degrees) and of the bridge limit (mm).
type Seen = BTreeMap<(usize, u64, u64), Arc<Overhangs>>;

/// What was looked at of a mesh in some pose because a spec came to ask; the next spec beside the mesh need not look again.
///
/// No lock is held, and no cell waited for, while something is worked out: a worker that waits for others takes up another
/// spec, and would wait for itself where that asks the same. Two may therefore work out the same at once.
#[derive(Debug, Default)]
struct Looked {
    seen: Mutex<Seen>,
    first_layers: Mutex<BTreeMap<usize, Arc<FirstLayer>>>,
    tree: OnceLock<Arc<Tree>>,
    facing: OnceLock<Vec<Facing>>,
    opposing: OnceLock<Vec<Facing>>,
    /// The way the broad wall looks.
    broad: OnceLock<Option<Vector>>,
    /// Whether a side of the wall at a place is a round, by the bits of the place.
    rounds: Mutex<BTreeMap<[u64; 3], bool>>,
}

/// Returns what is kept behind a lock, for a look or an entry only.
fn locked<T>(lock: &Mutex<T>) -> MutexGuard<'_, T> {
    lock.lock().unwrap_or_else(PoisonError::into_inner)
}

/// The same, shared by the parts that ask about one mesh.
#[derive(Debug, Clone, Default)]
struct SharedLooks(Arc<Looked>);

impl Deref for SharedLooks {
    type Target = Looked;

    fn deref(&self) -> &Looked {
        &self.0
    }
}

// Facts kept between runs are kept without it.
impl Coded for SharedLooks {
    fn put(&self, _: &mut Vec<u8>) {}

    fn take(_: &mut &[u8]) -> Option<Self> {
        Some(Self::default())
    }
}

/// Everything measured on the part.
#[derive(Debug, Clone)]
pub struct Part {
    /// What is large is shared, so that a part asked again under other loads costs little.
    pub mesh: Arc<Mesh>,
    pub bounds: Bounds,
    /// `None` where the mesh encloses no volume.
    pub volume_mm3: Option<f64>,
    pub area_mm2: f64,
    pub closed: bool,
    pub pieces: usize,
    /// Defects in words, each with a place.
    pub defects: Vec<String>,
    pub poses: Arc<Vec<PoseFacts>>,
    /// The pose somebody asked about, where it is none of those to choose from.
    pub asked: Option<usize>,
    /// What makes a side one to stand on.
    pub flat: Flat,
    /// What of the poses hangs over by other limits than the one they were ranked by, by that limit in degrees.
    by_angle: Arc<Vec<(f64, Vec<Overhangs>)>>,
    looked: SharedLooks,
    /// One for each face of the spec, in its order.
    pub faces: Vec<Option<Patch>>,
    /// One for each load of the spec, in its order; `None` where it could not be placed.
    pub loads: Vec<Option<LoadPath>>,
    /// What each load does to the part, in the order of the spec; empty before it is solved.
    pub fields: Vec<elastic::Answer>,
    /// What those do that act at once.
    pub at_once: Vec<elastic::AtOnce>,
    pub features: Arc<Features>,
    /// Axes that are the body's own by its mass alone, unit vectors.
    pub own_axes: Vec<Vector>,
    /// Thinnest wall and narrowest gap found, mm, and the middle of each; `None` where none stands opposite, or where
    /// the mesh does not tell inside from outside.
    pub min_wall_mm: Option<f64>,
    pub min_wall_at: Option<Point>,
    /// Thinnest wall that is more than a spot or a tapering edge, and a place on it.
    pub broad_wall: Option<Extreme>,
    /// Thinnest place between parallel sides, however small: a lug or a web, but no tapering edge.
    pub parallel_wall: Option<Extreme>,
    pub min_gap_mm: Option<f64>,
    pub min_gap_at: Option<Point>,
    pub cavities: Vec<Cavity>,
    /// Whether all facets are wound to the same, right side.
    pub oriented: bool,
    /// Whether all facets of the file face inward, and the mesh is that file turned round.
    pub turned: bool,
    /// What was odd about the file, and whether it is to be looked at before printing.
    pub notes: Vec<(String, bool)>,
}

/// A wall is the strip that a fit speaks of if its thickness differs by no more than this share.
const STRIP: f64 = 0.3;
/// Poses offered to the search.
const POSES: usize = 12;
/// The axes of a file.
const FILE_AXES: [Vector; 3] = [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]];
/// Cosine of the angle within which two ways up are one: within what a name in whole degrees leaves open.
pub(super) const ONE_POSE: f64 = 0.9998;

/// Returns what makes a side one to stand on, by the catalogue's figures.
pub fn flat(catalogue: &Catalogue) -> Flat {
    Flat {
        contact_mm2: catalogue.value(figures::FOOTING_LEAST).to_mm2(),
        share: catalogue.value(figures::FOOTING_SHARE),
        slenderness: catalogue.value(figures::STANDING_SLENDERNESS),
    }
}

/// What a thin place is too small by to be a wall.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Spot {
    /// Surface, both sides counted.
    pub mm2: f64,
    /// Share of the part's surface, where that is less.
    pub share: f64,
}

/// Returns what makes a thin place a spot and not a wall, by the catalogue's figures.
pub fn spot(catalogue: &Catalogue) -> Spot {
    Spot { mm2: catalogue.value(figures::THIN_SPOT).to_mm2(), share: catalogue.value(figures::THIN_SPOT_SHARE) }
}

/// What a part is measured with, beside its spec and mesh.
#[derive(Clone, Copy, Default)]
pub struct Means<'m> {
    /// Overhang limits the poses are to be looked at by, degrees from vertical.
    pub angles: &'m [f64],
    /// What makes a side one to stand on.
    pub flat: Flat,
    /// What makes a thin place a spot.
    pub spot: Spot,
    /// Share of the area of the largest place a face may mean, from which another one rivals it.
    pub rival: f64,
    /// A way up that somebody asks about: it is looked at, and not taken.
    pub asked: Option<Vector>,
    /// Where facts of this very mesh are kept between runs.
    pub memory: Option<&'m dyn Memory>,
}

/// Keeps facts of one mesh, found again by the question they answer.
pub trait Memory {
    fn recall(&self, question: &str) -> Option<Arc<Facts>>;
    fn keep(&self, question: &str, facts: &Arc<Facts>);
    /// The same for bytes of another answer about the mesh.
    fn recall_answer(&self, question: &str) -> Option<Vec<u8>>;
    fn keep_answer(&self, question: &str, answer: &[u8]);
}

/// What is measured of a mesh whatever the spec says, but for what it makes worth asking. What is large is shared by the
/// parts made from it.
#[derive(Debug)]
pub struct Facts {
    volume_mm3: Option<f64>,
    area_mm2: f64,
    closed: bool,
    oriented: bool,
    pieces: usize,
    defects: Vec<String>,
    doubts: Vec<String>,
    poses: Arc<Vec<PoseFacts>>,
    asked: Option<usize>,
    by_angle: Arc<Vec<(f64, Vec<Overhangs>)>>,
    features: Arc<Features>,
    own_axes: Vec<Vector>,
    thinnest: Option<Extreme>,
    broad: Option<Extreme>,
    parallel: Option<Extreme>,
    narrowest: Option<Extreme>,
    cavities: Vec<Cavity>,
    looked: SharedLooks,
}

coded! {
    Facts {
        volume_mm3, area_mm2, closed, oriented, pieces, defects, doubts, poses, asked, by_angle, features, own_axes, thinnest, broad,
        parallel, narrowest, cavities, looked,
    }
}

/// What a spec makes worth asking of a mesh. Its form for debugging is the question facts are kept under.
#[derive(Debug)]
struct Question<'q> {
    /// Directions that mean something: they are tried as poses, and tell apart poses the bare shape makes equal.
    directions: Vec<Vector>,
    /// Ways up that are looked at however they rank.
    demanded: Vec<Vector>,
    asked: Option<Vector>,
    angles: &'q [f64],
    flat: Flat,
    spot: Spot,
}

/// Returns what loads of a spec do at once, as loads of another that are the same by name and all grown alike.
fn at_once_as(one: &elastic::AtOnce, spec: &Spec, other: &Spec) -> Option<elastic::AtOnce> {
    let size = |load: &Load| load.size().map(|q| q.si);
    let beside = |&was: &usize| {
        let was = spec.loads.get(was)?;
        let now = other.loads.iter().position(|l| l.name.value == was.name.value)?;
        // They were solved each by its factor beside the greatest.
        let factor = |l: &Load| l.factor.map(|f| f.value);
        other.loads.get(now).filter(|l| factor(l) == factor(was))?;
        Some((now, size(other.loads.get(now)?)? / size(was)?))
    };
    let (loads, ratios): (Vec<usize>, Vec<f64>) =
        one.loads.iter().map(beside).collect::<Option<Vec<_>>>()?.into_iter().unzip();
    let &ratio = ratios.first()?;
    let alike = ratio.is_finite() && ratios.iter().all(|r| (r - ratio).abs() <= 1e-9 * ratio.abs());
    alike.then(|| elastic::AtOnce { loads, answer: one.answer.clone().map(|solved| Arc::new(solved.times(ratio))) })
}

impl Part {
    /// Measures a mesh for a spec; the diagnostics say which places of the spec are not on the mesh.
    pub fn measure(
        spec: &Spec,
        mesh: impl Into<Arc<Mesh>>,
        means: Means<'_>,
        diagnostics: &mut Vec<Diagnostic>,
    ) -> Part {
        let given: Arc<Mesh> = mesh.into();
        let turned = outward(&given).map(Arc::new);
        let was_inward = turned.is_some();
        let mesh = turned.unwrap_or(given);
        let bounds = mesh.bounds();
        diagnostics.extend(super::places::off_the_part(spec, &bounds));
        let faces: Vec<Option<Patch>> = spec
            .faces
            .iter()
            .map(|face| find_face(face, rests_on(spec, face), &mesh, means.rival, diagnostics))
            .collect();
        let loads = match spec.loads.as_slice() {
            [] => Vec::new(),
            loads => loads.iter().map(|load| place_load(spec, load, &mesh, &faces)).collect(),
        };
        let question = Question::of(spec, &faces, &means);
        let asked = means.memory.map(|memory| (memory, format!("{question:?}")));
        let known = asked.as_ref().and_then(|(memory, asked)| memory.recall(asked));
        let facts = known.filter(|facts| facts.are_of(&mesh)).unwrap_or_else(|| {
            let facts = Arc::new(Facts::find(&mesh, &question));
            if let Some((memory, asked)) = &asked {
                memory.keep(asked, &facts);
            }
            facts
        });
        Part {
            bounds,
            volume_mm3: facts.volume_mm3,
            area_mm2: facts.area_mm2,
            closed: facts.closed,
            pieces: facts.pieces,
            defects: facts.defects.clone(),
            asked: facts.asked,
            flat: question.flat,
            poses: Arc::clone(&facts.poses),
            by_angle: Arc::clone(&facts.by_angle),
            looked: facts.looked.clone(),
            faces,
            loads,
            fields: Vec::new(),
            at_once: Vec::new(),
            features: Arc::clone(&facts.features),
            own_axes: facts.own_axes.clone(),
            min_wall_mm: facts.thinnest.map(|w| w.mm),
            min_wall_at: facts.thinnest.map(|w| w.at),
            broad_wall: facts.broad,
            parallel_wall: facts.parallel,
            min_gap_mm: facts.narrowest.map(|g| g.mm),
            min_gap_at: facts.narrowest.map(|g| g.at),
            cavities: facts.cavities.clone(),
            oriented: facts.oriented,
            turned: was_inward,
            notes: facts.doubts.iter().map(|doubt| (doubt.clone(), true)).collect(),
            mesh,
        }
    }

    /// Whether a way up is one a person would think of: along an axis of the file or of the body's mass.
    pub fn is_plain(&self, up: Vector) -> bool {
        plain_ways(&self.own_axes).iter().any(|way| dot(*way, up).abs() > ONE_POSE)
    }

    /// Returns the part as it is for `other`, which differs from `spec` by lines taken away or loads of another size;
    /// `None` where that changes nothing of the part.
    ///
    /// Faces and loads are in the order of their spec, so those of a line that is gone must go too. The stresses at the
    /// cuts are linear in the load.
    pub fn asked_as(&self, spec: &Spec, other: &Spec) -> Option<Part> {
        let size = |load: &Load| load.size().map(|q| q.si);
        let same_faces = spec.faces.len() == other.faces.len();
        let same_loads = spec.loads.len() == other.loads.len()
            && spec.loads.iter().zip(&other.loads).all(|(a, b)| size(a) == size(b));
        if same_faces && same_loads {
            return None;
        }
        let mut part = self.clone();
        let face = |name: &str| spec.faces.iter().position(|f| f.name.value == name);
        part.faces = other.faces.iter().map(|f| self.faces.get(face(&f.name.value)?).cloned().flatten()).collect();
        let load = |name: &str| spec.loads.iter().position(|l| l.name.value == name);
        part.loads = other
            .loads
            .iter()
            .map(|l| {
                let index = load(&l.name.value)?;
                let mut path = self.loads.get(index)?.clone()?;
                let ratio = size(l)? / size(spec.loads.get(index)?)?;
                path.times *= if ratio.is_finite() { ratio } else { 1.0 };
                Some(path)
            })
            .collect();
        part.fields = other
            .loads
            .iter()
            .map(|l| {
                let index = load(&l.name.value).ok_or(NotKnown::NotSolved)?;
                let solved = self.fields.get(index).cloned().unwrap_or(Err(NotKnown::NotSolved))?;
                match size(l).zip(spec.loads.get(index).and_then(size)).map(|(a, b)| a / b) {
                    Some(ratio) if ratio.is_finite() && ratio != 1.0 => Ok(Arc::new(solved.times(ratio))),
                    _ => Ok(solved),
                }
            })
            .collect();
        part.at_once = self.at_once.iter().filter_map(|one| at_once_as(one, spec, other)).collect();
        Some(part)
    }

    /// Returns the part as it is where a load of the spec is held, acts or points as `answered` says, which may name faces that
    /// the spec does not.
    pub fn with_load(&self, answered: &Spec, load: usize) -> Option<Part> {
        let mut part = self.clone();
        part.faces =
            answered.faces.iter().map(|face| find_face(face, false, &self.mesh, 1.0, &mut Vec::new())).collect();
        let path = place_load(answered, answered.loads.get(load)?, &self.mesh, &part.faces);
        *part.loads.get_mut(load)? = path;
        Some(part)
    }

    /// Returns the share of its surface that is neither upright nor level with this way up.
    pub fn sloped_share(&self, up: Vector) -> f64 {
        let of = |t: usize| {
            let (normal, area) = self.mesh.normal_area(t);
            let rise = dot(normal, up).abs();
            let level = norm(cross(normal, up)) < SLANTS;
            if rise < SLANTS || level { 0.0 } else { area }
        };
        (0..self.mesh.triangles.len()).map(of).sum::<f64>() / self.area_mm2.max(f64::MIN_POSITIVE)
    }

    /// Returns how thick the part counts for heat that goes through it, mm: twice the mean thickness of a plate of its volume and
    /// surface, so that what is stouter than the rest is not taken for thin. `None` where the mesh bounds no solid.
    pub fn stoutness_mm(&self) -> Option<f64> {
        let mean = 2.0 * self.volume_mm3? / self.area_mm2;
        Some(2.0 * mean).filter(|mm| mm.is_finite() && *mm > 0.0)
    }

    /// Returns the thinnest of its walls, and a place on it; what only tapers or is a spot is none.
    pub fn thinnest_wall(&self) -> Option<Extreme> {
        let walls = [self.broad_wall, self.parallel_wall].into_iter().flatten();
        walls.min_by(|a, b| a.mm.total_cmp(&b.mm))
    }

    /// Returns the way the thinnest broad wall looks, square to its sides.
    pub fn across_broad_wall(&self) -> Option<Vector> {
        let across = |wall: &Extreme| {
            let beside = Anchor::nearest(&self.mesh, None, wall.at)?;
            Some(self.mesh.normal_area(beside.facet as usize).0)
        };
        *self.looked.broad.get_or_init(|| self.broad_wall.as_ref().and_then(across))
    }

    /// Returns whether one of the two sides of the wall that runs through a place is a round, whose facets lie beside what was drawn.
    pub fn is_of_a_round(&self, middle: Point) -> bool {
        let key = middle.map(f64::to_bits);
        if let Some(known) = locked(&self.looked.rounds).get(&key) {
            return *known;
        }
        let round = facetted::sides_of_a_wall_are_round(&self.mesh, middle);
        locked(&self.looked.rounds).insert(key, round);
        round
    }

    /// Returns the way a wall of about this thickness looks, where the thinnest broad one is such.
    pub fn across_wall(&self, mm: f64) -> Option<Vector> {
        self.broad_wall.filter(|w| (w.mm - mm).abs() <= STRIP * mm)?;
        self.across_broad_wall()
    }

    /// Returns the part with no wall thinner than this. Nothing else of it is measured again: the sections its loads go
    /// through stay as thin as they are, which errs towards care.
    pub fn with_walls_of(&self, mm: f64) -> Part {
        let thicker = |wall: Option<Extreme>| wall.map(|w| Extreme { mm: w.mm.max(mm), ..w });
        let thinnest = self.thinnest_wall();
        let is_wall = |edge: f64| thinnest.is_some_and(|w| edge >= w.mm);
        let mut part = self.clone();
        (part.broad_wall, part.parallel_wall) = (thicker(self.broad_wall), thicker(self.parallel_wall));
        part.min_wall_mm = self.min_wall_mm.map(|edge| if is_wall(edge) { edge.max(mm) } else { edge });
        part
    }

    /// Returns the part as another mesh of the same facets, its places moved, has it; nothing else is measured again.
    pub fn with_mesh(&self, mesh: Arc<Mesh>) -> Part {
        let six = |t: usize| {
            let [a, b, c] = mesh.corners(t);
            dot(a, cross(b, c))
        };
        let volume_mm3 = self.volume_mm3.map(|_| (0..mesh.triangles.len()).map(six).sum::<f64>() / 6.0);
        Part { bounds: mesh.bounds(), volume_mm3, looked: SharedLooks::default(), mesh, ..self.clone() }
    }

    /// Returns whether another part is of the same mesh, and its walls are as thick.
    pub fn has_the_walls_of(&self, other: &Part) -> bool {
        if !Arc::ptr_eq(&self.mesh, &other.mesh) {
            return false;
        }
        let of = |part: &Part| {
            [part.min_wall_mm, part.broad_wall.map(|w| w.mm), part.parallel_wall.map(|w| w.mm)]
                .map(|mm| mm.map(f64::to_bits))
        };
        of(self) == of(other)
    }

    /// Returns the longest side of the part's box, mm.
    pub fn longest_mm(&self) -> f64 {
        (0..3).map(|k| self.bounds.max[k] - self.bounds.min[k]).fold(0.0, f64::max)
    }

    /// Returns the sides of the part's box, mm.
    pub fn size_mm(&self) -> [f64; 3] {
        [0, 1, 2].map(|k| self.bounds.max[k] - self.bounds.min[k])
    }

    /// Returns whether the face lies on the bed in a pose.
    pub fn lies_down(&self, face: usize, pose: usize) -> Option<bool> {
        let (patch, pose) = (self.faces.get(face)?.as_ref()?, self.poses.get(pose)?);
        let lowest = self.lowest(pose.pose.up);
        let height = dot(patch.centre, pose.pose.up) - lowest;
        Some(dot(patch.normal, pose.pose.up) < -0.99 && height < 0.05 * pose.height_mm.max(1e-9))
    }

    /// Returns the area of a face that overhangs beyond the limit and does not lie on the bed: support would touch it, mm².
    pub fn scarred_mm2(&self, face: usize, pose: usize, limits: &Limits) -> Option<f64> {
        let (patch, facts) = (self.faces.get(face)?.as_ref()?, self.poses.get(pose)?);
        if self.lies_down(face, pose)? {
            return Some(0.0);
        }
        Some(patch::overhanging_mm2(&self.mesh, patch, facts.pose.up, limits.overhang()))
    }

    /// Returns the facets of the mesh of which that is true, ascending.
    pub fn facets_where(&self, of: impl Fn(&Mesh, usize) -> bool) -> Vec<u32> {
        let all = 0..self.mesh.triangles.len();
        all.filter(|t| of(&self.mesh, *t)).filter_map(|t| u32::try_from(t).ok()).collect()
    }

    /// Returns the area of these facets that overhangs beyond the limit: support would touch it, mm².
    pub fn hanging_mm2(&self, facets: &[u32], pose: usize, limits: &Limits) -> Option<f64> {
        let up = self.poses.get(pose)?.pose.up;
        let patch = Patch { facets: facets.to_vec(), area_mm2: 0.0, centre: [0.0; 3], normal: [0.0; 3] };
        Some(patch::overhanging_mm2(&self.mesh, &patch, up, limits.overhang()))
    }

    /// Returns the regions of a pose judged by these limits; `None` for a pose there is not, and where inside cannot be
    /// told from outside.
    pub fn regions(&self, pose: usize, limits: &Limits) -> Option<Regions> {
        let facts = self.poses.get(pose).filter(|_| self.oriented)?;
        // The best poses carry theirs; for another they are found now.
        match &self.overhangs(pose, limits)?.regions {
            Some(known) => Some(known.judged(limits)),
            None => Some(Prepared::new(&self.mesh).regions(&facts.pose, limits)),
        }
    }

    /// Returns what of a pose hangs over by these limits. Kept by their numbers, so the words of a verdict may name where
    /// another choice has the same numbers from.
    pub fn overhangs(&self, pose: usize, limits: &Limits) -> Option<Arc<Overhangs>> {
        let facts = self.poses.get(pose)?;
        let key = (pose, limits.overhang_deg.value.to_bits(), limits.bridge_mm.value.to_bits());
        if let Some(known) = locked(&self.looked.seen).get(&key) {
            return Some(Arc::clone(known));
        }
        let angle = limits.overhang_deg.value;
        let prepared = self.by_angle.iter().find(|(a, _)| *a == angle).and_then(|(_, poses)| poses.get(pose)).cloned();
        let usual = || (Limits::default().overhang_deg.value == angle).then(|| Overhangs::of(facts));
        let now = || Prepared::new(&self.mesh).at_limit(std::slice::from_ref(facts), limits).pop();
        let found = Arc::new(prepared.or_else(usual).or_else(now)?.judged(limits));
        locked(&self.looked.seen).insert(key, Arc::clone(&found));
        Some(found)
    }

    /// Returns what lies on the bed in a pose, looked at once.
    pub fn first_layer(&self, pose: usize) -> Option<Arc<FirstLayer>> {
        let facts = self.poses.get(pose)?;
        if let Some(known) = locked(&self.looked.first_layers).get(&pose) {
            return Some(Arc::clone(known));
        }
        let prepared = Prepared::new(&self.mesh);
        let found = Arc::new(first_layer(
            &prepared.view(&facts.pose),
            if self.oriented { Filling::Winding } else { Filling::EvenOdd },
            Limits::default().layer_mm,
            facts.contact_mm2,
            facts.stability_mm,
            facts.centroid_height_mm,
        ));
        locked(&self.looked.first_layers).insert(pose, Arc::clone(&found));
        Some(found)
    }

    /// Returns where flats of the mesh face one another across air.
    pub fn facing(&self) -> &[Facing] {
        self.looked.facing.get_or_init(|| facing(&self.mesh, &self.rays()))
    }

    /// Returns where flats of the mesh lie back to back across material.
    pub fn opposing(&self) -> &[Facing] {
        self.looked.opposing.get_or_init(|| opposing(&self.mesh, &self.rays()))
    }

    /// Returns straight looks through the part; the tree for them is kept for all parts made from the same facts.
    pub fn rays(&self) -> Rays<'_> {
        if let Some(tree) = self.looked.tree.get() {
            return Rays::through(&self.mesh, Arc::clone(tree));
        }
        let tree = Arc::new(Tree::new(&self.mesh));
        Rays::through(&self.mesh, Arc::clone(self.looked.tree.get_or_init(|| tree)))
    }

    /// Returns the height of the lowest point in a direction, mm.
    pub fn lowest(&self, up: Vector) -> f64 {
        self.mesh.vertices.iter().map(|&v| dot(v, up)).fold(f64::INFINITY, f64::min)
    }
}

fn describe_defect(defect: &health::Defect) -> String {
    let [x, y, z] = defect.at;
    format!("{} x {}, the first at ({x:.2}, {y:.2}, {z:.2}) mm: {}", defect.count, defect.kind.name(), defect.words())
}

fn missing_face(name: &str, span: Span) -> Diagnostic {
    Diagnostic::error("face/not-on-mesh", span, format!("the mesh has no face \"{name}\" as described"))
        .hint("check the direction in the axes of the mesh file, or say where it is: `near (x mm, y mm, z mm)`")
}

/// What the layered analysis of a pose found.
pub struct LayerFacts {
    /// The longest bridge.
    pub bridge: Length,
    /// What prints by itself although it overhangs.
    pub bridged: Area,
    /// What is to stand on support.
    pub wants_support: Area,
    /// Where support could not be reached again.
    pub trapped: Area,
    /// ... where no way out is seen.
    pub shut_in: Area,
}

pub fn layer_facts(regions: &Regions) -> LayerFacts {
    let of = |kind: Kind| regions.list.iter().filter(move |r| r.kind == kind);
    // Bridges, and the crowns of lying holes.
    let by_itself = regions.list.iter().filter(|r| {
        matches!(r.verdict, Verdict::Bridge) || (matches!(r.verdict, Verdict::None) && r.kind == Kind::HoleCrown)
    });
    let stuck = regions.list.iter().filter(|r| matches!(r.verdict, Verdict::Trapped | Verdict::Redesign));
    LayerFacts {
        bridge: Length::mm(of(Kind::Bridge).filter_map(|r| r.span_mm).fold(0.0, f64::max)),
        bridged: Area::mm2(by_itself.map(|r| r.area_mm2).sum()),
        wants_support: Area::mm2(regions.support_contact_mm2),
        trapped: Area::mm2(stuck.clone().map(|r| r.area_mm2).sum()),
        shut_in: Area::mm2(stuck.filter(|r| r.openness <= 0.0).map(|r| r.area_mm2).sum()),
    }
}

/// Whether the part rests on a face.
pub(super) fn rests_on(spec: &Spec, face: &Face) -> bool {
    let mut holds = spec.loads.iter().flat_map(|l| &l.holds);
    holds.any(|h| h.value.rests && h.value.at.face() == Some(face.name.value.as_str()))
}

fn find_face(face: &Face, rests: bool, mesh: &Mesh, rival: f64, diagnostics: &mut Vec<Diagnostic>) -> Option<Patch> {
    let stated = face.near.map(|p| p.value.map(|l| l.to_mm()));
    let near = stated.or_else(|| super::places::outermost(face, mesh, rival).filter(|_| rests));
    let found = match (face.toward, near) {
        (Some(toward), near) => patch::find(mesh, toward.value.0, near),
        (None, Some(near)) => patch::at(mesh, near),
        (None, None) => None,
    };
    diagnostics.extend(super::places::ambiguous(face, rests, mesh, rival));
    diagnostics.extend(found.as_ref().and_then(|taken| super::places::far_from(face, taken, mesh)));
    if found.is_none() && (face.toward.is_some() || near.is_some()) {
        diagnostics.push(missing_face(&face.name.value, face.span));
    }
    found
}

impl<'q> Question<'q> {
    fn of(spec: &Spec, faces: &[Option<Patch>], means: &Means<'q>) -> Self {
        let mut directions: Vec<Vector> = faces.iter().flatten().map(|p| p.normal).collect();
        directions.extend(spec.loads.iter().filter_map(|l| l.direction).map(|d| d.value.0));
        directions.extend(spec.fits.iter().filter_map(|f| f.along).map(|d| d.value.0));
        let on_bed = spec.faces.iter().zip(faces).filter(|(f, _)| f.on_bed);
        let mut demanded: Vec<Vector> = on_bed.filter_map(|(_, p)| Some(scale(p.as_ref()?.normal, -1.0))).collect();
        for pin in spec.pins.iter().filter(|p| p.decision.value == Decision::Pose) {
            match &pin.value.value {
                ChoiceValue::Up(up) => demanded.push(up.0),
                ChoiceValue::Named(name) => demanded.extend(pose::read(name)),
                ChoiceValue::OnFace(name) => {
                    let face = spec.faces.iter().position(|f| f.name.value == *name);
                    let patch = face.and_then(|i| faces.get(i)?.as_ref());
                    demanded.extend(patch.map(|p| scale(p.normal, -1.0)));
                }
                _ => {}
            }
        }
        Self { directions, demanded, asked: means.asked, angles: means.angles, flat: means.flat, spot: means.spot }
    }
}

impl Facts {
    /// Returns the facts as bytes, to the last bit.
    pub fn to_bytes(&self) -> Vec<u8> {
        let mut bytes = Vec::new();
        self.put(&mut bytes);
        bytes
    }

    /// Returns the facts that were put into these bytes; `None` where they make no sense.
    pub fn from_bytes(bytes: &[u8]) -> Option<Self> {
        whole(bytes)
    }

    fn find(mesh: &Mesh, question: &Question<'_>) -> Self {
        let (prepared, health, (features, walls)) = Prepared::examined(mesh, |p| features_and_walls(mesh, p));
        let mass = mass::measure(mesh, &health);
        let own_axes = mass.own_axes();
        let (poses, asked) = find_poses(question, &prepared, plain_ways(&own_axes));
        let at = |angle: &f64| {
            let mut limits = Limits::default();
            limits.overhang_deg.value = *angle;
            (*angle, prepared.at_limit(&poses, &limits))
        };
        let by_angle = question.angles.iter().map(at).collect();
        let oriented = health.oriented && !health.has(health::DefectKind::InsideOut);
        let walls = if oriented { walls } else { Walls::default() };
        Self {
            volume_mm3: mass.volume_mm3.filter(|v| *v > 0.0),
            area_mm2: mass.area_mm2,
            closed: health.closed,
            oriented,
            pieces: health.shells.len(),
            defects: health.defects.iter().map(describe_defect).collect(),
            doubts: health.doubts.iter().map(|d| d.message.clone()).chain(several_bodies(&health)).collect(),
            poses: Arc::new(poses),
            asked,
            by_angle: Arc::new(by_angle),
            features: Arc::new(features),
            own_axes,
            thinnest: walls.thinnest,
            broad: walls.thinnest_beyond(
                mesh,
                question.spot.mm2.min(question.spot.share * mass.area_mm2),
                mass.area_mm2,
            ),
            parallel: walls.thinnest_parallel(mesh),
            narrowest: walls.narrowest,
            cavities: cavity::find(&health),
            looked: SharedLooks::default(),
        }
    }

    /// Whether no facet is named that the mesh has not, and all lists go together: what is kept is ours, but to be wrong
    /// about it must not be a crash.
    fn are_of(&self, mesh: &Mesh) -> bool {
        let regions = |r: &Option<Regions>| {
            r.iter().flat_map(|r| &r.list).flat_map(|r| &r.facets).all(|&t| (t as usize) < mesh.triangles.len())
        };
        let by_angle = self.by_angle.iter().map(|(_, list)| list);
        self.poses.iter().all(|p| regions(&p.regions))
            && by_angle.clone().all(|list| list.len() == self.poses.len())
            && by_angle.flatten().all(|o| regions(&o.regions))
    }
}

/// Returns the directions along which a person would lay a part without a flat side: the axes of the file, which is how it was
/// drawn, and those of its mass. Those of what is round on it are none: a bent rod is round along each of its facets.
fn plain_ways(own_axes: &[Vector]) -> Vec<Vector> {
    FILE_AXES.into_iter().chain(own_axes.iter().copied()).collect()
}

/// Finds the poses, and which of them is there only because somebody asked about it.
fn find_poses(question: &Question<'_>, prepared: &Prepared<'_>, plain: Vec<Vector>) -> (Vec<PoseFacts>, Option<usize>) {
    let mut options = PoseOptions { keep: POSES, flat: question.flat, ..PoseOptions::default() };
    options.wanted.along.extend(question.directions.iter().copied());
    options.distinguish = question.directions.clone();
    let mut poses = prepared.poses(&options);
    if !poses.iter().any(|p| p.stands(&question.flat)) {
        options.wanted.plain = plain;
        poses = prepared.poses(&options);
    }
    let facts = |up: Vector| Pose::new(up).map(|pose| prepared.facts_in_pose(&pose, &options));
    let near = |a: Vector, b: Vector| dot(a, b) > ONE_POSE;
    // What the spec names is a pose the search has to see, however it ranks.
    for &up in &question.demanded {
        if !poses.iter().any(|p| near(p.pose.up, up)) {
            poses.extend(facts(up));
        }
    }
    let unknown = |up: &Vector| !poses.iter().any(|p| near(p.pose.up, *up) || p.equals.iter().any(|e| near(*e, *up)));
    let asked = question.asked.filter(unknown).and_then(facts);
    let index = asked.is_some().then_some(poses.len());
    poses.extend(asked);
    (poses, index)
}

/// Sine beyond which a facet is neither upright nor level: less is the rounding of a file.
const SLANTS: f64 = 0.02;

fn place_load(spec: &Spec, load: &Load, mesh: &Mesh, faces: &[Option<Patch>]) -> Option<LoadPath> {
    let direction = load.direction.map(|d| d.value.0);
    let force_n = match (load.force, direction) {
        (Some(force), Some(d)) => scale(d, force.value.to_n()),
        (Some(force), None) => scale([0.0, 0.0, -1.0], force.value.to_n()),
        (None, _) => [0.0; 3],
    };
    let torque_nmm = match load.torque {
        Some(torque) => scale(direction.unwrap_or([0.0, 0.0, 1.0]), torque.value.to_nm() * 1e3),
        None => [0.0; 3],
    };
    let by_cuts = |w: &Where| matches!(w, Where::Face(_) | Where::Point(_));
    if norm(force_n) + norm(torque_nmm) <= 0.0
        || !load.places().all(|(w, _)| by_cuts(w))
        || load.holds.iter().any(|h| h.value.rests)
    {
        return None;
    }
    let place = |place: Option<&Where>| -> Option<Place> {
        match place? {
            Where::Fit(_) | Where::Inside | Where::Throughout => None,
            Where::Point(p) => Some(Place::Point(p.map(|l| l.to_mm()))),
            Where::Face(name) => {
                let index = spec.faces.iter().position(|f| f.name.value == *name)?;
                faces.get(index)?.clone().map(Place::Patch)
            }
        }
    };
    // A face said to be `near` a place is loaded there, not at the middle of its patch.
    let near = |name: &str| spec.faces.iter().find(|f| f.name.value == name).and_then(|f| f.near);
    let stated = load.at.as_ref().map(|w| &w.value);
    let at = match stated {
        Some(Where::Face(name)) => match near(name) {
            Some(spot) => Some(Place::Point(spot.value.map(|l| l.to_mm()))),
            None => place(stated),
        },
        _ => place(stated),
    };
    let action = Action { force_n, torque_nmm };
    let mut path = LoadPath::place(mesh, action, place(load.fixed()), at)?;
    if direction.is_none() {
        path.assumed.push(if load.torque.is_some() { Taken::Turning } else { Taken::Pushing });
    }
    Some(path)
}

impl Cutter for &Slicer<'_> {
    fn local(&self, at: Point, normal: Vector) -> Option<Cut> {
        Slicer::local(self, at, normal).and_then(in_part_axes)
    }

    fn between(&self, at: Point, normal: Vector, ends: &[Vec<Anchor>; 2]) -> Option<Cut> {
        Slicer::between(self, at, normal, ends).and_then(in_part_axes)
    }
}

/// Returns a section's properties in part axes.
pub(super) fn in_part_axes(found: Section) -> Option<Cut> {
    let p = found.properties.as_ref()?;
    let (sin, cos) = p.principal_angle.sin_cos();
    let axes = [[cos, sin], [-sin, cos]];
    Some(Cut {
        area_mm2: p.area_mm2,
        centroid: found.frame.to_space(p.centroid),
        axes: axes.map(|a| found.frame.direction(a)),
        inertia_mm4: p.principal_mm4,
        reach_mm: axes.map(|a| {
            let [right, left] = p.reach(&found, a);
            right.max(left)
        }),
        section: Some(found),
    })
}
/// Asks about a mesh that is not one body; a cavity is of the body around it.
fn several_bodies(health: &health::Health) -> Option<String> {
    let bodies = health.shells.iter().filter(|s| s.volume_mm3.is_none_or(|v| v > 0.0)).count();
    (bodies > 1).then(|| {
        format!(
            "the mesh is {bodies} bodies that are joined nowhere, apart or one within another: are they one part, printed together \
             as they lie? If not, export each by itself, or name one by `object`"
        )
    })
}
