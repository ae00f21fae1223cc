//! How deep under its outlines a section lies: what of it is left inside a skin.

use super::nest::pairs;
use super::{Point2, Section};

/// About as many places a section is looked at.
const PLACES: f64 = 1500.0;
/// Rows at most, for a section that is next to nothing in a large box.
const ROWS: f64 = 4000.0;
/// By how much rows are turned out of a section's axes, radians: a row along a side would count all of it or none.
const TURN: f64 = 0.5;
/// A row's places are shifted against the row before by this part of their distance (the golden section: evenly, never twice alike).
const SHIFT: f64 = 0.618_033_988_749_895;

/// A section as places that stand for as much of its area each.
#[derive(Debug, Clone, PartialEq)]
pub struct Depths {
    /// How deep each lies, mm, and its squared distances from the principal axes, mm²: the deepest first.
    places: Vec<(f64, [f64; 2])>,
    /// The sums of those squares over the first places, none of them first: every build-up of every choice asks for one.
    sums: Vec<[f64; 2]>,
    /// Area of the section.
    pub area_mm2: f64,
    /// Length of its outlines, those of holes too.
    pub outline_mm: f64,
}

/// What of a section lies inside a skin, as shares of the whole.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Core {
    /// Of its area.
    pub area: f64,
    /// Of its second moments about its principal axes, those of the whole: the larger's axis first.
    pub bent: [f64; 2],
}

impl Core {
    /// Returns what it has of the bending about the axis it counts least for.
    pub fn least_bent(&self) -> f64 {
        self.bent[0].min(self.bent[1])
    }

    /// Returns what it has of the bending about the axis it counts most for.
    pub fn most_bent(&self) -> f64 {
        self.bent[0].max(self.bent[1])
    }
}

impl Depths {
    /// Looks at a section; `None` where it has no area.
    pub fn of(section: &Section) -> Option<Self> {
        let p = section.properties.as_ref()?;
        let (sin, cos) = p.principal_angle.sin_cos();
        let (s, c) = (p.principal_angle + TURN).sin_cos();
        let turned = |q: &Point2| {
            let [u, v] = [q[0] - p.centroid[0], q[1] - p.centroid[1]];
            [u * c + v * s, v * c - u * s]
        };
        let outlines: Vec<Vec<Point2>> = section.outlines().map(|o| o.iter().map(turned).collect()).collect();
        let sides: Vec<(Point2, Point2)> = outlines.iter().flat_map(|o| pairs(o)).collect();
        let ends = sides.iter().map(|(a, _)| a[1]);
        let (low, high) = ends.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), y| (l.min(y), h.max(y)));
        let step = (p.area_mm2 / PLACES).sqrt().max((high - low) / ROWS);
        if step <= 0.0 || !step.is_finite() {
            return None;
        }
        let rows = ((high - low) / step).floor() as usize + 1;
        let (mut places, measured) = (Vec::new(), Sides::of(&sides));
        for row in 0..rows {
            let y = low + (row as f64 + 0.5) * step;
            let shift = (row as f64 * SHIFT).fract();
            for (from, to) in spans(&sides, y) {
                let first = (from / step - shift).ceil();
                let along = (0..).map(|k| (first + f64::from(k) + shift) * step).take_while(|x| *x < to);
                places.extend(along.map(|x| {
                    let [u, v] = [x * c - y * s, x * s + y * c];
                    // Off the axis along the principal direction, and off the one across it.
                    let squares = [v * cos - u * sin, u * cos + v * sin].map(|d| d * d);
                    (deep(&measured, [x, y]), squares)
                }));
            }
        }
        places.sort_by(|a, b| b.0.total_cmp(&a.0));
        let mut sums = vec![[0.0; 2]];
        sums.extend(places.iter().scan([0.0; 2], |sum, (_, d)| {
            *sum = [sum[0] + d[0], sum[1] + d[1]];
            Some(*sum)
        }));
        let outline_mm = sides.iter().map(|(a, b)| (b[0] - a[0]).hypot(b[1] - a[1])).sum();
        (!places.is_empty()).then_some(Self { places, sums, area_mm2: p.area_mm2, outline_mm })
    }

    /// Returns what lies deeper than a skin so thick, mm.
    pub fn within(&self, skin_mm: f64) -> Core {
        let inside = self.places.partition_point(|(deep, _)| *deep > skin_mm);
        let [core, all] = [inside, self.places.len()].map(|n| self.sums.get(n).copied().unwrap_or_default());
        let bent = [0, 1].map(|axis| core[axis] / all[axis].max(f64::MIN_POSITIVE));
        Core { area: inside as f64 / self.places.len() as f64, bent }
    }

    /// Returns how deep it lies in the middle, mm.
    pub fn mean_mm(&self) -> f64 {
        self.places.iter().map(|(deep, _)| deep).sum::<f64>() / self.places.len() as f64
    }
}

/// Returns where a row lies within the outlines, from and to.
fn spans(sides: &[(Point2, Point2)], y: f64) -> Vec<(f64, f64)> {
    let crossing = |(a, b): &(Point2, Point2)| {
        ((a[1] > y) != (b[1] > y)).then(|| a[0] + (y - a[1]) / (b[1] - a[1]) * (b[0] - a[0]))
    };
    let mut at: Vec<f64> = sides.iter().filter_map(crossing).collect();
    at.sort_by(f64::total_cmp);
    at.as_chunks::<2>().0.iter().map(|&[from, to]| (from, to)).collect()
}

/// Sides that are measured to at once.
const SIDES: usize = 4;

/// Some sides: where each begins and where it goes, and what a projection on it is multiplied by.
struct Sides {
    from: [[f64; SIDES]; 2],
    along: [[f64; SIDES]; 2],
    over: [f64; SIDES],
}

impl Sides {
    /// Takes sides in their order; the last is there more than once where they do not come out even.
    fn of(sides: &[(Point2, Point2)]) -> Vec<Self> {
        let of = |few: &[(Point2, Point2)]| {
            let mut all = Self { from: [[0.0; SIDES]; 2], along: [[0.0; SIDES]; 2], over: [0.0; SIDES] };
            for k in 0..SIDES {
                let Some((a, b)) = few.get(k).or(few.last()) else { continue };
                let d = [b[0] - a[0], b[1] - a[1]];
                let long = d[0] * d[0] + d[1] * d[1];
                for axis in 0..2 {
                    (all.from[axis][k], all.along[axis][k]) = (a[axis], d[axis]);
                }
                all.over[k] = if long > 0.0 { 1.0 / long } else { 0.0 };
            }
            all
        };
        sides.chunks(SIDES).map(of).collect()
    }
}

/// Returns how far a place is from the nearest side.
fn deep(sides: &[Sides], p: Point2) -> f64 {
    let mut least = [f64::INFINITY; SIDES];
    for Sides { from, along, over } in sides {
        for k in 0..SIDES {
            let q = [p[0] - from[0][k], p[1] - from[1][k]];
            let t = ((q[0] * along[0][k] + q[1] * along[1][k]) * over[k]).clamp(0.0, 1.0);
            let [x, y] = [q[0] - t * along[0][k], q[1] - t * along[1][k]];
            let square = x * x + y * y;
            least[k] = if square < least[k] { square } else { least[k] };
        }
    }
    least.into_iter().fold(f64::INFINITY, f64::min).sqrt()
}

#[cfg(test)]
mod tests {
    use super::super::properties::SectionProperties;
    use super::super::{Frame, Region};
    use super::*;

    fn depths(outer: Vec<Point2>, holes: Vec<Vec<Point2>>) -> Depths {
        let frame = Frame::new([0.0; 3], [0.0, 0.0, 1.0]).expect("a frame");
        let regions = vec![Region { outer, holes }];
        let mut s = Section { frame, regions, open_outlines: 0, uneven: false, properties: None };
        s.properties = SectionProperties::of(&s);
        Depths::of(&s).expect("an area")
    }

    fn turned(points: &[Point2], by: f64) -> Vec<Point2> {
        let (s, c) = by.sin_cos();
        points.iter().map(|[x, y]| [x * c - y * s + 100.0, x * s + y * c - 40.0]).collect()
    }

    fn round(radius: f64, way: f64) -> Vec<Point2> {
        (0..96)
            .map(|k| f64::from(k) * way * std::f64::consts::TAU / 96.0)
            .map(|a| [radius * a.cos(), radius * a.sin()])
            .collect()
    }

    fn near(found: f64, truth: f64, what: &str) {
        assert!((found - truth).abs() < 0.01, "{what}: {found}, by hand {truth}");
    }

    // b - 2t and h - 2t, however it lies.
    #[test]
    fn a_rectangle_has_a_rectangle_within() {
        let sides = [[0.0, 0.0], [20.0, 0.0], [20.0, 10.0], [0.0, 10.0]];
        for by in [0.0, 0.3, 0.8, 1.2, 2.0] {
            let found = depths(turned(&sides, by), Vec::new());
            near(found.outline_mm / 60.0, 1.0, "outline");
            for t in [0.0, 0.4, 1.2, 3.0, 6.0_f64] {
                let (b, h) = ((20.0 - 2.0 * t).max(0.0), (10.0 - 2.0 * t).max(0.0));
                let core = found.within(t);
                near(core.area, b * h / 200.0, "area");
                near(core.bent[0], h * b.powi(3) / (10.0 * 8000.0), "about the larger");
                near(core.bent[1], b * h.powi(3) / (20.0 * 1000.0), "about the smaller");
            }
        }
    }

    #[test]
    fn a_tube_has_a_tube_within() {
        let found = depths(round(10.0, 1.0), vec![round(6.0, -1.0)]);
        let core = found.within(1.2);
        near(core.area, (8.8_f64.powi(2) - 7.2_f64.powi(2)) / 64.0, "area");
        let bent = (8.8_f64.powi(4) - 7.2_f64.powi(4)) / (10.0_f64.powi(4) - 6.0_f64.powi(4));
        core.bent.iter().for_each(|share| near(*share, bent, "bent"));
    }

    // A block of 20 by 20 with a fin of 1 mm and 40 mm: nothing of the fin is left, nor does it take from the block.
    #[test]
    fn what_is_thinner_than_two_skins_is_all_skin() {
        let comb = vec![
            [0.0, 0.0],
            [20.0, 0.0],
            [20.0, 20.0],
            [10.0, 20.0],
            [10.0, 60.0],
            [9.0, 60.0],
            [9.0, 20.0],
            [0.0, 20.0],
        ];
        let found = depths(comb, Vec::new());
        // Under the fin's foot no outline is: what that leaves more is 0.03 mm².
        near(found.within(1.2).area, 17.6 * 17.6 / 440.0, "area");
    }
}
