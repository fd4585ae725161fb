//! Machine coordinates: G53, and the way home by G28 and G30 (NISTIR 6556 sections 3.5.8 and 3.5.13).
//!
//! The stored points of G28 and G30 are machine zero, as at power on. The standard sends every axis home;
//! with axis words on the line only the axes named go here, as most controllers and programs have it.

use super::parameters::NO_HOME;
use super::reader::Reader;
use super::travel::Moved;
use crate::codes::Group;
use crate::command::Command;
use crate::diagnostic::{Kind, Span};
use crate::listing::{AXES, Word};

impl Reader<'_> {
    /// G28 (0) and G30 (1): a rapid to the point given, if one is, then one to the stored point.
    pub(super) fn go_home(&mut self, command: &mut Command<'_>, which: usize) {
        let named = command.named_axes();
        self.refuse_second_motion(command);
        let homing = if named != 0 { named } else { self.all_axes() };
        self.commanded(command.at.line, homing);
        if command.doubtful {
            self.forget(homing);
            return;
        }
        self.modes_used(command.at.line, true, false);
        let words = command.take_axes();
        if named != 0 {
            let Some((to, unknown)) = self.target(command, &words) else {
                self.forget(named);
                return;
            };
            self.rapid(command, to, unknown);
        }
        let (mut to, mut unknown) = (self.place, self.unknown);
        for axis in (0..6).filter(|axis| homing & 1 << axis != 0) {
            let stored = self.parameters.homes[which][axis];
            self.place_in_machine(command, axis, stored, words[axis], &mut to, &mut unknown);
        }
        self.rapid(command, to, unknown);
    }

    pub(super) fn rapid(&mut self, command: &Command<'_>, to: [f64; 6], unknown: u8) {
        self.push(command.at, Moved { to, unknown, rapid: true, feed: f64::NAN, circle: None, refused: false });
    }

    /// G28.1 (0) and G30.1 (1), common practice: the present place becomes the stored point.
    pub(super) fn store_home(&mut self, command: &mut Command<'_>, which: usize) {
        let code = command.code_of(Group::NonModal).map_or(Span::default(), |code| code.span);
        let axes = self.all_axes();
        for axis in (0..6).filter(|axis| axes & 1 << axis != 0) {
            match self.in_machine(axis, self.place[axis]).filter(|_| self.unknown & 1 << axis == 0) {
                Some(place) => self.parameters.homes[which][axis] = place,
                None => {
                    let letter = char::from(AXES[axis]);
                    let message = format!("where {letter} is in machine coordinates is unknown, so it is not stored");
                    self.warn(command.at, Kind::Position, code, message);
                }
            }
        }
    }

    /// Where the axis words of a G53 line lead; absolute even under G91.
    pub(super) fn machine_target(
        &mut self,
        command: &mut Command<'_>,
        words: &[Option<Word>; 6],
    ) -> Option<([f64; 6], u8)> {
        let (mut to, mut unknown) = (self.place, self.unknown);
        for (axis, word) in words.iter().enumerate() {
            let Some(word) = *word else { continue };
            let value = word.value * self.modes.scale(axis);
            self.place_in_machine(command, axis, value, Some(word), &mut to, &mut unknown);
            if self.is_too_far(to[axis]) {
                self.too_far(command, word);
                return None;
            }
        }
        Some((to, unknown))
    }

    /// Puts one word at a machine coordinate; unknown where machine zero or the stickout is.
    fn place_in_machine(
        &mut self,
        command: &Command<'_>,
        axis: usize,
        value: f64,
        word: Option<Word>,
        to: &mut [f64; 6],
        unknown: &mut u8,
    ) {
        if let Some(place) = self.off_machine(axis, value) {
            to[axis] = place;
            *unknown &= !(1 << axis);
            return;
        }
        *unknown |= 1 << axis;
        let letter = char::from(AXES[axis]);
        let reason = if self.setup.machine_zero[axis].is_none() {
            NO_HOME
        } else {
            "the cutter's stickout is not given (stickout of the cutter in the scene)"
        };
        let message = format!("{letter} is unknown from here until commanded again: {reason}");
        let code = command.code_of(Group::NonModal).map_or(Span::default(), |code| code.span);
        self.note(command.at, Kind::Position, word.map_or(code, |word| word.span), message);
    }

    /// A machine coordinate in G54 terms, Z less the stickout of the cutter in the spindle; `None`: one of them is not
    /// given.
    pub(super) fn off_machine(&self, axis: usize, value: f64) -> Option<f64> {
        let stickout = match self.cutter {
            Some(number) if axis == 2 => *self.setup.stickouts.get(&number)?,
            _ => 0.0,
        };
        Some(self.setup.machine_zero[axis]? + value - stickout)
    }

    /// X, Y, Z and the rotary words the machine has.
    fn all_axes(&self) -> u8 {
        let rotary = self.setup.rotary_words;
        (0..3).filter(|&word| rotary[word]).fold(0b111, |mask, word| mask | 1 << (word + 3))
    }

    /// A motion code beside a code that uses the axis words itself is an error (NISTIR 6556 section 3.4).
    pub(super) fn refuse_second_motion(&mut self, command: &mut Command<'_>) {
        if let Some(code) = command.code_of(Group::Motion).filter(|code| code.code != 800) {
            let message = "two codes on this line use its axis words";
            command.error(Kind::Conflict, code.span, message, &mut self.diagnostics);
        }
    }
}
