//! One tile under the cutter: block by block, piece by piece, row by row, a few columns at a time.

mod notes;
mod record;

use std::ops::Range as Indices;

use dryturn_geom::ConvexPart;

use crate::job::{CarveError, Cutter, UpperBody};
use crate::kernel::{Aim, AimChunk, Bars, Chunk, Contact, Gathered, LANES, Piece, Range, Row, Underside, sweep};
use crate::plan::{Plan, State};
use crate::reach::{Columns, Extent, Sector, radius_below, rows_between};
use crate::tile::Tile;
use crate::tree::Place;
use crate::watch::Solid;

pub(crate) use record::{Record, Recorder, Taken};

/// Work between two looks at whether to stop: a ray that is searched counts one, a piece [`PIECE`]. Some milliseconds at the
/// most, and mostly well under one.
const LOOK_EVERY: u32 = 256;
const PIECE: u32 = 4;

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
        self.advance_told(state, blocks, &mut (), look)
    }

    /// As [`Plan::advance`]; `record` is told what each chunk of rays loses.
    ///
    /// # Errors
    /// What `look` says.
    pub(crate) fn advance_told(
        &self,
        state: &mut State,
        blocks: Indices<u32>,
        record: &mut impl Record,
        mut look: impl FnMut(u32) -> Result<(), CarveError>,
    ) -> Result<(), CarveError> {
        self.pass_over(state, blocks, |worker, pass| worker.piece(pass, record), &mut look)
    }

    /// As [`Plan::advance`], with nothing but the loads, comparisons and stores that no carve can do without.
    pub(crate) fn skim(&self, state: &mut State, blocks: Indices<u32>) -> Result<(), CarveError> {
        let skim = |worker: &mut Worker<'_>, pass: &Pass<'_>| {
            worker.skim(pass);
            Ok(())
        };
        self.pass_over(state, blocks, skim, &mut |_| Ok(()))
    }

    fn pass_over(
        &self,
        state: &mut State,
        blocks: Indices<u32>,
        mut act: impl FnMut(&mut Worker<'_>, &Pass<'_>) -> Result<(), CarveError>,
        look: &mut dyn FnMut(u32) -> Result<(), CarveError>,
    ) -> Result<(), CarveError> {
        let window = self.window(&state.tile.rows, &state.tile.columns);
        let (aims, rows, gathered) = (Vec::new(), Vec::new(), Gathered::default());
        let mut worker = Worker { plan: self, state, aims, rows, gathered, look, work: 0 };
        let mut from = blocks.start;
        while let Some(block) = self.tree.next(from, blocks.end, &window, worker.top()) {
            from = block + 1;
            let motion = self.job.motions.motion(block);
            let Some(motion) = &motion else { continue };
            let top = worker.top();
            let cutter_index = usize::from(motion.cutter);
            let cutter = &self.job.cutters[cutter_index];
            self.tree.try_pieces(motion, &window, top, |piece, place| {
                let extent = Extent::of_piece(piece);
                act(&mut worker, &Pass { block, rapid: motion.rapid, cutter, cutter_index, piece, place, extent })?;
                worker.has_done(PIECE, block)
            })?;
        }
        (worker.look)(blocks.end)
    }
}

/// One piece as a worker sees it.
pub(crate) struct Pass<'a> {
    block: u32,
    rapid: bool,
    cutter: &'a Cutter,
    cutter_index: usize,
    piece: &'a Piece,
    place: Place,
    extent: Extent,
}

impl Pass<'_> {
    /// Whether more than the wood taken is to be told of each ray.
    fn is_noted(&self) -> bool {
        self.rapid || self.extent.z.0 < 0.0
    }
}

/// A ray of the tile: its row on the grid, its column of the tile.
#[derive(Clone, Copy)]
struct RayOfTile {
    row: u32,
    column: u32,
}

/// Rays that are changed by a piece, as they were before; kept only where a body above the flutes is near.
type Before = Vec<(usize, Solid)>;

struct Worker<'a> {
    plan: &'a Plan<'a>,
    state: &'a mut State,
    /// How the columns of the tile stand during the piece, by chunk; only those the piece can see are filled in.
    aims: Vec<AimChunk>,
    /// Room for the rows under a part.
    rows: Vec<Row>,
    /// The rays that a part may meet.
    gathered: Gathered,
    /// Told now and then which block is under way; may end the work, whatever is half done.
    look: &'a mut dyn FnMut(u32) -> Result<(), CarveError>,
    /// Work since it was told last.
    work: u32,
}

impl Worker<'_> {
    /// Counts work done, and looks whether to go on when it has come to enough.
    #[inline]
    fn has_done(&mut self, work: u32, block: u32) -> Result<(), CarveError> {
        self.work += work;
        if self.work < LOOK_EVERY {
            return Ok(());
        }
        self.work = 0;
        (self.look)(block)
    }

    fn top(&self) -> f64 {
        f64::from(self.state.tile.top())
    }

    fn piece(&mut self, pass: &Pass<'_>, record: &mut impl Record) -> Result<(), CarveError> {
        let uppers = self.uppers_in_reach(pass);
        let Some(sector) = self.widest(pass, &uppers) else { return Ok(()) };
        let columns = Columns::new(&pass.extent, &self.plan.grid);
        self.aim(pass.piece, sector, &columns);
        record.begin(pass);
        let mut before = (!uppers.is_empty()).then(Before::new);
        // From the top down: each part then takes all of a ray outside its entry, not a stretch from its middle.
        let parts = pass.cutter.flutes.parts().iter().zip(&self.plan.undersides[pass.cutter_index]);
        for (part, underside) in parts.rev() {
            self.cut(pass, (part, underside), &columns, before.as_mut(), record)?;
        }
        for body in &uppers {
            self.watch_body(pass, body, &columns, before.as_deref().unwrap_or_default());
        }
        Ok(())
    }

    /// Looks how the columns that see a sector stand during a piece.
    fn aim(&mut self, piece: &Piece, sector: Sector, columns: &Columns) {
        let tile = &self.state.tile.columns;
        self.aims.resize(tile.len().div_ceil(LANES), AimChunk::ZERO);
        for range in columns.seen(sector, tile).into_iter().filter(|range| !range.is_empty()) {
            for chunk in (range.start - tile.start) / LANES..(range.end - tile.start).div_ceil(LANES) {
                let (sines, cosines) = self.plan.directions.chunk(tile.start + chunk * LANES);
                self.plan.instructions.aim(piece, sines, cosines, &mut self.aims[chunk]);
            }
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

    /// Lists the rows of the tile that a part of the flutes can reach.
    fn rows_under(&mut self, pass: &Pass<'_>, part: &ConvexPart, columns: &Columns) -> Vec<Row> {
        let mut rows = std::mem::take(&mut self.rows);
        rows.clear();
        let (grid, tile) = (&self.plan.grid, &self.state.tile);
        let lowest = pass.extent.z.0;
        let Some(radius) = radius_below(part, f64::from(tile.top()) - lowest) else { return rows };
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
                    let within = range.start - tile.columns.start..range.end - tile.columns.start;
                    rows.push(Row { row, station, floor, within });
                }
            }
        }
        self.state.touches += rows.iter().map(|row| row.within.len() as u64).sum::<u64>();
        rows
    }

    /// Loads, compares and stores every ray that the flutes can reach, and does nothing else.
    fn skim(&mut self, pass: &Pass<'_>) {
        let columns = Columns::new(&pass.extent, &self.plan.grid);
        for part in pass.cutter.flutes.parts() {
            let rows = self.rows_under(pass, part, &columns);
            for Row { row, floor, within, .. } in &rows {
                self.plan.instructions.skim(self.state.tile.columns_mut(*row, within), *floor as f32);
            }
            self.rows = rows;
        }
    }

    /// Lets a part of the flutes pass; `before` takes the rays it changes as they were.
    fn cut(
        &mut self,
        pass: &Pass<'_>,
        (part, underside): (&ConvexPart, &Underside),
        columns: &Columns,
        mut before: Option<&mut Before>,
        record: &mut impl Record,
    ) -> Result<(), CarveError> {
        let contact = Contact::new(underside, pass.piece, self.plan.tree.top);
        self.gather(pass, part, columns, &contact);
        // Whether a ray is settled at once must not hang on what else the tile holds: that would show in its last bits.
        let is_settled = !pass.is_noted() && !self.gathered.is_empty();
        if is_settled {
            self.plan.instructions.settle(&contact, &mut self.gathered);
        }
        let mut removed = Removed::default();
        let mut row = usize::MAX;
        for index in 0..self.gathered.chunks() {
            let chunk = self.gathered.chunk(index);
            if chunk.row != std::mem::replace(&mut row, chunk.row) {
                record.go_to(row, self.plan.grid.station(row));
            }
            let solids = before.is_some().then(|| self.solids(&chunk));
            let taken = self.cut_chunk(pass, part, (index, is_settled), record)?;
            if let (Some(before), Some(solids)) = (before.as_deref_mut(), solids) {
                keep_changed(before, solids, &self.state.tile);
            }
            removed.add(taken);
        }
        if let Removed(Some(units)) = removed {
            self.state.tile.refresh_all();
            self.state.note_removed(pass.block, units);
        }
        Ok(())
    }

    /// Gathers the rays that a part of the flutes may meet.
    fn gather(&mut self, pass: &Pass<'_>, part: &ConvexPart, columns: &Columns, contact: &Contact<'_>) {
        let rows = self.rows_under(pass, part, columns);
        self.gathered.begin(contact);
        let mut bars = Bars::new(part, pass.piece, self.top());
        let (instructions, field) = (self.plan.instructions, self.state.tile.field());
        instructions.gather(&rows, &mut bars, &self.aims, &field, &mut self.gathered);
        self.rows = rows;
    }

    /// Cuts the rays of a chunk that are met; gives the units removed if any has changed.
    fn cut_chunk(
        &mut self,
        pass: &Pass<'_>,
        part: &ConvexPart,
        (index, is_settled): (usize, bool),
        record: &mut impl Record,
    ) -> Result<Option<i64>, CarveError> {
        let (mut lowered, mut removed) = (None, Removed::default());
        let Chunk { row, chunk, rays: mut open } = self.gathered.chunk(index);
        let ray = self.state.tile.index(row, self.state.tile.columns.start) + chunk * LANES;
        if is_settled {
            let tile = &mut self.state.tile;
            let settled = self.gathered.fates(index);
            if settled.lowered != 0 {
                let (ends, outer) = ((&settled.lo, pass.block), tile.outer_ends_mut(row, chunk));
                let (rays, aims) = (settled.lowered, &self.aims[chunk]);
                lowered = Some(record.lower(self.plan.instructions, rays, ends, aims, outer));
            }
            for lane in ones(settled.cut) {
                let (lo, hi) = (settled.lo[lane], settled.hi[lane]);
                let before = record.is_listening().then(|| tile.outermost(ray + lane));
                let taken = tile.remove(ray + lane, lo, hi, pass.block);
                record.cut(&self.aims[chunk], lane, before.zip(taken), tile.outermost(ray + lane));
                removed.add(taken);
            }
            open = settled.open;
        }
        self.has_done(open.count_ones(), pass.block)?;
        for lane in ones(open) {
            let place = RayOfTile { row: row as u32, column: (chunk * LANES + lane) as u32 };
            let before = record.is_listening().then(|| self.state.tile.outermost(ray + lane));
            let taken = self.search(pass, part, &place, ray + lane);
            record.cut(&self.aims[chunk], lane, before.zip(taken), self.state.tile.outermost(ray + lane));
            removed.add(taken);
        }
        // Where rays were lowered and no more, the greatest that is left is known.
        match (lowered, removed.0) {
            (Some((_, top)), None) => self.state.tile.set_top(row, chunk, top),
            (None, None) => {}
            _ => self.state.tile.refresh_top(row, chunk),
        }
        removed.add(lowered.map(|(units, _)| units));
        Ok(removed.0)
    }

    /// One ray by itself; gives the units removed if it has changed.
    fn search(&mut self, pass: &Pass<'_>, part: &ConvexPart, place: &RayOfTile, ray: usize) -> Option<i64> {
        let tile = &mut self.state.tile;
        let outer = f64::from(tile.outermost(ray).outer);
        let inner = f64::from(tile.innermost(ray));
        if outer <= inner {
            return None;
        }
        let solid = pass.is_noted().then(|| solid_of(tile, ray));
        let station = self.plan.grid.station(place.row as usize);
        let passages = sweep(part, &pass.piece.ray(station, self.aim_of(place)), Range { inner, outer });
        let tile = &mut self.state.tile;
        let taken = passages.iter().filter_map(|&(lo, hi)| tile.remove(ray, lo as f32, hi as f32, pass.block));
        let removed = taken.reduce(|sum, units| sum + units);
        if let Some(solid) = solid.filter(|_| removed > Some(0)) {
            self.note(pass, place, &solid, &passages);
        }
        removed
    }

    /// How the column of a ray stands during the piece.
    fn aim_of(&self, place: &RayOfTile) -> Aim {
        let column = place.column as usize;
        self.aims[column / LANES].aim(column % LANES)
    }

    /// The solid of the rays of a chunk that are met.
    fn solids(&self, chunk: &Chunk) -> Before {
        let tile = &self.state.tile;
        let first = tile.index(chunk.row, tile.columns.start) + chunk.chunk * LANES;
        ones(chunk.rays).map(|lane| (first + lane, solid_of(tile, first + lane))).collect()
    }
}

/// Adds those of the rays that the tile no longer holds as they were.
fn keep_changed(before: &mut Before, solids: Before, tile: &Tile) {
    let is_new = |before: &Before, ray| before.iter().all(|(known, _)| *known != ray);
    for (ray, solid) in solids {
        if solid != solid_of(tile, ray) && is_new(before, ray) {
            before.push((ray, solid));
        }
    }
}

/// Units of volume taken, if anything has changed at all.
#[derive(Default)]
struct Removed(Option<i64>);

impl Removed {
    #[inline]
    fn add(&mut self, taken: Option<i64>) {
        if let Some(units) = taken {
            self.0 = Some(self.0.unwrap_or(0) + units);
        }
    }
}

/// The places of the bits that are set.
#[inline]
fn ones(mut bits: u32) -> impl Iterator<Item = usize> {
    std::iter::from_fn(move || {
        (bits != 0).then(|| {
            let place = bits.trailing_zeros() as usize;
            bits &= bits - 1;
            place
        })
    })
}

fn solid_of(tile: &Tile, ray: usize) -> Solid {
    tile.spans(ray).iter().rev().map(|span| (f64::from(span.inner), f64::from(span.outer))).collect()
}
