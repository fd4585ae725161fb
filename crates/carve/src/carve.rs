//! The run: bins, then tiles, each by one thread from its first piece to its last.

use std::ops::Range as Indices;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};

use dryturn_geom::{ConvexPart, Motions, Stock};
use rayon::prelude::*;

use crate::bins::{Bins, Layout, PieceId, bin, piece_of};
use crate::carved::Carved;
use crate::grid::Grid;
use crate::job::{CarveError, Cutter, Job, RunOptions, Upper, UpperBody, piece_count};
use crate::kernel::{Aim, Passages, Piece, Range, sweep};
use crate::reach::{Extent, Sector, most_upright, radius_below, rows_between};
use crate::tile::{CHUNK, PREPARED, Span, Spans, Tile, UNTOUCHED};
use crate::watch::{self, DEEP_ENOUGH, Reach, Solid};

/// Carves all blocks of a job out of the blank.
///
/// The result depends on the job and the grid alone: not on threads, tiles or timing.
///
/// # Errors
/// [`CarveError::Cancelled`] if told to stop, [`CarveError::Threads`] if no thread could be started, and
/// [`CarveError::NoSuchCutter`] where the job contradicts itself.
pub fn carve(job: &Job<'_>, grid: &Grid, options: &RunOptions<'_>) -> Result<Carved, CarveError> {
    let pool = rayon::ThreadPoolBuilder::new().num_threads(options.threads).build()?;
    pool.install(|| {
        let layout = Layout::new(grid, options.tile);
        let bins = bin(job, grid, &layout)?;
        let run = Run { job, grid, layout, directions: grid.directions(), options, steps: steps(&bins, &layout) };
        let done = AtomicUsize::new(0);
        let results: Vec<TileResult> = (0..layout.count())
            .into_par_iter()
            .map(|tile| run.carve_tile(tile, &bins[tile], &done))
            .collect::<Result<_, _>>()?;
        Ok(gather(job, grid.clone(), layout, results))
    })
}

/// Number of progress steps: every tile counts once more than its pieces, so that an empty job ends at all done.
fn steps(bins: &Bins, layout: &Layout) -> usize {
    layout.count() + bins.iter().map(Vec::len).sum::<usize>()
}

/// What one tile has to tell.
struct TileResult {
    tile: Tile,
    blank: i64,
    /// (block, units removed), in block order.
    removed: Vec<(u32, i64)>,
    seen: Seen,
}

#[derive(Default)]
struct Seen {
    rapids: Vec<Reach>,
    beyond: Vec<Reach>,
    uppers: [Vec<Reach>; 3],
}

struct Run<'a> {
    job: &'a Job<'a>,
    grid: &'a Grid,
    layout: Layout,
    directions: Vec<(f64, f64)>,
    options: &'a RunOptions<'a>,
    steps: usize,
}

/// Pieces between two looks at the flag that ends a run, about a millisecond's work.
const LOOK_EVERY: usize = 64;

impl Run<'_> {
    fn carve_tile(&self, tile: usize, pieces: &[PieceId], done: &AtomicUsize) -> Result<TileResult, CarveError> {
        let (rows, columns) = self.layout.extent(tile, self.grid);
        let tile = Tile::filled(rows, columns, |row, column| self.prepared(row, column));
        let blank = tile_units(&tile);
        let mut worker = Worker {
            run: self,
            result: TileResult { tile, blank, removed: Vec::new(), seen: Seen::default() },
            lanes: Vec::new(),
        };
        for batch in pieces.chunks(LOOK_EVERY) {
            self.look(done, batch.len())?;
            for piece in batch {
                worker.piece(*piece);
            }
        }
        self.look(done, 1)?;
        Ok(worker.result)
    }

    fn look(&self, done: &AtomicUsize, more: usize) -> Result<(), CarveError> {
        if self.options.cancel.is_some_and(|cancel: &AtomicBool| cancel.load(Ordering::Relaxed)) {
            return Err(CarveError::Cancelled);
        }
        if let Some(progress) = self.options.progress {
            let now = done.fetch_add(more, Ordering::Relaxed) + more;
            progress(now as f64 / self.steps as f64);
        }
        Ok(())
    }

    /// The blank on one ray, bore and dimple taken out, from the outside in.
    fn prepared(&self, row: usize, column: usize) -> Spans {
        let station = self.grid.station(row);
        let hole = self.job.dimple.map_or(0.0, |d| ((station - d.apex) * d.slope).max(0.0));
        let bored = |r: f64| if r > 0.0 && self.job.stock.bore > 0.0 { PREPARED } else { UNTOUCHED };
        self.job
            .stock
            .spans(station, self.grid.theta(column))
            .as_slice()
            .iter()
            .rev()
            .filter(|(_, outer)| *outer > hole)
            .map(|&(inner, outer)| {
                let inner_by = if hole > inner { PREPARED } else { bored(inner) };
                Span { inner: inner.max(hole) as f32, outer: outer as f32, inner_by, outer_by: UNTOUCHED }
            })
            .collect()
    }
}

fn tile_units(tile: &Tile) -> i64 {
    (0..tile.rows.len() * tile.columns.len())
        .flat_map(|ray| tile.spans(ray))
        .map(|span| crate::tile::units(span.inner, span.outer))
        .sum()
}

/// What a piece means for one column of the tile.
#[derive(Clone, Copy)]
struct Lane {
    direction: (f64, f64),
    aim: Aim,
    /// Greatest cosine of φ during the piece, 0 for a ray that hangs down: the axis is its highest point.
    upright: f64,
}

struct Worker<'a> {
    run: &'a Run<'a>,
    result: TileResult,
    lanes: Vec<Lane>,
}

/// One piece as a worker sees it.
struct Pass<'a> {
    block: u32,
    rapid: bool,
    cutter: &'a Cutter,
    piece: Piece,
    extent: Extent,
}

impl Worker<'_> {
    fn piece(&mut self, id: PieceId) {
        let run = self.run;
        let Some(motion) = run.job.motions.motion(id.block) else { return };
        let cutter = &run.job.cutters[usize::from(motion.cutter)];
        let piece = piece_of(&motion, id.sub, piece_count(&motion, run.job.stock.swept_radius()));
        let pass = Pass { block: id.block, rapid: motion.rapid, cutter, piece, extent: Extent::of(&piece) };
        self.aim(&pass.piece);
        let mut before = Vec::new();
        let uppers: Vec<UpperBody> = self.uppers_in_reach(&pass);
        for part in cutter.flutes.parts() {
            self.cut(&pass, part, if uppers.is_empty() { None } else { Some(&mut before) });
        }
        for body in &uppers {
            self.watch_body(&pass, body, &before);
        }
    }

    /// Prepares the directions of the tile's columns as the piece sees them.
    fn aim(&mut self, piece: &Piece) {
        let (run, columns) = (self.run, self.result.tile.columns.clone());
        self.lanes.clear();
        self.lanes.extend(run.directions[columns].iter().map(|&direction| {
            let aim = piece.aim(direction);
            Lane { direction, aim, upright: most_upright(&aim).max(0.0) }
        }));
    }

    /// Lets one part of the flutes cut every ray of the tile it can reach; `before` takes the rays it changes as they
    /// were.
    fn cut(&mut self, pass: &Pass<'_>, part: &ConvexPart, mut before: Option<&mut Vec<(usize, Solid)>>) {
        let run = self.run;
        let lowest = pass.extent.z.0;
        let Some(radius) = radius_below(part, f64::from(self.result.tile.top()) - lowest) else { return };
        let rows = rows_between(run.grid, pass.extent.x.0 - radius, pass.extent.x.1 + radius, &self.result.tile.rows);
        for row in rows {
            let station = run.grid.station(row);
            let aside = (pass.extent.x.0 - station).max(station - pass.extent.x.1).max(0.0);
            let floor = lowest + height_at(part, aside);
            if f64::from(self.result.tile.row_top(row)) <= floor {
                continue;
            }
            let half_width = (radius * radius - aside * aside).max(0.0).sqrt();
            let sector = Sector::seen(&pass.extent, half_width, floor);
            for columns in sector.columns(run.grid, &self.result.tile.columns) {
                self.cut_row(pass, part, row, columns, floor, before.as_deref_mut());
            }
        }
    }

    fn cut_row(
        &mut self,
        pass: &Pass<'_>,
        part: &ConvexPart,
        row: usize,
        columns: Indices<usize>,
        floor: f64,
        mut before: Option<&mut Vec<(usize, Solid)>>,
    ) {
        let start = self.result.tile.columns.start;
        let mut column = columns.start;
        while column < columns.end {
            let chunk = (column - start) / CHUNK;
            let end = (start + (chunk + 1) * CHUNK).min(columns.end);
            if f64::from(self.result.tile.chunk_top(row, chunk)) > floor {
                let mut changed = false;
                for column in column..end {
                    changed |= self.cut_ray(pass, part, (row, column), floor, before.as_deref_mut());
                }
                if changed {
                    self.result.tile.refresh_top(row, chunk);
                }
            }
            column = end;
        }
    }

    #[inline]
    fn cut_ray(
        &mut self,
        pass: &Pass<'_>,
        part: &ConvexPart,
        (row, column): (usize, usize),
        floor: f64,
        before: Option<&mut Vec<(usize, Solid)>>,
    ) -> bool {
        let tile = &mut self.result.tile;
        let lane = self.lanes[column - tile.columns.start];
        let ray = tile.index(row, column);
        let span = tile.outermost(ray);
        let outer = f64::from(span.outer);
        // Nothing of the part is lower than the floor, so it meets the ray at or over floor / cos φ.
        if outer * lane.upright <= floor || span.outer <= span.inner {
            return false;
        }
        let station = self.run.grid.station(row);
        let range = Range { inner: f64::from(tile.innermost(ray)), outer };
        let passages = sweep(part, &pass.piece.ray(station, lane.aim), range);
        if passages.is_empty() {
            return false;
        }
        let noted = pass.rapid || pass.extent.z.0 < 0.0;
        let solid = (noted || before.is_some()).then(|| solid_of(tile, ray));
        let removed: i64 = passages.iter().map(|&(lo, hi)| tile.remove(ray, lo as f32, hi as f32, pass.block)).sum();
        if removed == 0 {
            return false;
        }
        if let Some(solid) = solid.as_ref().filter(|_| noted) {
            self.note(pass, (row, column), &lane, solid, &passages);
        }
        if let (Some(before), Some(solid)) = (before, solid)
            && before.iter().all(|(known, _)| *known != ray)
        {
            before.push((ray, solid));
        }
        match self.result.removed.last_mut().filter(|(block, _)| *block == pass.block) {
            Some((_, sum)) => *sum += removed,
            None => self.result.removed.push((pass.block, removed)),
        }
        true
    }

    /// Keeps what a cut has to tell beside the wood it took from a ray's `solid`.
    fn note(
        &mut self,
        pass: &Pass<'_>,
        (row, column): (usize, usize),
        lane: &Lane,
        solid: &Solid,
        passages: &Passages,
    ) {
        let reach = |(depth, radius): (f64, f64)| Reach {
            block: pass.block,
            depth: depth as f32,
            radius: radius as f32,
            row: row as u32,
            column: column as u32,
        };
        let station = self.run.grid.station(row);
        for taken in watch::overlaps(solid, passages) {
            if pass.rapid {
                let found = watch::rapid_depth(&pass.cutter.flutes, &pass.piece, station, lane.direction, taken);
                watch::keep_deepest(&mut self.result.seen.rapids, reach(found));
            }
            let down = lane.aim.start.1.min(lane.aim.end.1);
            if pass.extent.z.0 < 0.0 && down < 0.0 {
                watch::keep_deepest(&mut self.result.seen.beyond, reach((-taken.1 * down, taken.1)));
            }
        }
    }

    fn uppers_in_reach(&self, pass: &Pass<'_>) -> Vec<UpperBody> {
        if pass.cutter.uppers.is_empty() {
            return Vec::new();
        }
        let top = f64::from(self.result.tile.top());
        pass.cutter.uppers.iter().filter(|body| pass.extent.z.0 + body.from < top).copied().collect()
    }

    /// Looks for wood inside a body above the flutes, after the flutes of the same piece have cut.
    fn watch_body(&mut self, pass: &Pass<'_>, body: &UpperBody, before: &[(usize, Solid)]) {
        let run = self.run;
        let floor = pass.extent.z.0 + body.from;
        let rows = rows_between(
            run.grid,
            pass.extent.x.0 - body.radius,
            pass.extent.x.1 + body.radius,
            &self.result.tile.rows,
        );
        for row in rows {
            if f64::from(self.result.tile.row_top(row)) <= floor {
                continue;
            }
            let sector = Sector::seen(&pass.extent, body.radius, floor);
            for columns in sector.columns(run.grid, &self.result.tile.columns) {
                for column in columns {
                    self.watch_ray(pass, body, (row, column), floor, before);
                }
            }
        }
    }

    fn watch_ray(
        &mut self,
        pass: &Pass<'_>,
        body: &UpperBody,
        (row, column): (usize, usize),
        floor: f64,
        before: &[(usize, Solid)],
    ) {
        let tile = &self.result.tile;
        let lane = self.lanes[column - tile.columns.start];
        let ray = tile.index(row, column);
        let found = &self.result.seen.uppers[body.kind as usize];
        let known = found.last().filter(|reach| reach.block == pass.block).map_or(0.0, |reach| f64::from(reach.depth));
        let over = (known - SAME_DEPTH).max(DEEP_ENOUGH);
        let station = self.run.grid.station(row);
        let rise = body.from - pass.cutter.flutes.length() + DEEP_ENOUGH;
        let cut_now = before.iter().find(|(changed, _)| *changed == ray).map(|(_, solid)| solid);
        let deepest = match cut_now.filter(|_| watch::rise_of(&pass.piece, pass.cutter.flutes.radius()) > rise) {
            Some(solid) => watch::depth_before_cut(
                body,
                &pass.cutter.flutes,
                &pass.piece,
                station,
                lane.direction,
                solid,
                rise.max(DEEP_ENOUGH),
                over,
            ),
            None if f64::from(tile.outermost(ray).outer) * lane.upright <= floor => None,
            None => watch::depth_in_body(body, &pass.piece, station, lane.direction, &solid_of(tile, ray), over),
        };
        if let Some((depth, radius)) = deepest {
            let reach = Reach {
                block: pass.block,
                depth: depth as f32,
                radius: radius as f32,
                row: row as u32,
                column: column as u32,
            };
            watch::keep_deepest(&mut self.result.seen.uppers[body.kind as usize], reach);
        }
    }
}

/// More than depths differ by that read the same in single precision, mm; which of such rays is named must not depend on
/// which was looked at first.
const SAME_DEPTH: f64 = 1e-5;

fn solid_of(tile: &Tile, ray: usize) -> Solid {
    tile.spans(ray).iter().rev().map(|span| (f64::from(span.inner), f64::from(span.outer))).collect()
}

/// Lowest height over the tip at which a part reaches a distance from the spindle axis, mm; for distances beyond it
/// the height of its widest place, which is still a lower bound.
fn height_at(part: &ConvexPart, distance: f64) -> f64 {
    part.lowest_at(distance).unwrap_or(part.bottom)
}

fn gather(job: &Job<'_>, grid: Grid, layout: Layout, results: Vec<TileResult>) -> Carved {
    let mut removed = vec![0i64; job.motions.count() as usize];
    let mut seen = Seen::default();
    let mut blank = 0i128;
    let mut tiles = Vec::with_capacity(results.len());
    for result in results {
        blank += i128::from(result.blank);
        for (block, units) in result.removed {
            removed[block as usize] += units;
        }
        seen.rapids.extend(result.seen.rapids);
        seen.beyond.extend(result.seen.beyond);
        for (all, found) in seen.uppers.iter_mut().zip(result.seen.uppers) {
            all.extend(found);
        }
        tiles.push(result.tile);
    }
    let [shank, holder, spindle] = seen.uppers.map(watch::join);
    let uppers = vec![(Upper::Shank, shank), (Upper::Holder, holder), (Upper::Spindle, spindle)];
    Carved::new(grid, layout, tiles, blank, removed, watch::join(seen.rapids), watch::join(seen.beyond), uppers)
}

/// The blank as it is before the first block, bore and dimple taken out.
///
/// # Errors
/// As [`carve`].
pub fn uncut(
    stock: &Stock,
    dimple: Option<crate::job::Dimple>,
    grid: &Grid,
    options: &RunOptions<'_>,
) -> Result<Carved, CarveError> {
    let none: [dryturn_geom::Motion; 0] = [];
    let motions: &dyn Motions = &none.to_vec();
    carve(&Job { stock, dimple, cutters: &[], motions }, grid, options)
}
