//! Many parts, many machines: the scripts of `examples/many`, run as they stand.

use std::collections::BTreeMap;
use std::path::Path;
use std::process::{Command, Output};

use crate::workshop::{Workshop, cache_folder, root};

/// The recipes in the folders of a folder, by name.
fn recipes(folder: &Path) -> BTreeMap<String, String> {
    let mut all = BTreeMap::new();
    let inside = |folder: &Path| std::fs::read_dir(folder).into_iter().flatten().map(|entry| entry.unwrap().path());
    for file in inside(folder).filter(|path| path.is_dir()).flat_map(|path| inside(&path).collect::<Vec<_>>()) {
        let name = file.strip_prefix(folder).unwrap().to_str().unwrap().to_owned();
        if name.contains(".recipe.") {
            all.insert(name, std::fs::read_to_string(&file).unwrap());
        }
    }
    all
}

fn script(hut: &Workshop, name: &str, args: &[&str], home: &str) -> Output {
    let script = root().join("examples/many").join(name);
    std::fs::create_dir_all(hut.path(home)).unwrap();
    Command::new("sh")
        .arg(script)
        .args(args)
        .current_dir(hut.folder())
        .env("MAKEREADY", env!("CARGO_BIN_EXE_makeready"))
        .env("MAKEREADY_CACHE", cache_folder())
        .env("HOME", hut.path(home))
        .env_remove("SLURM_ARRAY_TASK_ID")
        .output()
        .unwrap()
}

#[test]
#[cfg(unix)]
fn shares_made_by_separate_processes_with_separate_homes_are_the_committed_bytes() {
    let hut = Workshop::hut();
    let before = recipes(&root().join("examples"));
    assert!(before.len() > 20, "{}", before.len());
    let ended: Vec<Option<i32>> = ["0", "1", "2"]
        .iter()
        .map(|share| script(&hut, "batch.sh", &[".", share, "3"], &format!("home-{share}")).status.code())
        .collect();
    // The example that asks a question is in one of the shares, the refused one too: the others of their share are made.
    assert!(ended.iter().all(|code| matches!(code, Some(0 | 1))) && ended.contains(&Some(1)), "{ended:?}");
    assert_eq!(recipes(hut.folder()), before);
}

#[test]
#[cfg(unix)]
fn ninja_makes_again_what_a_change_touches_and_nothing_else() {
    let hut = Workshop::hut();
    let lines = String::from_utf8(script(&hut, "ninja.sh", &["."], "home").stdout).unwrap();
    for wanted in [
        "build peg-tags/peg-tag.recipe.md peg-tags/peg-tag.recipe.yaml: recipe peg-tags/peg-tag.partspec",
        "build spring-service/spring-service.plan.yaml spring-service/spring-service.plan.md: plan spring-service/spring-service.runspec",
    ] {
        assert!(lines.lines().any(|line| line == wanted), "{lines}");
    }
    assert!(!lines.contains("workshop/common.partspec\n"), "what makes nothing is no target: {lines}");
}

/// What the build system makes of them, where it is installed: `cargo test --test all build_system -- --ignored`.
#[test]
#[ignore = "the build system is installed on few machines"]
fn a_build_system_makes_what_changed_and_no_more() {
    let hut = Workshop::hut();
    let lines = String::from_utf8(script(&hut, "ninja.sh", &["."], "home").stdout).unwrap();
    let ninja = |args: &[&str]| {
        let mut command = Command::new("ninja");
        let run = command.args(args).current_dir(hut.folder()).env("MAKEREADY_CACHE", cache_folder());
        String::from_utf8_lossy(&run.output().unwrap().stdout).into_owned()
    };
    hut.write("build.ninja", &lines);
    let first = ninja(&["-k", "0"]);
    assert!(first.contains("plan of spring-service/spring-service.runspec"), "{first}");
    let again = || -> Vec<String> {
        let told = ninja(&["-k", "0", "-n"]);
        let made = told.lines().filter_map(|line| line.split_once("] ")).map(|(_, what)| what.to_owned());
        // Parts that ask or are refused fail, and are tried each time.
        made.filter(|what| !what.contains("coat-hook") && !what.contains("coolant-elbow")).collect()
    };
    assert_eq!(again(), Vec::<String>::new());
    hut.write("pulley-fork/pulley-fork.stl", std::fs::read(hut.path("pulley-fork/pulley-fork.stl")).unwrap());
    assert_eq!(
        again(),
        ["recipe of pulley-fork/pulley-fork.partspec", "plan of spring-service/spring-service.runspec"]
    );
}
