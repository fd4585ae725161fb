//! Rays side by side, whichever rows they come from.

use super::super::lanes::{AimChunk, LANES, Wood};
use super::ray::Ray;
use super::real::Real;
use super::{BATCH, Contact};

/// Rays of a batch, settled together.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Batch<R> {
    /// ξ at the start of the piece.
    xi: [R; BATCH],
    pub(super) inner: [f32; BATCH],
    pub(super) outer: [f32; BATCH],
    /// sin φ and 1 − cos φ, at the start and at the end.
    s0: [R; BATCH],
    v0: [R; BATCH],
    s1: [R; BATCH],
    v1: [R; BATCH],
}

impl<R: Real> Batch<R> {
    #[inline(always)]
    pub(super) fn ray(&self, lane: usize, base: f64) -> Ray<R> {
        Ray {
            xi: self.xi[lane],
            outer: R::of(f64::from(self.outer[lane]) - base),
            start: (self.s0[lane], self.v0[lane]),
            end: (self.s1[lane], self.v1[lane]),
        }
    }

    #[inline(always)]
    fn put(&mut self, place: usize, xi: f64, aims: &AimChunk, (lane, wood): (usize, Wood<'_>)) {
        self.xi[place] = R::of(xi);
        (self.inner[place], self.outer[place]) = (wood.inner[lane], wood.outer[lane]);
        [(self.s0[place], self.v0[place]), (self.s1[place], self.v1[place])] = R::aim(aims, lane);
    }
}

/// The rays that a piece may meet, gathered out of all rows it passes over, and what they lose as far as it is proved.
///
/// A row under a narrow tip holds a ray or two of them: batches of neighbours would be all but empty.
#[derive(Clone, Debug, Default)]
pub(crate) struct Gathered {
    is_small: bool,
    /// The chunks that hold any, in order.
    chunks: Vec<Chunk>,
    /// The rays, side by side: the first so many of these or, where the contact is not small, of those.
    pub(super) count: usize,
    pub(super) small: Vec<Batch<f32>>,
    pub(super) large: Vec<Batch<f64>>,
    pub(super) settled: Vec<Settled<BATCH>>,
    /// What is settled, once more chunk by chunk.
    fates: Vec<Settled<LANES>>,
}

/// Rays of a chunk of a row that a piece may meet.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Chunk {
    pub(crate) row: usize,
    pub(crate) chunk: usize,
    /// By bit.
    pub(crate) rays: u32,
}

/// Room for as many rays more as one chunk may add.
#[inline(always)]
fn make_room<R: Real>(batches: &mut Vec<Batch<R>>, count: usize) {
    let room = (count + LANES).div_ceil(BATCH);
    if batches.len() < room {
        batches.resize(room, Batch::default());
    }
}

/// The places of the bits that are set, one after the other.
#[inline(always)]
fn each(mut rays: u32, mut visit: impl FnMut(usize)) {
    while rays != 0 {
        visit(rays.trailing_zeros() as usize % LANES);
        rays &= rays - 1;
    }
}

impl Gathered {
    /// Begins anew, with no rays, for a contact.
    pub(crate) fn begin(&mut self, contact: &Contact<'_>) {
        self.is_small = contact.is_small;
        self.count = 0;
        self.chunks.clear();
    }

    pub(crate) fn is_empty(&self) -> bool {
        self.chunks.is_empty()
    }

    /// Adds the rays of a chunk whose bits are set. ξ is that of the row at the start of the piece.
    #[inline(always)]
    pub(crate) fn add(&mut self, chunk: Chunk, xi: f64, aims: &AimChunk, wood: Wood<'_>) {
        if self.is_small {
            fill(&mut self.small, self.count, chunk.rays, xi, (aims, wood));
        } else {
            fill(&mut self.large, self.count, chunk.rays, xi, (aims, wood));
        }
        self.count += chunk.rays.count_ones() as usize;
        self.chunks.push(chunk);
    }

    /// How many chunks hold any rays.
    pub(crate) fn chunks(&self) -> usize {
        self.chunks.len()
    }

    /// One of the chunks.
    #[inline]
    pub(crate) fn chunk(&self, index: usize) -> Chunk {
        self.chunks[index]
    }

    /// What the rays of that chunk lose.
    #[inline]
    pub(crate) fn fates(&self, index: usize) -> &Settled<LANES> {
        &self.fates[index]
    }

    /// Hands what is settled back to the chunks.
    #[inline(always)]
    pub(super) fn hand_back(&mut self) {
        if self.fates.len() < self.chunks.len() {
            self.fates.resize(self.chunks.len(), Settled::NOTHING);
        }
        let mut index = 0;
        for (chunk, fates) in self.chunks.iter().zip(&mut self.fates) {
            let mut kinds = 0;
            each(chunk.rays, |lane| {
                let (settled, place) = (&self.settled[index / BATCH], index % BATCH);
                (fates.lo[lane], fates.hi[lane]) = (settled.lo[place], settled.hi[place]);
                kinds |= (settled.kinds() >> place & OF_EACH_KIND) << lane;
                index += 1;
            });
            [fates.lowered, fates.cut, fates.open] = [0, KIND, 2 * KIND].map(|shift| (kinds >> shift) as u32 & FULL);
        }
    }
}

/// Bits that the rays of a chunk of one kind take where all kinds are told in one number; and the same ray of each.
const KIND: u32 = LANES as u32;
const OF_EACH_KIND: u64 = 1 | 1 << KIND | 1 << (2 * KIND);
/// The rays of a chunk.
const FULL: u32 = (1 << LANES) - 1;

/// Puts rays of a chunk behind the first so many.
#[inline(always)]
fn fill<R: Real>(batches: &mut Vec<Batch<R>>, first: usize, rays: u32, xi: f64, (aims, wood): (&AimChunk, Wood<'_>)) {
    make_room(batches, first);
    let mut index = first;
    each(rays, |lane| {
        batches[index / BATCH].put(index % BATCH, xi, aims, (lane, wood));
        index += 1;
    });
}

/// What rays lose, as far as it is proved; sets of rays by bit.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Settled<const COUNT: usize> {
    /// Radii that a ray loses, mm: from its lowest entry …
    pub(crate) lo: [f32; COUNT],
    /// … to its highest exit, or the outer end where that is nearer.
    pub(crate) hi: [f32; COUNT],
    /// Rays that lose the outer part of their outermost solid, and no more.
    pub(crate) lowered: u32,
    /// Rays that lose lo … hi, wherever there is wood.
    pub(crate) cut: u32,
    /// Rays of which nothing is proved.
    pub(crate) open: u32,
}

impl<const COUNT: usize> Settled<COUNT> {
    pub(crate) const NOTHING: Self = Settled { lo: [0.0; COUNT], hi: [0.0; COUNT], lowered: 0, cut: 0, open: 0 };

    /// The rays that are lowered, cut and open, in one number.
    #[inline(always)]
    fn kinds(&self) -> u64 {
        u64::from(self.lowered) | u64::from(self.cut) << KIND | u64::from(self.open) << (2 * KIND)
    }
}
