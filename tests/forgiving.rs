//! What the program forgives, and what it asks about: line ends, marks, pipes, missing files, meshes that are not what they seem.

use std::io::Write;
use std::process::{Command, Stdio};

use serde_json::Value;

use crate::workshop::{Workshop, shapes};

const SPEC: &str = "part \"peg\" {\n  mesh \"peg.stl\" in mm\n  service { air 5 °C .. 30 °C; place indoors; wet dry }\n  quantity 2\n}\n";

fn peg() -> Workshop {
    Workshop::empty().with("peg.stl", shapes::block([20.0, 20.0, 20.0])).with("peg.partspec", SPEC)
}

#[test]
fn line_ends_and_a_mark_change_nothing_but_the_digest() {
    let made = peg();
    let recipe = |text: &str| {
        made.write("peg.partspec", text);
        let mut recipe = made.json("peg.partspec");
        let spec = recipe["inputs"].as_array_mut().unwrap().iter_mut().find(|i| i["name"] == "peg.partspec").unwrap();
        (std::mem::take(&mut spec["digest"]), recipe)
    };
    let (digest, plain) = recipe(SPEC);
    for other in [SPEC.replace('\n', "\r\n"), SPEC.replace('\n', "\r"), format!("\u{feff}{SPEC}")] {
        let (its, recipe) = recipe(&other);
        assert_eq!(recipe, plain, "{other:?}");
        assert_ne!(its, digest);
    }
}

#[test]
fn a_spec_from_a_pipe_writes_nowhere() {
    let made = peg();
    let before = made.names(".");
    let mut program = Command::new(env!("CARGO_BIN_EXE_makeready"));
    program.args(["compile", "/dev/stdin"]).current_dir(made.folder()).env("MAKEREADY_CACHE", "off");
    let mut child = program.stdin(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
    child.stdin.take().unwrap().write_all(SPEC.as_bytes()).unwrap();
    let out = child.wait_with_output().unwrap();
    let told = String::from_utf8(out.stderr).unwrap();
    assert!(out.status.code() == Some(2) && told.contains("is a pipe or a device, not a file"), "{told}");
    assert_eq!(made.names("."), before);
}

#[test]
fn a_missing_file_says_where_it_was_looked_for() {
    let made = Workshop::empty().with("shop.yaml", Workshop::hut().read("shop.yaml")).with("jobs/peg.partspec", SPEC);
    let told = made.run(&["check", "jobs/peg.partspec"]).stdout;
    assert!(told.contains("looked for as `jobs/peg.stl`"), "{told}");
}

fn looked_at(recipe: &Value) -> String {
    let facts = recipe["mesh"].as_array().unwrap().iter().filter(|f| f["warning"] == true);
    facts.map(|f| format!("{f}\n")).collect()
}

#[test]
fn bodies_apart_and_absurd_sizes_are_asked_about() {
    let made = peg();
    assert_eq!(looked_at(&made.json("peg.partspec")), "");
    // The facets of a block, moved along x.
    let facets = |size: f64, at: f64| -> String {
        let text = shapes::block([size; 3]);
        let lines: Vec<&str> = text.lines().collect();
        let inner = lines[1..lines.len() - 1].iter().map(|line| match line.trim().strip_prefix("vertex ") {
            Some(place) => {
                let c: Vec<f64> = place.split_whitespace().map(|n| n.parse().unwrap()).collect();
                format!("vertex {} {} {}\n", c[0] + at, c[1] + at / 4.0, c[2] + at / 4.0)
            }
            None => format!("{line}\n"),
        });
        inner.collect()
    };
    let solid = |facets: &str| format!("solid s\n{facets}endsolid s\n");
    let block = |size: f64, at: f64| solid(&facets(size, at));
    let both = |one: (f64, f64), other: (f64, f64)| solid(&(facets(one.0, one.1) + &facets(other.0, other.1)));
    for (mesh, asked) in [
        (both((20.0, 0.0), (20.0, 40.0)), "2 bodies that are joined nowhere"),
        (both((40.0, 0.0), (10.0, 12.0)), "2 bodies that are joined nowhere"),
        (block(0.5, 0.0), "are its numbers inches, centimetres or metres?"),
        (block(9000.0, 0.0), "are its numbers micrometres?"),
    ] {
        made.write("peg.stl", mesh);
        let told = looked_at(&made.json("peg.partspec"));
        assert!(told.contains(asked), "{asked}: {told}");
    }
    // A hole on one side: it is the mesh that is spoken of.
    let whole = facets(20.0, 0.0);
    let open = whole.rsplit_once("facet normal").unwrap().0;
    made.write("peg.stl", solid(open));
    let refused = made.json("peg.partspec");
    assert!(
        refused["conflicts"][0]["text"].as_str().unwrap().contains("the mesh encloses no solid"),
        "{}",
        refused["conflicts"]
    );
}
