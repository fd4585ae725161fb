//! The same blocks, read another way: stations, heights or angles shifted, scaled or turned round.

use std::ops::Range;

use dryturn_geom::{Arc, Axis, Motion, Motions, Pose};

/// Places of the coordinates in what follows.
pub(super) const ACROSS: usize = 1;

/// A coordinate under another reading: `offset + factor ·` one of the coordinates as they are.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Map {
    /// Which of them: station, across, height, turn.
    from: usize,
    factor: f64,
    /// mm or radians.
    offset: f64,
}

impl Map {
    /// All four as they are.
    pub(super) const SAME: [Map; 4] = [Map::as_is(0), Map::as_is(1), Map::as_is(2), Map::as_is(3)];

    const fn as_is(from: usize) -> Map {
        Map { from, factor: 1.0, offset: 0.0 }
    }

    /// From another coordinate: `offset + factor ·` that.
    pub(super) fn of(from: usize, factor: f64, offset: f64) -> Map {
        Map { from, factor, offset }
    }

    /// Shifted, mm or radians.
    pub(super) fn shifted(self, by: f64) -> Map {
        Map { offset: self.offset + by, ..self }
    }

    /// Scaled about the place that stays where it is.
    pub(super) fn about(self, zero: f64, factor: f64) -> Map {
        Map { factor, offset: zero * (1.0 - factor), ..self }
    }

    fn value(self, coordinates: &[f64; 4]) -> f64 {
        self.offset + self.factor * coordinates[self.from]
    }
}

/// Station, across, height and turn of some blocks under another reading.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Change {
    blocks: Range<u32>,
    maps: [Map; 4],
    /// Of each coordinate the first of the blocks that moves it: until then the machine stands where it was left, however
    /// the words are read.
    moved: [i64; 4],
}

impl Change {
    /// Blocks of which the words are read another way.
    pub(super) fn of_words(motions: &dyn Motions, blocks: Range<u32>, maps: [Map; 4]) -> Change {
        let end = i64::from(blocks.end);
        let mut moved = [end; 4];
        for motion in blocks.clone().filter_map(|block| motions.motion(block)) {
            for (axis, first) in moved.iter_mut().enumerate().filter(|(_, first)| **first == end) {
                if motion.arc.is_some() || coordinates(&motion.from)[axis] != coordinates(&motion.to)[axis] {
                    *first = i64::from(motion.block);
                }
            }
            if moved.iter().all(|first| *first < end) {
                break;
            }
        }
        Change { blocks, maps, moved }
    }

    /// Blocks at the start of which the machine stands elsewhere, too.
    pub(super) fn of_places(blocks: Range<u32>, maps: [Map; 4]) -> Change {
        Change { blocks, maps, moved: [-1; 4] }
    }

    /// The same behind blocks that are read another way, too: what those have moved stands where they left it.
    pub(super) fn after(self, before: &Change) -> Change {
        let end = i64::from(before.blocks.end);
        if before.blocks.end != self.blocks.start {
            return self;
        }
        let is_moved = |axis: usize| before.moved[axis] < end;
        let moved = std::array::from_fn(|axis| if is_moved(axis) { before.moved[axis] } else { self.moved[axis] });
        Change { moved, ..self }
    }

    /// A place that a block begins (or, with `later` 1, ends) at.
    fn pose(&self, pose: &Pose, block: u32, later: i64) -> Pose {
        let old = coordinates(pose);
        let [x, y, z, turn] = std::array::from_fn(|axis| {
            if i64::from(block) + later > self.moved[self.maps[axis].from] {
                self.maps[axis].value(&old)
            } else {
                old[axis]
            }
        });
        Pose { x, y, z, turn }
    }

    /// An arc whose coordinates run on to where they are read.
    fn arc(&self, arc: &Arc) -> Arc {
        let read = arc.axes.map(|axis| {
            let is_read = |place: &usize| self.maps[*place].from == place_of(axis) && self.maps[*place].factor != 0.0;
            (0..AXES.len()).find(is_read).unwrap_or(place_of(axis))
        });
        Arc {
            axes: read.map(|place| AXES[place]),
            center: [0, 1].map(|k| self.maps[read[k]].offset + self.maps[read[k]].factor * arc.center[k]),
            reach: [0, 1].map(|k| self.maps[read[k]].factor * arc.reach[k]),
            ..*arc
        }
    }
}

const AXES: [Axis; 4] = [Axis::X, Axis::Y, Axis::Z, Axis::Turn];

fn coordinates(pose: &Pose) -> [f64; 4] {
    [pose.x, pose.y, pose.z, pose.turn]
}

fn place_of(axis: Axis) -> usize {
    AXES.iter().position(|one| *one == axis).unwrap_or(0)
}

/// The blocks of a job, some of them under another reading.
pub(super) struct Altered<'a> {
    pub(super) motions: &'a dyn Motions,
    pub(super) changes: &'a [Change],
}

impl Motions for Altered<'_> {
    fn count(&self) -> u32 {
        self.motions.count()
    }

    fn motion(&self, index: u32) -> Option<Motion> {
        let motion = self.motions.motion(index)?;
        let Some(change) = self.changes.iter().find(|change| change.blocks.contains(&index)) else {
            return Some(motion);
        };
        Some(Motion {
            from: change.pose(&motion.from, index, 0),
            to: change.pose(&motion.to, index, 1),
            arc: motion.arc.as_ref().map(|arc| change.arc(arc)),
            ..motion
        })
    }
}
