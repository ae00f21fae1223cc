//! The drawing of a load: the body from the side, how far the stress goes that governs in shades of grey, where it fails first,
//! what holds and what acts, and how it moves.

use crate::field;
use crate::geometry::drawing::{Drawing, DrawingOptions, draw};
use crate::geometry::mesh::Mesh;
use crate::geometry::pose::Pose;
use crate::geometry::survey::Prepared;
use crate::geometry::vector::{Vector, add, norm, scale};
use crate::physics::strength::Mode;
use crate::render::figure::{Arrow, Callout, Figure, Key, Shade};
use crate::resolve::elastic::solved::View;
use crate::resolve::strength::Sums;
use crate::resolve::strength::hand::{Bears, Hand};

use super::CELLS;

/// What is to be drawn of a load.
pub struct Loaded<'a> {
    pub load: &'a str,
    /// Its size, as stated.
    pub size: &'a str,
    /// The direction that is up when it is printed.
    pub up: Vector,
    pub view: &'a View,
    pub sums: &'a Sums,
    pub hand: &'a Hand,
    /// Greatest displacement where the load acts, mm, and the same times the modulus that `view` is of.
    pub moves: Option<[f64; 2]>,
}

/// Shades of grey beside white.
const SHADES: usize = 5;
/// How far the part is drawn to move at most, as a share of its size.
const MOVED: f64 = 0.08;
/// A hold no thicker than this in the drawing, as a share of the part's size, is seen on edge.
const ON_EDGE: f64 = 0.02;

/// Draws it.
pub(super) fn stressed(prepared: &Prepared<'_>, mesh: &Mesh, loaded: &Loaded<'_>) -> Option<Figure> {
    let pose = Pose::new([0.0, 0.0, 1.0])?;
    let (azimuth_deg, elevation_deg) = match loaded.view.axis {
        0 => (0.0, 0.0),
        1 => (-90.0, 0.0),
        _ => (-90.0, 90.0),
    };
    let options =
        DrawingOptions { azimuth_deg, elevation_deg, turn_deg: 0.0, cells: CELLS, ..DrawingOptions::default() };
    let drawn = draw(mesh, prepared.twins(), &pose, &options, &[]);
    let size = norm(mesh.bounds().size());
    let governs = match loaded.sums.governs {
        Mode::Along => "pulled or pressed along the layers",
        Mode::Across => "pulled across the layers",
        Mode::Shear => "sheared between the layers",
    };
    let (shades, most) = shades(loaded, &drawn);
    let axis = ["x", "y", "z"][loaded.view.axis.min(2)];
    let mut key: Vec<Key> = (0..=SHADES)
        .map(|i| {
            let at = |k: usize| roughly(most * k as f64 / (SHADES + 1) as f64, most);
            Key { shade: i, text: format!("{} to {} MPa", at(i), at(i + 1)) }
        })
        .collect();
    key.reverse();
    let (moved, times) = moved(loaded, &drawn, size);
    let enlarged =
        if moved.is_empty() { String::new() } else { format!("; dashed: how it moves, {times} times enlarged") };
    Some(Figure {
        title: format!("load \"{}\", seen along {axis}: {governs}{enlarged}", loaded.load),
        outline: drawn.outline.iter().map(|l| l.to_vec()).collect(),
        visible: drawn.visible.iter().map(|l| l.to_vec()).collect(),
        shades,
        moved,
        ground: loaded.hand.holds.iter().filter_map(|h| on_edge(h, mesh, &drawn, size)).collect(),
        callouts: callouts(loaded, &drawn),
        arrows: arrows(loaded, &drawn, size),
        key,
        ..Figure::default()
    })
}

/// Returns a stress to two figures of the greatest.
fn roughly(mpa: f64, most: f64) -> String {
    let decimals = (1.0 - most.log10().floor()).clamp(0.0, 9.0) as usize;
    format!("{mpa:.decimals$}")
}

/// Returns squares of each shade, and what the darkest ends at, MPa.
fn shades(loaded: &Loaded<'_>, drawn: &Drawing) -> (Vec<Shade>, f64) {
    let value = |stress: &field::Stress| {
        let [along, across, between] = field::in_layers(stress, loaded.up).map(|s| s * loaded.sums.sudden);
        match loaded.sums.governs {
            Mode::Along => along.abs(),
            Mode::Across => across.max(0.0),
            Mode::Shear => between.abs(),
        }
    };
    let here = match loaded.sums.governs {
        Mode::Along => loaded.sums.stress_mpa[0],
        Mode::Across => loaded.sums.stress_mpa[1],
        Mode::Shear => loaded.sums.stress_mpa[2],
    };
    // What is more than where it fails first lies where nothing is judged, right at a hold or a load.
    let most = here.abs().max(f64::MIN_POSITIVE);
    let half = 0.5 * loaded.view.spacing_mm;
    let mut all: Vec<Shade> = (0..=SHADES).map(|shade| Shade { shade, squares: Vec::new() }).collect();
    for seen in &loaded.view.seen {
        let shade = ((value(&seen.stress) / most * (SHADES + 1) as f64) as usize).min(SHADES);
        let [x, y] = drawn.place(seen.at);
        let square = [[x - half, y - half], [x + half, y + half]];
        let squares = &mut all[shade].squares;
        match squares.last_mut() {
            // Side by side in one row they are one.
            Some([_, high])
                if (high[0] - square[0][0]).abs() < 1e-3 * half && (high[1] - square[1][1]).abs() < 1e-3 * half =>
            {
                high[0] = square[1][0];
            }
            _ => squares.push(square),
        }
    }
    all.retain(|s| s.shade > 0 && !s.squares.is_empty());
    (all, most)
}

/// Returns the outline as it moves, and how many times that is enlarged.
fn moved(loaded: &Loaded<'_>, drawn: &Drawing, size: f64) -> (Vec<Vec<[f64; 2]>>, f64) {
    let most = loaded.view.seen.iter().map(|s| norm(s.moves)).fold(0.0, f64::max);
    let Some([mm, unit]) = loaded.moves.filter(|[mm, unit]| *mm > 0.0 && *unit > 0.0 && most > 0.0) else {
        return (Vec::new(), 1.0);
    };
    // In mm of the part for a unit of what is kept; enlarged to a round number.
    let real = mm / unit;
    let wish = MOVED * size / (most * real);
    let decade = 10f64.powf(wish.log10().floor());
    let times = [5.0, 2.0, 1.0].into_iter().map(|m| m * decade).find(|t| *t <= wish).unwrap_or(decade).max(1.0);
    let paper: Vec<([f64; 2], [f64; 2])> = (loaded.view.seen.iter())
        .map(|s| {
            let here = drawn.place(s.at);
            let there = drawn.place(add(s.at, scale(s.moves, real * times)));
            (here, [there[0] - here[0], there[1] - here[1]])
        })
        .collect();
    let shift = |p: &[f64; 2]| -> [f64; 2] {
        let far = |q: &[f64; 2]| (q[0] - p[0]).powi(2) + (q[1] - p[1]).powi(2);
        let near = paper.iter().min_by(|a, b| far(&a.0).total_cmp(&far(&b.0)));
        near.map_or(*p, |(_, by)| [p[0] + by[0], p[1] + by[1]])
    };
    let strokes = drawn.outline.iter().flat_map(|l| l.to_vec().windows(2).map(|p| [p[0], p[1]]).collect::<Vec<_>>());
    let lines = joined(strokes.collect()).into_iter().map(|line| {
        let fine = divided(&line, loaded.view.spacing_mm);
        fine.iter().map(shift).collect()
    });
    (lines.collect(), times)
}

/// Returns strokes that go on from one another as one line, so that its dashes do.
fn joined(strokes: Vec<[[f64; 2]; 2]>) -> Vec<Vec<[f64; 2]>> {
    let same = |a: &[f64; 2], b: &[f64; 2]| (a[0] - b[0]).abs() + (a[1] - b[1]).abs() < JOINED_MM;
    let mut lines: Vec<Vec<[f64; 2]>> = Vec::new();
    let mut left: Vec<[[f64; 2]; 2]> = strokes;
    while let Some([from, to]) = left.pop() {
        let mut line = vec![from, to];
        while let Some(end) = line.last().copied()
            && let Some(next) = left.iter().position(|[a, b]| same(a, &end) || same(b, &end))
        {
            let [a, b] = left.swap_remove(next);
            line.push(if same(&a, &end) { b } else { a });
        }
        lines.push(line);
    }
    lines
}

/// Ends nearer than this on paper meet.
const JOINED_MM: f64 = 1e-3;

/// Returns a line with places no farther apart than this.
fn divided(line: &[[f64; 2]], apart: f64) -> Vec<[f64; 2]> {
    let mut out: Vec<[f64; 2]> = line.first().copied().into_iter().collect();
    for pair in line.windows(2) {
        let [a, b] = [pair[0], pair[1]];
        let long = (b[0] - a[0]).hypot(b[1] - a[1]);
        let parts = (0.4 * long / apart).ceil().max(1.0) as usize;
        out.extend((1..=parts).map(|i| {
            let t = i as f64 / parts as f64;
            [a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])]
        }));
    }
    out
}

/// Returns a hold that is seen on edge as a line, with a place on the part's side of it.
fn on_edge(hold: &Bears, mesh: &Mesh, drawn: &Drawing, size: f64) -> Option<[[f64; 2]; 3]> {
    let corners: Vec<[f64; 2]> = hold.corners.iter().map(|&c| drawn.place(c)).collect();
    let ends = |k: usize| {
        let of = corners.iter().map(|c| c[k]);
        of.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), x| (a.min(x), b.max(x)))
    };
    let ((left, right), (low, high)) = (ends(0), ends(1));
    let body = drawn.place(mesh.bounds().centre());
    let thin = ON_EDGE * size;
    match (right - left < thin, high - low < thin) {
        (true, false) => Some([[left, low], [left, high], body]),
        (false, true) => Some([[left, low], [right, low], body]),
        _ => None,
    }
}

fn callouts(loaded: &Loaded<'_>, drawn: &Drawing) -> Vec<Callout> {
    let worst = "fails first here".to_owned();
    let held =
        loaded.hand.holds.iter().map(|h| Callout { text: format!("held: {}", h.hold), at: drawn.place(h.acting.at) });
    std::iter::once(Callout { text: worst, at: drawn.place(loaded.sums.at) }).chain(held).collect()
}

fn arrows(loaded: &Loaded<'_>, drawn: &Drawing, size: f64) -> Vec<Arrow> {
    let total = norm(loaded.hand.total());
    let mut all: Vec<Arrow> = Vec::new();
    for load in &loaded.hand.loads {
        if norm(load.newtons) <= 1e-3 * total || total <= 0.0 {
            continue;
        }
        let back = scale(load.newtons, -0.2 * size / norm(load.newtons));
        let text = if all.is_empty() { format!("{} {}", loaded.load, loaded.size) } else { String::new() };
        all.push(Arrow { text, tail: drawn.place(add(load.at, back)), head: drawn.place(load.at) });
    }
    all
}
