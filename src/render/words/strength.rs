//! What figures of strength and stiffness are worked out from.

use std::fmt::{self, Display, Formatter};

use super::margins::place;
use crate::physics::sustained::NEAR_LIMIT_K;
use crate::quantity::{significant, trim_number};
use crate::resolve::strength::said::{
    Beam, BearsPressed, Buckles, By, Fails, Gives, Governs, Named, Near, NoSection, Stiffness,
};

/// Returns what a stress does, by its sign.
pub(super) fn pull(stress: f64) -> &'static str {
    if stress < 0.0 { "compression" } else { "tension" }
}

impl Display for Governs {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        let mpa = self.stress.to_mpa();
        let doubled = if self.sudden { ", doubled for the sudden load" } else { "" };
        let kind = if self.sheared { "shear between the layers" } else { pull(mpa) };
        write!(f, "elasticity of the solid part: {kind} of {:.2} MPa at {}{doubled}", mpa.abs(), place(self.at))
    }
}

impl Display for Fails {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        write!(f, "elasticity of the solid part: it fails first at {}, factor {}", place(self.at), self.factor)
    }
}

impl Display for Beam {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "a beam has {:.2} MPa at its section of {:.0} mm² at {}",
            self.stress.to_mpa(),
            self.area_mm2,
            place(self.at)
        )
    }
}

impl Display for Stiffness {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        write!(f, "modulus {} (low end)", self.low)?;
        if self.moist < 1.0 {
            write!(f, " x {:.2} with the moisture of the air in it", self.moist)?;
        }
        self.hot.iter().try_for_each(|(share, at)| write!(f, " x {share:.2} at {at}"))?;
        self.held.iter().try_for_each(|(share, time)| write!(f, " x {share:.2} held {time}"))
    }
}

impl Display for Gives {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        let of = if self.most { "the most of any place" } else { "the mean of where it acts" };
        write!(
            f,
            "load \"{}\": elasticity of the solid part on {} cells, {of}; {}",
            self.load, self.cells, self.stiffness
        )?;
        let open = self.open.iter();
        open.map(|(why, times)| (why, trim_number(*times, 0)))
            .try_for_each(|(why, times)| write!(f, "; {why}: {times} times what the grids are apart is added"))
    }
}

impl Display for Buckles {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "lowest buckling factor of the solid, straight part, held as stated ({:.0} % apart on two grids, which counts against \
             it); {}, factor {}",
            100.0 * self.apart,
            self.stiffness,
            self.factor
        )
    }
}

impl Display for BearsPressed {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        let way = if self.across { "across" } else { "along" };
        let strength = significant(self.strength.to_mpa());
        write!(f, "{} bears {strength} MPa pressed {way} the layers (low end)", self.material)?;
        let ((hot, at), (held, time)) = (self.hot, self.held);
        if hot < 1.0 {
            write!(f, " x {hot:.2} at {at}")?;
        }
        if held < 1.0 {
            write!(f, " x {held:.2} held {time}")?;
        }
        if self.repeated < 1.0 {
            write!(f, " x {:.2} for being repeated", self.repeated)?;
        }
        if self.relief > 1.0 {
            write!(f, " x {:.2} since low ends are not all there at once", self.relief)?;
        }
        if self.confined > 1.0 {
            write!(f, " x {:.2} for what lies round the patch and holds it up (solid)", self.confined)?;
        }
        write!(f, ", factor {}", trim_number(self.factor, 2))
    }
}

impl Display for Near {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        match self {
            Near::Nothing => f.write_str("away from anything the spec names"),
            Near::At(named) => write!(f, "right at {named}"),
            Near::From { mm, named } => write!(f, "{} mm from {named}", trim_number(*mm, 0)),
        }
    }
}

impl Display for Named {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        match self {
            Named::Face(name) => write!(f, "face \"{name}\""),
            Named::Fit(name) => write!(f, "fit \"{name}\""),
            Named::Load => f.write_str("where the load acts"),
        }
    }
}

impl Display for By {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        match self {
            By::Moisture => f.write_str("with the moisture of the air in it"),
            By::Heat(at) => write!(f, "at {at}"),
            By::Momentary => f.write_str("momentary"),
            By::LowEnds => f.write_str("since figures are not all at their low ends at once"),
            By::Held { time, of, softens, as_pads } => {
                write!(f, "held {time}")?;
                of.iter().try_for_each(|whole| write!(f, " of the {whole}, the share assumed so warm"))?;
                let near = softens.iter();
                near.map(|at| (NEAR_LIMIT_K, at))
                    .try_for_each(|(k, at)| write!(f, ", since that is within {k} K of {at}, where it softens"))?;
                f.write_str(if *as_pads { ", where pressed as pads of rubber are" } else { "" })
            }
            By::Cycles { count, of, tested, pressed } => {
                write!(f, "after {count:.0} cycles")?;
                of.iter().try_for_each(|all| write!(f, " of the {all:.0}, the share assumed so warm"))?;
                tested.iter().try_for_each(|tested| write!(f, ", the line of tests up to {tested:.0} carried on"))?;
                f.write_str(if *pressed { " (pressed: no crack opens)" } else { "" })
            }
        }
    }
}

impl Display for NoSection {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            NoSection::Unmeasured => "the part has no section there that can be measured",
            NoSection::PartsNothing => {
                "the section square to the stress there parts no load from a hold: a beam says nothing of it"
            }
        })
    }
}
