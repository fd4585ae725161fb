//! How fast a way may bend that is written in many short lines.
//!
//! Each of its corners is so flat that it could be rounded at any speed, and still the way goes round a bend. So the way is
//! looked at over stretches long enough that the last digits of a program do not bend them: from the direction of one to that
//! of the next it turns over half the length of both. At the speed v that takes an acceleration of v² times the turn over that
//! length, axis by axis, as on the circle with that curvature (any handbook of mechanics). Of an arc it is the arc's own.

use super::way::{Pace, unit};

/// Lines are taken together until they come to this length, mm (judgement: a last digit of 0.001 mm turns it by a quarter of a degree).
const STRETCH: f64 = 0.25;
/// And no further than until the way has turned by so much: the cosine of 45°.
const TURNED: f64 = std::f64::consts::FRAC_1_SQRT_2;

/// Lines in a row that are looked at as one.
struct Stretch {
    /// The first block, and the direction of its line.
    first: usize,
    heading: [f64; 4],
    way: [f64; 4],
    length: f64,
}

/// The stretch before.
struct Before {
    direction: [f64; 4],
    length: f64,
    /// The first block that begins past its middle.
    middle: usize,
}

/// The stretches of a way, as it is gone along.
#[derive(Default)]
pub(super) struct Bends {
    before: Option<Before>,
    now: Option<Stretch>,
}

impl Bends {
    /// Goes on by the line of a block, whose pace is still to be added to those before it.
    pub(super) fn go(
        &mut self,
        (at, direction, length): (usize, &[f64; 4], f64),
        paces: &mut [Pace],
        bound: impl Fn(&[f64; 4]) -> f64,
    ) {
        let goes_on = |now: &Stretch| {
            let along: f64 = now.heading.iter().zip(direction).map(|(a, b)| a * b).sum();
            now.length < STRETCH && along > TURNED
        };
        if !self.now.as_ref().is_some_and(goes_on) {
            self.close(paces, bound);
        }
        let now = self.now.get_or_insert(Stretch { first: at, heading: *direction, way: [0.0; 4], length: 0.0 });
        now.way.iter_mut().zip(direction).for_each(|(way, part)| *way += part * length);
        now.length += length;
    }

    /// Ends the way, which stands still or goes on by an arc: what comes then does not bend it.
    pub(super) fn end(&mut self, paces: &mut [Pace], bound: impl Fn(&[f64; 4]) -> f64) {
        self.close(paces, bound);
        self.before = None;
    }

    /// Ends a stretch: from the middle of the one before to its own no block begins faster than the bend allows.
    fn close(&mut self, paces: &mut [Pace], bound: impl Fn(&[f64; 4]) -> f64) {
        let Some(Stretch { first, way, length, .. }) = self.now.take() else { return };
        let direction = unit(way);
        let mut begins = 0.0;
        let is_early = |pace: &&Pace| {
            let is_early = begins <= 0.5 * length;
            begins += f64::from(pace.length);
            is_early
        };
        let middle = first + paces[first..].iter().take_while(is_early).count();
        if let Some(before) = &self.before {
            let turn: [f64; 4] = std::array::from_fn(|axis| (direction[axis] - before.direction[axis]).abs());
            let counts = STRETCH.max(before.length.min(length));
            let over = 0.5 * (before.length.min(counts) + length.min(counts));
            let most = (over * bound(&turn)).sqrt() as f32;
            paces[before.middle..middle].iter_mut().for_each(|pace| pace.entry = pace.entry.min(most));
        }
        self.before = Some(Before { direction, length, middle });
    }
}
