//! The closest approach of a moving body and a row of fixed ones over all blocks of a cutter.

use super::hunt::{Hunt, Pair, Sight};
use super::region::{Piece, Pieces, Region, in_pieces};
use super::shape::MovingPart;
use super::solid::Fixed;
use super::tree::{Search, Step, Tree, Walk};
use dryturn_geom::Motion;
use std::ops::ControlFlow;

/// Distances are bracketed to this, mm.
pub(crate) const BRACKET: f64 = 1e-3;
/// Once the block is known its own least distance is found to this, mm.
const FINE: f64 = 1e-7;
/// How much above a limit counts as under it where no more is asked, mm.
pub(crate) const SLACK: f64 = 1e-4;
/// Blocks that turn more than this come as near again and again; theirs is left at the bracket, radians.
const MANY_TURNS: f64 = 600.0;

/// A moving body and the bodies of one row.
#[derive(Clone, Copy)]
pub(crate) struct Encounter<'a> {
    pub(crate) parts: &'a [MovingPart],
    pub(crate) fixed: &'a [Fixed],
}

impl<'a> Encounter<'a> {
    pub(crate) fn pairs(&self) -> impl Iterator<Item = Pair<'a>> + use<'a> {
        let Encounter { parts, fixed } = *self;
        parts.iter().flat_map(move |part| fixed.iter().map(move |fixed| Pair::new(part, fixed)))
    }

    /// Greatest radius of what turns, mm.
    pub(crate) fn radius(&self) -> f64 {
        self.fixed.iter().filter_map(|fixed| fixed.reach).fold(0.0, f64::max)
    }
}

/// The closest approach.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Approach {
    /// Least distance, mm.
    pub(crate) least: f64,
    /// The first block in program order that comes as near, to within the bracket.
    pub(crate) motion: Motion,
    /// Where it is nearest.
    pub(crate) sight: Sight,
    /// Which body of the row.
    pub(crate) which: u32,
}

/// The closest approach of the encounter over the whole tree.
pub(crate) fn closest(tree: &Tree, encounter: &Encounter) -> Option<Approach> {
    let least = least(tree, encounter);
    let ordinal = first_under(tree, encounter, least + BRACKET)?;
    let motion = tree.block_at(ordinal)?;
    let mut nearest: Option<(Sight, u32)> = None;
    let many = (motion.to.turn - motion.from.turn).abs() > MANY_TURNS;
    let mut hunt = Hunt::least(if many { BRACKET } else { FINE });
    for pair in encounter.pairs() {
        hunt.seen = None;
        hunt_block(&pair, &motion, encounter.radius(), &mut hunt);
        if let Some(sight) = hunt.seen {
            nearest = Some((sight, pair.fixed.which));
        }
    }
    let (sight, which) = nearest?;
    Some(Approach { least: least.min(sight.gap.distance), motion, sight, which })
}

/// Least distance over the whole tree, to within [`BRACKET`].
fn least(tree: &Tree, encounter: &Encounter) -> f64 {
    let Some(root) = tree.region_of_all() else { return f64::INFINITY };
    let mut order: Vec<(f64, Pair)> = encounter.pairs().map(|pair| (pair.bound(root, f64::INFINITY), pair)).collect();
    order.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut hunt = Hunt::least(BRACKET);
    for (bound, pair) in order {
        if bound >= hunt.cutoff() {
            break;
        }
        let mut search = LeastSearch { pair, radius: encounter.radius(), hunt };
        tree.search(tree.all(), &mut search);
        hunt = search.hunt;
    }
    hunt.best
}

/// A stretch of the run, from a share of one block to a share of a later one, or of the same.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Span {
    /// Block and share where it begins.
    pub from: (u32, f64),
    /// Block and share where it ends.
    pub to: (u32, f64),
}

impl Span {
    /// What of a block lies in it.
    fn clipped(&self, motion: &Motion) -> Motion {
        let first = if motion.block == self.from.0 { self.from.1 } else { 0.0 };
        let last = if motion.block == self.to.0 { self.to.1 } else { 1.0 };
        if (first, last) == (0.0, 1.0) { *motion } else { motion.between(first, last.max(first)) }
    }
}

/// Least distance that any of the encounters has over a span, if it lies under the best of a hunt; gives the hunt, carried on.
pub(crate) fn least_over<'a>(
    tree: &Tree,
    encounters: impl Iterator<Item = Encounter<'a>>,
    span: &Span,
    mut hunt: Hunt,
) -> Hunt {
    let Some((range, region)) =
        tree.ordinals(span.from.0, span.to.0).and_then(|range| Some((range, tree.region_of(range)?)))
    else {
        return hunt;
    };
    let pairs = encounters.flat_map(|encounter| encounter.pairs().map(move |pair| (encounter.radius(), pair)));
    let mut order: Vec<(f64, f64, Pair)> =
        pairs.map(|(radius, pair)| (pair.bound(&region, hunt.cutoff()), radius, pair)).collect();
    order.sort_by(|a, b| a.0.total_cmp(&b.0));
    for (bound, radius, pair) in order {
        if bound >= hunt.cutoff() {
            break;
        }
        let mut search = SpanSearch { search: LeastSearch { pair, radius, hunt }, span };
        tree.search(range, &mut search);
        hunt = search.search.hunt;
    }
    hunt
}

struct SpanSearch<'a> {
    search: LeastSearch<'a>,
    span: &'a Span,
}

impl Search for SpanSearch<'_> {
    fn bound(&mut self, region: &Region) -> f64 {
        self.search.bound(region)
    }

    fn cutoff(&self) -> f64 {
        self.search.cutoff()
    }

    fn block(&mut self, ordinal: u32, motion: &Motion) {
        self.search.block(ordinal, &self.span.clipped(motion));
    }
}

struct LeastSearch<'a> {
    pair: Pair<'a>,
    radius: f64,
    hunt: Hunt,
}

impl Search for LeastSearch<'_> {
    fn bound(&mut self, region: &Region) -> f64 {
        self.pair.bound(region, self.hunt.cutoff())
    }

    fn cutoff(&self) -> f64 {
        self.hunt.cutoff()
    }

    fn block(&mut self, _ordinal: u32, motion: &Motion) {
        hunt_block(&self.pair, motion, self.radius, &mut self.hunt);
    }
}

/// Carries a hunt through one block.
pub(crate) fn hunt_block(pair: &Pair, motion: &Motion, radius: f64, hunt: &mut Hunt) {
    struct Look<'a, 'b> {
        pair: &'a Pair<'b>,
        hunt: &'a mut Hunt,
    }
    impl Pieces for Look<'_, '_> {
        fn wants(&mut self, region: &Region) -> bool {
            self.pair.bound(region, self.hunt.cutoff()) < self.hunt.cutoff()
        }

        fn piece(&mut self, piece: &Piece) -> ControlFlow<()> {
            self.pair.hunt(piece, self.hunt);
            if self.hunt.done() { ControlFlow::Break(()) } else { ControlFlow::Continue(()) }
        }
    }
    // Broken off or not: the hunt says what was found.
    let _ = in_pieces(motion, radius, &mut Look { pair, hunt });
}

/// Whether the pair comes to `limit` or under it within the block, or to less than [`SLACK`] above it.
pub(crate) fn comes_under(pair: &Pair, motion: &Motion, radius: f64, limit: f64) -> bool {
    comes_nearly_under(pair, motion, radius, limit, SLACK)
}

/// The same with another slack, mm.
pub(crate) fn comes_nearly_under(pair: &Pair, motion: &Motion, radius: f64, limit: f64, slack: f64) -> bool {
    let mut hunt = Hunt::under(limit, slack);
    hunt_block(pair, motion, radius, &mut hunt);
    hunt.seen.is_some()
}

/// Ordinal of the first block that comes to `limit` or under it.
pub(crate) fn first_under(tree: &Tree, encounter: &Encounter, limit: f64) -> Option<u32> {
    struct First<'a> {
        encounter: &'a Encounter<'a>,
        limit: f64,
        found: Option<u32>,
    }
    impl Walk for First<'_> {
        fn step(&mut self, region: &Region) -> Step {
            let near = self.encounter.pairs().any(|pair| pair.bound(region, self.limit) < self.limit);
            if near { Step::Enter } else { Step::Skip }
        }

        fn block(&mut self, ordinal: u32, motion: &Motion) -> ControlFlow<()> {
            let radius = self.encounter.radius();
            if self.encounter.pairs().any(|pair| comes_under(&pair, motion, radius, self.limit)) {
                self.found = Some(ordinal);
                return ControlFlow::Break(());
            }
            ControlFlow::Continue(())
        }
    }
    let mut first = First { encounter, limit, found: None };
    let _ = tree.walk(tree.all(), &mut first);
    first.found
}
