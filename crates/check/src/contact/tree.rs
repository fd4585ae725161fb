//! The tree over the blocks of one cutter, in program order.
//!
//! Only blocks that move this cutter are in it; each has its place in their order, its *ordinal*. A leaf holds sixteen
//! of them, every node eight below it, and each the box of tips and the range of angles of all its blocks. The tree
//! keeps nothing of a block by itself: where ordinals and blocks count alike, one number tells them all.

use super::region::Region;
use dryturn_geom::{Motion, Motions};
use std::ops::ControlFlow;
use std::sync::atomic::{AtomicBool, Ordering};

const LEAF: u32 = 16;
const FAN: u32 = 8;

/// Motions with a number over this (mm, radians) are no motions of a machine.
const FARTHEST: f64 = 1e9;

pub(crate) struct Tree<'a> {
    motions: &'a dyn Motions,
    /// Level 0: the leaves.
    levels: Vec<Vec<Region>>,
    /// Where blocks do not follow on from the one before, in order.
    runs: Vec<Run>,
    /// How many blocks there are.
    count: u32,
    /// Ordinals that do not follow on from the one before: another program, or another cutter moved in between.
    breaks: Vec<u32>,
    /// Once it is set nothing more is looked at, and what is found means nothing.
    cancel: Option<&'a AtomicBool>,
}

/// Blocks of which each follows on from the one before: where they begin, as an ordinal and as a block.
#[derive(Clone, Copy, Debug)]
struct Run {
    ordinal: u32,
    block: u32,
}

/// A node: its level and its place there.
#[derive(Clone, Copy, Debug)]
struct Node {
    level: usize,
    index: u32,
}

/// What to do with a node.
pub(crate) enum Step {
    /// Nothing in it matters.
    Skip,
    /// Look at what is below.
    Enter,
    /// All of it is alike: the walk hands its ordinals over whole.
    Take,
    /// The walk has seen enough.
    Stop,
}

/// Something led through the tree by the least bound.
pub(crate) trait Search {
    /// A bound of what the region can yield; smaller is better.
    fn bound(&mut self, region: &Region) -> f64;
    /// Regions whose bound is not under this are left out.
    fn cutoff(&self) -> f64;
    /// Looks at one block.
    fn block(&mut self, ordinal: u32, motion: &Motion);
}

/// Something led through the tree in program order.
pub(crate) trait Walk {
    /// What to do with the region.
    fn step(&mut self, region: &Region) -> Step;
    /// Blocks of a region taken whole, first and last ordinal.
    fn take(&mut self, _first: u32, _last: u32) {}
    /// Looks at one block.
    fn block(&mut self, ordinal: u32, motion: &Motion) -> ControlFlow<()>;
}

/// Whether all numbers of a motion are finite and of a size that squares of them can be told apart.
fn is_sound(motion: &Motion) -> bool {
    let ends = [motion.from, motion.to].into_iter().flat_map(|pose| [pose.x, pose.y, pose.z, pose.turn]);
    let arc = motion
        .arc
        .into_iter()
        .flat_map(|arc| [arc.center[0], arc.center[1], arc.reach[0], arc.reach[1], arc.start, arc.sweep]);
    ends.chain(arc).all(|number| number.abs() <= FARTHEST)
}

impl<'a> Tree<'a> {
    pub(crate) fn new(
        motions: &'a dyn Motions,
        cutter: u16,
        program_of: &dyn Fn(u32) -> usize,
        cancel: Option<&'a AtomicBool>,
    ) -> Self {
        let (levels, runs, breaks) = (vec![Vec::new()], Vec::new(), Vec::new());
        let mut tree = Tree { motions, levels, runs, count: 0, breaks, cancel };
        let mut before: Option<usize> = None;
        for block in 0..motions.count() {
            let Some(motion) = motions.motion(block).filter(is_sound) else { continue };
            if motion.cutter != cutter {
                before = None;
                continue;
            }
            let program = program_of(block);
            if before.replace(program) != Some(program) {
                tree.breaks.push(tree.count);
            }
            if tree.runs.is_empty() || tree.block_number(tree.count) != block {
                tree.runs.push(Run { ordinal: tree.count, block });
            }
            let region = Region::of_motion(&motion, 0.0, 1.0);
            if tree.count.is_multiple_of(LEAF) {
                tree.levels[0].push(region);
            } else if let Some(leaf) = tree.levels[0].last_mut() {
                leaf.join(&region);
            }
            tree.count += 1;
        }
        tree.grow();
        tree
    }

    /// Levels above the leaves, up to one root.
    fn grow(&mut self) {
        while let Some(below) = self.levels.last().filter(|level| level.len() > 1) {
            let above = below
                .chunks(FAN as usize)
                .map(|children| {
                    let mut region = children[0];
                    children[1..].iter().for_each(|child| region.join(child));
                    region
                })
                .collect();
            self.levels.push(above);
        }
    }

    pub(crate) fn is_empty(&self) -> bool {
        self.count == 0
    }

    fn is_cancelled(&self) -> bool {
        self.cancel.is_some_and(|cancel| cancel.load(Ordering::Relaxed))
    }

    /// The region of all blocks.
    pub(crate) fn region_of_all(&self) -> Option<&Region> {
        self.levels.last()?.first()
    }

    /// First and last ordinal.
    pub(crate) fn all(&self) -> [u32; 2] {
        [0, self.count.saturating_sub(1)]
    }

    /// The first ordinal after `ordinal` that does not follow on from the one before.
    pub(crate) fn next_break(&self, ordinal: u32) -> Option<u32> {
        let next = self.breaks.partition_point(|&at| at <= ordinal);
        self.breaks.get(next).copied()
    }

    /// The block at an ordinal.
    pub(crate) fn block_at(&self, ordinal: u32) -> Option<Motion> {
        (ordinal < self.count).then(|| self.motions.motion(self.block_number(ordinal)))?
    }

    /// The number of the block at an ordinal; past the last one as if its run went on.
    fn block_number(&self, ordinal: u32) -> u32 {
        let run = self.runs[self.runs.partition_point(|run| run.ordinal <= ordinal) - 1];
        run.block + (ordinal - run.ordinal)
    }

    /// First and last ordinal of the blocks between two, both included; `None` where none of them moves this cutter.
    pub(crate) fn ordinals(&self, first: u32, last: u32) -> Option<[u32; 2]> {
        let (first, end) = (self.first_from(first), self.first_from(last.saturating_add(1)));
        (first < end).then(|| [first, end - 1])
    }

    /// A region that holds all blocks of a range (first and last ordinal), and not many others.
    pub(crate) fn region_of(&self, range: [u32; 2]) -> Option<Region> {
        let mut region: Option<Region> = None;
        let mut open = vec![self.root()];
        while let Some(node) = open.pop().filter(|_| self.count > 0) {
            let [first, last] = self.span(node);
            if node.level > 0 && (first < range[0] || last > range[1]) {
                open.extend(self.children(node).filter(|child| self.overlaps(*child, range)));
                continue;
            }
            match &mut region {
                Some(region) => region.join(self.region(node)),
                None => region = Some(*self.region(node)),
            }
        }
        region
    }

    /// Ordinal of the first block with this number or a later one; the count where there is none.
    fn first_from(&self, block: u32) -> u32 {
        let next = self.runs.partition_point(|run| run.block <= block);
        let end = self.runs.get(next).map_or(self.count, |run| run.ordinal);
        next.checked_sub(1).map_or(0, |before| (self.runs[before].ordinal + (block - self.runs[before].block)).min(end))
    }

    fn leaf(&self, index: u32) -> impl Iterator<Item = (u32, Motion)> + '_ {
        let ordinals = index * LEAF..((index + 1) * LEAF).min(self.count);
        ordinals.filter_map(|ordinal| Some((ordinal, self.block_at(ordinal)?)))
    }

    fn root(&self) -> Node {
        Node { level: self.levels.len() - 1, index: 0 }
    }

    fn region(&self, node: Node) -> &Region {
        &self.levels[node.level][node.index as usize]
    }

    /// First and last ordinal of a node.
    fn span(&self, node: Node) -> [u32; 2] {
        let each = u64::from(LEAF) * u64::from(FAN).pow(node.level as u32);
        let first = u64::from(node.index) * each;
        [first as u32, (first + each).min(u64::from(self.count)) as u32 - 1]
    }

    fn children(&self, node: Node) -> impl Iterator<Item = Node> + use<> {
        let (level, first) = (node.level - 1, node.index * FAN);
        let end = (first + FAN).min(self.levels[level].len() as u32);
        (first..end).map(move |index| Node { level, index })
    }

    fn overlaps(&self, node: Node, range: [u32; 2]) -> bool {
        let [first, last] = self.span(node);
        first <= range[1] && last >= range[0]
    }

    /// Leads `search` through the blocks of `range` (first and last ordinal), nodes with the least bound first.
    pub(crate) fn search(&self, range: [u32; 2], search: &mut impl Search) {
        if self.count > 0 {
            self.search_node(self.root(), range, search);
        }
    }

    fn search_node(&self, node: Node, range: [u32; 2], search: &mut impl Search) {
        if self.is_cancelled() {
            return;
        }
        if node.level == 0 {
            for (ordinal, motion) in self.leaf(node.index) {
                if (range[0]..=range[1]).contains(&ordinal) {
                    search.block(ordinal, &motion);
                }
            }
            return;
        }
        let mut children: Vec<(f64, Node)> = self
            .children(node)
            .filter(|&child| self.overlaps(child, range))
            .map(|child| (search.bound(self.region(child)), child))
            .collect();
        // The sort is stable: of equal bounds the earlier node goes first.
        children.sort_by(|a, b| a.0.total_cmp(&b.0));
        for (bound, child) in children {
            if bound < search.cutoff() {
                self.search_node(child, range, search);
            }
        }
    }

    /// Leads `walk` through the blocks of `range` (first and last ordinal) in program order.
    pub(crate) fn walk(&self, range: [u32; 2], walk: &mut impl Walk) -> ControlFlow<()> {
        if self.count == 0 {
            return ControlFlow::Continue(());
        }
        self.walk_node(self.root(), range, walk)
    }

    fn walk_node(&self, node: Node, range: [u32; 2], walk: &mut impl Walk) -> ControlFlow<()> {
        if self.is_cancelled() {
            return ControlFlow::Break(());
        }
        if !self.overlaps(node, range) {
            return ControlFlow::Continue(());
        }
        match walk.step(self.region(node)) {
            Step::Skip => {}
            Step::Stop => return ControlFlow::Break(()),
            Step::Take => {
                let [first, last] = self.span(node);
                walk.take(first.max(range[0]), last.min(range[1]));
            }
            Step::Enter if node.level == 0 => {
                for (ordinal, motion) in self.leaf(node.index) {
                    if (range[0]..=range[1]).contains(&ordinal) {
                        walk.block(ordinal, &motion)?;
                    }
                }
            }
            Step::Enter => {
                for child in self.children(node) {
                    self.walk_node(child, range, walk)?;
                }
            }
        }
        ControlFlow::Continue(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use dryturn_geom::Pose;

    /// Two cutters by turns, now and then a block that nobody can make.
    fn motions() -> Vec<Motion> {
        let at = |x: f64| Pose { x, y: 0.0, z: 20.0, turn: 0.0 };
        let motion = |block: u32| {
            let cutter = u16::from((20..75).contains(&block) || block > 180);
            let to = if block.is_multiple_of(37) { f64::NAN } else { f64::from(block + 1) };
            Motion { from: at(f64::from(block)), to: at(to), arc: None, block, cutter, rapid: false }
        };
        (0..200).map(motion).collect()
    }

    #[test]
    fn ordinals_and_blocks_are_told_as_by_counting() {
        let motions = motions();
        for cutter in [0, 1] {
            let tree = Tree::new(&motions, cutter, &|_| 0, None);
            let of_it: Vec<u32> =
                motions.iter().filter(|it| it.cutter == cutter && is_sound(it)).map(|it| it.block).collect();
            assert_eq!(tree.count as usize, of_it.len());
            for (ordinal, &block) in of_it.iter().enumerate() {
                assert_eq!(tree.block_at(ordinal as u32).map(|motion| motion.block), Some(block));
            }
            assert!(tree.block_at(tree.count).is_none());
            for block in (0..=201).chain([u32::MAX]) {
                let before = of_it.iter().filter(|it| **it < block).count();
                assert_eq!(tree.first_from(block), before as u32, "cutter {cutter}, block {block}");
            }
            let in_leaves = (0..tree.levels[0].len() as u32).flat_map(|leaf| tree.leaf(leaf));
            assert!(in_leaves.map(|(_, motion)| motion.block).eq(of_it.iter().copied()));
        }
    }
}
