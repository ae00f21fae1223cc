//! From the mesh a spec names to the mesh it means: read, in its unit, held against the stated overall size.

use std::sync::Arc;

use crate::catalogue::{Catalogue, figures};
use crate::diag::{Diagnostic, Span};
use crate::geometry::mesh::Mesh;
use crate::geometry::read::{self, LengthUnit, ReadError, ReadMesh};
use crate::semantics::spec::{MeshUnit, MeshUse, Spec};

/// A mesh in millimetres and what is to be said about the file.
#[derive(Debug, Clone)]
pub(super) struct Read {
    pub mesh: Arc<Mesh>,
    /// Notes for the recipe; `true` where it should be looked at before printing.
    pub notes: Vec<(String, bool)>,
}

fn unit(unit: MeshUnit) -> LengthUnit {
    match unit {
        MeshUnit::Micrometre => LengthUnit::Micrometre,
        MeshUnit::Millimetre => LengthUnit::Millimetre,
        MeshUnit::Centimetre => LengthUnit::Centimetre,
        MeshUnit::Metre => LengthUnit::Metre,
        MeshUnit::Inch => LengthUnit::Inch,
        MeshUnit::Foot => LengthUnit::Foot,
    }
}

/// Reads the bytes of a mesh as the spec means them.
///
/// # Errors
///
/// At the mesh statement: what cannot be read or used, and what to do instead.
pub(super) fn read(bytes: &[u8], name: &str, used: &MeshUse) -> Result<Read, Diagnostic> {
    let stated = used.unit.map(|u| unit(u.value));
    let found = read::read(bytes, name, stated).map_err(|e| refused(&e, name, used.path.span))?;
    let placed = |n: &read::Note| {
        if n.place.is_empty() { n.message.clone() } else { format!("{} ({})", n.message, n.place) }
    };
    let mut notes: Vec<(String, bool)> = found.notes.iter().map(|n| (placed(n), false)).collect();
    if let (Some(stated), Some(own)) = (stated, found.unit_stated)
        && stated != own
    {
        notes.push((format!("the file itself says {own}, the spec says {stated}: the spec counts"), true));
    }
    let mesh = pick(&found, used)?;
    if mesh.triangles.is_empty() {
        let message = format!("\"{}\" holds no triangles", used.path.value);
        return Err(Diagnostic::error("mesh/empty", used.path.span, message).hint("export the part again as a mesh"));
    }
    Ok(Read { mesh: Arc::new(mesh), notes })
}

fn refused(error: &ReadError, name: &str, span: Span) -> Diagnostic {
    Diagnostic::error("mesh/unreadable", span, format!("{name}: {}", error.message))
        .here(error.place.clone())
        .hint(error.hint.clone())
}

/// Returns the object the spec names, or the only one, or all of them as one.
fn pick(found: &ReadMesh, used: &MeshUse) -> Result<Mesh, Diagnostic> {
    let names = || found.objects.iter().map(|o| format!("\"{}\"", o.name)).collect::<Vec<_>>().join(", ");
    match &used.object {
        Some(object) => {
            let chosen = found.objects.iter().find(|o| o.name == object.value);
            chosen.map(|o| o.mesh.clone()).ok_or_else(|| {
                let message = format!("the file holds no object \"{}\"", object.value);
                Diagnostic::error("mesh/no-object", object.span, message).hint(format!("it holds {}", names()))
            })
        }
        None => found.merged().ok_or_else(|| {
            Diagnostic::error(
                "mesh/too-large",
                used.path.span,
                "the objects of the file are too large to be taken together",
            )
            .hint(format!("name one: `object \"...\"` of {}", names()))
        }),
    }
}

/// Holds the mesh against the stated overall size; a ratio of 25.4 is recognised as inches.
pub(super) fn check_size(spec: &Spec, mesh: &Mesh, catalogue: &Catalogue) -> Option<Diagnostic> {
    let size = spec.size?;
    let bounds = mesh.bounds();
    let sides = [0, 1, 2].map(|k| bounds.max[k] - bounds.min[k]);
    let stated = size.value.map(|l| l.to_mm());
    let (share, least) = (catalogue.value(figures::SIZE_OFF_SHARE), catalogue.value(figures::SIZE_OFF).to_mm());
    let off = |a: f64, b: f64| (a - b).abs() > (share * b).max(least);
    if !(0..3).any(|k| off(sides[k], stated[k])) {
        return None;
    }
    let [x, y, z] = sides;
    let measured = format!("{x:.2} mm x {y:.2} mm x {z:.2} mm");
    let scaled = |factor: f64| (0..3).all(|k| !off(sides[k] * factor, stated[k]));
    let units = [
        (25.4, "inches", "in"),
        (10.0, "centimetres", "cm"),
        (1000.0, "metres", "m"),
        (0.001, "micrometres", "µm"),
        (304.8, "feet", "ft"),
    ];
    for (factor, name, symbol) in units {
        if scaled(factor) {
            let message = format!("the mesh is {measured}: its numbers look like {name}");
            let place = spec.meshes.first().map_or(size.span, |m| m.span);
            return Some(
                Diagnostic::error("mesh/unit", place, message)
                    .label(size.span, "the size stated here")
                    .hint(format!("write `in {symbol}` after the mesh, or export it in millimetres")),
            );
        }
        if scaled(1.0 / factor) && factor == 25.4 {
            let message =
                format!("the mesh is {measured}, 25.4 times the stated size: read as inches, meant as millimetres");
            let place = spec.meshes.first().map_or(size.span, |m| m.span);
            return Some(
                Diagnostic::error("mesh/unit", place, message)
                    .label(size.span, "the size stated here")
                    .hint("write `in mm` after the mesh"),
            );
        }
    }
    let mut turned = sides;
    let mut wanted = stated;
    turned.sort_by(f64::total_cmp);
    wanted.sort_by(f64::total_cmp);
    if !(0..3).any(|k| off(turned[k], wanted[k])) {
        return Some(
            Diagnostic::warning(
                "mesh/turned",
                size.span,
                format!("the mesh is {measured}: the same sides in another order"),
            )
            .hint("directions in the spec are those of the mesh file: check them"),
        );
    }
    Some(
        Diagnostic::error("mesh/size", size.span, format!("the mesh is {measured}, which is not this size"))
            .hint("is it the right file and revision? correct the size, or take the line out"),
    )
}
