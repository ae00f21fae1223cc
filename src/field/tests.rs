//! Bodies with known answers.

use std::f64::consts::PI;

use super::*;
use crate::geometry::mesh::{Mesh, Point};
use crate::geometry::vector::{Vector, add, norm, normalise, scale, sub};

/// Returns the closed skin of a block of `n` cells bent by a map from the unit cube that keeps its handedness.
fn bent(n: [usize; 3], map: impl Fn(Point) -> Point) -> Mesh {
    let mut mesh = Mesh::default();
    for axis in 0..3 {
        let (u, v) = ((axis + 1) % 3, (axis + 2) % 3);
        for end in 0..2 {
            for i in 0..n[u] {
                for j in 0..n[v] {
                    let corner = |di: usize, dj: usize| {
                        let mut p = [end as f64; 3];
                        p[u] = (i + di) as f64 / n[u] as f64;
                        p[v] = (j + dj) as f64 / n[v] as f64;
                        map(p)
                    };
                    let [a, b, c, d] = [corner(0, 0), corner(1, 0), corner(1, 1), corner(0, 1)];
                    let at = mesh.vertices.len() as u32;
                    mesh.vertices.extend([a, b, c, d]);
                    let (t, s) = ([at, at + 1, at + 2], [at, at + 2, at + 3]);
                    mesh.triangles.extend(if end == 1 { [t, s] } else { [[t[0], t[2], t[1]], [s[0], s[2], s[1]]] });
                }
            }
        }
    }
    crate::geometry::weld::weld_exact(&mesh)
}

pub(crate) fn block(size: Vector) -> Mesh {
    bent([1, 1, 1], |p| [p[0] * size[0], p[1] * size[1], p[2] * size[2]])
}

fn face(normal: Vector, near: Point) -> Region {
    Region::Face { normal, near, within: None }
}

fn hold(kind: HoldKind, on: Region) -> Hold {
    Hold { name: "hold".to_owned(), on, kind }
}

fn force(on: Region, newtons: Vector) -> Load {
    Load { name: "load".to_owned(), kind: LoadKind::Force { on, newtons } }
}

const X: Vector = [1.0, 0.0, 0.0];
const BACK: Vector = [-1.0, 0.0, 0.0];

fn near(got: f64, want: f64, share: f64) {
    assert!((got - want).abs() <= share * want.abs(), "got {got}, want {want} within {} %", 100.0 * share);
}

fn coarse(cell_mm: f64) -> Options<'static> {
    Options { cell_mm: Some(cell_mm), buckling: false, ..Options::default() }
}

/// A bar held so that it may narrow freely.
fn free_bar() -> [Hold; 3] {
    [
        hold(HoldKind::Sliding, face(BACK, [0.0; 3])),
        hold(HoldKind::Sliding, face([0.0, -1.0, 0.0], [0.0; 3])),
        hold(HoldKind::Sliding, face([0.0, 0.0, -1.0], [0.0; 3])),
    ]
}

// Hooke's law: F L / (E A), and Poisson's narrowing.
#[test]
fn a_pulled_bar_lengthens_by_hookes_law() {
    let s = solve(
        &block([20.0, 4.0, 5.0]),
        &free_bar(),
        &[force(face(X, [20.0, 0.0, 0.0]), [80.0, 0.0, 0.0])],
        &coarse(4.0),
    )
    .unwrap();
    near(s.loads[0].displacement.value, 80.0 * 20.0 / 20.0, 0.004);
    let stress = s.stress([10.0, 2.0, 2.5], 1.0).unwrap();
    near(stress[0], 4.0, 1e-3);
    assert!(stress[1..].iter().all(|c| c.abs() < 4e-3), "{stress:?}");
    let u = s.displacement([10.0, 4.0, 2.5]).unwrap();
    near(u[1], -0.38 * 4.0 * 4.0, 0.01);
    near(s.layers[0][0].unwrap().value, 4.0, 0.01);
    assert!(s.imbalance[0] < 1e-5 && s.imbalance[1] < 1e-5, "{:?}", s.imbalance);
    near(s.reactions[0].newtons[0], -80.0, 1e-5);
}

// The same bar, its sides no longer along the grid: cut cells must do as well as whole ones.
#[test]
fn a_turned_bar_lengthens_alike() {
    let (c, s) = (31f64.to_radians().cos(), 31f64.to_radians().sin());
    let turn = [[c, -s, 0.0], [s * c, c * c, -s], [s * s, s * c, c]];
    let of = |v: Vector| crate::geometry::vector::rotate(&turn, v);
    let mesh = block([20.0, 4.0, 5.0]).transformed(&turn, [1.0, 2.0, 3.0]);
    let holds: Vec<Hold> = [BACK, [0.0, -1.0, 0.0], [0.0, 0.0, -1.0]]
        .map(|n| hold(HoldKind::Sliding, face(of(n), [1.0, 2.0, 3.0])))
        .to_vec();
    let end = crate::geometry::vector::add(of([20.0, 0.0, 0.0]), [1.0, 2.0, 3.0]);
    let got = solve(&mesh, &holds, &[force(face(of(X), end), of([80.0, 0.0, 0.0]))], &coarse(2.0)).unwrap();
    near(got.loads[0].displacement.value, 80.0, 0.004);
    near(got.greatest(Measure::Across(of(X)), 1.0).unwrap().value, 4.0, 0.02);
}

// Timoshenko's beam: F L^3 / 3 E I + F L / (k G A), k = 5/6 (Timoshenko, Gere, Mechanics of Materials); the clamp stiffens
// a little, so up to 2 % under.
#[test]
fn cantilevers_bend_as_timoshenko_says() {
    for (length, cell) in [(60.0, 2.0), (100.0, 3.0), (160.0, 3.0)] {
        let (b, h, f) = (8.0, 10.0, 7.0);
        let mesh = block([length, b, h]);
        let s = solve(
            &mesh,
            &[hold(HoldKind::Bonded, face(BACK, [0.0; 3]))],
            &[force(face(X, [length, 0.0, 0.0]), [0.0, 0.0, -f])],
            &coarse(cell),
        )
        .unwrap();
        let (i, g) = (b * h * h * h / 12.0, 1.0 / (2.0 * 1.38));
        let want = f * length.powi(3) / (3.0 * i) + f * length / (5.0 / 6.0 * g * b * h);
        let ratio = s.loads[0].displacement.value / want;
        assert!((0.98..1.001).contains(&ratio), "{length}: {ratio}");
        // Bending stress at half length, on the skin's mean over the ball's half below it (centroid 3/8 of the radius).
        let at = s.stress([0.5 * length, 4.0, h], 1.0).unwrap()[0];
        near(at, f * 0.5 * length * (h / 2.0 - 0.375) / i, 0.02);
        near(s.reactions[0].newton_mm[1], -f * length, 1e-4);
    }
}

// Euler's column, clamped at one end and free at the other: pi^2 E I / (4 L^2) (Timoshenko, Gere, Theory of Elastic
// Stability).
#[test]
fn a_strut_buckles_at_eulers_load() {
    let (length, a) = (100.0, 4.0);
    let options = Options { cell_mm: Some(2.0), ..Options::default() };
    let s = solve(
        &block([length, a, a]),
        &[hold(HoldKind::Bonded, face(BACK, [0.0; 3]))],
        &[force(face(X, [length, 0.0, 0.0]), [-1.0, 0.0, 0.0])],
        &options,
    )
    .unwrap();
    let want = PI * PI * a.powi(4) / 12.0 / (4.0 * length * length);
    near(s.buckling.unwrap().value, want, 0.01);
}

// Lamé's thick cylinder under inner pressure, free to lengthen: hoop stress at the bore p (b² + a²) / (b² - a²), radial
// displacement there p a / E ((b² + a²) / (b² - a²) + nu) (Timoshenko, Strength of Materials, part II). A quarter with
// planes of symmetry.
#[test]
fn a_thick_cylinder_widens_as_lame_says() {
    let (a, b, p) = (10.0, 20.0, 3.0);
    let mesh = bent([4, 48, 2], |q| {
        let (r, t) = (a + (b - a) * q[0], 0.5 * PI * q[1]);
        [r * t.cos(), r * t.sin(), 8.0 * q[2]]
    });
    let holds = [
        hold(HoldKind::Sliding, face([0.0, -1.0, 0.0], [a, 0.0, 0.0])),
        hold(HoldKind::Sliding, face(BACK, [0.0, a, 0.0])),
        hold(HoldKind::Sliding, face([0.0, 0.0, -1.0], [0.0; 3])),
    ];
    let bore =
        Region::Cylinder { axis: [0.0, 0.0, 1.0], centre: [0.0; 3], radius: a, inside: true, half: None, length: None };
    let load = Load { name: "pressure".to_owned(), kind: LoadKind::Pressure { on: bore, mpa: p } };
    let s = solve(&mesh, &holds, &[load], &coarse(2.0)).unwrap();
    let k = (b * b + a * a) / (b * b - a * a);
    near(s.loads[0].displacement.value, p * a * (k + 0.38), 0.01);
    let way = normalise([1.0, 1.0, 0.0]);
    let hoop = |r: f64| {
        let s = s.stress([way[0] * r, way[1] * r, 4.0], 0.3).unwrap();
        0.5 * (s[0] + s[1]) - s[3]
    };
    near(hoop(15.0), p * a * a / (b * b - a * a) * (1.0 + b * b / 225.0), 0.02);
    near(hoop(10.3), p * a * a / (b * b - a * a) * (1.0 + b * b / (10.3f64 * 10.3)), 0.04);
}

// NAFEMS LE10, a thick elliptic plate under pressure: sigma_yy at D is -5.38 MPa (The Standard NAFEMS Benchmarks, 1990).
// Metres there are centimetres here; the load is pressure on the upper face, so stresses stay.
#[test]
fn the_thick_plate_of_nafems_le10() {
    let m = 10.0;
    let mesh = bent([40, 80, 12], |q| {
        // The inner ellipse 2 x 1, the outer 3.25 x 2.75, between them straight lines.
        let t = 0.5 * PI * q[1];
        let (inner, outer) = ([2.0 * t.cos(), t.sin()], [3.25 * t.cos(), 2.75 * t.sin()]);
        let at = |i: usize| m * (inner[i] + q[0] * (outer[i] - inner[i]));
        [at(0), at(1), 0.6 * m * q[2]]
    });
    let outer = |low: f64, high: f64| {
        let on = |p: Point| {
            let off = (p[0] / (3.25 * m)).powi(2) + (p[1] / (2.75 * m)).powi(2) - 1.0;
            off.abs() < 1e-3 && (low - 1e-6..high + 1e-6).contains(&p[2])
        };
        let lies = |t: &u32| {
            mesh.corners(*t as usize).iter().all(|&c| on(c)) && mesh.normal_area(*t as usize).0[2].abs() < 0.1
        };
        Region::Facets((0..mesh.triangles.len() as u32).filter(lies).collect())
    };
    // Held there in its plane, and upright at half height: on a line there, here on a band a twelfth as high.
    let holds = [
        hold(HoldKind::Sliding, face([0.0, -1.0, 0.0], [2.0 * m, 0.0, 0.0])),
        hold(HoldKind::Sliding, face(BACK, [0.0, m, 0.0])),
        hold(HoldKind::Guided(2), outer(0.0, 0.6 * m)),
        hold(HoldKind::Bonded, outer(0.25 * m, 0.35 * m)),
    ];
    let top = face([0.0, 0.0, 1.0], [2.0 * m, 0.0, 0.6 * m]);
    let load = Load { name: "pressure".to_owned(), kind: LoadKind::Pressure { on: top, mpa: 1.0 } };
    let material = Material::Everywhere(Stiffness::Isotropic { modulus: 1.0, poisson: 0.3 });
    let at = |cell_mm: f64| {
        let s = solve(&mesh, &holds, std::slice::from_ref(&load), &Options { material, ..coarse(cell_mm) }).unwrap();
        s.stress([2.0 * m, 0.0, 0.6 * m], 0.2).unwrap()[1]
    };
    let [wide, fine] = [4.0, 2.0].map(at);
    // The mean over a ball at the corner is a little less than at the point.
    near(fine, -5.38, 0.03);
    assert!((fine + 5.38).abs() < (wide + 5.38).abs() + 0.05, "{wide} {fine}");
}

fn refused(mesh: &Mesh, holds: &[Hold], loads: &[Load]) -> Refusal {
    match solve(mesh, holds, loads, &coarse(4.0)) {
        Ok(_) => panic!("solved"),
        Err(r) => r,
    }
}

#[test]
fn what_is_no_problem_is_refused_with_a_place() {
    let (mesh, load) = (block([20.0, 4.0, 5.0]), force(face(X, [20.0, 0.0, 0.0]), [80.0, 0.0, 0.0]));
    let clamp = hold(HoldKind::Bonded, face(BACK, [0.0; 3]));
    let mut open = mesh.clone();
    open.triangles.pop();
    let r = refused(&open, std::slice::from_ref(&clamp), std::slice::from_ref(&load));
    assert!(r.reason == Reason::NotClosed && r.at.is_some(), "{r:?}");
    assert_eq!(refused(&mesh, &[], std::slice::from_ref(&load)).reason, Reason::Hold);
    assert_eq!(refused(&mesh, std::slice::from_ref(&clamp), &[]).reason, Reason::Load);
    let in_the_air = force(face(X, [30.0, 0.0, 0.0]), X);
    assert_eq!(refused(&mesh, std::slice::from_ref(&clamp), &[in_the_air]).reason, Reason::Load);
    let sliding = hold(HoldKind::Sliding, face(BACK, [0.0; 3]));
    let r = refused(&mesh, &[sliding], &[force(face(X, [20.0, 0.0, 0.0]), [80.0, 5.0, 0.0])]);
    assert!(r.reason == Reason::Loose && r.at.is_some(), "{r:?}");
    let in_metres = block([0.02, 0.004, 0.005]);
    assert_eq!(
        refused(&in_metres, std::slice::from_ref(&clamp), &[force(face(X, [0.02, 0.0, 0.0]), X)]).reason,
        Reason::Size
    );
    let mut two = mesh.clone();
    assert!(two.append(&block([20.0, 4.0, 5.0]).transformed(&[X, [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]], [0.0, 10.0, 0.0])));
    let only_one = Region::Face { normal: BACK, near: [0.0; 3], within: Some(block([20.0, 4.0, 5.0]).bounds()) };
    let r = refused(&two, &[hold(HoldKind::Bonded, only_one)], std::slice::from_ref(&load));
    assert!(r.reason == Reason::Loose && r.at.is_some_and(|p| p[1] > 9.0), "{r:?}");
}

#[test]
fn a_huge_force_gives_a_huge_displacement() {
    let mesh = block([20.0, 4.0, 5.0]);
    let of = |f: f64| {
        let s = solve(&mesh, &free_bar(), &[force(face(X, [20.0, 0.0, 0.0]), [f, 0.0, 0.0])], &coarse(4.0)).unwrap();
        s.loads[0].displacement.value
    };
    near(of(1e9), 1e9 * of(1.0), 1e-6);
}

// Maxwell and Betti: the work of one load on the displacement of another is the same the other way round.
#[test]
fn loads_add_up_and_work_on_each_other_alike() {
    let mesh = block([40.0, 6.0, 8.0]);
    let clamp = [hold(HoldKind::Bonded, face(BACK, [0.0; 3]))];
    let (a, b) = (
        force(face(X, [40.0, 0.0, 0.0]), [0.0, 0.0, -5.0]),
        force(face([0.0, 1.0, 0.0], [0.0, 6.0, 0.0]), [0.0, 3.0, 0.0]),
    );
    let of = |loads: &[Load]| solve(&mesh, &clamp, loads, &coarse(3.0)).unwrap();
    let (one, two, both) = (of(std::slice::from_ref(&a)), of(std::slice::from_ref(&b)), of(&[a, b]));
    let at = [33.0, 4.0, 7.0];
    let sum = crate::geometry::vector::add(one.displacement(at).unwrap(), two.displacement(at).unwrap());
    assert!(norm(sub(sum, both.displacement(at).unwrap())) < 1e-4 * norm(sum));
    // The work of a on b's displacement: what both give to a's patch beyond a alone, times its force, and the reverse.
    let (work_ab, work_ba) = (
        5.0 * (both.loads[0].displacement.value - one.loads[0].displacement.value),
        3.0 * (both.loads[1].displacement.value - two.loads[0].displacement.value),
    );
    assert!((work_ab - work_ba).abs() < 1e-4 * 5.0 * one.loads[0].displacement.value, "{work_ab} {work_ba}");
}

// A body that only rests tips about its edge as far as its one bond lets it: pressed in the middle, all of it bears.
#[test]
fn what_rests_is_pressed_and_never_pulled() {
    let mesh = block([30.0, 10.0, 6.0]);
    let holds = [
        hold(HoldKind::Bonded, Region::Disc { centre: [4.0, 5.0, 6.0], normal: [0.0, 0.0, 1.0], radius: 3.0 }),
        hold(HoldKind::Resting, face([0.0, 0.0, -1.0], [0.0; 3])),
    ];
    let of = |f: f64| solve(&mesh, &holds, &[force(face(X, [30.0, 0.0, 0.0]), [0.0, 0.0, f])], &coarse(3.0)).unwrap();
    let (down, up) = (of(-10.0), of(10.0));
    assert!(down.reactions[1].newtons[2] > 0.0 && up.reactions[1].newtons[2] >= 0.0);
    assert!(up.loads[0].displacement.value > 3.0 * down.loads[0].displacement.value);
    assert!(down.imbalance[0] < 1e-4 && up.imbalance[0] < 1e-4);
    let middle = scale(down.reactions[1].newtons, 1.0);
    assert!(middle[0].abs() < 1e-9 * middle[2], "frictionless: {middle:?}");
}

/// A tube about x; with a gap, a slit of that angle along its length.
fn tube(length: f64, radii: [f64; 2], gap: f64) -> Mesh {
    tube_of(64, length, radii, gap)
}

/// A tube of so many sides; radii are those of its edges.
fn tube_of(sides: usize, length: f64, [inner, outer]: [f64; 2], gap: f64) -> Mesh {
    let open = bent([1, 1, sides], |q| {
        let turn = if gap == 0.0 && q[2] == 1.0 { 0.0 } else { q[2] };
        let (r, t) = (inner + (outer - inner) * q[1], gap * 0.5 + (2.0 * PI - gap) * turn);
        [length * q[0], r * t.cos(), r * t.sin()]
    });
    if gap > 0.0 {
        return open;
    }
    // Closed: the two skins at the seam lie on each other and go.
    let on_seam = |t: usize| open.corners(t).iter().all(|c| c[2] == 0.0 && c[1] > 0.0);
    let triangles = (0..open.triangles.len()).filter(|&t| !on_seam(t)).map(|t| open.triangles[t]).collect();
    Mesh { triangles, ..open }
}

fn twist(mesh: &Mesh, length: f64, radius: f64, cell_mm: f64) -> f64 {
    let load = Load {
        name: "twist".to_owned(),
        kind: LoadKind::Torque { on: face(X, [length, 0.0, -radius]), axis: X, newton_mm: 100.0 },
    };
    let holds = [hold(HoldKind::Bonded, face(BACK, [0.0, 0.0, -radius]))];
    let s = solve(mesh, &holds, &[load], &coarse(cell_mm)).unwrap();
    s.loads[0].turn.unwrap().value
}

// A closed round tube: T L / (G Ip) (Timoshenko, Strength of Materials, part I).
#[test]
fn a_closed_tube_twists_by_its_polar_moment() {
    let (length, a, b) = (40.0, 8.0, 10.0);
    let (ip, g) = (0.5 * PI * (b * b * b * b - a * a * a * a), 1.0 / 2.76);
    near(twist(&tube(length, [a, b], 0.0), length, 9.0, 1.0), 100.0 * length / (g * ip), 0.02);
}

// The same tube slit, its ends free to warp but for the held one: T L / (G J), J = s t³ / 3 (thin open section, the same);
// both leave out what a wall a fifth of the radius thick gives way more;
// the held end stiffens what it keeps from warping (the tube is so long that shear adds little to that): warping torsion with
// C = 2 t r⁵ (π³/3 - 2π) for a slit ring (W. C. Young, Roark's Formulas, table of thin-walled sections).
#[test]
fn a_slit_tube_twists_as_an_open_section() {
    let (length, a, b, gap) = (300.0, 8.0, 10.0, 0.1);
    let (r, t, g) = (0.5 * (a + b), b - a, 1.0 / 2.76);
    let j = (2.0 * PI - gap) * r * t * t * t / 3.0;
    let c = 2.0 * t * r.powi(5) * (PI * PI * PI / 3.0 - 2.0 * PI);
    let k = (g * j / c).sqrt();
    let want = 100.0 / (g * j) * (length - (k * length).tanh() / k);
    near(twist(&tube(length, [a, b], gap), length, 9.0, 2.0), want, 0.09);
}

// A thin ring pulled across its diameter by P: the diameter along the pull grows by 0.1488 P R³ / (E I), stretch and shear
// left out, which add about E I (π/4 / A + 1.2 π/4 / (k G A)...) some 1 % at R = 20 t (Timoshenko, Strength of Materials, part II).
// A quarter with planes of symmetry.
#[test]
fn a_thin_ring_opens_as_timoshenko_says() {
    let (r, t, w, p) = (40.0, 2.0, 4.0, 2.0);
    let mesh = bent([1, 48, 1], |q| {
        let (r, a) = (r - 0.5 * t + t * q[0], 0.5 * PI * q[1]);
        [r * a.cos(), r * a.sin(), w * q[2]]
    });
    let holds = [
        hold(HoldKind::Sliding, face([0.0, -1.0, 0.0], [r, 0.0, 0.5 * w])),
        hold(HoldKind::Sliding, face(BACK, [0.0, r, 0.5 * w])),
        hold(HoldKind::Sliding, face([0.0, 0.0, -1.0], [0.0; 3])),
    ];
    let load = force(face(BACK, [0.0, r, 0.5 * w]), [0.0, 0.5 * p, 0.0]);
    let s = solve(&mesh, &holds, &[load], &coarse(0.8)).unwrap();
    let i = w * t * t * t / 12.0;
    near(s.loads[0].displacement.value, 0.5 * 0.1488 * p * r * r * r / i, 0.02);
}

// A curved bar, a quarter ring clamped at one end and pulled at the other by P along that end's face: hoop stress at the
// clamp by Winkler's theory, M = P R (Timoshenko, Strength of Materials, part I, curved bars): at the inner face
// M (r_n - a) / (A e a), with r_n = h / ln(b / a), e = R - r_n.
#[test]
fn a_curved_bar_is_stressed_most_inside() {
    let (a, b, w, p) = (10.0, 20.0, 5.0, 10.0);
    let mesh = bent([1, 64, 1], |q| {
        let (r, t) = (a + (b - a) * q[0], 0.5 * PI * q[1]);
        [r * t.cos(), r * t.sin(), w * q[2]]
    });
    // Pulled along its tangent at the upper end it bends closer: the section at 45° bears P R (1 - sin 45°), pressed inside, and
    // P sin 45° along it, pulled.
    let holds = [hold(HoldKind::Bonded, face([0.0, -1.0, 0.0], [15.0, 0.0, 2.5]))];
    let s = solve(&mesh, &holds, &[force(face(BACK, [0.0, 15.0, 2.5]), [-p, 0.0, 0.0])], &coarse(1.2)).unwrap();
    let (h, r) = (b - a, 0.5 * (a + b));
    let (rn, area) = (h / (b / a).ln(), (b - a) * w);
    let e = r - rn;
    let half = (0.25 * PI).sin();
    let inside = |at: f64| p * half / area - p * r * (1.0 - half) * (rn - at) / (area * e * at);
    let way = [half, half, 0.0];
    let at = 10.6;
    let st = s.stress([way[0] * at, way[1] * at, 2.5], 0.3).unwrap();
    let hoop = 0.5 * (st[0] + st[1]) - st[3];
    near(hoop, inside(at), 0.04);
}

// A strut askew in the grid, so that every cell on its skin is cut: pressed along its axis it buckles as Euler says of one
// clamped at one end and free at the other, pi² E I / (4 L²), and a stout block far above (Timoshenko, Theory of Elastic
// Stability). Slivers of cells must not buckle by themselves.
#[test]
fn slivers_do_not_buckle_before_the_body() {
    let turn = |p: Point| {
        let (s, c) = (0.4_f64.sin(), 0.4_f64.cos());
        let [x, y, z] = [c * p[0] - s * p[1], s * p[0] + c * p[1], p[2]];
        let (s, c) = (0.3_f64.sin(), 0.3_f64.cos());
        [x, c * y - s * z, s * y + c * z]
    };
    let factor = |length: f64, side: f64, cell_mm: f64| {
        let mesh = bent([4, 1, 1], |q| turn([length * q[0], side * q[1], side * q[2]]));
        let way = turn(X);
        let middle = |x: f64| turn([x, 0.5 * side, 0.5 * side]);
        let load = force(face(way, middle(length)), scale(way, -1.0));
        let holds = [hold(HoldKind::Bonded, face(scale(way, -1.0), middle(0.0)))];
        let options = Options { buckling: true, ..coarse(cell_mm) };
        solve(&mesh, &holds, &[load], &options).unwrap().buckling.unwrap()
    };
    let slender = factor(80.0, 8.0, 4.0);
    near(slender.value, PI * PI * 8.0_f64.powi(4) / 12.0 / (4.0 * 80.0 * 80.0), 0.04);
    let stout = factor(24.0, 12.0, 3.0);
    near(stout.value, stout.coarse, 0.1);
    assert!(stout.value > 0.5 * PI * PI * 12.0_f64.powi(4) / 12.0 / (4.0 * 24.0 * 24.0), "{stout:?}");
}

/// A square socket of 10 mm, 20 mm deep: its walls are 800 mm², a quarter of that within 5 mm of the mouth.
#[test]
fn a_socket_that_is_not_round_has_walls_all_about_its_axis() {
    let mesh = tube_of(4, 20.0, [50f64.sqrt(), 15.0], 0.0);
    let features = crate::geometry::features::Features::default();
    let surface = Surface { mesh: &mesh, features: &features };
    let mouth = [20.0, 0.0, 0.0];
    for (reach_mm, area) in [(None, 800.0), (Some(10.0), 200.0)] {
        near(surface.walls_about(mouth, X, reach_mm).unwrap().area(&mesh), area, 1e-6);
    }
    // On the rim, and beside the tube, there is no opening to turn in; nor is there one across its axis.
    for (p, axis) in [([20.0, 8.0, 0.0], X), ([10.0, 0.0, 20.0], X), ([10.0, 0.0, 0.0], [0.0, 0.0, 1.0])] {
        assert_eq!(surface.walls_about(p, axis, None), None, "{p:?} {axis:?}");
    }
}

/// 6 mm of the tread of a wheel of 80 mm, 24 mm wide: 144 mm² with its middle where it is stated, and a disc of 6 mm, 28.3 mm²,
/// whatever the number of flats the mesh has for the circle, and wherever on one of them the place lies.
#[test]
fn a_patch_on_a_round_face_is_as_large_as_stated_on_any_number_of_flats() {
    let features = crate::geometry::features::Features::default();
    for sides in [24, 64, 100, 128, 256, 513] {
        let mesh = tube_of(sides, 24.0, [10.0, 40.0], 0.0);
        let surface = Surface { mesh: &mesh, features: &features };
        for place in [[12.0, 0.0, -40.0], [12.0, 40.0, 0.0], [12.0, 24.0, 32.0]] {
            for (extent, want) in [(Extent::Over([24.0, 6.0]), 144.0), (Extent::Across(6.0), 9.0 * PI)] {
                let on = surface.patch_at(place, scale(place, -1.0), extent).unwrap();
                let pieces = on.spread(&mesh);
                let area: f64 = pieces.iter().map(|(_, a)| norm(*a)).sum();
                near(area, want, 0.01);
                let middle = pieces.iter().fold([0.0; 3], |s, (at, a)| add(s, scale(*at, norm(*a) / area)));
                // The middle of an arc of 6 mm lies a twentieth of a millimetre within the circle, a flat of 24 a third.
                assert!(norm(sub(middle, place)) < 0.4, "{sides} flats, {place:?}: {middle:?}");
            }
        }
    }
}

// What a wheel does under a patch on its tread is a matter of the wheel, and not of how finely its mesh is cut.
#[test]
fn a_patch_on_a_round_face_presses_alike_on_any_number_of_flats() {
    let bore =
        |radius| Region::Cylinder { axis: X, centre: [6.0, 0.0, 0.0], radius, inside: true, half: None, length: None };
    let pressed = [64, 128, 256].map(|sides| {
        let mesh = tube_of(sides, 12.0, [6.0, 20.0], 0.0);
        let surface = Surface { mesh: &mesh, features: &crate::geometry::features::Features::default() };
        let on = surface.patch_at([6.0, 0.0, -20.0], [0.0, 0.0, 1.0], Extent::Over([12.0, 4.0])).unwrap();
        let s =
            solve(&mesh, &[hold(HoldKind::Bonded, bore(6.0))], &[force(on, [0.0, 0.0, 100.0])], &coarse(1.5)).unwrap();
        let bearing = s.bearings.last().unwrap().mpa();
        [s.loads[0].displacement.value, s.principal.unwrap().value, bearing]
    });
    for other in &pressed[1..] {
        for (a, b) in pressed[0].iter().zip(other) {
            near(*a, *b, 0.04);
        }
    }
    // 100 N on 12 x 4 mm.
    near(pressed[2][2], 100.0 / 48.0, 0.01);
}

/// A bar that lies in a V presses both its flanks: half of the patch lies on each, and the force passes through the middle. A place
/// at the foot of an upright wall presses the floor alone.
#[test]
fn a_patch_in_the_bottom_of_a_groove_lies_on_both_flanks() {
    let mesh = bent([2, 1, 1], |[x, y, z]| [20.0 * (x - 0.5), 30.0 * y, z * (5.0 + 20.0 * (x - 0.5).abs())]);
    let surface = Surface { mesh: &mesh, features: &crate::geometry::features::Features::default() };
    let on = surface.patch_at([0.0, 15.0, 5.0], [0.0, 0.0, -1.0], Extent::Over([10.0, 20.0])).unwrap();
    near(on.area(&mesh), 200.0, 0.01);
    let middle = on.spread(&mesh).into_iter().fold(0.0, |sum, (at, area)| sum + at[0] * norm(area));
    assert!(middle.abs() < 1e-6, "{middle}");
}

/// A patch half as wide as its pin wraps round it as a tape of that width would: no farther.
#[test]
fn a_patch_on_a_thin_pin_is_measured_round_it() {
    let mesh = tube_of(96, 24.0, [1.0, 4.0], 0.0);
    let surface = Surface { mesh: &mesh, features: &crate::geometry::features::Features::default() };
    let on = surface.patch_at([12.0, 0.0, 4.0], [0.0, 0.0, -1.0], Extent::Over([10.0, 6.0])).unwrap();
    near(on.area(&mesh), 60.0, 0.01);
    // What would reach farther round than 60° to either side ends there, where a push slides off.
    let most = surface.patch_at([12.0, 0.0, 4.0], [0.0, 0.0, -1.0], Extent::Over([10.0, 20.0])).unwrap();
    near(most.area(&mesh), 10.0 * 2.0 * 4.0 * PI / 3.0, 0.05);
}

// A wheel on a shaft slides along it and turns about it; a pull across does neither, and is answered as if both were held. The
// same pull a little along the shaft, or beside its axis, moves it.
#[test]
fn what_nothing_moves_need_not_be_held() {
    let mut mesh = bent([1, 24, 1], |p| {
        let (r, a) = (4.0 + 8.0 * p[0], 2.0 * PI * p[1].fract());
        [r * a.cos(), r * a.sin(), 6.0 * p[2]]
    });
    // Its two ends meet: of the faces between them there are none.
    mesh.triangles.drain(96..100);
    let bore = Region::Cylinder {
        axis: [0.0, 0.0, 1.0],
        centre: [0.0, 0.0, 3.0],
        radius: 4.0,
        inside: true,
        half: None,
        length: Some(6.0),
    };
    let patch = |y: f64| Region::Disc { centre: [10.0, y, 6.0], normal: [0.0, 0.0, 1.0], radius: 1.5 };
    let pulled =
        |kind, y: f64, f: Vector| solve(&mesh, &[hold(kind, bore.clone())], &[force(patch(y), f)], &coarse(1.5));
    let s = pulled(HoldKind::Resting, 0.0, [40.0, 0.0, 0.0]).unwrap();
    assert_eq!(s.free, ["slide along z", "turn about z"]);
    assert!(s.converged && s.imbalance[0] < 1e-3, "{:?}", s.imbalance);
    near(s.reactions[0].newtons[0], -40.0, 1e-3);
    // Held all round it moves less, by what a bore gives that only half of it bears.
    let bonded = pulled(HoldKind::Bonded, 0.0, [40.0, 0.0, 0.0]).unwrap();
    let [free, held] = [&s, &bonded].map(|s| s.loads[0].displacement.value);
    assert!(free > held && free < 4.0 * held, "{free} {held}");
    for (y, f) in [(0.0, [40.0, 0.0, 5.0]), (6.0, [40.0, 0.0, 0.0])] {
        let r = pulled(HoldKind::Resting, y, f).err().unwrap();
        assert!(r.reason == Reason::Loose && r.why.contains("push it that way"), "{r:?}");
    }
}

// A plate clamped all round under pressure sinks by 0.00126 p a⁴ / D, and one clamped on two opposite edges, the other two of
// which stay as they are, by p a⁴ / (384 D), D = E h³ / (12 (1 - ν²)) (Timoshenko, Woinowsky-Krieger, Theory of Plates and
// Shells, tables for clamped plates; from memory). Shear adds what it does to a membrane: 0.0737 p a² / (k G h), and
// p a² / (8 k G h) of a strip, k = 5/6 (by own sum: for a / h = 10 that makes the 0.0015 that Mindlin's theory has). What is held
// through and through cannot narrow there either, which no theory of plates has: that is as if the plate were a hair shorter.
#[test]
fn plates_held_on_two_and_four_sides_sink_as_timoshenko_says() {
    let (a, h, p) = (60.0, 1.0, 0.01);
    let d = h * h * h / (12.0 * (1.0 - 0.38f64.powi(2)));
    let shear = 5.0 / 6.0 / (2.0 * 1.38) * h;
    let middle = [0.5 * a, 0.5 * a, 0.0];
    let mesh = block([0.5 * a, 0.5 * a, h]);
    let top = face([0.0, 0.0, 1.0], [middle[0], middle[1], h]);
    let load = Load { name: "pressure".to_owned(), kind: LoadKind::Pressure { on: top, mpa: p } };
    let right = [0.0, 1.0, 0.0];
    let at =
        |kind, normal: Vector| hold(kind, face(normal, if normal[0] + normal[1] > 0.0 { middle } else { [0.0; 3] }));
    let sinks = |holds: &[Hold], cell_mm: f64| {
        let s = solve(&mesh, holds, std::slice::from_ref(&load), &coarse(cell_mm)).unwrap();
        -s.displacement([middle[0] - 0.01, middle[1] - 0.01, 0.5 * h]).unwrap()[2]
    };
    let sides = |kind| {
        let planes = [at(HoldKind::Sliding, X), at(HoldKind::Sliding, right)];
        [vec![at(HoldKind::Bonded, BACK), at(kind, [0.0, -1.0, 0.0])], planes.to_vec()].concat()
    };
    for (kind, want) in [
        (HoldKind::Bonded, p * (0.00126 * a.powi(4) / d + 0.0737 * a * a / shear)),
        (HoldKind::Sliding, p * (a.powi(4) / (384.0 * d) + a * a / (8.0 * shear))),
    ] {
        let [wide, fine] = [3.0, 1.5].map(|cell_mm| sinks(&sides(kind), cell_mm));
        near(fine, want, 0.02);
        assert!((fine - want).abs() < (wide - want).abs() + 0.005 * want, "{wide} {fine} {want}");
    }
}

/// The stress along x beside a hole of this radius in a wide plate pulled by 1 along x (Kirsch; Timoshenko and Goodier, *Theory of
/// Elasticity*, ch. 4, handbook).
fn kirsch(r: f64, [x, y]: [f64; 2]) -> f64 {
    let (far, q) = (x.hypot(y), (r / x.hypot(y)).powi(2));
    let ((s, c), t) = ((y / far, x / far), 2.0 * y.atan2(x));
    let radial = 0.5 * (1.0 - q) + 0.5 * (1.0 - 4.0 * q + 3.0 * q * q) * t.cos();
    let hoop = 0.5 * (1.0 + q) - 0.5 * (1.0 + 3.0 * q * q) * t.cos();
    let shear = -0.5 * (1.0 + 2.0 * q - 3.0 * q * q) * t.sin();
    radial * c * c + hoop * s * s - 2.0 * shear * s * c
}

// A hole of a fifth of a strip's width, pulled: 2.51 times the stress of what is left beside it (Howland's series, by Heywood's
// formula in Pilkey, Peterson's Stress Concentration Factors; the row of tests/published/kt_hole_in_strip_tension.csv), where a wide
// plate has three times that of the whole. Asked is what decides: the mean over a ball of a bead's size at the edge; at a point of a
// cell that the hole cuts, the stress hangs on the grid.
#[test]
fn a_hole_in_a_strip_raises_the_stress_as_howland_says() {
    let (r, ball, [long, wide, thick]) = (4.0, 1.0, [48.0, 20.0, 2.0]);
    let mesh = bent([12, 96, 1], |q| {
        let t: f64 = 0.5 * PI * q[1];
        let out = (long / t.cos().max(1e-9)).min(wide / t.sin().max(1e-9));
        let at = r + (out - r) * q[0];
        [at * t.cos(), at * t.sin(), thick * q[2]]
    });
    let holds = [
        hold(HoldKind::Sliding, face([0.0, -1.0, 0.0], [10.0, 0.0, 0.0])),
        hold(HoldKind::Sliding, face(BACK, [0.0, 10.0, 0.0])),
        hold(HoldKind::Sliding, face([0.0, 0.0, -1.0], [10.0, 10.0, 0.0])),
    ];
    let pull = force(face(X, [long, 1.0, 1.0]), [wide * thick, 0.0, 0.0]);
    let kt = |cell_mm: f64| {
        let s = solve(&mesh, &holds, std::slice::from_ref(&pull), &coarse(cell_mm)).unwrap();
        s.stress([0.0, r, 0.5 * thick], ball).unwrap()[0] * (1.0 - r / wide)
    };
    // The mean of Kirsch's solution over the part of the ball beside the hole, weighed by its depth.
    let (mut sum, mut all) = (0.0, 0.0);
    for (i, j) in (-40..=40).flat_map(|i| (-40..=40).map(move |j| (i, j))) {
        let [x, y] = [i, j].map(|k| f64::from(k) / 40.0 * ball);
        let weight = (ball * ball - x * x - y * y).max(0.0).sqrt();
        if x.hypot(r + y) >= r && x >= 0.0 {
            (sum, all) = (sum + weight * kirsch(r, [x, r + y]), all + weight);
        }
    }
    let want = 2.51 * (sum / all) / 3.0;
    let [wide, fine] = [3.0, 1.0].map(kt);
    assert!(sum / all > 2.2 && sum / all < 2.8, "{}", sum / all);
    near(fine, want, 0.04);
    assert!((fine - want).abs() < (wide - want).abs() + 0.01 * want, "{wide} {fine} {want}");
}

// A portal with clamped feet pushed along its beam sways by F h³ (3 k + 2) / (12 E I (6 k + 1)), k the height over the span of one
// section all round (Kleinlogel, Rahmenformeln, from memory; k = 0: two cantilevers, k without end: two columns held at both ends).
#[test]
fn a_portal_sways_as_kleinlogel_says() {
    let (high, wide, t) = (102.0, 104.0, 4.0);
    let way = |corners: [Point; 4], s: f64| {
        let i = (s.floor() as usize).min(2);
        let (a, b, u) = (corners[i], corners[i + 1], s - i as f64);
        [a[0] + u * (b[0] - a[0]), a[1] + u * (b[1] - a[1])]
    };
    let outer = [[0.0, 0.0, 0.0], [0.0, high, 0.0], [wide, high, 0.0], [wide, 0.0, 0.0]];
    let inner = [[t, 0.0, 0.0], [t, high - t, 0.0], [wide - t, high - t, 0.0], [wide - t, 0.0, 0.0]];
    let mesh = bent([3, 1, 1], |q| {
        let (o, i) = (way(outer, 3.0 * q[0]), way(inner, 3.0 * q[0]));
        [o[0] + q[1] * (i[0] - o[0]), o[1] + q[1] * (i[1] - o[1]), -t * q[2]]
    });
    let feet = hold(HoldKind::Bonded, face([0.0, -1.0, 0.0], [0.5 * t, 0.0, -0.5 * t]));
    let half = |normal: f64, y: f64| force(face([0.0, normal, 0.0], [0.5 * wide, y, -0.5 * t]), [0.5, 0.0, 0.0]);
    let loads = [half(1.0, high), half(-1.0, high - t)];
    let s = solve(&mesh, &[feet], &loads, &coarse(2.0)).unwrap();
    let sways = s.displacement([0.5 * wide, high - 0.5 * t, -0.5 * t]).unwrap()[0];
    let (h, l, i) = (high - 0.5 * t, wide - t, t.powi(4) / 12.0);
    let k = h / l;
    near(sways, h.powi(3) * (3.0 * k + 2.0) / (12.0 * i * (6.0 * k + 1.0)), 0.04);
}

// A bar loaded at places of its own, on a hold that is bonded, and on one that rests.
#[test]
fn many_loads_in_one_solve_are_each_as_by_themselves() {
    let mesh = block([40.0, 12.0, 8.0]);
    let top = |x: f64| Region::Disc { centre: [x, 6.0, 8.0], normal: [0.0, 0.0, 1.0], radius: 3.0 };
    let case = |i: usize| {
        let on = top(8.0 + 6.0 * i as f64);
        let newtons = [0.0, 0.0, -20.0 - 5.0 * i as f64];
        (vec![Load { name: format!("load {i}"), kind: LoadKind::Force { on: on.clone(), newtons } }], vec![on])
    };
    let cases: Vec<(Vec<Load>, Vec<Region>)> = (0..5).map(case).collect();
    let gauges = [([0.0, 0.0, 1.0], [0.5, 0.5]), ([1.0, 0.0, 0.0], [0.5, 0.5])];
    let end = face([-1.0, 0.0, 0.0], [0.0, 6.0, 4.0]);
    let under = face([0.0, 0.0, -1.0], [20.0, 6.0, 0.0]);
    for holds in
        [vec![hold(HoldKind::Bonded, end.clone())], vec![hold(HoldKind::Sliding, end), hold(HoldKind::Resting, under)]]
    {
        let options = Options { gauges: &gauges, telling: 4, ..coarse(3.0) };
        let acting: Vec<Acting> =
            cases.iter().map(|(loads, off)| Acting { loads, off, off_mm: 2.0, beside: &[], buckling: true }).collect();
        let told = |s: Result<Solution, Refusal>| {
            let s = s.unwrap();
            format!("{:?} {:?} {:?} {:?} {:?} {}", s.loads, s.reactions, s.telling, s.tops, s.buckling, s.iterations)
        };
        let together = solve_each(&mesh, &holds, &acting, &options, |_, s| told(s));
        for ((loads, off), together) in cases.iter().zip(together) {
            let options = Options { off, off_mm: 2.0, buckling: true, ..options };
            assert_eq!(told(solve(&mesh, &holds, loads, &options)), together);
        }
    }
}

#[test]
fn a_solution_is_the_same_on_any_number_of_threads() {
    let mesh = bent([1, 1, 1], |p| [40.0 * p[0] + 2.0 * p[2], 12.0 * p[1], 8.0 * p[2] + 0.5 * p[1]]);
    let holds = [hold(HoldKind::Bonded, Region::Facets(vec![0, 1]))];
    let loads = [Load { name: "weight".into(), kind: LoadKind::Body { newtons_per_mm3: [0.0, 0.01, -0.02] } }];
    let told = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
        let s = pool.install(|| solve(&mesh, &holds, &loads, &coarse(1.5))).unwrap();
        format!("{:?} {:?} {:?} {:?}", s.loads, s.reactions, s.principal, s.layers)
    };
    assert_eq!(told(1), told(2));
    assert_eq!(told(1), told(5));
}

// Euler's strut clamped at one end and guided along itself at the other, where it may turn: 2.0457 pi² E I / L²; shear takes
// P / (k G A) of it, k = 5/6 (Timoshenko, Gere, Theory of Elastic Stability).
#[test]
fn a_strut_clamped_and_guided_buckles_at_twice_eulers_load() {
    let (length, a, b): (f64, f64, f64) = (100.0, 4.0, 8.0);
    let far = face(X, [length, 0.0, 0.0]);
    let push = [force(far.clone(), [-1.0, 0.0, 0.0])];
    let holds = [hold(HoldKind::Bonded, face(BACK, [0.0; 3])), hold(HoldKind::Guided(0), far)];
    let mesh = block([length, a, b]);
    let factor = |cell_mm: f64| {
        let options = Options { buckling: true, ..coarse(cell_mm) };
        solve(&mesh, &holds, &push, &options).unwrap().buckling.unwrap().value
    };
    let stiff = 2.0457 * PI * PI * b * a.powi(3) / 12.0 / (length * length);
    let want = stiff / (1.0 + stiff / (5.0 / 6.0 * a * b / (2.0 * 1.38)));
    let [wide, fine] = [4.0, 2.0].map(factor);
    near(fine, want, 0.01);
    assert!((fine - want).abs() < (wide - want).abs() + 0.003 * want, "{wide} {fine} {want}");
}

/// A bar pressed off its middle: N/A = 1 MPa, bent by twice that (M c/I = 2 MPa), so pressed with 3 MPa on one side and pulled with
/// 1 MPa on the other (handbook: Gere, *Mechanics of Materials*, ch. 5). Layers across it fail where they are pulled.
#[test]
fn what_parts_layers_is_told_though_what_presses_them_is_three_times_as_large() {
    let bar = block([40.0, 9.0, 9.0]);
    // A third of the depth off the middle: e = d/3 gives M c/I = 6 e/d N/A.
    let on = face(X, [40.0, 4.5, 4.5]);
    let loads = [
        force(on.clone(), [-81.0, 0.0, 0.0]),
        Load { name: "bends".to_owned(), kind: LoadKind::Torque { on, axis: [0.0, 1.0, 0.0], newton_mm: 81.0 * 3.0 } },
    ];
    let gauges = [(X, [0.25, 0.3])];
    let options = Options { gauges: &gauges, telling: 8, ..coarse(3.0) };
    let found = solve(&bar, &[hold(HoldKind::Bonded, face(BACK, [0.0, 4.5, 4.5]))], &loads, &options).unwrap();
    let pulled = found.telling.iter().map(|(_, s)| s[0]).fold(0.0, f64::max);
    // The mean over a ball half out of the body is that of three eighths of its radius under the surface.
    near(pulled, 2.0 * (4.5 - 0.375) / 4.5 - 1.0, 0.15);
}

// A strip that faces -x cannot be pushed toward -x and -y by a pin that only presses on it: what it presses adds up to something else.
#[test]
fn what_a_pin_would_press_aside_is_refused() {
    let bar = block([40.0, 9.0, 9.0]);
    let on = face(X, [40.0, 4.5, 4.5]);
    let pin = |newtons| Load {
        name: "rope".to_owned(),
        kind: LoadKind::Pin { on: on.clone(), axis: [0.0, 0.0, 1.0], centre: [10.0, 4.5, 4.5], newtons },
    };
    let holds = [hold(HoldKind::Bonded, face(BACK, [0.0, 4.5, 4.5]))];
    let straight = solve(&bar, &holds, &[pin([-10.0, 0.0, 0.0])], &coarse(3.0)).unwrap();
    near(straight.reactions[0].newtons[0], 10.0, 1e-3);
    let aside = solve(&bar, &holds, &[pin([-7.0, -7.0, 0.0])], &coarse(3.0)).err().unwrap();
    assert!(aside.why.contains("presses nowhere, or aside"), "{aside:?}");
}

// A bar that hangs from its end: stress rho g x grows to rho g L at the hold, the end sinks by rho g L² / 2 E, the mean by two thirds
// of that (handbook: Gere, *Mechanics of Materials*, ch. 2, a prismatic bar hanging under its own weight).
#[test]
fn a_bar_hangs_by_its_own_weight() {
    let (length, weight) = (60.0, 1e-3);
    let mesh = block([length, 6.0, 6.0]);
    let loads = [Load { name: "weight".into(), kind: LoadKind::Body { newtons_per_mm3: [weight, 0.0, 0.0] } }];
    let holds = [
        hold(HoldKind::Sliding, face(BACK, [0.0; 3])),
        hold(HoldKind::Sliding, face([0.0, -1.0, 0.0], [1.0, 0.0, 1.0])),
    ];
    let found = solve(&mesh, &holds, &loads, &coarse(3.0)).unwrap();
    near(found.loads[0].displacement.value, weight * length * length / 3.0, 0.01);
    near(found.displacement([length, 3.0, 3.0]).unwrap()[0], weight * length * length / 2.0, 0.01);
    near(found.stress_at([length / 3.0, 3.0, 3.0]).unwrap()[0], weight * length * 2.0 / 3.0, 0.01);
    near(found.reactions[0].newtons[0], -weight * length * 36.0, 1e-3);
}

// A cantilever under its own weight: w L⁴ / 8 E I at its end, with what shear adds, w L² / 2 k G A, k = 5/6; M c / I = w x² c / 2 I a third of
// the way out (handbook: Gere, ch. 5 and appendix G; Timoshenko's beam).
#[test]
fn a_cantilever_bends_by_its_own_weight() {
    let (length, b, h, weight) = (80.0, 6.0, 8.0, 1e-3);
    let mesh = block([length, b, h]);
    let loads = [Load { name: "weight".into(), kind: LoadKind::Body { newtons_per_mm3: [0.0, 0.0, -weight] } }];
    let holds = [hold(HoldKind::Bonded, face(BACK, [0.0; 3]))];
    let found = solve(&mesh, &holds, &loads, &coarse(3.0)).unwrap();
    let (line, inertia) = (weight * b * h, b * h * h * h / 12.0);
    let shear = line * length * length / 2.0 / (5.0 / 6.0 * b * h / (2.0 * 1.38));
    let sinks = line * f64::powi(length, 4) / 8.0 / inertia + shear;
    near(found.displacement([length, 3.0, 4.0]).unwrap()[2], -sinks, 0.02);
    let out: f64 = length / 3.0;
    let moment = line * (length - out).powi(2) / 2.0;
    near(found.stress_at([out, 3.0, 7.5]).unwrap()[0], moment * 3.5 / inertia, 0.02);
    near(found.reactions[0].newton_mm[1], -line * length * length / 2.0, 1e-3);
}

// A stress that presses most loses what presses; a pull, a shear and a bend stay as they are.
#[test]
fn what_presses_most_is_left_out_of_a_stress_and_nothing_else_is() {
    let [pulled, sheared] = [[5.0, 0.0, 0.0, 0.0, 0.0, 0.0], [0.0, 0.0, 0.0, 4.0, 0.0, 0.0]];
    for s in [pulled, sheared, [-3.0, 2.0, 0.0, 0.0, 0.0, 0.0]] {
        assert_eq!(without_pressing(&s), s);
    }
    let left = |s: Stress| without_pressing(&s);
    assert!(left([-9.0, -2.0, -1.0, 0.5, 0.0, 0.0]).iter().all(|c| c.abs() < 0.01));
    // Pulled by 2 along y, pressed by 10 along x, turned by 30° about z.
    let (s, c) = 30f64.to_radians().sin_cos();
    let turned = |x: f64, y: f64| [x * c * c + y * s * s, x * s * s + y * c * c, 0.0, (x - y) * s * c, 0.0, 0.0];
    for (whole, want) in
        [(turned(-10.0, 2.0), turned(0.0, 2.0)), ([-10.0, 2.0, 1.0, 0.0, 0.0, 0.0], [0.0, 2.0, 1.0, 0.0, 0.0, 0.0])]
    {
        let far = left(whole).iter().zip(want).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max);
        assert!(far < 0.011, "{whole:?}: {:?}", left(whole));
    }
}

// Layers that are pressed do not part, but slide: what shears them counts.
#[test]
fn shear_between_layers_counts_beside_what_is_pressed_on() {
    let up = [0.0, 0.0, 1.0];
    let [.., t] = in_layers_beside(&[-10.0, 0.0, 0.0, 0.0, 0.0, 3.0], up);
    near(t, 3.0, 0.01);
    let [a, n, t] = in_layers_beside(&[0.0, 0.0, -10.0, 0.0, 0.0, 4.0], up);
    near(t, 4.0, 0.01);
    assert!(a < 1.5 && n < 0.2, "{a} {n}");
    assert_eq!(in_layers_beside(&[5.0, 1.0, 2.0, 0.0, 1.0, 0.0], up), in_layers(&[5.0, 1.0, 2.0, 0.0, 1.0, 0.0], up));
}
