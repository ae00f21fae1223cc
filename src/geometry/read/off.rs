//! OFF: a header, the counts, vertices, faces with any number of corners; comments and colours are passed over.
//!
//! Format from memory (from-memory).

use super::polygon::{MOST_CORNERS, cut};
use super::text::{lines, number, shown};
use super::{
    Format, LARGEST_COORDINATE, LengthUnit, NamedMesh, Note, NoteKind, ReadError, ReadErrorKind, ReadMesh, too_large,
    too_many_vertices, utf8,
};
use crate::mesh::{Mesh, Point};
use crate::weld::Welder;

const HINT: &str = "export the part again as OFF, STL or 3MF";

/// Reads an OFF file. `unit` as in [`super::read`].
///
/// # Errors
/// See [`super::read`].
pub fn read(bytes: &[u8], unit: Option<LengthUnit>) -> Result<ReadMesh, ReadError> {
    let unit = unit.unwrap_or(LengthUnit::Millimetre);
    let text = utf8(bytes);
    let mut rows = lines(&text)
        .map(|(n, l)| (n, l.split(|&b| b == b'#').next().unwrap_or(b"").trim_ascii()))
        .filter(|(_, l)| !l.is_empty());
    let (counts_line, counts) = header(&mut rows)?;
    let vertices = read_vertices(&mut rows, counts[0], unit.millimetres())?;
    let (mesh, polygons) = read_faces(&mut rows, counts[1], &vertices)?;
    let mut notes = Vec::new();
    if let Some((line, _)) = rows.next() {
        notes.push(Note {
            kind: NoteKind::CountMismatch,
            count: 1,
            place: format!("line {line}"),
            message: format!("more lines follow than the counts on line {counts_line} announce; they were ignored"),
        });
    }
    if polygons.0 > 0 {
        notes.push(Note {
            kind: NoteKind::PolygonsCut,
            count: polygons.0,
            place: format!("line {}", polygons.1),
            message: "faces with more than three corners were cut into triangles".to_owned(),
        });
    }
    let objects = vec![NamedMesh { name: String::new(), mesh }];
    Ok(ReadMesh { objects, format: Format::Off, unit_stated: None, unit, notes })
}

type Row<'a> = (usize, &'a [u8]);

fn error(kind: ReadErrorKind, line: usize, message: String) -> ReadError {
    ReadError::new(kind, format!("line {line}"), message, HINT)
}

fn cut_off(what: &str) -> ReadError {
    ReadError::new(ReadErrorKind::Truncated, "end of file", format!("the file ends before {what}"), HINT)
}

/// Reads `OFF` (or `COFF`, `NOFF`, …) and the numbers of vertices and faces, on the same line or the next.
fn header<'a>(rows: &mut impl Iterator<Item = Row<'a>>) -> Result<(usize, [usize; 2]), ReadError> {
    let (line, first) = rows.next().ok_or_else(|| cut_off("the word `OFF`"))?;
    let at = first.windows(3).position(|w| w == b"OFF").filter(|&at| at <= 3);
    let Some(at) = at else {
        let message = format!("expected the word `OFF`, found `{}`", shown(first));
        return Err(error(ReadErrorKind::NotAMesh, line, message));
    };
    let rest = first[at + 3..].trim_ascii();
    let (line, counts) = if rest.is_empty() {
        rows.next().ok_or_else(|| cut_off("the numbers of vertices and faces"))?
    } else {
        (line, rest)
    };
    if rest.starts_with(b"BINARY") {
        let message = "the binary form of OFF is not read".to_owned();
        return Err(error(ReadErrorKind::UnsupportedFormat, line, message));
    }
    let mut words = words(counts).map(|w| std::str::from_utf8(w).ok().and_then(|w| w.parse::<usize>().ok()));
    match (words.next().flatten(), words.next().flatten()) {
        (Some(v), Some(f)) => Ok((line, [v, f])),
        _ => {
            let message = format!("expected the numbers of vertices and faces, found `{}`", shown(counts));
            Err(error(ReadErrorKind::Syntax, line, message))
        }
    }
}

fn words(row: &[u8]) -> impl Iterator<Item = &[u8]> {
    row.split(u8::is_ascii_whitespace).filter(|w| !w.is_empty())
}

fn read_vertices<'a>(
    rows: &mut impl Iterator<Item = Row<'a>>,
    count: usize,
    factor: f64,
) -> Result<Vec<Point>, ReadError> {
    // Grows with the rows that are there, not by the count the file claims.
    let mut vertices = Vec::new();
    while vertices.len() < count {
        let (line, row) = rows.next().ok_or_else(|| cut_off(&format!("vertex {} of {count}", vertices.len() + 1)))?;
        let mut numbers = words(row).map(number);
        let mut point = [0.0; 3];
        for c in &mut point {
            let Some(value) = numbers.next().flatten().filter(|v| v.is_finite()) else {
                let message = format!("expected three coordinates, found `{}`", shown(row));
                return Err(error(ReadErrorKind::BadNumber, line, message));
            };
            *c = value * factor;
            if c.abs() >= LARGEST_COORDINATE {
                return Err(too_large(&format!("line {line}")));
            }
        }
        vertices.push(point);
    }
    Ok(vertices)
}

fn read_faces<'a>(
    rows: &mut impl Iterator<Item = Row<'a>>,
    count: usize,
    vertices: &[Point],
) -> Result<(Mesh, (usize, usize)), ReadError> {
    let mut welder = Welder::new(vertices.len());
    let mut triangles = Vec::new();
    let mut polygons = (0, 0);
    for face in 0..count {
        let (line, row) = rows.next().ok_or_else(|| cut_off(&format!("face {} of {count}", face + 1)))?;
        let points = corners(line, row, vertices)?;
        if points.len() > 3 {
            polygons = (polygons.0 + 1, if polygons.0 == 0 { line } else { polygons.1 });
        }
        for triangle in cut(&points) {
            let [Some(a), Some(b), Some(c)] = triangle.map(|i| welder.index(points[i])) else {
                return Err(too_many_vertices());
            };
            triangles.push([a, b, c]);
        }
    }
    Ok((Mesh { vertices: welder.into_points(), triangles }, polygons))
}

fn corners(line: usize, row: &[u8], vertices: &[Point]) -> Result<Vec<Point>, ReadError> {
    let mut indices = words(row).map(|w| std::str::from_utf8(w).ok().and_then(|w| w.parse::<usize>().ok()));
    let corners = indices.next().flatten().unwrap_or(0);
    if !(3..=MOST_CORNERS).contains(&corners) {
        let message = format!("expected a face with 3 to {MOST_CORNERS} corners, found `{}`", shown(row));
        return Err(error(ReadErrorKind::Syntax, line, message));
    }
    let mut points = Vec::with_capacity(corners);
    for _ in 0..corners {
        let Some(index) = indices.next().flatten() else {
            let message = format!("the face announces {corners} corners and names fewer: `{}`", shown(row));
            return Err(error(ReadErrorKind::Syntax, line, message));
        };
        let Some(&point) = vertices.get(index) else {
            let message = format!("the face names vertex {index}; there are {} (0 is the first)", vertices.len());
            return Err(error(ReadErrorKind::BadIndex, line, message));
        };
        points.push(point);
    }
    Ok(points)
}
