//! How the values of decisions are called.

use super::{SUPPORTS, World, at};
use crate::resolve::loads;

impl World<'_> {
    /// Returns how a value of a decision is called.
    pub fn name(&self, decision: usize, value: usize) -> String {
        let b = &self.bench;
        let found = match decision {
            at::PRINTER => b.printers.get(value).map(|p| p.name.clone()),
            at::MATERIAL => b.materials.get(value).map(|m| m.name.clone()),
            at::NOZZLE => b.nozzles.get(value).map(|n| n.name.clone()),
            at::SURFACE => b.surfaces.get(value).map(|s| s.name.clone()),
            at::AGENT => b.agents.get(value).map(|a| a.name.clone()),
            at::POSE => self.part.poses.get(value).map(|_| self.pose_words(value)),
            at::SUPPORTS => SUPPORTS.get(value).map(|s| s.to_string()),
            _ => b.build_ups.get(value).map(|b| b.name.clone()),
        };
        found.unwrap_or_default()
    }

    /// Says which way up a pose is, by a named face if one lies on the bed.
    pub fn pose_words(&self, pose: usize) -> String {
        let Some(facts) = self.part.poses.get(pose) else { return String::new() };
        let down = facts.pose.up.map(|c| -c);
        for (i, face) in self.spec.faces.iter().enumerate() {
            if self.part.lies_down(i, pose) == Some(true) {
                return format!("face \"{}\" down", face.name.value);
            }
        }
        match loads::lean(down) {
            (axis, tilt) if tilt.is_empty() => format!("{axis} down"),
            (axis, tilt) => format!("{axis} down, tilted {tilt}"),
        }
    }
}
