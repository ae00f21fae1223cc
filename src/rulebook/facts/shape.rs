//! Facts of the mesh, of a pose of it, and of what printing it takes.

use super::words::SupportKind;
use super::{BUILD_UP, EVERY, LIMITED, MATERIAL, NOZZLE, POSE, PRINTER, SUPPORTS, facts};
use crate::quantity::{Angle, Area, Duration, Length, Mass, Money, Ratio, Volume};
use crate::rulebook::value::Text;

facts! {
    /// What the mesh says whichever way up it is printed.
    Mesh "mesh" [] {
        /// volume of the model
        volume: Volume,
        /// surface of the model
        area: Area,
        /// longest side of its box
        longest: Length,
        /// height of its box as modelled
        height: Length,
        /// middle side of its box
        middle: Length,
        /// diameter of the thinnest round thing that stands out
        peg: Length,
        /// how far that stands out
        peg_height: Length,
        /// whether the mesh is a closed surface
        closed: bool,
        /// the first thing that is wrong with its surface, with its place, as a text
        flaw: Text,
        /// whether all facets of the file face inward, so that it was turned round to be read
        turned: bool,
        /// thinnest wall found
        min_wall: Length,
        /// where the thinnest wall is, in the axes of the mesh file
        min_wall_at: Text,
        /// thinnest wall of parallel sides that is more than a spot
        broad_wall: Length,
        /// a place on that wall, in the axes of the mesh file
        broad_wall_at: Text,
        /// narrowest gap found
        min_gap: Length,
        /// where the narrowest gap is, in the axes of the mesh file
        min_gap_at: Text,
        /// how many of the poses looked at stand on a flat side
        flat_sides: f64,
        /// separate bodies in the mesh
        pieces: f64,
        /// rooms inside it without any opening
        sealed_rooms: f64,
    }
}

facts! {
    /// The part lying one way up.
    Pose "pose" [POSE] {
        /// its short name
        label: Text,
        /// the direction that points up
        up: Text,
        /// area that overhangs beyond `pose.overhang_limit` from vertical
        overhang: Area [LIMITED],
        /// overhang from vertical that the printer is taken to print without support
        overhang_limit: Angle [LIMITED],
        /// area on the bed
        contact: Area,
        /// height
        height: Length,
        /// space under overhangs that support would fill
        support: Volume [LIMITED],
        /// longest bridge
        bridge: Length [LIMITED],
        /// longest bridge that the printer is taken to lay well
        bridge_limit: Length [LIMITED],
        /// share of the overhanging area that is bridges held at both ends
        bridged: Area [LIMITED],
        /// part of the overhanging area that is to stand on support, as each overhang is judged by itself
        wants_support: Area [LIMITED],
        /// area where support could not be reached again
        trapped: Area [LIMITED],
        /// part of that from which no way out is seen: in a room without an opening, or behind a small one
        shut_in: Area [LIMITED],
        /// how far the farthest of what cannot hold itself reaches out over nothing: slopes, ledges, what begins in the air
        unheld: Length [LIMITED],
        /// the fits that support would be laid under, by name
        fits_on_support: Text [LIMITED],
        /// whether it lies on a face, not on an edge or a few tips
        footed: bool,
        /// whether it stands on a flat side: on a face, its weight over it, and not too slender
        stands: bool,
        /// whether it lies on no face, and along no axis of the file or of its mass
        leans: bool,
        /// whether the thinnest broad wall (`mesh.broad_wall`) stands upright, so that lines and not layers make it up
        wall_stands: bool,
        /// how thick that wall is as the layers cut it, where it stands: on a slope more than square to its sides
        wall_cut: Length,
        /// share of its surface that is neither upright nor level: layers draw it in steps
        sloped: f64,
        /// height over the width of what stands on the bed, where it lies on a face
        slenderness: f64,
        /// shorter side of the smallest rectangle around what touches the bed
        footing: Length,
        /// whether its centre of mass stands over its base
        stable: bool,
        /// whether its centre of mass stands over its base and what support stands under
        propped: bool [LIMITED],
        /// whether it fits the build volume, turned about the vertical if that helps
        fits: bool [PRINTER],
        /// room between it and the edge of the bed that is kept free, turned for the most of it
        room: Length [PRINTER],
        /// whether it fits the bed only askew
        askew: bool [PRINTER],
        /// longest side of its footprint
        footprint_longest: Length,
        /// shorter side of the smallest rectangle around its footprint
        footprint_shortest: Length,
        /// the smallest load margin in this pose over the best pose's, 0 to 1
        least_margin: f64,
    }
}

facts! {
    /// What one piece takes.
    Piece "piece" [PRINTER, MATERIAL, NOZZLE, POSE, SUPPORTS, BUILD_UP] {
        /// printing time of one piece, estimated
        time: Duration,
        /// material and machine cost of one piece
        cost: Money,
    }
}

facts! {
    /// The policy of support.
    Supports "supports" [SUPPORTS] {
        /// whether support is printed where it is needed
        kind: SupportKind,
    }
}

facts! {
    /// How the inside is built.
    BuildUp "build_up" [BUILD_UP] {
        /// its name, as in the catalogue
        name: Text,
        /// thickness of the beads that follow the outline, together
        walls: Length,
        /// thickness of the closed layers, above and below
        closed: Length,
        /// share of the inside that is filled, as pinned where the spec pins it
        infill: Ratio,
    }
}

facts! {
    /// The plan of plates.
    Run "run" [EVERY] {
        /// good pieces wanted
        wanted: f64,
        /// pieces to start
        start: f64,
        /// pieces on a full plate
        per_plate: f64,
        /// plates, the last one perhaps not full
        plates: f64,
        /// pieces on the last plate
        last_plate: f64,
        /// filament of all plates together, estimated with walls and infill
        mass: Mass,
        /// printing time of a full plate, estimated
        plate_time: Duration,
        /// printing time of all plates together, estimated
        time: Duration,
        /// time from the day the printer is free to the day the part is wanted, where both days are stated
        time_left: Duration,
        /// room between pieces on a plate
        gap: Length,
        /// room from the pieces to the edge of the bed
        edge: Length,
        /// fits whose size in the mesh is to be changed before printing
        to_model: f64,
    }
}
