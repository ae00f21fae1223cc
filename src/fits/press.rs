//! What the press-fit computation needs from a fit: the smallest and largest interference of hole and pin.
//!
//! The pressure, stress and hold themselves are physics (Lamé), not computed here.

use super::function::Limits;
use crate::quantity::Length;

/// Interference on the diameter between a hole and a pin; negative is clearance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Interference {
    /// Smallest: the loosest pair, for the hold.
    pub smallest: Length,
    /// Largest: the tightest pair, for the stress.
    pub largest: Length,
}

impl Interference {
    /// Returns the interference of a finished hole and a pin, both as limits.
    pub fn between(hole: Limits, pin: Limits) -> Self {
        let less = |a: Length, b: Length| Length::um(a.to_um() - b.to_um());
        Self { smallest: less(pin.low, hole.high), largest: less(pin.high, hole.low) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 25 H7/r6, JINDAL Ex 4-2 p. 112: interference 0.007 to 0.041 mm.
    #[test]
    fn interference_of_a_textbook_pair() {
        let hole = Limits::new(Length::mm(25.0), Length::mm(25.021));
        let pin = Limits::new(Length::mm(25.028), Length::mm(25.041));
        let cold = Interference::between(hole, pin);
        assert!((cold.smallest.to_mm() - 0.007).abs() < 1e-9 && (cold.largest.to_mm() - 0.041).abs() < 1e-9);
    }
}
