//! The run: time, mass and cost of a piece, how many fit on a plate, and how many to start.

pub mod said;

use said::{Beside, Good, NoRun, Started};

use crate::catalogue::{Material, Nozzle, figures};
use crate::physics::packing;
use crate::physics::print_time::{self, PrintJob};
use crate::physics::statistics::binomial;
use crate::quantity::{Acceleration, Area, Dimension, Duration, Flow, Length, Mass, Money, Quantity, Speed, Volume};
use crate::rulebook::names::Decision;

use super::reading::{Key, Mask};
use super::shop::Printer;
use super::world::{Partial, World, at};

/// One piece.
#[derive(Debug, Clone)]
pub struct Piece {
    pub time: Duration,
    pub mass: Mass,
    pub cost: Option<Money>,
    pub shares: Shares,
    pub basis: &'static str,
}

/// What a cost is made of, in the shop's money; nothing where the shop states no price for it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shares {
    pub filament: f64,
    pub machine: Option<f64>,
    pub electricity: Option<f64>,
    /// A person's time at the plate.
    pub labour: Option<f64>,
}

impl Shares {
    /// These shares and those of so many plates more.
    fn and(self, plate: &Self, plates: f64) -> Self {
        let more = |sum: Option<f64>, each: Option<f64>| each.map(|e| sum.unwrap_or(0.0) + e * plates).or(sum);
        Self {
            filament: self.filament + plate.filament * plates,
            machine: more(self.machine, plate.machine),
            electricity: more(self.electricity, plate.electricity),
            labour: more(self.labour, plate.labour),
        }
    }

    fn sum(&self) -> f64 {
        let more = [self.machine, self.electricity, self.labour];
        self.filament + more.into_iter().flatten().sum::<f64>()
    }
}

/// The plates of a run.
#[derive(Debug, Clone)]
pub struct Plates {
    pub wanted: u32,
    pub start: u32,
    pub per_plate: u32,
    pub plates: u32,
    pub started: Started,
    pub beside: Beside,
}

/// What pace may hang on; where the part lies and on what does not change it.
const PACE_HANGS_ON: Mask = Mask::of(&[at::PRINTER, at::MATERIAL, at::NOZZLE, at::BUILD_UP]);

/// The settings a pace is made from.
pub(super) const PACED_BY: [&str; 6] = ["layer_height", "bead_width", "wall_beads", "infill", "speed", "outside_speed"];

/// Estimates one piece in a choice of printer, material, nozzle, pose and supports.
pub fn piece(world: &World<'_>, choice: &Partial) -> Result<Piece, NoRun> {
    pieces(world, choice, 1)
}

/// Estimates a plate of so many pieces.
pub fn pieces(world: &World<'_>, choice: &Partial, count: u32) -> Result<Piece, NoRun> {
    let pose = choice[at::POSE].and_then(|p| world.part.poses.get(p)).ok_or(NoRun::Undecided(Decision::Pose))?;
    let supported = choice[at::SUPPORTS].is_some_and(|s| s != 0);
    let shape = Shape {
        volume_mm3: world.part.volume_mm3.ok_or(NoRun::NoVolume)?,
        area_mm2: world.part.area_mm2,
        height_mm: pose.height_mm,
        support_mm3: if supported { world.overhangs(choice).map_or(0.0, |o| o.support_mm3) } else { 0.0 },
    };
    shaped(world, choice, count, &shape)
}

/// What time and mass depend on, of the part or of anything else printed by its recipe.
#[derive(Debug, Clone, Copy)]
pub struct Shape {
    pub volume_mm3: f64,
    pub area_mm2: f64,
    pub height_mm: f64,
    /// Space below overhangs that support is to fill.
    pub support_mm3: f64,
}

/// Estimates a plate of so many pieces of a shape, printed with the settings of a choice.
pub fn shaped(world: &World<'_>, choice: &Partial, count: u32, shape: &Shape) -> Result<Piece, NoRun> {
    let printer =
        choice[at::PRINTER].and_then(|p| world.bench.printers.get(p)).ok_or(NoRun::Undecided(Decision::Printer))?;
    let material = world.material(choice).ok_or(NoRun::Undecided(Decision::Material))?;
    let nozzle = world.nozzle(choice).ok_or(NoRun::Undecided(Decision::Nozzle))?;
    let narrow = Key::of(choice).masked(PACE_HANGS_ON);
    let pace = world.pace(narrow, || pace(world, narrow, printer, material, nozzle));
    let started = |speed: Speed| slowed(speed, printer.acceleration, shape);
    let job = PrintJob {
        volume: Volume::mm3(shape.volume_mm3),
        area: Area::mm2(shape.area_mm2),
        height: Length::mm(shape.height_mm),
        layer_height: pace.layer_height,
        bead_width: pace.bead_width,
        walls: pace.walls,
        infill: pace.infill,
        flow_limit: pace.flow_limit,
        wall_speed: started(pace.wall_speed),
        infill_speed: started(pace.infill_speed),
        least_layer_time: material.layer_time.typ,
        support: Volume::mm3(shape.support_mm3 * world.knowledge.catalogue.value(figures::SUPPORT_SHARE)),
        density: material.density.typ,
        pieces: count.max(1),
    };
    let estimate = print_time::estimate(&job)?;
    let price = choice[at::MATERIAL]
        .and_then(|m| world.bench.spool(choice[at::PRINTER], m, world.spec, world.part))
        .and_then(|s| s.price);
    let usual = || material.price.typ.to_per_kg() * world.bench.price_level();
    let per_kg = price.map_or_else(usual, |p| p.to_per_kg());
    let time = Duration::s(estimate.time.to_s() * printer.pace.unwrap_or(1.0));
    let hours = time.to_h();
    let attended: Duration = world.knowledge.catalogue.value(figures::WORK_PER_PLATE);
    let energy = world.bench.electricity.zip(printer.power);
    let shares = Shares {
        filament: estimate.mass.to_kg() * per_kg,
        machine: printer.hour_rate.map(|rate| rate.to_per_h() * hours),
        electricity: energy.map(|(price, power)| (Quantity::from(price).si * Quantity::from(power).si) * time.to_s()),
        labour: world.bench.labour.map(|rate| rate.to_per_h() * attended.to_h()),
    };
    Ok(Piece { time, mass: estimate.mass, cost: Some(Money::of(shares.sum())), shares, basis: estimate.basis })
}

/// Returns the mean speed over the lines of a shape where each has to be started and stopped: L / (L/v + v/a) for a line long
/// enough to reach its speed, sqrt(L a)/2 for a shorter one. The lines are as long as the mean chord of the body, 4 V/S
/// (Cauchy's formula; Santaló, Integral Geometry and Geometric Probability, 1976).
fn slowed(speed: Speed, acceleration: Option<Acceleration>, shape: &Shape) -> Speed {
    let Some(a) = acceleration.map(|a| Quantity::from(a).si * 1e3).filter(|a| *a > 0.0) else { return speed };
    let (v, length) = (speed.to_mm_per_s(), 4.0 * shape.volume_mm3 / shape.area_mm2.max(f64::MIN_POSITIVE));
    if length <= 0.0 || v <= 0.0 {
        return speed;
    }
    let mean = if v * v / a <= length { length / (length / v + v / a) } else { 0.5 * (length * a).sqrt() };
    Speed::mm_per_s(mean)
}

/// What a printer does with a material through a nozzle, whatever the shape.
#[derive(Debug, Clone, Copy)]
pub(super) struct Pace {
    layer_height: Length,
    bead_width: Length,
    walls: u32,
    infill: f64,
    flow_limit: Flow,
    wall_speed: Speed,
    infill_speed: Speed,
}

fn pace(world: &World<'_>, choice: Key, printer: &Printer, material: &Material, nozzle: &Nozzle) -> Pace {
    let si = |name: &str, kind: Dimension| world.number(name, choice).filter(|q| q.dimension == kind).map(|q| q.si);
    let length = |name: &str, fallback: f64| si(name, Dimension::LENGTH).map_or(fallback, |m| m / 1e-3);
    let number = |name: &str, fallback: f64| si(name, Dimension::NONE).unwrap_or(fallback);
    let speed = |name: &str, fallback: f64| {
        Speed::mm_per_s(si(name, Dimension::SPEED).map_or(fallback, |m_per_s| m_per_s / 1e-3))
    };
    let (bore, catalogue) = (nozzle.bore.to_mm(), world.knowledge.catalogue);
    let beads = number("wall_beads", catalogue.value(figures::WALL_LINES)).clamp(1.0, 50.0);
    let (inside, outside) = {
        let usual = catalogue.value(figures::USUAL_SPEED).to_mm_per_s();
        (speed("speed", usual), speed("outside_speed", usual * catalogue.value(figures::OUTSIDE_SPEED_SHARE)))
    };
    // One bead of each wall is laid at the speed of the outside, the others at that of the inside.
    let wall_speed = beads / (1.0 / outside.to_mm_per_s() + (beads - 1.0) / inside.to_mm_per_s());
    let found = |d: usize| choice.choice()[d];
    let recorded = world.bench.flow_recorded(found(at::PRINTER), found(at::NOZZLE), found(at::MATERIAL));
    let rated = printer.flow.to_mm3_per_s()
        * Quantity::from(material.flow_factor.typ).si
        * Quantity::from(nozzle.bore_flow).si
        * Quantity::from(nozzle.metal.flow_factor.typ).si;
    let flow = recorded.map_or(rated, |r| r.value.to_mm3_per_s());
    Pace {
        layer_height: Length::mm(length("layer_height", catalogue.value(figures::LAYER_TO_BORE) * bore)),
        bead_width: Length::mm(length("bead_width", catalogue.value(figures::WIDTH_TO_BORE) * bore)),
        walls: beads as u32,
        infill: number("infill", catalogue.value(figures::USUAL_INFILL)).clamp(0.0, 1.0),
        flow_limit: Flow::mm3_per_s(flow),
        wall_speed: Speed::mm_per_s(wall_speed),
        infill_speed: inside,
    }
}

/// Plans the plates of a run.
pub fn plates(world: &World<'_>, choice: &Partial) -> Result<Plates, NoRun> {
    let wanted = world.spec.quantity.map_or(1, |q| q.value);
    let printer =
        choice[at::PRINTER].and_then(|p| world.bench.printers.get(p)).ok_or(NoRun::Undecided(Decision::Printer))?;
    let pose = choice[at::POSE].and_then(|p| world.part.poses.get(p)).ok_or(NoRun::Undecided(Decision::Pose))?;
    let brim = world.setting("brim", choice).and_then(|v| v.as_quantity()).and_then(|q| q.in_unit("mm"));
    let around = 2.0 * brim.unwrap_or(0.0);
    let piece = pose.footprint_mm.map(|side| Length::mm(side + around));
    let bed = [printer.build[0], printer.build[1]];
    let (gap, edge) = (world.knowledge.catalogue.value(figures::PLATE_GAP), printer.edge);
    let (start, per_plate, started) = match world.bench.plate {
        Some(pieces) => (pieces, pieces, Started::ByPlan(pieces)),
        None => {
            let (start, started) = start_count(world, choice, wanted);
            let count = match packing::rows_hold(start as usize, bed, piece, gap, edge) {
                Ok(true) => start,
                Ok(false) => world.on_bed(bed, piece, gap, edge).unwrap_or(1).min(start),
                Err(_) => 1,
            };
            // A part that fits only aslant is one to a plate.
            (start, count.max(1), started)
        }
    };
    Ok(Plates {
        wanted,
        start,
        per_plate,
        plates: start.div_ceil(per_plate.max(1)),
        started,
        beside: Beside {
            piece: pose.footprint_mm.map(Length::mm),
            gap,
            edge,
            brim: (around > 0.0).then(|| Length::mm(around / 2.0)),
        },
    })
}

/// Time, mass and cost of a whole run.
#[derive(Debug, Clone, Copy)]
pub struct Totals {
    pub time_s: f64,
    pub mass_g: f64,
    pub cost: f64,
    pub shares: Shares,
}

/// Adds up the plates of a run: the full ones, then the rest on the last.
pub fn totals(world: &World<'_>, choice: &Partial, plan: &Plates) -> Result<Totals, NoRun> {
    let none = Shares { filament: 0.0, machine: None, electricity: None, labour: None };
    let mut sum = Totals { time_s: 0.0, mass_g: 0.0, cost: 0.0, shares: none };
    let mut left = plan.start;
    while left > 0 {
        let now = left.min(plan.per_plate.max(1));
        let plates = if now == plan.per_plate { left / now } else { 1 };
        let plate = pieces(world, choice, now)?;
        sum.time_s += plate.time.to_s() * f64::from(plates);
        sum.mass_g += plate.mass.to_g() * f64::from(plates);
        sum.cost += plate.cost.map_or(0.0, |c| c.amount()) * f64::from(plates);
        sum.shares = sum.shares.and(&plate.shares, f64::from(plates));
        left -= now * plates;
    }
    Ok(sum)
}

/// A long run shared with a second machine.
#[derive(Debug, Clone, PartialEq)]
pub struct Shared {
    pub printer: String,
    /// What the second machine would print with.
    pub nozzle: String,
    pub surface: String,
    pub agent: Option<String>,
    /// Until the last of both is done.
    pub time: Duration,
    /// What both would need at once and is there once only.
    pub twice: Vec<String>,
    /// The material of which both would need a spool, and only one is there.
    pub spool_twice: Option<String>,
}

/// Estimates a run shared with the machine of another choice of the same material: each takes pieces as fast as it prints
/// them, so that both end together, to a plate.
pub fn shared(world: &World<'_>, choice: &Partial, other: &Partial) -> Option<Shared> {
    let (ours, theirs) = (plates(world, choice).ok()?, plates(world, other).ok()?);
    let plate_s = |choice: &Partial, count: u32| pieces(world, choice, count).ok().map(|p| p.time.to_s());
    let pace = |choice: &Partial, plan: &Plates| {
        let each = plate_s(choice, plan.per_plate)?;
        (each > 0.0).then(|| f64::from(plan.per_plate) / each)
    };
    let (our_pace, their_pace) = (pace(choice, &ours)?, pace(other, &theirs)?);
    let start = f64::from(ours.start);
    // Whole plates: the machine that ends later decides.
    let mine = (start * our_pace / (our_pace + their_pace) / f64::from(ours.per_plate)).ceil();
    let left = (start - mine * f64::from(ours.per_plate)).max(0.0);
    if left < 1.0 {
        return None;
    }
    let our_time = mine * f64::from(ours.per_plate) / our_pace;
    let their_time = (left / f64::from(theirs.per_plate)).ceil() * f64::from(theirs.per_plate) / their_pace;
    let agent = match other[at::AGENT] {
        Some(0) => None,
        agent => Some(world.name(at::AGENT, agent?)),
    };
    let (nozzle, surface) = (world.name(at::NOZZLE, other[at::NOZZLE]?), world.name(at::SURFACE, other[at::SURFACE]?));
    let mut twice = Vec::new();
    for (decision, name) in [(at::NOZZLE, &nozzle), (at::SURFACE, &surface)] {
        if choice[decision] == other[decision] {
            twice.push(name.clone());
        }
    }
    let material = choice[at::MATERIAL]?;
    let one_spool = world.bench.stock_listed && world.bench.spools_of(material).count() < 2;
    Some(Shared {
        printer: world.name(at::PRINTER, other[at::PRINTER]?),
        nozzle,
        surface,
        agent,
        time: Duration::s(our_time.max(their_time)),
        twice,
        spool_twice: one_spool.then(|| world.name(at::MATERIAL, material)),
    })
}

fn start_count(world: &World<'_>, choice: &Partial, wanted: u32) -> (u32, Started) {
    if wanted <= 1 {
        return (wanted.max(1), Started::One);
    }
    let confidence = world.knowledge.catalogue.value(figures::START_CONFIDENCE);
    let recorded = super::history::yield_share(world, choice).map(|(share, words)| (share, Good::Recorded(words)));
    let (share, good) = recorded.unwrap_or_else(|| {
        let figure = world.knowledge.catalogue.figure(figures::YIELD_ASSUMED);
        (figure.typ, Good::Usual { share: figure.typ, kind: figure.kind })
    });
    match binomial::start_count(u64::from(wanted), share, confidence) {
        Ok(start) => {
            let start = u32::try_from(start).unwrap_or(wanted);
            (start, Started::Enough { start, wanted, confidence, good })
        }
        Err(why) => (wanted, Started::AsWanted(why)),
    }
}
