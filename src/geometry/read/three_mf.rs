//! 3MF packages: the core specification, and of the production extension the paths to other parts of the package.
//!
//! Source: 3MF Core Specification 1.3 and Production Extension 1.1 (3MF Consortium), from memory (from-memory). A transform is twelve numbers
//! that multiply a row vector, `p' = p M`; a missing unit means millimetre.

mod build;
mod model;
mod package;

use super::{EXPORT_HINT, Format, LengthUnit, Note, NoteKind, ReadError, ReadErrorKind, ReadMesh};
use build::Assembly;
use package::Package;

/// Reads a 3MF package; each build item of type `model` becomes an object with its transforms applied.
///
/// # Errors
/// See [`super::read`]; besides, a `unit` that differs from the file's own.
pub fn read(bytes: &[u8], unit: Option<LengthUnit>) -> Result<ReadMesh, ReadError> {
    let mut notes = Vec::new();
    let mut package = Package::open(bytes)?;
    let root = package.root_model(&mut notes)?;
    let mut assembly = Assembly::new(package, root.clone())?;
    let stated = assembly.root_unit();
    let own = stated.unwrap_or(LengthUnit::Millimetre);
    if let Some(given) = unit.filter(|&g| g != own) {
        let says = if stated.is_some() { "states" } else { "states no unit, which by the 3MF standard means" };
        return Err(ReadError::new(
            ReadErrorKind::UnitConflict,
            root,
            format!("the file {says} `{own}`, but `{given}` was asked for"),
            format!("leave the unit out, or write `{own}`"),
        ));
    }
    let objects = assembly.build(&mut notes)?;
    Ok(ReadMesh { objects, format: Format::ThreeMf, unit_stated: Some(own), unit: own, notes })
}
