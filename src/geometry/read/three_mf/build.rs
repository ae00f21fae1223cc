//! Putting the build together: items, nested components, transforms, objects in other parts.

use std::collections::BTreeMap;

use super::super::{LARGEST_COORDINATE, NamedMesh, too_large, too_many_vertices};
use super::model::{Model, Object, Transform, Use, parse};
use super::package::{Package, text};
use super::{EXPORT_HINT, LengthUnit, Note, NoteKind, ReadError, ReadErrorKind};
use crate::mesh::Mesh;

/// Components may nest this deep.
const DEEPEST: usize = 64;
/// Uses of objects in the whole build: a short file of nested components can ask for billions.
const MOST_USES: usize = 100_000;
/// Triangles in the whole build after all copies are made.
const MOST_TRIANGLES: usize = 50_000_000;

pub(super) struct Assembly<'a> {
    package: Package<'a>,
    root: String,
    models: BTreeMap<String, Model>,
    uses: usize,
    triangles: usize,
    mirrored: Option<(usize, String)>,
    singular: Option<(usize, String)>,
    left_out: Option<(usize, String)>,
}

impl<'a> Assembly<'a> {
    pub fn new(package: Package<'a>, root: String) -> Result<Self, ReadError> {
        let mut assembly = Self {
            package,
            root: root.clone(),
            models: BTreeMap::new(),
            uses: 0,
            triangles: 0,
            mirrored: None,
            singular: None,
            left_out: None,
        };
        assembly.load(&root)?;
        Ok(assembly)
    }

    pub fn root_unit(&self) -> Option<LengthUnit> {
        self.models.get(&self.root).and_then(|m| m.unit)
    }

    fn load(&mut self, path: &str) -> Result<(), ReadError> {
        if !self.models.contains_key(path) {
            let bytes = self.package.part(path)?;
            let model = parse(path, &text(path, &bytes)?)?;
            self.models.insert(path.to_owned(), model);
        }
        Ok(())
    }

    /// Returns one mesh for each build item whose object is part of the product.
    pub fn build(&mut self, notes: &mut Vec<Note>) -> Result<Vec<NamedMesh>, ReadError> {
        let root = self.root.clone();
        let items: Vec<Use> = self.models.get(&root).map_or_else(Vec::new, |m| m.items.clone());
        let mut objects = Vec::new();
        for item in &items {
            let path = self.locate(&root, item)?;
            let object = self.object(&path, item.object);
            let (name, kind) = object.map_or_else(Default::default, |o| (o.name.clone(), o.kind.clone()));
            if kind != "model" {
                tally(&mut self.left_out, || format!("{root} line {}", item.line));
                continue;
            }
            let mut mesh = Mesh::default();
            self.expand(&root, item, &Transform::IDENTITY, &mut Vec::new(), &mut mesh)?;
            objects.push(NamedMesh { name, mesh });
        }
        self.take_notes(notes);
        Ok(objects)
    }

    fn object(&self, path: &str, id: u32) -> Option<&Object> {
        self.models.get(path).and_then(|m| m.objects.get(&id))
    }

    /// Returns the part a use points into, loaded, after making sure that the object is there.
    fn locate(&mut self, path: &str, used: &Use) -> Result<String, ReadError> {
        let target = used.path.clone().unwrap_or_else(|| path.to_owned());
        self.load(&target)?;
        if self.object(&target, used.object).is_none() {
            let id = used.object;
            let message = format!("object {id} is named here but not defined in `{target}`");
            let place = format!("{path} line {}", used.line);
            return Err(ReadError::new(ReadErrorKind::BadReference, place, message, EXPORT_HINT));
        }
        Ok(target)
    }

    fn expand(
        &mut self,
        path: &str,
        used: &Use,
        outer: &Transform,
        above: &mut Vec<(String, u32)>,
        into: &mut Mesh,
    ) -> Result<(), ReadError> {
        let place = || format!("{path} line {}", used.line);
        let target = self.locate(path, used)?;
        let key = (target.clone(), used.object);
        if above.contains(&key) {
            let message = format!("object {} contains itself", used.object);
            return Err(ReadError::new(ReadErrorKind::Cycle, place(), message, EXPORT_HINT));
        }
        self.uses += 1;
        if above.len() >= DEEPEST || self.uses > MOST_USES {
            let message = format!("components nest deeper than {DEEPEST} or make more than {MOST_USES} copies");
            return Err(ReadError::new(ReadErrorKind::Expansion, place(), message, "export the part flattened"));
        }
        let transform = outer.after(&used.transform);
        let components = self.take_mesh(&target, used, &transform, &place, into)?;
        above.push(key);
        for component in &components {
            self.expand(&target, component, &transform, above, into)?;
        }
        above.pop();
        Ok(())
    }

    /// Adds the object's own mesh and returns its components.
    fn take_mesh(
        &mut self,
        target: &str,
        used: &Use,
        transform: &Transform,
        place: &dyn Fn() -> String,
        into: &mut Mesh,
    ) -> Result<Vec<Use>, ReadError> {
        let Some(object) = self.models.get(target).and_then(|m| m.objects.get(&used.object)) else {
            return Ok(Vec::new());
        };
        if object.lattice {
            tally(&mut self.left_out, place);
        }
        if let Some(mesh) = &object.mesh {
            self.triangles = self.triangles.saturating_add(mesh.triangles.len());
            if self.triangles > MOST_TRIANGLES {
                let message = format!("the build asks for more than {MOST_TRIANGLES} triangles");
                return Err(ReadError::new(ReadErrorKind::Expansion, place(), message, "print fewer copies at a time"));
            }
            let determinant = transform.determinant();
            if determinant < 0.0 {
                tally(&mut self.mirrored, place);
            } else if determinant == 0.0 {
                tally(&mut self.singular, place);
            }
            let placed = mesh.transformed(&transform.rotation, transform.offset);
            if placed.vertices.iter().flatten().any(|c| c.is_nan() || c.abs() >= LARGEST_COORDINATE) {
                return Err(too_large(&place()));
            }
            if !into.append(&placed) {
                return Err(too_many_vertices());
            }
        }
        Ok(object.components.clone())
    }

    fn take_notes(&mut self, notes: &mut Vec<Note>) {
        let found = [
            (
                NoteKind::MirroredTransform,
                self.mirrored.take(),
                "a transform mirrors the object; its facets were turned so that outward stays outward",
            ),
            (
                NoteKind::SingularTransform,
                self.singular.take(),
                "a transform flattens the object; nothing solid is left",
            ),
            (
                NoteKind::LeftOut,
                self.left_out.take(),
                "objects that are not the part itself (support, other) and beam lattices were left out",
            ),
        ];
        for (kind, tally, message) in found {
            if let Some((count, place)) = tally {
                notes.push(Note { kind, count, place, message: message.to_owned() });
            }
        }
    }
}

fn tally(slot: &mut Option<(usize, String)>, place: impl Fn() -> String) {
    match slot {
        Some((count, _)) => *count += 1,
        None => *slot = Some((1, place())),
    }
}
