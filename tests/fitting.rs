//! Jobs of a fitter, each in the manner of the case book: what was said, the mesh, the spec, what a fitter expects, and why.

use crate::workshop::read::{Allowance, Recipe};
use crate::workshop::shapes::plate_with_hole;
use crate::workshop::{Workshop, first, one_spool};

/// A plate with one hole, printed of PETG on the one machine there is.
fn plate(hole: f64, lines: &str) -> Recipe {
    let home = shop(lines).with("plate.stl", plate_with_hole(hole));
    first(home.compile("plate.partspec"))
}

fn shop(lines: &str) -> Workshop {
    let spec = format!(
        "part \"plate\" {{\n  mesh \"plate.stl\" in mm\n  size 60 mm x 40 mm x 10 mm\n  service {{ place indoors; air 10 °C .. 28 °C }}\n{lines}\n}}\n"
    );
    Workshop::empty().with("shop.yaml", one_spool("PETG", "white")).with("plate.partspec", spec)
}

fn fit<'r>(recipe: &'r Recipe, name: &str) -> &'r Allowance {
    recipe.allowances.iter().find(|a| a.fit == name).unwrap_or_else(|| panic!("no fit {name}: {recipe:#?}"))
}

/// "The pipe is twenty, the drawing says plus or minus a tenth." A class of ISO 286 is not what the drawing has, and the
/// tenth is less than a print holds: it is drilled or reamed to 19.9 .. 20.1, and gauged to that.
#[test]
fn limits_of_the_drawing_are_taken_as_they_are_written() {
    for written in ["+-0.1 mm", "±0.1 mm", "+/-0.1 mm", "+0.1 mm -0.1 mm", "-0.1 mm .. 0.1 mm"] {
        let recipe = plate(20.0, &format!("  fit \"pipe\" bore 20 mm {written} along z"));
        let pipe = fit(&recipe, "pipe");
        assert_eq!(pipe.target, "19.9 to 20.1 mm", "{written}");
        assert!(pipe.function.contains("hole 1"), "found in the mesh: {}", pipe.function);
        assert!(!pipe.route.starts_with("print to size"), "{}", pipe.route);
    }
}

/// "Up to two tenths over, a twentieth under": the aim is their middle, 20.075, not the nominal.
#[test]
fn uneven_limits_are_aimed_at_in_the_middle() {
    let recipe = plate(20.0, "  fit \"pipe\" bore 20 mm +0.5 mm -0.2 mm along z");
    let pipe = fit(&recipe, "pipe");
    assert_eq!(pipe.target, "19.8 to 20.5 mm");
    assert!(pipe.route.starts_with("print to size"), "seven tenths are a print's: {}", pipe.route);
    let model: f64 = pipe.model_size.trim_end_matches(" mm").parse().unwrap();
    assert!((20.3..20.7).contains(&model), "20.15 and what holes print small: {model}");
    let recipe = plate(20.0, "  fit \"pipe\" bore 20 mm +0.2 mm along z");
    assert_eq!(fit(&recipe, "pipe").target, "20 to 20.2 mm", "as a drawing's +0.2 over 0");
}

/// "It's an M5 clearance hole, but the washer is small: nothing over 5.6." Limits of its own go for any fit.
#[test]
fn any_fit_may_have_limits_of_its_own() {
    let recipe = plate(5.5, "  fit \"bolt\" clearance M5 medium within -0.2 mm .. 0.1 mm along z");
    assert_eq!(fit(&recipe, "bolt").target, "5.3 to 5.6 mm");
}

#[test]
fn a_bore_says_once_how_close_it_is_kept() {
    let told = |lines: &str| {
        let home = shop(lines).with("plate.stl", plate_with_hole(20.0));
        home.run(&["check", "plate.partspec"]).stdout
    };
    let none = told("  fit \"pipe\" bore 20 mm along z");
    assert!(none.contains("write `bore 20 mm H9`, or `bore 20 mm +-0.1 mm`"), "{none}");
    let two = told("  fit \"pipe\" bore 20 mm H9 +-0.1 mm along z");
    assert!(two.contains("fit/two-limits"), "{two}");
    let upside = told("  fit \"pipe\" bore 20 mm 0.2 mm .. 0.1 mm along z");
    assert!(upside.contains("range/upside-down"), "{upside}");
    let nothing = told("  fit \"pipe\" bore 20 mm +-30 mm along z");
    assert!(nothing.contains("fit/impossible"), "{nothing}");
}

/// A size is told to what its spread makes sense of, and alike wherever it is told.
#[test]
fn decimals_follow_the_spread() {
    let home = shop("  fit \"pipe\" bore 20 mm +0.5 mm -0.2 mm along z").with("plate.stl", plate_with_hole(20.0));
    let recipe = first(home.compile("plate.partspec"));
    let pipe = fit(&recipe, "pipe");
    let decimals = |text: &str| text.trim_end_matches(" mm").split_once('.').map_or(0, |(_, d)| d.len());
    assert!(decimals(&pipe.model_size) <= 2 && decimals(&pipe.spread) <= 2, "{pipe:#?}");
    let page = home.run(&["compile", "plate.partspec", "--print", "md"]).stdout;
    let page = page.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(page.contains(&format!("to {}, on the diameter", pipe.model_size)), "{page}");
    assert!(page.contains(&format!("= {}", pipe.model_size)), "the sum ends at the same size: {page}");
}
