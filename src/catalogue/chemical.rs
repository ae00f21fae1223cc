//! Chemicals by name, the classes they belong to, and how materials stand those classes.
//!
//! Ratings are of unstressed polymer at room temperature, and hot where the source says so. A print is porous and
//! full of notches, so a rating is a reason to refuse, or a reason to test; never a promise.

use super::decode::{Backing, Decode, Reading, record, unknown};
use super::node::{Content, Node};
use super::value::{Fact, Located, Provenance, Shape};
use super::words::Stands;
use crate::diag::{Diagnostic, Span};
use crate::quantity::Temperature;

record! {
    /// A class of chemicals that act alike on polymers.
    pub struct ChemicalClass("a class of chemicals") {
        /// The name used in the tables.
        name: String,
        /// The name in full.
        title: Located<String>,
    }
}

record! {
    /// A liquid or agent people name in a spec.
    pub struct Chemical("a chemical") {
        /// The name in the trade.
        name: String,
        /// Other names for the same thing.
        aliases: Option<Located<Vec<String>>>,
        /// The classes it acts as; the worst rating among them counts.
        classes: Fact<Vec<String>>,
        /// How strong the liquid is that its classes are of, where its name alone does not say.
        strength: Option<Fact<String>>,
        /// Words people write for it that are not its name: of everyday speech, of another language.
        meant_by: Option<Located<Vec<String>>>,
        /// Words for what is something else, but for which nothing nearer is rated.
        nearest_to: Option<Located<Vec<String>>>,
        /// Those of its names under which it is eaten or drunk.
        eaten: Option<Located<Vec<String>>>,
        /// Whether it or its vapour burns.
        flammable: Option<Fact<bool>>,
        /// What to know about it.
        note: Option<Located<String>>,
    }
}

/// How one material stands one class of chemicals.
#[derive(Debug, Clone, PartialEq)]
pub struct Resistance {
    /// Name in [`super::Catalogue::materials`].
    pub material: String,
    /// Name in [`super::Catalogue::chemical_classes`].
    pub class: String,
    /// At room temperature.
    pub cold: Stands,
    /// In hot contact, up to `hot_at`.
    pub hot: Option<Stands>,
    /// The temperature the hot rating was given at.
    pub hot_at: Option<Temperature>,
    /// The source of the rating.
    pub from: Provenance,
}

/// One block of `chemicals.yaml`: the ratings several materials share.
#[derive(Debug, Clone)]
pub(crate) struct ResistanceRow {
    pub materials: Located<Vec<String>>,
    hot_at: Option<Located<Temperature>>,
    pub ratings: Vec<(String, Span, Stands, Option<Stands>)>,
    from: Provenance,
}

impl ResistanceRow {
    /// Returns one entry for each material and class of the block.
    pub fn expand(&self) -> impl Iterator<Item = Resistance> + '_ {
        self.materials.value.iter().flat_map(move |material| {
            self.ratings.iter().map(move |(class, at, cold, hot)| Resistance {
                material: material.clone(),
                class: class.clone(),
                cold: *cold,
                hot: *hot,
                hot_at: self.hot_at.as_ref().map(|t| t.value),
                from: Provenance { at: *at, ..self.from.clone() },
            })
        })
    }
}

impl Decode for ResistanceRow {
    const SHAPE: Shape = Shape::Block;
    fn decode(node: &Node, out: &mut Vec<Diagnostic>) -> Option<Self> {
        let mut map = Reading::of(node, "a block of ratings", out)?;
        let materials = map.take("materials", out);
        let hot_at = map.take::<Option<Located<Temperature>>>("hot_at", out);
        let ratings = map.take::<Ratings>("ratings", out);
        let backing = Backing::take(&mut map, out);
        map.finish(out);
        let (materials, hot_at, ratings): (Located<Vec<String>>, _, _) = (materials?, hot_at?, ratings?.0);
        if let Some((class, at, ..)) = ratings.iter().find(|r| r.3.is_some())
            && hot_at.is_none()
        {
            let message = format!("the hot rating for `{class}` has no temperature");
            out.push(Diagnostic::error("catalogue/missing-key", *at, message).hint("add `hot_at: 93 °C` to the block"));
            return None;
        }
        let from = backing?.provenance(materials.at);
        Some(Self { materials, hot_at, ratings, from })
    }
}

/// `{ aliphatic: good / limited, alcohols: good }`: cold, then hot where known.
struct Ratings(Vec<(String, Span, Stands, Option<Stands>)>);

impl Decode for Ratings {
    const SHAPE: Shape = Shape::Block;
    fn decode(node: &Node, out: &mut Vec<Diagnostic>) -> Option<Self> {
        let Content::Map(entries) = &node.content else {
            let message = format!("expected ratings as a map, found {}", node.describe());
            out.push(
                Diagnostic::error("catalogue/wrong-form", node.at, message).hint("write `{ water: good / limited }`"),
            );
            return None;
        };
        Reading::of(node, "ratings", out)?;
        Some(Self(entries.iter().filter_map(|(k, v)| rating(&k.text, v, out)).collect()))
    }
}

fn rating(class: &str, node: &Node, out: &mut Vec<Diagnostic>) -> Option<(String, Span, Stands, Option<Stands>)> {
    let text = super::decode::text_of(node, "a rating", out)?;
    let mut read = |word: &str| {
        let found = Stands::parse(word.trim());
        if found.is_none() {
            out.push(unknown(node.at, "rating", word.trim(), Stands::WORDS.iter().copied()));
        }
        found
    };
    match text.split_once('/') {
        None => Some((class.to_owned(), node.at, read(text)?, None)),
        Some((cold, hot)) => Some((class.to_owned(), node.at, read(cold)?, Some(read(hot)?))),
    }
}

record! {
    /// Materials that crack under load in a class of chemicals although they stand it unstressed.
    pub struct StressCracking("a stress-cracking row") {
        /// The materials.
        materials: Located<Vec<String>>,
        /// The classes of chemicals, with kind and source.
        classes: Fact<Vec<String>>,
    }
}

/// The answer to "does this material stand that chemical at this temperature".
#[derive(Debug, Clone, PartialEq)]
pub struct Rating {
    /// The worst over the chemical's classes; `Unknown` is to be treated as not shown.
    pub stands: Stands,
    /// The class that decided.
    pub class: String,
    /// Whether the hot column was used.
    pub hot: bool,
    /// The temperature up to which this answer holds.
    pub up_to: Option<Temperature>,
    /// Set where the material cracks in this chemical when it carries load.
    pub cracks_under_load: Option<Provenance>,
    /// Absent where nothing is known.
    pub from: Option<Provenance>,
}
