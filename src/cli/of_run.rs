//! A spec made for a run: what the run file says of it stands over what it says itself, and the workshop is as the run has
//! left it by then.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::digest::short;
use crate::diag::{Diagnostic, Outline, Severity, Source, SourceId, Sources, Span};
use crate::plan::floor::Floor;
use crate::recipe::Input;
use crate::semantics::run::{Build, Run};
use crate::semantics::spec::{Choice, ChoiceValue, Decision, Spec, Stated};

/// The run's text, for reasons that cite it.
#[derive(Debug)]
pub struct Text {
    /// As it stands in the file.
    pub source: Source,
    /// What its places are called.
    pub outline: Outline,
}

/// What a run says of a spec it builds.
#[derive(Debug, Clone)]
pub struct OfRun {
    /// Where it says so.
    pub text: Arc<Text>,
    /// Good pieces wanted, and the place.
    pub quantity: Option<Stated<u32>>,
    /// The day they are wanted by, and the place.
    pub wanted_by: Option<Stated<String>>,
    /// The day on which the run begins to print: what a spool is dry by.
    pub day: Option<String>,
    /// Choices the run makes, by part; the place is the line that builds it.
    pub pins: BTreeMap<String, Vec<(Decision, String)>>,
    /// Printers of the workshop that the run does not use.
    pub barred: Vec<String>,
    /// The line that builds it.
    pub build: Span,
    /// The workshop as it is by then.
    pub floor: Option<Arc<Floor>>,
    /// Pieces on the one plate that the recipe is asked for; none for the recipe of them all.
    pub plate: Option<u32>,
}

impl OfRun {
    /// Returns what a run says of one of its builds.
    pub fn of(run: &Run, build: &Build, text: &Arc<Text>, barred: &[String]) -> Self {
        Self {
            text: Arc::clone(text),
            quantity: build.count,
            wanted_by: build.by.as_ref().map(|by| Stated { value: by.value.0.clone(), span: by.span }),
            day: Some(run.from.value.day.clone()),
            pins: BTreeMap::new(),
            barred: barred.to_vec(),
            build: run.printers.first().map_or(build.span, |p| p.span),
            floor: None,
            plate: None,
        }
    }

    /// Adds the run's text to the sources of a job; returns its place there.
    pub(super) fn cited(&self, sources: &mut Sources) -> SourceId {
        let id = sources.add(self.text.source.clone());
        sources.set_outline(id, self.text.outline.clone());
        id
    }

    /// Returns the run's text as something the recipe was made from.
    pub(super) fn input(&self) -> Input {
        let Source { name, text, .. } = &self.text.source;
        Input { name: name.clone(), digest: short(&blake3::hash(text.as_bytes())) }
    }

    /// Returns where the run says otherwise than the spec: what the run says counts.
    pub(super) fn differences(&self, spec: &Spec, at: SourceId) -> Vec<Diagnostic> {
        let told = |run: Span, own: Span, message: String| {
            Diagnostic::new(Severity::Note, "run/other-than-spec", message)
                .label(Span { source: at, ..run }, "this counts")
                .label(own, "and this does not, in this run")
        };
        let name = &spec.name.value;
        let count = self.quantity.zip(spec.quantity).filter(|(run, own)| run.value != own.value);
        let day = self.wanted_by.as_ref().zip(spec.wanted_by.as_ref()).filter(|(run, own)| run.value != own.value);
        let count = count.map(|(run, own)| {
            let message = format!("the run wants {} of {name}, the spec {}", run.value, own.value);
            told(run.span, own.span, message)
        });
        let day = day.map(|(run, own)| {
            let message = format!("the run wants {name} by {}, the spec by {}", run.value, own.value);
            told(run.span, own.span, message)
        });
        count.into_iter().chain(day).collect()
    }

    /// Lays what the run says of count and day over a spec's own.
    pub(super) fn lay_over(&self, spec: &mut Spec, at: SourceId) {
        let moved = |span: Span| Span { source: at, ..span };
        if let Some(quantity) = self.quantity {
            spec.quantity = Some(Stated { span: moved(quantity.span), ..quantity });
        }
        if let Some(by) = &self.wanted_by {
            spec.wanted_by = Some(Stated { value: by.value.clone(), span: moved(by.span) });
        }
    }

    /// Pins what the run gives a part, and bars the printers it does not use.
    pub(super) fn choose(&self, spec: &mut Spec, at: SourceId) {
        let span = Span { source: at, ..self.build };
        let choice = |decision: Decision, name: &str, because: &str| Choice {
            decision: Stated { value: decision, span },
            setting: None,
            value: Stated { value: ChoiceValue::Named(name.to_owned()), span },
            because: because.to_owned(),
            span,
        };
        let own = |decision: Decision| spec.pins.iter().any(|p| p.decision.value == decision && p.setting.is_none());
        let pins = self.pins.get(&spec.name.value).into_iter().flatten();
        let new: Vec<Choice> = pins
            .filter(|(d, _)| !own(*d))
            .map(|(d, name)| choice(*d, name, "the plan of the run gives it so"))
            .collect();
        spec.pins.extend(new);
        let barred = self.barred.iter().map(|p| choice(Decision::Printer, p, "the run does not use it"));
        spec.forbids.extend(barred);
    }
}
