//! How the values of decisions are called.

use super::{SUPPORTS, World, at};

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

    /// Says which way up a pose is: see [`crate::geometry::pose::name`].
    pub fn pose_words(&self, pose: usize) -> String {
        self.part.poses.get(pose).map_or_else(String::new, |facts| facts.pose.label.clone())
    }
}
