//! Which features of the mesh can be the ones a fit speaks of; too few, too many and contested ones are told with places.

use super::feature::FeatureKind;
use super::function::mm;
use crate::quantity::{Length, trim_number};
use std::collections::{BTreeMap, BTreeSet};

/// A cylindrical feature found in the mesh.
#[derive(Debug, Clone, PartialEq)]
pub struct FoundFeature {
    /// Its name, `hole 3`.
    pub name: String,
    pub kind: FeatureKind,
    pub diameter: Length,
    /// Direction of the axis; its sense does not matter.
    pub axis: [f64; 3],
    /// A point on the axis, in millimetres in the mesh's frame.
    pub centre: [f64; 3],
}

/// What a fit looks for.
#[derive(Debug, Clone, PartialEq)]
pub struct Wanted {
    /// The fit's name in the spec.
    pub name: String,
    pub kind: FeatureKind,
    /// Sizes at which the feature may have been modelled: nominal and with the allowance.
    pub sizes: Vec<Length>,
    /// How far from these a modelled size may lie.
    pub within: Length,
    /// How much farther, where so near there are too few, on the side to which sizes are modelled: holes wider, pins thinner.
    pub beyond: Length,
    pub count: usize,
    /// Direction of the axis, where the spec gives one.
    pub along: Option<[f64; 3]>,
    /// A point the feature is near, where the spec gives one.
    pub near: Option<[f64; 3]>,
}

/// What is wrong with a fit's features.
#[derive(Debug, Clone, PartialEq)]
pub enum Problem {
    /// Fewer than wanted; the near misses are the features that fail by size or axis only, nearest in size first.
    TooFew { found: usize, near_misses: Vec<usize> },
    /// More than wanted, and nothing tells them apart.
    TooMany { found: usize },
    /// Another fit claims the same feature.
    Contested { feature: usize, other: usize },
}

/// The features chosen for one fit (indices), in the mesh's order, and what is wrong, if anything.
#[derive(Debug, Clone, PartialEq)]
pub struct Matched {
    pub features: Vec<usize>,
    pub problem: Option<Problem>,
}

/// Axes within this angle count as parallel: cos 5 degrees.
const PARALLEL: f64 = 0.996_194_698;

/// Assigns features to fits.
///
/// A fit first takes what fits its kind, size and axis; where that is too many, only those at one of its exact sizes (within
/// 0.03 mm), then those nearest its point; features that another fit has for certain are left out.
pub fn match_features(wanted: &[Wanted], features: &[FoundFeature]) -> Vec<Matched> {
    let mut candidates: Vec<Vec<usize>> =
        wanted.iter().map(|w| narrowed(w, candidates_for(w, features), features)).collect();
    // A fit that is settled takes its features from the others; repeat until nothing changes (at most once a fit).
    for _ in 0..wanted.len() {
        let settled: Vec<bool> = wanted.iter().zip(&candidates).map(|(w, c)| c.len() == w.count).collect();
        let taken: BTreeSet<usize> =
            candidates.iter().zip(&settled).filter(|(_, s)| **s).flat_map(|(c, _)| c.iter().copied()).collect();
        let mut changed = false;
        for i in 0..wanted.len() {
            if settled.get(i).copied().unwrap_or(true) {
                continue;
            }
            if let (Some(own), Some(w)) = (candidates.get_mut(i), wanted.get(i)) {
                let before = own.len();
                let rest: Vec<usize> = own.iter().copied().filter(|f| !taken.contains(f)).collect();
                if rest.len() >= w.count && rest.len() < before {
                    *own = narrowed(w, rest, features);
                    changed = true;
                }
            }
        }
        if !changed {
            break;
        }
    }
    let claims = claims(&candidates);
    wanted.iter().enumerate().map(|(i, w)| judge(i, w, &candidates, &claims, features)).collect()
}

fn judge(i: usize, w: &Wanted, candidates: &[Vec<usize>], claims: &Claims, features: &[FoundFeature]) -> Matched {
    let own = candidates.get(i).cloned().unwrap_or_default();
    let contested = own.iter().find_map(|f| claims.get(f)?.iter().find(|other| **other != i).map(|other| (*f, *other)));
    let problem = if own.len() < w.count {
        Some(Problem::TooFew { found: own.len(), near_misses: near_misses(w, &own, features) })
    } else if own.len() > w.count {
        Some(Problem::TooMany { found: own.len() })
    } else {
        contested.map(|(feature, other)| Problem::Contested { feature, other })
    };
    Matched { features: own, problem }
}

/// Which fits claim each feature.
type Claims = BTreeMap<usize, Vec<usize>>;

fn claims(candidates: &[Vec<usize>]) -> Claims {
    let mut claims = Claims::new();
    for (fit, own) in candidates.iter().enumerate() {
        for feature in own {
            claims.entry(*feature).or_default().push(fit);
        }
    }
    claims
}

fn off_size(w: &Wanted, f: &FoundFeature) -> f64 {
    w.sizes.iter().map(|s| (s.to_um() - f.diameter.to_um()).abs()).fold(f64::INFINITY, f64::min)
}

fn parallel(a: [f64; 3], b: [f64; 3]) -> bool {
    let dot = |a: [f64; 3], b: [f64; 3]| a.iter().zip(b).map(|(x, y)| x * y).sum::<f64>();
    let lengths = (dot(a, a) * dot(b, b)).sqrt();
    lengths > 0.0 && dot(a, b).abs() >= PARALLEL * lengths
}

fn candidates_for(w: &Wanted, features: &[FoundFeature]) -> Vec<usize> {
    let alike = |f: &FoundFeature| f.kind == w.kind && w.along.is_none_or(|a| parallel(a, f.axis));
    let within = |room: f64| {
        let fits = |f: &FoundFeature| alike(f) && off_size(w, f) <= room + 1e-6;
        features.iter().enumerate().filter(|(_, f)| fits(f)).map(|(i, _)| i).collect::<Vec<_>>()
    };
    let near = within(w.within.to_um());
    if near.len() >= w.count.max(1) {
        return near;
    }
    // As a recipe asks it to be modelled, a wide bore of a polymer that shrinks lies far from its nominal size.
    let modelled = |f: &FoundFeature| {
        w.sizes.iter().any(|s| match w.kind {
            FeatureKind::Hole => f.diameter.to_um() >= s.to_um(),
            _ => f.diameter.to_um() <= s.to_um(),
        })
    };
    let far = within(w.within.to_um() + w.beyond.to_um());
    far.into_iter().filter(|i| near.contains(i) || features.get(*i).is_some_and(modelled)).collect()
}

/// Narrows too many candidates down: exact sizes first, then the nearest to the stated point.
fn narrowed(w: &Wanted, found: Vec<usize>, features: &[FoundFeature]) -> Vec<usize> {
    if found.len() <= w.count {
        return found;
    }
    let exact: Vec<usize> =
        found.iter().copied().filter(|i| features.get(*i).is_some_and(|f| off_size(w, f) <= 30.0)).collect();
    let pool = if exact.len() >= w.count { exact } else { found };
    let Some(point) = w.near else { return pool };
    let mut by_distance = pool;
    by_distance.sort_by(|a, b| {
        let distance = |i: &usize| features.get(*i).map_or(f64::INFINITY, |f| axis_distance(f, point));
        distance(a).total_cmp(&distance(b)).then(a.cmp(b))
    });
    by_distance.truncate(w.count);
    by_distance.sort_unstable();
    by_distance
}

/// Distance of a point from the feature's axis, and a little of the distance along it so that coaxial features differ.
fn axis_distance(f: &FoundFeature, point: [f64; 3]) -> f64 {
    let d = [point[0] - f.centre[0], point[1] - f.centre[1], point[2] - f.centre[2]];
    let length = f.axis.iter().map(|c| c * c).sum::<f64>().sqrt();
    let square: f64 = d.iter().map(|c| c * c).sum();
    if length <= 0.0 {
        return square.sqrt();
    }
    let along = d.iter().zip(f.axis).map(|(a, b)| a * b).sum::<f64>() / length;
    (square - along * along).max(0.0).sqrt() + 0.01 * along.abs()
}

/// Features that are no candidates but near ones: the same kind, size within 30 %.
fn near_misses(w: &Wanted, own: &[usize], features: &[FoundFeature]) -> Vec<usize> {
    let own: BTreeSet<usize> = own.iter().copied().collect();
    let mut misses: Vec<usize> = features
        .iter()
        .enumerate()
        .filter(|(i, f)| f.kind == w.kind && !own.contains(i) && off_size(w, f) <= 0.3 * f.diameter.to_um())
        .map(|(i, _)| i)
        .collect();
    misses.sort_by(|a, b| {
        // Whole micrometres: equal holes stay in the mesh's order whatever the rounding of their corners.
        let off = |i: &usize| features.get(*i).map_or(f64::INFINITY, |f| off_size(w, f).round());
        off(a).total_cmp(&off(b)).then(a.cmp(b))
    });
    misses
}

fn place(f: &FoundFeature) -> String {
    let at: Vec<String> = f.centre.iter().map(|c| trim_number(*c, 1)).collect();
    format!("{} (d {}, at {})", f.name, mm(f.diameter), at.join(", "))
}

/// Returns message and hint for a problem, with the places.
pub fn explain(
    i: usize,
    wanted: &[Wanted],
    matched: &[Matched],
    features: &[FoundFeature],
) -> Option<(String, String)> {
    let (w, m) = (wanted.get(i)?, matched.get(i)?);
    let list = |indices: &[usize]| {
        let shown: Vec<String> = indices.iter().take(8).filter_map(|i| features.get(*i)).map(place).collect();
        let more = indices.len().saturating_sub(8);
        if more > 0 { format!("{} and {more} more", shown.join("; ")) } else { shown.join("; ") }
    };
    let sizes: Vec<String> = w.sizes.iter().map(|s| mm(*s)).collect();
    let kind = if w.kind == FeatureKind::Hole { "hole" } else { "peg or boss" };
    let what = format!("{kind} of {} for fit `{}`", sizes.join(" or "), w.name);
    match m.problem.as_ref()? {
        Problem::TooFew { found, near_misses } if near_misses.is_empty() => {
            Some((format!("expected {} x {what}, found {found}", w.count), {
                let others: Vec<usize> =
                    features.iter().enumerate().filter(|(_, f)| f.kind == w.kind).map(|(i, _)| i).collect();
                let there = if others.is_empty() {
                    format!("the mesh has no round {kind} at all")
                } else {
                    format!("the mesh has {}", list(&others))
                };
                format!("{there}; check the mesh, its unit and the fit's size")
            }))
        }
        Problem::TooFew { found, near_misses } => Some((
            format!("expected {} x {what}, found {found}", w.count),
            format!("near ones of another size or axis: {}", list(near_misses)),
        )),
        Problem::TooMany { found } => Some((
            format!("expected {} x {what}, found {found}: {}", w.count, list(&m.features)),
            format!("state `count {found}`, the axis or a point, to tell them apart"),
        )),
        Problem::Contested { feature, other } => Some((
            format!(
                "{} is claimed by fit `{}` and fit `{}`",
                features.get(*feature).map_or_else(String::new, place),
                w.name,
                wanted.get(*other).map_or("", |o| o.name.as_str())
            ),
            "a feature takes one fit: leave one of the two out, or say which feature each has, as in `at (20 mm, 0 mm, 5 mm)`, `along z` or another size"
                .to_owned(),
        )),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn hole(name: &str, d: f64, axis: [f64; 3], centre: [f64; 3]) -> FoundFeature {
        FoundFeature { name: name.to_owned(), kind: FeatureKind::Hole, diameter: Length::mm(d), axis, centre }
    }

    fn want(name: &str, d: f64, count: usize) -> Wanted {
        Wanted {
            name: name.to_owned(),
            kind: FeatureKind::Hole,
            sizes: vec![Length::mm(d), Length::mm(d + 0.2)],
            within: Length::mm(0.3),
            beyond: Length::mm(0.4),
            count,
            along: None,
            near: None,
        }
    }

    fn bracket() -> Vec<FoundFeature> {
        let x = [1.0, 0.0, 0.0];
        vec![
            hole("hole 1", 5.5, x, [0.0, 5.0, 5.0]),
            hole("hole 2", 5.5, [-1.0, 0.0, 0.0], [0.0, 55.0, 5.0]),
            hole("hole 3", 5.5, x, [0.0, 5.0, 35.0]),
            hole("hole 4", 5.5, x, [0.0, 55.0, 35.0]),
            hole("hole 5", 8.0, [0.0, 0.0, 1.0], [170.0, 30.0, 40.0]),
            hole("hole 6", 5.5, [0.0, 0.0, 1.0], [100.0, 30.0, 0.0]),
        ]
    }

    #[test]
    fn four_holes_by_their_axis() {
        let mut wall = want("wall", 5.5, 4);
        let many = match_features(std::slice::from_ref(&wall), &bracket());
        assert_eq!(many[0].problem, Some(Problem::TooMany { found: 5 }));
        wall.along = Some([1.0, 0.0, 0.0]);
        let found = match_features(&[wall, want("pivot", 8.0, 1)], &bracket());
        assert_eq!((found[0].features.clone(), found[0].problem.clone()), (vec![0, 1, 2, 3], None));
        assert_eq!((found[1].features.clone(), found[1].problem.clone()), (vec![4], None));
    }

    /// A recipe asks for a hole wider than its fit: drawn so, it is found again; a hole as much narrower is another.
    #[test]
    fn a_hole_drawn_as_the_recipe_says_is_found_again() {
        let z = [0.0, 0.0, 1.0];
        let found = |d: f64| match_features(&[want("pin", 5.0, 1)], &[hole("hole 1", d, z, [0.0; 3])]).remove(0);
        assert_eq!(found(5.55).problem, None);
        assert_eq!(found(5.85).problem, None);
        assert!(found(6.0).problem.is_some() && found(4.45).problem.is_some());
        // What is near enough goes before what is farther.
        let both = [hole("hole 1", 5.8, z, [0.0; 3]), hole("hole 2", 5.4, z, [9.0, 0.0, 0.0])];
        assert_eq!(match_features(&[want("pin", 5.0, 1)], &both)[0].features, [1]);
    }

    #[test]
    fn a_settled_fit_frees_the_others() {
        let mut wall = want("wall", 5.5, 4);
        wall.along = Some([1.0, 0.0, 0.0]);
        let found = match_features(&[want("cover", 5.5, 1), wall], &bracket());
        assert_eq!((found[0].features.clone(), found[0].problem.clone()), (vec![5], None));
    }

    #[test]
    fn a_point_tells_alike_holes_apart() {
        let mut one = want("one", 5.5, 1);
        one.near = Some([3.0, 54.0, 33.0]);
        assert_eq!(match_features(&[one], &bracket())[0].features, [3]);
    }

    #[test]
    fn problems_are_told_with_places() {
        let wanted = [want("wall", 6.0, 4), want("a", 8.0, 1), want("b", 8.1, 1)];
        let matched = match_features(&wanted, &bracket());
        let (message, hint) = explain(0, &wanted, &matched, &bracket()).unwrap();
        assert_eq!(message, "expected 4 x hole of 6 mm or 6.2 mm for fit `wall`, found 0");
        assert!(hint.contains("hole 1 (d 5.5 mm, at 0, 5, 5)"), "{hint}");
        let (message, _) = explain(1, &wanted, &matched, &bracket()).unwrap();
        assert!(message.contains("hole 5") && message.contains("`a`") && message.contains("`b`"));
    }
}
