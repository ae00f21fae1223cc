//! The program from the outside: what it prints where, and the exit code it leaves.

use std::path::Path;
use std::process::{Command, Output, Stdio};

fn makeready(home: &Path, args: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_makeready"))
        .args(args)
        .current_dir(home)
        .env_remove("NO_COLOR")
        .stdin(Stdio::null())
        .output()
        .unwrap()
}

fn code(out: &Output) -> i32 {
    out.status.code().unwrap()
}

fn stdout(out: &Output) -> String {
    String::from_utf8(out.stdout.clone()).unwrap()
}

fn stderr(out: &Output) -> String {
    String::from_utf8(out.stderr.clone()).unwrap()
}

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
