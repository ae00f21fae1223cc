//! Every statement the language has leaves its mark on the recipe, or the recipe says that nothing rests on it.
//!
//! The test goes through the vocabulary table: a statement that is added without a case here fails it.

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;
use std::process::Command;

use makeready::cli::pipeline::{Options, compile_one};
use makeready::cli::world::World;
use makeready::fits::feature::FeatureKind;
use makeready::render::yaml;
use makeready::semantics::form::Context;
use makeready::semantics::vocabulary::VOCABULARY;

use super::fits_commands::plate;

/// Context, keyword, the lines around it with `@` for its place, and the statement.
type Case = (Context, &'static str, &'static str, &'static str);

const LOAD: &str =
    r#"face "back" toward -z; load "l" { force 5 N toward -x at (30 mm, 10 mm, 38 mm); fixed at face "back"; @ }"#;
const FIT: &str = r#"fit "screws" { clearance M4 medium; @ }"#;
const FACE: &str = r#"face "front" { toward +y; near (30 mm, 20 mm, 2.5 mm); @ }"#;
const SERVICE: &str = "service { air 5 °C .. 30 °C; @ }";
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
        (Part, "wear", "@", r#"wear against "steel""#),
        (Part, "impact", "@", "impact drop 1 m"),
        (Part, "treat", "@", "treat paint"),
        (Part, "ask", "@", "ask food contact"),
        (Part, "prefer", "@", "prefer finish"),
        (Part, "pin", "@", r#"pin nozzle 0.6 mm because "spare""#),
        (Part, "forbid", "@", r#"forbid material "PLA" because "smell""#),
        (Part, "waive", "@", r#"waive rule "heat-margin" because "tried""#),
        (Part, "mesh", "", ""),
        (Mesh, "in", "", ""),
        (Mesh, "object", "", ""),
        (Mesh, "count", "", ""),
        (Service, "air", "service { @ }", "air 5 °C .. 40 °C"),
        (Service, "peak", SERVICE, "peak 44 °C"),
        (Service, "place", SERVICE, "place outdoors"),
        (Service, "sun", SERVICE, "sun direct for 1 year"),
        (Service, "colour", SUNNY, "colour white"),
        (Service, "wet", SERVICE, "wet rain"),
        (Service, "contact", SERVICE, r#"contact "water" splash"#),
        (Contact, "at", CONTACT, "at 40 °C"),
        (Load, "force", r#"face "back" toward -z; load "l" { @; toward -x; at (30 mm, 10 mm, 38 mm); fixed at face "back" }"#, "force 5 N"),
        (Load, "torque", r#"face "back" toward -z; load "l" { @; about +x; at (30 mm, 10 mm, 38 mm); fixed at face "back" }"#, "torque 0.5 Nm"),
        (Load, "toward", r#"face "back" toward -z; load "l" { force 5 N; at (30 mm, 10 mm, 38 mm); fixed at face "back"; @ }"#, "toward -x"),
        (Load, "about", r#"face "back" toward -z; load "l" { torque 0.5 Nm; at (30 mm, 10 mm, 38 mm); fixed at face "back"; @ }"#, "about +x"),
        (Load, "at", r#"face "back" toward -z; load "l" { force 5 N toward -x; fixed at face "back"; @ }"#, "at (30 mm, 10 mm, 20 mm)"),
        (Load, "fixed", r#"face "back" toward -z; load "l" { force 5 N toward -x; at (30 mm, 10 mm, 38 mm); @ }"#, "fixed at (30 mm, 10 mm, 5 mm)"),
        (Load, "steady", LOAD, "steady"),
        (Load, "shock", LOAD, "shock"),
        (Load, "cyclic", LOAD, "cyclic 100000 times"),
        (Load, "held", LOAD, "held 1 year"),
        (Load, "factor", LOAD, "factor 3"),
        (Load, "temperature", LOAD, "temperature 35 °C"),
        (Fit, "clearance", r#"fit "f" { @ }"#, "clearance M4 medium"),
        (Fit, "sliding", r#"fit "f" { @ }"#, "sliding bore 4.5 mm play 0.3 mm"),
        (Fit, "press", r#"fit "f" { @ }"#, "press bore 4.5 mm"),
        (Fit, "bearing", r#"fit "f" { @ }"#, "bearing 608"),
        (Fit, "bore", r#"fit "f" { @ }"#, "bore 4.5 mm H9 for shaft h6"),
        (Fit, "shaft", r#"fit "f" { @ }"#, "shaft 8 mm g6 in bore H7"),
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
        (Fit, "finish", r#"fit "f" { bore 4.5 mm H9; @ }"#, "finish drilled"),
        (Fit, "allowance", FIT, "allowance in model"),
        (Face, "toward", r#"face "front" { cosmetic; near (30 mm, 20 mm, 2.5 mm); @ }"#, "toward -z"),
        (Face, "near", r#"face "front" { toward +y; cosmetic; @ }"#, "near (30 mm, 20 mm, 2.5 mm)"),
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
fn told(folder: &Path, spec: &str) -> Result<String, String> {
    let path = folder.join("peg.partspec");
    fs::write(&path, spec).unwrap();
    let world = World::around(&path, false).unwrap();
    let compiled = compile_one(&world, &path, &Options::default());
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
        (Context::Fit, "shaft") => "\"posts.3mf\"",
        _ => "\"peg.stl\" in mm",
    }
}

#[test]
fn every_statement_changes_the_recipe_or_is_said_not_to() {
    let folder = tempfile::tempdir().unwrap();
    let new = Command::new(env!("CARGO_BIN_EXE_makeready")).args(["new", "peg"]).current_dir(folder.path()).output();
    assert!(new.unwrap().status.success());
    let folder = folder.path().join("peg");
    plate(&folder.join("holes.3mf"), FeatureKind::Hole, &[22.0, 10.0, 4.0]);
    plate(&folder.join("posts.3mf"), FeatureKind::Outside, &[8.0]);
    let mut silent = Vec::new();
    for (context, keyword, around, statement) in CASES.iter().filter(|c| !c.3.is_empty()) {
        let mesh = mesh_with_its_feature(*context, keyword);
        let part = |line: &str| format!("part \"peg\" {{ mesh {mesh}; {line} }}\n");
        let with = told(&folder, &part(&around.replace('@', statement)));
        let without = told(&folder, &part(&around.replace('@', "")));
        match with {
            Err(said) => silent.push(format!("{context:?} {keyword}: does not compile: {said}")),
            Ok(recipe) if Ok(&recipe) == without.as_ref() => silent.push(format!("{context:?} {keyword}: silent")),
            Ok(_) => {}
        }
    }
    assert!(silent.is_empty(), "{silent:#?}");
}

#[test]
fn every_statement_of_the_table_has_its_case() {
    let tried: BTreeSet<String> = CASES.iter().map(|(context, keyword, ..)| format!("{context:?} {keyword}")).collect();
    // Rules have their examples; a file's own statements and assemblies are tried in the suite and in tests of their own.
    let elsewhere = [Context::File, Context::Rule, Context::Assembly, Context::Profile];
    let missing: Vec<String> = VOCABULARY
        .iter()
        .flat_map(|entry| entry.places.iter().map(move |place| (*place, entry.keyword)))
        .filter(|(place, _)| !elsewhere.contains(place))
        .map(|(place, keyword)| format!("{place:?} {keyword}"))
        .filter(|name| !tried.contains(name))
        .collect();
    assert!(missing.is_empty(), "{missing:?}");
}
