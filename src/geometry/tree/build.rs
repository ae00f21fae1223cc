//! Building the tree.

use rayon::prelude::*;

use super::{Box3, DEEPEST, LEAF, Node};

/// Bins along the longest side.
const BINS: usize = 16;
/// Nodes of more facets than this are built in two halves at once.
const SHARED: usize = 8192;
/// ... and of more than this, binned in several pieces at once, of this many facets each.
const PIECE: usize = 65_536;

/// A facet and its box.
#[derive(Debug, Clone, Copy)]
pub struct Item {
    pub around: Box3,
    pub facet: u32,
}

/// A part of the tree: made in one go, or a node over two parts.
enum Part {
    Whole(Vec<Node>),
    Over(Box<(Node, Part, Part)>),
}

/// Puts the items into tree order and returns the nodes, the root first; none for no items.
pub fn nodes(items: &mut [Item]) -> Vec<Node> {
    if items.is_empty() {
        return Vec::new();
    }
    let whole = around(items);
    let part = part(items, whole, 0, 0);
    if let Part::Whole(nodes) = part {
        return nodes;
    }
    let mut nodes = Vec::with_capacity(size(&part));
    nodes.push(Node { around: Box3::EMPTY, first: 0, count: 0 });
    lay_out(part, 0, &mut nodes);
    nodes
}

fn size(part: &Part) -> usize {
    match part {
        Part::Whole(nodes) => nodes.len(),
        Part::Over(node) => 1 + size(&node.1) + size(&node.2),
    }
}

/// Lays a part out with its root at `slot`, which is there already, and all else behind what is there.
fn lay_out(part: Part, slot: usize, nodes: &mut Vec<Node>) {
    match part {
        Part::Whole(own) => {
            // The root goes to its slot, all others move by the same number.
            let by = nodes.len() as u32 - 1;
            let moved = |n: &Node| Node { first: if n.count == 0 { n.first + by } else { n.first }, ..*n };
            let mut own = own.iter().map(moved);
            if let Some(root) = own.next() {
                nodes[slot] = root;
            }
            nodes.extend(own);
        }
        Part::Over(node) => {
            let (node, left, right) = *node;
            let first = nodes.len();
            nodes[slot] = Node { first: first as u32, ..node };
            nodes.extend([node, node]);
            lay_out(left, first, nodes);
            lay_out(right, first + 1, nodes);
        }
    }
}

fn part(items: &mut [Item], whole: Box3, first: u32, depth: usize) -> Part {
    if items.len() <= SHARED {
        let mut nodes = Vec::with_capacity(items.len());
        nodes.push(Node { around: whole, first, count: items.len() as u32 });
        grow(items, 0, depth, &mut nodes);
        return Part::Whole(nodes);
    }
    let (middle, [left, right]) = split(items, depth);
    let (before, after) = items.split_at_mut(middle);
    let (l, r) =
        rayon::join(|| part(before, left, first, depth + 1), || part(after, right, first + middle as u32, depth + 1));
    Part::Over(Box::new((Node { around: whole, first: 0, count: 0 }, l, r)))
}

/// Divides the leaf at `slot` until all leaves are small.
fn grow(items: &mut [Item], slot: usize, depth: usize, nodes: &mut Vec<Node>) {
    if items.len() <= LEAF {
        return;
    }
    let Node { around: whole, first, .. } = nodes[slot];
    let (middle, [left, right]) = split(items, depth);
    let next = nodes.len();
    nodes[slot] = Node { around: whole, first: next as u32, count: 0 };
    let (before, after) = items.split_at_mut(middle);
    nodes.push(Node { around: left, first, count: before.len() as u32 });
    nodes.push(Node { around: right, first: first + middle as u32, count: after.len() as u32 });
    grow(before, next, depth + 1, nodes);
    grow(after, next + 1, depth + 1, nodes);
}

fn around(items: &[Item]) -> Box3 {
    gathered(items, |item| item.around)
}

/// Returns the box around what each item contributes.
fn gathered(items: &[Item], of: impl Fn(&Item) -> Box3 + Sync) -> Box3 {
    let all = |items: &[Item]| {
        items.iter().fold(Box3::EMPTY, |mut all, item| {
            all.include(&of(item));
            all
        })
    };
    let both = |mut a: Box3, b: Box3| {
        a.include(&b);
        a
    };
    if items.len() <= PIECE { all(items) } else { items.par_chunks(PIECE).map(all).reduce(|| Box3::EMPTY, both) }
}

/// The facets whose centre lies in one bin.
#[derive(Debug, Clone, Copy)]
struct Bin {
    around: Box3,
    count: u32,
}

const NO_BINS: [Bin; BINS] = [Bin { around: Box3::EMPTY, count: 0 }; BINS];

/// Where along one axis the bins lie.
#[derive(Debug, Clone, Copy)]
struct Ruler {
    axis: usize,
    low: f32,
    scale: f32,
}

impl Ruler {
    #[inline]
    fn bin(&self, item: &Item) -> usize {
        // The cast holds what is below or above all bins, and what is no number, within them.
        (((item.around.middle(self.axis) - self.low) * self.scale) as usize).min(BINS - 1)
    }
}

/// Divides the items in two, neither empty; returns how many come first, and the two boxes.
fn split(items: &mut [Item], depth: usize) -> (usize, [Box3; 2]) {
    if let Some(ruler) = ruler(items).filter(|_| depth < DEEPEST / 2) {
        let bins = binned(items, ruler);
        if let Some((last, boxes)) = cheapest(&bins) {
            return (sort_out(items, |item| ruler.bin(item) <= last), boxes);
        }
    }
    // All in one place, or too deep: by number.
    let middle = items.len() / 2;
    let (before, after) = items.split_at(middle);
    (middle, [around(before), around(after)])
}

/// Lays bins along the longest side of the box around the centres; `None` where they all lie in one place.
fn ruler(items: &[Item]) -> Option<Ruler> {
    let middle = |item: &Item| {
        let middle = [0, 1, 2].map(|k| item.around.middle(k));
        Box3 { min: middle, max: middle }
    };
    let spread = gathered(items, middle);
    let length = [0, 1, 2].map(|k| spread.max[k] - spread.min[k]);
    let axis = (0..3).fold(0, |m, k| if length[k] > length[m] { k } else { m });
    let scale = BINS as f32 / length[axis];
    (length[axis] > 0.0 && scale.is_finite()).then_some(Ruler { axis, low: spread.min[axis], scale })
}

fn binned(items: &[Item], ruler: Ruler) -> [Bin; BINS] {
    let fill = |items: &[Item]| {
        let mut bins = NO_BINS;
        for item in items {
            let bin = &mut bins[ruler.bin(item)];
            bin.around.include(&item.around);
            bin.count += 1;
        }
        bins
    };
    let both = |mut a: [Bin; BINS], b: [Bin; BINS]| {
        for (a, b) in a.iter_mut().zip(b) {
            a.around.include(&b.around);
            a.count += b.count;
        }
        a
    };
    if items.len() <= PIECE { fill(items) } else { items.par_chunks(PIECE).map(fill).reduce(|| NO_BINS, both) }
}

/// Returns the last bin of the cheaper half of the cheapest division, and the boxes of both; `None` where all is in one
/// bin.
fn cheapest(bins: &[Bin; BINS]) -> Option<(usize, [Box3; 2])> {
    let mut behind = [(0.0_f32, Box3::EMPTY); BINS];
    let mut all = Bin { around: Box3::EMPTY, count: 0 };
    for i in (1..BINS).rev() {
        all.around.include(&bins[i].around);
        all.count += bins[i].count;
        let cost = if all.count > 0 { all.around.half_area() * all.count as f32 } else { f32::NAN };
        behind[i] = (cost, all.around);
    }
    let mut best: Option<(f32, usize, [Box3; 2])> = None;
    let mut before = Bin { around: Box3::EMPTY, count: 0 };
    for i in 0..BINS - 1 {
        before.around.include(&bins[i].around);
        before.count += bins[i].count;
        let (cost, after) = behind[i + 1];
        let cost = before.around.half_area() * before.count as f32 + cost;
        // Costs of nothing are no numbers, and no number is less.
        if before.count > 0 && !cost.is_nan() && best.is_none_or(|(least, ..)| cost < least) {
            best = Some((cost, i, [before.around, after]));
        }
    }
    best.map(|(_, last, boxes)| (last, boxes))
}

/// Brings the items for which `first` is true to the front; returns how many.
fn sort_out(items: &mut [Item], first: impl Fn(&Item) -> bool) -> usize {
    let (mut low, mut high) = (0, items.len());
    loop {
        while low < high && first(&items[low]) {
            low += 1;
        }
        while low < high && !first(&items[high - 1]) {
            high -= 1;
        }
        if low >= high {
            return low;
        }
        items.swap(low, high - 1);
        low += 1;
        high -= 1;
    }
}
