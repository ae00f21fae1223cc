//! The traveller of a run: sheets that somebody carries out from paper, one for each round and one for each part.

use std::fmt::Write as _;

use qrcodegen::{QrCode, QrCodeEcc};
use serde::Serialize;

use super::html::Leaf;
use super::inline::inline;
use super::markdown::{Template, TemplateFault};
use super::plan::{hours, on_plate, summary, with};
use super::sheet::{AllowanceLine, Line, PhaseLines, Sheet, StepLine, setting_rows, step_lines};
use crate::plan::symptoms::Symptom;
use crate::plan::{Buy, Dried, LeftOut, Plan, Round};
use crate::recipe::{Recipe, Stage};
use crate::rulebook::Phase;

/// The template that makeready brings along.
const TEMPLATE: &str = include_str!("../../recipes/templates/traveller.md.hbs");
/// What paper asks for beyond the style of the recipe's page.
const STYLE: &str = include_str!("../../recipes/templates/traveller.css");

/// How much the sheets say.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Level {
    /// Steps with something to write down, and holds.
    Short,
    /// Every step.
    Usual,
    /// Every step with its reason.
    Full,
}

/// A round with what it is done by.
pub struct RoundSheet<'a> {
    pub round: &'a Round,
    /// The recipes of what lies on it, as the workshop is by then; the first gives steps and settings.
    pub recipes: Vec<&'a Recipe>,
    /// Width and depth of the bed, and what is kept free at its edge, mm.
    pub bed: [f64; 3],
}

/// A part with all that happens to it after the plate.
pub struct PartSheet<'a> {
    pub recipe: &'a Recipe,
    pub symptoms: Vec<Symptom>,
}

/// All that the sheets are made from.
pub struct Traveller<'a> {
    pub plan: &'a Plan,
    /// The number that ties every sheet to the plan.
    pub record: String,
    pub rounds: Vec<RoundSheet<'a>>,
    pub parts: Vec<PartSheet<'a>>,
    pub level: Level,
}

/// Returns the template that makeready brings along.
pub(crate) fn template() -> Result<Template, TemplateFault> {
    Template::parse(TEMPLATE)
}

/// Returns the sheets as one HTML file that needs nothing beside it.
pub(crate) fn page(traveller: &Traveller<'_>, leaves: &[Leaf]) -> String {
    // Letters and figures alone: it stands in a style.
    let plain = |text: &str| text.chars().filter(|c| c.is_alphanumeric() || " -.".contains(*c)).collect::<String>();
    let running = format!("run {} - record {}", plain(&traveller.plan.run), plain(&traveller.record));
    super::html::leaves(&format!("Traveller: {}", traveller.plan.run), &STYLE.replace("RUNNING", &running), leaves)
}

/// Returns the sheets as one Markdown text; drawings are in the HTML file alone.
pub(crate) fn markdown(leaves: &[Leaf]) -> String {
    let texts = leaves.iter().map(|leaf| {
        let lines = leaf.markdown.lines().filter(|line| !line.starts_with("!["));
        lines.map(|line| format!("{line}\n")).collect::<String>()
    });
    texts.collect::<Vec<_>>().join("\n---\n\n")
}

/// Returns the leaves: the cover, a sheet for each round, a sheet for each part.
pub(crate) fn leaves(traveller: &Traveller<'_>, template: &Template) -> Result<Vec<Leaf>, TemplateFault> {
    let mut all = vec![traveller.cover(template)?];
    for round in &traveller.rounds {
        all.push(traveller.round(round, template)?);
    }
    for part in &traveller.parts {
        all.push(traveller.part(part, template)?);
    }
    Ok(all)
}

/// What the template can use: one of the three is there.
#[derive(Serialize, Default)]
struct Page<'a> {
    cover: Option<Cover<'a>>,
    round: Option<RoundPage>,
    part: Option<PartPage<'a>>,
}

#[derive(Serialize)]
struct Cover<'a> {
    run: &'a str,
    record: &'a str,
    from: &'a str,
    summary: String,
    code: &'static str,
    band: String,
    drying: &'a [Dried],
    buy: &'a [Buy],
    days: Vec<Day>,
    left_out: &'a [LeftOut],
}

#[derive(Serialize)]
struct Day {
    day: String,
    machine: String,
    rounds: Vec<DayRow>,
}

#[derive(Serialize)]
struct DayRow {
    setup: String,
    begin: String,
    end: String,
    name: String,
    parts: String,
}

#[derive(Serialize)]
struct RoundPage {
    name: String,
    record: String,
    parts: String,
    printer: String,
    setup: String,
    begin: String,
    end: String,
    hours: String,
    mass: String,
    fitted: String,
    spools: String,
    changes: String,
    revisions: String,
    plate: &'static str,
    /// Of a few pieces, each with its line.
    places: Vec<PlaceRow>,
    /// Of many, in one sentence.
    many: Option<String>,
    settings: Vec<Line>,
    phases: Vec<Steps>,
}

#[derive(Serialize)]
struct PlaceRow {
    piece: String,
    corner: String,
    turn: String,
}

#[derive(Serialize)]
struct Steps {
    title: String,
    steps: Vec<StepLine>,
    hold: Option<String>,
}

#[derive(Serialize)]
struct PartPage<'a> {
    name: String,
    revision: Option<String>,
    purpose: Option<String>,
    record: String,
    wanted: u32,
    start: u32,
    spare: String,
    rounds: String,
    recipe: String,
    phases: Vec<Steps>,
    sample: Option<String>,
    limits: Vec<AllowanceLine>,
    symptoms: &'a [Symptom],
    reprint: String,
    labels: Vec<String>,
}

/// The link of the plate's drawing, which stands in its place.
const PLATE: &str = "plate.svg";
/// The link of the record's code.
const CODE: &str = "code.svg";

impl Traveller<'_> {
    fn cover(&self, template: &Template) -> Result<Leaf, TemplateFault> {
        let plan = self.plan;
        let cover = Cover {
            run: &plan.run,
            record: &self.record,
            from: &plan.from,
            summary: summary(plan),
            code: CODE,
            band: format!("{} to {} times", plan.bound.time_low, plan.bound.time_high),
            drying: &plan.drying,
            buy: &plan.buy,
            days: days(plan),
            left_out: &plan.left_out,
        };
        let markdown = template.page(&Page { cover: Some(cover), ..Page::default() })?;
        let pictures = code(&self.record).map(|svg| (CODE.to_owned(), "code", svg)).into_iter().collect();
        Ok(Leaf { markdown, pictures })
    }

    fn round(&self, sheet: &RoundSheet<'_>, template: &Template) -> Result<Leaf, TemplateFault> {
        let round = sheet.round;
        let first = sheet.recipes.first();
        let phases = first.map(|r| self.phases(r, is_of_the_plate)).unwrap_or_default();
        let revisions = sheet.recipes.iter().map(|r| {
            let revision = r.revision.as_ref().map_or("no revision stated", String::as_str);
            let start = self.plan.start.iter().find(|s| s.part == r.part);
            let digest = start.map_or("", |s| s.recipe.as_str());
            format!("{}, {}, `{digest}`", inline(&r.part), inline(revision))
        });
        let changes: Vec<String> = round.changes.iter().map(|c| format!("{}: {} → {}", c.what, c.from, c.to)).collect();
        let page = RoundPage {
            name: round.name.clone(),
            record: format!("{}:{}", self.record, round.name),
            parts: inline(&on_plate(&round.parts)),
            printer: inline(&round.printer),
            setup: round.setup.clone(),
            begin: round.begin.clone(),
            end: round.end.clone(),
            hours: hours(round.hours),
            mass: format!("{:.0} g", round.mass_g),
            fitted: inline(&with(round)),
            spools: inline(&round.spools.iter().map(|s| s.name.as_str()).collect::<Vec<_>>().join(", then ")),
            changes: if changes.is_empty() { "nothing".to_owned() } else { inline(&changes.join("; ")) },
            revisions: revisions.collect::<Vec<_>>().join("; "),
            plate: PLATE,
            places: if is_many(round) { Vec::new() } else { places(round) },
            many: is_many(round).then(|| many(round)),
            settings: first.map(|r| setting_rows(&r.settings)).unwrap_or_default(),
            phases,
        };
        let markdown = template.page(&Page { round: Some(page), ..Page::default() })?;
        Ok(Leaf { markdown, pictures: vec![(PLATE.to_owned(), "plate", plate(round, sheet.bed))] })
    }

    fn part(&self, sheet: &PartSheet<'_>, template: &Template) -> Result<Leaf, TemplateFault> {
        let recipe = sheet.recipe;
        let start = self.plan.start.iter().find(|s| s.part == recipe.part);
        let of_it = |r: &&Round| r.parts.iter().any(|p| p.part == recipe.part);
        let rounds: Vec<String> = self.plan.rounds.iter().filter(of_it).map(|r| r.name.clone()).collect();
        let (wanted, started) = start.map_or((0, 0), |s| (s.wanted, s.start));
        let cost = self.plan.cost.reprint.iter().find(|r| r.part == recipe.part);
        let unit = self.plan.cost.currency.as_deref().unwrap_or("(no currency stated)");
        let page = PartPage {
            name: inline(&recipe.part),
            revision: recipe.revision.as_deref().map(inline),
            purpose: recipe.purpose.as_deref().map(inline),
            record: self.record.clone(),
            wanted,
            start: started,
            spare: match started.saturating_sub(wanted) {
                0 => "none".to_owned(),
                1 => "one".to_owned(),
                n => n.to_string(),
            },
            rounds: rounds.join(", "),
            recipe: start.map_or_else(String::new, |s| format!("`{}`", s.recipe)),
            phases: self.phases(recipe, |stage| !is_of_the_plate(stage)),
            sample: start.and_then(|s| s.sample.clone()),
            limits: Sheet::of(recipe, None).allowances,
            symptoms: &sheet.symptoms,
            reprint: cost.map_or_else(|| "printing again".to_owned(), |c| format!("{:.2} {unit} a piece", c.by_itself)),
            labels: rounds,
        };
        let markdown = template.page(&Page { part: Some(page), ..Page::default() })?;
        Ok(Leaf { markdown, pictures: Vec::new() })
    }

    fn phases(&self, recipe: &Recipe, wanted: impl Fn(Stage) -> bool) -> Vec<Steps> {
        let phases = recipe.checklist.iter().filter(|p| wanted(p.phase) && !p.steps.is_empty());
        let one = |phase: &crate::recipe::Phase| {
            let lines = PhaseLines { title: phase.phase.title().to_owned(), steps: step_lines(recipe, &phase.steps) };
            let mut steps = lines.steps;
            if self.level != Level::Full {
                steps.iter_mut().for_each(|s| s.because.clear());
            }
            if self.level == Level::Short {
                steps.retain(|s| !s.blanks.is_empty());
            }
            Steps { title: lines.title, steps, hold: hold(phase.phase) }
        };
        phases.map(one).collect()
    }
}

/// Whether a phase belongs to the plate, not to what is done with the pieces afterwards.
fn is_of_the_plate(stage: Stage) -> bool {
    matches!(stage, Stage::Of(phase) if phase <= Phase::Removal)
}

/// What must be signed before the next phase.
fn hold(stage: Stage) -> Option<String> {
    match stage {
        Stage::Of(Phase::ChangeOver) => {
            Some("Nozzle, surface, material and spool are those at the head of this sheet.".to_owned())
        }
        Stage::Of(Phase::FirstLayer) => Some("The first layer lies flat and whole all over the plate.".to_owned()),
        Stage::FirstArticle => {
            Some("Every line of the first article is within; only then the others follow.".to_owned())
        }
        Stage::Of(Phase::Inspect) => Some("Every line is filled in, and what is not good lies apart.".to_owned()),
        Stage::Of(_) => None,
    }
}

/// The rounds by day and machine.
fn days(plan: &Plan) -> Vec<Day> {
    let mut days: Vec<Day> = Vec::new();
    for round in &plan.rounds {
        let day = round.setup.split(' ').next().unwrap_or_default();
        let short = |moment: &str| moment.strip_prefix(day).map_or(moment, str::trim).to_owned();
        let row = DayRow {
            setup: short(&round.setup),
            begin: short(&round.begin),
            end: short(&round.end),
            name: round.name.clone(),
            parts: inline(&on_plate(&round.parts)),
        };
        match days.iter_mut().find(|d| d.day == day && d.machine == round.printer) {
            Some(found) => found.rounds.push(row),
            None => days.push(Day { day: day.to_owned(), machine: round.printer.clone(), rounds: vec![row] }),
        }
    }
    days.sort_by(|a, b| (&a.day, &a.machine).cmp(&(&b.day, &b.machine)));
    days
}

/// From so many pieces on a table of them is longer than the sheet can bear.
const MANY: usize = 12;

fn is_many(round: &Round) -> bool {
    round.parts.iter().map(|p| p.places.len()).sum::<usize>() > MANY
}

fn many(round: &Round) -> String {
    let one = |p: &crate::plan::Place| {
        let turn = if p.turn_deg == 0.0 { String::new() } else { format!(" turned {:.0}°", p.turn_deg) };
        format!("{:.0}/{:.0}{turn}", p.x_mm, p.y_mm)
    };
    round.parts.iter().flat_map(|p| &p.places).map(one).collect::<Vec<_>>().join(", ")
}

fn places(round: &Round) -> Vec<PlaceRow> {
    let mut number = 0;
    let mut rows = Vec::new();
    for part in &round.parts {
        for place in &part.places {
            number += 1;
            rows.push(PlaceRow {
                piece: format!("{number} ({})", inline(&part.part)),
                corner: format!("{:.1} mm right, {:.1} mm back", place.x_mm, place.y_mm),
                turn: if place.turn_deg == 0.0 {
                    "as it lies".to_owned()
                } else {
                    format!("{:.0}° anticlockwise", place.turn_deg)
                },
            });
        }
    }
    rows
}

/// Draws the bed from above with its pieces, numbered; a second part is hatched, so that grey tells them apart too.
fn plate(round: &Round, [width, depth, edge]: [f64; 3]) -> String {
    let text = 0.035 * width.max(depth);
    let mut svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"{:.1} {:.1} {:.1} {:.1}\" role=\"img\">\n<title>{}</title>\n",
        -2.0,
        -2.0,
        width + 4.0,
        depth + 4.0 + 1.6 * text,
        escaped(&format!("bed {width:.0} x {depth:.0} mm from above: {}", on_plate(&round.parts)))
    );
    svg.push_str("<defs><pattern id=\"h\" width=\"4\" height=\"4\" patternUnits=\"userSpaceOnUse\" patternTransform=\"rotate(45)\"><path d=\"M0 0V4\" stroke=\"#000\" stroke-width=\".6\"/></pattern></defs>\n");
    let _ = writeln!(
        svg,
        "<rect width=\"{width:.1}\" height=\"{depth:.1}\" fill=\"#fff\" stroke=\"#000\" stroke-width=\"1\"/>"
    );
    if edge > 0.0 && 2.0 * edge < width.min(depth) {
        let _ = writeln!(
            svg,
            "<rect x=\"{edge:.1}\" y=\"{edge:.1}\" width=\"{:.1}\" height=\"{:.1}\" fill=\"none\" stroke=\"#000\" stroke-width=\".3\" stroke-dasharray=\"2 2\"/>",
            width - 2.0 * edge,
            depth - 2.0 * edge
        );
    }
    let mut number = 0;
    for (index, part) in round.parts.iter().enumerate() {
        let fill = ["#ddd", "url(#h)", "#fff", "#999"][index % 4];
        for place in &part.places {
            number += 1;
            let (s, c) = place.turn_deg.to_radians().sin_cos();
            let laid: Vec<[f64; 2]> = part
                .outline
                .iter()
                .map(|[x, y]| [place.x_mm + c * x - s * y, depth - (place.y_mm + s * x + c * y)])
                .collect();
            let points: Vec<String> = laid.iter().map(|[x, y]| format!("{x:.1},{y:.1}")).collect();
            let count = laid.len().max(1) as f64;
            let middle = laid.iter().fold([0.0, 0.0], |m, p| [m[0] + p[0] / count, m[1] + p[1] / count]);
            let _ = writeln!(
                svg,
                "<polygon points=\"{}\" fill=\"{fill}\" stroke=\"#000\" stroke-width=\".7\"/>",
                points.join(" ")
            );
            let _ = writeln!(
                svg,
                "<text x=\"{:.1}\" y=\"{:.1}\" font-size=\"{text:.1}\" text-anchor=\"middle\" font-family=\"sans-serif\">{number}</text>",
                middle[0],
                middle[1] + 0.35 * text
            );
        }
    }
    let _ = writeln!(
        svg,
        "<text x=\"0\" y=\"{:.1}\" font-size=\"{text:.1}\" font-family=\"sans-serif\">front of the machine</text>\n</svg>",
        depth + 1.3 * text
    );
    svg
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;")
}

/// Returns a text as a code that machines read (ISO/IEC 18004), as SVG; none where it is too long for one.
fn code(text: &str) -> Option<String> {
    let code = QrCode::encode_text(text, QrCodeEcc::Medium).ok()?;
    let size = code.size();
    let mut path = String::new();
    for y in 0..size {
        for x in (0..size).filter(|x| code.get_module(*x, y)) {
            let _ = write!(path, "M{} {}h1v1h-1z", x + 4, y + 4);
        }
    }
    let side = size + 8;
    Some(format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {side} {side}\" role=\"img\"><title>{}</title><rect width=\"{side}\" height=\"{side}\" fill=\"#fff\"/><path d=\"{path}\"/></svg>",
        escaped(text)
    ))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::{OnPlate, Place};

    #[test]
    fn a_plate_is_drawn_with_every_piece_on_the_bed() {
        let outline = vec![[0.0, 0.0], [20.0, 0.0], [20.0, 10.0], [0.0, 10.0]];
        let places =
            vec![Place { x_mm: 5.0, y_mm: 5.0, turn_deg: 0.0 }, Place { x_mm: 60.0, y_mm: 5.0, turn_deg: 90.0 }];
        let part = OnPlate { part: "a & b".to_owned(), count: 2, places, outline };
        let svg = plate(&Round { parts: vec![part], ..Round::default() }, [100.0, 80.0, 5.0]);
        // The first lies at the front left, which is at the foot of the drawing.
        assert!(svg.contains("points=\"5.0,75.0 25.0,75.0 25.0,65.0 5.0,65.0\""), "{svg}");
        // A quarter turn to the left: its length goes to the back.
        assert!(svg.contains("points=\"60.0,75.0 60.0,55.0 50.0,55.0 50.0,75.0\""), "{svg}");
        assert!(svg.contains("a &amp; b") && svg.matches("<polygon").count() == 2);
    }

    #[test]
    fn the_code_of_a_record_has_its_text_beside_it() {
        let svg = code("spring-service:0011").unwrap();
        assert!(svg.contains("<title>spring-service:0011</title>") && svg.matches("h1v1h-1z").count() > 100);
    }
}
