//! What is said of margins: what is asked, what is there, what lies between, and what that rests on.

mod fits;
mod loads;
mod service;
mod shape;
mod unshown;

use std::fmt::{self, Display, Formatter};

use crate::geometry::vector::Vector;
use crate::quantity::{Length, Stress, trim_number};
use crate::resolve::margin::said::{Ends, OfMargin, Part, Said};
use crate::resolve::margin::{MarginKind, Name, Verdict};
use crate::resolve::together;

impl Display for Name {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        let word = match self.kind {
            MarginKind::Cold => "knocks in the cold",
            MarginKind::Sun => "sunlight",
            MarginKind::LoadsTogether => {
                let names: Vec<&str> = self.of.iter().map(String::as_str).collect();
                return write!(f, "loads {} together", together::quoted(&names));
            }
            MarginKind::Buckling => "buckling under",
            MarginKind::Bearing => "bearing under",
            MarginKind::Slit => "narrowest gap",
            MarginKind::BedRoom => "room on the bed",
            MarginKind::LivingHinge => "living hinge",
            other => other.as_str(),
        };
        f.write_str(word)?;
        self.of.iter().try_for_each(|name| write!(f, " \"{name}\""))
    }
}

impl Verdict {
    /// Returns the word for a person.
    pub const fn words(self) -> &'static str {
        match self {
            Verdict::Broken => "broken",
            Verdict::NotShown => "not shown",
            Verdict::Narrow => "holds narrowly",
            Verdict::Holds => "holds",
        }
    }
}

impl Display for OfMargin {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        let words = match &*self.said {
            Said::NotShown(said) => unshown::words(said, self.part),
            said @ (Said::Heat { .. } | Said::Sun { .. } | Said::Cold { .. } | Said::Contact { .. }) => {
                service::words(said, self.part)
            }
            said @ (Said::Load { .. }
            | Said::Together { .. }
            | Said::Buckling { .. }
            | Said::Bearing { .. }
            | Said::Deflection { .. }) => loads::words(said, self.part),
            said @ (Said::Pressure { .. }
            | Said::PressureTooMuch { .. }
            | Said::Wall { .. }
            | Said::Slit { .. }
            | Said::BedRoom { .. }) => shape::words(said, self.part),
            said @ (Said::Depth { .. }
            | Said::Boss { .. }
            | Said::Strain { .. }
            | Said::Gap { .. }
            | Said::Press(_)
            | Said::Grip(_)) => fits::words(said, self.part),
        };
        f.write_str(&words)
    }
}

/// The four parts of what is said, each made only where it is asked for.
fn one_of(
    part: Part,
    demand: impl FnOnce() -> String,
    capacity: impl FnOnce() -> String,
    spare: impl FnOnce() -> String,
    basis: impl FnOnce() -> String,
) -> String {
    match part {
        Part::Demand => demand(),
        Part::Capacity => capacity(),
        Part::Spare => spare(),
        Part::Basis => basis(),
    }
}

/// Tells a margin as a multiple; beyond a hundred the figure says nothing more.
fn times(ratio: f64) -> String {
    if ratio > 100.0 { "over x 100".to_owned() } else { format!("x {ratio:.1}") }
}

pub(super) fn place(at: Vector) -> String {
    let [x, y, z] = at.map(|c| trim_number(c, 1));
    format!("({x}, {y}, {z}) mm")
}

fn mm(size: Length, digits: usize) -> String {
    format!("{} mm", trim_number(size.to_mm(), digits))
}

fn mpa(stress: Stress) -> String {
    format!("{:.2} MPa", stress.to_mpa())
}

fn bar(pressure: Stress) -> String {
    format!("{} bar", trim_number(pressure.to_mpa() * 10.0, 2))
}

fn percent(share: f64) -> String {
    format!("{} %", trim_number(share * 100.0, 1))
}

fn ends<T: Display>(limit: &Ends<T>) -> String {
    format!("{} ({} to {})", limit.typical, limit.low, limit.high)
}

#[cfg(test)]
mod tests {
    use super::times;

    #[test]
    fn a_margin_is_no_string_of_digits() {
        assert_eq!(times(1.54), "x 1.5");
        assert_eq!(times(2.2e10), "over x 100");
    }
}
