//! A kept piece put back another way: flipped, turned, off centre.

use dryturn_geom::{Arc, Axis, Facets, Motion, Offset, Pose, Stock, angle};

use super::past::{Hole, Past};
use super::{KeptPiece, Rays};
use crate::job::{CHORD_DEVIATION, Dimple, greatest_turn};

/// How a piece is put back, in this order.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct PutBack {
    /// End for end, by half a turn about the piece's own z.
    pub flip: bool,
    /// Whether the chuck stands on the plus side, where the blank's frame is the piece's mirrored.
    pub mirrored: bool,
    /// Turned about the axis, radians.
    pub turn: f64,
    /// Its old axis off the rotary axis, while θ on top is 0.
    pub off: Offset,
}

/// Most that a chord may be off the swing of a motion about another axis, mm.
const SWING: f64 = 1e-4;

/// Ends of the wood that lie this near to where half a step leaves them lie there, mm.
const SAME: f64 = 1e-9;

impl KeptPiece {
    /// The piece put back.
    pub fn put_back(mut self, how: &PutBack) -> KeptPiece {
        if how.flip {
            self = self.flipped();
        }
        if how.mirrored {
            self = self.mirrored();
        }
        if how.turn != 0.0 {
            self.rays.turned += how.turn;
            self.rays.off = turned(self.rays.off, how.turn);
            self.past = self.past.turned(how.turn);
        }
        if how.off != Offset::default() {
            self.rays.off = sum(self.rays.off, how.off);
            self.past = self.past.off(how.off);
        }
        self
    }

    fn flipped(self) -> KeptPiece {
        let KeptPiece { past, rays, length } = self;
        KeptPiece { past: past.mapped(&Map { length: Some(length) }), rays: rays.flipped(length), length }
    }

    fn mirrored(self) -> KeptPiece {
        KeptPiece { past: self.past.mirrored(), rays: self.rays.around(), length: self.length }
    }
}

impl Rays {
    fn flipped(&self, length: f64) -> Rays {
        let last = self.station(self.lattice.stations - 1);
        let (first, half) = (length - last, 0.5 * self.lattice.step);
        let rows = (0..self.lattice.stations).rev();
        let mut rays = self.reordered(rows.flat_map(|row| self.columns_around().map(move |column| (row, column))));
        rays.lattice.first = if (first - half).abs() < SAME { half } else { first };
        rays
    }

    /// Every angle with the other sign.
    fn around(&self) -> Rays {
        let rows = 0..self.lattice.stations;
        self.reordered(rows.flat_map(|row| self.columns_around().map(move |column| (row, column))))
    }

    /// The first column, and all others from the last on.
    fn columns_around(&self) -> impl Iterator<Item = usize> + use<> {
        std::iter::once(0).chain((1..self.lattice.angles).rev())
    }

    fn reordered(&self, order: impl Iterator<Item = (usize, usize)>) -> Rays {
        let mut rays = Rays {
            starts: Vec::with_capacity(self.starts.len()),
            ends: Vec::with_capacity(self.ends.len()),
            by: Vec::with_capacity(self.by.len()),
            turned: -self.turned,
            off: Offset { y: -self.off.y, ..self.off },
            ..*self
        };
        rays.starts.push(0);
        for (row, column) in order {
            let spans = self.spans(row, column);
            rays.ends.extend_from_slice(&self.ends[spans.clone()]);
            rays.by.extend_from_slice(&self.by[spans]);
            rays.starts.push(rays.ends.len() as u32);
        }
        rays
    }
}

/// A half turn about z that brings the one end to where the other was, or, without a length, a mirror along the axis.
/// Either way angles and what lies across change their signs.
struct Map {
    length: Option<f64>,
}

impl Map {
    fn station(&self, x: f64) -> f64 {
        self.length.map_or(x, |length| length - x)
    }

    fn pose(&self, pose: Pose) -> Pose {
        Pose { x: self.station(pose.x), y: -pose.y, z: pose.z, turn: -pose.turn }
    }

    fn arc(&self, mut arc: Arc) -> Arc {
        for (k, axis) in arc.axes.into_iter().enumerate() {
            match (axis, self.length) {
                (Axis::Z, _) | (Axis::X, None) => {}
                (Axis::X, Some(length)) => (arc.center[k], arc.reach[k]) = (length - arc.center[k], -arc.reach[k]),
                (Axis::Y | Axis::Turn, _) => (arc.center[k], arc.reach[k]) = (-arc.center[k], -arc.reach[k]),
            }
        }
        // What lies across changes its sign, and so does the way along the axis, but for a mirror.
        let lean = &mut arc.lean;
        match self.length {
            Some(_) => lean.up = -lean.up,
            None => lean.across = -lean.across,
        }
        arc
    }

    fn offset(&self, offset: Offset) -> Offset {
        Offset { y: -offset.y, ..offset }
    }

    fn outline(&self, stock: &Stock) -> Stock {
        let ends = [stock.start, stock.end()].map(|end| self.station(end));
        let start = ends[0].min(ends[1]);
        let far = start + stock.length;
        let straight = |station: f64| self.offset(straight(stock, self.station(station)));
        let mut mapped =
            Stock { start, turned: -stock.turned, near: straight(0.0), far: straight(far), ..stock.clone() };
        mapped.bow.angle = -mapped.bow.angle;
        mapped
    }

    /// Facets of a mesh of a length, their stations from its own end.
    fn facets(&self, mut facets: Facets, length: f64) -> Facets {
        for [station, y, _] in &mut facets.corners {
            (*station, *y) = (if self.length.is_some() { length - *station } else { *station }, -*y);
        }
        if self.length.is_none() {
            facets.triangles.iter_mut().for_each(|triangle| triangle.swap(1, 2));
        }
        facets
    }

    fn hole(&self, hole: Hole) -> Hole {
        let Dimple { apex, slope } = hole.cone;
        let slope = if self.length.is_some() { -slope } else { slope };
        Hole { cone: Dimple { apex: self.station(apex), slope }, center: self.offset(hole.center) }
    }
}

/// Turned about the axis, radians: an angle θ points to (−sin θ, cos θ) in y and z.
fn turned(Offset { y, z }: Offset, by: f64) -> Offset {
    let (sine, cosine) = angle::sin_cos(by);
    Offset { y: y * cosine - z * sine, z: y * sine + z * cosine }
}

fn sum(one: Offset, other: Offset) -> Offset {
    Offset { y: one.y + other.y, z: one.z + other.z }
}

/// The centre line's shift at a station but for its bend.
fn straight(stock: &Stock, station: f64) -> Offset {
    let mut unbent = stock.clone();
    unbent.bow.amount = 0.0;
    unbent.center_shift(station)
}

/// A motion so many mm farther along the axis.
pub(super) fn along(motion: &Motion, by: f64) -> Motion {
    let pose = |pose: Pose| Pose { x: pose.x + by, ..pose };
    let arc = motion.arc.map(|mut arc| {
        (0..2).filter(|&k| arc.axes[k] == Axis::X).for_each(|k| arc.center[k] += by);
        arc
    });
    Motion { from: pose(motion.from), to: pose(motion.to), arc, ..*motion }
}

/// An outline so many mm farther along the axis.
pub(super) fn outline_along(stock: &Stock, by: f64) -> Stock {
    Stock { start: stock.start + by, near: straight(stock, -by), far: stock.far, ..stock.clone() }
}

impl Past {
    /// Seen in a mirror along the axis: angles and what lies across change their signs.
    pub(super) fn mirrored(self) -> Past {
        self.mapped(&Map { length: None })
    }

    fn mapped(self, map: &Map) -> Past {
        let motion = |motion: &Motion| Motion {
            from: map.pose(motion.from),
            to: map.pose(motion.to),
            arc: motion.arc.map(|arc| map.arc(arc)),
            ..*motion
        };
        Past {
            facets: self.facets.map(|facets| map.facets(facets, self.stock.length)),
            stock: map.outline(&self.stock),
            holes: self.holes.iter().map(|hole| map.hole(*hole)).collect(),
            motions: self.motions.iter().map(motion).collect(),
            ..self
        }
    }

    /// So many mm farther along the axis.
    pub(super) fn along(mut self, by: f64) -> Past {
        self.stock = outline_along(&self.stock, by);
        self.holes.iter_mut().for_each(|hole| hole.cone.apex += by);
        self.motions.iter_mut().for_each(|motion| *motion = along(motion, by));
        self
    }

    fn turned(mut self, by: f64) -> Past {
        let turn = |offset: Offset| turned(offset, by);
        for [_, y, z] in self.facets.iter_mut().flat_map(|facets| &mut facets.corners) {
            let Offset { y: across, z: up } = turn(Offset { y: *y, z: *z });
            (*y, *z) = (across, up);
        }
        self.stock.turned += by;
        self.stock.bow.angle += by;
        (self.stock.near, self.stock.far) = (turn(self.stock.near), turn(self.stock.far));
        self.holes.iter_mut().for_each(|hole| hole.center = turn(hole.center));
        for motion in &mut self.motions {
            motion.from.turn += by;
            motion.to.turn += by;
            if let Some(arc) = &mut motion.arc {
                (0..2).filter(|&k| arc.axes[k] == Axis::Turn).for_each(|k| arc.center[k] += by);
            }
        }
        self
    }

    /// Its axis off the rotary axis.
    fn off(mut self, off: Offset) -> Past {
        let add = |to: &mut Offset| *to = sum(*to, off);
        add(&mut self.stock.near);
        add(&mut self.stock.far);
        self.holes.iter_mut().for_each(|hole| add(&mut hole.center));
        let radius = self.stock.swept_radius();
        let (mut motions, mut lines) = (Vec::new(), Vec::new());
        for (motion, line) in self.motions.iter().zip(&self.lines) {
            for part in swinging(motion, off, radius) {
                motions.push(Motion { block: motions.len() as u32, ..part });
                lines.push(*line);
            }
        }
        (self.motions, self.lines) = (motions, lines);
        self
    }
}

/// A motion over a piece whose axis lies off the rotary axis, as seen from the rotary axis: in straight parts that each
/// swing so little that a chord will do. `radius` bounds the piece, mm.
fn swinging(motion: &Motion, off: Offset, radius: f64) -> impl Iterator<Item = Motion> {
    let (reach, motion) = (angle::hypot(off.y, off.z), *motion);
    // A chord over an angle a lies reach · (1 − cos a/2) ≤ reach · a²/8 off its arc.
    let widest = (8.0 * SWING / reach).sqrt();
    let count = ((greatest_turn(&motion) / widest).ceil() as u32).max(motion.chord_count(CHORD_DEVIATION, radius));
    let seen = move |pose: Pose| {
        let (sine, cosine) = angle::sin_cos(pose.turn);
        Pose { y: pose.y + off.y * cosine + off.z * sine, z: pose.z + off.z * cosine - off.y * sine, ..pose }
    };
    let at = move |k: u32| seen(motion.at(f64::from(k) / f64::from(count)));
    (0..count).map(move |k| Motion { from: at(k), to: at(k + 1), arc: None, ..motion })
}
