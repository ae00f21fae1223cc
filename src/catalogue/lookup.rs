//! The questions one asks a catalogue.

use super::chemical::{Rating, Resistance};
use super::figures;
use super::words::Stands;
use super::{Bond, Catalogue, Chemical, Colour, Material, Nozzle, Place, Provenance};
use crate::diag::{Span, nearest};
use crate::quantity::{Length, Ratio, Temperature};
use std::collections::BTreeMap;

/// Warmest contact for which a room-temperature rating is taken to hold (from memory: the tables were made at 20 to
/// 25 °C, and a hot summer day must not turn every rating into an unknown).
pub const COLD_CONTACT: Temperature = Temperature::celsius(40.0);

/// Longest chain of `like` followed.
const MAX_LIKE: usize = 8;

impl Catalogue {
    /// Returns the material of that name, upper or lower case.
    pub fn material(&self, name: &str) -> Option<&Material> {
        by_name(&self.materials, name)
    }

    /// Returns the known material name nearest to a misspelt one.
    pub fn nearest_material(&self, name: &str) -> Option<&str> {
        nearest(name, self.materials.keys().map(String::as_str))
    }

    /// Returns the chemical of that name or alias.
    pub fn chemical(&self, name: &str) -> Option<&Chemical> {
        by_name(&self.chemicals, name)
            .or_else(|| self.chemicals.values().find(|c| c.aliases.as_ref().is_some_and(|a| has_name(&a.value, name))))
    }

    /// Returns whether a chemical is eaten or drunk under that name: olive oil is, engine oil and mineral spirits are not.
    pub fn is_food(&self, name: &str) -> bool {
        self.chemical(name).and_then(|c| c.eaten.as_ref()).is_some_and(|names| has_name(&names.value, name))
    }

    /// Returns whether a medium is a gas, by the word for one at its end: `compressed air` is, `gas oil` is not.
    pub fn is_gas(&self, medium: &str) -> bool {
        let plain = format!(" {}", medium.trim().to_lowercase().replace(['-', '_'], " "));
        let gases = self.words.get("gases").into_iter().flat_map(|fact| &fact.value);
        gases.into_iter().any(|gas| plain.ends_with(&format!(" {gas}")))
    }

    /// Returns whether a liquid is mostly water, by the classes it is of: it is gone before a part in the sun grows hotter than the air.
    pub fn is_watery(&self, name: &str) -> bool {
        let watery = self.words.get("watery").map_or(&[][..], |fact| fact.value.as_slice());
        let classes = self.chemical(name).map_or(&[][..], |c| c.classes.value.as_slice());
        !classes.is_empty() && classes.iter().all(|class| watery.contains(class))
    }

    /// Returns the words that point to a use, by the word rules have for it: `people-beneath` reads `toward_people_beneath`.
    pub fn words_toward(&self, aim: &str) -> &[String] {
        let key = format!("toward_{}", aim.replace('-', "_"));
        self.words.get(&key).map_or(&[], |fact| fact.value.as_slice())
    }

    /// Returns phrases that hold a word that points to a use, and mean another thing: names of chemicals of more than one word,
    /// and what the list `in_passing` has.
    pub fn words_in_passing(&self) -> impl Iterator<Item = &str> {
        let listed = self.words.get("in_passing").into_iter().flat_map(|fact| &fact.value);
        let aliases = self.chemicals.values().filter_map(|c| c.aliases.as_ref()).flat_map(|a| &a.value);
        let chemicals = self.chemicals.keys().chain(aliases).filter(|name| name.contains(' '));
        listed.chain(chemicals).map(String::as_str)
    }

    /// Returns the words that leave open whether they point to a use: `people-beneath` reads `perhaps_people_beneath`.
    pub fn words_perhaps_toward(&self, aim: &str) -> &[String] {
        let key = format!("perhaps_{}", aim.replace('-', "_"));
        self.words.get(&key).map_or(&[], |fact| fact.value.as_slice())
    }

    /// Returns whether a word says how warm something is.
    pub fn is_warmth(&self, word: &str) -> bool {
        self.words.get("warmth").is_some_and(|fact| has_name(&fact.value, word))
    }

    /// Returns the chemical usually meant by a word that is none of its names, and whether that word is for something else for which
    /// nothing nearer is rated.
    pub fn chemical_meant(&self, word: &str) -> Option<(&Chemical, bool)> {
        let has =
            |names: &Option<super::Located<Vec<String>>>| names.as_ref().is_some_and(|n| has_name(&n.value, word));
        let found =
            |of: fn(&Chemical) -> &Option<super::Located<Vec<String>>>| self.chemicals.values().find(|c| has(of(c)));
        let meant = found(|c| &c.meant_by).map(|c| (c, false));
        meant.or_else(|| found(|c| &c.nearest_to).map(|c| (c, true)))
    }

    /// Returns the materials of a polymer that is called by an everyday or a full name.
    pub fn materials_called(&self, name: &str) -> impl Iterator<Item = &Material> {
        let called = move |m: &&Material| m.called.as_ref().is_some_and(|names| has_name(&names.value, name));
        self.materials.values().filter(called)
    }

    /// Returns the known chemical name or alias nearest to a misspelt one.
    pub fn nearest_chemical(&self, name: &str) -> Option<&str> {
        let aliases = self.chemicals.values().filter_map(|c| c.aliases.as_ref()).flat_map(|a| &a.value);
        nearest(name, self.chemicals.keys().chain(aliases).map(String::as_str))
    }

    /// Returns the colour of that name or alias.
    pub fn colour(&self, name: &str) -> Option<&Colour> {
        by_name(&self.colours, name)
            .or_else(|| self.colours.values().find(|c| c.aliases.as_ref().is_some_and(|a| has_name(&a.value, name))))
    }

    /// Returns whether two names mean one colour: by the catalogue's names and aliases, else as written.
    pub fn same_colour(&self, a: &str, b: &str) -> bool {
        match (self.colour(a), self.colour(b)) {
            (Some(a), Some(b)) => a.name == b.name,
            _ => same_name(a, b),
        }
    }

    /// Returns the place of that name (`behind glass` and `behind-glass` alike).
    pub fn place(&self, name: &str) -> Option<&Place> {
        by_name(&self.places, name)
    }

    /// Returns a nozzle of that metal and bore; a bore that is not in the table gets its flow by area.
    pub fn nozzle(&self, name: &str, metal: &str, bore: Length, at: Span) -> Option<Nozzle> {
        let metal = by_name(&self.metals, metal)?.clone();
        let known = self.bores.values().find(|b| (b.bore.value.to_mm() - bore.to_mm()).abs() < 1e-6);
        let by_area = || Ratio::of((bore.to_mm() / self.value(figures::USUAL_BORE).to_mm()).powi(2));
        Some(Nozzle {
            name: name.to_owned(),
            bore,
            metal,
            bore_flow: known.map_or_else(by_area, |b| b.flow_factor.typ),
            worn: None,
            count: 1,
            at,
        })
    }

    /// Returns a nozzle named by metal and bore: `brass 0.4`, `hardened steel 0.6 mm`.
    pub fn nozzle_named(&self, name: &str, at: Span) -> Option<Nozzle> {
        let trimmed = name.trim().trim_end_matches("mm").trim_end();
        let (metal, bore) = trimmed.rsplit_once([' ', '-'])?;
        let bore: f64 = bore.replace(',', ".").parse().ok()?;
        self.nozzle(name, metal, Length::mm(bore), at)
    }

    /// Returns the bond of a material on a surface with an agent (`none` for bare); a material that is `like` another
    /// has that one's bond where it has none of its own.
    pub fn bond(&self, material: &str, surface: &str, agent: &str) -> Option<&Bond> {
        self.along_like(material, |name| {
            let key = (name, surface, agent);
            self.bonds.binary_search_by(|b| b.key().cmp(&key)).ok().and_then(|i| self.bonds.get(i))
        })
    }

    /// Returns how a material stands a chemical at the temperature of contact.
    ///
    /// The worst over the chemical's classes counts. Hot contact uses the hot column; above the temperature that
    /// column was made at, and where nothing is known, the answer is `Unknown`: to be treated as not shown. Nothing
    /// is returned for a chemical or material that is not in the catalogue.
    pub fn chemical_rating(&self, material: &str, chemical: &str, contact: Temperature) -> Option<Rating> {
        let chemical = self.chemical(chemical)?;
        self.material(material)?;
        let ratings = chemical.classes.value.iter().map(|class| self.class_rating(material, class, contact));
        let ratings: Vec<Rating> = ratings.collect();
        // Cracking in any one of the classes is cracking.
        let cracks = ratings.iter().find_map(|r| r.cracks_under_load.clone());
        let worst = ratings.into_iter().min_by_key(|r| severity(r.stands))?;
        Some(Rating { cracks_under_load: cracks, ..worst })
    }

    /// Returns how a material stands a class of chemicals at the temperature of contact.
    pub fn class_rating(&self, material: &str, class: &str, contact: Temperature) -> Rating {
        let cracks = self.cracks(material, class);
        let Some(entry) = self.along_like(material, |name| self.resistance_of(name, class)) else {
            let class = class.to_owned();
            return Rating {
                stands: Stands::Unknown,
                class,
                hot: false,
                up_to: None,
                cracks_under_load: cracks,
                from: None,
            };
        };
        let hot = contact > COLD_CONTACT;
        let (stands, up_to) = if !hot {
            (entry.cold, Some(COLD_CONTACT))
        } else if entry.cold == Stands::Poor {
            (Stands::Poor, None)
        } else {
            match (entry.hot, entry.hot_at) {
                // A hot "poor" is not cured by more heat.
                (Some(Stands::Poor), _) => (Stands::Poor, None),
                (Some(stands), Some(limit)) if contact <= limit => (stands, Some(limit)),
                _ => (Stands::Unknown, entry.hot_at.or(Some(COLD_CONTACT))),
            }
        };
        let from = Some(entry.from.clone());
        Rating { stands, class: class.to_owned(), hot, up_to, cracks_under_load: cracks, from }
    }

    fn resistance_of(&self, material: &str, class: &str) -> Option<&Resistance> {
        let key = (material, class);
        let found = self.resistance.binary_search_by(|r| (r.material.as_str(), r.class.as_str()).cmp(&key));
        found.ok().and_then(|i| self.resistance.get(i))
    }

    fn cracks(&self, material: &str, class: &str) -> Option<Provenance> {
        self.along_like(material, |name| {
            let row = self
                .stress_cracking
                .iter()
                .find(|row| has_name(&row.materials.value, name) && has_name(&row.classes.value, class));
            row.map(|row| row.classes.provenance())
        })
    }

    /// Asks for a material, then for the one it is like, and so on.
    fn along_like<'a, T>(&'a self, material: &str, ask: impl Fn(&str) -> Option<T> + 'a) -> Option<T> {
        let mut current = self.material(material);
        for _ in 0..MAX_LIKE {
            let material = current?;
            if let Some(found) = ask(&material.name) {
                return Some(found);
            }
            current = material.like.as_ref().and_then(|like| self.materials.get(&like.value));
        }
        None
    }
}

/// Orders ratings from the worst; a stated "poor" outweighs an "unknown": it is a reason, not a gap.
fn severity(stands: Stands) -> u8 {
    match stands {
        Stands::Poor => 0,
        Stands::Unknown => 1,
        Stands::Limited => 2,
        Stands::Good => 3,
        Stands::Excellent => 4,
    }
}

/// Compares names as people write them: case, blanks and hyphens do not matter.
fn same_name(a: &str, b: &str) -> bool {
    let plain = |t: &str| t.trim().replace([' ', '_'], "-").to_lowercase();
    plain(a) == plain(b)
}

fn has_name(names: &[String], name: &str) -> bool {
    names.iter().any(|n| same_name(n, name))
}

fn by_name<'a, T>(map: &'a BTreeMap<String, T>, name: &str) -> Option<&'a T> {
    map.get(name).or_else(|| map.iter().find(|(known, _)| same_name(known, name)).map(|(_, v)| v))
}
