//! All that is settled before the first cut: the rays, the tiles, and which blocks can reach what.

use std::any::Any;
use std::ops::Range;
use std::sync::atomic::{AtomicBool, Ordering};

use dryturn_geom::{Made, Stock, angle};

use crate::grid::{Directions, Grid};
use crate::job::{CarveError, Job, RunOptions};
use crate::kept::KeptSolid;
use crate::kernel::{Instructions, Underside};
use crate::layout::Layout;
use crate::replay::{Solid, Stretch};
use crate::tile::{EARLIER, PREPARED, Span, Spans, Tile, UNTOUCHED};
use crate::tree::{Tree, Window};
use crate::watch::Seen;

pub(crate) struct Plan<'a> {
    pub(crate) job: Job<'a>,
    pub(crate) grid: Grid,
    pub(crate) layout: Layout,
    pub(crate) tree: Tree<'a>,
    pub(crate) directions: Directions,
    /// Undersides of the cutters, part by part as in their flutes.
    pub(crate) undersides: Vec<Vec<Underside>>,
    pub(crate) instructions: Instructions,
    /// Where the blank is a piece that was kept on other rays than these: its own past.
    past: Option<Box<Past<'a>>>,
}

/// The carve that a kept piece came from, on the rays of the job that goes on with it.
struct Past<'a> {
    plan: Plan<'a>,
    piece: &'a KeptSolid,
}

/// A tile under way: the wood, and all that has been noted of it.
#[derive(Clone, Debug)]
pub(crate) struct State {
    pub(crate) tile: Tile,
    /// Units of volume before the first block.
    pub(crate) blank: i64,
    /// (block, units removed) of every block that changed the tile, in block order.
    pub(crate) removed: Vec<(u32, i64)>,
    pub(crate) seen: Seen,
    /// Rays that pieces were asked about.
    pub(crate) touches: u64,
}

impl<'a> Plan<'a> {
    /// # Errors
    /// [`CarveError::NoSuchCutter`] where the job contradicts itself, [`CarveError::Cancelled`] if told to stop.
    pub(crate) fn new(job: &Job<'a>, grid: &Grid, options: &RunOptions<'_>) -> Result<Plan<'a>, CarveError> {
        let tree = Tree::over(job, || is_cancelled(options.cancel))?;
        Ok(Plan::with(job, grid, options, tree))
    }

    fn with(job: &Job<'a>, grid: &Grid, options: &RunOptions<'_>, tree: Tree<'a>) -> Plan<'a> {
        Plan {
            job: *job,
            grid: grid.clone(),
            layout: Layout::new(grid, options.tile),
            tree,
            directions: grid.directions(),
            undersides: job.cutters.iter().map(|it| it.flutes.parts().iter().map(Underside::of).collect()).collect(),
            instructions: options.instructions.map_or_else(Instructions::best, Instructions::available),
            past: Past::of(job.stock, grid, options).map(Box::new),
        }
    }

    /// A tile as it is before the first block.
    ///
    /// # Errors
    /// [`CarveError::Cancelled`] if told to stop: the blank may be one that is carved from its own past.
    pub(crate) fn blank(&self, tile: usize, cancel: Option<&AtomicBool>) -> Result<State, CarveError> {
        if let Some(past) = &self.past {
            return past.tile(tile, self, cancel);
        }
        let (rows, columns) = self.layout.extent(tile, &self.grid);
        let solid = |row: usize, column: usize| -> Spans {
            prepared(&self.job, self.grid.station(row), self.grid.theta(column)).iter().map(Span::from).collect()
        };
        let ends = [rows.start, rows.end - 1].map(|row| self.grid.station(row));
        let is_even = self.job.stock.is_even() && self.job.dimple.is_none();
        let tile = if is_even && ends.iter().all(|&station| self.job.stock.holds(station)) {
            Tile::even(rows.clone(), columns, |column| solid(rows.start, column))
        } else {
            Tile::filled(rows, columns, solid)
        };
        let blank = tile.units();
        Ok(State::new(tile, blank))
    }

    /// The rays of a tile as the tree sees them.
    pub(crate) fn window(&self, rows: &Range<usize>, columns: &Range<usize>) -> Window {
        let last = |range: &Range<usize>| range.end.saturating_sub(1).max(range.start);
        Window {
            x: (self.grid.station(rows.start), self.grid.station(last(rows))),
            theta: (
                angle::wrapped(self.grid.theta(columns.start)),
                (last(columns) - columns.start) as f64 * self.grid.angle_step,
            ),
        }
    }
}

impl<'a> Past<'a> {
    /// `None` for a blank that is no kept piece, and for one that is known on just these rays.
    fn of(stock: &'a Stock, grid: &Grid, options: &RunOptions<'_>) -> Option<Past<'a>> {
        let piece = (stock.solid()? as &dyn Any).downcast_ref::<KeptSolid>()?;
        let own = Grid { station_first: grid.station_first - stock.start, ..grid.clone() };
        if piece.is_kept_on(&own) {
            return None;
        }
        let job = piece.job();
        let plan = Plan::with(&job, &own, options, Tree::with(&job, piece.levels()));
        Some(Past { plan, piece })
    }

    /// A tile of the blank, carved as it once was; bore, holes and dimple taken out.
    fn tile(&self, tile: usize, now: &Plan<'_>, cancel: Option<&AtomicBool>) -> Result<State, CarveError> {
        let mut state = self.plan.blank(tile, cancel)?;
        let rays = |state: &State| {
            state.tile.rows.clone().flat_map({
                let columns = state.tile.columns.clone();
                move |row| columns.clone().map(move |column| (row, column))
            })
        };
        for (row, column) in rays(&state) {
            let ray = state.tile.index(row, column);
            for (from, to) in self.piece.holes(self.plan.grid.station(row), now.grid.theta(column)) {
                state.tile.remove(ray, from as f32, to as f32, PREPARED);
            }
        }
        state.tile.refresh();
        self.plan.advance(&mut state, 0..self.plan.job.motions.count(), |_| look(cancel))?;
        let hole = self.piece.hole();
        state.tile.rename(|owner| match owner {
            UNTOUCHED => UNTOUCHED,
            PREPARED => EARLIER + hole,
            block => EARLIER + block,
        });
        if let Some(dimple) = now.job.dimple {
            for (row, column) in rays(&state) {
                let radius = (now.grid.station(row) - dimple.apex) * dimple.slope;
                if radius > 0.0 {
                    state.tile.remove(state.tile.index(row, column), 0.0, radius as f32, PREPARED);
                }
            }
            state.tile.refresh();
        }
        let blank = state.tile.units();
        Ok(State::new(state.tile, blank))
    }
}

impl State {
    /// A tile of which nothing is noted yet, with the units of volume of its blank.
    pub(crate) fn new(tile: Tile, blank: i64) -> State {
        State { tile, blank, removed: Vec::new(), seen: Seen::default(), touches: 0 }
    }

    pub(crate) fn note_removed(&mut self, block: u32, units: i64) {
        match self.removed.last_mut().filter(|(last, _)| *last == block) {
            Some((_, sum)) => *sum += units,
            None => self.removed.push((block, units)),
        }
    }
}

/// The blank on one ray, bore and dimple taken out, from the outside in.
pub(crate) fn prepared(job: &Job<'_>, station: f64, theta: f64) -> Solid {
    let hole = job.dimple.map_or(0.0, |d| ((station - d.apex) * d.slope).max(0.0));
    if let Some(made) = job.stock.made(station, theta) {
        return of_earlier(&made, hole);
    }
    let bored = |r: f64| if r > 0.0 && job.stock.bore > 0.0 { PREPARED } else { UNTOUCHED };
    job.stock
        .spans(station, theta)
        .as_slice()
        .iter()
        .rev()
        .filter(|(_, outer)| *outer > hole)
        .map(|&(inner, outer)| {
            let inner_by = if hole > inner { PREPARED } else { bored(inner) };
            Stretch { inner: inner.max(hole), outer, inner_by, outer_by: UNTOUCHED }
        })
        .collect()
}

/// What of a blank that others have made, a hole of a radius taken out, from the outside in.
fn of_earlier(made: &[Made], hole: f64) -> Solid {
    let by = |maker: Option<u32>| maker.map_or(UNTOUCHED, |maker| EARLIER + maker);
    let outside = made.iter().rev().filter(|it| it.outer > hole);
    outside
        .map(|it| Stretch {
            inner: it.inner.max(hole),
            outer: it.outer,
            inner_by: if hole > it.inner { PREPARED } else { by(it.by[0]) },
            outer_by: by(it.by[1]),
        })
        .collect()
}

/// # Errors
/// [`CarveError::Cancelled`] if told to stop.
pub(crate) fn look(cancel: Option<&AtomicBool>) -> Result<(), CarveError> {
    if is_cancelled(cancel) { Err(CarveError::Cancelled) } else { Ok(()) }
}

pub(crate) fn is_cancelled(cancel: Option<&AtomicBool>) -> bool {
    cancel.is_some_and(|cancel| cancel.load(Ordering::Relaxed))
}
