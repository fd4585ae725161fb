//! Program words to G54 terms: coordinate systems and the G92 family (NISTIR 6556 section 3.5.18).

use super::reader::Reader;
use crate::codes::Group;
use crate::command::{Command, whole};
use crate::diagnostic::{Kind, Severity, Span};
use crate::listing::{AXES, Word};
use crate::program::Shown;

impl Reader<'_> {
    /// What is added to an absolute word, mm or degrees, tool length apart.
    pub(super) fn offset(&self, axis: usize) -> f64 {
        self.origins[self.modes.system][axis] + self.g92[axis] + self.local[axis]
    }

    /// Where an absolute word leads; `None`: the origin or a tool length is unknown.
    pub(super) fn placed(&self, axis: usize, value: f64) -> Option<f64> {
        if self.unknown_origins[self.modes.system] & 1 << axis != 0 {
            return None;
        }
        let shift = if axis == 2 { self.length_shift()? } else { 0.0 };
        Some(value + self.offset(axis) + shift)
    }

    /// Writes down what the display is off by, where it has changed.
    pub(super) fn offsets_changed(&mut self) {
        let offset = self.with_length(|axis| self.offset(axis));
        let first_block = self.program.blocks.len() as u32;
        let system = self.modes.system as u8 + 1;
        let shown = Shown { first_block, offset, system };
        match self.program.shown.last_mut() {
            Some(last) if last.offset == offset && last.system == system => {}
            Some(last) if last.first_block == first_block => *last = shown,
            _ => self.program.shown.push(shown),
        }
    }

    /// Origin of the system in force, the tool length included, and the same with G92 and G52.
    pub(super) fn origin_and_offset(&self) -> [[f64; 6]; 2] {
        [self.with_length(|axis| self.origins[self.modes.system][axis]), self.with_length(|axis| self.offset(axis))]
    }

    fn with_length(&self, offset: impl Fn(usize) -> f64) -> [f64; 6] {
        let mut offset: [f64; 6] = std::array::from_fn(offset);
        offset[2] += self.length_shift().unwrap_or(0.0);
        offset
    }

    /// G92: the present place reads as given, in every system; nothing moves.
    ///
    /// A word whose place is unknown is where the operator left it, which is what the set-up's zero speaks of:
    /// it is taken to stand where it now reads, and the offset stays.
    pub(super) fn set_offsets(&mut self, command: &mut Command<'_>) {
        self.refuse_second_motion(command);
        let named = command.named_axes();
        let code = command.code_of(Group::NonModal).map_or(Span::default(), |code| code.span);
        if named == 0 {
            command.error(Kind::NoMotion, code, "G92 needs an axis word", &mut self.diagnostics);
        }
        self.program.facts.g92 = true;
        self.commanded(command.at.line, named);
        if command.doubtful {
            self.forget(named);
            return;
        }
        for (axis, word) in command.take_axes().into_iter().enumerate() {
            let Some(word) = word else { continue };
            let given = word.value * self.modes.scale(axis);
            let Some(zero) = self.placed(axis, 0.0) else {
                let message = "where this word lies is unknown, so G92 cannot set it";
                command.error(Kind::Position, word.span, message, &mut self.diagnostics);
                self.forget(named);
                return;
            };
            let reads = self.place[axis] - zero;
            let (place, offset) = if self.unknown & 1 << axis != 0 {
                (given + zero, self.g92[axis])
            } else {
                (self.place[axis], self.g92[axis] + (reads - given))
            };
            if self.is_too_far(place) || self.is_too_far(offset) {
                self.too_far(command, word);
                self.forget(named);
                return;
            }
            if self.unknown & 1 << axis != 0 {
                let letter = char::from(AXES[axis]);
                let message = format!("{letter} was unknown: taken to stand where G92 says, off the set-up's zero");
                self.note(command.at, Kind::Position, word.span, message);
                self.program.settle(axis, place);
            }
            self.place[axis] = place;
            self.g92[axis] = offset;
            self.unknown &= !(1 << axis);
        }
        self.g92_kept = self.g92;
        self.offsets_changed();
    }

    /// G92.1 drops the offset for good, G92.2 for now, G92.3 brings it back.
    pub(super) fn recall_offsets(&mut self, code: u32) {
        match code {
            921 => (self.g92, self.g92_kept) = ([0.0; 6], [0.0; 6]),
            922 => self.g92 = [0.0; 6],
            _ => self.g92 = self.g92_kept,
        }
        self.offsets_changed();
    }

    /// G52: a shift of all systems by the words given, until set again; not in the standard.
    pub(super) fn set_local(&mut self, command: &mut Command<'_>) {
        self.refuse_second_motion(command);
        let span = command.motion_span();
        if command.named_axes() == 0 {
            command.error(Kind::NoMotion, span, "G52 needs an axis word", &mut self.diagnostics);
        }
        if command.doubtful {
            return;
        }
        for (axis, word) in command.take_axes().into_iter().enumerate() {
            let Some(word) = word else { continue };
            let shift = word.value * self.modes.scale(axis);
            if self.is_too_far(shift) {
                self.too_far(command, word);
                return;
            }
            self.local[axis] = shift;
        }
        self.offsets_changed();
    }

    /// G10 L2 puts the origin of a system at machine coordinates (NISTIR 6556 section 3.5.5); L20, common practice, so
    /// that the present place reads as given.
    pub(super) fn set_system_origin(&mut self, command: &mut Command<'_>) {
        self.refuse_second_motion(command);
        let code = command.code_of(Group::NonModal).map_or(Span::default(), |code| code.span);
        let whole_of = |word: Option<Word>| word.and_then(|word| whole(word.value, 1e-4));
        let (kind, number) = (whole_of(command.take(b'L')), whole_of(command.take(b'P')));
        let words = command.take_axes();
        if !matches!(kind, Some(2 | 20)) {
            let message = "G10 is taken with L2 or L20 only";
            command.error(Kind::NotUnderstood, code, message, &mut self.diagnostics);
        }
        let system = match number {
            Some(0) => Some(self.modes.system),
            Some(number @ 1..=9) => Some(number as usize - 1),
            _ => None,
        };
        let Some(system) = system.filter(|_| !command.doubtful) else {
            if !command.doubtful {
                let message = "G10 needs P, the number of a coordinate system, 1 (G54) to 9 (G59.3)";
                command.error(Kind::Number, code, message, &mut self.diagnostics);
            }
            return;
        };
        for (axis, word) in words.into_iter().enumerate() {
            let Some(word) = word else { continue };
            let value = word.value * self.modes.scale(axis);
            let done = if kind == Some(2) {
                self.set_origin(system, axis, value)
            } else {
                self.set_origin_here(system, axis, value)
            };
            match done {
                Ok(()) => self.unknown_origins[system] &= !(1 << axis),
                Err(message) => {
                    self.unknown_origins[system] |= 1 << axis;
                    let found = command.at.diagnostic(Severity::Error, Kind::Position, word.span, message);
                    self.diagnostics.push(found);
                }
            }
        }
        self.offsets_changed();
    }

    /// Puts an origin so that the present place reads as given.
    fn set_origin_here(&mut self, system: usize, axis: usize, value: f64) -> Result<(), String> {
        let shift = if axis == 2 { self.length_shift() } else { Some(0.0) };
        let (Some(shift), true) = (shift, self.unknown & 1 << axis == 0) else {
            return Err("where this word stands is unknown, so no origin can be set by it".to_owned());
        };
        let origin = self.place[axis] - value - self.g92[axis] - self.local[axis] - shift;
        if self.is_too_far(origin) {
            return Err("this puts the origin too far away".to_owned());
        }
        self.origins[system][axis] = origin;
        Ok(())
    }
}
