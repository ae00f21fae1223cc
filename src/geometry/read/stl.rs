//! STL, binary and text.
//!
//! Layout from memory of the de facto format (from-memory): binary is an 80-byte header, a little-endian 32-bit facet
//! count and 50 bytes a facet (normal, three corners, two attribute bytes). Stored normals are checked against the
//! winding but never used; attribute bytes are ignored.

use rayon::prelude::*;

use super::text::{Words, number, shown};
use super::{
    EXPORT_HINT, Format, LengthUnit, NamedMesh, Note, NoteKind, ReadError, ReadErrorKind, ReadMesh, scale_vertices,
    too_large, too_many_vertices, utf8,
};
use crate::mesh::{Mesh, Point};
use crate::vector::{cross, dot, sub};
use crate::weld::Welder;
use crate::weld::facets::{Corners, weld_facets};

const HEADER: usize = 84;
const FACET: usize = 50;

/// Returns whether the bytes are binary STL rather than text; a header that begins with `solid` does not deceive it.
pub fn is_binary(bytes: &[u8]) -> bool {
    if let Some(count) = declared_facets(bytes)
        && bytes.len() as u64 == HEADER as u64 + FACET as u64 * u64::from(count)
    {
        return true;
    }
    let head = &bytes[..bytes.len().min(1000)];
    if head.starts_with(b"\xff\xfe") || head.starts_with(b"\xfe\xff") {
        return false;
    }
    // A header and nothing, or less than a count, behind it: cut, not text.
    if (80..HEADER).contains(&bytes.len()) && !head[..5].eq_ignore_ascii_case(b"solid") {
        return true;
    }
    // Text holds no zero bytes; the two attribute bytes alone would put some into any short stretch of a binary file.
    head.contains(&0)
}

fn declared_facets(bytes: &[u8]) -> Option<u32> {
    bytes.get(80..HEADER).and_then(|b| b.try_into().ok()).map(u32::from_le_bytes)
}

/// Reads either kind of STL. `unit` is the unit of the numbers; millimetres where none is given.
///
/// # Errors
/// See [`super::read`].
pub fn read(bytes: &[u8], unit: Option<LengthUnit>) -> Result<ReadMesh, ReadError> {
    let unit = unit.unwrap_or(LengthUnit::Millimetre);
    let (format, mut object, notes) = if is_binary(bytes) {
        let (object, notes) = read_binary(bytes)?;
        (Format::BinaryStl, object, notes)
    } else {
        let (object, notes) = read_text(&utf8(bytes))?;
        (Format::TextStl, object, notes)
    };
    if !scale_vertices(&mut object.mesh.vertices, unit.millimetres()) {
        return Err(too_large(""));
    }
    Ok(ReadMesh { objects: vec![object], format, unit_stated: None, unit, notes })
}

/// Counts how often something odd was met and where first.
#[derive(Default)]
struct Tally {
    count: usize,
    first: usize,
}

impl Tally {
    fn add(&mut self, place: usize) {
        if self.count == 0 {
            self.first = place;
        }
        self.count += 1;
    }

    /// Adds what was met in later places.
    fn join(&mut self, later: Self) {
        if self.count == 0 {
            self.first = later.first;
        }
        self.count += later.count;
    }

    fn note(&self, kind: NoteKind, place: &str, message: &str) -> Option<Note> {
        (self.count > 0).then(|| Note {
            kind,
            count: self.count,
            place: format!("{place} {}", self.first),
            message: message.to_owned(),
        })
    }
}

const NON_FINITE: &str = "facets with a coordinate that is no finite number were left out";
const DISAGREE: &str = "stored normals point against the winding; the winding is believed";

fn read_binary(bytes: &[u8]) -> Result<(NamedMesh, Vec<Note>), ReadError> {
    let Some(declared) = declared_facets(bytes) else {
        return Err(ReadError::new(
            ReadErrorKind::Truncated,
            format!("byte {}", bytes.len()),
            format!("the file ends after {} bytes; a binary STL has at least {HEADER}", bytes.len()),
            EXPORT_HINT,
        ));
    };
    let data = &bytes[HEADER..];
    let mut notes = Vec::new();
    let facets = facets_to_read(data, declared as usize, &mut notes)?;
    let mesh = weld_binary(&data[..facets * FACET], &mut notes)?;
    // The header is free text, often the exporter's; it is no name for a part.
    Ok((NamedMesh { name: String::new(), mesh }, notes))
}

/// Settles what the count in the header and the bytes that follow say about the number of facets.
fn facets_to_read(data: &[u8], declared: usize, notes: &mut Vec<Note>) -> Result<usize, ReadError> {
    let complete = data.len() / FACET;
    if declared > complete {
        return Err(ReadError::new(
            ReadErrorKind::Truncated,
            format!("byte {}", HEADER + complete * FACET),
            format!("the header announces {declared} facets, the file holds {complete} complete ones"),
            EXPORT_HINT,
        ));
    }
    let trailing = &data[declared * FACET..];
    if trailing.is_empty() {
        return Ok(declared);
    }
    let place = format!("byte {}", HEADER + declared * FACET);
    if trailing.len().is_multiple_of(FACET) && trailing.iter().any(|&b| b != 0) {
        let message = format!("the header announces {declared} facets, the file holds {complete}; all were read");
        notes.push(Note { kind: NoteKind::CountMismatch, count: complete - declared, place, message });
        return Ok(complete);
    }
    let message = format!("{} bytes after the last facet were ignored", trailing.len());
    notes.push(Note { kind: NoteKind::TrailingBytes, count: trailing.len(), place, message });
    Ok(declared)
}

#[inline]
fn floats(record: &[u8]) -> [f32; 12] {
    let mut out = [0.0; 12];
    for (value, raw) in out.iter_mut().zip(record.as_chunks::<4>().0) {
        *value = f32::from_le_bytes(*raw);
    }
    out
}

/// Returns the corners of a facet; `None` where a coordinate is no finite number.
#[inline]
fn corners(record: &[u8]) -> Option<Corners> {
    let f = floats(record);
    // Without short circuit: the nine tests run side by side.
    let finite = f[3..].iter().fold(true, |good, c| good & c.is_finite());
    finite.then_some([[f[3], f[4], f[5]], [f[6], f[7], f[8]], [f[9], f[10], f[11]]])
}

/// Facets looked at in one go.
const LOOK: usize = 1 << 14;

fn weld_binary(data: &[u8], notes: &mut Vec<Note>) -> Result<Mesh, ReadError> {
    let odd: Vec<[Tally; 2]> = data
        .par_chunks(FACET * LOOK)
        .enumerate()
        .map(|(chunk, records)| {
            let [mut non_finite, mut disagree] = [Tally::default(), Tally::default()];
            for (i, record) in records.chunks_exact(FACET).enumerate() {
                let place = chunk * LOOK + i + 1;
                match corners(record) {
                    None => non_finite.add(place),
                    Some(corners) if disagrees(record, corners) => disagree.add(place),
                    Some(_) => {}
                }
            }
            [non_finite, disagree]
        })
        .collect();
    let [mut non_finite, mut disagree] = [Tally::default(), Tally::default()];
    for [one, other] in odd {
        non_finite.join(one);
        disagree.join(other);
    }
    notes.extend(non_finite.note(NoteKind::NonFinite, "facet", NON_FINITE));
    notes.extend(disagree.note(NoteKind::NormalsDisagree, "facet", DISAGREE));
    let facet = |t: usize| corners(data.get(FACET * t..FACET * (t + 1))?);
    weld_facets(data.len() / FACET, facet).ok_or_else(too_many_vertices)
}

#[inline]
fn disagrees(record: &[u8], corners: Corners) -> bool {
    let f = floats(record);
    let [a, b, c] = corners.map(|c| c.map(f64::from));
    dot([f[0], f[1], f[2]].map(f64::from), cross(sub(b, a), sub(c, a))) < 0.0
}

/// Reads the text form, word by word: white space, case, line ends and names do not matter.
struct TextReader<'a> {
    words: Words<'a>,
    welder: Welder,
    triangles: Vec<[u32; 3]>,
    name: String,
    non_finite: Tally,
    disagree: Tally,
    no_endsolid: Tally,
}

fn read_text(bytes: &[u8]) -> Result<(NamedMesh, Vec<Note>), ReadError> {
    let mut reader = TextReader {
        words: Words::new(bytes),
        // A facet takes at least some 100 bytes of text.
        welder: Welder::new(bytes.len() / 400),
        triangles: Vec::new(),
        name: String::new(),
        non_finite: Tally::default(),
        disagree: Tally::default(),
        no_endsolid: Tally::default(),
    };
    reader.solids()?;
    let mut notes = Vec::new();
    notes.extend(reader.non_finite.note(NoteKind::NonFinite, "line", NON_FINITE));
    notes.extend(reader.disagree.note(NoteKind::NormalsDisagree, "line", DISAGREE));
    notes.extend(reader.no_endsolid.note(NoteKind::NoEndsolid, "line", "a solid is not closed with `endsolid`"));
    let mesh = Mesh { vertices: reader.welder.into_points(), triangles: reader.triangles };
    Ok((NamedMesh { name: reader.name, mesh }, notes))
}

impl TextReader<'_> {
    fn solids(&mut self) -> Result<(), ReadError> {
        let first = self.words.next();
        if !first.is_some_and(|w| w.eq_ignore_ascii_case(b"solid")) {
            return Err(ReadError::new(
                ReadErrorKind::NotAMesh,
                "line 1",
                format!("expected a binary STL or the word `solid`, found `{}`", shown(first.unwrap_or(b""))),
                EXPORT_HINT,
            ));
        }
        self.take_name();
        self.solid()?;
        while let Some(word) = self.words.next() {
            if !word.eq_ignore_ascii_case(b"solid") {
                return Err(self.expected("`solid` or the end of the file", Some(word)));
            }
            self.take_name();
            self.solid()?;
        }
        Ok(())
    }

    fn take_name(&mut self) {
        let name = String::from_utf8_lossy(self.words.rest_of_line()).into_owned();
        if self.name.is_empty() {
            self.name = name;
        }
    }

    /// Reads facets up to `endsolid`, which may be missing at the end of the file.
    fn solid(&mut self) -> Result<(), ReadError> {
        while let Some(word) = self.words.next() {
            if word.eq_ignore_ascii_case(b"facet") {
                self.facet()?;
            } else if word.eq_ignore_ascii_case(b"endsolid") {
                self.words.rest_of_line();
                return Ok(());
            } else if word.eq_ignore_ascii_case(b"color") {
                self.words.rest_of_line();
            } else {
                return Err(self.expected("`facet` or `endsolid`", Some(word)));
            }
        }
        self.no_endsolid.add(self.words.line);
        Ok(())
    }

    fn facet(&mut self) -> Result<(), ReadError> {
        let line = self.words.line;
        self.keyword(b"normal")?;
        let normal = self.three()?;
        self.keyword(b"outer")?;
        self.keyword(b"loop")?;
        let mut corners = [[0.0; 3]; 3];
        for corner in &mut corners {
            self.keyword(b"vertex")?;
            *corner = self.three()?;
        }
        self.keyword(b"endloop")?;
        self.keyword(b"endfacet")?;
        if corners.iter().flatten().any(|c| !c.is_finite()) {
            self.non_finite.add(line);
            return Ok(());
        }
        let [a, b, c] = corners;
        if dot(normal, cross(sub(b, a), sub(c, a))) < 0.0 {
            self.disagree.add(line);
        }
        let (Some(a), Some(b), Some(c)) = (self.welder.index(a), self.welder.index(b), self.welder.index(c)) else {
            return Err(too_many_vertices());
        };
        self.triangles.push([a, b, c]);
        Ok(())
    }

    fn keyword(&mut self, expected: &[u8]) -> Result<(), ReadError> {
        let found = self.words.next();
        if found.is_some_and(|w| w.eq_ignore_ascii_case(expected)) {
            return Ok(());
        }
        let known: [&[u8]; 9] =
            [b"solid", b"facet", b"normal", b"outer", b"loop", b"vertex", b"endloop", b"endfacet", b"endsolid"];
        // A last word that begins like a keyword is a file that was cut, not a slip of spelling.
        let cut = found.is_some_and(|w| known.iter().any(|k| k.len() > w.len() && k.starts_with(w)))
            && self.words.bytes_left() == 0;
        let found = if cut { None } else { found };
        Err(self.expected(&format!("`{}`", String::from_utf8_lossy(expected)), found))
    }

    fn three(&mut self) -> Result<Point, ReadError> {
        let mut values = [0.0; 3];
        for value in &mut values {
            let word = self.words.next();
            let parsed = word.and_then(number);
            // The very last word of a file may be a number cut short; it is not to be believed.
            match parsed {
                Some(parsed) if self.words.bytes_left() > 0 => *value = parsed,
                _ => return Err(self.expected("a number", word.filter(|_| self.words.bytes_left() > 0))),
            }
        }
        Ok(values)
    }

    fn expected(&self, expected: &str, found: Option<&[u8]>) -> ReadError {
        let place = format!("line {}", self.words.line);
        let facet = self.triangles.len() + self.non_finite.count + 1;
        match found {
            None => ReadError::new(
                ReadErrorKind::Truncated,
                place,
                format!("the file ends within facet {facet}, where {expected} should stand"),
                EXPORT_HINT,
            ),
            Some(word) => {
                let kind = if expected == "a number" { ReadErrorKind::BadNumber } else { ReadErrorKind::Syntax };
                let hint = if kind == ReadErrorKind::BadNumber {
                    "write numbers as 1.5 or 1.5e3, with a point, not a comma"
                } else {
                    EXPORT_HINT
                };
                ReadError::new(kind, place, format!("expected {expected}, found `{}`", shown(word)), hint)
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn text(source: &str) -> Result<ReadMesh, ReadError> {
        read(source.as_bytes(), None)
    }

    #[test]
    fn a_comma_for_a_point_is_named_with_its_line() {
        let e = text("solid a\nfacet normal 0 0 1\nouter loop\nvertex 0,5 0 0\n").unwrap_err();
        assert_eq!((e.kind, e.place.as_str()), (ReadErrorKind::BadNumber, "line 4"));
        assert!(e.message.contains("`0,5`") && e.hint.contains("comma"), "{e}");
    }

    #[test]
    fn a_cut_file_is_called_cut() {
        for end in ["vertex 0 0", "vertex 0 0 1", "vert", ""] {
            let e = text(&format!("solid a\nfacet normal 0 0 1\nouter loop\n{end}")).unwrap_err();
            assert_eq!(e.kind, ReadErrorKind::Truncated, "{end}: {e}");
        }
    }

    #[test]
    fn a_lying_count_allocates_nothing() {
        let mut bytes = vec![0; 84];
        bytes[80..84].copy_from_slice(&u32::MAX.to_le_bytes());
        let e = read(&bytes, None).unwrap_err();
        assert_eq!(e.kind, ReadErrorKind::Truncated);
    }
}
