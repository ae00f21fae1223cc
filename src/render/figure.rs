//! The picture of a part as it lies on the bed, as SVG from plain drawing data.
//!
//! Black on white, so that it survives a copier: line weight tells outline from edge, dashes tell hidden from seen,
//! hatching tells what is to be supported. Numbers have fixed decimals; the same data gives the same bytes.

use std::fmt::Write;

mod hatch;
mod layout;

use layout::{Frame, Placed};

/// A point of the drawing plane, in millimetres of the part: x to the right, y upward.
pub type Point = [f64; 2];

/// What is to be drawn; the geometry has already projected it and told seen from hidden.
#[derive(Debug, Clone, Default)]
pub struct Figure {
    pub title: String,
    /// The part's outer contour in this view: the heaviest line.
    pub outline: Vec<Vec<Point>>,
    pub visible: Vec<Vec<Point>>,
    pub hidden: Vec<Vec<Point>>,
    pub regions: Vec<Region>,
    /// Names of features and faces, each with a leader to its place.
    pub callouts: Vec<Callout>,
    pub arrows: Vec<Arrow>,
    /// The bed, seen from the side: its left and right end.
    pub bed: Option<[Point; 2]>,
    /// The bed, seen from above aslant: its corners in order around.
    pub floor: Option<[Point; 4]>,
    /// The first layer from above.
    pub inset: Option<Inset>,
    /// The whole bed from above, with what lies on it.
    pub plate: Option<Plate>,
    /// Squares in shades of grey, beneath the lines.
    pub shades: Vec<Shade>,
    /// Outlines elsewhere than they are: dashed.
    pub moved: Vec<Vec<Point>>,
    /// What holds the part, seen on edge: the two ends, and a place on the part's side.
    pub ground: Vec<[Point; 3]>,
    /// What the shades mean.
    pub key: Vec<Key>,
    /// Another drawing, beneath this one.
    pub below: Option<Box<Figure>>,
}

/// Squares in one shade of grey: the lower left and the upper right corner of each.
#[derive(Debug, Clone)]
pub struct Shade {
    /// 0 for white, up to 5.
    pub shade: usize,
    pub squares: Vec<[Point; 2]>,
}

/// What a shade means.
#[derive(Debug, Clone)]
pub struct Key {
    pub shade: usize,
    pub text: String,
}

/// A bed from above; all in millimetres of the bed, from its front left corner.
#[derive(Debug, Clone, Default)]
pub struct Plate {
    /// Above the bed.
    pub title: String,
    /// Below it: what lies on it.
    pub note: String,
    pub bed: Point,
    /// What is left free at the edges.
    pub edge: f64,
    /// Outlines of the pieces.
    pub pieces: Vec<Vec<Point>>,
    /// Outlines of the brims about them.
    pub brims: Vec<Vec<Point>>,
}

/// A region of the surface that a layer cannot rest on by itself.
#[derive(Debug, Clone)]
pub struct Region {
    pub kind: RegionKind,
    /// Outer rings and holes, even-odd, to be hatched here.
    pub rings: Vec<Vec<Point>>,
    /// Hatching already made, where the region's outline is not known in this view.
    pub strokes: Vec<[Point; 2]>,
    /// The same where the part itself stands before it.
    pub hidden_strokes: Vec<[Point; 2]>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum RegionKind {
    /// Gets support.
    Support,
    /// Spans between two banks without support.
    Bridge,
    /// Would need support that cannot come out again.
    Trapped,
}

impl RegionKind {
    const ALL: [Self; 3] = [Self::Support, Self::Bridge, Self::Trapped];

    fn words(self) -> &'static str {
        match self {
            Self::Support => "supported",
            Self::Bridge => "bridged, no support",
            Self::Trapped => "support could not come out",
        }
    }
}

#[derive(Debug, Clone)]
pub struct Callout {
    pub text: String,
    pub at: Point,
}

/// A load: the arrow points the way it pushes, its head at the place it acts.
#[derive(Debug, Clone)]
pub struct Arrow {
    pub text: String,
    pub tail: Point,
    pub head: Point,
}

#[derive(Debug, Clone, Default)]
pub struct Inset {
    pub title: String,
    pub rings: Vec<Vec<Point>>,
}

const STYLE: &str = "\
path{fill:none;stroke:#000;stroke-linecap:round;stroke-linejoin:round}\
.o{stroke-width:.6}.v{stroke-width:.3}.h{stroke-width:.2;stroke-dasharray:1.4 1}.x{stroke-width:.18}\
.b{stroke-width:.9}.l{stroke-width:.15}.d{stroke-width:.3;stroke-dasharray:.01 1.1}.y{stroke-width:.16;stroke-dasharray:.5 .7}.a{stroke-width:.7}.f{fill:#000;stroke:none}\
.q0{fill:#fff;stroke:none}.q1{fill:#e6e6e6;stroke:none}.q2{fill:#cdcdcd;stroke:none}.q3{fill:#b0b0b0;stroke:none}.q4{fill:#919191;stroke:none}.q5{fill:#6e6e6e;stroke:none}\
.m{stroke-width:.35;stroke-dasharray:2 1.2}\
text{font:3.1px sans-serif;fill:#000}.s{font-size:2.7px}.g{stroke:#fff;stroke-width:1.1;stroke-linejoin:round}";

/// Returns the figure as one SVG file, 180 mm wide.
pub fn svg(figure: &Figure) -> String {
    let (mut body, mut height, mut title) = drawn(figure);
    let mut below = figure.below.as_deref();
    while let Some(next) = below {
        let (more, taller, said) = drawn(next);
        let _ = writeln!(body, "<g transform=\"translate(0 {height:.0})\">");
        push_text(&mut body, [layout::EDGE, layout::EDGE + 1.0], "start", "", &said);
        let _ = writeln!(body, "{more}</g>");
        (height, below) = (height + taller, next.below.as_deref());
        title = format!("{title}; {said}");
    }
    let (w, h) = (layout::WIDTH, height);
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{w:.0}mm\" height=\"{h:.0}mm\" viewBox=\"0 0 {w:.0} {h:.0}\" \
         role=\"img\">\n<title>{}</title>\n<style>{STYLE}</style>\n\
         <rect width=\"{w:.0}\" height=\"{h:.0}\" fill=\"#fff\"/>\n{body}</svg>\n",
        escaped(&title)
    )
}

/// Returns one drawing, how high it is, and what it is called.
fn drawn(figure: &Figure) -> (String, f64, String) {
    let figure = finite(figure);
    let frame = Frame::around(&figure);
    let mut body = String::new();
    push_shades(&mut body, &figure, &frame);
    push_floor(&mut body, &figure, &frame);
    push_regions(&mut body, &figure, &frame);
    push_lines(&mut body, "h", &figure.hidden, &frame);
    push_lines(&mut body, "v", &figure.visible, &frame);
    push_lines(&mut body, "o", &figure.outline, &frame);
    push_lines(&mut body, "m", &figure.moved, &frame);
    push_ground(&mut body, &figure, &frame);
    push_bed(&mut body, &figure, &frame);
    figure.arrows.iter().for_each(|a| push_arrow(&mut body, a, &frame));
    frame.place(&figure.callouts).iter().for_each(|p| push_callout(&mut body, p));
    push_foot(&mut body, &figure, &frame);
    (body, frame.height().round(), figure.title)
}

/// Shades lie beneath all lines; those of one kind are one path.
fn push_shades(out: &mut String, figure: &Figure, frame: &Frame) {
    for shade in &figure.shades {
        let mut path = String::new();
        for [low, high] in &shade.squares {
            let ([x, y], [right, top]) = (frame.on_paper(*low), frame.on_paper(*high));
            let _ = write!(path, "M{:.1} {:.1}H{:.1}V{:.1}H{:.1}Z", x, top, right, y, x);
        }
        push_path(out, &format!("q{}", shade.shade), &path);
    }
}

/// What holds the part, with short strokes on the side away from it: the sign for firm ground.
fn push_ground(out: &mut String, figure: &Figure, frame: &Frame) {
    for [a, b, body] in &figure.ground {
        let [a, b, body] = [a, b, body].map(|p| frame.on_paper(*p));
        let (dx, dy) = (b[0] - a[0], b[1] - a[1]);
        let long = dx.hypot(dy);
        if long < 1.0 {
            continue;
        }
        let side = [-dy / long, dx / long];
        let toward = (body[0] - a[0]) * side[0] + (body[1] - a[1]) * side[1];
        let away = side.map(|c| if toward > 0.0 { -c } else { c });
        push_path(out, "b", &trace(&[a, b], |p| p));
        let count = (long / 3.0).clamp(1.0, 60.0) as usize;
        let strokes: String = (0..count)
            .map(|i| {
                let t = (i as f64 + 0.8) / count as f64;
                let from = [a[0] + t * dx, a[1] + t * dy];
                let slant = [from[0] + 2.0 * away[0] - 1.2 * dx / long, from[1] + 2.0 * away[1] - 1.2 * dy / long];
                trace(&[from, slant], |p| p)
            })
            .collect();
        push_path(out, "x", &strokes);
    }
}

/// Leaves out what has no place on paper: points that are no numbers, and lines without length.
fn finite(figure: &Figure) -> Figure {
    let fine = |p: &Point| p.iter().all(|x| x.is_finite() && x.abs() < 1e7);
    let lines = |all: &[Vec<Point>], least: usize| -> Vec<Vec<Point>> {
        all.iter().filter(|l| l.len() >= least && l.iter().all(fine)).cloned().collect()
    };
    let strokes = |all: &[[Point; 2]]| all.iter().filter(|s| s.iter().all(fine)).copied().collect();
    Figure {
        title: figure.title.clone(),
        outline: lines(&figure.outline, 2),
        visible: lines(&figure.visible, 2),
        hidden: lines(&figure.hidden, 2),
        regions: figure
            .regions
            .iter()
            .map(|r| Region {
                kind: r.kind,
                rings: lines(&r.rings, 3),
                strokes: strokes(&r.strokes),
                hidden_strokes: strokes(&r.hidden_strokes),
            })
            .collect(),
        callouts: figure.callouts.iter().filter(|c| fine(&c.at)).cloned().collect(),
        arrows: figure.arrows.iter().filter(|a| fine(&a.tail) && fine(&a.head)).cloned().collect(),
        floor: figure.floor.filter(|f| f.iter().flatten().all(|c| c.is_finite())),
        bed: figure.bed.filter(|b| b.iter().all(fine)),
        inset: figure.inset.as_ref().map(|i| Inset { title: i.title.clone(), rings: lines(&i.rings, 3) }),
        plate: figure.plate.as_ref().filter(|p| fine(&p.bed) && p.bed.iter().all(|side| *side > 0.0)).map(|p| Plate {
            title: p.title.clone(),
            note: p.note.clone(),
            bed: p.bed,
            edge: p.edge,
            pieces: lines(&p.pieces, 3),
            brims: lines(&p.brims, 3),
        }),
        shades: (figure.shades.iter())
            .map(|s| Shade {
                shade: s.shade,
                squares: s.squares.iter().filter(|q| q.iter().all(fine)).copied().collect(),
            })
            .collect(),
        moved: lines(&figure.moved, 2),
        ground: figure.ground.iter().filter(|g| g.iter().all(fine)).copied().collect(),
        key: figure.key.clone(),
        below: None,
    }
}

/// The bed seen from above, dotted: it passes beneath the part, and a drawn line would seem to cut it.
fn push_floor(out: &mut String, figure: &Figure, frame: &Frame) {
    let Some(corners) = figure.floor else { return };
    let mut on_paper = corners.map(|p| frame.on_paper(p)).to_vec();
    on_paper.extend(on_paper.first().copied());
    push_path(out, "d", &trace(&on_paper, |p| p));
    if let Some(lowest) = on_paper.iter().copied().max_by(|a, b| a[1].total_cmp(&b[1])) {
        push_text(out, [lowest[0], lowest[1] + 3.2], "middle", "s", "bed");
    }
}

fn push_lines(out: &mut String, class: &str, lines: &[Vec<Point>], frame: &Frame) {
    let path: String = lines.iter().map(|l| trace(l, |p| frame.on_paper(p))).collect();
    push_path(out, class, &path);
}

fn push_path(out: &mut String, class: &str, path: &str) {
    if !path.is_empty() {
        let _ = writeln!(out, "<path class=\"{class}\" d=\"{path}\"/>");
    }
}

fn trace(line: &[Point], place: impl Fn(Point) -> Point) -> String {
    let mut path = String::new();
    for (i, p) in line.iter().enumerate() {
        let [x, y] = place(*p);
        let _ = write!(path, "{}{} {}", if i == 0 { "M" } else { "L" }, number(x), number(y));
    }
    path
}

/// A hundredth of a millimetre on paper is finer than any printer; `+ 0.0` turns a negative zero into a plain one.
fn number(x: f64) -> String {
    let rounded = (x * 100.0).round() / 100.0 + 0.0;
    format!("{rounded:.2}")
}

fn push_regions(out: &mut String, figure: &Figure, frame: &Frame) {
    for kind in RegionKind::ALL {
        let (mut path, mut behind) = (String::new(), String::new());
        for region in figure.regions.iter().filter(|r| r.kind == kind) {
            let rings: Vec<Vec<Point>> =
                region.rings.iter().map(|r| r.iter().map(|p| frame.on_paper(*p)).collect()).collect();
            path.push_str(&hatched(&rings, kind));
            region.strokes.iter().for_each(|s| path.push_str(&trace(s, |p| frame.on_paper(p))));
            region.hidden_strokes.iter().for_each(|s| behind.push_str(&trace(s, |p| frame.on_paper(p))));
        }
        push_path(out, "y", &behind);
        push_path(out, "x", &path);
    }
}

fn hatched(rings: &[Vec<Point>], kind: RegionKind) -> String {
    let strokes = match kind {
        RegionKind::Support => hatch::strokes(rings, 45.0, 1.5),
        RegionKind::Bridge => hatch::strokes(rings, 0.0, 1.5),
        RegionKind::Trapped => [hatch::strokes(rings, 45.0, 1.5), hatch::strokes(rings, -45.0, 1.5)].concat(),
    };
    let border: Vec<Vec<Point>> = rings.iter().map(|r| r.iter().chain(r.first()).copied().collect()).collect();
    strokes.iter().map(|s| trace(s, |p| p)).chain(border.iter().map(|b| trace(b, |p| p))).collect()
}

fn push_bed(out: &mut String, figure: &Figure, frame: &Frame) {
    let Some([left, right]) = figure.bed else { return };
    let (a, b) = (frame.on_paper(left), frame.on_paper(right));
    push_path(out, "b", &trace(&[a, b], |p| p));
    // Short strokes beneath: the sign for firm ground.
    let count = ((b[0] - a[0]) / 3.0).clamp(0.0, 120.0) as usize;
    let strokes: String = (0..count)
        .map(|i| {
            let x = a[0] + 3.0 * (i as f64 + 0.8);
            trace(&[[x, a[1]], [x - 1.6, a[1] + 1.8]], |p| p)
        })
        .collect();
    push_path(out, "x", &strokes);
}

fn push_arrow(out: &mut String, arrow: &Arrow, frame: &Frame) {
    let (tail, head) = (frame.on_paper(arrow.tail), frame.on_paper(arrow.head));
    let along = [head[0] - tail[0], head[1] - tail[1]];
    let length = (along[0] * along[0] + along[1] * along[1]).sqrt();
    if length < 0.5 {
        return;
    }
    let unit = along.map(|x| x / length);
    let neck = [head[0] - 3.2 * unit[0], head[1] - 3.2 * unit[1]];
    let side = [-unit[1] * 1.2, unit[0] * 1.2];
    let barbs = [[neck[0] + side[0], neck[1] + side[1]], head, [neck[0] - side[0], neck[1] - side[1]]];
    push_path(out, "a", &trace(&[tail, neck], |p| p));
    push_path(out, "f", &(trace(&barbs, |p| p) + "Z"));
    let anchor = if unit[0] > 0.3 {
        "end"
    } else if unit[0] < -0.3 {
        "start"
    } else {
        "middle"
    };
    let at = [tail[0] - 1.5 * unit[0], tail[1] - 2.0 * unit[1] + if unit[1] < 0.0 { 2.2 } else { 0.0 }];
    // Once in broad white strokes, so that the lines beneath do not run through the words.
    push_text(out, at, anchor, "g", &arrow.text);
    push_text(out, at, anchor, "", &arrow.text);
}

fn push_callout(out: &mut String, p: &Placed) {
    push_path(out, "l", &trace(&[p.leader_from, p.at], |q| q));
    let _ = writeln!(out, "<circle cx=\"{}\" cy=\"{}\" r=\".55\"/>", number(p.at[0]), number(p.at[1]));
    for (i, line) in p.lines.iter().enumerate() {
        let y = p.text_at[1] + layout::LINE * i as f64;
        push_text(out, [p.text_at[0], y], if p.left { "end" } else { "start" }, "", line);
    }
}

/// Below the drawing: what the hatching means, the scale, and the first layer from above.
fn push_foot(out: &mut String, figure: &Figure, frame: &Frame) {
    let mut y = frame.foot();
    let x = layout::EDGE;
    for kind in RegionKind::ALL.into_iter().filter(|k| figure.regions.iter().any(|r| r.kind == *k)) {
        let swatch = vec![[x, y], [x + 8.0, y], [x + 8.0, y + 4.0], [x, y + 4.0]];
        push_path(out, "x", &hatched(&[swatch], kind));
        push_text(out, [x + 10.0, y + 3.1], "start", "s", kind.words());
        y += 6.0;
    }
    for key in &figure.key {
        let swatch = [[x, y], [x + 8.0, y], [x + 8.0, y + 4.0], [x, y + 4.0]];
        push_path(out, &format!("q{}", key.shade), &(trace(&swatch, |p| p) + "Z"));
        push_path(out, "l", &(trace(&swatch, |p| p) + "Z"));
        push_text(out, [x + 10.0, y + 3.1], "start", "s", &key.text);
        y += 4.6;
    }
    let (length, label) = frame.scale_bar();
    let ends = [[x, y + 3.0], [x + length, y + 3.0]];
    let ticks: String = ends.iter().map(|e| trace(&[[e[0], e[1] - 1.2], [e[0], e[1] + 1.2]], |p| p)).collect();
    push_path(out, "v", &(trace(&ends, |p| p) + &ticks));
    push_text(out, [x + length + 2.0, y + 4.0], "start", "s", &label);
    if let Some(plate) = &figure.plate {
        push_plate(out, plate, frame.foot());
    }
    if let Some(inset) = figure.inset.as_ref().filter(|i| !i.rings.is_empty()) {
        push_inset(out, inset, frame.foot());
    }
}

fn push_inset(out: &mut String, inset: &Inset, top: f64) {
    let box_ = layout::inset_box(top);
    let place = layout::fitted(&inset.rings, box_);
    let rings: Vec<Vec<Point>> = inset.rings.iter().map(|r| r.iter().map(|p| place(*p)).collect()).collect();
    let fill: String = rings.iter().map(|r| trace(r, |p| p) + "Z").collect();
    let _ =
        writeln!(out, "<path d=\"{fill}\" style=\"fill:#000;fill-opacity:.12;fill-rule:evenodd;stroke-width:.3\"/>");
    push_text(out, [box_[0], box_[1] - 1.2], "start", "s", &inset.title);
}

/// The bed and what lies on it; brims are dashed, and so is what is left free at the edges.
fn push_plate(out: &mut String, plate: &Plate, top: f64) {
    let box_ = layout::plate_box(top);
    let corners = |inset: f64| {
        let [x, y] = plate.bed;
        vec![[inset, inset], [x - inset, inset], [x - inset, y - inset], [inset, y - inset]]
    };
    let bed = vec![corners(0.0)];
    let place = layout::fitted(&bed, box_);
    let drawn = |rings: &[Vec<Point>]| -> String { rings.iter().map(|r| trace(r, &place) + "Z").collect() };
    push_path(out, "v", &drawn(&bed));
    if plate.edge > 0.0 && 2.0 * plate.edge < plate.bed[0].min(plate.bed[1]) {
        push_path(out, "y", &drawn(&[corners(plate.edge)]));
    }
    push_path(out, "y", &drawn(&plate.brims));
    push_path(out, "v", &drawn(&plate.pieces));
    push_text(out, [box_[0], box_[1] - 1.2], "start", "s", &plate.title);
    push_text(out, [box_[0], box_[3] + 3.0], "start", "s", &plate.note);
}

fn push_text(out: &mut String, at: Point, anchor: &str, class: &str, text: &str) {
    if text.is_empty() {
        return;
    }
    let class = if class.is_empty() { String::new() } else { format!(" class=\"{class}\"") };
    let (x, y, text) = (number(at[0]), number(at[1]), escaped(text));
    let _ = writeln!(out, "<text x=\"{x}\" y=\"{y}\" text-anchor=\"{anchor}\"{class}>{text}</text>");
}

fn escaped(text: &str) -> String {
    let clean: String = text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect();
    clean.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// A box of 40 x 30 x 20 mm in a simple oblique view, with a hidden corner, a supported ledge and a load.
    pub(crate) fn boxed() -> Figure {
        let (d, e) = (12.0, 9.0);
        Figure {
            title: "box <1> & load".to_owned(),
            outline: vec![vec![
                [0.0, 0.0],
                [40.0, 0.0],
                [40.0 + d, e],
                [40.0 + d, 20.0 + e],
                [d, 20.0 + e],
                [0.0, 20.0],
                [0.0, 0.0],
            ]],
            visible: vec![vec![[0.0, 20.0], [40.0, 20.0], [40.0, 0.0]], vec![[40.0, 20.0], [40.0 + d, 20.0 + e]]],
            hidden: vec![vec![[0.0, 0.0], [d, e], [40.0 + d, e]], vec![[d, e], [d, 20.0 + e]]],
            regions: vec![
                Region {
                    strokes: Vec::new(),
                    hidden_strokes: Vec::new(),
                    kind: RegionKind::Support,
                    rings: vec![vec![[5.0, 5.0], [20.0, 5.0], [20.0, 12.0], [5.0, 12.0]]],
                },
                Region {
                    kind: RegionKind::Trapped,
                    rings: vec![vec![[25.0, 5.0], [35.0, 5.0], [30.0, 14.0]]],
                    strokes: Vec::new(),
                    hidden_strokes: Vec::new(),
                },
            ],
            callouts: vec![
                Callout { text: "face front".to_owned(), at: [2.0, 16.0] },
                Callout { text: "hole 1: d 4.50, through, for the screws of the wall".to_owned(), at: [38.0, 15.0] },
                Callout { text: "seat".to_owned(), at: [39.0, 14.5] },
            ],
            arrows: vec![Arrow { text: "gust 140 N".to_owned(), tail: [26.0, 42.0], head: [26.0, 25.0] }],
            floor: None,
            bed: Some([[-8.0, 0.0], [60.0, 0.0]]),
            plate: Some(Plate {
                title: "bed".to_owned(),
                note: "one on it".to_owned(),
                bed: [200.0, 100.0],
                edge: 5.0,
                pieces: vec![vec![[10.0, 10.0], [50.0, 10.0], [50.0, 40.0], [10.0, 40.0]]],
                brims: vec![],
            }),
            inset: Some(Inset {
                title: "first layer, from above".to_owned(),
                rings: vec![
                    vec![[0.0, 0.0], [40.0, 0.0], [40.0, 30.0], [0.0, 30.0]],
                    vec![[10.0, 10.0], [20.0, 10.0], [20.0, 20.0], [10.0, 20.0]],
                ],
            }),
            ..Figure::default()
        }
    }

    #[test]
    fn a_box_is_drawn() {
        insta::assert_snapshot!(svg(&boxed()));
    }

    #[test]
    fn the_file_is_well_formed_and_same_each_time() {
        let text = svg(&boxed());
        assert_eq!(text, svg(&boxed()));
        let mut reader = quick_xml::Reader::from_str(&text);
        let mut elements = 0;
        loop {
            match reader.read_event().unwrap() {
                quick_xml::events::Event::Eof => break,
                quick_xml::events::Event::Start(_) | quick_xml::events::Event::Empty(_) => elements += 1,
                _ => {}
            }
        }
        assert!(elements > 20);
    }

    #[test]
    fn labels_of_one_side_do_not_overlap() {
        let figure = boxed();
        let frame = Frame::around(&figure);
        let placed = frame.place(&figure.callouts);
        for left in [true, false] {
            let mut spans: Vec<(f64, f64)> = placed
                .iter()
                .filter(|p| p.left == left)
                .map(|p| (p.text_at[1], p.text_at[1] + layout::LINE * p.lines.len() as f64))
                .collect();
            spans.sort_by(|a, b| a.0.total_cmp(&b.0));
            assert!(spans.windows(2).all(|w| w[0].1 <= w[1].0 + 1e-9), "{spans:?}");
        }
    }

    proptest! {
        /// Whatever the numbers, the page stays a page: no panic, no `NaN`, a bounded size.
        #[test]
        fn no_numbers_break_the_page(
            points in prop::collection::vec((any::<f64>(), any::<f64>()), 0..8),
            text in "\\PC{0,40}",
        ) {
            let line: Vec<Point> = points.iter().map(|(x, y)| [*x, *y]).collect();
            let at = line.first().copied().unwrap_or([0.0, 0.0]);
            let figure = Figure {
                title: text.clone(),
                outline: vec![line.clone()],
                visible: vec![line.clone()],
                regions: vec![Region { kind: RegionKind::Trapped, rings: vec![line.clone()], strokes: Vec::new(), hidden_strokes: vec![[at, at]] }],
                callouts: vec![Callout { text: text.clone(), at }],
                arrows: vec![Arrow { text: text.clone(), tail: at, head: [0.0, 0.0] }],
                floor: Some([at, [1.0, 0.0], at, [0.0, 1.0]]),
                bed: Some([at, [1.0, 0.0]]),
                inset: Some(Inset { title: text, rings: vec![line] }),
                ..Figure::default()
            };
            let out = svg(&figure);
            prop_assert!(!out.contains("NaN") && !out.contains("inf"));
            prop_assert!(out.len() < 200_000);
        }
    }
}
