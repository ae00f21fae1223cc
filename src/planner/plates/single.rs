//! Equal pieces on one plate: every way of laying them that suits their shape, the best of them kept, against a bound.

use super::body::{Bodies, Body, SAME, outline, turns};
use super::complete::{Found, fits};
use super::free::{Free, Pose, aslant, jostle};
use super::polygon::{area, bounds, hull, tidied, turned};
use super::sheet::{Sheet, holds};
use super::{Because, Bed, Full, Kind, Options, Place, Point, Shape, Turn, blocks, bound, dual};
use crate::dice::Dice;
use crate::refusal::Refusal;

/// Micrometres in a millimetre: rectangles are laid in whole ones.
const UM: f64 = 1000.0;

/// More pieces on a plate than this are not counted one by one.
const MOST_PIECES: usize = 20_000;

/// The room in micrometres, a gap longer than it is: a piece then takes its own length and a gap.
pub(super) fn room_um(bed: &Bed, gap_mm: f64) -> [i64; 2] {
    [bed.width_mm, bed.depth_mm].map(|side| ((side - 2.0 * bed.edge_mm) * UM + 1e-3).floor() as i64 + gap_um(gap_mm))
}

pub(super) fn gap_um(gap_mm: f64) -> i64 {
    (gap_mm * UM - 1e-3).ceil() as i64
}

/// A piece's box with its brim and a gap, in micrometres.
pub(super) fn size_um(size: Point, gap_mm: f64) -> [i64; 2] {
    size.map(|side| (side * UM - 1e-3).ceil() as i64 + gap_um(gap_mm))
}

/// A kind's box as given, brim and all: least and greatest corner.
pub(super) fn box_of(kind: &Kind, turn_deg: f64) -> (Point, Point) {
    let points: Vec<Point> = match &kind.shape {
        Shape::Disc { diameter_mm: d } => vec![[-d / 2.0, -d / 2.0], [d / 2.0, d / 2.0]],
        other => outline(other).into_iter().map(|p| turned(p, turn_deg)).collect(),
    };
    let (low, high) = bounds(&points);
    let brim = kind.brim_mm;
    ([low[0] - brim, low[1] - brim], [high[0] + brim, high[1] + brim])
}

/// Where the origin of a piece is whose box has its lower left corner there.
pub(super) fn place_of_box(kind: &Kind, index: usize, corner: Point, turn_deg: f64) -> Place {
    let (low, _) = box_of(kind, turn_deg);
    Place { kind: index, x_mm: corner[0] - low[0], y_mm: corner[1] - low[1], turn_deg }
}

pub(super) fn may_quarter(turn: Turn) -> bool {
    matches!(turn, Turn::Quarter | Turn::Any)
}

/// One question, and the best answer so far.
struct Single<'a> {
    bed: &'a Bed,
    kind: &'a Kind,
    gap: f64,
    /// No more than this is of use.
    enough: usize,
    best: Vec<Place>,
    steps: u64,
}

pub(super) fn most(bed: &Bed, kind: &Kind, options: &Options) -> Result<Full, Refusal> {
    let (at_most, because) = at_most(bed, kind, options.gap_mm);
    let limit = kind.most_per_plate.unwrap_or(usize::MAX);
    if at_most.min(limit) > MOST_PIECES {
        let why =
            format!("the piece is so small that more than {MOST_PIECES} may go on a plate; set a limit for a plate");
        return Err(Refusal::new(crate::About::Piece(0), why));
    }
    let enough = at_most.min(limit);
    let mut single = Single { bed, kind, gap: options.gap_mm, enough, best: Vec::new(), steps: options.effort.0 };
    let proven = single.search();
    let mut places = single.best;
    places.truncate(limit);
    let (at_most, because) = match proven {
        Some(most) if most < at_most => (most, Because::Search),
        _ => (at_most, because),
    };
    if limit < at_most {
        return Ok(Full { places, at_most: limit, because: Because::Limit });
    }
    Ok(Full { places, at_most, because })
}

/// The bound without a search.
pub(super) fn at_most(bed: &Bed, kind: &Kind, gap: f64) -> (usize, Because) {
    let any = bound::by_area(bed, kind, gap);
    let brim = 2.0 * kind.brim_mm;
    match &kind.shape {
        Shape::Disc { diameter_mm } => {
            let across = diameter_mm + brim;
            let middles = [bed.width_mm, bed.depth_mm].map(|s| s - 2.0 * bed.edge_mm - across);
            let (n, because) = bound::discs(middles, across + gap);
            if any < n { (any, Because::Area) } else { (n, because) }
        }
        Shape::Rectangle { width_mm, depth_mm } if kind.turn != Turn::Any => {
            let piece = size_um([width_mm + brim, depth_mm + brim], gap);
            // A brim's corners are round, so two of them may lie nearer than their boxes: then only area is sure.
            if kind.brim_mm > 0.0 {
                return (any, Because::Area);
            }
            let (n, plain) = dual::at_most(room_um(bed, gap), piece, may_quarter(kind.turn));
            (n, if plain { Because::Area } else { Because::ScaledArea })
        }
        _ => (any, Because::Area),
    }
}

impl Single<'_> {
    fn done(&self) -> bool {
        self.best.len() >= self.enough
    }

    fn offer(&mut self, places: Vec<Place>) {
        if places.len() > self.best.len() {
            self.best = places;
        }
    }

    /// Looks in all ways that suit; returns the most there can be where a complete search says so.
    fn search(&mut self) -> Option<usize> {
        if self.enough == 0 {
            return None;
        }
        if self.bed.taken.is_empty() {
            self.boxes();
            if !self.done() {
                match &self.kind.shape {
                    Shape::Disc { diameter_mm } => self.discs(*diameter_mm + 2.0 * self.kind.brim_mm),
                    Shape::Rectangle { .. } if self.kind.turn == Turn::Any => self.any_angle(),
                    Shape::Rectangle { .. } if self.kind.brim_mm == 0.0 => return self.complete(),
                    _ => {}
                }
            }
        }
        let plain = matches!(self.kind.shape, Shape::Rectangle { .. } | Shape::Disc { .. });
        let said_by_boxes = plain && self.bed.taken.is_empty();
        if !self.done() && !said_by_boxes {
            self.nest();
        }
        None
    }

    /// Bounding boxes in blocks, of every turn that is allowed.
    fn boxes(&mut self) {
        for turn in turns(self.kind).into_iter().filter(|t| *t < 90.0) {
            let (low, high) = box_of(self.kind, turn);
            let size = size_um([high[0] - low[0], high[1] - low[1]], self.gap);
            let spots = lay(room_um(self.bed, self.gap), size, may_quarter(self.kind.turn));
            let edge = self.bed.edge_mm;
            let places = spots.into_iter().map(|(at, quarter)| {
                let corner = at.map(|um| um as f64 / UM + edge);
                place_of_box(self.kind, 0, corner, if quarter { turn + 90.0 } else { turn })
            });
            let places = places.collect();
            self.offer(places);
        }
    }

    /// Whether one more goes on, by trying everything.
    fn complete(&mut self) -> Option<usize> {
        let Shape::Rectangle { width_mm, depth_mm } = self.kind.shape else { return None };
        let room = room_um(self.bed, self.gap);
        let piece = size_um([width_mm, depth_mm], self.gap);
        let turn = may_quarter(self.kind.turn);
        // Of many pieces there is mostly too much to try: a little is tried all the same.
        let mut steps = if self.best.len() < 16 { self.steps } else { self.steps / 10 };
        while !self.done() && self.best.len() < 100 {
            match fits(room, &[(piece, self.best.len() + 1)], turn, &mut steps) {
                Found::Fits(laid) => {
                    let edge = self.bed.edge_mm;
                    let places = laid.into_iter().map(|(at, size, _)| {
                        let corner = at.map(|um| um as f64 / UM + edge);
                        place_of_box(self.kind, 0, corner, if size == piece { 0.0 } else { 90.0 })
                    });
                    let places = places.collect();
                    self.offer(places);
                }
                Found::Not => return Some(self.best.len()),
                Found::Unknown => return None,
            }
        }
        None
    }

    fn discs(&mut self, across: f64) {
        let edge = self.bed.edge_mm;
        let place = |p: Point| Place { kind: 0, x_mm: p[0] + edge, y_mm: p[1] + edge, turn_deg: 0.0 };
        let room = [self.bed.width_mm - 2.0 * edge, self.bed.depth_mm - 2.0 * edge];
        for middles in disc_rows(room, across, self.gap) {
            self.offer(middles.into_iter().map(place).collect());
        }
        while !self.done() && self.best.len() < 40 {
            let mut steps = self.steps / 2;
            self.steps -= steps;
            let free = Free::Disc(across / 2.0);
            let Some(poses) = jostle(&free, room, self.gap, self.best.len() + 1, &mut steps) else { return };
            self.steps += steps;
            self.offer(poses.into_iter().map(|(p, _)| place(p)).collect());
        }
    }

    /// Convex pieces at any angle: rows aslant, and a core pushed about with rows and columns beside it.
    fn any_angle(&mut self) {
        let (low, high) = box_of(self.kind, 0.0);
        let size = [high[0] - low[0], high[1] - low[1]];
        let edge = self.bed.edge_mm;
        let room = [self.bed.width_mm - 2.0 * edge, self.bed.depth_mm - 2.0 * edge];
        let middle = [(low[0] + high[0]) / 2.0, (low[1] + high[1]) / 2.0];
        let place = |(at, turn_deg): Pose| {
            let from = turned(middle, turn_deg);
            Place { kind: 0, x_mm: at[0] - from[0] + edge, y_mm: at[1] - from[1] + edge, turn_deg }
        };
        let slanting = aslant(room, size, self.gap);
        self.offer(slanting.into_iter().map(place).collect());
        while !self.done() && self.best.len() < 40 {
            let target = self.best.len() + 1;
            let Some(poses) = self.core(room, size, target) else { return };
            self.offer(poses.into_iter().map(place).collect());
        }
    }

    /// One core of few pieces at free angles, with full rows and columns beside it.
    fn core(&mut self, room: Point, size: Point, target: usize) -> Option<Vec<Pose>> {
        const MOST_CORE: usize = 8;
        let half = [size[0] / 2.0, size[1] / 2.0];
        let corners = vec![[-half[0], -half[1]], [half[0], -half[1]], half, [-half[0], half[1]]];
        let free = Free::Convex(corners);
        let mut cores = Vec::new();
        for rows in strips(size, room[1]) {
            for columns in strips(size, room[0]) {
                let (poses, core) = beside(room, size, self.gap, &rows, &columns);
                let Some(rest) = target.checked_sub(poses.len()).filter(|n| (1..=MOST_CORE).contains(n)) else {
                    continue;
                };
                let area = (size[0] + self.gap) * (size[1] + self.gap) * rest as f64;
                if core[0] > 0.0 && core[1] > 0.0 && area <= (core[0] + self.gap) * (core[1] + self.gap) {
                    cores.push((rest, poses, core));
                }
            }
        }
        cores.sort_by_key(|c| c.0);
        let share = self.steps / (2 * cores.len().max(1) as u64);
        for (rest, mut poses, core) in cores {
            let mut steps = share;
            self.steps -= share;
            if let Some(found) = jostle(&free, core, self.gap, rest, &mut steps) {
                self.steps += steps;
                poses.extend(found);
                return Some(poses);
            }
        }
        None
    }

    /// Outlines by what they really cover: pairs that lie close, in blocks, and piece by piece.
    fn nest(&mut self) {
        let mut bodies = Bodies::new(self.bed);
        let ways: Vec<usize> =
            turns(self.kind).into_iter().map(|t| bodies.add(Body::new(self.kind, 0, t, self.gap))).collect();
        if self.bed.taken.is_empty() {
            self.cells();
            self.pairs(&mut bodies, &ways);
        }
        if !self.done() {
            let plain = self.fill(&mut bodies, &ways, Sheet::default(), &mut None);
            self.offer(plain);
        }
        let mut dice = Some(Dice::new(1));
        let mut tries = 0;
        while !self.done() && self.steps > 0 && tries < 4_000 && self.best.len() < 200 {
            let places = self.fill(&mut bodies, &ways, Sheet::default(), &mut dice);
            self.offer(places);
            tries += 1;
        }
    }

    /// The room cut into equal cells, each filled alike with a few pieces.
    fn cells(&mut self) {
        const MOST_IN_A_CELL: usize = 8;
        let room = [self.bed.width_mm, self.bed.depth_mm].map(|side| side - 2.0 * self.bed.edge_mm);
        let mut ways: Vec<(usize, usize, usize)> = Vec::new();
        for across in 1..=12 {
            for up in 1..=12 {
                let each = self.enough / (across * up);
                // Two are a pair, and those are laid already.
                if across * up > 1 && (3..=MOST_IN_A_CELL).contains(&each) {
                    ways.push((each, across, up));
                }
            }
        }
        // The squarest cells first, of those the ones with few pieces: they are filled soonest.
        let slim = |(_, across, up): (usize, usize, usize)| {
            let [w, d] = [(room[0] + self.gap) / across as f64, (room[1] + self.gap) / up as f64];
            (4.0 * (w / d).ln().abs()).round()
        };
        ways.sort_by(|a, b| slim(*a).total_cmp(&slim(*b)).then(a.cmp(b)));
        for (each, across, up) in ways {
            if self.done() || self.steps == 0 {
                return;
            }
            if each * across * up <= self.best.len() {
                continue;
            }
            let side = |k: usize, n: usize| (room[k] + self.gap) / n as f64 - self.gap;
            let cell = Bed { width_mm: side(0, across), depth_mm: side(1, up), ..Bed::default() };
            let Some(filled) = self.cell(&cell, each) else { continue };
            let mut places = Vec::new();
            for n in 0..across * up {
                let (column, row) = ((n % across) as f64, (n / across) as f64);
                let x = self.bed.edge_mm + column * (cell.width_mm + self.gap);
                let y = self.bed.edge_mm + row * (cell.depth_mm + self.gap);
                places.extend(filled.iter().map(|p| Place { x_mm: p.x_mm + x, y_mm: p.y_mm + y, ..*p }));
            }
            self.offer(places);
        }
    }

    /// So many pieces in a cell, piece by piece and by chance; none if they were not brought in.
    fn cell(&mut self, cell: &Bed, pieces: usize) -> Option<Vec<Place>> {
        const TRIES: usize = 400;
        if cell.width_mm <= 0.0 || cell.depth_mm <= 0.0 || bound::by_area(cell, self.kind, self.gap) < pieces {
            return None;
        }
        let mut inner = Single {
            bed: cell,
            kind: self.kind,
            gap: self.gap,
            enough: pieces,
            best: Vec::new(),
            steps: self.steps / 12,
        };
        let before = inner.steps;
        let mut bodies = Bodies::new(cell);
        let ways: Vec<usize> =
            turns(self.kind).into_iter().map(|t| bodies.add(Body::new(self.kind, 0, t, self.gap))).collect();
        let mut dice = Some(Dice::new(pieces as u64));
        let mut found = None;
        for _ in 0..TRIES {
            let places = inner.fill(&mut bodies, &ways, Sheet::default(), &mut dice);
            if places.len() >= pieces {
                found = Some(places);
                break;
            }
            if inner.steps == 0 {
                break;
            }
        }
        self.steps = self.steps.saturating_sub(before - inner.steps);
        found
    }

    /// Adds pieces until none goes on: each the way that lies lowest, or now and then one by chance.
    fn fill(&mut self, bodies: &mut Bodies, ways: &[usize], mut sheet: Sheet, dice: &mut Option<Dice>) -> Vec<Place> {
        let mut count = sheet.places(bodies).len();
        while count < self.enough {
            let mut spots: Vec<(f64, f64, usize, Point)> = Vec::new();
            for &way in ways {
                let mut used = 0;
                let at = sheet.lowest(bodies, way, &mut used);
                self.steps = self.steps.saturating_sub(used);
                if let Some(at) = at {
                    spots.push((at[1] + bodies.all[way].high[1], at[0] + bodies.all[way].low[0], way, at));
                }
            }
            spots.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
            let pick = match dice {
                Some(dice) => dice.below(spots.len()),
                None => 0,
            };
            let Some((_, _, way, at)) = spots.get(pick) else { break };
            sheet.placed.push((*way, *at));
            count += bodies.all[*way].pieces.len();
            if self.steps == 0 {
                break;
            }
        }
        sheet.places(bodies)
    }

    /// Pairs that lie close together, their boxes in blocks, what is left filled piece by piece.
    fn pairs(&mut self, bodies: &mut Bodies, ways: &[usize]) {
        let room = [0, 1].map(|k| [self.bed.width_mm, self.bed.depth_mm][k] - 2.0 * self.bed.edge_mm);
        let mut targets = [Vec::new(), Vec::new()];
        for k in 0..2 {
            let both = if may_quarter(self.kind.turn) { vec![room[0], room[1]] } else { vec![room[k]] };
            for side in both {
                targets[k].extend((1..=6).map(|n| (side + self.gap) / f64::from(n) - self.gap));
            }
        }
        let mut found = pairings(bodies, ways, &targets, &mut self.steps);
        found.truncate(60);
        let mut tried: Vec<(usize, Body, Vec<blocks::Spot>)> = Vec::new();
        for pair in found {
            let spots = lay(room_um(self.bed, self.gap), size_um(pair.size(), self.gap), may_quarter(self.kind.turn));
            tried.push((spots.len(), pair, spots));
        }
        tried.sort_by_key(|t| std::cmp::Reverse(t.0));
        for (count, pair, spots) in tried.into_iter().take(8) {
            if 2 * count + 2 < self.best.len() {
                break;
            }
            let mut sheet = Sheet::default();
            let upright = bodies.add(pair.clone());
            let lying = bodies.add(self.quarter(&pair));
            for (at, quarter) in spots {
                let body = if quarter { lying } else { upright };
                let low = bodies.all[body].low;
                let corner = at.map(|um| um as f64 / UM + self.bed.edge_mm);
                sheet.placed.push((body, [corner[0] - low[0], corner[1] - low[1]]));
            }
            let places = if count > 100 { sheet.places(bodies) } else { self.fill(bodies, ways, sheet, &mut None) };
            self.offer(places);
            if self.done() {
                return;
            }
        }
    }

    /// A pair turned by a quarter.
    fn quarter(&self, pair: &Body) -> Body {
        let body = |i: usize| {
            let (_, at, turn) = pair.pieces[i];
            (Body::new(self.kind, 0, (turn + 90.0) % 360.0, self.gap), turned(at, 90.0))
        };
        let ((first, a), (second, b)) = (body(0), body(1));
        first.with(&second, [b[0] - a[0], b[1] - a[1]])
    }
}

/// Boxes in blocks where they may be turned, else in rows.
pub(super) fn lay(room: [i64; 2], size: [i64; 2], turn: bool) -> Vec<([i64; 2], bool)> {
    if turn { blocks::arrange(room, size) } else { blocks::rows(room, size) }
}

/// Positions of the second body beside the first that may make a small box: where they touch, at corners, where their
/// boxes are flush and where the box is just as high or wide as wanted. Smallest first.
fn pairings(bodies: &mut Bodies, ways: &[usize], targets: &[Vec<f64>; 2], steps: &mut u64) -> Vec<Body> {
    let mut found: Vec<(f64, Point, usize, usize, Point)> = Vec::new();
    for &a in ways {
        for &b in ways {
            let barred = bodies.apart(a, b).to_vec();
            let (one, two) = (&bodies.all[a], &bodies.all[b]);
            for convex in &barred {
                for i in 0..convex.len() {
                    let side = (convex[i], convex[(i + 1) % convex.len()]);
                    for at in touches(side, one, two, targets) {
                        *steps = steps.saturating_sub(barred.len() as u64 * 8);
                        if barred.iter().any(|c| holds(c, at)) {
                            continue;
                        }
                        let size =
                            [0, 1].map(|k| one.high[k].max(two.high[k] + at[k]) - one.low[k].min(two.low[k] + at[k]));
                        found.push((size[0] * size[1], size, a, b, at));
                    }
                }
            }
        }
    }
    found.sort_by(|p, q| p.0.total_cmp(&q.0).then(p.1[0].total_cmp(&q.1[0])).then(p.2.cmp(&q.2)).then(p.3.cmp(&q.3)));
    // Only boxes that no smaller one fits in.
    let mut kept: Vec<(f64, Point, usize, usize, Point)> = Vec::new();
    for pair in found {
        let fits_in = |k: &(f64, Point, usize, usize, Point)| (0..2).all(|axis| k.1[axis] <= pair.1[axis] + SAME);
        if kept.len() < 200 && !kept.iter().any(fits_in) {
            kept.push(pair);
        }
    }
    kept.into_iter().map(|(_, _, a, b, at)| bodies.all[a].with(&bodies.all[b], at)).collect()
}

fn touches(side: (Point, Point), one: &Body, two: &Body, targets: &[Vec<f64>; 2]) -> Vec<Point> {
    let (p, q) = side;
    let mut along = vec![0.0];
    for k in 0..2 {
        let length = q[k] - p[k];
        if length.abs() < SAME {
            continue;
        }
        let mut at = |value: f64| {
            let t = (value - p[k]) / length;
            if t > 0.0 && t < 1.0 {
                along.push(t);
            }
        };
        at(one.low[k] - two.low[k]);
        at(one.high[k] - two.high[k]);
        for target in &targets[k] {
            // The second sticks out above, or below.
            at(one.low[k] + target - two.high[k]);
            at(one.high[k] - target - two.low[k]);
        }
    }
    along.into_iter().map(|t| [p[0] + t * (q[0] - p[0]), p[1] + t * (q[1] - p[1])]).collect()
}

/// Strips that may be set aside along one side of a room: none, one, or two, of either depth.
fn strips(size: Point, length: f64) -> Vec<Vec<f64>> {
    let mut ways = vec![Vec::new(), vec![size[0]]];
    if size[0] != size[1] {
        ways.push(vec![size[1]]);
    }
    for i in 1..ways.len() {
        for j in i..ways.len() {
            if let ([a], [b]) = (&ways[i][..], &ways[j][..]) {
                ways.push(vec![*a, *b]);
            }
        }
    }
    ways.retain(|w| w.iter().sum::<f64>() < length);
    ways
}

/// Full rows along the bottom and columns along the left, and the room that is left above and beside them.
fn beside(room: Point, size: Point, gap: f64, rows: &[f64], columns: &[f64]) -> (Vec<Pose>, Point) {
    let mut poses = Vec::new();
    let mut up = 0.0;
    let other = |depth: f64| if depth == size[0] { size[1] } else { size[0] };
    // A strip's depth is one side of the piece; the other lies along it.
    for depth in rows {
        let along = other(*depth);
        let turn = if along == size[0] { 0.0 } else { 90.0 };
        let count = ((room[0] + gap) / (along + gap) + 1e-9).floor() as usize;
        poses.extend((0..count).map(|k| ([k as f64 * (along + gap) + along / 2.0, up + depth / 2.0], turn)));
        up += depth + gap;
    }
    let mut right = 0.0;
    for depth in columns {
        let along = other(*depth);
        let turn = if along == size[1] { 0.0 } else { 90.0 };
        let count = ((room[1] - up + gap) / (along + gap) + 1e-9).floor().max(0.0) as usize;
        poses.extend((0..count).map(|k| ([right + depth / 2.0, up + k as f64 * (along + gap) + along / 2.0], turn)));
        right += depth + gap;
    }
    // Mirrored about the room's middle: the strips come to lie at the top and right, the core at the origin.
    let poses = poses.into_iter().map(|(p, turn): Pose| ([room[0] - p[0], room[1] - p[1]], turn)).collect();
    (poses, [room[0] - right, room[1] - up])
}

/// Discs in rows, each row set between those beside it, along either side.
fn disc_rows(room: Point, across: f64, gap: f64) -> Vec<Vec<Point>> {
    let distance = across + gap;
    let mut layouts = Vec::new();
    for swap in [false, true] {
        let (w, d) = if swap { (room[1] - across, room[0] - across) } else { (room[0] - across, room[1] - across) };
        if w < -SAME || d < -SAME {
            continue;
        }
        let (w, d) = (w.max(0.0), d.max(0.0));
        let in_row = (w / distance + 1e-9).floor() as usize + 1;
        // Rows as long as each other, or every other row one shorter; stretched as far as the room allows.
        let stretched = |parts: f64| if parts > 0.0 { w / parts } else { f64::INFINITY };
        let ways =
            [(in_row, in_row, stretched(in_row as f64 - 0.5)), (in_row, in_row - 1, stretched(in_row as f64 - 1.0))];
        for (even, odd, step) in ways {
            if step < distance - SAME {
                continue;
            }
            let step = step.min(2.0 * distance);
            let half = step / 2.0;
            let pitch = (distance * distance - half * half).max(0.0).sqrt().max(distance / 2.0);
            let rows = (d / pitch + 1e-9).floor() as usize + 1;
            let mut middles = Vec::new();
            for row in 0..rows {
                let (count, from) = if row % 2 == 0 { (even, 0.0) } else { (odd, half) };
                for k in 0..count {
                    let p = [across / 2.0 + from + k as f64 * step, across / 2.0 + row as f64 * pitch];
                    if p[0] <= w + across / 2.0 + SAME {
                        middles.push(if swap { [p[1], p[0]] } else { p });
                    }
                }
            }
            layouts.push(middles);
        }
    }
    layouts
}

/// What a piece covers with its brim, roughly, for sorting by size.
pub(super) fn area_of(kind: &Kind) -> f64 {
    let (low, high) = box_of(kind, 0.0);
    match &kind.shape {
        Shape::Rectangle { .. } => (high[0] - low[0]) * (high[1] - low[1]),
        Shape::Disc { .. } => (high[0] - low[0]).powi(2) * std::f64::consts::FRAC_PI_4,
        Shape::Outline(points) => area(&hull(&tidied(points))).min((high[0] - low[0]) * (high[1] - low[1])),
    }
}
