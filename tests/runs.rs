//! Runs from the outside: run files as they are written, checked and laid out.

use makeready::diag::{Source, Sources};
use makeready::semantics::run::Hours;
use makeready::{semantics, syntax};

use crate::workshop::Workshop;

const SERVICE: &str = "run \"spring service\" {
  from 2026-12-07 07:00
  build \"jobs/hook.partspec\" 24 by 2026-12-18
  build \"jobs/hook.partspec\" part \"hook\" by 2026-12-20 12:00
  printers Bench, Loft
  without Loft on 2026-12-09..2026-12-10
  hours friday .. monday 07:00..19:00
  closed 2026-12-24
  nights unattended no
  confidence 95 %
  together \"box\", \"lid\"
  sample level S-3 limit 2.5 %
}
";

#[test]
fn a_run_means_what_it_says() {
    let mut sources = Sources::default();
    let id = sources.add(Source::new("a.runspec", SERVICE));
    let parsed = syntax::parse(id, SERVICE);
    assert_eq!(parsed.diagnostics, vec![]);
    let report = semantics::check(&[parsed.value.unwrap()], &sources);
    assert_eq!(report.diagnostics, vec![]);
    let run = report.value.unwrap().runs.remove(0);
    assert_eq!((run.name.value.as_str(), run.from.value.to_string().as_str()), ("spring service", "2026-12-07 07:00"));
    assert_eq!(run.builds[0].count.unwrap().value, 24);
    assert_eq!(run.builds[0].by.as_ref().unwrap().value, ("2026-12-18".to_owned(), None));
    assert_eq!(run.builds[1].count, None);
    assert_eq!(run.builds[1].part.as_ref().unwrap().value, "hook");
    assert_eq!(run.builds[1].by.as_ref().unwrap().value, ("2026-12-20".to_owned(), Some(720)));
    assert_eq!(run.printers.iter().map(|p| p.value.as_str()).collect::<Vec<_>>(), ["Bench", "Loft"]);
    assert_eq!(run.without[0].days, ("2026-12-09".to_owned(), "2026-12-10".to_owned()));
    assert_eq!(run.hours[0].value, Hours { days: (4, 0), times: (420, 1140) });
    // Over the week's end: friday, saturday, sunday, monday.
    let on: Vec<u8> = (0..7).filter(|day| run.hours[0].value.on(*day)).collect();
    assert_eq!(on, [0, 4, 5, 6]);
    assert_eq!(run.closed[0].value, ("2026-12-24".to_owned(), "2026-12-24".to_owned()));
    assert_eq!(run.unattended.unwrap().value, false);
    assert!((run.confidence.unwrap().value - 0.95).abs() < 1e-12);
    assert_eq!(run.together[0].len(), 2);
    let sample = run.sample.unwrap().value;
    assert_eq!(sample.level, "S-3");
    assert!((sample.limit - 2.5).abs() < 1e-9);
}

#[test]
fn a_run_is_checked_with_all_it_names() {
    let hut = Workshop::hut().with(
        "week.runspec",
        "run \"week\" {\n  from 2026-12-07 07:00\n  hours monday .. friday 07:00 .. 19:00\n  build \"coat-hook/coat-hok.partspec\" 3\n  \
         build \"../outside.partspec\"\n  build \"shop.yaml\"\n  build \"peg-tags/peg-tag.partspec\"\n  build \"peg-tags/peg-tag.partspec\"\n  \
         printers Bench, Lotf\n  without Attic on 2026-12-08\n}\n",
    );
    let found = hut.run(&["check", "week.runspec", "--print", "short"]);
    assert_eq!(found.code, 1, "{}", found.stderr);
    let lines: Vec<&str> = found.stdout.lines().collect();
    let wanted = [
        "week.runspec:4:9: error[file/missing]",
        "week.runspec:5:9: error[file/outside-project]",
        "week.runspec:6:9: error[run/no-spec]",
        "week.runspec:8:3: warning[run/built-twice]",
        "week.runspec:9:19: error[run/printer]",
        "week.runspec:10:11: error[run/printer]",
    ];
    assert_eq!(lines.len(), wanted.len(), "{}", found.stdout);
    for (line, begins) in lines.iter().zip(wanted) {
        assert!(line.starts_with(begins), "{line}\n{begins}");
    }
    let long = hut.run(&["check", "week.runspec"]).stdout;
    assert!(long.contains("did you mean `Loft`?") && long.contains("there is a `coat-hook.partspec`"), "{long}");
}

#[test]
fn a_run_and_a_part_stand_in_files_of_their_own() {
    let hut = Workshop::hut()
        .with("a.partspec", "run \"a\" { from 2026-12-07 07:00; hours monday 07:00 .. 19:00; build \"b.partspec\" }\n")
        .with("b.runspec", "part \"b\" { mesh \"b.stl\" in mm }\n")
        .with("c.runspec", "// nothing yet\n");
    let told = |args: &[&str]| {
        let run = hut.run(args);
        (run.code, run.stdout + &run.stderr)
    };
    let (code, text) = told(&["check", "a.partspec"]);
    assert!(code == 1 && text.contains("run/misplaced") && text.contains(".runspec"), "{text}");
    let (code, text) = told(&["check", "b.runspec"]);
    assert!(code == 1 && text.contains("run/misplaced") && text.contains(".partspec"), "{text}");
    let (code, text) = told(&["check", "c.runspec"]);
    assert!(code == 1 && text.contains("run/none"), "{text}");
    let (code, text) = told(&["compile", "b.runspec"]);
    assert!(code == 2 && text.contains("makeready plan"), "{text}");
}

#[test]
fn a_run_is_laid_out_like_a_spec() {
    let made = Workshop::empty().with("a.runspec", "run \"a\" {from  2026-12-07   07:00;hours monday..friday 07:00..19:00\nbuild \"b.partspec\" 24 by 2026-12-18 // soon\n}");
    let run = made.run(&["fmt", "a.runspec"]);
    assert_eq!(run.code, 0, "{}", run.stderr);
    assert_eq!(
        made.read("a.runspec"),
        "run \"a\" {\n  from      2026-12-07 07:00\n  hours     monday..friday 07:00..19:00\n  build     \"b.partspec\" 24 by 2026-12-18 // soon\n}\n"
    );
    assert_eq!(made.run(&["fmt", "--check", "."]).code, 0);
}
