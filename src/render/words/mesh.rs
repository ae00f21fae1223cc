//! Facts of the mesh in words.

use std::fmt::{self, Display, Formatter};

use crate::quantity::{Length, trim_number};
use crate::recipe::{Beads, MeshValue, Place};
use crate::resolve::facts::place;

impl Display for MeshValue {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        match self {
            MeshValue::Count(count) => write!(f, "{count}"),
            MeshValue::Size(sides) => {
                let [x, y, z] = sides.map(Length::to_mm);
                write!(f, "{x:.1} x {y:.1} x {z:.1} mm")
            }
            MeshValue::Area(area) => write!(f, "{:.1} cm²", area.to_mm2() / 100.0),
            MeshValue::Volume(volume) => write!(f, "{:.2} cm³", volume.to_cm3()),
            MeshValue::NotClosed => f.write_str("withheld: the mesh is not a closed surface"),
            MeshValue::Wall { at, nozzles, spot } => {
                write!(f, "{at}")?;
                for (i, (beads, names)) in nozzles.iter().enumerate() {
                    let before = if i == 0 { ": standing up, " } else { "; " };
                    write!(f, "{before}{} {}", beads.words(), names.join(", "))?;
                }
                if !nozzles.is_empty() {
                    f.write_str("; lying flat it is layers")?;
                }
                f.write_str(if *spot { "; a spot or a tapering edge" } else { "" })
            }
            MeshValue::Gap { at, fuses_below: None } => write!(f, "{at}"),
            MeshValue::Gap { at, fuses_below: Some(least) } => {
                write!(f, "{at}: under {} mm its sides may fuse", least.to_mm())
            }
            MeshValue::Face { name, area, at } => {
                write!(f, "\"{name}\": {} mm² around {}", trim_number(area.to_mm2(), 0), place(*at))
            }
            MeshValue::Cavity { volume, at, way } => {
                write!(f, "{:.2} cm³ at {}, {way}", volume.to_cm3(), place(*at))
            }
            MeshValue::More(count) => write!(f, "and {count} more"),
            MeshValue::FirstLayer { area, patches, across, corners, corners_at } => {
                let counted = counted(*patches, "patch", "patches");
                write!(f, "{:.0} mm² in {counted}, {:.0} mm across; ", area.to_mm2(), across.to_mm())?;
                let named = corners_at.iter().map(|&at| place(at)).collect::<Vec<_>>().join(", ");
                match *corners {
                    0 => f.write_str("no sharp corners"),
                    n if n <= corners_at.len() => {
                        let corners = self::counted(n, "sharp corner", "sharp corners");
                        write!(f, "{corners} that lift first, at {named}")
                    }
                    n => write!(f, "{n} sharp corners that lift first, among them {named}"),
                }
            }
            MeshValue::Stands { lean_deg, slenderness } => {
                write!(f, "tips over at a lean of {lean_deg:.0}°; {slenderness:.1} times as high as wide")
            }
            MeshValue::AtLimit { area, angle_deg, limit_deg, origin, step, line } => write!(
                f,
                "{:.1} cm² lean up to {angle_deg:.1}° from vertical, where the limit is {limit_deg:.1}° ({origin}): each layer steps out {:.2} mm over a line of {:.2} mm; thinner layers, more cooling and slower outer beads make it better",
                0.01 * area.to_mm2(),
                step.to_mm(),
                line.to_mm()
            ),
            MeshValue::StandsNot => f.write_str("not by itself: what is on the bed has to hold it"),
            MeshValue::Curl { length, material, brim } => {
                write!(f, "length over thickness above the bed {:.0} mm", length.to_mm())?;
                material.iter().try_for_each(|(name, warp)| write!(f, ", of {name} ({warp} warp)"))?;
                match brim.map(Length::to_mm) {
                    Some(mm) if mm > 0.0 => write!(f, "; a brim of {mm:.0} mm holds the corners"),
                    Some(_) => f.write_str("; no brim: neither material nor footing asks for one"),
                    None => Ok(()),
                }
            }
            MeshValue::Told(text) => f.write_str(text),
        }
    }
}

fn counted(n: usize, one: &str, more: &str) -> String {
    format!("{n} {}", if n == 1 { one } else { more })
}

impl Display for Place {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        write!(f, "{:.2} mm at {}", self.size.to_mm(), place(self.at))
    }
}

impl Beads {
    fn words(self) -> &'static str {
        match self {
            Beads::TwoOrMore => "two lines or more of",
            Beads::One => "a single line of",
            Beads::None => "thinner than a line of",
        }
    }
}
