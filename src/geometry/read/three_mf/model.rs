//! One model part: its objects and build items.

use std::collections::BTreeMap;

use quick_xml::NsReader;
use quick_xml::errors::{IllFormedError, SyntaxError};
use quick_xml::events::{BytesStart, Event};
use quick_xml::name::{QName, ResolveResult};

use super::super::text::shown;
use super::super::{LARGEST_COORDINATE, too_large};
use super::package::part_path;
use super::{EXPORT_HINT, LengthUnit, ReadError, ReadErrorKind};
use crate::mesh::{Mesh, Point};
use crate::vector::determinant;
use crate::weld::weld_exact;

const CORE: &str = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02";
const PRODUCTION: &str = "http://schemas.microsoft.com/3dmanufacturing/production/";
/// Extensions a file may require: production (read here) and materials (of no effect on shape).
const UNDERSTOOD: [&str; 2] = [PRODUCTION, "http://schemas.microsoft.com/3dmanufacturing/material/"];
const LATTICE: &str = "http://schemas.microsoft.com/3dmanufacturing/beamlattice/";

/// An affine map for column vectors: `rotation * p + offset`, offset in millimetres.
#[derive(Debug, Clone, Copy)]
pub(super) struct Transform {
    pub rotation: [[f64; 3]; 3],
    pub offset: Point,
}

impl Transform {
    pub const IDENTITY: Self = Self { rotation: [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]], offset: [0.0; 3] };

    /// Returns the map that applies `inner` first.
    pub fn after(&self, inner: &Self) -> Self {
        let column = |k: usize| [0, 1, 2].map(|i| inner.rotation[i][k]);
        let columns = [0, 1, 2].map(|k| crate::vector::rotate(&self.rotation, column(k)));
        let rotation = [0, 1, 2].map(|i| [columns[0][i], columns[1][i], columns[2][i]]);
        let moved = crate::vector::rotate(&self.rotation, inner.offset);
        Self { rotation, offset: crate::vector::add(moved, self.offset) }
    }

    pub fn determinant(&self) -> f64 {
        determinant(&self.rotation)
    }
}

/// A use of an object, by a build item or a component.
#[derive(Debug, Clone)]
pub(super) struct Use {
    pub object: u32,
    /// The other model part the object lives in, if it does (production extension).
    pub path: Option<String>,
    pub transform: Transform,
    pub line: usize,
}

#[derive(Debug, Default)]
pub(super) struct Object {
    pub name: String,
    /// `model`, `solidsupport`, `support`, `surface`, `other`.
    pub kind: String,
    pub mesh: Option<Mesh>,
    pub components: Vec<Use>,
    pub lattice: bool,
}

#[derive(Debug, Default)]
pub(super) struct Model {
    pub unit: Option<LengthUnit>,
    pub objects: BTreeMap<u32, Object>,
    pub items: Vec<Use>,
}

/// Parses a model part. All lengths come out in millimetres, all meshes welded and with indices in range.
pub(super) fn parse(path: &str, xml: &str) -> Result<Model, ReadError> {
    let mut parser = Parser {
        path,
        xml,
        reader: NsReader::from_str(xml),
        factor: 1.0,
        model: Model::default(),
        open: Vec::new(),
        object: None,
        mesh: Mesh::default(),
        seen_model: false,
        counted: (0, 1),
    };
    parser.run()?;
    Ok(parser.model)
}

/// What an open element means; elements of no interest, and all they hold, are `Other`.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Element {
    Model,
    Resources,
    Object,
    Mesh,
    Vertices,
    Triangles,
    Components,
    Build,
    Leaf,
    Other,
}

struct Parser<'a> {
    path: &'a str,
    xml: &'a str,
    reader: NsReader<&'a [u8]>,
    factor: f64,
    model: Model,
    open: Vec<Element>,
    object: Option<(u32, Object)>,
    mesh: Mesh,
    seen_model: bool,
    /// A byte offset and the 1-based line there, see [`Parser::count_line`].
    counted: (usize, usize),
}

impl Parser<'_> {
    fn run(&mut self) -> Result<(), ReadError> {
        loop {
            let event = self.reader.read_event().map_err(|e| self.xml_error(&e))?;
            match event {
                Event::Start(e) => {
                    let element = self.start(&e)?;
                    self.open.push(element);
                }
                Event::Empty(e) => {
                    let element = self.start(&e)?;
                    self.end(element)?;
                }
                Event::End(_) => {
                    if let Some(element) = self.open.pop() {
                        self.end(element)?;
                    }
                }
                Event::DocType(_) => {
                    let message = "a document type definition is not allowed in a model part";
                    return Err(self.error(ReadErrorKind::Dtd, message.to_owned()));
                }
                Event::Eof => break,
                _ => {}
            }
        }
        if !self.open.is_empty() || !self.seen_model {
            let message = "the XML ends before `</model>`";
            return Err(self.error(ReadErrorKind::Truncated, message.to_owned()));
        }
        Ok(())
    }

    fn start(&mut self, e: &BytesStart<'_>) -> Result<Element, ReadError> {
        let parent = self.open.last().copied();
        let element = self.classify(parent, e);
        match element {
            Element::Model => self.model_element(e)?,
            Element::Object => self.object_element(e)?,
            Element::Mesh => self.mesh = Mesh::default(),
            Element::Leaf => match parent {
                Some(Element::Vertices) => self.vertex(e)?,
                Some(Element::Triangles) => self.triangle(e)?,
                Some(Element::Components) => {
                    let component = self.use_element(e)?;
                    if let Some((_, object)) = &mut self.object {
                        object.components.push(component);
                    }
                }
                Some(Element::Build) => {
                    let item = self.use_element(e)?;
                    self.model.items.push(item);
                }
                _ => {}
            },
            _ => {}
        }
        Ok(element)
    }

    fn classify(&mut self, parent: Option<Element>, e: &BytesStart<'_>) -> Element {
        let (namespace, local) = self.reader.resolver().resolve_element(e.name());
        let ResolveResult::Bound(namespace) = namespace else { return Element::Other };
        if namespace.as_ref() != CORE {
            if parent == Some(Element::Mesh)
                && namespace.as_ref().starts_with(LATTICE)
                && let Some((_, object)) = &mut self.object
            {
                object.lattice = true;
            }
            return Element::Other;
        }
        match (parent, local.as_ref()) {
            (None, "model") => Element::Model,
            (Some(Element::Model), "resources") => Element::Resources,
            (Some(Element::Model), "build") => Element::Build,
            (Some(Element::Resources), "object") => Element::Object,
            (Some(Element::Object), "mesh") => Element::Mesh,
            (Some(Element::Object), "components") => Element::Components,
            (Some(Element::Mesh), "vertices") => Element::Vertices,
            (Some(Element::Mesh), "triangles") => Element::Triangles,
            (Some(Element::Vertices), "vertex") => Element::Leaf,
            (Some(Element::Triangles), "triangle") => Element::Leaf,
            (Some(Element::Components), "component") => Element::Leaf,
            (Some(Element::Build), "item") => Element::Leaf,
            _ => Element::Other,
        }
    }

    fn end(&mut self, element: Element) -> Result<(), ReadError> {
        match element {
            Element::Mesh => {
                let mesh = std::mem::take(&mut self.mesh);
                let count = mesh.vertices.len();
                if let Some(t) = mesh.triangles.iter().position(|t| t.iter().any(|&v| v as usize >= count)) {
                    let message = format!("triangle {} names a vertex beyond the {count} there are", t + 1);
                    return Err(self.error(ReadErrorKind::BadIndex, message));
                }
                if let Some((_, object)) = &mut self.object {
                    object.mesh = Some(weld_exact(&mesh));
                }
            }
            Element::Object => {
                if let Some((id, object)) = self.object.take()
                    && self.model.objects.insert(id, object).is_some()
                {
                    return Err(self.error(ReadErrorKind::BadReference, format!("two objects have the id {id}")));
                }
            }
            _ => {}
        }
        Ok(())
    }

    fn model_element(&mut self, e: &BytesStart<'_>) -> Result<(), ReadError> {
        self.seen_model = true;
        for attribute in e.attributes() {
            let attribute = attribute.map_err(|x| self.error(ReadErrorKind::Syntax, x.to_string()))?;
            match attribute.key.as_ref() {
                "unit" => {
                    let unit = LengthUnit::from_symbol(&attribute.value).ok_or_else(|| {
                        let mut error = self.error(
                            ReadErrorKind::BadUnit,
                            format!("`{}` is no unit of 3MF", shown(attribute.value.as_bytes())),
                        );
                        "write one of micron, millimeter, centimeter, inch, foot, meter".clone_into(&mut error.hint);
                        error
                    })?;
                    self.model.unit = Some(unit);
                    self.factor = unit.millimetres();
                }
                "requiredextensions" => self.required(&attribute.value)?,
                _ => {}
            }
        }
        Ok(())
    }

    /// Refuses a file that needs an extension which changes the shape and is not read (core specification, 2.3).
    fn required(&self, prefixes: &str) -> Result<(), ReadError> {
        for prefix in prefixes.split_ascii_whitespace() {
            let name = format!("{prefix}:x");
            let (namespace, _) = self.reader.resolver().resolve_attribute(QName(&name));
            let known = |uri: &str| UNDERSTOOD.iter().any(|u| uri.starts_with(u)) || uri == CORE;
            if !matches!(&namespace, ResolveResult::Bound(n) if known(n.as_ref())) {
                let uri = match namespace {
                    ResolveResult::Bound(n) => shown(n.as_ref().as_bytes()),
                    _ => "no namespace".to_owned(),
                };
                let prefix = shown(prefix.as_bytes());
                let message = format!("the file requires the extension `{prefix}` ({uri}), which is not read");
                let mut error = self.error(ReadErrorKind::UnknownRequiredExtension, message);
                "export the part as a plain triangle mesh".clone_into(&mut error.hint);
                return Err(error);
            }
        }
        Ok(())
    }

    fn object_element(&mut self, e: &BytesStart<'_>) -> Result<(), ReadError> {
        let mut id = None;
        let mut object = Object { kind: "model".to_owned(), ..Object::default() };
        for attribute in e.attributes().flatten() {
            match attribute.key.as_ref() {
                "id" => id = attribute.value.trim().parse().ok(),
                "name" => {
                    let value = quick_xml::escape::unescape(&attribute.value);
                    object.name = value.map_or_else(|_| attribute.value.to_string(), |v| v.into_owned());
                }
                "type" => object.kind = attribute.value.into_owned(),
                _ => {}
            }
        }
        let Some(id) = id else {
            return Err(self.error(ReadErrorKind::BadReference, "an object without a number as `id`".to_owned()));
        };
        self.object = Some((id, object));
        Ok(())
    }

    #[inline]
    fn vertex(&mut self, e: &BytesStart<'_>) -> Result<(), ReadError> {
        let mut point = [f64::NAN; 3];
        for attribute in e.attributes().with_checks(false).flatten() {
            let slot = match attribute.key.as_ref() {
                "x" => 0,
                "y" => 1,
                "z" => 2,
                _ => continue,
            };
            point[slot] = attribute.value.trim().parse().unwrap_or(f64::NAN);
        }
        if !point.iter().all(|c| c.is_finite()) {
            let message = format!("vertex {} lacks three finite numbers x, y, z", self.mesh.vertices.len());
            return Err(self.error(ReadErrorKind::BadNumber, message));
        }
        let point = point.map(|c| c * self.factor);
        if point.iter().any(|c| c.abs() >= LARGEST_COORDINATE) {
            return Err(too_large(&self.place()));
        }
        if self.mesh.vertices.len() >= u32::MAX as usize {
            return Err(super::super::too_many_vertices());
        }
        self.mesh.vertices.push(point);
        Ok(())
    }

    #[inline]
    fn triangle(&mut self, e: &BytesStart<'_>) -> Result<(), ReadError> {
        let mut triangle = [None; 3];
        for attribute in e.attributes().with_checks(false).flatten() {
            let slot = match attribute.key.as_ref() {
                "v1" => 0,
                "v2" => 1,
                "v3" => 2,
                _ => continue,
            };
            triangle[slot] = attribute.value.trim().parse::<u32>().ok();
        }
        let [Some(a), Some(b), Some(c)] = triangle else {
            let message = format!("triangle {} lacks three vertex numbers v1, v2, v3", self.mesh.triangles.len() + 1);
            return Err(self.error(ReadErrorKind::BadIndex, message));
        };
        self.mesh.triangles.push([a, b, c]);
        Ok(())
    }

    /// Returns the 1-based line of the reader, counting on from the last call: a file may hold very many uses.
    fn count_line(&mut self) -> usize {
        let (from, line) = self.counted;
        let at = (self.reader.buffer_position() as usize).clamp(from, self.xml.len());
        let line = line + self.xml.as_bytes()[from..at].iter().filter(|&&b| b == b'\n').count();
        self.counted = (at, line);
        line
    }

    fn use_element(&mut self, e: &BytesStart<'_>) -> Result<Use, ReadError> {
        let mut object = None;
        let mut path = None;
        let mut transform = Transform::IDENTITY;
        for attribute in e.attributes().flatten() {
            match attribute.key.as_ref() {
                "objectid" => object = attribute.value.trim().parse().ok(),
                "transform" => transform = self.transform(&attribute.value)?,
                _ => {
                    let (namespace, local) = self.reader.resolver().resolve_attribute(attribute.key);
                    let production = matches!(namespace, ResolveResult::Bound(n) if n.as_ref().starts_with(PRODUCTION));
                    if production && local.as_ref() == "path" {
                        path = Some(part_path(|| self.place(), &attribute.value)?);
                    }
                }
            }
        }
        let Some(object) = object else {
            let message = "an item or component without a number as `objectid`";
            return Err(self.error(ReadErrorKind::BadReference, message.to_owned()));
        };
        Ok(Use { object, path, transform, line: self.count_line() })
    }

    fn transform(&self, text: &str) -> Result<Transform, ReadError> {
        let numbers: Option<Vec<f64>> =
            text.split_ascii_whitespace().take(13).map(|w| w.parse().ok().filter(|n: &f64| n.is_finite())).collect();
        let Some(m) = numbers.filter(|m| m.len() == 12) else {
            let message = format!("a transform has twelve finite numbers, found `{}`", shown(text.as_bytes()));
            return Err(self.error(ReadErrorKind::BadNumber, message));
        };
        // The file's matrix multiplies a row vector; ours multiplies a column vector, so rows become columns.
        let rotation = [0, 1, 2].map(|i| [m[i], m[3 + i], m[6 + i]]);
        Ok(Transform { rotation, offset: [m[9], m[10], m[11]].map(|c| c * self.factor) })
    }

    /// Returns the 1-based line and column of the element being read.
    fn line(&self) -> (usize, usize) {
        let at = (self.reader.error_position().max(self.reader.buffer_position()) as usize).min(self.xml.len());
        let before = &self.xml.as_bytes()[..at];
        let line = before.iter().filter(|&&b| b == b'\n').count() + 1;
        (line, at - before.iter().rposition(|&b| b == b'\n').map_or(0, |p| p + 1) + 1)
    }

    fn place(&self) -> String {
        let (line, column) = self.line();
        format!("{} line {line} column {column}", self.path)
    }

    fn error(&self, kind: ReadErrorKind, message: String) -> ReadError {
        ReadError::new(kind, self.place(), message, EXPORT_HINT)
    }

    fn xml_error(&self, e: &quick_xml::Error) -> ReadError {
        let at_end = self.reader.buffer_position() as usize >= self.xml.len();
        let unclosed = matches!(
            e,
            quick_xml::Error::Syntax(SyntaxError::UnclosedTag)
                | quick_xml::Error::IllFormed(IllFormedError::MissingEndTag(_))
        );
        let kind = if at_end || unclosed { ReadErrorKind::Truncated } else { ReadErrorKind::Syntax };
        self.error(kind, format!("not well-formed XML: {e}"))
    }
}
