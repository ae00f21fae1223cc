//! The verdict on a region: what was measured of it against the limit of its kind, and the numbers in words.

use super::limits::{Limit, Limits};
use super::patch::FLAT_DEG;
use super::{Kind, Region, Verdict};

/// Gives a region its verdict by these limits, and says why.
pub fn judge(region: &mut Region, limits: &Limits) {
    if region.kind == Kind::HoleCrown {
        // The round it stands for has its chord at the limit itself.
        region.span_mm = region.diameter_mm.map(|d| d * limits.overhang().cos());
    }
    let (holds, because) = compare(region, limits);
    region.because = because;
    // The bed itself holds what stays so close to it.
    let on_bed = region.rises_from_bed && region.z_mm[1] <= 2.0 * limits.layer_mm;
    if on_bed && !holds {
        region.because += "; but it stays within two layers of the bed it rises from";
    }
    let fuses = region.room_mm.filter(|&gap| gap < limits.gap_mm.value);
    region.verdict = match (holds || on_bed, region.kind) {
        (true, Kind::Bridge) => Verdict::Bridge,
        (true, _) => Verdict::None,
        (false, _) if fuses.is_some() => Verdict::Redesign,
        (false, _) if !region.removable => Verdict::Trapped,
        (false, _) => Verdict::Support,
    };
    match region.verdict {
        Verdict::Redesign => {
            let (limit, gap) = (&limits.gap_mm, fuses.unwrap_or(0.0));
            let text =
                format!("; the gap of {gap:.2} mm below takes no support ({:.2} mm, {})", limit.value, limit.origin);
            region.because += &text;
        }
        Verdict::Trapped if region.openness <= 0.0 => {
            region.because += "; no way out is seen from there, support would stay inside"
        }
        Verdict::Trapped => region.because += "; too deep inside for support to be taken out",
        _ => {}
    }
}

/// Returns the limits the verdict on a region was measured against.
pub fn limits_of<'l>(region: &Region, limits: &'l Limits) -> Vec<&'l Limit> {
    let mut of = match region.kind {
        Kind::Island => Vec::new(),
        Kind::Bridge => vec![&limits.bridge_mm],
        Kind::Ledge => vec![&limits.ledge_mm],
        Kind::HoleCrown => vec![&limits.crown_mm],
        Kind::Steep => vec![&limits.overhang_deg, &limits.ledge_mm],
    };
    of.extend((region.verdict == Verdict::Redesign).then_some(&limits.gap_mm));
    of
}

/// Measures a region against the limit of its kind: whether it holds itself, and the numbers in words.
fn compare(region: &Region, limits: &Limits) -> (bool, String) {
    match region.kind {
        Kind::Island => (false, "begins in the air: no layer beneath it".to_owned()),
        Kind::Bridge => against(region.span_mm.unwrap_or(0.0), "held at both ends, span", &limits.bridge_mm),
        Kind::Ledge => against(region.reach_mm.unwrap_or(0.0), "held on one side, reaches", &limits.ledge_mm),
        Kind::HoleCrown => {
            let (holds, text) = against(region.diameter_mm.unwrap_or(0.0), "round hole, diameter", &limits.crown_mm);
            let chord = region.span_mm.unwrap_or(0.0);
            (holds, format!("{text}; the flat part of its crown is a chord of {chord:.2} mm"))
        }
        Kind::Steep => {
            let (holds, reach) = against(region.reach_mm.unwrap_or(0.0), "reaches", &limits.ledge_mm);
            let limit = &limits.overhang_deg;
            let slope = format!("{:.1}° from vertical, over {:.1}° ({})", region.angle_deg, limit.value, limit.origin);
            (holds, format!("{slope}{}; {reach}", step(region.angle_deg, limits)))
        }
    }
}

fn against(measured: f64, what: &str, limit: &Limit) -> (bool, String) {
    // Half a percent is the tessellation's.
    let holds = measured <= limit.value * 1.005;
    let relation = if holds { "within" } else { "over" };
    (holds, format!("{what} {measured:.2} mm, {relation} {:.2} mm ({})", limit.value, limit.origin))
}

/// How far each layer steps out on a slope, in words; on a near ceiling the number would say nothing.
fn step(angle_deg: f64, limits: &Limits) -> String {
    if angle_deg > FLAT_DEG {
        return String::new();
    }
    let step = limits.layer_mm * angle_deg.to_radians().tan();
    format!(": each layer steps out {step:.2} mm over a line of {:.2} mm", limits.line_mm)
}
