//! `examples/review` in a repository: the hook, the checks of a change, and a merge of what is generated.

use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use crate::workshop::{Workshop, cache_folder, root};

const SPEC: &str = "part \"peg\" {\n  mesh      \"peg.stl\" in mm\n  quantity  2\n  service   { air 5 °C .. 30 °C; place indoors; wet dry }\n}\n";

struct Repository {
    made: Workshop,
}

impl Repository {
    /// A repository of one spec with its recipe, set up as the README says.
    fn new() -> Self {
        let made = Workshop::hut();
        let mesh = std::fs::read(made.path("coat-hook/coat-hook.stl")).unwrap();
        let shop = made.read("shop.yaml");
        let made = Workshop::empty().with("shop.yaml", shop).with("jobs/peg.stl", mesh).with("jobs/peg.partspec", SPEC);
        for file in ["gitattributes", "setup.sh", "pre-commit.sh", "ci.sh"] {
            let text = std::fs::read(root().join("examples/review").join(file)).unwrap();
            let name = if file == "gitattributes" { ".gitattributes".to_owned() } else { format!("tools/{file}") };
            made.write(&name, text);
        }
        let here = Self { made };
        here.git(&["init", "-q", "-b", "main"]);
        here.git(&["config", "user.name", "somebody"]);
        here.git(&["config", "user.email", "somebody@example.org"]);
        here.sh("tools/setup.sh", &[]);
        here.compile();
        here.git(&["add", "."]);
        here.git(&["commit", "-q", "-m", "a peg"]);
        here
    }

    fn command(&self, program: &str) -> Command {
        let mut command = Command::new(program);
        let ours = Path::new(env!("CARGO_BIN_EXE_makeready")).parent().unwrap();
        let others = std::env::var_os("PATH").unwrap_or_default();
        let paths = std::iter::once(PathBuf::from(ours)).chain(std::env::split_paths(&others));
        command.current_dir(self.made.folder()).env("PATH", std::env::join_paths(paths).unwrap());
        command.env("MAKEREADY_CACHE", cache_folder()).env("GIT_CONFIG_GLOBAL", "/dev/null").env("NO_COLOR", "1");
        command
    }

    fn try_git(&self, args: &[&str]) -> Output {
        self.command("git").args(args).output().unwrap()
    }

    #[track_caller]
    fn git(&self, args: &[&str]) -> String {
        let out = self.try_git(args);
        assert!(out.status.success(), "git {args:?}: {}", String::from_utf8_lossy(&out.stderr));
        String::from_utf8(out.stdout).unwrap()
    }

    fn sh(&self, script: &str, args: &[&str]) -> (i32, String) {
        let out = self.command("sh").arg(script).args(args).output().unwrap();
        let told = format!("{}{}", String::from_utf8_lossy(&out.stdout), String::from_utf8_lossy(&out.stderr));
        (out.status.code().unwrap(), told)
    }

    fn compile(&self) {
        assert_eq!(self.made.run(&["compile", "jobs/peg.partspec"]).code, 0);
    }

    fn edit(&self, from: &str, to: &str) {
        let text = self.made.read("jobs/peg.partspec");
        assert!(text.contains(from));
        self.made.write("jobs/peg.partspec", text.replace(from, to));
    }
}

#[test]
fn a_stale_recipe_is_not_committed_and_fails_the_check_with_what_to_run() {
    let here = Repository::new();
    here.edit("quantity  2", "quantity  3");
    let refused = here.try_git(&["commit", "-qam", "one more"]);
    let told = format!("{}{}", String::from_utf8_lossy(&refused.stdout), String::from_utf8_lossy(&refused.stderr));
    assert!(!refused.status.success() && told.contains("Not committed") && told.contains("recipe/stale"), "{told}");
    here.git(&["commit", "-q", "--no-verify", "-am", "one more, in a hurry"]);
    let (code, told) = here.sh("tools/ci.sh", &["HEAD~1", "jobs"]);
    assert!(code == 1 && told.contains("makeready compile"), "{told}");
    here.compile();
    here.git(&["commit", "-qam", "the recipe"]);
    let (code, told) = here.sh("tools/ci.sh", &["HEAD~2", "jobs"]);
    assert_eq!(code, 0, "{told}");
    let review = here.made.read("review.md");
    assert!(review.contains("quantity") && review.contains("**run**"), "{review}");
    assert!(here.made.read("found.sarif").contains("\"2.1.0\""));
    // A spec that is laid out in its own way is told of as well.
    here.edit("  quantity  3", "    quantity 3");
    let (code, told) = here.sh("tools/ci.sh", &["HEAD", "jobs"]);
    assert!(code == 1 && told.contains("would change"), "{told}");
}

/// Two changes of one part meet: the spec is merged, the recipe is nobody's conflict, and is said to be stale until it is made again.
#[test]
fn what_is_generated_is_merged_by_making_it_again() {
    let here = Repository::new();
    here.git(&["checkout", "-q", "-b", "warm"]);
    here.edit("30 °C", "55 °C");
    here.compile();
    here.git(&["commit", "-qam", "warmer"]);
    here.git(&["checkout", "-q", "main"]);
    here.edit("part \"peg\" {\n", "part \"peg\" {\n  revision  \"B\"\n");
    here.compile();
    here.git(&["commit", "-qam", "revision"]);
    let out = here.try_git(&["merge", "--no-commit", "-q", "warm"]);
    assert!(out.status.success(), "{}{}", String::from_utf8_lossy(&out.stdout), String::from_utf8_lossy(&out.stderr));
    let merged = here.made.read("jobs/peg.partspec");
    assert!(merged.contains("55 °C") && merged.contains("revision"), "{merged}");
    let stale = here.made.run(&["check", "--locked", "jobs"]);
    assert!(stale.code == 1 && stale.stdout.contains("recipe/stale"), "{}", stale.stdout);
    here.compile();
    here.git(&["add", "."]);
    here.git(&["commit", "-qm", "merged"]);
    // A hunk is headed by the statement it lies in.
    here.edit("wet dry", "wet damp");
    let hunks = here.git(&["diff", "-U0", "jobs/peg.partspec"]);
    assert!(hunks.contains("@@ part \"peg\" {"), "{hunks}");
}
