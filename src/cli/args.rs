//! What can be typed.

use std::path::PathBuf;

use clap::{Args, Parser, Subcommand, ValueEnum};

/// Compile what a part must do, and its mesh, into a recipe for printing it by material extrusion
///
/// A part spec says what the part must stand: heat, sun, chemicals, loads, fits, how many. makeready reads it beside
/// the mesh and the list of what the workshop has, and writes a recipe: printer, material, nozzle, surface, agent, the
/// way up, supports, allowances, settings, the run and a checklist, each with its reason and source.
#[derive(Debug, Parser)]
#[command(
    name = "makeready",
    version,
    arg_required_else_help = true,
    after_help = "\
Begin here:
  makeready new coat-hook                    a starter folder that explains itself
  makeready compile coat-hook/*.partspec     writes the recipe beside the spec

Exit codes: 0 done; 1 the spec is wrong or can't be met; 2 misuse, or a file that can't be read; 3 a bug in makeready."
)]
pub(super) struct Cli {
    #[command(subcommand)]
    pub command: Command,

    /// Colour messages: auto (on a terminal, unless NO_COLOR is set), always, never
    #[arg(long, global = true, value_enum, default_value_t = Colour::Auto, value_name = "WHEN", hide_possible_values = true)]
    pub color: Colour,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum Colour {
    Auto,
    Always,
    Never,
}

#[derive(Debug, Subcommand)]
pub(super) enum Command {
    Compile(CompileArgs),
    Plan(PlanArgs),
    Record(RecordArgs),
    Floor(FloorArgs),
    Check(CheckArgs),
    Fmt(FmtArgs),
    Diff(DiffArgs),
    Impact(ImpactArgs),
    Explain(ExplainArgs),
    Ask(AskArgs),
    Draft(DraftArgs),
    Catalogue(CatalogueArgs),
    New(NewArgs),
    Measure(MeasureArgs),
    Fit(FitArgs),
    Stress(StressArgs),
    Calc(CalcArgs),
    Coupon(CouponArgs),
    Calibrate(CalibrateArgs),
    Look(LookArgs),
    Lsp(LspArgs),
    Schema(SchemaArgs),
    Completions(CompletionArgs),
    Manual(ManualArgs),
}

/// Write the recipe of each part
///
/// Writes PART.recipe.md and PART.recipe.yaml beside the spec (and PART.recipe.svg where the mesh can be drawn). A spec
/// with errors writes nothing; a part that can't be printed as specified gets a page that says why, and the exit code
/// is 1.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  makeready compile jobs/vane/vane.partspec
  makeready compile jobs/*/*.partspec --out recipes
  makeready compile vane.partspec --print md | less
  makeready compile vane.partspec --print html --sheet > vane.html      the sheet for the machine, to be printed
  makeready compile vane.partspec --shop workshop/shop.yaml --print json

With --print and several parts, `md` and `yaml` come one after the other (YAML as a stream of documents) and `json` and
`html` as a list and as one page; a single part prints as a single JSON object.")]
pub(super) struct CompileArgs {
    /// Part specs to compile; a folder stands for every spec in it
    #[arg(required = true, value_name = "SPEC")]
    pub specs: Vec<PathBuf>,

    /// Write the recipes into this folder instead of beside each spec
    #[arg(long, value_name = "DIR", conflicts_with = "print")]
    pub out: Option<PathBuf>,

    /// Print the recipe to stdout instead of writing files
    #[arg(long, value_enum, value_name = "FORM")]
    pub print: Option<RecipeForm>,

    /// Print only the sheet that hangs at the machine, without the part for the review
    #[arg(long, requires = "print")]
    pub sheet: bool,

    /// Write what the recipes were made from into this file, in the form that Make and Ninja read
    #[arg(long, value_name = "FILE", conflicts_with = "print")]
    pub depfile: Option<PathBuf>,

    #[command(flatten)]
    pub inputs: InputArgs,

    /// Lay the page out with this Handlebars template instead of the built-in one
    #[arg(long, value_name = "FILE")]
    pub template: Option<PathBuf>,

    /// How many specs to compile at the same time [default: one per core]
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=256))]
    pub jobs: Option<u16>,
}

/// Plan a run: how many to start, on which plates, where and when
///
/// Reads a run file (NAME.runspec: what to make, by when, on which printers, in which hours; grammar/language.md, "In
/// `run`"), compiles every part, and writes NAME.plan.md, .html and .yaml beside it. A folder stands for a run of one of
/// each spec in it. What a part's recipe does not settle is not planned: it is left out, with why.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  makeready plan spring.runspec
  makeready plan spring.runspec --print json
  makeready plan jobs --from '2026-12-07 07:00'     one of each spec in a folder

Exit codes: 0 planned; 1 the run is wrong, or a part is left out or late; 2 misuse.")]
pub(super) struct PlanArgs {
    /// Run files; a folder stands for a run of one of each spec in it
    #[arg(required = true, value_name = "RUN")]
    pub runs: Vec<PathBuf>,

    /// When the run of a folder begins, by the clock on the wall; a run file says so itself
    #[arg(long, value_name = "'DAY TIME'")]
    pub from: Option<String>,

    /// Write the plan into this folder instead of beside the run file
    #[arg(long, value_name = "DIR", conflicts_with = "print")]
    pub out: Option<PathBuf>,

    /// Print the plan to stdout instead of writing files
    #[arg(long, value_enum, value_name = "FORM")]
    pub print: Option<RecipeForm>,

    /// Write what the plan was made from into this file, in the form that Make and Ninja read
    #[arg(long, value_name = "FILE", conflicts_with = "print")]
    pub depfile: Option<PathBuf>,

    #[command(flatten)]
    pub inputs: InputArgs,

    /// Lay the page out with this Handlebars template instead of the built-in one
    #[arg(long, value_name = "FILE")]
    pub template: Option<PathBuf>,

    /// How much the travellers say: short, usual, full (with reasons)
    #[arg(long, value_enum, default_value_t = Detail::Usual, value_name = "LEVEL", hide_possible_values = true)]
    pub detail: Detail,

    /// Lay the travellers out with this Handlebars template instead of the built-in one
    #[arg(long, value_name = "FILE")]
    pub traveller_template: Option<PathBuf>,

    /// How many specs to compile at the same time [default: one per core]
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=256))]
    pub jobs: Option<u16>,
}

/// How much a traveller says.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum Detail {
    Short,
    Usual,
    Full,
}

/// Open the form of a run for what comes back from the floor, or add a filled one to its records
///
/// Without --add, writes NAME.form.csv and NAME.form.yaml beside the run: a row for each part on each plate that is not
/// recorded yet. With --add, checks a filled form and adds its rows to NAME.records.csv; what stands there is never
/// rewritten. Rows that nothing is filled into are passed over. `makeready plan` then plans what is left. With --into-shop,
/// what the records say of the workshop goes into its file: how many came out good, what is left on spools and when they
/// were dried, what is on the machines, and their pace. What is written there otherwise stays, comments too.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  makeready record spring.runspec
  makeready record spring.runspec --add spring.form.csv
  makeready record spring.runspec --into-shop --dry-run")]
pub(super) struct RecordArgs {
    /// The run
    #[arg(value_name = "RUN")]
    pub run: PathBuf,

    /// A filled form, CSV or YAML
    #[arg(long, value_name = "FORM", conflicts_with = "into_shop")]
    pub add: Option<PathBuf>,

    /// Write what the records say of the workshop into its file
    #[arg(long)]
    pub into_shop: bool,

    /// Say what would be written into the workshop's file, and write nothing
    #[arg(long, requires = "into_shop")]
    pub dry_run: bool,
}

/// Say what runs, what is late, and what to fetch for the next day, from a run's records and plan
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  makeready floor spring.runspec
  makeready floor spring.runspec --at '2026-12-08 16:00'")]
pub(super) struct FloorArgs {
    /// The run
    #[arg(value_name = "RUN")]
    pub run: PathBuf,

    /// The moment to look from; the latest in the records where nothing is said, since no clock is read
    #[arg(long, value_name = "'DAY TIME'")]
    pub at: Option<String>,
}

/// What every command that reads specs takes.
#[derive(Debug, Args, Clone, Default)]
pub(super) struct InputArgs {
    /// Use this workshop file instead of the nearest shop.yaml
    #[arg(long, value_name = "FILE")]
    pub shop: Option<PathBuf>,

    /// Let specs name files outside the project folder
    #[arg(long)]
    pub allow_outside: bool,

    /// Neither use nor keep facts of meshes in the cache folder
    #[arg(long)]
    pub no_cache: bool,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum RecipeForm {
    /// The page, as Markdown
    Md,
    /// The recipe for machines, as YAML
    Yaml,
    /// The recipe for machines, as JSON
    Json,
    /// The page, as one HTML file that prints well
    Html,
}

/// Look for mistakes in specs, rules, workshop files and templates
///
/// Reads what it is given (folders whole) and writes nothing. Prints the findings to stdout; the exit code is 1 if one
/// of them is an error.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  makeready check                        everything below this folder
  makeready check jobs --strict          assumptions and questions count as errors
  makeready check vane.partspec --print json
  makeready check --print sarif jobs > found.sarif    OASIS SARIF 2.1.0, for a review
  makeready check --locked jobs          are the recipes and plans there what `compile` and `plan` write today?")]
pub(super) struct CheckArgs {
    /// Files or folders; folders are searched for *.partspec, *.runspec, *.rules and shop.yaml
    #[arg(value_name = "PATH", default_value = ".")]
    pub paths: Vec<PathBuf>,

    /// Count warnings, assumptions and open questions as errors
    #[arg(long)]
    pub strict: bool,

    /// Compile in memory, and count every recipe that is missing, stale, edited by hand or without its part as an error;
    /// a run's plan likewise, where one lies beside it
    #[arg(long)]
    pub locked: bool,

    /// With --locked: the folder the recipes were written to, if not beside each spec
    #[arg(long, value_name = "DIR", requires = "locked")]
    pub out: Option<PathBuf>,

    /// With --locked: the Handlebars template the pages were laid out with
    #[arg(long, value_name = "FILE", requires = "locked")]
    pub template: Option<PathBuf>,

    /// How to print the findings: text, short (one line each), json, or sarif (OASIS SARIF 2.1.0)
    #[arg(long, value_enum, default_value_t = FindingForm::Text, value_name = "FORM", hide_possible_values = true)]
    pub print: FindingForm,

    #[command(flatten)]
    pub inputs: InputArgs,
}

/// Lay specs and rules out alike
///
/// Rewrites files in the one layout of the house: two spaces a block, a statement a line, arguments in one column.
/// Only spaces and line ends change; comments stay. A file that can't be read is told and left as it is.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  makeready fmt                          everything below this folder
  makeready fmt vane.partspec
  makeready fmt --check jobs             name the files that would change, and exit with 1
  makeready fmt - < vane.partspec        from stdin to stdout, for an editor")]
pub(super) struct FmtArgs {
    /// Files or folders; folders are searched for *.partspec and *.rules; `-` reads stdin
    #[arg(value_name = "PATH", default_value = ".")]
    pub paths: Vec<PathBuf>,

    /// Change nothing; name the files that would change, and exit with 1 if there are any
    #[arg(long)]
    pub check: bool,
}

/// Say what two states of a project decide differently, and why
///
/// Compiles both and compares what they decide: status, margins, decisions, fits, settings, the run. Each difference is
/// put down to a statement, a workshop entry, a rule or the mesh by solving the earlier state again with that change
/// alone, then with two. Exit code: 0 nothing is decided otherwise, 1 something is, 2 misuse.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  makeready diff --from HEAD~1 jobs            since the commit before
  makeready diff --from main --print md jobs   as a comment under a pull request
  makeready diff old/vane.partspec vane.partspec")]
pub(super) struct DiffArgs {
    /// What to compare: with --from, files or folders as they are now; without, two files or folders, the earlier first
    #[arg(value_name = "PATH")]
    pub paths: Vec<PathBuf>,

    /// The earlier state: a revision of the git repository around the first path
    #[arg(long, value_name = "REV")]
    pub from: Option<String>,

    /// How to print it: text, md, or json
    #[arg(long, value_enum, default_value_t = DiffForm::Text, value_name = "FORM", hide_possible_values = true)]
    pub print: DiffForm,

    #[command(flatten)]
    pub inputs: InputArgs,
}

/// Say what a change would do to every recipe, before it is made
///
/// Compiles each spec as it is, and with another workshop file, rule, catalogue, shared spec or mesh in its place; nothing is
/// written. What can no longer be printed comes first. Exit code: 0 nothing is decided otherwise, 1 something is, 2 misuse.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  makeready impact --shop new-shop.yaml jobs
  makeready impact --file workshop/own.rules=draft.rules --print md")]
pub(super) struct ImpactArgs {
    /// Specs, or folders of them
    #[arg(value_name = "PATH", default_value = ".")]
    pub paths: Vec<PathBuf>,

    /// A workshop file in place of each project's shop.yaml
    #[arg(long, value_name = "FILE")]
    pub shop: Option<PathBuf>,

    /// A file in place of another of the project; as often as needed
    #[arg(long, value_name = "OLD=NEW")]
    pub file: Vec<String>,

    /// How to print it: text, md, or json
    #[arg(long, value_enum, default_value_t = DiffForm::Text, value_name = "FORM", hide_possible_values = true)]
    pub print: DiffForm,

    /// Neither use nor keep facts of meshes in the cache folder
    #[arg(long)]
    pub no_cache: bool,
}

/// Show a part in a browser of this machine while its spec is written
///
/// A page on loopback only: the part to be turned as it lies, with its holes and what hangs over, the page for the machine,
/// findings, and what each number of the spec would decide. It is made again when a file it was made from is saved. Nothing is
/// written. Stop it with Ctrl-C.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  makeready look vane.partspec
  makeready look vane.partspec --port 8040")]
pub(super) struct LookArgs {
    /// The spec
    #[arg(value_name = "SPEC")]
    pub spec: PathBuf,

    /// The port; one that is free without
    #[arg(long, value_name = "N", default_value_t = 0, hide_default_value = true)]
    pub port: u16,

    #[command(flatten)]
    pub inputs: InputArgs,
}

/// Serve an editor: the Language Server Protocol on stdin and stdout
///
/// Findings as you type, what a word means and what it decided, completion, definitions, ways out as actions, layout. An editor
/// starts it by itself; grammar/editors.md says how. Nothing is written but by the editor.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  makeready lsp                          as the command of a language server for *.partspec, *.runspec, *.rules, shop.yaml")]
pub(super) struct LspArgs {
    #[command(flatten)]
    pub inputs: InputArgs,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum DiffForm {
    Text,
    Md,
    Json,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum FindingForm {
    /// For people, with the lines they speak of
    Text,
    /// One line each
    Short,
    /// As data of our own
    Json,
    /// As OASIS SARIF 2.1.0, for what shows findings beside changed lines
    Sarif,
}

/// Say why a recipe is as it is
///
/// Without a decision, gives all of them. `not VALUE` gives the reason why a material, nozzle or other choice was
/// rejected. `--rule NAME` prints the page of a rule.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  makeready explain vane.partspec
  makeready explain vane.partspec material
  makeready explain vane.partspec not glass
  makeready explain vane.partspec not '-z down'
  makeready explain vane.partspec --with 'service { air -20 °C .. 60 °C }' --without 'load \"gust\"'
  makeready explain vane.partspec breaks        which material serves until what temperature
  makeready explain vane.partspec sure          which assumed value would turn the choice
  makeready explain --rule heat-margin

Decisions: printer, material, nozzle, surface, agent, pose, supports; or the name of a setting, a fit or a margin.")]
pub(super) struct ExplainArgs {
    /// The spec whose recipe is explained
    #[arg(value_name = "SPEC", required_unless_present = "rule")]
    pub spec: Option<PathBuf>,

    /// A decision; `not` and a choice that was rejected; `load` and a load's name, for the hand sum beside the field; `breaks`,
    /// where each number of the spec turns the choice; `sure`, which value known as a band only would turn it
    #[arg(value_name = "DECISION | not VALUE | load NAME | breaks | sure", num_args = 0..=2)]
    pub what: Vec<String>,

    /// As if the spec said this as well, or in place of what it says; as often as needed. Alone: what would be decided otherwise
    #[arg(long, value_name = "LINE", conflicts_with = "rule")]
    pub with: Vec<String>,

    /// As if the spec did not say this; as often as needed
    #[arg(long, value_name = "LINE", conflicts_with = "rule")]
    pub without: Vec<String>,

    /// How to print what --with and --without would decide otherwise: text, md, or json
    #[arg(long, value_enum, default_value_t = DiffForm::Text, value_name = "FORM", hide_possible_values = true)]
    pub print: DiffForm,

    /// Explain a rule instead
    #[arg(long, value_name = "NAME", conflicts_with_all = ["spec", "what"])]
    pub rule: Option<String>,

    #[command(flatten)]
    pub inputs: InputArgs,
}

/// Ask what a spec leaves open, with what each answer would lead to
///
/// The question first that would change most; every answer is found by solving again.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  makeready ask jobs/vane/vane.partspec")]
pub(super) struct AskArgs {
    /// The spec
    #[arg(value_name = "SPEC")]
    pub spec: PathBuf,

    #[command(flatten)]
    pub inputs: InputArgs,
}

/// Write a first spec for a mesh, and ask what it leaves open
///
/// The spec is written beside the mesh, never over one that is there: size, flat sides and holes as measured, and what they
/// could be for as lines to take or strike.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  makeready draft jobs/vane/vane.stl
  makeready draft bracket.stl --unit in --print")]
pub(super) struct DraftArgs {
    /// A mesh file: STL, 3MF, OBJ or OFF
    #[arg(value_name = "MESH")]
    pub mesh: PathBuf,

    /// Unit of the numbers in the file: um, mm, cm, m, in, ft [default: mm for STL; what a 3MF says]
    #[arg(long, value_name = "UNIT")]
    pub unit: Option<String>,

    /// Print the spec to stdout instead of writing it
    #[arg(long)]
    pub print: bool,

    /// Neither use nor keep facts of meshes in the cache folder
    #[arg(long)]
    pub no_cache: bool,
}

/// Show the materials, nozzles, surfaces, agents, chemicals and colours that are known
///
/// Without a kind, lists the kinds; with a kind, its entries; with a name, every value of the entry with its range, its
/// kind of source and the source.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  makeready catalogue
  makeready catalogue material
  makeready catalogue surface glass")]
pub(super) struct CatalogueArgs {
    /// A kind of entry
    #[arg(value_name = "KIND")]
    pub kind: Option<String>,

    /// The name of an entry
    #[arg(value_name = "NAME")]
    pub name: Option<String>,
}

/// Make a starter folder: a spec that compiles, its mesh, and a workshop file
#[derive(Debug, Args)]
#[command(after_help = "\
Example:
  makeready new coat-hook
  makeready compile coat-hook/coat-hook.partspec")]
pub(super) struct NewArgs {
    /// Name of the part and of the folder: letters, digits, hyphens
    #[arg(value_name = "NAME")]
    pub name: String,
}

/// Measure a mesh: health, size, mass properties, holes, walls, overhangs, poses
///
/// A damaged mesh is measured as far as that means something, and its defects are listed.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  makeready measure vane.stl
  makeready measure vane.stl --pose best --layer 0.2mm
  makeready measure bracket.stl --unit in --print json")]
pub(super) struct MeasureArgs {
    /// A mesh file: STL, 3MF, OBJ or OFF
    #[arg(value_name = "MESH")]
    pub mesh: PathBuf,

    /// Unit of the numbers in the file: um, mm, cm, m, in, ft [default: mm for STL; what a 3MF says]
    #[arg(long, value_name = "UNIT")]
    pub unit: Option<String>,

    /// Which way is up: as-placed, best, +x, -x, +y, -y, +z, -z
    #[arg(long, value_name = "POSE", default_value = "as-placed", allow_hyphen_values = true)]
    pub pose: String,

    /// Overhang from the vertical beyond which support is considered [default: 45deg]
    #[arg(long, value_name = "ANGLE")]
    pub limit: Option<String>,

    /// Layer height for the layered analysis [default: 0.2mm]
    #[arg(long, value_name = "LENGTH")]
    pub layer: Option<String>,

    /// Neither use nor keep facts of meshes in the cache folder
    #[arg(long)]
    pub no_cache: bool,

    /// How to print the result: text or json
    #[arg(long, value_enum, default_value_t = ResultForm::Text, value_name = "FORM", hide_possible_values = true)]
    pub print: ResultForm,
}

/// Look up limits and sizes: ISO 286 fits, holes for screws, threads, bearings, grooves, pockets, lids, keyways
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  makeready fit \"20 mm H7/g6\"
  makeready fit \"M5 medium\"
  makeready fit bearing 608
  makeready fit groove shaft for ring 20 mm x 2.5 mm
  makeready fit \"bore 8 mm H11 flat 7 mm\"
  makeready fit \"thread M10\" --print json")]
pub(super) struct FitArgs {
    /// What to look up, as a fitter would write it
    #[arg(value_name = "TEXT", required = true)]
    pub text: Vec<String>,

    /// How to print the result: text or json
    #[arg(long, value_enum, default_value_t = ResultForm::Text, value_name = "FORM", hide_possible_values = true)]
    pub print: ResultForm,
}

/// List the computations that rules may call, or do one by hand
///
/// Without a name, lists every one with its inputs, formula and source. With a name and its inputs, shows the working.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  makeready calc
  makeready calc --print json
  makeready calc pressure_wall \"pressure=4 bar\" \"inner_diameter=20 mm\" \"limit=3 MPa\"")]
pub(super) struct CalcArgs {
    /// The computation
    #[arg(value_name = "NAME")]
    pub name: Option<String>,

    /// Its inputs, each with its unit
    #[arg(value_name = "INPUT=VALUE", requires = "name")]
    pub inputs: Vec<String>,

    /// How to print the result: text or json
    #[arg(long, value_enum, default_value_t = ResultForm::Text, value_name = "FORM", hide_possible_values = true)]
    pub print: ResultForm,
}

/// Solve the elasticity of a spec's part under each of its loads
///
/// Solid, alike in all directions, short-term, at room temperature, without any factor: what the shape does with the
/// load, whatever it is printed of. Stresses are averaged over about a bead and leave out the rims of ideal holds and
/// sharp inner corners; displacements and the buckling factor are those of the modulus that is named.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  makeready stress vane.partspec
  makeready stress vane.partspec --load gust --pose +y
  makeready stress vane.partspec --print json")]
pub(super) struct StressArgs {
    /// The spec whose loads are solved
    #[arg(value_name = "SPEC")]
    pub spec: PathBuf,

    /// Only this load [default: every load]
    #[arg(long, value_name = "NAME")]
    pub load: Option<String>,

    /// Stresses across and between the layers of a part printed this way up: +x, -x, +y, -y, +z, -z
    #[arg(long, value_name = "POSE", allow_hyphen_values = true)]
    pub pose: Option<String>,

    #[command(flatten)]
    pub inputs: InputArgs,

    /// How to print the result: text or json
    #[arg(long, value_enum, default_value_t = ResultForm::Text, value_name = "FORM", hide_possible_values = true)]
    pub print: ResultForm,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum ResultForm {
    Text,
    Json,
}

/// Write try pieces for the fits of a spec, and the recipe to print them by
///
/// Writes PART.coupon.3mf (each fit's feature in steps about the size to model, its axis as in the part, sizes in
/// raised figures) and PART.coupon.recipe.md: the part's own material, nozzle, surface and settings, what to do, what it
/// costs against a scrapped part, and whether it pays.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  makeready coupon jobs/vane/vane.partspec
  makeready coupon vane.partspec --fit pivot --out coupons")]
pub(super) struct CouponArgs {
    /// The spec whose fits are tried
    #[arg(value_name = "SPEC")]
    pub spec: PathBuf,

    /// Only this fit [default: every fit with a round feature or a nut]
    #[arg(long, value_name = "NAME")]
    pub fit: Vec<String>,

    /// Write into this folder instead of beside the spec
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,

    #[command(flatten)]
    pub inputs: InputArgs,
}

/// Turn measured pieces into calibration records of the workshop
///
/// Reads a table (CSV: feature, nominal, axis, measured, material, printer, nozzle, date, gauge), fits offset and scale
/// by least squares, and writes the records into shop.yaml; comments and everything else there stay as they are. Lists
/// the specs of the project whose recipes change, and how.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  makeready calibrate measured.csv --dry-run      the table, and what would change; nothing is written
  makeready calibrate measured.csv
  makeready calibrate measured.csv --shop workshop/shop.yaml --print json

A table begins like this (mm unless a unit is written; axis: across-layers for an upright hole, along-layers for a lying
one):
  feature,nominal,axis,measured,material,printer,nozzle,date,gauge
  hole,5.5,across-layers,5.31,MATERIAL,Bench,brass-04,2026-11-20,pins")]
pub(super) struct CalibrateArgs {
    /// The table of measured features
    #[arg(value_name = "MEASURED.csv")]
    pub table: PathBuf,

    /// Write into this workshop file instead of the nearest shop.yaml
    #[arg(long, value_name = "FILE")]
    pub shop: Option<PathBuf>,

    /// Show what would be written and what would change, and write nothing
    #[arg(long)]
    pub dry_run: bool,

    /// What to do with pieces far from the rest: ask writes no record that has one (exit 1), take counts them, leave does not
    #[arg(long, value_enum, default_value_t = FarOut::Ask, value_name = "HOW", hide_possible_values = true)]
    pub far_out: FarOut,

    /// How to print the result: text or json
    #[arg(long, value_enum, default_value_t = ResultForm::Text, value_name = "FORM", hide_possible_values = true)]
    pub print: ResultForm,
}

/// What becomes of measured pieces that lie far from the rest of their group.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum FarOut {
    /// The record is not written until somebody has decided.
    Ask,
    /// They count like all others.
    Take,
    /// They are left out of the record, and named.
    Leave,
}

/// Print the JSON Schema of the recipe for machines, of a workshop's file, of a catalogue file, or of a form for records
///
/// What `compile --print json` prints and `*.recipe.yaml` holds is as the first of them says. Keys may be added to the form; one
/// that changes its meaning or goes away makes another version of it. An editor completes YAML by the others.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  makeready schema > recipe.schema.json
  makeready schema shop > shop.schema.json")]
pub(super) struct SchemaArgs {
    /// Of what: recipe, shop, catalogue, records
    #[arg(value_enum, default_value_t = SchemaOf::Recipe, value_name = "OF", hide_possible_values = true)]
    pub of: SchemaOf,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum SchemaOf {
    Recipe,
    Shop,
    Catalogue,
    Records,
}

/// Print the completions for a shell
#[derive(Debug, Args)]
#[command(after_help = "\
Example:
  makeready completions bash > ~/.local/share/bash-completion/completions/makeready")]
pub(super) struct CompletionArgs {
    pub shell: clap_complete::Shell,
}

/// Write the manual pages of all commands into a folder
#[derive(Debug, Args)]
#[command(after_help = "\
Example:
  makeready manual ~/.local/share/man/man1 && man makeready-compile")]
pub(super) struct ManualArgs {
    /// The folder, made where it is not there
    #[arg(value_name = "DIR")]
    pub folder: PathBuf,
}

#[cfg(test)]
mod tests {
    use super::*;
    use clap::CommandFactory;

    #[test]
    fn the_command_line_is_consistent() {
        Cli::command().debug_assert();
    }
}
