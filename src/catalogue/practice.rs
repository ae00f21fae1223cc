//! What the catalogue says of printed features and their fits, as the fits take it.

use super::figures as f;
use super::value::SourceKind as Kind;
use super::words::Endurance;
use super::{Catalogue, Figure, Material};
use crate::fits::SourceKind;
use crate::fits::living_hinge::Bears;
use crate::fits::practice::{Polymer, Practice, Room};
use crate::quantity::{Length, Quantity, Ratio};

impl Catalogue {
    /// Returns the figures of fits that hang on no polymer.
    pub fn practice(&self) -> Practice {
        let room = |key| room(&self.figure(key));
        let in_place = self.figure(f::CLEARANCE_IN_PLACE);
        let press = self.band(f::PRESS_SHARE);
        Practice {
            lying_spread: self.value(f::LYING_SPREAD),
            usual_bore: self.value(f::USUAL_BORE),
            widest_bore_factor: self.value(f::WIDEST_BORE_FACTOR),
            crown_sag: self.value(f::CROWN_SAG),
            crown_sag_share: self.value(f::CROWN_SAG_SHARE),
            crown_sag_most: self.value(f::CROWN_SAG_MOST),
            first_layer_flare: self.value(f::FIRST_LAYER_FLARE),
            spacing_spread: self.value(f::SPACING_SPREAD),
            shrinkage_doubt: self.value(f::SHRINKAGE_DOUBT),
            annealing_doubt: self.value(f::ANNEALING_DOUBT),
            record_reach: self.value(f::RECORD_REACH),
            record_pieces: self.value(f::RECORD_PIECES),
            record_days: self.value(f::RECORD_AGE).to_days(),
            finest_grade: self.value(f::FINEST_PRINTED_GRADE),
            pinned_grade: self.value(f::PINNED_GRADE),
            drilled_grade: self.value(f::DRILLED_GRADE),
            cad_rounding: room(f::CAD_ROUNDING),
            cutting_stock: self.value(f::CUTTING_STOCK),
            bonding_room: self.value(f::BONDING_ROOM),
            rib_width: self.value(f::CRUSH_RIB_WIDTH),
            capability_least: self.value(f::CAPABILITY_LEAST),
            capability_holds: self.value(f::CAPABILITY_HOLDS),
            drill_grabs: self.value(f::DRILL_GRABS),
            largest_bush: self.value(f::LARGEST_BUSH),
            largest_pin: self.value(f::LARGEST_PIN),
            smallest_hole: self.value(f::SMALLEST_HOLE),
            sliding: room(f::SLIDING_PLAY),
            press_share: (press.low, press.high),
            press_least: room(f::PRESS_LEAST),
            grip_stretch: self.three(f::GRIP_STRETCH),
            grip_kind: kind(self.figure(f::GRIP_STRETCH).kind),
            corner_relief: self.value(f::CORNER_RELIEF),
            ring_squeeze: self.three(f::RING_SQUEEZE),
            ring_squeeze_face: self.three(f::RING_SQUEEZE_FACE),
            ring_fill: self.three(f::RING_FILL),
            ring_stretch: self.value(f::RING_STRETCH),
            ring_kind: kind(self.figure(f::RING_SQUEEZE).kind),
            printed_thread: self.value(f::PRINTED_THREAD),
            printed_thread_bores: self.value(f::PRINTED_THREAD_BORES),
            printed_thread_play: room(f::PRINTED_THREAD_PLAY),
            lid: room(f::LID_PLAY),
            insert_hole: room(f::INSERT_HOLE_PLAY),
            hinge: room(f::HINGE_PLAY),
            // A gap all round is two on the diameter.
            hinge_in_place: Room {
                least: twice(in_place.low()),
                most: twice(in_place.high()),
                kind: kind(in_place.kind),
            },
            snap_window: room(f::SNAP_WINDOW),
            snap_arm: self.value(f::SNAP_ARM),
            pocket: room(f::POCKET_PLAY),
            head: room(f::HEAD_PLAY),
            in_place: Room { least: in_place.low(), most: in_place.typ, kind: kind(in_place.kind) },
            in_place_upward: self.value(f::CLEARANCE_IN_PLACE_VERTICAL),
            gap_record_margin: self.value(f::GAP_RECORD_MARGIN),
            fine_tolerance: self.value(f::FINE_TOLERANCE),
            gauge_pin_hole: self.value(f::GAUGE_PIN_HOLE),
            sample_every: self.value(f::SAMPLE_EVERY),
            hinge_strip: room(f::HINGE_STRIP),
            hinge_layers: self.value(f::HINGE_LAYERS),
            hinge_thick: self.value(f::HINGE_THICK),
            offset_doubt: self.value(f::OFFSET_DOUBT),
            scrap_chance: self.value(f::SCRAP_CHANCE),
        }
    }

    /// Returns the usual value of a share, its least and its most.
    fn three(&self, key: f::Key<f64>) -> [f64; 3] {
        let figure = self.figure(key);
        [figure.typ, figure.low(), figure.high()]
    }

    /// Returns what printing in a polymer does to a feature: its own values, else the general ones.
    pub fn printed(&self, polymer: &str) -> Polymer {
        let material = self.material(polymer);
        let length = |own: fn(&Material) -> &Option<Figure<Length>>, general| {
            material.and_then(|m| own(m).as_ref()).map_or_else(|| self.value(general), |figure| figure.typ)
        };
        let share = |own: fn(&Material) -> Option<&Figure<Ratio>>| {
            material.and_then(own).map(|figure| Quantity::from(figure.typ).si)
        };
        Polymer {
            name: polymer.to_owned(),
            known: material.is_some(),
            hole_undersize: length(|m| &m.hole_undersize, f::HOLE_UNDERSIZE),
            boss_oversize: length(|m| &m.boss_oversize, f::BOSS_OVERSIZE),
            spread: length(|m| &m.size_spread, f::SIZE_SPREAD),
            shrinkage: share(|m| Some(&m.shrinkage)).unwrap_or_else(|| self.value(f::SHRINKAGE_ASSUMED)),
            moisture: share(|m| m.moisture_growth.as_ref()).unwrap_or(0.0),
            annealing: share(|m| m.anneal_contraction.as_ref()).unwrap_or_else(|| self.value(f::ANNEAL_CONTRACTION)),
        }
    }
}

impl Catalogue {
    /// Returns what a material bears as a living hinge; few bends where nothing is known.
    pub fn bears(&self, material: &str) -> Bears {
        match self.material(material).and_then(|m| m.hinge.as_ref()).map(|fact| fact.value) {
            Some(Endurance::Many) => Bears::Many,
            Some(Endurance::Some) => Bears::Some,
            Some(Endurance::Few) | None => Bears::Few,
        }
    }

    /// Returns the polymers that bear many bends as a living hinge, by family, each once.
    pub fn for_hinges(&self) -> Vec<&str> {
        let many = self.materials.values().filter(|m| self.bears(&m.name) == Bears::Many);
        let mut families: Vec<&str> = many.map(|m| m.family.value.as_str()).collect();
        families.sort_unstable();
        families.dedup();
        families
    }
}

fn room(figure: &Figure<Length>) -> Room {
    Room { least: figure.low(), most: figure.high(), kind: kind(figure.kind) }
}

fn twice(length: Length) -> Length {
    Length::um(2.0 * length.to_um())
}

fn kind(kind: Kind) -> SourceKind {
    match kind {
        Kind::Standard => SourceKind::Standard,
        Kind::Handbook => SourceKind::Handbook,
        Kind::Paper => SourceKind::Paper,
        Kind::Library => SourceKind::Library,
        Kind::CommonPractice => SourceKind::CommonPractice,
        Kind::Computed => SourceKind::Computed,
        Kind::FromMemory => SourceKind::FromMemory,
    }
}

/// What the built-in catalogue knows, for the unit tests of the fits, which know no catalogue.
#[cfg(test)]
mod usual {
    use super::super::known;
    use super::{Bears, Polymer, Practice};
    use crate::fits::feature::{FeatureAxis, FeatureContext, FeatureKind};

    impl Polymer {
        pub(crate) fn usual(name: &str) -> Self {
            known().printed(name)
        }
    }

    impl Practice {
        pub(crate) fn usual() -> Self {
            known().practice()
        }
    }

    impl Bears {
        pub(crate) fn usual(material: &str) -> Self {
            known().bears(material)
        }
    }

    impl FeatureContext {
        pub(crate) fn usual(kind: FeatureKind, axis: FeatureAxis, polymer: &str) -> Self {
            Self::new(kind, axis, Polymer::usual(polymer), Practice::usual())
        }
    }
}
