//! A first spec for a mesh: it compiles as it stands, and with every line it offers taken.

use crate::workshop::Workshop;

/// The draft of an example's mesh in a folder with the workshop's file.
fn drafted(mesh: &str) -> (Workshop, String) {
    let made = Workshop::hut();
    let (folder, _) = mesh.rsplit_once('/').unwrap();
    let spec = mesh.replace(".stl", ".partspec");
    std::fs::remove_file(made.path(&spec)).unwrap();
    let run = made.run(&["draft", mesh]);
    assert_eq!(run.code, 0, "{}", run.stderr);
    assert!(
        run.stdout.contains("1. where the part lives is not stated") && run.stdout.contains("place outdoors"),
        "{}",
        run.stdout
    );
    assert!(made.names(folder).iter().all(|name| !name.contains(".html")));
    let text = made.read(&spec);
    (made, text)
}

/// Takes every line that is offered, of each group of holes the first guess only.
fn taken(text: &str) -> String {
    let mut out = String::new();
    let mut named = std::collections::BTreeSet::new();
    for line in text.lines() {
        let offered = line.trim_start().strip_prefix("//").map(str::trim_start);
        let statement = offered.filter(|rest| {
            ["purpose ", "service ", "load ", "fit ", "wall ", "prefer "].iter().any(|word| rest.starts_with(word))
        });
        match statement {
            Some(fit) if fit.starts_with("fit ") => {
                let name = fit.split('"').nth(1).unwrap().to_owned();
                if named.insert(name) {
                    out.push_str(&format!("  {fit}\n"));
                }
            }
            Some(rest) => out.push_str(&format!("  {rest}\n")),
            None => out.push_str(&format!("{line}\n")),
        }
    }
    out
}

#[test]
fn a_draft_compiles_as_it_stands_and_with_every_line_taken() {
    for mesh in ["vane-bracket/vane-bracket.stl", "spindle-block/spindle-block.stl", "door-bumper/door-bumper.stl"] {
        let (made, text) = drafted(mesh);
        let spec = mesh.replace(".stl", ".partspec");
        let told = |text: &str| {
            made.write(&spec, text);
            let run = made.run(&["check", &spec, "--print", "short"]);
            assert!(run.code < 2 && !run.stdout.contains("error["), "{mesh}: {}\n{text}", run.stdout);
        };
        told(&text);
        let all = taken(&text);
        assert!(all.contains("\n  load ") && all.contains("\n  service "), "{all}");
        told(&all);
    }
}

#[test]
fn holes_are_named_by_what_tables_say() {
    let (_, text) = drafted("spindle-block/spindle-block.stl");
    // The block is made for a bearing 608, two dowels of 6 mm and two M4 screws.
    for line in ["bearing 608", "dowel 6 mm count 2 along z", "clearance M4 medium count 2 along z", "26 mm apart"] {
        assert!(text.contains(line), "{line}: {text}");
    }
    let (_, text) = drafted("vane-bracket/vane-bracket.stl");
    assert!(text.contains("clearance M5 medium count 2 along x") && text.contains("insert M3 count 2"), "{text}");
}

#[test]
fn a_spec_that_is_there_is_never_written_over() {
    let made = Workshop::hut();
    let before = made.read("coat-hook/coat-hook.partspec");
    let run = made.run(&["draft", "coat-hook/coat-hook.stl"]);
    assert!(run.code == 2 && run.stderr.contains("makeready ask coat-hook/coat-hook.partspec"), "{}", run.stderr);
    assert_eq!(made.read("coat-hook/coat-hook.partspec"), before);
    let printed = made.run(&["draft", "coat-hook/coat-hook.stl", "--print"]);
    assert!(printed.code == 0 && printed.stdout.contains("part \"coat-hook\" {"), "{}", printed.stderr);
    let missing = made.run(&["draft", "coat-hook/coat-hok.stl"]);
    assert!(missing.code > 0 && missing.stderr.contains("coat-hook.stl"), "{}", missing.stderr);
}

#[test]
fn what_is_asked_of_a_finished_spec_is_what_its_page_asks() {
    let made = Workshop::hut();
    let asked = made.run(&["ask", "coat-hook/coat-hook.partspec"]);
    assert_eq!(asked.code, 0, "{}", asked.stderr);
    let recipe = made.json("coat-hook/coat-hook.partspec");
    let open: Vec<&serde_json::Value> =
        recipe["assumptions"].as_array().unwrap().iter().filter(|a| a["question"] == true).collect();
    assert!(open.len() > 2 && asked.stdout.contains(&format!("\n{}. ", open.len())), "{}", asked.stdout);
    for answer in open.iter().flat_map(|a| a["answers"].as_array().into_iter().flatten()) {
        assert!(asked.stdout.contains(answer["write"].as_str().unwrap()), "{answer}");
    }
    let settled = made.run(&["ask", "peg-tags/peg-tag.partspec"]);
    assert!(settled.code == 0, "{}", settled.stderr);
}
