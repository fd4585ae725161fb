//! How much of its way a cutter goes through air.
//!
//! A stroke ([`dryturn_carve::Course`]) that took nothing is air. Where wood begins or ends, the stroke is looked into: on a
//! steep way down the wood it met is as long as it is deep. On any other the cutter is in air until it reaches the round that
//! the wood of each station turned in when it was looked at last, and again once its axis has left that. This is exact for
//! what is turned; what lies hollow within the round counts as wood to a stroke, about one cutter diameter of way.

use dryturn_carve::{Course, Grid, Stroke};
use dryturn_geom::{Flutes, Motion, Motions, Pose};
use dryturn_scene::{Cutter, Job};

use crate::load::begins_in_wood;

/// Halvings that find where the wood begins on a stroke.
const HALVINGS: u32 = 20;

/// Of every block the share of its way on which it takes no wood; `course` is what a carve of the job on the grid told.
pub(crate) fn through_air(job: &Job, grid: &Grid, course: &Course) -> Vec<f32> {
    let mut shares = vec![0.0; job.count() as usize];
    let mut strokes = course.strokes(0..job.count()).peekable();
    let mut was_cutting = false;
    // The air of the block under way: a long one has so many strokes that their shares do not add up in single precision.
    let mut sum = (0, 0.0);
    while let Some(stroke) = strokes.next() {
        let is_cutting = stroke.volume_mm3 > 0.0;
        let next = strokes.peek().filter(|next| next.volume_mm3 > 0.0);
        let is_edge = if is_cutting { !was_cutting || next.is_none() } else { next.is_some() };
        let whole = if is_cutting { 0.0 } else { stroke.share.1 - stroke.share.0 };
        let looked = if is_edge { Looked::of(job, grid, course, &stroke) } else { None };
        let air = match looked {
            None => whole,
            Some(looked) if is_cutting => looked.among_wood([!was_cutting, next.is_none()]),
            Some(looked) => looked.before_wood(next).unwrap_or(whole),
        };
        was_cutting = is_cutting;
        for block in stroke.block..=stroke.last {
            sum = (block, if block == sum.0 { sum.1 + air } else { air });
            shares[block as usize] = sum.1.min(1.0) as f32;
        }
    }
    shares
}

/// The share of a block's way at which a stroke that comes out of the air and takes wood meets it.
pub(crate) fn where_wood_begins(job: &Job, grid: &Grid, course: &Course, stroke: &Stroke) -> f64 {
    let looked = Looked::of(job, grid, course, stroke);
    stroke.share.0 + looked.map_or(0.0, |looked| looked.among_wood([true, false]))
}

/// A stroke of one block where wood begins or ends.
struct Looked<'a> {
    grid: &'a Grid,
    course: &'a Course,
    stroke: &'a Stroke,
    motion: Motion,
    cutter: &'a Cutter,
    /// The last look at the wood before it.
    look: usize,
}

impl<'a> Looked<'a> {
    fn of(job: &'a Job, grid: &'a Grid, course: &'a Course, stroke: &'a Stroke) -> Option<Looked<'a>> {
        let motion = job.motion(stroke.block).filter(|_| stroke.last == stroke.block)?;
        let cutter = job.scene.cutters.get(usize::from(motion.cutter))?;
        let look = course.moments().partition_point(|moment| *moment <= stroke.block).checked_sub(1)?;
        Some(Looked { grid, course, stroke, motion, cutter, look })
    }

    /// Of a stroke that took wood the share of the block's way before its wood begins and after it ends, as far as it has
    /// such `ends`.
    fn among_wood(&self, ends: [bool; 2]) -> f64 {
        let (first, last) = self.stroke.share;
        let steep = begins_in_wood(self.stroke, &self.motion, self.cutter) - first;
        if steep > 0.0 {
            return steep;
        }
        let before = ends[0].then(|| self.edge(first, last, self.cutter.flutes.radius()));
        let after = ends[1].then(|| self.edge(last, first, 0.0));
        before.into_iter().chain(after).flatten().sum()
    }

    /// Of a stroke that took nothing, before one that does, the share of the way before the cutter reaches wood: on a way
    /// along the axis what the rim takes is told of the stroke in which the cutter's axis comes to it.
    fn before_wood(&self, next: Option<&Stroke>) -> Option<f64> {
        let Motion { from, to, arc, .. } = &self.motion;
        let is_along = arc.is_none() && from.turn == to.turn && from.x != to.x;
        next.filter(|next| is_along && next.block == self.stroke.block)?;
        self.edge(self.stroke.share.0, self.stroke.share.1, self.cutter.flutes.radius())
    }

    /// How far from a place in the open, on the way to a place in the wood, the wood begins for what of the cutter lies so
    /// near its axis, mm; `None` unless they are such places.
    fn edge(&self, open: f64, wood: f64, near: f64) -> Option<f64> {
        let is_clear = |share: f64| self.is_clear(&self.motion.at(share), &self.cutter.flutes, near);
        let halved = |(open, wood): (f64, f64), _| {
            let middle = 0.5 * (open + wood);
            if is_clear(middle) { (middle, wood) } else { (open, middle) }
        };
        let found = || (0..HALVINGS).fold((open, wood), halved).0;
        (is_clear(open) && !is_clear(wood)).then(|| (found() - open).abs())
    }

    /// Whether a cutter, as far as it lies so near its axis, stands clear of all wood as it was at the look, whatever way that
    /// is turned.
    fn is_clear(&self, tip: &Pose, flutes: &Flutes, near: f64) -> bool {
        let (step, count) = (self.grid.station_step, self.grid.stations);
        let row = |station: f64| ((station - self.grid.station(0)) / step + 0.5).max(0.0) as usize;
        (row(tip.x - near)..=row(tip.x + near)).take_while(|row| *row < count).all(|row| {
            // A row stands for half a step on either side.
            let aside = ((tip.x - self.grid.station(row)).abs() - 0.5 * step).max(0.0);
            let reach = self.course.section(row, self.look).reach;
            let beside = (near * near - aside * aside).max(0.0).sqrt();
            tip.z + flutes.height_at(aside) >= reach || tip.y.abs() - beside >= reach
        })
    }
}
