//! The reference of the rule language, made from the tables the checker works from.

use std::fmt::Write as _;

use super::check::{SOURCE_KINDS, STATEMENTS};
use super::functions::BUILTINS;
use super::names::{Field, Root, Touches, Type};
use super::rule::{CautionKind, Phase};

/// Returns the reference as Markdown; a test keeps the committed copy equal to it.
pub fn reference() -> String {
    let mut text = String::from(
        "# The rule language\n\n\
         Made from the tables the checker works from; do not edit by hand.\n\n\
         A rule stands in a `.rules` file (a shop's own beside its `shop.yaml`):\n\n\
         ```\n\
         rule \"abrasive-needs-hard-nozzle\" {\n  \
           when      material.abrasive\n  \
           require   nozzle.hardness >= hardened\n  \
           otherwise \"{material} would wear the {nozzle.metal} nozzle out of size\"\n  \
           because   \"glass, carbon, metal and glow fillers are harder than brass\"\n  \
           source    common-practice\n  \
           example   refuses { material { abrasive }; nozzle { hardness soft } }\n\
         }\n\
         ```\n\n\
         A rule of a shop replaces a built-in one by `rule \"NAME\" replaces { ... }`.\n\n\
         What is not known stays unknown: a `when` that is unknown does not apply, a `require` that is unknown is\n\
         reported as undetermined. `x is known`, `x is unknown` and `given(x, fallback)` ask.\n\n\
         A temperature and a temperature difference are two kinds: `80 °C + 10 K` is a temperature, `80 °C + 10 °C` is\n\
         an error. Words of a closed set compare by their order below.\n\n",
    );
    statements(&mut text);
    thresholds(&mut text);
    functions(&mut text);
    for root in Root::ALL {
        names(&mut text, root);
    }
    text
}

fn statements(text: &mut String) {
    text.push_str("## Statements of a rule\n\n| statement | is written | help |\n|---|---|---|\n");
    for (keyword, arguments, help) in STATEMENTS {
        let arguments = arguments.replace('|', "\\|");
        let _ = writeln!(text, "| `{keyword}` | `{arguments}` | {help} |");
    }
    let phases: Vec<&str> = Phase::ALL.iter().map(|p| p.word()).collect();
    let kinds: Vec<&str> = CautionKind::ALL.iter().map(|k| k.word()).collect();
    let _ = writeln!(text, "\nPhases of a step, in order of work: {}.", phases.join(", "));
    let _ = writeln!(text, "Kinds of caution, in order of consequence: {}.", kinds.join(", "));
    let _ = writeln!(text, "Kinds of source: {}.\n", SOURCE_KINDS.join(", "));
}

fn thresholds(text: &mut String) {
    text.push_str(
        "## Thresholds named once\n\n\
         A number that several rules read, or that a workshop may want to change, has a name. `let` gives it one, at the top\n\
         of a rule file; rules read it by the bare name, in conditions, values and texts, and a recipe's reasons show it with\n\
         its source:\n\n\
         ```\n\
         let spare_heat by consequence {\n  \
           nuisance 0 K\n  \
           damage   5 K\n  \
           injury   15 K\n  \
           because  \"where failure hurts, the margin covers a hotter summer than the one on record\"\n  \
           source   common-practice\n\
         }\n\n\
         let night_shift = 8 h {\n  \
           because  \"nobody looks after the machines between ten and six\"\n  \
           source   common-practice\n\
         }\n\
         ```\n\n\
         A shop's own rule file puts another value in place of a built-in one, for every rule that reads it:\n\
         `let night_shift = 10 h replaces { ... }`.\n\n\
         What only one rule reads, more than once, it names for itself: `let short = material.chamber_temperature -\n\
         printer.chamber` among its statements. Reason and source are the rule's.\n\n\
         Stricter where people can be hurt: by `let NAME by consequence`, or in an expression by\n\
         `by_consequence(0 K, 5 K, 15 K)`. The value for damage lies between the other two.\n\n\
         Numbers that the program itself reads are *figures*, data in the catalogue: a rule reads them as `figure.NAME` (table\n\
         below), and a shop replaces one in its `shop.yaml`, for rules and program alike:\n\n\
         ```yaml\n\
         catalogue:\n  \
           figures:\n    \
             plate_gap: { typ: 12 mm, kind: common-practice }\n    \
             load_factor: { injury: { typ: 5, kind: common-practice } }\n\
         ```\n\n\
         | statement | is written | help |\n|---|---|---|\n",
    );
    for (keyword, arguments, help) in super::named::STATEMENTS {
        let _ = writeln!(text, "| `{keyword}` | `{arguments}` | {help} |");
    }
    text.push('\n');
}

fn functions(text: &mut String) {
    text.push_str("## Functions of the language\n\n| function | gives |\n|---|---|\n");
    for (name, _, arguments, help) in BUILTINS {
        let _ = writeln!(text, "| `{name}({arguments})` | {help} |");
    }
    text.push_str("| `percent(x)` | in texts only: a share as a percentage |\n");
    text.push_str("\nBesides these every function of the physics registry can be called by its name.\n");
}

fn names(text: &mut String, root: Root) {
    let _ = writeln!(text, "\n## {}\n", root.word());
    if root == Root::Settings {
        text.push_str("Whatever `derive` rules give; the type follows from them.\n");
        return;
    }
    if root.is_each() {
        let _ = writeln!(text, "A rule that names one is judged once per {}.", root.word());
    }
    let _ = writeln!(text, "Touches: {}.\n", root.touches());
    text.push_str("| name | kind | also touches | help |\n|---|---|---|---|\n");
    for field in root.fields() {
        let also = extra(root, field).map_or(String::new(), |t| t.to_string());
        let _ = writeln!(text, "| `{}.{}` | {} | {also} | {} |", root.word(), field.name, kind(field.kind), field.help);
    }
}

fn kind(kind: Type) -> String {
    match kind {
        Type::Word(words) => words.iter().map(|w| format!("`{w}`")).collect::<Vec<_>>().join(" "),
        other => other.noun(),
    }
}

fn extra(root: Root, field: &Field) -> Option<Touches> {
    let more = Touches(field.also.0 & !root.touches().0);
    (!more.is_empty()).then_some(more)
}
