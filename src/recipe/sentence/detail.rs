//! Details of settings, and what is told of the mesh.

use crate::catalogue::words::{Role, Stored};
use crate::geometry::mesh::Point;
use crate::quantity::{Area, Length, Mass, Volume};

/// What a person at the machine needs beside a decision's name.
#[derive(Debug, Clone, Default, PartialEq)]
pub enum Detail {
    /// Nothing more to say.
    #[default]
    Nothing,
    /// What is on the machine now.
    Printer {
        /// The shop's name, where it is not the built-in bench.
        shop: Option<String>,
        /// Spool on it, or the material where no spool is named; `None` where the shop says neither.
        loaded: Option<String>,
        /// Nozzle in it.
        fitted: Option<String>,
        /// Surface on it.
        mounted: Option<String>,
    },
    /// What the material is and where it comes from.
    Material {
        /// The polymer in full.
        title: String,
        /// `None` where the shop lists no spools.
        spool: Option<Spool>,
    },
    /// What tells one nozzle from another.
    Nozzle {
        /// What it is made of.
        metal: String,
        /// Diameter of its opening.
        bore: Length,
        /// The other machine that has it now.
        held: Option<String>,
    },
    /// What the surface is.
    Surface {
        /// In full.
        title: String,
        /// The other machine that has it now.
        held: Option<String>,
    },
    /// What an agent is there for.
    Bond {
        /// Whether it helps the part hold or come off.
        role: Option<Role>,
        /// How material and surface hold on to each other with it.
        strength: String,
    },
    /// How to lay the part.
    Pose {
        /// What it lies on.
        lay: Lay,
        /// How the layers lie to the loads.
        layers: Layers,
        /// In the terms of ISO 17295.
        notation: Option<String>,
        /// About the vertical from where the file has it, degrees.
        turned: Option<f64>,
        /// Where it fits the bed only askew: the turn from the bed's long side, from and to which it fits, degrees, and the
        /// room then left.
        askew: Option<(f64, [f64; 2], Length)>,
        /// Longer and shorter side on the bed.
        footprint: [Length; 2],
        /// Above the bed.
        height: Length,
    },
    /// What a build-up comes to in settings, where they are known.
    BuildUp {
        /// Lines of each wall.
        beads: Option<f64>,
        /// Closed layers on top.
        above: Option<f64>,
        /// Closed layers at the bottom.
        below: Option<f64>,
        /// Share of the inside that is filled, 0 to 1.
        infill: Option<f64>,
    },
    /// In words.
    Told(String),
}

#[derive(Debug, Clone, PartialEq)]
pub struct Spool {
    pub name: String,
    pub colour: Option<String>,
    pub left: Option<Mass>,
    /// How it is kept, where the shop's file says so and no machine has it.
    pub kept: Option<Stored>,
    /// The other machine that has it now.
    pub held: Option<String>,
}

/// What the part lies on.
#[derive(Debug, Clone, PartialEq)]
pub enum Lay {
    Face { name: String, upright: bool },
    Edge { down: [f64; 3] },
    End { down: [f64; 3] },
    Part { down: [f64; 3] },
    Flat { down: [f64; 3] },
}

/// How the layers lie to the loads.
#[derive(Debug, Clone, PartialEq)]
pub enum Layers {
    Nothing,
    /// Loads that pull them apart.
    Across(Vec<String>),
    /// They run with the stress of one load, or of every one.
    AlongOne(String),
    AlongAll,
}

/// A fact of the mesh.
#[derive(Debug, Clone, PartialEq)]
pub enum MeshValue {
    /// How many.
    Count(usize),
    /// Along x, y and z of the file.
    Size([Length; 3]),
    /// Of a surface.
    Area(Area),
    /// Of the material, or a hollow.
    Volume(Volume),
    /// A mesh that is no closed surface has no volume.
    NotClosed,
    /// The thinnest wall.
    Wall {
        /// How thin, and where.
        at: Place,
        /// Nozzles of the bench by how many lines they lay in it.
        nozzles: Vec<(Beads, Vec<String>)>,
        /// Whether it is no more than a spot.
        spot: bool,
    },
    /// The narrowest gap.
    Gap {
        /// How narrow, and where.
        at: Place,
        /// The width below which it fuses, where it is narrower.
        fuses_below: Option<Length>,
    },
    /// Where a face that the spec names was found.
    Face {
        /// What the spec calls it.
        name: String,
        /// Of what is in one piece there.
        area: Area,
        /// A place on it.
        at: Point,
    },
    /// A hollow wholly inside.
    Cavity {
        /// Its free volume.
        volume: Volume,
        /// The middle of it, in the axes of the file, mm.
        at: Point,
        /// What could get out, in words.
        way: &'static str,
    },
    /// So many more of the kind.
    More(usize),
    /// What lies on the bed.
    FirstLayer {
        /// Of its outline.
        area: Area,
        /// Separate pieces of it.
        patches: usize,
        /// Longest distance across it.
        across: Length,
        /// Sharp outer corners, which lift first.
        corners: usize,
        /// Where those are, in the axes of the file, mm.
        corners_at: Vec<Point>,
    },
    /// The part stands by itself.
    Stands {
        /// How far it may lean before it tips, degrees.
        lean_deg: f64,
        /// Height over the shorter side of its foot.
        slenderness: f64,
    },
    /// The part would tip over, standing loose.
    StandsNot,
    /// A slope that prints, a little below the limit.
    AtLimit {
        /// How much of the part leans so.
        area: Area,
        /// Degrees from vertical: the steepest.
        angle_deg: f64,
        /// Degrees from vertical: the limit.
        limit_deg: f64,
        /// Whose limit that is.
        origin: String,
        /// How far each layer steps out.
        step: Length,
        /// Over what width of line.
        line: Length,
    },
    /// What lifts the ends of a long and low part.
    Curl {
        /// Longest distance over thickness.
        length: Length,
        /// Its name, and how much it warps.
        material: Option<(String, String)>,
        /// Laid against it; `None` where the settings have none.
        brim: Option<Length>,
    },
    /// In the words of the mesh reader.
    Told(String),
}

/// A size at a place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Place {
    pub size: Length,
    pub at: Point,
}

/// How many lines of a nozzle a wall takes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Beads {
    TwoOrMore,
    One,
    None,
}

impl Beads {
    pub const ALL: [Self; 3] = [Self::TwoOrMore, Self::One, Self::None];
}
