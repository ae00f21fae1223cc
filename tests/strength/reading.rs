//! Reads bodies with their loads, holds and finite-element truths, and says how far a solution is off.

use makeready::field::{Figure, Hold, HoldKind, Load, LoadKind, Options, Region, Solution};
use makeready::geometry::bounds::Bounds;
use makeready::geometry::mesh::Mesh;
use makeready::geometry::read;
use serde_json::Value;

/// The modulus of the truths, MPa.
pub const MODULUS: f64 = 3300.0;

/// A body of the truths.
pub struct Body {
    pub mesh: Mesh,
    pub holds: Vec<Hold>,
    pub loads: Vec<Load>,
    pub results: Value,
    /// Whether its buckling factor counts.
    pub slender: bool,
    off: [f64; 2],
}

impl Body {
    pub fn read(folder: &std::path::Path, name: &str, entry: &Value) -> Self {
        let list = |k: &str| entry[k].as_array().unwrap().clone();
        let out = &entry["left_out"];
        let results = entry["results"].as_object().unwrap().values().next().unwrap().clone();
        Self {
            mesh: mesh(&folder.join(format!("{name}.stl"))),
            holds: list("holds").iter().map(hold).collect(),
            loads: list("loads").iter().map(load).collect(),
            slender: results["buckling_factor"]["counts"] == true,
            results,
            off: ["holds_mm", "re_entrant_edges_mm"].map(|k| out[k].as_f64().unwrap()),
        }
    }

    pub fn options(&self) -> Options<'static> {
        Options { off_holds_mm: self.off[0], off_edges_mm: self.off[1], buckling: self.slender, ..Options::default() }
    }
}

/// One figure beside its truth.
pub struct Compared {
    pub name: String,
    pub got: f64,
    pub coarse: f64,
    pub want: f64,
    /// What it is measured by, and how far it may be off in that.
    pub scale: f64,
    pub share: f64,
    pub at: Option<[f64; 3]>,
}

impl Compared {
    pub fn off(&self, value: f64) -> f64 {
        (value - self.want) / self.scale
    }

    pub fn is_near(&self) -> bool {
        self.off(self.got).abs() <= self.share
    }
}

/// Returns the settled figures of a truth beside those of a solution: displacement within 5 %, stresses within 10 % or 3 %
/// of the largest, the buckling factor of slender bodies within 10 %.
pub fn compare(body: &Body, s: &Solution) -> Vec<Compared> {
    let r = &body.results;
    let number = |v: &Value| v["value"].as_f64().or(v.as_f64()).unwrap();
    let mut out = Vec::new();
    let l = &s.loads[0];
    let (got, want) = match l.turn {
        Some(turn) => (turn, number(&r["twist_rad"])),
        None => (l.displacement, number(&r["displacement_mm"])),
    };
    let (value, coarse) = (got.value / MODULUS, got.coarse / MODULUS);
    out.push(Compared { name: "u".to_owned(), got: value, coarse, want, scale: want, share: 0.05, at: None });
    let largest = r["scale_MPa"].as_f64().unwrap();
    let mut figure = |name: String, got: Option<Figure>, truth: &Value| {
        if truth["settled"] == true {
            let want = number(truth).max(0.0);
            let (value, coarse) = got.map_or((0.0, 0.0), |g| (g.value.max(0.0), g.coarse.max(0.0)));
            out.push(Compared {
                name,
                got: value,
                coarse,
                want,
                scale: want.max(0.3 * largest),
                share: 0.1,
                at: got.map(|g| g.at),
            });
        }
    };
    figure("p".to_owned(), s.principal, &r["largest_principal_MPa"]);
    for (i, axis) in ["x", "y", "z"].iter().enumerate() {
        for (k, key) in ["across_MPa", "shear_MPa"].iter().enumerate() {
            figure(format!("{axis}{}", ["a", "s"][k]), s.layers[i][k], &r["layers"][axis][key]["1.0"]["away"]);
        }
    }
    if let (Some(b), Some(t), true) = (s.buckling, r["buckling_factor"]["value"].as_f64(), body.slender) {
        out.push(Compared {
            name: "b".to_owned(),
            got: b.value * MODULUS,
            coarse: b.coarse * MODULUS,
            want: t,
            scale: t,
            share: 0.1,
            at: None,
        });
    }
    out
}

fn vector(v: &Value) -> [f64; 3] {
    [0, 1, 2].map(|i| v[i].as_f64().unwrap())
}

fn boxed(v: &Value) -> Bounds {
    Bounds { min: vector(&v[0]), max: vector(&v[1]) }
}

/// Returns the region that an entry's `on` means.
fn region(on: &Value) -> Region {
    let (kind, v) = on.as_object().unwrap().iter().next().unwrap();
    let n = |k: &str| v[k].as_f64().unwrap();
    match kind.as_str() {
        "face" => {
            Region::Face { normal: vector(&v["normal"]), near: vector(&v["near"]), within: v.get("within").map(boxed) }
        }
        "patch" => Region::Disc { centre: vector(&v["centre"]), normal: vector(&v["normal"]), radius: n("radius") },
        "annulus" => Region::Annulus {
            centre: vector(&v["centre"]),
            normal: vector(&v["normal"]),
            inner: n("r_in"),
            outer: n("r_out"),
        },
        "rect" => Region::Polygon {
            corners: v["corners"].as_array().unwrap().iter().map(vector).collect(),
            normal: vector(&v["normal"]),
        },
        "cylinder" => Region::Cylinder {
            axis: vector(&v["axis"]),
            centre: vector(&v["centre"]),
            radius: n("radius"),
            inside: v["inside"].as_bool().unwrap(),
            half: v.get("half").map(vector),
            length: None,
        },
        "inner" => Region::Inner(boxed(&v["box"])),
        "several" => Region::Several(v.as_array().unwrap().iter().map(region).collect()),
        other => panic!("{other}"),
    }
}

fn load(l: &Value) -> Load {
    let on = region(&l["on"]);
    let kind = if let Some(p) = l.get("pressure_MPa") {
        LoadKind::Pressure { on, mpa: p.as_f64().unwrap() }
    } else if let Some(t) = l.get("torque_Nmm") {
        LoadKind::Torque { on, axis: vector(&l["axis"]), newton_mm: t.as_f64().unwrap() }
    } else if let Some(c) = l["on"].get("cylinder") {
        LoadKind::Pin { on, axis: vector(&c["axis"]), centre: vector(&c["centre"]), newtons: vector(&l["force_N"]) }
    } else {
        LoadKind::Force { on, newtons: vector(&l["force_N"]) }
    };
    Load { name: l["name"].as_str().unwrap().to_owned(), kind }
}

fn hold(h: &Value) -> Hold {
    let kind = if h["kind"] == "one-sided" { HoldKind::Resting } else { HoldKind::Bonded };
    Hold { name: h["kind"].as_str().unwrap().to_owned(), on: region(&h["on"]), kind }
}

fn mesh(path: &std::path::Path) -> Mesh {
    let bytes = std::fs::read(path).unwrap();
    read::read(&bytes, &path.to_string_lossy(), Some(read::LengthUnit::Millimetre)).unwrap().into_merged().unwrap()
}
