//! An honest estimate of what a print takes: laid volume, time and mass, with its basis and a band.

use super::registry::{Function, Parameter, apply, input, number};
use super::{Band, Checked, SourceNote, not_negative, positive, sound, within};
use crate::quantity::{Area, Density, Dimension, Duration, Flow, Length, Mass, Speed, Volume};

const MODEL: SourceNote = SourceNote::new(
    "computed",
    "volume balance: skin of surface area x walls x bead width, the rest at the infill share; allowances from memory",
);

/// Share added for starts, turns and travel between beads (from memory).
pub const MOTION_ALLOWANCE: f64 = 0.15;
/// Time per layer change (from memory).
pub const LAYER_CHANGE: Duration = Duration::s(1.5);
/// Heating, levelling and priming before the first layer (from memory).
pub const START_UP: Duration = Duration::min_(6.0);
/// Relative band of the estimate (from memory): acceleration and travel are not modelled.
pub const BAND: Band = Band { low: 0.8, typical: 1.0, high: 1.35 };

/// What is printed and how; one piece.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PrintJob {
    /// Of one piece.
    pub volume: Volume,
    /// Surface area of the part.
    pub area: Area,
    /// Height in the chosen pose.
    pub height: Length,
    /// Of a layer.
    pub layer_height: Length,
    /// Of a bead.
    pub bead_width: Length,
    /// Beads side by side in the wall.
    pub walls: u32,
    /// Share of the inside that is filled, 0 to 1.
    pub infill: f64,
    /// Largest melt flow of printer, nozzle and polymer.
    pub flow_limit: Flow,
    /// Along walls, where flow and cooling allow it.
    pub wall_speed: Speed,
    /// Within them, likewise.
    pub infill_speed: Speed,
    /// Least time a layer must take to set.
    pub least_layer_time: Duration,
    /// Material laid as support, already reduced by its density.
    pub support: Volume,
    /// Of the material.
    pub density: Density,
    /// Pieces printed together on the plate.
    pub pieces: u32,
}

/// The estimate for the whole plate.
#[derive(Debug, Clone, PartialEq)]
pub struct PrintEstimate {
    /// What is to be expected.
    pub time: Duration,
    /// At the least.
    pub low: Duration,
    /// At the most.
    pub high: Duration,
    /// All pieces, supports included.
    pub mass: Mass,
    /// Material laid, supports included.
    pub laid: Volume,
    /// In the height.
    pub layers: u32,
    /// What `time` is the sum of.
    pub terms: Vec<(String, Duration)>,
    /// One sentence on what the estimate rests on and leaves out.
    pub basis: &'static str,
}

/// Estimates time and mass of a plate.
///
/// Walls (and top and bottom skins, taken as thick as the walls) are `area x walls x bead width`, at most the volume;
/// the rest is filled at the infill share. Each part is laid at the lesser of its speed and what the flow limit allows.
/// Added: 15 % for starts, turns and travel, 1.5 s per layer, the least layer time, 6 min start-up (all from memory).
/// No motion is simulated: expect 0.8 to 1.35 times the figure.
pub fn estimate(job: &PrintJob) -> Checked<PrintEstimate> {
    let pieces = f64::from(positive_count(job.pieces)?);
    let bead = super::bead::bead_area(job.bead_width, job.layer_height)?.to_mm2();
    let layers = layer_count(job.height, job.layer_height)?;
    let skin = skin_volume(job.volume, job.area, f64::from(job.walls), job.bead_width)?.to_mm3();
    let inside = (job.volume.to_mm3() - skin) * within("an infill share", job.infill, 0.0, 1.0)?;
    let support = not_negative("a support volume", job.support.to_mm3())?;
    let rate = |speed: Speed| -> Checked<f64> {
        let flow = positive("a flow limit", job.flow_limit.to_mm3_per_s())?;
        Ok((positive("a speed", speed.to_mm_per_s())? * bead).min(flow))
    };
    let walls_s = pieces * skin / rate(job.wall_speed)?;
    let inside_s = pieces * inside / rate(job.infill_speed)?;
    let support_s = pieces * support / rate(job.infill_speed)?;
    let moving = (walls_s + inside_s + support_s) * MOTION_ALLOWANCE;
    let changes = f64::from(layers) * LAYER_CHANGE.to_s();
    let laying = walls_s + inside_s + support_s + moving + changes;
    let least = f64::from(layers) * not_negative("a least layer time", job.least_layer_time.to_s())?;
    let waiting = (least - laying).max(0.0);
    let terms = [
        ("walls and skins", walls_s),
        ("infill", inside_s),
        ("supports", support_s),
        ("starts, turns and travel (15 %)", moving),
        ("layer changes (1.5 s each)", changes),
        ("waiting for layers to set", waiting),
        ("start-up", START_UP.to_s()),
    ];
    finish(job, (skin + inside + support) * pieces, layers, &terms)
}

fn finish(job: &PrintJob, laid_mm3: f64, layers: u32, terms: &[(&str, f64)]) -> Checked<PrintEstimate> {
    let total: f64 = terms.iter().map(|t| t.1).sum();
    let laid = sound(Volume::mm3(laid_mm3))?;
    Ok(PrintEstimate {
        time: sound(Duration::s(total))?,
        low: sound(Duration::s(total * BAND.low))?,
        high: sound(Duration::s(total * BAND.high))?,
        mass: mass_of(laid, job.density)?,
        laid,
        layers,
        terms: terms.iter().filter(|t| t.1 > 0.0).map(|(l, s)| ((*l).to_owned(), Duration::s(*s))).collect(),
        basis: "from volume, surface and flow, without simulating motion; expect 0.8 to 1.35 times the time",
    })
}

fn positive_count(count: u32) -> Checked<u32> {
    if count == 0 { Err("expected at least one piece".to_owned()) } else { Ok(count) }
}

/// Number of layers: height over layer height, rounded up (a rest below a thousandth of a layer is rounding).
pub fn layer_count(height: Length, layer_height: Length) -> Checked<u32> {
    let h = positive("a height", height.to_mm())?;
    let layers = (h / positive("a layer height", layer_height.to_mm())? - 1e-3).ceil().max(1.0);
    if layers > 1e7 {
        return Err("expected fewer than ten million layers; the layer height is far too small".to_owned());
    }
    Ok(layers as u32)
}

/// Volume of walls and skins: `area x walls x width`, at most the volume.
pub fn skin_volume(volume: Volume, area: Area, walls: f64, width: Length) -> Checked<Volume> {
    let v = positive("a volume", volume.to_mm3())?;
    let a = positive("a surface area", area.to_mm2())?;
    let n = not_negative("a number of walls", walls)?;
    sound(Volume::mm3((a * n * positive("a bead width", width.to_mm())?).min(v)))
}

/// Volume laid for one piece without supports: skin and the filled share of the rest.
pub fn laid_volume(volume: Volume, area: Area, walls: f64, width: Length, infill: f64) -> Checked<Volume> {
    let skin = skin_volume(volume, area, walls, width)?.to_mm3();
    let share = within("an infill share", infill, 0.0, 1.0)?;
    sound(Volume::mm3(skin + share * (volume.to_mm3() - skin)))
}

/// Mass of a volume: `ρ V`.
pub fn mass_of(volume: Volume, density: Density) -> Checked<Mass> {
    let v = not_negative("a volume", volume.to_cm3())?;
    sound(Mass::g(v * positive("a density", density.to_g_per_cm3())?))
}

/// Time to lay a volume at a flow, nothing else counted.
pub fn laying_time(volume: Volume, flow: Flow) -> Checked<Duration> {
    let v = not_negative("a volume", volume.to_mm3())?;
    sound(Duration::s(v / positive("a flow", flow.to_mm3_per_s())?))
}

const VOLUME: Parameter = input("volume", Dimension::VOLUME, "volume of the part");

pub(super) const FUNCTIONS: &[Function] = &[
    Function {
        name: "laid_volume",
        inputs: &[
            VOLUME,
            input("area", Dimension::AREA, "surface area of the part"),
            number("walls", "number of walls"),
            input("width", Dimension::LENGTH, "bead width"),
            number("infill", "share of the inside filled, 0 to 1"),
        ],
        output: Dimension::VOLUME,
        formula: "S + f (V - S), skin S = area x walls x width, at most V",
        source: MODEL,
        help: "material laid for one piece without supports",
        example: &["40 cm3", "90 cm2", "3", "0.45 mm", "0.2"],
        evaluate: apply!(laid_volume; 0 1 2 3 4),
    },
    Function {
        name: "layer_count",
        inputs: &[
            input("height", Dimension::LENGTH, "height of the part as it lies"),
            input("layer_height", Dimension::LENGTH, "layer height"),
        ],
        output: Dimension::NONE,
        formula: "ceil(H/h)",
        source: SourceNote::new("computed", "geometry of layers"),
        help: "number of layers",
        example: &["40 mm", "0.2 mm"],
        evaluate: apply!(|h, l| layer_count(h, l).map(f64::from); 0 1),
    },
    Function {
        name: "mass_of",
        inputs: &[VOLUME, input("density", Dimension::DENSITY, "density")],
        output: Dimension::MASS,
        formula: "rho V",
        source: SourceNote::new("computed", "definition of density"),
        help: "mass of a volume",
        example: &["40 cm3", "1.24 g/cm3"],
        evaluate: apply!(mass_of; 0 1),
    },
    Function {
        name: "laying_time",
        inputs: &[VOLUME, input("flow", Dimension::FLOW, "melt flow")],
        output: Dimension::TIME,
        formula: "V/Q",
        source: SourceNote::new("computed", "volume balance"),
        help: "time to lay a volume at a flow, nothing else counted",
        example: &["40 cm3", "5 mm3/s"],
        evaluate: apply!(laying_time; 0 1),
    },
];
