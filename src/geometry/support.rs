//! What support would cost: its volume, what it touches, and which faces it would mark.

use serde::Serialize;

use super::mesh::Mesh;
use super::regions::{Regions, Verdict};
use super::vector::{Vector, dot, normalise};

/// Support in one pose, summed over the regions that need it.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize)]
pub struct Support {
    /// Volume between the regions and whatever is below them, mm³: what is filled at some density.
    pub volume_mm3: f64,
    /// Area it touches from below, mm².
    pub contact_mm2: f64,
    /// Area of the part it stands on, mm².
    pub on_part_mm2: f64,
    /// Regions that need it, those where it could not come out, and those where it could not even be put.
    pub regions: usize,
    pub trapped: usize,
    pub redesign: usize,
}

/// Sums up the support of a pose.
pub fn support(regions: &Regions) -> Support {
    let count = |verdict: Verdict| regions.list.iter().filter(|r| r.verdict == verdict).count();
    let (trapped, redesign) = (count(Verdict::Trapped), count(Verdict::Redesign));
    Support {
        volume_mm3: regions.support_mm3,
        contact_mm2: regions.support_contact_mm2,
        on_part_mm2: regions.support_on_part_mm2,
        regions: count(Verdict::Support) + trapped + redesign,
        trapped,
        redesign,
    }
}

/// Returns the area, mm², that support would mark on the faces looking towards a part direction (within `within_deg`
/// degrees of it): facets of regions that need support.
pub fn marked_mm2(mesh: &Mesh, regions: &Regions, toward: Vector, within_deg: f64) -> f64 {
    let (toward, least) = (normalise(toward), within_deg.to_radians().cos());
    let facets = regions.list.iter().filter(|r| r.needs_support()).flat_map(|r| &r.facets);
    facets
        .map(|&t| mesh.normal_area(t as usize))
        .filter(|(normal, _)| dot(*normal, toward) >= least)
        .fold(0.0, |sum, (_, area)| sum + area)
}

#[cfg(test)]
mod tests {
    use super::super::pose::Pose;
    use super::super::pose::candidates::tests::block;
    use super::super::regions::limits::Limits;
    use super::super::survey::Prepared;
    use super::*;

    #[test]
    fn a_block_in_the_air_is_marked_on_its_underside_only() {
        let mut mesh = block([40.0, 40.0, 4.0]);
        let hanging = block([20.0, 20.0, 6.0]);
        assert!(
            mesh.append(&hanging.transformed(&[[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]], [10.0, 10.0, 20.0]))
        );
        let regions = Prepared::new(&mesh).regions(&Pose::as_placed(), &Limits::default());
        let found = support(&regions);
        assert_eq!((found.regions, found.trapped), (1, 0));
        assert!((found.volume_mm3 - 20.0 * 20.0 * 16.0).abs() < 1e-6 && (found.contact_mm2 - 400.0).abs() < 1e-9);
        assert!((marked_mm2(&mesh, &regions, [0.0, 0.0, -1.0], 10.0) - 400.0).abs() < 1e-9);
        assert_eq!(marked_mm2(&mesh, &regions, [0.0, 1.0, 0.0], 10.0), 0.0);
    }
}
