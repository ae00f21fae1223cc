//! `makeready stress`: what is said of a load, and what it does to the part.

use crate::workshop::{Run, Workshop, shapes};

/// A bar held at one end, with these lines of a load and its faces.
fn bar(lines: &str, args: &[&str]) -> Run {
    let home = Workshop::empty().with("bar.stl", shapes::block([60.0, 10.0, 10.0])).with(
        "bar.partspec",
        format!(
            "part \"bar\" {{ mesh \"bar.stl\" in mm; face \"root\" toward -x; face \"end\" toward +x; face \"top\" toward +z; {lines} }}\n"
        ),
    );
    home.run(&[&["stress", "bar.partspec", "--no-cache"], args].concat())
}

// Timoshenko, Strength of Materials: w = F L³ / 3EI + 1.2 F L / GA, stress M c / I at the distance left out of the root.
#[test]
fn a_cantilever_moves_as_its_beam_does_and_says_what_holds_it() {
    let run = bar(
        r#"load "tip" { force 20 N toward -z at face "end"; fixed at face "root" }"#,
        &["--print", "json", "--pose", "+x"],
    );
    assert_eq!(run.code, 0, "{}", run.stderr);
    let load = run.json()["loads"][0].clone();
    let number = |path: &str| load.pointer(path).unwrap().as_f64().unwrap();
    let (e, l, i) = (3300.0, 60.0, 1e4 / 12.0);
    let w = 20.0 * l * l * l / (3.0 * e * i) + 1.2 * 20.0 * l / (e / (2.0 * 1.38) * 100.0);
    assert!((number("/elastic/displacement_mm") / w - 1.0).abs() < 0.02, "{load} for {w}");
    let bending = 20.0 * (l - 2.0) * 5.0 / i;
    assert!((number("/elastic/largest_principal_mpa") / bending - 1.0).abs() < 0.06, "{load} for {bending}");
    // A ball of a millimetre at the surface has its middle of weight three eighths of that within.
    assert!((number("/layers/x/across_mpa") / (bending * 4.625 / 5.0) - 1.0).abs() < 0.06, "{load}");
    assert_eq!(number("/layers/x/across_mpa"), number("/pose/across_mpa"));
    assert!(number("/layers/z/across_mpa") < 0.2 * bending);
    assert!((number("/reactions_n/0/newtons/2") - 20.0).abs() < 0.01, "{load}");
    assert_eq!((load["settled"].as_bool(), load["holds"][0].as_str()), (Some(true), Some("face \"root\"")));
}

// A force said to act in the middle of a wide bore, on a small place: nothing is there, and it is not moved in silence.
#[test]
fn a_place_in_the_air_is_asked_about() {
    let around = |k: usize| {
        let (sin, cos) = (std::f64::consts::TAU * k as f64 / 48.0).sin_cos();
        [10.0 * cos, 10.0 * sin]
    };
    let outline: Vec<[f64; 2]> = (0..48).map(around).collect();
    let home = Workshop::empty().with("collar.stl", shapes::ring(&outline, 15.0, 12.0)).with(
        "collar.partspec",
        "part \"collar\" { mesh \"collar.stl\" in mm; face \"foot\" toward -z
           load \"pipe\" { force 15 N toward -x at (0 mm, 0 mm, 6 mm) across 4 mm; fixed at face \"foot\" } }\n",
    );
    let run = home.run(&["stress", "collar.partspec", "--no-cache"]);
    assert!(run.code == 1 && run.stdout.contains("acts in the air, 9.98 mm off the part"), "{}", run.stdout);
    assert!(!run.stdout.contains("largest tension"), "{}", run.stdout);
    // Without a size it acts in the bore about it; as large as the bore, on what is there.
    let spec = home.read("collar.partspec");
    for wide in ["", "across 22 mm"] {
        home.write("collar.partspec", spec.replace("across 4 mm", wide));
        let run = home.run(&["stress", "collar.partspec", "--no-cache"]);
        assert!(run.stdout.contains("largest tension"), "{wide}: {}", run.stdout);
    }
}

#[test]
fn what_is_not_said_is_asked_and_nothing_is_solved() {
    for (lines, says) in [
        (
            r#"load "tip" { force 20 N toward -z at face "end" }"#,
            "where the part is held under load \"tip\" is not stated",
        ),
        (r#"load "tip" { force 20 N toward -z; fixed at face "root" }"#, "where load \"tip\" acts is not stated"),
        (
            r#"load "tip" { force 20 N at face "end"; fixed at face "root" }"#,
            "which way load \"tip\" acts is not stated",
        ),
        (r#"load "tip" { pressure 1 bar at inside; fixed at face "root" }"#, "the part encloses nothing"),
        (r#"load "tip" { force 20 N toward +z at face "top"; rests on face "root" }"#, "free to move"),
    ] {
        let run = bar(lines, &[]);
        assert_eq!(run.code, 1, "{lines}: {}", run.stdout);
        assert!(run.stdout.contains(says), "{lines}: {}", run.stdout);
        assert!(!run.stdout.contains("largest tension"), "{}", run.stdout);
    }
}

#[test]
fn a_load_that_is_not_there_is_misuse() {
    let run = bar(r#"load "tip" { force 20 N toward -z at face "end"; fixed at face "root" }"#, &["--load", "tap"]);
    assert_eq!(run.code, 2);
    assert!(run.stderr.contains("did you mean \"tip\"?"), "{}", run.stderr);
}

// A wall by Lamé: a (sqrt((s + p) / (s - p)) - 1), a = 10 mm, p = 0.4 MPa, s = 3 MPa: 1.435 mm (own arithmetic).
#[test]
fn a_computation_is_done_by_hand_with_its_working() {
    let home = Workshop::empty();
    let list = home.run(&["calc", "--print", "json"]).json();
    let functions = list["functions"].as_array().unwrap();
    assert!(functions.len() > 20 && functions.iter().all(|f| f["formula"].is_string() && f["source"].is_string()));
    let call = ["calc", "pressure_wall", "pressure=4 bar", "inner_diameter=20 mm", "limit=3 MPa"];
    let run = home.run(&call);
    assert!(run.code == 0 && run.stdout.contains("a sqrt((s + p)/(s - p)) - a"), "{}{}", run.stdout, run.stderr);
    let wall = home.run(&[&call[..], &["--print", "json"]].concat()).json()["si"].as_f64().unwrap();
    assert!((wall - 1.435e-3).abs() < 2e-6, "{wall}");
    for (args, says) in [
        (vec!["calc", "presure_wall"], "did you mean `pressure_wall`?"),
        (vec!["calc", "pressure_wall", "pressure=4 bar"], "also needs inner_diameter, limit"),
        (
            vec!["calc", "pressure_wall", "pressure=4 mm", "inner_diameter=20 mm", "limit=3 MPa"],
            "for `pressure` of `pressure_wall`",
        ),
    ] {
        let run = home.run(&args);
        assert_eq!(run.code, 2, "{args:?}");
        assert!(run.stderr.contains(says), "{args:?}: {}", run.stderr);
    }
}

/// Every function is run as its own page says, so that a person's first call works.
#[test]
fn every_computation_runs_as_its_example_says() {
    let home = Workshop::empty();
    let list = home.run(&["calc", "--print", "json"]).json();
    let functions = list["functions"].as_array().unwrap();
    assert_eq!(functions.len(), makeready::physics::registry::functions().len());
    for function in functions {
        let example = function["example"].as_str().unwrap();
        // makeready calc NAME "input=value" ...: the texts between the quotes are the inputs.
        let mut pieces = example.split('"');
        let call = pieces.next().unwrap().split_whitespace().skip(1);
        let inputs = pieces.step_by(2).filter(|input| input.contains('='));
        let args: Vec<&str> = call.chain(inputs).collect();
        assert_eq!(args.len(), 2 + function["inputs"].as_array().unwrap().len(), "{example}");
        let run = home.run(&[&args[..], &["--print", "json"]].concat());
        assert_eq!(run.code, 0, "{example}: {}", run.stderr);
        let si = run.json()["si"].as_f64().unwrap_or(f64::NAN);
        assert!(si.is_finite(), "{example}: {}", run.stdout);
    }
}

/// What hangs on a pin presses on the half of it that faces the load, as a pin in a bore presses on half of the bore.
#[test]
fn a_load_on_a_pin_presses_the_half_that_faces_it() {
    let home = Workshop::empty()
        .with("pin.stl", shapes::revolved(&[[0.0, 0.0], [20.0, 0.0], [20.0, 6.0], [5.0, 6.0], [5.0, 26.0], [0.0, 26.0]]))
        .with(
            "pin.partspec",
            "part \"pin\" { mesh \"pin.stl\" in mm; face \"root\" toward -z; face \"round\" round near (5 mm, 0 mm, 16 mm)\n\
             load \"hung\" { force 20 N toward -x at face \"round\"; fixed at face \"root\" } }\n",
        );
    let run = home.run(&["stress", "pin.partspec", "--print", "json", "--no-cache"]);
    assert_eq!(run.code, 0, "{}{}", run.stdout, run.stderr);
    let load = run.json()["loads"][0].clone();
    let number = |path: &str| load.pointer(path).unwrap().as_f64().unwrap();
    assert!((number("/reactions_n/0/newtons/0") - 20.0).abs() < 0.01, "{load}");
    // Mean of a cantilever under an even load: F L³ / 20 E I and 1.11 F L / 3 G A; its root turns in the disc as a stiff round
    // punch does on a half space, by 3 (1 - nu²) M / 4 E r³ (K. L. Johnson, Contact Mechanics, 1985; from memory).
    let (e, l, r) = (3300.0, 20.0_f64, 5.0_f64);
    let (i, a) = (std::f64::consts::PI * r.powi(4) / 4.0, std::f64::consts::PI * r * r);
    let beam = 20.0 * l.powi(3) / (20.0 * e * i) + 1.11 * 20.0 * l / (3.0 * e / (2.0 * 1.38) * a);
    let root = 3.0 * (1.0 - 0.38 * 0.38) * (20.0 * 0.5 * l) / (4.0 * e * r.powi(3)) * 0.5 * l;
    let moved = number("/elastic/displacement_mm") / (beam + root);
    assert!((0.9..1.1).contains(&moved), "{moved}: {load}");
}
