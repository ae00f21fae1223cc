//! Patches: connected facets that face one way, the geometric side of "the face toward -x".

use std::collections::HashMap;

use super::anchor::Anchor;
use super::mesh::{Mesh, Point};
use super::pose::facets::LIMIT_SLACK;
use super::vector::{Vector, add, distance, dot, scale, sub};

/// Facets within this angle of a direction face that way (cosine of 12°: past a chord of a fine fillet, short of a chamfer).
const FACING: f64 = 0.978;

/// Connected facets that face roughly one way.
#[derive(Debug, Clone, PartialEq)]
pub struct Patch {
    /// Facet indices, ascending.
    pub facets: Vec<u32>,
    /// Area of the facets together.
    pub area_mm2: f64,
    /// Area-weighted centre of the facets, mm.
    pub centre: Point,
    /// Area-weighted mean normal, not normalised below one facet's worth of rounding.
    pub normal: Vector,
}

impl Patch {
    /// Returns a place on the patch by which to name it.
    pub fn place(&self, mesh: &Mesh) -> Point {
        place_on(mesh, &self.facets, self.centre)
    }
}

/// Returns a place on some facets by which to name them: their centre, or where that lies beside them, as in a ring's hole, the
/// middle of the largest of them.
pub fn place_on(mesh: &Mesh, facets: &[u32], centre: Point) -> Point {
    let beside = |on: Anchor| distance(on.point, centre) > BESIDE_MM;
    if !Anchor::nearest(mesh, Some(facets), centre).is_some_and(beside) {
        return centre;
    }
    let area = |t: u32| mesh.normal_area(t as usize).1;
    // Of equal ones the first.
    let largest = facets.iter().copied().reduce(|best, t| if area(t) > 1.000_001 * area(best) { t } else { best });
    largest.map_or(centre, |t| mesh.centre(t as usize))
}

/// A centre farther than this off its patch lies beside it, mm.
const BESIDE_MM: f64 = 0.5;

/// Returns the connected patches facing `direction` (a unit vector), largest area first, ties by first facet.
///
/// Facets are connected where they share an edge. Degenerate facets belong to none.
pub fn facing(mesh: &Mesh, direction: Vector) -> Vec<Patch> {
    let chosen: Vec<u32> = (0..mesh.triangles.len())
        .filter(|&t| {
            let (normal, area) = mesh.normal_area(t);
            area > 0.0 && dot(normal, direction) >= FACING
        })
        .map(|t| t as u32)
        .collect();
    collect(mesh, &chosen)
}

/// Returns the patch toward `direction` that is meant by `near`: the nearest to it, or, without one, the largest.
pub fn find(mesh: &Mesh, direction: Vector, near: Option<Point>) -> Option<Patch> {
    let patches = facing(mesh, direction);
    match near {
        None => patches.into_iter().next(),
        Some(place) => patches.into_iter().min_by(|a, b| nearness(mesh, a, place).total_cmp(&nearness(mesh, b, place))),
    }
}

/// Returns the patch nearest to a place, whichever way it faces, among the patches of the six axis directions and the facet there.
pub fn at(mesh: &Mesh, place: Point) -> Option<Patch> {
    let nearest = (0..mesh.triangles.len())
        .filter(|&t| mesh.normal_area(t).1 > 0.0)
        .min_by(|&a, &b| facet_distance(mesh, a, place).total_cmp(&facet_distance(mesh, b, place)))?;
    find(mesh, mesh.normal_area(nearest).0, Some(place))
}

/// Returns the largest flat patch of the mesh, and its normal.
pub fn largest_flat(mesh: &Mesh) -> Option<Patch> {
    // Sum area by rounded normal first, so that only the few most promising directions are traced.
    let mut by_normal: HashMap<[i32; 3], f64> = HashMap::new();
    for t in 0..mesh.triangles.len() {
        let (normal, area) = mesh.normal_area(t);
        *by_normal.entry(normal.map(|c| (c * 500.0).round() as i32)).or_default() += area;
    }
    let mut ranked: Vec<([i32; 3], f64)> = by_normal.into_iter().collect();
    ranked.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
    ranked
        .iter()
        .take(12)
        .filter_map(|(key, _)| {
            let direction = super::vector::normalise(key.map(f64::from));
            facing(mesh, direction).into_iter().next()
        })
        .max_by(|a, b| a.area_mm2.total_cmp(&b.area_mm2).then_with(|| b.facets.cmp(&a.facets)))
}

/// Returns the area, mm², of those facets of a patch that face down more steeply than `limit` radians from vertical allows
/// with `up` (a unit vector) upward.
pub fn overhanging_mm2(mesh: &Mesh, patch: &Patch, up: Vector, limit: f64) -> f64 {
    // The underside of a slope that far from vertical dips as far below the horizon.
    let steep = -(limit.sin() + LIMIT_SLACK);
    let facets = patch.facets.iter().map(|&t| mesh.normal_area(t as usize));
    facets.filter(|(normal, _)| dot(*normal, up) < steep).fold(0.0, |sum, (_, area)| sum + area)
}

fn facet_distance(mesh: &Mesh, t: usize, place: Point) -> f64 {
    mesh.corners(t).iter().map(|&c| distance(c, place)).fold(distance(mesh.centre(t), place), f64::min)
}

fn nearness(mesh: &Mesh, patch: &Patch, place: Point) -> f64 {
    let corner = patch.facets.iter().map(|&t| facet_distance(mesh, t as usize, place)).fold(f64::INFINITY, f64::min);
    corner.min(distance(patch.centre, place))
}

fn collect(mesh: &Mesh, chosen: &[u32]) -> Vec<Patch> {
    let mut parent: Vec<usize> = (0..chosen.len()).collect();
    let mut first_at: HashMap<(u32, u32), usize> = HashMap::new();
    for (i, &t) in chosen.iter().enumerate() {
        let corners = mesh.triangles[t as usize];
        for k in 0..3 {
            let (a, b) = (corners[k], corners[(k + 1) % 3]);
            let edge = (a.min(b), a.max(b));
            match first_at.get(&edge) {
                Some(&j) => join(&mut parent, i, j),
                None => {
                    first_at.insert(edge, i);
                }
            }
        }
    }
    let mut members: HashMap<usize, Vec<u32>> = HashMap::new();
    for i in 0..chosen.len() {
        let root = root(&mut parent, i);
        members.entry(root).or_default().push(chosen[i]);
    }
    let mut patches: Vec<Patch> = members.into_values().map(|facets| measure(mesh, facets)).collect();
    patches.sort_by(|a, b| b.area_mm2.total_cmp(&a.area_mm2).then_with(|| a.facets.cmp(&b.facets)));
    patches
}

fn root(parent: &mut [usize], mut i: usize) -> usize {
    while parent[i] != i {
        parent[i] = parent[parent[i]];
        i = parent[i];
    }
    i
}

fn join(parent: &mut [usize], a: usize, b: usize) {
    let (a, b) = (root(parent, a), root(parent, b));
    // The smaller index stays root, so that the result does not depend on the order of joining.
    parent[a.max(b)] = a.min(b);
}

fn measure(mesh: &Mesh, facets: Vec<u32>) -> Patch {
    // Relative to the first corner, so that a part far from the origin keeps its digits.
    let origin = facets.first().map_or([0.0; 3], |&t| mesh.corners(t as usize)[0]);
    let (mut area_mm2, mut moment, mut normal) = (0.0, [0.0; 3], [0.0; 3]);
    for &t in &facets {
        let (n, area) = mesh.normal_area(t as usize);
        area_mm2 += area;
        moment = add(moment, scale(sub(mesh.centre(t as usize), origin), area));
        normal = add(normal, scale(n, area));
    }
    let centre = if area_mm2 > 0.0 { add(origin, scale(moment, 1.0 / area_mm2)) } else { origin };
    Patch { facets, area_mm2, centre, normal: super::vector::normalise(normal) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::samples::block;

    #[test]
    fn a_block_has_one_patch_each_way_with_its_centre() {
        let part = block([40.0, 20.0, 10.0]);
        let top = find(&part, [0.0, 0.0, 1.0], None).unwrap();
        assert_eq!((top.area_mm2, top.centre, top.facets.len()), (800.0, [20.0, 10.0, 10.0], 2));
        assert_eq!(facing(&part, [0.0, 0.0, 1.0]).len(), 1);
        assert_eq!(largest_flat(&part).unwrap().area_mm2, 800.0);
        assert_eq!(at(&part, [40.0, 10.0, 5.0]).unwrap().normal, [1.0, 0.0, 0.0]);
    }

    #[test]
    fn what_overhangs_of_a_face_hangs_on_the_limit() {
        let part = block([40.0, 20.0, 10.0]);
        let side = find(&part, [1.0, 0.0, 0.0], None).unwrap();
        // Leaning over by 50 degrees from vertical: beyond 45, within 55.
        let (s, c) = 50_f64.to_radians().sin_cos();
        let over = |limit: f64| overhanging_mm2(&part, &side, [-s, 0.0, c], limit.to_radians());
        assert!((over(45.0) - 200.0).abs() < 1e-9);
        assert_eq!((over(50.0), over(55.0)), (0.0, 0.0));
    }

    #[test]
    fn two_steps_facing_up_are_two_patches_and_near_tells_them_apart() {
        let mut part = block([10.0, 10.0, 10.0]);
        let high = block([10.0, 10.0, 30.0])
            .transformed(&[[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]], [50.0, 0.0, 0.0]);
        assert!(part.append(&high));
        assert_eq!(facing(&part, [0.0, 0.0, 1.0]).len(), 2);
        assert_eq!(find(&part, [0.0, 0.0, 1.0], Some([55.0, 5.0, 30.0])).unwrap().centre, [55.0, 5.0, 30.0]);
        assert_eq!(find(&part, [0.0, 1.0, 0.0], None).unwrap().area_mm2, 300.0);
        assert_eq!(find(&part, [0.6, 0.6, 0.53], None), None);
    }
}
