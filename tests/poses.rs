//! Which way up: parts that no rule was tuned to, as a practitioner lays them.

use makeready::geometry::pose::{self, Pose};

use makeready::recipe::Status;

use crate::workshop::read::Recipe;
use crate::workshop::shapes::{self, Point, arc, block, blocks, pulled, revolved};
use crate::workshop::{Run, Workshop};

const INDOORS: &str = "  service { place indoors; air 10 °C .. 25 °C }";

/// A bench of two machines, an open one and a closed one; a wall of spools.
const SHOP: &str = "name: Trial bench
currency: EUR
labour: 24 money/h
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
  - { name: asa-1, material: ASA, colour: white, left: 1000 g, price: 31 money/kg }
";

fn trial(mesh: String, lines: &str) -> Workshop {
    let spec = format!("part \"trial\" {{\n  mesh \"trial.stl\" in mm\n{lines}\n}}\n");
    Workshop::empty().with("shop.yaml", SHOP).with("trial.stl", mesh).with("trial.partspec", spec)
}

fn recipe(mesh: String, lines: &str) -> Recipe {
    trial(mesh, lines).recipe("trial.partspec")
}

fn pose(recipe: &Recipe) -> &str {
    &recipe.decisions.as_ref().unwrap_or_else(|| panic!("refused: {}", recipe.headline)).pose.value
}

fn rows(recipe: &Recipe) -> Vec<(&str, String)> {
    recipe.poses.iter().map(|p| (p.plain.as_str(), p.total.to_string())).collect()
}

fn supports(recipe: &Recipe) -> &str {
    &recipe.decisions.as_ref().unwrap().supports.value
}

fn cautions(recipe: &Recipe) -> String {
    recipe.cautions.iter().map(|c| c.text.to_string()).collect::<Vec<_>>().join("\n")
}

fn not(workshop: &Workshop, pose: &str) -> Run {
    workshop.run(&["explain", "trial.partspec", "not", pose])
}

fn open_box() -> String {
    let lines: [&[f64]; 3] = [&[0.0, 2.0, 78.0, 80.0], &[0.0, 2.0, 58.0, 60.0], &[0.0, 2.0, 40.0]];
    blocks(lines, |[x, y, z]| z == 0 || x != 1 || y != 1, |p| p)
}

#[test]
fn an_open_box_stands_on_its_floor_and_every_side_has_its_fate() {
    let workshop = trial(open_box(), INDOORS);
    let made = workshop.recipe("trial.partspec");
    assert_eq!((pose(&made), supports(&made)), ("-z down", "none"));
    let rows: Vec<&str> =
        made.poses.iter().flat_map(|p| std::iter::once(&p.plain).chain(&p.equals)).map(String::as_str).collect();
    for side in ["-x down", "+x down", "-y down", "+y down", "-z down", "+z down"] {
        assert!(rows.contains(&side), "{side} is not among {rows:?}");
        let told = not(&workshop, side);
        assert_eq!(told.code, 0, "{side}: {}", told.stderr);
        assert!(told.stdout.contains(side), "{}", told.stdout);
    }
    // A pose that leans is named as the table names it, and one that nobody looked at is looked at now.
    let askew = made.poses.iter().find(|p| p.plain.contains("tilted")).unwrap();
    assert!(not(&workshop, &askew.plain).stdout.contains("lies-on-no-face"));
    let told = not(&workshop, "-y down, tilted 30° toward -x");
    assert!(told.stdout.contains("lies-on-no-face"), "{} {}", told.stdout, told.stderr);
    assert!(not(&workshop, "+z up").stdout.contains("-z down is not rejected"));
    assert_eq!(workshop.recipe("trial.partspec").poses.len(), made.poses.len());
}

#[test]
fn a_pose_is_pinned_and_forbidden_by_its_name() {
    let pinned = |line: &str| recipe(open_box(), &format!("{INDOORS}\n  {line} because \"tried\""));
    assert_eq!(pose(&pinned("pin pose +z down")), "+z down");
    let askew = pinned("pin pose \"-y down, tilted 45° toward +z\"");
    assert_eq!(pose(&askew), "-y down, tilted 45° toward +z");
    // Its walls lean no farther than they print: nothing would be laid under them, and so no cradle holds it.
    assert_eq!(askew.status, Status::QuestionFirst);
    assert!(askew.assumptions.iter().any(|a| a.text.contains("What holds the part")), "{:?}", askew.assumptions);
    assert_ne!(pose(&pinned("forbid pose -z down")), "-z down");
}

/// A handle with a flat end of 12 mm and a ball at the other.
#[test]
fn a_turned_handle_stands_on_its_flat_end_with_a_brim() {
    let mut outline = vec![[0.0, 0.0], [6.0, 0.0], [9.0, 3.0], [11.0, 15.0], [8.0, 40.0], [9.0, 60.0]];
    outline.extend(arc([0.0, 78.0], 15.0, -30.0, 90.0, 12));
    let made = recipe(revolved(&outline), INDOORS);
    assert_eq!((pose(&made), supports(&made)), ("-z down", "none"));
    let brim = made.settings.iter().find(|s| s.name == "brim").unwrap();
    assert_ne!(brim.value.to_string(), "0 mm");
}

#[test]
fn a_part_without_a_flat_lies_low_in_a_cradle_and_is_told_what_would_serve_it() {
    let mut outline = arc([0.0, 12.0], 12.0, -90.0, -10.0, 8);
    outline.extend(arc([0.0, 68.0], 12.0, 10.0, 90.0, 8));
    let made = recipe(revolved(&outline), INDOORS);
    let row = &made.poses[0];
    assert_eq!(supports(&made), "where needed");
    assert!(row.height.to_mm() < 30.0, "{} stands {} high", row.plain, row.height);
    let said = cautions(&made);
    assert!(
        said.contains("No flat side serves") && said.contains("add a flat in CAD") && said.contains("split"),
        "{said}"
    );
}

/// A lens of 80 mm across and 12 thick, domed on both sides: so low beside its width it lies as on a table, and does not stand on its
/// rim.
#[test]
fn what_is_low_beside_its_width_lies_flat_though_it_has_no_flat() {
    let half = 2.0 * (6.0_f64 / 40.0).atan().to_degrees();
    let radius = 40.0 / half.to_radians().sin();
    let mut outline = arc([0.0, radius - 6.0], radius, -90.0, half - 90.0, 16);
    outline.extend(arc([0.0, 6.0 - radius], radius, 90.0 - half, 90.0, 16).into_iter().skip(1));
    let made = recipe(revolved(&outline), INDOORS);
    assert!(["-z down", "+z down"].contains(&pose(&made)), "{:#?}", rows(&made));
    assert_eq!(supports(&made), "where needed");
}

/// A hollow ball of 60 mm with a wall of 4 mm and a mouth of 24 mm, on the axis z.
fn ball_with_a_mouth() -> String {
    let lip = |radius: f64| (12.0_f64 / radius).acos().to_degrees();
    let mut outline = arc([0.0, 0.0], 30.0, -90.0, lip(30.0), 48);
    outline.extend(arc([0.0, 0.0], 26.0, lip(26.0), -90.0, 48));
    revolved(&outline)
}

/// Returns the same body with its axes turned: what lay along z lies along the first of these, made a unit vector.
fn turned_to(stl: &str, z: Point) -> String {
    let pose = Pose::new(z).unwrap();
    // The rotation takes `z` to the printer's, so its transpose takes the file's z there.
    let rows = pose.rotation();
    let place = |p: Point| [0, 1, 2].map(|k| (0..3).map(|i| rows[i][k] * p[i]).sum());
    let numbers = |line: &str| -> Vec<f64> { line.split_whitespace().skip(1).map(|n| n.parse().unwrap()).collect() };
    let corners: Vec<Point> =
        stl.lines().filter(|l| l.starts_with("vertex")).map(|l| place(numbers(l).try_into().unwrap())).collect();
    shapes::stl(corners.chunks(3).map(|c| [c[0], c[1], c[2]]))
}

/// What lies on no face lies plainly where leaning gains next to nothing: its mouth up, whatever axes the file has, since then
/// nothing but its brow hangs over inside.
#[test]
fn a_hollow_ball_lies_with_its_mouth_up() {
    let made = recipe(ball_with_a_mouth(), INDOORS);
    assert_eq!((pose(&made), supports(&made)), ("-z down", "where needed"), "{:#?}", rows(&made));
    let z = [0.3, -0.5, 0.7];
    let made = recipe(turned_to(&ball_with_a_mouth(), z), INDOORS);
    let up = pose::read(pose(&made)).unwrap();
    let off = Pose::new(z).unwrap().angle_to(up).to_degrees();
    assert!(off < 1.5, "{} leans {off}° from its mouth up\n{:#?}", pose(&made), rows(&made));
}

/// A pose that leans, taken for a hair's breadth of support, would be asked about by whoever lays the part.
#[test]
fn nothing_leans_for_a_hair() {
    let egg = |i: i32| {
        let (sin, cos) = (f64::from(i) * 3.75 - 90.0).to_radians().sin_cos();
        [20.0 * cos * (1.0 - 0.15 * sin), 30.0 * sin]
    };
    let mut gourd = arc([0.0, 0.0], 25.0, -90.0, 70.0, 48);
    gourd.extend(arc([0.0, 0.0], 22.0, 67.0, -90.0, 48));
    for outline in [(0..=48).map(egg).collect(), gourd] {
        let made = recipe(revolved(&outline), INDOORS);
        assert!(!pose(&made).contains("tilted"), "{:#?}", rows(&made));
    }
}

#[test]
fn a_shell_lies_on_its_rim() {
    let mut outline = arc([0.0, 0.0], 40.0, 0.0, 90.0, 24);
    outline.extend(arc([0.0, 0.0], 37.5, 90.0, 0.0, 24));
    let made = recipe(revolved(&outline), INDOORS);
    assert_eq!((pose(&made), supports(&made)), ("-z down", "where needed"));
}

#[test]
fn a_long_flat_part_is_not_stood_on_end_for_want_of_an_enclosure() {
    let lines = "  service { place outdoors; air -15 °C .. 30 °C; sun direct for 5 years; colour \"white\" }";
    let made = recipe(block([225.0, 28.0, 4.0]), lines);
    // On an open machine what stands the sun warps too far, however it lies: it is refused, and not stood on end.
    assert!(made.decisions.is_none(), "{}", made.headline);
    let indoors = recipe(block([225.0, 28.0, 4.0]), INDOORS);
    assert!(["-z down", "+z down"].contains(&pose(&indoors)), "{}", pose(&indoors));
}

/// A slope that prints just so is told with its angle, the limit and whose it is, and the step in this layer.
#[test]
fn a_slope_at_the_limit_is_told() {
    let wedge = pulled(&[[0.0, 0.0], [30.0, 0.0], [50.0, 20.0], [0.0, 20.0]], 20.0);
    let made = recipe(wedge, &format!("{INDOORS}\n  pin pose -y down because \"its face is seen\""));
    let told = made.mesh.iter().find(|f| f.name == "slope at the limit").map(|f| f.value.clone()).unwrap_or_default();
    for said in ["45.0° from vertical", "limit is", "each layer steps out 0.", "over a line of 0."] {
        assert!(told.contains(said), "{said}: {told}");
    }
    assert_eq!(supports(&made), "none");
}

/// A post of a sign: what a finger does to it decides nothing.
#[test]
fn a_load_that_holds_many_times_over_weighs_nothing() {
    let lines = |force: &str| {
        format!(
            "{INDOORS}\n  load \"push\" {{ force {force} toward +x at (25 mm, 25 mm, 70 mm); fixed at face \"foot\"; held 10 s }}\n  face \"foot\" toward -z"
        )
    };
    let cells: [&[f64]; 3] = [&[0.0, 15.0, 35.0, 50.0], &[0.0, 15.0, 35.0, 50.0], &[0.0, 5.0, 70.0]];
    let post = || blocks(cells, |[x, y, z]| z == 0 || (x == 1 && y == 1), |p| p);
    let against = |made: &Recipe| made.poses[0].penalties.iter().any(|w| w.rule == "layers-across-the-load");
    let idle = recipe(post(), &lines("1 N"));
    assert_eq!(pose(&idle), "-z down");
    assert!(!against(&idle), "{:?}", idle.poses[0].penalties);
}

#[test]
fn a_shaft_clamp_lies_on_its_flat_and_a_bore_for_a_fit_stands_upright() {
    let mut outline = vec![[-30.0, 0.0], [30.0, 0.0], [30.0, 18.0], [10.0, 18.0]];
    outline.extend(arc([0.0, 18.0], 10.0, 0.0, -180.0, 36).into_iter().skip(1));
    outline.push([-30.0, 18.0]);
    let made = recipe(pulled(&outline, 30.0), INDOORS);
    assert!(["-z down", "+z down", "-y down"].contains(&pose(&made)), "{}", pose(&made));
    assert_eq!(supports(&made), "none");
}

/// The same facets, each walked the other way round.
fn inward(mesh: &str) -> String {
    let mut lines: Vec<&str> = mesh.lines().collect();
    let corners: Vec<usize> = (0..lines.len()).filter(|&i| lines[i].trim_start().starts_with("vertex")).collect();
    corners.chunks(3).for_each(|facet| lines.swap(facet[1], facet[2]));
    lines.join("\n")
}

/// Funnels come out of revolved profiles that were drawn downwards: every facet faces inward, and nothing else is wrong.
#[test]
fn a_mesh_turned_inside_out_is_turned_round_and_asked_about() {
    let right = recipe(open_box(), INDOORS);
    let turned = recipe(inward(&open_box()), INDOORS);
    let asked = |r: &Recipe| r.assumptions.iter().filter(|a| a.question && a.text.contains("faces inward")).count();
    assert_eq!((asked(&right), asked(&turned)), (0, 1), "{:?}", turned.assumptions);
    assert_eq!((pose(&right), supports(&right)), (pose(&turned), supports(&turned)));
}

/// What reaches out less than a millimetre holds itself: no support is laid under it, and none is spoken of.
#[test]
fn what_needs_no_support_gets_none() {
    // The flanks of a lying half round, 52° from the vertical over 0.9 mm.
    let lines: [&[f64]; 3] = [&[0.0, 80.0], &[0.0, 0.9, 20.0, 20.9], &[0.0, 0.7, 16.0]];
    let wedge = shapes::blocks(
        lines,
        |_| true,
        |[x, y, z]| {
            let outer = |y: f64| {
                if y < 0.5 {
                    0.9
                } else if y > 20.5 {
                    20.0
                } else {
                    y
                }
            };
            [x, if z < 0.1 { outer(y) } else { y }, z]
        },
    );
    let found = recipe(wedge, INDOORS);
    assert_eq!(supports(&found), "none", "{:?}", rows(&found));
    assert!(!cautions(&found).contains("support"), "{}", cautions(&found));
}

/// Layers show where something slopes: who asks for looks gets thin ones on a dome, and not on a box whose sides are as smooth with
/// thick ones.
#[test]
fn thin_layers_for_looks_are_laid_where_something_slopes() {
    let height = |mesh: String| {
        let made = recipe(mesh, &format!("{INDOORS}\n  prefer finish\n  pin nozzle brass-04 because \"to compare\""));
        made.settings.iter().find(|s| s.name == "layer_height").unwrap().value.to_string()
    };
    let mut dome = vec![[0.0, 0.0]];
    dome.extend(arc([0.0, 0.0], 20.0, 0.0, 90.0, 24));
    assert_eq!((height(open_box()).as_str(), height(revolved(&dome)).as_str()), ("0.2 mm", "0.12 mm"));
}
