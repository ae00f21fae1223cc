//! Facts of what the spec asks: service, part, chemicals, loads, fits and faces.

use super::words::{Function, MarginVerdict, Modelled, Rating, Route};
use super::{MATERIAL, OF_ITS_KIND, ON_THE_LINE, POSE, SCARRED, facts};
use crate::quantity::{Angle, Area, Duration, Force, Length, Stress, Temperature, TemperatureDifference, Torque};
use crate::rulebook::value::Text;
use crate::semantics::requirements::MarginKind;
use crate::semantics::spec::{Ask, Back, Consequence, ContactKind, Course, Opened, Place, Stage, SunExposure, Wet};

facts! {
    /// How the part lives.
    Service "service" [] {
        /// lowest air temperature in service
        air_low: Temperature,
        /// highest air temperature in service
        air_high: Temperature,
        /// highest short-term temperature stated
        peak: Temperature,
        /// temperature stated that the part has most of the time
        usual: Temperature,
        /// highest temperature the part itself reaches, sun and place counted
        part_temperature: Temperature [MATERIAL],
        /// of a part under pressure: low end of the strength across the layers that is left for years at the temperature of the part and its contacts
        lasting_strength: Stress [MATERIAL],
        /// the same with the unfavourable end of each figure: still air, peak sun, nothing that cools its back
        part_temperature_high: Temperature [MATERIAL],
        /// lowest temperature the part itself reaches
        part_temperature_low: Temperature [MATERIAL],
        /// where the part lives
        place: Place,
        /// how the sun reaches it
        sun: SunExposure,
        /// how long it is to live in the sun
        sun_duration: Duration,
        /// whether air passes behind what the sun lights
        back: Back,
        /// how wet it gets
        wet: Wet,
        /// the colour asked for
        colour: Text,
        /// share of the sun's heat its colour takes up
        absorptance: f64 [MATERIAL],
        /// whether the spec names a chemical
        has_contacts: bool,
    }
}

facts! {
    /// What is asked of the part.
    Part "part" [] {
        /// the name of the part
        name: Text,
        /// the unit that the spec says its mesh is in, as a text; millimetres where it says none
        mesh_unit: Text,
        /// how many are wanted
        quantity: f64,
        /// the day it is wanted by
        wanted_by: Text,
        /// what the print is for
        stage: Stage,
        /// what happens if it fails
        consequence: Consequence,
        /// the smallest wall asked for
        wall: Length,
        /// fluid pressure it must hold
        pressure: Stress,
        /// inner diameter of what holds the pressure
        pressure_bore: Length,
        /// whether a gas is under the pressure
        pressure_gas: bool,
        /// whether it must be leak-tight
        tight: bool,
        /// whether it slides against a partner
        wear: bool,
        /// a second colour that the spec asks for
        second_colour: Text,
        /// the height above the bed from which it has that
        second_colour_from: Length,
        /// whether it takes blows or drops
        impact: bool,
        /// whether annealing is asked for
        anneal: bool,
        /// whether sealing is asked for
        seal: bool,
        /// whether painting is asked for
        paint: bool,
        /// whether conditioning (taking up moisture on purpose) is asked for
        condition: bool,
        /// whether it is to insulate electrically
        insulation: bool,
        /// whether mains voltage is near
        mains: bool,
        /// whether it is to bleed off static charge
        r#static: bool,
        /// whether it is to resist flame
        flame: bool,
        /// whether it touches food or drink
        food: bool,
        /// whether that it touches food is taken from a substance it meets, and not asked for
        food_inferred: bool,
        /// whether it stays on skin
        skin: bool,
        /// whether children play with it
        toy: bool,
        /// whether children play with it, or words of the spec point to that and it does not say otherwise
        children: bool,
        /// whether it lifts or hangs loads
        lifting: bool,
        /// whether people are beneath it, or held by it
        people_beneath: bool,
        /// whether it is for medical use
        medical: bool,
        /// whether it is shaken
        vibration: bool,
        /// whether it is to be soft
        soft: bool,
        /// whether nothing may be left in it or come loose from its inside
        clear_inside: bool,
        /// whether the spec says if anything may be left in it, either way
        inside_said: bool,
        /// the largest deflection allowed
        deflection_limit: Length,
        /// the deflection estimated under its load
        deflection: Length [MATERIAL, POSE],
        /// weight of strength among the preferences, 0 to 1
        prefers_strength: f64,
        /// weight of looks among the preferences, 0 to 1
        prefers_finish: f64,
        /// weight of speed among the preferences, 0 to 1
        prefers_speed: f64,
        /// weight of cost among the preferences, 0 to 1
        prefers_cost: f64,
        /// whether the spec states a load
        loaded: bool,
        /// whether a load that the spec states comes again and again
        pulled_often: bool,
        /// whether its words speak of a fold or a hinge and no fit says which
        folds: bool,
        /// whether its words speak of what a liquid is poured through
        pours: bool,
        /// the word that speaks of something pulled, pushed or turned, where the spec states no load and no pressure
        load_unsaid: Text,
        /// the word that speaks of pressure, where the spec states none
        pressure_unsaid: Text,
        /// whether the spec states a fit
        has_fits: bool,
        /// whether the rim of a box or the lip of a lid is among its fits
        has_lid: bool,
        /// whether the groove of an O-ring is among its fits
        has_ring: bool,
        /// whether a fit needs better than 0.1 mm
        tight_fits: bool,
        /// whether a face is cosmetic
        has_cosmetic: bool,
        /// whether a fit of it is strained in use: a snap arm, a living hinge
        strained: bool,
        /// whether any treatment follows the print
        treated: bool,
    }
}

facts! {
    /// A word of the spec (purpose, name of a load or the part, marking) that points to a use with dangers of its own.
    Hint "hint" each [] {
        /// the use it points to
        about: Ask,
        /// the words, as the catalogue lists them
        word: Text,
        /// where they stand
        place: Text,
        /// whether the words leave no doubt of it
        plain: bool,
        /// whether the spec asks for that use, or denies it
        settled: bool,
    }
}

facts! {
    /// A chemical that meets the part.
    Contact "contact" each [] {
        /// the chemical
        chemical: Text,
        /// how it meets the part
        kind: ContactKind,
        /// its temperature
        temperature: Temperature,
        /// whether it is warmer than 40 °C
        hot: bool,
        /// how the material stands it, from the catalogue
        rating: Rating [MATERIAL],
        /// whether the material may crack in it where something pulls at it
        cracks_under_load: bool [MATERIAL],
        /// whether it burns
        flammable: bool,
        /// how strong the liquid is that the catalogue rates, where the name alone does not say
        strength: Text,
    }
}

facts! {
    /// One load of the spec.
    Load "load" each [] {
        /// its name
        name: Text,
        /// its force
        force: Force,
        /// its torque
        torque: Torque,
        /// steady, shock or cyclic
        course: Course,
        /// how long a steady load is held
        held: Duration,
        /// whether the spec says where the part is held against it
        hold_stated: bool,
        /// how many heads of screws hold it, where nothing else does
        heads: f64,
        /// whether the spec says where it acts
        place_stated: bool,
        /// how often a cyclic load comes
        cycles: f64,
        /// whether its name or the purpose speaks of a spring, a clip or a catch, and no fit of the spec is a snap
        springs: bool,
        /// the safety factor asked for or given by consequence
        factor: f64,
        /// angle of the greatest pull to the layer plane; 90° pulls layers apart; none where nothing is pulled that counts beside what presses
        angle: Angle [POSE],
        /// largest stress estimated from it
        stress: Stress [MATERIAL, POSE],
        /// stress the printed material bears there, heat, time and layers counted
        capacity: Stress [MATERIAL, POSE],
        /// capacity over stress times factor, of a solid part; `margin.ratio` counts the infill
        margin: f64 [MATERIAL, POSE],
        /// whether stress and capacity could be computed at all
        shown: bool [MATERIAL, POSE],
        /// why they could not
        unshown_because: Text [MATERIAL, POSE],
        /// the loads that act at once with it, itself among them, where there are others
        together: Text,
        /// what they leave between them, their stresses added place by place: how many times all of them could grow, of a solid
        together_margin: f64 [MATERIAL, POSE],
    }
}

facts! {
    /// One fit of the spec.
    Fit "fit" each [] {
        /// its name
        name: Text,
        /// what the fit does
        function: Function,
        /// nominal size
        size: Length,
        /// whether it is a peg, boss or shaft rather than a hole
        outside: bool,
        /// whether its axis stands upright in this pose
        vertical: bool [POSE],
        /// the tolerance it must keep
        tolerance: Length,
        /// spread to expect from this printer
        spread: Length [ON_THE_LINE],
        /// whether the spec wants nothing done to it after printing
        as_printed: bool,
        /// area of its bore, floor or shoulder that support would touch
        hanging: Area [SCARRED],
        /// of what its size is the size, as a text that follows it
        dimension: Text,
        /// the tool that brings it to its size, as a text
        tool: Text [ON_THE_LINE],
        /// its second measure as it is to be drawn, a flat or a length, as a text that follows the first; empty where it has but one
        also: Text [ON_THE_LINE],
        /// whether the spec has it cut: a thread, or a hole to be drilled, reamed or tapped
        cut: bool,
        /// whether printing alone keeps its limits, for most pieces at least
        holds: bool [ON_THE_LINE],
        /// how it gets its size
        route: Route [ON_THE_LINE],
        /// size of the drill or reamer that finishes it, where one does
        cutter: Length [ON_THE_LINE],
        /// the work after printing, as a text with its sizes
        step: Text [ON_THE_LINE],
        /// largest strain of a snap arm pushed on, or of a living hinge folded flat
        strain: f64,
        /// length of the arm of a snap, as stated
        reach: Length,
        /// how often what it strains in use is opened: seldom or often; unknown where nothing was said
        opened: Opened,
        /// thinnest wall of the mesh, where the arm of a snap is stated to be thinner
        drawn: Length,
        /// whether it is a living hinge: a thin strip that folds
        living: bool,
        /// whether it is strained across the layers in this pose: a snap arm that stands, a strip whose fold peels them
        strained_across: bool [POSE],
        /// strain the material bears: a part of that at which a print of it breaks, its low end; less across the layers, and less where it is opened often
        strain_limit: f64 [MATERIAL, POSE],
        /// how many there are: as stated, else as found on the mesh
        count: f64,
        /// thread designation, where it has one
        thread: Text,
        /// what the spec calls it, as `bore 8 mm H9` or `bearing 608`
        designation: Text,
        /// the limits of the finished feature, as a text
        target: Text,
        /// the size to model, as a text
        model_size: Text [ON_THE_LINE],
        /// size to model less the nominal size, with its sign, as a text
        correction: Text [ON_THE_LINE],
        /// what the mesh holds of it, compared with the size to model
        modelled: Modelled [ON_THE_LINE],
        /// whether every hole found for it ends at a floor or a narrower hole
        shoulder: bool,
        /// the narrowest way through behind its holes: of the shoulder, or none at all where a floor is closed
        opening: Length,
        /// of a bearing's seat, the least opening of the shoulder that leaves its inner ring free
        opening_least: Length,
        /// the size the mesh has, as a text, where the feature was found
        found: Text,
        /// whether the spec leaves its allowance to the settings of the print job
        settings_carry: bool,
        /// the limits to find as printed, where finishing follows, as a text
        printed: Text [ON_THE_LINE],
        /// with what, when and on how many pieces it is measured before finishing
        printed_gauge: Text [ON_THE_LINE],
        /// what the whole model is to be scaled by in the plane of the layers for a distance to come out, as a text
        scale: Text [ON_THE_LINE],
        /// what is left to cut away on its diameter, where it is printed under size
        stock: Length [ON_THE_LINE],
        /// by how much the first layer presses its rim wide, where the rim lies on the bed
        bulge: Length [ON_THE_LINE],
        /// with what, when and on how many pieces the finished feature is measured, if it is
        gauge: Text [ON_THE_LINE],
        /// the trial that judges it, where nothing is left to measure
        trial: Text [ON_THE_LINE],
        /// whether the shop lists an instrument that measures it finished, where it lists any
        gauge_present: bool [ON_THE_LINE],
        /// how many heat-set inserts of its thread the shop has left
        inserts_left: f64 [ON_THE_LINE],
        /// whether the shop has the reamer, drill, tap or inserts it needs
        tool_present: bool [ON_THE_LINE],
        /// whether a calibration record of this shop covers it
        calibrated: bool [ON_THE_LINE],
        /// the sizes its calibration record was measured on, as a text, where its own size lies beyond them
        beyond_record: Text [ON_THE_LINE],
        /// another nozzle at hand, with which a calibration record of this printer and material covers it; none where this one is
        /// covered itself
        measured_nozzle: Text [ON_THE_LINE],
    }
}

facts! {
    /// A named face of the part.
    Face "face" each [] {
        /// its name
        name: Text,
        /// whether its look matters
        cosmetic: bool,
        /// whether support must not touch it
        no_support: bool,
        /// whether the seam must stay away from it
        no_seam: bool,
        /// whether it is to lie on the bed
        on_bed: bool,
        /// marking it carries
        marking: Text,
        /// area of it that support would touch
        scarred: Area [SCARRED],
        /// whether it lies on the bed in this pose
        down: bool [POSE],
    }
}

facts! {
    /// A margin: what the part must bear, what it can bear, and how much lies between.
    Margin "margin" each [] {
        /// what it is about
        kind: MarginKind,
        /// what it is called, as `load "gust"`
        name: Text,
        /// whether demand and capacity could be computed at all
        shown: bool [OF_ITS_KIND],
        /// capacity over demand with the unfavourable end of each, where it is a matter of multiples: below 1 the demand is not met
        ratio: f64 [OF_ITS_KIND],
        /// the same at best, where the truth lies between the two: what a filled part bears is known as that of a foam and of a solid
        ratio_at_best: f64 [OF_ITS_KIND],
        /// of a load that breaks the part, what would hold where it breaks first: the thickness square to the surface there, by the law of sections
        would_hold: Text [OF_ITS_KIND],
        /// how far a load moves the part where it acts, where the spec limits no deflection under it
        moves: Length [OF_ITS_KIND],
        /// how far is usual at that lever
        moves_usually: Length [OF_ITS_KIND],
        /// a place of the sharp inner corner beside which a load strains the part most, where it does so beside one
        corner: Text [OF_ITS_KIND],
        /// of what presses on the part: where it does
        presses: Text [OF_ITS_KIND],
        /// the same with the low end of how long the sun is borne; `ratio` takes the usual time
        ratio_at_worst: f64 [OF_ITS_KIND],
        /// capacity over what is usual beyond what must be, where that is known
        usual_ratio: f64 [OF_ITS_KIND],
        /// kelvins left: to the heat limit, of a contact as well; of knocks in the cold to the brittle point
        room: TemperatureDifference [OF_ITS_KIND],
        /// the same with the unfavourable end of what the part gets, and the far end of the heat limit; of cold the early end of the brittle point
        room_at_worst: TemperatureDifference [OF_ITS_KIND],
        /// the same with the far end of the heat limit: below zero the heat is beyond what anybody gives the material
        room_at_best: TemperatureDifference [OF_ITS_KIND],
        /// the same with the low end of the heat limit: below zero the softest spool of that name gives way
        room_at_low: TemperatureDifference [OF_ITS_KIND],
        /// length there is beyond the length asked for; of a pressed pin what it is still squeezed by; of the bed what is free on each side
        spare: Length [OF_ITS_KIND],
        /// how the material stands a chemical, from the catalogue
        rating: Rating [OF_ITS_KIND],
        /// whether the material may crack in the chemical under what pulls at the part
        cracks: bool [OF_ITS_KIND],
        /// whether the chemical stays on the part rather than splashing it
        stays: bool [OF_ITS_KIND],
        /// the verdict: the worst any rule derives, `unshown` where none does
        verdict: MarginVerdict [OF_ITS_KIND],
        /// whether the margin of the same load holds no better, so that what this one costs is counted there
        counted: bool [OF_ITS_KIND],
        /// whether it is to be settled before printing, as rules derive it
        asks_first: bool [OF_ITS_KIND],
    }
}
