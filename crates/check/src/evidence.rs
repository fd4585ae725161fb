//! What the rules look at, and how they speak of places and blocks.

use dryturn_carve::{Carved, Reach};
use dryturn_geom::{Motion, Motions, Pose, angle};
use dryturn_scene::Job;

use crate::contact::ContactReport;
use crate::finding::{Finding, Place, Severity, Shown};

/// Everything a rule may look at.
#[derive(Clone, Copy)]
pub(crate) struct Evidence<'a> {
    pub(crate) job: &'a Job,
    pub(crate) carved: &'a Carved,
    pub(crate) contacts: &'a ContactReport,
}

/// A connected stretch of blocks of one program and one cutter.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Stretch {
    pub(crate) program: usize,
    pub(crate) cutter: u16,
    pub(crate) first: u32,
    pub(crate) last: u32,
    /// How many of its blocks took part.
    pub(crate) blocks: u32,
}

/// Blocks that may lie between two that take part for both to belong to one stretch: a helix or a row of passes meets
/// the same place again a few blocks later.
const GAP: u32 = 32;

impl<'a> Evidence<'a> {
    /// The blocks that move something, with their motions, in order.
    pub(crate) fn motions(&self) -> impl Iterator<Item = Motion> + 'a {
        let job = self.job;
        (0..job.count()).filter_map(move |block| job.motion(block))
    }

    /// Joins blocks, given in order, into stretches; up to `gap` others may lie between.
    pub(crate) fn stretches(&self, blocks: impl IntoIterator<Item = u32>, gap: u32) -> Vec<Stretch> {
        let mut stretches: Vec<Stretch> = Vec::new();
        for block in blocks {
            let (program, cutter) = (self.job.program_of(block), self.job.cutter_index(block).unwrap_or(u16::MAX));
            let joins = |s: &&mut Stretch| s.program == program && s.cutter == cutter && block - s.last <= gap + 1;
            match stretches.last_mut().filter(joins) {
                Some(stretch) => {
                    stretch.last = block;
                    stretch.blocks += 1;
                }
                None => stretches.push(Stretch { program, cutter, first: block, last: block, blocks: 1 }),
            }
        }
        stretches
    }

    /// As [`Evidence::stretches`] with the gap that suits surfaces met again and again.
    pub(crate) fn runs(&self, blocks: impl IntoIterator<Item = u32>) -> Vec<Stretch> {
        self.stretches(blocks, GAP)
    }

    /// Number of the cutter with an index, as the scene has it.
    pub(crate) fn cutter_number(&self, index: u16) -> Option<u32> {
        self.job.scene.cutters.get(usize::from(index)).map(|cutter| cutter.number)
    }

    /// A finding over a stretch, still without place and value.
    pub(crate) fn over(&self, rule: &'static str, severity: Severity, stretch: &Stretch) -> Finding {
        Finding {
            program: Some(stretch.program),
            lines: Some((self.job.line_of(stretch.first), self.job.line_of(stretch.last))),
            blocks: stretch.blocks,
            cutter: self.cutter_number(stretch.cutter),
            ..plain(rule, severity)
        }
    }

    /// What the controller shows for a pose during a block.
    pub(crate) fn shown(&self, block: u32, pose: &Pose) -> Option<Shown> {
        let [x, y, z, a] = self.job.shown(block, pose);
        Some(Shown { x: x?, y: y?, z: z?, a: a.unwrap_or(0.0) })
    }

    /// The place of a reach: its ray, and what the controller shows where its block ends.
    pub(crate) fn place_of(&self, reach: &Reach) -> Place {
        let grid = self.carved.grid();
        let end = self.job.motion(reach.block).map(|motion| motion.to);
        Place {
            station_mm: grid.station(reach.row as usize),
            angle_deg: angle::degrees(grid.theta(reach.column as usize)),
            radius_mm: f64::from(reach.radius),
            shown: end.and_then(|pose| self.shown(reach.block, &pose)),
        }
    }

    /// The place of a point in the blank frame at a share of a block.
    pub(crate) fn place_at(&self, block: u32, share: f64, [station, y, z]: [f64; 3]) -> Option<Place> {
        let pose = self.job.motion(block)?.at(share);
        Some(Place {
            station_mm: station,
            angle_deg: angle::degrees(angle::wrapped(angle::atan2(-y, z) + pose.turn)),
            radius_mm: angle::hypot(y, z),
            shown: self.shown(block, &pose),
        })
    }

    /// The place of the tip at the end of a block.
    pub(crate) fn tip_place(&self, block: u32) -> Option<Place> {
        let pose = self.job.motion(block)?.to;
        self.place_at(block, 1.0, [pose.x, pose.y, pose.z])
    }
}

/// A finding with nothing but its rule and severity.
pub(crate) fn plain(rule: &'static str, severity: Severity) -> Finding {
    Finding {
        rule,
        severity,
        program: None,
        lines: None,
        blocks: 0,
        cutter: None,
        place: None,
        value: None,
        unit: None,
        text: String::new(),
        cure: String::new(),
    }
}

/// A number of millimetres as people read it: two decimals, three below a tenth.
pub(crate) fn mm(value: f64) -> String {
    if value.abs() < 0.0995 { format!("{value:.3} mm") } else { format!("{value:.2} mm") }
}
