//! Carving again after an edit, where most of the job is as it was.
//!
//! A tile comes out the same if the same things happen to it: the same blank on the same rays, and the same motions by
//! the same cutters, in the same order, of those that can reach it at all. [`Kept`] holds each tile under a digest of
//! just that; where the digest is known the tile is taken as it was, else it is carved. Which numbers the blocks bear
//! does not enter: a kept tile names its owners by their place in its own list of blocks, so that lines put in or taken
//! out elsewhere leave it alone.
//!
//! The digest is SipHash-1-3 of 128 bits (Aumasson and Bernstein, *SipHash: a fast short-input PRF*, 2012). A tile taken
//! for another would be a wrong picture without a word, so the digest has to rule that out without the lists being kept:
//! of a million million different tiles, two agree with a chance of 2⁻⁴⁹, and no job is written in order to deceive. Every
//! number enters with all its bits, so nothing is the same that is not.

use std::collections::HashMap;
use std::fmt::Debug;
use std::hash::Hasher;

use dryturn_geom::{Motion, Pose};
use rayon::prelude::*;
use siphasher::sip128::{Hasher128, SipHasher13};

use crate::carve::{Beside, Gathering, Progress, carve_tile};
use crate::carved::Carved;
use crate::grid::Grid;
use crate::job::{CarveError, Job, RunOptions};
use crate::plan::{Plan, State};
use crate::tile::{EARLIER, Packed};
use crate::watch::{Reach, Seen};

/// Tiles of earlier carves, to be taken as they are where nothing about them has changed.
#[derive(Debug, Default)]
pub struct Kept {
    tiles: HashMap<Key, KeptTile>,
}

/// How much of a carve had to be done.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Again {
    /// Tiles that were carved.
    pub carved_tiles: usize,
    /// Tiles that were taken from an earlier carve.
    pub kept_tiles: usize,
}

/// Digest of all that makes a tile what it is.
type Key = u128;

/// A tile with what was noted of it; blocks bear their places in the list of those that can reach it.
#[derive(Debug)]
struct KeptTile {
    packed: Packed,
    blank: i64,
    removed: Vec<(u32, i64)>,
    seen: Seen,
}

impl Kept {
    /// Bytes that the tiles take, without what was noted of rapids and bodies.
    pub fn bytes(&self) -> usize {
        let of = |tile: &KeptTile| {
            size_of::<(Key, KeptTile)>() + tile.packed.bytes() + tile.removed.len() * size_of::<(u32, i64)>()
        };
        self.tiles.values().map(of).sum()
    }
}

/// As [`carve`](crate::carve()), bit for bit, but tiles that come out as in the last carve with `kept` are taken from
/// there. Afterwards `kept` holds the tiles of this carve, and where it fails those it held before.
///
/// # Errors
/// As [`carve`](crate::carve()).
pub fn carve_again(
    job: &Job<'_>,
    grid: &Grid,
    options: &RunOptions<'_>,
    kept: &mut Kept,
) -> Result<(Carved, Again), CarveError> {
    let pool = rayon::ThreadPoolBuilder::new().num_threads(options.threads).build()?;
    pool.install(|| {
        let plan = Plan::new(job, grid, options)?;
        let keys = Keys::new(&plan);
        let (progress, gathering) = (Progress::new(&plan, options), Gathering::new(&plan, options, 0));
        let tiles = (0..plan.layout.count()).into_par_iter().map(|tile| {
            let (key, state, new) = keys.tile(tile, kept, &progress)?;
            Ok((gathering.keep(state, Beside::default())?, (key, new)))
        });
        let made = tiles.collect::<Result<Vec<_>, CarveError>>()?;
        let (tiles, keys): (Vec<_>, _) = made.into_iter().unzip();
        Ok((gathering.carved(&plan, tiles), replace(kept, keys)))
    })
}

/// Lets `kept` hold the tiles of this carve and no others.
fn replace(kept: &mut Kept, made: Vec<(Key, Option<KeptTile>)>) -> Again {
    let mut again = Again { carved_tiles: 0, kept_tiles: 0 };
    let mut before = std::mem::take(&mut kept.tiles);
    for (key, new) in made {
        match new {
            Some(_) => again.carved_tiles += 1,
            None => again.kept_tiles += 1,
        }
        kept.tiles.extend(new.or_else(|| before.remove(&key)).map(|tile| (key, tile)));
    }
    again
}

/// What the keys of all tiles of a job begin with.
struct Keys<'a> {
    plan: &'a Plan<'a>,
    /// Blank and grid.
    ground: Digest,
    /// Digest of each cutter with the bodies above it.
    cutters: Vec<u128>,
    /// No ray holds wood beyond this, mm.
    top: f64,
}

impl<'a> Keys<'a> {
    fn new(plan: &'a Plan<'a>) -> Keys<'a> {
        let radius = plan.job.stock.swept_radius();
        let mut ground = Digest::new();
        ground.text(&(plan.job.stock, plan.job.dimple, &plan.grid));
        let digest = |cutter| {
            let mut digest = Digest::new();
            digest.text(cutter);
            digest.finish()
        };
        let cutters = plan.job.cutters.iter().map(digest).collect();
        // Ends are kept in single precision, which may round them up.
        Keys { plan, ground, cutters, top: radius.max(f64::from(radius as f32)) }
    }

    fn tile(
        &self,
        tile: usize,
        kept: &Kept,
        progress: &Progress<'_>,
    ) -> Result<(Key, State, Option<KeptTile>), CarveError> {
        let (key, blocks) = self.key(tile);
        if let Some(known) = kept.tiles.get(&key) {
            progress.of_tile().finish(self.plan.job.motions.count())?;
            return Ok((key, known.state(&blocks), None));
        }
        let state = carve_tile(self.plan, tile, progress)?;
        let new = KeptTile::of(&state, &blocks);
        Ok((key, state, Some(new)))
    }

    /// The key of a tile, and the blocks that can reach it.
    fn key(&self, tile: usize) -> (Key, Vec<u32>) {
        let (plan, tree) = (self.plan, &self.plan.tree);
        let (rows, columns) = plan.layout.extent(tile, &plan.grid);
        let window = plan.window(&rows, &columns);
        let mut digest = self.ground;
        for bound in [rows.start, rows.end, columns.start, columns.end] {
            digest.word(bound as u64);
        }
        let mut blocks = Vec::new();
        let (mut from, count) = (0, plan.job.motions.count());
        while let Some(block) = tree.next(from, count, &window, self.top) {
            from = block + 1;
            let Some(motion) = plan.job.motions.motion(block) else { continue };
            let Some(cutter) = self.cutters.get(usize::from(motion.cutter)) else { continue };
            if tree.reaches(&motion, &window, self.top) {
                digest.motion(&motion, *cutter);
                blocks.push(block);
            }
        }
        (digest.finish(), blocks)
    }
}

/// A digest under way.
#[derive(Clone, Copy)]
struct Digest(SipHasher13);

impl Digest {
    fn new() -> Digest {
        Digest(SipHasher13::new())
    }

    /// Takes in a value by its whole text; a number's reads back as the same bits, and a new field cannot be forgotten.
    fn text(&mut self, value: &impl Debug) {
        let text = format!("{value:?}");
        self.0.write(text.as_bytes());
        self.word(text.len() as u64);
    }

    fn word(&mut self, word: u64) {
        self.0.write(&word.to_le_bytes());
    }

    /// Takes in a motion, its cutter by what it is; which block it is of does not enter.
    fn motion(&mut self, motion: &Motion, cutter: u128) {
        let Motion { from, to, arc, block: _, cutter: _, rapid } = motion;
        let poses = [from, to].into_iter().flat_map(|&Pose { x, y, z, turn }| [x, y, z, turn]);
        let mut words = [0; 11];
        let rest = [cutter as u64, (cutter >> 64) as u64, u64::from(*rapid) + 2 * u64::from(arc.is_some())];
        words.iter_mut().zip(poses.map(f64::to_bits).chain(rest)).for_each(|(word, bits)| *word = bits);
        self.0.write(words.map(u64::to_le_bytes).as_flattened());
        if let Some(arc) = arc {
            self.text(arc);
        }
    }

    fn finish(&self) -> u128 {
        self.0.finish128().as_u128()
    }
}

impl KeptTile {
    fn of(state: &State, blocks: &[u32]) -> KeptTile {
        let place = |block: u32| {
            let place = blocks.binary_search(&block);
            debug_assert!(place.is_ok() || block >= EARLIER, "block {block} cut a tile that it cannot reach");
            place.map_or(block, |place| place as u32)
        };
        let mut tile = state.tile.clone();
        tile.rename(place);
        let removed = state.removed.iter().map(|&(block, units)| (place(block), units)).collect();
        KeptTile { packed: Packed::of(&tile), blank: state.blank, removed, seen: renamed(&state.seen, place) }
    }

    fn state(&self, blocks: &[u32]) -> State {
        let block = |place: u32| blocks.get(place as usize).copied().unwrap_or(place);
        let mut tile = self.packed.unpack();
        tile.rename(block);
        let mut state = State::new(tile, self.blank);
        state.removed = self.removed.iter().map(|&(place, units)| (block(place), units)).collect();
        state.seen = renamed(&self.seen, block);
        state
    }
}

fn renamed(seen: &Seen, name: impl Fn(u32) -> u32) -> Seen {
    let all = |reaches: &Vec<Reach>| reaches.iter().map(|reach| Reach { block: name(reach.block), ..*reach }).collect();
    let Seen { rapids, beyond, uppers } = seen;
    Seen { rapids: all(rapids), beyond: all(beyond), uppers: std::array::from_fn(|kind| all(&uppers[kind])) }
}
