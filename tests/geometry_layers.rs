//! Poses, regions, features, walls and gaps against the truths of the mesh collection.

use makeready::geometry::{adjacency, features, mesh::Mesh, rays::Rays, read};

fn load(path: &std::path::Path) -> Option<Mesh> {
    let bytes = std::fs::read(path).ok()?;
    let name = path.file_name()?.to_string_lossy().into_owned();
    read::read(&bytes, &name, None).ok()?.merged()
}

#[test]
#[ignore]
fn scratch_features() {
    let only = std::env::var("ONLY").unwrap_or_default();
    let mut names: Vec<_> = std::fs::read_dir("../shared/meshes").unwrap().map(|e| e.unwrap().path()).collect();
    if std::env::var("REAL").is_ok() {
        names = std::fs::read_dir("../shared/meshes/real").unwrap().map(|e| e.unwrap().path()).collect();
    }
    names.sort();
    for path in names {
        if path.extension().is_none_or(|e| e != "stl") || !path.to_string_lossy().contains(&only) {
            continue;
        }
        let Some(mesh) = load(&path) else { continue };
        println!("== {} {}", path.display(), mesh.triangles.len());
        let t = std::time::Instant::now();
        let twin = adjacency::twins(&mesh);
        let rays = Rays::new(&mesh);
        let f = features::find(&mesh, &twin, &rays);
        for h in &f.holes {
            println!(
                "   {} depth {:.3} facets {} arc {:.1} sink {:?}",
                h.name, h.depth_mm, h.facets, h.surface.arc_deg, h.countersink
            );
        }
        for h in &f.bosses {
            println!("   {} height {:.3} facets {} arc {:.1}", h.name, h.height_mm, h.facets, h.surface.arc_deg);
        }
        println!("   {} roundings, {} planes, {:?}", f.roundings.len(), f.planes.len(), t.elapsed());
    }
}

#[test]
#[ignore]
fn scratch_regions() {
    use makeready::geometry::{pose::Pose, regions::limits::Limits, survey::Prepared};
    let only = std::env::var("ONLY").unwrap_or_default();
    let mut names: Vec<_> = std::fs::read_dir("../shared/meshes").unwrap().map(|e| e.unwrap().path()).collect();
    if std::env::var("REAL").is_ok() {
        names = std::fs::read_dir("../shared/meshes/real").unwrap().map(|e| e.unwrap().path()).collect();
    }
    names.sort();
    for path in names {
        if path.extension().is_none_or(|e| e != "stl") || !path.to_string_lossy().contains(&only) {
            continue;
        }
        let Some(mesh) = load(&path) else { continue };
        let p = Prepared::new(&mesh);
        let t = std::time::Instant::now();
        let up = up_of(&path);
        let pose = Pose::new(up).unwrap();
        let r = p.regions(&pose, &Limits::default());
        println!(
            "== {} {} support {:.1} contact {:.1} on part {:.1}, unlisted {} {:.3}, {:?}",
            path.file_name().unwrap().display(),
            mesh.triangles.len(),
            r.support_mm3,
            r.support_contact_mm2,
            r.support_on_part_mm2,
            r.unlisted,
            r.unlisted_mm2,
            t.elapsed()
        );
        for g in r.list.iter().take(8) {
            println!(
                "   {:?} z {:.2}..{:.2} area {:.3} span {:.3?} reach {:.3?} angle {:.1} at {:.2?} {:?} rem {} open {:.3} d {:.3?} :: {}",
                g.kind,
                g.z_mm[0],
                g.z_mm[1],
                g.area_mm2,
                g.span_mm,
                g.reach_mm,
                g.angle_deg,
                g.at,
                g.verdict,
                g.removable,
                g.openness,
                g.diameter_mm,
                g.because
            );
        }
    }
}

fn up_of(path: &std::path::Path) -> [f64; 3] {
    let mut up = [0.0, 0.0, 1.0];
    if let Ok(truths) = std::fs::read_to_string("../shared/meshes/truths.json") {
        let v: serde_json::Value = serde_json::from_str(&truths).unwrap();
        let stem = path.file_name().unwrap().to_string_lossy().into_owned();
        if let Some(o) = v.get(&stem).and_then(|t| t.get("original_up_in_this_frame")) {
            for k in 0..3 {
                up[k] = o[k].as_f64().unwrap();
            }
        }
    }
    up
}

#[test]
#[ignore]
fn scratch_poses() {
    use makeready::geometry::survey::{PoseOptions, Prepared};
    let only = std::env::var("ONLY").unwrap_or_default();
    let mut names: Vec<_> = std::fs::read_dir("../shared/meshes").unwrap().map(|e| e.unwrap().path()).collect();
    if std::env::var("REAL").is_ok() {
        names = std::fs::read_dir("../shared/meshes/real").unwrap().map(|e| e.unwrap().path()).collect();
    }
    names.sort();
    for path in names {
        if path.extension().is_none_or(|e| e != "stl") || !path.to_string_lossy().contains(&only) {
            continue;
        }
        let Some(mesh) = load(&path) else { continue };
        let t = std::time::Instant::now();
        let p = Prepared::new(&mesh);
        let found = p.poses(&PoseOptions::default());
        println!("== {} {} {:?}", path.file_name().unwrap().display(), mesh.triangles.len(), t.elapsed());
        for f in found.iter().take(5) {
            println!(
                "   {} total {:.3} over {:.2} contact {:.2} h {:.2} foot {:.1?} support {:.1} stab {:.2} {:.2?} regions {:?}",
                f.pose.label,
                f.total(),
                f.overhang_mm2,
                f.contact_mm2,
                f.height_mm,
                f.footprint_mm,
                f.support_mm3,
                f.stability_mm,
                f.penalties.iter().map(|p| p.1).collect::<Vec<_>>(),
                f.regions.as_ref().map(|r| r.list.len())
            );
        }
    }
}

#[test]
#[ignore]
fn scratch_layers() {
    use makeready::geometry::{layers, polygon::Filling, pose::Pose, regions::limits::Limits, survey::Prepared};
    let only = std::env::var("ONLY").unwrap_or_default();
    let mut names: Vec<_> = std::fs::read_dir("../shared/meshes").unwrap().map(|e| e.unwrap().path()).collect();
    names.sort();
    for path in names {
        if path.extension().is_none_or(|e| e != "stl") || !path.to_string_lossy().contains(&only) {
            continue;
        }
        let Some(mesh) = load(&path) else { continue };
        let p = Prepared::new(&mesh);
        let t = std::time::Instant::now();
        let pose = Pose::new(up_of(&path)).unwrap();
        let view = p.view(&pose);
        let (lo, hi) = p.table.extent(pose.up);
        let l = layers::cut(&view, &layers::middles(hi - lo, 0.2));
        let cut = t.elapsed();
        let u = layers::unsupported(&l, 0.2, Filling::Winding);
        let volume: f64 = l.iter().map(|l| l.area() * 0.2).sum();
        let lacking: f64 = u.iter().map(|u| u.area()).sum();
        let r = p.regions(&pose, &Limits::default());
        println!(
            "== {} {} layers {} broken {} volume {:.1} cut {:?} unsupported {:.2} in {:?}; patches {:.2}",
            path.file_name().unwrap().display(),
            mesh.triangles.len(),
            l.len(),
            l.iter().map(|l| l.broken).sum::<usize>(),
            volume,
            cut,
            lacking,
            t.elapsed(),
            r.list.iter().map(|r| r.area_mm2).sum::<f64>()
        );
    }
}

#[test]
#[ignore]
fn scratch_walls() {
    use makeready::geometry::{survey::Prepared, walls};
    let only = std::env::var("ONLY").unwrap_or_default();
    let mut names: Vec<_> = std::fs::read_dir("../shared/meshes").unwrap().map(|e| e.unwrap().path()).collect();
    names.sort();
    for path in names {
        if path.extension().is_none_or(|e| e != "stl") || !path.to_string_lossy().contains(&only) {
            continue;
        }
        let Some(mesh) = load(&path) else { continue };
        let p = Prepared::new(&mesh);
        p.rays();
        let t = std::time::Instant::now();
        let w = walls::measure(&mesh, p.rays(), p.table.size_mm);
        println!(
            "== {} {} wall {:?} gap {:?} n {} {:?}",
            path.file_name().unwrap().display(),
            mesh.triangles.len(),
            w.thinnest,
            w.narrowest,
            w.samples.len(),
            t.elapsed()
        );
    }
}

#[test]
#[ignore]
fn scratch_measure() {
    use makeready::geometry::survey::measure::{MeasureOptions, measure};
    let only = std::env::var("ONLY").unwrap_or_default();
    let dir = std::env::var("DIR").unwrap_or("../shared/meshes".into());
    let mut names: Vec<_> = std::fs::read_dir(dir).unwrap().map(|e| e.unwrap().path()).collect();
    names.sort();
    for path in names {
        if !path.to_string_lossy().contains(&only) {
            continue;
        }
        let t0 = std::time::Instant::now();
        let Some(mesh) = load(&path) else { continue };
        if mesh.triangles.is_empty() {
            continue;
        }
        let read = t0.elapsed();
        let t = std::time::Instant::now();
        let m = measure(&mesh, &MeasureOptions::default());
        let took = t.elapsed();
        println!(
            "== {} {} read {:?} measure {:?} closed {} vol {:?} first {:?}",
            path.file_name().unwrap().display(),
            mesh.triangles.len(),
            read,
            took,
            m.closed,
            m.volume_mm3,
            m.first_layer.sharp_corners
        );
        if std::env::var("JSON").is_ok() {
            println!("{}", serde_json::to_string(&m).unwrap());
        }
    }
}
