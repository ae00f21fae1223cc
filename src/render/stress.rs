//! What `stress` prints: the elasticity of a part under its loads, as data and as text.

use std::fmt::Write;

use serde::Serialize;

use crate::field::{Answer, Figure, Measure, Solution};
use crate::geometry::vector::Vector;
use crate::quantity::significant;

/// The modulus displacements are given for, MPa: about that of a stiff plastic without fibres.
pub const MODULUS_MPA: f64 = 3300.0;

/// Every load asked about.
#[derive(Debug, Serialize)]
pub struct Report {
    /// In the order of the spec.
    pub loads: Vec<Load>,
}

/// What a load does to the part, or why that cannot be told.
#[derive(Debug, Default, Serialize)]
pub struct Load {
    /// The part.
    pub part: String,
    /// The load.
    pub name: String,
    /// What holds the part.
    pub holds: Vec<String>,
    /// What the solid part does.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub elastic: Option<Elastic>,
    /// By the axes of the file.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub layers: Option<Layers>,
    /// For the way up that was asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub pose: Option<Pose>,
    /// Times the load at which the part buckles; none where nothing is pressed or it was not looked for.
    pub buckling_factor: Option<f64>,
    /// What each hold does to the part.
    pub reactions_n: Vec<Reaction>,
    /// Of the grid.
    pub cells: usize,
    /// Width of the cells.
    pub cell_mm: Option<f64>,
    /// Whether the figures no longer hang on the grid.
    pub settled: bool,
    /// The figures on two grids.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub band: Option<Bands>,
    /// Why it is not settled, or not solved at all.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub why: Option<String>,
    /// What was taken for granted.
    pub assumed: Vec<String>,
}

/// Short-term, at room temperature, solid, alike in all directions, without factors.
#[derive(Debug, Serialize)]
pub struct Elastic {
    /// Young's modulus.
    pub modulus_mpa: f64,
    /// Poisson's ratio.
    pub poisson: f64,
    /// The mean of the loaded patch in the load's direction.
    pub displacement_mm: f64,
    /// For a torque.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub turn_rad: Option<f64>,
    /// The largest tension in any direction.
    pub largest_principal_mpa: f64,
    /// Where that is, mm.
    pub at: Vector,
}

/// By the axis of the file that the layers are square to.
#[derive(Debug, Serialize)]
pub struct Layers {
    /// Layers square to x.
    pub x: Layered,
    /// Layers square to y.
    pub y: Layered,
    /// Layers square to z.
    pub z: Layered,
}

/// Tension across the layers and shear between them, averaged over about a bead.
#[derive(Debug, Serialize)]
pub struct Layered {
    /// Tension across the layers.
    pub across_mpa: f64,
    /// Shear between the layers.
    pub shear_mpa: f64,
}

/// The layers of one way up.
#[derive(Debug, Serialize)]
pub struct Pose {
    /// The direction that points up.
    pub up: Vector,
    /// Across and between its layers.
    #[serde(flatten)]
    pub layered: Layered,
}

/// What a hold does to the part.
#[derive(Debug, Serialize)]
pub struct Reaction {
    /// The hold.
    pub hold: String,
    /// The force on the part.
    pub newtons: Vector,
}

/// From the smaller to the larger of two grids.
#[derive(Debug, Serialize)]
pub struct Bands {
    /// The displacement.
    pub displacement_mm: [f64; 2],
    /// The largest tension.
    pub largest_principal_mpa: [f64; 2],
}

/// Radius of the ball that stands for a bead, mm.
const BALL_MM: f64 = 1.0;

impl Load {
    /// Puts a solution into the answer, found with this Poisson's ratio.
    #[must_use]
    pub fn solved(self, s: &Solution, up: Option<Vector>, poisson: f64) -> Self {
        // A load on several holes of a fit: what moves on the average.
        let mean = |of: &dyn Fn(&Answer) -> f64| {
            s.loads.iter().map(|l| of(&l.displacement)).sum::<f64>() / s.loads.len().max(1) as f64 / MODULUS_MPA
        };
        let layer = |i: usize| {
            let [across, shear] = s.layers[i].map(|f: Option<Figure>| f.map_or(0.0, |f| f.value.max(0.0)));
            Layered { across_mpa: across, shear_mpa: shear }
        };
        let greatest = |m: Measure| s.greatest(m, BALL_MM).map_or(0.0, |p| p.value.max(0.0));
        let band = |a: f64, b: f64| [a.min(b), a.max(b)];
        let displacement_mm = mean(&|a| a.value);
        let principal = s.principal;
        Self {
            elastic: Some(Elastic {
                modulus_mpa: MODULUS_MPA,
                poisson,
                displacement_mm,
                turn_rad: s.loads.first().and_then(|l| l.turn).map(|t| t.value / MODULUS_MPA),
                largest_principal_mpa: principal.map_or(0.0, |p| p.value),
                at: principal.map_or([0.0; 3], |p| p.at),
            }),
            layers: Some(Layers { x: layer(0), y: layer(1), z: layer(2) }),
            pose: up.map(|up| Pose {
                up,
                layered: Layered {
                    across_mpa: greatest(Measure::Across(up)),
                    shear_mpa: greatest(Measure::Between(up)),
                },
            }),
            buckling_factor: s.buckling.map(|b| b.value * MODULUS_MPA),
            reactions_n: s.reactions.iter().map(|r| Reaction { hold: r.name.clone(), newtons: r.newtons }).collect(),
            cells: s.cells,
            cell_mm: Some(s.cell_mm),
            settled: s.settled,
            band: Some(Bands {
                displacement_mm: band(displacement_mm, mean(&|a| a.coarse)),
                largest_principal_mpa: principal.map_or([0.0; 2], |p| band(p.value, p.coarse)),
            }),
            why: s.unsettled.clone(),
            ..self
        }
    }
}

fn vector(v: Vector) -> String {
    v.map(significant).join(", ")
}

/// Returns the answers as text.
pub fn text(report: &Report) -> String {
    let mut out = String::new();
    for load in &report.loads {
        // Writing into a text cannot fail.
        let _ = one(&mut out, load);
    }
    out
}

fn one(out: &mut String, load: &Load) -> std::fmt::Result {
    writeln!(out, "{}, load \"{}\"", load.part, load.name)?;
    if !load.holds.is_empty() {
        writeln!(out, "  held at         {}", load.holds.join(", "))?;
    }
    if let (Some(e), Some(layers)) = (&load.elastic, &load.layers) {
        let band = load.band.as_ref();
        let ends = |b: [f64; 2]| format!("{} to {} on two grids", significant(b[0]), significant(b[1]));
        writeln!(
            out,
            "  moves           {} mm with {} MPa, Poisson {} ({})",
            significant(e.displacement_mm),
            e.modulus_mpa,
            e.poisson,
            band.map_or(String::new(), |b| ends(b.displacement_mm))
        )?;
        if let Some(turn) = e.turn_rad {
            writeln!(out, "  turns           {} rad", significant(turn))?;
        }
        writeln!(
            out,
            "  largest tension {} MPa at ({}) mm ({})",
            significant(e.largest_principal_mpa),
            vector(e.at),
            band.map_or(String::new(), |b| ends(b.largest_principal_mpa))
        )?;
        for (axis, l) in [("x", &layers.x), ("y", &layers.y), ("z", &layers.z)] {
            layered(out, &format!("layers across {axis}"), l)?;
        }
        if let Some(pose) = &load.pose {
            layered(out, &format!("({}) up", vector(pose.up)), &pose.layered)?;
        }
        match load.buckling_factor {
            Some(f) => writeln!(out, "  buckles at      {} times the load", significant(f))?,
            None => writeln!(out, "  buckles         not, or not looked for")?,
        }
        for r in &load.reactions_n {
            writeln!(out, "  holds with      ({}) N at {}", vector(r.newtons), r.hold)?;
        }
        writeln!(out, "  grid            {} cells of {} mm", load.cells, significant(load.cell_mm.unwrap_or(0.0)))?;
    }
    match (&load.why, load.settled) {
        (_, true) => writeln!(out, "  settled")?,
        (Some(why), false) => writeln!(out, "  not settled     {why}")?,
        (None, false) => writeln!(out, "  not settled")?,
    }
    for assumed in &load.assumed {
        writeln!(out, "  taken           {assumed}")?;
    }
    Ok(())
}

fn layered(out: &mut String, what: &str, l: &Layered) -> std::fmt::Result {
    writeln!(out, "  {what:<16}{} MPa across, {} MPa between", significant(l.across_mpa), significant(l.shear_mpa))
}
