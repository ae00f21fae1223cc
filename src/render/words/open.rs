//! What was taken for granted, and what became of each statement of the spec.

use std::fmt::{self, Display, Formatter};

use super::quantities::{hours, size};
use crate::recipe::{Open, Use};
use crate::resolve::heat::Taken;
use crate::resolve::purge::Purged;
use crate::rulebook::value::Assumed;

impl Display for Open {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Open::NoShop => "no shop.yaml was found: a built-in, well-equipped bench is assumed",
            Open::NoShopEffect => "printer, nozzle, surface and stock may not be what you have; write a shop.yaml",
            Open::Assumed(assumed) => return assumed.fmt(f),
            Open::NoSpoolsEffect => "a spool may have to be bought first",
            Open::OnePieceEffect => "rounds, time and mass are for one",
            Open::DamageEffect => {
                "sets the factor on loads that state none; write `consequence nuisance`, `damage` or `injury`"
            }
            Open::Millimetres => "unit of the mesh not stated: millimetres",
            Open::MillimetresEffect => "a part in inches would come out 25.4 times too small; write `in mm`",
            Open::NoSize => "overall size not stated",
            Open::NoSizeEffect => "the unit of the mesh could not be checked; write `size x mm x y mm x z mm`",
            Open::AxisEffect => "a lying hole comes out smaller and sags at its crown; state `along x`",
            Open::FewFound { fit, found } => {
                return write!(
                    f,
                    "fit \"{fit}\": its count is not stated; all {found} features of its size are taken"
                );
            }
            Open::CountAssumed => "state `count`, so that a missing or doubled hole is noticed",
            Open::SteadyEffect => "a load that comes suddenly counts double, one that comes and goes tires the part",
            Open::HeldApartEffect => {
                "do they act at once, the part bears more than any margin here counts: state one hold for all, or test a \
                 piece with all of them"
            }
            Open::CutShort => {
                "the search for conflicts and ways out was cut short: so much is asked for that not everything was tried"
            }
            Open::CutShortEffect => {
                "there may be further conflicts, and smaller changes that free the job: take away what is not needed and \
                 compile again"
            }
            Open::NotShownEffect => {
                "its failure would do damage: settle it before printing (a test piece, a figure, another choice); where it would be \
                 no more than a nuisance, write `consequence nuisance`"
            }
            Open::NotShown { what, why } => return write!(f, "{what}: not shown to hold: {why}"),
            Open::Denied { of, because } => return write!(f, "the spec says that {of} is no use of this part: {because}"),
            Open::PlaceUnsaid => "where the part lives is not stated: indoors, out of the sun, assumed",
            Open::PlaceOpenEffect => "air and sun decide which materials bear it; write `place` and `sun` within `service`",
            Open::SunUnsaid => "whether the sun reaches it outdoors is not stated: shade assumed",
            Open::SunOpenEffect => "the sun heats a part by tens of kelvin and breaks many polymers down within years; write `sun`",
            Open::BackUnsaid => "whether air passes behind what the sun lights is not stated: covered, as against a wall or on a closed box, is counted",
            Open::BackOpenEffect => "with air behind it a part grows about half as hot in the sun; write `back free` or `back covered`",
            Open::WarmUnsaid { loads, counted } => {
                let loads: Vec<String> = loads.iter().map(|name| format!("\"{name}\"")).collect();
                return write!(
                    f,
                    "how warm the part is while it bears {} is not stated: as warm as it ever gets, {counted}, is counted",
                    loads.join(", ")
                );
            }
            Open::WarmOpenEffect => "what comes and goes need not meet the hottest hour; write `temperature` in the load, as warm as the part is then",
            Open::SunTermUnsaid => "how long it is to live in the sun is not stated",
            Open::SunTermOpenEffect => "a summer is another matter than years; write `sun direct for ..`",
            Open::Heat(taken) => return heat(f, taken),
            Open::HeatEffect(taken) => return heat_effect(f, taken),
            Open::OfLoad(assumed) => return assumed.fmt(f),
            Open::OfLoads { loads, taken } => {
                let names: Vec<String> = loads.iter().map(|name| format!("\"{name}\"")).collect();
                let noun = if loads.len() == 1 { "load" } else { "loads" };
                return write!(f, "{noun} {}: {taken}", names.join(", "));
            }
            Open::OfLoadEffect(taken) => taken.effect(),
            Open::WhoAnswers { uses } => {
                let uses = super::joined(uses, ", ");
                return write!(
                    f,
                    "Is it meant for that ({uses}) after all? Then whoever answers for it decides, by the tests named below, before it is \
                     used so."
                );
            }
            Open::DeniedEffect => "whoever wrote it answers for it",
            Open::UsedByRule(rule) => return write!(f, "used by rule {rule}"),
            Open::RuleNotAsked { about, rule, missing } => {
                about.iter().try_for_each(|about| write!(f, "{about}: "))?;
                return write!(f, "rule {rule} could not be asked: {} not known", missing.join(", "));
            }
            Open::AxisAssumed { fit } => {
                return write!(f, "fit \"{fit}\": its axis is not stated and not found on the mesh; upright assumed");
            }
            Open::OfFit { fit, told } => return write!(f, "fit \"{fit}\": {told}"),
            Open::ModelledOff { model } => {
                return write!(f, "the finished size is off unless it is modelled at {}", size(*model));
            }
            Open::Steady { load } => {
                return write!(f, "load \"{load}\": neither `steady`, `shock` nor `cyclic`: steady assumed");
            }
            Open::HeldApart { loads } => {
                return write!(
                    f,
                    "the loads {loads} are held at different places: those of different holds are not added"
                );
            }
        })
    }
}

impl Display for Assumed {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Assumed::OnePiece => "quantity not stated: one piece",
            Assumed::Damage => "consequence of failure not stated: damage assumed",
            Assumed::EveryMaterial => "no spools are listed: every material counts as at hand",
            Assumed::LoadFactor { factor, consequence, kind } => {
                let kind = kind.as_str().replace('-', " ");
                return write!(f, "factor {factor} for a consequence of {} ({kind})", consequence.word());
            }
        })
    }
}

impl Display for Purged {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        let Purged { overheat } = self;
        write!(
            f,
            "the top of its printing range, and {overheat} more for the minutes of a purge unless it is heat-sensitive"
        )
    }
}

/// How the line of a statement begins that nothing rests on, and of one of which something is passed over.
const UNUSED: &str = "not used in deciding: ";
const IN_PART: &str = "used only in part: ";
/// Of one that rules ask after: they were content, which may be just what it is for.
const QUIET: &str = "looked at, and nothing more to say: ";

impl Display for Use {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Use::Unused(written) => return write!(f, "{UNUSED}{}", written.join(", ")),
            Use::UnusedEffect => "no decision, setting, step, caution or margin of this recipe rests on it",
            Use::InPart(written) => return write!(f, "{IN_PART}{written}"),
            Use::Quiet(written) => return write!(f, "{QUIET}{}", written.join(", ")),
            Use::QuietEffect => {
                "the rules that ask after it were content with this choice: no line cites it; others it may have ruled out"
            }
            Use::UnusedOfLoad { written, load } => return write!(f, "{UNUSED}`{written}` of load \"{load}\""),
            Use::InPartOfFit { written, fit } => return write!(f, "{IN_PART}`{written}` of fit \"{fit}\""),
            Use::ReachedAnyway(temperature) => return write!(f, "the part reaches {temperature} in any case"),
            Use::NoCompany => "no other load would act together with it",
            Use::FluidAsGasOrNone { chemical } => {
                f.write_str("of the fluid it counts that the wall must be tight, and whether it is a gas; what it does to the plastic does not")?;
                return match chemical {
                    Some(name) => write!(f, ": write `contact \"{name}\" immersed` for that"),
                    None => Ok(()),
                };
            }
            Use::NoWall => {
                "no wall could be measured or is stated: whether it holds was not computed; write `wall at least 3 mm`"
            }
            Use::NoBore => {
                "no bore is stated: whether the wall holds was not computed; write `bore 20 mm` behind the pressure"
            }
            Use::Depth { found: true } => "it was held against the mesh; nothing is computed with it",
            Use::Depth { found: false } => {
                "the feature was not measured on the mesh, and nothing is computed with it: check it in the model"
            }
            Use::NotLookedFor => "such a feature is not looked for on the mesh, there or elsewhere",
            Use::NotMeasured => {
                "the feature was not measured on the mesh: whether the model has its allowance is not known"
            }
            Use::Wanted { time, printer, rounds, begin } => {
                let rounds = if *rounds == 1 { "one round".to_owned() } else { format!("{rounds} rounds") };
                let time = hours(*time);
                write!(f, "the run takes about {time} on {printer}, {rounds}")?;
                if let Some(day) = begin {
                    write!(f, ", and begins on {day} at the latest, running day and night")?;
                }
                return f.write_str(
                    "; no clock is read, and of queues only a printer's `free_from` is known: on which day does it begin, and \
                     how many hours a day is somebody there? Spools and records are taken as old as on the day wanted",
                );
            }
            Use::OnlyStruck => {
                "only that it is struck counts, for a tough material: no energy is computed; try one piece before the rest"
            }
            Use::NoPeak => {
                "how hot it gets near that heat is not stated: write `peak 60 °C` for what the part reaches"
            }
            Use::NoLoadPlaced => "there is no load placed on the mesh under which it could be computed",
            Use::NothingSetAside => {
                "the rule holds here without it: nothing was set aside; take the line away, or it hides a break later"
            }
        })
    }
}

/// What is taken for granted about the part's heat.
fn heat(f: &mut Formatter<'_>, taken: &Taken) -> fmt::Result {
    match taken {
        Taken::Air(air) => write!(f, "highest air temperature not stated: {air} assumed"),
        Taken::Colour(fixed) => write!(f, "colour not stated: {fixed}, and its heat in the sun is counted"),
        Taken::Black { asked: Some(asked), .. } => {
            write!(f, "colour \"{asked}\" is not in the catalogue: black assumed")
        }
        Taken::Black { asked: None, .. } => f.write_str("colour not stated: black assumed"),
    }
}

/// What hangs on that, and what to write.
fn heat_effect(f: &mut Formatter<'_>, taken: &Taken) -> fmt::Result {
    let (share, then) = match taken {
        Taken::Air(_) => {
            return f.write_str("decides the heat limit asked of the material; state `service { air low .. high }`");
        }
        Taken::Colour(_) => {
            return f.write_str("another spool may run tens of kelvin hotter; state `service { colour .. }`");
        }
        Taken::Black { asked: Some(_), share } => (share, "`makeready catalogue colours` lists the known ones"),
        Taken::Black { asked: None, share } => (share, "a light colour runs tens of kelvin cooler"),
    };
    write!(f, "absorptance {share}, the hottest case in the sun; {then}")
}
