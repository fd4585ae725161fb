//! The wood between two looks, as each stroke meets it.
//!
//! A look may come before the first and after the last of many strokes, or of one long block. Where the wood gives way much
//! more at the second than at the first, a stroke is judged with the sections as they are when it comes. Each stroke reaches
//! some sections, those its cutter stands over, and takes wood from them alike, as far as the carve tells. So at any stroke a
//! section has lost such a share of what it loses between both looks as the strokes that reached it before took of all that is
//! taken there, and its integrals, which go with the wood that is taken, have changed by that share. A section that no stroke
//! has reached yet is as it was at the first look, exactly, and one that no further stroke reaches as at the second: how a
//! way is split into blocks does not matter, but for the sections under the cutter itself.
//!
//! Strokes are halved until the wood before and after some of them gives way alike, or one is left.

use std::ops::Range;

use dryturn_carve::{Section, Stroke};

use super::bar::Give;
use super::passage::Passage;
use super::strain::{Cut, Watch};
use super::weak::Wood;

/// Share by which wood may give way more after some strokes than before, and counts as the same to all of them.
const ALIKE: f64 = 0.05;

/// Less than this is no wood but what sums are off by, mm³.
const NOTHING: f64 = 1e-9;

/// Whether wood gives way alike before and after.
pub(super) fn is_alike([before, after]: [Give; 2]) -> bool {
    let grows = |before: f64, after: f64| after > (1.0 + ALIKE) * before;
    !grows(before.across, after.across) && !grows(before.about, after.about)
}

/// What one stroke takes.
struct Bite {
    /// The sections it reaches.
    sections: Range<usize>,
    /// Wood it takes from each, mm³.
    each: f64,
}

impl Bite {
    fn of(watch: &Watch<'_>, stroke: &Stroke) -> Bite {
        let sections =
            Passage::of(watch.job, stroke).map_or(0..0, |passage| passage.sections(&watch.held, stroke.depth_mm));
        Bite { each: stroke.volume_mm3 / sections.len().max(1) as f64, sections }
    }
}

/// The strokes after a moment, up to the next.
pub(super) struct Meantime<'w> {
    watch: &'w Watch<'w>,
    moment: usize,
    wood: [&'w Wood; 2],
    bites: Vec<Bite>,
    /// What all of them take from each section, mm³.
    all: Vec<f64>,
}

impl<'w> Meantime<'w> {
    pub(super) fn new(watch: &'w Watch<'w>, moment: usize, wood: [&'w Wood; 2]) -> Meantime<'w> {
        let bites = watch.course.strokes(watch.blocks(moment)).map(|stroke| Bite::of(watch, &stroke)).collect();
        let mut meantime = Meantime { watch, moment, wood, bites, all: Vec::new() };
        let all = 0..meantime.bites.len();
        meantime.all = meantime.with(&vec![0.0; watch.held.count()], all);
        meantime
    }

    /// Goes through cuts in a row, the last of them the last of all, and hands on each with the wood before and after it.
    pub(super) fn go(&self, cuts: &[Cut], tell: &mut dyn FnMut(&Cut, [&Wood; 2])) {
        let Some(first) = cuts.first() else { return };
        let taken = self.with(&vec![0.0; self.all.len()], 0..first.index);
        self.part(cuts, [&self.wood(&taken), self.wood[1]], &taken, tell);
    }

    /// The same between two states of the wood; `taken` is what the first has lost of each section, mm³.
    fn part(&self, cuts: &[Cut], wood: [&Wood; 2], taken: &[f64], tell: &mut dyn FnMut(&Cut, [&Wood; 2])) {
        let gives = |cut: &Cut| wood.map(|wood| wood.bar.give(cut.station));
        if cuts.len() < 2 || cuts.iter().all(|cut| is_alike(gives(cut))) {
            return cuts.iter().for_each(|cut| tell(cut, wood));
        }
        let (early, late) = cuts.split_at(cuts.len() / 2);
        let then = self.with(taken, early[0].index..late[0].index);
        let between = self.wood(&then);
        self.part(early, [wood[0], &between], taken, tell);
        self.part(late, [&between, wood[1]], &then, tell);
    }

    /// What has been taken from each section once some strokes have come as well.
    fn with(&self, taken: &[f64], strokes: Range<usize>) -> Vec<f64> {
        // What each section loses more than the one before it: so a stroke costs no more the finer the grid is.
        let mut more = vec![0.0; taken.len() + 1];
        for Bite { sections, each } in &self.bites[strokes] {
            more[sections.start] += each;
            more[sections.end] -= each;
        }
        let mut now = 0.0;
        let lost = more.iter().map(|more| {
            now += more;
            now
        });
        taken.iter().zip(lost).map(|(taken, lost)| taken + lost).collect()
    }

    /// The wood when so much has been taken from each section.
    fn wood(&self, taken: &[f64]) -> Wood {
        let Watch { held, course, .. } = self.watch;
        let section = |at: usize| {
            let [before, after] = [self.moment, self.moment + 1].map(|moment| held.section(course, moment, at));
            // What changes where nothing is told to be taken is taken to be gone from the first.
            let share = if self.all[at] > NOTHING { (taken[at] / self.all[at]).min(1.0) } else { 1.0 };
            (at, between(&before, &after, share))
        };
        self.wood[0].with(&self.wood[1].changed().map(section).collect::<Vec<_>>())
    }
}

/// A section that has lost a share of what it loses from one to another.
fn between(before: &Section, after: &Section, share: f64) -> Section {
    if share <= 0.0 || share >= 1.0 {
        return if share <= 0.0 { *before } else { *after };
    }
    let of = |before: f64, after: f64| before + share * (after - before);
    let all = |before: [f64; 2], after: [f64; 2]| [of(before[0], after[0]), of(before[1], after[1])];
    let [yy, zz, yz] = [0, 1, 2].map(|k| of(before.second[k], after.second[k]));
    Section {
        area: of(before.area, after.area),
        first: all(before.first, after.first),
        second: [yy, zz, yz],
        reach: before.reach,
        // Where a section holds no wood any more, nothing tells where its ring goes.
        ring: if after.area > 0.0 { all(before.ring, after.ring) } else { before.ring },
        walls: of(before.walls, after.walls),
        inside: of(before.inside, after.inside),
        around: of(before.around, after.around),
    }
}
