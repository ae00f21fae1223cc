//! Axis-aligned bounds.

use super::vector::{Vector, norm, sub};

/// The smallest axis-aligned box around points, millimetres. Empty bounds have `min` above `max`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bounds {
    /// Lowest x, y and z, mm.
    pub min: Vector,
    /// Highest x, y and z, mm.
    pub max: Vector,
}

impl Bounds {
    /// Bounds around nothing.
    pub const EMPTY: Self = Self { min: [f64::INFINITY; 3], max: [f64::NEG_INFINITY; 3] };

    /// Returns the bounds of the points; [`Bounds::EMPTY`] for none.
    pub fn of(points: impl IntoIterator<Item = Vector>) -> Self {
        let mut bounds = Self::EMPTY;
        for p in points {
            bounds.include(p);
        }
        bounds
    }

    /// Returns whether there is nothing inside, not even a point.
    pub fn is_empty(&self) -> bool {
        self.min[0] > self.max[0]
    }

    /// Grows the box until the point is in it.
    #[inline]
    pub fn include(&mut self, p: Vector) {
        for k in 0..3 {
            self.min[k] = self.min[k].min(p[k]);
            self.max[k] = self.max[k].max(p[k]);
        }
    }

    /// Returns the bounds around both.
    #[must_use]
    pub fn union(&self, other: &Self) -> Self {
        let mut bounds = *self;
        if !other.is_empty() {
            bounds.include(other.min);
            bounds.include(other.max);
        }
        bounds
    }

    /// Returns the lengths of the three sides; zero for empty bounds.
    pub fn size(&self) -> Vector {
        if self.is_empty() { [0.0; 3] } else { sub(self.max, self.min) }
    }

    /// Returns the length of the space diagonal.
    pub fn diagonal(&self) -> f64 {
        norm(self.size())
    }

    /// Returns the middle, mm; the origin for empty bounds.
    pub fn centre(&self) -> Vector {
        if self.is_empty() {
            return [0.0; 3];
        }
        [0, 1, 2].map(|k| 0.5 * self.min[k] + 0.5 * self.max[k])
    }

    /// Returns whether the boxes share a point when each is grown by `margin`/2.
    #[inline]
    pub fn touches(&self, other: &Self, margin: f64) -> bool {
        (0..3).all(|k| self.min[k] <= other.max[k] + margin && other.min[k] <= self.max[k] + margin)
    }

    /// Returns whether `other` lies within (touching allowed).
    pub fn contains(&self, other: &Self) -> bool {
        (0..3).all(|k| self.min[k] <= other.min[k] && other.max[k] <= self.max[k])
    }
}
