//! `fit`: a feature that must fit something.

use super::checker::Checker;
use super::read::Found;
use super::spec::{Fit, FitFinish, FitFunction, GrooveSeat, Opened, Series, Stated};
use crate::diag::Diagnostic;
use crate::quantity::Length;

/// Statements that say what a fit is for; a fit has one of them.
pub(crate) const FUNCTIONS: &[&str] = &[
    "clearance",
    "sliding",
    "press",
    "bearing",
    "bore",
    "shaft",
    "slot",
    "pocket",
    "tongue",
    "rim",
    "lip",
    "groove",
    "keyway",
    "distance",
    "thread",
    "insert",
    "nut",
    "dowel",
    "magnet",
    "hinge",
    "snap",
];

/// Returns the example of the function that a fit is named after: then the name is what was forgotten.
fn named_as_function(name: &str) -> Option<&'static str> {
    let entry = super::vocabulary::VOCABULARY.iter().find(|e| e.keyword == name && FUNCTIONS.contains(&e.keyword));
    entry.map(|e| e.example)
}

impl Checker<'_> {
    pub(crate) fn fit(&mut self, found: &Found) -> Option<Fit> {
        let name = found.values.stated_text("name")?;
        let functions: Vec<&Found> = found.inner.iter().filter(|f| FUNCTIONS.contains(&f.entry.keyword)).collect();
        self.refuse_two_functions(&functions);
        let Some(first) = functions.first() else {
            // A line that broke off has been reported; the function may have stood behind the break.
            if !found.broken && found.inner.iter().all(|f| !f.broken) {
                let message = format!("fit \"{}\" does not say what it is", name.value);
                let hint = match named_as_function(&name.value) {
                    Some(example) => format!("write a name first, then what it is: `fit \"NAME\" {example}`"),
                    None => format!("write one of {}, as in `clearance M5`", super::form::list(FUNCTIONS)),
                };
                self.report(Diagnostic::error("fit/empty", found.head, message).hint(hint));
            }
            return None;
        };
        if first.broken {
            return None;
        }
        let inside = |keyword: &str| found.inside(keyword).filter(|f| !f.broken);
        if self.has_no_limits(found, first) {
            return None;
        }
        let within = within(found, first);
        let function = Stated { value: function(first, within.as_ref())?, span: first.head };
        self.doubtful_geometry(&function);
        let across = |keyword: &str| inside(keyword).and_then(|f| Some(f.state(f.values.measure("across")?)));
        let (one, two): (Option<Stated<Length>>, Option<Stated<Length>>) = (across("flat"), across("flats"));
        if let (Some(one), Some(two)) = (&one, &two) {
            let told = Diagnostic::error("fit/flat", two.span, "a round has one flat or two, not both");
            self.report(told.label(one.span, "said here").hint("leave `flat` or `flats` out"));
        }
        let two_flats = two.is_some();
        let flat = two.or(one);
        self.doubtful_flat(&function, flat.as_ref(), two_flats);
        Some(Fit {
            name,
            function,
            count: inside("count").and_then(|f| Some(f.state(f.values.count("count")?))),
            along: inside("along").and_then(|f| Some(f.state(f.values.direction("direction")?))),
            at: inside("at").and_then(|f| Some(f.state(f.values.point("place")?))),
            depth: inside("depth").and_then(|f| Some(f.state(f.values.measure("depth")?))),
            flat,
            two_flats,
            within,
            finish: inside("finish").and_then(|f| Some(f.state(FitFinish::read(f.values.word("finish")?)?))),
            opened: inside("opened").and_then(|f| Some(f.state(Opened::read(f.values.word("how")?)?))),
            compensated: inside("allowance").and_then(|f| Some(f.state(f.values.word("home")? == "in model"))),
            span: found.span,
        })
    }

    /// A bore or a shaft says how close it is kept, once: by a class, or by limits.
    fn has_no_limits(&mut self, found: &Found, first: &Found) -> bool {
        if !matches!(first.entry.keyword, "bore" | "shaft" | "slot" | "pocket" | "tongue") {
            return false;
        }
        let own = first.values.text("own");
        let within = within(found, first);
        let written = self.sources.text(first.head).to_owned();
        let (class, side) = if first.is("shaft") { ("h9", "shaft") } else { ("H9", "hole") };
        let told = match (own, &within) {
            // A square goes on its square with the usual play.
            (None, None) if matches!(first.entry.keyword, "pocket" | "tongue") => return false,
            (None, None) if first.values.word("form").is_some() => return false,
            (None, None) => {
                let message = format!("`{}` needs the tolerance zone of a {side}, or its limits", first.entry.keyword);
                let hint = format!("write `{written} {class}`, or `{written} +-0.1 mm`");
                Diagnostic::error("argument/missing", first.head, message).hint(hint)
            }
            (Some(own), Some(_)) => {
                let message =
                    format!("the class `{own}` and limits of its own are two answers to how close it is kept");
                Diagnostic::error("fit/two-limits", first.head, message).hint("leave one of them out")
            }
            _ => return false,
        };
        self.report(told);
        true
    }

    fn refuse_two_functions(&mut self, functions: &[&Found]) {
        let [first, rest @ ..] = functions else { return };
        for other in rest.iter().filter(|f| f.entry.keyword != first.entry.keyword) {
            let message = format!("a fit is one thing: `{}` or `{}`", first.entry.keyword, other.entry.keyword);
            self.report(
                Diagnostic::error("fit/two-functions", other.head, message)
                    .here("and here")
                    .label(first.head, "said here")
                    .hint("write two fits with names of their own"),
            );
        }
    }

    /// A flat lies between the middle of a round and its far side; two are as far apart as the round is wide, or less.
    fn doubtful_flat(&mut self, function: &Stated<FitFunction>, flat: Option<&Stated<Length>>, two: bool) {
        let Some(flat) = flat else { return };
        let size = match &function.value {
            FitFunction::Iso { size, .. }
            | FitFunction::Sized { size, .. }
            | FitFunction::Sliding { size, .. }
            | FitFunction::Press { size, .. } => *size,
            _ => {
                let told = Diagnostic::error("fit/flat", flat.span, "only a round bore or shaft has a flat");
                self.report(told.hint("write it behind a bore or a shaft: `bore 6 mm H11 flat 5.5 mm`"));
                return;
            }
        };
        let (across, size) = (flat.value.to_mm(), size.to_mm());
        if two && across >= size {
            let message = format!(
                "two flats on a round of {0} mm lie less than {0} mm apart",
                crate::quantity::trim_number(size, 3)
            );
            let hint = "`flats` is the size across both, as a caliper takes it: `flats 5 mm` on a round of 6 mm";
            self.report(Diagnostic::error("fit/flat", flat.span, message).hint(hint));
        } else if !two && (across <= size / 2.0 || across >= size) {
            let least = crate::quantity::trim_number(size / 2.0, 3);
            let most = crate::quantity::trim_number(size, 3);
            let message =
                format!("a flat on a round of {most} mm lies over {least} mm and under {most} mm from its far side");
            let hint =
                "`flat` is the size over round and flat, as a caliper takes it: `flat 5.5 mm` on a shaft of 6 mm";
            self.report(Diagnostic::error("fit/flat", flat.span, message).hint(hint));
        }
    }

    /// Sizes that cannot belong to one another.
    fn doubtful_geometry(&mut self, function: &Stated<FitFunction>) {
        let FitFunction::Snap { reach, thickness, .. } = &function.value else { return };
        if thickness >= reach {
            self.report(
                Diagnostic::error(
                    "fit/snap",
                    function.span,
                    format!("a snap hook as thick ({thickness}) as it is long ({reach}) cannot bend"),
                )
                .hint("`reach` is the length of the arm, `thick` its thickness at the root"),
            );
        }
    }
}

/// The limits stated for a fit: behind its size, or by a clause of its own.
fn within(found: &Found, first: &Found) -> Option<Stated<[Length; 2]>> {
    let clause = || found.inside("within").filter(|f| !f.broken);
    let (of, ends) = match first.values.range("within") {
        Some(ends) => (first, ends),
        None => (clause()?, clause()?.values.range("within")?),
    };
    let (low, high) = ends;
    Some(of.state([low.try_into().ok()?, high.try_into().ok()?]))
}

fn function(found: &Found, within: Option<&Stated<[Length; 2]>>) -> Option<FitFunction> {
    let v = &found.values;
    let text = |name: &str| v.text(name).map(str::to_owned);
    let inner = v.word("side") != Some("shaft");
    Some(match found.entry.keyword {
        "clearance" => FitFunction::Clearance {
            thread: text("thread")?,
            series: v.word("series").and_then(Series::read).unwrap_or(Series::Medium),
        },
        "sliding" => FitFunction::Sliding { size: v.measure("size")?, inner, play: v.measure("play") },
        "press" => FitFunction::Press { size: v.measure("size")?, inner, symbol: text("symbol") },
        "bearing" => FitFunction::BearingSeat { designation: text("designation")? },
        "bore" | "shaft" if v.word("form").is_some() => {
            FitFunction::Square { size: v.measure("size")?, own: paired(found), inner: found.is("bore") }
        }
        "pocket" | "tongue" => FitFunction::Pocket {
            size: [v.measure("width")?, v.measure("length")?],
            own: text("own"),
            inner: found.is("pocket"),
        },
        "rim" | "lip" => {
            FitFunction::Lid { size: v.measure("width")?, length: v.measure("length"), inner: found.is("rim") }
        }
        "groove" => FitFunction::Groove {
            seat: match v.word("seat")? {
                "face" => GrooveSeat::Face,
                "shaft" => GrooveSeat::Shaft,
                _ => GrooveSeat::Bore,
            },
            inside: v.measure("inside")?,
            section: v.measure("section")?,
        },
        "bore" | "shaft" => match within {
            Some(within) => {
                FitFunction::Sized { size: v.measure("size")?, within: within.value, inner: found.is("bore") }
            }
            None => iso(found, found.is("bore"))?,
        },
        "slot" => FitFunction::Slot { size: v.measure("size")?, own: text("own") },
        "keyway" => FitFunction::Keyway { shaft: v.measure("shaft")? },
        "distance" => FitFunction::Distance { size: v.measure("size")?, from: text("from")?, to: text("to") },
        "thread" => FitFunction::Thread { designation: text("thread")? },
        "insert" => FitFunction::Insert { thread: text("thread")? },
        "nut" => FitFunction::Nut { thread: text("thread")? },
        "dowel" => FitFunction::Dowel { size: v.measure("size")? },
        "magnet" => FitFunction::Magnet { diameter: v.measure("diameter")?, height: v.measure("height")? },
        "hinge" => FitFunction::Hinge {
            size: v.measure("size")?,
            living: v.word("form") == Some("living"),
            in_place: v.word("form") == Some("in-place"),
        },
        "snap" => FitFunction::Snap {
            undercut: v.measure("undercut")?,
            reach: v.measure("reach")?,
            thickness: v.measure("thick")?,
        },
        _ => return None,
    })
}

/// The zone of a square as it is written, with its partner's.
fn paired(found: &Found) -> Option<String> {
    let own = found.values.text("own")?;
    Some(match found.values.text("partner") {
        Some(partner) if found.is("bore") => format!("{own}/{partner}"),
        Some(partner) => format!("{partner}/{own}"),
        None => own.to_owned(),
    })
}

/// `bore 8 mm H7/g6` and `bore 8 mm H7 for shaft g6` say the same.
fn iso(found: &Found, inner: bool) -> Option<FitFunction> {
    let v = &found.values;
    let own = v.text("own")?;
    let (own, paired) = match own.split_once('/') {
        Some((hole, shaft)) if inner => (hole, Some(shaft)),
        Some((hole, shaft)) => (shaft, Some(hole)),
        None => (own, None),
    };
    let partner = v.text("partner").or(paired).map(str::to_owned);
    Some(FitFunction::Iso { size: v.measure("size")?, own: own.to_owned(), partner, inner })
}
