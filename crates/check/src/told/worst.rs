//! When a finding's worst place is passed.

use dryturn_geom::{Motions, Pose, angle};
use dryturn_scene::Job;

use crate::finding::{Finding, Shown};
use crate::time::Times;

/// About so many blocks are looked at for each finding.
const BLOCKS: usize = 5_000;

/// When the worst place of a finding is passed, seconds: where, in its lines, the controller comes nearest to showing what it
/// shows there; without such a place when its first line is met. `None` where it has no lines. In a long stretch of lines
/// not every block is looked at.
pub(crate) fn moment_of(job: &Job, times: &Times<'_>, found: &Finding) -> Option<f64> {
    let (program, (first, last)) = (found.program?, found.lines?);
    let inside = |block: &u32| (first..=last).contains(&job.line_of(*block));
    let blocks: Vec<u32> = job.blocks_of(program).filter(inside).collect();
    let start = times.start(*blocks.first()?);
    let Some(place) = found.place else { return Some(start) };
    let Some(shown) = place.shown else { return Some(start) };
    let mut nearest = (f64::INFINITY, start);
    for block in blocks.iter().copied().step_by(1 + blocks.len() / BLOCKS) {
        let Some(motion) = job.motion(block) else { continue };
        let apart = |pose: &Pose| apart(job, block, pose, &shown, place.radius_mm);
        let (Some(from), Some(to)) = (apart(&motion.from), apart(&motion.to)) else { continue };
        let (share, distance) = foot(&from, &to);
        if distance < nearest.0 {
            nearest = (distance, times.start(block) + share * times.seconds(block));
        }
    }
    Some(nearest.1)
}

/// How far what the controller shows for a pose is from what it is to show, the turn as a length at a radius (mm).
fn apart(job: &Job, block: u32, pose: &Pose, wanted: &Shown, radius: f64) -> Option<[f64; 4]> {
    let [x, y, z, a] = job.shown(block, pose);
    let turn = a.zip(wanted.a).map_or(0.0, |(a, wanted)| angle::radians(a - wanted) * radius.max(1.0));
    Some([x? - wanted.x, y? - wanted.y, z? - wanted.z, turn])
}

/// The share of the straight way at which it comes nearest to nothing, and the square of how near.
fn foot(from: &[f64; 4], to: &[f64; 4]) -> (f64, f64) {
    let way: [f64; 4] = std::array::from_fn(|k| to[k] - from[k]);
    let dot = |a: &[f64; 4], b: &[f64; 4]| (0..4).map(|k| a[k] * b[k]).sum::<f64>();
    let length = dot(&way, &way);
    let share = if length > 0.0 { (-dot(from, &way) / length).clamp(0.0, 1.0) } else { 0.0 };
    let at: [f64; 4] = std::array::from_fn(|k| from[k] + way[k] * share);
    (share, dot(&at, &at))
}
