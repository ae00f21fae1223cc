//! Runs from the outside: run files as they are written, checked and laid out.

use makeready::diag::{Source, Sources};
use makeready::semantics::run::Hours;
use makeready::{semantics, syntax};

use serde_json::Value;

use crate::workshop::{Workshop, shapes};

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
    assert!(!run.unattended.unwrap().value);
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

/// A week with two quick parts.
fn week(lines: &str) -> Workshop {
    Workshop::hut().with(
        "week.runspec",
        format!("run \"week\" {{\n  from 2026-12-07 07:00\n  hours monday .. friday 07:00 .. 19:00\n  nights unattended no\n  confidence 95 %\n{lines}\n}}\n"),
    )
}

const TWO: &str =
    "  build \"peg-tags/peg-tag.partspec\" 48 by 2026-12-09\n  build \"spring-service/shelf-tag.partspec\" 12";

fn plan(made: &Workshop) -> Value {
    let run = made.run(&["plan", "week.runspec", "--print", "json"]);
    assert!(run.code < 2, "{}", run.stderr);
    run.json()
}

fn keys(value: &Value) -> Vec<&str> {
    value.as_object().unwrap().keys().map(String::as_str).collect()
}

#[test]
fn a_plan_is_data_with_the_keys_that_were_agreed() {
    let plan = plan(&week(TWO));
    let has =
        |value: &Value, wanted: &[&str]| wanted.iter().for_each(|k| assert!(keys(value).contains(k), "{k}: {value}"));
    has(&plan, &["start", "rounds", "changeovers", "late", "buy", "cost", "bound"]);
    has(&plan["start"][0], &["part", "wanted", "start", "confidence", "basis"]);
    has(
        &plan["rounds"][0],
        &["name", "printer", "nozzle", "surface", "material", "spools", "parts", "begin", "end", "hours", "mass_g"],
    );
    has(&plan["rounds"][0]["spools"][0], &["name", "mass_g"]);
    has(&plan["rounds"][0]["parts"][0], &["part", "count", "places"]);
    has(&plan["rounds"][0]["parts"][0]["places"][0], &["x_mm", "y_mm", "turn_deg"]);
    has(&plan["changeovers"], &["count", "minutes", "purge_g"]);
    has(&plan["cost"], &["material", "machine", "handling", "scrap", "total", "per_good"]);

    // What is started lies on plates, within its confidence, and no spool gives more than it has.
    for start in plan["start"].as_array().unwrap() {
        let placed: u64 = on_plates(&plan, start["part"].as_str().unwrap());
        assert_eq!(placed, start["start"].as_u64().unwrap(), "{start}");
        assert!(start["confidence"].as_f64().unwrap() >= 0.95);
    }
    let red: f64 = drawn(&plan, "pla-red-1");
    assert!(red > 0.0 && red <= 910.0, "{red}");
    assert_eq!(plan["late"], serde_json::json!([]));
    let rounds = plan["rounds"].as_array().unwrap();
    let moments = |key: &str| rounds.iter().map(|r| r[key].as_str().unwrap().to_owned()).collect::<Vec<_>>();
    assert!(moments("begin").is_sorted() && moments("setup").iter().all(|m| m[11..] >= *"07:00" && m[11..] < *"19:00"));
}

fn on_plates(plan: &Value, part: &str) -> u64 {
    let parts = plan["rounds"].as_array().unwrap().iter().flat_map(|r| r["parts"].as_array().unwrap());
    parts.filter(|p| p["part"] == part).map(|p| p["count"].as_u64().unwrap()).sum()
}

fn drawn(plan: &Value, spool: &str) -> f64 {
    let draws = plan["rounds"].as_array().unwrap().iter().flat_map(|r| r["spools"].as_array().unwrap());
    draws.filter(|d| d["name"] == spool).map(|d| d["mass_g"].as_f64().unwrap()).sum()
}

#[test]
fn a_line_split_in_two_starts_no_piece_more_and_the_order_of_lines_changes_nothing() {
    let whole = plan(&week(TWO));
    let split =
        TWO.replace("48 by 2026-12-09", "30 by 2026-12-09\n  build \"peg-tags/peg-tag.partspec\" 18 by 2026-12-10");
    let split = plan(&week(&split));
    assert_eq!(on_plates(&split, "peg-tag"), on_plates(&whole, "peg-tag"));
    let mut lines: Vec<&str> = TWO.lines().collect();
    lines.reverse();
    let turned = plan(&week(&lines.join("\n")));
    let sorted = |plan: &Value| {
        let mut starts: Vec<String> = plan["start"].as_array().unwrap().iter().map(Value::to_string).collect();
        starts.sort();
        starts
    };
    // The recipes cite the lines by what they say, not by where they stand.
    let plain = |starts: Vec<String>| {
        starts.into_iter().map(|s| s.split("\"recipe\"").next().unwrap().to_owned()).collect::<Vec<_>>()
    };
    assert_eq!(plain(sorted(&turned)), plain(sorted(&whole)));
    assert_eq!(turned["changeovers"], whole["changeovers"]);
}

#[test]
fn what_cannot_be_printed_is_left_out_with_why_and_what_is_late_is_told() {
    let made = week(
        "  build \"coolant-elbow/coolant-elbow.partspec\"\n  build \"coat-hook/coat-hook.partspec\"\n  build \"spring-service/shelf-tag.partspec\" 400 by 2026-12-07 09:00",
    );
    let run = made.run(&["plan", "week.runspec", "--print", "json"]);
    assert_eq!(run.code, 1, "{}", run.stderr);
    let plan = run.json();
    let left: Vec<&str> = plan["left_out"].as_array().unwrap().iter().map(|l| l["status"].as_str().unwrap()).collect();
    assert_eq!(left, ["not printable as specified", "a question first"]);
    assert_eq!(plan["late"][0]["part"], "shelf-tag");
    assert!(plan["late"][0]["done"].as_str().unwrap() > "2026-12-07 09:00");
    assert!(on_plates(&plan, "coolant-elbow") == 0 && on_plates(&plan, "shelf-tag") >= 400);
}

/// In time to the minute is not in time for certain: a round may take a third longer.
#[test]
fn what_is_in_time_by_the_plan_alone_is_told() {
    let of = |by: &str| plan(&week(&format!("  build \"spring-service/shelf-tag.partspec\" 20{by}")));
    let ends = of("");
    let done = ends["rounds"].as_array().unwrap().iter().map(|r| r["end"].as_str().unwrap().to_owned()).max().unwrap();
    let close = of(&format!(" by {done}"));
    assert_eq!(close["late"], serde_json::json!([]));
    assert_eq!(close["at_risk"][0]["part"], "shelf-tag");
    assert!(close["at_risk"][0]["latest"].as_str().unwrap() > done.as_str());
    assert_eq!(of(" by 2026-12-31")["at_risk"], serde_json::json!([]));
}

#[test]
fn a_part_larger_than_every_bed_is_not_planned_in_silence() {
    let made = week("  build \"long.partspec\" 2").with("long.stl", shapes::block([700.0, 20.0, 20.0])).with(
        "long.partspec",
        "part \"long\" { mesh \"long.stl\" in mm; service { place indoors; air 10 °C .. 25 °C } }\n",
    );
    let run = made.run(&["plan", "week.runspec", "--print", "json"]);
    assert_eq!(run.code, 1, "{}", run.stderr);
    assert_eq!(run.json()["left_out"][0]["part"], "long");
    assert_eq!(run.json()["rounds"], serde_json::json!([]));
}

#[test]
fn the_same_run_gives_the_same_bytes_whoever_works_at_it() {
    let made = week(TWO);
    let one = made.run(&["plan", "week.runspec", "--jobs", "1", "--out", "one"]);
    let two = made.run(&["plan", "week.runspec", "--jobs", "2", "--out", "two"]);
    assert_eq!((one.code, two.code), (0, 0), "{}", one.stderr);
    for end in ["plan.md", "plan.html", "plan.yaml", "traveller.md", "traveller.html"] {
        assert_eq!(made.read(&format!("one/week.{end}")), made.read(&format!("two/week.{end}")), "{end}");
    }
    let page = made.read("one/week.traveller.html");
    // Nothing is fetched, everything is on the page; each round has a sheet and a drawing with words for it.
    assert!(!page.replace("http://www.w3.org/2000/svg", "").contains("http"), "the page reaches out");
    let plan = made.read("one/week.plan.yaml");
    let rounds = plan.matches("\n- name: ").count() + plan.matches("\n  - name: ").count()
        - plan.matches("    - name: ").count();
    assert!(rounds > 0 && page.matches("<h1>Round ").count() >= 3, "{rounds}");
    assert_eq!(page.matches("<h1>Round ").count(), page.matches("front of the machine").count());
    assert!(page.contains("counter(pages)") && page.contains("HOLD") && page.contains("When it looks wrong"));
}

#[test]
fn records_are_checked_added_and_planned_from() {
    let made = week(TWO);
    assert_eq!(made.run(&["plan", "week.runspec"]).code, 0);
    let form = made.run(&["record", "week.runspec"]);
    assert_eq!(form.code, 0, "{}", form.stderr);
    let text = made.read("week.form.csv");
    let head = text.lines().next().unwrap().to_owned();
    let row = |round: &str| text.lines().find(|l| l.starts_with(round)).unwrap().to_owned();
    let filled = |round: &str, begin: &str, end: &str, good: &str, bad: &str, why: &str, left: &str| {
        let mut cells: Vec<String> = row(round).split(',').map(str::to_owned).collect();
        for (i, value) in [(4, begin), (5, end), (6, good), (7, bad), (8, why), (11, left), (15, "LK")] {
            cells[i] = value.to_owned();
        }
        cells.join(",")
    };
    let count = |round: &str| row(round).split(',').nth(3).unwrap().to_owned();
    let add = |lines: &[String]| {
        made.write("filled.csv", format!("{head}\n{}\n", lines.join("\n")));
        made.run(&["record", "week.runspec", "--add", "filled.csv"])
    };
    // The sum does not come out: nothing is recorded.
    let wrong = add(&[filled("Loft-1", "2026-12-07 07:20", "2026-12-07 09:00", "1", "0", "", "800")]);
    assert!(
        wrong.code == 1 && wrong.stderr.contains("line 2") && wrong.stderr.contains("nothing was recorded"),
        "{}",
        wrong.stderr
    );
    assert!(!made.path("week.records.csv").exists());

    // One plate is lost, and its spool is nearly empty; the other prints.
    let lost = count("Loft-1");
    let first = filled("Loft-1", "2026-12-07 07:40", "2026-12-07 09:00", "0", &lost, "\"came loose, all of it\"", "20");
    let now = filled("Bench-1", "2026-12-07 07:20", "", "", "", "", "");
    let ok = add(&[first.clone(), now]);
    assert_eq!(ok.code, 0, "{}", ok.stderr);
    let records = made.read("week.records.csv");
    assert!(records.starts_with("# makeready-records/1 of run: week\n") && records.lines().count() == 4, "{records}");
    // Twice is once, and what stands there stays.
    assert_eq!(add(&[first]).code, 0);
    assert_eq!(made.read("week.records.csv"), records);

    let floor = made.run(&["floor", "week.runspec"]);
    assert!(
        floor.code == 0 && floor.stdout.contains("Bench: Bench-1 since 2026-12-07 07:20"),
        "{}{}",
        floor.stdout,
        floor.stderr
    );

    assert_eq!(made.run(&["plan", "week.runspec"]).code, 0);
    let again = plan(&made);
    let names: Vec<&str> = again["rounds"].as_array().unwrap().iter().map(|r| r["name"].as_str().unwrap()).collect();
    assert!(!names.contains(&"Loft-1") && !names.contains(&"Bench-1"), "{names:?}");
    assert_eq!(again["printing"][0]["name"], "Bench-1");
    // All are wanted still, more are started than at first, and red filament is to be bought.
    let tags = again["start"].as_array().unwrap().iter().find(|s| s["part"] == "peg-tag").unwrap();
    let start = tags["start"].as_u64().unwrap();
    assert!(tags["wanted"] == 48 && start > 53, "{tags}");
    // The plate was lost whole: plates more are started, not four times the pieces as if each had failed alone.
    let per_plate: u64 = lost.parse().unwrap();
    assert!(start <= 53 + 3 * per_plate && tags["basis"].to_string().contains("1 of 1 plates lost whole"), "{tags}");
    let shop = made.read("shop.yaml");
    let start_with = |figures: &str| {
        made.write("shop.yaml", format!("{shop}catalogue:\n  figures:\n    {figures}\n"));
        let again = plan(&made);
        let tags = again["start"].as_array().unwrap().iter().find(|s| s["part"] == "peg-tag").unwrap();
        tags["start"].as_u64().unwrap()
    };
    assert!(start_with("plate_lost: { typ: 0.6, kind: common-practice }") > start);
    assert!(start_with("plate_prior: { typ: 900, kind: common-practice }") < start);
    made.write("shop.yaml", shop);
    assert!(again["buy"].to_string().contains("PLA red"), "{}", again["buy"]);
    assert!(names.iter().all(|n| n.starts_with("Loft-") || n.starts_with("Bench-")));
    // A plan made again from the same records and its own state before is the same.
    let locked = made.run(&["check", "--locked", "week.runspec"]);
    assert_eq!(locked.code, 0, "{}{}", locked.stdout, locked.stderr);
    // What prints can be recorded after all: its row stands in the form.
    assert_eq!(made.run(&["record", "week.runspec"]).code, 0);
    assert!(made.read("week.form.csv").contains("\nBench-1,"));
}

/// What three rounds took is counted by hand: 1.3 times what was reckoned for each.
#[test]
fn what_the_floor_records_is_learned_and_goes_into_the_workshops_file() {
    let made = week("  printers Bench\n  build \"spring-service/shelf-tag.partspec\" 110");
    // A slower machine would make another nozzle worth its while: that is not what is looked at here.
    let spec = made.read("spring-service/shelf-tag.partspec");
    let pinned = spec.replacen('{', "{\n  pin nozzle \"brass-04\" because \"one nozzle throughout\"", 1);
    made.write("spring-service/shelf-tag.partspec", pinned);
    assert!(made.run(&["plan", "week.runspec"]).code < 2);
    let before = plan(&made);
    assert_eq!(made.run(&["record", "week.runspec"]).code, 0);
    let form = made.read("week.form.csv");
    let rounds = before["rounds"].as_array().unwrap();
    assert!(rounds.len() > 4, "{}", rounds.len());
    let clock = |minutes: f64| format!("{:02}:{:02}", minutes as u64 / 60, minutes as u64 % 60);
    let lines: Vec<String> = rounds[..3]
        .iter()
        .enumerate()
        .map(|(i, round)| {
            let day = format!("2026-12-{:02}", 7 + i);
            let end = 8.0 * 60.0 + (round["hours"].as_f64().unwrap() * 60.0 * 1.3).round();
            let name = round["name"].as_str().unwrap();
            let row = filled(&form, name, &format!("{day} 08:00"), &format!("{day} {}", clock(end)));
            row.replace(",400,", &format!(",{},", 500 - 50 * i))
        })
        .collect();
    made.write("filled.csv", format!("{}\n{}\n", form.lines().next().unwrap(), lines.join("\n")));
    let added = made.run(&["record", "week.runspec", "--add", "filled.csv"]);
    assert_eq!(added.code, 0, "{}", added.stderr);

    let again = plan(&made);
    let told = again["told"].to_string();
    assert!(told.contains("Bench: the 3 rounds done took 1.3 times the hours reckoned in the middle"), "{told}");
    let pace = again["pace"]["Bench"].as_f64().unwrap();
    assert!((pace - 1.3).abs() < 0.02, "{pace}");
    let hours = |plan: &Value, at: usize| {
        let round = &plan["rounds"][at];
        round["hours"].as_f64().unwrap() / round["parts"][0]["count"].as_f64().unwrap()
    };
    let slower = hours(&again, 0) / hours(&before, 0);
    assert!((slower - 1.3).abs() < 0.1, "{slower}");

    // A workshop that wants more rounds before it believes them does not count these.
    let shop = made.read("shop.yaml");
    made.write(
        "shop.yaml",
        format!("{shop}catalogue:\n  figures:\n    pace_rounds: {{ typ: 9, kind: common-practice }}\n"),
    );
    let careful = plan(&made);
    assert!(careful["pace"].is_null() && !careful["told"].to_string().contains("hours reckoned"), "{careful}");
    made.write("shop.yaml", &shop);

    assert!(made.run(&["plan", "week.runspec"]).code < 2);
    let shown = made.run(&["record", "week.runspec", "--into-shop", "--dry-run"]);
    assert_eq!(shown.code, 0, "{}", shown.stderr);
    assert!(shown.stdout.contains("printers Bench: pace 1.3") && made.read("shop.yaml") == shop, "{}", shown.stdout);
    let learned = made.run(&["record", "week.runspec", "--into-shop"]);
    assert!(learned.code == 0 && learned.stdout == shown.stdout, "{}{}", learned.stdout, learned.stderr);
    let new = made.read("shop.yaml");
    let count: u64 = rounds[..3].iter().map(|r| r["parts"][0]["count"].as_u64().unwrap()).sum();
    for line in [
        "    pace: 1.3".to_owned(),
        "name: pla-grey-2, material: PLA, colour: grey, left: 400 g".to_owned(),
        format!(
            "- {{ run: week, printer: Bench, material: PLA, part: shelf-tag, started: {count}, good: {count}, on: 2026-12-09 }}"
        ),
    ] {
        assert!(new.contains(&line), "{line}\n{new}");
    }
    // Comments stay, and what is learned twice is learned once.
    assert!(new.contains("# by the meter in the socket, over a run"));
    let twice = made.run(&["record", "week.runspec", "--into-shop"]);
    assert!(twice.code == 0 && made.read("shop.yaml") == new, "{}", twice.stdout);
    // The file counts now what the records say: the plan counts neither pieces nor pace a second time.
    let settled = plan(&made);
    for key in ["start", "rounds"] {
        for (now, then) in settled[key].as_array().unwrap().iter().zip(again[key].as_array().unwrap()) {
            for field in ["start", "name"] {
                assert_eq!(now[field], then[field]);
            }
            if key == "rounds" {
                assert!((now["hours"].as_f64().unwrap() - then["hours"].as_f64().unwrap()).abs() < 0.05, "{now}{then}");
            }
        }
    }
}

#[test]
fn a_plan_that_is_not_what_plan_writes_today_is_told_with_why() {
    let made = week("  build \"spring-service/shelf-tag.partspec\" 3");
    let locked = || made.run(&["check", "--locked", "week.runspec", "--print", "short"]);
    // A run whose plan is not kept is not asked for one.
    assert_eq!(locked().code, 0, "{}", locked().stdout);
    assert_eq!(made.run(&["plan", "week.runspec"]).code, 0);
    std::fs::remove_file(made.path("week.plan.html")).unwrap();
    let right = made.run(&["check", "--locked", "week.runspec"]);
    assert!(right.code == 0 && right.stderr.contains("1 recipes and plans are"), "{}{}", right.stdout, right.stderr);

    let told = |code: &str, words: &str| {
        let run = locked();
        assert_eq!(run.code, 1, "{}", run.stdout);
        assert!(run.stdout.contains(code) && run.stdout.contains(words), "{}", run.stdout);
    };
    let run = made.read("week.runspec");
    made.write("week.runspec", run.replace("partspec\" 3", "partspec\" 4"));
    told("recipe/stale", "week.runspec changed");
    made.write("week.runspec", run);
    let page = made.read("week.traveller.md");
    made.write("week.traveller.md", format!("{page}\nby hand\n"));
    told("recipe/edited", "`week.traveller.md` from line");
    std::fs::remove_file(made.path("week.traveller.md")).unwrap();
    told("recipe/missing", "there is no `week.traveller.md`");
    made.write("week.plan.yaml", "nonsense");
    told("recipe/stale", "can't be read as a plan");
}

/// The form's row of a round, filled in.
fn filled(form: &str, round: &str, begin: &str, end: &str) -> String {
    let row = form.lines().find(|line| line.starts_with(&format!("{round},"))).unwrap();
    let mut cells: Vec<String> = row.split(',').map(str::to_owned).collect();
    let count = cells[3].clone();
    for (at, value) in [(4, begin), (5, end), (6, &count), (7, "0"), (11, "400"), (15, "LK")] {
        cells[at] = value.to_owned();
    }
    cells.join(",")
}

#[test]
fn several_who_record_at_once_lose_nothing_and_who_is_stopped_leaves_a_whole_file() {
    let made = week(TWO);
    assert_eq!(made.run(&["plan", "week.runspec"]).code, 0);
    assert_eq!(made.run(&["record", "week.runspec"]).code, 0);
    let form = made.read("week.form.csv");
    let head = form.lines().next().unwrap();
    let rounds =
        [("Loft-1", "2026-12-07 07:40", "2026-12-07 09:00"), ("Bench-1", "2026-12-07 07:20", "2026-12-07 08:40")];
    for (round, begin, end) in rounds {
        made.write(&format!("{round}.csv"), format!("{head}\n{}\n", filled(&form, round, begin, end)));
    }
    let start = |round: &str| {
        std::process::Command::new(env!("CARGO_BIN_EXE_makeready"))
            .args(["record", "week.runspec", "--add", &format!("{round}.csv")])
            .current_dir(made.folder())
            .stdout(std::process::Stdio::null())
            .stderr(std::process::Stdio::null())
            .spawn()
            .unwrap()
    };
    // Stopped at moments from before anything is read to after all is written.
    for wait in 0..30 {
        let mut child = start("Loft-1");
        std::thread::sleep(std::time::Duration::from_millis(wait));
        let _ = child.kill();
        child.wait().unwrap();
        let records = std::fs::read_to_string(made.path("week.records.csv")).unwrap_or_default();
        assert!(records.is_empty() || (records.ends_with('\n') && records.lines().count() == 3), "{records}");
    }
    assert_eq!(made.run(&["floor", "week.runspec"]).code, 0);
    // Six at once, three of each: every row is there, each once.
    let all: Vec<_> = (0..6).map(|k| start(rounds[k % 2].0)).collect();
    for mut child in all {
        assert_eq!(child.wait().unwrap().code(), Some(0));
    }
    let records = made.read("week.records.csv");
    assert_eq!(records.lines().count(), 4, "{records}");
    assert!(records.contains("\nLoft-1,") && records.contains("\nBench-1,"), "{records}");
}

#[test]
fn damaged_records_and_those_of_another_run_are_told_and_left_as_they_are() {
    let made = week("  build \"spring-service/shelf-tag.partspec\" 3");
    assert_eq!(made.run(&["plan", "week.runspec"]).code, 0);
    let head =
        "round,printer,part,count,begin,end,good,scrapped,reason,material,spool,left_g,nozzle,surface,agent,by,note\n";
    for (text, told) in [
        (format!("# makeready-records/1 of run: month\n{head}"), "of the run \"month\""),
        (head.to_owned(), "line 1"),
        (format!("# makeready-records/1 of run: week\n{head}Bench-1,Bench"), "line 3 breaks off"),
        (format!("# makeready-records/1 of run: week\n{head}Bench-1,Bench\n"), "line 3"),
    ] {
        made.write("week.records.csv", &text);
        for args in [&["plan", "week.runspec"][..], &["record", "week.runspec"], &["floor", "week.runspec"]] {
            let run = made.run(args);
            assert!(run.code == 1 && run.stderr.contains(told), "{args:?}: {}", run.stderr);
        }
        assert_eq!(made.read("week.records.csv"), text);
    }
}

#[test]
fn a_folder_of_specs_is_a_run_of_one_of_each() {
    let made = Workshop::hut();
    let none = made.run(&["plan", "peg-tags"]);
    assert!(none.code == 2 && none.stderr.contains("--from"), "{}", none.stderr);
    let run = made.run(&["plan", "peg-tags", "--from", "2026-12-07 07:00", "--print", "json"]);
    assert_eq!(run.code, 0, "{}", run.stderr);
    assert_eq!(run.json()["start"][0]["wanted"], 1);
    assert!(run.stderr.contains("hours"), "{}", run.stderr);
    let bad = made.run(&["plan", "peg-tags/peg-tag.partspec"]);
    assert!(bad.code == 2 && bad.stderr.contains(".runspec"), "{}", bad.stderr);
}

#[test]
fn a_build_system_is_told_what_plan_and_recipe_were_made_from() {
    let made = week("  build \"spring-service/shelf-tag.partspec\" 3");
    assert_eq!(made.run(&["plan", "week.runspec", "--depfile", "week.d"]).code, 0);
    let told = made.read("week.d");
    for file in
        ["week.plan.yaml", "week.runspec", "shop.yaml", "spring-service/shelf-tag.partspec", "peg-tags/peg-tag.stl"]
    {
        assert!(told.contains(file), "{file}: {told}");
    }
    assert_eq!(made.run(&["compile", "spring-service/shelf-tag.partspec", "--depfile", "tag.d"]).code, 0);
    let told = made.read("tag.d");
    assert!(told.starts_with("spring-service/shelf-tag.recipe.md spring-service/shelf-tag.recipe.yaml: "), "{told}");
    assert!(told.contains("peg-tags/peg-tag.stl") && told.contains("workshop/common.partspec"), "{told}");
}

#[test]
fn a_machine_prints_alone_only_where_workshop_and_run_say_so() {
    let unattended = |shop: bool, nights: &str| {
        let hut = Workshop::hut();
        let text = hut.read("shop.yaml");
        let own = text.replace("  - name: Bench\n", "  - name: Bench\n    unattended: yes\n");
        let made = hut.with("shop.yaml", if shop { own } else { text }).with(
            "week.runspec",
            format!("run \"week\" {{ from 2026-12-07 07:00; hours monday .. friday 07:00 .. 09:00; nights unattended {nights}; build \"spring-service/drawer-stop.partspec\" 8 }}\n"),
        );
        let plan = plan(&made);
        let alone = plan["rounds"].as_array().unwrap().iter().any(|r| r["unattended"] == true);
        // A wish that comes to nothing is told with why.
        (alone, plan["told"].to_string().contains("not on Bench"))
    };
    let found = [unattended(true, "yes"), unattended(true, "no"), unattended(false, "yes")];
    assert_eq!(found, [(true, false), (false, false), (false, true)]);
}

/// A shaft's ring that polyamide makes best, its spool dried on 2026-11-10: dry for a month.
fn ring(run: &str) -> Workshop {
    let spec = "part \"shaft-ring\" {
  purpose \"ring a steel shaft turns in\"
  stage functional
  mesh \"ring.stl\" in mm
  quantity 4
  service { air 0 °C .. 60 °C; place indoors; contact \"grease\" immersed }
  wear against \"steel\"
}
";
    let shop = "name: Saddle hut workshop
printers:
  - { name: Bench, build: [220 mm, 220 mm, 250 mm], nozzle_limit: 260 °C, bed_limit: 100 °C, enclosed: no, drive: bowden, now: { material: PLA, spool: pla-white, nozzle: brass-04, surface: smooth-pei } }
  - { name: Loft, build: [250 mm, 210 mm, 210 mm], nozzle_limit: 290 °C, bed_limit: 110 °C, enclosed: yes, chamber: 45 °C, drive: direct, now: { material: PETG, spool: petg-black, nozzle: brass-06, surface: textured-pei } }
nozzles:
  - { name: brass-04, bore: 0.4 mm, metal: brass, count: 2 }
  - { name: brass-06, bore: 0.6 mm, metal: brass }
surfaces: [smooth-pei, textured-pei]
agents: [pva-glue]
spools:
  - { name: pla-white, material: PLA, colour: white, left: 600 g, opened: 2026-09-01, stored: bag }
  - { name: petg-black, material: PETG, colour: black, left: 800 g, opened: 2026-10-01, stored: dry-box }
  - { name: pa12-1, material: PA12, colour: natural, left: 500 g, opened: 2026-08-01, stored: dry-box, dried: 2026-11-10 }
tools: { dryer_limit: 70 °C, gauges: [caliper] }
";
    let run = format!("run \"week\" {{\n  hours monday .. friday 07:00 .. 18:00\n{run}\n}}\n");
    let made = Workshop::empty().with_mesh("ring.stl", "ring.stl");
    made.with("ring.partspec", spec).with("shop.yaml", shop).with("week.runspec", run)
}

fn materials(plan: &Value) -> Vec<&str> {
    plan["rounds"].as_array().unwrap().iter().map(|r| r["material"].as_str().unwrap()).collect()
}

#[test]
fn the_dates_of_a_run_do_not_change_the_material_in_silence() {
    let own = ring("").run(&["compile", "ring.partspec", "--print", "json"]).json();
    assert_eq!(own["decisions"]["material"]["value"], "PA12");
    // Wanted when the spool would be damp, printed while it is dry: the day of printing counts.
    let dry = plan(&ring("  from 2026-12-07 07:00\n  build \"ring.partspec\" 4 by 2026-12-14"));
    assert_eq!((materials(&dry), &dry["drying"]), (vec!["PA12"], &serde_json::json!([])));
    // Printed when it is damp: it is dried.
    let damp = ring("  from 2026-12-21 07:00\n  build \"ring.partspec\" 4 by 2026-12-24");
    let damp = plan(&damp);
    assert_eq!(materials(&damp), ["PA12"], "{}", damp["otherwise"]);
    assert_eq!(damp["drying"][0]["spool"], "pa12-1");
}

#[test]
fn what_a_run_makes_otherwise_than_the_recipe_is_told_with_what_does_it() {
    let made = ring("  from 2026-11-30 07:00\n  printers Bench\n  build \"ring.partspec\" 4 by 2026-12-02");
    let run = made.run(&["plan", "week.runspec", "--print", "json"]);
    assert!(run.stderr.contains("note[run/other-than-recipe]"), "{}", run.stderr);
    let plan = run.json();
    let told = plan["otherwise"].as_array().unwrap();
    let printer = told.iter().find(|o| o["decision"] == "printer").unwrap();
    assert_eq!((&printer["before"], &printer["now"]), (&"Loft".into(), &"Bench".into()));
    assert_eq!(printer["why"], "the run does not use Loft");
    let nozzle = told.iter().find(|o| o["decision"] == "nozzle").unwrap();
    assert_eq!((&nozzle["before"], &nozzle["now"]), (&"brass-06".into(), &plan["rounds"][0]["nozzle"]));
    // What stays is not told.
    assert!(plan["rounds"][0]["material"] == "PA12" && told.iter().all(|o| o["decision"] != "material"), "{told:?}");
    let page = made.run(&["plan", "week.runspec", "--print", "md"]).stdout;
    assert!(page.contains("## Made otherwise than its own recipe"), "{page}");
}

#[test]
fn a_round_of_a_full_plate_takes_the_time_of_the_recipe() {
    let made = ring("  from 2026-12-07 07:00\n  nights unattended yes\n  printers Loft\n  build \"ring.partspec\"")
        .change("ring.partspec", "quantity 4", "quantity 12");
    let recipe = made.run(&["compile", "ring.partspec", "--print", "json"]).json();
    let plan = plan(&made);
    let rounds = plan["rounds"].as_array().unwrap();
    let (own, hours) = (&recipe["run"], rounds.iter().map(|r| r["hours"].as_f64().unwrap()).sum::<f64>());
    assert_eq!((rounds.len(), plan["start"][0]["start"].as_u64()), (1, own["start"].as_u64()), "{own}");
    let time = &own["time_total"];
    let wanted = time["value"].as_f64().unwrap() / if time["unit"] == "min" { 60.0 } else { 1.0 };
    // Begun so that only a slow print outlasts the day.
    assert_eq!(rounds[0]["after_hours"], Value::Null);
    let late = made.change(
        "week.runspec",
        "07:00 .. 18:00",
        &format!("07:00 .. {}", &rounds[0]["end"].as_str().unwrap()[11..]),
    );
    let late = self::plan(&late.change("week.runspec", "nights unattended yes", "nights unattended no"));
    assert!(late["rounds"][0]["after_hours"].as_str() > late["rounds"][0]["end"].as_str(), "{late}");
    assert!((hours / wanted - 1.0).abs() < 0.03, "{hours} h planned, {wanted} h in the recipe");
}
