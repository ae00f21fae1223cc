//! `makeready coupon`: try pieces for the fits of a spec, and the recipe to print them by.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use super::args::CouponArgs;
use super::compile::options;
use super::exit::Exit;
use super::pipeline;
use super::terminal::Terminal;
use super::world::{World, shown};
use super::writing::{Batch, file_stem};
use crate::diag::{Diagnostic, Severity, nearest};
use crate::fits::allowance::{AllowanceLine, Route, allowance};
use crate::fits::coupon::{self, Cost, CouponPlan, Worth, worth};
use crate::fits::feature::FeatureKind;
use crate::geometry::mesh::Mesh;
use crate::geometry::read::NamedMesh;
use crate::geometry::write_3mf;
use crate::quantity::{Length, Money};
use crate::recipe::{Decided, Recipe, Stage, Step};
use crate::render::inline::inline;
use crate::render::sheet::setting_rows;
use crate::resolve::decide::full;
use crate::resolve::problem::Rules;
use crate::resolve::run::{self, Shape};
use crate::resolve::world::{Partial, World as Job, at};
use crate::resolve::{Outcome, fits};
use crate::rulebook::{CautionKind, Phase};
use crate::semantics::spec::FitFunction;

/// A plate this many times as high as thick wants a brim (common practice).
const SLENDER: f64 = 3.0;
/// Room between two coupons on the bed.
const GAP_MM: f64 = 8.0;
/// Deeper holes and higher pegs tell no more.
const DEEPEST_MM: f64 = 8.0;
/// Rules whose steps speak of the part's own model, copies and place on the bed, which are not the coupon's.
const OF_THE_PART: [&str; 12] = [
    "model-the-allowance",
    "model-the-ribs",
    "model-the-split",
    "model-the-bought-part",
    "export-the-model",
    "check-the-model",
    "enter-the-correction",
    "place-the-piece",
    "place-the-copies",
    "place-the-plates",
    "place-one-on-each-plate",
    "next-plate",
];
/// Fewer steps than this tell too little.
const LEAST_STEPS: usize = 3;

/// The coupon of one kind of feature.
struct Piece {
    fits: Vec<String>,
    plan: CouponPlan,
    line: AllowanceLine,
    mesh: Mesh,
    worth: Worth,
    /// What it costs against a scrapped part, and what follows.
    verdict: String,
}

/// The coupons of one part, with its recipe.
struct Sheet {
    recipe: Recipe,
    pieces: Vec<Piece>,
    /// Fits no coupon can be made for, each with the reason.
    without: Vec<String>,
}

pub(super) fn run(args: &CouponArgs, terminal: &Terminal) -> Result<Exit, Exit> {
    let world = World::around(&args.spec, args.inputs.allow_outside).map_err(|found| {
        terminal.findings(std::slice::from_ref(&found), &crate::diag::Sources::default());
        Exit::of(&[found])
    })?;
    let mut sheets = Vec::new();
    let mut names = BTreeSet::new();
    let compiled =
        pipeline::compile_visiting(&world, &args.spec, &options(&args.inputs, false), &mut |rules, outcome, recipe| {
            names.extend(rules.world.spec.fits.iter().map(|f| f.name.value.clone()));
            if let Outcome::Decided(decided) = outcome {
                sheets.push(sheet(rules, &full(&decided.choice), recipe, &args.fit));
            }
        });
    terminal.findings(&compiled.diagnostics, &compiled.sources);
    let exit = Exit::of(&compiled.diagnostics);
    if exit != Exit::Done {
        return Ok(exit);
    }
    let mut exit = known_fits(args, &names, terminal);
    if sheets.is_empty() {
        terminal.say("error[coupon/no-recipe]: the part can't be printed as specified, so there is nothing to try");
        terminal.say("  hint: `makeready compile` says why");
        return Ok(Exit::Wrong);
    }
    for sheet in &sheets {
        exit = exit.max(write(sheet, args, terminal)?);
    }
    Ok(exit)
}

fn known_fits(args: &CouponArgs, names: &BTreeSet<String>, terminal: &Terminal) -> Exit {
    let mut found = Vec::new();
    for asked in args.fit.iter().filter(|f| !names.contains(*f)) {
        let told = Diagnostic::new(Severity::Error, "usage/no-fit", format!("the spec has no fit \"{asked}\""));
        found.push(match nearest(asked, names.iter().map(String::as_str)) {
            Some(near) => told.hint(format!("did you mean \"{near}\"?")),
            None => told,
        });
    }
    terminal.findings(&found, &crate::diag::Sources::default());
    Exit::of(&found)
}

fn sheet(rules: &Rules<'_, '_>, choice: &Partial, recipe: &Recipe, asked: &[String]) -> Sheet {
    let world = rules.world;
    let mut sheet = Sheet { recipe: recipe.clone(), pieces: Vec::new(), without: Vec::new() };
    for (index, fit) in world.spec.fits.iter().enumerate() {
        let name = &fit.name.value;
        if !asked.is_empty() && !asked.contains(name) {
            continue;
        }
        match piece(world, index, choice) {
            Ok(piece) => match sheet.pieces.iter_mut().find(|p| p.plan == piece.plan) {
                Some(same) => same.fits.push(name.clone()),
                None => sheet.pieces.push(piece),
            },
            Err(reason) => sheet.without.push(format!("\"{name}\": {reason}")),
        }
    }
    sheet
}

fn piece(world: &Job<'_>, index: usize, choice: &Partial) -> Result<Piece, String> {
    let fit = world.spec.fits.get(index).ok_or("no such fit")?;
    if matches!(fit.function.value, FitFunction::Snap { .. } | FitFunction::Hinge { living: true, .. }) {
        return Err("a hook or a fold is tried as it is: print the part's own".to_owned());
    }
    let (function, context) = fits::context(world, index, choice).ok_or("nothing is decided")?;
    let line = allowance(&function, &context).map_err(|e| e.to_string())?;
    if matches!(line.route, Route::Replace { .. }) {
        return Err(line.route.to_string());
    }
    let depth = fit.depth.map(|d| d.value).or_else(|| world.fit_places.get(index)?.depth());
    // What a printer does to a hole shows in a few millimetres; more would only cost.
    let depth = depth.map(|d| Length::mm(d.to_mm().min(DEEPEST_MM)));
    let mut plan = CouponPlan::for_fit(&function, &line, &context, depth).map_err(|e| e.to_string())?;
    let mut mesh = solid(&plan)?;
    // A row longer than the bed loses a step at either end.
    while plan.sizes.len() > LEAST_STEPS && !fits_bed(world, choice, &mesh) {
        plan.sizes.pop();
        plan.sizes.remove(0);
        mesh = solid(&plan)?;
    }
    let shape = shape(&mesh);
    let cost = |p: run::Piece| Cost { mass: p.mass, time: p.time, money: p.cost.unwrap_or(Money::of(0.0)) };
    let coupon = cost(run::shaped(world, choice, 1, &shape).map_err(|why| why.to_string())?);
    let part = cost(run::piece(world, choice).map_err(|why| why.to_string())?);
    let worth = worth(&line, coupon, part, &context.practice);
    let verdict = verdict(&worth, coupon, part, world.bench.currency.as_deref());
    Ok(Piece { fits: vec![fit.name.value.clone()], plan, line, mesh, worth, verdict })
}

fn verdict(worth: &Worth, coupon: Cost, part: Cost, currency: Option<&str>) -> String {
    let cost = |c: Cost| {
        let minutes = c.time.to_min().round() as u64;
        let time =
            if minutes < 60 { format!("{minutes} min") } else { format!("{} h {} min", minutes / 60, minutes % 60) };
        // Where the shop states no currency, the figure says so, as in the recipe.
        let unit = currency.unwrap_or("(no currency stated)");
        format!("{:.0} g, {time}, {:.2} {unit}", c.mass.to_g(), c.money.amount())
    };
    format!(
        "coupon {}; a scrapped part {}; chance of scrap at the first try {:.0} %: {}",
        cost(coupon),
        cost(part),
        worth.risk * 100.0,
        if worth.recommended {
            "print the coupon first"
        } else {
            "it does not pay, print the part and gauge the first one"
        }
    )
}

fn solid(plan: &CouponPlan) -> Result<Mesh, String> {
    let built = plan.build().map_err(|e| e.to_string())?;
    Ok(Mesh { vertices: built.points, triangles: built.triangles })
}

fn fits_bed(world: &Job<'_>, choice: &Partial, mesh: &Mesh) -> bool {
    let Some(printer) = choice[at::PRINTER].and_then(|p| world.bench.printers.get(p)) else { return true };
    let bounds = mesh.bounds();
    let [x, y, _] = printer.free_mm();
    bounds.max[0] - bounds.min[0] <= x.max(y)
}

fn shape(mesh: &Mesh) -> Shape {
    let bounds = mesh.bounds();
    let built = coupon::CouponMesh {
        points: mesh.vertices.clone(),
        triangles: mesh.triangles.clone(),
        centres: Vec::new(),
        plate_volume: crate::quantity::Volume::mm3(0.0),
        label_volume: crate::quantity::Volume::mm3(0.0),
    };
    Shape {
        volume_mm3: coupon::volume(&built).to_mm3(),
        area_mm2: (0..mesh.triangles.len()).map(|t| mesh.normal_area(t).1).sum(),
        height_mm: bounds.max[2] - bounds.min[2],
        support_mm3: 0.0,
    }
}

fn write(sheet: &Sheet, args: &CouponArgs, terminal: &Terminal) -> Result<Exit, Exit> {
    let part = &sheet.recipe.part;
    if sheet.pieces.is_empty() {
        terminal.say(&format!("{part}: no fit to make a coupon for"));
        sheet.without.iter().for_each(|w| terminal.say(&format!("  {w}")));
        return Ok(Exit::Done);
    }
    if let Some(folder) = &args.out {
        std::fs::create_dir_all(folder).map_err(|e| {
            terminal.say(&format!("error: the folder `{}` can't be made: {}", shown(folder), e.kind()));
            Exit::Misuse
        })?;
    }
    let folder = args.out.as_deref().or(args.spec.parent()).unwrap_or(Path::new(""));
    let head = |end: &str| folder.join(format!("{}.coupon.{end}", file_stem(part)));
    let (model, page): (PathBuf, PathBuf) = (head("3mf"), head("recipe.md"));
    let package = write_3mf::package(&laid_out(sheet)).map_err(|e| {
        terminal.say(&format!("error: the coupon can't be packed: {}", e.kind()));
        Exit::OurBug
    })?;
    let name = model.file_name().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default();
    let mut batch = Batch::default();
    batch
        .add_bytes(&model, &package)
        .and_then(|()| batch.add(&page, &markdown(sheet, &name)))
        .and_then(|()| batch.finish())
        .map_err(|message| {
            terminal.say(&format!("error[file/unwritable]: {message}"));
            Exit::Misuse
        })?;
    for p in &sheet.pieces {
        terminal.say(&format!("{part}: {}: {}", quoted(&p.fits), p.verdict));
    }
    sheet.without.iter().for_each(|w| terminal.say(&format!("{part}: no coupon for {w}")));
    terminal.say(&format!("{part}: {} and {}", shown(&model), shown(&page)));
    Ok(Exit::Done)
}

fn quoted(names: &[String]) -> String {
    names.iter().map(|n| format!("\"{n}\"")).collect::<Vec<_>>().join(", ")
}

/// The coupons one behind the other, so that none lies in another.
fn laid_out(sheet: &Sheet) -> Vec<NamedMesh> {
    let mut y = 0.0;
    let mut objects = Vec::new();
    for p in &sheet.pieces {
        let bounds = p.mesh.bounds();
        let by = y - bounds.min[1];
        let mut mesh = p.mesh.clone();
        mesh.vertices.iter_mut().for_each(|v| v[1] += by);
        y += bounds.max[1] - bounds.min[1] + GAP_MM;
        objects.push(NamedMesh { name: format!("coupon {}", p.fits.join(" ")), mesh });
    }
    objects
}

fn markdown(sheet: &Sheet, model: &str) -> String {
    let recipe = &sheet.recipe;
    let mut out = format!("# Coupon for {}\n\n", inline(&recipe.part));
    let print = sheet.pieces.iter().any(|p| p.worth.recommended);
    out.push_str(if print {
        "**Print it before the part.** "
    } else {
        "**It does not pay: print the part and gauge the first one.** "
    });
    out.push_str(&format!(
        "The model is `{model}`, in millimetres, in the pose to print it in: leave it as it lies. No supports.\n\n"
    ));
    pieces_table(sheet, &mut out);
    for p in &sheet.pieces {
        out.push_str(&format!("- {}: {}.\n", quoted(&p.fits), inline(&p.verdict)));
    }
    for w in &sheet.without {
        out.push_str(&format!("- No coupon for {}.\n", inline(w)));
    }
    out.push_str(&format!(
        "\nThe chance of scrap is computed from the spread and, without a calibration record, from the doubt about the \
         default; time, mass and cost by the part's own settings ({}).\n",
        sheet.pieces.first().map_or(String::new(), |p| p.worth.source.to_string())
    ));
    setup(recipe, &mut out);
    steps(sheet, &mut out);
    table_to_fill(sheet, &mut out);
    out
}

fn pieces_table(sheet: &Sheet, out: &mut String) {
    out.push_str("| coupon | feature | modelled at, mm | finished size | size to model now |\n|---|---|---|---|---|\n");
    for p in &sheet.pieces {
        let sizes: Vec<String> = p.plan.sizes.iter().map(|s| CouponPlan::label(*s)).collect();
        out.push_str(&format!(
            "| {} | {}, {}, {} deep | {} | {} | {} |\n",
            inline(&p.fits.join(", ")),
            p.plan.kind,
            p.plan.axis.in_words(),
            fits::shown(p.plan.depth),
            sizes.join(", "),
            fits::limits(p.line.target.low, p.line.target.high),
            fits::shown(p.line.size_to_model)
        ));
    }
    out.push('\n');
}

fn setup(recipe: &Recipe, out: &mut String) {
    out.push_str("\n## As the part\n\n| what | take |\n|---|---|\n");
    if let Some(d) = &recipe.decisions {
        let rows: [(&str, &Decided); 5] = [
            ("printer", &d.printer),
            ("material", &d.material),
            ("nozzle", &d.nozzle),
            ("surface", &d.surface),
            ("agent", &d.agent),
        ];
        for (what, decided) in rows {
            let detail = if decided.detail.is_nothing() {
                String::new()
            } else {
                format!("; {}", inline(&decided.detail.to_string()))
            };
            out.push_str(&format!("| {what} | {}{detail} |\n", inline(&decided.value)));
        }
    }
    for row in setting_rows(&recipe.settings) {
        out.push_str(&format!("| {} | {} |\n", row.what.to_lowercase(), row.value));
    }
}

fn steps(sheet: &Sheet, out: &mut String) {
    let before = [Phase::Ahead, Phase::Prepare, Phase::ChangeOver, Phase::FirstLayer, Phase::During].map(Stage::Of);
    let of_part = |step: &&Step| {
        let about_model = step.because.rule.as_deref().is_some_and(|rule| OF_THE_PART.contains(&rule));
        about_model || step.text.names("part") || step.reads("supports")
    };
    for phase in sheet.recipe.checklist.iter().filter(|p| before.contains(&p.phase)) {
        out.push_str(&format!("\n## {}\n\n", phase.phase.title()));
        if phase.phase == Stage::Of(Phase::Prepare) {
            out.push_str("- [ ] Check that the model on the machine is the coupon, in millimetres and as it lies. checked by: ______\n");
            own_preparation(sheet, out);
        }
        for step in phase.steps.iter().filter(|s| !of_part(s)) {
            let blanks: String = step.blanks.iter().map(|b| format!(" {b}: ______")).collect();
            out.push_str(&format!("- [ ] {}{blanks}\n", inline(&step.text.to_string())));
        }
    }
    try_it(sheet, out);
    cautions(&sheet.recipe, out);
}

fn own_preparation(sheet: &Sheet, out: &mut String) {
    out.push_str("- [ ] Print all of it in one go, with the part's own spool, nozzle and settings.\n");
    let stands = |p: &&Piece| {
        let bounds = p.mesh.bounds();
        let sides = [0, 1, 2].map(|k| bounds.max[k] - bounds.min[k]);
        sides[2] > SLENDER * sides[1]
    };
    let slender: Vec<String> = sheet.pieces.iter().filter(stands).map(|p| quoted(&p.fits)).collect();
    if !slender.is_empty() {
        out.push_str(&format!(
            "- [ ] Give {} a brim of 5 mm: standing on its edge it has little to hold it.\n",
            slender.join(" and ")
        ));
    }
}

/// What to do with the printed coupon to find the size that fits.
fn trial(kind: FeatureKind) -> String {
    let mate = match kind {
        FeatureKind::Hole => "Try the mating part in each hole",
        FeatureKind::Outside => "Try each peg in the mating part",
    };
    format!("{mate}; note the figure of the one that fits: ______")
}

fn try_it(sheet: &Sheet, out: &mut String) {
    out.push_str(
        "\n## Try it\n\n- [ ] Let it cool to room temperature; treat it (anneal, condition) as the part will be.\n\
         - [ ] Measure every feature twice, a quarter turn apart, and enter the sizes in the table below.\n",
    );
    for p in &sheet.pieces {
        out.push_str(&format!("- [ ] {}: {}\n", quoted(&p.fits), trial(p.plan.kind)));
        if let Some(finish) = p.line.route.finish() {
            out.push_str(&format!(
                "- [ ] {}: then finish as the part will be: {}.\n",
                quoted(&p.fits),
                inline(&finish.step.to_string())
            ));
        }
    }
}

/// The part's cautions that hold for the coupon too: what the machine and the melt can do to a person.
fn cautions(recipe: &Recipe, out: &mut String) {
    let about_work = [CautionKind::Injury, CautionKind::Fire, CautionKind::Health, CautionKind::Usual];
    let mut of_coupon = recipe.cautions.iter().filter(|c| about_work.contains(&c.kind)).peekable();
    if of_coupon.peek().is_some() {
        out.push_str("\n## Cautions\n\n");
    }
    for caution in of_coupon {
        out.push_str(&format!("- {}\n", inline(&caution.text.to_string())));
    }
}

/// The table for `makeready calibrate`, with everything known filled in.
fn table_to_fill(sheet: &Sheet, out: &mut String) {
    let value = |d: fn(&crate::recipe::Decisions) -> &Decided| {
        sheet.recipe.decisions.as_ref().map_or(String::new(), |all| d(all).value.clone())
    };
    let (material, printer, nozzle) = (value(|d| &d.material), value(|d| &d.printer), value(|d| &d.nozzle));
    out.push_str(
        "\n## Enter what you measured\n\nFill in `measured` (mm) and `date`, save it as a CSV file and run `makeready \
         calibrate` on it.\n\n```csv\nfeature,nominal,axis,measured,material,printer,nozzle,date,gauge\n",
    );
    for p in &sheet.pieces {
        for size in &p.plan.sizes {
            out.push_str(&row(p, *size, &material, &printer, &nozzle));
        }
    }
    out.push_str("```\n");
}

fn row(p: &Piece, size: Length, material: &str, printer: &str, nozzle: &str) -> String {
    format!("{},{},{},,{material},{printer},{nozzle},,\n", p.plan.kind, CouponPlan::label(size), p.plan.axis)
}
