//! Depths, bosses, snaps and folds, gaps, pressed pins.

use std::fmt::{self, Display, Formatter};

use super::{mm, one_of, percent, times};
use crate::fits::press::Interference;
use crate::fits::said::Caution;
use crate::quantity::trim_number;
use crate::resolve::margin::said::{DepthFrom, Grip, Need, Part, Press, RingLies, Said};
use crate::resolve::strain::Bent;
use crate::semantics::spec::Opened;

pub(super) fn words(said: &Said, part: Part) -> String {
    match said {
        Said::Depth { wanted, there, through, need, from } => one_of(
            part,
            || mm(*wanted, 1),
            || format!("{}{}", mm(*there, 1), if *through { ", through" } else { "" }),
            || format!("x {:.1}", there.to_mm() / wanted.to_mm().max(f64::MIN_POSITIVE)),
            || {
                let from = match from {
                    DepthFrom::SpecUnmeasured => "as the spec states; it was not measured",
                    DepthFrom::Spec => "as the spec states; the mesh has as much",
                    DepthFrom::Mesh => "as the mesh has it",
                };
                format!("{}; the depth is taken {from}", depth(need))
            },
        ),
        Said::Boss { wanted, least, wall, behind, across, enough } => one_of(
            part,
            || format!("{} of wall round the hole at the least, {} usual", mm(*least, 1), mm(*wanted, 1)),
            || match behind {
                Some(behind) => format!("{} of beads, {} of infill behind them", mm(*wall, 1), mm(*behind, 1)),
                None => mm(*wall, 1),
            },
            || format!("x {:.1}", wall.to_mm() / least.to_mm().max(f64::MIN_POSITIVE)),
            || {
                let advice = if *enough { "" } else { ": thicken the boss in the model, or take a smaller insert" };
                format!(
                    "a boss is usually {} across for this insert; a thinner one bulges as the insert melts in and splits \
                     when the screw is tightened{advice}",
                    mm(*across, 1)
                )
            },
        ),
        Said::Strain { strain, breaks, once, often, kind, ratio, lies, across, bent, folds, opened } => one_of(
            part,
            || format!("{} strain", percent(*strain)),
            || match opened {
                Some(Opened::Often) => format!("{} often ({} at break)", percent(breaks * often), percent(*breaks)),
                _ => format!("{} once ({} at break)", percent(breaks * once), percent(*breaks)),
            },
            || times(*ratio),
            || {
                let lasts = match (opened, breaks * often < *strain) {
                    (Some(Opened::Seldom), true) => "said to be opened a few times at most",
                    (Some(Opened::Often), true) => "said to be opened often, and more than that",
                    (_, true) => "not for one that is opened often",
                    (_, false) => "may be opened often",
                };
                let share = trim_number(*across, 2);
                let lies = match lies {
                    Some(true) => format!(", strained across the layers, which counts x {share} in that"),
                    Some(false) => ", strained along the layers".to_owned(),
                    None => format!(
                        ", taken to be strained along the layers; across them x {share} of that, and how it lies is not known"
                    ),
                };
                format!(
                    "{}; {} of the elongation at break may be used once, {} of it often ({}){lies}: {lasts}",
                    strained(*bent, folds),
                    trim_number(*once, 2),
                    trim_number(*often, 2),
                    kind.as_str().replace('-', " ")
                )
            },
        ),
        Said::Gap { free, gap, eye, pin, proven } => one_of(
            part,
            || format!("{} all round to come free", mm(*free, 2)),
            || format!("{} in the mesh", mm(*gap, 2)),
            || format!("x {:.1}", gap.to_mm() / free.to_mm().max(f64::MIN_POSITIVE)),
            || {
                let unproven = if *proven { "" } else { "; print a gap test and record it in shop.yaml (`what: gap`)" };
                format!(
                    "half of eye {} less pin {}; printed together they part only where no line or sag bridges the gap{unproven}",
                    mm(*eye, 2),
                    mm(*pin, 2)
                )
            },
        ),
        Said::Press(said) => press(said, part),
        Said::Grip(said) => grip(said, part),
        _ => String::new(),
    }
}

fn depth(need: &Need) -> String {
    match need {
        Need::Insert { length, below } => format!(
            "the insert is {} long, and melt needs about {below} below it; shorter than the insert, it stands out",
            mm(*length, 1)
        ),
        Need::Thread { usual, least } => format!(
            "{usual} diameters of engagement in plastic; below {least} the thread strips before the screw is tight"
        ),
        Need::Magnet { bond } => format!("the magnet and {bond} for what bonds it in; shallower, it stands out"),
    }
}

fn press(said: &Press, part: Part) -> String {
    let Press { coldest, tight, ratio, .. } = said;
    one_of(
        part,
        || format!("{:.1} MPa hoop at {coldest}", said.hoop.to_mpa()),
        || format!("{:.1} MPa", said.strength.to_mpa()),
        || times(*ratio),
        || {
            let (by, full) = match said.full {
                Some(full) => {
                    let full = full.to_mpa();
                    let full =
                        format!("; a full ring would take {full:.1} MPa: leave no rib out, and stop where it resists");
                    ("of the ribs that crush, counted for the pull between them", full)
                }
                None => ("by Lame", format!("; the ring bears {:.3} mm", tight.to_mm() * ratio)),
            };
            let lies = match said.lies {
                RingLies::InLayers => "hoop in the layers",
                RingLies::AcrossLayers => "hoop across the layers",
            };
            format!(
                "steel pin, {}; largest {:.3} mm at {coldest}, pressure {:.1} MPa {by}, {lies}; least wall {} round {}{full}",
                interference(said.interference),
                tight.to_mm(),
                said.pressure.to_mpa(),
                mm(said.wall, 1),
                mm(said.diameter, 2),
            )
        },
    )
}

fn grip(said: &Grip, part: Part) -> String {
    let Grip { time, hottest, loose, friction, .. } = said;
    let (left, first) = (said.left.to_n(), said.first.to_n());
    one_of(
        part,
        || format!("to hold for {time} at {hottest}"),
        || {
            let torque = said.torque.to_nm();
            format!("{left:.0} N, {torque:.2} Nm left ({first:.0} N when new, at room temperature)")
        },
        || match loose.to_mm() <= 0.0 {
            true => format!("loose by {:.3} mm", -loose.to_mm()),
            false => format!("{:.0} % of the first grip", 100.0 * left / first.max(f64::MIN_POSITIVE)),
        },
        || {
            format!(
                "loosest pair: {:.3} mm at room temperature, {:.3} mm at {hottest} (steel {:.1}, plastic {:.0} x 1e-6/K); \
                 relaxed over {time}{}; friction {friction} over {}; what must hold needs a positive lock",
                said.fresh.to_mm(),
                loose.to_mm(),
                said.steel.to_per_k() * 1e6,
                said.plastic.to_per_k() * 1e6,
                if said.time_stated { "" } else { " (assumed)" },
                mm(said.length, 1)
            )
        },
    )
}

pub(super) fn interference(i: Interference) -> String {
    format!("{} to {} mm interference", trim_number(i.smallest.to_mm(), 3), trim_number(i.largest.to_mm(), 3))
}

/// What strains the material, and what is to be heeded of it.
pub(super) fn strained(bent: Bent, folds: &[Caution]) -> String {
    folds.iter().fold(bent.to_string(), |all, caution| format!("{all}; {caution}"))
}

impl Display for Bent {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        match self {
            Bent::Arm { thickness, undercut, reach } => {
                write!(f, "1.5 x thickness {thickness} x undercut {undercut} / reach {reach} squared")
            }
            Bent::Strip(size) => write!(f, "strip of {size} folded flat about an inner radius of its own thickness"),
        }
    }
}
