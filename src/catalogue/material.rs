//! What is known about a printing material.

use super::decode::record;
use super::value::{Fact, Figure, Located};
use super::words::{Endurance, Fumes, Level, Morphology, Need, Warp, Weathering};
use crate::quantity::{Angle, Density, Duration, Expansion, Impact, Length, MassPrice, Ratio, Stress, Temperature};

record! {
    /// A generic material as filament and as printed part.
    pub struct Material("a material") {
        /// The name it is called by in specs and shops.
        name: String,
        /// Another material whose values stand in where this one gives none.
        like: Option<Located<String>>,
        /// The name in full.
        title: Located<String>,
        /// The base polymer, which says which default for size errors and chemicals applies.
        family: Located<String>,
        /// amorphous, semi-crystalline or elastomer: what limits it in heat.
        morphology: Fact<Morphology>,
        /// The material whose spool is printed to get this one after a treatment (annealed PLA is printed from PLA).
        spool_of: Option<Located<String>>,
        /// Density of the solid filament.
        density: Figure<Density>,
        /// Glass transition: where an amorphous polymer loses its stiffness.
        glass_transition: Option<Figure<Temperature>>,
        /// Melting range of the crystals, where there are crystals.
        melting: Option<Figure<Temperature>>,
        /// Highest service temperature of a printed part under light load: for an amorphous polymer 10 to 20 K below the glass transition, for a semi-crystalline one where creep and oxidation begin to tell, never its melting point. Low end: the part carries load; high end: it carries only itself.
        heat_limit: Figure<Temperature>,
        /// Highest operating temperature a handbook gives for unloaded mouldings: `heat_limit` never stands above it.
        moulded_limit: Option<Figure<Temperature>>,
        /// Temperature down to which it still takes knocks.
        cold_limit: Option<Figure<Temperature>>,
        /// Nozzle temperature; typ is where to begin.
        print_temperature: Figure<Temperature>,
        /// Bed temperature; typ is where to begin.
        bed_temperature: Figure<Temperature>,
        /// Whether a warm chamber is needed: none, helpful or required.
        chamber_need: Fact<Need>,
        /// Temperature of the air round the part that keeps it from lifting; absent where an open machine will do.
        chamber_temperature: Option<Figure<Temperature>>,
        /// Warmest surrounding air in which the filament still feeds without softening before the hot end.
        chamber_limit: Option<Figure<Temperature>>,
        /// Share of the full part-cooling air.
        fan: Figure<Ratio>,
        /// Temperature for drying the filament; the spool itself may stand less.
        drying_temperature: Option<Figure<Temperature>>,
        /// Time for drying the filament at that temperature.
        drying_time: Option<Figure<Duration>>,
        /// How much the filament suffers from the air's moisture: low, medium or high.
        moisture: Fact<Level>,
        /// Tensile strength along the beads, printed solid and dry, at 23 °C.
        strength_along: Figure<Stress>,
        /// Tensile strength across the layers, printed solid and dry, at 23 °C.
        strength_across: Figure<Stress>,
        /// Strength across the layers over strength along the beads.
        z_ratio: Figure<Ratio>,
        /// Tensile strength of moulded bars: the ceiling for a print.
        moulded_strength: Option<Figure<Stress>>,
        /// Young's modulus of a solid print along its beads, where the note says that prints were measured; of moulded bars else,
        /// of which a print reaches two thirds and more.
        modulus: Option<Figure<Stress>>,
        /// Strain at break of moulded bars; a print breaks earlier, and much earlier across its layers.
        elongation: Option<Figure<Ratio>>,
        /// Strain at break of a print in the layer plane, where it breaks much earlier than a moulded bar.
        printed_elongation: Option<Figure<Ratio>>,
        /// How far it goes on giving way under a steady load at room temperature, against other polymers: it ranks, no more.
        creep: Option<Fact<Level>>,
        /// Share of the dry strength that is left once the part has taken up its moisture from the air (ISO 1110 conditions
        /// test bars so).
        conditioned_strength: Option<Figure<Ratio>>,
        /// Share of the dry modulus that is left then.
        conditioned_modulus: Option<Figure<Ratio>>,
        /// Charpy impact strength, notched, 23 °C, ISO 179-1/1eA, moulded and dry.
        impact: Option<Figure<Impact>>,
        /// Stress that may stand for hours to days over short-term strength, at 23 °C, where it differs from the usual.
        sustained_days: Option<Figure<Ratio>>,
        /// Stress that may stand for years over short-term strength, at 23 °C.
        sustained: Option<Figure<Ratio>>,
        /// Greatest stress that may come and go a million times over short-term strength, along the beads.
        fatigue: Option<Figure<Ratio>>,
        /// Free shrinkage of a print in the layer plane.
        shrinkage: Figure<Ratio>,
        /// Coefficient of linear thermal expansion.
        expansion: Option<Figure<Expansion>>,
        /// Whether its filler wears a soft nozzle out of size.
        abrasive: Fact<bool>,
        /// Smallest bore that does not clog.
        smallest_bore: Option<Figure<Length>>,
        /// Melting rate against PLA through the same hot end.
        flow_factor: Figure<Ratio>,
        /// Shortest time for a layer, so that it is stiff before the next one.
        layer_time: Figure<Duration>,
        /// Overhang from vertical that prints without support.
        overhang_limit: Figure<Angle>,
        /// Bridge with a good underside.
        bridge_span: Figure<Length>,
        /// How an unprotected part stands sun and weather: poor, fair or good.
        uv: Fact<Weathering>,
        /// Years in full sun, unprotected, before strength or looks have plainly gone.
        uv_years: Option<Figure<Duration>>,
        /// How strongly it lifts at the corners.
        warp: Fact<Warp>,
        /// What it gives off when printed, beyond fine particles.
        fumes: Fact<Fumes>,
        /// Whether it chars, or gives off what hurts, not far above its printing range, so that not even rests of it may be
        /// taken there.
        heat_sensitive: Option<Fact<bool>>,
        /// How it usually burns; a property of the very compound, never to be relied on from here.
        burning: Fact<String>,
        /// What is to be said when food is near; never a permission.
        food: Fact<String>,
        /// Price of a kilogram of filament.
        price: Figure<MassPrice>,
        /// Whether the filament and the part are rubbery.
        flexible: Fact<bool>,
        /// Whether water dissolves it.
        water_soluble: Fact<bool>,
        /// Whether it only serves as support for another material.
        support_only: Fact<bool>,
        /// Materials that it supports and lets go of.
        supports: Option<Fact<Vec<String>>>,
        /// Whether the compound is made to bleed off static charge.
        static_control: Fact<bool>,
        /// Colours commonly sold.
        colours: Option<Fact<Vec<String>>>,
        /// Treatments that do something useful: anneal, condition, paint, seal, smooth.
        treatments: Option<Fact<Vec<String>>>,
        /// Oven temperature for annealing a print.
        anneal_temperature: Option<Figure<Temperature>>,
        /// Time in the oven at the annealing temperature.
        anneal_time: Option<Figure<Duration>>,
        /// Length change in the layer plane on annealing (negative: shorter).
        anneal_strain_along: Option<Figure<Ratio>>,
        /// Whether the entry describes parts annealed after printing.
        annealed: Fact<bool>,
        /// Whether it carries fibre, metal, mineral or wood filler.
        filled: Fact<bool>,
        /// Whether the filler is fibre.
        fibre: Fact<bool>,
        /// Everyday and full names of the polymer, which a spec must not use: it may be one of several materials.
        called: Option<Located<Vec<String>>>,
        /// By how much a hole comes out smaller on its diameter, through a 0.4 mm bore.
        hole_undersize: Option<Figure<Length>>,
        /// By how much an outside feature comes out larger on its diameter, through a 0.4 mm bore.
        boss_oversize: Option<Figure<Length>>,
        /// How far one piece's size is from the mean of many, two-sided 95 %.
        size_spread: Option<Figure<Length>>,
        /// Growth from dry to about 50 % relative humidity.
        moisture_growth: Option<Figure<Ratio>>,
        /// Shrinkage in the plane when a print of it is annealed.
        anneal_contraction: Option<Figure<Ratio>>,
        /// How many bends a strip of it bears as a living hinge.
        hinge: Option<Fact<Endurance>>,
        /// What else one should know.
        remarks: Option<Fact<Vec<String>>>,
    }
}
