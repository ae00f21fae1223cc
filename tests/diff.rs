//! `makeready diff`: what two states decide differently, each difference put down to what made it.

use std::process::Command;

use serde_json::Value;

use crate::workshop::{Run, Workshop};

/// A starter before, and a copy of it after some changes: (file, old, new).
fn states(changes: &[(&str, &str, &str)]) -> Workshop {
    let shop = Workshop::starter("peg");
    for state in ["before", "now"] {
        for file in ["peg.partspec", "peg.stl", "shop.yaml"] {
            shop.write(&format!("{state}/peg/{file}"), std::fs::read(shop.path(&format!("peg/{file}"))).unwrap());
        }
    }
    for (file, old, new) in changes {
        let path = format!("now/peg/{file}");
        let text = shop.read(&path);
        assert!(text.contains(old), "{old}");
        shop.write(&path, text.replace(old, new));
    }
    shop
}

fn diff(shop: &Workshop) -> Value {
    let run = shop.run(&["diff", "before", "now", "--print", "json"]);
    assert!(run.code <= 1, "{}", run.stderr);
    run.json()
}

/// The change of one line, and what it is put down to.
fn change<'v>(found: &'v Value, name: &str) -> (&'v Value, Vec<&'v str>) {
    let changes = found["parts"][0]["changes"].as_array().unwrap();
    let one = changes.iter().find(|c| c["name"] == name).unwrap_or_else(|| panic!("no {name}: {changes:#?}"));
    (one, one["because"].as_array().unwrap().iter().map(|b| b.as_str().unwrap()).collect())
}

#[test]
fn two_states_that_say_the_same_differ_in_nothing() {
    let shop = states(&[("peg.partspec", "quantity  4", "// four of them\n  quantity    4")]);
    let run = shop.run(&["diff", "before", "now"]);
    assert_eq!((run.code, run.stdout.as_str()), (0, "1 spec compared: nothing is decided otherwise.\n"));
}

#[test]
fn each_difference_is_put_down_to_the_change_that_made_it() {
    let shop = states(&[
        ("peg.partspec", "quantity  4", "quantity  9"),
        ("peg.partspec", "air     5 °C .. 30 °C", "air     5 °C .. 65 °C"),
        ("peg.partspec", "A coat peg", "A peg"),
    ]);
    let found = diff(&shop);
    let (heat, because) = change(&found, "heat");
    assert!(heat["now"].as_str().unwrap().contains("asked 65 °C"), "{heat}");
    assert_eq!(because, ["peg.partspec: part \"peg\"/service/air"]);
    let (pieces, because) = change(&found, "pieces");
    assert!(pieces["now"].as_str().unwrap().starts_with("9 wanted"));
    assert!(because.contains(&"peg.partspec: part \"peg\"/quantity"), "{because:?}");
    assert_eq!(found["parts"][0]["first_article"], true);
}

#[test]
fn a_spool_taken_from_the_shelf_is_named() {
    let shop = states(&[("shop.yaml", "petg-black", "petg-noir")]);
    let found = diff(&shop);
    let (spool, because) = change(&found, "spool");
    assert_eq!((&spool["before"], &spool["now"]), (&Value::from("petg-black"), &Value::from("petg-noir")));
    assert!(because.iter().all(|b| b.starts_with("shop.yaml: ")), "{because:?}");
}

#[test]
fn a_part_that_is_new_and_one_that_is_gone_are_told() {
    let shop = states(&[("peg.partspec", "part \"peg\"", "part \"hook\"")]);
    let run = shop.run(&["diff", "before", "now"]);
    assert_eq!(run.code, 1);
    assert!(run.stdout.contains("hook (now/peg/peg.partspec): new, "), "{}", run.stdout);
    assert!(run.stdout.contains("peg (now/peg/peg.partspec): gone; it was "), "{}", run.stdout);
}

#[test]
fn a_page_for_a_comment_stays_short() {
    let shop = states(&[("peg.partspec", "air     5 °C .. 30 °C", "air     5 °C .. 70 °C")]);
    let run = shop.run(&["diff", "before", "now", "--print", "md"]);
    assert_eq!(run.code, 1);
    assert!(run.stdout.starts_with("### peg (now/peg/peg.partspec): "), "{}", run.stdout);
    assert!(run.stdout.lines().count() < 40, "{}", run.stdout);
    assert!(run.stdout.contains("first article again: "), "{}", run.stdout);
}

fn git(shop: &Workshop, words: &[&str]) {
    let mut command = Command::new("git");
    command.current_dir(shop.folder()).args(["-c", "user.name=t", "-c", "user.email=t@t.invalid"]).args(words);
    assert!(command.output().unwrap().status.success(), "{words:?}");
}

fn since(shop: &Workshop, revision: &str) -> Run {
    shop.run(&["diff", "--from", revision, "peg"])
}

#[test]
fn a_revision_is_compared_with_the_files_as_they_are() {
    let shop = Workshop::starter("peg");
    git(&shop, &["init", "-q"]);
    assert_eq!(shop.run(&["compile", "peg"]).code, 0);
    git(&shop, &["add", "."]);
    git(&shop, &["commit", "-qm", "first"]);
    assert_eq!(since(&shop, "HEAD").code, 0);

    let spec = shop.read("peg/peg.partspec");
    shop.write("peg/peg.partspec", spec.replace("quantity  4", "quantity  5"));
    let run = since(&shop, "HEAD");
    assert_eq!(run.code, 1, "{}", run.stderr);
    assert!(run.stdout.contains("4 wanted"), "{}", run.stdout);
    assert!(run.stdout.contains("no first article for this"), "{}", run.stdout);

    // What the earlier recipe says otherwise than its inputs give today is the program's.
    shop.write("peg/peg.partspec", &spec);
    let recipe = shop.read("peg/peg.recipe.yaml").replace("value: PETG", "value: ABS");
    shop.write("peg/peg.recipe.yaml", recipe);
    git(&shop, &["commit", "-qam", "as an older program would have it"]);
    let run = since(&shop, "HEAD");
    assert!(run.stdout.contains("the program and its built-in knowledge"), "{}", run.stdout);
    assert!(run.stdout.contains("material: ABS -> PETG"), "{}", run.stdout);
}

#[test]
fn what_cannot_be_compared_is_misuse_or_told() {
    let shop = states(&[]);
    assert_eq!(shop.run(&["diff", "before"]).code, 2);
    assert_eq!(shop.run(&["diff", "nothing", "nowhere"]).code, 2);
    let run = shop.run(&["diff", "--from", "HEAD", "now"]);
    assert_eq!(run.code, 2);
    assert!(run.stderr.contains("no git repository around"), "{}", run.stderr);
    git(&shop, &["init", "-q"]);
    let run = shop.run(&["diff", "--from", "no-such", "now"]);
    assert!(run.code == 2 && run.stderr.contains("no revision `no-such`"), "{}", run.stderr);

    shop.write("now/peg/peg.partspec", "part \"peg\" { mehs \"peg.stl\" in mm }");
    let run = shop.run(&["diff", "before", "now"]);
    assert_eq!(run.code, 1);
    assert!(run.stderr.contains("mehs"), "{}", run.stderr);
    assert_eq!(run.stdout, "1 could not be read in one of the two states, and were not compared.\n");
}

#[test]
fn what_another_workshop_file_would_do_is_told_before_it_is_made_the_worst_first() {
    let hut = Workshop::hut();
    let shop = hut.read("shop.yaml");
    // The only spool filled with fibre goes.
    let without: Vec<&str> = shop.lines().filter(|line| !line.contains("name: pa12cf-1")).collect();
    hut.write("new-shop.yaml", without.join("\n") + "\n");
    let run = hut.run(&["impact", "--shop", "new-shop.yaml", "--print", "json"]);
    assert_eq!(run.code, 1, "{}", run.stderr);
    let found = run.json();
    let parts: Vec<&str> = found["parts"].as_array().unwrap().iter().map(|p| p["part"].as_str().unwrap()).collect();
    assert_eq!(parts[0], "pulley-fork", "{parts:?}");
    let because =
        found["parts"][0]["changes"].as_array().unwrap().iter().flat_map(|c| c["because"].as_array().unwrap());
    assert!(because.into_iter().any(|b| b.as_str().unwrap().contains("pa12cf-1")), "{found}");
    assert!(!parts.contains(&"peg-tag"), "{parts:?}");
    assert_eq!(hut.read("shop.yaml"), shop);
    let text = hut.run(&["impact", "--shop", "new-shop.yaml", "pulley-fork"]).stdout;
    assert!(text.starts_with("pulley-fork (pulley-fork/pulley-fork.partspec)"), "{text}");

    // The same file changes nothing; a shared spec in place of another is a change; what is not there is told.
    assert_eq!(hut.run(&["impact", "--shop", "shop.yaml", "peg-tags"]).code, 0);
    hut.write("colder.partspec", hut.read("workshop/common.partspec").replace("5 °C .. 35 °C", "5 °C .. 55 °C"));
    let shared = hut.run(&["impact", "--file", "workshop/common.partspec=colder.partspec", "spindle-block"]);
    assert!(
        shared.code == 1 && shared.stdout.contains("workshop/common.partspec"),
        "{}{}",
        shared.stdout,
        shared.stderr
    );
    for (args, told) in [
        (&["impact"][..], "what would change"),
        (&["impact", "--file", "a"], "OLD=NEW"),
        (&["impact", "--file", "nowhere.rules=shop.yaml"], "`nowhere.rules`"),
        (&["impact", "--shop", "gone.yaml"], "`gone.yaml` can't be read"),
    ] {
        let run = hut.run(args);
        assert!(run.code == 2 && run.stderr.contains(told), "{args:?}: {}", run.stderr);
    }
}
