//! What a machine makes of a part: what of a decided job the plan of a run needs to know.

use crate::catalogue::figures;
use crate::catalogue::words::{Level, Warp};
use crate::geometry::pose::footprint::{Point2, shadow};
use crate::quantity::{Quantity, Temperature};
use crate::recipe::Recipe;
use crate::resolve::decide::{Decided, full};
use crate::resolve::run::said::NoRun;
use crate::resolve::shop::Job;
use crate::resolve::world::{Partial, World, at};
use crate::resolve::{history, run};
use crate::rulebook::CautionKind;
use crate::rulebook::names::Decision;

/// A part as one printer makes it.
#[derive(Debug, Clone, PartialEq)]
pub struct Routing {
    /// By its name in the workshop, as all names here.
    pub printer: String,
    /// By the catalogue's name.
    pub material: String,
    /// Of the spool it would be printed from.
    pub colour: Option<String>,
    /// The spool it would be printed from; none where the workshop lists none.
    pub spool: Option<String>,
    /// Fitted for it.
    pub nozzle: String,
    /// On the bed for it.
    pub surface: String,
    /// Laid on the surface; none where nothing is.
    pub agent: Option<String>,
    /// What a piece covers as it lies, its lower left corner at the origin, mm.
    pub outline: Vec<Point2>,
    /// Round each piece.
    pub brim_mm: f64,
    /// Printing time of a plate of one piece, and of that and one piece more as it counts on the recipe's full plate: minutes.
    pub minutes: [f64; 2],
    /// Filament of a piece.
    pub mass_g: f64,
    /// Of a kilogram, in the workshop's money.
    pub price_per_kg: f64,
    /// Of an hour of the machine, in the workshop's money; none where it states no price.
    pub machine_per_h: Option<f64>,
    /// Electricity of an hour; none where price or power is not stated.
    pub electricity_per_h: Option<f64>,
    /// Drying of the spool beforehand.
    pub dry: Option<Drying>,
    /// Everything entered on the print job: pieces share a plate only where it is the same.
    pub settings: String,
    /// What can go wrong with it, in the words of the symptoms.
    pub traits: Vec<&'static str>,
    /// Sides of the bed it lies on, and what is kept free at its edge, mm.
    pub bed: [f64; 3],
    /// Nothing of it must be watched to the end.
    pub alone: bool,
    /// Good pieces of those started, as far as the workshop has recorded such a job.
    pub recorded: Option<history::Recorded>,
}

/// Time in the dryer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Drying {
    /// How long.
    pub hours: f64,
    /// How hot, as far as the dryer goes.
    pub at: Temperature,
}

impl Routing {
    /// Returns what a decided job says.
    ///
    /// # Errors
    ///
    /// Says what cannot be told of it: its time, or how it lies.
    pub fn of(world: &World<'_>, decided: &Decided, recipe: &Recipe) -> Result<Self, NoRun> {
        let choice = full(&decided.choice);
        let printer =
            choice[at::PRINTER].and_then(|p| world.bench.printers.get(p)).ok_or(NoRun::Undecided(Decision::Printer))?;
        let material = world.material(&choice).ok_or(NoRun::Undecided(Decision::Material))?;
        let pose = choice[at::POSE].and_then(|p| world.part.poses.get(p)).ok_or(NoRun::Undecided(Decision::Pose))?;
        let outline = shadow(&world.part.mesh, &pose.pose, pose.turn_deg).ok_or(NoRun::NoShadow)?;
        // A layer of few pieces waits for its least time, so that a second piece costs little: the full plate tells what each takes.
        let full_plate = world.plan(&choice).map_or(2, |plan| plan.per_plate.max(2));
        let (one, many) = (run::pieces(world, &choice, 1)?, run::pieces(world, &choice, full_plate)?);
        let each = (many.time.to_min() - one.time.to_min()) / f64::from(full_plate - 1);
        let name = |decision: usize| choice[decision].map(|value| world.name(decision, value)).unwrap_or_default();
        let brim = world.setting("brim", &choice).and_then(|v| v.as_quantity()).and_then(|q| q.in_unit("mm"));
        let bench = &world.bench;
        let spool = choice[at::MATERIAL]
            .filter(|_| bench.stock_listed)
            .and_then(|m| bench.spool(choice[at::PRINTER], m, world.spec, world.part));
        let hours = one.time.to_h();
        let energy = bench.electricity.zip(printer.power);
        let settings: Vec<String> = recipe.settings.iter().map(|s| format!("{}={:?}", s.name, s.value)).collect();
        Ok(Self {
            printer: printer.name.clone(),
            material: material.name.clone(),
            colour: spool.and_then(|s| s.colour.clone()),
            spool: spool.map(|s| s.name.clone()),
            nozzle: name(at::NOZZLE),
            surface: name(at::SURFACE),
            agent: (choice[at::AGENT] != Some(0)).then(|| name(at::AGENT)),
            outline,
            brim_mm: brim.unwrap_or(0.0),
            minutes: [one.time.to_min(), one.time.to_min() + each],
            mass_g: one.mass.to_g(),
            price_per_kg: if one.mass.to_kg() > 0.0 { one.shares.filament / one.mass.to_kg() } else { 0.0 },
            machine_per_h: printer.hour_rate.map(|rate| rate.to_per_h()),
            electricity_per_h: energy
                .map(|(price, power)| Quantity::from(price).si * Quantity::from(power).si * 3600.0)
                .filter(|_| hours > 0.0),
            dry: drying(world, &choice),
            settings: settings.join(";"),
            traits: traits(world, &choice),
            bed: [printer.build[0].to_mm(), printer.build[1].to_mm(), printer.edge.to_mm()],
            alone: recipe.cautions.iter().all(|c| c.kind != CautionKind::Fire),
            recorded: history::recorded(world, &choice),
        })
    }
}

/// What can go wrong with a choice.
fn traits(world: &World<'_>, choice: &Partial) -> Vec<&'static str> {
    let Some(material) = world.material(choice) else { return Vec::new() };
    let agent = choice[at::AGENT] != Some(0);
    let all = [
        ("damp", material.moisture.value != Level::Low),
        ("warps", material.warp.value != Warp::Low),
        ("supports", choice[at::SUPPORTS].is_some_and(|s| s != 0)),
        ("agent", agent),
        ("bare", !agent),
        ("drives-soft", material.flexible.value),
    ];
    all.into_iter().filter(|(_, holds)| *holds).map(|(word, _)| word).collect()
}

/// The stay in the dryer that a spool needs: water leaves the more slowly the cooler it is.
fn drying(world: &World<'_>, choice: &Partial) -> Option<Drying> {
    let material = world.material(choice)?;
    let (time, wanted) = (material.drying_time.as_ref()?.typ, material.drying_temperature.as_ref()?.typ);
    let dryer = world.bench.tools.dryer_limit?;
    let job = Job { spec: world.spec, part: world.part, knowledge: world.knowledge };
    let spool = world.bench.spool_facts(choice, job);
    let is_dry = spool.and_then(|s| s.dried).is_some_and(|d| d.value);
    if material.moisture.value == Level::Low || is_dry {
        return None;
    }
    let short = (wanted.to_kelvin() - dryer.to_kelvin()).max(0.0);
    let doubles = world.knowledge.catalogue.value(figures::DRYING_DOUBLES).to_k();
    let at = if dryer.to_kelvin() < wanted.to_kelvin() { dryer } else { wanted };
    Some(Drying { hours: time.to_h() * (short / doubles).exp2(), at })
}
