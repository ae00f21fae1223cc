//! The program from the outside: what it prints where, and the exit code it leaves.

use std::path::Path;
use std::process::{Command, Stdio};

use super::program::{code, makeready, stderr, stdout};

fn home() -> tempfile::TempDir {
    tempfile::tempdir().unwrap()
}

#[test]
fn help_goes_to_stdout_and_misuse_to_stderr() {
    let home = home();
    let help = makeready(home.path(), &["--help"]);
    assert_eq!((code(&help), stderr(&help).as_str()), (0, ""));
    assert!(stdout(&help).contains("makeready new coat-hook"));
    let misuse = makeready(home.path(), &["compile"]);
    assert_eq!((code(&misuse), stdout(&misuse).as_str()), (2, ""));
    assert!(stderr(&misuse).contains("SPEC"));
    assert_eq!(code(&makeready(home.path(), &["no-such-command"])), 2);
}

#[test]
fn every_command_teaches_with_an_example() {
    let home = home();
    for command in ["compile", "check", "explain", "catalogue", "new", "measure", "fit", "coupon", "calibrate"] {
        let help = makeready(home.path(), &[command, "--help"]);
        assert_eq!(code(&help), 0, "{command}");
        assert!(stdout(&help).contains(&format!("makeready {command}")), "{command}");
        assert!(stdout(&help).contains("Example"), "{command}");
    }
}

#[test]
fn a_missing_spec_is_misuse_with_the_nearest_name() {
    let home = home();
    std::fs::write(home.path().join("hook.partspec"), "").unwrap();
    let out = makeready(home.path(), &["compile", "hok.partspec"]);
    assert_eq!((code(&out), stdout(&out).as_str()), (2, ""));
    assert!(stderr(&out).contains("there is no file `hok.partspec`"), "{}", stderr(&out));
}

#[test]
fn a_spec_with_errors_writes_nothing() {
    let home = home();
    std::fs::write(
        home.path().join("hook.partspec"),
        "part \"hook\" {\n  mesh \"hook.stl\" in mm\n  quantity = = 4\n}\n",
    )
    .unwrap();
    let out = makeready(home.path(), &["compile", "hook.partspec"]);
    assert_eq!(code(&out), 1, "{}", stderr(&out));
    assert!(stderr(&out).contains("--> hook.partspec:3:"), "{}", stderr(&out));
    assert!(!stderr(&out).contains('\u{1b}'), "no colour without a terminal");
    assert_eq!(std::fs::read_dir(home.path()).unwrap().count(), 1);
    let coloured = makeready(home.path(), &["--color", "always", "compile", "hook.partspec"]);
    assert!(stderr(&coloured).contains('\u{1b}'));
}

#[test]
fn check_prints_findings_to_stdout_in_three_forms() {
    let home = home();
    std::fs::write(home.path().join("hook.partspec"), "part \"hook\" {\n  quantity = = 4\n}\n").unwrap();
    let text = makeready(home.path(), &["check"]);
    assert_eq!(code(&text), 1);
    assert!(stdout(&text).contains("--> hook.partspec:2:"), "{}", stdout(&text));
    assert!(stderr(&text).contains("1 file checked"), "{}", stderr(&text));
    let short = makeready(home.path(), &["check", "hook.partspec", "--print", "short"]);
    assert!(stdout(&short).starts_with("hook.partspec:2:"), "{}", stdout(&short));
    let json = makeready(home.path(), &["check", "hook.partspec", "--print", "json"]);
    assert_eq!(stderr(&json), "");
    let parsed: serde_json::Value = serde_json::from_str(&stdout(&json)).unwrap();
    assert_eq!(parsed[0]["labels"][0]["file"], "hook.partspec");
    assert_eq!(parsed[0]["severity"], "error");
}

#[test]
fn new_makes_a_folder_once() {
    let home = home();
    let out = makeready(home.path(), &["new", "coat-hook"]);
    assert_eq!((code(&out), stdout(&out).as_str()), (0, ""), "{}", stderr(&out));
    assert!(stderr(&out).contains("makeready compile coat-hook/coat-hook.partspec"));
    let again = makeready(home.path(), &["new", "coat-hook"]);
    assert_eq!(code(&again), 2);
    assert!(stderr(&again).contains("there is a `coat-hook` already"));
    assert_eq!(code(&makeready(home.path(), &["new", "../elsewhere"])), 2);
}

#[test]
fn a_closed_pipe_is_quiet() {
    let mut child = Command::new(env!("CARGO_BIN_EXE_makeready"))
        .args(["completions", "bash"])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    drop(child.stdout.take());
    let out = child.wait_with_output().unwrap();
    assert_eq!((code(&out), stderr(&out).as_str()), (0, ""));
}

#[test]
fn questions_that_make_no_sense_are_misuse() {
    let home = home();
    std::fs::write(home.path().join("hook.partspec"), "part \"hook\" {}\n").unwrap();
    let out = makeready(home.path(), &["explain", "hook.partspec", "not"]);
    assert_eq!(code(&out), 2);
    assert!(stderr(&out).contains("write `not PETG`"), "{}", stderr(&out));
    assert_eq!(code(&makeready(home.path(), &["explain"])), 2);
}

#[test]
fn no_output_names_a_folder_of_this_machine() {
    let home = home();
    std::fs::create_dir(home.path().join("jobs")).unwrap();
    std::fs::write(home.path().join("shop.yaml"), "name: Hut workshop\n").unwrap();
    let spec = home.path().join("jobs/hook.partspec");
    std::fs::write(&spec, "part \"hook\" {\n  quantity = = 4\n}\n").unwrap();
    let out = makeready(Path::new("/"), &["check", spec.to_str().unwrap()]);
    assert!(stdout(&out).contains("--> jobs/hook.partspec:2:"), "{}", stdout(&out));
    assert!(!stdout(&out).contains(home.path().to_str().unwrap()));
}

/// A folder with the starter job in it.
fn started() -> tempfile::TempDir {
    let home = home();
    assert_eq!(code(&makeready(home.path(), &["new", "hook"])), 0);
    home
}

fn names(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> =
        std::fs::read_dir(folder).unwrap().map(|e| e.unwrap().file_name().into_string().unwrap()).collect();
    names.sort();
    names
}

#[test]
fn the_starter_compiles_and_its_files_stand_beside_the_spec() {
    let home = started();
    let out = makeready(home.path(), &["compile", "hook/hook.partspec"]);
    assert_eq!((code(&out), stdout(&out).as_str()), (0, ""), "{}", stderr(&out));
    assert!(stderr(&out).contains("-> hook/hook.recipe.md"), "{}", stderr(&out));
    let files = names(&home.path().join("hook"));
    assert_eq!(
        files,
        ["hook.partspec", "hook.recipe.md", "hook.recipe.svg", "hook.recipe.yaml", "hook.stl", "shop.yaml"]
    );
    let page = std::fs::read_to_string(home.path().join("hook/hook.recipe.md")).unwrap();
    assert!(page.contains("(hook.recipe.svg)") && page.contains("- [ ]"));
    assert!(!page.contains(home.path().to_str().unwrap()));
}

#[test]
fn a_second_run_leaves_the_same_bytes_and_dates() {
    let home = started();
    let run = || makeready(home.path(), &["compile", "hook/hook.partspec"]);
    let read = |end: &str| std::fs::read(home.path().join(format!("hook/hook.recipe.{end}"))).unwrap();
    let date = || std::fs::metadata(home.path().join("hook/hook.recipe.yaml")).unwrap().modified().unwrap();
    assert_eq!(code(&run()), 0);
    let (first, when) = (["md", "yaml", "svg"].map(read), date());
    assert_eq!(code(&run()), 0);
    assert_eq!(["md", "yaml", "svg"].map(read), first);
    assert_eq!(date(), when);
}

#[test]
fn recipes_print_in_four_forms_and_write_nothing() {
    let home = started();
    let print = |form: &str| {
        let out = makeready(home.path(), &["compile", "hook/hook.partspec", "--print", form]);
        assert_eq!((code(&out), stderr(&out).as_str()), (0, ""), "{form}");
        stdout(&out)
    };
    assert!(print("md").starts_with("# hook, revision A"));
    assert!(print("yaml").starts_with("schema: makeready-recipe/2\npart: hook\n"));
    assert!(print("html").contains("<svg "));
    let json: serde_json::Value = serde_json::from_str(&print("json")).unwrap();
    for decision in ["printer", "material", "nozzle", "surface", "agent", "pose", "supports"] {
        let decided = &json["decisions"][decision];
        assert!(decided["value"].is_string() && decided["because"].is_array(), "{decision}: {decided}");
        assert!(decided.get("runner_up").is_some(), "{decision}");
    }
    for key in [
        "revision",
        "status",
        "settings",
        "allowances",
        "margins",
        "checklist",
        "cautions",
        "rejected",
        "assumptions",
        "inputs",
    ] {
        assert!(json.get(key).is_some(), "{key}");
    }
    assert_eq!(names(&home.path().join("hook")), ["hook.partspec", "hook.stl", "shop.yaml"]);
}

#[test]
fn what_cannot_be_met_is_written_and_exits_1() {
    let home = started();
    let spec = home.path().join("hook/hook.partspec");
    let text = std::fs::read_to_string(&spec).unwrap().replace("25 N toward", "2500 N toward");
    std::fs::write(&spec, text).unwrap();
    let out = makeready(home.path(), &["compile", "hook/hook.partspec", "--out", "pages"]);
    assert_eq!(code(&out), 1, "{}", stderr(&out));
    let page = std::fs::read_to_string(home.path().join("pages/hook.recipe.md")).unwrap();
    assert!(page.lines().next().unwrap().ends_with("not printable as specified"));
    assert!(!page.contains("- [ ]") && !page.contains("## Settings"));
    let why = makeready(home.path(), &["explain", "hook/hook.partspec"]);
    assert!(stdout(&why).contains("wet coat"), "{}", stdout(&why));
}

#[test]
fn parts_of_one_name_do_not_overwrite_each_other() {
    let home = started();
    std::fs::create_dir(home.path().join("again")).unwrap();
    for name in names(&home.path().join("hook")) {
        std::fs::copy(home.path().join("hook").join(&name), home.path().join("again").join(&name)).unwrap();
    }
    let out = makeready(home.path(), &["compile", "hook/hook.partspec", "again/hook.partspec", "--out", "pages"]);
    assert_eq!(code(&out), 1);
    assert!(stderr(&out).contains("part/same-name"), "{}", stderr(&out));
    assert!(names(&home.path().join("pages")).is_empty());
    // The same file, named twice, is one job.
    let twice = makeready(home.path(), &["compile", "hook/hook.partspec", "./hook/hook.partspec", "--out", "pages"]);
    assert_eq!(code(&twice), 0, "{}", stderr(&twice));
}

#[test]
fn a_shops_template_lays_the_page_out() {
    let home = started();
    std::fs::write(home.path().join("card.hbs"), "{{part}}: {{status}}\n").unwrap();
    std::fs::write(home.path().join("bad.hbs"), "{{#if part}}\n{{prat}}{{/if}}\n").unwrap();
    let compile = |template: &str| {
        makeready(home.path(), &["compile", "hook/hook.partspec", "--print", "md", "--template", template])
    };
    assert!(stdout(&compile("card.hbs")).starts_with("hook: ready"));
    let bad = compile("bad.hbs");
    assert_eq!((code(&bad), stdout(&bad).as_str()), (1, ""));
    assert!(stderr(&bad).contains("prat") && stderr(&bad).contains("line 2"), "{}", stderr(&bad));
    assert_eq!(code(&compile("none.hbs")), 2);
}

#[test]
fn explain_answers_from_the_recipe() {
    let home = started();
    let explain = |what: &[&str]| {
        let args: Vec<&str> = ["explain", "hook/hook.partspec"].iter().chain(what).copied().collect();
        makeready(home.path(), &args)
    };
    assert!(stdout(&explain(&["material"])).starts_with("material: "));
    assert!(stdout(&explain(&["screws"])).starts_with("fit screws: "));
    assert!(stdout(&explain(&["not", "PVA"])).contains("support-material-is-no-part"));
    let slip = explain(&["materail"]);
    assert_eq!((code(&slip), stdout(&slip).as_str()), (2, ""));
    assert!(stderr(&slip).contains("did you mean `material`?"), "{}", stderr(&slip));
    let rule = makeready(home.path(), &["explain", "--rule", "heat-margin"]);
    assert!(stdout(&rule).starts_with("rule heat-margin\n"), "{}", stderr(&rule));
}

#[test]
fn measure_prints_the_documented_keys() {
    let home = started();
    let out = makeready(home.path(), &["measure", "hook/hook.stl", "--pose", "-z", "--print", "json"]);
    assert_eq!((code(&out), stderr(&out).as_str()), (0, ""));
    let m: serde_json::Value = serde_json::from_str(&stdout(&out)).unwrap();
    // The keys and their shapes are those of the issue that asked for the command.
    for key in [
        "triangles",
        "closed",
        "shells",
        "volume_mm3",
        "area_mm2",
        "centroid_mm",
        "bounds_mm",
        "defects",
        "cavities",
        "holes",
        "min_wall",
        "min_gap",
        "pose",
        "overhang_mm2",
        "contact_mm2",
        "regions",
        "support_mm3",
        "poses",
    ] {
        assert!(m.get(key).is_some(), "{key}");
    }
    assert_eq!(m["bounds_mm"]["max"], serde_json::json!([60.0, 20.0, 40.0]));
    assert_eq!(m["pose"]["up"], serde_json::json!([0.0, 0.0, -1.0]));
    for key in ["diameter_mm", "axis", "centre_mm", "depth_mm", "through", "facets", "chord_shortfall_mm"] {
        assert!(m["holes"][0].get(key).is_some(), "{key}");
    }
    for key in ["kind", "z_mm", "area_mm2", "span_mm", "reach_mm", "angle_deg", "at", "verdict", "removable"] {
        assert!(m["regions"][0].get(key).is_some(), "{key}");
    }
    for key in ["up", "label", "penalties", "total"] {
        assert!(m["poses"][0].get(key).is_some(), "{key}");
    }
}

#[test]
fn measure_tells_unreadable_from_wrong() {
    let home = started();
    std::fs::write(home.path().join("cut.stl"), b"solid x\nfacet normal 0 0 1\nouter loop\nvertex 0 0 0\n").unwrap();
    assert_eq!(code(&makeready(home.path(), &["measure", "cut.stl"])), 1);
    assert_eq!(code(&makeready(home.path(), &["measure", "none.stl"])), 2);
    assert_eq!(code(&makeready(home.path(), &["measure", "hook/hook.stl", "--unit", "parsec"])), 2);
    assert_eq!(code(&makeready(home.path(), &["measure", "hook/hook.stl", "--limit", "45"])), 2);
}

/// ISO 286: 20 mm H7/g6 has 0/+21 µm and -20/-7 µm (ISO 286-2 tables), so 7 to 41 µm of clearance.
#[test]
fn a_fit_is_looked_up() {
    let home = home();
    let out = makeready(home.path(), &["fit", "20 mm H7/g6", "--print", "json"]);
    let found: serde_json::Value = serde_json::from_str(&stdout(&out)).unwrap();
    let number = |object: &str, key: &str| found[object][key].as_f64().unwrap();
    assert_eq!((number("hole", "lower_um"), number("hole", "upper_um")), (0.0, 21.0));
    assert_eq!((number("shaft", "lower_um"), number("shaft", "upper_um")), (-20.0, -7.0));
    assert_eq!((number("clearance", "min_um"), number("clearance", "max_um")), (7.0, 41.0));
    let wrong = makeready(home.path(), &["fit", "20 mm H7/g66"]);
    assert_eq!((code(&wrong), stdout(&wrong).as_str()), (1, ""));
}

#[test]
fn the_catalogue_lists_kinds_entries_and_values() {
    let home = home();
    let show = |args: &[&str]| {
        let all: Vec<&str> = ["catalogue"].iter().chain(args).copied().collect();
        makeready(home.path(), &all)
    };
    assert!(stdout(&show(&[])).contains("material"));
    let entry = stdout(&show(&["material", "PETG"]));
    assert!(entry.contains("glass transition") && entry.contains("°C"), "{entry}");
    let slip = show(&["material", "PETH"]);
    assert_ne!(code(&slip), 0);
    assert!(stderr(&slip).contains("PETG"), "{}", stderr(&slip));
}

/// The user's cache is used where it is wanted, and only there; what is printed is the same.
#[test]
fn the_cache_changes_no_byte_and_can_be_left_alone() {
    let home = home();
    let kept = home.path().join("kept");
    assert_eq!(code(&makeready(home.path(), &["new", "peg"])), 0);
    let run = |args: &[&str], cache: &Path| {
        Command::new(env!("CARGO_BIN_EXE_makeready"))
            .args(args)
            .current_dir(home.path())
            .env("MAKEREADY_CACHE", cache)
            .stdin(Stdio::null())
            .output()
            .unwrap()
    };
    let entries = || std::fs::read_dir(&kept).map_or(0, Iterator::count);
    for args in [&["measure", "peg/peg.stl"][..], &["compile", "peg/peg.partspec", "--print", "yaml"]] {
        let before = entries();
        let bare = run(args, Path::new("off"));
        assert_eq!(code(&bare), 0, "{}", stderr(&bare));
        let spared = run(&[args, &["--no-cache"]].concat(), &kept);
        assert_eq!((stdout(&spared), entries()), (stdout(&bare), before));
        assert_eq!(stdout(&run(args, &kept)), stdout(&bare));
        assert_eq!(entries(), before + 1);
        assert_eq!(stdout(&run(args, &kept)), stdout(&bare));
        assert_eq!(entries(), before + 1);
    }
    // Where nothing can be written the work is done all the same, and nothing is said.
    let in_the_way = home.path().join("peg/peg.stl");
    let out = run(&["measure", "peg/peg.stl"], &in_the_way);
    assert_eq!((code(&out), stderr(&out).as_str()), (0, ""));
}

/// `check` does not pass over a part that cannot be made, and what a command line names and nobody knows is misuse.
#[test]
fn check_tells_of_a_part_that_cannot_be_made() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let out = makeready(root, &["check", "examples/coolant-elbow/coolant-elbow.partspec"]);
    let said = stdout(&out);
    assert_eq!(code(&out), 0, "{said}");
    assert!(said.contains("warning[spec/cannot-be-made]") && said.contains("not printable as specified"), "{said}");
    let strict = makeready(root, &["check", "--strict", "examples/coolant-elbow/coolant-elbow.partspec"]);
    assert_eq!(code(&strict), 1);
    for wrong in [&["explain", "--rule", "heat-margn"][..], &["catalogue", "material", "PTEG"], &["catalogue", "foo"]] {
        assert_eq!(code(&makeready(root, wrong)), 2, "{wrong:?}");
    }
}

#[test]
fn a_refused_job_still_answers_for_any_material() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let elbow = "examples/coolant-elbow/coolant-elbow.partspec";
    let out = makeready(root, &["explain", elbow, "not", "PLA"]);
    assert_eq!(code(&out), 0, "{}", stderr(&out));
    let said = stdout(&out);
    assert!(said.starts_with("PLA on ") && said.contains("PLA holds to 45 °C"), "{said}");
    // One nobody knows is still a misuse.
    assert_eq!(code(&makeready(root, &["explain", elbow, "not", "cheese"])), 2);
}
