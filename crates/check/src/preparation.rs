//! What a person gets ready before the first cut: cutters in their order, a blank that is large enough, and what it does
//! when something is set a little wrong.

mod budget;
mod wood;

use dryturn_carve::{Carved, Course};
use dryturn_geom::{Motion, Motions, Pose};
use dryturn_scene::{Doubt, Job};

use crate::air;
use crate::finding::Shown;
pub use budget::{BudgetEffect, BudgetRow};
pub use wood::Wood;

/// What is got ready, and why.
#[derive(Clone, Debug, PartialEq)]
pub struct Preparation {
    /// The cutters in the order they come into the spindle, the first included.
    pub changes: Vec<CutterChange>,
    /// How far the blank is wound up once all has ended, degrees, as [`Job::wound`] counts them.
    pub wound_deg: Option<f64>,
    /// Where the first wood is taken, if any is.
    pub first_cut: Option<FirstCut>,
    /// The wood that is worked, and the blank that it takes; `None` where no row of it is cut.
    pub wood: Option<Wood>,
    /// How far off things are taken to be in the budget: as the scene doubts them, or half a millimetre and a degree.
    pub doubt: Doubt,
    /// What each thing that is off by so much does to the piece.
    pub budget: Vec<BudgetRow>,
}

/// A cutter comes into the spindle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CutterChange {
    /// Index of the program it comes for.
    pub program: usize,
    /// Line of its first block, from 1.
    pub line: u32,
    /// Its number.
    pub cutter: u32,
    /// What the controller shows meanwhile, as the cutter before has left it; `None` where no place is known.
    pub shown: Option<Shown>,
    /// How far the blank is wound up meanwhile, degrees, as [`Job::wound`] counts them.
    pub wound_deg: Option<f64>,
}

/// Where the first wood is taken.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FirstCut {
    /// Index of the program.
    pub program: usize,
    /// Line of the block, from 1.
    pub line: u32,
    /// Number of the cutter.
    pub cutter: u32,
    /// Station of the tip where it begins to cut, mm.
    pub station_mm: f64,
    /// Height of the tip over the axis there, mm.
    pub height_mm: f64,
    /// What the controller shows there.
    pub shown: Option<Shown>,
}

/// What nobody has said is taken to be off by so much.
const DOUBT: Doubt = Doubt { x: 0.5, y: 0.5, z: 0.5, a_deg: 1.0, runout: 0.5 };

impl Preparation {
    /// That of a job as it was carved.
    pub(crate) fn of(job: &Job, carved: &Carved, course: &Course) -> Preparation {
        let wood = Wood::of(job, carved);
        let doubt = job.scene.doubt.unwrap_or(DOUBT);
        let changes = changes(job);
        let budget = wood.as_ref().map(|wood| budget::rows(job, wood, &changes, &doubt));
        Preparation {
            wound_deg: wound(job),
            first_cut: first_cut(job, carved, course),
            budget: budget.unwrap_or_default(),
            changes,
            wood,
            doubt,
        }
    }
}

fn number(job: &Job, index: u16) -> u32 {
    job.scene.cutters.get(usize::from(index)).map_or(0, |cutter| cutter.number)
}

fn shown(job: &Job, block: u32, pose: &Pose) -> Option<Shown> {
    let [x, y, z, a] = job.shown(block, pose);
    Some(Shown { x: x?, y: y?, z: z?, a })
}

fn changes(job: &Job) -> Vec<CutterChange> {
    let mut changes: Vec<CutterChange> = Vec::new();
    let mut held = None;
    for (program, run) in job.programs.iter().enumerate() {
        for (at, block) in (run.first_block..).zip(&run.program.blocks) {
            if held.replace(block.cutter) == Some(block.cutter) {
                continue;
            }
            let Some(cutter) = job.cutter_index(at).map(|index| number(job, index)) else { continue };
            let stands = standing(job, at);
            changes.push(CutterChange {
                program,
                line: block.line,
                cutter,
                shown: stands.and_then(|(block, pose)| shown(job, block, &pose)),
                wound_deg: stands.and_then(|(block, pose)| job.wound(block, &pose)),
            });
        }
    }
    changes
}

/// Where all stands before a block: where the last motion has ended, or where the first begins; and the block of that.
fn standing(job: &Job, block: u32) -> Option<(u32, Pose)> {
    let before = (0..block).rev().find_map(|block| job.motion(block));
    match before {
        Some(Motion { block, to, .. }) => Some((block, to)),
        None => (block..job.count()).find_map(|block| job.motion(block)).map(|first| (first.block, first.from)),
    }
}

fn wound(job: &Job) -> Option<f64> {
    let last = (0..job.count()).rev().find_map(|block| job.motion(block))?;
    job.wound_at_the_end(last.block, &last.to)
}

fn first_cut(job: &Job, carved: &Carved, course: &Course) -> Option<FirstCut> {
    let block = (0..job.count()).find(|block| carved.removed_by(*block) > 0.0)?;
    let motion = job.motion(block)?;
    let stroke = course.strokes(block..block + 1).find(|stroke| stroke.volume_mm3 > 0.0);
    let pose = motion.at(stroke.map_or(0.0, |stroke| air::where_wood_begins(job, carved.grid(), course, &stroke)));
    Some(FirstCut {
        program: job.program_of(block),
        line: job.line_of(block),
        cutter: number(job, motion.cutter),
        station_mm: pose.x,
        height_mm: pose.z,
        shown: shown(job, block, &pose),
    })
}
