//! OBJ: vertices, faces with any number of corners, relative indices, continued lines, several objects.
//!
//! Format from memory (from-memory). Normals, texture, groups and materials do not matter here; lines and points are no
//! part of a solid and are
//! left out with a note. Free-form surfaces are refused.

use std::borrow::Cow;

use super::polygon::{MOST_CORNERS, cut};
use super::text::{lines, number, shown};
use super::{
    Format, LARGEST_COORDINATE, LengthUnit, NamedMesh, Note, NoteKind, ReadError, ReadErrorKind, ReadMesh, too_large,
    too_many_vertices, utf8,
};
use crate::mesh::{Mesh, Point};
use crate::weld::Welder;

/// Reads an OBJ file; each `o` statement with faces becomes an object. `unit` as in [`super::read`].
///
/// # Errors
/// See [`super::read`].
pub fn read(bytes: &[u8], unit: Option<LengthUnit>) -> Result<ReadMesh, ReadError> {
    let unit = unit.unwrap_or(LengthUnit::Millimetre);
    let text = utf8(bytes);
    let mut reader = Reader { factor: unit.millimetres(), ..Reader::default() };
    for (line, statement) in statements(&text) {
        reader.statement(line, &statement)?;
    }
    if reader.understood == 0 && text.iter().any(|b| !b.is_ascii_whitespace()) && !reader.commented {
        return Err(ReadError::new(
            ReadErrorKind::NotAMesh,
            "line 1",
            "no OBJ statement (`v`, `f`, …) in the file",
            "export the part again as OBJ, STL or 3MF",
        ));
    }
    reader.finish_object();
    let notes = reader.notes();
    Ok(ReadMesh { objects: reader.objects, format: Format::Obj, unit_stated: None, unit, notes })
}

/// Joins lines that end in a backslash; yields the number of the first line and the whole statement.
fn statements(bytes: &[u8]) -> impl Iterator<Item = (usize, Cow<'_, [u8]>)> {
    let mut lines = lines(bytes);
    std::iter::from_fn(move || {
        let (first, line) = lines.next()?;
        let Some(head) = line.strip_suffix(b"\\") else { return Some((first, Cow::Borrowed(line))) };
        let mut whole = head.to_vec();
        for (_, line) in lines.by_ref() {
            whole.push(b' ');
            match line.strip_suffix(b"\\") {
                Some(head) => whole.extend_from_slice(head),
                None => {
                    whole.extend_from_slice(line);
                    break;
                }
            }
        }
        Some((first, Cow::Owned(whole)))
    })
}

#[derive(Default)]
struct Reader {
    factor: f64,
    /// `None` for a vertex whose numbers cannot be read; an error only if a face uses it.
    vertices: Vec<(usize, Option<Point>)>,
    objects: Vec<NamedMesh>,
    name: String,
    welder: Option<Welder>,
    triangles: Vec<[u32; 3]>,
    understood: usize,
    commented: bool,
    left_out: (usize, usize),
    polygons: (usize, usize),
    unreadable: (usize, usize),
}

impl Reader {
    fn statement(&mut self, line: usize, statement: &[u8]) -> Result<(), ReadError> {
        let mut words = statement.split(u8::is_ascii_whitespace).filter(|w| !w.is_empty());
        let Some(keyword) = words.next() else { return Ok(()) };
        if keyword.starts_with(b"#") {
            self.commented = true;
            return Ok(());
        }
        match keyword {
            b"v" => self.vertex(line, words),
            b"f" | b"fo" => self.face(line, words)?,
            b"o" => {
                self.finish_object();
                self.name = String::from_utf8_lossy(statement.trim_ascii()[1..].trim_ascii()).into_owned();
            }
            b"l" | b"p" => tally(&mut self.left_out, line),
            b"curv" | b"surf" | b"cstype" => {
                return Err(ReadError::new(
                    ReadErrorKind::UnsupportedFormat,
                    format!("line {line}"),
                    "free-form curves and surfaces are not read",
                    "export the part as a triangle mesh",
                ));
            }
            b"vn" | b"vt" | b"vp" | b"g" | b"s" | b"usemtl" | b"mtllib" => {}
            _ => return Ok(()),
        }
        self.understood += 1;
        Ok(())
    }

    fn vertex<'a>(&mut self, line: usize, mut words: impl Iterator<Item = &'a [u8]>) {
        let mut point = [0.0; 3];
        let good = point.iter_mut().all(|c| match words.next().and_then(number) {
            Some(value) if value.is_finite() => {
                *c = value * self.factor;
                true
            }
            _ => false,
        });
        if !good {
            tally(&mut self.unreadable, line);
        }
        self.vertices.push((line, good.then_some(point)));
    }

    fn face<'a>(&mut self, line: usize, words: impl Iterator<Item = &'a [u8]>) -> Result<(), ReadError> {
        let mut points = Vec::with_capacity(4);
        for word in words {
            if word.starts_with(b"#") {
                break;
            }
            points.push(self.corner(line, word)?);
        }
        if points.len() < 3 || points.len() > MOST_CORNERS {
            return Err(ReadError::new(
                ReadErrorKind::Syntax,
                format!("line {line}"),
                format!("a face with {} corners; 3 to {MOST_CORNERS} are read", points.len()),
                "export the part as triangles",
            ));
        }
        if points.len() > 3 {
            tally(&mut self.polygons, line);
        }
        let welder = self.welder.get_or_insert_with(|| Welder::new(1000));
        for triangle in cut(&points) {
            let [Some(a), Some(b), Some(c)] = triangle.map(|i| welder.index(points[i])) else {
                return Err(too_many_vertices());
            };
            self.triangles.push([a, b, c]);
        }
        Ok(())
    }

    /// Looks up `7`, `7/1`, `7//3` or `-2` (counted back from the last vertex).
    fn corner(&self, line: usize, word: &[u8]) -> Result<Point, ReadError> {
        let place = format!("line {line}");
        let index = word.split(|&b| b == b'/').next().unwrap_or(b"");
        let count = self.vertices.len();
        let Some(index) = std::str::from_utf8(index).ok().and_then(|w| w.parse::<i64>().ok()) else {
            let message = format!("expected a vertex number, found `{}`", shown(word));
            return Err(ReadError::new(ReadErrorKind::Syntax, place, message, "write faces as `f 1 2 3`"));
        };
        let position = if index > 0 { index - 1 } else { index.saturating_add(count as i64) };
        let found = usize::try_from(position).ok().filter(|_| index != 0).and_then(|i| self.vertices.get(i));
        match found {
            Some(&(_, Some(point))) if point.iter().all(|c| c.abs() < LARGEST_COORDINATE) => Ok(point),
            Some((_, Some(_))) => Err(too_large(&place)),
            Some(&(at, None)) => Err(ReadError::new(
                ReadErrorKind::BadNumber,
                format!("line {at}"),
                format!("a coordinate of this vertex is no finite number, and the face on line {line} uses it"),
                "write numbers as 1.5 or 1.5e3",
            )),
            None => Err(ReadError::new(
                ReadErrorKind::BadIndex,
                place,
                format!("the face names vertex {index}; {count} vertices stand before it"),
                "export the part again; a vertex must stand before the faces that use it",
            )),
        }
    }

    fn finish_object(&mut self) {
        if let Some(welder) = self.welder.take() {
            let mesh = Mesh { vertices: welder.into_points(), triangles: std::mem::take(&mut self.triangles) };
            self.objects.push(NamedMesh { name: self.name.clone(), mesh });
        }
    }

    fn notes(&self) -> Vec<Note> {
        let note = |kind, (count, line): (usize, usize), message: &str| {
            (count > 0).then(|| Note { kind, count, place: format!("line {line}"), message: message.to_owned() })
        };
        [
            note(NoteKind::LeftOut, self.left_out, "lines and points are no part of a solid and were left out"),
            note(NoteKind::PolygonsCut, self.polygons, "faces with more than three corners were cut into triangles"),
            note(NoteKind::UnusedNumber, self.unreadable, "vertices with an unreadable number, which no face uses"),
        ]
        .into_iter()
        .flatten()
        .collect()
    }
}

fn tally((count, first): &mut (usize, usize), line: usize) {
    if *count == 0 {
        *first = line;
    }
    *count += 1;
}
