//! One tile under the cutter: block by block, piece by piece, row by row.

use std::ops::Range as Indices;

use dryturn_geom::ConvexPart;

use crate::job::{CarveError, Cutter, UpperBody};
use crate::kernel::{Aim, AimChunk, BATCH, Bars, Batch, Contact, LANES, Passages, Piece, Range, sweep};
use crate::plan::{Plan, State};
use crate::reach::{Columns, Extent, Sector, most_upright, radius_below, rows_between};
use crate::tile::{SAME_END, Tile};
use crate::watch::{self, DEEP_ENOUGH, Reach, Solid};

/// Pieces between two looks at whether to stop, well under a millisecond's work.
const LOOK_EVERY: u32 = 64;

impl Plan<'_> {
    /// Lets a range of blocks pass over a tile. `look` is told now and then which block is next, and may end it.
    ///
    /// # Errors
    /// What `look` says.
    pub(crate) fn advance(
        &self,
        state: &mut State,
        blocks: Indices<u32>,
        look: impl FnMut(u32) -> Result<(), CarveError>,
    ) -> Result<(), CarveError> {
        self.pass_over(state, blocks, |worker, pass| worker.piece(pass), look)
    }

    /// As [`Plan::advance`], with nothing but the loads, comparisons and stores that no carve can do without.
    pub(crate) fn skim(&self, state: &mut State, blocks: Indices<u32>) -> Result<(), CarveError> {
        self.pass_over(state, blocks, |worker, pass| worker.skim(pass), |_| Ok(()))
    }

    fn pass_over(
        &self,
        state: &mut State,
        blocks: Indices<u32>,
        mut act: impl FnMut(&mut Worker<'_>, &Pass<'_>),
        mut look: impl FnMut(u32) -> Result<(), CarveError>,
    ) -> Result<(), CarveError> {
        let window = self.window(&state.tile.rows, &state.tile.columns);
        let mut worker =
            Worker { plan: self, state, aims: Aims::default(), candidates: Vec::new(), skimmed: Vec::new() };
        let mut pieces = 0;
        let mut from = blocks.start;
        while let Some(block) = self.tree.next(from, blocks.end, &window, worker.top()) {
            from = block + 1;
            let Some(motion) = self.job.motions.motion(block) else { continue };
            let top = worker.top();
            let cutter = &self.job.cutters[usize::from(motion.cutter)];
            self.tree.pieces(&motion, &window, top, |piece| {
                let extent = Extent::of_piece(piece);
                act(&mut worker, &Pass { block, rapid: motion.rapid, cutter, piece, extent });
                pieces += 1;
            });
            if pieces >= LOOK_EVERY {
                pieces = 0;
                look(from)?;
            }
        }
        look(blocks.end)
    }
}

/// One piece as a worker sees it.
struct Pass<'a> {
    block: u32,
    rapid: bool,
    cutter: &'a Cutter,
    piece: &'a Piece,
    extent: Extent,
}

impl Pass<'_> {
    /// Whether more than the wood taken is to be told of each ray.
    fn is_noted(&self) -> bool {
        self.rapid || self.extent.z.0 < 0.0
    }
}

/// How the columns of the tile stand during a piece.
#[derive(Default)]
struct Aims {
    /// By column of the tile; only those the piece can see are filled in.
    exact: Vec<Aim>,
    /// The same by chunk, in single precision.
    chunks: Vec<AimChunk>,
}

impl Aims {
    fn take(&mut self, piece: &Piece, directions: &[(f64, f64)], chunks: Indices<usize>) {
        let width = directions.len();
        self.exact.resize(width.next_multiple_of(LANES), Aim::default());
        self.chunks.resize(width.div_ceil(LANES), AimChunk::default());
        for chunk in chunks {
            let columns = chunk * LANES..((chunk + 1) * LANES).min(width);
            let rough = &mut self.chunks[chunk];
            for (lane, column) in columns.enumerate() {
                let aim = piece.aim(directions[column]);
                self.exact[column] = aim;
                rough.s0[lane] = aim.start.0 as f32;
                rough.c0[lane] = aim.start.1 as f32;
                rough.s1[lane] = aim.end.0 as f32;
                rough.c1[lane] = aim.end.1 as f32;
            }
        }
    }
}

/// A ray that the filter could not clear.
#[derive(Clone, Copy)]
struct Candidate {
    row: u32,
    column: u32,
}

struct Worker<'a> {
    plan: &'a Plan<'a>,
    state: &'a mut State,
    aims: Aims,
    candidates: Vec<Candidate>,
    /// Rows of the tile with their floors and columns.
    skimmed: Vec<(usize, f32, Indices<usize>)>,
}

impl Worker<'_> {
    fn top(&self) -> f64 {
        f64::from(self.state.tile.top())
    }

    fn piece(&mut self, pass: &Pass<'_>) {
        let uppers = self.uppers_in_reach(pass);
        let Some(sector) = self.widest(pass, &uppers) else { return };
        let columns = Columns::new(&pass.extent, &self.plan.grid);
        for range in columns.seen(sector, &self.state.tile.columns) {
            let start = self.state.tile.columns.start;
            let chunks = (range.start - start) / LANES..(range.end - start).div_ceil(LANES);
            let directions = &self.plan.directions[self.state.tile.columns.clone()];
            self.aims.take(pass.piece, directions, if range.is_empty() { 0..0 } else { chunks });
        }
        let mut before = Vec::new();
        // From the top down: each part then takes all of a ray outside its entry, not a stretch from its middle.
        for part in pass.cutter.flutes.parts().iter().rev() {
            self.find(pass, part, &columns);
            self.cut(pass, part, if uppers.is_empty() { None } else { Some(&mut before) });
        }
        for body in &uppers {
            self.watch_body(pass, body, &columns, &before);
        }
    }

    /// The angles that see any body of the cutter.
    fn widest(&self, pass: &Pass<'_>, uppers: &[UpperBody]) -> Option<Sector> {
        let lowest = pass.extent.z.0;
        let room = self.top() - lowest;
        let flutes = pass.cutter.flutes.parts().iter().filter_map(|part| radius_below(part, room));
        let radius = flutes.chain(uppers.iter().map(|body| body.radius)).reduce(f64::max)?;
        Some(Sector::seen(&pass.extent, radius, lowest))
    }

    /// Calls `visit` with every row of the tile that a part of the flutes can reach, its floor (mm; nothing of the part is
    /// lower there) and the columns that can see it.
    fn windows(
        &self,
        pass: &Pass<'_>,
        part: &ConvexPart,
        columns: &Columns,
        mut visit: impl FnMut(usize, f64, Indices<usize>),
    ) {
        let (grid, tile) = (&self.plan.grid, &self.state.tile);
        let lowest = pass.extent.z.0;
        let Some(radius) = radius_below(part, f64::from(tile.top()) - lowest) else { return };
        for row in rows_between(grid, pass.extent.x.0 - radius, pass.extent.x.1 + radius, &tile.rows) {
            let station = grid.station(row);
            let aside = (pass.extent.x.0 - station).max(station - pass.extent.x.1).max(0.0);
            let floor = lowest + part.lowest_at(aside).unwrap_or(part.bottom);
            if f64::from(tile.row_top(row)) <= floor {
                continue;
            }
            let half_width = (radius * radius - aside * aside).max(0.0).sqrt();
            for range in columns.seen(Sector::seen(&pass.extent, half_width, floor), &tile.columns) {
                if !range.is_empty() {
                    visit(row, floor, range.start - tile.columns.start..range.end - tile.columns.start);
                }
            }
        }
    }

    /// Lists the rays that a part of the flutes may cut.
    fn find(&mut self, pass: &Pass<'_>, part: &ConvexPart, columns: &Columns) {
        let mut candidates = std::mem::take(&mut self.candidates);
        candidates.clear();
        let mut touches = 0;
        let (plan, tile, aims) = (self.plan, &self.state.tile, &self.aims);
        let mut bars = Bars::new(part, pass.piece, f64::from(tile.top()), f64::from(SAME_END));
        self.windows(pass, part, columns, |row, floor, within| {
            touches += within.len();
            bars.go_to(plan.grid.station(row));
            for chunk in within.start / LANES..within.end.div_ceil(LANES) {
                if f64::from(tile.chunk_top(row, chunk)) <= floor {
                    continue;
                }
                let met = plan.instructions.meets(&bars, &aims.chunks[chunk], tile.outer_ends(row, chunk));
                let mut met = met & lanes_within(&within, chunk);
                while met != 0 {
                    let column = chunk * LANES + met.trailing_zeros() as usize;
                    candidates.push(Candidate { row: row as u32, column: column as u32 });
                    met &= met - 1;
                }
            }
        });
        self.state.touches += touches as u64;
        self.candidates = candidates;
    }

    /// Loads, compares and stores every ray that the flutes can reach, and does nothing else.
    fn skim(&mut self, pass: &Pass<'_>) {
        let columns = Columns::new(&pass.extent, &self.plan.grid);
        for part in pass.cutter.flutes.parts() {
            let mut rows = std::mem::take(&mut self.skimmed);
            rows.clear();
            self.windows(pass, part, &columns, |row, floor, within| rows.push((row, floor as f32, within)));
            for (row, floor, within) in &rows {
                self.state.touches += within.len() as u64;
                self.plan.instructions.skim(self.state.tile.outer_ends_mut(*row, within), *floor);
            }
            self.skimmed = rows;
        }
    }

    /// Lets a part of the flutes cut the rays listed; `before` takes those it changes as they were.
    fn cut(&mut self, pass: &Pass<'_>, part: &ConvexPart, mut before: Option<&mut Vec<(usize, Solid)>>) {
        if self.candidates.is_empty() {
            return;
        }
        // Whether a ray is settled at once must not hang on what else the tile holds: that would show in its last bits.
        let contact = if pass.is_noted() { None } else { Some(Contact::new(part, pass.piece)) };
        let candidates = std::mem::take(&mut self.candidates);
        let mut changed = Changed::default();
        let mut removed = None;
        for batch in candidates.chunks(BATCH) {
            let proved = contact.as_ref().map_or([None; BATCH], |contact| self.settle(pass, contact, batch));
            for (candidate, lowest) in batch.iter().zip(proved) {
                let row = candidate.row as usize;
                let ray = self.state.tile.index(row, self.state.tile.columns.start + candidate.column as usize);
                let solid = (before.is_some() || pass.is_noted()).then(|| solid_of(&self.state.tile, ray));
                let units = match lowest {
                    Some((lo, outer)) => self.state.tile.remove(ray, lo as f32, outer, pass.block),
                    None => self.cut_ray(pass, part, candidate, ray, solid.as_ref()),
                };
                let Some(units) = units else { continue };
                removed = Some(removed.unwrap_or(0) + units);
                changed.note(&mut self.state.tile, row, candidate.column as usize / LANES);
                if let (Some(before), Some(solid)) = (before.as_deref_mut(), solid)
                    && before.iter().all(|(known, _)| *known != ray)
                {
                    before.push((ray, solid));
                }
            }
        }
        changed.finish(&mut self.state.tile);
        if let Some(units) = removed {
            self.state.note_removed(pass.block, units);
        }
        self.candidates = candidates;
    }

    /// (lowest entry, outer end) of each ray of a batch, where it is proved at once.
    #[inline]
    fn settle(&self, pass: &Pass<'_>, contact: &Contact, rays: &[Candidate]) -> [Option<(f64, f32)>; BATCH] {
        let tile = &self.state.tile;
        let mut batch = Batch { count: rays.len(), ..Batch::default() };
        let mut outer = [0.0; BATCH];
        for (lane, ray) in rays.iter().enumerate() {
            let aim = &self.aims.exact[ray.column as usize];
            outer[lane] = tile.outer_end(ray.row as usize, ray.column as usize);
            batch.xi[lane] = self.plan.grid.station(ray.row as usize) - pass.piece.from.x;
            batch.outer[lane] = f64::from(outer[lane]);
            (batch.s0[lane], batch.c0[lane]) = aim.start;
            (batch.s1[lane], batch.c1[lane]) = aim.end;
        }
        let settled = self.plan.instructions.settle(contact, &batch);
        std::array::from_fn(|lane| settled.is_proved[lane].then(|| (settled.lo[lane], outer[lane])))
    }

    /// One ray by itself, which holds `solid` (asked for only where something is noted); gives the units removed
    /// if it has changed.
    fn cut_ray(
        &mut self,
        pass: &Pass<'_>,
        part: &ConvexPart,
        candidate: &Candidate,
        ray: usize,
        solid: Option<&Solid>,
    ) -> Option<i64> {
        let tile = &mut self.state.tile;
        let outer = f64::from(tile.outermost(ray).outer);
        let inner = f64::from(tile.innermost(ray));
        if outer <= inner {
            return None;
        }
        let aim = self.aims.exact[candidate.column as usize];
        let station = self.plan.grid.station(candidate.row as usize);
        let passages = sweep(part, &pass.piece.ray(station, aim), Range { inner, outer });
        let taken = passages.iter().filter_map(|&(lo, hi)| tile.remove(ray, lo as f32, hi as f32, pass.block));
        let removed = taken.reduce(|sum, units| sum + units);
        if let Some(solid) = solid.filter(|_| removed > Some(0) && pass.is_noted()) {
            self.note(pass, candidate, solid, &passages);
        }
        removed
    }

    fn reach(&self, pass: &Pass<'_>, ray: &Candidate, (depth, radius): (f64, f64)) -> Reach {
        let column = self.state.tile.columns.start as u32 + ray.column;
        Reach { block: pass.block, depth: depth as f32, radius: radius as f32, row: ray.row, column }
    }

    fn direction(&self, ray: &Candidate) -> (f64, f64) {
        self.plan.directions[self.state.tile.columns.start + ray.column as usize]
    }

    /// Keeps what a cut has to tell beside the wood it took from a ray's `solid`.
    fn note(&mut self, pass: &Pass<'_>, ray: &Candidate, solid: &Solid, passages: &Passages) {
        let (station, direction) = (self.plan.grid.station(ray.row as usize), self.direction(ray));
        let aim = self.aims.exact[ray.column as usize];
        for taken in watch::overlaps(solid, passages) {
            if pass.rapid {
                let found = watch::rapid_depth(&pass.cutter.flutes, pass.piece, station, direction, taken);
                let reach = self.reach(pass, ray, found);
                watch::keep_deepest(&mut self.state.seen.rapids, reach);
            }
            let down = aim.start.1.min(aim.end.1);
            if pass.extent.z.0 < 0.0 && down < 0.0 {
                let reach = self.reach(pass, ray, (-taken.1 * down, taken.1));
                watch::keep_deepest(&mut self.state.seen.beyond, reach);
            }
        }
    }

    fn uppers_in_reach(&self, pass: &Pass<'_>) -> Vec<UpperBody> {
        if pass.cutter.uppers.is_empty() {
            return Vec::new();
        }
        let top = self.top();
        pass.cutter.uppers.iter().filter(|body| pass.extent.z.0 + body.from < top).copied().collect()
    }

    /// Looks for wood inside a body above the flutes, after the flutes of the same piece have cut.
    fn watch_body(&mut self, pass: &Pass<'_>, body: &UpperBody, columns: &Columns, before: &[(usize, Solid)]) {
        let floor = pass.extent.z.0 + body.from;
        let (from, to) = (pass.extent.x.0 - body.radius, pass.extent.x.1 + body.radius);
        for row in rows_between(&self.plan.grid, from, to, &self.state.tile.rows) {
            let first = self.state.tile.index(row, self.state.tile.columns.start);
            let just_cut = before.iter().any(|(ray, _)| (first..first + self.state.tile.columns.len()).contains(ray));
            if f64::from(self.state.tile.row_top(row)) <= floor && !just_cut {
                continue;
            }
            for range in columns.seen(Sector::seen(&pass.extent, body.radius, floor), &self.state.tile.columns) {
                for column in range {
                    let column = column - self.state.tile.columns.start;
                    self.watch_ray(pass, body, Candidate { row: row as u32, column: column as u32 }, floor, before);
                }
            }
        }
    }

    fn watch_ray(
        &mut self,
        pass: &Pass<'_>,
        body: &UpperBody,
        candidate: Candidate,
        floor: f64,
        before: &[(usize, Solid)],
    ) {
        let tile = &self.state.tile;
        let aim = self.aims.exact[candidate.column as usize];
        let (station, direction) = (self.plan.grid.station(candidate.row as usize), self.direction(&candidate));
        let ray = tile.index(candidate.row as usize, tile.columns.start + candidate.column as usize);
        let found = &self.state.seen.uppers[body.kind as usize];
        let known = found.last().filter(|reach| reach.block == pass.block).map_or(0.0, |reach| f64::from(reach.depth));
        let over = (known - SAME_DEPTH).max(DEEP_ENOUGH);
        let flutes = &pass.cutter.flutes;
        let rise = body.from - flutes.length() + DEEP_ENOUGH;
        let cut_now = before.iter().find(|(changed, _)| *changed == ray).map(|(_, solid)| solid);
        let deepest = match cut_now.filter(|_| watch::rise_of(pass.piece, flutes.radius()) > rise) {
            Some(solid) => {
                let rise = rise.max(DEEP_ENOUGH);
                watch::depth_before_cut(body, flutes, pass.piece, station, direction, solid, rise, over)
            }
            None if f64::from(tile.outermost(ray).outer) * most_upright(&aim).max(0.0) <= floor => None,
            None => watch::depth_in_body(body, pass.piece, station, direction, &solid_of(tile, ray), over),
        };
        if let Some(found) = deepest {
            let reach = self.reach(pass, &candidate, found);
            watch::keep_deepest(&mut self.state.seen.uppers[body.kind as usize], reach);
        }
    }
}

/// More than depths differ by that read the same in single precision, mm; which of such rays is named must not depend on
/// which was looked at first.
const SAME_DEPTH: f64 = 1e-5;

fn solid_of(tile: &Tile, ray: usize) -> Solid {
    tile.spans(ray).iter().rev().map(|span| (f64::from(span.inner), f64::from(span.outer))).collect()
}

/// The bits of a chunk's lanes that lie within columns of the tile.
#[inline]
fn lanes_within(within: &Indices<usize>, chunk: usize) -> u32 {
    let first = within.start.saturating_sub(chunk * LANES);
    let end = (within.end - chunk * LANES).min(LANES);
    (u32::MAX >> (32 - end as u32)) & (u32::MAX << first as u32)
}

/// The chunk whose rays have changed last; its top is brought up to date when the work moves on.
#[derive(Default)]
struct Changed(Option<(usize, usize)>);

impl Changed {
    #[inline]
    fn note(&mut self, tile: &mut Tile, row: usize, chunk: usize) {
        if self.0 != Some((row, chunk)) {
            self.refresh(tile);
            self.0 = Some((row, chunk));
        }
    }

    fn refresh(&self, tile: &mut Tile) {
        if let Some((row, chunk)) = self.0 {
            tile.refresh_top(row, chunk);
        }
    }

    fn finish(self, tile: &mut Tile) {
        if self.0.is_some() {
            self.refresh(tile);
            tile.refresh_all();
        }
    }
}
