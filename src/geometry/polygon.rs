//! Areas in the plane: union, difference and growth of polygons. The one place that knows the polygon library.
//!
//! The library stops the program on a coordinate that is no number and grows a clockwise outline to nothing, so every
//! call here looks for the first and hands over only what a union has put in order.

use i_overlay::core::fill_rule::FillRule;
use i_overlay::core::overlay_rule::OverlayRule;
use i_overlay::float::simplify::SimplifyShape;
use i_overlay::float::single::SingleFloatOverlay;
use i_overlay::mesh::float::outline::offset::OutlineOffset;
use i_overlay::mesh::float::style::{LineJoin, OutlineStyle};

/// A place in the plane, mm.
pub type Point2 = [f64; 2];
/// A closed outline; the last point joins the first.
pub type Contour = Vec<Point2>;

/// Which parts of crossing and nested outlines are inside.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Filling {
    /// What outlines turn round at all: right for outlines with a direction, overlapping or nested.
    Winding,
    /// What an odd number of outlines surrounds: right where directions cannot be trusted.
    EvenOdd,
}

/// Plane areas: each an outer outline, counter-clockwise, followed by its holes, clockwise.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Polygons {
    shapes: Vec<Vec<Contour>>,
}

impl Polygons {
    /// Builds areas from loose outlines; those with a coordinate that is no number are left out.
    pub fn new(contours: &[Contour], filling: Filling) -> Self {
        let finite = |c: &&Contour| c.len() >= 3 && c.iter().all(|p| p[0].is_finite() && p[1].is_finite());
        let sound: Vec<Contour> = contours.iter().filter(finite).cloned().collect();
        if sound.is_empty() {
            return Self::default();
        }
        let rule = match filling {
            Filling::Winding => FillRule::NonZero,
            Filling::EvenOdd => FillRule::EvenOdd,
        };
        Self { shapes: sound.simplify_shape(rule) }
    }

    /// Returns whether it covers nothing.
    pub fn is_empty(&self) -> bool {
        self.shapes.is_empty()
    }

    /// Returns the separate areas.
    pub fn shapes(&self) -> &[Vec<Contour>] {
        &self.shapes
    }

    /// Returns every outline, outer ones and holes.
    pub fn contours(&self) -> impl Iterator<Item = &Contour> {
        self.shapes.iter().flatten()
    }

    /// Returns the area, mm².
    pub fn area(&self) -> f64 {
        // Holes run clockwise, so their area is negative of itself.
        self.contours().map(|c| super::pose::footprint::area(c)).fold(0.0, |sum, a| sum + a)
    }

    /// Returns the areas grown by `by` mm (shrunk where negative), corners rounded.
    #[must_use]
    pub fn grown(&self, by: f64) -> Self {
        if self.is_empty() || !by.is_finite() || by == 0.0 {
            return self.clone();
        }
        let style = OutlineStyle::new(by).line_join(LineJoin::Round(0.4));
        Self { shapes: self.shapes.outline(&style) }
    }

    /// Returns what of these areas `other` does not cover.
    #[must_use]
    pub fn minus(&self, other: &Self) -> Self {
        if self.is_empty() || other.is_empty() {
            return self.clone();
        }
        Self { shapes: self.shapes.overlay(&other.shapes, OverlayRule::Difference, FillRule::NonZero) }
    }

    /// Returns what lies in both.
    #[must_use]
    pub fn within(&self, other: &Self) -> Self {
        if self.is_empty() || other.is_empty() {
            return Self::default();
        }
        Self { shapes: self.shapes.overlay(&other.shapes, OverlayRule::Intersect, FillRule::NonZero) }
    }

    /// Returns what lies in either.
    #[must_use]
    pub fn with(&self, other: &Self) -> Self {
        match (self.is_empty(), other.is_empty()) {
            (true, _) => other.clone(),
            (_, true) => self.clone(),
            _ => Self { shapes: self.shapes.overlay(&other.shapes, OverlayRule::Union, FillRule::NonZero) },
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn square(x: f64, y: f64, side: f64) -> Contour {
        vec![[x, y], [x + side, y], [x + side, y + side], [x, y + side]]
    }

    #[test]
    fn an_island_within_a_hole_survives() {
        let rings = [square(0.0, 0.0, 10.0), square(2.0, 2.0, 6.0), square(4.0, 4.0, 2.0)];
        assert!((Polygons::new(&rings, Filling::EvenOdd).area() - (100.0 - 36.0 + 4.0)).abs() < 1e-6);
    }

    #[test]
    fn a_clockwise_outline_grows_like_any_other() {
        let mut clockwise = square(0.0, 0.0, 10.0);
        clockwise.reverse();
        let grown = Polygons::new(&[clockwise], Filling::Winding).grown(1.0);
        // 12 x 12 less the rounded corners: 4 - pi is lost, a little more with the arc in pieces.
        assert!((grown.area() - (144.0 - (4.0 - std::f64::consts::PI))).abs() < 0.1, "{}", grown.area());
    }

    #[test]
    fn a_coordinate_that_is_no_number_does_no_harm() {
        let bad = vec![[0.0, 0.0], [f64::NAN, 1.0], [1.0, 1.0]];
        assert!(Polygons::new(&[bad], Filling::Winding).is_empty());
    }

    #[test]
    fn difference_union_and_overlap_add_up() {
        let a = Polygons::new(&[square(0.0, 0.0, 10.0)], Filling::Winding);
        let b = Polygons::new(&[square(5.0, 0.0, 10.0)], Filling::Winding);
        assert!((a.minus(&b).area() - 50.0).abs() < 1e-6);
        assert!((a.within(&b).area() - 50.0).abs() < 1e-6);
        assert!((a.with(&b).area() - 150.0).abs() < 1e-6);
    }
}
