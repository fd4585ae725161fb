//! `wound-up`: where the rotary word stands, how long turning back takes, and whether the controller still resolves it.

use dryturn_geom::{Motion, Pose, Wrap, angle};

use crate::digits::{mm, short};
use crate::evidence::Evidence;
use crate::finding::{Finding, Severity};
use crate::stretches::{Stretch, motions_of};

/// A word that ends this many turns from its zero is told, turns.
const TURNS_TOLD: f64 = 2.0;

/// Nothing is said of a blank that a linear word turns: it has no number that grows with the turns.
pub(super) fn findings(evidence: &Evidence<'_>) -> Vec<Finding> {
    let mut findings = Vec::new();
    for (program, run) in evidence.job.programs.iter().enumerate() {
        if let Wrap::Rotary(word) = run.frame.wrap {
            let rotary = Rotary { evidence, program, letter: ['A', 'B', 'C'][word] };
            findings.extend([rotary.winding(), rotary.unwinding(), rotary.unresolved()].into_iter().flatten());
        }
    }
    findings
}

/// The rotary word of one program.
struct Rotary<'a> {
    evidence: &'a Evidence<'a>,
    program: usize,
    letter: char,
}

impl Rotary<'_> {
    fn motions(&self) -> impl DoubleEndedIterator<Item = Motion> {
        motions_of(self.evidence.job, self.program)
    }

    /// What the controller shows, degrees from the word's zero in force.
    fn shown(&self, motion: &Motion, pose: &Pose) -> f64 {
        self.evidence.job.shown(motion.block, pose)[3].unwrap_or(0.0)
    }

    fn over(&self, severity: Severity, motion: &Motion) -> Finding {
        self.evidence.over("wound-up", severity, &Stretch::of_motion(self.evidence.job, motion, ()))
    }

    fn winding(&self) -> Option<Finding> {
        let last = self.motions().next_back()?;
        let shown = self.evidence.job.wound_at_the_end(last.block, &last.to)?;
        let turns = shown / 360.0;
        let letter = self.letter;
        (turns.abs() >= TURNS_TOLD).then(|| Finding {
            place: self.evidence.tip_place(last.block, 1.0),
            value: Some(turns),
            unit: Some("turns"),
            text: format!("{letter} stands at {}° ({} turns) at the end.", short(shown), short(turns)),
            cure: format!("If {letter} is zeroed again here, do it at a whole turn; turning back takes its time."),
            ..self.over(Severity::Note, &last)
        })
    }

    fn unwinding(&self) -> Option<Finding> {
        let removes = |motion: &Motion| self.evidence.carved.removed_by(motion.block) > 0.0;
        let back = |motion: &Motion| self.shown(motion, &motion.to).abs() < self.shown(motion, &motion.from).abs();
        let longest_allowed = self.evidence.job.scene.checks.wound_up.minutes;
        let (longest, time) = self
            .motions()
            .map(|motion| (motion, self.minutes(&motion)))
            .filter(|(motion, minutes)| *minutes > longest_allowed && back(motion) && !removes(motion))
            .reduce(|a, b| if b.1 > a.1 { b } else { a })?;
        let turns = angle::degrees((longest.to.turn - longest.from.turn).abs()) / 360.0;
        Some(Finding {
            place: self.evidence.tip_place(longest.block, 1.0),
            value: Some(time),
            unit: Some("min"),
            text: format!(
                "One move turns {} back by {} turns without cutting and takes {time:.1} minutes for it.",
                self.letter,
                short(turns)
            ),
            cure: format!(
                "Zero {} again at a whole turn, for example with G92, in place of turning back.",
                self.letter
            ),
            ..self.over(Severity::Warning, &longest)
        })
    }

    /// Least time a move can take, minutes: by the rapid rates, and by its feed along the straight way.
    fn minutes(&self, motion: &Motion) -> f64 {
        let (job, rapid) = (self.evidence.job, &self.evidence.job.scene.machine.rapid);
        let way = |a: f64, b: f64| (b - a).abs();
        let (from, to) = (&motion.from, &motion.to);
        let [x, y, z] = [way(from.x, to.x), way(from.y, to.y), way(from.z, to.z)];
        let turn = angle::degrees(way(from.turn, to.turn));
        let least = (x / rapid.x).max(y / rapid.y).max(z / rapid.z).max(turn / rapid.a);
        let Some(feed) = job.feed(motion.block).filter(|feed| *feed > 0.0) else { return least };
        let straight = angle::hypot(angle::hypot(x, y), z);
        let by_feed = match straight {
            _ if job.inverse_time(motion.block) => 1.0 / feed,
            0.0 => turn / feed,
            _ => straight / feed,
        };
        by_feed.max(least)
    }

    fn unresolved(&self) -> Option<Finding> {
        if !self.evidence.job.scene.controller.numbers_f32 {
            return None;
        }
        let (greatest, shown) = self
            .motions()
            .map(|motion| (motion, self.shown(&motion, &motion.to).abs()))
            .reduce(|a, b| if b.1 > a.1 { b } else { a })?;
        let step = angle::radians(step_of_f32(shown)) * self.evidence.job.scene.swept_radius();
        (step > self.evidence.job.scene.checks.wound_up.step).then(|| Finding {
            place: self.evidence.tip_place(greatest.block, 1.0),
            value: Some(step),
            unit: Some("mm"),
            text: format!(
                "{} has grown so large that a controller with 32-bit numbers moves the blank's surface in steps of {}.",
                self.letter,
                mm(step)
            ),
            cure: format!(
                "Zero {} again at a whole turn now and then, or write numbers = \"f64\" under [controller] if it has \
                 them.",
                self.letter
            ),
            ..self.over(Severity::Warning, &greatest)
        })
    }
}

/// From a 32-bit number to the next larger one.
fn step_of_f32(value: f64) -> f64 {
    let narrow = value as f32;
    f64::from(narrow.next_up()) - f64::from(narrow)
}
