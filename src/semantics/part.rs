//! `part` and `profile`: from their statements to the typed spec.

use std::sync::Arc;

use super::checker::Checker;
use super::read::Found;
use super::spec::{
    Ask, Choice, Consequence, Deflection, Denial, Impact, MeshUnit, MeshUse, Preference, Pressure, SecondColour,
    Service, Spec, Stage, Stated, Treatment, Waiver,
};
use super::values::Value;
use crate::quantity::Length;

impl Spec {
    /// Returns a spec that says nothing yet.
    pub(crate) fn empty(name: Stated<String>) -> Self {
        Self {
            name,
            profiles: Vec::new(),
            revision: None,
            purpose: None,
            stage: None,
            consequence: None,
            meshes: Vec::new(),
            size: None,
            quantity: None,
            wanted_by: None,
            service: Service::default(),
            loads: Vec::new(),
            fits: Vec::new(),
            faces: Vec::new(),
            wall: None,
            pressure: None,
            deflection: None,
            second_colour: None,
            wear: None,
            impact: None,
            treatments: Vec::new(),
            asks: Vec::new(),
            denials: Vec::new(),
            preferences: Vec::new(),
            pins: Vec::new(),
            forbids: Vec::new(),
            waivers: Vec::new(),
            implied: Vec::new(),
            written: Arc::default(),
        }
    }
}

impl Checker<'_> {
    /// Builds the spec of a `part` or `profile` from its own statements alone.
    pub(crate) fn part(&mut self, name: Stated<String>, statements: &[Found]) -> Spec {
        let mut spec = Spec::empty(name);
        let services: Vec<&Found> = statements.iter().filter(|f| f.is("service")).collect();
        self.repeats_across_services(&services);
        spec.service = self.service(&services);
        for found in statements {
            match found.entry.keyword {
                // These keep what is sound in them; the others need all of their arguments.
                "load" => spec.loads.extend(self.load(found)),
                "fit" => spec.fits.extend(self.fit(found)),
                "face" => spec.faces.extend(self.face(found)),
                _ if found.broken => {}
                "mesh" => spec.meshes.extend(mesh(found)),
                "pressure" | "tight" => pressure(found, &mut spec.pressure),
                "treat" => spec.treatments.extend(words(found, "treatments", Treatment::read)),
                "ask" => spec.asks.extend(words(found, "asks", Ask::read)),
                "no" => spec.denials.extend(denial(found)),
                "prefer" => spec.preferences.extend(words(found, "preferences", Preference::read)),
                "pin" => spec.pins.extend(choice(found)),
                "forbid" => spec.forbids.extend(choice(found)),
                "waive" => spec.waivers.extend(waiver(found)),
                _ => single(found, &mut spec),
            }
        }
        self.refuse_twice(&spec);
        spec
    }

    /// `service` may stand in several blocks, each of its statements only once.
    fn repeats_across_services(&mut self, services: &[&Found]) {
        if services.len() < 2 {
            return;
        }
        let mut seen = std::collections::BTreeMap::new();
        for (block, found) in services.iter().enumerate().flat_map(|(i, s)| s.inner.iter().map(move |f| (i, f))) {
            let name = super::read::name_of(found).filter(|_| found.is("contact")).unwrap_or_default().to_owned();
            let key = (found.entry.keyword, name);
            match seen.get(&key) {
                Some((first, span)) if *first != block => {
                    let message = format!("`{}` stands twice", found.entry.keyword);
                    self.report(
                        crate::diag::Diagnostic::error("statement/repeated", found.head, message)
                            .here("again here")
                            .label(*span, "first here")
                            .hint("leave one of them out"),
                    );
                }
                Some(_) => {}
                None => {
                    seen.insert(key, (block, found.head));
                }
            }
        }
    }
}

/// Statements of one value each.
fn single(found: &Found, spec: &mut Spec) {
    let v = &found.values;
    match found.entry.keyword {
        "revision" => spec.revision = v.text("text").map(|t| found.state(t.to_owned())),
        "purpose" => spec.purpose = v.text("text").map(|t| found.state(t.to_owned())),
        "stage" => spec.stage = v.word("stage").and_then(Stage::read).map(|v| found.state(v)),
        "consequence" => spec.consequence = v.word("consequence").and_then(Consequence::read).map(|v| found.state(v)),
        "size" => spec.size = size(found).map(|s| found.state(s)),
        "quantity" => spec.quantity = v.count("count").map(|n| found.state(n)),
        "wanted" => spec.wanted_by = v.text("date").map(|t| found.state(t.to_owned())),
        "wall" => spec.wall = v.measure("thickness").map(|l| found.state(l)),
        "deflection" => {
            spec.deflection =
                v.measure("limit").map(|l| Deflection { limit: found.state(l), under: v.stated_text("load") });
        }
        "colour" => {
            spec.second_colour = v
                .text("colour")
                .zip(v.measure("height"))
                .map(|(colour, from)| found.state(SecondColour { colour: colour.to_owned(), from }));
        }
        "wear" => spec.wear = v.text("partner").map(|t| found.state(t.to_owned())),
        "impact" => spec.impact = Some(found.state(impact(found))),
        _ => {}
    }
}

fn size(found: &Found) -> Option<[Length; 3]> {
    let v = &found.values;
    Some([v.measure("x")?, v.measure("y")?, v.measure("z")?])
}

fn impact(found: &Found) -> Impact {
    let v = &found.values;
    if let Some(height) = v.measure("height") {
        return Impact::Drop(height);
    }
    match (v.measure("mass"), v.measure("speed")) {
        (Some(mass), Some(speed)) => Impact::Blow { mass, speed },
        _ => Impact::Stated,
    }
}

fn mesh(found: &Found) -> Option<MeshUse> {
    let sound = |keyword: &str| found.inside(keyword).filter(|f| !f.broken);
    Some(MeshUse {
        path: found.values.stated_text("file")?,
        unit: sound("in").and_then(|f| Some(f.state(MeshUnit::read(f.values.word("unit")?)?))),
        object: sound("object").and_then(|f| f.values.stated_text("object")),
        count: sound("count").and_then(|f| Some(f.state(f.values.count("count")?))),
        span: found.span,
    })
}

/// `pressure` and `tight` speak of the same fluid and are kept together.
fn pressure(found: &Found, slot: &mut Option<Pressure>) {
    let empty = Pressure { pressure: None, medium: None, tight: false, bore: None, span: found.span };
    let kept = slot.get_or_insert(empty);
    if found.is("tight") {
        kept.tight = true;
        kept.medium = found.values.stated_text("medium").or(kept.medium.take());
        return;
    }
    kept.span = found.span;
    kept.pressure = found.values.measure("pressure").map(|p| found.state(p));
    for inner in found.inner.iter().filter(|f| !f.broken) {
        match inner.entry.keyword {
            "of" => kept.medium = inner.values.stated_text("medium"),
            "bore" => kept.bore = inner.values.measure("size").map(|l| inner.state(l)),
            "tight" => {
                kept.tight = true;
                kept.medium = inner.values.stated_text("medium").or(kept.medium.take());
            }
            _ => {}
        }
    }
}

fn words<T>(found: &Found, name: &str, read: fn(&str) -> Option<T>) -> Vec<Stated<T>> {
    let all = found.values.words(name).iter();
    all.filter_map(|(word, span)| Some(Stated { value: read(word)?, span: *span })).collect()
}

fn choice(found: &Found) -> Option<Choice> {
    let v = &found.values;
    let (Value::Decision(decision, setting), Value::Choice(value)) = (v.get("decision")?, v.get("choice")?) else {
        return None;
    };
    Some(Choice {
        decision: Stated { value: *decision, span: v.span("decision")? },
        setting: setting.clone(),
        value: Stated { value: value.clone(), span: v.span("choice")? },
        because: v.text("because")?.to_owned(),
        span: found.span,
    })
}

fn denial(found: &Found) -> Option<Denial> {
    let v = &found.values;
    Some(Denial { of: Ask::read(v.word("use")?)?, because: v.text("because")?.to_owned(), span: found.span })
}

fn waiver(found: &Found) -> Option<Waiver> {
    Some(Waiver {
        rule: found.values.stated_text("rule")?,
        because: found.values.text("because")?.to_owned(),
        span: found.span,
    })
}
