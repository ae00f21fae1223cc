//! `explain` asked what would be: with a line more or less, along a number, with another value of the catalogue. Each answer is
//! held against the spec or the workshop written out so, and compiled.

use crate::workshop::Workshop;

const SPEC: &str = "part \"peg\" {\n  mesh \"coat-hook.stl\" in mm\n  service { air 5 °C .. 30 °C; place indoors; wet dry }\n  quantity 2\n}\n";

fn peg() -> Workshop {
    Workshop::hut().with("coat-hook/peg.partspec", SPEC)
}

fn material(made: &Workshop, spec: &str) -> String {
    made.write("coat-hook/peg.partspec", spec);
    let recipe = made.json("coat-hook/peg.partspec");
    let decided = &recipe["decisions"]["material"]["value"];
    decided.as_str().map_or_else(|| "nothing".to_owned(), str::to_owned)
}

fn explain(made: &Workshop, args: &[&str]) -> String {
    made.write("coat-hook/peg.partspec", SPEC);
    let run = made.run(&[&["explain", "coat-hook/peg.partspec"], args].concat());
    assert_eq!(run.code, 0, "{}{}", run.stdout, run.stderr);
    run.stdout
}

#[test]
fn a_line_more_decides_as_if_it_were_written() {
    let made = peg();
    let hot = material(&made, &SPEC.replace("30 °C", "70 °C"));
    let now = material(&made, SPEC);
    assert_ne!(hot, now);
    let told = explain(&made, &["--with", "service { air 5 °C .. 70 °C }"]);
    assert!(told.contains(&format!("material: {now} -> {hot}")), "{told}");
    assert!(told.contains("changed: `service { air 5 °C .. 70 °C }`"), "{told}");
    // Nothing is written, and the spec stands as it was.
    assert_eq!(made.read("coat-hook/peg.partspec"), SPEC);
    let same = explain(&made, &["--with", "service { air 5 °C .. 30 °C }"]);
    assert!(same.contains("nothing is decided otherwise"), "{same}");
    // With a question it is answered for the spec so changed.
    let why = explain(&made, &["material", "--with", "service { air 5 °C .. 70 °C }"]);
    assert!(why.starts_with(&format!("material: {hot}")), "{why}");
}

#[test]
fn a_line_less_is_found_wherever_it_is_said() {
    let made = Workshop::hut();
    let spec = "vane-bracket/vane-bracket.partspec";
    let told =
        made.run(&["explain", spec, "--without", "service { sun }", "--without", "load \"gust\"", "--print", "json"]);
    assert_eq!(told.code, 0, "{}", told.stderr);
    let changes = &told.json()["parts"][0]["changes"];
    let of = |name: &str| {
        changes.as_array().unwrap().iter().find(|c| c["name"] == name).unwrap_or_else(|| panic!("{changes}"))
    };
    // The sun is said in a profile of another file.
    assert_eq!(of("sunlight")["because"][0], "`service { sun }` (taken out)");
    assert_eq!(of("sunlight")["now"], serde_json::Value::Null);
    assert_eq!(of("load \"gust\"")["because"][0], "`load \"gust\"` (taken out)");
    let missing = made.run(&["explain", spec, "--without", "load \"gusty\""]);
    assert_eq!(missing.code, 1);
    assert!(missing.stderr.contains("did you mean `load \"gust\"`?"), "{}", missing.stderr);
    let unread = made.run(&["explain", spec, "--with", "quantiy 3"]);
    assert!(unread.code == 1 && unread.stderr.contains("did you mean `quantity`?"), "{}", unread.stderr);
    let unclosed = made.run(&["explain", spec, "--with", "service { air"]);
    assert!(unclosed.code == 1 && unclosed.stderr.contains("--with"), "{}", unclosed.stderr);
}

/// A size is followed to a tenth of what is stated and to ten times that, and what turns nothing is said with how far was looked.
#[test]
fn every_number_of_a_spec_is_followed_up_and_down() {
    let load = "  load \"coat\" { force 8 N toward -z; at (11 mm, 52 mm, 46 mm) across 4 mm; fixed at face \"back\"; held 5 years }\n  face \"back\" toward -y\n}\n";
    let made = Workshop::hut().with("coat-hook/coat.partspec", SPEC.trim_end().trim_end_matches('}').to_owned() + load);
    let run = made.run(&["explain", "coat-hook/coat.partspec", "breaks"]);
    let told = run.stdout.split_whitespace().collect::<Vec<_>>().join(" ");
    for number in ["load \"coat\" (8 N as stated)", "load \"coat\" held (5 years as stated)", "air (30 °C as stated)"]
    {
        assert!(told.contains(number), "{number}: {told}{}", run.stderr);
    }
    assert!(told.contains("held (5 years as stated) (up to 50 years)"), "{told}");
}

/// Each border is tried: on its near side the spec compiles to what stands before it, a degree beyond to what stands behind.
#[test]
fn a_break_lies_where_it_is_said_to_lie() {
    let made = peg();
    let told = explain(&made, &["breaks"]).replace('\n', " ");
    let of = told.split("- ").find(|l| l.starts_with("air (30 °C as stated)")).unwrap_or_else(|| panic!("{told}"));
    let mut tried = 0;
    let stretches: Vec<&str> = of.split(": ").nth(1).unwrap().split("; ").collect();
    for (nth, stretch) in stretches.iter().enumerate() {
        let Some((first, to)) = stretch.split_once(" until ") else { continue };
        let degrees: i32 = to.trim().trim_end_matches(" °C").parse().unwrap();
        let at = |t: i32| material(&made, &SPEC.replace("30 °C", &format!("{t} °C")));
        let behind = stretches[nth + 1];
        let name = |words: &str| {
            words.trim_start_matches("then ").split([',', ' ']).find(|w| !w.is_empty()).unwrap().to_owned()
        };
        let (before, after) = (at(degrees), at(degrees + 1));
        assert!(first.contains(&before), "{degrees} °C: {before}, {of}");
        if before != after {
            assert!(behind.contains(&after) || name(behind) == after, "{} °C: {after}, {of}", degrees + 1);
            tried += 1;
        }
    }
    assert!(tried >= 2, "{of}");
    assert_eq!(material(&made, SPEC), material(&made, SPEC));
}

/// What is said to turn the choice turns it when it is written into the workshop's file.
#[test]
fn a_value_said_to_turn_the_choice_turns_it() {
    let made = peg().change("coat-hook/peg.partspec", "30 °C", "44 °C");
    let spec = SPEC.replace("30 °C", "44 °C");
    let now = material(&made, &spec);
    made.write("coat-hook/peg.partspec", &spec);
    let run = made.run(&["explain", "coat-hook/peg.partspec", "sure"]);
    assert_eq!(run.code, 0, "{}", run.stderr);
    let told = run.stdout.replace("\n  ", " ").replace('\n', " ");
    assert!(told.contains(&now), "{told}");
    let line = told.split("- ").find(|l| l.starts_with("heat limit of ")).unwrap_or_else(|| panic!("{told}"));
    let of = line.trim_start_matches("heat limit of ").split(' ').next().unwrap();
    let (end, other) = line.split_once(": at ").unwrap().1.split_once(" it would be ").unwrap();
    let entry = format!(
        "catalogue:\n  materials:\n    {of}:\n      heat_limit: {{ typ: {end}, low: {end}, high: {end}, kind: computed }}\n"
    );
    let shop = made.read("shop.yaml");
    made.write("shop.yaml", format!("{shop}\n{entry}"));
    let then = material(&made, &spec);
    assert_ne!(then, now, "{line}");
    assert!(other.contains(&then), "{then}: {line}");
}
