//! The search: least total penalty over small domains, narrow constraints first, ties broken by order.
//!
//! It knows nothing of printing. A [`Problem`] has domains (how many values each decision has) and constraints, each
//! of which touches some decisions and, once those are chosen, either refuses or adds a penalty. Penalties are whole
//! millionths, so that a sum does not depend on the order of adding and equal totals are equal.

mod tree;

use std::collections::BTreeMap;
use std::sync::Arc;

use super::mixing::QuickMap;
use tree::Node;

/// A penalty in millionths of a point.
pub type Penalty = i64;

/// What a constraint says to a choice of the decisions it touches.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Verdict {
    Refused,
    /// Never negative.
    Costs(Penalty),
}

/// A finite choice problem.
pub trait Problem {
    /// Returns how many values each decision has.
    fn domains(&self) -> &[usize];
    /// Returns, for each constraint, the decisions it touches, ascending; never empty.
    fn constraints(&self) -> &[Vec<usize>];
    /// Judges a constraint by the decisions it touches; `choice` has a value for each decision.
    fn judge(&self, constraint: usize, choice: &[usize]) -> Verdict;
    /// Returns whether a constraint says the same in every problem that [`Sums`] are handed on to.
    fn is_lasting(&self, _constraint: usize) -> bool {
        false
    }
}

/// A full choice and its total penalty.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Solution {
    pub choice: Vec<usize>,
    pub penalty: Penalty,
}

/// Searches one problem many times (with values taken away), remembering every verdict.
pub struct Search<'a, P: Problem> {
    problem: &'a P,
    /// Per constraint: verdicts by the mixed-radix index of the touched values.
    seen: Vec<Seen>,
    /// Constraints that touch the same decisions, asked together.
    groups: Vec<Group>,
    /// Per decision: the group that touches nothing else.
    alone: Vec<Option<usize>>,
    /// Groups that touch several decisions, those with the fewest combinations first: the others are asked last, when
    /// the narrow ones may have settled the matter.
    wide: Vec<usize>,
    /// Per decision the values that constraints on it alone leave, with what these cost: without and with breaks counted.
    standing: [Option<Standing>; 2],
    /// In which order to decide, by which decisions are held to one value.
    trees: BTreeMap<Vec<bool>, Arc<Vec<Node>>>,
    /// Room for values, to be used again.
    spare: Vec<Vec<usize>>,
    /// How often a constraint was really judged.
    pub judged: usize,
    /// Counts a refusal as [`BREAK`] instead of refusing: the best choice then breaks as few constraints as can be.
    pub count_breaks: bool,
}

/// The constraints on one set of decisions, with what they say together.
struct Group {
    touched: Vec<usize>,
    /// Each touched decision with what a step in it adds to the index of a verdict.
    steps: Vec<(usize, usize)>,
    /// Lasting ones and others.
    members: [Vec<usize>; 2],
    /// What all say together.
    sums: Sum,
    /// What the lasting ones say together.
    lasting: Sum,
}

/// What constraints on the same decisions say together, by the mixed-radix index of the touched values: sums without
/// refusals, sums with breaks counted, and that one refuses where the breaks are not counted yet.
#[derive(Debug)]
struct Sum(Seen);

impl Sum {
    fn of(size: Option<usize>) -> Self {
        Self(Seen::of(size))
    }

    #[inline]
    fn get(&self, key: usize, count_breaks: bool) -> Option<Verdict> {
        match self.0.cell(key) {
            NOT_ASKED => None,
            // A sum with breaks counted is one of refusals.
            REFUSED if count_breaks => None,
            cell if cell > BREAK && !count_breaks => Some(Verdict::Refused),
            cell => Some(said(cell)),
        }
    }

    fn insert(&mut self, key: usize, verdict: Verdict) {
        // What was counted says more than that it refuses.
        if verdict != Verdict::Refused || self.0.cell(key) == NOT_ASKED {
            self.0.insert(key, verdict);
        }
    }
}

/// What the lasting constraints of a problem were found to say, to be handed on to one that has the same of them and the
/// same number of values of what they touch.
#[derive(Debug, Default)]
pub struct Sums(BTreeMap<Vec<usize>, Sum>);

/// Returns each touched decision with what a step in it adds to a mixed-radix index; one too large to count wraps, as keys do.
fn steps(touched: &[usize], domains: &[usize]) -> Vec<(usize, usize)> {
    let after = |i: usize| touched.iter().skip(i + 1).fold(1usize, |n, &d| n.wrapping_mul(domains[d]));
    touched.iter().enumerate().map(|(i, &d)| (d, after(i))).collect()
}

/// What one broken constraint costs where breaks are counted; no sum of honest penalties comes near it.
pub const BREAK: Penalty = 1_000_000_000_000;

/// Verdicts remembered, each as a cell: in a table where there can be few, by key where there can be many.
#[derive(Debug)]
enum Seen {
    /// Made when first written to.
    Table {
        size: usize,
        cells: Vec<Penalty>,
    },
    Keyed(QuickMap<usize, Penalty>),
}

/// Cells: what was not asked, what refuses, else one more than the penalty.
const NOT_ASKED: Penalty = 0;
const REFUSED: Penalty = -1;

/// Returns the verdict of a cell that was asked.
#[inline]
fn said(cell: Penalty) -> Verdict {
    if cell < NOT_ASKED { Verdict::Refused } else { Verdict::Costs(cell - 1) }
}

/// Largest table, cells. Of a larger one few cells would ever be written, and clearing it costs more than asking.
const LARGEST_TABLE: usize = 1 << 10;

impl Seen {
    fn of(size: Option<usize>) -> Self {
        match size {
            Some(size) if size <= LARGEST_TABLE => Seen::Table { size, cells: Vec::new() },
            _ => Seen::Keyed(QuickMap::default()),
        }
    }

    #[inline]
    fn cell(&self, key: usize) -> Penalty {
        match self {
            Seen::Table { cells, .. } => cells.get(key).copied().unwrap_or(NOT_ASKED),
            Seen::Keyed(map) => map.get(&key).copied().unwrap_or(NOT_ASKED),
        }
    }

    fn get(&self, key: usize) -> Option<Verdict> {
        match self.cell(key) {
            NOT_ASKED => None,
            cell => Some(said(cell)),
        }
    }

    fn insert(&mut self, key: usize, verdict: Verdict) {
        let written = match verdict {
            Verdict::Refused => REFUSED,
            Verdict::Costs(penalty) => penalty.saturating_add(1),
        };
        match self {
            Seen::Table { size, cells } => {
                if cells.is_empty() {
                    *cells = vec![NOT_ASKED; *size];
                }
                if let Some(cell) = cells.get_mut(key) {
                    *cell = written;
                }
            }
            Seen::Keyed(map) => {
                map.insert(key, written);
            }
        }
    }
}

/// Per decision its values with what they cost by themselves, cheapest first.
type Standing = Vec<Vec<(Penalty, usize)>>;

/// Which values of which decisions may be used; `true` = allowed.
pub type Allowed = Vec<Vec<bool>>;

impl<'a, P: Problem> Search<'a, P> {
    pub fn new(problem: &'a P) -> Self {
        Self::knowing(problem, Sums::default())
    }

    /// Begins with what another search of the same lasting constraints gave back.
    pub fn knowing(problem: &'a P, mut known: Sums) -> Self {
        let domains = problem.domains();
        let size = |touched: &[usize]| touched.iter().try_fold(1usize, |n, &d| n.checked_mul(domains[d]));
        let seen = problem.constraints().iter().map(|touched| Seen::of(size(touched))).collect();
        let mut by_touched: BTreeMap<&[usize], Vec<usize>> = BTreeMap::new();
        for (c, touched) in problem.constraints().iter().enumerate() {
            by_touched.entry(touched).or_default().push(c);
        }
        let groups: Vec<Group> = by_touched
            .into_iter()
            .map(|(touched, members)| {
                let size = size(touched);
                let (lasting, others): (Vec<usize>, Vec<usize>) =
                    members.into_iter().partition(|&c| problem.is_lasting(c));
                let known = known.0.remove(touched).filter(|_| !lasting.is_empty());
                Group {
                    touched: touched.to_vec(),
                    steps: steps(touched, domains),
                    members: [lasting, others],
                    sums: Sum::of(size),
                    lasting: known.unwrap_or_else(|| Sum::of(size)),
                }
            })
            .collect();
        let mut alone = vec![None; domains.len()];
        let mut wide = Vec::new();
        for (g, group) in groups.iter().enumerate() {
            match group.touched.as_slice() {
                [decision] => alone[*decision] = Some(g),
                _ => wide.push(g),
            }
        }
        wide.sort_by_key(|&g| size(&groups[g].touched).unwrap_or(usize::MAX));
        Self {
            problem,
            seen,
            groups,
            alone,
            wide,
            standing: [None, None],
            trees: BTreeMap::new(),
            spare: Vec::new(),
            judged: 0,
            count_breaks: false,
        }
    }

    /// Returns what the lasting constraints were found to say.
    pub fn into_sums(self) -> Sums {
        let of_lasting = self.groups.into_iter().filter(|g| !g.members[0].is_empty());
        Sums(of_lasting.map(|g| (g.touched, g.lasting)).collect())
    }

    /// Returns domains in which every value is allowed.
    #[cfg(test)]
    pub fn everything(&self) -> Allowed {
        self.problem.domains().iter().map(|&n| vec![true; n]).collect()
    }

    /// Judges one constraint for a full choice.
    pub fn verdict(&mut self, constraint: usize, choice: &[usize]) -> Verdict {
        let touched = &self.problem.constraints()[constraint];
        let domains = self.problem.domains();
        let key = touched.iter().fold(0usize, |key, &d| key.wrapping_mul(domains[d]).wrapping_add(choice[d]));
        let verdict = match self.seen[constraint].get(key) {
            Some(verdict) => verdict,
            None => {
                let verdict = self.problem.judge(constraint, choice);
                self.judged += 1;
                self.seen[constraint].insert(key, verdict);
                verdict
            }
        };
        if self.count_breaks && verdict == Verdict::Refused { Verdict::Costs(BREAK) } else { verdict }
    }

    /// Judges all constraints of a group for a full choice: the sum of their penalties, unless one refuses.
    fn together(&mut self, group: usize, choice: &[usize]) -> Verdict {
        self.together_within(group, choice, Penalty::MAX)
    }

    /// The same, where a sum above `most` is as good as a refusal.
    #[inline]
    fn together_within(&mut self, group: usize, choice: &[usize], most: Penalty) -> Verdict {
        let of = &self.groups[group];
        let step = |key: usize, &(d, stride): &(usize, usize)| key.wrapping_add(choice[d].wrapping_mul(stride));
        let key = of.steps.iter().fold(0, step);
        match of.sums.get(key, self.count_breaks) {
            Some(verdict) => verdict,
            None => self.asked(group, key, choice, most),
        }
    }

    #[inline(never)]
    fn asked(&mut self, group: usize, key: usize, choice: &[usize], most: Penalty) -> Verdict {
        let of = &self.groups[group];
        let lasting = match of.lasting.get(key, self.count_breaks) {
            Some(verdict) => verdict,
            None if of.members[0].is_empty() => Verdict::Costs(0),
            None => {
                let verdict = self.sum(group, 0, Verdict::Costs(0), choice, Penalty::MAX).unwrap_or(Verdict::Refused);
                self.groups[group].lasting.insert(key, verdict);
                verdict
            }
        };
        let Some(verdict) = self.sum(group, 1, lasting, choice, most) else { return Verdict::Refused };
        self.groups[group].sums.insert(key, verdict);
        verdict
    }

    /// Adds what some members of a group say to a sum, until one refuses; `None` where it was left off because it came to
    /// more than `most`.
    ///
    /// The one that refuses is asked first of the next choice: what breaks in one build-up mostly breaks in the next, and the
    /// sum does not depend on the order.
    fn sum(
        &mut self,
        group: usize,
        members: usize,
        start: Verdict,
        choice: &[usize],
        most: Penalty,
    ) -> Option<Verdict> {
        let mut sum = start;
        for i in 0..self.groups[group].members[members].len() {
            let Verdict::Costs(so_far) = sum else { break };
            if so_far > most {
                return None;
            }
            let member = self.groups[group].members[members][i];
            let verdict = self.verdict(member, choice);
            sum = match verdict {
                Verdict::Costs(p) => Verdict::Costs(so_far + p),
                Verdict::Refused => Verdict::Refused,
            };
            if matches!(verdict, Verdict::Refused | Verdict::Costs(BREAK..)) {
                self.groups[group].members[members][..=i].rotate_right(1);
            }
        }
        Some(sum)
    }

    /// Returns the values left after constraints on one decision alone have spoken, with their penalty.
    fn prune(&mut self, allowed: &Allowed) -> Standing {
        let known = usize::from(self.count_breaks);
        if self.standing[known].is_none() {
            self.standing[known] = Some(self.each_alone());
        }
        let every = self.standing[known].as_deref().unwrap_or_default();
        let left = |(values, allowed): (&Vec<(Penalty, usize)>, &Vec<bool>)| {
            values.iter().filter(|(_, value)| allowed[*value]).copied().collect()
        };
        every.iter().zip(allowed).map(left).collect()
    }

    /// Judges every value of every decision by the constraints on it alone; cheapest first, so that a good bound is found
    /// early, equal ones in their own order.
    fn each_alone(&mut self) -> Standing {
        let counts = self.problem.domains().to_vec();
        let mut choice = vec![0; counts.len()];
        let mut result = Vec::with_capacity(counts.len());
        for (decision, &count) in counts.iter().enumerate() {
            let mut kept = Vec::new();
            for value in 0..count {
                choice[decision] = value;
                match self.alone[decision].map_or(Verdict::Costs(0), |g| self.together(g, &choice)) {
                    Verdict::Costs(sum) => kept.push((sum, value)),
                    Verdict::Refused => {}
                }
            }
            kept.sort_unstable();
            choice[decision] = 0;
            result.push(kept);
        }
        result
    }

    /// Returns the choice of least total penalty, the first in order of values among equals; `None` if nothing stands.
    pub fn best(&mut self, allowed: &Allowed) -> Option<Solution> {
        self.best_within(allowed, Penalty::MAX)
    }

    /// Returns the best choice as [`Search::best`] does, knowing of choices that may be as good: what is dearer than they
    /// are need not be looked at.
    pub fn best_from(&mut self, allowed: &Allowed, known: impl IntoIterator<Item = Vec<usize>>) -> Option<Solution> {
        let inside = |choice: &Vec<usize>| choice.iter().zip(allowed).all(|(&v, values)| values[v]);
        let most = known.into_iter().filter(inside).filter_map(|choice| self.total(&choice)).min();
        self.best_within(allowed, most.unwrap_or(Penalty::MAX))
    }

    /// Returns the best choice if its total is no more than `most`.
    pub fn best_within(&mut self, allowed: &Allowed, most: Penalty) -> Option<Solution> {
        let left = self.prune(allowed);
        let trees = self.trees(&left)?;
        let mut choice = vec![0; left.len()];
        let floors = floors(&trees, &left);
        let penalty = self.least(&trees, &floors, &left, &mut choice, most)?;
        Some(Solution { choice, penalty })
    }

    /// Returns the total penalty of a choice, if it stands.
    pub fn total(&mut self, choice: &[usize]) -> Option<Penalty> {
        (0..self.groups.len()).try_fold(0, |sum, g| match self.together(g, choice) {
            Verdict::Costs(p) => Some(sum + p),
            Verdict::Refused => None,
        })
    }

    /// Returns what each constraint adds to a full choice, those that add nothing or refuse left out.
    pub fn costs(&mut self, choice: &[usize]) -> Vec<(usize, Penalty)> {
        let mut found = Vec::new();
        for group in 0..self.groups.len() {
            if self.together(group, choice) == Verdict::Costs(0) {
                continue;
            }
            for member in self.groups[group].members.concat() {
                match self.verdict(member, choice) {
                    Verdict::Costs(p) if p > 0 => found.push((member, p)),
                    _ => {}
                }
            }
        }
        found.sort_unstable();
        found
    }

    /// Returns the constraints that refuse a full choice.
    pub fn refusing(&mut self, choice: &[usize]) -> Vec<usize> {
        self.refusing_of(choice, |_| true)
    }

    /// Returns the constraints on one decision alone that refuse a value of it.
    pub fn refusing_alone(&mut self, decision: usize, value: usize) -> Vec<usize> {
        let mut choice = vec![0; self.alone.len()];
        choice[decision] = value;
        self.refusing_of(&choice, |touched| touched == [decision])
    }

    fn refusing_of(&mut self, choice: &[usize], counts: impl Fn(&[usize]) -> bool) -> Vec<usize> {
        let counting = std::mem::take(&mut self.count_breaks);
        let mut found = Vec::new();
        for group in (0..self.groups.len()).filter(|&g| counts(&self.groups[g].touched)).collect::<Vec<_>>() {
            if self.together(group, choice) == Verdict::Refused {
                let members = self.groups[group].members.concat();
                found.extend(members.into_iter().filter(|&c| self.verdict(c, choice) == Verdict::Refused));
            }
        }
        self.count_breaks = counting;
        found.sort_unstable();
        found
    }

    /// Returns whether any choice stands at all; penalties are not looked at.
    pub fn stands(&mut self, allowed: &Allowed) -> bool {
        let left = self.prune(allowed);
        let Some(trees) = self.trees(&left) else { return false };
        let mut choice = vec![0; left.len()];
        trees.iter().all(|tree| self.reach(tree, &left, &mut choice))
    }

    /// Returns in which order to decide; `None` where a decision has no value left.
    ///
    /// It is the same for all questions that hold the same decisions to one value.
    fn trees(&mut self, left: &Standing) -> Option<Arc<Vec<Node>>> {
        if left.iter().any(Vec::is_empty) {
            return None;
        }
        let held: Vec<bool> = left.iter().map(|values| values.len() == 1).collect();
        if let Some(known) = self.trees.get(&held) {
            return Some(Arc::clone(known));
        }
        let count = |(held, &domain): (&bool, &usize)| if *held { 1 } else { domain };
        let counts: Vec<usize> = held.iter().zip(self.problem.domains()).map(count).collect();
        let wide: Vec<(usize, &[usize])> = self.wide.iter().map(|&g| (g, self.groups[g].touched.as_slice())).collect();
        let trees = Arc::new(tree::plant(&counts, &wide));
        self.trees.insert(held, Arc::clone(&trees));
        Some(trees)
    }

    fn reach(&mut self, node: &Node, left: &Standing, choice: &mut Vec<usize>) -> bool {
        left[node.decision].iter().any(|&(_, value)| {
            choice[node.decision] = value;
            node.due.iter().all(|&g| self.together(g, choice) != Verdict::Refused)
                && node.below.iter().all(|below| self.reach(below, left, choice))
        })
    }

    /// Finds the least total of what some trees decide, for what `choice` holds above them, if it is no more than `most`;
    /// `choice` then holds their decisions, the first in order of values among equals. Since the trees are independent of
    /// each other, the first of all is made of the first of each.
    fn least(
        &mut self,
        trees: &[Node],
        floors: &[Penalty],
        left: &Standing,
        choice: &mut [usize],
        most: Penalty,
    ) -> Option<Penalty> {
        if let [tree] = trees {
            return self.least_of(tree, floors, left, choice, most);
        }
        let floor = |node: &Node| floors.get(node.id).copied().unwrap_or(0);
        let mut rest: Penalty = trees.iter().map(floor).sum();
        let mut sum = 0;
        for tree in trees {
            rest -= floor(tree);
            sum += self.least_of(tree, floors, left, choice, most - sum - rest)?;
        }
        Some(sum)
    }

    fn least_of(
        &mut self,
        node: &Node,
        floors: &[Penalty],
        left: &Standing,
        choice: &mut [usize],
        most: Penalty,
    ) -> Option<Penalty> {
        let below: Penalty = node.below.iter().filter_map(|n| floors.get(n.id)).sum();
        let mut most = most;
        let mut best = None;
        let mut kept = self.spare.pop().unwrap_or_default();
        for &(own, value) in &left[node.decision] {
            let floor = own + below;
            // Values come cheapest first: once even the floor is worse, so are the rest. An equal one may still win the tie.
            if floor > most {
                break;
            }
            choice[node.decision] = value;
            let Some(due) = self.due_now(node, choice, most - floor) else { continue };
            let rest = match node.below.is_empty() {
                true => Some(0),
                false => self.least(&node.below, floors, left, choice, most - own - due),
            };
            let Some(rest) = rest else { continue };
            let total = own + due + rest;
            let values = node.all.iter().map(|&d| choice[d]);
            let wins = |least| total < least || (total == least && values.clone().lt(kept.iter().copied()));
            if best.is_none_or(wins) {
                kept.clear();
                kept.extend(values);
                (best, most) = (Some(total), total);
            }
        }
        if best.is_some() {
            for (&d, &value) in node.all.iter().zip(&kept) {
                choice[d] = value;
            }
        }
        self.spare.push(kept);
        best
    }

    /// Returns the penalties of the constraints that can be asked now; `None` when one refuses or they come to more than
    /// `most`.
    fn due_now(&mut self, node: &Node, choice: &[usize], most: Penalty) -> Option<Penalty> {
        let mut sum = 0;
        for &g in &node.due {
            match self.together_within(g, choice, most - sum) {
                Verdict::Costs(p) if sum + p <= most => sum += p,
                _ => return None,
            }
        }
        Some(sum)
    }
}

/// Returns for each node, by its id, the least that what is decided there and below can cost by itself.
fn floors(trees: &[Node], left: &Standing) -> Vec<Penalty> {
    fn add(nodes: &[Node], left: &Standing, floors: &mut Vec<Penalty>) {
        for node in nodes {
            if floors.len() <= node.id {
                floors.resize(node.id + 1, 0);
            }
            floors[node.id] = node.all.iter().filter_map(|&d| Some(left[d].first()?.0)).sum();
            add(&node.below, left, floors);
        }
    }
    let mut result = Vec::new();
    add(trees, left, &mut result);
    result
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// A random problem: each constraint is a table of verdicts.
    #[derive(Debug, Clone)]
    struct Table {
        domains: Vec<usize>,
        touched: Vec<Vec<usize>>,
        verdicts: Vec<Vec<Verdict>>,
        lasting: bool,
    }

    impl Table {
        /// Another problem with the same lasting constraints: of the others each says what it said of the next value.
        fn next(&self) -> Self {
            let mut next = self.clone();
            for (c, verdicts) in next.verdicts.iter_mut().enumerate() {
                if !self.is_lasting(c) {
                    verdicts.rotate_left(1);
                }
            }
            next
        }
    }

    impl Problem for Table {
        fn is_lasting(&self, c: usize) -> bool {
            self.lasting && c.is_multiple_of(2)
        }

        fn domains(&self) -> &[usize] {
            &self.domains
        }
        fn constraints(&self) -> &[Vec<usize>] {
            &self.touched
        }
        fn judge(&self, c: usize, choice: &[usize]) -> Verdict {
            let key = self.touched[c].iter().fold(0, |k, &d| k * self.domains[d] + choice[d]);
            self.verdicts[c][key]
        }
    }

    /// Looks at every combination: slow, and obviously right.
    fn naive(p: &Table) -> Option<Solution> {
        let total: usize = p.domains.iter().product();
        let mut best: Option<Solution> = None;
        for mut n in 0..total {
            let mut choice = vec![0; p.domains.len()];
            for d in (0..p.domains.len()).rev() {
                choice[d] = n % p.domains[d];
                n /= p.domains[d];
            }
            let sum = (0..p.touched.len()).try_fold(0, |s, c| match p.judge(c, &choice) {
                Verdict::Refused => None,
                Verdict::Costs(x) => Some(s + x),
            });
            if let Some(penalty) = sum
                && best.as_ref().is_none_or(|b| (penalty, &choice) < (b.penalty, &b.choice))
            {
                best = Some(Solution { choice, penalty });
            }
        }
        best
    }

    fn problem() -> impl Strategy<Value = Table> {
        proptest::collection::vec(1usize..5, 1..6).prop_flat_map(|domains| {
            let n = domains.len();
            let constraint = proptest::collection::btree_set(0..n, 1..=n.min(3));
            (Just(domains), proptest::collection::vec(constraint, 0..7)).prop_flat_map(|(domains, sets)| {
                let touched: Vec<Vec<usize>> = sets.into_iter().map(|s| s.into_iter().collect()).collect();
                let tables: Vec<_> = touched
                    .iter()
                    .map(|t| {
                        let size: usize = t.iter().map(|&d| domains[d]).product();
                        let verdict = prop_oneof![
                            1 => Just(Verdict::Refused),
                            3 => (0i64..4).prop_map(Verdict::Costs)
                        ];
                        proptest::collection::vec(verdict, size)
                    })
                    .collect();
                (Just(domains), Just(touched), tables).prop_map(|(domains, touched, verdicts)| Table {
                    domains,
                    touched,
                    verdicts,
                    lasting: true,
                })
            })
        })
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(2_000))]
        #[test]
        fn pruning_finds_what_looking_at_everything_finds(p in problem()) {
            let mut search = Search::new(&p);
            let all = search.everything();
            let best = naive(&p);
            prop_assert_eq!(search.stands(&all), best.is_some());
            prop_assert_eq!(search.best(&all), best.clone());
            // A choice known beforehand changes what is looked at, not what is found.
            for known in [vec![0; p.domains.len()], p.domains.iter().map(|n| n - 1).collect()] {
                prop_assert_eq!(search.best_from(&all, [known]), best.clone());
            }
            if let Some(found) = best {
                prop_assert_eq!(search.best_within(&all, found.penalty - 1), None);
                prop_assert_eq!(search.best_within(&all, found.penalty), Some(found));
            }
        }

        #[test]
        fn what_lasts_is_not_asked_again_and_changes_nothing(p in problem()) {
            let mut search = Search::new(&p);
            let all = search.everything();
            search.best(&all);
            search.count_breaks = true;
            search.best(&all);
            let next = p.next();
            let mut later = Search::knowing(&next, search.into_sums());
            prop_assert_eq!(later.best(&all), naive(&next));
            let mut afresh = Search::new(&next);
            prop_assert_eq!(afresh.best(&all), naive(&next));
            prop_assert!(later.judged <= afresh.judged);
            (later.count_breaks, afresh.count_breaks) = (true, true);
            prop_assert_eq!(later.best(&all), afresh.best(&all));
        }
    }

    #[test]
    fn what_a_choice_costs_is_told_by_constraint_in_their_order_without_what_adds_nothing() {
        // Constraints on one decision and on both are in groups of their own, and not in their order.
        let costs = |of: &[i64]| of.iter().map(|c| Verdict::Costs(*c)).collect::<Vec<_>>();
        let mut p = Table {
            domains: vec![2, 2],
            touched: vec![vec![0, 1], vec![0], vec![1], vec![0], vec![0, 1]],
            verdicts: vec![costs(&[0, 0, 7, 0]), costs(&[1, 2]), costs(&[0, 4]), costs(&[5, 0]), costs(&[0, 0, 0, 0])],
            lasting: false,
        };
        assert_eq!(Search::new(&p).costs(&[1, 0]), [(0, 7), (1, 2)]);
        assert_eq!(Search::new(&p).costs(&[0, 1]), [(1, 1), (2, 4), (3, 5)]);
        p.verdicts[2] = vec![Verdict::Refused; 2];
        assert_eq!(Search::new(&p).costs(&[0, 1]), [(1, 1), (3, 5)], "what refuses costs nothing");
    }

    #[test]
    fn counting_breaks_finds_the_nearest_miss() {
        // Both values of the only decision are refused; the first breaks two constraints, the second one.
        let p = Table {
            domains: vec![2],
            touched: vec![vec![0], vec![0]],
            verdicts: vec![vec![Verdict::Refused, Verdict::Refused], vec![Verdict::Refused, Verdict::Costs(3)]],
            lasting: false,
        };
        let mut search = Search::new(&p);
        let all = search.everything();
        assert_eq!(search.best(&all), None);
        search.count_breaks = true;
        assert_eq!(search.best(&all), Some(Solution { choice: vec![1], penalty: BREAK + 3 }));
    }

    #[test]
    fn narrow_constraints_spare_the_wide_ones() {
        // One value of each decision survives its own constraint; the wide constraint must be asked once.
        let n = 10;
        let domains = vec![n; 3];
        let mut touched: Vec<Vec<usize>> = (0..3).map(|d| vec![d]).collect();
        touched.push(vec![0, 1, 2]);
        let one: Vec<Verdict> = (0..n).map(|v| if v == 7 { Verdict::Costs(0) } else { Verdict::Refused }).collect();
        let p = Table {
            domains,
            touched,
            verdicts: vec![one.clone(), one.clone(), one, vec![Verdict::Costs(5); n * n * n]],
            lasting: false,
        };
        let mut search = Search::new(&p);
        let all = search.everything();
        assert_eq!(search.best(&all), Some(Solution { choice: vec![7, 7, 7], penalty: 5 }));
        assert_eq!(search.judged, 31);
    }
}
