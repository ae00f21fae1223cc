//! Writing a 3MF core package: the part in its pose, in millimetres.
//!
//! Source: 3MF Core Specification 1.3 (3MF Consortium), from memory (from-memory). The same objects give the same bytes: fixed order, fixed
//! time stamps, shortest decimal numbers that read back exactly.

use std::fmt::Write as _;
use std::io::{Cursor, Write as _};

use quick_xml::escape::escape;
use zip::write::{SimpleFileOptions, ZipWriter};
use zip::{CompressionMethod, DateTime};

use super::read::NamedMesh;

const CONTENT_TYPES: &str = concat!(
    r#"<?xml version="1.0" encoding="UTF-8"?>"#,
    r#"<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types">"#,
    r#"<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>"#,
    r#"<Default Extension="model" ContentType="application/vnd.ms-package.3dmanufacturing-3dmodel+xml"/>"#,
    "</Types>\n"
);

const RELATIONSHIPS: &str = concat!(
    r#"<?xml version="1.0" encoding="UTF-8"?>"#,
    r#"<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">"#,
    r#"<Relationship Target="/3D/3dmodel.model" Id="rel0" "#,
    r#"Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"/>"#,
    "</Relationships>\n"
);

/// Returns the bytes of a package with one build item for each object; objects without triangles are left out.
///
/// Degenerate triangles (two equal corners), which the format forbids, are left out too.
///
/// # Errors
/// Only where the archive cannot be written (more than 4 GB).
pub fn package(objects: &[NamedMesh]) -> std::io::Result<Vec<u8>> {
    let options = SimpleFileOptions::default()
        .compression_method(CompressionMethod::Deflated)
        .last_modified_time(DateTime::default())
        .unix_permissions(0o644);
    let mut archive = ZipWriter::new(Cursor::new(Vec::new()));
    let parts = [
        ("[Content_Types].xml", CONTENT_TYPES.to_owned()),
        ("_rels/.rels", RELATIONSHIPS.to_owned()),
        ("3D/3dmodel.model", model(objects)),
    ];
    for (name, content) in parts {
        archive.start_file(name, options)?;
        archive.write_all(content.as_bytes())?;
    }
    Ok(archive.finish()?.into_inner())
}

fn model(objects: &[NamedMesh]) -> String {
    let mut xml = String::from(concat!(
        r#"<?xml version="1.0" encoding="UTF-8"?>"#,
        "\n",
        r#"<model unit="millimeter" xml:lang="en" xmlns="http://schemas.microsoft.com/3dmanufacturing/core/2015/02">"#,
        "\n<resources>\n"
    ));
    let mut items = String::new();
    let solid = objects.iter().filter(|o| !o.mesh.triangles.is_empty());
    for (i, object) in solid.enumerate() {
        let id = i + 1;
        // Writing to a string cannot fail.
        let _ = writeln!(items, r#"<item objectid="{id}"/>"#);
        add_object(&mut xml, id, object);
    }
    xml.push_str("</resources>\n<build>\n");
    xml.push_str(&items);
    xml.push_str("</build>\n</model>\n");
    xml
}

fn add_object(xml: &mut String, id: usize, object: &NamedMesh) {
    // Control characters are not allowed in XML at all.
    let name: String = object.name.chars().filter(|c| !c.is_control()).collect();
    let _ = write!(xml, r#"<object id="{id}" type="model""#);
    if !name.is_empty() {
        let _ = write!(xml, r#" name="{}""#, escape(&name));
    }
    xml.push_str("><mesh>\n<vertices>\n");
    for [x, y, z] in &object.mesh.vertices {
        let _ = writeln!(xml, r#"<vertex x="{x}" y="{y}" z="{z}"/>"#);
    }
    xml.push_str("</vertices>\n<triangles>\n");
    for [a, b, c] in object.mesh.triangles.iter().filter(|[a, b, c]| a != b && b != c && c != a) {
        let _ = writeln!(xml, r#"<triangle v1="{a}" v2="{b}" v3="{c}"/>"#);
    }
    xml.push_str("</triangles>\n</mesh></object>\n");
}

#[cfg(test)]
mod tests {
    use super::super::mesh::Mesh;
    use super::super::read::{LengthUnit, read};
    use super::*;

    fn tetrahedron(size: f64) -> Mesh {
        Mesh {
            vertices: vec![[0.1, 0.2, -0.3], [size, 0.0, 1.0 / 3.0], [0.0, size, 0.0], [0.0, 1e-7, size]],
            triangles: vec![[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]],
        }
    }

    #[test]
    fn what_is_written_reads_back_exactly_and_twice_the_same() {
        let name = "hook <\"A\" & B>".to_owned();
        let objects = [
            NamedMesh { name: name.clone(), mesh: tetrahedron(10.0) },
            NamedMesh { name: String::new(), mesh: tetrahedron(3.0) },
        ];
        let bytes = package(&objects).expect("writes");
        assert_eq!(bytes, package(&objects).expect("writes"));
        let back = read(&bytes, "x.3mf", None).expect("reads");
        assert_eq!(back.unit_stated, Some(LengthUnit::Millimetre));
        assert_eq!(back.objects.len(), 2);
        assert_eq!(back.objects[0].name, name);
        for (wrote, read) in objects.iter().zip(&back.objects) {
            let corners = |m: &Mesh| (0..4).map(|t| m.corners(t)).collect::<Vec<_>>();
            assert_eq!(corners(&wrote.mesh), corners(&read.mesh));
        }
    }
}
