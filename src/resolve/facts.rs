//! Catalogue, workshop and spec lowered to records of facts, each with its origin, under the names rules use.

use std::sync::Arc;

use crate::catalogue::words::Flexes;
use crate::catalogue::{self, BuildUp, Catalogue, Figure, Located, Provenance, Rating, figures};
use crate::diag::Span;
use crate::geometry::mesh::Point;
use crate::quantity::{Area, Length, Quantity, Ratio, Volume};
use crate::rulebook::facts::{self as rules, Known, words};
use crate::rulebook::value::{Assumed, Fact, Origin, Record, Text};
use crate::semantics::spec::{
    self, Ask, Consequence, Course, FitFunction, Impact, MeshUnit, Preference, Spec, Treatment,
};

use super::part::Part;
use super::purge::Purged;

/// A value of the catalogue as a fact with its source; nothing where it is not known.
trait Cited<T> {
    fn cited(&self) -> Option<Known<T>>;
}

impl<T: Copy + Into<Quantity>> Cited<T> for Figure<T> {
    fn cited(&self) -> Option<Known<T>> {
        let end = |end: Option<T>| end.map(Into::into);
        sourced(self.at, self.kind, self.source.as_deref(), [end(self.low), end(self.high)]).of(self.typ)
    }
}

impl<T: Copy> Cited<T> for catalogue::Fact<T> {
    fn cited(&self) -> Option<Known<T>> {
        sourced(self.at, self.kind, self.source.as_deref(), [None, None]).of(self.value)
    }
}

impl Cited<Text> for catalogue::Fact<String> {
    fn cited(&self) -> Option<Known<Text>> {
        sourced(self.at, self.kind, self.source.as_deref(), [None, None]).of(Text::shared(&self.value))
    }
}

impl Cited<Text> for Located<String> {
    fn cited(&self) -> Option<Known<Text>> {
        stated(self.at).of(Text::shared(&self.value))
    }
}

impl<T, C: Cited<T>> Cited<T> for Option<C> {
    fn cited(&self) -> Option<Known<T>> {
        self.as_ref()?.cited()
    }
}

fn sourced(at: Span, kind: catalogue::SourceKind, source: Option<&str>, [low, high]: [Option<Quantity>; 2]) -> Origin {
    Origin::Sourced { at, kind: kind.as_str(), source: source.map(Arc::from), low, high }
}

fn from(from: &Provenance) -> Origin {
    sourced(from.at, from.kind, from.source.as_deref(), [None, None])
}

/// The ends of a range, each as a fact with the figure's source.
fn ends<T: Copy + Into<Quantity>>(figure: Option<&Figure<T>>) -> [Option<Known<T>>; 2] {
    let end = |value: T| figure.and_then(Figure::cited).map(|known| Known { value, ..known });
    [figure.and_then(|f| end(f.low())), figure.and_then(|f| end(f.high()))]
}

/// Lowers a build-up.
pub fn build_up(step: &BuildUp) -> rules::BuildUp {
    rules::BuildUp {
        title: step.name.clone(),
        name: Origin::Stated { at: step.at }.of(Text::shared(&step.name)),
        walls: step.walls.cited(),
        closed: step.closed.cited(),
        infill: step.infill.cited(),
    }
}

/// Returns the named figures of the catalogue as rules read them: `figure.NAME`.
pub fn figures(catalogue: &Catalogue) -> Record {
    let mut record = Record::new("figures");
    for (name, figure) in catalogue.figures.all() {
        let at = sourced(figure.at, figure.kind, figure.source.as_deref(), [figure.low, figure.high]);
        record.insert(name, Fact { value: figure.typ.into(), origin: at });
    }
    record
}

/// Lowers a material, with the ends of those ranges that rules use.
pub fn material(m: &catalogue::Material, catalogue: &Catalogue) -> rules::Material {
    let [print_temperature_low, print_temperature_high] = ends(Some(&m.print_temperature));
    let [bed_temperature_low, bed_temperature_high] = ends(Some(&m.bed_temperature));
    let [heat_limit_low, heat_limit_high] = ends(Some(&m.heat_limit));
    let [uv_life_low, uv_life_high] = ends(m.uv_years.as_ref());
    let overheat = catalogue.value(figures::OVERHEAT);
    let residues = Origin::Computed { working: Purged { overheat }.to_string().into() };
    let shortens = m.anneal_strain_along.cited();
    rules::Material {
        title: m.name.clone(),
        name: stated(m.at).of(Text::shared(&m.name)),
        family: m.family.cited(),
        morphology: m.morphology.cited(),
        density: m.density.cited(),
        glass_transition: m.glass_transition.cited(),
        melting: m.melting.cited(),
        heat_limit: m.heat_limit.cited(),
        heat_limit_low,
        heat_limit_high,
        service_limit: m.moulded_limit.cited(),
        cold_limit: m.cold_limit.cited(),
        print_temperature: m.print_temperature.cited(),
        print_temperature_low,
        print_temperature_high,
        bed_temperature: m.bed_temperature.cited(),
        bed_temperature_low,
        bed_temperature_high,
        chamber_need: m.chamber_need.cited(),
        chamber_temperature: m.chamber_temperature.cited(),
        chamber_limit: m.chamber_limit.cited(),
        fan: m.fan.cited(),
        drying_temperature: m.drying_temperature.cited(),
        drying_time: m.drying_time.cited(),
        moisture: m.moisture.cited(),
        creep: m.creep.cited(),
        impact: m.impact.cited(),
        strength_along: m.strength_along.cited(),
        strength_across: m.strength_across.cited(),
        modulus: m.modulus.cited(),
        elongation: m.printed_elongation.as_ref().or(m.elongation.as_ref()).and_then(Figure::cited),
        shrinkage: m.shrinkage.cited(),
        expansion: m.expansion.cited(),
        abrasive: m.abrasive.cited(),
        smallest_bore: m.smallest_bore.cited(),
        uv: m.uv.cited(),
        uv_life: m.uv_years.cited(),
        uv_life_low,
        uv_life_high,
        warp: m.warp.cited(),
        fumes: m.fumes.cited(),
        heat_sensitive: m.heat_sensitive.cited(),
        residue_limit: residues.of(super::purge::residue_limit(m, overheat)),
        flexible: m.flexible.cited(),
        water_soluble: m.water_soluble.cited(),
        annealed: m.annealed.cited(),
        anneal_temperature: m.anneal_temperature.cited(),
        anneal_time: m.anneal_time.cited(),
        anneal_shrinkage: shortens.map(|s| Known { value: Ratio::of(-s.value.value()), origin: s.origin }),
        filled: m.filled.cited(),
        fibre: m.fibre.cited(),
        support_only: m.support_only.cited(),
        static_control: m.static_control.cited(),
        price: m.price.cited(),
        layer_dwell: m.layer_time.cited(),
        overhang_limit: m.overhang_limit.cited(),
        bridge_limit: m.bridge_span.cited(),
        flow_factor: m.flow_factor.cited(),
        food_note: m.food.cited(),
        burning_note: m.burning.cited(),
    }
}

/// A nozzle wherever it is; what hangs on the printer it is to go into is added by the bench.
pub fn nozzle(n: &catalogue::Nozzle, fitted: Option<bool>) -> rules::Nozzle {
    let at = stated(n.at);
    rules::Nozzle {
        title: n.name.clone(),
        name: at.of(Text::shared(&n.name)),
        bore: at.of(n.bore),
        metal: at.of(Text::shared(&n.metal.title.value)),
        hardness: n.metal.hardness.cited(),
        limit: n.metal.temperature_limit.cited(),
        flow_factor: at.of(Ratio::of(n.bore_flow.value() * n.metal.flow_factor.typ.value())),
        temperature_shift: n.metal.temperature_shift.cited(),
        fitted: at.of(fitted),
        suits: None,
        holder: None,
        worn: at.of(n.worn),
        torque: None,
    }
}

/// A surface wherever it is; what hangs on the printer it is to lie on is added by the bench.
pub fn surface(surface: &catalogue::Surface, name: &str, mounted: Option<bool>, at: Span) -> rules::Surface {
    let at = stated(at);
    let flexes: Option<Known<Flexes>> = surface.flexes.cited();
    rules::Surface {
        title: name.to_owned(),
        name: at.of(Text::shared(name)),
        kind: at.of(Text::shared(&surface.name)),
        flexible: flexes.map(|f| Known { value: f.value == Flexes::Flex, origin: f.origin }),
        glass: surface.glass.cited(),
        limit: surface.temperature_limit.cited(),
        mounted: at.of(mounted),
        suits: None,
        holder: None,
        cleaning: surface.cleaning.cited(),
        adhesive_sheet: surface.adhesive_sheet.cited(),
    }
}

pub fn agent(agent: Option<(&catalogue::Agent, &str)>) -> rules::Agent {
    let title = agent.map_or("no agent", |(_, name)| name).to_owned();
    let none = Origin::None;
    let no = || none.of(false);
    rules::Agent {
        title,
        name: none.of(Text::shared(agent.map_or("none", |(_, name)| name))),
        kind: none.of(Text::shared(agent.map_or("none", |(a, _)| &a.name))),
        present: none.of(agent.is_some_and(|(a, _)| a.name != "none")),
        flammable: agent.map_or_else(no, |(a, _)| a.flammable.cited()),
        aerosol: agent.map_or_else(no, |(a, _)| a.aerosol.cited()),
    }
}

/// Lowers a bond, with what the catalogue says of the same material on the same surface without an agent.
pub fn bond(bond: Option<&catalogue::Bond>, bare: Option<&catalogue::Bond>, title: String) -> rules::Bond {
    let at = bond.map_or(Origin::None, |b| Origin::Sourced {
        at: b.at,
        kind: b.from.kind.as_str(),
        source: b.from.source.as_deref().map(Arc::from),
        low: None,
        high: None,
    });
    rules::Bond {
        title,
        strength: at.of(bond.map(|b| b.hold)),
        strength_high: at.of(bond.map(|b| b.hold_high)),
        bare: Origin::None.of(bare.map(|b| b.hold_high)),
        role: at.of(bond.map(|b| b.role)),
        bed_temperature: bond.and_then(|b| b.bed_temperature.cited()),
        risk: at.of(bond.map(|b| b.damage)),
        shown: at.of(bond.is_some()),
    }
}

pub fn contact(contact: &spec::Contact, catalogue: &Catalogue, rating: Option<Option<Rating>>) -> rules::Contact {
    let known = catalogue.chemical(&contact.chemical.value);
    let at = stated(contact.span);
    let temperature = contact.temperature.map(|t| t.value);
    let rating = rating.flatten();
    let rated = rating.as_ref().and_then(|r| r.from.as_ref()).map_or(Origin::None, from);
    rules::Contact {
        title: known.map_or(&contact.chemical.value, |c| &c.name).clone(),
        chemical: at.of(Text::shared(&contact.chemical.value)),
        kind: at.of(contact.kind),
        temperature: at.of(temperature),
        hot: at.of(temperature.is_some_and(|t| t > crate::catalogue::COLD_CONTACT)),
        rating: rated.of(rating.as_ref().and_then(|r| words::Rating::of(r.stands))),
        cracks_under_load: rated.of(rating.as_ref().map(|r| r.cracks_under_load.is_some())),
        flammable: known.and_then(|c| c.flammable.cited()),
        strength: known.and_then(|c| c.strength.cited()),
    }
}

pub fn part(spec: &Spec, catalogue: &Catalogue) -> rules::Part {
    let (none, practice) = (Origin::None, catalogue.practice());
    let texts = super::hints::Texts::of(spec, catalogue);
    let quantity = spec
        .quantity
        .map_or_else(|| Origin::Assumed(Assumed::OnePiece).of(1.0), |q| stated(q.span).of(f64::from(q.value)));
    let consequence = spec
        .consequence
        .map_or_else(|| Origin::Assumed(Assumed::Damage).of(Consequence::Damage), |c| stated(c.span).of(c.value));
    let pressure = spec.pressure.as_ref();
    let pressed = pressure.map_or(Origin::None, |p| stated(p.span));
    let treated = |treatment: Treatment| {
        let found = spec.treatments.iter().find(|t| t.value == treatment);
        found.map_or(Origin::None, |t| stated(t.span)).of(found.is_some())
    };
    let asked = |ask: Ask| {
        let found = spec.asks.iter().find(|a| a.value == ask).map(|a| a.span);
        // Oil on a drawer's runner is no meal: who says that it is none has answered.
        let of_food = ask == Ask::Food && !spec.denials.iter().any(|d| d.of == Ask::Food);
        let touched = spec.touching().find(|c| of_food && catalogue.is_food(&c.chemical.value));
        let found = found.or(touched.map(|c| c.span));
        found.map_or(Origin::None, stated).of(found.is_some())
    };
    let preferred = |preference: Preference| {
        // First 1, second 1/2, third 1/3: an order, not a scale.
        let rank = spec.preferences.iter().position(|p| p.value == preference);
        Origin::None.of(rank.map_or(0.0, |r| 1.0 / (r as f64 + 1.0)))
    };
    rules::Part {
        title: spec.name.value.clone(),
        name: none.of(Text::shared(&spec.name.value)),
        mesh_unit: mesh_unit(spec),
        quantity,
        wanted_by: spec.wanted_by.as_ref().and_then(|d| stated(d.span).of(Text::shared(&d.value))),
        stage: spec.stage.and_then(|s| stated(s.span).of(s.value)),
        consequence,
        wall: spec.wall.and_then(|w| stated(w.span).of(w.value)),
        pressure: pressed.of(pressure.and_then(|p| p.pressure).map(|p| p.value)),
        pressure_bore: pressed.of(pressure.and_then(|p| p.bore).map(|b| b.value)),
        pressure_gas: pressed.of(pressure.map(|p| p.medium.as_ref().is_some_and(|m| catalogue.is_gas(&m.value)))),
        tight: none.of(pressure.is_some_and(|p| p.tight)),
        wear: none.of(spec.wear.is_some()),
        second_colour: none.of(spec.second_colour.as_ref().map(|c| Text::shared(&c.value.colour))),
        second_colour_from: none.of(spec.second_colour.as_ref().map(|c| c.value.from)),
        impact: none.of(spec.impact.is_some_and(|i| impact_matters(i.value))),
        anneal: treated(Treatment::Anneal),
        seal: treated(Treatment::Seal),
        paint: treated(Treatment::Paint),
        condition: treated(Treatment::Condition),
        insulation: asked(Ask::ElectricalInsulation),
        mains: asked(Ask::MainsVoltage),
        r#static: asked(Ask::StaticDissipation),
        flame: asked(Ask::FlameRetardance),
        food: asked(Ask::Food),
        food_inferred: none
            .of(asked(Ask::Food).is_some_and(|f| f.value) && !spec.asks.iter().any(|a| a.value == Ask::Food)),
        skin: asked(Ask::SkinContact),
        toy: asked(Ask::Toy),
        children: none.of(texts.concerns(spec, catalogue, Ask::Toy)),
        lifting: asked(Ask::Lifting),
        people_beneath: asked(Ask::PeopleBeneath),
        medical: asked(Ask::Medical),
        vibration: asked(Ask::Vibration),
        soft: asked(Ask::Softness),
        clear_inside: asked(Ask::ClearInside),
        inside_said: {
            let denied = spec.denials.iter().find(|d| d.of == Ask::ClearInside);
            denied.map_or(asked(Ask::ClearInside), |d| stated(d.span).of(true))
        },
        deflection_limit: spec.deflection.as_ref().and_then(|d| stated(d.limit.span).of(d.limit.value)),
        deflection: None,
        prefers_strength: preferred(Preference::Strength),
        prefers_finish: preferred(Preference::Finish),
        prefers_speed: preferred(Preference::Speed),
        prefers_cost: preferred(Preference::Cost),
        loaded: none.of(!spec.loads.is_empty()),
        pulled_often: none.of(spec.loads.iter().any(|l| l.course.value == Course::Cyclic)),
        folds: none.of(texts.folds(spec, catalogue)),
        pours: none.of(texts.pours(catalogue)),
        load_unsaid: none.of(texts.load_unsaid(spec, catalogue).map(|word| Text::shared(&word))),
        pressure_unsaid: none.of(texts.pressure_unsaid(spec, catalogue).map(|word| Text::shared(&word))),
        has_fits: none.of(!spec.fits.is_empty()),
        has_lid: none.of(spec.fits.iter().any(|f| matches!(f.function.value, FitFunction::Lid { .. }))),
        has_ring: none.of(spec.fits.iter().any(|f| matches!(f.function.value, FitFunction::Groove { .. }))),
        tight_fits: none.of(spec.fits.iter().any(|f| super::fits::is_tight(&f.function.value, &practice))),
        has_cosmetic: none.of(spec.faces.iter().any(|f| f.cosmetic)),
        strained: none.of(spec.fits.iter().any(|f| super::strain::is_strained(&f.function.value))),
        treated: none.of(!spec.treatments.is_empty()),
    }
}

/// Returns the unit a spec's mesh is in, in words.
fn mesh_unit(spec: &Spec) -> Option<Known<Text>> {
    let said = spec.meshes.first().and_then(|mesh| mesh.unit);
    let unit = said.map_or(MeshUnit::Millimetre, |unit| unit.value);
    said.map_or(Origin::None, |unit| stated(unit.span)).of(Text::shared(unit.plural()))
}

pub fn mesh(part: &Part) -> rules::Mesh {
    let found = Origin::Measured;
    rules::Mesh {
        title: "mesh".to_owned(),
        volume: found.of(part.volume_mm3.map(Volume::mm3)),
        area: found.of(Area::mm2(part.area_mm2)),
        longest: found.of(Length::mm(part.longest_mm())),
        height: found.of(Length::mm(part.size_mm()[2])),
        closed: found.of(part.closed),
        turned: found.of(part.turned),
        flaw: found.of(part.defects.first().map(|d| Text::shared(d))),
        middle: found.of(Length::mm(middle(part.size_mm()))),
        peg: found.of(thinnest_peg(part).map(|b| measured(b.diameter_mm))),
        peg_height: found.of(thinnest_peg(part).map(|b| measured(b.height_mm))),
        min_wall: found.of(part.min_wall_mm.map(measured)),
        min_wall_at: found.of(part.min_wall_at.map(|p| Text::shared(&place(p)))),
        broad_wall: found.of(part.broad_wall.map(|w| measured(w.mm))),
        broad_wall_at: found.of(part.broad_wall.map(|w| Text::shared(&place(w.at)))),
        min_gap: found.of(part.min_gap_mm.map(measured)),
        min_gap_at: found.of(part.min_gap_at.map(|p| Text::shared(&place(p)))),
        flat_sides: found.of(part.poses.iter().filter(|p| p.stands(&part.flat)).count() as f64),
        pieces: found.of(part.pieces as f64),
        sealed_rooms: found.of(part.cavities.iter().filter(|c| c.sealed).count() as f64),
    }
}

/// `scars` is the area that support would touch in a pose, mm², where that is decided.
pub fn face(face: &spec::Face, index: usize, part: &Part, pose: Option<usize>, scars: Option<f64>) -> rules::Face {
    let at = stated(face.span);
    rules::Face {
        title: format!("face \"{}\"", face.name.value),
        name: at.of(Text::shared(&face.name.value)),
        cosmetic: at.of(face.cosmetic),
        no_support: at.of(face.no_support),
        no_seam: at.of(face.no_seam),
        on_bed: at.of(face.on_bed),
        marking: at.of(face.marking.as_deref().map(Text::shared)),
        scarred: Origin::Measured.of(pose.and(scars).map(Area::mm2)),
        down: Origin::Measured.of(pose.and_then(|pose| part.lies_down(index, pose))),
    }
}

/// The middle one of three lengths.
fn middle(mut of: [f64; 3]) -> f64 {
    of.sort_by(f64::total_cmp);
    of[1]
}

/// The thinnest round thing that stands out.
fn thinnest_peg(part: &Part) -> Option<&crate::geometry::features::Boss> {
    part.features.bosses.iter().min_by(|a, b| a.diameter_mm.total_cmp(&b.diameter_mm))
}

/// Something a text states at that place.
pub fn stated(at: Span) -> Origin {
    Origin::Stated { at }
}

/// A thickness found on the mesh, to a hundredth of a millimetre: the last bits of a coordinate of the file must not
/// make a wall of 0.8 mm too thin for two lines of 0.4 mm.
pub fn measured(value: f64) -> Length {
    Length::mm(hundredth(value))
}

/// Rounds to a hundredth; a negative zero is a zero.
pub fn hundredth(value: f64) -> f64 {
    (value * 100.0).round() / 100.0 + 0.0
}

/// A place in the axes of the mesh file, in words.
pub fn place([x, y, z]: Point) -> String {
    format!("({:.2}, {:.2}, {:.2}) mm", hundredth(x), hundredth(y), hundredth(z))
}

fn impact_matters(impact: Impact) -> bool {
    match impact {
        Impact::Drop(height) => height.to_mm() > 0.0,
        Impact::Blow { .. } | Impact::Stated => true,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diag::SourceId;

    /// A text of the catalogue (how a surface is cleaned, what is known of food) reaches the rules with its source.
    #[test]
    fn a_text_of_the_catalogue_is_a_fact_with_its_source() {
        let at = Span::new(SourceId(0), 3, 9);
        let kind = catalogue::SourceKind::Handbook;
        let text =
            catalogue::Fact { value: "wipe it".to_owned(), kind, source: Some("book".to_owned()), note: None, at };
        let known = text.cited().unwrap();
        assert_eq!(known.value, Text::shared("wipe it"));
        let Origin::Sourced { at: place, kind, source, .. } = known.origin else { panic!("{:?}", known.origin) };
        assert_eq!((place, kind, source.as_deref()), (at, "handbook", Some("book")));
    }
}
