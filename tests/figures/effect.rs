//! Changed absurdly by a workshop, a figure changes what comes out: of fits, or of the small job named here.

use makeready::catalogue::{built_in, figures};

use crate::workshop::read::Recipe;
use crate::workshop::{Workshop, one_spool, shapes};

/// What printed fits come to by a catalogue, in every function, axis and state, as text.
fn fits_by(catalogue: &makeready::catalogue::Catalogue) -> String {
    use makeready::fits::allowance::allowance;
    use makeready::fits::calibration::CalibrationRecord;
    use makeready::fits::coupon;
    use makeready::fits::feature::{FeatureAxis, FeatureContext, FeatureKind};
    use makeready::fits::function::FitFunction;
    use makeready::fits::mating::{GapRecord, in_place_gap};
    use makeready::quantity::{Duration, Length, Mass, Money};
    let mm = Length::mm;
    let costs = |g: f64| coupon::Cost { mass: Mass::g(g), time: Duration::h(g), money: Money::of(g) };
    let functions = [
        FitFunction::Sliding { size: mm(8.0), play: None },
        FitFunction::Press { size: mm(2.0), interference: None },
        FitFunction::Press { size: mm(20.0), interference: None },
        FitFunction::Iso { size: mm(8.0), symbol: "H11".to_owned() },
        FitFunction::Iso { size: mm(8.0), symbol: "H7".to_owned() },
        FitFunction::Iso { size: mm(55.0), symbol: "H7".to_owned() },
        FitFunction::Iso { size: mm(14.0), symbol: "H13".to_owned() },
        FitFunction::Iso { size: mm(55.0), symbol: "H13".to_owned() },
        FitFunction::Iso { size: mm(8.0), symbol: "h6".to_owned() },
        FitFunction::Iso { size: mm(55.0), symbol: "h6".to_owned() },
        FitFunction::BearingSeat { designation: "608".to_owned() },
        FitFunction::Insert { thread: "M3".to_owned() },
        FitFunction::Hinge { pin: mm(4.0), in_place: false },
        FitFunction::Hinge { pin: mm(4.0), in_place: true },
        FitFunction::Snap { size: mm(6.0) },
        FitFunction::Distance { size: mm(60.0) },
        FitFunction::Nut { thread: "M4".to_owned() },
        FitFunction::Head { thread: "M4".to_owned() },
        FitFunction::Magnet { diameter: mm(8.0), thickness: None },
        FitFunction::Clearance { thread: "M1.6".to_owned(), series: makeready::fits::hardware::Series::Medium },
    ];
    let mut text = String::new();
    for polymer in ["PETG", "no-such"] {
        for (kind, axis) in [FeatureKind::Hole, FeatureKind::Outside]
            .into_iter()
            .flat_map(|k| [FeatureAxis::AlongLayers, FeatureAxis::AcrossLayers].map(|a| (k, a)))
        {
            let plain = FeatureContext::new(kind, axis, catalogue.printed(polymer), catalogue.practice());
            let record = CalibrationRecord {
                printer: "A".to_owned(),
                nozzle: "n".to_owned(),
                material: "PETG".to_owned(),
                what: kind,
                axis,
                offset: mm(-0.1),
                scale: 1.0,
                spread: mm(0.02),
                count: 9,
                on: "2026-01-01".to_owned(),
                range: Some((mm(5.0), mm(9.0))),
            };
            let measured =
                FeatureContext { record: Some(record), as_of: Some("2026-11-29".to_owned()), ..plain.clone() };
            let treated = FeatureContext {
                annealed: true,
                moist: true,
                on_bed: true,
                nozzle_bore: mm(0.8),
                tools: makeready::fits::feature::Tools { known: true, ..Default::default() },
                ..plain.clone()
            };
            let modelled = FeatureContext { modelled: Some(mm(8.02)), ..plain.clone() };
            let between = FeatureContext { between: true, ..plain.clone() };
            for context in [plain, modelled, measured, treated, between] {
                for function in &functions {
                    let line = allowance(function, &context);
                    text.push_str(&format!("{line:?}\n"));
                    let worth = |l| coupon::worth(&l, costs(1.0), costs(1e5), &context.practice);
                    text.push_str(&format!("{:?}\n", line.map(worth)));
                }
                let tested = GapRecord { sideways: mm(0.2), upward: mm(0.2), citation: "test".to_owned() };
                for upward in [false, true] {
                    text.push_str(&format!("{:?}", in_place_gap(upward, &context, None)));
                    text.push_str(&format!("{:?}", in_place_gap(upward, &context, Some(&tested))));
                }
            }
        }
    }
    for thickness in [0.3, 0.9] {
        let (of, better) = (("PA6", catalogue.bears("PA6")), catalogue.for_hinges());
        let laid = Some(makeready::fits::living_hinge::Laid::Flat);
        let said =
            makeready::fits::living_hinge::cautions(of, &better, mm(thickness), laid, mm(0.1), &catalogue.practice());
        text.push_str(&format!("{said:?}"));
    }
    text
}

/// The figure in a workshop's words, a factor larger; a temperature on its scale, higher by as many tens of kelvin.
fn absurd(name: &str, factor: f64, catalogue: &makeready::catalogue::Catalogue) -> String {
    let row = figures::TABLE.iter().find(|row| row.name == name).unwrap();
    let first = row.by_consequence.map_or(name, |names| names[1]);
    let (_, figure) = catalogue.figures.all().find(|(known, _)| *known == first).unwrap();
    let written = |q: makeready::quantity::Quantity| {
        let shown = q.to_string();
        let bare = |c: char| c.is_ascii_digit() || matches!(c, '.' | '-');
        let unit = shown.split_once(' ').map_or_else(|| shown.trim_start_matches(bare), |(_, unit)| unit);
        let value = q.in_unit(unit).unwrap_or(q.si);
        let value = match q.dimension.point {
            true => value + 10.0 * (factor - 1.0),
            // Nothing, multiplied, stays nothing.
            false if figure.typ.si == 0.0 => 10.0 * (factor - 1.0).max(0.0),
            false => value * factor,
        };
        format!("{value} {unit}")
    };
    let ends = [("low", figure.low), ("high", figure.high)];
    let ends = ends.into_iter().filter_map(|(end, q)| q.map(|q| format!(", {end}: {}", written(q))));
    format!("{name}: {{ typ: {}{}, kind: from-memory }}", written(figure.typ), ends.collect::<String>())
}

/// What is printed in a job.
enum Body {
    Block,
    /// A seat of 1,600 mm² on one leg of 49 mm².
    Stool,
    /// A plate with a hole of so many millimetres.
    Hole(f64),
    /// Two tines with a slit between them.
    Arm,
    Fork,
    /// A sheet so many millimetres thick.
    Sheet(f64),
    /// A tube with a wall of 3 mm.
    Tube,
    /// A block with a fin of a few square millimetres on it.
    Fin,
    /// A head on a stem, hanging over on two sides.
    Tee,
    /// A short block that leans a little less than the limit.
    Leaning,
    /// A bar that climbs at an angle.
    Climbing,
    /// A ball without a flat side.
    Ball,
}

/// A small job by a workshop of one machine and one spool, and the figures that change its recipe.
struct Job {
    body: Body,
    /// Pieces of the workshop's file, and what stands in their place.
    shop: &'static [(&'static str, &'static str)],
    lines: &'static str,
    shows: &'static [&'static str],
}

const JOBS: &[Job] = &[
    // What wants 70 °C round it and bears 30 K less is refused in the open, and in a chamber of 35 °C.
    Job {
        body: Body::Block,
        shop: &[("PETG", "PC-ABS"), ("enclosed: yes", "enclosed: no")],
        lines: r#"pin material "PC-ABS" because "to see""#,
        shows: &["chamber_round"],
    },
    Job {
        body: Body::Block,
        shop: &[("PETG", "PC-ABS"), ("enclosed: yes", "enclosed: yes\n    chamber: 35 °C")],
        lines: r#"pin material "PC-ABS" because "to see""#,
        shows: &["chamber_borrowed"],
    },
    Job {
        body: Body::Block,
        shop: &[],
        lines: r#"pin nozzle_temperature 230 °C because "its label""#,
        shows: &["flow_changes_over"],
    },
    // Of the way out by a smaller load more than half would be given up.
    Job {
        body: Body::Block,
        shop: &[],
        lines: r#"consequence nuisance; load "pull" { force 90 kN toward +z at face "top"; fixed at face "foot"; held 1 day; factor 2 }; face "top" toward +z; face "foot" toward -z"#,
        shows: &["given_up_most"],
    },
    Job {
        body: Body::Block,
        shop: &[],
        lines: r#"quantity 1"#,
        shows: &[
            "lies_flat_share",
            "slight_points",
            "usual_infill",
            "wall_for_shape",
            "bed_room_told",
            "heat_room",
            "heat_close",
        ],
    },
    Job {
        body: Body::Block,
        shop: &[],
        lines: r#"prefer strength"#,
        shows: &[
            "layer_to_bore",
            "layer_to_bore_limit",
            "width_to_bore",
            "width_to_bore_limit",
            "first_layer_to_bore",
            "flow_short_melt_zone",
            "wall_lines",
            "slender_without_brim",
            "usual_speed",
            "outside_speed_share",
            "standing_slenderness",
            "strength_wanted",
            "wall_for_load",
        ],
    },
    Job { body: Body::Block, shop: &[], lines: r#"impact drop 1 m; consequence nuisance"#, shows: &["on_end"] },
    // A limit of 62 °C with a band to 68 °C.
    Job {
        body: Body::Block,
        shop: &[],
        lines: r#"service { place indoors; air 10 °C .. 64 °C }"#,
        shows: &["heat_doubt"],
    },
    Job { body: Body::Ball, shop: &[], lines: "quantity 1", shows: &["lean_gains"] },
    Job { body: Body::Stool, shop: &[], lines: "quantity 1", shows: &["footing_least", "footing_share"] },
    Job {
        body: Body::Block,
        shop: &[("drive: direct", "drive: direct\n    melt_zone: long")],
        lines: r#"prefer strength"#,
        shows: &["flow_long_melt_zone"],
    },
    Job {
        body: Body::Block,
        shop: &[("drive: direct", "drive: direct\n    melt_zone: very-long")],
        lines: r#"prefer strength"#,
        shows: &["flow_very_long_melt_zone"],
    },
    Job {
        body: Body::Block,
        shop: &[],
        lines: r#"service { place indoors; air 10 °C .. 23 °C }; quantity 40"#,
        shows: &["plate_gap", "plate_edge", "yield_assumed", "start_confidence"],
    },
    Job {
        body: Body::Block,
        shop: &[],
        lines: r#"service { place indoors; air 10 °C .. 23 °C }; load "w" { force 2 N toward -z at face "end"; fixed at face "root"; held 1 day }"#,
        shows: &[
            "sustained_days",
            "load_factor",
            "low_ends_correlated",
            "shear_to_along",
            "margin_close",
            "load_close",
            "load_room",
        ],
    },
    Job {
        body: Body::Block,
        shop: &[],
        lines: r#"service { place indoors; air 10 °C .. 23 °C; peak 50 °C; usual 20 °C }; load "w" { force 2 N toward -z at face "end"; fixed at face "root"; held 1 year }"#,
        shows: &["peak_share"],
    },
    Job {
        body: Body::Arm,
        shop: &[],
        lines: r#"service { place indoors; air 10 °C .. 23 °C }; pin pose "-z down" because "to compare""#,
        shows: &["falls_beyond"],
    },
    Job {
        body: Body::Block,
        shop: &[],
        lines: r#"service { place outdoors; air 5 °C .. 20 °C; usual 5 °C; sun direct for 1 year; back free }; load "w" { force 2 N toward -z at face "end"; fixed at face "root"; held 1 year }"#,
        shows: &["sun_peak_share"],
    },
    Job {
        body: Body::Block,
        shop: &[],
        lines: r#"service { place outdoors; air 5 °C .. 20 °C; sun direct for 1 year; back free }; load "w" { force 2 N toward -z at face "end"; fixed at face "root"; held 1 year }"#,
        shows: &["sun_plain_share"],
    },
    Job {
        body: Body::Block,
        shop: &[],
        lines: r#"service { place indoors; air 10 °C .. 23 °C }; load "w" { force 60 N toward -z at (56 mm, 5 mm, 10 mm); fixed at face "root"; held 1 min; factor 1 }"#,
        shows: &["load_spot", "small_displacement", "usual_deflection", "buckling_strain", "stress_apart"],
    },
    Job {
        body: Body::Block,
        shop: &[],
        lines: r#"service { place indoors; air 10 °C .. 23 °C }; load "w" { force 80 N toward -x at face "end"; fixed at face "root"; held 1 min; factor 1 }"#,
        shows: &["buckling_far", "compression_to_tension", "pressed_across_to_along"],
    },
    // A patch that is pressed.
    Job {
        body: Body::Block,
        shop: &[],
        lines: r#"service { place indoors; air 10 °C .. 23 °C }; load "w" { force 300 N toward -x at (60 mm, 5 mm, 5 mm) across 6 mm; fixed at face "root"; held 1 min; factor 1 }"#,
        shows: &["bearing_reach", "bearing_share", "bearing_far"],
    },
    // A strip that buckles.
    Job {
        body: Body::Sheet(0.9),
        shop: &[],
        lines: r#"service { place indoors; air 10 °C .. 23 °C }; load "w" { force 1 N toward -x at face "end"; fixed at face "root"; held 1 min; factor 1 }"#,
        shows: &["displacement_apart"],
    },
    Job {
        body: Body::Tee,
        shop: &[],
        lines: r#"service { place indoors; air 10 °C .. 23 °C }; face "under" { toward -z }; load "w" { force 2 N toward +z at face "under"; held 1 day }"#,
        shows: &["rival_place"],
    },
    Job {
        body: Body::Block,
        shop: &[("PETG", "PA12")],
        lines: r#"service { place indoors; air 10 °C .. 40 °C }; pin material "PA12" because "to see"; load "w" { force 2 N toward -z at face "end"; fixed at face "root"; held 1 min }"#,
        shows: &["softens_above"],
    },
    Job {
        body: Body::Block,
        shop: &[],
        lines: r#"service { place indoors; air 10 °C .. 23 °C }; load "w" { force 2 N toward -z at face "end"; fixed at face "root"; held 5 years }; deflection at most 1 mm under "w""#,
        shows: &["sustained_years"],
    },
    Job {
        body: Body::Block,
        shop: &[],
        lines: r#"service { place indoors; air 10 °C .. 23 °C }; load "w" { force 2 N toward -z at face "end"; fixed at face "root"; factor 2 }"#,
        shows: &["held_assumed", "held_briefly"],
    },
    Job {
        body: Body::Block,
        shop: &[],
        lines: r#"service { place indoors; air 10 °C .. 23 °C }; load "w" { force 40 N toward -z at face "end"; fixed at face "root"; factor 2 }"#,
        shows: &["held_moment"],
    },
    Job {
        body: Body::Block,
        shop: &[],
        lines: r#"service { place indoors; air 10 °C .. 23 °C }; load "w" { force 2 N toward -z at face "end"; fixed at face "root"; cyclic }"#,
        shows: &["fatigue_along", "fatigue_across", "cycles_assumed", "cycles_few", "cycles_tested"],
    },
    // Pressed.
    Job {
        body: Body::Block,
        shop: &[("material: PETG", "material: ABS")],
        lines: r#"service { place indoors; air 10 °C .. 23 °C }; load "w" { force 20 N toward -x at face "end"; fixed at face "root"; cyclic 200000 }"#,
        shows: &["fatigue_pressed"],
    },
    Job {
        body: Body::Block,
        shop: &[],
        lines: r#"service { place outdoors; air -5 °C .. 30 °C; sun direct; colour "dark grey" }"#,
        shows: &["sun_film_coefficient", "sky_loss"],
    },
    Job {
        body: Body::Block,
        shop: &[],
        lines: r#"service { place outdoors; air -5 °C .. 30 °C; sun direct; colour "dark grey"; back free }"#,
        shows: &["conductivity"],
    },
    Job {
        body: Body::Hole(8.0),
        shop: &[],
        lines: r#"service { place indoors; air 10 °C .. 23 °C }; fit "h" press 8 mm along z"#,
        shows: &[
            "friction_on_plastic",
            "poisson",
            "steel_modulus",
            "steel_poisson",
            "steel_expansion",
            "measured_at",
            "crush_to_strength",
            "crush_ribs",
            "ring_between_ribs",
        ],
    },
    Job {
        body: Body::Hole(8.0),
        shop: &[],
        lines: r#"service { place indoors; air 10 °C .. 23 °C }; fit "h" insert M6 along z"#,
        shows: &["melt_room", "boss_least"],
    },
    Job {
        body: Body::Hole(8.0),
        shop: &[],
        lines: r#"service { place indoors; air 10 °C .. 23 °C }; fit "h" magnet 8 mm x 3 mm along z"#,
        shows: &["magnet_bond"],
    },
    Job {
        body: Body::Block,
        shop: &[("material: PETG, spool: one", "material: PC")],
        lines: r#"service { place indoors; air 10 °C .. 30 °C }"#,
        shows: &["overheat"],
    },
    Job {
        body: Body::Block,
        shop: &[("left: 900 g", "left: 900 g, opened: 2026-11-01, stored: open")],
        lines: "service { place indoors; air 10 °C .. 23 °C }",
        shows: &["keeps_dry_open_medium"],
    },
    Job {
        body: Body::Block,
        shop: &[("left: 900 g", "left: 900 g, opened: 2026-11-01, stored: bag")],
        lines: "service { place indoors; air 10 °C .. 23 °C }",
        shows: &["keeps_dry_bag_medium"],
    },
    Job {
        body: Body::Block,
        shop: &[("left: 900 g", "left: 900 g, opened: 2026-11-01, stored: dry-box")],
        lines: "service { place indoors; air 10 °C .. 23 °C }",
        shows: &["keeps_dry_dry_box_medium"],
    },
    Job {
        body: Body::Block,
        shop: &[],
        lines: r#"service { place indoors; air 10 °C .. 23 °C }; quantity 40; prefer cost"#,
        shows: &["person_hour"],
    },
    Job {
        body: Body::Block,
        shop: &[("drive: direct", "drive: direct\n    hour_rate: 2 money/h")],
        lines: r#"service { place indoors; air 10 °C .. 23 °C }; quantity 40"#,
        shows: &["machine_hour"],
    },
    Job {
        body: Body::Block,
        shop: &[("name: Hut", "name: Hut\nlabour: 30 money/h")],
        lines: r#"service { place indoors; air 10 °C .. 23 °C }; quantity 40"#,
        shows: &["work_per_plate"],
    },
    Job {
        body: Body::Block,
        shop: &[("left: 900 g }", "left: 340 g }\n  - { name: two, material: PETG, colour: dark grey, left: 900 g }")],
        lines: r#"service { place indoors; air 10 °C .. 23 °C }; quantity 40"#,
        shows: &["filament_waste"],
    },
    Job {
        body: Body::Hole(8.0),
        shop: &[],
        lines: r#"service { place indoors; air 10 °C .. 23 °C }; fit "h" bore 9 mm H11 along z"#,
        shows: &["match_room"],
    },
    Job {
        body: Body::Block,
        shop: &[],
        lines: r#"service { place indoors; air 10 °C .. 23 °C }; stage fit-prototype"#,
        shows: &["prototype_infill"],
    },
    Job {
        body: Body::Block,
        shop: &[],
        lines: r#"service { place indoors; air 10 °C .. 23 °C }; tight against "water""#,
        shows: &["wall_for_fluid"],
    },
    Job {
        body: Body::Block,
        shop: &[],
        lines: r#"service { place indoors; air 10 °C .. 23 °C }; pressure 2 bar of "water" bore 4 mm; wall at least 2 mm"#,
        shows: &["pressure_share"],
    },
    // What lies beyond what is let pass is an error; with more let pass it is none.
    Job {
        body: Body::Block,
        shop: &[("left: 900 g", "left: 900 g, print_temperature: 265 °C")],
        lines: r#"service { place indoors; air 10 °C .. 23 °C }"#,
        shows: &["label_off"],
    },
    Job {
        body: Body::Block,
        shop: &[],
        lines: r#"service { place indoors; air 10 °C .. 23 °C }; size 60 mm x 10 mm x 10.6 mm"#,
        shows: &["size_off", "size_off_share"],
    },
    Job {
        body: Body::Hole(8.0),
        shop: &[],
        lines: r#"service { place indoors; air 10 °C .. 23 °C }; fit "h" bore 8 mm H9 along z depth 10.8 mm"#,
        shows: &["depth_off", "depth_off_share"],
    },
    Job {
        body: Body::Hole(8.0),
        shop: &[],
        lines: r#"service { place indoors; air 10 °C .. 23 °C }; fit "h" bore 8 mm H9 along z at (10 mm, 0 mm, 5 mm)"#,
        shows: &["place_off", "place_off_share"],
    },
    // Facets of a round lie within what was drawn.
    Job {
        body: Body::Tube,
        shop: &[],
        lines: r#"service { place indoors; air 10 °C .. 23 °C }; wall at least 2 mm"#,
        shows: &["wall_facets", "wall_facets_share"],
    },
    Job {
        body: Body::Block,
        shop: &[],
        lines: r#"service { place indoors; air 10 °C .. 23 °C; contact "water" splash at 58 °C }"#,
        shows: &["hot_contact_room"],
    },
    Job {
        body: Body::Sheet(1.6),
        shop: &[],
        lines: r#"service { place indoors; air 10 °C .. 23 °C }; fit "s" snap 0.5 mm reach 20 mm thick 1.5 mm"#,
        shows: &["snap_once", "snap_often", "strain_across", "arm_apart"],
    },
    Job {
        body: Body::Block,
        shop: &[("PETG", "TPU-95A")],
        lines: r#"service { place indoors; air 10 °C .. 23 °C }; pin material "TPU-95A" because "to see"; load "w" { force 8 N toward -x at face "end"; fixed at face "root"; held 1 year; factor 1 }"#,
        shows: &["rubber_pressed_strain"],
    },
    Job {
        body: Body::Block,
        shop: &[],
        lines: r#"service { place indoors; air 10 °C .. 23 °C }; pin pose up +x because "x"; load "w" { force 2 N toward -z at face "end"; fixed at face "root"; held 1 day }"#,
        shows: &["layers_across", "pulled_counts"],
    },
    Job {
        body: Body::Hole(6.8),
        shop: &[],
        lines: r#"service { place indoors; air 10 °C .. 23 °C }; fit "h" thread M8 along z"#,
        shows: &["thread_engagement"],
    },
    Job {
        body: Body::Hole(7.0),
        shop: &[],
        lines: r#"service { place indoors; air 10 °C .. 23 °C }; fit "h" thread M8x1 along z"#,
        shows: &["thread_by_hand"],
    },
    Job {
        body: Body::Hole(4.0),
        shop: &[],
        lines: r#"service { place indoors; air 10 °C .. 23 °C }; fit "h" bore 4.5 mm H11 along z"#,
        shows: &["match_share"],
    },
    // Drawn as wide as a polymer that shrinks may want it.
    Job {
        body: Body::Hole(5.9),
        shop: &[],
        lines: r#"service { place indoors; air 10 °C .. 23 °C }; fit "h" bore 5 mm H11 along z"#,
        shows: &["match_beyond"],
    },
    Job {
        body: Body::Hole(20.0),
        shop: &[("PETG", "TPU-95A")],
        lines: r#"ask softness; service { place indoors; air 10 °C .. 23 °C }; fit "h" press bore 20 mm along z"#,
        shows: &["grip_stretch"],
    },
    Job {
        body: Body::Hole(17.5),
        shop: &[],
        lines: r#"service { place indoors; air 10 °C .. 23 °C }; fit "h" thread M20 along z finish as printed"#,
        shows: &["printed_thread", "printed_thread_bores", "printed_thread_play"],
    },
    Job {
        body: Body::Hole(20.0),
        shop: &[],
        lines: r#"service { place indoors; air 10 °C .. 23 °C }; fit "h" rim 20 mm along z; fit "s" bore square 9 mm; fit "f" groove face for ring 9 mm x 2 mm"#,
        shows: &["lid_play", "corner_relief", "ring_squeeze_face", "ring_fill"],
    },
    Job {
        body: Body::Hole(24.0),
        shop: &[],
        lines: r#"service { place indoors; air 10 °C .. 23 °C }; fit "h" groove bore for ring 20 mm x 2.5 mm"#,
        shows: &["ring_squeeze", "ring_stretch"],
    },
    Job {
        body: Body::Fork,
        shop: &[],
        lines: r#"service { place indoors; air 10 °C .. 23 °C }"#,
        shows: &["gap_fuses"],
    },
    Job {
        body: Body::Tee,
        shop: &[],
        lines: r#"service { place indoors; air 10 °C .. 23 °C }; pin pose "-z down" because "x"; pin supports where-needed because "x""#,
        shows: &["support_share", "support_gap_layers", "overhang_to_consider"],
    },
    // Nobody says where the part is held.
    Job {
        body: Body::Block,
        shop: &[],
        lines: r#"service { place indoors; air 10 °C .. 23 °C }; load "w" { force 2 N toward -z at face "end"; held 1 day }"#,
        shows: &["infill_unshown"],
    },
    Job {
        body: Body::Block,
        shop: &[(
            "spools:",
            "yields:\n  - { printer: Bench, material: PETG, started: 22, good: 19, on: 2026-10-11 }\nspools:",
        )],
        lines: r#"service { place indoors; air 10 °C .. 23 °C }; quantity 40"#,
        shows: &["yield_confidence"],
    },
    // Its stresses lie aslant to the layers.
    Job {
        body: Body::Climbing,
        shop: &[],
        lines: r#"service { place indoors; air 10 °C .. 23 °C }; pin pose up +z because "x"; load "w" { force 2 N toward +x at face "end"; fixed at face "root"; held 1 day }"#,
        shows: &["layers_along"],
    },
    Job {
        body: Body::Block,
        shop: &[(
            "nozzles:\n",
            "  - { name: Other, build: [220 mm, 220 mm, 250 mm], nozzle_limit: 290 °C, bed_limit: 110 °C, enclosed: yes, drive: direct }\nnozzles:\n",
        )],
        lines: r#"service { place indoors; air 10 °C .. 23 °C }; quantity 60"#,
        shows: &["long_run"],
    },
    // A workshop hotter than any there is to buy is asked about.
    Job {
        body: Body::Block,
        shop: &[
            ("nozzle_limit: 290", "nozzle_limit: 445"),
            ("bed_limit: 110", "bed_limit: 195"),
            ("enclosed: yes", "enclosed: yes\n    pace: 1.9\n    chamber: 175 °C"),
            ("spools:", "tools: { dryer_limit: 145 °C, oven_limit: 245 °C }\nspools:"),
        ],
        lines: r#"service { place indoors; air 10 °C .. 23 °C }"#,
        shows: &["richest_nozzle", "richest_bed", "richest_chamber", "richest_dryer", "richest_oven", "doubtful_pace"],
    },
    Job {
        body: Body::Block,
        shop: &[],
        lines: r#"service { place outdoors; air -5 °C .. 30 °C; sun direct; colour "dark grey" }; consequence injury"#,
        shows: &["still_convection"],
    },
    Job {
        body: Body::Sheet(0.9),
        shop: &[("bore: 0.4 mm", "bore: 1.2 mm")],
        lines: r#"wall at least 0.8 mm"#,
        shows: &["common_bore", "redrawn_most"],
    },
    Job {
        body: Body::Block,
        shop: &[("PETG", "PC"), ("enclosed: yes", "enclosed: yes\n    chamber: 55 °C")],
        lines: r#"pin material "PC" because "to see""#,
        shows: &["chamber_short"],
    },
    Job {
        body: Body::Fin,
        shop: &[],
        lines: r#"service { place indoors; air 10 °C .. 23 °C }"#,
        shows: &["thin_spot", "thin_spot_share"],
    },
    Job {
        body: Body::Leaning,
        shop: &[],
        lines: r#"service { place indoors; air 10 °C .. 23 °C }"#,
        shows: &["rough_below", "rough_area"],
    },
    Job {
        body: Body::Block,
        shop: &[("left: 900 g", "left: 900 g, opened: 2025-11-01, stored: sealed")],
        lines: r#"service { place indoors; air 10 °C .. 23 °C }; wanted by 2026-06-01"#,
        shows: &["keeps_dry_sealed_medium"],
    },
    Job {
        body: Body::Block,
        shop: &[
            ("PETG", "PA12"),
            ("left: 900 g", "left: 900 g, dried: 2026-11-01, stored: sealed"),
            ("spools:", "tools: { dryer_limit: 90 °C }\nspools:"),
        ],
        lines: r#"pin material "PA12" because "to see"; wanted by 2026-11-02"#,
        shows: &["keeps_dry_sealed_high"],
    },
    Job {
        body: Body::Block,
        shop: &[
            ("PETG", "PA12"),
            ("left: 900 g", "left: 900 g, dried: 2026-11-01, stored: open"),
            ("spools:", "tools: { dryer_limit: 90 °C }\nspools:"),
        ],
        lines: r#"pin material "PA12" because "to see"; wanted by 2026-11-02"#,
        shows: &["keeps_dry_open_high"],
    },
    Job {
        body: Body::Block,
        shop: &[
            ("PETG", "PA12"),
            ("left: 900 g", "left: 900 g, dried: 2026-11-01, stored: bag"),
            ("spools:", "tools: { dryer_limit: 90 °C }\nspools:"),
        ],
        lines: r#"pin material "PA12" because "to see"; wanted by 2026-11-29"#,
        shows: &["keeps_dry_bag_high"],
    },
    Job {
        body: Body::Block,
        shop: &[
            ("PETG", "PA12"),
            ("left: 900 g", "left: 900 g, dried: 2026-11-01, stored: dry-box"),
            ("spools:", "tools: { dryer_limit: 90 °C }\nspools:"),
        ],
        lines: r#"pin material "PA12" because "to see"; wanted by 2026-11-29"#,
        shows: &["keeps_dry_dry_box_high"],
    },
    Job {
        body: Body::Block,
        shop: &[("drive: direct", "drive: direct\n    filament: 1.75 mm")],
        lines: r#"service { place indoors; air 10 °C .. 23 °C }"#,
        shows: &["usual_filament"],
    },
];

/// Figures that printed fits show, whatever the job.
const FITS: &[&str] = &[
    "offset_doubt",
    "spacing_spread",
    "shrinkage_doubt",
    "scrap_chance",
    "lying_spread",
    "usual_bore",
    "widest_bore_factor",
    "crown_sag",
    "crown_sag_share",
    "crown_sag_most",
    "boss_oversize",
    "size_spread",
    "shrinkage_assumed",
    "anneal_contraction",
    "annealing_doubt",
    "record_reach",
    "record_pieces",
    "record_age",
    "finest_printed_grade",
    "pinned_grade",
    "drilled_grade",
    "cad_rounding",
    "cutting_stock",
    "bonding_room",
    "crush_rib_width",
    "capability_least",
    "capability_holds",
    "drill_grabs",
    "largest_bush",
    "largest_pin",
    "smallest_hole",
    "sliding_play",
    "press_share",
    "press_least",
    "insert_hole_play",
    "hinge_play",
    "snap_window",
    "snap_arm",
    "pocket_play",
    "head_play",
    "gap_record_margin",
    "fine_tolerance",
    "gauge_pin_hole",
    "sample_every",
    "hinge_strip",
    "hinge_thick",
    "hinge_layers",
    "hole_undersize",
    "clearance_in_place",
    "clearance_in_place_vertical",
    "first_layer_flare",
];

impl Job {
    /// What comes of it with this figure in the workshop's file: what is found wrong, and the recipe in words.
    fn told(&self, figure: &str) -> String {
        let mut shop = one_spool("PETG", "dark grey");
        for (from, to) in self.shop {
            assert!(shop.contains(from), "{from}");
            shop = shop.replace(from, to);
        }
        let mesh = match self.body {
            Body::Block => shapes::block([60.0, 10.0, 10.0]),
            Body::Stool => {
                let across: &[f64] = &[0.0, 16.5, 23.5, 40.0];
                shapes::blocks([across, across, &[0.0, 10.0, 20.0]], |[x, y, z]| z == 1 || (x == 1 && y == 1), |p| p)
            }
            Body::Hole(diameter) => shapes::plate_with_hole(diameter),
            // An arm whose underside leans 70° from vertical.
            Body::Arm => shapes::blocks(
                [&[0.0, 12.0, 22.0], &[0.0, 3.0], &[0.0, 5.0, 10.0]],
                |c| c[0] == 0 || c[2] == 1,
                |[x, y, z]| [x, y, z + 0.364 * (x - 12.0).max(0.0)],
            ),
            Body::Fork => shapes::blocks(
                [&[0.0, 15.0, 15.35, 30.0], &[0.0, 20.0], &[0.0, 3.0, 12.0]],
                |c| c[0] != 1 || c[2] == 0,
                |p| p,
            ),
            Body::Sheet(thick) => shapes::block([60.0, 10.0, thick]),
            Body::Tube => shapes::revolved(&[[10.0, 0.0], [13.0, 0.0], [13.0, 30.0], [10.0, 30.0]]),
            Body::Fin => shapes::blocks(
                [&[0.0, 30.0, 30.5, 60.0], &[0.0, 4.0, 6.0, 10.0], &[0.0, 10.0, 12.0]],
                |c| c[2] == 0 || (c[0] == 1 && c[1] == 1),
                |p| p,
            ),
            Body::Tee => shapes::blocks(
                [&[0.0, 20.0, 30.0, 50.0], &[0.0, 20.0], &[0.0, 20.0, 30.0]],
                |c| c[2] == 1 || c[0] == 1,
                |p| p,
            ),
            Body::Leaning => {
                shapes::blocks([&[0.0, 30.0], &[0.0, 10.0], &[0.0, 10.0]], |_| true, |[x, y, z]| [x, y + 0.9 * z, z])
            }
            Body::Climbing => shapes::blocks(
                [&[0.0, 10.0, 20.0, 30.0, 40.0, 50.0, 60.0], &[0.0, 10.0], &[0.0, 12.0]],
                |_| true,
                |[x, y, z]| [x, y, z + 0.7 * x],
            ),
            Body::Ball => shapes::revolved(&shapes::arc([0.0, 0.0], 12.0, -90.0, 90.0, 24)),
        };
        let lines = self.lines;
        let faces = "face \"root\" toward -x; face \"end\" toward +x";
        let made = Workshop::empty()
            .with("bar.stl", mesh)
            .with("shop.yaml", format!("{shop}catalogue:\n  figures:\n    {figure}\n"))
            .with("bar.partspec", format!("part \"bar\" {{ mesh \"bar.stl\" in mm; {faces}; {lines} }}\n"));
        let compiled = made.compile("bar.partspec");
        let found = compiled.diagnostics.iter().map(|found| found.message.clone());
        let recipes = compiled.parts.iter().map(|part| serde_json::to_string(&Recipe::from(&part.recipe)).unwrap());
        found.chain(recipes).collect()
    }
}

/// Printed fits by a catalogue in which a workshop has this figure.
fn fits_with(figure: &str) -> String {
    let text = format!("name: A\nprinters: []\nnozzles: []\nsurfaces: []\ncatalogue:\n  figures:\n    {figure}\n");
    let (mut catalogue, mut sources) = built_in();
    let id = sources.add(makeready::diag::Source::new("shop.yaml", text));
    let report = makeready::catalogue::load_shop(&sources, id, &mut catalogue);
    assert_eq!(report.diagnostics, vec![], "{figure}");
    fits_by(&catalogue)
}

/// Whether an absurd value shows. It is held against the same value as the workshop's own, since whose a value is shows too.
fn shows(name: &str, told: impl Fn(&str) -> String) -> bool {
    let (known, _) = built_in();
    let plain = told(&absurd(name, 1.0, &known));
    // What settles well needs much to be called unsettled.
    [7.0, 1.0 / 7.0, 0.01].into_iter().any(|factor| told(&absurd(name, factor, &known)) != plain)
}

/// Figures that show in the plan of a run.
const RUNS: &[&str] = &[
    "yield_prior",
    "drying_doubles",
    "change_material",
    "change_colour",
    "change_staged",
    "change_nozzle",
    "change_surface",
    "purge_material",
    "purge_colour",
    "watch_first_layer",
    "change_spool_loss",
];

/// Figures that show once a run has records: `tests/runs.rs` changes them.
const RECORDS: &[&str] = &["pace_rounds", "plate_lost", "plate_prior"];

/// Figures that show in records of measured pieces.
const CALIBRATED: &[&str] =
    &["measured_off", "measured_off_share", "record_least", "sizes_apart", "scale_errors", "far_out_score"];

/// What is made of measured pieces with this figure: a scale of 0.98 over three sizes, four pieces of one size, six with one
/// far from the rest, and two so far from their nominals that they are looked at.
fn calibrated_with(figure: &str) -> String {
    let shop = one_spool("PLA", "white")
        .replace("spools:\n", "spools:\n  - { name: two, material: PETG, colour: black, left: 900 g }\n");
    let mut table = "feature,nominal,axis,measured,material,printer,nozzle,date\n".to_owned();
    let mut add = |what: &str, nominal: f64, axis: &str, sizes: &[f64], material: &str| {
        sizes.iter().for_each(|size| {
            table.push_str(&format!("{what},{nominal},{axis},{size:.4},{material},Bench,brass-04,2026-11-20\n"))
        });
    };
    for nominal in [5.0, 6.5, 8.0] {
        let around = [-0.01, 0.0, 0.01].map(|off| 0.98 * nominal + off);
        add("hole", nominal, "vertical", &around, "PLA");
    }
    add("outside", 10.0, "vertical", &[10.01, 10.02, 10.0, 9.99], "PLA");
    add("outside", 10.0, "along-layers", &[10.01, 10.02, 10.0, 9.99, 10.01, 10.0, 10.15], "PLA");
    add("hole", 30.0, "vertical", &[27.5], "PETG");
    add("outside", 10.0, "vertical", &[8.5], "PETG");
    let made = Workshop::empty()
        .with("shop.yaml", format!("{shop}catalogue:\n  figures:\n    {figure}\n"))
        .with("measured.csv", table);
    let run = made.run(&["calibrate", "measured.csv", "--dry-run"]);
    format!("{}{}", run.stdout, run.stderr)
}

/// A run of four materials, two colours, two nozzles, a spool that is damp and one too short, with this figure.
fn run_with(figure: &str) -> String {
    let shop = one_spool("PLA", "white").replace(
        "nozzles:\n",
        "nozzles:\n  - { name: brass-06, bore: 0.6 mm, metal: brass }\n  - { name: steel-04, bore: 0.4 mm, metal: hardened-steel }\n",
    );
    let shop = shop.replace("surfaces: [textured-pei]", "surfaces: [textured-pei, smooth-pei]").replace(
        "spools:\n",
        "tools: { dryer_limit: 50 °C }\nyields:\n  - { printer: Bench, material: PLA, started: 22, good: 19, on: 2026-10-11 }\nspools:\n  \
         - { name: red, material: PLA, colour: red, left: 900 g }\n  - { name: black, material: PETG, colour: black, left: 12 g }\n  \
         - { name: black-2, material: PETG, colour: black, left: 900 g }\n  - { name: hot, material: PC, colour: white, left: 900 g, dried: 2026-10-11, stored: dry-box }\n",
    );
    let part = |name: &str, lines: &str| {
        format!("part \"{name}\" {{ mesh \"bar.stl\" in mm; service {{ place indoors; air 10 °C .. 23 °C; {lines} }}\n")
    };
    let made = Workshop::empty()
        .with("bar.stl", shapes::block([60.0, 10.0, 10.0]))
        .with("shop.yaml", format!("{shop}catalogue:\n  figures:\n    {figure}\n"))
        .with("white.partspec", part("white", "colour white }; pin material \"PLA\" because \"x\"; pin surface textured-pei because \"x\""))
        .with("red.partspec", part("red", "colour red }; pin material \"PLA\" because \"x\"; pin nozzle brass-06 because \"x\""))
        .with("black.partspec", part("black", "}; pin material \"PETG\" because \"x\"; pin surface smooth-pei because \"x\""))
        .with("hot.partspec", part("hot", "}; pin material \"PC\" because \"x\""))
        .with(
            "week.runspec",
            "run \"week\" { from 2026-12-07 07:00; hours monday .. sunday 07:00 .. 19:00; build \"white.partspec\" 20; build \"red.partspec\" 3; \
             build \"black.partspec\" 4; build \"hot.partspec\" 1 }\n",
        );
    let run = made.run(&["plan", "week.runspec", "--print", "json"]);
    assert!(run.code < 2, "{}", run.stderr);
    run.stdout
}

#[test]
fn every_figure_of_a_run_has_an_effect() {
    let idle: Vec<&str> = RUNS.iter().copied().filter(|name| !shows(name, run_with)).collect();
    assert_eq!(idle, Vec::<&str>::new(), "changed absurdly, these change nothing");
}

#[test]
fn every_figure_has_an_effect() {
    let by_jobs = JOBS.iter().flat_map(|job| job.shows.iter().map(move |name| (name, job)));
    let mut idle: Vec<&str> = FITS.iter().copied().filter(|name| !shows(name, fits_with)).collect();
    idle.extend(by_jobs.filter(|(name, job)| !shows(name, |figure| job.told(figure))).map(|(name, _)| *name));
    assert_eq!(idle, Vec::<&str>::new(), "changed absurdly, these change nothing");
}

#[test]
fn every_figure_of_a_record_has_an_effect() {
    let idle: Vec<&str> = CALIBRATED.iter().copied().filter(|name| !shows(name, calibrated_with)).collect();
    assert_eq!(idle, Vec::<&str>::new(), "changed absurdly, these change no record");
}

#[test]
fn every_figure_stands_in_one_list() {
    let by_jobs: Vec<&str> = JOBS.iter().flat_map(|job| job.shows.iter().copied()).collect();
    let mut listed = [FITS, RUNS, RECORDS, CALIBRATED, &by_jobs].concat();
    listed.sort_unstable();
    let mut every: Vec<&str> = figures::TABLE.iter().map(|row| row.name).collect();
    every.sort_unstable();
    assert_eq!(listed, every, "each figure stands in one list");
}
