//! Colours, places, cautions and the sources behind everything.

use super::decode::record;
use super::value::{Fact, Figure, Located};
use super::words::Opened;
use crate::quantity::{Irradiance, Length, Ratio, Temperature, TemperatureDifference};

record! {
    /// A colour as the sun sees it.
    pub struct Colour("a colour") {
        /// The name used in specs and on spools.
        name: String,
        /// Other names for the same shade.
        aliases: Option<Located<Vec<String>>>,
        /// Share of the sun's radiation taken up.
        absorptance: Figure<Ratio>,
        /// Emittance at room temperature.
        emittance: Figure<Ratio>,
    }
}

record! {
    /// A place a part may serve in.
    pub struct Place("a place") {
        /// The name used in specs.
        name: String,
        /// Another place whose values stand in where this one gives none.
        like: Option<Located<String>>,
        /// The name in full.
        title: Located<String>,
        /// Highest air temperature to expect, where the spec gives none.
        air_peak: Option<Figure<Temperature>>,
        /// Lowest air temperature to expect, where the spec gives none.
        air_low: Option<Figure<Temperature>>,
        /// Temperature to design for, sun included, where it was measured as a whole.
        service_temperature: Option<Figure<Temperature>>,
        /// Rise above the air outside, where it was measured; it counts where it leads to more than `service_temperature`.
        rise_over_outdoors: Option<Figure<TemperatureDifference>>,
        /// Sun on a surface turned to it, as much of it as gets there.
        irradiance: Option<Figure<Irradiance>>,
        /// Whether rain reaches it.
        rain: Fact<bool>,
        /// Whether it sees the open sky and loses heat to it.
        sky: Fact<bool>,
        /// Whether ultraviolet light reaches it (window glass holds back most of the short-wave part).
        ultraviolet: Fact<bool>,
        /// What else one should know.
        remarks: Option<Fact<Vec<String>>>,
    }
}

record! {
    /// How the inside of a part is built: beads that follow its outline, closed layers above and below, infill between.
    pub struct BuildUp("a build-up") {
        /// The name used in specs and recipes.
        name: String,
        /// Thickness of the beads that follow the outline, together.
        walls: Figure<Length>,
        /// Thickness of the closed layers, above and below.
        closed: Figure<Length>,
        /// Share of the inside that is filled.
        infill: Figure<Ratio>,
    }
}

record! {
    /// A published or remembered work that values point to.
    pub struct Citation("a source") {
        /// The key values carry.
        name: String,
        /// The citation in full.
        citation: Located<String>,
        /// seen, abstract or recalled: how far it was opened.
        status: Located<Opened>,
        /// What to beware of.
        note: Option<Located<String>>,
    }
}
