//! How far the zeros of a job may be off before something is hit.

use dryturn_geom::angle;
use dryturn_scene::Job;

use crate::contact::{Examiner, Limit};

/// How far each zero may be off, all others being right, before bodies meet. Of bodies alone: what the wood makes of it
/// is not asked, so the room of the holder over the wood is not in it.
///
/// Signs are those of the keys of `[zero]` in the blank frame: x is positive where the zero lies at a greater station,
/// further from the chuck; y where it lies at a greater y; z where it lies higher; a where θ on top is greater. All
/// programs' zeros are taken to be off alike.
#[derive(Clone, Debug, PartialEq)]
pub struct ZeroWindow {
    /// Stations: least and greatest, mm.
    pub x: [WindowLimit; 2],
    /// Across the bed: least and greatest, mm.
    pub y: [WindowLimit; 2],
    /// Heights: least and greatest, mm.
    pub z: [WindowLimit; 2],
    /// Angles: least and greatest, degrees.
    pub a: [WindowLimit; 2],
    /// What each cutter with a holder may stick out less and more than it is said to.
    pub per_cutter: Vec<CutterWindow>,
    /// The greatest e for which x, y and z may all be off by up to ± e at once, mm.
    pub together: WindowLimit,
}

/// One end of a window.
#[derive(Clone, Debug, PartialEq)]
pub struct WindowLimit {
    /// mm or degrees.
    pub value: f64,
    /// What is hit just beyond it; `None` where nothing is as far as was looked: 50 mm, half a turn, or a stickout as
    /// short as the flutes.
    pub ended_by: Option<EndedBy>,
}

/// What ends a window.
#[derive(Clone, Debug, PartialEq)]
pub struct EndedBy {
    /// The moving body, as in [`crate::Clearance`].
    pub moving: String,
    /// The fixed body, as in [`crate::Clearance`].
    pub fixed: String,
    /// Which jaw or screw, from 1; 0 for other bodies.
    pub which: u32,
    /// Number of the cutter in the spindle.
    pub cutter: u32,
    /// Index of the program (from 0).
    pub program: usize,
    /// Line of the block (from 1).
    pub line: u32,
}

/// The window of one cutter.
#[derive(Clone, Debug, PartialEq)]
pub struct CutterWindow {
    /// Its number.
    pub cutter: u32,
    /// How much less and more it may stick out, mm.
    pub stickout: [WindowLimit; 2],
}

/// The window of a job; `None` where nobody says what holds the blank.
pub(crate) fn zero_window(job: &Job, examiner: &Examiner<'_>) -> Option<ZeroWindow> {
    let scene = &job.scene;
    let asked: Vec<(u16, f64)> = (0..)
        .zip(&scene.cutters)
        .filter(|(index, cutter)| examiner.moves(*index) && !(cutter.holder.is_empty() && scene.moving.is_empty()))
        .filter_map(|(index, cutter)| Some((index, cutter.stickout? - cutter.flutes.length())))
        .collect();
    let window = scene.holding_described().then(|| examiner.window(&asked))?;
    let both = |limits: &[Limit; 2]| [signed(job, -1.0, &limits[0]), signed(job, 1.0, &limits[1])];
    let [x, y, z] = window.axes.each_ref().map(both);
    let per_cutter = window.stickout.iter();
    let per_cutter =
        per_cutter.map(|(index, limits)| CutterWindow { cutter: number(job, *index), stickout: both(limits) });
    Some(ZeroWindow {
        x,
        y,
        z,
        a: both(&window.turn).map(|limit| WindowLimit { value: angle::degrees(limit.value), ..limit }),
        per_cutter: per_cutter.collect(),
        together: signed(job, 1.0, &window.together),
    })
}

fn number(job: &Job, cutter: u16) -> u32 {
    job.scene.cutters.get(usize::from(cutter)).map_or(0, |cutter| cutter.number)
}

fn signed(job: &Job, sign: f64, limit: &Limit) -> WindowLimit {
    let ended_by = limit.end.as_ref().map(|end| EndedBy {
        moving: end.moving.clone(),
        fixed: end.row.clone(),
        which: end.which,
        cutter: number(job, end.cutter),
        program: job.program_of(end.block),
        line: job.line_of(end.block),
    });
    WindowLimit { value: sign * limit.free, ended_by }
}
