//! Why a fit is worked out as it is, what was assumed, and what could do harm.

use std::fmt::{self, Display, Formatter};

use super::{both, rough, size};
use crate::fits::allowance::{Capability, Verdict};
use crate::fits::feature::SecondKind;
use crate::fits::function::Limits;
use crate::fits::groove::Seat;
use crate::fits::said::{Caution, Reason, Warning, Work};
use crate::quantity::trim_number;

impl Display for Reason {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        match self {
            Self::ScrewHole { series, thread, hole, serves } => write!(
                f,
                "ISO 273 {} hole for {thread} is {}; it serves from {}",
                series.as_str(),
                size(*hole),
                both(serves)
            ),
            Self::MateTaken(of) => {
                write!(f, "the mate is taken as {} at its largest (hole) or smallest (peg)", size(*of))
            }
            Self::Interference { least, most } => {
                write!(f, "interference {} to {} on the diameter", size(*least), size(*most))
            }
            Self::Stretch { size: of, shares } => {
                let [aim, least, most] = shares.map(|s| trim_number(100.0 * s, 1));
                write!(
                    f,
                    "rubber holds {} by {aim} % of stretch: the loosest piece {least} %, the tightest {most} %",
                    size(*of)
                )
            }
            Self::Zone { zone, size: of, deviations_um, limits } => {
                let [upper, lower] = deviations_um.map(signed);
                write!(f, "{zone} at {} is {upper} / {lower} µm: {}", size(*of), both(limits))
            }
            Self::DistanceOtherwise => f.write_str(
                "where printing does not hold it: drill the second hole through the mate, or make one of the two a slot \
                 toward the other",
            ),
            Self::KeywayBottom(bottom) => write!(
                f,
                "from the far side of the bore to the bottom of the keyway: {}; the corners at the bottom rounded by 0.16 mm \
                 or more",
                both(bottom)
            ),
            Self::Second { what, size: of, to_model } => {
                let what = match what {
                    SecondKind::Flat => "from its flat to the far side",
                    SecondKind::Flats => "across its two flats",
                    SecondKind::Length => "its length",
                };
                write!(f, "{what} {}, modelled {}", size(*of), size(*to_model))
            }
            Self::Groove { seat, groove, fill } => {
                let [aim, least, most] = groove.squeeze.map(|s| trim_number(100.0 * s, 0));
                let [_, empty, full] = fill.map(|s| trim_number(100.0 * s, 0));
                write!(
                    f,
                    "the ring is squeezed by {aim} % ({least} to {most} %) to {}; groove {} wide, so that it fills {empty} to \
                     {full} % of it",
                    rough(groove.depth),
                    both(&Limits::new(roughly(groove.width.low), roughly(groove.width.high))),
                )?;
                let stretch = trim_number(100.0 * groove.stretch, 0);
                match seat {
                    Seat::Face => write!(
                        f,
                        "; its outer wall {} across where the pressure is inside, so that the ring lies against it",
                        rough(groove.other)
                    ),
                    Seat::Shaft => {
                        write!(f, "; stretched by {stretch} % on its floor, for a bore of {}", rough(groove.other))
                    }
                    Seat::Bore => write!(f, "; stretched by {stretch} % on a shaft of {}", rough(groove.other)),
                }
            }
            Self::WallsBow => f.write_str(
                "long thin walls bow between their corners as they cool: measure at the corners and half-way, and tell both",
            ),
            Self::FaceOtherwise => f.write_str(
                "where printing does not hold it: leave the face proud by a few tenths and file it, measured from the pin",
            ),
            Self::Corners(relief) => write!(
                f,
                "an inner corner prints round, with a blob in it: draw a relief {} across at each, or break the edges of the mate",
                size(*relief)
            ),
            Self::Stated(limits) => write!(f, "the spec states {}", both(limits)),
            Self::PrintedThread { thread, play } => write!(
                f,
                "{thread} is printed: its pitch is wide enough for the layers, and no tap is at hand or asked for; draw the whole \
                 thread {} larger on the diameter than the standard has it, the size to model being that of its core, and break \
                 its first turn by a chamfer as deep as the thread",
                size(*play)
            ),
            Self::CoreHole { drill, thread } => write!(f, "core hole {} for tap {thread}", size(*drill)),
            Self::InsertHole { hole, source } => write!(f, "hole {} for the insert: {source}", size(*hole)),
            Self::DowelLocates => f.write_str(
                "H7/m6 locates and may or may not grip: bond the pin where it must hold; for the part that comes off often \
                 ream the second hole F7 or make it a slot",
            ),
            Self::OfTable(note) => f.write_str(note),
            Self::Capability(capability) => capability.fmt(f),
            Self::AskedFor(finish) => write!(f, "the spec asks for it {}", finish.as_str()),
            Self::Carried => f.write_str("the mesh already carries the allowance: change nothing"),
        }
    }
}

/// A size as it is drawn, to a tenth.
fn roughly(length: crate::quantity::Length) -> crate::quantity::Length {
    crate::quantity::Length::mm((length.to_mm() * 10.0).round() / 10.0)
}

/// A deviation in µm with its sign.
fn signed(um: f64) -> String {
    let shown = trim_number(um, 1);
    if um > 0.0 { format!("+{shown}") } else { shown }
}

impl Display for Capability {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        write!(f, "tolerance {}", size(self.tolerance))?;
        self.grade.iter().try_for_each(|grade| write!(f, " (IT{grade})"))?;
        let judged = match self.verdict {
            Verdict::Holds => "printing holds it",
            Verdict::Marginal => "printing holds it for most pieces: gauge every one",
            Verdict::CannotHold => "printing alone cannot hold it",
        };
        let [cp, cpk] = [self.cp, self.cpk].map(|v| trim_number(v, 2));
        write!(f, " against a spread of ±{}: Cp {cp}, Cpk {cpk}: {judged}", rough(self.spread))
    }
}

impl Display for Warning {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        match self {
            Self::RecordOfAnother => {
                f.write_str("the record given is for another kind of feature or axis and was not used")
            }
            Self::NoSpread { usual } => {
                write!(f, "the record gives no spread; the default of ±{} stands in", rough(*usual))
            }
            Self::FewPieces { pieces, wanted } => {
                write!(f, "the record rests on {pieces} pieces; measure at least {wanted}")
            }
            Self::OtherSizes { measured, size, taken } => {
                let [from, to, this] = [measured[0], measured[1], *size].map(rough);
                let so = match taken {
                    true => "the record is taken, and what shrinkage adds beyond it",
                    false => "too far off for it to serve, so the default stands in",
                };
                write!(
                    f,
                    "the record was measured from {from} to {to}, this feature is {this}: {so}; measure a piece of about \
                     that size"
                )
            }
            Self::NoSizes => f.write_str(
                "the record does not say of what sizes it is, and so large a feature may shrink by more than small ones do: \
                 write `from` and `to` beside it; until then the whole shrinkage counts as spread",
            ),
            Self::OtherPolymer { record, part } => write!(f, "the record is for {record}, the part is {part}"),
            Self::Old { days } => write!(f, "the record is {days} days old; measure again"),
            Self::NoRecord { polymer, kind, axis } => {
                let polymer = polymer.as_deref().unwrap_or("any polymer");
                write!(
                    f,
                    "no calibration record for {polymer}, {kind} {axis}: the default stands in; print the coupon and measure"
                )
            }
            Self::UnknownPolymer(name) => {
                write!(f, "the catalogue knows no `{name}`: a wide general value is used")
            }
            Self::Upright => {
                f.write_str("it stands upright: it comes out in whole layers, and no shrinkage upward is known")
            }
            Self::SmallHole(hole) => write!(
                f,
                "a printed hole of {} may close up: print a centre mark and drill from solid if it does",
                size(*hole)
            ),
            Self::CarriedTwice { found } => write!(
                f,
                "the mesh already carries the allowance ({}) and the recipe is asked to add it again: model the nominal size, \
                 or declare the compensation as in the model",
                size(*found)
            ),
            Self::NotCarried { found, to_model } => write!(
                f,
                "the compensation is declared as in the model, but the mesh is nominal ({}): model {}",
                size(*found),
                size(*to_model)
            ),
            Self::NeitherSize { found, to_model } => write!(
                f,
                "the mesh ({}) is neither nominal nor the size to model ({}): check for an allowance put in by hand",
                size(*found),
                size(*to_model)
            ),
            Self::NoTool(work) if matches!(**work, Work::SetInsert { .. }) => {
                write!(f, "the shop's list has no such insert (`tools.inserts`): {work}")
            }
            Self::NoTool(work) => write!(f, "the shop's list has no tool for this: {work}"),
            Self::AsPrinted => f.write_str("it is asked for as printed, and printing alone cannot hold it"),
            Self::Mixed => {
                f.write_str("some of its features stand and some lie: the worse, axis along the layers, counts for all")
            }
            Self::Leans(lean) => {
                write!(f, "an axis leans {lean:.0}° from upright: its layers are ellipses, expect more spread")
            }
            Self::Uneven([low, high]) => {
                write!(f, "the mesh holds sizes from {} to {} for one fit", rough(*low), rough(*high))
            }
            Self::OtherAxis { axis, offset, on } => write!(
                f,
                "there is a record for the other axis ({}, {}, {on}): it is not taken for this one",
                axis.in_words(),
                size(*offset)
            ),
        }
    }
}

impl Display for Caution {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::PressLoosens => {
                "a press fit in plastic loosens by creep, faster when warm: add a positive lock where it must hold"
            }
            Self::RingLeaks => {
                "layers leave fine ways under a ring: the floor smooth (fine paper along the groove, or a coat of resin), the \
                 ring greased and not twisted, then tried with water; no vessel for gas under pressure; whether the ring's own \
                 rubber bears what it keeps in is not looked at"
            }
            Self::StretchSlackens => {
                "a stretched print slackens over days, in warmth sooner: where it must not come off, clip, clamp or bond it"
            }
            Self::OuterRingOnly { opening } => {
                return write!(
                    f,
                    "press on the outer ring only, and lightly: a squeezed ring takes away the bearing's play; shoulder opening \
                     at least {} so that only the outer ring touches",
                    size(*opening)
                );
            }
            Self::ShaftCreeps => "a printed shaft creeps under the ring: prefer a metal pin through the part",
            Self::KeyPresses => {
                "a key presses on one side of a printed hub: count its torque as a load, or use a hub of metal"
            }
            Self::ThreadStrips => {
                "a thread cut in plastic strips early: two diameters of engagement, or an insert where it is opened often"
            }
            Self::InsertUsual => {
                "the insert's hole is a usual value: measure the insert in the drawer and enter it in the shop's own data"
            }
            Self::InsertHot => {
                "setting an insert is hot work: the tip is above the polymer's softening point; ventilate"
            }
            Self::HookLies(room) => {
                return write!(
                    f,
                    "lay the hook so that it bends within the layers; give its window {} more than the hook",
                    room.in_words()
                );
            }
            Self::Magnet => {
                "bond the magnet in and check its pole first; keep small magnets from children: swallowed ones injure"
            }
            Self::FoldBreaks { polymer, better } if better.is_empty() => {
                return write!(f, "{polymer} breaks after a few bends: use a hinge on a pin");
            }
            Self::FoldBreaks { polymer, better } => {
                let better = better.join(" or ");
                return write!(f, "{polymer} breaks after a few bends: use {better}, or a hinge on a pin");
            }
            Self::FoldTires { polymer } => {
                return write!(f, "{polymer} bears some tens of bends: not for a lid in daily use");
            }
            Self::FoldPeels => "the fold peels the layers apart: lay the strip flat, or stand it on edge",
            Self::FoldThin(thickness) => {
                return write!(f, "{} is less than two layers: one poor layer is the whole hinge", size(*thickness));
            }
            Self::FoldThick { thickness, better } => {
                return write!(
                    f,
                    "{} is thick for a fold: {} strains the skin less",
                    size(*thickness),
                    better.in_words()
                );
            }
            Self::FoldLines => "lines run across the fold, not along it; bend it fully a few times while still warm",
        })
    }
}
