//! Cavities: hollow spaces wholly inside the material.

use super::health::Health;
use super::mesh::Point;
use super::vector::{add, scale};

/// A hollow space that a closed inner shell bounds.
#[derive(Debug, Clone, PartialEq)]
pub struct Cavity {
    /// The shell that bounds it.
    pub shell: usize,
    /// The free volume in mm³: bodies that lie loose inside are taken off.
    pub volume_mm3: f64,
    /// Whether nothing could get out (trapped air or liquid, support that stays). False only where the bounding shell
    /// crosses another, so that there may be a way.
    pub sealed: bool,
    /// The middle of the bounding shell's box, mm.
    pub at: Point,
}

/// Returns the cavities in order of their shells. A hollow with any opening is part of the outer surface and is none.
pub fn find(health: &Health) -> Vec<Cavity> {
    let mut cavities = Vec::new();
    for (s, shell) in health.shells.iter().enumerate() {
        let Some(volume) = shell.volume_mm3.filter(|&v| v < 0.0) else { continue };
        if shell.contained_in.is_none() || shell.inside_out || shell.redundant {
            continue;
        }
        let loose: f64 = health.shells.iter().filter(|o| o.contained_in == Some(s)).filter_map(|o| o.volume_mm3).sum();
        let (min, max) = (shell.bounds.min, shell.bounds.max);
        cavities.push(Cavity {
            shell: s,
            volume_mm3: -volume - loose,
            sealed: !health.crossing_shells.iter().any(|&(a, b)| a as usize == s || b as usize == s),
            at: scale(add(min, max), 0.5),
        });
    }
    cavities
}
