//! The run of a comparison.

use std::sync::atomic::{AtomicBool, Ordering};

use dryturn_carve::{CarveError, Carved, Dimple, PREPARED, Replay, RunOptions, is_block};
use dryturn_geom::{Flutes, angle};
use rayon::prelude::*;

use super::patches::{Fault, Kind, Patch, joined};
use super::reach::Reachable;
use super::row::{Judge, Row};
use super::steps;
use super::surface::Surface;

/// What is let pass, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Limits {
    /// Depth below the target that is let pass.
    pub gouge: f64,
    /// Wood over the target and its allowance that is let pass.
    pub leftover: f64,
    /// Wood meant to stay over the target.
    pub allowance: f64,
}

impl Limits {
    /// What a point of the piece comes to whose signed distance and chord error are given, and who made it.
    pub(super) fn kind(&self, gap: f64, chord: f64, by: u32) -> Option<Kind> {
        if gap > self.allowance + self.leftover + chord {
            Some(Kind::Leftover)
        } else if gap >= -(self.gouge + chord) {
            None
        } else if is_block(by) {
            Some(Kind::Gouge)
        } else {
            Some(Kind::Short)
        }
    }

    /// Which of two distances of a ray matters more: gouges first.
    pub(super) fn worse(&self, a: f64, b: f64) -> f64 {
        match (a < -self.gouge, b < -self.gouge) {
            (true, true) => a.min(b),
            (true, false) => a,
            (false, true) => b,
            (false, false) => {
                if b.abs() > a.abs() {
                    b
                } else {
                    a
                }
            }
        }
    }

    pub(super) fn tolerance(&self, kind: Kind) -> f64 {
        if kind == Kind::Leftover { self.allowance + self.leftover } else { self.gouge }
    }
}

/// What a piece is held against.
pub struct Wanted<'a> {
    /// The target's surface.
    pub surface: &'a Surface,
    /// What is let pass.
    pub limits: Limits,
    /// First and last station compared, mm.
    pub span: [f64; 2],
    /// The cutters that could have reached the wood that is left.
    pub cutters: Vec<&'a Flutes>,
}

/// How the piece lies beside its target.
#[derive(Clone, Debug, PartialEq)]
pub struct Comparison {
    /// Of each ray of the grid, row by row, the signed shortest distance of the end of solid that matters most, mm: below 0
    /// it is cut into the target. Not a number where nothing is compared.
    pub gap: Vec<f32>,
    /// Of each ray how far the outermost wood stands over the target along it, mm. Not a number where nothing is compared.
    pub over_target: Vec<f32>,
    /// Volume cut away inside the target, mm³.
    pub gouge_mm3: f64,
    /// Volume left outside the target, mm³.
    pub leftover_mm3: f64,
    /// Deepest gouge by shortest distance, mm, within tolerance or not.
    pub deepest_gouge_mm: f64,
    /// Thickest wood left over by shortest distance, mm, within tolerance or not.
    pub thickest_leftover_mm: f64,
    /// The greatest chord error of the target's facets, mm; 0 for a profile.
    pub chord_mm: f64,
    /// First and last station compared, mm.
    pub span: [f64; 2],
    /// How far the target reaches beyond the blank's free end, mm.
    pub beyond_end_mm: f64,
    /// What is beyond its tolerance, of each kind the worst first.
    pub patches: Vec<Patch>,
}

/// Holds a carved piece against its target.
///
/// `replay` is that of the same job. The result does not depend on the number of threads.
///
/// # Errors
/// [`CarveError::Cancelled`] if told to stop, [`CarveError::Threads`] where there are none.
pub fn compare(
    carved: &Carved,
    replay: &Replay<'_>,
    wanted: &Wanted<'_>,
    options: &RunOptions<'_>,
) -> Result<Comparison, CarveError> {
    let pool = rayon::ThreadPoolBuilder::new().num_threads(options.threads).build()?;
    pool.install(|| compared(carved, replay, wanted, options.cancel))
}

fn compared(
    carved: &Carved,
    replay: &Replay<'_>,
    wanted: &Wanted<'_>,
    cancel: Option<&AtomicBool>,
) -> Result<Comparison, CarveError> {
    let go_on =
        || if cancel.is_some_and(|it| it.load(Ordering::Relaxed)) { Err(CarveError::Cancelled) } else { Ok(()) };
    let grid = carved.grid();
    let directions: Vec<(f64, f64)> = (0..grid.angles).map(|column| angle::sin_cos(grid.theta(column))).collect();
    // One for each thread: a packed piece is read tile by tile.
    let judge = || Judge {
        carved: carved.reader(),
        stock: replay.job().stock,
        surface: wanted.surface,
        limits: &wanted.limits,
        directions: &directions,
    };
    let is_compared = |row: usize| (wanted.span[0]..=wanted.span[1]).contains(&grid.station(row));
    let rows: Vec<Option<Row>> = (0..grid.stations)
        .into_par_iter()
        .map_init(judge, |judge, row| go_on().map(|()| is_compared(row).then(|| judge.row(row))))
        .collect::<Result<_, CarveError>>()?;
    let mut gap = map_of(&rows, grid.angles, |row| &row.gap);
    let beside: Vec<Vec<Fault>> = (0..grid.stations)
        .into_par_iter()
        .map_init(judge, |judge, row| go_on().map(|()| steps::beside(judge, replay, wanted.span, row, &gap)))
        .collect::<Result<_, CarveError>>()?;
    // What is wrong between two rays is shown on the nearest.
    for fault in beside.iter().flatten() {
        let shown = &mut gap[fault.row as usize * grid.angles + fault.column as usize];
        if shown.is_finite() {
            *shown = wanted.limits.worse(f64::from(*shown), f64::from(fault.gap)) as f32;
        }
    }
    let cell = grid.station_step * grid.angle_step;
    let sum = |of: fn(&Row) -> f64| rows.iter().flatten().map(of).sum::<f64>();
    let most = |of: fn(&Row) -> f64| rows.iter().flatten().map(of).fold(0.0, f64::max);
    let of_steps = |kind: Kind| {
        let faults = beside.iter().flatten().filter(|fault| fault.kind == kind);
        faults.map(|fault| f64::from(fault.depth())).fold(0.0, f64::max)
    };
    let mut comparison = Comparison {
        over_target: map_of(&rows, grid.angles, |row| &row.over),
        gap,
        gouge_mm3: sum(|row| row.gouged) * cell,
        leftover_mm3: sum(|row| row.left) * cell,
        deepest_gouge_mm: most(|row| row.deepest).max(of_steps(Kind::Gouge)),
        thickest_leftover_mm: most(|row| row.thickest).max(of_steps(Kind::Leftover)),
        chord_mm: wanted.surface.greatest_chord(),
        span: wanted.span,
        beyond_end_mm: (wanted.span[1] - replay.job().stock.end()).max(0.0),
        patches: Vec::new(),
    };
    let faults = rows.into_iter().flatten().flat_map(|row| row.faults).chain(beside.into_iter().flatten());
    let kind = |fault: &Fault| if is_dimple(fault, replay.job().dimple) { Kind::Dimple } else { fault.kind };
    comparison.patches = joined(faults.map(|fault| Fault { kind: kind(&fault), ..fault }).collect(), grid);
    Reachable::new(wanted).sort_out(&mut comparison.patches);
    Ok(comparison)
}

/// Rounding of places to single precision, mm.
const ROUNDING: f64 = 0.01;

/// Whether it is the live center that has taken the wood: the mark that every piece has which is held by its whole length.
fn is_dimple(fault: &Fault, dimple: Option<Dimple>) -> bool {
    let [station, radius] = [fault.station, fault.radius].map(f64::from);
    let is_within = |Dimple { apex, slope }: Dimple| radius <= (station - apex) * slope + ROUNDING;
    fault.kind == Kind::Short && fault.by == PREPARED && dimple.is_some_and(is_within)
}

fn map_of(rows: &[Option<Row>], angles: usize, of: impl Fn(&Row) -> &Vec<f32>) -> Vec<f32> {
    let mut map = Vec::with_capacity(rows.len() * angles);
    for row in rows {
        match row {
            Some(row) => map.extend_from_slice(of(row)),
            None => map.extend(std::iter::repeat_n(f32::NAN, angles)),
        }
    }
    map
}
