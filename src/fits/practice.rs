//! What the trade knows of printed features and their fits: the figures allowances are worked out by, as the catalogue (and a
//! workshop's own part of it) gives them. Nothing here has a value of its own.

use super::SourceKind;
use crate::quantity::{Length, trim_number};

/// What printing in one polymer does to a feature, through a 0.4 mm bore.
#[derive(Debug, Clone, PartialEq)]
pub struct Polymer {
    /// Generic name, `PETG`, `PA12-CF`; empty where none is chosen yet.
    pub name: String,
    /// Whether the catalogue knows the polymer; if not, the values are the general ones.
    pub known: bool,
    /// By how much a hole comes out smaller, on its diameter.
    pub hole_undersize: Length,
    /// By how much an outside feature comes out larger, on its diameter.
    pub boss_oversize: Length,
    /// Expected deviation of one piece about the mean, two-sided 95 %.
    pub spread: Length,
    /// Shrinkage in the plane.
    pub shrinkage: f64,
    /// Growth from dry to about half the air's humidity.
    pub moisture: f64,
    /// Shrinkage in the plane on annealing.
    pub annealing: f64,
}

/// A smallest and a largest value, and what kind of source they have.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Room {
    /// The smallest.
    pub least: Length,
    /// The largest.
    pub most: Length,
    /// How firm the two are.
    pub kind: SourceKind,
}

impl Room {
    /// Returns both ends in words, `0.05 to 0.35 mm`.
    pub fn in_words(&self) -> String {
        format!("{} to {} mm", trim_number(self.least.to_mm(), 3), trim_number(self.most.to_mm(), 3))
    }
}

/// The figures of fits that hang on no polymer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Practice {
    /// How much wider the spread of a feature is whose axis lies in the layers.
    pub lying_spread: f64,
    /// The bore the usual deviations are for, and the greatest factor a wider one is given.
    pub usual_bore: Length,
    /// Greatest factor a wider bore is given.
    pub widest_bore_factor: f64,
    /// Sag of the crown of a lying hole: constant, share of the diameter, and at most.
    pub crown_sag: Length,
    /// The share of the diameter that is added.
    pub crown_sag_share: f64,
    /// The most it is taken to be.
    pub crown_sag_most: Length,
    /// By how much the first layers are pressed wide, on the diameter.
    pub first_layer_flare: Length,
    /// How far two features of one print may be off their distance, two-sided 95 %, shrinkage aside.
    pub spacing_spread: Length,
    /// How well the shrinkage of a print is known, as a share of itself.
    pub shrinkage_doubt: f64,
    /// How well a shrinkage on annealing is known, as a share of itself.
    pub annealing_doubt: f64,
    /// A record serves for sizes from its smallest over this to its largest times this.
    pub record_reach: f64,
    /// Fewer pieces than this are few; more days than this are old.
    pub record_pieces: f64,
    /// Days after which a record is old.
    pub record_days: f64,
    /// ISO grades finer than this are never printed to size.
    pub finest_grade: f64,
    /// Coarsest ISO grade for which a metal pin goes before turning, and the finest that a twist drill holds.
    pub pinned_grade: f64,
    /// Finest ISO grade that a twist drill holds.
    pub drilled_grade: f64,
    /// How far a size of the mesh may be from the one meant: a share of the spread, within these.
    pub cad_rounding: Room,
    /// Least material a reamer or drill must find, on the diameter.
    pub cutting_stock: Length,
    /// Room a bond or crush ribs want, on the diameter.
    pub bonding_room: Length,
    /// Width of a crush rib at its tip.
    pub rib_width: Length,
    /// Process capability (Cpk) below which printing cannot hold a fit, and from which it holds it.
    pub capability_least: f64,
    /// Cpk from which printing holds a fit.
    pub capability_holds: f64,
    /// A twist drill larger than this grabs in a printed hole.
    pub drill_grabs: Length,
    /// Largest bush and largest pin there are to buy.
    pub largest_bush: Length,
    /// Largest pin there is to buy.
    pub largest_pin: Length,
    /// Smaller printed holes close up, through the usual bore.
    pub smallest_hole: Length,
    /// Play of a sliding fit, on the diameter.
    pub sliding: Room,
    /// Interference of a press fit: shares of the size, and at least.
    pub press_share: (f64, f64),
    /// Least interference, on the diameter.
    pub press_least: Room,
    /// Stretch of a rubbery print that grips: the usual share of the size, the least and the most.
    pub grip_stretch: [f64; 3],
    /// How firm these are.
    pub grip_kind: SourceKind,
    /// Width of the relief that an inner corner wants, in bores of the nozzle.
    pub corner_relief: f64,
    /// Squeeze of an O-ring at rest between a shaft and a bore, as a share of its section: usual, least, most.
    pub ring_squeeze: [f64; 3],
    /// The same in a face.
    pub ring_squeeze_face: [f64; 3],
    /// What of its groove an O-ring fills: usual, least, most.
    pub ring_fill: [f64; 3],
    /// By how much of its inside an O-ring is stretched on a shaft.
    pub ring_stretch: f64,
    /// How firm these are.
    pub ring_kind: SourceKind,
    /// Least major diameter of a thread that may be printed.
    pub printed_thread: Length,
    /// Least pitch of one, in bores of the nozzle.
    pub printed_thread_bores: f64,
    /// Play of one on its screw, on the diameter.
    pub printed_thread_play: Room,
    /// Play of a lid's lip in its rim.
    pub lid: Room,
    /// Deviation of an insert's hole either way (both ends alike).
    pub insert_hole: Room,
    /// Play of a hinge on its pin, and of one printed in place.
    pub hinge: Room,
    /// Play of a hinge that is printed in one with its pin.
    pub hinge_in_place: Room,
    /// Play of a snap in its window, and deviation of its arm either way.
    pub snap_window: Room,
    /// Deviation of a snap's arm either way.
    pub snap_arm: Length,
    /// Play of a pocket for a nut or magnet, and of a screw's head.
    pub pocket: Room,
    /// Play of a screw's head in its counterbore.
    pub head: Room,
    /// Gap all round of parts printed in place: fuses below the first, comes free from the second.
    pub in_place: Room,
    /// The same upward; one layer fuses and two come free besides.
    pub in_place_upward: Length,
    /// What is asked beyond the smallest gap that once came free.
    pub gap_record_margin: f64,
    /// A tolerance no wider than this wants a gauge finer than a caliper; smaller holes want gauge pins.
    pub fine_tolerance: Length,
    /// Holes smaller than this want gauge pins.
    pub gauge_pin_hole: Length,
    /// Every how many pieces one is measured where printing holds the fit.
    pub sample_every: f64,
    /// The strip of a living hinge: from this to that, and too thick above.
    pub hinge_strip: Room,
    /// Layers that a strip which lies flat is to have at least.
    pub hinge_layers: f64,
    /// A strip thicker than this does not fold.
    pub hinge_thick: Length,
    /// How far a usual deviation may be from that of the machine at hand, two-sided 95 %.
    pub offset_doubt: Length,
    /// Chance of scrap at the first try, up to which what holds wants no coupon.
    pub scrap_chance: f64,
}
