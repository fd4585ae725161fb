//! What the rules look at, and how they speak of places and blocks.

use std::f64::consts::{FRAC_PI_2, PI, TAU};

use dryturn_carve::{Carved, Course, Reach, Replay};
use dryturn_geom::{Motion, Motions, Pose, angle};
use dryturn_scene::Job;

use crate::contact::ContactReport;
use crate::finding::{Cure, Finding, Place, Severity, Shown};
use crate::grain::WithGrain;
use crate::parts::Loose;
use crate::rule::Rule;
use crate::rules::loads::{Beyond, Watches};
use crate::rules::swing::Swept;
use crate::strength::Strain;
use crate::stretches::Stretch;
use crate::target::Comparison;
use crate::time::Times;

/// Everything a rule may look at.
#[derive(Clone, Copy)]
pub(crate) struct Evidence<'a> {
    pub(crate) job: &'a Job,
    pub(crate) carved: &'a Carved,
    /// Single rays, where a cutter of the scene does not cut at its center.
    pub(crate) replay: Option<&'a Replay<'a>>,
    pub(crate) contacts: &'a ContactReport,
    /// Of each contact what cures it.
    pub(crate) cures: &'a [Vec<Cure>],
    pub(crate) swept: &'a Swept,
    pub(crate) target: Option<&'a Comparison>,
    /// How the run went.
    pub(crate) course: &'a Course,
    /// When each block comes.
    pub(crate) times: &'a Times<'a>,
    /// What the loads are held against, and what goes beyond.
    pub(crate) watches: &'a Watches<'a>,
    pub(crate) beyond: &'a Beyond,
    /// How the cuts go with the grain.
    pub(crate) grain: &'a WithGrain,
    /// What comes loose.
    pub(crate) loose: &'a [Loose],
    /// What the cuts do to the wood that is held, where anyone can tell.
    pub(crate) strain: Option<&'a Strain>,
    /// Whether a mistake was found that explains why much else is wrong.
    pub(crate) is_explained: bool,
}

/// How the ray of a reach stands when it is met.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Met {
    /// It points up, to the cutter.
    OnTop,
    /// It points down: the tip has come through the axis.
    Below,
}

impl Evidence<'_> {
    /// Number of the cutter with an index, as the scene has it.
    pub(crate) fn cutter_number(&self, index: u16) -> Option<u32> {
        self.job.scene.cutters.get(usize::from(index)).map(|cutter| cutter.number)
    }

    /// A finding over a stretch, still without place and value.
    pub(crate) fn over<V>(&self, rule: &'static str, severity: Severity, stretch: &Stretch<V>) -> Finding {
        Finding {
            program: Some(stretch.program),
            lines: Some((self.job.line_of(stretch.first), self.job.line_of(stretch.last))),
            worst_line: Some(self.job.line_of(stretch.worst.block)),
            blocks: stretch.blocks,
            cutter: self.cutter_number(stretch.cutter),
            ..plain(rule, severity)
        }
    }

    /// What the controller shows for a pose during a block.
    fn shown(&self, block: u32, pose: &Pose) -> Option<Shown> {
        let [x, y, z, a] = self.job.shown(block, pose);
        Some(Shown { x: x?, y: y?, z: z?, a })
    }

    /// The place of a reach: its ray, and what the controller shows while the tip stands over it.
    pub(crate) fn place_of(&self, reach: &Reach, met: Met) -> Place {
        let grid = self.carved.grid();
        let (station, theta) = (grid.station(reach.row as usize), grid.theta(reach.column as usize));
        self.place_on_ray(Some(reach.block), station, theta, f64::from(reach.radius), met)
    }

    /// The place of a point of a ray, and what the controller shows while the tip of a block stands over it.
    pub(crate) fn place_on_ray(&self, block: Option<u32>, station: f64, theta: f64, radius: f64, met: Met) -> Place {
        let pose = block.and_then(|block| self.job.motion(block)).map(|motion| {
            let cutter = self.job.scene.cutters.get(usize::from(motion.cutter));
            let width = cutter.map_or(0.0, |cutter| cutter.flutes.radius());
            let over = share_over(&motion, station, theta, met);
            let room = |share: f64| room_inside(&motion.at(share), width, station, theta, radius);
            motion.at(if met == Met::Below || room(over) >= 0.0 { over } else { best_share(&motion, room) })
        });
        Place {
            station_mm: station,
            angle_deg: angle::degrees(theta),
            radius_mm: radius,
            shown: block.zip(pose).and_then(|(block, pose)| self.shown(block, &pose)),
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

    /// The place of the tip at a share of a block.
    pub(crate) fn tip_place(&self, block: u32, share: f64) -> Option<Place> {
        let pose = self.job.motion(block)?.at(share);
        self.place_at(block, share, [pose.x, pose.y, pose.z])
    }
}

/// Share of a motion at which the tip stands over a ray, or as near to it as it comes.
fn share_over(motion: &Motion, station: f64, theta: f64, met: Met) -> f64 {
    let (along, turned) = (motion.to.x - motion.from.x, motion.to.turn - motion.from.turn);
    if motion.arc.is_some() || (along == 0.0 && turned == 0.0) {
        return 1.0;
    }
    let passes = if along == 0.0 { 0.0 } else { ((station - motion.from.x) / along).clamp(0.0, 1.0) };
    if turned == 0.0 {
        return passes;
    }
    let ray = if met == Met::Below { theta + PI } else { theta };
    let turns = |angle: f64| (angle - ray) / TAU;
    // The ray stands so once a turn: of the times during the motion the one nearest to the passage.
    let (first, last) =
        (turns(motion.from.turn.min(motion.to.turn)).ceil(), turns(motion.from.turn.max(motion.to.turn)).floor());
    let nearest = turns(motion.from.turn + turned * passes).round().min(last).max(first);
    ((ray + TAU * nearest - motion.from.turn) / turned).clamp(0.0, 1.0)
}

/// How far a point of the blank lies inside the cylinder of a cutter's width over its tip, mm; below 0 outside it.
fn room_inside(tip: &Pose, width: f64, station: f64, theta: f64, radius: f64) -> f64 {
    let (sine, cosine) = angle::sin_cos(theta - tip.turn);
    let aside = angle::hypot(station - tip.x, -radius * sine - tip.y);
    (width - aside).min(radius * cosine - tip.z)
}

/// Moments of a block that are looked at, and more for every turn.
const MOMENTS: f64 = 256.0;
const MOMENTS_A_TURN: f64 = 90.0;

/// The share at which a point has most room inside the cutter, to a moment of the block; the last of equals.
fn best_share(motion: &Motion, room: impl Fn(f64) -> f64) -> f64 {
    let turns = (motion.to.turn - motion.from.turn).abs() / TAU;
    let moments = (MOMENTS + MOMENTS_A_TURN * turns).min(1e6) as u32;
    let shares = (0..=moments).map(|k| f64::from(k) / f64::from(moments));
    let best = shares.map(|share| (room(share), share)).reduce(|a, b| if b.0 >= a.0 { b } else { a });
    best.map_or(1.0, |(_, share)| share)
}

/// Shares of a motion at which a coordinate can be extreme: its ends, and on an arc the quarter points of its circle.
pub(crate) fn turning_points(motion: &Motion) -> impl Iterator<Item = f64> {
    let quarters = motion.arc.filter(|arc| arc.sweep != 0.0).into_iter().flat_map(|arc| {
        let [one, other] = [arc.start, arc.start + arc.sweep].map(|angle| angle / FRAC_PI_2);
        let (first, last) = (one.min(other).ceil(), one.max(other).floor());
        // Four in a row are all there are.
        let count = (last - first + 1.0).clamp(0.0, 4.0) as u32;
        (0..count).map(move |k| (((first + f64::from(k)) * FRAC_PI_2 - arc.start) / arc.sweep).clamp(0.0, 1.0))
    });
    [0.0, 1.0].into_iter().chain(quarters)
}

/// A finding with nothing but its rule and severity.
pub(crate) fn plain(rule: &'static str, severity: Severity) -> Finding {
    debug_assert!(Rule::exists(rule), "`{rule}` is not in the catalogue of rules");
    Finding {
        rule,
        severity,
        program: None,
        lines: None,
        worst_line: None,
        blocks: 0,
        cutter: None,
        place: None,
        value: None,
        unit: None,
        text: String::new(),
        cure: String::new(),
        cures: Vec::new(),
        accepted: None,
    }
}

/// A phrase with its first letter in upper case.
pub(crate) fn capital(phrase: &str) -> String {
    let mut letters = phrase.chars();
    letters.next().into_iter().flat_map(char::to_uppercase).chain(letters).collect()
}

/// So many of something.
pub(crate) fn counted(count: u32, one: &str, many: &str) -> String {
    format!("{count} {}", if count == 1 { one } else { many })
}
