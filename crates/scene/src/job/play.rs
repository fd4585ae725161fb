//! The play of the rotary axis: how far the blank stays behind where it is sent.
//!
//! The blank is pushed by one flank of the drive while it turns one way, and by the other while it turns the other way.
//! Between the two the drive turns and the blank stands. This is the play of Visintin, *Differential Models of Hysteresis*
//! (1994, from memory): the lag follows what the drive does and stays between nothing and the play. The zero is taken to be
//! set with the play taken up the way the job turns first, so a job that turns one way only feels nothing of it.
//!
//! A block has one motion, so a lag that grows within a block is spread evenly over its way: the ends of blocks are where
//! they must be, and what lies between is nearer to them than the play.

use dryturn_geom::{Axis, Motion, angle};

use super::{Job, ProgramRun};
use crate::model::{NotChecked, Scene};

/// How far chords may lie off the arc whose turning is followed, mm.
const CHORD: f64 = 1e-2;

/// The state of the drive, radians.
pub(super) struct Play {
    width: f64,
    /// Radius at which arcs on the skin are followed, mm.
    radius: f64,
    /// The way it turned first, +1 or −1; 0 before that.
    first_way: f64,
    /// How much of the play is between blank and the flank that turned it first.
    open: f64,
}

impl Play {
    /// The play of a scene's axis, if it has any.
    pub(super) fn of(scene: &Scene) -> Option<Play> {
        let width = angle::radians(scene.machine.backlash_deg);
        (width > 0.0).then(|| Play { width, radius: scene.swept_radius(), first_way: 0.0, open: 0.0 })
    }

    /// Takes a turn of the drive, radians; gives how far the blank then stands from where it was sent.
    fn turned(&mut self, by: f64) -> f64 {
        if self.first_way == 0.0 && by != 0.0 {
            self.first_way = by.signum();
        }
        self.open = (self.open - self.first_way * by).clamp(0.0, self.width);
        self.lag()
    }

    fn lag(&self) -> f64 {
        self.first_way * self.open
    }

    /// Takes a motion of the drive, which turns to and fro on an arc of the skin.
    fn follow(&mut self, motion: &Motion) -> f64 {
        if !turns_on_arc(motion) {
            return self.turned(motion.to.turn - motion.from.turn);
        }
        motion.chords(CHORD, self.radius).fold(self.lag(), |_, (from, to)| self.turned(to.turn - from.turn))
    }
}

fn turns_on_arc(motion: &Motion) -> bool {
    motion.arc.is_some_and(|arc| arc.axes.contains(&Axis::Turn))
}

impl ProgramRun {
    /// How far the blank stands from where it is sent before the first block and after each, radians.
    pub(super) fn lags(&self, play: &mut Play) -> Vec<f64> {
        let mut lags = vec![play.lag()];
        lags.extend((0..self.program.blocks.len()).map(|at| match self.led(at, self.first_block) {
            Some(motion) => play.follow(&motion),
            None => play.lag(),
        }));
        lags
    }
}

impl Job {
    /// Lists the arcs within which play would be felt.
    pub(super) fn tell_of_play(&mut self) {
        let blocks = |run: &ProgramRun| {
            (0..run.program.blocks.len()).filter_map(|at| run.led(at, 0)).any(|it| turns_on_arc(&it))
        };
        if self.programs.iter().any(|run| !run.lags.is_empty() && blocks(run)) {
            self.scene.not_checked.push(NotChecked {
                what: "play within arcs".to_owned(),
                because:
                    "An arc that turns the blank to and fro is bent by the play of the rotary axis; only where it \
                          ends is that followed."
                        .to_owned(),
                how_to_add: String::new(),
            });
        }
    }
}
