//! The allowance line, from the record to the refused grade.

use super::*;
use crate::fits::calibration::CalibrationRecord;
use crate::fits::feature::{FeatureAxis, Tools};
use crate::fits::function::mm;
use crate::fits::hardware::Series;
use crate::fits::practice::Polymer;
use crate::fits::said::When;
use crate::quantity::trim_number;

fn record(offset: f64, spread: f64, count: u32) -> CalibrationRecord {
    CalibrationRecord {
        printer: "Bench".to_owned(),
        nozzle: "brass-04".to_owned(),
        material: "PETG".to_owned(),
        what: FeatureKind::Hole,
        axis: FeatureAxis::AlongLayers,
        offset: Length::mm(offset),
        scale: 1.0,
        spread: Length::mm(spread),
        count,
        on: "2026-11-05".to_owned(),
        range: None,
    }
}

fn m5() -> FitFunction {
    FitFunction::Clearance { thread: "M5".to_owned(), series: Series::Medium }
}

fn hole(axis: FeatureAxis) -> FeatureContext {
    FeatureContext::usual(FeatureKind::Hole, axis, "PETG")
}

fn near(length: Length, mm: f64) -> bool {
    (length.to_mm() - mm).abs() < 1e-9
}

/// ISO 273 medium for M5 is 5.5; a printer that makes such holes 0.2 small wants 5.7 modelled.
#[test]
fn a_record_moves_the_size_to_model_one_for_one() {
    let mut context = hole(FeatureAxis::AlongLayers);
    context.record = Some(record(-0.2, 0.03, 10));
    let line = allowance(&m5(), &context).unwrap();
    assert!(near(line.size_to_model, 5.7), "{}", line.size_to_model);
    assert!(near(line.nominal, 5.5) && near(line.correction(), 0.2));
    assert_eq!(line.route, Route::PrintToSize);
    assert_eq!(line.capability.verdict, Verdict::Holds);
    assert_eq!(line.origin, Origin::Record);
    assert!(line.origin_source.citation.contains("10 pieces, 2026-11-05"));
    context.record = Some(record(-0.35, 0.03, 10));
    assert!(near(allowance(&m5(), &context).unwrap().size_to_model, 5.85));
}

#[test]
fn the_working_adds_up() {
    let mut context = hole(FeatureAxis::AlongLayers);
    context.facets = Some(12);
    context.moist = true;
    context.annealed = true;
    context.polymer = Polymer::usual("PA6");
    let line = allowance(&m5(), &context).unwrap();
    let sum: f64 = line.terms.iter().filter(|t| t.used == TermUse::InSum).map(|t| t.value.to_mm()).sum();
    assert!((line.size_to_model.to_mm() + sum - line.printed.middle().to_mm()).abs() < 1e-9);
    let names: Vec<&str> = line.terms.iter().map(|t| t.cause.as_str()).collect();
    assert_eq!(names, ["printer's offset", "shrinkage", "crown sag", "facet chord", "moisture growth", "annealing"]);
    // d (1 - cos(pi/12)) of the modelled size.
    let chord = line.terms[3].value.to_mm();
    assert!((chord + line.size_to_model.to_mm() * (1.0 - (std::f64::consts::PI / 12.0).cos())).abs() < 1e-9);
}

/// The rim on the bed is told by the first layer's flare and by nothing else; a feature off the bed has none.
#[test]
fn a_rim_on_the_bed_bulges_by_the_flare_of_the_first_layer() {
    let mut context = hole(FeatureAxis::AcrossLayers);
    assert_eq!(allowance(&m5(), &context).unwrap().first_layer_bulge(), None);
    context.on_bed = true;
    assert_eq!(allowance(&m5(), &context).unwrap().first_layer_bulge(), Some(Practice::usual().first_layer_flare));
}

#[test]
fn fine_iso_grades_are_never_printed_to_size() {
    let cut = Practice::usual().cutting_stock.to_mm();
    for symbol in ["H7", "H8", "H9", "H10", "H9/h6"] {
        let fit = FitFunction::Iso { size: Length::mm(8.0), symbol: symbol.to_owned() };
        let mut context = hole(FeatureAxis::AlongLayers);
        // Even a record that promises a spread of 2 µm does not make it so.
        context.record = Some(record(-0.2, 0.002, 20));
        let line = allowance(&fit, &context).unwrap();
        assert_eq!(line.capability.verdict, Verdict::CannotHold, "{symbol}");
        let Route::PrintUnder { then, stock } = &line.route else { panic!("{symbol}: {:?}", line.route) };
        assert_eq!(then.kind, FinishKind::Ream);
        assert!(line.printed.high.to_mm() <= 8.0 - cut + 1e-9, "{symbol}: the largest print must leave a cut");
        assert!(stock.to_mm() >= cut);
    }
    // An H7 reamer may cut wider than H6 allows: no printed or reamed hole is promised there.
    let fine = FitFunction::Iso { size: Length::mm(8.0), symbol: "H6".to_owned() };
    let line = allowance(&fine, &hole(FeatureAxis::AlongLayers)).unwrap();
    assert_eq!(line.route.finish().unwrap().kind, FinishKind::Bush);
    let fit = FitFunction::Iso { size: Length::mm(8.0), symbol: "H14".to_owned() };
    assert_eq!(allowance(&fit, &hole(FeatureAxis::AcrossLayers)).unwrap().route, Route::PrintToSize);
}

#[test]
fn a_dowel_is_reamed_and_a_bearing_clamped_where_there_is_no_reamer() {
    let mut context = hole(FeatureAxis::AcrossLayers);
    context.tools = Tools { known: true, reamers: vec![Length::mm(6.0)].into(), ..Tools::default() };
    let dowel = allowance(&FitFunction::Dowel { size: Length::mm(6.0) }, &context).unwrap();
    assert!(dowel.route.to_string().contains("ream 6 mm (6 mm to 6.012 mm)"), "{}", dowel.route.to_string());
    assert_eq!(dowel.route.finish().unwrap().tool, Availability::InShop);
    assert_eq!(dowel.inspection.finished().unwrap().limits, Some(dowel.target));
    let seat = FitFunction::BearingSeat { designation: "608".to_owned() };
    let line = allowance(&seat, &context).unwrap();
    assert_eq!(line.inspection.finished().unwrap().limits, None, "nothing brings a clamped seat to H7");
    assert_eq!(line.route.finish().unwrap().kind, FinishKind::ClampOrBond);
    assert!(line.printed.low.to_mm() >= 22.0, "the bearing must enter");
    assert!(near(line.target.low, 22.0) && near(line.target.high, 22.021));
    assert!(line.companions.iter().any(|d| d.key == "width_mm" && d.value == 7.0));
}

#[test]
fn a_standard_reamer_is_not_named_where_it_cuts_the_wrong_size() {
    let context = hole(FeatureAxis::AcrossLayers);
    let line = allowance(&FitFunction::Press { size: Length::mm(8.0), interference: None }, &context).unwrap();
    assert_eq!(line.route.finish().unwrap().kind, FinishKind::CrushRibs);
    let line = allowance(&FitFunction::Sliding { size: Length::mm(8.0), play: None }, &hole(FeatureAxis::AlongLayers))
        .unwrap();
    assert!(line.route.to_string().contains("drill 8.2 mm"), "{}", line.route);
    let shaft = FeatureContext::usual(FeatureKind::Outside, FeatureAxis::AcrossLayers, "PETG");
    let line = allowance(&FitFunction::Iso { size: Length::mm(8.0), symbol: "h6".to_owned() }, &shaft).unwrap();
    assert!(matches!(line.route, Route::Replace { .. }), "{:?}", line.route);
}

#[test]
fn the_mesh_tells_a_double_compensation() {
    let mut context = hole(FeatureAxis::AlongLayers);
    context.record = Some(record(-0.2, 0.03, 10));
    context.modelled = Some(Length::mm(5.7));
    assert_eq!(allowance(&m5(), &context).unwrap().model, ModelState::Compensated);
    context.compensation = Compensation::InRecipe;
    let line = allowance(&m5(), &context).unwrap();
    assert_eq!(line.model, ModelState::Twice);
    assert!(line.warnings.iter().any(|w| matches!(w, Warning::CarriedTwice { found } if *found == Length::mm(5.7))));
    context.modelled = Some(Length::mm(5.5));
    assert!(matches!(allowance(&m5(), &context).unwrap().model, ModelState::Nominal { change } if near(change, 0.2)));
    context.modelled = Some(Length::mm(5.2));
    assert!(matches!(allowance(&m5(), &context).unwrap().model, ModelState::Other { .. }));
}

#[test]
fn only_polyamides_are_measured_conditioned() {
    let when = |polymer: &str| {
        let mut context = hole(FeatureAxis::AlongLayers);
        context.moist = true;
        context.polymer = Polymer::usual(polymer);
        allowance(&m5(), &context).unwrap().inspection.checks[0].when
    };
    assert_eq!([when("PA6"), when("ASA")], [When::Conditioned, When::Cooled]);
}

/// A spread is of two pieces at the least: below, the usual one stands in, and that is said.
#[test]
fn one_piece_gives_no_spread_and_two_do() {
    let mut context = hole(FeatureAxis::AlongLayers);
    let stands_in = |context: &FeatureContext| {
        allowance(&m5(), context).unwrap().warnings.iter().any(|w| matches!(w, Warning::NoSpread { .. }))
    };
    for (spread, count, expected) in [(0.03, 1, true), (0.03, 2, false), (0.0, 10, true), (0.03, 10, false)] {
        context.record = Some(record(-0.2, spread, count));
        assert_eq!(stands_in(&context), expected, "{count} pieces, {spread} mm");
    }
}

#[test]
fn weak_and_old_records_say_so() {
    let mut context = hole(FeatureAxis::AlongLayers);
    context.record = Some(record(-0.2, 0.03, 3));
    context.as_of = Some("2028-01-01".to_owned());
    context.polymer = Polymer::usual("ABS");
    let warnings: Vec<String> = allowance(&m5(), &context).unwrap().warnings.iter().map(ToString::to_string).collect();
    let warnings = warnings.join("\n");
    assert!(warnings.contains("3 pieces") && warnings.contains("days old") && warnings.contains("is for PETG"));
}

#[test]
fn wrong_demands_are_refused_with_words() {
    let outside = FeatureContext::usual(FeatureKind::Outside, FeatureAxis::AcrossLayers, "PLA");
    assert!(allowance(&m5(), &outside).unwrap_err().message.contains("needs a hole"));
    let iso = FitFunction::Iso { size: Length::mm(8.0), symbol: "H7".to_owned() };
    assert_eq!(allowance(&iso, &outside).unwrap_err().hint, "write `h7` for the shaft");
    let mut context = hole(FeatureAxis::AlongLayers);
    context.nozzle_bore = Length::mm(f64::NAN);
    assert!(allowance(&m5(), &context).is_err());
    let press = FitFunction::Press { size: Length::mm(8.0), interference: Some((Length::mm(0.2), Length::mm(0.1))) };
    assert!(allowance(&press, &hole(FeatureAxis::AlongLayers)).is_err());
}

#[test]
fn every_function_gives_a_line_in_both_axes() {
    let d = Length::mm(8.0);
    let functions = [
        m5(),
        FitFunction::Sliding { size: d, play: None },
        FitFunction::Press { size: d, interference: None },
        FitFunction::BearingSeat { designation: "608".to_owned() },
        FitFunction::Iso { size: d, symbol: "H11".to_owned() },
        FitFunction::Thread { designation: "M6".to_owned() },
        FitFunction::Insert { thread: "M3".to_owned() },
        FitFunction::Dowel { size: d },
        FitFunction::Hinge { pin: d, in_place: false },
        FitFunction::Hinge { pin: d, in_place: true },
        FitFunction::Snap { size: d },
        FitFunction::Nut { thread: "M5".to_owned() },
        FitFunction::Head { thread: "M5".to_owned() },
        FitFunction::Magnet { diameter: d, thickness: Some(Length::mm(3.0)) },
    ];
    for fit in &functions {
        for axis in [FeatureAxis::AlongLayers, FeatureAxis::AcrossLayers] {
            let line = allowance(fit, &hole(axis)).unwrap();
            assert!(line.target.low.to_um() < line.target.high.to_um(), "{}", line.function);
            assert!(!line.inspection.checks.is_empty() && !line.terms.is_empty());
            assert!(line.size_to_model.to_mm() > 1.0, "{}", line.function);
        }
    }
}

/// A check in one line, with a blank for the result.
fn as_line(check: &inspection::Check) -> String {
    let (limits, blank) = match check.limits {
        Some(l) => (format!("{} to {}, ", mm(l.low), mm(l.high)), "measured ______"),
        None => (String::new(), "passed ______"),
    };
    format!("{}: {limits}{}, {}, {}; {blank}", check.what, check.gauge, check.when, check.sample)
}

/// What a fitter reads of a line.
fn read(line: &AllowanceLine) -> String {
    let mut text = format!("{}: model {}\n{}\n", line.function, mm(line.size_to_model), line.route);
    for check in &line.inspection.checks {
        text.push_str(&format!("check {}\n", as_line(check)));
    }
    for companion in &line.companions {
        text.push_str(&format!("{} {}\n", companion.label, trim_number(companion.value, 3)));
    }
    text
}

/// The four examples of the specification, read as a fitter would; the bench of a hut workshop, its record invented.
#[test]
fn examples_read_right_to_a_fitter() {
    let mut context = hole(FeatureAxis::AcrossLayers);
    context.record = Some(CalibrationRecord { axis: FeatureAxis::AcrossLayers, ..record(-0.18, 0.04, 10) });
    context.tools = Tools {
        known: true,
        reamers: vec![Length::mm(6.0), Length::mm(8.0)].into(),
        drills: vec![Length::mm(4.0), Length::mm(5.5)].into(),
        ..Tools::default()
    };
    let fits = [
        m5(),
        FitFunction::Dowel { size: Length::mm(6.0) },
        FitFunction::BearingSeat { designation: "608".to_owned() },
        FitFunction::Insert { thread: "M3".to_owned() },
    ];
    let text: Vec<String> = fits.iter().map(|f| read(&allowance(f, &context).unwrap())).collect();
    insta::assert_snapshot!("examples_for_a_fitter", text.join("\n"));
}

proptest::proptest! {
    /// Any numbers give a line or a message, and a line's size to model is a size.
    #[test]
    fn no_numbers_panic(
        size in proptest::num::f64::ANY,
        offset in proptest::num::f64::ANY,
        scale in proptest::num::f64::ANY,
        spread in -1.0..8.0f64,
        count in 0u32..40,
        facets in 0u32..200,
        which in 0usize..8,
        outside in proptest::bool::ANY,
    ) {
        let kind = if outside { FeatureKind::Outside } else { FeatureKind::Hole };
        let mut context = FeatureContext::usual(kind, FeatureAxis::AlongLayers, "PETG");
        context.facets = Some(facets);
        context.modelled = Some(Length::mm(size));
        context.annealed = count % 2 == 0;
        context.record = Some(CalibrationRecord { what: kind, scale, ..record(offset, spread, count) });
        if count > 20 {
            context.record = None;
        }
        let d = Length::mm(size);
        let fit = match which {
            0 => FitFunction::Sliding { size: d, play: None },
            1 => FitFunction::Press { size: d, interference: None },
            2 => FitFunction::Press { size: Length::mm(8.0), interference: Some((d, Length::mm(offset))) },
            3 => FitFunction::Iso { size: d, symbol: "H9/h6".to_owned() },
            4 => FitFunction::Dowel { size: d },
            5 => FitFunction::Hinge { pin: d, in_place: outside },
            6 => FitFunction::Magnet { diameter: d, thickness: Some(Length::mm(offset)) },
            _ => FitFunction::Snap { size: d },
        };
        if let Ok(line) = allowance(&fit, &context) {
            proptest::prop_assert!(line.size_to_model.to_mm() > 0.0 && line.size_to_model.to_mm().is_finite());
            if let Ok(plan) = crate::fits::coupon::CouponPlan::for_fit(&fit, &line, &context, Some(d))
                && plan.sizes.iter().all(|s| s.to_mm() < 20.0)
            {
                proptest::prop_assert!(plan.build().is_ok());
            }
        }
    }
}

/// Every tool a route names can be bought and cuts to within the limits; over sizes, functions, polymers and benches.
#[test]
fn every_route_is_one_that_a_tool_can_cut() {
    let benches = [
        Tools::default(),
        Tools { known: true, ..Tools::default() },
        Tools {
            known: true,
            reamers: [6.0, 8.0].map(Length::mm).to_vec().into(),
            drills: [2.5, 4.0, 5.5, 6.0, 8.0].map(Length::mm).to_vec().into(),
            ..Tools::default()
        },
    ];
    let sizes: Vec<f64> = (4..160).map(|n| f64::from(n) * 0.5).chain([6.3, 7.7, 12.2, 33.3]).collect();
    let mut kinds = std::collections::BTreeSet::new();
    for size in sizes {
        let d = Length::mm(size);
        let iso = |symbol: &str| FitFunction::Iso { size: d, symbol: symbol.to_owned() };
        let holes = ["H6", "H7", "H9", "H11", "G7", "F8", "E11", "P9", "N7", "JS8"].map(iso);
        let shafts = ["h6", "h9", "h11", "g6", "f7", "m6", "p6", "d11"].map(iso);
        let both = [
            FitFunction::Sliding { size: d, play: None },
            FitFunction::Press { size: d, interference: None },
            FitFunction::Hinge { pin: d, in_place: false },
            FitFunction::Snap { size: d },
        ];
        for (kind, functions) in [
            (FeatureKind::Hole, holes.iter().chain(&both).collect::<Vec<_>>()),
            (FeatureKind::Outside, shafts.iter().chain(&both).collect()),
        ] {
            for (tools, axis) in
                benches.iter().flat_map(|b| [FeatureAxis::AlongLayers, FeatureAxis::AcrossLayers].map(|a| (b, a)))
            {
                let mut context = FeatureContext::usual(kind, axis, "PETG");
                context.tools = tools.clone();
                for fit in &functions {
                    let Ok(line) = allowance(fit, &context) else { continue };
                    for finish in line.route.finish().into_iter().chain(&line.alternatives) {
                        cuts_within(&line, finish);
                        kinds.insert(format!("{:?}", finish.kind));
                    }
                    checks_do_not_contradict(&line);
                }
            }
        }
    }
    let threads = ["M2", "M2.5", "M3", "M4", "M5", "M6", "M8", "M10", "M12", "M16", "M20", "M24"];
    let standard = threads.iter().flat_map(|t| {
        let thread = (*t).to_owned();
        [
            FitFunction::Clearance { thread: thread.clone(), series: Series::Fine },
            FitFunction::Clearance { thread: thread.clone(), series: Series::Medium },
            FitFunction::Clearance { thread: thread.clone(), series: Series::Coarse },
            FitFunction::Thread { designation: thread.clone() },
            FitFunction::Insert { thread: thread.clone() },
            FitFunction::Nut { thread: thread.clone() },
            FitFunction::Head { thread },
        ]
    });
    let dowels = [1.0, 1.2, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 12.0, 16.0, 20.0];
    let dowels = dowels.map(|d| FitFunction::Dowel { size: Length::mm(d) });
    let seats = ["608", "6000", "6205", "6210"].map(|b| FitFunction::BearingSeat { designation: b.to_owned() });
    for fit in standard.chain(dowels).chain(seats) {
        for tools in &benches {
            let mut context = hole(FeatureAxis::AlongLayers);
            context.nozzle_bore = Length::mm(0.8);
            context.tools = tools.clone();
            let Ok(line) = allowance(&fit, &context) else { continue };
            for finish in line.route.finish().into_iter().chain(&line.alternatives) {
                cuts_within(&line, finish);
                kinds.insert(format!("{:?}", finish.kind));
            }
            checks_do_not_contradict(&line);
        }
    }
    for wanted in ["Tap", "SetInsert", "DrillAndSetInsert", "ClampOrBond"] {
        assert!(kinds.contains(wanted), "no part made a route by {wanted}");
    }
    for wanted in ["Ream", "Drill", "CrushRibs", "TryAndFit", "Turn", "Bush", "MetalPin"] {
        assert!(kinds.contains(wanted), "no size made a route by {wanted}");
    }
}

/// ISO 286-1: the hole of an H7 reamer lies from its size to its size and IT7.
fn cuts_within(line: &AllowanceLine, finish: &Finish) {
    let within = |a: f64| a >= line.target.low.to_mm() - 1e-3 && a <= line.target.high.to_mm() + 1e-3;
    let Some(cutter) = finish.cutter else {
        assert!(!matches!(finish.kind, FinishKind::Ream | FinishKind::Drill), "{}: {}", line.function, finish.step);
        return;
    };
    let size = cutter.to_mm();
    assert!(within(size), "{}: {} cuts {size}", line.function, finish.step);
    if finish.kind == FinishKind::Ream {
        let zone = crate::fits::iso286::Zone::parse("H7").unwrap();
        let h7 = crate::fits::iso286::limits(cutter, &zone).unwrap();
        assert!(within(size + h7.upper_um / 1000.0), "{}: a reamer {size} H7 cuts too wide", line.function);
        assert!((size * 2.0).fract().abs() < 1e-9, "{}: no usual reamer of {size}", line.function);
    }
    assert!(finish.step.to_string().contains(&trim_number(size, 3)), "{}", finish.step);
}

/// One check of the finished feature at most, and none before it that asks for the same limits.
fn checks_do_not_contradict(line: &AllowanceLine) {
    let checks = &line.inspection.checks;
    assert!((1..=2).contains(&checks.len()), "{}: {checks:?}", line.function);
    if let [before, after] = checks.as_slice() {
        assert!(before.limits.is_some() && before.limits != after.limits, "{}: {checks:?}", line.function);
    }
    let joined = line.route.finish().is_some_and(|f| {
        matches!(f.kind, FinishKind::ClampOrBond | FinishKind::CrushRibs | FinishKind::TryAndFit | FinishKind::Bush)
    });
    let last = checks.last().unwrap();
    assert!(!joined || last.limits.is_none(), "{}: nothing brings it to {:?}", line.function, last.limits);
}

/// A finish the spec insists on is the route, or is refused in words where it cannot lead to the limits.
#[test]
fn a_finish_that_is_asked_for_is_followed_or_refused() {
    use crate::fits::feature::Finishing::{self, AsPrinted, Drilled, Reamed, Tapped};
    let tried = |fit: FitFunction, asked: Finishing| {
        let context = FeatureContext { finish: Some(asked), ..hole(FeatureAxis::AcrossLayers) };
        allowance(&fit, &context)
    };
    let iso = |symbol: &str| FitFunction::Iso { size: Length::mm(8.0), symbol: symbol.to_owned() };
    let screw = || FitFunction::Clearance { thread: "M5".to_owned(), series: Series::Medium };
    let insert = || FitFunction::Insert { thread: "M3".to_owned() };
    let thread = || FitFunction::Thread { designation: "M5".to_owned() };
    let kind = |fit, asked| tried(fit, asked).unwrap().route.finish().map(|f| f.kind);
    assert_eq!(kind(iso("H9"), Reamed), Some(FinishKind::Ream));
    assert_eq!(kind(screw(), Drilled), Some(FinishKind::Drill));
    assert_eq!(kind(screw(), AsPrinted), None);
    assert_eq!(kind(iso("H12"), Drilled), Some(FinishKind::Drill));
    assert_eq!(kind(insert(), AsPrinted), Some(FinishKind::SetInsert));
    assert_eq!(kind(insert(), Drilled), Some(FinishKind::DrillAndSetInsert));
    assert_eq!(kind(thread(), Tapped), Some(FinishKind::Tap));
    let refused = |fit, asked| tried(fit, asked).unwrap_err().message;
    assert!(refused(iso("H7"), AsPrinted).contains("no printer holds IT7 as printed: 8 mm to 8.015 mm"));
    assert!(refused(iso("H7"), Drilled).contains("a drill does not hold IT7"));
    // H6 of 8 mm is 9 um wide (ISO 286-2): an H7 reamer may cut 15 um.
    assert!(refused(iso("H6"), Reamed).contains("no reamer that can be bought cuts within 8 mm to 8.009 mm"));
    assert!(refused(screw(), Tapped).contains("only a thread is tapped"));
    assert!(refused(thread(), AsPrinted).contains("cut with a tap"));
    assert!(refused(thread(), Drilled).contains("has no thread"));
    // Printed under and cut: what is left must be there.
    let reamed = tried(iso("H9"), Reamed).unwrap();
    assert!(matches!(&reamed.route, Route::PrintUnder { stock, .. } if stock.to_mm() > 0.2), "{:?}", reamed.route);
    assert!(reamed.printed.high.to_mm() < 8.0, "{:?}", reamed.printed);
}

/// What a screw only has to pass is not drilled beforehand, however widely it prints; what guides it is.
#[test]
fn a_hole_for_a_screw_is_opened_only_where_it_binds() {
    for (series, bore) in [(Series::Medium, 0.4), (Series::Medium, 0.8), (Series::Coarse, 0.8)] {
        for thread in ["M3", "M4", "M5", "M8"] {
            let mut context = hole(FeatureAxis::AcrossLayers);
            context.nozzle_bore = Length::mm(bore);
            let fit = FitFunction::Clearance { thread: thread.to_owned(), series };
            let line = allowance(&fit, &context).unwrap();
            let free = match &line.route {
                Route::PrintToSize => line.capability.verdict != Verdict::CannotHold,
                Route::PrintThen { then } => then.kind == FinishKind::OpenWhereTight && then.cutter.is_some(),
                _ => false,
            };
            assert!(free, "{thread} {series:?} through {bore}: {}", line.route);
            let aim = line.printed.middle();
            assert!(aim.to_um() > line.target.low.to_um() && aim.to_um() < line.target.high.to_um());
        }
    }
    let mut wide = hole(FeatureAxis::AcrossLayers);
    wide.nozzle_bore = Length::mm(0.8);
    let fine = FitFunction::Clearance { thread: "M4".to_owned(), series: Series::Fine };
    assert_eq!(allowance(&fine, &wide).unwrap().route.finish().map(|f| f.kind), Some(FinishKind::Drill));
    // Limits that a drawing has are kept.
    let stated = FeatureContext { within: Some([-0.05, 0.05].map(Length::mm)), ..wide };
    let medium = FitFunction::Clearance { thread: "M4".to_owned(), series: Series::Medium };
    assert_eq!(allowance(&medium, &stated).unwrap().route.finish().map(|f| f.kind), Some(FinishKind::Drill));
}

/// An arm's force goes with the cube of its thickness: it is tried and printed again, and nothing files it.
#[test]
fn an_arm_is_not_filed() {
    let context = FeatureContext::usual(FeatureKind::Outside, FeatureAxis::AlongLayers, "PETG");
    let line = allowance(&FitFunction::Snap { size: Length::mm(2.0) }, &context).unwrap();
    let told = line.route.to_string();
    assert!(told.contains("print it again") && !told.contains("scrape"), "{told}");
    assert_eq!(line.capability.verdict, Verdict::CannotHold, "else there is nothing to try");
}

/// A large thread without a tap is printed, upright and unloaded, with play on its core; a small or loaded one never.
#[test]
fn a_large_thread_without_a_tap_is_printed() {
    use crate::fits::feature::Finishing;
    let kind = |thread: &str, change: &dyn Fn(&mut FeatureContext)| {
        let mut context = hole(FeatureAxis::AcrossLayers);
        context.tools = Tools { known: true, ..Tools::default() };
        change(&mut context);
        let line = allowance(&FitFunction::Thread { designation: thread.to_owned() }, &context).unwrap();
        (line.route.finish().unwrap().kind, line)
    };
    let plain = |_: &mut FeatureContext| {};
    let (printed, line) = kind("M20", &plain);
    assert_eq!(printed, FinishKind::PrintThread);
    // ISO 724: D1 = 17.294 mm; half-way between 0.2 and 0.5 mm of play.
    assert!((line.printed.middle().to_mm() - 17.644).abs() < 0.02, "{:?}", line.printed);
    assert_eq!(line.function.to_string(), "thread M20, printed");
    assert_eq!(kind("M10", &plain).0, FinishKind::Tap);
    assert_eq!(kind("M20x1.5", &plain).0, FinishKind::Tap, "too fine for 0.4 mm");
    assert_eq!(kind("M20", &|c| c.loaded = true).0, FinishKind::Tap);
    assert_eq!(kind("M20", &|c| c.axis = FeatureAxis::AlongLayers).0, FinishKind::Tap);
    assert_eq!(kind("M20", &|c| c.nozzle_bore = Length::mm(0.8)).0, FinishKind::Tap);
    assert_eq!(kind("M20", &|c| c.tools = Tools::default()).0, FinishKind::Tap, "nobody said there is none");
    assert_eq!(kind("M20", &|c| c.finish = Some(Finishing::Tapped)).0, FinishKind::Tap);
    let as_printed = |c: &mut FeatureContext| (c.tools, c.finish) = (Tools::default(), Some(Finishing::AsPrinted));
    assert_eq!(kind("M20", &as_printed).0, FinishKind::PrintThread);
}

/// A record of 3 to 12 mm holds the shrinkage of such sizes: a larger one shrinks by so much more per length, is spread as
/// widely at the least as where nothing was measured, and says so; beyond the record's reach the default stands in.
#[test]
fn a_record_says_nothing_of_sizes_it_was_not_measured_on() {
    let of = |size: f64, range: Option<(f64, f64)>, scale: f64| {
        let mut context = hole(FeatureAxis::AcrossLayers);
        let range = range.map(|(from, to)| (Length::mm(from), Length::mm(to)));
        let measured = record(-0.16, 0.05, 12);
        context.record = Some(CalibrationRecord { axis: FeatureAxis::AcrossLayers, range, scale, ..measured });
        let fit = FitFunction::Iso { size: Length::mm(size), symbol: "H14".to_owned() };
        (allowance(&fit, &context).unwrap(), context)
    };
    let told = |line: &AllowanceLine| line.warnings.iter().any(|w| matches!(w, Warning::OtherSizes { .. }));
    let added = |line: &AllowanceLine| line.size_to_model.to_mm() - line.printed.middle().to_mm();
    let (within, context) = of(10.0, Some((3.0, 12.0)), 1.0);
    let share = context.polymer.shrinkage;
    assert!(share > 0.0 && !told(&within) && near(Length::mm(added(&within)), 0.16), "{}", added(&within));
    // The aim is the middle of H14: 12.2 mm is far beyond 11.8 mm; 12.02 mm beyond 12 mm by less than pieces differ.
    assert!(told(&of(12.0, Some((3.0, 11.8)), 1.0).0) && !told(&of(11.8, Some((3.0, 12.0)), 1.0).0));
    let (beyond, _) = of(22.0, Some((3.0, 12.0)), 1.0);
    let over = beyond.printed.middle().to_mm() - 12.0;
    assert!((added(&beyond) - 0.16 - share * over).abs() < 2e-3, "{} for {over} mm more", added(&beyond));
    assert!(told(&beyond) && beyond.origin == Origin::Record);
    let unmeasured = allowance(&m5(), &hole(FeatureAxis::AcrossLayers)).unwrap().spread;
    assert!(beyond.spread.to_um() > unmeasured.to_um().max(within.spread.to_um()));
    // The working says what lies within the record and what was added, and adds up.
    let shrunk: f64 = beyond.terms.iter().filter(|t| t.cause == Cause::Shrinkage).map(|t| t.value.to_mm()).sum();
    assert!((shrunk + share * beyond.size_to_model.to_mm()).abs() < 1e-9, "{shrunk}");
    // A record with a scale tells how the deviation grows: nothing is added, and the band is wider all the same.
    let (scaled, _) = of(22.0, Some((3.0, 12.0)), 0.998);
    assert!((added(&scaled) - 0.16 - 0.002 * scaled.size_to_model.to_mm()).abs() < 1e-9 && told(&scaled));
    assert!(scaled.spread.to_um() > unmeasured.to_um());
    // Smaller holes than measured: nothing is taken away, the band is wider.
    let (small, _) = of(2.5, Some((3.0, 12.0)), 1.0);
    assert!(near(Length::mm(added(&small)), 0.16) && told(&small));
    // Beyond the reach.
    let (far, _) = of(60.0, Some((3.0, 12.0)), 1.0);
    assert!(far.origin == Origin::Default && told(&far), "{:?}", far.warnings);
    assert!(!far.warnings.iter().any(|w| matches!(w, Warning::NoRecord { .. })));
    // A record that states no sizes may leave all the shrinkage of a large one out, or none of it.
    let (unsaid, _) = of(60.0, None, 1.0);
    assert!(unsaid.warnings.contains(&Warning::NoSizes) && near(Length::mm(added(&unsaid)), 0.16));
    assert!(unsaid.spread.to_mm() > share * 60.0);
    let (small, _) = of(6.0, None, 1.0);
    assert!(!small.warnings.contains(&Warning::NoSizes) && small.spread == within.spread);
}

/// The length of a pocket shrinks by its own measure, not by that of its width.
#[test]
fn a_pockets_length_is_drawn_by_its_own_shrinkage() {
    let mut context = hole(FeatureAxis::AcrossLayers);
    context.flat = true;
    context.second = Some(Second { what: SecondKind::Length, size: Length::mm(30.0), modelled: None });
    let fit = FitFunction::Flats { size: Length::mm(60.0), length: Some(Length::mm(30.0)), symbol: None };
    let line = allowance(&fit, &context).unwrap();
    let (_, length) = line.second.unwrap();
    let less = line.correction().to_mm() - (length.to_mm() - 30.0);
    assert!((less - 30.0 * context.polymer.shrinkage).abs() < 0.011, "{less}");
}

/// A distance that printing does not hold is set out by more than printing, and measured when it is; one that it holds is printed.
#[test]
fn a_distance_that_printing_does_not_hold_is_set_out() {
    let of = |within: f64, wall: Option<f64>| {
        let mut context = FeatureContext::usual(FeatureKind::Outside, FeatureAxis::AcrossLayers, "PLA");
        (context.between, context.wall) = (true, wall);
        context.within = Some([-within, within].map(Length::mm));
        allowance(&FitFunction::Distance { size: Length::mm(60.0) }, &context).unwrap()
    };
    let pitch = of(0.05, None);
    assert_eq!(pitch.capability.verdict, Verdict::CannotHold);
    assert_eq!(pitch.route.finish().map(|f| f.kind), Some(FinishKind::SetOut));
    assert!(pitch.route.to_string().contains("through a template"), "{}", pitch.route);
    assert!(!pitch.reasons.contains(&Reason::DistanceOtherwise), "said by the route");
    let last = pitch.inspection.finished().unwrap();
    assert!(last.limits == Some(pitch.target) && last.when == When::Finished, "{last:?}");
    assert_eq!(pitch.inspection.checks.len(), 1);
    assert!(of(0.05, Some(1.0)).route.to_string().contains("file it to the distance"));
    assert_eq!(of(0.5, None).route, Route::PrintToSize);
}

/// A lying hole is lower than it is wide, by what its crown hangs down: both lie between its limits where they are as wide as that.
#[test]
fn a_lying_hole_is_within_its_limits_in_height_and_in_width() {
    // ISO 286-1:2010, table 1: IT15 over 10 up to 18 mm is 0.7 mm.
    let bore = FitFunction::Iso { size: Length::mm(16.0), symbol: "H15".to_owned() };
    let line = allowance(&bore, &hole(FeatureAxis::AlongLayers)).unwrap();
    let of = |cause: Cause| line.terms.iter().find(|t| t.cause == cause).map_or(0.0, |t| t.value.to_mm());
    let sag = -of(Cause::CrownSag);
    assert!(sag > 0.1, "{:?}", line.terms);
    let height: f64 = line.size_to_model.to_mm()
        + line.terms.iter().filter(|t| t.used == TermUse::InSum).map(|t| t.value.to_mm()).sum::<f64>();
    let width = height + sag;
    assert!(height > 16.0 && width < 16.7, "{height} high, {width} wide");
    assert!((height - 16.0 - (16.7 - width)).abs() < 0.03, "as far from the one as from the other: {height}, {width}");
}
