//! Relations that hold whatever the part is: what must not matter changes nothing, what is eased never refuses, and what is said
//! twice is said alike. Each is one function with its reason, run over small jobs; what does not hold yet stands in [`WAITS`].

mod every;

use serde_json::Value;

use crate::workshop::shapes::{self, Point};
use crate::workshop::{Run, Workshop};

/// Relation, job, and the issue that makes it hold. What holds must leave the list.
const WAITS: &[(&str, &str, &str)] = &[];

const SHOP: &str = "name: Trial bench
currency: EUR
labour: 24 money/h
electricity: 0.3 money/kWh
printers:
  - { name: Open, build: [240 mm, 200 mm, 220 mm], edge: 5 mm, nozzle_limit: 280 °C, bed_limit: 105 °C, enclosed: no, drive: direct, hour_rate: 1 money/h }
nozzles:
  - { name: brass-04, bore: 0.4 mm, metal: brass }
  - { name: brass-06, bore: 0.6 mm, metal: brass }
surfaces: [smooth-pei, textured-pei]
agents: [pva-glue]
spools:
  - { name: pla-1, material: PLA, colour: white, left: 1000 g, price: 21 money/kg }
  - { name: petg-1, material: PETG, colour: black, left: 1000 g, price: 23 money/kg }
";

/// Where a job's coordinates lie: the axes of a file, its origin and its unit are accidents.
#[derive(Clone, Copy, Default)]
struct Frame {
    /// x has become y, y z, and z x.
    turned: bool,
    shift: Point,
    inches: bool,
}

impl Frame {
    fn axis(&self, k: usize) -> &'static str {
        ["x", "y", "z"][(k + usize::from(self.turned)) % 3]
    }

    fn point(&self, p: Point) -> Point {
        let q = if self.turned { [p[2], p[0], p[1]] } else { p };
        [0, 1, 2].map(|k| q[k] + self.shift[k])
    }

    fn at(&self, p: Point) -> String {
        let [x, y, z] = self.point(p);
        format!("({x} mm, {y} mm, {z} mm)")
    }
}

/// A job: its mesh and the lines of its part, in a frame.
struct Job {
    name: &'static str,
    mesh: fn() -> String,
    lines: fn(&Frame) -> Vec<String>,
}

const JOBS: [Job; 4] = [
    Job { name: "tray", mesh: tray, lines: |_| vec![indoors(), "quantity 3".to_owned()] },
    Job { name: "post", mesh: post, lines: loaded },
    Job {
        name: "bush",
        mesh: || shapes::plate_with_hole(8.0),
        lines: |f| vec![indoors(), format!("fit \"pin\" bore 8 mm H9 for shaft h6 along {}", f.axis(2))],
    },
    Job { name: "ball", mesh: ball, lines: |_| vec![indoors()] },
];

fn indoors() -> String {
    "service { place indoors; air 10 °C .. 25 °C }".to_owned()
}

/// A hollow ball with a mouth: it has no side to stand on.
fn ball() -> String {
    let lip = |radius: f64| (12.0_f64 / radius).acos().to_degrees();
    let mut outline = shapes::arc([0.0, 0.0], 30.0, -90.0, lip(30.0), 16);
    outline.extend(shapes::arc([0.0, 0.0], 26.0, lip(26.0), -90.0, 16));
    shapes::revolved(&outline)
}

fn tray() -> String {
    let lines: [&[f64]; 3] = [&[0.0, 2.0, 68.0, 70.0], &[0.0, 2.0, 38.0, 40.0], &[0.0, 2.0, 15.0]];
    shapes::blocks(lines, |[x, y, z]| z == 0 || x != 1 || y != 1, |p| p)
}

fn post() -> String {
    let lines: [&[f64]; 3] = [&[0.0, 12.0, 24.0, 60.0], &[0.0, 30.0], &[0.0, 8.0, 30.0]];
    shapes::blocks(lines, |[x, _, z]| z == 0 || x == 1, |p| p)
}

fn loaded(f: &Frame) -> Vec<String> {
    vec![
        indoors(),
        format!("face \"foot\" toward -{}", f.axis(2)),
        format!(
            "load \"push\" {{ force 20 N toward +{} at {}; fixed at face \"foot\"; held 1 day; factor 2 }}",
            f.axis(0),
            f.at([18.0, 15.0, 30.0])
        ),
    ]
}

fn facets(stl: &str) -> Vec<[Point; 3]> {
    let numbers = |line: &str| line.split_whitespace().skip(1).map(|n| n.parse().unwrap()).collect::<Vec<f64>>();
    let corners: Vec<Point> =
        stl.lines().filter(|l| l.starts_with("vertex")).map(|l| numbers(l).try_into().unwrap()).collect();
    corners.chunks(3).map(|c| [c[0], c[1], c[2]]).collect()
}

/// A job as it is compiled: its mesh in its frame, the lines of its part, the workshop's file.
struct Told {
    facets: Vec<[Point; 3]>,
    lines: Vec<String>,
    shop: String,
    unit: &'static str,
    /// A whole spec in place of the lines, and the files it uses.
    spec: Option<(String, Vec<(String, String)>)>,
}

impl Told {
    fn of(job: &Job, frame: Frame) -> Self {
        let scale = if frame.inches { 1.0 / 25.4 } else { 1.0 };
        let place = |p: Point| frame.point(p).map(|c| c * scale);
        Self {
            facets: facets(&(job.mesh)()).into_iter().map(|f| f.map(place)).collect(),
            lines: (job.lines)(&frame),
            shop: SHOP.to_owned(),
            unit: if frame.inches { "in" } else { "mm" },
            spec: None,
        }
    }

    fn workshop(&self) -> Workshop {
        let lines = self.lines.join("\n  ");
        let spec = format!("part \"job\" {{\n  mesh \"job.stl\" in {}\n  {lines}\n}}\n", self.unit);
        let (spec, used) = self.spec.clone().unwrap_or((spec, Vec::new()));
        let home = Workshop::empty().with("job.stl", shapes::stl(self.facets.iter().copied()));
        let home = if self.shop.is_empty() { home } else { home.with("shop.yaml", &self.shop) };
        used.iter().fold(home, |home, (file, text)| home.with(file, text)).with("job.partspec", spec)
    }

    fn run(&self) -> Run {
        self.workshop().run(&["compile", "job.partspec", "--print", "json"])
    }

    fn made(&self) -> Value {
        self.run().json()
    }
}

/// What is decided, but for the pose, which is compared by what it comes to.
fn decided(made: &Value) -> Vec<String> {
    let of = |k: &str| format!("{k} {}", made["decisions"][k]["value"]);
    let all = ["printer", "material", "nozzle", "surface", "agent", "supports", "build_up"];
    std::iter::once(format!("status {}", made["status"])).chain(all.map(of)).collect()
}

fn chosen(made: &Value) -> Value {
    let pose = &made["decisions"]["pose"]["value"];
    made["poses"].as_array().into_iter().flatten().find(|p| p["plain"] == *pose).cloned().unwrap_or_default()
}

fn near(a: f64, b: f64, part: f64, room: f64) -> bool {
    (a - b).abs() <= part * a.abs().max(b.abs()) + room
}

/// Differences of two recipes of the same body: decisions, status, the pose by its facts, what weighs on it.
fn differences(a: &Value, b: &Value) -> Vec<String> {
    let mut found: Vec<String> = decided(a)
        .into_iter()
        .zip(decided(b))
        .filter(|(x, y)| x != y)
        .map(|(x, y)| format!("{x} became {y}"))
        .collect();
    let (p, q) = (chosen(a), chosen(b));
    for fact in ["height", "on_the_bed", "overhang", "support"] {
        let of = |row: &Value| row[fact]["value"].as_f64().unwrap_or_default();
        if !near(of(&p), of(&q), 0.01, 0.2) {
            found.push(format!("pose {} became {}: {fact} {} became {}", p["plain"], q["plain"], of(&p), of(&q)));
        }
    }
    let total = |row: &Value| row["total"].as_f64().unwrap_or_default();
    if found.is_empty() && !near(total(&p), total(&q), 0.03, 0.5) {
        found.push(format!("total {} became {}", p["total"], q["total"]));
    }
    found
}

/// Runs a relation over every job, and holds what it finds against the list of what waits.
fn hold(relation: &str, of: impl Fn(&Job) -> Vec<String>) {
    let mut wrong = Vec::new();
    for job in &JOBS {
        let found = of(job);
        match WAITS.iter().find(|(r, j, _)| *r == relation && *j == job.name) {
            Some((.., issue)) if found.is_empty() => {
                wrong.push(format!("{} holds: take it from the list ({issue})", job.name))
            }
            Some(_) => {}
            None => wrong.extend(found.into_iter().map(|f| format!("{}: {f}", job.name))),
        }
    }
    assert!(wrong.is_empty(), "{relation}\n{}", wrong.join("\n"));
}

fn changed(job: &Job, change: impl Fn(&mut Told)) -> Vec<String> {
    let plain = Told::of(job, Frame::default());
    let mut other = Told::of(job, Frame::default());
    change(&mut other);
    differences(&plain.made(), &other.made())
}

fn framed(job: &Job, frame: Frame) -> Vec<String> {
    differences(&Told::of(job, Frame::default()).made(), &Told::of(job, frame).made())
}

/// A spec is a set of statements: their order says nothing.
#[test]
fn lines_in_another_order() {
    hold("order", |job| changed(job, |told| told.lines.reverse()));
}

/// The axes of a file are an accident: x to y to z is the same body.
#[test]
fn axes_in_another_order() {
    hold("turned", |job| framed(job, Frame { turned: true, ..Frame::default() }));
}

/// The origin of a file is an accident.
#[test]
fn moved() {
    hold("moved", |job| framed(job, Frame { shift: [37.5, -120.25, 8.125], ..Frame::default() }));
}

/// The same body in inches, said to be in inches, is the same body.
#[test]
fn in_inches() {
    hold("inches", |job| framed(job, Frame { inches: true, ..Frame::default() }));
}

/// The order of facets, and the corner one begins at, say nothing.
#[test]
fn facets_in_another_order() {
    hold("shuffled", |job| changed(job, |told| told.facets = shuffled(&told.facets)));
}

fn shuffled(facets: &[[Point; 3]]) -> Vec<[Point; 3]> {
    let (even, odd): (Vec<_>, Vec<_>) = facets.iter().copied().enumerate().partition(|(i, _)| i % 2 == 0);
    odd.into_iter().rev().chain(even).map(|(_, [a, b, c])| [b, c, a]).collect()
}

/// The body counts, not how its surface is cut: each facet in four is the same body.
#[test]
fn each_facet_in_four() {
    hold("in four", |job| changed(job, |told| told.facets = in_four(&told.facets)));
}

fn in_four(facets: &[[Point; 3]]) -> Vec<[Point; 3]> {
    let middle = |p: Point, q: Point| [0, 1, 2].map(|k| 0.5 * (p[k] + q[k]));
    let four = |[a, b, c]: [Point; 3]| {
        let (ab, bc, ca) = (middle(a, b), middle(b, c), middle(c, a));
        [[a, ab, ca], [ab, b, bc], [ca, bc, c], [ab, bc, ca]]
    };
    facets.iter().copied().flat_map(four).collect()
}

/// A price is a number of a currency: all of them times 160, in another one, and nothing else may change.
#[test]
fn prices_in_another_currency() {
    hold("prices", |job| changed(job, |told| told.shop = dearer(&told.shop)));
}

/// A shop's file with every price 160 times as high, in another currency.
fn dearer(shop: &str) -> String {
    let price = |word: &str| word.parse::<f64>().map_or(word.to_owned(), |n| (160.0 * n).to_string());
    let line = |line: &str| {
        let words: Vec<&str> = line.split(' ').collect();
        let of = |i: usize| words.get(i + 1).is_some_and(|w| w.starts_with("money/"));
        words
            .iter()
            .enumerate()
            .map(|(i, w)| if of(i) { price(w) } else { (*w).to_owned() })
            .collect::<Vec<_>>()
            .join(" ")
    };
    shop.lines().map(line).collect::<Vec<_>>().join("\n").replace("currency: EUR", "currency: JPY")
}

/// A load taken away or halved never refuses what stood.
#[test]
fn less_load_never_refuses() {
    const RANK: [&str; 5] =
        ["ready", "ready-with-cautions", "question-first", "does-not-hold", "not-printable-as-specified"];
    let rank = |made: &Value| RANK.iter().position(|s| made["status"] == *s).unwrap().max(1);
    hold("less load", |job| {
        let mut told = Told::of(job, Frame::default());
        let whole = rank(&told.made());
        let mut found = Vec::new();
        let lines = told.lines.clone();
        let half: Vec<String> = lines.iter().map(|l| l.replace("force 20 N", "force 10 N")).collect();
        let none: Vec<String> = lines.iter().filter(|l| !l.starts_with("load")).cloned().collect();
        for (what, eased) in [("half the load", half), ("no load", none)] {
            told.lines = eased;
            let made = told.made();
            if rank(&made) > whole {
                found.push(format!("{what}: {}", made["status"]));
            }
        }
        found
    });
}

/// More on the shelf never refuses, and never makes the best choice worse.
#[test]
fn a_spool_more_never_harms() {
    hold("a spool more", |job| {
        let plain = Told::of(job, Frame::default()).made();
        let mut more = Told::of(job, Frame::default());
        more.shop += "  - { name: pc-1, material: PC, colour: black, left: 1000 g, price: 45 money/kg }\n";
        let more = more.made();
        let was = !plain["decisions"].is_null();
        if was && more["decisions"].is_null() {
            vec![format!("refused with a spool more: {}", more["headline"])]
        } else {
            Vec::new()
        }
    });
}

/// What one recipe says in several places is one statement.
#[test]
fn one_recipe_says_one_thing() {
    hold("one recipe", |job| {
        let told = Told::of(job, Frame::default());
        let run = told.run();
        says_one_thing(&run.json(), run.code)
    });
}

fn says_one_thing(made: &Value, code: i32) -> Vec<String> {
    [status(made, code), supports(made), standing(made), plain(made), sums(made), sources(made), accounted(made)]
        .concat()
}

/// What leans on no face gains something by it: plain poses were looked at, and the figure it must gain stands against it.
fn plain(made: &Value) -> Vec<String> {
    let row = chosen(made);
    let (name, contact) = (row["plain"].as_str().unwrap_or_default(), row["on_the_bed"]["value"].as_f64());
    if !name.contains("tilted") || contact.is_none_or(|mm2| mm2 >= 20.0) {
        return Vec::new();
    }
    let costs =
        |row: &Value| row["penalties"].as_array().into_iter().flatten().any(|p| p["rule"] == "leans-for-nothing");
    let rows = made["poses"].as_array().into_iter().flatten();
    let thought_of = rows.filter(|r| !costs(r)).count();
    match (costs(&row), thought_of) {
        (true, 0) => vec![format!("{name} was taken, and no plain pose was looked at")],
        (false, _) if !made["poses"].to_string().contains("leans-for-nothing") => {
            vec![format!("{name} leans, and nothing is said of it")]
        }
        _ => Vec::new(),
    }
}

/// What stands next for the pose has its row among the poses looked at.
fn accounted(made: &Value) -> Vec<String> {
    let Some(next) = made["decisions"]["pose"]["runner_up"]["value"].as_str() else { return Vec::new() };
    let rows = made["poses"].as_array().into_iter().flatten();
    match rows.filter(|row| row["plain"] == next).count() {
        1 => Vec::new(),
        n => vec![format!("{next} stands next, and {n} rows of the poses are of it")],
    }
}

/// `ready` is a promise: every margin holds. The exit code is what a script sees.
fn status(made: &Value, code: i32) -> Vec<String> {
    let word = made["status"].as_str().unwrap();
    let verdicts: Vec<&str> =
        made["margins"].as_array().into_iter().flatten().filter_map(|m| m["verdict"].as_str()).collect();
    let ready = word.starts_with("ready");
    let mut found = Vec::new();
    if word == "ready" && verdicts.iter().any(|v| *v != "holds") || ready && verdicts.contains(&"broken") {
        found.push(format!("{word}, and margins are {verdicts:?}"));
    }
    if (code == 0) != ready {
        found.push(format!("{word}, and the exit code is {code}"));
    }
    if word == "not-printable-as-specified" && made["conflicts"].as_array().is_none_or(Vec::is_empty) {
        found.push("refused without a conflict".to_owned());
    }
    found
}

/// Supports and the verdicts of the regions are one statement.
fn supports(made: &Value) -> Vec<String> {
    if made["decisions"].is_null() {
        return Vec::new();
    }
    let none = made["decisions"]["supports"]["value"] == "none";
    let needs = |r: &&Value| ["support", "trapped", "redesign"].iter().any(|v| r["verdict"] == *v);
    let regions = made["regions"].as_array().unwrap();
    match (none, regions.iter().filter(needs).count()) {
        (true, 0) => Vec::new(),
        (true, n) => vec![format!("no supports, and {n} regions want them")],
        (false, 0) if !regions.is_empty() => vec!["supports, and no region wants any".to_owned()],
        (false, _) => Vec::new(),
    }
}

/// A part stands on a flat side, or it is said what holds it.
fn standing(made: &Value) -> Vec<String> {
    let row = chosen(made);
    let Some(contact) = row["on_the_bed"]["value"].as_f64() else { return Vec::new() };
    let said = made["cautions"].to_string().contains("No flat side");
    if contact < 20.0 && !said {
        vec![format!("{} stands on {contact} mm² and nothing is said", row["plain"])]
    } else {
        Vec::new()
    }
}

/// What is added up adds up.
fn sums(made: &Value) -> Vec<String> {
    let mut found = Vec::new();
    let run = &made["run"];
    if !run.is_null() {
        let of = |k: &str| run[k].as_f64().unwrap();
        let (start, per_round, rounds) = (of("start"), of("per_round"), of("rounds"));
        if !((rounds - 1.0) * per_round < start && start <= rounds * per_round && of("wanted") <= start) {
            found.push(format!("{start} pieces in {rounds} rounds of {per_round}"));
        }
    }
    let rows = made["poses"].as_array().unwrap();
    let points = |w: &Value| (w.as_f64().unwrap() * 100.0).round() as i64;
    for row in rows {
        let sum: i64 = row["penalties"].as_array().unwrap().iter().map(|w| points(&w["points"])).sum();
        if sum != points(&row["total"]) {
            found.push(format!("{}: penalties of {sum} make a total of {}", row["plain"], row["total"]));
        }
    }
    found
}

/// Every reason has a source: a kind, or the line of the spec or the shop that says so. A caution about a margin has its reason
/// with the margin.
fn sources(made: &Value) -> Vec<String> {
    fn walk(value: &Value, path: &str, found: &mut Vec<String>) {
        match value {
            Value::Object(map) => {
                if map.contains_key("text")
                    && path.ends_with("because")
                    && value["source"].is_null()
                    && value["places"].is_null()
                {
                    found.push(format!("{path}: no source: {}", value["text"]));
                }
                let of_margin = map.get("margin").is_some_and(|m| !m.is_null());
                map.iter()
                    .filter(|(k, _)| !(of_margin && *k == "because"))
                    .for_each(|(k, v)| walk(v, &format!("{path}.{k}"), found));
            }
            Value::Array(items) => items.iter().for_each(|v| walk(v, path, found)),
            _ => {}
        }
    }
    let mut found = Vec::new();
    walk(made, "", &mut found);
    found
}

/// `check` tells before what `compile` would say, and the same inputs give the same bytes.
#[test]
fn check_ends_as_compile_does_and_twice_is_the_same() {
    hold("check, twice", |job| {
        let told = Told::of(job, Frame::default());
        check_and_twice(&told, &told.run())
    });
}

fn check_and_twice(told: &Told, first: &Run) -> Vec<String> {
    let (workshop, again) = (told.workshop(), told.run());
    let check = workshop.run(&["check", "job.partspec"]);
    let mut found = Vec::new();
    if check.code != first.code {
        found.push(format!("compile ends with {}, check with {}", first.code, check.code));
    }
    if first.stdout != again.stdout {
        found.push("two runs differ".to_owned());
    }
    found
}
