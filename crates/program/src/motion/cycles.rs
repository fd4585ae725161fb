//! Canned cycles G73 and G81 … G89 (NISTIR 6556 section 3.5.16), in the three planes.
//!
//! The depth axis is the plane's normal, Z in G17. R and the depth are kept from line to line; under G91, R counts from
//! where the depth axis is, and the depth from R. How far a peck backs off, and that G87 takes I and J as the way off
//! the hole's middle and K as the place above which it bores, are from memory.

use super::reader::Reader;
use super::travel::Moved;
use crate::codes;
use crate::command::{Command, whole};
use crate::diagnostic::{Kind, Severity};
use crate::listing::{AXES, Word};
use crate::program::{EventKind, SAME};

/// How far a peck stays off the last depth, mm.
const BACKED_OFF: f64 = 0.254;

/// What is kept from one line of a cycle to the next; lengths in mm, as written.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub(super) struct Sticky {
    /// Ten times the number of the code; 0: no cycle is under way.
    pub(super) code: u32,
    retract: Option<f64>,
    depth: Option<f64>,
    dwell: Option<f64>,
    peck: Option<f64>,
    aside: [f64; 3],
    /// Where the depth axis was before the first cycle; `None`: unknown.
    initial: Option<f64>,
}

/// One line's holes, in G54 terms.
#[derive(Debug, Clone, Copy)]
struct Hole {
    code: u32,
    normal: usize,
    plane: [usize; 2],
    retract: f64,
    depth: f64,
    clear: f64,
    dwell: f64,
    peck: f64,
    aside: [f64; 3],
}

impl Reader<'_> {
    /// A line on which a cycle is in force and an axis word or the code stands.
    pub(super) fn cycle(&mut self, command: &mut Command<'_>, code: u32, named: u8) {
        let words = command.take_axes();
        let found = self.hole(command, code, &words);
        let (Some((hole, times)), false) = (found, command.doubtful) else {
            let [first, second, normal] = self.modes.plane.axes();
            self.forget(named | 1 << first | 1 << second | 1 << normal);
            return;
        };
        self.modes_used(command.at.line, false, true);
        if self.place[hole.normal] < hole.retract - SAME || self.unknown & 1 << hole.normal != 0 {
            self.go(command, hole.normal, hole.retract, true);
        }
        for round in 0..times {
            if self.is_over() {
                return;
            }
            if (round == 0 || self.modes.incremental) && !self.over_hole(command, &hole, &words) {
                return;
            }
            self.go(command, hole.normal, hole.retract, true);
            self.drill(command, hole);
        }
    }

    /// Checks and keeps a line's words. `None`: something is missing or wrong.
    fn hole(&mut self, command: &mut Command<'_>, code: u32, words: &[Option<Word>; 6]) -> Option<(Hole, u32)> {
        let [first, second, normal] = self.modes.plane.axes();
        let known = self.unknown & 1 << normal == 0;
        if self.cycle.code == 0 {
            self.cycle.initial = known.then_some(self.place[normal]);
        }
        if self.cycle.code != code {
            self.cycle = Sticky { code, retract: self.cycle.retract, initial: self.cycle.initial, ..Sticky::default() };
        }
        let times = self.keep(command, normal, words)?;
        let name = codes::g_name(code);
        let refuse = |message: String| Some((Kind::Cycle, message));
        let depth_letter = char::from(AXES[normal]);
        let problem = if self.modes.inverse_time {
            refuse(format!("{name} does not go with G93"))
        } else if self.compensation.is_some() {
            Some((Kind::Compensation, format!("{name} does not go with cutter compensation")))
        } else if words[..3].iter().all(Option::is_none) {
            refuse(format!("{name} needs X, Y or Z on each line"))
        } else if self.turns(words) {
            refuse("a rotary word may not move on a line with a cycle".to_owned())
        } else if self.cycle.depth.is_none() {
            refuse(format!("{name} needs {depth_letter}, how deep to go, on its first line"))
        } else if self.cycle.retract.is_none() {
            refuse(format!("{name} needs R, from where to feed, on its first line"))
        } else if matches!(code, 730 | 830) && self.cycle.peck.is_none() {
            refuse(format!("{name} needs Q, how deep to go at a time"))
        } else if code == 840 && !(self.spindle_turns && self.spindle_clockwise) {
            refuse("G84 needs the spindle turning clockwise".to_owned())
        } else if matches!(code, 860..=880) && !self.spindle_turns {
            refuse(format!("{name} needs the spindle turning"))
        } else if self.modes.incremental && (self.unknown & (1 << first | 1 << second | 1 << normal)) != 0 {
            Some((Kind::Position, format!("{name} under G91 needs to know where it starts")))
        } else {
            None
        };
        if let Some((kind, message)) = problem {
            command.error(kind, command.motion_span(), message, &mut self.diagnostics);
            return None;
        }
        let (retract, depth) = (self.cycle.retract?, self.cycle.depth?);
        let (retract, depth) = if self.modes.incremental {
            let retract = self.place[normal] + retract;
            (retract, retract + depth)
        } else {
            match (self.placed(normal, retract), self.placed(normal, depth)) {
                (Some(retract), Some(depth)) => (retract, depth),
                _ => {
                    let message = format!("where {depth_letter} lies is unknown here");
                    command.error(Kind::Position, command.motion_span(), message, &mut self.diagnostics);
                    return None;
                }
            }
        };
        if retract < depth - SAME || self.is_too_far(retract) || self.is_too_far(depth) {
            let message = format!("R lies below {depth_letter}: there is nothing to feed through");
            command.error(Kind::Cycle, command.motion_span(), message, &mut self.diagnostics);
            return None;
        }
        let clear = if self.modes.retract_to_r { retract } else { self.cycle.initial.unwrap_or(retract).max(retract) };
        if matches!(code, 820 | 860 | 880 | 890) && self.cycle.dwell.is_none() {
            let message = format!("{name} has no P: it does not wait");
            self.warn(command.at, Kind::Cycle, command.motion_span(), message);
        }
        let hole = Hole {
            code,
            normal,
            plane: [first, second],
            retract,
            depth,
            clear,
            dwell: self.cycle.dwell.unwrap_or(0.0),
            peck: self.cycle.peck.unwrap_or(0.0),
            aside: self.cycle.aside,
        };
        Some((hole, times))
    }

    /// Takes the cycle's own words and keeps them; how often it is repeated.
    fn keep(&mut self, command: &mut Command<'_>, normal: usize, words: &[Option<Word>; 6]) -> Option<u32> {
        let scale = self.modes.length_scale();
        if let Some(word) = words[normal] {
            self.cycle.depth = Some(word.value * scale);
        }
        if let Some(word) = command.take(b'R') {
            self.cycle.retract = Some(word.value * scale);
        }
        if let Some(word) = command.take(b'P') {
            self.cycle.dwell = Some(word.value * if self.setup.dwell_milliseconds { 1e-3 } else { 1.0 });
            if word.value < 0.0 {
                command.error(Kind::Number, word.span, "a dwell is not negative", &mut self.diagnostics);
                return None;
            }
        }
        if matches!(self.cycle.code, 730 | 830)
            && let Some(word) = command.take(b'Q')
        {
            self.cycle.peck = Some(word.value * scale);
            if word.value <= 0.0 {
                let message = "Q, how deep to go at a time, is more than 0";
                command.error(Kind::Number, word.span, message, &mut self.diagnostics);
                return None;
            }
        }
        if self.cycle.code == 870 {
            for (kept, letter) in self.cycle.aside.iter_mut().zip(*b"IJK") {
                *kept = command.take(letter).map_or(*kept, |word| word.value * scale);
            }
        }
        match command.take(b'L') {
            None => Some(1),
            Some(word) => {
                let times = whole(word.value, 1e-4).filter(|&times| times > 0);
                if times.is_none() {
                    let message = "L, how often to repeat, is a whole number from 1 up";
                    command.error(Kind::Number, word.span, message, &mut self.diagnostics);
                }
                times
            }
        }
    }

    /// Whether a rotary word would move.
    fn turns(&self, words: &[Option<Word>; 6]) -> bool {
        (3..6).any(|axis| {
            words[axis].is_some_and(|word| {
                if self.modes.incremental {
                    word.value != 0.0
                } else {
                    let moves = |place: f64| (place - self.place[axis]).abs() > SAME;
                    self.unknown & 1 << axis != 0 || self.placed(axis, word.value).is_none_or(moves)
                }
            })
        })
    }

    /// A rapid in the plane to the next hole. False: it lies out of all bounds.
    fn over_hole(&mut self, command: &mut Command<'_>, hole: &Hole, words: &[Option<Word>; 6]) -> bool {
        let (mut to, mut unknown) = (self.place, self.unknown);
        for axis in hole.plane {
            let Some(word) = words[axis] else { continue };
            let value = word.value * self.modes.scale(axis);
            let place = if self.modes.incremental { Some(to[axis] + value) } else { self.placed(axis, value) };
            match place {
                Some(place) if !self.is_too_far(place) => to[axis] = place,
                _ => {
                    self.too_far(command, word);
                    self.forget(1 << axis);
                    return false;
                }
            }
            unknown &= !(1 << axis);
        }
        let moves = to.iter().zip(self.place).any(|(to, from)| (to - from).abs() > SAME);
        if moves || unknown != self.unknown {
            self.rapid(command, to, unknown);
        }
        true
    }

    /// Moves one axis, if it is not there.
    fn go(&mut self, command: &Command<'_>, axis: usize, place: f64, rapid: bool) {
        let bit = 1 << axis;
        if (self.place[axis] - place).abs() <= SAME && self.unknown & bit == 0 {
            return;
        }
        let mut to = self.place;
        to[axis] = place;
        let unknown = self.unknown & !bit;
        let feed = if rapid { f64::NAN } else { self.feed_for(command, &to, None) };
        self.push(command.at, Moved { to, unknown, rapid, feed, circle: None, refused: false });
    }

    fn wait(&mut self, command: &Command<'_>, hole: &Hole) {
        if hole.dwell > 0.0 {
            self.event(command.at.line, EventKind::Dwell(hole.dwell));
        }
    }

    /// Starts the spindle the way it turned, or stops it.
    fn turn_spindle(&mut self, command: &Command<'_>, on: bool) {
        self.spindle_turns = on;
        let kind = match (on, self.spindle_clockwise) {
            (false, _) => EventKind::SpindleOff,
            (true, true) => EventKind::SpindleClockwise,
            (true, false) => EventKind::SpindleCounterClockwise,
        };
        self.event(command.at.line, kind);
    }

    /// The cycle itself, from R over the hole to the clear height.
    fn drill(&mut self, command: &Command<'_>, hole: Hole) {
        let Hole { code, normal, depth, clear, .. } = hole;
        match code {
            730 | 830 => self.peck(command, hole),
            870 => self.bore_back(command, hole),
            _ => self.go(command, normal, depth, false),
        }
        match code {
            820 => self.wait(command, &hole),
            840 => {
                self.event(command.at.line, EventKind::SpindleCounterClockwise);
                self.go(command, normal, clear, false);
                self.event(command.at.line, EventKind::SpindleClockwise);
            }
            850 => self.go(command, normal, clear, false),
            860 => {
                self.wait(command, &hole);
                self.turn_spindle(command, false);
                self.go(command, normal, clear, true);
                self.turn_spindle(command, true);
            }
            880 => {
                self.wait(command, &hole);
                self.turn_spindle(command, false);
                self.event(command.at.line, EventKind::Stop);
                let message = "G88: a hand takes the cutter out; it is taken to go straight to the clear height";
                self.diagnostics.push_once(command.at.diagnostic(
                    Severity::Note,
                    Kind::Cycle,
                    command.motion_span(),
                    message,
                ));
                self.go(command, normal, clear, true);
                self.turn_spindle(command, true);
            }
            890 => {
                self.wait(command, &hole);
                self.go(command, normal, clear, false);
            }
            _ => {}
        }
        self.go(command, normal, clear, true);
    }

    /// G83 clears the hole after each peck, G73 only breaks the chip.
    fn peck(&mut self, command: &Command<'_>, hole: Hole) {
        let Hole { normal, retract, depth, clear, peck, .. } = hole;
        let pecks = ((retract - depth) / peck - 1e-9).ceil().max(1.0);
        let mut done = 0.0;
        while done < pecks && !self.is_over() {
            done += 1.0;
            let bottom = if done == pecks { depth } else { retract - done * peck };
            self.go(command, normal, bottom, false);
            if done == pecks {
                return;
            }
            let backed_off = (bottom + BACKED_OFF).min(retract);
            if hole.code == 830 {
                self.go(command, normal, clear, true);
            }
            self.go(command, normal, backed_off, true);
        }
    }

    /// G87: in beside the hole's middle with the spindle still, then up to K from below.
    fn bore_back(&mut self, command: &Command<'_>, hole: Hole) {
        let [first, second] = hole.plane;
        let middle = [self.place[first], self.place[second]];
        let upper = if self.modes.incremental {
            Some(hole.depth + hole.aside[2])
        } else {
            self.placed(hole.normal, hole.aside[2])
        };
        let upper = upper.unwrap_or(hole.depth);
        let beside = [middle[0] + hole.aside[0], middle[1] + hole.aside[1]];
        self.slide(command, hole.plane, beside);
        self.turn_spindle(command, false);
        self.go(command, hole.normal, hole.depth, true);
        self.slide(command, hole.plane, middle);
        self.turn_spindle(command, true);
        self.go(command, hole.normal, upper, false);
        self.go(command, hole.normal, hole.depth, false);
        self.turn_spindle(command, false);
        self.slide(command, hole.plane, beside);
        self.go(command, hole.normal, hole.clear, true);
        self.slide(command, hole.plane, middle);
        self.turn_spindle(command, true);
    }

    /// A feed in the plane.
    fn slide(&mut self, command: &Command<'_>, plane: [usize; 2], place: [f64; 2]) {
        let mut to = self.place;
        (to[plane[0]], to[plane[1]]) = (place[0], place[1]);
        if to != self.place {
            let (unknown, feed) = (self.unknown, self.feed_for(command, &to, None));
            self.push(command.at, Moved { to, unknown, rapid: false, feed, circle: None, refused: false });
        }
    }
}
