//! Plates: proven counts are met, and whatever is laid keeps its distances, measured another way.

use proptest::prelude::*;
use serde_json::Value;

use super::{instances, number, whole};
use crate::plates::{Bed, Kind, Options, Place, Point, Policy, Shape, Turn, most, plates};

fn bed(case: &Value) -> Bed {
    Bed {
        width_mm: number(&case["plate"][0]),
        depth_mm: number(&case["plate"][1]),
        edge_mm: number(&case["edge"]),
        taken: Vec::new(),
    }
}

fn rectangle(size: &Value) -> Shape {
    Shape::Rectangle { width_mm: number(&size[0]), depth_mm: number(&size[1]) }
}

fn kind(shape: Shape, turn: Turn, count: usize) -> Kind {
    Kind { shape, brim_mm: 0.0, turn, count, most_per_plate: None }
}

fn equal(case: &Value) -> Kind {
    let shape = if let Some(across) = case.get("diameter") {
        Shape::Disc { diameter_mm: number(across) }
    } else if let Some(outline) = case.get("outline") {
        let corners = outline.as_array().unwrap();
        Shape::Outline(corners.iter().map(|p| [number(&p[0]), number(&p[1])]).collect())
    } else {
        rectangle(&case["piece"])
    };
    let turn = if case["turn"] == "any" { Turn::Any } else { Turn::Quarter };
    kind(shape, turn, whole(&case["pieces"]) as usize)
}

/// What a piece covers where it lies: a disc as its middle and radius, else corners.
enum Covered {
    Disc(Point, f64),
    Corners(Vec<Point>),
}

fn covered(kind: &Kind, place: &Place) -> Covered {
    let (s, c) = place.turn_deg.to_radians().sin_cos();
    let moved = |p: Point| [p[0] * c - p[1] * s + place.x_mm, p[0] * s + p[1] * c + place.y_mm];
    match &kind.shape {
        Shape::Disc { diameter_mm } => Covered::Disc([place.x_mm, place.y_mm], diameter_mm / 2.0 + kind.brim_mm),
        Shape::Rectangle { width_mm: w, depth_mm: d } => {
            Covered::Corners([[0.0, 0.0], [*w, 0.0], [*w, *d], [0.0, *d]].map(moved).to_vec())
        }
        Shape::Outline(points) => Covered::Corners(points.iter().map(|p| moved(*p)).collect()),
    }
}

fn to_side(p: Point, a: Point, b: Point) -> f64 {
    let u = [b[0] - a[0], b[1] - a[1]];
    let t = ((p[0] - a[0]) * u[0] + (p[1] - a[1]) * u[1]) / (u[0] * u[0] + u[1] * u[1]);
    let t = t.clamp(0.0, 1.0);
    (p[0] - a[0] - t * u[0]).hypot(p[1] - a[1] - t * u[1])
}

fn sides(points: &[Point]) -> impl Iterator<Item = (Point, Point)> {
    (0..points.len()).map(|i| (points[i], points[(i + 1) % points.len()]))
}

/// By the number of sides to the right, a little off the rim.
fn is_inside(p: Point, points: &[Point]) -> bool {
    sides(points)
        .filter(|(a, b)| (a[1] > p[1]) != (b[1] > p[1]))
        .filter(|(a, b)| p[0] < a[0] + (p[1] - a[1]) / (b[1] - a[1]) * (b[0] - a[0]))
        .count()
        % 2
        == 1
}

/// Least distance; below nought where one lies in the other by more than a hair.
fn distance(one: &Covered, other: &Covered) -> f64 {
    match (one, other) {
        (Covered::Disc(a, r), Covered::Disc(b, s)) => (a[0] - b[0]).hypot(a[1] - b[1]) - r - s,
        (Covered::Disc(a, r), Covered::Corners(p)) | (Covered::Corners(p), Covered::Disc(a, r)) => {
            let rim = sides(p).map(|(b, c)| to_side(*a, b, c)).fold(f64::INFINITY, f64::min);
            if is_inside(*a, p) { -rim - r } else { rim - r }
        }
        (Covered::Corners(p), Covered::Corners(q)) => {
            let rim = |p: &[Point], q: &[Point]| {
                let each = p.iter().flat_map(|v| sides(q).map(|(a, b)| to_side(*v, a, b)));
                each.fold(f64::INFINITY, f64::min)
            };
            let deepest = |p: &[Point], q: &[Point]| {
                // Corners and middles of sides that lie inside, by how far.
                let inner = sides(p).flat_map(|(a, b)| [a, [(a[0] + b[0]) / 2.0, (a[1] + b[1]) / 2.0]]);
                let depths = inner.filter(|v| is_inside(*v, q)).map(|v| rim(&[v], q));
                depths.fold(0.0, f64::max)
            };
            let deep = deepest(p, q).max(deepest(q, p));
            let cross = |a: Point, b: Point, c: Point| (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]);
            let crossing = sides(p).any(|(a, b)| {
                sides(q).any(|(c, d)| {
                    let far = |x: f64, y: f64| x * y < 0.0 && x.abs().min(y.abs()) > 1e-3;
                    far(cross(a, b, c), cross(a, b, d)) && far(cross(c, d, a), cross(c, d, b))
                })
            });
            if crossing {
                return -1.0;
            }
            if deep > 1e-6 { -deep } else { rim(p, q).min(rim(q, p)) }
        }
    }
}

/// Panics unless all pieces of a plate keep the edge, the gap and clear of what is taken.
fn assert_lies(bed: &Bed, kinds: &[Kind], gap: f64, plate: &[Place]) {
    const HAIR: f64 = 5e-6;
    let all: Vec<Covered> = plate.iter().map(|p| covered(&kinds[p.kind], p)).collect();
    for (one, place) in all.iter().zip(plate) {
        let brim = kinds[place.kind].brim_mm;
        let (low, high) = match one {
            Covered::Disc(m, r) => ([m[0] - r, m[1] - r], [m[0] + r, m[1] + r]),
            Covered::Corners(p) => p.iter().fold(([f64::MAX; 2], [f64::MIN; 2]), |(l, h), p| {
                ([l[0].min(p[0] - brim), l[1].min(p[1] - brim)], [h[0].max(p[0] + brim), h[1].max(p[1] + brim)])
            }),
        };
        let rim = bed.edge_mm - HAIR;
        assert!(low[0] >= rim && low[1] >= rim, "{place:?} over the edge: {low:?}");
        assert!(high[0] <= bed.width_mm - rim && high[1] <= bed.depth_mm - rim, "{place:?} over the edge: {high:?}");
        for taken in &bed.taken {
            let apart = distance(one, &Covered::Corners(taken.clone()));
            let brim = if let Covered::Disc(..) = one { 0.0 } else { brim };
            assert!(apart >= brim - HAIR, "{place:?} is {apart} from what is taken");
        }
    }
    for i in 0..all.len() {
        for j in 0..i {
            // A disc's brim is in its radius.
            let brim = |k: usize| match all[k] {
                Covered::Disc(..) => 0.0,
                Covered::Corners(_) => kinds[plate[k].kind].brim_mm,
            };
            let apart = distance(&all[i], &all[j]) - brim(i) - brim(j);
            assert!(apart >= gap - HAIR, "{apart} between {:?} and {:?}", plate[i], plate[j]);
        }
    }
}

fn options(case: &Value) -> Options {
    Options { gap_mm: number(&case["gap"]), mixed: true, ..Options::default() }
}

#[test]
fn proven_counts_on_a_plate_are_met() {
    let cases = instances(include_str!("truths/plates.json"));
    assert_eq!(cases.len(), 57);
    let (mut met, mut proven, mut missed) = (0, 0, Vec::new());
    for case in cases.iter().filter(|c| c["kind"] != "mixed") {
        let (bed, kind, options) = (bed(case), equal(case), options(case));
        let found = most(&bed, &kind, &options).unwrap();
        assert_lies(&bed, std::slice::from_ref(&kind), options.gap_mm, &found.places);
        let best = whole(case.get("best").filter(|b| !b.is_null()).unwrap_or(&case["at_least"])) as usize;
        let at_most = case.get("at_most").map_or(best, |n| whole(n) as usize);
        assert!(found.places.len() <= at_most && found.at_most >= best, "{case} {}", found.places.len());
        if found.places.len() < best {
            missed.push(format!("{}: {} of {best}", case["id"], found.places.len()));
        }
        met += 1;
        proven += usize::from(found.is_proven());
        let plates = plates(&bed, std::slice::from_ref(&kind), &options).unwrap();
        if found.places.len() == best {
            assert_eq!(plates.plates.len() as u64, whole(&case["plates"]), "{case}");
        }
    }
    assert!(missed.is_empty(), "{missed:#?}");
    assert_eq!(met, 50);
    assert!(proven >= 43, "only {proven} of {met} are proven");
}

#[test]
fn proven_numbers_of_mixed_plates_are_met() {
    let cases = instances(include_str!("truths/plates.json"));
    let mixed: Vec<&Value> = cases.iter().filter(|c| c["kind"] == "mixed").collect();
    assert_eq!(mixed.len(), 7);
    for case in mixed {
        let kinds: Vec<Kind> = case["pieces"]
            .as_array()
            .unwrap()
            .iter()
            .map(|p| kind(rectangle(&p["size"]), Turn::Quarter, whole(&p["count"]) as usize))
            .collect();
        let found = plates(&bed(case), &kinds, &options(case)).unwrap();
        assert_eq!(found.plates.len() as u64, whole(&case["plates"]), "{case}");
        assert!(found.is_proven(), "{case}");
        for (k, kind) in kinds.iter().enumerate() {
            assert_eq!(found.plates.iter().flatten().filter(|p| p.kind == k).count(), kind.count, "{case}");
        }
        for plate in &found.plates {
            assert_lies(&bed(case), &kinds, number(&case["gap"]), plate);
        }
    }
}

/// Pallet loading, equal boxes turned by quarters: (length, width, long side, short side, most). Morabito and Morales,
/// J. Oper. Res. Soc. 49 (1998), and the literature it cites (from memory).
const PALLETS: [(u32, u32, u32, u32, usize); 19] = [
    (22, 16, 5, 3, 23),
    (10, 10, 4, 3, 8),
    (11, 11, 3, 2, 20),
    (40, 25, 7, 3, 47),
    (52, 33, 9, 4, 47),
    (57, 34, 7, 4, 69),
    (56, 52, 12, 5, 48),
    (57, 44, 12, 5, 41),
    (61, 35, 10, 3, 71),
    (61, 38, 10, 3, 77),
    (61, 38, 6, 5, 77),
    (67, 37, 11, 3, 75),
    (67, 40, 11, 4, 60),
    (74, 49, 11, 4, 82),
    (93, 46, 13, 4, 82),
    (106, 59, 13, 5, 96),
    (141, 71, 13, 8, 96),
    (74, 46, 7, 5, 97),
    (86, 52, 9, 5, 99),
];

/// The bound is the published best of each, and the layout is that or one less.
#[test]
fn pallets_of_the_literature_are_met_or_missed_by_one() {
    let mut met = 0;
    for (w, d, a, b, best) in PALLETS {
        let bed = Bed { width_mm: w.into(), depth_mm: d.into(), ..Bed::default() };
        let piece = kind(Shape::Rectangle { width_mm: a.into(), depth_mm: b.into() }, Turn::Quarter, 1);
        let found = most(&bed, &piece, &Options::default()).unwrap();
        assert_lies(&bed, std::slice::from_ref(&piece), 0.0, &found.places);
        assert_eq!(found.at_most, best, "{w} {d} {a} {b}");
        assert!(found.places.len() + 1 >= best, "{w} {d} {a} {b}: {}", found.places.len());
        met += usize::from(found.places.len() == best);
    }
    assert!(met >= 8, "{met}");
}

/// T of four cells: only blocks of four by four cells are covered without a rest (Walkup 1965, from memory).
#[test]
fn fours_that_only_lie_close_together_are_found() {
    let tee =
        [[1.0, 1.0], [47.0, 1.0], [47.0, 15.0], [31.0, 15.0], [31.0, 31.0], [17.0, 31.0], [17.0, 15.0], [1.0, 15.0]];
    let bed = Bed { width_mm: 200.0, depth_mm: 200.0, edge_mm: 5.0, ..Bed::default() };
    let piece = kind(Shape::Outline(tee.to_vec()), Turn::Any, 36);
    let found = most(&bed, &piece, &Options { gap_mm: 2.0, ..Options::default() }).unwrap();
    assert_eq!(found.places.len(), 36);
    assert!(found.is_proven());
    assert_lies(&bed, std::slice::from_ref(&piece), 2.0, &found.places);
}

fn an_outline() -> impl Strategy<Value = Shape> {
    let ell = (20.0_f64..60.0, 20.0_f64..60.0, 5.0_f64..15.0)
        .prop_map(|(w, d, t)| Shape::Outline(vec![[0.0, 0.0], [w, 0.0], [w, t], [t, t], [t, d], [0.0, d]]));
    let wedge =
        (15.0_f64..60.0, 15.0_f64..60.0).prop_map(|(w, d)| Shape::Outline(vec![[-5.0, 3.0], [w, 3.0], [0.0, d]]));
    let block = (8.0_f64..70.0, 8.0_f64..70.0).prop_map(|(width_mm, depth_mm)| Shape::Rectangle { width_mm, depth_mm });
    let disc = (8.0_f64..50.0).prop_map(|diameter_mm| Shape::Disc { diameter_mm });
    prop_oneof![ell, wedge, block, disc]
}

fn a_turn() -> impl Strategy<Value = Turn> {
    prop_oneof![Just(Turn::Fixed), Just(Turn::Half), Just(Turn::Quarter), Just(Turn::Any)]
}

fn a_kind() -> impl Strategy<Value = Kind> {
    let brim = prop_oneof![Just(0.0), 1.0_f64..5.0];
    let most = prop_oneof![Just(None), (1_usize..4).prop_map(Some)];
    (an_outline(), a_turn(), 1_usize..9, brim, most).prop_map(|(shape, turn, count, brim_mm, most_per_plate)| Kind {
        shape,
        brim_mm,
        turn,
        count,
        most_per_plate,
    })
}

fn some_options() -> impl Strategy<Value = Options> {
    (0.0_f64..6.0, any::<bool>(), any::<bool>()).prop_map(|(gap_mm, full, mixed)| Options {
        gap_mm,
        mixed,
        policy: if full { Policy::FillFirst } else { Policy::Balanced },
        effort: crate::Effort(200_000),
    })
}

proptest! {
    #![proptest_config(super::cases(80))]

    #[test]
    fn whatever_is_laid_keeps_its_distances(
        kinds in prop::collection::vec(a_kind(), 1..4), options in some_options(), edge in 0.0_f64..6.0, clamped in any::<bool>()
    ) {
        let clamp = vec![[0.0, 40.0], [12.0, 40.0], [12.0, 60.0], [6.0, 66.0], [0.0, 60.0]];
        let taken = if clamped { vec![clamp] } else { Vec::new() };
        let bed = Bed { width_mm: 130.0, depth_mm: 110.0, edge_mm: edge, taken };
        let found = plates(&bed, &kinds, &options).unwrap();
        prop_assert!(found.plates.len() >= found.at_least, "{} plates, at least {}", found.plates.len(), found.at_least);
        for plate in &found.plates {
            prop_assert!(!plate.is_empty());
            assert_lies(&bed, &kinds, options.gap_mm, plate);
            for (k, kind) in kinds.iter().enumerate() {
                let of_kind = plate.iter().filter(|p| p.kind == k).count();
                prop_assert!(of_kind <= kind.most_per_plate.unwrap_or(usize::MAX));
                prop_assert!(options.mixed || of_kind == 0 || of_kind == plate.len());
            }
        }
        for (k, kind) in kinds.iter().enumerate() {
            prop_assert_eq!(found.plates.iter().flatten().filter(|p| p.kind == k).count(), kind.count);
        }
        prop_assert_eq!(&plates(&bed, &kinds, &options).unwrap(), &found);
    }

    #[test]
    fn plates_of_one_kind_are_as_few_either_way_and_balanced_where_asked(count in 1_usize..200, w in 20.0_f64..60.0) {
        let bed = Bed { width_mm: 220.0, depth_mm: 220.0, edge_mm: 5.0, ..Bed::default() };
        let piece = kind(Shape::Rectangle { width_mm: w, depth_mm: 31.0 }, Turn::Quarter, count);
        let with = |policy| plates(&bed, std::slice::from_ref(&piece), &Options { gap_mm: 2.0, policy, effort: crate::Effort(100_000), ..Options::default() });
        let (even, full) = (with(Policy::Balanced).unwrap(), with(Policy::FillFirst).unwrap());
        prop_assert_eq!(even.plates.len(), full.plates.len());
        let sizes: Vec<usize> = even.plates.iter().map(Vec::len).collect();
        prop_assert!(sizes.iter().max().unwrap() - sizes.iter().min().unwrap() <= 1);
        let full: Vec<usize> = full.plates.iter().map(Vec::len).collect();
        prop_assert!(full[..full.len() - 1].iter().all(|n| *n == full[0]));
    }
}

#[test]
fn a_piece_longer_than_the_bed_lies_aslant() {
    let bed = Bed { width_mm: 200.0, depth_mm: 200.0, edge_mm: 2.0, ..Bed::default() };
    let long = kind(Shape::Rectangle { width_mm: 230.0, depth_mm: 20.0 }, Turn::Any, 2);
    let found = most(&bed, &long, &Options { gap_mm: 2.0, ..Options::default() }).unwrap();
    assert!(found.places.len() >= 2, "{found:?}");
    assert_lies(&bed, std::slice::from_ref(&long), 2.0, &found.places);
    let upright = Kind { turn: Turn::Quarter, ..long };
    assert!(plates(&bed, &[upright], &Options::default()).is_err());
}

#[test]
fn what_is_no_piece_and_no_bed_is_refused() {
    let bed = Bed { width_mm: 200.0, depth_mm: 200.0, ..Bed::default() };
    let bow = vec![[0.0, 0.0], [10.0, 10.0], [10.0, 0.0], [0.0, 10.0]];
    let bad = [
        Shape::Outline(bow),
        Shape::Outline(vec![[0.0, 0.0], [1.0, 1.0]]),
        Shape::Rectangle { width_mm: -1.0, depth_mm: 3.0 },
        Shape::Disc { diameter_mm: f64::NAN },
        Shape::Rectangle { width_mm: 0.5, depth_mm: 0.5 },
    ];
    for shape in bad {
        assert!(most(&bed, &kind(shape.clone(), Turn::Quarter, 1), &Options::default()).is_err(), "{shape:?}");
    }
    let narrow = Bed { edge_mm: 150.0, ..bed };
    let piece = kind(Shape::Disc { diameter_mm: 10.0 }, Turn::Any, 1);
    assert!(plates(&narrow, &[piece], &Options::default()).is_err());
}
