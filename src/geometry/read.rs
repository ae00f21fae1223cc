//! Reading meshes: STL (binary and text), 3MF core, OBJ, OFF.
//!
//! Every reader keeps to the same promises: no panic and no allocation by a number the file merely claims; every
//! refusal names the place and what to do instead; what was odd but readable is a [`Note`]; nothing is mended silently.

use std::borrow::Cow;
use std::fmt;

use super::mesh::{Mesh, Point};

pub(crate) mod obj;
pub(crate) mod off;
mod polygon;
pub(crate) mod stl;
mod text;
pub(crate) mod three_mf;

/// A unit in which mesh coordinates can be given.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum LengthUnit {
    /// 0.001 mm.
    Micrometre,
    /// The unit all geometry is in.
    Millimetre,
    /// 10 mm.
    Centimetre,
    /// 1000 mm.
    Metre,
    /// 25.4 mm.
    Inch,
    /// 304.8 mm.
    Foot,
}

impl LengthUnit {
    /// Every unit, in order of size.
    pub const ALL: [Self; 6] =
        [Self::Micrometre, Self::Millimetre, Self::Centimetre, Self::Inch, Self::Foot, Self::Metre];

    /// Returns the unit's length in millimetres (inch and foot by the 1959 international definition).
    pub fn millimetres(self) -> f64 {
        match self {
            Self::Micrometre => 1e-3,
            Self::Millimetre => 1.0,
            Self::Centimetre => 10.0,
            Self::Metre => 1000.0,
            Self::Inch => 25.4,
            Self::Foot => 304.8,
        }
    }

    /// Returns the symbol as the spec language and the command line write it.
    pub fn symbol(self) -> &'static str {
        match self {
            Self::Micrometre => "um",
            Self::Millimetre => "mm",
            Self::Centimetre => "cm",
            Self::Metre => "m",
            Self::Inch => "in",
            Self::Foot => "ft",
        }
    }

    /// Returns the unit a symbol or one of the names of 3MF core (section 3.4) stands for.
    pub fn from_symbol(text: &str) -> Option<Self> {
        Some(match text {
            "um" | "µm" | "μm" | "micron" => Self::Micrometre,
            "mm" | "millimeter" | "millimetre" => Self::Millimetre,
            "cm" | "centimeter" | "centimetre" => Self::Centimetre,
            "m" | "meter" | "metre" => Self::Metre,
            "in" | "inch" => Self::Inch,
            "ft" | "foot" => Self::Foot,
            _ => return None,
        })
    }
}

impl fmt::Display for LengthUnit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.symbol())
    }
}

/// The file formats read here.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Format {
    /// Facets as 32-bit numbers; states no unit.
    BinaryStl,
    /// Facets in words; states no unit.
    TextStl,
    /// A package of XML parts; states its unit.
    ThreeMf,
    /// Vertices and faces in words; states no unit.
    Obj,
    /// Vertices and faces in words, counts first; states no unit.
    Off,
}

impl fmt::Display for Format {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::BinaryStl => "binary STL",
            Self::TextStl => "text STL",
            Self::ThreeMf => "3MF",
            Self::Obj => "OBJ",
            Self::Off => "OFF",
        })
    }
}

/// One object of the file, in millimetres and in its place.
#[derive(Debug, Clone)]
pub struct NamedMesh {
    /// The name the file gives; empty where it gives none.
    pub name: String,
    /// Welded by exact position.
    pub mesh: Mesh,
}

/// Kinds of oddities a reader can live with.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum NoteKind {
    /// The file holds no triangle at all.
    NoTriangles,
    /// The facet count in the header is not what the file holds.
    CountMismatch,
    /// Bytes follow the last facet.
    TrailingBytes,
    /// Coordinates that differ from zero by less than the part's own numbers resolve were taken as zero.
    NearZero,
    /// A facet with a coordinate that is no finite number was left out.
    NonFinite,
    /// A stored normal points against the winding; the winding was believed.
    NormalsDisagree,
    /// A text solid has no `endsolid`.
    NoEndsolid,
    /// The file states no unit and none was given: millimetres were assumed.
    UnitAssumed,
    /// The package has no relationships part; the usual model path was taken.
    NoRelationships,
    /// A transform mirrors; the facets were turned so that outward stays outward.
    MirroredTransform,
    /// A transform flattens an object to nothing.
    SingularTransform,
    /// An object or element that is not the part itself was left out (support, lattice, lines, points).
    LeftOut,
    /// A face with more than three corners was cut into triangles.
    PolygonsCut,
    /// A number that nothing uses could not be read.
    UnusedNumber,
}

impl NoteKind {
    /// Returns the kind's stable name.
    pub fn name(self) -> &'static str {
        match self {
            Self::NoTriangles => "no-triangles",
            Self::CountMismatch => "count-mismatch",
            Self::TrailingBytes => "trailing-bytes",
            Self::NearZero => "near-zero",
            Self::NonFinite => "non-finite",
            Self::NormalsDisagree => "normals-disagree",
            Self::NoEndsolid => "no-endsolid",
            Self::UnitAssumed => "unit-assumed",
            Self::NoRelationships => "no-relationships",
            Self::MirroredTransform => "mirrored-transform",
            Self::SingularTransform => "singular-transform",
            Self::LeftOut => "left-out",
            Self::PolygonsCut => "polygons-cut",
            Self::UnusedNumber => "unused-number",
        }
    }
}

/// Something odd but readable.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Note {
    /// What is odd.
    pub kind: NoteKind,
    /// How many places have it.
    pub count: usize,
    /// The first place: `facet 12`, `line 7`, `3D/3dmodel.model line 4`; empty where it concerns the whole file.
    pub place: String,
    /// One line for a person.
    pub message: String,
}

impl fmt::Display for Note {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.place.is_empty() { f.write_str(&self.message) } else { write!(f, "{} ({})", self.message, self.place) }
    }
}

/// What a file held.
#[derive(Debug, Clone)]
pub struct ReadMesh {
    /// Build items, solids or objects in file order, transforms applied.
    pub objects: Vec<NamedMesh>,
    /// As the bytes have it, whatever the file's name says.
    pub format: Format,
    /// The unit the file itself states (3MF), if any.
    pub unit_stated: Option<LengthUnit>,
    /// The unit the coordinates were taken to be in.
    pub unit: LengthUnit,
    /// Each kind once; empty as a rule.
    pub notes: Vec<Note>,
}

impl ReadMesh {
    /// Returns all objects as one mesh, welded by exact position, or `None` past 32-bit indices.
    pub fn merged(&self) -> Option<Mesh> {
        if let [only] = self.objects.as_slice() {
            return Some(only.mesh.clone());
        }
        let mut all = Mesh::default();
        for object in &self.objects {
            if !all.append(&object.mesh) {
                return None;
            }
        }
        // Objects are not welded to one another: two parts that touch stay two parts.
        Some(all)
    }

    /// Returns the same as [`Self::merged`], without a copy of an only object.
    pub fn into_merged(mut self) -> Option<Mesh> {
        if self.objects.len() > 1 {
            self.merged()
        } else {
            Some(self.objects.pop().map_or_else(Mesh::default, |o| o.mesh))
        }
    }

    /// Returns the number of triangles of all objects.
    pub fn triangles(&self) -> usize {
        self.objects.iter().map(|o| o.mesh.triangles.len()).sum()
    }

    /// Returns the note of that kind, if there is one.
    pub fn note(&self, kind: NoteKind) -> Option<&Note> {
        self.notes.iter().find(|n| n.kind == kind)
    }
}

/// Kinds of refusal.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum ReadErrorKind {
    /// No bytes at all.
    Empty,
    /// Something else than a mesh.
    NotAMesh,
    /// A mesh or part in a form not read here.
    UnsupportedFormat,
    /// The file ends before what it announces.
    Truncated,
    /// What stands for a number is none, or too large.
    BadNumber,
    /// A facet names a vertex that is not there.
    BadIndex,
    /// An object, or a path in the package, that is not there, or two of one name.
    BadReference,
    /// An object that contains itself.
    Cycle,
    /// A unit the standard does not have.
    BadUnit,
    /// The file's own unit is not the one asked for.
    UnitConflict,
    /// The package lacks a part it names, or a model.
    MissingPart,
    /// The file says it cannot be understood without an extension that is not read here.
    UnknownRequiredExtension,
    /// A document type definition, which could pull in other files.
    Dtd,
    /// The package's check sum does not fit: the file is damaged.
    Checksum,
    /// Unpacks, or copies its objects, far beyond what its size warrants.
    Expansion,
    /// Text that is not UTF-8.
    Encoding,
    /// Not written as the format wants it.
    Syntax,
    /// More triangles or bytes than are read.
    TooLarge,
}

impl ReadErrorKind {
    /// Returns the kind's stable name.
    pub fn name(self) -> &'static str {
        match self {
            Self::Empty => "empty",
            Self::NotAMesh => "not-a-mesh",
            Self::UnsupportedFormat => "unsupported-format",
            Self::Truncated => "truncated",
            Self::BadNumber => "bad-number",
            Self::BadIndex => "bad-index",
            Self::BadReference => "bad-reference",
            Self::Cycle => "cycle",
            Self::BadUnit => "bad-unit",
            Self::UnitConflict => "unit-conflict",
            Self::MissingPart => "missing-part",
            Self::UnknownRequiredExtension => "unknown-required-extension",
            Self::Dtd => "dtd",
            Self::Checksum => "checksum",
            Self::Expansion => "expansion",
            Self::Encoding => "encoding",
            Self::Syntax => "syntax",
            Self::TooLarge => "too-large",
        }
    }
}

/// Why a file was refused: what, where, and what to do instead.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ReadError {
    /// What is wrong.
    pub kind: ReadErrorKind,
    /// `byte 84`, `line 12`, `3D/3dmodel.model line 3`; empty where it concerns the whole file.
    pub place: String,
    /// Lower case, one line, no full stop.
    pub message: String,
    /// What to do instead; may be empty.
    pub hint: String,
}

impl ReadError {
    fn new(kind: ReadErrorKind, place: impl Into<String>, message: impl Into<String>, hint: impl Into<String>) -> Self {
        Self { kind, place: place.into(), message: message.into(), hint: hint.into() }
    }
}

impl fmt::Display for ReadError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if !self.place.is_empty() {
            write!(f, "{}: ", self.place)?;
        }
        f.write_str(&self.message)?;
        if self.hint.is_empty() { Ok(()) } else { write!(f, "; {}", self.hint) }
    }
}

impl std::error::Error for ReadError {}

/// Coordinates of this size or more (mm) are refused as no finite length: their squares and cubes would overflow.
const LARGEST_COORDINATE: f64 = 1e60;

const EXPORT_HINT: &str = "export the part again as binary STL or 3MF";

/// Reads a mesh file of any known format; lengths come out in millimetres.
///
/// `name` is used for its extension only. `unit` is the unit of a file that states none; for a 3MF, which states its
/// own, a different `unit` is refused rather than one of the two believed.
///
/// # Errors
/// A [`ReadError`] with kind, place and remedy; a file that holds no triangle is not an error but a note.
pub fn read(bytes: &[u8], name: &str, unit: Option<LengthUnit>) -> Result<ReadMesh, ReadError> {
    if bytes.is_empty() {
        return Err(ReadError::new(ReadErrorKind::Empty, "", "the file is empty (0 bytes)", EXPORT_HINT));
    }
    let extension = name.rsplit_once('.').map_or(String::new(), |(_, e)| e.to_ascii_lowercase());
    let format = detect(bytes, &extension)?;
    let mut read = match format {
        Format::BinaryStl | Format::TextStl => stl::read(bytes, unit),
        Format::ThreeMf => three_mf::read(bytes, unit),
        Format::Obj => obj::read(bytes, unit),
        Format::Off => off::read(bytes, unit),
    }?;
    let zeroed = read.objects.iter_mut().map(|o| settle_zeros(&mut o.mesh, format)).sum();
    if zeroed > 0 {
        read.notes.push(Note {
            kind: NoteKind::NearZero,
            count: zeroed,
            place: String::new(),
            message: "coordinates below a ten-thousand-millionth of the part's size were taken as zero".to_owned(),
        });
    }
    if read.triangles() > Mesh::MOST_TRIANGLES {
        let message = format!("more than {} triangles", Mesh::MOST_TRIANGLES);
        return Err(ReadError::new(ReadErrorKind::TooLarge, "", message, "reduce the mesh"));
    }
    if read.unit_stated.is_none() && unit.is_none() {
        read.notes.push(Note {
            kind: NoteKind::UnitAssumed,
            count: 1,
            place: String::new(),
            message: format!("{} states no unit; millimetres are assumed", read.format),
        });
    }
    if read.triangles() == 0 {
        read.notes.push(Note {
            kind: NoteKind::NoTriangles,
            count: 1,
            place: String::new(),
            message: "the file holds no triangle".to_owned(),
        });
    }
    Ok(read)
}

/// Decides by content where it is plain, else by the extension.
fn detect(bytes: &[u8], extension: &str) -> Result<Format, ReadError> {
    let refuse = |kind, message: String, hint: &str| Err(ReadError::new(kind, "byte 0", message, hint));
    if bytes.starts_with(b"PK\x03\x04") || bytes.starts_with(b"PK\x05\x06") {
        if extension == "3mf" {
            return Ok(Format::ThreeMf);
        }
        let message = format!("a ZIP archive, though the name ends in `.{extension}`");
        return refuse(ReadErrorKind::NotAMesh, message, "if it is a 3MF package, name it `.3mf`; else unpack it");
    }
    if bytes.starts_with(b"ISO-10303-21") || matches!(extension, "step" | "stp" | "iges" | "igs" | "brep") {
        let message = "a CAD exchange file with exact surfaces, which is not read here".to_owned();
        return refuse(ReadErrorKind::UnsupportedFormat, message, "export the part from CAD as 3MF or binary STL");
    }
    match extension {
        "stl" => Ok(if stl::is_binary(bytes) { Format::BinaryStl } else { Format::TextStl }),
        "3mf" => refuse(
            ReadErrorKind::NotAMesh,
            "not a ZIP archive, which every 3MF package is".to_owned(),
            "the file may be cut or not a 3MF; export it again",
        ),
        "obj" => Ok(Format::Obj),
        "off" => Ok(Format::Off),
        _ => {
            let message = format!("files ending in `.{extension}` are not read");
            refuse(
                ReadErrorKind::UnsupportedFormat,
                message,
                "export the part as 3MF, STL (binary or text), OBJ or OFF",
            )
        }
    }
}

/// Sets coordinates to zero that are no more than noise around it, and welds again; returns how many there were.
///
/// Numbers near zero can be told apart far more finely than the part's other numbers: an exporter's `2.4e-18` and `0`
/// are the same place to all but a bitwise comparison, which would tear the mesh open.
fn settle_zeros(mesh: &mut Mesh, format: Format) -> usize {
    let largest = mesh.vertices.iter().flatten().fold(0.0_f64, |m, c| m.max(c.abs()));
    let limit = 1e-10 * largest;
    let mut zeroed = 0;
    for c in mesh.vertices.iter_mut().flatten() {
        if *c != 0.0 && c.abs() < limit {
            *c = 0.0;
            zeroed += 1;
        }
    }
    if zeroed > 0 {
        *mesh = match format {
            // Already welded in order of appearance: only points with a zero can have met.
            Format::BinaryStl | Format::TextStl => super::weld::weld_again(std::mem::take(mesh), |p| p.contains(&0.0)),
            Format::ThreeMf | Format::Obj | Format::Off => super::weld::weld_exact(mesh),
        };
    }
    zeroed
}

/// Multiplies every coordinate; returns false where one leaves the range that can be computed with.
fn scale_vertices(vertices: &mut [Point], factor: f64) -> bool {
    let mut fits = true;
    for v in vertices {
        for c in v {
            *c *= factor;
            fits &= c.abs() < LARGEST_COORDINATE;
        }
    }
    fits
}

fn too_large(place: &str) -> ReadError {
    ReadError::new(
        ReadErrorKind::TooLarge,
        place,
        "a coordinate is too large to compute with",
        "check the unit and the export; coordinates must be lengths of a printable part",
    )
}

fn too_many_vertices() -> ReadError {
    ReadError::new(ReadErrorKind::TooLarge, "", "more distinct vertices than 32-bit numbers count", "split the part")
}

/// Returns UTF-8 bytes without mark; UTF-16 with mark is converted.
fn utf8(bytes: &[u8]) -> Cow<'_, [u8]> {
    let wide = |from: fn([u8; 2]) -> u16| {
        let units = bytes[2..].chunks_exact(2).map(|c| from([c[0], c[1]]));
        let text: String = char::decode_utf16(units).map(|c| c.unwrap_or('\u{fffd}')).collect();
        Cow::Owned(text.into_bytes())
    };
    if let Some(rest) = bytes.strip_prefix(b"\xef\xbb\xbf") {
        return Cow::Borrowed(rest);
    }
    match bytes.get(..2) {
        Some(b"\xff\xfe") => wide(u16::from_le_bytes),
        Some(b"\xfe\xff") => wide(u16::from_be_bytes),
        _ => Cow::Borrowed(bytes),
    }
}
