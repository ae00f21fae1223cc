//! The plan of a run as a page: through a template, with one table a thing somebody acts on.

use serde::Serialize;

use super::markdown::{Template, TemplateFault};
use crate::plan::{AtRisk, Change, Cost, Draw, OnPlate, Plan, Round};

/// The template that makeready brings along.
const TEMPLATE: &str = include_str!("../../recipes/templates/plan.md.hbs");

/// Returns the template of the plan's page that makeready brings along.
///
/// # Errors
///
/// None: a test reads it.
pub(crate) fn template() -> Result<Template, TemplateFault> {
    Template::parse(TEMPLATE)
}

/// Returns a plan as Markdown.
///
/// # Errors
///
/// Returns a fault where the template names something that the page does not have.
pub(crate) fn markdown(plan: &Plan, template: &Template) -> Result<String, TemplateFault> {
    template.page(&Page::of(plan))
}

/// Returns a plan in one line.
pub(crate) fn summary(plan: &Plan) -> String {
    let pieces: u32 = plan.start.iter().map(|s| s.start).sum();
    let end = plan.rounds.iter().map(|r| r.end.as_str()).max().unwrap_or("nothing to print");
    let late = match plan.late.len() {
        0 => "all in time".to_owned(),
        n => format!("{n} late"),
    };
    let late = match plan.at_risk.len() {
        0 => late,
        n => format!("{late}, {n} at risk"),
    };
    format!("{} parts, {pieces} pieces in {} rounds, done {end}, {late}", plan.start.len(), plan.rounds.len())
}

/// What stands for the end of a part that has none.
pub(crate) const NEVER: &str = "never: a plate of it fits into no hours of the run";

/// What the template can use.
#[derive(Serialize)]
struct Page<'a> {
    run: &'a str,
    from: &'a str,
    summary: String,
    start: Vec<StartRow<'a>>,
    days: Vec<Day>,
    changes: Vec<ChangeRow>,
    changeovers: String,
    drying: &'a [crate::plan::Dried],
    late: Vec<LateRow<'a>>,
    at_risk: &'a [AtRisk],
    buy: &'a [crate::plan::Buy],
    spools: Vec<SpoolRow>,
    costs: Vec<Row>,
    reprint: Vec<Row>,
    plates: Vec<Row>,
    order: Vec<Row>,
    proven: bool,
    band: String,
    otherwise: &'a [crate::plan::Otherwise],
    left_out: &'a [crate::plan::LeftOut],
    told: &'a [String],
    inputs: Vec<Row>,
}

#[derive(Serialize)]
struct StartRow<'a> {
    part: &'a str,
    wanted: u32,
    start: u32,
    confidence: String,
    basis: &'a str,
    recipe: &'a str,
}

/// What begins on a day.
#[derive(Serialize)]
struct Day {
    day: String,
    rounds: Vec<RoundRow>,
}

#[derive(Serialize)]
struct RoundRow {
    name: String,
    setup: String,
    begin: String,
    end: String,
    parts: String,
    fitted: String,
    spools: String,
    mass: String,
    hours: String,
    note: String,
}

#[derive(Serialize)]
struct ChangeRow {
    round: String,
    what: String,
    minutes: i64,
    purge: String,
}

#[derive(Serialize)]
struct LateRow<'a> {
    part: &'a str,
    by: &'a str,
    done: &'a str,
    would_free: &'a [String],
}

#[derive(Serialize)]
struct SpoolRow {
    name: String,
    used: String,
    rounds: String,
}

/// A line of two cells.
#[derive(Serialize)]
struct Row {
    what: String,
    value: String,
}

impl<'a> Page<'a> {
    fn of(plan: &'a Plan) -> Self {
        let start = plan.start.iter().map(|s| StartRow {
            part: &s.part,
            wanted: s.wanted,
            start: s.start,
            confidence: format!("{:.1} %", s.confidence * 100.0),
            basis: &s.basis,
            recipe: &s.recipe,
        });
        let late = plan.late.iter().map(|l| LateRow {
            part: &l.part,
            by: l.by.as_deref().unwrap_or("any day"),
            done: l.done.as_deref().unwrap_or(NEVER),
            would_free: &l.would_free,
        });
        let bound = &plan.bound;
        let plates = bound.plates.iter().map(|p| {
            row(
                p.parts.join(", "),
                match p.found <= p.at_least {
                    true => format!("{}, and fewer cannot do", p.found),
                    false => format!("{}; fewer than {} cannot do", p.found, p.at_least),
                },
            )
        });
        let order = bound.order.iter().map(|g| {
            let bound = g.at_least.map_or_else(|| "no bound known".to_owned(), |b| format!("not less than {b}"));
            row(g.goal.to_owned(), format!("{}; {bound}", g.found))
        });
        Self {
            run: &plan.run,
            from: &plan.from,
            summary: summary(plan),
            start: start.collect(),
            days: days(&plan.rounds),
            changes: plan.rounds.iter().flat_map(|r| r.changes.iter().map(|c| change(&r.name, c))).collect(),
            changeovers: format!(
                "{} rounds begin with a change: {} min of a person's time, {:.0} g purged.",
                plan.changeovers.count, plan.changeovers.minutes, plan.changeovers.purge_g
            ),
            drying: &plan.drying,
            late: late.collect(),
            at_risk: &plan.at_risk,
            buy: &plan.buy,
            spools: spools(&plan.rounds),
            costs: costs(&plan.cost),
            reprint: reprint(&plan.cost),
            plates: plates.collect(),
            order: order.collect(),
            proven: bound.order_proven,
            band: format!("{} to {} times", bound.time_low, bound.time_high),
            otherwise: &plan.otherwise,
            left_out: &plan.left_out,
            told: &plan.told,
            inputs: plan.inputs.iter().map(|i| row(i.name.clone(), i.digest.clone())).collect(),
        }
    }
}

fn row(what: String, value: String) -> Row {
    Row { what, value }
}

/// The rounds by the day on which somebody begins them.
fn days(rounds: &[Round]) -> Vec<Day> {
    let mut days: Vec<Day> = Vec::new();
    for round in rounds {
        let day = round.setup.split(' ').next().unwrap_or_default();
        let row = round_row(round, day);
        match days.last_mut().filter(|d| d.day == day) {
            Some(last) => last.rounds.push(row),
            None => days.push(Day { day: day.to_owned(), rounds: vec![row] }),
        }
    }
    days
}

fn round_row(round: &Round, day: &str) -> RoundRow {
    // Of the same day the time of day alone is what somebody looks for.
    let short = |moment: &str| moment.strip_prefix(day).map_or(moment, str::trim).to_owned();
    RoundRow {
        name: round.name.clone(),
        setup: short(&round.setup),
        begin: short(&round.begin),
        end: short(&round.end),
        parts: on_plate(&round.parts),
        fitted: with(round),
        spools: drawn(&round.spools),
        mass: format!("{:.0} g", round.mass_g),
        hours: hours(round.hours),
        note: match &round.after_hours {
            _ if round.unattended => "partly with nobody there".to_owned(),
            Some(latest) => format!("or as late as {latest}, after hours"),
            None => String::new(),
        },
    }
}

/// Returns what lies on a plate: `12 peg-tag, 3 hook`.
pub(super) fn on_plate(parts: &[OnPlate]) -> String {
    parts.iter().map(|p| format!("{} {}", p.count, p.part)).collect::<Vec<_>>().join(", ")
}

/// Returns what a round is printed with: `PLA, brass-04, smooth-pei`.
pub(super) fn with(round: &Round) -> String {
    let agent = round.agent.as_ref().map(|a| format!(" with {a}")).unwrap_or_default();
    format!("{}, {}, {}{agent}", round.material, round.nozzle, round.surface)
}

fn drawn(spools: &[Draw]) -> String {
    match spools {
        [one] => one.name.clone(),
        all => all.iter().map(|d| format!("{} ({:.0} g)", d.name, d.mass_g)).collect::<Vec<_>>().join(", then "),
    }
}

/// Returns hours as a person says them: `2 h 40 min`.
pub(super) fn hours(hours: f64) -> String {
    let minutes = (hours * 60.0).round() as i64;
    match (minutes / 60, minutes % 60) {
        (0, m) => format!("{m} min"),
        (h, 0) => format!("{h} h"),
        (h, m) => format!("{h} h {m} min"),
    }
}

fn change(round: &str, change: &Change) -> ChangeRow {
    ChangeRow {
        round: round.to_owned(),
        what: format!("{}: {} → {}", change.what, change.from, change.to),
        minutes: change.minutes,
        purge: if change.purge_g > 0.0 { format!("{:.0} g", change.purge_g) } else { String::new() },
    }
}

/// What each spool gives, in the order in which they are first used.
fn spools(rounds: &[Round]) -> Vec<SpoolRow> {
    let mut rows: Vec<(String, f64, Vec<&str>)> = Vec::new();
    for round in rounds {
        for draw in &round.spools {
            match rows.iter_mut().find(|r| r.0 == draw.name) {
                Some(row) => {
                    row.1 += draw.mass_g;
                    row.2.push(&round.name);
                }
                None => rows.push((draw.name.clone(), draw.mass_g, vec![&round.name])),
            }
        }
    }
    let told = |(name, used, rounds): (String, f64, Vec<&str>)| SpoolRow {
        name,
        used: format!("{used:.0} g"),
        rounds: rounds.join(", "),
    };
    rows.into_iter().map(told).collect()
}

fn costs(cost: &Cost) -> Vec<Row> {
    let unit = cost.currency.as_deref().unwrap_or("(no currency stated)");
    let money = |amount: f64| format!("{amount:.2} {unit}");
    let stated = |amount: Option<f64>| amount.map_or_else(|| "not stated in the workshop's file".to_owned(), money);
    vec![
        row("Filament, purge with it".to_owned(), money(cost.material)),
        row("Machine hours".to_owned(), stated(cost.machine)),
        row("Electricity".to_owned(), stated(cost.electricity)),
        row("A person's time at plates and changes".to_owned(), stated(cost.handling)),
        row("**Total**".to_owned(), format!("**{}**", money(cost.total))),
        row("of which on pieces not expected to come out good".to_owned(), money(cost.scrap)),
        row("For each piece wanted".to_owned(), money(cost.per_good)),
    ]
}

fn reprint(cost: &Cost) -> Vec<Row> {
    let unit = cost.currency.as_deref().unwrap_or("(no currency stated)");
    let one = |r: &crate::plan::Reprint| {
        let value =
            format!("{:.2} {unit} among others, {:.2} {unit} on a plate of its own", r.among_others, r.by_itself);
        row(r.part.clone(), value)
    };
    cost.reprint.iter().map(one).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_built_in_template_takes_an_empty_plan() {
        let plan = Plan { run: "a".to_owned(), ..Plan::default() };
        let page = markdown(&plan, &template().unwrap()).unwrap();
        assert!(page.starts_with("# Plan of the run \"a\""), "{page}");
    }

    #[test]
    fn hours_are_said_as_people_say_them() {
        assert_eq!([hours(0.5), hours(2.0), hours(2.67)], ["30 min", "2 h", "2 h 40 min"]);
    }
}
