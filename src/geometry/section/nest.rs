//! Which outline lies in which.

use super::{Point2, Region};

/// Returns twice the signed area.
pub(super) fn area2(outline: &[Point2]) -> f64 {
    let Some(&origin) = outline.first() else { return 0.0 };
    let local = |p: Point2| [p[0] - origin[0], p[1] - origin[1]];
    pairs(outline)
        .map(|(p, q)| {
            let (p, q) = (local(p), local(q));
            p[0] * q[1] - q[0] * p[1]
        })
        .sum()
}

/// Yields each side of an outline, the closing one included.
pub(super) fn pairs(outline: &[Point2]) -> impl Iterator<Item = (Point2, Point2)> {
    outline.iter().copied().zip(outline.iter().copied().cycle().skip(1))
}

struct Outline {
    points: Vec<Point2>,
    /// Twice the signed area.
    area2: f64,
    min: Point2,
    max: Point2,
    /// Outlines around this one.
    around: Vec<usize>,
}

impl Outline {
    fn new(points: Vec<Point2>) -> Self {
        let fold = |f: fn(f64, f64) -> f64, start| {
            points.iter().fold([start; 2], |m: Point2, p| [f(m[0], p[0]), f(m[1], p[1])])
        };
        let (min, max) = (fold(f64::min, f64::INFINITY), fold(f64::max, f64::NEG_INFINITY));
        Self { area2: area2(&points), min, max, around: Vec::new(), points }
    }

    /// Returns whether `p` lies inside, by counting the sides to its right (half-open, so corners count once).
    fn contains(&self, p: Point2) -> bool {
        if (0..2).any(|k| p[k] < self.min[k] || p[k] > self.max[k]) {
            return false;
        }
        pairs(&self.points)
            .filter(|(a, b)| (a[1] > p[1]) != (b[1] > p[1]))
            .filter(|(a, b)| p[0] < a[0] + (p[1] - a[1]) / (b[1] - a[1]) * (b[0] - a[0]))
            .count()
            % 2
            == 1
    }
}

/// Sorts outlines into regions by how often they wind around the material (the nonzero rule): material within material
/// counts once, islands in holes are kept. Also returns whether even and odd had to be used instead.
pub(super) fn regions(outlines: Vec<Vec<Point2>>) -> (Vec<Region>, bool) {
    let mut all: Vec<Outline> = outlines.into_iter().map(Outline::new).filter(|o| o.area2 != 0.0).collect();
    // Large ones first: whatever lies around an outline then stands before it.
    all.sort_by(|a, b| b.area2.abs().total_cmp(&a.area2.abs()));
    for i in 1..all.len() {
        let around: Vec<usize> = (0..i).filter(|&o| all[o].contains(all[i].points[0])).collect();
        all[i].around = around;
    }
    let sign = |o: &Outline| if o.area2 > 0.0 { 1_i32 } else { -1 };
    let winding = |o: &Outline| o.around.iter().map(|&a| sign(&all[a])).sum::<i32>();
    let uneven = all.iter().any(|o| winding(o) <= 0 && sign(o) < 0);
    let is_outer: Vec<Option<bool>> = all
        .iter()
        .map(|o| {
            if uneven {
                return Some(o.around.len() % 2 == 0);
            }
            let outside = winding(o);
            match (outside > 0, outside + sign(o) > 0) {
                (false, true) => Some(true),
                (true, false) => Some(false),
                _ => None,
            }
        })
        .collect();
    (collect(all, &is_outer), uneven)
}

fn collect(all: Vec<Outline>, is_outer: &[Option<bool>]) -> Vec<Region> {
    let mut region_of = vec![usize::MAX; all.len()];
    let mut regions: Vec<Region> = Vec::new();
    for (i, outline) in all.into_iter().enumerate() {
        // Outer outlines wind counter-clockwise, holes clockwise.
        let turned = |mut points: Vec<Point2>, wrong: bool| {
            if wrong {
                points.reverse();
            }
            points
        };
        match is_outer[i] {
            Some(true) => {
                region_of[i] = regions.len();
                regions.push(Region { outer: turned(outline.points, outline.area2 < 0.0), holes: Vec::new() });
            }
            Some(false) => {
                // The last of those around is the smallest, for they are in order of area.
                let owner = outline.around.iter().rev().find(|&&a| is_outer[a] == Some(true));
                if let Some(&owner) = owner {
                    regions[region_of[owner]].holes.push(turned(outline.points, outline.area2 > 0.0));
                }
            }
            None => {}
        }
    }
    regions
}

#[cfg(test)]
mod tests {
    use super::*;

    fn square(half: f64, clockwise: bool) -> Vec<Point2> {
        let mut s = vec![[-half, -half], [half, -half], [half, half], [-half, half]];
        if clockwise {
            s.reverse();
        }
        s
    }

    #[test]
    fn an_island_in_a_hole_is_a_region_of_its_own() {
        let (regions, uneven) = regions(vec![square(1.0, false), square(3.0, false), square(2.0, true)]);
        assert!(!uneven);
        assert_eq!(regions.len(), 2);
        assert_eq!((regions[0].holes.len(), regions[1].holes.len()), (1, 0));
    }

    #[test]
    fn material_within_material_counts_once() {
        let (regions, _) = regions(vec![square(3.0, false), square(2.0, false)]);
        assert_eq!(regions.len(), 1);
        assert!(regions[0].holes.is_empty());
    }

    #[test]
    fn outlines_all_the_wrong_way_round_are_nested_by_even_and_odd() {
        let (regions, uneven) = regions(vec![square(3.0, true), square(2.0, true)]);
        assert!(uneven);
        assert_eq!((regions.len(), regions[0].holes.len()), (1, 1));
        assert!(area2(&regions[0].outer) > 0.0 && area2(&regions[0].holes[0]) < 0.0);
    }
}
