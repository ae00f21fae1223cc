//! Pressure in a bore, walls, gaps between them, the bed.

use std::fmt::{self, Display, Formatter};

use super::{bar, mm, one_of, place, times};
use crate::quantity::{Length, trim_number};
use crate::resolve::margin::said::{Part, Said};
use crate::resolve::margin::wall::ROUNDED_MM;
use crate::resolve::strength::Lasting;

pub(super) fn words(said: &Said, part: Part) -> String {
    match said {
        Said::Pressure { pressure, bore, wanted, wall, ratio, working } => one_of(
            part,
            || {
                let wanted = wanted.map(|wanted| format!("{:.2} mm of solid wall", wanted.to_mm()));
                let wanted = wanted.unwrap_or_else(|| NONE_THICK_ENOUGH.to_owned());
                format!("{} in a bore of {bore}: {wanted}", bar(*pressure))
            },
            || format!("{} of wall", mm(*wall, 2)),
            || times(*ratio),
            || {
                format!(
                    "hoop stress at the bore to a third of what lasts: {working}; \
                     bends, steps and leaks between layers not counted: test it with water"
                )
            },
        ),
        Said::PressureTooMuch { pressure, wall, working } => one_of(
            part,
            || format!("{}: {NONE_THICK_ENOUGH}", bar(*pressure)),
            || wall.map_or_else(|| "not known".to_owned(), |wall| format!("{} of wall", mm(wall, 2))),
            || times(0.0),
            || {
                let lasts = working.map_or(String::new(), |lasts| lasts.to_string());
                format!("the inside of a wall bears at least the pressure itself, and less than that lasts: {lasts}")
            },
        ),
        Said::Wall { wanted, found, at, spare, facets, edge } => one_of(
            part,
            || format!("{wanted} at the least"),
            || format!("{:.2} mm at {}", found.to_mm(), place(*at)),
            || format!("{:+.2} mm", spare.to_mm()),
            || {
                let edge = edge.map_or(String::new(), |(mm, at)| {
                    let (mm, at) = (mm.to_mm(), place(at));
                    format!("; an edge tapers to {mm:.2} mm at {at}: that is no wall, but look at it in the model")
                });
                format!("thinnest wall measured on the mesh: {}{edge}", remark(spare.to_mm(), *facets))
            },
        ),
        Said::Slit { wanted, nozzle, gap, at } => one_of(
            part,
            || format!("{} to stay open through {nozzle}", mm(*wanted, 2)),
            || {
                let at = at.map_or(String::new(), |at| format!(" at {}", place(at)));
                format!("{}{at}", mm(*gap, 2))
            },
            || format!("{:+.2} mm", gap.to_mm() - wanted.to_mm()),
            || {
                "neighbouring walls touch where their beads bulge; whether this gap is to stay open no line says"
                    .to_owned()
            },
        ),
        Said::BedRoom { sides: [long, short], brim, bed: [x, y], edge, room } => one_of(
            part,
            || {
                let with =
                    if brim.to_mm() > 0.0 { format!(", a brim of {} counted", mm(*brim, 1)) } else { String::new() };
                format!("{} x {}{with}", trim_number(long.to_mm(), 1), mm(*short, 1))
            },
            || format!("a bed of {} x {}, {edge} of it left free at the edge", trim_number(x.to_mm(), 1), mm(*y, 1)),
            || format!("{:+.1} mm on each side", room.to_mm()),
            || "the footprint in this pose, turned or laid aslant where that helps".to_owned(),
        ),
        _ => String::new(),
    }
}

const NONE_THICK_ENOUGH: &str = "no wall is thick enough";

/// What facets may account for of a wall that is thinner than asked.
fn remark(spare_mm: f64, facets: Length) -> String {
    let slack = mm(facets, 2);
    if facets.to_mm() <= 0.0 {
        // Between flat sides nothing is made of facets.
        return match spare_mm >= -ROUNDED_MM {
            true => "its sides are flat there: it is as thick as it measures".to_owned(),
            false => format!(
                "{:.2} mm less than asked, between flat sides: thicken it in the model, or ask for less",
                -spare_mm
            ),
        };
    }
    if spare_mm >= -ROUNDED_MM {
        format!("facets may make it look up to {slack} thinner than it was drawn")
    } else if spare_mm >= -facets.to_mm() {
        format!(
            "{:.2} mm less than asked, within the {slack} by which facets may make it look thinner than it was drawn",
            -spare_mm
        )
    } else {
        format!(
            "{:.2} mm less than asked, and facets account for {slack} at the most: thicken it in the model, or ask for less",
            -spare_mm
        )
    }
}

impl Display for Lasting {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        write!(f, "strength across layers {} (low end)", self.low)?;
        if self.kept < 1.0 {
            write!(f, " x {:.2} with the moisture of the air in it", self.kept)?;
        }
        write!(f, " x {:.2} at {} x {:.2} held for years", self.hot, self.at, self.sustained)
    }
}
