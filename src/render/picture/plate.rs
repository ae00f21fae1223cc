//! The bed from above: the pieces of one round as they lie, turned and spaced, with their brims.

use crate::geometry::mesh::Mesh;
use crate::geometry::pose::Pose;
use crate::geometry::pose::footprint::{Point2, shadow};
use crate::physics::packing::{self, Place};
use crate::quantity::Length;
use crate::render::figure::Plate;

/// What lies on a bed, and what bed it is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Round {
    /// Sides of the bed.
    pub bed: [Length; 2],
    /// Left free at its edges.
    pub edge: Length,
    /// Left between pieces.
    pub gap: Length,
    /// Pieces of a full round.
    pub pieces: usize,
    /// Width of the brim about each.
    pub brim: Length,
    /// By how much a piece lies askew, degrees; 0 where it lies square.
    pub askew_deg: f64,
}

/// Draws a round where there is more to see than one piece in the middle of the bed.
pub(super) fn plate(mesh: &Mesh, pose: &Pose, turn_deg: f64, round: &Round) -> Option<Plate> {
    let brim = round.brim.to_mm();
    if round.pieces < 2 && brim <= 0.0 && round.askew_deg == 0.0 {
        return None;
    }
    let shadow = shadow(mesh, pose, turn_deg + round.askew_deg)?;
    let size = [0, 1].map(|k| shadow.iter().fold(0.0, |most: f64, p| most.max(p[k])));
    let bed = round.bed.map(|side| side.to_mm());
    let mut lying = Vec::new();
    for place in places(round, size) {
        let ring: Vec<Point2> = shadow.iter().map(|&p| laid(p, size, &place, brim)).collect();
        lying.push(ring);
    }
    let brims = if brim > 0.0 { lying.iter().map(|ring| grown(ring, brim)).collect() } else { Vec::new() };
    let pieces = lying.len();
    let room = if brim > 0.0 { format!(", brim {brim:.0} mm") } else { String::new() };
    let askew = if round.askew_deg == 0.0 { String::new() } else { ", askew".to_owned() };
    let title = format!("bed {:.0} x {:.0} mm from above", bed[0], bed[1]);
    let note = format!("{pieces} on it{room}{askew}");
    Some(Plate { title, note, bed, edge: round.edge.to_mm(), pieces: lying, brims })
}

/// Returns where the pieces lie, in order from the front left; what fits only askew lies in the middle.
fn places(round: &Round, size: [f64; 2]) -> Vec<Place> {
    let around = 2.0 * round.brim.to_mm();
    let piece = size.map(|side| Length::mm(side + around));
    let found = packing::on_bed(round.bed, piece, round.gap, round.edge).map_or(Vec::new(), |load| load.plate.places);
    if found.len() < round.pieces || round.pieces < 2 {
        let [x, y] = [0, 1].map(|k| Length::mm(0.5 * (round.bed[k].to_mm() - size[k] - around)));
        return vec![Place { x, y, width: piece[0], depth: piece[1], turned: false }];
    }
    let mut found: Vec<Place> = found
        .into_iter()
        .map(|p| Place {
            x: Length::mm(p.x.to_mm() + round.edge.to_mm()),
            y: Length::mm(p.y.to_mm() + round.edge.to_mm()),
            ..p
        })
        .collect();
    found.sort_by(|a, b| a.y.to_mm().total_cmp(&b.y.to_mm()).then(a.x.to_mm().total_cmp(&b.x.to_mm())));
    found.truncate(round.pieces);
    found
}

/// Moves a point of the shadow to its piece's place, turned by a quarter where that lies so.
fn laid(p: Point2, size: [f64; 2], place: &Place, brim: f64) -> Point2 {
    let [x, y] = if place.turned { [size[1] - p[1], p[0]] } else { p };
    [place.x.to_mm() + brim + x, place.y.to_mm() + brim + y]
}

/// Returns a convex outline, counter-clockwise, grown by a width, its corners rounded off by their tangents.
fn grown(ring: &[Point2], by: f64) -> Vec<Point2> {
    let count = ring.len();
    let mut out = Vec::with_capacity(2 * count);
    for i in 0..count {
        let (a, b) = (ring[i], ring[(i + 1) % count]);
        let length = (b[0] - a[0]).hypot(b[1] - a[1]);
        if length <= 0.0 {
            continue;
        }
        let off = [by * (b[1] - a[1]) / length, -by * (b[0] - a[0]) / length];
        out.extend([[a[0] + off[0], a[1] + off[1]], [b[0] + off[0], b[1] + off[1]]]);
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::samples::block;

    fn round(pieces: usize, brim: f64) -> Round {
        let mm = Length::mm;
        Round { bed: [mm(200.0), mm(100.0)], edge: mm(5.0), gap: mm(6.0), pieces, brim: mm(brim), askew_deg: 0.0 }
    }

    #[test]
    fn pieces_lie_on_the_bed_apart_from_each_other_brims_counted() {
        let (mesh, pose) = (block([50.0, 20.0, 10.0]), Pose::as_placed());
        for (pieces, brim) in [(2, 0.0), (4, 5.0), (1, 5.0)] {
            let plate = plate(&mesh, &pose, 0.0, &round(pieces, brim)).unwrap();
            assert_eq!(plate.pieces.len(), pieces);
            let bounds = |ring: &Vec<Point2>| {
                [0, 1].map(|k| ring.iter().fold((f64::MAX, f64::MIN), |(l, h), p| (l.min(p[k]), h.max(p[k]))))
            };
            let all = if brim > 0.0 { &plate.brims } else { &plate.pieces };
            for (i, ring) in all.iter().enumerate() {
                let [(x0, x1), (y0, y1)] = bounds(ring);
                assert!(x0 > 4.9 && x1 < 195.1 && y0 > 4.9 && y1 < 95.1, "{ring:?}");
                for other in &all[..i] {
                    let [(u0, u1), (v0, v1)] = bounds(other);
                    let apart = (x0 - u1).max(u0 - x1).max(y0 - v1).max(v0 - y1);
                    assert!(apart > 5.9, "{ring:?} {other:?}");
                }
            }
        }
        assert!(plate(&mesh, &pose, 0.0, &round(1, 0.0)).is_none());
    }
}
