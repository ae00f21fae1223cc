//! What is taken of loads that nobody said, what hangs on it, and why nothing is known of what a load does.

use std::fmt::{self, Display, Formatter};

use crate::quantity::{Length, significant, trim_number};
use crate::resolve::elastic::said::{Assumed, NotKnown, Of, Taken, Unsaid};
use crate::resolve::loads::direction_words;

impl Display for Assumed {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        write!(f, "load \"{}\": {}", self.load, self.taken)
    }
}

/// A length as it is told here, without its unit.
fn mm(length: Length) -> String {
    trim_number(length.to_mm(), 2)
}

impl Display for Taken {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        match self {
            Taken::InHole { held, across } => write!(
                f,
                "{} in the hole {} mm across that the place given lies in",
                if *held { "is held" } else { "acts" },
                mm(*across)
            ),
            Taken::Spot(across) => write!(
                f,
                "acts on or is held by a patch {} mm across where a place is given without a size",
                across.to_mm()
            ),
            Taken::LessThere { asked, found } => write!(
                f,
                "of a patch of {} mm2 the part has {} mm2 there",
                significant(asked.to_mm2()),
                significant(found.to_mm2())
            ),
            Taken::AllPlaces { face, places } => {
                write!(f, "held at all {places} places of the plane that face \"{face}\" lies in")
            }
            Taken::NotGlued { face, fit } => write!(
                f,
                "face \"{face}\" is a flat of fit \"{fit}\": what sits there pushes at its flats and is not glued to them"
            ),
            Taken::Tightened { thread } => write!(
                f,
                "what the screws {thread} are tightened with, and what heat does between them and the part, is not counted"
            ),
            Taken::Squeezed { fit } => {
                write!(f, "what fit \"{fit}\" squeezes or spreads the part with is judged by itself and not added")
            }
            Taken::UnderHead { thread, across } => {
                write!(f, "held in a ring {} mm across under the head of each {thread}", mm(*across))
            }
            Taken::InCone { thread } => {
                write!(f, "held in the cone that the countersunk head of each {thread} sits in")
            }
            Taken::HeadsToward { fit, toward } => {
                write!(f, "the heads of fit \"{fit}\" are on the {} side", direction_words(*toward))
            }
            Taken::Held(usual) => write!(f, "how long it is held is not stated, {usual} assumed"),
            Taken::Comes(usual) => {
                write!(f, "how often it comes is not stated, {usual} times assumed")
            }
            Taken::WarmThroughout { at, held } => write!(
                f,
                "counted at {at} for all of {held}, since how warm the part is most of the time is not stated"
            ),
            Taken::InTheSun { hottest: (hot, share), plain: (plain, sunny), air } => write!(
                f,
                "counted at {hot} for {:.0} hours in a hundred, at {plain} for {:.0}, else at the {air} of the warmest air, since how \
                 warm the part is most of the time is not stated",
                100.0 * share,
                100.0 * sunny
            ),
            Taken::HeldAtLargest { area, facing } => write!(
                f,
                "held at its largest flat face ({:.0} mm², facing {})",
                area.to_mm2(),
                direction_words(*facing)
            ),
            Taken::AtFarthest([x, y, z]) => {
                write!(f, "acting at ({x:.0}, {y:.0}, {z:.0}) mm, the point farthest from there")
            }
            Taken::Pushing => f.write_str("pushing toward -z of the file, since no direction is stated"),
            Taken::Turning => f.write_str("turning about +z of the file, since no axis is stated"),
        }
    }
}

impl Taken {
    /// Returns what hangs on it, and what to write.
    pub(super) fn effect(&self) -> &'static str {
        match self {
            Taken::InHole { .. } => {
                "where it presses on the surface about the hole instead, state how large: `across 8 mm`"
            }
            Taken::Spot(_) => "how it presses right there is not judged; state `across 10 mm` or `over 20 mm x 10 mm`",
            Taken::LessThere { .. } => {
                "what reaches over an edge bears nothing: all of it bears on what is there; move the place, or state a smaller patch"
            }
            Taken::AllPlaces { .. } => {
                "fewer feet carry less; give the face's place and size, `fixed at (x mm, y mm, z mm) across 10 mm`, for one alone"
            }
            Taken::NotGlued { .. } => {
                "the edges of its flats are judged as what turns there presses them; write `fixed at (x mm, y mm, z mm) across 5 mm` for what is glued"
            }
            Taken::Tightened { .. } => {
                "plastic creeps away under a head: tighten gently, with a washer or a sleeve of metal, and again after a day"
            }
            Taken::Squeezed { .. } => {
                "right at its holes the part bears less than is said; keep the load away from a pressed pin or an insert"
            }
            Taken::UnderHead { .. } => "a washer spreads it: state `across` and its diameter",
            Taken::InCone { .. } => {
                "a cone wedges the part apart as it is tightened, which is not counted: a flat head on a washer does not, `across` and its diameter"
            }
            Taken::HeadsToward { .. } => "state `heads +x` or the like where they are on the other",
            Taken::Held(_) => "a load of minutes may be about five times as large; state `held`",
            Taken::Comes(_) => {
                "what comes a few hundred times may be twice as large and more; state how often, `cyclic 2000 times`"
            }
            Taken::WarmThroughout { .. } | Taken::InTheSun { .. } => {
                "if it is that warm for hours only, it bears more; state `usual` in `service`, or `temperature` in a load that comes with another warmth, as snow does"
            }
            Taken::HeldAtLargest { .. } | Taken::AtFarthest(_) | Taken::Pushing | Taken::Turning => {
                "decides the lever, and with it the stress; state `at`, `fixed` and `toward`"
            }
        }
    }
}

impl Display for Unsaid {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        match self {
            Unsaid::Hold { load } => write!(
                f,
                "where the part is held under load \"{load}\" is not stated; write `fixed at face \"..\"`, `fixed at fit \"..\"` \
                 for screws, or `fixed at (x mm, y mm, z mm) across 10 mm`"
            ),
            Unsaid::HeldWithin => f.write_str("a part is not held by what it encloses; name a face, a fit or a place"),
            Unsaid::NoFace { face } => write!(f, "there is no face \"{face}\"; declare it: `face \"..\" toward -x`"),
            Unsaid::FaceNotFound { face } => {
                write!(f, "the mesh has no face \"{face}\" as described; say where it is: `near (x mm, y mm, z mm)`")
            }
            Unsaid::NoRound { face } => write!(
                f,
                "the mesh has no round surface at face \"{face}\"; give a place on it by `near`; `makeready measure` lists holes, \
                 bosses and roundings"
            ),
            Unsaid::NoSeat { fit } => write!(
                f,
                "the mesh has no hole or pin of fit \"{fit}\"; name the face or the place instead: `face \"..\"`, `(x mm, y mm, z mm)`"
            ),
            Unsaid::NoHead { thread } => write!(
                f,
                "how large the head of a screw {thread} is is not in the tables; state it: `fixed at fit \"..\" across 10 mm`"
            ),
            Unsaid::NoRing { hole, across } => write!(
                f,
                "{hole} has no flat ring {} mm across for a head to press on; state the other side by `heads`, a smaller `across`, \
                 or the face it is held by",
                mm(*across)
            ),
            Unsaid::At { load } => write!(
                f,
                "where load \"{load}\" acts is not stated; write `at face \"..\"`, `at fit \"..\"`, or `at (x mm, y mm, z mm) across \
                 10 mm`"
            ),
            Unsaid::Toward { load } => write!(f, "which way load \"{load}\" acts is not stated; write `toward -z`"),
            Unsaid::Axis { load } => write!(f, "about which axis load \"{load}\" acts is not stated; write `about +z`"),
            Unsaid::Inside { load } => {
                write!(f, "load \"{load}\" acts inside, and is no pressure; write `pressure 1 bar at inside`")
            }
            Unsaid::EnclosesNothing => f.write_str(
                "the part encloses nothing: it is open to the outside; name the faces that the pressure acts on, one load for each",
            ),
            Unsaid::PressureExtent => {
                f.write_str("how large a place the pressure acts on is not stated; write `across 20 mm` behind it")
            }
            Unsaid::PressureThroughout => f.write_str("a pressure acts on a surface; name a face or a place"),
            Unsaid::OffThePart => f.write_str("a place is not on the part; give it in the coordinates of the mesh"),
            Unsaid::InTheAir { load, off, nearest } => write!(
                f,
                "load \"{load}\" acts in the air, {} mm off the part: the nearest of it is at ({}) mm; give a place on the part, or name the \
                 face or the fit that takes it",
                mm(*off),
                nearest.map(|c| trim_number(c, 2)).join(", ")
            ),
        }
    }
}

impl Display for NotKnown {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            NotKnown::Unsaid(unsaid) => return unsaid.fmt(f),
            NotKnown::Refused { why, at: None } | NotKnown::Law(why) => why,
            NotKnown::Refused { why, at: Some(at) } => {
                return write!(f, "{why} at ({}) mm", at.map(significant).join(", "));
            }
            NotKnown::OnGrid { cells, cell, why } => {
                return write!(f, "not solved on {cells} cells of {} mm: {why}", significant(cell.to_mm()));
            }
            NotKnown::NotSolved => "nothing was solved",
            NotKnown::NoSuch(Of::Load) => "no such load",
            NotKnown::NoSuch(Of::Material) => "no such material",
            NotKnown::NoSuch(Of::Pose) => "no such pose",
            NotKnown::NoLoads => "no loads",
            NotKnown::Warmth => "how warm the part gets is not known",
            NotKnown::Unstressed => "the load stresses nothing that is looked at",
            NotKnown::NotTogether => "they were not solved together",
            NotKnown::NotAsOne => "what the part rests on only pushes, and they were not solved at once",
        })
    }
}
