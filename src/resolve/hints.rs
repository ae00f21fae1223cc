//! Words of the spec that point to a use with dangers of its own, by the catalogue's lists.

use crate::catalogue::Catalogue;
use crate::diag::Span;
use crate::resolve::facts::stated;
use crate::rulebook::facts as rules;
use crate::rulebook::value::{Origin, Text};
use crate::semantics::spec::{Ask, Fit, FitFunction, Load, Spec};
use crate::word::Word;

/// Words found.
#[derive(Debug, Clone)]
pub(super) struct Hint {
    about: Ask,
    word: String,
    place: String,
    span: Span,
    plain: bool,
    settled: bool,
}

/// The uses that words may point to.
const USES: [Ask; 11] = [
    Ask::MainsVoltage,
    Ask::StaticDissipation,
    Ask::FlameRetardance,
    Ask::Food,
    Ask::SkinContact,
    Ask::Toy,
    Ask::Lifting,
    Ask::PeopleBeneath,
    Ask::Medical,
    Ask::Vibration,
    Ask::Softness,
];

/// Finds the first words that point to each use.
pub(super) fn hints(spec: &Spec, catalogue: &Catalogue) -> Vec<Hint> {
    let passing: Vec<Vec<String>> = catalogue.words_in_passing().map(pieces).collect();
    let texts: Vec<(String, Vec<String>, Span)> = texts(spec)
        .map(|(place, text, span)| {
            let mut words = pieces(text);
            passing.iter().for_each(|phrase| pass_over(phrase, &mut words));
            (place, words, span)
        })
        .collect();
    let of = |about: Ask| {
        let aim = Word::word(about);
        let settled = spec.asks.iter().any(|a| a.value == about) || spec.denials.iter().any(|d| d.of == about);
        let among = |words: &[String], plain: bool| {
            texts.iter().find_map(|(place, text, span)| {
                let word = words.iter().find(|words| stands_in(&pieces(words), text))?;
                Some(Hint { about, word: word.clone(), place: place.clone(), span: *span, plain, settled })
            })
        };
        among(catalogue.words_toward(aim), true).or_else(|| among(catalogue.words_perhaps_toward(aim), false))
    };
    USES.into_iter().filter_map(of).collect()
}

/// Returns whether a use is asked for, or pointed to and not denied.
pub(super) fn concerns(spec: &Spec, catalogue: &Catalogue, about: Ask) -> bool {
    let asked = spec.asks.iter().any(|a| a.value == about);
    asked || hints(spec, catalogue).iter().any(|h| h.about == about && !h.settled)
}

/// Returns whether a load or the purpose speaks of a spring, a clip or a catch where no fit of the spec is a snap.
pub(super) fn springs(spec: &Spec, load: &Load, catalogue: &Catalogue) -> bool {
    let snap = |f: &Fit| matches!(f.function.value, FitFunction::Snap { .. });
    let texts = std::iter::once(&load.name).chain(&spec.purpose).map(|t| pieces(&t.value));
    let mut texts = texts.filter(|_| !spec.fits.iter().any(snap));
    texts.any(|text| catalogue.words_toward("spring").iter().any(|word| stands_in(&pieces(word), &text)))
}

/// Returns whether the words of the spec speak of a fold or a hinge, and no fit is a hinge or a snap.
pub(super) fn folds(spec: &Spec, catalogue: &Catalogue) -> bool {
    let said = |f: &Fit| matches!(f.function.value, FitFunction::Snap { .. } | FitFunction::Hinge { .. });
    !spec.fits.iter().any(said) && spoken_of(spec, catalogue, "fold").is_some()
}

/// Returns whether the words of the spec speak of what a liquid is poured through.
pub(super) fn pours(spec: &Spec, catalogue: &Catalogue) -> bool {
    spoken_of(spec, catalogue, "pour").is_some()
}

/// Returns the word that speaks of what is pulled, pushed or turned, where no load and no pressure is stated.
pub(super) fn load_unsaid(spec: &Spec, catalogue: &Catalogue) -> Option<String> {
    let said = !spec.loads.is_empty() || spec.pressure.is_some();
    if said { None } else { spoken_of(spec, catalogue, "load") }
}

/// Returns the word that speaks of pressure, where none is stated.
pub(super) fn pressure_unsaid(spec: &Spec, catalogue: &Catalogue) -> Option<String> {
    let pressed = |l: &Load| l.pressure.is_some();
    let said = spec.pressure.is_some() || spec.loads.iter().any(pressed);
    if said { None } else { spoken_of(spec, catalogue, "pressure") }
}

/// Returns the first word of a list that the purpose or a name has.
fn spoken_of(spec: &Spec, catalogue: &Catalogue, aim: &str) -> Option<String> {
    let passing: Vec<Vec<String>> = catalogue.words_in_passing().map(pieces).collect();
    texts(spec).find_map(|(_, text, _)| {
        let mut text = pieces(text);
        passing.iter().for_each(|phrase| pass_over(phrase, &mut text));
        catalogue.words_toward(aim).iter().find(|word| stands_in(&pieces(word), &text)).cloned()
    })
}

/// The texts a person wrote freely, with what they are called.
fn texts(spec: &Spec) -> impl Iterator<Item = (String, &str, Span)> {
    let purpose = spec.purpose.iter().map(|p| ("the purpose".to_owned(), p.value.as_str(), p.span));
    let name = ("the name of the part".to_owned(), spec.name.value.as_str(), spec.name.span);
    let loads = spec.loads.iter().map(|l| ("the name of a load".to_owned(), l.name.value.as_str(), l.name.span));
    let faces = spec.faces.iter().filter_map(|f| Some(("a marking".to_owned(), f.marking.as_deref()?, f.span)));
    purpose.chain([name]).chain(loads).chain(faces)
}

/// Words in small letters, without what stands between them.
fn pieces(text: &str) -> Vec<String> {
    text.split(|c: char| !c.is_alphanumeric()).filter(|w| !w.is_empty()).map(str::to_lowercase).collect()
}

/// Whether words stand side by side in a text, the last of them also in the plural.
fn stands_in(words: &[String], text: &[String]) -> bool {
    let Some((last, others)) = words.split_last() else { return false };
    text.windows(words.len()).any(|window| {
        let Some((end, begin)) = window.split_last() else { return false };
        let plural = || end.strip_suffix('s').is_some_and(|one| one == last || one.strip_suffix('e') == Some(last));
        begin == others && (end == last || plural())
    })
}

/// Blanks a phrase that means another thing than its words: of `lamp oil` no lamp is left.
fn pass_over(phrase: &[String], text: &mut [String]) {
    while let Some(at) = text.windows(phrase.len().max(1)).position(|window| window == phrase) {
        text.iter_mut().skip(at).take(phrase.len()).for_each(String::clear);
    }
}

impl Hint {
    pub(super) fn facts(&self) -> rules::Hint {
        let at = stated(self.span);
        rules::Hint {
            title: format!("\"{}\" in {}", self.word, self.place),
            about: Origin::None.of(self.about),
            word: at.of(Text::shared(&self.word)),
            place: Origin::None.of(Text::shared(&self.place)),
            plain: Origin::None.of(self.plain),
            settled: Origin::None.of(self.settled),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_are_found_whole_in_any_case_and_in_the_plural() {
        let found = |words: &str, text: &str| stands_in(&pieces(words), &pieces(text));
        assert!(found("hoist", "Eye for the Hoist, which lifts sacks"));
        assert!(found("box", "two boxes"));
        assert!(found("socket box", "Cover of the wall socket-box"));
        assert!(found("230 V", "a 230 V lamp"));
        assert!(!found("toy", "destroys"));
        assert!(!found("socket box", "box socket"));
        assert!(!found("mains", "main"));
    }

    #[test]
    fn a_phrase_of_another_meaning_is_passed_over_and_the_rest_is_read() {
        let left = |text: &str| {
            let mut words = pieces(text);
            pass_over(&pieces("lamp oil"), &mut words);
            words
        };
        let found = |text: &str| stands_in(&pieces("lamp"), &left(text));
        assert!(!found("Funnel for Lamp oil, lamp oil only"));
        assert!(found("Funnel for lamp oil of the lamp"));
        assert!(found("oil lamp"));
    }
}
