//! What a load's margin is made of, as data: a reader can work it out again.

use serde::Serialize;

use crate::physics::strength::Mode;
use crate::resolve::strength::{Ends, Left, Sums};

/// What a load's margin is made of. With X, Y, S the low strengths along, across and between, times all that is `left` of them, and
/// s1, s2, t the stresses times `factor`, the load could be `1 / sqrt((s1/X)² - s1 s2/X² + (s2/Y)² + (t/S)²)` times as large
/// (Tsai-Hill), and no more than lets any of s1/X, s2/Y, t/S be 1; that over `grids`, times `skin`.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct LoadSums {
    /// Where it fails first, mm in the axes of the file.
    pub at_mm: [f64; 3],
    /// The same by what the spec calls it.
    pub near: String,
    /// What uses most of its strength there.
    pub governs: Governs,
    /// There, in the layers of the chosen way up; along and across: above zero where it pulls, below where it presses.
    pub stress_mpa: InLayers<f64>,
    /// What of that is for coming on suddenly; 1 where it does not.
    pub sudden: f64,
    /// On the load.
    pub factor: f64,
    /// As printed, dry, new, at room temperature, for the sign of the stress.
    pub strength_mpa: InLayers<LowTypical>,
    /// What is left of the strengths.
    pub left: Vec<LeftBy>,
    /// What the coarser grid says otherwise, against the part.
    pub grids: f64,
    /// What of a solid section counts, its skin alone; 1 where it is solid.
    pub skin: f64,
    /// The same at best: bent, with its infill in full.
    pub skin_at_best: f64,
    /// What it was solved on.
    pub grid: SolvedOn,
    /// What holds the part.
    pub held_at: Vec<String>,
}

/// What uses most of its strength.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum Governs {
    /// Pulled or pressed along the layers.
    Along,
    /// Layers pulled apart or pressed together.
    Across,
    /// Layers slid over each other.
    Between,
}

/// Something along the layers, across them and between them.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct InLayers<T> {
    /// Along them.
    pub along: T,
    /// Across them.
    pub across: T,
    /// Between them: shear.
    pub between: T,
}

/// The low end of a figure and its typical value.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct LowTypical {
    /// Counted.
    pub low: f64,
    /// Beside it.
    pub typical: f64,
}

/// A share that something leaves of the strengths.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct LeftBy {
    /// `moisture`, `heat`, `held`, `cycles`.
    pub by: &'static str,
    /// In words.
    pub what: String,
    /// Of the strength along the layers.
    pub along: LowTypical,
    /// Of that across and between them.
    pub across: LowTypical,
}

/// A grid.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct SolvedOn {
    /// That hold material.
    pub cells: usize,
    /// Their width.
    pub cell_mm: f64,
    /// How far the stress is from that on cells twice as wide, as a part of it.
    pub apart: f64,
    /// Whether it no longer hangs on the grid.
    pub settled: bool,
}

impl LowTypical {
    fn of([low, typical]: Ends) -> Self {
        Self { low: short(low), typical: short(typical) }
    }
}

impl<T> InLayers<T> {
    fn of([along, across, between]: [T; 3]) -> Self {
        Self { along, across, between }
    }
}

impl LoadSums {
    /// Returns the sums in the recipe's form.
    pub fn of(s: &Sums) -> Self {
        let left = |l: &Left| LeftBy {
            by: l.by.word(),
            what: l.by.to_string(),
            along: LowTypical::of(l.along),
            across: LowTypical::of(l.across),
        };
        Self {
            at_mm: s.at.map(short),
            near: s.near.to_string(),
            governs: match s.governs {
                Mode::Along => Governs::Along,
                Mode::Across => Governs::Across,
                Mode::Shear => Governs::Between,
            },
            stress_mpa: InLayers::of(s.stress_mpa.map(short)),
            sudden: s.sudden,
            factor: s.factor,
            strength_mpa: InLayers::of(s.strength_mpa.map(LowTypical::of)),
            left: s.left.iter().map(left).collect(),
            grids: short(s.grids),
            skin: short(s.skin[0]),
            skin_at_best: short(s.skin[1]),
            grid: SolvedOn {
                cells: s.cells,
                cell_mm: short(s.cell_mm),
                apart: short(s.apart),
                settled: s.open.is_none(),
            },
            held_at: s.held.clone(),
        }
    }
}

impl LoadSums {
    /// Returns the shares of their strengths used along, across and between, and how often the load is borne, from these figures.
    pub fn worked(&self) -> ([f64; 3], f64) {
        let product = |of: fn(&LeftBy) -> LowTypical| self.left.iter().map(|l| of(l).low).product::<f64>();
        let (along, across) = (product(|l| l.along), product(|l| l.across));
        let (s, x) = (&self.stress_mpa, &self.strength_mpa);
        let used = |stress: f64, strength: f64| stress.abs() * self.factor / strength.max(f64::MIN_POSITIVE);
        let u = [
            used(s.along, x.along.low * along),
            used(s.across, x.across.low * across),
            used(s.between, x.between.low * across),
        ];
        // Of opposite signs the product counts as it stands, of equal signs it relieves.
        let mixed = (s.along * s.across).signum() * u[0] * u[1] * (x.across.low * across) / (x.along.low * along);
        let index = u[0].powi(2) - mixed + u[1].powi(2) + u[2].powi(2);
        let most = u.into_iter().fold(0.0, f64::max);
        let borne = 1.0 / index.max(0.0).sqrt().max(most).max(f64::MIN_POSITIVE);
        (u, borne / self.grids * self.skin)
    }
}

/// Rounds to six figures, so that the last bits of a processor are no difference.
fn short(x: f64) -> f64 {
    format!("{x:.5e}").parse().unwrap_or(x)
}
