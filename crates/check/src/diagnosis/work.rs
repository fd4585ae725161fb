//! What a program does, as far as its moves alone tell it: the cheap evidence that every run is asked for.

use dryturn_geom::{Motion, angle};
use dryturn_scene::Job;

use crate::evidence::turning_points;
use crate::stretches::{Event, Stretch, motions_of};

/// Rounding of inches and sums, mm.
pub(super) const ROUNDING: f64 = 1e-6;

/// The cutting moves of a program: those at feed that go along, across or round, not straight down.
pub(super) struct Work {
    pub(super) program: usize,
    /// The cutting moves.
    pub(super) stretch: Stretch<()>,
    /// Their way, turning counted at the blank's greatest radius, mm.
    pub(super) way: f64,
    /// Of it with some of the cutter over the axis.
    pub(super) over_axis: f64,
    /// Of that with the tip at the axis or below it.
    pub(super) below_axis: f64,
    /// Of the way as high as the blank reaches, or higher.
    pub(super) in_air: f64,
    /// Of the way beside the blank: too far across for the cutter to touch it.
    pub(super) beside: f64,
    /// Of the way farther off the blank than the blank is thick or long.
    pub(super) far_off: f64,
    /// Stations, least and greatest, mm.
    pub(super) along: [f64; 2],
    /// Across the bed, mm.
    pub(super) across: [f64; 2],
    /// Heights over the axis, mm.
    pub(super) heights: [f64; 2],
    /// The greatest height that any move goes to, rapids included, mm; minus infinity where none moves up or down.
    pub(super) top: f64,
    /// Whether any move turns the blank.
    pub(super) turns: bool,
    /// The greatest feed, mm/min; 0 where none is a length a minute.
    pub(super) feed: f64,
}

impl Work {
    /// `None`: the program does not cut sideways anywhere.
    pub(super) fn of(job: &Job, program: usize) -> Option<Work> {
        let size = Size::of(job);
        let mut work: Option<Work> = None;
        let (mut turns, mut top) = (false, f64::NEG_INFINITY);
        for motion in motions_of(job, program) {
            if motion.from.z != motion.to.z {
                top = top.max(motion.to.z);
            }
            turns |= motion.from.turn != motion.to.turn || motion.arc.is_some_and(|arc| turns_blank(&arc));
            let way = way_of(&motion, size.radius);
            if way == 0.0 {
                continue;
            }
            let feed = job.feed(motion.block).filter(|_| !job.inverse_time(motion.block)).unwrap_or(0.0);
            work.get_or_insert_with(|| Work::none_yet(job, program, &motion)).take(&size, &motion, way, feed);
        }
        work.map(|work| Work { turns, top, ..work })
    }

    fn none_yet(job: &Job, program: usize, first: &Motion) -> Work {
        let nowhere = [f64::INFINITY, f64::NEG_INFINITY];
        Work {
            program,
            stretch: Stretch { blocks: 0, ..Stretch::of_motion(job, first, ()) },
            way: 0.0,
            over_axis: 0.0,
            below_axis: 0.0,
            in_air: 0.0,
            beside: 0.0,
            far_off: 0.0,
            along: nowhere,
            across: nowhere,
            heights: nowhere,
            top: 0.0,
            turns: false,
            feed: 0.0,
        }
    }

    fn take(&mut self, size: &Size<'_>, motion: &Motion, way: f64, feed: f64) {
        self.stretch.take(Event { block: motion.block, ..self.stretch.worst });
        let middle = motion.at(0.5);
        let cutter = size.cutter_radius(motion);
        let height = 0.5 * (motion.from.z + motion.to.z);
        let count = |sum: &mut f64, holds: bool| *sum += if holds { way } else { 0.0 };
        count(&mut self.way, true);
        count(&mut self.over_axis, middle.y.abs() <= cutter);
        count(&mut self.below_axis, middle.y.abs() <= cutter && height <= ROUNDING);
        count(&mut self.in_air, height >= size.radius - ROUNDING);
        count(&mut self.beside, middle.y.abs() > size.radius + cutter);
        count(&mut self.far_off, size.is_far_off(&middle));
        for pose in turning_points(motion).map(|share| motion.at(share)) {
            widen(&mut self.along, pose.x);
            widen(&mut self.across, pose.y);
            widen(&mut self.heights, pose.z);
        }
        self.feed = self.feed.max(feed);
    }

    /// Share of the way that something is.
    pub(super) fn share(&self, part: f64) -> f64 {
        part / self.way
    }

    /// The height that half of the way lies above, mm over the axis.
    pub(super) fn median_height(&self, job: &Job) -> f64 {
        let radius = job.scene.swept_radius();
        let cutting = motions_of(job, self.program).map(|motion| (motion, way_of(&motion, radius)));
        let height = |(motion, way): (Motion, f64)| (0.5 * (motion.from.z + motion.to.z), way);
        let mut heights: Vec<(f64, f64)> = cutting.filter(|(_, way)| *way > 0.0).map(height).collect();
        heights.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut before = 0.0;
        let middle = heights.iter().find(|(_, way)| {
            before += way;
            before >= 0.5 * self.way
        });
        middle.map_or(0.0, |(height, _)| *height)
    }
}

/// What moves are held against.
struct Size<'a> {
    job: &'a Job,
    radius: f64,
    stations: [f64; 2],
}

impl Size<'_> {
    fn of(job: &Job) -> Size<'_> {
        let stock = job.scene.stock();
        Size { job, radius: stock.swept_radius(), stations: [stock.start, stock.end()] }
    }

    fn cutter_radius(&self, motion: &Motion) -> f64 {
        self.job.scene.cutters.get(usize::from(motion.cutter)).map_or(0.0, |cutter| cutter.flutes.radius())
    }

    fn is_far_off(&self, pose: &dryturn_geom::Pose) -> bool {
        let [start, end] = self.stations;
        let beyond = (start - pose.x).max(pose.x - end);
        beyond > end - start || angle::hypot(pose.y, pose.z) > 3.0 * self.radius
    }
}

/// The way of a cutting move, mm; 0 for rapids and moves straight down or up.
fn way_of(motion: &Motion, radius: f64) -> f64 {
    if motion.rapid {
        return 0.0;
    }
    let (from, to) = (&motion.from, &motion.to);
    let sideways = angle::hypot(angle::hypot(to.x - from.x, to.y - from.y), (to.turn - from.turn) * radius);
    let round = motion.arc.map_or(0.0, |arc| {
        let reach =
            [0, 1].map(|k| arc.reach[k].abs() * if arc.axes[k] == dryturn_geom::Axis::Turn { radius } else { 1.0 });
        arc.sweep.abs() * reach[0].max(reach[1])
    });
    let flat = sideways.max(round);
    if flat <= ROUNDING { 0.0 } else { angle::hypot(flat, to.z - from.z) }
}

fn turns_blank(arc: &dryturn_geom::Arc) -> bool {
    arc.axes.contains(&dryturn_geom::Axis::Turn)
}

fn widen(extent: &mut [f64; 2], value: f64) {
    *extent = [extent[0].min(value), extent[1].max(value)];
}
