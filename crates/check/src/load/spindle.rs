//! How fast the spindle turns, and which way.

use dryturn_geom::Side;
use dryturn_program::EventKind;
use dryturn_scene::Job;

/// The spindle during a block.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Turning {
    /// Turns a minute; `None` where neither program nor scene has named a speed.
    pub(super) rpm: Option<f64>,
    /// Whether it turns clockwise, seen from above with stations to the right and internal Y ahead, or the other way.
    pub(super) is_clockwise: bool,
}

/// The spindle all the way through a job. Sides of a way are told in the blank frame. With the chuck on the plus side stations
/// grow against the word, which makes that frame the mirror image of the machine's: M3, clockwise at the machine, is
/// counter-clockwise in it. A speed stays in force until another is named, whatever stops meanwhile
/// (NISTIR 6556, Kramer, Proctor and Messina 2000, from memory).
#[derive(Clone, Debug)]
pub(super) struct Spindle {
    /// What holds from a block on, in block order.
    from: Vec<(u32, Turning)>,
}

impl Spindle {
    pub(super) fn of(job: &Job) -> Spindle {
        let named = |rpm: f64| Some(rpm).filter(|rpm| rpm.is_finite() && *rpm > 0.0);
        let by_m3 = job.scene.machine.chuck_on == Side::Minus;
        let mut now = Turning { rpm: job.scene.machine.spindle_speed.and_then(named), is_clockwise: by_m3 };
        let mut from = vec![(0, now)];
        for run in &job.programs {
            for event in &run.program.events {
                match event.kind {
                    EventKind::SpindleSpeed(rpm) => now.rpm = named(rpm),
                    EventKind::SpindleClockwise => now.is_clockwise = by_m3,
                    EventKind::SpindleCounterClockwise => now.is_clockwise = !by_m3,
                    _ => continue,
                }
                from.push((run.first_block + event.after_blocks, now));
            }
        }
        Spindle { from }
    }

    pub(super) fn during(&self, block: u32) -> Turning {
        let after = self.from.partition_point(|(first, _)| *first <= block);
        self.from[after.max(1) - 1].1
    }
}
