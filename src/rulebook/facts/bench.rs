//! Facts of what the workshop and the catalogue have: printers, materials, spools, nozzles, surfaces, agents, bonds.

use super::{AGENT, MATERIAL, NOZZLE, Nested, POSE, PRINTER, SPOOL, SURFACE, facts};
use crate::catalogue::words::{Drive, Fumes, Hardness, Hold, Level, Morphology, Need, Role, Stored, Warp, Weathering};
use crate::quantity::{
    Angle, Density, Duration, Expansion, Flow, Impact, Length, Mass, MassPrice, Money, Ratio, Speed, Stress,
    Temperature, TemperatureDifference, TimePrice, Torque,
};
use crate::rulebook::names::Touches;
use crate::rulebook::value::Text;

facts! {
    /// A printer, and what is in it.
    Printer "printer" [PRINTER] {
        /// its name
        name: Text,
        /// build volume, x
        build_x: Length,
        /// build volume, y
        build_y: Length,
        /// build volume, z
        build_z: Length,
        /// hottest nozzle it reaches
        nozzle_limit: Temperature,
        /// hottest bed it reaches
        bed_limit: Temperature,
        /// temperature the air round the part reaches
        chamber: Temperature,
        /// whether it is enclosed
        enclosed: bool,
        /// how filament is driven
        drive: Drive,
        /// melting rate of its hot end with PLA through 0.4 mm brass
        flow: Flow,
        /// the material in it now
        loaded: Nested<Material>,
        /// the spool on it now
        loaded_spool: Text,
        /// the nozzle in it now
        fitted: Nested<Nozzle>,
        /// the surface on it now
        mounted: Nested<Surface>,
        /// whether levelling is due for a reason of its own
        level_due: bool,
        /// day from which it is free for new work, where it is not free now
        free_from: Text,
        /// cost of an hour on it
        hour_rate: TimePrice,
        /// fastest travel at which it still prints well
        speed: Speed,
        /// the agent that lies on its surface now
        coated: Text,
        /// flow at which the line still came out full with this nozzle and material, by the shop's own record
        flow_recorded: Flow [NOZZLE, MATERIAL],
    }
}

facts! {
    /// A material, as the catalogue has it.
    Material "material" [MATERIAL] {
        /// its short name
        name: Text,
        /// base polymer
        family: Text,
        /// how the polymer is built, which says what limits it in heat
        morphology: Morphology,
        /// density of the solid filament
        density: Density,
        /// where an amorphous polymer loses its stiffness
        glass_transition: Temperature,
        /// where its crystals melt
        melting: Temperature,
        /// highest service temperature of a printed part under light load
        heat_limit: Temperature,
        /// the low end of that limit
        heat_limit_low: Temperature,
        /// the high end of that limit: there it gives way by itself
        heat_limit_high: Temperature,
        /// highest continuous service temperature published for mouldings
        service_limit: Temperature,
        /// temperature down to which it still takes knocks
        cold_limit: Temperature,
        /// nozzle temperature to begin with
        print_temperature: Temperature,
        /// lowest nozzle temperature
        print_temperature_low: Temperature,
        /// highest nozzle temperature: above it the polymer breaks down
        print_temperature_high: Temperature,
        /// bed temperature to begin with
        bed_temperature: Temperature,
        /// lowest bed temperature
        bed_temperature_low: Temperature,
        /// highest bed temperature
        bed_temperature_high: Temperature,
        /// whether it needs a warm chamber
        chamber_need: Need,
        /// chamber temperature that keeps it from lifting
        chamber_temperature: Temperature,
        /// warmest air in which the filament still feeds
        chamber_limit: Temperature,
        /// share of full part cooling
        fan: Ratio,
        /// drying temperature of the filament
        drying_temperature: Temperature,
        /// drying time of the filament
        drying_time: Duration,
        /// how much the filament suffers from moisture
        moisture: Level,
        /// how far it goes on giving way under a steady load, against other polymers
        creep: Level,
        /// notched impact strength of moulded bars
        impact: Impact,
        /// printed strength along the beads
        strength_along: Stress,
        /// printed strength across the layers
        strength_across: Stress,
        /// stiffness
        modulus: Stress,
        /// strain at which a print breaks in the layer plane, where that is known, else a moulded bar
        elongation: Ratio,
        /// shrinkage of a print in the layer plane
        shrinkage: Ratio,
        /// thermal expansion
        expansion: Expansion,
        /// whether its filler wears a soft nozzle
        abrasive: bool,
        /// smallest bore its filler does not clog
        smallest_bore: Length,
        /// how an unprotected surface stands sun and weather
        uv: Weathering,
        /// time in full sun before strength or looks have plainly gone
        uv_life: Duration,
        /// low end of that time
        uv_life_low: Duration,
        /// high end of that time
        uv_life_high: Duration,
        /// how strongly it lifts at the corners
        warp: Warp,
        /// what it gives off when printed
        fumes: Fumes,
        /// whether it chars or gives off what hurts not far above its printing range
        heat_sensitive: bool,
        /// hottest that rests of it may get in a nozzle while another material takes them out
        residue_limit: Temperature,
        /// whether filament and part are rubbery
        flexible: bool,
        /// whether water dissolves it
        water_soluble: bool,
        /// whether the entry describes parts annealed after printing
        annealed: bool,
        /// oven temperature for annealing
        anneal_temperature: Temperature,
        /// time in the oven at that temperature
        anneal_time: Duration,
        /// share by which it shortens in the layer plane on annealing
        anneal_shrinkage: Ratio,
        /// whether it carries fibre, metal, mineral or wood filler
        filled: bool,
        /// whether the filler is fibre
        fibre: bool,
        /// whether it only serves as support for another material
        support_only: bool,
        /// whether it bleeds off static charge
        static_control: bool,
        /// price of filament
        price: MassPrice,
        /// shortest time for a layer
        layer_dwell: Duration,
        /// overhang from vertical it prints unsupported
        overhang_limit: Angle,
        /// bridge with a good underside
        bridge_limit: Length,
        /// melting rate against PLA
        flow_factor: Ratio,
        /// what is to be said when food is near
        food_note: Text,
        /// how it usually burns
        burning_note: Text,
    }
}

/// Which spool of a material is taken hangs on the printer: what it takes, and what is on it already.
const OF_THE_SPOOL: Touches = PRINTER;

facts! {
    /// The spool taken for a material.
    Spool "spool" [MATERIAL, SPOOL] {
        /// whether the shop has a spool of it
        in_stock: bool,
        /// the spool
        name: Text [OF_THE_SPOOL],
        /// filament left on it
        left: Mass [OF_THE_SPOOL],
        /// filament left on all spools of the material
        left_in_all: Mass [OF_THE_SPOOL],
        /// filament the whole run needs
        needed: Mass [POSE],
        /// whether the shop's spools of it reach for the run
        enough: bool [POSE, PRINTER],
        /// its colour
        colour: Text [OF_THE_SPOOL],
        /// whether it is of the colour asked for
        colour_right: bool [OF_THE_SPOOL],
        /// how it is kept
        stored: Stored [OF_THE_SPOOL],
        /// time since it was dried, counted to the day the part is wanted or the latest the shop's file knows
        since_dried: Duration [OF_THE_SPOOL],
        /// time since it was opened, counted alike
        since_opened: Duration [OF_THE_SPOOL],
        /// how long filament of its material stays dry enough, kept as it is
        keeps_dry: Duration [OF_THE_SPOOL],
        /// whether it counts as dry: dried, or opened where that is enough, no longer ago than it keeps
        dried: bool [OF_THE_SPOOL],
        /// nozzle temperature by its label
        print_temperature: Temperature [OF_THE_SPOOL],
        /// bed temperature by its label
        bed_temperature: Temperature [OF_THE_SPOOL],
        /// hottest the spool body itself may be dried
        limit: Temperature [OF_THE_SPOOL],
        /// diameter of the filament on it
        filament: Length [OF_THE_SPOOL],
        /// whether the printer takes filament of that diameter
        suits: bool [OF_THE_SPOOL],
        /// whether it is on the printer already
        loaded: bool [OF_THE_SPOOL],
        /// the other printer that has it now, if one has
        holder: Nested<Printer> [OF_THE_SPOOL],
        /// a spool of the same material in the second colour that is asked for, where the shop lists one
        second: Text [OF_THE_SPOOL],
    }
}

facts! {
    /// A nozzle.
    Nozzle "nozzle" [NOZZLE] {
        /// its name
        name: Text,
        /// bore
        bore: Length,
        /// metal
        metal: Text,
        /// hardness of its bore
        hardness: Hardness,
        /// hottest it may run
        limit: Temperature,
        /// melting rate against 0.4 mm brass
        flow_factor: Ratio,
        /// how much hotter than brass its metal is set for the same melt
        temperature_shift: TemperatureDifference,
        /// whether it is in the printer already
        fitted: bool [PRINTER],
        /// whether it is on the printer's list of nozzles that fit, where there is one
        suits: bool [PRINTER],
        /// the other printer it is in now, if none is left over
        holder: Nested<Printer> [PRINTER],
        /// whether it is known to be worn
        worn: bool,
        /// tightening torque given by the hot end's documentation
        torque: Torque [PRINTER],
    }
}

facts! {
    /// A build surface.
    Surface "surface" [SURFACE] {
        /// its name
        name: Text,
        /// what it is made of, as in the catalogue
        kind: Text,
        /// whether it bends to let the part go
        flexible: bool,
        /// whether it is glass or carries a glass pane
        glass: bool,
        /// hottest it may get
        limit: Temperature,
        /// whether it is on the printer already
        mounted: bool [PRINTER],
        /// whether it is on the printer's list of surfaces that fit, where there is one
        suits: bool [PRINTER],
        /// the other printer it is on now, if none is left over
        holder: Nested<Printer> [PRINTER],
        /// how it is cleaned
        cleaning: Text,
        /// whether it is a stick-on build sheet that a part can weld to
        adhesive_sheet: bool,
    }
}

facts! {
    /// What is put on a surface so that a part holds, or lets go.
    Agent "agent" [AGENT] {
        /// its name
        name: Text,
        /// what it is, as in the catalogue; `none` without one
        kind: Text,
        /// whether an agent is used at all
        present: bool,
        /// whether it or its propellant burns
        flammable: bool,
        /// whether it is sprayed
        aerosol: bool,
    }
}

facts! {
    /// How a material holds on a surface with an agent.
    Bond "bond" [MATERIAL, SURFACE, AGENT] {
        /// how a first layer of the material holds on the surface with the agent
        strength: Hold,
        /// how it may hold at best, where the catalogue gives a span
        strength_high: Hold,
        /// how it holds at best on the surface without any agent, where the catalogue knows
        bare: Hold,
        /// what the agent does there
        role: Role,
        /// bed temperature for this combination, where it differs from the material's
        bed_temperature: Temperature,
        /// risk of damage to the surface on removal
        risk: Level,
        /// whether the catalogue knows this combination
        shown: bool,
    }
}

facts! {
    /// The workshop.
    Shop "shop" [] {
        /// its name
        name: Text,
        /// whether no shop file was found and a well-equipped bench is assumed
        assumed: bool,
        /// what an hour of a person's work is worth in its money: its `labour`, else the usual at its price level
        hour_of_work: Money,
        /// whether it has a filament dryer
        has_dryer: bool,
        /// hottest its dryer gets
        dryer_limit: Temperature,
        /// whether it has an oven for annealing
        has_oven: bool,
        /// hottest its oven gets
        oven_limit: Temperature,
        /// whether fumes are drawn off
        extraction: bool,
        /// whether it has an iron for heat-set inserts
        has_iron: bool,
        /// whether it has a scale that weighs to a gram
        has_scale: bool,
        /// whether it has a drill press
        has_drill_press: bool,
        /// temperature at which the next material takes the one in the machine out, both molten and neither overheated; unknown where there is none
        purge_direct: Temperature [PRINTER, MATERIAL],
        /// a material in stock to purge through, where the next one cannot take the one in the machine out by itself
        purge: Nested<Material> [PRINTER, MATERIAL],
        /// temperature at which `shop.purge` takes the material in the machine out
        purge_in: Temperature [PRINTER, MATERIAL],
        /// temperature at which the next material takes `shop.purge` out
        purge_out: Temperature [PRINTER, MATERIAL],
        /// print temperature of the next material less that of the one in the machine; negative when going cooler
        purge_gap: TemperatureDifference [PRINTER, MATERIAL],
    }
}
