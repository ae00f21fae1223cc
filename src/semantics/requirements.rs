//! The requirements of a spec as a list: named, taken away, or eased, for the search for what conflicts.

use super::choice::decision_word;
use super::spec::{Choice, ChoiceValue, Fit, FitFunction, Spec, Stated};
use crate::diag::{Sources, Span};
use crate::quantity::{Length, Quantity};

/// One requirement of a spec.
#[derive(Debug, Clone, PartialEq)]
pub struct Requirement {
    /// A path: `service.air`, `service.contact "diesel"`, `load "gust"`, `fit "pivot"`, `face "front"`, `wall`, `size`,
    /// `pin nozzle`, `forbid material "ABS"`, `treat anneal`, `ask food contact` ...
    pub id: String,
    /// The statement as written, on one line.
    pub text: String,
    pub span: Span,
    path: String,
}

impl Requirement {
    /// Returns the path of the statement in its file, `service/air`, which no comment moves; empty where no outline of the
    /// file is known.
    pub fn path(&self) -> &str {
        &self.path
    }

    /// Whether it says what the part is used for, and what hangs on it: who would leave it out would not change the job but
    /// hide it.
    pub fn is_of_the_use(&self) -> bool {
        self.id == "consequence" || self.id.starts_with("ask ")
    }
}

/// Returns everything the spec asks for, in a fixed order; what only names or describes the part is left out.
pub fn requirements(spec: &Spec, sources: &Sources) -> Vec<Requirement> {
    let list = parts(spec);
    let path = |span| sources.path(span).unwrap_or_default().to_owned();
    let made = |(id, span)| Requirement { id, text: one_line(sources.text(span)), span, path: path(span) };
    list.into_iter().map(made).collect()
}

/// Returns the spec without one requirement; an unknown id changes nothing.
pub fn without(spec: &Spec, id: &str) -> Spec {
    let mut s = spec.clone();
    match id {
        "service.air" => s.service.air = None,
        "service.peak" => s.service.peak = None,
        "service.place" => s.service.place = None,
        "service.sun" => s.service.sun = None,
        "service.colour" => s.service.colour = None,
        "service.wet" => s.service.wet = None,
        "stage" => s.stage = None,
        "consequence" => s.consequence = None,
        "size" => s.size = None,
        "quantity" => s.quantity = None,
        "wanted" => s.wanted_by = None,
        "wall" => s.wall = None,
        "pressure" => s.pressure = None,
        "deflection" => s.deflection = None,
        "wear" => s.wear = None,
        "impact" => s.impact = None,
        "prefer" => s.preferences.clear(),
        _ => {}
    }
    s.service.contacts.retain(|c| named("service.contact", &c.chemical.value) != id);
    s.loads.retain(|l| named("load", &l.name.value) != id);
    s.fits.retain(|f| named("fit", &f.name.value) != id);
    s.faces.retain(|f| named("face", &f.name.value) != id);
    s.treatments.retain(|t| format!("treat {}", t.value.word()) != id);
    s.asks.retain(|a| format!("ask {}", a.value.word()) != id);
    s.pins.retain(|p| pin_id(p) != id);
    s.forbids.retain(|f| forbid_id(f) != id);
    s.waivers.retain(|w| named("waive", &w.rule.value) != id);
    s
}

/// Returns the number that governs a requirement, if one does: the high end of the air, the force of a load ...
///
/// Besides the ids of [`requirements`], `service.air low`, `load "x" held`, `load "x" factor` and `fit "x" undercut` name the other numbers.
pub fn governing(spec: &Spec, id: &str) -> Option<Quantity> {
    let s = &spec.service;
    match id {
        "service.air" => s.air.map(|a| a.value.1.into()),
        "service.air low" => s.air.map(|a| a.value.0.into()),
        "service.peak" => s.peak.map(|p| p.value.into()),
        "service.sun" => s.sun.and_then(|sun| sun.value.duration).map(Into::into),
        "quantity" => spec.quantity.map(|q| Quantity::number(f64::from(q.value))),
        "wall" => spec.wall.map(|w| w.value.into()),
        "pressure" => spec.pressure.as_ref().and_then(|p| p.pressure).map(|p| p.value.into()),
        "deflection" => spec.deflection.as_ref().map(|d| d.limit.value.into()),
        _ => governing_named(spec, id),
    }
}

fn governing_named(spec: &Spec, id: &str) -> Option<Quantity> {
    if let Some(contact) = spec.service.contacts.iter().find(|c| named("service.contact", &c.chemical.value) == id) {
        return contact.temperature.map(|t| t.value.into());
    }
    if let Some((load, part)) = load_of(spec, id) {
        return match part {
            LoadPart::Size => load.force.map(|f| f.value.into()).or(load.torque.map(|t| t.value.into())),
            LoadPart::Held => load.held.map(|h| h.value.into()),
            LoadPart::Factor => load.factor.map(|f| Quantity::number(f.value)),
        };
    }
    if let Some(fit) = spec.fits.iter().find(|f| named("fit", &f.name.value) == id) {
        return match &fit.function.value {
            FitFunction::Sliding { play, .. } => play.map(Into::into),
            _ => None,
        };
    }
    if let Some(fit) = spec.fits.iter().find(|f| undercut_id(f) == id) {
        return match &fit.function.value {
            FitFunction::Snap { undercut, .. } => Some((*undercut).into()),
            _ => None,
        };
    }
    let pin = spec.pins.iter().find(|p| pin_id(p) == id)?;
    choice_quantity(&pin.value.value)
}

/// Returns the spec with the governing number of a requirement replaced; `None` where there is none, or another dimension.
pub fn relaxed(spec: &Spec, id: &str, to: Quantity) -> Option<Spec> {
    governing(spec, id).filter(|q| q.dimension == to.dimension)?;
    let mut s = spec.clone();
    match id {
        "service.air" => {
            let air = s.service.air.as_mut()?;
            air.value.1 = to.try_into().ok()?;
            air.value.0 = air.value.0.min(air.value.1);
        }
        "service.air low" => {
            let air = s.service.air.as_mut()?;
            air.value.0 = to.try_into().ok()?;
            air.value.1 = air.value.1.max(air.value.0);
        }
        "service.peak" => replace(&mut s.service.peak, to)?,
        "service.sun" => s.service.sun.as_mut()?.value.duration = Some(to.try_into().ok()?),
        "quantity" => s.quantity.as_mut()?.value = whole(to)?,
        "wall" => replace(&mut s.wall, to)?,
        "pressure" => replace(&mut s.pressure.as_mut()?.pressure, to)?,
        "deflection" => s.deflection.as_mut()?.limit.value = to.try_into().ok()?,
        _ => relax_named(&mut s, id, to)?,
    }
    Some(s)
}

fn relax_named(s: &mut Spec, id: &str, to: Quantity) -> Option<()> {
    if let Some(contact) = s.service.contacts.iter_mut().find(|c| named("service.contact", &c.chemical.value) == id) {
        return replace(&mut contact.temperature, to);
    }
    if let Some((name, part)) = load_of(s, id).map(|(l, part)| (l.name.value.clone(), part)) {
        let load = s.loads.iter_mut().find(|l| l.name.value == name)?;
        return match part {
            LoadPart::Size if load.force.is_some() => replace(&mut load.force, to),
            LoadPart::Size => replace(&mut load.torque, to),
            LoadPart::Held => replace(&mut load.held, to),
            LoadPart::Factor => {
                load.factor.as_mut()?.value = to.si;
                Some(())
            }
        };
    }
    if let Some(fit) = s.fits.iter_mut().find(|f| named("fit", &f.name.value) == id) {
        let FitFunction::Sliding { play, .. } = &mut fit.function.value else { return None };
        *play = Some(to.try_into().ok()?);
        return Some(());
    }
    if let Some(fit) = s.fits.iter_mut().find(|f| undercut_id(f) == id) {
        let FitFunction::Snap { undercut, .. } = &mut fit.function.value else { return None };
        *undercut = to.try_into().ok()?;
        return Some(());
    }
    let pin = s.pins.iter_mut().find(|p| pin_id(p) == id)?;
    pin.value.value = with_quantity(&pin.value.value, to)?;
    Some(())
}

fn replace<T: TryFrom<Quantity>>(slot: &mut Option<Stated<T>>, to: Quantity) -> Option<()> {
    slot.as_mut()?.value = to.try_into().ok()?;
    Some(())
}

fn whole(q: Quantity) -> Option<u32> {
    (q.si.fract() == 0.0 && q.si >= 1.0 && q.si <= f64::from(u32::MAX)).then_some(q.si as u32)
}

/// Which number of a load: `load "gust"` is its force or torque, `load "gust" held` and `load "gust" factor` the others.
enum LoadPart {
    Size,
    Held,
    Factor,
}

fn load_of<'s>(spec: &'s Spec, id: &str) -> Option<(&'s super::spec::Load, LoadPart)> {
    spec.loads.iter().find_map(|load| {
        let rest = id.strip_prefix(named("load", &load.name.value).as_str())?;
        let part = match rest {
            "" => LoadPart::Size,
            " held" => LoadPart::Held,
            " factor" => LoadPart::Factor,
            _ => return None,
        };
        Some((load, part))
    })
}

fn named(kind: &str, name: &str) -> String {
    format!("{kind} \"{name}\"")
}

/// The undercut of a snap arm: the less it is, the less the arm bends.
fn undercut_id(fit: &Fit) -> String {
    format!("{} undercut", named("fit", &fit.name.value))
}

fn pin_id(choice: &Choice) -> String {
    format!("pin {}", decision_word(choice.decision.value, choice.setting.as_deref()))
}

fn forbid_id(choice: &Choice) -> String {
    let word = decision_word(choice.decision.value, choice.setting.as_deref());
    match &choice.value.value {
        ChoiceValue::Named(name) => format!("forbid {word} \"{name}\""),
        ChoiceValue::OnFace(name) => format!("forbid {word} face \"{name}\""),
        ChoiceValue::Up(d) => format!("forbid {word} up {:?}", d.0),
        other => match choice_quantity(other) {
            Some(q) => format!("forbid {word} {q}"),
            None => format!("forbid {word}"),
        },
    }
}

fn choice_quantity(value: &ChoiceValue) -> Option<Quantity> {
    Some(match value {
        ChoiceValue::Length(v) => (*v).into(),
        ChoiceValue::Temperature(v) => (*v).into(),
        ChoiceValue::TemperatureDifference(v) => (*v).into(),
        ChoiceValue::Area(v) => (*v).into(),
        ChoiceValue::Angle(v) => (*v).into(),
        ChoiceValue::Speed(v) => (*v).into(),
        ChoiceValue::Number(v) => Quantity::number(*v),
        ChoiceValue::Named(_) | ChoiceValue::Up(_) | ChoiceValue::OnFace(_) => return None,
    })
}

fn with_quantity(value: &ChoiceValue, to: Quantity) -> Option<ChoiceValue> {
    Some(match value {
        ChoiceValue::Length(_) => ChoiceValue::Length(Length::try_from(to).ok()?),
        ChoiceValue::Temperature(_) => ChoiceValue::Temperature(to.try_into().ok()?),
        ChoiceValue::TemperatureDifference(_) => ChoiceValue::TemperatureDifference(to.try_into().ok()?),
        ChoiceValue::Area(_) => ChoiceValue::Area(to.try_into().ok()?),
        ChoiceValue::Angle(_) => ChoiceValue::Angle(to.try_into().ok()?),
        ChoiceValue::Speed(_) => ChoiceValue::Speed(to.try_into().ok()?),
        ChoiceValue::Number(_) => ChoiceValue::Number(to.si),
        ChoiceValue::Named(_) | ChoiceValue::Up(_) | ChoiceValue::OnFace(_) => return None,
    })
}

/// Every requirement by id and place, in the order of the vocabulary.
fn parts(s: &Spec) -> Vec<(String, Span)> {
    let mut list: Vec<(String, Span)> = Vec::new();
    let mut single = |id: &str, span: Option<Span>| list.extend(span.map(|span| (id.to_owned(), span)));
    single("stage", s.stage.as_ref().map(|v| v.span));
    single("consequence", s.consequence.as_ref().map(|v| v.span));
    single("size", s.size.as_ref().map(|v| v.span));
    single("quantity", s.quantity.as_ref().map(|v| v.span));
    single("wanted", s.wanted_by.as_ref().map(|v| v.span));
    single("service.air", s.service.air.as_ref().map(|v| v.span));
    single("service.peak", s.service.peak.as_ref().map(|v| v.span));
    single("service.place", s.service.place.as_ref().map(|v| v.span));
    single("service.sun", s.service.sun.as_ref().map(|v| v.span));
    single("service.colour", s.service.colour.as_ref().map(|v| v.span));
    single("service.wet", s.service.wet.as_ref().map(|v| v.span));
    single("wall", s.wall.as_ref().map(|v| v.span));
    single("pressure", s.pressure.as_ref().map(|v| v.span));
    single("deflection", s.deflection.as_ref().map(|v| v.limit.span));
    single("wear", s.wear.as_ref().map(|v| v.span));
    single("impact", s.impact.as_ref().map(|v| v.span));
    let preferences = s.preferences.iter().map(|p| p.span).reduce(Span::to);
    single("prefer", preferences);
    list.extend(s.service.contacts.iter().map(|c| (named("service.contact", &c.chemical.value), c.span)));
    list.extend(s.loads.iter().map(|l| (named("load", &l.name.value), l.span)));
    list.extend(s.fits.iter().map(|f| (named("fit", &f.name.value), f.span)));
    list.extend(s.faces.iter().map(|f| (named("face", &f.name.value), f.span)));
    list.extend(s.treatments.iter().map(|t| (format!("treat {}", t.value.word()), t.span)));
    list.extend(s.asks.iter().map(|a| (format!("ask {}", a.value.word()), a.span)));
    list.extend(s.pins.iter().map(|p| (pin_id(p), p.span)));
    list.extend(s.forbids.iter().map(|f| (forbid_id(f), f.span)));
    list.extend(s.waivers.iter().map(|w| (named("waive", &w.rule.value), w.span)));
    list
}

/// Returns a text on one line: line breaks and runs of spaces become one space, comments are left out.
fn one_line(text: &str) -> String {
    let lines = text.lines().map(without_comment);
    lines.flat_map(str::split_whitespace).collect::<Vec<_>>().join(" ")
}

fn without_comment(line: &str) -> &str {
    let mut in_text = false;
    for (i, c) in line.char_indices() {
        match c {
            '"' => in_text = !in_text,
            '/' if !in_text && line[i..].starts_with("//") => return &line[..i],
            _ => {}
        }
    }
    line
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diag::{Source, Sources};
    use crate::quantity::Dimension;

    const TEXT: &str = r#"
part "p" {
  mesh "p.stl" in mm
  service { air -25 °C .. 30 °C; sun direct for 5 years
    contact "diesel" splash at 40 °C }
  load "gust" {
    force 140 N toward -z // the worst
    held 5 years; factor 2
  }
  fit "pivot" bore 8 mm H9
  face "front" toward +y
  wall 2 mm
  quantity 6
  treat anneal
  ask lifting
  pin nozzle 0.6 mm because "x"
  forbid material "ABS" because "x"
  waive "a" because "x"
}"#;

    fn spec() -> (Spec, Sources) {
        let mut sources = Sources::default();
        let id = sources.add(Source::new("p.partspec", TEXT));
        let tree = crate::syntax::parse(id, TEXT).value.unwrap();
        let report = crate::semantics::check(&[tree], &sources);
        assert_eq!(report.diagnostics, vec![]);
        (report.value.unwrap().parts.remove(0), sources)
    }

    #[test]
    fn every_requirement_can_be_taken_away() {
        let (spec, sources) = spec();
        let list = requirements(&spec, &sources);
        let ids: Vec<&str> = list.iter().map(|r| r.id.as_str()).collect();
        assert_eq!(
            ids,
            [
                "quantity",
                "service.air",
                "service.sun",
                "wall",
                "service.contact \"diesel\"",
                "load \"gust\"",
                "fit \"pivot\"",
                "face \"front\"",
                "treat anneal",
                "ask lifting",
                "pin nozzle",
                "forbid material \"ABS\"",
                "waive \"a\"",
            ]
        );
        for requirement in &list {
            let rest = requirements(&without(&spec, &requirement.id), &sources);
            assert_eq!(rest.len(), list.len() - 1, "{}", requirement.id);
            assert!(!rest.iter().any(|r| r.id == requirement.id));
        }
    }

    #[test]
    fn texts_are_as_written_on_one_line() {
        let (spec, sources) = spec();
        let text = |id: &str| requirements(&spec, &sources).into_iter().find(|r| r.id == id).unwrap().text;
        assert_eq!(text("service.air"), "air -25 °C .. 30 °C");
        assert_eq!(text("load \"gust\""), "load \"gust\" { force 140 N toward -z held 5 years; factor 2 }");
        assert_eq!(text("pin nozzle"), "pin nozzle 0.6 mm because \"x\"");
    }

    #[test]
    fn governing_numbers_are_replaced() {
        let (spec, _) = spec();
        for (id, before, after) in [
            ("service.air", "30 °C", "25 °C"),
            ("service.air low", "-25 °C", "-10 °C"),
            ("service.sun", "5 years", "2 years"),
            ("service.contact \"diesel\"", "40 °C", "20 °C"),
            ("load \"gust\"", "140 N", "90 N"),
            ("load \"gust\" held", "5 years", "3 years"),
            ("load \"gust\" factor", "2", "1.5"),
            ("wall", "2 mm", "3 mm"),
            ("quantity", "6", "4"),
            ("pin nozzle", "0.6 mm", "0.4 mm"),
        ] {
            assert_eq!(governing(&spec, id).unwrap().to_string(), before, "{id}");
            let to = Quantity::parse(after).unwrap();
            let eased = relaxed(&spec, id, to).unwrap();
            assert_eq!(governing(&eased, id).unwrap().to_string(), after, "{id}");
        }
        assert_eq!(governing(&spec, "face \"front\""), None);
        assert!(relaxed(&spec, "wall", Quantity::new(300.0, Dimension::TEMPERATURE)).is_none());
    }
}
