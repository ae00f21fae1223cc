//! What the values of one material must agree with each other in: a slip in one of them is told where it stands.

use super::material::Material;
use super::value::Figure;
use crate::diag::{Diagnostic, Span};
use crate::quantity::Quantity;

/// Code of what is found here: each value may be, and not both of them.
const DISAGREES: &str = "catalogue/disagrees";

/// Tells where two values of a material cannot both be right.
pub(super) fn check(material: &Material, out: &mut Vec<Diagnostic>) {
    heat(material, out);
    strength(material, out);
    let name = &material.name;
    if material.fibre.value && !material.filled.value {
        out.push(told(
            material.filled.at,
            "unfilled",
            material.fibre.at,
            format!("`{name}` carries fibre and no filler"),
        ));
    }
    // The same change of length, once as a strain and once as what it gets shorter by.
    if let (Some(strain), Some(shorter)) = (&material.anneal_strain_along, &material.anneal_contraction) {
        let most = -strain.low().value();
        let least = -strain.high().value();
        if !(least..=most).contains(&shorter.typ.value()) {
            let message = format!("`anneal_contraction` of `{name}` lies outside `anneal_strain_along`");
            out.push(told(shorter.at, "here", strain.at, message));
        }
    }
}

/// Nothing is printed unmelted, and no working limit stands above that of an unloaded moulding: not the typical one above the lowest
/// a handbook gives, nor the highest above its typical one, where a part carries only itself.
fn heat(material: &Material, out: &mut Vec<Diagnostic>) {
    let (name, limit) = (&material.name, &material.heat_limit);
    if let Some(melting) = &material.melting {
        if material.print_temperature.high().to_kelvin() < melting.low().to_kelvin() {
            let message = format!(
                "`{name}` is printed at {} at most, and melts at {}",
                material.print_temperature.high(),
                melting.typ
            );
            out.push(told(material.print_temperature.at, "printed", melting.at, message));
        }
        if limit.typ.to_kelvin() >= melting.high().to_kelvin() {
            let message = format!("`{name}` bears {}, and melts at {}", limit.typ, melting.typ);
            out.push(told(limit.at, "borne", melting.at, message));
        }
    }
    let Some(moulded) = &material.moulded_limit else { return };
    let above = |[ours, theirs]: [crate::quantity::Temperature; 2]| ours.to_kelvin() > theirs.to_kelvin();
    let pairs = [[limit.typ, moulded.low()], [limit.high(), moulded.typ]];
    if let Some([ours, theirs]) = pairs.into_iter().find(|pair| above(*pair)) {
        let message = format!("a print of `{name}` bears {ours}, and an unloaded moulding {theirs}");
        out.push(told(limit.at, "of a print", moulded.at, message));
    }
}

/// A moulding is the ceiling of what a print bears, and what one bears across its layers is that share of what it bears along
/// its beads.
fn strength(material: &Material, out: &mut Vec<Diagnostic>) {
    let (name, along, across) = (&material.name, &material.strength_along, &material.strength_across);
    if let Some(moulded) = &material.moulded_strength
        && moulded.high().to_mpa() < along.typ.to_mpa()
    {
        let message = format!("a print of `{name}` bears {}, and a moulding {}", along.typ, moulded.high());
        out.push(told(along.at, "of a print", moulded.at, message));
    }
    let ratio = &material.z_ratio;
    let share = across.typ.to_mpa() / along.typ.to_mpa().max(f64::MIN_POSITIVE);
    if !between(ratio, share) {
        let message = format!(
            "across its layers `{name}` bears {} of {}, which is a share of {share:.2} and not of {}",
            across.typ, along.typ, ratio.typ
        );
        out.push(told(across.at, "across", ratio.at, message));
    }
}

/// Whether a number lies within a figure's band, half of its last written digit beyond.
fn between(figure: &Figure<impl Into<Quantity> + Copy>, number: f64) -> bool {
    const HUNDREDTH: f64 = 5e-3;
    let [low, high] = [figure.low(), figure.high()].map(|end| Into::<Quantity>::into(end).si);
    (low - HUNDREDTH..=high + HUNDREDTH).contains(&number)
}

fn told(at: Span, here: &'static str, other: Span, message: String) -> Diagnostic {
    Diagnostic::warning(DISAGREES, at, message)
        .here(here)
        .label(other, "and this")
        .hint("one of the two is a slip, or both are to be given: look at the source of each")
}
