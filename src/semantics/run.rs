//! `run`: what a workshop makes together, from its statements to typed data, and what must agree within it.

use super::calendar;
use super::checker::Checker;
use super::read::Found;
use super::spec::Stated;
use crate::diag::{Diagnostic, Span};
use crate::quantity::Ratio;

pub use calendar::WEEKDAYS;

/// What a run file asks for.
#[derive(Debug, Clone)]
pub struct Run {
    /// Its name in quotes.
    pub name: Stated<String>,
    /// When the work begins.
    pub from: Stated<Moment>,
    /// What is to be made, in the order of the file; at least one.
    pub builds: Vec<Build>,
    /// The printers it may use; empty where it may use all of the workshop.
    pub printers: Vec<Stated<String>>,
    /// Printers out of service.
    pub without: Vec<Without>,
    /// When somebody is there; at least one.
    pub hours: Vec<Stated<Hours>>,
    /// Days on which nobody is, first and last.
    pub closed: Vec<Stated<(String, String)>>,
    /// Whether a machine may print while nobody is there; none where nothing is said.
    pub unattended: Option<Stated<bool>>,
    /// How sure the count of good pieces is to be, 0 to 1; none where nothing is said.
    pub confidence: Option<Stated<f64>>,
    /// Parts that share their plates.
    pub together: Vec<Vec<Stated<String>>>,
    /// How many of a lot are measured.
    pub sample: Option<Stated<Sample>>,
    /// The line that begins it.
    pub span: Span,
}

/// A day and a time of day, by the clock on the wall of the workshop.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Moment {
    /// As it is written, `2026-12-07`.
    pub day: String,
    /// Minutes after midnight.
    pub minute: u16,
}

/// A spec to be made.
#[derive(Debug, Clone)]
pub struct Build {
    /// The spec's file, relative to the run's, as written.
    pub spec: Stated<String>,
    /// Good pieces wanted; none where the spec's own quantity holds.
    pub count: Option<Stated<u32>>,
    /// The one part of the spec that is meant; none where all are.
    pub part: Option<Stated<String>>,
    /// The day they are wanted by, and perhaps a time of that day.
    pub by: Option<Stated<(String, Option<u16>)>>,
    /// The whole statement.
    pub span: Span,
}

/// Printers that are out of service.
#[derive(Debug, Clone)]
pub struct Without {
    /// By their names in the workshop.
    pub printers: Vec<Stated<String>>,
    /// First and last day, both counted.
    pub days: (String, String),
}

/// When somebody is there.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Hours {
    /// First and last day of the week, monday = 0, both counted; the last may be the earlier, over the week's end.
    pub days: (u8, u8),
    /// From and to, minutes after midnight.
    pub times: (u16, u16),
}

impl Hours {
    /// Returns whether a day of the week is one of them.
    pub fn on(self, weekday: u8) -> bool {
        let (first, last) = self.days;
        if first <= last { (first..=last).contains(&weekday) } else { weekday >= first || weekday <= last }
    }
}

/// A sampling plan that is asked for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sample {
    /// The inspection level as the standard names it: `II`, `S-3`.
    pub level: &'static str,
    /// Acceptance quality limit, percent of faulty pieces.
    pub limit: f64,
}

impl std::fmt::Display for Moment {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{} {:02}:{:02}", self.day, self.minute / 60, self.minute % 60)
    }
}

impl Checker<'_> {
    /// Builds the runs of a file; one that lacks what no plan can do without is told and left out.
    pub(crate) fn runs(&mut self, file: &[Found]) -> Vec<Run> {
        let runs: Vec<&Found> = file.iter().filter(|f| f.is("run")).collect();
        if let [first, more @ ..] = runs.as_slice() {
            for second in more {
                let diagnostic = Diagnostic::error("run/two", second.head, "a second run in one file");
                self.report(
                    diagnostic.label(first.head, "the first is here").hint(
                        "one file, one run: both would count on the same machines; move it into a file of its own",
                    ),
                );
            }
        }
        runs.into_iter().filter_map(|found| self.run(found)).collect()
    }

    fn run(&mut self, found: &Found) -> Option<Run> {
        let all = |keyword: &'static str| found.inner.iter().filter(move |f| f.is(keyword));
        let sound = |keyword: &'static str| all(keyword).filter(|f| !f.broken);
        let one = |keyword: &'static str| sound(keyword).next();
        for (keyword, code, what, example) in NEEDED {
            if all(keyword).next().is_none() {
                let message = format!("the run says nothing of {what}");
                self.report(Diagnostic::error(code, found.head, message).hint(format!("write `{example}` in it")));
            }
        }
        let from = one("from").and_then(|f| Some(Stated { value: moment(f)?, span: f.head }));
        let run = Run {
            name: found.values.stated_text("name")?,
            builds: sound("build").filter_map(build).collect(),
            printers: one("printers").map(|f| f.values.names("printers").to_vec()).unwrap_or_default(),
            without: sound("without").filter_map(without).collect(),
            hours: sound("hours").filter_map(hours).collect(),
            closed: sound("closed").filter_map(|f| Some(f.state(f.values.dates("days")?))).collect(),
            unattended: one("nights").and_then(|f| Some(f.state(f.values.word("answer")? == "yes"))),
            confidence: one("confidence").and_then(|f| Some(f.state(f.values.measure::<Ratio>("confidence")?.value()))),
            together: sound("together").map(|f| f.values.names("parts").to_vec()).collect(),
            sample: one("sample").and_then(sample),
            from: from?,
            span: found.head,
        };
        self.hours_apart(&run);
        self.dates_to_come(&run);
        self.together_apart(&run);
        Some(run)
    }

    /// Two lines of hours may not both speak of one time: the sum of the working day would be read wrongly.
    fn hours_apart(&mut self, run: &Run) {
        for (i, second) in run.hours.iter().enumerate() {
            let overlaps = |first: &&Stated<Hours>| {
                let (a, b) = (first.value, second.value);
                (0..7).any(|day| a.on(day) && b.on(day)) && a.times.0 < b.times.1 && b.times.0 < a.times.1
            };
            let Some(first) = run.hours.iter().take(i).find(overlaps) else { continue };
            self.report(
                Diagnostic::error("run/hours-twice", second.span, "hours that overlap")
                    .here("these hours")
                    .label(first.span, "and these share some")
                    .hint("leave out of one line what the other says already"),
            );
        }
    }

    /// What is wanted before the work begins is a slip of the pen.
    fn dates_to_come(&mut self, run: &Run) {
        for by in run.builds.iter().filter_map(|b| b.by.as_ref()) {
            let due = Moment { day: by.value.0.clone(), minute: by.value.1.unwrap_or(24 * 60) };
            if due > run.from.value {
                continue;
            }
            let message = format!("wanted by {}, which is before the run begins", by.value.0);
            self.report(
                Diagnostic::error("run/date-gone-by", by.span, message)
                    .here("wanted by then")
                    .label(run.from.span, format!("begins {}", run.from.value))
                    .hint("give a later date, or an earlier `from`"),
            );
        }
    }

    /// Parts that share plates make sets, and no part stands in two of them.
    fn together_apart(&mut self, run: &Run) {
        let mut seen: std::collections::BTreeMap<&str, (usize, Span)> = std::collections::BTreeMap::new();
        for (set, parts) in run.together.iter().enumerate() {
            if let [only] = parts.as_slice() {
                let message = format!("\"{}\" is together with nothing", only.value);
                let hint = "name at least two parts, as in `together \"box\", \"lid\"`";
                self.report(Diagnostic::error("run/together-one", only.span, message).hint(hint));
            }
            for part in parts {
                let Some((_, first)) = seen.insert(&part.value, (set, part.span)) else { continue };
                let message = format!("\"{}\" is in two sets of `together`", part.value);
                self.report(
                    Diagnostic::error("run/together-crossed", part.span, message)
                        .here("again here")
                        .label(first, "first here")
                        .hint("write all parts that share plates in one `together`"),
                );
            }
        }
    }
}

/// Statements without which there is no plan: keyword, code, what is missing, how it is written.
const NEEDED: [(&str, &str, &str, &str); 3] = [
    ("from", "run/no-start", "when it begins, and no clock is read", "from 2026-12-07 07:00"),
    ("hours", "run/no-hours", "when somebody is there", "hours monday .. friday 07:00 .. 19:00"),
    ("build", "run/nothing", "what to make", "build \"bracket.partspec\" 24"),
];

fn moment(found: &Found) -> Option<Moment> {
    Some(Moment { day: found.values.text("day")?.to_owned(), minute: found.values.clock("time")? })
}

fn build(found: &Found) -> Option<Build> {
    let v = &found.values;
    let by = v.text("day").map(|day| (day.to_owned(), v.clock("time")));
    let span = v.span("day").map(|day| v.span("time").map_or(day, |time| day.to(time)));
    Some(Build {
        spec: v.stated_text("spec")?,
        count: v.count("count").and_then(|value| Some(Stated { value, span: v.span("count")? })),
        part: v.stated_text("part"),
        by: by.zip(span).map(|(value, span)| Stated { value, span }),
        span: found.head,
    })
}

fn without(found: &Found) -> Option<Without> {
    Some(Without { printers: found.values.names("printers").to_vec(), days: found.values.dates("days")? })
}

fn hours(found: &Found) -> Option<Stated<Hours>> {
    let hours = Hours { days: found.values.weekdays("days")?, times: found.values.clocks("times")? };
    Some(found.state(hours))
}

fn sample(found: &Found) -> Option<Stated<Sample>> {
    let level = found.values.word("level")?;
    let limit = found.values.measure::<Ratio>("limit")?.value() * 100.0;
    Some(found.state(Sample { level, limit }))
}
