//! A workshop's own figures of the process count in its recipes, and the built-in ones are those of the physics.

mod effect;

use makeready::catalogue::{built_in, figures};
use makeready::physics::sustained::Retention;

use crate::workshop::reading::margin;
use crate::workshop::{bar, one_spool};

const BAR: [f64; 3] = [60.0, 10.0, 10.0];
fn made(own: &str, lines: &str) -> crate::workshop::read::Recipe {
    made_of("PETG", own, lines)
}

fn made_of(material: &str, own: &str, lines: &str) -> crate::workshop::read::Recipe {
    let figures = if own.is_empty() { String::new() } else { format!("catalogue:\n  figures:\n    {own}\n") };
    bar(Some(&format!("{}{figures}", one_spool(material, "white"))), BAR, lines)
}

fn load(more: &str) -> String {
    format!(
        "  service {{ place indoors; air 10 °C .. 23 °C }}\n  load \"w\" {{ force 2 N toward -z at face \"end\"; fixed at face \"root\"; {more} }}\n  pin build-up solid because \"the figures are of solid material\"\n"
    )
}

/// The ratio of a margin with a figure of the shop's own to that without.
fn ratio(own: &str, lines: &str) -> f64 {
    ratio_of("PETG", own, lines)
}

fn ratio_of(material: &str, own: &str, lines: &str) -> f64 {
    let of = |own: &str| -> f64 {
        let recipe = made_of(material, own, lines);
        let found = recipe.margins.iter().find(|m| m.what.contains("\"w\"")).expect("a margin of the load");
        let text = margin(&recipe, &found.what).because.text.clone();
        let words: Vec<&str> = found.margin.split([' ', ',']).collect();
        let number = words.iter().find_map(|w| w.parse::<f64>().ok());
        number.unwrap_or_else(|| panic!("{} ({text})", found.margin))
    };
    of(own) / of("")
}

#[test]
fn a_workshop_may_have_its_own_figures_of_time_and_repetition() {
    // Where failure hurts, low ends count all at once: then a share is a share.
    let day = format!("{}  consequence injury\n", load("held 1 day; factor 1"));
    let found = ratio("sustained_days: { typ: 0.2, low: 0.15, kind: from-memory }", &day);
    // A day is 3.158 of the 3.635 decades from a minute to three days: 1 - 0.869 x 0.85 for 1 - 0.869 x 0.66.
    assert!((found - 0.2615 / 0.4265).abs() < 0.02, "0.15 for 0.34 at three days: {found}");
    // Light enough that the printed digits tell a half.
    let often = load("cyclic 1000000; factor 1").replace("2 N", "0.4 N");
    let often = format!("{often}  consequence injury\n");
    // Of ABS nobody has measured more than the usual.
    let found = ratio_of(
        "ABS",
        "fatigue_along: { typ: 0.055, low: 0.03, kind: from-memory }\n    fatigue_across: { typ: 0.03, low: 0.015, kind: from-memory }",
        &often,
    );
    assert!((found - 0.5).abs() < 0.02, "half of both: {found}");
}

#[test]
fn a_workshop_may_have_its_own_factor_and_room_on_the_plate() {
    let plain = load("held 1 min");
    let found = ratio("load_factor: { damage: { typ: 4, kind: common-practice } }", &plain);
    assert!((found - 0.5).abs() < 0.02, "4 for 2: {found}");
    let many = format!("{plain}  quantity 40\n");
    let said = |own: &str| serde_json::to_string(&made(own, &many)).unwrap();
    assert!(said("").contains("8 mm between and 5 mm to the edge"), "{}", said(""));
    assert!(said("plate_gap: { typ: 12 mm, kind: common-practice }").contains("12 mm between and 5 mm to the edge"));
    assert!(said("yield_assumed: { typ: 0.8, kind: from-memory }").contains("80 % good assumed (from memory)"));
}

/// What the rules' functions of time and repetition run through is what the catalogue says.
#[test]
fn the_usual_shares_are_those_of_the_catalogue() {
    let (catalogue, _) = built_in();
    let band = |key| catalogue.band(key);
    let (days, years) = (band(figures::SUSTAINED_DAYS), band(figures::SUSTAINED_YEARS));
    let (along, across) = (band(figures::FATIGUE_ALONG), band(figures::FATIGUE_ACROSS));
    let pressed = band(figures::FATIGUE_PRESSED);
    assert_eq!(Retention { hour: None, days, years, along, across, pressed }, Retention::USUAL);
}

/// Every figure has a reader: Rust by its key, or a rule by its name. One that nobody reads does not exist.
#[test]
fn every_figure_has_a_reader() {
    let rust: String = sources("src", "rs")
        .iter()
        .filter(|(p, _)| !p.ends_with("catalogue/figures.rs"))
        .map(|(_, t)| t.as_str())
        .collect();
    let rules: String = sources("recipes/rules", "rules").iter().map(|(_, t)| t.as_str()).collect();
    let word_after = |text: &str, start: &str, word: &str| {
        let ends = |rest: &str| !rest.starts_with(|c: char| c.is_ascii_alphanumeric() || c == '_');
        text.match_indices(&format!("{start}{word}")).any(|(at, found)| ends(&text[at + found.len()..]))
    };
    let unread: Vec<&str> = figures::TABLE
        .iter()
        .filter(|row| {
            let key = row.name.to_uppercase();
            let names = std::iter::once(row.name).chain(row.by_consequence.into_iter().flatten());
            let by_rule = names.into_iter().any(|name| word_after(&rules, "figure.", name));
            !(by_rule || word_after(&rust, "figures::", &key) || word_after(&rust, "f::", &key))
        })
        .map(|row| row.name)
        .collect();
    assert_eq!(unread, Vec::<&str>::new());
    assert!(figures::TABLE.len() > 90, "{}", figures::TABLE.len());
}

/// All files below a folder with that ending, by path from the repository.
pub fn sources(folder: &str, ending: &str) -> Vec<(String, String)> {
    let (mut found, mut folders) = (Vec::new(), vec![crate::workshop::root().join(folder)]);
    while let Some(folder) = folders.pop() {
        for path in std::fs::read_dir(&folder).unwrap().map(|e| e.unwrap().path()) {
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|e| e == ending) {
                let name = path.to_string_lossy().replace('\\', "/");
                found.push((name, std::fs::read_to_string(&path).unwrap()));
            }
        }
    }
    found.sort();
    assert!(found.len() > 5, "{folder}: {}", found.len());
    found
}

/// The lines of a Rust file that are code of the program: no tests, no comments, texts emptied.
fn code(text: &str) -> Vec<String> {
    let program = text.split("#[cfg(test)]\nmod tests").next().unwrap_or("");
    let mut lines = Vec::new();
    let mut in_text = false;
    for line in program.lines() {
        let mut kept = String::new();
        let mut chars = line.chars().peekable();
        while let Some(c) = chars.next() {
            match c {
                '\\' if in_text => drop(chars.next()),
                '"' => in_text = !in_text,
                '\'' if !in_text && chars.clone().nth(1) == Some('\'') => drop((chars.next(), chars.next())),
                '/' if !in_text && chars.peek() == Some(&'/') => break,
                c if !in_text => kept.push(c),
                _ => {}
            }
        }
        lines.push(kept);
    }
    lines
}

/// The numbers with a decimal point in a line of code that are no part of plain arithmetic.
fn fractions(line: &str) -> Vec<String> {
    // Halves, wholes and doubles, per cent and per mille, unit factors: arithmetic, not judgement.
    const PLAIN: &[&str] = &[
        "0.0", "0.5", "1.0", "2.0", "3.0", "6.0", "10.0", "100.0", "1000.0", "60.0", "3600.0", "24.0", "90.0",
        "10_000.0", "86_400.0", "365.25", "273.15", "12.0", "89.5",
    ];
    let bytes = line.as_bytes();
    let number = |c: u8| c.is_ascii_digit() || c == b'_';
    let (mut found, mut at) = (Vec::new(), 0);
    while at < bytes.len() {
        let before = at.checked_sub(1).map(|b| bytes[b]);
        if !bytes[at].is_ascii_digit() || before.is_some_and(|b| b.is_ascii_alphanumeric() || b == b'_' || b == b'.') {
            at += 1;
            continue;
        }
        let start = at;
        while at < bytes.len()
            && (number(bytes[at]) || bytes[at] == b'.' && bytes.get(at + 1).is_some_and(u8::is_ascii_digit))
        {
            at += 1;
        }
        let written = &line[start..at];
        if written.contains('.') && !PLAIN.contains(&written) {
            found.push(written.to_owned());
        }
    }
    found
}

/// The whole numbers, and those with an exponent, in a line of code that may judge: beside a `const`, all of them; elsewhere
/// what is no length of a list, no index, no digit of rounding and no plain arithmetic.
fn wholes(line: &str) -> Vec<String> {
    const PLAIN: &[&str] = &[
        "0", "1", "2", "3", "4", "10", "100", "1000", "0.0", "0.5", "1.0", "2.0", "3.0", "4.0", "10.0", "12.0", "60.0",
        "90.0", "100.0", "1000.0", "24.0", "86_400.0", "365.25", "273.15", "1e-3", "1e-6", "1e-9", "1e-12", "1e6",
    ];
    let named = line.trim_start().trim_start_matches("pub").contains("const ") && line.contains('=');
    // What stands before the sign of a constant is its type.
    let from = if named { line.find('=').unwrap_or(0) } else { 0 };
    let part_of_word = |c: char| c.is_ascii_alphanumeric() || matches!(c, '_' | '.');
    let mut found = Vec::new();
    let mut at = from;
    while let Some(start) = line[at..].find(|c: char| c.is_ascii_digit()).map(|i| at + i) {
        let mut end = start;
        let rest = |end: usize| line[end..].chars().next();
        while let Some(c) = rest(end) {
            let sign = matches!(c, '-' | '+') && line[..end].ends_with('e');
            let range = c == '.' && line[end..].starts_with("..");
            if !(part_of_word(c) || sign) || range {
                break;
            }
            end += c.len_utf8();
        }
        at = end.max(start + 1);
        let (before, after) = (line[..start].trim_end(), line[end..].trim_start());
        if line[..start].ends_with(|c: char| part_of_word(c) && !line[..start].ends_with("..")) {
            continue;
        }
        let written = line[start..end].trim_end_matches("usize").trim_end_matches("f64");
        let of_a_list = after.starts_with(']') && (before.ends_with(';') || before.ends_with('['));
        let rounding = line.contains("trim_number(") && before.ends_with(',') && after.starts_with(')');
        let plain = if named { ["0", "1", "0.0", "1.0"].contains(&written) } else { PLAIN.contains(&written) };
        // Fractions are looked at by themselves.
        let fraction = written.contains('.') && !written.contains('e') && !written.ends_with(".0");
        if !(of_a_list || rounding || plain || fraction) {
            found.push(written.to_owned());
        }
    }
    found
}

#[test]
fn whole_numbers_are_seen_where_they_judge() {
    let of = |line: &str| wholes(line).join(" ");
    assert_eq!(of("    if quantity < 20 {"), "20");
    assert_eq!(of("const FEW: usize = 3;"), "3");
    assert_eq!(of("const AXES: [f64; 3] = [0.0, 1.0, 15.0];"), "15.0");
    assert_eq!(of("let near = (a - b).clamp(5, 85) > 2e-4;"), "5 85 2e-4");
    assert_eq!(of("x.iter().take(8) + ISO_286 + of.7 + [0.0; 3] + p[7] + trim_number(a, 2) / 2.0"), "8");
    assert_eq!(of("for i in 0..20 {"), "20");
}

/// A whole number that judges has a name in data too. What stays is bounded work, units, geometry and the form of a table.
#[test]
fn whole_numbers_of_judgement_have_names() {
    const WORK: &str = "bounded work: how far is looked, not what is right";
    const SHOWN: &str = "how much is shown of a list";
    const FORM: &str = "the form of a table in memory";
    const UNITS: &str = "units, and rounding of what is shown";
    const GEOMETRY: &str = "geometry and its rounding";
    const METHOD: &str = "steps and constants of a method of strength of materials";
    const TABLE: &str = "tables and formulas of a standard or a published work, with their source beside them";
    const PAGE: &str = "measures of pictures and pages";
    const SOUND: &str = "what can be at all";
    const COUPON: &str = "the form of a coupon";
    // Beginning of the path, words of the line (none: the whole file is a table or a drawing), and why it stays.
    const ALLOWED: &[(&str, &[&str], &str)] = &[
        ("fits.rs", &["fract"], UNITS),
        ("field/place.rs", &["BESIDE"], "beside which corner a place lies; what is said of it rules say"),
        ("fits/allowance.rs", &["record", "over"], SOUND),
        ("fits/allowance.rs", &["ROUGH"], UNITS),
        ("fits/allowance.rs", &["sigma"], "the definition of process capability"),
        ("fits/student_t.rs", &[], TABLE),
        ("fits/calibration.rs", &["MOST_FOR_OUTLIERS"], WORK),
        (
            "fits/coupon.rs",
            &["STEPS", "LARGE_MM", "LARGE_STEPS", "LARGE_DEPTH_MM", "LARGE_WALL_MM", "FACETS", "deep"],
            COUPON,
        ),
        ("fits/coupon.rs", &["sizes_sound", "Round"], SOUND),
        ("fits/coupon.rs", &["six"], GEOMETRY),
        ("fits/coupon/digits.rs", &[], COUPON),
        ("fits/coupon/plate.rs", &["BASE", "Hexagon"], COUPON),
        ("fits/cutters.rs", &[], TABLE),
        ("fits/function.rs", &["value"], TABLE),
        ("fits/general.rs", &[], TABLE),
        ("fits/hardware", &[], TABLE),
        ("fits/iso286", &[], TABLE),
        ("fits/lookup.rs", &["LONGEST"], WORK),
        ("fits/lookup.rs", &["size"], UNITS),
        ("fits/matching.rs", &["off_size"], GEOMETRY),
        ("fits/matching.rs", &["indices"], SHOWN),
        ("fits/measurements.rs", &["NEEDED"], FORM),
        ("fits/measurements.rs", &["MOST_ROWS"], WORK),
        ("fits/measurements.rs", &["to_mm"], TABLE),
        ("plan/build.rs", &["DAYS_BEYOND", "MOST_DAYS", "hours", "days"], WORK),
        ("plan/build.rs", &["confidence"], UNITS),
        ("plan/calendar.rs", &["DAY"], UNITS),
        ("plan/feeding.rs", &["EFFORT"], WORK),
        ("plan/feeding.rs", &["UNSTATED_G"], "more than any spool holds, where none is said"),
        ("plan/question.rs", &["EFFORT"], WORK),
        ("plan/question.rs", &["SURFACE"], FORM),
        ("plan/question.rs", &["minutes"], UNITS),
        ("plan/record.rs", &["at"], FORM),
        ("plan/record.rs", &["hours"], UNITS),
        ("plan/routing.rs", &["power"], UNITS),
        ("render/diagnostics.rs", &["MOST_SHOWN"], SHOWN),
        ("render/diagnostics.rs", &["is_control"], "marks of a writing's direction"),
        ("render/draft.rs", &["FACES", "GROUPS", "GUESSES"], SHOWN),
        ("render/draft.rs", &["DECIMALS"], UNITS),
        ("render/figure", &[], PAGE),
        ("render/hand.rs", &["NOTHING"], UNITS),
        ("render/inline.rs", &["with_capacity"], FORM),
        ("render/machine.rs", &["rounded"], UNITS),
        ("render/markdown.rs", &["LARGEST", "DEEPEST"], WORK),
        ("render/measurement.rs", &["ROWS"], SHOWN),
        ("render/measurement.rs", &["WIDTH"], PAGE),
        ("render/measurement.rs", &["value"], UNITS),
        ("render/pages.rs", &["WIDTH", "WIDEST_COLUMN"], PAGE),
        ("render/picture", &[], PAGE),
        ("render/plan.rs", &["minutes"], UNITS),
        ("render/sarif.rs", &["MARK"], FORM),
        (
            "render/sheet",
            &["RULES_NAMED", "DIGEST_SHOWN", "LONG_ORIGIN", "BEST_POSES", "ONE_CELL", "WATCHED", "PLACES"],
            SHOWN,
        ),
        ("render/sheet.rs", &["depth"], FORM),
        ("render/stress.rs", &["MODULUS_MPA"], "what displacements are given for, told with them"),
        ("render/traveller.rs", &["MANY"], SHOWN),
        ("render/traveller.rs", &["side"], PAGE),
        ("render/words", &["NAMED", "MOST_PERCENT"], SHOWN),
        ("render/words", &["abs", "minutes", "grams", "NO_LONGER"], UNITS),
        ("render/wrap.rs", &[], PAGE),
        ("field/place.rs", &["HAIR"], GEOMETRY),
        ("field/opening.rs", &["far"], GEOMETRY),
        ("field/surface.rs", &["hair", "volume"], GEOMETRY),
        ("field/laid.rs", &["AROUND", "HAIR"], GEOMETRY),
        ("field/laid.rs", &["TURNS"], WORK),
        ("resolve/elastic/closing.rs", &["ALONG", "MOST"], WORK),
        ("resolve/elastic/closing.rs", &["OFF_MM", "WIDE"], GEOMETRY),
        ("field/surface.rs", &["JUDGED_CELLS", "TELLING", "POWERS"], WORK),
        ("field/surface.rs", &["FITTED", "OFF_PLANE"], GEOMETRY),
        ("resolve/conflict/misses.rs", &["MISSES", "MISSES_KEPT", "AT_ONCE"], WORK),
        ("resolve/conflict/numbers.rs", &["STEPS", "FULL_STEPS", "DIGITS"], WORK),
        ("resolve/conflict/numbers.rs", &["YEAR_S", "STRESS"], UNITS),
        ("resolve/conflict/retry.rs", &["BUDGET", "QUESTION", "ANSWER"], WORK),
        ("resolve/conflict/sets.rs", &["SETS", "LOOKED"], WORK),
        ("resolve/conflict/shape.rs", &["STEPS"], WORK),
        ("resolve/conflict/shape.rs", &["TENTHS"], UNITS),
        ("resolve/conflict/shape.rs", &["SOLVED_AGAIN", "TRIED"], WORK),
        ("resolve/conflict/ways.rs", &["TOGETHER", "FEW", "TRIED", "TOLD", "SETS_ASKED"], WORK),
        ("resolve/elastic.rs", &["to_nm", "GRAMS_PER_CM3"], UNITS),
        ("resolve/part.rs", &["six"], GEOMETRY),
        ("field/surface.rs", &["FEW_CELLS", "FINER_CELLS", "MOST_WORK"], WORK),
        ("resolve/elastic/confined.rs", &["STEPS"], WORK),
        ("resolve/elastic/confined.rs", &["FARTHEST"], GEOMETRY),
        ("resolve/elastic/at_once.rs", &["MOST_ADDED"], WORK),
        ("resolve/elastic/solved.rs", &["TOLD_OF_BROKEN", "ROUGHLY"], WORK),
        ("resolve/elastic/alike.rs", &["DIGITS"], "rounding"),
        ("resolve/elastic.rs", &["MANY_LOADS"], WORK),
        ("resolve/elastic/solved.rs", &["as_chunks", "first_chunk", "OF_SEEN"], FORM),
        ("resolve/elastic/solved.rs", &["RASTER"], SHOWN),
        ("resolve/elastic/solved.rs", &["ON_ITS_WAY"], "how errors of a grid fall off"),
        ("resolve/limits.rs", &["clamp"], "bounds of an angle that is a limit at all"),
        ("resolve/loads.rs", &["TORSION_CELLS", "polar", "steps"], METHOD),
        ("resolve/loads/route.rs", &["CUTS", "HALVINGS", "STEPS", "LEANS", "TRIED", "ROOT"], METHOD),
        ("resolve/margin.rs", &["beads"], UNITS),
        ("resolve/margin/gap.rs", &["ROUNDED_UM"], UNITS),
        ("resolve/margin/press.rs", &["step"], GEOMETRY),
        ("resolve/margin/wall.rs", &["ROUNDED_MM"], GEOMETRY),
        ("resolve/flatted.rs", &["HALF_ROUND_DEG", "WHOLE_DEG"], GEOMETRY),
        ("resolve/part.rs", &["POSES"], WORK),
        ("resolve/part.rs", &["to_nm"], UNITS),
        ("resolve/places.rs", &["LISTED", "FAR_MM"], SHOWN),
        ("resolve/problem.rs", &["Penalty"], "points are counted in millionths, and far more than any are no more"),
        ("resolve/questions.rs", &["PLACES"], WORK),
        ("resolve/reading.rs", &["BITS"], FORM),
        ("resolve/run.rs", &["Quantity"], UNITS),
        ("resolve/run.rs", &["beads"], "a number of beads that a wall can have at all"),
        ("resolve/search.rs", &["BREAK"], "a broken requirement weighs more than all penalties"),
        ("resolve/grooves.rs", &["WIDEST"], GEOMETRY),
        ("resolve/search.rs", &["LARGEST_TABLE"], FORM),
        ("resolve/search/tree.rs", &["decision", "counts"], FORM),
        ("resolve/shop.rs", &["STEPS", "HALVINGS"], WORK),
        ("resolve/strength.rs", &["SUDDEN"], METHOD),
        ("resolve/strength/at_once.rs", &["TRIED_IN_EVERY_WAY", "bits"], WORK),
        ("resolve/strength/at_once.rs", &["ROUNDING", "NOISE"], "rounding"),
        ("resolve/strength/cored.rs", &["FINE"], "rounding"),
        (
            "resolve/breaks.rs",
            &["POINTS", "STEPS", "FACTOR", "BEYOND_K"],
            "where looking along a number ends, and how closely",
        ),
        ("resolve/strain.rs", &["FOLDED_FLAT"], METHOD),
        ("resolve/together.rs", &["MOST_NAMED"], SHOWN),
        ("resolve/world/candidates.rs", &["COUNT", "NOZZLE", "SURFACE", "AGENT", "POSE", "SUPPORTS", "BUILD_UP"], FORM),
        ("resolve/world/view.rs", &["ROOM"], FORM),
        ("recipe/oversize.rs", &["TURNS"], GEOMETRY),
        ("recipe/decisions.rs", &["TOLD_AGAINST"], SHOWN),
        ("recipe/mesh.rs", &["CORNERS", "ROWS"], SHOWN),
        ("recipe/mates.rs", &["SAME_SIZE_MM"], UNITS),
        ("recipe/points.rs", &["SHOWN"], UNITS),
    ];
    let (found, idle) = unnamed(&["field", "fits", "resolve", "recipe", "plan/", "render"], wholes, ALLOWED);
    assert!(found.is_empty(), "give it a name in `figures.rs`, or a `let` in a rule file:\n{}", found.join("\n"));
    assert_eq!(idle, Vec::<String>::new(), "allowed, but nothing is there");
}

/// Bare numbers of judgement do not stand in the phases above physics; what stands there is told by the word beside it.
#[test]
fn numbers_of_judgement_have_names() {
    const TABLE: &str = "tables and formulas of a standard or a published work, with their source beside them";
    const PAGE: &str = "measures of pictures and pages";
    const SHOWN: &str = "rounding of what is shown";
    const GEOMETRY: &str = "geometry and its rounding";
    const METHOD: &str = "steps and constants of a method of strength of materials";
    const SOUND: &str = "what can be at all";
    const COUPON: &str = "the form of a coupon";
    const FORM: &str = "the form of a made-up part";
    const UNITS: &str = "units";
    // Beginning of the path, words of the line (none: the whole file is a table or a drawing), and why it stays.
    const ALLOWED: &[(&str, &[&str], &str)] = &[
        ("field/opening.rs", &["LENGTHWISE", "ONE_SIDED", "NEARER"], GEOMETRY),
        ("field/surface.rs", &["SEEN", "ALONG", "NEAR_ROUND_SHARE", "OFF_MIDDLE", "RING", "ROUND", "FLANK"], GEOMETRY),
        ("field/laid.rs", &["WHOLE", "SMOOTH", "Across"], GEOMETRY),
        ("resolve/elastic.rs", &["MOST_OF_PATCH"], "what of a patch is worth a word"),
        ("resolve/elastic.rs", &["FILLS"], "which place of the part is meant"),
        ("resolve/elastic/closing.rs", &["WIDE", "UNDER_MM"], GEOMETRY),
        (
            "field/surface.rs",
            &["SQUARE", "STRAIGHT", "SAME_WAY", "CONE", "ON_RIM", "LEAST_CONE", "WIDEST_CONE"],
            GEOMETRY,
        ),
        ("field/surface.rs", &["NEAR", "OFF_SNAP_ROOTS_MM", "RANKING"], "which grid and which places are looked at"),
        ("resolve/elastic.rs", &["LIGHT"], "whether a finer grid is looked at"),
        ("resolve/elastic/solved.rs", &["ANOTHER_GRID", "RESOLVED"], "which grid is looked at"),
        ("resolve/elastic/drawn.rs", &["ABOUT_SQUARE"], "which way a wall is drawn thicker"),
        (
            "resolve/strength/thicker.rs",
            &["left", "AS_DEEP", "COMPARED_AT", "FULL"],
            "a root of a quadratic; where a section is as deep as the part is thick, and solid; which of two offers is told",
        ),
        ("resolve/conflict/numbers.rs", &["MILDER"], "which number is tried next, where what stands is left open"),
        ("resolve/conflict/shape.rs", &["THICKER", "STIFFER", "HELPED"], "which thickness is tried next, and whether"),
        ("resolve/elastic/solved.rs", &["RASTER", "UNDER"], "where a drawing is shaded"),
        ("resolve/elastic/solved.rs", &["ON_ITS_WAY"], "how errors of a grid fall off"),
        ("fits/iso286", &[], TABLE),
        ("fits/hardware", &[], TABLE),
        ("fits/general.rs", &[], TABLE),
        ("fits/student_t.rs", &[], TABLE),
        ("fits/calibration.rs", &["OUTLIER_SCORE", "unit"], TABLE),
        ("catalogue/lookup.rs", &["COLD_CONTACT"], "the temperature that the catalogue's column of cold contact is of"),
        ("catalogue/sense.rs", &[], SOUND),
        ("catalogue/shop/check.rs", &["bore"], SOUND),
        ("plan/build.rs", &["days"], UNITS),
        ("fits/coupon.rs", &["LARGE_MM", "LARGE_DEPTH_MM", "step", "centre", "depth"], COUPON),
        ("fits/coupon.rs", &["sizes_sound"], SOUND),
        ("fits/coupon.rs", &["abs", "t"], TABLE),
        ("fits/coupon/plate.rs", &["RAISED"], COUPON),
        ("fits/measurements.rs", &["to_mm"], SOUND),
        ("fits/matching.rs", &["PARALLEL", "square"], GEOMETRY),
        ("fits/matching.rs", &["off_size"], "which features a hint names; it decides nothing"),
        ("fits/allowance.rs", &["record", "factor", "over"], SOUND),
        ("fits/allowance.rs", &["ROUGH"], SHOWN),
        ("fits/allowance.rs", &["rounding"], "a share of the spread between two figures"),
        ("fits/groove.rs", &["area"], GEOMETRY),
        ("fits/function.rs", &["is_finite"], SOUND),
        ("fits/function.rs", &["play"], "the play a spec states, half and half again"),
        ("resolve/fits.rs", &["ALIKE"], GEOMETRY),
        ("resolve/flats.rs", &["ALIKE_MM", "ALONG"], GEOMETRY),
        ("resolve/breaks.rs", &["BEYOND_K", "ROOM_K"], "where looking along a number begins and ends"),
        ("resolve/history.rs", &["share"], "a share that stays below all"),
        ("resolve/limits.rs", &["clamp"], SOUND),
        ("resolve/loads.rs", &["SLIGHT", "across", "polar"], METHOD),
        ("resolve/loads.rs", &["near"], SHOWN),
        ("resolve/loads/route.rs", &["UNLIKE", "LEANS", "DISTANCES", "dot", "SMALLER"], METHOD),
        ("resolve/margin.rs", &["SOLID"], "a whole but for rounding"),
        ("resolve/margin/depth.rs", &["SLACK_MM"], GEOMETRY),
        ("resolve/margin/heat.rs", &["heat"], SHOWN),
        ("resolve/margin/press.rs", &["depth", "start", "least", "pick"], GEOMETRY),
        ("resolve/margin/stiffness.rs", &["powf"], "the exponent of the law of sections"),
        ("resolve/matching.rs", &["e", "UPRIGHT", "SAME_MM", "leaning", "apart", "along", "PARALLEL_SINE"], GEOMETRY),
        ("resolve/flats.rs", &["SQUARE", "MOST", "UNLIKE", "NEARLY"], GEOMETRY),
        ("resolve/matching.rs", &["ONE_AXIS"], GEOMETRY),
        ("resolve/matching.rs", &["BOTH_SIZES_MM"], "which sizes a mesh is looked through for"),
        ("resolve/elastic/mating.rs", &["ALIKE"], GEOMETRY),
        ("resolve/elastic/confined.rs", &["WHOLE", "FLAT"], GEOMETRY),
        ("resolve/flatted.rs", &["HALF_ROUND_DEG", "WHOLE_DEG", "PARALLEL", "NEARER", "CENTRED"], GEOMETRY),
        ("resolve/grooves.rs", &["PARALLEL", "ONE_AXIS_MM", "DRAWN_MM"], GEOMETRY),
        ("resolve/hanging.rs", &["ABOUT_MM"], GEOMETRY),
        ("resolve/spacing.rs", &["ALONG", "SLIP"], GEOMETRY),
        ("resolve/part.rs", &["STRIP", "ONE_POSE", "patch", "SLANTS"], GEOMETRY),
        ("resolve/places.rs", &["SLIP", "NEAR", "ONE_PLANE_MM"], GEOMETRY),
        ("resolve/run.rs", &["shape"], GEOMETRY),
        ("resolve/run.rs", &["beads"], SOUND),
        ("resolve/shop/stock.rs", &["SAME_FILAMENT_MM"], SOUND),
        ("resolve/strength/cored.rs", &["OFF_MM", "BESIDE_MM"], GEOMETRY),
        ("resolve/strength/hand.rs", &["TURNS", "ABOUT_ALONG", "SHEAR", "MORE", "six"], METHOD),
        ("resolve/strength.rs", &["NEUTRAL", "NEUTRAL_PRESSED"], "a material nobody has, to compare ways up by"),
        ("recipe/lying.rs", &["EQUAL"], SHOWN),
        ("recipe/mates.rs", &["play"], "the play a spec states, half and half again"),
        ("recipe/mesh.rs", &["matters"], SHOWN),
        ("recipe/statements.rs", &["temperature"], SHOWN),
        ("render/figure", &[], PAGE),
        ("render/picture.rs", &["length"], PAGE),
        ("render/picture/stressed.rs", &[], PAGE),
        ("render/draft.rs", &["LEAST_SIDE"], "which sides are offered a name, in a draft that a person corrects"),
        ("render/draft.rs", &["ALIKE_MM", "LEVEL"], GEOMETRY),
        ("render/measurement.rs", &["penalties", "value", "slight"], SHOWN),
        ("render/sheet.rs", &["height"], SHOWN),
        ("render/traveller.rs", &["text", "width"], PAGE),
        ("render/stress.rs", &["MODULUS_MPA"], "what displacements are given for, told with them"),
        ("render/words", &["area", "grams", "NO_LONGER", "NO_DEARER"], SHOWN),
        ("semantics/choice.rs", &["Measure"], SOUND),
        ("semantics/form.rs", &["sample"], "an example"),
        ("semantics/measure.rs", &["FREE_FALL"], UNITS),
        ("semantics/requirements/number.rs", &["ROOM_K"], "where searching begins"),
        ("semantics/suggestion.rs", &["newtons"], UNITS),
        ("semantics/symbols.rs", &["size"], SOUND),
        ("semantics/vocabulary.rs", &["Measure"], SOUND),
        ("semantics/vocabulary.rs", &["r"], "an example"),
        ("cli/coupon.rs", &["GAP_MM", "DEEPEST_MM"], COUPON),
        ("cli/measure.rs", &["number"], SOUND),
        ("cli/meshes.rs", &["25", "0", "304"], UNITS),
        ("cli/new/peg.rs", &["CELL", "THICK", "HOLE_RADIUS", "PEG_HIGH", "HEIGHT"], FORM),
    ];
    let (found, idle) = unnamed(
        &["field", "fits", "catalogue", "rulebook", "resolve", "recipe", "plan/", "render", "semantics", "cli"],
        fractions,
        ALLOWED,
    );
    assert!(found.is_empty(), "give it a name in `figures.rs`, or a `let` in a rule file:\n{}", found.join("\n"));
    assert_eq!(idle, Vec::<String>::new(), "allowed, but nothing is there");
}

/// What numbers of the phases are not allowed by file and word, and which allowances serve none.
fn unnamed(
    phases: &[&str],
    numbers: fn(&str) -> Vec<String>,
    allowed: &[(&str, &[&str], &str)],
) -> (Vec<String>, Vec<String>) {
    let (mut found, mut used) = (Vec::new(), std::collections::BTreeSet::new());
    for phase in phases {
        for (path, text) in sources("src", "rs").iter().filter(|(p, _)| p.contains(&format!("/src/{phase}"))) {
            let own = path.split("/src/").last().unwrap_or(path);
            if own.contains("/tests") {
                continue;
            }
            for (line, code) in code(text).iter().enumerate() {
                let stands = |word: &str| code.split(|c: char| !c.is_alphanumeric() && c != '_').any(|w| w == word);
                for number in numbers(code) {
                    let mut here = allowed.iter().filter(|(start, ..)| own.starts_with(start));
                    let why = here.find_map(|(start, words, _)| match words {
                        [] => Some(format!("{start} *")),
                        words => words.iter().find(|word| stands(word)).map(|word| format!("{start} {word}")),
                    });
                    match why {
                        Some(why) => drop(used.insert(why)),
                        None => found.push(format!("{own}:{}: {number} in {}", line + 1, code.trim())),
                    }
                }
            }
        }
    }
    let every = allowed.iter().flat_map(|(start, words, _)| {
        let whole = words.is_empty().then(|| format!("{start} *"));
        whole.into_iter().chain(words.iter().map(move |word| format!("{start} {word}")))
    });
    let idle = every.filter(|one| !used.contains(one)).collect();
    (found, idle)
}

/// No polymer, chemical or food is known to Rust by its name: what one is like is data.
#[test]
fn rust_knows_no_polymer_chemical_or_food_by_name() {
    // Where a name may stand, whether it may be a polymer's too, and why.
    const ALLOWED: &[(&str, bool, &str)] = &[
        ("semantics/vocabulary.rs", false, "`ask food contact` is a statement"),
        ("physics/beam.rs", true, "an author's name"),
        ("physics/strength.rs", true, "what the cited experiments were made on"),
        ("physics/sustained.rs", true, "what the cited experiments were made on"),
    ];
    let (catalogue, _) = built_in();
    // Common words that are chemicals by accident, or words of the language itself.
    let common = [
        "water", "rain", "spirit", "wax", "fat", "food", "alcohol", "glue", "fame", "ink", "lye", "mek", "ipa",
        "urine", "blood",
    ];
    let mut names: Vec<String> = catalogue.materials.keys().cloned().collect();
    names.extend(["PA", "PE", "PET", "TPE", "PEKK", "PA66"].map(str::to_owned));
    let polymers = names.clone();
    for chemical in catalogue.chemicals.values() {
        let lists = [&chemical.aliases, &chemical.meant_by, &chemical.nearest_to, &chemical.eaten];
        let other = lists.into_iter().flatten().flat_map(|l| l.value.iter().cloned());
        names.extend(std::iter::once(chemical.name.clone()).chain(other).filter(|n| !common.contains(&n.as_str())));
    }
    names.extend(["bread", "meat", "cheese", "coffee", "soup", "drinking"].map(str::to_owned));
    let (mut found, mut used, mut looked_at) = (Vec::new(), std::collections::BTreeSet::new(), 0);
    for (path, text) in sources("src", "rs") {
        let own = path.split("/src/").last().unwrap_or(&path).to_owned();
        if own.contains("/tests") {
            continue;
        }
        for (line, quoted) in texts(&text) {
            looked_at += 1;
            for name in names.iter().filter(|n| stands_in(&quoted, n)) {
                let may = |(start, any, _): &&(&str, bool, &str)| {
                    own.starts_with(start) && (*any || !polymers.contains(name))
                };
                match ALLOWED.iter().find(may) {
                    Some((start, ..)) => drop(used.insert(*start)),
                    None => found.push(format!("{own}:{line}: {name}")),
                }
            }
        }
    }
    assert!(looked_at > 5000, "{looked_at}");
    let idle: Vec<&str> = ALLOWED.iter().map(|(start, ..)| *start).filter(|start| !used.contains(start)).collect();
    assert_eq!(idle, Vec::<&str>::new(), "allowed, but nothing is there");
    assert!(found.is_empty(), "what it is like belongs into the catalogue:\n{}", found.join("\n"));
}

/// The texts of the program in a Rust file, whole however many lines they run over, each with the line it begins in.
fn texts(text: &str) -> Vec<(usize, String)> {
    let program = text.split("#[cfg(test)]\nmod tests").next().unwrap_or("");
    let (mut found, mut line) = (Vec::new(), 1);
    let mut chars = program.chars().peekable();
    while let Some(c) = chars.next() {
        match c {
            '\n' => line += 1,
            '/' if chars.peek() == Some(&'/') => {
                chars.by_ref().take_while(|c| *c != '\n').for_each(drop);
                line += 1;
            }
            '\'' if chars.clone().nth(1) == Some('\'') => drop((chars.next(), chars.next())),
            '\'' if chars.peek() == Some(&'\\') => chars.by_ref().skip(1).take_while(|c| *c != '\'').for_each(drop),
            '"' => {
                let (start, mut text) = (line, String::new());
                while let Some(c) = chars.next().filter(|c| *c != '"') {
                    line += usize::from(c == '\n');
                    text.push(c);
                    // A line that is broken in the source is none in the text.
                    if c == '\\'
                        && let Some(escaped) = chars.next()
                    {
                        line += usize::from(escaped == '\n');
                        text.pop();
                        text.push(if escaped == '\n' { ' ' } else { escaped });
                    }
                }
                found.push((start, text));
            }
            _ => {}
        }
    }
    found
}

#[test]
fn texts_are_seen_whole() {
    let of = |text: &str| texts(text).into_iter().map(|(line, text)| format!("{line} {text}")).collect::<Vec<_>>();
    assert_eq!(
        of("a(\"one\", \"two \\\n   three\");\n// \"no\"\nlet c = '\"'; \"four\""),
        ["1 one", "1 two     three", "4 four"]
    );
}

/// Whether a name stands in a text by itself.
fn stands_in(text: &str, name: &str) -> bool {
    let inside = |c: Option<char>| c.is_some_and(|c| c.is_alphanumeric() || c == '_');
    let upper = name.chars().all(|c| !c.is_lowercase());
    let (text, name) =
        if upper { (text.to_owned(), name.to_owned()) } else { (text.to_lowercase(), name.to_lowercase()) };
    text.match_indices(&name)
        .any(|(at, found)| !inside(text[..at].chars().next_back()) && !inside(text[at + found.len()..].chars().next()))
}

/// A polymer that a workshop adds as `like` another is as that one in everything the program knows of it by data.
#[test]
fn a_polymer_like_another_behaves_like_it() {
    let own = "name: A\nprinters: []\nnozzles: []\nsurfaces: []\ncatalogue:\n  materials:\n    PEKK: { like: PEEK }\n    hut-PP: { like: PP }\n";
    let (mut catalogue, mut sources) = built_in();
    let id = sources.add(makeready::diag::Source::new("shop.yaml", own));
    let report = makeready::catalogue::load_shop(&sources, id, &mut catalogue);
    assert_eq!(report.diagnostics, vec![]);
    for (new, old) in [("PEKK", "PEEK"), ("hut-PP", "PP")] {
        let of = |name: &str| makeready::fits::practice::Polymer { name: String::new(), ..catalogue.printed(name) };
        assert_eq!(of(new), of(old));
        assert!(catalogue.printed(new).known);
        assert_eq!(catalogue.bears(new), catalogue.bears(old));
        let called = |name: &str| catalogue.material(name).unwrap().called.clone().map(|c| c.value);
        assert_eq!(called(new), called(old));
    }
    assert_ne!(catalogue.printed("PEKK").hole_undersize, catalogue.printed("no-such").hole_undersize);
}

#[test]
fn what_is_eaten_is_known_by_its_name() {
    let (catalogue, _) = built_in();
    for food in ["olive oil", "Beer", "wine", "milk", "lemon juice", "butter"] {
        assert!(catalogue.is_food(food), "{food}");
    }
    for other in ["mineral spirits", "white spirit", "engine oil", "descaler", "citric acid", "water", "no such thing"]
    {
        assert!(!catalogue.is_food(other), "{other}");
    }
    for gas in ["air", "compressed air", "CO2", "Nitrogen"] {
        assert!(catalogue.is_gas(gas), "{gas}");
    }
    for liquid in ["water", "repair oil", "gas oil", "air-free water"] {
        assert!(!catalogue.is_gas(liquid), "{liquid}");
    }
}
