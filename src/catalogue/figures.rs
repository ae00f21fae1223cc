//! Named figures: every number of judgement that the program and its rules read, with kind and source in `figures.yaml`.
//!
//! The table here says which there are, of what dimension, and what each means; the values are data, and a workshop's own
//! `catalogue: figures:` replaces any of them everywhere at once. Rust reads one by its typed [`Key`]
//! (`catalogue.value(figures::PLATE_GAP)`), a rule by its name (`figure.plate_gap`). A figure that is missing, unknown or
//! of another dimension is an error where the file is loaded, so that reading one cannot fail.

use std::collections::BTreeMap;
use std::marker::PhantomData;

use super::decode::{Decode, unknown};
use super::node::{Key as Written, Node};
use super::value::{Figure, Provenance, SourceKind};
use crate::diag::renamed::renamed;
use crate::diag::{Diagnostic, SourceId, Span};
use crate::physics::Band;
use crate::quantity::{
    Angle, Area, Dimension, Duration, Expansion, Flow, Irradiance, Length, Mass, Measure, Quantity, Speed, Stress,
    SurfaceCoefficient, Temperature, TemperatureDifference, TimePrice,
};
use crate::semantics::spec::Consequence;

/// Says that a figure has a value for each consequence of failure, the strictest where people can be hurt.
#[derive(Debug, Clone, Copy)]
pub struct ByConsequence<T>(PhantomData<T>);

/// What a key may stand for: one measure, or one for each consequence.
pub trait Form {
    /// What each of its values measures.
    const DIMENSION: Dimension;
    /// Whether there is a value for each consequence of failure.
    const BY_CONSEQUENCE: bool;
}

impl<T: Measure> Form for T {
    const DIMENSION: Dimension = T::DIMENSION;
    const BY_CONSEQUENCE: bool = false;
}

impl<T: Measure> Form for ByConsequence<T> {
    const DIMENSION: Dimension = T::DIMENSION;
    const BY_CONSEQUENCE: bool = true;
}

/// The key of a figure: which one it is, and what it measures.
#[derive(Debug)]
pub struct Key<F> {
    place: usize,
    of: PhantomData<fn() -> F>,
}

impl<F> Clone for Key<F> {
    fn clone(&self) -> Self {
        *self
    }
}

impl<F> Copy for Key<F> {}

impl<F> Key<F> {
    const fn at(place: usize) -> Self {
        Self { place, of: PhantomData }
    }

    /// Returns the name in data and rules.
    pub fn name(self) -> &'static str {
        TABLE.get(self.place).map_or("", |row| row.name)
    }
}

/// One row of the table of figures.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Row {
    /// As it is written in `figures.yaml` and called in rules.
    pub name: &'static str,
    /// What its values measure.
    pub dimension: Dimension,
    /// The names of its values by consequence; none for a figure of one value.
    pub by_consequence: Option<[&'static str; 3]>,
    /// What it stands for, for the reference and for `explain`.
    pub help: &'static str,
}

macro_rules! figures {
    ($($key:ident: $form:ty = $name:literal, $help:literal;)+) => {
        #[allow(non_camel_case_types, clippy::upper_case_acronyms, reason = "named as the keys are")]
        enum Place { $($key),+ }

        $(
            #[doc = $help]
            pub const $key: Key<$form> = Key::at(Place::$key as usize);
        )+

        /// Every figure, in the order of the table.
        pub const TABLE: &[Row] = &[$(Row {
            name: $name,
            dimension: <$form as Form>::DIMENSION,
            by_consequence: if <$form as Form>::BY_CONSEQUENCE {
                Some([concat!($name, "_nuisance"), concat!($name, "_damage"), concat!($name, "_injury")])
            } else {
                None
            },
            help: $help,
        }),+];
    };
}

figures! {
    LAYER_TO_BORE: f64 = "layer_to_bore", "layer height over bore";
    LAYER_TO_BORE_LIMIT: f64 = "layer_to_bore_limit", "greatest layer height over bore";
    WIDTH_TO_BORE: f64 = "width_to_bore", "bead width over bore";
    WIDTH_TO_BORE_LIMIT: f64 = "width_to_bore_limit", "greatest bead width over bore";
    FIRST_LAYER_TO_BORE: f64 = "first_layer_to_bore", "height of the first layer over bore";
    FLOW_SHORT_MELT_ZONE: Flow = "flow_short_melt_zone", "melting rate of a hot end with a short melt zone";
    FLOW_LONG_MELT_ZONE: Flow = "flow_long_melt_zone", "melting rate of a hot end with a long melt zone";
    FLOW_VERY_LONG_MELT_ZONE: Flow = "flow_very_long_melt_zone", "melting rate of a hot end with a very long melt zone";
    OVERHANG_TO_CONSIDER: Angle = "overhang_to_consider", "overhang from vertical that any machine prints without support";
    KEEPS_DRY_OPEN_MEDIUM: Duration = "keeps_dry_open_medium", "how long filament of medium moisture uptake stays dry enough to print, in the open";
    KEEPS_DRY_OPEN_HIGH: Duration = "keeps_dry_open_high", "how long filament of high moisture uptake stays dry enough to print, in the open";
    KEEPS_DRY_BAG_MEDIUM: Duration = "keeps_dry_bag_medium", "how long filament of medium moisture uptake stays dry enough to print, in a closed bag with desiccant";
    KEEPS_DRY_BAG_HIGH: Duration = "keeps_dry_bag_high", "how long filament of high moisture uptake stays dry enough to print, in a closed bag with desiccant";
    KEEPS_DRY_DRY_BOX_MEDIUM: Duration = "keeps_dry_dry_box_medium", "how long filament of medium moisture uptake stays dry enough to print, in a closed box with desiccant";
    KEEPS_DRY_DRY_BOX_HIGH: Duration = "keeps_dry_dry_box_high", "how long filament of high moisture uptake stays dry enough to print, in a closed box with desiccant";
    KEEPS_DRY_SEALED_MEDIUM: Duration = "keeps_dry_sealed_medium", "how long filament of medium moisture uptake stays dry enough to print, as it came, from when it is opened";
    KEEPS_DRY_SEALED_HIGH: Duration = "keeps_dry_sealed_high", "how long filament of high moisture uptake stays dry enough to print, as it came, from when it is opened";
    LYING_SPREAD: f64 = "lying_spread", "how much wider sizes scatter of a feature whose axis lies in the layers";
    USUAL_BORE: Length = "usual_bore", "the bore that usual deviations of sizes are for";
    WIDEST_BORE_FACTOR: f64 = "widest_bore_factor", "the most that deviations grow with a wider bore";
    CROWN_SAG: Length = "crown_sag", "sag of the crown of a lying hole, besides a share of its diameter";
    CROWN_SAG_SHARE: f64 = "crown_sag_share", "sag of the crown of a lying hole as a share of its diameter";
    CROWN_SAG_MOST: Length = "crown_sag_most", "the most that the crown of a lying hole sags";
    BOSS_OVERSIZE: Length = "boss_oversize", "by how much an outside feature comes out larger, on its diameter";
    SIZE_SPREAD: Length = "size_spread", "how far one piece's size is from the mean of many";
    SHRINKAGE_ASSUMED: f64 = "shrinkage_assumed", "shrinkage in the plane of a polymer the catalogue does not know";
    ANNEAL_CONTRACTION: f64 = "anneal_contraction", "shrinkage in the plane on annealing";
    SPACING_SPREAD: Length = "spacing_spread", "how far two features of one print may be off their distance, shrinkage aside";
    SHRINKAGE_DOUBT: f64 = "shrinkage_doubt", "how well the shrinkage of a print is known, as a share of itself";
    ANNEALING_DOUBT: f64 = "annealing_doubt", "how well a shrinkage on annealing is known, as a share of itself";
    RECORD_REACH: f64 = "record_reach", "how many times larger or smaller than those measured a size may be for a record to serve it";
    RECORD_PIECES: f64 = "record_pieces", "pieces below which a calibration record rests on few";
    RECORD_AGE: Duration = "record_age", "age from which a calibration record is old";
    FINEST_PRINTED_GRADE: f64 = "finest_printed_grade", "ISO grade finer than which nothing is printed to size";
    CUTTING_STOCK: Length = "cutting_stock", "least material a reamer or drill must find, on the diameter";
    BONDING_ROOM: Length = "bonding_room", "room that a bond or crush ribs want, on the diameter";
    CAPABILITY_LEAST: f64 = "capability_least", "process capability below which printing cannot hold a fit";
    CAPABILITY_HOLDS: f64 = "capability_holds", "process capability from which printing holds a fit";
    DRILL_GRABS: Length = "drill_grabs", "twist drill above which it grabs in a printed hole";
    LARGEST_BUSH: Length = "largest_bush", "largest bore of a bush there is to buy";
    LARGEST_PIN: Length = "largest_pin", "largest pin or bright rod there is to buy";
    SMALLEST_HOLE: Length = "smallest_hole", "printed hole below which it may close up";
    SLIDING_PLAY: Length = "sliding_play", "play of a printed sliding fit, on the diameter";
    PRESS_SHARE: f64 = "press_share", "interference of a press into printed plastic, as a share of the diameter";
    GRIP_STRETCH: f64 = "grip_stretch", "stretch by which a rubbery print grips its mate, as a share of the mate's size: usual, least, most";
    CORNER_RELIEF: f64 = "corner_relief", "width of the relief that an inner corner wants, in bores of the nozzle";
    RING_SQUEEZE: f64 = "ring_squeeze", "squeeze of an O-ring at rest between shaft and bore, as a share of its section: usual, least, most";
    RING_SQUEEZE_FACE: f64 = "ring_squeeze_face", "squeeze of an O-ring at rest in a face, as a share of its section: usual, least, most";
    RING_FILL: f64 = "ring_fill", "what of the section of its groove an O-ring fills: usual, least, most";
    RING_STRETCH: f64 = "ring_stretch", "by how much of its inside an O-ring is stretched on a shaft";
    PRINTED_THREAD: Length = "printed_thread", "least major diameter of a thread that may be printed where no tap is at hand";
    PRINTED_THREAD_BORES: f64 = "printed_thread_bores", "least pitch of a printed thread, in bores of the nozzle";
    PRINTED_THREAD_PLAY: Length = "printed_thread_play", "play of a printed thread on its screw, on the diameter";
    LID_PLAY: Length = "lid_play", "play of a lid's lip in the rim of its box";
    PRESS_LEAST: Length = "press_least", "least interference of a press into printed plastic";
    INSERT_HOLE_PLAY: Length = "insert_hole_play", "how far an insert's hole may be from its size";
    HINGE_PLAY: Length = "hinge_play", "play of a hinge on its pin, on the diameter, assembled";
    SNAP_WINDOW: Length = "snap_window", "room of a snap hook across its window";
    SNAP_ARM: Length = "snap_arm", "how far a snap arm may be from its size";
    POCKET_PLAY: Length = "pocket_play", "room of a nut or a magnet in its pocket";
    HEAD_PLAY: Length = "head_play", "room of a screw's head in its counterbore";
    GAP_RECORD_MARGIN: f64 = "gap_record_margin", "what is asked of a gap beyond the smallest that once came free";
    FINE_TOLERANCE: Length = "fine_tolerance", "tolerance that is too fine for a caliper";
    GAUGE_PIN_HOLE: Length = "gauge_pin_hole", "hole up to which gauge pins serve better than a caliper";
    SAMPLE_EVERY: f64 = "sample_every", "every how many pieces one is measured where printing holds the fit";
    HINGE_STRIP: Length = "hinge_strip", "thickness of the strip of a living hinge";
    HINGE_THICK: Length = "hinge_thick", "thickness above which a strip is thick for a fold";
    HINGE_LAYERS: f64 = "hinge_layers", "layers that a strip which lies flat is to have at least";
    LABEL_OFF: TemperatureDifference = "label_off", "how far outside its material's range the label of a spool may lie before it is taken for a slip";
    SIZE_OFF: Length = "size_off", "how far a side of the mesh may be from the size stated, at least";
    SIZE_OFF_SHARE: f64 = "size_off_share", "the same as a share of the side";
    DEPTH_OFF: Length = "depth_off", "how far a depth measured may be from the one stated, at least";
    DEPTH_OFF_SHARE: f64 = "depth_off_share", "the same as a share of the depth";
    PLACE_OFF: Length = "place_off", "how far a feature may be from the place stated for a fit, at least";
    PLACE_OFF_SHARE: f64 = "place_off_share", "the same as a share of its diameter";
    MEASURED_OFF: Length = "measured_off", "how far a measured size may be from its nominal before it is taken for another feature, at least";
    MEASURED_OFF_SHARE: f64 = "measured_off_share", "the same as a share of the nominal size";
    RECORD_LEAST: f64 = "record_least", "pieces below which nothing measured is a record";
    SIZES_APART: f64 = "sizes_apart", "how many times the smallest size the largest must be for a record to tell a scale from an offset";
    SCALE_ERRORS: f64 = "scale_errors", "standard errors by which a scale must differ from 1 to count";
    FAR_OUT_SCORE: f64 = "far_out_score", "modified z-score above which a person has to say whether a measured piece counts";
    HOLE_UNDERSIZE: Length = "hole_undersize", "by how much a hole comes out smaller, on its diameter";
    WALL_LINES: f64 = "wall_lines", "beads of the thinnest wall that is printed well";
    CLEARANCE_IN_PLACE: Length = "clearance_in_place", "clearance per side of parts printed in place";
    CLEARANCE_IN_PLACE_VERTICAL: Length = "clearance_in_place_vertical", "clearance upward of parts printed in place";
    FIRST_LAYER_FLARE: Length = "first_layer_flare", "by how much the first layer is pressed outward";
    SUPPORT_GAP_LAYERS: f64 = "support_gap_layers", "layers left between support and part";
    SLENDER_WITHOUT_BRIM: f64 = "slender_without_brim", "height over base to which a part stands without a brim";
    SUSTAINED_DAYS: f64 = "sustained_days", "what is left of the strength under a load of hours to days";
    SUSTAINED_YEARS: f64 = "sustained_years", "what is left of the stiffness under a load of years";
    COMPRESSION_TO_TENSION: f64 = "compression_to_tension", "strength of a print pressed along its layers over that pulled";
    RUBBER_PRESSED_STRAIN: f64 = "rubber_pressed_strain", "how far rubber may be pressed together for years, over its thickness";
    PRESSED_ACROSS_TO_ALONG: f64 = "pressed_across_to_along", "strength of a print pressed across its layers over that pressed along them";
    FATIGUE_ALONG: f64 = "fatigue_along", "what is left of the strength along the beads after a million cycles";
    FATIGUE_PRESSED: f64 = "fatigue_pressed", "what is left of the strength after a million cycles where the material is pressed";
    FATIGUE_ACROSS: f64 = "fatigue_across", "what is left of the strength across the layers after a million cycles";
    SUN_FILM_COEFFICIENT: SurfaceCoefficient = "sun_film_coefficient", "heat given off by a surface in the sun and a summer wind";
    STILL_CONVECTION: SurfaceCoefficient = "still_convection", "convection in still air, radiation besides";
    SKY_LOSS: Irradiance = "sky_loss", "heat radiated to a clear sky";
    SHEAR_TO_ALONG: f64 = "shear_to_along", "interlayer shear strength over strength along the beads";
    LOW_ENDS_CORRELATED: ByConsequence<f64> = "low_ends_correlated", "how far the figures behind a strength are at their low ends together, 0 (each by itself) to 1 (all at once)";
    FALLS_BEYOND: Angle = "falls_beyond", "slope from vertical beyond which what is laid without support falls, and not only curls";
    LOAD_FACTOR: ByConsequence<f64> = "load_factor", "factor on a load that the spec gives none for";
    LOAD_SPOT: Length = "load_spot", "how far across the patch is that a load acts on, or a part is held by, at a place given without a size";
    BEARING_REACH: Length = "bearing_reach", "how far beside what is pressed on a place that is pressed is judged by the mean pressure there, at most";
    BEARING_SHARE: f64 = "bearing_share", "mean pressure that a patch well inside a larger body bears at most, over the strength of the material pressed by itself";
    BEARING_FAR: f64 = "bearing_far", "how many times what presses on a patch it must bear not to be spoken of";
    BUCKLING_STRAIN: f64 = "buckling_strain", "strain beyond which a part that is pressed yields before it buckles";
    BUCKLING_FAR: f64 = "buckling_far", "how many times what presses a part must be short of buckling it not to be spoken of";
    SMALL_DISPLACEMENT: f64 = "small_displacement", "the most a part may move under a load, as a share of its length, for what small displacements say to be relied on";
    USUAL_DEFLECTION: f64 = "usual_deflection", "how far a load usually may move the part where it acts, as a share of the way from there to its hold, where nobody said";
    STRESS_APART: f64 = "stress_apart", "how far apart stresses on two grids may be, as a share, to bound what a finer grid would add";
    DISPLACEMENT_APART: f64 = "displacement_apart", "how far apart displacements, or loads that buckle, on two grids may be, as a share, to bound what a finer grid would add";
    PULLED_COUNTS: f64 = "pulled_counts", "share of what strains a part most from which a pull decides how layers should lie to a load, though what presses strains it more";
    SOFTENS_ABOVE: TemperatureDifference = "softens_above", "how far above its limit under a light load a polymer has no strength left, where its glass transition does not say it";
    RIVAL_PLACE: f64 = "rival_place", "share of the area of the largest place that a face may mean, from which another one is asked about";
    OFFSET_DOUBT: Length = "offset_doubt", "how far a usual deviation of a size may be from that of the machine at hand, two-sided 95 %";
    SCRAP_CHANCE: f64 = "scrap_chance", "chance that the first piece is scrap, up to which printing that holds a fit wants no coupon";
    HELD_ASSUMED: Duration = "held_assumed", "how long a steady load or a grip is taken to be held";
    SUN_PEAK_SHARE: f64 = "sun_peak_share", "the same where it is the sun that heats it so";
    SUN_PLAIN_SHARE: f64 = "sun_plain_share", "share of the time that the sun heats a part halfway to its hottest, where nothing says how warm it usually is";
    PEAK_SHARE: f64 = "peak_share", "share of the time that a part is as warm as its peak, where the spec says how warm it usually is";
    HELD_MOMENT: Duration = "held_moment", "how long a load is held that comes and goes";
    HELD_BRIEFLY: Duration = "held_briefly", "how long a load is held, or a place kept, that is meant for a short while";
    PERSON_HOUR: TimePrice = "person_hour", "an hour of a person's work, in the money of the catalogue's prices";
    MACHINE_HOUR: TimePrice = "machine_hour", "an hour of a machine, in the money of the catalogue's prices";
    CYCLES_TESTED: f64 = "cycles_tested", "cycles up to which prints were pulled in the tests that the figures of fatigue are from";
    CYCLES_FEW: f64 = "cycles_few", "cycles of a load that comes by hand now and then, which is asked after where a spec gives no number";
    CYCLES_ASSUMED: f64 = "cycles_assumed", "cycles of a cyclic load that gives no number";
    FRICTION_ON_PLASTIC: f64 = "friction_on_plastic", "friction of steel on dry plastic";
    OVERHEAT: TemperatureDifference = "overheat", "how far above the top of its range a polymer may be taken, in print and in a purge";
    SNAP_ONCE: f64 = "snap_once", "share of the strain at break that may be used once";
    STRAIN_ACROSS: f64 = "strain_across", "how far a print stretches across its layers before it parts, over how far along them";
    ARM_APART: Length = "arm_apart", "a snap arm is drawn as stated where the mesh has a wall no thicker than by this";
    SNAP_OFTEN: f64 = "snap_often", "share of the strain at break that may be used often";
    YIELD_CONFIDENCE: f64 = "yield_confidence", "confidence with which a shop's record of good pieces is taken";
    DOUBTFUL_PACE: f64 = "doubtful_pace", "a machine's times over those reckoned, or the other way round, beyond which more than its pace is wrong";
    PACE_ROUNDS: f64 = "pace_rounds", "rounds done from which on a run's records say a machine's pace";
    USUAL_SPEED: Speed = "usual_speed", "printing speed where neither flow nor a wish says another";
    OUTSIDE_SPEED_SHARE: f64 = "outside_speed_share", "speed of the outermost bead over that of the rest";
    USUAL_INFILL: f64 = "usual_infill", "infill of a part that bears nothing";
    LONG_RUN: Duration = "long_run", "run from which a second machine is worth a thought";
    FILAMENT_WASTE: f64 = "filament_waste", "filament used over the part's own";
    MATCH_SHARE: f64 = "match_share", "how far a feature of the mesh may be from a fit's size, as a share of it";
    MATCH_BEYOND: f64 = "match_beyond", "how much farther a feature may be, as a share of its size and over the least room, on the side to which sizes are modelled, where nearer there is none";
    MATCH_ROOM: Length = "match_room", "how far a feature of the mesh may be from a fit's size, at least and at most";
    GAP_FUSES: Length = "gap_fuses", "gap between walls under which it may close";
    FOOTING_LEAST: Area = "footing_least", "area on the bed below which a part stands on an edge or a point";
    FOOTING_SHARE: f64 = "footing_share", "share of what a part shades that lies on the bed where it stands on a face, not on an edge or a few tips";
    STANDING_SLENDERNESS: f64 = "standing_slenderness", "height over the width of what stands on the bed to which a part stands";
    LEAN_GAINS: f64 = "lean_gains", "points that leaning must gain where no side of the part serves to stand on";
    ON_END: f64 = "on_end", "height over the longest side on the bed from which a part stands on end";
    LAYERS_ALONG: Angle = "layers_along", "angle between stress and layers up to which the layers run with it";
    LAYERS_ACROSS: Angle = "layers_across", "angle between stress and layers from which it pulls across them";
    THREAD_BY_HAND: f64 = "thread_by_hand", "engagement of a fine thread tightened by hand that nothing pulls at, in diameters";
    THREAD_ENGAGEMENT: f64 = "thread_engagement", "engagement of a thread cut in plastic, in diameters";
    MELT_ROOM: Length = "melt_room", "room that melt needs below an insert";
    MAGNET_BOND: Length = "magnet_bond", "room for what bonds a magnet in";
    BOSS_LEAST: f64 = "boss_least", "share of the usual wall below which there is hardly a boss left";
    PRESSURE_SHARE: f64 = "pressure_share", "share of the lasting strength across the layers that a pressure may use";
    CHAMBER_SHORT: TemperatureDifference = "chamber_short", "how far below its wish a material's chamber may stay";
    FLOW_CHANGES_OVER: TemperatureDifference = "flow_changes_over", "how much hotter a nozzle would melt twice as much, if it went on as near the usual temperature";
    CRUSH_RIBS: f64 = "crush_ribs", "ribs in a hole that crush when a pin is pressed in";
    RING_BETWEEN_RIBS: f64 = "ring_between_ribs", "pull in a ring that ribs push out, to that under the same pressure all round";
    CRUSH_RIB_WIDTH: Length = "crush_rib_width", "width of a crush rib at its tip";
    CRUSH_TO_STRENGTH: f64 = "crush_to_strength", "what crushes a rib, to the strength of the material in tension";
    GIVEN_UP_MOST: f64 = "given_up_most", "share of what a line asks for; a way out that gives up more comes last and says so";
    CHAMBER_BORROWED: TemperatureDifference = "chamber_borrowed", "what a closed chamber gains by a blanket, sealed gaps and a longer warm-up";
    CHAMBER_ROUND: Temperature = "chamber_round", "what the air in an enclosure put round an open printer reaches by its bed alone";
    RICHEST_NOZZLE: Temperature = "richest_nozzle", "hottest nozzle of any printer there is to buy";
    RICHEST_BED: Temperature = "richest_bed", "hottest bed of any printer there is to buy";
    RICHEST_CHAMBER: Temperature = "richest_chamber", "warmest chamber of any printer there is to buy";
    RICHEST_DRYER: Temperature = "richest_dryer", "hottest filament dryer there is to buy";
    RICHEST_OVEN: Temperature = "richest_oven", "hottest workshop oven there is to buy";
    COMMON_BORE: Length = "common_bore", "bores that every metal of nozzle is sold in, the smaller and the larger";
    BED_ROOM_TOLD: Length = "bed_room_told", "room beside a part on the bed from which a brim makes no difference to whether it fits";
    HEAT_ROOM: ByConsequence<TemperatureDifference> = "heat_room", "kelvins wanted between the heat a part gets and the heat its material stands";
    HEAT_DOUBT: ByConsequence<TemperatureDifference> = "heat_doubt", "kelvins short of that up to which what lies within the bands of both is not shown rather than broken";
    HEAT_CLOSE: TemperatureDifference = "heat_close", "kelvins of room below which the heat is narrowly stood";
    HOT_CONTACT_ROOM: TemperatureDifference = "hot_contact_room", "kelvins wanted between a hot chemical and the heat the material stands";
    MARGIN_CLOSE: f64 = "margin_close", "capacity over demand below which a margin holds narrowly";
    LOAD_CLOSE: f64 = "load_close", "capacity over demand below which a load is narrowly held";
    LOAD_ROOM: f64 = "load_room", "capacity over demand up to which more of it is preferred";
    PROTOTYPE_INFILL: f64 = "prototype_infill", "infill of a piece to try fits with";
    STRENGTH_WANTED: f64 = "strength_wanted", "wish for strength from which a part is built as one that bears a load";
    WALL_FOR_SHAPE: Length = "wall_for_shape", "walls of a part that bears nothing";
    WALL_FOR_LOAD: Length = "wall_for_load", "walls of a part that bears a load";
    WALL_FOR_FLUID: Length = "wall_for_fluid", "walls that hold a fluid";
    INFILL_UNSHOWN: ByConsequence<f64> = "infill_unshown", "infill where a load cannot be computed";
    WALL_FACETS: Length = "wall_facets", "by how much facets may make a wall look thinner than it was drawn, at the most";
    WALL_FACETS_SHARE: f64 = "wall_facets_share", "the same as a share of the wall";
    THIN_SPOT: Area = "thin_spot", "surface below which a thin place is a spot and not a wall, both sides counted";
    THIN_SPOT_SHARE: f64 = "thin_spot_share", "the same as a share of the part's surface, for small parts";
    REDRAWN_MOST: f64 = "redrawn_most", "how many times thicker a wall or deeper a section is offered at the most";
    LIES_FLAT_SHARE: f64 = "lies_flat_share", "share of what a part shades that lies on the bed where it is said to lie flat";
    ROUGH_BELOW: Angle = "rough_below", "how far below the limit of overhang a slope is said to come out rough";
    ROUGH_AREA: Area = "rough_area", "surface of such slopes from which it is said";
    SLIGHT_POINTS: f64 = "slight_points", "points against a choice that are not worth a word in a reason";
    STEEL_MODULUS: Stress = "steel_modulus", "modulus of a steel pin";
    STEEL_POISSON: f64 = "steel_poisson", "Poisson's ratio of a steel pin";
    STEEL_EXPANSION: Expansion = "steel_expansion", "thermal expansion of a steel pin";
    MEASURED_AT: Temperature = "measured_at", "temperature at which parts are measured and put together";
    PINNED_GRADE: f64 = "pinned_grade", "coarsest ISO grade for which a metal pin goes before turning the printed one";
    DRILLED_GRADE: f64 = "drilled_grade", "finest ISO grade that a twist drill holds";
    CAD_ROUNDING: Length = "cad_rounding", "how far a size of the mesh may be from the size meant, at least and at most";
    USUAL_FILAMENT: Length = "usual_filament", "diameter of filament where a shop's file states none";
    CONDUCTIVITY: f64 = "conductivity", "how well a printed thermoplastic conducts heat, W/m/K";
    POISSON: f64 = "poisson", "Poisson's ratio of a printed thermoplastic";
    PLATE_GAP: Length = "plate_gap", "room between pieces on a plate";
    WORK_PER_PLATE: Duration = "work_per_plate", "a person's time at a plate";
    PLATE_EDGE: Length = "plate_edge", "room left free at the edge of the bed";
    SUPPORT_SHARE: f64 = "support_share", "share of the space under overhangs that support fills";
    YIELD_ASSUMED: f64 = "yield_assumed", "share of good pieces where the shop has no record";
    PLATE_LOST: f64 = "plate_lost", "share of plates lost with all that is on them, once a run has recorded one";
    PLATE_PRIOR: f64 = "plate_prior", "plates whose weight the usual share lost has against a run's own records";
    YIELD_PRIOR: f64 = "yield_prior", "pieces whose weight the usual yield has against a shop's own records";
    DRYING_DOUBLES: TemperatureDifference = "drying_doubles", "how much cooler a dryer may be for filament to take twice as long in it";
    CHANGE_MATERIAL: Duration = "change_material", "a person's time to unload, load another material and purge";
    CHANGE_COLOUR: Duration = "change_colour", "a person's time to load another spool of the same material and purge";
    CHANGE_STAGED: Duration = "change_staged", "a person's time to change to a material that no one temperature suits together with the old one";
    CHANGE_NOZZLE: Duration = "change_nozzle", "a person's time to change a nozzle hot, check it for leaks and set its height";
    CHANGE_SURFACE: Duration = "change_surface", "a person's time to change, clean and coat what lies on the bed";
    PURGE_MATERIAL: Mass = "purge_material", "filament purged until no other material comes";
    PURGE_COLOUR: Mass = "purge_colour", "filament purged until the colour is clean";
    WATCH_FIRST_LAYER: Duration = "watch_first_layer", "how long a person stays with a plate that has been started";
    CHANGE_SPOOL_LOSS: Mass = "change_spool_loss", "filament lost when a spool runs out and another is loaded in mid-plate";
    START_CONFIDENCE: f64 = "start_confidence", "confidence wanted of the number of pieces to start";
}

/// The word of each consequence, as in [`ORDER`].
const WORDS: [&str; 3] = ["nuisance", "damage", "injury"];
const ORDER: [Consequence; 3] = [Consequence::Nuisance, Consequence::Damage, Consequence::Injury];

/// The values of all figures.
#[derive(Debug, Clone, Default)]
pub struct Figures {
    /// In the order of the table; nothing where the file that should give it has been found wrong.
    entries: Vec<Option<Entry>>,
}

#[derive(Debug, Clone)]
enum Entry {
    One(Figure<Quantity>),
    /// In the order of [`ORDER`].
    By(Box<[Figure<Quantity>; 3]>),
}

/// Returns whether an entry of a file may stand for the figure of that name; what is wrong with it is reported.
pub(super) fn may_stand(key: &Written, value: &Node, out: &mut Vec<Diagnostic>) -> bool {
    let Some(row) = TABLE.iter().find(|row| row.name == key.text) else {
        let found = unknown(key.at, "figure", &key.text, TABLE.iter().map(|row| row.name));
        let hint = "the table of figures is closed: a threshold of your own rules is a `let` in a `.rules` file";
        let was_one = renamed(&key.text, TABLE.iter().map(|row| row.name)).is_some();
        out.push(if was_one { found } else { found.hint(hint) });
        return false;
    };
    let parts = match by_consequence(row, value) {
        true => value.entries().iter().map(|(word, value)| (Some(word), value)).collect(),
        false => vec![(None, value)],
    };
    let before = out.len();
    for (word, value) in parts {
        if let Some(word) = word.filter(|w| !WORDS.contains(&w.text.as_str())) {
            out.push(unknown(word.at, "key", &word.text, WORDS.into_iter()));
        } else if let Some(figure) = Figure::<Quantity>::decode(value, out) {
            super::sense::check_sign(row.name, value.at, figure.quantities(), out);
            if figure.typ.dimension == row.dimension {
                continue;
            }
            let message = format!("`{}` is {}, found {}", row.name, row.dimension.name(), figure.typ.dimension.name());
            let hint = format!("write it as in `{}`", Quantity::new(1.0, row.dimension));
            out.push(Diagnostic::error("unit/wrong-dimension", value.at, message).hint(hint));
        }
    }
    out.len() == before
}

/// Whether a value is written for each consequence; one that is not counts for all.
fn by_consequence(row: &Row, value: &Node) -> bool {
    row.by_consequence.is_some() && value.get("typ").is_none() && value.get("kind").is_none()
}

impl Figures {
    /// Reads the section of all files laid over each other; a figure that none of them gives is reported at the section's first.
    pub(super) fn of(section: Option<&BTreeMap<String, (Span, Node)>>, out: &mut Vec<Diagnostic>) -> Self {
        // A catalogue without the section is one of a test.
        let Some(section) = section else { return Self::default() };
        let first = section.values().map(|(at, _)| *at).min();
        let entries = TABLE.iter().map(|row| {
            let entry = section.get(row.name).and_then(|(_, node)| Entry::of(row, node));
            if let (None, Some(at)) = (&entry, first) {
                let message = format!("the figure `{}` is missing", row.name);
                let hint = format!("it is {}: {}", row.dimension.name(), row.help);
                out.push(Diagnostic::error("catalogue/missing-key", at, message).hint(hint));
            }
            entry
        });
        Self { entries: entries.collect() }
    }

    /// Returns the figures that are there: name, value and range, those by consequence under a name each.
    pub fn all(&self) -> impl Iterator<Item = (&'static str, &Figure<Quantity>)> {
        TABLE.iter().zip(&self.entries).flat_map(|(row, entry)| {
            let all: Vec<_> = match (entry, row.by_consequence) {
                (Some(Entry::One(figure)), _) => vec![(row.name, figure)],
                (Some(Entry::By(of)), Some(names)) => names.into_iter().zip(of.iter()).collect(),
                _ => Vec::new(),
            };
            all
        })
    }

    pub(super) fn provenances(&self) -> impl Iterator<Item = Provenance> + '_ {
        self.all().map(|(_, figure)| figure.provenance())
    }

    fn get<F>(&self, key: Key<F>, consequence: Consequence) -> Option<&Figure<Quantity>> {
        match self.entries.get(key.place)?.as_ref()? {
            Entry::One(figure) => Some(figure),
            Entry::By(of) => of.get(ORDER.iter().position(|c| *c == consequence)?),
        }
    }

    fn value<F, T: Measure>(&self, key: Key<F>, consequence: Consequence) -> T {
        T::from_si(self.get(key, consequence).map_or(f64::NAN, |figure| figure.typ.si))
    }

    fn figure<F, T: Measure>(&self, key: Key<F>, consequence: Consequence) -> Figure<T> {
        let Some(figure) = self.get(key, consequence) else { return nothing() };
        let of = |q: Quantity| T::from_si(q.si);
        Figure {
            typ: of(figure.typ),
            low: figure.low.map(of),
            high: figure.high.map(of),
            kind: figure.kind,
            source: figure.source.clone(),
            note: figure.note.clone(),
            at: figure.at,
        }
    }
}

/// What is read of a catalogue that was loaded with errors or without figures: not a number, from nowhere.
fn nothing<T: Measure>() -> Figure<T> {
    let at = Span::new(SourceId(0), 0, 0);
    Figure {
        typ: T::from_si(f64::NAN),
        low: None,
        high: None,
        kind: SourceKind::FromMemory,
        source: None,
        note: None,
        at,
    }
}

impl Entry {
    fn of(row: &Row, node: &Node) -> Option<Self> {
        // What is wrong with it was told when it was laid over the others.
        let quiet = &mut Vec::new();
        if row.by_consequence.is_none() {
            return Figure::decode(node, quiet).map(Entry::One);
        }
        let of = |word: &str| match by_consequence(row, node) {
            true => Figure::decode(node.get(word)?, &mut Vec::new()),
            false => Figure::decode(node, &mut Vec::new()),
        };
        Some(Entry::By(Box::new([of(WORDS[0])?, of(WORDS[1])?, of(WORDS[2])?])))
    }
}

impl super::Catalogue {
    /// Returns the typical value of a figure. Not a number where the catalogue was loaded with errors, which end a job before.
    pub fn value<T: Measure>(&self, key: Key<T>) -> T {
        self.figures.value(key, Consequence::Damage)
    }

    /// Returns a figure with its range, kind, source and place.
    pub fn figure<T: Measure>(&self, key: Key<T>) -> Figure<T> {
        self.figures.figure(key, Consequence::Damage)
    }

    /// Returns a figure that is a plain number as a band; an end that is not given is the typical value.
    pub fn band(&self, key: Key<f64>) -> Band {
        let figure = self.figure(key);
        Band { low: figure.low(), typical: figure.typ, high: figure.high() }
    }

    /// Returns the value of a figure that hangs on what a failure would do.
    pub fn value_for<T: Measure>(&self, key: Key<ByConsequence<T>>, consequence: Consequence) -> T {
        self.figures.value(key, consequence)
    }

    /// Returns a figure that hangs on what a failure would do, with its range, kind, source and place.
    pub fn figure_for<T: Measure>(&self, key: Key<ByConsequence<T>>, consequence: Consequence) -> Figure<T> {
        self.figures.figure(key, consequence)
    }
}
