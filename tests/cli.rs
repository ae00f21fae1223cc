//! The program from the outside: what it prints where, and the exit code it leaves.

use std::path::Path;

use crate::workshop::{Workshop, makeready, makeready_into_closed_pipe, makeready_with_cache, root};

#[test]
fn help_goes_to_stdout_and_misuse_to_stderr() {
    let home = Workshop::empty();
    let help = home.run(&["--help"]);
    assert_eq!((help.code, help.stderr.as_str()), (0, ""));
    assert!(help.stdout.contains("makeready new coat-hook"));
    let misuse = home.run(&["compile"]);
    assert_eq!((misuse.code, misuse.stdout.as_str()), (2, ""));
    assert!(misuse.stderr.contains("SPEC"));
    assert_eq!(home.run(&["no-such-command"]).code, 2);
}

#[test]
fn every_command_teaches_with_an_example() {
    let home = Workshop::empty();
    for command in [
        "compile",
        "check",
        "explain",
        "catalogue",
        "new",
        "ask",
        "draft",
        "impact",
        "measure",
        "fit",
        "stress",
        "calc",
        "coupon",
        "calibrate",
        "schema",
    ] {
        let help = home.run(&[command, "--help"]);
        assert_eq!(help.code, 0, "{command}");
        assert!(help.stdout.contains(&format!("makeready {command}")), "{command}");
        assert!(help.stdout.contains("Example"), "{command}");
    }
}

#[test]
fn a_missing_spec_is_misuse_with_the_nearest_name() {
    let home = Workshop::empty();
    home.write("hook.partspec", "");
    let out = home.run(&["compile", "hok.partspec"]);
    assert_eq!((out.code, out.stdout.as_str()), (2, ""));
    assert!(out.stderr.contains("there is no file `hok.partspec`"), "{}", out.stderr);
}

#[test]
fn a_spec_with_errors_writes_nothing() {
    let home = Workshop::empty();
    std::fs::write(home.path("hook.partspec"), "part \"hook\" {\n  mesh \"hook.stl\" in mm\n  quantity = = 4\n}\n")
        .unwrap();
    let out = home.run(&["compile", "hook.partspec"]);
    assert_eq!(out.code, 1, "{}", out.stderr);
    assert!(out.stderr.contains("--> hook.partspec:3:"), "{}", out.stderr);
    assert!(!out.stderr.contains('\u{1b}'), "no colour without a terminal");
    assert_eq!(home.names("").len(), 1);
    let coloured = home.run(&["--color", "always", "compile", "hook.partspec"]);
    assert!(coloured.stderr.contains('\u{1b}'));
}

#[test]
fn check_prints_findings_to_stdout_in_three_forms() {
    let home = Workshop::empty();
    home.write("hook.partspec", "part \"hook\" {\n  quantity = = 4\n}\n");
    let text = home.run(&["check"]);
    assert_eq!(text.code, 1);
    assert!(text.stdout.contains("--> hook.partspec:2:"), "{}", text.stdout);
    assert!(text.stderr.contains("1 file checked"), "{}", text.stderr);
    let short = home.run(&["check", "hook.partspec", "--print", "short"]);
    assert!(short.stdout.starts_with("hook.partspec:2:"), "{}", short.stdout);
    let json = home.run(&["check", "hook.partspec", "--print", "json"]);
    assert_eq!(json.stderr, "");
    let parsed = json.json();
    assert_eq!(parsed[0]["labels"][0]["file"], "hook.partspec");
    assert_eq!(parsed[0]["severity"], "error");
}

#[test]
fn new_makes_a_folder_once() {
    let home = Workshop::empty();
    let out = home.run(&["new", "coat-hook"]);
    assert_eq!((out.code, out.stdout.as_str()), (0, ""), "{}", out.stderr);
    assert!(out.stderr.contains("makeready compile coat-hook/coat-hook.partspec"));
    let again = home.run(&["new", "coat-hook"]);
    assert_eq!(again.code, 2);
    assert!(again.stderr.contains("there is a `coat-hook` already"));
    assert_eq!(home.run(&["new", "../elsewhere"]).code, 2);
}

/// Each command that `--help` lists has its page, and each page the parts that `man` expects (man-pages(7)).
#[test]
fn every_command_has_a_manual_page() {
    let home = Workshop::empty();
    let out = home.run(&["manual", "man1"]);
    assert_eq!((out.code, out.stdout.as_str(), out.stderr.as_str()), (0, "", ""));
    let help = home.run(&["--help"]).stdout;
    let listed = help.split("Commands:").nth(1).unwrap().split("Options:").next().unwrap();
    let commands = listed.lines().filter(|l| l.starts_with("  ") && !l.starts_with("   "));
    let commands: Vec<&str> = commands.filter_map(|l| l.split_whitespace().next()).filter(|c| *c != "help").collect();
    assert!(commands.len() > 20, "{commands:?}");
    for name in commands.iter().map(|c| format!("makeready-{c}")).chain(["makeready".to_owned()]) {
        let page = home.read(&format!("man1/{name}.1"));
        for part in [".TH ", ".SH NAME", ".SH SYNOPSIS", ".SH DESCRIPTION"] {
            assert!(page.contains(part), "{name}: no {part}");
        }
    }
    assert_eq!(home.run(&["manual", "man1/makeready.1"]).code, 2);
}

#[test]
fn a_closed_pipe_is_quiet() {
    let out = makeready_into_closed_pipe(Workshop::empty().folder(), &["completions", "bash"]);
    assert_eq!((out.code, out.stderr.as_str()), (0, ""));
}

#[test]
fn questions_that_make_no_sense_are_misuse() {
    let home = Workshop::empty();
    home.write("hook.partspec", "part \"hook\" {}\n");
    let out = home.run(&["explain", "hook.partspec", "not"]);
    assert_eq!(out.code, 2);
    assert!(out.stderr.contains("write `not glass`"), "{}", out.stderr);
    assert_eq!(home.run(&["explain"]).code, 2);
}

#[test]
fn no_output_names_a_folder_of_this_machine() {
    let home = Workshop::empty();
    std::fs::create_dir(home.path("jobs")).unwrap();
    home.write("shop.yaml", "name: Hut workshop\n");
    let spec = home.path("jobs/hook.partspec");
    std::fs::write(&spec, "part \"hook\" {\n  quantity = = 4\n}\n").unwrap();
    let out = makeready(Path::new("/"), &["check", spec.to_str().unwrap()]);
    assert!(out.stdout.contains("--> jobs/hook.partspec:2:"), "{}", out.stdout);
    assert!(!out.stdout.contains(home.folder().to_str().unwrap()));
}

#[test]
fn the_starter_compiles_and_its_files_stand_beside_the_spec() {
    let home = Workshop::starter("hook");
    let out = home.run(&["compile", "hook/hook.partspec"]);
    assert_eq!((out.code, out.stdout.as_str()), (0, ""), "{}", out.stderr);
    assert!(out.stderr.contains("-> hook/hook.recipe.md"), "{}", out.stderr);
    let files = home.names("hook");
    assert_eq!(
        files,
        ["hook.partspec", "hook.recipe.md", "hook.recipe.svg", "hook.recipe.yaml", "hook.stl", "shop.yaml"]
    );
    let page = home.read("hook/hook.recipe.md");
    assert!(page.contains("(hook.recipe.svg)") && page.contains("- [ ]"));
    assert!(!page.contains(home.folder().to_str().unwrap()));
}

#[test]
fn a_second_run_leaves_the_same_bytes_and_dates() {
    let home = Workshop::starter("hook");
    let run = || home.run(&["compile", "hook/hook.partspec"]);
    let read = |end: &str| home.read(&format!("hook/hook.recipe.{end}"));
    let date = || std::fs::metadata(home.path("hook/hook.recipe.yaml")).unwrap().modified().unwrap();
    assert_eq!(run().code, 0);
    let (first, when) = (["md", "yaml", "svg"].map(read), date());
    assert_eq!(run().code, 0);
    assert_eq!(["md", "yaml", "svg"].map(read), first);
    assert_eq!(date(), when);
}

#[test]
fn recipes_print_in_four_forms_and_write_nothing() {
    let home = Workshop::starter("hook");
    let print = |form: &str| {
        let out = home.run(&["compile", "hook/hook.partspec", "--print", form]);
        assert_eq!((out.code, out.stderr.as_str()), (0, ""), "{form}");
        out.stdout
    };
    assert!(print("md").starts_with("# hook, revision A"));
    assert!(print("yaml").starts_with("schema: makeready-recipe/3\npart: hook\n"));
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
    assert_eq!(home.names("hook"), ["hook.partspec", "hook.stl", "shop.yaml"]);
}

#[test]
fn what_cannot_be_met_is_written_and_exits_1() {
    let home = Workshop::starter("hook");
    let spec = home.path("hook/hook.partspec");
    let text = std::fs::read_to_string(&spec).unwrap().replace("25 N toward", "2500 N toward");
    std::fs::write(&spec, text).unwrap();
    let out = home.run(&["compile", "hook/hook.partspec", "--out", "pages"]);
    assert_eq!(out.code, 1, "{}", out.stderr);
    let page = home.read("pages/hook.recipe.md");
    assert!(page.lines().next().unwrap().ends_with("not printable as specified"));
    assert!(!page.contains("- [ ]") && !page.contains("## Settings"));
    let why = home.run(&["explain", "hook/hook.partspec"]);
    assert!(why.stdout.contains("wet coat"), "{}", why.stdout);
}

#[test]
fn parts_of_one_name_do_not_overwrite_each_other() {
    let home = Workshop::starter("hook");
    std::fs::create_dir(home.path("again")).unwrap();
    for name in home.names("hook") {
        std::fs::copy(home.path("hook").join(&name), home.path("again").join(&name)).unwrap();
    }
    let out = home.run(&["compile", "hook/hook.partspec", "again/hook.partspec", "--out", "pages"]);
    assert_eq!(out.code, 1);
    assert!(out.stderr.contains("part/same-name"), "{}", out.stderr);
    assert!(home.names("pages").is_empty());
    // The same file, named twice, is one job.
    let twice = home.run(&["compile", "hook/hook.partspec", "./hook/hook.partspec", "--out", "pages"]);
    assert_eq!(twice.code, 0, "{}", twice.stderr);
}

#[test]
fn a_shops_template_lays_the_page_out() {
    let home = Workshop::starter("hook");
    home.write("card.hbs", "{{part}}: {{status}}\n");
    home.write("bad.hbs", "{{#if part}}\n{{prat}}{{/if}}\n");
    let compile =
        |template: &str| home.run(&["compile", "hook/hook.partspec", "--print", "md", "--template", template]);
    assert!(compile("card.hbs").stdout.starts_with("hook: ready"));
    let bad = compile("bad.hbs");
    assert_eq!((bad.code, bad.stdout.as_str()), (1, ""));
    assert!(bad.stderr.contains("prat") && bad.stderr.contains("line 2"), "{}", bad.stderr);
    assert_eq!(compile("none.hbs").code, 2);
}

#[test]
fn explain_answers_from_the_recipe() {
    let home = Workshop::starter("hook");
    let explain = |what: &[&str]| {
        let args: Vec<&str> = ["explain", "hook/hook.partspec"].iter().chain(what).copied().collect();
        home.run(&args)
    };
    assert!(explain(&["material"]).stdout.starts_with("material: "));
    assert!(explain(&["screws"]).stdout.starts_with("fit screws: "));
    assert!(explain(&["not", "PVA"]).stdout.contains("support-material-is-no-part"));
    let slip = explain(&["materail"]);
    assert_eq!((slip.code, slip.stdout.as_str()), (2, ""));
    assert!(slip.stderr.contains("did you mean `material`?"), "{}", slip.stderr);
    // What the recipe does not speak of by itself is answered for as well; a word may be a value of two decisions.
    for build_up in ["sparse", "plain", "thick-walled", "firm", "solid", "thick-walled-solid"] {
        let told = explain(&["not", build_up]);
        assert!(told.code == 0 && told.stdout.contains(build_up), "{build_up}: {} {}", told.stdout, told.stderr);
    }
    for (value, decisions) in [("none", ["agent", "supports"]), ("where needed", ["supports"; 2])] {
        let told = explain(&["not", value]).stdout;
        assert!(decisions.iter().all(|of| told.contains(of)), "{value}: {told}");
    }
    let rule = home.run(&["explain", "--rule", "heat-margin"]);
    assert!(rule.stdout.starts_with("rule heat-margin\n"), "{}", rule.stderr);
}

#[test]
fn measure_prints_the_documented_keys() {
    let home = Workshop::starter("hook");
    let out = home.run(&["measure", "hook/hook.stl", "--pose", "-z", "--print", "json"]);
    assert_eq!((out.code, out.stderr.as_str()), (0, ""));
    let m = out.json();
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
    let home = Workshop::starter("hook");
    home.write("cut.stl", b"solid x\nfacet normal 0 0 1\nouter loop\nvertex 0 0 0\n");
    assert_eq!(home.run(&["measure", "cut.stl"]).code, 1);
    assert_eq!(home.run(&["measure", "none.stl"]).code, 2);
    assert_eq!(home.run(&["measure", "hook/hook.stl", "--unit", "parsec"]).code, 2);
    assert_eq!(home.run(&["measure", "hook/hook.stl", "--limit", "45"]).code, 2);
}

/// ISO 286: 20 mm H7/g6 has 0/+21 µm and -20/-7 µm (ISO 286-2 tables), so 7 to 41 µm of clearance.
#[test]
fn a_fit_is_looked_up() {
    let home = Workshop::empty();
    let out = home.run(&["fit", "20 mm H7/g6", "--print", "json"]);
    let found = out.json();
    let number = |object: &str, key: &str| found[object][key].as_f64().unwrap();
    assert_eq!((number("hole", "lower_um"), number("hole", "upper_um")), (0.0, 21.0));
    assert_eq!((number("shaft", "lower_um"), number("shaft", "upper_um")), (-20.0, -7.0));
    assert_eq!((number("clearance", "min_um"), number("clearance", "max_um")), (7.0, 41.0));
    let wrong = home.run(&["fit", "20 mm H7/g66"]);
    assert_eq!((wrong.code, wrong.stdout.as_str()), (1, ""));
}

#[test]
fn the_catalogue_lists_kinds_entries_and_values() {
    let home = Workshop::empty();
    let show = |args: &[&str]| {
        let all: Vec<&str> = ["catalogue"].iter().chain(args).copied().collect();
        home.run(&all)
    };
    assert!(show(&[]).stdout.contains("material"));
    let entry = show(&["material", "PETG"]).stdout;
    assert!(entry.contains("glass transition") && entry.contains("°C"), "{entry}");
    let slip = show(&["material", "PETH"]);
    assert_ne!(slip.code, 0);
    assert!(slip.stderr.contains("PETG"), "{}", slip.stderr);
}

/// The user's cache is used where it is wanted, and only there; what is printed is the same.
#[test]
fn the_cache_changes_no_byte_and_can_be_left_alone() {
    let home = Workshop::empty();
    let kept = home.path("kept");
    assert_eq!(home.run(&["new", "peg"]).code, 0);
    let run = |args: &[&str], cache: &Path| makeready_with_cache(home.folder(), cache, args);
    let entries = || std::fs::read_dir(&kept).map_or(0, Iterator::count);
    // Of a compiled part what its one load does is kept besides what was measured.
    for (args, more) in [(&["measure", "peg/peg.stl"][..], 1), (&["compile", "peg/peg.partspec", "--print", "yaml"], 2)]
    {
        let before = entries();
        let bare = run(args, Path::new("off"));
        assert_eq!(bare.code, 0, "{}", bare.stderr);
        let spared = run(&[args, &["--no-cache"]].concat(), &kept);
        assert_eq!((&spared.stdout, entries()), (&bare.stdout, before));
        assert_eq!(run(args, &kept).stdout, bare.stdout);
        assert_eq!(entries(), before + more);
        assert_eq!(run(args, &kept).stdout, bare.stdout);
        assert_eq!(entries(), before + more);
    }
    // Where nothing can be written the work is done all the same, and nothing is said.
    let in_the_way = home.path("peg/peg.stl");
    let out = run(&["measure", "peg/peg.stl"], &in_the_way);
    assert_eq!((out.code, out.stderr.as_str()), (0, ""));
}

/// `check` does not pass over a part that cannot be made, and what a command line names and nobody knows is misuse.
#[test]
fn check_tells_of_a_part_that_cannot_be_made() {
    let root = root();
    let out = makeready(&root, &["check", "examples/coolant-elbow/coolant-elbow.partspec"]);
    let said = out.stdout;
    assert_eq!(out.code, 1, "as compile has it: {said}");
    assert!(said.contains("warning[spec/cannot-be-made]") && said.contains("Not printable as specified"), "{said}");
    let strict = makeready(&root, &["check", "--strict", "examples/coolant-elbow/coolant-elbow.partspec"]);
    assert_eq!(strict.code, 1);
    for wrong in [&["explain", "--rule", "heat-margn"][..], &["catalogue", "material", "PTEG"], &["catalogue", "foo"]] {
        assert_eq!(makeready(&root, wrong).code, 2, "{wrong:?}");
    }
}

#[test]
fn a_refused_job_still_answers_for_any_material() {
    let root = root();
    let elbow = "examples/coolant-elbow/coolant-elbow.partspec";
    let out = makeready(&root, &["explain", elbow, "not", "PLA"]);
    assert_eq!(out.code, 0, "{}", out.stderr);
    let said = out.stdout;
    assert!(said.starts_with("PLA on ") && said.contains("PLA holds to 45 °C"), "{said}");
    // One nobody knows is still a misuse.
    assert_eq!(makeready(&root, &["explain", elbow, "not", "cheese"]).code, 2);
}
