//! In which order to decide: a tree, such that decisions no constraint joins stand on different branches.
//!
//! Once the printer and the material are chosen, say, no rule speaks of the surface and the pose together: the best surface
//! and the best pose can then be looked for one after the other instead of every surface with every pose.

/// One decision, made when all above it are.
#[derive(Debug)]
pub(super) struct Node {
    /// Counts the nodes of all trees planted together.
    pub id: usize,
    pub decision: usize,
    /// Groups of constraints that can be asked once this decision is made too.
    pub due: Vec<usize>,
    /// What is decided next, each independently of the others.
    pub below: Vec<Node>,
    /// All decisions made here and below, ascending.
    pub all: Vec<usize>,
}

/// Makes the trees for decisions with so many values left each; `groups` are the decisions each wider group touches, in
/// the order in which they are to be asked.
pub(super) fn plant(counts: &[usize], groups: &[(usize, &[usize])]) -> Vec<Node> {
    let masks: Vec<u64> = groups.iter().map(|(_, touched)| touched.iter().fold(0, |m, &d| m | bit(d))).collect();
    let every = (0..counts.len()).fold(0, |m, d| m | bit(d));
    let mut trees = Planter { counts, groups, masks: &masks }.nodes(every, 0);
    number(&mut trees, 0);
    trees
}

/// Gives each node its number, from `next` on; returns the number after the last.
fn number(nodes: &mut [Node], next: usize) -> usize {
    nodes.iter_mut().fold(next, |next, node| {
        node.id = next;
        number(&mut node.below, next + 1)
    })
}

/// Decisions beyond the 63rd share a bit: they are then never held to be independent, and groups are asked late, not wrongly.
fn bit(decision: usize) -> u64 {
    1 << decision.min(63)
}

struct Planter<'p> {
    counts: &'p [usize],
    groups: &'p [(usize, &'p [usize])],
    masks: &'p [u64],
}

impl Planter<'_> {
    fn decisions(&self, set: u64) -> impl Iterator<Item = usize> + use<> {
        (0..self.counts.len()).filter(move |&d| set & bit(d) != 0)
    }

    /// Splits a set of open decisions into those that constraints join, in the order of their first decision.
    fn parts(&self, set: u64) -> Vec<u64> {
        let mut left = set;
        let mut parts = Vec::new();
        while left != 0 {
            let mut part = left & left.wrapping_neg();
            loop {
                let joined = self.masks.iter().filter(|m| *m & part != 0).fold(part, |sum, m| sum | (m & set));
                if joined == part {
                    break;
                }
                part = joined;
            }
            parts.push(part);
            left &= !part;
        }
        parts
    }

    /// Returns which of a joined set to decide first: the one that leaves the least to look at, were all that stays joined
    /// looked at in every combination. Of equally good ones the smallest: it fails soonest.
    fn first(&self, set: u64) -> usize {
        let product = |part: u64| self.decisions(part).map(|d| self.counts[d] as f64).product::<f64>();
        let steps = |d: usize| -> f64 {
            let below: f64 = self.parts(set & !bit(d)).into_iter().map(product).sum();
            self.counts[d] as f64 * (1.0 + below)
        };
        let all = self.decisions(set).map(|d| (steps(d), self.counts[d], d));
        all.min_by(|a, b| a.0.total_cmp(&b.0).then((a.1, a.2).cmp(&(b.1, b.2)))).map_or(0, |(_, _, d)| d)
    }

    fn nodes(&self, set: u64, above: u64) -> Vec<Node> {
        if self.counts.len() > 63 {
            return self.chain();
        }
        let mut nodes = Vec::new();
        for part in self.parts(set) {
            let decision = self.first(part);
            let made = above | bit(decision);
            let is_due = |m: &u64| m & bit(decision) != 0 && m & !made == 0;
            let due = self.masks.iter().zip(self.groups).filter(|(m, _)| is_due(m)).map(|(_, (g, _))| *g).collect();
            let below = self.nodes(part & !bit(decision), made);
            nodes.push(Node { id: 0, decision, due, below, all: self.decisions(part).collect() });
        }
        nodes
    }

    /// Decides one after the other, whatever joins them.
    fn chain(&self) -> Vec<Node> {
        let mut order: Vec<usize> = (0..self.counts.len()).collect();
        order.sort_by_key(|&d| (self.counts[d], d));
        let place = |d: usize| order.iter().position(|&o| o == d).unwrap_or(0);
        let mut nodes: Vec<Node> = Vec::new();
        for (at, &decision) in order.iter().enumerate().rev() {
            let last = |touched: &[usize]| touched.iter().map(|&d| place(d)).max() == Some(at);
            let due = self.groups.iter().filter(|(_, touched)| last(touched)).map(|(g, _)| *g).collect();
            let mut all: Vec<usize> = order.iter().skip(at).copied().collect();
            all.sort_unstable();
            nodes = vec![Node { id: 0, decision, due, below: nodes, all }];
        }
        nodes
    }
}
