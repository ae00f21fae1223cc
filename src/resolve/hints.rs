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

/// What a person wrote freely, each text with what it is called: its words in small letters, those of phrases that mean another thing
/// blanked.
pub(super) struct Texts(Vec<(String, Vec<String>, Span)>);

impl Texts {
    pub fn of(spec: &Spec, catalogue: &Catalogue) -> Self {
        let purpose = spec.purpose.iter().map(|p| ("the purpose".to_owned(), p.value.as_str(), p.span));
        let name = ("the name of the part".to_owned(), spec.name.value.as_str(), spec.name.span);
        let loads = spec.loads.iter().map(|l| ("the name of a load".to_owned(), l.name.value.as_str(), l.name.span));
        let faces = spec.faces.iter().filter_map(|f| Some(("a marking".to_owned(), f.marking.as_deref()?, f.span)));
        let read = |(place, text, span): (String, &str, Span)| {
            let mut words = words_of(text);
            catalogue.words_in_passing().for_each(|phrase| pass_over(phrase, &mut words));
            (place, words, span)
        };
        Self(purpose.chain([name]).chain(loads).chain(faces).map(read).collect())
    }

    /// Returns the first word of a list that the purpose or a name has.
    fn spoken_of(&self, catalogue: &Catalogue, aim: &str) -> Option<String> {
        let listed = catalogue.words_toward(aim);
        self.0.iter().find_map(|(_, text, _)| listed.iter().find(|word| stands_in(word, text)).cloned())
    }

    /// Finds the first words that point to a use.
    fn hint(&self, spec: &Spec, catalogue: &Catalogue, about: Ask) -> Option<Hint> {
        let aim = Word::word(about);
        let settled = spec.asks.iter().any(|a| a.value == about) || spec.denials.iter().any(|d| d.of == about);
        let among = |words: &[String], plain: bool| {
            self.0.iter().find_map(|(place, text, span)| {
                let word = words.iter().find(|word| stands_in(word, text))?;
                Some(Hint { about, word: word.clone(), place: place.clone(), span: *span, plain, settled })
            })
        };
        among(catalogue.words_toward(aim), true).or_else(|| among(catalogue.words_perhaps_toward(aim), false))
    }

    /// Returns whether a use is asked for, or pointed to and not denied.
    pub fn concerns(&self, spec: &Spec, catalogue: &Catalogue, about: Ask) -> bool {
        let asked = spec.asks.iter().any(|a| a.value == about);
        asked || self.hint(spec, catalogue, about).is_some_and(|h| !h.settled)
    }

    /// Returns whether the words of the spec speak of a fold or a hinge, and no fit is a hinge or a snap.
    pub fn folds(&self, spec: &Spec, catalogue: &Catalogue) -> bool {
        let said = |f: &Fit| matches!(f.function.value, FitFunction::Snap { .. } | FitFunction::Hinge { .. });
        !spec.fits.iter().any(said) && self.spoken_of(catalogue, "fold").is_some()
    }

    /// Returns whether the words of the spec speak of what a liquid is poured through.
    pub fn pours(&self, catalogue: &Catalogue) -> bool {
        self.spoken_of(catalogue, "pour").is_some()
    }

    /// Returns the word that speaks of what is pulled, pushed or turned, where no load and no pressure is stated.
    pub fn load_unsaid(&self, spec: &Spec, catalogue: &Catalogue) -> Option<String> {
        let said = !spec.loads.is_empty() || spec.pressure.is_some();
        // A snap says what its arm bears.
        let snap = spec.fits.iter().any(|f| matches!(f.function.value, FitFunction::Snap { .. }));
        let springs = |word: &String| snap && catalogue.words_toward("spring").contains(word);
        if said { None } else { self.spoken_of(catalogue, "load").filter(|word| !springs(word)) }
    }

    /// Returns the word that speaks of pressure, where none is stated.
    pub fn pressure_unsaid(&self, spec: &Spec, catalogue: &Catalogue) -> Option<String> {
        let pressed = |l: &Load| l.pressure.is_some();
        let said = spec.pressure.is_some() || spec.loads.iter().any(pressed);
        if said { None } else { self.spoken_of(catalogue, "pressure") }
    }
}

/// Finds the first words that point to each use.
pub(super) fn hints(spec: &Spec, catalogue: &Catalogue) -> Vec<Hint> {
    let texts = Texts::of(spec, catalogue);
    USES.into_iter().filter_map(|about| texts.hint(spec, catalogue, about)).collect()
}

/// Returns whether a load or the purpose speaks of a spring, a clip or a catch where no fit of the spec is a snap.
pub(super) fn springs(spec: &Spec, load: &Load, catalogue: &Catalogue) -> bool {
    let snap = |f: &Fit| matches!(f.function.value, FitFunction::Snap { .. });
    let texts = std::iter::once(&load.name).chain(&spec.purpose).map(|t| words_of(&t.value));
    let mut texts = texts.filter(|_| !spec.fits.iter().any(snap));
    texts.any(|text| catalogue.words_toward("spring").iter().any(|word| stands_in(word, &text)))
}

/// The words of a text, without what stands between them.
fn pieces(text: &str) -> impl Iterator<Item = &str> {
    text.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty())
}

/// The same in small letters.
fn words_of(text: &str) -> Vec<String> {
    pieces(text).map(str::to_lowercase).collect()
}

/// Whether a piece is a word in small letters. Lists are long, and asked of every text: nothing is copied.
fn is(piece: &str, word: &str) -> bool {
    piece.chars().flat_map(char::to_lowercase).eq(word.chars())
}

/// Whether the words of a phrase stand side by side in a text, the last of them also in the plural.
fn stands_in(phrase: &str, text: &[String]) -> bool {
    let count = pieces(phrase).count();
    let at = |window: &[String]| {
        pieces(phrase).zip(window).zip(1..).all(|((piece, word), place)| {
            let one = || word.strip_suffix('s').filter(|_| place == count);
            let plural =
                || one().is_some_and(|one| is(piece, one) || one.strip_suffix('e').is_some_and(|o| is(piece, o)));
            is(piece, word) || plural()
        })
    };
    count > 0 && text.windows(count).any(at)
}

/// Blanks a phrase that means another thing than its words: of `lamp oil` no lamp is left.
fn pass_over(phrase: &str, text: &mut [String]) {
    let count = pieces(phrase).count();
    if count == 0 {
        return;
    }
    let stands = |window: &[String]| pieces(phrase).zip(window).all(|(piece, word)| is(piece, word));
    while let Some(at) = text.windows(count).position(stands) {
        text.iter_mut().skip(at).take(count).for_each(String::clear);
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
        let found = |words: &str, text: &str| stands_in(words, &words_of(text));
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
            let mut words = words_of(text);
            pass_over("lamp oil", &mut words);
            words
        };
        let found = |text: &str| stands_in("lamp", &left(text));
        assert!(!found("Funnel for Lamp oil, lamp oil only"));
        assert!(found("Funnel for lamp oil of the lamp"));
        assert!(found("oil lamp"));
    }
}
