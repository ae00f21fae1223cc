//! How many pieces go on the bed, and where: identical rectangles, near the optimum.
//!
//! All sums are in whole micrometres: parts rounded up, the bed rounded down, so that nothing fits by rounding.

use planner::plates::blocks;

use super::registry::{Function, Parameter, apply, input};
use super::{Checked, SourceNote, not_negative, positive};
use crate::quantity::{Dimension, Length};

/// A rectangle on the bed: lower left corner and size, from the corner of the usable bed. `turned`: by a quarter turn.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Place {
    /// Of its left edge.
    pub x: Length,
    /// Of its front edge.
    pub y: Length,
    /// Along x, as it lies.
    pub width: Length,
    /// Along y, as it lies.
    pub depth: Length,
    /// Whether it lies a quarter turn from how it was given.
    pub turned: bool,
}

/// One bed full.
#[derive(Debug, Clone, PartialEq)]
pub struct Plate {
    /// The pieces, none over another.
    pub places: Vec<Place>,
    /// Area of the pieces over the area of the usable bed.
    pub fill: f64,
}

/// Identical pieces on one bed, with the area bound no arrangement can beat.
#[derive(Debug, Clone, PartialEq)]
pub struct BedLoad {
    /// Pieces found room for.
    pub count: usize,
    /// What the area would hold.
    pub bound: usize,
    /// How they lie.
    pub plate: Plate,
}

/// Sizes in whole micrometres with the gap already added to pieces and bed.
#[derive(Debug, Clone, Copy)]
struct Grid {
    bed: [i64; 2],
    gap: i64,
}

const MOST_PIECES: usize = 20_000;
/// Ten kilometres in micrometres: sizes beyond are cut to it, so that no product overflows.
const MOST_UM: f64 = 1e10;

impl Grid {
    fn new(bed: [Length; 2], gap: Length, margin: Length) -> Checked<Self> {
        let gap = (not_negative("a gap between pieces", gap.to_um())?.min(MOST_UM) - 1e-6).ceil() as i64;
        let margin = not_negative("a margin at the bed edge", margin.to_um())?.min(MOST_UM);
        let mut sides = [0_i64; 2];
        for (side, length) in sides.iter_mut().zip(bed) {
            let um = positive("a bed side", length.to_um())?.min(MOST_UM);
            // A piece of size s takes s + gap of a bed lengthened by one gap.
            *side = (um - 2.0 * margin + 1e-6).floor() as i64 + gap;
        }
        Ok(Self { bed: sides, gap })
    }

    fn piece(&self, size: [Length; 2]) -> Checked<[i64; 2]> {
        let mut sides = [0_i64; 2];
        for (side, length) in sides.iter_mut().zip(size) {
            let um = positive("a piece side", length.to_um())?.min(MOST_UM);
            *side = (um - 1e-6).ceil() as i64 + self.gap;
        }
        Ok(sides)
    }

    fn place(&self, at: [i64; 2], size: [i64; 2], turned: bool) -> Place {
        let length = |um: i64| Length::um(um as f64);
        Place {
            x: length(at[0]),
            y: length(at[1]),
            width: length(size[0] - self.gap),
            depth: length(size[1] - self.gap),
            turned,
        }
    }

    fn fill(&self, places: &[Place]) -> f64 {
        let bed = (self.bed[0] - self.gap) as f64 * (self.bed[1] - self.gap) as f64;
        let used: f64 = places.iter().map(|p| p.width.to_um() * p.depth.to_um()).sum();
        if bed > 0.0 { used / bed } else { 0.0 }
    }
}

/// Places as many identical rectangles on a bed as it finds room for, quarter turns allowed, `gap` between pieces and
/// `margin` left free at the edges.
///
/// Best guillotine layout of both orientations, then five-block layouts of such blocks (Bischoff and Dowsland 1982,
/// Morabito and Morales 1998): optimal in the published cases tested; never overlapping, never more than fits. At most
/// 20,000 pieces.
pub fn on_bed(bed: [Length; 2], piece: [Length; 2], gap: Length, margin: Length) -> Checked<BedLoad> {
    let grid = Grid::new(bed, gap, margin)?;
    let size = grid.piece(piece)?;
    let bound = blocks::area_bound(grid.bed, size);
    if bound > MOST_PIECES {
        return Err(format!("the piece is so small that more than {MOST_PIECES} fit; plan such a plate by hand"));
    }
    let spots = blocks::arrange(grid.bed, size);
    let places: Vec<Place> = spots
        .into_iter()
        .map(|(at, turned)| grid.place(at, if turned { [size[1], size[0]] } else { size }, turned))
        .collect();
    let fill = grid.fill(&places);
    Ok(BedLoad { count: places.len(), bound, plate: Plate { places, fill } })
}

/// Returns whether plain rows hold as many identical pieces as are wanted: [`on_bed`], which takes far longer, then does too.
pub fn rows_hold(wanted: usize, bed: [Length; 2], piece: [Length; 2], gap: Length, margin: Length) -> Checked<bool> {
    let grid = Grid::new(bed, gap, margin)?;
    let size = grid.piece(piece)?;
    Ok(blocks::area_bound(grid.bed, size) >= wanted && blocks::in_rows(grid.bed, size) >= wanted)
}

/// Number of identical pieces [`on_bed`] places, for the registry.
pub fn pieces_on_bed(
    bed_width: Length,
    bed_depth: Length,
    width: Length,
    depth: Length,
    gap: Length,
    margin: Length,
) -> Checked<f64> {
    on_bed([bed_width, bed_depth], [width, depth], gap, margin).map(|load| load.count as f64)
}

const BED_WIDTH: Parameter = input("bed_width", Dimension::LENGTH, "width of the bed");
const BED_DEPTH: Parameter = input("bed_depth", Dimension::LENGTH, "depth of the bed");

pub(super) const FUNCTIONS: &[Function] = &[Function {
    name: "pieces_on_bed",
    inputs: &[
        BED_WIDTH,
        BED_DEPTH,
        input("width", Dimension::LENGTH, "width of the piece with its brim"),
        input("depth", Dimension::LENGTH, "depth of the piece with its brim"),
        input("gap", Dimension::LENGTH, "gap between pieces"),
        input("margin", Dimension::LENGTH, "margin left free at the bed edge"),
    ],
    output: Dimension::NONE,
    formula: "best guillotine or five-block layout of both orientations",
    source: SourceNote::new(
        "paper",
        "five-block heuristic: Bischoff and Dowsland 1982; Morabito and Morales, J. Oper. Res. Soc. 49 (1998) (recalled)",
    ),
    help: "how many identical rectangles go on a bed",
    example: &["250 mm", "210 mm", "60 mm", "42 mm", "5 mm", "5 mm"],
    evaluate: apply!(pieces_on_bed; 0 1 2 3 4 5),
}];
