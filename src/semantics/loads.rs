//! `load`: a force, a torque, a pressure or the part's own mass, where it acts, its course in time.

use super::checker::Checker;
use super::measure::FREE_FALL;
use super::read::Found;
use super::spec::{Course, Extent, Hold, Load, Stated, Where};
use super::values::Values;
use crate::diag::Diagnostic;
use crate::quantity::{Acceleration, Length};

impl Checker<'_> {
    pub(crate) fn load(&mut self, found: &Found) -> Option<Load> {
        let name = found.values.stated_text("name")?;
        let inside = |keyword: &str| found.inside(keyword).filter(|f| !f.broken);
        let broken = found.broken || found.inner.iter().any(|f| f.broken);
        self.refuse_two_directions(found);
        let course = self.course(found);
        let held = inside("held").and_then(|f| Some(f.state(f.values.measure("duration")?)));
        let cycles = inside("cyclic").and_then(|f| Some(f.state(f.values.number("cycles")?)));
        let by_mass = inside("weight").map(|f| f.state(Acceleration::m_per_s2(FREE_FALL)));
        let by_mass = by_mass.or(inside("acceleration").and_then(|f| Some(f.state(f.values.measure("acceleration")?))));
        let load = Load {
            name,
            force: inside("force").and_then(|f| Some(f.state(f.values.measure("force")?))),
            torque: inside("torque").and_then(|f| Some(f.state(f.values.measure("torque")?))),
            pressure: inside("pressure").and_then(|f| Some(f.state(f.values.measure("pressure")?))),
            acceleration: by_mass,
            own_weight: inside("weight").is_some(),
            direction: inside("toward")
                .or(inside("about"))
                .and_then(|f| Some(f.state(f.values.direction("direction")?))),
            at: match by_mass {
                Some(stated) => Some(Stated { value: Where::Throughout, span: stated.span }),
                None => inside("at").and_then(|f| Some(f.state(f.values.place("where")?))),
            },
            extent: inside("at").and_then(|f| extent(&f.values)),
            holds: found.inner.iter().filter(|f| !f.broken).filter_map(hold).collect(),
            course_stated: course.is_some(),
            course: course.unwrap_or(Stated { value: Course::Steady, span: found.head }),
            held,
            cycles,
            factor: inside("factor").and_then(|f| Some(f.state(f.values.number("factor")?))),
            alone: inside("alone").map(|f| f.head),
            temperature: inside("temperature").and_then(|f| Some(f.state(f.values.measure("temperature")?))),
            span: found.span,
        };
        if !broken && load.size().is_none() {
            let message = format!("load \"{}\" has neither force, torque, pressure nor weight", load.name.value);
            self.report(
                Diagnostic::error("load/empty", found.head, message)
                    .hint("write how large it is: `force 140 N toward -z`"),
            );
        }
        self.held_and_not_steady(&load);
        Some(load)
    }

    fn course(&mut self, found: &Found) -> Option<Stated<Course>> {
        let mut first: Option<Stated<Course>> = None;
        for f in &found.inner {
            let course = match f.entry.keyword {
                "steady" => Course::Steady,
                "shock" => Course::Shock,
                "cyclic" => Course::Cyclic,
                _ => continue,
            };
            match &first {
                None => first = Some(f.state(course)),
                Some(one) if one.value != course => {
                    self.report(
                        Diagnostic::error(
                            "load/two-courses",
                            f.head,
                            "a load is steady, a shock or cyclic: one of them",
                        )
                        .here("and here")
                        .label(one.span, "said here")
                        .hint("write two loads with names of their own if both occur"),
                    );
                }
                Some(_) => {}
            }
        }
        first
    }

    fn refuse_two_directions(&mut self, found: &Found) {
        let (toward, about) = (found.inside("toward"), found.inside("about"));
        let (force, torque) = (found.inside("force"), found.inside("torque"));
        if self.refuse_beside_the_mass(found) {
            return;
        }
        if let (Some(pressure), Some(other)) = (found.inside("pressure"), force.or(torque).or(toward).or(about)) {
            self.report(
                Diagnostic::error(
                    "load/pressure-and-force",
                    other.head,
                    "a pressure has no direction, and no force beside it",
                )
                .here("not beside the pressure")
                .label(pressure.head, "the pressure")
                .hint("write two loads with names of their own, or leave one of them out"),
            );
            return;
        }
        if let (Some(a), Some(b)) = (force, torque) {
            self.report(
                Diagnostic::error("load/force-and-torque", b.head, "a load is a force or a torque, not both")
                    .here("the torque")
                    .label(a.head, "the force")
                    .hint("write two loads with names of their own, or a force at a place off the axis"),
            );
        } else if let (Some(a), Some(b)) = (toward, about) {
            self.report(
                Diagnostic::error("load/two-directions", b.head, "a load has one direction")
                    .here("and here")
                    .label(a.head, "said here")
                    .hint("write `toward` for a force, `about` for a torque"),
            );
        } else if let (Some(_), Some(about)) = (force, about) {
            self.report(
                Diagnostic::error("load/about-a-force", about.head, "a force has no axis")
                    .hint("write `toward` for a force, `about` for a torque"),
            );
        } else if let (Some(_), Some(toward)) = (torque, toward) {
            self.report(
                Diagnostic::error("load/toward-a-torque", toward.head, "a torque pushes nowhere")
                    .hint("write `about` and its axis"),
            );
        }
    }

    /// Refuses what the part's own mass leaves no room for: it acts everywhere, and is a load of its own.
    fn refuse_beside_the_mass(&mut self, found: &Found) -> bool {
        let (weight, acceleration) = (found.inside("weight"), found.inside("acceleration"));
        let Some(mass) = weight.or(acceleration) else { return false };
        let others = ["force", "torque", "pressure", "about", "at"];
        let other =
            acceleration.filter(|_| weight.is_some()).or(others.into_iter().find_map(|word| found.inside(word)));
        if let Some(other) = other {
            let message = "the part's own mass acts in all of it, beside no force and at no place of its own";
            self.report(
                Diagnostic::error("load/weight-and-force", other.head, message)
                    .here("not beside it")
                    .label(mass.head, "the mass")
                    .hint("write two loads with names of their own: `load \"own weight\" weight toward -z fixed at face \"root\"`"),
            );
        }
        other.is_some()
    }

    fn held_and_not_steady(&mut self, load: &Load) {
        if let Some(held) = &load.held
            && load.course.value == Course::Shock
        {
            self.report(
                Diagnostic::error("load/held-shock", held.span, "a shock is over at once; it cannot be held")
                    .here("held")
                    .label(load.course.span, "a shock")
                    .hint("leave one of them out, or write two loads"),
            );
        }
    }
}

/// Returns how much of the surface at a place is meant.
fn extent(values: &Values) -> Option<Extent> {
    let length = |name: &str| values.measure::<Length>(name);
    let over = || Some(Extent::Over([length("width")?, length("depth")?]));
    length("diameter").map(Extent::Across).or_else(over)
}

/// Returns a hold, where a statement says one.
fn hold(found: &Found) -> Option<Stated<Hold>> {
    let rests = found.is("rests");
    if !rests && !found.is("fixed") {
        return None;
    }
    let at = found.values.place("where")?;
    let heads = found.values.direction("heads");
    Some(found.state(Hold { at, extent: extent(&found.values), heads, rests }))
}
