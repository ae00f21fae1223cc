//! Where pieces lie, on as few plates as can be found.
//!
//! A piece stands where its outline (with its brim) keeps the edge of the bed, the gap to every other piece and clear of
//! what is taken. Coordinates are mm from the corner of the bed. A place says how the outline as given is turned about its
//! own origin, anticlockwise, and then moved: a rectangle's origin is its corner, a disc's its middle.

pub mod blocks;
mod body;
mod bound;
mod boxes;
mod complete;
mod dual;
mod free;
mod mixed;
mod polygon;
mod sheet;
mod single;

use crate::Effort;
use crate::refusal::{About, Refusal, within};

/// A point or vector, mm.
pub type Point = [f64; 2];

/// Room on a machine.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Bed {
    /// Along x.
    pub width_mm: f64,
    /// Along y.
    pub depth_mm: f64,
    /// Left free along the rim.
    pub edge_mm: f64,
    /// Outlines of what is taken: clamps, a worn spot. A piece keeps out of them, brim and all.
    pub taken: Vec<Vec<Point>>,
}

/// What a piece covers, seen from above: first layer and shadow.
#[derive(Debug, Clone, PartialEq)]
pub enum Shape {
    /// From its corner.
    Rectangle {
        /// Along x.
        width_mm: f64,
        /// Along y.
        depth_mm: f64,
    },
    /// About its middle.
    Disc {
        /// Across.
        diameter_mm: f64,
    },
    /// A simple polygon, either way round.
    Outline(Vec<Point>),
}

/// How a piece may be turned about the vertical.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Turn {
    /// Not at all.
    Fixed,
    /// End for end.
    Half,
    /// By quarters.
    #[default]
    Quarter,
    /// By any angle.
    Any,
}

/// Equal pieces.
#[derive(Debug, Clone, PartialEq)]
pub struct Kind {
    /// What one covers.
    pub shape: Shape,
    /// How wide a brim lies round it.
    pub brim_mm: f64,
    /// How it may be turned.
    pub turn: Turn,
    /// How many are wanted.
    pub count: usize,
    /// No more than this on one plate, whatever room there is.
    pub most_per_plate: Option<usize>,
}

/// How plates are filled once there are as few as can be.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Policy {
    /// As many on each, so that none is nearly empty.
    #[default]
    Balanced,
    /// Full ones first, the rest on the last.
    FillFirst,
}

/// What holds of all plates of a question.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Options {
    /// Least distance of two pieces, brims included.
    pub gap_mm: f64,
    /// How plates are filled.
    pub policy: Policy,
    /// Whether kinds share plates.
    pub mixed: bool,
    /// How much to search.
    pub effort: Effort,
}

/// Where one piece lies.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Place {
    /// Its kind.
    pub kind: usize,
    /// Where its origin is.
    pub x_mm: f64,
    /// Where its origin is.
    pub y_mm: f64,
    /// How it is turned about its origin, anticlockwise.
    pub turn_deg: f64,
}

/// What no arrangement can beat, and why.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Because {
    /// Area: each piece with its share of the gap.
    Area,
    /// Area, with lengths taken for others that fit no better (dual feasible functions).
    ScaledArea,
    /// Every arrangement was tried.
    Search,
    /// A result of the literature on equal discs or squares.
    Literature,
    /// The limit that was set for a plate.
    Limit,
}

/// Equal pieces on one plate.
#[derive(Debug, Clone, PartialEq)]
pub struct Full {
    /// How they lie.
    pub places: Vec<Place>,
    /// More than this cannot.
    pub at_most: usize,
    /// Why not.
    pub because: Because,
}

impl Full {
    /// Whether it is proven that no more go on a plate.
    pub fn is_proven(&self) -> bool {
        self.places.len() >= self.at_most
    }
}

/// All pieces on plates.
#[derive(Debug, Clone, PartialEq)]
pub struct Plates {
    /// Each plate's pieces.
    pub plates: Vec<Vec<Place>>,
    /// Fewer plates than this cannot do.
    pub at_least: usize,
    /// Why not.
    pub because: Because,
}

impl Plates {
    /// Whether it is proven that no fewer do.
    pub fn is_proven(&self) -> bool {
        self.plates.len() <= self.at_least
    }
}

/// Returns as many equal pieces as can be found room for on one plate (the kind's count is not looked at).
///
/// Refused: sizes that are none, outlines that are no simple polygon. A piece larger than the bed gives none.
pub fn most(bed: &Bed, kind: &Kind, options: &Options) -> Result<Full, Refusal> {
    check(bed, std::slice::from_ref(kind), options)?;
    single::most(bed, kind, options)
}

/// Returns all pieces on plates, as few as can be found.
///
/// Refused besides: a piece that does not go on an empty plate.
pub fn plates(bed: &Bed, kinds: &[Kind], options: &Options) -> Result<Plates, Refusal> {
    check(bed, kinds, options)?;
    mixed::plates(bed, kinds, options)
}

/// Ten kilometres: no bed and no piece is larger.
const MOST_MM: f64 = 1e7;

fn check(bed: &Bed, kinds: &[Kind], options: &Options) -> Result<(), Refusal> {
    within(About::Bed, "a bed's width in mm", bed.width_mm, 0.0, MOST_MM)?;
    within(About::Bed, "a bed's depth in mm", bed.depth_mm, 0.0, MOST_MM)?;
    within(About::Bed, "an edge in mm", bed.edge_mm, 0.0, MOST_MM)?;
    within(About::Bed, "a gap in mm", options.gap_mm, 0.0, MOST_MM)?;
    for area in &bed.taken {
        check_outline(About::Bed, area)?;
    }
    for (index, kind) in kinds.iter().enumerate() {
        let about = About::Piece(index);
        within(about, "a brim in mm", kind.brim_mm, 0.0, MOST_MM)?;
        match &kind.shape {
            Shape::Rectangle { width_mm, depth_mm } => {
                within(about, "a width in mm", *width_mm, 1e-3, MOST_MM)?;
                within(about, "a depth in mm", *depth_mm, 1e-3, MOST_MM)?;
            }
            Shape::Disc { diameter_mm } => {
                within(about, "a diameter in mm", *diameter_mm, 1e-3, MOST_MM)?;
            }
            Shape::Outline(points) => check_outline(about, points)?,
        }
    }
    Ok(())
}

fn check_outline(about: About, points: &[Point]) -> Result<(), Refusal> {
    if points.len() < 3 {
        return Err(Refusal::new(about, "expected an outline of at least three corners"));
    }
    for value in points.iter().flatten() {
        within(about, "a coordinate in mm", *value, -MOST_MM, MOST_MM)?;
    }
    if !polygon::is_simple(&polygon::tidied(points)) {
        return Err(Refusal::new(about, "expected an outline that does not cross itself and covers something"));
    }
    Ok(())
}
