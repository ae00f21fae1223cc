//! The package: a ZIP archive whose parts are read within bounds.

use std::io::{Cursor, Read};

use quick_xml::Reader;
use quick_xml::events::Event;
use zip::ZipArchive;
use zip::result::ZipError;

use super::super::utf8;
use super::{EXPORT_HINT, Note, NoteKind, ReadError, ReadErrorKind};

/// Parts may expand to this many bytes without question.
const FREE_EXPANSION: u64 = 16 << 20;
/// Beyond that, to this many times the size of the archive: mesh text packs about tenfold, never a hundredfold.
const LARGEST_RATIO: u64 = 100;
/// And to this many bytes at most.
const LARGEST_EXPANSION: u64 = 8 << 30;

const MODEL_RELATIONSHIP: &str = "http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel";
const USUAL_MODEL: &str = "3D/3dmodel.model";
const RELATIONSHIPS: &str = "_rels/.rels";

pub(super) struct Package<'a> {
    archive: ZipArchive<Cursor<&'a [u8]>>,
    /// Bytes that may still come out of the archive.
    budget: u64,
}

impl<'a> Package<'a> {
    pub fn open(bytes: &'a [u8]) -> Result<Self, ReadError> {
        let archive = ZipArchive::new(Cursor::new(bytes)).map_err(|e| {
            let message = format!("the archive's directory cannot be read ({e}); the file is probably cut");
            ReadError::new(ReadErrorKind::Truncated, format!("byte {}", bytes.len()), message, EXPORT_HINT)
        })?;
        let allowed = FREE_EXPANSION.max(LARGEST_RATIO.saturating_mul(bytes.len() as u64));
        Ok(Self { archive, budget: allowed.min(LARGEST_EXPANSION) })
    }

    /// Returns the path of the root model part, as the package's relationships state it.
    pub fn root_model(&mut self, notes: &mut Vec<Note>) -> Result<String, ReadError> {
        if self.find(RELATIONSHIPS).is_none() {
            if self.find(USUAL_MODEL).is_none() {
                return Err(missing(USUAL_MODEL, "the package has neither relationships nor the usual model part"));
            }
            let message = format!("the package has no relationships part; `{USUAL_MODEL}` was taken as the model");
            let place = RELATIONSHIPS.to_owned();
            notes.push(Note { kind: NoteKind::NoRelationships, count: 1, place, message });
            return Ok(USUAL_MODEL.to_owned());
        }
        let bytes = self.part(RELATIONSHIPS)?;
        let target = model_target(&text(RELATIONSHIPS, &bytes)?)?;
        let path = part_path(|| RELATIONSHIPS.to_owned(), &target)?;
        if self.find(&path).is_none() {
            return Err(missing(&path, "the relationships name this part as the model, but it is not in the package"));
        }
        Ok(path)
    }

    /// Returns the index of a part; names are compared without regard to ASCII case (OPC, ISO/IEC 29500-2).
    fn find(&self, path: &str) -> Option<usize> {
        let named = |test: &dyn Fn(&str) -> bool| {
            (0..self.archive.len()).find(|&i| {
                let name = self.archive.name_for_index(i);
                name.and_then(Result::ok).is_some_and(|n| test(&n))
            })
        };
        named(&|n| n == path).or_else(|| named(&|n| n.eq_ignore_ascii_case(path)))
    }

    /// Returns a part's bytes. What the archive says about sizes is never believed; reading stops at the budget.
    pub fn part(&mut self, path: &str) -> Result<Vec<u8>, ReadError> {
        let index = self.find(path).ok_or_else(|| missing(path, "this part is not in the package"))?;
        let budget = self.budget;
        let member = self.archive.by_index(index).map_err(|e| unreadable(path, &e))?;
        let mut bytes = Vec::new();
        let read = member.take(budget + 1).read_to_end(&mut bytes);
        if bytes.len() as u64 > budget {
            return Err(ReadError::new(
                ReadErrorKind::Expansion,
                path,
                format!("the part expands to more than {} MB, far more than its size warrants", budget >> 20),
                "if the file is to be trusted, export it again without padding",
            ));
        }
        if let Err(e) = read {
            return Err(ReadError::new(
                ReadErrorKind::Checksum,
                path,
                format!("the part cannot be unpacked ({e}); the file is damaged"),
                "fetch the file again or export it again",
            ));
        }
        self.budget -= bytes.len() as u64;
        Ok(bytes)
    }
}

fn missing(path: &str, message: &str) -> ReadError {
    ReadError::new(ReadErrorKind::MissingPart, path, message, EXPORT_HINT)
}

fn unreadable(path: &str, e: &ZipError) -> ReadError {
    let hint = "export the part as 3MF without encryption, packed by deflate or not at all";
    let kind = match e {
        ZipError::UnsupportedArchive(_) | ZipError::CompressionMethodNotSupported(_) | ZipError::InvalidPassword => {
            ReadErrorKind::UnsupportedFormat
        }
        _ => ReadErrorKind::Checksum,
    };
    ReadError::new(kind, path, format!("the part cannot be unpacked ({e})"), hint)
}

/// Returns a part's bytes as text.
pub(super) fn text(path: &str, bytes: &[u8]) -> Result<String, ReadError> {
    String::from_utf8(utf8(bytes).into_owned()).map_err(|e| {
        let at = e.utf8_error().valid_up_to();
        let message = "the XML is neither UTF-8 nor UTF-16";
        ReadError::new(ReadErrorKind::Encoding, format!("{path} byte {at}"), message, EXPORT_HINT)
    })
}

/// Turns a reference from within the package into a part name; nothing outside the package can be named.
pub(super) fn part_path(place: impl Fn() -> String, reference: &str) -> Result<String, ReadError> {
    let path = reference.strip_prefix('/').unwrap_or(reference);
    let odd = path.contains(['\\', ':', '\0']) || path.split('/').any(|s| matches!(s, "" | "." | ".."));
    if odd {
        let shown = super::super::text::shown(reference.as_bytes());
        let message = format!("the reference `{shown}` does not name a part of this package");
        return Err(ReadError::new(ReadErrorKind::BadReference, place(), message, EXPORT_HINT));
    }
    Ok(path.to_owned())
}

fn model_target(xml: &str) -> Result<String, ReadError> {
    let mut reader = Reader::from_str(xml);
    let fail = |kind, message: String| Err(ReadError::new(kind, RELATIONSHIPS, message, EXPORT_HINT));
    loop {
        match reader.read_event() {
            Ok(Event::Start(e) | Event::Empty(e)) if e.local_name().as_ref() == "Relationship" => {
                let value = |key: &str| {
                    let found = e.attributes().flatten().find(|a| a.key.as_ref() == key);
                    found.map(|a| a.value.into_owned())
                };
                if value("Type").is_none_or(|t| t != MODEL_RELATIONSHIP) {
                    continue;
                }
                if value("TargetMode").is_some_and(|m| m.eq_ignore_ascii_case("external")) {
                    return fail(ReadErrorKind::BadReference, "the model lies outside the package".to_owned());
                }
                if let Some(target) = value("Target") {
                    return Ok(target);
                }
            }
            Ok(Event::DocType(_)) => {
                return fail(ReadErrorKind::Dtd, "a document type definition is not allowed here".to_owned());
            }
            Ok(Event::Eof) => {
                return fail(ReadErrorKind::MissingPart, "no relationship names a model part".to_owned());
            }
            Ok(_) => {}
            Err(e) => return fail(ReadErrorKind::Syntax, format!("not well-formed XML: {e}")),
        }
    }
}
