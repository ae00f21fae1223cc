//! Which facets lie near one another: the tree against itself.

use rayon::prelude::*;

use super::build::Item;
use super::{Boxes, Tree};

/// Tasks that the walk is divided into, and those handled between two looks at the budget; fixed, so that giving up does
/// not depend on the threads.
const TASKS: usize = 1024;
const BATCH: usize = 16;

/// What a walk may cost at most, in comparisons of boxes.
#[derive(Debug, Clone, Copy)]
pub struct Budget {
    /// Of the whole walk.
    pub all: usize,
}

/// A part of the walk: a node against itself, or against another.
#[derive(Debug, Clone, Copy)]
struct Task(u32, u32);

impl Tree {
    /// Calls `compare` with each pair of facets (once, in no order) for which `counts` is true and whose boxes touch, with
    /// a result for some of the walk; returns the results in a fixed order, and whether the walk was given up because of
    /// its cost.
    pub fn touching_pairs<R: Default + Send>(
        &self,
        boxes: &Boxes,
        counts: &(dyn Fn(usize) -> bool + Sync),
        budget: Budget,
        compare: impl Fn(&mut R, u32, u32) + Sync,
    ) -> (Vec<R>, bool) {
        let mut results = Vec::new();
        let (mut spent, mut given_up) = (0, false);
        for batch in self.tasks().chunks(BATCH) {
            let walk = |task: &Task| {
                let mut walk = Walk {
                    tree: self,
                    boxes: &boxes.0,
                    counts,
                    compare: &compare,
                    found: R::default(),
                    left: budget.all / BATCH,
                };
                let complete = walk.go(*task);
                (walk.found, budget.all / BATCH - walk.left, complete)
            };
            let found: Vec<(R, usize, bool)> = batch.par_iter().map(walk).collect();
            for (result, cost, complete) in found {
                results.push(result);
                spent += cost;
                given_up |= !complete;
            }
            if spent > budget.all {
                given_up = true;
                break;
            }
        }
        (results, given_up)
    }

    /// Divides the walk, breadth first, until there are enough tasks or nothing is left to divide.
    fn tasks(&self) -> Vec<Task> {
        let mut tasks = if self.nodes.is_empty() { Vec::new() } else { vec![Task(0, 0)] };
        loop {
            let mut next = Vec::with_capacity(4 * tasks.len());
            tasks.iter().for_each(|&task| {
                if !self.divide(task, |part| next.push(part)) {
                    next.push(task)
                }
            });
            let done = next.len() == tasks.len() || next.len() >= TASKS;
            tasks = next;
            if done {
                return tasks;
            }
        }
    }

    /// Calls `part` with what a task consists of; false for one of leaves, which is not divided.
    #[inline]
    fn divide(&self, Task(a, b): Task, mut part: impl FnMut(Task)) -> bool {
        let (one, other) = (&self.nodes[a as usize], &self.nodes[b as usize]);
        let mut touching = |a: u32, b: u32| {
            if self.nodes[a as usize].around.touches(&self.nodes[b as usize].around) {
                part(Task(a, b));
            }
        };
        if a == b {
            if one.count > 0 {
                return false;
            }
            touching(one.first, one.first + 1);
            part(Task(one.first, one.first));
            part(Task(one.first + 1, one.first + 1));
        } else if one.count > 0 && other.count > 0 {
            return false;
        } else if other.count > 0 || (one.count == 0 && one.around.half_area() > other.around.half_area()) {
            touching(one.first, b);
            touching(one.first + 1, b);
        } else {
            touching(a, other.first);
            touching(a, other.first + 1);
        }
        true
    }
}

struct Walk<'a, R, F> {
    tree: &'a Tree,
    boxes: &'a [Item],
    counts: &'a (dyn Fn(usize) -> bool + Sync),
    compare: &'a F,
    found: R,
    /// What it may still cost.
    left: usize,
}

impl<'a, R, F: Fn(&mut R, u32, u32)> Walk<'a, R, F> {
    /// Returns whether it came to the end.
    fn go(&mut self, task: Task) -> bool {
        let mut waiting = vec![task];
        while let Some(task) = waiting.pop() {
            let cost = if self.tree.divide(task, |part| waiting.push(part)) { 1 } else { self.leaves(task) };
            let Some(left) = self.left.checked_sub(cost) else {
                self.left = 0;
                return false;
            };
            self.left = left;
        }
        true
    }

    /// Compares the facets of two leaves, or of one with one another; returns how many pairs there were.
    fn leaves(&mut self, Task(a, b): Task) -> usize {
        let one = self.items(a);
        if a == b {
            for i in 1..one.len() {
                one[..i].iter().for_each(|other| self.pair(&one[i], other));
            }
            return one.len() * one.len() / 2;
        }
        let other = self.items(b);
        let home = &self.tree.nodes[b as usize].around;
        for own in one.iter().filter(|own| own.around.touches(home)) {
            other.iter().for_each(|other| self.pair(own, other));
        }
        one.len() * other.len()
    }

    #[inline]
    fn pair(&mut self, one: &Item, other: &Item) {
        if one.around.touches(&other.around) && (self.counts)(one.facet as usize) && (self.counts)(other.facet as usize)
        {
            (self.compare)(&mut self.found, one.facet, other.facet);
        }
    }

    /// Returns the facets of a leaf, with their boxes.
    #[inline]
    fn items(&self, leaf: u32) -> &'a [Item] {
        let node = &self.tree.nodes[leaf as usize];
        &self.boxes[node.first as usize..(node.first + node.count) as usize]
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::mesh::Mesh;

    /// Facets in rows, each touching the next, far from the other rows.
    fn rows(count: u32) -> Mesh {
        let mut mesh = Mesh::default();
        for i in 0..count {
            let (x, y) = (f64::from(i % 100), 10.0 * f64::from(i / 100));
            mesh.vertices.extend([[x, y, 0.0], [x + 1.0, y, 0.0], [x, y + 1.0, 0.5]]);
            mesh.triangles.push([3 * i, 3 * i + 1, 3 * i + 2]);
        }
        mesh
    }

    fn pairs(mesh: &Mesh, counts: &(dyn Fn(usize) -> bool + Sync), budget: usize) -> (Vec<(u32, u32)>, bool) {
        let (tree, boxes) = Tree::with_boxes(mesh);
        let take = |found: &mut Vec<(u32, u32)>, a: u32, b: u32| found.push((a.min(b), a.max(b)));
        let (found, given_up) = tree.touching_pairs(&boxes, counts, Budget { all: budget }, take);
        let mut found: Vec<(u32, u32)> = found.into_iter().flatten().collect();
        found.sort_unstable();
        (found, given_up)
    }

    #[test]
    fn every_pair_that_touches_is_found_once() {
        let expected: Vec<(u32, u32)> = (0..9999).filter(|i| i % 100 < 99).map(|i| (i, i + 1)).collect();
        assert_eq!(pairs(&rows(10_000), &|_| true, 50_000_000), (expected.clone(), false));
        let without: Vec<(u32, u32)> = expected.into_iter().filter(|p| p.0 != 500 && p.1 != 500).collect();
        assert_eq!(pairs(&rows(10_000), &|t| t != 500, 50_000_000), (without, false));
    }

    #[test]
    fn what_costs_too_much_is_given_up() {
        let heap =
            Mesh { vertices: vec![[0.0; 3], [1.0, 0.0, 0.0], [0.0, 1.0, 0.0]], triangles: vec![[0, 1, 2]; 5000] };
        let (found, given_up) = pairs(&heap, &|_| true, 100_000);
        assert!(given_up && found.len() < 300_000, "{}", found.len());
        assert_eq!(pairs(&Mesh::default(), &|_| true, 1), (Vec::new(), false));
    }
}
