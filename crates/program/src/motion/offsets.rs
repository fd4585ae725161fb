//! Program words to G54 terms: coordinate systems and the G92 family (NISTIR 6556 section 3.5.18).

use super::reader::Reader;
use crate::codes::Group;
use crate::command::Command;
use crate::diagnostic::{Kind, Span};
use crate::listing::AXES;
use crate::program::Shown;

impl Reader<'_> {
    /// What is added to an absolute word, mm or degrees.
    pub(super) fn offset(&self, axis: usize) -> f64 {
        self.origins[self.modes.system][axis] + self.g92[axis]
    }

    /// Writes down what the display is off by, where it has changed.
    pub(super) fn offsets_changed(&mut self) {
        let offset = std::array::from_fn(|axis| self.offset(axis));
        let first_block = self.program.blocks.len() as u32;
        let system = self.modes.system as u8 + 1;
        let shown = Shown { first_block, offset, system };
        match self.program.shown.last_mut() {
            Some(last) if last.offset == offset && last.system == system => {}
            Some(last) if last.first_block == first_block => *last = shown,
            _ => self.program.shown.push(shown),
        }
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
            let reads = self.place[axis] - self.offset(axis);
            let (place, offset) = if self.unknown & 1 << axis != 0 {
                (given + self.offset(axis), self.g92[axis])
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
}
