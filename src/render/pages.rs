//! Pages for reading on a terminal: tables and entries of the catalogue, and the reasons behind a recipe.

use super::sheet::{citation, source_words, spoken};
use super::words;
use crate::recipe::{
    Allowance, Conflict, Decided, Margin, NearMiss, PoseRow, Reason, Recipe, Rejected, Relaxation, Requirement, Run,
    Setting, Status, Term, UsedValue,
};
use crate::resolve::shop::Unread;
use crate::rulebook::Decision;

/// The widest a line of running text becomes, in characters.
pub(super) const WIDTH: usize = 80;
/// The widest a column of a table becomes before it is broken into lines.
const WIDEST_COLUMN: usize = 44;

/// What a recipe leaves open, a paragraph each: the question, what rests on it, its answers and what each would lead to.
pub fn questions(recipe: &Recipe) -> String {
    let mut out = format!("{}: {}\n", recipe.part, recipe.status_line());
    let open: Vec<_> = recipe.assumptions.iter().filter(|a| a.question).collect();
    // What a use is withheld for is asked by the headline alone.
    if recipe.status == Status::QuestionFirst && !recipe.not_for.is_empty() {
        out.push('\n');
        push_text(&mut out, &recipe.headline.to_string(), "");
        out.push_str("The page says what each is settled by.\n");
    } else if open.is_empty() {
        out.push_str("\nNothing is open whose answer could change the recipe.\n");
    }
    for (n, asked) in open.iter().enumerate() {
        out.push('\n');
        push_text(&mut out, &format!("{}. {}", n + 1, asked.text), "");
        push_text(&mut out, &asked.effect.to_string(), "   ");
        for answer in &asked.answers {
            out.push_str(&format!("   `{}`: {}\n", answer.write, answer.leads_to));
        }
    }
    out
}

/// A table: every row has as many cells as there are columns.
#[derive(Debug, Clone, Default)]
pub(crate) struct Table {
    pub title: String,
    pub columns: Vec<String>,
    pub rows: Vec<Vec<String>>,
}

/// One entry of the catalogue, with everything known of it.
#[derive(Debug, Clone, Default)]
pub(crate) struct Entry {
    /// `material`, `surface`, ...
    pub kind: String,
    pub name: String,
    pub notes: Vec<String>,
    pub values: Vec<EntryValue>,
}

/// One value of an entry, as strings with units.
#[derive(Debug, Clone, Default)]
pub(crate) struct EntryValue {
    pub name: String,
    pub value: String,
    /// `70 °C .. 88 °C`; empty where there is none.
    pub range: String,
    /// Kind of source: `standard`, `handbook`, `paper`, `library`, `common-practice`, `from-memory`, `computed`.
    pub kind: String,
    /// The citation; empty for kinds that have none.
    pub source: String,
}

/// What a rule says of itself.
#[derive(Debug, Clone, Default)]
pub(crate) struct RulePage {
    pub name: String,
    /// The decisions its names touch.
    pub touches: Vec<String>,
    /// The rule as written.
    pub text: String,
    /// Thresholds and figures it reads: name, value, and where that is from.
    pub reads: Vec<(String, String, String)>,
    pub because: String,
    pub source: String,
    /// `file:line`.
    pub place: String,
}

/// Returns the table with its columns aligned and no wider than a page, as far as its words allow; long cells go on below.
pub(crate) fn table(t: &Table) -> String {
    let mut out = String::new();
    if !t.title.is_empty() {
        out.push_str(&format!("{}\n\n", shown(&t.title)));
    }
    let limits = column_limits(t);
    let cells = |row: &[String]| -> Vec<Vec<String>> {
        row.iter().zip(&limits).map(|(cell, limit)| fold(&shown(cell), *limit)).collect()
    };
    let head = cells(&t.columns);
    let rows: Vec<Vec<Vec<String>>> = t.rows.iter().map(|r| cells(r)).collect();
    let widths: Vec<usize> = (0..t.columns.len())
        .map(|i| rows.iter().chain([&head]).filter_map(|r| r.get(i)).flatten().map(|l| width(l)).max().unwrap_or(0))
        .collect();
    push_row(&mut out, &head, &widths);
    out.push_str(&format!("{}\n", widths.iter().map(|w| "-".repeat(*w)).collect::<Vec<_>>().join("  ")));
    rows.iter().for_each(|r| push_row(&mut out, r, &widths));
    out
}

/// Returns how wide each column may become: the widest give way first, none to less than its longest word.
fn column_limits(t: &Table) -> Vec<usize> {
    let measured = |i: usize, of: &dyn Fn(&str) -> usize| {
        let cells = t.rows.iter().chain([&t.columns]).filter_map(|row| row.get(i));
        cells.map(|cell| of(&shown(cell))).max().unwrap_or(0)
    };
    let word = |cell: &str| cell.split_whitespace().map(width).max().unwrap_or(0);
    let least: Vec<usize> = (0..t.columns.len()).map(|i| measured(i, &word)).collect();
    let mut limits: Vec<usize> = (0..t.columns.len()).map(|i| measured(i, &width).min(WIDEST_COLUMN)).collect();
    let gaps = 2 * limits.len().saturating_sub(1);
    while limits.iter().sum::<usize>() + gaps > WIDTH {
        let room = |i: &usize| limits[*i] > least[*i];
        match (0..limits.len()).filter(room).max_by_key(|i| limits[*i]) {
            Some(widest) => limits[widest] -= 1,
            None => break,
        }
    }
    limits
}

/// Returns a looked-up fit or part for reading: its long lines broken, what goes on stands further in.
pub fn looked_up(text: &str) -> String {
    let mut out = String::new();
    for line in source_words(text).lines() {
        if width(line) <= WIDTH {
            out.push_str(line);
            out.push('\n');
        } else {
            let indent: String = line.chars().take_while(|c| *c == ' ').collect();
            push_text(&mut out, line.trim_start(), &indent);
        }
    }
    out
}

fn push_row(out: &mut String, cells: &[Vec<String>], widths: &[usize]) {
    let lines = cells.iter().map(Vec::len).max().unwrap_or(0);
    for at in 0..lines {
        let line: Vec<String> = widths
            .iter()
            .enumerate()
            .map(|(i, w)| {
                let text = cells.get(i).and_then(|c| c.get(at)).map_or("", String::as_str);
                format!("{text}{}", " ".repeat(w.saturating_sub(width(text))))
            })
            .collect();
        out.push_str(line.join("  ").trim_end());
        out.push('\n');
    }
}

/// Returns the page of one catalogue entry.
pub(crate) fn entry(e: &Entry) -> String {
    let rows = e.values.iter().map(|v| {
        // The folder of our own catalogue is known; the file and its line are what one looks for.
        let source = [source_words(&v.kind), v.source.replace("recipes/catalogue/", "")];
        let source = source.iter().filter(|s| !s.is_empty()).cloned().collect::<Vec<_>>().join(" ");
        vec![v.name.replace('_', " "), v.value.clone(), v.range.clone(), source]
    });
    let columns = ["property", "value", "range", "source"].map(str::to_owned).to_vec();
    let mut out = format!("{} ({})\n\n", shown(&e.name), shown(&e.kind));
    e.notes.iter().for_each(|note| push_text(&mut out, note, ""));
    if !e.notes.is_empty() {
        out.push('\n');
    }
    out + &table(&Table { title: String::new(), columns, rows: rows.collect() })
}

/// Returns the page of a rule.
pub(crate) fn rule(r: &RulePage) -> String {
    let mut out = format!("rule {}\n\n", shown(&r.name));
    push_text(&mut out, &r.because, "");
    out.push('\n');
    for line in r.text.lines() {
        out.push_str(format!("    {}", shown(line)).trim_end());
        out.push('\n');
    }
    out.push('\n');
    for (name, value, from) in &r.reads {
        push_text(&mut out, &format!("reads {name}: {value} ({from})"), "");
    }
    if !r.touches.is_empty() {
        push_text(&mut out, &format!("touches: {}", r.touches.join(", ")), "");
    }
    push_text(&mut out, &format!("source: {}", source_words(&r.source)), "");
    if !r.place.is_empty() {
        push_text(&mut out, &format!("written at: {}", r.place), "");
    }
    out
}

/// Returns every decision of a recipe with its reasons; where there is none, what stands in the way.
pub fn explain_all(recipe: &Recipe) -> String {
    let mut out = format!("{}: {}\n", shown(&recipe.part), recipe.status_line());
    push_text(&mut out, &recipe.headline.to_string(), "");
    if let Some(decisions) = &recipe.decisions {
        for (of, decided) in decisions.all() {
            out.push('\n');
            out.push_str(&decision(recipe, of, decided));
        }
    } else {
        out.push('\n');
        out.push_str(&obstacles(recipe));
    }
    out
}

/// Returns what a recipe says about one of its words: a decision, a setting, a fit or a margin; `None` where it has
/// no such word. [`words`] lists them.
pub fn explain(recipe: &Recipe, word: &str) -> Option<String> {
    let is = |name: &str| key(name) == key(word);
    let called = |of: Decision| is(of.word()) || is(words::decision(of)) || is_short(words::decision(of), word);
    let decisions = recipe.decisions.as_ref().map(crate::recipe::Decisions::all);
    if let Some((of, decided)) = decisions.and_then(|all| all.into_iter().find(|(of, _)| called(*of))) {
        let others: Vec<&Rejected> = recipe.rejected.iter().filter(|r| r.decision == of).collect();
        return Some(decision(recipe, of, decided) + &rejected_list(recipe, &others));
    }
    if is(SHOP) {
        return Some(unread(&recipe.unread));
    }
    if is(RUN) {
        return recipe.run.as_ref().map(|run| self::run(recipe, run));
    }
    if let Some(told) = obstacle(recipe, word) {
        return Some(told);
    }
    let setting = recipe.settings.iter().find(|s| is(&s.name)).map(|s| setting(recipe, s));
    let fit = || recipe.allowances.iter().find(|a| is(&a.fit)).map(|a| allowance(recipe, a));
    let margin = || recipe.margins.iter().find(|m| is(&m.what.to_string())).map(|m| margin(recipe, m));
    // A load, a contact or a fit is also found by its name alone.
    let of = |m: &&Margin| m.of.as_deref() == Some(word.trim());
    let named = || recipe.margins.iter().find(of).map(|m| self::margin(recipe, m));
    setting.or_else(fit).or_else(margin).or_else(named)
}

/// Returns the words [`explain`] knows for this recipe.
pub fn words(recipe: &Recipe) -> Vec<String> {
    let mut all: Vec<String> = Vec::new();
    if let Some(decisions) = &recipe.decisions {
        all.extend(decisions.all().iter().map(|(of, _)| of.word().to_owned()));
    }
    all.extend(recipe.run.as_ref().map(|_| RUN.to_owned()));
    all.push(SHOP.to_owned());
    all.extend(recipe.settings.iter().map(|s| spoken(&s.name)));
    all.extend(recipe.allowances.iter().map(|a| a.fit.clone()));
    all.extend(recipe.margins.iter().map(|m| m.what.to_string()));
    all.extend(in_the_way(recipe).map(|r| r.place.path.clone()));
    all
}

/// The lines that stand in the way of what cannot be made.
fn in_the_way(recipe: &Recipe) -> impl Iterator<Item = &Requirement> {
    recipe.conflicts.iter().flat_map(|c| &c.requirements).filter(|r| !r.place.path.is_empty())
}

/// Says of a line that stands in the way with which others it does, and what would free it; a load or a fit is also found by its
/// name alone.
fn obstacle(recipe: &Recipe, word: &str) -> Option<String> {
    let is = |path: &str| {
        let name = path.split_once(' ').map_or(path, |(_, name)| name);
        [path, name].iter().any(|known| key(&known.replace('"', "")) == key(&word.replace('"', "")))
    };
    let line = in_the_way(recipe).find(|r| is(&r.place.path))?.place.clone();
    let mut out = String::new();
    let with = |c: &&Conflict| c.requirements.iter().any(|r| r.place == line);
    recipe.conflicts.iter().filter(with).for_each(|c| push_conflict(&mut out, recipe, c));
    let ways: Vec<&Relaxation> = recipe.relaxations.iter().filter(|r| r.places.contains(&line)).collect();
    let ways = if ways.is_empty() { recipe.relaxations.iter().collect() } else { ways };
    ways.into_iter().for_each(|r| push_way(&mut out, recipe, r));
    Some(out)
}

/// Returns why a choice was not taken; `None` where the recipe does not speak of it. [`rejects`] lists what it has.
pub fn explain_not(recipe: &Recipe, value: &str) -> Option<String> {
    let found: Vec<&Rejected> = recipe.rejected.iter().filter(|r| key(&r.value) == key(value)).collect();
    if !found.is_empty() {
        return Some(rejected_list(recipe, &found).trim_start().to_owned());
    }
    let decisions = recipe.decisions.as_ref()?.all();
    if let Some((of, d)) = decisions.iter().find(|(_, d)| key(&d.value) == key(value)) {
        return Some(format!(
            "{} is not rejected: it is the {}\n",
            shown(&d.value),
            words::decision(*of).to_lowercase()
        ));
    }
    if let Some(told) = not_pose(recipe, value) {
        return Some(told);
    }
    let next = |d: &Decided| d.runner_up.as_ref().is_some_and(|r| key(&r.value) == key(value));
    decisions.iter().find(|(_, d)| next(d)).map(|(of, d)| decision(recipe, *of, d))
}

/// Says what a pose of the table costs more than the one taken, and which other side is the same.
fn not_pose(recipe: &Recipe, value: &str) -> Option<String> {
    let is = |p: &&PoseRow| key(&p.plain) == key(value);
    let same = |p: &&PoseRow| p.equals.iter().any(|e| key(e) == key(value));
    let row = recipe.poses.iter().find(is).or_else(|| recipe.poses.iter().find(same))?;
    let chosen = recipe.decisions.as_ref().map(|d| d.pose.value.clone()).unwrap_or_default();
    let mut out = String::new();
    if key(&row.plain) != key(value) {
        push_text(&mut out, &format!("{value} is the same as {} by the symmetry of the part", row.plain), "");
    }
    if row.plain == chosen {
        push_text(&mut out, &format!("{} is not rejected: it is the pose", row.plain), "");
        return Some(out);
    }
    let best = recipe.poses.iter().find(|p| p.plain == chosen).map(|p| p.total.plain()).unwrap_or_default();
    push_text(&mut out, &format!("not {} (pose)", row.plain), "");
    push_text(&mut out, &format!("it would do, at {} points where {chosen} has {best}:", row.total.plain()), "  ");
    row.penalties.iter().for_each(|w| push_text(&mut out, &format!("- {w}"), "    "));
    Some(out)
}

/// Says what stands against a choice in a job that cannot be made.
pub fn miss(recipe: &Recipe, miss: &NearMiss) -> String {
    let mut out = String::new();
    push_text(&mut out, &format!("{} breaks:", miss.value), "");
    miss.breaks.iter().for_each(|r| push_reason(&mut out, recipe, r));
    out
}

/// Returns the choices [`explain_not`] can speak of.
pub fn rejects(recipe: &Recipe) -> Vec<String> {
    let poses = recipe.poses.iter().flat_map(|p| std::iter::once(&p.plain).chain(&p.equals));
    recipe.rejected.iter().map(|r| &r.value).chain(poses).cloned().collect()
}

fn decision(recipe: &Recipe, of: Decision, d: &Decided) -> String {
    let detail = if d.detail.is_nothing() { String::new() } else { format!(" ({})", d.detail) };
    let mut out = String::new();
    push_text(&mut out, &format!("{}: {}{detail}", words::decision(of).to_lowercase(), d.value), "");
    d.because.iter().for_each(|r| push_reason(&mut out, recipe, r));
    if let Some(next) = &d.runner_up {
        let apart = next.run_apart.as_ref().map_or(String::new(), |apart| format!("; {apart}"));
        push_text(&mut out, &format!("second best: {}, worse by {}{apart}", next.value, next.penalty.plain()), "  ");
        next.separated_by.iter().for_each(|s| push_text(&mut out, &format!("- {s}"), "    "));
    }
    out
}

/// Says why choices were not taken that the recipe itself does not speak of.
pub fn not_taken(recipe: &Recipe, all: &[Rejected]) -> String {
    rejected_list(recipe, &all.iter().collect::<Vec<_>>()).trim_start().to_owned()
}

fn rejected_list(recipe: &Recipe, all: &[&Rejected]) -> String {
    let mut out = String::new();
    for r in all {
        out.push('\n');
        push_text(&mut out, &format!("not {} ({})", r.value, r.decision.word()), "");
        push_reason(&mut out, recipe, &r.because);
    }
    out
}

/// The word that asks for the run.
const RUN: &str = "run";
const SHOP: &str = "shop";

/// Says what of the workshop's file a job did not read.
fn unread(unread: &[Unread]) -> String {
    let mut out = String::new();
    match unread {
        [] => push_text(&mut out, "Everything the workshop's file says was looked at in deciding this part.", ""),
        some => {
            push_text(&mut out, "Nothing of this part hangs on these entries of the workshop's file:", "");
            let list = some.iter().map(ToString::to_string).collect::<Vec<_>>().join(", ");
            push_text(&mut out, &list, "  ");
        }
    }
    out
}

fn run(recipe: &Recipe, run: &Run) -> String {
    let mut out = String::new();
    push_text(
        &mut out,
        &format!(
            "run: {} wanted, {} to start, in {} rounds of up to {}",
            run.wanted, run.start, run.rounds, run.per_round
        ),
        "",
    );
    let each = format!("{} and {} for one by itself", words::hours(run.time_each), words::mass(run.mass_each));
    let all = format!("{}, {} and {} in all", words::hours(run.time_total), words::mass(run.mass_total), run.cost);
    push_text(&mut out, &format!("{each}; {all}"), "  ");
    run.because.iter().for_each(|r| push_reason(&mut out, recipe, r));
    out
}

fn setting(recipe: &Recipe, s: &Setting) -> String {
    let mut out = String::new();
    push_text(&mut out, &format!("{}: {}", spoken(&s.name), s.value), "");
    push_reason(&mut out, recipe, &s.because);
    out
}

fn allowance(recipe: &Recipe, a: &Allowance) -> String {
    let mut out = String::new();
    push_text(&mut out, &format!("fit {}: {}", a.fit, a.function_words()), "");
    push_text(&mut out, &format!("finished size {}", a.target_words()), "  ");
    push_text(&mut out, &source_words(&a.printer_effect.to_string()), "  ");
    a.terms.iter().for_each(|t| push_term(&mut out, t));
    push_text(&mut out, &format!("model it at {}, expect {}", a.model_words(), a.spread_words()), "  ");
    push_text(&mut out, &format!("route: {}", a.route), "  ");
    push_reason(&mut out, recipe, &a.because);
    out
}

pub(super) fn margin(recipe: &Recipe, m: &Margin) -> String {
    let mut out = String::new();
    push_text(&mut out, &format!("{}: {}", m.what, m.verdict.words()), "");
    let sum = format!("demand {}, capacity {}, margin {}", m.told.demand, m.told.capacity, m.told.margin);
    push_text(&mut out, &sum, "  ");
    push_reason(&mut out, recipe, &m.because);
    out
}

fn obstacles(recipe: &Recipe) -> String {
    let mut out = String::new();
    recipe.conflicts.iter().for_each(|c| push_conflict(&mut out, recipe, c));
    recipe.relaxations.iter().for_each(|r| push_way(&mut out, recipe, r));
    for n in &recipe.nearest {
        out.push('\n');
        push_text(&mut out, &format!("nearest miss: {}", n.value), "");
        n.breaks.iter().for_each(|b| push_reason(&mut out, recipe, b));
    }
    out + &rejected_list(recipe, &recipe.rejected.iter().collect::<Vec<_>>())
}

fn push_conflict(out: &mut String, recipe: &Recipe, c: &Conflict) {
    push_text(out, &c.text.to_string(), "");
    let of = |r: &Requirement| format!("- {} ({})", r.text, r.place.beside(&recipe.spec));
    c.requirements.iter().for_each(|r| push_text(out, &of(r), "  "));
}

fn push_way(out: &mut String, recipe: &Recipe, r: &Relaxation) {
    let places: Vec<String> = r.places.iter().map(|p| p.beside(&recipe.spec)).collect();
    push_text(out, &format!("would free it: {} ({})", r.text, places.join(", ")), "");
}

fn push_reason(out: &mut String, recipe: &Recipe, reason: &Reason) {
    if !reason.text.is_nothing() {
        push_text(out, &format!("- {}", reason.text), "  ");
    }
    reason.values.iter().for_each(|v| push_used(out, v));
    let cites = citation(recipe, reason);
    if !cites.is_empty() {
        push_text(out, &format!("[{cites}]"), "    ");
    }
}

fn push_used(out: &mut String, v: &UsedValue) {
    let from = v.from.to_string();
    let from = if from.is_empty() { String::new() } else { format!(" ({})", source_words(&from)) };
    push_text(out, &format!("{} = {}{from}", v.name, v.value), "      ");
}

fn push_term(out: &mut String, t: &Term) {
    let from = source_words(&t.from.to_string());
    push_text(out, &format!("{} = {} ({from})", t.name.as_str(), t.words()), "      ");
}

/// Pushes the text broken into lines; every line after the first stands two further in.
pub(super) fn push_text(out: &mut String, text: &str, indent: &str) {
    if text.is_empty() {
        return;
    }
    for (i, line) in fold(&shown(text), WIDTH.saturating_sub(indent.len() + 2)).iter().enumerate() {
        out.push_str(&format!("{indent}{}{line}\n", if i == 0 { "" } else { "  " }));
    }
}

/// Breaks text at blanks into lines of at most `limit` characters; a longer word stands alone.
pub(super) fn fold(text: &str, limit: usize) -> Vec<String> {
    let mut lines = vec![String::new()];
    for word in text.split_whitespace() {
        let Some(last) = lines.last_mut() else { break };
        if last.is_empty() {
            last.push_str(word);
        } else if width(last) + 1 + width(word) <= limit {
            last.push(' ');
            last.push_str(word);
        } else {
            lines.push(word.to_owned());
        }
    }
    lines
}

fn width(text: &str) -> usize {
    text.chars().count()
}

/// Text from outside on its way to a terminal: without characters that the terminal would obey.
fn shown(text: &str) -> String {
    text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect()
}

/// Names are compared without regard to case, blanks, hyphens and underscores.
fn key(name: &str) -> String {
    name.chars().filter(|c| c.is_alphanumeric() || *c == '+').flat_map(char::to_lowercase).collect()
}

/// `surface` for `Build surface`, `support` for `Supports`.
fn is_short(name: &str, word: &str) -> bool {
    let word = key(word);
    !word.is_empty() && (key(name).ends_with(&word) && word == "surface" || key(name) == format!("{word}s"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tables_are_aligned_and_long_cells_fold() {
        let t = Table {
            title: "Nozzles".to_owned(),
            columns: vec!["name".to_owned(), "bore".to_owned(), "note".to_owned()],
            rows: vec![
                vec![
                    "brass-04".to_owned(),
                    "0.4 mm".to_owned(),
                    "for everything without abrasive filler, up to 260 °C".to_owned(),
                ],
                vec!["µ".to_owned(), "0.25 mm".to_owned(), String::new()],
            ],
        };
        insta::assert_snapshot!(table(&t), @r"
        Nozzles

        name      bore     note
        --------  -------  ------------------------------------------
        brass-04  0.4 mm   for everything without abrasive filler, up
                           to 260 °C
        µ         0.25 mm
        ");
    }

    #[test]
    fn an_entry_shows_value_range_and_source() {
        let value = |name: &str, value: &str, range: &str, kind: &str, source: &str| EntryValue {
            name: name.to_owned(),
            value: value.to_owned(),
            range: range.to_owned(),
            kind: kind.to_owned(),
            source: source.to_owned(),
        };
        let e = Entry {
            kind: "material".to_owned(),
            name: "PETG".to_owned(),
            notes: vec!["Tough, clear, and fond of glass.".to_owned()],
            values: vec![
                value("glass_transition", "78 °C", "70 °C .. 88 °C", "paper", "PMC9088909-T1"),
                value("abrasive", "no", "", "common-practice", ""),
            ],
        };
        insta::assert_snapshot!(entry(&e), @r"
        PETG (material)

        Tough, clear, and fond of glass.

        property          value  range           source
        ----------------  -----  --------------  -------------------
        glass transition  78 °C  70 °C .. 88 °C  paper PMC9088909-T1
        abrasive          no                     common practice
        ");
    }

    #[test]
    fn a_rule_is_a_page() {
        let r = RulePage {
            name: "heat-margin".to_owned(),
            touches: vec!["material".to_owned()],
            text: "rule \"heat-margin\" {\n  require material.heat_limit >= service.part_temperature.max + spare\n}"
                .to_owned(),
            reads: vec![("spare".to_owned(), "10 K".to_owned(), "common practice, heat.rules:1".to_owned())],
            because: "thermoplastics creep well before they soften".to_owned(),
            source: "common-practice".to_owned(),
            place: "heat.rules:4".to_owned(),
        };
        insta::assert_snapshot!(rule(&r), @r#"
        rule heat-margin

        thermoplastics creep well before they soften

            rule "heat-margin" {
              require material.heat_limit >= service.part_temperature.max + spare
            }

        reads spare: 10 K (common practice, heat.rules:1)
        touches: material
        source: common practice
        written at: heat.rules:4
        "#);
    }
}
