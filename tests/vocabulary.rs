//! Every statement the language has leaves its mark on the recipe, or the recipe says that nothing rests on it.
//!
//! The test goes through the vocabulary table: a statement that is added without a case here fails it.

use std::collections::BTreeSet;

use makeready::fits::feature::FeatureKind;
use makeready::render::yaml;
use makeready::semantics::form::Context;
use makeready::semantics::vocabulary::VOCABULARY;

use crate::workshop::shapes::{d_outline, double_d_outline, plate, ring};
use crate::workshop::{Workshop, root};

/// Context, keyword, the lines around it with `@` for its place, and the statement.
type Case = (Context, &'static str, &'static str, &'static str);

const LOAD: &str =
    r#"face "back" toward -z; load "l" { force 5 N toward -x at (30 mm, 10 mm, 38 mm); fixed at face "back"; @ }"#;
const TWO_LOADS: &str = r#"face "back" toward -z; load "m" { force 3 N toward -x at (30 mm, 10 mm, 38 mm); fixed at face "back"; held 1 h }; load "l" { force 5 N toward -x at (30 mm, 10 mm, 38 mm); fixed at face "back"; held 1 h; @ }"#;
const FIT: &str = r#"fit "screws" { clearance M4 medium; @ }"#;
const FACE: &str = r#"face "front" { toward +y; near (30 mm, 20 mm, 2.5 mm); @ }"#;
const SERVICE: &str = "service { air 5 °C .. 30 °C; @ }";
const HEATED: &str = r#"service { air 5 °C .. 40 °C; peak 50 °C; @ }; face "back" toward -z; load "l" { force 5 N toward +x; at (30 mm, 10 mm, 38 mm); fixed at face "back"; held 5 years }"#;
const SUNNY: &str = "service { air 5 °C .. 20 °C; sun direct for 1 year; @ }";
const CONTACT: &str = r#"service { air 5 °C .. 30 °C; contact "water" immersed @ }"#;

#[rustfmt::skip]
const CASES: &[Case] = {
    use Context::{Contact, Face, Fit, Load, Mesh, Part, Pressure, Service};
    &[
        (Part, "revision", "@", r#"revision "B""#),
        (Part, "purpose", "@", r#"purpose "Carries a cup""#),
        (Part, "stage", "@", "stage fit prototype"),
        (Part, "consequence", "@", "consequence nuisance"),
        (Part, "size", "@", "size 60 mm x 20 mm x 40 mm"),
        (Part, "quantity", "@", "quantity 24"),
        (Part, "wanted", "@", "wanted by 2026-12-01"),
        (Part, "service", "@", "service { air 5 °C .. 50 °C }"),
        (Part, "load", r#"face "back" toward -z; @"#, r#"load "l" { force 5 N toward -x at (30 mm, 10 mm, 38 mm); fixed at face "back" }"#),
        (Part, "fit", "@", r#"fit "screws" clearance M4 count 2"#),
        (Part, "face", "@", r#"face "front" toward +y cosmetic"#),
        // A let is seen where it is used.
        (Part, "let", r#"@"#, "let hot = 40 °C; service { air 5 °C .. 30 °C; peak hot }"),
        (Part, "wall", "@", "wall at least 2.4 mm"),
        (Part, "pressure", "@", r#"pressure 0.2 bar of "water" bore 20 mm"#),
        (Part, "tight", "@", r#"tight against "water""#),
        (Part, "deflection", "@", "deflection at most 1.5 mm"),
        (Part, "colour", "@", r#"colour "white" from 1.2 mm"#),
        (Part, "wear", "@", r#"wear against "steel""#),
        (Part, "impact", "@", "impact drop 1 m"),
        (Part, "treat", "@", "treat paint"),
        (Part, "ask", "@", "ask food contact"),
        (Part, "prefer", "@", "prefer finish"),
        (Part, "pin", "@", r#"pin nozzle 0.6 mm because "spare""#),
        (Part, "forbid", "@", r#"forbid material "PLA" because "smell""#),
        (Part, "no", "@", r#"no toy because "it stands on a shelf""#),
        (Part, "waive", "@", r#"waive rule "heat-margin" because "tried""#),
        (Part, "mesh", "", ""),
        (Mesh, "in", "", ""),
        (Mesh, "object", "", ""),
        (Mesh, "count", "", ""),
        (Service, "air", "service { @ }", "air 5 °C .. 40 °C"),
        (Service, "peak", SERVICE, "peak 44 °C"),
        (Service, "usual", HEATED, "usual 20 °C"),
        (Service, "place", SERVICE, "place outdoors"),
        (Service, "sun", SERVICE, "sun direct for 1 year"),
        (Service, "colour", SUNNY, "colour white"),
        (Service, "back", SUNNY, "back free"),
        (Service, "wet", SERVICE, "wet rain"),
        (Service, "contact", SERVICE, r#"contact "water" splash"#),
        (Contact, "at", CONTACT, "at 40 °C"),
        (Load, "force", r#"face "back" toward -z; load "l" { @; toward -x; at (30 mm, 10 mm, 38 mm); fixed at face "back" }"#, "force 5 N"),
        (Load, "torque", r#"face "back" toward -z; load "l" { @; about +x; at (30 mm, 10 mm, 38 mm); fixed at face "back" }"#, "torque 0.5 Nm"),
        (Load, "toward", r#"face "back" toward -z; load "l" { force 5 N; at (30 mm, 10 mm, 38 mm); fixed at face "back"; @ }"#, "toward -x"),
        (Load, "weight", r#"face "back" toward -z; load "l" { @; toward -x; fixed at face "back" }"#, "weight"),
        (Load, "acceleration", r#"face "back" toward -z; load "l" { @; toward -x; fixed at face "back" }"#, "acceleration 300 m/s²"),
        (Load, "about", r#"face "back" toward -z; load "l" { torque 0.5 Nm; at (30 mm, 10 mm, 38 mm); fixed at face "back"; @ }"#, "about +x"),
        (Load, "at", r#"face "back" toward -z; load "l" { force 5 N toward -x; fixed at face "back"; @ }"#, "at (30 mm, 10 mm, 20 mm)"),
        (Load, "fixed", r#"face "back" toward -z; load "l" { force 5 N toward -x; at (30 mm, 10 mm, 38 mm); @ }"#, "fixed at (30 mm, 10 mm, 5 mm)"),
        (Load, "rests", LOAD, r#"rests on face "back""#),
        (Load, "pressure", r#"face "back" toward -z; load "l" { @; at face "back"; fixed at (30 mm, 10 mm, 5 mm) }"#, "pressure 0.1 bar"),
        (Load, "steady", LOAD, "steady"),
        (Load, "shock", LOAD, "shock"),
        (Load, "cyclic", LOAD, "cyclic 100000 times"),
        (Load, "held", LOAD, "held 1 year"),
        (Load, "alone", TWO_LOADS, "alone"),
        (Load, "factor", LOAD, "factor 3"),
        (Load, "temperature", LOAD, "temperature 35 °C"),
        (Fit, "clearance", r#"fit "f" { @ }"#, "clearance M4 medium"),
        (Fit, "sliding", r#"fit "f" { @ }"#, "sliding bore 4.5 mm play 0.3 mm"),
        (Fit, "press", r#"fit "f" { @ }"#, "press bore 4.5 mm"),
        (Fit, "bearing", r#"fit "f" { @ }"#, "bearing 608"),
        (Fit, "bore", r#"fit "f" { @ }"#, "bore 4.5 mm H9 for shaft h6"),
        (Fit, "shaft", r#"fit "f" { @ }"#, "shaft 8 mm g6 in bore H7"),
        (Fit, "slot", r#"fit "f" { @ }"#, "slot 6 mm +0.2 mm"),
        (Fit, "pocket", r#"fit "f" { @ }"#, "pocket 8 mm x 20 mm"),
        (Fit, "tongue", r#"fit "f" { @ }"#, "tongue 8 mm x 20 mm"),
        (Fit, "rim", r#"fit "f" { @ }"#, "rim 20 mm x 12 mm"),
        (Fit, "lip", r#"fit "f" { @ }"#, "lip 20 mm x 12 mm"),
        (Fit, "groove", r#"fit "f" { @ }"#, "groove face for ring 20 mm x 2.5 mm"),
        (Fit, "keyway", r#"fit "f" { @ }"#, "keyway for shaft 20 mm"),
        (Fit, "distance", r#"fit "g" clearance M4 medium; fit "f" { @ }"#, r#"distance 40 mm +-0.2 mm from "g""#),
        (Fit, "thread", r#"fit "f" { @ }"#, "thread M5"),
        (Fit, "insert", r#"fit "f" { @ }"#, "insert M3"),
        (Fit, "nut", r#"fit "f" { @ }"#, "nut M4"),
        (Fit, "dowel", r#"fit "f" { @ }"#, "dowel 4 mm"),
        (Fit, "magnet", r#"fit "f" { @ }"#, "magnet 10 mm x 3 mm"),
        (Fit, "hinge", r#"fit "f" { @ }"#, "hinge 4 mm"),
        (Fit, "snap", r#"fit "f" { @ }"#, "snap 0.3 mm reach 12 mm thick 2 mm"),
        (Fit, "count", FIT, "count 2"),
        (Fit, "along", r#"fit "f" { snap 0.3 mm reach 12 mm thick 2 mm; @ }"#, "along x"),
        (Fit, "at", FIT, "at (10 mm, 10 mm, 2.5 mm)"),
        (Fit, "depth", r#"fit "f" { insert M3; @ }"#, "depth 5 mm"),
        (Fit, "flat", r#"fit "f" { bore 4.5 mm H11; @ }"#, "flat 4 mm"),
        (Fit, "flats", r#"fit "f" { bore 4.5 mm H11; @ }"#, "flats 3.6 mm"),
        (Fit, "within", r#"fit "f" { bore 4.5 mm @ }"#, "+-0.1 mm"),
        (Fit, "finish", r#"fit "f" { bore 4.5 mm H12; @ }"#, "finish reamed"),
        (Fit, "allowance", FIT, "allowance in model"),
        (Fit, "opened", r#"fit "f" { snap 0.3 mm reach 12 mm thick 2 mm; @ }"#, "opened often"),
        (Face, "toward", r#"face "front" { cosmetic; near (30 mm, 20 mm, 2.5 mm); @ }"#, "toward -z"),
        (Face, "near", r#"face "front" { toward +z; cosmetic; @ }"#, "near (30 mm, 10 mm, 40 mm)"),
        (Face, "round", r#"face "front" { near (30 mm, 20 mm, 2.5 mm); @ }"#, "round"),
        (Face, "cosmetic", FACE, "cosmetic"),
        (Face, "no", FACE, "no seam"),
        (Face, "on", FACE, "on bed"),
        (Face, "marking", FACE, r#"marking "MAX 12""#),
        (Pressure, "of", "pressure 0.2 bar bore 20 mm @", r#"of "water""#),
        (Pressure, "bore", "pressure 0.2 bar @", "bore 20 mm"),
        (Pressure, "tight", "pressure 0.2 bar bore 20 mm @", "tight"),
    ]
};

/// Returns the recipe of a spec without the digests of what went in, or what was said against it.
fn told(home: &Workshop, spec: &str) -> Result<String, String> {
    home.write("peg/peg.partspec", spec);
    let compiled = home.compile("peg/peg.partspec");
    let errors: Vec<&str> = compiled.diagnostics.iter().filter(|d| d.is_error()).map(|d| d.message.as_str()).collect();
    if !errors.is_empty() {
        return Err(errors.join("\n"));
    }
    let recipes: Vec<String> = compiled.parts.iter().map(|p| yaml::yaml(&p.recipe).unwrap()).collect();
    let lines = recipes.iter().flat_map(|r| r.lines()).filter(|l| !l.contains("digest:"));
    Ok(lines.collect::<Vec<_>>().join("\n"))
}

/// A fit must be on the mesh: the peg has a hole of 4.5 mm only.
fn mesh_with_its_feature(context: Context, keyword: &str) -> &'static str {
    match (context, keyword) {
        (Context::Fit, "bearing" | "insert" | "dowel" | "magnet" | "depth") => "\"holes.3mf\"",
        (Context::Fit, "flat") => "\"knob.stl\" in mm",
        (Context::Fit, "flats") => "\"double.stl\" in mm",
        (Context::Fit, "shaft") => "\"posts.3mf\"",
        _ => "\"peg.stl\" in mm",
    }
}

#[test]
fn every_statement_changes_the_recipe_or_is_said_not_to() {
    let home = Workshop::starter("peg");
    home.write("peg/holes.3mf", plate(FeatureKind::Hole, &[22.0, 10.0, 4.0]));
    home.write("peg/posts.3mf", plate(FeatureKind::Outside, &[8.0]));
    home.write("peg/knob.stl", ring(&d_outline(4.5, 4.0), 10.0, 12.0));
    home.write("peg/double.stl", ring(&double_d_outline(4.5, 3.6), 10.0, 12.0));
    let mut silent = Vec::new();
    for (context, keyword, around, statement) in CASES.iter().filter(|c| !c.3.is_empty()) {
        let mesh = mesh_with_its_feature(*context, keyword);
        let part = |line: &str| format!("part \"peg\" {{ mesh {mesh}; {line} }}\n");
        let with = told(&home, &part(&around.replace('@', statement)));
        let without = told(&home, &part(&around.replace('@', "")));
        match with {
            Err(said) => silent.push(format!("{context:?} {keyword}: does not compile: {said}")),
            Ok(recipe) if Ok(&recipe) == without.as_ref() => silent.push(format!("{context:?} {keyword}: silent")),
            Ok(_) => {}
        }
    }
    assert!(silent.is_empty(), "{silent:#?}");
}

/// Further values and surroundings of statements, in which they do nothing, or something else than above.
#[rustfmt::skip]
const FURTHER: &[Case] = {
    use Context::{Face, Fit, Load, Part, Service};
    &[
        (Part, "consequence", LOAD, "consequence injury"),
        (Part, "consequence", r#"face "back" toward -z; load "l" { force 5 N toward -x at (30 mm, 10 mm, 38 mm); fixed at face "back"; factor 2 }; @"#, "consequence damage"),
        (Part, "stage", "@", "stage functional"),
        (Part, "stage", "@", "stage production"),
        (Part, "wall", "@", "wall at least 40 mm"),
        (Part, "wall", "@", "wall at least 0.4 mm"),
        (Part, "wear", "@", r#"wear against "wood""#),
        (Part, "impact", "@", "impact"),
        (Part, "impact", "@", "impact blow 1 kg at 2 m/s"),
        (Part, "treat", "@", "treat anneal"),
        (Part, "treat", "@", "treat seal"),
        (Part, "treat", "@", "treat condition"),
        (Part, "ask", "@", "ask electrical insulation"),
        (Part, "ask", "@", "ask toy"),
        (Part, "ask", "@", "ask lifting"),
        (Part, "prefer", "@", "prefer strength"),
        (Part, "prefer", "@", "prefer speed, then cost"),
        (Part, "prefer", "@", "prefer cost"),
        (Part, "forbid", "@", r#"forbid printer "Nowhere" because "x""#),
        (Part, "forbid", "@", r#"forbid pose -z down because "x""#),
        (Part, "pin", "@", r#"pin infill 60 % because "x""#),
        (Part, "pin", "@", r#"pin supports none because "x""#),
        (Part, "deflection", r#"face "back" toward -z; load "l" { force 5 N toward -x at (30 mm, 10 mm, 38 mm); fixed at face "back" }; @"#, "deflection at most 1.5 mm"),
        (Part, "tight", "@", "tight"),
        (Part, "size", "@", "size 60.2 mm x 20 mm x 40 mm"),
        (Part, "quantity", "@", "quantity 1"),
        (Part, "face", "@", r#"face "idle" toward +y"#),
        (Part, "face", "@", r#"face "low" toward -x on bed"#),
        (Part, "face", "@", r#"face "clean" toward +y no support"#),
        (Service, "place", SERVICE, "place indoors"),
        (Service, "place", SERVICE, "place vehicle cabin"),
        (Service, "place", SERVICE, "place near heat"),
        (Service, "place", "service { air 5 °C .. 30 °C; peak 60 °C; @ }", "place near heat"),
        (Service, "place", SERVICE, "place behind glass"),
        (Service, "sun", SERVICE, "sun none"),
        (Service, "sun", SERVICE, "sun shaded"),
        (Service, "colour", SERVICE, "colour black"),
        (Service, "colour", SUNNY, r#"colour "dark grey""#),
        (Service, "back", SUNNY, "back covered"),
        (Service, "wet", SERVICE, "wet dry"),
        (Service, "wet", SERVICE, "wet damp"),
        (Service, "wet", SERVICE, "wet immersed"),
        (Service, "peak", "service { air 5 °C .. 40 °C; @ }", "peak 40 °C"),
        (Service, "air", "service { peak 60 °C; @ }", "air 5 °C .. 20 °C"),
        (Service, "contact", SERVICE, r#"contact "diesel" immersed"#),
        (Service, "contact", SERVICE, r#"contact "water" vapour"#),
        (Load, "alone", LOAD, "alone"),
        (Load, "factor", LOAD, "factor 1"),
        (Load, "temperature", LOAD, "temperature 30 °C"),
        (Load, "cyclic", LOAD, "cyclic"),
        (Fit, "finish", r#"fit "f" { clearance M4; @ }"#, "finish as printed"),
        (Fit, "depth", r#"fit "f" { clearance M4; @ }"#, "depth 5 mm"),
        (Fit, "count", r#"fit "f" { snap 0.3 mm reach 12 mm thick 2 mm; @ }"#, "count 2"),
        (Fit, "along", r#"fit "f" { clearance M4; @ }"#, "along z"),
        (Load, "about", LOAD, "about +x"),
        (Load, "toward", r#"face "back" toward -z; load "l" { torque 0.5 Nm about +x; at (30 mm, 10 mm, 38 mm); fixed at face "back"; @ }"#, "toward -x"),
        (Load, "held", r#"face "back" toward -z; load "l" { force 5 N toward -x at (30 mm, 10 mm, 38 mm); fixed at face "back"; shock; @ }"#, "held 1 year"),
        (Load, "held", LOAD, "held 1 h"),
        (Fit, "allowance", FIT, "allowance in recipe"),
        (Fit, "finish", r#"fit "f" { insert M3; @ }"#, "finish drilled"),
        (Fit, "finish", r#"fit "f" { snap 0.3 mm reach 12 mm thick 2 mm; @ }"#, "finish as printed"),
        (Fit, "allowance", r#"fit "f" { snap 0.3 mm reach 12 mm thick 2 mm; @ }"#, "allowance in model"),
        (Fit, "allowance", r#"fit "f" { hinge living 0.6 mm; @ }"#, "allowance in model"),
        (Fit, "count", r#"fit "f" { hinge living 0.6 mm; @ }"#, "count 2"),
        (Fit, "at", r#"fit "f" { nut M4; @ }"#, "at (10 mm, 10 mm, 2.5 mm)"),
        (Fit, "depth", r#"fit "f" { nut M4; @ }"#, "depth 4 mm"),
        (Fit, "along", r#"fit "f" { nut M4; @ }"#, "along z"),
        (Fit, "finish", r#"fit "f" { hinge living 0.6 mm; @ }"#, "finish as printed"),
        (Face, "cosmetic", r#"face "back" { toward -z; @ }"#, "cosmetic"),
        (Face, "no", FACE, "no support"),
    ]
};

/// A recipe but for what it says of the use of statements, and those lines.
fn with_and_without_use(home: &Workshop, spec: &str) -> Result<(String, String), String> {
    home.write("peg/peg.partspec", spec);
    let compiled = home.compile("peg/peg.partspec");
    let errors: Vec<&str> = compiled.diagnostics.iter().filter(|d| d.is_error()).map(|d| d.message.as_str()).collect();
    if !errors.is_empty() {
        return Err(errors.join("\n"));
    }
    let mut recipe = compiled.parts.into_iter().next().unwrap().recipe;
    let (told, rest): (Vec<_>, Vec<_>) = recipe.assumptions.into_iter().partition(|a| a.tells_of_use());
    recipe.assumptions = rest;
    recipe.inputs.clear();
    // What another answer would lead to is another recipe.
    recipe.assumptions.iter_mut().for_each(|a| a.answers.clear());
    let told: Vec<String> = told.iter().map(|a| format!("{} [{}]", a.text, a.effect)).collect();
    Ok((yaml::yaml(&recipe).unwrap(), told.join("\n")))
}

/// What only tells which feature of the mesh is meant is held against the mesh, and says nothing where it is right.
fn is_held_against_the_mesh(context: Context, keyword: &str) -> bool {
    matches!((context, keyword), (Context::Fit, "along" | "count" | "at" | "depth") | (Context::Part, "size"))
}

/// A statement that is held against the mesh is refused where the mesh is otherwise.
#[test]
fn what_is_held_against_the_mesh_is_refused_where_it_is_wrong() {
    let home = Workshop::starter("peg");
    for (wrong, says) in [
        ("size 60 mm x 20 mm x 44 mm", "which is not this size"),
        ("fit \"f\" clearance M4 along x", "found 0"),
        ("fit \"f\" clearance M4 count 3", "found 2"),
        ("fit \"f\" clearance M4 at (90 mm, 10 mm, 0 mm)", "not on the part"),
        ("fit \"f\" clearance M4 depth 12 mm", "and 12 mm is stated"),
    ] {
        let said = told(&home, &format!("part \"peg\" {{ mesh \"peg.stl\" in mm; {wrong} }}\n")).unwrap_err();
        assert!(said.contains(says), "{wrong}: {said}");
    }
}

/// What is said of use is exact: a statement without which the recipe were another one is never called unused, and one
/// without which it were the same always is.
#[test]
fn what_is_said_to_be_unused_is_unused_and_nothing_else() {
    let home = Workshop::starter("peg");
    home.write("peg/holes.3mf", plate(FeatureKind::Hole, &[22.0, 10.0, 4.0]));
    home.write("peg/posts.3mf", plate(FeatureKind::Outside, &[8.0]));
    let mut wrong = Vec::new();
    let mut tried = 0;
    for (context, keyword, around, statement) in CASES.iter().chain(FURTHER).filter(|c| !c.3.is_empty()) {
        let mesh = mesh_with_its_feature(*context, keyword);
        // On a line of its own: reasons cite places by their line.
        let part = |line: &str| {
            format!("part \"peg\" {{\n  mesh {mesh}\n  {}\n}}\n", around.replace('@', &format!("\n{line}\n")))
        };
        let (Ok((with, said)), Ok((without, _))) =
            (with_and_without_use(&home, &part(statement)), with_and_without_use(&home, &part("")))
        else {
            continue;
        };
        tried += 1;
        let named = said.contains(statement) || (*context == Context::Part && said.contains(*keyword));
        let unused = said.lines().any(|l| l.starts_with("not used in deciding") && l.contains(statement));
        let held = is_held_against_the_mesh(*context, keyword) && !around.contains("nut");
        if with == without && !named && !held {
            wrong.push(format!("`{statement}` in `{around}` does nothing, and that is not said: {said}"));
        }
        if with != without && unused {
            let (a, b) = with.lines().zip(without.lines()).find(|(a, b)| a != b).unwrap_or_default();
            wrong.push(format!(
                "`{statement}` in `{around}` is said to be unused, yet without it `{a}` would be `{b}`: {said}"
            ));
        }
    }
    assert!(wrong.is_empty() && tried > 100, "{tried} tried: {wrong:#?}");
}

#[test]
fn every_statement_of_the_table_has_its_case() {
    let tried: BTreeSet<String> = CASES.iter().map(|(context, keyword, ..)| format!("{context:?} {keyword}")).collect();
    // Rules have their examples; a file's own statements and assemblies are tried in the suite and in tests of their own.
    let elsewhere = [Context::File, Context::Rule, Context::Assembly, Context::Profile];
    // Those of a run are in the suite's page of runs, each as a word of a line.
    let runs = std::fs::read_to_string(root().join("tests/suite/semantics/runs.partspec")).unwrap();
    let of_a_run = |name: &str| {
        let word = name.strip_prefix("Run ");
        word.is_some_and(|w| runs.split(|c: char| !c.is_alphanumeric()).any(|said| said == w))
    };
    let missing: Vec<String> = VOCABULARY
        .iter()
        .flat_map(|entry| entry.places.iter().map(move |place| (*place, entry.keyword)))
        .filter(|(place, _)| !elsewhere.contains(place))
        .map(|(place, keyword)| format!("{place:?} {keyword}"))
        .filter(|name| !tried.contains(name) && !of_a_run(name))
        .collect();
    assert!(missing.is_empty(), "{missing:?}");
}
